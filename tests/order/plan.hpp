// SPDX-License-Identifier: MIT
// A set planned without a solve: risk is made by hand from ages.
#pragma once

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "order/order.hpp"
#include "sets.hpp"
#include "threat/threat.hpp"

namespace demo {

inline const std::vector<std::string> nine_sets{"s1-quarry-hill.xml",  "s2-heron-weir.xml", "s3-tanner-row.xml",
                                                "s4-ferry-green.xml",  "s5-mill-lane.xml",  "s6-osier-holt.xml",
                                                "s7-plover-heath.xml", "s8-drover-gap.xml", "s9-bellows-court.xml"};

struct Plan {
    Chassis set;
    ShoppingList list;
    RepairOrder order;

    explicit Plan(Chassis of, ReplacePolicy replace = ReplacePolicy::replace_all,
                  PurposePolicy purpose = PurposePolicy::play, const Progress& progress = {},
                  const StepOptions& options = {})
        : set(std::move(of)) {
        Policy policy;
        policy.replace = replace;
        policy.purpose = purpose;
        const std::vector<PartAction> actions = actions_of(set, demo::catalogue(), policy, {}, progress);
        list = shopping_list(set, demo::catalogue(), policy, {}, actions, {}, progress);
        const ThreatReport threats = demo::threats_of_age(set, actions);
        const Outcome<RepairOrder> made =
            steps_of(set, demo::catalogue(), policy, actions, list, threats, {}, progress, options);
        if (!made) throw Error(made.notices().front().text());
        order = *made;
    }
    const RepairStep* step(const std::string& id) const {
        for (const RepairStep& s : order.steps)
            if (s.step == id) return &s;
        return nullptr;
    }
    int at(const std::string& id) const { return step(id) ? step(id)->order : 0; }
    bool says(const std::string& words) const {
        return std::any_of(order.steps.begin(), order.steps.end(), [&](const RepairStep& s) {
            return (s.does + s.check + s.reason + s.if_last).find(words) != std::string::npos;
        });
    }
    /// Steps under power, in their order.
    std::vector<std::string> powered() const {
        std::vector<std::string> ids;
        for (const RepairStep& s : order.steps)
            if (std::any_of(s.acts.begin(), s.acts.end(), [](const Act& a) {
                    return std::string(word(a.kind)).rfind("power", 0) == 0 || a.kind == ActKind::soak ||
                           a.kind == ActKind::check_touch_current || a.kind == ActKind::align;
                }))
                ids.push_back(s.step);
        return ids;
    }
};

}  // namespace demo
