// SPDX-License-Identifier: MIT
// Heaters by the graph alone: a heater is fed when it lies on a loop with a winding or the line (same biconnected block
// of the graph of everything that heater current can pass; Hopcroft and Tarjan 1973, from memory), and how many volts
// stand across it where a winding feeds it directly. Tests: tests/audit/graph_test.cpp.
#pragma once

#include <optional>
#include <vector>

#include <tubewright/chassis.hpp>

#include "audit/traced.hpp"

namespace tubewright::audit {

/// One heater, or one half of a tapped one.
struct HeaterPath {
    int part = -1;
    int lead_a = -1, lead_b = -1;
    int net_a = -1, net_b = -1;
    std::optional<double> volts, amps;    ///< rated, of this half
    bool fed = false;                     ///< on a loop with a source
    bool by_line = false;                 ///< the loop's source is the line itself: a string
    int winding_part = -1, winding = -1;  ///< the winding that it lies straight across; -1 when none
    int open_end = -1;                    ///< not fed: the net at which its way ends on nothing; -1 when none does
    std::optional<double> winding_volts;  ///< loaded volts of that winding (of its half), where known
};

/// All heaters of the set in part order, with or without the tubes of sockets that stand empty. Sets without any source
/// (nothing but a line-up) give an empty list.
enum class Empty { as_tube, as_gap };
std::vector<HeaterPath> heaters_of(const Trace& trace, Empty empty);

/// Blocks of a graph of `edges` (pairs of nets): the block number of each edge; an edge from a net to itself is a block
/// of its own.
std::vector<int> biconnected_blocks(int nets, const std::vector<std::pair<int, int>>& edges);

}  // namespace tubewright::audit
