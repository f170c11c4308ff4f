// SPDX-License-Identifier: MIT
#include "chassis/graph.hpp"

#include <algorithm>
#include <boost/graph/adjacency_list.hpp>
#include <boost/graph/dominator_tree.hpp>
#include <limits>
#include <string_view>

namespace tubewright {
namespace {

std::size_t at(int i) {
    return static_cast<std::size_t>(i);
}

constexpr double short_wire_ohms = 100;

std::vector<int> all_leads(const Part& part) {
    std::vector<int> leads;
    for (std::size_t i = 0; i < part.leads.size(); ++i) leads.push_back(static_cast<int>(i));
    return leads;
}

bool is_heater(std::string_view electrode) {
    return electrode.starts_with('h');
}

/// Letters and digits after the kind of electrode: "p2" -> "2", "pr" -> "r", "g2t" -> "t" (after "g2").
bool electrode_of_unit(std::string_view electrode, std::string_view kind, std::string_view unit) {
    return electrode.starts_with(kind) && electrode.substr(kind.size()) == unit;
}

/// Leads whose pin carries an electrode that the test accepts.
template <class Test>
std::vector<int> leads_with(const Part& part, Test accept) {
    std::vector<int> leads;
    if (!part.type) return leads;
    for (std::size_t i = 0; i < part.leads.size(); ++i)
        if (const Pin* pin = part.type->pin(part.leads[i].name))
            if (std::any_of(pin->electrodes.begin(), pin->electrodes.end(), accept))
                leads.push_back(static_cast<int>(i));
    return leads;
}

/// Suffixes of the units of a tube by its plates: {""}, {"1","2"}, {"", "r"}.
std::vector<std::string> units_of(const TubeType& type) {
    std::vector<std::string> units;
    for (const Pin& pin : type.pins)
        for (const std::string& electrode : pin.electrodes)
            if (electrode.starts_with('p')) units.push_back(electrode.substr(1));
    std::sort(units.begin(), units.end());
    units.erase(std::unique(units.begin(), units.end()), units.end());
    return units;
}

/// Cathode of a unit: its own, else the common one, else the filament. Sections named by letter ("t") or number.
std::vector<int> cathode_leads(const Part& part, std::string_view unit) {
    auto own = leads_with(part, [&](std::string_view e) { return electrode_of_unit(e, "k", unit); });
    if (own.empty()) own = leads_with(part, [](std::string_view e) { return e == "k"; });
    if (own.empty() && part.type && part.type->directly_heated) own = leads_with(part, is_heater);
    return own;
}

void add_group(std::vector<ConductingGroup>& groups, int part, std::vector<int> leads) {
    if (leads.size() > 1) groups.push_back({part, std::move(leads)});
}

void tube_groups(const Part& part, int index, Through through, std::vector<ConductingGroup>& groups) {
    if (!part.type) return;
    if (through == Through::copper || through == Through::blade) add_group(groups, index, leads_with(part, is_heater));
    if (through == Through::direct_current || through == Through::blade) {
        for (const RectifierUnit& unit : rectifier_units(part, index)) {
            std::vector<int> leads = unit.plates;
            leads.insert(leads.end(), unit.cathodes.begin(), unit.cathodes.end());
            add_group(groups, index, leads);
        }
    }
    if (through == Through::blade) {
        for (const std::string& unit : units_of(*part.type)) {
            std::vector<int> leads = leads_with(part, [&](std::string_view e) {
                return electrode_of_unit(e, "p", unit) || electrode_of_unit(e, "g2", unit);
            });
            for (const int k : cathode_leads(part, unit))
                if (std::find(leads.begin(), leads.end(), k) == leads.end()) leads.push_back(k);
            add_group(groups, index, leads);
        }
    }
}

}  // namespace

std::vector<RectifierUnit> rectifier_units(const Part& part, int index) {
    std::vector<RectifierUnit> units;
    if (part.kind != PartKind::socket || !part.type || !part.type->is_rectifier()) return units;
    // In a tube that holds a rectifier and something else, the rectifier's electrodes end in r.
    const bool combined = part.type->tube_class.find(" + ") != std::string::npos;
    for (const std::string& unit : units_of(*part.type)) {
        if (combined && unit != "r") continue;
        RectifierUnit u;
        u.part = index;
        u.plates = leads_with(part, [&](std::string_view e) { return electrode_of_unit(e, "p", unit); });
        u.cathodes = cathode_leads(part, unit);
        units.push_back(std::move(u));
    }
    return units;
}

std::vector<ConductingGroup> conducting_groups(const Part& part, int index, Through through) {
    std::vector<ConductingGroup> groups;
    const bool short_wire = through == Through::short_wire;
    const auto small = [&] { return !short_wire || (part.ohms && *part.ohms <= short_wire_ohms); };
    switch (part.kind) {
        case PartKind::capacitor:
        case PartKind::plug:
        case PartKind::strip:
        case PartKind::block:
            break;
        case PartKind::battery:
            if (part.closed && !short_wire) add_group(groups, index, all_leads(part));
            break;
        case PartKind::rectifier:
        case PartKind::vibrator:
            if (!short_wire) add_group(groups, index, all_leads(part));
            break;
        case PartKind::socket:
            tube_groups(part, index, through, groups);
            break;
        case PartKind::transformer:
            if (short_wire) break;
            for (const PartWinding& winding : part.windings) add_group(groups, index, winding.leads);
            break;
        case PartKind::power_switch:
            if (part.closed || through != Through::direct_current) add_group(groups, index, all_leads(part));
            break;
        case PartKind::cord:
            if (short_wire && part.ohms && *part.ohms > short_wire_ohms) break;
            add_group(groups, index, all_leads(part));
            break;
        case PartKind::fuse:
        case PartKind::wire:
            add_group(groups, index, all_leads(part));
            break;
        case PartKind::resistor:
        case PartKind::coil:
            if (small()) add_group(groups, index, all_leads(part));
            break;
        case PartKind::control:
        case PartKind::lamp:
        case PartKind::speaker:
        case PartKind::untraced:
            if (!short_wire) add_group(groups, index, all_leads(part));
            break;
    }
    return groups;
}

PartGraph::PartGraph(const std::vector<Part>& parts, int net_count, Through through)
    : nets_(net_count), net_groups_(at(net_count)) {
    for (std::size_t p = 0; p < parts.size(); ++p) {
        for (ConductingGroup& group : conducting_groups(parts[p], static_cast<int>(p), through)) {
            std::vector<int> nets;
            for (const int lead : group.leads)
                if (const int net = parts[p].leads[at(lead)].net; net >= 0) nets.push_back(net);
            std::sort(nets.begin(), nets.end());
            nets.erase(std::unique(nets.begin(), nets.end()), nets.end());
            for (const int net : nets) net_groups_[at(net)].push_back(static_cast<int>(groups_.size()));
            group_nets_.push_back(std::move(nets));
            groups_.push_back(std::move(group));
        }
    }
}

std::vector<bool> PartGraph::reached(const std::vector<int>& from, int without) const {
    std::vector<bool> barred(at(nets_));
    if (without >= 0 && without < nets_) barred[at(without)] = true;
    return reached(from, barred);
}

std::vector<bool> PartGraph::reached(const std::vector<int>& from, const std::vector<bool>& without) const {
    std::vector<bool> net_seen(at(nets_)), group_seen(groups_.size());
    std::vector<int> queue;
    const auto visit = [&](int net) {
        if (net < 0 || without[at(net)] || net_seen[at(net)]) return;
        net_seen[at(net)] = true;
        queue.push_back(net);
    };
    for (const int net : from) visit(net);
    while (!queue.empty()) {
        const int net = queue.back();
        queue.pop_back();
        for (const int group : net_groups_[at(net)]) {
            if (group_seen[at(group)]) continue;
            group_seen[at(group)] = true;
            for (const int next : group_nets_[at(group)]) visit(next);
        }
    }
    return net_seen;
}

std::vector<int> PartGraph::parts_between(int from, int to, int without) const {
    if (from < 0 || to < 0 || from == to || from >= nets_ || to >= nets_) return {};
    if (without == from || without == to) without = -1;
    const std::vector<bool> live = reached({from}, without);
    if (!live[at(to)]) return {};

    // The reached part alone, numbered afresh: nets first, then groups.
    using Graph = boost::adjacency_list<boost::vecS, boost::vecS, boost::bidirectionalS>;
    using Vertex = boost::graph_traits<Graph>::vertex_descriptor;
    std::vector<int> vertex_of_net(at(nets_), -1);
    int count = 0;
    for (int net = 0; net < nets_; ++net)
        if (live[at(net)]) vertex_of_net[at(net)] = count++;
    std::vector<int> group_of_vertex(at(count), -1);
    std::vector<std::pair<int, int>> edges;
    for (std::size_t g = 0; g < groups_.size(); ++g) {
        bool touched = false;
        for (const int net : group_nets_[g]) {
            if (!live[at(net)]) continue;
            touched = true;
            edges.emplace_back(vertex_of_net[at(net)], count);
        }
        if (!touched) continue;
        group_of_vertex.push_back(static_cast<int>(g));
        ++count;
    }
    Graph graph(at(count));
    for (const auto& [a, b] : edges) {
        boost::add_edge(static_cast<Vertex>(a), static_cast<Vertex>(b), graph);
        boost::add_edge(static_cast<Vertex>(b), static_cast<Vertex>(a), graph);
    }
    const Vertex none = boost::graph_traits<Graph>::null_vertex();
    std::vector<Vertex> dominator(at(count), none);
    const auto start = static_cast<Vertex>(vertex_of_net[at(from)]);
    boost::lengauer_tarjan_dominator_tree(
        graph, start, boost::make_iterator_property_map(dominator.begin(), boost::get(boost::vertex_index, graph)));

    std::vector<int> parts;
    for (Vertex v = static_cast<Vertex>(vertex_of_net[at(to)]); v != start && v != none; v = dominator[v])
        if (const int group = group_of_vertex[v]; group >= 0) parts.push_back(groups_[at(group)].part);
    std::reverse(parts.begin(), parts.end());
    parts.erase(std::unique(parts.begin(), parts.end()), parts.end());
    return parts;
}

}  // namespace tubewright
