// SPDX-License-Identifier: Apache-2.0
#include "catalog/server.h"

#include <doctest/doctest.h>

#include <chrono>
#include <fstream>
#include <future>

#include "catalog/library.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using holdshelf::test::TempFolder;

TEST_CASE("server: told to stop before it has started, it stops") {
  TempFolder folder;
  (void)Library::openOrCreate(folder / "l");
  std::filesystem::create_directory(folder / "web");
  std::ofstream(folder / "web" / "index.html") << "<!doctype html><title>page</title>";
  for (int round = 0; round < 4; ++round) {
    ServeOptions options;
    options.library = folder / "l";
    options.web = folder / "web";
    options.port = 0;
    Server server(options);
    server.stop();  // There is nothing to stop yet, and it has to be minded all the same.
    auto running = std::async(std::launch::async, [&] { server.run([] { return false; }); });
    const bool ended = running.wait_for(std::chrono::seconds(20)) == std::future_status::ready;
    CHECK(ended);
    if (!ended) server.stop();
  }
}
