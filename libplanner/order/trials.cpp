// SPDX-License-Identifier: MIT
// See trials.hpp.
#include "order/trials.hpp"

#include <algorithm>
#include <set>

#include "choice/safety.hpp"

namespace tubewright::power_up {
namespace {

constexpr std::size_t table_faults = 3;
constexpr std::size_t trial_faults = 10;  // the likeliest, beside every short that loads B-plus
constexpr std::size_t few_faults = 6;     // where each costs a second
constexpr double rating_near = 3;         // times the highest sound reading: a rating beyond it stops nothing
constexpr double filament_enough = 0.6;   // of its volts, under which a rectifier's B-plus means nothing (assumed)

}  // namespace

std::vector<Threat> likeliest(const ThreatReport& threats) {
    if (!threats.transformer.empty()) return threats.for_transformer();
    std::vector<Threat> rows = threats.rows;
    std::stable_sort(rows.begin(), rows.end(), [](const Threat& a, const Threat& b) {
        return a.criticality != b.criticality ? a.criticality > b.criticality : a.fault.id < b.fault.id;
    });
    std::set<std::string> seen;
    std::erase_if(rows, [&](const Threat& t) { return !seen.insert(t.fault.id).second; });
    return rows;
}

Trials::Trials(const SetOnBench& set, Bench& bench, const ThreatReport& threats, bool supply_alone)
    : set_(set), bench_(bench) {
    choose(threats, supply_alone);
}

Condition Trials::condition(Scenario scenario, double lamp_watts) const {
    Condition c;
    c.scenario = scenario;
    c.lamp_watts = lamp_watts;
    c.lamp_volts = set_.lamp_volts;
    return c;
}

std::optional<Solution> Trials::solve(const Condition& c) {
    Outcome<Solution> s = bench_.solve(c);
    if (s) return std::move(*s);
    failure_ = s.notices();
    return std::nullopt;
}

std::optional<Around> Trials::around(const Condition& c) {
    const auto key = std::tuple(c.scenario, c.lamp_watts, c.lamp_volts, c.line_volts);
    const auto known = around_.find(key);
    if (known != around_.end()) return known->second;
    std::optional<Around> found = solve_around(c);
    if (found) around_.emplace(key, *found);
    return found;
}

// What may be wrong when a stage is powered: the likeliest faults, and every short that loads the supply or lets the
// output tube run away.
void Trials::choose(const ThreatReport& threats, bool supply_alone) {
    for (const Threat& t : likeliest(threats)) {
        if (!t.solved || t.ahead_of_primary || t.fault.part < 0) continue;
        const Duty d = set_.duties.of(t.fault.part);
        if (t.criticality <= 0 && d != Duty::output_coupler) continue;
        const bool loads = d == Duty::first_filter || d == Duty::filter || d == Duty::output_plate_bypass ||
                           d == Duty::screen_bypass || d == Duty::supply_bypass;
        const bool runs = d == Duty::output_coupler || d == Duty::cathode_bypass;
        const bool shorted = t.fault.mode == FaultMode::short_circuit;
        if (loads && shorted && supply_.size() < table_faults) supply_.push_back(t.fault.id);
        const bool counts = !supply_alone || (shorted && (loads || runs)) || d == Duty::output_coupler;
        if (!counts || (supply_alone && trials_.size() >= few_faults)) continue;
        if (trials_.size() < trial_faults || (shorted && (loads || runs)) || d == Duty::output_coupler ||
            t.fault.part == set_.transformer)
            trials_.push_back(t.fault);
    }
}

std::optional<Around> Trials::solve_around(const Condition& c) {
    std::optional<Solution> healthy = solve(c);
    if (!healthy) return std::nullopt;
    Around a;
    a.healthy = std::move(*healthy);
    const auto more = [&](const Condition& with, std::span<const Fault> faults) -> std::optional<Solution> {
        FaultSolution f = bench_.solve(with, faults, false);
        if (!f.solved) return std::nullopt;
        return std::move(f.solution);
    };
    const double own = c.line_volts > 0 ? c.line_volts : set_.line_volts;
    for (const double line : {1 - line_wander, 1 + line_wander})
        for (const double lamp : {1 - lamp_spread, 1 + lamp_spread}) {
            if (c.lamp_watts <= 0 && lamp > 1) continue;
            Condition end = c;
            end.line_volts = line * own;
            end.lamp_watts *= lamp;
            if (auto s = more(end, {})) a.ends.push_back(std::move(*s));
        }
    if (c.scenario == Scenario::lamp || c.scenario == Scenario::normal) {
        Condition idle = c;
        idle.scenario = Scenario::output_cut_off;
        idle.line_volts = own;
        a.idle = more(idle, {});
    } else {
        Condition high = c;
        high.line_volts = std::max(choice::upper_line_volts(set_.chassis, set_.policy), set_.line_volts);
        a.high = more(high, {});
    }
    for (const Fault& fault : trials_)
        if (auto s = more(c, std::span<const Fault>(&fault, 1))) a.faults.emplace_back(fault.id, std::move(*s));
    return a;
}

double Trials::meter_share(const NetVolts& v, double volts_there) const {
    if (v.source.value() <= 0) return 1;
    const double ohms = set_.policy.meter.ohms_per_volt > 0 ? set_.policy.meter.ohms_per_volt * range_for(volts_there)
                                                            : set_.policy.meter.ohms.value();
    return ohms / (ohms + v.source.value());
}

double Trials::range_for(double volts_there) const {
    if (set_.policy.meter.range_volts > 0) return set_.policy.meter.range_volts;
    for (const double range : {2.5, 10.0, 50.0, 250.0, 500.0})
        if (std::fabs(volts_there) <= range) return range;
    return 1000;
}

Placed Trials::place_net(const Around& a, int net) const {
    const NetVolts& v = a.healthy.nets[at(net)];
    const auto get = [&](const Solution& in) { return in.nets[at(net)].dc.value(); };
    const double share = v.dc.value() != 0 ? v.meter.value() / v.dc.value() : 1;
    Placed p = place(a, get, std::min(v.low.value(), v.high.value()), std::max(v.low.value(), v.high.value()), 0.1);
    for (double* x : {&p.expect, &p.low, &p.high}) *x *= share;
    const auto loaded = [&](std::optional<double>& stop) {
        if (stop)
            *stop *=
                set_.policy.meter.ohms_per_volt > 0 && std::fabs(v.dc.value()) < 0.5 ? meter_share(v, *stop) : share;
    };
    loaded(p.below);
    loaded(p.above);
    // Nothing on the net may stand over its own rating.
    for (const LeadRef& ref : set_.chassis.nets()[at(net)].leads) {
        const Part& q = set_.part(ref.part);
        if (q.kind != PartKind::capacitor || !q.rated_volts || q.leads.size() != 2) continue;
        const int other = q.leads[0].net == net ? q.leads[1].net : q.leads[0].net;
        if (other != set_.chassis.reference()) continue;
        // Where no fault is known above, the rating stops, if it is near enough to say something; one that health
        // itself overruns is replaced before.
        if (*q.rated_volts <= p.high) {
            if (!p.above) p.above = p.high * (1 + line_wander);  // the rating bought is the next over it
            continue;
        }
        if (p.above || (*q.rated_volts > p.high && *q.rated_volts < rating_near * p.high))
            p.above = std::min(p.above.value_or(*q.rated_volts), *q.rated_volts);
    }
    return p;
}

std::vector<std::string> Trials::untold(const Around& a) const {
    std::vector<std::string> left;
    const auto lamp = [](const Solution& in) { return in.lamp_volts; };
    const Placed shown = place_supply(a, lamp);
    for (const auto& [id, solution] : a.faults) {
        if (std::find(supply_.begin(), supply_.end(), id) == supply_.end()) continue;
        bool told = trips(shown, lamp(solution));
        if (!told && warm_enough(a.healthy))
            for (int f : set_.filters) {
                const NetVolts& v = a.healthy.nets[at(f)];
                const double share = v.dc.value() != 0 ? v.meter.value() / v.dc.value() : 1;
                told = told || trips(place_net(a, f), solution.nets[at(f)].dc.value() * share);
            }
        if (!told) left.push_back(id);
    }
    return left;
}

Placed Trials::placed(double expect, const std::vector<double>& ends, double low, double high, double floor,
                      const std::vector<std::pair<std::string, double>>& extreme) const {
    Placed p;
    p.expect = expect;
    p.low = std::min(low, expect);
    p.high = std::max(high, expect);
    double down = 0, up = 0;
    for (const double end : ends) {
        down = std::min(down, end - expect);
        up = std::max(up, end - expect);
    }
    p.low += down;
    p.high += up;
    const double gap = std::max(told_apart * std::fabs(expect), floor);
    std::optional<double> under, over;
    for (const auto& [id, v] : extreme) {
        if (v > p.high + gap) {
            over = std::min(over.value_or(v), v);
        } else if (v < p.low - gap) {
            under = std::max(under.value_or(v), v);
        } else if (in(supply_, id)) {
            p.hidden.push_back(id);
        }
    }
    if (over) p.above = (p.high + *over) / 2;
    if (under) p.below = (p.low + *under) / 2;
    return p;
}

bool Trials::warm_enough(const Solution& in) const {
    // a link of a string: its heater's own share
    double least = 1;
    for (const HeaterVolts& h : in.heaters)
        if (power_up::in(set_.rectifiers, set_.part(h.part).id) && h.rated.value() > 0)
            least = std::min(least, h.across.value() / h.rated.value());
    if (set_.transformer < 0 || set_.part(set_.transformer).role == "vibrator") return least >= filament_enough;
    const Part& t = set_.part(set_.transformer);
    double share = 1;
    bool found = false;
    for (const PartWinding& w : t.windings) {
        const bool own = w.role == WindingRole::rectifier_heater || (w.role == WindingRole::heater && !found);
        if (!own || !w.volts) continue;
        if (const Branch* b = in.branch(set_.transformer, w.name)) share = b->volts_rms.value() / *w.volts;
        found = w.role == WindingRole::rectifier_heater || found;
        if (w.role == WindingRole::rectifier_heater) break;
    }
    return share >= filament_enough;
}

}  // namespace tubewright::power_up
