// SPDX-License-Identifier: MIT
// The sheet of equations for another engine, what holds as assumed, and the discharge after switch-off. See bands.hpp.
#include <algorithm>
#include <cmath>
#include <iterator>
#include <map>
#include <numbers>
#include <set>
#include <tuple>

#include "bench/bands.hpp"
#include "circuit/decay.hpp"

namespace tubewright::bench {

namespace {

/// The formulas of tubes/laws.hpp, by law.
const std::vector<std::pair<std::string, std::string>>& law_texts() {
    static const std::vector<std::pair<std::string, std::string>> texts{
        {"definitions",
         "soft(x, w) = w ln(1 + exp(x/w)); cube(x) = x sqrt(x); Q(V) = soft(V, 0.3); volts against the last node, "
         "amperes into each node but the last, which carries minus the sum; emission multiplies all but the shunts"},
        {"vacuum-diode",
         "nodes p, k: C = perveance cube(max(V, 0)); Ip = emission C/(1 + (C/limit_amps)^4)^(1/4) + 1e-9 V; limit_amps "
         "0: "
         "Ip = emission C + 1e-9 V"},
        {"gas-diode", "nodes p, k: Ip = emission soft(V - drop, width)/slope_ohms + 1e-9 V"},
        {"signal-diode", "nodes d, k: Id = emission perveance cube(soft(V - onset, 0.15)) + 1e-12 V"},
        {"triode",
         "nodes p, g1, k: w = width + width_share Q(Vp)/mu; E = soft(Vg + Vp/mu + contact, w); Ip = emission perveance "
         "cube(E) Q(Vp)/(Q(Vp) + 1 + grid_hold Q(Vg)) + 1e-10 Vp; Ig = emission grid_perveance cube(soft(Vg - "
         "grid_onset, 0.15)) + 1e-12 Vg"},
        {"pentode",
         "nodes p, g2, g1, k: F = Vg2/mu + Vp/mu_plate; w = width + width_share Q(Vg2)/mu; Is = emission perveance "
         "(cube(soft(Vg1 + F + contact, w)) + tail cube(soft(Vg1 + tail_field F + contact, tail_field w))); z = "
         "Q(Vg2)/(Q(Vg2) + 1); y = screen_share z + knee Q(Vg2)^2/(Q(Vp)^2 + Q(Vg2)^2 + 1); a = Q(Vp)^4/(Q(Vp)^4 (1 + "
         "y) + corner Q(Vg2)^4 + 1); Ip = a Is + 1e-10 Vp; "
         "Ig2 = (1 - a) z Is + 1e-10 Vg2; Ig1 as in triode"},
        {"on a filament",
         "a law's name with it, nodes ..., f, k: the law with volts against the lower end of the filament, L = 0 - "
         "soft(0 - Vf, 0.05); half of what its nodes take leaves at f, the rest at k"},
        {"on a tapped filament",
         "a law's name with it, nodes ..., m, f, k: half of the law with volts against L1 = 0 - soft(0 - Vm, 0.05), "
         "and half of it against L2 = Vm - soft(Vm - Vf, 0.05); half of what its nodes take leaves at m, a quarter at "
         "f, the rest at k"},
        {"converter",
         "nodes p, s, a, o, g, k: plate and signal grid g as in pentode; screen s as in pentode where divides is 0, "
         "else, T = Is with total_at Q(Vs) in place of Vg1, T^2 (1 - a) z/(T (1 - a) + a Is) + 1e-10 Vs; "
         "Ia = emission anode_perveance cube(Q(Va)) h + 1e-10 Va, where w = -(Vo + swing Q(Va))/(Q(Va)/10 + 1), "
         "h = 1 for w < 0, 1 - 3 w^2 + 2 w^3 up to w = 1, then 0; Io = emission oscillator_grid soft(Vo + swing "
         "Q(Va), 0.3) + 1e-12 Vo"},
        {"pentagrid",
         "nodes p, s, o, g, k: as converter with the screen as the oscillator's plate: Io = emission oscillator_grid "
         "soft(Vo + swing Q(Vs), 0.3) + 1e-12 Vo; no anode grid"},
        {"transformer",
         "ideal core: volts a turn alike in all windings, sum of turns times amperes = turns.1 times (magnetising + "
         "loss amperes); magnetising_henries and loss_ohms across the inner volts of the first winding; ohms.k in "
         "series with winding k, between nodes 2k-1 and 2k of the list"},
        {"capacitor", "farads, with leak_siemens beside it"},
        {"heater",
         "heater or lamp: a resistor whose ohms = rated_volts/rated_amps max((V/rated_volts)^(1 - exponent), "
         "cold_share), V its own rms volts; the ohms of each condition are this law's fixed point"},
        {"dry-rectifier",
         "nodes anode, k: V = fold_volts ln(1 + i/saturation_amps) + i series_ohms; Ia = emission (i + reverse_siemens "
         "V)"},
        {"contact",
         "siemens between its nodes while the share of the period that has passed lies between from and to (and works "
         "is 1); 1e-9 siemens for the rest"},
        {"direct-source", "volts from the second node to the first"},
        {"line", "volts_rms sqrt(2) cos(2 pi hertz t) from the second node to the first"}};
    return texts;
}

std::string value_name(const Item& item, Slot slot, int index) {
    switch (slot) {
        case Slot::ohms:
            return "ohms";
        case Slot::siemens:
            return item.kind == "capacitor" ? "leak_siemens" : "siemens";
        case Slot::farads:
            return "farads";
        case Slot::henries:
            return item.kind == "transformer" ? "magnetising_henries" : "henries";
        case Slot::direct:
            return item.kind == "direct-source" ? "volts" : "amps";
        case Slot::amplitude:
            return "volts_rms";
        case Slot::parameter:
            return item.names[static_cast<std::size_t>(index)];
        case Slot::winding_ohms:
            return "ohms." + std::to_string(index + 1);
    }
    return {};
}

}  // namespace

ModelSheet model_sheet(const Translation& in) {
    ModelSheet sheet;
    sheet.nodes = in.node_names;
    std::vector<int> element_of(in.items.size(), -1);
    for (const Item& item : in.items) {
        if (item.kind == "port" || item.full < 0) continue;
        ModelElement one;
        one.id = item.id;
        one.part = item.part >= 0 ? item.id.substr(0, item.id.find(' ')) : std::string();
        one.kind = item.kind;
        one.law = item.law;
        for (const Node at : item.nodes) one.nodes.push_back(in.node_names[static_cast<std::size_t>(at)]);
        for (std::size_t k = 0; k < item.names.size(); ++k) {
            one.values.emplace_back(item.names[k], item.values[k]);
            one.sources.push_back(k < item.sources.size() ? item.sources[k] : std::string());
        }
        sheet.elements.push_back(std::move(one));
        element_of[static_cast<std::size_t>(&item - in.items.data())] = static_cast<int>(sheet.elements.size()) - 1;
    }
    for (const Thermal& heater : in.thermals) {
        for (std::size_t k = 0; k < heater.items.size(); ++k) {
            const int at = element_of[static_cast<std::size_t>(heater.items[k])];
            if (at < 0) continue;
            ModelElement& one = sheet.elements[static_cast<std::size_t>(at)];
            one.law = "heater";
            const std::string rated = one.sources.empty() ? std::string() : one.sources.front();
            for (const auto& [name, value] :
                 {std::pair<const char*, double>{"rated_volts", heater.rated_volts * heater.shares[k]},
                  {"rated_amps", heater.rated_amps},
                  {"exponent", heater.exponent},
                  {"cold_share", heater.cold_share}}) {
                one.values.emplace_back(name, value);
                one.sources.push_back(name[0] == 'r' ? rated : "common practice, no source");
            }
        }
    }
    sheet.laws = law_texts();
    for (const Item& item : in.items)
        for (const char* end : {" on a filament", " on a tapped filament"})
            if (item.law.ends_with(end) && std::none_of(sheet.laws.begin(), sheet.laws.end(),
                                                        [&](const auto& law) { return law.first == item.law; })) {
                const std::string plain = item.law.substr(0, item.law.size() - std::string(end).size());
                sheet.laws.emplace_back(item.law, "as " + plain + ", see '" + std::string(end + 1) + "'");
            }
    return sheet;
}

void model_signal(const ModelSheet& driven, ModelSheet& sheet) {
    const std::set<std::string> nodes(sheet.nodes.begin(), sheet.nodes.end());
    std::copy_if(driven.nodes.begin(), driven.nodes.end(), std::back_inserter(sheet.signal_nodes),
                 [&](const std::string& name) { return nodes.count(name) == 0; });
    std::map<std::string, const ModelElement*> known;
    for (const ModelElement& one : sheet.elements) known.emplace(one.id, &one);
    for (const ModelElement& one : driven.elements) {
        const auto at = known.find(one.id);
        if (at == known.end() || at->second->nodes != one.nodes || at->second->values != one.values)
            sheet.signal_elements.push_back(one);
    }
}

void model_changes(const Translation& in, const Solved& solved, const std::string& scenario, ModelSheet& sheet) {
    std::map<std::tuple<int, int, int>, double> last;
    for (const Change& change : solved.changes)
        last[{change.item, static_cast<int>(change.slot), change.index}] = change.value;
    for (const auto& [key, value] : last) {
        const auto [index, slot, place] = key;
        const Item& item = in.items[static_cast<std::size_t>(index)];
        if (item.kind == "port" || item.full < 0) continue;
        const double to = static_cast<Slot>(slot) == Slot::amplitude ? value / std::numbers::sqrt2 : value;
        if (to == value_under(in, {}, index, static_cast<Slot>(slot), place)) continue;
        sheet.changes.push_back({scenario, item.id, value_name(item, static_cast<Slot>(slot), place), to});
    }
    const Item& source = in.items[static_cast<std::size_t>(in.source)];
    if (!in.direct && solved.hertz != source.values[1])
        sheet.changes.push_back({scenario, source.id, "hertz", solved.hertz});
}

std::vector<Discharge> discharge_times(const Translation& in, const Chassis& set, const Values& values,
                                       const Solution& from) {
    std::vector<circuit::DecayBranch> resistances, capacitors;
    std::vector<int> resistance_part, capacitor_part;
    for (std::size_t k = 0; k < in.items.size(); ++k) {
        const Item& item = in.items[k];
        const auto now = [&](Slot slot, int index) {
            return value_under(in, values, static_cast<int>(k), slot, index);
        };
        const auto put = [&](Node a, Node b, double siemens) {
            if (a == b || !(siemens > 0)) return;
            resistances.push_back({a, b, siemens, 0});
            resistance_part.push_back(item.part);
        };
        if (static_cast<int>(k) == in.lamp) continue;
        if (item.kind == "resistor" || item.kind == "inductor")
            put(item.nodes[0], item.nodes[1], 1 / std::max(now(Slot::ohms, 0), 1e-3));
        if (item.kind == "gap") put(item.nodes[0], item.nodes[1], now(Slot::siemens, 0));
        if (item.kind == "transformer") {
            for (std::size_t w = 0; 2 * w + 1 < item.nodes.size(); ++w)
                put(item.nodes[2 * w], item.nodes[2 * w + 1],
                    1 / std::max(now(Slot::winding_ohms, static_cast<int>(w)), 1e-3));
        }
        if (item.kind != "capacitor") continue;
        put(item.nodes[0], item.nodes[1], now(Slot::siemens, 0));
        if (!(now(Slot::farads, 0) > 0) || item.nodes[0] == item.nodes[1]) continue;
        double volts = 0;
        for (const Branch& branch : from.branches) {
            if (branch.part == item.part) volts = branch.volts_dc.value();
        }
        capacitors.push_back({item.nodes[0], item.nodes[1], now(Slot::farads, 0), volts});
        capacitor_part.push_back(item.part);
    }
    constexpr double level = 60, longest = 1e6, worth_naming = 0.2;
    const int nodes = static_cast<int>(in.node_names.size());
    const circuit::Decay decayed = circuit::decay(nodes, resistances, capacitors, level, longest);
    const auto is_resistor = [&](std::size_t r) {
        const int p = resistance_part[r];
        return p >= 0 && set.parts()[static_cast<std::size_t>(p)].kind == PartKind::resistor;
    };
    std::vector<Discharge> out;
    for (std::size_t k = 0; k < capacitors.size(); ++k) {
        const Part& part = set.parts()[static_cast<std::size_t>(capacitor_part[k])];
        if (!part.polarised || std::fabs(capacitors[k].volts) <= level) continue;
        Discharge one;
        one.part = capacitor_part[k];
        one.start = Volts(capacitors[k].volts);
        one.to_60_volts = Seconds(decayed.seconds[k]);
        one.without_first = one.to_60_volts;
        // What empties this one is what its own charge is burnt in, the others empty from the start.
        std::vector<circuit::DecayBranch> alone = capacitors;
        for (std::size_t j = 0; j < alone.size(); ++j)
            if (j != k) alone[j].volts = 0;
        const circuit::Decay own = circuit::decay(nodes, resistances, alone, level, longest);
        std::map<int, double> burnt;
        double all = 0;
        for (std::size_t r = 0; r < resistances.size(); ++r) {
            if (!is_resistor(r)) continue;
            burnt[resistance_part[r]] += own.joules[r];
            all += own.joules[r];
        }
        for (const auto& [p, joules] : burnt)
            if (all > 0 && joules >= worth_naming * all) one.through.push_back(p);
        std::stable_sort(one.through.begin(), one.through.end(), [&](int x, int y) { return burnt[x] > burnt[y]; });
        if (decayed.seconds[k] < 0) one.through.clear();
        if (!one.through.empty()) {
            std::vector<circuit::DecayBranch> rest;
            for (std::size_t r = 0; r < resistances.size(); ++r)
                if (resistance_part[r] != one.through.front()) rest.push_back(resistances[r]);
            one.without_first = Seconds(circuit::decay(nodes, rest, capacitors, level, longest).seconds[k]);
        }
        out.push_back(std::move(one));
    }
    return out;
}

void standing_assumptions(const Translation& in, std::vector<Assumption>& out) {
    out.push_back({"parts", "sound, but for what was seen open or missing: that is not there",
                   "a healthy set is what readings are compared with; age is in the bands and in the faults",
                   "replace or measure each part", "each net's band", "stated"});
    out.push_back({"tubes", "an average new tube of the type, +-20 % of plate current in the bands",
                   "no tube is measured", "a tube tester, or volts across the cathode resistor",
                   "plate, screen and cathode volts", "assumed"});
    if (!in.thermals.empty()) {
        out.push_back(
            {"heaters",
             "ohms follow the heater's own rms volts: amperes as volts to the .58; cold ohms a sixth of hot ones; "
             "amperes +-5 % in the bands",
             "catalogues give the rated point alone", "ohms cold; amperes at two voltages",
             "primary amperes by a few percent; heater volts by less",
             "common practice, no source (exponent .55 to .6, cold 1/4 to 1/8)"});
        out.push_back({"emission", "full from 60 % of heater volts up, none below 30 %, smooth between",
                       "no curve is published for these types", "B-plus against line volts with a variable transformer",
                       "readings at reduced line", "assumed"});
    }
}

void condition_assumptions(const Translation& in, const Chassis& set, const Solved& solved, const Condition& condition,
                           std::vector<Assumption>& out) {
    const std::string volts = say(Volts(solved.volts));
    const bool battery = set.line().supply == "battery";
    const std::string feed = battery ? "; battery " : "; line ";
    if (in.node_names.size() > most_nodes_of_the_period && !(in.ports.size() == 1 && in.ports.front().simple))
        out.push_back({"supplies", "their volts within 4 %, and .15 of their volts over amperes as their ohms",
                       "so large a set: its tolerances are not carried through its rectifiers",
                       "the volts of each filter with more and less of a load", "the bands of all that hangs on them",
                       "assumed, as of the small sets"});
    if (!half_heated_tubes(in, solved).empty())
        out.push_back({"emission at reduced heat",
                       "its curve a tenth of the heater's volts to either side, in the bands",
                       "no curve is published between 30 and 60 %", "B-plus against line volts, on a sound set",
                       "all direct volts at such heat, from about none up", "assumed"});
    switch (condition.scenario) {
        case Scenario::high_line:
            if (battery) {
                out.push_back({"upper line", volts, "the battery new, or while an engine charges it",
                               "a voltmeter at the battery, new or with the engine running", "all volts in proportion",
                               "recalled (7.5 V of 6.3 V while charging; new dry cells 4 % over their mark)"});
                break;
            }
            if (!in.direct && std::any_of(in.feeds.begin(), in.feeds.end(), [&](const Feed& one) {
                    return in.items[static_cast<std::size_t>(one.item)].part >= 0;
                }))
                out.push_back({"batteries at the upper line", "new: 4 % over their marks",
                               "a set that runs on either is highest on new cells", "their volts, new",
                               "all that they feed, in proportion", "recalled"});
            out.push_back({"upper line", volts, "the highest the line should stand for long",
                           "a voltmeter at the outlet over a day", "all volts in proportion",
                           "recalled (126 V on 120 V, 253 V on 230 V)"});
            break;
        case Scenario::warm_up: {
            std::string slow;
            bool unheated = false;
            for (const Tube& tube : in.tubes) {
                unheated = unheated || (tube.rectifier && tube.unheated);
                if (tube.rectifier && !tube.direct && !tube.unheated)
                    slow += (slow.empty() ? "" : ", ") + set.parts()[static_cast<std::size_t>(tube.part)].id;
            }
            if (dry_alone(in)) {
                out.push_back(
                    {"warm-up",
                     "the dry rectifier conducts at once, cathodes and filaments do not emit yet" + feed + volts,
                     "filters charge in a tenth of a second, a filament is hot in half of one or more",
                     "a peak-reading meter on the filters at switch-on", "the surge on every filter capacitor",
                     "common practice, no source"});
                break;
            }
            out.push_back({"warm-up",
                           slow.empty()
                               ? (unheated ? "a rectifier without a heater conducts at once, the other cathodes not yet"
                                           : "the rectifier's filament emits, the other cathodes do not yet") +
                                     feed + volts
                               : slow +
                                     " is heated indirectly and warms with the rest: the worst case, hot "
                                     "before all others, is kept" +
                                     feed + volts,
                           "a directly heated rectifier is there in two seconds, cathodes take ten to thirty",
                           "a peak-reading meter on the first filter at switch-on",
                           "the surge on every filter capacitor", "common practice, no source"});
            break;
        }
        case Scenario::switch_on:
            out.push_back({"warming",
                           "each heater in turn a quarter lighter than the others, which are alike for their watts",
                           "no table gives their masses", "volts across each heater in the first half minute",
                           "how far a heater flares; half as much again as its volts is the accepted ceiling",
                           "assumed; the ceiling: a maker's note of 1963, as quoted"});
            break;
        case Scenario::soak: {
            std::map<int, std::pair<double, double>> ohms;  // by part, cold and hot; a tapped coil is two
            for (const Iron& iron : in.irons) {
                auto& [cold, hot] = ohms[in.items[static_cast<std::size_t>(iron.item)].part];
                cold += iron.ohms;
                hot += value_under(in, solved.changes, iron.item, Slot::ohms, 0);
            }
            for (const auto& [p, both] : ohms)
                out.push_back({p < 0 ? std::string("iron") : set.parts()[static_cast<std::size_t>(p)].id + " hot",
                               say(Ohms(both.second)) + ", of " + say(Ohms(both.first)) + " cold",
                               "its own watts heat it by " +
                                   std::to_string(std::lround(assumed::iron_kelvin_per_watt)) + " degrees C a watt, " +
                                   std::to_string(std::lround(assumed::most_iron_rise)) +
                                   " at most; copper has 4 % more ohms for each ten degrees",
                               "its ohms after an hour, plug out and filters discharged",
                               "a half to twice the rise: B-plus by a few percent", "assumed"});
            break;
        }
        case Scenario::speaker_unplugged:
            out.push_back({"speaker unplugged", "all parts on its plug open" + feed + volts,
                           "the plug is pulled by mistake oftener than by plan", "never by trying it",
                           "the surge on the first filter", "common practice, no source"});
            break;
        default:
            break;
    }
    if (solved.lamp)
        out.push_back({"series lamp", "amperes as volts to the .55, cold ohms a fourteenth of hot ones",
                       "an ordinary filament lamp", "volts across the lamp", "set volts by a few percent",
                       "published rerating exponents, as quoted"});
}

}  // namespace tubewright::bench
