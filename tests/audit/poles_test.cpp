// SPDX-License-Identifier: MIT
// What stands above what, as the graph knows it: bias supplies below the bottom, back bias, doublers, batteries behind
// plugs and switches, pins of one electrode, empty sockets in a string. Sets are the demo sets edited, and small ones
// made here (common practice, no source). Each mistake is planted beside the sound set, which must stay clean.
#include <algorithm>
#include <utility>

#include <tubewright/audit.hpp>
#include <tubewright/netlist.hpp>

#include <catch2/catch.hpp>

#include "edited.hpp"

using namespace tubewright;

namespace {

/// "stop electrolytic-turned C21" of every finding but notes.
std::vector<std::string> found(const std::string& text) {
    const Outcome<Chassis> set = read_chassis_text(text, "set.xml", shipped());
    if (!set) FAIL(set.notices().front().text());
    std::vector<std::string> rows;
    for (const Finding& f : audit_graph(*set, shipped()))
        if (f.severity != Severity::note)
            rows.push_back(std::string(word(f.severity)) + " " + f.rule +
                           (f.parts.empty() ? "" : " " + f.parts.front()));
    return rows;
}

bool has(const std::vector<std::string>& rows, const std::string& row) {
    return std::find(rows.begin(), rows.end(), row) != rows.end();
}

const std::vector<std::string> clean;

/// The small amplifier with a bias supply of its own: a winding, 10 K, selenium, two sections.
const Edits fixed_bias{
    {"<winding role=\"plate\"",
     "<winding role=\"other\" name=\"bias\" leads=\"bw gnd\" volts=\"15\"/>\n<winding "
     "role=\"plate\""},
    {"</chassis>",
     "<resistor id=\"R20\" value=\"10K\" watts=\"1\" a=\"bw\" b=\"crk\"/>\n"
     "<rectifier id=\"CR1\" construction=\"selenium\" anode=\"bias\" cathode=\"crk\"/>\n"
     "<capacitor id=\"C20\" value=\"25-50\" construction=\"dry-electrolytic\" plus=\"gnd\" minus=\"bias\"/>\n"
     "<resistor id=\"R21\" value=\"10K\" watts=\"1/2\" a=\"bias\" b=\"bias2\"/>\n"
     "<resistor id=\"R22\" value=\"47K\" watts=\"1/2\" a=\"bias2\" b=\"gnd\"/>\n"
     "<capacitor id=\"C21\" value=\"25-50\" construction=\"dry-electrolytic\" plus=\"gnd\" "
     "minus=\"bias2\"/>\n</chassis>"},
};

std::string with_fixed_bias() {
    std::string text = file("s9-bellows-court.xml");
    const std::size_t leak = text.find("<resistor id=\"R10\"");
    REQUIRE(leak != std::string::npos);
    const std::size_t to_ground = text.find("b=\"gnd\"", leak);
    text.replace(to_ground, 7, "b=\"bias2\"");
    // ten ohms in the cathode to measure by
    const std::size_t cathode = text.find("<resistor id=\"R11\"");
    REQUIRE(cathode != std::string::npos);
    const std::size_t value = text.find("value=\"", cathode) + 7;
    text.replace(value, text.find('"', value) - value, "10");
    return edited(text, fixed_bias);
}

/// A doubler with two dry rectifiers; the tubes after it are not traced.
const std::string doubler = R"(<chassis version="1" name="doubler" built="1958" reference="bm" m-means="million">
  <line volts="117" hertz="60" hot="P1.1" neutral="P1.2"/>
  <node is="b-minus" net="bm"/>
  <node is="chassis-metal" net="metal" touch="yes"/>
  <plug id="P1" role="line"/>
  <switch id="S1" role="line" a="P1.1" b="live"/>
  <join at="P1.2 bm"/>
  <resistor id="R1" value="30" watts="5" construction="wirewound" a="live" b="mid1"/>
  <capacitor id="C1" value="40-150" minus="mid1" plus="mid2" insulated="yes"/>
  <rectifier id="CR1" construction="selenium" anode="bm" cathode="mid2"/>
  <rectifier id="CR2" construction="selenium" anode="mid2" cathode="top"/>
  <capacitor id="C2" value="40-350" minus="bm" plus="top"/>
  <coil id="L1" role="choke" ohms="300" a="top" b="bplus"/>
  <capacitor id="C3" value="40-350" minus="bm" plus="bplus"/>
  <capacitor id="C6" value=".1 mfd" volts="400" a="bm" b="metal"/>
  <resistor id="R7" value="250K" a="bm" b="metal"/>
  <untraced net="bplus" amps="15m"/>
</chassis>
)";

/// Two B batteries in series behind a plug and a switch, B-minus below the metal by a resistor.
const std::string batteries =
    R"(<chassis version="1" name="two volts" built="1936" reference="chassis" m-means="million">
  <node is="chassis-metal" net="chassis"/>
  <node is="b-minus" net="bm"/>
  <plug id="P1" role="other"/>
  <battery id="BT1" role="a" volts="2" plus="P1.1" minus="P1.2"/>
  <battery id="BT2" role="b" volts="67.5" plus="P1.5" minus="P1.3"/>
  <battery id="BT3" role="b" volts="67.5" plus="bplus" minus="P1.5"/>
  <switch id="S1" a="P1.3" b="bm"/>
  <switch id="S2" a="P1.2" b="chassis"/>
  <resistor id="R1" value="500" a="bm" b="chassis"/>
  <capacitor id="C1" value="10-25" plus="chassis" minus="bm"/>
  <capacitor id="C2" value="8-150" plus="bplus" minus="bm"/>
  <join at="P1.1 aplus"/>
  <untraced net="bplus" amps="12m"/>
  <untraced net="aplus" amps=".4"/>
</chassis>
)";

/// One output stage of a miniature string; the grid's parts stand on one of its two pins.
const std::string two_grid_pins =
    R"(<chassis version="1" name="grid pins" built="1949" reference="bm" m-means="million">
  <line volts="117" hertz="60" hot="P1.1" neutral="P1.2"/>
  <node is="b-minus" net="bm"/>
  <plug id="P1" role="line"/>
  <join at="P1.2 bm"/>
  <resistor id="R1" value="200" watts="10" construction="wirewound" a="P1.1" b="V2.3"/>
  <join at="V2.4 V1.3"/>
  <join at="V1.4 bm"/>
  <socket id="V1" tube="50C5"/>
  <socket id="V2" tube="35W4"/>
  <join at="V2.5 P1.1"/>
  <capacitor id="C1" value="40-150" plus="V2.7" minus="bm"/>
  <resistor id="R2" value="1K" watts="1" a="V2.7" b="bplus"/>
  <capacitor id="C2" value="40-150" plus="bplus" minus="bm"/>
  <resistor id="R3" value="150" watts="1" a="V1.1" b="bm"/>
  <resistor id="R4" value="470K" a="V1.2" b="bm"/>
  <capacitor id="C3" value=".02 mfd" volts="400" a="V1.2" b="input"/>
  <join at="V1.6 bplus"/>
  <transformer id="T1" role="output"><winding role="output-primary" leads="V1.7 V2.7"/><winding role="output-secondary" leads="vc bm"/></transformer>
  <speaker id="LS1" a="vc" b="bm"/>
</chassis>
)";

}  // namespace

TEST_CASE("A bias supply stands below the bottom: its electrolytics have their plus there, in every section") {
    const std::string sound = with_fixed_bias();
    CHECK(found(sound) == clean);
    const auto turned = [&](const char* id, const char* minus) {
        return found(edited(
            sound, {{std::string("id=\"") + id +
                         "\" value=\"25-50\" construction=\"dry-electrolytic\" plus=\"gnd\" minus=\"" + minus + "\"",
                     std::string("id=\"") + id + "\" value=\"25-50\" construction=\"dry-electrolytic\" plus=\"" +
                         minus + "\" minus=\"gnd\""}}));
    };
    CHECK(has(turned("C20", "bias"), "stop electrolytic-turned C20"));
    CHECK(has(turned("C21", "bias2"), "stop electrolytic-turned C21"));
}

TEST_CASE("In a doubler of dry rectifiers a turned capacitor and a turned rectifier are told apart") {
    CHECK(found(doubler) == clean);
    CHECK(found(edited(doubler, {{"minus=\"mid1\" plus=\"mid2\"", "plus=\"mid1\" minus=\"mid2\""}})) ==
          std::vector<std::string>{"stop electrolytic-turned C1"});
    CHECK(found(edited(doubler, {{"anode=\"bm\" cathode=\"mid2\"", "anode=\"mid2\" cathode=\"bm\""}})) ==
          std::vector<std::string>{"stop dry-rectifier-turned CR1"});
    CHECK(has(found(edited(doubler, {{"anode=\"mid2\" cathode=\"top\"", "anode=\"top\" cathode=\"mid2\""}})),
              "stop dry-rectifier-turned CR2"));
    CHECK(has(found(edited(doubler, {{"anode=\"mid2\" cathode=\"top\"", "anode=\"mid2\" cathode=\"mid2\""}})),
              "stop both-ends-on-one-net CR2"));
}

TEST_CASE("A battery that stands the wrong way round is named, behind plug, switch and the battery below it") {
    CHECK(found(batteries) == clean);
    const auto turned = [](const char* id, const char* plus, const char* minus) {
        const std::string before = std::string("plus=\"") + plus + "\" minus=\"" + minus + "\"",
                          after = std::string("plus=\"") + minus + "\" minus=\"" + plus + "\"";
        return has(found(edited(batteries, {{before, after}})), std::string("stop battery-turned ") + id);
    };
    CHECK(turned("BT2", "P1.5", "P1.3"));
    CHECK(turned("BT3", "bplus", "P1.5"));
    const std::string portable = file("s7-plover-heath.xml");
    CHECK(has(found(edited(portable, {{"plus=\"P2.4\" minus=\"P2.3\"", "plus=\"P2.3\" minus=\"P2.4\""}})),
              "stop battery-turned BT2"));
    CHECK(has(found(edited(portable, {{"plus=\"P2.1\" minus=\"P2.2\"", "plus=\"P2.2\" minus=\"P2.1\""}})),
              "doubt battery-turned BT1"));
}

TEST_CASE("Where B-minus lies below the metal by a resistor, the electrolytic across it has its plus on the metal") {
    CHECK(has(found(edited(batteries, {{"plus=\"chassis\" minus=\"bm\"", "plus=\"bm\" minus=\"chassis\""}})),
              "stop electrolytic-turned C1"));
}

TEST_CASE("A dry rectifier that is bridged stops") {
    CHECK(has(found(edited(file("s7-plover-heath.xml"),
                           {{"anode=\"CR1.anode\" cathode=\"TS2.1\"", "anode=\"TS2.1\" cathode=\"TS2.1\""}})),
              "stop both-ends-on-one-net CR1"));
}

TEST_CASE("Two pins of one electrode are one: parts on either of them serve it") {
    CHECK(found(two_grid_pins) == clean);
    CHECK(found(edited(two_grid_pins, {{"a=\"V1.2\" b=\"input\"", "a=\"V1.5\" b=\"input\""}})) == clean);
    const std::vector<std::string> without =
        found(edited(two_grid_pins, {{"a=\"V1.2\" b=\"bm\"", "a=\"V1.3\" b=\"bm\""}}));
    CHECK(std::count(without.begin(), without.end(), "stop grid-without-return V1") == 1);
}

TEST_CASE("A grid on B-plus stops, before and behind the resistor of the filter") {
    for (const char* net : {"V2.7", "bplus"})
        CHECK(has(found(edited(two_grid_pins, {{"a=\"V1.2\" b=\"bm\"",
                                                "a=\"V1.2\" b=\"bm\"/><join at=\"V1.5 " + std::string(net) + "\""}})),
                  "stop pin-in-conflict V1"));
    CHECK(has(found(edited(two_grid_pins, {{"a=\"V2.7\" b=\"bplus\"", "a=\"V2.7\" b=\"bm\""}})),
              "stop supply-shorted R2"));
}

TEST_CASE("An empty socket that is a link of the string is named, and the tubes that stay cold with it") {
    CHECK(has(found(edited(two_grid_pins, {{"tube=\"50C5\"", "tube=\"50C5\" fitted=\"none\""}})),
              "stop heater-not-fed V1"));
    const std::vector<std::string> found_empty =
        found(edited(two_grid_pins, {{"tube=\"50C5\"", "tube=\"50C5\" found=\"none\""}}));
    CHECK(has(found_empty, "doubt heater-not-fed V1"));
    CHECK_FALSE(has(found_empty, "stop heater-not-fed V2"));
}

TEST_CASE("A string that is open is told once, with the net where its way ends") {
    const Outcome<Chassis> set = read_chassis_text(
        edited(two_grid_pins, {{"a=\"P1.1\" b=\"V2.3\"", "a=\"P1.1\" b=\"TS9.1\""}}), "set.xml", shipped());
    REQUIRE(set);
    int told = 0;
    for (const Finding& f : audit_graph(*set, shipped()))
        if (f.rule == "heater-not-fed") {
            ++told;
            CHECK(f.parts == std::vector<std::string>{"V1", "V2"});
            CHECK(f.message.find("ends on nothing at V2.3") != std::string::npos);
        }
    CHECK(told == 1);
}

TEST_CASE("A socket counted from above is named as that, before what follows from it") {
    const std::string mirrored =
        edited(file("s9-bellows-court.xml"), {{"tube=\"12AX7\"", "tube=\"12AX7\" view=\"top\""}});
    const std::vector<std::string> rows = found(mirrored);
    REQUIRE_FALSE(rows.empty());
    CHECK(rows.front() == "stop socket-mirrored V1");
    CHECK_FALSE(has(found(file("s9-bellows-court.xml")), "stop socket-mirrored V1"));
}

TEST_CASE("Resistors before a rectifier and of the filter, read a thousand times too large, are in doubt") {
    CHECK(has(found(edited(doubler, {{"value=\"30\" watts=\"5\"", "value=\"30K\" watts=\"5\""}})),
              "doubt implausible-value R1") == false);  // it feeds a capacitor, not a rectifier: the graph does not say
    CHECK(has(found(edited(two_grid_pins, {{"id=\"R2\" value=\"1K\"", "id=\"R2\" value=\"1 meg\""}})),
              "doubt implausible-value R2"));
    CHECK(has(found(edited(file("s7-plover-heath.xml"), {{"id=\"R2\" value=\"33\"", "id=\"R2\" value=\"33K\""}})),
              "doubt implausible-value R2"));
}

TEST_CASE("Batteries of unlike volts side by side, or plus to minus, are a stop; two alike share a load") {
    const auto beside = [](const char* as) {
        return found(edited(batteries, {{"id=\"BT3\" role=\"b\" volts=\"67.5\" plus=\"bplus\" minus=\"P1.5\"", as}}));
    };
    const std::string stop = "stop windings-fight BT3";
    CHECK(has(beside("id=\"BT3\" role=\"b\" volts=\"90\" plus=\"P1.5\" minus=\"P1.3\""), stop));
    CHECK(has(beside("id=\"BT3\" role=\"b\" volts=\"67.5\" plus=\"P1.3\" minus=\"P1.5\""), stop));
    CHECK_FALSE(has(beside("id=\"BT3\" role=\"b\" volts=\"67.5\" plus=\"P1.5\" minus=\"P1.3\""), stop));
    CHECK_FALSE(has(beside("id=\"BT3\" role=\"b\" volts=\"90\" plus=\"P1.5\" minus=\"P1.3\" state=\"out\""), stop));
}

TEST_CASE("Batteries that nobody made, and filaments across a battery for others, are told") {
    CHECK(
        has(found(edited(batteries, {{"id=\"BT2\" role=\"b\" volts=\"67.5\"", "id=\"BT2\" role=\"b\" volts=\"675\""}})),
            "doubt implausible-value BT2"));
    const std::string filament =
        edited(batteries, {{"<untraced net=\"aplus\" amps=\".4\"/>",
                            "<socket id=\"V1\" tube=\"30\"/><join at=\"V1.1 chassis\"/><join at=\"V1.4 aplus\"/>"}});
    CHECK_FALSE(has(found(filament), "stop heater-on-wrong-winding V1"));
    CHECK(has(found(edited(filament, {{"role=\"a\" volts=\"2\"", "role=\"a\" volts=\"6\""}})),
              "stop heater-on-wrong-winding V1"));
}

TEST_CASE(
    "Usual circuits are not called mistakes: shunt fields, bleeders, followers, unused sections, doublers with tubes") {
    const std::string s1 = file("s1-quarry-hill.xml");
    const auto with = [&](const std::string& text, const std::string& more) {
        return found(edited(text, {{"</chassis>", more + "</chassis>"}}));
    };
    CHECK(found(s1) == clean);
    CHECK(with(s1, "<coil id=\"L90\" role=\"field\" ohms=\"6000\" a=\"bplus\" b=\"gnd\"/>") == clean);
    CHECK(with(two_grid_pins, "<resistor id=\"R90\" value=\"5K\" watts=\"10\" a=\"bplus\" b=\"bm\"/>") == clean);
    const std::string follower =
        "<socket id=\"V9\" tube=\"6J5\"/><join at=\"V9.3 bplus\"/><join at=\"V9.2 gnd\"/><join at=\"V9.7 V1.7\"/>"
        "<resistor id=\"R91\" value=\"100K\" a=\"V9.8\" b=\"gnd\"/><resistor id=\"R92\" value=\"1 meg\" a=\"V9.5\" "
        "b=\"gnd\"/>"
        "<capacitor id=\"C91\" value=\".01 mfd\" volts=\"400\" a=\"V9.5\" b=\"input\"/>"
        "<capacitor id=\"C92\" value=\".01 mfd\" volts=\"400\" a=\"V9.8\" b=\"output\"/>";
    CHECK_FALSE(has(with(s1, follower), "doubt implausible-value R91"));
}

TEST_CASE("Rectifiers that are bridged, that feed nothing, or whose supply is on the bottom, are named themselves") {
    CHECK(has(found(edited(two_grid_pins, {{"<join at=\"V2.5 P1.1\"/>", "<join at=\"V2.5 P1.1 V2.7\"/>"}})),
              "stop pin-in-conflict V2"));
    CHECK(has(found(edited(two_grid_pins, {{"plus=\"V2.7\" minus=\"bm\"", "plus=\"top\" minus=\"bm\""},
                                           {"a=\"V2.7\" b=\"bplus\"", "a=\"top\" b=\"bplus\""},
                                           {"leads=\"V1.7 V2.7\"", "leads=\"V1.7 top\""}})),
              "stop cathode-without-return V2"));
    CHECK(has(
        found(edited(two_grid_pins, {{"<join at=\"V2.5 P1.1\"/>", "<join at=\"V2.5 P1.1\"/><join at=\"V2.7 bm\"/>"}})),
        "stop supply-shorted V2"));
    CHECK(has(found(edited(batteries,
                           {{"<join at=\"P1.1 aplus\"/>", "<join at=\"P1.1 aplus\"/><join at=\"bplus chassis\"/>"}})),
              "stop supply-shorted BT3"));
}

TEST_CASE("A load that bears all of B-plus within its watts is no short; the same ohms of a few watts are") {
    const std::string loaded = R"(<chassis version="1" name="rig" built="1949" reference="gnd">
<line volts="120" hertz="60" hot="P1.1" neutral="P1.2"/><node is="chassis-metal" net="gnd"/><plug id="P1" role="line"/>
<transformer id="T1" role="power"><winding role="primary" leads="P1.1 P1.2" volts="120"/>
<winding role="plate" leads="V5.4 gnd V5.6" volts="350"/><winding role="rectifier-heater" leads="V5.2 V5.8" volts="5"/></transformer>
<socket id="V5" tube="5Y3GT"/><capacitor id="C1" value="10 mfd" volts="600" plus="V5.8" minus="gnd"/>
<resistor id="R1" value="3.2K" watts="60" a="V5.8" b="gnd"/></chassis>)";
    CHECK_FALSE(has(found(loaded), "stop supply-shorted R1"));
    CHECK(has(found(edited(loaded, {{R"(watts="60")", R"(watts="10")"}})), "stop supply-shorted R1"));
    CHECK(has(found(edited(loaded, {{R"( watts="60")", ""}})), "stop supply-shorted R1"));
}

TEST_CASE(
    "A load behind a choke is judged by the volts that a choke input gives, and a regulator's feed is no plate load") {
    const std::string choke = R"(<chassis version="1" name="rig" built="1949" reference="gnd">
<line volts="120" hertz="60" hot="P1.1" neutral="P1.2"/><node is="chassis-metal" net="gnd"/><plug id="P1" role="line"/>
<transformer id="T1" role="power"><winding role="primary" leads="P1.1 P1.2" volts="120"/>
<winding role="plate" leads="V5.2 gnd V5.3" volts="350"/><winding role="rectifier-heater" leads="V5.1 V5.4" volts="5"/></transformer>
<socket id="V5" tube="83"/><coil id="L1" role="choke" henries="10" ohms="100" a="V5.1" b="bp"/>
<capacitor id="C1" value="16 mfd" volts="600" plus="bp" minus="gnd"/>
<resistor id="R1" value="3K" watts="50" a="bp" b="gnd"/></chassis>)";
    CHECK_FALSE(has(found(choke), "stop supply-shorted R1"));
    CHECK(has(found(edited(choke, {{R"(watts="50")", R"(watts="20")"}})), "stop supply-shorted R1"));
    const std::string regulated = R"(<chassis version="1" name="rig" built="1949" reference="gnd">
<battery id="BT1" role="b" volts="250" ohms="10" plus="bp" minus="gnd"/><node is="chassis-metal" net="gnd"/>
<resistor id="R1" value="4K" watts="10" a="bp" b="V1.5"/><socket id="V1" tube="VR150"/><join at="gnd V1.2"/>
<resistor id="R2" value="20K" watts="10" a="V1.5" b="gnd"/></chassis>)";
    CHECK_FALSE(has(found(regulated), "implausible-value R1"));
}
