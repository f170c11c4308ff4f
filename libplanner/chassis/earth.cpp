// SPDX-License-Identifier: MIT
// See earth.hpp.
#include "chassis/earth.hpp"

#include <algorithm>

#include "chassis/graph.hpp"

namespace tubewright {
namespace {

std::size_t at(int i) {
    return static_cast<std::size_t>(i);
}

// Out of its place, or a new part in it.
bool gone(const std::string& id, const Progress& progress) {
    const auto it = progress.parts.find(id);
    return it != progress.parts.end() && it->second != PartState::original && it->second != PartState::proved;
}

bool taken_off(const std::vector<std::string>& wires, const Progress& progress) {
    if (std::count(progress.steps_done.begin(), progress.steps_done.end(), "earth-off") > 0) return true;
    return !wires.empty() && std::all_of(wires.begin(), wires.end(), [&](const std::string& id) {
        return gone(id, progress) && progress.parts.at(id) != PartState::fitted;
    });
}

}  // namespace

Earth earth_of(const Chassis& chassis, const Progress& progress) {
    Earth e;
    const NodeRoles& roles = chassis.nodes();
    e.metal = roles.chassis_metal >= 0 ? roles.chassis_metal : roles.b_minus >= 0 ? roles.b_minus : chassis.reference();
    if (roles.earth < 0 || e.metal < 0) return e;
    const std::vector<Part>& parts = chassis.parts();
    const PartGraph wires(parts, static_cast<int>(chassis.nets().size()), Through::short_wire);
    const std::vector<bool> earthed = wires.reached({roles.earth});
    if (!earthed[at(e.metal)]) return e;
    for (const int group : wires.groups_on(roles.earth)) {
        if (roles.earth == e.metal) break;
        if (!wires.reached(wires.nets_of(group), roles.earth)[at(e.metal)]) continue;
        e.over.push_back(parts[at(wires.groups()[at(group)].part)].id);
    }
    e.name = "the earth ";
    if (e.over.empty()) e.name += "on " + chassis.nets()[at(e.metal)].name;
    for (const std::string& id : e.over) e.name += (id == e.over.front() ? "over " : ", ") + id;
    e.on = !taken_off(e.over, progress);
    if (chassis.family() == Family::vehicle) return e;  // its line is a battery, with one pole on the frame
    std::vector<int> blades;
    for (const int net : {roles.line_hot, roles.line_neutral})
        if (net >= 0) blades.push_back(net);
    e.hot = chassis.hot();
    for (const Part& p : parts)
        for (const PartWinding& w : p.windings)
            if (w.role == WindingRole::primary)
                for (const int l : w.leads) blades.push_back(p.leads[at(l)].net);
    const std::vector<bool> line = wires.reached(blades);
    e.direct = e.hot && line[at(e.metal)];
    const auto live = [&](int net) { return net >= 0 && line[at(net)] && !earthed[at(net)]; };
    for (const Part& p : parts) {
        if (p.kind != PartKind::capacitor || p.construction == "safety-y" || p.leads.size() != 2 ||
            gone(p.id, progress))
            continue;
        const int a = p.leads[0].net, b = p.leads[1].net;
        if ((live(a) && b >= 0 && earthed[at(b)]) || (live(b) && a >= 0 && earthed[at(a)]))
            e.old_capacitors.push_back(p.id);
    }
    return e;
}

std::vector<std::string> line_shorts(const Chassis& chassis) {
    std::vector<std::string> found;
    if (chassis.hot()) return found;
    const std::vector<Part>& parts = chassis.parts();
    std::vector<int> blades;
    for (const int net : {chassis.nodes().line_hot, chassis.nodes().line_neutral})
        if (net >= 0) blades.push_back(net);
    for (const Part& p : parts)
        for (const PartWinding& w : p.windings)
            if (w.role == WindingRole::primary)
                for (const int l : w.leads)
                    if (p.leads[at(l)].net >= 0) blades.push_back(p.leads[at(l)].net);
    const PartGraph wires(parts, static_cast<int>(chassis.nets().size()), Through::short_wire);
    const std::vector<bool> line = wires.reached(blades);
    for (const Part& p : parts) {
        if (p.leads.size() != 2 || p.leads[0].net < 0 || p.leads[1].net < 0) continue;
        if (p.seen.find("short") != std::string::npos && line[at(p.leads[0].net)] != line[at(p.leads[1].net)])
            found.push_back(p.id);
    }
    return found;
}

}  // namespace tubewright
