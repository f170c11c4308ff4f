// SPDX-License-Identifier: MIT
// Colours. The bands' table is that of IEC 60062 (as public descriptions give it). Two values of the mica codes are
// worked examples of publications: "Red, Green, Black = 25 mmfd" of the three-dot code in a period parts catalogue
// reprinted at vcomp.co.uk (molded mica capacitor colour code), and the six-dot example white, brown, red, multiplier
// red = 1200 pF of the US Army Ordnance subcourse OD1647 (electronic principles), read there in its own order. All
// other values of body-end-dot and mica codes are recalled.
#include "terms/colour_code.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <random>

#include "terms/numbers.hpp"

using namespace tubewright;

namespace {

ColouredValue read(const std::string& text, ColourCode code) {
    const Outcome<ColouredValue> made = read_colours(text, code);
    if (!made) FAIL(text << ": " << made.notices().front().message);
    return *made;
}

const char* const names[] = {"black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white"};

}  // namespace

TEST_CASE("Bands after IEC 60062") {
    CHECK(read("yellow violet orange", ColourCode::bands).value == 47e3);
    CHECK(read("yellow violet orange", ColourCode::bands).tolerance == 0.20);
    CHECK(read("brown black green silver", ColourCode::bands).value == 1e6);
    CHECK(read("brown black green silver", ColourCode::bands).tolerance == 0.10);
    CHECK(read("red violet gold gold", ColourCode::bands).value == 2.7);
    CHECK(read("Green Brown Silver", ColourCode::bands).value == 0.51);
    CHECK(read("red red black brown brown", ColourCode::bands).value == 2200);
    CHECK(read("red red black brown brown", ColourCode::bands).tolerance == 0.01);
    CHECK(read("brown gray black gold", ColourCode::bands).value == 18);
}

TEST_CASE("Body, end and dot (recalled)") {
    CHECK(read("red green yellow", ColourCode::body_end_dot).value == 250e3);
    CHECK(read("green black yellow gold", ColourCode::body_end_dot).value == 500e3);
    CHECK(read("green black yellow gold", ColourCode::body_end_dot).tolerance == 0.05);
    CHECK(read("orange - -", ColourCode::body_end_dot).value == 33e3);  // all of one colour
    CHECK(read("brown black -", ColourCode::body_end_dot).value == 100);
}

TEST_CASE("Mica dots: two worked examples of publications, the rest recalled") {
    CHECK(read("red green black", ColourCode::mica_3).value == 25e-12);
    CHECK(read("red green brown", ColourCode::mica_3).value == 250e-12);
    CHECK(read("red green brown", ColourCode::mica_3).volts == 500.0);
    CHECK(read("white brown red red silver black", ColourCode::mica_6_eia).value == Approx(1200e-12).epsilon(1e-14));
    CHECK(read("red green black brown silver green", ColourCode::mica_6_rma).value == Approx(2500e-12).epsilon(1e-14));
    CHECK(read("red green black brown silver green", ColourCode::mica_6_rma).tolerance == 0.10);
    CHECK(read("red green black brown silver green", ColourCode::mica_6_rma).volts == 500.0);
    CHECK(read("brown black black brown black gold", ColourCode::mica_6_rma).volts == 1000.0);
}

TEST_CASE("What cannot be decided or is no colour is refused at its word") {
    const auto column = [](const char* text, ColourCode code) {
        const Outcome<ColouredValue> made = read_colours(text, code);
        if (made) return 0;
        CHECK(made.notices().front().number == messages::value_colour);
        CHECK_FALSE(made.notices().front().message.empty());
        return made.notices().front().place.column;
    };
    CHECK(column("yellow voilet orange", ColourCode::bands) == 8);
    CHECK(column("gold violet orange", ColourCode::bands) == 1);
    CHECK(column("yellow violet", ColourCode::bands) == 1);
    CHECK(column("", ColourCode::bands) == 1);
    CHECK(column("yellow violet orange white", ColourCode::bands) == 22);
    CHECK(column("yellow violet orange gold brown", ColourCode::bands) == 22);  // a failure rate?
    CHECK(column("black black black", ColourCode::bands) == 1);
    CHECK(column("red green yellow brown", ColourCode::body_end_dot) == 18);
    CHECK(column("white green black brown silver green", ColourCode::mica_6_rma) == 1);
    CHECK(column("red green black brown silver green", ColourCode::mica_6_eia) == 1);
    CHECK(read_colours("yelow violet orange", ColourCode::bands).notices()[0].remedy == "did you mean \"yellow\"?");
}

TEST_CASE("Every value of the series is read back from its bands") {
    // IEC 60063, E24
    for (const int value :
         {10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91})
        for (int zeros = 0; zeros <= 6; ++zeros) {
            const std::string bands = std::string(names[value / 10]) + " " + names[value % 10] + " " + names[zeros];
            CHECK(read(bands, ColourCode::bands).value == value * std::pow(10.0, zeros));
            CHECK(read(bands, ColourCode::body_end_dot).value == value * std::pow(10.0, zeros));
        }
}

TEST_CASE("Random words are read or refused") {
    std::mt19937 random(3);
    const std::vector<std::string> some = {"red", "gold", "-", "mauve", "white", "", "black", "silver", "\xC3\xA4"};
    for (int i = 0; i < 5000; ++i) {
        std::string text;
        for (int k = static_cast<int>(random() % 8); k > 0; --k) text += some[random() % some.size()] + " ";
        for (const ColourCode code : {ColourCode::bands, ColourCode::body_end_dot, ColourCode::mica_3,
                                      ColourCode::mica_6_rma, ColourCode::mica_6_eia}) {
            const Outcome<ColouredValue> made = read_colours(text, code);
            if (made) {
                CHECK(made->value > 0);
            } else {
                CHECK(made.notices().size() == 1);
            }
        }
    }
}
