// SPDX-License-Identifier: MIT
// See step_list.hpp.
#include "order/step_list.hpp"

#include <algorithm>

namespace tubewright::repair {

using K = ActKind;

std::string joined(const std::vector<std::string>& ids) {
    std::string text;
    for (const std::string& id : ids) text += (text.empty() ? "" : "-") + id;
    return text;
}

RepairStep& StepList::add(const std::string& id, const std::string& does, double mins) {
    RepairStep s;
    s.step = id;
    s.does = does;
    s.minutes = mins;
    steps.push_back(std::move(s));
    return steps.back();
}

bool StepList::there(const std::string& id) const {
    return std::any_of(steps.begin(), steps.end(), [&](const RepairStep& s) { return s.step == id; });
}

RepairStep& StepList::step(const std::string& id) {
    return *std::find_if(steps.begin(), steps.end(), [&](const RepairStep& s) { return s.step == id; });
}

bool StepList::follows(const std::string& step, const std::string& before) const {
    for (const RepairStep& s : steps)
        if (s.step == step)
            return std::any_of(s.predecessors.begin(), s.predecessors.end(),
                               [&](const StepLink& l) { return l.step == before; });
    return false;
}

void StepList::after(const std::string& step, const std::string& before, const std::string& rule,
                     const std::string& why) {
    if (step == before || !there(before)) return;
    for (RepairStep& s : steps) {
        if (s.step != step) continue;
        for (const StepLink& l : s.predecessors)
            if (l.step == before && l.rule == rule) return;
        s.predecessors.push_back({before, rule, why});
    }
}

bool StepList::waits(const std::string& step, const std::string& before) const {
    std::set<std::string> seen;
    std::vector<std::string> front{step};
    while (!front.empty()) {
        const std::string one = front.back();
        front.pop_back();
        if (one == before) return true;
        if (!seen.insert(one).second) continue;
        for (const RepairStep& s : steps)
            if (s.step == one)
                for (const StepLink& l : s.predecessors) front.push_back(l.step);
    }
    return false;
}

void StepList::forget(const std::set<std::string>& gone) {
    steps.erase(std::remove_if(steps.begin(), steps.end(), [&](const RepairStep& s) { return gone.count(s.step) > 0; }),
                steps.end());
    for (RepairStep& s : steps)
        s.predecessors.erase(std::remove_if(s.predecessors.begin(), s.predecessors.end(),
                                            [&](const StepLink& l) { return gone.count(l.step) > 0; }),
                             s.predecessors.end());
}

bool feeds(K kind) {
    return kind == K::power_transformer_alone || kind == K::power_heaters || kind == K::power_b_plus ||
           kind == K::power_full_line || kind == K::power_supply_alone || kind == K::soak || kind == K::align ||
           kind == K::check_touch_current;
}

bool feeds(const RepairStep& s) {
    return std::any_of(s.acts.begin(), s.acts.end(), [](const Act& act) { return feeds(act.kind); });
}

bool puts_hands_in(const RepairStep& s) {
    return std::any_of(s.acts.begin(), s.acts.end(), [](const Act& act) {
        return act.kind == K::lift || act.kind == K::remove || act.kind == K::fit || act.kind == K::reconnect ||
               act.kind == K::refit_tube || act.kind == K::measure || act.kind == K::cold_ohms ||
               act.kind == K::sleeve || act.kind == K::trace_polarity || act.kind == K::reassemble ||
               act.kind == K::plug_speaker || act.kind == K::fit_fuse;
    });
}

bool buys(const RepairStep& s) {
    return s.step == "buy-line-side" || s.step == "buy-parts";
}

}  // namespace tubewright::repair
