// SPDX-License-Identifier: MIT
// Gains and tuned circuits in `volts`: two small tables for the bench, and the keys `stages`, `overall_gains` and
// `tuned` of its JSON. Example: "V3 75, V3.cap to V3.2, gain -54". What is not computed says why. Tests:
// tests/report/answers_test.cpp.
#pragma once

#include "report/envelope.hpp"
#include "report/page.hpp"

namespace tubewright::report {

/// Adds the keys; `found` without a value leaves them empty.
void small_signal_json(Json& json, const Chassis& chassis, const Outcome<SmallSignal>& found);
void small_signal_tables(Page& page, const Chassis& chassis, const SmallSignal& found);

}  // namespace tubewright::report
