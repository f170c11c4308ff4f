// SPDX-License-Identifier: MIT
// What a place asks of the part in it, by the solved stress and the margins of the policy: volts of a film capacitor or
// an electrolytic, watts and volts of a resistor. The shopping list rates new parts by it; what the log says was fitted
// is held against it.
//
//     const WattsNeed need = watts_need(part, stress_row, policy);
//     need.watts;   // twice the watts in service, or what passes, whichever is more
//
// Test: tests/choice/actions_test.cpp (fitted), tests/choice/shopping_test.cpp (bought).
#pragma once

#include <string>

#include <tubewright/stress.hpp>

#include "choice/duty.hpp"

namespace tubewright::choice {

/// An electrolytic bears this, times its rating, for the moments of an unplugged speaker (common practice).
inline constexpr double surge_over_rating = 1.1;

struct VoltsNeed {
    double worst = 0, surge = 0;  ///< solved crests: steady, and of a speaker that is off
    std::string worst_scenario = "not solved", surge_scenario;
    bool driven = false;  ///< the swing of a driven output stage is among them
    double least = 0;     ///< whatever is solved: of a part that is made for pulses
    double solved = 0;    ///< rated volts that the solved ones ask for
    double volts = 0;     ///< these at least: `solved` and `least`
};
/// `s`: the part's row; null or without volts: its printed rating is taken as what it stands.
VoltsNeed film_need(const Part& part, Duty duty, const PartStress* s, const Policy& policy);
VoltsNeed electrolytic_need(const Part& part, const PartStress* s, const Policy& policy);

struct WattsNeed {
    double service = 0, passing = 0;  ///< solved: in service; where a tube is out or the set warms up
    std::string service_scenario = "normal", passing_scenario;
    double crest = 0, margin = 0;
    double watts = 0;  ///< rated watts, these at least
};
WattsNeed watts_need(const Part& part, const PartStress* s, const Policy& policy);
/// Volts that a resistor of its size bears (common practice).
double resistor_bears(double watts);

}  // namespace tubewright::choice
