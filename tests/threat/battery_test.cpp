// SPDX-License-Identifier: MIT
// A farm set of two tubes on an A battery of 1.4 V and a B battery of 90 V, made up: what its batteries can do to it.
// Expected: Ohm's law for what a battery of known ohms gives, and the custom of the trade that B-plus on A-plus burns
// every filament (common practice, no source).
#include <algorithm>
#include <array>
#include <cmath>

#include <catch2/catch.hpp>

#include "../bench/sets.hpp"
#include "threat/threat.hpp"

using namespace sets;

namespace {

const std::string farm_text =
    R"(<chassis version="1" name="Long Acre" built="1948" reference="gnd" paper="wax-paper" m-means="thousand">
  <battery id="BT1" role="a" volts="1.5" ohms=".5" plus="fil" minus="gnd"/>
  <battery id="BT2" role="b" volts="90" ohms="40" plus="bplus" minus="gnd"/>
  <node is="chassis-metal" net="gnd"/>
  <socket id="V1" tube="1U5"/>
  <join at="gnd V1.1"/>
  <join at="fil V1.7"/>
  <resistor id="R1" value="1 meg" watts="1/2" a="bplus" b="V1.5"/>
  <resistor id="R2" value="3.3 meg" watts="1/2" a="bplus" b="V1.4"/>
  <capacitor id="C1" value=".05 mfd" volts="200" a="V1.4" b="gnd"/>
  <resistor id="R3" value="4.7 meg" watts="1/2" a="V1.6" b="gnd"/>
  <capacitor id="C2" value=".005 mfd" volts="400" a="V1.5" b="V2.3"/>
  <socket id="V2" tube="3S4"/>
  <join at="gnd V2.5"/>
  <join at="fil V2.1 V2.7"/>
  <resistor id="R4" value="2.2 meg" watts="1/2" a="V2.3" b="cminus"/>
  <battery id="BT3" role="c" volts="7.5" plus="gnd" minus="cminus"/>
  <transformer id="T1" role="output">
    <winding role="output-primary" leads="V2.2 bplus" ohms="500" impedance="8k"/>
    <winding role="output-secondary" leads="voice gnd" ohms=".4"/>
  </transformer>
  <join at="bplus V2.4"/>
  <speaker id="LS1" ohms="3.2" a="voice" b="gnd"/>
  <capacitor id="C3" value="8 mfd" volts="150" construction="dry-electrolytic" plus="bplus" minus="gnd"/>
</chassis>)";

const Fault& fault(const std::vector<Fault>& of, const std::string& id) {
    const auto found = std::find_if(of.begin(), of.end(), [&](const Fault& f) { return f.id == id; });
    REQUIRE(found != of.end());
    return *found;
}

struct Farm {
    Chassis set = read(farm_text);
    std::vector<Fault> faults = faults_of(set, shipped());
    Bench bench = bench_of(set, faults);
    Solution healthy = *bench.solve(Condition{});
    Solution with(const std::string& id) {
        const FaultSolution found = bench.solve(Condition{}, std::array{fault(faults, id)}, false);
        INFO(found.why);
        REQUIRE(found.solved);
        return found.solution;
    }
};

/// The set with its file edited, solved cold.
Solution edited_farm(const std::string& from, const std::string& to, const std::string& net, double& volts) {
    const Chassis set = read(edited(farm_text, from, to));
    Solution found = *bench_of(set).solve(Condition{});
    volts = dc(found, set, net);
    return found;
}

}  // namespace

TEST_CASE("B-plus on A-plus burns every filament on it") {
    Farm farm;
    const Solution burnt = farm.with("BT2 plus on BT1 plus");
    // 1.5 V behind .5 ohm and 90 V behind 40.1 ohm on filaments of .15 A at 1.4 V, whose amperes rise as V^.55 to .6
    const double fil = dc(burnt, farm.set, "fil");
    const double given = (1.5 - fil) / 0.5 + (90 - fil) / 40.1;
    CHECK(given > 0.15 * std::pow(fil / 1.4, 0.55) - 0.01);
    CHECK(given < 0.15 * std::pow(fil / 1.4, 0.60) + 0.01);
    CHECK(fil > 1.1 * 1.4);

    const ThreatReport report =
        threats_of(farm.set, shipped(), Policy{}, farm.bench, std::span<const PartStress>()).value();
    for (const char* tube : {"V1", "V2"})
        CHECK(std::any_of(report.rows.begin(), report.rows.end(), [&](const Threat& row) {
            return row.fault.id == "BT2 plus on BT1 plus" && row.target == tube && row.beta > 0;
        }));
}

TEST_CASE("A battery the wrong way round is the set with its leads exchanged in the file") {
    Farm farm;
    double volts = 0;
    const Solution turned = edited_farm(R"(volts="90" ohms="40" plus="bplus" minus="gnd")",
                                        R"(volts="90" ohms="40" plus="gnd" minus="bplus")", "bplus", volts);
    CHECK(volts < -85);
    CHECK(dc(farm.with("BT2 reversed"), farm.set, "bplus") == Approx(volts).epsilon(1e-6));
}

TEST_CASE("A battery that opens is the set without it") {
    Farm farm;
    double volts = 0;
    const Solution without =
        edited_farm(R"(<battery id="BT3" role="c")", R"(<battery id="BT3" state="out" role="c")", "cminus", volts);
    const Solution open = farm.with("BT3 open");
    // without bias the output tube draws more; the grid itself hangs on its resistor and what leaks
    const auto plate = [&](const Solution& s) {
        const auto found = std::find_if(s.branches.begin(), s.branches.end(), [&](const Branch& b) {
            return b.part == farm.set.part("V2") && b.lead.starts_with("p");
        });
        REQUIRE(found != s.branches.end());
        return found->dc.value();
    };
    CHECK(plate(open) > 1.5 * plate(farm.healthy));
    CHECK(plate(open) == Approx(plate(without)).epsilon(0.02));
}

TEST_CASE("A battery run down gives the least volts of its spread, behind the most ohms") {
    Farm farm;
    const double before = dc(farm.healthy, farm.set, "bplus"), after = dc(farm.with("BT2 run down"), farm.set, "bplus");
    CHECK(after < 0.85 * before);
    CHECK(after > 0.4 * before);
}

TEST_CASE("The battery of a vehicle is an accumulator and no dry one") {
    const Chassis set = read(text_of(TUBEWRIGHT_ROOT "/netlists/s8-drover-gap.xml"));
    CHECK(set.parts()[static_cast<std::size_t>(set.part("BT1"))].construction == "lead-battery");
}
