// SPDX-License-Identifier: MIT
// How a string of heaters shares its volts while it warms. Each heater is a mass that its own watts heat and its glow
// cools; its ohms are its heat. No table gives masses: all are alike for their watts, and each heater in turn is taken
// for a quarter lighter than the others, so that it is hot first and has more than its share for some seconds. What is
// fed by a winding of its own shares nothing. Example: a heater of 12.6 V in a string of 123 V on 117 V comes to 1.36
// times its volts. Source of the effect, and of half as much again as its accepted ceiling: a maker's note of 1963, as
// quoted in the collection of bench practice; the law is ours. Test: tests/bench/supply_shapes_test.cpp.
#pragma once

#include <vector>

#include "bench/solving.hpp"

namespace tubewright::bench {

constexpr double light_heater = 0.75;  ///< of the mass of its fellows, assumed

/// By thermal: its highest volts over its rated ones from cold to hot, itself the light one (a lamp: the others alike);
/// 0 for what copper does not join to the source, and for filaments, which are hot at once.
std::vector<double> warming_shares(const Translation& in, const Solved& solved);

}  // namespace tubewright::bench
