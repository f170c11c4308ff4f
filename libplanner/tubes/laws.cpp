// SPDX-License-Identifier: MIT
// See laws.hpp for the equations. Everything is smooth (C1) and finite for any finite volts; no powers, two or three
// exponentials a grid.
#include "tubes/laws.hpp"

#include <cmath>

#include "tubes/parameters.hpp"

namespace tubewright::tubes {
namespace {

/// A value, and what it is differentiated by is said at each use.
struct Soft {
    double value;   ///< width * ln(1 + exp(x / width))
    double slope;   ///< d value / d x
    double spread;  ///< d value / d width
};

Soft soft(double x, double width) {
    const double u = x / width;
    if (u > 36) return {x, 1, 0};
    if (u < -600) return {0, 0, 0};
    const double e = std::exp(u);
    // Far below, two terms of the series are the logarithm to eleven digits.
    const double l = u < -12 ? e * (1 - 0.5 * e) : std::log(1 + e);
    const double slope = e / (1 + e);
    return {width * l, slope, l - u * slope};
}

/// x sqrt(x) and its derivative, x >= 0.
struct Cube {
    double value, slope;
};
Cube cube(double x) {
    const double root = std::sqrt(x);
    return {x * root, 1.5 * root};
}

constexpr double plate_width = 0.3;  ///< volts over which a plate or screen lets go near 0 V
constexpr double plate_ease = 1.0;   ///< volts at which a plate takes half of what reaches it
constexpr double leak = 1e-10;       ///< siemens: keeps a node on a cut-off tube solvable
constexpr double grid_leak = 1e-12;

struct Grid {
    double amps, slope;
};
Grid grid_current(double emission, double k, double onset, double v) {
    const Soft e = soft(v - onset, grid_width);
    const Cube c = cube(e.value);
    return {emission * k * c.value + grid_leak * v, emission * k * c.slope * e.slope + grid_leak};
}

void vacuum_diode_law(const double* p, const double* v, double* i, double* g) {
    constexpr double shunt = 1e-9;
    const double root = v[0] > 0 ? std::sqrt(v[0]) : 0.0;
    const double limit = p[vacuum_diode::limit_amps];
    const double space = p[vacuum_diode::perveance] * v[0] * root;
    double share = 1, slope = 1;  // of the space charge's current and of its slope
    if (limit > 0) {
        const double square = space / limit * (space / limit), fourth = square * square;
        share = 1 / std::sqrt(std::sqrt(1 + fourth));
        slope = share / (1 + fourth);
    }
    i[0] = p[0] * space * share + shunt * v[0];
    g[0] = 1.5 * p[0] * p[vacuum_diode::perveance] * root * slope + shunt;
}

void gas_diode_law(const double* p, const double* v, double* i, double* g) {
    constexpr double shunt = 1e-9;
    const Soft e = soft(v[0] - p[gas_diode::drop], p[gas_diode::width]);
    const double y = p[0] / p[gas_diode::slope_ohms];
    i[0] = y * e.value + shunt * v[0];
    g[0] = y * e.slope + shunt;
}

void signal_diode_law(const double* p, const double* v, double* i, double* g) {
    const Grid d = grid_current(p[0], p[signal_diode::perveance], p[signal_diode::onset], v[0]);
    i[0] = d.amps;
    g[0] = d.slope;
}

void triode_law(const double* p, const double* v, double* i, double* g) {
    using namespace triode;
    const double vp = v[0], vg = v[1];
    const double inverse_mu = 1 / p[mu];
    const Soft plate = soft(vp, plate_width);
    const double w = p[width] + p[width_share] * plate.value * inverse_mu;
    const double dw = p[width_share] * plate.slope * inverse_mu;
    const Soft e = soft(vg + vp * inverse_mu + p[contact], w);
    const Cube c = cube(e.value);
    const double k = p[0] * p[perveance];
    const double space = k * c.value;
    const double d_e = k * c.slope;
    const double space_vg = d_e * e.slope;
    const double space_vp = d_e * (e.slope * inverse_mu + e.spread * dw);
    // Share of the plate: all but near and below 0 V, where the grid takes over.
    const Soft grid = soft(vg, plate_width);
    const double sum = plate.value + plate_ease + p[grid_hold] * grid.value;
    const double share = plate.value / sum;
    const double share_vp = plate.slope * (1 - share) / sum;
    const double share_vg = -share * p[grid_hold] * grid.slope / sum;
    i[0] = space * share + leak * vp;
    g[0] = space_vp * share + space * share_vp + leak;
    g[1] = space_vg * share + space * share_vg;
    const Grid current = grid_current(p[0], p[grid_perveance], p[grid_onset], vg);
    i[1] = current.amps;
    g[2] = 0;
    g[3] = current.slope;
}

/// Space current of a pentode-like structure and its derivatives by the control grid, the screen and the plate.
struct Space {
    double amps, by_grid, by_screen, by_plate;
};

Space pentode_space(const double* p, double vg, double vs, double vp, const Soft& screen) {
    using namespace pentode;
    const double inverse_mu = 1 / p[mu], inverse_plate = 1 / p[mu_plate];
    const double field = vs * inverse_mu + vp * inverse_plate;
    const double w = p[width] + p[width_share] * screen.value * inverse_mu;
    const double dw = p[width_share] * screen.slope * inverse_mu;
    const Soft e = soft(vg + field + p[contact], w);
    const Cube c = cube(e.value);
    const double k = p[0] * p[perveance];
    double d = k * c.slope;
    Space s{k * c.value, d * e.slope, d * (e.slope * inverse_mu + e.spread * dw), d * e.slope * inverse_plate};
    if (p[tail] > 0) {
        const double f = p[tail_field];
        const Soft e2 = soft(vg + f * field + p[contact], f * w);
        const Cube c2 = cube(e2.value);
        d = k * p[tail] * c2.slope;
        s.amps += k * p[tail] * c2.value;
        s.by_grid += d * e2.slope;
        s.by_screen += d * f * (e2.slope * inverse_mu + e2.spread * dw);
        s.by_plate += d * e2.slope * f * inverse_plate;
    }
    return s;
}

/// How a space current divides between plate and screen: the plate's share, the screen's, and their derivatives.
struct Division {
    double plate, plate_by_plate, plate_by_screen;
    double screen, screen_by_plate, screen_by_screen;
};

Division divide(double share, double knee, double corner, const Soft& plate, const Soft& screen) {
    const double qp = plate.value, qs = screen.value;
    const double ease = qs + plate_ease;
    const double z = qs / ease, dz = plate_ease / (ease * ease);
    const double both = qp * qp + qs * qs + plate_ease;
    const double kept = share * z + knee * qs * qs / both;  // of the screen, the plate well up
    const double kept_qp = -2 * knee * qs * qs * qp / (both * both);
    const double kept_qs = share * dz + 2 * knee * qs * (qp * qp + plate_ease) / (both * both);
    const double reach = qp * qp * qp * qp;
    const double held = corner * qs * qs * qs * qs + plate_ease;
    const double sum = reach * (1 + kept) + held;
    const double a = reach / sum;
    const double a_qp = (4 * qp * qp * qp * held - reach * reach * kept_qp) / (sum * sum);
    const double a_qs = -reach * (reach * kept_qs + 4 * corner * qs * qs * qs) / (sum * sum);
    Division d;
    d.plate = a;
    d.plate_by_plate = a_qp * plate.slope;
    d.plate_by_screen = a_qs * screen.slope;
    d.screen = (1 - a) * z;
    d.screen_by_plate = -d.plate_by_plate * z;
    d.screen_by_screen = ((1 - a) * dz - a_qs * z) * screen.slope;
    return d;
}

void pentode_law(const double* p, const double* v, double* i, double* g) {
    using namespace pentode;
    const double vp = v[0], vs = v[1], vg = v[2];
    const Soft plate = soft(vp, plate_width), screen = soft(vs, plate_width);
    const Space s = pentode_space(p, vg, vs, vp, screen);
    const Division d = divide(p[screen_share], p[knee], p[corner], plate, screen);
    i[0] = s.amps * d.plate + leak * vp;
    g[0] = s.by_plate * d.plate + s.amps * d.plate_by_plate + leak;
    g[1] = s.by_screen * d.plate + s.amps * d.plate_by_screen;
    g[2] = s.by_grid * d.plate;
    i[1] = s.amps * d.screen + leak * vs;
    g[3] = s.by_plate * d.screen + s.amps * d.screen_by_plate;
    g[4] = s.by_screen * d.screen + s.amps * d.screen_by_screen + leak;
    g[5] = s.by_grid * d.screen;
    const Grid current = grid_current(p[0], p[grid_perveance], p[grid_onset], vg);
    i[2] = current.amps;
    g[6] = 0;
    g[7] = 0;
    g[8] = current.slope;
}

/// Currents of a mixing structure {p, screen, .., signal grid}; n-1 columns; the terminals between are left for the
/// caller.
void mixer(const double* p, double vp, double vs, double vg, int columns, int signal, const Soft& screen, double* i,
           double* g) {
    using namespace pentode;
    const Soft plate = soft(vp, plate_width);
    const Space s = pentode_space(p, vg, vs, vp, screen);
    const Division d = divide(p[screen_share], p[knee], p[corner], plate, screen);
    for (int k = 0; k < columns * columns; ++k) g[k] = 0;
    i[0] = s.amps * d.plate + leak * vp;
    g[0] = s.by_plate * d.plate + s.amps * d.plate_by_plate + leak;
    g[1] = s.by_screen * d.plate + s.amps * d.plate_by_screen;
    g[signal] = s.by_grid * d.plate;
    if (p[converter::divides] > 0) {
        // what the signal grid keeps from the plate goes to the screen: all of it far below, never more than there is
        Space all = pentode_space(p, p[converter::total_at] * screen.value, vs, vp, screen);
        all.by_screen += all.by_grid * p[converter::total_at] * screen.slope;
        const double a = d.plate, rest = all.amps * (1 - a), sum = rest + a * s.amps;
        const double ease = screen.value + plate_ease, z = screen.value / ease;
        const double left = sum > 0 ? all.amps * rest / sum : 0;
        const auto moved = [&](double by_all, double by_share, double by_space) {
            if (!(sum > 0)) return 0.0;
            return (2 * rest * by_all - all.amps * all.amps * by_share -
                    left * ((1 - a) * by_all + (s.amps - all.amps) * by_share + a * by_space)) /
                   sum;
        };
        i[1] = z * left + leak * vs;
        g[columns] = z * moved(all.by_plate, d.plate_by_plate, s.by_plate);
        g[columns + 1] = z * moved(all.by_screen, d.plate_by_screen, s.by_screen) +
                         left * plate_ease / (ease * ease) * screen.slope + leak;
        g[columns + signal] = z * moved(0, 0, s.by_grid);
    } else {
        i[1] = s.amps * d.screen + leak * vs;
        g[columns] = s.by_plate * d.screen + s.amps * d.screen_by_plate;
        g[columns + 1] = s.by_screen * d.screen + s.amps * d.screen_by_screen + leak;
        g[columns + signal] = s.by_grid * d.screen;
    }
    const Grid current = grid_current(p[0], p[grid_perveance], p[grid_onset], vg);
    i[signal] = current.amps;
    g[signal * columns + signal] = current.slope;
}

/// The oscillator grid rectifies the peaks of a swing in proportion to the volts of the oscillator's plate.
void oscillator_grid(const double* p, double v, const Soft& oscillator_plate, int columns, int row, int plate,
                     double* i, double* g) {
    const Soft e = soft(v + p[converter::swing] * oscillator_plate.value, plate_width);
    const double y = p[0] * p[converter::oscillator_grid];
    i[row] = y * e.value + grid_leak * v;
    g[row * columns + row] = y * e.slope + grid_leak;
    g[row * columns + plate] = y * e.slope * p[converter::swing] * oscillator_plate.slope;
}

void converter_law(const double* p, const double* v, double* i, double* g) {
    constexpr int columns = 5;
    const Soft screen = soft(v[1], plate_width), anode = soft(v[2], plate_width);
    mixer(p, v[0], v[1], v[4], columns, 4, screen, i, g);
    const Cube c = cube(anode.value);
    const double k = p[0] * p[converter::anode_perveance];
    // full while the oscillator grid's crests reach 0 V, as those of an oscillator that biases itself do
    constexpr double cut_off_share = 0.1, ease = 1.0;
    const double excess = v[3] + p[converter::swing] * anode.value, room = cut_off_share * anode.value + ease;
    double share = 1, slope = 0;  // by the volts short of 0 V over those at which it is cut off
    if (const double w = -excess / room; w >= 1)
        share = 0;
    else if (w > 0)
        share = 1 - w * w * (3 - 2 * w), slope = -6 * w * (1 - w);
    const double by_grid = -slope / room,
                 by_anode = slope * (cut_off_share * excess / room - p[converter::swing]) / room;
    i[2] = k * c.value * share + leak * v[2];
    g[2 * columns + 2] = k * (c.slope * share + c.value * by_anode) * anode.slope + leak;
    g[2 * columns + 3] = k * c.value * by_grid;
    oscillator_grid(p, v[3], anode, columns, 3, 2, i, g);
}

void pentagrid_law(const double* p, const double* v, double* i, double* g) {
    constexpr int columns = 4;
    const Soft screen = soft(v[1], plate_width);
    mixer(p, v[0], v[1], v[3], columns, 3, screen, i, g);
    oscillator_grid(p, v[2], screen, columns, 2, 1, i, g);
}

/// The lower of two volts, softly: where a length of filament emits from.
Soft lower(double a, double b) {
    constexpr double width = 0.05;
    const Soft over = soft(a - b, width);
    return {a - over.value, over.slope, 0};  // slope: by b; by a it is the rest of 1
}

/// A law whose cathode is a filament. Each length of it emits from its negative end, the halves of a tapped one half of
/// the current each; what leaves through it enters evenly all along, as good as at its ends. Terminals after those of
/// the law: the other end, or its middle and the other end; the last is the end against which volts are given.
template <LawFunction inner, int count, int extra>
void on_filament(const double* p, const double* v, double* i, double* g) {
    constexpr int own = count - 1, columns = own + extra;
    constexpr double entering[2] = {0.5, 0.25};
    for (int k = 0; k < columns; ++k) i[k] = 0;
    for (int k = 0; k < columns * columns; ++k) g[k] = 0;
    for (int length = 0; length < extra; ++length) {
        const double near = length == 0 ? 0 : v[own], far = v[own + length];
        const Soft end = lower(near, far);
        double across[own], amps[own], gains[own * own];
        for (int k = 0; k < own; ++k) across[k] = v[k] - end.value;
        inner(p, across, amps, gains);
        for (int k = 0; k < own; ++k) {
            double sum = 0;
            for (int j = 0; j < own; ++j) {
                g[k * columns + j] += gains[k * own + j] / extra;
                sum += gains[k * own + j] / extra;
            }
            i[k] += amps[k] / extra;
            g[k * columns + own + length] -= sum * end.slope;
            if (length > 0) g[k * columns + own] -= sum * (1 - end.slope);
        }
    }
    for (int e = 0; e < extra; ++e)
        for (int k = 0; k < own; ++k) {
            i[own + e] -= entering[e] * i[k];
            for (int j = 0; j < columns; ++j) g[(own + e) * columns + j] -= entering[e] * g[k * columns + j];
        }
}

template <LawFunction inner, int count>
NamedLaw filament(int extra) {
    if (extra == 1) return {on_filament<inner, count, 1>, count + 1};
    if (extra == 2) return {on_filament<inner, count, 2>, count + 2};
    return {inner, count};
}

}  // namespace

NamedLaw filament_law(std::string_view name, int extra) {
    if (name == "signal-diode") return filament<signal_diode_law, 2>(extra);
    if (name == "triode") return filament<triode_law, 3>(extra);
    if (name == "pentode") return filament<pentode_law, 4>(extra);
    if (name == "pentagrid") return filament<pentagrid_law, 5>(extra);
    if (name == "converter") return filament<converter_law, 6>(extra);
    return {};
}

NamedLaw law(std::string_view name) {
    if (name == "vacuum-diode") return {vacuum_diode_law, 2};
    if (name == "gas-diode") return {gas_diode_law, 2};
    if (name == "signal-diode") return {signal_diode_law, 2};
    if (name == "triode") return {triode_law, 3};
    if (name == "pentode") return {pentode_law, 4};
    if (name == "converter") return {converter_law, 6};
    if (name == "pentagrid") return {pentagrid_law, 5};
    return {};
}

}  // namespace tubewright::tubes
