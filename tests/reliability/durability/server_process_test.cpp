// SPDX-License-Identifier: Apache-2.0
#include "tests/reliability/durability/server_process.h"

#include <doctest/doctest.h>
#include <signal.h>

#include <stdexcept>

#include "catalog/blob_store.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;
namespace fs = std::filesystem;

namespace {

/// A program that says where it listens and does so much more.
fs::path serverThat(const TempFolder& folder, const std::string& does) {
  const fs::path program = folder / "server";
  writeFileDurably(program, "#!/bin/sh\n" + does +
                                "\necho at http://localhost:7/\nwhile :; do sleep 0.01; done\n");
  fs::permissions(program, fs::perms::owner_all);
  return program;
}

}  // namespace

TEST_CASE("server process: how it ended is told, by itself or by a signal") {
  const TempFolder folder;
  const auto ended = [&](const std::string& does) {
    ServerProcess server(serverThat(folder, does), folder / "library");
    CHECK(server.port() == 7);
    return server.end();
  };
  CHECK(ended("trap 'exit 0' TERM") == 0);
  CHECK(ended("trap 'exit 66' TERM") == 66);
  CHECK(ended("") == -SIGTERM);
  CHECK_THROWS_AS(ended("exit 1"), std::runtime_error);
}
