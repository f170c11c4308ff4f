// SPDX-License-Identifier: MIT
// What stands longer, the hardest rule that would be broken and what waits, were a step the last of all: the words
// beside each step of the plan. Test: tests/order/steps_test.cpp.
#pragma once

#include <string>
#include <vector>

#include "order/set_under_repair.hpp"
#include "order/visits.hpp"
#include "order/weights.hpp"

namespace tubewright::repair {

class IfLast {
  public:
    /// Reads what it is given as long as it lives. `whole`: all steps, arranged.
    IfLast(const SetUnderRepair& set, const Visits& visits, const Weights& weights, const Arranged& whole);
    /// Of a step of the visits.
    std::string of(int j) const;

  private:
    std::string danger(int j) const;
    std::string broken_rule(int j) const;
    bool suits(const std::string& reason) const;
    std::string held_back(int j) const;
    double share(double risk) const;  ///< percent of the listed risk

    const SetUnderRepair& set_;
    const Visits& visits_;
    const Weights& weights_;
    std::vector<double> minutes_after_;        ///< by step: from where it is done to the end of all
    std::vector<std::vector<int>> followers_;  ///< by step: what waits for it, once for each arrow
};

}  // namespace tubewright::repair
