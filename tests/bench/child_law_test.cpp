// SPDX-License-Identifier: MIT
// Child and Langmuir: the current of a vacuum diode goes with the 3/2 power of its volts. The exponent is read off, as
// one reads it off a curve on logarithmic paper, from the law of every vacuum rectifier in the table, and from pairs of
// solved circuits.
#include <catch2/catch.hpp>

#include <cmath>
#include <string>

#include <tubewright/tubes.hpp>

#include "sets.hpp"

using namespace sets;

TEST_CASE("The current of every vacuum rectifier goes with the 3/2 power of its drop") {
    int rectifiers = 0;
    for (const TubeType& type : shipped().tubes()) {
        const auto model = tube_model(type, shipped());
        if (!model) continue;
        for (const SectionModel& section : model->sections) {
            if (section.law != "vacuum-diode") continue;
            ++rectifiers;
            for (double v = 5; v < 60; v *= 1.7) {
                const auto amps = [&](double at) {  // but for the leak that keeps a cut-off plate in the equations
                    return currents_at(section, volts(at), volts(0), volts(0)).plate_amps - 1e-9 * at;
                };
                const double low = amps(v), high = amps(1.01 * v);
                INFO(type.type << " at " << v << " V");
                CHECK(std::log(high / low) / std::log(1.01) == Approx(1.5).epsilon(1e-6));
            }
        }
    }
    CHECK(rectifiers >= 10);
}

TEST_CASE("Two solved points of a rectifier on direct current lie on a line of slope 3/2") {
    const auto point = [](const std::string& load) {
        const Chassis set = read(R"(<chassis version="1" name="a rectifier on direct current" reference="minus">
  <line volts="120" hertz="dc" hot="P1.1" neutral="P1.2" supply="dc"/>
  <plug id="P1" role="line"/>  <join at="P1.2 minus"/>
  <socket id="V1" tube="35Z5GT"/>
  <resistor id="R1" value="567" watts="25" a="P1.1" b="V1.2"/>  <join at="V1.7 minus"/>
  <join at="P1.1 V1.5"/>
  <resistor id="R2" value=")" + load +
                                 R"(" watts="25" a="V1.8" b="minus"/>
</chassis>)");
        Bench bench = bench_of(set);
        const Outcome<tubewright::Solution> found = bench.solve({});
        REQUIRE(found);
        const double plate = dc(*found, set, "V1.5"), cathode = dc(*found, set, "V1.8");
        return std::pair(plate - cathode, found->branch(set.part("R2"), "a")->dc.value());
    };
    const auto full = point("1k"), light = point("20k");
    INFO(full.first << " V at " << full.second << " A, " << light.first << " V at " << light.second << " A");
    CHECK(full.first > 3 * light.first);
    CHECK(std::log(full.second / light.second) / std::log(full.first / light.first) == Approx(1.5).epsilon(1e-3));
}
