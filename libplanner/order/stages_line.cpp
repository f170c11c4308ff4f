// SPDX-License-Identifier: MIT
// The stages on the line: transformer alone, heaters, rectifier behind the lamps, full line, soak, touch current. In a
// series string there is no stage without the rectifier, and no tube moves with the line on. See stages.hpp.
#include <algorithm>
#include <array>
#include <cmath>
#include <complex>

#include "chassis/data.hpp"
#include "choice/figure.hpp"
#include "choice/safety.hpp"
#include "order/stages.hpp"
#include "threat/touch.hpp"

namespace tubewright::power_up {
namespace {

using choice::figure;
using choice::listed;
using K = ActKind;

constexpr double touch_ohms = 47e3, touch_volts = 24;
constexpr double network_ohms = 1500, network_farads = 0.15e-6, network_volts = 0.75;
constexpr double line_itself = 5e3;  // ohms: a metal so near to a blade is the line
constexpr double pi = 3.14159265358979323846;
constexpr double times_watts =
    3;  // of the set, an isolation transformer: a half-wave set draws direct current through it
constexpr double grid_most = 0.5;  // volts: what a coupler fit for service leaves (common practice)
/// Words of a reading that was not taken at full line with all tubes warm.
constexpr std::array not_at_full_line{"lamp", "warm-up", "cold", "rectifier out", "heaters"};

}  // namespace

// What shop names; where it names none, the next standard size over one and a half times what the set draws.
std::string Stages::fuse_words() const {
    if (!fuse_.empty()) return fuse_;
    if (set_.chassis.nodes().line_hot < 0) return "the fuse of the label, in the A lead";
    constexpr std::array sizes{0.125, 0.25, 0.375, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0};
    constexpr double over = 1.5;  // common practice: 1.5 to 2 times
    for (const double size : sizes)
        if (size >= over * normal_.drawn.value()) return "a time-lag fuse of " + say(amps(size)) + " in the hot lead";
    return "the fuse of the label";
}

std::string Stages::straight() const {
    const std::string fuse = "behind " + std::string(fuse_.empty() ? "" : "the ") + fuse_words();
    if (set_.direct_line())
        return "straight on the direct-current line, or on an isolated direct supply of its volts, " + fuse;
    return "straight on the line through the isolation transformer, " + fuse;
}

std::string Stages::lamp_words(double lamp) const {
    return figure(lamp) + " W " + figure(set_.lamp_volts) + " V";
}

bool Stages::transformer_alone() {
    std::vector<std::string> line_side = set_.line_parts;
    line_side.insert(line_side.end(), set_.line_capacitors.begin(), set_.line_capacitors.end());
    const std::vector<Need> needs = {
        {"H1", std::nullopt, "nobody has plugged it in since it was found"},
        {"H5", line_side},
        {"H6", set_.winding_capacitors, "rectifier out, every capacitor across a plate winding lifted or new"}};
    std::vector<std::string> out = set_.rectifiers;
    out.insert(out.end(), set_.others.begin(), set_.others.end());
    out.insert(out.end(), set_.lamps.begin(), set_.lamps.end());
    for (const double lamp : {lamps_.alone, 0.0}) {
        const auto stage_around = trials_.around(trials_.condition(Scenario::transformer_alone, lamp));
        if (!stage_around) return false;
        const Solution* solved = &stage_around->healthy;
        PowerStage& s = stage(lamp > 0 ? "transformer alone, behind the lamp" : "transformer alone, full line, watched",
                              lamp > 0 ? 5 : set_.minutes("transformer-alone"));
        s.gate = gates_.gate(needs, ActKind::power_transformer_alone);
        s.remove = {"rectifier, all tubes, dial lamps: " + listed(out)};
        if (!set_.line_capacitors.empty())
            s.remove.push_back("old line capacitors: " + listed(set_.line_capacitors) + " new, or lifted");
        if (!set_.winding_capacitors.empty())
            s.remove.push_back("across the plate winding: " + listed(set_.winding_capacitors) +
                               " lifted, or new and rated for it");
        if (const std::string bad = set_.found_bad(); lamp > 0 && !bad.empty())
            s.remove.push_back("bad as found: " + bad + ": new or mended before the stage that powers it");
        s.connect = {lamp > 0 ? lamp_words(lamp) + " incandescent lamp in series, isolation transformer before it"
                              : straight()};
        live(s, solved->line_volts, lamp);
        readings_.supply(s, *stage_around, lamp, true);
        readings_.windings(s, *stage_around, true);
        s.notice = {"hum that grows, wax smell, heat",
                    lamp > 0
                        ? std::string("the lamp may flash once, then ") + glow(solved->lamp_volts / set_.lamp_volts)
                        : "after half an hour barely warm to the hand, plug out"};
        s.acts = {{K::power_transformer_alone,
                   {set_.part(set_.transformer).id},
                   lamp > 0 ? "behind the lamp" : "full line, watched",
                   lamp > 0 ? 5.0 : 30.0},
                  {K::discharge, {}, "plug out", 0}};
    }
    return true;
}

bool Stages::heaters() {
    std::vector<std::string> in = set_.others;
    in.insert(in.end(), set_.lamps.begin(), set_.lamps.end());
    bool refitted = false;
    for (const double lamp : {lamps_.first, 0.0}) {
        const auto stage_around = trials_.around(trials_.condition(Scenario::rectifier_out, lamp));
        if (!stage_around) return false;
        const Solution* solved = &stage_around->healthy;
        PowerStage& s = stage(lamp > 0 ? "heaters, behind the lamp" : "heaters, full line", set_.minutes("heaters"));
        s.gate = gates_.gate({{"H8", set_.couplers}, {"H9", set_.bias}, {"H20", set_.output_tubes()}},
                             ActKind::power_heaters);
        s.connect = {"tubes and dial lamps in: " + listed(in)};
        s.remove = {"rectifier: " + listed(set_.rectifiers)};
        live(s, solved->line_volts, lamp);
        readings_.supply(s, *stage_around, lamp);
        readings_.windings(s, *stage_around, false);
        s.notice = {"each heater and dial lamp glows within half a minute",
                    "with the rectifier out heaters read 2 to 5 % higher than later: they are judged in service"};
        if (!refitted && !in.empty()) s.acts.push_back({K::refit_tube, in, "all but the rectifier", 0});
        refitted = true;
        s.acts.push_back({K::power_heaters, {}, lamp > 0 ? "behind the lamp" : "full line", set_.minutes("heaters")});
        s.acts.push_back({K::discharge, {}, "plug out", 0});
    }
    return true;
}

/// Of a set without a transformer: the fuse that the list has for it is not in by the log.
std::string Stages::fuse_lacks() const {
    const std::vector<std::string>& done = set_.progress.steps_done;
    const bool has_one = std::any_of(set_.line_parts.begin(), set_.line_parts.end(), [&](const std::string& id) {
        const int i = set_.chassis.part(id);
        return i >= 0 && set_.part(i).kind == PartKind::fuse;
    });
    const bool fitted = in(done, "fit-fuse") || deed_done(set_.progress, word(K::fit_fuse));
    if (has_one || fitted || fuse_.empty() || set_.chassis.nodes().line_hot < 0) return {};
    return "no fuse stands in the line: " + fuse_ + " is listed (enter its step)";
}

std::vector<Need> Stages::supply_needs() const {
    std::vector<Need> needs;
    std::vector<std::string> tubes = set_.rectifiers;
    if (set_.transformer >= 0 && set_.vibrators.empty()) {
        needs.push_back({"H6"});
    } else {
        std::vector<std::string> line_side = set_.line_parts;
        line_side.insert(line_side.end(), set_.line_capacitors.begin(), set_.line_capacitors.end());
        needs = {{"H1", std::nullopt, "nobody has plugged it in since it was found"},
                 {"H5", line_side, {}, false, fuse_lacks()}};
        if (set_.on_string() || set_.chassis.family() == Family::portable)
            needs.push_back(
                {"H12", std::nullopt,
                 "every tube is in its socket" + std::string(set_.lamps.empty() ? "" : ", and the dial lamp")});
        needs.push_back({"H8", set_.couplers});
        needs.push_back({"H9", set_.bias});
        const std::vector<std::string> output = set_.output_tubes();
        tubes.insert(tubes.end(), output.begin(), output.end());
    }
    std::vector<std::string> guards = set_.guards;
    needs.push_back({"H7", guards});
    for (const char* rule : {"H11", "H17", "H19"}) needs.push_back({rule});
    needs.push_back({"H20", tubes});
    needs.push_back({"H21"});
    needs.push_back({"H23", set_.electrolytics});
    return needs;
}

// A string behind a lamp: the cold heaters take the lamp at first, then it settles; where they stay too cool no tube
// gives current and only a short or a gap shows.
void Stages::string_behind(PowerStage& s, const Around& a, bool first) const {
    const Solution& in = a.healthy;
    double rated = 0, now = 0;
    for (const HeaterVolts& h : in.heaters) {
        if (set_.part(h.part).kind != PartKind::socket) continue;
        rated += h.rated.value();
        now += h.across.value();
    }
    const bool cathodes = !set_.rectifiers.empty();
    if (rated > 0)
        s.notice.push_back("the string of " + say(volts(rated)) + " runs at " + figure(std::round(100 * now / rated)) +
                           " % of its volts behind this lamp" +
                           (trials_.warm_enough(in)
                                ? std::string()
                                : ": no tube gives current yet, so that B-plus says nothing and the "
                                  "glow tells a short, or a gap (dark), and no more"));
    if (cathodes) {
        s.notice.push_back(
            std::string("bright at once while the heaters are cold (a sixth of their hot ohms), then ") +
            glow(in.lamp_volts / set_.lamp_volts) +
            " within a minute; white and staying so: a short, switch off; dark from the first: the string is open");
        s.notice.push_back("one tube that flares as it is switched on and settles has the lightest heater: no fault");
        s.remove = {
            "nothing: the rectifier's heater is a link, there is no stage without it; no tube is pulled or pushed "
            "with the line on (the gap takes all of the line)"};
    } else {
        s.notice.push_back(std::string("the lamp flashes as the filters charge, then ") +
                           glow(in.lamp_volts / set_.lamp_volts) + "; white and staying so: a short, switch off");
        s.remove = {
            "nothing: without a tube its gap and the filter at the string take the whole feed; no tube is pulled or "
            "pushed but with every filter empty"};
    }
    if (const std::string bad = set_.found_bad(); first && !bad.empty())
        s.remove.push_back("bad as found: " + bad + ": new or mended before the line");
    if (first && set_.direct_line())
        s.connect.push_back(
            "no isolation transformer: on direct current it burns; an isolated direct supply where there is "
            "one, else nobody touches the set, its metal or the meter while it is on");
    else if (first)
        s.connect.push_back("isolation transformer of " +
                            figure(std::ceil(times_watts * normal_.line_watts.value() / 10) * 10) +
                            " VA or more, this set alone on it, its secondary earthed nowhere");
}

bool Stages::behind_lamp() {
    const bool string = set_.transformer < 0;
    bool refitted = false;
    for (const double lamp : {lamps_.first, lamps_.larger}) {
        const auto stage_around = trials_.around(trials_.condition(Scenario::lamp, lamp));
        if (!stage_around) return false;
        const Solution* solved = &stage_around->healthy;
        PowerStage& s = stage(refitted ? "all tubes, larger lamp"
                              : string ? "all tubes, behind the lamp"
                                       : "rectifier in, behind the lamp",
                              set_.minutes("power-stage"));
        s.gate = gates_.gate(supply_needs(), ActKind::power_b_plus);
        if (string)
            s.connect = {"all tubes" + std::string(set_.lamps.empty() ? "" : " and dial lamps") +
                         " in, before the line: " + listed(tubes_and_lamps())};
        else
            s.connect = {"rectifier in: " + listed(set_.rectifiers)};
        if (!set_.riding.empty()) s.connect.push_back("speaker plugged before the line: " + listed(set_.riding));
        s.connect.push_back(lamp_words(lamp) + " incandescent lamp in series");
        live(s, solved->line_volts, lamp);
        readings_.supply(s, *stage_around, lamp);
        readings_.b_plus(s, *stage_around, trials_.warm_enough(*solved));
        if (!string && refitted && trials_.warm_enough(*solved)) output_tube_out(s, lamp);
        if (trials_.warm_enough(*solved) && !readings_.first_half_minute(s, lamp)) return false;
        s.notice = {"red plates; blue haze that moves inside the glass (blue on the glass is harmless)",
                    "hum at once: a filter; hum after fifteen seconds: the output stage"};
        if (string)
            string_behind(s, *stage_around, !refitted);
        else
            s.notice.push_back("lamp bright for the first seconds, then " +
                               std::string(glow(solved->lamp_volts / set_.lamp_volts)) +
                               "; bright again after ten to twenty seconds and staying so: switch off");
        if (!set_.dry_rectifiers.empty())
            s.notice.push_back(
                "a smell of bad radish or garlic is the dry rectifier: switch off, air the room, out with it");
        if (const std::vector<std::string> left = trials_.untold(*stage_around); !left.empty()) {
            double from = lamp_sizes().back();
            for (const double size : lamp_sizes())
                if (size >= (refitted ? lamps_.larger_wanted : lamps_.first_wanted)) from = std::min(from, size);
            s.notice.insert(s.notice.begin(),
                            "no standard lamp of " + figure(from) + " W or more tells " + listed(left) +
                                " from health, by its glow or by B-plus: " + figure(lamp) +
                                " W is taken, and only the cold ohms can tell: read them again before the line");
        }
        if (const std::string text = set_.caution("speaker-plug"); !text.empty() && set_.plug_carries)
            s.cautions.push_back(text);
        if (!refitted) {
            if (!set_.riding.empty()) s.acts.push_back({K::plug_speaker, set_.riding, "plug out, empty", 0});
            if (!set_.through.empty()) s.acts.push_back({K::measure, set_.through, "continuity through the plug", 0});
            if (string)
                s.acts.push_back({K::refit_tube, tubes_and_lamps(), "all of the string", 0});
            else
                s.acts.push_back({K::refit_tube, set_.rectifiers, "rectifier", 0});
        }
        refitted = true;
        s.acts.push_back({K::power_b_plus, {}, figure(lamp) + " W lamp", set_.minutes("power-stage")});
        s.acts.push_back({K::discharge, {}, "plug out", 0});
    }
    return true;
}

bool Stages::full_line() {
    PowerStage& s = stage("full line", set_.minutes("power-stage"));
    s.gate = gates_.gate({{"H17"}, {"H11"}}, ActKind::power_full_line);
    s.connect = {straight()};
    live(s, normal_.line_volts, 0);
    const auto stage_around = trials_.around(trials_.condition(Scenario::normal));
    if (!stage_around) return false;
    readings_.supply(s, *stage_around, 0);
    readings_.b_plus(s, *stage_around, true);
    if (set_.transformer >= 0) readings_.windings(s, *stage_around, false);
    if (set_.on_string()) readings_.heaters(s, *stage_around);
    if (set_.chassis.family() == Family::portable) readings_.filaments(s, *stage_around);
    readings_.pins(s, *stage_around);
    if (!set_.direct_line()) readings_.ripple(s, normal_);
    if (!readings_.first_half_minute(s, 0)) return false;
    full_ = std::move(*stage_around);
    s.notice = {"red plates, smell, a cap that warms; after five minutes the volts stand still",
                "write every reading down: alignment waits for it"};
    if (set_.on_string()) s.remove = {"nothing; no tube is pulled or pushed with the line on"};
    if (set_.direct_line())
        s.notice.insert(s.notice.begin(),
                        "heaters and no B-plus: the plug is the wrong way round for direct current; off, "
                        "turn it");
    s.acts = {{K::power_full_line, {}, "full line", 15},
              {K::log_volts, {}, "every pin", 0},
              {K::discharge, {}, "plug out", 0}};
    return true;
}

// The leak of a coupler with nothing else on the grid: its tube pulled, plug out, and put back after. Only where the
// heaters are not in a string, and where nothing then stands over its rating.
void Stages::output_tube_out(PowerStage& s, double lamp) const {
    for (int socket : set_.duties.output_tubes) {
        const Part& p = set_.part(socket);
        Condition c = trials_.condition(Scenario::tube_out, lamp);
        c.tube = p.id;
        const auto out = trials_.solve(c);
        if (!out) continue;
        const bool over = std::any_of(set_.filters.begin(), set_.filters.end(), [&](int f) {
            return std::any_of(set_.chassis.nets()[at(f)].leads.begin(), set_.chassis.nets()[at(f)].leads.end(),
                               [&](const LeadRef& ref) {
                                   const Part& q = set_.part(ref.part);
                                   return q.kind == PartKind::capacitor && q.rated_volts &&
                                          out->nets[at(f)].crest.value() > *q.rated_volts;
                               });
        });
        for (const Lead& l : p.leads) {
            const Pin* pin = p.type->pin(l.name);
            if (over || !pin || l.net < 0 || l.net == set_.chassis.reference()) continue;
            if (pin->electrodes.front().rfind("g1", 0) != 0 || out->nets[at(l.net)].undetermined) continue;
            const double v = out->nets[at(l.net)].meter.value();
            const double most = grid_most * trials_.meter_share(out->nets[at(l.net)], grid_most);
            StageReading r = reading(set_.name(l.net), set_.name(set_.chassis.reference()), "volts dc", v,
                                     v - most / 2 - 0.1 * std::fabs(v), v + most / 2 + 0.05 * std::fabs(v),
                                     v + most + 0.1 * std::fabs(v), "the bias itself is more than solved",
                                     "the coupler leaks: nothing else is left on this grid; a new one before the tube "
                                     "goes back");
            r.when = p.id + " pulled and put back with the plug out";
            s.readings.push_back(std::move(r));
        }
    }
}

const Reading* Stages::logged_reading(const StageReading& row) const {
    const Reading* last = nullptr;
    for (const Reading& one : set_.progress.readings) {
        const bool meant = one.quantity == row.quantity && set_.chassis.net(one.at) == set_.chassis.net(row.at) &&
                           (one.to.empty() || set_.chassis.net(one.to) == set_.chassis.net(row.to));
        const bool otherwise = std::any_of(not_at_full_line.begin(), not_at_full_line.end(), [&](const char* word) {
            return one.conditions.find(word) != std::string::npos;
        });
        if (!meant || otherwise || !gates_.holds_still(one)) continue;
        const bool here = one.value >= row.low && one.value <= row.high;
        const auto passed = [&](const PowerStage& stage) { return gates_.passed_with(stage); };
        // a stage back: what was read before at full line is at an end
        last = here || !fits_behind_a_lamp(set_, sheet_.stages, passed, one) ? &one : nullptr;
    }
    return last;
}
/// H13: what of full line's volts is not in the log, or is not right there. Volts go with the line; a meter that
/// loads more than the sheet's reads less, and is held to the upper end alone.
Stages::VoltsLack Stages::working_volts_lack() const {
    std::string wrong, missing, past_stop, wrong_at;
    for (const StageReading& row : sheet_.stages.back().readings) {
        if (row.quantity != "volts dc" || row.when == half_minute || row.says_nothing) continue;
        const Reading* read = logged_reading(row);
        if (read == nullptr) {
            if (row.stop || row.stop_below) missing += (missing.empty() ? "" : ", ") + row.at;
            continue;
        }
        const double line = read->line_volts > 0 ? read->line_volts / set_.line_volts : 1;
        const bool loads = read->meter.find("/V") != std::string::npos && set_.policy.meter.ohms_per_volt <= 0;
        constexpr double last_digit = 0.005;  // half of the last one that a meter of two decimals shows
        const bool over = read->value > row.high * line + last_digit,
                   under = read->value < row.low * line - last_digit && !loads;
        if (!over && !under) continue;
        const bool stop = (over && row.stop && read->value > *row.stop * line) ||
                          (under && row.stop_below && read->value < *row.stop_below * line);
        const std::string words = row.at + " reads " + say(volts(read->value)) + " where " +
                                  say(volts(row.low * line)) + " to " + say(volts(row.high * line)) + " is right" +
                                  (stop ? ", past its STOP" : "");
        if (wrong.empty()) wrong_at = row.at;
        wrong += (wrong.empty() ? "" : "; ") + words;
        if (stop) past_stop += (past_stop.empty() ? "" : "; ") + words;
    }
    if (!wrong.empty()) return {wrong, past_stop, wrong_at};
    if (missing.empty()) return {};
    return {
        "no reading in the log since the last change of " + missing + " (enter what they read, or sign H13 and why)",
        {},
        {}};
}

void Stages::soak() {
    const VoltsLack lack = gates_.logged() ? working_volts_lack() : VoltsLack();
    // full line is not passed, nor tried once more, while its last reading says STOP
    if (!lack.past_stop.empty() && set_.progress.overrides.count("H13") == 0) {
        Gate& gate = sheet_.stages.back().gate;
        gate.state = "shut";
        gate.opened_by.push_back(no_reading_past_stop);
        gate.proof.push_back({false, lack.past_stop + find_out, GateProof::Reading::against, lack.wrong_at});
    }
    PowerStage& s = stage("soak, watched", set_.minutes("soak"));
    s.gate = gates_.gate({{"H13", std::nullopt, {}, false, lack.words}}, ActKind::soak);
    for (GateProof& proof : s.gate.proof)
        if (!proof.holds && proof.words == lack.words) {
            proof.reading = lack.wrong_at.empty() ? GateProof::Reading::missing : GateProof::Reading::against;
            proof.at = lack.wrong_at;
        }
    s.connect = {"as at full line"};
    if (set_.chassis.family() == Family::portable && set_.chassis.nodes().line_hot >= 0)
        s.connect.insert(s.connect.begin(),
                         "B battery off, then A off; changeover switch to line; every filter empty, then the plug in");
    live(s, normal_.line_volts, 0);
    if (set_.b_plus >= 0)
        readings_.net(s, *full_, set_.b_plus, "something warms and leaks", "a tube has stopped drawing");
    for (int socket : set_.duties.output_tubes)
        for (const Lead& l : set_.part(socket).leads)
            if (const Pin* pin = set_.part(socket).type->pin(l.name); pin && pin->electrodes.front()[0] == 'k')
                readings_.net(s, *full_, l.net, "the tube fades", "grid current or a coupler that leaks warm");
    if (s.readings.empty() && full_)
        for (int socket : set_.duties.output_tubes)
            for (const Lead& l : set_.part(socket).leads)
                if (const Pin* pin = set_.part(socket).type->pin(l.name); pin && pin->electrodes.front()[0] == 'p')
                    readings_.net(s, *full_, l.net, "it draws more as it warms",
                                  "the tube fades, or a battery is tired");
    s.notice = {std::string("crackle like thunder: silver mica in the IF cans"),
                (set_.transformer >= 0 && set_.vibrators.empty()
                     ? "transformer warm to the hand after an hour, not hot: five seconds on it are bearable"
                     : "hot by design: droppers, the rectifier, the output tube; wax that runs is not"),
                "never left"};
    s.acts = {{K::soak, {}, "watched", 90}, {K::discharge, {}, "plug out", 0}};
}

// The resistor from B-minus to the metal, with the capacitor beside it, may pass the limit by itself: then the next
// standard value that does not.
double Stages::resistor_for_touch(PowerStage& s, double ohms, double siemens) const {
    constexpr std::array sizes{270e3, 330e3, 390e3, 470e3, 560e3, 680e3, 820e3, 1e6, 2.2e6};
    const double most = threat::touch_limit_amps / *s.line_volts;
    if (std::hypot(1 / ohms, siemens) <= most || siemens >= most) return ohms;
    const auto size =
        std::find_if(sizes.begin(), sizes.end(), [&](double r) { return std::hypot(1 / r, siemens) <= most; });
    if (size == sizes.end()) return ohms;
    std::string which = "the resistor from B-minus to the metal";
    for (const Part& p : set_.chassis.parts())
        if (p.kind == PartKind::resistor && p.leads.size() == 2 &&
            (p.leads[0].net == set_.metal() || p.leads[1].net == set_.metal()) &&
            (p.leads[0].net == set_.chassis.reference() || p.leads[1].net == set_.chassis.reference()))
            which = p.id;
    s.connect.insert(s.connect.begin(), which + " at least " + say(tubewright::ohms(*size)) + ": with " +
                                            say(tubewright::ohms(ohms)) + " the metal passes " +
                                            say(amps(*s.line_volts * std::hypot(1 / ohms, siemens))) +
                                            " to a hand, over the limit");
    return *size;
}

void Stages::touch_current() {
    PowerStage& s = stage("touch current, in three steps", set_.minutes("touch-current"));
    s.gate = gates_.gate({{"s14"}, {"H22", set_.line_capacitors}}, ActKind::check_touch_current);
    s.connect = {"(a) plug out, blades joined, switch on: ohms to each touchable part",
                 "(b) straight on the line without the isolation transformer, nobody touching: meter and 47 k 2 W "
                 "to a known earth, clipped on first",
                 "(c) the same with 1.5 k and .15 uF across it",
                 "both ways of the plug by a reversing lead, switch on and off"};
    s.remove = {"isolation transformer, for (b) and (c) only"};
    if (set_.chassis.hot())
        s.remove.push_back(
            "the meter, off B-minus, before the isolation transformer comes out: metal and B-minus are the line in one "
            "plug position; nobody touches the set or a lead while it is on");
    if (!set_.earth.name.empty())
        s.remove.push_back(set_.earth.name + ", for all three: an earthed chassis reads nothing, whatever leaks");
    s.line_volts = choice::upper_line_volts(set_.chassis, set_.policy);
    s.cautions = {set_.caution("local-code"), set_.caution("alone"), set_.caution("b-plus")};
    s.at_stop = {"over the limit: unplug; the set is not handed back until the path is found"};
    // What stands from line to metal passes: capacitors at the values that the touch limit leaves, and the resistor
    // beside them. A metal that is the line itself is no touchable part: what is tried is what covers it.
    double farads = 0, ohms = 0;
    for (double old : set_.touch_old)
        farads += choice::touch_safe_farads(set_.catalogue, old, *s.line_volts, set_.line_hertz,
                                            static_cast<int>(set_.touch_old.size()));
    const NodeRoles& roles = set_.chassis.nodes();
    for (const int blade : {roles.line_hot, roles.line_neutral})
        if (blade >= 0 && set_.copper.reached({blade})[at(set_.metal())])
            if (const Outcome<Ohms> path = trials_.bench().cold_ohms(blade, set_.metal()))
                ohms = ohms > 0 ? std::min(ohms, path->value()) : path->value();
    const bool covered = ohms > 0 && ohms < line_itself;
    if (covered) {
        farads = ohms = 0;
        s.notice.push_back(
            "the metal is the line: what a hand reaches is tried (knobs, screws, back, antenna), each must "
            "be open; one that is not is covered or insulated first");
    }
    if (set_.direct_line()) farads = 0;
    const double omega = 2 * pi * set_.line_hertz;
    if (ohms > 0) ohms = resistor_for_touch(s, ohms, omega * farads);
    const auto divided = [&](std::complex<double> load) {
        const std::complex<double> y((ohms > 0 ? 1 / ohms : 0), omega * farads);
        return std::abs(y) > 0 ? *s.line_volts * std::abs(load / (load + 1.0 / y)) : 0.0;
    };
    const std::complex<double> network = 1.0 / std::complex<double>(1 / network_ohms, omega * network_farads);
    const double cold = ohms > 0 ? ohms : 1e7;
    // Fewer ohms pass the limit at the upper line by themselves.
    const double least = touch_least_ohms(set_);
    s.readings.push_back(reading("joined blades", "each touchable part", "ohms", cold,
                                 ohms > 0 ? std::min(std::max(0.8 * ohms, least), ohms) : 1e6,
                                 ohms > 0 ? 1.4 * ohms : 1e9, ohms > 0 ? least : 1e6,
                                 "a path from line to metal: find it",
                                 ohms > 0 ? "the resistor from B-minus to the metal has gone high" : ""));
    const char* quantity = set_.direct_line() ? "volts dc" : "volts ac";
    s.readings.push_back(reading("each touchable part", "earth through 47 k", quantity, divided(touch_ohms), 0,
                                 std::min(touch_volts, 1.3 * divided(touch_ohms) + 1), touch_volts, "",
                                 "over .5 mA: an ordinary capacitor from line to metal, or damp insulation"));
    s.readings.push_back(reading("each touchable part", "earth through 1.5 k and .15 uF", quantity, divided(network), 0,
                                 std::min(network_volts, 1.3 * divided(network) + 0.05), network_volts, "",
                                 "over .5 mA"));
    if (!set_.earth.name.empty() && farads > 0)
        for (StageReading& r : s.readings) {
            if (r.quantity != "volts ac") continue;
            r.low = r.expect / 2;
            r.if_low = &r == &s.readings.back() ? "as through 47 k: the earth first"
                                                : "the earth is still on, or no new capacitor stands from line "
                                                  "to metal";
        }
    s.notice.insert(s.notice.begin(), {"each screw, shaft, knob bush, grille and antenna lead",
                                       "figures are of the upper line limit, " + say(volts(*s.line_volts)) +
                                           ": on a lower line they are less"});
    s.acts = {{K::check_touch_current, {}, "cold: blades joined", 0},
              {K::check_touch_current, {}, "47 k 2 W", 0},
              {K::check_touch_current, {}, "1.5 k with .15 uF", 0},
              {K::discharge, {}, "plug out", 0}};
    if (set_.earth.on) s.acts.insert(s.acts.begin(), {K::lift_earth, set_.earth.over, "off the metal", 0});
}

}  // namespace tubewright::power_up
