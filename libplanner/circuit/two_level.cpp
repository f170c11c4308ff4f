// SPDX-License-Identifier: MIT
// Two-level periodic steady state. The circuit is cut at a set of nodes: the block (sources, transformer, rectifiers,
// and the reactances up to the first nodes that hold still) is shot over the period; the rest is a direct-current
// network with the block's mean port volts imposed, and hands back its currents with their full conductance matrix. One
// Newton step of both a round: the block's mean port volts are carried to its steady state by the derivative that comes
// with the transition matrix.
//
// The rest answers ripple by its admittance at each harmonic about its operating point, not by its direct conductance:
// the difference is drawn from the ports as a known current and settles in a round or two. The same solutions give the
// ripple of all its unknowns. What the curvature of a tube makes of that ripple (a direct current) is taken from the
// tube's own law over the ripple's course. Where that is not small, the block takes in the next stage, and at the end
// full shooting does it all.
//
// Idea after the notes in DEVELOPERS.md; the admittance correction is ours. Tests: tests/circuit/two_level_test.cpp.
#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>

#include "circuit/engine.hpp"
#include "circuit/islands.hpp"

namespace tubewright::circuit {

namespace {

using Complex = std::complex<double>;
using Nodes = std::vector<char>;

constexpr double still = 0.02;          ///< ripple over volts at which a node holds still
constexpr double held_farads = 0.2e-6;  ///< a capacitor that may hold a node

bool joins_at_ripple(const Part& part, const double* v) {
    switch (part.kind) {
        case Kind::resistor:
            return siemens_of(v[at::ohms]) > 0;
        case Kind::conductance:
            return v[at::siemens] > 0;
        case Kind::inductor:
            return siemens_of(v[at::series]) > 0;
        case Kind::capacitor:
        case Kind::voltage_source:
        case Kind::device:
        case Kind::transformer:
            return true;
        case Kind::current_source:
            return false;
    }
    return false;
}

void take(Nodes& in, const Part& part) {
    for (const Node node : part.nodes)
        if (node != ground) in[static_cast<std::size_t>(node)] = 1;
}

/// Branches without resistance may not lie between two imposed ports: such parts go into the block whole.
void close(const Circuit::Data& data, const std::vector<double>& numbers, Nodes& in) {
    for (bool changed = true; changed;) {
        changed = false;
        for (const Part& part : data.parts) {
            const double* v = numbers.data() + part.value;
            bool ideal = part.kind == Kind::voltage_source || part.rectifies || part.swings ||
                         (part.kind == Kind::inductor && v[at::series] <= 0);
            bool touched = false, whole = true;
            for (const Node node : part.nodes) {
                touched = touched || (node != ground && in[static_cast<std::size_t>(node)]);
                whole = whole && (node == ground || in[static_cast<std::size_t>(node)]);
            }
            if (part.kind == Kind::transformer)
                for (std::size_t w = 0; w < part.turns.size(); ++w) {
                    const Node a = part.nodes[2 * w], b = part.nodes[2 * w + 1];
                    const bool both = (a == ground || in[static_cast<std::size_t>(a)]) &&
                                      (b == ground || in[static_cast<std::size_t>(b)]) && a != b;
                    ideal = ideal || (both && touched && v[at::copper + static_cast<int>(w)] <= 1);
                }
            if (ideal && touched && !whole) {
                take(in, part);
                changed = true;
            }
        }
    }
}

/// The least block: what the alternating sources drive, the rectifiers, and the first capacitor behind each.
Nodes least_block(Engine::State& state, double hertz) {
    const Circuit::Data& data = state.data();
    const std::vector<double>& numbers = data.values;
    Nodes in(data.names.size(), 0);
    bool any_rectifier = false;
    double largest = 0;
    for (const Part& part : data.parts) {
        any_rectifier = any_rectifier || part.rectifies;
        if (part.kind == Kind::voltage_source && part.waveform.hertz > 0 &&
            numbers[static_cast<std::size_t>(part.value + at::amplitude)] != 0) {
            take(in, part);
            largest = std::max(largest, std::abs(numbers[static_cast<std::size_t>(part.value + at::amplitude)]));
        }
    }
    if (!any_rectifier) return {};
    Nodes moving = in;
    for (const Part& part : data.parts)
        if (part.swings) take(moving, part);
    const bool swings = moving != in;
    if (swings) {
        // What contacts chop: the transformer that they feed, and so its rectifiers.
        for (const Part& part : data.parts)
            if (part.kind == Kind::transformer && std::any_of(part.nodes.begin(), part.nodes.end(), [&](Node node) {
                    return node != ground && moving[static_cast<std::size_t>(node)];
                }))
                take(moving, part);
    } else if (largest == 0) {
        return {};
    }

    // Small signal from the line with the rectifiers shut: what moves with it belongs to it.
    Solver& solver = *state.whole;
    std::vector<Node> tied;
    for (const auto& group : islands(data, numbers, false)) tied.push_back(group.front());
    solver.values(numbers.data(), hertz, tied);
    solver.assemble(0);
    solver.instant(0, nullptr, nullptr);
    std::vector<double> x(static_cast<std::size_t>(solver.n()) + 1, 0);
    solver.linearise(x);
    solver.mute_rectifiers();
    if (!swings && solver.linearise_at(hertz)) {
        std::vector<Complex> column(x.size());
        for (const Part& part : data.parts)
            if (part.kind == Kind::voltage_source && part.waveform.hertz > 0)
                column[static_cast<std::size_t>(data.branch_unknown(part.branch))] =
                    numbers[static_cast<std::size_t>(part.value + at::amplitude)];
        solver.solve_complex(column.data());
        for (std::size_t node = 1; node < moving.size(); ++node)
            if (std::abs(column[node - 1]) > 1e-3 * largest) moving[node] = 1;
    }
    in = moving;
    for (const Part& part : data.parts) {
        if (part.rectifies) take(in, part);
        if (part.kind == Kind::transformer && std::any_of(part.nodes.begin(), part.nodes.end(), [&](Node node) {
                return node != ground && moving[static_cast<std::size_t>(node)];
            }))
            take(in, part);
    }
    close(data, numbers, in);
    // A rectified node that no capacitor holds: on through its chokes, or else its resistors.
    for (int stage = 0; stage < 4; ++stage) {
        Nodes next = in;
        for (const Part& rectifier : data.parts) {
            if (!rectifier.rectifies) continue;
            for (const Node node : rectifier.nodes) {
                if (node == ground || moving[static_cast<std::size_t>(node)]) continue;
                bool held = false;
                for (const Part& part : data.parts)
                    if (part.kind == Kind::capacitor && (part.nodes[0] == node || part.nodes[1] == node) &&
                        numbers[static_cast<std::size_t>(part.value + at::farads)] >= held_farads) {
                        const Node other = part.nodes[0] == node ? part.nodes[1] : part.nodes[0];
                        held = held || other == ground || in[static_cast<std::size_t>(other)];
                    }
                if (held) continue;
                for (const Part& part : data.parts)
                    if ((part.kind == Kind::inductor || part.kind == Kind::resistor) &&
                        (part.nodes[0] == node || part.nodes[1] == node))
                        take(next, part);
            }
        }
        if (next == in) break;
        in = next;
        close(data, numbers, in);
    }
    return in;
}

Split cut(const Plan& plan, const Nodes& in) {
    const Circuit::Data& data = *plan.data;
    std::vector<char> block(data.parts.size(), 0), rest(data.parts.size(), 0);
    Nodes shared(data.names.size(), 0);
    for (std::size_t k = 0; k < data.parts.size(); ++k) {
        const Part& part = data.parts[k];
        bool inside = true;
        for (const Node node : part.nodes) inside = inside && (node == ground || in[static_cast<std::size_t>(node)]);
        (inside ? block : rest)[k] = 1;
        if (!inside)
            for (const Node node : part.nodes)
                if (node != ground && in[static_cast<std::size_t>(node)]) shared[static_cast<std::size_t>(node)] = 1;
    }
    Split split;
    for (std::size_t node = 1; node < shared.size(); ++node)
        if (shared[node]) split.ports.push_back(static_cast<Node>(node));
    split.block = std::make_shared<const Wiring>(plan.data, block, Ports::norton, split.ports);
    split.rest = std::make_shared<const Wiring>(plan.data, rest, Ports::imposed, split.ports);
    return split;
}

enum class Verdict { solved, grow, failed };

/// One two-level solution on one split.
class TwoLevel {
  public:
    /// Gives up after `allowed` work.
    TwoLevel(Engine::State& state, SplitSolvers& solvers, const PeriodicOptions& options, const std::vector<Node>& tied,
             double allowed)
        : state_(state),
          block_(*solvers.block),
          rest_(*solvers.rest),
          split_(solvers.split),
          options_(options),
          ports_(split_.ports.size()),
          marcher_(block_, false),
          allowed_(allowed) {
        block_.values(state.numbers.data(), options.hertz, tied);
        rest_.values(state.numbers.data(), options.hertz, tied);
        const auto rest_size = static_cast<std::size_t>(rest_.n()) + 1;
        x_.assign(rest_size, 0);
        volts_.assign(ports_, 0);
        current_.assign(ports_, 0);
        siemens_.assign(ports_ * ports_, 0);
        injected_.assign(rest_size, 0);
        start_.assign(block_.wiring().states.size(), 0);
    }

    void warm(const Periodic& former) {
        warm_ = true;
        const std::vector<double>&state = former.state, &means = former.means;
        const Wiring& b = block_.wiring();
        for (std::size_t s = 0; s < start_.size(); ++s) start_[s] = state[static_cast<std::size_t>(b.states[s].full)];
        for (std::size_t p = 0; p < ports_; ++p) volts_[p] = means[static_cast<std::size_t>(split_.ports[p]) - 1];
        const Wiring& r = rest_.wiring();
        for (std::size_t u = 0; u < r.full.size(); ++u)
            if (r.full[u] >= 0) x_[u] = means[static_cast<std::size_t>(r.full[u])];
        const std::size_t steps = former.waveform.size();
        if (static_cast<int>(steps) != std::max(options_.steps, 16) || former.inner.size() != steps) return;
        listen(static_cast<int>(steps), [&](std::size_t k, std::size_t p) {
            return former.waveform[k][static_cast<std::size_t>(split_.ports[p]) - 1];
        });
        const auto n = static_cast<std::size_t>(b.n);
        period_.steps = static_cast<int>(steps);
        period_.ends.resize(n * steps);
        period_.inners.resize(n * steps);
        for (std::size_t k = 0; k < steps; ++k)
            for (std::size_t u = 0; u < n; ++u) {
                period_.ends[k * n + u] = former.waveform[k][static_cast<std::size_t>(b.full[u])];
                period_.inners[k * n + u] = former.inner[k][static_cast<std::size_t>(b.full[u])];
            }
    }

    /// Work done so far, in steps times unknowns.
    double spent() const { return spent_; }

    Verdict run(bool cold) {
        if (!solve_rest()) return Verdict::failed;
        const int steps = std::max(options_.steps, 16);
        const int coarse = std::max(16, steps / 4);
        if (steps >= 48 && cold && !rounds(coarse, false)) return Verdict::failed;
        if (steps >= 48 && !cold) {
            // A change that goes far is cheaper to follow with coarse steps; one that does not starts at the fine ones.
            const std::vector<double> start = start_, volts = volts_, x = x_;
            const std::vector<Complex> tone = port_tone_;
            Period guide = std::move(period_);
            period_ = Period{};
            if (!rounds(coarse, false) || first_change_ < 3) {
                start_ = start;
                volts_ = volts;
                x_ = x;
                port_tone_ = tone;
                period_ = std::move(guide);
                response_.clear();
                response_volts_.clear();
                if (!solve_rest()) return Verdict::failed;
            }
        }
        if (!rounds(steps, true)) return Verdict::failed;
        return bent_ ? Verdict::grow : Verdict::solved;
    }

    void keep(Periodic& out) const;
    /// The best known state of the whole circuit, for full shooting.
    std::vector<double> whole_state() const;
    /// Ports whose ripple is not small against their volts.
    std::vector<Node> restless() const;

  private:
    bool rounds(int steps, bool last);
    bool shut(StartStep& newton);
    bool closed(StartStep& newton, bool same_load);
    void hear(int steps);
    std::vector<double> port_means() const;
    bool solve_rest();
    template <class Sample>
    void listen(int steps, const Sample& sample);
    bool answer(int steps);
    void set_turns(std::size_t n);
    bool bend();
    bool answer_bends();

    Engine::State& state_;
    Solver& block_;
    Solver& rest_;
    const Split& split_;
    const PeriodicOptions& options_;
    std::size_t ports_;
    Marcher marcher_;
    Period period_, former_;
    std::vector<double> x_, volts_, current_, siemens_, injected_, start_, drawn_;
    /// The rest's unknowns for one volt at each port in turn, by harmonic - 1; empty until asked for.
    std::vector<std::vector<Complex>> response_;
    std::vector<double> response_volts_;             ///< port volts at which the responses were made
    std::vector<std::vector<Complex>> tone_;         ///< rest's unknowns, by harmonic - 1; empty where there is none
    std::vector<std::vector<Complex>> bend_tone_;    ///< what curvature adds to the devices' ripple currents, as tone_
    std::vector<std::vector<Complex>> bend_course_;  ///< what the rest makes of it with still ports
    std::vector<Complex> turns_;                     ///< e^(j 2 pi k / n)
    std::vector<Complex> port_tone_;                 ///< port volts: [harmonic - 1][port]
    double tone_moved_ = 0;                          ///< in units of what counts as settled
    double tone_size_ = 0;
    bool bent_ = false;
    int count_ = 0;
    double spent_ = 0;
    double allowed_ = 0;
    bool warm_ = false;
    double first_change_ = 0;
    double rest_residual_ = 0;
    int rest_row_ = 0;
};

bool TwoLevel::solve_rest() {
    rest_.impose(volts_);
    rest_.inject(injected_);
    rest_.assemble(0);
    const Method method = rest_.robust(
        x_, [&](double scale) { rest_.instant(0, nullptr, nullptr, scale); }, false);
    if (method == Method::none) return false;
    rest_residual_ = rest_.residual(&rest_row_);
    if (!rest_.linearise(x_)) return false;
    const Wiring& r = rest_.wiring();
    const auto stride = static_cast<std::size_t>(r.n) + 1;
    std::vector<double> columns(stride * ports_, 0);
    for (std::size_t q = 0; q < ports_; ++q) columns[q * stride + static_cast<std::size_t>(r.port_branches[q])] = 1;
    if (ports_ > 0) rest_.solve(columns.data(), static_cast<int>(ports_));
    for (std::size_t p = 0; p < ports_; ++p) {
        const auto branch = static_cast<std::size_t>(r.port_branches[p]);
        current_[p] = x_[branch];
        for (std::size_t q = 0; q < ports_; ++q) siemens_[p * ports_ + q] = columns[q * stride + branch];
    }
    return true;
}

/// What the inner stage of a step of `angle` makes of a tone of 1: a backward Euler step, first order in itself. A
/// current that is forced into the block's inductors at its true course instead would be differentiated to volts that
/// are off by the angle.
Complex inner_turn(double angle, double share) {
    return 1.0 + share * Complex(0, angle) * std::polar(1.0, share * angle);
}

/// Port volts by harmonic from samples at the end of each step: sample(step, port).
template <class Sample>
void TwoLevel::listen(int steps, const Sample& sample) {
    const auto n = static_cast<std::size_t>(steps);
    const int harmonics = std::min(32, steps / 4);
    set_turns(n);
    std::vector<Complex> tones(static_cast<std::size_t>(harmonics) * ports_);
    tone_moved_ = tone_size_ = 0;
    for (std::size_t p = 0; p < ports_; ++p) {
        double moved = 0, size = 0;
        for (std::size_t h = 0; h < static_cast<std::size_t>(harmonics); ++h) {
            double real = 0, imaginary = 0;
            for (std::size_t k = 0; k < n; ++k) {
                const Complex& t = turns_[(h + 1) * (k + 1) % n];
                real += sample(k, p) * t.real();
                imaginary -= sample(k, p) * t.imag();
            }
            const std::size_t place = h * ports_ + p;
            tones[place] = Complex(real, imaginary) * (2.0 / static_cast<double>(n));
            const Complex was = place < port_tone_.size() ? port_tone_[place] : Complex(0);
            moved = std::max(moved, std::abs(tones[place] - was));
            size = std::max(size, std::abs(tones[place]));
        }
        // Each port against its own ripple.
        tone_moved_ = std::max(tone_moved_, moved / (2e-3 * size + 5e-5));
        tone_size_ = std::max(tone_size_, size);
    }
    port_tone_ = std::move(tones);
}

void TwoLevel::set_turns(std::size_t n) {
    if (turns_.size() == n) return;
    turns_.resize(n);
    for (std::size_t k = 0; k < n; ++k)
        turns_[k] = std::polar(1.0, 2 * std::numbers::pi * static_cast<double>(k) / static_cast<double>(n));
}

/// The rest's course under the ports' harmonics, and what it draws beyond its direct conductance in a period of
/// `steps`.
bool TwoLevel::answer(int steps) {
    const Wiring& r = rest_.wiring();
    const auto n = static_cast<std::size_t>(steps);
    const auto stride = static_cast<std::size_t>(r.n) + 1;
    set_turns(n);
    double drift = response_volts_.empty() ? 1e300 : 0;
    for (std::size_t p = 0; p < response_volts_.size(); ++p)
        drift = std::max(drift, std::abs(volts_[p] - response_volts_[p]) / (0.1 + 5e-3 * std::abs(volts_[p])));
    if (drift > 1) {
        response_.clear();
        response_volts_ = volts_;
    }
    const std::size_t harmonics = ports_ > 0 ? port_tone_.size() / ports_ : 0;
    response_.resize(std::max(harmonics, response_.size()));
    tone_.assign(harmonics, {});
    drawn_.assign(2 * n * ports_, 0);
    const std::vector<char> leaps = leaps_of(block_.wiring(), block_.numbers(), steps);
    for (std::size_t h = 0; h < harmonics; ++h) {
        const Complex* tone = port_tone_.data() + h * ports_;
        double size = 0;
        for (std::size_t p = 0; p < ports_; ++p) size = std::max(size, std::abs(tone[p]));
        const bool bends = h < bend_course_.size() && !bend_course_[h].empty();
        if (!bends && (size < 1e-5 * tone_size_ || size < 1e-7)) continue;
        if (response_[h].empty()) {
            if (!rest_.linearise_at(static_cast<double>(h + 1) * options_.hertz)) return false;
            response_[h].assign(stride * ports_, 0);
            for (std::size_t p = 0; p < ports_; ++p) {
                Complex* column = response_[h].data() + p * stride;
                column[static_cast<std::size_t>(r.port_branches[p])] = 1;
                rest_.solve_complex(column);
            }
        }
        std::vector<Complex>& course = tone_[h];
        if (bends)
            course = bend_course_[h];
        else
            course.assign(stride, 0);
        for (std::size_t p = 0; p < ports_; ++p) {
            const Complex* column = response_[h].data() + p * stride;
            const double a = tone[p].real(), b = tone[p].imag();
            for (std::size_t u = 0; u + 1 < stride; ++u)
                course[u] +=
                    Complex(column[u].real() * a - column[u].imag() * b, column[u].real() * b + column[u].imag() * a);
        }
        const double angle = 2 * std::numbers::pi * static_cast<double>(h + 1) / static_cast<double>(n);
        const Complex usual = inner_turn(angle, gamma_stage), at_leap = inner_turn(angle, leap_stage);
        for (std::size_t p = 0; p < ports_; ++p) {
            Complex amps = course[static_cast<std::size_t>(r.port_branches[p])];
            for (std::size_t q = 0; q < ports_; ++q) amps -= siemens_[p * ports_ + q] * tone[q];
            for (std::size_t k = 0; k < n; ++k) {
                const Complex ahead = amps * (stage_of(leaps, k) == leap_stage ? at_leap : usual);
                const Complex& now = turns_[(h + 1) * k % n];
                const Complex& then = turns_[(h + 1) * (k + 1) % n];
                drawn_[2 * k * ports_ + p] += ahead.real() * now.real() - ahead.imag() * now.imag();
                drawn_[(2 * k + 1) * ports_ + p] += amps.real() * then.real() - amps.imag() * then.imag();
            }
        }
    }
    return true;
}

/// The rest's course, its ports still, under the ripple currents that curvature makes.
bool TwoLevel::answer_bends() {
    bend_course_.assign(bend_tone_.size(), {});
    for (std::size_t h = 0; h < bend_tone_.size(); ++h) {
        if (bend_tone_[h].empty()) continue;
        if (!rest_.linearise_at(static_cast<double>(h + 1) * options_.hertz)) return false;
        bend_course_[h] = bend_tone_[h];
        for (Complex& amps : bend_course_[h]) amps = -amps;
        rest_.solve_complex(bend_course_[h].data());
    }
    return true;
}

/// What the ripple does to the currents of the rest's devices beyond their slopes, by their own laws over its course:
/// to their means, and to their first harmonics. True if that stands.
bool TwoLevel::bend() {
    constexpr std::size_t points = 64, overtones = 6;
    constexpr double least_bend = 1e-3;  // of a device's ripple current
    const std::vector<double> injected_before = injected_;
    const std::vector<std::vector<Complex>> tone_before = std::move(bend_tone_);
    bend_tone_.assign(std::min(overtones, tone_.size()), {});
    std::vector<Complex> table;  // made when the first device needs it
    const Wiring& r = rest_.wiring();
    bent_ = false;
    std::fill(injected_.begin(), injected_.end(), 0.0);
    for (const Wiring::Device& device : r.devices) {
        const int m = device.terminals - 1;
        const int* row = r.rows.data() + device.row;
        double centre[8] = {}, peak = 0, worst = 0;
        for (int k = 0; k < m; ++k) {
            centre[k] = x_[static_cast<std::size_t>(row[k])] - x_[static_cast<std::size_t>(row[m])];
            double sum = 0;
            for (const auto& column : tone_)
                if (!column.empty())
                    sum +=
                        std::norm(column[static_cast<std::size_t>(row[k])] - column[static_cast<std::size_t>(row[m])]);
            peak = std::sqrt(2 * sum);
            worst = std::max(worst, peak / std::max(std::abs(centre[k]), 1.0));
        }
        if (worst < 2e-3) continue;
        for (std::size_t t = table.size(); t < points; ++t)
            table.push_back(std::polar(1.0, 2 * std::numbers::pi * static_cast<double>(t) / points));
        const Part& part = r.data->parts[static_cast<std::size_t>(device.part)];
        const double* p = state_.numbers.data() + part.value;
        double amps[8] = {}, gains[64] = {}, here[8] = {}, slope[64] = {}, mean[8] = {}, square[8] = {}, swing[8] = {};
        Complex over[8][overtones] = {};
        part.law.evaluate(p, centre, amps, gains);
        for (std::size_t t = 0; t < points; ++t) {
            double volts[8] = {}, move[8] = {};
            for (int k = 0; k < m; ++k) {
                for (std::size_t h = 0; h < tone_.size(); ++h)
                    if (!tone_[h].empty()) {
                        const Complex v =
                            tone_[h][static_cast<std::size_t>(row[k])] - tone_[h][static_cast<std::size_t>(row[m])];
                        const Complex& turn = table[(h + 1) * t % points];
                        move[k] += v.real() * turn.real() - v.imag() * turn.imag();
                    }
                volts[k] = centre[k] + move[k];
            }
            part.law.evaluate(p, volts, here, slope);
            for (int k = 0; k < m; ++k) {
                double linear = 0;
                for (int j = 0; j < m; ++j) linear += gains[k * m + j] * move[j];
                const double excess = here[k] - amps[k] - linear;
                mean[k] += excess / points;
                square[k] += excess * excess / points;
                swing[k] += linear * linear / points;
                for (std::size_t h = 0; h < bend_tone_.size(); ++h)
                    over[k][h] += 2 * excess / points * std::conj(table[(h + 1) * t % points]);
            }
        }
        for (int k = 0; k < m; ++k) {
            injected_[static_cast<std::size_t>(row[k])] += mean[k];
            injected_[static_cast<std::size_t>(row[m])] -= mean[k];
            const double uneven = std::sqrt(std::max(square[k] - mean[k] * mean[k], 0.0));
            // Not small: neither against the ripple current nor against the current.
            if (uneven > 0.02 * std::sqrt(swing[k]) + 2e-4 * std::abs(amps[k]) + 1e-9) bent_ = true;
            if (std::abs(mean[k]) > 0.02 * std::abs(amps[k]) + 1e-8) bent_ = true;
            if (!options_.ripple) continue;
            for (std::size_t h = 0; h < bend_tone_.size(); ++h) {
                if (std::abs(over[k][h]) < least_bend * std::sqrt(2 * swing[k]) + 1e-9) continue;
                bend_tone_[h].resize(injected_.size());
                bend_tone_[h][static_cast<std::size_t>(row[k])] += over[k][h];
                bend_tone_[h][static_cast<std::size_t>(row[m])] -= over[k][h];
            }
        }
    }
    injected_.back() = 0;
    double moved = 0, size = 0;
    const auto note = [&](double change, double now) {
        moved = std::max(moved, change);
        size = std::max(size, now);
    };
    for (std::size_t u = 0; u < injected_.size(); ++u)
        note(std::abs(injected_before[u] - injected_[u]), std::abs(injected_[u]));
    const bool mean_stands = moved <= 0.02 * size + 1e-9;
    moved = size = 0;
    for (std::size_t h = 0; h < bend_tone_.size(); ++h) {
        if (!bend_tone_[h].empty()) bend_tone_[h].back() = 0;
        const std::vector<Complex>* was = h < tone_before.size() ? &tone_before[h] : nullptr;
        for (std::size_t u = 0; u < bend_tone_[h].size(); ++u) {
            const Complex before = was != nullptr && u < was->size() ? (*was)[u] : Complex(0);
            note(std::abs(bend_tone_[h][u] - before), std::abs(bend_tone_[h][u]));
        }
    }
    return mean_stands && moved <= 0.05 * size + 1e-9;
}

std::vector<double> TwoLevel::port_means() const {
    const Wiring& b = block_.wiring();
    const auto n = static_cast<std::size_t>(b.n), steps = static_cast<std::size_t>(period_.steps);
    std::vector<double> means(ports_, 0);
    for (std::size_t p = 0; p < ports_; ++p) {
        const auto row = static_cast<std::size_t>(b.port_rows[p]);
        for (std::size_t k = 0; k < steps; ++k)
            means[p] += weighed(stage_of(period_.leaps, k), period_.inners[k * n + row], period_.ends[k * n + row]);
        means[p] /= static_cast<double>(steps);
    }
    return means;
}

/// The load is near its last: ripple goes to and fro until it stands, and with it as it stands then the block's period
/// is closed until no capacitor of it carries more direct current than the rounding of its stages. The rest is solved
/// at the volts that came out. Ripple that will not stand (the rest draws more of it than the block can give) is not
/// solved, however near its start was.
bool TwoLevel::shut(StartStep& newton) {
    constexpr double still_tone = 0.1;  // of what counted as settled
    constexpr int most = 12;
    for (int exchange = 0;; ++exchange) {
        if (!closed(newton, exchange == 0)) return false;
        if (!options_.ripple || tone_moved_ < still_tone) break;
        const double before = tone_moved_;
        hear(period_.steps);
        if (tone_moved_ > before || exchange == most || !answer(period_.steps)) return false;
    }
    volts_ = port_means();
    return solve_rest();
}

/// Rounds under the load as it stands; one at least unless it stood so before.
bool TwoLevel::closed(StartStep& newton, bool same_load) {
    constexpr int most = 12;
    constexpr double rounding_amps = 2e-12;
    double before = 1e300;
    bool chord = true;
    int stuck = 0;
    for (int round = same_load ? 1 : 0; round < most; ++round) {
        const double open = open_amps(block_.wiring(), state_.numbers.data(), options_.hertz, period_);
        if (round > 0 && open <= rounding_amps) break;
        if (!chord) newton.factor(block_.wiring(), period_.transition);
        if (!newton.ready() || (open > 0.5 * before && ++stuck > 2)) break;
        chord = open < 0.1 * before;
        before = open;
        const Eigen::VectorXd step = newton.step(period_);
        for (std::size_t s = 0; s < start_.size(); ++s) start_[s] += step[static_cast<Eigen::Index>(s)];
        std::swap(former_, period_);
        marcher_.march(1 / options_.hertz, former_.steps, start_, drawn_, !chord, &former_, period_);
        if (!period_.solved) return false;
    }
    return true;
}

/// The ripple of the block's last period.
void TwoLevel::hear(int steps) {
    const Wiring& b = block_.wiring();
    listen(steps, [&](std::size_t k, std::size_t p) {
        return period_.ends[k * static_cast<std::size_t>(b.n) + static_cast<std::size_t>(b.port_rows[p])];
    });
}

bool TwoLevel::rounds(int steps, bool last) {
    const Wiring& b = block_.wiring();
    StartStep newton;
    const double seconds = 1 / options_.hertz;
    bool chord = false;
    double before = 1e300;
    int worse = 0;
    // The harmonics of a coarser level, or of a former solution, serve at once.
    port_tone_.resize(std::min(port_tone_.size(), static_cast<std::size_t>(std::min(32, steps / 4)) * ports_));
    if (port_tone_.empty())
        drawn_.clear();
    else if (!answer(steps))
        return false;
    bool tight = last && warm_;
    for (int round = 0; round < 30; ++round) {
        ++count_;
        spent_ += static_cast<double>(steps) * b.n;
        if (spent_ > allowed_) return false;
        block_.load(current_, siemens_, volts_);
        std::swap(former_, period_);
        marcher_.march(seconds, steps, start_, drawn_, !chord, former_.steps == steps ? &former_ : nullptr, period_,
                       tight ? 1 : 1e4);
        if (!period_.solved) {
            marcher_.march(seconds, steps, start_, drawn_, !chord, nullptr, period_, 1);
            if (!period_.solved) return false;
        }
        if (chord) {
            period_.transition = former_.transition;
            period_.port_means = former_.port_means;
        } else {
            newton.factor(b, period_.transition);
        }
        if (!newton.ready()) return false;
        const Eigen::VectorXd step = newton.step(period_);
        if (!step.allFinite()) return false;
        const double moved = in_volts(b, step);
        // Port means of this course, carried to the steady state.
        double shifted = 0;
        std::vector<double> means = port_means();
        for (std::size_t p = 0; p < ports_; ++p) {
            if (step.size() > 0) means[p] += (period_.port_means.row(static_cast<Eigen::Index>(p)) * step)(0);
            shifted = std::max(shifted, std::abs(means[p] - volts_[p]));
        }
        const double change = std::max(moved, shifted);
        if (round == 0) first_change_ = change;
        if (!last && warm_ && round == 0 && change < 3) return true;
        if (!last && change < 0.5) {
            for (std::size_t s = 0; s < start_.size(); ++s) start_[s] += step[static_cast<Eigen::Index>(s)];
            volts_ = means;
            hear(steps);
            return solve_rest();
        }
        bool settled = tight && moved < 4e-3 && shifted < 5e-4;
        tight = last && change < 0.1;
        if (last && change < 5) {
            // Ripple: the rest's own answer to it, and what it bends.
            hear(steps);
            if (!answer(steps)) return false;
            const bool stands = bend();
            if (!answer_bends()) return false;
            settled = settled && tone_moved_ < 1 && stands;
        } else {
            settled = false;
        }
        if (settled) return shut(newton);
        for (std::size_t s = 0; s < start_.size(); ++s) start_[s] += step[static_cast<Eigen::Index>(s)];
        volts_ = means;
        if (!solve_rest()) return false;
        if (change > 0.5 * before && round > 6 && ++worse > 6) return false;
        chord = moved < 0.05 && (!chord || moved < 0.2 * before);
        before = change;
    }
    return false;
}

void TwoLevel::keep(Periodic& out) const {
    const Circuit::Data& data = state_.data();
    const Wiring& b = block_.wiring();
    const Wiring& r = rest_.wiring();
    const auto steps = static_cast<std::size_t>(period_.steps);
    const auto unknowns = static_cast<std::size_t>(data.unknowns());
    std::vector<double> still_part(unknowns, 0);
    for (std::size_t u = 0; u < r.full.size(); ++u)
        if (r.full[u] >= 0) still_part[static_cast<std::size_t>(r.full[u])] = x_[u];
    out.waveform.assign(steps, still_part);
    out.inner.assign(steps, still_part);
    out.leaps = period_.leaps;
    if (options_.ripple) {
        std::vector<Complex> spread(unknowns);
        for (std::size_t h = 0; h < tone_.size(); ++h) {
            if (tone_[h].empty()) continue;
            for (std::size_t u = 0; u < r.full.size(); ++u)
                if (r.full[u] >= 0) spread[static_cast<std::size_t>(r.full[u])] = tone_[h][u];
            for (std::size_t k = 0; k < steps; ++k) {
                const double angle = 2 * std::numbers::pi / static_cast<double>(steps);
                const auto place = [&](std::size_t step) {
                    return std::polar(1.0, angle * static_cast<double>((h + 1) * step % steps));
                };
                const Complex end_turn = place(k + 1),
                              within =
                                  place(k) * inner_turn(angle * static_cast<double>(h + 1), stage_of(period_.leaps, k));
                const double ce = end_turn.real(), se = end_turn.imag(), ci = within.real(), si = within.imag();
                double* end = out.waveform[k].data();
                double* inner = out.inner[k].data();
                for (std::size_t u = 0; u < unknowns; ++u) {
                    end[u] += spread[u].real() * ce - spread[u].imag() * se;
                    inner[u] += spread[u].real() * ci - spread[u].imag() * si;
                }
            }
        }
    }
    for (std::size_t k = 0; k < steps; ++k)
        for (std::size_t u = 0; u < b.full.size(); ++u) {
            const auto full = static_cast<std::size_t>(b.full[u]);
            out.waveform[k][full] = period_.ends[k * static_cast<std::size_t>(b.n) + u];
            out.inner[k][full] = period_.inners[k * static_cast<std::size_t>(b.n) + u];
        }
    out.state.assign(static_cast<std::size_t>(data.states), 0);
    const std::vector<double>& at_start = out.waveform.back();
    const auto value = [&](const Wiring& w, int local) {
        return local == w.n ? 0.0 : at_start[static_cast<std::size_t>(w.full[static_cast<std::size_t>(local)])];
    };
    for (const Wiring::State& s : r.states)
        out.state[static_cast<std::size_t>(s.full)] = value(r, s.plus) - value(r, s.minus);
    for (std::size_t s = 0; s < b.states.size(); ++s)
        out.state[static_cast<std::size_t>(b.states[s].full)] = period_.start[s];
    out.smooth.assign(out.state.size(), 0);
    for (const Wiring::State& s : r.states) out.smooth[static_cast<std::size_t>(s.full)] = 1;
    out.steps_per_period = period_.steps;
    out.period_seconds = 1 / options_.hertz;
    out.rounds = count_;
    out.period_error_volts = period_error(b, period_);
    out.stage_iterations = period_.iterations;
    out.block_nodes = b.node_rows;
    out.block_states = static_cast<int>(b.states.size());
    const bool rest_worse = rest_residual_ > period_.residual;
    out.worst_residual_amps = rest_worse ? rest_residual_ : period_.residual;
    const Wiring& where = rest_worse ? r : b;
    out.worst_node = where.full.empty()
                         ? 0
                         : where.full[static_cast<std::size_t>(rest_worse ? rest_row_ : period_.residual_row)] + 1;
    out.method = Method::two_level;
}

std::vector<double> TwoLevel::whole_state() const {
    if (!period_.solved || period_.steps == 0) return {};
    Periodic out;
    keep(out);
    return out.state;
}

std::vector<Node> TwoLevel::restless() const {
    std::vector<Node> found;
    for (std::size_t p = 0; p < ports_; ++p) {
        double sum = 0;
        for (std::size_t h = 0; h * ports_ + p < port_tone_.size(); ++h) sum += std::norm(port_tone_[h * ports_ + p]);
        if (std::sqrt(2 * sum) > still * std::abs(volts_[p]) + 0.02) found.push_back(split_.ports[p]);
    }
    return found;
}

SplitSolvers& solvers_of(Engine::State& state, const Nodes& in) {
    std::unique_ptr<SplitSolvers>& entry = state.splits[in];
    if (entry == nullptr) {
        entry = std::make_unique<SplitSolvers>();
        entry->split = cut(*state.plan, in);
        entry->block = std::make_unique<Solver>(entry->split.block);
        entry->rest = std::make_unique<Solver>(entry->split.rest);
    }
    return *entry;
}

/// A block so large leaves nothing to gain.
bool too_large(const Engine::State& state, const SplitSolvers& solvers) {
    return solvers.split.rest->linear.size() + solvers.split.rest->devices.size() == 0 ||
           4 * solvers.split.block->n > 3 * state.plan->whole->n;
}

Nodes grown(const Circuit::Data& data, const std::vector<double>& numbers, Nodes in,
            const std::vector<Node>& at_nodes) {
    const Nodes was = in;
    for (const Part& part : data.parts) {
        if (!joins_at_ripple(part, numbers.data() + part.value)) continue;
        for (const Node node : part.nodes)
            if (std::find(at_nodes.begin(), at_nodes.end(), node) != at_nodes.end()) {
                take(in, part);
                break;
            }
    }
    if (in != was) close(data, numbers, in);
    return in;
}

/// Solves with blocks that grow from `in` until one passes. True: `out` holds the waveform; `in` is the block that
/// passed.
bool solve(Engine::State& state, const PeriodicOptions& options, const std::vector<Node>& tied, Nodes& in,
           Periodic& out, std::vector<double>& start) {
    const Periodic* warm = options.warm;
    const bool warmed = warm != nullptr && warm->solved &&
                        warm->state.size() == static_cast<std::size_t>(state.data().states) &&
                        warm->means.size() == static_cast<std::size_t>(state.data().unknowns());
    // Full shooting takes about ten periods of the whole: what costs more than half of that is not worth going on with.
    double allowed = 5.0 * std::max(options.steps, 16) * state.plan->whole->n;
    for (int stage = 0; stage < 4; ++stage) {
        SplitSolvers& solvers = solvers_of(state, in);
        if (too_large(state, solvers)) return false;
        for (int attempt = warmed ? 0 : 1; attempt < 2; ++attempt) {
            TwoLevel problem(state, solvers, options, tied, allowed);
            if (attempt == 0) problem.warm(*warm);
            Verdict verdict = problem.run(attempt == 1);
            allowed -= problem.spent();
            if (verdict == Verdict::solved) {
                problem.keep(out);
                // The block knows its ports by its steps, the rest by harmonics: where a course is too sharp for
                // either, they count different watts there, and the block must be larger.
                if (!options.ripple || balance_of(state.data(), state.numbers, out).energy_holds()) return true;
                verdict = Verdict::grow;
            }
            if (verdict != Verdict::solved && allowed <= 0) {
                if (verdict == Verdict::grow) start = problem.whole_state();
                return false;
            }
            if (verdict == Verdict::grow || attempt == 1) {
                if (verdict == Verdict::grow) start = problem.whole_state();
                const std::vector<Node> nodes = problem.restless();
                const Nodes next = grown(state.data(), state.numbers, in, nodes);
                if (nodes.empty() || next == in) return false;
                in = next;
                break;
            }
        }
    }
    return false;
}

/// The block at the circuit's own values, chosen once: the least one, grown until it passes.
void choose(Plan& plan) {
    Engine::State scratch;
    scratch.plan = std::shared_ptr<Plan>(&plan, [](Plan*) {});
    scratch.whole = std::make_unique<Solver>(plan.whole);
    scratch.tie = true;
    scratch.numbers = plan.data->values;
    double hertz = 0;
    for (const Part& part : plan.data->parts)
        if (part.kind == Kind::voltage_source && part.waveform.hertz > 0)
            hertz = hertz == 0 ? part.waveform.hertz : std::min(hertz, part.waveform.hertz);
    if (hertz == 0) return;
    const Nodes least = least_block(scratch, hertz);
    if (least.empty()) return;
    plan.block = least;
    if (examine(*plan.data, scratch.numbers, true).kind != Trouble::Kind::none) return;
    std::vector<Node> tied;
    for (const auto& group : islands(*plan.data, scratch.numbers, false)) tied.push_back(group.front());
    PeriodicOptions options;
    options.hertz = hertz;
    options.steps = 32;
    options.ripple = false;
    Periodic out;
    std::vector<double> start;
    Nodes in = least;
    if (solve(scratch, options, tied, in, out, start)) plan.block = in;
}

}  // namespace

bool two_level(Engine::State& state, const PeriodicOptions& options, const std::vector<Node>& tied, Periodic& out,
               std::vector<double>& start) {
    Plan& plan = *state.plan;
    std::call_once(plan.chosen, [&] { choose(plan); });
    if (plan.block.empty()) return false;
    Nodes in = plan.block;
    close(state.data(), state.numbers, in);
    if (!solve(state, options, tied, in, out, start)) return false;
    summarise(state.data(), state.numbers, out);
    return true;
}

}  // namespace tubewright::circuit
