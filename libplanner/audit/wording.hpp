// SPDX-License-Identifier: MIT
// Sentences with gaps: fill("{} is alone on its net", {"R7.a"}). Numbers are said first (say(), std::to_string), so
// that no locale has a word in it. Tests: tests/audit/graph_test.cpp.
#pragma once

#include <initializer_list>
#include <string>
#include <string_view>

namespace tubewright::audit {

/// Each "{}" replaced by the next of `with`, in order; a gap too many stays empty.
inline std::string fill(std::string_view pattern, std::initializer_list<std::string_view> with) {
    std::string out;
    auto next = with.begin();
    while (!pattern.empty()) {
        const std::size_t gap = pattern.find("{}");
        out += pattern.substr(0, gap);
        if (gap == std::string_view::npos) break;
        if (next != with.end()) out += *next++;
        pattern.remove_prefix(gap + 2);
    }
    return out;
}

}  // namespace tubewright::audit
