// SPDX-License-Identifier: MIT
// What changes with its own current: a field that warms itself, a choke that swings, a ballast that holds its amperes,
// a rectifier whose cathode gives no more, and an output stage that is driven. Each against a closed form or against
// the same set with the value written out. Copper's 234.5 K rule is a handbook's; 8 K a watt, the exponent of a
// regulator and the watt of a reed's coil are assumed.
#include <catch2/catch.hpp>

#include <cmath>

#include "sets.hpp"

using namespace sets;

namespace {

Chassis on_direct_current(const std::string& body) {
    return read(
        "<chassis version=\"1\" name=\"iron\" reference=\"gnd\" m-means=\"million\"><node is=\"chassis-metal\" "
        "net=\"gnd\"/><battery id=\"BT1\" role=\"b\" volts=\"250\" ohms=\".001\" plus=\"bp\" minus=\"gnd\"/>" +
        body + "</chassis>");
}

/// Full wave on 300-0-300 without a capacitor before the choke.
std::string choke_input(const std::string& choke) {
    return "<chassis version=\"1\" name=\"iron\" reference=\"gnd\"><node is=\"chassis-metal\" net=\"gnd\"/>"
           "<line volts=\"117\" hertz=\"60\" hot=\"P1.1\" neutral=\"P1.2\"/><plug id=\"P1\" role=\"line\"/>"
           "<transformer id=\"T1\" role=\"power\" va=\"60\">"
           "<winding role=\"primary\" leads=\"P1.1 P1.2\" volts=\"117\" ohms=\"5\"/>"
           "<winding role=\"plate\" leads=\"V1.4 gnd V1.6\" noload-volts=\"300 300\" ohms=\"100 100\"/>"
           "<winding role=\"rectifier-heater\" leads=\"V1.2 V1.8\" volts=\"5\" amps=\"2\"/></transformer>"
           "<socket id=\"V1\" tube=\"5Y3GT\"/>" +
           choke +
           "<capacitor id=\"C1\" value=\"16 mfd\" volts=\"450\" construction=\"dry-electrolytic\" plus=\"out\" "
           "minus=\"gnd\"/><resistor id=\"R1\" value=\"5K\" watts=\"25\" a=\"out\" b=\"gnd\"/></chassis>";
}

}  // namespace

TEST_CASE(
    "A field coil warms itself after an hour, by 8 K a watt and copper's rule, and the first minutes find it cold") {
    const Chassis set = on_direct_current(
        "<coil id=\"L1\" role=\"field\" henries=\"10\" ohms=\"1000\" a=\"bp\" b=\"out\"/>"
        "<resistor id=\"R1\" value=\"2500\" watts=\"25\" a=\"out\" b=\"gnd\"/>");
    Bench bench = bench_of(set);
    CHECK(dc(*bench.solve({}), set, "out") == Approx(250 * 2500 / 3500.0).epsilon(1e-4));
    const Solution soaked = *bench.solve(condition("soak"));
    const double amps = dc(soaked, set, "out") / 2500, ohms = (250 - dc(soaked, set, "out")) / amps;
    CHECK(ohms > 1100);
    CHECK(ohms == Approx(1000 * (1 + 8 * amps * amps * ohms / (234.5 + 25))).epsilon(1e-4));
    // What the hour does to it lies inside the band of the first reading.
    CHECK(bench.solve({})->at(set, "out").low.value() < dc(soaked, set, "out"));
    CHECK_FALSE(bench_of(on_direct_current("<resistor id=\"R1\" value=\"2500\" a=\"bp\" b=\"gnd\"/>"))
                    .solve(condition("soak")));
}

TEST_CASE("A swinging choke stands at the henries of its own direct current") {
    // 20 H without current, 10 H at 40 mA: 20 / (1 + (I / 40 mA)^2).
    const Chassis swinging =
        read(choke_input("<coil id=\"L1\" role=\"choke\" henries=\"10\" swing=\"20\" amps=\"40 mA\" ohms=\"200\" "
                         "a=\"V1.8\" b=\"out\"/>"));
    const Solution found = *bench_of(swinging).solve({});
    const double amps = dc(found, swinging, "out") / 5000, henries = 20 / (1 + std::pow(amps / 0.04, 2));
    CHECK(amps == Approx(0.05).epsilon(0.2));
    char text[32];
    std::snprintf(text, sizeof text, "%.6f", henries);
    const Chassis plain = read(choke_input("<coil id=\"L1\" role=\"choke\" henries=\"" + std::string(text) +
                                           "\" ohms=\"200\" a=\"V1.8\" b=\"out\"/>"));
    const Solution same = *bench_of(plain).solve({});
    CHECK(dc(found, swinging, "out") == Approx(dc(same, plain, "out")).epsilon(1e-5));
    CHECK(found.at(swinging, "out").ripple_pp.value() == Approx(same.at(plain, "out").ripple_pp.value()).epsilon(1e-3));
    const Chassis stiff =
        read(choke_input("<coil id=\"L1\" role=\"choke\" henries=\"10\" ohms=\"200\" a=\"V1.8\" b=\"out\"/>"));
    // Without its amperes the usual ones are taken and said; a swing below the henries is none, and is said.
    const Chassis
        half = read(choke_input(
            "<coil id=\"L1\" role=\"choke\" henries=\"10\" swing=\"20\" ohms=\"200\" a=\"V1.8\" b=\"out\"/>")),
        turned = read(choke_input(
            "<coil id=\"L1\" role=\"choke\" henries=\"20\" swing=\"10\" ohms=\"200\" a=\"V1.8\" b=\"out\"/>"));
    const auto says = [](const Solution& s, const char* about) {
        return std::any_of(s.assumptions.begin(), s.assumptions.end(),
                           [&](const Assumption& one) { return one.about == about; });
    };
    CHECK(says(*bench_of(half).solve({}), "L1 amps"));
    CHECK(says(*bench_of(turned).solve({}), "L1 swing"));
    CHECK(found.at(swinging, "out").ripple_pp.value() >
          1.1 * bench_of(stiff).solve({})->at(stiff, "out").ripple_pp.value());
}

TEST_CASE("A current regulator holds its amperes where a resistor lets them follow the line") {
    const std::string heater = "<resistor id=\"R1\" value=\"200\" watts=\"50\" a=\"string\" b=\"gnd\"/>";
    const Chassis regulated = on_direct_current(
        "<ballast id=\"R9\" type=\"regulator\" volts=\"190\" amps=\".3\" a=\"bp\" b=\"string\"/>" + heater);
    const Chassis plain = on_direct_current("<ballast id=\"R9\" value=\"633.3\" a=\"bp\" b=\"string\"/>" + heater);
    const auto amps = [](const Chassis& set, double line) {
        return dc(*bench_of(set).solve(condition("normal", line)), set, "string") / 200;
    };
    CHECK(amps(regulated, 250) == Approx(0.3).epsilon(1e-3));
    CHECK(amps(plain, 250) == Approx(0.3).epsilon(1e-3));
    CHECK(amps(plain, 220) / amps(plain, 250) == Approx(0.88).epsilon(1e-3));
    const double held = amps(regulated, 220);
    CHECK(held > 0.3 * 0.96);
    CHECK(held < 0.3);
    // I ~ V^0.12 on the volts that are left for it.
    CHECK(held == Approx(0.3 * std::pow((220 - 200 * held) / 190, 0.12)).epsilon(1e-3));
}

TEST_CASE("With a limit of emission a shorted filter draws what the cathodes give, and health does not notice") {
    const std::string text = text_of(superhet);
    const Chassis set = read(text);
    Fault shorted;
    shorted.mode = FaultMode::short_circuit;
    shorted.part = set.part("C1.plain");
    shorted.ohms = 0.1;
    Policy limited;
    limited.emission_limit = 1.5;
    Bench free = bench_of(set, {shorted}), bound = bench_of(set, {shorted}, limited);
    CHECK(dc(*bound.solve({}), set, "bplus") == Approx(dc(*free.solve({}), set, "bplus")).epsilon(0.01));
    const FaultSolution most = free.solve({}, std::span(&shorted, 1), false),
                        least = bound.solve({}, std::span(&shorted, 1), false);
    REQUIRE(most.solved);
    REQUIRE(least.solved);
    CHECK(most.upper_bound);
    CHECK_FALSE(least.upper_bound);
    const auto peak = [&](const FaultSolution& s) {
        double amps = 0;
        for (const Branch& branch : s.solution.branches)
            if (branch.part == set.part("V5") && branch.lead.rfind("p.", 0) == 0)
                amps = std::max(amps, branch.peak.value());
        return amps;
    };
    const double rated = *shipped().rectifier("80")->max_peak_amps;
    CHECK(peak(least) <= 1.5 * rated * 1.001);
    CHECK(peak(least) < 0.8 * peak(most));
}

TEST_CASE("A driven output stage: its plate swings about the supply, its grid up to its cathode, the rest stays") {
    const Chassis set = read(sound(text_of(amplifier)));
    Bench bench = bench_of(set);
    const Solution rest = *bench.solve({}), driven = *bench.solve(condition("signal-peak")),
                   open = *bench.solve(condition("signal-peak:no-load"));
    const auto of = [&](const Solution& s, const char* lead) { return *s.branch(set.part("V2"), lead); };
    const double bias = -of(rest, "g1.2").volts_dc.value();
    CHECK(bias == Approx(7.3).epsilon(0.1));
    // The signal is in series with the grid, so that its own volts swing by the bias, up and down.
    CHECK(of(driven, "g1.2").volts_rms.value() == Approx(bias / std::sqrt(2.0)).epsilon(0.15));
    CHECK(of(driven, "p.7").volts_peak.value() > 1.5 * of(rest, "p.7").volts_dc.value());
    CHECK(of(driven, "p.7").volts_peak.value() < 2.1 * of(rest, "p.7").volts_dc.value());
    CHECK(of(open, "p.7").volts_peak.value() > of(driven, "p.7").volts_peak.value());
    CHECK(of(driven, "p.7").watts.value() < of(rest, "p.7").watts.value());
    CHECK(of(driven, "g2.9").watts.value() > of(rest, "g2.9").watts.value());
    CHECK(driven.at(set, "V2.7").ripple_hertz == Approx(420));
    CHECK(dc(driven, set, "bplus") == Approx(dc(rest, set, "bplus")).epsilon(0.03));
    CHECK(driven.solver.worst_kcl_amps < 1e-6);
    CHECK_FALSE(Condition::parse("signal-peak:loud"));
    CHECK(Condition::parse("signal-peak:no-load")->text() == "signal-peak:no-load");
    CHECK_FALSE(bench_of(on_direct_current("<resistor id=\"R1\" value=\"2500\" a=\"bp\" b=\"gnd\"/>"))
                    .solve(condition("signal-peak")));
}
