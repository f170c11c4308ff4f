// SPDX-License-Identifier: MIT
// Permitted leakage from place, against the divider worked by hand. The two check values are computed, not measured:
// 250 V through 50 megohm into 470 k raises a grid by 2.33 V; a tenth of 12.5 V of bias from 250 V into 470 k wants at
// least 93.5 megohm.
#include <cmath>

#include <catch2/catch.hpp>

#include <tubewright/netlist.hpp>

#include "threat/threat.hpp"

using namespace tubewright;

namespace {

/// Rise of a grid that stands on `leak` ohms when `insulation` leads to `volts`.
double grid_rise(double volts, double insulation, double leak) {
    return volts * leak / (leak + insulation);
}
double insulation_wanted(double volts, double leak, double rise) {
    return leak * (volts / rise - 1);
}

struct Worked {
    Chassis set;
    Solution healthy;
    std::vector<LeakageLimit> limits;
    const LeakageLimit& of(const std::string& part) const {
        for (const LeakageLimit& l : limits)
            if (l.part == part) return l;
        FAIL("no limit for " << part);
        return limits.front();
    }
};

Worked worked_out(const std::string& name) {
    static const Catalogue catalogue = Catalogue::shipped();
    Outcome<Chassis> set = read_chassis(TUBEWRIGHT_ROOT "/netlists/" + name + ".xml", catalogue);
    REQUIRE(set);
    const std::vector<Fault> faults = faults_of(*set, catalogue);
    Outcome<Bench> bench = Bench::make(*set, catalogue, {}, faults);
    REQUIRE(bench);
    Outcome<Solution> healthy = bench->solve(Condition{});
    REQUIRE(healthy);
    Outcome<std::vector<LeakageLimit>> limits = leakage_limits_of(*set, catalogue, *bench);
    REQUIRE(limits);
    return Worked{*set, *healthy, *limits};
}

const Worked& first_set() {
    static const Worked worked = worked_out("s1-quarry-hill");
    return worked;
}

}  // namespace

TEST_CASE("The divider by hand gives the two check values of the trade") {
    CHECK(grid_rise(250, 50e6, 470e3) == Approx(2.33).epsilon(0.002));
    CHECK(insulation_wanted(250, 470e3, 1.25) == Approx(93.5e6).epsilon(0.005));
}

TEST_CASE("The coupler of the output tube is limited by its grid, at the ohms that the divider gives",
          "[practice-66]") {
    const Worked& w = first_set();
    const LeakageLimit& c = w.of("C16");
    CHECK(c.limited_by == "grid of V4 moved by a tenth of its bias");
    REQUIRE(c.ohms);
    const double bias = w.healthy.at(w.set, "V4.5").dc.value() - w.healthy.at(w.set, "V4.4").dc.value();
    const double from = w.healthy.at(w.set, "V3.2").dc.value();
    CHECK(*c.ohms == Approx(insulation_wanted(from, 500e3, 0.1 * bias)).epsilon(0.03));
    CHECK(*c.amps == Approx(c.volts / *c.ohms));
    CHECK(c.series_meter_volts == Approx(c.volts * 10e6 / (10e6 + *c.ohms)));
    // with the output tube out its grid shows the rise alone
    REQUIRE(c.grid_volts_tube_out);
    CHECK(*c.grid_volts_tube_out > 0.09 * bias);
    CHECK(*c.grid_volts_tube_out < 0.25 * bias);
}

TEST_CASE("A filter is limited by what an electrolytic of its size may leak, a line capacitor by the touch current") {
    const Worked& w = first_set();
    for (const char* id : {"C1.plain", "C2"}) {
        const LeakageLimit& filter = w.of(id);
        INFO(filter.limited_by);
        CHECK(filter.limited_by.find("its own limit as an electrolytic") == 0);
        // .04 x 8 uF + .3 mA
        CHECK(*filter.amps == Approx(0.62e-3).epsilon(0.01));
        CHECK(*filter.watts == Approx(filter.volts * *filter.amps));
        CHECK(*filter.watts < 0.25);
    }
    const LeakageLimit& line = w.of("C3");
    CHECK(line.limited_by.find("touch current beside 434 uA by capacity") == 0);
    // in quadrature beside what .01 uF passes at 60 cycles
    const double capacity = 115 * 2 * std::acos(-1.0) * 60 * .01e-6;
    CHECK(*line.amps == Approx(std::sqrt(0.5e-3 * 0.5e-3 - capacity * capacity)).epsilon(0.02));
    CHECK(*line.ohms == Approx(115 / *line.amps));
}

TEST_CASE("A coupler wants better insulation than a cathode bypass") {
    CHECK(*first_set().of("C16").ohms > 1e3 * first_set().of("C15").ohms.value_or(1e3));
}

TEST_CASE("What alone holds the line off the metal may leak nothing where its capacity passes too much already") {
    struct Holds {
        const char *set, *part;
        double farads;
    };
    for (const Holds& one : {Holds{"s4-ferry-green", "C2", .1e-6}, Holds{"s6-osier-holt", "C5", .1e-6},
                             Holds{"s7-plover-heath", "C1", .05e-6}}) {
        const Worked w = worked_out(one.set);
        const LeakageLimit& c = w.of(one.part);
        INFO(one.set << " " << one.part << ": " << c.limited_by);
        CHECK(c.limited_by.find("touch current: ") == 0);
        CHECK(c.limited_by.find(" flow by capacity alone") != std::string::npos);
        REQUIRE(c.amps);
        CHECK(*c.amps == 0);
        CHECK_FALSE(c.ohms);
        // what it passes alone, through a hand of no ohms: over the half milliampere of the rule
        CHECK(117 * 2 * std::acos(-1.0) * 60 * one.farads > 4 * 0.5e-3);
    }
}

TEST_CASE("A capacitor across the line is limited by the heat in it, a doubler's electrolytic by its own limit") {
    // a quarter watt of 117 V rms: 55 k, 2.1 mA; no hand is in its way
    for (const auto& [name, part] :
         {std::pair{"s4-ferry-green", "C3"}, std::pair{"s6-osier-holt", "C4"}, std::pair{"s7-plover-heath", "C5"}}) {
        const Worked w = worked_out(name);
        const LeakageLimit& c = w.of(part);
        INFO(name << " " << part << ": " << c.limited_by);
        CHECK(c.limited_by == "0.25 W inside it");
        REQUIRE(c.ohms);
        CHECK(*c.ohms == Approx(117.0 * 117 / 0.25).epsilon(0.01));
        CHECK(*c.amps == Approx(0.25 / 117).epsilon(0.01));
    }
    const Worked doubler = worked_out("s6-osier-holt");
    const LeakageLimit& first = doubler.of("C1");
    CHECK(first.limited_by.find("its own limit as an electrolytic") == 0);
    // .02 x 20 uF + .3 mA
    CHECK(*first.amps == Approx(0.7e-3).epsilon(0.01));
}

TEST_CASE(
    "A capacitor across half a plate winding is limited by the heat that its alternating volts make in the leak") {
    const Worked w = worked_out("s5-mill-lane");
    const LeakageLimit& c = w.of("C4");
    INFO(c.limited_by);
    CHECK(c.limited_by == "0.25 W inside it");
    const Part& part = w.set.parts()[static_cast<std::size_t>(w.set.part("C4"))];
    const NetVolts& hot = w.healthy.nets[static_cast<std::size_t>(part.leads[0].net)];
    REQUIRE(c.ohms);
    CHECK(*c.ohms ==
          Approx((hot.rms.value() * hot.rms.value() + hot.dc.value() * hot.dc.value()) / 0.25).epsilon(0.02));
}

TEST_CASE("No limit is the least or the most that was looked for") {
    for (const char* name : {"s1-quarry-hill", "s4-ferry-green", "s6-osier-holt", "s7-plover-heath"})
        for (const LeakageLimit& l : worked_out(name).limits) {
            INFO(name << " " << l.part << ": " << l.limited_by);
            if (l.ohms) CHECK((*l.ohms > 1.01e3 && *l.ohms < 0.99e11));
            CHECK((l.ohms || l.limited_by == "nothing" || *l.amps == 0));
        }
}
