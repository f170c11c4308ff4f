// SPDX-License-Identifier: MIT
// The order of jobs on one machine (one person) that is cheapest by sum of weight times completion time, under
// precedence: 1|prec|sum w C. If job j takes risk w_j away when it is done, the sum is the time integral of the risk
// that is left.
//
//     Sequence s = best_sequence(jobs, arcs);
//     if (!s.cycle.empty()) ...            // no order exists; the jobs of one cycle
//     s.objective, s.lower_bound, s.optimal
//
// Method: Sidney decomposition (Sidney 1975) by minimum cuts (Boost.Graph, Boykov-Kolmogorov), cut down to its finest
// blocks by the strong components of the residual graph; a block that is a series composition is split and each part
// decomposed again. That alone is exact for all series-parallel orders, trees and chains included (it does what Horn
// 1972 and Lawler 1978 do). What remains is solved by dynamic programming over ideals, branches cut by bounds when they
// are many; when they are too many, large_block.hpp has a good order and a bound, and the gap between them is told.
// Numbers are integers, ratios are compared by cross-multiplication, ties go to the lower index. Sources from memory.
// Tests: tests/order/sequence_test.cpp.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace tubewright {

/// seconds and weight are not negative; the sum of seconds times the sum of weights stays under 2^61 (Error otherwise).
struct Job {
    long long seconds = 0;
    long long weight = 0;
};

struct JobArc {
    int before = 0;
    int after = 0;
};

struct Sequence {
    std::vector<int> cycle;     ///< not empty: there is no order, and these jobs wait for each other in a ring
    std::vector<int> order;     ///< jobs, first to last
    std::vector<int> block;     ///< by job: its Sidney block, counted from 1 in order of execution
    long long objective = 0;    ///< sum of weight x completion second of `order`
    long long lower_bound = 0;  ///< proved: no order has less
    bool optimal = false;       ///< the two are equal
    /// (objective - lower bound) / lower bound; 0 when proved.
    double gap() const;
};

struct SequenceLimits {
    std::size_t ideals = 200000;  ///< states that a search of a block may hold before it is given up
};

Sequence best_sequence(std::span<const Job> jobs, std::span<const JobArc> arcs, const SequenceLimits& limits = {});

/// For comparison, of arcs without a ring. The list worked off: always the first job that no other holds back.
std::vector<int> list_order(std::span<const Job> jobs, std::span<const JobArc> arcs);
/// Of the jobs that no other holds back always the one with the most weight a second.
std::vector<int> greedy_order(std::span<const Job> jobs, std::span<const JobArc> arcs);

}  // namespace tubewright
