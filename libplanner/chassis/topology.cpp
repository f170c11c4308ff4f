// SPDX-License-Identifier: MIT
// Family, hot or isolated, and how much was traced: from connections alone, never from names.
//
// hot: from either blade (so both ways of the plug) through everything that is not a capacitor or a magnetic coupling,
// with every switch taken as closed (a switch that is open now can be closed), to the chassis metal or B-minus. A
// winding's own copper conducts: an autotransformer, or a primary that was tied to the metal, makes a hot set. A
// vehicle's battery is no line: its frame is one pole by design.
//
// family: a rectifier whose plates or cathodes hang on a blade by copper makes a set without a power transformer: a
// doubler when one unit's cathode is another's plate; a portable when its other filaments are directly heated; else a
// series string when the metal is on the line side as good as by wire, and floating B-minus when it is not. Without
// such a rectifier, a primary across the blades makes an AC set. A rectifier with a plate on the secondary of such a
// transformer is fed by it, and stays so when a blade is tied to the metal: that set is an AC set, and hot. A supply of
// 32 V or less and no cycles is a vehicle; no supply at all and filament tubes, a battery set.
//
// level: 3 every tube has its plate and cathode wired and nothing is declared untraced; 2 rectifier and output tubes
// have; 1 there are capacitors; 0 a line-up. Tests: tests/chassis/topology_test.cpp.
#include <algorithm>

#include "chassis/data.hpp"

namespace tubewright {
namespace {

std::size_t at(int i) {
    return static_cast<std::size_t>(i);
}

constexpr double vehicle_volts = 32;

struct Supply {
    std::vector<int> blades;
    explicit Supply(const NodeRoles& roles) {
        for (const int net : {roles.line_hot, roles.line_neutral})
            if (net >= 0) blades.push_back(net);
    }
};

bool vehicle_supply(const Chassis::Data& data) {
    if (std::any_of(data.parts.begin(), data.parts.end(),
                    [](const Part& part) { return part.kind == PartKind::battery && part.role == "vehicle"; }))
        return true;
    return data.line.volts_stated && data.line.hertz == 0 && data.line.supply != "battery" &&
           data.line.volts <= vehicle_volts;
}

bool hot_set(const Chassis::Data& data) {
    const Supply supply(data.roles);
    if (supply.blades.empty() || vehicle_supply(data)) return false;
    const PartGraph graph(data.parts, static_cast<int>(data.nets.size()), Through::blade);
    const std::vector<bool> live = graph.reached(supply.blades);
    std::vector<int> touched = {data.roles.chassis_metal, data.roles.b_minus};
    if (touched[0] < 0 && touched[1] < 0) touched.push_back(data.reference);
    return std::any_of(touched.begin(), touched.end(), [&](int net) { return net >= 0 && live[at(net)]; });
}

struct PlacedUnit {
    std::vector<int> plates, cathodes;  ///< nets
};

std::vector<PlacedUnit> placed_rectifiers(const Chassis::Data& data) {
    std::vector<PlacedUnit> units;
    for (std::size_t p = 0; p < data.parts.size(); ++p) {
        const Part& part = data.parts[p];
        for (const RectifierUnit& unit : rectifier_units(part, static_cast<int>(p))) {
            PlacedUnit placed;
            for (const int lead : unit.plates) placed.plates.push_back(part.leads[at(lead)].net);
            for (const int lead : unit.cathodes) placed.cathodes.push_back(part.leads[at(lead)].net);
            units.push_back(std::move(placed));
        }
        if (part.kind == PartKind::rectifier && part.leads.size() == 2)
            units.push_back({{part.leads[0].net}, {part.leads[1].net}});
    }
    return units;
}

bool other_filaments(const Chassis::Data& data) {
    return std::any_of(data.parts.begin(), data.parts.end(), [](const Part& part) {
        return part.type && part.type->directly_heated && !part.type->is_rectifier();
    });
}

bool primary_on_line(const Part& part, const std::vector<bool>& live) {
    return std::any_of(part.windings.begin(), part.windings.end(), [&](const PartWinding& winding) {
        return winding.role == WindingRole::primary && winding.leads.size() > 1 &&
               live[at(part.leads[at(winding.leads.front())].net)] &&
               live[at(part.leads[at(winding.leads.back())].net)];
    });
}

/// Ends of the secondaries of every transformer whose primary is on the line, less what is the bottom of the set.
std::vector<int> secondary_ends(const Chassis::Data& data, const std::vector<bool>& live) {
    const NodeRoles& roles = data.roles;
    std::vector<int> ends;
    for (const Part& part : data.parts) {
        if (!primary_on_line(part, live)) continue;
        for (const PartWinding& winding : part.windings) {
            if (winding.role == WindingRole::primary || winding.leads.size() < 2) continue;
            for (const int lead : {winding.leads.front(), winding.leads.back()}) {
                const int net = part.leads[at(lead)].net;
                const bool bottom = net == roles.chassis_metal || net == roles.b_minus || net == data.reference ||
                                    net == roles.line_hot || net == roles.line_neutral;
                if (!bottom) ends.push_back(net);
            }
        }
    }
    return ends;
}

bool cathode_meets_plate(const std::vector<PlacedUnit>& units, const PartGraph& wires) {
    for (std::size_t u = 0; u < units.size(); ++u) {
        const std::vector<bool> near = wires.reached(units[u].cathodes);
        for (std::size_t v = 0; v < units.size(); ++v)
            if (u != v)
                for (const int plate : units[v].plates)
                    if (near[at(plate)]) return true;
    }
    return false;
}

Family family_of(const Chassis::Data& data) {
    const Supply supply(data.roles);
    if (vehicle_supply(data)) return Family::vehicle;
    if (supply.blades.empty()) return other_filaments(data) ? Family::battery : Family::unknown;

    const int net_count = static_cast<int>(data.nets.size());
    const std::vector<bool> live = PartGraph(data.parts, net_count, Through::copper).reached(supply.blades);
    const std::vector<PlacedUnit> units = placed_rectifiers(data);
    const PartGraph wires(data.parts, net_count, Through::short_wire);
    std::vector<bool> stepped(data.nets.size(), false);  // reached from a secondary without passing the bottom
    for (const int end : secondary_ends(data, live)) {
        const std::vector<bool> from = wires.reached({end}, data.reference);
        for (std::size_t net = 0; net < from.size(); ++net) stepped[net] = stepped[net] || from[net];
    }
    const bool on_line = std::any_of(units.begin(), units.end(), [&](const PlacedUnit& unit) {
        const auto alive = [&](int net) { return live[at(net)]; };
        if (std::any_of(unit.plates.begin(), unit.plates.end(), [&](int net) { return stepped[at(net)]; }))
            return false;
        return std::any_of(unit.plates.begin(), unit.plates.end(), alive) ||
               std::any_of(unit.cathodes.begin(), unit.cathodes.end(), alive);
    });
    if (!on_line) {
        const bool transformer = std::any_of(data.parts.begin(), data.parts.end(),
                                             [&](const Part& part) { return primary_on_line(part, live); });
        if (transformer) return Family::ac_transformer;
        // what a direct-current line feeds needs no rectifier
        const bool direct = data.line.hertz <= 0 || data.line.supply == "dc";
        const bool tubes = std::any_of(data.parts.begin(), data.parts.end(),
                                       [](const Part& part) { return part.kind == PartKind::socket; });
        if (!direct || !tubes) return Family::unknown;
    }

    if (cathode_meets_plate(units, wires)) return Family::doubler;
    if (other_filaments(data)) return Family::portable;
    const int metal = data.roles.chassis_metal;
    if (metal < 0) return Family::series_string;
    const std::vector<bool> wired = wires.reached({metal});
    const bool metal_live =
        std::any_of(supply.blades.begin(), supply.blades.end(), [&](int net) { return wired[at(net)]; });
    const bool metal_is_minus = data.roles.b_minus >= 0 && wired[at(data.roles.b_minus)];
    return metal_live || metal_is_minus ? Family::series_string : Family::floating_b_minus;
}

/// A plate and a cathode (or filament) hang on something. One half of a tube may be left unused.
bool wired(const Chassis::Data& data, const Part& part) {
    bool plate = false, cathode = false, has_plate = false, any = false;
    for (std::size_t i = 0; i < part.leads.size(); ++i) {
        const Lead& lead = part.leads[i];
        const bool joined = soldered(data, part, static_cast<int>(i));
        any = any || joined;
        const Pin* pin = part.type ? part.type->pin(lead.name) : nullptr;
        if (!pin) continue;
        for (const std::string& electrode : pin->electrodes) {
            if (electrode.starts_with('p')) {
                has_plate = true;
                plate = plate || joined;
            } else if (electrode.starts_with('k') || (part.type->directly_heated && electrode.starts_with('h'))) {
                cathode = cathode || joined;
            }
        }
    }
    return has_plate ? plate && cathode : any;
}

int level_of(const Chassis::Data& data) {
    bool all = true, supply = true, capacitors = false, tubes = false, supply_seen = false, untraced = false;
    bool parts = false;
    for (const Part& part : data.parts) {
        capacitors = capacitors || part.kind == PartKind::capacitor;
        untraced = untraced || part.kind == PartKind::untraced;
        parts = parts || (part.kind != PartKind::socket && part.leads.size() > 1);
        if (part.kind == PartKind::rectifier && part.leads.size() == 2) supply_seen = true;
        if (part.kind != PartKind::socket || part.tube.empty()) continue;
        tubes = true;
        if (stands_empty(part) && !wired(data, part)) continue;  // nothing is asked of what is to stay empty
        const bool is_wired = wired(data, part);
        all = all && is_wired;
        if (!part.type) continue;
        if (part.type->is_rectifier() || part.type->tube_class.find("power") != std::string::npos) {
            supply_seen = true;
            supply = supply && is_wired;
        }
    }
    if (all && !untraced && (tubes || parts)) return 3;
    if (tubes && supply && (supply_seen || all)) return 2;
    return capacitors ? 1 : 0;
}

}  // namespace

Chassis::Data::Topology topology_of(const Chassis::Data& data) {
    Chassis::Data::Topology topology;
    topology.family = family_of(data);
    topology.hot = hot_set(data);
    topology.level = level_of(data);
    return topology;
}

}  // namespace tubewright
