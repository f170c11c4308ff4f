// SPDX-License-Identifier: MIT
// Values by their colours, where a part carries no figures.
//
//     bands        IEC 60062: figures, multiplier, tolerance; three, four, five or six bands       "yellow violet
//     orange" body-end-dot RMA, before the bands: body first figure, end second, dot the zeros; a fourth word is the
//     other
//                  end, gold or silver: the tolerance. "-" for an end or a dot that cannot be told from the body
//     mica-3       RMA: two figures and the zeros in mmf, read along the arrow; 500 V, 20 %
//     mica-6-rma   three figures, zeros, tolerance, volts: the upper row from the left, the lower one from the right
//     mica-6-eia   white or black first, then two figures, zeros, tolerance, class; rows as before
//
// Sources: IEC 60062 for bands, as public descriptions of it give the table; body-end-dot and the mica codes recalled,
// two worked values of the mica codes from publications named in tests/terms/colour_code_test.cpp.
#pragma once

#include <optional>
#include <string_view>

#include <tubewright/outcome.hpp>

namespace tubewright {

enum class ColourCode { bands, body_end_dot, mica_3, mica_6_rma, mica_6_eia };

struct ColouredValue {
    double value = 0;                 ///< ohms, or farads of the mica codes
    std::optional<double> tolerance;  ///< as a share
    std::optional<double> volts;      ///< mica codes: rated
};

/// Colours with blanks between them. On failure one notice with the column of the word (from 1; line stays 0).
Outcome<ColouredValue> read_colours(std::string_view text, ColourCode code);

}  // namespace tubewright
