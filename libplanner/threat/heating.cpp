// SPDX-License-Identifier: MIT
// See heating.hpp. The star of masses is stepped by a linearly implicit second-order rule (Rosenbrock; Verwer's ROS2,
// from memory) with steps that grow by a tenth: about a hundred steps from a fifth of a second to a day, each linear in
// the number of windings.
#include "threat/heating.hpp"

#include <algorithm>
#include <cmath>

namespace tubewright::threat {
namespace {

constexpr double copper_resistivity = 1.7241e-8;  ///< ohm m at 20 C
constexpr double copper_density = 8960, copper_heat = 385;
constexpr double iron_density = 7650, iron_heat = 460;
constexpr double tesla = 1.0;
constexpr double case_share = 0.25;  ///< end bells and case, of the core's heat capacity
constexpr double first_step = 0.2, growth = 1.15, last_second = 86400;

double core_area(double va) {
    return 1.15e-4 * std::sqrt(std::max(va, 1.0));
}  // m2

/// Mean turn over the side of a square core.
double turn_sides(Place place) {
    return place == Place::inner ? 5.8 : place == Place::middle ? 7.0 : 7.8;
}

/// Thickness over conductivity between a winding's copper and the core, m2 K/W.
double insulation(Place place) {
    return place == Place::inner ? 0.010 : 0.022;
}

}  // namespace

double hot_factor(double celsius) {
    return (234.5 + celsius) / 254.5;
}

HeatingAssumptions assumptions_at(Corner corner) {
    switch (corner) {
        case cool:
            return {1.2, 1.5, 2.7, 0.7, 8, 0.035};
        case hot:
            return {0.8, 3.5, 4.9, 1.4, 22, 0.075};
        case middle:
            break;
    }
    return {};
}

Copper copper_of(double ohms, double volts, double va, double hertz, Place place) {
    Copper c;
    const double area = core_area(va);
    c.turns = volts / (4.44 * hertz * tesla * area);
    c.metres = c.turns * turn_sides(place) * std::sqrt(area);
    if (ohms > 0) {
        const double square_metres = copper_resistivity * c.metres / ohms;
        c.mm2 = square_metres * 1e6;
        c.kilograms = copper_density * square_metres * c.metres;
    }
    return c;
}

Heating::Heating(double va, double hertz, double room_celsius, std::vector<WindingCopper> windings,
                 const HeatingAssumptions& a)
    : windings_(std::move(windings)) {
    const double side = std::sqrt(core_area(va));
    for (const WindingCopper& w : windings_) {
        Copper c = copper_of(w.ohms, w.volts, va, hertz, w.place);
        double kilograms = c.kilograms * a.section;
        if (!w.ohms_known || kilograms <= 0)
            kilograms = copper_density * c.metres * std::max(w.normal_amps, 1e-3) / a.amps_per_mm2 * 1e-6;
        const double surface = turn_sides(w.place) * side * 1.5 * side;  // one layer, as high as the window
        masses_.push_back({std::max(kilograms, 1e-4) * copper_heat, a.winding_to_core * insulation(w.place) / surface});
    }
    const double iron = iron_density * core_area(va) * 5.6 * side;
    core_ = {iron * iron_heat * (1 + case_share), a.core_to_air * std::sqrt(60 / std::max(va, 1.0))};
    air_ = room_celsius + a.air_rise;
    core_watts_ = a.core_watts_per_va * va;
    start_.assign(windings_.size() + 1, air_);
}

/// The star with its heat: derivative, diagonal of the Jacobian, one implicit solve.
struct Heating::State {
    const Heating& of;
    const Heat& heat;
    std::size_t n;  ///< windings, and the ring when there is one
    std::vector<double> watts, capacity, resistance;
    double shrink = 1;  ///< current squared over its cold value
    double held = 1;    ///< the same at the beginning of the step
    std::vector<double> diagonal, f, k1, k2, mid;

    State(const Heating& o, const Heat& h) : of(o), heat(h), n(o.windings_.size() + (h.ring_of >= 0 ? 1 : 0)) {
        watts = h.copper_watts;
        for (const Mass& m : o.masses_) {
            capacity.push_back(m.joules_per_kelvin);
            resistance.push_back(m.kelvin_per_watt);
        }
        if (h.ring_of >= 0) {
            // a twentieth of the winding's copper, inside it: both its faces give heat to the rest of the winding
            const Mass& m = o.masses_[static_cast<std::size_t>(h.ring_of)];
            watts.push_back(h.ring_watts);
            capacity.push_back(0.05 * m.joules_per_kelvin);
            resistance.push_back(0.5 * m.kelvin_per_watt);
        }
        diagonal.resize(n + 1);
        f.resize(n + 1);
        k1.resize(n + 1);
        k2.resize(n + 1);
        mid.resize(n + 1);
    }

    void weigh(const std::vector<double>& t) {
        if (heat.stiffness <= 0) return;
        double loss = 0, weighted = 0;
        for (std::size_t i = 0; i < n; ++i) {
            loss += watts[i];
            weighted += watts[i] * hot_factor(t[i]);
        }
        const double factor = loss > 0 ? weighted / loss : 1;
        const double current = 1 / (1 + heat.stiffness * std::max(0.0, factor - 1));
        shrink = current * current;
    }

    void slope(const std::vector<double>& t, std::vector<double>& out) {
        double into_core = of.core_watts_;
        for (std::size_t i = 0; i < n; ++i) {
            const double flow = (t[i] - t[n]) / resistance[i];
            out[i] = (watts[i] * shrink * hot_factor(t[i]) - flow) / capacity[i];
            into_core += flow;
        }
        out[n] = (into_core - (t[n] - of.air_) / of.core_.kelvin_per_watt) / of.core_.joules_per_kelvin;
    }

    /// (1 - g J) k = f by elimination towards the core.
    void implicit(double g, const std::vector<double>& rhs, std::vector<double>& k) {
        double core = 1 + g / (of.core_.kelvin_per_watt * of.core_.joules_per_kelvin), right = rhs[n];
        for (std::size_t i = 0; i < n; ++i) {
            const double through = g / resistance[i];
            diagonal[i] = 1 + (through - g * watts[i] * held / 254.5) / capacity[i];
            // a winding that runs away by itself: keep the step explicit there
            if (diagonal[i] < 0.1) diagonal[i] = 0.1;
            const double to_core = through / of.core_.joules_per_kelvin, from_core = through / capacity[i];
            core += to_core - to_core * from_core / diagonal[i];
            right += to_core * rhs[i] / diagonal[i];
        }
        k[n] = right / core;
        for (std::size_t i = 0; i < n; ++i) k[i] = (rhs[i] + g / resistance[i] / capacity[i] * k[n]) / diagonal[i];
    }

    void step(std::vector<double>& t, double h) {
        constexpr double gamma = 1.7071067811865475;
        weigh(t);
        slope(t, f);
        held = shrink;  // one Jacobian for both stages
        implicit(gamma * h, f, k1);
        for (std::size_t i = 0; i <= n; ++i) mid[i] = t[i] + h * k1[i];
        weigh(mid);
        slope(mid, f);
        for (std::size_t i = 0; i <= n; ++i) f[i] -= 2 * k1[i];
        implicit(gamma * h, f, k2);
        for (std::size_t i = 0; i <= n; ++i) t[i] += h * (1.5 * k1[i] + 0.5 * k2[i]);
    }
};

void Heating::settle(const Heat& healthy) {
    State state(*this, healthy);
    std::vector<double> t(state.n + 1, air_);
    double now = 0;
    for (double h = first_step; now < 5 * last_second; h *= growth) {
        state.step(t, h);
        now += h;
    }
    start_ = t;
}

double Heating::healthy_celsius() const {
    return start_.empty() ? air_ : *std::max_element(start_.begin(), start_.end() - 1);
}

Course Heating::course(const Heat& fault) const {
    return run(fault, first_step, growth);
}

Course Heating::steady(const Heat& fault) const {
    Course c = run(fault, 300, 1.6);
    c.seconds_to_105.reset();
    c.seconds_to_180.reset();
    return c;
}

Course Heating::run(const Heat& fault, double step, double wider) const {
    State state(*this, fault);
    std::vector<double> t = start_;
    if (fault.ring_of >= 0) t.insert(t.end() - 1, start_[static_cast<std::size_t>(fault.ring_of)]);
    Course c;
    auto hottest = [&] { return static_cast<std::size_t>(std::max_element(t.begin(), t.end() - 1) - t.begin()); };
    auto note_hottest = [&](std::size_t i) {
        c.ring_hottest = i >= windings_.size();
        c.hottest = c.ring_hottest ? fault.ring_of : static_cast<int>(i);
    };
    std::size_t at = hottest();
    note_hottest(at);
    double before = t[at], now = 0;
    if (before >= ageing_celsius) c.seconds_to_105 = 0;
    if (before >= damage_celsius) c.seconds_to_180 = 0;
    for (double h = step; now < last_second; h *= wider) {
        state.step(t, h);
        at = hottest();
        const double after = t[at];
        auto crossed = [&](double celsius, std::optional<double>& seconds) {
            if (seconds || after < celsius) return;
            seconds = now + h * (celsius - before) / std::max(after - before, 1e-12);
            note_hottest(at);
        };
        crossed(ageing_celsius, c.seconds_to_105);
        crossed(damage_celsius, c.seconds_to_180);
        if (c.seconds_to_180 && c.celsius.empty())
            for (std::size_t i = 0; i < windings_.size(); ++i) c.celsius.push_back(std::min(t[i], damage_celsius));
        before = after;
        now += h;
        if (after >= ceiling_celsius) break;
    }
    if (!c.seconds_to_180) note_hottest(at);
    if (c.celsius.empty()) c.celsius.assign(t.begin(), t.begin() + static_cast<std::ptrdiff_t>(windings_.size()));
    c.steady_celsius = std::min(before, ceiling_celsius);
    return c;
}

}  // namespace tubewright::threat
