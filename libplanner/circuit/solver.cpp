// SPDX-License-Identifier: MIT
// Assembly, factors, Newton. See solver.hpp.
#include "circuit/solver.hpp"

#include <klu.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

namespace tubewright::circuit {

namespace {

constexpr double tie_siemens = 1e-6;
constexpr double rounding = 1e-15;

klu_common* common_of(void* p) {
    return static_cast<klu_common*>(p);
}
klu_numeric* numeric_of(void* p) {
    return static_cast<klu_numeric*>(p);
}
klu_symbolic* symbolic_of(const Wiring& wiring) {
    return static_cast<klu_symbolic*>(wiring.symbolic);
}

}  // namespace

Solver::Solver(std::shared_ptr<const Wiring> wiring) : wiring_(std::move(wiring)) {
    const auto size = static_cast<std::size_t>(wiring_->n) + 1;
    const auto entries = static_cast<std::size_t>(wiring_->nonzeros()) + 1;
    base_matrix_.resize(entries);
    matrix_.resize(entries);
    row_sum_.resize(size);
    constant_.resize(size);
    right_.resize(size);
    f_.resize(size);
    step_.resize(size);
    gain_.resize(static_cast<std::size_t>(wiring_->gains));
    factored_gain_.resize(gain_.size());
    state_weight_.resize(wiring_->states.size());
    imposed_.resize(wiring_->port_nodes.size());
    common_ = new klu_common;
    klu_defaults(common_of(common_));
}

Solver::~Solver() {
    drop();
    delete common_of(common_);
    if (complex_common_ != nullptr) {
        auto* numeric = numeric_of(complex_numeric_);
        klu_z_free_numeric(&numeric, common_of(complex_common_));
        delete common_of(complex_common_);
    }
}

void Solver::drop() {
    auto* numeric = numeric_of(numeric_);
    klu_free_numeric(&numeric, common_of(common_));
    numeric_ = nullptr;
    stale_ = true;
}

void Solver::values(const double* numbers, double hertz, std::vector<Node> tied) {
    numbers_ = numbers;
    hertz_ = hertz;
    tied_ = std::move(tied);
    port_current_.clear();
    injected_.clear();
    iterations = factorisations = 0;
    singular_unknown = -1;
    complex_afresh_ = true;
    drop();
}

void Solver::load(const std::vector<double>& current, const std::vector<double>& siemens,
                  const std::vector<double>& volts) {
    const std::size_t ports = current.size();
    port_siemens_ = siemens;
    port_current_ = current;
    for (std::size_t p = 0; p < ports; ++p)
        for (std::size_t q = 0; q < ports; ++q) port_current_[p] -= siemens[p * ports + q] * volts[q];
}

void Solver::assemble(double rate) {
    const Wiring& w = *wiring_;
    rate_ = rate;
    stale_ = true;
    std::fill(base_matrix_.begin(), base_matrix_.end(), 0.0);
    std::fill(constant_.begin(), constant_.end(), 0.0);
    double* a = base_matrix_.data();
    for (const Wiring::Stamp& stamp : w.linear) {
        const Part& part = w.data->parts[static_cast<std::size_t>(stamp.part)];
        const double* v = numbers_ + part.value;
        const int* s = w.slots.data() + stamp.slot;
        const int* r = w.rows.data() + stamp.row;
        const auto across = [&](double g) {
            a[s[0]] += g;
            a[s[1]] -= g;
            a[s[2]] -= g;
            a[s[3]] += g;
        };
        // A branch of ohms: ends in its row, its current in the rows of the ends. An open one has no current.
        const auto branch = [&](const int* t, double ohms, double reactance) {
            a[t[0]] += 1;
            a[t[1]] -= 1;
            const bool open = siemens_of(ohms) == 0;
            a[t[2]] += open ? 0 : 1;
            a[t[3]] -= open ? 0 : 1;
            a[t[4]] -= open ? 1 : ohms + reactance;
            return !open;
        };
        switch (part.kind) {
            case Kind::resistor:
                across(siemens_of(v[at::ohms]));
                break;
            case Kind::conductance:
                across(bounded_siemens(v[at::siemens]));
                break;
            case Kind::capacitor:
                across(bounded_siemens(v[at::leak]) + v[at::farads] * rate);
                break;
            case Kind::inductor:
                branch(s, v[at::series], v[at::henries] * rate);
                break;
            case Kind::voltage_source:
                a[s[0]] += 1;
                a[s[1]] -= 1;
                a[s[2]] += 1;
                a[s[3]] -= 1;
                break;
            case Kind::current_source:
                constant_[static_cast<std::size_t>(r[0])] -= v[at::direct];
                constant_[static_cast<std::size_t>(r[1])] += v[at::direct];
                break;
            case Kind::transformer: {
                const auto windings = part.turns.size();
                for (std::size_t k = 0; k < windings; ++k) {
                    const double ohms = v[static_cast<std::size_t>(at::copper) + k];
                    const int* t = s + 7 * k;
                    const bool closed = branch(t, rate == 0 ? std::max(ohms, least_ohms) : ohms, 0);
                    a[t[5]] -= closed ? part.turns[k] : 0;
                    a[t[6]] += part.turns[k];
                }
                const int* t = s + 7 * windings;
                const double n1 = part.turns[0];
                const bool none = rate > 0 && endless(v[at::magnetising]);
                a[t[0]] -= n1;
                if (v[at::loss] > 0) a[t[1]] -= n1 * n1 / v[at::loss];
                a[t[2]] += none ? 0 : n1;
                a[t[3]] += none ? 1 : -v[at::magnetising] * rate;
                if (rate == 0) a[t[3]] = 0;
                break;
            }
            case Kind::device:
                break;
        }
    }
    for (std::size_t k = 0; k < w.states.size(); ++k) {
        const Wiring::State& state = w.states[k];
        const Part& part = w.data->parts[static_cast<std::size_t>(state.part)];
        const double value = numbers_[state.value];
        if (state.volts)
            state_weight_[k] = value * rate;
        else if (part.kind == Kind::transformer)
            state_weight_[k] = endless(value) ? 0 : -value * rate;
        else
            state_weight_[k] = siemens_of(numbers_[part.value + at::series]) == 0 ? 0 : -value * rate;
    }
    for (const Node node : tied_)
        if (w.local[static_cast<std::size_t>(node)] >= 0)
            a[w.diagonal[static_cast<std::size_t>(w.local[static_cast<std::size_t>(node)])]] += tie_siemens;
    for (const Wiring::Device& device : w.devices) {
        const int* s = w.slots.data() + device.slot;
        const int m = device.terminals;
        for (int k = 0; k + 1 < m; ++k) {
            a[s[k * m + k]] += device_shunt;
            a[s[k * m + m - 1]] -= device_shunt;
            a[s[(m - 1) * m + k]] -= device_shunt;
            a[s[(m - 1) * m + m - 1]] += device_shunt;
        }
    }
    for (std::size_t k = 0; k < injected_.size(); ++k) constant_[k] -= injected_[k];
    const std::size_t ports = w.port_nodes.size();
    if (w.kind == Ports::norton && port_current_.size() == ports)
        for (std::size_t p = 0; p < ports; ++p) {
            constant_[static_cast<std::size_t>(w.port_rows[p])] -= port_current_[p];
            for (std::size_t q = 0; q < ports; ++q) a[w.port_slots[p * ports + q]] += port_siemens_[p * ports + q];
        }
    if (w.kind == Ports::imposed)
        for (std::size_t p = 0; p < ports; ++p) {
            a[w.port_slots[2 * p]] -= 1;
            a[w.port_slots[2 * p + 1]] += 1;
        }

    std::fill(row_sum_.begin(), row_sum_.end(), 0.0);
    for (int c = 0; c < w.n; ++c)
        for (int p = w.column[static_cast<std::size_t>(c)]; p < w.column[static_cast<std::size_t>(c) + 1]; ++p)
            row_sum_[static_cast<std::size_t>(w.row[static_cast<std::size_t>(p)])] +=
                std::abs(a[static_cast<std::size_t>(p)]);
}

void Solver::instant(double turn, const double* base, const double* drawn, double scale) {
    const Wiring& w = *wiring_;
    turn_ = rate_ == 0 ? -1 : turn;
    if (scale == 1)
        std::copy(constant_.begin(), constant_.end(), right_.begin());
    else
        for (std::size_t k = 0; k < right_.size(); ++k) right_[k] = scale * constant_[k];
    for (const Wiring::Stamp& stamp : w.linear) {
        const Part& part = w.data->parts[static_cast<std::size_t>(stamp.part)];
        if (part.kind != Kind::voltage_source) continue;
        const double* v = numbers_ + part.value;
        right_[static_cast<std::size_t>(w.rows[static_cast<std::size_t>(stamp.row) + 2])] =
            scale * (rate_ == 0 ? v[at::direct] : source_value(part.waveform, v, hertz_, turn));
    }
    if (w.kind == Ports::imposed)
        for (std::size_t p = 0; p < w.port_nodes.size(); ++p)
            right_[static_cast<std::size_t>(w.port_branches[p])] = scale * imposed_[p];
    if (drawn != nullptr)
        for (std::size_t p = 0; p < w.port_nodes.size(); ++p)
            right_[static_cast<std::size_t>(w.port_rows[p])] -= drawn[p];
    if (base != nullptr)
        for (std::size_t k = 0; k < w.states.size(); ++k) {
            const double amps = state_weight_[k] * base[k];
            right_[static_cast<std::size_t>(w.states[k].into)] += amps;
            right_[static_cast<std::size_t>(w.states[k].from)] -= amps;
        }
}

double Solver::evaluate(const double* x, const How& how) {
    const Wiring& w = *wiring_;
    double* f = f_.data();
    const auto n = static_cast<std::size_t>(w.n);
    for (std::size_t k = 0; k <= n; ++k) f[k] = -right_[k];
    const int* row = w.row.data();
    const int* column = w.column.data();
    const double* a = base_matrix_.data();
    double largest = 0;
    for (std::size_t c = 0; c < n; ++c) {
        const double xc = x[c];
        largest = std::max(largest, std::abs(xc));
        for (int p = column[c]; p < column[c + 1]; ++p) f[row[p]] += a[p] * xc;
    }
    for (const Wiring::Device& device : w.devices) {
        const Part& part = w.data->parts[static_cast<std::size_t>(device.part)];
        const int* r = w.rows.data() + device.row;
        const int m = device.terminals - 1;
        double volts[8] = {}, amps[8] = {};
        const double common = x[r[m]];
        for (int k = 0; k < m; ++k) volts[k] = x[r[k]] - common;
        circuit::evaluate(part, numbers_ + device.law_value, turn_, volts, amps, gain_.data() + device.gain);
        double sum = 0;
        for (int k = 0; k < m; ++k) {
            f[r[k]] += amps[k];
            sum += amps[k];
        }
        f[r[m]] -= sum;
    }
    const auto nodes = static_cast<std::size_t>(w.node_rows);
    if (how.gmin > 0)
        for (std::size_t k = 0; k < nodes; ++k) f[k] += how.gmin * x[k];
    if (how.anchor > 0)
        for (std::size_t k = 0; k < nodes; ++k) f[k] += how.anchor * (x[k] - how.anchored[k]);
    f[n] = 0;
    // In units of what counts as solved: 1e-11 A (or V in a branch row) above the rounding of the row itself.
    double norm = 0, sum = 0;
    for (std::size_t k = 0; k < n; ++k) {
        sum += std::abs(f[k]);
        const double floor = 1e-11 + rounding * row_sum_[k] * largest;
        if (!(std::abs(f[k]) <= norm * floor)) norm = std::abs(f[k]) / floor;
    }
    return sum < 1e300 ? norm : 1e301;  // also when a law has gone wrong
}

bool Solver::factor(const How& how, bool afresh) {
    const Wiring& w = *wiring_;
    if (w.symbolic == nullptr) return false;
    std::copy(base_matrix_.begin(), base_matrix_.end(), matrix_.begin());
    double* a = matrix_.data();
    for (const Wiring::Device& device : w.devices) {
        const int* s = w.slots.data() + device.slot;
        const double* g = gain_.data() + device.gain;
        const int m = device.terminals;
        double corner = 0;
        double below[8] = {};
        for (int k = 0; k + 1 < m; ++k) {
            double sum = 0;
            for (int j = 0; j + 1 < m; ++j) {
                const double gkj = g[k * (m - 1) + j];
                a[s[k * m + j]] += gkj;
                below[j] += gkj;
                sum += gkj;
            }
            a[s[k * m + m - 1]] -= sum;
            corner += sum;
        }
        for (int j = 0; j + 1 < m; ++j) a[s[(m - 1) * m + j]] -= below[j];
        a[s[m * m - 1]] += corner;
    }
    if (how.gmin + how.anchor > 0)
        for (const int slot : w.diagonal) a[slot] += how.gmin + how.anchor;

    auto* common = common_of(common_);
    ++factorisations;
    bool good = false;
    if (numeric_ != nullptr && !afresh) {
        good = klu_refactor(const_cast<int*>(w.column.data()), const_cast<int*>(w.row.data()), a, symbolic_of(w),
                            numeric_of(numeric_), common) != 0 &&
               common->status == KLU_OK;
        if (good) {
            klu_rcond(symbolic_of(w), numeric_of(numeric_), common);
            good = common->rcond > 1e-18;
        }
    }
    if (!good) {
        drop();
        numeric_ =
            klu_factor(const_cast<int*>(w.column.data()), const_cast<int*>(w.row.data()), a, symbolic_of(w), common);
        if (numeric_ == nullptr || common->status != KLU_OK) {
            singular_unknown = common->singular_col < w.n ? common->singular_col : -1;
            drop();
            return false;
        }
    }
    std::copy(gain_.begin(), gain_.end(), factored_gain_.begin());
    // Factors with helping conductances are not those of the network itself.
    stale_ = how.gmin + how.anchor > 0;
    return true;
}

bool Solver::newton(std::vector<double>& x, const How& how) {
    const Wiring& w = *wiring_;
    const auto n = static_cast<std::size_t>(w.n);
    const auto nodes = static_cast<std::size_t>(w.node_rows);
    x[n] = 0;
    double former = 0, moved = 0, damp = 1;
    bool exact = false;
    for (int round = 0; round < how.limit; ++round) {
        double norm = evaluate(x.data(), how);
        // Steps that go to and fro over a cut-off are halved until they gain something; near the balance, where a step
        // moves what hangs by a faint conductance and no residual tells, they are let be.
        const bool far = !(norm < 1e3);
        for (int halved = 0; far && how.volts > 0 && round >= 8 && halved < 8 && !(norm < former); ++halved) {
            damp *= 0.5;
            for (std::size_t k = 0; k < n; ++k) x[k] += damp * step_[k];
            norm = evaluate(x.data(), how);
        }
        if (!(norm < 1e300)) return false;
        double largest = 1;
        for (std::size_t k = 0; k < nodes; ++k) largest = std::max(largest, std::abs(x[k]));
        if (round > 0 && norm <= how.loose && moved <= (how.loose > 1 ? 1e-4 : 1e-6) * largest) return true;
        // At the floor of rounding: neither the step nor the residual can get smaller.
        if (round > 6 && exact && moved <= 1e-11 * largest && norm < 1e4) return true;
        // Currents balance, but a part that hangs by a faint conductance has volts no better than rounding over it.
        if (round > 6 && exact && norm <= 0.1 && norm > 0.1 * former && moved <= 1e-6 * largest) return true;
        const bool keep = how.reuse && !stale_ && numeric_ != nullptr && (round == 0 || norm < 0.03 * former);
        if (!keep) {
            // Old pivots that made things worse are given up.
            if (!factor(how, exact && round > 1 && norm > former && former > 1)) return false;
            exact = true;
        }
        former = norm;
        std::copy(f_.begin(), f_.end(), step_.begin());
        solve(step_.data(), 1);
        damp = 1;
        if (how.volts > 0) {
            double across = 0;
            for (const Wiring::Device& device : w.devices) {
                const int* r = w.rows.data() + device.row;
                const int m = device.terminals - 1;
                for (int k = 0; k < m; ++k)
                    across = std::max(across, std::abs(step_[static_cast<std::size_t>(r[k])] -
                                                       step_[static_cast<std::size_t>(r[m])]));
            }
            if (across > how.volts) damp = how.volts / across;
        }
        moved = 0;
        for (std::size_t k = 0; k < n; ++k) x[k] -= damp * step_[k];
        for (std::size_t k = 0; k < nodes; ++k) moved = std::max(moved, std::abs(step_[k]));
        ++iterations;
    }
    return false;
}

bool Solver::linearise(const std::vector<double>& x) {
    const How how;
    return evaluate(x.data(), how) < 1e300 && factor(how, false);
}

void Solver::make_passive() {
    constexpr double siemens = 1e-5;
    for (const Wiring::Device& device : wiring_->devices) {
        const int m = device.terminals - 1;
        for (int k = 0; k < m; ++k)
            for (int j = 0; j < m; ++j) gain_[static_cast<std::size_t>(device.gain + k * m + j)] = k == j ? siemens : 0;
    }
}

bool Solver::linearise_passive() {
    make_passive();
    return factor(How{}, true);
}

namespace {

/// 1 or -1: of the order in which rows and columns are eliminated; a ring of an even number of them turns the sign.
int sign_of(const int* order, int n) {
    int sign = 1;
    std::vector<char> seen(static_cast<std::size_t>(n), 0);
    for (int k = 0; k < n; ++k)
        for (int at = order[k], length = 1; seen[static_cast<std::size_t>(k)] == 0; at = order[at], ++length) {
            if (at == k) {
                seen[static_cast<std::size_t>(k)] = 1;
                if (length % 2 == 0) sign = -sign;
                break;
            }
            seen[static_cast<std::size_t>(at)] = 1;
        }
    return sign;
}

}  // namespace

int Solver::determinant_sign() const {
    const klu_numeric& lu = *numeric_of(numeric_);
    const auto* pivots = static_cast<const double*>(lu.Udiag);
    const int n = wiring_->n;
    int sign = sign_of(lu.Pnum, n) * sign_of(symbolic_of(*wiring_)->Q, n);
    for (int k = 0; k < n; ++k) sign = pivots[k] < 0 ? -sign : sign;
    return sign;
}

double Solver::determinant_angle() const {
    const klu_numeric& lu = *numeric_of(complex_numeric_);
    const auto* pivots = static_cast<const double*>(lu.Udiag);  // real and imaginary in turn
    const int n = wiring_->n;
    double angle = sign_of(lu.Pnum, n) * sign_of(symbolic_of(*wiring_)->Q, n) < 0 ? std::numbers::pi : 0;
    for (int k = 0; k < n; ++k) angle += std::atan2(pivots[2 * k + 1], pivots[2 * k]);
    return angle;
}

bool Solver::sharpen() {
    if (stale_ || numeric_ == nullptr) return factor(How{}, false);
    for (std::size_t k = 0; k < gain_.size(); ++k)
        if (std::abs(gain_[k] - factored_gain_[k]) > 1e-10 + 1e-4 * std::abs(gain_[k])) return factor(How{}, false);
    return true;
}

void Solver::solve(double* columns, int count) const {
    const int stride = wiring_->n + 1;
    klu_solve(symbolic_of(*wiring_), numeric_of(numeric_), stride, count, columns, common_of(common_));
    for (int c = 0; c < count; ++c) columns[static_cast<std::ptrdiff_t>(c) * stride + wiring_->n] = 0;
}

void Solver::solve_transposed(double* column) const {
    klu_tsolve(symbolic_of(*wiring_), numeric_of(numeric_), wiring_->n, 1, column, common_of(common_));
    column[wiring_->n] = 0;
}

void Solver::hold_rectifiers(double siemens) {
    for (const Wiring::Device& device : wiring_->devices) {
        if (!wiring_->data->parts[static_cast<std::size_t>(device.part)].rectifies) continue;
        const int m = device.terminals - 1;
        for (int k = 0; k < m; ++k)
            for (int j = 0; j < m; ++j)
                gain_[static_cast<std::size_t>(device.gain + k * m + j)] = k == 0 && j == 0 ? siemens : 0;
    }
}

void Solver::mute_rectifiers() {
    hold_rectifiers(0);
}

bool Solver::linearise_at(double hertz) {
    const Wiring& w = *wiring_;
    if (w.symbolic == nullptr) return false;
    const double omega = 2 * std::numbers::pi * hertz;
    if (rate_ != 0) return false;
    // The direct-current matrix with the devices, then the reactances.
    const int entries = w.nonzeros();
    complex_.assign(static_cast<std::size_t>(entries) + 1, {});
    for (int p = 0; p < entries; ++p) complex_[static_cast<std::size_t>(p)] = base_matrix_[static_cast<std::size_t>(p)];
    std::complex<double>* a = complex_.data();
    for (const Wiring::Device& device : w.devices) {
        const int* s = w.slots.data() + device.slot;
        const double* g = gain_.data() + device.gain;
        const int m = device.terminals;
        for (int k = 0; k + 1 < m; ++k)
            for (int j = 0; j + 1 < m; ++j) {
                const double gkj = g[k * (m - 1) + j];
                a[s[k * m + j]] += gkj;
                a[s[k * m + m - 1]] -= gkj;
                a[s[(m - 1) * m + j]] -= gkj;
                a[s[m * m - 1]] += gkj;
            }
    }
    for (const Wiring::Stamp& stamp : w.linear) {
        const Part& part = w.data->parts[static_cast<std::size_t>(stamp.part)];
        const double* v = numbers_ + part.value;
        const int* s = w.slots.data() + stamp.slot;
        if (part.kind == Kind::capacitor) {
            const std::complex<double> y(0, omega * v[at::farads]);
            a[s[0]] += y;
            a[s[1]] -= y;
            a[s[2]] -= y;
            a[s[3]] += y;
        } else if (part.kind == Kind::inductor) {
            if (siemens_of(v[at::series]) > 0) a[s[4]] -= std::complex<double>(0, omega * v[at::henries]);
        } else if (part.kind == Kind::transformer) {
            const int* t = s + 7 * part.turns.size();
            if (endless(v[at::magnetising])) {
                a[t[2]] = 0;
                a[t[3]] = 1;
            } else {
                a[t[3]] -= std::complex<double>(0, omega * v[at::magnetising]);
            }
        }
    }
    if (complex_common_ == nullptr) {
        complex_common_ = new klu_common;
        klu_defaults(common_of(complex_common_));
    }
    auto* common = common_of(complex_common_);
    auto* numbers = reinterpret_cast<double*>(a);
    auto* numeric = numeric_of(complex_numeric_);
    auto* column = const_cast<int*>(w.column.data());
    auto* row = const_cast<int*>(w.row.data());
    if (numeric != nullptr && !complex_afresh_ &&
        klu_z_refactor(column, row, numbers, symbolic_of(w), numeric, common) != 0 && common->status == KLU_OK &&
        klu_z_rcond(symbolic_of(w), numeric, common) != 0 && common->rcond > 1e-18)
        return true;
    klu_z_free_numeric(&numeric, common);
    complex_numeric_ = klu_z_factor(column, row, numbers, symbolic_of(w), common);
    complex_afresh_ = false;
    return complex_numeric_ != nullptr && common->status == KLU_OK;
}

void Solver::solve_complex(std::complex<double>* column) const {
    klu_z_solve(symbolic_of(*wiring_), numeric_of(complex_numeric_), wiring_->n, 1, reinterpret_cast<double*>(column),
                common_of(complex_common_));
    column[wiring_->n] = 0;
}

double Solver::residual(int* row) const {
    double worst = 0;
    int where = 0;
    for (int k = 0; k < wiring_->node_rows; ++k)
        if (std::abs(f_[static_cast<std::size_t>(k)]) > worst) {
            worst = std::abs(f_[static_cast<std::size_t>(k)]);
            where = k;
        }
    if (row != nullptr) *row = where;
    return worst;
}

}  // namespace tubewright::circuit
