// SPDX-License-Identifier: MIT
// Quantities as the trade says them: three significant figures at most, the usual prefix, trailing zeros dropped.
//     say(volts(325.4)) == "325 V"; say(farads(2.2e-8)) == ".022 uF"; say(ohms(4.7e5)) == "470 k"
// A value that is not a number reads "not known"; an endless resistance reads "open". Tests: tests/terms/say_test.cpp.
#include <fmt/core.h>

#include <cmath>
#include <initializer_list>

#include <tubewright/quantity.hpp>

namespace tubewright {
namespace {

/// `places` significant figures without exponent and without trailing zeros: 1234.5 -> "1230", 0.0220 -> "0.022".
std::string figures(double x, int places = 3) {
    if (x == 0) return "0";
    const double size = std::fabs(x);
    int exponent = static_cast<int>(std::floor(std::log10(size)));
    // 999.9 rounds up into the next decade.
    if (std::round(size / std::pow(10.0, exponent - places + 1)) >= std::pow(10.0, places)) ++exponent;
    const int decimals = places - 1 - exponent;
    if (decimals <= 0) {
        const double step = std::pow(10.0, -decimals);
        return fmt::format("{:.0f}", std::round(x / step) * step);
    }
    std::string text = fmt::format("{:.{}f}", x, decimals);
    while (text.back() == '0') text.pop_back();
    if (text.back() == '.') text.pop_back();
    return text;
}

struct Step {
    double from;  ///< used when the rounded size is at least this
    double unit;
    const char* suffix;
};

/// The first step whose lower end the value reaches after rounding to three figures; the last one otherwise.
std::string in_steps(double x, std::initializer_list<Step> steps) {
    if (std::isnan(x)) return "not known";
    if (std::isinf(x)) return "without limit";
    const double size = std::fabs(x) * (1 + 1e-9);
    const Step* last = nullptr;
    for (const Step& step : steps) {
        last = &step;
        if (size >= step.from) break;
    }
    if (x == 0) last = steps.begin();
    return figures(x / last->unit) + last->suffix;
}

}  // namespace

// Under this nothing on a bench can show it: the residue of a solution.
constexpr double no_volts = 1e-6, no_amps = 1e-10, no_watts = 1e-7;

std::string say(Volts v) {
    if (std::fabs(v.value()) < no_volts) return "0 V";
    return in_steps(v.value(), {{0.0995, 1, " V"}, {0, 1e-3, " mV"}});
}

std::string say(Amps a) {
    if (std::fabs(a.value()) < no_amps) return "0 A";
    return in_steps(a.value(), {{0.9995, 1, " A"}, {0.9995e-3, 1e-3, " mA"}, {0, 1e-6, " uA"}});
}

std::string say(Ohms r) {
    if (std::isinf(r.value())) return "open";
    if (r.value() == 0) return "0 ohm";
    return in_steps(r.value(), {{0.9995e6, 1e6, " meg"}, {999.5, 1e3, " k"}, {0, 1, " ohm"}});
}

std::string say(Farads c) {
    std::string text = in_steps(c.value(), {{0.9995e-9, 1e-6, " uF"}, {0, 1e-12, " pF"}});
    if (text.starts_with("0.")) text.erase(0, 1);
    return text;
}

std::string say(Henries l) {
    return in_steps(l.value(), {{0.9995, 1, " H"}, {0.9995e-3, 1e-3, " mH"}, {0, 1e-6, " uH"}});
}

std::string say(Watts w) {
    if (std::fabs(w.value()) < no_watts) return "0 W";
    return in_steps(w.value(), {{0.00995, 1, " W"}, {0, 1e-3, " mW"}});
}

std::string say(Seconds t) {
    return in_steps(t.value(), {{7195, 3600, " h"}, {119.5, 60, " min"}, {0.9995, 1, " s"}, {0, 1e-3, " ms"}});
}

}  // namespace tubewright
