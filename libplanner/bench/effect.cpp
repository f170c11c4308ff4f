// SPDX-License-Identifier: MIT
// A fault as changes of the equations. A path (short, leak, track) closes a gap that was put in beforehand; anything
// else is a value. Test: tests/bench/fault_test.cpp.
#include <algorithm>
#include <cmath>

#include "bench/dry.hpp"
#include "bench/translation.hpp"

namespace tubewright::bench {

namespace {

const Tube* tube_of(const Translation& in, int part) {
    for (const Tube& tube : in.tubes) {
        if (tube.part == part) return &tube;
    }
    return nullptr;
}

enum class Role { plate, control, screen, cathode };

/// Index of an electrode in the law's order, or -1.
int terminal(const std::string& made_as, Role role) {
    const std::string law = made_as.substr(0, made_as.find(' '));  // "triode on a filament" is a triode
    const bool diode = law == "vacuum-diode" || law == "gas-diode" || law == "signal-diode";
    switch (role) {
        case Role::plate:
            return 0;
        case Role::cathode:
            return law == "triode" ? 2 : diode ? 1 : law == "pentode" ? 3 : law == "converter" ? 5 : 4;
        case Role::control:
            return diode ? -1 : law == "triode" ? 1 : law == "pentode" ? 2 : law == "converter" ? 4 : 3;
        case Role::screen:
            return law == "pentode" || law == "converter" || law == "pentagrid" ? 1 : -1;
    }
    return -1;
}

Node electrode(const Translation& in, const Section& section, Role role) {
    const int k = terminal(in.items[static_cast<std::size_t>(section.item)].law, role);
    return k < 0 ? -1 : section.electrodes[static_cast<std::size_t>(k)].node;
}

Node lead_node(const Translation& in, const Part& part, int lead) {
    if (lead < 0 || static_cast<std::size_t>(lead) >= part.leads.size()) return -1;
    const int net = part.leads[static_cast<std::size_t>(lead)].net;
    return net < 0 ? -1 : in.node_of_net[static_cast<std::size_t>(net)];
}

/// The two electrodes a tube short joins: in the unit that the fault's leads name, else the unit of that number, else
/// the first that has both.
std::pair<Node, Node> tube_path(const Translation& in, const Part& part, const Fault& fault, Role one, Role other) {
    const Tube* tube = tube_of(in, fault.part);
    if (tube == nullptr) return {-1, -1};
    const auto pin = [&](int lead) {
        return lead >= 0 && static_cast<std::size_t>(lead) < part.leads.size()
                   ? part.leads[static_cast<std::size_t>(lead)].name.str()
                   : std::string();
    };
    const std::string a = pin(fault.lead_a), b = pin(fault.lead_b);
    std::pair<Node, Node> first{-1, -1};
    int unit = 0;
    for (const Section& section : tube->sections) {
        const std::pair<Node, Node> path{electrode(in, section, one), electrode(in, section, other)};
        if (path.first < 0 || path.second < 0) continue;
        const bool named =
            std::any_of(section.electrodes.begin(), section.electrodes.end() - 1,
                        [&](const Electrode& e) { return !e.pin.empty() && (e.pin == a || e.pin == b); });
        if (named || (a.empty() && b.empty() && fault.half == unit)) return path;
        if (first.first < 0) first = path;
        ++unit;
    }
    return first;
}

std::pair<Node, Node> path_of(const Translation& in, const Chassis& set, const Fault& fault) {
    const std::pair<Node, Node> none{-1, -1};
    if (fault.part < 0 || static_cast<std::size_t>(fault.part) >= set.parts().size()) return none;
    const Part& part = set.parts()[static_cast<std::size_t>(fault.part)];
    switch (fault.mode) {
        case FaultMode::grid_cathode_short:
            return tube_path(in, part, fault, Role::control, Role::cathode);
        case FaultMode::plate_grid_short:
            return tube_path(in, part, fault, Role::plate, Role::control);
        case FaultMode::plate_cathode_short:
            return tube_path(in, part, fault, Role::plate, Role::cathode);
        case FaultMode::screen_grid_short:
            return tube_path(in, part, fault, Role::screen, Role::control);
        case FaultMode::heater_cathode_short: {
            const Tube* tube = tube_of(in, fault.part);
            if (tube == nullptr || tube->direct || tube->heater_pins.empty() || tube->sections.empty()) return none;
            Node heater = lead_node(in, part, fault.lead_b);
            const bool known = std::any_of(tube->heater_pins.begin(), tube->heater_pins.end(),
                                           [&](const auto& pin) { return pin.second == heater; });
            if (!known) heater = tube->heater_pins.front().second;
            Node cathode = tube->sections.front().electrodes.back().node;
            for (const Section& section : tube->sections) {
                const Node at = lead_node(in, part, fault.lead_a);
                if (at >= 0 && section.electrodes.back().node == at) cathode = at;
            }
            return {heater, cathode};
        }
        case FaultMode::short_circuit:
        case FaultMode::leak: {
            if (part.kind == PartKind::transformer && fault.lead_a < 0) {
                for (const WindingHalf& half : in.windings) {
                    if (half.part == fault.part && half.winding == fault.winding &&
                        (fault.half < 0 || half.half == fault.half))
                        return {half.from, half.to};
                }
                return none;
            }
            const Node from = lead_node(in, part, fault.lead_a < 0 ? 0 : fault.lead_a);
            if (fault.net_b >= 0) return {from, in.node_of_net[static_cast<std::size_t>(fault.net_b)]};
            return {from, lead_node(in, part, fault.lead_b < 0 ? 1 : fault.lead_b)};
        }
        case FaultMode::to_chassis:
        case FaultMode::tracking: {
            const Node from = lead_node(in, part, fault.lead_a < 0 ? 0 : fault.lead_a);
            if (fault.net_b >= 0) return {from, in.node_of_net[static_cast<std::size_t>(fault.net_b)]};
            if (fault.mode == FaultMode::tracking && fault.lead_b >= 0)
                return {from, lead_node(in, part, fault.lead_b)};
            const int metal = set.nodes().chassis_metal;
            return {from, metal >= 0 ? in.node_of_net[static_cast<std::size_t>(metal)] : circuit::ground};
        }
        default:
            return none;
    }
}

double path_ohms(const Fault& fault) {
    if (fault.ohms > 0) return fault.ohms;
    return fault.mode == FaultMode::leak ? 1e6 : fault.mode == FaultMode::tracking ? 1e4 : 0.1;
}

/// The capacitor item of a part that stands between the two nodes, or -1.
int capacitor_between(const Translation& in, int part, Node a, Node b) {
    const auto found = in.items_of_part.find(part);
    if (found == in.items_of_part.end()) return -1;
    for (const int index : found->second) {
        const Item& item = in.items[static_cast<std::size_t>(index)];
        if (item.kind == "capacitor" &&
            ((item.nodes[0] == a && item.nodes[1] == b) || (item.nodes[0] == b && item.nodes[1] == a)))
            return index;
    }
    return -1;
}

/// A battery at the end of its cells: the least volts and the most ohms of its spread.
void run_down(const Translation& in, const std::vector<int>& items, FaultEffect& effect) {
    for (const Spread& spread : in.spreads) {
        if (std::find(items.begin(), items.end(), spread.item) == items.end()) continue;
        if (spread.slot == Slot::direct) effect.feeds.emplace_back(spread.item, spread.low / spread.nominal);
        if (spread.slot == Slot::ohms) effect.changes.push_back({spread.item, Slot::ohms, 0, spread.high});
    }
}

}  // namespace

std::vector<std::pair<Node, Node>> gaps_of(const Translation& in, const Chassis& set, const Fault& fault) {
    const auto [a, b] = path_of(in, set, fault);
    if (a < 0 || b < 0 || a == b || capacitor_between(in, fault.part, a, b) >= 0) return {};
    return {{a, b}};
}

FaultEffect effect_of(const Translation& in, const Chassis& set, const Fault& fault, const ValueOf& value_of) {
    FaultEffect effect;
    if (fault.part < 0 || static_cast<std::size_t>(fault.part) >= set.parts().size()) {
        effect.why = "the fault names no part of this set";
        return effect;
    }
    const Part& part = set.parts()[static_cast<std::size_t>(fault.part)];
    const Tube* tube = tube_of(in, fault.part);
    const std::vector<int> none;
    const auto found = in.items_of_part.find(fault.part);
    const std::vector<int>& items = found == in.items_of_part.end() ? none : found->second;
    const auto tube_index = [&] { return static_cast<int>(tube - in.tubes.data()); };

    switch (fault.mode) {
        case FaultMode::short_circuit:
        case FaultMode::leak:
        case FaultMode::to_chassis:
        case FaultMode::tracking:
        case FaultMode::grid_cathode_short:
        case FaultMode::heater_cathode_short:
        case FaultMode::plate_grid_short:
        case FaultMode::plate_cathode_short:
        case FaultMode::screen_grid_short: {
            const auto [a, b] = path_of(in, set, fault);
            if (a < 0 || b < 0 || a == b) return effect;  // nothing there to join
            const double ohms = path_ohms(fault);
            effect.hard_short = ohms <= 10;
            // what the path joins to the rest of the set needs no insulation to hold it, and loses nothing through it
            const int tie_a = in.held_by[static_cast<std::size_t>(a)], tie_b = in.held_by[static_cast<std::size_t>(b)];
            const int tie = tie_a >= 0 ? tie_a : tie_b;
            if (tie_a != tie_b) effect.changes.push_back({tie, Slot::siemens, 0, 0});
            const int capacitor = capacitor_between(in, fault.part, a, b);
            if (capacitor >= 0) {
                effect.changes.push_back({capacitor, Slot::siemens, 0, 1 / ohms});
                return effect;
            }
            const auto gap = in.gaps.find({std::min(a, b), std::max(a, b)});
            if (gap == in.gaps.end()) {
                effect.why = "the fault '" + fault.id + "' was not given when the bench was made";
                return effect;
            }
            effect.changes.push_back({gap->second, Slot::siemens, 0, 1 / ohms});
            return effect;
        }
        case FaultMode::open:
            if (tube != nullptr) {
                effect.heaters_open = tube->thermals;
                effect.emission.emplace_back(tube_index(), tube->thermals.empty() ? 0.0 : 1.0);
                return effect;
            }
            for (const WindingHalf& half : in.windings) {
                if (half.part != fault.part || (fault.winding >= 0 && half.winding != fault.winding) ||
                    (fault.half >= 0 && half.half != fault.half))
                    continue;
                if (half.index >= 0) {
                    effect.changes.push_back({half.item, Slot::winding_ohms, half.index, assumed::open_ohms});
                } else {
                    effect.changes.push_back({half.item, Slot::ohms, 0, assumed::open_ohms});
                }
            }
            if (!effect.changes.empty()) return effect;
            for (std::size_t t = 0; t < in.thermals.size(); ++t) {
                if (in.items[static_cast<std::size_t>(in.thermals[t].items.front())].part == fault.part)
                    effect.heaters_open.push_back(static_cast<int>(t));
            }
            for (const int index : items) {
                const Item& item = in.items[static_cast<std::size_t>(index)];
                if (item.kind == "capacitor") {
                    effect.changes.push_back({index, Slot::farads, 0, 0});
                    if (item.values[1] > 0) effect.changes.push_back({index, Slot::siemens, 0, 0});
                }
                if (item.kind == "inductor") effect.changes.push_back({index, Slot::ohms, 0, assumed::open_ohms});
                if (item.kind == "contact" || item.law == "dry-rectifier")
                    effect.changes.push_back({index, Slot::parameter, 0, 0});
                if (item.kind != "resistor") continue;
                if (part.kind != PartKind::battery && items.size() > 1 && fault.lead_a >= 0 && fault.lead_b >= 0) {
                    const Node a = lead_node(in, part, fault.lead_a), b = lead_node(in, part, fault.lead_b);
                    if (!((item.nodes[0] == a && item.nodes[1] == b) || (item.nodes[0] == b && item.nodes[1] == a)))
                        continue;
                }
                effect.changes.push_back(
                    {index, Slot::ohms, 0, std::max(value_of(index, Slot::ohms, 0), 1.0) * assumed::open_factor});
            }
            return effect;
        case FaultMode::drift: {
            const double factor = fault.factor > 0 ? fault.factor : 1;
            if (tube != nullptr) {
                effect.emission.emplace_back(tube_index(), factor);
                return effect;
            }
            if (part.kind == PartKind::battery) {
                run_down(in, items, effect);
                return effect;
            }
            for (const int index : items) {
                const Item& item = in.items[static_cast<std::size_t>(index)];
                if (item.law == "dry-rectifier")
                    effect.changes.push_back(
                        {index, Slot::parameter, series_ohms, value_of(index, Slot::parameter, series_ohms) * factor});
                const bool plain = item.kind == "capacitor" || item.kind == "resistor" || item.kind == "inductor";
                if (!plain) continue;
                const Slot slot = item.kind == "capacitor" ? Slot::farads : Slot::ohms;
                effect.changes.push_back({index, slot, 0, value_of(index, slot, 0) * factor});
            }
            return effect;
        }
        case FaultMode::reversed:
            for (const int index : items)
                if (in.items[static_cast<std::size_t>(index)].kind == "direct-source")
                    effect.feeds.emplace_back(index, -1.0);
            return effect;
        case FaultMode::weak:
        case FaultMode::dead:
            if (tube != nullptr) {
                const double weak = fault.factor > 0 && fault.factor < 1 ? fault.factor : 0.5;
                effect.emission.emplace_back(tube_index(), fault.mode == FaultMode::dead ? 0.0 : weak);
            }
            return effect;
        case FaultMode::gas:
            if (tube != nullptr) {
                for (const Section& section : tube->sections) {
                    if (section.gas < 0) continue;
                    effect.changes.push_back({section.gas, Slot::direct, 0, assumed::gassy_amps});
                    break;
                }
            }
            return effect;
        case FaultMode::layer_short:
            for (const WindingHalf& half : in.windings) {
                if (half.part != fault.part || half.winding != fault.winding || half.half != std::max(0, fault.half) ||
                    half.index < 0)
                    continue;
                effect.layered = in.ring_of_part.count(fault.part) != 0;
                effect.layer = {fault.part, fault.winding, half.half};
            }
            effect.hard_short = effect.layered;
            return effect;
    }
    return effect;
}

}  // namespace tubewright::bench
