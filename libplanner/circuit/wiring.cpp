// SPDX-License-Identifier: MIT
// Makes the pattern: first every part says which (row, column) pairs it will ever touch, then the pairs are sorted into
// compressed columns and each part keeps the positions of its own. See wiring.hpp.
#include "circuit/wiring.hpp"

#include <klu.h>

#include <algorithm>
#include <utility>

namespace tubewright::circuit {

Wiring::Wiring(std::shared_ptr<const Circuit::Data> circuit, const std::vector<char>& parts_in, Ports ports_kind,
               std::vector<Node> ports)
    : data(std::move(circuit)), kind(ports_kind), port_nodes(std::move(ports)) {
    const auto nodes = data->names.size();
    std::vector<char> used(nodes, 0);
    for (const Node port : port_nodes) used[static_cast<std::size_t>(port)] = 1;
    for (std::size_t k = 0; k < data->parts.size(); ++k)
        if (parts_in[k])
            for (const Node node : data->parts[k].nodes) used[static_cast<std::size_t>(node)] = 1;
    if (kind == Ports::none) std::fill(used.begin(), used.end(), 1);  // every unknown of the circuit, in its own order

    local.assign(nodes, -1);
    for (std::size_t node = 1; node < nodes; ++node)
        if (used[node]) {
            local[node] = node_rows++;
            full.push_back(static_cast<int>(node) - 1);
        }
    n = node_rows;
    std::vector<int> branch_row(data->parts.size(), 0);
    for (std::size_t k = 0; k < data->parts.size(); ++k) {
        if (!parts_in[k]) continue;
        const Part& part = data->parts[k];
        branch_row[k] = n;
        for (int b = 0; b < part.branches; ++b) full.push_back(data->branch_unknown(part.branch + b));
        n += part.branches;
    }
    for (const Node port : port_nodes) {
        port_rows.push_back(local[static_cast<std::size_t>(port)]);
        if (kind == Ports::imposed) {
            port_branches.push_back(n++);
            full.push_back(-1);
        }
    }
    local[0] = n;

    std::vector<std::pair<int, int>> pairs;  // (column, row) in the order of `slots`
    const auto touch = [&](int r, int c) { pairs.emplace_back(c, r); };
    for (std::size_t k = 0; k < data->parts.size(); ++k) {
        if (!parts_in[k]) continue;
        const Part& part = data->parts[k];
        const int first_row = static_cast<int>(rows.size());
        const int first_slot = static_cast<int>(pairs.size());
        for (const Node node : part.nodes) rows.push_back(local[static_cast<std::size_t>(node)]);
        for (int b = 0; b < part.branches; ++b) rows.push_back(branch_row[k] + b);
        const int* r = rows.data() + first_row;
        const auto incidence = [&](int a, int b, int branch) {
            touch(a, branch);
            touch(b, branch);
            touch(branch, a);
            touch(branch, b);
        };
        switch (part.kind) {
            case Kind::resistor:
            case Kind::conductance:
            case Kind::capacitor:
                touch(r[0], r[0]);
                touch(r[0], r[1]);
                touch(r[1], r[0]);
                touch(r[1], r[1]);
                break;
            case Kind::inductor:
                incidence(r[0], r[1], r[2]);
                touch(r[2], r[2]);
                break;
            case Kind::voltage_source:
                incidence(r[0], r[1], r[2]);
                break;
            case Kind::current_source:
                break;
            case Kind::transformer: {
                const int windings = static_cast<int>(part.turns.size());
                const int* branch = r + 2 * windings;
                const int core = branch[windings], flux = branch[windings + 1];
                for (int w = 0; w < windings; ++w) {
                    incidence(r[2 * w], r[2 * w + 1], branch[w]);
                    touch(branch[w], branch[w]);
                    touch(branch[w], core);
                    touch(core, branch[w]);
                }
                touch(core, flux);
                touch(core, core);
                touch(flux, core);
                touch(flux, flux);
                break;
            }
            case Kind::device:
                for (int a = 0; a < part.law.terminals; ++a)
                    for (int b = 0; b < part.law.terminals; ++b) touch(r[a], r[b]);
                break;
        }
        if (part.kind == Kind::device) {
            devices.push_back({static_cast<int>(k), part.law.terminals, first_slot, first_row, gains, part.value});
            gains += (part.law.terminals - 1) * (part.law.terminals - 1);
        } else {
            linear.push_back({static_cast<int>(k), first_slot, first_row});
        }
        if (part.kind == Kind::capacitor)
            states.push_back({static_cast<int>(k), r[0], r[1], r[0], r[1], part.value + at::farads, true, part.state});
        if (part.kind == Kind::inductor)
            states.push_back({static_cast<int>(k), r[2], n, r[2], n, part.value + at::henries, false, part.state});
        if (part.kind == Kind::transformer) {
            const int flux = r[2 * part.turns.size() + part.turns.size() + 1];
            states.push_back({static_cast<int>(k), flux, n, flux, n, part.value + at::magnetising, false, part.state});
        }
    }
    const std::size_t own = pairs.size();
    for (int k = 0; k < node_rows; ++k) touch(k, k);
    const std::size_t port_begin = pairs.size();
    for (std::size_t p = 0; p < port_nodes.size(); ++p) {
        if (kind == Ports::norton)
            for (const int other : port_rows) touch(port_rows[p], other);
        if (kind == Ports::imposed) {
            touch(port_rows[p], port_branches[p]);
            touch(port_branches[p], port_rows[p]);
        }
    }

    std::vector<std::pair<int, int>> sorted;
    for (const auto& pair : pairs)
        if (pair.first < n && pair.second < n) sorted.push_back(pair);
    std::sort(sorted.begin(), sorted.end());
    sorted.erase(std::unique(sorted.begin(), sorted.end()), sorted.end());
    column.assign(static_cast<std::size_t>(n) + 1, 0);
    for (const auto& [c, r] : sorted) {
        ++column[static_cast<std::size_t>(c) + 1];
        row.push_back(r);
    }
    for (std::size_t c = 0; c < static_cast<std::size_t>(n); ++c) column[c + 1] += column[c];
    std::vector<int> place;
    for (const auto& pair : pairs) {
        if (pair.first >= n || pair.second >= n)
            place.push_back(nonzeros());
        else
            place.push_back(static_cast<int>(std::lower_bound(sorted.begin(), sorted.end(), pair) - sorted.begin()));
    }
    slots.assign(place.begin(), place.begin() + static_cast<std::ptrdiff_t>(own));
    diagonal.assign(place.begin() + static_cast<std::ptrdiff_t>(own),
                    place.begin() + static_cast<std::ptrdiff_t>(port_begin));
    port_slots.assign(place.begin() + static_cast<std::ptrdiff_t>(port_begin), place.end());

    if (n > 0) {
        klu_common common;
        klu_defaults(&common);
        symbolic = klu_analyze(n, column.data(), row.data(), &common);
    }
}

Wiring::~Wiring() {
    klu_common common;
    klu_defaults(&common);
    auto* handle = static_cast<klu_symbolic*>(symbolic);
    klu_free_symbolic(&handle, &common);
}

}  // namespace tubewright::circuit
