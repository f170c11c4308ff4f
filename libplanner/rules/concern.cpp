// SPDX-License-Identifier: MIT
// Floods over the chassis; the contract stands in concern.hpp.
#include "rules/concern.hpp"

#include <algorithm>
#include <functional>
#include <limits>
#include <queue>
#include <string_view>

#include "chassis/data.hpp"

namespace tubewright {
namespace {

using Nets = std::vector<char>;

std::size_t at(int i) {
    return static_cast<std::size_t>(i);
}

// A capacitor that loads the supply: its short leaves less than this between rectifier and return (5 mA or more from
// 250 V; declared).
constexpr double loading_ohms = 50e3;

bool wire_like(const Part& p) {
    return p.kind == PartKind::wire || p.kind == PartKind::cord || p.kind == PartKind::plug ||
           p.kind == PartKind::fuse || p.kind == PartKind::power_switch;
}

bool burnt_look(const Part& p) {
    for (const char* w : {"burnt", "brown", "charred", "scorched"})
        if (p.seen.find(w) != std::string::npos) return true;
    return false;
}

class Map {
  public:
    Map(const Chassis& chassis, const Catalogue& catalogue) : chassis_(chassis), catalogue_(catalogue) {
        const NodeRoles& r = chassis.nodes();
        returns_ = none();
        for (int net : {r.chassis_metal, r.b_minus, r.earth, chassis.reference()})
            if (net >= 0) returns_[at(net)] = 1;
        for (const Part& p : chassis.parts())
            for (const PartWinding& w : p.windings)
                if (w.role == WindingRole::plate && w.leads.size() == 3) returns_[at(p.leads[at(w.leads[1])].net)] = 1;
    }

    Concern read() {
        Concern c;
        const NodeRoles& r = chassis_.nodes();
        Nets line = none();
        for (int net : {r.line_hot, r.line_neutral})
            if (net >= 0) line[at(net)] = 1;
        spread(line, wire_like, {});
        Nets plates = none(), heaters = none(), filaments = none();
        for (const Part& p : chassis_.parts())
            for (const PartWinding& w : p.windings) {
                c.has_transformer = c.has_transformer || w.role == WindingRole::primary;
                for (std::size_t k = 0; k < w.leads.size(); ++k) {
                    const int net = p.leads[at(w.leads[k])].net;
                    if (net < 0) continue;
                    if (w.role == WindingRole::primary) line[at(net)] = 1;
                    if (w.role == WindingRole::primary && burnt_look(p)) c.burnt_iron.insert(p.id);
                    if (returns_[at(net)]) continue;
                    if (w.role == WindingRole::plate) plates[at(net)] = 1;
                    if (w.role == WindingRole::heater) heaters[at(net)] = 1;
                    if (w.role == WindingRole::rectifier_heater) filaments[at(net)] = 1;
                }
            }
        spread(line, wire_like, returns_);
        // by way of a B-minus that is a blade no further net becomes one: a tone switch to it is on no line
        Nets blades = none();
        for (int net : {r.line_hot, r.line_neutral})
            if (net >= 0 && !returns_[at(net)]) blades[at(net)] = 1;
        for (const Part& p : chassis_.parts())
            for (const PartWinding& w : p.windings)
                for (int k : w.leads)
                    if (w.role == WindingRole::primary && p.leads[at(k)].net >= 0) blades[at(p.leads[at(k)].net)] = 1;
        spread(blades, wire_like, returns_);
        spread(plates, wire_like, returns_);
        Nets winding = plates;  // a buffer hangs behind small resistors that damp it
        const auto damping = [](const Part& p) {
            constexpr double at_most = 1000;
            return wire_like(p) || (p.kind == PartKind::resistor && p.ohms.value_or(1e9) <= at_most);
        };
        spread(winding, damping, returns_);
        const bool vibrates = std::any_of(chassis_.parts().begin(), chassis_.parts().end(),
                                          [](const Part& p) { return p.kind == PartKind::vibrator; });
        Nets lamp_leads = heaters;
        spread(lamp_leads, wire_like, returns_);
        Nets filament_leads = filaments;
        spread(filament_leads, wire_like, returns_);

        // What the rectifier feeds, and through how many ohms.
        Nets sources = filaments;
        Nets power_grids = none(), power_cathodes = none();
        for (const Part& p : chassis_.parts()) {
            if (p.kind != PartKind::socket || !p.type || p.fitted == "none") continue;
            c.tubes.insert(p.id);
            const bool rectifier = p.type->is_rectifier();
            const bool power = !p.type->is_only_rectifier() && p.type->tube_class.find("power") != std::string::npos;
            if (rectifier) c.rectifiers.insert(p.id);
            if (power) c.output_tubes.insert(p.id);
            for (const Lead& l : p.leads) {
                const Pin* pin = p.type->pin(l.name);
                if (!pin || l.net < 0) continue;
                for (const std::string& e : pin->electrodes) {
                    const bool its_own = !power || e == "kr" || e == "pr";  // of the rectifier beside an output section
                    const bool cathode = e[0] == 'k' || (p.type->directly_heated && e[0] == 'h');
                    if (rectifier && cathode && its_own) sources[at(l.net)] = 1;
                    if (rectifier && its_own) continue;
                    if (power && e.rfind("g1", 0) == 0) power_grids[at(l.net)] = 1;
                    if (power && cathode && !returns_[at(l.net)]) power_cathodes[at(l.net)] = 1;
                }
            }
        }
        if (c.rectifiers.empty())  // a metal rectifier: what stands on the plate winding or the line is a part of that
                                   // construction
            for (const Part& p : chassis_.parts())
                if (p.construction == "selenium" || p.construction == "silicon") {
                    c.rectifiers.insert(p.id);
                    if (p.leads.size() > 1 && p.leads[1].net >= 0) sources[at(p.leads[1].net)] = 1;
                }
        const std::vector<double> from_rectifier = ohms_from(sources, true);
        const std::vector<double> to_return = ohms_from(returns_, false);
        const auto fed = [&](int net) {
            return net >= 0 && !returns_[at(net)] && from_rectifier[at(net)] < std::numeric_limits<double>::infinity();
        };

        // filaments of an output tube hand its current on at their middle
        for (const Part& p : chassis_.parts()) {
            const auto middle = [&](const std::vector<int>& leads) {
                if (leads.size() != 3) return;
                const int first = p.leads[at(leads[0])].net, tap = p.leads[at(leads[1])].net,
                          last = p.leads[at(leads[2])].net;
                if (first < 0 || last < 0 || tap < 0 || returns_[at(tap)]) return;
                if (power_cathodes[at(first)] && power_cathodes[at(last)]) power_cathodes[at(tap)] = 1;
            };
            for (const PartWinding& w : p.windings)
                if (w.role == WindingRole::heater) middle(w.leads);
            const int a = p.lead("a"), b = p.lead("b"), wiper = p.lead("wiper");
            if (p.kind == PartKind::control && a >= 0 && b >= 0 && wiper >= 0) middle({a, wiper, b});
        }

        Nets grid_side = power_grids;
        spread(grid_side, resistive, returns_);
        Nets cathode_side = power_cathodes;
        {
            Nets stop = returns_;
            for (std::size_t n = 0; n < stop.size(); ++n)
                if (fed(static_cast<int>(n)) && !cathode_side[n]) stop[n] = 1;
            spread(cathode_side, resistive, stop);
        }
        for (std::size_t n = 0; n < grid_side.size(); ++n)
            if (fed(static_cast<int>(n)) && !power_grids[n]) grid_side[n] = 0;

        // what a switch joins to a return that is a blade is that return, whatever else it switches
        Nets bottom = none();
        for (std::size_t n = 0; n < bottom.size(); ++n) bottom[n] = returns_[n] && line[n];
        spread(bottom, [](const Part& p) { return p.kind == PartKind::power_switch && p.role != "line"; }, {});
        for (std::size_t n = 0; n < bottom.size(); ++n) bottom[n] = bottom[n] || returns_[n];
        // a vehicle's or a battery's lead has its fuse wherever the file has one
        const bool off_the_line = chassis_.family() == Family::vehicle || chassis_.family() == Family::battery;
        for (const Part& p : chassis_.parts()) {
            const int a = p.leads.empty() ? -1 : p.leads[0].net;
            const int b = p.leads.size() > 1 ? p.leads[1].net : -1;
            const auto on = [&](const Nets& s) { return on_any(p, s); };
            if (p.plug == "speaker" || p.kind == PartKind::speaker) c.on_speaker_plug.insert(p.id);
            if (p.kind == PartKind::lamp) c.lamps.insert(p.id);
            if (p.kind == PartKind::wire && p.seen == "loose") c.loose_wires.insert(p.id);
            if (p.kind == PartKind::power_switch && seen_only_dirty(p)) c.dirty_switches.insert(p.id);
            if (p.kind == PartKind::lamp ||
                (p.kind != PartKind::socket && p.kind != PartKind::transformer && on(lamp_leads)))
                c.heater_parts.insert(p.id);
            if (p.kind == PartKind::lamp && on(lamp_leads)) c.lamp_leads.insert(p.id);
            c.fused = c.fused || (p.kind == PartKind::fuse && (on(line) || off_the_line));
            const bool line_plug = p.kind == PartKind::plug && p.role != "speaker";
            if (p.kind == PartKind::cord || line_plug || (wire_like(p) && p.kind != PartKind::plug && on(line)) ||
                (p.kind == PartKind::wire && (on(plates) || on(lamp_leads) || on(filament_leads))))
                c.line_parts.insert(p.id);
            if (p.kind == PartKind::transformer && p.role == "output") c.continuity.insert(p.id);
            if (p.kind == PartKind::coil && (p.role == "field" || p.role == "choke")) c.continuity.insert(p.id);
            if (p.kind == PartKind::resistor || p.kind == PartKind::control) {
                // On the cathode or the grid, or further along their way to a return; not what feeds them from B-plus.
                const bool feeds = std::any_of(p.leads.begin(), p.leads.end(), [&](const Lead& l) {
                    return fed(l.net) && !power_cathodes[at(l.net)] && !power_grids[at(l.net)];
                });
                if (!feeds && (on(cathode_side) || on(grid_side) || between_returns(p))) c.bias_resistors.insert(p.id);
            }
            if (p.kind != PartKind::capacitor || a < 0 || b < 0) continue;
            if (electrolytic(p)) c.electrolytics.insert(p.id);
            // Where the metal or B-minus is the line itself, what hangs between it and the set's own nets is on no
            // line; what goes from there to metal off the line is.
            const auto blade = [&](int net) { return blades[at(net)] && !bottom[at(net)]; };
            const auto apart = [&](int net) {
                return !line[at(net)] && (net == r.chassis_metal || chassis_.nets()[at(net)].touch);
            };
            if (!off_the_line && (blade(a) || blade(b) || (line[at(a)] && apart(b)) || (line[at(b)] && apart(a)))) {
                c.line_capacitors.insert(p.id);
                const auto reachable = [&](int net) {
                    return !line[at(net)] && (returns_[at(net)] || chassis_.nets()[at(net)].touch);
                };
                // Behind a transformer all that is not the line hangs on the metal.
                const bool hangs = c.has_transformer && !chassis_.hot() && line[at(a)] != line[at(b)];
                if (reachable(a) || reachable(b) || hangs) {
                    c.line_to_metal.insert(p.id);
                    if (p.construction != "safety-y") c.old_to_metal.insert(p.id);
                }
            }
            const bool buffer = winding[at(a)] && winding[at(b)];
            if (on(plates) || buffer) c.plate_winding_capacitors.insert(p.id);
            const bool coupler = (fed(a) && grid_side[at(b)]) || (fed(b) && grid_side[at(a)]);
            if (coupler) c.couplers.insert(p.id);
            const bool quiets =
                (paper(p) || film(p)) && on(grid_side) && !on(power_grids) && (returns_[at(a)] || returns_[at(b)]);
            if ((electrolytic(p) || quiets) && on(grid_side) && !on(power_cathodes)) c.bias_filters.insert(p.id);
            const double path =
                std::min(from_rectifier[at(a)] + to_return[at(b)], from_rectifier[at(b)] + to_return[at(a)]);
            const bool across = fed(a) != fed(b);
            if ((electrolytic(p) && across) ||
                ((paper(p) || film(p)) && (coupler || (across && path < loading_ohms))) ||
                p.construction == "buffer-paper" || (vibrates && buffer))
                c.supply_papers.insert(p.id);
        }

        for (const Part& p : chassis_.parts()) {
            if (p.kind != PartKind::resistor && p.kind != PartKind::control) continue;
            Ids leaky;
            for (const Part& n : chassis_.parts()) {
                if (n.kind != PartKind::capacitor || !(paper(n) || electrolytic(n))) continue;
                if (shares_net(p, n)) leaky.insert(n.id);
            }
            c.beside.push_back({p.id, leaky});
            if (burnt_look(p))
                c.burnt.push_back({p.id, on_any(p, power_cathodes) ? c.couplers : causes(p, from_rectifier)});
        }

        Nets live = line;
        for (const Nets* s : {&plates, &heaters, &filaments})
            for (std::size_t n = 0; n < live.size(); ++n) live[n] = live[n] || (*s)[n];
        spread(
            live, [](const Part& p) { return wire_like(p) || p.kind == PartKind::lamp; }, returns_);
        for (const Part& p : chassis_.parts()) {
            const bool touches = std::any_of(p.leads.begin(), p.leads.end(),
                                             [&](const Lead& l) { return l.net >= 0 && live[at(l.net)]; });
            if (!touches) c.dead_without_b_plus.insert(p.id);
            const bool plugged = p.kind == PartKind::socket || p.kind == PartKind::lamp || p.kind == PartKind::fuse ||
                                 p.kind == PartKind::plug || p.kind == PartKind::speaker || p.kind == PartKind::strip;
            const bool feeds = std::any_of(p.leads.begin(), p.leads.end(), [&](const Lead& l) { return fed(l.net); });
            if (!plugged &&
                (touches || feeds || c.rectifiers.empty() || c.bias_resistors.count(p.id) > 0 ||
                 c.bias_filters.count(p.id) > 0 || c.continuity.count(p.id) > 0 || c.line_parts.count(p.id) > 0))
                c.supply.insert(p.id);
            if (std::any_of(p.windings.begin(), p.windings.end(),
                            [](const PartWinding& w) { return w.role == WindingRole::primary; }))
                c.power_iron.insert(p.id);
        }

        // Any position of plug and switch: from either blade through whatever conducts, heaters of a string among it.
        Nets reach = none();
        for (int net : {r.line_hot, r.line_neutral})
            if (net >= 0) reach[at(net)] = 1;
        spread(reach, conducts, {});
        for (int net : {r.chassis_metal, r.b_minus})
            if (net >= 0 && reach[at(net)]) c.hot = true;
        const int metal = r.chassis_metal >= 0 ? r.chassis_metal : r.b_minus >= 0 ? r.b_minus : chassis_.reference();
        if (r.earth >= 0 && metal >= 0) {
            Nets earth = none();
            earth[at(r.earth)] = 1;
            for (const Part& p : chassis_.parts())
                if (metal != r.earth && wire_like(p) && on_any(p, earth)) c.earth_wires.insert(p.id);
            spread(earth, wire_like, {});
            c.earthed = earth[at(metal)];
        }
        c.series_string = !c.has_transformer && !c.tubes.empty() && r.line_hot >= 0;
        return c;
    }

  private:
    // By construction; where the file says none, by value as the trade guesses: over 1 uF electrolytic, .001 to 1 uF
    // paper.
    std::string rate_of(const Part& p) const {
        if (p.kind != PartKind::capacitor) return {};
        if (const Construction* k = catalogue_.construction(p.construction)) return k->base_rate;
        const double farads = p.farads.value_or(0);
        return p.polarised || farads > 1e-6 ? "capacitor-electrolytic" : farads >= 1e-9 ? "capacitor-paper" : "";
    }
    bool electrolytic(const Part& p) const { return p.polarised || rate_of(p) == "capacitor-electrolytic"; }
    bool paper(const Part& p) const { return rate_of(p) == "capacitor-paper"; }
    bool film(const Part& p) const { return rate_of(p) == "capacitor-film"; }

    Nets none() const { return Nets(chassis_.nets().size(), 0); }

    static bool resistive(const Part& p) {
        return wire_like(p) || p.kind == PartKind::resistor || p.kind == PartKind::control || p.kind == PartKind::coil;
    }
    static bool conducts(const Part& p) {
        return resistive(p) || p.kind == PartKind::lamp || p.kind == PartKind::socket ||
               p.kind == PartKind::transformer;
    }

    // Groups of leads of a part that conduct among themselves.
    std::vector<std::vector<int>> groups(const Part& p) const {
        std::vector<std::vector<int>> g;
        if (p.kind == PartKind::capacitor || p.kind == PartKind::strip || p.kind == PartKind::block ||
            p.kind == PartKind::untraced)
            return g;
        if (p.kind == PartKind::transformer) {
            for (const PartWinding& w : p.windings) g.push_back(w.leads);
            return g;
        }
        std::vector<int> all;
        for (std::size_t k = 0; k < p.leads.size(); ++k) {
            if (p.kind == PartKind::socket) {  // only its heater conducts cold
                const Pin* pin = p.type ? p.type->pin(p.leads[k].name) : nullptr;
                if (!pin || std::none_of(pin->electrodes.begin(), pin->electrodes.end(),
                                         [](const std::string& e) { return e[0] == 'h'; }))
                    continue;
            }
            all.push_back(static_cast<int>(k));
        }
        if (p.kind == PartKind::plug) return g;
        g.push_back(all);
        return g;
    }

    // Grows a set of nets through the parts that pass; it never goes on from a net of `stop`.
    void spread(Nets& nets, const std::function<bool(const Part&)>& pass, const Nets& stop) const {
        for (bool grew = true; grew;) {
            grew = false;
            for (const Part& p : chassis_.parts()) {
                if (!pass(p)) continue;
                for (const std::vector<int>& g : groups(p)) {
                    const bool touched = std::any_of(g.begin(), g.end(), [&](int l) {
                        const int n = p.leads[at(l)].net;
                        return n >= 0 && nets[at(n)] && (stop.empty() || !stop[at(n)]);
                    });
                    if (!touched) continue;
                    for (int l : g) {
                        const int n = p.leads[at(l)].net;
                        if (n < 0 || nets[at(n)] || (!stop.empty() && stop[at(n)])) continue;
                        nets[at(n)] = 1;
                        grew = true;
                    }
                }
            }
        }
    }

    // Least direct-current ohms from a set of nets; tubes and supply windings do not conduct. blocked: never through a
    // return.
    std::vector<double> ohms_from(const Nets& sources, bool blocked) const {
        std::vector<double> best(chassis_.nets().size(), std::numeric_limits<double>::infinity());
        using Entry = std::pair<double, int>;
        std::priority_queue<Entry, std::vector<Entry>, std::greater<>> queue;
        for (std::size_t n = 0; n < sources.size(); ++n)
            if (sources[n]) {
                best[n] = 0;
                queue.push({0, static_cast<int>(n)});
            }
        while (!queue.empty()) {
            const auto [d, net] = queue.top();
            queue.pop();
            if (d > best[at(net)] || (blocked && returns_[at(net)])) continue;
            for (const LeadRef& ref : chassis_.nets()[at(net)].leads) {
                const Part& p = chassis_.parts()[at(ref.part)];
                if (p.kind == PartKind::socket || p.kind == PartKind::lamp) continue;
                double r = p.ohms.value_or(0);
                for (const std::vector<int>& g : groups(p)) {
                    if (std::find(g.begin(), g.end(), ref.lead) == g.end()) continue;
                    if (p.kind == PartKind::transformer) {
                        const PartWinding& w = winding_of(p, ref.lead);
                        if (w.role == WindingRole::primary || w.role == WindingRole::plate ||
                            w.role == WindingRole::heater || w.role == WindingRole::rectifier_heater)
                            continue;
                        r = 0;
                        for (double o : w.ohms) r += o;
                    }
                    for (int l : g) {
                        const int to = p.leads[at(l)].net;
                        if (to < 0 || l == ref.lead) continue;
                        if (d + r < best[at(to)]) {
                            best[at(to)] = d + r;
                            queue.push({d + r, to});
                        }
                    }
                }
            }
        }
        return best;
    }

    const PartWinding& winding_of(const Part& p, int lead) const {
        for (const PartWinding& w : p.windings)
            if (std::find(w.leads.begin(), w.leads.end(), lead) != w.leads.end()) return w;
        return p.windings.front();
    }

    static bool on_any(const Part& p, const Nets& set) {
        return std::any_of(p.leads.begin(), p.leads.end(), [&](const Lead& l) { return l.net >= 0 && set[at(l.net)]; });
    }
    bool between_returns(const Part& p) const {
        return p.leads.size() > 1 && p.leads[0].net >= 0 && p.leads[1].net >= 0 && p.leads[0].net != p.leads[1].net &&
               returns_[at(p.leads[0].net)] && returns_[at(p.leads[1].net)];
    }
    bool shares_net(const Part& p, const Part& n) const {
        for (const Lead& l : p.leads)
            for (const Lead& m : n.leads)
                if (l.net >= 0 && l.net == m.net && !returns_[at(l.net)]) return true;
        return false;
    }
    // Capacitors whose short sends current through the part: on its end that is farther from the rectifier (either end
    // where neither is fed).
    Ids causes(const Part& p, const std::vector<double>& from_rectifier) const {
        double farthest = -1;
        for (const Lead& l : p.leads)
            if (l.net >= 0 && !returns_[at(l.net)] && from_rectifier[at(l.net)] > farthest)
                farthest = from_rectifier[at(l.net)];
        Ids out;
        for (const Lead& l : p.leads) {
            if (l.net < 0 || returns_[at(l.net)] || from_rectifier[at(l.net)] < farthest) continue;
            for (const LeadRef& ref : chassis_.nets()[at(l.net)].leads)
                if (chassis_.parts()[at(ref.part)].kind == PartKind::capacitor)
                    out.insert(chassis_.parts()[at(ref.part)].id);
        }
        return out;
    }

    const Chassis& chassis_;
    const Catalogue& catalogue_;
    Nets returns_;
};

}  // namespace

Concern concern_of(const Chassis& chassis, const Catalogue& catalogue) {
    return Map(chassis, catalogue).read();
}

}  // namespace tubewright
