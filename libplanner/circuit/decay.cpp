// SPDX-License-Identifier: MIT
// See decay.hpp.
#include "circuit/decay.hpp"

#include <Eigen/Dense>
#include <cmath>

#include "circuit/period.hpp"

namespace tubewright::circuit {

namespace {

void stamp(Eigen::MatrixXd& into, const DecayBranch& branch, double value) {
    if (branch.a > 0) into(branch.a - 1, branch.a - 1) += value;
    if (branch.b > 0) into(branch.b - 1, branch.b - 1) += value;
    if (branch.a > 0 && branch.b > 0) {
        into(branch.a - 1, branch.b - 1) -= value;
        into(branch.b - 1, branch.a - 1) -= value;
    }
}

double across(const Eigen::VectorXd& v, const DecayBranch& branch) {
    return (branch.a > 0 ? v(branch.a - 1) : 0.0) - (branch.b > 0 ? v(branch.b - 1) : 0.0);
}

}  // namespace

Decay decay(int nodes, const std::vector<DecayBranch>& conductances, const std::vector<DecayBranch>& capacitors,
            double level_volts, double longest_seconds) {
    Decay out;
    out.seconds.assign(capacitors.size(), 0);
    out.joules.assign(conductances.size(), 0);
    const Eigen::Index n = nodes - 1;
    if (n <= 0 || capacitors.empty()) return out;

    Eigen::MatrixXd g =
        Eigen::MatrixXd::Identity(n, n) * 1e-15;  // an island without any path stays solvable, and stays charged
    for (const DecayBranch& one : conductances) stamp(g, one, one.value);
    Eigen::MatrixXd c = Eigen::MatrixXd::Zero(n, n);
    for (const DecayBranch& one : capacitors) stamp(c, one, one.value);

    std::vector<double> volts(capacitors.size()), base(capacitors.size());
    for (std::size_t k = 0; k < capacitors.size(); ++k) volts[k] = capacitors[k].volts;
    std::vector<char> above(capacitors.size(), 0);
    for (std::size_t k = 0; k < capacitors.size(); ++k) above[k] = std::fabs(volts[k]) > level_volts ? 1 : 0;

    constexpr int steps_to_start = 50;
    double time = 0;
    for (double decade = 1e-4; decade < longest_seconds; decade *= 10) {
        const double h = decade / steps_to_start;
        const Eigen::LDLT<Eigen::MatrixXd> factored(g + c / (gamma_stage * h));
        // Volts after a stage that starts from each capacitor's own volts: charge is what persists.
        const auto stage = [&](const std::vector<double>& from) {
            Eigen::VectorXd right = Eigen::VectorXd::Zero(n);
            for (std::size_t k = 0; k < capacitors.size(); ++k) {
                const double amps = capacitors[k].value / (gamma_stage * h) * from[k];
                if (capacitors[k].a > 0) right(capacitors[k].a - 1) += amps;
                if (capacitors[k].b > 0) right(capacitors[k].b - 1) -= amps;
            }
            return Eigen::VectorXd(factored.solve(right));
        };
        const double until = decade * 10;
        while (time + h <= until * (1 + 1e-12)) {
            const Eigen::VectorXd inner = stage(volts);
            for (std::size_t k = 0; k < capacitors.size(); ++k)
                base[k] = volts[k] + (1 - gamma_stage) / gamma_stage * (across(inner, capacitors[k]) - volts[k]);
            const Eigen::VectorXd v = stage(base);
            time += h;
            bool any = false;
            for (std::size_t k = 0; k < capacitors.size(); ++k) {
                const double before = std::fabs(volts[k]), now = std::fabs(across(v, capacitors[k]));
                if (before > level_volts && now <= level_volts) {
                    const double share = before > now ? (before - level_volts) / (before - now) : 1;
                    out.seconds[k] = time - h + share * h;
                }
                above[k] = now > level_volts ? 1 : 0;
                any = any || above[k] != 0;
                volts[k] = across(v, capacitors[k]);
            }
            for (std::size_t r = 0; r < conductances.size(); ++r) {
                const double first = across(inner, conductances[r]), last = across(v, conductances[r]);
                out.joules[r] += conductances[r].value * weighed(gamma_stage, first * first, last * last) * h;
            }
            if (!any) return out;
        }
    }
    for (std::size_t k = 0; k < capacitors.size(); ++k) {
        if (above[k] != 0) out.seconds[k] = -1;
    }
    return out;
}

}  // namespace tubewright::circuit
