// SPDX-License-Identifier: MIT
// The two demo sets, and stress made by hand where a test wants a volt figure of its own.
#pragma once

#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include <tubewright/netlist.hpp>
#include <tubewright/stress.hpp>

namespace demo {

using namespace tubewright;

inline const Catalogue& catalogue() {
    static const Catalogue shipped = Catalogue::shipped();
    return shipped;
}

inline Chassis read(const std::string& file) {
    const Outcome<Chassis> set = read_chassis(std::string(TUBEWRIGHT_ROOT) + "/netlists/" + file, catalogue());
    if (!set) throw Error(set.notices().front().text());
    return *set;
}
inline std::string text(const std::string& file) {
    std::ifstream in(std::string(TUBEWRIGHT_ROOT) + "/netlists/" + file);
    return {std::istreambuf_iterator<char>(in), {}};
}
inline Chassis quarry_hill() {
    return read("s1-quarry-hill.xml");
}
inline Chassis bellows_court() {
    return read("s9-bellows-court.xml");
}

/// A capacitor or resistor that sees these figures: scenario and volts, and watts in the first.
inline PartStress stress(const Chassis& set, const std::string& id, std::vector<std::pair<std::string, double>> crest,
                         double watts = 0) {
    PartStress s;
    s.part = set.part(id);
    for (const auto& [scenario, volts] : crest) {
        StressAt a;
        a.scenario = scenario;
        a.crest_volts = volts;
        a.dc_volts = volts;
        a.watts = s.scenarios.empty() ? watts : 0;
        if (volts > s.worst.crest_volts) {
            s.worst.crest_volts = volts;
            s.worst.dc_volts = volts;
            s.volts_scenario = scenario;
        }
        s.scenarios.push_back(a);
    }
    s.worst.watts = watts;
    s.watts_scenario = s.scenarios.empty() ? "" : s.scenarios.front().scenario;
    return s;
}

}  // namespace demo
