// SPDX-License-Identifier: MIT
#include "choice/need.hpp"

#include <algorithm>

#include "chassis/data.hpp"
#include "choice/safety.hpp"

namespace tubewright::choice {

namespace {

constexpr double plate_bypass_volts = 1000;  // pulse-rated at an output plate (common practice)
constexpr double flat_margin = 3;            // over the solved watts, where the heat sink is lost (common practice)

}  // namespace

VoltsNeed film_need(const Part& part, Duty duty, const PartStress* s, const Policy& policy) {
    // An amplifier that is driven without its speaker is a surge, which film bears up to its rating.
    VoltsNeed need;
    if (s)
        for (const StressAt& a : s->scenarios) {
            need.driven = need.driven || a.scenario == "signal-peak";
            const bool surge = a.scenario == without_speaker;
            double& most = surge ? need.surge : need.worst;
            if (a.crest_volts <= most) continue;
            most = a.crest_volts;
            (surge ? need.surge_scenario : need.worst_scenario) = a.scenario;
        }
    if (need.worst <= 0) need.worst = part.rated_volts.value_or(0) * policy.film_stress_limit;
    if (duty == Duty::output_plate_bypass) need.least = plate_bypass_volts;
    if (duty == Duty::plate_winding) need.least = buffer_volts;
    need.solved = std::max(need.worst / policy.film_stress_limit, need.surge);
    need.volts = std::max(need.solved, need.least);
    return need;
}

VoltsNeed electrolytic_need(const Part& part, const PartStress* s, const Policy& policy) {
    // Steady scenarios with the policy's margin; an unplugged speaker, or none on a driven set, is a surge.
    VoltsNeed need;
    if (s)
        for (const StressAt& a : s->scenarios) {
            const bool surge = a.scenario == "speaker-unplugged" || a.scenario == without_speaker;
            double& most = surge ? need.surge : need.worst;
            if (a.crest_volts <= most) continue;
            most = a.crest_volts;
            (surge ? need.surge_scenario : need.worst_scenario) = a.scenario;
        }
    if (need.worst <= 0) need.worst = part.rated_volts.value_or(0) / policy.electrolytic_margin;
    need.solved = need.volts = std::max(need.worst * policy.electrolytic_margin, need.surge / surge_over_rating);
    return need;
}

WattsNeed watts_need(const Part& part, const PartStress* s, const Policy& policy) {
    // The margin is for service; a tube pulled or a minute of warm-up must only stay within the rating.
    WattsNeed need;
    if (s)
        for (const StressAt& a : s->scenarios) {
            const bool serves = a.scenario == "normal" || a.scenario == "high-line";
            double& most = serves ? need.service : need.passing;
            if (a.watts <= most) continue;
            most = a.watts;
            (serves ? need.service_scenario : need.passing_scenario) = a.scenario;
        }
    if (s) need.crest = s->worst.crest_volts;
    // A metal-clad flat was cooled by the chassis under it; what takes its place in free air is not.
    need.margin = part.construction == "metal-clad" ? std::max(flat_margin, policy.resistor_watts_margin)
                                                    : policy.resistor_watts_margin;
    need.watts = std::max(need.service * need.margin, need.passing);
    return need;
}

double resistor_bears(double watts) {
    return watts < 0.5 ? 250.0 : watts < 1 ? 350.0 : 500.0;
}

}  // namespace tubewright::choice
