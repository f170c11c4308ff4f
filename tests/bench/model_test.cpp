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
