// SPDX-License-Identifier: MIT
// See colour_code.hpp.
#include "terms/colour_code.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "terms/near.hpp"
#include "terms/numbers.hpp"
#include "terms/period_value.hpp"

namespace tubewright {
namespace {

struct Colour {
    std::string_view name;
    int figure;        ///< -1: stands for none
    int power;         ///< of ten, as a multiplier
    double tolerance;  ///< of a resistor, as a share; 0: stands for none. Grey was .05 %, later .01 %: the wider one
    double ppm;        ///< per kelvin, of a sixth band; 0: stands for none
    char type;         ///< class of a mica; all but C recalled
};
constexpr Colour colours[] = {
    {"black", 0, 0, 0, 250, 'A'},      {"brown", 1, 1, 0.01, 100, 'B'},   {"red", 2, 2, 0.02, 50, 'C'},
    {"orange", 3, 3, 0.0005, 15, 'D'}, {"yellow", 4, 4, 0.0002, 25, 'E'}, {"green", 5, 5, 0.005, 20, 'F'},
    {"blue", 6, 6, 0.0025, 10, 'G'},   {"violet", 7, 7, 0.001, 5, 0},     {"grey", 8, 8, 0.0005, 1, 0},
    {"white", 9, 9, 0, 0, 0},          {"gold", -1, -1, 0.05, 0, 0},      {"silver", -1, -2, 0.1, 0, 0},
};

constexpr double most_ohms = 1e9;
constexpr double most_farads = 1e-7;      ///< recalled: flat mica parts end far below
constexpr double least_of_two = 0.001;    ///< a tighter tolerance is not put on two figures
constexpr double plain_tolerance = 0.20;  ///< no colour
constexpr double plain_volts = 500;       ///< no colour, mica
constexpr std::size_t three_dots = 3, five_dots = 5;

struct Word {
    std::string text;
    int column = 1;
    const Colour* colour = nullptr;  ///< none: no colour there
};
using Words = std::vector<Word>;
using Read = Outcome<ColouredValue>;

Notice fault(const Word& at, std::string message, std::string remedy) {
    Notice notice;
    notice.number = messages::value_colour;
    notice.place.column = at.column;
    notice.message = std::move(message);
    notice.remedy = std::move(remedy);
    return notice;
}

bool letter(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

/// Between words; a hyphen only between letters, since alone it is a word.
bool separator(std::string_view text, std::size_t i) {
    if (text[i] == '-') return i > 0 && i + 1 < text.size() && letter(text[i - 1]) && letter(text[i + 1]);
    return std::string_view(" \t\n\r,/").find(text[i]) != std::string_view::npos;
}

Words words_of(std::string_view text) {
    Words words;
    for (std::size_t i = 0; i < text.size();) {
        if (separator(text, i)) {
            ++i;
            continue;
        }
        Word word;
        word.column = static_cast<int>(i) + 1;  // only colours stand before a word that is refused
        for (; i < text.size() && !separator(text, i); ++i) {
            const char c = text[i];
            word.text += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
        }
        words.push_back(std::move(word));
    }
    return words;
}

const Colour* colour_of(std::string_view word) {
    if (word == "gray" || word == "slate") word = "grey";
    if (word == "purple") word = "violet";
    for (const Colour& one : colours)
        if (one.name == word) return &one;
    return nullptr;
}

/// Figures times a power of ten, rounded once.
double scaled(int figures, int power) {
    return power < 0 ? figures / std::pow(10.0, -power) : figures * std::pow(10.0, power);
}

std::string per_cent(double share) {
    return fmt::format("{:g} %", 100 * share);
}

/// Takes the colours of one reading apart; the first fault is kept.
class Reading {
  public:
    explicit Reading(const Words& words) : words_(words) {}

    /// Figures of [first, end), the zeros behind them, times ten to `unit`; faults in the order of the words.
    double value(std::size_t first, std::size_t end, int unit = 0) {
        const int number = figures(first, end);
        const Colour* zeros = seen(end);
        return scaled(number, (zeros ? zeros->power : 0) + unit);
    }
    double band_tolerance(std::size_t i, double least) {
        const Colour* colour = words_[i].colour;
        if (!colour) return plain_tolerance;
        if (colour->tolerance <= 0)
            fail(i, quoted(words_[i].text) + " is no tolerance",
                 "gold 5 %, silver 10 %, none 20 %; brown 1 %, red 2 %");
        else if (colour->tolerance < least)
            fail(i, quoted(words_[i].text) + " is no tolerance of two figures",
                 colour->name == "grey" ? "tarnished silver is 10 %" : "faded gold is 5 %");
        return colour->tolerance;
    }
    double mica_tolerance(std::size_t i) const {
        const Colour* colour = words_[i].colour;
        if (!colour) return plain_tolerance;
        if (colour->figure < 0) return colour->tolerance;
        return colour->figure == 0 ? plain_tolerance : 0.01 * colour->figure;
    }
    double mica_volts(std::size_t i) {
        const Colour* colour = words_[i].colour;
        if (!colour) return plain_volts;
        if (colour->figure == 0) fail(i, "black stands for no volts", "\"-\" for a dot without a colour: 500 V");
        if (colour->figure > 0) return 100.0 * colour->figure;
        return colour->name == "gold" ? 1000 : 2000;
    }
    void fail(std::size_t i, std::string message, std::string remedy) {
        if (!wrong_) wrong_ = fault(words_[i], std::move(message), std::move(remedy));
    }
    Read done(ColouredValue made, Measure measure) {
        const double most = measure == Measure::ohms ? most_ohms : most_farads;
        if (!wrong_ && made.value <= 0) fail(0, "these colours are zero", "is it read from the right end?");
        if (!wrong_ && made.value > most * (1 + 1e-9))
            fail(0, fmt::format("these colours are {}: more than any such part", printed(made.value, measure)),
                 "is it read from the right end?");
        if (wrong_) return *wrong_;
        return made;
    }

  private:
    int figures(std::size_t first, std::size_t end) {
        int number = 0;
        for (std::size_t i = first; i < end; ++i) {
            const Colour* colour = seen(i);
            if (colour && colour->figure < 0)
                fail(i, quoted(words_[i].text) + " is no figure", "black to white stand for 0 to 9");
            number = 10 * number + (colour ? colour->figure : 0);
        }
        return number;
    }
    const Colour* seen(std::size_t i) {
        if (!words_[i].colour) fail(i, "a colour is missing here", "black to white, gold, silver");
        return words_[i].colour;
    }
    const Words& words_;
    std::optional<Notice> wrong_;
};

ColouredValue wider(ColouredValue a, const ColouredValue& b) {
    if (b.tolerance > a.tolerance) a.tolerance = b.tolerance;
    if (a.volts != b.volts) a.volts = std::nullopt;
    return a;
}

std::string told(const ColouredValue& made, Measure measure) {
    return fmt::format("{} within {}", printed(made.value, measure), per_cent(made.tolerance.value_or(0)));
}

// Readers: of the words in their order of reading.

Read two_figures(const Words& words) {
    Reading read(words);
    ColouredValue made;
    made.value = read.value(0, 2);
    made.tolerance = words.size() > 3 ? read.band_tolerance(3, least_of_two) : plain_tolerance;
    made.standard = "bands, IEC 60062";
    return read.done(made, Measure::ohms);
}

Read three_figures(const Words& words) {
    Reading read(words);
    ColouredValue made;
    made.value = read.value(0, 3);
    made.tolerance = read.band_tolerance(4, 0);
    if (words.size() > 5 && words[5].colour) {
        if (words[5].colour->ppm <= 0)
            read.fail(5, quoted(words[5].text) + " is no temperature coefficient",
                      "black, brown, red, yellow: 250, 100, 50, 25 millionths a kelvin");
        made.per_kelvin = 1e-6 * words[5].colour->ppm;
    }
    made.standard = "bands, IEC 60062";
    return read.done(made, Measure::ohms);
}

/// A gold or silver fourth of five is the multiplier of three figures, or the tolerance of two; the fifth then is a
/// failure rate (brown to yellow), or a maker's mark.
Read five_bands(const Words& words) {
    const Read three = three_figures(words);
    const Colour* fourth = words[3].colour;
    const Colour* fifth = words[4].colour;
    if (!fourth || !fifth || fourth->figure >= 0) return three;
    const bool rate = fifth->figure >= 1 && fifth->figure <= 4;  // brown to yellow: 1 % to .001 % in 1000 hours
    if (three && !rate) return three;
    Read two = two_figures(Words(words.begin(), words.begin() + 4));
    if (!two) return three;
    two->standard = rate ? "bands, the fifth a failure rate" : "bands, the fifth a maker's mark";
    if (!three) return two;
    if (two->value == three->value) return wider(*three, *two);
    return fault(words[3],
                 fmt::format("five bands with {} fourth: {} by three figures, {} by two with a failure rate",
                             fourth->name, told(*three, Measure::ohms), told(*two, Measure::ohms)),
                 "leave the last band out if it is a failure rate, or write the value");
}

Read bands(const Words& words) {
    if (words.size() < 3 || words.size() > 6)
        return fault(words.empty() ? Word() : words.front(), fmt::format("{} colours", words.size()),
                     "three to six bands: \"yellow violet orange silver\"");
    if (words.size() == 5) return five_bands(words);
    return words.size() == 6 ? three_figures(words) : two_figures(words);
}

Read body_end_dot(Words words) {
    if (words.size() < 3 || words.size() > 4)
        return fault(words.empty() ? Word() : words.front(), fmt::format("{} colours", words.size()),
                     "body, end and dot: \"yellow violet orange\", \"-\" for one that is as the body");
    for (std::size_t i = 1; i < 3; ++i)
        if (!words[i].colour) words[i].colour = words[0].colour;
    Reading read(words);
    ColouredValue made;
    if (words[1].colour && words[1].colour->figure < 0)
        read.fail(1, quoted(words[1].text) + " at an end is the tolerance",
                  fmt::format("body, the other end, dot, then {}", words[1].colour->name));
    made.value = read.value(0, 2);
    made.tolerance = plain_tolerance;
    if (words.size() > 3 && words[3].colour) {
        if (words[3].colour->figure >= 0)
            read.fail(3, quoted(words[3].text) + " at the other end is no tolerance",
                      "gold 5 %, silver 10 %, none 20 %");
        made.tolerance = words[3].colour->tolerance;
    }
    made.standard = "body, end and dot, RMA";
    return read.done(made, Measure::ohms);
}

Read three_dots_rma(const Words& words) {
    if (words.size() != three_dots && words.size() != five_dots)
        return fault(words.empty() ? Word() : words.front(), fmt::format("{} colours", words.size()),
                     "three dots along the arrow: \"red green brown\"; or five, with volts and tolerance");
    Reading read(words);
    ColouredValue made;
    made.value = read.value(0, 2, -12);
    const bool more = words.size() == five_dots;
    made.volts = more ? read.mica_volts(3) : plain_volts;
    made.tolerance = more ? read.mica_tolerance(4) : plain_tolerance;
    made.standard = more ? "five dots, RMA" : "three dots, RMA";
    return read.done(made, Measure::farads);
}

Read six_dots_rma(const Words& words) {
    Reading read(words);
    ColouredValue made;
    made.value = read.value(0, 3, -12);
    made.tolerance = read.mica_tolerance(4);
    made.volts = read.mica_volts(5);
    made.standard = "six dots, RMA";
    return read.done(made, Measure::farads);
}

Read six_dots_eia(const Words& words) {
    Reading read(words);
    ColouredValue made;
    made.value = read.value(1, 3, -12);
    made.tolerance = read.mica_tolerance(4);
    made.standard = words[0].text == "black" ? "six dots, AWS" : "six dots, EIA";
    if (words[5].colour && words[5].colour->type) made.standard += std::string(", class ") + words[5].colour->type;
    return read.done(made, Measure::farads);
}

bool newer(const Words& words) {
    return words[0].text == "white" || words[0].text == "black";
}

/// The same part turned upside down: the lower row, read from the right, becomes the upper one read from the left.
Words turned_six(const Words& words) {
    Words turned = words;
    std::rotate(turned.begin(), turned.begin() + 3, turned.end());
    return turned;
}

std::string reads(const Read& made) {
    return made ? told(*made, Measure::farads) : std::string("nothing");
}

Read mica_6(const Words& words, bool eia) {
    if (words.size() != 6)
        return fault(words.empty() ? Word() : words.front(), fmt::format("{} colours", words.size()),
                     eia ? "six dots: white or black, two figures, zeros, tolerance, class"
                         : "six dots: three figures, zeros, tolerance, volts");
    const std::string& first = words[0].text;
    if (newer(words) == eia) return eia ? six_dots_eia(words) : six_dots_rma(words);
    if (!eia)
        return fault(words[0],
                     fmt::format("a {} first dot is a code of its own: {} by that, {} by three figures", first,
                                 reads(six_dots_eia(words)), reads(six_dots_rma(words))),
                     "code=\"mica-6-eia\", or write the value");
    if (first == "silver" || !words[0].colour)
        return fault(
            words[0],
            "a first dot in silver, or in the colour of the body, is moulded paper: " + reads(six_dots_eia(words)),
            "write the value, and construction=\"stamp-paper\": it leaks as paper does");
    const Words turned = turned_six(words);
    return fault(words[0], fmt::format("the first dot is {}, neither white nor black", quoted(first)),
                 newer(turned) ? "turned round it reads " + reads(six_dots_eia(turned))
                               : "code=\"mica-6-rma\" reads " + reads(six_dots_rma(words)));
}

/// What the words read from their other end, or of the part turned round.
Words other_way(const Words& words, ColourCode code) {
    const bool six = code == ColourCode::mica_6_rma || code == ColourCode::mica_6_eia;
    if (six) return words.size() == 6 ? turned_six(words) : words;
    Words turned = words;
    const bool dots = code == ColourCode::mica_3 && turned.size() > three_dots;  // volts and tolerance stay
    std::reverse(turned.begin(), dots ? turned.begin() + three_dots : turned.end());
    return turned;
}

Read read_words(const Words& words, ColourCode code) {
    switch (code) {
        case ColourCode::bands:
            return bands(words);
        case ColourCode::body_end_dot:
            return body_end_dot(words);
        case ColourCode::mica_3:
            return three_dots_rma(words);
        case ColourCode::mica_6_rma:
        case ColourCode::mica_6_eia:
            return mica_6(words, code == ColourCode::mica_6_eia);
    }
    return {};
}

/// A leading zero is not written where the makers can help it; black in front then is the wrong end.
bool leads_with_zero(const Words& words, ColourCode code) {
    const std::size_t at = code == ColourCode::mica_6_eia ? 1 : 0;
    return words.size() > at && words[at].colour && words[at].colour->figure == 0;
}

Read either_way(const Words& words, ColourCode code, const Word& sign) {
    const Words turned = other_way(words, code);
    Read one = read_words(words, code), other = read_words(turned, code);
    if (one && other && leads_with_zero(words, code) != leads_with_zero(turned, code))
        return leads_with_zero(words, code) ? other : one;
    if (one && other && one->value != other->value) {
        const Measure measure = code == ColourCode::bands ? Measure::ohms : Measure::farads;
        return fault(sign,
                     fmt::format("nothing tells where to begin: {} as written, {} the other way", told(*one, measure),
                                 told(*other, measure)),
                     "look for an arrow, the maker's name, a gap before the last band; or measure and write the value");
    }
    if (one && other) return wider(*one, *other);
    return other ? other : one;
}

}  // namespace

Outcome<ColouredValue> read_colours(std::string_view text, ColourCode code) {
    Words words = words_of(text);
    std::optional<Word> unsigned_way;
    if (!words.empty() && words.front().text == "?" && code != ColourCode::body_end_dot) {
        unsigned_way = words.front();
        words.erase(words.begin());
    }
    std::vector<std::string_view> names;
    for (const Colour& one : colours) names.push_back(one.name);
    for (Word& word : words) {
        word.colour = colour_of(word.text);
        if (word.colour) word.text = word.colour->name;
        if (!word.colour && word.text != "-" && word.text != "none")
            return fault(word, quoted(word.text) + " is no colour of a code", suggestion(word.text, names));
    }
    if (code == ColourCode::bands)
        while (words.size() > 3 && !words.back().colour) words.pop_back();
    if (unsigned_way) return either_way(words, code, *unsigned_way);
    Read made = read_words(words, code);
    if (!made && code == ColourCode::bands && words.size() > 2) {
        const Words turned = other_way(words, code);
        const Read other = bands(turned);
        if (other && !leads_with_zero(turned, code)) {
            Notice notice = made.notices().front();
            notice.remedy += "; from the other end it is " + told(*other, Measure::ohms);
            return notice;
        }
    }
    return made;
}

}  // namespace tubewright
