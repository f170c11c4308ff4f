// SPDX-License-Identifier: MIT
// Dry rectifiers, batteries and vibrators: their laws against closed forms, and small sets on them against Ohm. What a
// new selenium plate drops (1 V at its rated current) is common practice, no source.
#include "bench/dry.hpp"

#include <catch2/catch.hpp>

#include <cmath>
#include <string>

#include <tubewright/netlist.hpp>

#include "sets.hpp"

using namespace sets;

namespace {

Part stack(const char* construction, double rms, double direct) {
    Part part;
    part.kind = PartKind::rectifier;
    part.construction = construction;
    part.rated_volts = rms;
    part.rated_amps = direct;
    return part;
}

Chassis small(const std::string& body) {
    return read("<chassis version=\"1\" name=\"dry\" reference=\"gnd\"><node is=\"chassis-metal\" net=\"gnd\"/>" +
                body + "</chassis>");
}

}  // namespace

TEST_CASE("A dry rectifier obeys its own equation, forward and back, and its slope is its derivative") {
    const circuit::Law law = bench::dry_rectifier_law();
    for (const char* made : {"selenium", "silicon", "copper-oxide"}) {
        const bench::DryRectifier d = bench::dry_rectifier(stack(made, 130, 0.075));
        const double* p = d.parameters.data();
        for (double v : {-180.0, -1.0, -0.01, 0.0, 0.1, 0.8, 2.0, 5.0, 12.0, 60.0}) {
            double i = 0, g = 0, up = 0, down = 0, unused = 0;
            law.evaluate(p, &v, &i, &g);
            const double junction = i - p[bench::reverse_siemens] * v;  // its leak back apart
            const double back = junction > -p[bench::saturation_amps]
                                    ? p[bench::fold_volts] * std::log1p(junction / p[bench::saturation_amps]) +
                                          junction * p[bench::series_ohms]
                                    : v;
            INFO(made << " at " << v);
            if (v > -0.5) CHECK(back == Approx(v).margin(1e-9));
            const double stride = 1e-6 * (1 + std::fabs(v)), higher = v + stride, lower = v - stride;
            law.evaluate(p, &higher, &up, &unused);
            law.evaluate(p, &lower, &down, &unused);
            CHECK(g == Approx((up - down) / (2 * stride)).epsilon(1e-5).margin(1e-12));
            CHECK(g > 0);
        }
    }
}

TEST_CASE("A new selenium stack of five plates drops 5 V at its rated current; an aged one more") {
    const bench::DryRectifier d = bench::dry_rectifier(stack("selenium", 130, 0.075));
    CHECK(d.plates == 5);
    const circuit::Law law = bench::dry_rectifier_law();
    double v = 5, i = 0, g = 0;
    law.evaluate(d.parameters.data(), &v, &i, &g);
    CHECK(i == Approx(0.075).epsilon(1e-3));  // its leak back with it
    CHECK(d.most_ohms > 2 * d.parameters[bench::series_ohms]);
}

TEST_CASE("Vibrator contacts close in turn, never two of the primary at once, the secondary within the primary") {
    Part part;
    part.kind = PartKind::vibrator;
    part.duty = 0.85;
    for (const char* lead : {"reed", "1", "2", "3", "4"}) part.leads.push_back({lead, 0, false, {}});
    const std::vector<bench::Closed> all = bench::vibrator_contacts(part);
    REQUIRE(all.size() == 4);
    CHECK(all[0].to - all[0].from == Approx(0.425));
    CHECK(all[1].from == Approx(0.5));
    CHECK(all[0].to < all[1].from);
    for (const int k : {0, 1}) {
        const auto at = static_cast<std::size_t>(k);
        CHECK(all[at + 2].from >= all[at].from);
        CHECK(all[at + 2].to <= all[at].to);
        CHECK(all[at + 2].rectifies);
    }
}

TEST_CASE("On a battery a resistor draws what Ohm says, behind the battery's own ohms, and --line means the battery") {
    const Chassis set = small(
        "<battery id=\"BT1\" role=\"b\" volts=\"90\" plus=\"bp\" minus=\"gnd\"/>"
        "<resistor id=\"R1\" value=\"9K\" a=\"bp\" b=\"gnd\"/>");
    CHECK(set.line().volts == 90);
    CHECK(set.line().supply == "battery");
    Bench bench = bench_of(set);
    const Solution s = *bench.solve({});
    CHECK(dc(s, set, "bp") == Approx(90 * 9000 / (9000 + 60 * 0.5)).epsilon(1e-5));
    CHECK(s.line_watts.value() == Approx(90 * 90 / 9030.0).epsilon(1e-4));
    const Solution tired = *bench.solve(condition("normal", 72));
    CHECK(dc(tired, set, "bp") == Approx(0.8 * dc(s, set, "bp")).epsilon(1e-6));
    CHECK_FALSE(bench.solve(condition("normal", 230)));
}

TEST_CASE("A half-wave stack on the line charges near the crest, less what its plates drop") {
    const Chassis set = small(
        "<line volts=\"117\" hertz=\"60\" hot=\"P1.1\" neutral=\"P1.2\"/><plug id=\"P1\" role=\"line\"/>"
        "<join at=\"P1.2 gnd\"/>"
        "<rectifier id=\"CR1\" construction=\"selenium\" volts=\"130\" amps=\"75 mA\" anode=\"P1.1\" cathode=\"dc\"/>"
        "<capacitor id=\"C1\" value=\"80 mfd\" volts=\"200\" plus=\"dc\" minus=\"gnd\"/>"
        "<resistor id=\"R1\" value=\"1 meg\" a=\"dc\" b=\"gnd\"/>");
    Bench bench = bench_of(set);
    const Solution s = *bench.solve({});
    CHECK(dc(s, set, "dc") < 117 * std::numbers::sqrt2);
    CHECK(dc(s, set, "dc") > 117 * std::numbers::sqrt2 - 4);
}

TEST_CASE("A set for a direct-current line is solved on it") {
    const Chassis set = small(
        "<line volts=\"110\" hertz=\"dc\" hot=\"P1.1\" neutral=\"P1.2\" supply=\"dc\"/><plug id=\"P1\" role=\"line\"/>"
        "<join at=\"P1.2 gnd\"/><resistor id=\"R1\" value=\"1K\" a=\"P1.1\" b=\"half\"/>"
        "<resistor id=\"R2\" value=\"1K\" a=\"half\" b=\"gnd\"/>");
    Bench bench = bench_of(set);
    CHECK(dc(*bench.solve({}), set, "half") == Approx(55).epsilon(1e-4));
}

TEST_CASE("a dial lamp burnt out and the first second after switching on are conditions of their own") {
    CHECK(Condition::parse("dial-lamp-out:DS1")->text() == "dial-lamp-out:DS1");
    CHECK_FALSE(Condition::parse("dial-lamp-out"));
    CHECK(Condition::parse("switch-on")->text() == "switch-on");

    // Beside the tap of a string's rectifier: the whole current then goes through that section of its heater.
    const std::string string_set = TUBEWRIGHT_ROOT "/netlists/s3-tanner-row.xml";
    const Chassis set = read(sound(text_of(string_set)));
    Bench bench = bench_of(set);
    const auto of = [&](const Outcome<Solution>& s, const char* id) {
        REQUIRE(s);
        for (const HeaterVolts& heater : s->heaters)
            if (set.parts()[static_cast<std::size_t>(heater.part)].id == id) return heater.across / heater.rated;
        return -1.0;
    };
    const Outcome<Solution> normal = bench.solve({}), out = bench.solve(condition("dial-lamp-out:DS1"));
    CHECK(of(out, "V5") > of(normal, "V5"));
    // Cold heaters let six times the current through (declared): a lamp in series with them, as hot as it likes,
    // flares.
    std::string cord = text_of(TUBEWRIGHT_ROOT "/netlists/s4-ferry-green.xml");
    const Chassis series = read(cord);
    Bench small = bench_of(series);
    const int lamp = series.part("DS1");
    const auto lamp_volts = [&](const Outcome<Solution>& s) {
        REQUIRE(s);
        for (const HeaterVolts& heater : s->heaters)
            if (heater.part == lamp) return heater.across.value();
        return 0.0;
    };
    CHECK(lamp_volts(small.solve(condition("switch-on"))) > 1.1 * lamp_volts(small.solve({})));
}

TEST_CASE("a selenium stack for the line has five or six plates of some 30 V", "[practice-48]") {
    const bench::DryRectifier d = bench::dry_rectifier(stack("selenium", 130, 0.075));
    CHECK(d.plates >= 5);
    CHECK(d.plates <= 6);
    CHECK(130.0 / d.plates < 30);
    CHECK(130.0 / d.plates > 20);
}

TEST_CASE("a vibrator of which nothing is said swings 100 to 150 times a second and is closed for .7 to .9 of it",
          "[practice-45][practice-46]") {
    Part part;
    part.kind = PartKind::vibrator;
    for (const char* lead : {"reed", "1", "2"}) part.leads.push_back({lead, 0, false, {}});
    double closed = 0;
    for (const bench::Closed& contact : bench::vibrator_contacts(part)) closed += contact.to - contact.from;
    CHECK(closed >= 0.7);
    CHECK(closed <= 0.9);
    const Chassis set = small(
        "<battery id=\"BT1\" role=\"vehicle\" volts=\"6\" plus=\"a\" minus=\"gnd\"/>"
        "<vibrator id=\"VB1\" role=\"nonsynchronous\" reed=\"gnd\" contacts=\"x y\"/><resistor id=\"R1\" value=\"100\" "
        "a=\"a\" b=\"x\"/>"
        "<resistor id=\"R2\" value=\"100\" a=\"a\" b=\"y\"/>");
    const double hertz = bench::feed_hertz(set, {});
    CHECK(hertz >= 100);
    CHECK(hertz <= 150);
}

TEST_CASE("A line of direct current rises as any other does, a dry battery to what it has new") {
    const auto highest = [](const std::string& source) {
        const Chassis set = read("<chassis version=\"1\" name=\"a line and a lamp\" reference=\"minus\">" + source +
                                 R"(<node is="b-minus" net="minus"/>
  <resistor id="R1" value="1k" watts="100" a="plus" b="minus"/></chassis>)");
        Bench bench = bench_of(set);
        Condition high;
        high.scenario = tubewright::Scenario::high_line;
        const Outcome<tubewright::Solution> found = bench.solve(high);
        REQUIRE(found);
        CHECK(dc(*found, set, "plus") == Approx(found->line_volts).epsilon(0.03));  // a battery has ohms of its own
        return found->line_volts;
    };
    const auto line = [&](const std::string& volts) {
        return highest("<line volts=\"" + volts + "\" hertz=\"dc\" hot=\"plus\" neutral=\"minus\" supply=\"dc\"/>");
    };
    // recalled, as for alternating current: 126 V on 120 V, 253 V on 230 V
    CHECK(line("117") == Approx(126));
    CHECK(line("110") == Approx(126));
    CHECK(line("220") == Approx(253));
    CHECK(line("32") == Approx(1.05 * 32));
    CHECK(highest("<battery id=\"BT1\" role=\"b\" volts=\"90\" plus=\"plus\" minus=\"minus\"/>") == Approx(1.04 * 90));
}
