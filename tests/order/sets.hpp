// SPDX-License-Identifier: MIT
// The demo sets: two that are read again and again, and all ten.
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
inline const std::vector<std::string>& all_files() {
    static const std::vector<std::string> ten{"s1-quarry-hill.xml",     "s2-heron-weir.xml", "s3-tanner-row.xml",
                                              "s4-ferry-green.xml",     "s5-mill-lane.xml",  "s6-osier-holt.xml",
                                              "s7-plover-heath.xml",    "s8-drover-gap.xml", "s9-bellows-court.xml",
                                              "s10-generated-sixty.xml"};
    return ten;
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

/// Every part shorts as often as its age says, and harms the set when it does: nothing is solved.
inline ThreatReport threats_of_age(const Chassis& set, const std::vector<PartAction>& actions) {
    ThreatReport threats;
    for (const PartAction& a : actions) {
        Threat t;
        t.part = set.parts()[static_cast<std::size_t>(a.part)].id;
        t.fault.id = t.part + " short";
        t.fault.part = a.part;
        t.criticality = a.risk.failures_per_million_hours / 1e6;
        t.severity = "II";
        t.likelihood = a.risk.likelihood;
        threats.rows.push_back(t);
    }
    return threats;
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
