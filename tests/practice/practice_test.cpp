// SPDX-License-Identifier: MIT
// Check values of bench practice that are circuits: each goes through the library from a small chassis. The tags are
// the rows of index.csv, where value, allowed band and kind of source stand. Names of real sets stay out.
#include <catch2/catch.hpp>

#include <cmath>
#include <numbers>
#include <string>

#include <tubewright/tubewright.hpp>

using namespace tubewright;

namespace {

const Catalogue& shipped() {
    static const Catalogue tables = Catalogue::shipped();
    return tables;
}

/// `line`: volts and cycles as the file has them; the neutral is the net "n", the reference.
Study study_of(const std::string& line, const std::string& parts, const Policy& policy = {}) {
    const std::string text =
        "<chassis version=\"1\" name=\"a check value\" built=\"1947\" reference=\"n\" m-means=\"million\">\n<line " +
        line + " hot=\"P1.1\" neutral=\"P1.2\"/>\n<plug id=\"P1\" role=\"line\"/> <join at=\"P1.2 n\"/>\n" + parts +
        "</chassis>\n";
    const Outcome<Chassis> set = read_chassis_text(text, "check.xml", shipped());
    for (const Notice& notice : set.notices()) UNSCOPED_INFO(notice.text());
    REQUIRE(set);
    return Study(*set, shipped(), policy);
}

VoltsView solved(const Study& study, const Condition& condition = {}) {
    const auto found = study.volts(condition);
    for (const Notice& notice : found.notices()) UNSCOPED_INFO(notice.text());
    REQUIRE(found);
    return *found;
}

std::string ac(double volts) {
    return "volts=\"" + std::to_string(volts) + "\" hertz=\"60\"";
}
std::string direct(double volts) {
    return "volts=\"" + std::to_string(volts) + "\" hertz=\"dc\" supply=\"dc\"";
}
std::string resistor(const std::string& id, const std::string& value, const std::string& a, const std::string& b) {
    return "<resistor id=\"" + id + "\" value=\"" + value + "\" watts=\"50\" construction=\"wirewound\" a=\"" + a +
           "\" b=\"" + b + "\"/>\n";
}
std::string capacitor(const std::string& id, const std::string& value, const std::string& a, const std::string& b) {
    return "<capacitor id=\"" + id + "\" value=\"" + value + "\" volts=\"1000\" construction=\"film\" a=\"" + a +
           "\" b=\"" + b + "\"/>\n";
}

/// The branch of a part's first lead.
const Branch& through(const Study& study, const VoltsView& volts, const std::string& part) {
    const int index = study.chassis().part(part);
    for (const Branch& branch : volts.solution().branches)
        if (branch.part == index) return branch;
    FAIL("no branch of " << part);
    return volts.solution().branches.front();
}

/// Milliamperes that a hand on the metal passes to earth; the hand is 1 ohm.
double touch_milliamps(const std::string& parts) {
    const Study study = study_of(ac(120), parts + resistor("R9", "1", "metal", "n"));
    const VoltsView volts = solved(study);
    return 1e3 * through(study, volts, "R9").rms.value();
}

/// The plates of V1, a 25Z5, on the line, with a filter, a light load and V2, a 43, that draws next to nothing.
std::string light_supply() {
    return "<join at=\"P1.1 V1.2 V1.5\"/> <join at=\"bp V1.3 V1.4\"/>\n"
           "<capacitor id=\"C9\" value=\"16 uF\" volts=\"250\" construction=\"dry-electrolytic\" plus=\"bp\" "
           "minus=\"n\"/>\n" +
           resistor("R9", "100k", "bp", "n") + "<join at=\"bp V2.2 V2.3\"/> <join at=\"V2.4 n\"/>\n" +
           resistor("R8", "47k", "V2.5", "n");
}

/// Four heaters of .3 A in series, 62.6 V, from `from` to the neutral.
std::string string_of_four(const std::string& from) {
    return "<socket id=\"V1\" tube=\"25Z5\"/> <socket id=\"V2\" tube=\"43\"/> <socket id=\"V3\" tube=\"6D6\"/> "
           "<socket id=\"V4\" tube=\"6C6\"/>\n" +
           light_supply() + "<join at=\"" + from +
           " V1.1\"/> <join at=\"V1.6 V2.1\"/> <join at=\"V2.6 V3.1\"/> <join at=\"V3.6 V4.1\"/> <join at=\"V4.6 "
           "n\"/>\n";
}

void check_string(const VoltsView& volts, double share) {
    REQUIRE(volts.solution().heaters.size() == 4);
    double across = 0;
    for (const HeaterVolts& heater : volts.solution().heaters) across += heater.across.value();
    CHECK(across == Approx(62.6).epsilon(share));
}

}  // namespace

TEST_CASE("what a capacitor from the line to the metal passes through a hand",
          "[practice-13][practice-14][practice-15][practice-16][practice-17][practice-53]") {
    CHECK(touch_milliamps(capacitor("C1", ".01 uF", "P1.1", "metal")) == Approx(0.452).epsilon(0.01));
    CHECK(touch_milliamps(capacitor("C1", ".047 uF", "P1.1", "metal")) == Approx(2.13).epsilon(0.01));
    CHECK(touch_milliamps(capacitor("C1", ".2 uF", "P1.1", "metal") + resistor("R1", "220k", "P1.1", "metal")) ==
          Approx(9.06).epsilon(0.01));
    CHECK(touch_milliamps(capacitor("C1", ".05 uF", "P1.1", "metal") + resistor("R1", "470k", "P1.1", "metal")) ==
          Approx(2.28).epsilon(0.01));
    CHECK(touch_milliamps(capacitor("C1", ".01105 uF", "P1.1", "metal")) == Approx(0.5).epsilon(0.01));
}

TEST_CASE("the hot check by 1.5 k beside .15 uF: .75 V is half a milliampere", "[practice-12]") {
    const Study study =
        study_of(ac(120), capacitor("C9", ".0112 uF", "P1.1", "metal") + resistor("R1", "1.5k", "metal", "n") +
                              capacitor("C1", ".15 uF", "metal", "n"));
    const VoltsView volts = solved(study);
    const double across = volts.at("metal").rms.value(), amps = through(study, volts, "C9").rms.value();
    CHECK(across == Approx(0.75).epsilon(0.05));
    CHECK(across / amps == Approx(1494.6).epsilon(0.005));
    CHECK(0.75 * amps / across == Approx(0.502e-3).epsilon(0.005));
}

TEST_CASE("4.34 V over 10 k in the way to earth are .43 mA of leakage", "[practice-18]") {
    const Study study =
        study_of(ac(120), capacitor("C1", ".0096 uF", "P1.1", "metal") + resistor("R1", "10k", "metal", "n"));
    const VoltsView volts = solved(study);
    CHECK(volts.at("metal").rms.value() == Approx(4.34).epsilon(0.03));
    CHECK(through(study, volts, "C1").rms.value() == Approx(0.43e-3).epsilon(0.03));
    CHECK(touch_milliamps(capacitor("C1", ".0096 uF", "P1.1", "metal")) == Approx(0.43).epsilon(0.03));
}

TEST_CASE("a string of 62.6 V and .3 A: a cord of 181 ohms, a series capacitor, a diode with 74 ohms",
          "[practice-19][practice-21][practice-23]") {
    {
        const Study study = study_of(ac(117), resistor("R1", "181.3", "P1.1", "string") + string_of_four("string"));
        const VoltsView volts = solved(study);
        check_string(volts, 0.01);
        CHECK(through(study, volts, "R1").rms.value() == Approx(0.3).epsilon(0.01));
        CHECK(through(study, volts, "R1").watts.value() == Approx(16.3).epsilon(0.01));
    }
    {
        const Study study = study_of(ac(120), capacitor("C1", "7.77 uF", "P1.1", "string") + string_of_four("string"));
        const VoltsView volts = solved(study);
        check_string(volts, 0.01);
        CHECK(through(study, volts, "C1").rms.value() == Approx(0.3).epsilon(0.01));
    }
    {
        const Study study = study_of(ac(120),
                                     "<rectifier id=\"CR1\" construction=\"silicon\" volts=\"400\" amps=\"1\" "
                                     "anode=\"P1.1\" cathode=\"half\"/>\n" +
                                         resistor("R1", "74", "half", "string") + string_of_four("string"));
        const VoltsView volts = solved(study);
        check_string(volts, 0.02);
        CHECK(through(study, volts, "R1").watts.value() == Approx(6.7).epsilon(0.02));
    }
}

TEST_CASE("a string of 68.9 V leaves 48 V of 117 to its cord", "[practice-20]") {
    const Study study = study_of(
        ac(117),
        resistor("R1", "160", "P1.1", "string") +
            "<socket id=\"V1\" tube=\"25Z5\"/> <socket id=\"V2\" tube=\"43\"/> <socket id=\"V3\" tube=\"6A7\"/> "
            "<socket id=\"V4\" tube=\"6D6\"/> <socket id=\"V5\" tube=\"75\"/>\n" +
            light_supply() +
            "<join at=\"string V1.1\"/> <join at=\"V1.6 V2.1\"/> "
            "<join at=\"V2.6 V3.1\"/> <join at=\"V3.7 V4.1\"/> <join at=\"V4.6 V5.1\"/> <join at=\"V5.6 n\"/>\n");
    const VoltsView volts = solved(study);
    CHECK(through(study, volts, "R1").volts_rms.value() == Approx(48).margin(1));
}

TEST_CASE("the heaters of the usual string of five add up to 122.8 V", "[practice-25]") {
    const auto made = line_up_of({"12SA7", "12SK7", "12SQ7", "50L6GT", "35Z5GT"}, "117V AC/DC", {}, shipped());
    REQUIRE(made);
    REQUIRE(made->in_series.size() == 1);
    CHECK(made->in_series.front().volts_in_series == Approx(122.8).margin(0.2));
}

TEST_CASE("a rectifier without a load charges to the peak of the line", "[practice-28][practice-29]") {
    for (const auto& [line, peak] : {std::pair(120.0, 169.7), std::pair(127.0, 179.6)}) {
        const Study study =
            study_of(ac(line), "<socket id=\"V1\" tube=\"35Z5GT\"/> <join at=\"V1.7 n\"/>\n" +
                                   resistor("R1", "567", "P1.1", "V1.2") + resistor("R2", "1", "P1.1", "V1.5") +
                                   capacitor("C1", "4 uF", "V1.8", "n"));
        const VoltsView volts = solved(study);
        CHECK(volts.at("V1.5").crest.value() == Approx(peak).margin(0.2));
        CHECK(volts.at("V1.8").dc.value() == Approx(peak).margin(0.2));
    }
}

TEST_CASE("a plate winding of 350 V a side peaks at 495, at 529 on a high line; 318 V a side are what 450 V bear",
          "[practice-30][practice-31][practice-32]") {
    const auto peak = [](const std::string& side, double line) {
        const Study study = study_of(ac(117), R"(<transformer id="T1" role="power" va="60">
<winding role="primary" leads="P1.1 P1.2" volts="117" ohms="1"/>
<winding role="plate" leads="V1.4 n V1.6" noload-volts=")" +
                                                  side + " " + side + R"(" ohms="150 150"/>
<winding role="rectifier-heater" leads="V1.2 V1.8" volts="5" amps="2"/></transformer>
<socket id="V1" tube="5Y3GT"/>
<capacitor id="C1" value="8 uF" volts="600" construction="dry-electrolytic" plus="V1.8" minus="n"/>
)" + resistor("R1", "100k", "V1.8", "n"));
        Condition out = *Condition::parse("transformer-alone");
        out.line_volts = line;
        return solved(study, out).at("V1.4").crest.value();
    };
    CHECK(peak("350", 117) == Approx(495).margin(1));
    CHECK(peak("350", 125) == Approx(529).margin(1));
    CHECK(peak("318", 117) == Approx(450).margin(1));
}

TEST_CASE("a field of 1140 ohms at 65 mA drops 74 V and takes 4.8 W", "[practice-33]") {
    const Study study =
        study_of(direct(300), R"(<coil id="L1" role="field" henries="10" ohms="1140" a="P1.1" b="bplus"/>
)" + resistor("R1", "3475", "bplus", "n"));
    const VoltsView volts = solved(study);
    CHECK(volts.at("P1.1").dc.value() - volts.at("bplus").dc.value() == Approx(74.1).epsilon(0.02));
    CHECK(through(study, volts, "L1").watts.value() == Approx(4.82).epsilon(0.02));
}

TEST_CASE("a coupler's leak lifts the grid behind it", "[practice-36][practice-37][practice-38]") {
    const auto rise = [](const std::string& insulation, const std::string& leak) {
        const Study study =
            study_of(direct(250), resistor("R1", insulation, "P1.1", "grid") + resistor("R2", leak, "grid", "n"));
        return solved(study).at("grid").dc.value();
    };
    CHECK(rise("50 meg", "470k") == Approx(2.33).epsilon(0.02));
    CHECK(rise("24.5 meg", "500k") == Approx(5).epsilon(1e-6));  // 10 uA
    CHECK(rise("93.5 meg", "470k") == Approx(1.25).epsilon(0.01));
}

TEST_CASE("three meters on 100 V behind 220 k", "[practice-40][practice-41][practice-42]") {
    const auto reading = [](double ohms_per_volt) {
        Policy policy;
        if (ohms_per_volt > 0) {
            policy.meter.ohms_per_volt = ohms_per_volt;
            policy.meter.range_volts = 250;
        }
        const Study study =
            study_of(direct(100), resistor("R1", "220k", "P1.1", "far") + capacitor("C1", ".1 uF", "far", "n"), policy);
        return solved(study).at("far").meter.value();
    };
    CHECK(reading(1000) == Approx(53.2).margin(0.3));
    CHECK(reading(20e3) == Approx(95.8).margin(0.3));
    CHECK(reading(0) == Approx(97.8).margin(0.3));
}

TEST_CASE("a line of 125 V on a set for 117 is 6.84 % more volts and 14.1 % more watts", "[practice-43]") {
    const Study study = study_of(ac(117), resistor("R1", "200", "P1.1", "n"));
    Condition high;
    high.line_volts = 125;
    const VoltsView at_117 = solved(study), at_125 = solved(study, high);
    const Branch &low = through(study, at_117, "R1"), &more = through(study, at_125, "R1");
    CHECK(100 * (more.volts_rms.value() / low.volts_rms.value() - 1) == Approx(6.84).margin(0.1));
    CHECK(100 * (more.watts.value() / low.watts.value() - 1) == Approx(14.1).margin(0.1));
}

TEST_CASE("a 12.6 V winding that bucks a line of 124 V leaves 110.4 V", "[practice-44]") {
    const Study study = study_of(ac(124), R"(<transformer id="T1" role="power" va="50">
<winding role="primary" leads="P1.1 P1.2" volts="115" ohms="2"/>
<winding role="heater" leads="P1.1 out" noload-volts="12.6" ohms=".1"/></transformer>
)" + resistor("R1", "10k", "out", "n"));
    CHECK(solved(study).at("out").rms.value() == Approx(110.4).margin(0.5));
}

TEST_CASE("behind a lamp: a set of 74 W on a 100 W lamp, a load of 60 W on a 60 W lamp", "[practice-58][practice-59]") {
    const auto set_volts = [](const std::string& ohms, const char* lamp) {
        const Study study = study_of(ac(120), resistor("R1", ohms, "P1.1", "n"));
        return solved(study, *Condition::parse(lamp)).solution();
    };
    CHECK(set_volts("194.6", "lamp:100W").set_volts == Approx(84).margin(5));
    const Solution sixty = set_volts("240", "lamp:60W");
    CHECK(sixty.set_volts == Approx(72.3).margin(2));
    CHECK(sixty.lamp_volts == Approx(47.7).margin(2));
}

TEST_CASE("17.5 V over 224 ohms of cathode are 78.1 mA", "[practice-70]") {
    const Study study = study_of(direct(17.5), resistor("R1", "224", "P1.1", "n"));
    CHECK(through(study, solved(study), "R1").dc.value() == Approx(78.1e-3).epsilon(0.005));
}

TEST_CASE("a resistor is replaced from 20 % of drift", "[practice-39]") {
    CHECK(Policy{}.resistor_limit == 0.2);
}

namespace {

/// A 35Z5 whose plate hangs on its tap, with the rest of its string as ohms; `lamp`: a dial lamp across the tap.
Study tapped(bool lamp, const std::string& load_ohms) {
    return study_of(
        ac(117),
        std::string("<socket id=\"V1\" tube=\"35Z5GT\"/> <join at=\"P1.1 V1.2\"/> <join at=\"V1.3 V1.5\"/>\n") +
            (lamp ? "<lamp id=\"DS1\" type=\"47\" a=\"V1.2\" b=\"V1.3\"/>\n" : "") +
            resistor("R1", "547", "V1.7", "n") + capacitor("C1", "40 uF", "V1.8", "n") +
            resistor("R2", load_ohms, "V1.8", "n"));
}
}  // namespace

TEST_CASE("the tap of a 35Z5 has 7.5 V of its 35 without a lamp and without a load", "[practice-27]") {
    const Study study = tapped(false, "10 meg");
    const VoltsView volts = solved(study);
    CHECK(volts.at("V1.2").rms.value() - volts.at("V1.3").rms.value() == Approx(7.5).margin(0.3));
}

TEST_CASE("the lamp on the tap of a 35Z5 is brighter once the rectifier conducts, and the tap suffers without it",
          "[practice-26]") {
    const auto rms = [](const Study& study, const char* part) {
        return through(study, solved(study), part).rms.value();
    };
    const Study idle = tapped(true, "10 meg"), loaded = tapped(true, "2.4k"), open = tapped(false, "2.4k");
    const double lamp = rms(loaded, "DS1"), tap = rms(loaded, "V1");
    CHECK(through(loaded, solved(loaded), "R2").dc.value() == Approx(50e-3).epsilon(0.1));
    CHECK(lamp > 1.4 * rms(idle, "DS1"));
    CHECK(rms(open, "V1") > 1.3 * 0.15);
    CHECK(rms(open, "V1") > 1.5 * tap);
    // The source adds the 150 mA of the heaters (rms) and 50 mA of direct current; what it has of the 200 is their
    // share.
    CHECK(200 * lamp / (lamp + tap) == Approx(110).margin(10));
    CHECK(200 * tap / (lamp + tap) == Approx(90).margin(10));
}

TEST_CASE(
    "what an electrolytic may leak by its size and its volts",
    "[practice-1][practice-2][practice-3][practice-4][practice-5][practice-6][practice-7][practice-8][practice-9]") {
    struct Row {
        const char* value;
        const char* volts;
        double milliamps;
        const char* limit;
    };
    for (const Row& row :
         {Row{"20 uF", "450", 1.1, "1.1 mA"}, Row{"20 uF", "250", 0.7, "700 uA"}, Row{"80 uF", "450", 3.5, "3.5 mA"},
          Row{"8 uF", "450", 0.62, "620 uA"}, Row{"16 uF", "450", 0.94, "940 uA"}, Row{"10 uF", "450", 0.7, "700 uA"},
          Row{"40 uF", "150", 1.1, "1.1 mA"}, Row{"50 uF", "150", 1.3, "1.3 mA"}, Row{"25 uF", "25", 0.55, "550 uA"}}) {
        const Study study =
            study_of(ac(117), R"(<transformer id="T1" role="power" va="60">
<winding role="primary" leads="P1.1 P1.2" volts="117" ohms="5"/>
<winding role="plate" leads="V1.4 gnd V1.6" noload-volts="60 60" ohms="50 50"/>
<winding role="rectifier-heater" leads="V1.2 V1.8" volts="5" amps="2"/></transformer>
<node is="chassis-metal" net="gnd" touch="yes"/> <socket id="V1" tube="5Y3GT"/>
<capacitor id="C1" value=")" + std::string(row.value) +
                                  "\" volts=\"" + row.volts +
                                  "\" construction=\"dry-electrolytic\" plus=\"V1.8\" minus=\"gnd\"/>\n" +
                                  resistor("R1", "1k", "V1.8", "gnd"));
        const auto limits = study.leakage_limits();
        REQUIRE(limits);
        REQUIRE(limits->size() == 1);
        INFO(row.value << " " << row.volts << " V: " << limits->front().limited_by);
        REQUIRE(limits->front().amps);
        CHECK(limits->front().limited_by == std::string("its own limit as an electrolytic, ") + row.limit);
        CHECK(1e3 * *limits->front().amps == Approx(row.milliamps).epsilon(0.04));  // the net sags under it
    }
}

TEST_CASE("back bias is 10 to 40 V below the metal", "[practice-34]") {
    const Outcome<Chassis> set = read_chassis(TUBEWRIGHT_ROOT "/netlists/s2-heron-weir.xml", shipped());
    REQUIRE(set);
    const Study study(*set, shipped());
    const double bias = solved(study).at("bias").dc.value();
    CHECK(bias < -10);
    CHECK(bias > -40);
}

TEST_CASE("silicon in place of selenium wants 22 to 100 ohms more for the same B-plus", "[practice-50]") {
    const auto bplus = [](const std::string& construction, const std::string& volts, double ohms) {
        const Study study =
            study_of(ac(117), resistor("R1", std::to_string(ohms), "P1.1", "a") +
                                  "<rectifier id=\"CR1\" construction=\"" + construction + "\" volts=\"" + volts +
                                  "\" amps=\".1\" anode=\"a\" cathode=\"bp\"/>\n<capacitor id=\"C1\" value=\"40 uF\" "
                                  "volts=\"250\" construction=\"dry-electrolytic\" plus=\"bp\" minus=\"n\"/>\n" +
                                  resistor("R2", "1.5k", "bp", "n"));
        return solved(study).at("bp").dc.value();
    };
    const double selenium = bplus("selenium", "130", 22);
    CHECK(bplus("silicon", "400", 22 + 22) > selenium);
    CHECK(bplus("silicon", "400", 22 + 100) < selenium);
}
