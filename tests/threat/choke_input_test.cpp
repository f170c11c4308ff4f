// SPDX-License-Identifier: MIT
// Faults of a supply behind a choke, where the rectifier sees all that stands past it: each against the file edited to
// be so and solved by itself, in the finest steps, to .3 %. And what the chain says of a current: which parts carry it.
#include <algorithm>
#include <cmath>

#include <catch2/catch.hpp>

#include "../bench/sets.hpp"
#include "threat/threat.hpp"

using namespace sets;

namespace {

const std::string behind_a_choke = R"(
<chassis version="1" name="Behind a choke" built="1938" reference="gnd" m-means="million" paper="wax-paper"
         electrolytic="dry-electrolytic" resistor="carbon-composition">
  <line volts="117" hertz="60" hot="P1.1" neutral="P1.2"/>
  <node is="chassis-metal" net="gnd" touch="yes"/>
  <plug id="P1" role="line"/>
  <transformer id="T1" role="power" va="120">
    <winding role="primary" leads="P1.1 P1.2" volts="117" ohms="3"/>
    <winding role="plate" leads="V5.2 gnd V5.3" noload-volts="400 400" ohms="55 60"/>
    <winding role="rectifier-heater" leads="V5.1 V5.4" volts="5" amps="3"/>
  </transformer>
  <socket id="V5" tube="83"/>
  <coil id="L1" role="choke" henries="10" ohms="100" a="V5.1" b="mid"/>
  <capacitor id="C1" value="8 mfd" volts="500" plus="mid" minus="gnd"/>
  <coil id="L2" role="choke" henries="10" ohms="200" a="mid" b="bplus"/>
  <capacitor id="C2" value="8 mfd" volts="500" plus="bplus" minus="gnd"/>
  <resistor id="R1" value="5k" watts="50" construction="wirewound" a="bplus" b="gnd"/>
</chassis>)";

const Fault& fault(const std::vector<Fault>& of, const std::string& id) {
    const auto found = std::find_if(of.begin(), of.end(), [&](const Fault& f) { return f.id == id; });
    INFO(id);
    REQUIRE(found != of.end());
    return *found;
}

void same_windings(const Chassis& set, const Solution& one, const Solution& other, double within) {
    const int t = set.part("T1");
    for (const Branch& b : one.branches) {
        if (b.part != t) continue;
        const Branch* same = other.branch(t, b.lead);
        REQUIRE(same != nullptr);
        INFO(b.lead);
        CHECK(b.rms.value() == Approx(same->rms.value()).epsilon(within));
    }
}

}  // namespace

TEST_CASE("faults behind a choke are the set edited so") {
    const Chassis set = read(behind_a_choke);
    const std::vector<Fault> faults = faults_of(set, shipped());
    Bench bench = bench_of(set, faults);
    const auto swept = [&](const char* id) {
        const std::vector<FaultSolution> found = bench.sweep(Condition{}, std::array{fault(faults, id)});
        REQUIRE(found.front().solved);
        return found.front().solution;
    };
    const auto cold = [](const std::string& from, const std::string& to) {
        return *bench_of(read(edited(behind_a_choke, from, to))).solve(Condition{});
    };
    same_windings(set, swept("C1 open"),
                  cold(R"(<capacitor id="C1" value="8 mfd" volts="500" plus="mid" minus="gnd"/>)", ""), 0.003);
    same_windings(set, swept("C2 open"),
                  cold(R"(<capacitor id="C2" value="8 mfd" volts="500" plus="bplus" minus="gnd"/>)", ""), 0.003);
    const auto shorted = [&](const char* a) {
        return cold("</chassis>",
                    std::string("<resistor id=\"R9\" value=\".1\" a=\"") + a + "\" b=\"gnd\"/></chassis>");
    };
    same_windings(set, swept("C2 short"), shorted("bplus"), 0.003);
    same_windings(set, swept("T1 rectifier-heater.2 to chassis"), shorted("V5.4"), 0.003);
}

TEST_CASE("a fault that does nothing leaves the windings what they carry in health, narrow pulses or not") {
    const std::string bridge = R"(
<chassis version="1" name="Bridge" built="1958" reference="gnd" m-means="million">
  <line volts="117" hertz="60" hot="P1.1" neutral="P1.2"/>
  <node is="chassis-metal" net="gnd" touch="yes"/>
  <plug id="P1" role="line"/>
  <transformer id="T1" role="power" va="40">
    <winding role="primary" leads="P1.1 P1.2" volts="117" ohms="9"/>
    <winding role="plate" leads="a b" noload-volts="120" ohms="12"/>
  </transformer>
  <rectifier id="CR1" construction="silicon" volts="600" amps=".5" anode="a" cathode="plus"/>
  <rectifier id="CR2" construction="silicon" volts="600" amps=".5" anode="b" cathode="plus"/>
  <rectifier id="CR3" construction="silicon" volts="600" amps=".5" anode="gnd" cathode="a"/>
  <rectifier id="CR4" construction="silicon" volts="600" amps=".5" anode="gnd" cathode="b"/>
  <capacitor id="C1" value="100 mfd" volts="250" construction="dry-electrolytic" plus="plus" minus="gnd"/>
  <resistor id="R1" value="3k" watts="20" construction="wirewound" a="plus" b="gnd"/>
  <resistor id="R2" value="1 meg" watts="1/2" a="plus" b="far"/>
  <capacitor id="C2" value=".1 mfd" volts="400" construction="film" a="far" b="gnd"/>
</chassis>)";
    const Chassis set = read(bridge);
    const std::vector<Fault> faults = faults_of(set, shipped());
    Bench bench = bench_of(set, faults);
    const Solution healthy = *bench.solve(Condition{});
    const std::vector<FaultSolution> found = bench.sweep(Condition{}, std::array{fault(faults, "C2 open")});
    REQUIRE(found.front().solved);
    same_windings(set, found.front().solution, healthy, 0.001);
}

TEST_CASE("a rectifier that shorts puts alternating volts on the first electrolytic, and the row says so") {
    const std::string half = R"(
<chassis version="1" name="Half" built="1952" reference="gnd" m-means="million">
  <line volts="117" hertz="60" hot="P1.1" neutral="P1.2"/>
  <node is="b-minus" net="P1.2"/>
  <plug id="P1" role="line"/>
  <resistor id="R1" value="33" watts="5" construction="wirewound" a="P1.1" b="anode"/>
  <rectifier id="CR1" construction="selenium" volts="130" amps=".1" anode="anode" cathode="plus"/>
  <capacitor id="C1" value="40 mfd" volts="150" construction="dry-electrolytic" plus="plus" minus="P1.2"/>
  <resistor id="R2" value="3k" watts="10" construction="wirewound" a="plus" b="P1.2"/>
</chassis>)";
    const Chassis set = read(edited(half, "reference=\"gnd\"", "reference=\"P1.2\""));
    Bench bench = bench_of(set, faults_of(set, shipped()));
    const ThreatReport report = threats_of(set, shipped(), Policy{}, bench, std::span<const PartStress>()).value();
    const auto row = std::find_if(report.rows.begin(), report.rows.end(),
                                  [](const Threat& t) { return t.fault.id == "CR1 short" && !t.overloads.empty(); });
    REQUIRE(row != report.rows.end());
    const auto over =
        std::find_if(row->overloads.begin(), row->overloads.end(), [](const Overload& o) { return o.part == "C1"; });
    REQUIRE(over != row->overloads.end());
    CHECK(over->quantity == "reversed volts");
    // 40 uF are 66 ohm at 60 cycles: 117 V over |33 - j 66|, at the crest
    const double x = 1 / (2 * M_PI * 60 * 40e-6);
    CHECK(over->value == Approx(117 * std::sqrt(2.0) * x / std::hypot(33, x)).epsilon(0.05));
}

TEST_CASE("the chain of a short behind a tapped field in the return names the field") {
    const Chassis set = read(sound(text_of(TUBEWRIGHT_ROOT "/netlists/s2-heron-weir.xml")));
    Bench bench = bench_of(set, faults_of(set, shipped()));
    const ThreatReport report = threats_of(set, shipped(), Policy{}, bench, std::span<const PartStress>()).value();
    const auto row = std::find_if(report.rows.begin(), report.rows.end(),
                                  [](const Threat& t) { return t.fault.id == "C2 short" && t.target == "T1"; });
    REQUIRE(row != report.rows.end());
    CHECK(row->chain().find("L2 (800 ohm) limits the current") != std::string::npos);
}
