// SPDX-License-Identifier: MIT
// Steps and the arrows between them.
//
//     RepairStep& s = list.add("soak", "Soak: an hour and a half", 90);
//     list.after("reassemble", "soak", "s14", "soak before reassembly");   // nothing where one of them is not there
//
// Test: tests/order/steps_test.cpp.
#pragma once

#include <algorithm>
#include <map>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include <tubewright/order.hpp>

namespace tubewright::repair {

inline std::size_t at(int i) {
    return static_cast<std::size_t>(i);
}
inline bool holds(const std::vector<std::string>& ids, const std::string& id) {
    return std::find(ids.begin(), ids.end(), id) != ids.end();
}
/// "C1-C2", for the id of a step.
std::string joined(const std::vector<std::string>& ids);

struct StepList {
    std::vector<RepairStep> steps;

    /// The reference holds until the next step is added.
    RepairStep& add(const std::string& id, const std::string& does, double minutes);
    bool there(const std::string& id) const;
    /// It must be there.
    RepairStep& step(const std::string& id);
    /// An arrow; one of the same rule is drawn once.
    void after(const std::string& step, const std::string& before, const std::string& rule, const std::string& why);
    /// Whether `step` follows `before` already, by an arrow of whatever rule.
    bool follows(const std::string& step, const std::string& before) const;
    /// Whether `step` waits for `before`, by any chain of arrows.
    bool waits(const std::string& step, const std::string& before) const;
    /// Steps taken out with every arrow from them.
    void forget(const std::set<std::string>& gone);
};

/// Whether it puts power on the set.
bool feeds(ActKind kind);
bool feeds(const RepairStep& s);
bool puts_hands_in(const RepairStep& s);
/// The steps of buying stay open for what no entry has bought.
bool buys(const RepairStep& s);

}  // namespace tubewright::repair
