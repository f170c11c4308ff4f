# SPDX-License-Identifier: MIT
# The starter files as one source file: cmake -DNAMES=a,b -DFROM=dir -DTO=starters.cpp -P embed_starters.cmake
string(REPLACE "," ";" names "${NAMES}")
set(rows "")
foreach(name IN LISTS names)
  file(READ "${FROM}/${name}.xml" text)
  string(LENGTH "${text}" length)
  set(pieces "")
  set(at 0)
  while(at LESS length)
    string(SUBSTRING "${text}" ${at} 8000 piece)
    string(APPEND pieces "\n     R\"xml~(${piece})xml~\"")
    math(EXPR at "${at} + 8000")
  endwhile()
  string(APPEND rows "    {\"${name}\",${pieces}},\n")
endforeach()
file(WRITE "${TO}.new" "// SPDX-License-Identifier: CC0-1.0
// Made from netlists/start: do not edit.
#include \"netlist/starter.hpp\"

namespace tubewright {
const StarterText starter_texts[] = {
${rows}    {{}, {}},
};
}  // namespace tubewright
")
file(COPY_FILE "${TO}.new" "${TO}" ONLY_IF_DIFFERENT)
