// SPDX-License-Identifier: MIT
// Cold ohms and discharge, in closed form on the supply with a divider.
#include <catch2/catch.hpp>

#include <cmath>

#include "sets.hpp"

using namespace sets;

namespace {
double parallel(double a, double b) {
    return a * b / (a + b);
}
}  // namespace

TEST_CASE("cold ohms are those of the resistors, the windings and the cold heaters") {
    const Chassis set = DividerSupply{}.make();
    Bench bench = bench_of(set);
    const auto cold = [&](const char* from, const char* to) { return bench.cold_ohms(set.net(from), set.net(to)); };
    REQUIRE(cold("half", "gnd"));
    CHECK(cold("half", "gnd")->value() == Approx(parallel(1e6, 1e6 + 10e3)).epsilon(2e-3));
    CHECK(cold("gnd", "half")->value() == Approx(cold("half", "gnd")->value()).epsilon(1e-9));
    CHECK(cold("bplus", "gnd")->value() == Approx(parallel(10e3, 2e6)).epsilon(1e-3));
    CHECK(cold("V1.1", "gnd")->value() == Approx(240).epsilon(1e-4));
    CHECK(cold("V1.1", "V1.6")->value() == Approx(500).epsilon(1e-4));
    CHECK(cold("hot", "neutral")->value() == Approx(9).epsilon(1e-4));
    CHECK(cold("V1.3", "gnd")->value() == Approx(parallel(0.1, 6.3 / 0.6 / 6)).epsilon(1e-3));
    CHECK(cold("gnd", "gnd")->value() == 0);
}

TEST_CASE("where nothing but a transformer or a capacitor joins two nets there is no reading") {
    const Chassis set = DividerSupply{}.make();
    Bench bench = bench_of(set);
    CHECK_FALSE(bench.cold_ohms(set.net("hot"), set.net("gnd")));
    const Outcome<Ohms> none = bench.cold_ohms(set.net("neutral"), set.net("bplus"));
    REQUIRE_FALSE(none);
    CHECK(none.notices().front().message.find("bplus") != std::string::npos);
    const Chassis radio = read(text_of(superhet));
    Bench of_radio = bench_of(radio);
    CHECK_FALSE(of_radio.cold_ohms(radio.net("TS1.1"), radio.net("gnd")));  // the line capacitor alone
    // B-plus of the superheterodyne: 33 k of screen divider, beside whatever returns through grid leaks
    CHECK(of_radio.cold_ohms(radio.net("bplus"), radio.net("gnd"))->value() == Approx(33e3).epsilon(0.01));
}

TEST_CASE("after switch-off the filter falls to 60 volts by its bleeder's time constant") {
    const Chassis set = DividerSupply{}.make();
    Bench bench = bench_of(set);
    const Solution s = *bench.solve({});
    const std::vector<Discharge> found = bench.discharge(s);
    REQUIRE(found.size() == 1);
    CHECK(found[0].part == set.part("C1"));
    CHECK(found[0].start.value() == Approx(dc(s, set, "bplus")).epsilon(1e-6));
    const double seconds = 16e-6 * parallel(10e3, 2e6) * std::log(dc(s, set, "bplus") / 60);
    CHECK(found[0].to_60_volts.value() == Approx(seconds).epsilon(0.02));
    CHECK(found[0].through == std::vector<int>{set.part("R1")});
    CHECK(found[0].without_first.value() == Approx(16e-6 * 2e6 * std::log(dc(s, set, "bplus") / 60)).epsilon(0.02));
}

TEST_CASE("without a bleeder the filter is said to keep its charge") {
    DividerSupply supply;
    supply.load_ohms = 1e13;
    const Chassis set = supply.make();

    Bench bench = bench_of(set);
    const Solution s = *bench.solve({});
    const std::vector<Discharge> found = bench.discharge(s);
    REQUIRE(found.size() == 1);
    // the divider's two megohms are left
    CHECK(found[0].to_60_volts.value() == Approx(16e-6 * 2e6 * std::log(dc(s, set, "bplus") / 60)).epsilon(0.02));
}

TEST_CASE("a cold heater has an eighth to a fourth of its hot ohms, and a cold string leads the line to the set",
          "[practice-63][practice-80]") {
    const Chassis set = read(R"(<chassis version="1" name="a string" reference="minus">
  <line volts="117" hertz="60" hot="P1.1" neutral="P1.2"/> <plug id="P1" role="line"/>
  <socket id="V1" tube="35Z5GT"/> <socket id="V2" tube="50L6GT"/> <socket id="V3" tube="12SQ7"/>
  <socket id="V4" tube="12SK7"/> <socket id="V5" tube="12SA7"/>
  <join at="P1.1 V1.2"/> <join at="V1.7 V2.7"/> <join at="V2.2 V4.2"/> <join at="V4.7 V5.2"/> <join at="V5.7 V3.8"/>
  <join at="V3.7 minus"/> <join at="V1.5 P1.1"/>
  <capacitor id="C1" value="40 uF" volts="150" plus="V1.8" minus="minus"/> <resistor id="R1" value="10k" a="V1.8" b="minus"/>
  <resistor id="R2" value="1" a="minus" b="P1.2"/>
  <join at="V1.8 V2.3 V2.4"/> <join at="V2.5 minus"/> <resistor id="R3" value="150" a="V2.8" b="minus"/>
</chassis>)");
    Bench bench = bench_of(set);
    const auto cold = [&](const char* from, const char* to) {
        const Outcome<Ohms> found = bench.cold_ohms(set.net(from), set.net(to));
        REQUIRE(found);
        return found->value();
    };
    const double hot_one = 12.6 / 0.15, hot_all = 122.8 / 0.15;
    CHECK(cold("V3.8", "minus") > hot_one / 8);
    CHECK(cold("V3.8", "minus") < hot_one / 4);
    // with the switch off this is what lies between the live blade and a metal that is the string's far end
    CHECK(cold("P1.1", "minus") > 50);
    CHECK(cold("P1.1", "minus") < 200);
    CHECK(cold("P1.1", "minus") < hot_all / 4);
}
