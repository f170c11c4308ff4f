// SPDX-License-Identifier: MIT
// The copper of a lead, for the list that buys it and for the check of the step that fits it: what flows in it in
// service, and whatever flows, 18 AWG at line volts and what carries its fuse in the lead of a battery.
//
//     copper_of(set, duties, lead, 0.5).words      // "18 AWG (0.8 mm2)" from the line's plug to its switch
//     guarded_copper(set, duties, lead)            // nullptr: what flows decides
//
// Test: tests/choice/shopping_test.cpp.
#pragma once

#include <tubewright/chassis.hpp>

#include "choice/duty.hpp"

namespace tubewright::choice {

struct Copper {
    double amps;       ///< in service
    double fuse_amps;  ///< the largest fuse that guards it; 0: none does
    const char* words;
};

/// The thinnest that a lead at line volts or behind a battery's fuse may be; nullptr for any other lead.
const Copper* guarded_copper(const Chassis& chassis, const Duties& duties, const Part& lead);
/// What carries `amps` in service and is not thinner than that.
const Copper& copper_of(const Chassis& chassis, const Duties& duties, const Part& lead, double amps);
/// A length of its own, from a pole of a battery or its fuse; a lead at line volts is none, whatever plug it ends at.
bool battery_lead(const Chassis& chassis, const Duties& duties, const Part& lead);
/// The amperes that open the fuse of what a battery feeds: those of the file, else an assumed 10.
double battery_fuse_amps(const Chassis& chassis);

}  // namespace tubewright::choice
