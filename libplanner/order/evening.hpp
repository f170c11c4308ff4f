// SPDX-License-Identifier: MIT
// What to do when there is not time or money for all: of the sets of jobs that leave none of their predecessors out and
// keep the limits, the one that brings the most weight.
//
//     Selection s = best_within(jobs, arcs, sequence, 3 * 3600, {}, 0);   // s.weight == s.bound: proved the most
//
// Branch and bound over "in, with all that it waits for" and "out, with all that waits for it". The bound gives each
// second (and each unit of money) a price, at which the best closed set is a minimum cut; the price is moved until it
// bounds best. Exact unless the branches pass their limit; the bound is proved always. Method from memory. Test:
// tests/order/evening_test.cpp.
#pragma once

#include <span>
#include <vector>

#include "order/sequence.hpp"

namespace tubewright {

struct Selection {
    std::vector<int> jobs;  ///< closed under precedence, rising
    long long weight = 0;
    long long bound = 0;  ///< proved: no closed set within the limits brings more
};

/// cost and budget: a second limit (cost empty: none), to the hundredth. Time that the best set leaves over is filled
/// in the order of `sequence` with what brings nothing by itself and fits; money is not spent on that, unless all can
/// be done.
Selection best_within(std::span<const Job> jobs, std::span<const JobArc> arcs, const Sequence& sequence,
                      long long seconds, std::span<const double> cost, double budget, int branches = 20000);

}  // namespace tubewright
