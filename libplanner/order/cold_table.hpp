// SPDX-License-Identifier: MIT
// Cold ohms, plug out and switch on: blades, windings and their halves, the string and each heater of it, each filter
// section to B-minus and metal, each pin; what is asked for before power (H19) with its stop and what a wrong one says.
//
//     cold_table(set, bench, true, stage, sheet);   // fills the stage's readings and PowerUp::cold_ohms
//
// Tests: tests/order/power_up_test.cpp.
#pragma once

#include <tubewright/order.hpp>

#include "bench/bench.hpp"
#include "order/set_on_bench.hpp"

namespace tubewright::power_up {

/// tubes_in: a string is read whole; out, nothing is told of nets that only filaments join.
void cold_table(const SetOnBench& set, Bench& bench, bool tubes_in, PowerStage& stage, PowerUp& sheet);

}  // namespace tubewright::power_up
