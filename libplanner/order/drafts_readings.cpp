// SPDX-License-Identifier: MIT
// What is measured and stays if it reads right: capacitors proved at their working volts, resistors, with what is
// lifted for it and put back.
#include <algorithm>
#include <set>

#include "chassis/graph.hpp"
#include "choice/figure.hpp"
#include "order/checks.hpp"
#include "order/drafting.hpp"

namespace tubewright::repair {
namespace {

using choice::listed;
using K = ActKind;

/// Of what a step reads and puts back: that the log has it out.
std::string goes_back(const SetUnderRepair& set, const std::vector<std::string>& list) {
    std::vector<std::string> out;
    for (const std::string& id : list)
        if (set.out(id)) out.push_back(id);
    if (out.empty()) return {};
    return "; put " + listed(out) + " back, out by the log";
}

// Whether direct current finds a way round a resistor, with the tubes out.
bool way_round(const SetUnderRepair& set, int index) {
    const Part& p = set.part(index);
    if (p.leads.size() < 2) return false;
    std::vector<int> front{p.leads[0].net};
    std::vector<bool> seen(set.chassis.nets().size());
    while (!front.empty()) {
        const int net = front.back();
        front.pop_back();
        if (net < 0 || seen[at(net)]) continue;
        seen[at(net)] = true;
        for (const LeadRef& ref : set.chassis.nets()[at(net)].leads) {
            const Part& q = set.part(ref.part);
            if (ref.part == index || q.kind == PartKind::socket) continue;
            for (const ConductingGroup& g : conducting_groups(q, ref.part, Through::copper))
                if (std::find(g.leads.begin(), g.leads.end(), ref.lead) != g.leads.end())
                    for (int l : g.leads) front.push_back(q.leads[at(l)].net);
        }
    }
    return p.leads[1].net >= 0 && seen[at(p.leads[1].net)];
}

/// What is replaced and lay over one of these is new by then, and leaves room.
bool makes_room(const SetUnderRepair& set, const Drafts& drafts, const std::string& over) {
    return set.action(over) == "replace" && drafts.settled_by.count(over) > 0 &&
           drafts.settled_by.at(over).rfind("replace-", 0) == 0;
}

/// What is lifted to reach parts that are read; told, with its minutes.
std::vector<std::string> reached(const SetUnderRepair& set, const Drafts& drafts, RepairStep& s,
                                 const std::vector<std::string>& list) {
    std::vector<std::string> over;
    for (const std::string& id : list)
        for (const std::string& l : set.lifted_for(id))
            if (!holds(over, l) && !makes_room(set, drafts, l)) over.push_back(l);
    if (over.empty()) return over;
    std::vector<std::string> under;
    for (const std::string& id : list)
        for (const std::string& l : set.lifted_for(id))
            if (holds(over, l) && !holds(under, id)) under.push_back(id);
    s.does += "; for " + listed(under) + " lift " + listed(over) + " first, each lead tagged with its lug, and put " +
              (over.size() == 1 ? "it" : "them") + " back";
    s.minutes += static_cast<double>(over.size()) * (set.minutes("lift") + set.minutes("refit"));
    return over;
}

void lift_round(const SetUnderRepair& set, Drafts& drafts, RepairStep& s, const std::vector<std::string>& over) {
    if (over.empty()) return;
    // what is read itself is lifted for itself
    std::vector<std::string> only;
    for (const std::string& id : over)
        if (std::none_of(s.acts.begin(), s.acts.end(),
                         [&](const Act& act) { return act.kind == K::lift && holds(act.parts, id); }))
            only.push_back(id);
    if (only.empty()) return;
    s.acts.insert(s.acts.begin(), Act{K::lift, only, "for access", 0});
    s.acts.push_back({K::reconnect, only, "as it was", 0});
    s.acts.push_back({K::inspect, only, "joints", 0});
    for (const std::string& id : only)
        if (is_electrolytic(*set.part(id))) drafts.with_plus.insert(s.step);
}

/// Read after what lay over it is new, and that step says that it leaves room.
void wait_for_room(const SetUnderRepair& set, Drafts& drafts, const std::string& id,
                   const std::vector<std::string>& list) {
    for (const std::string& one : list)
        for (const std::string& l : set.lifted_for(one)) {
            if (!makes_room(set, drafts, l) || drafts.waits(drafts.settled_by[l], id)) continue;
            drafts.after(id, drafts.settled_by[l], "access", one + " is reached once " + l + " is new and clear of it");
            RepairStep& over = drafts.step(drafts.settled_by[l]);
            const std::string words = "; leave " + one + " clear, which lay under " + l;
            if (over.does.find("; leave " + one + " clear") == std::string::npos) over.does += words;
        }
}

/// No two ends are open at once: each is back before the next is lifted.
std::vector<Act> one_by_one_free(const std::vector<std::string>& list, const char* what, bool charged) {
    std::vector<Act> acts;
    for (const std::string& id : list) {
        acts.push_back({K::lift, {id}, "one end", 0});
        acts.push_back({K::measure, {id}, what, 0});
        if (charged) acts.push_back({K::discharge, {id}, "through 10 k 10 W", 0});
        acts.push_back({K::reconnect, {id}, "as it was, or a new one", 0});
    }
    return acts;
}

std::vector<std::string> leaky_beside(const SetUnderRepair& set, int r) {
    std::vector<std::string> found;
    for (const Lead& l : set.part(r).leads) {
        if (l.net < 0 || l.net == set.chassis.reference() || l.net == set.chassis.nodes().chassis_metal ||
            l.net == set.chassis.nodes().b_minus)
            continue;
        for (const LeadRef& ref : set.chassis.nets()[at(l.net)].leads) {
            const Part& c = set.part(ref.part);
            const auto now = set.progress.parts.find(c.id);
            const bool settled = now != set.progress.parts.end() &&
                                 (now->second == PartState::fitted || now->second == PartState::proved ||
                                  now->second == PartState::omitted);
            if ((is_paper(c) || is_electrolytic(c)) && !settled) found.push_back(c.id);
        }
    }
    return found;
}

void prove_step(const SetUnderRepair& set, Drafts& drafts, const std::vector<int>& group) {
    const std::vector<std::string> list = set.ids(group);
    const std::string id = "prove-" + joined(list);
    const double n = static_cast<double>(list.size());
    std::vector<std::string> formed;
    if (set.policy.electrolytics == FilterPolicy::reform)
        for (const std::string& p : list)
            if (is_electrolytic(*set.part(p))) formed.push_back(p);
    RepairStep& s = drafts.add(id,
                               set.place_of(group.front()) + ": lift one end of " + listed(list) +
                                   (list.size() == 1 ? ""
                                    : formed.empty() ? ", one at a time"
                                                     : ", each tagged with its lug") +
                                   (formed.empty() ? ""
                                                   : "; form " + listed(formed) +
                                                         " through 100 k, at no more than 1 mA, up to its working "
                                                         "volts; then") +
                                   (formed.empty() ? ", leakage" : " leakage") +
                                   " at working volts, empty it through 10 k 10 W, put it back or replace it" +
                                   (list.size() == 1 || !formed.empty() ? "" : " before the next"),
                               n * (set.minutes("measure-leakage") + set.minutes("lift") + set.minutes("refit")) +
                                   minutes_to_empty(set, list) + (formed.empty() ? 0 : set.minutes("reform")));
    drafts.at_place.insert(id);
    s.parts = list;
    s.place = set.place_of(group.front());
    s.does += goes_back(set, list);
    s.check = leak_limits(set, group) + emptied_words;
    const std::vector<std::string> over = reached(set, drafts, s, list);
    if (formed.empty())
        s.acts = one_by_one_free(list, "leakage at working volts", true);
    else
        s.acts = {{K::lift, list, "one end, each tagged with its lug", 0},
                  {K::measure, list, "leakage at working volts", 0},
                  {K::discharge, list, "each through 10 k 10 W", 0},
                  {K::reconnect, list, "as it was, or a new one", 0}};
    s.acts.push_back({K::inspect, list, "joints", 0});
    lift_round(set, drafts, s, over);
    for (const std::string& p : list)
        if (is_electrolytic(*set.part(p))) drafts.with_plus.insert(id);
    drafts.solder.push_back(id);
    for (const std::string& p : list) drafts.settled_by[p] = id;
    opens_joints(drafts, id);
    wait_for_room(set, drafts, id, list);
}

/// What may have burnt a resistor and stays is proved before the new resistor goes in.
void causes_first(const SetUnderRepair& set, Drafts& drafts) {
    for (const PartAction& a : set.actions)
        for (const std::string& cause : set.burnt_with(a.part)) {
            const std::string& burnt = set.part(a.part).id;
            if (a.action != "replace" || cause == burnt || set.action(cause) != "measure" ||
                !drafts.settled_by.count(cause) || !drafts.settled_by.count(burnt) ||
                drafts.settled_by[cause] == drafts.settled_by[burnt])
                continue;
            drafts.after(drafts.settled_by[burnt], drafts.settled_by[cause], "H18",
                         cause + " may have burnt " + burnt + ": proved first");
        }
}

void measure_step(const SetUnderRepair& set, Drafts& drafts, const std::vector<int>& group) {
    const std::vector<std::string> list = set.ids(group);
    const std::string id = "measure-" + joined(list);
    std::vector<std::string> one_end;
    std::set<std::string> waits;
    for (int r : group) {
        bool lift = way_round(set, r);
        for (const std::string& c : leaky_beside(set, r)) {
            if (drafts.settled_by.count(c))
                waits.insert(drafts.settled_by[c]);
            else
                lift = true;
        }
        if (lift) one_end.push_back(set.part(r).id);
    }
    RepairStep& s = drafts.add(id,
                               set.place_of(group.front()) + ": ohms of " + listed(list) +
                                   (one_end.empty() ? "" : "; one end of " + listed(one_end) + " free") +
                                   (one_end.size() > 1 ? ", one at a time, back before the next"
                                    : !one_end.empty() ? ", and back"
                                                       : ""),
                               static_cast<double>(list.size()) * set.minutes("measure-resistor") +
                                   static_cast<double>(one_end.size()) * (set.minutes("lift") + set.minutes("refit")));
    drafts.at_place.insert(id);
    s.parts = list;
    s.place = set.place_of(group.front());
    s.does += goes_back(set, one_end);
    s.check = ohm_limits(set, group);
    const std::vector<std::string> over = reached(set, drafts, s, list);
    std::vector<std::string> in_place;
    for (const std::string& p : list)
        if (!holds(one_end, p)) in_place.push_back(p);
    if (!in_place.empty()) s.acts.push_back({K::measure, in_place, "ohms", 0});
    if (!one_end.empty()) {
        for (Act& act : one_by_one_free(one_end, "ohms", false)) s.acts.push_back(std::move(act));
        s.acts.push_back({K::inspect, one_end, "joints", 0});
    }
    lift_round(set, drafts, s, over);
    const bool opened = !one_end.empty() || !over.empty();
    if (opened) drafts.solder.push_back(id);
    for (const std::string& p : list) drafts.settled_by[p] = id;
    for (const std::string& w : waits)
        drafts.after(id, w, "s10", "leaky neighbours are new before a resistor is judged");
    if (opened) drafts.after(id, "photographs", "H2", "no joint is opened before the pictures");
    drafts.after(id, "discharge", "charge", "ohms are read on an empty set");
    wait_for_room(set, drafts, id, list);
}

}  // namespace

double minutes_to_empty(const SetUnderRepair& set, const std::vector<std::string>& list) {
    return set.minutes("discharge") *
           static_cast<double>(std::count_if(list.begin(), list.end(),
                                             [&](const std::string& id) { return is_electrolytic(*set.part(id)); }));
}

void measuring_steps(const SetUnderRepair& set, Drafts& drafts) {
    std::vector<int> resistors, capacitors;
    for (const PartAction& a : set.actions) {
        const Part& p = set.part(a.part);
        if (a.action != "measure" || drafts.settled_by.count(p.id)) continue;
        if (p.kind == PartKind::resistor || p.kind == PartKind::control) resistors.push_back(a.part);
        if (p.kind == PartKind::capacitor) capacitors.push_back(a.part);
    }
    for (const std::vector<int>& group : set.grouped(capacitors)) prove_step(set, drafts, group);
    causes_first(set, drafts);
    for (const std::vector<int>& group : set.grouped(resistors)) measure_step(set, drafts, group);
}

}  // namespace tubewright::repair
