// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_merge.h"

#include <google/protobuf/message.h>

#include <map>
#include <optional>
#include <set>

#include "catalog/hold_record.h"
#include "catalog/library_place.h"
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

/// Replaces ids in every field called "hold" or "holds" of a message, however deep.
void renameHolds(const std::map<std::string, std::string>& ids,
                 google::protobuf::Message& message) {
  const auto* reflection = message.GetReflection();
  std::vector<const google::protobuf::FieldDescriptor*> fields;
  reflection->ListFields(message, &fields);
  const auto renamed = [&](const std::string& id) {
    const auto found = ids.find(id);
    return found == ids.end() ? id : found->second;
  };
  for (const auto* field : fields) {
    const bool names_hold = field->name() == "hold" || field->name() == "holds";
    const bool text = field->cpp_type() == google::protobuf::FieldDescriptor::CPPTYPE_STRING;
    const bool nested = field->cpp_type() == google::protobuf::FieldDescriptor::CPPTYPE_MESSAGE;
    const int count = field->is_repeated() ? reflection->FieldSize(message, field) : 0;
    if (nested && field->is_repeated()) {
      for (int i = 0; i < count; ++i)
        renameHolds(ids, *reflection->MutableRepeatedMessage(&message, field, i));
    } else if (nested) {
      renameHolds(ids, *reflection->MutableMessage(&message, field));
    } else if (text && names_hold && field->is_repeated()) {
      for (int i = 0; i < count; ++i)
        reflection->SetRepeatedString(&message, field, i,
                                      renamed(reflection->GetRepeatedString(message, field, i)));
    } else if (text && names_hold) {
      reflection->SetString(&message, field, renamed(reflection->GetString(message, field)));
    }
  }
}

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
    for (const Event& event : source.events)
      if (!event.hold().empty()) events_of_[event.hold()].push_back(&event);
  }

  /// The events to add, with the ids that they get here.
  std::vector<Event> plan(MergeReport& report) {
    report_ = &report;
    for (const auto& [id, events] : events_of_) chooseId(id, events);
    std::vector<Event> added;
    for (const Event& event : source_.events) {
      if (known_.subject_of_origin.count(originOf(event)) != 0) {
        report.set_events_known(report.events_known() + 1);
      } else if (event.hold().empty()) {
        addSubjectEvent(event, added);
      } else {
        addHoldEvent(event, added);
      }
    }
    report.set_events_added(static_cast<std::int64_t>(added.size()));
    return added;
  }

 private:
  std::optional<std::string> sameHold(const std::vector<const Event*>& events) const {
    for (const Event* event : events)
      if (const auto found = known_.subject_of_origin.find(originOf(*event));
          found != known_.subject_of_origin.end())
        return found->second;
    return std::nullopt;
  }

  /// The hold here that alone has a scan that this hold alone has there.
  std::optional<std::string> sameScan(const std::vector<const Event*>& events) const {
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

  void chooseId(const std::string& id, const std::vector<const Event*>& events) {
    if (const auto same = sameHold(events)) {
      id_here_[id] = *same;
    } else if (const auto scan = sameScan(events)) {
      id_here_[id] = *scan;
      auto& joined = *report_->add_joined();
      joined.set_from(id);
      joined.set_to(*scan);
    } else {
      const bool taken = library_.has(id) || given_.count(id) != 0;
      const std::string own = taken ? freeId() : id;
      id_here_[id] = own;
      given_.insert(own);
      report_->set_holds_added(report_->holds_added() + 1);
      if (!taken) return;
      auto& renamed = *report_->add_renamed();
      renamed.set_from(id);
      renamed.set_to(own);
      was_called_[own] = id;
    }
  }

  /// Free here, and not an id of the source either: that one will want it.
  std::string freeId() const {
    std::set<std::string> taken = given_;
    for (const auto& [id, events] : events_of_) taken.insert(id);
    return library_.nextFreeId(taken);
  }

  void addHoldEvent(const Event& event, std::vector<Event>& added) {
    const std::string& here = id_here_.at(event.hold());
    Event copy = event;
    copy.set_number(0);
    copy.set_hold(here);
    copy.set_origin(originOf(event));
    const bool exists = given_.count(here) == 0;
    if (event.has_created() && exists)
      copy.set_noted("In " + source_.name + " this was " + event.hold() +
                     labelsText(event.created()) + ".");
    added.push_back(copy);
    const auto renamed = was_called_.find(here);
    if (!event.has_created() || renamed == was_called_.end()) return;
    Event note;
    note.set_hold(here);
    note.set_at(event.at());
    note.set_noted("In " + source_.name + " this was " + renamed->second + ".");
    note.set_origin(originOf(event) + "/renamed");
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
    if (!shared_.at(subject)) return;
    Event copy = event;
    copy.set_number(0);
    copy.set_origin(originOf(event));
    renameHolds(id_here_, copy);
    added.push_back(std::move(copy));
  }

  const Library& library_;
  const MergeSource& source_;
  MergeReport* report_ = nullptr;
  Known known_, theirs_;
  std::map<std::string, std::vector<const Event*>> events_of_;  // By their id.
  std::map<std::string, std::string> id_here_;
  std::map<std::string, std::string> was_called_;  // By the id here.
  std::set<std::string> given_;                    // Ids of new holds.
  std::map<std::string, bool> shared_;             // By subject: comes along.
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
