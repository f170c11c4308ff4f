// SPDX-License-Identifier: MIT
// Colours with the value that a publication gives them; each row names it. All were read as reprinted or quoted on the
// page named (DEVELOPERS.md, "Colours as data", says where); dots are put into our order of reading.
#include <catch2/catch.hpp>

#include <optional>
#include <string>
#include <vector>

#include "terms/colour_code.hpp"

using namespace tubewright;

namespace {

struct Row {
    ColourCode code;
    const char* colours;
    double value;
    std::optional<double> tolerance;  ///< where the publication gives it
    const char* source;
};

const Row rows[] = {
    // resistors
    {ColourCode::bands, "orange blue green black green", 365, 0.005, "[Grob11] example 2-1"},
    {ColourCode::bands, "green grey red silver", 5800, 0.10, "[CodeChart] stripes"},
    {ColourCode::bands, "brown black red gold", 1000, 0.05, "[IEC60062] chart"},
    {ColourCode::bands, "yellow violet red gold", 4700, 0.05, "[IEC60062] chart"},
    {ColourCode::bands, "red red orange gold", 22e3, 0.05, "[IEC60062] chart"},
    // the chart has 1 %; an old part of 10 ohms and 5 % bears the same colours, so ours is the wider
    {ColourCode::bands, "brown black black gold brown", 10, std::nullopt, "[IEC60062] chart"},
    {ColourCode::body_end_dot, "red black green", 2e6, std::nullopt, "[AntiqueCode]"},
    {ColourCode::body_end_dot, "green grey red none", 5800, 0.20, "[CodeChart] body and end"},
    // mica
    {ColourCode::mica_3, "red green black", 25e-12, 0.20, "[MicaCode] three dots"},
    {ColourCode::mica_6_eia, "black blue red red gold -", 6200e-12, 0.05, "[Grob11] example 16-9"},
    // the text has 2 % for blue, against every table: not compared
    {ColourCode::mica_6_eia, "white brown red red blue -", 1200e-12, std::nullopt, "[OD1647] figure 47"},
    {ColourCode::mica_6_eia, "black green brown black yellow red", 51e-12, 0.04, "[AN16-40] pages 7-4, 7-5"},
};

}  // namespace

TEST_CASE("colours have the values that publications give them") {
    for (const Row& row : rows) {
        INFO(row.source << ": " << row.colours);
        const Outcome<ColouredValue> made = read_colours(row.colours, row.code);
        REQUIRE(made);
        CHECK(made->value == row.value);
        if (row.tolerance) CHECK(made->tolerance == *row.tolerance);
    }
}

TEST_CASE("mica volts and tolerances are those of the table of the five-dot code [MicaCode]") {
    const std::vector<std::string> names = {"brown", "red",    "orange", "yellow", "green",
                                            "blue",  "violet", "grey",   "white"};
    for (std::size_t i = 0; i < names.size(); ++i) {
        const auto made = read_colours("red green black " + names[i] + " " + names[i], ColourCode::mica_3);
        REQUIRE(made);
        CHECK(made->volts == 100.0 * static_cast<double>(i + 1));
        CHECK(made->tolerance == Approx(0.01 * static_cast<double>(i + 1)));
    }
    const auto volts = [](const char* text) { return read_colours(text, ColourCode::mica_3).value().volts; };
    const auto tolerance = [](const char* text) { return read_colours(text, ColourCode::mica_3).value().tolerance; };
    CHECK(volts("red green black gold none") == 1000.0);
    CHECK(volts("red green black silver none") == 2000.0);
    CHECK(volts("red green black none none") == 500.0);
    CHECK(tolerance("red green black none gold") == 0.05);
    CHECK(tolerance("red green black none silver") == 0.10);
    CHECK(tolerance("red green black none none") == 0.20);
}

TEST_CASE("a fifth band may be a failure rate, brown to yellow [OD1633]") {
    for (const char* fifth : {"brown", "red", "orange", "yellow"}) {
        const auto made = read_colours(std::string("yellow violet orange silver ") + fifth, ColourCode::bands);
        REQUIRE_FALSE(made);
        CHECK(made.notices().front().message.find("47K within 10 % by two with a failure rate") != std::string::npos);
    }
    CHECK(read_colours("red violet gold silver", ColourCode::bands).value().value == 2.7);
    CHECK(read_colours("red violet silver gold", ColourCode::bands).value().value == 0.27);
}

TEST_CASE("a dot that is not there has the colour of the body [MicaCode, its page on resistors]") {
    CHECK(read_colours("red green -", ColourCode::body_end_dot).value().value == 2500);
}
