// SPDX-License-Identifier: MIT
// Limits of the line are recalled (120 V + 5 %, 230 V + 10 %).
#include <catch2/catch.hpp>

#include "policy/policy.hpp"

using namespace tubewright;

TEST_CASE("a line is off by volts or by cycles, and what the policy does not say is the set's own") {
    const auto off = [](double volts, double hertz) {
        Policy policy;
        policy.line = {Volts(volts), Hertz(hertz)};
        return off_line(policy, 115, 60);
    };
    CHECK_FALSE(off(0, 0).volts);
    CHECK_FALSE(off(0, 0).cycles);
    CHECK_FALSE(off(132, 60).volts);
    CHECK(off(133, 60).volts);
    CHECK(off(91, 60).volts);
    CHECK(off(0, 50).cycles);
    CHECK(off(0, 25).cycles);
    CHECK(off(0, 400).cycles);
    CHECK_FALSE(off(0, 60).cycles);
}

TEST_CASE("the upper line limit follows the nominal line, and never falls below it") {
    Policy policy;
    CHECK(upper_line_volts(policy, 110) == 126);
    CHECK(upper_line_volts(policy, 117) == 126);
    CHECK(upper_line_volts(policy, 129) == 129);
    CHECK(upper_line_volts(policy, 220) == 253);
    CHECK(upper_line_volts(policy, 240) == 253);
    CHECK(upper_line_volts(policy, 32) == Approx(33.6));
    policy.upper_line_volts = 122;
    CHECK(upper_line_volts(policy, 117) == 122);
}

TEST_CASE("fuses are those of the family sold where the line is, unless another is asked for") {
    Policy policy;
    CHECK(fuse_family(policy, 117) == "UL 248-14");
    CHECK(fuse_family(policy, 230) == "IEC 60127-2 sheet 3");
    policy.fuse_family = "IEC 60127-2 sheet 5";
    CHECK(fuse_family(policy, 117) == "IEC 60127-2 sheet 5");
}

TEST_CASE(
    "a meter in ohms a volt loads by its range, the next above the reading; an electronic one by its input alone") {
    Meter meter;
    CHECK(meter_range_volts(meter, 90) == 0);
    CHECK(meter_ohms(meter, 90) == 10e6);
    meter.ohms_per_volt = 1000;
    CHECK(meter_range_volts(meter, 1.5) == 2.5);
    CHECK(meter_range_volts(meter, -9) == 10);
    CHECK(meter_range_volts(meter, 50) == 50);
    CHECK(meter_range_volts(meter, 50.1) == 250);
    CHECK(meter_range_volts(meter, 1400) == 1000);
    CHECK(meter_ohms(meter, 150) == 250e3);
    meter.range_volts = 500;
    CHECK(meter_ohms(meter, 150) == 500e3);
}
