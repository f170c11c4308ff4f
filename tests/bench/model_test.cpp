// SPDX-License-Identifier: MIT
// The sheet of equations holds together by itself: every node, law, element and value that is named is there. That
// another engine gets the same volts from it is shown in tests/oracle.
#include <catch2/catch.hpp>

#include <algorithm>
#include <set>

#include "sets.hpp"

using namespace sets;

TEST_CASE("everything that the sheet names is on the sheet") {
    for (const std::string& path : {superhet, amplifier}) {
        const Chassis set = read(text_of(path));
        Bench bench = bench_of(set);
        const ModelSheet sheet = bench.model();
        const std::set<std::string> nodes(sheet.nodes.begin(), sheet.nodes.end());
        CHECK(nodes.size() == sheet.nodes.size());
        std::set<std::string> laws, ids;
        for (const auto& [name, text] : sheet.laws) {
            laws.insert(name);
            CHECK(text.size() > 20);
        }
        for (const ModelElement& one : sheet.elements) {
            INFO(one.id);
            CHECK(ids.insert(one.id).second);
            CHECK(one.values.size() == one.sources.size());
            for (const std::string& source : one.sources) CHECK_FALSE(source.empty());
            for (const std::string& node : one.nodes) CHECK(nodes.count(node) == 1);
            if (one.kind != "device") continue;
            CHECK(laws.count(one.law) == 1);
            // every constant is a word of the law's formula
            const auto text = std::find_if(sheet.laws.begin(), sheet.laws.end(),
                                           [&](const auto& law) { return law.first == one.law; });
            REQUIRE(text != sheet.laws.end());
            CHECK(one.values.front().first == "emission");
        }
        std::set<std::string> scenarios;
        for (const ModelChange& change : sheet.changes) {
            INFO(change.scenario << " " << change.element << " " << change.value);
            scenarios.insert(change.scenario);
            CHECK(ids.count(change.element) == 1);
            const auto of = std::find_if(sheet.elements.begin(), sheet.elements.end(),
                                         [&](const ModelElement& e) { return e.id == change.element; });
            REQUIRE(of != sheet.elements.end());
            CHECK(std::any_of(of->values.begin(), of->values.end(),
                              [&](const auto& value) { return value.first == change.value; }));
        }
        for (const char* scenario :
             {"normal", "high-line", "warm-up", "rectifier-out", "transformer-alone", "output-cut-off"})
            CHECK(scenarios.count(scenario) == 1);
    }
}

TEST_CASE("a linear set rebuilt from its sheet by hand stands at the same volts") {
    // Past the rectifier: the load and the divider as the sheet gives them, fed from the solved B-plus.
    const Chassis set = DividerSupply{}.make();
    Bench bench = bench_of(set);
    const ModelSheet sheet = bench.model();
    const auto value = [&](const std::string& id, const std::string& name) {
        for (const ModelElement& one : sheet.elements) {
            if (one.id != id) continue;
            for (const auto& [key, number] : one.values) {
                if (key == name) return number;
            }
        }
        FAIL("no " << id << " " << name);
        return 0.0;
    };
    const Solution s = *bench.solve({});
    const double tap = value("R3", "ohms") / (value("R2", "ohms") + value("R3", "ohms"));
    CHECK(dc(s, set, "half") == Approx(tap * dc(s, set, "bplus")).epsilon(1e-4));
    CHECK(value("T1", "turns.1") == 117);
    CHECK(value("T1", "turns.2") == 260);
    CHECK(value("C1", "farads") == 16e-6);
}

TEST_CASE("the sheet has what an hour's heat, a pulled tube and a signal change, and says what it leaves out") {
    const Chassis set = read(sound(text_of(superhet)));
    Bench bench = bench_of(set);
    std::vector<Condition> wanted;
    for (const char* text :
         {"soak", "tube-out:V1", "tube-out:V4", "switch-on", "signal-peak", "signal-peak:no-load", "dial-lamp-out:DS9"})
        wanted.push_back(condition(text));
    const ModelSheet sheet = bench.model(wanted);
    CHECK(sheet.scenarios.size() == 6);
    REQUIRE(sheet.left_out.size() == 1);
    CHECK(sheet.left_out.front().find("DS9") != std::string::npos);
    const auto to = [&](const std::string& scenario, const std::string& element, const std::string& value) {
        for (const ModelChange& one : sheet.changes)
            if (one.scenario == scenario && one.element == element && one.value == value) return one.to;
        return -1.0;
    };
    CHECK(to("tube-out:V4", "V4 pentode", "emission") == 0);
    CHECK(to("tube-out:V1", "V4 pentode", "emission") == -1);
    // the field by its own watts, as the solution of that condition has it
    const Solution hot = *bench.solve(condition("soak"));
    const auto field =
        std::find_if(set.parts().begin(), set.parts().end(), [](const Part& part) { return part.role == "field"; });
    REQUIRE(field != set.parts().end());
    const double ohms = to("soak", field->id, "ohms");
    CHECK(ohms > 1.05 * *field->ohms);
    CHECK(std::any_of(hot.assumptions.begin(), hot.assumptions.end(),
                      [&](const Assumption& one) { return one.about == field->id + " hot"; }));
    // the signal: a source before the output grid and its return, and the tube on the far side of it
    const std::set<std::string> nodes(sheet.nodes.begin(), sheet.nodes.end());
    for (const std::string& node : sheet.signal_nodes) CHECK(nodes.count(node) == 0);
    REQUIRE(std::count(sheet.signal_nodes.begin(), sheet.signal_nodes.end(), "V4.4 driven") == 1);
    std::set<std::string> on_the_far_side;
    for (const ModelElement& one : sheet.signal_elements)
        if (std::count(one.nodes.begin(), one.nodes.end(), "V4.4 driven") > 0) on_the_far_side.insert(one.id);
    CHECK(on_the_far_side.count("V4 pentode") == 1);
    CHECK(on_the_far_side.count("V4 signal") == 1);
    CHECK(std::any_of(sheet.signal_elements.begin(), sheet.signal_elements.end(),
                      [](const ModelElement& one) { return one.id == "V4 signal return"; }));
    CHECK(to("signal-peak", "V4 signal", "volts_rms") > 5);
}
