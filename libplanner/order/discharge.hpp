// SPDX-License-Identifier: MIT
// Discharge after switch-off, each filter section by itself: what it may hold, what is left after five seconds of the
// clip, and what empties it if nobody does. Tests: tests/order/power_up_test.cpp.
#pragma once

#include <tubewright/order.hpp>

#include "bench/bench.hpp"
#include "order/set_on_bench.hpp"

namespace tubewright::power_up {

/// Fills PowerUp::discharge and discharge_notes, from the upper line limit.
void discharges(const SetOnBench& set, Bench& bench, PowerUp& sheet);

}  // namespace tubewright::power_up
