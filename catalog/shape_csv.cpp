// SPDX-License-Identifier: Apache-2.0
#include "catalog/shape_csv.h"

#include <google/protobuf/util/json_util.h>

#include <vector>

#include "catalog/csv.h"
#include "catalog/measured_text.h"
#include "mesh/plot.h"

namespace holdshelf {
namespace {

struct Column {
  const char* name;
  Measured value;
  bool known;
};

std::vector<Column> columnsOf(const Shape& s) {
  const Grip none, *found = bestGrip(s);
  const Grip& g = found ? *found : none;
  const bool has = found != nullptr, seat = s.bolt_seats_size() > 0;
  const BoltSeat& b = seat ? s.bolt_seats(0) : BoltSeat::default_instance();
  return {{"protrusion_mm", s.protrusion_mm(), true},
          {"footprint_width_mm", s.footprint_width_mm(), true},
          {"footprint_height_mm", s.footprint_height_mm(), true},
          {"footprint_area_mm2", s.footprint_area_mm2(), true},
          {"longest_extent_mm", s.longest_extent_mm(), true},
          {"volume_mm3", s.volume_mm3(), true},
          {"surface_area_mm2", s.surface_area_mm2(), true},
          {"edge_depth_mm", g.edge_depth_mm(), has},
          {"lip_radius_mm", g.lip_radius_mm(), has},
          {"incut_deg", g.incut_deg(), has},
          {"edge_width_mm", g.edge_width_mm(), has},
          {"bolt_seat_mm", b.seat_height_mm(), seat},
          {"bore_mm", b.bore_mm(), seat}};
}

}  // namespace

std::string shapeCsvHeader() {
  std::string out = "file";
  for (const Column& c : columnsOf({})) out += std::string(",") + c.name + "," + c.name + "_sigma";
  return out + ",edge_rotation_deg,edge_fingers,pinches,pockets,error";
}

std::string shapeCsvRow(const MeasuredFile& file) {
  std::string out = csvCell(file.file());
  const bool good = file.error().empty();
  for (const Column& c : columnsOf(file.shape()))
    out += good && c.known
               ? "," + decimalText(c.value.value(), 3) + "," + decimalText(c.value.sigma(), 3)
               : ",,";
  const Grip* best = bestGrip(file.shape());
  out += best ? std::string(",") + decimalText(best->rotation_deg(), 1) + "," +
                    std::to_string(best->fingers())
              : ",,";
  out += good ? std::string(",") + std::to_string(file.shape().pinches_size()) + "," +
                    std::to_string(file.shape().pockets_size())
              : ",,";
  return out + std::string(",") + csvCell(file.error());
}

std::string shapeLine(const MeasuredFile& file) {
  if (!file.error().empty()) return file.file() + ": not measured. " + file.error();
  const Shape& s = file.shape();
  std::string out = file.file() + ": " + measuredText(s.longest_extent_mm(), "mm") + " long, " +
                    measuredText(s.protrusion_mm(), "mm") + " high";
  if (const Grip* g = bestGrip(s))
    out += ", best edge " + measuredText(g->edge_depth_mm(), "mm") + " deep at " +
           decimalText(g->rotation_deg(), 0) + "°";
  return out;
}

std::string oneLineJson(const MeasuredFile& file) {
  std::string json;
  google::protobuf::util::JsonPrintOptions options;
  options.preserve_proto_field_names = true;
  (void)google::protobuf::util::MessageToJsonString(file, &json, options);
  return json;
}

}  // namespace holdshelf
