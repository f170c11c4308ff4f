// SPDX-License-Identifier: MIT
// The hard rules of the bench as data, each with its reason, and a checker that judges any sequence of acts by them. The checker works the rules out
// from the chassis by itself; it shares nothing with the code that orders the steps.
#pragma once

#include <span>
#include <string>
#include <vector>

#include <tubewright/chassis.hpp>
#include <tubewright/export.hpp>

namespace tubewright {

struct BenchRule {
    std::string id;        ///< "H6", "s10"
    bool hard = true;      ///< never broken; soft rules cost
    std::string before, after, reason;
    Source source;
};
TUBEWRIGHT_API const std::vector<BenchRule>& bench_rules();

/// What is done at the bench, in the coarsest words that the rules need.
enum class ActKind {
    check_supply, make_cord_safe, photograph, settle_reference, clip_instrument, cold_ohms, inspect, measure, lift, remove, fit, refit_tube, plug_speaker, power_transformer_alone,
    power_heaters, power_b_plus, power_full_line, soak, check_touch_current, discharge, align, reassemble, hand_back, buy, earth_instrument, power_supply_alone
};
TUBEWRIGHT_API const char* word(ActKind kind);

struct Act {
    ActKind kind = ActKind::inspect;
    std::vector<std::string> parts;   ///< ids, as far as it concerns parts
    std::string what;                 ///< for people
};

struct Violation {
    std::string rule;
    int act = -1;                     ///< index in the sequence
    std::string why;
};

/// Every hard rule that the sequence breaks for this chassis; empty when none. `progress`: what was done before the first act.
TUBEWRIGHT_API std::vector<Violation> violations(const Chassis& chassis, const Catalogue& catalogue, std::span<const Act> acts, const Progress& progress);

}  // namespace tubewright
