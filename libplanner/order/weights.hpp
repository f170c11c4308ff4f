// SPDX-License-Identifier: MIT
// The weight of each step: the risk of the faults that are gone when it is done, from the threat study, and what the
// worst of them would do, in the words of its reason. Test: tests/order/steps_test.cpp.
#pragma once

#include <map>
#include <string>
#include <vector>

#include <tubewright/threat.hpp>

#include "order/drafts.hpp"
#include "order/set_under_repair.hpp"

namespace tubewright::repair {

struct Weights {
    double unit = 1;                             ///< of RepairStep::w_microrisk: 1, 10, 100 ...
    double all_risk = 0, unsettled = 0;          ///< of all faults; of those that no step settles
    std::map<std::string, const Threat*> worst;  ///< by step, a row of the study
};

/// Risk by step: each fault of a part goes to the step that settles it; what no step settles stays. Sets risk_removed
/// and w_microrisk, and completes the reason.
Weights weigh(const SetUnderRepair& set, const ThreatReport& threats, Drafts& drafts);

/// The listed risk that is left, step by step.
std::vector<RiskPoint> risk_left(const Weights& weights, const std::vector<RepairStep>& steps,
                                 const std::vector<int>& order);

}  // namespace tubewright::repair
