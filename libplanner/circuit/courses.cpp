// SPDX-License-Identifier: MIT
// From a kept waveform to the figures that are asked for: means and rms values with the integrator's own stage weights,
// so that charge and energy balance as the equations do; crests and troughs by a parabola through the samples. Tests:
// tests/circuit/periodic_test.cpp.
#include <algorithm>
#include <cmath>

#include "circuit/engine.hpp"

namespace tubewright::circuit {

namespace {

/// Samples at the inner stage and the end of each step.
struct Samples {
    std::vector<double> inner, end;
    std::vector<char> leaps;  ///< as Periodic::leaps
    explicit Samples(const Periodic& of) : inner(of.waveform.size()), end(inner.size()), leaps(of.leaps) {}

    /// The two stages of step k, weighed.
    double at(std::size_t k) const { return weighed(stage_of(leaps, k), inner[k], end[k]); }
    Samples times(const Samples& other) const {
        Samples product = *this;
        for (std::size_t k = 0; k < end.size(); ++k) {
            product.inner[k] *= other.inner[k];
            product.end[k] *= other.end[k];
        }
        return product;
    }
    /// Sum over the steps.
    double sum() const {
        double found = 0;
        for (std::size_t k = 0; k < end.size(); ++k) found += at(k);
        return found;
    }
};

/// The crest (sign 1) or trough (sign -1) of a course: a parabola through its samples where it is round there, the
/// sample itself where a leap or a kink stands beside it.
double extreme(const std::vector<double>& y, double sign) {
    const std::size_t n = y.size();
    double best = sign * y[0];
    for (std::size_t k = 0; k < n; ++k) best = std::max(best, sign * y[k]);
    if (n < 3) return sign * best;
    double found = best;
    const auto bend_at = [&](std::size_t k) { return sign * (y[(k + n - 1) % n] - 2 * y[k] + y[(k + 1) % n]); };
    for (std::size_t k = 0; k < n; ++k) {
        const double middle = sign * y[k];
        const double left = sign * y[(k + n - 1) % n], right = sign * y[(k + 1) % n];
        if (middle < left || middle < right) continue;
        const double bend = left - 2 * middle + right;
        if (!(bend < 0)) continue;
        // Away from a round crest a course falls ever faster; where it does not, a contact has made it leap.
        const double beyond_left = sign * y[(k + n - 2) % n], beyond_right = sign * y[(k + 2) % n];
        if (left < right ? left - beyond_left < 0.5 * (middle - left) : right - beyond_right < 0.5 * (middle - right))
            continue;
        // and where it runs straight on beside it, the crest is a corner
        if (std::abs(bend_at((k + n - 1) % n)) < 0.02 * -bend || std::abs(bend_at((k + 1) % n)) < 0.02 * -bend)
            continue;
        found = std::max(found, middle - (right - left) * (right - left) / (8 * bend));
    }
    return sign * found;
}

/// The same for volts, which do not stand anywhere for one sample alone: where a coil's current is cut off within a
/// step, its two stages put the volts of that step on both sides of the leap, and only their mean is true.
double extreme_volts(std::vector<double> y, double sign) {
    const std::size_t n = y.size();
    const auto [low, high] = std::minmax_element(y.begin(), y.end());
    const double alone = 0.2 * (*high - *low);
    if (n < 8 || alone < 1e-6) return extreme(y, sign);
    for (std::size_t k = 0; k < n; ++k) {
        const double beside = std::max(sign * y[(k + n - 1) % n], sign * y[(k + 1) % n]);
        if (sign * y[k] - beside > alone) y[k] = sign * beside;
    }
    return extreme(y, sign);
}

/// Whether the crest is a matter of the step: too few samples of its pulse, or the pulse begins (or ends) at its crest.
bool sharp_pulse(const std::vector<double>& y) {
    constexpr std::size_t fewest = 6;
    constexpr double part = 0.1, leap = 0.2, falls = 0.97;  // of the crest
    const std::size_t n = y.size();
    const auto top = std::max_element(y.begin(), y.end(), [](double a, double b) { return std::abs(a) < std::abs(b); });
    if (n < 2 * fewest || *top == 0) return false;
    const auto k = static_cast<std::size_t>(top - y.begin());
    const auto at = [&](std::size_t forward) { return y[(k + forward) % n] / *top; };
    std::size_t wide = 1;
    for (std::size_t j = 1; j < n && at(j) > part; ++j) ++wide;
    for (std::size_t j = n - 1; wide < n && at(j) > part; --j) ++wide;
    return wide < fewest || (at(n - 1) < leap && at(1) < falls) || (at(1) < leap && at(n - 1) < falls);
}

Course course_of(const Samples& samples) {
    Course course;
    const auto steps = static_cast<double>(samples.end.size());
    course.mean = samples.sum() / steps;
    course.rms = std::sqrt(samples.times(samples).sum() / steps);
    course.high = extreme(samples.end, 1);
    course.low = extreme(samples.end, -1);
    course.sharp = sharp_pulse(samples.end);
    return course;
}

double volts_at(const std::vector<double>& unknowns, Node node) {
    return node == ground ? 0.0 : unknowns[static_cast<std::size_t>(node) - 1];
}

/// Amperes into a terminal at one instant; capacitors apart.
double amps_at(const Circuit::Data& data, const Part& part, const double* v, const std::vector<double>& unknowns,
               int terminal, double turn) {
    const auto branch = [&](int k) { return unknowns[static_cast<std::size_t>(data.branch_unknown(part.branch + k))]; };
    switch (part.kind) {
        case Kind::resistor:
            return siemens_of(v[at::ohms]) * (volts_at(unknowns, part.nodes[0]) - volts_at(unknowns, part.nodes[1]));
        case Kind::conductance:
            return bounded_siemens(v[at::siemens]) *
                   (volts_at(unknowns, part.nodes[0]) - volts_at(unknowns, part.nodes[1]));
        case Kind::capacitor:
            return bounded_siemens(v[at::leak]) *
                   (volts_at(unknowns, part.nodes[0]) - volts_at(unknowns, part.nodes[1]));
        case Kind::inductor:
        case Kind::voltage_source:
            return branch(0);
        case Kind::current_source:
            return v[at::direct];
        case Kind::transformer:
            return branch(terminal);
        case Kind::device: {
            double volts[8] = {}, amps[8] = {}, gains[64] = {};
            const int last = part.law.terminals - 1;
            for (int k = 0; k < last; ++k)
                volts[k] = volts_at(unknowns, part.nodes[static_cast<std::size_t>(k)]) -
                           volts_at(unknowns, part.nodes[static_cast<std::size_t>(last)]);
            evaluate(part, v, turn, volts, amps, gains);
            if (terminal < last) return amps[terminal] + device_shunt * volts[terminal];
            double sum = 0;
            for (int k = 0; k < last; ++k) sum += amps[k] + device_shunt * volts[k];
            return -sum;
        }
    }
    return 0;
}

double state_at(const Circuit::Data& data, const Part& part, const std::vector<double>& unknowns) {
    if (part.kind == Kind::capacitor) return volts_at(unknowns, part.nodes[0]) - volts_at(unknowns, part.nodes[1]);
    const int branch = part.kind == Kind::transformer ? part.branches - 1 : 0;
    return unknowns[static_cast<std::size_t>(data.branch_unknown(part.branch + branch))];
}

/// The rate of change of a part's state at the stages, as the integrator has it.
Samples slope(const Circuit::Data& data, const Part& part, const Periodic& solution) {
    Samples samples(solution);
    const double usual = solution.steps_per_period / solution.period_seconds;
    if (!solution.smooth.empty() && solution.smooth[static_cast<std::size_t>(part.state)] && samples.end.size() > 4) {
        // Known at its instants without steps between: fourth-order differences of each row of samples.
        const std::size_t n = samples.end.size();
        Samples value(solution);
        for (std::size_t k = 0; k < n; ++k) {
            value.inner[k] = state_at(data, part, solution.inner[k]);
            value.end[k] = state_at(data, part, solution.waveform[k]);
        }
        const double twelfth = static_cast<double>(n) / (12 * solution.period_seconds);
        const auto difference = [&](const std::vector<double>& y, std::size_t k) {
            return (8 * (y[(k + 1) % n] - y[(k + n - 1) % n]) - (y[(k + 2) % n] - y[(k + n - 2) % n])) * twelfth;
        };
        for (std::size_t k = 0; k < n; ++k) {
            samples.inner[k] = difference(value.inner, k);
            samples.end[k] = difference(value.end, k);
        }
        return samples;
    }
    double before = solution.state[static_cast<std::size_t>(part.state)];
    for (std::size_t k = 0; k < samples.end.size(); ++k) {
        const double inner = state_at(data, part, solution.inner[k]);
        const double end = state_at(data, part, solution.waveform[k]);
        const double share = stage_of(solution.leaps, k), rate = usual / share;
        samples.inner[k] = (inner - before) * rate;
        samples.end[k] = (end - (before + (1 - share) / share * (inner - before))) * rate;
        before = end;
    }
    return samples;
}

Samples current_samples(const Circuit::Data& data, const std::vector<double>& numbers, const Periodic& solution,
                        const Part& part, int terminal) {
    const double* v = numbers.data() + part.value;
    Samples samples = part.kind == Kind::capacitor ? slope(data, part, solution) : Samples(solution);
    const double farads = part.kind == Kind::capacitor ? v[at::farads] : 0;
    for (std::size_t k = 0; k < samples.end.size(); ++k) {
        const auto turn = [&](double within) {
            return (static_cast<double>(k) + within) / static_cast<double>(samples.end.size());
        };
        samples.inner[k] = farads * samples.inner[k] +
                           amps_at(data, part, v, solution.inner[k], terminal, turn(stage_of(solution.leaps, k)));
        samples.end[k] = farads * samples.end[k] + amps_at(data, part, v, solution.waveform[k], terminal, turn(1));
    }
    // A current counts into the second node of a two-ended part with the other sign.
    if (terminal == 1 && part.kind != Kind::transformer && part.kind != Kind::device)
        for (std::size_t k = 0; k < samples.end.size(); ++k) {
            samples.inner[k] = -samples.inner[k];
            samples.end[k] = -samples.end[k];
        }
    return samples;
}

double weighted(const Samples& samples) {
    return samples.sum() / static_cast<double>(samples.end.size());
}

double mean_product(const Samples& one, const Samples& other) {
    return weighted(one.times(other));
}

Samples between(const Periodic& solution, Node a, Node b) {
    Samples samples(solution);
    for (std::size_t k = 0; k < samples.end.size(); ++k) {
        samples.inner[k] = volts_at(solution.inner[k], a) - volts_at(solution.inner[k], b);
        samples.end[k] = volts_at(solution.waveform[k], a) - volts_at(solution.waveform[k], b);
    }
    return samples;
}

}  // namespace

void conducting(const Circuit::Data& data, const std::vector<double>& numbers, const std::vector<double>& unknowns,
                double turn, std::vector<std::pair<Node, Node>>& joins, double least) {
    for (const Part& part : data.parts) {
        if (part.kind != Kind::device) continue;
        double volts[8] = {}, amps[8] = {}, gains[64] = {};
        const int last = part.law.terminals - 1;
        const Node common = part.nodes[static_cast<std::size_t>(last)];
        for (int k = 0; k < last; ++k)
            volts[k] = volts_at(unknowns, part.nodes[static_cast<std::size_t>(k)]) - volts_at(unknowns, common);
        evaluate(part, numbers.data() + part.value, turn, volts, amps, gains);
        for (int k = 0; k < last; ++k)
            if (std::abs(gains[k * last + k]) > least)
                joins.emplace_back(part.nodes[static_cast<std::size_t>(k)], common);
    }
}

void summarise(const Circuit::Data& data, const std::vector<double>& numbers, Periodic& solution) {
    const std::size_t unknowns = static_cast<std::size_t>(data.unknowns());
    const std::size_t nodes = data.names.size();
    const std::size_t steps = solution.waveform.size();
    solution.means.assign(unknowns, 0);
    std::vector<double> squares(nodes, 0);
    for (std::size_t k = 0; k < steps; ++k) {
        const double* inner = solution.inner[k].data();
        const double* end = solution.waveform[k].data();
        const double share = stage_of(solution.leaps, k);
        for (std::size_t u = 0; u < unknowns; ++u) solution.means[u] += weighed(share, inner[u], end[u]);
        for (std::size_t u = 0; u + 1 < nodes; ++u)
            squares[u + 1] += weighed(share, inner[u] * inner[u], end[u] * end[u]);
    }
    for (double& mean : solution.means) mean /= static_cast<double>(steps);
    solution.volts.assign(nodes, Course{});
    std::vector<double> samples(steps);
    for (std::size_t node = 1; node < nodes; ++node) {
        Course& course = solution.volts[node];
        for (std::size_t k = 0; k < steps; ++k) samples[k] = solution.waveform[k][node - 1];
        course.mean = solution.means[node - 1];
        course.rms = std::sqrt(squares[node] / static_cast<double>(steps));
        course.high = extreme_volts(samples, 1);
        course.low = extreme_volts(samples, -1);
    }

    // What the sources give against what the reactances keep: the rest is lost in ohms, by Kirchhoff's laws.
    double given = 0, kept = 0, stray = 0, largest = 0;
    for (const Part& part : data.parts) {
        const double* v = numbers.data() + part.value;
        if (part.kind == Kind::voltage_source || part.kind == Kind::current_source) {
            const Samples volts = between(solution, part.nodes[0], part.nodes[1]);
            const Samples amps = current_samples(data, numbers, solution, part, 0);
            largest = std::max(largest, std::abs(weighted(amps)));
            for (const double one : amps.end) largest = std::max(largest, 1e-3 * std::abs(one));
            given -= mean_product(amps, volts);
        } else if (part.state >= 0) {
            const int value = part.kind == Kind::transformer ? at::magnetising : 0;
            if (part.kind == Kind::transformer && endless(v[value])) continue;
            Samples rate = slope(data, part, solution);
            if (part.kind == Kind::capacitor) stray = std::max(stray, std::abs(v[value] * weighted(rate)));
            for (std::size_t k = 0; k < steps; ++k) {
                rate.inner[k] *= v[value] * state_at(data, part, solution.inner[k]);
                rate.end[k] *= v[value] * state_at(data, part, solution.waveform[k]);
            }
            kept += weighted(rate);
        }
    }
    solution.energy_balance = given != 0 ? kept / given : 0;
    solution.charge_balance = largest > 0 ? stray / largest : stray;
}

bool Balance::energy_holds() const {
    constexpr double share = 1e-6, stage_amps = 1e-10;  // of all nodes together
    return std::abs(given - taken) <= share * moved + stage_amps * volts;
}

bool Balance::charge_holds() const {
    constexpr double share = 1e-9, stage_amps = 1e-11;  // a stage counts as solved when its currents sum to the latter
    return stray <= share * largest + stage_amps;
}

Balance balance_of(const Circuit::Data& data, const std::vector<double>& numbers, const Periodic& solution) {
    Balance out;
    for (const Part& part : data.parts) {
        const bool source = part.kind == Kind::voltage_source || part.kind == Kind::current_source;
        const auto passes = [&](int terminal, Node a, Node b) {
            const Samples amps = current_samples(data, numbers, solution, part, terminal);
            Samples watts = between(solution, a, b).times(amps);
            if (source || part.kind == Kind::device) out.largest = std::max(out.largest, std::abs(weighted(amps)));
            if (!source) {
                out.taken += weighted(watts);
                return;
            }
            out.given -= weighted(watts);
            for (const Samples& across = between(solution, a, b); const double v : across.end)
                out.volts = std::max(out.volts, std::abs(v));
            for (std::size_t k = 0; k < watts.end.size(); ++k) {
                watts.inner[k] = std::abs(watts.inner[k]);
                watts.end[k] = std::abs(watts.end[k]);
            }
            out.moved += weighted(watts);
        };
        if (part.kind == Kind::transformer)
            for (std::size_t w = 0; w < part.turns.size(); ++w)
                passes(static_cast<int>(w), part.nodes[2 * w], part.nodes[2 * w + 1]);
        else if (part.kind == Kind::device)
            for (std::size_t k = 0; k + 1 < part.nodes.size(); ++k)
                passes(static_cast<int>(k), part.nodes[k], part.nodes.back());
        else
            passes(0, part.nodes[0], part.nodes[1]);
        if (part.kind == Kind::capacitor)
            out.stray = std::max(out.stray, std::abs(numbers[static_cast<std::size_t>(part.value + at::farads)] *
                                                     weighted(slope(data, part, solution))));
    }
    return out;
}

Course Engine::current(const Periodic& solution, Element element, int terminal,
                       std::span<const Override> overrides) const {
    if (!solution.solved) return {};
    std::vector<double> numbers;
    apply(state_->data(), overrides, numbers);
    return course_of(current_samples(state_->data(), numbers, solution,
                                     state_->data().parts.at(static_cast<std::size_t>(element)), terminal));
}

Course Engine::current_at_tap(const Periodic& solution, Element transformer, int first, int second,
                              std::span<const Override> overrides) const {
    if (!solution.solved) return {};
    std::vector<double> numbers;
    apply(state_->data(), overrides, numbers);
    const Part& part = state_->data().parts.at(static_cast<std::size_t>(transformer));
    Samples in = current_samples(state_->data(), numbers, solution, part, second);
    const Samples out = current_samples(state_->data(), numbers, solution, part, first);
    for (std::size_t k = 0; k < in.end.size(); ++k) {
        in.inner[k] -= out.inner[k];
        in.end[k] -= out.end[k];
    }
    return course_of(in);
}

double Engine::current(const Operating& solution, Element element, int terminal,
                       std::span<const Override> overrides) const {
    if (!solution.solved) return 0;
    std::vector<double> numbers;
    apply(state_->data(), overrides, numbers);
    const Part& part = state_->data().parts.at(static_cast<std::size_t>(element));
    const double amps = amps_at(state_->data(), part, numbers.data() + part.value, solution.unknowns, terminal, -1);
    return terminal == 1 && part.kind != Kind::transformer && part.kind != Kind::device ? -amps : amps;
}

Course Engine::volts_between(const Periodic& solution, Node a, Node b) const {
    if (!solution.solved) return {};
    const Samples volts = between(solution, a, b);
    Course course = course_of(volts);
    course.high = extreme_volts(volts.end, 1);
    course.low = extreme_volts(volts.end, -1);
    return course;
}

double Engine::watts(const Periodic& solution, Element element, std::span<const Override> overrides) const {
    if (!solution.solved) return 0;
    const Circuit::Data& data = state_->data();
    std::vector<double> numbers;
    apply(data, overrides, numbers);
    const Part& part = data.parts.at(static_cast<std::size_t>(element));
    double sum = 0;
    const auto add = [&](int terminal, Node a, Node b) {
        sum += mean_product(between(solution, a, b), current_samples(data, numbers, solution, part, terminal));
    };
    if (part.kind == Kind::transformer)
        for (std::size_t w = 0; w < part.turns.size(); ++w)
            add(static_cast<int>(w), part.nodes[2 * w], part.nodes[2 * w + 1]);
    else if (part.kind == Kind::device)
        for (std::size_t k = 0; k + 1 < part.nodes.size(); ++k)
            add(static_cast<int>(k), part.nodes[k], part.nodes.back());
    else
        add(0, part.nodes[0], part.nodes[1]);
    return sum;
}

double Engine::watts(const Periodic& solution, Element element, int terminal,
                     std::span<const Override> overrides) const {
    if (!solution.solved) return 0;
    std::vector<double> numbers;
    apply(state_->data(), overrides, numbers);
    const Part& part = state_->data().parts.at(static_cast<std::size_t>(element));
    return mean_product(between(solution, part.nodes.at(static_cast<std::size_t>(terminal)), part.nodes.back()),
                        current_samples(state_->data(), numbers, solution, part, terminal));
}

}  // namespace tubewright::circuit
