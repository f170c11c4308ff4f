// SPDX-License-Identifier: MIT
// The steps that a set needs, with an arrow for every rule that binds two of them, and what is noted beside them for
// the phases that come after.
//
//     const Drafts drafts = drafted(set);   // in the order of the list, not yet weighed or arranged
//
// Test: tests/order/steps_test.cpp.
#pragma once

#include <map>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "order/set_under_repair.hpp"
#include "order/step_list.hpp"

namespace tubewright::repair {

/// Steps in the order of the list.
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

Drafts drafted(const SetUnderRepair& set);

}  // namespace tubewright::repair
