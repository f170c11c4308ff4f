// SPDX-License-Identifier: MIT
// Drift that a resistor may have where it stands, on the first demo set: each limit held by solving the set again just
// inside and just outside it.
#include <algorithm>
#include <array>
#include <cmath>

#include <catch2/catch.hpp>

#include <tubewright/netlist.hpp>

#include "threat/threat.hpp"

using namespace tubewright;

namespace {

struct Worked {
    Chassis set;
    Bench bench;
    std::vector<DriftLimit> limits;
    const DriftLimit& of(const std::string& part) const {
        for (const DriftLimit& l : limits)
            if (l.part == part) return l;
        FAIL("no limit for " << part);
        return limits.front();
    }
};

Worked& first_set() {
    static Worked worked = [] {
        static const Catalogue catalogue = Catalogue::shipped();
        Outcome<Chassis> set = read_chassis(TUBEWRIGHT_ROOT "/netlists/s1-quarry-hill.xml", catalogue);
        REQUIRE(set);
        Outcome<Bench> bench = Bench::make(*set, catalogue, {}, {});
        REQUIRE(bench);
        Outcome<std::vector<DriftLimit>> limits = drift_limits_of(*set, catalogue, *bench);
        REQUIRE(limits);
        return Worked{*set, std::move(*bench), *limits};
    }();
    return worked;
}

double bias_with(Worked& w, const std::string& part, double factor) {
    Fault f;
    f.id = "drift";
    f.part = w.set.part(part);
    f.mode = FaultMode::drift;
    f.lead_a = 0;
    f.lead_b = 1;
    f.factor = factor;
    const std::array one{f};
    const FaultSolution s = w.bench.solve(Condition{}, one, false);
    REQUIRE(s.solved);
    return s.solution.at(w.set, "V4.5").dc.value() - s.solution.at(w.set, "V4.4").dc.value();
}

}  // namespace

TEST_CASE("The cathode resistor of the output tube may be off until its bias is off by a tenth, and no further") {
    Worked& w = first_set();
    const DriftLimit& r = w.of("R11");
    CHECK(r.limited_by_up == "bias of V4 off by a tenth");
    REQUIRE(r.up);
    REQUIRE(r.down);
    const double bias = bias_with(w, "R11", 1);
    CHECK(bias_with(w, "R11", *r.up) <= 1.1 * bias);
    CHECK(bias_with(w, "R11", 1.01 * *r.up) > 1.1 * bias);
    CHECK(bias_with(w, "R11", *r.down) >= 0.9 * bias);
    CHECK(bias_with(w, "R11", 0.99 * *r.down) < 0.9 * bias);
    // a tube helps itself: its bias moves by less than its resistor does
    CHECK(*r.up > 1.1);
    CHECK(*r.up < 1.4);
}

TEST_CASE("The adjoint's first guess is of the order of the limit that solving again finds") {
    int compared = 0;
    for (const DriftLimit& l : first_set().limits) {
        if (!l.up || !l.adjoint_share || *l.up > 1.6 || l.limited_by_up.find(l.moves_most) != 0) continue;
        INFO(l.part << " " << *l.up << " " << *l.adjoint_share);
        CHECK(std::log(*l.up) == Approx(*l.adjoint_share).epsilon(0.35));
        ++compared;
    }
    CHECK(compared >= 4);
}

TEST_CASE("The resistor of the automatic volume control may be off by anything") {
    // it carries no direct current and sets no bias at rest
    const Worked& w = first_set();
    int free = 0;
    for (const DriftLimit& l : w.limits) free += !l.up && !l.down ? 1 : 0;
    CHECK(free >= 3);
    CHECK_FALSE(w.limits.empty());
}
