// SPDX-License-Identifier: Apache-2.0
#include "catalog/intake_form.h"

#include <doctest/doctest.h>

#include <limits>

#include "mesh/bad_input.h"

using namespace holdshelf;

namespace {

Intake wishes() {
  Intake wanted;
  wanted.set_paper("A4");
  wanted.set_name("  Harbour ledge\n");
  return wanted;
}

/// The first wishes with one of them spoilt.
template <typename Spoil>
void checkRefused(const Spoil& spoil) {
  Intake wanted = wishes(), intake;
  spoil(wanted);
  CHECK_THROWS_AS(setWishes(wanted, intake), BadInput);
}

}  // namespace

TEST_CASE("intake form: labels are cleaned, what was left out is as usual") {
  Intake intake;
  setWishes(wishes(), intake);
  CHECK(intake.name() == "Harbour ledge");
  CHECK(intake.count() == 1);
  CHECK(intake.quality() == "normal");
  CHECK(intake.mat().markers_size() > 0);  // The paper's own.
}

TEST_CASE("intake form: a client writes nothing but wishes") {
  Intake wanted = wishes(), intake;
  wanted.set_state(Intake::STORED);
  wanted.set_stored_as("H-0001");
  wanted.set_id("../x");
  setWishes(wanted, intake);
  CHECK(intake.state() == Intake::STATE_UNSPECIFIED);
  CHECK(intake.stored_as().empty());
  CHECK(intake.id().empty());
}

TEST_CASE("intake form: what cannot be is refused") {
  checkRefused([](Intake& wanted) { wanted.set_hold_id(std::string(41, 'H')); });
  checkRefused([](Intake& wanted) { wanted.set_name(std::string(201, 'n')); });
  checkRefused([](Intake& wanted) { wanted.set_count(-1); });
  checkRefused([](Intake& wanted) { wanted.set_count(100'001); });
  checkRefused([](Intake& wanted) { wanted.set_quality("best"); });
  checkRefused([](Intake& wanted) { wanted.set_mat_scale(0.79); });
  checkRefused([](Intake& wanted) { wanted.set_mat_scale(1.26); });
  checkRefused(
      [](Intake& wanted) { wanted.set_mat_scale(std::numeric_limits<double>::quiet_NaN()); });
  checkRefused([](Intake& wanted) { wanted.set_paper("A9"); });
  checkRefused([](Intake& wanted) { wanted.clear_paper(); });  // And no mat either.
}

TEST_CASE("intake form: nothing is changed while it is rebuilt, nor once it is stored") {
  for (const auto& [state, busy, idle] : {std::tuple{Intake::COLLECTING, false, true},
                                          {Intake::WAITING, true, false},
                                          {Intake::RUNNING, true, false},
                                          {Intake::CHOOSING, false, true},
                                          {Intake::FAILED, false, true},
                                          {Intake::STORED, false, false}}) {
    CAPTURE(state);
    Intake intake;
    intake.set_state(state);
    CHECK(isBusy(intake) == busy);
    if (idle)
      CHECK_NOTHROW(needIdle(intake));
    else
      CHECK_THROWS_AS(needIdle(intake), BadInput);
  }
}

TEST_CASE("intake form: a photo's name and kind") {
  CHECK(isSha256(std::string(64, 'a')));
  for (const std::string& no : {std::string(63, 'a'), std::string(65, 'a'), std::string(64, 'g'),
                                std::string(64, 'A'), std::string("../") + std::string(61, 'a')})
    CHECK_FALSE(isSha256(no));
  CHECK(photoType("\xff\xd8\xff\xe0") == ".jpg");       // ISO/IEC 10918-1: SOI, marker.
  CHECK(photoType("\x89PNG\r\n\x1a\n....") == ".png");  // ISO/IEC 15948.
  CHECK(photoType("\x89PNG\n").empty());
  CHECK(photoType("").empty());
}

TEST_CASE("intake form: no label is given twice, whatever was taken off") {
  Intake intake;
  CHECK(nextPhotoLabel(intake, ".jpg") == "photo-01.jpg");
  for (const char* label : {"photo-01.jpg", "photo-09.png", "", "photo-02.jpg"}) {
    IntakePhoto& photo = *intake.add_photos();
    photo.set_label(label);
    photo.set_sha256(label);
  }
  CHECK(nextPhotoLabel(intake, ".png") == "photo-10.png");
  erasePhoto(intake, "photo-01.jpg");
  CHECK(nextPhotoLabel(intake, ".png") == "photo-10.png");
  CHECK(photoNamed(intake, "photo-01.jpg") == nullptr);
  REQUIRE(photoNamed(intake, "photo-02.jpg") != nullptr);
  CHECK(intake.photos_size() == 3);
  intake.mutable_photos(0)->set_label("photo-150.jpg");
  CHECK(nextPhotoLabel(intake, ".jpg") == "photo-151.jpg");
}

TEST_CASE("intake form: what a person says that it is") {
  IntakeDecision decision;
  CHECK_THROWS_AS((void)choiceOf(decision), BadInput);
  decision.set_of("H-0007");
  decision.set_kind(IntakeDecision::NEW_SCAN);
  CHECK(choiceOf(decision).kind == IntakeChoice::Kind::NewScan);
  CHECK(choiceOf(decision).of == "H-0007");
  decision.set_kind(IntakeDecision::ONE_MORE);
  CHECK(choiceOf(decision).kind == IntakeChoice::Kind::OneMore);
  decision.set_kind(IntakeDecision::NEW);
  CHECK(choiceOf(decision).kind == IntakeChoice::Kind::New);
  CHECK(choiceOf(decision).of.empty());
}

TEST_CASE("intake form: the page gets the numbers, not the sections and cameras") {
  ReadyScan ready;
  ready.finished.scan.mutable_report()->add_cameras();
  ready.finished.scan.mutable_report()->set_mat_scale(1.01);
  ready.finished.scan.mutable_shape()->add_sections();
  ready.finished.scan.mutable_shape()->mutable_protrusion_mm()->set_value(44);
  ready.finished.words.emplace_back().set_word("edge");
  ready.finished.mesh_ply = "a mesh";
  Intake intake;
  showResult(ready, intake);
  CHECK(intake.report().cameras().empty());
  CHECK(intake.report().mat_scale() == 1.01);
  CHECK_FALSE(intake.scan().has_report());
  CHECK(intake.scan().shape().sections().empty());
  CHECK(intake.scan().shape().protrusion_mm().value() == 44);
  REQUIRE(intake.words_size() == 1);
  CHECK(intake.mesh_sha256() != intake.sheet_sha256());
  clearResult(intake);
  CHECK_FALSE(intake.has_report());
  CHECK_FALSE(intake.has_scan());
  CHECK(intake.words().empty());
  CHECK(intake.mesh_sha256().empty());
  CHECK(intake.sheet_sha256().empty());
}
