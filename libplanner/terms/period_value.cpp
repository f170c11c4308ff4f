// SPDX-License-Identifier: MIT
#include "terms/period_value.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <iterator>
#include <span>
#include <string>

#include "terms/near.hpp"
#include "terms/numbers.hpp"

namespace tubewright {
namespace {

constexpr double centimetre = 1.11265006e-12;  ///< farads: 4 pi epsilon_0 times 1 cm
constexpr std::size_t longest = 80;            ///< characters of a value; nothing printed on a part is longer
constexpr double least_working_volts = 1;      ///< of a capacitor; less beside it is no voltage
constexpr double least_numerator_of_two = 16;  ///< "50/60": two figures, not a fraction

bool digit(char c) {
    return c >= '0' && c <= '9';
}
bool blank(char c) {
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

/// 1-based column in characters of the byte at `offset`.
int column_of(std::string_view text, std::size_t offset) {
    int column = 1;
    for (std::size_t i = 0; i < offset && i < text.size(); ++i)
        if ((static_cast<unsigned char>(text[i]) & 0xC0) != 0x80) ++column;
    return column;
}

Notice fault(int number, std::string_view text, std::size_t offset, std::string message, std::string remedy) {
    Notice notice;
    notice.number = number;
    notice.place.column = column_of(text, offset);
    notice.message = std::move(message);
    notice.remedy = std::move(remedy);
    return notice;
}

/// A unit as the rows have it; longer than any of them is no unit.
struct UnitText {
    std::array<char, 24> letters{};
    std::size_t size = 0;
    void operator+=(char c) {
        if (size < letters.size()) letters[size++] = c;
    }
    void operator+=(std::string_view more) {
        for (const char c : more) *this += c;
    }
    bool empty() const { return size == 0; }
    operator std::string_view() const { return {letters.data(), size}; }
};

/// Unit text in small letters without blanks and dots; micro and ohm signs as letters.
UnitText plain_unit(std::string_view text) {
    UnitText out;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const char c = text[i];
        if (blank(c) || c == '.') continue;
        const std::string_view rest = text.substr(i);
        if (rest.starts_with("\xC2\xB5") || rest.starts_with("\xCE\xBC")) {
            out += 'u';
            ++i;
        } else if (rest.starts_with("\xCE\xA9")) {
            out += "ohm";
            ++i;
        } else if (rest.starts_with("\xE2\x84\xA6")) {
            out += "ohm";
            i += 2;
        } else {
            out += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
        }
    }
    return out;
}

struct UnitRow {
    Measure measure;
    std::string_view unit;
    int power;  ///< of ten
};

constexpr int power_of_m = 1000;           ///< settled by m-means
constexpr int power_of_centimetre = 1001;  ///< a factor that is no power of ten

constexpr UnitRow unit_rows[] = {
    {Measure::farads, "mfd", -6},
    {Measure::farads, "mf", -6},
    {Measure::farads, "uf", -6},
    {Measure::farads, "mmf", -12},
    {Measure::farads, "mmfd", -12},
    {Measure::farads, "pf", -12},
    {Measure::farads, "uuf", -12},
    {Measure::farads, "nf", -9},
    {Measure::farads, "cm", power_of_centimetre},
    {Measure::farads, "mfds", -6},
    {Measure::farads, "ufd", -6},
    {Measure::farads, "mmfds", -12},
    {Measure::farads, "uufd", -12},
    {Measure::farads, "microfarad", -6},
    {Measure::farads, "microfarads", -6},
    {Measure::farads, "micromicrofarad", -12},
    {Measure::farads, "micromicrofarads", -12},
    {Measure::farads, "f", 0},
    {Measure::ohms, "", 0},
    {Measure::ohms, "r", 0},
    {Measure::ohms, "ohm", 0},
    {Measure::ohms, "ohms", 0},
    {Measure::ohms, "k", 3},
    {Measure::ohms, "meg", 6},
    {Measure::ohms, "m", power_of_m},
    {Measure::ohms, "kohm", 3},
    {Measure::ohms, "kohms", 3},
    {Measure::ohms, "kilohm", 3},
    {Measure::ohms, "kilohms", 3},
    {Measure::ohms, "megohm", 6},
    {Measure::ohms, "megohms", 6},
    {Measure::ohms, "megs", 6},
    {Measure::ohms, "mohm", power_of_m},
    {Measure::ohms, "mohms", power_of_m},
    {Measure::henries, "", 0},
    {Measure::henries, "h", 0},
    {Measure::henries, "hy", 0},
    {Measure::henries, "mh", -3},
    {Measure::henries, "uh", -6},
    {Measure::henries, "hys", 0},
    {Measure::henries, "henry", 0},
    {Measure::henries, "henries", 0},
    {Measure::henries, "henrys", 0},
    {Measure::henries, "mhy", -3},
    {Measure::henries, "millihenry", -3},
    {Measure::henries, "millihenries", -3},
    {Measure::henries, "microhenry", -6},
    {Measure::henries, "microhenries", -6},
    {Measure::volts, "", 0},
    {Measure::volts, "v", 0},
    {Measure::volts, "wv", 0},
    {Measure::volts, "vdc", 0},
    {Measure::volts, "wvdc", 0},
    {Measure::volts, "kv", 3},
    {Measure::volts, "mv", -3},
    {Measure::volts, "vac", 0},
    {Measure::volts, "dcwv", 0},
    {Measure::volts, "vdcw", 0},
    {Measure::volts, "volt", 0},
    {Measure::volts, "volts", 0},
    {Measure::amps, "", 0},
    {Measure::amps, "a", 0},
    {Measure::amps, "ma", -3},
    {Measure::amps, "m", -3},
    {Measure::amps, "ua", -6},
    {Measure::amps, "amp", 0},
    {Measure::amps, "amps", 0},
    {Measure::amps, "ampere", 0},
    {Measure::amps, "amperes", 0},
    {Measure::amps, "milliampere", -3},
    {Measure::amps, "milliamperes", -3},
    {Measure::watts, "", 0},
    {Measure::watts, "w", 0},
    {Measure::watts, "watt", 0},
    {Measure::watts, "watts", 0},
    {Measure::watts, "mw", -3},
    {Measure::watts, "kw", 3},
    {Measure::volt_amperes, "", 0},
    {Measure::volt_amperes, "va", 0},
    {Measure::hertz, "", 0},
    {Measure::hertz, "c", 0},
    {Measure::hertz, "hz", 0},
    {Measure::hertz, "cps", 0},
    {Measure::hertz, "cycles", 0},
    {Measure::hertz, "~", 0},
    {Measure::hertz, "kc", 3},
    {Measure::hertz, "khz", 3},
    {Measure::hertz, "mc", 6},
    {Measure::hertz, "mhz", 6},
    {Measure::kilohertz, "", 0},
    {Measure::kilohertz, "kc", 0},
    {Measure::kilohertz, "khz", 0},
    {Measure::kilohertz, "mc", 3},
    {Measure::kilohertz, "mhz", 3},
    {Measure::kilohertz, "c", -3},
    {Measure::kilohertz, "hz", -3},
    {Measure::per_cent, "", 0},
    {Measure::per_cent, "%", 0},
    {Measure::per_cent, "percent", 0},
};

constexpr std::size_t measures = 10;

/// Rows of a measure: they stand together.
struct Rows {
    std::size_t first = 0, end = 0;
};
constexpr std::array<Rows, measures> rows_of = [] {
    std::array<Rows, measures> rows{};
    for (std::size_t i = 0; i < std::size(unit_rows); ++i) {
        Rows& r = rows[static_cast<std::size_t>(unit_rows[i].measure)];
        if (r.end == 0) r.first = i;
        r.end = i + 1;
    }
    return rows;
}();

constexpr bool rows_stand_together() {
    std::size_t count = 0;
    for (const Rows& r : rows_of) count += r.end - r.first;
    return count == std::size(unit_rows);
}
static_assert(rows_stand_together());

/// Letters of a unit as one number to compare, 0 for one of more than seven.
constexpr std::uint64_t packed(std::string_view unit) {
    if (unit.size() > 7) return 0;
    std::uint64_t number = unit.size() + 1;
    for (const char c : unit) number = number << 8U | static_cast<unsigned char>(c);
    return number;
}
constexpr std::array<std::uint64_t, std::size(unit_rows)> packed_units = [] {
    std::array<std::uint64_t, std::size(unit_rows)> numbers{};
    for (std::size_t i = 0; i < numbers.size(); ++i) numbers[i] = packed(unit_rows[i].unit);
    return numbers;
}();

const UnitRow* unit_row(Measure measure, std::string_view unit) {
    const Rows& rows = rows_of[static_cast<std::size_t>(measure)];
    const std::uint64_t number = packed(unit);
    for (std::size_t i = rows.first; i < rows.end; ++i)
        if (packed_units[i] == number && (number != 0 || unit_rows[i].unit == unit)) return &unit_rows[i];
    return nullptr;
}

std::string_view measured(Measure measure) {
    constexpr std::array<std::string_view, 10> names = {"ohms",  "farads",       "henries", "volts",      "amperes",
                                                        "watts", "volt-amperes", "cycles",  "kilocycles", "per cent"};
    return names[static_cast<std::size_t>(measure)];
}

/// What to write instead, with an example in the measure's own words.
std::string_view units_of(Measure measure) {
    constexpr std::array<std::string_view, 10> lists = {
        "ohms take nothing, K, meg: \"410\", \"470K\", \"1 meg\"",
        "capacitors take mfd, mmf, uF, nF, pF, cm: \".05 mfd\", \"250 mmf\"",
        "coils take H, mh, uh: \"15 H\", \"30 mh\"",
        "volts take nothing, V, WV, kV: \"450\", \"600WV\"",
        "amperes take nothing, A, mA: \".25\", \"12 mA\", \"12m\"",
        "watts take nothing or W: \"1/2\", \"2 W\"",
        "volt-amperes take nothing or VA: \"60\"",
        "cycles take nothing, c, kc, mc: \"60\"",
        "kilocycles take nothing, kc, mc: \"456\", \"10.7 mc\"",
        "per cent takes nothing or %: \"20\"",
    };
    return lists[static_cast<std::size_t>(measure)];
}

/// A number as printed: its decimal text, or a fraction.
struct Number {
    std::string_view decimal;                ///< digits with at most one point, or empty
    double whole = 0, above = 0, below = 0;  ///< fraction: whole + above / below
    std::size_t end = 0;                     ///< offset after it
};

std::size_t skip_blanks(std::string_view text, std::size_t at) {
    while (at < text.size() && blank(text[at])) ++at;
    return at;
}

std::size_t skip_digits(std::string_view text, std::size_t at) {
    while (at < text.size() && digit(text[at])) ++at;
    return at;
}

double plain(std::string_view digits) {
    double x = 0;
    std::from_chars(digits.data(), digits.data() + digits.size(), x);
    return x;
}

/// "12", "12.5", ".5", "12." ; no number: empty.
std::string_view decimal_at(std::string_view text, std::size_t at) {
    const std::size_t whole = skip_digits(text, at);
    std::size_t end = whole;
    if (end < text.size() && text[end] == '.') {
        const std::size_t after = skip_digits(text, end + 1);
        if (after > end + 1 || whole > at) end = after;
    }
    return text.substr(at, end - at);
}

/// Fractions as parts are marked with: halves, thirds, tenths, sixty-fourths.
bool fraction_of_a_print(double above, double below) {
    constexpr std::array<double, 10> denominators = {2, 3, 4, 5, 8, 10, 16, 20, 32, 64};
    return above < below && above < least_numerator_of_two &&
           std::find(denominators.begin(), denominators.end(), below) != denominators.end();
}

/// Quarters in one sign: above / 4, or 0 where there is none.
double quarters_at(std::string_view text, std::size_t at) {
    const std::string_view sign = text.substr(std::min(at, text.size()), 2);
    return sign == "\xC2\xBC" ? 1 : sign == "\xC2\xBD" ? 2 : sign == "\xC2\xBE" ? 3 : 0;
}

/// "10.000": ten, or ten thousand on a sheet that groups thousands by points.
bool grouped(std::string_view decimal) {
    const std::size_t point = decimal.find('.');
    return point != std::string_view::npos && point >= 1 && point <= 3 && decimal.substr(point) == ".000" &&
           decimal.find_first_not_of("0.") != std::string_view::npos;
}

/// Thousands grouped by points, once or more often.
std::optional<Notice> refused_groups(std::string_view whole_text, std::size_t at, std::string_view decimal) {
    const std::size_t end = at + decimal.size();
    const auto with = [&](std::string_view figure, std::size_t until) {
        return quoted(joined({whole_text.substr(0, at), figure, whole_text.substr(until)}));
    };
    std::string together(decimal);
    std::size_t last = end;
    while (decimal.find('.') != std::string_view::npos && last < whole_text.size() && whole_text[last] == '.' &&
           skip_digits(whole_text, last + 1) == last + 4) {
        together += whole_text.substr(last, 4);
        last += 4;
    }
    std::erase(together, '.');
    if (last > end)
        return fault(messages::value_grouped, whole_text, at,
                     fmt::format("{} groups thousands by points", quoted(whole_text)),
                     fmt::format("write {}", with(together, last)));
    if (!grouped(decimal)) return std::nullopt;
    const std::string ones = with(decimal.substr(0, decimal.find('.')), end), thousands = with(together, end);
    return fault(
        messages::value_grouped, whole_text, at + decimal.find('.'),
        fmt::format("{} is {}, or {} where a sheet groups thousands by points", quoted(whole_text), ones, thousands),
        fmt::format("write {} or {}", ones, thousands));
}

Outcome<Number> number_at(std::string_view text, std::size_t at, Measure measure, std::string_view whole_text) {
    if (const std::size_t comma = text.find(','); comma != std::string_view::npos) {
        std::string joined(whole_text), pointed(whole_text);
        std::erase(joined, ',');
        // "50.000" would be refused in its turn
        const bool zeros =
            whole_text.substr(comma).starts_with(",000") && skip_digits(whole_text, comma + 1) == comma + 4;
        if (zeros) pointed.erase(comma, 4);
        for (char& c : pointed)
            if (c == ',') c = '.';
        const bool thousands = comma > at && comma + 4 <= text.size() && skip_digits(text, comma + 1) == comma + 4;
        return fault(messages::value_comma, whole_text, comma, fmt::format("{} has a comma", quoted(whole_text)),
                     thousands ? fmt::format("write {} if the comma parts thousands, {} if it is a decimal point",
                                             quoted(joined), quoted(pointed))
                               : fmt::format("a decimal point is a point: {}", quoted(pointed)));
    }
    if (at < text.size() && (text[at] == '-' || text[at] == '+'))
        return fault(messages::value_signed, whole_text, at, fmt::format("{} has a sign", quoted(whole_text)),
                     "leave the sign out");
    Number number;
    number.decimal = decimal_at(text, at);
    number.end = at + number.decimal.size();
    if (const auto groups = refused_groups(whole_text, at, number.decimal)) return *groups;
    const std::size_t sign_at = skip_blanks(text, number.end);
    if (const double quarters = quarters_at(text, sign_at);
        quarters > 0 && number.decimal.find('.') == std::string_view::npos) {
        number.whole = plain(number.decimal);
        number.above = quarters;
        number.below = 4;
        number.decimal = {};
        number.end = sign_at + 2;
        return number;
    }
    if (number.decimal.empty())
        return fault(messages::value_no_number, whole_text, at,
                     fmt::format("{} does not begin with a number", quoted(whole_text)),
                     std::string(units_of(measure)));

    // "1/2", or "1 1/2" and "1-1/2".
    const auto whole_digits = [](std::string_view t) { return t.find('.') == std::string_view::npos; };
    if (!whole_digits(number.decimal)) return number;
    std::size_t top = at, top_end = number.end;
    if (top_end < text.size() && (blank(text[top_end]) || text[top_end] == '-')) {
        const std::size_t next = skip_blanks(text, top_end + 1);
        const std::size_t next_end = skip_digits(text, next);
        if (next_end > next && next_end < text.size() && text[next_end] == '/') {
            number.whole = plain(number.decimal);
            top = next;
            top_end = next_end;
        }
    }
    if (top_end >= text.size() || text[top_end] != '/') return number;
    const std::size_t bottom = top_end + 1;
    const std::size_t bottom_end = skip_digits(text, bottom);
    if (bottom_end == bottom) return number;  // "8/450": the caller's separator
    number.below = plain(text.substr(bottom, bottom_end - bottom));
    number.above = plain(text.substr(top, top_end - top));
    const bool fraction = fraction_of_a_print(number.above, number.below);
    if (measure == Measure::farads && number.below > 0 && (number.below > 16 || !fraction)) {
        number.whole = number.above = number.below = 0;  // "8/450": a capacitance and its volts
        return number;
    }
    number.end = bottom_end;
    if (number.below == 0)
        return fault(messages::value_bad_fraction, whole_text, bottom,
                     fmt::format("{} is not a fraction of a part's print", quoted(whole_text)),
                     "write \"1/2\", or a decimal");
    if (!fraction)
        return fault(
            messages::value_bad_fraction, whole_text, top,
            fmt::format("{} is two figures, {} and {}", quoted(whole_text), text.substr(top, top_end - top),
                        text.substr(bottom, bottom_end - bottom)),
            "write the one that holds; fractions are \"1/2\", \"3/4\", \"1 1/2\", and anything else is a decimal");
    number.decimal = {};
    return number;
}

/// Digits and a power of ten that are both exact (Clinger's short way): one product or quotient rounds once.
std::optional<double> short_way(std::string_view decimal, int power) {
    constexpr double tens[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
                               1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
    if (decimal.size() > 16) return std::nullopt;
    std::int64_t digits = 0;
    bool behind = false;
    for (const char c : decimal) {
        if (c == '.') {
            behind = true;
            continue;
        }
        digits = digits * 10 + (c - '0');
        if (behind) --power;
    }
    if (digits > 999999999999999 || power < -22 || power > 22) return std::nullopt;
    const auto x = static_cast<double>(digits);
    return power < 0 ? x / tens[-power] : x * tens[power];
}

/// The number times a power of ten, rounded once.
Outcome<double> scaled(const Number& number, int power, std::string_view whole_text) {
    double x = 0;
    bool good = true;
    if (number.decimal.empty()) {
        x = (number.whole * number.below + number.above) / number.below;
        if (power != 0) {
            const std::string exact = fmt::format("{:.17g}", x);
            // Fractions in use (halves, quarters, tenths) have short decimals, so one more rounding is harmless.
            const std::string text = exact + fmt::format("e{}", power);
            good = std::from_chars(text.data(), text.data() + text.size(), x).ec == std::errc();
        }
    } else if (const std::optional<double> quick = short_way(number.decimal, power)) {
        x = *quick;
    } else {
        std::string text(number.decimal);
        if (power != 0) text += fmt::format("e{}", power);
        const auto result = std::from_chars(text.data(), text.data() + text.size(), x);
        good = result.ec == std::errc();
    }
    if (!good || !std::isfinite(x) || x > 1e15)
        return fault(messages::value_out_of_range, whole_text, 0,
                     fmt::format("{} is out of all range", quoted(whole_text)), "check the figure and its unit");
    return x;
}

Outcome<double> with_power(const Number& number, int power, std::string_view whole_text) {
    if (power != power_of_centimetre) return scaled(number, power, whole_text);
    Outcome<double> x = scaled(number, 0, whole_text);
    if (x) *x *= centimetre;
    return x;
}

Outcome<double> not_zero(Outcome<double> x, Measure measure, std::string_view whole_text) {
    if (x && *x == 0 && measure != Measure::per_cent)
        return fault(messages::value_zero, whole_text, 0, fmt::format("{} is zero", quoted(whole_text)),
                     "leave an unknown value out, or write \"?\"");
    return x;
}

Notice m_unsettled(std::string_view whole_text, std::size_t at, std::string_view number) {
    return fault(
        messages::value_m_unsettled, whole_text, at,
        fmt::format("{} is {} thousand ohms or {} megohms: M meant thousand on many diagrams before about 1940",
                    quoted(whole_text), number, number),
        fmt::format("write \"{}K\" or \"{} meg\", or settle it for the file: m-means=\"thousand\" or "
                    "\"million\" on <chassis>",
                    number, number));
}

/// IEC 60062: the letter stands for the point. "4k7", "2R2", "4n7"; of ohms also "R47", its figures all behind it.
/// `number` may be empty for those.
std::optional<Outcome<double>> coded(std::string_view text, std::size_t at, std::string_view before, Measure measure,
                                     MMeans m_means, std::string_view whole_text) {
    const std::size_t letter_at = at + before.size();
    if (before.find('.') != std::string_view::npos || letter_at + 1 >= text.size() || !digit(text[letter_at + 1]))
        return std::nullopt;
    if (skip_digits(text, letter_at + 1) != text.size()) return std::nullopt;
    if (before.empty() && measure != Measure::ohms) return std::nullopt;
    const char letter = text[letter_at];
    const std::string point = fmt::format("{}.{}", before, text.substr(letter_at + 1));
    int power = 0;
    if (measure == Measure::ohms) {
        if (letter == 'k' || letter == 'K')
            power = 3;
        else if (letter == 'R' || letter == 'r')
            power = 0;
        else if (letter == 'M') {  // the code knows million alone
            if (m_means == MMeans::unstated) {
                Notice unsettled = m_unsettled(whole_text, letter_at, point);
                unsettled.remedy = fmt::format(
                    "write \"{0}K\" or \"{0} meg\", or settle it for the file: m-means=\"million\" on <chassis>",
                    point);
                return unsettled;
            }
            if (m_means == MMeans::thousand)
                return fault(messages::value_m_unsettled, whole_text, letter_at,
                             fmt::format("{} is {} megohms by the letter code, and the file's M means thousand",
                                         quoted(whole_text), point),
                             fmt::format("write \"{}K\" or \"{} meg\"", point, point));
            power = 6;
        } else
            return std::nullopt;
    } else if (measure == Measure::farads) {
        if (letter == 'p')
            power = -12;
        else if (letter == 'n')
            power = -9;
        else if (letter == 'u')
            power = -6;
        else
            return std::nullopt;
    } else {
        return std::nullopt;
    }
    Number plain_number;
    plain_number.decimal = point;
    return scaled(plain_number, power, whole_text);
}

std::string_view digits_at(std::string_view text, std::size_t at) {
    return text.substr(at, skip_digits(text, at) - at);
}

std::string_view trimmed(std::string_view text, std::size_t* left) {
    *left = skip_blanks(text, 0);
    std::size_t end = text.size();
    while (end > *left && blank(text[end - 1])) --end;
    return text.substr(0, end);
}

/// Too long, or empty.
std::optional<Notice> refused_at_sight(std::string_view text, Measure measure) {
    std::size_t left = 0;
    const std::string_view body = trimmed(text, &left);
    if (left == body.size())
        return fault(messages::value_empty, text, 0, "the value is empty",
                     fmt::format("leave it out when it is not known; {}", units_of(measure)));
    if (body.size() > longest)
        return fault(messages::value_out_of_range, text, 0, fmt::format("{} is too long for a value", quoted(text)),
                     std::string(units_of(measure)));
    return std::nullopt;
}

Outcome<double> no_unit(std::string_view text, const Number& number, std::size_t at) {
    const std::string figure(text.substr(at, number.end - at));
    return fault(messages::value_no_unit, text, number.end == 0 ? 0 : number.end - 1,
                 fmt::format("{} has no unit: {} mfd or {} mmf?", quoted(text), figure, figure),
                 fmt::format("write \"{} mfd\" or \"{} mmf\"", figure, figure));
}

/// "1k 2W": the watts stand in an attribute of their own.
std::optional<Notice> ohms_and_watts(std::string_view text, std::string_view units, std::size_t at) {
    const std::size_t blank_at = units.find_first_of(" ,/@");
    if (blank_at == std::string_view::npos) return std::nullopt;
    const std::string_view first = units.substr(0, blank_at);
    std::string_view rest = units.substr(blank_at + 1);
    if (!unit_row(Measure::ohms, plain_unit(first))) return std::nullopt;
    const std::size_t digits = rest.find_first_not_of("0123456789./ ");
    if (digits == std::string_view::npos || digits == 0 || !unit_row(Measure::watts, plain_unit(rest.substr(digits))))
        return std::nullopt;
    while (!rest.empty() && rest.front() == ' ') rest.remove_prefix(1);
    return fault(messages::value_two_readings, text, at, fmt::format("{} is ohms and watts", quoted(text)),
                 fmt::format("watts=\"{}\" beside the value", rest));
}

Outcome<double> unknown_unit(std::string_view text, std::size_t at, Measure measure) {
    return fault(
        messages::value_unknown_unit, text, at,
        fmt::format("{} has {} where the unit of {} stands", quoted(text), quoted(text.substr(at)), measured(measure)),
        std::string(units_of(measure)));
}

/// Most values: a plain decimal with a unit that the rows have, or with none. What is anything else, or wrong, is left
/// to the whole grammar.
std::optional<double> at_sight(std::string_view text, Measure measure, MMeans m_means) {
    if (text.size() > longest) return std::nullopt;
    const std::size_t start = skip_blanks(text, 0);
    const std::string_view decimal = decimal_at(text, start);
    if (decimal.empty()) return std::nullopt;
    if (text.size() == start + 3 && text[start + 1] == '/' && digit(text[start + 2]) && decimal.size() == 1 &&
        text[start] > '0' && measure == Measure::watts && fraction_of_a_print(text[start] - '0', text[start + 2] - '0'))
        return static_cast<double>(text[start] - '0') / (text[start + 2] - '0');  // "1/2"
    const UnitRow* row = unit_row(measure, plain_unit(text.substr(start + decimal.size())));
    if (!row || row->power == power_of_centimetre) return std::nullopt;
    int power = row->power;
    if (power == power_of_m) {
        if (m_means == MMeans::unstated) return std::nullopt;
        power = m_means == MMeans::thousand ? 3 : 6;
    }
    if (grouped(decimal)) return std::nullopt;
    const std::optional<double> x = short_way(decimal, power);
    return x && *x > 0 && *x <= 1e15 ? x : std::nullopt;
}

}  // namespace

Outcome<double> read_value(std::string_view text, Measure measure, MMeans m_means) {
    if (const std::optional<double> plain = at_sight(text, measure, m_means)) return *plain;
    if (const auto refused = refused_at_sight(text, measure)) return *refused;
    if (measure == Measure::farads) {
        Outcome<CapacitorPrint> print = read_capacitor(text);
        if (!print) return print.notices();
        if (print->volts)
            return fault(messages::value_two_readings, text, 0,
                         fmt::format("{} is a capacitance and volts", quoted(text)), "one value here");
        return print->farads;
    }
    std::size_t at = 0;
    const std::string_view body = trimmed(text, &at);
    if (measure == Measure::per_cent) {
        for (const std::string_view sign : {"\xC2\xB1", "+/-", "+-"})
            if (body.substr(at).starts_with(sign)) {
                at = skip_blanks(body, at + sign.size());
                break;
            }
    }
    if (auto value = coded(body, at, digits_at(body, at), measure, m_means, text))
        return not_zero(*value, measure, text);
    const Outcome<Number> number = number_at(body, at, measure, text);
    if (!number) return number.notices();
    const std::size_t unit_at = skip_blanks(body, number->end);
    const UnitRow* row = unit_row(measure, plain_unit(body.substr(unit_at)));
    if (!row && measure == Measure::ohms)
        if (const auto watts = ohms_and_watts(text, body.substr(unit_at), unit_at)) return *watts;
    if (!row && measure == Measure::volts && body.substr(number->end).starts_with("-0-"))
        return fault(messages::value_two_readings, text, number->end,
                     fmt::format("{} is a winding by its two sides", quoted(text)),
                     fmt::format("three leads, and volts=\"{0}\" for each side, or noload-volts=\"{0} {0}\"",
                                 body.substr(at, number->end - at)));
    if (!row) return unknown_unit(text, unit_at, measure);
    int power = row->power;
    if (power == power_of_m) {
        if (m_means == MMeans::unstated) return m_unsettled(text, unit_at, body.substr(at, number->end - at));
        power = m_means == MMeans::thousand ? 3 : 6;
    }
    return not_zero(with_power(*number, power, text), measure, text);
}

Outcome<CapacitorPrint> read_capacitor(std::string_view text) {
    constexpr Measure measure = Measure::farads;
    if (const std::optional<double> plain = at_sight(text, measure, MMeans::unstated))
        return CapacitorPrint{*plain, {}, {}};
    if (const auto refused = refused_at_sight(text, measure)) return *refused;
    std::size_t at = 0;
    const std::string_view body = trimmed(text, &at);
    const Outcome<Number> number = number_at(body, at, measure, text);
    if (!number) return number.notices();
    if (auto value = coded(body, at, digits_at(body, at), measure, MMeans::unstated, text)) {
        const Outcome<double> farads = not_zero(*value, measure, text);
        if (!farads) return farads.notices();
        return CapacitorPrint{*farads, {}, {}};
    }

    // The unit: letters, dots and micro signs up to a blank before digits, a separator, or the end.
    std::size_t unit_at = skip_blanks(body, number->end);
    std::size_t unit_end = unit_at;
    while (unit_end < body.size() && !digit(body[unit_end]) && body[unit_end] != '-' && body[unit_end] != '/' &&
           body[unit_end] != '@')
        ++unit_end;
    const std::string_view unit = body.substr(unit_at, unit_end - unit_at);
    std::size_t rest = unit_end;
    bool parted = unit_end > number->end;
    if (rest < body.size() && (body[rest] == '-' || body[rest] == '/' || body[rest] == '@')) {
        rest = skip_blanks(body, rest + 1);
        parted = true;
    }
    const UnitText name = plain_unit(unit);
    const bool has_volts = rest < body.size() && parted;

    std::optional<double> volts;
    if (has_volts) {
        const std::string_view tail = body.substr(rest);
        // "5-20 mmf": the unit behind the second figure is the unit of both
        const std::string_view unit_of_both = tail.substr(decimal_at(tail, 0).size());
        const UnitRow* of_both =
            name.empty() && !number->decimal.empty() ? unit_row(measure, plain_unit(unit_of_both)) : nullptr;
        if (of_both && body[rest - 1] != '/' && body[rest - 1] != '@') {
            const Outcome<double> most = read_value(tail, measure);
            if (!most) return most.notices();
            const Outcome<double> least = not_zero(with_power(*number, of_both->power, text), measure, text);
            if (!least) return least.notices();
            if (*least >= *most)
                return fault(messages::value_two_readings, text, at,
                             fmt::format("{} is a range from more to less", quoted(text)), "the smaller figure first");
            return CapacitorPrint{*most, {}, *least};
        }
        if (const std::size_t more = tail.find_first_of("-/"); more != std::string_view::npos && digit(tail.front()))
            return fault(messages::value_sections, text, rest, fmt::format("{} names several sections", quoted(text)),
                         "write a <can> with a <section> for each");
        Outcome<double> read = read_value(tail, Measure::volts);
        if (!read) {
            Notice notice = read.notices().front();
            notice.place.column += column_of(text, rest) - 1;
            return notice;
        }
        volts = *read;
        if (*volts < least_working_volts)
            return fault(messages::value_two_readings, text, rest,
                         fmt::format("{} is {} at {:g} V, or a range without a unit", quoted(text),
                                     body.substr(at, unit_end - at), *volts),
                         fmt::format("a range has its unit behind both: \"{}-{} mfd\"",
                                     body.substr(at, number->end - at), decimal_at(tail, 0)));
    }
    int power = 0;
    if (name.empty()) {
        if (!volts) return no_unit(text, *number, at).notices();
        const double figure = number->decimal.empty() ? 0 : plain(number->decimal);
        // "250-500": 250 mfd at 500 V was hardly ever made, 250 mmf at 500 V was.
        if (figure >= 100 && *volts > 150) {
            return fault(messages::value_two_readings, text, at,
                         fmt::format("{} is {} mfd or {} mmf at {} V", quoted(text), number->decimal, number->decimal,
                                     fmt::format("{:g}", *volts)),
                         fmt::format("write the unit: \"{} mmf {} V\"", number->decimal, fmt::format("{:g}", *volts)));
        }
        power = -6;
    } else {
        const UnitRow* row = unit_row(measure, name);
        if (!row) return unknown_unit(text, unit_at, measure).notices();
        power = row->power;
    }
    const Outcome<double> farads = not_zero(with_power(*number, power, text), measure, text);
    if (!farads) return farads.notices();
    return CapacitorPrint{*farads, volts, {}};
}

Outcome<CanPrint> read_can(std::string_view text) {
    constexpr Measure measure = Measure::farads;
    constexpr double least_volts = 100;  // "16-16-450"; no can has a section of 100 mfd beside its volts unsaid
    if (const auto refused = refused_at_sight(text, measure)) return *refused;
    std::size_t at = 0;
    const std::string_view body = trimmed(text, &at);
    if (const std::size_t comma = body.find(','); comma != std::string_view::npos)
        return number_at(body, at, measure, text).notices();
    std::vector<std::string_view> figures;
    std::size_t end = at;
    while (true) {
        const std::string_view figure = decimal_at(body, end);
        if (figure.empty()) {
            const Outcome<Number> number = number_at(body, end, measure, text);
            if (!number) return number.notices();
            break;
        }
        if (const auto groups = refused_groups(text, end, figure)) return *groups;
        figures.push_back(figure);
        end += figure.size();
        if (end >= body.size() || body[end] != '-' || end + 1 >= body.size() ||
            !(digit(body[end + 1]) || body[end + 1] == '.'))
            break;
        ++end;
    }
    const std::size_t unit_at = skip_blanks(body, end);
    if (unit_at < body.size() && (body[unit_at] == '+' || body[unit_at] == 'x' || body[unit_at] == 'X'))
        return fault(messages::value_sections, text, unit_at, fmt::format("{} parts its sections oddly", quoted(text)),
                     "every section by its figure, with - between: \"8-8\", \"16-16-20\"");
    std::size_t unit_end = unit_at;
    while (unit_end < body.size() && !digit(body[unit_end]) && body[unit_end] != '/' && body[unit_end] != '@' &&
           body[unit_end] != '-')
        ++unit_end;
    int power = -6;
    if (const UnitText name = plain_unit(body.substr(unit_at, unit_end - unit_at)); !name.empty()) {
        const UnitRow* row = unit_row(measure, name);
        if (!row) return unknown_unit(text, unit_at, measure).notices();
        power = row->power;
    }
    CanPrint can;
    if (unit_end < body.size()) {
        const std::size_t volts_at = skip_blanks(body, digit(body[unit_end]) ? unit_end : unit_end + 1);
        const std::size_t first_end = skip_digits(body, volts_at);
        if (first_end > volts_at && first_end + 1 < body.size() && body[first_end] == '-' && digit(body[first_end + 1]))
            return fault(messages::value_sections, text, volts_at,
                         fmt::format("{} has volts for each section", quoted(text)),
                         "leave them out here and write volts=\"...\" on each <section>");
        Outcome<double> volts = read_value(body.substr(volts_at), Measure::volts);
        if (!volts) {
            Notice notice = volts.notices().front();
            notice.place.column += column_of(text, volts_at) - 1;
            return notice;
        }
        can.volts = *volts;
    } else if (unit_end == unit_at && figures.size() > 1 && plain(figures.back()) >= least_volts) {
        can.volts = plain(figures.back());
        figures.pop_back();
    }
    for (const std::string_view figure : figures) {
        Number number;
        number.decimal = figure;
        const Outcome<double> farads = not_zero(with_power(number, power, text), measure, text);
        if (!farads) return farads.notices();
        can.farads.push_back(*farads);
    }
    return can;
}

std::string printed(double value, Measure measure) {
    if (!std::isfinite(value) || value < 0 || (value == 0 && measure != Measure::per_cent)) return "?";
    struct Unit {
        double from;
        int power;
        std::string_view name;
    };
    constexpr Unit ohms[] = {{1e6, 6, " meg"}, {1e3, 3, "K"}, {0, 0, ""}};
    constexpr Unit farads[] = {{1e-9, -6, " mfd"}, {0, -12, " mmf"}};
    constexpr Unit henries[] = {{0.1, 0, " H"}, {1e-4, -3, " mh"}, {0, -6, " uh"}};
    constexpr Unit amps[] = {{1, 0, " A"}, {1e-3, -3, " mA"}, {0, -6, " uA"}};
    constexpr Unit plain_ones[] = {{0, 0, ""}};
    std::span<const Unit> units = plain_ones;
    if (measure == Measure::ohms) units = ohms;
    if (measure == Measure::farads) units = farads;
    if (measure == Measure::henries) units = henries;
    if (measure == Measure::amps) units = amps;
    const Unit* unit = &units.back();
    for (const Unit& one : units)
        if (value >= one.from) {
            unit = &one;
            break;
        }
    // The shortest digits that give the double back, and where their point stands in the unit.
    std::array<char, 40> buffer{};
    const auto written =
        std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::scientific);
    const std::string digits(buffer.data(), written.ptr);
    const std::size_t e = digits.find('e');
    int exponent = 0;
    std::size_t exponent_at = e + 1;
    if (digits[exponent_at] == '+') ++exponent_at;
    std::from_chars(digits.data() + exponent_at, digits.data() + digits.size(), exponent);
    std::string mantissa = digits.substr(0, e);
    std::erase(mantissa, '.');
    const int point = exponent - unit->power + 1;  // digits before the point
    std::string text;
    if (point <= 0)
        text = "." + std::string(static_cast<std::size_t>(-point), '0') + mantissa;
    else if (point >= static_cast<int>(mantissa.size()))
        text = mantissa + std::string(static_cast<std::size_t>(point) - mantissa.size(), '0');
    else
        text = mantissa.substr(0, static_cast<std::size_t>(point)) + "." +
               mantissa.substr(static_cast<std::size_t>(point));
    return text + std::string(unit->name);
}

Outcome<int> read_whole(std::string_view text, int most) {
    std::size_t at = 0;
    const std::string_view body = trimmed(text, &at);
    int value = 0;
    const auto result = std::from_chars(body.data() + at, body.data() + body.size(), value);
    if (at == body.size() || !digit(body[at]) || result.ec != std::errc() || result.ptr != body.data() + body.size())
        return fault(messages::value_not_whole, text, at, fmt::format("{} is not a whole number", quoted(text)),
                     fmt::format("digits alone, at most {}", most));
    if (value > most)
        return fault(messages::value_out_of_range, text, at, fmt::format("{} is too large", quoted(text)),
                     fmt::format("at most {}", most));
    return value;
}

}  // namespace tubewright
