// SPDX-License-Identifier: MIT
// What has no solution is said so, with names and without numbers.
#include <algorithm>
#include <catch2/catch.hpp>
#include <stdexcept>

#include "networks.hpp"

using namespace networks;

namespace {
bool has(const std::vector<Node>& nodes, Node node) {
    return std::find(nodes.begin(), nodes.end(), node) != nodes.end();
}
}  // namespace

TEST_CASE("a floating node is reported as undetermined and carries no number") {
    Circuit c;
    const Node in = c.node("in"), coupled = c.node("grid"), other = c.node("other");
    c.voltage_source(in, ground, Waveform::constant(100));
    c.resistor(in, ground, 1000);
    c.capacitor(in, coupled, 1e-8);
    const Element leak = c.resistor(coupled, other, 1e6);
    const Element gap = c.conductance(other, ground, 0);
    Engine engine(c);
    const Operating op = engine.operating();
    CHECK_FALSE(op.solved);
    CHECK(op.unknowns.empty());
    CHECK_THROWS_AS(op.volts(coupled), std::out_of_range);
    CHECK(op.trouble.kind == Trouble::Kind::floating_nodes);
    CHECK(op.trouble.nodes == std::vector<Node>{coupled, other});
    CHECK(has(op.trouble.elements, leak));
    CHECK(op.trouble.text.find("grid") != std::string::npos);
    CHECK(engine.periodic({}).trouble.kind == Trouble::Kind::floating_nodes);
    // Closing the gap is a change of value.
    const Override closed[] = {{gap, Slot::siemens, 0, 1e-6}};
    CHECK(engine.operating(closed).solved);
    // Tied, the rest is solved and the island named.
    engine.tie_islands(true);
    const Operating tied = engine.operating();
    REQUIRE(tied.solved);
    CHECK(tied.volts(in) == Approx(100));
    CHECK(tied.undetermined == std::vector<Node>{coupled, other});
    CHECK_FALSE(has(tied.undetermined, in));
}

TEST_CASE("a node that only a cut-off diode holds is undetermined") {
    Circuit open;
    const Node b = open.node("b"), k = open.node("cathode");
    open.voltage_source(b, ground, Waveform::constant(-250));
    two(open, sharp, b, k, {1, 1e-6});
    const Operating held = Engine(open).operating();
    CHECK_FALSE(held.solved);
    CHECK(held.trouble.kind == Trouble::Kind::floating_nodes);
    CHECK(held.trouble.nodes == std::vector<Node>{k});
}

TEST_CASE("a loop of voltage sources is named") {
    Circuit c;
    const Node a = c.node("a"), b = c.node("b"), d = c.node("d");
    const Element first = c.voltage_source(a, ground, Waveform::constant(1));
    const Element second = c.voltage_source(b, a, Waveform::constant(1));
    const Element apart = c.voltage_source(d, ground, Waveform::constant(5));
    c.resistor(d, b, 100);
    const Element third = c.voltage_source(b, ground, Waveform::constant(2));
    const Operating op = Engine(c).operating();
    CHECK_FALSE(op.solved);
    CHECK(op.trouble.kind == Trouble::Kind::source_loop);
    CHECK(op.trouble.elements == std::vector<Element>{first, second, third});
    CHECK_FALSE(has(op.trouble.elements, apart));
    CHECK(op.trouble.nodes == std::vector<Node>{ground, a, b});
}

TEST_CASE("a choke without ohms across a source is such a loop") {
    Circuit c;
    const Node a = c.node("a");
    c.voltage_source(a, ground, Waveform::constant(1));
    c.inductor(a, ground, 10, 0);
    CHECK(Engine(c).operating().trouble.kind == Trouble::Kind::source_loop);
}

TEST_CASE("a current source without a way back is named") {
    Circuit c;
    const Node a = c.node("a"), b = c.node("b");
    c.voltage_source(a, ground, Waveform::constant(1));
    c.capacitor(a, b, 1e-6);
    const Element source = c.current_source(a, b, 1e-3);
    const Operating op = Engine(c).operating();
    CHECK_FALSE(op.solved);
    CHECK(op.trouble.kind == Trouble::Kind::current_cut);
    CHECK(op.trouble.elements == std::vector<Element>{source});
}

TEST_CASE("three floating sources in a ring through a resistor island are undetermined, not solved") {
    Circuit c;
    const Node a = c.node("a"), b = c.node("b"), d = c.node("d");
    c.voltage_source(a, b, Waveform::constant(1));
    c.voltage_source(b, d, Waveform::constant(1));
    c.resistor(d, a, 10);
    CHECK(Engine(c).operating().trouble.kind == Trouble::Kind::floating_nodes);
}

TEST_CASE("a source off the beat of the period is refused") {
    Circuit c;
    const Node a = c.node("a");
    c.voltage_source(a, ground, Waveform::cosine(1, 50));
    c.resistor(a, ground, 10);
    PeriodicOptions options;
    options.hertz = 60;
    const Periodic p = Engine(c).periodic(options);
    CHECK_FALSE(p.solved);
    CHECK_FALSE(p.trouble.text.empty());
}

TEST_CASE("an override that its element does not have is misuse") {
    Circuit c;
    const Node a = c.node("a");
    const Element r = c.resistor(a, ground, 10);
    Engine engine(c);
    const Override wrong[] = {{r, Slot::farads, 0, 1}};
    CHECK_THROWS_AS(engine.operating(wrong), std::invalid_argument);
}
