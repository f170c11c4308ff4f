// SPDX-License-Identifier: MIT
// Source: charts of three drawings, as quoted without their names; the originals were not seen. Each contradicts
// itself: such a chart is flagged by arithmetic, and nothing is fitted to it.
#include <catch2/catch.hpp>

#include "chart.hpp"

using published::Chart;
using published::triode_of;

TEST_CASE("140 V of plate over 2.2 V of cathode obey Ohm and no 12AX7") {
    Chart chart;
    chart.same("stage", {{"plate", 280 - 140, 100e3}, {"cathode", 2.2, 1.5e3}});
    CHECK(chart.charges().empty());  // 1.40 and 1.47 mA
    chart.triode("tube", triode_of("12AX7"), 140 - 2.2, -2.2, 1.4e-3);
    CHECK(chart.charged("tube"));
    // Whoever quotes the chart gives about 280 V for that current at that bias.
    CHECK(Chart::plate_volts_for(triode_of("12AX7"), -2.2, 1.4e-3) == Approx(280).epsilon(0.10));
}

TEST_CASE("a 12AX7 stage of that supply and those resistors stands near 190 V of plate") {
    // "Tabulated data put the point near 190 V": where the load line meets the tube.
    const auto volts = published::on_rail(R"(
  <socket id="V1" tube="12AX7"/>  <join at="heaters V1.4 V1.5"/>  <join at="gnd V1.9 V1.7 V1.8 V1.6"/>
  <resistor id="R1" value="100k" watts="1/2" a="rail" b="V1.1"/>
  <resistor id="R2" value="1.5k" watts="1/2" a="V1.3" b="gnd"/>
  <resistor id="R3" value="1M" watts="1/2" a="V1.2" b="gnd"/>
)",
                                          280);
    CHECK(volts.at("V1.1").dc.value() == Approx(190).epsilon(0.12));
}

TEST_CASE("a phase inverter's tail cannot carry 3.8 mA and its two plates 2.9 mA") {
    Chart chart;
    chart.net("inverter", {{"first plate", 380 - 250, 82e3}, {"second plate", 380 - 250, 100e3}},
              {{"tail", 40, 470 + 10e3}});
    CHECK(chart.charged("inverter"));
}

TEST_CASE("two resistors in one path cannot carry 28 and 40 mA") {
    Chart chart;
    chart.same("output stage", {{"cathode", 14, 500}, {"behind it", 20, 500}});
    CHECK(chart.charged("output stage"));
}
