// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "proto/event.pb.h"
#include "proto/hold.pb.h"

namespace holdshelf {

/// Who may say what of a hold in a library that several sites share: the site where it stands says
/// everything but gives away only what is its own; its own site can also edit, lend and recall it;
/// everybody can note. Events from another library (`origin`) were allowed there.
/// @param hold  As it is before the event.
/// @param site  That says it; empty: one site, everything is allowed.
/// @throws BadInput  The event is not for this site to say; the sentence says whose it is.
void checkSite(const Hold& hold, const Event& event, const std::string& site);

}  // namespace holdshelf
