// SPDX-License-Identifier: MIT
// Source: makers' sheets as quoted in public collections of sheets; the originals were not seen. 12AX7-A sheet 10-60
// (250 V, -2 V, 1.2 mA), 12AU7-A sheet 7-61 (250 V, -8.5 V, 10.5 mA), EL84 sheet 1969 (250 V plate to cathode behind
// 135 ohm: 53.5 mA, 7.2 V), 6V6GT (250 ohm: 49.5 mA, 12.4 V), 12AT7 sheet 1954 (100 V with 270 ohm: 3.7 mA; 250 V with
// 200 ohm: 10 mA). What stands here follows from such a point by arithmetic alone. Constants of these types come from
// rows that hold the same points: what is checked is the solution of a circuit around them, not the laws. Two stages of
// resistance-coupled tables (12AX7 sheet ET-T509B; EF86 sheet of January 1970), which tube_sheets_test.cpp has row by
// row from the laws alone, stand here in a whole set.
#include <catch2/catch.hpp>

#include "rail.hpp"

using published::gain_from;
using published::on_rail;
using published::study_on_rail;

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

TEST_CASE("that 12AX7 amplifies 61.5 times with its cathode bypassed, 30.9 times without") {
    const std::string stage = R"(
  <socket id="V1" tube="12AX7"/>  <join at="heaters V1.4 V1.5"/>  <join at="gnd V1.9 V1.7 V1.8 V1.6"/>
  <resistor id="R1" value="100k" watts="1/2" a="rail" b="V1.1"/>
  <resistor id="R2" value="1.6k" watts="1/2" a="V1.3" b="gnd"/>
  <resistor id="R3" value="470k" watts="1/2" a="V1.2" b="gnd"/>
)";
    const std::string bypass =
        R"(<capacitor id="C2" value="25 mfd" volts="25" construction="dry-electrolytic" plus="V1.3" minus="gnd"/>)";
    CHECK(gain_from(study_on_rail(stage + bypass, 370), "V1.2") == Approx(-61.5).epsilon(0.06));
    CHECK(gain_from(study_on_rail(stage, 370), "V1.2") == Approx(-30.9).epsilon(0.06));
}

TEST_CASE("a 12AU7 cathode follower on 258.5 volts over 810 ohm stands at 8.5 volts, its gain .618") {
    const published::tw::Study study = study_on_rail(R"(
  <socket id="V1" tube="12AU7"/>  <join at="heaters V1.4 V1.5"/>  <join at="gnd V1.9 V1.7 V1.8 V1.6"/>
  <join at="rail V1.1"/>
  <resistor id="R2" value="810" watts="1/2" a="V1.3" b="gnd"/>
  <resistor id="R3" value="470k" watts="1/2" a="V1.2" b="gnd"/>
)",
                                                     258.5);
    CHECK(study.volts(published::tw::Scenario::normal)->at("V1.3").dc.value() == Approx(8.5).epsilon(0.05));
    CHECK(gain_from(study, "V1.2") == Approx(0.618).epsilon(0.06));  // 17 x 810 / (7,700 + 18 x 810)
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

TEST_CASE("a 12AT7 with 250 volts over 200 ohm carries 10 milliamperes") {
    const auto volts = on_rail(R"(
  <socket id="V1" tube="12AT7"/>  <join at="heaters V1.4 V1.5"/>  <join at="gnd V1.9 V1.7 V1.8 V1.6"/>
  <join at="rail V1.1"/>
  <resistor id="R2" value="200" watts="1/2" a="V1.3" b="gnd"/>
  <resistor id="R3" value="470k" watts="1/2" a="V1.2" b="gnd"/>
)",
                               252);
    CHECK(volts.at("V1.3").dc.value() / 200 == Approx(10e-3).epsilon(0.10));
}

TEST_CASE("resistance-coupled stages in a set amplify what the sheets' tables print") {
    const std::string triode = R"(
  <socket id="V1" tube="12AX7"/>  <join at="heaters V1.4 V1.5"/>  <join at="gnd V1.9 V1.7 V1.8 V1.6"/>
  <resistor id="R1" value="240k" watts="1/2" a="rail" b="V1.1"/>
  <resistor id="R2" value="1.8k" watts="1/2" a="V1.3" b="gnd"/>
  <capacitor id="C2" value="50 mfd" volts="25" construction="dry-electrolytic" plus="V1.3" minus="gnd"/>
  <resistor id="R3" value="100k" watts="1/2" a="V1.2" b="gnd"/>
  <capacitor id="C1" value=".1 mfd" volts="600" construction="film" a="V1.1" b="next"/>
  <resistor id="R4" value="510k" watts="1/2" a="next" b="gnd"/>
)";
    CHECK(gain_from(study_on_rail(triode, 300), "V1.2") == Approx(-64).epsilon(0.12));
    const std::string pentode = R"(
  <socket id="V1" tube="EF86"/>  <join at="heaters V1.4"/>  <join at="gnd V1.5 V1.2 V1.7"/>  <join at="V1.3 V1.8"/>
  <resistor id="R1" value="100k" watts="1/2" a="rail" b="V1.6"/>
  <resistor id="R2" value="390k" watts="1/2" a="rail" b="V1.1"/>
  <capacitor id="C3" value=".5 mfd" volts="400" construction="film" a="V1.1" b="gnd"/>
  <resistor id="R3" value="1k" watts="1/2" a="V1.3" b="gnd"/>
  <capacitor id="C2" value="100 mfd" volts="25" construction="dry-electrolytic" plus="V1.3" minus="gnd"/>
  <resistor id="R4" value="1M" watts="1/2" a="V1.9" b="gnd"/>
  <capacitor id="C1" value=".1 mfd" volts="600" construction="film" a="V1.6" b="next"/>
  <resistor id="R5" value="330k" watts="1/2" a="next" b="gnd"/>
)";
    CHECK(gain_from(study_on_rail(pentode, 250), "V1.9") == Approx(-123).epsilon(0.12));
}
