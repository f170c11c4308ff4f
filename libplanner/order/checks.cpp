// SPDX-License-Identifier: MIT
// See checks.hpp.
#include "order/checks.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <utility>

#include "chassis/data.hpp"
#include "chassis/graph.hpp"
#include "choice/copper.hpp"
#include "choice/figure.hpp"
#include "choice/polarity.hpp"
#include "order/step_list.hpp"

namespace tubewright::repair {
namespace {

using choice::figure;
using choice::listed;

constexpr double new_tolerance = 0.1;  // of a new resistor, with the meter's own (common practice, no source)

std::string ohm_band(const std::string& id, double middle, double share) {
    return id + " between " + say(ohms(middle * (1 - share))) + " and " + say(ohms(middle * (1 + share)));
}

/// A new resistor reads what its place bears; where the list has another value there, what was bought.
std::string new_ohms(const SetUnderRepair& set, const std::string& id) {
    const Part& p = *set.part(id);
    const auto it = set.bought.find(id);
    const double limit = drift_allowed(set.duties.of(set.chassis.part(id)), set.policy), had = p.ohms.value_or(0);
    if (it == set.bought.end() || it->second.ohms <= 0) return had > 0 ? ohm_band(id, had, limit) : std::string();
    const bool as_before = p.kind != PartKind::cord && std::fabs(it->second.ohms - had) <= limit * had;
    return as_before ? ohm_band(id, had, limit) : ohm_band(id, it->second.ohms, new_tolerance);
}

/// What is bought and what is checked go by one rule.
std::string gauge_words(const SetUnderRepair& set, const std::vector<std::string>& wires) {
    std::map<std::string, std::vector<std::string>> by_gauge;
    for (const std::string& id : wires)
        if (const choice::Copper* least = choice::guarded_copper(set.chassis, set.duties, *set.part(id)))
            by_gauge[least->words].push_back(id);
    std::string text;
    for (const auto& [words, some] : by_gauge)
        text += (text.empty() ? "" : "; ") + listed(some) + " of " + words + " or heavier" +
                (set.from_line() ? std::string()
                                 : ", for the " + figure(choice::battery_fuse_amps(set.chassis)) + " A of its fuse");
    return text;
}

/// Crossed, a cord of a hot set puts the line on the metal.
std::string ways_of_the_plug(const SetUnderRepair& set) {
    const int neutral = set.chassis.nodes().line_neutral, hot = set.chassis.nodes().line_hot;
    if (!set.chassis.hot() || neutral < 0 || hot < 0 || set.direct_line()) return {};
    return "; by ohms, the wide blade through to the side of B-minus, the narrow one to the other: crossed, the line "
           "is on the metal's side";
}

/// Where its place bears less than any sound one leaks, the solved limit.
std::string dry_leak(const SetUnderRepair& set, const Part& p) {
    constexpr double sound_ohms = 20e6;   // paper, mica and film that keep (common practice, no source)
    constexpr double least_volts = 25;    // a proof at less tells nothing (assumed)
    constexpr double meter_ohms = 10e6;   // in series with it
    constexpr double nothing_ohms = 1e9;  // "none may leak": as far as a bench can tell (assumed)
    const auto limit =
        std::find_if(set.leaks.begin(), set.leaks.end(), [&](const LeakageLimit& l) { return l.part == p.id; });
    if (limit == set.leaks.end()) return "over " + say(ohms(sound_ohms)) + " at working volts";
    const bool none = limit->amps && *limit->amps <= 0;
    const double asked = none ? nothing_ohms : std::max(limit->ohms.value_or(0), sound_ohms);
    const double at_volts = std::max(limit->volts, least_volts);
    std::string text = "over " + say(ohms(asked)) + " at " + say(volts(at_volts)) + ", under " +
                       say(volts(at_volts * meter_ohms / (meter_ohms + asked))) + " on 10 meg in series";
    if (asked > sound_ohms) text += " (at less: " + limit->limited_by + ")";
    return text;
}

// JAN-C-62 (second-hand quote): milliamperes = K x microfarads + .3 at the rated volts, K by those volts.
std::string electrolytic_leak(const Part& p) {
    if (!p.farads || !p.rated_volts) return "under .3 mA and falling, its value or volts being unknown";
    const double v = *p.rated_volts;
    const double k = v <= 100 ? 0.01 : v <= 250 ? 0.02 : v <= 350 ? 0.025 : 0.04;
    const double limit = (k * *p.farads * 1e6 + 0.3) * 1e-3;
    return "under " + say(amps(limit)) + " after 5 minutes at " + say(volts(v)) +
           (v > 450 ? " (a limit quoted up to 450 V)" : "");
}

}  // namespace

std::string label_words(const SetUnderRepair& set) {
    if (set.from_vehicle || set.from_battery) {
        std::string text;
        for (const Part& p : set.chassis.parts())
            if (p.kind == PartKind::battery && p.rated_volts)
                text += (text.empty() ? "" : ", ") + p.id + " " + say(volts(*p.rated_volts)) +
                        (p.leads.empty() || p.leads[0].net < 0
                             ? std::string()
                             : ", plus to " + set.chassis.nets()[at(p.leads[0].net)].name);
        return text.empty() ? "volts and poles as the label has them" : "the file says " + text;
    }
    return "the label reads " + figure(set.chassis.line().volts) + " V " +
           (set.direct_line() ? "of direct current" : figure(set.chassis.line().hertz) + " cycles") +
           (set.chassis.line().volts_stated ? "" : " (assumed: read it)");
}

std::string string_ohms(const SetUnderRepair& set) {
    if (!set.from_line() || set.portable() || !set.transformer.empty()) return {};
    double sum = 0, least = 0;
    for (const Part& p : set.chassis.parts()) {
        if (p.kind != PartKind::socket || !p.type || p.fitted == "none" || stands_empty(p)) continue;
        const TubeType& type = *p.type;
        if (!type.heater_volts || !type.heater_amps || *type.heater_amps <= 0) return {};
        sum += *type.heater_volts;
        least = least > 0 ? std::min(least, *type.heater_amps) : *type.heater_amps;
    }
    if (sum <= 0) return {};
    const double hot = sum / least;
    return "the string cold between " + say(ohms(std::round(hot / 8))) + " and " + say(ohms(std::round(hot / 5))) +
           " (a fifth to an eighth of its hot " + say(ohms(std::round(hot))) + "), and what drops the rest besides";
}

std::vector<std::string> gaps_of_string(const SetUnderRepair& set) {
    std::vector<std::string> gaps;
    for (const Part& p : set.chassis.parts()) {
        const bool dead = p.seen.find("open") != std::string::npos || p.seen.find("dead") != std::string::npos ||
                          p.seen.find("missing") != std::string::npos;
        if ((p.kind == PartKind::socket && p.type && (dead || stands_empty(p))) || (p.kind == PartKind::lamp && dead))
            gaps.push_back(p.id);
    }
    return gaps;
}

std::string heaters_cold(const SetUnderRepair& set) {
    std::string text;
    for (const Part& p : set.chassis.parts()) {
        if (p.kind != PartKind::socket || !p.type || stands_empty(p) || p.fitted == "none") continue;
        if (!p.type->heater_volts || !p.type->heater_amps || holds(gaps_of_string(set), p.id)) continue;
        const double hot = *p.type->heater_volts / *p.type->heater_amps;
        text += (text.empty() ? "" : ", ") + p.id + " " + say(ohms(std::round(hot / 8))) + " to " +
                say(ohms(std::round(hot / 5)));
    }
    return "heaters cold: " + (text.empty() ? "none to read" : text) + " (a fifth to an eighth of hot)";
}

std::string heater_words(const SetUnderRepair& set, const std::vector<std::string>& tubes) {
    std::vector<std::string> apart, none;
    for (const std::string& id : tubes) {
        const TubeType& type = *set.part(id)->type;
        if (!type.heater_volts)
            none.push_back(id);
        else if (!type.directly_heated)
            apart.push_back(id);
    }
    if (apart.empty()) return none.empty() ? "" : "; " + listed(none) + " has no heater";
    return std::string(", heater to cathode over 1 megohm cold") +
           (apart.size() == tubes.size() ? "" : " of " + listed(apart)) +
           (none.empty() ? "" : "; " + listed(none) + " has no heater");
}

std::string joined_pins(const SetUnderRepair& set, const std::vector<std::string>& sockets) {
    const int metal = set.metal();
    if (metal < 0) return {};
    const PartGraph copper(set.chassis.parts(), static_cast<int>(set.chassis.nets().size()), Through::copper);
    const std::vector<bool> reached = copper.reached({metal});
    std::vector<std::string> pins;
    for (const std::string& id : sockets)
        for (const Lead& l : set.part(id)->leads) {
            const Pin* pin = set.part(id)->type ? set.part(id)->type->pin(l.name) : nullptr;
            const bool plate = pin && std::any_of(pin->electrodes.begin(), pin->electrodes.end(),
                                                  [](const std::string& e) { return e[0] == 'p'; });
            if (plate && l.net >= 0 && reached[at(l.net)]) pins.push_back(id + "." + l.name);
        }
    return pins.empty() ? std::string()
                        : ", and " + listed(pins) + " to the metal, where the set's own resistors and windings are " +
                              "read, as the cold ohms of the sheet have them";
}

std::string live_leads_of(const SetUnderRepair& set, const std::vector<std::string>& lamps) {
    const int metal = set.metal();
    const PartGraph wires(set.chassis.parts(), static_cast<int>(set.chassis.nets().size()), Through::short_wire);
    const std::vector<bool> grounded =
        metal < 0 ? std::vector<bool>(set.chassis.nets().size()) : wires.reached({metal});
    std::set<std::string> legs;
    bool tied = false;
    for (const std::string& id : lamps)
        for (const Lead& l : set.part(id)->leads)
            if (l.net >= 0 && !grounded[at(l.net)])
                legs.insert(set.chassis.nets()[at(l.net)].name);
            else
                tied = true;
    return !tied || legs.empty() ? std::string("each lead")
                                 : "each lead from " + listed({legs.begin(), legs.end()}) +
                                       " (the other leg goes to the metal by the circuit)";
}

std::string plus_net(const SetUnderRepair& set, const std::string& id) {
    const Part& p = *set.part(id);
    const auto row = set.stress_of_part.find(set.chassis.part(id));
    const std::size_t lead = choice::plus_lead(p, row == set.stress_of_part.end() ? nullptr : row->second);
    const auto name = [&](std::size_t l) {
        const int net = p.leads[l].net;
        return net < 0 ? std::string("nothing") : set.chassis.nets()[at(net)].name;
    };
    // Where minus is not the metal it must not go there, whatever the can suggests.
    const std::size_t other = 1 - lead;
    std::string text = lead == 0 ? name(0) : name(1) + " (NOT to " + name(0) + " as the file has it)";
    const int metal = set.metal();
    if (p.leads[other].net >= 0 && p.leads[other].net != metal)
        text += ", minus to " + name(other) + ", insulated from the chassis";
    return text;
}

std::string check_of_new(const SetUnderRepair& set, const std::vector<std::string>& ids) {
    std::string check;
    const auto also = [&](const std::string& more) { check += (check.empty() ? "" : "; ") + more; };
    std::map<PartKind, std::vector<std::string>> by_kind;
    std::vector<std::string> plus, dry;
    std::string ohmic;
    for (const std::string& id : ids) {
        const Part& p = *set.part(id);
        const auto it = set.bought.find(id);
        // resistors in the place of a cord that drops the heaters' volts
        const bool drops = p.kind == PartKind::cord && it != set.bought.end() && it->second.ohms > 0;
        if (is_electrolytic(p))
            plus.push_back(id);
        else if (p.kind == PartKind::capacitor)
            dry.push_back(id);
        else if (p.kind != PartKind::resistor && p.kind != PartKind::control && !drops)
            by_kind[p.kind].push_back(id);
        else if (const std::string band = new_ohms(set, id); !band.empty())
            ohmic += (ohmic.empty() ? "" : "; ") + band;
    }
    for (const std::string& id : plus) also("plus of " + id + " to " + plus_net(set, id));
    if (!ohmic.empty()) also("the new " + ohmic);
    if (!dry.empty()) also("the new " + listed(dry) + " over 20 meg out of the circuit");
    if (!plus.empty()) also("the new " + listed(plus) + " over 100 k once charged, out of the circuit");
    for (const auto& [kind, reads] :  // common practice, no source
         {std::pair(PartKind::wire, "under 1 ohm from end to end"),
          std::pair(PartKind::cord,
                    "under 1 ohm along each wire, over 20 megohms from one to the other before "
                    "they go on the set"),
          std::pair(PartKind::power_switch, "under 1 ohm closed, over 20 megohms open and to the case"),
          std::pair(PartKind::fuse, "reads through, and bears the amperes and the kind that are listed"),
          std::pair(PartKind::lamp, "reads through"), std::pair(PartKind::speaker, "reads through"),
          std::pair(PartKind::coil, "reads through, over 20 megohms to its frame"),
          std::pair(PartKind::transformer, "reads through on each winding, over 20 megohms to its frame"),
          std::pair(PartKind::rectifier, "conducts one way only")})
        if (const auto some = by_kind.find(kind); some != by_kind.end())
            also("the new " + listed(some->second) + " " + reads +
                 (kind == PartKind::cord ? ways_of_the_plug(set) : std::string()));
    if (const std::string heavy = gauge_words(set, by_kind[PartKind::wire]); !heavy.empty()) also(heavy);
    for (const std::string& id : by_kind[PartKind::rectifier])
        if (const int bar = set.part(id)->lead("cathode"); bar >= 0 && set.part(id)->leads[at(bar)].net >= 0)
            also("its bar, the cathode, at " + set.chassis.nets()[at(set.part(id)->leads[at(bar)].net)].name +
                 ": turned round it puts minus on the filters");
    if (!plus.empty() || !dry.empty())
        also("value and volts on the body as listed");
    else if (!ohmic.empty())
        also("value and watts on the body as listed");
    return check + (check.empty() ? "" : ", ") + "no lead bare or left open";
}

std::string ohm_limits(const SetUnderRepair& set, const std::vector<int>& parts) {
    std::string text;
    for (int i : parts) {
        const Part& p = set.part(i);
        if (!p.ohms) continue;
        text += (text.empty() ? "" : "; ") + ohm_band(p.id, *p.ohms, drift_allowed(set.duties.of(i), set.policy));
    }
    return text.empty() ? std::string("as documented") : text + "; else a new one";
}

std::string leak_limits(const SetUnderRepair& set, const std::vector<int>& parts) {
    std::string text;
    for (int i : parts) {
        const Part& p = set.part(i);
        text +=
            (text.empty() ? "" : "; ") + p.id + " " + (is_electrolytic(p) ? electrolytic_leak(p) : dry_leak(set, p));
    }
    return text;
}

}  // namespace tubewright::repair
