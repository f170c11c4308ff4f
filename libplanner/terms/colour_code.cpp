// SPDX-License-Identifier: MIT
// See colour_code.hpp.
#include "terms/colour_code.hpp"

#include <cmath>
#include <string>
#include <vector>

#include "terms/near.hpp"
#include "terms/numbers.hpp"

namespace tubewright {
namespace {

struct Colour {
    std::string_view name;
    int figure;        ///< -1: stands for none
    int power;         ///< of ten, as a multiplier; 99: stands for none
    double tolerance;  ///< of a resistor's last band; 0: stands for none
};
constexpr Colour colours[] = {
    {"black", 0, 0, 0},       {"brown", 1, 1, 0.01},  {"red", 2, 2, 0.02},    {"orange", 3, 3, 0.0005},
    {"yellow", 4, 4, 0.0002}, {"green", 5, 5, 0.005}, {"blue", 6, 6, 0.0025}, {"violet", 7, 7, 0.001},
    {"grey", 8, 8, 0.0001},   {"white", 9, 9, 0},     {"gold", -1, -1, 0.05}, {"silver", -1, -2, 0.1},
};

struct Word {
    std::string text;
    int column = 1;
    const Colour* colour = nullptr;
};

Notice fault(const Word& at, std::string message, std::string remedy) {
    Notice notice;
    notice.number = messages::value_colour;
    notice.place.column = at.column;
    notice.message = std::move(message);
    notice.remedy = std::move(remedy);
    return notice;
}

const Colour* colour_of(std::string_view word) {
    if (word == "gray") word = "grey";
    if (word == "purple") word = "violet";
    for (const Colour& one : colours)
        if (one.name == word) return &one;
    return nullptr;
}

std::vector<Word> words_of(std::string_view text) {
    std::vector<Word> words;
    for (std::size_t i = 0; i < text.size();) {
        if (text[i] == ' ' || text[i] == '\t' || text[i] == '\n' || text[i] == '\r') {
            ++i;
            continue;
        }
        Word word;
        word.column = static_cast<int>(i) + 1;
        while (i < text.size() && text[i] != ' ' && text[i] != '\t' && text[i] != '\n' && text[i] != '\r') {
            const char c = text[i++];
            word.text += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
        }
        words.push_back(std::move(word));
    }
    return words;
}

/// Figures times a power of ten, rounded once where the power is negative too.
double scaled(int figures, int power) {
    return power < 0 ? figures / std::pow(10.0, -power) : figures * std::pow(10.0, power);
}

class Reading {
  public:
    explicit Reading(std::vector<Word> words) : words_(std::move(words)) {}
    std::optional<Notice> wrong;
    std::size_t size() const { return words_.size(); }
    const Word& at(std::size_t i) const { return words_[i]; }

    int figure(std::size_t i) {
        const Colour* colour = words_[i].colour;
        if (colour->figure < 0 && !wrong)
            wrong = fault(words_[i], quoted(words_[i].text) + " is no figure", "black to white stand for 0 to 9");
        return colour->figure;
    }
    int power(std::size_t i) { return words_[i].colour->power; }

  private:
    std::vector<Word> words_;
};

double mica_tolerance(const Colour& colour) {
    if (colour.name == "gold") return 0.05;
    if (colour.name == "silver") return 0.10;
    return colour.figure <= 0 ? 0.20 : 0.01 * colour.figure;
}

double mica_volts(const Colour& colour) {
    if (colour.name == "gold") return 1000;
    if (colour.name == "silver") return 2000;
    return colour.figure <= 0 ? 500 : 100.0 * colour.figure;
}

}  // namespace

Outcome<ColouredValue> read_colours(std::string_view text, ColourCode code) {
    std::vector<Word> words = words_of(text);
    const Word first = words.empty() ? Word() : words.front();
    std::vector<std::string_view> names;
    for (const Colour& one : colours) names.push_back(one.name);
    const bool old = code == ColourCode::body_end_dot;
    for (std::size_t i = 0; i < words.size(); ++i) {
        // an end or a dot of the body's colour cannot be seen
        const std::string& said = old && words[i].text == "-" && i > 0 ? words[0].text : words[i].text;
        words[i].colour = colour_of(said);
        if (!words[i].colour)
            return fault(words[i], quoted(words[i].text) + " is no colour of a code", suggestion(said, names));
    }
    const auto count = [&](std::size_t least, std::size_t most, const char* wanted) -> std::optional<Notice> {
        if (words.size() >= least && words.size() <= most) return std::nullopt;
        return fault(first, std::to_string(words.size()) + " colours", wanted);
    };
    ColouredValue made;
    Reading read(words);
    switch (code) {
        case ColourCode::bands: {
            if (const auto bad = count(3, 6, "three to six bands: \"yellow violet orange silver\"")) return *bad;
            // Five bands have three figures; on old parts the fifth was a failure rate, and the fourth then is gold or
            // silver, which a multiplier of such a part is not.
            const bool rate = words.size() == 5 && words[3].colour->figure < 0;
            if (rate)
                return fault(words[3],
                             "five bands with " + quoted(words[3].text) + " as the fourth: " + words[3].text +
                                 " the multiplier of three figures, or the tolerance of two before a failure rate",
                             "leave the last band out if it is a failure rate, or write the value");
            const std::size_t figures = words.size() >= 5 ? 3 : 2;
            int number = 0;
            for (std::size_t i = 0; i < figures; ++i) number = 10 * number + read.figure(i);
            made.value = scaled(number, read.power(figures));
            made.tolerance = 0.20;
            if (words.size() > figures + 1) {
                const Colour& last = *words[figures + 1].colour;
                if (last.tolerance <= 0)
                    return fault(
                        words[figures + 1], quoted(words[figures + 1].text) + " is no tolerance",
                        "gold 5 %, silver 10 %, none 20 %; brown 1 %, red 2 %: is it read from the other end?");
                made.tolerance = last.tolerance;
            }
            break;
        }
        case ColourCode::body_end_dot: {
            if (const auto bad = count(3, 4, "body, end and dot: \"yellow violet orange\"")) return *bad;
            made.value = scaled(10 * read.figure(0) + read.figure(1), read.power(2));
            made.tolerance = 0.20;
            if (words.size() == 4) {
                const Colour& end = *words[3].colour;
                if (end.figure >= 0)
                    return fault(words[3], quoted(words[3].text) + " at the other end is no tolerance",
                                 "gold 5 %, silver 10 %, none 20 %");
                made.tolerance = end.tolerance;
            }
            break;
        }
        case ColourCode::mica_3: {
            if (const auto bad = count(3, 3, "three dots along the arrow: \"red green brown\"")) return *bad;
            made.value = scaled(10 * read.figure(0) + read.figure(1), read.power(2) - 12);
            made.tolerance = 0.20;
            made.volts = 500;
            break;
        }
        case ColourCode::mica_6_rma: {
            if (const auto bad = count(6, 6, "six dots: three figures, zeros, tolerance, volts")) return *bad;
            if (words[0].text == "white" || words[0].text == "black")
                return fault(
                    words[0],
                    "a first dot in " + words[0].text + " is of the newer code: figures stand in the second and third",
                    "code=\"mica-6-eia\"; or turn the part, so that its arrow points to the right");
            made.value = scaled(100 * read.figure(0) + 10 * read.figure(1) + read.figure(2), read.power(3) - 12);
            made.tolerance = mica_tolerance(*words[4].colour);
            made.volts = mica_volts(*words[5].colour);
            break;
        }
        case ColourCode::mica_6_eia: {
            if (const auto bad = count(6, 6, "six dots: white or black, two figures, zeros, tolerance, class"))
                return *bad;
            if (words[0].text != "white" && words[0].text != "black")
                return fault(words[0], "the first dot is " + quoted(words[0].text) + ", neither white nor black",
                             "code=\"mica-6-rma\"; or turn the part, so that its arrow points to the right");
            made.value = scaled(10 * read.figure(1) + read.figure(2), read.power(3) - 12);
            made.tolerance = mica_tolerance(*words[4].colour);
            break;
        }
    }
    if (read.wrong) return *read.wrong;
    if (made.value <= 0) return fault(first, quoted(text) + " is zero", "is it read from the right end?");
    return made;
}

}  // namespace tubewright
