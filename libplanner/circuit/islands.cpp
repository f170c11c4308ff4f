// SPDX-License-Identifier: MIT
// Union-find over the conducting branches. See islands.hpp. Tests: tests/circuit/trouble_test.cpp.
#include "circuit/islands.hpp"

#include <algorithm>
#include <numeric>

namespace tubewright::circuit {

namespace {

class Union {
  public:
    explicit Union(std::size_t count) : parent_(count) { std::iota(parent_.begin(), parent_.end(), 0); }
    int root(int k) {
        while (parent_[static_cast<std::size_t>(k)] != k) {
            int& up = parent_[static_cast<std::size_t>(k)];
            up = parent_[static_cast<std::size_t>(up)];
            k = up;
        }
        return k;
    }
    /// Keeps the lower number as root, so that the reference stays 0. False when they were one already.
    bool join(int a, int b) {
        a = root(a);
        b = root(b);
        if (a == b) return false;
        parent_[static_cast<std::size_t>(std::max(a, b))] = std::min(a, b);
        return true;
    }

  private:
    std::vector<int> parent_;
};

void join_linear(const Circuit::Data& data, const std::vector<double>& values, Union& sets, double least = 0) {
    for (const Part& part : data.parts) {
        const double* v = values.data() + part.value;
        bool joined = false;
        switch (part.kind) {
            case Kind::resistor:
                joined = siemens_of(v[at::ohms]) > least;
                break;
            case Kind::conductance:
                joined = v[at::siemens] > least;
                break;
            case Kind::capacitor:
                joined = v[at::leak] > least;
                break;
            case Kind::inductor:
                joined = siemens_of(v[at::series]) > least;
                break;
            case Kind::voltage_source:
                joined = true;
                break;
            case Kind::transformer:
                for (std::size_t w = 0; w < part.turns.size(); ++w)
                    if (siemens_of(v[at::copper + static_cast<int>(w)]) > least)
                        sets.join(part.nodes[2 * w], part.nodes[2 * w + 1]);
                break;
            case Kind::current_source:
            case Kind::device:
                break;
        }
        if (joined) sets.join(part.nodes[0], part.nodes[1]);
    }
}

void join_devices(const Circuit::Data& data, Union& sets) {
    for (const Part& part : data.parts)
        if (part.kind == Kind::device)
            for (std::size_t k = 1; k < part.nodes.size(); ++k) sets.join(part.nodes[0], part.nodes[k]);
}

std::vector<std::vector<Node>> groups_of(Union& sets, std::size_t nodes) {
    std::vector<std::vector<Node>> groups(nodes);
    for (std::size_t node = 1; node < nodes; ++node) {
        const int root = sets.root(static_cast<int>(node));
        if (root != 0) groups[static_cast<std::size_t>(root)].push_back(static_cast<Node>(node));
    }
    groups.erase(std::remove_if(groups.begin(), groups.end(), [](const auto& group) { return group.empty(); }),
                 groups.end());
    return groups;
}

/// A branch of no resistance at direct current: its ends and the element.
struct Ideal {
    Node a = 0, b = 0;
    Element element = 0;
    bool source = false;
};

Trouble source_loop(const Circuit::Data& data, const std::vector<Ideal>& earlier, const Ideal& closing) {
    // Walk the tree of earlier branches from one end of the closing branch to the other.
    std::vector<int> via(data.names.size(), -1);
    std::vector<Node> queue{closing.a};
    std::vector<char> seen(data.names.size(), 0);
    seen[static_cast<std::size_t>(closing.a)] = 1;
    for (std::size_t k = 0; k < queue.size(); ++k)
        for (std::size_t e = 0; e < earlier.size(); ++e) {
            const Ideal& branch = earlier[e];
            if (branch.a != queue[k] && branch.b != queue[k]) continue;
            const Node other = branch.a == queue[k] ? branch.b : branch.a;
            if (seen[static_cast<std::size_t>(other)]) continue;
            seen[static_cast<std::size_t>(other)] = 1;
            via[static_cast<std::size_t>(other)] = static_cast<int>(e);
            queue.push_back(other);
        }
    Trouble trouble;
    trouble.kind = Trouble::Kind::source_loop;
    trouble.elements.push_back(closing.element);
    for (Node node = closing.b; node != closing.a;) {
        trouble.nodes.push_back(node);
        const Ideal& branch = earlier[static_cast<std::size_t>(via[static_cast<std::size_t>(node)])];
        trouble.elements.push_back(branch.element);
        node = branch.a == node ? branch.b : branch.a;
    }
    trouble.nodes.push_back(closing.a);
    std::sort(trouble.elements.begin(), trouble.elements.end());
    std::sort(trouble.nodes.begin(), trouble.nodes.end());
    trouble.text = "a loop of sources without resistance through";
    for (const Node node : trouble.nodes) trouble.text += " " + data.names[static_cast<std::size_t>(node)];
    return trouble;
}

}  // namespace

std::vector<std::vector<Node>> islands(const Circuit::Data& data, const std::vector<double>& values,
                                       bool open_devices) {
    Union sets(data.names.size());
    join_linear(data, values, sets);
    if (!open_devices) join_devices(data, sets);
    return groups_of(sets, data.names.size());
}

std::vector<std::vector<Node>> islands(const Circuit::Data& data, const std::vector<double>& values,
                                       const std::vector<std::pair<Node, Node>>& joins, double least_siemens) {
    Union sets(data.names.size());
    join_linear(data, values, sets, least_siemens);
    for (const auto& [a, b] : joins) sets.join(a, b);
    return groups_of(sets, data.names.size());
}

Trouble floating(const Circuit::Data& data, const std::vector<std::vector<Node>>& groups) {
    Trouble trouble;
    if (groups.empty()) return trouble;
    trouble.kind = Trouble::Kind::floating_nodes;
    for (const auto& group : groups) trouble.nodes.insert(trouble.nodes.end(), group.begin(), group.end());
    std::sort(trouble.nodes.begin(), trouble.nodes.end());
    trouble.text = "no conducting path to the reference, so undetermined:";
    for (const Node node : trouble.nodes) trouble.text += " " + data.names[static_cast<std::size_t>(node)];
    for (std::size_t k = 0; k < data.parts.size(); ++k)
        for (const Node node : data.parts[k].nodes)
            if (std::binary_search(trouble.nodes.begin(), trouble.nodes.end(), node)) {
                trouble.elements.push_back(static_cast<Element>(k));
                break;
            }
    return trouble;
}

Trouble examine(const Circuit::Data& data, const std::vector<double>& values, bool tied) {
    Union ideal(data.names.size());
    std::vector<Ideal> tree;
    const auto add = [&](Node a, Node b, std::size_t element, Trouble& trouble) {
        const Ideal branch{a, b, static_cast<Element>(element), true};
        if (ideal.join(a, b))
            tree.push_back(branch);
        else
            trouble = source_loop(data, tree, branch);
    };
    Trouble trouble;
    for (int pass = 0; pass < 2 && trouble.kind == Trouble::Kind::none; ++pass)
        for (std::size_t k = 0; k < data.parts.size() && trouble.kind == Trouble::Kind::none; ++k) {
            const Part& part = data.parts[k];
            const double* v = values.data() + part.value;
            if (pass == 0 && part.kind == Kind::voltage_source) add(part.nodes[0], part.nodes[1], k, trouble);
            if (pass == 1 && part.kind == Kind::inductor && v[at::series] == 0 && part.nodes[0] != part.nodes[1])
                add(part.nodes[0], part.nodes[1], k, trouble);
        }
    if (trouble.kind != Trouble::Kind::none) return trouble;

    Union sets(data.names.size());
    join_linear(data, values, sets);
    join_devices(data, sets);
    for (std::size_t k = 0; k < data.parts.size(); ++k) {
        const Part& part = data.parts[k];
        if (part.kind != Kind::current_source || values[static_cast<std::size_t>(part.value)] == 0) continue;
        if (sets.root(part.nodes[0]) == sets.root(part.nodes[1])) continue;
        trouble.kind = Trouble::Kind::current_cut;
        trouble.elements.push_back(static_cast<Element>(k));
        trouble.nodes = part.nodes;
        trouble.text = "a current source without a way back, from " +
                       data.names[static_cast<std::size_t>(part.nodes[0])] + " into " +
                       data.names[static_cast<std::size_t>(part.nodes[1])];
        return trouble;
    }
    if (!tied) return floating(data, groups_of(sets, data.names.size()));
    return trouble;
}

}  // namespace tubewright::circuit
