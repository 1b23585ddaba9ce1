// SPDX-License-Identifier: Apache-2.0
#include "catalog/site_rule.h"

#include "catalog/hold_record.h"
#include "mesh/bad_input.h"

namespace holdshelf {

void checkSite(const Hold& hold, const Event& event, const std::string& site) {
  const std::string& at = standsAt(hold);
  if (site.empty() || at.empty() || !event.origin().empty() || event.has_noted()) return;
  const bool ours = hold.site() == site;
  if (at == site && (ours || event.sited().what_case() != Sited::kGivenTo)) return;
  if (ours && (event.has_edited() || event.has_sited())) return;
  throw BadInput(hold.id() + " " +
                 (at == site ? "belongs to the site " + hold.site() : "is at the site " + at) +
                 ", and this is " + site + ": " +
                 (ours ? "call it back with holdshelf lend --back first."
                       : "ask there for it to be lent or given, or leave a note on it."));
}

}  // namespace holdshelf
