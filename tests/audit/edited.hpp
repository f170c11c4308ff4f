// SPDX-License-Identifier: MIT
// Demo sets as text with pieces of it replaced: how mistakes are planted.
#pragma once

#include <fstream>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

#include <tubewright/catalogue.hpp>

#include <catch2/catch.hpp>

using Edits = std::vector<std::pair<std::string, std::string>>;

inline const tubewright::Catalogue& shipped() {
    static const tubewright::Catalogue c = tubewright::Catalogue::shipped();
    return c;
}

inline std::string file(const std::string& name) {
    std::ifstream in(std::string(TUBEWRIGHT_ROOT) + "/netlists/" + name);
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

/// Each first text once replaced by the second, which must be there.
inline std::string edited(std::string text, const Edits& edits) {
    for (const auto& [from, to] : edits) {
        const std::size_t at = text.find(from);
        INFO(from);
        REQUIRE(at != std::string::npos);
        text.replace(at, from.size(), to);
    }
    return text;
}
