// SPDX-License-Identifier: MIT
// The equations of a chosen set of parts as a sparse pattern: which unknowns there are, and where each part stamps.
// Made once, never changed, shared by all threads; the ordering for KLU is made with it. Entries whose value is zero
// (an open gap, a closed-off leak) stay in the pattern, so that a fault is only a change of value.
//
// Modified nodal analysis (Ho, Ruehli, Brennan 1975). Ground is the index n: row and column n are a bin that is never
// read. Ports are nodes shared with the parts that were left out: `norton` gives each a current line (the load of a
// periodic block), `imposed` a volts source (the load, seen from the block). Test: tests/circuit/operating_test.cpp.
#pragma once

#include <memory>
#include <vector>

#include "circuit/parts.hpp"

namespace tubewright::circuit {

enum class Ports { none, norton, imposed };

struct Wiring {
    struct Stamp {
        int part = 0;
        int slot = 0;  ///< first of its positions in `slots`
        int row = 0;   ///< first of its local unknowns in `rows`: nodes, then branches
    };
    struct Device {
        int part = 0;
        int terminals = 0;
        int slot = 0;
        int row = 0;
        int gain = 0;  ///< first of its conductances in the solver's store
        int law_value = 0;
    };
    /// A reactive state: x[plus] - x[minus]; its current (or volts) enters row `into` and leaves row `from`.
    struct State {
        int part = 0;
        int plus = 0, minus = 0;
        int into = 0, from = 0;
        int value = 0;      ///< farads or henries in the circuit's numbers
        bool volts = true;  ///< a capacitor
        int full = 0;       ///< number of the state in the circuit
    };

    Wiring(std::shared_ptr<const Circuit::Data> circuit, const std::vector<char>& parts_in, Ports kind,
           std::vector<Node> ports);
    ~Wiring();
    Wiring(const Wiring&) = delete;
    Wiring& operator=(const Wiring&) = delete;

    std::shared_ptr<const Circuit::Data> data;
    Ports kind = Ports::none;
    std::vector<Node> port_nodes;
    std::vector<int> port_rows;      ///< local unknown of each port's node
    std::vector<int> port_branches;  ///< imposed: the unknown current drawn from the port
    std::vector<int> port_slots;     ///< norton: np x np positions

    int n = 0;               ///< unknowns
    int node_rows = 0;       ///< of which nodes, the first
    std::vector<int> full;   ///< local unknown to the circuit's unknown, -1 for a port's source
    std::vector<int> local;  ///< node to local unknown; n for ground, -1 for absent
    std::vector<Stamp> linear;
    std::vector<Device> devices;
    std::vector<State> states;
    std::vector<int> rows, slots;
    std::vector<int> diagonal;     ///< positions of the nodes' diagonal
    std::vector<int> column, row;  ///< compressed columns
    int gains = 0;
    void* symbolic = nullptr;  ///< klu_symbolic, read only after the making; null when structurally singular

    int nonzeros() const { return static_cast<int>(row.size()); }
};

}  // namespace tubewright::circuit
