// SPDX-License-Identifier: Apache-2.0
// Routes that show one hold: pictures, surfaces to turn in 3D, and sections.
#include <algorithm>
#include <array>
#include <cmath>

#include "catalog/api.h"
#include "catalog/hold_record.h"
#include "catalog/judged_scan.h"
#include "catalog/measured_text.h"
#include "catalog/wear.h"
#include "mesh/bad_input.h"
#include "mesh/measure_shape.h"
#include "mesh/section_plot.h"
#include "mesh/view_glb.h"
#include "mesh/view_mesh.h"

namespace holdshelf {
namespace {

constexpr double kLightTriangles = 12'000;

/// What surfaces are simplified to: each number that can be asked for is another one to make and to
/// keep.
constexpr std::array kTriangles = {500.0, 1500.0, 4000.0, kLightTriangles,
                                   30e3,  60e3,   150e3,  400e3};

std::size_t nearestTriangles(double wanted) {
  const auto away = [&](double step) { return std::abs(std::log(step / std::max(wanted, 1.0))); };
  return static_cast<std::size_t>(*std::min_element(
      kTriangles.begin(), kTriangles.end(), [&](double a, double b) { return away(a) < away(b); }));
}

ApiReply blobReply(const Library& library, const std::string& blob, const std::string& type) {
  if (blob.empty()) throw ApiError(404, "The scan has no such picture.");
  return {200, type, library.blobs().get(blob), blob};
}

/// A hold without a mesh: its outline on the wall, as far as it is known.
ApiReply outlinePicture(const Scan* scan) {
  std::string points;
  double reach_mm = 1;
  if (scan != nullptr)
    for (const Point2& p : scan->shape().footprint_mm()) {
      points += fixed(p.x(), 1) + "," + fixed(-p.y(), 1) + " ";
      reach_mm = std::max({reach_mm, std::abs(p.x()), std::abs(p.y())});
    }
  const std::string reach = fixed(1.1 * reach_mm, 1), size = fixed(2.2 * reach_mm, 1);
  return {200, "image/svg+xml",
          "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"240\" height=\"240\" viewBox=\"-" +
              reach + " -" + reach + " " + size + " " + size + "\"><polygon points=\"" + points +
              "\" fill=\"#8f9aa0\"/></svg>"};
}

ApiReply thumbnail(Service& service, const ApiRequest& request) {
  const Library library = service.library();
  const Hold hold = library.hold(request.id());
  if (request.text("scan").empty() && currentScan(hold) == nullptr) return outlinePicture(nullptr);
  const Scan scan = scanOf(hold, request);
  if (scan.thumbnail_blob().empty() && scan.mesh_blob().empty()) return outlinePicture(&scan);
  if (scan.thumbnail_blob().empty())
    return {200, "image/png", *service.pictureOf(library, scan.mesh_blob()), scan.mesh_blob()};
  return blobReply(library, scan.thumbnail_blob(), "image/png");
}

ApiReply contactSheet(Service& service, const ApiRequest& request) {
  const Library library = service.library();
  const Scan scan = scanOf(library.hold(request.id()), request);
  return blobReply(library, scan.contact_sheet_blob(), "image/png");
}

ApiReply meshGlb(Service& service, const ApiRequest& request) {
  const Library library = service.library();
  const Hold hold = library.hold(request.id());
  if (request.text("scan").empty() && currentScan(hold) == nullptr) return {.status = 204};
  const Scan scan = scanOf(hold, request);
  const std::size_t triangles =
      nearestTriangles(request.number("triangles").value_or(kLightTriangles));
  return {200, "model/gltf-binary", *service.viewOf(library, scan.mesh_blob(), triangles),
          scan.mesh_blob() + "-" + std::to_string(triangles)};
}

ApiReply wearGlb(Service& service, const ApiRequest& request) {
  const Library library = service.library();
  const std::string& id = request.id();
  return {200, "model/gltf-binary", *service.slowAnswer(library, "wear.glb " + id, [&] {
            const WearMap map = wearMapOf(library, id, service.untilTheEnd());
            const TriangleMesh light =
                simplifiedForView(map.baseline, static_cast<std::size_t>(kLightTriangles));
            return viewGlb(light, keptValues(light, map.baseline, map.deviation.signed_mm));
          })};
}

/// No section, and why.
Shape noSection(const std::string& why) {
  Shape shape;
  shape.add_notes(why);
  return shape;
}

/// The section at a rotation: the stored one through the best place, or the one that ?offset= names
/// cut and measured afresh; none, with a note, where there is nothing to cut.
Shape sectionOf(Service& service, const ApiRequest& request) {
  const Library library = service.library();
  const double step = 5;
  const double rotation = wrap360(std::round(request.number("rotation").value_or(0) / step) * step);
  const auto offset = request.number("offset");
  if (offset) {
    const Scan scan = scanOf(library.hold(request.id()), request);
    const auto prepared = service.prepared(library, scan.mesh_blob());
    try {
      return prepared->at(rotation, *offset);
    } catch (const BadInput& error) {
      return noSection(error.what());
    }
  }
  const auto judged = service.judged(library, request.id(), "midway");
  Shape shape;
  for (const Section& section : judged->scan.shape().sections())
    if (section.rotation_deg() == rotation) *shape.add_sections() = section;
  for (const Grip& grip : judged->scan.shape().grips())
    if (grip.rotation_deg() == rotation) *shape.add_grips() = grip;
  if (shape.sections().empty())
    return noSection(
        "There is no edge to pull down on at this rotation; touch the hold where you want it cut.");
  return shape;
}

ApiReply section(Service& service, const ApiRequest& request) {
  return jsonReply(sectionOf(service, request));
}

ApiReply sectionSvg(Service& service, const ApiRequest& request) {
  const Shape shape = sectionOf(service, request);
  if (shape.sections().empty()) throw ApiError(404, shape.notes(0));
  return {200, "image/svg+xml", plotSection(shape, shape.sections(0).rotation_deg()).svg};
}

const ApiParameter kScan = {"scan", "string", "Id of a scan; the last one where it is left out"};
const ApiParameter kRotation = {"rotation", "number",
                                "Degrees, counter-clockwise as the climber sees it"};

}  // namespace

std::vector<ApiRoute> pictureRoutes() {
  return {
      {.method = "GET",
       .path = "/api/v1/holds/{id}/section",
       .summary =
           "The section at a rotation (nearest 5 degrees), with the edge measured on it; none, "
           "with a note, where there is nothing to cut",
       .query = {kRotation, kScan, {"offset", "number", "mm to the climber's right of the bolt"}},
       .gives = Shape::descriptor(),
       .answer = section},
      {.method = "GET",
       .path = "/api/v1/holds/{id}/thumbnail",
       .summary = "A small picture of the hold; of one without a mesh its outline (SVG)",
       .query = {kScan},
       .type = "image/png",
       .answer = thumbnail},
      {.method = "GET",
       .path = "/api/v1/holds/{id}/contact-sheet",
       .summary = "What was rebuilt, over the photos",
       .query = {kScan},
       .type = "image/png",
       .answer = contactSheet},
      {.method = "GET",
       .path = "/api/v1/holds/{id}/mesh.glb",
       .summary =
           "The hold to look at, simplified (glTF 2.0 with KHR_mesh_quantization); 204 before its "
           "first scan",
       .query = {kScan,
                 {"triangles", "integer",
                  "About so many (12000): the nearest of 500, 1500, 4000, 12000, 30000, 60000, "
                  "150000, 400000"}},
       .type = "model/gltf-binary",
       .answer = meshGlb},
      {.method = "GET",
       .path = "/api/v1/holds/{id}/wear.glb",
       .summary = "The first scan's surface to look at; _VALUE is where the last one lies from it, "
                  "mm, negative: gone",
       .type = "model/gltf-binary",
       .answer = wearGlb},
      {.method = "GET",
       .path = "/api/v1/holds/{id}/section.svg",
       .summary = "The section as a drawing with its dimensions",
       .query = {kRotation, kScan, {"offset", "number", "mm to the climber's right of the bolt"}},
       .type = "image/svg+xml",
       .answer = sectionSvg},
  };
}

}  // namespace holdshelf
