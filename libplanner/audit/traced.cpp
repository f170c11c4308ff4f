// SPDX-License-Identifier: MIT
#include "audit/traced.hpp"

#include <algorithm>
#include <map>
#include <string_view>

#include "chassis/data.hpp"

namespace tubewright::audit {
namespace {

std::size_t at(int index) {
    return static_cast<std::size_t>(index);
}

/// A winding that heats, or another of no more volts than heaters want: no B-plus comes of it.
bool has_few_volts(const Part& part, const PartWinding& winding) {
    constexpr double most = 40;  // heaters in series on one winding (common practice, no source)
    if (winding.role == WindingRole::heater || winding.role == WindingRole::rectifier_heater) return true;
    if (winding.role != WindingRole::other || part.role != "power") return false;
    double volts = winding.volts.value_or(0);
    if (!winding.volts)
        for (const double half : winding.noload_volts) volts += half;
    return volts > 0 && volts <= most;
}

}  // namespace

bool names_a_terminal(std::string_view text) {
    std::string lower(text);
    for (char& c : lower) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
    for (const std::string_view word :
         {"antenna", "aerial", "phono", "pickup", "pick-up", "input", "output terminal", "terminal", "post", "jack",
          "headphone", "phones", "microphone", "remote", "probe", "external", "radiator", "battery"}) {
        if (lower.find(word) != std::string::npos) return true;
    }
    return lower == "ant" || lower == "output";
}

Groups::Groups(std::size_t count) : parent_(count), size_(count, 1) {
    for (std::size_t i = 0; i < count; ++i) parent_[i] = static_cast<int>(i);
}

int Groups::of(int item) const {
    while (parent_[at(item)] != item) {
        parent_[at(item)] = parent_[at(parent_[at(item)])];
        item = parent_[at(item)];
    }
    return item;
}

void Groups::join(int a, int b) {
    if (a < 0 || b < 0) return;
    a = of(a);
    b = of(b);
    if (a == b) return;
    if (size_[at(a)] < size_[at(b)]) std::swap(a, b);
    parent_[at(b)] = a;
    size_[at(a)] += size_[at(b)];
}

Trace::Trace(const Chassis& chassis)
    : chassis_(chassis),
      electrodes_(chassis.parts().size()),
      joined_(chassis.nets().size()),
      bottom_(chassis.nets().size()),
      output_(chassis.nets().size()),
      b_plus_(chassis.nets().size()),
      untraced_(chassis.nets().size()),
      direct_(chassis.nets().size()),
      above_bottom_(chassis.nets().size()),
      aside_(chassis.nets().size()),
      alternates_(chassis.nets().size()),
      returns_(chassis.nets().size()),
      by_few_ohms_(chassis.nets().size()),
      group_alternates_(chassis.nets().size()),
      group_few_volts_(chassis.nets().size()),
      group_below_(chassis.nets().size()),
      group_heats_(chassis.nets().size()),
      group_has_bottom_(chassis.nets().size()),
      group_has_output_(chassis.nets().size()),
      group_untraced_(chassis.nets().size()),
      above_untraced_(chassis.nets().size()),
      group_returned_(chassis.nets().size()),
      low_(chassis.nets().size()),
      rail_(chassis.nets().size()),
      held_(chassis.nets().size()),
      held_grid_(chassis.nets().size()),
      supplied_by_(chassis.nets().size(), -1) {
    find_conductors();
    find_nodes();
    find_units();
    find_stacked();
    find_held();
}

void Trace::find_conductors() {
    const auto add = [&](int a, int b, int part, int winding, int half, bool choke) {
        if (a >= 0 && b >= 0) conductors_.push_back({a, b, part, winding, half, choke});
    };
    for (std::size_t p = 0; p < chassis_.parts().size(); ++p) {
        const Part& part = chassis_.parts()[p];
        const int index = static_cast<int>(p);
        switch (part.kind) {
            case PartKind::control:
                if (const int wiper = part.lead("wiper"); wiper >= 0 && part.leads.size() == 3) {
                    for (std::size_t i = 0; i < part.leads.size(); ++i)
                        if (static_cast<int>(i) != wiper)
                            add(part.leads[i].net, part.leads[at(wiper)].net, index, -1, 0, false);
                    break;
                }
                [[fallthrough]];
            case PartKind::resistor:
            case PartKind::coil:
            case PartKind::lamp:
            case PartKind::fuse:
            case PartKind::power_switch:
            case PartKind::speaker: {
                const bool choke = part.kind == PartKind::coil && (part.role == "choke" || part.role == "field");
                for (std::size_t i = 0; i + 1 < part.leads.size(); ++i)
                    add(part.leads[i].net, part.leads[i + 1].net, index, -1, 0, choke);
                break;
            }
            case PartKind::cord:
                if (part.ohms && part.leads.size() == 2) add(part.leads[0].net, part.leads[1].net, index, -1, 0, false);
                break;
            case PartKind::battery:
            case PartKind::rectifier:
                if (part.leads.size() == 2) add(part.leads[0].net, part.leads[1].net, index, -1, 0, false);
                break;
            case PartKind::vibrator:
                for (std::size_t i = 1; i < part.leads.size(); ++i)
                    add(part.leads[0].net, part.leads[i].net, index, -1, 0, false);
                break;
            case PartKind::transformer:
                for (std::size_t w = 0; w < part.windings.size(); ++w) {
                    const std::vector<int>& leads = part.windings[w].leads;
                    for (std::size_t i = 0; i + 1 < leads.size(); ++i)
                        add(part.leads[at(leads[i])].net, part.leads[at(leads[i + 1])].net, index, static_cast<int>(w),
                            static_cast<int>(i), false);
                }
                break;
            default:
                break;
        }
    }
}

void Trace::find_alternating() {
    constexpr double returned_by = 5000;  // ohms that carry the current of B-plus back (common practice, no source)
    std::vector<char> source(chassis_.nets().size()), low(chassis_.nets().size());
    for (const int blade : {chassis_.nodes().line_hot, chassis_.nodes().line_neutral})
        if (blade >= 0 && !bottom_[at(blade)]) source[at(blade)] = 1;
    for (const Conductor& path : conductors_) {
        const Part& by = part(path.part);
        const bool winding = path.winding >= 0;
        const WindingRole role = winding ? by.windings[at(path.winding)].role : WindingRole::rf;
        const bool few = winding && has_few_volts(by, by.windings[at(path.winding)]);
        if (few || role == WindingRole::plate || (role == WindingRole::other && by.role == "power"))
            for (const int net : {path.a, path.b})
                if (!bottom_[at(net)]) (few ? low : source)[at(net)] = 1;
        const bool one_way = by.kind == PartKind::rectifier || by.kind == PartKind::battery;
        if (!one_way && !bottom_[at(path.a)] && !bottom_[at(path.b)]) alternates_.join(path.a, path.b);
        if (path.choke || (by.kind == PartKind::resistor && by.ohms.value_or(returned_by + 1) <= returned_by))
            returns_.join(path.a, path.b);
    }
    for (std::size_t net = 0; net < source.size(); ++net) {
        if (source[net]) group_alternates_[alternate_of(static_cast<int>(net))] = 1;
        if (low[net]) group_few_volts_[alternate_of(static_cast<int>(net))] = 1;
    }
}

bool Trace::of_few_volts(const Part& rectifier) const {
    const auto on = [&](const auto& test) {
        return std::any_of(rectifier.leads.begin(), rectifier.leads.end(),
                           [&](const Lead& lead) { return test(lead.net); });
    };
    return on([&](int net) { return few_volts(net); }) && !on([&](int net) { return alternating(net); });
}

bool Trace::heats_in_group(int net) const {
    for (std::size_t p = 0; p < chassis_.parts().size(); ++p)
        for (const PinElectrode& pin : electrodes_[p]) {
            const int heater = chassis_.parts()[p].leads[at(pin.lead)].net;
            if (pin.electrode == Electrode::heater && heater >= 0 && above_bottom_.same(heater, net)) return true;
        }
    return false;
}

bool Trace::only_heats(int net) const {
    bool heats = false;
    for (std::size_t p = 0; p < chassis_.parts().size(); ++p) {
        const Part& one = chassis_.parts()[p];
        const bool conducts = one.kind == PartKind::resistor || one.kind == PartKind::cord ||
                              one.kind == PartKind::power_switch || one.kind == PartKind::fuse ||
                              one.kind == PartKind::lamp || one.kind == PartKind::rectifier ||
                              one.kind == PartKind::strip || one.kind == PartKind::wire;
        for (const Lead& lead : one.leads)
            if (one.kind != PartKind::socket && !conducts && lead.net >= 0 && above_bottom_.same(lead.net, net))
                return false;
        for (const PinElectrode& pin : electrodes_[p]) {
            if (!above_bottom_.same(one.leads[at(pin.lead)].net, net)) continue;
            if (pin.electrode != Electrode::heater && pin.electrode != Electrode::heater_tap) return false;
            heats = true;
        }
    }
    return heats;
}

/// What a rectifier or a battery for B-plus feeds; what one for bias pulls down.
void Trace::find_sources(int index) {
    const Part& source = part(index);
    const auto gives = [&](int net) {
        if (net < 0 || bottom_[at(net)]) return;
        output_[at(net)] = 1;
        has_rectifier_ = true;
    };
    const auto pulls_down = [&](int net) {
        if (net >= 0 && !bottom_[at(net)] && !alternating(net)) group_below_[at(above_bottom_.of(net))] = 1;
    };
    if (source.kind == PartKind::battery && source.role == "b" && source.leads.size() == 2) gives(source.leads[0].net);
    if (source.kind == PartKind::rectifier && source.leads.size() == 2) {
        const int anode = source.leads[0].net, cathode = source.leads[1].net;
        if (of_few_volts(source)) {
            const int held = few_volts(cathode) ? anode : cathode;
            if (held < 0 || bottom_[at(held)]) return;
            if (heats_in_group(held))
                group_heats_[at_group(held)] = 1;
            else if (held == anode)
                pulls_down(held);
            return;
        }
        for (const int held : {anode, cathode})
            if (held >= 0 && !bottom_[at(held)] && !alternating(held) && only_heats(held)) {
                group_heats_[at_group(held)] = 1;
                return;
            }
        if (alternating(cathode) && !alternating(anode))
            pulls_down(anode);
        else
            gives(cathode);
    }
    if (source.kind != PartKind::socket || source.type == nullptr || !source.type->is_rectifier()) return;
    bool has_cathode = false;
    for (const PinElectrode& pin : electrodes(index)) {
        if (pin.electrode != Electrode::cathode || !rectifies(source, pin)) continue;
        has_cathode = true;
        const int net = source.leads[at(pin.lead)].net;
        const auto own_plate = [&](const PinElectrode& other) {
            return other.electrode == Electrode::rectifier_plate && (pin.unit.empty() || other.unit == pin.unit);
        };
        bool driven = false;  // from a plate, as for B-plus
        for (const PinElectrode& other : electrodes(index))
            driven = driven || (own_plate(other) && alternating(source.leads[at(other.lead)].net));
        if (driven || !alternating(net))
            gives(net);
        else
            for (const PinElectrode& other : electrodes(index))
                if (own_plate(other)) pulls_down(source.leads[at(other.lead)].net);
    }
    if (has_cathode) return;
    bool driven = false;
    for (const PinElectrode& plate : electrodes(index))
        driven =
            driven || (plate.electrode == Electrode::rectifier_plate && alternating(source.leads[at(plate.lead)].net));
    for (const PinElectrode& pin : electrodes(index)) {
        if (pin.electrode != Electrode::heater) continue;
        const int net = source.leads[at(pin.lead)].net;
        if (driven || !alternating(net))
            gives(net);
        else
            for (const PinElectrode& plate : electrodes(index))
                if (plate.electrode == Electrode::rectifier_plate) pulls_down(source.leads[at(plate.lead)].net);
    }
}

void Trace::find_nodes() {
    const NodeRoles& roles = chassis_.nodes();
    for (const int net : {roles.chassis_metal, roles.b_minus, roles.earth, chassis_.reference()}) {
        if (net >= 0) bottom_[at(net)] = 1;
    }
    for (std::size_t p = 0; p < chassis_.parts().size(); ++p) {
        const Part& part = chassis_.parts()[p];
        electrodes_[p] = part.kind == PartKind::socket ? electrodes_of(part) : std::vector<PinElectrode>();
        for (const PartWinding& winding : part.windings) {
            // The centre tap of a plate winding is the bottom of the supply, also where back bias holds it off the
            // chassis.
            if (winding.role == WindingRole::plate && winding.leads.size() == 3) {
                const int tap = part.leads[at(winding.leads[1])].net;
                if (tap >= 0) bottom_[at(tap)] = 1;
            }
        }
        for (const Lead& lead : part.leads)
            if (lead.net >= 0 && (part.kind == PartKind::untraced || lead.unknown)) untraced_[at(lead.net)] = 1;
    }
    Groups by_choke(chassis_.nets().size());
    for (const Conductor& path : conductors_) {
        direct_.join(path.a, path.b);
        // the minus of a battery for B-plus is no B-plus
        const bool b_battery = part(path.part).kind == PartKind::battery && part(path.part).role == "b";
        const bool one_way = b_battery || part(path.part).kind == PartKind::rectifier;
        if (!bottom_[at(path.a)] && !bottom_[at(path.b)] && !one_way) above_bottom_.join(path.a, path.b);
        const bool winding_of_filament =
            path.winding >= 0 && part(path.part).windings[at(path.winding)].role == WindingRole::rectifier_heater;
        if ((path.choke || winding_of_filament) && !bottom_[at(path.a)] && !bottom_[at(path.b)])
            by_choke.join(path.a, path.b);
    }
    // what flows in a cathode may go on through the filaments of other tubes
    for (std::size_t p = 0; p < chassis_.parts().size(); ++p) {
        const TubeType* type = chassis_.parts()[p].type;
        if (type == nullptr || !type->directly_heated || type->is_rectifier()) continue;
        int before = -1;
        for (const PinElectrode& pin : electrodes_[p]) {
            if (pin.electrode != Electrode::heater && pin.electrode != Electrode::heater_tap) continue;
            const int net = chassis_.parts()[p].leads[at(pin.lead)].net;
            direct_.join(before, net);
            by_few_ohms_.join(before, net);
            if (net >= 0) before = net;
        }
    }
    find_alternating();
    for (int p = 0; p < static_cast<int>(chassis_.parts().size()); ++p) find_sources(p);
    std::vector<char> choke_group(chassis_.nets().size());
    const int nets = static_cast<int>(chassis_.nets().size());
    for (int net = 0; net < nets; ++net) {
        if (output_[at(net)]) {
            choke_group[at(by_choke.of(net))] = 1;
            group_has_output_[at(above_bottom_.of(net))] = 1;
        }
        if (bottom_[at(net)]) group_has_bottom_[at(direct_.of(net))] = 1;
        if (untraced_[at(net)]) above_untraced_[at(above_bottom_.of(net))] = 1;
    }
    for (int net = 0; net < nets; ++net) b_plus_[at(net)] = choke_group[at(by_choke.of(net))];
    // A rest that hangs on B-plus is a load on B-plus: what is traced elsewhere is traced.
    const auto ends = [&](int net) { return bottom_[at(net)] || b_plus_[at(net)]; };
    for (const Conductor& path : conductors_)
        if (!ends(path.a) && !ends(path.b)) aside_.join(path.a, path.b);
    // Nor is it a source where the rectifier stands there with nothing on its output.
    for (int net = 0; net < nets; ++net)
        output_wired_ = output_wired_ || (output_[at(net)] && this->net(net).leads.size() > 1);
    for (int net = 0; net < nets; ++net)
        if (untraced_[at(net)] && !ends(net) && !group_has_output_[at(above_bottom_.of(net))] &&
            (output_wired_ || !has_rectifier_))
            group_untraced_[at(aside_.of(net))] = 1;

    const std::vector<std::vector<std::string_view>> called = chassis_.data().names_by_net();
    for (int net = 0; net < nets; ++net) {
        int count = 0;
        bool terminal = std::any_of(called[at(net)].begin(), called[at(net)].end(), names_a_terminal) ||
                        names_a_terminal(this->net(net).name);
        for (const LeadRef ref : this->net(net).leads) {
            const Part& on = part(ref.part);
            if (on.kind == PartKind::strip) {
                terminal = terminal || names_a_terminal(on.location) || names_a_terminal(on.note);
            } else if (on.kind != PartKind::wire && on.kind != PartKind::cord) {
                ++count;
            }
        }
        const bool declared = bottom_[at(net)] || net == roles.line_hot || net == roles.line_neutral;
        joined_[at(net)] = count + (declared ? 1 : 0) + (terminal ? 1 : 0);
    }
}

void Trace::find_units() {
    for (std::size_t p = 0; p < chassis_.parts().size(); ++p) {
        std::map<std::string, std::vector<PinElectrode>> by_name;
        std::vector<PinElectrode> common;
        for (const PinElectrode& pin : electrodes_[p]) {
            // two pins of one electrode count once
            const Part& socket = part(static_cast<int>(p));
            const auto again = [&](const PinElectrode& other) {
                return other.written == pin.written &&
                       joined_inside(*socket.type, socket.leads[at(other.lead)].name, socket.leads[at(pin.lead)].name);
            };
            const std::vector<PinElectrode>& before = by_name[pin.unit];
            if (std::any_of(before.begin(), before.end(), again) || std::any_of(common.begin(), common.end(), again))
                continue;
            switch (pin.electrode) {
                case Electrode::plate:
                case Electrode::rectifier_plate:
                case Electrode::control_grid:
                case Electrode::diode:
                    by_name[pin.unit].push_back(pin);
                    break;
                case Electrode::screen:
                case Electrode::suppressor:
                    common.push_back(pin);
                    break;
                case Electrode::cathode:
                    if (pin.unit.empty()) {
                        common.push_back(pin);
                    } else {
                        by_name[pin.unit].push_back(pin);
                    }
                    break;
                default:
                    break;
            }
        }
        std::erase_if(by_name, [](const auto& unit) { return unit.second.empty(); });
        if (by_name.empty() && !common.empty()) by_name[""];
        for (auto& [name, pins] : by_name) {
            Unit unit{static_cast<int>(p), name, std::move(pins)};
            // A common cathode serves every unit; a unit with a cathode of its own does without.
            const bool own = std::any_of(unit.pins.begin(), unit.pins.end(),
                                         [](const PinElectrode& pin) { return pin.electrode == Electrode::cathode; });
            for (const PinElectrode& pin : common) {
                if (pin.electrode != Electrode::cathode || !own) unit.pins.push_back(pin);
            }
            units_.push_back(std::move(unit));
        }
    }
}

std::vector<int> Trace::emitter(int index, const PinElectrode& pin) const {
    std::vector<int> cathodes, filament;
    for (const PinElectrode& one : electrodes(index)) {
        const int net = part(index).leads[at(one.lead)].net;
        if (net < 0) continue;
        if (one.electrode == Electrode::cathode && (one.unit.empty() || pin.unit.empty() || one.unit == pin.unit))
            cathodes.push_back(net);
        if (one.electrode == Electrode::heater && part(index).type->directly_heated) filament.push_back(net);
    }
    return cathodes.empty() ? filament : cathodes;
}

bool Trace::lower_leg(int index, const PinElectrode& plate) const {
    constexpr double least_farads = 1e-6;
    const auto alternates = [&](int net) {
        const std::span<const LeadRef> on = this->net(net).leads;
        return alternating(net) || std::any_of(on.begin(), on.end(), [&](LeadRef ref) {
                   const Part& c = part(ref.part);
                   return c.kind == PartKind::capacitor && c.leads.size() == 2 &&
                          c.farads.value_or(least_farads) >= least_farads && alternating(c.leads[at(1 - ref.lead)].net);
               });
    };
    const std::vector<int> into = emitter(index, plate);
    if (into.empty() ||
        !std::all_of(into.begin(), into.end(), [&](int net) { return !bottom(net) && alternates(net); }))
        return false;
    // all plates that share the cathode
    const std::vector<PinElectrode>& all = electrodes(index);
    return std::all_of(all.begin(), all.end(), [&](const PinElectrode& other) {
        return other.electrode != Electrode::rectifier_plate || emitter(index, other) != into ||
               bottom(part(index).leads[at(other.lead)].net);
    });
}

std::vector<int> Trace::emitting(int index, const PinElectrode& pin) const {
    std::vector<int> nets = emitter(index, pin);
    for (std::size_t k = 0; k < nets.size(); ++k)
        for (const Conductor& path : conductors_) {
            if (path.winding < 0 || part(path.part).windings[at(path.winding)].role != WindingRole::heater) continue;
            for (const auto& [here, there] : {std::pair{path.a, path.b}, {path.b, path.a}})
                if (here == nets[k] && std::find(nets.begin(), nets.end(), there) == nets.end()) nets.push_back(there);
        }
    return nets;
}

bool Trace::holds_supply(const Unit& unit) const {
    constexpr double supply_volts = 100;  // rated: a bypass of a cathode has less
    const Part& socket = part(unit.part);
    if (socket.type == nullptr || socket.type->is_rectifier()) return false;
    const auto on = [&](const PinElectrode& pin) { return socket.leads[at(pin.lead)].net; };
    const auto plate = std::find_if(unit.pins.begin(), unit.pins.end(),
                                    [](const PinElectrode& pin) { return pin.electrode == Electrode::plate; });
    if (plate == unit.pins.end() || !supply_node(on(*plate))) return false;
    const std::vector<int> from = emitting(unit.part, *plate);
    return std::any_of(from.begin(), from.end(), [&](int net) {
        if (bottom(net) || b_plus(net)) return false;
        const std::span<const LeadRef> leads = this->net(net).leads;
        return std::any_of(leads.begin(), leads.end(), [&](LeadRef ref) {
            const Part& filter = part(ref.part);
            return filter.kind == PartKind::capacitor && filter.polarised && ref.lead == 0 &&
                   filter.leads.size() == 2 && filter.rated_volts.value_or(0) > supply_volts &&
                   bottom(filter.leads[1].net);
        });
    });
}

void Trace::find_held() {
    for (const Unit& unit : units_) {
        if (!holds_supply(unit)) continue;
        for (const PinElectrode& pin : unit.pins) {
            const int on = part(unit.part).leads[at(pin.lead)].net;
            if (on >= 0 && pin.electrode == Electrode::control_grid) held_grid_[at(on)] = 1;
            if (pin.electrode != Electrode::plate) continue;
            for (const int net : emitting(unit.part, pin))
                if (!bottom(net)) held_[at(net)] = 1;
        }
    }
}

void Trace::find_stacked() {
    constexpr double biases_only = 2500;  // ohms of a cathode resistor, at most (common practice, no source)
    for (const Conductor& path : conductors_) {
        const Part& by = part(path.part);
        const bool coil = path.winding >= 0 || by.kind == PartKind::coil;
        if (coil ? !path.choke : by.ohms && *by.ohms < biases_only) by_few_ohms_.join(path.a, path.b);
    }
    const int nets = static_cast<int>(chassis_.nets().size());
    for (int net = 0; net < nets; ++net) {
        if (bottom(net)) low_[at_low(net)] = 1;
        if (supply_node(net)) rail_[at_low(net)] = 1;
    }
    const auto on_its_resistor = [&](int cathode) {
        const std::span<const LeadRef> on = net(cathode).leads;
        return std::any_of(on.begin(), on.end(), [&](LeadRef ref) {
            const Part& r = part(ref.part);
            return r.kind == PartKind::resistor && r.leads.size() == 2 && bottom(r.leads[at(1 - ref.lead)].net);
        });
    };
    const auto supplies = [&](std::size_t unit, int plate, int cathode) {
        if (bottom(cathode) || group_has_output_[at_group(cathode)] || supplied_by_[at_group(cathode)] >= 0)
            return false;
        if (!reaches_bottom(cathode)) return returned_by_tube(cathode);
        const TubeType& type = *part(units_[unit].part).type;
        if (type.tube_class == "gas regulator") return true;
        // a filament's resistor hangs on the tap of its winding
        return stands_high(cathode) && near_supply(plate) && (type.directly_heated || on_its_resistor(cathode));
    };
    for (bool more = true; more;) {
        more = false;
        for (std::size_t u = 0; u < units_.size(); ++u) {
            const Part& tube = part(units_[u].part);
            if (tube.type->is_rectifier()) continue;
            for (const PinElectrode& pin : units_[u].pins) {
                const int plate = tube.leads[at(pin.lead)].net;
                if (pin.electrode != Electrode::plate || plate < 0 || bottom(plate)) continue;
                const bool from_b_plus = group_has_output_[at_group(plate)];
                for (const int cathode : emitter(units_[u].part, pin)) {
                    if (cathode == plate) continue;
                    if ((from_b_plus || supplied_by_tube(plate, &units_[u])) && supplies(u, plate, cathode)) {
                        supplied_by_[at_group(cathode)] = static_cast<int>(u);
                        more = true;
                    }
                    char& returned = group_returned_[at_group(plate)];
                    if (!returned && !from_b_plus && (reaches_bottom(cathode) || returned_by_tube(cathode))) {
                        returned = 1;
                        more = true;
                    }
                }
            }
        }
    }
}

bool Trace::soldered(const Part& socket, int lead) const {
    return tubewright::soldered(chassis_.data(), socket, lead);
}

bool Trace::untraced_near(int net) const {
    if (net < 0) return false;
    return untraced_[at(net)] || (!bottom_[at(net)] && !b_plus_[at(net)] && group_untraced_[at(aside_.of(net))]);
}

bool Trace::reaches_b_plus(int net) const {
    if (net < 0 || bottom_[at(net)]) return false;
    const std::size_t group = at(above_bottom_.of(net));
    return group_has_output_[group] || (above_untraced_[group] && (output_wired_ || !has_rectifier_));
}

bool Trace::below_bottom(int net) const {
    return net >= 0 && !bottom_[at(net)] && group_below_[at(above_bottom_.of(net))] &&
           !group_has_output_[at(above_bottom_.of(net))];
}

bool Trace::back_biased(int net) const {
    const int metal = chassis_.nodes().chassis_metal;
    return bottom(net) && metal >= 0 && net != metal && returns_.same(net, metal);
}

bool Trace::supply_node(int net) const {
    constexpr double high_voltage = 100;
    if (b_plus(net)) return true;
    if (!reaches_b_plus(net)) return false;
    const std::span<const LeadRef> leads = this->net(net).leads;
    return std::any_of(leads.begin(), leads.end(), [&](LeadRef ref) {
        const Part& on = part(ref.part);
        return on.kind == PartKind::capacitor && on.polarised && ref.lead == 0 && on.leads.size() == 2 &&
               on.rated_volts.value_or(high_voltage) >= high_voltage && bottom(on.leads[1].net);
    });
}

bool Trace::reaches_bottom(int net) const {
    return net >= 0 && group_has_bottom_[at(direct_.of(net))];
}

bool Trace::parked(const Unit& unit) const {
    const Part& socket = part(unit.part);
    bool plate = false;
    for (const PinElectrode& pin : unit.pins) {
        const bool anode = pin.electrode == Electrode::plate || pin.electrode == Electrode::rectifier_plate ||
                           pin.electrode == Electrode::diode;
        const bool shared = pin.electrode == Electrode::cathode && pin.unit != unit.name;
        if (!shared && !bottom(socket.leads[at(pin.lead)].net)) return false;
        plate = plate || anode;
    }
    return plate &&
           std::count_if(units_.begin(), units_.end(), [&](const Unit& other) { return other.part == unit.part; }) > 1;
}

std::string Trace::pin_name(int part, const PinElectrode& pin) const {
    const std::string name = mixes(this->part(part)) ? trade_name(this->part(part), pin) : word(pin.electrode);
    return chassis_.lead_name({part, pin.lead}) + " (" + name + ")";
}

}  // namespace tubewright::audit
