// SPDX-License-Identifier: MIT
// A block of jobs that is too large to search: a good order, and a proved bound of the best.
//
//     BlockOrder b = order_of_block(jobs, before);   // b.bound <= the best cost <= b.cost
//
// The order: what the ratio of unfinished predecessors asks for, and what the bound's own solution asks for, each
// mended by moving runs of up to eight jobs as long as that pays; the better of the two. The bound: each pair of jobs
// that precedence leaves open is decided by halves, under "who comes before i comes before j" for each i that must come
// before j; the cheapest such decision is half a minimum cut (Chudak and Hochbaum 1999, Oper. Res. Lett. 25, recalled),
// and any flow bounds it. It is what an ordinary Lagrangean bound comes near to, and no less. Test:
// tests/order/sequence_test.cpp.
#pragma once

#include <vector>

#include "order/sequence.hpp"

namespace tubewright {

/// Who waits for whom, closed under "and so on": before[j][i] is set when i must come before j.
using Waits = std::vector<std::vector<char>>;

struct BlockOrder {
    std::vector<int> order;
    long long cost = 0, bound = 0;
};

BlockOrder order_of_block(const std::vector<Job>& jobs, const Waits& before);

}  // namespace tubewright
