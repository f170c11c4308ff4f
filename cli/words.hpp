// SPDX-License-Identifier: MIT
// The table of commands and options: parsing (command_line.cpp) and --help (words.cpp) are both made from it.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace tubewright::cli {

struct OptionWord {
    std::string_view name;      ///< "--line"
    std::string_view argument;  ///< "121V"; empty for a flag
    std::string_view meaning;
    bool many = false;  ///< may stand several times
};

struct CommandWord {
    std::string_view name;
    std::string_view operand;  ///< "FILE", "TYPE", "[chassis]"
    std::string_view answers;  ///< one line
    std::string_view about;    ///< a paragraph
    std::string_view example;  ///< a command that works
    std::string_view says;     ///< what comes of it
    std::vector<std::string_view> options;
};

std::span<const CommandWord> commands();
/// nullptr when there is none of that name.
const CommandWord* command(std::string_view name);
/// The name must be in the table.
const OptionWord& option(std::string_view name);

}  // namespace tubewright::cli
