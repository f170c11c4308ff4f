// SPDX-License-Identifier: MIT
// The door of the module: operating points, periodic solutions, sensitivities and small signals. See circuit.hpp.
#include "circuit/engine.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <cstdio>
#include <numbers>
#include <stdexcept>
#include <utility>

#include "circuit/islands.hpp"

namespace tubewright::circuit {

namespace {

/// Checks the graph; with ties on, fills the nodes to be held and those undetermined.
Trouble prepare(Engine::State& state, std::span<const Override> overrides, std::vector<Node>& tied,
                std::vector<Node>& undetermined) {
    apply(state.data(), overrides, state.numbers);
    Trouble trouble = examine(state.data(), state.numbers, state.tie);
    if (trouble.kind == Trouble::Kind::none && state.tie)
        for (const auto& group : islands(state.data(), state.numbers, false)) {
            tied.push_back(group.front());
            undetermined.insert(undetermined.end(), group.begin(), group.end());
        }
    std::sort(undetermined.begin(), undetermined.end());
    return trouble;
}

/// Joins of the devices that conduct at some instant of a course.
std::vector<std::pair<Node, Node>> conducting(const Engine::State& state,
                                              const std::vector<std::vector<double>>& course, double least) {
    std::vector<std::pair<Node, Node>> joins;
    for (std::size_t k = 0; k < course.size(); ++k) {
        const double turn = course.size() < 2 ? -1 : static_cast<double>(k + 1) / static_cast<double>(course.size());
        conducting(state.data(), state.numbers, course[k], turn, joins, least);
    }
    return joins;
}

/// Islands that only a cut-off device joins to the rest, judged by the devices that conduct at the given unknowns.
Trouble cut_off(Engine::State& state, const std::vector<std::vector<double>>& course, std::vector<Node>& undetermined) {
    if (islands(state.data(), state.numbers, true).empty()) return {};
    const std::vector<std::pair<Node, Node>> joins = conducting(state, course, least_path_siemens);
    const auto groups = islands(state.data(), state.numbers, joins);
    if (!state.tie) return floating(state.data(), groups);
    for (const auto& group : groups) undetermined.insert(undetermined.end(), group.begin(), group.end());
    std::sort(undetermined.begin(), undetermined.end());
    undetermined.erase(std::unique(undetermined.begin(), undetermined.end()), undetermined.end());
    return {};
}

Trouble not_solved(const Circuit::Data& data, const Solver& solver, const char* what) {
    Trouble trouble;
    const int stuck = solver.singular_unknown;
    trouble.kind = stuck >= 0 ? Trouble::Kind::singular : Trouble::Kind::not_converged;
    int row = 0;
    if (stuck >= 0)
        row = stuck;
    else
        solver.residual(&row);
    const int full = solver.wiring().full.empty() ? -1 : solver.wiring().full[static_cast<std::size_t>(row)];
    trouble.text = stuck >= 0 ? "the equations have no single solution" : what;
    if (full >= 0 && full + 1 < static_cast<int>(data.names.size())) {
        trouble.nodes.push_back(full + 1);
        trouble.text += ", at " + data.names[static_cast<std::size_t>(full) + 1];
    } else if (full >= 0) {
        const int branch = full + 1 - static_cast<int>(data.names.size());
        for (std::size_t k = 0; k < data.parts.size(); ++k)
            if (branch >= data.parts[k].branch && branch < data.parts[k].branch + data.parts[k].branches) {
                trouble.elements.push_back(static_cast<Element>(k));
                trouble.nodes = data.parts[k].nodes;
            }
    }
    return trouble;
}

Trouble off_beat(const Circuit::Data& data, const std::vector<double>& numbers, double hertz) {
    Trouble trouble;
    for (std::size_t k = 0; k < data.parts.size(); ++k) {
        const Part& part = data.parts[k];
        if (part.kind != Kind::voltage_source || numbers[static_cast<std::size_t>(part.value + at::amplitude)] == 0)
            continue;
        const double ratio = part.waveform.hertz / hertz;
        if (hertz > 0 && std::abs(ratio - std::round(ratio)) < 1e-9) continue;
        trouble.kind = Trouble::Kind::not_converged;
        trouble.elements.push_back(static_cast<Element>(k));
        trouble.nodes = part.nodes;
        trouble.text = "a source whose frequency is no multiple of the period's";
    }
    return trouble;
}

bool stands_still(const Circuit::Data& data, const std::vector<double>& numbers) {
    return std::none_of(data.parts.begin(), data.parts.end(), [&](const Part& part) {
        return part.swings || (part.kind == Kind::voltage_source && part.waveform.hertz > 0 &&
                               numbers[static_cast<std::size_t>(part.value + at::amplitude)] != 0);
    });
}

/// The operating point as a period in which nothing moves. False: none was found.
bool still(Engine::State& state, const PeriodicOptions& options, const std::vector<Node>& tied, Periodic& out) {
    const Circuit::Data& data = state.data();
    Solver& solver = *state.whole;
    const auto n = static_cast<std::size_t>(solver.n());
    solver.values(state.numbers.data(), 0, tied);
    solver.assemble(0);
    std::vector<double> x(n + 1, 0);
    if (options.warm != nullptr && options.warm->solved && options.warm->means.size() == n)
        std::copy(options.warm->means.begin(), options.warm->means.end(), x.begin());
    out.method = solver.robust(x, [&](double scale) { solver.instant(0, nullptr, nullptr, scale); });
    if (out.method == Method::none) {
        out = Periodic{};
        return false;
    }
    int row = 0;
    out.worst_residual_amps = solver.residual(&row);
    out.worst_node = row + 1;
    out.stage_iterations = solver.iterations;
    out.steps_per_period = std::max(options.steps, 8);
    out.period_seconds = 1 / options.hertz;
    x.pop_back();
    out.waveform.assign(static_cast<std::size_t>(out.steps_per_period), x);
    out.inner = out.waveform;
    const auto volts = [&](int local) {
        return static_cast<std::size_t>(local) == n ? 0.0 : x[static_cast<std::size_t>(local)];
    };
    out.state.assign(static_cast<std::size_t>(data.states), 0);
    for (const Wiring::State& s : solver.wiring().states)
        out.state[static_cast<std::size_t>(s.full)] = volts(s.plus) - volts(s.minus);
    summarise(data, state.numbers, out);
    return true;
}

void keep(const Wiring& whole, const Period& period, Periodic& out) {
    const auto n = static_cast<std::size_t>(whole.n);
    const auto steps = static_cast<std::size_t>(period.steps);
    out.waveform.resize(steps);
    out.inner.resize(steps);
    out.leaps = period.leaps;
    for (std::size_t k = 0; k < steps; ++k) {
        out.waveform[k].assign(period.ends.begin() + static_cast<std::ptrdiff_t>(k * n),
                               period.ends.begin() + static_cast<std::ptrdiff_t>((k + 1) * n));
        out.inner[k].assign(period.inners.begin() + static_cast<std::ptrdiff_t>(k * n),
                            period.inners.begin() + static_cast<std::ptrdiff_t>((k + 1) * n));
    }
    out.state.assign(whole.data->states > 0 ? static_cast<std::size_t>(whole.data->states) : 0, 0);
    for (std::size_t s = 0; s < whole.states.size(); ++s)
        out.state[static_cast<std::size_t>(whole.states[s].full)] = period.start[s];
}

/// A former waveform as a first guess of the course.
void recall(const Wiring& whole, const Periodic& warm, int steps, Period& period) {
    const auto n = static_cast<std::size_t>(whole.n);
    if (static_cast<int>(warm.waveform.size()) != steps || warm.inner.size() != warm.waveform.size()) return;
    for (const auto& sample : warm.waveform)
        if (sample.size() != n) return;
    period.steps = steps;
    for (const auto& sample : warm.waveform) period.ends.insert(period.ends.end(), sample.begin(), sample.end());
    for (const auto& sample : warm.inner) period.inners.insert(period.inners.end(), sample.begin(), sample.end());
}

#ifdef TUBEWRIGHT_HOLD_BALANCES
/// The contract of every periodic solution, held in builds for tests. A course of means alone (two-level without
/// ripple) has no power of its own to hold.
void hold(const Circuit::Data& data, const std::vector<double>& numbers, const PeriodicOptions& options,
          const Periodic& solution) {
    const Balance balance = balance_of(data, numbers, solution);
    const bool means_alone = solution.method == Method::two_level && !options.ripple;
    char text[200];
    std::snprintf(text, sizeof text,
                  "a %s solution of %d steps does not balance: %.3g A through a capacitor (largest %.3g A), %.3g W "
                  "given, %.3g W off",
                  word(solution.method), solution.steps_per_period, balance.stray, balance.largest, balance.given,
                  balance.given - balance.taken);
    if (!balance.charge_holds() || !(means_alone || balance.energy_holds())) throw std::logic_error(text);
}
#endif

}  // namespace

Engine::Engine(const Circuit& circuit) : state_(std::make_unique<State>()) {
    auto plan = std::make_shared<Plan>();
    plan->data = std::make_shared<const Circuit::Data>(circuit.data());
    plan->whole = std::make_shared<const Wiring>(plan->data, std::vector<char>(plan->data->parts.size(), 1),
                                                 Ports::none, std::vector<Node>{});
    state_->plan = std::move(plan);
    state_->whole = std::make_unique<Solver>(state_->plan->whole);
}

Engine::Engine(const Engine& other) : state_(std::make_unique<State>()) {
    state_->plan = other.state_->plan;
    state_->tie = other.state_->tie;
    state_->whole = std::make_unique<Solver>(state_->plan->whole);
}

Engine::Engine(Engine&&) noexcept = default;
Engine::~Engine() = default;

void Engine::tie_islands(bool on) {
    state_->tie = on;
}

Operating Engine::operating(std::span<const Override> overrides, const Operating* warm) {
    Operating out;
    const Circuit::Data& data = state_->data();
    std::vector<Node> tied;
    out.trouble = prepare(*state_, overrides, tied, out.undetermined);
    if (out.trouble.kind != Trouble::Kind::none) return out;
    Solver& solver = *state_->whole;
    const auto n = static_cast<std::size_t>(solver.n());
    solver.values(state_->numbers.data(), 0, tied);
    solver.assemble(0);
    std::vector<double> x(n + 1, 0);
    if (warm != nullptr && warm->solved && warm->unknowns.size() == n)
        std::copy(warm->unknowns.begin(), warm->unknowns.end(), x.begin());
    const Method method = solver.robust(x, [&](double scale) { solver.instant(0, nullptr, nullptr, scale); });
    out.iterations = solver.iterations;
    int row = 0;
    out.worst_residual_amps = solver.residual(&row);
    out.worst_node = row + 1;
    if (method == Method::none) {
        out.trouble = not_solved(data, solver, "no operating point found");
        return out;
    }
    std::vector<std::vector<double>> point(1,
                                           std::vector<double>(x.begin(), x.begin() + static_cast<std::ptrdiff_t>(n)));
    out.trouble = cut_off(*state_, point, out.undetermined);
    if (out.trouble.kind != Trouble::Kind::none) return out;
    out.unknowns = std::move(point[0]);
    out.method = method;
    out.solved = true;
    return out;
}

Periodic Engine::periodic(const PeriodicOptions& options, std::span<const Override> overrides) {
    Periodic out;
    const Circuit::Data& data = state_->data();
    std::vector<Node> tied, undetermined;
    out.trouble = prepare(*state_, overrides, tied, undetermined);
    if (out.trouble.kind == Trouble::Kind::none) out.trouble = off_beat(data, state_->numbers, options.hertz);
    if (out.trouble.kind != Trouble::Kind::none) return out;

    const Wiring& whole = *state_->plan->whole;
    std::vector<double> start;
    if (options.warm != nullptr && options.warm->solved &&
        options.warm->state.size() == static_cast<std::size_t>(data.states))
        start = options.warm->state;
    bool warm = !start.empty();
    if (stands_still(data, state_->numbers) && still(*state_, options, tied, out)) {
        // nothing moves it: it rests at its operating point, and shooting might find it at any period that it makes
    } else if (!options.two_level || !two_level(*state_, options, tied, out, start)) {
        warm = warm || !start.empty();
        if (start.empty()) start.assign(static_cast<std::size_t>(data.states), 0);
        out = Periodic{};
        Solver& solver = *state_->whole;
        solver.values(state_->numbers.data(), options.hertz, tied);
        const int steps = std::max(options.steps, 8);
        out.period_seconds = 1 / options.hertz;
        out.steps_per_period = steps;
        Period period;
        if (warm && options.warm != nullptr) recall(whole, *options.warm, steps, period);
        std::vector<double> own(whole.states.size());
        for (std::size_t s = 0; s < own.size(); ++s) own[s] = start[static_cast<std::size_t>(whole.states[s].full)];
        out.rounds = shoot(solver, out.period_seconds, steps, own, !warm, period);
        if (!period.solved && warm) {
            period = Period{};
            solver.values(state_->numbers.data(), options.hertz, tied);
            std::fill(own.begin(), own.end(), 0.0);
            out.rounds += shoot(solver, out.period_seconds, steps, own, true, period);
        }
        if (!period.solved) {
            out.trouble = not_solved(data, solver, "no periodic steady state found");
            return out;
        }
        out.period_error_volts = period_error(whole, period);
        out.worst_residual_amps = period.residual;
        out.worst_node = period.residual_row + 1;
        out.stage_iterations = period.iterations;
        out.method = Method::shooting;
        keep(whole, period, out);
        summarise(data, state_->numbers, out);
    }
    out.undetermined = std::move(undetermined);
    out.trouble = cut_off(*state_, out.waveform, out.undetermined);
    if (out.trouble.kind != Trouble::Kind::none) {
        Trouble trouble = std::move(out.trouble);
        out = Periodic{};
        out.trouble = std::move(trouble);
        return out;
    }
    out.solved = true;
#ifdef TUBEWRIGHT_HOLD_BALANCES
    hold(data, state_->numbers, options, out);
#endif
    return out;
}

std::vector<Node> Engine::unheld(const Periodic& solution, double least_siemens, std::span<const Override> overrides) {
    std::vector<Node> out;
    if (!solution.solved) return out;
    apply(state_->data(), overrides, state_->numbers);
    const auto joins = conducting(*state_, solution.waveform, least_siemens);
    for (const auto& group : islands(state_->data(), state_->numbers, joins, least_siemens))
        out.insert(out.end(), group.begin(), group.end());
    std::sort(out.begin(), out.end());
    return out;
}

namespace {

/// d F / d value of one part at unknowns x (n + 1 numbers): add(row, slope) for each row of F that it moves, in units
/// of the whole circuit's unknowns (n: the reference).
template <class Add>
void residual_slopes(const Circuit::Data& data, const std::vector<double>& numbers, const Override& of, double turn,
                     const double* x, const Add& add) {
    const Part& part = data.parts.at(static_cast<std::size_t>(of.element));
    const double* v = numbers.data() + part.value;
    const int offset = value_index(data, of) - part.value, reference = data.unknowns();
    const auto row = [&](int branch) { return data.branch_unknown(part.branch + branch); };
    const auto at_node = [&](Node k) { return k == ground ? reference : k - 1; };
    const auto volts = [&](Node k) { return k == ground ? 0.0 : x[k - 1]; };
    const auto amps = [&](double slope) {  // from the first node to the second
        add(at_node(part.nodes[0]), slope);
        add(at_node(part.nodes[1]), -slope);
    };
    const double across = part.nodes.size() >= 2 ? volts(part.nodes[0]) - volts(part.nodes[1]) : 0;
    switch (part.kind) {
        case Kind::resistor: {
            const double g = siemens_of(v[at::ohms]);
            if (v[at::ohms] > least_ohms) amps(-g * g * across);
            break;
        }
        case Kind::conductance:
            amps(across);
            break;
        case Kind::capacitor:
            if (offset == at::leak) amps(across);
            break;
        case Kind::inductor:
            if (offset == at::series) add(row(0), -x[row(0)]);
            break;
        case Kind::voltage_source:
            if (offset == at::direct) add(row(0), -1);
            if (offset == at::amplitude) {
                const double unit[2] = {0, 1};
                add(row(0), -source_value(part.waveform, unit, part.waveform.hertz, turn));
            }
            break;
        case Kind::current_source:
            amps(1);
            break;
        case Kind::transformer:
            if (offset >= at::copper) add(row(offset - at::copper), -x[row(offset - at::copper)]);
            break;
        case Kind::device: {
            // The law is opaque: a central difference of its currents alone, at fixed volts.
            const Node common = part.nodes.back();
            const int last = part.law.terminals - 1;
            double across_device[8] = {}, up[8] = {}, down[8] = {}, gains[64] = {};
            for (int t = 0; t < last; ++t)
                across_device[t] = volts(part.nodes[static_cast<std::size_t>(t)]) - volts(common);
            const int next = of.element + 1;
            const int end = next < static_cast<int>(data.parts.size())
                                ? data.parts[static_cast<std::size_t>(next)].value
                                : static_cast<int>(data.values.size());
            std::vector<double> p(numbers.begin() + part.value, numbers.begin() + end);
            double& moved = p[static_cast<std::size_t>(offset)];
            const double centre = moved, stride = 1e-5 * std::max(std::abs(centre), 1e-9);
            moved = centre + stride;
            evaluate(part, p.data(), turn, across_device, up, gains);
            moved = centre - stride;
            evaluate(part, p.data(), turn, across_device, down, gains);
            for (int t = 0; t < last; ++t) {
                const double slope = (up[t] - down[t]) / (2 * stride);
                add(at_node(part.nodes[static_cast<std::size_t>(t)]), slope);
                add(at_node(common), -slope);
            }
            break;
        }
    }
}

/// The whole network's solver with nothing moving, for small changes about these unknowns (`x`, with the reference);
/// nullptr where they are none of it.
Solver* resting(Engine::State& state, std::span<const Override> overrides, const std::vector<double>& unknowns,
                std::vector<double>& x) {
    std::vector<Node> tied, undetermined;
    if (prepare(state, overrides, tied, undetermined).kind != Trouble::Kind::none) return nullptr;
    Solver& solver = *state.whole;
    solver.values(state.numbers.data(), 0, tied);
    solver.assemble(0);
    solver.instant(0, nullptr, nullptr);
    x = unknowns;
    x.push_back(0);
    return x.size() == static_cast<std::size_t>(solver.n()) + 1 ? &solver : nullptr;
}

}  // namespace

bool Engine::lasts(const Operating& at_point, std::span<const Override> overrides) {
    std::vector<double> x;
    Solver* const at_rest = at_point.solved ? resting(*state_, overrides, at_point.unknowns, x) : nullptr;
    if (at_rest == nullptr || !at_rest->linearise(x)) return true;
    Solver& solver = *at_rest;
    const int sign = solver.determinant_sign();
    return !solver.linearise_passive() || solver.determinant_sign() == sign;
}

Engine::Growing Engine::growing(const Periodic& at_means, double rectifier_siemens,
                                std::span<const Override> overrides) {
    // hertz: rails that nothing feeds creep for hours, and at the end capacitors alone are left
    constexpr double lowest = 1e-9, highest = 1e10;
    constexpr int first_points = 58, most_points = 1000;
    constexpr double fine_turn = 1;  // radians from point to point, so that none is missed
    std::vector<double> x;
    Solver* const at_rest = at_means.solved ? resting(*state_, overrides, at_means.means, x) : nullptr;
    if (at_rest == nullptr) return {};
    Solver& solver = *at_rest;

    struct Point {
        double hertz, angle = 0;  // of the two determinants' ratio
        bool known = false;
    };
    std::vector<Point> points;
    for (int k = 0; k < first_points; ++k)
        points.push_back({lowest * std::pow(highest / lowest, k / (first_points - 1.0))});
    const auto turn = [](double from, double to) { return std::remainder(to - from, 2 * std::numbers::pi); };
    for (bool more = true; more;) {
        if (!solver.linearise(x)) return {};
        solver.hold_rectifiers(rectifier_siemens);
        for (Point& p : points)
            if (!p.known) {
                if (!solver.linearise_at(p.hertz)) return {};
                p.angle = solver.determinant_angle();
            }
        solver.make_passive();
        solver.hold_rectifiers(rectifier_siemens);
        for (Point& p : points)
            if (!p.known) {
                if (!solver.linearise_at(p.hertz)) return {};
                p.angle -= solver.determinant_angle();
                p.known = true;
            }
        std::vector<Point> finer;
        for (std::size_t k = 0; k < points.size(); ++k) {
            finer.push_back(points[k]);
            if (k + 1 < points.size() && std::abs(turn(points[k].angle, points[k + 1].angle)) > fine_turn)
                finer.push_back({std::sqrt(points[k].hertz * points[k + 1].hertz)});
        }
        more = finer.size() > points.size() && finer.size() < most_points;
        if (more) points = std::move(finer);
    }
    double sum = 0;
    for (std::size_t k = 0; k + 1 < points.size(); ++k) {
        const double step = turn(points[k].angle, points[k + 1].angle);
        if (std::abs(step) > fine_turn) return {};  // too many to follow
        sum += step;
    }
    Growing found;
    found.modes = std::max(0, static_cast<int>(std::lround(-sum / std::numbers::pi)));
    if (found.modes == 0) return found;
    double turned = 0;  // half of the way
    for (std::size_t k = 0; k + 1 < points.size(); ++k) {
        turned += turn(points[k].angle, points[k + 1].angle);
        found.hertz = points[k + 1].hertz;
        if (turned < 0.5 * sum) break;
    }
    return found;
}

std::vector<std::vector<double>> Engine::sensitivities(const Operating& at_point, std::span<const Node> nodes,
                                                       std::span<const Override> of,
                                                       std::span<const Override> overrides) {
    const Circuit::Data& data = state_->data();
    std::vector<std::vector<double>> found(nodes.size());
    std::vector<Node> tied, undetermined;
    if (!at_point.solved || prepare(*state_, overrides, tied, undetermined).kind != Trouble::Kind::none) return found;
    Solver& solver = *state_->whole;
    const auto n = static_cast<std::size_t>(solver.n());
    solver.values(state_->numbers.data(), 0, tied);
    solver.assemble(0);
    solver.instant(0, nullptr, nullptr);
    std::vector<double> x(at_point.unknowns);
    x.push_back(0);
    if (x.size() != n + 1 || !solver.linearise(x)) return found;
    std::vector<std::vector<std::pair<int, double>>> slopes(of.size());
    for (std::size_t k = 0; k < of.size(); ++k)
        residual_slopes(data, state_->numbers, of[k], -1, x.data(),
                        [&](int row, double slope) { slopes[k].emplace_back(row, slope); });
    std::vector<double> y(n + 1);
    for (std::size_t node = 0; node < nodes.size(); ++node) {
        if (nodes[node] == ground) continue;
        // J' y = e(node); then d v(node) / d p = - y . dF/dp.
        std::fill(y.begin(), y.end(), 0.0);
        const auto own = static_cast<std::size_t>(nodes[node]) - 1;
        y[own] = 1;
        solver.solve_transposed(y.data());
        y[n] = 0;
        std::vector<double>& row = found[node];
        row.assign(of.size() + 1, 0);
        for (std::size_t k = 0; k < of.size(); ++k)
            for (const auto& [at, slope] : slopes[k]) row[k] -= y[static_cast<std::size_t>(at)] * slope;
        row.back() = y[own];
    }
    return found;
}

std::vector<double> Engine::sensitivities(const Operating& at_point, Node node, std::span<const Override> of,
                                          std::span<const Override> overrides) {
    std::vector<std::vector<double>> found = sensitivities(at_point, std::span(&node, 1), of, overrides);
    if (found.front().empty()) return std::vector<double>(of.size(), 0);
    found.front().pop_back();
    return std::move(found.front());
}

std::vector<std::vector<double>> Engine::mean_sensitivities(const Periodic& at_period, std::span<const Override> of,
                                                            std::span<const Override> overrides,
                                                            std::vector<std::vector<double>>* alternating) {
    const Circuit::Data& data = state_->data();
    std::vector<std::vector<double>> found(of.size(), std::vector<double>(data.names.size(), 0));
    if (alternating != nullptr) *alternating = found;
    std::vector<Node> tied, undetermined;
    if (!at_period.solved || prepare(*state_, overrides, tied, undetermined).kind != Trouble::Kind::none) return found;
    const auto turn_slopes = [&](double turn, const double* x, std::size_t k, double* column) {
        const auto add = [&](int row, double slope) { column[row] -= slope; };
        if (of[k].element >= 0)
            residual_slopes(data, state_->numbers, of[k], turn, x, add);
        else if (of[k].index != ground)
            column[of[k].index - 1] += 1;
    };
    Eigen::MatrixXd squares;
    const Eigen::MatrixXd means = mean_responses(*state_->whole, state_->numbers.data(), tied, at_period, of.size(),
                                                 turn_slopes, alternating != nullptr ? &squares : nullptr);
    for (std::size_t k = 0; k < of.size() && means.cols() == static_cast<Eigen::Index>(of.size()); ++k)
        for (std::size_t node = 1; node < data.names.size(); ++node) {
            const auto row = static_cast<Eigen::Index>(node) - 1, column = static_cast<Eigen::Index>(k);
            found[k][node] = means(row, column);
            if (alternating == nullptr) continue;
            const Course& course = at_period.volts[node];
            const double rms = std::sqrt(std::max(0.0, course.rms * course.rms - course.mean * course.mean));
            if (rms > 0) (*alternating)[k][node] = (squares(row, column) - course.mean * means(row, column)) / rms;
        }
    return found;
}

std::vector<Engine::Phasor> Engine::small_signal(const Operating& at_point, Node from, Node into, double hertz,
                                                 std::span<const Override> overrides) {
    std::vector<Node> tied, undetermined;
    if (!at_point.solved || prepare(*state_, overrides, tied, undetermined).kind != Trouble::Kind::none) return {};
    Solver& solver = *state_->whole;
    const auto n = static_cast<std::size_t>(solver.n());
    solver.values(state_->numbers.data(), 0, tied);
    solver.assemble(0);
    solver.instant(0, nullptr, nullptr);
    std::vector<double> x(at_point.unknowns);
    x.push_back(0);
    if (x.size() != n + 1 || !solver.linearise(x) || !solver.linearise_at(hertz)) return {};
    std::vector<std::complex<double>> column(n + 1);
    column[from == ground ? n : static_cast<std::size_t>(from) - 1] -= 1.0;
    column[into == ground ? n : static_cast<std::size_t>(into) - 1] += 1.0;
    column[n] = 0;
    solver.solve_complex(column.data());
    std::vector<Phasor> found(state_->data().names.size());
    for (std::size_t node = 1; node < found.size(); ++node)
        found[node] = {column[node - 1].real(), column[node - 1].imag()};
    return found;
}

}  // namespace tubewright::circuit
