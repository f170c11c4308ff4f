// SPDX-License-Identifier: MIT
// See drafts.hpp.
#include "order/drafts.hpp"

#include <algorithm>
#include <set>

#include "order/drafting.hpp"

namespace tubewright::repair {
namespace {

using K = ActKind;

constexpr const char* emptying = "discharge-after-";

// The clip at the end of a stage is the stage's own. Before hands go in each filter section is emptied and read by
// itself: a step, done at once after the stage (Visits keeps the two together), that every step with hands in
// which waits for the stage waits for too.
void emptying_steps(const SetUnderRepair& set, Drafts& drafts) {
    std::vector<std::string> powered;
    for (const RepairStep& s : drafts.steps)
        if (feeds(s)) powered.push_back(s.step);
    std::vector<std::string> hands;
    for (const RepairStep& s : drafts.steps)
        if (puts_hands_in(s)) hands.push_back(s.step);
    for (const std::string& power : powered) {
        // hands that come after this stage, and after no other stage behind it; stages have their own arrows
        std::vector<std::string> behind;
        bool any = false;
        for (const std::string& hand : hands) {
            const bool next =
                hand != power && drafts.waits(hand, power) &&
                std::none_of(powered.begin(), powered.end(), [&](const std::string& other) {
                    return other != power && other != hand && drafts.waits(hand, other) && drafts.waits(other, power);
                });
            any = any || next;
            if (next && !holds(powered, hand)) behind.push_back(hand);
        }
        if (!any) continue;
        const std::string id = emptying + power;
        discharge_step(set, drafts, id,
                       "it was powered just now, and a filter keeps its charge when nothing bleeds it");
        drafts.emptied_by[power] = id;
        drafts.after(id, power, "list", "it was powered");
        for (const std::string& hand : behind) drafts.after(hand, id, "list", "hands in an empty set");
    }
}

// Neither powered nor soldered: looked at, read cold, and what is out put back.
void keep_as_it_is(const SetUnderRepair& set, Drafts& drafts) {
    static const std::set<std::string> harmless{
        "label-check", "cord-safe",  "reference", "discharge",          "photographs", "inspect",
        "pull-tubes",  "test-tubes", "earth-off", "cold-ohms-windings", "preserve"};
    RepairStep& s = drafts.add("preserve",
                               "Put the boxes of the tubes with the set, close it as it was found, and tag it: kept as "
                               "it is, never plugged in",
                               set.minutes("hand-back"));
    s.reason = "the policy is to preserve: nothing original is lost, and nothing is powered";
    s.check = "tag on the cord and inside the cabinet, with the date and what was read";
    std::set<std::string> gone;
    for (const RepairStep& one : drafts.steps)
        if (!harmless.count(one.step) && one.step.rfind("put-back-", 0) != 0) gone.insert(one.step);
    drafts.forget(gone);
    for (const RepairStep& one : drafts.steps) drafts.after("preserve", one.step, "list", "it is closed last");
}

}  // namespace

void discharge_step(const SetUnderRepair& set, Drafts& drafts, const std::string& id, const std::string& reason) {
    RepairStep& s = drafts.add(id,
                               std::string(set.from_line() ? "Plug out" : "Supply off") +
                                   ": empty each filter section by itself through 10 k 10 W, read it, read it again "
                                   "after a minute",
                               set.minutes("discharge"));
    s.reason = reason;
    s.check = "0 V on each section";
    s.acts = {{K::discharge, {}, "each filter section", 0}};
}

bool is_emptying(const std::string& step) {
    return step.rfind(emptying, 0) == 0;
}

void opens_joints(Drafts& drafts, const std::string& step) {
    drafts.after(step, "photographs", "H2", "no joint is opened before the pictures");
    drafts.after(step, "discharge", "charge", "hands in an empty set");
}

Drafts drafted(const SetUnderRepair& set) {
    Drafts drafts;
    opening_steps(set, drafts);
    line_steps(set, drafts);
    replacement_steps(set, drafts);
    measuring_steps(set, drafts);
    read_behind_capacitors(set, drafts);
    put_back_steps(set, drafts);
    closing_steps(set, drafts);
    doubted_steps(set, drafts);
    emptying_steps(set, drafts);
    if (set.policy.purpose == PurposePolicy::preserve) keep_as_it_is(set, drafts);
    if (!set.progress.steps_done.empty() || !set.progress.deeds.empty() || !set.doubted.empty()) drop_done(set, drafts);
    if (set.policy.purpose != PurposePolicy::preserve && !set.progress.steps_done.empty()) tubes_back(set, drafts);
    open_ends_first(set, drafts);
    return drafts;
}

}  // namespace tubewright::repair
