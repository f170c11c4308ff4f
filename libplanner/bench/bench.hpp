// SPDX-License-Identifier: MIT
// The one door to the circuit solver: a Bench holds the equations of one chassis, made once, and solves them in any
// condition, healthy or with one or two faults placed. Fault paths (gaps that a short would close, shorted-turn rings)
// are put in the equations from the start, so that a fault is only a change of values. One Bench a thread; copies share
// what was analysed.
#pragma once

#include <memory>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include <tubewright/bench.hpp>

namespace tubewright {

/// What a fault does, beside the healthy set in the same condition.
struct FaultSolution {
    bool solved = false;
    std::string why;            ///< when not solved
    bool reshot = true;         ///< false: taken from the mean-B-plus curve
    bool upper_bound = false;   ///< a hard short: no emission or saturation limit in the law
    Solution solution;          ///< nets may carry means only when the sweep asked for no ripple
    std::vector<int> restless;  ///< parts: tubes that then drive one another, so that the set does not rest so
};

/// A winding (half) of a power transformer that is hot: its lead as a branch has it, its ohms over those cold.
struct WarmWinding {
    std::string lead;
    double factor = 1;
    int part = -1;  ///< -1: the transformer that gives B-plus
};

/// Two faults at once, from the curve alone.
struct PairSolution {
    bool solved = false;  ///< false: one of them touches the rectifier block, or the curve does not reach; solve() does
    double primary_rms = 0;
    std::vector<double> winding_rms;  ///< of the power transformer, in the order of its branches
};

/// Where a capacitor stands after switch-off.
struct Discharge {
    int part = -1;
    Volts start;
    Seconds to_60_volts;       ///< never: negative
    std::vector<int> through;  ///< resistors that empty it: those that burn a fifth or more, most first
    Seconds without_first;     ///< to 60 V with the first of them open; never: negative
};

/// One element of the equations, enough for another engine to rebuild them.
struct ModelElement {
    std::string id, part, kind,
        law;  ///< kind: resistor, capacitor, inductor, voltage-source, current-source, transformer, device, gap
    std::vector<std::string> nodes;
    std::vector<std::pair<std::string, double>> values;  ///< "ohms", "farads", "turns.1", law parameters ...: SI
    std::vector<std::string> sources;                    ///< one per value: provenance and text
};
struct ModelChange {
    std::string scenario, element, value;
    double to = 0;
};
struct ModelSheet {
    std::vector<std::string> nodes;  ///< [0] the reference node of the equations
    std::vector<ModelElement> elements;
    /// In the conditions of signal_peak alone: nodes more; elements more, or in place of the one with the same id.
    std::vector<std::string> signal_nodes;
    std::vector<ModelElement> signal_elements;
    std::vector<std::string> scenarios;  ///< those solved, as Condition::text() has them
    std::vector<std::string> left_out;   ///< of those asked for: "soak: no field or choke warms itself"
    std::vector<ModelChange>
        changes;  ///< what each scenario sets (line volts, emission of cold tubes, hot heater ohms as solved ...)
    std::vector<std::pair<std::string, std::string>> laws;  ///< name and formula in words and symbols
    std::vector<Assumption> assumptions;
};

class Bench {
  public:
    /// Fails when a tube has no constants, or the graph checks name a part of the circuit that has no solution at all.
    static Outcome<Bench> make(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy,
                               std::span<const Fault> faults = {});
    Bench(Bench&&) noexcept;
    Bench(const Bench&);
    ~Bench();

    /// A full solution, with bands, ripple on every net and all branches. Fails with the part of the circuit that has
    /// no solution, and why.
    Outcome<Solution> solve(const Condition& condition);
    /// The same with faults placed (each must have been given to make()); ripple = false leaves nets beyond the
    /// rectifier block at their means.
    FaultSolution solve(const Condition& condition, std::span<const Fault> faults, bool ripple);
    /// The same, shot, with windings warm.
    FaultSolution solve(const Condition& condition, std::span<const Fault> faults, std::span<const WarmWinding> warm);
    /// Every fault by itself, in the order given; results do not depend on `threads`.
    std::vector<FaultSolution> sweep(const Condition& condition, std::span<const Fault> faults, int threads = 1);

    /// Pairs of the faults by their indices, those of one first fault together.
    std::vector<PairSolution> sweep_pairs(const Condition& condition, std::span<const Fault> faults,
                                          std::span<const std::pair<int, int>> pairs);

    /// Gains and tuned circuits about the solution of a condition.
    Outcome<SmallSignal> small_signal(const Condition& condition);

    /// Values changed for the next solves (what-if): part id and "ohms", "farads", "henries"; cleared by an empty list.
    void set_values(std::span<const std::pair<std::string, std::pair<std::string, double>>> values);

    /// Resistance between two nets with plug out, switch on, tubes cold, capacitors open; undetermined when infinite.
    Outcome<Ohms> cold_ohms(int from_net, int to_net);
    /// Rectified capacitors after switch-off from a solution (tubes taken as cut off: the slowest case).
    std::vector<Discharge> discharge(const Solution& from);
    /// d V(net) / V per d value / value of each resistor and tube emission in the normal condition: (part id,
    /// sensitivity), largest first.
    std::vector<std::pair<std::string, double>> sensitivities(int net);
    /// The equations, and what each condition changes in them; without conditions those of line, tubes and plugs.
    ModelSheet model(std::span<const Condition> conditions = {});
    const std::vector<Assumption>& assumptions() const;

  private:
    struct State;
    explicit Bench(std::unique_ptr<State> state);
    std::unique_ptr<State> state_;
};

}  // namespace tubewright
