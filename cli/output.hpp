// SPDX-License-Identifier: MIT
// Where answers go: standard output, or a file that is written whole or not at all (a neighbour is written first and
// renamed) and is never the input. Tests: tests/cli/program_test.cpp.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace tubewright::cli {

/// A file of that name is there, and an answer would go over it; devices and pipes do not count.
bool regular_file(const std::string& path);
/// True when both names lead to the same file; false when either is not there.
bool same_file(const std::string& a, const std::string& b);

/// Nothing on success; else the reason ("no space left on device").
std::optional<std::string> write_standard_output(std::string_view text);
std::optional<std::string> write_whole_file(const std::string& path, std::string_view text);

}  // namespace tubewright::cli
