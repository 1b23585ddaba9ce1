// SPDX-License-Identifier: Apache-2.0
// On a disk that goes wrong: tests/reliability/durability/blob_store_test.cpp.
#include "catalog/blob_store.h"

#include <doctest/doctest.h>

#include <array>
#include <atomic>
#include <barrier>
#include <chrono>
#include <fstream>
#include <functional>
#include <thread>

#include "mesh/bad_input.h"
#include "mesh/unreadable_file.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;
namespace fs = std::filesystem;

TEST_CASE("blob store: of those who put the same bytes at the same time, each has them stored") {
  TempFolder folder;
  constexpr int kRounds = 100;
  std::barrier together(3);
  std::atomic<int> failed = 0;
  std::array<std::thread, 3> threads;
  for (auto& thread : threads)
    thread = std::thread([&] {
      BlobStore store(folder / "blobs");
      for (int round = 0; round < kRounds; ++round) {
        const std::string bytes = std::to_string(round) + std::string(300'000, 'x');
        together.arrive_and_wait();
        try {
          failed += store.get(store.put(bytes)) == bytes ? 0 : 1;
        } catch (const std::exception&) {
          ++failed;
        }
      }
    });
  for (auto& thread : threads) thread.join();
  CHECK(failed == 0);
  CHECK(BlobStore(folder / "blobs").names().size() == kRounds);
  CHECK(filesIn(folder.path()).size() == kRounds);  // Nothing is left beside them.
}

TEST_CASE("blob store: what is damaged is whole again once its bytes are put") {
  TempFolder folder;
  BlobStore store(folder / "blobs");
  const std::string bytes = "a photo" + std::string(100'000, 'x');
  const std::string name = store.put(bytes);
  for (const std::string& damage : {std::string(), bytes.substr(1), "A" + bytes.substr(1),
                                    bytes.substr(1) + "X", bytes + "x"}) {
    std::ofstream(store.file(name), std::ios::binary) << damage;
    CHECK_THROWS_AS(store.get(name), BadInput);
    CHECK(store.put(bytes) == name);
    CHECK(store.get(name) == bytes);
  }
}

TEST_CASE("blob store: what is there is not written again") {
  TempFolder folder;
  BlobStore store(folder / "blobs");
  const std::string name = store.put("a photo");
  const auto then = fs::file_time_type::clock::now() - std::chrono::hours(1);
  fs::last_write_time(store.file(name), then);
  store.put("a photo");
  CHECK(fs::last_write_time(store.file(name)) == then);
}

TEST_CASE("blob store: what a killed process left on a shelf goes with the next put there") {
  TempFolder folder;
  BlobStore store(folder / "blobs");
  const fs::path shelf = store.file(sha256Hex("a photo")).parent_path();
  fs::create_directories(shelf);
  const fs::path left = shelf / (std::string(62, 'a') + ".4711.part");
  const fs::path in_work = shelf / (std::string(62, 'b') + ".4711.part");
  for (const fs::path& part : {left, in_work}) std::ofstream(part) << "half";
  fs::last_write_time(left, fs::file_time_type::clock::now() - std::chrono::hours(25));
  store.put("a photo");
  CHECK_FALSE(fs::exists(left));
  CHECK(fs::exists(in_work));
  CHECK(store.names().size() == 1);
}

TEST_CASE("blob store: a name of another form is refused in a sentence, and leads nowhere") {
  TempFolder folder;
  BlobStore store(folder / "blobs");
  store.put("abc");
  std::ofstream(folder / "beside") << "stays";
  const std::string upper(64, 'A'), dots = std::string(62, '0') + "..";
  for (const std::string& name : {std::string(), std::string("a"), std::string("ab"), upper, dots,
                                  ".." + (folder / "beside").string()}) {
    CAPTURE(name);
    CHECK_FALSE(store.has(name));
    CHECK_THROWS_WITH_AS(store.get(name), doctest::Contains("64 hex digits"), BadInput);
    CHECK_THROWS_AS(store.discard(name), BadInput);
  }
  CHECK(fs::exists(folder / "beside"));
}

TEST_CASE("blob store: a shelf that cannot be read is a sentence, not a lost file") {
  TempFolder folder;
  BlobStore store(folder / "blobs");
  const std::string name = store.put("a mesh");
  const fs::path shelf = store.file(name).parent_path();
  fs::rename(shelf, folder / "away");
  fs::create_symlink(shelf.filename(), shelf);  // Leads to itself, for root as well.
  for (const std::function<void()>& ask : {std::function<void()>([&] { (void)store.has(name); }),
                                           std::function<void()>([&] { (void)store.get(name); }),
                                           std::function<void()>([&] { (void)store.names(); })})
    CHECK_THROWS_WITH_AS(ask(), doctest::Contains("cannot be read"), UnreadableFile);
  fs::remove(shelf);
  CHECK_FALSE(store.has(name));
}
