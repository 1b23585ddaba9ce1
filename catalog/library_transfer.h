// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "catalog/library.h"
#include "mesh/progress.h"
#include "proto/transfer.pb.h"

namespace holdshelf {

/// Brings a library to another place whole: a folder into PostgreSQL, back, or between two of a
/// kind. Batch by batch, each with its files first and its events in one transaction, so that
/// killed anywhere the other place is a library as the first one was at some earlier time. Run
/// again, it goes on there, or brings over what was added since. In the end all files over there
/// are read again, and events, holds and digests are compared.
///
/// What no event refers to stays behind, and so does what belongs to a machine: paired devices,
/// photos on their way in, targets.csv.
/// @throws BadInput     Something else is at the other place, or a file is lost or damaged, or
///                      what is there in the end is not the same, or an event that would come says
///                      what cannot be so (foreign_event.h; nothing is brought then); the sentence
///                      says what to do.
/// @throws Interrupted  progress returned false; run it again to go on.
TransferReport transferLibrary(const Library& from, Library& to, const Progress& progress);

/// SHA-256 over all events and hold rows of a library in their order: the same for two libraries
/// exactly when they hold the same records, whatever they are stored in.
std::string libraryDigest(const Library& library);

}  // namespace holdshelf
