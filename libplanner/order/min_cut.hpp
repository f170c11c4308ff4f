// SPDX-License-Identifier: MIT
// A minimum cut between two nodes of a graph whose arcs have whole numbers for room.
//
//     MinCut cut(4); cut.arc(0, 2, 5); cut.arc(2, 1, 3);
//     cut.flow(0, 1) == 3; cut.reached(2)      // the arc behind node 2 is the narrow one
//
// By Boost.Graph (Boykov and Kolmogorov). Rooms on a way together stay under 2^62. Tests: what stands on it, in
// tests/order/sequence_test.cpp.
#pragma once

#include <limits>
#include <vector>

namespace tubewright {

class MinCut {
  public:
    /// Room that no cut takes.
    static constexpr long long endless = std::numeric_limits<long long>::max() / 2;

    explicit MinCut(int nodes) : nodes_(nodes) {}
    void arc(int from, int to, long long room) { arcs_.push_back({from, to, room}); }
    /// The greatest flow, which is the least cut.
    long long flow(int source, int sink);
    /// After flow: on the side of the source, in the least such set.
    bool reached(int node) const { return reached_[static_cast<std::size_t>(node)] != 0; }
    /// After flow: the nodes to which a node still has room.
    std::vector<std::vector<int>> onward() const;

  private:
    struct Arc {
        int from, to;
        long long room;
    };
    int nodes_;
    std::vector<Arc> arcs_;
    std::vector<Arc> left_;  // after flow: what room is left, both ways, by where it starts
    std::vector<char> reached_;
};

}  // namespace tubewright
