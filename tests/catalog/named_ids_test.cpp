// SPDX-License-Identifier: Apache-2.0
#include "catalog/named_ids.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <iterator>
#include <map>
#include <set>
#include <sstream>
#include <vector>

#include "proto/event.pb.h"

using namespace holdshelf;
using google::protobuf::Descriptor;
using google::protobuf::FieldDescriptor;

namespace {

/// Texts of an event that name neither a hold nor a climb, by their message. Whoever adds a text to
/// one decides whether it belongs here or into named_ids.cpp. (ClimbHold.gone names a hold, but is
/// made of the events; what a subject names is not its own field.)
const std::map<std::string, std::string> kOtherTexts = {
    {"CaptureReport", "advice program_version warnings"},
    {"Climb", "colour grade name opened_at setter started_at stripped_at zone"},
    {"ClimbHold", "bolt former_bolt gone name wish"},
    {"ClimbNote", "at text who"},
    {"Colour", "name"},
    {"Dismissal", "at check found grade reason who"},
    {"Edit", "bin colour fields maker name set texture"},
    {"Event", "at noted origin photographed subject who"},
    {"GripMap", "hand"},
    {"GripWord", "reason word"},
    {"Gym", "bins name"},
    {"Hold",
     "bin created_at lent_to maker name photo_blobs place said_colour set site texture "
     "updated_at zone"},
    {"Move", "place zone"},
    {"Note", "at text who"},
    {"PaperCheck", "message paper"},
    {"PhotoCamera", "photo"},
    {"PhotoReport", "photo reason"},
    {"Placement", "note panel"},
    {"Scan", "contact_sheet_blob glb_blob id mesh_blob photo_blobs taken_at thumbnail_blob"},
    {"Shape", "notes"},
    {"Sited", "given_to lent_to"},
    {"StageTime", "stage"},
    {"WallFeature", "name"},
    {"WallPanel", "name"},
    {"Zone", "name"}};

bool isOther(const FieldDescriptor& field) {
  const auto found = kOtherTexts.find(field.containing_type()->name());
  if (found == kOtherTexts.end()) return false;
  std::istringstream names(found->second);
  return std::count(std::istream_iterator<std::string>(names), {}, field.name()) == 1;
}

void collectTexts(const Descriptor& message, std::set<const Descriptor*>& seen,
                  std::vector<const FieldDescriptor*>& texts) {
  if (!seen.insert(&message).second) return;
  for (int i = 0; i < message.field_count(); ++i) {
    const FieldDescriptor& field = *message.field(i);
    if (field.type() == FieldDescriptor::TYPE_STRING) texts.push_back(&field);
    if (field.message_type() != nullptr) collectTexts(*field.message_type(), seen, texts);
  }
}

}  // namespace

TEST_CASE("namedBy: of every text in an event it is decided whether it names a hold or a climb") {
  std::set<const Descriptor*> seen;
  std::vector<const FieldDescriptor*> texts;
  collectTexts(*Event::descriptor(), seen, texts);
  CHECK(texts.size() > 90);
  int named = 0;
  for (const FieldDescriptor* text : texts) {
    const std::string name = text->full_name();
    CAPTURE(name);
    CHECK((namedBy(*text) != NamedId::None) != isOther(*text));
    named += namedBy(*text) != NamedId::None ? 1 : 0;
  }
  CHECK(named == 14);  // Each that is said to name one is such a field.
}

TEST_CASE("renameIds: wherever a hold or a climb is named, and nowhere else") {
  const NewIds holds = {{"H-0001", "H-0050"}, {"H-0050", "H-0051"}};
  const NewIds climbs = {{"C-0001", "C-0007"}, {"H-0001", "C-0008"}};
  Event event;
  event.set_hold("H-0001");
  Hold& hold = *event.mutable_created();
  hold.set_name("H-0001");
  hold.set_split_from("H-0050");
  hold.set_crate("C-0001");
  hold.set_bin("C-0001");
  renameIds(holds, climbs, event);
  CHECK(event.hold() == "H-0050");
  CHECK(hold.split_from() == "H-0051");
  CHECK(hold.crate() == "C-0007");
  CHECK(hold.name() == "H-0001");
  CHECK(hold.bin() == "C-0001");

  event.mutable_climb()->set_dropped("H-0001");
  renameIds(holds, climbs, event);
  CHECK(event.climb().dropped() == "H-0050");
  Climb& started = *event.mutable_climb()->mutable_started();
  for (const char* id : {"H-0001", "H-0002", "H-0050"}) started.add_holds()->set_hold(id);
  renameIds(holds, climbs, event);
  CHECK(started.holds(0).hold() == "H-0050");
  CHECK(started.holds(1).hold() == "H-0002");
  CHECK(started.holds(2).hold() == "H-0051");
}
