// SPDX-License-Identifier: MIT
// Transformers that feed the set, from the line or behind a vibrator: that which gives B-plus (the first with a plate
// winding, else the first) before the others, which stand as the file has them. Empty: the set has none. The bench and
// the study of faults both choose by this.
//
// Example: an amplifier with a filament transformer T1 and a plate transformer T2 has {T2, T1}. Tests:
// tests/threat/two_transformers_test.cpp.
#pragma once

#include <vector>

#include <tubewright/chassis.hpp>

namespace tubewright {

std::vector<int> power_transformers_of(const Chassis& chassis);

}  // namespace tubewright
