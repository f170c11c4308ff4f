// SPDX-License-Identifier: MIT
// Resistor, capacitor and diode in the place of a resistance cord, against the figures of the trade's collection: 62.6
// V of heaters at .3 A are 181 ohm and 16.3 W on 117 V (a trade page there), 7.8 uF and 74 ohm 6.7 W on 120 V (computed
// there).
#include <catch2/catch.hpp>

#include "choice/remedy.hpp"

using namespace tubewright;

TEST_CASE("a resistance cord is worked out as resistor, capacitor and diode to the trade's figures") {
    const choice::StringDroppers at117 = choice::string_droppers(117, 60, 62.6, 0.3);
    CHECK(at117.ohms == Approx(181).epsilon(0.005));
    CHECK(at117.watts == Approx(16.3).epsilon(0.005));
    const choice::StringDroppers at120 = choice::string_droppers(120, 60, 62.6, 0.3);
    CHECK(at120.farads == Approx(7.8e-6).epsilon(0.01));
    CHECK(at120.diode_ohms == Approx(74).epsilon(0.01));
    CHECK(at120.diode_watts == Approx(6.7).epsilon(0.01));
    // Shorted, the diode leaves only its small resistor between the line and the string.
    CHECK(at120.amps_diode_shorted == Approx(120 / (62.6 / 0.3 + at120.diode_ohms)));
    CHECK(at120.amps_diode_shorted > 1.4 * 0.3);
}

TEST_CASE("half a wave does not feed a string that wants more than its volts, and direct current passes no capacitor") {
    CHECK(choice::string_droppers(117, 60, 90, 0.15).diode_ohms == 0);
    CHECK(choice::string_droppers(117, 0, 62.6, 0.3).farads == 0);
}
