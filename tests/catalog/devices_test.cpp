// SPDX-License-Identifier: Apache-2.0
#include "catalog/devices.h"

#include <doctest/doctest.h>

#include <set>

#include "catalog/blob_store.h"
#include "mesh/bad_input.h"
#include "temp_folder.h"

using namespace holdshelf;
using holdshelf::test::TempFolder;

namespace {

/// A book whose clock the test turns.
struct Book {
  TempFolder folder;
  std::int64_t now = 1'900'000'000;
  Devices devices{folder.path(), [this] { return now; }};

  Devices::Paired paired(Role role, const std::string& name = "Mo's phone") {
    const auto done = devices.pair(devices.makeCode(role).code(), name);
    REQUIRE(done);
    return *done;
  }
};

}  // namespace

TEST_CASE("devices: a code gives its role once") {
  Book book;
  const PairingCode code = book.devices.makeCode(Role::Set);
  CHECK(code.code().size() == 9);  // Eight digits and a hyphen.
  const auto first = book.devices.pair(" " + code.code() + " ", "  Mo's phone ");
  REQUIRE(first);
  CHECK(first->device.role() == "set");
  CHECK(first->device.name() == "Mo's phone");
  CHECK_FALSE(book.devices.pair(code.code(), "Another"));  // Replayed.
  const auto found = book.devices.find(first->token);
  REQUIRE(found);
  CHECK(found->id() == first->device.id());
  CHECK_THROWS_AS(book.devices.makeCode(Role::None), BadInput);
}

TEST_CASE("devices: a code dies after ten minutes, a device after 30 days or 7 unused") {
  Book book;
  const std::string code = book.devices.makeCode(Role::Look).code();
  book.now += Devices::kCodeLife_s;
  CHECK_FALSE(book.devices.pair(code, "Late"));
  const std::string used = book.paired(Role::Look).token, idle = book.paired(Role::Look).token;
  for (int day = 1; day < 30; ++day) {
    book.now += 86'400;
    CHECK(book.devices.find(used));
    if (day == 3) CHECK(book.devices.list().devices_size() == 2);
  }
  CHECK_FALSE(book.devices.find(idle));
  book.now += 86'400;
  CHECK_FALSE(book.devices.find(used));
  CHECK(book.devices.list().devices().empty());
}

TEST_CASE("devices: let in also where its use cannot be noted") {
  Book book;
  const std::string token = book.paired(Role::Set).token;
  sqlite::Database(book.folder.path() / "serve" / "devices.sqlite",
                   sqlite::Database::Access::ReadWrite)
      .execute("CREATE TRIGGER full BEFORE UPDATE ON device BEGIN SELECT RAISE(FAIL, 'full'); END");
  book.now += 86'400;
  CHECK(book.devices.find(token));
}

TEST_CASE("devices: withdrawn from another process is withdrawn at once") {
  Book book;
  const auto paired = book.paired(Role::Head);
  Devices command_line(book.folder.path(), [&] { return book.now; });
  REQUIRE(command_line.list().devices_size() == 1);
  command_line.withdraw(paired.device.id());
  CHECK_FALSE(book.devices.find(paired.token));
  CHECK_THROWS_AS(book.devices.withdraw(paired.device.id()), BadInput);
}

TEST_CASE("devices: neither tokens nor codes are on the disk; nothing but the token gets in") {
  Book book;
  const std::string code = book.devices.makeCode(Role::Head).code();
  const auto paired = book.paired(Role::Head);
  std::string bytes;
  for (const auto& file : std::filesystem::directory_iterator(book.folder.path() / "serve"))
    bytes += readFile(file.path());
  REQUIRE(bytes.find("Mo's phone") != std::string::npos);  // The row is there.
  CHECK(bytes.find(paired.token) == std::string::npos);
  CHECK(bytes.find(code.substr(0, 4) + code.substr(5)) == std::string::npos);
  for (const std::string& wrong :
       {std::string(), std::string("x"), std::string(64, '0'), sha256Hex(paired.token),
        paired.device.id(), paired.token.substr(0, 63), paired.token + "0",
        std::string("' OR 1=1 --")})
    CHECK_FALSE(book.devices.find(wrong));
  const auto mode = std::filesystem::status(book.folder.path() / "serve").permissions();
  CHECK((mode & (std::filesystem::perms::group_all | std::filesystem::perms::others_all)) ==
        std::filesystem::perms::none);
}

TEST_CASE("devices: names are kept readable, codes and tokens differ") {
  Book book;
  CHECK_THROWS_AS(book.paired(Role::Look, " \t "), BadInput);
  CHECK_THROWS_AS(book.paired(Role::Look, std::string(41, 'x')), BadInput);
  CHECK(book.paired(Role::Look, "Kim\r\n\x1b[2Jphone").device.name() == "Kim[2Jphone");
  std::set<std::string> codes, tokens;
  for (int i = 0; i < 50; ++i) {
    codes.insert(book.devices.makeCode(Role::Look).code());
    tokens.insert(book.paired(Role::Look).token);
  }
  // 50 of 10^8 codes collide with a chance of 1.2e-5 (birthday bound).
  CHECK(codes.size() == 50);
  CHECK(tokens.size() == 50);
}
