// SPDX-License-Identifier: Apache-2.0
#include "catalog/ask.h"

#include <google/protobuf/util/json_util.h>

#include "catalog/grip_kind.h"
#include "catalog/hold_record.h"
#include "catalog/limit_text.h"
#include "catalog/postgres_store.h"
#include "catalog/query_line.h"
#include "catalog/query_match.h"
#include "catalog/shared_find.h"
#include "catalog/show_text.h"
#include "mesh/bad_input.h"
#include "mesh/overlay_plot.h"

namespace holdshelf {
namespace {

constexpr int kUsualLimit = 20;

/// The stored grip map's own answer for a hit's mounting, in steps of 5 degrees.
void refineUse(const Library& library, const MountingSpan& span, FindHit& hit) {
  const Hold hold = library.hold(hit.id());
  const Scan* scan = currentScan(hold);
  if (scan == nullptr) return;
  if (hit.has_hand())
    if (const auto best = bestHand(scan->grip_map(), span)) {
      hit.mutable_hand()->set_fraction(best->cell.hand);
      hit.mutable_hand()->set_sigma(best->cell.hand_sigma);
      hit.mutable_hand()->set_rotation_deg(best->rotation_deg);
      hit.mutable_hand()->set_word(std::string(wordOf(best->cell.kind)));
    }
  if (hit.has_foot())
    if (const auto best = bestFoot(scan->grip_map(), span)) {
      hit.mutable_foot()->set_fraction(best->cell.toe);
      hit.mutable_foot()->set_sigma(best->cell.toe_sigma);
      hit.mutable_foot()->set_rotation_deg(best->rotation_deg);
    }
}

/// Unlike stored records, a question with a field that does not exist is refused: a limit that is
/// passed over in silence would give wrong hits.
void readStrictly(const std::string& json, Query& query) {
  const auto status = google::protobuf::util::JsonStringToMessage(json, &query);
  if (!status.ok())
    throw BadInput("The query is no JSON of a Query message (" + status.message().as_string() +
                   "): see proto/query.proto for its fields.");
}

std::string wantedText(const LipQuery& lip) {
  if (!lip.like().empty())
    return "lip of " + lip.like() +
           (lip.has_like_rotation_deg() ? " turned " + fixed(lip.like_rotation_deg(), 0) + "°"
                                        : "");
  if (lip.has_radius_mm())
    return "lip of radius " + fixed(lip.radius_mm(), 1) + " mm, incut " +
           fixed(lip.incut_deg(), 0) + "°" +
           (lip.has_depth_mm() ? ", " + fixed(lip.depth_mm(), 1) + " mm deep" : "");
  return "drawn section";
}

/// With the site of who asks.
Query ofHere(const Library& library, Query query) {
  if (query.site().empty()) query.set_site(siteAt(library.store()));
  return query;
}

FindResult refined(const Library& library, FindResult result, const Query& query) {
  const MountingSpan span = QueryMatcher(query).span();
  for (auto* hits : {result.mutable_hits(), result.mutable_nearest_misses()})
    for (FindHit& hit : *hits)
      if (hit.has_hand() || hit.has_foot()) refineUse(library, span, hit);
  return result;
}

}  // namespace

Query queryOf(const std::string& question) {
  Query query;
  const std::size_t first = question.find_first_not_of(" \t\r\n");
  if (first != std::string::npos && question[first] == '{')
    readStrictly(question, query);
  else
    addQueryLine(question, query);
  if (query.limit() == 0) query.set_limit(kUsualLimit);
  return query;
}

FindResult ask(const Library& library, const SearchIndex& index, const std::string& question) {
  return ask(library, index, queryOf(question));
}

FindResult ask(const Library& library, const SearchIndex& index, const Query& query) {
  return refined(library, index.find(ofHere(library, query)), query);
}

FindResult ask(const Library& library,
               const std::function<std::shared_ptr<const SearchIndex>()>& index,
               const Query& query) {
  auto result = findInDatabase(library, ofHere(library, query));
  if (!result) return ask(library, *index(), query);
  return refined(library, std::move(*result), query);
}

std::string queryText(const Query& query) {
  std::string text = query.has_lip() ? "like the " + wantedText(query.lip()) : "";
  for (const auto& [limit, wider] : withoutEachLimit(query))
    text += (text.empty() ? "" : "; ") + limit;
  return text.empty() ? "every hold" : text;
}

Plot overlayPlot(const Query& query, const FindHit& hit) {
  if (!hit.has_lip() || !query.has_lip())
    throw BadInput("There is no wanted lip to draw over " + hit.id() +
                   ": ask for one with --like.");
  OverlayPlot overlay;
  for (const Point2& p : hit.lip().wanted_mm()) overlay.wanted_mm.emplace_back(p.x(), p.y());
  for (const Point2& p : hit.lip().found_mm()) overlay.found_mm.emplace_back(p.x(), p.y());
  overlay.wanted_words = wantedText(query.lip());
  overlay.found_words = hit.id() + (hit.name().empty() ? "" : " " + hit.name()) + ", turned " +
                        rotationText(hit.lip().from_deg(), hit.lip().to_deg());
  overlay.caption = "Lip of " + hit.id() + " over the wanted one";
  return plotOverlay(overlay);
}

}  // namespace holdshelf
