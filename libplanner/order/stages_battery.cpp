// SPDX-License-Identifier: MIT
// The stages of batteries. A vehicle's: heaters with the vibrator out, then the vibrator on a supply whose current is
// limited. A battery set's, and a portable's after the line: the A battery alone, then C and B with a small fuse in
// B-minus; an ammeter in the lead, and the number at which to break it, do what a lamp does on the line. See
// stages.hpp.
#include <algorithm>
#include <cmath>

#include "choice/figure.hpp"
#include "order/stages.hpp"

namespace tubewright::power_up {
namespace {

using choice::figure;
using choice::listed;
using K = ActKind;

constexpr double filament_most = 1.1;  // of its volts (recalled)
constexpr double limit_times = 1.3;    // of the solved amperes: where the supply's limit is set (common practice)
constexpr const char* limit_is_stop =
    "; the supply's own limit is the stop: when its lamp lights or its volts fall, off";
constexpr double fuse_over_amps =
    15e-3;  // a B battery's fuse stands so much over its load (common practice: 10 to 20 mA)

std::string limit_words(double amps_now) {
    return "current limit at " + say(amps(limit_times * amps_now)) + ": it gives way there and its volts fall";
}

/// Of one battery: what its lead carries.
const Branch* lead_of(const SetOnBench& set, const Solution& in, const std::string& id) {
    const int part = set.chassis.part(id);
    for (const Branch& b : in.branches)
        if (b.part == part) return &b;
    return nullptr;
}

}  // namespace

std::optional<Bench> Stages::bench_of(const Chassis& other) {
    Outcome<Bench> made = Bench::make(other, set_.catalogue, set_.policy);
    if (made) return *std::move(made);
    failure_ = made.notices();
    return std::nullopt;
}

template <class Found>
std::optional<Found> Stages::or_failure(const Trials& trials, std::optional<Found> found) {
    if (!found) failure_ = trials.failure();
    return found;
}

bool Stages::vehicle_heaters() {
    const Chassis quiet = without_vibrator(set_.chassis);
    std::optional<Bench> bench = bench_of(quiet);
    if (!bench) return false;
    const ThreatReport none;
    Trials trials(set_, *bench, none);
    const auto a = or_failure(trials, trials.around(trials.condition(Scenario::normal)));
    if (!a) return false;
    PowerStage& s = stage("vibrator out: polarity, heaters", set_.minutes("heaters"));
    s.gate = gates_.gate({{"H1", std::nullopt, "it has not been on a battery since it was found"},
                          {"H5", set_.line_parts},
                          {"H8", set_.couplers},
                          {"H9", set_.bias},
                          {"H20", set_.output_tubes()},
                          {"H17"}},
                         K::power_heaters);
    std::vector<std::string> in = set_.others;
    in.insert(in.end(), set_.lamps.begin(), set_.lamps.end());
    s.connect = {"tubes and dial lamp in: " + listed(in),
                 "a bench supply in place of the battery, " + limit_words(a->healthy.drawn.value()),
                 "its plus and minus as the label has the frame; ammeter in the lead"};
    s.remove = {"vibrator: " + listed(set_.vibrators)};
    if (!set_.rectifiers.empty()) s.remove.push_back("rectifier: " + listed(set_.rectifiers));
    live(s, a->healthy.line_volts, 0);
    const StageReadings readings(set_, trials, "battery");
    readings.supply(s, *a, 0);
    for (StageReading& r : s.readings) {
        if (r.quantity != "amps") continue;
        r.stop = limit_times * a->healthy.drawn.value();
        r.if_high = "a dial lamp's lead, a hash capacitor or a spark plate to the case; look before the next try" +
                    std::string(limit_is_stop);
    }
    for (const HeaterVolts& h : a->healthy.heaters) {
        const Part& p = set_.part(h.part);
        if (p.kind != PartKind::socket) continue;
        for (const Lead& l : p.leads) {
            const Pin* pin = p.type ? p.type->pin(l.name) : nullptr;
            if (!pin || l.net < 0 || l.net == set_.chassis.reference() || pin->electrodes.front()[0] != 'h') continue;
            const bool told = std::any_of(s.readings.begin(), s.readings.end(),
                                          [&](const StageReading& r) { return r.at == set_.name(l.net); });
            if (!told)
                readings.net(s, *a, l.net, "the A lead, its fuse, the switch or the hash choke takes volts",
                             "the supply stands too high");
        }
    }
    s.notice = {"each heater and the dial lamp glow within half a minute", "nothing hums: the vibrator is out",
                "warm hash choke or switch: a joint there"};
    s.acts = {{K::refit_tube, in, "all but the rectifier", 0},
              {K::power_heaters, {}, "vibrator out", set_.minutes("heaters")},
              {K::discharge, {}, "battery lead off", 0}};
    return true;
}

// First at the lowest volts that a battery comes down to, then at its own.
bool Stages::vehicle_supply() {
    constexpr double low_battery = 0.87;  // 5.5 V of 6.3: a tired battery (common practice)
    const bool dry = set_.rectifiers.empty();
    bool first = true;
    for (const double share : {low_battery, 1.0}) {
        Condition c = trials_.condition(Scenario::normal);
        if (first) {
            c.scenario = Scenario::step;
            c.line_volts = share * set_.line_volts;
        }
        const auto a = trials_.around(c);
        if (!a) return false;
        PowerStage& s = stage(first ? "vibrator in, limited supply" : "full battery", set_.minutes("power-stage"));
        if (first) {
            s.gate = gates_.gate(supply_needs(), K::power_b_plus);
            s.connect = {"buffer new, of its exact value and rated for it: " + (set_.winding_capacitors.empty()
                                                                                    ? std::string("the label's")
                                                                                    : listed(set_.winding_capacitors))};
            s.connect.push_back(dry ? "vibrator in: " + listed(set_.vibrators)
                                    : "rectifier and vibrator in: " + listed(set_.rectifiers) + ", " +
                                          listed(set_.vibrators));
            if (!set_.riding.empty()) s.connect.push_back("speaker plugged before the battery: " + listed(set_.riding));
            s.connect.push_back("the bench supply at " + say(volts(c.line_volts)) + ", " +
                                limit_words(a->healthy.drawn.value()));
        } else {
            s.gate = gates_.gate({{"H17"}, {"H11"}}, K::power_full_line);
            s.connect = {"the battery, or the bench supply at " + say(volts(set_.line_volts)) +
                         ", behind the fuse of the "
                         "label (" +
                         (fuse_.empty() ? std::string("in the A lead") : fuse_) + ")"};
        }
        live(s, a->healthy.line_volts, 0);
        readings_.supply(s, *a, 0);
        for (StageReading& r : s.readings) {
            if (r.quantity == "watts") r.stop.reset();
            if (r.quantity != "amps") continue;
            r.stop = std::min(r.stop.value_or(1e9), std::max(limit_times * a->healthy.drawn.value(), r.high));
            r.if_high = "a vibrator that sticks, a leaking buffer, a shorted filter: off before the points weld" +
                        std::string(first ? limit_is_stop : "");
            r.if_low = "the vibrator does not start, or the rectifier does not draw";
        }
        readings_.b_plus(s, *a, true);
        if (first) {
            s.notice = {"an even buzz at once; uneven, loud or none: off, another vibrator",
                        "sparks at its points, a hot buffer, a smell: off"};
            if (a->healthy.nets[at(std::max(set_.b_plus, 0))].dc.value() < 1)
                s.notice.push_back("at these volts the gas rectifier may not start: no B-plus, and no fault");
            s.acts.push_back({K::plug_speaker, set_.riding, "battery off, empty", 0});
            if (set_.riding.empty()) s.acts.clear();
            if (!set_.through.empty()) s.acts.push_back({K::measure, set_.through, "continuity", 0});
            s.acts.push_back({K::reconnect, set_.vibrators, "into its socket", 0});
            if (!dry) s.acts.push_back({K::refit_tube, set_.rectifiers, "rectifier", 0});
            s.acts.push_back({K::power_b_plus, {}, "limited supply", set_.minutes("power-stage")});
        } else {
            readings_.pins(s, *a);
            readings_.ripple(s, normal_);
            if (!readings_.first_half_minute(s, 0)) return false;
            full_ = *a;
            s.notice = {
                "red plates, smell, a cap that warms; after a quarter of an hour of on and off the buzz is the same",
                "write every reading down: alignment waits for it"};
            s.acts = {{K::power_full_line, {}, "full battery", 15}, {K::log_volts, {}, "every pin", 0}};
        }
        s.acts.push_back({K::discharge, {}, "battery lead off", 0});
        first = false;
    }
    return true;
}

void Stages::battery_readings(PowerStage& s, const StageReadings& readings, const Around& a) const {
    for (const std::string& id : set_.batteries) {
        const Branch* b = lead_of(set_, a.healthy, id);
        if (b == nullptr || std::fabs(b->dc.value()) < 1e-6) continue;
        const double now = std::fabs(b->dc.value());
        constexpr double spread = 0.2;
        StageReading r =
            reading(id, "in its lead", "amps", now, now * (1 - spread), now * (1 + spread), now * limit_times,
                    "a filament or a joint is open", "a short, or a tube that draws too much: break the lead");
        s.readings.push_back(std::move(r));
    }
    readings.filaments(s, a);
}

bool Stages::a_battery() {
    const Chassis alone = on_batteries(set_.chassis, true);
    std::optional<Bench> bench = bench_of(alone);
    if (!bench) return false;
    const ThreatReport none;
    Trials trials(set_, *bench, none);
    Condition own = trials.condition(Scenario::normal);
    for (const Part& p : alone.parts())
        if (p.kind == PartKind::battery && p.role == "a") own.line_volts = p.rated_volts.value_or(1.5);
    std::optional<Solution> healthy = or_failure(trials, trials.solve(own));
    if (!healthy) return false;
    // With B off the shunts of a series string, made for the plate currents too, take it uneven: less A then.
    double most = 0;
    std::string where;
    for (const HeaterVolts& h : healthy->heaters) {
        const Part& p = set_.part(h.part);
        if (!p.type || !p.type->directly_heated || h.rated.value() <= 0) continue;
        if (h.across.value() / h.rated.value() > most) {
            most = h.across.value() / h.rated.value();
            where = p.id;
        }
    }
    const double full_volts = own.line_volts;
    if (most > filament_most) {
        own.line_volts = std::floor(10 * own.line_volts / most) / 10;
        healthy = or_failure(trials, trials.solve(own));
        if (!healthy) return false;
    }
    Around a;
    a.healthy = *healthy;
    const bool portable = set_.chassis.nodes().line_hot >= 0;
    PowerStage& s = stage(portable ? "on batteries: A alone" : "A battery alone: filaments", set_.minutes("heaters"));
    std::vector<Need> needs = {{"H8", set_.couplers}, {"H9", set_.bias}, {"H20", set_.output_tubes()}, {"H17"}};
    // a portable has had its line side gone through before
    if (!portable)
        needs.insert(needs.begin(), {{"H1", std::nullopt, "it has not been on a battery since it was found"},
                                     {"H5", set_.line_parts, "leads, plug, switch and fuse are sound"}});
    s.gate = gates_.gate(needs, K::power_heaters);
    s.connect = {
        "every filter empty by the meter before a tube goes in or out", "tubes in: " + listed(tubes_and_lamps()),
        "A battery, or a supply of " + say(volts(own.line_volts)) + ", " + limit_words(healthy->drawn.value())};
    if (own.line_volts < full_volts) {
        s.connect.back() = "a supply of " + say(volts(own.line_volts)) + ", not the battery's " +
                           say(volts(full_volts)) + ", " + limit_words(healthy->drawn.value());
        s.notice.push_back("with B off no plate current runs down the string, and what is left of it is uneven: at " +
                           say(volts(full_volts)) + " " + where + " would stand at " + figure(std::round(100 * most)) +
                           " % of its volts");
    }
    if (portable) s.connect.insert(s.connect.begin(), "plug out of the wall, changeover switch to battery");
    s.remove = {"B and C batteries: off"};
    live(s, own.line_volts, 0, false);
    const StageReadings readings(set_, trials, "battery");
    battery_readings(s, readings, a);
    s.notice.push_back("filaments of this sort hardly glow: the meter tells, not the eye");
    s.notice.push_back("polarity first, by the meter at the plug: turned round, A or B kills every tube");
    polarity_of_supply(s);
    if (const std::string text = set_.caution("battery-filament"); !text.empty()) s.cautions.push_back(text);
    s.acts = {{K::refit_tube, tubes_and_lamps(), "with every filter empty", 0},
              {K::power_heaters, {}, "A battery alone", set_.minutes("heaters")},
              {K::discharge, {}, "batteries off", 0}};
    return true;
}

bool Stages::b_battery() {
    const bool portable = set_.chassis.nodes().line_hot >= 0;
    const Chassis all = on_batteries(set_.chassis, false);
    std::optional<Bench> bench = bench_of(all);
    if (!bench) return false;
    const ThreatReport none;
    Trials trials(set_, *bench, none);
    Condition own = trials.condition(Scenario::normal);
    double most = 0;
    std::string b_name, c_names;
    for (const Part& p : all.parts()) {
        if (p.kind != PartKind::battery) continue;
        if (p.role == "a") own.line_volts = p.rated_volts.value_or(1.5);
        if (p.role == "c") c_names += (c_names.empty() ? "" : ", ") + p.id;
        if (p.role == "b" || p.rated_volts.value_or(0) > most) {
            most = std::max(most, p.rated_volts.value_or(0));
            b_name = p.id;
        }
    }
    const auto healthy = or_failure(trials, trials.solve(own));
    if (!healthy) return false;
    Around a;
    a.healthy = *healthy;
    PowerStage& s =
        stage(portable ? "on batteries: B" : "C, then B: the set on its batteries", set_.minutes("power-stage"));
    s.gate = gates_.gate(supply_needs(), K::power_b_plus);
    const Branch* lead = lead_of(set_, *healthy, b_name);
    const double load = lead != nullptr ? std::fabs(lead->dc.value()) : 0;
    s.connect = {"A first" +
                     (c_names.empty() ? std::string() : ", then C (" + c_names + "): no tube without its bias") +
                     ", B (" + b_name + ") last",
                 "a fuse of about " + say(amps(load + fuse_over_amps)) + " in B-minus, and a meter for milliamperes",
                 "speaker connected before B" + (set_.riding.empty() ? std::string() : ": " + listed(set_.riding))};
    live(s, own.line_volts, 0, false);
    const StageReadings readings(set_, trials, "battery");
    battery_readings(s, readings, a);
    readings.b_plus(s, a, true);
    readings.pins(s, a);
    s.notice = {"B goes off first when you stop, A last",
                "with B on and no plate current: the bias is wrong, or a filament is cold"};
    if (!portable) {
        if (!set_.riding.empty()) s.acts.push_back({K::plug_speaker, set_.riding, "batteries off", 0});
        if (!set_.through.empty()) s.acts.push_back({K::measure, set_.through, "continuity", 0});
    }
    s.acts.push_back({K::power_b_plus, {}, "on its batteries", set_.minutes("power-stage")});
    if (!portable) {
        s.acts.push_back({K::power_full_line, {}, "on its batteries", 15});
        s.acts.push_back({K::log_volts, {}, "every pin", 0});
        full_ = a;
        normal_ = *healthy;
    }
    s.acts.push_back({K::discharge, {}, "batteries off", 0});
    return true;
}

}  // namespace tubewright::power_up
