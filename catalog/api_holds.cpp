// SPDX-License-Identifier: Apache-2.0
// Routes about one hold: what is known of it.
#include "catalog/api.h"
#include "catalog/bolt_bag.h"
#include "catalog/climb_pick.h"
#include "catalog/grip_verdict.h"
#include "catalog/gym.h"
#include "catalog/hold_record.h"
#include "catalog/judged_scan.h"
#include "catalog/twins.h"
#include "catalog/wear.h"
#include "mesh/bad_input.h"
#include "proto/wear.pb.h"

namespace holdshelf {
namespace {

ApiReply hold(Service& service, const ApiRequest& request) {
  return jsonReply(service.library().hold(request.id()));
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
      service.judged(service.library(), request.id(), request.text("hand", "midway"));
  return jsonReply(verdictAt(judged->model, mounting));
}

ApiReply history(Service& service, const ApiRequest& request) {
  const Library library = service.library();
  (void)library.hold(request.id());
  EventList list;
  for (Event& event : library.history(request.id())) {
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
TwinList twinsOf(const Library& library, const Hold& hold, const TriangleMesh& mesh,
                 const Progress& progress) {
  const TwinList all = twinsOfMesh(library, mesh, {}, progress);
  TwinList others = all;
  others.clear_twins();
  others.clear_unread();
  for (const std::string& id : all.unread())
    if (id != hold.id()) others.add_unread(id);
  for (const Twin& twin : all.twins()) {
    if (twin.other() == hold.id()) continue;
    *others.add_twins() = twin;
    others.mutable_twins()->rbegin()->set_hold(hold.id());
  }
  return others;
}

ApiReply twins(Service& service, const ApiRequest& request) {
  const Library library = service.library();
  const Hold hold = library.hold(request.id());
  const std::string blob = scanOf(hold, {}).mesh_blob();
  return comparedReply(service, library, "twins " + hold.id(), [&] {
    return twinsOf(library, hold, *service.mesh(library, blob), service.untilTheEnd());
  });
}

ApiReply wear(Service& service, const ApiRequest& request) {
  const Library library = service.library();
  const std::string& id = request.id();
  return {200, "application/json", *service.slowAnswer(library, "wear " + id, [&] {
            return compactJson(wearOf(library, id, {}, service.untilTheEnd()));
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
  BoltQuestion question = boltQuestionOf(library.hold(request.id()));
  setPanel(library, request, question);
  question.seat_by_hand_mm = request.number("seatMm");
  return jsonReply(packBolts({question}, {}));
}

const ApiParameter kRotation = {"rotation", "number",
                                "Degrees, counter-clockwise as the climber sees it"};

}  // namespace

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

std::vector<ApiRoute> holdRoutes() {
  return {
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
}

}  // namespace holdshelf
