// SPDX-License-Identifier: MIT
// What an Engine holds: the shared analysed patterns, and one thread's solvers. Everything that a solution depends on
// is the circuit, the overrides, the options and the warm start: never what the engine solved before.
#pragma once

#include <map>
#include <memory>
#include <mutex>
#include <vector>

#include "circuit/period.hpp"
#include "circuit/solver.hpp"

namespace tubewright::circuit {

/// A circuit cut in two at the block's nodes.
struct Split {
    std::shared_ptr<const Wiring> block, rest;
    std::vector<Node> ports;
};

/// Shared by the engines of one circuit, on all threads.
struct Plan {
    std::shared_ptr<const Circuit::Data> data;
    std::shared_ptr<const Wiring> whole;
    std::once_flag chosen;
    std::vector<char> block;  ///< nodes of the periodic block at nominal values, once chosen; empty: none is worth it
};

struct SplitSolvers {
    Split split;
    std::unique_ptr<Solver> block, rest;
};

struct Engine::State {
    std::shared_ptr<Plan> plan;
    std::unique_ptr<Solver> whole;
    std::map<std::vector<char>, std::unique_ptr<SplitSolvers>> splits;
    std::vector<double> numbers;
    bool tie = false;

    const Circuit::Data& data() const { return *plan->data; }
};

/// Two-level solution into `out`. False: no block is worth it, or none passed its test; `start` then holds the best
/// known state, if any, for full shooting.
bool two_level(Engine::State& state, const PeriodicOptions& options, const std::vector<Node>& tied, Periodic& out,
               std::vector<double>& start);

/// Means, courses and balances of a solution whose waveform, inner, state and period_seconds are there.
void summarise(const Circuit::Data& data, const std::vector<double>& numbers, Periodic& solution);

/// What a solution keeps over its period, summed with the integrator's own stage weights.
struct Balance {
    double stray = 0;             ///< worst direct current through a capacitor, amperes
    double largest = 0;           ///< largest direct current of a source or a device
    double given = 0, taken = 0;  ///< watts of the sources, and of all other parts by their own currents
    double moved = 0;             ///< watts that go to and fro at the sources
    double volts = 0;             ///< crest of the highest source
    bool charge_holds() const;    ///< to 1e-9 of the largest current, or what a stage may round
    bool energy_holds() const;    ///< to 1e-6 of what moves
};
Balance balance_of(const Circuit::Data& data, const std::vector<double>& numbers, const Periodic& solution);

/// Joins (terminal to common) of the devices that conduct at these unknowns by more than `least` siemens, at a turn of
/// the period (below 0: direct current).
constexpr double least_path_siemens = 1e-11;
void conducting(const Circuit::Data& data, const std::vector<double>& numbers, const std::vector<double>& unknowns,
                double turn, std::vector<std::pair<Node, Node>>& joins, double least = least_path_siemens);

}  // namespace tubewright::circuit
