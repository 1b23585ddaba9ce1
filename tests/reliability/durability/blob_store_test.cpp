// SPDX-License-Identifier: Apache-2.0
// Files by their content on a disk that goes wrong.
#include "catalog/blob_store.h"

#include <doctest/doctest.h>

#include "mesh/bad_input.h"
#include "tests/catalog/temp_folder.h"
#include "tests/reliability/durability/faulty_disk.h"

using namespace holdshelf;
using namespace holdshelf::test;
namespace fs = std::filesystem;

TEST_CASE("blob store: put again after a flush that failed, it is there after a power cut") {
  const std::string bytes = "a photo" + std::string(5000, 'x');
  bool happened = true;
  long at = 1;
  for (; happened; ++at)
    for (unsigned seed = 1; seed <= 8; ++seed) {
      CAPTURE(at);
      CAPTURE(seed);
      TempFolder folder;
      fs::create_directory(folder / "l");
      FaultyDisk disk(folder / "l");
      BlobStore store(folder / "l" / "blobs");
      disk.arm(DiskFault::SyncError, at, seed);
      bool refused = false;
      try {
        store.put(bytes);
      } catch (const BadInput&) {
        refused = true;
      }
      happened = disk.happened();
      CHECK(refused == happened);
      disk.restart();
      const std::string name = store.put(bytes);
      disk.arm(DiskFault::PowerCut, 1, seed);
      CHECK_THROWS_AS(store.put("another"), BadInput);
      disk.restart();
      CHECK(store.has(name));
      if (store.has(name)) CHECK(store.get(name) == bytes);
    }
  CHECK(at > 5);
}

TEST_CASE("blob store: what the disk does not give is said, not taken for damage") {
  TempFolder folder;
  BlobStore store(folder / "blobs");
  const std::string bytes(200'000, 'x');
  const std::string name = store.put(bytes);
  FaultyDisk disk(folder.path());
  bool happened = true;
  long at = 1;
  for (; happened; ++at) {
    CAPTURE(at);
    disk.arm(DiskFault::ReadError, at, 1);
    std::string got;
    try {
      got = store.get(name);
    } catch (const BadInput& error) {
      got = error.what();
    }
    happened = disk.happened();
    if (happened)
      CHECK(got.find("cannot be read (Input/output error)") != std::string::npos);
    else
      CHECK(got == bytes);
  }
  CHECK(at > 4);
  // The bytes are in hand: what cannot be read is written anew.
  disk.arm(DiskFault::ReadError, 1, 1);
  store.put(bytes);
  CHECK(disk.happened());
  disk.restart();
  CHECK(store.get(name) == bytes);
}
