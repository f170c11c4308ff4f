// SPDX-License-Identifier: MIT
// The study of single faults for the planner: every fault of faults_of() solved in the normal condition and judged for
// the power transformer first, then for each part that is hard to replace. A declared rule makes beta of the solved
// consequence; rates come from ageing.
//
// Example: with the first filter shorted the plate halves of a 60 VA set carry six times their current, pass 180 C
// within the hour at the hot end of the assumptions: beta 1. Tests: tests/threat/.
#pragma once

#include <span>

#include <tubewright/stress.hpp>
#include <tubewright/threat.hpp>

#include "bench/bench.hpp"

namespace tubewright {

/// `bench` must have been made with faults_of() of the same chassis. `stress` gives the stress ratios of the rates.
/// Fails when the healthy set has no solution; a fault without one is a row that says so.
Outcome<ThreatReport> threats_of(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy, Bench& bench,
                                 std::span<const PartStress> stress);

/// For every fixed capacitor the largest leak that harms nothing: no plate, screen or cathode over its maximum, no
/// control grid moved by a tenth of its bias, no more than a tenth of the current that flows at its net in health, no
/// more than an electrolytic may leak as a part (K C + .3 mA) nor a quarter of a watt inside another. By re-solving, to
/// half a percent of the ohms. `bench` as above. Example: 250 V across a coupler into 470 k and 12.5 V of bias: 93.5
/// megohm, limited by the grid.
Outcome<std::vector<LeakageLimit>> leakage_limits_of(const Chassis& chassis, const Catalogue& catalogue, Bench& bench);

/// For every fixed resistor and control how far it may rise and fall: see DriftLimit. The first guess is the adjoint's,
/// the limit is found by solving again on both sides of it, to half a percent. `bench` as for threats_of().
Outcome<std::vector<DriftLimit>> drift_limits_of(const Chassis& chassis, const Catalogue& catalogue, Bench& bench);

/// All pairs of the faults that threats_of() solved, but those of one part. `bench` and `report` as there.
Outcome<PairReport> pairs_of(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy, Bench& bench,
                             const ThreatReport& report);

}  // namespace tubewright
