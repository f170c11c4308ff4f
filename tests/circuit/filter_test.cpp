// SPDX-License-Identifier: MIT
// Filters against their formulas, each derived here. A full-wave rectifier of nearly ideal diodes gives |sin|:
//     V = (2 Vp / pi) (1 - (2/3) cos 2wt - (2/15) cos 4wt - ...),  w = 2 pi f of the line.
// Critical inductance: the choke's direct current 2 Vp / (pi R) must be as large as the crest of its ripple, by the
// second harmonic alone (4 Vp / 3 pi) / (2 w L): L_c = R / (3 w) = R / (6 pi f). With all harmonics the trough is
// -k Vp / (w L), k = cos a + 2 a / pi - 1 where sin a = 2 / pi, so that L_c = k pi R / (2 w): 0.8 % less.
// LC section: of a ripple at w' it lets pass 1 / (w'^2 L C - 1); RC section: 1 / sqrt(1 + (w' R C)^2). A capacitor
// alone behind a rectifier: no more than I / (f' C) peak to peak, f' the charges a second.
#include <catch2/catch.hpp>
#include <complex>
#include <numbers>

#include "networks.hpp"

using namespace networks;

namespace {

constexpr double pi = std::numbers::pi, hertz = 60, w = 2 * pi * hertz, peak = 500, load = 5000;

/// Full-wave rectifier, choke, capacitor of `farads`, load.
struct ChokeInput {
    Circuit c;
    Node raw = 0, out = 0;
    Element choke = 0;
    ChokeInput(double henries, double farads, double ohms = load) {
        const Node up = c.node("up"), down = c.node("down");
        raw = c.node("raw");
        out = c.node("out");
        c.voltage_source(up, ground, Waveform::cosine(peak, hertz));
        c.voltage_source(down, ground, Waveform::cosine(peak, hertz, pi));
        rectifier(c, sharp, up, raw, {10, 1e-3});
        rectifier(c, sharp, down, raw, {10, 1e-3});
        choke = c.inductor(raw, out, henries, 0);
        c.capacitor(out, ground, farads);
        c.resistor(out, ground, ohms);
    }
};

Periodic solve(Engine& engine, int steps = 512) {
    PeriodicOptions o;
    o.hertz = hertz;
    o.steps = steps;
    o.two_level = false;
    const Periodic p = engine.periodic(o);
    REQUIRE(p.solved);
    return p;
}

const Course& at(const Periodic& p, Node node) {
    return p.volts[static_cast<std::size_t>(node)];
}

/// Amplitude of a harmonic of a node's volts.
double harmonic(const Periodic& p, Node node, int number) {
    std::complex<double> sum;
    const auto steps = static_cast<double>(p.waveform.size());
    for (std::size_t k = 0; k < p.waveform.size(); ++k)
        sum += p.waveform[k][static_cast<std::size_t>(node) - 1] *
               std::polar(1.0, 2 * pi * number * static_cast<double>(k) / steps);
    return 2 * std::abs(sum) / steps;
}

}  // namespace

TEST_CASE("a choke input gives 2/pi of the peak from the critical inductance up, and more below it") {
    const double a = std::asin(2 / pi), k = std::cos(a) + 2 * a / pi - 1;
    const double rule = load / (6 * pi * hertz), exact = k * pi * load / (2 * w);
    CHECK(exact == Approx(rule).epsilon(0.01));
    const double steady = 2 * peak / pi;
    const auto trough_and_mean = [&](double henries) {
        ChokeInput set(henries, 400e-6);
        Engine engine(set.c);
        const Periodic p = solve(engine, 1024);
        return std::pair(engine.current(p, set.choke, 0).low, at(p, set.out).mean);
    };
    // The choke's least current is what is left of the direct one: it comes to nothing at the critical inductance.
    const auto above = trough_and_mean(2 * exact);
    CHECK(above.first == Approx(0.5 * steady / load).epsilon(5e-3));
    CHECK(above.second == Approx(steady).epsilon(1e-3));
    CHECK(trough_and_mean(1.02 * exact).first > 1e-3 * steady / load);
    CHECK(trough_and_mean(1.02 * exact).second == Approx(steady).epsilon(1e-3));
    const auto below = trough_and_mean(0.7 * exact);
    CHECK(below.first < 1e-3 * steady / load);
    CHECK(below.second > 1.02 * steady);
    double low = 0.5 * exact, high = 2 * exact;
    for (int round = 0; round < 20; ++round) {
        const double middle = 0.5 * (low + high);
        (trough_and_mean(middle).first < 5e-4 * steady / load ? low : high) = middle;
    }
    CHECK(high == Approx(exact).epsilon(5e-3));
    CHECK(high == Approx(rule).epsilon(0.015));
}

TEST_CASE("an LC section lets pass 1 / (w^2 L C - 1) of the ripple, at the second and at the fourth harmonic") {
    for (const double henries : {8.0, 15.0, 30.0})
        for (const double farads : {4e-6, 8e-6, 16e-6}) {
            ChokeInput set(henries, farads, 20 * std::sqrt(henries / farads));  // the load hardly damps
            if (henries < 1.2 * 20 * std::sqrt(henries / farads) / (6 * pi * hertz)) continue;
            Engine engine(set.c);
            const Periodic p = solve(engine);
            INFO(henries << " H, " << farads * 1e6 << " uF");
            const double second = 4 * w * w * henries * farads, fourth = 4 * second;
            CHECK(harmonic(p, set.out, 2) / harmonic(p, set.raw, 2) == Approx(1 / (second - 1)).epsilon(2e-3));
            CHECK(harmonic(p, set.out, 4) / harmonic(p, set.raw, 4) == Approx(1 / (fourth - 1)).epsilon(5e-3));
            const Course& out = at(p, set.out);
            const double rms = std::sqrt(out.rms * out.rms - out.mean * out.mean);
            CHECK(rms / out.mean == Approx(std::sqrt(2.0) / 3 / (second - 1)).epsilon(5e-3));
        }
}

TEST_CASE("an RC section lets pass 1 / sqrt(1 + (w R C)^2) of the ripple") {
    for (const double ohms : {500.0, 2000.0, 10e3})
        for (const double farads : {0.1e-6, 4e-6, 20e-6}) {
            Circuit c;
            const Node in = c.node("in"), out = c.node("out");
            c.voltage_source(in, ground, Waveform{300, 10, 2 * hertz, 0.3});
            c.resistor(in, out, ohms);
            c.capacitor(out, ground, farads);
            Engine engine(c);
            const Periodic p = solve(engine, 256);
            const double part = 1 / std::hypot(1, 2 * w * ohms * farads);
            INFO(ohms << " ohms, " << farads * 1e6 << " uF");
            CHECK(at(p, out).mean == Approx(300).epsilon(1e-9));
            CHECK(harmonic(p, out, 2) == Approx(10 * part).epsilon(2e-3));
        }
}

TEST_CASE(
    "a first filter's ripple stays below I / (f C): 20 V for 60 mA and 50 uF, 73 V for both halves, 70 mA and 8 uF",
    "[practice-61][practice-62]") {
    const auto ripple = [](int halves, double amps, double farads) {
        Circuit c;
        const Node out = c.node("out");
        for (int half = 0; half < halves; ++half) {
            const Node in = c.node("in");
            c.voltage_source(in, ground, Waveform::cosine(peak, hertz, half * pi));
            rectifier(c, sharp, in, out, {1, 1e-2});
        }
        c.capacitor(out, ground, farads);
        c.current_source(out, ground, amps);
        Engine engine(c);
        const Periodic p = solve(engine);
        return at(p, out).high - at(p, out).low;
    };
    CHECK(ripple(1, 60e-3, 50e-6) < 20);
    CHECK(ripple(1, 60e-3, 50e-6) == Approx(20).epsilon(0.1));
    CHECK(ripple(2, 70e-3, 8e-6) < 73);
    CHECK(ripple(2, 70e-3, 8e-6) > 0.75 * 73);  // it recharges for a fifth of the time
}

TEST_CASE("half of a sine of 120 V is 84.85 V rms", "[practice-22]") {
    Circuit c;
    const Node in = c.node("in"), out = c.node("out");
    c.voltage_source(in, ground, Waveform::cosine(120 * std::numbers::sqrt2, hertz));
    rectifier(c, sharp, in, out, {10, 1e-2});
    c.resistor(out, ground, 1000);
    Engine engine(c);
    CHECK(at(solve(engine), out).rms == Approx(84.85).margin(0.1));
}

TEST_CASE("a first filter's ripple stays below I / (f C), and comes near it when little current flows") {
    for (const int halves : {1, 2})
        for (const double amps : {0.002, 0.02, 0.07}) {
            constexpr double farads = 16e-6;
            Circuit c;
            const Node out = c.node("out");
            for (int half = 0; half < halves; ++half) {
                const Node in = c.node("in"), plate = c.node("plate");
                c.voltage_source(in, ground, Waveform::cosine(peak, hertz, half * pi));
                c.resistor(in, plate, 50);
                rectifier(c, sharp, plate, out, {10, 1e-2});
            }
            c.capacitor(out, ground, farads);
            c.current_source(out, ground, amps);
            Engine engine(c);
            const Periodic p = solve(engine);
            const double bound = amps / (halves * hertz * farads), ripple = at(p, out).high - at(p, out).low;
            INFO(halves << " halves, " << amps << " A");
            CHECK(ripple < bound);
            CHECK(ripple > (amps < 0.01 ? 0.9 : 0.7) * bound);
        }
}
