// SPDX-License-Identifier: MIT
// The series lamps of a bring-up: which sizes tell the likeliest shorts of this set from health, by their glow or by
// B-plus behind them, and what each size shows, healthy and under the three likeliest faults.
// Tests: tests/order/power_up_test.cpp.
#pragma once

#include <string>
#include <vector>

#include <tubewright/order.hpp>

#include "order/order.hpp"
#include "order/trials.hpp"

namespace tubewright::power_up {

struct Lamps {
    double alone = 40;  ///< for the transformer alone
    double first = 60, larger = 100;
    double first_wanted = 0, larger_wanted = 0;  ///< watts asked of the two
};
const std::vector<double>& lamp_sizes();
/// Fails for a lamp of the person's that cannot serve. May set the volts of the lamps in `set`.
Outcome<Lamps> choose_lamps(SetOnBench& set, Trials& trials, const LampChoice& own, double set_watts);
std::vector<LampGlow> lamp_table(const SetOnBench& set, Trials& trials, const ThreatReport& threats,
                                 const LampChoice& own, double usual_watts);

}  // namespace tubewright::power_up
