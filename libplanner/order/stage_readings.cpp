// SPDX-License-Identifier: MIT
// See stage_readings.hpp.
#include "order/stage_readings.hpp"

#include <algorithm>
#include <set>

#include "choice/figure.hpp"

namespace tubewright::power_up {
namespace {

using choice::listed;

constexpr double winding_band = 0.05;     // turns and meter (assumed)
constexpr double amps_band = 0.5;         // no-load amperes rest on an assumed core (assumed)
constexpr double grid_most = 0.5;         // volts (common practice)
constexpr double dried_share = 0.5;       // of a filter's value: its end (assumed)
constexpr double filter_spread = 0.2;     // of a new filter's value (common practice)
constexpr double seen_on_scale = 0.02;    // of a range: less is no reading
constexpr double watts_over_band = 1.25;  // of an assumed core's losses: no iron explains more (assumed)
constexpr double least_ripple = 0.05;     // volts that leads on a bench pick up (assumed)
constexpr double heater_most = 0.10;      // either way of its volts, in service (recalled)

double a_little(double low, double expect) {
    return std::min(low, expect);
}

void put(PowerStage& s, const std::string& from, const std::string& to, const char* quantity, const Placed& p,
         const std::string& if_low, const std::string& if_high) {
    s.readings.push_back(reading(from, to, quantity, p.expect, p.low, p.high, p.above, if_low, if_high));
    s.readings.back().stop_below = p.below;
}

}  // namespace

const char* glow(double share) {
    if (share < 0.10) return "dark";
    if (share < 0.25) return "dull red";
    if (share < 0.50) return "orange";
    if (share < 0.80) return "yellow";
    return "white";
}

StageReading reading(const std::string& from, const std::string& to, const char* quantity, double expect, double low,
                     double high, std::optional<double> stop, const std::string& if_low, const std::string& if_high) {
    StageReading r;
    r.at = from;
    r.to = to;
    r.quantity = quantity;
    r.expect = expect;
    r.low = low;
    r.high = high;
    r.stop = stop;
    r.if_low = if_low;
    r.if_high = if_high;
    return r;
}

// Each winding but the primary, by what it reads in a solution; halves to the centre tap.
void StageReadings::windings(PowerStage& s, const Around& a, bool with_plates) const {
    const Solution& in = a.healthy;
    const Part& t = set_.part(set_.transformer);
    for (const PartWinding& w : t.windings) {
        if (w.role == WindingRole::primary || (w.role == WindingRole::plate && !with_plates)) continue;
        const bool halves = w.leads.size() == 3;
        for (std::size_t k = 0; k < (halves ? 2U : 1U); ++k) {
            std::string lead = w.name;
            if (halves) lead += k == 0 ? ".1" : ".2";
            const Branch* b = in.branch(set_.transformer, lead);
            if (!b || b->volts_rms.value() <= 0) continue;
            const int from = t.leads[at(w.leads[halves ? 2 * k : 0])].net;
            const int to = t.leads[at(w.leads[1])].net;
            const double v = b->volts_rms.value();
            std::string low = "line low, lamp taking it, or a shorted turn: heat and watts decide, not amperes";
            if (w.role == WindingRole::plate)
                low = "one half only: a shorted turn or a wrong lead there; halves agree within 3 %";
            std::string meter;
            if (w.role == WindingRole::plate)
                meter = "; meter on 1000 V AC with leads rated for it, clipped on with the plug out";
            constexpr double shock = 60;
            if (!with_plates && !in.nets[at(from)].undetermined && in.nets[at(from)].dc.value() > shock)
                meter = "; both clips stand at B-plus: clipped on with the plug out, hands off the meter";
            const auto get = [&](const Solution& one) {
                const Branch* other = one.branch(set_.transformer, lead);
                return other ? other->volts_rms.value() : 0.0;
            };
            Placed p = trials_.place(a, get, v * (1 - winding_band), v * (1 + winding_band), 0);
            p.low = v * (1 - winding_band);
            p.high = v * (1 + winding_band);
            // No healthy winding reads more than at the upper line limit.
            if (a.high) p.above = std::max(get(*a.high) * (1 + winding_band), p.high * (1 + line_wander));
            put(s, set_.name(from), set_.name(to), "volts ac", p, low, "line high, or the wrong tap" + meter);
        }
    }
}

void StageReadings::supply(PowerStage& s, const Around& a, double lamp, bool assumed_core) const {
    const Solution& in = a.healthy;
    const auto lamp_of = [](const Solution& one) { return one.lamp_volts; };
    const auto set_of = [](const Solution& one) { return one.set_volts; };
    const auto amps_of = [](const Solution& one) { return one.drawn.value(); };
    const auto watts_of = [](const Solution& one) { return one.line_watts.value(); };
    const bool iron = set_.transformer >= 0 && set_.vibrators.empty();
    const std::string core = assumed_core ? "; the no-load figure rests on an assumed core" : "";
    if (lamp > 0) {
        // A dead short across the primary puts the whole line on the lamp.
        Placed p = trials_.place_supply(a, lamp_of, {{"primary short", in.line_volts}});
        p.low = std::max(p.low, 0.0);
        p.below.reset();
        std::string blind;
        if (in.condition.scenario == Scenario::lamp && !p.hidden.empty()) {
            const std::vector<std::string> left = trials_.untold(a);
            std::vector<std::string> by_volts;
            for (const std::string& id : p.hidden)
                if (std::find(left.begin(), left.end(), id) == left.end()) by_volts.push_back(id);
            if (!by_volts.empty()) blind += "; this lamp alone cannot tell " + listed(by_volts) + ": B-plus does";
            if (!left.empty())
                blind += "; nothing in this stage tells " + listed(left) + ": the cold ohms must have told it";
        }
        put(s, "lamp", "across it", "volts ac", p, "something is not connected",
            std::string("glows ") + glow(in.lamp_volts / set_.lamp_volts) +
                " when healthy; brighter and staying so: switch off" + blind + core);
        Placed q = trials_.place_supply(a, set_of, {{"primary short", 0.0}});
        q.above.reset();
        q.high = std::min(q.high, (1 + line_wander) * in.line_volts);
        put(s, "set", "behind the lamp", "volts ac", q, "the set draws more than it should: see the lamp table",
            "the set draws less than it should");
    } else {
        Placed p = trials_.place_supply(a, amps_of), w = trials_.place_supply(a, watts_of);
        if (assumed_core) {
            // The band is that of the assumption; faults are sought beyond it.
            const double h = amps_of(in), hw = watts_of(in);
            p = trials_.place(a, amps_of, h * (1 - amps_band), h * (1 + amps_band), 0);
            w = trials_.place(a, watts_of, hw * (1 - amps_band), hw * (1 + amps_band), 0);
            // One shorted turn takes a few watts: less than any fault that is placed.
            w.above = std::min(w.above.value_or(w.high * watts_over_band), w.high * watts_over_band);
        }
        p.below.reset();
        w.below.reset();
        put(s, feed_, "in series", "amps", p, "a winding or a tube is not drawing",
            (iron ? "look, smell, feel; from amperes alone no shorted turn is declared"
                  : "a short or a leak: off, look, smell") +
                core);
        put(s, feed_, feed_ == "line" ? "at the plug" : "volts by amperes", "watts", w, "",
            (iron ? "watts and heat after half an hour tell a shorted turn"
                  : "something takes what it should not: off") +
                core);
    }
}

// A link that is off alone is a wrong or tired tube; all off together are line, dropper or lamp.
void StageReadings::heaters(PowerStage& s, const Around& a) const {
    std::map<int, double> own;
    for (const HeaterVolts& h : a.healthy.heaters) {
        const Part& p = set_.part(h.part);
        if (p.kind != PartKind::socket || !p.type || h.rated.value() <= 0) continue;
        int from = -1, to = -1;
        std::string from_pin, to_pin;
        for (const Lead& l : p.leads) {
            const Pin* pin = p.type->pin(l.name);
            if (!pin || l.net < 0 || pin->electrodes.front()[0] != 'h') continue;
            const std::string& e = pin->electrodes.front();
            if (e == "htap" || e == "hct") continue;
            (from < 0 ? from_pin : to_pin) = p.id + "." + l.name.str();
            (from < 0 ? from : to) = l.net;
        }
        if (from < 0 || to < 0 || from == to) continue;
        const auto get = [part = h.part](const Solution& in) {
            for (const HeaterVolts& one : in.heaters)
                if (one.part == part) return one.across.value();
            return 0.0;
        };
        const double v = h.across.value();
        Placed p_volts = trials_.place(a, get, v, v, 0.1);
        p_volts.low = std::min(p_volts.low, v * (1 - winding_band));
        p_volts.high = std::max(p_volts.high, v * (1 + winding_band));
        if (v > (1 - heater_most) * h.rated.value()) {
            p_volts.above = std::max((1 + heater_most) * h.rated.value(), p_volts.high * (1 + line_wander));
        } else {
            p_volts.above.reset();  // behind a lamp nothing overruns it
        }
        p_volts.below.reset();
        put(s, from_pin, to_pin, set_.direct_line() ? "volts dc" : "volts ac", p_volts,
            "its neighbours take its share, or all of the string is low",
            "more than its share: a tube of other amperes in the string, a shorted heater beside it, or "
            "the line is high");
    }
}

// A filament of a string that hangs on direct current is its own cathode.
void StageReadings::filaments(PowerStage& s, const Around& a) const {
    std::set<std::pair<int, int>> read;
    for (const Part& p : set_.chassis.parts()) {
        if (p.kind != PartKind::socket || !p.type || !p.type->directly_heated || p.fitted == "none") continue;
        if (in(set_.rectifiers, p.id)) continue;
        std::vector<int> ends;
        std::map<int, std::string> pins;
        for (const Lead& l : p.leads) {
            const Pin* pin = p.type->pin(l.name);
            if (pin && l.net >= 0 && pin->electrodes.front()[0] == 'h' &&
                std::find(ends.begin(), ends.end(), l.net) == ends.end()) {
                ends.push_back(l.net);
                pins[l.net] = p.id + "." + l.name.str();
            }
        }
        const auto dc = [](int net, const Solution& in) { return in.nets[at(net)].dc.value(); };
        std::sort(ends.begin(), ends.end(), [&](int x, int y) { return dc(x, a.healthy) > dc(y, a.healthy); });
        for (std::size_t k = 0; k + 1 < ends.size(); ++k) {
            const int up = ends[k], down = ends[k + 1];
            if (!read.insert({up, down}).second) continue;
            const auto get = [up, down, dc](const Solution& in) { return dc(up, in) - dc(down, in); };
            const double v = get(a.healthy);
            constexpr double filament_band = 0.04;
            Placed placed = trials_.place(a, get, v * (1 - filament_band), v * (1 + filament_band), 0.02);
            constexpr double most = 1.10, section = 1.4;  // dry-cell filaments (recalled): 1.1 to 1.5 V a section
            if (!placed.above || *placed.above > most * section)
                placed.above = std::max(most * section, placed.high * 1.02);
            put(s, pins[up], pins[down], "volts dc", placed, "fed too little, or what is across it takes its current",
                "too bright: the shunt past it is open, or a tube above draws through it; off at once");
        }
    }
}

void StageReadings::net(PowerStage& s, const Around& a, int at_net, const std::string& if_low,
                        const std::string& if_high, bool says_nothing) const {
    if (at_net < 0 || at_net == set_.chassis.reference() || a.healthy.nets[at(at_net)].undetermined) return;
    Placed p = trials_.place_net(a, at_net);
    if (says_nothing) {
        p.below.reset();
        p.above.reset();
    }
    put(s, set_.name(at_net), set_.name(set_.chassis.reference()), "volts dc", p, if_low, if_high);
    s.readings.back().says_nothing = says_nothing;
}

// What a wrong reading means differs by the electrode: a cathode goes up when its tube draws too much, a plate down.
void StageReadings::electrode(PowerStage& s, const Around& a, const Part& p, const Lead& l,
                              const std::string& name) const {
    const std::string head = p.id + " pin " + l.name + ": ";
    if (name[0] == 'k' || (p.type->directly_heated && name[0] == 'h')) {
        net(s, a, l.net,
            head +
                "the tube draws too little (weak, plate or screen not fed), or its bypass is shorted "
                "and it draws too much: look for a red plate, switch off",
            head +
                "the tube draws too much (grid positive: leaking coupler, gas), or the cathode resistor "
                "has gone high");
    } else if (name.rfind("g1", 0) == 0 && set_.is_output(p)) {
        output_grid(s, a, l.net);
    } else if (a.healthy.nets[at(l.net)].dc.value() < -0.5) {
        net(s, a, l.net, head + "further below nothing: too strong a signal or oscillation",
            head + "nearer to nothing: the oscillator does not run, or the grid's resistor is open");
    } else if (name[0] == 'g') {
        net(s, a, l.net, head + "a leaking bypass, or the feed has gone high",
            head + "the tube draws too little, or a divider is open to the return");
    } else {
        net(s, a, l.net, head + "fed through too many ohms, or the tube draws too much",
            head + "the tube draws too little, or its cathode is open");
    }
}

// A leak of the coupler through the meter's own load; where the scale does not show it, says so.
void StageReadings::output_grid(PowerStage& s, const Around& a, int at_net) const {
    const std::string low = "bias from elsewhere";
    const std::string high = "a positive grid: the coupler leaks, or the tube has gas; switch off";
    const std::size_t before = s.readings.size();
    net(s, a, at_net, low, high);
    if (s.readings.size() == before) return;
    StageReading& r = s.readings.back();
    r.stop_below.reset();
    // Half a volt at the grid itself is the most that the trade lets pass (common practice, no source).
    const double most = grid_most * trials_.meter_share(a.healthy.nets[at(at_net)], grid_most);
    r.stop = std::min(r.stop.value_or(most), most);
    const double range = trials_.range_for(std::max(std::fabs(r.high), std::fabs(r.stop.value_or(0))));
    if (set_.policy.meter.ohms_per_volt > 0 && (!r.stop || *r.stop - r.high < seen_on_scale * range)) {
        r.stop.reset();
        r.stop_below.reset();
        r.if_high =
            "this meter loads the grid so far that it does not show a leak: use one of 10 megohm, or read "
            "the coupler's leak with the output tube out or the grid's end lifted";
    }
}

void StageReadings::b_plus(PowerStage& s, const Around& a, bool meaningful) const {
    for (int f : set_.filters)
        net(s, a, f,
            meaningful ? "a filter, the output stage or a bypass draws too much: switch off"
                       : "the rectifier's filament is cool yet: this reading says nothing",
            meaningful ? feed_ == "line" ? "the output tube does not draw, or the line is high"
                                         : "the output tube does not draw, or the supply is high"
                       : "",
            !meaningful);
    std::set<int> read;  // two tubes may share a cathode
    for (int socket : set_.duties.output_tubes) {
        const Part& p = set_.part(socket);
        for (const Lead& l : p.leads) {
            const Pin* pin = p.type->pin(l.name);
            if (!pin || l.net < 0 || l.net == set_.chassis.reference() || read.count(l.net) > 0) continue;
            const std::string& e = pin->electrodes.front();
            const bool cathode = e[0] == 'k' || (p.type->directly_heated && e[0] == 'h');
            if (cathode || e.rfind("g1", 0) == 0) {
                read.insert(l.net);
                electrode(s, a, p, l, e);
            }
            if (!meaningful && !s.readings.empty() && s.readings.back().at == set_.name(l.net)) {
                s.readings.back().says_nothing = true;
                s.readings.back().stop.reset();
                s.readings.back().stop_below.reset();
            }
        }
    }
}

void StageReadings::pins(PowerStage& s, const Around& a) const {
    std::set<int> done;
    for (const StageReading& r : s.readings)
        if (r.quantity == "volts dc") done.insert(set_.chassis.net(r.at));
    for (const Part& p : set_.chassis.parts()) {
        if (p.kind != PartKind::socket || !p.type || p.type->is_rectifier()) continue;
        for (const Lead& l : p.leads) {
            const Pin* pin = p.type->pin(l.name);
            if (!pin || l.net < 0 || !done.insert(l.net).second) continue;
            const std::string& e = pin->electrodes.front();
            if (e[0] == 'h' || std::fabs(a.healthy.nets[at(l.net)].meter.value()) < 0.05) continue;
            electrode(s, a, p, l, e);
        }
    }
}

bool StageReadings::first_half_minute(PowerStage& s, double lamp) const {
    Condition c = trials_.condition(Scenario::warm_up, lamp);
    c.line_volts = set_.line_volts;
    const auto cold = trials_.solve(c);
    c.line_volts = (1 + line_wander) * set_.line_volts;
    const auto end = trials_.solve(c);
    if (!cold || !end) return false;
    for (StageReading& r : s.readings)
        if ((r.quantity == "volts dc" || r.quantity == "amps" || r.quantity == "watts") && r.when.empty())
            r.when = tubes_warm;
    // a rectifier that warms with the other tubes gives no more than this on the way
    bool at_once = set_.rectifiers.empty();
    for (const std::string& id : set_.rectifiers) {
        const Part& p = set_.part(set_.chassis.part(id));
        at_once = at_once || p.type->directly_heated || p.type->heater_volts <= 0;
    }
    for (int f : set_.filters) {
        const NetVolts &v = cold->nets[at(f)], &w = end->nets[at(f)];
        const double share = v.dc.value() != 0 ? v.meter.value() / v.dc.value() : 1;
        StageReading r = reading(set_.name(f), set_.name(set_.chassis.reference()), "volts dc", v.meter.value(),
                                 at_once ? a_little(v.low.value() * share, v.meter.value()) : 0, w.high.value() * share,
                                 std::nullopt, "the rectifier is slow or a tube draws already",
                                 "over the rating of what stands there: switch off");
        r.when = half_minute;
        // What stands on the net and on nothing else limits it. A filter that health itself overruns is replaced
        // before this stage: its old rating stops nothing.
        std::optional<double> overrun;
        for (const LeadRef& ref : set_.chassis.nets()[at(f)].leads) {
            const Part& q = set_.part(ref.part);
            const Duty d = set_.duties.of(ref.part);
            if ((d != Duty::first_filter && d != Duty::filter) || !q.rated_volts) continue;
            std::optional<double>& limit = *q.rated_volts > r.high ? r.stop : overrun;
            limit = std::min(limit.value_or(*q.rated_volts), *q.rated_volts);
        }
        if (overrun) r.stop = std::min(r.stop.value_or(r.high * (1 + line_wander)), r.high * (1 + line_wander));
        if (overrun)
            r.if_high = "healthy it comes over the " + say(volts(*overrun)) +
                        " marked on what stands there: fit the rating of the shopping list first; its rating is "
                        "then the stop";
        s.readings.push_back(std::move(r));
    }
    return true;
}

void StageReadings::ripple(PowerStage& s, const Solution& normal) const {
    std::vector<std::pair<std::string, std::pair<std::string, double>>> dried;
    for (const Part& p : set_.chassis.parts()) {
        const Duty d = set_.duties.of(set_.chassis.part(p.id));
        if ((d == Duty::first_filter || d == Duty::filter) && p.farads)
            dried.push_back({p.id, {"farads", *p.farads * dried_share}});
    }
    trials_.bench().set_values(dried);
    const Outcome<Solution> dry = trials_.bench().solve(trials_.condition(Scenario::normal));
    trials_.bench().set_values({});
    for (int f : set_.filters) {
        const double now = normal.nets[at(f)].rms.value();
        StageReading r =
            reading(set_.name(f), set_.name(set_.chassis.reference()), "volts ac", now, now * (1 - filter_spread),
                    now * (1 + filter_spread), std::nullopt, "lighter load than solved",
                    "a filter is dry or open (the stop stands before half their value is gone); read "
                    "through .1 uF of 630 V, which keeps its charge: discharge it, plug out, before it is touched");
        if (dry) r.stop = std::max({(r.high + dry->nets[at(f)].rms.value()) / 2, r.high, least_ripple});
        r.high = std::max(r.high, least_ripple / 2);
        s.readings.push_back(std::move(r));
    }
}

}  // namespace tubewright::power_up
