// SPDX-License-Identifier: Apache-2.0
#include "mesh/unfinished.h"

#include <doctest/doctest.h>

#include <chrono>
#include <fstream>

#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using holdshelf::test::TempFolder;
namespace fs = std::filesystem;
using Kind = Unfinished::Kind;

namespace {

/// As if it and all that is in it had last been changed so long ago.
void age(const fs::path& path, std::chrono::hours hours) {
  const auto then = fs::file_time_type::clock::now() - hours;
  if (fs::is_directory(path))
    for (const auto& entry : fs::recursive_directory_iterator(path))
      fs::last_write_time(entry.path(), then);
  fs::last_write_time(path, then);
}

void write(const fs::path& file) { std::ofstream(file) << "bytes"; }

constexpr std::chrono::hours kOld{25}, kYoung{23};

}  // namespace

TEST_CASE("unfinished: gone unless it took its place, under a name that nobody else has") {
  TempFolder folder;
  for (const Kind kind : {Kind::File, Kind::Folder}) {
    fs::path path;
    {
      const Unfinished one(folder / "x", kind), other(folder / "x", kind);
      path = one.path();
      CHECK(path != other.path());
      CHECK(path.parent_path() == folder.path());
      CHECK(isUnfinishedName(path.filename()));
      CHECK(fs::exists(path));
      if (kind == Kind::Folder) write(path / "in it");
    }
    CHECK(fs::is_empty(folder.path()));
    {
      Unfinished one(folder / "x", kind);
      one.takePlaceDurably();
    }
    CHECK(fs::is_directory(folder / "x") == (kind == Kind::Folder));
    CHECK(std::distance(fs::directory_iterator(folder.path()), {}) == 1);
    fs::remove(folder / "x");
  }
  CHECK_THROWS_AS(Unfinished(folder / "none" / "x", Kind::File), std::system_error);
  const Unfinished deep(folder / "a" / "b" / "x", Kind::Folder);
  CHECK(fs::is_directory(deep.path()));
}

TEST_CASE("unfinished: swept up once nobody holds it and nobody has changed it for a day") {
  TempFolder folder;
  write(folder / "cdef.4711.part");
  fs::create_directories(folder / "copy.815.part" / "blobs");
  write(folder / "copy.815.part" / "blobs" / "ab");
  write(folder / "copy.part-815");  // As older programs named it.
  const auto left = [&] { return std::distance(fs::directory_iterator(folder.path()), {}); };
  const auto ageAll = [&](std::chrono::hours hours) {
    for (const auto& entry : fs::directory_iterator(folder.path())) age(entry.path(), hours);
  };

  SUBCASE("an old one goes, whatever it was") {
    ageAll(kOld);
    sweepUnfinished(folder.path());
    CHECK(left() == 0);
  }
  SUBCASE("a young one stays") {
    ageAll(kYoung);
    sweepUnfinished(folder.path());
    CHECK(left() == 3);
  }
  SUBCASE("a folder is as young as the youngest that is in it") {
    ageAll(kOld);
    age(folder / "copy.815.part" / "blobs" / "ab", kYoung);
    sweepUnfinished(folder.path());
    CHECK(left() == 1);
    CHECK(fs::exists(folder / "copy.815.part" / "blobs" / "ab"));
  }
  SUBCASE("what is being made stays, however long that takes") {
    Unfinished file(folder / "cdef", Kind::File), made(folder / "copy", Kind::Folder);
    ageAll(kOld);
    sweepUnfinished(folder.path());
    CHECK(left() == 2);
    CHECK(fs::exists(file.path()));
    CHECK(fs::exists(made.path()));
    CHECK_FALSE(isLeftBehind(made.path()));
    made.takePlace();
  }
  SUBCASE("a sign of life counts as a change") {
    const Unfinished made(folder / "copy", Kind::Folder);
    const auto changed = [&] { return fs::last_write_time(made.path()); };
    age(made.path(), kOld);
    const auto before = changed();
    made.touch();
    CHECK(changed() - before > kYoung);
  }
  SUBCASE("only what was meant for one place") {
    ageAll(kOld);
    sweepUnfinished(folder.path(), "copy");
    CHECK(left() == 1);
    CHECK(fs::exists(folder / "cdef.4711.part"));
  }
  SUBCASE("whoever makes a folder for the same place sweeps") {
    ageAll(kOld);
    const Unfinished made(folder / "copy", Kind::Folder);
    CHECK(left() == 2);
    CHECK(fs::exists(folder / "cdef.4711.part"));
  }
}

TEST_CASE("unfinished: others' names are left alone") {
  TempFolder folder;
  // Among them a photo on its way, which is worked on again when the rest of it comes.
  for (const char* name : {"0123abcd.part", "photo.part", ".part", "4711.part", "a.b.part", "part",
                           "copy.part-", "copy.part-x", ".part-1", "copy.4711.parts", "hold.ply"}) {
    CAPTURE(name);
    CHECK_FALSE(isUnfinishedName(name));
    write(folder / name);
    age(folder / name, kOld);
  }
  fs::create_symlink(folder / "hold.ply", folder / "link.1.part");
  sweepUnfinished(folder.path());
  CHECK(std::distance(fs::directory_iterator(folder.path()), {}) == 12);
  sweepUnfinished(folder / "none");
}
