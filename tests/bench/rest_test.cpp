// SPDX-License-Identifier: MIT
// Whether a set rests: the textbook's oscillator of three equal lengths of R and C, which asks for a gain of 29 and
// turns at 1/(2 pi sqrt(6) R C) (algebra of the ladder, in every textbook of feedback); stages on one rail with and
// without decoupling; feedback from an output transformer the right and the wrong way round (sign alone).
#include <algorithm>
#include <cmath>
#include <numbers>

#include <catch2/catch.hpp>

#include "bench/bands.hpp"
#include "bench/numbers.hpp"
#include "sets.hpp"

using namespace sets;

namespace {

const std::string head = R"(
<chassis version="1" name="Rest" built="1950" reference="gnd" paper="wax-paper" electrolytic="dry-electrolytic"
         resistor="carbon-composition" m-means="million">
  <line volts="117" hertz="60" hot="P1.1" neutral="P1.2"/>
  <node is="chassis-metal" net="gnd"/>
  <plug id="P1" role="line"/>
  <transformer id="T1" role="power" va="60">
    <winding role="primary" leads="P1.1 P1.2" volts="117" ohms="5"/>
    <winding role="plate" leads="V9.1 gnd V9.6" noload-volts="260 260" ohms="120 130"/>
    <winding role="heater" leads="h gnd" noload-volts="6.3" ohms=".02"/>
  </transformer>
  <socket id="V9" tube="6X4"/>
  <join at="h V9.3"/>
  <join at="gnd V9.4"/>
  <join at="first V9.7"/>
  <capacitor id="C90" value="40 mfd" volts="450" plus="first" minus="gnd"/>
  <resistor id="R90" value="1k" watts="5" a="first" b="bplus"/>
  <capacitor id="C91" value="16 mfd" volts="450" plus="bplus" minus="gnd"/>
)";

bool told_restless(const std::string& body) {
    const Chassis set = read(head + body + "</chassis>");
    const Outcome<Solution> found = bench_of(set).solve(Condition{});
    REQUIRE(found);
    return std::any_of(found.notices().begin(), found.notices().end(),
                       [](const Notice& one) { return one.number == messages::no_rest; });
}

/// A triode whose plate comes back to its grid by three lengths of .001 uF and 2.2 meg.
std::string ladder(const char* tube, const char* bypass) {
    return std::string(R"(<socket id="V1" tube=")") + tube + R"("/>
  <join at="h V1.4 V1.5"/>
  <join at="gnd V1.9"/>
  <resistor id="R1" value="100k" watts="1" a="bplus" b="V1.1"/>
  <resistor id="R2" value="1.5k" watts="1/2" a="V1.3" b="gnd"/>)" +
           bypass + R"(
  <capacitor id="C1" value=".001 mfd" volts="600" a="V1.1" b="one"/>
  <resistor id="R3" value="2.2 meg" watts="1/2" a="one" b="gnd"/>
  <capacitor id="C2" value=".001 mfd" volts="600" a="one" b="two"/>
  <resistor id="R4" value="2.2 meg" watts="1/2" a="two" b="gnd"/>
  <capacitor id="C3" value=".001 mfd" volts="600" a="two" b="V1.2"/>
  <resistor id="R5" value="2.2 meg" watts="1/2" a="V1.2" b="gnd"/>)";
}
const char* bypassed = R"(<capacitor id="C4" value="50 mfd" volts="25" plus="V1.3" minus="gnd"/>)";

/// Two stages of a 12AX7 and an output pentode; `first_rail` feeds the first plate.
std::string three_stages(const std::string& first_rail, const std::string& more) {
    return R"(<socket id="V2" tube="EL84"/>
  <socket id="V1" tube="12AX7"/>
  <join at="h V2.4 V1.4 V1.5"/>
  <join at="gnd V2.5 V1.9"/>
  <transformer id="T2" role="output">
    <winding role="output-primary" leads="V2.7 first" ohms="250" impedance="5.2k"/>
    <winding role="output-secondary" leads="voice gnd" ohms=".4"/>
  </transformer>
  <speaker id="LS1" ohms="3.2" a="voice" b="gnd"/>
  <join at="V2.9 bplus"/>
  <resistor id="R2" value="135" watts="1" a="V2.3" b="gnd"/>
  <capacitor id="C3" value="25 mfd" volts="25" plus="V2.3" minus="gnd"/>
  <resistor id="R3" value="470k" a="V2.2" b="gnd"/>
  <capacitor id="C4" value=".02 mfd" volts="400" a="V1.6" b="V2.2"/>
  <resistor id="R4" value="100k" a="bplus" b="V1.6"/>
  <resistor id="R5" value="1.5k" a="V1.8" b="gnd"/>
  <resistor id="R6" value="1 meg" a="V1.7" b="gnd"/>
  <resistor id="R7" value="100k" a=")" +
           first_rail + R"(" b="V1.1"/>
  <resistor id="R8" value="1.5k" a="V1.3" b="gnd"/>
  <resistor id="R9" value="1 meg" a="V1.2" b="gnd"/>
  <capacitor id="C5" value=".02 mfd" volts="400" a="V1.1" b="V1.7"/>)" +
           more;
}
const std::string decoupled = three_stages("b3", R"(<resistor id="R10" value="22k" watts="1" a="bplus" b="b3"/>
  <capacitor id="C8" value="8 mfd" volts="450" plus="b3" minus="gnd"/>)");

}  // namespace

TEST_CASE("a ladder of three equal lengths turns a stage of more than 29 into an oscillator, and one of less not") {
    CHECK(told_restless(ladder("12AX7", bypassed)));        // some 60
    CHECK_FALSE(told_restless(ladder("12AU7", bypassed)));  // some 14
    CHECK_FALSE(told_restless(ladder("12AU7", "")));
}

TEST_CASE("the ladder's oscillator turns at the frequency of the textbook") {
    const Chassis set = read(head + ladder("12AX7", bypassed) + "</chassis>");
    Policy policy;
    const auto models = bench::tube_models(set, shipped());
    REQUIRE(models);
    auto made = bench::translate(set, shipped(), policy, *models, {}, {}, 60, nullptr);
    REQUIRE(made);
    bench::Rig rig;
    auto translation = std::make_shared<const bench::Translation>(std::move(*made));
    rig.full = std::make_unique<circuit::Engine>(translation->full);
    rig.twin = std::make_unique<circuit::Engine>(translation->twin);
    rig.full->tie_islands(true);
    rig.twin->tie_islands(true);
    rig.translation = translation;
    const bench::Setting setting = bench::setting_of(*translation, set, policy, Condition{});
    const bench::Solved solved = bench::shoot(rig, setting, {}, 64, true, nullptr);
    REQUIRE(solved.ok);
    const circuit::Engine::Growing growing = rig.full->growing(solved.wave, 2e-3, solved.overrides);
    CHECK(growing.modes == 2);  // one that turns to and fro
    const double textbook = 1 / (2 * std::numbers::pi * std::sqrt(6.0) * 2.2e6 * 1e-9);
    CHECK(growing.hertz > textbook / 2);  // at twice the gain that it needs it grows faster than it turns
    CHECK(growing.hertz < 2 * textbook);
}

TEST_CASE("three stages on one rail motor-boat, and are solved and told so; decoupled they rest") {
    CHECK(told_restless(three_stages("bplus", "")));
    CHECK_FALSE(told_restless(decoupled));
}

TEST_CASE("a decoupling capacitor that opens is told to unsettle the set, another is not") {
    const Chassis set = read(head + decoupled + "</chassis>");
    std::vector<Fault> faults;
    for (const auto& [id, mode] : {std::pair("C8", FaultMode::open), std::pair("R10", FaultMode::short_circuit),
                                   std::pair("C3", FaultMode::open)}) {
        Fault f;
        f.id = id;
        f.part = set.part(id);
        f.mode = mode;
        f.lead_a = 0;
        f.lead_b = 1;
        f.ohms = mode == FaultMode::open ? 0 : 0.1;
        faults.push_back(f);
    }
    Bench bench = bench_of(set, faults);
    const std::vector<FaultSolution> found = bench.sweep(Condition{}, faults);
    for (std::size_t k = 0; k < faults.size(); ++k) {
        INFO(faults[k].id);
        REQUIRE(found[k].solved);
        CHECK(found[k].restless.empty() == (faults[k].id == "C3"));
    }
}

TEST_CASE("feedback from the voice coil the wrong way round is told, the right way is not") {
    const auto fed = [](const char* secondary) {
        std::string text = three_stages("b3", R"(<resistor id="R10" value="22k" watts="1" a="bplus" b="b3"/>
  <capacitor id="C8" value="8 mfd" volts="450" plus="b3" minus="gnd"/>
  <resistor id="R11" value="1k" a="voice" b="V1.3"/>)");
        return edited(text, "leads=\"voice gnd\"", secondary);
    };
    // the second stage inverts what the first gives, and the pentode once more: plate against plate of the first grid
    const bool one = told_restless(fed("leads=\"voice gnd\"")), other = told_restless(fed("leads=\"gnd voice\""));
    CHECK(one != other);
}

TEST_CASE("a set on batteries rests at its operating point, whatever would grow about it") {
    const std::string battery =
        edited(edited(head, head.substr(head.find("<line"), head.find("<node") - head.find("<line")), ""),
               head.substr(head.find("<plug"), head.find("<resistor id=\"R90\"") - head.find("<plug")),
               R"(<battery id="BT1" role="b" volts="250" plus="first" minus="gnd"/>
           <battery id="BT2" role="a" volts="6" plus="h" minus="gnd"/>)");
    const Chassis set = read(battery + three_stages("bplus", "") + "</chassis>");
    const Outcome<Solution> found = bench_of(set).solve(Condition{});
    REQUIRE(found);
    for (const NetVolts& net : found->nets) {
        INFO(net.name);
        CHECK(net.ripple_pp.value() < 1e-6);
    }
}
