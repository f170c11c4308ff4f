// SPDX-License-Identifier: MIT
// See copper.hpp.
#include "choice/copper.hpp"

#include <algorithm>
#include <array>
#include <vector>

#include "chassis/graph.hpp"

namespace tubewright::choice {
namespace {

std::size_t at(int i) {
    return static_cast<std::size_t>(i);
}

/// In service about 5 A/mm2 inside a chassis (common practice, no source); the fuse by the rule for small wires in
/// buildings, 7, 10, 15, 20 and 30 A for 18 to 10 AWG (NEC 240.4(D), recalled).
constexpr std::array gauges{Copper{1.5, 0, "22 AWG (0.35 mm2)"}, Copper{3, 0, "20 AWG (0.5 mm2)"},
                            Copper{5, 7, "18 AWG (0.8 mm2)"},    Copper{8, 10, "16 AWG (1.3 mm2)"},
                            Copper{13, 15, "14 AWG (2 mm2)"},    Copper{16, 20, "12 AWG (3.3 mm2)"},
                            Copper{26, 30, "10 AWG (5.3 mm2)"}};
constexpr double battery_fuse = 10;  // amperes, where no fuse tells them (assumed)

bool from_line(const Chassis& chassis) {
    return chassis.family() != Family::vehicle && chassis.family() != Family::battery;
}

const Copper& thinnest(double amps, double fuse_amps) {
    const auto found = std::find_if(gauges.begin(), gauges.end(),
                                    [&](const Copper& c) { return amps <= c.amps && fuse_amps <= c.fuse_amps; });
    return found == gauges.end() ? gauges.back() : *found;
}

/// An end on the switch, the fuse, the cord, the plug or the battery: all of the set's amperes.
bool carries_all(const Chassis& chassis, const Part& lead) {
    const auto on_source = [&](const LeadRef& ref) {
        const Part& p = chassis.parts()[at(ref.part)];
        return p.kind == PartKind::power_switch || p.kind == PartKind::fuse || p.kind == PartKind::cord ||
               (p.kind == PartKind::plug && p.role != "speaker") || p.kind == PartKind::battery;
    };
    return std::any_of(lead.leads.begin(), lead.leads.end(), [&](const Lead& l) {
        return l.net >= 0 &&
               std::any_of(chassis.nets()[at(l.net)].leads.begin(), chassis.nets()[at(l.net)].leads.end(), on_source);
    });
}

/// As good as wired to a blade or the primary, and not by way of the metal or B-minus alone.
bool beside_a_blade(const Chassis& chassis, const Part& lead) {
    const NodeRoles& r = chassis.nodes();
    std::vector<bool> returns(chassis.nets().size());
    for (const int net : {r.chassis_metal, r.b_minus, r.earth, chassis.reference()})
        if (net >= 0) returns[at(net)] = true;
    std::vector<int> blades;
    for (const int net : {r.line_hot, r.line_neutral})
        if (net >= 0 && !returns[at(net)]) blades.push_back(net);
    for (const Part& p : chassis.parts())
        for (const PartWinding& w : p.windings)
            if (w.role == WindingRole::primary)
                for (const int l : w.leads)
                    if (p.leads[at(l)].net >= 0) blades.push_back(p.leads[at(l)].net);
    const PartGraph wires(chassis.parts(), static_cast<int>(chassis.nets().size()), Through::short_wire);
    const std::vector<bool> reached = wires.reached(blades, returns);
    return std::all_of(lead.leads.begin(), lead.leads.end(),
                       [&](const Lead& l) { return l.net >= 0 && (reached[at(l.net)] || returns[at(l.net)]); }) &&
           std::any_of(lead.leads.begin(), lead.leads.end(),
                       [&](const Lead& l) { return reached[at(l.net)] && !returns[at(l.net)]; });
}

/// A pole of a battery that is not the metal, or what a fuse alone parts from it.
bool at_a_battery(const Chassis& chassis, int net, bool through_fuse) {
    if (net < 0 || net == chassis.reference()) return false;
    const auto& there = chassis.nets()[at(net)].leads;
    return std::any_of(there.begin(), there.end(), [&](const LeadRef& ref) {
        const Part& q = chassis.parts()[at(ref.part)];
        return q.kind == PartKind::battery || (through_fuse && q.kind == PartKind::fuse &&
                                               std::any_of(q.leads.begin(), q.leads.end(), [&](const Lead& l) {
                                                   return l.net != net && at_a_battery(chassis, l.net, false);
                                               }));
    });
}

bool at_line_volts(const Chassis& chassis, const Duties& duties, const Part& lead) {
    if (!from_line(chassis)) return false;
    const bool on = std::any_of(lead.leads.begin(), lead.leads.end(),
                                [&](const Lead& l) { return l.net >= 0 && duties.line[at(l.net)]; });
    return on && (carries_all(chassis, lead) || beside_a_blade(chassis, lead));
}

}  // namespace

double battery_fuse_amps(const Chassis& chassis) {
    double most = 0;
    for (const Part& p : chassis.parts())
        if (p.kind == PartKind::fuse && p.rated_amps) most = std::max(most, *p.rated_amps);
    return most > 0 ? most : battery_fuse;
}

const Copper* guarded_copper(const Chassis& chassis, const Duties& duties, const Part& lead) {
    if (lead.kind != PartKind::wire) return nullptr;
    if (at_line_volts(chassis, duties, lead)) return &thinnest(0, gauges[2].fuse_amps);
    if (from_line(chassis) || !carries_all(chassis, lead)) return nullptr;
    return &thinnest(0, battery_fuse_amps(chassis));
}

const Copper& copper_of(const Chassis& chassis, const Duties& duties, const Part& lead, double amps) {
    const Copper* least = guarded_copper(chassis, duties, lead);
    return thinnest(amps, least ? least->fuse_amps : 0);
}

bool battery_lead(const Chassis& chassis, const Duties& duties, const Part& lead) {
    return !at_line_volts(chassis, duties, lead) &&
           std::any_of(lead.leads.begin(), lead.leads.end(),
                       [&](const Lead& l) { return at_a_battery(chassis, l.net, true); });
}

}  // namespace tubewright::choice
