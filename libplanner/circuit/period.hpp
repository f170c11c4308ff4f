// SPDX-License-Identifier: MIT
// One period of a network, and the start that returns to itself. A period is a fixed number of steps of SDIRK2
// (gamma = 1 - 1/sqrt 2: two stages, stiffly accurate, so that algebraic rows hold exactly at each stage and the map
// from the state at the start to the state at the end is a function). Its derivative, the state-transition matrix,
// comes from the step Jacobians with no differences; Newton on start -> end - start then finds the steady state in a
// few periods, however slowly the network creeps (Aprille and Trick 1972). States: capacitor volts and inductor
// amperes. Tests: tests/circuit/periodic_test.cpp, rectifier_grid_test.cpp.
#pragma once

#include <Eigen/Dense>
#include <functional>
#include <vector>

#include "circuit/solver.hpp"

namespace tubewright::circuit {

constexpr double gamma_stage = 0.29289321881345247560;  // 1 - 1/sqrt 2
constexpr double leap_stage = 0.5;

/// Where the inner stage of a step stands; it weighs the rest, the end as much as this. In a step that begins as a
/// contact makes it is a half, two backward Euler steps: of a leap that is quicker than the step the usual two stages
/// overshoot by up to a fifth, a crest that is not there.
inline double stage_of(const std::vector<char>& leaps, std::size_t step) {
    return step < leaps.size() && leaps[step] != 0 ? leap_stage : gamma_stage;
}

/// What the two stages of a step come to.
inline double weighed(double share, double inner, double end) {
    return (1 - share) * inner + share * end;
}

/// A marched period. `ends` and `inners`: unknowns (n each) of each step.
struct Period {
    bool solved = false;
    int steps = 0;
    std::vector<double> start, end;  ///< states
    std::vector<double> ends, inners;
    std::vector<char> leaps;     ///< as Periodic::leaps
    Eigen::MatrixXd transition;  ///< d end / d start
    Eigen::MatrixXd port_means;  ///< d mean port volts / d start: ports x states
    double residual = 0;
    int residual_row = 0;
    int iterations = 0;
};

class Marcher {
  public:
    /// `patient`: a step that Newton cannot solve is reached along a fading transient, at many times the cost. Without
    /// it the march fails there, for callers that have another way.
    explicit Marcher(Solver& solver, bool patient = true) : solver_(solver), patient_(patient) {}

    /// One period of `steps` from `start`. `drawn`: extra port amps, [2 * step + stage][port], or empty. With
    /// `transition` the derivative is made too. `former`: a period of as many steps whose course is a first guess, or
    /// null.
    void march(double period_seconds, int steps, const std::vector<double>& start, const std::vector<double>& drawn,
               bool transition, const Period* former, Period& out, double loose = 1);

  private:
    bool stage(std::vector<double>& x, bool transition, double loose);
    Solver& solver_;
    bool patient_;
    std::vector<double> x_, guess_, before_, base_, rate_first_, columns_, work_;
};

/// The steps at whose start a contact makes; empty where there is none.
std::vector<char> leaps_of(const Wiring& wiring, const double* numbers, int steps);

/// The Newton step of the start: (I - transition) step = end - start, scaled; the least step where it is singular.
/// `inverse` is kept for further use with the same transition matrix.
class StartStep {
  public:
    void factor(const Wiring& wiring, const Eigen::MatrixXd& transition);
    Eigen::VectorXd step(const Period& period) const;
    bool ready() const { return ready_; }

  private:
    Eigen::VectorXd scale_;
    Eigen::PartialPivLU<Eigen::MatrixXd> lu_;
    Eigen::CompleteOrthogonalDecomposition<Eigen::MatrixXd> least_;
    bool singular_ = false;
    bool ready_ = false;
};

/// d mean unknowns / d value: unknowns x values. `slopes(turn, x, k, column)` adds the right-hand side of value k at
/// one stage (minus the slope of the residual). Empty where a stage is singular. `squares`, where given: the same of
/// half the mean square.
Eigen::MatrixXd mean_responses(
    Solver& solver, const double* numbers, const std::vector<Node>& tied, const Periodic& at, std::size_t values,
    const std::function<void(double turn, const double* x, std::size_t k, double* column)>& slopes,
    Eigen::MatrixXd* squares = nullptr);

/// The worst direct current through a capacitor, had the period gone on from where it ended; of an inductor a volt
/// counts as a milliampere.
double open_amps(const Wiring& wiring, const double* numbers, double hertz, const Period& period);

/// The worst |end - start| in volts; inductor amperes are counted at the ohms that scale them.
double period_error(const Wiring& wiring, const Period& period);
double in_volts(const Wiring& wiring, const Eigen::VectorXd& step);

/// Shooting from `start`, until a period ends within `settled_volts` of its start. Returns the number of Newton rounds;
/// period.solved tells.
int shoot(Solver& solver, double period_seconds, int steps, std::vector<double> start, bool coarse_first,
          Period& period, double settled_volts = 2e-9);

}  // namespace tubewright::circuit
