// SPDX-License-Identifier: MIT
// The capacitor-input rectifier with an ideal diode against the exact grid in tests/derived/rectifier_grid.txt: every
// point, full and half wave. Direct volts, rms and peak currents within 0.1 %; ripple within 0.5 % or one unit of the
// last printed digit. The ideal diode is 1 milliohm with a corner of 10 mV, at 1000 V peak and 1000 ohms.
#include <catch2/catch.hpp>
#include <fstream>
#include <numbers>
#include <sstream>

#include "networks.hpp"

using namespace networks;

namespace {

struct Point {
    bool full = false;
    double r = 0, a = 0, direct = 0, ripple = 0, rms = 0, peak = 0;
};

std::vector<Point> grid() {
    std::ifstream file(TUBEWRIGHT_ROOT "/tests/derived/rectifier_grid.txt");
    std::vector<Point> points;
    bool full = true;
    for (std::string line; std::getline(file, line);) {
        if (line.rfind("FULL", 0) == 0) full = true;
        if (line.rfind("HALF", 0) == 0) full = false;
        std::istringstream words(line);
        Point p;
        p.full = full;
        std::string w1, w2, w3, w4, w5, w6;
        // r a Vdc/Vpk x ripple_rms/Vdc x Irms/Idc(line into C+R) x Ipk/Idc x cond x
        if (words >> p.r >> p.a >> w1 >> p.direct >> w2 >> p.ripple >> w3 >> w4 >> w5 >> p.rms >> w6 >> p.peak)
            points.push_back(p);
    }
    return points;
}

}  // namespace

TEST_CASE("capacitor-input rectifiers reproduce the exact grid at every point") {
    const std::vector<Point> points = grid();
    REQUIRE(points.size() == 96);
    constexpr double volts = 1000, ohms = 1000, hertz = 60;
    for (const Point& point : points) {
        Circuit c;
        const Node out = c.node("out");
        std::vector<Element> series;
        for (int half = 0; half < (point.full ? 2 : 1); ++half) {
            const Node in = c.node("in"), plate = c.node("plate");
            c.voltage_source(in, ground, Waveform::cosine(volts, hertz, half * std::numbers::pi));
            series.push_back(c.resistor(in, plate, point.r * ohms));
            rectifier(c, sharp, plate, out, {1e3, 1e-2});
        }
        c.capacitor(out, ground, point.a / (2 * std::numbers::pi * hertz * ohms));
        c.resistor(out, ground, ohms);
        Engine engine(c);
        PeriodicOptions options;
        options.steps = 1024;
        options.hertz = hertz;
        const Periodic p = engine.periodic(options);
        INFO((point.full ? "full " : "half ") << point.r << " " << point.a);
        REQUIRE(p.solved);
        const double direct = p.volts[static_cast<std::size_t>(out)].mean;
        const double square = p.volts[static_cast<std::size_t>(out)].rms;
        const double amps = direct / ohms;
        CHECK(direct / volts == Approx(point.direct).epsilon(1e-3).margin(0.00005));
        const double ripple = std::sqrt(std::max(square * square - direct * direct, 0.0)) / direct;
        CHECK(std::abs(ripple - point.ripple) <= std::max(0.005 * point.ripple, 1e-5));
        double sum = 0, peak = 0;
        for (const Element e : series) {
            const Course course = engine.current(p, e, 0);
            sum += course.rms * course.rms;  // the halves do not conduct together
            peak = std::max(peak, course.high);
        }
        CHECK(std::sqrt(sum) / amps == Approx(point.rms).epsilon(1e-3).margin(0.0005));
        CHECK(peak / amps == Approx(point.peak).epsilon(1e-3).margin(0.0005));
    }
}
