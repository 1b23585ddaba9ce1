# SPDX-License-Identifier: Apache-2.0
# Writes OUT, a header with the texts of GUIDES ("name=file|name=file"), for help_pages.cpp.
string(REPLACE "|" ";" guides "${GUIDES}")
set(text "// Made by packaging/embed_guides.cmake.\n#pragma once\n\nnamespace holdshelf {\n\nstruct GuideText {\n  const char* name;\n  const char* markdown;\n};\n\ninline constexpr GuideText kGuideTexts[] = {\n")
foreach(guide ${guides})
  string(REPLACE "=" ";" parts "${guide}")
  list(GET parts 0 name)
  list(GET parts 1 file)
  file(READ "${file}" markdown)
  # What only the check of the documents' commands reads.
  string(REGEX REPLACE "<!--[^\n]*-->\n+" "" markdown "${markdown}")
  string(APPEND text "    {\"${name}\", R\"guide(${markdown})guide\"},\n")
endforeach()
string(APPEND text "};\n\n}  // namespace holdshelf\n")
file(WRITE "${OUT}" "${text}")
