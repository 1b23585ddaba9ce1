// SPDX-License-Identifier: Apache-2.0
// The book of devices, which makes the server's folder, on a disk that goes wrong.
#include "catalog/devices.h"

#include <doctest/doctest.h>

#include <exception>

#include "catalog/intake_files.h"
#include "catalog/library.h"
#include "tests/catalog/desk_folder.h"
#include "tests/catalog/temp_folder.h"
#include "tests/reliability/durability/faulty_disk.h"

using namespace holdshelf;
using namespace holdshelf::test;

TEST_CASE("devices: what a first server takes in is there after a power cut") {
  for (unsigned seed = 1; seed <= 8; ++seed) {
    CAPTURE(seed);
    TempFolder folder;
    (void)Library::openOrCreate(folder / "l");
    FaultyDisk disk(folder / "l");
    {
      Devices devices(folder / "l");
      const IntakeFiles files(folder / "l");
      files.create(intakeWithPhoto("0000abcd", Intake::COLLECTING));
      disk.arm(DiskFault::PowerCut, 1, seed);
      try {
        devices.makeCode(Role::Log);
      } catch (const std::exception&) {  // The cut.
      }
    }
    CHECK(disk.happened());
    disk.restart();
    CHECK(IntakeFiles(folder / "l").readAll().size() == 1);
  }
}
