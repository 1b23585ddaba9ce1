// SPDX-License-Identifier: Apache-2.0
#include "catalog/finished_files.h"

#include <array>

#include "catalog/blob_store.h"
#include "catalog/intake_form.h"
#include "mesh/bad_input.h"
#include "proto/intake.pb.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

constexpr const char* kNumbers = "finished.bin";
using Part = std::pair<const char*, std::string FinishedScan::*>;
constexpr std::array<Part, 4> kParts = {Part{"hold.ply", &FinishedScan::mesh_ply},
                                        Part{"hold.glb", &FinishedScan::mesh_glb},
                                        Part{"contact-sheet.png", &FinishedScan::contact_sheet_png},
                                        Part{"thumbnail.png", &FinishedScan::thumbnail_png}};

[[noreturn]] void refuseDamaged() {
  throw BadInput("What was rebuilt is damaged on the disk: start the rebuild again.");
}

std::string partIn(const fs::path& file) {
  if (auto bytes = readFileIfThere(file)) return *std::move(bytes);
  refuseDamaged();
}

/// Whether the files are those that the numbers name; an older program's name none.
bool areNamed(const FinishedScan& finished, const Intake& numbers) {
  Intake found;
  nameFiles(finished, found);
  return numbers.mesh_sha256().empty() || (found.mesh_sha256() == numbers.mesh_sha256() &&
                                           found.sheet_sha256() == numbers.sheet_sha256());
}

}  // namespace

void writeFinished(const fs::path& folder, const ReadyScan& ready) {
  for (const auto& [name, bytes] : kParts) writeFileDurably(folder / name, ready.finished.*bytes);
  Intake numbers;  // The same fields in which the page gets them, here with all sections.
  *numbers.mutable_scan() = ready.finished.scan;
  numbers.mutable_words()->Add(ready.finished.words.begin(), ready.finished.words.end());
  *numbers.mutable_again() = ready.again;
  nameFiles(ready.finished, numbers);
  writeFileDurably(folder / kNumbers, numbers.SerializeAsString());
}

ReadyScan readFinished(const fs::path& folder) {
  Intake numbers;
  if (!numbers.ParseFromString(readFile(folder / kNumbers)) || !numbers.has_scan()) refuseDamaged();
  ReadyScan ready;
  ready.finished.scan = std::move(*numbers.mutable_scan());
  ready.finished.words.assign(numbers.words().begin(), numbers.words().end());
  ready.again = std::move(*numbers.mutable_again());
  for (const auto& [name, bytes] : kParts) ready.finished.*bytes = partIn(folder / name);
  if (!areNamed(ready.finished, numbers)) refuseDamaged();
  return ready;
}

std::vector<std::string> finishedNames() {
  std::vector<std::string> names;
  for (const auto& part : kParts) names.emplace_back(part.first);
  names.emplace_back(kNumbers);
  return names;
}

bool hasFinished(const fs::path& folder) { return fs::exists(folder / kNumbers); }

std::string finishedSheet(const fs::path& folder) { return readFile(folder / kParts[2].first); }

void removeFinished(const fs::path& folder) {
  fs::remove(folder / kNumbers);
  for (const auto& part : kParts) fs::remove(folder / part.first);
}

}  // namespace holdshelf
