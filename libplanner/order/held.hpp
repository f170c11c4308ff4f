// SPDX-License-Identifier: MIT
// What the log has read, held against the stage that it was read in. A reading is of the first stage with its place
// that was not passed yet when it was entered, or of a later one whose band it lies in; ", lamp" and ", full line"
// narrow that. Past its STOP it shuts the stage, as do halves of a plate winding that are apart.
//
//     for (const PastStop& one : past_stops(set, sheet.stages, passed_with, holds_still))
//         one.stage;   // 4;  one.line "H6: ...",  one.words "V5.2 to gnd reads 400 V, past its STOP of 364 V"
//
// Tests: tests/cli/log_test.cpp.
#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include <tubewright/order.hpp>

#include "order/set_on_bench.hpp"

namespace tubewright::power_up {

/// What shuts a stage by readings of volts, amperes and watts under power.
inline constexpr const char* no_reading_past_stop = "H13: no reading stands past its STOP";
inline constexpr const char* find_out = "; find out why, then enter what it reads";

struct PastStop {
    int stage = 0;
    std::string line, words;  ///< of the gate, and what is wrong with it
    std::string at;           ///< where it was read
};
/// With how many deeds in the log the stage was passed; nothing: it is not.
using PassedWith = std::function<std::optional<std::size_t>(const PowerStage&)>;
/// Nothing that the reading rests on was changed after it.
using HoldsStill = std::function<bool(const Reading&)>;

std::vector<PastStop> past_stops(const SetOnBench& set, const std::vector<PowerStage>& stages,
                                 const PassedWith& passed_with, const HoldsStill& holds_still);

/// Volts to the black clip that were read behind a lamp, though nobody wrote so: a stage behind one was not passed when
/// they were entered, and it has them in its band.
bool fits_behind_a_lamp(const SetOnBench& set, const std::vector<PowerStage>& stages, const PassedWith& passed_with,
                        const Reading& reading);

}  // namespace tubewright::power_up
