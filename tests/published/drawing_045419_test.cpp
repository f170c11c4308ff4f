// SPDX-License-Identifier: MIT
// Source: drawing 045419 (1964), a push-pull amplifier with 12AX7, 6V6GT and GZ34, as quoted in a public collection of
// drawings; the original was not seen. Printed with an electronic voltmeter, no signal, to ground, "+/- 20 %": B1 420,
// A 415, I 370, Bb 290, plates 190, cathodes 1.5, plate of the split-load stage 220, its cathode 65, the junction under
// it 63.8, bias -34 V. Not quoted, so assumed: 150 ohm each half of the output primary, 8 k plate to plate, and
// couplers (no direct volts hang on them). B1 is driven with its 420 V, the bias with its -34 V.
#include <catch2/catch.hpp>
#include <initializer_list>

#include "chart.hpp"

namespace {

const char* const amplifier = R"(
  <join at="rail b1"/>
  <resistor id="R1" value="1k" watts="1" a="b1" b="A"/>
  <resistor id="R2" value="18k" watts="1" a="A" b="I"/>
  <resistor id="R3" value="18k" watts="1" a="I" b="Bb"/>
  <capacitor id="C1" value="20 mfd" volts="475" construction="dry-electrolytic" plus="A" minus="gnd"/>
  <capacitor id="C2" value="20 mfd" volts="475" construction="dry-electrolytic" plus="I" minus="gnd"/>
  <capacitor id="C3" value="20 mfd" volts="475" construction="dry-electrolytic" plus="Bb" minus="gnd"/>
  <socket id="V1" tube="12AX7"/>
  <join at="heaters V1.4 V1.5 V2.4 V2.5 V3.4 V3.5 V4.7 V5.7"/>
  <join at="gnd V1.9 V2.9 V3.9 V4.2 V5.2 V4.8 V5.8"/>
  <join at="gnd V2.6 V2.7 V2.8 V3.6 V3.7 V3.8"/>
  <resistor id="R4" value="1M" watts="1/2" a="V1.2" b="gnd"/>
  <resistor id="R5" value="1.5k" watts="1/2" a="V1.3" b="gnd"/>
  <capacitor id="C4" value="25 mfd" volts="25" construction="dry-electrolytic" plus="V1.3" minus="gnd"/>
  <resistor id="R6" value="100k" watts="1/2" a="Bb" b="V1.1"/>
  <capacitor id="C5" value=".02 mfd" volts="600" construction="film" a="V1.1" b="V1.7"/>
  <resistor id="R7" value="1M" watts="1/2" a="V1.7" b="gnd"/>
  <resistor id="R8" value="1.5k" watts="1/2" a="V1.8" b="foot"/>
  <resistor id="R9" value="47" watts="1/2" a="foot" b="gnd"/>
  <resistor id="R10" value="2.7k" watts="1/2" a="foot" b="voice"/>
  <resistor id="R11" value="100k" watts="1/2" a="Bb" b="V1.6"/>
  <capacitor id="C6" value=".02 mfd" volts="600" construction="film" a="V1.6" b="V2.2"/>
  <socket id="V2" tube="12AX7"/>
  <socket id="V3" tube="12AX7"/>
  <join at="Bb V3.1"/>
  <resistor id="R12" value="1M" watts="1/2" a="V2.2" b="junction"/>
  <resistor id="R13" value="1k" watts="1/2" a="V2.3" b="junction"/>
  <resistor id="R14" value="56k" watts="1/2" a="junction" b="gnd"/>
  <resistor id="R15" value="56k" watts="1/2" a="Bb" b="V2.1"/>
  <capacitor id="C7" value=".1 mfd" volts="600" construction="film" a="V2.1" b="V4.5"/>
  <capacitor id="C8" value=".1 mfd" volts="600" construction="film" a="V2.3" b="V5.5"/>
  <resistor id="R16" value="220k" watts="1/2" a="V4.5" b="bias"/>
  <resistor id="R17" value="220k" watts="1/2" a="V5.5" b="bias"/>
  <battery id="BT1" role="c" volts="34" plus="gnd" minus="bias"/>
  <socket id="V4" tube="6V6GT"/>
  <socket id="V5" tube="6V6GT"/>
  <join at="A V4.4 V5.4"/>
  <transformer id="T2" role="output">
    <winding role="output-primary" leads="V4.3 b1 V5.3" ohms="150 150" impedance="8k"/>
    <winding role="output-secondary" leads="voice gnd" ohms=".5"/>
  </transformer>
  <speaker id="LS1" ohms="8" a="voice" b="gnd"/>
)";

}  // namespace

TEST_CASE("the push-pull amplifier of drawing 045419 stands at its printed volts") {
    const published::tw::VoltsView volts = published::on_rail(amplifier, 420);
    for (const published::Printed& chart : std::initializer_list<published::Printed>{{"A", 415, 1},
                                                                                     {"Bb", 290, 1},
                                                                                     {"V1.1", 190, 1},
                                                                                     {"V1.6", 190, 1},
                                                                                     {"V1.3", 1.5, 0.1},
                                                                                     {"V1.8", 1.5, 0.1},
                                                                                     {"V2.1", 220, 1},
                                                                                     {"V2.3", 65, 1},
                                                                                     {"junction", 63.8, 0.1},
                                                                                     {"bias", -34, 1}}) {
        INFO(chart.net);
        CHECK(volts.at(chart.net).dc.value() == Approx(chart.volts).margin(chart.margin()));
    }
    // Two equal resistors and nothing between them that draws: the net stands half-way, 352 V by the chart's own
    // neighbours.
    CHECK(volts.at("I").dc.value() ==
          Approx(0.5 * (volts.at("A").dc.value() + volts.at("Bb").dc.value())).margin(0.05));
    CHECK(volts.at("I").dc.value() == Approx(0.5 * (415 + 290)).epsilon(0.12));
}

TEST_CASE("the chart of drawing 045419 contradicts itself at I, and nowhere else") {
    const auto chart_with = [](double at_i) {
        published::Chart chart;
        chart.same("I", {{"from A", 415 - at_i, 18e3}, {"to Bb", at_i - 290, 18e3}});
        chart.net("Bb", {{"from A, both resistors", 415 - 290, 36e3}},
                  {{"first", 290 - 190, 100e3}, {"second", 290 - 190, 100e3}, {"split load", 290 - 220, 56e3}});
        chart.same("first stage", {{"plate", 290 - 190, 100e3}, {"cathode", 1.5, 1.5e3}});
        chart.same("second stage", {{"plate", 290 - 190, 100e3}, {"cathode", 1.5, 1.5e3 + 1 / (1 / 47. + 1 / 2.7e3)}});
        chart.same("split load", {{"cathode", 65 - 63.8, 1e3}, {"plate", 290 - 220, 56e3}, {"junction", 63.8, 56e3}});
        chart.triode("triode", published::triode_of("12AX7"), 190 - 1.5, -1.5, 1e-3);
        return chart;
    };
    const published::Chart chart = chart_with(370);
    for (const std::string& charge : chart.charges()) UNSCOPED_INFO(charge);
    CHECK(chart.charges().size() == 1);  // 2.5 mA come, 4.4 mA go, and no part hangs there
    CHECK(chart.charged("I"));
    CHECK(chart_with(352).charges().empty());
}
