// SPDX-License-Identifier: MIT
// Values as printed on parts and diagrams of 1925 to 1960, to SI. One grammar for all of them:
//
//     value    = number [unit]                 ".05 mfd"  "250 mmf"  "470K"  "1 meg"  "600WV"  "1/2 W"  "12m"  "456 kc"
//     number   = decimal | fraction            decimal: digits, digits.digits, .digits (no sign, no exponent, no comma)
//     fraction = [digits " "] digits "/" digits    "1/2", "1 1/2", or one sign for quarters and halves: "½", "1¾".
//                Its denominator is 2 3 4 5 8 10 16 20 32 64, its numerator smaller and below 16: "110/220" is two
//                figures
//     coded    = digits letter digits          "4k7" ohms, "2R2" ohms, "4n7" farads (IEC 60062)
//              | letter digits                 of ohms: "R47"; "330R" is a unit. M is million there, where the file
//              says so
//     capacitor = value | value sep volts      ".02 mfd 400 V"; sep: blank, "-", "/", "@"; "8-450" without a unit is
//     mfd
//     trimmer  = number "-" number unit        "5-20 mmf": what a trimmer or tuning capacitor turns through
//     can       = number {"-" number} [unit] [sep volts]    "8-8-20/450", "40-20 mfd 150 V", "16-16-450": a last figure
//     of 100 or more behind a dash is the volts
//
// Units in capitals or small letters, with or without dots and blanks: "W.V.", "M.F.D.".
//     farads   mfd mf uf; mmf mmfd uuf pf; nf; cm (of the old centimetre system, 1.11265 pF); f
//     ohms     none, ohm ohms; k; meg megohm; M only where the file says what its M means: before about 1940 it often
//     meant thousand henries  none, h hy henry; mh; uh          volts   none, v wv vdc wvdc; kv; mv amperes  none, a
//     amp; ma m; ua              watts   none, w watt; mw hertz    none, c cps cycles hz; kc; mc      per cent none, %,
//     with or without +-
// A capacitor without a unit, M without a meaning, a decimal comma and three zeros behind a point ("10.000": thousands
// of a sheet that groups by points) are refused, each with the readings it could have. Sources: usage of period
// diagrams, common practice, no source; coded values IEC 60062. Tests: tests/terms/period_value_test.cpp.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <tubewright/outcome.hpp>

namespace tubewright {

/// What M after a number of ohms stands for in this file.
enum class MMeans { unstated, thousand, million };

enum class Measure { ohms, farads, henries, volts, amps, watts, volt_amperes, hertz, kilohertz, per_cent };

/// The value in SI (kilohertz in kHz, per_cent in per cent), rounded once from the decimal text. On failure one notice
/// with its number, both readings or the remedy, and the column of the fault inside `text` (from 1, in characters; line
/// stays 0). Zero is refused but for per_cent: an unknown value is left out.
Outcome<double> read_value(std::string_view text, Measure measure, MMeans m_means = MMeans::unstated);

/// A capacitor's print: capacitance (of a range, its most) and, where it stands beside it, the working volts.
struct CapacitorPrint {
    double farads = 0;
    std::optional<double> volts;
    std::optional<double> least;  ///< of a range
};
Outcome<CapacitorPrint> read_capacitor(std::string_view text);

/// The print of a can of several sections, in its order.
struct CanPrint {
    std::vector<double> farads;
    std::optional<double> volts;
};
Outcome<CanPrint> read_can(std::string_view text);

/// The value as it would stand on a part: ".02 mfd", "470K", "1.5 meg", "62 mA". read_value() gives the very same
/// double back. Positive and finite values only; others read "?".
std::string printed(double value, Measure measure);

/// A whole number in digits, from 0 to `most`.
Outcome<int> read_whole(std::string_view text, int most);

}  // namespace tubewright
