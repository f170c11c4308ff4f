// SPDX-License-Identifier: MIT
#include "audit/heaters.hpp"

#include <algorithm>
#include <map>

#include "chassis/data.hpp"

namespace tubewright::audit {
namespace {

std::size_t at(int index) {
    return static_cast<std::size_t>(index);
}

/// Resistors above this feed no heater.
constexpr double ohms_in_a_string = 1500;
constexpr double dropper_watts = 5;
constexpr double capacitor_dropper = 1e-6;  ///< farads in series with a string, in place of ohms

}  // namespace

std::vector<int> biconnected_blocks(int nets, const std::vector<std::pair<int, int>>& edges) {
    std::vector<std::vector<int>> incident(at(nets));
    std::vector<int> block(edges.size(), -1);
    int blocks = 0;
    for (std::size_t e = 0; e < edges.size(); ++e) {
        if (edges[e].first == edges[e].second) {
            block[e] = blocks++;
            continue;
        }
        incident[at(edges[e].first)].push_back(static_cast<int>(e));
        incident[at(edges[e].second)].push_back(static_cast<int>(e));
    }
    std::vector<int> depth(at(nets), -1), low(at(nets), 0), next(at(nets), 0);
    std::vector<int> open_edges;
    struct Visit {
        int net, by;
    };
    for (int root = 0; root < nets; ++root) {
        if (depth[at(root)] >= 0) continue;
        std::vector<Visit> path{{root, -1}};
        depth[at(root)] = 0;
        low[at(root)] = 0;
        while (!path.empty()) {
            const Visit here = path.back();
            if (at(next[at(here.net)]) < incident[at(here.net)].size()) {
                const int edge = incident[at(here.net)][at(next[at(here.net)]++)];
                if (edge == here.by || block[at(edge)] >= 0) continue;
                const int other = edges[at(edge)].first == here.net ? edges[at(edge)].second : edges[at(edge)].first;
                if (depth[at(other)] < 0) {
                    open_edges.push_back(edge);
                    depth[at(other)] = depth[at(here.net)] + 1;
                    low[at(other)] = depth[at(other)];
                    path.push_back({other, edge});
                } else if (depth[at(other)] < depth[at(here.net)]) {
                    open_edges.push_back(edge);
                    low[at(here.net)] = std::min(low[at(here.net)], depth[at(other)]);
                }
                continue;
            }
            path.pop_back();
            if (path.empty()) continue;
            const int above = path.back().net;
            low[at(above)] = std::min(low[at(above)], low[at(here.net)]);
            if (low[at(here.net)] >= depth[at(above)]) {
                while (!open_edges.empty()) {
                    const int edge = open_edges.back();
                    open_edges.pop_back();
                    block[at(edge)] = blocks;
                    if (edge == here.by) break;
                }
                ++blocks;
            }
        }
    }
    return block;
}

std::vector<HeaterPath> heaters_of(const Trace& trace, Empty empty) {
    std::vector<HeaterPath> heaters;
    std::vector<std::pair<int, int>> inside;  // pins that a tube joins
    const Chassis& chassis = trace.chassis();
    for (std::size_t p = 0; p < chassis.parts().size(); ++p) {
        const Part& socket = chassis.parts()[p];
        if (socket.kind != PartKind::socket || socket.type == nullptr) continue;
        if (empty == Empty::as_gap && stands_empty(socket)) continue;
        std::vector<int> ends;
        std::vector<std::string> names;
        int tap = -1;
        const auto soldered = [&](int lead) { return trace.soldered(socket, lead); };
        for (const PinElectrode& pin : trace.electrodes(static_cast<int>(p))) {
            if (pin.electrode == Electrode::heater) {
                // two pins of one end ("h-" twice) are joined in the tube: the one that is soldered counts
                const auto known =
                    pin.written == "h" ? names.end() : std::find(names.begin(), names.end(), pin.written);
                if (known == names.end()) {
                    names.push_back(pin.written);
                    ends.push_back(pin.lead);
                } else {
                    int& end = ends[static_cast<std::size_t>(known - names.begin())];
                    inside.emplace_back(socket.leads[at(end)].net, socket.leads[at(pin.lead)].net);
                    if (!soldered(end)) end = pin.lead;
                }
            }
            if (pin.electrode == Electrode::heater_tap && pin.written == "hct") tap = pin.lead;
        }
        if (ends.size() < 2) continue;
        const auto add = [&](int a, int b, double share) {
            HeaterPath path;
            path.part = static_cast<int>(p);
            path.lead_a = a;
            path.lead_b = b;
            path.net_a = socket.leads[at(a)].net;
            path.net_b = socket.leads[at(b)].net;
            if (socket.type->heater_volts) path.volts = *socket.type->heater_volts * share;
            path.amps = socket.type->heater_amps;
            heaters.push_back(path);
        };
        const bool tap_used = tap >= 0 && soldered(tap);
        if (tap_used) {
            add(ends[0], tap, 0.5);
            add(tap, ends[1], 0.5);
        } else {
            add(ends[0], ends[1], 1);
        }
    }

    // Everything that heater current can pass, the heaters first, then the rest; which edges are sources.
    std::vector<std::pair<int, int>> edges;
    enum class Source { none, winding, line };
    std::vector<Source> source;
    std::vector<int> heater_edge(heaters.size(), -1);
    for (std::size_t i = 0; i < heaters.size(); ++i) {
        if (heaters[i].net_a < 0 || heaters[i].net_b < 0) continue;
        heater_edge[i] = static_cast<int>(edges.size());
        edges.emplace_back(heaters[i].net_a, heaters[i].net_b);
        source.push_back(Source::none);
    }
    for (const auto& [a, b] : inside)
        if (a >= 0 && b >= 0) {
            edges.emplace_back(a, b);
            source.push_back(Source::none);
        }
    // A tube that is not named may have its heater between any two of its pins.
    for (const Part& socket : chassis.parts()) {
        if (socket.kind != PartKind::socket || socket.type != nullptr) continue;
        int first = -1;
        for (const Lead& lead : socket.leads) {
            if (lead.net < 0) continue;
            if (first >= 0 && first != lead.net) {
                edges.emplace_back(first, lead.net);
                source.push_back(Source::none);
            }
            if (first < 0) first = lead.net;
        }
    }
    // Filaments may be fed with direct current, from the rectifier through a dropper.
    bool filaments = false;
    for (const HeaterPath& heater : heaters) {
        const TubeType& type = *trace.part(heater.part).type;
        filaments = filaments || (type.directly_heated && !type.is_rectifier());
    }
    std::map<std::pair<int, int>, std::pair<int, int>> across;  // nets in order -> part, winding with half
    std::map<std::pair<int, int>, double> volts_across;
    bool any_source = false;
    for (const Conductor& path : trace.conductors()) {
        const Part& part = trace.part(path.part);
        Source kind = Source::none;
        if (path.winding >= 0) {
            const PartWinding& winding = part.windings[at(path.winding)];
            const bool feeds = winding.role == WindingRole::heater || winding.role == WindingRole::rectifier_heater ||
                               (winding.role == WindingRole::other && part.role == "power");
            if (!feeds) continue;
            kind = Source::winding;
            const std::pair<int, int> nets = std::minmax(path.a, path.b);
            across.emplace(nets, std::pair(path.part, path.winding));
            const double halves = static_cast<double>(winding.leads.size()) - 1;
            if (winding.volts) volts_across.emplace(nets, *winding.volts / halves);
            if (winding.leads.size() == 3) {
                const std::pair<int, int> whole =
                    std::minmax(part.leads[at(winding.leads[0])].net, part.leads[at(winding.leads[2])].net);
                across.emplace(whole, std::pair(path.part, path.winding));
                if (winding.volts) volts_across.emplace(whole, *winding.volts);
            }
        } else if (part.kind == PartKind::resistor || part.kind == PartKind::control) {
            // a filament string draws twentieths of an ampere: its dropper has thousands of ohms
            // and ohms misread in a dropper leave it a dropper
            const bool large = part.rated_watts.value_or(0) >= dropper_watts;
            const double most = large ? 10 * ohms_in_a_string : filaments ? 4 * ohms_in_a_string : ohms_in_a_string;
            if (part.ohms && *part.ohms > most) continue;
        } else if (part.kind == PartKind::coil && (part.role == "field" || part.role == "choke") && part.ohms &&
                   *part.ohms > 50) {
            continue;
        }
        // An A battery, or a vehicle's, heats as a winding does.
        if (part.kind == PartKind::battery && (part.role == "a" || part.role == "vehicle")) kind = Source::winding;
        edges.emplace_back(path.a, path.b);
        source.push_back(kind);
        any_source = any_source || kind != Source::none;
    }
    for (const Part& part : chassis.parts()) {
        if (part.kind != PartKind::capacitor || part.polarised || part.farads.value_or(0) < capacitor_dropper ||
            part.leads.size() != 2 || part.leads[0].net < 0 || part.leads[1].net < 0)
            continue;
        edges.emplace_back(part.leads[0].net, part.leads[1].net);
        source.push_back(Source::none);
    }
    for (const Part& part : chassis.parts()) {  // the rest of a string that nobody traced
        if (part.kind != PartKind::untraced || part.leads.size() != 2 || part.leads[0].net < 0 || part.leads[1].net < 0)
            continue;
        edges.emplace_back(part.leads[0].net, part.leads[1].net);
        source.push_back(Source::none);
    }
    // Or by the tube whose cathode stands on them.
    if (const int home = chassis.reference(); filaments && home >= 0)
        for (const Unit& unit : trace.units()) {
            const Part& tube = trace.part(unit.part);
            if (tube.type->is_rectifier() || tube.type->directly_heated || stands_empty(tube)) continue;
            for (const PinElectrode& plate : unit.pins) {
                if (plate.electrode != Electrode::plate || !trace.reaches_b_plus(tube.leads[at(plate.lead)].net))
                    continue;
                for (const int cathode : trace.emitter(unit.part, plate)) {
                    if (trace.bottom(cathode)) continue;
                    edges.emplace_back(cathode, home);
                    source.push_back(Source::winding);
                    any_source = true;
                }
            }
        }
    const NodeRoles& roles = chassis.nodes();
    if (const int home = chassis.reference(); filaments && home >= 0 && chassis.family() != Family::ac_transformer)
        for (int net = 0; net < static_cast<int>(chassis.nets().size()); ++net) {
            if (!trace.rectifier_output(net)) continue;
            edges.emplace_back(net, home);
            source.push_back(Source::winding);
            any_source = true;
        }
    if (roles.line_hot >= 0 && roles.line_neutral >= 0) {
        edges.emplace_back(roles.line_hot, roles.line_neutral);
        source.push_back(Source::line);
        any_source = true;
    }
    if (!any_source) return {};

    const std::vector<int> block = biconnected_blocks(static_cast<int>(chassis.nets().size()), edges);
    int blocks = 0;
    for (const int b : block) blocks = std::max(blocks, b + 1);
    std::vector<char> winding_in(at(blocks)), line_in(at(blocks));
    for (std::size_t e = 0; e < edges.size(); ++e) {
        if (edges[e].first == edges[e].second) continue;
        if (source[e] == Source::winding) winding_in[at(block[e])] = 1;
        if (source[e] == Source::line) line_in[at(block[e])] = 1;
    }
    std::vector<int> ways(chassis.nets().size());  // ways out of a net for heater current
    for (const auto& [a, b] : edges)
        if (a != b) ++ways[at(a)], ++ways[at(b)];
    for (std::size_t i = 0; i < heaters.size(); ++i) {
        HeaterPath& heater = heaters[i];
        if (heater_edge[i] < 0 || heater.net_a == heater.net_b) continue;
        for (const int end : {heater.net_a, heater.net_b})
            if (ways[at(end)] == 1 && !trace.bottom(end)) heater.open_end = end;
        const std::size_t in = at(block[at(heater_edge[i])]);
        heater.by_line = !winding_in[in] && line_in[in];
        heater.fed = winding_in[in] || line_in[in];
        const std::pair<int, int> nets = std::minmax(heater.net_a, heater.net_b);
        if (const auto found = across.find(nets); found != across.end()) {
            heater.winding_part = found->second.first;
            heater.winding = found->second.second;
        }
        if (const auto found = volts_across.find(nets); found != volts_across.end())
            heater.winding_volts = found->second;
    }
    return heaters;
}

}  // namespace tubewright::audit
