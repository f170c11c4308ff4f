# SPDX-License-Identifier: MIT
# The CSV tables as string literals in one source file: cmake -DTABLES=a.csv,b.csv -DFROM=dir -DTO=file.cpp -P embed.cmake
# Long tables are cut into pieces, since compilers limit the length of one literal.
string(REPLACE "," ";" tables "${TABLES}")
set(body "")
set(index "")
foreach(table IN LISTS tables)
  get_filename_component(name "${table}" NAME_WE)
  file(READ "${FROM}/${table}" text)
  string(LENGTH "${text}" length)
  set(pieces "")
  set(count 0)
  set(at 0)
  while(at LESS length)
    string(SUBSTRING "${text}" ${at} 8000 piece)
    string(APPEND pieces "    R\"csv~(${piece})csv~\",\n")
    math(EXPR at "${at} + 8000")
    math(EXPR count "${count} + 1")
  endwhile()
  string(APPEND body "const std::string_view ${name}[] = {\n${pieces}};\n")
  string(APPEND index "    {\"${name}\", ${name}, ${count}},\n")
endforeach()
file(WRITE "${TO}.new" "// SPDX-License-Identifier: CC0-1.0
// Made from the tables by embed.cmake: do not edit.
#include \"catalogue/embedded.hpp\"

namespace tubewright::tables {
namespace {
${body}}  // namespace

const EmbeddedTable embedded[] = {
${index}    {{}, nullptr, 0},
};
}  // namespace tubewright::tables
")
file(COPY_FILE "${TO}.new" "${TO}" ONLY_IF_DIFFERENT)
