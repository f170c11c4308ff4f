// SPDX-License-Identifier: MIT
// Laws and networks that several tests of this module use. The laws are written for the tests: simple, smooth, and not
// those of the library's own tubes.
#pragma once

#include <cmath>
#include <cstdint>
#include <random>
#include <string>
#include <vector>

#include "circuit/circuit.hpp"

namespace networks {

using namespace tubewright::circuit;

/// max(0, v) rounded off over about `eps` volts, and its slope.
inline double soft(double v, double eps, double& slope) {
    const double root = std::sqrt(v * v + eps * eps);
    slope = 0.5 * (1 + v / root);
    // v + root without the loss of digits far below zero
    return v >= 0 ? 0.5 * (v + root) : 0.5 * eps * eps / (root - v);
}

/// Vacuum diode: p = {amperes per volt^1.5}.
inline void vacuum_diode(const double* p, const double* v, double* i, double* g) {
    double slope = 0;
    const double u = soft(v[0], 1e-3, slope), root = std::sqrt(u);
    i[0] = p[0] * u * root;
    g[0] = 1.5 * p[0] * root * slope;
}
/// Nearly ideal diode: p = {siemens when conducting, volts of rounding}.
inline void sharp_diode(const double* p, const double* v, double* i, double* g) {
    double slope = 0;
    i[0] = p[0] * soft(v[0], p[1], slope);
    g[0] = p[0] * slope;
}
/// Junction-like: p = {saturation amperes, thermal volts}; straight above 0.1 A.
inline void junction(const double* p, const double* v, double* i, double* g) {
    const double top = p[1] * std::log(0.1 / p[0] + 1);
    if (v[0] <= top) {
        const double e = std::exp(v[0] / p[1]);
        i[0] = p[0] * (e - 1);
        g[0] = p[0] * e / p[1];
    } else {
        const double e = std::exp(top / p[1]);
        g[0] = p[0] * e / p[1];
        i[0] = p[0] * (e - 1) + g[0] * (v[0] - top);
    }
}
/// Triode, terminals plate, grid, cathode: p = {perveance, mu}. Ip = k (vg + vp / mu)^1.5; the grid conducts above 0 V.
inline void triode(const double* p, const double* v, double* i, double* g) {
    double slope = 0, up = 0, lead = 0;
    const double u = soft(v[1] + v[0] / p[1], 0.05, slope), root = std::sqrt(u);
    const double plate = soft(v[0], 1, up);
    const double knee = plate / (plate + 5), knee_slope = up * 5 / ((plate + 5) * (plate + 5));
    i[0] = p[0] * u * root * knee;
    g[0] = 1.5 * p[0] * root * slope / p[1] * knee + p[0] * u * root * knee_slope;
    g[1] = 1.5 * p[0] * root * slope * knee;
    const double grid = soft(v[1], 0.05, lead), grid_root = std::sqrt(grid);
    i[1] = 1e-3 * grid * grid_root;
    g[2] = 0;
    g[3] = 1.5e-3 * grid_root * lead;
}
/// Pentode, terminals plate, screen, grid, cathode: p = {perveance, mu of the screen}.
inline void pentode(const double* p, const double* v, double* i, double* g) {
    double slope = 0, up = 0, lead = 0;
    const double u = soft(v[2] + v[1] / p[1] + v[0] / (60 * p[1]), 0.05, slope), root = std::sqrt(u);
    const double space = p[0] * u * root, rise = 1.5 * p[0] * root * slope;
    const double plate = soft(v[0], 1, up);
    const double knee = plate / (plate + 12), knee_slope = up * 12 / ((plate + 12) * (plate + 12));
    i[0] = 0.82 * space * knee;
    g[0] = 0.82 * (rise / (60 * p[1]) * knee + space * knee_slope);
    g[1] = 0.82 * rise / p[1] * knee;
    g[2] = 0.82 * rise * knee;
    const double share = 1 - 0.82 * knee;
    i[1] = space * share;
    g[3] = rise / (60 * p[1]) * share - 0.82 * space * knee_slope;
    g[4] = rise / p[1] * share;
    g[5] = rise * share;
    const double grid = soft(v[2], 0.05, lead), grid_root = std::sqrt(grid);
    i[2] = 1e-3 * grid * grid_root;
    g[6] = g[7] = 0;
    g[8] = 1.5e-3 * grid_root * lead;
}

constexpr Law vacuum{2, vacuum_diode};
constexpr Law sharp{2, sharp_diode};
constexpr Law junction_law{2, junction};
constexpr Law triode_law{3, triode};
constexpr Law pentode_law{4, pentode};

/// The same numbers on every machine: the standard distributions are not portable, the generator is.
class Dice {
  public:
    explicit Dice(std::uint64_t seed) : generator_(seed) {}
    double unit() { return static_cast<double>(generator_() >> 11) * 0x1.0p-53; }
    double uniform(double low, double high) { return low + (high - low) * unit(); }
    /// Evenly in the logarithm.
    double decades(double low, double high) { return low * std::exp(unit() * std::log(high / low)); }
    int below(int n) { return static_cast<int>(unit() * n); }

  private:
    std::mt19937_64 generator_;
};

inline Element two(Circuit& c, Law law, Node a, Node b, std::vector<double> p) {
    const Node nodes[] = {a, b};
    return c.device(law, nodes, p);
}
inline Element rectifier(Circuit& c, Law law, Node a, Node b, std::vector<double> p) {
    const Element e = two(c, law, a, b, std::move(p));
    c.rectifies(e);
    return e;
}

/// A five-tube set with a power transformer: unequal plate halves, magnetising branch, heater windings, capacitor
/// input, field coil, output tube, and the low-level tubes on decoupled rails.
struct FiveTube {
    Circuit c;
    Node line = 0, reservoir = 0, bplus = 0, plate = 0;
    Element source = 0, transformer = 0, first = 0, second = 0, field = 0, output = 0, diode_a = 0, diode_b = 0;
    std::vector<Element> resistors, capacitors;
};

inline FiveTube five_tube() {
    FiveTube s;
    Circuit& c = s.c;
    const auto res = [&](Node a, Node b, double ohms) {
        s.resistors.push_back(c.resistor(a, b, ohms));
        return s.resistors.back();
    };
    const auto cap = [&](Node a, Node b, double farads) {
        s.capacitors.push_back(c.capacitor(a, b, farads, 0));
        return s.capacitors.back();
    };
    s.line = c.node("line");
    const Node primary = c.node("primary"), top = c.node("plate 1"), bottom = c.node("plate 2");
    const Node filament = c.node("filament"), other = c.node("filament other"), heater = c.node("heater");
    s.source = c.voltage_source(s.line, ground, Waveform::cosine(117 * std::sqrt(2.0), 60));
    res(s.line, primary, 0.5);
    s.reservoir = filament;
    const double a = 117;
    s.transformer = c.transformer({{primary, ground, a, 4},
                                   {top, ground, 350, 150},
                                   {ground, bottom, 348, 165},
                                   {filament, other, 5, 0.08},
                                   {heater, ground, 6.3, 0.05}},
                                  4, 3000);
    res(filament, other, 2.5);
    res(heater, ground, 2.6);
    s.diode_a = rectifier(c, vacuum, top, filament, {2.7e-4});
    s.diode_b = rectifier(c, vacuum, bottom, filament, {2.7e-4});
    s.first = cap(filament, ground, 10e-6);
    s.bplus = c.node("bplus");
    s.field = c.inductor(filament, s.bplus, 10, 800);
    s.second = cap(s.bplus, ground, 16e-6);
    // Output stage.
    s.plate = c.node("output plate");
    const Node cathode = c.node("output cathode"), grid = c.node("output grid"), voice = c.node("voice coil");
    c.transformer({{s.bplus, s.plate, 40, 350}, {voice, ground, 1, 0.4}}, 12, 0);
    res(voice, ground, 3.2);
    const Node output_nodes[] = {s.plate, s.bplus, grid, cathode};
    s.output = c.device(pentode_law, output_nodes, std::vector<double>{1.2e-3, 9});
    res(cathode, ground, 420);
    cap(cathode, ground, 25e-6);
    res(grid, ground, 470e3);
    // First audio.
    const Node audio_plate = c.node("audio plate"), audio_grid = c.node("audio grid");
    const Node audio_nodes[] = {audio_plate, audio_grid, ground};
    c.device(triode_law, audio_nodes, std::vector<double>{1.2e-3, 70});
    const Node rail = c.node("audio rail");
    res(s.bplus, rail, 47e3);
    cap(rail, ground, 8e-6);
    res(rail, audio_plate, 220e3);
    cap(audio_plate, grid, 0.02e-6);
    cap(audio_plate, ground, 250e-12);
    res(audio_grid, ground, 10e6);
    // Three radio tubes: converter, intermediate, and a spare, each with screen, cathode and plate decoupling.
    const Node screens = c.node("screens");
    res(s.bplus, screens, 15e3);
    cap(screens, ground, 0.1e-6);
    res(screens, ground, 30e3);
    for (int k = 0; k < 3; ++k) {
        const std::string id = "radio " + std::to_string(k);
        const Node plate = c.node(id + " plate"), feed = c.node(id + " feed"), cath = c.node(id + " cathode"),
                   g1 = c.node(id + " grid"), avc = c.node(id + " avc"), screen = c.node(id + " screen");
        res(s.bplus, feed, 1e3);
        cap(feed, ground, 0.05e-6);
        c.inductor(feed, plate, 1e-3, 20);
        res(screens, screen, 100);
        const Node nodes[] = {plate, screen, g1, cath};
        c.device(pentode_law, nodes, std::vector<double>{5e-4, 20});
        res(cath, ground, 330);
        cap(cath, ground, 0.1e-6);
        c.inductor(avc, g1, 0.2e-3, 8);
        res(avc, ground, 1e6);
        cap(avc, ground, 0.05e-6);
    }
    return s;
}

}  // namespace networks
