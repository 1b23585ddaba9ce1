// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <doctest/doctest.h>

#include <functional>
#include <iterator>
#include <map>
#include <optional>
#include <random>
#include <string>
#include <vector>

#include "catalog/library.h"
#include "mesh/bad_input.h"

namespace holdshelf::test {

inline Event created(const std::string& id, const std::string& name = "",
                     const std::string& bin = "") {
  Event event;
  event.set_hold(id);
  event.mutable_created()->set_name(name);
  event.mutable_created()->set_bin(bin);
  event.mutable_created()->set_status(SHELF);
  return event;
}

inline Event scanned(const std::string& id, double protrusion_mm) {
  Event event;
  event.set_hold(id);
  event.mutable_scanned()->set_id(id + "/1");
  event.mutable_scanned()->mutable_shape()->mutable_protrusion_mm()->set_value(protrusion_mm);
  event.mutable_scanned()->mutable_shape()->add_sections()->set_rotation_deg(5);
  return event;
}

/// The store as one would write it without a disk: the oracle of the random test.
struct Model {
  struct Record {
    std::string name, bin;
    Status status = SHELF;
    std::vector<double> protrusions;
    int notes = 0;
    std::string crate, zone, colour;
    std::optional<double> rotation_deg;
    int count = 0, photos = 0;
  };
  std::map<std::string, Record> holds;
  std::map<std::string, int> of_subject;  // Events about other things than holds.
  std::int64_t events = 0;
};

/// One random event on the model and, as a message, for the library.
inline Event randomEvent(Model& model, std::mt19937& random) {
  const auto below = [&](int n) { return static_cast<int>(random() % static_cast<unsigned>(n)); };
  auto target = model.holds.begin();
  std::advance(target, below(static_cast<int>(model.holds.size())));
  auto& [id, record] = *target;
  Event event;
  event.set_hold(id);
  switch (below(8)) {
    case 0:
      record.name = "name " + std::to_string(below(1000));
      event.mutable_edited()->add_fields("name");
      event.mutable_edited()->set_name(record.name);
      event.mutable_edited()->set_bin("not among the fields");
      break;
    case 1: {
      constexpr Status kStatuses[] = {SHELF, CRATE, WALL, WASH, NEEDS_LOOK, RETIRED};
      record.status = kStatuses[below(6)];
      event.mutable_moved()->set_status(record.status);
      // Given with every status; only those that belong to it are kept.
      const std::string place = "place " + std::to_string(below(9));
      const double turn = below(360);
      event.mutable_moved()->set_crate(place);
      event.mutable_moved()->set_zone(place);
      event.mutable_moved()->set_rotation_deg(turn);
      record.crate = record.status == CRATE ? place : "";
      record.zone = record.status == WALL ? place : "";
      record.rotation_deg.reset();
      if (record.status == WALL) record.rotation_deg = turn;
      break;
    }
    case 3:
      record.count = 1 + below(20);
      event.mutable_edited()->add_fields("count");
      event.mutable_edited()->set_count(record.count);
      break;
    case 4:
      record.colour = below(3) == 0 ? "" : "colour " + std::to_string(below(5));
      event.mutable_edited()->add_fields("colour");
      event.mutable_edited()->set_colour(record.colour);
      break;
    case 5:
      ++record.photos;
      event.set_photographed("0123");
      break;
    case 6: {
      const std::string subject = "crate/" + std::to_string(below(5));
      event.clear_hold();
      event.set_subject(subject);
      event.set_noted("something");
      ++model.of_subject[subject];
      break;
    }
    case 2:
      record.protrusions.push_back(below(90));
      event.mutable_scanned()->set_id("scan");
      event.mutable_scanned()->mutable_shape()->mutable_protrusion_mm()->set_value(
          record.protrusions.back());
      break;
    default:
      ++record.notes;
      event.set_noted("seen");
  }
  return event;
}

inline void checkSame(const Library& library, const Model& model) {
  REQUIRE(library.size() == static_cast<std::int64_t>(model.holds.size()));
  CHECK(library.lastEvent() == model.events);
  library.forEachHold([&](std::int64_t, const Hold& hold) {
    CAPTURE(hold.id());
    const auto found = model.holds.find(hold.id());
    REQUIRE(found != model.holds.end());
    const Model::Record& record = found->second;
    CHECK(hold.name() == record.name);
    CHECK(hold.bin() == record.bin);
    CHECK(hold.status() == record.status);
    CHECK(hold.notes_size() == record.notes);
    CHECK(hold.crate() == record.crate);
    CHECK(hold.zone() == record.zone);
    CHECK(hold.has_rotation_deg() == record.rotation_deg.has_value());
    if (record.rotation_deg) CHECK(hold.rotation_deg() == *record.rotation_deg);
    CHECK(hold.count() == record.count);
    CHECK(hold.said_colour() == record.colour);
    CHECK(hold.colour().name() == record.colour);
    CHECK(hold.photo_blobs_size() == record.photos);
    REQUIRE(hold.scans_size() == static_cast<int>(record.protrusions.size()));
    for (int i = 0; i < hold.scans_size(); ++i)
      CHECK(hold.scans(i).shape().protrusion_mm().value() ==
            record.protrusions[static_cast<std::size_t>(i)]);
  });
  for (const auto& [subject, events] : model.of_subject)
    CHECK(library.history(subject).size() == static_cast<std::size_t>(events));
}

/// Random operations on a library and on the model, reopening it midway; the commits that the model
/// refuses must be refused.
/// @param open  Opens the same library again.
inline void runRandomOperations(const std::function<Library()>& open, int most_operations) {
  std::mt19937 random(20310504);
  Model model;
  std::optional<Library> library(open());
  int operations = 0;
  while (operations < most_operations) {
    std::vector<Event> events;
    const int size = 1 + static_cast<int>(random() % 60);
    bool refused = false;
    Model after = model;
    for (int i = 0; i < size; ++i, ++operations) {
      ++after.events;
      if (after.holds.empty() || random() % 50 == 0) {
        const std::string id = "X-" + std::to_string(random() % 400);
        refused = refused || after.holds.count(id) != 0;
        after.holds[id] = {"", "bin " + id, SHELF, {}, 0, "", "", "", {}, 0, 0};
        events.push_back(created(id, "", "bin " + id));
      } else {
        events.push_back(randomEvent(after, random));
      }
    }
    if (refused) {
      CHECK_THROWS_AS(library->commit(events), BadInput);
    } else {
      library->commit(events);
      model = after;
    }
    if (random() % 12 == 0) {
      library.reset();
      library.emplace(open());
      checkSame(*library, model);
    }
  }
  checkSame(*library, model);
}

}  // namespace holdshelf::test
