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

Worked worked_out(const std::string& name) {
    static const Catalogue catalogue = Catalogue::shipped();
    Outcome<Chassis> set = read_chassis(TUBEWRIGHT_ROOT "/netlists/" + name + ".xml", catalogue);
    REQUIRE(set);
    Outcome<Bench> bench = Bench::make(*set, catalogue, {}, {});
    REQUIRE(bench);
    Outcome<std::vector<DriftLimit>> limits = drift_limits_of(*set, catalogue, *bench);
    REQUIRE(limits);
    return Worked{*set, std::move(*bench), *limits};
}

Worked& first_set() {
    static Worked worked = worked_out("s1-quarry-hill");
    return worked;
}

Solution with_drift(Worked& w, const std::string& part, double factor) {
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
    return s.solution;
}

double bias_with(Worked& w, const std::string& part, double factor) {
    const Solution s = with_drift(w, part, factor);
    return s.at(w.set, "V4.5").dc.value() - s.at(w.set, "V4.4").dc.value();
}

/// Volts over rated ones of the tubes' heaters, section by section.
std::vector<double> heaters_with(Worked& w, const std::string& part, double factor) {
    std::vector<double> shares;
    for (const HeaterVolts& h : with_drift(w, part, factor).heaters) {
        if (w.set.parts()[static_cast<std::size_t>(h.part)].kind != PartKind::socket) continue;
        if (h.sections.empty()) shares.push_back(h.across / h.rated);
        for (const HeaterSection& s : h.sections) shares.push_back(s.across / s.rated);
    }
    return shares;
}

/// The largest share by which a heater is off its rated volts, or those that it has where they are off by more.
double heaters_off(Worked& w, const std::string& part, double factor) {
    const std::vector<double> healthy = heaters_with(w, part, 1), now = heaters_with(w, part, factor);
    REQUIRE(now.size() == healthy.size());
    double most = 0;
    for (std::size_t k = 0; k < now.size(); ++k) {
        const double base = std::fabs(healthy[k] - 1) > 0.1 ? healthy[k] : 1;
        most = std::max(most, std::fabs(now[k] / base - 1));
    }
    return most;
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

TEST_CASE("What feeds heaters or filaments may be off until one of them is a tenth off its volts, and no further") {
    for (const auto& [name, part] : {std::pair{"s6-osier-holt", "R1.1-2"}, std::pair{"s7-plover-heath", "R3"}}) {
        Worked w = worked_out(name);
        const DriftLimit& r = w.of(part);
        INFO(name << " " << part << ": " << r.limited_by_up << ", " << r.limited_by_down);
        REQUIRE(r.up);
        REQUIRE(r.down);
        CHECK(heaters_off(w, part, *r.up) <= 0.1);
        CHECK(heaters_off(w, part, 1.01 * *r.up) > 0.1);
        CHECK(heaters_off(w, part, *r.down) <= 0.1);
        CHECK(heaters_off(w, part, 0.99 * *r.down) > 0.1);
        CHECK(r.limited_by_up.find("off by a tenth") != std::string::npos);
    }
}

TEST_CASE("A ballast's limit is that of the string by hand") {
    // 68.9 V of heaters at .3 A behind 139 ohm and 21 more on 117 V. A heater's amperes go by the .55th to .6th power
    // of its volts: at .9 of them 62 V and .282 A, which leaves 55 V for 195 ohm; at 1.1 of them 75.8 V, .317 A and 130
    // ohm
    const Worked w = worked_out("s6-osier-holt");
    const DriftLimit& r = w.of("R1.1-2");
    REQUIRE(r.up);
    REQUIRE(r.down);
    const auto by_hand = [](double share) {
        return ((117 - share * 68.9) / (0.3 * std::pow(share, 0.575)) - 21) / 139;
    };
    CHECK(*r.up == Approx(by_hand(0.9)).epsilon(0.03));
    CHECK(*r.down == Approx(by_hand(1.1)).epsilon(0.03));
}
