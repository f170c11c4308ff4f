// SPDX-License-Identifier: MIT
// Small signals against what any textbook says of a stage (mu RL / (rp + RL), its cathode bypassed or not, a follower),
// of a coil with a capacitor across it (Thomson, Q), and against differences of two operating points. The tubes' own mu
// and rp come from the solution: what is checked is the circuit around them.
#include <catch2/catch.hpp>

#include <cmath>
#include <numbers>

#include "sets.hpp"

namespace {

using namespace sets;

/// Parts on batteries: "bplus" 300 V, "heaters" 6.3 V, "gnd".
SmallSignal of(const std::string& parts, const std::string& grid_battery = "") {
    const std::string text = R"(<chassis version="1" name="a stage on batteries" reference="gnd" m-means="million">
  <node is="chassis-metal" net="gnd"/>
  <battery id="BT1" role="a" volts="6.3" plus="heaters" minus="gnd"/>
  <battery id="BT2" role="b" volts="300" plus="bplus" minus="gnd"/>
)" + grid_battery + R"(
  <capacitor id="C90" value="1000 mfd" volts="450" construction="dry-electrolytic" plus="bplus" minus="gnd"/>
)" + parts + "</chassis>\n";
    Bench bench = bench_of(read(text));
    const Outcome<SmallSignal> found = bench.small_signal(condition("normal"));
    if (!found) throw std::runtime_error(found.notices().front().text());
    return *found;
}

const StageGain& stage(const SmallSignal& found, const std::string& section) {
    for (const StageGain& one : found.stages)
        if (one.section == section) return one;
    throw std::runtime_error("no such section: " + section);
}

const std::string triode = R"(
  <socket id="V1" tube="12AX7"/>  <join at="heaters V1.4 V1.5"/>  <join at="gnd V1.9 V1.7 V1.8 V1.6"/>
  <resistor id="R1" value="100k" a="bplus" b="V1.1"/>
  <resistor id="R2" value="1.5k" a="V1.3" b="gnd"/>
  <resistor id="R3" value="1M" a="V1.2" b="gnd"/>
)";
const std::string bypass = R"(
  <capacitor id="C2" value="50 mfd" volts="25" construction="dry-electrolytic" plus="V1.3" minus="gnd"/>
)";
const std::string next_stage = R"(
  <capacitor id="C1" value=".1 mfd" volts="400" construction="film" a="V1.1" b="next"/>
  <resistor id="R4" value="220k" a="next" b="gnd"/>
)";

double parallel(double a, double b) {
    return a * b / (a + b);
}

}  // namespace

TEST_CASE("a bypassed triode stage amplifies mu RL / (rp + RL), its next grid leak in RL") {
    const SmallSignal found = of(triode + bypass + next_stage);
    const StageGain& one = stage(found, "triode 2");
    REQUIRE(one.gain);
    const double rp = *one.rp_ohms, mu = *one.gm_siemens * rp, load = parallel(100e3, 220e3);
    CHECK(*one.gain == Approx(-mu * load / (rp + load)).epsilon(2e-3));
    CHECK(*one.plate_source_ohms == Approx(parallel(rp, load)).epsilon(2e-3));
    CHECK(one.cathode == "bypassed");
    CHECK(one.hertz == 1000);
    CHECK_FALSE(stage(found, "triode 1").gain);  // its grid stands on ground
    CHECK_FALSE(stage(found, "triode 1").why_not.empty());
}

TEST_CASE("without its bypass the same stage loses what its cathode gives back") {
    const StageGain one = stage(of(triode), "triode 2");
    REQUIRE(one.gain);
    const double rp = *one.rp_ohms, mu = *one.gm_siemens * rp;
    CHECK(*one.gain == Approx(-mu * 100e3 / (rp + 100e3 + (mu + 1) * 1.5e3)).epsilon(2e-3));
    CHECK(*one.plate_source_ohms == Approx(parallel(rp + (mu + 1) * 1.5e3, 100e3)).epsilon(2e-3));
    CHECK(one.cathode == "not bypassed");
}

TEST_CASE("a cathode tied to the common net is neither bypassed nor left without") {
    const StageGain one =
        stage(of(edited(triode, R"(<resistor id="R2" value="1.5k" a="V1.3" b="gnd"/>)", R"(<join at="gnd V1.3"/>)")),
              "triode 2");
    CHECK(one.cathode == "at common");
    CHECK(one.cathode_gain == Approx(0).margin(1e-6));
}

TEST_CASE("a cathode bypassed to where the voice coil feeds back is bypassed, whatever comes from there") {
    // With the later tube dead the cathode follows what the foot alone leaves of it.
    const std::string parts = R"(
  <socket id="V1" tube="6J5"/>  <join at="heaters V1.7"/>  <join at="gnd V1.2"/>
  <resistor id="R1" value="47k" a="bplus" b="V1.3"/>  <resistor id="R3" value="1M" a="V1.5" b="gnd"/>
  <resistor id="R2" value="2.2k" a="V1.8" b="foot"/>  <resistor id="R4" value="47" a="foot" b="gnd"/>
  <resistor id="R5" value="1k" a="foot" b="voice"/>
  <socket id="V2" tube="6V6GT"/>  <join at="heaters V2.7"/>  <join at="gnd V2.2"/>  <join at="bplus V2.4"/>
  <resistor id="R6" value="330" watts="2" a="V2.8" b="gnd"/>  <resistor id="R7" value="470k" a="V2.5" b="gnd"/>
  <capacitor id="C1" value=".1 mfd" volts="400" construction="film" a="V1.3" b="V2.5"/>
  <transformer id="T1" role="output">
    <winding role="output-primary" leads="V2.3 bplus" ohms="150" impedance="5k"/>
    <winding role="output-secondary" leads="voice gnd" ohms=".1"/></transformer>
  <speaker id="LS1" ohms="8" a="voice" b="gnd"/>
)";
    const std::string to_foot =
        R"(<capacitor id="C2" value="50 mfd" volts="25" construction="dry-electrolytic" plus="V1.8" minus="foot"/>)";
    CHECK(of(parts).stages.front().cathode == "not bypassed");
    CHECK(of(parts + to_foot).stages.front().cathode == "bypassed");
    CHECK(of(edited(parts, R"(value="47" a)", R"(value="1k" a)") + to_foot).stages.front().cathode ==
          "partly bypassed");
}

TEST_CASE("a section that nobody wired is no stage") {
    const std::string half = R"(
  <socket id="V1" tube="12AX7"/>  <join at="heaters V1.4 V1.5"/>  <join at="gnd V1.9"/>
  <resistor id="R1" value="100k" a="bplus" b="V1.1"/>  <resistor id="R2" value="1.5k" a="V1.3" b="gnd"/>
  <resistor id="R3" value="1M" a="V1.2" b="gnd"/>
)";
    const SmallSignal found = of(half);
    REQUIRE(found.stages.size() == 1);
    CHECK(found.stages.front().gain);
}

TEST_CASE("a follower's signal leaves at its cathode, upright and less than one") {
    const StageGain one = stage(
        of(edited(triode, R"(<resistor id="R1" value="100k" a="bplus" b="V1.1"/>)", R"(<join at="bplus V1.1"/>)")),
        "triode 2");
    REQUIRE(one.gain);
    const double rp = *one.rp_ohms, mu = *one.gm_siemens * rp;
    CHECK(*one.gain == Approx(mu * 1.5e3 / (rp + (mu + 1) * 1.5e3)).epsilon(2e-3));
    CHECK(*one.source_ohms == Approx(parallel(1.5e3, rp / (mu + 1))).epsilon(2e-3));
}

TEST_CASE("both output tubes behind a split-load inverter amplify alike: a stage's gain is its own") {
    const std::string halves = R"(
  <socket id="V1" tube="6J5"/>  <join at="heaters V1.7"/>  <join at="gnd V1.2"/>
  <resistor id="R1" value="27k" a="bplus" b="V1.3"/>  <resistor id="R2" value="27k" a="V1.8" b="gnd"/>
  <resistor id="R3" value="1M" a="V1.5" b="at"/>  <resistor id="R4" value="47k" a="at" b="gnd"/>
  <resistor id="R5" value="150k" a="bplus" b="at"/>
  <socket id="V2" tube="6V6GT"/>  <join at="heaters V2.7"/>  <join at="gnd V2.2"/>  <join at="bplus V2.4"/>
  <socket id="V3" tube="6V6GT"/>  <join at="heaters V3.7"/>  <join at="gnd V3.2"/>  <join at="bplus V3.4"/>
  <join at="both V2.8 V3.8"/>  <resistor id="R6" value="270" a="both" b="gnd"/>
  <capacitor id="C1" value="50 mfd" volts="50" construction="dry-electrolytic" plus="both" minus="gnd"/>
  <resistor id="R7" value="470k" a="V2.5" b="gnd"/>  <resistor id="R8" value="470k" a="V3.5" b="gnd"/>
  <capacitor id="C2" value=".1 mfd" volts="400" construction="film" a="V1.3" b="V2.5"/>
  <capacitor id="C3" value=".1 mfd" volts="400" construction="film" a="V1.8" b="V3.5"/>
  <transformer id="T1" role="output">
    <winding role="output-primary" leads="V2.3 bplus V3.3" ohms="150 150" impedance="10k"/>
    <winding role="output-secondary" leads="voice gnd" ohms=".4"/></transformer>
  <speaker id="LS1" ohms="8" a="voice" b="gnd"/>
)";
    const SmallSignal found = of(halves);
    const auto gain = [&](std::size_t k) { return found.stages.at(k).gain.value_or(0); };
    REQUIRE(found.stages.size() == 3);
    CHECK(gain(1) < -3);
    CHECK(gain(2) == Approx(gain(1)).epsilon(0.01));
    // the inverter itself: as much down at its plate as up at its cathode, and a little less than one
    CHECK(gain(0) == Approx(-*found.stages[0].cathode_gain).epsilon(0.01));
    CHECK(gain(0) < -0.8);
    CHECK(gain(0) > -1);
    // what its plate is loaded by is still there: the next leak by its coupler
    const double rp = *found.stages[0].rp_ohms, mu = *found.stages[0].gm_siemens * rp, load = parallel(27e3, 470e3);
    CHECK(gain(0) == Approx(-mu * load / (rp + load + (mu + 1) * load)).epsilon(0.01));
}

TEST_CASE("a side of a long-tailed pair amplifies as with the other grid held, whichever it is") {
    const SmallSignal found = of(R"(
  <socket id="V1" tube="12AX7"/>  <join at="heaters V1.4 V1.5"/>  <join at="gnd V1.9"/>
  <resistor id="R1" value="150k" a="bplus" b="V1.1"/>  <resistor id="R2" value="150k" a="bplus" b="V1.6"/>
  <join at="V1.3 V1.8"/>  <resistor id="R3" value="33k" a="V1.3" b="gnd"/>
  <resistor id="R4" value="470k" a="V1.2" b="base"/>  <resistor id="R5" value="470k" a="V1.7" b="base"/>
  <resistor id="R6" value="47k" a="base" b="gnd"/>  <resistor id="R7" value="330k" a="bplus" b="base"/>
)");
    const StageGain &one = stage(found, "triode 1"), &other = stage(found, "triode 2");
    REQUIRE(one.gain);
    REQUIRE(other.gain);
    CHECK(*one.gain == Approx(*other.gain).epsilon(0.01));
    // mu RL / (rp + RL + (mu + 1) Z), Z: the tail beside the other cathode
    const double rp = *one.rp_ohms, mu = *one.gm_siemens * rp, load = 150e3, z = parallel(33e3, (rp + load) / (mu + 1));
    CHECK(*one.gain == Approx(-mu * load / (rp + load + (mu + 1) * z)).epsilon(0.01));
}

TEST_CASE("tubes side by side on stoppers of one drive are driven together, held apart by none") {
    const auto pair = [](const std::string& second) {
        return of(R"(
  <socket id="V1" tube="12AX7"/>  <join at="heaters V1.4 V1.5"/>  <join at="gnd V1.9"/>
  <resistor id="R1" value="100k" a="bplus" b="V1.1"/>  <join at="V1.1 V1.6"/>
  <resistor id="R2" value="1.5k" a="V1.3" b="gnd"/>  <join at="V1.3 V1.8"/>
  <capacitor id="C2" value="50 mfd" volts="25" construction="dry-electrolytic" plus="V1.3" minus="gnd"/>
  <resistor id="R3" value="1M" a="in" b="gnd"/>  <resistor id="R5" value="1k" a="in" b="V1.2"/>
)" + second);
    };
    const StageGain both = stage(pair(R"(<resistor id="R6" value="1k" a="in" b="V1.7"/>)"), "triode 2");
    const double rp = *both.rp_ohms, mu = *both.gm_siemens * rp;
    CHECK(*both.gain == Approx(-mu * 100e3 / (rp / 2 + 100e3)).epsilon(0.01));
}

TEST_CASE("a cathode is bypassed by its capacitor wherever B-plus comes from, and as far as that reaches") {
    const auto on_line = [](const std::string& at_cathode) {
        const std::string text =
            R"(<chassis version="1" name="a stage on a rectifier" reference="gnd" m-means="million">
  <line volts="117" hertz="60" hot="w1" neutral="w2"/>  <node is="chassis-metal" net="gnd" touch="yes"/>
  <transformer id="PT" role="power" va="40"><winding role="primary" leads="w1 w2" volts="117" ohms="9"/>
    <winding role="plate" leads="V9.3 gnd V9.5" noload-volts="250 250" ohms="200 200"/>
    <winding role="heater" leads="warm gnd" volts="6.3"/></transformer>
  <socket id="V9" tube="6X5GT"/>  <join at="warm V9.2"/>  <join at="gnd V9.7"/>  <join at="V9.8 bplus"/>
  <capacitor id="C9" value="16 mfd" volts="450" plus="bplus" minus="gnd"/>
  <socket id="V1" tube="6F6G"/>  <join at="warm V1.2"/>  <join at="gnd V1.7"/>  <join at="bplus V1.4"/>
  <transformer id="T1" role="output"><winding role="output-primary" leads="V1.3 bplus" ohms="250" impedance="7k"/>
    <winding role="output-secondary" leads="voice gnd" ohms=".4"/></transformer>
  <speaker id="LS1" ohms="4" a="voice" b="gnd"/>
  <resistor id="R3" value="470k" a="V1.5" b="gnd"/>
)" + at_cathode +
            "</chassis>\n";
        const Outcome<SmallSignal> found = bench_of(read(text)).small_signal(condition("normal"));
        REQUIRE(found);
        return found->stages.front();
    };
    const std::string whole = R"(<resistor id="R1" value="430" a="V1.8" b="gnd"/>)";
    const std::string split =
        R"(<resistor id="R1" value="220" a="V1.8" b="half"/><resistor id="R2" value="220" a="half" b="gnd"/>)";
    const auto electrolytic = [](const std::string& net) {
        return R"(<capacitor id="C1" value="25-25" plus=")" + net + R"(" minus="gnd"/>)";
    };
    CHECK(on_line(whole + electrolytic("V1.8")).cathode == "bypassed");
    CHECK(on_line(whole).cathode == "not bypassed");
    CHECK(on_line(split + electrolytic("half")).cathode == "partly bypassed");
    CHECK(on_line(whole + R"(<capacitor id="C1" value=".1 mfd" volts="200" a="V1.8" b="gnd"/>)").cathode ==
          "not bypassed");
}

TEST_CASE("a gain is the slope of the operating point") {
    // No capacitor takes part, so that the gain at 1,000 c is that of slow changes: two cells a little apart.
    const auto with_bias = [](const std::string& cell) {
        const std::string text = edited(triode, R"(a="V1.2" b="gnd")", R"(a="V1.2" b="bias")");
        const std::string battery =
            "<battery id=\"BT3\" role=\"c\" volts=\"" + cell + "\" plus=\"gnd\" minus=\"bias\"/>";
        const std::string whole =
            R"(<chassis version="1" name="a stage on batteries" reference="gnd" m-means="million">
  <node is="chassis-metal" net="gnd"/>
  <battery id="BT1" role="a" volts="6.3" plus="heaters" minus="gnd"/>
  <battery id="BT2" role="b" volts="300" plus="bplus" minus="gnd"/>)" +
            battery + text + "</chassis>\n";
        const Chassis set = read(whole);
        Bench bench = bench_of(set);
        const Outcome<Solution> solved = bench.solve(condition("normal"));
        REQUIRE(solved);
        return std::pair(dc(*solved, set, "V1.1"), dc(*solved, set, "V1.2"));
    };
    const auto [plate_low, grid_low] = with_bias(".49");
    const auto [plate_high, grid_high] = with_bias(".51");
    const StageGain one = stage(of(edited(triode, R"(a="V1.2" b="gnd")", R"(a="V1.2" b="bias")"),
                                   R"(<battery id="BT3" role="c" volts=".5" plus="gnd" minus="bias"/>)"),
                                "triode 2");
    REQUIRE(one.gain);
    CHECK(*one.gain == Approx((plate_high - plate_low) / (grid_high - grid_low)).epsilon(0.01));
}

TEST_CASE("an output stage works into the load that its transformer is marked for, whatever the voice coil") {
    for (const char* voice : {"3.2", "8", "15"}) {
        const StageGain one = stage(of(std::string(R"(
  <socket id="V1" tube="6V6GT"/>  <join at="heaters V1.7"/>  <join at="gnd V1.2"/>  <join at="bplus V1.4"/>
  <resistor id="R2" value="470" watts="2" a="V1.8" b="gnd"/>
  <capacitor id="C2" value="100 mfd" volts="50" construction="dry-electrolytic" plus="V1.8" minus="gnd"/>
  <resistor id="R3" value="470k" a="V1.5" b="gnd"/>
  <transformer id="T1" role="output">
    <winding role="output-primary" leads="V1.3 bplus" ohms="1" impedance="5k"/>
    <winding role="output-secondary" leads="voice gnd" ohms=".01"/>
  </transformer>
  <speaker id="LS1" a="voice" b="gnd" ohms=")") +
                                       voice + R"("/>
)"),
                                    "beam");
        REQUIRE(one.gain);
        CHECK(*one.gain == Approx(-*one.gm_siemens * parallel(*one.rp_ohms, 5e3)).epsilon(0.02));
    }
}

namespace {

const std::string tuned_stage = R"(
  <socket id="V1" tube="6SK7"/>  <join at="heaters V1.7"/>  <join at="gnd V1.2 V1.1 V1.3"/>
  <resistor id="R1" value="270" a="V1.5" b="gnd"/>
  <capacitor id="C1" value=".1 mfd" volts="200" construction="film" a="V1.5" b="gnd"/>
  <resistor id="R2" value="100k" a="bplus" b="V1.6"/>
  <capacitor id="C2" value=".1 mfd" volts="400" construction="film" a="V1.6" b="gnd"/>
  <resistor id="R3" value="1M" a="V1.4" b="gnd"/>
  <capacitor id="C3" value="50-120 mmf" construction="mica-trimmer" a="V1.8" b="bplus"/>
)";

}  // namespace

TEST_CASE(
    "a coil with henries rings where Thomson says, at both ends of its trimmer, as sharply as its losses let it") {
    const SmallSignal found =
        of(tuned_stage + R"(<coil id="L1" role="rf" henries=".001" ohms="20" a="V1.8" b="bplus"/>)");
    REQUIRE(found.tuned.size() == 1);
    const TunedCircuit& one = found.tuned.front();
    const double most = 1 / (2 * std::numbers::pi * std::sqrt(1e-3 * 120e-12));
    CHECK(one.coil == "L1");
    CHECK(one.capacitors.size() == 1);
    CHECK(*one.farads == Approx(120e-12).epsilon(1e-4));
    CHECK(*one.resonance_hertz == Approx(most).epsilon(1e-4));
    CHECK(*one.resonance_high_hertz == Approx(1 / (2 * std::numbers::pi * std::sqrt(1e-3 * 50e-12))).epsilon(1e-4));
    CHECK(one.why_not.empty());
    // In parallel: the coil's ohms as (w L)^2 / r, and the tube's rp.
    const StageGain& tube = stage(found, "pentode");
    const double x = 2 * std::numbers::pi * most * 1e-3, loss = parallel(x * x / 20, *tube.rp_ohms);
    CHECK(*one.solved_hertz == Approx(most).epsilon(1e-3));
    CHECK(*one.peak_ohms == Approx(loss).epsilon(5e-3));
    CHECK(*one.q == Approx(loss / x).epsilon(5e-3));
    REQUIRE(tube.gain);
    CHECK(tube.hertz == *one.solved_hertz);
    CHECK(*tube.gain == Approx(-*tube.gm_siemens * loss).epsilon(0.01));
}

TEST_CASE("the coupled circuit of an IF transformer takes its share of the first one's resonance") {
    // Two like circuits: the first's resistance at resonance falls from Z to Z / (1 + k^2 Q^2).
    const auto with = [](const std::string& second) {
        return of(tuned_stage + R"(
  <transformer id="T1" role="if">
    <winding role="rf" name="first" leads="V1.8 bplus" ohms="20" henries="1 mH"/>
    <winding role="rf" name="second" leads="det gnd" ohms="20" )" +
                  second + R"(/></transformer>
  <capacitor id="C9" value="120 mmf" construction="mica" a="det" b="gnd"/>)");
    };
    const double omega = 1 / std::sqrt(1e-3 * 120e-12), q = omega * 1e-3 / 20, peak = q * omega * 1e-3;
    for (const double k : {0.0, 0.002, 0.003}) {
        const SmallSignal found =
            with(k > 0 ? "henries=\"1 mH\" coupling=\"" + std::to_string(k) + "\"" : std::string("henries=\"1 mH\""));
        REQUIRE(found.tuned.size() == 2);
        for (const TunedCircuit& one : found.tuned) {
            REQUIRE(one.resonance_hertz);
            CHECK(*one.resonance_hertz == Approx(omega / (2 * std::numbers::pi)).epsilon(1e-4));
        }
        const StageGain& one = found.stages.front();
        REQUIRE(one.gain);
        CHECK(one.hertz == Approx(omega / (2 * std::numbers::pi)).epsilon(2e-3));
        const double load = peak / (1 + k * k * q * q);
        CHECK(*one.gain == Approx(-*one.gm_siemens * parallel(*one.rp_ohms, load)).epsilon(0.02));
    }
}

TEST_CASE("a transformer between stages loads its tube by its henries and steps up by their root") {
    const auto with = [](const std::string& primary, const std::string& second) {
        return of(R"(
  <socket id="V1" tube="6J5"/>  <join at="heaters V1.7"/>  <join at="gnd V1.2"/>
  <control id="R1" role="volume" value="500k" a="J1.1" b="gnd" wiper="V1.5"/>  <strip id="J1" lugs="1" location="input"/>
  <resistor id="R2" value="1k" a="V1.8" b="gnd"/>
  <capacitor id="C2" value="500 mfd" volts="25" construction="dry-electrolytic" plus="V1.8" minus="gnd"/>
  <transformer id="T1" role="interstage">
    <winding role="interstage-primary" leads="V1.3 bplus" ohms="100" )" +
                  primary + R"(/>
    <winding role="interstage-secondary" leads="V2.5 gnd" ohms="100" )" +
                  second + R"(/></transformer>
  <socket id="V2" tube="6V6GT"/>  <join at="heaters V2.7"/>  <join at="gnd V2.2"/>  <join at="bplus V2.4"/>
  <resistor id="R6" value="330" watts="2" a="V2.8" b="gnd"/>
  <capacitor id="C3" value="500 mfd" volts="50" construction="dry-electrolytic" plus="V2.8" minus="gnd"/>
  <transformer id="T2" role="output"><winding role="output-primary" leads="V2.3 bplus" ohms="150" impedance="5k"/>
    <winding role="output-secondary" leads="voice gnd" ohms=".1"/></transformer>
  <speaker id="LS1" ohms="8" a="voice" b="gnd"/>
)");
    };
    for (const SmallSignal& found :
         {with("henries=\"2\"", "henries=\"18\""), with("henries=\"2\" noload-volts=\"10\"", "noload-volts=\"30\"")}) {
        REQUIRE(found.stages.size() == 2);
        const StageGain &first = found.stages[0], &second = found.stages[1];
        INFO(first.why_not);
        REQUIRE(first.gain);
        const double rp = *first.rp_ohms, mu = *first.gm_siemens * rp, x = 2 * std::numbers::pi * 1000 * 2;
        CHECK(*first.gain == Approx(-mu * std::hypot(100, x) / std::hypot(rp + 100, x)).epsilon(5e-3));
        REQUIRE_FALSE(found.overall.empty());
        CHECK(std::fabs(found.overall.front().gain.value()) ==
              Approx(std::fabs(*first.gain * 3 * *second.gain)).epsilon(0.01));
    }
    CHECK_FALSE(with("", "").stages[0].gain);
}

TEST_CASE("a padder in series counts as one, a bypass in series as nothing to speak of") {
    const SmallSignal found = of(triode + R"(
  <coil id="L1" role="oscillator" henries=".0001" ohms="4" a="osc" b="padder"/>
  <capacitor id="C10" value="365 mmf" construction="air-variable" a="osc" b="gnd"/>
  <capacitor id="C11" value="400 mmf" construction="mica-trimmer" a="padder" b="gnd"/>
  <coil id="L2" role="rf" henries=".0002" ohms="4" a="grid" b="avc"/>
  <capacitor id="C12" value="100 mmf" construction="mica" a="grid" b="gnd"/>
  <capacitor id="C13" value=".05 mfd" construction="film" a="avc" b="gnd"/>
)");
    REQUIRE(found.tuned.size() == 2);
    CHECK(*found.tuned[0].farads == Approx(365e-12 * 400 / 765).epsilon(1e-4));
    CHECK(found.tuned[0].capacitors.size() == 2);
    CHECK(found.tuned[0].why_not.find("C10, C11") != std::string::npos);  // one end of their range
    CHECK_FALSE(found.tuned[0].resonance_high_hertz);
    CHECK(*found.tuned[1].farads == Approx(1 / (1 / 100e-12 + 1 / .05e-6)).epsilon(1e-4));
    CHECK(found.tuned[1].capacitors.size() == 1);
}

TEST_CASE("what the file does not hold is not computed, and says why") {
    const SmallSignal found = of(tuned_stage + R"(
  <transformer id="T1" role="if" khz="455">
    <winding role="rf" name="plate" leads="V1.8 bplus" ohms="14"/>
    <winding role="rf" name="grid" leads="next gnd" ohms="14"/>
  </transformer>)");
    REQUIRE(found.tuned.size() == 1);  // nothing is across the second winding
    const TunedCircuit& one = found.tuned.front();
    CHECK_FALSE(one.resonance_hertz);
    CHECK_FALSE(one.q);
    CHECK(one.why_not.find("henries") != std::string::npos);
    CHECK(*one.wanted_henries == Approx(1 / (std::pow(2 * std::numbers::pi * 455e3, 2) * 120e-12)).epsilon(1e-4));
    CHECK_FALSE(stage(found, "pentode").gain);
    CHECK(stage(found, "pentode").why_not.find("T1 plate") != std::string::npos);
}

TEST_CASE("stages in a row multiply: from the wiper of the volume control to the plate and the voice coil") {
    const Chassis set = read(text_of(amplifier));
    Bench bench = bench_of(set);
    const Outcome<SmallSignal> found = bench.small_signal(condition("normal"));
    REQUIRE(found);
    const auto of_section = [&](const std::string& from) {
        for (const StageGain& one : found->stages)
            if (set.nets()[static_cast<std::size_t>(one.from_net)].name == from) return one.gain.value();
        return 0.0;
    };
    REQUIRE(found->overall.size() == 2);
    CHECK(found->overall[0].gain.value() == Approx(of_section("V1.7") * of_section("V2.2")).epsilon(0.01));
    CHECK(std::fabs(found->overall[1].gain.value()) < found->overall[0].gain.value());
}

TEST_CASE("a battery or a direct line is a short for the signal, whichever net of the file comes first") {
    const auto fed_by = [](const std::string& feed, const std::string& plate, const std::string& cathode) {
        const Outcome<SmallSignal> found =
            bench_of(read(R"(<chassis version="1" name="fed" reference="gnd" m-means="million">
  <node is="chassis-metal" net="gnd"/>)" +
                          feed + R"(<socket id="V1" tube="6J5"/>  <join at="gnd V1.7"/>
  <resistor id="R3" value="470k" a="V1.5" b="gnd"/>)" +
                          plate + cathode + "</chassis>\n"))
                .small_signal(condition("normal"));
        REQUIRE(found);
        REQUIRE(found->stages.front().gain);
        return found->stages.front();
    };
    const std::string b_first = R"(<battery id="BT1" role="b" volts="135" ohms=".001" plus="b1" minus="gnd"/>
  <battery id="BT2" role="a" volts="6.3" ohms=".001" plus="V1.2" minus="gnd"/>)";
    const std::string direct_line = R"(<line volts="135" hertz="0" hot="b1" neutral="gnd"/>
  <battery id="BT2" role="a" volts="6.3" ohms=".001" plus="V1.2" minus="gnd"/>)";
    const std::string load = R"(<resistor id="R1" value="10k" a="b1" b="V1.3"/>)";
    const std::string bias = R"(<resistor id="R2" value="470" a="V1.8" b="gnd"/>)";
    const std::string bypassed = bias + R"(<capacitor id="C1" value="500 mfd" volts="25" plus="V1.8" minus="gnd"/>)";
    for (const std::string& feed : {b_first, direct_line}) {
        const StageGain one = fed_by(feed, load, bypassed);
        CHECK(*one.gain == Approx(-*one.gm_siemens * parallel(*one.rp_ohms, 10e3)).epsilon(5e-3));
        CHECK(one.cathode == "bypassed");
        const StageGain follows = fed_by(feed, R"(<join at="b1 V1.3"/>)", bias);
        const double rp = *follows.rp_ohms, mu = *follows.gm_siemens * rp;
        CHECK(*follows.gain == Approx(mu * 470 / (rp + (mu + 1) * 470)).epsilon(5e-3));
    }
    // what the battery has of its own ohms stands in the plate's way, and the next stage hears it
    const StageGain old = fed_by(edited(b_first, "ohms=\".001\"", "ohms=\"1000\""), load, bypassed);
    CHECK(*old.gain == Approx(-*old.gm_siemens * parallel(*old.rp_ohms, 11e3)).epsilon(5e-3));
}

TEST_CASE("the tubes at either end of a driver transformer work against each other, and neither shunts the other") {
    // Each half sees half of the load plate to plate: mu (Raa / 2) / (rp + Raa / 2), whatever the cathodes share.
    const auto pair = [](const std::string& tap, const std::string& cathodes) {
        return of(R"(
  <socket id="V1" tube="6J5GT"/>  <socket id="V2" tube="6J5GT"/>
  <join at="heaters V1.2 V2.2"/>  <join at="gnd V1.7 V2.7"/>
  <resistor id="R9" value="20k" a="bplus" b="T7.blue"/>
  <transformer id="T7" role="interstage">
    <winding role="interstage-primary" leads="T7.blue gnd" ohms="1.2k"/>
    <winding role="interstage-secondary" leads="V1.5 )" +
                  tap + R"( V2.5" ohms="4k 4k"/>
  </transformer>
  <transformer id="T8" role="output">
    <winding role="output-primary" leads="V1.3 bplus V2.3" ohms="100 100" impedance="20k"/>
    <winding role="output-secondary" leads="voice gnd" ohms=".1"/>
  </transformer>
  <speaker id="LS1" ohms="3.2" a="voice" b="gnd"/>
)" + cathodes);
    };
    const std::string shared = R"(<join at="V1.8 V2.8"/><resistor id="R1" value="470" watts="2" a="V1.8" b="gnd"/>)";
    const std::string tap_at_bias = R"(
  <resistor id="R2" value="10k" a="bias" b="gnd"/><battery id="BT3" role="c" volts="9" plus="gnd" minus="c9"/>
  <resistor id="R3" value="1k" a="bias" b="c9"/><join at="gnd V1.8 V2.8"/>)";
    for (const bool fixed : {false, true}) {
        const SmallSignal found = fixed ? pair("bias", tap_at_bias) : pair("gnd", shared);
        REQUIRE(found.stages.size() == 2);
        for (const StageGain& one : found.stages) {
            INFO(one.why_not);
            REQUIRE(one.gain);
            const double rp = *one.rp_ohms, mu = *one.gm_siemens * rp, half = 10e3;
            CHECK(*one.gain == Approx(-mu * half / (rp + half)).epsilon(0.03));
            CHECK(*one.cathode_gain == Approx(0).margin(0.02));
        }
    }
}

TEST_CASE("both grids of a push-pull pair are driven, one up and the other down, whatever brings them their signal") {
    // mu (Raa / 2) / (rp + Raa / 2): each half sees half of the load plate to plate
    for (const bool bypassed : {false, true}) {
        const SmallSignal found = of(R"(
  <socket id="V1" tube="6J5GT"/>  <socket id="V2" tube="6J5GT"/>
  <join at="heaters V1.2 V2.2"/>  <join at="gnd V1.7 V2.7"/>
  <resistor id="R2" value="470k" a="V1.5" b="gnd"/>  <resistor id="R3" value="470k" a="V2.5" b="gnd"/>
  <transformer id="T8" role="output">
    <winding role="output-primary" leads="V1.3 bplus V2.3" ohms="100 100" impedance="20k"/>
    <winding role="output-secondary" leads="voice gnd" ohms=".1"/>
  </transformer>
  <speaker id="LS1" ohms="3.2" a="voice" b="gnd"/>
  <join at="V1.8 V2.8"/><resistor id="R1" value="470" watts="2" a="V1.8" b="gnd"/>
)" + std::string(bypassed ? R"(<capacitor id="C1" value="100 mfd" volts="50" construction="dry-electrolytic"
     plus="V1.8" minus="gnd"/>)"
                          : ""));
        REQUIRE(found.stages.size() == 2);
        for (const StageGain& one : found.stages) {
            INFO(one.why_not);
            REQUIRE(one.gain);
            const double rp = *one.rp_ohms, mu = *one.gm_siemens * rp, half = 10e3;
            CHECK(*one.gain == Approx(-mu * half / (rp + half)).epsilon(0.03));
            CHECK(*one.cathode_gain == Approx(0).margin(0.02));
            CHECK(one.cathode == (bypassed ? "bypassed" : "not bypassed"));
        }
    }
}

TEST_CASE("a winding between stages is the load of the tube at its plate end, not of all that stand on its B-plus") {
    const SmallSignal found = of(R"(
  <socket id="V1" tube="12AX7"/>  <join at="heaters V1.4 V1.5"/>  <join at="gnd V1.9 V1.7 V1.8 V1.6"/>
  <join at="bplus V1.1"/>  <resistor id="R2" value="47k" a="V1.3" b="gnd"/>
  <resistor id="R3" value="1M" a="V1.2" b="gnd"/>
  <socket id="V2" tube="6J5GT"/>  <join at="heaters V2.2"/>  <join at="gnd V2.7"/>
  <resistor id="R5" value="470k" a="V2.5" b="gnd"/>  <resistor id="R6" value="1k" a="V2.8" b="gnd"/>
  <transformer id="T3" role="interstage">
    <winding role="interstage-primary" leads="V2.3 bplus" ohms="1.2k"/>
    <winding role="interstage-secondary" leads="next gnd" ohms="4k"/>
  </transformer>
  <resistor id="R7" value="470k" a="next" b="gnd"/>
)");
    REQUIRE(found.stages.size() == 3);
    for (const StageGain& one : found.stages) {
        if (one.section == "triode 2") {  // a follower: mu Rk / (rp + (mu + 1) Rk)
            REQUIRE(one.gain);
            const double rp = *one.rp_ohms, mu = *one.gm_siemens * rp;
            CHECK(*one.gain == Approx(mu * 47e3 / (rp + (mu + 1) * 47e3)).epsilon(0.01));
        } else if (one.section != "triode 1") {
            CHECK(one.why_not.find("T3 interstage-primary is an interstage winding") != std::string::npos);
        }
    }
}

TEST_CASE("a filament is bypassed by the capacitor at its winding's tap, whatever volts that is rated for") {
    const auto stage_with = [](const std::string& capacitor) {
        Bench bench = bench_of(read(R"(<chassis version="1" name="mains" reference="gnd" m-means="million">
  <line volts="117" hertz="60" hot="P1.1" neutral="P1.2"/><node is="chassis-metal" net="gnd" touch="yes"/>
  <plug id="P1" role="line"/>
  <transformer id="T1" role="power" va="65"><winding role="primary" leads="P1.1 P1.2" volts="117" ohms="7"/>
    <winding role="plate" leads="V5.2 gnd V5.3" volts="300" ohms="170 190"/>
    <winding role="rectifier-heater" leads="V5.1 V5.4" volts="5" amps="2"/>
    <winding role="heater" leads="f1 fct f2" volts="2.5" amps="3"/></transformer>
  <socket id="V5" tube="80"/>
  <capacitor id="C1" value="8 mfd" volts="450" plus="V5.1" minus="gnd" construction="dry-electrolytic"/>
  <coil id="L1" role="choke" henries="10" ohms="400" a="V5.1" b="bp"/>
  <capacitor id="C2" value="16 mfd" volts="450" plus="bp" minus="gnd" construction="dry-electrolytic"/>
  <socket id="V4" tube="45"/><join at="f1 V4.1"/><join at="f2 V4.4"/>
  <resistor id="R3" value="1500" watts="5" a="fct" b="gnd"/><resistor id="R4" value="470k" a="V4.3" b="gnd"/>
  <transformer id="T2" role="output"><winding role="output-primary" leads="V4.2 bp" ohms="200" impedance="4k"/>
    <winding role="output-secondary" leads="voice gnd" ohms=".4"/></transformer>
  <speaker id="LS1" ohms="3.2" a="voice" b="gnd"/>
)" + capacitor + "</chassis>"));
        const Outcome<SmallSignal> found = bench.small_signal(condition("normal"));
        REQUIRE(found);
        REQUIRE(found->stages.size() == 1);
        REQUIRE(found->stages.front().gain);
        return found->stages.front();
    };
    const StageGain bare = stage_with("");
    CHECK(bare.cathode == "not bypassed");
    const StageGain bypassed = stage_with(
        R"(<capacitor id="C3" value="10 mfd" volts="100" plus="fct" minus="gnd" construction="dry-electrolytic"/>)");
    CHECK(bypassed.cathode == "bypassed");
    CHECK(std::fabs(*bypassed.gain) > 1.5 * std::fabs(*bare.gain));
}

TEST_CASE("a leak to the foot of a split load's own bias has the signal at either end, and loads it that little") {
    const StageGain one = stage(of(R"(
  <socket id="V1" tube="12AX7"/>  <join at="heaters V1.4 V1.5"/>  <join at="gnd V1.9 V1.7 V1.8 V1.6"/>
  <resistor id="R1" value="100k" a="bplus" b="V1.1"/>  <resistor id="R2" value="1.5k" a="V1.3" b="foot"/>
  <resistor id="R3" value="100k" a="foot" b="gnd"/>  <resistor id="R4" value="100k" a="V1.2" b="foot"/>
  <capacitor id="C1" value=".1 mfd" volts="400" construction="film" a="V1.2" b="in"/>
  <resistor id="R5" value="1k" a="in" b="gnd"/>
)"),
                                "triode 2");
    REQUIRE(one.gain);
    // Three equations: the current i of the plate leaves by the cathode, the leak brings (1 - f) / R4 to the foot f.
    //   i (rp + RL) = mu (1 - k) - k;   k = f + i Rk;   f / R3 = i + (1 - f) / R4
    const double rp = *one.rp_ohms, mu = *one.gm_siemens * rp, load = 100e3, rk = 1.5e3, r3 = 100e3, r4 = 100e3;
    const double foot_ohms = parallel(r3, r4), alone = foot_ohms / r4;  // f = alone + i foot_ohms
    const double i = (mu - (mu + 1) * alone) / (rp + load + (mu + 1) * (rk + foot_ohms));
    CHECK(*one.gain == Approx(-i * load).epsilon(0.01));
    CHECK(*one.cathode_gain == Approx(alone + i * (foot_ohms + rk)).epsilon(0.01));
}
