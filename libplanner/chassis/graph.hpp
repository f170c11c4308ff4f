// SPDX-License-Identifier: MIT
// The part graph: nets on one side, what conducts on the other (a resistor, one winding, one unit of a rectifier), an
// edge for every lead. Boost.Graph lives behind this door (graph.cpp). The tests compare it with a search that leaves
// out each part in turn.
//
// Dominators: boost::dominator_tree of 1.74 gives wrong answers when a vertex that cannot be reached has an arc into
// the reached part (boostorg/graph, pull request 97). Here every arc goes both ways, so no such vertex has one; the
// reached part is cut out all the same, which keeps it so and keeps the tree small. Tests:
// tests/chassis/graph_test.cpp.
#pragma once

#include <vector>

#include <tubewright/chassis.hpp>

namespace tubewright {

/// What counts as a path.
/// - direct_current: copper, resistance, closed switches, a rectifier from plate to cathode; no capacitor, no other
/// tube.
/// - copper: the same with switches in any position and without rectifiers; heaters too.
/// - blade: all that could carry line current into the metal: copper, rectifiers and tubes, plate and screen to
/// cathode.
/// - short_wire: what is as good as a wire: switches in any position, fuses, resistors and coils of 100 ohms or less.
enum class Through { direct_current, copper, blade, short_wire };

/// Leads of one part that conduct among themselves.
struct ConductingGroup {
    int part = -1;
    std::vector<int> leads;
};

/// Groups of a part; empty for capacitors, strips and plugs, and whatever `through` excludes.
std::vector<ConductingGroup> conducting_groups(const Part& part, int index, Through through);

/// One unit of a rectifying tube: leads of its plate or plates and of its cathode or filament.
struct RectifierUnit {
    int part = -1;
    std::vector<int> plates, cathodes;
};
std::vector<RectifierUnit> rectifier_units(const Part& part, int index);

class PartGraph {
  public:
    PartGraph(const std::vector<Part>& parts, int net_count, Through through);

    /// For every net: can it be reached from one of `from`, without passing through net `without`?
    std::vector<bool> reached(const std::vector<int>& from, int without = -1) const;
    /// The same, with many nets that are not passed.
    std::vector<bool> reached(const std::vector<int>& from, const std::vector<bool>& without) const;
    /// Parts that every path between the two nets passes, nearest to `from` first. Empty when there is no path.
    /// `without` is taken out of the graph unless it is an end.
    std::vector<int> parts_between(int from, int to, int without = -1) const;

    int net_count() const { return nets_; }
    const std::vector<ConductingGroup>& groups() const { return groups_; }
    /// Nets of a group, each once.
    const std::vector<int>& nets_of(int group) const { return group_nets_[static_cast<std::size_t>(group)]; }
    /// Groups on a net.
    const std::vector<int>& groups_on(int net) const { return net_groups_[static_cast<std::size_t>(net)]; }

  private:
    int nets_ = 0;
    std::vector<ConductingGroup> groups_;
    std::vector<std::vector<int>> group_nets_, net_groups_;
};

}  // namespace tubewright
