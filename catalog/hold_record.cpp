// SPDX-License-Identifier: Apache-2.0
#include "catalog/hold_record.h"

#include <algorithm>
#include <array>

#include "catalog/colour.h"
#include "catalog/shown_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

struct StatusName {
  Status status;
  const char* word;
  const char* text;
};
constexpr std::array<StatusName, 6> kStatusNames{{{SHELF, "shelf", "on the shelf"},
                                                  {CRATE, "crate", "in a crate"},
                                                  {WALL, "wall", "on the wall"},
                                                  {WASH, "wash", "in the wash"},
                                                  {NEEDS_LOOK, "look", "needs a look"},
                                                  {RETIRED, "retired", "retired"}}};

/// What a person said of the colour stands until they take it back; the measured values stay.
void nameColour(Hold& hold) {
  Colour& colour = *hold.mutable_colour();
  if (!hold.said_colour().empty()) {
    colour.set_name(hold.said_colour());
  } else {
    const Scan* scan = currentScan(hold);
    colour.set_name(scan != nullptr ? scan->colour().name() : "");
  }
}

void applyEdit(Hold& hold, const Edit& edit) {
  for (const std::string& field : edit.fields()) {
    if (field == "name") hold.set_name(edit.name());
    if (field == "bin") hold.set_bin(edit.bin());
    if (field == "set") hold.set_set(edit.set());
    if (field == "texture") hold.set_texture(edit.texture());
    if (field == "maker") hold.set_maker(edit.maker());
    if (field == "count") hold.set_count(edit.count());
    if (field == "colour") {
      hold.set_said_colour(edit.colour());
      nameColour(hold);
    }
  }
}

void applyMove(Hold& hold, const Move& move) {
  const bool wall = move.status() == WALL;
  hold.set_status(move.status());
  hold.set_crate(move.status() == CRATE ? move.crate() : "");
  hold.set_zone(wall ? move.zone() : "");
  hold.set_climb(wall ? move.climb() : "");
  hold.set_place(wall ? move.place() : "");
  hold.clear_rotation_deg();
  hold.clear_wall_angle_deg();
  if (wall && move.has_rotation_deg()) hold.set_rotation_deg(move.rotation_deg());
  if (wall && move.has_wall_angle_deg()) hold.set_wall_angle_deg(move.wall_angle_deg());
}

void applySited(Hold& hold, const Sited& sited) {
  hold.clear_lent_to();
  if (sited.what_case() == Sited::kGivenTo) hold.set_site(sited.given_to());
  if (sited.what_case() == Sited::kLentTo && sited.lent_to() != hold.site())
    hold.set_lent_to(sited.lent_to());
}

/// Lips are found from the sections when a row is made; what an event says of them is not believed.
void forgetLips(Hold& hold) {
  for (Scan& scan : *hold.mutable_scans()) scan.clear_lips();
}

/// It makes all anew: whatever its time, what others said comes behind it.
bool beginsSubject(const Event& event) {
  return event.has_created() || event.climb().has_started();
}

}  // namespace

const std::string& standsAt(const Hold& hold) {
  return hold.lent_to().empty() ? hold.site() : hold.lent_to();
}

void applyEvent(Hold& hold, const Event& event) {
  switch (event.change_case()) {
    case Event::kCreated:
      hold = event.created();
      forgetLips(hold);
      hold.set_created_at(event.at());
      if (!hold.said_colour().empty()) nameColour(hold);
      break;
    case Event::kScanned:
      *hold.add_scans() = event.scanned();
      hold.mutable_scans(hold.scans_size() - 1)->clear_lips();
      *hold.mutable_colour() = event.scanned().colour();
      nameColour(hold);
      *hold.mutable_words() = event.words();
      break;
    case Event::kEdited:
      applyEdit(hold, event.edited());
      break;
    case Event::kMoved:
      applyMove(hold, event.moved());
      break;
    case Event::kNoted: {
      Note& note = *hold.add_notes();
      note.set_at(event.at());
      note.set_who(event.who());
      note.set_text(event.noted());
      break;
    }
    case Event::kPhotographed:
      hold.add_photo_blobs(event.photographed());
      break;
    case Event::kSited:
      applySited(hold, event.sited());
      break;
    case Event::kClimb:  // About something else.
    case Event::kGym:
    case Event::CHANGE_NOT_SET:
      break;
  }
  hold.set_id(event.hold());
  hold.set_updated_at(event.at());
}

const std::string& subjectOf(const Event& event) {
  return event.hold().empty() ? event.subject() : event.hold();
}

std::vector<const Event*> inOrder(const std::vector<Event>& events) {
  std::vector<const Event*> order;
  for (const Event& event : events) order.push_back(&event);
  std::stable_sort(order.begin(), order.end(), [](const Event* x, const Event* y) {
    if (beginsSubject(*x) != beginsSubject(*y)) return beginsSubject(*x);
    return x->at() < y->at();
  });
  return order;
}

std::optional<Hold> holdAsOf(const std::vector<Event>& events, const std::string& time) {
  std::optional<Hold> hold;
  for (const Event* event : inOrder(events)) {
    if (!time.empty() && event->at() > time) continue;
    if (!hold && !event->has_created()) continue;
    if (!hold) hold.emplace();
    applyEvent(*hold, *event);
  }
  return hold;
}

const Scan* currentScan(const Hold& hold) {
  return hold.scans().empty() ? nullptr : &hold.scans(hold.scans_size() - 1);
}

int piecesOf(const Hold& hold) { return std::max(1, hold.count()); }

std::string statusText(Status status) {
  for (const StatusName& name : kStatusNames)
    if (name.status == status) return name.text;
  return "unknown";
}

std::string statusWord(Status status) {
  for (const StatusName& name : kStatusNames)
    if (name.status == status) return name.word;
  return "unknown";
}

Status statusFromWord(const std::string& word) {
  for (const StatusName& name : kStatusNames)
    if (name.word == word) return name.status;
  throw BadInput("\"" + givenStart(word, 40) +
                 "\" is not a status: use shelf, crate, wall, wash, look or retired.");
}

}  // namespace holdshelf
