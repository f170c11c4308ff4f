// SPDX-License-Identifier: MIT
// Contacts that swing, against a hand-written transient; mean sensitivities of a whole period against differences of
// solutions.
#include <catch2/catch.hpp>

#include <cmath>

#include "networks.hpp"

using namespace networks;

namespace {

/// A battery chopped into a transformer by two contacts in turn, two diodes, a reservoir and its load.
struct Chopper {
    Circuit c;
    Node feed, out, a, b, p, q;
    Element battery, ohms, load, up, down, contact_a, contact_b, core;
    Chopper() {
        feed = c.node("feed");
        const Node inside = c.node("inside");
        a = c.node("a"), b = c.node("b"), p = c.node("p"), q = c.node("q"), out = c.node("out");
        battery = c.voltage_source(inside, ground, Waveform::constant(6));
        ohms = c.resistor(inside, feed, 0.05);
        core =
            c.transformer({{a, feed, 6, 0.1}, {feed, b, 6, 0.1}, {p, ground, 150, 60}, {ground, q, 150, 60}}, 0.01, 30);
        contact_a = c.contact(a, ground, 50, 0, 0.425);
        contact_b = c.contact(b, ground, 50, 0.5, 0.925);
        c.capacitor(p, q, 8e-9);
        const double k[] = {1e-3};
        const Node first[] = {p, out}, second[] = {q, out};
        up = c.device({2, vacuum_diode}, first, k);
        down = c.device({2, vacuum_diode}, second, k);
        c.rectifies(up);
        c.rectifies(down);
        c.capacitor(out, ground, 10e-6);
        load = c.resistor(out, ground, 4000);
    }
};

PeriodicOptions at_115(int steps, bool two_level) {
    PeriodicOptions o;
    o.hertz = 115;
    o.steps = steps;
    o.two_level = two_level;
    return o;
}

}  // namespace

TEST_CASE("a contact passes current for its share of the period and none for the rest") {
    Circuit c;
    const Node top = c.node("top"), low = c.node("low");
    c.voltage_source(top, ground, Waveform::constant(10));
    c.resistor(top, low, 100);
    const Element contact = c.contact(low, ground, 1e3, 0.25, 0.75);
    Engine engine(c);
    const Periodic p = engine.periodic(at_115(80, false));
    REQUIRE(p.solved);
    const double closed = 10 / (100 + 1e-3);
    CHECK(engine.current(p, contact, 0).mean == Approx(0.5 * closed).epsilon(1e-6));
    CHECK(engine.current(p, contact, 0).rms == Approx(std::sqrt(0.5) * closed).epsilon(1e-6));
    CHECK(p.volts[static_cast<std::size_t>(low)].high == Approx(10).epsilon(1e-6));
    CHECK(p.volts[static_cast<std::size_t>(low)].low == Approx(closed * 1e-3).epsilon(1e-6));
    const Override stuck[] = {{contact, Slot::parameter, 0, 0}};
    const Periodic open = engine.periodic(at_115(80, false), stuck);
    REQUIRE(open.solved);
    CHECK(engine.current(open, contact, 0, stuck).rms < 1e-7);
}

TEST_CASE("a chopped supply balances its charge and its energy, and finer steps change little") {
    Chopper set;
    Engine engine(set.c);
    const Periodic coarse = engine.periodic(at_115(160, false)), fine = engine.periodic(at_115(640, false));
    REQUIRE(coarse.solved);
    REQUIRE(fine.solved);
    CHECK(coarse.charge_balance < 1e-9);
    // at each leap the integrator loses a little of what the buffer holds
    CHECK(std::abs(coarse.energy_balance) < 1e-3);
    CHECK(std::abs(fine.energy_balance) < std::abs(coarse.energy_balance));
    const double volts = fine.volts[static_cast<std::size_t>(set.out)].mean;
    CHECK(coarse.volts[static_cast<std::size_t>(set.out)].mean == Approx(volts).epsilon(1e-3));
    // 150 turns for 6, less what copper, contacts and diodes drop
    CHECK(volts > 110);
    CHECK(volts < 150);
    // what the load takes comes through both halves alike
    CHECK(engine.current(fine, set.up, 0).mean == Approx(engine.current(fine, set.down, 0).mean).epsilon(1e-3));
    CHECK(engine.current(fine, set.up, 0).mean + engine.current(fine, set.down, 0).mean ==
          Approx(volts / 4000).epsilon(1e-6));
}

TEST_CASE(
    "where a contact makes into the buffer the volts do not overshoot, and the crest is that of the finest steps") {
    // nothing drawn: from what the dead time leaves in the buffer the plates leap within one step
    Chopper set;
    Engine engine(set.c);
    const Override idle[] = {
        {set.up, Slot::parameter, 0, 0}, {set.down, Slot::parameter, 0, 0}, {set.core, Slot::henries, 0, 0.04}};
    const auto crest = [&](int steps) {
        const Periodic p = engine.periodic(at_115(steps, false), idle);
        REQUIRE(p.solved);
        return engine.volts_between(p, set.p, ground).high;
    };
    const double fine = crest(2560);
    CHECK(fine == Approx(150).epsilon(5e-3));  // its turns for the whole of the battery
    for (const int steps : {80, 160, 320}) {
        INFO(steps << " steps");
        CHECK(crest(steps) == Approx(fine).epsilon(1e-2));
    }
}

TEST_CASE("mean sensitivities of a period equal differences of solutions") {
    Chopper set;
    FiveTube radio = five_tube();
    const auto compare = [](Engine& engine, const PeriodicOptions& options, const std::vector<Override>& of,
                            const std::vector<double>& values, const std::vector<Node>& nodes) {
        const Periodic base = engine.periodic(options);
        REQUIRE(base.solved);
        const auto slopes = engine.mean_sensitivities(base, of);
        for (std::size_t k = 0; k < of.size(); ++k) {
            const double stride = 1e-3 * values[k];
            Override up = of[k], down = of[k];
            up.value = values[k] + stride;
            down.value = values[k] - stride;
            const Override ups[] = {up}, downs[] = {down};
            const Periodic higher = engine.periodic(options, ups), lower = engine.periodic(options, downs);
            REQUIRE(higher.solved);
            REQUIRE(lower.solved);
            for (const Node node : nodes) {
                const auto at = static_cast<std::size_t>(node);
                const double difference = (higher.volts[at].mean - lower.volts[at].mean) / (2 * stride);
                INFO("value " << k << " node " << node);
                // as volts for a doubling
                CHECK(slopes[k][at] * values[k] == Approx(difference * values[k]).epsilon(2e-3).margin(2e-4));
            }
        }
    };
    Engine chopper(set.c);
    compare(chopper, at_115(160, false),
            {{set.ohms, Slot::ohms, 0, 0},
             {set.load, Slot::ohms, 0, 0},
             {set.battery, Slot::direct, 0, 0},
             {set.up, Slot::parameter, 0, 0},
             {set.core, Slot::winding_ohms, 2, 0},
             {set.contact_a, Slot::parameter, 1, 0}},
            {0.05, 4000, 6, 1e-3, 60, 50}, {set.out, set.feed});
    Engine engine(radio.c);
    PeriodicOptions shooting;
    shooting.steps = 64;
    shooting.two_level = false;
    compare(engine, shooting,
            {{radio.field, Slot::ohms, 0, 0},
             {radio.transformer, Slot::winding_ohms, 1, 0},
             {radio.output, Slot::parameter, 0, 0}},
            {800, 150, 1.2e-3}, {radio.bplus, radio.plate, radio.reservoir});
    // a steady ampere: the source resistance of the reservoir is its volts for the load's own change
    const Periodic p = engine.periodic(shooting);
    const Override probe[] = {{-1, Slot::direct, radio.reservoir, 0}};
    CHECK(engine.mean_sensitivities(p, probe)[0][static_cast<std::size_t>(radio.reservoir)] > 50);
}
