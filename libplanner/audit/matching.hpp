// SPDX-License-Identifier: MIT
// Which part and which net of one set is which of another, whatever they are called. Parts (and the windings of a
// transformer, held together by its body) and nets are the two sides of a bipartite graph; both graphs are coloured
// together by refinement, a colour that stands once in each is a match, and what is left is matched best first by the
// nets that it shares. Strips are not in the graph: a lug is where a wire is tied, not what it is joined to.
//
//     const Graph here(one), there(other);
//     const Matching m = matched(here, there);
//     m.side[0].mate[item];  // the item there, -1 when there is none
//
// Source of the refinement: B. Weisfeiler, A. Lehman, "The reduction of a graph to canonical form", 1968 (from memory);
// the rest is ours. Tests: tests/audit/difference_test.cpp.
#pragma once

#include <array>
#include <cstdint>
#include <utility>
#include <vector>

#include <tubewright/chassis.hpp>

namespace tubewright::audit {

/// One lead of an item; lead -1: the body that holds windings together, numbered behind the nets.
struct Port {
    int lead = -1, net = -1;
    std::uint64_t name = 0;  ///< which lead it is to the part
};

/// A part, or one winding of it.
struct Item {
    int part = -1, winding = -1;
    bool turns = false;       ///< either end may be called the first
    std::vector<Port> ports;  ///< in the order of the leads, a body last
    int leads = 0;            ///< ports without the body
    std::uint64_t is = 0;     ///< what it is, with its values
    double weight = 1;        ///< of its word on which net is which
};

struct Graph {
    explicit Graph(const Chassis& chassis);
    const Chassis& set;
    std::vector<Item> items;
    std::vector<std::vector<std::pair<int, int>>> on;  ///< by net: item and port
    std::vector<int> item_of_part;                     ///< -1 for a strip

    const Part& part(int item) const { return set.parts()[static_cast<std::size_t>(of(item).part)]; }
    const Item& of(int item) const { return items[static_cast<std::size_t>(item)]; }
    const PartWinding* winding(int item) const;
    /// A wire or cord whose two ends are one net.
    bool joins(int item) const;
    bool is_net(int net) const { return net >= 0 && static_cast<std::size_t>(net) < set.nets().size(); }
};

/// How the leads of an item lie on those of its mate; mirrored: a socket as counted from the other side.
enum class Way { straight, turned, mirrored };

struct Matching {
    struct Side {
        std::vector<int> mate;      ///< by item
        std::vector<Way> way;       ///< by item
        std::vector<int> net_mate;  ///< by net
        std::vector<int> part_of;   ///< by net without a mate: the net of the other set that most of it stands on
    };
    std::array<Side, 2> side;
    /// The net here is the net there, or a piece of it, or holds it as a piece.
    bool agree(int here, int there) const;
};

/// Ports of two items that lie on each other, one by one.
std::vector<std::pair<int, int>> laid(const Graph& here, int p, const Graph& there, int q, Way way);
/// The way costs a word: plus and minus exchanged, a socket from the other side.
bool is_turned(const Graph& here, int p, const Graph& there, int q, Way way);

/// Equal ids count only where a choice is left. Exchanging the sets mirrors the answer.
Matching matched(const Graph& here, const Graph& there);

}  // namespace tubewright::audit
