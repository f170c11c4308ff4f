// SPDX-License-Identifier: MIT
// The tables as compiled in: a name and the pieces of its text, ended by an entry without pieces. The definition is
// made at build time by embed.cmake.
#pragma once

#include <string_view>

namespace tubewright::tables {

struct EmbeddedTable {
    std::string_view name;
    const std::string_view* pieces;
    int count;
};
extern const EmbeddedTable embedded[];

}  // namespace tubewright::tables
