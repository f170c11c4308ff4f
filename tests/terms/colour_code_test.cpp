// SPDX-License-Identifier: MIT
// Colours: terms/colour_code.hpp. Every value of the series through every code and back, by a slow writer of colours;
// what is refused, and with which words. Values from publications: tests/published/colour_code_test.cpp; what stands
// here on no source is marked "recalled".
#include <catch2/catch.hpp>

#include <cmath>
#include <random>
#include <set>
#include <string>
#include <vector>

#include "terms/colour_code.hpp"
#include "terms/numbers.hpp"

using namespace tubewright;

namespace {

ColouredValue read(const std::string& text, ColourCode code) {
    const Outcome<ColouredValue> made = read_colours(text, code);
    if (!made) FAIL(text << ": " << made.notices().front().message);
    return *made;
}

/// The one notice of a refused text.
Notice refused(const std::string& text, ColourCode code) {
    const Outcome<ColouredValue> made = read_colours(text, code);
    if (made) FAIL(text << " is " << made->value);
    REQUIRE(made.notices().size() == 1);
    CHECK(made.notices().front().number == messages::value_colour);
    CHECK_FALSE(made.notices().front().message.empty());
    CHECK_FALSE(made.notices().front().remedy.empty());
    return made.notices().front();
}
int column(const std::string& text, ColourCode code) {
    return refused(text, code).place.column;
}
bool says(const std::string& text, const std::string& piece) {
    UNSCOPED_INFO(text);
    return text.find(piece) != std::string::npos;
}

const std::vector<std::string> names = {"black", "brown", "red",    "orange", "yellow",
                                        "green", "blue",  "violet", "grey",   "white"};

/// The colour of a power of ten.
std::string zeros(int power) {
    return power == -1 ? "gold" : power == -2 ? "silver" : names.at(static_cast<std::size_t>(power));
}
/// The colours of figures, one after another: "47" is "yellow violet".
std::string figures(const std::string& digits) {
    std::string text;
    for (const char c : digits) text += names.at(static_cast<std::size_t>(c - '0')) + " ";
    return text;
}
/// The number that is written so, read by the library that has no colours: "47e3".
double number(const std::string& digits, int power) {
    return std::stod(digits + "e" + std::to_string(power));
}

// IEC 60063. E6 and E12 are in it.
const std::vector<std::string> e24 = {"10", "11", "12", "13", "15", "16", "18", "20", "22", "24", "27", "30",
                                      "33", "36", "39", "43", "47", "51", "56", "62", "68", "75", "82", "91"};

}  // namespace

TEST_CASE("Every value of the series comes back from its bands, in every decade and with every tolerance") {
    const std::vector<std::pair<std::string, double>> ends = {
        {"", 0.20},       {" none", 0.20}, {" -", 0.20},      {" gold", 0.05},   {" silver", 0.10},
        {" brown", 0.01}, {" red", 0.02},  {" green", 0.005}, {" blue", 0.0025}, {" violet", 0.001}};
    for (const std::string& digits : e24)
        for (int power = -2; power <= 6; ++power)
            for (const auto& [end, tolerance] : ends) {
                const ColouredValue made = read(figures(digits) + zeros(power) + end, ColourCode::bands);
                CHECK(made.value == number(digits, power));
                CHECK(made.tolerance == tolerance);
                CHECK(made.standard == "bands, IEC 60062");
                CHECK_FALSE(made.volts);
            }
}

TEST_CASE("Every value of the series comes back from body, end and dot") {
    for (const std::string& digits : e24)
        for (int power = 0; power <= 6; ++power) {
            const std::string body = names[static_cast<std::size_t>(digits[0] - '0')],
                              end = names[static_cast<std::size_t>(digits[1] - '0')], dot = zeros(power);
            const std::string seen_end = end == body ? "-" : end, seen_dot = dot == body ? "-" : dot;
            for (const std::string& text : {body + " " + end + " " + dot, body + " " + seen_end + " " + seen_dot}) {
                CHECK(read(text, ColourCode::body_end_dot).value == number(digits, power));
                CHECK(read(text + " none", ColourCode::body_end_dot).tolerance == 0.20);
                CHECK(read(text + " silver", ColourCode::body_end_dot).tolerance == 0.10);
                CHECK(read(text + " gold", ColourCode::body_end_dot).tolerance == 0.05);
            }
        }
}

TEST_CASE("Three figures come back from five and six bands") {
    const std::vector<std::pair<std::string, double>> ppm = {{"black", 250}, {"brown", 100}, {"red", 50},
                                                             {"orange", 15}, {"yellow", 25}, {"green", 20},
                                                             {"blue", 10},   {"violet", 5},  {"grey", 1}};
    for (int figure = 100; figure < 1000; figure += 7)
        for (int power = -2; power <= 5; ++power) {
            const std::string text = figures(std::to_string(figure)) + zeros(power);
            // green is no failure rate, so five bands with gold or silver fourth can be told too
            CHECK(read(text + " green", ColourCode::bands).value == number(std::to_string(figure), power));
            if (power >= 0) {
                CHECK(read(text + " brown", ColourCode::bands).value == number(std::to_string(figure), power));
            }
            for (const auto& [end, millionths] : ppm) {
                const ColouredValue made = read(text + " brown " + end, ColourCode::bands);
                CHECK(made.value == number(std::to_string(figure), power));
                CHECK(made.tolerance == 0.01);
                CHECK(made.per_kelvin == Approx(millionths * 1e-6));
            }
        }
    CHECK(read("red red black brown orange", ColourCode::bands).tolerance == 0.0005);
    CHECK(read("red red black brown yellow", ColourCode::bands).tolerance == 0.0002);
    CHECK(read("red red black brown grey", ColourCode::bands).tolerance == 0.0005);
}

TEST_CASE("Every value of the series comes back from mica dots") {
    for (const std::string& digits : e24)
        for (int power = 0; power <= 2; ++power) {
            const double farads = number(digits, power - 12);
            CHECK(read(figures(digits) + zeros(power), ColourCode::mica_3).value == farads);
            CHECK(read(figures(digits) + zeros(power), ColourCode::mica_3).volts == 500.0);
            CHECK(read(figures(digits) + zeros(power), ColourCode::mica_3).tolerance == 0.20);
            for (const std::string first : {"white", "black"}) {
                const ColouredValue made =
                    read(first + " " + figures(digits) + zeros(power) + " silver red", ColourCode::mica_6_eia);
                CHECK(made.value == farads);
                CHECK(made.tolerance == 0.10);
                CHECK_FALSE(made.volts);
                CHECK(made.standard == (first == "white" ? "six dots, EIA, class C" : "six dots, AWS, class C"));
            }
            if (digits[0] == '9') continue;  // white in front: another code
            const ColouredValue made =
                read(figures(digits + "0") + zeros(power) + " gold green", ColourCode::mica_6_rma);
            CHECK(made.value == number(digits + "0", power - 12));
            CHECK(made.tolerance == 0.05);
            CHECK(made.volts == 500.0);
        }
}

TEST_CASE("Words as people write them") {
    for (const char* text :
         {"yellow violet orange silver", " Yellow  VIOLET orange\tsilver ", "yellow-violet-orange-silver",
          "yellow, violet, orange, silver", "yellow/purple/orange/silver"}) {
        CHECK(read(text, ColourCode::bands).value == 47e3);
        CHECK(read(text, ColourCode::bands).tolerance == 0.10);
    }
    CHECK(read("brown gray black gold", ColourCode::bands).value == 18);
    CHECK(read("brown slate black gold", ColourCode::bands).value == 18);
    CHECK(read("orange - -", ColourCode::body_end_dot).value == 33e3);  // all of one colour
    CHECK(read("brown black -", ColourCode::body_end_dot).value == 100);
    CHECK(read("black green black", ColourCode::body_end_dot).value == 5);
}

TEST_CASE("Mica dots, recalled: working volts, no colour, multipliers under one") {
    CHECK(read("brown black black brown black gold", ColourCode::mica_6_rma).volts == 1000.0);
    CHECK(read("brown black black brown black gold", ColourCode::mica_6_rma).tolerance == 0.20);
    CHECK(read("brown black black brown - -", ColourCode::mica_6_rma).tolerance == 0.20);
    CHECK(read("brown black black brown - -", ColourCode::mica_6_rma).volts == 500.0);
    CHECK(read("green brown black gold green orange", ColourCode::mica_6_rma).value == 51e-12);
    CHECK(read("green brown black gold green orange", ColourCode::mica_6_rma).volts == 300.0);
    CHECK(column("brown black black brown black black", ColourCode::mica_6_rma) == 31);
}

TEST_CASE("A word that is no colour, or a colour out of place, is refused at its column") {
    CHECK(column("yellow voilet orange", ColourCode::bands) == 8);
    CHECK(refused("yellow voilet orange", ColourCode::bands).remedy == "did you mean \"violet\"?");
    CHECK(refused("yelow violet orange", ColourCode::bands).remedy == "did you mean \"yellow\"?");
    CHECK(says(refused("pink violet orange", ColourCode::bands).remedy, "one of black, brown, red"));
    CHECK(column("yellow violet", ColourCode::bands) == 1);
    CHECK(column("", ColourCode::bands) == 1);
    CHECK(column("", ColourCode::body_end_dot) == 1);
    CHECK(column("?", ColourCode::mica_3) == 1);
    CHECK(column("red red red red red red red", ColourCode::bands) == 1);
    CHECK(column("black black black", ColourCode::bands) == 1);
    CHECK(column("yellow - orange", ColourCode::bands) == 8);
    CHECK(column("- violet orange", ColourCode::body_end_dot) == 1);
    CHECK(column("red green yellow brown", ColourCode::body_end_dot) == 18);
    CHECK(column("red gold yellow", ColourCode::body_end_dot) == 5);
    CHECK(says(refused("red gold yellow", ColourCode::body_end_dot).remedy, "the other end, dot, then gold"));
    CHECK(column("red green", ColourCode::mica_3) == 1);
    CHECK(column("red green brown silver", ColourCode::mica_3) == 1);
    CHECK(column("red green brown", ColourCode::mica_6_eia) == 1);
    CHECK(column("red red black brown brown white", ColourCode::bands) == 27);
    CHECK(column("red red black brown white", ColourCode::bands) == 21);
    // more than any such part: read from the wrong end
    CHECK(column("yellow violet white", ColourCode::bands) == 1);
    CHECK(column("red green green", ColourCode::mica_3) == 1);
}

TEST_CASE("Bands from the wrong end say what they are from the other") {
    const Notice gold = refused("gold orange violet yellow", ColourCode::bands);
    CHECK(gold.place.column == 1);
    CHECK(says(gold.remedy, "from the other end it is 47K within 5 %"));
    const Notice last = refused("yellow violet orange white", ColourCode::bands);
    CHECK(last.place.column == 22);
    CHECK_FALSE(says(last.remedy, "other end"));  // nor is that a value
    // aged metal colours, on two figures
    CHECK(says(refused("red violet orange yellow", ColourCode::bands).remedy, "faded gold is 5 %"));
    CHECK(says(refused("red violet orange grey", ColourCode::bands).remedy, "tarnished silver is 10 %"));
}

TEST_CASE("Five bands that are a value under both readings are refused with both") {
    const Notice notice = refused("yellow violet orange gold brown", ColourCode::bands);
    CHECK(notice.place.column == 22);
    CHECK(says(notice.message, "47.3 within 1 % by three figures"));
    CHECK(says(notice.message, "47K within 5 % by two with a failure rate"));
    // only one reading is left: no tolerance is white, no failure rate is green
    CHECK(read("yellow violet orange gold white", ColourCode::bands).value == 47e3);
    CHECK(read("yellow violet orange gold white", ColourCode::bands).tolerance == 0.05);
    CHECK(read("yellow violet orange gold none", ColourCode::bands).value == 47e3);
    CHECK(read("yellow violet orange gold green", ColourCode::bands).value == 47.3);
    // both say 10 ohms: the wider tolerance
    CHECK(read("brown black black gold brown", ColourCode::bands).value == 10);
    CHECK(read("brown black black gold brown", ColourCode::bands).tolerance == 0.05);
}

TEST_CASE("Where nothing tells the direction, both readings are shown, unless one is possible alone") {
    const Notice dots = refused("? red green brown", ColourCode::mica_3);
    CHECK(dots.place.column == 1);
    CHECK(says(dots.message, "250 mmf within 20 % as written"));
    CHECK(says(dots.message, ".0015 mfd within 20 % the other way"));
    CHECK(says(dots.remedy, "arrow"));
    CHECK(read("? red green red", ColourCode::mica_3).value == 2500e-12);  // the same both ways
    CHECK(read("? black green red", ColourCode::mica_3).value == 25e-12);  // no value begins with black
    CHECK(read("? red green black", ColourCode::mica_3).value == 25e-12);
    CHECK(read("? black green red green silver", ColourCode::mica_3).volts == 500.0);  // the other row stays
    CHECK(read("? gold orange violet yellow", ColourCode::bands).value == 47e3);
    CHECK(read("? yellow violet orange gold", ColourCode::bands).value == 47e3);
    CHECK(says(refused("? brown red orange", ColourCode::bands).message, "12K within 20 % as written, 320"));
    CHECK(column("? red - -", ColourCode::body_end_dot) == 1);  // a body has no direction
    // six dots turned round: rows and ends change places
    CHECK(read("? white brown red red silver red", ColourCode::mica_6_eia).value == 1200e-12);
    CHECK(read("? red silver red white brown red", ColourCode::mica_6_eia).value == 1200e-12);
    CHECK(says(refused("? red green brown brown yellow green", ColourCode::mica_6_rma).message, "the other way"));
}

TEST_CASE("A first dot of another code is refused with the readings it has") {
    const Notice white = refused("white brown black brown silver green", ColourCode::mica_6_rma);
    CHECK(white.place.column == 1);
    CHECK(says(white.message, "100 mmf within 10 % by that, .0091 mfd within 10 % by three figures"));
    CHECK(says(white.remedy, "mica-6-eia"));
    CHECK(column("black green brown black yellow red", ColourCode::mica_6_rma) == 1);
    const Notice red = refused("red green black brown silver green", ColourCode::mica_6_eia);
    CHECK(red.place.column == 1);
    CHECK(says(red.remedy, "code=\"mica-6-rma\" reads .0025 mfd within 10 %"));
    CHECK(says(refused("red silver red white brown red", ColourCode::mica_6_eia).remedy,
               "turned round it reads .0012 mfd within 10 %"));
    const Notice paper = refused("silver brown black orange silver red", ColourCode::mica_6_eia);
    CHECK(says(paper.message, "moulded paper: .01 mfd within 10 %"));
    CHECK(says(paper.remedy, "construction=\"stamp-paper\""));
    CHECK(says(refused("- brown black orange silver red", ColourCode::mica_6_eia).message, "moulded paper"));
}

TEST_CASE("Random words are read or refused, within the words") {
    std::mt19937 random(3);
    std::vector<std::string> some = {"gold", "-", "mauve", "?", "silver", "none", "", "\xC3\xA4", "red-green"};
    some.insert(some.end(), names.begin(), names.end());
    int values = 0;
    for (int i = 0; i < 20000; ++i) {
        std::string text;
        for (int k = static_cast<int>(random() % 8); k > 0; --k) text += some[random() % some.size()] + " ";
        for (const ColourCode code : {ColourCode::bands, ColourCode::body_end_dot, ColourCode::mica_3,
                                      ColourCode::mica_6_rma, ColourCode::mica_6_eia}) {
            const Outcome<ColouredValue> made = read_colours(text, code);
            if (made) {
                ++values;
                if (!(made->value > 0 && made->value <= 1e9 && made->tolerance)) FAIL(text);
            } else {
                const Notice& notice = made.notices().front();
                const int at = notice.place.column;
                if (made.notices().size() != 1 || at < 1 || at > static_cast<int>(text.size()) + 1 ||
                    notice.number != messages::value_colour || notice.remedy.empty())
                    FAIL(text);
            }
        }
    }
    CHECK(values > 1000);
}
