// SPDX-License-Identifier: MIT
// Steps and the arrows between them, and what the drafting notes beside them for the phases that come after it.
//
//     RepairStep& s = drafts.add("soak", "Soak: an hour and a half", 90);
//     drafts.after("reassemble", "soak", "s14", "soak before reassembly");   // nothing where one of them is not there
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

struct Drafts : StepList {
    std::map<std::string, std::string> settled_by;  ///< part, and the step after which nothing of it is open
    std::vector<std::string> solder;                ///< steps that open a joint or make one
    std::set<std::string> with_plus;                ///< steps after which a plus is traced anew
    std::set<std::string> at_place;                 ///< steps that a place is turned to for
    std::vector<StepLink> line_fits;                ///< what must be done before the line or the battery comes in
    std::vector<StepLink> before_power;             ///< what else must be done before the tubes are powered
    std::vector<std::string> new_tubes;
    /// What only old capacitors keep from the metal, and they; of that, what no step by itself frees.
    std::vector<std::pair<std::string, std::vector<std::string>>> behind;
    std::vector<std::string> read_last;
    std::map<std::string, std::string> emptied_by;  ///< stage under power, and the discharge after it
    std::map<std::string, std::string> reopened;    ///< step that a reading speaks against, and what was read
};

/// Act and act again: what each kind of act means for the hands.
bool feeds(ActKind kind);
bool puts_hands_in(const RepairStep& s);
bool feeds(const RepairStep& s);
/// The steps of buying stay open for what no entry has bought.
bool buys(const RepairStep& s);

}  // namespace tubewright::repair
