// SPDX-License-Identifier: MIT
// Figures as they stand on a bench sheet: as many as the band bears, three at most.
#include "report/bench_words.hpp"

#include <catch2/catch.hpp>

using namespace tubewright::report;
namespace tw = tubewright;

TEST_CASE("A reading has as many figures as its band bears") {
    CHECK(banded_volts(248.31, 229.4, 266.2) == "248 V (229 to 266)");
    CHECK(banded_volts(16.54, 15.31, 17.72) == "16.5 V (15.3 to 17.7)");
    CHECK(banded_volts(-17.21, -19.6, -13.6) == "-17.2 V (-19.6 to -13.6)");
    CHECK(banded_volts(1.2, 0, 140) == "1 V (0 to 140)");
    CHECK(banded_volts(250.04, 250.04, 250.04) == "250 V");
}

TEST_CASE("No figure reads minus zero") {
    CHECK(in_band(-0.0001, -0.01, 0.01) == "0");
    CHECK(banded_volts(-0.02, -9, 9) == "0 V (-9 to 9)");
}

TEST_CASE("Two figures are two figures, also where rounding makes a new one") {
    CHECK(two_figures(54.3) == "54");
    CHECK(two_figures(0.314) == "0.31");
    CHECK(two_figures(99.7) == "100");
    CHECK(two_figures(0.0996) == "0.1");
    CHECK(two_figures(0) == "0");
}

TEST_CASE("Times stand in one unit; absent means never") {
    CHECK(time_range(40.0, 90.0) == "40 to 90 s");
    CHECK(time_range(64.0, 702.0) == "1.1 to 12 min");
    CHECK(time_range(std::nullopt, std::nullopt) == "never");
    CHECK(time_range(4320.0, std::nullopt) == "72 min or never");
}

TEST_CASE("A meter says its ohms, or its ohms a volt and range") {
    tw::Meter meter;
    CHECK(meter_words(meter) == "10 meg");
    meter.ohms_per_volt = 1000;
    meter.range_volts = 250;
    CHECK(meter_words(meter) == "1 k a volt on its 250 V range");
}
