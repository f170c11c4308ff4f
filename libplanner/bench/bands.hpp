// SPDX-License-Identifier: MIT
// What is made from a solution: bands, source resistances and meter readings by the adjoint of the direct-current net;
// cold resistance; discharge; sensitivities; the sheet of equations. Tests: tests/bench/.
#pragma once

#include <array>
#include <string>
#include <vector>

#include <tubewright/bench.hpp>

#include "bench/bench.hpp"
#include "bench/solving.hpp"

namespace tubewright::bench {

/// Mean amperes that the rectifying sections of the (simple) port deliver.
double rectified_amps(const Translation& in, const Solution& solution);
double rectified_amps(const Rig& rig, const Solved& solved);

/// Parameters of the regulation line through points of volts (rising) and amperes.
std::vector<double> regulation_line(std::span<const double> volts, std::span<const double> amps);

/// Overrides of the twin for changes and a regulation line; an empty line leaves the port dead.
std::vector<circuit::Override> twin_overrides(const Translation& in, const std::vector<Change>& changes,
                                              const std::vector<double>& line);

/// How the block's volts at the port move with its own tolerances, as a share of the port's volts, and how stiff it is;
/// found by periodic solutions in the normal condition, used in all.
struct BlockShifts {
    double ohms = 0;                                ///< of the port, - d V / d I
    std::vector<std::pair<double, double>> shares;  ///< low, high of each independent cause
};
BlockShifts block_shifts(Rig& rig, const Chassis& set, const Policy& policy, const Setting& setting,
                         const Values& values);

/// Beyond so many nodes the slopes of the period are not worked out: assumed (condition_assumptions says so).
constexpr std::size_t most_nodes_of_the_period = 300;

/// Fills low, high, source, meter and start_points_agree.
void bands_and_meters(Rig& rig, const Policy& policy, const Solved& solved, const BlockShifts& shifts,
                      Solution& solution);

/// Whether the set stays in this state with its supply held where it is: false between two states of stages that cut
/// one another off (Engine::lasts).
bool lasts(Rig& rig, const Solved& solved);

/// Tubes, by their place in the translation, that drive one another through capacitors so that the set leaves this
/// state (a multivibrator, an amplifier that motor-boats); none where it rests. Oscillators with coils are not found by
/// it. Without `turning` only what grows without turning to and fro is looked for (five factorisations, not some
/// hundreds).
std::vector<int> restless(Rig& rig, const Solved& solved, bool turning);

/// Ohms between two nets, everything cold and off; negative when there is no path.
double cold_resistance(Rig& rig, const Values& values, int from_net, int to_net);

std::vector<Discharge> discharge_times(const Translation& in, const Chassis& set, const Values& values,
                                       const Solution& from);

std::vector<std::pair<std::string, double>> sensitivities_of(Rig& rig, const Chassis& set, const Solved& solved,
                                                             const std::vector<double>& line, int net);

ModelSheet model_sheet(const Translation& in);
/// What the sheet of the driven set has beyond the other one, or otherwise.
void model_signal(const ModelSheet& driven, ModelSheet& sheet);
void model_changes(const Translation& in, const Solved& solved, const std::string& scenario, ModelSheet& sheet);

/// Assumptions that hold for every set, and those of one condition.
void standing_assumptions(const Translation& in, std::vector<Assumption>& out);
void condition_assumptions(const Translation& in, const Chassis& set, const Solved& solved, const Condition& condition,
                           std::vector<Assumption>& out);

}  // namespace tubewright::bench
