// SPDX-License-Identifier: Apache-2.0
// Whoever reads a whole file hears of it when the disk does not give all of it.
#include "mesh/whole_file.h"

#include <doctest/doctest.h>

#include <functional>
#include <vector>

#include "capture/cameras_file.h"
#include "capture/mat_file.h"
#include "capture/photo.h"
#include "capture/photo_look.h"
#include "mesh/bad_input.h"
#include "mesh/mesh_io.h"
#include "tests/catalog/temp_folder.h"
#include "tests/reliability/durability/faulty_disk.h"

using namespace holdshelf;
using namespace holdshelf::test;

TEST_CASE("whole file: a read that fails is an error for every reader, and no shorter file") {
  TempFolder folder;
  const std::filesystem::path file = folder / "file.ply";
  writeFileDurably(file, std::string(100, 'x'));
  FaultyDisk disk(folder.path());
  const std::vector<std::function<void()>> readers = {
      [&] { (void)readFile(file); },       [&] { (void)readFileIfThere(file); },
      [&] { (void)readMesh(file); },       [&] { (void)readMat(file); },
      [&] { (void)readCameras(file, 1); }, [&] { (void)readPhoto(file); }};
  for (const auto& read : readers)
    for (const long at : {1L, 2L}) {  // The second would say that this is the end.
      disk.arm(DiskFault::ReadError, at, 1);
      CHECK_THROWS_WITH_AS(read(), doctest::Contains("cannot be read (Input/output error)"),
                           BadInput);
      CHECK(disk.happened());
    }
  disk.restart();
  CHECK(readFile(file) == std::string(100, 'x'));
  disk.arm(DiskFault::ReadError, 1, 1);
  CHECK(lookAtPhoto(file, Mat()).look.sentence() ==
        "It cannot be read (Input/output error): check its permissions and the disk.");
}
