// SPDX-License-Identifier: Apache-2.0
#include "catalog/devices.h"

#include <sys/random.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <chrono>
#include <ctime>
#include <stdexcept>

#include "catalog/blob_store.h"
#include "catalog/library_place.h"
#include "catalog/shown_text.h"
#include "mesh/bad_input.h"
#include "mesh/open_file.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

constexpr std::int64_t kSeenStep_s = 300;  // The last use is written down no oftener.
constexpr std::size_t kLongestName = 40;

std::int64_t secondsNow() {
  return std::chrono::duration_cast<std::chrono::seconds>(
             std::chrono::system_clock::now().time_since_epoch())
      .count();
}

std::string timeText(std::int64_t seconds) {
  const std::time_t time = seconds;
  std::tm utc{};
  gmtime_r(&time, &utc);
  std::array<char, 32> text{};
  std::strftime(text.data(), text.size(), "%Y-%m-%dT%H:%M:%SZ", &utc);
  return text.data();
}

template <std::size_t N>
std::array<unsigned char, N> randomBytes() {
  std::array<unsigned char, N> bytes{};
  if (::getrandom(bytes.data(), N, 0) != static_cast<ssize_t>(N))
    throw std::runtime_error("the system gives no random numbers");
  return bytes;
}

std::string randomHex() {
  constexpr const char* kDigits = "0123456789abcdef";
  std::string text;
  for (const unsigned char byte : randomBytes<32>()) {
    text += kDigits[byte >> 4];
    text += kDigits[byte & 15];
  }
  return text;
}

/// Eight digits, all equally likely: 2^64 is no multiple of 10^8, by less than 1 in 10^11.
std::string randomCode() {
  std::uint64_t number = 0;
  for (const unsigned char byte : randomBytes<8>()) number = number << 8 | byte;
  std::string digits = std::to_string(number % 100'000'000);
  return std::string(8 - digits.size(), '0') + digits;
}

std::string digitsOf(const std::string& code) {
  std::string digits;
  for (const char c : code.substr(0, 40))
    if (std::isdigit(static_cast<unsigned char>(c)) != 0) digits += c;
  return digits;
}

std::string cleanName(const std::string& name) {
  std::string clean = shownLine(name, kLongestName, "name");
  if (clean.empty())
    throw BadInput("The device has no name: write what to call it, so that it can be told apart.");
  return clean;
}

constexpr const char* kColumns =
    "SELECT id, name, role, paired_at, last_seen, expires_at FROM device ";

Device deviceOf(const sqlite::Statement& row) {
  Device device;
  device.set_id(row.text(0));
  device.set_name(row.text(1));
  device.set_role(row.text(2));
  device.set_paired_at(timeText(row.integer(3)));
  device.set_last_seen(timeText(row.integer(4)));
  device.set_expires_at(
      timeText(std::min(row.integer(5), row.integer(4) + Devices::kUnusedLife_s)));
  return device;
}

/// Readable by its owner only: the folder is made first, the database in it. Its name is on the
/// disk before anything is in it, as those who put photos there take it to be.
fs::path bookFile(const fs::path& library) {
  const fs::path folder = localFolderOf(library) / "serve";
  makeFolderDurably(folder);
  fs::permissions(folder, fs::perms::owner_all);
  return folder / "devices.sqlite";
}

}  // namespace

Devices::Devices(const fs::path& library, std::function<std::int64_t()> clock)
    : clock_(clock ? std::move(clock) : secondsNow),
      database_(bookFile(library), sqlite::Database::Access::ReadWrite) {
  database_.execute(
      "PRAGMA journal_mode = WAL; PRAGMA busy_timeout = 5000;"
      "CREATE TABLE IF NOT EXISTS code (hash TEXT PRIMARY KEY, role TEXT NOT NULL,"
      " expires_at INTEGER NOT NULL);"
      "CREATE TABLE IF NOT EXISTS device (id TEXT PRIMARY KEY, token_hash TEXT NOT NULL UNIQUE,"
      " name TEXT NOT NULL, role TEXT NOT NULL, paired_at INTEGER NOT NULL,"
      " last_seen INTEGER NOT NULL, expires_at INTEGER NOT NULL)");
}

void Devices::forgetOld() {
  const std::int64_t now = clock_();
  sqlite::Statement(database_, "DELETE FROM code WHERE expires_at <= ?1").bind(1, now).run();
  sqlite::Statement(database_, "DELETE FROM device WHERE expires_at <= ?1 OR last_seen <= ?2")
      .bind(1, now)
      .bind(2, now - kUnusedLife_s)
      .run();
}

PairingCode Devices::makeCode(Role role) {
  if (role == Role::None) throw BadInput("A code needs a role: use look, set, log or head.");
  const std::lock_guard lock(mutex_);
  forgetOld();
  const std::string code = randomCode();
  const std::int64_t expires_at = clock_() + kCodeLife_s;
  sqlite::Statement(database_, "INSERT OR REPLACE INTO code VALUES (?1, ?2, ?3)")
      .bind(1, sha256Hex(code))
      .bind(2, roleWord(role))
      .bind(3, expires_at)
      .run();
  PairingCode made;
  made.set_role(roleWord(role));
  made.set_code(code.substr(0, 4) + "-" + code.substr(4));
  made.set_expires_at(timeText(expires_at));
  return made;
}

std::optional<Devices::Paired> Devices::pair(const std::string& code, const std::string& name) {
  const std::string called = cleanName(name);
  const std::lock_guard lock(mutex_);
  sqlite::Transaction transaction(database_);
  forgetOld();
  const std::string hash = sha256Hex(digitsOf(code));
  sqlite::Statement row(database_, "SELECT role FROM code WHERE hash = ?1");
  row.bind(1, hash);
  if (!row.step()) {
    row.run();
    transaction.commit();
    return std::nullopt;
  }
  Paired paired;
  paired.token = randomHex();
  const std::string role = row.text(0);
  row.run();
  const std::int64_t now = clock_();
  sqlite::Statement(database_, "DELETE FROM code WHERE hash = ?1").bind(1, hash).run();
  const std::string id = randomHex().substr(0, 8);
  sqlite::Statement(database_, "INSERT INTO device VALUES (?1, ?2, ?3, ?4, ?5, ?5, ?6)")
      .bind(1, id)
      .bind(2, sha256Hex(paired.token))
      .bind(3, called)
      .bind(4, role)
      .bind(5, now)
      .bind(6, now + kSessionLife_s)
      .run();
  sqlite::Statement stored(database_, std::string(kColumns) + "WHERE id = ?1");
  stored.bind(1, id).step();
  paired.device = deviceOf(stored);
  stored.run();
  transaction.commit();
  return paired;
}

std::optional<Device> Devices::find(const std::string& token) {
  if (token.size() != 64) return std::nullopt;
  const std::lock_guard lock(mutex_);
  const std::int64_t now = clock_();
  sqlite::Statement row(database_, std::string(kColumns) +
                                       "WHERE token_hash = ?1 AND expires_at > ?2 AND "
                                       "last_seen > ?3");
  row.bind(1, sha256Hex(token)).bind(2, now).bind(3, now - kUnusedLife_s);
  if (!row.step()) return std::nullopt;
  Device device = deviceOf(row);
  const bool note_use = row.integer(4) <= now - kSeenStep_s;
  row.run();
  if (note_use) try {
      sqlite::Statement(database_, "UPDATE device SET last_seen = ?1 WHERE id = ?2")
          .bind(1, now)
          .bind(2, device.id())
          .run();
    } catch (const sqlite::Error&) {  // The disk is full, say: it is noted another time.
    }
  return device;
}

DeviceList Devices::list() {
  const std::lock_guard lock(mutex_);
  forgetOld();
  DeviceList list;
  sqlite::Statement row(database_, std::string(kColumns) + "ORDER BY paired_at DESC, id");
  while (row.step()) *list.add_devices() = deviceOf(row);
  return list;
}

void Devices::withdraw(const std::string& id) {
  const std::lock_guard lock(mutex_);
  sqlite::Statement row(database_, "DELETE FROM device WHERE id = ?1 RETURNING id");
  row.bind(1, id);
  if (!row.step())
    throw BadInput("There is no device " + id.substr(0, 40) +
                   ": holdshelf devices lists those that may come in.");
  row.run();
}

}  // namespace holdshelf
