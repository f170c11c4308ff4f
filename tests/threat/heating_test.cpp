// SPDX-License-Identifier: MIT
// Heating of a transformer: copper from its ohms, adiabatic copper against the tabulated k of cable practice, and the
// stepped star of masses against a plain finite-difference twin that is written out here and shares only the masses.
#include "threat/heating.hpp"

#include <algorithm>
#include <cmath>

#include <catch2/catch.hpp>

using namespace tubewright::threat;

namespace {

/// Windings of a set of 60 VA; the heaters' ohms were not measured.
std::vector<WindingCopper> usual() {
    return {{"T1.primary", 7.5, 115, 0.45, Place::inner, true},
            {"T1.plate.1", 185, 330, 0.052, Place::middle, true},
            {"T1.plate.2", 210, 330, 0.052, Place::middle, true},
            {"T1.rectifier-heater", 0.1, 5, 2.0, Place::outer, false},
            {"T1.heater", 0.12, 6.3, 2.05, Place::outer, false}};
}
Heat loss(const std::vector<double>& amps) {
    Heat h;
    const auto w = usual();
    for (std::size_t i = 0; i < w.size(); ++i) h.copper_watts.push_back(amps[i] * amps[i] * w[i].ohms);
    return h;
}
const Heat health = loss({0.45, 0.052, 0.052, 2.0, 2.05});

Heating made(Corner corner) {
    Heating h(60, 60, 25, usual(), assumptions_at(corner));
    h.settle(health);
    return h;
}

/// Explicit Euler on the same masses: slow and obvious.
struct Twin {
    double to_105 = -1, to_180 = -1, last = 0;
};
Twin twin(const Heating& h, const Heat& before, const Heat& fault, double seconds) {
    const std::size_t n = h.masses().size();
    std::vector<double> t(n, h.air_celsius());
    double core = h.air_celsius();
    auto run = [&](const Heat& heat, double until, Twin* note) {
        const double dt = 0.05;
        for (double now = 0; now < until; now += dt) {
            double loss_cold = 0, loss_hot = 0;
            for (std::size_t i = 0; i < n; ++i) {
                loss_cold += heat.copper_watts[i];
                loss_hot += heat.copper_watts[i] * (234.5 + t[i]) / 254.5;
            }
            const double factor = loss_cold > 0 ? loss_hot / loss_cold : 1;
            const double shrink = std::pow(1 + heat.stiffness * std::max(0.0, factor - 1), -2);
            double into = h.core_watts();
            for (std::size_t i = 0; i < n; ++i) {
                const double flow = (t[i] - core) / h.masses()[i].kelvin_per_watt;
                into += flow;
                t[i] += dt * (heat.copper_watts[i] * shrink * (234.5 + t[i]) / 254.5 - flow) /
                        h.masses()[i].joules_per_kelvin;
            }
            core += dt * (into - (core - h.air_celsius()) / h.core().kelvin_per_watt) / h.core().joules_per_kelvin;
            if (note == nullptr) continue;
            note->last = *std::max_element(t.begin(), t.end());
            if (note->to_105 < 0 && note->last >= 105) note->to_105 = now + dt;
            if (note->to_180 < 0 && note->last >= 180) note->to_180 = now + dt;
            if (note->last > 395) break;
        }
    };
    run(before, 12 * 3600, nullptr);
    Twin out;
    run(fault, seconds, &out);
    return out;
}

/// Adiabatic k of copper, A s^.5 / mm2.
double k_of(double from, double to) {
    return 226 * std::sqrt(std::log(1 + (to - from) / (234.5 + from)));
}

}  // namespace

TEST_CASE("Copper from ohms: 160 ohm, 360 V and 60 VA give .034 mm2 and 2.3 A/mm2") {
    const Copper c = copper_of(160, 360, 60, 60, Place::middle);
    CHECK(c.mm2 == Approx(0.034).epsilon(0.02));
    CHECK(0.078 / c.mm2 == Approx(2.3).epsilon(0.03));
    // resistance of that length and section is what we began with
    CHECK(1.7241e-8 * c.metres / (c.mm2 * 1e-6) == Approx(160));
}

TEST_CASE("The adiabatic constant of copper reproduces the tabulated k values") {
    CHECK(k_of(30, 160) == Approx(143).epsilon(0.002));
    CHECK(k_of(70, 160) == Approx(115).epsilon(0.002));
    CHECK(k_of(90, 250) == Approx(143).epsilon(0.002));
}

TEST_CASE("A winding that gives no heat away follows the adiabatic law") {
    HeatingAssumptions alone = assumptions_at(middle);
    alone.winding_to_core = 1e9;
    alone.air_rise = 5;  // from 30 C
    alone.core_watts_per_va = 0;
    std::vector<WindingCopper> one{{"T1.plate.1", 185, 330, 0.052, Place::middle, true}};
    Heating h(60, 60, 25, one, alone);
    h.settle({{0.0}});
    const double amps = 0.5;
    const Course c = h.course({{amps * amps * 185}});
    const double mm2 = copper_of(185, 330, 60, 60, Place::middle).mm2;
    REQUIRE(c.seconds_to_105);
    REQUIRE(c.seconds_to_180);
    CHECK(*c.seconds_to_105 == Approx(std::pow(k_of(30, 105) * mm2 / amps, 2)).epsilon(0.02));
    CHECK(*c.seconds_to_180 == Approx(std::pow(k_of(30, 180) * mm2 / amps, 2)).epsilon(0.02));
}

TEST_CASE("In health no winding of a 60 VA set nears 105 C, whatever the assumptions") {
    for (const Corner corner : {cool, middle, hot}) {
        const Heating h = made(corner);
        INFO(corner);
        CHECK(h.healthy_celsius() > h.air_celsius());
        CHECK(h.healthy_celsius() < 105);
        const Course c = h.course(health);
        CHECK_FALSE(c.seconds_to_105);
        CHECK_FALSE(c.seconds_to_180);
        CHECK(c.steady_celsius == Approx(h.healthy_celsius()).margin(0.1));
    }
}

TEST_CASE("The stepped star agrees with a finite-difference twin within 2 %") {
    // a shorted first filter, a heavy load, a shorted heater; given currents and currents that copper holds back
    std::vector<Heat> faults{loss({1.9, 0.31, 0.31, 2.0, 2.0}), loss({0.8, 0.12, 0.12, 2.0, 2.0}),
                             loss({2.5, 0.03, 0.03, 1.0, 30})};
    faults.push_back(faults[0]);
    faults.back().stiffness = 0.5;
    for (const Corner corner : {cool, hot})
        for (std::size_t i = 0; i < faults.size(); ++i) {
            INFO("corner " << corner << ", fault " << i);
            const Heating h = made(corner);
            const Course c = h.course(faults[i]);
            const Twin t = twin(h, health, faults[i], 12 * 3600);
            REQUIRE(c.seconds_to_105.has_value() == (t.to_105 > 0));
            REQUIRE(c.seconds_to_180.has_value() == (t.to_180 > 0));
            if (t.to_105 > 0) CHECK(*c.seconds_to_105 == Approx(t.to_105).epsilon(0.02).margin(0.1));
            if (t.to_180 > 0) CHECK(*c.seconds_to_180 == Approx(t.to_180).epsilon(0.02).margin(0.1));
            if (t.last < 395) CHECK(c.steady_celsius == Approx(t.last).epsilon(0.02));
        }
}

TEST_CASE("Where a fault settles is the same with few long steps as with many short ones") {
    for (const Corner corner : {cool, middle, hot}) {
        const Heating h = made(corner);
        for (double amps = 0.03; amps < 0.15; amps += 0.02) {
            Heat fault = loss({0.3 + 3 * amps, amps, amps, 2.0, 2.0});
            fault.stiffness = 0.15;
            CHECK(h.steady(fault).steady_celsius == Approx(h.course(fault).steady_celsius).margin(0.5));
            CHECK_FALSE(h.steady(fault).seconds_to_105);
        }
    }
}

TEST_CASE("More amperes are never cooler and never later") {
    const Heating h = made(middle);
    double before_celsius = 0, before_seconds = 1e9;
    for (double amps = 0.05; amps < 0.5; amps += 0.05) {
        const Course c = h.course(loss({0.5, amps, amps, 2.0, 2.0}));
        CHECK(c.steady_celsius >= before_celsius - 0.01);
        before_celsius = c.steady_celsius;
        const double now = c.seconds_to_180.value_or(1e9);
        CHECK(now <= before_seconds);
        before_seconds = now;
    }
}

TEST_CASE("A current that copper holds back heats less than a given one, and a shorted layer is the hottest place") {
    const Heating h = made(middle);
    Heat fault = loss({1.2, 0.2, 0.2, 2.0, 2.0});
    const Course given = h.course(fault);
    fault.stiffness = 0.8;
    const Course held = h.course(fault);
    CHECK(held.steady_celsius < given.steady_celsius);
    Heat layer = health;
    layer.ring_of = 1;
    layer.ring_watts = 29;
    const Course ring = h.course(layer);
    CHECK(ring.ring_hottest);
    CHECK(ring.hottest == 1);
    REQUIRE(ring.seconds_to_180);
    CHECK(*ring.seconds_to_180 < 3600);
}
