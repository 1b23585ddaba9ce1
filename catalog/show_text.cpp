// SPDX-License-Identifier: Apache-2.0
#include "catalog/show_text.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "catalog/hold_numbers.h"
#include "catalog/hold_record.h"
#include "catalog/measured_text.h"

namespace holdshelf {

const char* const kScanCaution =
    "A scan sees shape, not strength: look for cracks, flex, tap and turn the hold by hand. Bolts, "
    "inserts and holds follow their makers' instructions, the standards in force and the judgement "
    "of qualified people.";

namespace {

std::string line(const std::string& label, const std::string& text) {
  if (text.empty()) return "";
  std::string padded = label;
  padded.resize(std::max<std::size_t>(padded.size() + 2, 20), ' ');
  return "  " + padded + text + "\n";
}

std::string sizeLines(const Shape& shape) {
  std::string text;
  const auto add = [&](bool has, const char* label, const Measured& m, const char* unit,
                       double scale = 1) {
    if (has) text += line(label, measuredText(m, unit, scale));
  };
  add(shape.has_protrusion_mm(), "protrusion", shape.protrusion_mm(), "mm");
  add(shape.has_footprint_width_mm(), "footprint width", shape.footprint_width_mm(), "mm");
  add(shape.has_footprint_height_mm(), "footprint height", shape.footprint_height_mm(), "mm");
  add(shape.has_footprint_area_mm2(), "footprint area", shape.footprint_area_mm2(), "cm²", 1e-2);
  add(shape.has_longest_extent_mm(), "longest extent", shape.longest_extent_mm(), "mm");
  add(shape.has_volume_mm3(), "volume", shape.volume_mm3(), "cm³", 1e-3);
  add(shape.has_surface_area_mm2(), "surface", shape.surface_area_mm2(), "cm²", 1e-2);
  return text;
}

std::string seatLine(const BoltSeat& seat) {
  const std::string kind = seat.screw()                    ? "screw hole"
                           : seat.kind() == BoltSeat::CONE ? "cone (countersunk head)"
                                                           : "flat (washer or socket head)";
  std::string text = kind;
  if (seat.has_seat_height_mm())
    text += ", " + measuredText(seat.seat_height_mm(), "mm") + " over the wall";
  if (seat.has_bore_mm()) text += ", bore " + measuredText(seat.bore_mm(), "mm");
  return text;
}

std::string otherGripLines(const Shape& shape) {
  std::string text;
  for (const Pinch& pinch : shape.pinches())
    text += line("pinch", measuredText(pinch.width_mm(), "mm") + " wide, " +
                              measuredText(pinch.height_mm(), "mm") + " high, taper " +
                              measuredText(pinch.taper_deg(), "°") + ", closing along " +
                              decimalText(pinch.direction_deg(), 0) + "°");
  for (const Pocket& pocket : shape.pockets())
    text += line("pocket", measuredText(pocket.width_mm(), "mm") + " by " +
                               measuredText(pocket.height_mm(), "mm") + ", " +
                               measuredText(pocket.depth_mm(), "mm") + " deep, fingers " +
                               std::to_string(pocket.fingers()));
  for (const BoltSeat& seat : shape.bolt_seats()) text += line("bolt seat", seatLine(seat));
  return text;
}

std::string lipText(const Grip& grip) {
  if (!grip.has_lip_radius_mm()) return "";
  return (grip.lip_sharp() ? "< " : "") + measuredText(grip.lip_radius_mm(), "");
}

std::string edgeTable(const Shape& shape, double step_deg) {
  std::vector<std::vector<std::string>> rows = {
      {"  turned", "edge depth", "lip radius", "incut", "width", "fingers"}};
  for (const Grip& grip : shape.grips()) {
    const double steps = grip.rotation_deg() / step_deg;
    if (std::abs(steps - std::round(steps)) > 1e-6) continue;
    rows.push_back({"  " + decimalText(grip.rotation_deg(), 0) + "°",
                    measuredText(grip.edge_depth_mm(), ""), lipText(grip),
                    grip.has_incut_deg() ? measuredText(grip.incut_deg(), "°") : "",
                    grip.has_edge_width_mm() ? measuredText(grip.edge_width_mm(), "") : "",
                    std::to_string(grip.fingers())});
  }
  if (rows.size() == 1) return "  No edge that a finger can pull down on.\n";
  return tableText(rows);
}

std::string whereText(const Hold& hold) {
  std::string text = statusText(hold.status());
  if (!hold.crate().empty()) text += " " + hold.crate();
  if (!hold.zone().empty()) text += ", zone " + hold.zone();
  if (!hold.climb().empty()) text += ", climb " + hold.climb();
  return text;
}

std::string capturedText(const Scan& scan) {
  const CaptureReport& report = scan.report();
  const auto used = std::count_if(report.photos().begin(), report.photos().end(),
                                  [](const auto& p) { return p.verdict() == PhotoReport::USED; });
  std::string text = scan.taken_at().substr(0, 10);
  if (used > 0)
    text += ", " + std::to_string(used) + " photos, surface to " +
            decimalText(report.precision_mm(), 2) + " mm";
  if (report.guesswork_share() > 0.005)
    text += ", " + decimalText(report.guesswork_share() * 100, 0) + " % guesswork";
  return text;
}

const FoundNumber* foundNumber(const FindHit& hit, const std::string& flag) {
  for (const FoundNumber& number : hit.numbers())
    if (number.number() == flag) return &number;
  return nullptr;
}

/// The kinds that any of the hits has, in the order in which the hits name them.
std::vector<std::string> columnsOf(const google::protobuf::RepeatedPtrField<FindHit>& hits) {
  std::vector<std::string> flags;
  for (const FindHit& hit : hits)
    for (const FoundNumber& number : hit.numbers())
      if (std::find(flags.begin(), flags.end(), number.number()) == flags.end())
        flags.push_back(number.number());
  return flags;
}

std::string joined(const google::protobuf::RepeatedPtrField<std::string>& words, const char* with) {
  std::string text;
  for (const std::string& word : words) text += (text.empty() ? "" : with) + word;
  return text;
}

std::string hitTable(const google::protobuf::RepeatedPtrField<FindHit>& hits) {
  const std::vector<std::string> flags = columnsOf(hits);
  std::vector<std::vector<std::string>> rows = {
      {"id", "name", "colour", "bin", "where", "good as", "turned"}};
  const auto any = [&](bool (FindHit::*has)() const) {
    return std::any_of(hits.begin(), hits.end(), [&](const FindHit& h) { return (h.*has)(); });
  };
  const bool lip = any(&FindHit::has_lip), hand = any(&FindHit::has_hand);
  const bool foot = any(&FindHit::has_foot);
  const bool sites =
      std::any_of(hits.begin(), hits.end(), [](const FindHit& h) { return !h.site().empty(); });
  if (sites) rows[0].emplace_back("site");
  if (lip) rows[0].insert(rows[0].end(), {"lips apart, mm", "95 %"});
  if (hand) rows[0].emplace_back("of a jug");
  if (foot) rows[0].emplace_back("toe");
  for (const std::string& flag : flags) rows[0].push_back(flag);
  for (const FindHit& hit : hits) {
    std::vector<std::string> row = {
        hit.id(),
        hit.name(),
        hit.colour(),
        hit.bin(),
        statusWord(hit.status()),
        joined(hit.words(), ", "),
        hit.has_rotation_deg() ? decimalText(hit.rotation_deg(), 0) + "°" : ""};
    if (sites) row.push_back(hit.site());
    if (lip)
      row.insert(row.end(),
                 {decimalText(hit.lip().gap_mm(), 2), decimalText(hit.lip().gap_95_mm(), 2)});
    const auto use = [](const FoundUse& u) {
      return decimalText(u.fraction(), 2) +
             (u.sigma() > 0 ? " ± " + decimalText(u.sigma(), 2) : "") +
             (u.word().empty() ? "" : " " + u.word()) + " at " + decimalText(u.rotation_deg(), 0) +
             "°";
    };
    if (hand) row.push_back(use(hit.hand()));
    if (foot) row.push_back(use(hit.foot()));
    for (const std::string& flag : flags) {
      const FoundNumber* number = foundNumber(hit, flag);
      row.push_back(number ? decimalText(number->value(), flag == "fingers" ? 0 : 1) : "");
    }
    rows.push_back(row);
  }
  return tableText(rows);
}

}  // namespace

std::string rotationText(double from_deg, double to_deg) {
  if (to_deg - from_deg >= 355) return "at any rotation";
  if (to_deg - from_deg < 0.5) return "at " + decimalText(from_deg, 0) + "°";
  if (to_deg >= 360)
    return decimalText(from_deg, 0) + "° through 0° to " + decimalText(to_deg - 360, 0) + "°";
  return decimalText(from_deg, 0) + "° to " + decimalText(to_deg, 0) + "°";
}

std::string shapeText(const Shape& shape, double step_deg) {
  std::string text = sizeLines(shape) + otherGripLines(shape);
  text += "\n  Edges under a downward pull, mm, the hold turned counter-clockwise:\n";
  text += edgeTable(shape, step_deg);
  for (const std::string& note : shape.notes()) text += "  Note: " + note + "\n";
  return text;
}

std::string siteText(const Hold& hold) {
  return hold.lent_to().empty() ? hold.site() : hold.site() + ", lent to " + hold.lent_to();
}

std::string showText(const Hold& hold) {
  std::string text = hold.id() + (hold.name().empty() ? "" : "  " + hold.name()) + "\n";
  text += line("colour", hold.colour().name());
  text += line("where", whereText(hold));
  text += line("site", siteText(hold));
  text += line("bin", hold.bin());
  text += line("set", hold.set());
  text += line("maker", hold.maker());
  text += line("texture", hold.texture());
  if (hold.count() > 1) text += line("pieces", std::to_string(hold.count()));
  if (const Scan* scan = currentScan(hold)) {
    text += line("scanned", capturedText(*scan)) + "\n" + shapeText(scan->shape());
  }
  if (!hold.words().empty()) text += "\n  Good for a hand or a foot:\n";
  for (const GripWord& word : hold.words())
    text += line(word.word() + (word.borderline() ? " (borderline)" : ""),
                 rotationText(word.from_deg(), word.to_deg()) + "  " + word.reason());
  for (const Note& note : hold.notes())
    text += "  Note, " + note.at().substr(0, 10) + ", " + note.who() + ": " + note.text() + "\n";
  return text + "\n" + kScanCaution + "\n";
}

std::string findText(const FindResult& result) {
  if (result.matched() == 0) {
    std::string text = result.explanation() + "\n";
    if (result.nearest_misses().empty()) return text;
    text += "Nearest:\n";
    for (const FindHit& miss : result.nearest_misses())
      text += "  " + miss.id() + (miss.name().empty() ? "" : " " + miss.name()) + ": " +
              joined(miss.excluded_by(), "; ") + ".\n";
    return text;
  }
  std::string text = hitTable(result.hits());
  if (result.hits_size() < result.matched())
    text += std::to_string(result.hits_size()) + " of " + std::to_string(result.matched()) +
            " shown; --limit 0 shows all.\n";
  if (!result.explanation().empty()) text += result.explanation() + "\n";
  return text;
}

}  // namespace holdshelf
