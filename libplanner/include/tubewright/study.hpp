// SPDX-License-Identifier: MIT
// One chassis, one policy, one state of progress, and everything that can be asked of them. Nothing is solved until it
// is asked for; const calls are thread-safe; each section is an Outcome, so that what cannot be solved says which part
// of the circuit and why.
#pragma once

#include <map>
#include <memory>
#include <string>
#include <vector>

#include <tubewright/audit.hpp>
#include <tubewright/choice.hpp>
#include <tubewright/order.hpp>
#include <tubewright/policy.hpp>
#include <tubewright/record.hpp>
#include <tubewright/stress.hpp>
#include <tubewright/threat.hpp>

namespace tubewright {

/// Volts at a net by name, as the example in the README reads them:
/// study.volts(Scenario::warm_up)->at("bplus").crest.value().
class TUBEWRIGHT_API VoltsView {
  public:
    VoltsView(const Chassis& chassis, Solution solution) : chassis_(chassis), solution_(std::move(solution)) {}
    const NetVolts& at(std::string_view net) const { return solution_.at(chassis_, net); }
    const Solution& solution() const { return solution_; }

  private:
    Chassis chassis_;
    Solution solution_;
};

class TUBEWRIGHT_API Study {
  public:
    Study(Chassis chassis, Catalogue catalogue, Policy policy = {}, Progress progress = {});
    ~Study();
    Study(Study&&) noexcept;

    /// The set as the plan is made for it: with what the log says was fitted, and all that is out for now back in.
    const Chassis& chassis() const;
    /// The set as it stands on the bench: without what is out or lifted. `volts` and `stress` are of this one.
    const Chassis& as_it_stands() const;
    const Catalogue& catalogue() const;
    const Policy& policy() const;
    const Progress& progress() const;
    /// Of it what plans and gates rest on: a part that was fitted and does not do counts as not fitted, a
    /// step under power that was entered past a shut gate as not done.
    const Progress& relied_on() const;
    /// New parts that do not do, and why.
    const std::map<std::string, std::string>& unfit() const;
    /// Of unfit() what the stress alone tells, without a study of the faults.
    std::map<std::string, std::string> under_need() const;

    std::vector<Finding> audit() const;  ///< graph half, and the solved half where it solves
    Outcome<VoltsView> volts(Scenario scenario) const;
    Outcome<VoltsView> volts(const Condition& condition) const;
    /// What each stage amplifies and where tuned circuits ring, about the solution of a condition.
    Outcome<SmallSignal> small_signal(const Condition& condition = {}) const;
    /// The scenarios that apply to this set, in a fixed order.
    std::vector<Condition> scenarios() const;
    Outcome<std::vector<PartStress>> stress() const;  ///< of the set as it stands
    /// Of the set as it will be: what was seen open or missing, or is out by the log, is back.
    Outcome<std::vector<PartStress>> stress_in_service() const;
    Outcome<ThreatReport> threat_report() const;
    /// Throws Error when the set has no solution; threat_report() says why.
    const ThreatReport& threats() const;
    Outcome<std::vector<LeakageLimit>> leakage_limits() const;
    Outcome<std::vector<DriftLimit>> drift_limits() const;
    /// All pairs of faults; solved anew each time it is asked for.
    Outcome<PairReport> fault_pairs() const;
    /// What fuse, centre-tap link and lamp would do for the faults of threat_report(), by its rows.
    Outcome<Protection> protection() const;
    Outcome<Survey> survey() const;
    Outcome<ShoppingList> shop() const;
    Outcome<RepairOrder> repair_order(StepOptions options = {}) const;
    /// Throws Error when the set has no solution; repair_order() says why.
    RepairOrder steps(StepOptions options = {}) const;
    Outcome<PowerUp> power_up(double lamp_watts = 0, double lamp_volts = 120) const;
    /// Of it the stages with their acts and gates; what no gate asks for is not solved.
    Outcome<PowerUp> gates(double lamp_watts = 0, double lamp_volts = 120) const;
    /// Of volts read on the power transformer with the rectifier out.
    Outcome<WindingsVerdict> windings(const WindingTest& test) const;
    /// Of the equations and of every scenario that applies; threats and power-up carry their own.
    std::vector<Assumption> assumptions() const;
    std::vector<std::string> cautions() const;

  private:
    Outcome<PowerUp> sheet(double lamp_watts, double lamp_volts, bool gates_alone) const;
    struct State;
    std::unique_ptr<State> state_;
};

/// What the numbers of its `steps` and, when they are asked for, of its stages stand for, with what the shopping list
/// has for the parts: for a log that is entered by those numbers.
TUBEWRIGHT_API Outcome<PlanPage> page_of(const Study& study, bool stages, StepOptions options = {});
/// Tells the pencil at once what is wrong with a new part at sight, and of a step under power the rules that it breaks.
TUBEWRIGHT_API void look_along(PencilBench& bench, const Policy& policy);

}  // namespace tubewright
