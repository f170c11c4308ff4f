// SPDX-License-Identifier: MIT
// The power-up sheet: which stages a set needs and in what order, by its family. What each holds is in stages.hpp.
//
//   transformer      label, eyes, cold ohms, transformer alone, heaters, rectifier behind the lamps, full line
//   series string    label, eyes, cold ohms with the string whole, all tubes behind the lamps, full line; there is no
//                    stage without the rectifier. So too a floating B-minus, a doubler, a direct-current line
//   portable         the same with tubes out for the ohms, then on its batteries: A, then B
//   vehicle          vibrator out, vibrator in on a limited supply, full battery
//   battery          A alone, then C and B
//
// then soak, touch current where there is a line, hand-back; lamps and discharge beside them. A line that the set is
// not made for, a metal on the line behind a power transformer, a lamp that tells nothing and a set that is to be kept
// as it is are refused. Tests: tests/order/power_up_test.cpp, tests/whole/power_up_test.cpp.
#include <algorithm>

#include "choice/figure.hpp"
#include "order/discharge.hpp"
#include "order/numbers.hpp"
#include "order/order.hpp"
#include "order/stages.hpp"
#include "policy/policy.hpp"

namespace tubewright {
namespace power_up {
namespace {

using choice::figure;

// H0: a line that the set is not made for is never put on it, behind whatever lamp.
std::optional<Notice> wrong_line(const Chassis& chassis, const Policy& policy) {
    if (chassis.nodes().line_hot < 0) return std::nullopt;  // a battery's volts are the bench's to judge
    const double own = chassis.line().volts, own_hertz = chassis.line().hertz;
    const double now = policy.line.volts.value() > 0 ? policy.line.volts.value() : own;
    const double hertz_now = policy.line.hertz.value() > 0 ? policy.line.hertz.value() : own_hertz;
    const OffLine off = off_line(policy, own, own_hertz);
    if (!off.volts && !off.cycles) return std::nullopt;
    return refusal(chassis, messages::line_not_the_sets,
                   "H0: the set is made for " + figure(own) + " V " + figure(own_hertz) + " cycles, the line here is " +
                       figure(now) + " V " + figure(hertz_now) + " cycles: it is not powered from it",
                   off.cycles ? "no transformer changes cycles: opens with a source of " + figure(own_hertz) +
                                    " cycles, or when the label says that the set bears these and the file says so"
                              : "opens when a transformer brings the line to between " + figure(line_least * own) +
                                    " and " + figure(line_most * own) + " V at " + figure(own_hertz) +
                                    " cycles, or when selector or taps are set for this line and the file says so");
}

std::optional<Notice> refused(const Chassis& chassis, const Policy& policy) {
    if (policy.purpose == PurposePolicy::preserve)
        return refusal(chassis, messages::kept_as_it_is,
                       "the policy is to keep this set as it is and never to power it: there are no stages",
                       "opens with another policy (--policy play)");
    if (chassis.family() == Family::unknown)
        return refusal(chassis, messages::stages_need_supply,
                       "the stages of a set of this family (unknown) are not planned: no power transformer, rectifier, "
                       "vibrator or battery says how it is fed",
                       "trace the supply; tubewright audit says what is missing");
    if (std::optional<Notice> wrong = wrong_line(chassis, policy)) return wrong;
    if (chassis.family() == Family::ac_transformer && chassis.hot())
        return refusal(chassis, messages::metal_on_the_line,
                       "a line blade reaches the chassis metal, which a power transformer keeps apart from it: one "
                       "way round of the plug the whole set stands at the line's volts",
                       "opens when the joint is found by ohms with the plug out (tubewright audit names it) and the "
                       "file no longer has it");
    return std::nullopt;
}

void assume(PowerUp& sheet, const Bench& bench, bool lamps) {
    sheet.assumptions = bench.assumptions();
    std::vector<Assumption> own = {
        {"bands of lamp, line and B-plus readings",
         "line and meter 3 % either way, lamp 5 % of its watts, the output tube's draw by its spread",
         "solved at those ends", "read the line at the same moment", "where a stop stands", "assumed"},
        {"most that the output grid may show", figure(0.5, 1) + " V", "what a coupler fit for service leaves there",
         "the coupler's leak with one end free", "the stop of the output grid", "common practice, no source"},
        {"high stop of a winding's volts", "its solved volts at the upper line and 5 %",
         "no healthy winding reads more", "read the line at the same moment", "where a stop stands", "assumed"},
        {"band of a winding's or heater's volts", "5 % each way", "turns and meter", "read the line at the same moment",
         "5 %", "assumed"}};
    if (lamps)
        own.insert(own.begin(),
                   {"rectifier behind a lamp", "60 % of its heater's volts",
                    "no law of emission by filament volts is published here", "read the heater's volts beside B-plus",
                    "below it a B-plus reading says nothing", "assumed"});
    sheet.assumptions.insert(sheet.assumptions.end(), own.begin(), own.end());
}

/// For the log's gates: no fault is tried where none of them has volts to ask for, or to judge.
bool asks_for_volts(const Progress& progress) {
    return !progress.readings.empty() || in(progress.steps_done, "power-up") ||
           in(progress.steps_done, "battery-power") || in(progress.stages_passed, "full line");
}

/// The stages of the family in their order; false: one has no solution.
bool family_stages(Stages& stages, Family family) {
    const bool dry_filaments = family == Family::portable || family == Family::battery;
    stages.label();
    stages.eyes();
    stages.cold_ohms(!dry_filaments && family != Family::vehicle && family != Family::ac_transformer);
    stages.reform();
    switch (family) {
        case Family::vehicle:
            return stages.vehicle_heaters() && stages.vehicle_supply();
        case Family::battery:
            return stages.a_battery() && stages.b_battery();
        case Family::portable:
            return stages.behind_lamp() && stages.full_line() && stages.a_battery() && stages.b_battery();
        case Family::ac_transformer:
            return stages.transformer_alone() && stages.heaters() && stages.behind_lamp() && stages.full_line();
        default:
            return stages.behind_lamp() && stages.full_line();
    }
}

Outcome<PowerUp> sheet_of(SetOnBench& set, Bench& bench, const ThreatReport& threats, const LampChoice& lamp,
                          const std::string& fuse) {
    const Family family = set.chassis.family();
    const Outcome<Solution> normal = bench.solve(Condition{});
    if (!normal) return normal.notices();
    const bool of_line = set.chassis.nodes().line_hot >= 0;
    set.line_volts = normal->line_volts;
    set.line_hertz = normal->line_hertz;
    set.lamp_volts = lamp.watts > 0 ? lamp.volts : set.line_volts < 150 ? 120 : 230;
    const ThreatReport none;
    const bool gates_alone = lamp.gates_alone;
    Trials trials(set, bench, gates_alone && !asks_for_volts(set.progress) ? none : threats, family == Family::vehicle);
    Lamps lamps;
    if (of_line) {
        Outcome<Lamps> chosen = choose_lamps(set, trials, lamp, normal->line_watts.value());
        if (!chosen) return chosen.notices();
        lamps = *chosen;
    }
    PowerUp sheet;
    sheet.reference = set.name(set.chassis.reference());
    Stages stages(set, trials, lamps, fuse, sheet);
    if (!family_stages(stages, family)) return stages.failure();
    stages.soak();
    if (of_line) stages.touch_current();
    stages.hand_back();
    stages.in_their_order();
    if (gates_alone) return sheet;
    if (of_line) sheet.lamp_table = lamp_table(set, trials, threats, lamp, lamps.first);
    discharges(set, bench, sheet);
    sheet.cautions = cautions_for(set.chassis, set.catalogue);
    assume(sheet, bench, of_line);
    return sheet;
}

}  // namespace
}  // namespace power_up

Outcome<PowerUp> power_up_of(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy, Bench& bench,
                             const ThreatReport& threats, const Progress& progress, const LampChoice& lamp,
                             const std::string& fuse) {
    if (const std::optional<Notice> why = power_up::refused(chassis, policy)) return *why;
    power_up::SetOnBench set(chassis, catalogue, policy, progress);
    return power_up::sheet_of(set, bench, threats, lamp, fuse);
}

}  // namespace tubewright
