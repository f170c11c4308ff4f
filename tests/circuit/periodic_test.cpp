// SPDX-License-Identifier: MIT
// Periodic steady states against closed forms and conservation laws.
#include <algorithm>
#include <catch2/catch.hpp>
#include <complex>
#include <numbers>

#include "networks.hpp"

using namespace networks;

namespace {

constexpr double pi = std::numbers::pi;
const Course& at(const Periodic& p, Node node) {
    return p.volts[static_cast<std::size_t>(node)];
}
double ripple_rms(const Course& c) {
    return std::sqrt(std::max(c.rms * c.rms - c.mean * c.mean, 0.0));
}

PeriodicOptions full(int steps = 128) {
    PeriodicOptions o;
    o.steps = steps;
    o.two_level = false;
    return o;
}

struct Supply {
    Circuit c;
    Node out = 0, first = 0;
    Element choke = 0, load = 0, capacitor = 0;
    std::vector<Element> diodes, sources;
};

/// Two ideal halves into a choke (henries 0: none) and a capacitor.
Supply two_halves(double peak, double henries, double farads, double ohms, double choke_ohms = 0.01) {
    Supply s;
    s.first = s.c.node("first");
    for (int half = 0; half < 2; ++half) {
        const Node in = s.c.node("in");
        s.sources.push_back(s.c.voltage_source(in, ground, Waveform::cosine(peak, 60, half * pi)));
        s.diodes.push_back(rectifier(s.c, sharp, in, s.first, {10, 1e-2}));
    }
    s.out = s.first;
    if (henries > 0) {
        s.out = s.c.node("out");
        s.choke = s.c.inductor(s.first, s.out, henries, choke_ohms);
    }
    if (farads > 0) s.capacitor = s.c.capacitor(s.out, ground, farads);
    s.load = s.c.resistor(s.out, ground, ohms);
    return s;
}

}  // namespace

TEST_CASE("a resistor behind a half-wave diode takes the mean of half a cosine") {
    Circuit c;
    const Node in = c.node("in"), out = c.node("out");
    c.voltage_source(in, ground, Waveform::cosine(100, 50));
    rectifier(c, sharp, in, out, {1e3, 1e-4});
    c.resistor(out, ground, 1000);
    PeriodicOptions o = full(512);
    o.hertz = 50;
    const Periodic p = Engine(c).periodic(o);
    REQUIRE(p.solved);
    CHECK(p.rounds <= 3);
    CHECK(at(p, out).mean == Approx(100 / pi).epsilon(1e-4));
    CHECK(at(p, out).rms == Approx(50).epsilon(1e-4));
    CHECK(at(p, out).high == Approx(100).epsilon(1e-5));
    CHECK(at(p, out).low == Approx(0).margin(1e-3));
}

TEST_CASE("a linear network follows its phasors") {
    Circuit c;
    const Node in = c.node("in"), mid = c.node("mid"), out = c.node("out");
    const Element source = c.voltage_source(in, ground, Waveform::cosine(10, 60));
    const Element choke = c.inductor(in, mid, 0.5, 30);
    const Element cap = c.capacitor(mid, ground, 10e-6);
    c.resistor(mid, out, 100);
    c.resistor(out, ground, 200);
    Engine engine(c);
    const Periodic p = engine.periodic(full(256));
    REQUIRE(p.solved);
    using C = std::complex<double>;
    const double w = 2 * pi * 60;
    const C load = 1.0 / (1 / 300.0 + C(0, w * 10e-6));
    const C amps = 10.0 / (C(30, w * 0.5) + load);
    CHECK(engine.current(p, choke, 0).peak() == Approx(std::abs(amps)).epsilon(1e-3));
    CHECK(engine.current(p, source, 0).rms == Approx(std::abs(amps) / std::sqrt(2)).epsilon(1e-3));
    CHECK(at(p, mid).rms == Approx(std::abs(amps * load) / std::sqrt(2)).epsilon(1e-3));
    CHECK(engine.current(p, cap, 0).rms == Approx(std::abs(amps * load) * w * 10e-6 / std::sqrt(2)).epsilon(1e-3));
    CHECK(engine.volts_between(p, mid, out).peak() == Approx(std::abs(amps * load) / 3).epsilon(1e-3));
    CHECK(p.period_error_volts < 1e-8);
}

TEST_CASE("more steps bring it closer with the square of their number") {
    double error[3];
    for (int k = 0; k < 3; ++k) {
        Circuit c;
        const Node in = c.node("in"), out = c.node("out");
        c.voltage_source(in, ground, Waveform::cosine(10, 60));
        c.resistor(in, out, 1000);
        c.capacitor(out, ground, 2e-6);
        const Periodic p = Engine(c).periodic(full(32 << k));
        REQUIRE(p.solved);
        error[k] = std::abs(at(p, out).rms - 10 / std::sqrt(2) / std::hypot(1, 2 * pi * 60 * 2e-3));
    }
    CHECK(error[0] / error[1] == Approx(4).epsilon(0.15));
    CHECK(error[1] / error[2] == Approx(4).epsilon(0.15));
}

TEST_CASE("light ripple of a capacitor input is its formula") {
    Supply s = two_halves(500, 0, 100e-6, 20e3);
    const Periodic p = Engine(s.c).periodic(full(256));
    REQUIRE(p.solved);
    const double amps = at(p, s.out).mean / 20e3;
    CHECK(ripple_rms(at(p, s.out)) == Approx(amps / (4 * std::sqrt(3.0) * 60 * 100e-6)).epsilon(0.03));
}

TEST_CASE("choke input gives 0.6366 of the peak and the LC ripple formula") {
    const double henries = 10, farads = 10e-6;
    Supply s = two_halves(500, henries, farads, 3000);
    const Periodic p = Engine(s.c).periodic(full(256));
    REQUIRE(p.solved);
    CHECK(at(p, s.out).mean == Approx(500 * 2 / pi).epsilon(5e-4));
    const double w = 2 * pi * 60;
    CHECK(ripple_rms(at(p, s.out)) / at(p, s.out).mean ==
          Approx(std::sqrt(2.0) / (3 * (4 * w * w * henries * farads - 1))).epsilon(0.01));
}

TEST_CASE("RC and LC sections divide ripple by their formulas") {
    Supply s = two_halves(500, 0, 16e-6, 20e3);
    const Node rc = s.c.node("rc"), lc = s.c.node("lc");
    s.c.resistor(s.out, rc, 5000);
    s.c.capacitor(rc, ground, 8e-6);
    s.c.inductor(s.out, lc, 15, 1);
    s.c.capacitor(lc, ground, 16e-6);
    s.c.resistor(lc, ground, 50e3);
    const Periodic p = Engine(s.c).periodic(full(256));
    REQUIRE(p.solved);
    // By the second harmonic alone, from the waveform.
    const auto second = [&](Node node) {
        std::complex<double> sum = 0;
        const double n = static_cast<double>(p.waveform.size());
        for (std::size_t k = 0; k < p.waveform.size(); ++k)
            sum += p.waveform[k][static_cast<std::size_t>(node) - 1] *
                   std::polar(1.0, -4 * pi * static_cast<double>(k + 1) / n);
        return std::abs(sum) * 2 / n;
    };
    const double w = 2 * pi * 60;
    CHECK(second(rc) / second(s.out) == Approx(1 / std::hypot(1, 2 * w * 5000 * 8e-6)).epsilon(5e-3));
    CHECK(second(lc) / second(s.out) == Approx(1 / (4 * w * w * 15 * 16e-6 - 1)).epsilon(5e-3));
}

TEST_CASE("the critical inductance parts steady from broken choke current") {
    const double w = 2 * pi * 60, ohms = 5000;
    const double critical = 0.33067 * ohms / w;
    for (const double factor : {0.9, 0.97, 1.03, 1.1}) {
        Supply s = two_halves(500, factor * critical, 1000e-6, ohms);
        Engine engine(s.c);
        const Periodic p = engine.periodic(full(512));
        REQUIRE(p.solved);
        const double least = engine.current(p, s.choke, 0).low;
        INFO(factor);
        if (factor > 1)
            CHECK(least > 1e-4);
        else
            CHECK(std::abs(least) < 1e-4);
        if (factor > 1)
            CHECK(at(p, s.out).mean == Approx(500 * 2 / pi).epsilon(1e-3));
        else
            CHECK(at(p, s.out).mean > 500 * 2 / pi * 1.001);
    }
}

TEST_CASE("a choke input far below its critical current still closes its period") {
    Supply s = two_halves(500, 10, 10e-6, 500e3);
    // The stray path of the node that hangs free while nothing conducts.
    s.c.capacitor(s.first, ground, 100e-12);
    const Periodic p = Engine(s.c).periodic(full());
    REQUIRE(p.solved);
    CHECK(at(p, s.out).mean > 400);
    CHECK(at(p, s.out).mean < 501);
    CHECK(p.period_error_volts < 1e-6);
}

TEST_CASE("an unloaded supply that would creep for minutes is at its crest at once") {
    Circuit c;
    const Node in = c.node("in"), plate = c.node("plate"), out = c.node("out");
    c.voltage_source(in, ground, Waveform::cosine(500, 60));
    c.resistor(in, plate, 100);
    rectifier(c, vacuum, plate, out, {3e-4});
    c.capacitor(out, ground, 40e-6);
    c.resistor(out, ground, 100e6);
    const Periodic p = Engine(c).periodic(full());
    REQUIRE(p.solved);
    CHECK(p.rounds < 30);
    CHECK(at(p, out).mean > 498);
    CHECK(at(p, out).mean < 500.01);
    CHECK(p.period_error_volts < 1e-7);
}

TEST_CASE("charge and energy balance to the last figure") {
    FiveTube set = five_tube();
    for (const bool two_level : {false, true}) {
        PeriodicOptions o = full(64);
        o.two_level = two_level;
        Engine engine(set.c);
        const Periodic p = engine.periodic(o);
        REQUIRE(p.solved);
        CHECK(std::abs(p.energy_balance) < 1e-6);
        CHECK(std::abs(engine.current(p, set.first, 0).mean) < 1e-9 * engine.current(p, set.field, 0).mean);
        if (two_level) continue;
        CHECK(p.charge_balance < 1e-9);
        // Kirchhoff at the reservoir, by the parts' own currents: what the diodes bring is what the field takes.
        const double in = engine.current(p, set.diode_a, 0).mean + engine.current(p, set.diode_b, 0).mean;
        const double out = engine.current(p, set.field, 0).mean;
        CHECK(in == Approx(out).epsilon(1e-9));
        CHECK(std::abs(engine.current(p, set.first, 0).mean) < 1e-9 * in);
        // What the source gives is what the parts take.
        double given = -engine.watts(p, set.source), lost = 0;
        for (Element e = 0; e < set.c.elements(); ++e)
            if (e != set.source) lost += engine.watts(p, e);
        CHECK(lost == Approx(given).epsilon(1e-6));
    }
}

TEST_CASE("unequal plate halves put direct current into the core, and the period finds it") {
    FiveTube set = five_tube();
    Engine engine(set.c);
    const Periodic p = engine.periodic(full());
    REQUIRE(p.solved);
    // The windings' direct ampere-turns, less those of the primary, magnetise the core.
    const double turns[] = {117, 350, 348, 5, 6.3};
    double ampere_turns = 0;
    for (int w = 0; w < 5; ++w) ampere_turns += turns[w] * engine.current(p, set.transformer, w).mean;
    const double magnetising = p.means.at(static_cast<std::size_t>(set.c.nodes()) - 1 + 1 + 6);
    CHECK(magnetising == Approx(ampere_turns / 117).epsilon(1e-9));
    CHECK(std::abs(magnetising) > 1e-4);
    CHECK(std::abs(engine.current(p, set.transformer, 0).mean) < 1e-8);
    CHECK(engine.current(p, set.transformer, 1).rms > engine.current(p, set.transformer, 2).rms);
}

TEST_CASE("a warm start takes fewer rounds and ends in the same place") {
    FiveTube set = five_tube();
    Engine engine(set.c);
    const Periodic normal = engine.periodic(full());
    const Override weak[] = {{set.first, Slot::farads, 0, 2e-6}, {set.source, Slot::amplitude, 0, 150}};
    PeriodicOptions o = full();
    const Periodic cold = engine.periodic(o, weak);
    o.warm = &normal;
    const Periodic warm = engine.periodic(o, weak);
    REQUIRE(cold.solved);
    REQUIRE(warm.solved);
    CHECK(warm.rounds <= cold.rounds);
    for (Node node = 1; node < set.c.nodes(); ++node) {
        CHECK(at(warm, node).mean == Approx(at(cold, node).mean).margin(1e-5));
        CHECK(at(warm, node).high == Approx(at(cold, node).high).margin(1e-5));
    }
    // The circuit is as it was.
    const Periodic again = engine.periodic(full());
    CHECK(again.state == normal.state);
}

TEST_CASE("overrides of a period equal a cold solution of the edited circuit") {
    const auto supply = [](double farads, double ohms) {
        Supply s = two_halves(400, 8, farads, ohms, 200);
        return s;
    };
    Supply before = supply(10e-6, 4000), after = supply(22e-6, 2500);
    const Override change[] = {{before.capacitor, Slot::farads, 0, 22e-6}, {before.load, Slot::ohms, 0, 2500}};
    const Periodic a = Engine(before.c).periodic(full(), change);
    const Periodic b = Engine(after.c).periodic(full());
    REQUIRE(a.solved);
    CHECK(a.state == b.state);
    CHECK(at(a, before.out).high == at(b, after.out).high);
}

TEST_CASE("a line bypass straight across the source is no trouble") {
    Circuit c;
    const Node line = c.node("line");
    const Element source = c.voltage_source(line, ground, Waveform::cosine(165, 60));
    const Element bypass = c.capacitor(line, ground, 0.1e-6);
    c.capacitor(line, ground, 0.05e-6);
    c.resistor(line, ground, 1000);
    Engine engine(c);
    const Periodic p = engine.periodic(full());
    REQUIRE(p.solved);
    CHECK(engine.current(p, bypass, 0).rms == Approx(165 / std::sqrt(2) * 2 * pi * 60 * 0.1e-6).epsilon(3e-3));
    CHECK(engine.watts(p, source) == Approx(-165.0 * 165 / 2 / 1000).epsilon(1e-4));
}

TEST_CASE("peaks hold three parts in a thousand at 128 steps") {
    const auto peak = [](int steps) {
        FiveTube set = five_tube();
        Engine engine(set.c);
        const Periodic p = engine.periodic(full(steps));
        return std::vector<double>{engine.current(p, set.diode_a, 0).high, engine.current(p, set.first, 0).high,
                                   engine.current(p, set.transformer, 1).rms, at(p, set.reservoir).high,
                                   at(p, set.bplus).high - at(p, set.bplus).low};
    };
    const auto coarse = peak(128), fine = peak(1024);
    for (std::size_t k = 0; k < fine.size(); ++k) {
        INFO(k);
        CHECK(coarse[k] == Approx(fine[k]).epsilon(3e-3));
    }
}
