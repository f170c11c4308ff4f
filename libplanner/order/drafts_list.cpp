// SPDX-License-Identifier: MIT
// The list: what is bought, new tubes, one out and one in, what burnt a resistor that is found burnt.
#include <algorithm>
#include <set>

#include "chassis/data.hpp"
#include "choice/figure.hpp"
#include "choice/minutes.hpp"
#include "choice/polarity.hpp"
#include "order/checks.hpp"
#include "order/drafting.hpp"

namespace tubewright::repair {
namespace {

using choice::listed;
using K = ActKind;

/// As they go in: what lies over another of them after it.
std::vector<std::string> upper_last(const SetUnderRepair& set, const std::vector<std::string>& ids) {
    std::vector<std::string> placed;
    const auto waits = [&](const std::string& id) {
        return std::any_of(ids.begin(), ids.end(), [&](const std::string& under) {
            return under != id && !holds(placed, under) && holds(set.lifted_for(under), id);
        });
    };
    while (placed.size() < ids.size()) {
        const auto open = [&](const std::string& id) { return !holds(placed, id); };
        auto next = std::find_if(ids.begin(), ids.end(), [&](const std::string& id) { return open(id) && !waits(id); });
        if (next == ids.end()) next = std::find_if(ids.begin(), ids.end(), open);
        placed.push_back(*next);
    }
    return placed;
}

/// Of these: what lies over others of them, and those others.
std::pair<std::vector<std::string>, std::vector<std::string>> over_and_under(const SetUnderRepair& set,
                                                                             const std::vector<std::string>& ids) {
    std::vector<std::string> over, under;
    for (const std::string& id : ids)
        for (const std::string& l : set.lifted_for(id)) {
            if (l == id || !holds(ids, l)) continue;
            if (!holds(over, l)) over.push_back(l);
            if (!holds(under, id)) under.push_back(id);
        }
    return {over, under};
}

/// A can is stuffed anew; a tubular has nothing to stuff.
bool goes_into_can(const SetUnderRepair& set, const Part& p) {
    return set.policy.cans == CanPolicy::restuff && is_electrolytic(p) && !p.can.empty();
}

/// What becomes of a pack whose capacitors are replaced: nothing is bought for it, and what is sound goes on in it.
std::string block_words(const SetUnderRepair& set, const Part& pack, const std::vector<std::string>& replaced) {
    std::vector<std::string> old, stay, freed, kept;
    std::set<int> in_use;
    for (const Part& p : set.chassis.parts()) {
        if (p.inside != pack.id) continue;
        (holds(replaced, p.id) ? old : stay).push_back(p.id);
        if (!holds(replaced, p.id))
            for (const Lead& l : p.leads) in_use.insert(l.net);
    }
    for (const Lead& l : pack.leads) (in_use.count(l.net) ? kept : freed).push_back(l.name);
    if (old.empty() || freed.empty()) return {};
    return ": free and tape its " + (stay.empty() ? "leads " : std::string(freed.size() == 1 ? "lead " : "leads ")) +
           listed(freed) + ", with the old " + listed(old) + " dead inside" +
           (stay.empty() ? std::string()
                         : "; " + listed(stay) + (stay.size() == 1 ? " goes on by " : " go on by ") + listed(kept));
}

// No capacitor can have burnt it: what did is looked for behind the tests of its tubes, and where the iron is tried
// first, before the rest is bought.
void find_cause_step(const SetUnderRepair& set, Drafts& drafts, int r, const std::string& replaces) {
    const std::vector<std::string> found = set.burnt_with(r);
    const std::vector<std::string> suspects(found.begin() + 1, found.end());
    const std::string id = "find-cause-" + set.part(r).id;
    RepairStep& s = drafts.add(id,
                               set.place_of(r) + ": find what burnt " + set.part(r).id +
                                   (suspects.empty() ? std::string(", by ohms from each of its ends to the returns")
                                                     : ", at " + listed(suspects) +
                                                           " first, by ohms from each of its ends "
                                                           "to the returns"),
                               set.minutes("measure") + set.minutes("place-change"));
    s.parts = found;
    s.place = set.place_of(r);
    s.reason = "a new resistor burns like the old one while what burnt it is there";
    s.check = "what draws the current is found and on the list";
    s.acts = {{K::find_cause, found, "what burnt it", 0}};
    drafts.after(id, "discharge", "charge", "ohms are read on an empty set");
    for (const std::string& suspect : suspects) {
        if (set.part(suspect)->kind != PartKind::socket || !drafts.there("test-tubes")) continue;
        if (holds(drafts.step("test-tubes").parts, suspect))
            drafts.after(id, "test-tubes", "H18",
                         suspect + " is tested before it is cleared of burning " + set.part(r).id);
    }
    if (!set.alone_step().empty()) drafts.after("buy-parts", id, "list", "what is found goes on the list");
    drafts.after(replaces, id, "H18", "what burnt " + set.part(r).id + " is found and on the list");
}

void buy_the_rest(const SetUnderRepair& set, Drafts& drafts, const std::vector<std::string>& all) {
    const std::vector<std::string> open = set.still_to_buy(all);
    if (!drafts.there("buy-parts")) buy_all(set, drafts);
    RepairStep& buying = drafts.step("buy-parts");
    std::vector<std::string>& wanted = buying.acts.front().parts;
    wanted.insert(wanted.end(), open.begin(), open.end());
    const bool more = set.progress.passed_at.count("buy-parts") > 0 || open.size() < all.size();
    if (more && !wanted.empty()) buying.does = "Buy " + listed(wanted);
    drafts.after("buy-parts", set.alone_step(), "s4", "the transformer is proved before money is spent");
}

void new_tubes_step(const SetUnderRepair& set, Drafts& drafts) {
    double money = 0;
    std::string what;
    for (const std::string& id : drafts.new_tubes) {
        const auto bought = set.bought.find(id);
        money += bought == set.bought.end() ? 0 : bought->second.cost;
        what += (what.empty() ? "" : "; ") + id + ": " + set.part(id)->tube +
                (stands_empty(*set.part(id))  ? ", the socket was found empty"
                 : set.part(id)->seen.empty() ? ""
                                              : ", the old one was seen " + set.part(id)->seen);
    }
    RepairStep& s = drafts.add("new-tubes", "Test the new tubes like the old ones, and label them: " + what,
                               set.minutes("tube-test") * static_cast<double>(drafts.new_tubes.size()));
    s.parts = drafts.new_tubes;
    s.place = "tube tester";
    s.cost = choice::cents(money);
    s.reason = "a tube that was found bad does not go back, and a new one may be bad";
    s.check = "no short, tapped; the old one is marked and out of reach";
    s.acts = {{K::fit, drafts.new_tubes, "in the place of the old, by their labels", 0},
              {K::test_tube, drafts.new_tubes, "the new ones", 0},
              {K::remove, drafts.new_tubes, "in their boxes until their stage", 0}};
    drafts.after("new-tubes", "buy-parts", "list", "bought before it is tested");
    drafts.after("new-tubes", "test-tubes", "list", "the old one's verdict comes first");
}

void batteries_step(const SetUnderRepair& set, Drafts& drafts, const std::vector<std::string>& batteries) {
    RepairStep& s = replacing(set, drafts, "replace-" + joined(batteries), "battery case", batteries);
    s.reason = "leaked or of no use; nothing is connected before its stage";
    s.check = "volts of each by itself, plus and minus as the label has them; cable still off";
    drafts.after(s.step, "buy-parts", "list", "bought before it is fitted");
    opens_joints(drafts, s.step);
}

void replace_together(const SetUnderRepair& set, Drafts& drafts, const std::vector<int>& group) {
    const std::string id = "replace-" + joined(set.ids(group));
    RepairStep& s = replacing(set, drafts, id, set.place_of(group.front()), set.ids(group));
    drafts.at_place.insert(id);
    std::vector<int> hunted;  // what burnt it is found by hand, in a step of its own
    for (int r : group) {
        const std::vector<std::string> found = set.burnt_with(r);
        if (found.empty()) continue;
        if (burnt_by(set.chassis, set.duties, r).empty()) {
            hunted.push_back(r);
            continue;
        }
        s.acts.insert(s.acts.begin(), Act{K::find_cause, found, "what burnt it", 0});
        s.does += "; " + set.part(r).id + " was probably burnt by " + listed({found.begin() + 1, found.end()});
    }
    for (int r : hunted) find_cause_step(set, drafts, r, id);
    drafts.after(id, "buy-parts", "list", "bought before it is fitted");
    opens_joints(drafts, id);
}

/// What burnt a part goes before it; what is reached by lifting another goes before that.
void one_before_the_other(const SetUnderRepair& set, Drafts& drafts, const std::vector<int>& group) {
    const std::string id = drafts.settled_by.at(set.part(group.front()).id);
    for (int r : group) {
        for (const std::string& c : set.burnt_with(r))
            if (drafts.settled_by.count(c) && !drafts.waits(drafts.settled_by.at(c), id))
                drafts.after(id, drafts.settled_by.at(c), "list",
                             "what burnt " + set.part(r).id + " goes before it (H18 wants it on the list)");
        // An old part that is lifted for access is replaced afterwards, not soldered in new and lifted again.
        for (const std::string& l : set.lifted_for(set.part(r).id))
            if (drafts.settled_by.count(l) && !drafts.waits(id, drafts.settled_by.at(l)))
                drafts.after(drafts.settled_by.at(l), id, "access", set.part(r).id + " is reached by lifting " + l);
    }
}

}  // namespace

RepairStep& replacing(const SetUnderRepair& set, Drafts& drafts, const std::string& id, const std::string& place,
                      const std::vector<std::string>& of) {
    const std::vector<std::string> ids = upper_last(set, of);
    std::vector<std::string> lifts;
    for (const std::string& p : ids)
        for (const std::string& l : set.lifted_for(p))
            if (!holds(ids, l) && !holds(lifts, l)) lifts.push_back(l);
    const auto [first_out, under] = over_and_under(set, ids);
    double mins = 0, money = 0;
    std::string what;
    for (const std::string& p : ids) {
        const auto it = set.bought.find(p);
        const bool inside = goes_into_can(set, *set.part(p));
        mins += inside                                ? set.minutes("restuff")
                : set.part(p)->kind == PartKind::fuse ? set.minutes("tube")  // its holder is there
                : it == set.bought.end()              ? choice::replace_cost(*set.part(p), set.catalogue).minutes
                                                      : it->second.minutes;
        money += it == set.bought.end() ? 0 : it->second.cost;
        what += (what.empty() ? "" : "; ") + p +
                (it != set.bought.end()                 ? ": " + it->second.text
                 : set.part(p)->kind == PartKind::block ? block_words(set, *set.part(p), ids)
                                                        : "") +
                (inside ? ", inside the old can" : "");
    }
    mins += static_cast<double>(lifts.size()) * (set.minutes("lift") + set.minutes("refit"));
    RepairStep& s = drafts.add(
        id,
        place + ": replace " + (ids.size() > 1 ? "one out, one in: " : "") + what +
            (lifts.empty() ? ""
             : lifts.size() == 1
                 ? "; lift " + lifts.front() + " first and put it back"
                 : "; lift " + listed(lifts) + " first, each lead tagged with its lug, and put them back") +
            (first_out.empty() ? ""
                               : "; take " + listed(first_out) + " out first, each lead tagged with its lug: " +
                                     listed(under) + (under.size() == 1 ? " lies" : " lie") + " underneath and " +
                                     (under.size() == 1 ? "goes" : "go") + " in before"),
        mins);
    s.parts = ids;
    s.place = place;
    s.cost = choice::cents(money);
    for (const PartStress& row : set.stress)  // what the solver found wrong with the part that stands there
        if (row.lead.empty() && holds(ids, set.part(row.part).id))
            if (const std::string remark = choice::remark_without_polarity(row); !remark.empty())
                s.reason += (s.reason.empty() ? "" : "; ") + set.part(row.part).id + " " + remark;
    if (!lifts.empty()) s.acts.push_back({K::lift, lifts, "for access", 0});
    if (!first_out.empty()) s.acts.push_back({K::remove, first_out, "what lies over the others", 0});
    s.acts.push_back({K::fit, ids, what, 0});
    s.acts.push_back({K::inspect, ids, "joints, lead dress, value on the body", 0});
    if (!lifts.empty()) {
        s.acts.push_back({K::reconnect, lifts, "as it was", 0});
        s.acts.push_back({K::inspect, lifts, "joints", 0});
    }
    s.check = check_of_new(set, ids);
    drafts.solder.push_back(id);
    for (const std::string& p : ids) drafts.settled_by[p] = id;
    for (const std::string& p : ids)
        if (is_electrolytic(*set.part(p))) drafts.with_plus.insert(id);
    for (const std::string& p : lifts)
        if (is_electrolytic(*set.part(p))) drafts.with_plus.insert(id);
    return s;
}

RepairStep& buy_all(const SetUnderRepair& set, Drafts& drafts) {
    RepairStep& s = drafts.add("buy-parts", set.alone_step().empty() ? "Buy the list" : "Buy the rest of the list",
                               set.minutes("log"));
    s.reason = set.alone_step().empty() ? "after the cold ohms: an open winding changes what the set is worth"
                                        : "after the transformer test: before it, money may be lost";
    s.check = "values, volts and classes as listed";
    s.acts = {{K::buy, {}, "capacitors, resistors and the rest", 0}};
    drafts.after("buy-parts", "cold-ohms-windings", "s4", "an open winding changes what the set is worth");
    drafts.after("buy-parts", "inspect", "list", "what is seen decides what is bought");
    return s;
}

void replacement_steps(const SetUnderRepair& set, Drafts& drafts) {
    std::vector<int> replaced;
    std::vector<std::string> batteries;
    for (const PartAction& a : set.actions) {
        const Part& p = set.part(a.part);
        if (a.action != "replace" || drafts.settled_by.count(p.id)) continue;
        if (p.kind == PartKind::socket)
            drafts.new_tubes.push_back(p.id);  // no joint: it goes in when its stage of the power-up comes
        else if (p.kind == PartKind::battery)
            batteries.push_back(p.id);
        else if (p.kind == PartKind::vibrator)
            drafts.settled_by[p.id] = "pull-tubes";  // so does this: the old one never goes back
        else
            replaced.push_back(a.part);
    }
    std::vector<std::string> all = drafts.new_tubes;
    all.insert(all.end(), batteries.begin(), batteries.end());
    for (const int r : replaced) all.push_back(set.part(r).id);
    for (const std::string& id : set.vibrators)
        if (set.alone_step().empty() && set.action(id) == "replace") all.push_back(id);
    if (!all.empty()) buy_the_rest(set, drafts, all);
    if (!drafts.new_tubes.empty()) new_tubes_step(set, drafts);
    if (!batteries.empty()) batteries_step(set, drafts, batteries);
    const std::vector<std::vector<int>> groups = set.grouped(replaced);
    for (const std::vector<int>& group : groups) replace_together(set, drafts, group);
    for (const std::vector<int>& group : groups) one_before_the_other(set, drafts, group);
}

}  // namespace tubewright::repair
