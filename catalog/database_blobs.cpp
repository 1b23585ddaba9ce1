// SPDX-License-Identifier: Apache-2.0
#include "catalog/database_blobs.h"

#include "catalog/postgres.h"
#include "mesh/bad_input.h"
#include "mesh/sha256.h"

namespace holdshelf {
namespace {

// A value of 1 GB is the engine's limit; less leaves room for the message around it.
constexpr std::size_t kMostBytes = 1000U << 20;

[[noreturn]] void explain(const postgres::Error& error, const std::string& what) {
  throw StoreUnavailable(
      "The database does not " + what + " (" + error.what() +
      "): check the connection, the permissions of this user and the server's disk.");
}

}  // namespace

std::string DatabaseBlobs::put(std::string_view bytes) {
  if (bytes.size() > kMostBytes)
    throw BadInput("A file of " + std::to_string(bytes.size() >> 20) +
                   " MiB is too large for the database: keep the library's files in a folder.");
  std::string name = sha256Hex(bytes);
  try {
    // Looked at where they lie, so that they are not sent again: the bytes may be damaged there.
    const postgres::Rows there =
        connection_->run("SELECT encode(sha256(bytes), 'hex') = name FROM blob WHERE name = $1",
                         postgres::Values().add(name));
    if (there.empty())
      connection_->run("INSERT INTO blob(name, bytes) VALUES($1, $2) ON CONFLICT DO NOTHING",
                       postgres::Values().add(name).addBytes(bytes));
    else if (there.integer(0, 0) == 0)
      connection_->run("UPDATE blob SET bytes = $2 WHERE name = $1",
                       postgres::Values().add(name).addBytes(bytes));
  } catch (const postgres::Error& error) {
    explain(error, "take the file " + name.substr(0, 12) + "...");
  }
  return name;
}

std::string DatabaseBlobs::get(const std::string& name) const {
  needBlobName(name);
  try {
    const postgres::Rows rows =
        connection_->run("SELECT bytes FROM blob WHERE name = $1", postgres::Values().add(name));
    if (rows.empty())
      throw BadInput("The library's database has lost the file " + name +
                     ": run holdshelf check, or bring it back from a backup.");
    std::string bytes = rows.text(0, 0);
    if (sha256Hex(bytes) != name)
      throw BadInput("The file " + name +
                     " has changed in the library's database: bring it back from a backup.");
    return bytes;
  } catch (const postgres::Error& error) {
    if (error.isDamage())
      throw StoreDamaged("The file " + name + " is damaged in the library's database (" +
                         error.what() + "): bring it back from a backup.");
    explain(error, "give the file " + name.substr(0, 12) + "...");
  }
}

bool DatabaseBlobs::has(const std::string& name) const {
  try {
    return isBlobName(name) &&
           !connection_->run("SELECT 1 FROM blob WHERE name = $1", postgres::Values().add(name))
                .empty();
  } catch (const postgres::Error& error) {
    explain(error, "say whether it has a file");
  }
}

void DatabaseBlobs::discard(const std::string& name) {
  needBlobName(name);
  try {
    connection_->run("DELETE FROM blob WHERE name = $1", postgres::Values().add(name));
  } catch (const postgres::Error& error) {
    explain(error, "take away the file " + name.substr(0, 12) + "...");
  }
}

std::vector<std::string> DatabaseBlobs::names() const {
  try {
    std::vector<std::string> names;
    const postgres::Rows rows = connection_->run("SELECT name FROM blob ORDER BY name");
    names.reserve(static_cast<std::size_t>(rows.size()));
    for (int row = 0; row < rows.size(); ++row) names.push_back(rows.text(row, 0));
    return names;
  } catch (const postgres::Error& error) {
    explain(error, "list its files");
  }
}

}  // namespace holdshelf
