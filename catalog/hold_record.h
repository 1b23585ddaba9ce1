// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "proto/event.pb.h"
#include "proto/hold.pb.h"

namespace holdshelf {

/// Makes of a hold what the event made of it. The first event of a hold is its creation.
/// Pure: a hold is the fold of its events, in order, and so is its state at any date.
void applyEvent(Hold& hold, const Event& event);

/// What the event is about: the hold's id, or the subject of events that concern no hold.
const std::string& subjectOf(const Event& event);

/// The order in which events are folded: what creates a hold or starts a climb first, then by time,
/// then as stored. It is the stored order except for events that were merged in from another
/// library.
std::vector<const Event*> inOrder(const std::vector<Event>& events);

/// The hold as its events left it, up to and including the time (RFC 3339, UTC) if one is given;
/// nullopt when it did not exist yet.
std::optional<Hold> holdAsOf(const std::vector<Event>& events, const std::string& time = "");

/// The scan that describes the hold today: the last one. nullptr before the first scan.
const Scan* currentScan(const Hold& hold);

/// The site where the hold is: whose it is, or where it was lent to; empty where there is one site.
const std::string& standsAt(const Hold& hold);

/// Identical pieces that the record stands for, at least 1.
int piecesOf(const Hold& hold);

/// "on the shelf", "on the wall", ... for people; and back from the word used in commands:
/// shelf, crate, wall, wash, look, retired.
std::string statusText(Status status);
std::string statusWord(Status status);
/// @throws BadInput  Not one of the words.
Status statusFromWord(const std::string& word);

}  // namespace holdshelf
