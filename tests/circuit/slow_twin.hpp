// SPDX-License-Identifier: MIT
// A slow, obvious twin of the periodic solver for any circuit: the equations stamped anew, one row after the other, and
// run as a plain transient from a start far off, with backward differences of the second order and small steps, until
// cycle after cycle is the same. Of the library it takes the list of parts with their numbers and the laws of the
// devices; no solver, no step, no figure of a course.
//
//     SlowTwin twin(circuit, overrides, 60);
//     twin.start(0);                       // every capacitor empty, no current in any coil
//     twin.settle(128, 600, 1e-5);         // cycles of 128 steps until they repeat
//     const Record seen = twin.record(512);
#pragma once

#include <Eigen/Sparse>
#include <Eigen/SparseLU>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <span>
#include <stdexcept>
#include <vector>

#include "circuit/islands.hpp"
#include "circuit/parts.hpp"

namespace slow {

using namespace tubewright::circuit;

struct Figures {
    double mean = 0, square = 0, low = 1e300, high = -1e300;
    void add(double value, int steps) {
        mean += value / steps;
        square += value * value / steps;
        low = std::min(low, value);
        high = std::max(high, value);
    }
    double rms() const { return std::sqrt(square); }
    double peak() const { return std::max(high, -low); }
};

/// One cycle: node volts, branch currents (by unknown), and the currents into the terminals of the devices.
struct Record {
    std::vector<Figures> unknowns;
    std::vector<std::vector<Figures>> devices;  ///< by part, by terminal but the last
    const Figures& volts(Node node) const { return unknowns[static_cast<std::size_t>(node) - 1]; }
};

class SlowTwin {
  public:
    SlowTwin(const Circuit& circuit, std::span<const Override> overrides, double hertz)
        : data_(circuit.data()), hertz_(hertz), n_(data_.unknowns()) {
        apply(data_, overrides, numbers_);
        for (const auto& island : islands(data_, numbers_, false)) tied_.push_back(island.front());
        x_ = before_ = Eigen::VectorXd::Zero(n_);
    }

    /// Sets the state: `share` of the given one (by state of the circuit), or nothing at all.
    void start(double share, const std::vector<double>& state = {}) {
        held_.assign(static_cast<std::size_t>(data_.states), 0);
        for (std::size_t s = 0; s < state.size(); ++s) held_[s] = share * state[s];
        older_ = held_;
        x_.setZero();
        before_.setZero();
        fresh_ = true;
    }

    /// Cycles of `steps` until the mean of every node but `creeping` moves by less than `still` of itself (and of a
    /// volt) in twenty of them. False: not within the most.
    bool settle(int steps, int most, double still, const std::vector<Node>& creeping = {}) {
        std::vector<double> former, now;
        for (int cycles = 1; cycles <= most; ++cycles) {
            cycle(steps, nullptr, &now);
            if (cycles % 20 != 0) continue;
            for (const Node node : creeping) now[static_cast<std::size_t>(node) - 1] = 0;
            double moved = former.empty() ? 1e300 : 0;
            for (std::size_t k = 0; k < former.size(); ++k)
                moved = std::max(moved, std::abs(now[k] - former[k]) / (1 + std::abs(now[k])));
            former = now;
            if (moved < still) return true;
        }
        return false;
    }

    Record record(int steps) {
        Record seen;
        cycle(steps, &seen, nullptr);
        return seen;
    }

  private:
    double value(const Part& part, int offset) const { return numbers_[static_cast<std::size_t>(part.value + offset)]; }
    static double conducts(double ohms) { return ohms < 1e300 ? 1 / std::max(ohms, 1e-4) : 0; }
    int row(Node node) const { return node - 1; }  // -1: the reference
    int branch(const Part& part, int k) const { return data_.branch_unknown(part.branch + k); }
    double across(const Eigen::VectorXd& x, const Part& part, std::size_t a, std::size_t b) const {
        const double plus = part.nodes[a] == ground ? 0 : x[row(part.nodes[a])];
        return plus - (part.nodes[b] == ground ? 0 : x[row(part.nodes[b])]);
    }

    void put(int r, int c, double a) {
        if (r >= 0 && c >= 0) stamps_.emplace_back(r, c, a);
    }
    void across_two(Node a, Node b, double siemens) {
        put(row(a), row(a), siemens);
        put(row(a), row(b), -siemens);
        put(row(b), row(a), -siemens);
        put(row(b), row(b), siemens);
    }
    /// A current unknown `i` from a to b; its own row begins with the volts from a to b.
    void current_of(Node a, Node b, int i) {
        put(row(a), i, 1);
        put(row(b), i, -1);
        put(i, row(a), 1);
        put(i, row(b), -1);
    }

    /// The rows that are straight lines; d/dt is `rate` times the value less what the past makes of it.
    void stamp(double rate) {
        stamps_.clear();
        for (const Part& part : data_.parts) switch (part.kind) {
                case Kind::resistor:
                    across_two(part.nodes[0], part.nodes[1], conducts(value(part, at::ohms)));
                    break;
                case Kind::conductance:
                    across_two(part.nodes[0], part.nodes[1], std::clamp(value(part, at::siemens), 0.0, 1e4));
                    break;
                case Kind::capacitor:
                    across_two(part.nodes[0], part.nodes[1],
                               std::clamp(value(part, at::leak), 0.0, 1e4) + rate * value(part, at::farads));
                    break;
                case Kind::voltage_source:
                    current_of(part.nodes[0], part.nodes[1], branch(part, 0));
                    break;
                case Kind::current_source:
                    break;
                case Kind::inductor: {
                    const int i = branch(part, 0);
                    if (conducts(value(part, at::series)) == 0) {
                        put(i, i, 1);
                        break;
                    }
                    current_of(part.nodes[0], part.nodes[1], i);
                    put(i, i, -value(part, at::series) - rate * value(part, at::henries));
                    break;
                }
                case Kind::transformer: {
                    const auto windings = static_cast<int>(part.turns.size());
                    const int turn = branch(part, windings), iron = branch(part, windings + 1);
                    const double first = part.turns[0];
                    for (int w = 0; w < windings; ++w) {
                        const int i = branch(part, w);
                        const double ohms = value(part, at::copper + w);
                        if (conducts(ohms) == 0) {
                            put(i, i, 1);
                            continue;
                        }
                        const auto k = static_cast<std::size_t>(w);
                        current_of(part.nodes[2 * k], part.nodes[2 * k + 1], i);
                        put(i, i, -ohms);
                        put(i, turn, -part.turns[k]);
                        put(turn, i, part.turns[k]);  // ampere-turns
                    }
                    put(turn, iron, -first);
                    if (value(part, at::loss) > 0) put(turn, turn, -first * first / value(part, at::loss));
                    const double henries = value(part, at::magnetising);
                    if (henries > 0 && henries < 1e300) {
                        put(iron, turn, first);
                        put(iron, iron, -rate * henries);
                    } else {
                        put(iron, iron, 1);
                    }
                    break;
                }
                case Kind::device:
                    for (std::size_t k = 0; k + 1 < part.nodes.size(); ++k)
                        across_two(part.nodes[k], part.nodes.back(), 1e-12);
                    break;
            }
        for (const Node node : tied_) put(row(node), row(node), 1e-6);
        for (int k = 0; k < n_; ++k) put(k, k, 0);
        straight_.resize(n_, n_);
        straight_.setFromTriplets(stamps_.begin(), stamps_.end());
    }

    /// Sources and the past: the right-hand side at `turn` cycles.
    Eigen::VectorXd driven(double turn, double rate) const {
        Eigen::VectorXd right = Eigen::VectorXd::Zero(n_);
        const auto into = [&](Node node, double amps) {
            if (node != ground) right[row(node)] += amps;
        };
        for (const Part& part : data_.parts) {
            const double past = part.state < 0 ? 0 : rate * past_[static_cast<std::size_t>(part.state)];
            if (part.kind == Kind::voltage_source) {
                const Waveform& wave = part.waveform;
                const double phase = 2 * std::numbers::pi * wave.hertz / hertz_ * turn + wave.phase;
                right[branch(part, 0)] =
                    value(part, at::direct) + value(part, at::amplitude) * (wave.hertz > 0 ? std::cos(phase) : 1);
            } else if (part.kind == Kind::current_source) {
                into(part.nodes[0], -value(part, at::direct));
                into(part.nodes[1], value(part, at::direct));
            } else if (part.kind == Kind::capacitor) {
                into(part.nodes[0], value(part, at::farads) * past);
                into(part.nodes[1], -value(part, at::farads) * past);
            } else if (part.kind == Kind::inductor && conducts(value(part, at::series)) > 0) {
                right[branch(part, 0)] = -value(part, at::henries) * past;
            } else if (part.kind == Kind::transformer) {
                const double henries = value(part, at::magnetising);
                if (henries > 0 && henries < 1e300) right[branch(part, part.branches - 1)] = -henries * past;
            }
        }
        return right;
    }

    /// Calls take(part number, amperes into the terminals, slopes) of each device at x.
    template <class Take>
    void devices(const Eigen::VectorXd& x, double turn, const Take& take) const {
        for (std::size_t p = 0; p < data_.parts.size(); ++p) {
            const Part& part = data_.parts[p];
            if (part.kind != Kind::device) continue;
            double volts[8] = {}, amps[8] = {}, gains[64] = {};
            const std::size_t last = part.nodes.size() - 1;
            for (std::size_t k = 0; k < last; ++k) volts[k] = across(x, part, k, last);
            evaluate(part, numbers_.data() + part.value, turn, volts, amps, gains);
            take(p, amps, gains);
        }
    }

    void add_devices(Eigen::VectorXd& rest, double turn) const {
        devices(x_, turn, [&](std::size_t p, const double* amps, const double*) {
            const Part& part = data_.parts[p];
            for (std::size_t k = 0; k + 1 < part.nodes.size(); ++k) {
                if (part.nodes[k] != ground) rest[row(part.nodes[k])] += amps[k];
                if (part.nodes.back() != ground) rest[row(part.nodes.back())] -= amps[k];
            }
        });
    }

    void factor(double turn) {
        const std::size_t straight = stamps_.size();
        devices(x_, turn, [&](std::size_t p, const double*, const double* gains) {
            const Part& part = data_.parts[p];
            const std::size_t m = part.nodes.size() - 1;
            for (std::size_t k = 0; k < m; ++k)
                for (std::size_t j = 0; j < m; ++j) {
                    const double g = gains[k * m + j];
                    put(row(part.nodes[k]), row(part.nodes[j]), g);
                    put(row(part.nodes[k]), row(part.nodes[m]), -g);
                    put(row(part.nodes[m]), row(part.nodes[j]), -g);
                    put(row(part.nodes[m]), row(part.nodes[m]), g);
                }
        });
        Eigen::SparseMatrix<double> slope(n_, n_);
        slope.setFromTriplets(stamps_.begin(), stamps_.end());
        stamps_.resize(straight);
        if (!ordered_) lu_.analyzePattern(slope);
        ordered_ = true;
        lu_.factorize(slope);
        if (lu_.info() != Eigen::Success) throw std::runtime_error("the slow twin's equations are singular");
    }

    /// Newton's method, with the slopes at hand as long as they serve.
    void solve(double turn, double rate) {
        const Eigen::VectorXd right = driven(turn, rate);
        double former = 1e300;
        for (int round = 0; round < 400; ++round) {
            Eigen::VectorXd rest = straight_ * x_ - right;
            add_devices(rest, turn);
            if (!lasting_) factor(turn);
            lasting_ = true;
            const Eigen::VectorXd step = lu_.solve(rest);
            const double moved = step.lpNorm<Eigen::Infinity>();
            if (!std::isfinite(moved)) throw std::runtime_error("the slow twin's Newton steps have run away");
            if (moved > 0.2 * former || moved > 20) lasting_ = false;
            x_ -= (moved > 60 ? 60 / moved : 1.0) * step;
            // what hangs by a faint conductance has volts no better than rounding over it
            if (moved < 1e-8 || (round > 2 && moved < 1e-4 && moved > 0.3 * former)) return;
            former = moved;
        }
        throw std::runtime_error("the slow twin's step has no solution");
    }

    void cycle(int steps, Record* seen, std::vector<double>* means) {
        if (steps != steps_) fresh_ = true;
        steps_ = steps;
        const double h = 1 / (hertz_ * steps);
        if (seen != nullptr) {
            seen->unknowns.assign(static_cast<std::size_t>(n_), {});
            seen->devices.assign(data_.parts.size(), {});
        }
        Eigen::VectorXd sum = Eigen::VectorXd::Zero(n_);
        for (int k = 1; k <= steps; ++k) {
            const double rate = (fresh_ ? 1.0 : 1.5) / h;
            if (rate != rate_) {
                stamp(rate);
                lasting_ = false;
                rate_ = rate;
            }
            past_ = held_;
            if (!fresh_)
                for (std::size_t s = 0; s < held_.size(); ++s) past_[s] = (2 * held_[s] - 0.5 * older_[s]) / 1.5;
            const Eigen::VectorXd last = x_;
            if (!fresh_) x_ += x_ - before_;
            before_ = last;
            const double turn = static_cast<double>(k) / steps;
            solve(turn, rate);
            older_ = held_;
            for (const Part& part : data_.parts) {
                if (part.state < 0) continue;
                held_[static_cast<std::size_t>(part.state)] =
                    part.kind == Kind::capacitor ? across(x_, part, 0, 1) : x_[branch(part, part.branches - 1)];
            }
            fresh_ = false;
            sum += x_;
            if (seen == nullptr) continue;
            for (int u = 0; u < n_; ++u) seen->unknowns[static_cast<std::size_t>(u)].add(x_[u], steps);
            devices(x_, turn, [&](std::size_t p, const double* amps, const double*) {
                seen->devices[p].resize(data_.parts[p].nodes.size() - 1);
                for (std::size_t t = 0; t < seen->devices[p].size(); ++t) seen->devices[p][t].add(amps[t], steps);
            });
        }
        if (means == nullptr) return;
        means->resize(data_.names.size() - 1);
        for (std::size_t k = 0; k < means->size(); ++k) (*means)[k] = sum[static_cast<Eigen::Index>(k)] / steps;
    }

    const Circuit::Data& data_;
    std::vector<double> numbers_;
    double hertz_ = 60;
    int n_ = 0;
    std::vector<Node> tied_;
    Eigen::VectorXd x_, before_;
    std::vector<double> held_, older_, past_;
    std::vector<Eigen::Triplet<double>> stamps_;
    Eigen::SparseMatrix<double> straight_;
    Eigen::SparseLU<Eigen::SparseMatrix<double>> lu_;
    bool fresh_ = true, ordered_ = false, lasting_ = false;
    double rate_ = 0;
    int steps_ = 0;
};

}  // namespace slow
