// SPDX-License-Identifier: MIT
// The demo sets read what sets of their kind read: figures estimated by hand for their values (common practice, no
// source), within 15 per cent. No figure here is a published one.
#include <catch2/catch.hpp>

#include <algorithm>
#include <string>
#include <vector>

#include "sets.hpp"

using namespace whole;

namespace {

struct Expected {
    const char* net;
    double volts;
};

void check(const tw::Outcome<tw::VoltsView>& found, std::initializer_list<Expected> expected) {
    REQUIRE(found);
    for (const Expected& e : expected) {
        const tw::NetVolts& net = found->at(e.net);
        INFO(e.net << ": " << net.dc.value() << " V, expected about " << e.volts);
        CHECK_FALSE(net.undetermined);
        CHECK(net.dc.value() == Approx(e.volts).epsilon(0.15));
        CHECK(net.low.value() <= net.dc.value());
        CHECK(net.high.value() >= net.dc.value());
    }
}

tw::Condition at_line(tw::Scenario scenario, double volts) {
    tw::Condition condition;
    condition.scenario = scenario;
    condition.line_volts = volts;
    return condition;
}

}  // namespace

TEST_CASE("the superheterodyne of 1936 reads within 15 per cent of what is expected of it") {
    const tw::Study set = study(text_of(quarry_hill));
    const auto normal = set.volts(tw::Scenario::normal);
    check(normal, {{"V5.1", 325},
                   {"bplus", 248},
                   {"V4.2", 235},
                   {"V4.3", 248},
                   {"V4.5", 16.5},
                   {"V3.2", 150},
                   {"V3.5", 1.5},
                   {"V2.2", 245},
                   {"V2.3", 98},
                   {"V2.5", 3},
                   {"V1.2", 245},
                   {"V1.3", 98},
                   {"V1.4", 168}});
    SECTION("the oscillator grid stands 10 to 20 volts negative") {
        CHECK(dc(normal, "V1.5") > -20);
        CHECK(dc(normal, "V1.5") < -10);
    }
    SECTION("ripple on the first filter, and the watts from the line") {
        CHECK(normal->at("V5.1").ripple_pp.value() == Approx(38).epsilon(0.15));
        CHECK(normal->at("V5.1").ripple_hertz == Approx(120));
        CHECK(normal->solution().line_watts.value() == Approx(54).epsilon(0.15));
    }
    SECTION("with the tubes cold B-plus climbs, held down only by the screen divider") {
        CHECK(dc(set.volts(at_line(tw::Scenario::warm_up, 120)), "V5.1") == Approx(428).epsilon(0.15));
        CHECK(set.volts(at_line(tw::Scenario::warm_up, 126))->at("V5.1").crest.value() == Approx(455).epsilon(0.15));
    }
    SECTION("with the speaker unplugged the first filter stands at the crest of the winding") {
        CHECK(dc(set.volts(at_line(tw::Scenario::speaker_unplugged, 120)), "V5.1") == Approx(487).epsilon(0.15));
        CHECK(dc(set.volts(at_line(tw::Scenario::speaker_unplugged, 126)), "V5.1") == Approx(511).epsilon(0.15));
    }
}

TEST_CASE("a meter of 1000 ohms a volt on its 250 volt range reads the first audio plate far too low",
          "[practice-77]") {
    tw::Policy policy;
    policy.meter.ohms_per_volt = 1000;
    policy.meter.range_volts = 250;
    const tw::Study set(read(text_of(quarry_hill)), catalogue(), policy);
    const auto normal = set.volts(tw::Scenario::normal);
    REQUIRE(normal);
    CHECK(normal->at("V3.2").meter.value() == Approx(91).epsilon(0.15));
    CHECK(normal->at("bplus").meter.value() == Approx(dc(normal, "bplus")).epsilon(0.01));
}

TEST_CASE("the amplifier of 1956 reads within 15 per cent of what is expected of it") {
    const tw::Study set = study(text_of(bellows_court));
    const auto normal = set.volts(tw::Scenario::normal);
    check(normal, {{"bplus", 268},
                   {"bplus2", 262},
                   {"bplus3", 225},
                   {"V2.7", 256},
                   {"V2.9", 262},
                   {"V2.3", 7.5},
                   {"V1.1", 145},
                   {"V1.6", 145},
                   {"V1.3", 1.2}});
    CHECK(normal->solution().line_watts.value() == Approx(33).epsilon(0.15));
    SECTION("its electrolytics are over-run whenever the output tube does not draw") {
        tw::Condition pulled = at_line(tw::Scenario::tube_out, 120);
        pulled.tube = "V2";
        const auto volts = set.volts(pulled);
        CHECK(dc(volts, "bplus") == Approx(377).epsilon(0.15));
        CHECK(dc(volts, "bplus") > 350);
    }
    SECTION("by hand: the screen dropper, the third filter's dropper and the cathode resistor obey Ohm") {
        const tw::Solution& s = normal->solution();
        const tw::Chassis& c = set.chassis();
        const auto amps = [&](const char* part) { return s.branch(c.part(part), "a")->dc.value(); };
        CHECK((dc(normal, "bplus") - dc(normal, "bplus2")) / 1000 == Approx(amps("R1")).epsilon(1e-6));
        CHECK((dc(normal, "bplus2") - dc(normal, "bplus3")) / 22000 == Approx(amps("R2")).epsilon(1e-6));
        CHECK(dc(normal, "V2.3") / 135 == Approx(amps("R11")).epsilon(1e-6));
        // What the third filter feeds are the two plate loads and nothing else.
        CHECK(amps("R2") == Approx(amps("R5") + amps("R9")).epsilon(1e-4));
    }
}

TEST_CASE("a 6.3 volt winding of a 110 volt primary reads 6.87 volts at 120, before its no-load rise") {
    // Common practice, no source: 6.3 x 120 / 110. The set is Quarry Hill's with another primary.
    const auto heater_volts = [](const std::string& text, tw::Scenario scenario) {
        const tw::Study set = study(text);
        const auto volts = set.volts(at_line(scenario, 120));
        const tw::Branch* heater = volts.value().solution().branch(set.chassis().part("T1"), "heater");
        REQUIRE(heater != nullptr);
        return heater->volts_rms.value();
    };
    const std::string loaded = edited(text_of(quarry_hill), R"(volts="115" ohms="7.5")", R"(volts="110" ohms="7.5")");
    const std::string open = edited(loaded, R"(volts="6.3" amps="2.1")", R"(noload-volts="6.3" amps="2.1")");
    CHECK(heater_volts(open, tw::Scenario::transformer_alone) == Approx(6.3 * 120 / 110).epsilon(0.005));
    // Its print is a loaded figure: with the rectifier out the load is lighter, and the reading a little higher; 2 to 5
    // per cent in service (common practice).
    const double reading = heater_volts(loaded, tw::Scenario::rectifier_out);
    CHECK(reading > 6.3 * 120 / 110);
    CHECK(reading < 6.3 * 120 / 110 * 1.08);
    CHECK(heater_volts(loaded, tw::Scenario::transformer_alone) > reading);
}

TEST_CASE("the other sets, as they were made, read within 15 per cent of what is expected of them") {
    // What was seen of the parts is left out: the figures are of sound sets.
    const auto sound = [](const std::string& path) {
        std::string text = text_of(path);
        for (std::size_t at = text.find(" seen=\""); at != std::string::npos; at = text.find(" seen=\"", at))
            text.erase(at, text.find('"', at + 7) - at + 1);
        return study(text);
    };
    SECTION("back bias") {
        check(sound(TUBEWRIGHT_ROOT "/netlists/s2-heron-weir.xml").volts(tw::Scenario::normal),
              {{"bplus", 251}, {"V4.3", 237}, {"V4.4", 251}, {"V3.3", 130}, {"V2.3", 248}, {"V2.4", 95}});
    }
    SECTION("series string") {
        check(sound(TUBEWRIGHT_ROOT "/netlists/s3-tanner-row.xml").volts(tw::Scenario::normal),
              {{"V5.8", 118}, {"bplus", 92}, {"V4.3", 110}, {"V4.8", 5.9}});
        // The first audio's plate: .5 mA at 100 V and -1 V, 925 uS and mu 100 (its row, recalled), at the -.64 V that
        // its own grid current makes in 10 megohms, come to 33 V behind 270 K; 50 would be the reading at -.8 V.
        check(sound(TUBEWRIGHT_ROOT "/netlists/s3-tanner-row.xml").volts(tw::Scenario::normal), {{"V3.6", 33}});
    }
    SECTION("floating B-minus") {
        check(sound(TUBEWRIGHT_ROOT "/netlists/s4-ferry-green.xml").volts(tw::Scenario::normal),
              {{"V5.4", 118}, {"bplus", 102}, {"V4.2", 96}, {"V4.3", 102}, {"V4.5", 15}, {"V3.2", 55}, {"V1.4", 100}});
        // Screens behind 40 K: 50 by the hand estimate, which takes 1.3 mA; the row of the 6A7 (100 V: 2.2 mA,
        // recalled) by the 3/2 power comes to 1.2 mA at 58 V and .95 at 50.
        check(sound(TUBEWRIGHT_ROOT "/netlists/s4-ferry-green.xml").volts(tw::Scenario::normal), {{"V1.3", 58}});
    }
    SECTION("tuned radio frequency, push-pull triodes") {
        check(sound(TUBEWRIGHT_ROOT "/netlists/s5-mill-lane.xml").volts(tw::Scenario::normal), {{"V8.1", 335},
                                                                                                {"bplus", 303},
                                                                                                {"b180", 180},
                                                                                                {"b135", 135},
                                                                                                {"b45", 47},
                                                                                                {"bias45", 51},
                                                                                                {"V6.2", 298},
                                                                                                {"V7.2", 298},
                                                                                                {"bias26", 10},
                                                                                                {"V1.2", 140},
                                                                                                {"V4.2", 45}});
    }
    SECTION("doubler") {
        const tw::Study set = sound(TUBEWRIGHT_ROOT "/netlists/s6-osier-holt.xml");
        const auto normal = set.volts(tw::Scenario::normal);
        check(normal, {{"TS2.5", 105}, {"V5.8", 207}, {"bplus", 185}, {"V4.3", 173}, {"V4.4", 120}, {"V4.8", 18}});
        CHECK(normal->at("V5.8").ripple_pp.value() == Approx(37).epsilon(0.15));
        // Nothing draws: between twice the crest less the drops and twice the crest.
        CHECK(dc(set.volts(at_line(tw::Scenario::warm_up, 117)), "V5.8") < 331);
    }
    SECTION("portable, on the line: the nodes of its filament string") {
        check(sound(TUBEWRIGHT_ROOT "/netlists/s7-plover-heath.xml").volts(tw::Scenario::normal), {{"TS2.1", 138},
                                                                                                   {"bplus", 91.5},
                                                                                                   {"V4.7", 7.0},
                                                                                                   {"V4.5", 5.6},
                                                                                                   {"V4.1", 4.2},
                                                                                                   {"V2.1", 2.8},
                                                                                                   {"V1.1", 1.4}});
    }
    SECTION("vehicle") {
        const tw::Study set = sound(TUBEWRIGHT_ROOT "/netlists/s8-drover-gap.xml");
        const auto normal = set.volts(tw::Scenario::normal);
        check(normal, {{"V6.8", 230}, {"bplus", 200}, {"V5.3", 219}, {"V5.4", 200}, {"V5.8", 10}, {"V2.4", 85}});
        // 5.5 to 6.2 A by hand, within 15 per cent of its nearer end: iron, contacts and reed are assumed.
        const tw::Branch* battery = normal->solution().branch(set.chassis().part("BT1"), "plus");
        REQUIRE(battery != nullptr);
        CHECK(battery->dc.value() > 5.5 * 0.85);
        CHECK(battery->dc.value() < 6.2);
    }
}

TEST_CASE("the vehicle's supply does not care which pole is on the frame") {
    const std::string text = text_of(TUBEWRIGHT_ROOT "/netlists/s8-drover-gap.xml");
    std::string turned = text;
    const std::string poles = "plus=\"feed\" minus=\"gnd\"";
    const std::size_t at = turned.find(poles);
    REQUIRE(at != std::string::npos);
    turned.replace(at, poles.size(), "plus=\"gnd\" minus=\"feed\"");
    const auto one = study(text).volts(tw::Scenario::normal), other = study(turned).volts(tw::Scenario::normal);
    CHECK(dc(other, "bplus") == Approx(dc(one, "bplus")).epsilon(0.01));
}

TEST_CASE(
    "with the speaker off a back-bias set's page tells of the centre tap's volts and of the filter over its rating") {
    const tw::Study set = study(text_of(TUBEWRIGHT_ROOT "/netlists/s2-heron-weir.xml"));
    const std::string whole = tw::report_volts(set, {}).text;
    const auto told = [](std::string text, const char* words) {
        std::replace(text.begin(), text.end(), '\n', ' ');
        for (std::size_t at = text.find("  "); at != std::string::npos; at = text.find("  ")) text.erase(at, 1);
        INFO(text);
        CHECK(text.find(words) != std::string::npos);
    };
    told(whole, "DANGER, speaker off: tap stands at -473 V");
    told(whole, "C1.plain volts 473 V 450 V speaker off DANGER");
    told(whole, "C2 volts 415 V 400 V warm-up DANGER");
    tw::ReportOptions one;
    one.scenario = "speaker-unplugged";
    told(tw::report_volts(set, one).text, "tap stands at -473 V");
}

TEST_CASE("a fixed bias that is lost shows on its own rail, and what its tubes then burn stands beside their limit") {
    const auto page = [](const char* found) {
        std::string text = tw::report_volts(study(std::string(
                                                      R"(<chassis version="1" name="fixed bias" reference="gnd">
<line volts="117" hertz="60" hot="P1.1" neutral="P1.2"/><node is="chassis-metal" net="gnd"/><plug id="P1" role="line"/>
<transformer id="T1" role="power" va="150"><winding role="primary" leads="P1.1 P1.2" volts="117" ohms="2.5"/>
<winding role="plate" leads="V1.4 gnd V1.6" noload-volts="350 350" ohms="60 65"/>
<winding role="rectifier-heater" leads="V1.2 V1.8" noload-volts="5.2" ohms=".05"/>
<winding role="heater" leads="h gnd" noload-volts="6.6" ohms=".05"/></transformer>
<socket id="V1" tube="5U4G"/>
<capacitor id="C1" value="16 mfd" volts="600" plus="V1.8" minus="gnd"/>
<coil id="L1" role="choke" henries="8" ohms="150" a="V1.8" b="bplus"/>
<capacitor id="C2" value="16 mfd" volts="600" plus="bplus" minus="gnd"/>
<resistor id="R10" value="8.2k" watts="3" a="V1.4" b="x"/>
<rectifier id="CR1" construction="selenium" volts="400" amps=".05" anode="bias" cathode="x")") +
                                                  found + R"(/>
<capacitor id="C3" value="8 mfd" volts="150" plus="gnd" minus="bias"/>
<resistor id="R11" value="2.7k" watts="1" a="bias" b="gnd"/>
<socket id="V2" tube="6L6"/><socket id="V3" tube="6L6"/><join at="h V2.2 V3.2"/>
<join at="gnd V2.7 V3.7 V2.8 V3.8 V2.1 V3.1"/><join at="bplus V2.4 V3.4"/>
<resistor id="R1" value="220k" a="V2.5" b="bias"/><resistor id="R2" value="220k" a="V3.5" b="bias"/>
<transformer id="T2" role="output"><winding role="output-primary" leads="V2.3 bplus V3.3" ohms="100 105"
impedance="6.6k"/><winding role="output-secondary" leads="vc gnd" ohms=".4"/></transformer>
<speaker id="LS1" ohms="8" a="vc" b="gnd"/></chassis>)"),
                                            {})
                               .text;
        std::replace(text.begin(), text.end(), '\n', ' ');
        for (std::size_t at = text.find("  "); at != std::string::npos; at = text.find("  ")) text.erase(at, 1);
        return text;
    };
    const std::string whole = page(""), lost = page(" seen=\"open\"");
    for (const std::string& text : {whole, lost}) CHECK(text.find("bias is the minus of C3") != std::string::npos);
    // once over a tube's 19 W (recalled) with the bias there and the other tube out, thrice without
    const auto watts = [](const std::string& text) {
        const std::size_t at = text.find("V2 p, pin 3 plate watts ");
        return at == std::string::npos ? 0 : std::stod(text.substr(at + 24));
    };
    INFO(lost);
    CHECK(watts(lost) > 2.5 * 19);
    CHECK(watts(whole) < 0.8 * watts(lost));
    CHECK(lost.find(" 19 W V3 out DANGER") != std::string::npos);
}

TEST_CASE("a portable on a dry rectifier has a row of its supply with the filaments cold") {
    const tw::Study set = study(text_of(TUBEWRIGHT_ROOT "/netlists/s7-plover-heath.xml"));
    const std::vector<tw::Condition> all = set.scenarios();
    CHECK(std::any_of(all.begin(), all.end(),
                      [](const tw::Condition& one) { return one.scenario == tw::Scenario::warm_up; }));
    CHECK(tw::report_volts(set, {}).text.find("warm-up") != std::string::npos);
}
