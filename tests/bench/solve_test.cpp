// SPDX-License-Identifier: MIT
// Solutions against closed forms and against each other. The 6.87 V of the heater winding is common practice, no
// source.
#include <catch2/catch.hpp>

#include <cmath>
#include <numbers>

#include "sets.hpp"

using namespace sets;

TEST_CASE("past the rectifier a divider obeys Ohm, and every ampere is accounted for") {
    const Chassis set = DividerSupply{}.make();
    Bench bench = bench_of(set);
    const Outcome<Solution> s = bench.solve({});
    REQUIRE(s);
    const double bplus = dc(*s, set, "bplus");
    CHECK(bplus > 260);
    CHECK(bplus < 260 * std::numbers::sqrt2);
    CHECK(dc(*s, set, "half") == Approx(bplus / 2).epsilon(1e-4));  // 10,000 megohm of socket leakage beside it at most
    CHECK(s->branch(set.part("R1"), "a")->dc.value() == Approx(bplus / 10e3).epsilon(1e-6));
    CHECK(s->branch(set.part("R1"), "a")->watts.value() ==
          Approx((bplus * bplus + std::pow(s->at(set, "bplus").rms.value(), 2)) / 10e3).epsilon(1e-5));
    const double plates = s->branch(set.part("V1"), "p1.1")->dc.value() + s->branch(set.part("V1"), "p2.6")->dc.value();
    CHECK(plates == Approx(bplus / 10e3 + bplus / 2e6).epsilon(1e-4));
    CHECK(s->branch(set.part("V1"), "k.7")->dc.value() == Approx(-plates).epsilon(1e-6));
    CHECK(s->branch(set.part("C1"), "plus")->dc.value() == Approx(0).margin(1e-6));
    CHECK(s->solver.worst_kcl_amps < 1e-6);
    CHECK(s->solver.start_points_agree);
    CHECK(s->solver.steps_per_period == 128);
    CHECK(s->at(set, "bplus").ripple_hertz == Approx(120));
}

TEST_CASE(
    "ripple and the rectifier's charge belong together: the capacitor falls by the load's charge between two pulses") {
    // Between pulses the 16 uF feeds the load alone: the fall is at most I / (2 f C), and most of it (recalled rule of
    // thumb as an upper bound).
    const Chassis set = DividerSupply{}.make();
    Bench bench = bench_of(set);
    const Solution s = *bench.solve({});
    const double bound = dc(s, set, "bplus") / 9.95e3 / (120 * 16e-6);
    CHECK(s.at(set, "bplus").ripple_pp.value() < bound);
    CHECK(s.at(set, "bplus").ripple_pp.value() > 0.6 * bound);
}

TEST_CASE("a 6.3 volt winding of a 110 volt primary reads 6.87 volts at 120 before its no-load rise") {
    DividerSupply supply;
    supply.primary_volts = 110;
    const Chassis set = supply.make();
    Bench bench = bench_of(set);
    const Solution alone = *bench.solve(condition("transformer-alone", 120));
    CHECK(alone.branch(set.part("T1"), "heater")->volts_rms.value() == Approx(6.873).epsilon(0.002));
    // with the rectifier's heater in, 0.6 A in a tenth of an ohm and in the primary's 9 ohm by the ratio squared
    const Solution hot = *bench.solve(condition("normal", 120));
    CHECK(hot.branch(set.part("T1"), "heater")->volts_rms.value() <
          alone.branch(set.part("T1"), "heater")->volts_rms.value());
}

TEST_CASE("with nothing on it a transformer draws what its assumed iron draws") {
    const Chassis set = DividerSupply{}.make();
    Bench bench = bench_of(set);
    const Solution alone = *bench.solve(condition("transformer-alone", 117));
    const double magnetising = 0.1 / 60 * 45 * 115 / 117, loss = 0.05 * 45 / 117;
    CHECK(alone.primary_rms.value() == Approx(std::hypot(magnetising, loss)).epsilon(0.01));
    CHECK(alone.line_watts.value() == Approx(0.05 * 45 + 9 * (magnetising * magnetising + loss * loss)).epsilon(0.01));
    CHECK(dc(alone, set, "bplus") == Approx(0).margin(1e-3));
}

TEST_CASE("names and the order of the file change nothing") {
    DividerSupply turned;
    turned.mark = "zz";
    turned.backwards = true;
    const Chassis one = DividerSupply{}.make(), other = turned.make();
    Bench a = bench_of(one), b = bench_of(other);
    for (const char* scenario : {"normal", "high-line", "warm-up", "rectifier-out"}) {
        INFO(scenario);
        const Solution x = *a.solve(condition(scenario)), y = *b.solve(condition(scenario));
        for (const char* net : {"bplus", "half"}) {
            CHECK(y.at(other, turned.name(net)).dc.value() ==
                  Approx(x.at(one, net).dc.value()).epsilon(1e-9).margin(1e-9));
            CHECK(y.at(other, turned.name(net)).ripple_pp.value() ==
                  Approx(x.at(one, net).ripple_pp.value()).epsilon(1e-9).margin(1e-7));
            CHECK(y.at(other, turned.name(net)).high.value() ==
                  Approx(x.at(one, net).high.value()).epsilon(1e-9).margin(1e-9));
        }
        CHECK(y.primary_rms.value() == Approx(x.primary_rms.value()).epsilon(1e-9));
        CHECK(y.line_watts.value() == Approx(x.line_watts.value()).epsilon(1e-9));
    }
}

TEST_CASE("a resistor as two of twice its ohms and a filter as two of half its farads: the sums stay") {
    const std::string text = text_of(amplifier);
    const std::string resistor = R"(<resistor id="R2" value="22k" watts="1/2" a="bplus2" b="bplus3")";
    const std::string two_resistors =
        edited(edited(text, resistor, R"(<resistor id="R2" value="44k" watts="1/2" a="bplus2" b="bplus3")"),
               "</chassis>", R"(<resistor id="R82" value="44k" watts="1/2" a="bplus2" b="bplus3"/></chassis>)");
    const std::string section = R"(<section mark="half-moon" value="16 mfd" volts="350" plus="V3.7"/>)";
    const std::string two_filters = edited(
        text, section,
        R"(<section mark="half-moon" value="8 mfd" volts="350" plus="V3.7"/><section mark="moon" value="8 mfd" volts="350" plus="V3.7"/>)");
    const Chassis whole = read(text), r = read(two_resistors), c = read(two_filters);
    Bench of_whole = bench_of(whole), of_r = bench_of(r), of_c = bench_of(c);
    const Solution a = *of_whole.solve({}), b = *of_r.solve({}), d = *of_c.solve({});
    for (const NetVolts& net : a.nets) {
        INFO(net.name);
        if (net.undetermined) continue;
        CHECK(dc(b, r, net.name) == Approx(net.dc.value()).epsilon(1e-9).margin(1e-8));
        CHECK(dc(d, c, net.name) == Approx(net.dc.value()).epsilon(1e-9).margin(1e-8));
    }
    CHECK(b.branch(r.part("R2"), "a")->watts.value() + b.branch(r.part("R82"), "a")->watts.value() ==
          Approx(a.branch(whole.part("R2"), "a")->watts.value()).epsilon(1e-9));
    CHECK(d.branch(c.part("C1.half-moon"), "plus")->rms.value() + d.branch(c.part("C1.moon"), "plus")->rms.value() ==
          Approx(a.branch(whole.part("C1.half-moon"), "plus")->rms.value()).epsilon(1e-9));
}

TEST_CASE("a line one tenth higher lifts B-plus by 7 to 12 per cent, a pulled tube lifts it too") {
    for (const std::string& path : {superhet, amplifier}) {
        INFO(path);
        const Chassis set = read(text_of(path));
        Bench bench = bench_of(set);
        const Solution normal = *bench.solve({});
        const Solution more = *bench.solve(condition("normal", 1.1 * set.line().volts));
        const double ratio = dc(more, set, "bplus") / dc(normal, set, "bplus");
        CHECK(ratio > 1.07);
        CHECK(ratio < 1.12);
        for (const Part& part : set.parts()) {
            if (part.kind != PartKind::socket || part.type == nullptr || part.type->is_rectifier()) continue;
            INFO(part.id);
            const Solution pulled = *bench.solve(condition("tube-out:" + part.id));
            CHECK(dc(pulled, set, "bplus") > dc(normal, set, "bplus"));
        }
        CHECK(normal.solver.worst_kcl_amps < 1e-6);
    }
}

TEST_CASE(
    "in warm-up nothing but dividers draws, and the crest on the first filter is the worst of all but the unplugged "
    "speaker") {
    const Chassis set = read(text_of(superhet));
    Bench bench = bench_of(set);
    const Solution cold = *bench.solve(condition("warm-up"));
    const double divider = dc(cold, set, "bplus") / 33e3;
    CHECK(cold.branch(set.part("L1"), "a")->dc.value() == Approx(divider).epsilon(0.01));
    CHECK(cold.branch(set.part("V4"), "p.2")->dc.value() < 1e-6);
    for (const char* scenario : {"normal", "high-line", "output-cut-off"})
        CHECK(bench.solve(condition(scenario))->at(set, "V5.1").crest < cold.at(set, "V5.1").crest);
    CHECK(bench.solve(condition("speaker-unplugged"))->at(set, "V5.1").crest > cold.at(set, "V5.1").crest);
}

TEST_CASE("behind a lamp the lamp's own power law holds, and the volts add as a loop does") {
    const Chassis set = read(text_of(superhet));
    Bench bench = bench_of(set);
    const Solution s = *bench.solve(condition("lamp:60W", 120));
    CHECK(s.lamp_volts > 20);
    CHECK(s.lamp_volts < 100);
    // amperes as volts to the .55 of a 60 W 120 V lamp
    const double amps = 0.5 * std::pow(s.lamp_volts / 120, 0.55);
    CHECK(s.primary_rms.value() == Approx(amps).epsilon(1e-3));
    CHECK(s.set_volts + s.lamp_volts > 115);
    CHECK(s.set_volts + s.lamp_volts < 125);  // not in phase, nor of one shape
    CHECK(bench.solve(condition("lamp:200W", 120))->set_volts > s.set_volts);
}

TEST_CASE("a heater's amperes follow its volts to the .58, and its tube stops below 30 per cent") {
    const Chassis set = read(text_of(superhet));
    Bench bench = bench_of(set);
    for (const char* scenario : {"normal", "step:90V"}) {
        const Solution s = *bench.solve(condition(scenario));
        const Branch* heater = s.branch(set.part("V4"), "h.1");
        REQUIRE(heater != nullptr);
        CHECK(heater->rms.value() == Approx(0.65 * std::pow(heater->volts_rms.value() / 6.3, 0.58)).epsilon(1e-4));
    }
    const Solution low = *bench.solve(condition("step:30V"));
    CHECK(std::abs(low.branch(set.part("V4"), "p.2")->dc.value()) < 1e-5);
    CHECK(dc(low, set, "bplus") < 1);  // the rectifier's filament is as cool
}

TEST_CASE("a default that rests on what the set draws is found, said, and changes with the set") {
    const std::string text = edited(edited(text_of(superhet), R"( ohms="185 210")", ""), R"( va="60")", "");
    const Chassis set = read(text);
    Bench bench = bench_of(set);
    const Solution s = *bench.solve(condition("normal", set.line().volts));
    const Branch* half = s.branch(set.part("T1"), "plate.1");
    REQUIRE(half != nullptr);
    // plate half 0.045 V/I_rms of the solution itself
    CHECK(half->watts.value() / (half->rms.value() * half->rms.value()) ==
          Approx(0.045 * 330 / half->rms.value()).epsilon(0.02));
    int said = 0;
    for (const Assumption& one : s.assumptions)
        said += one.about == "T1 VA" || one.about == "T1 plate.1 ohms" || one.about == "T1 plate.2 ohms" ? 1 : 0;
    CHECK(said == 3);
}

TEST_CASE("an untraced load draws its amperes at the normal volts and less at a lower line") {
    const Chassis set =
        read(with(text_of(superhet), R"(<untraced id="X1" net="bplus" amps="12m" note="more tubes"/>)"));
    Bench bench = bench_of(set);
    const Solution normal = *bench.solve(condition("normal", set.line().volts));
    const int part = set.part("X1");
    REQUIRE(part >= 0);
    const auto drawn = [&](const Solution& s) {
        for (const Branch& branch : s.branches) {
            if (branch.part == part) return branch.dc.value();
        }
        return 0.0;
    };
    CHECK(drawn(normal) == Approx(0.012).epsilon(1e-3));
    CHECK(drawn(*bench.solve(condition("step:90V"))) < 0.011);
}

TEST_CASE("what has no solution says so, and is never 0 volts") {
    const Chassis set = read(text_of(superhet));
    Bench bench = bench_of(set);
    const Outcome<Solution> none = bench.solve(condition("tube-out:V9"));
    REQUIRE_FALSE(none);
    CHECK(none.notices().front().number == 3001);
    CHECK(none.notices().front().message.find("V9") != std::string::npos);
    ChassisBuilder b("nothing feeds it");
    b.reference("gnd");
    b.resistor("R1", ohms(1e3), "a", "gnd");
    b.resistor("R2", ohms(1e3), "a", "gnd");
    const Outcome<Chassis> dead = b.build(shipped());
    REQUIRE(dead);
    const Outcome<Bench> refused = Bench::make(*dead, shipped(), {});
    REQUIRE_FALSE(refused);
    CHECK(refused.notices().front().number == 3004);
}

TEST_CASE("an open grid is marked, whether it hangs in health or by a fault") {
    const std::string text = text_of(amplifier);
    const std::string leak = R"(<resistor id="R10" value="470k" watts="1/2" a="V2.2" b="gnd" location="V2"/>)";
    const Chassis set = read(edited(text, leak, ""));
    Bench bench = bench_of(set);
    const Solution s = *bench.solve({});
    CHECK(s.at(set, "V2.2").undetermined);
    CHECK_FALSE(s.at(set, "V2.3").undetermined);
}

TEST_CASE("the line's cycles are a matter of the condition: more ripple and more magnetising current at 50") {
    const Chassis set = read(text_of(superhet));
    Bench bench = bench_of(set);
    Condition fifty;
    fifty.line_hertz = 50;
    const Solution at_60 = *bench.solve({}), at_50 = *bench.solve(fifty);
    CHECK(at_50.line_hertz == 50);
    CHECK(at_50.at(set, "V5.1").ripple_hertz == Approx(100));
    CHECK(at_50.at(set, "V5.1").ripple_pp.value() / at_60.at(set, "V5.1").ripple_pp.value() ==
          Approx(1.2).epsilon(0.05));
    Condition alone = condition("transformer-alone");
    const double amps_60 = bench.solve(alone)->primary_rms.value();
    alone.line_hertz = 50;
    CHECK(bench.solve(alone)->primary_rms.value() > 1.1 * amps_60);
}

TEST_CASE(
    "the peak of a current is never less than its mean: the cathode of an eye carries target and triode at once") {
    const Chassis set = read(R"(<chassis version="1" name="an eye on batteries" reference="gnd" m-means="million">
  <node is="chassis-metal" net="gnd"/>
  <battery id="BA" role="a" volts="6.3" plus="warm" minus="gnd"/>
  <battery id="BB" role="b" volts="225" plus="high" minus="gnd"/>
  <socket id="V1" tube="6E5"/>  <join at="warm V1.1"/>  <join at="gnd V1.5 V1.6"/>  <join at="high V1.4"/>
  <resistor id="R1" value="1M" a="high" b="V1.2"/>  <resistor id="R2" value="1M" a="V1.3" b="gnd"/>
</chassis>)");
    const Solution s = *bench_of(set).solve({});
    double cathode = 0, others = 0;
    for (const Branch& branch : s.branches) {
        if (branch.part != set.part("V1") || branch.lead.starts_with("h")) continue;
        INFO(branch.lead);
        CHECK(branch.peak.value() >= std::fabs(branch.dc.value()) * (1 - 1e-6));
        (branch.lead.starts_with("k") ? cathode : others) += branch.peak.value();
    }
    CHECK(cathode > 1e-4);
    CHECK(cathode == Approx(others).epsilon(1e-3));
}

TEST_CASE("both legs of a rectifier's filament are seen from the same ohms, fed or not") {
    const Chassis set = read(sound(text_of(superhet)));
    Bench bench = bench_of(set);
    for (const char* scenario : {"normal", "rectifier-out"}) {
        const Solution s = *bench.solve(condition(scenario));
        INFO(scenario);
        CHECK(s.at(set, "V5.4").source.value() == Approx(s.at(set, "V5.1").source.value()).epsilon(1e-6));
        CHECK(s.at(set, "V5.1").source.value() > 100);
    }
}
