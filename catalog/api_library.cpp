// SPDX-License-Identifier: Apache-2.0
// Routes about the whole library.
#include "capture/printed_mat.h"
#include "catalog/api.h"
#include "catalog/ask.h"
#include "catalog/blob_store.h"
#include "catalog/console.h"
#include "catalog/gaps.h"
#include "catalog/hold_numbers.h"
#include "catalog/library_place.h"
#include "catalog/query_line.h"
#include "catalog/show_text.h"
#include "catalog/twins.h"
#include "catalog/wear.h"
#include "mesh/bad_input.h"
#include "mesh/unfinished.h"
#include "proto/intake.pb.h"
#include "proto/server.pb.h"

namespace holdshelf {
namespace {

constexpr int kMostHits = 500;

ApiReply about(Service& service, const ApiRequest& request) {
  About about;
  about.set_program_version(HOLDSHELF_VERSION);
  about.set_role(roleWord(request.role));
  about.set_device(request.device);
  about.set_open_to_network(service.open_to_network);
  about.set_caution(kScanCaution);
  about.set_paired(!request.device_id.empty());
  if (request.role >= Role::Look) {
    const Library library = service.library();
    about.set_library(placeName(service.folder()));
    about.set_holds(library.size());
    about.set_last_event(library.lastEvent());
  }
  return jsonReply(about);
}

std::string groupWord(NumberGroup group) {
  switch (group) {
    case NumberGroup::Hold:
      return "hold";
    case NumberGroup::Grip:
      return "edge";
    case NumberGroup::Pinch:
      return "pinch";
    case NumberGroup::Pocket:
      return "pocket";
    default:
      return "seat";
  }
}

ApiReply numbers(Service&, const ApiRequest&) {
  NumberList list;
  for (const NumberKind& kind : numberKinds()) {
    NumberInfo& info = *list.add_numbers();
    info.set_number(kind.flag);
    info.set_label(kind.label);
    info.set_unit(kind.unit);
    info.set_group(groupWord(kind.group));
    info.set_tolerance(kind.tolerance);
  }
  return jsonReply(list);
}

ApiReply find(Service& service, const ApiRequest& request) {
  Query query;
  fromJson(request.body, "The query", query);
  const Library library = service.library();
  try {
    addQueryLine(request.text("line"), query);
    if (query.limit() <= 0 || query.limit() > kMostHits) query.set_limit(kMostHits);
    return jsonReply(ask(
        library, [&] { return service.searchIndex(library); }, query));
  } catch (const StoreUnavailable&) {
    throw;
  } catch (const BadInput& error) {
    if (request.text("draft") != "true") throw;
    FindResult nothing;
    nothing.set_explanation(error.what());
    return jsonReply(nothing);
  }
}

ApiReply twins(Service& service, const ApiRequest&) {
  const Library library = service.library();
  return comparedReply(service, library, "twins",
                       [&] { return findTwins(library, {}, service.untilTheEnd()); });
}

ApiReply wear(Service& service, const ApiRequest&) {
  const Library library = service.library();
  return comparedReply(service, library, "wear",
                       [&] { return wearOfAll(library, {}, service.untilTheEnd()); });
}

std::filesystem::path targetsFile(const Service& service) {
  return localFolderOf(service.folder()) / "targets.csv";
}

/// The head setter's target table as text; empty where there is none.
std::string targetsText(const Service& service) {
  return readFileIfThere(targetsFile(service)).value_or("");
}

ApiReply stock(Service& service, const ApiRequest& request) {
  const Library library = service.library();
  const std::string targets = request.text("kinds") == "true" ? "" : targetsText(service);
  return {200, "application/json", *service.slowAnswer(library, "stock " + targets, [&] {
            std::vector<StockLine> lines;
            if (!targets.empty()) lines = parseTargets(targets, "targets.csv");
            return compactJson(stockOf(library, lines, {}, {}, {}, service.untilTheEnd()));
          })};
}

ApiReply setTargets(Service& service, const ApiRequest& request) {
  StockReport wanted;
  fromJson(request.body, "The target table", wanted);
  if (wanted.lines_size() > 500) throw BadInput("A target table has at most 500 lines.");
  const std::string csv = targetsCsv(wanted);
  (void)parseTargets(csv, "the target table");  // Refuses what is no word and no count.
  sweepUnfinished(targetsFile(service).parent_path(), targetsFile(service).filename());
  writeFileDurably(targetsFile(service), csv);
  service.announceBeside();
  return stock(service, {});
}

ApiReply matPdf(Service&, const ApiRequest& request) {
  const std::string paper = request.text("paper", "A4");
  return {200, "application/pdf", makeMat(paper).pdf, "", "mat-" + paper + ".pdf"};
}

ApiReply matJson(Service&, const ApiRequest& request) {
  return jsonReply(makeMat(request.text("paper", "A4")).mat);
}

/// The stream itself is the server's (catalog/server.cpp); this stands for it in the table.
ApiReply events(Service&, const ApiRequest&) {
  throw ApiError(406, "Live events are a stream: ask for it with GET.");
}

const ApiParameter kPaper = {"paper", "string", "A4 (where it is left out), A3 or A2"};

}  // namespace

std::vector<ApiRoute> libraryRoutes() {
  return {
      {.method = "GET",
       .path = "/api/v1/about",
       .role = Role::None,
       .summary = "The program, the library, and what this device may do",
       .gives = About::descriptor(),
       .answer = about},
      {.method = "GET",
       .path = "/api/v1/numbers",
       .summary = "The numbers that holds are searched and sorted by",
       .gives = NumberList::descriptor(),
       .answer = numbers},
      {.method = "POST",
       .path = "/api/v1/find",
       .summary = "Holds that match a query, at most 500; the nearest misses where none does",
       .query =
           {{"line", "string", "More of the query as a line of text: red edge 14..20 mm deep"},
            {"draft", "boolean",
             "What is half written or half drawn is answered, not turned down: with no hits and "
             "the reason as the explanation"}},
       .takes = Query::descriptor(),
       .gives = FindResult::descriptor(),
       .answer = find},
      {.method = "GET",
       .path = "/api/v1/twins",
       .summary = "Holds of the same shape, mirrored, or in another size",
       .gives = TwinList::descriptor(),
       .answer = twins},
      {.method = "GET",
       .path = "/api/v1/wear",
       .summary = "Holds with two scans or more, the most changed first",
       .gives = WearList::descriptor(),
       .answer = wear},
      {.method = "GET",
       .path = "/api/v1/stock",
       .summary =
           "Pieces by kind against the target table, the thinnest first; by kind where there "
           "is no table",
       .query = {{"kinds", "boolean", "By kind, whatever the table"}},
       .gives = StockReport::descriptor(),
       .answer = stock},
      {.method = "POST",
       .path = "/api/v1/targets",
       .role = Role::Head,
       .summary = "The target table anew: of each line colour, grip, size, profile, want and most",
       .takes = StockReport::descriptor(),
       .gives = StockReport::descriptor(),
       .answer = setTargets},
      {.method = "GET",
       .path = "/api/v1/events",
       .summary = "Live events (server-sent). library: it changed, {lastEvent}. intake: one moved "
                  "on, an IntakeMoved. devices: one was paired or withdrawn, {}. Last-Event-ID "
                  "brings what was missed, up to 500 events",
       .gives = IntakeMoved::descriptor(),
       .type = "text/event-stream",
       .answer = events},
      {.method = "GET",
       .path = "/api/v1/mat.pdf",
       .summary = "A marker mat to print at true scale",
       .query = {kPaper},
       .type = "application/pdf",
       .answer = matPdf},
      {.method = "GET",
       .path = "/api/v1/mat",
       .summary = "The same mat as the program knows it",
       .query = {kPaper},
       .gives = Mat::descriptor(),
       .answer = matJson},
  };
}

}  // namespace holdshelf
