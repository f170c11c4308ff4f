// SPDX-License-Identifier: MIT
// Batteries and dry rectifiers with their years: what a date, none, or a finding does to volts, ohms and bands. The
// figures of age are assumed (dry.hpp); here it is held that they reach the solution as Ohm has them.
#include <catch2/catch.hpp>

#include <cmath>
#include <string>

#include "sets.hpp"

using namespace sets;

namespace {

Chassis small(const std::string& body, const std::string& root = "") {
    return read("<chassis version=\"1\" name=\"aged\" reference=\"gnd\"" + root +
                "><node is=\"chassis-metal\" net=\"gnd\"/>" + body + "</chassis>");
}

Chassis on_a_battery(const std::string& words) {
    return small("<battery id=\"BT1\" role=\"b\" volts=\"90\" plus=\"bp\" minus=\"gnd\"" + words +
                 "/><resistor id=\"R1\" value=\"9K\" construction=\"wirewound\" tolerance=\"1\" a=\"bp\" b=\"gnd\"/>");
}

NetVolts bplus(const Chassis& set, const Policy& policy = {}) {
    Bench bench = bench_of(set, {}, policy);
    return bench.solve({})->at(set, "bp");
}

Chassis half_wave(const std::string& words, const std::string& root) {
    return small(
        "<line volts=\"117\" hertz=\"60\" hot=\"P1.1\" neutral=\"P1.2\"/><plug id=\"P1\" role=\"line\"/>"
        "<join at=\"P1.2 gnd\"/><rectifier id=\"CR1\" construction=\"selenium\" volts=\"130\" amps=\"75 mA\" "
        "anode=\"P1.1\" cathode=\"bp\"" +
            words +
            "/><capacitor id=\"C1\" value=\"40 mfd\" volts=\"200\" plus=\"bp\" minus=\"gnd\"/>"
            "<resistor id=\"R1\" value=\"2.2K\" a=\"bp\" b=\"gnd\"/>",
        root);
}

double value_of(const Chassis& set, const std::string& element, const std::string& value) {
    Bench bench = bench_of(set);
    for (const ModelElement& one : bench.model().elements)
        for (const auto& [name, is] : one.values)
            if (one.id == element && name == value) return is;
    return -1;
}

std::string assumed_of(const Chassis& set, const std::string& about) {
    Bench bench = bench_of(set);
    for (const Assumption& one : bench.assumptions())
        if (one.about == about) return one.taken + "; " + one.spread + "; " + one.source;
    return {};
}

}  // namespace

TEST_CASE("a battery's volts fall and its ohms rise with its date, and what nobody dated is as marked") {
    const auto behind = [](double volts, double ohms) { return volts * 9000 / (9000 + ohms); };
    // sixty cells of half an ohm; three years make 1.5 V of it 1.2 V, and ten times the ohms
    CHECK(bplus(on_a_battery("")).dc.value() == Approx(behind(90, 30)).epsilon(1e-5));
    CHECK(bplus(on_a_battery(" since=\"2026\"")).dc.value() == Approx(behind(90, 30)).epsilon(1e-5));
    CHECK(bplus(on_a_battery(" since=\"2025\"")).dc.value() == Approx(behind(84, 120)).epsilon(1e-5));
    CHECK(bplus(on_a_battery(" since=\"1960\"")).dc.value() == Approx(behind(72, 300)).epsilon(1e-5));
    CHECK(bplus(on_a_battery(" seen=\"drifted\"")).dc.value() == Approx(behind(81, 165)).epsilon(1e-5));
    CHECK(bplus(on_a_battery(" since=\"1960\" seen=\"sound\"")).dc.value() == Approx(behind(90, 30)).epsilon(1e-5));
    // ohms of the file are its own
    CHECK(bplus(on_a_battery(" since=\"1960\" ohms=\"50\"")).dc.value() == Approx(behind(72, 50)).epsilon(1e-5));
    CHECK(assumed_of(on_a_battery(" since=\"2025\""), "BT1 age") == "1 years old: 84 V open; 72 to 93.6 V; assumed");
}

TEST_CASE("the band of a battery set reaches from spent cells to new ones, but not where its volts were named") {
    const NetVolts undated = bplus(on_a_battery(""));
    CHECK(undated.low.value() < 90 * 0.8);
    CHECK(undated.low.value() > 90 * 0.75);
    CHECK(undated.high.value() > 90 * 1.03);
    CHECK(undated.high.value() < 90 * 1.05);
    Policy named;
    named.line.volts = Volts(84);
    const NetVolts read_there = bplus(on_a_battery(""), named);
    CHECK(read_there.dc.value() == Approx(84 * 9000 / 9030.0).epsilon(1e-5));
    CHECK(read_there.high.value() < 84 * 1.01);
    CHECK(read_there.low.value() > 84 * 0.95);
}

TEST_CASE("each battery has its own years; all keep step with the leading one, and new ones stand at their marks") {
    const Chassis set = small(
        "<battery id=\"BT1\" role=\"a\" volts=\"1.5\" plus=\"ap\" minus=\"gnd\" since=\"1960\"/>"
        "<battery id=\"BT2\" role=\"b\" volts=\"90\" plus=\"bp\" minus=\"gnd\"/>"
        "<resistor id=\"R1\" value=\"30\" a=\"ap\" b=\"gnd\"/><resistor id=\"R2\" value=\"9 meg\" a=\"bp\" "
        "b=\"gnd\"/>",
        " m-means=\"million\"");
    Bench bench = bench_of(set);
    const Solution aged = *bench.solve({}), fresh = *bench.solve(condition("high-line")),
                   half = *bench.solve(condition("normal", 0.6));
    CHECK(dc(aged, set, "ap") == Approx(1.2 * 30 / 31.5).epsilon(1e-4));
    CHECK(dc(aged, set, "bp") == Approx(90).epsilon(1e-4));
    CHECK(dc(fresh, set, "bp") == Approx(90 * 1.04).epsilon(1e-4));
    CHECK(dc(half, set, "bp") == Approx(45).epsilon(1e-4));
}

TEST_CASE("a bias battery does not follow a direct-current line") {
    const Chassis set = small(
        "<line volts=\"110\" hertz=\"dc\" hot=\"P1.1\" neutral=\"P1.2\" supply=\"dc\"/><plug id=\"P1\" role=\"line\"/>"
        "<join at=\"P1.2 gnd\"/><resistor id=\"R1\" value=\"1K\" a=\"P1.1\" b=\"gnd\"/>"
        "<battery id=\"BT1\" role=\"c\" volts=\"4.5\" plus=\"gnd\" minus=\"bias\"/>"
        "<resistor id=\"R2\" value=\"1 meg\" a=\"bias\" b=\"gnd\"/>");
    Bench bench = bench_of(set);
    CHECK(dc(*bench.solve(condition("normal", 125)), set, "bias") == Approx(-4.5).epsilon(1e-4));
}

TEST_CASE("a selenium stack drops more and leaks more as it ages; one without a year is taken as old, and says so") {
    const Chassis fresh = half_wave(" since=\"2026\"", ""), young = half_wave(" since=\"2016\"", ""),
                  old = half_wave("", " built=\"1950\""), undated = half_wave("", ""),
                  sound = half_wave(" seen=\"sound\"", " built=\"1950\"");
    CHECK(bplus(young).dc.value() < bplus(fresh).dc.value() - 1);
    CHECK(bplus(old).dc.value() < bplus(young).dc.value() - 1);
    CHECK(bplus(undated).dc.value() == Approx(bplus(old).dc.value()).epsilon(1e-9));
    CHECK(bplus(sound).dc.value() == Approx(bplus(fresh).dc.value()).epsilon(1e-9));
    CHECK(value_of(young, "CR1", "series_ohms") == Approx(1.5 * value_of(fresh, "CR1", "series_ohms")));
    CHECK(value_of(old, "CR1", "series_ohms") == Approx(2 * value_of(fresh, "CR1", "series_ohms")));
    CHECK(value_of(old, "CR1", "reverse_siemens") == Approx(2 * value_of(fresh, "CR1", "reverse_siemens")));
    CHECK(assumed_of(undated, "CR1").find("taken as old (no year in the file)") != std::string::npos);
    CHECK(assumed_of(old, "CR1").find("76 years old") != std::string::npos);
    CHECK(assumed_of(old, "CR1").find("18.67 to 106.7 ohm") != std::string::npos);
    // seen leaking it passes back ten times what a new one does
    CHECK(value_of(half_wave(" seen=\"leaking\"", ""), "CR1", "reverse_siemens") ==
          Approx(10 * value_of(fresh, "CR1", "reverse_siemens")));
    // what a new stack gives lies in the band of an old one, and what a tired one gives too
    const NetVolts as_old = bplus(old);
    CHECK(as_old.high.value() > bplus(fresh).dc.value());
    CHECK(as_old.low.value() < bplus(half_wave(" seen=\"drifted\"", "")).dc.value());
}
