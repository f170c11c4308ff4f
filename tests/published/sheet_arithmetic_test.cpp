// SPDX-License-Identifier: MIT
// Source: makers' sheets as quoted in public collections of sheets; the originals were not seen. 12AX7-A sheet 10-60
// (250 V, -2 V, 1.2 mA), 12AU7-A sheet 7-61 (250 V, -8.5 V, 10.5 mA), EL84 sheet 1969 (250 V plate to cathode behind
// 135 ohm: 53.5 mA, 7.2 V), 6V6GT (250 ohm: 49.5 mA, 12.4 V), 12AT7 sheet 1954 (100 V with 270 ohm: 3.7 mA). What
// stands here follows from such a point by arithmetic alone. Constants of these types come from rows that hold the same
// points: what is checked is the solution of a circuit around them, not the laws.
#include <catch2/catch.hpp>

#include "rail.hpp"

using published::on_rail;

TEST_CASE("a 12AX7 on 370 volts with 100 k and 1.6 k stands at its sheet's 250 volt point") {
    const auto volts = on_rail(R"(
  <socket id="V1" tube="12AX7"/>  <join at="heaters V1.4 V1.5"/>  <join at="gnd V1.9 V1.7 V1.8 V1.6"/>
  <resistor id="R1" value="100k" watts="1/2" a="rail" b="V1.1"/>
  <resistor id="R2" value="1.6k" watts="1/2" a="V1.3" b="gnd"/>
  <resistor id="R3" value="470k" watts="1/2" a="V1.2" b="gnd"/>
)",
                               370);
    // Plate to cathode 250 V: the plate stands at 252 over 2 V of cathode; the sheet's arithmetic says 250.
    CHECK(volts.at("V1.1").dc.value() == Approx(250).epsilon(0.05));
    CHECK(volts.at("V1.3").dc.value() == Approx(1.92).epsilon(0.10));
}

TEST_CASE("a 12AU7 cathode follower on 258.5 volts over 810 ohm stands at 8.5 volts") {
    const auto volts = on_rail(R"(
  <socket id="V1" tube="12AU7"/>  <join at="heaters V1.4 V1.5"/>  <join at="gnd V1.9 V1.7 V1.8 V1.6"/>
  <join at="rail V1.1"/>
  <resistor id="R2" value="810" watts="1/2" a="V1.3" b="gnd"/>
  <resistor id="R3" value="470k" watts="1/2" a="V1.2" b="gnd"/>
)",
                               258.5);
    CHECK(volts.at("V1.3").dc.value() == Approx(8.5).epsilon(0.05));
}

TEST_CASE("an EL84 with 250 volts from plate to cathode over 135 ohm carries 53.5 milliamperes in all") {
    const auto volts = on_rail(R"(
  <socket id="V1" tube="EL84"/>  <join at="heaters V1.4"/>  <join at="gnd V1.5"/>
  <join at="rail V1.7 V1.9"/>
  <resistor id="R2" value="135" watts="1" a="V1.3" b="gnd"/>
  <resistor id="R3" value="470k" watts="1/2" a="V1.2" b="gnd"/>
)",
                               257.2);
    CHECK(volts.at("V1.3").dc.value() == Approx(7.2).epsilon(0.05));
    CHECK(volts.at("V1.3").dc.value() / 135 == Approx(53.5e-3).epsilon(0.05));
}

TEST_CASE("a 6V6GT with 250 volts from plate to cathode over 250 ohm carries 49.5 milliamperes in all") {
    const auto volts = on_rail(R"(
  <socket id="V1" tube="6V6GT"/>  <join at="heaters V1.7"/>  <join at="gnd V1.2"/>
  <join at="rail V1.3 V1.4"/>
  <resistor id="R2" value="250" watts="1" a="V1.8" b="gnd"/>
  <resistor id="R3" value="470k" watts="1/2" a="V1.5" b="gnd"/>
)",
                               262.4);
    CHECK(volts.at("V1.8").dc.value() == Approx(12.4).epsilon(0.05));
    CHECK(volts.at("V1.8").dc.value() / 250 == Approx(49.5e-3).epsilon(0.05));
}

TEST_CASE("a 12AT7 with 100 volts over 270 ohm carries 3.7 milliamperes") {
    const auto volts = on_rail(R"(
  <socket id="V1" tube="12AT7"/>  <join at="heaters V1.4 V1.5"/>  <join at="gnd V1.9 V1.7 V1.8 V1.6"/>
  <join at="rail V1.1"/>
  <resistor id="R2" value="270" watts="1/2" a="V1.3" b="gnd"/>
  <resistor id="R3" value="470k" watts="1/2" a="V1.2" b="gnd"/>
)",
                               101);
    CHECK(volts.at("V1.3").dc.value() / 270 == Approx(3.7e-3).epsilon(0.10));
}
