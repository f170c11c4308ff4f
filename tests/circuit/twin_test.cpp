// SPDX-License-Identifier: MIT
// A slow, obvious twin: three supplies written out by hand as differential equations of their capacitors and chokes,
// run for hundreds of periods by the classical Runge-Kutta method with tiny steps. It shares nothing with the library.
#include <array>
#include <catch2/catch.hpp>
#include <functional>
#include <numbers>

#include "networks.hpp"

using namespace networks;

namespace {

constexpr double pi = std::numbers::pi, hertz = 60;

struct Seen {
    double mean[3] = {}, low[3] = {1e300, 1e300, 1e300}, high[3] = {-1e300, -1e300, -1e300};
    double current_rms = 0, current_peak = 0;
};
using State = std::array<double, 3>;
/// (t, state, slope) -> the watched current.
using Slope = std::function<double(double, const State&, State&)>;

Seen transient(const Slope& slope, State z, int periods, int steps) {
    Seen seen;
    const double h = 1 / hertz / steps;
    double square = 0;
    for (int period = 0; period < periods; ++period)
        for (int k = 0; k < steps; ++k) {
            const double t = h * k;  // the phase within the period is all that matters
            State a{}, b{}, c{}, d{}, y{};
            const double amps = slope(t, z, a);
            if (period == periods - 1) {
                for (int s = 0; s < 3; ++s) {
                    seen.mean[s] += z[s] / steps;
                    seen.low[s] = std::min(seen.low[s], z[s]);
                    seen.high[s] = std::max(seen.high[s], z[s]);
                }
                square += amps * amps / steps;
                seen.current_peak = std::max(seen.current_peak, amps);
            }
            for (int s = 0; s < 3; ++s) y[s] = z[s] + h / 2 * a[s];
            slope(t + h / 2, y, b);
            for (int s = 0; s < 3; ++s) y[s] = z[s] + h / 2 * b[s];
            slope(t + h / 2, y, c);
            for (int s = 0; s < 3; ++s) y[s] = z[s] + h * c[s];
            slope(t + h, y, d);
            for (int s = 0; s < 3; ++s) z[s] += h / 6 * (a[s] + 2 * b[s] + 2 * c[s] + d[s]);
        }
    seen.current_rms = std::sqrt(square);
    return seen;
}

double diode(double k, double v) {
    return v > 0 ? k * v * std::sqrt(v) : 0;
}

void compare(const Course& ours, const Seen& twin, int s) {
    CHECK(ours.mean == Approx(twin.mean[s]).epsilon(2e-4));
    const double ripple = twin.high[s] - twin.low[s];
    CHECK(ours.high - ours.low == Approx(ripple).epsilon(5e-3).margin(2e-3));
}

}  // namespace

TEST_CASE("half wave, reservoir, resistor, capacitor: as the long transient") {
    const double k = 4e-4, c1 = 20e-6, c2 = 20e-6, r = 1000, load = 3000, peak = 170;
    const Seen twin = transient(
        [&](double t, const State& z, State& dz) {
            const double i = diode(k, peak * std::cos(2 * pi * hertz * t) - z[0]);
            dz[0] = (i - (z[0] - z[1]) / r) / c1;
            dz[1] = ((z[0] - z[1]) / r - z[1] / load) / c2;
            return i;
        },
        {}, 150, 2000);
    Circuit c;
    const Node in = c.node("in"), one = c.node("one"), two_ = c.node("two");
    c.voltage_source(in, ground, Waveform::cosine(peak, hertz));
    const Element d = rectifier(c, vacuum, in, one, {k});
    c.capacitor(one, ground, c1);
    c.resistor(one, two_, r);
    c.capacitor(two_, ground, c2);
    c.resistor(two_, ground, load);
    for (const bool two_level : {false, true}) {
        Engine engine(c);
        PeriodicOptions o;
        o.steps = 256;
        o.two_level = two_level;
        const Periodic p = engine.periodic(o);
        REQUIRE(p.solved);
        compare(p.volts[static_cast<std::size_t>(one)], twin, 0);
        compare(p.volts[static_cast<std::size_t>(two_)], twin, 1);
        CHECK(engine.current(p, d, 0).rms == Approx(twin.current_rms).epsilon(2e-3));
        CHECK(engine.current(p, d, 0).high == Approx(twin.current_peak).epsilon(2e-3));
    }
}

TEST_CASE("full wave, reservoir, choke, capacitor: as the long transient") {
    const double k = 2.7e-4, c1 = 10e-6, h = 10, r = 300, c2 = 16e-6, load = 4000, peak = 490;
    const Seen twin = transient(
        [&](double t, const State& z, State& dz) {
            const double e = peak * std::cos(2 * pi * hertz * t);
            const double i = diode(k, e - z[0]), j = diode(k, -e - z[0]);
            dz[0] = (i + j - z[2]) / c1;
            dz[1] = (z[2] - z[1] / load) / c2;
            dz[2] = (z[0] - z[1] - r * z[2]) / h;
            return i;
        },
        {}, 150, 2000);
    Circuit c;
    const Node up = c.node("up"), down = c.node("down"), one = c.node("one"), out = c.node("out");
    c.voltage_source(up, ground, Waveform::cosine(peak, hertz));
    c.voltage_source(down, ground, Waveform::cosine(peak, hertz, pi));
    const Element d = rectifier(c, vacuum, up, one, {k});
    rectifier(c, vacuum, down, one, {k});
    c.capacitor(one, ground, c1);
    c.inductor(one, out, h, r);
    c.capacitor(out, ground, c2);
    c.resistor(out, ground, load);
    for (const bool two_level : {false, true}) {
        Engine engine(c);
        PeriodicOptions o;
        o.steps = 256;
        o.two_level = two_level;
        const Periodic p = engine.periodic(o);
        REQUIRE(p.solved);
        compare(p.volts[static_cast<std::size_t>(one)], twin, 0);
        compare(p.volts[static_cast<std::size_t>(out)], twin, 1);
        CHECK(engine.current(p, d, 0).rms == Approx(twin.current_rms).epsilon(2e-3));
        CHECK(engine.current(p, d, 0).high == Approx(twin.current_peak).epsilon(2e-3));
    }
}

TEST_CASE("a full-wave doubler: as the long transient") {
    const double k = 6e-4, c1 = 16e-6, c2 = 12e-6, load = 4000, peak = 170;
    const Seen twin = transient(
        [&](double t, const State& z, State& dz) {
            // The line's one side is the middle of the two capacitors.
            const double e = peak * std::cos(2 * pi * hertz * t), out = (z[0] + z[1]) / load;
            const double i = diode(k, e - z[0]), j = diode(k, -e - z[1]);
            dz[0] = (i - out) / c1;
            dz[1] = (j - out) / c2;
            return i;
        },
        {}, 150, 2000);
    Circuit c;
    const Node middle = c.node("middle"), line = c.node("line"), top = c.node("top");
    c.voltage_source(line, middle, Waveform::cosine(peak, hertz));
    const Element d = rectifier(c, vacuum, line, top, {k});
    rectifier(c, vacuum, ground, line, {k});
    c.capacitor(top, middle, c1);
    c.capacitor(middle, ground, c2);
    c.resistor(top, ground, load);
    Engine engine(c);
    PeriodicOptions o;
    o.steps = 256;
    const Periodic p = engine.periodic(o);
    REQUIRE(p.solved);
    compare(engine.volts_between(p, top, middle), twin, 0);
    compare(p.volts[static_cast<std::size_t>(middle)], twin, 1);
    CHECK(engine.current(p, d, 0).rms == Approx(twin.current_rms).epsilon(2e-3));
    CHECK(engine.current(p, d, 0).high == Approx(twin.current_peak).epsilon(2e-3));
}
