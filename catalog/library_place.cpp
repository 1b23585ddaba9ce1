// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_place.h"

#include <libpq-fe.h>
#include <sys/stat.h>

#include <algorithm>
#include <cctype>
#include <cstdlib>
#include <fstream>
#include <memory>

#include "mesh/bad_input.h"
#include "mesh/sha256.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

std::string environment(const char* name) {
  const char* value = std::getenv(name);
  return value == nullptr ? "" : value;
}

/// The file that a variable names, else the one of this name in the user's home.
fs::path fileOf(const char* variable, const char* in_home) {
  const std::string named = environment(variable);
  return named.empty() ? fs::path(environment("HOME")) / in_home : fs::path(named);
}

bool readByOthers(const fs::path& file) {
  struct stat about = {};
  return ::stat(file.c_str(), &about) == 0 && S_ISREG(about.st_mode) &&
         (about.st_mode & (S_IRWXG | S_IRWXO)) != 0;
}

bool holdsPassword(const fs::path& file) {
  std::ifstream in(file);
  for (std::string line; std::getline(in, line);) {
    line.erase(std::remove_if(line.begin(), line.end(),
                              [](unsigned char c) { return std::isspace(c) != 0; }),
               line.end());
    if (line.starts_with("password=")) return true;
  }
  return false;
}

void checkSecretFiles() {
  const fs::path passwords = fileOf("PGPASSFILE", ".pgpass");
  const fs::path services = fileOf("PGSERVICEFILE", ".pg_service.conf");
  for (const fs::path& file : {passwords, services}) {
    if (!readByOthers(file) || (file == services && !holdsPassword(file))) continue;
    throw BadInput("Others on this machine can read the passwords in " + file.string() +
                   ": chmod 600 it, and change the passwords if they may have been read.");
  }
}

}  // namespace

bool isDatabaseAddress(const fs::path& place) {
  return place.string().starts_with("postgres://") || place.string().starts_with("postgresql://");
}

std::string databaseAddress(const fs::path& place) {
  std::string address = place.string();
  char* message = nullptr;
  const std::unique_ptr<PQconninfoOption, decltype(&PQconninfoFree)> options(
      PQconninfoParse(address.c_str(), &message), PQconninfoFree);
  const std::string why = message == nullptr ? "" : message;
  PQfreemem(message);
  if (!options)  // Not shown: what cannot be understood may hold a password.
    throw BadInput(
        "The --library address cannot be understood: write postgres://USER@HOST/DATABASE, with "
        "%-escapes for unusual letters, and settings such as ?sslmode=verify-full behind it.");
  for (const PQconninfoOption* option = options.get(); option->keyword != nullptr; ++option) {
    const std::string key = option->keyword;
    if ((key == "password" || key == "sslpassword") && option->val != nullptr)
      throw BadInput(
          "The --library address holds a password, which everyone on this machine can read off the "
          "list of processes: leave it out, and give it in PGPASSWORD or in the file ~/.pgpass.");
  }
  checkSecretFiles();
  return address;
}

fs::path localFolderOf(const fs::path& place) {
  if (!isDatabaseAddress(place)) return place;
  const std::string state = environment("XDG_STATE_HOME");
  const std::string home = environment("HOME");
  if (state.empty() && home.empty())  // Not below /tmp, where another user may have made it before.
    throw BadInput(
        "There is no home folder to keep this machine's own files of a shared library in: set "
        "XDG_STATE_HOME to a folder that only you can write to.");
  return (state.empty() ? fs::path(home) / ".local" / "state" : fs::path(state)) / "holdshelf" /
         sha256Hex(place.string()).substr(0, 16);
}

std::string siteHere() { return environment("HOLDSHELF_SITE"); }

bool samePlace(const fs::path& one, const fs::path& other) {
  if (isDatabaseAddress(one) || isDatabaseAddress(other)) return one.string() == other.string();
  std::error_code ignored;
  return fs::equivalent(one, other, ignored);
}

std::string placeName(const fs::path& place) {
  if (isDatabaseAddress(place)) {
    const std::string name = place.string().substr(0, place.string().find('?'));
    return name.substr(name.rfind('/') + 1);
  }
  const fs::path whole = fs::absolute(place).lexically_normal();
  return whole.filename().empty() ? whole.parent_path().filename().string()
                                  : whole.filename().string();
}

std::string withoutPlace(std::string sentence, const fs::path& place) {
  // "." would be found at the end of every sentence.
  if (!isDatabaseAddress(place) && !place.is_absolute()) return sentence;
  const std::string name = placeName(place);
  if (name.empty()) return sentence;
  for (const fs::path& where : {place, localFolderOf(place)}) {
    std::string hidden = where.string();
    while (hidden.ends_with('/')) hidden.pop_back();
    for (std::size_t at = sentence.find(hidden); at != std::string::npos;
         at = sentence.find(hidden, at + name.size()))
      sentence.replace(at, hidden.size(), name);
  }
  return sentence;
}

}  // namespace holdshelf
