// SPDX-License-Identifier: MIT
// The part graph: what lies between two nets, against a search that leaves out each part in turn, on random sets with
// sections that hang in the air.
#include <catch2/catch.hpp>

#include <algorithm>
#include <random>
#include <set>

#include "chassis/graph.hpp"

using namespace tubewright;

namespace {

Part two_terminal(int index, PartKind kind, int a, int b) {
    Part part;
    part.id = "R" + std::to_string(index);
    part.kind = kind;
    part.leads = {{"a", a, false, {}}, {"b", b, false, {}}};
    return part;
}

Part transformer(int index, const std::vector<std::vector<int>>& windings) {
    Part part;
    part.id = "T" + std::to_string(index);
    part.kind = PartKind::transformer;
    for (const std::vector<int>& nets : windings) {
        PartWinding& winding = part.windings.emplace_back();
        for (const int net : nets) {
            winding.leads.push_back(static_cast<int>(part.leads.size()));
            part.leads.push_back({std::to_string(part.leads.size()), net, false, {}});
        }
    }
    return part;
}

/// Is there a path from `from` to `to` through direct-current groups, without net `without` and without any group of
/// index `left_out`? Repeated relaxation: slow and plain.
bool path(const std::vector<Part>& parts, int nets, int from, int to, int without, int left_out) {
    std::vector<bool> seen(static_cast<std::size_t>(nets));
    seen[static_cast<std::size_t>(from)] = true;
    for (bool changed = true; changed;) {
        changed = false;
        int index = 0;
        for (std::size_t p = 0; p < parts.size(); ++p)
            for (const ConductingGroup& group :
                 conducting_groups(parts[p], static_cast<int>(p), Through::direct_current)) {
                if (index++ == left_out) continue;
                bool live = false;
                for (const int lead : group.leads) {
                    const int net = parts[p].leads[static_cast<std::size_t>(lead)].net;
                    live = live || (net != without && seen[static_cast<std::size_t>(net)]);
                }
                if (!live) continue;
                for (const int lead : group.leads) {
                    const int net = parts[p].leads[static_cast<std::size_t>(lead)].net;
                    if (net == without || seen[static_cast<std::size_t>(net)]) continue;
                    seen[static_cast<std::size_t>(net)] = changed = true;
                }
            }
    }
    return seen[static_cast<std::size_t>(to)];
}

/// The slow twin: parts of which one group, left out, cuts `to` off.
std::set<int> cutting(const std::vector<Part>& parts, int nets, int from, int to, int without) {
    std::set<int> found;
    if (from == to || !path(parts, nets, from, to, without, -1)) return found;
    int index = 0;
    for (std::size_t p = 0; p < parts.size(); ++p)
        for (std::size_t g = conducting_groups(parts[p], static_cast<int>(p), Through::direct_current).size(); g > 0;
             --g)
            if (!path(parts, nets, from, to, without, index++)) found.insert(static_cast<int>(p));
    return found;
}

}  // namespace

TEST_CASE("Between first filter and screen stand choke and dropper, in that order") {
    // 0 rectifier - choke - 1 - dropper - 2 screen; a bleeder 1 - 3 ground, a bypass 2 - 3, a coupler 2 - 4.
    std::vector<Part> parts = {two_terminal(0, PartKind::coil, 0, 1), two_terminal(1, PartKind::resistor, 1, 2),
                               two_terminal(2, PartKind::resistor, 1, 3), two_terminal(3, PartKind::capacitor, 2, 3),
                               two_terminal(4, PartKind::capacitor, 2, 4)};
    const PartGraph graph(parts, 5, Through::direct_current);
    CHECK(graph.parts_between(0, 2, 3) == std::vector<int>{0, 1});
    CHECK(graph.parts_between(2, 0, 3) == std::vector<int>{1, 0});
    CHECK(graph.parts_between(0, 4, 3).empty());  // a capacitor is no path
    CHECK(graph.parts_between(0, 0, 3).empty());
    CHECK(graph.parts_between(-1, 2, 3).empty());
    CHECK(graph.parts_between(0, 99, 3).empty());
    // A second resistor beside the dropper: neither is passed for certain.
    parts.push_back(two_terminal(5, PartKind::resistor, 2, 1));
    CHECK(PartGraph(parts, 5, Through::direct_current).parts_between(0, 2, 3) == std::vector<int>{0});
}

TEST_CASE("A path through ground does not count unless ground is an end") {
    const std::vector<Part> parts = {two_terminal(0, PartKind::resistor, 0, 2),
                                     two_terminal(1, PartKind::resistor, 2, 1)};
    const PartGraph graph(parts, 3, Through::direct_current);
    CHECK(graph.parts_between(0, 1, 2).empty());
    CHECK(graph.parts_between(0, 1) == std::vector<int>{0, 1});
    CHECK(graph.parts_between(0, 2, 2) == std::vector<int>{0});
}

TEST_CASE("A switch that is open is no path for current and still copper") {
    std::vector<Part> parts = {two_terminal(0, PartKind::power_switch, 0, 1)};
    parts[0].closed = false;
    CHECK(PartGraph(parts, 2, Through::direct_current).parts_between(0, 1).empty());
    CHECK(PartGraph(parts, 2, Through::copper).parts_between(0, 1) == std::vector<int>{0});
    parts[0].closed = true;
    CHECK(PartGraph(parts, 2, Through::direct_current).parts_between(0, 1) == std::vector<int>{0});
}

TEST_CASE("Windings of one transformer are paths of their own") {
    const std::vector<Part> parts = {transformer(0, {{0, 1}, {2, 3, 4}})};
    const PartGraph graph(parts, 5, Through::direct_current);
    CHECK(graph.parts_between(0, 2).empty());
    CHECK(graph.parts_between(2, 4) == std::vector<int>{0});
    CHECK(PartGraph(parts, 5, Through::short_wire).parts_between(0, 1).empty());
}

TEST_CASE("What lies between two nets is what a search finds that leaves out each part in turn") {
    std::mt19937 random(11);
    const auto below = [&](int n) { return static_cast<int>(random() % static_cast<unsigned>(n)); };
    int answers = 0, unreached = 0;
    for (int round = 0; round < 400; ++round) {
        const int nets = 3 + below(12);
        std::vector<Part> parts;
        for (int i = 0, count = 2 + below(nets + 4); i < count; ++i) {
            const int kind = below(10);
            if (kind == 0)
                parts.push_back(transformer(i, {{below(nets), below(nets)}, {below(nets), below(nets), below(nets)}}));
            else
                parts.push_back(
                    two_terminal(i, kind < 3 ? PartKind::capacitor : PartKind::resistor, below(nets), below(nets)));
        }
        const PartGraph graph(parts, nets, Through::direct_current);
        for (int from = 0; from < nets; ++from)
            for (int to = 0; to < nets; ++to) {
                const int ground = round % 2 ? 0 : -1;
                const int without = ground == from || ground == to ? -1 : ground;
                const std::vector<int> found = graph.parts_between(from, to, ground);
                const std::set<int> wanted = cutting(parts, nets, from, to, without);
                if (std::set<int>(found.begin(), found.end()) != wanted)
                    FAIL("round " << round << " from " << from << " to " << to << ": " << found.size() << " for "
                                  << wanted.size());
                answers += wanted.empty() ? 0 : 1;
                unreached += path(parts, nets, from, to, without, -1) ? 0 : 1;
            }
    }
    CHECK(answers > 1000);
    CHECK(unreached > 1000);  // sections in the air
}

TEST_CASE("The order of the parts between is the order along every path") {
    // A chain of resistors with a mesh in the middle.
    std::vector<Part> parts;
    for (int i = 0; i < 10; ++i) parts.push_back(two_terminal(i, PartKind::resistor, i, i + 1));
    parts.push_back(two_terminal(10, PartKind::resistor, 4, 6));
    const PartGraph graph(parts, 11, Through::direct_current);
    CHECK(graph.parts_between(0, 10) == std::vector<int>{0, 1, 2, 3, 6, 7, 8, 9});
    CHECK(graph.parts_between(10, 0) == std::vector<int>{9, 8, 7, 6, 3, 2, 1, 0});
}
