// SPDX-License-Identifier: Apache-2.0
#include "catalog/console.h"

#include <doctest/doctest.h>

#include "catalog/climb_change.h"
#include "catalog/library.h"
#include "tests/catalog/run_program.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

/// Whether a terminal would find nothing but letters, line breaks and tabs in it.
bool isPlain(const std::string& text) {
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto c = static_cast<unsigned char>(text[i]);
    if ((c < ' ' && c != '\n' && c != '\t') || c == 0x7f) return false;
    if (c == 0xc2 && i + 1 < text.size() && static_cast<unsigned char>(text[i + 1]) < 0xa0)
      return false;
  }
  return true;
}

}  // namespace

TEST_CASE("console: what came in with another library's events drives no terminal") {
  const std::string name = "ye\x1b]52;c;eA==\x07llow\u009b2J\r 12";
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  Event created;  // As merged: no name is looked at on that way.
  created.set_hold("H-0001");
  created.mutable_created()->set_name(name);
  created.mutable_created()->set_status(WASH);
  ClimbChange started;
  started.mutable_started()->set_id("C-0001");
  started.mutable_started()->set_name(name);
  library.commit({created, climbEvent("C-0001", started)});
  const std::string place = (folder / "l").string();
  const ProgramRun listed = runProgram({"crate", "list", "-l", place});
  CHECK(listed.status == 0);
  CHECK(isPlain(listed.out));
  CHECK(listed.out.find("C-0001 ye]52;c;eA==llow2J 12: packing") == 0);
  const ProgramRun refused = runProgram({"crate", "add", "C-0001", "H-0001", "-l", place});
  CHECK(refused.status == 1);
  CHECK(refused.err.find("H-0001 ye]52;c;eA==llow2J 12 is in the wash") != std::string::npos);
  CHECK(isPlain(refused.err));
  CHECK(isPlain(runProgram({"crate", "list", "--json", "-l", place}).out));
}
