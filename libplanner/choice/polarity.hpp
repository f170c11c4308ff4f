// SPDX-License-Identifier: MIT
// Which lead of an electrolytic is plus: by the solved volts, not by the drawing. A new part that follows a drawing
// with its leads exchanged bursts.
//
//     if (const auto r = reversed(part, row)) ...  // r->volts below minus in r->scenario; r->in_service: exchange it
//
// Without the rectifier an idle rail drifts a volt or two either way by contact potential, which harms nothing: those
// scenarios and less than 1.5 V do not count (common practice, no source). Tests: tests/choice/polarity_test.cpp.
#pragma once

#include <optional>
#include <string>

#include <tubewright/chassis.hpp>
#include <tubewright/stress.hpp>

namespace tubewright::choice {

struct Reversed {
    double volts = 0;  ///< how far plus stands below minus
    std::string scenario;
    bool in_service = false;  ///< in normal running: the file has its leads exchanged
};
/// The worst of the powered scenarios; nothing when the part is right.
std::optional<Reversed> reversed(const Part& part, const PartStress& row);

/// Lead that the plus of a new part goes to: 0, or 1 where normal running says so.
std::size_t plus_lead(const Part& part, const PartStress* row);

/// The row's remark without what it says of polarity, which stands in `reversed`.
std::string remark_without_polarity(const PartStress& row);

}  // namespace tubewright::choice
