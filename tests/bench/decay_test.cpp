// SPDX-License-Identifier: MIT
// Closed forms: one capacitor through a resistor; a charge shared first and bled afterwards.
#include <catch2/catch.hpp>

#include <cmath>

#include "circuit/decay.hpp"

using namespace tubewright::circuit;

TEST_CASE("a capacitor through a bleeder falls to 60 volts after RC ln(V/60)") {
    for (const double ohms : {1e2, 1e4, 2.2e6}) {
        const Decay d = decay(2, {{1, 0, 1 / ohms, 0}}, {{1, 0, 16e-6, 350}}, 60, 1e6);
        CHECK(d.seconds[0] == Approx(ohms * 16e-6 * std::log(350.0 / 60)).epsilon(0.01));
        // what has left the capacitor was burnt in the resistor
        CHECK(d.joules[0] == Approx(0.5 * 16e-6 * (350.0 * 350 - 60 * 60)).epsilon(0.03));
    }
}

TEST_CASE(
    "a capacitor below the level takes no time, one that nothing empties never falls, whichever way it is charged") {
    const Decay d = decay(4, {{1, 0, 1e-4, 0}}, {{1, 0, 8e-6, 40}, {2, 0, 8e-6, 300}, {0, 3, 8e-6, 300}}, 60, 1e5);
    CHECK(d.seconds[0] == 0);
    CHECK(d.seconds[1] < 0);
    CHECK(d.seconds[2] < 0);
}

TEST_CASE("behind an open choke the first filter keeps what the second one loses") {
    // 16 uF at 300 V behind 10 meg, 8 uF at 250 V with 22 k: two time constants far apart.
    const Decay d = decay(3, {{1, 2, 1e-7, 0}, {2, 0, 1 / 22e3, 0}}, {{1, 0, 16e-6, 300}, {2, 0, 8e-6, 250}}, 60, 1e6);
    CHECK(d.seconds[1] == Approx(22e3 * 8e-6 * std::log(250.0 / 60)).epsilon(0.02));
    CHECK(d.seconds[0] == Approx(10.022e6 * 16e-6 * std::log(300.0 / 60)).epsilon(0.02));
}

TEST_CASE("40 uF through 10 k are empty after five time constants, 2 s", "[practice-69]") {
    const Decay d = decay(2, {{1, 0, 1e-4, 0}}, {{1, 0, 40e-6, 400}}, 400 * std::exp(-5), 1e3);
    CHECK(d.seconds[0] == Approx(2.0).epsilon(1e-3));
}
