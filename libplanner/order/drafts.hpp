// SPDX-License-Identifier: MIT
// The steps that a set needs, with an arrow for every rule that binds two of them.
//
//     const Drafts drafts = drafted(set);   // in the order of the list, not yet weighed or arranged
//
// Test: tests/order/steps_test.cpp.
#pragma once

#include "order/set_under_repair.hpp"
#include "order/step_list.hpp"

namespace tubewright::repair {

Drafts drafted(const SetUnderRepair& set);

}  // namespace tubewright::repair
