// SPDX-License-Identifier: MIT
// Replace, measure, leave or never disturb: the construction's own action, moved by what was seen, by the duty of the
// part, by the policy and by what the log says is fitted. Test: tests/choice/actions_test.cpp.
#include <algorithm>
#include <charconv>
#include <cmath>

#include <tubewright/choice.hpp>

#include "chassis/data.hpp"
#include "chassis/reach.hpp"
#include "choice/duty.hpp"
#include "choice/figure.hpp"
#include "choice/fuse.hpp"
#include "choice/need.hpp"
#include "choice/polarity.hpp"
#include "choice/safety.hpp"

namespace tubewright {
namespace choice {

std::string figure(double x, int decimals) {
    char buffer[64];
    const auto end = std::to_chars(buffer, buffer + sizeof buffer, x, std::chars_format::fixed, decimals).ptr;
    std::string text(buffer, end);
    if (text.find('.') != std::string::npos) {
        while (text.back() == '0') text.pop_back();
        if (text.back() == '.') text.pop_back();
    }
    return text == "-0" ? "0" : text;
}

double cents(double amount) {
    return std::round(amount * 100) / 100;
}

std::string listed(const std::vector<std::string>& ids) {
    std::string text;
    for (std::size_t k = 0; k < ids.size(); ++k) text += (k == 0 ? "" : k + 1 == ids.size() ? " and " : ", ") + ids[k];
    return text;
}

}  // namespace choice

namespace {

constexpr double air_rise_celsius = 20;  // small parts in a closed chassis over the room (assumed)
constexpr double low_stress = 0.5;    // of its rating in the worst scenario: under it a part is not pressed (declared)
constexpr double same_value = 0.95;   // of the old value: a stocked value this near is the same
constexpr double other_size = 3;      // times the old value or a part of it: another size (declared)
constexpr double bleed_most = 2.2e6;  // a resistor from the line to a hand still lets no charge gather (declared)
constexpr double dropper_off = 0.10;  // of a resistance cord's ohms: as its own tolerance (common practice)
constexpr double buffer_off = 1.25;   // times the old value: it is tuned to its vibrator or winding (declared)
const std::string proved_first = "policy: each part is proved bad before it goes";
constexpr int cord_life_years = 30;    // of a cord in which nothing is seen (assumed)
constexpr int modern_life_years = 15;  // an electrolytic younger than this is left (common practice)

std::size_t at(int i) {
    return static_cast<std::size_t>(i);
}

// Highest ratio of stress to rating in normal service: what the handbook's models want.
double normal_stress(const Part& part, int index, std::span<const PartStress> stress) {
    double ratio = 0;
    for (const PartStress& s : stress) {
        if (s.part != index) continue;
        for (const StressAt& a : s.scenarios) {
            if (a.scenario != "normal") continue;
            if (part.kind == PartKind::capacitor && s.rated_volts)
                ratio = std::max(ratio, a.crest_volts / *s.rated_volts);
            if (part.kind == PartKind::resistor && s.rated_watts) ratio = std::max(ratio, a.watts / *s.rated_watts);
        }
    }
    return ratio;
}

// Parts whose failure is fire, shock or the transformer: replaced under every policy but prove-each, where they are
// proved first.
bool dangerous(Duty duty) {
    switch (duty) {
        case Duty::line_to_line:
        case Duty::line_to_touch:
        case Duty::plate_winding:
        case Duty::first_filter:
        case Duty::filter:
        case Duty::output_coupler:
        case Duty::output_plate_bypass:
        case Duty::screen_bypass:
        case Duty::supply_bypass:
        case Duty::bias_filter:
            return true;
        default:
            return false;
    }
}

// Highest ratio of stress to rating in any scenario; nothing when it has no rating or was not solved.
std::optional<double> worst_stress(const Part& part, int index, std::span<const PartStress> stress) {
    if (part.kind != PartKind::capacitor) return std::nullopt;
    for (const PartStress& s : stress)
        if (s.part == index && s.lead.empty() && s.rated_volts && *s.rated_volts > 0)
            return s.worst.crest_volts / *s.rated_volts;
    return std::nullopt;
}

// In what condition a capacitor stands over its rating, in words; empty when in none. A speaker plug pulled in error is
// a surge, which a new electrolytic bears to 1.1 of its rating (common practice); an old one that is to stay does not.
std::string over_rating(const Part& part, int index, std::span<const PartStress> stress, bool bears_surge) {
    if (part.kind != PartKind::capacitor) return {};
    for (const PartStress& s : stress) {
        if (s.part != index || !s.lead.empty() || !s.rated_volts || *s.rated_volts <= 0) continue;
        const StressAt* worst = nullptr;
        for (const StressAt& a : s.scenarios) {
            if (a.scenario == without_speaker) continue;  // nobody plays it so for long
            const bool surge = bears_surge && a.scenario == "speaker-unplugged" && is_electrolytic(part);
            if (a.crest_volts <= *s.rated_volts * (surge ? choice::surge_over_rating : 1)) continue;
            if (!worst || a.crest_volts > worst->crest_volts) worst = &a;
        }
        if (worst)
            return "over its rating: " + say(volts(worst->crest_volts)) + " (" + worst->scenario + ") on " +
                   say(volts(*s.rated_volts));
    }
    return {};
}

// Why a part that its construction would leave in peace is measured all the same: a gate asks for it new or proved.
// loads: its short loads the supply, whatever else it does.
const char* gate_of(Duty duty, bool loads) {
    switch (duty) {
        case Duty::output_coupler:
            return "H8: new or proved before the output tube is powered";
        case Duty::first_filter:
        case Duty::filter:
        case Duty::output_plate_bypass:
        case Duty::screen_bypass:
        case Duty::supply_bypass:
            return "H7: new or proved before the rectifier goes in";
        case Duty::output_cathode_resistor:
        case Duty::output_grid_leak:
        case Duty::bias_feed:
        case Duty::back_bias_resistor:
        case Duty::bias_filter:
            return "H9: proved before the output tube is powered";
        default:
            return loads ? "H7: new or proved before the rectifier goes in" : nullptr;
    }
}

// The fault of the part that does the most harm to something, by the solve; nullptr when none does.
const Threat* worst_threat(const Part& part, std::span<const Threat> threats) {
    const Threat* worst = nullptr;
    for (const Threat& t : threats)
        if (t.part == part.id && t.beta > 0 && t.criticality > 0 && t.severity != "IV" &&
            (!worst || t.criticality > worst->criticality))
            worst = &t;
    return worst;
}

// What replace-risky leaves, and why; empty when the part is risky: its duty guards the supply or the line, some fault
// of it harms something by the solve, or it is pressed.
std::string why_left(const Part& part, int index, bool guards, std::span<const PartStress> stress,
                     std::span<const Threat> threats) {
    if (guards || seen_bad(part)) return {};
    if (part.kind == PartKind::wire && (threats.empty() || !part.seen.empty())) return {};
    if (worst_threat(part, threats)) return {};
    const std::optional<double> pressed = worst_stress(part, index, stress);
    if (pressed && *pressed >= low_stress) return {};
    std::string text = threats.empty() ? "its duty endangers nothing" : "no fault of it harms anything";
    if (pressed) text += ", and it sees " + choice::figure(*pressed, 2) + " of its rating at worst";
    return text;
}

std::string stress_words(const PartStress& s) {
    std::string text = "sees up to " + say(volts(s.worst.crest_volts)) + " (" + s.volts_scenario + ")";
    if (s.rated_volts) text += " on " + say(volts(*s.rated_volts)) + " of rating";
    return text;
}

// What the diagram has in a socket against what was found there.
void tube_that_belongs(const Part& p, PartAction& action) {
    if (p.kind != PartKind::socket || p.documented.empty() || p.found.empty() || p.found == p.documented) return;
    if (p.fitted == "none") {
        action.action = "leave";
        action.reasons.push_back("left empty on purpose");
    } else if (p.fitted.empty() && p.found == "none") {
        action.action = "replace";
        action.reasons.push_back("found empty: type " + p.documented + " belongs there");
    } else if (p.fitted.empty()) {
        action.reasons.push_back("holds type " + p.found + ", the diagram has type " + p.documented +
                                 ": which belongs is settled before power");
    }
}

// A young cord in which nothing is seen stays; of any other its age is said.
void cord_action(const Part& p, int today, PartAction& action) {
    const bool young = p.since && today - *p.since < cord_life_years;
    if (young) action.reasons = {"a cord of " + std::to_string(*p.since)};
    if (young && p.seen.empty()) {
        action.action = "leave";
        action.reasons.front() += " in which nothing is seen: looked over, kept";
    } else if (young) {
        action.reasons.push_back("seen: " + p.seen);
    } else if (action.year > 0 && today > action.year) {
        action.reasons.push_back(std::to_string(today - action.year) + " years old");
    }
}

// Across a plate winding a film capacitor that is rated for the place is lifted for the transformer test and proved;
// any other goes.
void winding_capacitor(const Part& p, int index, const Policy& policy, std::span<const PartStress> stress,
                       PartAction& action) {
    const std::optional<double> pressed = worst_stress(p, index, stress);
    const bool stays = p.construction == "film" && p.seen.empty() &&
                       p.rated_volts.value_or(0) >= choice::buffer_volts &&
                       pressed.value_or(0) <= policy.film_stress_limit;
    action.action = stays ? "measure" : "replace";
    action.reasons.push_back(
        stays ? "H6: one end lifted for the transformer test, and its leakage read"
              : "H6: it stands live in the transformer test, so it is new there; rated for pulses, " +
                    choice::figure(choice::buffer_volts) + " V or more");
}

// A fuse of the size that the solve asks for stays; any other goes.
void fuse_action(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy,
                 std::span<const PartStress> stress, std::span<const Threat> threats, int index, PartAction& action) {
    const Part& p = chassis.parts()[at(index)];
    const choice::FuseSize size =
        choice::fuse_size(chassis, catalogue, policy, choice::line_amps(stress, index, ""), threats);
    const bool right = p.rated_amps && size.rated > 0 && std::fabs(*p.rated_amps / size.rated - 1) < 0.02 &&
                       p.seen.empty() && choice::plate_peak(chassis, policy, p) <= 0;
    if (right && (action.action == "replace" || action.action == "measure")) {
        action.action = "leave";
        action.reasons.push_back("the size that the solved line current asks for: look that it is a time-lag one of " +
                                 size.family);
    } else if (action.action == "replace") {
        action.reasons.push_back("its rating comes from the solved line current");
    }
}

/// What is written of a new part holds a class of these.
bool has_class(std::string_view words, char letter) {
    for (std::size_t k = 0; k + 1 < words.size(); ++k)
        if ((words[k] == letter || words[k] == letter + ('a' - 'A')) && (words[k + 1] == '1' || words[k + 1] == '2'))
            return true;
    return false;
}

/// A new capacitor on the line of no class, or of the wrong one.
std::string wrong_class(const Part& part, Duty duty, bool x, bool y) {
    if ((duty != Duty::line_to_line && duty != Duty::line_to_touch) || part.kind != PartKind::capacitor) return {};
    if (!x && !y) return "an ordinary capacitor has no place on the line";
    if (duty == Duty::line_to_touch && !y)
        return "class X is for across the line; from the line to what is touched it is class Y";
    return {};
}

/// A new value that is no value for the place: a resistor off by more than an old one may be, a capacitor of another
/// size, or a buffer that is not the one drawn.
std::string wrong_value(const Part& drawn, Duty duty, const Policy& policy, const OptionalNumber& now) {
    const bool capacitor = drawn.kind == PartKind::capacitor, resistor = drawn.kind == PartKind::resistor;
    const bool control = drawn.kind == PartKind::control;
    if (drawn.kind == PartKind::cord && drawn.ohms && *drawn.ohms > 0) {
        if (now && std::fabs(*now / *drawn.ohms - 1) <= dropper_off) return {};
        return now ? say(ohms(*now)) + " where " + say(ohms(*drawn.ohms)) + " of the resistance cord is right"
                   : "a plain cord in the place of the resistance cord puts the whole line on the heaters";
    }
    const OptionalNumber& right = capacitor ? drawn.farads : drawn.ohms;
    if ((!capacitor && !resistor && !control) || !right || !now || *right <= 0 || *now <= 0) return {};
    const double ratio = *now / *right;
    const bool exact = capacitor && duty == Duty::plate_winding;
    const bool loads = duty == Duty::first_filter || duty == Duty::filter || duty == Duty::coupler ||
                       duty == Duty::output_coupler || control;
    const double most = resistor ? 1 + drift_allowed(duty, policy) : exact ? buffer_off : loads ? other_size : 0;
    // what is on the line may be small as the touch current asks
    const bool on_line = duty == Duty::line_to_line || duty == Duty::line_to_touch;
    const double least = on_line    ? 0
                         : resistor ? 1 - drift_allowed(duty, policy)
                                    : 1 / (exact ? buffer_off : other_size);
    if (ratio >= least && (most <= 0 || ratio <= most)) return {};
    const auto figure = [&](double value) { return capacitor ? say(farads(value)) : say(ohms(value)); };
    return figure(*now) + " where " + figure(*right) + " is right";
}

/// Why what the log says was fitted cannot stay; empty where it can.
std::string unfit(const Part& part, int index, std::span<const PartStress> stress, const PartAction& judged,
                  const std::string& unsafe) {
    if (!unsafe.empty()) return unsafe;
    if (const std::string over = over_rating(part, index, stress, true); !over.empty()) return over;
    if (part.kind == PartKind::fuse && judged.action == "replace" && part.rated_amps && part.fitted != "as documented")
        return "not the size that the solved line current asks for";
    return {};
}

/// A value read at the bench decides over a resistor, whatever its age says.
void judge_reading(PartAction& action, const Part& part, Duty duty, const Policy& policy, const Progress& progress) {
    const auto read = progress.found.find(part.id);
    const bool resistor = part.kind == PartKind::resistor || part.kind == PartKind::control;
    if (!resistor || read == progress.found.end() || !read->second.value || !part.ohms) return;
    const double allowed = drift_allowed(duty, policy), off = std::fabs(*read->second.value / *part.ohms - 1);
    const std::string words =
        say(ohms(*read->second.value)) + " by the log, where " + say(ohms(*part.ohms)) + " is right";
    action.action = off > allowed ? "replace" : "leave";
    action.reasons.push_back("reads " + words + ": " + (off > allowed ? "over " : "within ") +
                             choice::figure(100 * allowed) + " %");
}

}  // namespace

// The middle of a plate winding is a return, whatever resistor stands between it and the metal.
static bool centre_tap(const Chassis& chassis, int net) {
    for (const Part& p : chassis.parts())
        for (const PartWinding& w : p.windings)
            if (w.role == WindingRole::plate && w.leads.size() == 3 && p.leads[at(w.leads[1])].net == net) return true;
    return false;
}

std::vector<std::string> burnt_by(const Chassis& chassis, const Duties& duties, int resistor) {
    const Part& r = chassis.parts()[at(resistor)];
    std::vector<std::string> found;
    if (r.leads.size() < 2) return found;
    if (duties.of(resistor) ==
        Duty::output_cathode_resistor) {  // its current comes through the tube: a grid lifted by the coupler
        for (std::size_t c = 0; c < chassis.parts().size(); ++c)
            if (duties.duty[c] == Duty::output_coupler) found.push_back(chassis.parts()[c].id);
        return found;
    }
    for (std::size_t k = 0; k < 2; ++k) {
        const int net = r.leads[k].net, other = r.leads[1 - k].net;
        if (net < 0 || other < 0 || net == chassis.reference() || centre_tap(chassis, net)) continue;
        // The end that feeds it: taken away, nothing else reaches the other end. What hangs there is before the
        // resistor, not behind it.
        const bool fed_here =
            duties.fed[at(net)] && duties.fed[at(other)] && duties.rank[at(net)] < duties.rank[at(other)];
        if (fed_here || (duties.fed[at(net)] && !duties.fed[at(other)])) continue;
        for (const LeadRef& ref : chassis.nets()[at(net)].leads) {
            const Part& c = chassis.parts()[at(ref.part)];
            // one that stands across it carries the current in its place
            const bool across =
                std::any_of(c.leads.begin(), c.leads.end(), [&](const Lead& l) { return l.net == other; });
            if (c.kind == PartKind::capacitor && !across) found.push_back(c.id);
        }
    }
    std::sort(found.begin(), found.end());
    found.erase(std::unique(found.begin(), found.end()), found.end());
    return found;
}

std::map<std::string, std::string> wrong_at_sight(const Chassis& drawn, const Policy& policy,
                                                  const std::map<std::string, Measured>& fitted) {
    std::map<std::string, std::string> found;
    if (fitted.empty()) return found;
    const Duties duties = duties_of(drawn);
    const LineReach reach = line_reach(drawn);
    for (const auto& [id, with] : fitted) {
        const int i = drawn.part(id);
        // one that is of the kind that the file has, where nothing was said of it
        if (i < 0 || with.words.empty()) continue;
        const Part& p = drawn.parts()[at(i)];
        std::string wrong = wrong_class(p, duties.of(i), has_class(with.words, 'X'), has_class(with.words, 'Y'));
        // more ohms between the line and a hand are right; too few are told by the touch current
        const bool bleeds = p.kind == PartKind::resistor && reach.guards[at(i)] && with.value && p.ohms &&
                            *with.value >= *p.ohms && *with.value <= bleed_most;
        if (wrong.empty() && !bleeds) wrong = wrong_value(p, duties.of(i), policy, with.value);
        if (!wrong.empty()) found.emplace(id, std::move(wrong));
    }
    return found;
}

std::map<std::string, std::string> under_need(const Chassis& chassis, const Policy& policy,
                                              std::span<const PartStress> stress,
                                              const std::map<std::string, Measured>& fitted) {
    std::map<std::string, std::string> found;
    if (fitted.empty()) return found;
    const Duties duties = duties_of(chassis);
    for (const auto& [id, with] : fitted) {
        const int i = chassis.part(id);
        if (i < 0) continue;
        const Part& p = chassis.parts()[at(i)];
        const auto row = std::find_if(stress.begin(), stress.end(),
                                      [&](const PartStress& s) { return s.part == i && s.lead.empty(); });
        if (row == stress.end()) continue;
        const auto asked = [&, part = &id](const std::string& is, const std::string& wants, const std::string& why) {
            found.emplace(*part, is + " where " + wants + " is needed" + (why.empty() ? "" : " (" + why + ")"));
        };
        const bool line = duties.of(i) == Duty::line_to_line || duties.of(i) == Duty::line_to_touch;
        if (p.kind == PartKind::capacitor && with.rated_volts && !line) {
            const choice::VoltsNeed need = is_electrolytic(p) ? choice::electrolytic_need(p, &*row, policy)
                                                              : choice::film_need(p, duties.of(i), &*row, policy);
            if (*with.rated_volts >= need.volts * (1 - 1e-9)) continue;
            const bool pulse = need.least > 0 && need.volts <= need.least;
            asked(say(volts(*with.rated_volts)), say(volts(std::ceil(need.volts))),
                  pulse ? "rated for pulses"
                        : "worst " + say(volts(std::max(need.worst, need.surge))) + ", " +
                              (need.surge > need.worst ? need.surge_scenario : need.worst_scenario));
        } else if ((p.kind == PartKind::resistor || p.kind == PartKind::cord) && with.rated_watts) {
            const choice::WattsNeed need = choice::watts_need(p, &*row, policy);
            if (*with.rated_watts < need.watts * (1 - 1e-9))
                asked(say(watts(*with.rated_watts)), say(watts(need.watts)),
                      need.passing > need.service * need.margin
                          ? need.passing_scenario
                          : choice::figure(need.margin, 1) + " times the " + say(watts(need.service)) + " of " +
                                need.service_scenario);
            else if (p.kind == PartKind::resistor && need.crest > choice::resistor_bears(*with.rated_watts))
                asked("a resistor of " + say(watts(*with.rated_watts)) + " bears " +
                          choice::figure(choice::resistor_bears(*with.rated_watts)) + " V,",
                      say(volts(need.crest)), "");
        }
    }
    return found;
}

std::vector<PartAction> actions_of(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy,
                                   std::span<const PartStress> stress, const Progress& progress,
                                   std::span<const Threat> threats) {
    const Duties duties = duties_of(chassis);
    const LineReach reach = line_reach(chassis);
    std::map<std::string, std::string> sight = wrong_at_sight(chassis, policy, progress.fitted);
    sight.merge(under_need(chassis, policy, stress, progress.fitted));
    std::vector<int> spared;  // by the policy
    std::vector<PartAction> actions;
    for (std::size_t i = 0; i < chassis.parts().size(); ++i) {
        const Part& p = chassis.parts()[i];
        const int index = static_cast<int>(i);
        if (p.kind == PartKind::untraced || p.kind == PartKind::strip) continue;
        const Construction* c = catalogue.construction(p.construction);
        if (c == nullptr && p.kind != PartKind::socket) continue;
        if (p.kind == PartKind::socket && p.type == nullptr) continue;
        PartAction a;
        a.part = index;
        a.construction = p.construction;
        a.year = p.since.value_or(chassis.built().value_or(0));
        const Duty duty = duties.of(index);
        const bool loads = duties.guards_rectifier(chassis, index), guards = dangerous(duty) || loads;
        if (c != nullptr) {
            a.action = c->action;
            if (!c->reason.empty()) a.reasons.push_back(c->reason);
            a.risk = age_risk(p, *c, catalogue, chassis.built().value_or(0), policy.today_year,
                              normal_stress(p, index, stress), policy.ambient_celsius + air_rise_celsius);
        } else {
            a.action = "measure";
        }
        const std::optional<choice::Bleed> bleed = choice::bleed_of(chassis, catalogue, policy, duties, reach, index);
        const std::string unsafe =
            bleed && bleed->unsafe ? "passes more than the touch-current limit to whoever touches the metal" : "";
        if (bleed)
            a.reasons.push_back(choice::bleed_words(chassis, index));
        else if (duty != Duty::none)
            a.reasons.push_back(word(duty));
        if (p.since) a.reasons.push_back("replaced in " + std::to_string(*p.since));
        tube_that_belongs(p, a);

        const bool young = p.since && policy.today_year - *p.since < modern_life_years;
        if (p.construction == "modern-electrolytic" && !young) {
            a.action = "replace";
            a.reasons.push_back("past the service life of a modern electrolytic");
        }
        if (a.action == "replace" && (p.kind == PartKind::capacitor || p.kind == PartKind::wire)) {
            const bool safety =
                duty == Duty::line_to_line || duty == Duty::line_to_touch || duty == Duty::plate_winding;
            if (policy.electrolytics == FilterPolicy::reform && is_electrolytic(p) && !young && !seen_bad(p)) {
                a.action = "measure";
                a.reasons.push_back("policy: formed slowly, and kept where its leak comes down");
                spared.push_back(index);
            } else if (policy.replace == ReplacePolicy::prove_each && p.kind == PartKind::capacitor && !safety &&
                       !seen_bad(p)) {
                a.action = "measure";
                a.reasons.push_back(proved_first);
                spared.push_back(index);
            } else if (policy.replace == ReplacePolicy::replace_risky) {
                if (const std::string why = why_left(p, index, guards, stress, threats); !why.empty()) {
                    a.action = "leave";
                    a.reasons.push_back("policy: left for now, " + why);
                    spared.push_back(index);
                }
            }
        }
        const bool on_line_side = p.kind == PartKind::cord || p.kind == PartKind::plug ||
                                  p.kind == PartKind::power_switch || p.kind == PartKind::fuse ||
                                  p.kind == PartKind::wire;
        const bool joint = only_loose(p) && a.action != "replace";
        if (joint) {
            a.action = "measure";
            a.reasons.push_back("seen: " + p.seen + ": its joints are resoldered, the wire stays");
        } else if (p.kind == PartKind::resistor && p.seen.find("drift") != std::string::npos && a.action != "replace" &&
                   a.action != "never-disturb") {
            a.action = "replace";
            a.reasons.push_back("seen: " + p.seen + ": measured, and off its value");
        } else if (p.kind == PartKind::power_switch && seen_only_dirty(p) && a.action != "never-disturb") {
            a.action = "measure";
            a.reasons.push_back("seen: " + p.seen +
                                ": its contacts are cleaned and worked first, and read under an ohm; replaced if they "
                                "stay bad");
        } else if ((seen_bad(p) || (on_line_side && !p.seen.empty())) && a.action != "never-disturb") {
            if (a.action != "replace") a.action = "replace";
            a.reasons.push_back("seen: " + p.seen);
            if (p.construction == "air-variable")
                a.reasons.push_back(
                    "first its plates are straightened and its insulation cleaned; a fixed capacitor cannot take its "
                    "place");
        } else if (!p.seen.empty()) {
            a.reasons.push_back("seen: " + p.seen);
        }
        if ((duty == Duty::line_to_line || duty == Duty::line_to_touch) && a.action != "replace" &&
            p.construction != "safety-x" && p.construction != "safety-y") {
            a.action = "replace";
            a.reasons.push_back("an ordinary capacitor has no place on the line");
        }
        if (p.kind == PartKind::cord && a.action == "replace") cord_action(p, policy.today_year, a);
        if (p.kind == PartKind::battery && p.role == "vehicle") {
            a.action = "leave";
            a.reasons = {"the vehicle's own: the bench feeds the set meanwhile"};
        }
        if (!unsafe.empty() && a.action != "never-disturb") {
            a.action = "replace";
            a.reasons.push_back(unsafe);
        }
        if (a.action == "leave" || a.action == "measure") {
            if (duty == Duty::line_to_touch && p.farads && chassis.nodes().line_hot >= 0) {
                const double safe =
                    choice::touch_safe_farads(catalogue, *p.farads, choice::upper_line_volts(chassis, policy),
                                              choice::line_hertz(chassis, policy), duties.sharing_hand(index));
                if (safe < same_value * *p.farads) {
                    a.action = "replace";
                    a.reasons.push_back("passes more than the touch-current limit to whoever touches the metal");
                }
            }
            if (duty == Duty::plate_winding && p.kind == PartKind::capacitor)
                winding_capacitor(p, index, policy, stress, a);
            if (const char* gate = gate_of(duty, loads);
                gate != nullptr && a.action == "leave" &&
                std::find(spared.begin(), spared.end(), index) == spared.end()) {
                a.action = "measure";
                a.reasons.push_back(gate);
            }
        }
        if (const std::string over = over_rating(p, index, stress, young || a.action == "replace");
            !over.empty() && a.action != "never-disturb") {
            a.action = "replace";
            std::erase(a.reasons, proved_first);
            a.reasons.insert(a.reasons.begin(), over);
        }
        if (p.kind == PartKind::fuse) fuse_action(chassis, catalogue, policy, stress, threats, index, a);
        if (seen_burnt(p) && p.kind == PartKind::resistor) {
            const std::vector<std::string> causes = burnt_by(chassis, duties, index);
            a.reasons.push_back(causes.empty() ? "burnt: find what burnt it before the new one goes in (H18)"
                                               : "burnt: " + choice::listed(causes) +
                                                     " shorted would have done it and must be on the list first (H18)");
        }
        for (const PartStress& s : stress) {
            if (s.part != index || !s.lead.empty()) continue;
            if (p.kind == PartKind::capacitor && s.worst.crest_volts > 0) a.reasons.push_back(stress_words(s));
            if (const std::string remark = choice::remark_without_polarity(s); !remark.empty())
                a.reasons.push_back(remark);
            if (const std::optional<choice::Reversed> r = choice::reversed(p, s))
                a.reasons.push_back(std::string(r->in_service ? "REVERSED in the file: plus stands " : "plus stands ") +
                                    say(volts(r->volts)) + " below minus (" + r->scenario + ")");
        }
        if (!p.note.empty()) a.reasons.push_back("noted: " + p.note);
        std::optional<PartState> state;
        if (const auto now = progress.parts.find(p.id); now != progress.parts.end()) state = now->second;
        // what is out for now is judged as what it is again when it is back
        if (const auto back = progress.back.find(p.id); back != progress.back.end()) state = back->second;
        if (state) {
            switch (*state) {
                case PartState::fitted:
                    a.unfit = sight.count(p.id) > 0 ? sight.at(p.id) : unfit(p, index, stress, a, unsafe);
                    if (a.unfit.empty()) {
                        a.action = "leave";
                        a.reasons.push_back("fitted already by the log");
                    } else {
                        a.action = "replace";
                        a.reasons.insert(a.reasons.begin(), "what was fitted by the log does not do: " + a.unfit);
                    }
                    break;
                case PartState::proved:
                    a.action = "leave";
                    a.reasons.push_back("proved good by the log");
                    break;
                case PartState::omitted:
                    a.action = "leave";
                    a.reasons.push_back("left out on purpose by the log");
                    break;
                default:
                    break;
            }
        }
        judge_reading(a, p, duty, policy, progress);
        actions.push_back(std::move(a));
    }
    // What burnt a resistor goes, whatever the policy (H18); one that was replaced since is proved before the new
    // resistor is trusted to it.
    for (const PartAction& burnt : actions) {
        const Part& r = chassis.parts()[at(burnt.part)];
        if (r.kind != PartKind::resistor || !seen_burnt(r) || burnt.action != "replace") continue;
        for (const std::string& id : burnt_by(chassis, duties, burnt.part))
            for (PartAction& cause : actions) {
                if (chassis.parts()[at(cause.part)].id != id || cause.action == "replace" || progress.parts.count(id))
                    continue;
                const bool spared_one = std::find(spared.begin(), spared.end(), cause.part) != spared.end();
                cause.action = spared_one ? "replace" : "measure";
                cause.reasons.push_back("it may have burnt " + r.id + " (H18)" + (spared_one ? "" : ": proved first"));
            }
    }
    return actions;
}

}  // namespace tubewright
