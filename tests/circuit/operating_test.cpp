// SPDX-License-Identifier: MIT
// Direct-current operating points, sensitivities and small signals against closed forms and differences.
#include <catch2/catch.hpp>
#include <complex>
#include <numbers>
#include <thread>

#include "networks.hpp"

using namespace networks;

TEST_CASE("a divider divides") {
    Circuit c;
    const Node in = c.node("in"), out = c.node("out");
    const Element source = c.voltage_source(in, ground, Waveform::constant(10));
    const Element top = c.resistor(in, out, 3000);
    c.resistor(out, ground, 1000);
    Engine engine(c);
    const Operating op = engine.operating();
    REQUIRE(op.solved);
    CHECK(op.method == Method::newton);
    CHECK(op.volts(out) == Approx(2.5).epsilon(1e-12));
    CHECK(engine.current(op, top, 0) == Approx(2.5e-3).epsilon(1e-12));
    CHECK(engine.current(op, top, 1) == Approx(-2.5e-3).epsilon(1e-12));
    CHECK(engine.current(op, source, 0) == Approx(-2.5e-3).epsilon(1e-12));
    CHECK(op.worst_residual_amps < 1e-11);
}

TEST_CASE("an endless ladder looks like the golden ratio") {
    Circuit c;
    Node last = c.node("in");
    const Node in = last;
    c.current_source(ground, in, 1);
    for (int k = 0; k < 40; ++k) {
        const Node next = c.node("rung " + std::to_string(k));
        c.resistor(last, next, 1);
        c.resistor(next, ground, 1);
        last = next;
    }
    const Operating op = Engine(c).operating();
    REQUIRE(op.solved);
    CHECK(op.volts(in) == Approx((1 + std::sqrt(5.0)) / 2).epsilon(1e-12));
}

TEST_CASE("capacitors are open, chokes are their ohms, and a transformer carries no direct current across") {
    Circuit c;
    const Node in = c.node("in"), out = c.node("out"), far = c.node("far"), secondary = c.node("secondary");
    c.voltage_source(in, ground, Waveform::constant(100));
    const Element choke = c.inductor(in, out, 10, 500);
    c.resistor(out, ground, 500);
    c.capacitor(out, ground, 1e-6);
    const Element leaky = c.capacitor(out, far, 1e-6, 1e-6);
    c.resistor(far, ground, 1e6);
    const Element core = c.transformer({{out, ground, 10, 1000}, {secondary, ground, 1, 1}}, 5, 0);
    c.resistor(secondary, ground, 8);
    Engine engine(c);
    const Operating op = engine.operating();
    REQUIRE(op.solved);
    const double load = 1 / (1 / 500.0 + 1 / 1000.0 + 1 / 2e6);
    CHECK(op.volts(out) == Approx(100 * load / (500 + load)).epsilon(1e-10));
    CHECK(op.volts(far) == Approx(op.volts(out) / 2).epsilon(1e-10));
    CHECK(op.volts(secondary) == Approx(0).margin(1e-9));
    CHECK(engine.current(op, choke, 0) == Approx((100 - op.volts(out)) / 500).epsilon(1e-10));
    CHECK(engine.current(op, leaky, 0) == Approx(1e-6 * op.volts(far)).epsilon(1e-9));
    CHECK(engine.current(op, core, 0) == Approx(op.volts(out) / 1000).epsilon(1e-10));
}

TEST_CASE("a vacuum diode with a resistor settles on the three-halves law") {
    Circuit c;
    const Node in = c.node("in"), out = c.node("out");
    c.voltage_source(in, ground, Waveform::constant(250));
    const Element diode = two(c, vacuum, in, out, {3e-4});
    c.resistor(out, ground, 5000);
    Engine engine(c);
    const Operating op = engine.operating();
    REQUIRE(op.solved);
    const double u = 250 - op.volts(out);
    CHECK(op.volts(out) / 5000 == Approx(3e-4 * u * std::sqrt(u)).epsilon(1e-8));
    CHECK(engine.current(op, diode, 0) == Approx(op.volts(out) / 5000).epsilon(1e-9));
    CHECK(engine.current(op, diode, 1) == Approx(-op.volts(out) / 5000).epsilon(1e-9));
}

TEST_CASE("junctions in series and across converge from cold") {
    Circuit c;
    const Node in = c.node("in");
    c.voltage_source(in, ground, Waveform::constant(500));
    Node last = in;
    for (int k = 0; k < 12; ++k) {
        const Node next = c.node("plate " + std::to_string(k));
        two(c, junction_law, last, next, {1e-9, 0.05});
        last = next;
    }
    c.resistor(last, ground, 10e3);
    const Operating op = Engine(c).operating();
    REQUIRE(op.solved);
    CHECK(op.volts(last) > 480);
    CHECK(op.volts(last) < 500);
}

TEST_CASE("a five-tube set finds its operating point, warm or cold, to the same volts") {
    FiveTube set = five_tube();
    const Element battery = set.c.voltage_source(set.c.node("battery"), ground, Waveform::constant(320));
    set.c.resistor(static_cast<Node>(set.c.nodes() - 1), set.reservoir, 50);
    Engine engine(set.c);
    const Operating cold = engine.operating();
    REQUIRE(cold.solved);
    CHECK(cold.volts(set.bplus) > 200);
    CHECK(cold.worst_residual_amps < 1e-10);
    const Override lower[] = {{battery, Slot::direct, 0, 250}};
    const Operating warm = engine.operating(lower, &cold);
    const Operating again = engine.operating(lower);
    REQUIRE(warm.solved);
    REQUIRE(again.solved);
    CHECK(warm.iterations < again.iterations);
    for (Node node = 1; node < set.c.nodes(); ++node) CHECK(warm.volts(node) == Approx(again.volts(node)).margin(1e-7));
    // And the engine has not changed.
    const Operating back = engine.operating();
    CHECK(back.unknowns == cold.unknowns);
}

TEST_CASE("faults of a whole set solve by override, and equal a cold solution of an edited circuit") {
    FiveTube set = five_tube();
    set.c.voltage_source(set.c.node("battery"), ground, Waveform::constant(320));
    set.c.resistor(static_cast<Node>(set.c.nodes() - 1), set.reservoir, 50);
    Engine engine(set.c);
    engine.tie_islands(true);
    const Operating normal = engine.operating();
    REQUIRE(normal.solved);
    int solved = 0;
    const auto compare = [&](const Override& change) {
        const Override one[] = {change};
        const Operating warm = engine.operating(one, &normal);
        const Operating cold = Engine(engine).operating(one);
        REQUIRE(warm.solved);
        REQUIRE(cold.solved);
        for (Node node = 1; node < set.c.nodes(); ++node)
            CHECK(warm.volts(node) == Approx(cold.volts(node)).epsilon(1e-6).margin(1e-4));
        ++solved;
    };
    for (const Element r : set.resistors)
        for (const double ohms : {1e12, 1.0, 1e5}) compare({r, Slot::ohms, 0, ohms});
    for (const Element k : set.capacitors)
        for (const double siemens : {10.0, 1e-6, 1e-4}) compare({k, Slot::siemens, 0, siemens});
    CHECK(solved > 100);

    // One of them edited by hand.
    const auto divider = [](double ohms) {
        Circuit c;
        const Node in = c.node("in"), out = c.node("out");
        c.voltage_source(in, ground, Waveform::constant(250));
        c.resistor(in, out, ohms);
        two(c, vacuum, out, ground, {1e-4});
        return c;
    };
    const Override change[] = {{1, Slot::ohms, 0, 33e3}};
    const Circuit before = divider(10e3), after = divider(33e3);
    CHECK(Engine(before).operating(change).unknowns == Engine(after).operating().unknowns);
}

TEST_CASE("a result does not depend on what the engine solved before, nor on the thread") {
    FiveTube set = five_tube();
    set.c.voltage_source(set.c.node("battery"), ground, Waveform::constant(320));
    set.c.resistor(static_cast<Node>(set.c.nodes() - 1), set.reservoir, 50);
    Engine first(set.c);
    const auto sweep = [&](Engine& engine, bool backward) {
        std::vector<Operating> found(set.resistors.size());
        for (std::size_t k = 0; k < found.size(); ++k) {
            const std::size_t at = backward ? found.size() - 1 - k : k;
            const Override one[] = {{set.resistors[at], Slot::ohms, 0, 1.0}};
            found[at] = engine.operating(one);
        }
        return found;
    };
    const auto forward = sweep(first, false);
    std::vector<Operating> other;
    std::thread thread([&] {
        Engine second(first);
        other = sweep(second, true);
    });
    thread.join();
    for (std::size_t k = 0; k < forward.size(); ++k) CHECK(forward[k].unknowns == other[k].unknowns);
}

TEST_CASE("adjoint sensitivities equal central differences") {
    FiveTube set = five_tube();
    const Element battery = set.c.voltage_source(set.c.node("battery"), ground, Waveform::constant(320));
    set.c.resistor(static_cast<Node>(set.c.nodes() - 1), set.reservoir, 50);
    const Element stray = set.c.current_source(ground, set.plate, 1e-4);
    const Element gap = set.c.conductance(set.plate, ground, 1e-6);
    Engine engine(set.c);
    const Operating op = engine.operating();
    REQUIRE(op.solved);
    std::vector<Override> of;
    for (const Element r : set.resistors) of.push_back({r, Slot::ohms, 0, 0});
    for (const Element k : set.capacitors) of.push_back({k, Slot::siemens, 0, 0});
    of.push_back({set.field, Slot::ohms, 0, 0});
    of.push_back({battery, Slot::direct, 0, 0});
    of.push_back({stray, Slot::direct, 0, 0});
    of.push_back({gap, Slot::siemens, 0, 0});
    of.push_back({set.output, Slot::parameter, 0, 0});
    of.push_back({set.output, Slot::parameter, 1, 0});
    of.push_back({set.transformer, Slot::winding_ohms, 1, 0});
    const std::vector<double> values = [&] {
        std::vector<double> v;
        FiveTube plain = five_tube();
        // Values at the operating point, by kind of slot.
        const double ohms[] = {0.5, 2.5, 2.6, 3.2, 420, 470e3, 47e3, 220e3, 10e6, 15e3, 30e3, 1e3,
                               100, 330, 1e6, 1e3, 100, 330,   1e6,  1e3,   100,  330,  1e6};
        for (std::size_t k = 0; k < set.resistors.size(); ++k) v.push_back(ohms[k]);
        for (std::size_t k = 0; k < set.capacitors.size(); ++k) v.push_back(1e-5);
        for (const double more : {800.0, 320.0, 1e-4, 1e-6, 1.2e-3, 9.0, 150.0}) v.push_back(more);
        return v;
    }();
    REQUIRE(values.size() == of.size());
    // Leaks are differentiated about a leak, since they cannot be negative.
    std::vector<Override> base;
    for (std::size_t k = 0; k < set.capacitors.size(); ++k) base.push_back({set.capacitors[k], Slot::siemens, 0, 1e-5});
    const Operating leaky = engine.operating(base, &op);
    REQUIRE(leaky.solved);
    for (const Node node : {set.bplus, set.plate}) {
        const std::vector<double> slope = engine.sensitivities(leaky, node, of, base);
        for (std::size_t k = 0; k < of.size(); ++k) {
            const double stride = 1e-4 * values[k];
            std::vector<Override> up = base, down = base;
            Override change = of[k];
            change.value = values[k] + stride;
            up.push_back(change);
            change.value = values[k] - stride;
            down.push_back(change);
            const double difference =
                (engine.operating(up, &leaky).volts(node) - engine.operating(down, &leaky).volts(node)) / (2 * stride);
            // As volts for a doubling of the value.
            INFO("element " << of[k].element << " node " << node);
            CHECK(slope[k] * values[k] == Approx(difference * values[k]).epsilon(1e-6).margin(1e-6));
        }
    }
}

TEST_CASE("small signals follow the filter formulas") {
    Circuit c;
    const Node in = c.node("in"), out = c.node("out");
    const double ohms = 10e3, farads = 1e-6;
    c.resistor(in, out, ohms);
    c.capacitor(out, ground, farads);
    c.resistor(out, ground, 1e9);
    c.resistor(in, ground, 1e3);
    Engine engine(c);
    const Operating op = engine.operating();
    REQUIRE(op.solved);
    const auto v = engine.small_signal(op, ground, in, 120);
    REQUIRE(v.size() == 3);
    const std::complex<double> ratio =
        std::complex<double>(v[2].real, v[2].imaginary) / std::complex<double>(v[1].real, v[1].imaginary);
    const double omega = 2 * std::numbers::pi * 120;
    CHECK(std::abs(ratio) == Approx(1 / std::sqrt(1 + std::pow(omega * ohms * farads, 2))).epsilon(1e-4));
    // A tuned circuit at resonance is its parallel resistance.
    Circuit tank;
    const Node top = tank.node("top");
    tank.inductor(top, ground, 1e-3, 0);
    tank.capacitor(top, ground, 100e-12);
    tank.resistor(top, ground, 50e3);
    Engine tuned(tank);
    const double f = 1 / (2 * std::numbers::pi * std::sqrt(1e-3 * 100e-12));
    const auto w = tuned.small_signal(tuned.operating(), ground, top, f);
    CHECK(w[1].real == Approx(50e3).epsilon(1e-9));
    CHECK(std::abs(w[1].imaginary) < 1e-3);
}

TEST_CASE("two stages that drive each other crosswise do not stay between their two states") {
    // the grid of each from the other's plate, over 1 M, and to -100 V over .5 M
    Circuit c;
    const Node supply = c.node("supply"), bias = c.node("bias");
    c.voltage_source(supply, ground, Waveform::constant(250));
    c.voltage_source(bias, ground, Waveform::constant(-100));
    const Node plate[2] = {c.node("plate 1"), c.node("plate 2")}, grid[2] = {c.node("grid 1"), c.node("grid 2")};
    Element load[2], tube[2];
    for (int k = 0; k < 2; ++k) {
        load[k] = c.resistor(supply, plate[k], 47e3);
        c.resistor(plate[1 - k], grid[k], 1e6);
        c.resistor(grid[k], bias, 0.5e6);
        const Node nodes[] = {plate[k], grid[k], ground};
        const double parameters[] = {1e-3, 20};
        tube[k] = c.device(triode_law, nodes, parameters);
    }
    Engine engine(c);
    const Operating between = engine.operating();
    REQUIRE(between.solved);
    REQUIRE(between.volts(plate[0]) == Approx(between.volts(plate[1])).epsilon(1e-6));
    CHECK_FALSE(engine.lasts(between));
    // Without the one the other conducts, and its plate keeps the first one off once it is back.
    const Override out[] = {{tube[0], Slot::parameter, 0, 1e-12}};
    const Operating off = engine.operating(out);
    REQUIRE(off.solved);
    const Operating flipped = engine.operating({}, &off);
    REQUIRE(flipped.solved);
    CHECK(flipped.volts(plate[0]) > flipped.volts(plate[1]) + 50);
    CHECK(flipped.volts(grid[0]) < -20);
    CHECK(engine.lasts(flipped));
    // With loads so small that no stage amplifies, the state between is the only one and stays.
    const Override weak[] = {{load[0], Slot::ohms, 0, 1e3}, {load[1], Slot::ohms, 0, 1e3}};
    CHECK(engine.lasts(engine.operating(weak), weak));
    // A set of five tubes, none of which drives an earlier one.
    FiveTube set = five_tube();
    const Node battery = set.c.node("battery");
    set.c.voltage_source(battery, ground, Waveform::constant(320));
    set.c.resistor(battery, set.reservoir, 50);
    Engine usual(set.c);
    CHECK(usual.lasts(usual.operating()));
}
