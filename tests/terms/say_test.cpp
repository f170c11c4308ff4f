// SPDX-License-Identifier: MIT
// Quantities for people: terms/say.cpp.
#include <catch2/catch.hpp>

#include <clocale>
#include <limits>

#include <tubewright/quantity.hpp>

using namespace tubewright;

TEST_CASE("Quantities are said in the trade's prefixes") {
    CHECK(say(volts(325.4)) == "325 V");
    CHECK(say(volts(16.52)) == "16.5 V");
    CHECK(say(volts(-18)) == "-18 V");
    CHECK(say(volts(0)) == "0 V");
    CHECK(say(volts(0.0021)) == "2.1 mV");
    CHECK(say(amps(0.0625)) == "62.5 mA");
    CHECK(say(amps(2)) == "2 A");
    CHECK(say(amps(5e-6)) == "5 uA");
    CHECK(say(ohms(4.7e5)) == "470 k");
    CHECK(say(ohms(410)) == "410 ohm");
    CHECK(say(ohms(1e6)) == "1 meg");
    CHECK(say(ohms(999.9)) == "1 k");
    CHECK(say(ohms(7.5)) == "7.5 ohm");
    CHECK(say(farads(2.2e-8)) == ".022 uF");
    CHECK(say(farads(8e-6)) == "8 uF");
    CHECK(say(farads(250e-12)) == "250 pF");
    CHECK(say(farads(1e-9)) == ".001 uF");
    CHECK(say(henries(15)) == "15 H");
    CHECK(say(henries(0.03)) == "30 mH");
    CHECK(say(watts(0.25)) == "0.25 W");
    CHECK(say(seconds(15)) == "15 s");
    CHECK(say(seconds(180)) == "3 min");
    CHECK(say(volts(1234)) == "1230 V");
}

TEST_CASE("What is not a number is never printed as one") {
    CHECK(say(volts(std::numeric_limits<double>::quiet_NaN())) == "not known");
    CHECK(say(ohms(std::numeric_limits<double>::infinity())) == "open");
}

TEST_CASE("A user's locale does not move the decimal point") {
    const char* set = std::setlocale(LC_ALL, "de_DE.UTF-8");
    REQUIRE(set != nullptr);  // made by tests/CMakeLists.txt
    CHECK(say(volts(16.5)) == "16.5 V");
    std::setlocale(LC_ALL, "C");
}
