// SPDX-License-Identifier: MIT
// The verdict on a power transformer. The first readings are the trade's (common practice, no source): a set made for
// a 110 V line, 312-0-312, 5 and 6.3 V, read at 120 V with its rectifier pulled.
#include <algorithm>
#include <cmath>

#include <catch2/catch.hpp>

#include "order/order.hpp"
#include "sets.hpp"

using namespace tubewright;

namespace {

Chassis made_for_110(const std::string& plate = "volts=\"312\"") {
    const std::string text =
        "<chassis version=\"1\" name=\"transformer\" built=\"1934\" reference=\"gnd\">"
        "<line volts=\"110\" hertz=\"60\" hot=\"P1.1\" neutral=\"P1.2\"/>"
        "<node is=\"chassis-metal\" net=\"gnd\" touch=\"yes\"/><plug id=\"P1\" role=\"line\"/>"
        "<transformer id=\"T1\" role=\"power\" va=\"70\">"
        "<winding role=\"primary\" leads=\"P1.1 P1.2\" volts=\"110\" ohms=\"7\"/>"
        "<winding role=\"plate\" leads=\"V1.2 gnd V1.3\" " +
        plate +
        " ohms=\"180 200\"/>"
        "<winding role=\"rectifier-heater\" leads=\"V1.1 V1.4\" volts=\"5\" amps=\"2\"/>"
        "<winding role=\"heater\" leads=\"heaters gnd\" volts=\"6.3\" amps=\"2\"/>"
        "</transformer><socket id=\"V1\" tube=\"80\"/></chassis>";
    const Outcome<Chassis> set = read_chassis_text(text, "transformer.xml", demo::catalogue());
    if (!set) throw Error(set.notices().front().text());
    return *set;
}

WindingTest at_120(std::vector<WindingTest::Read> readings) {
    WindingTest test;
    test.line_volts = 120;
    test.readings = std::move(readings);
    return test;
}
const std::vector<WindingTest::Read> sound{
    {"plate.1", 340}, {"plate.2", 340}, {"rectifier-heater", 5.74}, {"heater", 6.89}};

WindingsVerdict judged(const WindingTest& test, const Chassis& set = made_for_110()) {
    const Outcome<WindingsVerdict> v = windings_of(set, Policy{}, nullptr, test);
    if (!v) FAIL(v.notices().front().text());
    return *v;
}
const WindingRow& row(const WindingsVerdict& v, const std::string& name) {
    for (const WindingRow& r : v.rows)
        if (r.winding == name) return r;
    FAIL("no winding " << name);
    return v.rows.front();
}
bool any(const std::vector<std::string>& list, const std::string& piece) {
    return std::any_of(list.begin(), list.end(),
                       [&](const std::string& s) { return s.find(piece) != std::string::npos; });
}

}  // namespace

TEST_CASE("340, 5.74 and 6.89 V at 120 V on a transformer for 110 V are healthy, each rise explained") {
    const WindingsVerdict v = judged(at_120(sound));
    CHECK(v.verdict == "healthy");
    CHECK(v.factor == Approx(1.0909).margin(0.00005));
    CHECK(*row(v, "plate.1").residual == Approx(-0.001).margin(0.0005));
    CHECK(*row(v, "plate.2").residual == Approx(-0.001).margin(0.0005));
    CHECK(*row(v, "rectifier-heater").residual == Approx(0.052).margin(0.0005));
    CHECK(*row(v, "heater").residual == Approx(0.003).margin(0.0005));
    for (const WindingRow& r : v.rows) {
        INFO(r.winding << ": " << r.why);
        CHECK(r.verdict == "healthy");
        CHECK(r.why.find("rise") != std::string::npos);
        CHECK(*r.ratio == Approx(*r.read_volts / *r.design_volts));
        CHECK(*r.low_volts < *r.read_volts);
        CHECK(*r.high_volts > *r.read_volts);
        double sum = 0;
        for (const auto& [state, p] : r.likelihoods) sum += p;
        CHECK(sum == Approx(1));
    }
    REQUIRE(v.heaters.size() == 2);
    for (const HeaterForecast& f : v.heaters) {
        CHECK(f.within);
        CHECK(f.low_volts < f.volts);
        CHECK(f.volts > f.rated_volts);
        CHECK(f.volts <= 1.1 * f.rated_volts);
    }
    CHECK(v.remedy.empty());
    // one shorted turn is not excluded by volts, and the sheet says so
    CHECK(any(v.because, "not seen in volts"));
    CHECK(any(v.next, "watts"));
}

TEST_CASE("a half that reads a fifth low is not healthy, and its fellow says why") {
    std::vector<WindingTest::Read> low = sound;
    low[1].volts = 272;
    const WindingsVerdict v = judged(at_120(low));
    CHECK(v.verdict == "not healthy");
    CHECK(row(v, "plate.2").verdict == "half-imbalance");
    CHECK(row(v, "plate.1").verdict == "healthy");
    CHECK(any(v.because, "plate.2"));
    CHECK(any(v.because, "other half"));
    CHECK(any(v.because, "watts or heat decide"));
    // four of a hundred apart is off too, three is not
    low[1].volts = 340 * 0.95;
    CHECK(row(judged(at_120(low)), "plate.2").verdict == "half-imbalance");
    low[1].volts = 340 * 0.975;
    CHECK(judged(at_120(low)).verdict == "healthy");
}

TEST_CASE("one reading alone says what it can and what to read next") {
    const WindingsVerdict half = judged(at_120({{"plate.1", 340}}));
    CHECK(half.verdict == "cannot tell yet");
    REQUIRE(half.next.size() >= 2);
    CHECK(half.next[0].find("plate.2") == 0);
    CHECK(any(half.next, "rectifier-heater"));
    CHECK(row(half, "heater").verdict == "not read");
    CHECK(half.heaters.size() == 2);  // from the line's ratio alone
    const WindingsVerdict open = judged(at_120({{"heater", 0.05}}));
    CHECK(open.verdict == "not healthy");
    CHECK(row(open, "heater").verdict == "open");
    CHECK(judged(at_120({})).verdict == "cannot tell yet");
}

TEST_CASE("watts or heat declare a shorted turn, amperes alone never") {
    // without a solved set no watts are expected: heat decides
    WindingTest test = at_120(sound);
    test.amps = 3;
    WindingsVerdict v = judged(test);
    CHECK(v.verdict == "healthy");
    CHECK(any(v.because, "alone nothing is said"));
    test.heat = "hot";
    v = judged(test);
    CHECK(v.verdict == "not healthy");
    CHECK(any(v.because, "shorted turns"));
    test.heat = "cool";
    v = judged(test);
    CHECK(v.verdict == "healthy");
    CHECK_FALSE(any(v.next, "watts"));
    // and with one, watts do
    const Chassis set = demo::read("s9-bellows-court.xml");
    Outcome<Bench> bench = Bench::make(set, demo::catalogue(), Policy{}, {});
    REQUIRE(bench);
    WindingTest on_set;
    on_set.heaters_in = false;
    on_set.watts = 2;
    on_set.readings = {{"plate.1", 260}, {"plate.2", 261}, {"heater", 6.6}};
    const Outcome<WindingsVerdict> few = windings_of(set, Policy{}, &*bench, on_set);
    REQUIRE(few);
    CHECK(few->verdict == "healthy");
    on_set.watts = 14;
    const Outcome<WindingsVerdict> many = windings_of(set, Policy{}, &*bench, on_set);
    REQUIRE(many);
    CHECK(many->verdict == "not healthy");
    CHECK(any(many->because, "14 W"));
}

TEST_CASE("a winding on another tap is the outlier; all of them together are the primary's or the line's") {
    std::vector<WindingTest::Read> one = sound;
    one[3].volts = 6.89 * 1.25;
    const WindingsVerdict v = judged(at_120(one));
    CHECK(v.verdict == "not healthy");
    CHECK(row(v, "heater").verdict == "wrong tap");
    CHECK(row(v, "plate.1").verdict == "healthy");
    std::vector<WindingTest::Read> all = sound;
    for (WindingTest::Read& r : all) r.volts *= 0.88;
    const WindingsVerdict w = judged(at_120(all));
    CHECK(w.verdict == "not healthy");
    CHECK(any(w.because, "off together"));
    for (const WindingRow& r : w.rows) CHECK(r.verdict == "healthy");
}

TEST_CASE("each reading is held to the line at which it was taken, and may be named by the pin where it was read") {
    WindingTest test = at_120({{"V1.2", 312, 110}, {"V1.3", 340}, {"heater", 6.6, 115}});
    const WindingsVerdict v = judged(test);
    CHECK(v.verdict == "healthy");
    CHECK(*row(v, "plate.1").line_volts_read == 110);
    CHECK(*row(v, "plate.1").residual == Approx(0).margin(1e-9));
    const Outcome<WindingsVerdict> none = windings_of(made_for_110(), Policy{}, nullptr, at_120({{"tertiary", 12}}));
    REQUIRE_FALSE(none);
    CHECK(none.notices().front().remedy.find("plate.1") != std::string::npos);
}

TEST_CASE("a winding marked by a no-load reading has no rise to explain a high one with") {
    const Chassis set = made_for_110("noload-volts=\"312 312\"");
    std::vector<WindingTest::Read> high = sound;
    high[0].volts = high[1].volts = 312 * 120 / 110. * 1.08;
    CHECK(judged(at_120(high), set).verdict != "healthy");
    CHECK(judged(at_120(high)).verdict == "healthy");
}

TEST_CASE("heaters that will stand over a tenth high get their remedy computed") {
    WindingTest test = at_120({{"plate.1", 365}, {"plate.2", 365}, {"rectifier-heater", 6.15}, {"heater", 7.3}});
    test.line_volts = 127;
    const WindingsVerdict v = judged(test);
    const auto over =
        std::find_if(v.heaters.begin(), v.heaters.end(), [](const HeaterForecast& f) { return !f.within; });
    REQUIRE(over != v.heaters.end());
    REQUIRE_FALSE(v.remedy.empty());
    CHECK(any(v.remedy, "bucking"));
    CHECK(any(v.remedy, "ohm"));
}

TEST_CASE("a set without a power transformer is told that there is none to judge") {
    for (const char* file : {"s3-tanner-row.xml", "s8-drover-gap.xml"}) {
        const Outcome<WindingsVerdict> v = windings_of(demo::read(file), Policy{}, nullptr, {});
        REQUIRE_FALSE(v);
    }
}

TEST_CASE("one reading outside its prior is the outlier, and nothing is called healthy by it") {
    const WindingsVerdict v = judged(at_120({{"plate.1", 272}}));
    CHECK(v.verdict == "not healthy");
    CHECK(row(v, "plate.1").verdict == "outlier");
    CHECK(any(v.because, "one reading does not say which"));
    CHECK(judged(at_120({{"plate.1", 340}})).verdict == "cannot tell yet");
    CHECK(row(judged(at_120({{"plate.1", 340}})), "plate.1").verdict == "fits");
    // not so far off that a line misread by a few volts would not explain it
    CHECK(judged(at_120({{"plate.1", 318}})).verdict == "cannot tell yet");
}

TEST_CASE("a heater that nobody read is forecast by its mark, within what a mark is good for") {
    const WindingsVerdict v = judged(at_120({{"plate.1", 340}}));
    for (const HeaterForecast& one : v.heaters) {
        INFO(one.winding);
        CHECK(one.high_volts - one.low_volts > 0.09 * one.rated_volts);
    }
}

TEST_CASE("heat accuses the transformer, and of its windings only one that is off its volts") {
    WindingTest test = at_120(sound);
    test.heat = "hot";
    const WindingsVerdict v = judged(test);
    CHECK(v.verdict == "not healthy");
    for (const WindingRow& r : v.rows) CHECK(r.verdict == "healthy");
    CHECK(v.because.size() == 1);
    CHECK(any(v.because, "in which winding they do not tell"));
    test.readings[3].volts = 6.0;
    const WindingsVerdict low = judged(test);
    CHECK(row(low, "heater").verdict == "shorted turns");
    CHECK(row(low, "plate.1").verdict == "healthy");
}

TEST_CASE("all windings low by 110 over 120 name the selector or tap first") {
    std::vector<WindingTest::Read> all = sound;
    for (WindingTest::Read& r : all) r.volts *= 110 / 120.;
    const WindingsVerdict v = judged(at_120(all));
    CHECK(v.verdict == "not healthy");
    CHECK(any(v.because, "likeliest the selector"));
}

TEST_CASE("a half that reads nothing is open") {
    const WindingsVerdict v = judged(at_120({{"plate.1", 340}, {"plate.2", 0}}));
    CHECK(v.verdict == "not healthy");
    CHECK(row(v, "plate.2").verdict == "open");
    CHECK(row(v, "plate.1").verdict == "healthy");
}
