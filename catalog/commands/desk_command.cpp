// SPDX-License-Identifier: Apache-2.0
// What the server's intake desk runs as processes of their own; not for people, so not in the help.
#include <chrono>
#include <cstdint>
#include <cstdio>
#include <memory>

#include "capture/photo_look.h"
#include "catalog/api.h"
#include "catalog/blob_store.h"
#include "catalog/child_process.h"
#include "catalog/commands/command.h"
#include "catalog/finished_files.h"
#include "catalog/intake.h"
#include "catalog/library_place.h"
#include "catalog/queued_rebuild.h"
#include "mesh/bad_input.h"
#include "mesh/unreadable_file.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

// The largest photo that is taken (kMaxPhotoPixels) takes 1.2 GB, and 25 s where it was made to
// take long.
constexpr std::chrono::minutes kLongestLook{5};
constexpr std::uint64_t kLookBytes = 3ULL << 30;

struct DeskOptions {
  fs::path folder, library;
  std::string photo, picture;
  bool queued = false;
  pid_t parent = 0;
};

void sayLine(const std::string& line) {
  std::printf("%s\n", line.c_str());
  std::fflush(stdout);
}

Intake intakeIn(const fs::path& folder) {
  Intake intake;
  fromJson(readFile(folder / "intake.json"), "The intake", intake);
  return intake;
}

void look(const DeskOptions& options) {
  becomeWorker(options.parent);
  limitWork(kLongestLook, kLookBytes);
  const LookedAt looked =
      lookAtPhoto(options.folder / options.photo, intakeIn(options.folder).mat());
  const auto* bytes = reinterpret_cast<const char*>(looked.picture_jpeg.data());
  if (!looked.picture_jpeg.empty())
    writeFileDurably(options.folder / options.picture, {bytes, looked.picture_jpeg.size()});
  sayLine(compactJson(looked.look));
}

void rebuildIntake(const DeskOptions& options) {
  becomeWorker(options.parent);
  const Intake intake = intakeIn(options.folder);
  std::vector<fs::path> photos;
  for (const IntakePhoto& photo : intake.photos()) photos.push_back(options.folder / photo.label());
  RebuildOptions rebuild;
  rebuild.scale_from_sheet = intake.mat_scale() == 0;
  if (intake.mat_scale() != 0) rebuild.mat_scale = intake.mat_scale();
  // A server that was killed goes on from the stages that were finished.
  rebuild.stages_folder = options.folder / "stages";
  rebuild.quality = intake.quality() == "draft"  ? Quality::Draft
                    : intake.quality() == "fine" ? Quality::Fine
                                                 : Quality::Normal;
  const Progress progress = [last = std::string(), told = 0.0](const std::string& stage,
                                                               double done) mutable {
    if (stage == last && done < told + 0.01 && done < 1) return !interrupted();
    last = stage;
    told = done;
    char line[160];
    std::snprintf(line, sizeof line, "step %.4f %s", done, stage.c_str());
    sayLine(line);
    return !interrupted();
  };
  const auto maySucceedLater = [](const BadInput& error) {
    sayLine(std::string("unavailable ") + error.what());
  };
  try {
    if (isDatabaseAddress(options.library) && options.queued)
      return awaitRebuild(options.library, options.folder, intake, progress);
    writeFinished(options.folder,
                  readyScan(options.library, photos, intake.mat(), rebuild, progress));
  } catch (const StoreUnavailable& error) {
    maySucceedLater(error);
    throw;
  } catch (const UnreadableFile& error) {
    maySucceedLater(error);
    throw;
  } catch (const BadInput& error) {
    sayLine(std::string("failed ") + error.what());
  }
  fs::remove_all(rebuild.stages_folder);
}

}  // namespace

void addDeskCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<DeskOptions>();
  CLI::App* desk = app.add_subcommand("desk", "For the server's own use");
  desk->group("");
  desk->require_subcommand(1);
  desk->add_option("--parent", options->parent)->required();
  CLI::App* one = desk->add_subcommand("look", "Looks at one photo");
  one->add_option("folder", options->folder)->required();
  one->add_option("photo", options->photo)->required();
  one->add_option("picture", options->picture)->required();
  one->callback([options, &job] { job = [options](Console&) { look(*options); }; });
  CLI::App* all = desk->add_subcommand("rebuild", "Rebuilds an intake");
  all->add_option("folder", options->folder)->required();
  all->add_option("library", options->library)->required();
  all->add_flag("--queued", options->queued);
  all->callback([options, &job] { job = [options](Console&) { rebuildIntake(*options); }; });
}

}  // namespace holdshelf
