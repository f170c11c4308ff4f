// SPDX-License-Identifier: MIT
// Values by their colours, where a part carries no figures.
//
//     bands         IEC 60062. Three or four: two figures, multiplier, tolerance. Five: three figures, multiplier,
//                   tolerance; on old parts two figures, multiplier, tolerance, failure rate. Six: temperature
//                   coefficient last.                                                 "yellow violet orange silver"
//     body-end-dot  RMA: body first figure, end second, dot the zeros; a fourth word is the other end, gold or silver,
//                   the tolerance. "-": an end or a dot that cannot be told from the body.          "red - yellow"
//     mica-3        RMA: two figures and the zeros in mmf, along the arrow; 500 V, 20 %. Two dots more: volts,
//                   tolerance.                                                                    "red green brown"
//     mica-6-rma    three figures, zeros, tolerance, volts: the upper row from the left, the lower one from the right
//     mica-6-eia    white (EIA) or black (AWS, JAN), two figures, zeros, tolerance, class: rows as before
//
// "-" or "none" is also a missing tolerance (20 %) or volts (500 V). "?" before the words: no arrow, name or gap tells
// where to begin; read both ways, and refused with both readings unless only one is possible. Refused likewise: five
// bands that are a value under either reading, a first dot that belongs to another code. gray, slate, purple are known.
//
// Sources, and what of it is recalled: DEVELOPERS.md, "Colours as data". Tests: tests/terms/colour_code_test.cpp,
// tests/published/colour_code_test.cpp.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include <tubewright/outcome.hpp>

namespace tubewright {

enum class ColourCode { bands, body_end_dot, mica_3, mica_6_rma, mica_6_eia };

struct ColouredValue {
    double value = 0;                  ///< ohms, or farads of the mica codes
    std::optional<double> tolerance;   ///< as a share
    std::optional<double> volts;       ///< mica codes: rated
    std::optional<double> per_kelvin;  ///< sixth band: temperature coefficient, as a share
    std::string standard;              ///< the code as read, for print: "six dots, EIA, class C"
};

/// Colours with blanks, commas, strokes or hyphens between them. On failure one notice with the column of the word
/// (from 1; line stays 0).
Outcome<ColouredValue> read_colours(std::string_view text, ColourCode code);

}  // namespace tubewright
