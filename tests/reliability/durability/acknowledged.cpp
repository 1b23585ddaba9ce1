// SPDX-License-Identifier: Apache-2.0
#include "tests/reliability/durability/acknowledged.h"

#include <sstream>

#include "catalog/blob_store.h"
#include "catalog/intake_desk.h"
#include "catalog/intake_files.h"
#include "catalog/library.h"
#include "mesh/sha256.h"

namespace fs = std::filesystem;

namespace holdshelf::test {
namespace {

void readPiece(std::istream& words, Acknowledged& told) {
  std::string intake, photo;
  AcknowledgedPiece piece;
  words >> intake >> photo >> piece.bytes >> piece.sha256;
  AcknowledgedPiece& most = told.pieces[{intake, photo}];
  if (piece.bytes > most.bytes) most = piece;
}

/// What of it was said to be in the backup, once the event of this number was.
void copyUpTo(std::int64_t number, const Acknowledged& told, Acknowledged& backup) {
  backup.texts.insert(told.texts.begin(), told.texts.end());
  backup.events.insert(told.events.begin(), told.events.upper_bound(number));
}

/// The bytes themselves, not what the intake's state says of them.
std::string whyNotThere(const fs::path& file, const IntakePhoto& photo,
                        const AcknowledgedPiece& piece) {
  const std::string what = "of a photo " + std::to_string(piece.bytes) + " bytes were acknowledged";
  if (photo.received() < piece.bytes)
    return what + " and " + std::to_string(photo.received()) + " are known of";
  const std::string here = readFile(file);
  if (here.size() < static_cast<std::size_t>(piece.bytes))
    return what + " and " + std::to_string(here.size()) + " are there";
  if (sha256Hex(here.substr(0, static_cast<std::size_t>(piece.bytes))) != piece.sha256)
    return what + " and others are there";
  if (photo.state() != IntakePhoto::UPLOADING && sha256Hex(here) != photo.sha256())
    return "a whole photo is another one now";
  return "";
}

/// What a server that is started again has of every photo.
void verifyPieces(const fs::path& library, const Acknowledged& told,
                  std::vector<std::string>& lost) {
  if (told.pieces.empty()) return;
  IntakeDesk desk(library, "/bin/false", [](const IntakeMoved&) {});
  const IntakeFiles files(library);  // Knows their names.
  for (const auto& [which, piece] : told.pieces) {
    const IntakePhoto photo = desk.photo(which.first, which.second);
    const std::string why = whyNotThere(files.photoFile(which.first, photo), photo, piece);
    if (!why.empty()) lost.push_back(why);
  }
}

}  // namespace

std::vector<std::string> Acknowledged::read(const std::string& lines, Acknowledged& backup) {
  std::vector<std::string> faults;
  std::istringstream all(lines.substr(0, lines.rfind('\n') + 1));
  for (std::string line; std::getline(all, line);) {
    std::istringstream words(line);
    std::string word;
    std::int64_t number = 0;
    words >> word;
    if (word == "stored" && words >> word) {
      texts.insert(word);
    } else if (word == "ack" && words >> number >> word) {
      events[number] = word;
    } else if (word == "backed-up" && words >> number) {
      copyUpTo(number, *this, backup);
    } else if (word == "piece") {
      readPiece(words, *this);
    } else if (word == "fault") {
      faults.push_back(line.substr(6));
    }
  }
  return faults;
}

std::vector<std::string> Acknowledged::lostIn(const fs::path& folder) {
  std::vector<std::string> lost;
  const Library library = Library::open(folder);
  std::map<std::int64_t, std::string> here;
  std::string bodies;
  sqlite::Statement event(library.database(), "SELECT number, body FROM event");
  while (event.step()) {
    here[event.integer(0)] = sha256Hex(event.blob(1));
    bodies.append(event.blob(1)) += '\0';
  }
  for (const auto& [number, digest] : events)
    if (here[number] != digest) lost.push_back("event " + std::to_string(number) + " is lost");
  for (const std::string& text : texts)
    if (bodies.find(text) == std::string::npos)
      lost.push_back(text + " was said to be stored and is in no event");
  verifyPieces(folder, *this, lost);
  events = std::move(here);  // From now on none of these may go either.
  return lost;
}

}  // namespace holdshelf::test
