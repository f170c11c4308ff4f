// SPDX-License-Identifier: MIT
// A gas tube that holds its volts, as its row's note has it: "holds 150 V from 5 to 40 mA, 5.5 V in all; starts at 185
// V". Tests: tests/bench/supply_shapes_test.cpp.
#pragma once

#include <optional>

#include <tubewright/catalogue.hpp>

namespace tubewright::tubes {

struct Regulator {
    double volts = 0;  ///< in the middle of its amperes
    double least_amps = 0, most_amps = 0;
    double rise_volts = 0;  ///< from the least to the most
    double start_volts = 0;
};
/// None for any other tube.
std::optional<Regulator> regulator(const TubeType& type);

}  // namespace tubewright::tubes
