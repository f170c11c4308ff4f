# SPDX-License-Identifier: MIT
# The schema as one source file: cmake -DFROM=chassis.xsd -DTO=schema.cpp -P embed_schema.cmake
# It is cut into pieces, since compilers limit the length of one literal; neighbouring literals join again.
file(READ "${FROM}" text)
string(LENGTH "${text}" length)
set(pieces "")
set(at 0)
while(at LESS length)
  string(SUBSTRING "${text}" ${at} 8000 piece)
  string(APPEND pieces "\n    R\"xsd~(${piece})xsd~\"")
  math(EXPR at "${at} + 8000")
endwhile()
file(WRITE "${TO}.new" "// SPDX-License-Identifier: CC0-1.0
// Made from netlists/chassis.xsd: do not edit.
#include <tubewright/netlist.hpp>

namespace tubewright {
std::string_view chassis_schema() {
    static constexpr std::string_view schema =${pieces};
    return schema;
}
}  // namespace tubewright
")
file(COPY_FILE "${TO}.new" "${TO}" ONLY_IF_DIFFERENT)
