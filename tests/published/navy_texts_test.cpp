// SPDX-License-Identifier: MIT
// Source: training texts of the US Navy (NEETS modules 6 and 7, public domain), as quoted; the originals were not seen.
// A half-wave rectifier's average is .318 of the peak, a full-wave one's .636, their ripple at the line's frequency and
// at twice it. 25 uF at 120 cycles are 53.05 ohm, 10 H are 7,540. Five heaters of .12 A at 5 V take 3 W from a 110 V
// primary, which carries .0273 A.
#include <catch2/catch.hpp>

#include <cmath>
#include <complex>
#include <numbers>

#include "circuit/circuit.hpp"
#include "tubes/laws.hpp"

using namespace tubewright::circuit;

namespace {

Element rectifier(Circuit& c, Node plate, Node cathode) {
    const auto law = tubewright::tubes::law("vacuum-diode");
    const double stout[] = {1, 1e3};  // no drop to speak of
    const Node nodes[] = {plate, cathode};
    return c.device({law.terminals, law.function}, nodes, stout);
}

/// Mean of the output over the peak, and which multiple of the line's frequency is the strongest in it.
std::pair<double, int> rectified(bool full_wave) {
    Circuit c;
    const Node a = c.node("a"), b = c.node("b"), out = c.node("out");
    c.voltage_source(a, ground, Waveform::cosine(100, 60));
    c.voltage_source(b, ground, Waveform::cosine(100, 60, std::numbers::pi));
    rectifier(c, a, out);
    if (full_wave) rectifier(c, b, out);
    c.resistor(out, ground, 10e3);
    c.capacitor(out, ground, 1e-12);
    Engine engine(c);
    PeriodicOptions options;
    options.steps = 512;
    options.two_level = false;
    const Periodic wave = engine.periodic(options);
    REQUIRE(wave.solved);
    int strongest = 0;
    double most = 0;
    for (int harmonic = 1; harmonic <= 6; ++harmonic) {
        std::complex<double> sum;
        for (int k = 0; k < options.steps; ++k)
            sum += wave.waveform[static_cast<std::size_t>(k)][static_cast<std::size_t>(out) - 1] *
                   std::polar(1.0, -2 * std::numbers::pi * harmonic * (k + 1) / options.steps);
        if (std::abs(sum) > most) most = std::abs(sum), strongest = harmonic;
    }
    return {wave.volts[static_cast<std::size_t>(out)].mean / 100, strongest};
}

}  // namespace

TEST_CASE(
    "NEETS 6: a half-wave rectifier gives .318 of the peak, a full-wave one .636; ripple at line and twice line") {
    const auto [half, half_ripple] = rectified(false);
    CHECK(half == Approx(0.318).epsilon(0.005));
    CHECK(half_ripple == 1);
    const auto [full, full_ripple] = rectified(true);
    CHECK(full == Approx(0.636).epsilon(0.005));
    CHECK(full_ripple == 2);
}

TEST_CASE("NEETS 7: 25 uF into 10 k and 10 H at 120 cycles") {
    const auto ohms_of = [](double farads, double henries) {
        Circuit c;
        const Node in = c.node("in");
        if (farads > 0) c.capacitor(in, ground, farads);
        if (henries > 0) c.inductor(in, ground, henries, 0);
        c.resistor(in, ground, 1e9);
        Engine engine(c);
        const auto v = engine.small_signal(engine.operating(), ground, in, 120);
        return std::hypot(v[1].real, v[1].imaginary);
    };
    CHECK(ohms_of(25e-6, 0) == Approx(53.05).epsilon(1e-4));
    CHECK(ohms_of(0, 10) == Approx(7540).epsilon(1e-4));
}

TEST_CASE("five heaters of .12 A at 5 V take 3 W and .0273 A from 110 V") {
    Circuit c;
    const Node line = c.node("line"), heaters = c.node("heaters");
    const Element source = c.voltage_source(line, ground, Waveform::cosine(110 * std::numbers::sqrt2, 60));
    c.transformer({{line, ground, 110, 0}, {heaters, ground, 5, 0}}, 0, 0);
    for (int k = 0; k < 5; ++k) c.resistor(heaters, ground, 5 / 0.12);
    Engine engine(c);
    PeriodicOptions options;
    options.two_level = false;
    const Periodic wave = engine.periodic(options);
    REQUIRE(wave.solved);
    CHECK(-engine.watts(wave, source) == Approx(3).epsilon(1e-3));
    CHECK(engine.current(wave, source, 0).rms == Approx(0.0273).epsilon(2e-3));
}
