// SPDX-License-Identifier: MIT
// Cold ohms before anything is bought: of windings, the heater string and switches. What the circuit hides while its
// parts are in is read by the step that takes them out.
#include <algorithm>
#include <map>
#include <utility>

#include "chassis/graph.hpp"
#include "choice/figure.hpp"
#include "order/checks.hpp"
#include "order/drafting.hpp"

namespace tubewright::repair {
namespace {

using choice::listed;
using K = ActKind;

/// What stands between some nets and the metal: a resistor, a coil or a wire, or old capacitors alone, which leak.
struct WayToMetal {
    bool joined = false;
    std::vector<std::string> by;  ///< capacitors
    bool open() const { return !joined && by.empty(); }
};

WayToMetal way_to_metal(const SetUnderRepair& set, const std::vector<int>& nets) {
    WayToMetal way;
    const int metal = set.metal();
    if (metal < 0) return way;
    const PartGraph copper(set.chassis.parts(), static_cast<int>(set.chassis.nets().size()), Through::copper);
    const std::vector<bool> grounded = copper.reached({metal});
    std::vector<int> from;
    for (const int net : nets) {
        way.joined = way.joined || (net >= 0 && grounded[at(net)]);
        if (net >= 0) from.push_back(net);
    }
    const std::vector<bool> reached = copper.reached(from, grounded);
    for (const Part& c : set.chassis.parts()) {
        if (c.kind != PartKind::capacitor || c.leads.size() != 2 || set.action(c.id) == "leave") continue;
        const int a = c.leads[0].net, b = c.leads[1].net;
        if (a >= 0 && b >= 0 && ((reached[at(a)] && grounded[at(b)]) || (reached[at(b)] && grounded[at(a)])))
            way.by.push_back(c.id);
    }
    return way;
}

bool all_replaced(const SetUnderRepair& set, const std::vector<std::string>& ids) {
    return !ids.empty() &&
           std::all_of(ids.begin(), ids.end(), [&](const std::string& id) { return set.action(id) == "replace"; });
}

std::string winding_ohms(const SetUnderRepair& set, Drafts& drafts) {
    std::string text;
    for (const Part& p : set.chassis.parts())
        for (const PartWinding& w : p.windings) {
            if (w.role == WindingRole::rf || w.ohms.empty()) continue;
            for (std::size_t k = 0; k < w.ohms.size(); ++k) {
                std::string name = p.id + " " + w.name;
                if (w.ohms.size() > 1) name.append(".").append(std::to_string(k + 1));
                text += (text.empty() ? "" : ", ") + name + " " + say(ohms(w.ohms[k]));
            }
        }
    for (const Part& p : set.chassis.parts())
        if (p.kind == PartKind::coil && p.ohms) text += (text.empty() ? "" : ", ") + p.id + " " + say(ohms(*p.ohms));
    if (text.empty()) return "continuity";
    // A winding with a lead on the metal reads its own ohms to the core: only the others can be asked for megohms
    // while everything is still soldered.
    std::vector<std::string> clear, leaky, tied;
    for (const Part& p : set.chassis.parts())
        for (const PartWinding& w : p.windings) {
            if (w.role == WindingRole::rf) continue;
            std::vector<int> ends;
            for (int k : w.leads) ends.push_back(p.leads[at(k)].net);
            const WayToMetal way = way_to_metal(set, ends);
            const std::string name = p.id + " " + w.name;
            (way.joined ? tied : way.open() ? clear : leaky).push_back(name);
            if (!way.joined && all_replaced(set, way.by)) drafts.behind.emplace_back(name, way.by);
        }
    text = "the file says " + text + "; halves may differ 25 %";
    if (!clear.empty()) text += "; over 1 megohm to the core: " + listed(clear);
    if (!leaky.empty()) text += "; not judged to the core while old capacitors hang between them: " + listed(leaky);
    if (!tied.empty())
        text += "; joined to the metal by the circuit, so no megohms until a lead is freed, which no step asks for: " +
                listed(tied);
    return text;
}

/// Contacts that the circuit joins to the metal are read with their leads off, after the pictures.
void free_switch_step(const SetUnderRepair& set, Drafts& drafts, const std::string& place,
                      const std::vector<std::string>& poles) {
    const std::string id = "free-" + joined(poles);
    RepairStep& s = drafts.add(
        id,
        place + ": free the leads of " + listed(poles) +
            ", each lead tagged with its lug; megohms from each contact to its case; put them back",
        static_cast<double>(poles.size()) * (set.minutes("lift") + set.minutes("measure") + set.minutes("refit")));
    s.parts = poles;
    s.place = place;
    s.reason = "a contact that leaks puts the line on its case, and the circuit hides that while its leads are on";
    s.check = "over 20 megohms from each contact to the case";
    s.acts = {{K::lift, poles, "its leads", 0},
              {K::measure, poles, "megohms to the case", 0},
              {K::reconnect, poles, "as it was", 0},
              {K::inspect, poles, "joints", 0}};
    drafts.at_place.insert(id);
    drafts.solder.push_back(id);
    for (const std::string& one : poles) drafts.settled_by[one] = id;
    drafts.line_fits.push_back({id, "H5", "the switch keeps the line off its case"});
    drafts.after(id, "cold-ohms-windings", "list", "read in its place first");
    opens_joints(drafts, id);
}

/// Contacts of the switches on the line side, in `s`. What cannot be read with their leads on, by place.
std::map<std::string, std::vector<std::string>> read_switches(const SetUnderRepair& set, Drafts& drafts,
                                                              RepairStep& s) {
    std::vector<std::string> switches, clear;
    std::map<std::string, std::vector<std::string>> freed_switches;  // by place
    for (const std::string& id : set.looked_at) {
        if (set.part(id)->kind != PartKind::power_switch) continue;
        switches.push_back(id);
        std::vector<int> contacts;
        for (const Lead& l : set.part(id)->leads) contacts.push_back(l.net);
        const WayToMetal way = way_to_metal(set, contacts);
        const auto on_line = [&](const std::string& c) { return holds(set.line_capacitors, c); };
        if (way.open())
            clear.push_back(id);
        else if (!set.from_line())
            drafts.settled_by[id] = "cold-ohms-all";  // with the A lead to the chassis
        else if (!way.joined && all_replaced(set, way.by) && std::all_of(way.by.begin(), way.by.end(), on_line))
            drafts.behind.emplace_back(id, way.by);
        else
            freed_switches[set.place_of(set.chassis.part(id))].push_back(id);
    }
    if (!switches.empty()) {
        std::vector<std::string> dirty;
        for (const std::string& id : switches)
            if (!set.part(id)->seen.empty()) dirty.push_back(id);
        if (!dirty.empty()) s.does += "; " + listed(dirty) + " cleaned and worked first";
        s.does += "; ohms of each contact of " + listed(switches) + ", closed";
        s.check += "; each contact of " + listed(switches) + " under 1 ohm closed";
        if (!clear.empty()) {
            s.does += "; megohms from each contact of " + listed(clear) + " to its case";
            s.check += "; each contact of " + listed(clear) + " over 20 megohms from the case";
        }
        s.acts.push_back({K::measure, switches, "ohms closed", 0});
    }
    return freed_switches;
}

/// Read in one step, with the same old capacitors out.
struct ReadBehind {
    std::vector<std::string> windings, switches;
};

void read_in(const SetUnderRepair& set, Drafts& drafts, const std::string& id, const std::vector<std::string>& by,
             const ReadBehind& what) {
    const auto& [windings, switches] = what;
    const std::string out = "with the old " + listed(by) + " out";
    RepairStep& s = drafts.step(id);
    std::string does, check;
    std::vector<std::string> parts;
    for (const std::string& w : windings)
        if (const std::string one = w.substr(0, w.find(' ')); !holds(parts, one)) parts.push_back(one);
    if (!windings.empty()) {
        does = "megohms of " + listed(windings) + " to the core";
        check = listed(windings) + " over 1 megohm to the core";
    }
    if (!switches.empty()) {
        does += (does.empty() ? "" : " and ") + ("megohms from each contact of " + listed(switches)) + " to its case";
        check +=
            (check.empty() ? "" : ", ") + ("each contact of " + listed(switches)) + " over 20 megohms from the case";
    }
    s.does += "; " + out + ", " + does;
    s.check += "; " + out + ", " + check;
    s.minutes += set.minutes("measure");
    for (const auto& [kind, list] : {std::pair(K::cold_ohms, parts), std::pair(K::measure, switches)}) {
        const auto fit = std::find_if(s.acts.begin(), s.acts.end(), [](const Act& a) { return a.kind == K::fit; });
        if (!list.empty()) s.acts.insert(fit, Act{kind, list, "with the old capacitors out", 0});
    }
    for (const std::string& one : switches) drafts.settled_by[one] = id;
}

}  // namespace

void cold_windings_step(const SetUnderRepair& set, Drafts& drafts) {
    std::vector<std::string> windings, iron, coils;
    for (const Part& p : set.chassis.parts())
        if (p.kind == PartKind::transformer || p.kind == PartKind::coil) {
            windings.push_back(p.id);
            const bool cored = p.kind == PartKind::transformer
                                   ? p.role != "if" && p.role != "rf" && p.role != "oscillator"
                                   : p.role == "field" || p.role == "choke";
            (cored ? iron : coils).push_back(p.id);
        }
    std::string of = listed(iron);
    if (!coils.empty()) of += (of.empty() ? "the coils " : ", and the coils ") + listed(coils);
    RepairStep& s =
        drafts.add("cold-ohms-windings",
                   "Cold ohms of " + of + (iron.empty() ? "" : "; to the core where nothing joins them to it"),
                   set.minutes("cold-ohms"));
    s.parts = windings;
    s.reason = "an open winding changes what the set is worth";
    s.check = winding_ohms(set, drafts);
    s.acts = {{K::cold_ohms, windings, "windings", 0}};
    if (windings.empty()) s.does = "Cold ohms from line to chassis and B-minus";
    if (const std::string string = string_ohms(set); !string.empty()) {
        const std::vector<std::string> gaps = gaps_of_string(set);
        s.does += gaps.empty() ? std::string("; of the heater string, switch on, its tubes in")
                               : "; of each heater by itself, from pin to pin: the string is open at " + listed(gaps) +
                                     " as found";
        s.check += "; " + (gaps.empty() ? string : heaters_cold(set) + "; once they are new, " + string);
    }
    if (set.from_battery || set.portable())
        s.check += "; filaments of 50 mA never on the low range of an old ohmmeter: it burns them";
    const std::map<std::string, std::vector<std::string>> freed_switches = read_switches(set, drafts, s);
    drafts.after("cold-ohms-windings", "discharge", "charge", "ohms are read on an empty set");
    for (const auto& [place, some] : freed_switches) free_switch_step(set, drafts, place, some);
}

void read_behind_capacitors(const SetUnderRepair& set, Drafts& drafts) {
    std::map<std::pair<std::string, std::vector<std::string>>, ReadBehind> reads;  // by step and capacitors
    for (const auto& [what, by] : drafts.behind) {
        std::vector<std::string> steps;
        for (const std::string& id : by)
            if (const auto own = drafts.settled_by.find(id);
                own != drafts.settled_by.end() && !holds(steps, own->second))
                steps.push_back(own->second);
        if (steps.size() == 1 && drafts.there(steps.front())) {
            ReadBehind& there = reads[{steps.front(), by}];
            (set.part(what) ? there.switches : there.windings).push_back(what);
        } else if (!set.part(what) && std::none_of(by.begin(), by.end(), [&](const std::string& id) {
                       return is_electrolytic(*set.part(id));
                   })) {
            drafts.read_last.push_back(what);
        }
    }
    for (const auto& [where, what] : reads) read_in(set, drafts, where.first, where.second, what);
}

}  // namespace tubewright::repair
