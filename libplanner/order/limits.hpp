// SPDX-License-Identifier: MIT
// What fits in so many hours or so much money: the closed set of steps that takes the most risk away, in its best
// order. Test: tests/order/steps_test.cpp.
#pragma once

#include "order/set_under_repair.hpp"
#include "order/visits.hpp"

namespace tubewright::repair {

struct Within {
    Arranged arranged;
    long long removes = 0, bound = 0;  ///< microrisk; proved: no choice within the limits removes more than the bound
};
/// `whole`: all steps, arranged.
Within within(const StepOptions& options, const Visits& visits, const Arranged& whole);

/// The step of buying, when only `kept` are done: no more is bought than what they fit.
void buy_for_kept(const SetUnderRepair& set, const Visits& visits, const std::vector<int>& kept, RepairStep& buying);

}  // namespace tubewright::repair
