// SPDX-License-Identifier: MIT
// The two demo sets, read once.
#pragma once

#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include <tubewright/netlist.hpp>
#include <tubewright/order.hpp>

namespace demo {

using namespace tubewright;

inline const Catalogue& catalogue() {
    static const Catalogue shipped = Catalogue::shipped();
    return shipped;
}
inline const std::vector<std::string>& files() {
    static const std::vector<std::string> both{"s1-quarry-hill.xml", "s9-bellows-court.xml"};
    return both;
}
inline std::string text(const std::string& file) {
    std::ifstream in(std::string(TUBEWRIGHT_ROOT) + "/netlists/" + file);
    return {std::istreambuf_iterator<char>(in), {}};
}
inline Chassis read(const std::string& file) {
    const Outcome<Chassis> set = read_chassis(std::string(TUBEWRIGHT_ROOT) + "/netlists/" + file, catalogue());
    if (!set) throw Error(set.notices().front().text());
    return *set;
}

inline std::vector<Act> acts_of(const std::vector<RepairStep>& steps) {
    std::vector<Act> acts;
    for (const RepairStep& s : steps) acts.insert(acts.end(), s.acts.begin(), s.acts.end());
    return acts;
}
inline std::string said(const std::vector<Violation>& found) {
    std::string text;
    for (const Violation& v : found)
        text.append(v.rule).append(" at act ").append(std::to_string(v.act)).append(": ").append(v.why).append("\n");
    return text;
}

}  // namespace demo
