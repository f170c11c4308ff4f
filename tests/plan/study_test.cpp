// SPDX-License-Identifier: MIT
// The study: sections are made once and agree with each other, what cannot be solved says why, threads may ask at the
// same time.
#include <tubewright/study.hpp>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <set>
#include <sstream>
#include <thread>

#include <tubewright/netlist.hpp>

#include <catch2/catch.hpp>

namespace tw = tubewright;

namespace {

const tw::Catalogue& catalogue() {
    static const tw::Catalogue shipped = tw::Catalogue::shipped();
    return shipped;
}

tw::Chassis set_of(const std::string& name) {
    std::ifstream in(std::string(TUBEWRIGHT_ROOT) + "/netlists/" + name);
    std::ostringstream text;
    text << in.rdbuf();
    const auto set = tw::read_chassis_text(text.str(), name, catalogue());
    REQUIRE(set);
    return *set;
}

const tw::Study& amplifier() {
    static const tw::Study study(set_of("s9-bellows-court.xml"), catalogue());
    return study;
}

std::set<tw::Scenario> kinds(const tw::Study& study) {
    std::set<tw::Scenario> found;
    for (const auto& condition : study.scenarios()) found.insert(condition.scenario);
    return found;
}

}  // namespace

TEST_CASE("The scenarios are those that the set can be in: every tube but the rectifier is pulled once") {
    const auto all = amplifier().scenarios();
    CHECK(all.front().scenario == tw::Scenario::normal);
    std::set<std::string> pulled;
    for (const auto& condition : all) {
        if (condition.scenario == tw::Scenario::tube_out) pulled.insert(condition.tube);
    }
    CHECK(pulled == std::set<std::string>{"V1", "V2"});
    CHECK(kinds(amplifier()).count(tw::Scenario::rectifier_out) == 1);
}

TEST_CASE("Of two rectifier tubes side by side each is pulled by itself: the other is left with the whole load") {
    const char* set =
        "<chassis version=\"1\" name=\"two rectifiers\" reference=\"gnd\" m-means=\"million\" "
        "electrolytic=\"dry-electrolytic\">"
        "<line volts=\"117\" hertz=\"60\" hot=\"P1.1\" neutral=\"P1.2\"/><node is=\"chassis-metal\" net=\"gnd\"/>"
        "<plug id=\"P1\" role=\"line\"/><transformer id=\"T1\" role=\"power\" va=\"120\">"
        "<winding role=\"primary\" leads=\"P1.1 P1.2\" volts=\"117\" ohms=\"8\"/>"
        "<winding role=\"plate\" leads=\"V1.4 gnd V1.6\" noload-volts=\"300 300\" ohms=\"80 80\"/>"
        "<winding role=\"rectifier-heater\" leads=\"V1.2 V1.8\" volts=\"5\" amps=\"4\"/></transformer>"
        "<socket id=\"V1\" tube=\"5Y3GT\"/><socket id=\"V2\" tube=\"5Y3GT\"/>"
        "<join at=\"V2.4 V1.4\"/><join at=\"V2.6 V1.6\"/><join at=\"V2.2 V1.2\"/><join at=\"V2.8 V1.8\"/>"
        "<capacitor id=\"C1\" value=\"16 mfd\" volts=\"450\" plus=\"V1.8\" minus=\"gnd\"/>"
        "<resistor id=\"R1\" value=\"2K\" watts=\"90\" a=\"V1.8\" b=\"gnd\"/></chassis>";
    const auto read = tw::read_chassis_text(set, "two.xml", catalogue());
    REQUIRE(read);
    const tw::Study study(*read, catalogue());
    std::set<std::string> pulled;
    for (const auto& condition : study.scenarios())
        if (condition.scenario == tw::Scenario::tube_out) pulled.insert(condition.tube);
    CHECK(pulled == std::set<std::string>{"V1", "V2"});
    const auto stress = study.stress();
    REQUIRE(stress);
    for (const tw::PartStress& row : *stress)
        for (const tw::StressRating& one : row.ratings)
            if (row.part == read->part("V2") && one.quantity == "dc amperes") {
                CHECK(one.scenario == "tube-out:V1");
                CHECK(one.rating_over_stress < 1);
            }
    // it is not the supply's end: B-plus stays, a little lower
    tw::Condition out;
    out.scenario = tw::Scenario::tube_out;
    out.tube = "V1";
    const auto left = study.volts(out), normal = study.volts(tw::Scenario::normal);
    REQUIRE(left);
    CHECK(left->at("V1.8").dc.value() < normal->at("V1.8").dc.value());
    CHECK(left->at("V1.8").dc.value() > 0.8 * normal->at("V1.8").dc.value());
}

TEST_CASE("A set without a rectifier has no warm-up and no rectifier to pull") {
    tw::ChassisBuilder b("heaters alone");
    b.line(tw::volts(117), tw::hertz(60), "hot", "neutral");
    b.reference("gnd");
    b.node("chassis-metal", "gnd", true);
    b.resistor("R1", tw::ohms(100), "hot", "gnd");
    b.resistor("R2", tw::ohms(100), "neutral", "gnd");
    const auto set = b.build(catalogue());
    REQUIRE(set);
    const tw::Study study(*set, catalogue());
    CHECK(kinds(study) == std::set<tw::Scenario>{tw::Scenario::normal, tw::Scenario::high_line});
}

TEST_CASE("Volts by scenario and by condition are the same solution, solved once") {
    const auto by_name = amplifier().volts(tw::Scenario::normal);
    const auto by_condition = amplifier().volts(tw::Condition{});
    REQUIRE(by_name);
    REQUIRE(by_condition);
    CHECK(by_name->at("bplus").dc.value() == by_condition->at("bplus").dc.value());
    CHECK(by_name->at("bplus").dc.value() > 200);
    CHECK_THROWS_AS(by_name->at("no such net"), tw::Error);
}

TEST_CASE("The stress of a filter is at least its normal volts, and names the scenario that sets it") {
    const auto stress = amplifier().stress();
    REQUIRE(stress);
    const int filter = amplifier().chassis().part("C1.half-moon");
    const double normal = amplifier().volts(tw::Scenario::normal)->at("bplus").dc.value();
    bool found = false;
    for (const auto& row : *stress) {
        if (row.part != filter || !row.lead.empty()) continue;
        found = true;
        CHECK(row.worst.crest_volts > normal);
        CHECK_FALSE(row.volts_scenario.empty());
    }
    CHECK(found);
}

TEST_CASE(
    "What the survey would replace is on the shopping list, and every step of the order has its parts in the set") {
    const auto survey = amplifier().survey();
    const auto list = amplifier().shop();
    const auto order = amplifier().repair_order();
    REQUIRE(survey);
    REQUIRE(list);
    REQUIRE(order);
    std::set<std::string> bought;
    for (const auto& line : list->lines) bought.insert(line.for_parts.begin(), line.for_parts.end());
    for (const auto& action : survey->parts) {
        if (action.action == "replace")
            CHECK(bought.count(amplifier().chassis().parts()[static_cast<std::size_t>(action.part)].id) == 1);
    }
    for (const auto& step : order->steps) {
        for (const auto& part : step.parts) CHECK(amplifier().chassis().part(part) >= 0);
    }
    CHECK(order->lower_bound <= order->objective);
}

TEST_CASE("Assumptions are merged: none is said twice") {
    REQUIRE(amplifier().volts(tw::Scenario::normal));
    std::set<std::pair<std::string, std::string>> seen;
    const auto list = amplifier().assumptions();
    CHECK_FALSE(list.empty());
    for (const auto& one : list) CHECK(seen.emplace(one.about, one.taken).second);
}

TEST_CASE("A higher line gives a higher B-plus, and a policy of proving each part buys no more than replacing all") {
    tw::Policy policy;
    policy.line.volts = tw::volts(117 * 1.1);
    policy.replace = tw::ReplacePolicy::prove_each;
    const tw::Study high(set_of("s9-bellows-court.xml"), catalogue(), policy);
    const double ratio = high.volts(tw::Scenario::normal)->at("bplus").dc.value() /
                         amplifier().volts(tw::Scenario::normal)->at("bplus").dc.value();
    CHECK(ratio > 1.05);
    CHECK(ratio < 1.15);
    const auto count = [](const tw::Study& study) {
        int replaced = 0;
        const auto survey = study.survey();
        REQUIRE(survey);
        for (const auto& action : survey->parts) replaced += action.action == "replace" ? 1 : 0;
        return replaced;
    };
    CHECK(count(high) <= count(amplifier()));
}

TEST_CASE(
    "A circuit without a solution is refused with the reason, in every section that needs one, and in the audit") {
    tw::ChassisBuilder b("shorted line");
    b.line(tw::volts(117), tw::hertz(60), "hot", "hot");
    b.reference("gnd");
    b.resistor("R1", tw::ohms(100), "hot", "gnd");
    b.resistor("R2", tw::ohms(100), "hot", "gnd");
    const auto set = b.build(catalogue());
    REQUIRE(set);
    const tw::Study study(*set, catalogue());
    const auto volts = study.volts(tw::Scenario::normal);
    if (!volts) {
        CHECK_FALSE(volts.notices().empty());
        CHECK_FALSE(study.stress());
        CHECK_FALSE(study.shop());
        CHECK_FALSE(study.threat_report());
        CHECK_THROWS_AS(study.threats(), tw::Error);
        CHECK_THROWS_AS(study.steps(), tw::Error);
    }
    CHECK(tw::must_stop(study.audit()));
}

TEST_CASE("The alternating volts across a first filter are its ripple, between a triangle's and a sine's rms") {
    const tw::Study study(set_of("s1-quarry-hill.xml"), catalogue());
    const double across = study.volts(tw::Scenario::normal)->at("V5.1").ripple_pp.value();
    const int filter = study.chassis().part("C1.plain");
    int seen = 0;
    const auto rows = *study.stress();
    for (const auto& row : rows)
        for (const auto& there : row.scenarios) {
            if (row.part != filter || !row.lead.empty() || there.scenario != "normal") continue;
            ++seen;
            CHECK(there.ac_volts_rms > across / (2 * std::sqrt(3.0)) * 0.98);
            CHECK(there.ac_volts_rms < across / (2 * std::sqrt(2.0)) * 1.02);
        }
    CHECK(seen == 1);
}

TEST_CASE("Threads that ask the same study at the same time get the same answers") {
    const tw::Study study(set_of("s9-bellows-court.xml"), catalogue());
    std::vector<double> volts(4), crest(4);
    std::vector<std::thread> threads;
    for (std::size_t i = 0; i < volts.size(); ++i) {
        threads.emplace_back([&, i] {
            volts[i] = study.volts(i % 2 == 0 ? tw::Scenario::normal : tw::Scenario::high_line)->at("bplus").dc.value();
            const auto stress = study.stress();
            for (const auto& row : *stress) crest[i] += row.worst.crest_volts;
        });
    }
    for (auto& thread : threads) thread.join();
    CHECK(volts[0] == volts[2]);
    CHECK(volts[1] == volts[3]);
    CHECK(volts[1] > volts[0]);
    for (const double sum : crest) CHECK(sum == crest.front());
}

TEST_CASE("A set with nothing that stores anything is solved like any other") {
    const auto set = tw::read_chassis_text(R"(<chassis version="1" name="Two resistors" reference="gnd">
        <node is="chassis-metal" net="gnd" touch="yes"/>
        <line volts="117" hertz="60" hot="P1.1" neutral="P1.2"/>
        <plug id="P1" role="line"/>
        <resistor id="R1" value="1k" a="gnd" b="k"/>
        <resistor id="R2" value="1k" a="gnd" b="k"/>
        </chassis>)",
                                           "two.xml", catalogue());
    REQUIRE(set);
    CHECK_FALSE(tw::Study(*set, catalogue()).audit().empty());
}

TEST_CASE("Parts of a list beside a traced set are surveyed, and its volts stay what they were") {
    std::ifstream in(std::string(TUBEWRIGHT_ROOT) + "/netlists/s9-bellows-court.xml");
    std::ostringstream text;
    text << in.rdbuf();
    std::string listed = text.str();
    listed.insert(listed.find("</chassis>"),
                  R"(<switch id="S90" role="band"/><battery id="BT91" role="b" volts="90"/><vibrator id="Y90"/>
        <vibrator id="Y91" role="synchronous" seen="shorted"/><transformer id="T91" role="if"/>)");
    const auto set = tw::read_chassis_text(listed, "s9.xml", catalogue());
    REQUIRE(set);
    const tw::Study study(*set, catalogue());
    REQUIRE(study.survey());
    CHECK(study.survey()->parts.size() > amplifier().survey()->parts.size());
    const auto with = study.volts(tw::Scenario::normal), without = amplifier().volts(tw::Scenario::normal);
    REQUIRE(with);
    REQUIRE(without);
    CHECK(with->at("bplus").dc.value() == Approx(without->at("bplus").dc.value()));
    for (const tw::Finding& finding : study.audit()) CHECK(finding.severity != tw::Severity::stop);
}

TEST_CASE("What was seen shorted is taken as sound, and solved as it was found where that is asked for") {
    const auto with = [](const std::string& from, const std::string& to) {
        std::ifstream in(std::string(TUBEWRIGHT_ROOT) + "/netlists/s9-bellows-court.xml");
        std::ostringstream text;
        text << in.rdbuf();
        std::string all = text.str();
        REQUIRE(all.find(from) != std::string::npos);
        all.replace(all.find(from), from.size(), to);
        const auto set = tw::read_chassis_text(all, "s9.xml", catalogue());
        REQUIRE(set);
        return tw::Study(*set, catalogue());
    };
    tw::Condition found;
    found.scenario = tw::Scenario::as_found;
    // a shorted coupler: the grid stands on the plate before it, so far as its own current lets it
    const tw::Study coupler = with("<capacitor id=\"C4\"", "<capacitor id=\"C4\" seen=\"shorted\"");
    const auto sound = coupler.volts(tw::Scenario::normal), shorted = coupler.volts(found);
    REQUIRE(sound);
    REQUIRE(shorted);
    CHECK(sound->at("V2.2").dc.value() == Approx(amplifier().volts(tw::Scenario::normal)->at("V2.2").dc.value()));
    CHECK(std::fabs(sound->at("V2.2").dc.value()) < 0.1);
    CHECK(shorted->at("V2.2").dc.value() > 10);
    CHECK(shorted->at("V2.2").dc.value() == Approx(shorted->at("V1.6").dc.value()).margin(0.01));
    CHECK(shorted->at("V2.2").high > shorted->at("V2.2").low);
    // a shorted filter section empties its net, and all of B-plus lies across the resistor before it
    const tw::Study filter = with("mark=\"square\"", "mark=\"square\" seen=\"shorted\"");
    const auto empty = filter.volts(found);
    REQUIRE(empty);
    CHECK(std::fabs(empty->at("bplus2").dc.value()) < 0.1);
    CHECK(empty->at("bplus").dc.value() < 0.8 * amplifier().volts(tw::Scenario::normal)->at("bplus").dc.value());
    CHECK(empty->at("bplus").dc.value() > 20);
    // where nothing was seen shorted the condition does not apply, and says so
    const auto none = amplifier().volts(found);
    REQUIRE_FALSE(none);
    CHECK(none.notices().front().message.find("seen shorted") != std::string::npos);
    const auto all = coupler.scenarios();
    CHECK(std::none_of(all.begin(), all.end(),
                       [](const tw::Condition& one) { return one.scenario == tw::Scenario::as_found; }));
}
