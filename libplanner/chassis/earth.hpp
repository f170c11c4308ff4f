// SPDX-License-Identifier: MIT
// The earth as traced: whether the metal is joined to it by wires alone, over which parts, and what old capacitor
// stands between the line and that metal (H22). The checker of the rules works this out by itself.
//
//     const Earth e = earth_of(set);
//     if (e.forbidden()) ...  // e.name comes off before the set is powered
//
// Tests: tests/chassis/earth_test.cpp.
#pragma once

#include <string>
#include <vector>

#include <tubewright/chassis.hpp>

namespace tubewright {

struct Earth {
    bool on = false;                ///< the metal is earthed
    bool hot = false;               ///< and a blade reaches metal or B-minus; never in a vehicle
    bool direct = false;            ///< a blade reaches the metal itself, by wires alone
    int metal = -1;                 ///< chassis metal, else B-minus, else the reference
    std::vector<std::string> over;  ///< the parts that join the earth's net to it; none where they are one net
    std::vector<std::string> old_capacitors;  ///< from the line to the metal, of other construction than class Y
    std::string name;                         ///< "the earth over W20", "the earth on gnd"; empty: none as traced
    bool forbidden() const { return on && (hot || !old_capacitors.empty()); }
};
/// A set without an earth, or whose earth does not reach the metal, gives `on` false. progress: an earth whose wires
/// are lifted or out, or whose step earth-off is done, is off.
Earth earth_of(const Chassis& chassis, const Progress& progress = {});

/// Ids of what was seen shorted between the line and the rest of a set that is isolated else: as found its metal is the
/// line.
std::vector<std::string> line_shorts(const Chassis& chassis);

}  // namespace tubewright
