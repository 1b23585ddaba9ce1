// SPDX-License-Identifier: Apache-2.0
// Routes about one hold.
#include <algorithm>
#include <cmath>

#include "catalog/api.h"
#include "catalog/bolt_bag.h"
#include "catalog/climb_pick.h"
#include "catalog/console.h"
#include "catalog/grip_verdict.h"
#include "catalog/gym.h"
#include "catalog/hold_record.h"
#include "catalog/judged_scan.h"
#include "catalog/measured_text.h"
#include "catalog/shown_text.h"
#include "catalog/twins.h"
#include "catalog/wear.h"
#include "mesh/bad_input.h"
#include "mesh/measure_shape.h"
#include "mesh/section_plot.h"
#include "mesh/view_mesh.h"
#include "proto/wear.pb.h"

namespace holdshelf {
namespace {

constexpr double kLightTriangles = 12'000, kMostTriangles = 400'000;

const std::string& idOf(const ApiRequest& request) { return request.place.at("id"); }

ApiReply hold(Service& service, const ApiRequest& request) {
  return jsonReply(service.library().hold(idOf(request)));
}

/// The scan that ?scan= names, or the last one.
Scan scanOf(const Hold& hold, const ApiRequest& request) {
  const std::string wanted = request.text("scan");
  if (wanted.empty()) {
    const Scan* scan = currentScan(hold);
    if (scan == nullptr) throw ApiError(404, hold.id() + " has no scan yet.");
    return *scan;
  }
  for (const Scan& scan : hold.scans())
    if (scan.id() == wanted) return scan;
  throw ApiError(404, hold.id() + " has no scan " + wanted.substr(0, 40) + ".");
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
  const Hold hold = library.hold(idOf(request));
  if (request.text("scan").empty() && currentScan(hold) == nullptr) return outlinePicture(nullptr);
  const Scan scan = scanOf(hold, request);
  if (scan.thumbnail_blob().empty() && scan.mesh_blob().empty()) return outlinePicture(&scan);
  if (scan.thumbnail_blob().empty())
    return {200, "image/png", *service.pictureOf(library, scan.mesh_blob()), scan.mesh_blob()};
  return blobReply(library, scan.thumbnail_blob(), "image/png");
}

ApiReply contactSheet(Service& service, const ApiRequest& request) {
  const Library library = service.library();
  const Scan scan = scanOf(library.hold(idOf(request)), request);
  return blobReply(library, scan.contact_sheet_blob(), "image/png");
}

ApiReply meshGlb(Service& service, const ApiRequest& request) {
  const Library library = service.library();
  const Hold hold = library.hold(idOf(request));
  if (request.text("scan").empty() && currentScan(hold) == nullptr) return {.status = 204};
  const Scan scan = scanOf(hold, request);
  const double wanted = request.number("triangles").value_or(kLightTriangles);
  const auto triangles = static_cast<std::size_t>(std::clamp(wanted, 500.0, kMostTriangles));
  return {200, "model/gltf-binary", *service.viewOf(library, scan.mesh_blob(), triangles),
          scan.mesh_blob() + "-" + std::to_string(triangles)};
}

Mounting mountingOf(const ApiRequest& request) {
  const Mounting mounting{request.number("rotation").value_or(0),
                          request.number("wallAngle").value_or(0),
                          request.number("pull").value_or(0)};
  if (!(mounting.wall_angle_deg >= -20 && mounting.wall_angle_deg <= 60))
    throw BadInput("The wall angle goes from -20 (slab) to 60 (overhang) degrees past vertical.");
  return mounting;
}

ApiReply verdict(Service& service, const ApiRequest& request) {
  const Mounting mounting = mountingOf(request);
  const auto judged =
      service.judged(service.library(), idOf(request), request.text("hand", "midway"));
  return jsonReply(verdictAt(judged->model, mounting));
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
    const Scan scan = scanOf(library.hold(idOf(request)), request);
    const auto prepared = service.prepared(library, scan.mesh_blob());
    try {
      return prepared->at(rotation, *offset);
    } catch (const BadInput& error) {
      return noSection(error.what());
    }
  }
  const auto judged = service.judged(library, idOf(request), "midway");
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

ApiReply history(Service& service, const ApiRequest& request) {
  const Library library = service.library();
  (void)library.hold(idOf(request));
  EventList list;
  for (Event& event : library.history(idOf(request))) {
    // The numbers of a scan are asked for elsewhere; here it is one line of the history.
    if (event.has_scanned()) {
      Scan brief;
      brief.set_id(event.scanned().id());
      brief.set_taken_at(event.scanned().taken_at());
      *event.mutable_scanned() = brief;
    }
    *list.add_events() = std::move(event);
  }
  return jsonReply(list);
}

/// Its twins among the other holds.
TwinList twinsOf(const Library& library, const Hold& hold, const TriangleMesh& mesh) {
  const TwinList all =
      twinsOfMesh(library, mesh, {}, [](const std::string&, double) { return true; });
  TwinList others = all;
  others.clear_twins();
  for (const Twin& twin : all.twins()) {
    if (twin.other() == hold.id()) continue;
    *others.add_twins() = twin;
    others.mutable_twins()->rbegin()->set_hold(hold.id());
  }
  return others;
}

ApiReply twins(Service& service, const ApiRequest& request) {
  const Library library = service.library();
  const Hold hold = library.hold(idOf(request));
  const std::string blob = scanOf(hold, {}).mesh_blob();
  return {200, "application/json", *service.slowAnswer(library, "twins " + hold.id(), [&] {
            return compactJson(twinsOf(library, hold, *service.mesh(library, blob)));
          })};
}

ApiReply wear(Service& service, const ApiRequest& request) {
  const Library library = service.library();
  const std::string id = idOf(request);
  return {200, "application/json", *service.slowAnswer(library, "wear " + id, [&] {
            return compactJson(
                wearOf(library, id, {}, [](const std::string&, double) { return true; }));
          })};
}

ApiReply wearGlb(Service& service, const ApiRequest& request) {
  const Library library = service.library();
  const std::string id = idOf(request);
  return {200, "model/gltf-binary", *service.slowAnswer(library, "wear.glb " + id, [&] {
            const WearMap map = wearMapOf(library, id);
            const TriangleMesh light =
                simplifiedForView(map.baseline, static_cast<std::size_t>(kLightTriangles));
            return viewGlb(light, keptValues(light, map.baseline, map.deviation.signed_mm));
          })};
}

/// The panel that the request names among the gym's walls, or describes.
void setPanel(const Library& library, const ApiRequest& request, BoltQuestion& question) {
  const std::string zone = request.text("zone");
  if (!zone.empty())
    return askForZone(zoneNamed(gymOf(library), zone), request.text("panel"), question);
  question.panel.set_thread(threadFromText(request.text("thread", "M10")));
  question.panel.set_panel_mm(request.number("panelMm").value_or(18));
  question.panel.set_barrel_mm(request.number("barrelMm").value_or(11));
  question.panel.set_flange_mm(request.number("flangeMm").value_or(1.5));
}

ApiReply bolt(Service& service, const ApiRequest& request) {
  const Library library = service.library();
  BoltQuestion question = boltQuestionOf(library.hold(idOf(request)));
  setPanel(library, request, question);
  question.seat_by_hand_mm = request.number("seatMm");
  return jsonReply(packBolts({question}, {}));
}

ApiReply commitOne(Service& service, const ApiRequest& request, Event event) {
  event.set_hold(idOf(request));
  event.set_who(request.device);
  Library library = service.library();
  (void)library.hold(idOf(request));
  EventList stored;
  for (Event& done : library.commit({std::move(event)})) *stored.add_events() = std::move(done);
  service.announce();
  return jsonReply(stored);
}

ApiReply move(Service& service, const ApiRequest& request) {
  Event event;
  Move& move = *event.mutable_moved();
  fromJson(request.body, "The move", move);
  if (move.status() == STATUS_UNSPECIFIED)
    throw BadInput("Say where the hold goes: SHELF, CRATE, WALL, WASH, NEEDS_LOOK or RETIRED.");
  move.set_crate(shownLine(move.crate(), 200, "crate"));
  move.set_zone(shownLine(move.zone(), 200, "zone"));
  move.set_climb(shownLine(move.climb(), 200, "climb"));
  move.set_place(shownLine(move.place(), 200, "place"));
  const bool by_setter = move.status() == SHELF || move.status() == CRATE || move.status() == WALL;
  const Role needed = by_setter ? Role::Set : move.status() == RETIRED ? Role::Head : Role::Log;
  if (request.role < needed)
    throw ApiError(403, "This needs the role " + roleWord(needed) + ": ask the head setter.");
  if (!move.crate().empty() && move.status() != CRATE)
    throw BadInput("A crate goes with the status CRATE only.");
  if ((!move.zone().empty() || !move.climb().empty()) && move.status() != WALL)
    throw BadInput("Zone and climb go with the status WALL only.");
  return commitOne(service, request, event);
}

ApiReply edit(Service& service, const ApiRequest& request) {
  Event event;
  Edit& edited = *event.mutable_edited();
  fromJson(request.body, "The edit", edited);
  edited.set_name(shownLine(edited.name(), 200, "name"));
  edited.set_bin(shownLine(edited.bin(), 100, "bin"));
  edited.set_set(shownLine(edited.set(), 200, "set"));
  edited.set_texture(shownLine(edited.texture(), 200, "texture"));
  edited.set_maker(shownLine(edited.maker(), 200, "maker"));
  for (const std::string& field : edited.fields())
    if (field != "name" && field != "bin" && field != "set" && field != "texture" &&
        field != "maker" && field != "count")
      throw BadInput("\"" + field.substr(0, 40) +
                     "\" cannot be edited: name, bin, set, texture, maker and count can.");
  if (edited.fields().empty()) throw BadInput("Nothing to change is named.");
  const auto& fields = edited.fields();
  if (std::find(fields.begin(), fields.end(), "count") != fields.end() &&
      (edited.count() < 1 || edited.count() > 100'000))
    throw BadInput("The number of pieces goes from 1 to 100000.");
  return commitOne(service, request, event);
}

ApiReply note(Service& service, const ApiRequest& request) {
  Note note;
  fromJson(request.body, "The note", note);
  Event event;
  event.set_noted(shownText(note.text(), 4000, "note"));
  if (event.noted().empty()) throw BadInput("The note is empty: write something first.");
  return commitOne(service, request, event);
}

const ApiParameter kScan = {"scan", "string", "Id of a scan; the last one where it is left out"};
const ApiParameter kRotation = {"rotation", "number",
                                "Degrees, counter-clockwise as the climber sees it"};

std::vector<ApiRoute> pictureRoutes() {
  return {
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
       .query = {kScan, {"triangles", "integer", "About so many (12000)"}},
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

std::vector<ApiRoute> recordRoutes() {
  return {
      {.method = "POST",
       .path = "/api/v1/holds/{id}/move",
       .role = Role::Set,
       .summary = "Say where the hold went; to the wash or for a look needs log, to retire head",
       .takes = Move::descriptor(),
       .gives = EventList::descriptor(),
       .answer = move},
      {.method = "POST",
       .path = "/api/v1/holds/{id}/edit",
       .role = Role::Log,
       .summary = "Change what people say of the hold",
       .takes = Edit::descriptor(),
       .gives = EventList::descriptor(),
       .answer = edit},
      {.method = "POST",
       .path = "/api/v1/holds/{id}/note",
       .role = Role::Set,
       .summary = "Write a note; only its text is read",
       .takes = Note::descriptor(),
       .gives = EventList::descriptor(),
       .answer = note},
  };
}

}  // namespace

std::vector<ApiRoute> holdRoutes() {
  std::vector<ApiRoute> routes = {
      {.method = "GET",
       .path = "/api/v1/holds/{id}",
       .summary = "The record, without sections",
       .gives = Hold::descriptor(),
       .answer = hold},
      {.method = "GET",
       .path = "/api/v1/holds/{id}/verdict",
       .summary = "What hands and feet get from the hold in one mounting",
       .query = {kRotation,
                 {"wallAngle", "number", "Degrees past vertical, -20 to 60"},
                 {"pull", "number", "Degrees counter-clockwise from straight down"},
                 {"hand", "string", "women, men or midway"}},
       .gives = GripVerdict::descriptor(),
       .answer = verdict},
      {.method = "GET",
       .path = "/api/v1/holds/{id}/section",
       .summary =
           "The section at a rotation (nearest 5 degrees), with the edge measured on it; none, "
           "with a note, where there is nothing to cut",
       .query = {kRotation, kScan, {"offset", "number", "mm to the climber's right of the bolt"}},
       .gives = Shape::descriptor(),
       .answer = section},
      {.method = "GET",
       .path = "/api/v1/holds/{id}/bolt",
       .summary = "The bolt that fits the hold and a panel: one of the gym's, or as described",
       .query =
           {{"zone", "string", "Of the gym"},
            {"panel", "string",
             "Of the zone; where it is left out, its main one and those fixed otherwise"},
            {"thread", "string", "M10 or 3/8-16, where no zone is named"},
            {"panelMm", "number", "Thickness (18)"},
            {"barrelMm", "number", "Of the T-nut (11)"},
            {"flangeMm", "number", "Of the T-nut (1.5)"},
            {"seatMm", "number",
             "Measured by hand from the back to the face a cap head bears on, or to the narrow end "
             "of a countersunk head's cone"}},
       .gives = BoltBag::descriptor(),
       .answer = bolt},
      {.method = "GET",
       .path = "/api/v1/holds/{id}/history",
       .summary = "All that happened to the hold, scans without their numbers",
       .gives = EventList::descriptor(),
       .answer = history},
      {.method = "GET",
       .path = "/api/v1/holds/{id}/twins",
       .summary = "Holds of the same shape as this one",
       .gives = TwinList::descriptor(),
       .answer = twins},
      {.method = "GET",
       .path = "/api/v1/holds/{id}/wear",
       .summary = "The last scan against the first",
       .gives = Wear::descriptor(),
       .answer = wear},
  };
  for (auto* group : {pictureRoutes, recordRoutes})
    for (ApiRoute& route : group()) routes.push_back(std::move(route));
  return routes;
}

}  // namespace holdshelf
