// SPDX-License-Identifier: Apache-2.0
#include "catalog/queued_rebuild.h"

#include <array>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <functional>
#include <optional>

#include "catalog/blob_store.h"
#include "catalog/capture_queue.h"
#include "catalog/console.h"
#include "catalog/database_outage.h"
#include "catalog/finished_files.h"
#include "catalog/postgres_store.h"

namespace fs = std::filesystem;
using namespace std::chrono_literals;

namespace holdshelf {
namespace {

constexpr const char* kQueuedAs = "queued.txt";  // In an intake's folder: its number in the queue.
constexpr int kMostRefusals = 5;  // Of a database that is there: like the tries of a capture.

bool samePhotos(const Intake& one, const Intake& other) {
  if (one.photos_size() != other.photos_size()) return false;
  for (int i = 0; i < one.photos_size(); ++i)
    if (one.photos(i).sha256() != other.photos(i).sha256()) return false;
  return one.quality() == other.quality() && one.mat_scale() == other.mat_scale() &&
         one.mat().SerializeAsString() == other.mat().SerializeAsString();
}

/// The number under which the intake waits, from an earlier start or new.
std::int64_t queued(Library& library, CaptureQueue& queue, const fs::path& folder,
                    const Intake& intake) {
  if (fs::exists(folder / kQueuedAs)) {
    const std::int64_t id = std::atoll(readFile(folder / kQueuedAs).c_str());
    const auto capture = queue.get(id);
    if (capture && capture->state() != QueuedCapture::SET_ASIDE &&
        samePhotos(capture->intake(), intake))
      return id;
  }
  for (const IntakePhoto& photo : intake.photos())
    library.blobs().put(readFile(folder / photo.label()));
  const std::int64_t id = queue.add(intake, siteAt(library.store()), false);
  writeFileDurably(folder / kQueuedAs, std::to_string(id));
  return id;
}

/// @param answered  Called each time that the queue has answered.
void awaitDone(CaptureQueue& queue, std::int64_t id, const Progress& progress,
               const std::function<void()>& answered) {
  for (;;) {
    const auto capture = queue.get(id);
    if (!capture) throw BadInput("The queue has lost this rebuild: start it again.");
    if (capture->state() == QueuedCapture::SET_ASIDE) throw BadInput(capture->reason());
    if (capture->state() == QueuedCapture::DONE) return;
    answered();
    const bool working = capture->state() == QueuedCapture::WORKING;
    if (!progress(working ? "rebuilt by " + capture->worker() : "waiting for a free machine",
                  working ? 0.5 : 0))
      throw Interrupted();
    queue.waitForNews(1s);
  }
}

void takeOver(const RebuiltCapture& result, const Blobs& blobs, const fs::path& folder) {
  for (const std::string& name : finishedNames()) {
    const auto blob = result.files().find(name);
    if (blob == result.files().end())
      throw BadInput("What was rebuilt is not whole: start the rebuild again.");
    writeFileDurably(folder / name, blobs.get(blob->second));
  }
}

}  // namespace

std::string queuedPhotoLabel(int index) {
  std::array<char, 32> label{};
  std::snprintf(label.data(), label.size(), "photo-%02d.jpg", index + 1);
  return label.data();
}

std::int64_t queueCapture(Library& library, const std::vector<fs::path>& photos, Intake intake,
                          bool store) {
  CaptureQueue queue = queueOf(library);
  intake.clear_photos();
  for (const fs::path& file : photos) {
    IntakePhoto& photo = *intake.add_photos();
    photo.set_name(file.filename().string());
    photo.set_label(queuedPhotoLabel(intake.photos_size() - 1));
    photo.set_sha256(library.blobs().put(readFile(file)));
  }
  return queue.add(intake, siteAt(library.store()), store);
}

void awaitRebuild(const fs::path& place, const fs::path& folder, const Intake& intake,
                  const Progress& progress) {
  std::optional<std::int64_t> id;  // Once: what was set aside meanwhile is not queued anew.
  int refused = 0;
  const bool done = doThroughOutages(
      [&](const std::function<void()>& reached) {
        Library library = Library::open(place);
        ++refused;  // Unless it answers.
        CaptureQueue queue = queueOf(library);
        if (!id) id = queued(library, queue, folder, intake);
        awaitDone(queue, *id, progress, [&] {
          refused = 0;
          reached();
        });
        takeOver(queue.result(*id), library.blobs(), folder);
      },
      [&](const std::string& why) {
        if (refused >= kMostRefusals)
          throw BadInput("The database takes no rebuild from here (" + why +
                         "): ask whoever looks after it.");
      },
      [&] { return !progress("waiting for the database", 0); });
  if (!done) throw Interrupted();
}

}  // namespace holdshelf
