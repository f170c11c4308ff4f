// SPDX-License-Identifier: MIT
// See lamp_run.hpp.
#include "order/lamp_run.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "choice/figure.hpp"
#include "order/numbers.hpp"
#include "order/stage_readings.hpp"

namespace tubewright::power_up {
namespace {

using choice::figure;
using choice::listed;

constexpr double alone_lamp_watts = 40;  // small: a healthy transformer leaves it dark (common practice)
constexpr double most_lamp_times = 2.5;  // of what the set draws: a larger one than is stocked tells nothing (assumed)
constexpr double larger_lamp = 1.6;      // times the set's watts (common practice)
constexpr std::size_t table_faults = 3;
constexpr int table_tries = 24;

}  // namespace

const std::vector<double>& lamp_sizes() {
    static const std::vector<double> sizes{25, 40, 60, 75, 100, 150};
    return sizes;
}

Outcome<Lamps> choose_lamps(SetOnBench& set, Trials& trials, const LampChoice& own, double set_watts) {
    Lamps chosen;
    const std::vector<double>& sizes = lamp_sizes();
    std::map<double, bool> known;
    const auto serves = [&](double w) {
        const auto found = known.find(w);
        if (found != known.end()) return found->second;
        const auto a = trials.around(trials.condition(Scenario::lamp, w));
        return known[w] = a && trials.untold(*a).empty();
    };
    // The largest where none of these sizes serves; its stage then says what it leaves untold.
    const auto at_least = [&](double w) {
        for (double s : sizes)
            if (s >= w && serves(s)) return s;
        return sizes.back();
    };
    chosen.alone = own.watts > 0 ? own.watts : alone_lamp_watts;
    const bool too_large = own.watts > sizes.back() && own.watts > most_lamp_times * set_watts;
    // the lamp that is sold for this line serves at its upper end too
    const double sold = set.line_volts < 150 ? 120 : 230;
    const bool burns = own.volts < std::min(sold, (1 - line_wander) * set.line_volts);
    if (own.watts > 0 && (burns || too_large || !serves(own.watts))) {
        const double asked = set.lamp_volts;
        set.lamp_volts = sold;
        known.clear();
        std::vector<std::string> good;
        for (const double w : sizes)
            if (serves(w)) good.push_back(figure(w) + " W");
        return refusal(set.chassis, messages::lamp_cannot_serve,
                       "a lamp of " + figure(own.watts) + " W " + figure(asked) + " V cannot serve on this set: " +
                           (burns       ? "a short in the set puts the whole line on it"
                            : too_large ? "so large a lamp stays dark whatever the set draws"
                                        : "neither its glow nor B-plus behind it tells the likeliest shorts (" +
                                              listed(trials.supply()) + ") from health"),
                       good.empty() ? "no standard size serves: find the shorts by ohms"
                                    : "an incandescent lamp of " + figure(set.lamp_volts) + " V and " + listed(good));
    }
    chosen.first_wanted = set_watts;
    chosen.first = own.watts > 0 ? own.watts : at_least(chosen.first_wanted);
    chosen.larger_wanted = std::max(larger_lamp * set_watts, chosen.first + 1);
    chosen.larger = at_least(chosen.larger_wanted);
    return chosen;
}

std::vector<LampGlow> lamp_table(const SetOnBench& set, Trials& trials, const ThreatReport& threats,
                                 const LampChoice& own, double usual_watts) {
    std::vector<LampGlow> table;
    // The likeliest by criticality that the lamp can tell from health and from each other.
    std::vector<const Threat*> likely;
    std::vector<double> told;
    const std::vector<Threat> rows = likeliest(threats);
    const Condition usual = trials.condition(Scenario::lamp, usual_watts);
    // means are enough here: a stage has the figures with their ripple and bands
    if (const FaultSolution healthy = trials.bench().solve(usual, {}, false); healthy.solved)
        told.push_back(healthy.solution.lamp_volts);
    int tried = 0;
    for (const Threat& t : rows) {
        if (likely.size() == table_faults || told.empty() || tried == table_tries) break;
        if (!t.solved || t.ahead_of_primary || t.criticality <= 0) continue;
        ++tried;
        const FaultSolution f = trials.bench().solve(usual, std::span<const Fault>(&t.fault, 1), false);
        const bool apart = f.solved && std::all_of(told.begin(), told.end(), [&](double v) {
                               return std::fabs(f.solution.lamp_volts - v) > told_apart * set.lamp_volts;
                           });
        if (!apart) continue;
        told.push_back(f.solution.lamp_volts);
        likely.push_back(&t);
    }
    std::vector<double> sizes = lamp_sizes();
    if (own.watts > 0 && std::find(sizes.begin(), sizes.end(), own.watts) == sizes.end()) sizes.push_back(own.watts);
    std::sort(sizes.begin(), sizes.end());
    const auto row = [&](double lamp, const std::string& state, const Solution& in) {
        LampGlow g;
        g.lamp_watts = lamp;
        g.state = state;
        g.set_volts = in.set_volts;
        g.lamp_volts = in.lamp_volts;
        g.b_plus_volts = set.b_plus >= 0 ? in.nets[at(set.b_plus)].dc.value() : 0;
        g.glow = glow(in.lamp_volts / set.lamp_volts);
        g.meaningful = trials.warm_enough(in);
        table.push_back(std::move(g));
    };
    for (double lamp : sizes) {
        const Condition c = trials.condition(Scenario::lamp, lamp);
        if (const FaultSolution healthy = trials.bench().solve(c, {}, false); healthy.solved)
            row(lamp, "healthy", healthy.solution);
        for (const Threat* t : likely) {
            const FaultSolution f = trials.bench().solve(c, std::span<const Fault>(&t->fault, 1), false);
            if (f.solved) row(lamp, t->fault.id, f.solution);
        }
    }
    return table;
}

}  // namespace tubewright::power_up
