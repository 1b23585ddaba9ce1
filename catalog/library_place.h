// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <string>

namespace holdshelf {

/// Where a library is, as --library names it: a folder, or the address of a PostgreSQL database
/// ("postgres://user@host/name?sslmode=verify-full", as libpq understands it).
bool isDatabaseAddress(const std::filesystem::path& place);

/// The address as libpq takes it. What it leaves out comes from libpq's environment (PGHOST,
/// PGPASSWORD, PGSSLMODE, ...), password file (PGPASSFILE, ~/.pgpass) and service file
/// (PGSERVICEFILE, ~/.pg_service.conf).
/// @throws BadInput  It is no address; it holds a password, which everyone on the machine could
///                   read off the list of processes; or a file of passwords can be read by others.
std::string databaseAddress(const std::filesystem::path& place);

/// Where this machine keeps what belongs to the library and not into the database (the devices that
/// may use the page, photos on their way in): the folder itself, or one of this user's under
/// $XDG_STATE_HOME (else ~/.local/state) that is named after the address.
std::filesystem::path localFolderOf(const std::filesystem::path& place);

/// Which of the sites that share the library this machine works for: $HOLDSHELF_SITE, empty where
/// there is one.
std::string siteHere();

/// Whether two places are one and the same library.
bool samePlace(const std::filesystem::path& one, const std::filesystem::path& other);

/// What to call it in a word: the folder's name, or the database's.
std::string placeName(const std::filesystem::path& place);

/// The sentence with that name in place of the folder or address, and of this machine's own folder
/// for it: for whoever need not know where the library is, or as whom it is opened. A folder that
/// was named from where the program started stays.
std::string withoutPlace(std::string sentence, const std::filesystem::path& place);

}  // namespace holdshelf
