// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_merge.h"

#include <map>
#include <optional>
#include <set>

#include "catalog/climb_record.h"
#include "catalog/foreign_event.h"
#include "catalog/hold_record.h"
#include "catalog/library_place.h"
#include "catalog/named_ids.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

/// What is in the library already, for looking up.
struct Known {
  std::map<std::string, std::string> subject_of_origin;
  std::map<std::string, std::set<std::string>> holds_of_mesh;
  std::set<std::string> subjects;

  void add(const Event& event) {
    subject_of_origin[originOf(event)] = subjectOf(event);
    subjects.insert(subjectOf(event));
    if (event.has_scanned() && !event.scanned().mesh_blob().empty())
      holds_of_mesh[event.scanned().mesh_blob()].insert(event.hold());
  }
};

std::string labelsText(const Hold& hold) {
  std::string text;
  const auto add = [&](const char* label, const std::string& value) {
    if (!value.empty()) text += std::string(", ") + label + " " + value;
  };
  add("name", hold.name());
  add("bin", hold.bin());
  add("set", hold.set());
  add("maker", hold.maker());
  add("texture", hold.texture());
  if (hold.count() > 1) add("pieces", std::to_string(hold.count()));
  return text;
}

class Merge {
 public:
  Merge(const Library& library, const MergeSource& source) : library_(library), source_(source) {
    library.forEachEvent([&](const Event& event) { known_.add(event); });
    for (const Event& event : source.events) theirs_.add(event);
    for (const Event& event : source.events) {
      if (!event.hold().empty())
        events_of_hold_[event.hold()].push_back(&event);
      else if (const std::string climb = climbOfSubject(event.subject()); !climb.empty())
        events_of_climb_[climb].push_back(&event);
    }
  }

  /// The events to add, with the ids that they get here.
  std::vector<Event> plan(MergeReport& report) {
    report_ = &report;
    for (const auto& [id, events] : events_of_hold_) chooseHold(id, events);
    for (const auto& [id, events] : events_of_climb_) chooseClimb(id, events);
    std::vector<Event> added;
    for (const Event& event : source_.events) {
      if (known_.subject_of_origin.count(originOf(event)) != 0) {
        report.set_events_known(report.events_known() + 1);
        continue;
      }
      checkForeign(event, source_.name);
      if (!event.hold().empty()) {
        addHoldEvent(event, added);
      } else if (const std::string climb = climbOfSubject(event.subject()); !climb.empty()) {
        addClimbEvent(event, climb, added);
      } else {
        addSubjectEvent(event, added);
      }
    }
    report.set_events_added(static_cast<std::int64_t>(added.size()));
    return added;
  }

 private:
  using Events = std::vector<const Event*>;

  /// What these events are about here, where one of them is here already.
  std::optional<std::string> sameSubject(const Events& events) const {
    for (const Event* event : events)
      if (const auto found = known_.subject_of_origin.find(originOf(*event));
          found != known_.subject_of_origin.end())
        return found->second;
    return std::nullopt;
  }

  /// The hold here that alone has a scan that this hold alone has there.
  std::optional<std::string> sameScan(const Events& events) const {
    for (const Event* event : events) {
      if (!event->has_scanned()) continue;
      const auto here = known_.holds_of_mesh.find(event->scanned().mesh_blob());
      const auto there = theirs_.holds_of_mesh.find(event->scanned().mesh_blob());
      if (here != known_.holds_of_mesh.end() && there != theirs_.holds_of_mesh.end() &&
          here->second.size() == 1 && there->second.size() == 1)
        return *here->second.begin();
    }
    return std::nullopt;
  }

  void chooseHold(const std::string& id, const Events& events) {
    if (const auto same = sameSubject(events)) {
      hold_here_[id] = *same;
    } else if (const auto scan = sameScan(events)) {
      hold_here_[id] = *scan;
      auto& joined = *report_->add_joined();
      joined.set_from(id);
      joined.set_to(*scan);
    } else {
      const bool taken = library_.has(id) || given_.count(id) != 0;
      const std::string own = taken ? freeHold() : id;
      hold_here_[id] = own;
      given_.insert(own);
      report_->set_holds_added(report_->holds_added() + 1);
      if (taken) sayRenamed(id, own);
    }
  }

  void chooseClimb(const std::string& id, const Events& events) {
    if (const auto same = sameSubject(events)) {
      climb_here_[id] = climbOfSubject(*same);
    } else {
      const bool taken = known_.subjects.count(climbSubject(id)) != 0;
      climb_here_[id] = taken ? freeClimb() : id;
      if (taken) sayRenamed(id, climb_here_[id]);
    }
  }

  void sayRenamed(const std::string& from, const std::string& to) {
    auto& renamed = *report_->add_renamed();
    renamed.set_from(from);
    renamed.set_to(to);
  }

  /// Free here, and not an id of the source either: that one will want it.
  std::string freeHold() const {
    std::set<std::string> taken = given_;
    for (const auto& [id, events] : events_of_hold_) taken.insert(id);
    return library_.nextFreeId(taken);
  }

  /// The same of a climb.
  std::string freeClimb() {
    for (;;) {
      std::string id = climbId(++last_climb_);
      if (known_.subjects.count(climbSubject(id)) == 0 && events_of_climb_.count(id) == 0)
        return id;
    }
  }

  /// The event as it is to be here, by the ids here.
  Event renamed(const Event& event) const {
    Event copy = event;
    copy.set_number(0);
    copy.set_origin(originOf(event));
    renameIds(hold_here_, climb_here_, copy);
    return copy;
  }

  std::string wasCalled(const std::string& there, const std::string& labels = "") const {
    return "In " + source_.name + " this was " + there + labels + ".";
  }

  /// To be added behind the first event of what is called otherwise here.
  static Event noteOn(const Event& first) {
    Event note;
    note.set_hold(first.hold());
    note.set_subject(first.subject());
    note.set_at(first.at());
    note.set_origin(first.origin() + "/renamed");
    return note;
  }

  void addHoldEvent(const Event& event, std::vector<Event>& added) {
    const std::string& here = hold_here_.at(event.hold());
    const bool is_new = given_.count(here) != 0;
    Event& copy = added.emplace_back(renamed(event));
    if (!event.has_created()) return;
    if (!is_new) {
      copy.set_noted(wasCalled(event.hold(), labelsText(event.created())));
    } else if (here != event.hold()) {
      Event note = noteOn(copy);
      note.set_noted(wasCalled(event.hold()));
      added.push_back(std::move(note));
    }
  }

  void addClimbEvent(const Event& event, const std::string& there, std::vector<Event>& added) {
    const std::string& here = climb_here_.at(there);
    Event& copy = added.emplace_back(renamed(event));
    copy.set_subject(climbSubject(here));
    if (!event.climb().has_started() || here == there) return;
    Event note = noteOn(copy);
    note.mutable_climb()->mutable_noted()->set_text(wasCalled(there));
    added.push_back(std::move(note));
  }

  void addSubjectEvent(const Event& event, std::vector<Event>& added) {
    const std::string& subject = event.subject();
    const auto first = shared_.find(subject);
    if (first == shared_.end()) {
      bool shared = known_.subjects.count(subject) == 0;
      for (const Event& other : source_.events)
        shared = shared || (other.hold().empty() && other.subject() == subject &&
                            known_.subject_of_origin.count(originOf(other)) != 0);
      shared_[subject] = shared;
      if (!shared)
        report_->add_left_out("There is another \"" + subject + "\" here: that of " + source_.name +
                              " was left out.");
    }
    if (shared_.at(subject)) added.push_back(renamed(event));
  }

  const Library& library_;
  const MergeSource& source_;
  MergeReport* report_ = nullptr;
  Known known_, theirs_;
  std::map<std::string, Events> events_of_hold_, events_of_climb_;  // By their ids.
  NewIds hold_here_, climb_here_;
  std::set<std::string> given_;         // Ids of new holds.
  std::size_t last_climb_ = 0;          // That was tried for a free id.
  std::map<std::string, bool> shared_;  // By subject: comes along.
};

/// Copies the files that the events name.
void copyFiles(const Blobs& from, const std::vector<Event>& events, Blobs& to,
               const Progress& progress, MergeReport& report) {
  for (std::size_t i = 0; i < events.size(); ++i) {
    if (progress &&
        !progress("copying files", static_cast<double>(i) / static_cast<double>(events.size())))
      throw Interrupted();
    for (const std::string& blob : blobsOf(events[i]))
      report.set_files_added(report.files_added() + (bringBlob(blob, from, to) ? 1 : 0));
  }
}

}  // namespace

std::string originOf(const Event& event) {
  if (!event.origin().empty()) return event.origin();
  Event first = event;
  first.set_number(0);
  return sha256Hex(first.SerializeAsString());
}

std::vector<std::string> blobsOf(const Event& event) {
  std::vector<std::string> blobs;
  const Scan& scan = event.scanned();
  for (const std::string* blob :
       {&scan.mesh_blob(), &scan.glb_blob(), &scan.thumbnail_blob(), &scan.contact_sheet_blob()})
    if (!blob->empty()) blobs.push_back(*blob);
  blobs.insert(blobs.end(), scan.photo_blobs().begin(), scan.photo_blobs().end());
  if (!event.photographed().empty()) blobs.push_back(event.photographed());
  return blobs;
}

MergeReport mergeInto(Library& library, const MergeSource& source, bool dry_run,
                      const Progress& progress) {
  MergeReport report;
  const std::int64_t seen = library.lastEvent();  // Before: what comes while it is planned counts.
  const std::vector<Event> events = Merge(library, source).plan(report);
  if (dry_run || events.empty()) return report;
  copyFiles(*source.blobs, events, library.blobs(), progress, report);
  library.commit(events, [&] {
    if (library.lastEvent() != seen)
      throw BadInput("The library was changed while " + source.name +
                     " was being read: merge again, nothing has been merged.");
  });
  return report;
}

MergeSource mergeSourceOf(const Library& other) {
  MergeSource source;
  source.name = placeName(other.folder());
  source.blobs = &other.blobs();
  other.forEachEvent([&](const Event& event) { source.events.push_back(event); });
  return source;
}

}  // namespace holdshelf
