# SPDX-License-Identifier: Apache-2.0
# Writes OUT/man1, OUT/man7 and OUT/completion from what PROGRAM says of itself, through CMARK.
set(ENV{ASAN_OPTIONS} detect_leaks=0)
file(REMOVE_RECURSE ${OUT})
file(MAKE_DIRECTORY ${OUT}/man1 ${OUT}/man7 ${OUT}/completion)
execute_process(COMMAND ${PROGRAM} help --pages ${OUT}/pages COMMAND_ERROR_IS_FATAL ANY)
execute_process(COMMAND ${PROGRAM} help --completion bash OUTPUT_FILE ${OUT}/completion/holdshelf
                COMMAND_ERROR_IS_FATAL ANY)
file(GLOB pages ${OUT}/pages/*.md)
foreach(page ${pages})
  string(REGEX MATCH "([^/]+)\\.([17])\\.md$" file ${page})
  set(name ${CMAKE_MATCH_1})
  set(section ${CMAKE_MATCH_2})
  execute_process(COMMAND ${CMARK} -t man ${page} OUTPUT_VARIABLE body COMMAND_ERROR_IS_FATAL ANY)
  # What `whatis` and `apropos` read is one line, "name \- text", below ".SH NAME": for a command it is
  # the page's own, for a guide it is made of its heading.
  if(section EQUAL 1)
    string(REGEX REPLACE "^\\.SH\nNAME\n\\.PP\n" ".SH NAME\n" body "${body}")
  else()
    string(REGEX REPLACE "^\\.SH\n([^\n]*)\n" ".SH NAME\n${name} \\\\- \\1\n.SH DESCRIPTION\n" body
           "${body}")
  endif()
  string(TOUPPER ${name} title)
  file(WRITE ${OUT}/man${section}/${name}.${section}
       ".TH ${title} ${section} \"\" \"Holdshelf ${VERSION}\" \"Holdshelf\"\n${body}")
endforeach()
