// SPDX-License-Identifier: MIT
// SDIRK2 steps with their derivative, and Newton on the period map. See period.hpp.
#include "circuit/period.hpp"

#include <algorithm>
#include <cmath>

namespace tubewright::circuit {

namespace {

/// An inductor's ampere counts as so many volts.
constexpr double volts_an_ampere = 1000;
/// A period that ends so far from its start is far from the steady state.
constexpr double far_volts = 3;
/// Direct current through a capacitor that the rounding of its stages leaves, and the rounds spent on getting there.
constexpr double rounding_amps = 1e-11;
constexpr int most_polish = 6;

double size_of(const Wiring::State& state) {
    return state.volts ? 1 : volts_an_ampere;
}

}  // namespace

std::vector<char> leaps_of(const Wiring& wiring, const double* numbers, int steps) {
    constexpr int makes = 2;  // of a contact's numbers: the turn at which it closes
    std::vector<char> leaps;
    for (const Wiring::Device& device : wiring.devices) {
        if (!wiring.data->parts[static_cast<std::size_t>(device.part)].swings) continue;
        leaps.resize(static_cast<std::size_t>(steps), 0);
        const auto step = static_cast<std::size_t>(numbers[device.law_value + makes] * steps + 1e-6);
        if (step < leaps.size()) leaps[step] = 1;
    }
    return leaps;
}

bool Marcher::stage(std::vector<double>& x, bool transition, double loose) {
    Solver::How how;
    how.reuse = true;
    how.volts = 0;
    how.limit = 14;
    how.loose = loose;
    guess_ = x;
    if (!solver_.newton(x, how)) {
        how.reuse = false;
        how.volts = 60;
        how.limit = patient_ ? 100 : 30;
        x = guess_;
        if (!solver_.newton(x, how)) {
            if (!patient_) return false;
            // Lean every node on its last volts, then let go: the stage as the end of a fading transient.
            x = before_;
            double anchor = 1e-2;
            bool held = false;
            for (int tries = 0; tries < 120; ++tries) {
                guess_ = x;
                how.anchor = anchor;
                how.anchored = guess_.data();
                if (solver_.newton(x, how)) {
                    held = true;
                    anchor *= 0.25;
                    if (anchor < 1e-13) break;
                } else {
                    x = guess_;
                    anchor *= held ? 2 : 10;
                    if (anchor > 1e6) break;
                }
            }
            how.anchor = 0;
            how.anchored = nullptr;
            if (!solver_.newton(x, how)) return false;
        }
    }
    return !transition || solver_.sharpen();
}

void Marcher::march(double period_seconds, int steps, const std::vector<double>& start,
                    const std::vector<double>& drawn, bool transition, const Period* former, Period& out,
                    double loose) {
    const Wiring& w = solver_.wiring();
    const auto n = static_cast<std::size_t>(w.n);
    const std::size_t ns = w.states.size();
    const std::size_t ports = w.kind == Ports::norton ? w.port_nodes.size() : 0;
    const double seconds = period_seconds / steps;
    double share = gamma_stage;  // of the stages as assembled
    const int iterations_before = solver_.iterations;
    const bool guided =
        former != nullptr && former->steps == steps && former->ends.size() == n * static_cast<std::size_t>(steps);
    out.solved = false;
    out.start = start;
    out.residual = 0;
    std::vector<double> ends(n * static_cast<std::size_t>(steps)), inners(ends.size());
    out.leaps = leaps_of(w, solver_.numbers(), steps);
    solver_.assemble(1 / (share * seconds));

    std::vector<double> z = start;
    base_.resize(ns);
    x_.assign(n + 1, 0);
    std::vector<double> last(n + 1, 0), last_but(n + 1, 0);
    if (guided) std::copy_n(former->ends.end() - static_cast<std::ptrdiff_t>(n), n, last.begin());

    // Derivatives, column-major: sensitivity of each state (row) to each start (column).
    using Matrix = Eigen::MatrixXd;
    const auto dim = static_cast<Eigen::Index>(ns);
    Matrix along, along_base;
    // A capacitor of 0 farads (taken out by an override) has no memory: nothing follows from its start.
    std::vector<std::size_t> active;
    for (std::size_t c = 0; c < ns; ++c)
        if (solver_.state_weight(c) != 0) active.push_back(c);
    if (transition) {
        along = Matrix::Identity(dim, dim);
        along_base.resize(dim, dim);
        columns_.resize((n + 1) * active.size());
        out.port_means = Matrix::Zero(static_cast<Eigen::Index>(ports), dim);
    }
    const auto differentiate = [&](const Matrix& from, Matrix& into, double weight) {
        std::fill(columns_.begin(), columns_.end(), 0.0);
        for (std::size_t a = 0; a < active.size(); ++a) {
            const std::size_t c = active[a];
            double* column = columns_.data() + a * (n + 1);
            for (const std::size_t s : active) {
                const double amps =
                    solver_.state_weight(s) * from(static_cast<Eigen::Index>(s), static_cast<Eigen::Index>(c));
                column[w.states[s].into] += amps;
                column[w.states[s].from] -= amps;
            }
            column[n] = 0;
        }
        solver_.solve(columns_.data(), static_cast<int>(active.size()));
        for (std::size_t a = 0; a < active.size(); ++a) {
            const std::size_t c = active[a];
            const double* column = columns_.data() + a * (n + 1);
            for (std::size_t s = 0; s < ns; ++s)
                into(static_cast<Eigen::Index>(s), static_cast<Eigen::Index>(c)) =
                    column[w.states[s].plus] - column[w.states[s].minus];
            for (std::size_t p = 0; p < ports; ++p)
                out.port_means(static_cast<Eigen::Index>(p), static_cast<Eigen::Index>(c)) +=
                    weight * column[w.port_rows[p]];
        }
    };
    const auto note_residual = [&] {
        int row = 0;
        const double amps = solver_.residual(&row);
        if (amps > out.residual) {
            out.residual = amps;
            out.residual_row = row;
        }
    };

    for (int step = 0; step < steps; ++step) {
        const auto place = static_cast<std::size_t>(step) * n;
        const double* draw = drawn.empty() ? nullptr : drawn.data() + 2 * static_cast<std::size_t>(step) * ports;
        if (const double own = stage_of(out.leaps, static_cast<std::size_t>(step)); own != share) {
            share = own;
            solver_.assemble(1 / (share * seconds));
        }
        // Inner stage.
        solver_.instant((step + share) / steps, z.data(), draw);
        if (guided) {
            const double* was = former->inners.data() + place;
            const double* was_last =
                step > 0 ? former->ends.data() + place - n : former->ends.data() + former->ends.size() - n;
            for (std::size_t k = 0; k < n; ++k) x_[k] = was[k] + (last[k] - was_last[k]);
        } else {
            for (std::size_t k = 0; k < n; ++k) x_[k] = last[k] + (step > 1 ? share * (last[k] - last_but[k]) : 0);
        }
        before_ = last;
        if (!stage(x_, transition, loose)) return;
        note_residual();
        std::copy_n(x_.begin(), n, inners.begin() + static_cast<std::ptrdiff_t>(place));
        for (std::size_t s = 0; s < ns; ++s) {
            const double inner =
                x_[static_cast<std::size_t>(w.states[s].plus)] - x_[static_cast<std::size_t>(w.states[s].minus)];
            base_[s] = z[s] + (1 - share) / share * (inner - z[s]);
        }
        if (transition && ns > 0) {
            Matrix inner = Matrix::Zero(dim, dim);
            differentiate(along, inner, (1 - share) / steps);
            along_base = along + (1 - share) / share * (inner - along);
        }
        // End of the step.
        solver_.instant((step + 1.0) / steps, base_.data(), draw == nullptr ? nullptr : draw + ports);
        before_ = x_;
        if (guided) {
            const double* was = former->ends.data() + place;
            const double* was_inner = former->inners.data() + place;
            for (std::size_t k = 0; k < n; ++k) x_[k] += was[k] - was_inner[k];
        } else if (step > 0) {
            for (std::size_t k = 0; k < n; ++k) x_[k] += (1 - share) * (last[k] - last_but[k]);
        }
        if (!stage(x_, transition, loose)) return;
        note_residual();
        std::copy_n(x_.begin(), n, ends.begin() + static_cast<std::ptrdiff_t>(place));
        for (std::size_t s = 0; s < ns; ++s)
            z[s] = x_[static_cast<std::size_t>(w.states[s].plus)] - x_[static_cast<std::size_t>(w.states[s].minus)];
        if (transition && ns > 0) differentiate(along_base, along, share / steps);
        std::swap(last_but, last);
        last = x_;
    }
    out.steps = steps;
    out.end = z;
    out.ends.swap(ends);
    out.inners.swap(inners);
    if (transition) {
        for (std::size_t c = 0; c < ns; ++c)
            if (solver_.state_weight(c) == 0) along.col(static_cast<Eigen::Index>(c)).setZero();
        out.transition = along;
    }
    out.iterations = solver_.iterations - iterations_before;
    out.solved = true;
}

Eigen::MatrixXd mean_responses(
    Solver& solver, const double* numbers, const std::vector<Node>& tied, const Periodic& at, std::size_t values,
    const std::function<void(double turn, const double* x, std::size_t k, double* column)>& slopes,
    Eigen::MatrixXd* squares) {
    using Matrix = Eigen::MatrixXd;
    const Wiring& w = solver.wiring();
    const auto n = static_cast<std::size_t>(w.n), ns = w.states.size(), steps = at.waveform.size();
    if (steps == 0 || at.inner.size() != steps || at.waveform.front().size() != n) return {};
    solver.values(numbers, 1 / at.period_seconds, tied);
    double share = 0;  // of the stages as assembled
    const auto assemble = [&](std::size_t step) {
        if (const double own = stage_of(at.leaps, step); own != share) {
            share = own;
            solver.assemble(static_cast<double>(steps) / (share * at.period_seconds));
        }
    };
    assemble(0);
    std::vector<std::size_t> active;  // a capacitor of 0 farads has no memory
    for (std::size_t s = 0; s < ns; ++s)
        if (solver.state_weight(s) != 0) active.push_back(s);
    // Columns: the start of each active state, then each value. Rows: states.
    const std::size_t columns = active.size() + values;
    const auto wide = static_cast<Eigen::Index>(columns);
    Matrix along = Matrix::Zero(static_cast<Eigen::Index>(ns), wide), inner = along, base;
    for (std::size_t a = 0; a < active.size(); ++a)
        along(static_cast<Eigen::Index>(active[a]), static_cast<Eigen::Index>(a)) = 1;
    Matrix mean = Matrix::Zero(static_cast<Eigen::Index>(n), wide), square;
    if (squares != nullptr) square = mean;
    std::vector<double> right((n + 1) * columns), x(n + 1, 0);
    const auto stage = [&](double turn, const std::vector<double>& unknowns, const Matrix& from, Matrix& into,
                           double weight) {
        std::copy(unknowns.begin(), unknowns.end(), x.begin());
        solver.instant(turn, nullptr, nullptr);
        if (!solver.linearise(x)) return false;
        std::fill(right.begin(), right.end(), 0.0);
        for (std::size_t c = 0; c < columns; ++c) {
            double* column = right.data() + c * (n + 1);
            for (const std::size_t s : active) {
                const double amps =
                    solver.state_weight(s) * from(static_cast<Eigen::Index>(s), static_cast<Eigen::Index>(c));
                column[w.states[s].into] += amps;
                column[w.states[s].from] -= amps;
            }
            if (c >= active.size()) slopes(turn, x.data(), c - active.size(), column);
            column[n] = 0;
        }
        solver.solve(right.data(), static_cast<int>(columns));
        for (std::size_t c = 0; c < columns; ++c) {
            const double* column = right.data() + c * (n + 1);
            for (std::size_t s = 0; s < ns; ++s)
                into(static_cast<Eigen::Index>(s), static_cast<Eigen::Index>(c)) =
                    column[w.states[s].plus] - column[w.states[s].minus];
            for (std::size_t u = 0; u < n; ++u)
                mean(static_cast<Eigen::Index>(u), static_cast<Eigen::Index>(c)) += weight * column[u];
            for (std::size_t u = 0; u < n && squares != nullptr; ++u)
                square(static_cast<Eigen::Index>(u), static_cast<Eigen::Index>(c)) += weight * unknowns[u] * column[u];
        }
        return true;
    };
    const auto count = static_cast<double>(steps);
    for (std::size_t k = 0; k < steps; ++k) {
        const auto step = static_cast<double>(k);
        assemble(k);
        if (!stage((step + share) / count, at.inner[k], along, inner, (1 - share) / count)) return {};
        base = along + (1 - share) / share * (inner - along);
        if (!stage((step + 1) / count, at.waveform[k], base, along, share / count)) return {};
    }
    if (squares != nullptr) *squares = square;
    if (active.empty()) return mean;  // nothing remembers: no start to ask for
    // The start that each value asks for, so that the period still closes.
    const auto memory = static_cast<Eigen::Index>(active.size());
    Matrix closing = Matrix::Identity(memory, memory), ends(memory, static_cast<Eigen::Index>(values));
    for (Eigen::Index a = 0; a < memory; ++a) {
        const auto row = static_cast<Eigen::Index>(active[static_cast<std::size_t>(a)]);
        closing.row(a) -= along.row(row).head(memory);
        ends.row(a) = along.row(row).tail(static_cast<Eigen::Index>(values));
    }
    const Matrix starts = Eigen::CompleteOrthogonalDecomposition<Matrix>(closing).solve(ends);
    const auto closed = [&](const Matrix& of) -> Matrix {
        return of.rightCols(static_cast<Eigen::Index>(values)) + of.leftCols(memory) * starts;
    };
    if (squares != nullptr) *squares = closed(square);
    return closed(mean);
}

void StartStep::factor(const Wiring& wiring, const Eigen::MatrixXd& transition) {
    const auto ns = static_cast<Eigen::Index>(wiring.states.size());
    scale_.resize(ns);
    for (Eigen::Index s = 0; s < ns; ++s) scale_[s] = size_of(wiring.states[static_cast<std::size_t>(s)]);
    Eigen::MatrixXd a = Eigen::MatrixXd::Identity(ns, ns) - transition;
    a = scale_.asDiagonal() * a * scale_.cwiseInverse().asDiagonal();
    ready_ = a.allFinite();
    if (!ready_ || ns == 0) return;
    lu_.compute(a);
    singular_ = !(lu_.rcond() > 1e-13);
    if (singular_) {
        least_.setThreshold(1e-12);
        least_.compute(a);
    }
}

Eigen::VectorXd StartStep::step(const Period& period) const {
    const auto ns = static_cast<Eigen::Index>(period.start.size());
    if (ns == 0) return Eigen::VectorXd::Zero(0);
    Eigen::VectorXd error(ns);
    for (Eigen::Index s = 0; s < ns; ++s)
        error[s] = scale_[s] * (period.end[static_cast<std::size_t>(s)] - period.start[static_cast<std::size_t>(s)]);
    const Eigen::VectorXd found = singular_ ? Eigen::VectorXd(least_.solve(error)) : Eigen::VectorXd(lu_.solve(error));
    return found.cwiseQuotient(scale_);
}

double period_error(const Wiring& wiring, const Period& period) {
    double worst = 0;
    for (std::size_t s = 0; s < wiring.states.size(); ++s)
        worst = std::max(worst, size_of(wiring.states[s]) * std::abs(period.end[s] - period.start[s]));
    return worst;
}

double in_volts(const Wiring& wiring, const Eigen::VectorXd& step) {
    double worst = 0;
    for (std::size_t s = 0; s < wiring.states.size(); ++s)
        worst = std::max(worst, size_of(wiring.states[s]) * std::abs(step[static_cast<Eigen::Index>(s)]));
    return worst;
}

double open_amps(const Wiring& wiring, const double* numbers, double hertz, const Period& period) {
    double worst = 0;
    for (std::size_t s = 0; s < period.start.size(); ++s) {
        const Wiring::State& state = wiring.states[s];
        const double value = numbers[state.value];
        const double rate = hertz * (period.end[s] - period.start[s]);
        if (value < 1e300) worst = std::max(worst, std::abs(value * rate) * (state.volts ? 1 : 1 / volts_an_ampere));
    }
    return worst;
}

namespace {

/// Whether each state ends within `floor` volts of its start, or within what the stages' own floor of amperes makes of
/// it: of a small capacitor many times more.
bool within(const Wiring& wiring, const double* numbers, double hertz, const Period& period, double floor) {
    constexpr double stage_amps = 3e-13, most_volts = 1e-6;
    for (std::size_t s = 0; s < wiring.states.size(); ++s) {
        const Wiring::State& state = wiring.states[s];
        const double value = numbers[state.value];
        double allowed = floor;
        if (state.volts && value > 0) allowed = std::max(floor, std::min(most_volts, stage_amps / (value * hertz)));
        if (!(size_of(state) * std::abs(period.end[s] - period.start[s]) <= allowed)) return false;
    }
    return true;
}

/// What rounds with one matrix leave of their error is of few kinds: their last steps foretell the sum of all to come
/// (Anderson 1965, from memory).
class Foresight {
  public:
    void forget() { steps_.clear(), starts_.clear(); }
    /// The step to take from `start` where the matrix says `step`; both scaled to volts.
    Eigen::VectorXd step(const Eigen::VectorXd& start, const Eigen::VectorXd& step) {
        constexpr std::size_t most = 5;
        starts_.push_back(start);
        steps_.push_back(step);
        if (starts_.size() > most) starts_.erase(starts_.begin()), steps_.erase(steps_.begin());
        const auto known = static_cast<Eigen::Index>(starts_.size()) - 1;
        if (known == 0) return step;
        Eigen::MatrixXd of_steps(step.size(), known), of_starts(step.size(), known);
        for (Eigen::Index k = 0; k < known; ++k) {
            const auto at = static_cast<std::size_t>(k);
            of_steps.col(k) = steps_[at + 1] - steps_[at];
            of_starts.col(k) = starts_[at + 1] - starts_[at];
        }
        const Eigen::VectorXd shares = of_steps.colPivHouseholderQr().solve(step);
        return step - (of_starts + of_steps) * shares;
    }

  private:
    std::vector<Eigen::VectorXd> steps_, starts_;
};

}  // namespace

int shoot(Solver& solver, double period_seconds, int steps, std::vector<double> start, bool coarse_first,
          Period& period, double settled_volts) {
    const Wiring& w = solver.wiring();
    Marcher marcher(solver);
    StartStep newton;
    Period trial;
    int rounds = 0;
    bool found_coarse = false;
    std::vector<int> levels;
    if (!coarse_first && steps >= 48) {
        // From a former solution: near it the fine steps serve at once, far from it the way is found with coarse ones.
        marcher.march(period_seconds, steps, start, {}, false, period.steps == steps ? &period : nullptr, trial, 1e3);
        coarse_first = !trial.solved || period_error(w, trial) > far_volts;
        if (!coarse_first) {
            std::swap(period, trial);
            marcher.march(period_seconds, std::max(16, steps / 4), start, {}, true, nullptr, trial, 1e3);
            if (trial.solved) newton.factor(w, trial.transition);
            found_coarse = trial.solved && newton.ready();
        }
    }
    if (coarse_first && steps >= 48) levels.push_back(std::max(16, steps / 4));
    levels.push_back(steps);
    period.solved = false;
    for (const int level : levels) {
        const bool last_level = level == steps;
        double error = 1e300, before = 1e300, best = 1e300, share = 1;
        // The coarse steps' matrix is near enough for the fine ones to begin with.
        bool lent = last_level && found_coarse;
        bool chord = lent;
        Foresight foresight;
        int rises = 0, plain = 0, creeps = 0, polished = 0;
        // what gains a digit a round is not broken off
        for (int round = 0; round < 40 || (round < 50 && error < 0.1 * before); ++round, ++rounds) {
            const Period* guide = period.steps == level ? &period : nullptr;
            const bool tight = last_level && (error < 1 || !coarse_first);
            marcher.march(period_seconds, level, start, {}, !chord, guide, trial, tight ? 1 : 1e3);
            if (!trial.solved && guide != nullptr)
                marcher.march(period_seconds, level, start, {}, !chord, nullptr, trial);
            if (!trial.solved) {
                if (!last_level) break;
                if (lent) {
                    lent = chord = false;
                    continue;
                }
                period.solved = false;
                return rounds + 1;
            }
            const double two_before = before;
            before = error;
            error = period_error(w, trial);
            double largest = 1;
            for (std::size_t s = 0; s < start.size(); ++s)
                largest = std::max(largest, size_of(w.states[s]) * std::abs(start[s]));
            std::swap(period, trial);
            const double floor = settled_volts + 1e-13 * largest;
            // a large capacitor carries direct current that its volts hardly show: some rounds more close it
            const bool closed = !last_level || polished >= most_polish ||
                                open_amps(w, solver.numbers(), 1 / period_seconds, period) <= rounding_amps;
            const bool stands =
                last_level ? within(w, solver.numbers(), 1 / period_seconds, period, floor) : error <= floor;
            if (last_level && tight && stands && !closed) ++polished;
            if (stands && (tight || !last_level) && closed) {
                // A network that creeps by less than that in a period may still be far from home.
                if (last_level && !chord) newton.factor(w, period.transition);
                const Eigen::VectorXd ahead = newton.ready() ? newton.step(period) : Eigen::VectorXd();
                if (!last_level || ahead.size() == 0 || !ahead.allFinite() || creeps >= 6 ||
                    in_volts(w, ahead) < 1e-6 * largest) {
                    period.solved = true;
                    found_coarse = newton.ready();
                    if (last_level) return rounds + 1;
                    break;
                }
                lent = false;
                ++creeps;
                for (std::size_t s = 0; s < start.size(); ++s)
                    start[s] = period.start[s] + ahead[static_cast<Eigen::Index>(s)];
                chord = false;
                continue;
            }
            if (!last_level && error < 1e-2) {
                if (!chord) newton.factor(w, period.transition);
                found_coarse = newton.ready();
                break;
            }
            best = std::min(best, error);
            if (plain > 0) {
                --plain;
                start = period.end;
                chord = plain > 0;
                continue;
            }
            if (error > 20 * best && error > 1 && round > 4) {
                // The Newton step led astray: let the network itself run some periods.
                plain = 6;
                best = 1e300;
                start = period.end;
                chord = true;
                continue;
            }
            if (!chord) newton.factor(w, period.transition);
            if (!newton.ready()) {
                period.solved = false;
                return rounds + 1;
            }
            const Eigen::VectorXd step = newton.step(period);
            // Rounding of the stages limits the error: what is small, stays, and leads nowhere is taken.
            if (last_level && round > 3 && error < 1e-6 * largest && error > 0.3 * before &&
                in_volts(w, step) < 1e-5 * largest && ++rises > 8) {
                period.solved = true;
                return rounds + 1;
            }
            // To and fro about a kink: shorter steps, and longer ones again as they gain.
            if (round > 3 && error > 0.9 * two_before)
                share = std::max(0.5 * share, 0.05);
            else if (error < before)
                share = std::min(1.0, 2 * share);
            if (!chord) foresight.forget();
            Eigen::VectorXd ahead(step.size()), from(step.size());
            for (std::size_t s = 0; s < start.size(); ++s) {
                const double size = size_of(w.states[s]);
                from[static_cast<Eigen::Index>(s)] = size * period.start[s];
                ahead[static_cast<Eigen::Index>(s)] = size * step[static_cast<Eigen::Index>(s)];
            }
            ahead = foresight.step(from, ahead);
            for (std::size_t s = 0; s < start.size(); ++s)
                start[s] =
                    period.start[s] + (chord ? 1 : share) * ahead[static_cast<Eigen::Index>(s)] / size_of(w.states[s]);
            // Close to the end the same matrix serves on, as long as each round gains two digits.
            const bool fast = round > 0 && error < 0.01 * before;
            if (lent) {
                lent = round == 0 || error < 0.15 * before;
                chord = lent;
                continue;
            }
            chord = chord ? fast : (in_volts(w, step) < 0.05 && (fast || round == 0));
        }
        // A tail without end, of currents below any leak: the period error says how far it is.
        if (last_level) period.solved = period.steps == level && error < 1e-6;
    }
    return rounds;
}

}  // namespace tubewright::circuit
