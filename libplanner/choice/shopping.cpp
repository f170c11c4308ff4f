// SPDX-License-Identifier: MIT
// What to buy for the parts that are to be replaced: the value by the trade's table, the rating from the solved worst
// stress with the policy's deratings, the safety class from the topology, in as few part numbers as that allows.
// Deratings and steps of stock are common practice; the touch limit is the .5 mA of the touch-current classes. Test:
// tests/choice/shopping_test.cpp.
#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>
#include <string_view>

#include <tubewright/choice.hpp>
#include <tubewright/rules.hpp>

#include "chassis/data.hpp"
#include "chassis/reach.hpp"
#include "choice/copper.hpp"
#include "choice/duty.hpp"
#include "choice/figure.hpp"
#include "choice/fuse.hpp"
#include "choice/need.hpp"
#include "choice/numbers.hpp"
#include "choice/polarity.hpp"
#include "choice/safety.hpp"
#include "policy/policy.hpp"
#include "stress/limits.hpp"
#include "threat/touch.hpp"

namespace tubewright {
namespace {

using choice::figure;
using choice::resistor_bears;

using threat::touch_limit_amps;
constexpr double safety_tolerance = 0.20;    // upper tolerance of stocked X and Y parts (common practice)
constexpr double half_wave_ripple = 0.8;     // of its 120 Hz ripple rating that one bears at 60 (recalled)
constexpr double bleed_tolerance = 0.10;     // lower tolerance of a resistor from the line to a hand (common practice)
constexpr double same_value = 0.05;          // 8.2 uF counts as 8 uF
constexpr double volts_630_holds = 500;      // one rating for everything up to this (common practice)
constexpr double filter_may_fall = 0.88;     // of a first filter's value, before two are named (declared)
constexpr double fuse_alone = 0.5;           // without its holder (common practice, no source)
constexpr double x_least_volts = 275;        // class X2 as it is sold (the trade's collection)
constexpr double told_by_volts = 1.0;        // less tells no plus: contact potential (declared)
constexpr double balance_ohms = 220e3;       // across each of two electrolytics in series (common practice)
constexpr double hash_may_differ = 0.12;     // of a hash capacitor's value: .5 goes to .47 uF
constexpr double dropper_may_differ = 0.02;  // of a string's resistor (declared: a hundredth of its current)
constexpr double most_of_class_y = 22e-9;    // class Y parts are stocked up to this (common practice)
constexpr double wire_metres = 0.3;          // a lead of hook-up wire (assumed)
constexpr double track_watts = 0.25;         // of a carbon control of the usual size (common practice)
constexpr double battery_lead_metres = 2;    // from a battery to its set (assumed)
constexpr double pi = 3.14159265358979323846;

std::size_t at(int i) {
    return static_cast<std::size_t>(i);
}

double nearest(const std::vector<double>& ladder, double x) {
    double best = ladder.empty() ? x : ladder.front();
    for (double v : ladder)
        if (std::fabs(std::log(v / x)) < std::fabs(std::log(best / x))) best = v;
    return best;
}
// Smallest step that reaches x; 0 when none does.
double step_up(const std::vector<double>& ladder, double x) {
    for (double v : ladder)
        if (v >= x * (1 - 1e-9)) return v;
    return 0;
}
double step_below(const std::vector<double>& ladder, double x) {
    double below = 0;
    for (double v : ladder)
        if (v < x * (1 - 1e-9)) below = v;
    return below;
}

}  // namespace

namespace choice {

double upper_line_volts(const Chassis& chassis, const Policy& policy) {
    return tubewright::upper_line_volts(
        policy, policy.line.volts.value() > 0 ? policy.line.volts.value() : chassis.line().volts);
}

double line_hertz(const Chassis& chassis, const Policy& policy) {
    const double hertz = policy.line.hertz.value() > 0 ? policy.line.hertz.value() : chassis.line().hertz;
    return hertz > 0 ? hertz : 60;
}

double touch_safe_farads(const Catalogue& catalogue, double old_farads, double upper_line, double hertz,
                         int shared_by) {
    const std::vector<double>& values = catalogue.stock("safety-farads");
    const double most =
        touch_limit_amps / std::max(1, shared_by) / (2 * pi * hertz * upper_line * (1 + safety_tolerance));
    const double wanted = nearest(values, old_farads);
    double taken = 0;
    for (double v : values)
        if (v <= most && v <= wanted * (1 + 1e-9)) taken = v;
    return taken;
}

bool in_reach_of_a_hand(const Chassis& chassis, const LineReach& reach, int part) {
    const int thing = reach.hand[at(part)];
    return !chassis.hot() || thing < 0 || chassis.nets()[at(thing)].touch;
}

std::string bleed_words(const Chassis& chassis, int part) {
    const Part& p = chassis.parts()[at(part)];
    return "bleed from " + chassis.nets()[at(p.leads[0].net)].name + " to " + chassis.nets()[at(p.leads[1].net)].name;
}

// A bleeder and the capacitors beside it pass a hand's current in quadrature.
std::optional<Bleed> bleed_of(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy,
                              const Duties& duties, const LineReach& reach, int part) {
    const auto bleeds = [&](int i) {
        const Part& p = chassis.parts()[at(i)];
        return reach.guards[at(i)] && p.kind == PartKind::resistor && p.ohms && *p.ohms > 0;
    };
    if (!bleeds(part) || !in_reach_of_a_hand(chassis, reach, part)) return std::nullopt;
    const double line = upper_line_volts(chassis, policy), hertz = line_hertz(chassis, policy);
    double resistors = 0, capacitors = 0;
    for (std::size_t k = 0; k < chassis.parts().size(); ++k) {
        const Part& p = chassis.parts()[k];
        const int i = static_cast<int>(k);
        if (reach.hand[k] != reach.hand[at(part)]) continue;
        if (bleeds(i)) resistors += 1 / *p.ohms;
        if (reach.guards[k] && p.kind == PartKind::capacitor && p.farads && duties.of(i) == Duty::line_to_touch)
            capacitors += 2 * pi * hertz * (1 + safety_tolerance) *
                          touch_safe_farads(catalogue, *p.farads, line, hertz, duties.sharing_hand(i));
    }
    const double own = 1 / *chassis.parts()[at(part)].ohms, limit = touch_limit_amps / line;
    Bleed b;
    b.alone = own * line;
    b.in_all = std::hypot(resistors, capacitors) * line;
    b.unsafe = b.in_all > touch_limit_amps;
    const double most = std::sqrt(std::max(0.0, limit * limit - capacitors * capacitors)) - (resistors - own);
    const std::vector<double>& ladder = catalogue.stock("resistor-ohms");
    if (most > 0) {
        b.least_ohms = step_up(ladder, 1 / most);
        b.ohms = step_up(ladder, 1 / most / (1 - bleed_tolerance));
    }
    return b;
}

}  // namespace choice

namespace {

// One wish: a part that is to be bought for one place.
struct Wish {
    std::string id, what, group, safety_class, fails, why, cost_key;
    std::optional<double> farads, ohms, volts, watts;
    bool holder_there = false;  // of a fuse
    int quantity = 1;
    double worst_volts = 0;  // an electrolytic's need: rated volts at least this
    bool first_filter = false;
};

class Shop {
  public:
    Shop(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy, std::span<const PartStress> stress,
         std::span<const Threat> threats, const Progress& progress, std::span<const Solution> solutions)
        : chassis_(chassis),
          catalogue_(catalogue),
          policy_(policy),
          stress_(stress),
          threats_(threats),
          progress_(progress),
          solutions_(solutions),
          duties_(duties_of(chassis)),
          reach_(line_reach(chassis)) {
        upper_line_ = choice::upper_line_volts(chassis, policy);
        hertz_ = choice::line_hertz(chassis, policy);
    }

    ShoppingList list(std::span<const PartAction> actions) {
        for (const PartAction& a : actions) {
            const Part& p = chassis_.parts()[at(a.part)];
            polarity(a.part);
            if (a.action != "replace") continue;
            switch (p.kind) {
                case PartKind::capacitor:
                    capacitor(a.part);
                    break;
                case PartKind::resistor:
                    if (p.role == "ballast" && p.ohms)
                        dropper(p);
                    else
                        resistor(a.part);
                    break;
                case PartKind::cord:
                    cord(p);
                    break;
                case PartKind::fuse:
                    fuse(p, choice::line_amps(stress_, a.part, ""),
                         chassis_.family() == Family::vehicle ? "fuse" : "time-lag fuse");
                    break;
                case PartKind::wire:
                    wire(p);
                    break;
                case PartKind::lamp:
                    other(p, "dial lamp " + lamp_words(p), "other", "lamp");
                    break;
                case PartKind::socket:
                    other(p, "tube " + p.tube, "tubes", "tube");
                    break;
                case PartKind::power_switch:
                    whole_switch(p);
                    break;
                case PartKind::plug:
                    other(p, "plug", "cord and fuse", "plug");
                    break;
                case PartKind::control:
                    other(p,
                          "control " + (p.ohms ? say(ohms(*p.ohms)) : std::string("of its value")) +
                              control_words(p, of(a.part)),
                          "resistors", "control");
                    break;
                case PartKind::transformer:
                    other(p, p.role + " transformer" + wound(p, a.part), "other",
                          p.role == "power"    ? "transformer-power"
                          : p.role == "output" ? "transformer-output"
                                               : "if-transformer");
                    break;
                case PartKind::coil:
                    other(p, p.role + " coil" + wound(p, a.part), "other",
                          p.role == "field"   ? "field-coil"
                          : p.role == "choke" ? "choke"
                                              : "coil");
                    break;
                case PartKind::speaker:
                    other(p, "speaker", "other", "speaker");
                    break;
                case PartKind::rectifier:
                    other(p, "silicon diode, 1 A 1000 V", "other", "silicon");
                    wishes_.back().why += "; never without the resistor worked out for it, on this list or below";
                    break;
                case PartKind::vibrator:
                    other(p,
                          "vibrator, " + (p.role.empty() ? std::string() : p.role.str() + ", ") +
                              (p.hertz ? figure(*p.hertz) + " c" : std::string("of its base")),
                          "other", "vibrator");
                    wishes_.back().why += "; or an electronic one for the same base; never before the buffer is new";
                    break;
                case PartKind::battery:
                    if (p.role != "vehicle")
                        other(p,
                              (p.role == "a"   ? "A battery"
                               : p.role == "b" ? "B battery"
                                               : p.role + " battery") +
                                  (p.rated_volts ? " " + say(volts(*p.rated_volts)) : std::string()),
                              "other", "battery");
                    break;
                default:
                    break;
            }
        }
        bleeders();
        fuse_where_none_is();
        sleeving();
        fewest();
        return merged();
    }

  private:
    const PartStress* of(int part) const {
        for (const PartStress& s : stress_)
            if (s.part == part && s.lead.empty()) return &s;
        return nullptr;
    }
    /// What it does there; where no duty has a name for that, what it stands across or joins.
    std::string place_words(int part) const {
        if (const std::string words = word(duties_.of(part)); !words.empty()) return words;
        const Part& p = chassis_.parts()[at(part)];
        if (p.leads.size() < 2 || p.leads[0].net < 0 || p.leads[1].net < 0) return "its place is not traced";
        for (const Part& lamp : chassis_.parts())
            if (lamp.kind == PartKind::lamp && lamp.leads.size() == 2 &&
                std::minmax(lamp.leads[0].net, lamp.leads[1].net) == std::minmax(p.leads[0].net, p.leads[1].net))
                return "across the dial lamp " + lamp.id;
        return "from " + chassis_.nets()[at(p.leads[0].net)].name + " to " + chassis_.nets()[at(p.leads[1].net)].name;
    }
    void warn(int number, Severity severity, const Part& p, const std::string& message, const std::string& remedy) {
        list_.warnings.push_back({number, severity, p.place, message, remedy});
    }

    void polarity(int part) {
        const Part& p = chassis_.parts()[at(part)];
        const PartStress* s = of(part);
        if (!s) return;
        by_eye(p, *s);
        const std::optional<choice::Reversed> r = choice::reversed(p, *s);
        if (!r) return;
        const auto name = [&](std::size_t lead) { return chassis_.nets()[at(p.leads[lead].net)].name; };
        warn(messages::polarity_reversed, Severity::stop, p,
             p.id + ": plus stands " + say(volts(r->volts)) + " below minus (" + r->scenario + ")",
             r->in_service && p.leads.size() > 1
                 ? "the file has its leads exchanged: the plus of a new one goes to " + name(1) + ", not to " +
                       name(0) + "; trace which lug is plus and correct the file"
                 : "trace which lug is plus and correct the file");
    }

    /// A row of the list that is traced by eye (H23); a place whose volts come with the signal says so.
    void by_eye(const Part& p, const PartStress& s) {
        if (!is_electrolytic(p) || p.leads.size() < 2 || p.leads[0].net < 0 || p.leads[1].net < 0) return;
        const std::size_t plus = choice::plus_lead(p, &s);
        const double sign = plus == 0 ? 1 : -1;
        PolarityRow row;
        row.part = p.id;
        row.plus_to = chassis_.nets()[at(p.leads[plus].net)].name;
        row.minus_to = chassis_.nets()[at(p.leads[1 - plus].net)].name;
        double most = 0;
        for (const StressAt& a : s.scenarios) {
            most = std::max(most, std::fabs(a.dc_volts));
            if (a.scenario == "normal") row.idle = sign * a.dc_volts;
            if (a.scenario == "warm-up") row.warm_up = sign * a.dc_volts;
            if ((a.scenario == "output-cut-off" || a.scenario == "speaker-unplugged") &&
                (!row.no_load || std::fabs(a.dc_volts) > std::fabs(*row.no_load)))
                row.no_load = sign * a.dc_volts;
        }
        const Duty duty = duties_.of(chassis_.part(p.id));
        const bool of_the_supply = duty == Duty::first_filter || duty == Duty::filter || duty == Duty::supply_bypass ||
                                   duty == Duty::screen_bypass || duty == Duty::cathode_bypass;
        row.told = most >= told_by_volts || (of_the_supply && most > 0);
        if (!row.told && !s.scenarios.empty())
            warn(messages::polarity_by_eye, Severity::note, p,
                 p.id + ": no more than " + say(volts(most)) + " stand across it without a signal, which tells no plus",
                 "a detector, ratio detector or automatic volume control may make its hot end minus: trace by eye "
                 "which lug "
                 "was plus, and read it on a strong station");
        list_.polarity.push_back(std::move(row));
    }

    void capacitor(int part) {
        const Part& p = chassis_.parts()[at(part)];
        const Duty duty = duties_.of(part);
        if (!p.farads) {
            warn(messages::stress_not_known, Severity::doubt, p, p.id + " has no value: nothing can be chosen for it",
                 "read it or give its documented value");
            return;
        }
        if (duty == Duty::line_to_line || duty == Duty::line_to_touch)
            safety(part, duty);
        else if (is_electrolytic(p))
            electrolytic(part, duty);
        else
            film(part, duty);
    }

    void safety(int part, Duty duty) {
        const Part& p = chassis_.parts()[at(part)];
        const std::vector<double>& values = catalogue_.stock("safety-farads");
        const std::vector<double>& ladder = catalogue_.stock("safety-ac-volts");
        Wish w;
        w.id = p.id;
        w.group = "safety";
        w.cost_key = "capacitor-safety";
        w.volts = step_up(ladder, duty == Duty::line_to_line ? std::max(x_least_volts, upper_line_) : upper_line_);
        const double below = step_below(ladder, *w.volts);
        w.fails = below > 0 ? figure(below) + " V AC: " +
                                  (below < upper_line_ ? "the upper line is " + say(volts(upper_line_))
                                                       : figure(*w.volts) + " V is what class X2 is sold as")
                            : "no smaller rating is stocked; the upper line is " + say(volts(upper_line_));
        if (duty == Duty::line_to_line) {
            w.safety_class = "X2";
            w.what = "X2 capacitor";
            w.farads = nearest(values, *p.farads);
            w.why = "line to line: a short there is fire, the class holds " + say(volts(upper_line_)) +
                    " and 2.5 kV impulses";
        } else if (!choice::in_reach_of_a_hand(chassis_, reach_, part)) {
            // The return of the radio frequencies, off every hand: its value stays, its class does not.
            w.farads = nearest(values, *p.farads);
            w.safety_class = *w.farads <= most_of_class_y * (1 + 1e-9) ? "Y2" : "X1";
            w.what = w.safety_class + " capacitor";
            w.why =
                "from B-minus to metal that no hand reaches: it keeps its value, for it is the radio frequencies' "
                "return, in class " +
                w.safety_class + ", and its resistor stays; if a hand can reach that metal, " +
                say(farads(choice::touch_safe_farads(catalogue_, *p.farads, upper_line_, hertz_,
                                                     duties_.sharing_hand(part)))) +
                " Y2 and a check for hum";
        } else {
            w.safety_class = "Y2";
            w.what = "Y2 capacitor";
            const int sharing = duties_.sharing_hand(part);
            const double share = touch_limit_amps / sharing;
            const double wanted = nearest(values, *p.farads);
            const double taken = choice::touch_safe_farads(catalogue_, *p.farads, upper_line_, hertz_, sharing);
            if (taken == 0) {
                warn(messages::nothing_stocked, Severity::doubt, p,
                     p.id + ": no stocked Y2 value keeps the touch current under " + say(amps(share)), "leave it out");
                return;
            }
            w.farads = taken;
            const auto leak = [&](double c) {
                return choice::touch_amps(c * (1 + safety_tolerance), upper_line_, hertz_);
            };
            w.why = "line to " + std::string(antenna(p) ? "an antenna or earth clip" : "metal") +
                    " that a hand can reach: touch current " + say(amps(leak(taken))) + " at " +
                    say(volts(upper_line_)) + " and upper tolerance, limit " + say(amps(touch_limit_amps)) +
                    (sharing > 1 ? " shared by " + std::to_string(sharing) + " capacitors" : "") +
                    (chassis_.hot() ? "; an ordinary one was there, and its short alone puts the line on it" : "");
            if (taken < wanted * 0.999)
                warn(messages::touch_current_reduced, Severity::note, p,
                     p.id + ": " + say(farads(wanted)) + " would pass " + say(amps(leak(wanted))) +
                         " to whoever touches the metal; " + say(farads(taken)) + " is taken",
                     "if it hums, add an X2 capacitor from line to line, not more from line to metal");
        }
        wishes_.push_back(std::move(w));
    }

    /// Leads to a clip that is no part of the metal.
    bool antenna(const Part& p) const {
        const int thing = reach_.hand[at(chassis_.part(p.id))];
        return thing >= 0 && thing != chassis_.nodes().chassis_metal && thing != chassis_.nodes().earth;
    }
    /// The bleeders beside those capacitors pass a hand's current too.
    void bleeders() {
        for (std::size_t i = 0; i < chassis_.parts().size(); ++i) {
            const Part& p = chassis_.parts()[i];
            const std::optional<choice::Bleed> b =
                choice::bleed_of(chassis_, catalogue_, policy_, duties_, reach_, static_cast<int>(i));
            if (!b || !b->unsafe) continue;
            warn(messages::touch_bleeder, Severity::doubt, p,
                 p.id + ": " + say(ohms(*p.ohms)) + " from the line to what a hand can reach passes " +
                     say(amps(b->alone)) + ", with what is beside it " + say(amps(b->in_all)) + "; the limit is " +
                     say(amps(touch_limit_amps)),
                 b->ohms > 0 ? "a resistor stays there, of " + say(ohms(b->least_ohms)) +
                                   " or more: " + say(ohms(b->ohms)) + " is on the list"
                             : "no resistor is small enough beside that capacitor");
        }
    }
    /// What keeps the line from a hand is a safety part: its ohms by the touch current, its volts by the line's crest.
    bool bleeder(int part) {
        const std::optional<choice::Bleed> b = choice::bleed_of(chassis_, catalogue_, policy_, duties_, reach_, part);
        if (!b) return false;
        const Part& p = chassis_.parts()[at(part)];
        const double kept = nearest(catalogue_.stock("resistor-ohms"), *p.ohms);
        const double crest = upper_line_ * std::sqrt(2.0);
        Wish w;
        w.id = p.id;
        w.group = "safety";
        w.cost_key = "resistor";
        w.what = "line-rated resistor";
        w.ohms = b->unsafe && b->ohms > 0 ? b->ohms : kept;
        w.watts = crest > resistor_bears(0.5) ? 1 : 0.5;
        w.volts = resistor_bears(*w.watts);
        w.why = choice::bleed_words(chassis_, part) + ", that a hand can reach: passes " +
                say(amps(upper_line_ / *w.ohms)) + " at " + say(volts(upper_line_)) + ", limit " +
                say(amps(touch_limit_amps)) + " with the capacitors beside it";
        if (b->unsafe)
            w.why += "; its " + say(ohms(*p.ohms)) + " would pass " + say(amps(b->alone)) + ", " +
                     say(amps(b->in_all)) + " with them";
        w.why += "; made for " + say(volts(crest)) + " of the line's crest, or two of half the ohms in series";
        w.fails = figure(*w.watts / 2, 2) + " W bears " + figure(resistor_bears(*w.watts / 2)) +
                  " V: " + say(volts(crest)) + " of the line's crest with its surges are past that";
        wishes_.push_back(std::move(w));
        return true;
    }

    void film(int part, Duty duty) {
        const Part& p = chassis_.parts()[at(part)];
        if (p.construction == "air-variable") {
            other(p, "section of a variable capacitor, " + say(farads(*p.farads)) + ", salvaged", "other",
                  "capacitor-variable");
            wishes_.back().why +=
                "; first its plates are straightened and its insulation cleaned: bought only if that does not help, "
                "out "
                "of a like set; never a fixed one";
            return;
        }
        const PartStress* s = of(part);
        const std::vector<double>& ladder = catalogue_.stock("film-volts");
        Wish w;
        w.id = p.id;
        w.group = "capacitors";
        w.what = "film capacitor";
        w.cost_key = "capacitor-two-lead";
        w.farads = catalogue_.modern_farads(*p.farads, false);
        if (duty == Duty::tuned) {
            w.what = "mica or NP0 capacitor";
            w.farads = *p.farads;
        }
        const choice::VoltsNeed asked = choice::film_need(p, duty, s, policy_);
        const double worst = asked.worst, surge = asked.surge, least = asked.least, need = asked.solved;
        if (!s)
            warn(messages::stress_not_known, Severity::doubt, p, p.id + ": no stress is known",
                 "its printed rating is taken");
        std::string pulse;
        if (duty == Duty::output_plate_bypass) {
            pulse = "pulse-rated: it follows the swing of the plate";
            if (surge > worst)
                pulse +=
                    ", up to " + say(volts(surge)) + " with no load: a surge, which film bears up to its whole rating";
            if (!asked.driven)
                warn(messages::stress_not_known, Severity::doubt, p, p.id + ": the swing of its plate is not solved",
                     say(volts(least)) + " is taken");
            w.what = "pulse-rated film capacitor";
        } else if (duty == Duty::plate_winding) {
            pulse = chassis_.family() == Family::vehicle ? "pulse-rated, exact value: it is tuned to the winding"
                                                         : "pulse-rated: the whole winding stands across it";
            if (chassis_.family() != Family::vehicle && worst > 0)
                pulse += "; rated for " + figure(std::ceil(worst / std::sqrt(2.0) / 5) * 5) +
                         " V AC or more, for a direct rating says nothing of that";
            w.what = "pulse-rated film capacitor";
            if (chassis_.family() == Family::vehicle) exact(p, w, pulse);
        } else if (duty == Duty::resonant) {
            pulse = "kept at its value: what it tunes moves with it";
            exact(p, w, pulse);
        } else if (duty == Duty::hash_bypass) {
            w.farads = std::fabs(*w.farads / *p.farads - 1) <= hash_may_differ ? *w.farads : *p.farads;
            pulse = "close to where its lead enters: it keeps the vibrator's hash off the set, and its value";
        }
        const double printed = p.rated_volts.value_or(0);
        double rated = step_up(ladder, std::max({need, least, printed}));
        if (rated == 0) rated = step_up(ladder, std::max(need, least));
        if (rated == 0) {
            // two of twice the value, side by side with a resistor each
            const double each = *p.farads * 2, half = step_up(ladder, std::max(need, least) / 2);
            warn(messages::nothing_stocked, Severity::doubt, p,
                 p.id + ": no stocked film capacitor bears the " + say(volts(std::max(need, least))) +
                     " that it needs (" + say(volts(surge > worst ? surge : worst)) +
                     (surge > worst ? " with no load)" : ")"),
                 half > 0 ? "two of " + say(farads(each)) + " " + figure(half) + " V in series, 1 M 1/2 W across each"
                          : std::string("ask what drives it so far"));
            return;
        }
        const double usual = policy_.film_volts_usual;
        if (least == 0 && worst <= std::min(volts_630_holds, usual * policy_.film_stress_limit))
            rated = std::max(rated, usual);
        w.volts = rated;
        const double below = step_below(ladder, rated);
        if (below > 0) {
            if (need <= below && least <= below && rated > usual)
                w.fails = figure(below) + " V: the old part was " + say(volts(printed));
            else if (need <= below && least <= below)
                w.fails = figure(below) + " V would hold here (" + figure(worst / below, 2) + " of its rating, limit " +
                          figure(policy_.film_stress_limit, 2) + "); one part number for all up to " +
                          figure(volts_630_holds) + " V";
            else if (need <= below && duty == Duty::plate_winding)
                w.fails =
                    figure(below) + " V: across a winding " + figure(least) + " V are the least (common practice)";
            else if (need <= below)
                w.fails = figure(below) + " V is not made for pulses";
            else if (worst <= policy_.film_stress_limit * below)
                w.fails =
                    figure(below) + " V: the plate swings to " + say(volts(surge)) + " with no load, past all of it";
            else
                w.fails = figure(below) + " V: stress " + figure(worst / below, 2) + " of rating, limit " +
                          figure(policy_.film_stress_limit, 2);
        }
        w.cost_key = duty == Duty::tuned   ? "capacitor-mica"
                     : *w.farads >= 0.9e-6 ? "capacitor-film-large"
                     : *w.volts >= 1000    ? "capacitor-film-pulse"
                                           : "capacitor-two-lead";
        w.why = place_words(part) + (w.why.empty() ? "" : " ") + ": worst " + say(volts(worst)) + " (" +
                asked.worst_scenario + ")" + (pulse.empty() ? "" : "; " + pulse);
        wishes_.push_back(std::move(w));
    }

    void electrolytic(int part, Duty duty) {
        const Part& p = chassis_.parts()[at(part)];
        const PartStress* s = of(part);
        const std::vector<double>& ladder = catalogue_.stock("electrolytic-volts");
        const std::vector<double>& values = catalogue_.stock("electrolytic-farads");
        Wish w;
        w.id = p.id;
        w.group = "capacitors";
        w.what = "electrolytic";
        w.cost_key = "capacitor-electrolytic";
        w.farads = catalogue_.modern_farads(*p.farads, true);
        w.first_filter = duty == Duty::first_filter;
        if (w.first_filter) first_filter(p, w, values);

        const choice::VoltsNeed asked = choice::electrolytic_need(p, s, policy_);
        const double steady = asked.worst, surge = asked.surge, need = asked.volts;
        if (asked.worst_scenario == choice::VoltsNeed().worst_scenario)
            warn(messages::stress_not_known, Severity::doubt, p, p.id + ": its volts are not known",
                 "its printed rating is taken");
        w.worst_volts = need;
        const std::string nearer = w.why;
        w.why = place_words(part) + ": worst " + say(volts(steady)) + " (" + asked.worst_scenario + ")";
        if (surge > steady) w.why += ", surge " + say(volts(surge)) + " (" + asked.surge_scenario + ")";
        if (s && s->worst.ripple_amps_rms > 1e-3)
            w.why += ", ripple " + say(amps(s->worst.ripple_amps_rms)) + " rms: rated at least " +
                     say(amps(std::ceil(s->worst.ripple_amps_rms * 1e3 /
                                        (chassis_.hot() && w.first_filter ? half_wave_ripple : 1)) *
                              1e-3)) +
                     " at 120 Hz and 105 C";
        const std::size_t plus = choice::plus_lead(p, s);
        if (const int minus = p.leads.size() > 1 ? p.leads[1 - plus].net : -1;
            (w.first_filter || duty == Duty::filter) && minus >= 0 && chassis_.nodes().chassis_metal >= 0 &&
            minus != chassis_.nodes().chassis_metal)
            w.why += "; minus to " + chassis_.nets()[at(minus)].name +
                     (centre_tap(minus) ? ", the centre tap of the plate winding," : ",") +
                     " NOT to the chassis: its can stands insulated, on a wafer or in a sleeve";
        w.why += nearer;
        if (plus == 1)
            w.why += "; PLUS TO " + chassis_.nets()[at(p.leads[1].net)].name + ", not to " +
                     chassis_.nets()[at(p.leads[0].net)].name + " as the file has it";
        const double printed = p.rated_volts.value_or(0);
        double rated = step_up(ladder, std::max(need, printed));
        if (rated == 0) rated = step_up(ladder, need);
        if (rated == 0) {
            const double half = step_up(ladder, need / 2);
            if (half == 0) {
                warn(messages::nothing_stocked, Severity::stop, p,
                     p.id + ": two of the highest rating in series do not reach " + say(volts(need)),
                     "use oil or film capacitors");
                return;
            }
            w.quantity = 2;
            w.volts = half;
            w.farads = nearest(values, 2 * *w.farads);
            w.fails = figure(ladder.back()) + " V, the highest stocked: " + say(volts(need)) + " is needed";
            w.why += "; two in series, " + say(ohms(balance_ohms)) + " 1 W across each";
            warn(messages::two_in_series, Severity::note, p, p.id + ": no single rating reaches " + say(volts(need)),
                 "two of " + say(farads(*w.farads)) + " " + figure(half) + " V in series with " +
                     say(ohms(balance_ohms)) + " across each; the upper can stands off the chassis");
            Wish balance;
            balance.id = p.id;
            balance.group = "resistors";
            balance.what = "resistor";
            balance.cost_key = "resistor";
            balance.ohms = balance_ohms;
            balance.quantity = 2;
            balance.why = "balances the two in series of " + p.id;
            const double half_burns = steady * steady / 4 / balance_ohms;
            const double each = half_burns * policy_.resistor_watts_margin;
            balance.watts = std::max(1.0, step_up(catalogue_.stock("resistor-watts"), each));
            balance.volts = resistor_bears(*balance.watts);
            balance.fails = each > 0.5 ? "1/2 W: " + say(watts(each)) + " is needed, margin " +
                                             figure(policy_.resistor_watts_margin, 1) + " over the " +
                                             say(watts(half_burns)) + " of half the volts"
                                       : "1/2 W: it bears " + figure(resistor_bears(0.5)) + " V, and is to hold the " +
                                             figure(half) + " V of its capacitor's rating for good";
            wishes_.push_back(std::move(balance));
        } else {
            w.volts = rated;
            const double below = step_below(ladder, rated);
            w.fails = below <= 0     ? "no smaller rating is stocked"
                      : need > below ? figure(below) + " V: " + figure(need, need < 10 ? 1 : 0) + " V is needed"
                                     : figure(below) + " V: the old part was " + say(volts(printed));
        }
        w.cost_key = *w.volts < 100 ? "capacitor-electrolytic-low" : "capacitor-electrolytic";
        if (p.rated_volts && (*p.rated_volts < steady || *p.rated_volts * choice::surge_over_rating < surge))
            warn(messages::place_over_rating, Severity::note, p,
                 p.id + ": the part that stands there is over its rating (" + say(volts(std::max(steady, surge))) +
                     " on " + say(volts(*p.rated_volts)) + ")",
                 "do not copy its rating");
        wishes_.push_back(std::move(w));
    }

    // A buffer is tuned to its winding and its vibrator, a capacitor to its coil: within a twentieth, from two where no
    // single one is stocked.
    void exact(const Part& p, Wish& w, std::string& why) const {
        const double value = *p.farads, usual = catalogue_.modern_farads(value, false);
        if (std::fabs(usual / value - 1) <= same_value) {
            w.farads = usual;
            return;
        }
        w.farads = value;
        const std::vector<double>& values = catalogue_.stock("film-farads");
        double first = 0, second = 0;
        for (double a : values)
            for (double b : values)
                if (b <= a && std::fabs((a + b) / value - 1) < std::fabs((first + second) / value - 1))
                    first = a, second = b;
        if (first > 0)
            why += "; where that is not stocked, " + say(farads(first)) + " with " + say(farads(second)) +
                   " across it, both of the rating";
    }

    // In a back-bias set it stands below the metal.
    bool centre_tap(int net) const {
        for (const Part& t : chassis_.parts())
            for (const PartWinding& w : t.windings)
                if (w.role == WindingRole::plate && w.leads.size() == 3 && t.leads[at(w.leads[1])].net == net)
                    return true;
        return false;
    }

    // Never up, and never past what the rectifier's row allows, or practice where it has none.
    void first_filter(const Part& p, Wish& w, const std::vector<double>& values) {
        double most = *p.farads * (1 + same_value);
        for (int r : duties_.rectifiers) {
            const Part& tube = chassis_.parts()[at(r)];
            const RectifierType* row = catalogue_.rectifier(tube.type->type);
            if (!row) continue;
            const double allowed = row->max_first_filter_farads.value_or(stress::first_filter_in_practice(*tube.type));
            if (allowed >= most) continue;
            most = allowed;
            if (*p.farads <= allowed * (1 + 1e-9)) continue;
            const double ohms_there = row->min_supply_ohms_per_plate.value_or(0);
            warn(messages::first_filter_limited, Severity::doubt, p,
                 p.id + ": " + say(farads(*p.farads)) + " is more than the " + say(farads(most)) + " that a " +
                     tube.tube + " allows" + (row->max_first_filter_farads ? "" : " in common practice"),
                 "take " + say(farads(most)) + " or less" +
                     (stress::made_for_a_string(*tube.type) && ohms_there > 0
                          ? ", with " + say(ohms(ohms_there)) + " or more between the line and its plate"
                          : std::string()));
        }
        double taken = 0;
        for (double v : values)
            if (v <= most * (1 + 1e-9)) taken = v;
        if (taken <= 0) return;
        w.farads = taken;
        // The next value down may be a good deal less: two across each other come nearer, where somebody wants that.
        if (taken > *p.farads * filter_may_fall) return;
        double first = 0, second = 0;
        for (double a : values)
            for (double b : values)
                if (b <= a && a + b <= most * (1 + 1e-9) && a + b > first + second) first = a, second = b;
        if (first + second > taken * 1.05)
            w.why = "; " + say(farads(first)) + " with " + say(farads(second)) + " across it come nearer to its " +
                    say(farads(*p.farads)) + ", where hum or volts ask for it";
    }

    void resistor(int part) {
        const Part& p = chassis_.parts()[at(part)];
        const PartStress* s = of(part);
        if (!p.ohms) {
            warn(messages::stress_not_known, Severity::doubt, p, p.id + " has no ohms: nothing can be chosen for it",
                 "read it or give its documented value");
            return;
        }
        if (bleeder(part)) return;
        Wish w;
        w.id = p.id;
        w.group = "resistors";
        w.what = "resistor";
        w.ohms = nearest(catalogue_.stock("resistor-ohms"), *p.ohms);
        const choice::WattsNeed asked = choice::watts_need(p, s, policy_);
        const double service = asked.service, passing = asked.passing, crest = asked.crest, need = asked.watts;
        const bool flat = p.construction == "metal-clad";
        const std::vector<double>& ladder = catalogue_.stock("resistor-watts");
        double rated = step_up(ladder, std::max(need, flat ? 0.25 : p.rated_watts.value_or(0.25)));
        while (rated > 0 && resistor_bears(rated) < crest && rated < ladder.back())
            rated = step_up(ladder, rated * 1.01);
        if (rated == 0) rated = ladder.empty() ? need : ladder.back();
        w.watts = rated;
        w.volts = resistor_bears(rated);
        w.cost_key = rated >= 3 ? "resistor-power" : "resistor";
        w.why = place_words(part) + ": " + say(watts(service)) + " (" + asked.service_scenario + "), margin " +
                figure(asked.margin, 1);
        if (flat)
            w.why +=
                ": the old one was cooled by the chassis under it, this one by air; or one in an aluminium body, "
                "screwed down";
        if (passing > service) w.why += "; " + say(watts(passing)) + " (" + asked.passing_scenario + ")";
        const double below = step_below(ladder, rated);
        if (below > 0)
            w.fails = figure(below, 3) + " W: " +
                      (need > below ? say(watts(need)) + " is needed"
                       : resistor_bears(below) < crest
                           ? say(volts(crest)) + " is past its " + figure(resistor_bears(below)) + " V"
                           : "the old part was " + say(watts(p.rated_watts.value_or(rated))));
        wishes_.push_back(std::move(w));
    }

    void cord(const Part& p) {
        if (p.construction == "resistance-cord") {
            dropper(p);
            return;
        }
        Wish w;
        w.id = p.id;
        w.group = "cord and fuse";
        w.cost_key = "cord";
        w.what = chassis_.hot() ? "two-wire cord, 18 AWG (0.8 mm2), 2 m, with a polarised plug"
                                : "two-wire cord, 18 AWG (0.8 mm2), 2 m, with plug and strain relief";
        w.why = chassis_.hot() ? "hot chassis: two wires, the wide blade to the B-minus side, the switch in the hot "
                                 "side; never an earth"
                               : "two wires, polarised; a third, earthed one only when every capacitor from line to "
                                 "metal is class Y or gone, "
                                 "as your local code asks";
        wishes_.push_back(std::move(w));
    }

    // A plain cord in the place of one that is a resistor puts the whole line on the string: never that.
    void dropper(const Part& p) {
        if (!p.ohms) {
            warn(messages::stress_not_known, Severity::stop, p,
                 p.id +
                     ": a resistance cord of which no ohms are known; a plain cord in its place puts the whole line on "
                     "the heaters",
                 "read it, or work it out from the heaters: (line - their volts) / their amperes");
            return;
        }
        const double carried = through(p);
        const double burns = carried > 0 ? carried * carried * *p.ohms : p.rated_watts.value_or(0);
        Wish w;
        w.id = p.id;
        w.group = "resistors";
        w.cost_key = "resistor-power";
        w.what = "power resistor, wirewound";
        const std::vector<double>& values = catalogue_.stock("resistor-ohms");
        double first = nearest(values, *p.ohms), second = 0;
        if (std::fabs(first / *p.ohms - 1) > dropper_may_differ)
            for (double a : values)
                for (double b : values)
                    if (b <= a && std::fabs(first + second - *p.ohms) > std::fabs(a + b - *p.ohms) + 1e-9)
                        first = a, second = b;
        w.ohms = first;
        const double need = burns * (first / (first + second)) * policy_.resistor_watts_margin;
        w.watts = step_up(catalogue_.stock("resistor-watts"), need);
        if (*w.watts <= 0) w.watts = need;
        const std::string old = p.role == "ballast" ? "ballast" : "resistance cord";
        w.why = "in the place of the " + old + " (" + say(ohms(*p.ohms)) + ", " + say(watts(burns)) + " at " +
                say(amps(carried)) + "): on the metal under a guard, away from wood and wax, in free air";
        if (p.role != "ballast")
            w.why +=
                "; the cord itself is then a plain two-wire one. NEVER a plain cord without it: the whole line would "
                "stand on the heaters";
        if (second > 0) w.why += "; with " + say(ohms(second)) + " in series";
        w.fails = "less than " + say(watts(*w.watts)) + ": " + say(watts(need)) + " is needed, margin " +
                  figure(policy_.resistor_watts_margin, 1);
        if (second > 0) {
            Wish other = w;
            other.ohms = second;
            other.why = "in series with the " + say(ohms(first)) + " in the place of the " + old + ", as hot";
            other.watts = step_up(catalogue_.stock("resistor-watts"), need * second / first);
            if (*other.watts <= 0) other.watts = need * second / first;
            other.fails = "less: " + say(watts(need * second / first)) + " is needed";
            wishes_.push_back(std::move(other));
        }
        wishes_.push_back(std::move(w));
    }
    /// Most rms amperes in service through a part of two ends.
    double through(const Part& p) const {
        const int index = chassis_.part(p.id);
        double most = 0;
        for (const Solution& s : solutions_)
            if (s.condition.scenario == Scenario::normal || s.condition.scenario == Scenario::high_line)
                for (const Branch& b : s.branches)
                    if (b.part == index) most = std::max(most, std::hypot(b.dc.value(), b.rms.value()));
        return most;
    }

    // Time-lag, at 0.9 or less of its rating at the upper line: choice::fuse_size().
    void fuse(const Part& p, double amps_there, const std::string& what, double surge = 0) {
        if (amps_there <= 0) {
            warn(messages::stress_not_known, Severity::doubt, p, p.id + ": the line current is not solved",
                 "take what the label asks for");
            fuse_of_the_label(p, what);
            return;
        }
        const choice::FuseSize size = choice::fuse_size(chassis_, catalogue_, policy_, amps_there, threats_, surge);
        if (size.overloaded) {
            warn(messages::stress_not_known, Severity::doubt, p,
                 p.id + ": no fuse is sized on " + say(amps(amps_there)) +
                     ": as traced the transformer burns with nothing wrong",
                 "settle the trace first (tubewright audit), or take what the label asks for");
            return;
        }
        if (size.rated <= 0) {
            warn(messages::nothing_stocked, Severity::doubt, p,
                 p.id + (size.tabled ? ": no fuse of " + size.family + " holds " + say(amps(amps_there))
                                     : ": the tables have no ratings and gates of " + size.family),
                 "name another family");
            fuse_of_the_label(p, what);
            return;
        }
        // In the return of a plate winding it breaks the whole open-circuit peak, as direct current.
        const double breaks = choice::plate_peak(chassis_, policy_, p);
        Wish w;
        w.id = p.id;
        w.group = "cord and fuse";
        w.cost_key = "fuse";
        w.what = what + " " + say(amps(size.rated)) + ", " + size.family +
                 (chassis_.family() == Family::vehicle || chassis_.family() == Family::battery ? ", 32 V or more"
                                                                                               : ", 250 V");
        if (breaks > 0) {
            w.what = "time-lag fuse and holder for " + say(volts(std::ceil(breaks / 50) * 50)) +
                     " of direct current, " + say(amps(size.rated));
            w.volts = std::ceil(breaks / 50) * 50;
            warn(
                messages::fuse_under_rated, Severity::doubt, p,
                p.id +
                    " stands in the return of the plate winding: an ordinary 250 V glass fuse is under-rated there, it "
                    "would have to break " +
                    say(volts(breaks)) + " of direct current",
                "a fuse and a holder made for that, or none there: the primary's fuse stays");
        }
        w.why = size.why + "; never larger, whatever stood there" +
                (p.kind == PartKind::fuse && p.rated_amps && *p.rated_amps > size.rated
                     ? " (" + say(amps(*p.rated_amps)) + " as found)"
                     : std::string()) +
                size.unseen + (chassis_.hot() ? "; in the hot lead, the narrow blade's, ahead of the switch" : "");
        w.fails = size.fails;
        w.holder_there = p.kind == PartKind::fuse && breaks <= 0;
        wishes_.push_back(std::move(w));
    }
    /// Not sized here, and wanted all the same.
    void fuse_of_the_label(const Part& p, const std::string& what) {
        other(p,
              what + (p.kind == PartKind::fuse && p.rated_amps ? " " + say(amps(*p.rated_amps)) + ", as the label says"
                                                               : " as the label says"),
              "cord and fuse", "fuse");
        wishes_.back().why += "; its size is not computed";
        wishes_.back().holder_there = p.kind == PartKind::fuse;
    }
    void fuse_where_none_is() {
        if (deed_done(progress_, word(ActKind::fit_fuse))) return;
        for (std::size_t i = 0; i < chassis_.parts().size(); ++i) {
            const Part& p = chassis_.parts()[i];
            if (p.kind == PartKind::fuse && p.leads.size() > 1 && p.leads[0].net >= 0 &&
                duties_.line[at(p.leads[0].net)])
                return;
        }
        bool primary = false;
        for (std::size_t i = 0; i < chassis_.parts().size(); ++i)
            for (const PartWinding& w : chassis_.parts()[i].windings) {
                if (w.role != WindingRole::primary) continue;
                double carried = drawn();
                for (const char* half : {"", ".1", ".2", ".3"})
                    carried = std::max(carried, choice::line_amps(stress_, static_cast<int>(i), w.name + half));
                fuse(chassis_.parts()[i], carried, "holder, and time-lag fuse");
                primary = true;
            }
        // Without a transformer it goes into the hot lead, ahead of switch and string, behind the plug.
        if (primary || (chassis_.nodes().line_hot < 0 && chassis_.nodes().line_neutral < 0) || drawn() <= 0) return;
        for (const PartKind kind : {PartKind::plug, PartKind::cord})
            for (const Part& p : chassis_.parts())
                if (p.kind == kind && (kind == PartKind::cord || p.role == "line")) {
                    fuse(p, drawn(), "holder, and time-lag fuse", cold_surge());
                    return;
                }
    }
    /// Rms amperes of the first second, heaters cold; 0 when not solved.
    double cold_surge() const {
        for (const Solution& s : solutions_)
            if (s.condition.scenario == Scenario::switch_on) return s.drawn.value();
        return 0;
    }
    /// Rms amperes from the line in service, at the given line and the upper limit, the larger; 0 when not solved.
    double drawn() const {
        double most = 0;
        for (const Solution& s : solutions_)
            if (s.condition.scenario == Scenario::normal || s.condition.scenario == Scenario::high_line)
                most = std::max(most, s.drawn.value());
        return most;
    }

    // Lamp leads are part of the lamp: sleeved or replaced with it, whatever the wires before them are.
    void sleeving() {
        for (const Part& p : chassis_.parts()) {
            if (p.kind != PartKind::lamp || deed_done(progress_, word(ActKind::sleeve), p.id)) continue;
            Wish w;
            w.id = p.id;
            w.group = "other";
            w.cost_key = "wire-sleeve";
            w.what = "sleeving for a lamp's leads and socket";
            w.why = "a lamp lead on the metal shorts the heater winding: the commonest of all faults that burn it";
            wishes_.push_back(std::move(w));
        }
    }

    // The copper for what its ends carry in service, and never thinner than line wiring or its fuse asks.
    void wire(const Part& p) {
        const double carried = wire_amps(p);
        const bool of_battery = choice::battery_lead(chassis_, duties_, p);
        const double metres = of_battery ? battery_lead_metres : wire_metres;
        const choice::Copper* least = choice::guarded_copper(chassis_, duties_, p);
        const choice::Copper& copper = choice::copper_of(chassis_, duties_, p, carried);
        const bool by_service = &copper != &choice::copper_of(chassis_, duties_, p, 0);
        const bool line = chassis_.family() != Family::vehicle && chassis_.family() != Family::battery;
        Wish w;
        w.id = p.id;
        w.group = "other";
        w.cost_key = "wire";
        w.what = std::string(of_battery ? "battery lead, " : "hook-up wire 600 V, ") + copper.words + ", " +
                 figure(metres, 1) + " m";
        w.why = (!p.seen.empty()              ? "seen: " + p.seen + "; "
                 : p.construction == "rubber" ? std::string("rubber crumbles where it is moved; ")
                                              : std::string()) +
                (least != nullptr ? std::string(line ? "line wiring: " : "for its fuse: ") + least->words + " or more; "
                                  : std::string()) +
                (by_service ? "carries " + say(amps(carried)) + "; " : std::string()) + figure(metres, 1) +
                " m a lead is assumed";
        wishes_.push_back(std::move(w));
    }
    /// No more than this flows through a lead in service: at its quieter end, the most that any part there carries.
    double wire_amps(const Part& p) const {
        double least = -1;
        for (const Lead& l : p.leads) {
            if (l.net < 0) continue;
            double most = 0;
            for (const LeadRef& ref : chassis_.nets()[at(l.net)].leads)
                if (chassis_.parts()[at(ref.part)].id != p.id) most = std::max(most, amps_at(ref));
            if (least < 0 || most < least) least = most;
        }
        return std::max(least, 0.0);
    }
    double amps_at(const LeadRef& ref) const {
        const Part& q = chassis_.parts()[at(ref.part)];
        const std::string& lead = q.leads[at(ref.lead)].name;
        if (q.kind == PartKind::wire) return 0;
        if (q.kind == PartKind::socket) {
            const Pin* pin = q.type ? q.type->pin(lead) : nullptr;
            const bool heats = pin && !pin->electrodes.empty() &&
                               (pin->electrodes.front()[0] == 'h' || pin->electrodes.front()[0] == 'f');
            return heats ? q.type->heater_amps.value_or(0) : 0;
        }
        double most = 0;
        for (const Solution& s : solutions_)
            if (s.condition.scenario == Scenario::normal || s.condition.scenario == Scenario::high_line)
                for (const Branch& b : s.branches)
                    if (b.part == ref.part && is_there(q, b.lead, ref.lead))
                        most = std::max(most, std::hypot(b.dc.value(), b.rms.value()));
        return most;
    }
    /// A branch of a part of several windings is of the leads of its own.
    static bool is_there(const Part& q, std::string_view branch, int lead) {
        for (const PartWinding& w : q.windings)
            if (branch.starts_with(w.name) && (branch.size() == w.name.size() || branch[w.name.size()] == '.'))
                return std::find(w.leads.begin(), w.leads.end(), lead) != w.leads.end();
        return q.windings.empty();
    }

    /// What to ask for of a wound part, as far as the file and the solution say: ": primary 115 V ...".
    std::string wound(const Part& p, int index) const {
        std::string text;
        const auto also = [&](const std::string& more) { text += (text.empty() ? ": " : ", ") + more; };
        for (const PartWinding& w : p.windings) {
            if (w.role == WindingRole::other) continue;
            if (w.role == WindingRole::output_secondary) {  // its load, not the residue that no signal leaves in it
                if (const std::optional<double> load = speaker_ohms(p, w)) also("to " + say(ohms(*load)));
                continue;
            }
            const bool halves = w.leads.size() == 3;
            std::string one = w.role == WindingRole::output_primary ? "primary" : w.name;
            if (w.role == WindingRole::plate && w.noload_volts.size() == 2)
                one += " " + figure(w.noload_volts[0]) + "-0-" + figure(w.noload_volts[1]) + " V with no load";
            else if (w.volts)
                one += " " + say(volts(*w.volts));
            if (w.impedance_ohms) one += " " + say(ohms(*w.impedance_ohms));
            if (w.role == WindingRole::output_primary && halves) one += " plate to plate, centre-tapped";
            double carried = 0;
            for (const char* half : {"", ".1", ".2"})
                carried = std::max(carried, w.role == WindingRole::output_primary
                                                ? direct_amps(index, w.name + half)
                                                : choice::line_amps(stress_, index, w.name + half));
            if (w.amps)
                one += " " + say(amps(*w.amps));
            else if (carried > 0)
                one += " carrying " + say(amps(carried)) + (halves ? " a half" : "");
            also(one);
        }
        if (p.henries) also(say(henries(*p.henries)));
        if (p.ohms) also(say(ohms(*p.ohms)));
        if (const double direct = p.windings.empty() ? direct_amps(index, "") : 0; direct > 1e-3) {
            also("for " + say(amps(direct)) + " of direct current");
            if (p.role == "field" && p.ohms) also(say(watts(direct * direct * *p.ohms)));
        }
        if (p.role == "output" || p.role == "choke" || p.role == "field")
            if (const double most = supply_peak(); most > 0) also("insulated for " + say(volts(most)));
        if (p.rated_va) also(figure(*p.rated_va) + " VA");
        if (p.role == "power" && choice::line_hertz(chassis_, policy_) > 0)
            also(figure(choice::line_hertz(chassis_, policy_)) + " cycles");
        return text;
    }
    /// The speaker on the winding, through a hum-bucking coil or straight.
    std::optional<double> speaker_ohms(const Part& t, const PartWinding& w) const {
        std::set<int> nets;
        for (const int k : w.leads) nets.insert(t.leads[at(k)].net);
        nets.erase(chassis_.reference());
        nets.erase(-1);
        const auto on = [&](const Part& p) {
            return std::any_of(p.leads.begin(), p.leads.end(), [&](const Lead& l) { return nets.count(l.net) > 0; });
        };
        for (const Part& p : chassis_.parts())
            if (p.kind == PartKind::coil && p.role == "hum-bucking" && on(p))
                for (const Lead& l : p.leads)
                    if (l.net >= 0 && l.net != chassis_.reference()) nets.insert(l.net);
        for (const Part& p : chassis_.parts())
            if ((p.kind == PartKind::speaker || (p.kind == PartKind::coil && p.role == "voice")) && p.ohms && on(p))
                return p.ohms;
        return std::nullopt;
    }
    /// Most direct current in service through a coil or a winding half, from the volts across its ohms.
    double direct_amps(int part, std::string_view lead) const {
        const Part& p = chassis_.parts()[at(part)];
        double ohms = p.ohms.value_or(0), most = 0;
        for (const PartWinding& w : p.windings)
            for (std::size_t h = 0; h < w.ohms.size(); ++h)
                if (lead == w.name || lead == w.name + "." + std::to_string(h + 1)) ohms = w.ohms[h];
        if (ohms <= 0) return 0;
        for (const PartStress& s : stress_)
            if (s.part == part && s.lead == lead)
                for (const StressAt& a : s.scenarios)
                    if (a.scenario == "normal" || a.scenario == "high-line")
                        most = std::max(most, std::fabs(a.dc_volts) / ohms);
        return most;
    }
    /// The highest crest on any electrolytic: what stands between a winding of B-plus and its core.
    double supply_peak() const {
        double most = 0;
        for (const PartStress& s : stress_)
            if (is_electrolytic(chassis_.parts()[at(s.part)]) && s.lead.empty())
                most = std::max(most, s.worst.crest_volts);
        return most;
    }

    void other(const Part& p, const std::string& what, const std::string& group, const std::string& key) {
        Wish w;
        w.id = p.id;
        w.group = group;
        w.what = what;
        w.cost_key = key;
        w.why = !p.seen.empty() ? "seen: " + p.seen : p.found == "none" ? "its socket was found empty" : "replaced";
        wishes_.push_back(std::move(w));
    }

    /// By its type with what that is; where no type is known by what it takes in the set.
    std::string lamp_words(const Part& p) const {
        std::string text = p.lamp_type;
        const auto also = [&](const std::string& more) { text += (text.empty() ? "" : ", ") + more; };
        if (const LampRow* row = catalogue_.lamp(p.lamp_type)) {
            also(say(volts(row->volts)) + " " + say(amps(row->amps)));
        } else {
            for (const Solution& s : solutions_) {
                if (s.condition.scenario != Scenario::normal) continue;
                for (const HeaterVolts& h : s.heaters)
                    if (h.part == chassis_.part(p.id)) also("for " + say(volts(h.across.value())) + " here");
            }
        }
        const Family f = chassis_.family();
        if (f == Family::series_string || f == Family::floating_b_minus || f == Family::doubler)
            also("never an LED: its current is part of the string's");
        return text;
    }

    /// Watts that its place asks for, where those are more than a carbon track of its size bears.
    std::string control_words(const Part& p, const PartStress* s) const {
        const choice::WattsNeed need = choice::watts_need(p, s, policy_);
        if (need.watts <= track_watts) return {};
        const double rated = step_up(catalogue_.stock("resistor-watts"), need.watts);
        return ", wirewound, " + say(watts(rated > 0 ? rated : need.watts)) + " or more";
    }

    // The sections of a wafer are one switch.
    void whole_switch(const Part& p) {
        const std::string id = p.can.empty() ? p.id : p.can.str();
        if (std::any_of(wishes_.begin(), wishes_.end(), [&](const Wish& w) {
                const int other = w.cost_key == "switch" ? chassis_.part(w.id) : -1;
                return other >= 0 && !p.can.empty() && chassis_.parts()[at(other)].can == p.can;
            }))
            return;
        other(p,
              (p.role.empty() ? std::string("line") : p.role.str()) + " switch" +
                  (id == p.id ? "" : " " + id + ", one for all its sections"),
              "cord and fuse", "switch");
    }

    // A filter that may go up takes the first filter's part when that reaches; low-volt bypasses of one value share the
    // higher rating.
    void fewest() {
        for (Wish& w : wishes_) {
            if (w.what != "electrolytic" || w.first_filter || w.quantity != 1) continue;
            for (const Wish& other : wishes_)
                if (&other != &w) one_number_with(other, w);
            // what was bought for it is in the drawer already, of the number of those that went in since
            if (deed_done(progress_, word(ActKind::buy), w.id))
                for (const Wish& in : fitted_electrolytics()) one_number_with(in, w);
        }
    }
    /// The other's value and rating where this place bears them and they are the greater.
    void one_number_with(const Wish& other, Wish& w) const {
        if (other.what != "electrolytic" || other.quantity != 1 || !other.volts || !w.volts) return;
        const Part& p = chassis_.parts()[at(chassis_.part(w.id))];
        // a cathode bypass may be larger: it only passes lower notes
        const double up = duties_.of(chassis_.part(w.id)) == Duty::cathode_bypass ? 2.6 : 1.3;
        const bool fits = *other.farads >= *p.farads * 0.9 && *other.farads <= *p.farads * up;
        if (!fits || *other.volts < w.worst_volts || *other.volts > 3 * *w.volts) return;
        const bool bigger =
            *other.volts > *w.volts || (*other.volts == *w.volts && (other.first_filter || *other.farads > *w.farads));
        if (!bigger || (*other.farads == *w.farads && *other.volts == *w.volts)) return;
        if (*other.volts > *w.volts)
            w.fails = figure(*w.volts) + " V would hold here; one part number with " + other.id;
        if (*other.farads != *w.farads)
            w.why += "; " + say(farads(*other.farads)) + " for one part number with " + other.id;
        w.farads = other.farads;
        w.volts = other.volts;
        w.cost_key = other.cost_key;
    }
    /// Of those that are in by the log, what was fitted.
    std::vector<Wish> fitted_electrolytics() const {
        std::vector<Wish> in;
        for (const auto& [id, with] : progress_.fitted) {
            const int part = chassis_.part(id);
            const auto state = progress_.parts.find(id);
            if (part < 0 || !is_electrolytic(chassis_.parts()[at(part)]) || !with.value || !with.rated_volts ||
                state == progress_.parts.end() || state->second != PartState::fitted)
                continue;
            Wish w;
            w.id = id;
            w.what = "electrolytic";
            w.farads = with.value;
            w.volts = with.rated_volts;
            w.first_filter = duties_.of(part) == Duty::first_filter;
            w.cost_key = *w.volts < 100 ? "capacitor-electrolytic-low" : "capacitor-electrolytic";
            in.push_back(std::move(w));
        }
        return in;
    }

    /// One more of what is cheap and easily spoilt, fuses by fives; what is dear or is made to measure alone (common
    /// practice).
    static int spares(const ShopLine& l) {
        if (l.price_row == "fuse") return 4;
        const bool small = l.unit_cost.value_or(0) <= 1.5;
        if (l.group == "safety" || (l.group == "capacitors" && small && l.quantity >= 2)) return 1;
        if (l.group == "resistors" && l.price_row == "resistor") return 1;
        return l.price_row == "lamp" ? 1 : 0;
    }
    /// Shapes as they are sold (recalled).
    static std::string package(const ShopLine& l) {
        if (l.safety_class == "X2" || l.safety_class == "X1")
            return "radial box, 15 to 22 mm between its leads; marked with its class and at least two approvals";
        if (l.safety_class == "Y2") return "blue or brown disc, 7.5 to 10 mm between its leads, marked Y2 or X1Y2";
        if (l.what == "electrolytic") {
            if (*l.rated_volts >= 100)
                return "radial or axial, 105 C for 2000 hours or more, under the chassis with sleeves on both leads; a "
                       "radial's stripe marks "
                       "minus; "
                       "it takes up to " +
                       figure(*l.value_farads * *l.rated_volts > 8e-3 ? 18 : 13) + " x " +
                       figure(*l.value_farads * *l.rated_volts > 8e-3 ? 40 : 25) + " mm";
            return "radial, 105 C for 2000 hours or more, 5 to 10 mm wide; its stripe marks minus";
        }
        if (l.what == "film capacitor" || l.what == "pulse-rated film capacitor") {
            const double farads = *l.value_farads;
            const std::string size = farads >= 1e-6 ? "27 to 37 mm" : farads >= 1e-7 ? "15 to 22 mm" : "10 to 15 mm";
            return std::string(l.what == "film capacitor" ? "" : "polypropylene; ") +
                   "axial fits the old lugs, radial has " + size +
                   " between its leads; any stripe is the outside foil, not a pole";
        }
        if (l.what == "line-rated resistor")
            return "metal film made for high volts, or two of half the ohms in series; leads sleeved";
        if (l.what == "resistor" && l.rated_watts && *l.rated_watts < 3)
            return "metal film or metal oxide, 5 % or better";
        if (l.price_row == "resistor-power") return "wirewound or metal oxide, off the board and off wax";
        return {};
    }

    ShoppingList merged() {
        static const std::vector<std::string> groups = {"safety",        "capacitors", "resistors",
                                                        "cord and fuse", "tubes",      "other"};
        const auto order = [](const std::string& g) {
            return std::find(groups.begin(), groups.end(), g) - groups.begin();
        };
        std::stable_sort(wishes_.begin(), wishes_.end(), [&](const Wish& a, const Wish& b) {
            if (order(a.group) != order(b.group)) return order(a.group) < order(b.group);
            if (a.what != b.what) return a.what < b.what;
            if (a.farads != b.farads) return a.farads > b.farads;
            if (a.ohms != b.ohms) return a.ohms < b.ohms;
            if (a.volts != b.volts) return a.volts > b.volts;
            if (a.watts != b.watts) return a.watts < b.watts;
            return a.id < b.id;
        });
        for (const Wish& w : wishes_) {
            ShopLine* line = list_.lines.empty() ? nullptr : &list_.lines.back();
            const bool same = line && line->group == w.group && line->what == w.what &&
                              line->value_farads == w.farads && line->value_ohms == w.ohms &&
                              line->rated_volts == w.volts && line->rated_watts == w.watts;
            if (!same) {
                ShopLine l;
                l.line = static_cast<int>(list_.lines.size()) + 1;
                l.what = w.what;
                l.group = w.group;
                if (w.farads) l.value_text = say(farads(*w.farads));
                if (w.ohms) l.value_text = say(ohms(*w.ohms));
                l.value_farads = w.farads;
                l.value_ohms = w.ohms;
                l.rated_volts = w.volts;
                l.rated_watts = w.watts;
                l.safety_class = w.safety_class;
                l.price_row = w.cost_key;
                if (const StepCost* c = catalogue_.step_cost(w.cost_key))
                    l.unit_cost = w.holder_there ? std::min(c->cost, fuse_alone) : c->cost;
                list_.lines.push_back(std::move(l));
                line = &list_.lines.back();
            }
            line->quantity += w.quantity;
            if (line->for_parts.empty() || line->for_parts.back() != w.id) {
                line->for_parts.push_back(w.id);
                line->pieces.push_back(0);
            }
            line->pieces.back() += w.quantity;
            const std::string why = w.id + ": " + w.why;
            line->why += (line->why.empty() ? "" : "; ") + why;
            if (!w.fails.empty()) {
                const bool several = line->next_smaller_fails_by.empty();
                line->next_smaller_fails_by += (several ? "" : "; ") + w.id + ": " + w.fails;
            }
            if (line->unit_cost) line->total_cost = choice::cents(*line->unit_cost * line->quantity);
        }
        for (ShopLine& l : list_.lines) {
            l.spares = spares(l);
            l.package = package(l);
            list_.spares_cost += l.spares * (l.price_row == "fuse" ? fuse_alone : l.unit_cost.value_or(0));
        }
        list_.spares_cost = choice::cents(list_.spares_cost);
        list_.prices_dated = catalogue_.prices_dated();
        double sum = 0;
        for (const ShopLine& l : list_.lines) sum += l.total_cost.value_or(0);
        sum = choice::cents(sum);
        list_.cost = sum;
        list_.cost_low = std::round(sum * choice::cost_low);
        list_.cost_high = std::round(sum * choice::cost_high);
        list_.currency = policy_.currency;
        return std::move(list_);
    }

    const Chassis& chassis_;
    const Catalogue& catalogue_;
    const Policy& policy_;
    std::span<const PartStress> stress_;
    std::span<const Threat> threats_;
    const Progress& progress_;
    std::span<const Solution> solutions_;
    Duties duties_;
    LineReach reach_;
    double upper_line_ = 126, hertz_ = 60;
    std::vector<Wish> wishes_;
    ShoppingList list_;
};

}  // namespace

ShoppingList shopping_list(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy,
                           std::span<const PartStress> stress, std::span<const PartAction> actions,
                           std::span<const Threat> threats, const Progress& progress,
                           std::span<const Solution> solutions) {
    return Shop(chassis, catalogue, policy, stress, threats, progress, solutions).list(actions);
}

}  // namespace tubewright
