// SPDX-License-Identifier: MIT
// Output transformers of many windings and taps against the algebra of turns: ohms go by the square of the turns, volts
// by the turns, and what a plate works into is what hangs on all windings, carried over. A stage's gain is then
// gm (rp || load), mu (Raa / 2) / (rp + Raa / 2) of a pair.
#include <catch2/catch.hpp>

#include <cmath>

#include "bench/output_turns.hpp"
#include "sets.hpp"

namespace {

using namespace sets;
using tubewright::bench::output_turns, tubewright::bench::OutputTurns, tubewright::bench::OutputWinding;

std::string on_batteries(const std::string& parts) {
    return R"(<chassis version="1" name="an output stage on batteries" reference="gnd" m-means="million">
  <node is="chassis-metal" net="gnd"/>
  <battery id="BT1" role="a" volts="6.3" ohms=".001" plus="heaters" minus="gnd"/>
  <battery id="BT2" role="b" volts="300" ohms=".001" plus="bplus" minus="gnd"/>
)" + parts +
           "</chassis>\n";
}

/// One beam tube; `windings` of its transformer, what hangs on them.
std::string single(const std::string& windings, const std::string& load) {
    return on_batteries(R"(
  <socket id="V1" tube="6V6GT"/>  <join at="heaters V1.7"/>  <join at="gnd V1.2"/>  <join at="bplus V1.4"/>
  <resistor id="R2" value="470" watts="2" a="V1.8" b="gnd"/>
  <capacitor id="C2" value="100 mfd" volts="50" construction="dry-electrolytic" plus="V1.8" minus="gnd"/>
  <control id="R3" role="volume" value="470k" a="J1.1" b="gnd" wiper="V1.5"/>  <strip id="J1" lugs="1" location="input"/>
  <transformer id="T1" role="output">)" +
                        windings + "</transformer>" + load);
}
const std::string plain_primary = R"(<winding role="output-primary" leads="V1.3 bplus" ohms="1" impedance="5k"/>)";

std::string secondary(const std::string& leads, const std::string& more) {
    return "<winding role=\"output-secondary\" leads=\"" + leads + "\" " + more + "/>";
}
std::string speaker(const std::string& ohms, const std::string& a = "t8", const std::string& b = "gnd") {
    static int count = 0;
    return "<speaker id=\"LS" + std::to_string(++count) + "\" ohms=\"" + ohms + "\" a=\"" + a + "\" b=\"" + b + "\"/>";
}

OutputTurns turns(const std::string& text) {
    const Chassis set = read(text);
    return output_turns(set, set.parts()[static_cast<std::size_t>(set.part("T1"))]);
}
/// Ohms that so many sections present, from the front.
double ohms_of(const OutputWinding& one, std::size_t from, std::size_t to) {
    double sum = 0;
    for (std::size_t k = from; k < to; ++k) sum += one.turns[k];
    return sum * sum;
}

SmallSignal gains(const std::string& text) {
    Bench bench = bench_of(read(text));
    const Outcome<SmallSignal> found = bench.small_signal(condition("normal"));
    if (!found) throw std::runtime_error(found.notices().front().text());
    return *found;
}
/// What the plate works into, from its gain.
double load_of(const SmallSignal& found) {
    const StageGain& one = found.stages.front();
    const double whole = -one.gain.value() / *one.gm_siemens;
    return 1 / (1 / whole - 1 / *one.rp_ohms);
}
/// Watts of the speakers, the grid driven to its cathode.
double watts(const std::string& text) {
    const Chassis set = read(text);
    Bench bench = bench_of(set);
    const Outcome<Solution> found = bench.solve(condition("signal-peak"));
    if (!found) throw std::runtime_error(found.notices().front().text());
    double sum = 0;
    for (const Branch& branch : found->branches)
        if (set.parts()[static_cast<std::size_t>(branch.part)].kind == PartKind::speaker) sum += branch.watts.value();
    return sum;
}

}  // namespace

TEST_CASE("taps for 4, 8 and 16 ohm stand at the roots of their ohms, whichever end is common") {
    const std::string load = speaker("8");
    for (const char* more : {"ohms=\".3 .2 .3\"", "", "impedance=\"4 8 16\""}) {
        const OutputWinding one =
            turns(single(plain_primary + secondary("gnd t4 t8 t16", more), load)).secondaries.at(0);
        CHECK(ohms_of(one, 0, 1) == Approx(4));
        CHECK(ohms_of(one, 0, 2) == Approx(8));
        CHECK(ohms_of(one, 0, 3) == Approx(16));
        CHECK(one.from == 0);
        CHECK(one.to == 2);
    }
    const OutputWinding back = turns(single(plain_primary + secondary("t16 t8 t4 gnd", ""), load)).secondaries.at(0);
    CHECK(ohms_of(back, 0, 3) == Approx(16));
    CHECK(ohms_of(back, 1, 3) == Approx(8));
    CHECK(ohms_of(back, 2, 3) == Approx(4));
    // without names and marks: by volts read, by copper, else by where the load hangs
    const std::string words = speaker("8", "grey");
    const OutputWinding read_so =
        turns(single(plain_primary + secondary("gnd white grey red", "noload-volts=\"4 1.66 2.34\""), words))
            .secondaries.at(0);
    CHECK(ohms_of(read_so, 0, 2) == Approx(8));
    CHECK(ohms_of(read_so, 0, 3) == Approx(8 * std::pow(8 / 5.66, 2)));
    const OutputWinding copper =
        turns(single(plain_primary + secondary("gnd white grey red", "ohms=\".3 .2 .3\""), words)).secondaries.at(0);
    CHECK(ohms_of(copper, 0, 2) == Approx(8));
    CHECK(ohms_of(copper, 0, 1) == Approx(8 * .36));
    const OutputWinding marked =
        turns(single(plain_primary + secondary("gnd grey red", "impedance=\"16\""), words)).secondaries.at(0);
    CHECK(ohms_of(marked, 0, 1) == Approx(8));
    CHECK(ohms_of(marked, 0, 2) == Approx(16));
    CHECK_FALSE(turns(single(plain_primary + secondary("gnd grey red", ""), words)).assumptions.empty());
}

TEST_CASE("every tap with its own speaker gives the plate the same load, the same gain and the same watts") {
    const std::string plain = single(plain_primary + secondary("gnd vc", "ohms=\".01\""), speaker("8", "vc"));
    const double gain = gains(plain).stages.front().gain.value(), power = watts(plain);
    CHECK(load_of(gains(plain)) == Approx(5000).epsilon(0.02));
    CHECK(power > 1);
    const std::string taps = plain_primary + secondary("gnd t4 t8 t16", "ohms=\".004 .003 .003\"");
    for (const char* ohms : {"4", "8", "16"}) {
        const std::string text = single(taps, speaker(ohms, std::string("t") + ohms));
        CHECK(gains(text).stages.front().gain.value() == Approx(gain).epsilon(0.01));
        CHECK(watts(text) == Approx(power).epsilon(0.02));
        // from the wiper: the speaker's volts are the plate's by the turns
        const SmallSignal found = gains(text);
        REQUIRE(found.overall.size() == 2);
        CHECK(std::fabs(*found.overall[1].gain) ==
              Approx(std::fabs(*found.overall[0].gain) * std::sqrt(std::stod(ohms) / 5000)).epsilon(0.01));
    }
    // 16 ohm on the tap for 8: twice the load
    CHECK(load_of(gains(single(taps, speaker("16", "t8")))) == Approx(10000).epsilon(0.02));
}

TEST_CASE("a second secondary is wound too: its volts by its turns, its load beside the other's") {
    const std::string windings = plain_primary + secondary("vc gnd", "name=\"s1\" ohms=\".01\"") +
                                 secondary("f gnd", "name=\"fb\" ohms=\".1\" impedance=\"500\"");
    const OutputTurns both = turns(single(windings, speaker("8", "vc")));
    REQUIRE(both.secondaries.size() == 2);
    CHECK(ohms_of(both.secondaries[0], 0, 1) == Approx(8));
    CHECK(ohms_of(both.secondaries[1], 0, 1) == Approx(500));
    CHECK(load_of(gains(single(windings, speaker("8", "vc")))) == Approx(5000).epsilon(0.02));
    const std::string line = R"(<resistor id="R9" value="500" a="f" b="gnd"/>)";
    CHECK(load_of(gains(single(windings, speaker("8", "vc") + line))) == Approx(2500).epsilon(0.02));
    // a shield is no winding, and what is called other with an impedance is one
    const std::string other = R"(<winding role="other" leads="T1.grey gnd")";
    CHECK(turns(single(windings + other + "/>", speaker("8", "vc"))).secondaries.size() == 2);
    CHECK(turns(single(windings + other + " impedance=\"125\"/>", speaker("8", "vc"))).secondaries.size() == 3);
    // volts read off both windings and the primary are the turns, whatever else is marked
    const OutputTurns read_so = turns(
        single(R"(<winding role="output-primary" leads="V1.3 bplus" ohms="1" noload-volts="100" impedance="5k"/>)" +
                   secondary("vc gnd", "name=\"s1\" noload-volts=\"5\"") +
                   secondary("f gnd", "name=\"fb\" noload-volts=\"20\""),
               speaker("8", "vc")));
    CHECK(ohms_of(read_so.secondaries[0], 0, 1) == Approx(12.5));
    CHECK(ohms_of(read_so.secondaries[1], 0, 1) == Approx(200));
}

TEST_CASE("two speakers are one load: 4 ohm side by side, 16 in a row, in the turns, the gain and the watts") {
    const std::string windings = plain_primary + secondary("gnd vc", "ohms=\".01\"");
    const std::string one = single(windings, speaker("8", "vc"));
    const std::string beside = single(windings, speaker("8", "vc") + speaker("8", "vc"));
    const std::string in_a_row = single(windings, speaker("8", "vc", "mid") + speaker("8", "mid", "gnd"));
    CHECK(ohms_of(turns(beside).secondaries.at(0), 0, 1) == Approx(4));
    CHECK(ohms_of(turns(in_a_row).secondaries.at(0), 0, 1) == Approx(16));
    for (const std::string& text : {beside, in_a_row}) {
        CHECK(load_of(gains(text)) == Approx(5000).epsilon(0.02));
        CHECK(watts(text) == Approx(watts(one)).epsilon(0.02));
    }
}

TEST_CASE("a primary's load stands from its plate to where B-plus comes in; a hum tap lies beyond") {
    const auto with = [](const std::string& primary) {
        return edited(single(primary + secondary("vc gnd", "ohms=\".01\""), speaker("4", "vc")),
                      "<join at=\"bplus V1.4\"/>",
                      R"(<join at="rest V1.4"/><resistor id="R1" value="1k" a="hum" b="rest"/>
  <capacitor id="C1" value="40 mfd" volts="450" construction="dry-electrolytic" plus="rest" minus="gnd"/>)");
    };
    const std::string hum = R"(<winding role="output-primary" leads="V1.3 bplus hum" ohms="250 15" impedance="5k")";
    const OutputWinding copper = turns(with(hum + "/>")).primaries.at(0);
    CHECK(copper.from == 0);
    CHECK(copper.to == 1);
    CHECK(ohms_of(copper, 0, 1) == Approx(5000));
    CHECK(copper.turns[1] / copper.turns[0] == Approx(15.0 / 250));
    const OutputWinding read_so = turns(with(hum + " noload-volts=\"100 4\"/>")).primaries.at(0);
    CHECK(ohms_of(read_so, 0, 1) == Approx(5000));
    CHECK(read_so.turns[1] / read_so.turns[0] == Approx(.04));
    const OutputWinding turned =
        turns(with(R"(<winding role="output-primary" leads="hum bplus V1.3" ohms="15 250" impedance="5k"/>)"))
            .primaries.at(0);
    CHECK(ohms_of(turned, 1, 2) == Approx(5000));
}

namespace {

/// Two triodes, so that their gain has a closed form; `primary` is the windings.
std::string pair(const std::string& primary, const std::string& more = "") {
    return on_batteries(R"(
  <socket id="V1" tube="6J5GT"/>  <socket id="V2" tube="6J5GT"/>
  <join at="heaters V1.2 V2.2"/>  <join at="gnd V1.7 V2.7"/>
  <resistor id="R2" value="470k" a="V1.5" b="gnd"/>  <resistor id="R3" value="470k" a="V2.5" b="gnd"/>
  <transformer id="T1" role="output">)" +
                        primary + R"(<winding role="output-secondary" leads="voice gnd" ohms=".1"/></transformer>
  <speaker id="LS1" ohms="3.2" a="voice" b="gnd"/>
  <join at="V1.8 V2.8"/><resistor id="R1" value="470" watts="2" a="V1.8" b="gnd"/>)" +
                        more);
}

}  // namespace

TEST_CASE("the tubes of a pair work against each other by taps, by two primaries, whichever way they are written") {
    const char* const tapped =
        R"(<winding role="output-primary" leads="V1.3 s1 bplus s2 V2.3" ohms="80 60 60 80" impedance="20k"/>)";
    const char* const plain =
        R"(<winding role="output-primary" leads="V1.3 bplus V2.3" ohms="140 150" impedance="20k"/>)";
    const char* const two = R"(<winding role="output-primary" name="p1" leads="V1.3 bplus" ohms="140" impedance="5k"/>
  <winding role="output-primary" name="p2" leads="bplus V2.3" ohms="140" impedance="5k"/>)";
    const OutputWinding taps = turns(pair(tapped)).primaries.at(0);
    CHECK(ohms_of(taps, 0, 4) == Approx(20000));
    CHECK(taps.turns[0] == Approx(taps.turns[3]));
    CHECK(taps.turns[1] / taps.turns[0] == Approx(.75));
    const OutputWinding halves = turns(pair(plain)).primaries.at(0);
    CHECK(halves.turns[0] == Approx(halves.turns[1]));
    for (const char* primary : {tapped, plain, two}) {
        INFO(primary);
        const SmallSignal found = gains(pair(primary));
        REQUIRE(found.stages.size() == 2);
        for (const StageGain& one : found.stages) {
            REQUIRE(one.gain);
            const double rp = *one.rp_ohms, mu = *one.gm_siemens * rp, half = 10e3;
            CHECK(*one.gain == Approx(-mu * half / (rp + half)).epsilon(0.03));
            CHECK(*one.cathode_gain == Approx(0).margin(0.02));
            CHECK(one.against_net >= 0);
            CHECK(one.against_net != one.from_net);
        }
        // driven to its cathode one plate rises as the other falls: with their cathodes on one resistor all the same
        // they give the speaker what the load line says
        CHECK(watts(pair(primary)) == Approx(watts(pair(plain))).epsilon(0.05));
        CHECK(watts(pair(primary)) > 0.1);
    }
}

TEST_CASE("both grids of a pair are held: what is fed back from the voice coil to the stage before changes nothing") {
    const auto two_stages = [](const std::string& leads, const std::string& feedback) {
        return on_batteries(R"(
  <socket id="V3" tube="6V6"/><socket id="V4" tube="6V6"/><socket id="V1" tube="6SN7"/>
  <join at="heaters V3.2 V4.2 V1.8"/><join at="gnd V3.7 V4.7 V1.7"/>  <strip id="J1" lugs="1" location="input"/>
  <control id="R0" role="volume" value="500k" a="J1.1" b="gnd" wiper="V1.1"/>
  <resistor id="R1" value="1.5k" a="V1.3" b="gnd"/><resistor id="R2" value="47k" a="bplus" b="V1.2"/>
  <capacitor id="C1" value=".1 mfd" volts="400" a="V1.2" b="V1.4"/>
  <resistor id="R3" value="1 meg" a="V1.4" b="kj"/><resistor id="R4" value="1.5k" a="V1.6" b="kj"/>
  <resistor id="R5" value="22k" a="kj" b="gnd"/><resistor id="R6" value="22k" a="bplus" b="V1.5"/>
  <capacitor id="C2" value=".1 mfd" volts="400" a="V1.5" b="V3.5"/>
  <capacitor id="C3" value=".1 mfd" volts="400" a="V1.6" b="V4.5"/>
  <resistor id="R7" value="470k" a="V3.5" b="gnd"/><resistor id="R8" value="470k" a="V4.5" b="gnd"/>
  <join at="V3.8 V4.8"/><resistor id="R9" value="200" watts="5" a="V3.8" b="gnd"/>
  <join at="V3.4 V4.4 bplus"/>
  <transformer id="T1" role="output"><winding role="output-primary" leads="V3.3 bplus V4.3" ohms="150 150" impedance="10k"/>
  <winding role="output-secondary" leads=")" +
                            leads + R"(" ohms=".4"/></transformer><speaker id="LS1" ohms="8" a="vc" b="gnd"/>)" +
                            feedback);
    };
    const std::string feedback = R"(<resistor id="R10" value="22k" a="vc" b="V1.3"/>)";
    const auto against = [](const SmallSignal& found) {
        for (const StageGain& one : found.stages)
            if (one.against_net >= 0) return one.gain.value();
        throw std::runtime_error("no pair");
    };
    const double without = against(gains(two_stages("gnd vc", "")));
    CHECK(without < -10);
    for (const char* leads : {"gnd vc", "vc gnd"}) {
        INFO(leads);
        const std::string text = two_stages(leads, feedback);
        const SmallSignal found = gains(text);
        CHECK(against(found) == Approx(without).epsilon(0.005));
        // the row to the voice coil is named after its hot end
        const Chassis set = read(text);
        const OverallGain& last = found.overall.back();
        CHECK(set.nets()[static_cast<std::size_t>(last.to_net)].name == "vc");
    }
    // one way round it takes gain away, the other way round it adds to it
    const double one = std::fabs(gains(two_stages("gnd vc", feedback)).overall.back().gain.value()),
                 other = std::fabs(gains(two_stages("vc gnd", feedback)).overall.back().gain.value()),
                 none = std::fabs(gains(two_stages("gnd vc", "")).overall.back().gain.value());
    CHECK(std::min(one, other) < none);
    CHECK(std::max(one, other) > none);
}
