// SPDX-License-Identifier: Apache-2.0
// Routes that only read a climb and say what to do: suggestions, checks, swaps, what to fetch.
#include "catalog/api.h"
#include "catalog/climb_checks.h"
#include "catalog/climbs.h"
#include "catalog/pick_pdf.h"
#include "catalog/suggest.h"
#include "catalog/swaps.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr int kSwaps = 5;

ApiReply suggestions(Service& service, const ApiRequest& request) {
  const double others = std::clamp(request.number("others").value_or(3), 0.0, 50.0);
  return jsonReply(suggestHolds(service.library(), request.id(), request.text("wishes"),
                                static_cast<int>(others)));
}

ApiReply checks(Service& service, const ApiRequest& request) {
  const Library library = service.library();
  const std::string& id = request.id();
  return {200, "application/json", *service.slowAnswer(library, "checks " + id, [&] {
            return compactJson(checkClimb(library, id, {}, service.untilTheEnd()));
          })};
}

ApiReply swaps(Service& service, const ApiRequest& request) {
  const Library library = service.library();
  const std::string& id = request.id();
  const std::string hold = request.text("hold"), like = request.text("like", "lower");
  const bool any_colour = request.text("anyColour") == "true";
  const std::string question =
      "swaps " + id + "\n" + hold + "\n" + like + (any_colour ? "\nany" : "");
  return {200, "application/json", *service.slowAnswer(library, question, [&] {
            return compactJson(
                findSwaps(library, id, hold, like, any_colour, kSwaps, {}, service.untilTheEnd()));
          })};
}

ApiReply view(Service& service, const ApiRequest& request) {
  return jsonReply(viewClimb(service.library(), request.id()));
}

ApiReply pick(Service& service, const ApiRequest& request) {
  return jsonReply(pickList(service.library(), request.id()));
}

ApiReply pickAsPdf(Service& service, const ApiRequest& request) {
  const std::string paper = request.text("paper", "A4");
  const std::string pdf = pickPdf(pickList(service.library(), request.id()), paper);
  return {200, "application/pdf", pdf, "", "pick-" + request.id() + "-" + paper + ".pdf"};
}

ApiReply strip(Service& service, const ApiRequest& request) {
  return jsonReply(stripList(service.library(), request.id(), request.text("to", "wash")));
}

}  // namespace

std::vector<ApiRoute> climbAdviceRoutes() {
  return {
      {.method = "GET",
       .path = "/api/v1/climbs/{id}/suggestions",
       .summary = "Holds on the shelf that meet wishes",
       .query = {{"wishes", "string", "Two incut crimps, one jug to finish", true},
                 {"others", "integer", "How many more to name for each wish (3)"}},
       .gives = Suggestions::descriptor(),
       .answer = suggestions},
      {.method = "GET",
       .path = "/api/v1/climbs/{id}/checks",
       .summary = "What to ask about the climb, with cures that were tried",
       .gives = ClimbChecks::descriptor(),
       .answer = checks},
      {.method = "GET",
       .path = "/api/v1/climbs/{id}/swaps",
       .summary = "Holds to take instead of one",
       .query = {{"hold", "string", "Which hold of the climb", true},
                 {"like", "string", "lower, smaller, harder or foot"},
                 {"anyColour", "boolean", "Not only the climb's colour"}},
       .gives = SwapList::descriptor(),
       .answer = swaps},
      {.method = "GET",
       .path = "/api/v1/climbs/{id}/view",
       .summary = "The climb with what each mounting gives hands and feet",
       .gives = ClimbView::descriptor(),
       .answer = view},
      {.method = "GET",
       .path = "/api/v1/climbs/{id}/pick",
       .summary = "What to fetch, by bin in walking order, with the bolts",
       .gives = PickList::descriptor(),
       .answer = pick},
      {.method = "GET",
       .path = "/api/v1/climbs/{id}/pick.pdf",
       .summary = "The same to print",
       .query = {{"paper", "string", "A4 (where it is left out) or pocket"}},
       .type = "application/pdf",
       .answer = pickAsPdf},
      {.method = "GET",
       .path = "/api/v1/climbs/{id}/strip",
       .summary = "Where the holds would go, and which are due for a new scan",
       .query = {{"to", "string", "wash (where it is left out) or shelf"}},
       .gives = StripList::descriptor(),
       .answer = strip},
  };
}

}  // namespace holdshelf
