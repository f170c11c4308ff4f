// SPDX-License-Identifier: MIT
// Duties from the part graph of the chassis module; the contract stands in duty.hpp.
#include "choice/duty.hpp"

#include <algorithm>
#include <limits>
#include <string_view>

#include "chassis/graph.hpp"
#include "chassis/reach.hpp"

namespace tubewright {
namespace {

std::size_t at(int i) {
    return static_cast<std::size_t>(i);
}

bool has(const std::string& text, std::string_view word) {
    return text.find(word) != std::string::npos;
}

// A short through less than this loads the supply: 5 mA or more from 250 V (declared).
constexpr double damping_ohms = 1000;  ///< at most, in line with a buffer
constexpr double loading_ohms = 50e3;

// Least ohms of direct current from some nets to every other; nothing goes on from a net of `stop`.
std::vector<double> least_ohms(const std::vector<Part>& parts, const PartGraph& direct, const std::vector<bool>& from,
                               const std::vector<bool>& stop) {
    std::vector<double> least(from.size(), std::numeric_limits<double>::infinity());
    for (std::size_t n = 0; n < from.size(); ++n)
        if (from[n]) least[n] = 0;
    for (bool better = true; better;) {
        better = false;
        for (std::size_t g = 0; g < direct.groups().size(); ++g) {
            const ConductingGroup& group = direct.groups()[g];
            const Part& p = parts[at(group.part)];
            double ohms = p.ohms.value_or(0);
            for (const PartWinding& w : p.windings)
                if (w.leads == group.leads)
                    for (const double o : w.ohms) ohms += o;
            for (const int net : direct.nets_of(static_cast<int>(g))) {
                if (stop[at(net)] && !from[at(net)]) continue;
                for (const int to : direct.nets_of(static_cast<int>(g)))
                    if (least[at(net)] + ohms < least[at(to)]) {
                        least[at(to)] = least[at(net)] + ohms;
                        better = true;
                    }
            }
        }
    }
    return least;
}

// Sockets on a net by electrode.
struct Electrodes {
    std::vector<std::vector<int>> grid, screen, plate, cathode;  // by net: sockets
};

// What a directly heated tube draws comes back at the middle of its filament: the tap of the heater winding, or the
// wiper of the control across it that takes the hum away. The resistor there is its cathode resistor.
void with_middle_of_filaments(const std::vector<Part>& parts, const std::vector<bool>& returns,
                              std::vector<std::vector<int>>& cathode) {
    const auto also = [&](int end, int other, int middle) {
        if (end < 0 || other < 0 || middle < 0 || returns[at(middle)] || !cathode[at(middle)].empty()) return;
        for (const int socket : cathode[at(end)])
            if (std::count(cathode[at(other)].begin(), cathode[at(other)].end(), socket) > 0)
                cathode[at(middle)].push_back(socket);
    };
    for (const Part& p : parts) {
        for (const PartWinding& w : p.windings)
            if (w.role == WindingRole::heater && w.leads.size() == 3)
                also(p.leads[at(w.leads[0])].net, p.leads[at(w.leads[2])].net, p.leads[at(w.leads[1])].net);
        const int a = p.lead("a"), b = p.lead("b"), wiper = p.lead("wiper");
        if (p.kind == PartKind::control && a >= 0 && b >= 0 && wiper >= 0)
            also(p.leads[at(a)].net, p.leads[at(b)].net, p.leads[at(wiper)].net);
    }
}

}  // namespace

bool is_electrolytic(const Part& part) {
    if (part.kind != PartKind::capacitor) return false;
    return part.polarised || has(part.construction, "electrolytic");
}
bool is_paper(const Part& part) {
    if (part.kind != PartKind::capacitor || is_electrolytic(part)) return false;
    if (has(part.construction, "paper") || has(part.construction, "tar")) return true;
    return part.construction.empty() && part.farads.value_or(0) >= 1e-9;
}
bool seen_burnt(const Part& part) {
    for (const char* w : {"burn", "brown", "charr", "scorch"})
        if (has(part.seen, w)) return true;
    return false;
}
bool seen_bad(const Part& part) {
    if (seen_burnt(part)) return true;
    for (const char* w : {"bulg", "crack", "missing", "spliced", "crumbl", "leak", "short", "open", "dead", "split",
                          "fray", "broken", "gas"})
        if (has(part.seen, w)) return true;
    return false;
}

bool only_loose(const Part& part) {
    if (part.kind != PartKind::wire || part.seen.empty()) return false;
    const std::string& seen = part.seen;
    for (std::size_t from = 0; from < seen.size();) {
        const std::size_t end = std::min(seen.find_first_of(" ,;", from), seen.size());
        if (end > from && seen.compare(from, end - from, "loose") != 0) return false;
        from = end + 1;
    }
    return true;
}

int Duties::sharing_hand(int part) const {
    int count = 0;
    for (std::size_t i = 0; i < duty.size(); ++i)
        count += duty[i] == Duty::line_to_touch && hand[i] == hand[at(part)] ? 1 : 0;
    return std::max(1, count);
}

bool Duties::guards_rectifier(const Chassis& chassis, int part) const {
    const Part& p = chassis.parts()[at(part)];
    if (loads[at(part)] && (is_paper(p) || p.construction == "film")) return true;
    switch (of(part)) {
        case Duty::first_filter:
        case Duty::filter:
        case Duty::output_plate_bypass:
        case Duty::screen_bypass:
        case Duty::supply_bypass:
            return true;
        case Duty::output_coupler:
        case Duty::plate_winding:
            return is_paper(p) || is_electrolytic(p);
        default:
            return false;
    }
}

namespace {

/// A coil that something may resonate with: not the windings of power and output transformers.
bool inductive(const Part& part, const PartWinding* winding) {
    if (winding == nullptr) return part.kind == PartKind::coil && part.role != "voice" && part.role != "hum-bucking";
    return winding->role == WindingRole::rf || winding->role == WindingRole::other;
}

bool across_a_coil(const Chassis& chassis, int a, int b) {
    const auto between = [&](const Part& part, int from, int to) {
        const int x = part.leads[at(from)].net, y = part.leads[at(to)].net;
        return (x == a && y == b) || (x == b && y == a);
    };
    return std::any_of(chassis.parts().begin(), chassis.parts().end(), [&](const Part& part) {
        return part.kind == PartKind::coil && part.leads.size() >= 2 && inductive(part, nullptr) && between(part, 0, 1);
    });
}

/// Nothing stands on the net beside this capacitor but coils and what tunes them.
bool coils_alone(const Chassis& chassis, int net, int capacitor) {
    bool coil = false;
    for (const LeadRef ref : chassis.nets()[at(net)].leads) {
        const Part& part = chassis.parts()[at(ref.part)];
        if (ref.part == capacitor || part.kind == PartKind::strip || part.kind == PartKind::capacitor) continue;
        const PartWinding* its = nullptr;
        for (const PartWinding& winding : part.windings)
            if (std::find(winding.leads.begin(), winding.leads.end(), ref.lead) != winding.leads.end()) its = &winding;
        if (!inductive(part, its)) return false;
        coil = true;
    }
    return coil;
}

}  // namespace

Duties duties_of(const Chassis& chassis) {
    const std::vector<Part>& parts = chassis.parts();
    const int nets = static_cast<int>(chassis.nets().size());
    Duties d;
    d.duty.assign(parts.size(), Duty::none);
    d.feeds.resize(parts.size());

    std::vector<bool> returns(at(nets)), winding_ends(at(nets));
    std::vector<int> taps;
    const NodeRoles& roles = chassis.nodes();
    for (int net : {roles.chassis_metal, roles.b_minus, roles.earth, chassis.reference()})
        if (net >= 0) returns[at(net)] = true;
    for (const Part& p : parts)
        for (const PartWinding& w : p.windings) {
            if (w.role != WindingRole::plate) continue;
            for (std::size_t k = 0; k < w.leads.size(); ++k) {
                const int net = p.leads[at(w.leads[k])].net;
                if (net < 0) continue;
                if (w.leads.size() == 3 && k == 1) {
                    returns[at(net)] = true;
                    taps.push_back(net);
                } else {
                    winding_ends[at(net)] = true;
                }
            }
        }

    // A buffer hangs behind small resistors that damp it: it is across the winding all the same.
    for (const Part& p : parts) {
        if (p.kind != PartKind::resistor || p.leads.size() != 2 || p.ohms.value_or(1e9) > damping_ohms) continue;
        for (int end = 0; end < 2; ++end) {
            const int near = p.leads[at(end)].net, far = p.leads[at(1 - end)].net;
            if (near < 0 || far < 0 || !winding_ends[at(near)]) continue;
            const auto& there = chassis.nets()[at(far)].leads;
            if (std::all_of(there.begin(), there.end(), [&](const LeadRef ref) {
                    const Part& other = parts[at(ref.part)];
                    return &other == &p || other.kind == PartKind::capacitor || other.kind == PartKind::strip;
                }))
                winding_ends[at(far)] = true;
        }
    }

    // Line side: both blades as good as wired, and the primaries on them.
    const PartGraph wires(parts, nets, Through::short_wire);
    std::vector<int> blades;
    for (int net : {roles.line_hot, roles.line_neutral})
        if (net >= 0) blades.push_back(net);
    for (const Part& p : parts)
        for (const PartWinding& w : p.windings)
            if (w.role == WindingRole::primary)
                for (int l : w.leads)
                    if (p.leads[at(l)].net >= 0) blades.push_back(p.leads[at(l)].net);
    d.line = wires.reached(blades);
    for (std::size_t n = 0; n < returns.size() && !chassis.hot(); ++n)
        if (returns[n]) d.line[n] = false;
    // The bottom of a set whose B-minus or metal is a blade: what is joined to it is no line to what hangs between it
    // and the supply.
    std::vector<bool> bottom(returns);
    for (const int blade : {roles.line_hot, roles.line_neutral}) {
        if (blade < 0 || !chassis.hot()) continue;
        const std::vector<bool> reach = wires.reached({blade});
        bool has_return = false;
        for (std::size_t n = 0; n < reach.size(); ++n) has_return = has_return || (reach[n] && returns[n]);
        for (std::size_t n = 0; n < reach.size() && has_return; ++n) bottom[n] = bottom[n] || reach[n];
    }

    // Electrodes, and the rectifier's output.
    Electrodes e;
    for (auto* list : {&e.grid, &e.screen, &e.plate, &e.cathode}) list->resize(at(nets));
    std::vector<int> sources;
    for (std::size_t s = 0; s < parts.size(); ++s) {
        const Part& p = parts[s];
        if (p.construction == "selenium" || p.construction == "silicon")
            if (p.leads.size() > 1 && p.leads[1].net >= 0) sources.push_back(p.leads[1].net);
        if (p.kind != PartKind::socket || !p.type) continue;
        const bool rectifier = p.type->is_rectifier();
        const bool output = !p.type->is_only_rectifier() && has(p.type->tube_class, "power");
        if (rectifier) {
            d.rectifiers.push_back(static_cast<int>(s));
            for (const RectifierUnit& u : rectifier_units(p, static_cast<int>(s)))
                for (int l : u.cathodes)
                    if (p.leads[at(l)].net >= 0) sources.push_back(p.leads[at(l)].net);
            if (!output) continue;
        }
        if (output) d.output_tubes.push_back(static_cast<int>(s));
        for (const Lead& l : p.leads) {
            const Pin* pin = p.type->pin(l.name);
            if (!pin || l.net < 0 || returns[at(l.net)]) continue;
            for (const std::string& electrode : pin->electrodes) {
                if (rectifier && (electrode == "kr" || electrode == "pr")) continue;
                const int socket = static_cast<int>(s);
                if (electrode.rfind("g1", 0) == 0) e.grid[at(l.net)].push_back(socket);
                if (electrode.rfind("g2", 0) == 0 && !has(p.type->tube_class, "triode"))
                    e.screen[at(l.net)].push_back(socket);
                if (electrode.rfind("g2", 0) == 0 && has(p.type->tube_class, "dual-triode"))
                    e.grid[at(l.net)].push_back(socket);
                if (electrode[0] == 'p') e.plate[at(l.net)].push_back(socket);
                if (electrode[0] == 'k' || (p.type->directly_heated && electrode[0] == 'h'))
                    e.cathode[at(l.net)].push_back(socket);
            }
        }
    }
    with_middle_of_filaments(parts, returns, e.cathode);
    std::sort(sources.begin(), sources.end());
    sources.erase(std::unique(sources.begin(), sources.end()), sources.end());
    const PartGraph direct(parts, nets, Through::direct_current);
    // Not back through the rectifier and its winding to the centre tap, and from there into the bias of a back-bias
    // set.
    std::vector<bool> ends = returns;
    for (std::size_t n = 0; n < ends.size(); ++n) ends[n] = ends[n] || winding_ends[n];
    if (chassis.reference() >= 0) ends[at(chassis.reference())] = true;
    d.fed = direct.reached(sources, ends);
    // Parts on the shortest way from the rectifier, net by net.
    d.rank.assign(at(nets), -1);
    std::vector<int> front = sources;
    for (int net : front) d.rank[at(net)] = 0;
    for (int step = 1; !front.empty(); ++step) {
        std::vector<int> next;
        for (int net : front)
            for (int group : direct.groups_on(net))
                for (int to : direct.nets_of(group))
                    if (d.fed[at(to)] && d.rank[at(to)] < 0) {
                        d.rank[at(to)] = step;
                        next.push_back(to);
                    }
        front = std::move(next);
    }
    std::vector<bool> output_net = wires.reached(sources, chassis.reference());
    for (const Part& p : parts)
        for (const PartWinding& w : p.windings)
            if (w.role == WindingRole::rectifier_heater)
                for (int l : w.leads)
                    if (p.leads[at(l)].net >= 0) output_net[at(p.leads[at(l)].net)] = true;

    const auto is_output = [&](int socket) {
        return std::find(d.output_tubes.begin(), d.output_tubes.end(), socket) != d.output_tubes.end();
    };
    const auto any_output = [&](const std::vector<int>& sockets) {
        return std::any_of(sockets.begin(), sockets.end(), is_output);
    };
    // Grid side of the output tubes: by resistance from their grids, not through a return and not from B-plus.
    std::vector<int> output_grids;
    for (int n = 0; n < nets; ++n)
        if (any_output(e.grid[at(n)])) output_grids.push_back(n);
    std::vector<bool> not_grid = ends;
    for (int n = 0; n < nets; ++n) not_grid[at(n)] = (not_grid[at(n)] || d.fed[at(n)]) && !any_output(e.grid[at(n)]);
    std::vector<bool> grid_side = direct.reached(output_grids, not_grid);
    for (int n = 0; n < nets; ++n)
        if (not_grid[at(n)]) grid_side[at(n)] = false;

    // Nets of coils at radio frequency, and of trimmers and tuning sections.
    std::vector<bool> radio(at(nets));
    for (const Part& p : parts) {
        if (has(p.construction, "trimmer") || p.construction == "air-variable")
            for (const Lead& l : p.leads)
                if (l.net >= 0) radio[at(l.net)] = true;
        for (const PartWinding& w : p.windings)
            if (w.role == WindingRole::rf)
                for (int l : w.leads)
                    if (p.leads[at(l)].net >= 0) radio[at(p.leads[at(l)].net)] = true;
    }

    const auto join = [](std::vector<int>& into, const std::vector<int>& more) {
        into.insert(into.end(), more.begin(), more.end());
        std::sort(into.begin(), into.end());
        into.erase(std::unique(into.begin(), into.end()), into.end());
    };
    // A battery is no line: nothing on its lead is X or Y, whatever it goes to.
    const bool no_line = (roles.line_hot < 0 && roles.line_neutral < 0) || chassis.family() == Family::vehicle ||
                         chassis.family() == Family::battery;
    const LineReach reach = line_reach(chassis);
    d.hand = reach.hand;
    for (std::size_t i = 0; i < parts.size(); ++i) {
        const Part& p = parts[i];
        if (p.leads.size() < 2 || p.leads[0].net < 0 || p.leads[1].net < 0) continue;
        const int a = p.leads[0].net, b = p.leads[1].net;
        for (const Lead& l : p.leads)
            if (l.net >= 0)
                for (const auto* list : {&e.grid, &e.screen, &e.plate, &e.cathode})
                    join(d.feeds[i], (*list)[at(l.net)]);
        const auto either = [&](const auto& test) { return test(a) || test(b); };
        const auto on_grid = [&](int n) { return !e.grid[at(n)].empty(); };
        const auto on_output_grid = [&](int n) { return any_output(e.grid[at(n)]); };
        const auto on_cathode = [&](int n) { return !e.cathode[at(n)].empty(); };
        const auto on_plate = [&](int n) { return !e.plate[at(n)].empty(); };
        const auto on_screen = [&](int n) { return !e.screen[at(n)].empty(); };
        const auto touchable = [&](int n) { return returns[at(n)] || chassis.nets()[at(n)].touch; };
        Duty& duty = d.duty[i];
        if (p.kind == PartKind::capacitor) {
            const auto on_line = [&](int n) { return !no_line && d.line[at(n)] && !bottom[at(n)]; };
            const bool line = on_line(a) || on_line(b);
            const int other = on_line(a) ? b : a;
            const auto metal_off_the_line = [&](int n) {
                return !no_line && !d.line[at(n)] && (n == roles.chassis_metal || chassis.nets()[at(n)].touch);
            };
            // Behind a transformer whatever is not the line hangs on the metal, by a winding, a coil, the filters.
            const bool across = d.line[at(other)] || (chassis.hot() && !touchable(other));
            const bool one_of_the_supply = is_electrolytic(p) && !d.line[at(other)];
            // Plates in air are no part that is bought, and what stands in a can of coils is tuned with them.
            const bool plates = p.construction == "air-variable" || has(p.construction, "trimmer") || !p.inside.empty();
            if (reach.guards[i] && !plates)
                duty = Duty::line_to_touch;
            else if (line && across && !one_of_the_supply)
                duty = Duty::line_to_line;
            else if (no_line && !is_electrolytic(p) && (d.line[at(a)] || d.line[at(b)]) && !winding_ends[at(a)] &&
                     !winding_ends[at(b)] && !d.fed[at(a)] && !d.fed[at(b)])
                duty = Duty::hash_bypass;
            else if ((line && !one_of_the_supply) || (!no_line && ((d.line[at(a)] && metal_off_the_line(b)) ||
                                                                   (d.line[at(b)] && metal_off_the_line(a)))))
                duty = Duty::line_to_touch;
            else if (winding_ends[at(a)] || winding_ends[at(b)])
                duty = Duty::plate_winding;
            else if (!is_electrolytic(p) && !plates && p.farads.value_or(0) >= 1e-9 &&
                     (across_a_coil(chassis, a, b) || (!either([&](int n) {
                          return chassis.nets()[at(n)].touch;
                      }) && either([&](int n) { return coils_alone(chassis, n, static_cast<int>(i)); }))))
                duty = Duty::resonant;
            else if ((d.fed[at(a)] && grid_side[at(b)]) || (d.fed[at(b)] && grid_side[at(a)]))
                duty = Duty::output_coupler;
            else if (is_electrolytic(p) && d.fed[at(a)] != d.fed[at(b)] && !either(on_cathode))
                duty = output_net[at(a)] || output_net[at(b)] ? Duty::first_filter : Duty::filter;
            else if ((d.fed[at(a)] && any_output(e.plate[at(a)])) || (d.fed[at(b)] && any_output(e.plate[at(b)])))
                duty = Duty::output_plate_bypass;
            else if (!either(on_cathode) && !either(on_output_grid) && (returns[at(a)] || returns[at(b)]) &&
                     (grid_side[at(a)] || grid_side[at(b)]))
                duty = Duty::bias_filter;
            else if (d.fed[at(a)] != d.fed[at(b)] && (output_net[at(a)] || output_net[at(b)]) &&
                     (returns[at(a)] || returns[at(b)]))
                duty = Duty::first_filter;
            // A film or mica bypass from the supply to the metal is what a paper one is, coils beside it or not.
            else if (!is_paper(p) && !is_electrolytic(p) &&
                     !(d.fed[at(a)] != d.fed[at(b)] && either(touchable) && p.farads.value_or(0) >= 1e-9) &&
                     (radio[at(a)] || radio[at(b)] || p.farads.value_or(0) < 1e-9))
                duty = Duty::tuned;
            else if (d.fed[at(a)] != d.fed[at(b)] && either(on_screen) && either(touchable))
                duty = Duty::screen_bypass;
            else if (d.fed[at(a)] != d.fed[at(b)] && !on_plate(d.fed[at(a)] ? a : b) && either(touchable))
                duty = Duty::supply_bypass;
            else if (d.fed[at(a)] != d.fed[at(b)])
                duty = Duty::coupler;
            else if (either(on_cathode) && either(touchable))
                duty = Duty::cathode_bypass;
            else
                duty = either(on_grid) && !either(touchable) ? Duty::coupler : Duty::grid_bypass;
        } else if (p.kind == PartKind::resistor) {
            const bool into_return = returns[at(a)] || returns[at(b)];
            if (returns[at(a)] && returns[at(b)])
                duty = Duty::back_bias_resistor;
            else if (either(on_output_grid))
                duty = Duty::output_grid_leak;
            else if ((any_output(e.cathode[at(a)]) || any_output(e.cathode[at(b)])))
                duty = Duty::output_cathode_resistor;
            else if (grid_side[at(a)] || grid_side[at(b)])
                duty = Duty::output_grid_leak;
            else if (either(on_cathode))
                duty = Duty::cathode_resistor;
            else if (either(on_plate) && d.fed[at(a)] && d.fed[at(b)])
                duty = Duty::plate_load;
            else if (either(on_screen) && d.fed[at(a)] && d.fed[at(b)])
                duty = Duty::screen_feed;
            else if (either(on_grid))
                duty = Duty::grid_leak;
            else if ((d.fed[at(a)] || d.fed[at(b)]) && (into_return || (d.fed[at(a)] && d.fed[at(b)])))
                duty = Duty::divider;
        }
    }

    std::vector<bool> rectified(at(nets));
    for (const int net : sources) rectified[at(net)] = true;
    const std::vector<double> from_rectifier = least_ohms(parts, direct, rectified, ends);
    const std::vector<double> to_return = least_ohms(parts, direct, returns, winding_ends);
    d.loads.assign(parts.size(), false);
    for (std::size_t i = 0; i < parts.size(); ++i) {
        const Part& p = parts[i];
        if (p.kind != PartKind::capacitor || p.leads.size() < 2 || p.leads[0].net < 0 || p.leads[1].net < 0) continue;
        const int a = p.leads[0].net, b = p.leads[1].net;
        if (d.fed[at(a)] == d.fed[at(b)]) continue;
        d.loads[i] =
            std::min(from_rectifier[at(a)] + to_return[at(b)], from_rectifier[at(b)] + to_return[at(a)]) < loading_ohms;
    }

    // Where the field lies in the minus lead the first filter is the one that returns to the centre tap; what returns
    // to the metal stands behind the field.
    const std::vector<bool> near_tap = wires.reached(taps);
    const auto at_tap = [&](const Part& p) {
        return std::any_of(p.leads.begin(), p.leads.end(),
                           [&](const Lead& l) { return near_tap[at(l.net)] && !d.fed[at(l.net)]; });
    };
    bool tap_has_one = false;
    for (std::size_t i = 0; i < parts.size(); ++i)
        tap_has_one = tap_has_one || (d.duty[i] == Duty::first_filter && at_tap(parts[i]));
    // The point that a bias filter keeps quiet, and the resistor that feeds it.
    std::vector<bool> bias_point(at(nets)), coupled(at(nets));
    for (std::size_t i = 0; i < parts.size(); ++i) {
        if (tap_has_one && d.duty[i] == Duty::first_filter && !at_tap(parts[i])) d.duty[i] = Duty::filter;
        for (const Lead& l : parts[i].leads) {
            if (d.duty[i] == Duty::bias_filter && grid_side[at(l.net)]) bias_point[at(l.net)] = true;
            if (d.duty[i] == Duty::output_coupler) coupled[at(l.net)] = true;
        }
    }
    for (std::size_t i = 0; i < parts.size(); ++i) {
        if (d.duty[i] != Duty::output_grid_leak) continue;
        const auto on = [&](const auto& test) {
            return std::any_of(parts[i].leads.begin(), parts[i].leads.end(),
                               [&](const Lead& l) { return test(l.net); });
        };
        const bool beside_grid = on([&](int n) { return coupled[at(n)] || any_output(e.grid[at(n)]); });
        if (!beside_grid && on([&](int n) { return bias_point[at(n)]; })) d.duty[i] = Duty::bias_feed;
    }
    return d;
}

const char* word(Duty duty) {
    switch (duty) {
        case Duty::none:
            return "";
        case Duty::line_to_line:
            return "across the line";
        case Duty::line_to_touch:
            return "from the line to metal that a hand can reach";
        case Duty::hash_bypass:
            return "hash bypass on the battery lead";
        case Duty::plate_winding:
            return "across a plate winding";
        case Duty::first_filter:
            return "first filter";
        case Duty::filter:
            return "filter";
        case Duty::output_coupler:
            return "output coupler";
        case Duty::coupler:
            return "coupler";
        case Duty::output_plate_bypass:
            return "output plate bypass";
        case Duty::screen_bypass:
            return "screen bypass";
        case Duty::supply_bypass:
            return "B-plus bypass";
        case Duty::cathode_bypass:
            return "cathode bypass";
        case Duty::bias_filter:
            return "bias filter";
        case Duty::grid_bypass:
            return "bypass of a grid return";
        case Duty::tuned:
            return "tuned circuit or radio frequency";
        case Duty::resonant:
            return "tunes a coil";
        case Duty::output_cathode_resistor:
            return "cathode resistor of the output tube";
        case Duty::output_grid_leak:
            return "grid leak of the output tube";
        case Duty::bias_feed:
            return "bias feed of the output tube";
        case Duty::back_bias_resistor:
            return "back-bias resistor";
        case Duty::cathode_resistor:
            return "cathode resistor";
        case Duty::grid_leak:
            return "grid leak";
        case Duty::plate_load:
            return "plate load";
        case Duty::screen_feed:
            return "screen feed";
        case Duty::divider:
            return "divider";
    }
    return "";
}

double drift_allowed(Duty duty, const Policy& policy) {
    const bool narrow = duty == Duty::output_cathode_resistor || duty == Duty::divider;
    return narrow ? std::min(0.1, policy.resistor_limit) : policy.resistor_limit;
}

}  // namespace tubewright
