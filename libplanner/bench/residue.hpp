// SPDX-License-Identifier: MIT
// A supply that nothing feeds: what the solution leaves there is the residue of the tubes' laws near 0 V, where
// electrons still arrive with the speed that they left with. No figure for a needle, and no polarity.
//
//     if (bench::residue_only(filter, service_volts, volts_across)) ...  // B-plus is absent, the part is not reversed
//
// Tests: tests/audit/planted_test.cpp.
#pragma once

#include <algorithm>
#include <cmath>

#include <tubewright/chassis.hpp>

namespace tubewright::bench {

constexpr double residue_volts = 5;   // more than any tube law leaves on an unfed net
constexpr double supply_rating = 60;  // an electrolytic of more stands on a supply

/// So few volts across an electrolytic of a supply to which normal service gives no more either way (`service_volts`,
/// the largest there) are no supply's.
inline bool residue_only(const Part& part, double service_volts, double volts_across) {
    return part.polarised && part.rated_volts.value_or(0) > supply_rating &&
           std::max(std::fabs(service_volts), std::fabs(volts_across)) < residue_volts;
}

}  // namespace tubewright::bench
