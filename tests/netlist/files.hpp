// SPDX-License-Identifier: MIT
// Files of the tree as bytes, for the tests of the reader.
#pragma once

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include <tubewright/netlist.hpp>

namespace files {

inline const std::filesystem::path root = TUBEWRIGHT_ROOT;

inline std::string bytes(const std::filesystem::path& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

inline std::vector<std::filesystem::path> in_folder(const char* folder, const char* ending) {
    std::vector<std::filesystem::path> found;
    for (const auto& entry : std::filesystem::directory_iterator(root / folder))
        if (entry.path().extension() == ending) found.push_back(entry.path());
    std::sort(found.begin(), found.end());
    return found;
}

inline const tubewright::Catalogue& catalogue() {
    static const tubewright::Catalogue shipped = tubewright::Catalogue::shipped();
    return shipped;
}

inline tubewright::Outcome<tubewright::Chassis> read(std::string_view text, const std::string& name = "set.xml") {
    return tubewright::read_chassis_text(text, name, catalogue());
}

/// The notices as they are printed, a line each.
inline std::string lines(const std::vector<tubewright::Notice>& notices) {
    std::string text;
    for (const tubewright::Notice& notice : notices) text += notice.text() + "\n";
    return text;
}

}  // namespace files
