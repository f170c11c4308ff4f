// SPDX-License-Identifier: MIT
// Repair steps in the best lawful order, and the power-up stages with solved readings. The phases of a plan are told in
// steps.cpp, its order by sequence.cpp; the stages in power_up.cpp. Neither asks violations() for leave: the checker
// judges them in the tests.
//
//     Outcome<RepairOrder> order = steps_of(chassis, catalogue, policy, actions, shopping, threats, stress, progress,
//     {.hours = 3}); Outcome<PowerUp> sheet = power_up_of(chassis, catalogue, policy, bench, threats, progress, {60,
//     120});
//
// Tests: tests/order/.
#pragma once

#include <span>

#include <tubewright/order.hpp>

#include "bench/bench.hpp"

namespace tubewright {

/// A rule that the readings in the log do not bear out, though its step may be entered as done: past a STOP, out of
/// their band, or not there.
struct Doubted {
    std::string rule, words;  ///< "H19", "bplus to gnd reads 40 ohm, past its STOP of 16.5 k"
    std::string at;           ///< net or pin where it was read
    bool missing = false;     ///< what it wants was not read
};
/// What the gates of a sheet have of them; of what several stages tell, the fullest.
std::vector<Doubted> doubted_by(const PowerUp& sheet);

/// Fails when steps wait for each other in a ring (named). `leaks`: what each capacitor that is to be proved may leak
/// in its place; without them only what any sound one stays above is asked for. `doubted` opens the step of its rule
/// again, behind one that finds out why.
Outcome<RepairOrder> steps_of(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy,
                              std::span<const PartAction> actions, const ShoppingList& shopping,
                              const ThreatReport& threats, std::span<const PartStress> stress, const Progress& progress,
                              const StepOptions& options, std::span<const LeakageLimit> leaks = {},
                              std::span<const Doubted> doubted = {});

/// The incandescent lamp that the person has; 0 W: the planner takes the size next above the set's watts.
struct LampChoice {
    double watts = 0;
    double volts = 120;
    bool gates_alone = false;  ///< stages and gates, for the log: what no gate asks for is not solved
};
/// `bench` knows the faults of `threats`; `fuse` is the one of the shopping list, in words. Fails when the set does not
/// solve, for a set that is to be kept as it is or is fed by nothing known, when the metal is joined to the line, on a
/// line that the set is not made for, and behind a lamp that tells nothing.
Outcome<PowerUp> power_up_of(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy, Bench& bench,
                             const ThreatReport& threats, const Progress& progress, const LampChoice& lamp,
                             const std::string& fuse = {});

/// The verdict on the power transformer. `bench` solves what each heater loses between the test and service and what
/// iron and tubes draw; nullptr, or a set that does not solve: usual shares are taken, and said. Fails for a set
/// without a power transformer on an alternating line, and where a reading names no winding.
Outcome<WindingsVerdict> windings_of(const Chassis& chassis, const Policy& policy, Bench* bench,
                                     const WindingTest& test);

}  // namespace tubewright
