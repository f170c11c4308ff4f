// SPDX-License-Identifier: MIT
// The stages that every family has: label, eyes, cold ohms, and hand-back at the end. See stages.hpp.
#include "order/stages.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "bench/residue.hpp"
#include "chassis/data.hpp"
#include "choice/figure.hpp"
#include "order/cold_table.hpp"

namespace tubewright::power_up {
namespace {

using choice::figure;
using choice::listed;
using K = ActKind;

constexpr double reversed_volts = 1.5;  // an electrolytic bears this backwards (common practice)
constexpr double re_age_over = 75;      // volts: above it through 100 k, else 10 k (makers' re-ageing, as quoted)
constexpr double re_age_amps = 1e-3;    // no more than this while it forms
constexpr double re_age_hours = 4;      // at its working volts, at least

/// K C + .3 mA, K by its volts (JAN-C-62, as quoted second hand).
double leak_allowed(double farads, double rated) {
    const double k = rated <= 100 ? 0.01 : rated <= 250 ? 0.02 : rated <= 350 ? 0.025 : 0.04;
    return (k * farads * 1e6 + 0.3) * 1e-3;
}

}  // namespace

Stages::Stages(const SetOnBench& set, Trials& trials, Lamps lamps, std::string fuse, PowerUp& sheet)
    : set_(set),
      trials_(trials),
      gates_(set),
      readings_(set, trials, set.batteries.empty() || set.chassis.nodes().line_hot >= 0 ? "line" : "battery"),
      lamps_(lamps),
      fuse_(std::move(fuse)),
      sheet_(sheet) {
    if (auto normal = trials.solve(trials.condition(Scenario::normal))) normal_ = std::move(*normal);
}

PowerStage& Stages::stage(const std::string& title, double minutes) {
    PowerStage s;
    s.stage = static_cast<int>(sheet_.stages.size()) + 1;
    s.name = title;
    s.minutes = minutes;
    sheet_.stages.push_back(std::move(s));
    return sheet_.stages.back();
}

void Stages::live(PowerStage& s, double line, double lamp, bool of_line) const {
    s.line_volts = line;
    if (lamp > 0) s.lamp_watts = lamp;
    of_line = of_line && set_.chassis.nodes().line_hot >= 0;
    for (const char* topic : {"b-plus", "one-hand", "alone", "unattended", "isolation", "lamp", "hot-chassis",
                              "resistance-cord", "vehicle-supply", "vibrator-volts", "local-code"}) {
        const std::string_view t = topic;
        if (t == "lamp" && lamp <= 0) continue;
        if ((t == "isolation" || t == "local-code") && !of_line) continue;
        if (t == "isolation" && set_.direct_line()) continue;
        if (t == "hot-chassis" && (!set_.chassis.hot() || !of_line)) continue;
        if (t == "resistance-cord" && set_.resistance_cords.empty()) continue;
        if ((t == "vehicle-supply" || t == "vibrator-volts") && set_.vibrators.empty()) continue;
        if (const std::string text = set_.caution(topic); !text.empty()) s.cautions.push_back(text);
    }
    s.at_stop = {of_line ? "switch off, unplug, hands off" : "switch off, battery lead off, hands off",
                 "write the reading down", "discharge each filter section",
                 "go back a stage and find out why; never once more to see"};
}

std::vector<std::string> Stages::tubes_and_lamps() const {
    std::vector<std::string> list = set_.rectifiers;
    list.insert(list.end(), set_.others.begin(), set_.others.end());
    list.insert(list.end(), set_.lamps.begin(), set_.lamps.end());
    return list;
}

void Stages::polarity_of_supply(PowerStage& s) const {
    for (const Part& p : set_.chassis.parts())
        if (p.kind == PartKind::battery && p.leads.size() == 2)
            s.notice.push_back(p.id + ", " + say(volts(p.rated_volts.value_or(1.5))) + ": plus to " +
                               set_.name(p.leads[0].net) + ", minus to " + set_.name(p.leads[1].net) +
                               "; turned round it kills filaments and electrolytics");
}

void Stages::label() {
    PowerStage& s = stage("label and supply", set_.minutes("label-check"));
    s.gate = gates_.gate({}, K::inspect);
    s.acts = {{K::check_supply, {}, "label against supply", 0}};
    if (set_.chassis.nodes().line_hot < 0) {
        s.notice = {"the label's battery volts and the battery here agree"};
        polarity_of_supply(s);
        if (!set_.vibrators.empty())
            s.notice.push_back(
                "which pole is on the frame decides the plug and, behind a synchronous vibrator, B-plus");
        return;
    }
    const double own = set_.chassis.line().volts, cycles = set_.chassis.line().hertz;
    const bool direct = set_.direct_line();
    const auto kind = [&](double hertz) {
        return direct ? std::string(" direct current") : " " + figure(hertz) + " cycles";
    };
    s.notice = {"the label: " + figure(own) + " V" + kind(cycles) + "; the line here: " + say(volts(set_.line_volts)) +
                    kind(set_.line_hertz),
                "taps, selector and links agree with it"};
    if (direct)
        s.notice.push_back(
            "on direct current one way round of the plug gives heaters and no B-plus: turn the plug, "
            "nothing is wrong; a series lamp works as on alternating current");
    else if (set_.chassis.family() == Family::doubler)
        s.notice.push_back("alternating current only: the doubler has no B-plus on direct current");
    if (set_.line_hertz != cycles && !direct)
        s.notice.push_back(figure(set_.line_hertz) + " cycles where " + figure(cycles) +
                           " are marked: a core bears more cycles, a motor or a clock does not");
    const double over = set_.line_volts / own;
    if (over > 1.05 || over < 0.95)
        s.notice.push_back("this line stands " + figure(std::round(100 * std::fabs(over - 1))) + " % " +
                           (over > 1 ? "over" : "under") +
                           " the marked one: heaters stand as far off; bring it to the mark if you can");
}

// Where plus and minus go, by the solution; the file's word counts only where it agrees.
std::string Stages::polarity(const Part& p) const {
    if (p.leads.size() < 2) return p.id + ": one lead in the file; trace both";
    const int plus = p.leads[0].net, minus = p.leads[1].net;
    const NetVolts &up = normal_.nets[at(plus)], &down = normal_.nets[at(minus)];
    const double stands = up.dc.value() - down.dc.value();
    if (!up.undetermined && !down.undetermined && stands < -reversed_volts && !bench::residue_only(p, stands, stands))
        return "STOP: " + p.id + ": the file has plus at " + set_.name(plus) + ", but " + set_.name(minus) +
               " stands " + say(volts(-stands)) + " above it: plus goes to " + set_.name(minus) +
               "; trace it before anything is powered";
    std::string text = p.id + ": plus to " + set_.name(plus) + ", minus to " + set_.name(minus);
    if (minus != set_.chassis.nodes().chassis_metal && set_.chassis.nodes().chassis_metal >= 0)
        text += ", insulated from the chassis";
    return text;
}

void Stages::eyes() {
    PowerStage& s = stage("eyes and hands, plug out", set_.minutes("visual"));
    std::vector<Need> needs = {{"H0"}, {"H1"}, {"H2"}, {"H3"}, {"H17"}};
    if (set_.earth.forbidden()) needs.push_back({"H22", std::nullopt, set_.earth.name + " is off the metal"});
    s.gate = gates_.gate(needs, K::inspect);
    s.remove = {set_.chassis.nodes().line_hot >= 0 ? "plug from the wall" : "battery leads off"};
    s.connect = {"black clip to " + set_.name(set_.chassis.reference()) + ", with the plug out; it stays there"};
    s.notice = {"nothing lifted, nothing left out", "plus of each electrolytic at its lug",
                set_.rectifiers.empty()
                    ? "no lead on a sharp edge, no lamp lead on the metal"
                    : "no lead on a sharp edge, no lamp lead on the metal, no track between rectifier pins"};
    if (set_.chassis.hot()) {
        s.notice.push_back(
            set_.chassis.nodes().chassis_metal == set_.chassis.reference()
                ? "the metal is the line: every set-screw covered, knobs and back on before anyone but you is near"
                : "B-minus is the line and the metal one part away from it: nothing but that part joins the two");
        s.notice.push_back("no earth wire, no earthed generator, scope or cord on it, in any stage");
    }
    if (!set_.resistance_cords.empty())
        s.notice.push_back(listed(set_.resistance_cords) +
                           ": the resistance cord whole, uncut, uncoiled, off the wood; it runs warm by design");
    for (const std::string& id : set_.electrolytics) s.notice.push_back(polarity(set_.part(set_.chassis.part(id))));
    s.acts = {{K::settle_reference, {}, set_.name(set_.chassis.reference()), 0},
              {K::inspect, set_.line_parts, "line side", 0}};
    if (!set_.earth.forbidden()) return;
    s.remove.push_back(set_.earth.name + ": off the metal until the touch current is read");
    s.acts.push_back({K::lift_earth, set_.earth.over, "off the metal", 0});
}

void Stages::cold_ohms(bool tubes_in) {
    PowerStage& s =
        stage(tubes_in                                          ? "cold ohms, plug out, switch on, all tubes in"
              : set_.transformer >= 0 && set_.vibrators.empty() ? "cold ohms, plug out, switch on, rectifier out"
                                                                : "cold ohms, plug out, switch on, tubes out",
              set_.minutes("cold-ohms"));
    const std::vector<std::string> all = tubes_and_lamps();
    s.gate =
        gates_.gate({{"H3"}, {"H1", std::nullopt, "plug out, every filter section discharged", true}}, K::cold_ohms);
    s.remove = {set_.chassis.nodes().line_hot >= 0 ? "plug from the wall" : "battery leads off"};
    s.connect = {"ohmmeter, black to " + set_.name(set_.chassis.reference())};
    s.acts = {{K::discharge, {}, "each filter section", 0}};
    s.notice = {"let each reading climb until it stands: the filters charge"};
    if (const std::string lugs = ground_lugs(); !lugs.empty())
        s.notice.push_back("ground lugs among themselves, under 1 ohm less the leads: " + lugs +
                           "; a rivet that gave up lifts all that hangs on its lug");
    if (!set_.dry_rectifiers.empty()) s.notice.push_back("swap the leads where a metal rectifier is near");
    s.cautions = {set_.caution("charge"), set_.caution("one-hand")};
    if (tubes_in) {
        s.connect.push_back("tubes and dial lamps in, so that the string is read whole: " + listed(all));
        s.notice.push_back("a cold heater is a sixth to an eighth of its hot ohms: the string reads low, and is right");
    } else {
        std::vector<std::string> out = all;
        out.insert(out.end(), set_.vibrators.begin(), set_.vibrators.end());
        s.remove.push_back((set_.vibrators.empty() ? "tubes and dial lamps: " : "tubes, dial lamps, vibrator: ") +
                           listed(out));
        s.acts.push_back({K::remove, out, "tubes and lamps out", 0});
        const std::string filament = set_.caution("battery-filament");
        const Family family = set_.chassis.family();
        if (!filament.empty() && (family == Family::battery || family == Family::portable))
            s.cautions.push_back(filament);
    }
    s.at_stop = {"under half of the solved ohms: do not power; find the short first"};
    s.acts.push_back({K::cold_ohms, {}, "whole set", 0});
    cold_table(set_, trials_.bench(), tubes_in, s, sheet_);
}

// Lugs that the file has on the metal.
std::string Stages::ground_lugs() const {
    const int metal = set_.chassis.nodes().chassis_metal;
    if (metal < 0) return {};
    std::string list;
    const std::vector<std::vector<std::string_view>> names = set_.chassis.data().names_by_net();
    for (const std::string_view name : names[at(metal)]) {
        const int part = set_.chassis.part(name.substr(0, name.find('.')));
        if (part >= 0 && set_.part(part).kind == PartKind::strip)
            list += (list.empty() ? "" : ", ") + std::string(name);
    }
    return list.find(',') == std::string::npos ? std::string() : list;
}

// Each old electrolytic by itself on a supply of its own, one lead free: it forms, or it goes.
void Stages::reform() {
    if (set_.policy.electrolytics != FilterPolicy::reform) return;
    PowerStage& s = stage("form the old electrolytics, each by itself", 0);
    s.gate = gates_.gate({{"H1", std::nullopt, "plug out, every filter section discharged", true}}, K::cold_ohms);
    s.remove = {"the plus lead of each lifted from the set"};
    s.connect = {
        "a direct supply that can be turned up, through 100 k 2 W (10 k for one of 75 V or less), plus to plus; "
        "meter across that resistor"};
    s.cautions = {set_.caution("charge"), set_.caution("b-plus")};
    std::vector<std::string> formed;
    for (const std::string& id : set_.electrolytics) {
        const Part& p = set_.part(set_.chassis.part(id));
        const auto state = set_.progress.parts.find(id);
        const bool renewed = state != set_.progress.parts.end() && state->second == PartState::fitted;
        if (!p.farads || !p.rated_volts || renewed || seen_bad(p)) continue;
        const double leak = leak_allowed(*p.farads, *p.rated_volts);
        const double r = *p.rated_volts > re_age_over ? 100e3 : 10e3;
        StageReading row = reading(id, "across its resistor", "volts dc", r * leak / 2, 0, r * leak, r * leak, "",
                                   "over " + say(amps(leak)) + " at its " + say(volts(*p.rated_volts)) +
                                       " after the hours below: it does not form; a new one");
        row.when = "at its own volts, at the end";
        s.readings.push_back(std::move(row));
        formed.push_back(id);
    }
    s.minutes = formed.empty() ? 0 : 60 * re_age_hours;
    s.notice = {
        "a quarter, a half, three quarters, all of its volts: at each step wait until it draws less than " +
            say(amps(re_age_amps)),
        "then " + figure(re_age_hours) + " hours at its own volts; one that warms, hisses or climbs is done for",
        "dried ones do not come back: its value is read after forming"};
    s.at_stop = {"supply to nothing, discharge it, write it off"};
    s.acts = {{K::discharge, {}, "each filter section", 0}, {K::measure, formed, "formed, leak read", 0}};
    if (formed.empty()) sheet_.stages.pop_back();
}

// What stands over the print of a capacitor in any stage is fitted new before B-plus is let on it at all.
void Stages::old_ratings() {
    std::map<int, double> most;  // net to the most that a healthy set puts there
    for (const PowerStage& s : sheet_.stages)
        for (const StageReading& r : s.readings) {
            const int net = set_.chassis.net(r.at);
            if (!s.line_volts || r.quantity != "volts dc" || net < 0 || r.to != set_.name(set_.chassis.reference()))
                continue;
            most[net] = std::max(most[net], r.high);
        }
    std::string list;
    for (const Part& p : set_.chassis.parts()) {
        const auto state = set_.progress.parts.find(p.id);
        const bool settled = state != set_.progress.parts.end() && state->second == PartState::fitted;
        if (p.kind != PartKind::capacitor || p.leads.size() != 2 || !p.rated_volts || settled || p.seen == "omitted")
            continue;
        double across = 0;
        for (const int k : {0, 1}) {
            const int up = p.leads[at(k)].net, down = p.leads[at(1 - k)].net;
            const auto found = most.find(up);
            if (found == most.end() || down < 0 || down >= static_cast<int>(normal_.nets.size())) continue;
            const NetVolts& below = normal_.nets[at(down)];
            across = std::max(across, found->second - (below.undetermined ? 0 : below.dc.value()));
        }
        if (across > *p.rated_volts)
            list += (list.empty() ? "" : "; ") + p.id + ", " + say(volts(*p.rated_volts)) + " where " +
                    say(volts(across)) + " stands";
    }
    if (list.empty()) return;
    for (PowerStage& s : sheet_.stages)
        if (std::any_of(s.acts.begin(), s.acts.end(), [](const Act& a) {
                return a.kind == K::power_b_plus || a.kind == K::power_full_line || a.kind == K::soak ||
                       a.kind == K::check_touch_current;
            }))
            s.remove.push_back("bad as found: " + list + ": the rating of the shopping list first");
}

void Stages::hand_back() {
    old_ratings();
    PowerStage& s = stage("hand-back: fuse, lamps, tag", set_.minutes("tag"));
    const bool of_line = set_.chassis.nodes().line_hot >= 0;
    s.gate = of_line ? gates_.gate({{"s14"}, {"H15"}}, K::hand_back) : gates_.gate({{"s14"}}, K::hand_back);
    s.remove = {"test leads, clips, the meter; nothing of the bench stays in"};
    s.notice = {fuse_.empty() ? "the fuse: what stands on the label or in shop, in its holder"
                              : "in the holder: " + fuse_};
    std::string dial;
    for (const std::string& id : set_.lamps) {
        const Part& p = set_.part(set_.chassis.part(id));
        if (!p.lamp_type.empty()) dial += (dial.empty() ? "" : ", ") + id + " #" + p.lamp_type.str();
    }
    if (!dial.empty())
        s.notice.push_back("dial lamps: " + dial + "; another type changes the current of what it hangs on");
    if (set_.chassis.hot())
        s.notice.push_back("back on, knobs on, set-screws covered, no earth wire: the metal is " +
                           std::string(set_.chassis.nodes().chassis_metal == set_.chassis.reference()
                                           ? "the line"
                                           : "one part away from the line"));
    s.notice.push_back("three readings again after the soak, in the log");
    s.notice.push_back("TAG, inside the cabinet: the date; " + std::string(of_line ? "line" : "battery") + " of " +
                       say(volts(set_.line_volts)) +
                       "; what was changed; fuse and lamps; what is left undone; who to ask");
    s.notice.push_back("parts taken out, in a bag, with it");
    s.at_stop = {"a gate that is not signed: it is not handed back; tag it: do not plug in"};
    s.acts = {{K::reassemble, {}, "cabinet", 0}};
    if (of_line) s.acts.push_back({K::hand_back, {}, "with its tag", 0});
}

}  // namespace tubewright::power_up
