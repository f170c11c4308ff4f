// SPDX-License-Identifier: MIT
// The numbers of one Wiring, for one thread: sparse matrix, factors, and Newton's method on the equations at one
// instant. At direct current the reactances are shut off (rate 0); inside a time step each is a conductance value *
// rate and a source. A stage of a period, a direct-current point and the load seen from the block are all this one
// problem.
//
// KLU (Davis and Palamadai Natarajan 2010, Algorithm 907): ordered once per pattern, refactored per iteration; pivots
// are chosen afresh when the old ones no longer serve. Every public solution starts with fresh pivots, so that a result
// never depends on what the thread solved before. Tests: tests/circuit/operating_test.cpp.
#pragma once

#include <algorithm>
#include <cmath>
#include <complex>
#include <memory>
#include <span>
#include <utility>
#include <vector>

#include "circuit/wiring.hpp"

namespace tubewright::circuit {

/// Siemens across each terminal pair of a device, so that a terminal that hangs on a cut-off device alone has an
/// equation.
constexpr double device_shunt = 1e-12;

class Solver {
  public:
    explicit Solver(std::shared_ptr<const Wiring> wiring);
    ~Solver();
    Solver(const Solver&) = delete;
    Solver& operator=(const Solver&) = delete;

    const Wiring& wiring() const { return *wiring_; }
    int n() const { return wiring_->n; }

    /// New numbers: forgets the factors. `tied` are nodes to be held to the reference by a conductance.
    void values(const double* numbers, double hertz, std::vector<Node> tied = {});
    /// Sets the linear part: rate = 1 / (gamma h) in a time step, 0 at direct current.
    void assemble(double rate);
    /// The load of a block: amps drawn from port p = current[p] + sum g[p][q] (v[q] - volts[q]). Before `assemble`.
    void load(const std::vector<double>& current, const std::vector<double>& siemens, const std::vector<double>& volts);
    /// The volts imposed on the ports of a load. May change without `assemble`.
    void impose(const std::vector<double>& volts) { imposed_ = volts; }

    /// Amps drawn from each unknown's row beyond the circuit's own (n() numbers), or empty. Before `assemble`.
    void inject(std::vector<double> amps) { injected_ = std::move(amps); }

    /// The right-hand side at `turn` periods: sources, and the base of each state (null at direct current).
    /// `drawn`: extra amps drawn from each port (norton), or null. `scale` multiplies all sources.
    void instant(double turn, const double* base, const double* drawn, double scale = 1);

    struct How {
        int limit = 60;
        double volts = 60;   ///< greatest change across a device in one iteration; 0: none
        bool reuse = false;  ///< try the factors at hand first
        double loose = 1;    ///< what counts as solved, in units of the usual
        double gmin = 0;     ///< siemens from every node to the reference
        double anchor = 0;   ///< siemens from every node to its volts in `anchored`
        const double* anchored = nullptr;
    };
    /// Newton from x (n + 1 numbers, the last 0). False: not solved, x is the last iterate.
    bool newton(std::vector<double>& x, const How& how);
    /// Newton, then conductance stepping, source stepping, pseudo-transient. The instant must be set by
    /// `sources(scale)`. Not `patient`: it gives up after the conductance stepping.
    template <class Sources>
    Method robust(std::vector<double>& x, const Sources& sources, bool patient = true);

    /// Factors the exact Jacobian at x. False: singular.
    bool linearise(const std::vector<double>& x);
    /// Factors the network with plain resistors in the devices' places. False: singular.
    bool linearise_passive();
    /// 1 or -1: of the determinant of the matrix in the factors.
    int determinant_sign() const;
    /// Makes the factors exact at the last evaluated point when they lag behind it.
    bool sharpen();
    /// Solves for `count` right-hand sides, each of n() + 1 numbers.
    void solve(double* columns, int count) const;
    void solve_transposed(double* column) const;

    /// Takes the rectifiers out of the conductances of the last evaluated point.
    void mute_rectifiers();
    /// The same as plain conductances, plate to cathode.
    void hold_rectifiers(double siemens);
    /// The complex matrix at `hertz` about the last evaluated point.
    bool linearise_at(double hertz);
    /// The angle of the determinant of the complex matrix in the factors, radians.
    double determinant_angle() const;
    /// Plain resistors in the devices' places, until the next evaluation.
    void make_passive();
    void solve_complex(std::complex<double>* column) const;

    /// The worst Kirchhoff current residual at the last evaluated point, amperes, and its local row.
    double residual(int* row) const;
    int iterations = 0;  ///< since the last `values`
    int factorisations = 0;
    int singular_unknown = -1;  ///< local unknown that KLU stopped at
    const std::vector<double>& gains() const { return gain_; }
    const double* numbers() const { return numbers_; }
    /// Siemens (ohms, negative, of an inductor) of a state in the assembled step.
    double state_weight(std::size_t state) const { return state_weight_[state]; }

  private:
    double evaluate(const double* x, const How& how);
    bool factor(const How& how, bool afresh);
    void drop();

    std::shared_ptr<const Wiring> wiring_;
    const double* numbers_ = nullptr;
    double hertz_ = 0;
    double rate_ = 0, turn_ = -1;
    std::vector<Node> tied_;
    std::vector<double> base_matrix_, matrix_, row_sum_, constant_, right_, f_, step_, trial_;
    std::vector<double> gain_, factored_gain_, state_weight_;
    std::vector<double> port_current_, port_siemens_, imposed_, injected_;
    std::vector<std::complex<double>> complex_;
    void* common_ = nullptr;
    void* numeric_ = nullptr;
    void* complex_common_ = nullptr;
    void* complex_numeric_ = nullptr;
    bool complex_afresh_ = true;
    bool stale_ = true;  ///< the factors do not belong to the matrix at all
};

template <class Sources>
Method Solver::robust(std::vector<double>& x, const Sources& sources, bool patient) {
    const std::vector<double> start = x;
    How how;
    sources(1.0);
    if (newton(x, how)) return Method::newton;

    // Conductance stepping: the ratio widens after a success, narrows after a failure.
    std::vector<double> good(start.size(), 0);
    double gmin = 1e-2, ratio = 10;
    bool alive = false;
    x = good;
    for (int tries = 0; tries < 60; ++tries) {
        how.gmin = gmin;
        x = good;
        if (newton(x, how)) {
            good = x;
            alive = true;
            if (gmin < 1e-13) break;
            ratio = ratio < 1e3 ? ratio * 2 : ratio;
            gmin /= ratio;
        } else {
            if (!alive) {
                gmin *= 10;
                if (gmin > 1e3) break;
                continue;
            }
            gmin *= ratio;  // back to the last good one
            ratio = 1 + (ratio - 1) / 4;
            if (ratio < 1.05) break;
            gmin /= ratio;
        }
    }
    how.gmin = 0;
    if (alive) {
        x = good;
        if (newton(x, how)) return Method::gmin;
    }
    if (!patient) return Method::none;

    // Source stepping.
    double reached = 0, stride = 0.1;
    good.assign(start.size(), 0);
    sources(0.0);
    x = good;
    if (newton(x, how)) {
        good = x;
        for (int tries = 0; tries < 80 && reached < 1; ++tries) {
            const double next = reached + stride < 1 ? reached + stride : 1;
            sources(next);
            x = good;
            if (newton(x, how)) {
                good = x;
                reached = next;
                stride *= 1.5;
            } else {
                stride /= 4;
                if (stride < 1e-5) break;
            }
        }
        if (reached >= 1) {
            x = good;
            return Method::source_steps;
        }
    }

    // Pseudo-transient: every node leans on its former volts by a conductance that fades as the residual falls.
    sources(1.0);
    x = start;
    double anchor = 1e-2;
    for (int tries = 0; tries < 400; ++tries) {
        good = x;
        how.anchor = anchor;
        how.anchored = good.data();
        if (newton(x, how)) {
            double moved = 0;
            for (int k = 0; k < wiring_->node_rows; ++k) moved = std::max(moved, std::abs(x[k] - good[k]));
            anchor *= moved < 1 ? 0.2 : (moved < 20 ? 0.5 : 1.0);
            if (anchor < 1e-13) break;
        } else {
            x = good;
            anchor *= 8;
            if (anchor > 1e6) break;
        }
    }
    how.anchor = 0;
    how.anchored = nullptr;
    return newton(x, how) ? Method::pseudo_transient : Method::none;
}

}  // namespace tubewright::circuit
