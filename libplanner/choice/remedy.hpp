// SPDX-License-Identifier: MIT
// What stands in for parts that nobody makes any more, and what brings a set to today's line, each with its figures:
// the resistance cord or ballast of a string by resistor, by capacitor, and last by a diode; a selenium rectifier by
// silicon with the resistor that leaves B-plus where it was; a field coil by a choke and a resistor; what a first
// filter of another value does; heaters at the line by a resistor or a bucking winding.
//
//     const StringDroppers d = string_droppers(117, 60, 62.6, 0.3);
//     d.ohms == 181;  d.watts == 16.3;  d.farads;  d.diode_ohms
//
// Example: 62.6 V of heaters at .3 A on 117 V: 181 ohm, 16.3 W (a figure of the trade). Tests:
// tests/choice/remedy_test.cpp.
#pragma once

#include <vector>

#include <tubewright/choice.hpp>

#include "bench/bench.hpp"

namespace tubewright::choice {

/// Ways to take from the line what heaters in a string do not want; ohms of the heaters hot.
struct StringDroppers {
    double ohms = 0, watts = 0;              ///< a resistor alone
    double farads = 0;                       ///< with the surge resistor in line
    double surge_watts = 0;                  ///< burnt in that resistor
    double diode_ohms = 0, diode_watts = 0;  ///< beside a diode; 0: a half wave is not enough for the string
    double amps_diode_shorted = 0;
};
StringDroppers string_droppers(double line_volts, double hertz, double string_volts, double string_amps,
                               double surge_ohms = 0);

/// Line in series with a winding against it, or a resistor, so that heaters stand at their volts.
struct LineRemedy {
    double wanted_volts = 0;  ///< at the set
    double amps = 0;          ///< that it then draws
    double ohms = 0, watts = 0;
    double bucking_volts = 0, bucking_va = 0, volts_with_bucking = 0;
};

/// All that apply to the set; `bench` is of the set as it will be, `solutions` of it in service.
std::vector<Remedy> remedies_of(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy,
                                const ShoppingList& list, std::span<const PartAction> actions, const Bench& bench);

/// What the first way of a wanted remedy takes beside what is listed: the resistor of a silicon diode, choke and
/// resistor for a field coil.
void buy_remedies(ShoppingList& list, const Catalogue& catalogue);

/// The set with the capacitors and resistors of the list in their places.
Chassis with_new_parts(const Chassis& chassis, const ShoppingList& list);

}  // namespace tubewright::choice
