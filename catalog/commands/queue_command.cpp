// SPDX-License-Identifier: Apache-2.0
// Captures that wait in a shared library for a machine that is free, and the machine that takes
// them.
#include <memory>
#include <system_error>

#include "catalog/capture_work.h"
#include "catalog/clock.h"
#include "catalog/commands/capture_options.h"
#include "catalog/commands/command.h"
#include "catalog/library_place.h"
#include "catalog/measured_text.h"
#include "catalog/queued_rebuild.h"
#include "mesh/bad_input.h"
#include "mesh/unfinished.h"

namespace holdshelf {
namespace {

struct QueueOptions {
  CaptureFlags capture;
  std::filesystem::path library, program = "/proc/self/exe", scratch;
  Intake intake;
  std::int64_t id = 0;
  bool all = false, until_empty = false;
  double lease_s = 60, pause_s = 10;
};
using QueueOptionsPtr = std::shared_ptr<QueueOptions>;

void add(const QueueOptions& options, Console& console) {
  Library library = Library::open(options.library);
  Intake intake = options.intake;
  if (const auto mat = matOf(options.capture)) *intake.mutable_mat() = *mat;
  if (options.capture.mat_scale) intake.set_mat_scale(*options.capture.mat_scale);
  if (!options.capture.ruler.empty()) intake.set_mat_scale(scaleFromRuler(options.capture.ruler));
  intake.set_quality(options.capture.quality);
  intake.set_who(whoAmI());
  const std::int64_t id = queueCapture(library, options.capture.photos, intake, true);
  console.say("Queued as capture " + std::to_string(id) + ": " +
              std::to_string(options.capture.photos.size()) +
              " photos, which the next free holdshelf work takes.\n");
  QueuedCapture queued = *queueOf(library).get(id);
  queued.mutable_intake()->clear_mat();
  console.result(queued);
}

std::string stateWord(QueuedCapture::State state) {
  switch (state) {
    case QueuedCapture::WAITING:
      return "waiting";
    case QueuedCapture::WORKING:
      return "being rebuilt";
    case QueuedCapture::DONE:
      return "done";
    case QueuedCapture::SET_ASIDE:
      return "set aside";
    default:
      return "?";
  }
}

void list(const QueueOptions& options, Console& console) {
  const Library library = Library::open(options.library);
  const QueueList captures = queueOf(library).list(options.all);
  std::vector<std::vector<std::string>> rows = {
      {"capture", "name", "site", "state", "tries", "worker", "hold", "reason"}};
  for (const QueuedCapture& c : captures.captures())
    rows.push_back({std::to_string(c.id()), c.intake().name(), c.site(), stateWord(c.state()),
                    std::to_string(c.tries()), c.worker(), c.hold(), c.reason()});
  console.say(rows.size() == 1 ? "Nothing is waiting.\n" : tableText(rows));
  console.result(captures);
}

void putBack(const QueueOptions& options, Console& console) {
  const Library library = Library::open(options.library);
  queueOf(library).retry(options.id);
  console.say("Capture " + std::to_string(options.id) + " waits again.\n");
  console.result(*queueOf(library).get(options.id));
}

void drop(const QueueOptions& options, Console& console) {
  const Library library = Library::open(options.library);
  queueOf(library).drop(options.id);
  console.say("Capture " + std::to_string(options.id) + " is not rebuilt; its photos stay.\n");
  console.result(*queueOf(library).get(options.id));
}

/// A folder of this process alone: what a killed one left in its own is swept up.
std::unique_ptr<Unfinished> scratchIn(const std::filesystem::path& folder) {
  try {
    auto made = std::make_unique<Unfinished>(folder / "holdshelf-work", Unfinished::Kind::Folder);
    std::filesystem::permissions(made->path(), std::filesystem::perms::owner_all);
    return made;
  } catch (const std::system_error& failure) {
    throw BadInput("The photos being worked on cannot be kept in " + folder.string() + " (" +
                   failure.code().message() + "): name another folder with --scratch.");
  }
}

void work(const QueueOptions& options, Console& console) {
  WorkOptions work_options;
  work_options.program = options.program;
  const auto scratch =
      scratchIn(options.scratch.empty() ? std::filesystem::temp_directory_path() : options.scratch);
  work_options.scratch = scratch->path();
  work_options.rules.lease = std::chrono::milliseconds(std::int64_t(options.lease_s * 1000));
  work_options.rules.back_off = std::chrono::milliseconds(std::int64_t(options.pause_s * 1000));
  work_options.until_empty = options.until_empty;
  work_options.stop = interrupted;
  work_options.say = [&](const std::string& sentence) { console.say(sentence + "\n"); };
  workOnQueue(options.library, work_options);
}

void addLabels(CLI::App* command, Intake& intake) {
  const auto text = [command](const char* flag, const char* help, auto set) {
    command->add_option_function<std::string>(flag, set, help)->type_name("TEXT");
  };
  Intake* in = &intake;
  text("--id", "Id of the new hold (the next free H-0001)",
       [in](const std::string& s) { in->set_hold_id(s); });
  text("--name", "Name", [in](const std::string& s) { in->set_name(s); });
  text("--bin", "Bin", [in](const std::string& s) { in->set_bin(s); });
  text("--set", "Set that it belongs to", [in](const std::string& s) { in->set_set(s); });
  text("--maker", "Maker, free text", [in](const std::string& s) { in->set_maker(s); });
  text("--texture", "Texture, free text", [in](const std::string& s) { in->set_texture(s); });
  command
      ->add_option_function<int>(
          "--count", [in](int n) { in->set_count(n); }, "Identical pieces (1)")
      ->check(CLI::Range(1, 100000));
}

CLI::App* addOnOne(CLI::App* queue, const QueueOptionsPtr& options, const char* name,
                   const char* help) {
  CLI::App* command = queue->add_subcommand(name, help);
  command->add_option("capture", options->id, "Its number")->required()->type_name("N");
  addLibraryOption(command, options->library);
  return command;
}

}  // namespace

void addQueueCommand(CLI::App& app, Job& job) {
  CLI::App* queue = app.add_subcommand(
      "queue", "Captures of a shared library that wait for a machine that is free");
  queue->require_subcommand(1);
  const auto adding = std::make_shared<QueueOptions>();
  CLI::App* command = queue->add_subcommand("add", "Queue the photos of a hold");
  addCaptureFlags(command, adding->capture);
  addLabels(command, adding->intake);
  addLibraryOption(command, adding->library);
  command->callback([adding, &job] { job = [adding](Console& c) { add(*adding, c); }; });

  const auto listing = std::make_shared<QueueOptions>();
  command = queue->add_subcommand("list", "What waits, is being rebuilt, or was set aside and why");
  command->add_flag("--all", listing->all, "Also what is done");
  addLibraryOption(command, listing->library);
  command->callback([listing, &job] { job = [listing](Console& c) { list(*listing, c); }; });

  const auto retrying = std::make_shared<QueueOptions>();
  addOnOne(queue, retrying, "retry", "Put a capture that was set aside back")
      ->callback([retrying, &job] { job = [retrying](Console& c) { putBack(*retrying, c); }; });
  const auto dropping = std::make_shared<QueueOptions>();
  addOnOne(queue, dropping, "drop", "Take a capture out of the queue")->callback([dropping, &job] {
    job = [dropping](Console& c) { drop(*dropping, c); };
  });
}

void addWorkCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<QueueOptions>();
  CLI::App* command = app.add_subcommand(
      "work", "Rebuild queued captures of a shared library, one after the other, until stopped");
  addLibraryOption(command, options->library);
  command->add_flag("--until-empty", options->until_empty, "End when nothing waits any more");
  command
      ->add_option("--lease", options->lease_s,
                   "Seconds without a sign of life after which others take a capture over (60)")
      ->check(CLI::Range(0.1, 86400.0))
      ->type_name("S");
  command
      ->add_option("--pause", options->pause_s,
                   "Seconds before a failed capture is tried again; then three times as long (10)")
      ->check(CLI::Range(0.01, 3600.0))
      ->type_name("S");
  command->add_option("--scratch", options->scratch, "Folder for the photos being worked on")
      ->type_name("DIR");
  command
      ->add_option("--rebuild-with", options->program,
                   "Program that rebuilds, called as this one calls itself (this one)")
      ->type_name("FILE");
  command->callback([options, &job] { job = [options](Console& c) { work(*options, c); }; });
}

}  // namespace holdshelf
