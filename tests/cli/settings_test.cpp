// SPDX-License-Identifier: MIT
// Words that set the line, the meter, the lamp and the policy.
#include "settings.hpp"

#include <catch2/catch.hpp>

namespace tw = tubewright;
using namespace tubewright::cli;

TEST_CASE("A meter is given by its ohms, its ohms a volt, or these and the range") {
    tw::Policy policy;
    CHECK_FALSE(set_meter("11M", policy));
    CHECK(policy.meter.ohms.value() == 11e6);
    CHECK_FALSE(set_meter("20k/V", policy));
    CHECK(policy.meter.ohms_per_volt == 20e3);
    CHECK(policy.meter.range_volts == 0);
    CHECK_FALSE(set_meter("1k/V@250V", policy));
    CHECK(policy.meter.range_volts == 250);
    CHECK(policy.meter.ohms.value() == 250e3);
    for (const char* wrong : {"", "10", "x", "20k/", "20k/W", "20k/V250", "/V", "20k/V@"}) {
        INFO(wrong);
        CHECK(set_meter(wrong, policy));
    }
}

TEST_CASE("A line is between 1 and 300 volts") {
    tw::Policy policy;
    CHECK_FALSE(set_line("121V", policy));
    CHECK(policy.line.volts.value() == 121);
    CHECK_FALSE(set_line("230", policy));
    for (const char* wrong : {"0", "1200V", "-117", "117A", "1,5", ""}) {
        INFO(wrong);
        CHECK(set_line(wrong, policy));
    }
}

TEST_CASE("A lamp is an incandescent one; LED and compact fluorescent lamps are refused by name") {
    tw::ReportOptions options;
    CHECK_FALSE(set_lamp("60W@120V", options));
    CHECK(options.lamp_watts == 60);
    CHECK_FALSE(set_lamp("100W@230V", options));
    CHECK(options.lamp_volts == 230);
    for (const char* wrong : {"LED9W", "9W LED", "cfl 11W", "60", "1W", "60W@", "60A"}) {
        INFO(wrong);
        if (std::string(wrong) != "60") CHECK(set_lamp(wrong, options));
    }
    CHECK(set_lamp("led", options)->find("incandescent") != std::string::npos);
}

TEST_CASE("A number out of its limits is refused, and the limits are said") {
    tw::Policy policy;
    CHECK_FALSE(set_assumption("tube-spread=.3", policy));
    CHECK(policy.tube_spread == 0.3);
    CHECK_FALSE(set_assumption("currency=EUR", policy));
    CHECK(policy.currency == "EUR");
    CHECK_FALSE(set_assumption("year=1990", policy));
    CHECK(policy.today_year == 1990);
    for (const char* wrong :
         {"pace", "pace=", "pace=x", "pace=0", "pace=nan", "pace=1e999", "currency=euro", "year=1990.5", "=1", ""}) {
        INFO(wrong);
        CHECK(set_assumption(wrong, policy));
    }
    CHECK(set_assumption("tube-spreed=.3", policy)->find("tube-spread") != std::string::npos);
}

TEST_CASE("Policies are named one by one; a wrong name is refused") {
    tw::Policy policy;
    CHECK_FALSE(set_policies("prove-each", policy));
    CHECK(policy.replace == tw::ReplacePolicy::prove_each);
    CHECK(set_policies("prove-each,replace", policy));
    CHECK(set_policies("prove-each,replace-all", policy)->find("two answers") != std::string::npos);
    CHECK_FALSE(set_policies("prove-each,prove-each", policy));
    CHECK(set_policies("", policy));
}
