// SPDX-License-Identifier: MIT
// The line side, or the A lead: what of it is bought first and replaced, the fuse of a set built without one, joints
// that were found loose; then the transformer or the vibrator by itself, before money is spent on the rest.
#include <algorithm>
#include <set>

#include "choice/figure.hpp"
#include "choice/minutes.hpp"
#include "order/checks.hpp"
#include "order/drafting.hpp"

namespace tubewright::repair {
namespace {

using choice::listed;
using K = ActKind;

/// What of the line side is replaced, by what it is.
struct LineSide {
    std::vector<std::string> cords, wires, links, rest;
    std::vector<std::string> across_line, across_winding;  ///< capacitors
    std::vector<std::string> iron;    ///< a transformer that is on the list is not tried: the new one is
    std::vector<std::string> lifted;  ///< capacitors across the plate winding, proved with the transformer's test
};

/// With the parts: what is replaced too and lies over or under one of them, so that nothing old goes back for a
/// while, and nothing new is lifted again; as many as one check can cover, else none.
std::vector<std::string> with_what_lies_over(const SetUnderRepair& set, const Drafts& drafts,
                                             const std::vector<std::string>& ids,
                                             const std::vector<std::string>& taken = {}) {
    std::vector<std::string> all = ids;
    const auto by_itself = [&](const Part& p) {
        return set.action(p.id) != "replace" || plugs_in(p) || holds(taken, p.id) || p.kind == PartKind::battery ||
               drafts.settled_by.count(p.id) > 0 || set.line_side.count(p.id) > 0 || holds(set.line_capacitors, p.id) ||
               holds(set.winding_capacitors, p.id);
    };
    for (std::size_t k = 0; k < all.size(); ++k) {
        for (const std::string& l : set.lifted_for(all[k]))
            if (set.part(l) && !by_itself(*set.part(l)) && !holds(all, l)) all.push_back(l);
        for (const Part& p : set.chassis.parts())
            if (!by_itself(p) && !holds(all, p.id) && holds(set.lifted_for(p.id), all[k])) all.push_back(p.id);
    }
    return all.size() <= group_most ? all : ids;
}

LineSide line_side_of(const SetUnderRepair& set, const Drafts& drafts) {
    LineSide line;
    for (const std::string& id : set.line_side) {
        if (set.action(id) != "replace") continue;
        const PartKind k = set.part(id)->kind;
        (k == PartKind::cord   ? line.cords
         : k == PartKind::wire ? line.wires
         : k == PartKind::fuse ? line.links
                               : line.rest)
            .push_back(id);
    }
    for (const std::string& id : set.line_capacitors)
        if (set.action(id) == "replace") line.across_line.push_back(id);
    for (const std::string& id : set.winding_capacitors)
        if (set.action(id) == "replace")
            line.across_winding.push_back(id);
        else if (set.action(id) == "measure" && !set.transformer.empty())
            line.lifted.push_back(id);
    line.across_line = with_what_lies_over(set, drafts, line.across_line);
    line.across_winding = with_what_lies_over(set, drafts, line.across_winding, line.across_line);
    if (!set.transformer.empty() && set.action(set.transformer) == "replace") line.iron.push_back(set.transformer);
    return line;
}

bool wants_fuse(const SetUnderRepair& set) {
    return !set.fused && (set.has_iron() || set.bought.count(no_fuse) != 0);
}

/// What the list takes for the length of a lead is no measurement.
std::string lengths_words(const SetUnderRepair& set) {
    std::vector<std::string> leads;
    for (const PartAction& a : set.actions)
        if (a.action == "replace" && set.part(a.part).kind == PartKind::wire) leads.push_back(set.part(a.part).id);
    return leads.empty() ? std::string()
                         : "; measure the length of " + listed(leads) + " on the set first, the list only assumes it";
}

void buy_line_side(const SetUnderRepair& set, Drafts& drafts, const LineSide& line, const std::string& buying) {
    std::vector<std::string> want = line.cords;
    for (const auto* list : {&line.wires, &line.links, &line.rest, &line.across_line, &line.across_winding, &line.iron})
        want.insert(want.end(), list->begin(), list->end());
    want = set.still_to_buy(want);
    const bool tried = !set.alone_step().empty();
    if (tried && set.from_vehicle)
        for (const std::string& id : set.vibrators)
            if (set.action(id) == "replace" && !set.has_been_bought(id)) want.push_back(id);
    std::vector<std::string> named = want;
    // what was bought before, beside what is bought again
    const bool again = set.progress.passed_at.count(buying) > 0;
    if (wants_fuse(set) && !again) named.push_back("holder and fuse");
    bool sleeved = false;
    for (const std::string& id : set.lamps) {
        if (!drafts.settled_by.count(id)) continue;
        sleeved = !again;
        if (set.action(id) == "replace" && !set.has_been_bought(id)) named.push_back(id);
    }
    if (sleeved) named.push_back("sleeving");
    if (named.empty()) return;
    // Where no transformer is tried before money is spent, all is bought at once.
    if (!tried) {
        RepairStep& s = buy_all(set, drafts);
        s.does = std::string(set.from_vehicle   ? "Buy what the A lead and the vibrator need: "
                             : set.from_battery ? "Buy what the A lead needs: "
                                                : "Buy what the line side needs: ") +
                 listed(named) + "; and the rest of the list" + lengths_words(set);
        s.acts.front().parts = want;
    } else {
        RepairStep& s =
            drafts.add("buy-line-side",
                       std::string("Buy what the ") + (set.from_vehicle ? "vibrator's test" : "transformer test") +
                           " needs: " + listed(named) + lengths_words(set),
                       set.minutes("log"));
        s.parts = want;
        s.reason = line.iron.empty() ? "cheap, and nothing can be tested without it"
                                     : "the old transformer is not tried: the new one is, and nothing without it";
        s.check = "classes and ratings as listed";
        s.acts = {{K::buy, want, set.from_vehicle ? "for the vibrator's test" : "for the transformer test", 0}};
        drafts.after("buy-line-side", "cold-ohms-windings", "s4", "an open winding changes what the set is worth");
        drafts.after("buy-line-side", "inspect", "list", "what is seen decides what is bought");
    }
    for (const std::string& id : set.lamps)
        if (drafts.settled_by.count(id))
            drafts.after(drafts.settled_by[id], buying, "list", "bought before it is fitted");
}

// What is wrong with the cord, from what is there.
std::string cord_words(const SetUnderRepair& set, const std::vector<std::string>& cords) {
    std::string text;
    for (const std::string& id : cords) {
        const Part& c = *set.part(id);
        std::string words = c.seen;
        const auto also = [&](const std::string& more) { words += (words.empty() ? "" : ", ") + more; };
        if (c.construction == "resistance-cord") also("heat-dropping wire");
        if (c.since)
            also("of " + std::to_string(*c.since));
        else if (set.chassis.built())
            also("as old as the set (" + std::to_string(*set.chassis.built()) + ")");
        if (words.empty()) words = "of unknown age";
        text += id + ": " + words + "; ";
    }
    return text + "line volts, ahead of every fuse in the set";
}

// What is wrong with leads of line, heaters and plates.
std::string lead_words(const SetUnderRepair& set, const std::vector<std::string>& wires) {
    std::vector<std::string> rubber, seen;
    for (const std::string& id : wires) {
        const Part& w = *set.part(id);
        if (!w.seen.empty())
            seen.push_back(id + " " + w.seen);
        else if (w.construction == "rubber")
            rubber.push_back(id);
    }
    std::string text = seen.empty() ? "" : "found: " + listed(seen);
    if (!rubber.empty())
        text += std::string(text.empty() ? "" : "; ") + "old rubber crumbles where it is moved: " + listed(rubber);
    return (text.empty() ? std::string("old insulation") : text) +
           (set.has_iron()    ? "; these carry line, heater or plate volts"
            : set.from_line() ? "; these carry line volts"
                              : "; these carry all that the battery gives");
}

// Not reached from the hot blade but through a fuse; the one that is fitted stands right behind the cord.
bool behind_a_fuse(const SetUnderRepair& set, const Part& p) {
    if (!set.fused) return !set.transformer.empty() && p.kind != PartKind::cord && p.kind != PartKind::plug;
    const NodeRoles& r = set.chassis.nodes();
    std::set<int> seen;
    std::vector<int> front{r.line_hot};
    while (!front.empty()) {
        const int net = front.back();
        front.pop_back();
        if (net < 0 || !seen.insert(net).second) continue;
        for (const LeadRef& ref : set.chassis.nets()[at(net)].leads) {
            const Part& q = set.part(ref.part);
            if (q.kind != PartKind::wire && q.kind != PartKind::power_switch && q.kind != PartKind::cord) continue;
            for (const Lead& l : q.leads) front.push_back(l.net);
        }
    }
    return std::none_of(p.leads.begin(), p.leads.end(),
                        [&](const Lead& l) { return l.net >= 0 && l.net != r.line_neutral && seen.count(l.net) > 0; });
}

// What a short of a capacitor on the line does, and whether a fuse of the set sees it.
std::string short_words(const SetUnderRepair& set, const std::vector<std::string>& caps) {
    bool touch = false, guarded = true;
    for (const std::string& id : caps) {
        touch = touch || set.duties.of(set.chassis.part(id)) == Duty::line_to_touch;
        guarded = guarded && behind_a_fuse(set, *set.part(id));
    }
    if (touch)
        return std::string("a short there makes the metal a line wire") +
               (guarded ? "; a fuse sees it only when the metal is earthed" : ", and no fuse is ahead of it");
    return std::string("a short there is fire") + (guarded ? " until the fuse opens" : ", and no fuse sees it");
}

void replace_line_side(const SetUnderRepair& set, Drafts& drafts, const LineSide& line, const std::string& buying) {
    const auto put = [&](const std::string& id, const std::string& place, const std::vector<std::string>& ids,
                         const std::string& why, const char* rule, const char* held) {
        if (ids.empty()) return;
        RepairStep& s = replacing(set, drafts, id, place, ids);
        drafts.at_place.insert(id);
        s.reason = why + (s.reason.empty() ? "" : "; " + s.reason);
        drafts.line_fits.push_back({id, rule, held});
        drafts.after(id, buying, "list", "bought before it is fitted");
        opens_joints(drafts, id);
    };
    put("replace-" + joined(line.cords), set.source_side(), line.cords, cord_words(set, line.cords), "H5",
        "cord and plug sound");
    for (std::size_t k = 0; k < line.wires.size(); k += group_most) {
        const std::vector<std::string> some(
            line.wires.begin() + static_cast<long>(k),
            line.wires.begin() + static_cast<long>(std::min(line.wires.size(), k + group_most)));
        put("replace-" + joined(some), set.transformer.empty() ? set.source_side() : "transformer leads", some,
            lead_words(set, some), "H5", "line, heater and plate leads sound");
    }
    put("replace-" + joined(line.rest), set.source_side(), line.rest,
        set.transformer.empty() ? "the line side is sound before the set is fed"
                                : "the line side is sound before the line reaches the transformer",
        "H5", "plug, switch and fuse sound");
    put("link-" + joined(line.links), set.source_side(), line.links, "a fuse that does not open watches the set burn",
        "H5", "plug, switch and fuse sound");
    put("replace-" + joined(line.across_line), set.source_side(), line.across_line, short_words(set, line.across_line),
        "H5", "capacitors on the line are new");
    const bool one_place =
        !line.across_winding.empty() &&
        std::all_of(line.across_winding.begin(), line.across_winding.end(), [&](const std::string& id) {
            return set.place_of(set.chassis.part(id)) == set.place_of(set.chassis.part(line.across_winding.front()));
        });
    put("replace-" + joined(line.across_winding),
        one_place ? set.place_of(set.chassis.part(line.across_winding.front())) : "plate winding", line.across_winding,
        set.from_vehicle ? "the buffer: shorted it burns winding and points, of another value the points; exact value, "
                           "1600 V or more"
                         : "it stands live in the transformer test and would spoil its verdict",
        set.from_vehicle ? "H7" : "H6", "capacitors across a plate winding are new");
    put("replace-" + joined(line.iron), "power transformer", line.iron,
        "it is found bad: what burnt it must be found before the new one is powered", "s4",
        "the burnt transformer is out before any is powered");
}

/// Between the switch and the plug stands the neutral: a fuse beside it would put the line on B-minus.
bool switch_in_the_other_lead(const SetUnderRepair& set) {
    const int neutral = set.chassis.nodes().line_neutral;
    return neutral >= 0 && std::any_of(set.chassis.parts().begin(), set.chassis.parts().end(), [&](const Part& p) {
               return p.kind == PartKind::power_switch &&
                      std::any_of(p.leads.begin(), p.leads.end(), [&](const Lead& l) { return l.net == neutral; });
           });
}

void fuse_step(const SetUnderRepair& set, Drafts& drafts, const std::string& buying) {
    const auto it = set.bought.find(no_fuse);
    RepairStep& f = drafts.add(
        "fit-fuse",
        set.source_side() + ": fit " +
            (it == set.bought.end() ? std::string("a holder and a time-lag fuse as the list says") : it->second.text) +
            (set.from_vehicle ? " in the A lead, at its battery's end"
             : switch_in_the_other_lead(set)
                 ? " in the hot lead, ahead of all that it feeds; the switch is in the other "
                   "lead, and stays there"
                 : " in the hot lead, between the cord and the switch"),
        it == set.bought.end() ? set.minutes("fuse") : it->second.minutes);
    f.place = set.source_side();
    f.cost = it == set.bought.end() ? 0 : choice::cents(it->second.cost);
    f.reason = "built without a fuse: what shorts behind it would run until something opens";
    f.check = std::string(set.from_vehicle ? "A" : "hot") + " lead to the tip of the holder, " +
              (switch_in_the_other_lead(set) ? "what that lead fed" : "switch") + " to its ring; nothing of it bare";
    f.acts = {{K::fit_fuse, {}, "in the hot lead", 0}};
    drafts.at_place.insert("fit-fuse");
    drafts.line_fits.push_back({"fit-fuse", "H5", "every stage is fused"});
    drafts.solder.push_back("fit-fuse");
    drafts.after("fit-fuse", buying, "list", "bought before it is fitted");
    opens_joints(drafts, "fit-fuse");
}

// A sound wire at a bad joint: solder, nothing bought.
void resolder_steps(const SetUnderRepair& set, Drafts& drafts) {
    std::vector<int> loose;
    for (const PartAction& a : set.actions)
        if (a.action == "measure" && only_loose(set.part(a.part))) loose.push_back(a.part);
    for (const std::vector<int>& group : set.grouped(loose)) {
        const std::vector<std::string> list = set.ids(group);
        const std::string id = "resolder-" + joined(list);
        RepairStep& s = drafts.add(
            id, set.place_of(group.front()) + ": resolder both ends of " + listed(list) + "; ohms from lug to lug",
            static_cast<double>(list.size()) * (2 * set.minutes("refit") + set.minutes("measure")));
        drafts.at_place.insert(id);
        s.parts = list;
        s.place = set.place_of(group.front());
        s.reason = "found loose: the joint heats and opens, the wire is sound and stays";
        s.check = "under 1 ohm, less the leads, and no flicker when it is moved";
        s.acts = {{K::reconnect, list, "both ends, new solder", 0}, {K::measure, list, "lug to lug", 0}};
        drafts.solder.push_back(id);
        for (const std::string& one : list) {
            drafts.settled_by[one] = id;
            if (set.line_side.count(one)) drafts.line_fits.push_back({id, "H5", "line, heater and plate leads sound"});
        }
        opens_joints(drafts, id);
    }
}

/// What the iron's own test waits for.
void alone_waits(const SetUnderRepair& set, Drafts& drafts, const std::string& alone) {
    if (set.earth.forbidden()) drafts.after(alone, "earth-off", "H22", "no earth on what the line can reach");
    drafts.after(alone, "inspect", "H5",
                 set.from_vehicle ? "A lead and plate leads sound" : "line side, heater and plate leads sound");
    for (const StepLink& f : drafts.line_fits) drafts.after(alone, f.step, f.rule, f.why);
    drafts.after(alone, "pull-tubes", "H6", "rectifier out");
    drafts.after(alone, "cold-ohms-windings", "list", "ohms before volts");
    drafts.after(alone, "clean-sockets", "list", "a track across a socket would spoil its verdict");
}

void transformer_step(const SetUnderRepair& set, Drafts& drafts, const LineSide& line) {
    const double n = static_cast<double>(line.lifted.size());
    RepairStep& s = drafts.add("transformer-alone",
                               "Transformer alone, rectifier and tubes out" +
                                   (line.lifted.empty() ? "" : ", one end of " + listed(line.lifted) + " lifted") +
                                   (line.lifted.size() > 1 ? ", each tagged with its lug" : "") +
                                   ": five minutes behind the lamp, then half an hour at full line, watched" +
                                   (line.lifted.empty() ? ""
                                                        : "; then the leakage of " + listed(line.lifted) +
                                                              ", each emptied through 10 k 10 W, and put back"),
                               set.minutes("transformer-alone") +
                                   n * (set.minutes("measure-leakage") + set.minutes("lift") + set.minutes("refit")) +
                                   minutes_to_empty(set, line.lifted));
    s.parts = {set.transformer};
    s.place = "bench supply";
    s.reason = "the part that nobody makes any more is proved before money is spent";
    s.check = "volts of each winding by the power-up sheet; barely warm after half an hour";
    s.acts = {{K::power_transformer_alone, {set.transformer}, "behind the lamp", 5},
              {K::power_transformer_alone, {set.transformer}, "full line, watched", 30},
              {K::discharge, {}, "plug out", 0}};
    if (!line.lifted.empty()) {
        s.parts.insert(s.parts.end(), line.lifted.begin(), line.lifted.end());
        std::vector<int> indices;
        for (const std::string& id : line.lifted) indices.push_back(set.chassis.part(id));
        s.check += "; " + leak_limits(set, indices) + emptied_words;
        s.acts.insert(s.acts.begin(), Act{K::lift, line.lifted, "one end", 0});
        s.acts.push_back({K::measure, line.lifted, "leakage at working volts", 0});
        s.acts.push_back({K::discharge, line.lifted, "each through 10 k 10 W", 0});
        s.acts.push_back({K::reconnect, line.lifted, "as it was, or a new one", 0});
        s.acts.push_back({K::inspect, line.lifted, "joints", 0});
        drafts.solder.push_back("transformer-alone");
        for (const std::string& id : line.lifted) drafts.settled_by[id] = "transformer-alone";
        opens_joints(drafts, "transformer-alone");
    }
    if (line.iron.empty()) drafts.settled_by[set.transformer] = "transformer-alone";
    alone_waits(set, drafts, "transformer-alone");
}

}  // namespace

void vibrator_step(const SetUnderRepair& set, Drafts& drafts, const std::string& buying) {
    RepairStep& s = drafts.add(
        "vibrator-alone",
        "Rectifier and tubes out: plus and minus at the plug; then the vibrator in" +
            std::string(set.winding_capacitors.empty() ? "" : " with " + listed(set.winding_capacitors)) +
            ", the rectifier still out, from a supply that limits: primary amperes, half an hour, never left",
        3 * set.minutes("power-stage"));
    s.parts = {set.vibrated};
    s.place = "bench supply";
    s.reason =
        "a stuck vibrator or a wrong buffer shows itself while nothing else can be blamed, and before it burns the "
        "winding";
    if (!set.alone_step().empty()) s.reason += "; the transformer is proved before money is spent on the rest";
    s.check = "an even buzz, steady amperes; transformer barely warm";
    std::vector<std::string> renewed, back;
    for (const std::string& id : set.vibrators) {
        const bool bad = set.action(id) == "replace";
        (bad ? renewed : back).push_back(id);
        s.parts.push_back(id);
        drafts.settled_by.emplace(id, bad ? "pull-tubes" : s.step);  // the old one never goes back
        if (const auto it = set.bought.find(id); it != set.bought.end() && bad) s.cost += it->second.cost;
    }
    s.cost = choice::cents(s.cost);
    if (!renewed.empty()) s.acts.push_back({K::fit, renewed, "the new one in the place of the old", 0});
    if (!back.empty()) s.acts.push_back({K::reconnect, back, "into its socket", 0});
    s.acts.push_back({K::power_transformer_alone, {set.vibrated}, "rectifier out, supply limited", 30});
    s.acts.push_back({K::discharge, {}, "supply off", 0});
    if (!renewed.empty()) s.acts.push_back({K::measure, renewed, "its amperes, as written down while it ran", 0});
    drafts.settled_by.emplace(set.vibrated, s.step);
    if (!renewed.empty()) drafts.after("vibrator-alone", buying, "list", "bought before it is fitted");
}

void line_steps(const SetUnderRepair& set, Drafts& drafts) {
    const LineSide line = line_side_of(set, drafts);
    const bool tried = !set.alone_step().empty();
    const std::string buying = tried ? "buy-line-side" : "buy-parts";
    buy_line_side(set, drafts, line, buying);
    replace_line_side(set, drafts, line, buying);
    if (wants_fuse(set)) fuse_step(set, drafts, buying);
    resolder_steps(set, drafts);
    if (!tried) return;
    if (set.from_vehicle) {
        vibrator_step(set, drafts, buying);
        alone_waits(set, drafts, set.alone_step());
    } else {
        transformer_step(set, drafts, line);
    }
}

}  // namespace tubewright::repair
