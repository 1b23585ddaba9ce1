// SPDX-License-Identifier: Apache-2.0
#include "catalog/intake_form.h"

#include <algorithm>
#include <cctype>
#include <charconv>
#include <cstdio>
#include <vector>

#include "capture/mat_file.h"
#include "capture/printed_mat.h"
#include "catalog/intake_coverage.h"
#include "catalog/shown_text.h"
#include "mesh/bad_input.h"
#include "mesh/sha256.h"

namespace holdshelf {

void setWishes(const Intake& wanted, Intake& intake) {
  intake.set_hold_id(shownLine(wanted.hold_id(), 40, "id"));
  intake.set_name(shownLine(wanted.name(), 200, "name"));
  intake.set_bin(shownLine(wanted.bin(), 100, "bin"));
  intake.set_set(shownLine(wanted.set(), 200, "set"));
  intake.set_maker(shownLine(wanted.maker(), 200, "maker"));
  intake.set_texture(shownLine(wanted.texture(), 200, "texture"));
  if (wanted.count() < 0 || wanted.count() > 100'000)
    throw BadInput("The number of pieces goes from 1 to 100000.");
  intake.set_count(std::max(1, wanted.count()));
  const std::string quality = wanted.quality().empty() ? "normal" : wanted.quality();
  if (quality != "draft" && quality != "normal" && quality != "fine")
    throw BadInput("\"" + quality.substr(0, 40) + "\" is no quality: use draft, normal or fine.");
  intake.set_quality(quality);
  const double scale = wanted.mat_scale();  // 0: nobody measured the ruler.
  if (scale != 0 && !(scale >= 0.8 && scale <= 1.25))
    throw BadInput("The mat's scale is off by more than a quarter: measure its ruler again.");
  intake.set_mat_scale(scale);
  intake.set_paper(wanted.paper());
  *intake.mutable_mat() = wanted.paper().empty() ? wanted.mat() : makeMat(wanted.paper()).mat;
  checkMat(intake.mat(), "The mat");
}

bool isBusy(const Intake& intake) {
  return intake.state() == Intake::WAITING || intake.state() == Intake::RUNNING;
}

void needIdle(const Intake& intake) {
  if (isBusy(intake)) throw BadInput("It is being rebuilt: stop that first, or wait for it.");
  if (intake.state() == Intake::STORED)
    throw BadInput("It is in the library already as " + intake.stored_as() + ".");
}

void needWholePhotos(const Intake& intake) {
  for (const IntakePhoto& photo : intake.photos())
    if (photo.state() == IntakePhoto::UPLOADING)
      throw BadInput("Photos are still on their way: wait for them, or remove them.");
}

bool isSha256(const std::string& text) {
  return text.size() == 64 && std::all_of(text.begin(), text.end(), [](unsigned char c) {
           return std::isdigit(c) || (c >= 'a' && c <= 'f');
         });
}

std::string photoType(std::string_view bytes) {
  if (bytes.starts_with("\xff\xd8\xff")) return ".jpg";
  if (bytes.starts_with("\x89PNG\r\n\x1a\n")) return ".png";
  return "";
}

std::string nextPhotoLabel(const Intake& intake, const std::string& type) {
  int number = 0;
  for (const IntakePhoto& one : intake.photos()) {
    int its = 0;
    if (one.label().size() > 8)
      std::from_chars(one.label().data() + 6, one.label().data() + one.label().size(), its);
    number = std::max(number, its);
  }
  char label[32];
  std::snprintf(label, sizeof label, "photo-%02d%s", number + 1, type.c_str());
  return label;
}

IntakePhoto* photoNamed(Intake& intake, const std::string& sha256) {
  for (IntakePhoto& photo : *intake.mutable_photos())
    if (photo.sha256() == sha256) return &photo;
  return nullptr;
}

void erasePhoto(Intake& intake, const std::string& sha256) {
  auto& photos = *intake.mutable_photos();
  photos.erase(std::find_if(photos.begin(), photos.end(),
                            [&](const IntakePhoto& one) { return one.sha256() == sha256; }));
}

void refreshCoverage(Intake& intake) {
  std::vector<PhotoLook> looks;
  for (const IntakePhoto& photo : intake.photos())
    if (photo.state() == IntakePhoto::LOOKED) looks.push_back(photo.look());
  *intake.mutable_coverage() = coverageOf(looks);
}

void nameFiles(const FinishedScan& finished, Intake& intake) {
  intake.set_mesh_sha256(sha256Hex(finished.mesh_ply));
  intake.set_sheet_sha256(sha256Hex(finished.contact_sheet_png));
}

void showResult(const ReadyScan& ready, Intake& intake) {
  nameFiles(ready.finished, intake);
  *intake.mutable_report() = ready.finished.scan.report();
  intake.mutable_report()->clear_cameras();
  Scan& scan = *intake.mutable_scan() = ready.finished.scan;
  scan.clear_report();
  scan.clear_signature();
  scan.mutable_shape()->clear_sections();
  scan.clear_grip_map();
  intake.mutable_words()->Assign(ready.finished.words.begin(), ready.finished.words.end());
  *intake.mutable_again() = ready.again;
}

void clearResult(Intake& intake) {
  intake.clear_report();
  intake.clear_scan();
  intake.clear_words();
  intake.clear_again();
  intake.clear_sentence();
  intake.clear_stored_from();
  intake.clear_mesh_sha256();
  intake.clear_sheet_sha256();
}

IntakeChoice choiceOf(const IntakeDecision& decision) {
  IntakeChoice choice;
  choice.of = decision.of();
  switch (decision.kind()) {
    case IntakeDecision::NEW:
      return {};
    case IntakeDecision::NEW_SCAN:
      choice.kind = IntakeChoice::Kind::NewScan;
      return choice;
    case IntakeDecision::ONE_MORE:
      choice.kind = IntakeChoice::Kind::OneMore;
      return choice;
    default:
      throw BadInput("Say what it is: NEW, NEW_SCAN or ONE_MORE.");
  }
}

}  // namespace holdshelf
