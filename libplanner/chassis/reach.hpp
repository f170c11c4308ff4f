// SPDX-License-Identifier: MIT
// What alone keeps the line from a hand. Line hot, line neutral, B-minus, chassis metal and earth are five nets: live
// is whatever a blade reaches by conduction, the plug either way and every switch closed; touched is the metal, the
// earth, what the file says a hand reaches, and all that hangs on them. A part with one end on either side is all that
// stands between: its short puts the line on what is touched, so it must be class Y (a capacitor) or bear it for good
// (a resistor). Two in a row guard each other and are none: no single failed part joins them.
//
//     const LineReach r = line_reach(chassis);
//     r.guards[part];  r.live[net];  r.touched[net];  r.hand[part]
//
// Example: the .002 uF of a hot set from its antenna coil, whose other end is B-minus, to the antenna clip. Tests:
// tests/choice/reach_test.cpp.
#pragma once

#include <vector>

#include <tubewright/chassis.hpp>

namespace tubewright {

/// From here up a resistor is a bleeder that guards; below it conducts what hurts, and its far end is live (declared).
inline constexpr double guarding_ohms = 100e3;

struct LineReach {
    std::vector<bool> live, touched;  ///< by net; what is both is live metal, which no part mends
    std::vector<bool> guards;         ///< by part
    std::vector<int> hand;            ///< by guard: which of the things a hand can hold it leads to, else -1
};
/// All false in a set without a line, be it a vehicle's.
LineReach line_reach(const Chassis& chassis);

}  // namespace tubewright
