// SPDX-License-Identifier: MIT
// The graph half of the trace audit: what can be seen in a trace without solving it. One function a group of rules;
// each finding says why it matters and what to look at on the chassis. What is declared untraced is not complained of.
// Tests: tests/audit/graph_test.cpp.
#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <tuple>

#include <tubewright/audit.hpp>

#include "audit/findings.hpp"
#include "audit/heaters.hpp"
#include "audit/numbers.hpp"
#include "audit/wording.hpp"
#include "chassis/data.hpp"
#include "chassis/earth.hpp"
#include "chassis/reach.hpp"
#include "terms/near.hpp"

namespace tubewright {
namespace {

using audit::at;
using audit::Conductor;
using audit::Electrode;
using audit::fill;
using audit::Findings;
using audit::HeaterPath;
using audit::PinElectrode;
using audit::place_of;
using audit::Rule;
using audit::Trace;
using audit::Unit;

// Common practice, no source: where a value stops being one that somebody chose.
constexpr double pi = 3.14159265358979;
constexpr double least_audio_coupler = 1e-9, highest_audio_corner = 500;  ///< cycles

bool known_word(const Net& net) {
    return !net.name.empty() && net.name.find('.') == std::string::npos;
}

std::string soldered_list(const Trace& trace, int net, LeadRef except, std::size_t most = 4) {
    std::string text;
    std::size_t count = 0;
    for (const LeadRef ref : trace.net(net).leads) {
        if (ref == except) continue;
        if (count < most) text += (count == 0 ? "" : ", ") + trace.chassis().lead_name(ref);
        ++count;
    }
    if (count > most) text += fill(" and {} more", {std::to_string(count - most)});
    return text;
}

// --- Leads and parts
// ---------------------------------------------------------------------------------------------------------------------------

void lone_leads(const Trace& trace, Findings& findings) {
    std::vector<std::string_view> words;
    for (const Net& net : trace.chassis().nets()) {
        if (known_word(net) && net.leads.size() > 1) words.push_back(net.name);
    }
    const int parts = static_cast<int>(trace.chassis().parts().size());
    for (int p = 0; p < parts; ++p) {
        const Part& part = trace.part(p);
        if (part.kind == PartKind::socket || part.kind == PartKind::strip || part.kind == PartKind::plug ||
            part.kind == PartKind::untraced || part.kind == PartKind::wire || part.kind == PartKind::cord)
            continue;
        for (std::size_t i = 0; i < part.leads.size(); ++i) {
            const Lead& lead = part.leads[i];
            const bool optional = lead.name == "tap";
            bool winding_tap = false, supply_tap = false;
            Severity of_tap = Severity::doubt;
            for (const PartWinding& winding : part.windings) {
                // of taps for 4, 8 and 16 ohm one is used, and it may be any
                const bool of_load =
                    winding.role == WindingRole::output_secondary && winding.leads.size() > 2 &&
                    std::find(winding.leads.begin(), winding.leads.end(), static_cast<int>(i)) != winding.leads.end();
                winding_tap = winding_tap || of_load;
                if (of_load || winding.leads.size() != 3 || winding.leads[1] != static_cast<int>(i)) continue;
                // What the rectifier, or a push-pull stage, draws comes through these taps; the others may stay free.
                const bool plate = winding.role == WindingRole::plate;
                (plate || winding.role == WindingRole::output_primary ? supply_tap : winding_tap) = true;
                if (plate) of_tap = Severity::stop;
            }
            // A plate winding's tap makes its net the return of B-plus, but nothing returns where nothing else ends.
            const bool alone = supply_tap && lead.net >= 0 && trace.net(lead.net).leads.size() == 1;
            if (lead.net < 0 || lead.unknown || (trace.joined(lead.net) > 1 && !alone)) continue;
            const LeadRef ref{p, static_cast<int>(i)};
            const std::string others = soldered_list(trace, lead.net, ref);
            const Net& net = trace.net(lead.net);
            std::string message = others.empty() ? fill("{} is alone on its net", {trace.chassis().lead_name(ref)})
                                                 : fill("{} goes to {}, where nothing else ends",
                                                        {trace.chassis().lead_name(ref), others});
            if (known_word(net) && others.empty()) {
                const std::string near = nearest(net.name, words);
                message += fill(": the word \"{}\" is used once{}",
                                {net.name, near.empty() ? std::string() : ", and \"" + near + "\" is near"});
            }
            message += supply_tap ? "; the current of B-plus has no other way back" : "; no current can flow in it";
            const Severity severity = supply_tap                                ? of_tap
                                      : optional || winding_tap || lead.unknown ? Severity::note
                                                                                : Severity::doubt;
            findings.add(
                {tw::lone_lead, "lone-lead", severity}, place_of(part, static_cast<int>(i)), {p}, {lead.net}, message,
                fill("follow that end of {}: where is it soldered, and what else is on that lug; a terminal to "
                     "the outside is called so (location=\"phones terminal\")",
                     {part.id}));
        }
    }
}

/// Words that the file uses once, on a wire or in a join: the place they should name is called otherwise.
void lone_words(const Trace& trace, Findings& findings) {
    const Chassis::Data& data = trace.chassis().data();
    std::vector<std::string_view> words;
    for (int n = 0; n < data.names.size(); ++n)
        if (data.name_uses[at(n)] > 1 && data.names.text(n).find('.') == std::string_view::npos)
            words.push_back(data.names.text(n));
    for (int n = 0; n < data.names.size(); ++n) {
        const std::string_view word = data.names.text(n);
        if (data.name_uses[at(n)] != 1 || data.on_lead[at(n)] || word.find('.') != std::string_view::npos ||
            audit::names_a_terminal(word))
            continue;
        const int net = data.net_of_name[at(n)];
        const NodeRoles& roles = trace.chassis().nodes();
        if (net >= 0 && (trace.bottom(net) || net == roles.line_hot || net == roles.line_neutral || net == roles.earth))
            continue;
        const std::string near = nearest(std::string(word), words);
        // a join may give a lone pin a name of its own, and no harm done
        const std::span<const LeadRef> on = net < 0 ? std::span<const LeadRef>() : trace.net(net).leads;
        const bool wire = std::any_of(on.begin(), on.end(), [&](LeadRef ref) { return data.written(ref) == word; });
        if (!wire && near.empty()) continue;
        findings.add({tw::lone_lead, "lone-lead", Severity::doubt}, net < 0 ? Place{} : trace.net(net).place, {}, {net},
                     fill("the word \"{}\" is used once, on a wire or in a join: it brings nothing there{}",
                          {std::string(word), near.empty() ? std::string() : "; \"" + near + "\" is near"}),
                     "the word that the other end is called by");
    }
}

void both_ends(const Trace& trace, Findings& findings) {
    const int parts = static_cast<int>(trace.chassis().parts().size());
    for (int p = 0; p < parts; ++p) {
        const Part& part = trace.part(p);
        const bool two_ended = part.kind == PartKind::capacitor || part.kind == PartKind::resistor ||
                               part.kind == PartKind::control || part.kind == PartKind::coil ||
                               part.kind == PartKind::lamp || part.kind == PartKind::fuse ||
                               part.kind == PartKind::power_switch || part.kind == PartKind::speaker;
        // bridged, it leaves the line, or itself, on a short
        if ((part.kind == PartKind::rectifier || part.kind == PartKind::battery) && part.leads.size() == 2 &&
            part.leads[0].net >= 0 && part.leads[0].net == part.leads[1].net)
            findings.add(
                {tw::both_ends_one_net, "both-ends-on-one-net", Severity::stop}, place_of(part, 1), {p},
                {part.leads[0].net},
                fill(part.kind == PartKind::battery
                         ? "both ends of {} are on {}: as traced it feeds a short"
                         : "both ends of {} are on {}: as traced alternating volts go past it, into the filter",
                     {part.id, trace.net(part.leads[0].net).name}),
                fill("the two lugs of {}, and what is soldered to each", {part.id}));
        if (two_ended && part.leads.size() >= 2) {
            // A control's ends are its first and last lead; its wiper may sit on either of them.
            int first = part.lead("a") >= 0 ? part.lead("a") : 0;
            int last = part.lead("b") >= 0 ? part.lead("b") : (part.lead("minus") >= 0 ? part.lead("minus") : 1);
            const int net = part.leads[at(first)].net;
            if (net >= 0 && net == part.leads[at(last)].net)
                findings.add({tw::both_ends_one_net, "both-ends-on-one-net", Severity::doubt}, place_of(part, last),
                             {p}, {net},
                             fill("both ends of {} are on {}: it does nothing there", {part.id, trace.net(net).name}),
                             fill("which lugs the two ends of {} are really on; whether two words were joined that are "
                                  "not the same",
                                  {part.id}));
        }
        for (const PartWinding& winding : part.windings) {
            if (winding.leads.size() < 2) continue;
            const int begins = part.leads[at(winding.leads.front())].net,
                      ends = part.leads[at(winding.leads.back())].net;
            if (winding.leads.size() > 2 && begins >= 0 && begins == ends && part.role == "power")
                findings.add({tw::both_ends_one_net, "both-ends-on-one-net", Severity::stop},
                             winding.place.line > 0 ? winding.place : part.place, {p}, {begins},
                             fill("both outer ends of the {} winding of {} are on {}: as traced all of it is shorted",
                                  {winding.name, part.id, trace.net(begins).name}),
                             fill("its two outer leads on {}: one of them belongs on another pin", {part.id}));
            for (std::size_t i = 0; i + 1 < winding.leads.size(); ++i) {
                const int net = part.leads[at(winding.leads[i])].net;
                if (net < 0 || net != part.leads[at(winding.leads[i + 1])].net) continue;
                const bool power =
                    part.role == "power" || winding.role == WindingRole::primary || winding.role == WindingRole::plate;
                findings.add({tw::both_ends_one_net, "both-ends-on-one-net", power ? Severity::stop : Severity::doubt},
                             winding.place.line > 0 ? winding.place : part.place, {p}, {net},
                             fill("the {} winding of {} begins and ends on {}: as traced it is a dead short",
                                  {winding.name, part.id, trace.net(net).name}),
                             fill("the two leads of that winding of {}, by colour and by ohms", {part.id}));
            }
        }
    }
}

/// A field across B-plus, fed by itself: what else hangs on B-plus there is fed past it.
bool shunt_field(const Trace& trace, int field, int b_plus) {
    if (trace.part(field).role != "field") return false;
    if (trace.chassis().family() != Family::ac_transformer) return true;  // on a section of the rectifier of its own
    const std::span<const LeadRef> on = trace.net(b_plus).leads;
    return std::any_of(on.begin(), on.end(), [&](LeadRef ref) {
        const Part& part = trace.part(ref.part);
        if (part.kind == PartKind::socket) return part.type == nullptr || !part.type->is_rectifier();
        return ref.part != field && part.role != "power" &&
               (part.kind == PartKind::resistor || part.kind == PartKind::transformer || part.kind == PartKind::coil ||
                part.kind == PartKind::untraced);
    });
}

/// A resistor that bears the whole of B-plus within its marked watts was put there as a load. Nothing is solved here:
/// B-plus is taken as .9 of the plate winding, which a choke input gives at least, or without one as what a half-wave
/// rectifier on the line gives under load.
bool load_by_its_watts(const Trace& trace, const Part& resistor) {
    if (!resistor.ohms) return false;
    constexpr double of_winding = 0.9, of_line = 1.2;
    constexpr double unmarked_watts = 10;  // a wirewound that nobody read (assumed)
    double volts = 0;
    for (const Part& part : trace.chassis().parts())
        for (const PartWinding& winding : part.windings) {
            if (winding.role != WindingRole::plate) continue;
            const double marked = winding.noload_volts.empty() ? 0.0 : winding.noload_volts.front();
            volts = std::max(volts, of_winding * std::max(marked, winding.volts.value_or(0)));
        }
    if (volts <= 0) volts = of_line * trace.chassis().line().volts;
    return volts * volts <= resistor.rated_watts.value_or(unmarked_watts) * *resistor.ohms;
}

/// What the rectifier delivers ends on the bottom of the set through chokes, or a resistor of the filter, alone.
void shorted_supply(const Trace& trace, Findings& findings) {
    constexpr double most_filter_ohms = 3300;  // bleeders and dividers have more (common practice, no source)
    const auto report = [&](int part, int net) {
        findings.add(
            {tw::supply_shorted, "supply-shorted", Severity::stop}, trace.part(part).place, {part}, {net},
            fill("{} gives what it delivers straight to {}, the bottom of the set: the rectifier feeds a short",
                 {trace.part(part).id, trace.net(net).name}),
            "what joins B-plus and its return there: a wire, a lug that serves both, a word used twice");
    };
    for (const Conductor& path : trace.conductors())
        for (const auto& [from, to] : {std::pair{path.a, path.b}, {path.b, path.a}})
            if (trace.b_plus(from) && trace.bottom(to) &&
                ((path.choke && !shunt_field(trace, path.part, from)) ||
                 (trace.part(path.part).kind == PartKind::resistor && path.winding < 0 &&
                  trace.part(path.part).ohms.value_or(most_filter_ohms) < most_filter_ohms &&
                  !load_by_its_watts(trace, trace.part(path.part)))))
                report(path.part, to);
    for (int p = 0; p < static_cast<int>(trace.chassis().parts().size()); ++p)
        for (const PinElectrode& pin : trace.electrodes(p)) {
            const Part& socket = trace.part(p);
            const int net = socket.leads[at(pin.lead)].net;
            if (pin.electrode != Electrode::cathode || !audit::rectifies(socket, pin) || !trace.bottom(net)) continue;
            const std::vector<PinElectrode>& all = trace.electrodes(p);
            const bool driven = std::any_of(all.begin(), all.end(), [&](const PinElectrode& plate) {
                return plate.electrode == Electrode::rectifier_plate && plate.unit == pin.unit &&
                       trace.alternating(socket.leads[at(plate.lead)].net);
            });
            const bool one_cathode = std::count_if(all.begin(), all.end(), [&](const PinElectrode& k) {
                                         return k.electrode == Electrode::cathode;
                                     }) == 1;
            if (driven || (one_cathode && !trace.has_rectifier() && trace.chassis().family() == Family::ac_transformer))
                report(p, net);
        }
}

void sections_adrift(const Trace& trace, Findings& findings) {
    const Chassis& chassis = trace.chassis();
    audit::Groups joined(chassis.nets().size());
    const auto join_leads = [&](const Part& part, const std::vector<int>& leads) {
        for (std::size_t i = 0; i + 1 < leads.size(); ++i)
            joined.join(part.leads[at(leads[i])].net, part.leads[at(leads[i + 1])].net);
    };
    for (std::size_t p = 0; p < chassis.parts().size(); ++p) {
        const Part& part = chassis.parts()[p];
        if (part.kind == PartKind::strip || part.kind == PartKind::plug || part.kind == PartKind::cord ||
            part.kind == PartKind::untraced)
            continue;
        if (part.kind == PartKind::transformer) {
            for (const PartWinding& winding : part.windings) join_leads(part, winding.leads);
        } else if (part.kind == PartKind::socket) {
            int before = -1;
            for (const PinElectrode& pin : trace.electrodes(static_cast<int>(p))) {
                if (pin.electrode == Electrode::unused || pin.electrode == Electrode::internal) continue;
                const int net = part.leads[at(pin.lead)].net;
                if (before >= 0) joined.join(before, net);
                if (net >= 0) before = net;
            }
        } else {
            for (std::size_t i = 0; i + 1 < part.leads.size(); ++i)
                joined.join(part.leads[i].net, part.leads[i + 1].net);
        }
    }
    const int nets = static_cast<int>(chassis.nets().size());
    std::set<int> grounded;
    bool any = false;
    for (int net = 0; net < nets; ++net) {
        const bool line = net == chassis.nodes().line_hot || net == chassis.nodes().line_neutral;
        const bool untraced = std::any_of(trace.net(net).leads.begin(), trace.net(net).leads.end(),
                                          [&](LeadRef ref) { return trace.part(ref.part).kind == PartKind::untraced; });
        if (trace.bottom(net)) any = true;
        if (trace.bottom(net) || line || untraced) grounded.insert(joined.of(net));
    }
    if (!any) return;
    std::map<int, std::vector<int>> members;  // group -> parts, each once, in part order
    for (std::size_t p = 0; p < chassis.parts().size(); ++p) {
        const Part& part = chassis.parts()[p];
        if (part.kind != PartKind::socket && part.kind != PartKind::capacitor && part.kind != PartKind::resistor &&
            part.kind != PartKind::control)
            continue;
        for (std::size_t i = 0; i < part.leads.size(); ++i) {
            const Lead& lead = part.leads[i];
            if (lead.net < 0 || grounded.count(joined.of(lead.net)) != 0) continue;
            if (part.kind == PartKind::socket && !trace.soldered(part, static_cast<int>(i))) continue;
            std::vector<int>& list = members[joined.of(lead.net)];
            if (list.empty() || list.back() != static_cast<int>(p)) list.push_back(static_cast<int>(p));
        }
    }
    for (const auto& [group, list] : members) {
        // A tuned circuit alone may float; what a tube hangs on, or a lone lead already named, is another matter.
        const bool tube =
            std::any_of(list.begin(), list.end(), [&](int p) { return trace.part(p).kind == PartKind::socket; });
        if (!tube && list.size() < 2) continue;
        std::string names;
        for (std::size_t i = 0; i < list.size() && i < 6; ++i) names += (i == 0 ? "" : ", ") + trace.part(list[i]).id;
        if (list.size() > 6) names += fill(" and {} more", {std::to_string(list.size() - 6)});
        std::vector<int> first(list.begin(),
                               list.begin() + static_cast<std::ptrdiff_t>(std::min<std::size_t>(list.size(), 6)));
        findings.add({tw::section_adrift, "section-adrift", Severity::doubt}, trace.part(list.front()).place, first, {},
                     fill("nothing joins {} to the chassis or B-minus, not even a capacitor: a lead of this section is "
                          "missing from the trace",
                          {names}),
                     "the ground lug of this stage, and the lead that brings it B-plus");
    }
}

// --- Tubes
// -------------------------------------------------------------------------------------------------------------------------------------

bool nothing_soldered(const Trace& trace, const Part& part, const PinElectrode& pin) {
    return !trace.soldered(part, pin.lead);
}

/// A doubler's second half hangs on the line, or on a winding, by the first capacitor.
bool fed_by_capacitor(const Trace& trace, int net) {
    constexpr double least = 1e-6;
    if (net < 0) return false;
    const NodeRoles& roles = trace.chassis().nodes();
    for (const LeadRef ref : trace.net(net).leads) {
        const Part& part = trace.part(ref.part);
        if (part.kind != PartKind::capacitor || part.farads.value_or(0) < least || part.leads.size() != 2) continue;
        const int other = part.leads[at(1 - ref.lead)].net;
        if (trace.same_direct(other, roles.line_hot) || trace.same_direct(other, roles.line_neutral)) return true;
        for (const Conductor& path : trace.conductors())
            if (path.winding >= 0 && trace.same_direct(other, path.a) &&
                trace.part(path.part).windings[at(path.winding)].role == WindingRole::plate)
                return true;
    }
    return false;
}

/// Plates and screens on one net that B-plus does not reach: one row, however many hang there.
struct Unsupplied {
    Place place;
    std::vector<int> parts;
    std::vector<std::string> names;
    bool plate = false, anode_grid = false, bare = false;
};

void unsupplied(const std::map<int, Unsupplied>& nets, Findings& findings) {
    for (const auto& [net, one] : nets) {
        std::string names;
        for (std::size_t i = 0; i < one.names.size(); ++i)
            names += (i == 0 ? "" : i + 1 == one.names.size() ? " and " : ", ") + one.names[i];
        findings.add(one.plate ? Rule{tw::plate_without_supply, "plate-without-supply", Severity::doubt}
                               : Rule{tw::screen_without_supply, "screen-without-supply", Severity::doubt},
                     one.place, one.parts, {net},
                     fill("no direct-current path from {} to B-plus: the tube{} cannot draw current{}",
                          {names, one.parts.size() > 1 ? "s" : "", one.bare ? "; nothing is soldered to it" : ""}),
                     one.plate        ? "the plate load of this tube, from the plate pin to B-plus"
                     : one.anode_grid ? "the feed of the oscillator, from this pin through its coil to B-plus"
                                      : "the dropping resistor of this screen, from the pin to B-plus");
    }
}

/// A tube without a grid that the tables do not call a rectifier (6H6): its plates want no supply.
bool only_diodes(const Part& socket) {
    return socket.type != nullptr && socket.type->tube_class.find("diode") != std::string::npos &&
           std::none_of(socket.type->pins.begin(), socket.type->pins.end(), [](const Pin& pin) {
               return std::any_of(pin.electrodes.begin(), pin.electrodes.end(),
                                  [](const std::string& e) { return e.starts_with("g"); });
           });
}

void tube_units(const Trace& trace, Findings& findings) {
    std::map<int, Unsupplied> without;  // by net
    for (const Unit& unit : trace.units()) {
        const Part& socket = trace.part(unit.part);
        // A pin that is an end of the filament too says nothing of the unit.
        const auto of_filament = [&](const PinElectrode& pin) {
            const std::vector<PinElectrode>& all = trace.electrodes(unit.part);
            return std::any_of(all.begin(), all.end(), [&](const PinElectrode& one) {
                return one.lead == pin.lead &&
                       (one.electrode == Electrode::heater || one.electrode == Electrode::heater_tap);
            });
        };
        const bool idle = std::all_of(unit.pins.begin(), unit.pins.end(), [&](const PinElectrode& pin) {
            return nothing_soldered(trace, socket, pin) || of_filament(pin);
        });
        if (trace.parked(unit)) {
            findings.add({tw::unit_not_used, "unit-not-used", Severity::note}, socket.place, {unit.part}, {},
                         fill("unit {} of {} ({}) is tied to the bottom of the set whole: not used",
                              {unit.name, socket.id, socket.tube}),
                         "that it was meant so");
            continue;
        }
        if (idle) {
            findings.add({tw::unit_not_used, "unit-not-used", Severity::note}, socket.place, {unit.part}, {},
                         fill("nothing is soldered to {} of {} ({})",
                              {unit.name.empty() ? "the electrodes" : "unit " + unit.name, socket.id, socket.tube}),
                         "whether that part of the trace is still to come");
            continue;
        }
        std::vector<int> cathodes;
        for (const PinElectrode& pin : unit.pins) {
            if (pin.electrode == Electrode::cathode) cathodes.push_back(socket.leads[at(pin.lead)].net);
        }
        if (cathodes.empty()) {
            for (const PinElectrode& pin : trace.electrodes(unit.part)) {
                if (pin.electrode == Electrode::heater) cathodes.push_back(socket.leads[at(pin.lead)].net);
            }
        }
        int done = -1;  // two grids joined inside are one pin
        for (const PinElectrode& pin : unit.pins) {
            if (pin.electrode == Electrode::screen && pin.lead == done) continue;
            if (pin.electrode == Electrode::screen) done = pin.lead;
            const int net = socket.leads[at(pin.lead)].net;
            const std::string name = trace.pin_name(unit.part, pin);
            const bool bare = nothing_soldered(trace, socket, pin);
            const std::string bare_text = bare ? "; nothing is soldered to it" : "";
            const Place& place = place_of(socket, pin.lead);
            if (net >= 0 && trace.untraced_near(net)) continue;
            switch (pin.electrode) {
                case Electrode::plate:
                case Electrode::screen: {
                    if (!trace.has_rectifier() || trace.reaches_b_plus(net)) break;
                    if (trace.supplied_by_tube(net, &unit)) break;
                    if (trace.below_bottom(net) || only_diodes(socket)) break;
                    // a pin on no net at all is a row of its own
                    Unsupplied& row = without[net >= 0 ? net : -1 - static_cast<int>(without.size())];
                    if (row.parts.empty()) {
                        row.place = place;
                        row.bare = bare;
                        row.anode_grid = audit::is_anode_grid(socket, pin);
                    }
                    row.plate = row.plate || pin.electrode == Electrode::plate;
                    if (row.parts.empty() || row.parts.back() != unit.part) row.parts.push_back(unit.part);
                    if (std::find(row.names.begin(), row.names.end(), name) == row.names.end())
                        row.names.push_back(name);
                    break;
                }
                case Electrode::control_grid:
                case Electrode::suppressor:
                case Electrode::diode: {
                    if (of_filament(pin)) break;
                    // a grid on the plate before it is returned over that plate's load
                    bool back = trace.reaches_bottom(net) || trace.reaches_b_plus(net);
                    for (const int cathode : cathodes)
                        back = back || (net >= 0 && (net == cathode || trace.same_direct(net, cathode)));
                    if (back) break;
                    if (bare && pin.electrode == Electrode::diode) {
                        findings.add({tw::unit_not_used, "unit-not-used", Severity::note}, place, {unit.part}, {},
                                     fill("nothing is soldered to {}", {name}), "whether it is tied to its neighbour");
                        break;
                    }
                    // an output tube with a grid that drifts burns, and its transformer with it
                    const bool power = socket.type->tube_class.find("power") != std::string::npos;
                    findings.add(
                        {tw::grid_without_return, "grid-without-return", power ? Severity::stop : Severity::doubt},
                        place, {unit.part}, {net},
                        fill(
                            "no direct-current path from {} to its cathode circuit: it drifts where leakage takes it{}",
                            {name, bare_text}),
                        "the grid leak, or the coil that returns this grid");
                    break;
                }
                case Electrode::cathode: {
                    if (audit::rectifies(socket, pin)) {
                        const bool plate_used =
                            std::any_of(unit.pins.begin(), unit.pins.end(), [&](const PinElectrode& plate) {
                                return plate.electrode == Electrode::rectifier_plate &&
                                       trace.soldered(socket, plate.lead);
                            });
                        if (bare && plate_used)
                            findings.add(
                                {tw::cathode_without_return, "cathode-without-return", Severity::stop}, place,
                                {unit.part}, {net},
                                fill("nothing is soldered to {}: what this rectifier gives goes nowhere", {name}),
                                "the lead from this pin to the first filter");
                        for (const PinElectrode& plate : unit.pins)
                            if (plate.electrode == Electrode::rectifier_plate && net >= 0 &&
                                socket.leads[at(plate.lead)].net == net)
                                findings.add(
                                    {tw::pin_in_conflict, "pin-in-conflict", Severity::stop}, place, {unit.part}, {net},
                                    fill("{} and {} are one net ({}): the rectifier is bridged, and alternating "
                                         "volts go straight into the filter",
                                         {name, trace.pin_name(unit.part, plate), trace.net(net).name}),
                                    "the plate and cathode pins of this socket, counted from below");
                        break;
                    }
                    if (trace.reaches_bottom(net) || trace.returned_by_tube(net)) break;
                    bool any_bottom = trace.chassis().reference() >= 0;
                    if (!any_bottom) break;
                    findings.add({tw::cathode_without_return, "cathode-without-return", Severity::doubt}, place,
                                 {unit.part}, {net},
                                 fill("no direct-current path from {} to B-minus: no current can flow in the tube{}",
                                      {name, bare_text}),
                                 "the cathode resistor, or the strap to the chassis");
                    break;
                }
                case Electrode::rectifier_plate: {
                    bool fed = false;
                    if (net >= 0) {
                        for (const LeadRef ref : trace.net(net).leads)
                            fed = fed || trace.part(ref.part).kind == PartKind::transformer;
                        const NodeRoles& roles = trace.chassis().nodes();
                        fed =
                            fed || trace.same_direct(net, roles.line_hot) || trace.same_direct(net, roles.line_neutral);
                        for (const Conductor& path : trace.conductors()) {
                            if (fed) break;
                            fed = path.winding >= 0 && trace.same_direct(net, path.a) &&
                                  (trace.part(path.part).windings[at(path.winding)].role == WindingRole::plate ||
                                   trace.part(path.part).role == "power");
                        }
                    }
                    fed = fed || fed_by_capacitor(trace, net) || trace.below_bottom(net) ||
                          (trace.bottom(net) && trace.lower_leg(unit.part, pin));
                    // a section of its own heater stands for the lamp that is out
                    const std::vector<PinElectrode>& own = trace.electrodes(unit.part);
                    fed = fed || (net >= 0 && std::any_of(own.begin(), own.end(), [&](const PinElectrode& other) {
                                      return (other.electrode == Electrode::heater ||
                                              other.electrode == Electrode::heater_tap) &&
                                             trace.same_direct(socket.leads[at(other.lead)].net, net);
                                  }));
                    if (fed) break;
                    // of two sections one may be left unused, where no winding waits for it
                    const bool other_used =
                        std::any_of(trace.electrodes(unit.part).begin(), trace.electrodes(unit.part).end(),
                                    [&](const PinElectrode& other) {
                                        return other.electrode == Electrode::rectifier_plate &&
                                               other.lead != pin.lead && trace.soldered(socket, other.lead);
                                    });
                    const bool winding_waits = std::any_of(
                        trace.chassis().parts().begin(), trace.chassis().parts().end(), [&](const Part& source) {
                            return std::any_of(source.windings.begin(), source.windings.end(),
                                               [&](const PartWinding& w) {
                                                   return w.role == WindingRole::plate &&
                                                          std::any_of(w.leads.begin(), w.leads.end(), [&](int lead) {
                                                              const int end = source.leads[at(lead)].net;
                                                              return end >= 0 && trace.joined(end) < 2;
                                                          });
                                               });
                        });
                    if (bare && other_used && !winding_waits && trace.chassis().family() != Family::ac_transformer) {
                        findings.add({tw::unit_not_used, "unit-not-used", Severity::note}, place, {unit.part}, {},
                                     fill("nothing is soldered to {}", {name}), "whether that section is left unused");
                        break;
                    }
                    findings.add({tw::rectifier_plate_not_fed, "rectifier-plate-not-fed", Severity::doubt}, place,
                                 {unit.part}, {net},
                                 fill("{} is on no winding and not on the line: that half of the supply is dead{}",
                                      {name, bare_text}),
                                 "the lead from the plate winding to this pin");
                    break;
                }
                default:
                    break;
            }
        }
    }
    unsupplied(without, findings);
}

/// What stands in the socket against what the diagram has there, unless somebody says what goes in.
void other_tube(const Trace& trace, const Catalogue& catalogue, int p, Findings& findings) {
    const Part& socket = trace.part(p);
    if (socket.documented.empty() || socket.found.empty() || !socket.fitted.empty() ||
        socket.found == socket.documented)
        return;
    if (socket.found == "none") {
        findings.add({tw::other_tube_found, "other-tube-found", Severity::doubt}, socket.place, {p}, {},
                     fill("{} was found empty and the diagram has type {} there: volts are of the set without it, the "
                          "plan buys it",
                          {socket.id, socket.documented}),
                     fill("fit {}, or write fitted=\"...\" for another, fitted=\"none\" if it is to stay out",
                          {socket.documented}));
        return;
    }
    const TubeType *meant = catalogue.tube(socket.documented), *there = catalogue.tube(socket.found);
    if (meant != nullptr && meant == there) return;  // another bulb of the same type
    const auto apart = [](const std::optional<double>& a, const std::optional<double>& b) {
        return a && b && std::fabs(*a - *b) > 0.05 * std::max(*a, *b);
    };
    std::string why;
    const auto also = [&](const std::string& more) { why += (why.empty() ? "" : ", ") + more; };
    if (meant != nullptr && there != nullptr) {
        if (meant->base != there->base) also("another base");
        if (apart(meant->heater_volts, there->heater_volts)) also("other heater volts");
        if (apart(meant->heater_amps, there->heater_amps))
            also("a heater of " + say(amps(*there->heater_amps)) + " for " + say(amps(*meant->heater_amps)));
        if (meant->tube_class != there->tube_class) also("another kind of tube");
    }
    findings.add({tw::other_tube_found, "other-tube-found", why.empty() ? Severity::doubt : Severity::stop},
                 socket.place, {p}, {},
                 fill("{} holds type {} and the diagram has type {} there{}",
                      {socket.id, socket.found, socket.documented, why.empty() ? "" : ": " + why}),
                 fill("which of the two belongs there: fit it and write fitted=\"{}\", or whichever it is",
                      {socket.documented}));
}

/// The one lead of a part that hangs on a free pin with nothing else; {-1, -1} where there are none or several, or
/// where it may well hang free.
LeadRef only_lead(const Trace& trace, int net, LeadRef pin) {
    LeadRef only{-1, -1};
    for (const LeadRef ref : trace.net(net).leads) {
        if (ref == pin) continue;
        const Part& on = trace.part(ref.part);
        if (on.kind == PartKind::strip || on.kind == PartKind::wire || on.kind == PartKind::cord) return {-1, -1};
        if (only.part >= 0) return {-1, -1};
        only = ref;
    }
    if (only.part < 0) return only;
    const Part& on = trace.part(only.part);
    for (const PartWinding& w : on.windings)
        if (w.leads.size() == 3 && w.leads[1] == only.lead && w.role != WindingRole::plate) return {-1, -1};
    const bool spare = on.kind == PartKind::socket || on.kind == PartKind::untraced ||
                       (on.kind == PartKind::control && on.leads[at(only.lead)].name == "wiper");
    return spare ? LeadRef{-1, -1} : only;
}

void sockets(const Trace& trace, const Catalogue& catalogue, Findings& findings) {
    const int parts = static_cast<int>(trace.chassis().parts().size());
    for (int p = 0; p < parts; ++p) {
        const Part& socket = trace.part(p);
        if (socket.kind != PartKind::socket) continue;
        other_tube(trace, catalogue, p, findings);
        if (socket.type == nullptr) {
            findings.add({tw::empty_socket, "empty-socket", Severity::note}, socket.place, {p}, {},
                         fill("{} has no tube in the trace; nothing can be said of its pins", {socket.id}),
                         "the label, the bulb, or the tube chart");
            continue;
        }
        for (const PinElectrode& pin : trace.electrodes(p)) {
            if (pin.electrode != Electrode::unused && pin.electrode != Electrode::internal) continue;
            if (nothing_soldered(trace, socket, pin)) continue;
            const int net = socket.leads[at(pin.lead)].net;
            const std::string others = soldered_list(trace, net, {p, pin.lead});
            if (pin.electrode == Electrode::internal) {
                findings.add({tw::tie_point, "tie-point", Severity::doubt}, place_of(socket, pin.lead), {p}, {net},
                             fill("{} has an inside connection of the {} on it and must stay free, but {} goes there",
                                  {trace.chassis().lead_name({p, pin.lead}), socket.type->type, others}),
                             "whether the socket was counted from the right pin, from below");
            } else if (const LeadRef only = only_lead(trace, net, {p, pin.lead}); only.part >= 0) {
                findings.add(
                    {tw::lone_lead, "lone-lead", Severity::doubt}, place_of(trace.part(only.part), only.lead),
                    {only.part, p}, {net},
                    fill(
                        "{} goes to {}, which a {} leaves free, and nothing else is there: no current can flow "
                        "in it",
                        {trace.chassis().lead_name(only), trace.chassis().lead_name({p, pin.lead}), socket.type->type}),
                    "the pin beside it: count again, from below");
            } else {
                findings.add({tw::tie_point, "tie-point", Severity::note}, place_of(socket, pin.lead), {p}, {net},
                             fill("the {} leaves {} free; it is a tie point for {}",
                                  {socket.type->type, trace.chassis().lead_name({p, pin.lead}), others}),
                             "that no other tube type is meant for this socket, one that uses the pin");
            }
        }
    }
}

/// Is a plate of this rectifier on the plate winding of this transformer, or free? A rectifier all of whose plates hang
/// elsewhere (bias, by its cathode from the winding) is another circuit.
bool plate_misses_winding(const Trace& trace, int rectifier, int transformer) {
    const Part& socket = trace.part(rectifier);
    const Part& source = trace.part(transformer);
    for (const PinElectrode& pin : trace.electrodes(rectifier)) {
        if (pin.electrode != Electrode::rectifier_plate) continue;
        const int net = socket.leads[at(pin.lead)].net;
        if (net < 0 || trace.net(net).leads.size() < 2) return true;
        for (const PartWinding& winding : source.windings) {
            if (winding.role != WindingRole::plate) continue;
            for (const int lead : winding.leads)
                if (source.leads[at(lead)].net == net && !trace.bottom(net)) return true;
        }
    }
    return false;
}

/// The cathode of this grid's unit stands on so many ohms that its grid may stand on a plate: a direct-coupled stage.
bool stands_high(const Trace& trace, int socket, const PinElectrode& grid) {
    const std::vector<int> emitter = trace.emitter(socket, grid);
    return !emitter.empty() &&
           std::all_of(emitter.begin(), emitter.end(), [&](int net) { return trace.stands_high(net); });
}

/// Two things on one net that cannot both be there.
void conflicts(const Trace& trace, Findings& findings) {
    const Chassis& chassis = trace.chassis();
    const Rule stop{tw::pin_in_conflict, "pin-in-conflict", Severity::stop};
    const Rule doubt{tw::pin_in_conflict, "pin-in-conflict", Severity::doubt};
    const int nets = static_cast<int>(chassis.nets().size());
    const bool transformer_set = chassis.family() == Family::ac_transformer;
    std::set<std::pair<int, int>> parked;  // part and lead
    for (const Unit& unit : trace.units())
        if (trace.parked(unit))
            for (const PinElectrode& pin : unit.pins) parked.emplace(unit.part, pin.lead);
    for (int n = 0; n < nets; ++n) {
        struct On {
            int part;
            PinElectrode pin;
        };
        std::vector<On> pins;
        std::vector<std::pair<int, const PartWinding*>> heater_ends, plate_ends;
        bool rectifier_winding = false;
        for (const LeadRef ref : trace.net(n).leads) {
            const Part& part = trace.part(ref.part);
            for (const PinElectrode& pin : trace.electrodes(ref.part)) {
                if (pin.lead == ref.lead && parked.count({ref.part, pin.lead}) == 0) pins.push_back({ref.part, pin});
            }
            for (const PartWinding& winding : part.windings) {
                const bool end = winding.leads.size() >= 2 &&
                                 (winding.leads.front() == ref.lead || winding.leads.back() == ref.lead);
                rectifier_winding = rectifier_winding || (end && winding.role == WindingRole::rectifier_heater);
                if (end && winding.role == WindingRole::heater) heater_ends.emplace_back(ref.part, &winding);
                if (end && winding.role == WindingRole::plate) plate_ends.emplace_back(ref.part, &winding);
            }
        }
        if (pins.empty()) continue;
        const bool bottom = trace.bottom(n), b_plus = trace.b_plus(n), fed = trace.supply_node(n);
        const bool line = n == chassis.nodes().line_hot || n == chassis.nodes().line_neutral;
        const auto is = [](const On& on, Electrode electrode) { return on.pin.electrode == electrode; };
        const auto first = [&](Electrode electrode, bool filaments_of_rectifiers) -> const On* {
            for (const On& on : pins) {
                if (!is(on, electrode)) continue;
                if (electrode == Electrode::heater && !filaments_of_rectifiers &&
                    trace.part(on.part).type->is_rectifier() &&
                    (rectifier_winding || trace.part(on.part).type->directly_heated))
                    continue;
                if (electrode == Electrode::cathode && audit::rectifies(trace.part(on.part), on.pin)) continue;
                return &on;
            }
            return nullptr;
        };
        const On* plate = first(Electrode::plate, false);
        const On* screen = first(Electrode::screen, false);
        const On* grid = first(Electrode::control_grid, false);
        const On* heater = first(Electrode::heater, false);
        const On* cathode = first(Electrode::cathode, false);
        const On* shell = first(Electrode::shell, false);
        const On* rectifier_plate = first(Electrode::rectifier_plate, false);
        const auto report = [&](const Rule& rule, const On& on, const On* other, std::string message,
                                std::string look_at) {
            std::vector<int> parts{on.part};
            const auto note = [&](int part) {
                if (std::find(parts.begin(), parts.end(), part) == parts.end()) parts.push_back(part);
            };
            if (other != nullptr) note(other->part);
            // Which of several like pins is the wrong one the graph cannot tell: all are named.
            for (const On& like : pins) {
                if (like.pin.electrode == on.pin.electrode) note(like.part);
            }
            findings.add(rule, place_of(trace.part(on.part), on.pin.lead), parts, {n}, std::move(message),
                         std::move(look_at));
        };
        const auto name = [&](const On& on) { return trace.pin_name(on.part, on.pin); };
        const std::string net = trace.net(n).name;

        if (rectifier_plate != nullptr)
            for (const LeadRef ref : trace.net(n).leads)
                for (const PartWinding& winding : trace.part(ref.part).windings)
                    if (winding.role == WindingRole::plate && winding.leads.size() == 3 &&
                        winding.leads[1] == ref.lead && trace.part(ref.part).leads[at(ref.lead)].net == n)
                        report(stop, *rectifier_plate, nullptr,
                               fill("{} is on the centre tap of the plate winding of {}: the other end takes twice the "
                                    "volts to the filter",
                                    {name(*rectifier_plate), trace.part(ref.part).id}),
                               "the three leads of that winding, by ohms: the tap lies halfway between the two plates");
        if (heater != nullptr && !bottom) {
            // Filament types carry their bias on the filament; only B-plus itself is impossible there.
            const On* supply = plate != nullptr ? plate : screen;
            const bool filament_type = trace.part(heater->part).type->directly_heated;
            if (b_plus) {
                report(stop, *heater, nullptr,
                       fill("{} is on {}, which is B-plus: B-plus on the heaters burns the heater winding and lifts "
                            "every heater",
                            {name(*heater), net}),
                       "the heater pins of this socket, counted from below, from the key or the heavy pins");
            } else if (!plate_ends.empty()) {
                report(
                    stop, *heater, nullptr,
                    fill("{} is on the plate winding of {}", {name(*heater), trace.part(plate_ends.front().first).id}),
                    "the heater pins of this socket, counted from below");
            } else if (supply != nullptr && !filament_type) {
                report(stop, *heater, supply,
                       fill("{} and {} are one net ({}): a heater cannot be joined to a {}",
                            {name(*heater), name(*supply), net, audit::word(supply->pin.electrode)}),
                       "both sockets, counted from below; a view from above turns the pins round");
            } else if (grid != nullptr && !filament_type) {
                report(doubt, *heater, grid,
                       fill("{} and {} are one net ({}): a grid does not go on the heater line",
                            {name(*heater), name(*grid), net}),
                       "both sockets, counted from below");
            }
        }
        if (!plate_ends.empty() && !bottom && rectifier_plate == nullptr) {
            // On the rectifier's own output: its plate lead went to the cathode side. A plate of another rectifier on
            // the same net would be a doubler or a bridge.
            for (const On& on : pins) {
                const Part& socket = trace.part(on.part);
                if (!socket.type->is_rectifier() || !trace.rectifier_output(n) ||
                    (!is(on, Electrode::heater) && !is(on, Electrode::cathode)))
                    continue;
                const bool feeds_it = plate_misses_winding(trace, on.part, plate_ends.front().first);
                if (!feeds_it) continue;
                report(
                    stop, on, nullptr,
                    fill("an end of the plate winding of {} is on {}, the output of the rectifier: alternating volts "
                         "straight into the first filter",
                         {trace.part(plate_ends.front().first).id, name(on)}),
                    "the plate pins and the filament or cathode pins of this socket, counted from below");
                break;
            }
        }
        if (!plate_ends.empty() && !bottom && rectifier_plate != nullptr) {
            for (const LeadRef ref : trace.net(n).leads) {  // the mirror of it: the filter on the plate's pin
                const Part& filter = trace.part(ref.part);
                if (filter.kind != PartKind::capacitor || !filter.polarised || ref.lead != 0 ||
                    filter.leads.size() != 2 || !trace.bottom(filter.leads[1].net))
                    continue;
                findings.add(stop, place_of(filter, 0), {ref.part, rectifier_plate->part}, {n},
                             fill("{} has its plus on {}, where an end of the plate winding of {} is: alternating "
                                  "volts straight into an electrolytic, and B-plus taken ahead of the rectifier",
                                  {filter.id, name(*rectifier_plate), trace.part(plate_ends.front().first).id}),
                             "the plate and cathode pins of this socket, counted from below");
                break;
            }
        }
        if (!heater_ends.empty() && !bottom) {
            const std::string winding = "the heater winding of " + trace.part(heater_ends.front().first).id;
            const On* wrong = plate != nullptr ? plate : screen != nullptr ? screen : rectifier_plate;
            if (wrong != nullptr)
                report(stop, *wrong, nullptr, fill("{} is on {}", {name(*wrong), winding}),
                       "this socket, counted from below");
            if (grid != nullptr && heater == nullptr)
                report(doubt, *grid, nullptr, fill("{} is on {}", {name(*grid), winding}),
                       "this socket, counted from below");
        }
        if (bottom) {
            if (plate != nullptr)
                report(stop, *plate, nullptr,
                       fill("{} is on {}, the bottom of the set: as traced this plate has no volts, or its supply is "
                            "shorted",
                            {name(*plate), net}),
                       "the plate pin of this socket, counted from below");
            if (screen != nullptr && plate == nullptr)
                report(doubt, *screen, nullptr,
                       fill("{} is on {}, the bottom of the set: as traced this screen has no volts",
                            {name(*screen), net}),
                       "the screen pin of this socket, and a bypass drawn as a strap");
            const auto shorted = std::find_if(pins.begin(), pins.end(), [&](const On& on) {
                return is(on, Electrode::rectifier_plate) && !trace.lower_leg(on.part, on.pin);
            });
            if (shorted != pins.end() && transformer_set)
                report(stop, *shorted, nullptr,
                       fill("{} is on {}, the bottom of the set: half of the plate winding is shorted as traced",
                            {name(*shorted), net}),
                       "the rectifier's plate pins, counted from below");
        }
        if (fed && !bottom && grid != nullptr)
            report(stop, *grid, nullptr,
                   fill("{} is straight on {}, which is B-plus: the tube and its load would burn", {name(*grid), net}),
                   "this pin, counted from below; a coupling capacitor drawn as a strap");
        if (b_plus && !bottom) {
            if (cathode != nullptr)
                report(stop, *cathode, nullptr, fill("{} is straight on {}, which is B-plus", {name(*cathode), net}),
                       "this pin, counted from below");
            if (shell != nullptr)
                report(stop, *shell, nullptr,
                       fill("{} is on {}, which is B-plus: a hand can reach a metal shell", {name(*shell), net}),
                       "pin 1 of this socket, counted from below");
        }
        if (line && transformer_set) {
            const On* wrong = plate != nullptr     ? plate
                              : screen != nullptr  ? screen
                              : grid != nullptr    ? grid
                              : cathode != nullptr ? cathode
                                                   : rectifier_plate;
            if (wrong != nullptr)
                report(stop, *wrong, nullptr,
                       fill("{} is on the line, in a set with a power transformer", {name(*wrong)}),
                       "the primary leads of the transformer and what shares their lugs");
        }
        if (grid != nullptr && !fed && !bottom) {
            for (const On& on : pins) {
                if (!is(on, Electrode::plate) || on.part == grid->part || stands_high(trace, grid->part, grid->pin))
                    continue;
                report(doubt, *grid, &on,
                       fill("{} and {} are one net ({}), with no capacitor between: direct coupling is rare",
                            {name(*grid), name(on), net}),
                       "whether a coupling capacitor was drawn as a wire");
                break;
            }
            if (screen != nullptr && screen->part == grid->part)
                report(doubt, *grid, screen, fill("{} and {} are one net ({})", {name(*grid), name(*screen), net}),
                       "this socket, counted from below");
        }
        if (plate != nullptr && cathode != nullptr && plate->part == cathode->part &&
            plate->pin.unit == cathode->pin.unit)
            report(doubt, *plate, cathode,
                   fill("{} and {} are one net ({}): the tube is bridged", {name(*plate), name(*cathode), net}),
                   "this socket, counted from below");
    }
}

/// What drives a grid: looked for through resistors, short of the bottom and of B-plus.
bool grid_is_driven(const Trace& trace, int socket, int grid_net) {
    std::string unit;
    for (const PinElectrode& pin : trace.electrodes(socket))
        if (pin.electrode == Electrode::control_grid && trace.part(socket).leads[at(pin.lead)].net == grid_net)
            unit = pin.unit;
    std::vector<int> queue{grid_net};
    std::set<int> seen{grid_net};
    while (!queue.empty()) {
        const int net = queue.back();
        queue.pop_back();
        if (trace.untraced_near(net)) return true;
        for (const LeadRef ref : trace.net(net).leads) {
            const Part& part = trace.part(ref.part);
            switch (part.kind) {
                case PartKind::resistor: {
                    const int other = part.leads.size() == 2 ? part.leads[at(1 - ref.lead)].net : -1;
                    if (other >= 0 && !trace.bottom(other) && !trace.b_plus(other) && seen.insert(other).second)
                        queue.push_back(other);
                    break;
                }
                case PartKind::capacitor: {
                    if (part.leads.size() != 2) return true;
                    const int other = part.leads[at(1 - ref.lead)].net;
                    if (other < 0 || trace.bottom(other) || trace.b_plus(other)) break;  // a bypass brings no signal
                    // a capacitor back to the unit's own plate is no source either; the plate of the other unit is
                    bool own = false, beside = false;
                    for (const PinElectrode& pin : trace.electrodes(socket)) {
                        if (trace.part(socket).leads[at(pin.lead)].net != other) continue;
                        own = true;
                        beside = beside || (pin.electrode == Electrode::plate && pin.unit != unit);
                    }
                    own = own && !beside;
                    if (!own) return true;
                    break;
                }
                case PartKind::socket:
                    for (const PinElectrode& pin : trace.electrodes(ref.part)) {
                        if (pin.lead != ref.lead || (ref.part == socket && pin.unit == unit)) continue;
                        if (pin.electrode == Electrode::plate || pin.electrode == Electrode::cathode ||
                            pin.electrode == Electrode::diode)
                            return true;
                    }
                    break;
                case PartKind::strip:
                case PartKind::plug:
                case PartKind::coil:
                case PartKind::control:
                case PartKind::transformer:
                case PartKind::speaker:
                case PartKind::untraced:
                    return true;
                default:
                    break;
            }
        }
        // a terminal to the outside
        std::size_t soldered = 0;
        for (const LeadRef ref : trace.net(net).leads) {
            const PartKind kind = trace.part(ref.part).kind;
            soldered += kind != PartKind::strip && kind != PartKind::wire && kind != PartKind::cord ? 1 : 0;
        }
        if (trace.joined(net) > static_cast<int>(soldered)) return true;
    }
    return false;
}

bool line_blade(const Trace& trace, int net);

/// A blade of the line, or what switch and fuse alone part from it.
bool line_net(const Trace& trace, int net) {
    const NodeRoles& roles = trace.chassis().nodes();
    return net == roles.line_hot || net == roles.line_neutral || line_blade(trace, net);
}

/// A rectifier whose heater has a winding of its own: the heater rides on B-plus with the cathode.
bool own_winding(const Trace& trace, const Part& tube) {
    if (!tube.type->is_rectifier()) return false;
    const auto feeds = [&](const LeadRef ref) {
        const std::vector<PartWinding>& windings = trace.part(ref.part).windings;
        return std::any_of(windings.begin(), windings.end(), [&](const PartWinding& w) {
            return w.role == WindingRole::rectifier_heater &&
                   std::find(w.leads.begin(), w.leads.end(), ref.lead) != w.leads.end();
        });
    };
    return std::any_of(tube.leads.begin(), tube.leads.end(), [&](const Lead& lead) {
        return lead.net >= 0 && std::any_of(trace.net(lead.net).leads.begin(), trace.net(lead.net).leads.end(), feeds);
    });
}

/// A grid that a capacitor keeps still, in a tube that stands on the plate of another: the signal comes in below.
bool driven_at_cathode(const Trace& trace, const Unit& unit, int grid) {
    const std::span<const LeadRef> on = trace.net(grid).leads;
    return std::any_of(on.begin(), on.end(),
                       [&](LeadRef ref) {
                           const Part& c = trace.part(ref.part);
                           return c.kind == PartKind::capacitor && c.leads.size() == 2 &&
                                  trace.bottom(c.leads[at(1 - ref.lead)].net);
                       }) &&
           std::any_of(unit.pins.begin(), unit.pins.end(), [&](const PinElectrode& pin) {
               const int net = trace.part(unit.part).leads[at(pin.lead)].net;
               return pin.electrode == Electrode::cathode && trace.returned_by_tube(net) && !trace.reaches_bottom(net);
           });
}

/// Rectifiers of both senses meet on it.
bool rectified_both_ways(const Trace& trace, int net) {
    bool in = false, out = false;
    for (const LeadRef ref : trace.net(net).leads) {
        if (trace.part(ref.part).kind == PartKind::rectifier) (ref.lead == 0 ? in : out) = true;
        for (const PinElectrode& pin : trace.electrodes(ref.part)) {
            if (pin.lead != ref.lead || !audit::rectifies(trace.part(ref.part), pin)) continue;
            in = in || pin.electrode == Electrode::rectifier_plate;
            out = out || pin.electrode == Electrode::cathode;
        }
    }
    return in && out;
}

void signal_path(const Trace& trace, Findings& findings) {
    // A grid that has its leak and nothing to amplify.
    for (const Unit& unit : trace.units()) {
        const Part& socket = trace.part(unit.part);
        for (const PinElectrode& pin : unit.pins) {
            if (pin.electrode != Electrode::control_grid) continue;
            const int net = socket.leads[at(pin.lead)].net;
            if (net < 0 || trace.bottom(net) || trace.b_plus(net) || trace.net(net).leads.size() < 2 ||
                !trace.reaches_bottom(net) || grid_is_driven(trace, unit.part, net) ||
                driven_at_cathode(trace, unit, net))
                continue;
            findings.add({tw::grid_without_drive, "grid-without-drive", Severity::doubt}, place_of(socket, pin.lead),
                         {unit.part}, {net},
                         fill("{} has its leak ({}) and nothing that drives it: no signal can reach this tube",
                              {trace.pin_name(unit.part, pin), soldered_list(trace, net, {unit.part, pin.lead})}),
                         "where the coupler or the winding that feeds this grid ends: on a pin beside it, counted from "
                         "below?");
        }
    }
    // A capacitor or resistor from a plate or grid to a heater line.
    const Chassis& chassis = trace.chassis();
    std::vector<char> heater_line(chassis.nets().size()), signal(chassis.nets().size()),
        cathode_net(chassis.nets().size()), heated(chassis.nets().size());
    for (std::size_t p = 0; p < chassis.parts().size(); ++p) {
        const Part& part = chassis.parts()[p];
        for (const PartWinding& winding : part.windings) {
            if (winding.role != WindingRole::heater) continue;
            for (const int lead : winding.leads)
                if (const int net = part.leads[at(lead)].net; net >= 0) heater_line[at(net)] = 1;
        }
        if (part.kind != PartKind::socket || part.type == nullptr || own_winding(trace, part)) continue;
        for (const PinElectrode& pin : trace.electrodes(static_cast<int>(p))) {
            const int net = part.leads[at(pin.lead)].net;
            if (net < 0) continue;
            const bool heater = pin.electrode == Electrode::heater || pin.electrode == Electrode::heater_tap;
            // the filament of a filament tube is its cathode
            if (pin.electrode == Electrode::heater && !part.type->directly_heated)
                heater_line[at(net)] = heated[at(net)] = 1;
            if (heater && !part.type->directly_heated) heater_line[at(net)] = 1;
            if (pin.electrode == Electrode::plate || pin.electrode == Electrode::control_grid) signal[at(net)] = 1;
            if (pin.electrode == Electrode::cathode && !audit::rectifies(part, pin)) cathode_net[at(net)] = 1;
        }
    }
    for (std::size_t p = 0; p < chassis.parts().size(); ++p) {
        const Part& part = chassis.parts()[p];
        if ((part.kind != PartKind::capacitor && part.kind != PartKind::resistor) || part.leads.size() != 2) continue;
        for (int end = 0; end < 2; ++end) {
            const int heater = part.leads[at(end)].net, other = part.leads[at(1 - end)].net;
            if (heater < 0 || other < 0 || !heater_line[at(heater)] || trace.bottom(heater)) continue;
            if (trace.held_supply(heater)) continue;  // a filament that is B-plus, as a rectifier's
            if (part.kind == PartKind::capacitor && part.polarised && heated[at(heater)] && line_net(trace, heater))
                continue;                              // a doubler stands on the blade at which the string ends
            if (trace.heats_direct(heater)) continue;  // heaters on direct current, and their filter
            if (part.kind == PartKind::capacitor && part.polarised && heated[at(heater)]) {
                if (rectified_both_ways(trace, other)) continue;  // the first of a doubler for bias
                findings.add({tw::signal_part_on_heater, "signal-part-on-heater", Severity::doubt}, place_of(part, end),
                             {static_cast<int>(p)}, {heater, other},
                             fill("{} is an electrolytic with an end on {}, a heater line: alternating volts boil it",
                                  {part.id, trace.net(heater).name}),
                             fill("the lug at which that end of {} is soldered, counted from below", {part.id}));
                continue;
            }
            if (heater_line[at(other)]) continue;
            const bool of_cathode = heated[at(heater)] && cathode_net[at(other)] && part.kind == PartKind::resistor;
            if ((!signal[at(other)] && !of_cathode) || trace.bottom(other) || trace.b_plus(other)) continue;
            findings.add({tw::signal_part_on_heater, "signal-part-on-heater", Severity::doubt}, place_of(part, end),
                         {static_cast<int>(p)}, {heater, other},
                         fill(of_cathode ? "{} goes from {}, a cathode, to {}, a heater line: the tube has no bias"
                                         : "{} goes from {}, a plate or grid, to {}, a heater line: hum in, and no "
                                           "signal through",
                              {part.id, trace.net(other).name, trace.net(heater).name}),
                         fill("the lug at which that end of {} is soldered, counted from below", {part.id}));
        }
    }
}

/// Supply nodes that want a filter capacitor and have none: beyond a choke or field, and the screen of a power tube
/// that a resistor feeds.
void filters(const Trace& trace, Findings& findings) {
    if (!trace.has_rectifier()) return;
    const auto filtered = [&](int net, double least) {
        for (const LeadRef ref : trace.net(net).leads) {
            const Part& part = trace.part(ref.part);
            if (part.kind != PartKind::capacitor || part.leads.size() != 2 || (part.farads && *part.farads < least))
                continue;
            const int other = part.leads[at(1 - ref.lead)].net;
            if (other >= 0 && trace.bottom(other)) return true;
        }
        return false;
    };
    std::set<int> told;
    for (const Conductor& path : trace.conductors()) {
        if (!path.choke) continue;
        for (const int net : {path.a, path.b}) {
            const int other = net == path.a ? path.b : path.a;
            if (!trace.b_plus(net) || !trace.b_plus(other) || trace.rectifier_output(net) || trace.bottom(net) ||
                trace.untraced_near(net) || filtered(net, 0.5e-6))
                continue;
            // between two chokes there need not be one
            const auto chokes =
                std::count_if(trace.net(net).leads.begin(), trace.net(net).leads.end(), [&](LeadRef ref) {
                    const Part& part = trace.part(ref.part);
                    return part.kind == PartKind::coil && (part.role == "choke" || part.role == "field");
                });
            // a choke in a plate is its load
            const std::span<const LeadRef> on = trace.net(net).leads;
            const bool load = std::any_of(on.begin(), on.end(), [&](LeadRef ref) {
                const std::vector<PinElectrode>& pins = trace.electrodes(ref.part);
                return std::any_of(pins.begin(), pins.end(), [&](const PinElectrode& pin) {
                    return pin.lead == ref.lead && pin.electrode == Electrode::plate;
                });
            });
            if (load || chokes > 1 || !told.insert(net).second) continue;
            findings.add(
                {tw::filter_missing, "filter-missing", Severity::doubt}, trace.part(path.part).place, {path.part},
                {net},
                fill("{} comes out of {} and has no filter capacitor to the bottom of the set: the set would hum "
                     "and howl",
                     {trace.net(net).name, trace.part(path.part).id}),
                "the sections of the filter can and the tubular capacitors near it; one that was cut off and "
                "never replaced");
        }
    }
    for (const Unit& unit : trace.units()) {
        const Part& socket = trace.part(unit.part);
        if (socket.type == nullptr || socket.type->tube_class.find("power") == std::string::npos) continue;
        for (const PinElectrode& pin : unit.pins) {
            if (pin.electrode != Electrode::screen) continue;
            const int net = socket.leads[at(pin.lead)].net;
            if (net < 0 || trace.bottom(net) || trace.b_plus(net) || !trace.reaches_b_plus(net) ||
                trace.untraced_near(net) || filtered(net, 0.05e-6) || told.count(net) > 0)
                continue;
            // fed by a winding (ultra-linear), through a stopper, or strapped to its plate: no node of the supply
            bool feed = false, alone = true;
            int screens = 0;
            constexpr double most_stopper = 1200;  // one for both screens of a pair (common practice, no source)
            for (const LeadRef ref : trace.net(net).leads) {
                const Part& part = trace.part(ref.part);
                if (part.kind == PartKind::transformer) alone = false;
                if (part.kind == PartKind::resistor && part.ohms && *part.ohms >= 500) feed = true;
                for (const PinElectrode& on : trace.electrodes(ref.part)) {
                    if (on.lead == ref.lead && on.electrode == Electrode::plate) alone = false;
                    if (on.lead == ref.lead && on.electrode == Electrode::screen) ++screens;
                }
            }
            if (screens > 1)
                for (const LeadRef ref : trace.net(net).leads)
                    if (const Part& part = trace.part(ref.part); part.kind == PartKind::resistor)
                        feed = feed && part.ohms.value_or(0) > most_stopper;
            if (!feed || !alone) continue;
            told.insert(net);
            findings.add({tw::filter_missing, "filter-missing", Severity::doubt}, place_of(socket, pin.lead),
                         {unit.part}, {net},
                         fill("{} is fed by a resistor and has no capacitor to the bottom of the set",
                              {trace.pin_name(unit.part, pin)}),
                         "the section of the filter can, or the bypass, that belongs on this screen");
        }
    }
}

// --- Windings and heaters
// ------------------------------------------------------------------------------------------------------------------------

void fighting_windings(const Trace& trace, Findings& findings) {
    const Chassis& chassis = trace.chassis();
    // Two sources between the same two nets, and a source with a second path through others: forest first, then what
    // closes a loop.
    struct Source {
        int a, b, part, winding, half;
        std::optional<double> volts;
        std::string name;
    };
    std::vector<Source> sources;
    for (const Conductor& path : trace.conductors()) {
        if (path.winding < 0 || path.a == path.b) continue;
        const PartWinding& winding = trace.part(path.part).windings[at(path.winding)];
        if (trace.part(path.part).role != "power") continue;
        Source source{
            path.a, path.b, path.part, path.winding, path.half, {}, trace.part(path.part).id + " " + winding.name};
        const double halves = static_cast<double>(winding.leads.size()) - 1;
        if (at(path.half) < winding.noload_volts.size()) {
            source.volts = winding.noload_volts[at(path.half)];
        } else if (winding.volts) {
            source.volts = winding.role == WindingRole::plate ? *winding.volts : *winding.volts / halves;
        }
        sources.push_back(source);
    }
    const NodeRoles& roles = chassis.nodes();
    if (roles.line_hot >= 0 && roles.line_neutral >= 0 && roles.line_hot != roles.line_neutral)
        sources.insert(sources.begin(),
                       {roles.line_hot, roles.line_neutral, -1, -1, 0, chassis.line().volts, "the line"});
    for (std::size_t p = 0; p < chassis.parts().size(); ++p) {
        const Part& part = chassis.parts()[p];
        if ((part.kind != PartKind::power_switch && part.kind != PartKind::fuse) || part.leads.size() != 2 ||
            roles.line_hot < 0 || roles.line_neutral < 0 || roles.line_hot == roles.line_neutral)
            continue;
        if (std::minmax(part.leads[0].net, part.leads[1].net) == std::minmax(roles.line_hot, roles.line_neutral))
            findings.add({tw::windings_fight, "windings-fight", Severity::stop}, part.place, {static_cast<int>(p)},
                         {roles.line_hot, roles.line_neutral},
                         fill("{} stands from one line blade to the other: closed it shorts the line", {part.id}),
                         "its two lugs: one belongs to a blade, the other to what it switches");
    }
    if (roles.line_hot >= 0 && roles.line_hot == roles.line_neutral)
        findings.add({tw::windings_fight, "windings-fight", Severity::stop}, trace.net(roles.line_hot).place, {},
                     {roles.line_hot}, "both line blades are one net: the line is shorted as traced",
                     "the cord, the switch and the primary leads");
    audit::Groups loop(chassis.nets().size());
    std::vector<std::size_t> forest;
    const auto is_primary = [&](const Source& one) {
        return one.winding >= 0 && trace.part(one.part).windings[at(one.winding)].role == WindingRole::primary;
    };
    // What a tapped primary, two in series, or a winding of few volts that bucks or boosts the line are for: the line
    // and primaries of one transformer, or in place of the line the primary of another, which stands across it; few
    // volts between them. The share of the turns that is left in such a ring; none for any other.
    const auto few_volts = [&](const Source& one) {
        constexpr double most = 40;  // of a filament transformer (common practice, no source)
        const WindingRole role = trace.part(one.part).windings[at(one.winding)].role;
        return one.volts.value_or(most + 1) <= most && role != WindingRole::primary && role != WindingRole::plate;
    };
    const auto turns_left_across_the_line = [&](std::size_t closing) -> std::optional<double> {
        std::vector<std::size_t> came(chassis.nets().size(), sources.size());
        std::vector<int> reached{sources[closing].b};
        for (std::size_t k = 0; k < reached.size(); ++k)
            for (const std::size_t edge : forest)
                for (const auto& [from, to] :
                     {std::pair(sources[edge].a, sources[edge].b), std::pair(sources[edge].b, sources[edge].a)})
                    if (from == reached[k] && to != sources[closing].b && came[at(to)] == sources.size()) {
                        came[at(to)] = edge;
                        reached.push_back(to);
                    }
        double along = 0, all = 0, least = 0;
        bool line = false;
        std::set<int> transformers;  // whose primaries are in the ring
        const auto passes = [&](const Source& one, bool forward) {
            if (one.part < 0) {
                line = true;
                return true;
            }
            if (!is_primary(one) && !few_volts(one)) return false;
            const double volts = one.volts.value_or(1);
            if (is_primary(one)) {
                least = transformers.empty() ? volts : std::min(least, volts);
                transformers.insert(one.part);
            }
            along += forward ? volts : -volts;
            all += volts;
            return true;
        };
        if (!passes(sources[closing], true)) return {};
        double few = is_primary(sources[closing]) ? 0 : all;
        for (int net = sources[closing].a; net != sources[closing].b;) {
            const Source& one = sources[came[at(net)]];
            const bool forward = one.b == net;
            if (!passes(one, forward)) return {};
            if (one.part >= 0 && !is_primary(one)) few += one.volts.value_or(0);
            net = forward ? one.a : one.b;
        }
        if (line && transformers.size() == 1) return std::fabs(along) / all;
        if (!line && transformers.size() == 2 && few > 0) return 1 - few / least;
        return {};
    };
    for (std::size_t i = 0; i < sources.size(); ++i) {
        const Source& source = sources[i];
        if (!loop.same(source.a, source.b)) {
            loop.join(source.a, source.b);
            forest.push_back(i);
            continue;
        }
        if (const auto left = turns_left_across_the_line(i)) {
            constexpr double least_left = 0.5;
            if (*left > least_left) continue;
            findings.add(
                {tw::windings_fight, "windings-fight", Severity::stop},
                trace.part(source.part).windings[at(source.winding)].place, {source.part}, {source.a, source.b},
                fill("the primaries of {} stand in series across the line with their senses against each other: "
                     "little or nothing holds the line, and the transformer burns",
                     {trace.part(source.part).id}),
                "the leads of both primaries: the end of one goes to the start of the other");
            continue;
        }
        const Source* twin = nullptr;
        for (std::size_t j = 0; j < i; ++j) {
            if (std::pair<int, int>(std::minmax(sources[j].a, sources[j].b)) ==
                std::pair<int, int>(std::minmax(source.a, source.b)))
                twin = &sources[j];
        }
        const bool primary = is_primary(source);
        const bool equal = twin != nullptr && source.volts && twin->volts &&
                           std::fabs(*source.volts - *twin->volts) <= 0.05 * std::max(*source.volts, *twin->volts);
        if (twin != nullptr && twin->part < 0 && primary) continue;  // the primary is meant to stand across the line
        std::vector<int> parts{source.part};
        if (twin != nullptr && twin->part >= 0 && twin->part != source.part) parts.push_back(twin->part);
        const Place& place = trace.part(source.part).windings[at(source.winding)].place;
        if (equal) {
            findings.add({tw::windings_fight, "windings-fight", Severity::note}, place, parts, {source.a, source.b},
                         fill("{} and {} stand side by side on {} and {}; of equal volts and the same sense they may",
                              {source.name, twin->name, trace.net(source.a).name, trace.net(source.b).name}),
                         "that their senses agree, before power");
        } else {
            const std::string against = twin != nullptr ? twin->name : "other windings";
            const std::string volts = twin != nullptr && source.volts && twin->volts
                                          ? fill(" ({} against {})", {say(tubewright::volts(*source.volts)),
                                                                      say(tubewright::volts(*twin->volts))})
                                          : "";
            findings.add({tw::windings_fight, "windings-fight", Severity::stop}, place, parts, {source.a, source.b},
                         fill("{} is wired across {}{}: between {} and {} they fight, and the transformer burns",
                              {source.name, against, volts, trace.net(source.a).name, trace.net(source.b).name}),
                         "the leads of both windings, by colour and by ohms");
        }
    }
}

/// Batteries side by side: like ones share a load, unlike ones or those of opposite sense drain into each other.
void fighting_batteries(const Trace& trace, Findings& findings) {
    constexpr double alike = 0.05;
    const auto in_place = [&](const Part& part) {
        return part.kind == PartKind::battery && part.closed && !stands_open(part) && part.leads.size() == 2 &&
               part.leads[0].net >= 0 && part.leads[1].net >= 0 && part.leads[0].net != part.leads[1].net &&
               part.rated_volts;
    };
    const int parts = static_cast<int>(trace.chassis().parts().size());
    for (int p = 0; p < parts; ++p) {
        const Part& one = trace.part(p);
        if (!in_place(one)) continue;
        for (int q = 0; q < p; ++q) {
            const Part& other = trace.part(q);
            if (!in_place(other)) continue;
            const bool same = one.leads[0].net == other.leads[0].net && one.leads[1].net == other.leads[1].net;
            const bool turned = one.leads[0].net == other.leads[1].net && one.leads[1].net == other.leads[0].net;
            const double more = std::max(*one.rated_volts, *other.rated_volts);
            if (!turned && !(same && std::fabs(*one.rated_volts - *other.rated_volts) > alike * more)) continue;
            findings.add({tw::windings_fight, "windings-fight", Severity::stop}, one.place, {p, q},
                         {one.leads[0].net, one.leads[1].net},
                         fill(turned ? "{} ({}) and {} ({}) stand plus to minus on {} and {}: each shorts the other"
                                     : "{} ({}) and {} ({}) stand side by side on {} and {}: the stronger drains into "
                                       "the weaker, load or none",
                              {one.id, say(tubewright::volts(*one.rated_volts)), other.id,
                               say(tubewright::volts(*other.rated_volts)), trace.net(one.leads[0].net).name,
                               trace.net(one.leads[1].net).name}),
                         "the leads of both batteries: in series each has a net of its own between them");
        }
    }
}

void ideal_windings(const Trace& trace, Findings& findings) {
    std::map<std::pair<int, int>, int> capacitors;
    const int parts = static_cast<int>(trace.chassis().parts().size());
    for (int p = 0; p < parts; ++p) {
        const Part& part = trace.part(p);
        if (part.kind == PartKind::capacitor && part.leads.size() == 2 && part.leads[0].net >= 0 &&
            part.leads[1].net >= 0)
            capacitors.emplace(std::minmax(part.leads[0].net, part.leads[1].net), p);
    }
    for (const Conductor& path : trace.conductors()) {
        if (path.winding < 0) continue;
        const PartWinding& winding = trace.part(path.part).windings[at(path.winding)];
        constexpr double no_ohms =
            0.005;  // no wound wire has so few (assumed); 0 itself is no value that can be written
        const bool ideal = at(path.half) < winding.ohms.size() && winding.ohms[at(path.half)] <= no_ohms;
        if (!ideal) continue;
        const auto found = capacitors.find(std::minmax(path.a, path.b));
        if (found == capacitors.end()) continue;
        findings.add(
            {tw::capacitor_across_ideal_winding, "capacitor-across-ideal-winding", Severity::doubt}, winding.place,
            {path.part, found->second}, {path.a, path.b},
            fill("{} stands across the {} winding of {}, which is given {}: no real winding has so little, and the "
                 "current between them has no limit",
                 {trace.part(found->second).id, winding.name, trace.part(path.part).id,
                  say(ohms(winding.ohms[at(path.half)]))}),
            "the winding with an ohmmeter, its leads shorted first for the zero; leave ohms out when it is not known");
    }
}

/// A net that the line reaches through switch and fuse alone.
bool line_blade(const Trace& trace, int net) {
    const NodeRoles& roles = trace.chassis().nodes();
    for (const LeadRef ref : trace.net(net).leads) {
        const Part& part = trace.part(ref.part);
        if (part.kind != PartKind::power_switch && part.kind != PartKind::fuse) continue;
        for (const Lead& lead : part.leads)
            if (lead.net == roles.line_hot || lead.net == roles.line_neutral) return true;
    }
    return false;
}

/// Heaters without a loop: one row for all of one source, and where their way ends. What an empty socket alone keeps
/// from them is told at that socket.
void not_fed(const Trace& trace, const std::vector<HeaterPath>& all, std::vector<std::size_t> unfed,
             Findings& findings) {
    const auto same = [](const HeaterPath& a, const HeaterPath& b) { return a.part == b.part && a.lead_a == b.lead_a; };
    std::vector<int> empties;
    const std::vector<HeaterPath> with_tubes = audit::heaters_of(trace, audit::Empty::as_tube);
    for (const HeaterPath& heater : with_tubes)
        if (heater.fed && stands_empty(trace.part(heater.part)) && (empties.empty() || empties.back() != heater.part))
            empties.push_back(heater.part);
    std::string cold;
    std::erase_if(unfed, [&](std::size_t i) {
        const bool opened = std::any_of(with_tubes.begin(), with_tubes.end(),
                                        [&](const HeaterPath& other) { return same(all[i], other) && other.fed; });
        if (opened) cold += (cold.empty() ? "" : ", ") + trace.part(all[i].part).id;
        return opened;
    });
    if (!cold.empty())
        for (const int p : empties) {
            const Part& socket = trace.part(p);
            const bool stays = socket.fitted == "none";
            findings.add(
                {tw::heater_not_fed, "heater-not-fed", stays ? Severity::stop : Severity::doubt}, socket.place, {p}, {},
                fill("{} ({}) stands empty, and its heater is a link of the string: {} stay cold",
                     {socket.id, socket.tube, cold}),
                stays ? "what was put in the place of its heater: a resistor of its ohms and watts, or the tube"
                      : "the tube that belongs there");
        }
    if (unfed.empty()) return;
    // in a whole trace a heater without a loop is a lead misread, and every figure is of another set
    const Severity severity = trace.chassis().level() == 3 ? Severity::stop : Severity::doubt;
    const Family family = trace.chassis().family();
    const bool battery = family == Family::battery || family == Family::portable || family == Family::vehicle;
    const bool string = family == Family::series_string || family == Family::floating_b_minus ||
                        family == Family::doubler || family == Family::portable;
    const std::string source = battery  ? "through a battery, a winding or the line"
                               : string ? "from blade to blade of the line"
                                        : "through a winding or the line";
    std::string names, ends;
    std::vector<int> parts, nets;
    for (const std::size_t i : unfed) {
        const HeaterPath& heater = all[i];
        const Part& socket = trace.part(heater.part);
        if (parts.empty() || parts.back() != heater.part) {
            parts.push_back(heater.part);
            if (unfed.size() > 1 && parts.size() <= 6) names += (names.empty() ? "" : ", ") + socket.id;
        }
        if (heater.open_end >= 0) {
            nets.push_back(heater.open_end);
            ends += (ends.empty() ? "" : ", ") + trace.net(heater.open_end).name;
        }
    }
    for (const int blade : {trace.chassis().nodes().line_hot, trace.chassis().nodes().line_neutral}) {
        if (!string || blade < 0) continue;
        const std::span<const LeadRef> on = trace.net(blade).leads;
        if (std::any_of(on.begin(), on.end(), [&](LeadRef ref) {
                const PartKind kind = trace.part(ref.part).kind;
                return kind != PartKind::plug && kind != PartKind::cord && kind != PartKind::strip;
            }))
            continue;
        nets.push_back(blade);
        ends += (ends.empty() ? "" : ", ") + trace.net(blade).name;
    }
    if (parts.size() > 6) names += fill(" and {} more", {std::to_string(parts.size() - 6)});
    const HeaterPath& first = all[unfed.front()];
    if (nets.empty()) nets = {first.net_a, first.net_b};
    if (unfed.size() == 1)
        names = fill("{} and {} ({}, {})", {trace.chassis().lead_name({first.part, first.lead_a}),
                                            trace.chassis().lead_name({first.part, first.lead_b}),
                                            trace.part(first.part).id, trace.part(first.part).tube});
    findings.add({tw::heater_not_fed, "heater-not-fed", severity}, place_of(trace.part(first.part), first.lead_a),
                 parts, nets,
                 fill("no heater current can reach {}: no loop {}{}",
                      {names, source, ends.empty() ? std::string() : "; the way ends on nothing at " + ends}),
                 string ? "the string from the line through switch and dropper, heater by heater, to the other blade"
                        : "the heater line from its source to this socket, both legs");
}

/// Filaments that lie straight across an A battery, through switch and fuse alone, and are made for other volts.
void on_battery(const Trace& trace, const std::vector<HeaterPath>& all, Findings& findings) {
    constexpr double most_over = 1.35, least_of = 0.6;  // a fresh cell, a tired one (common practice, no source)
    const std::vector<Part>& parts = trace.chassis().parts();
    audit::Groups copper(trace.chassis().nets().size());
    for (const Part& part : parts)
        if ((part.kind == PartKind::power_switch || part.kind == PartKind::fuse || part.kind == PartKind::cord) &&
            part.leads.size() == 2)
            copper.join(part.leads[0].net, part.leads[1].net);
    for (std::size_t p = 0; p < parts.size(); ++p) {
        const Part& battery = parts[p];
        if (battery.kind != PartKind::battery || battery.role != "a" || !battery.rated_volts ||
            battery.leads.size() != 2)
            continue;
        for (const HeaterPath& heater : all) {
            const int a = battery.leads[0].net, b = battery.leads[1].net;
            const bool across = (copper.same(a, heater.net_a) && copper.same(b, heater.net_b)) ||
                                (copper.same(b, heater.net_a) && copper.same(a, heater.net_b));
            if (!across || !heater.volts || *heater.volts <= 0) continue;
            const double ratio = *battery.rated_volts / *heater.volts;
            if (ratio >= least_of && ratio <= most_over) continue;
            const Part& socket = trace.part(heater.part);
            findings.add(
                {tw::heater_on_wrong_winding, "heater-on-wrong-winding",
                 ratio > 1.5 ? Severity::stop : Severity::doubt},
                place_of(socket, heater.lead_a), {heater.part, static_cast<int>(p)}, {heater.net_a, heater.net_b},
                fill("{} of {} has a filament for {} across {}, a battery of {}",
                     {socket.id, socket.tube, say(volts(*heater.volts)), battery.id, say(volts(*battery.rated_volts))}),
                "the tube in this socket, the print on the battery, and the rheostat or resistor that the "
                "trace lacks");
        }
    }
}

void heaters(const Trace& trace, const Catalogue& catalogue, Findings& findings) {
    const std::vector<HeaterPath> all = audit::heaters_of(trace, audit::Empty::as_gap);
    std::vector<std::size_t> unfed;
    std::map<std::pair<int, int>, double> drawn;  // winding -> amperes
    // Heaters on the line's loop: those that share a net which is no blade and no bottom are of one string.
    struct String {
        std::vector<std::size_t> heaters;
        std::set<int> nets;
        double volts = 0, amps = 0;
        bool known = true, parallel = false;
    };
    std::vector<String> strings;
    const auto inner = [&](int net) {
        const NodeRoles& roles = trace.chassis().nodes();
        return net >= 0 && !trace.bottom(net) && net != roles.line_hot && net != roles.line_neutral;
    };
    for (std::size_t i = 0; i < all.size(); ++i) {
        if (!all[i].by_line || !all[i].fed) continue;
        String joined;
        joined.heaters.push_back(i);
        joined.nets = {all[i].net_a, all[i].net_b};
        for (std::size_t s = 0; s < strings.size();) {
            const bool shares = std::any_of(joined.nets.begin(), joined.nets.end(), [&](int net) {
                return inner(net) && !line_blade(trace, net) && strings[s].nets.count(net) > 0;
            });
            if (!shares) {
                ++s;
                continue;
            }
            joined.heaters.insert(joined.heaters.begin(), strings[s].heaters.begin(), strings[s].heaters.end());
            joined.nets.insert(strings[s].nets.begin(), strings[s].nets.end());
            strings.erase(strings.begin() + static_cast<std::ptrdiff_t>(s));
        }
        std::sort(joined.heaters.begin(), joined.heaters.end());
        strings.push_back(std::move(joined));
    }
    // a dropper in the middle of a string joins its two pieces
    const auto dropper = [&](const Part& part) {
        return part.leads.size() == 2 && !trace.reaches_b_plus(part.leads[0].net) &&
               !trace.reaches_b_plus(part.leads[1].net) && part.ohms && *part.ohms < 15e3 &&
               (part.kind == PartKind::cord || part.construction == "ballast" ||
                part.construction == "resistance-cord" ||
                (part.kind == PartKind::resistor && part.rated_watts.value_or(0) >= 5));
    };
    // and so does a dry rectifier, which lets every other half of the period through
    const auto halves = [&](const Part& part) {
        return part.kind == PartKind::rectifier && part.leads.size() == 2 && !trace.of_few_volts(part) &&
               (trace.heats_direct(part.leads[0].net) || trace.heats_direct(part.leads[1].net));
    };
    for (const Part& part : trace.chassis().parts()) {
        if (!dropper(part) && !halves(part)) continue;
        const auto with = [&](int net) {
            return std::find_if(strings.begin(), strings.end(), [&](const String& one) {
                return inner(net) && !line_blade(trace, net) && one.nets.count(net) > 0;
            });
        };
        const auto first = with(part.leads[0].net), second = with(part.leads[1].net);
        if (first == strings.end() || second == strings.end() || first == second) continue;
        first->heaters.insert(first->heaters.end(), second->heaters.begin(), second->heaters.end());
        std::sort(first->heaters.begin(), first->heaters.end());
        first->nets.insert(second->nets.begin(), second->nets.end());
        strings.erase(second);
    }
    std::vector<String*> string_of(all.size(), nullptr);
    std::vector<std::set<std::pair<int, int>>> seen_pairs(strings.size());
    for (String& one : strings)
        for (const std::size_t i : one.heaters) string_of[i] = &one;
    for (std::size_t i = 0; i < all.size(); ++i) {
        const HeaterPath& heater = all[i];
        const Part& socket = trace.part(heater.part);
        const std::string pins = trace.chassis().lead_name({heater.part, heater.lead_a}) + " and " +
                                 trace.chassis().lead_name({heater.part, heater.lead_b});
        const Place& place = place_of(socket, heater.lead_a);
        if (trace.untraced_near(heater.net_a) && trace.untraced_near(heater.net_b) && !heater.fed) continue;
        // a line-up: no pin of this heater is traced yet
        if (trace.chassis().level() < 2 && heater.net_a >= 0 && heater.net_b >= 0 &&
            !trace.soldered(socket, heater.lead_a) && !trace.soldered(socket, heater.lead_b))
            continue;
        if (heater.net_a >= 0 && heater.net_a == heater.net_b) {
            findings.add({tw::both_ends_one_net, "both-ends-on-one-net", Severity::stop}, place, {heater.part},
                         {heater.net_a},
                         fill("heater pins {} are one net ({}): the heater is bridged, and the tube stays cold",
                              {pins, trace.net(heater.net_a).name}),
                         "the heater pins of this socket, counted from below");
            continue;
        }
        if (!heater.fed) {
            unfed.push_back(i);
            continue;
        }
        if (heater.winding >= 0) {
            if (heater.amps) drawn[{heater.winding_part, heater.winding}] += *heater.amps;
            if (heater.volts && heater.winding_volts) {
                const double ratio = *heater.winding_volts / *heater.volts;
                if (std::fabs(ratio - 1) > 0.10) {
                    const Severity severity = ratio > 1.5 || ratio < 0.5 ? Severity::stop : Severity::doubt;
                    findings.add(
                        {tw::heater_on_wrong_winding, "heater-on-wrong-winding", severity}, place,
                        {heater.part, heater.winding_part}, {heater.net_a, heater.net_b},
                        fill("{} of {} is a {} heater on a {} winding",
                             {socket.id, socket.tube, say(volts(*heater.volts)), say(volts(*heater.winding_volts))}),
                        "whether this is the right tube for the socket, and which winding its heater pins are on");
                }
            }
        }
        if (String* string = string_of[i]; string != nullptr) {
            auto& pairs = seen_pairs[static_cast<std::size_t>(string - strings.data())];
            if (!pairs.insert(std::minmax(heater.net_a, heater.net_b)).second) string->parallel = true;
            if (heater.volts && heater.amps) {
                string->volts += *heater.volts;
                if (string->amps > 0 && std::fabs(*heater.amps - string->amps) > 0.02 * string->amps)
                    findings.add({tw::string_does_not_add_up, "string-does-not-add-up", Severity::doubt}, place,
                                 {heater.part}, {},
                                 fill("{} ({}) takes {} in a string of {}: one of the two gets the wrong volts",
                                      {socket.id, socket.tube, say(amps(*heater.amps)), say(amps(string->amps))}),
                                 "the tube in this socket; a shunt across the heater of the smaller current");
                if (string->amps == 0) string->amps = *heater.amps;
            } else {
                string->known = false;
            }
        }
    }
    not_fed(trace, all, unfed, findings);
    on_battery(trace, all, findings);
    const bool unnamed =
        std::any_of(trace.chassis().parts().begin(), trace.chassis().parts().end(), [](const Part& part) {
            return part.kind == PartKind::socket && part.type == nullptr && part.leads.size() > 1;
        });
    const bool by_capacitor =  // what drops there is no ohms
        std::any_of(trace.chassis().parts().begin(), trace.chassis().parts().end(), [&](const Part& part) {
            return part.kind == PartKind::capacitor && !part.polarised && part.farads.value_or(0) >= 1e-6 &&
                   part.leads.size() == 2 && !trace.bottom(part.leads[0].net) && !trace.bottom(part.leads[1].net) &&
                   (trace.alternating(part.leads[0].net) || trace.alternating(part.leads[1].net));
        });
    // What bridges a lamp, a heater or several drops nothing: without it the string still goes from blade to blade.
    const auto bridges = [&](const String& string, const Part& resistor) {
        const NodeRoles& roles = trace.chassis().nodes();
        if (roles.line_hot < 0 || roles.line_neutral < 0) return false;
        audit::Groups whole(trace.chassis().nets().size());
        for (const std::size_t i : string.heaters) whole.join(all[i].net_a, all[i].net_b);
        for (const Part& part : trace.chassis().parts()) {
            const bool copper = part.kind == PartKind::power_switch || part.kind == PartKind::fuse ||
                                part.kind == PartKind::lamp || (part.kind == PartKind::coil && part.role == "rf");
            if (part.leads.size() == 2 && &part != &resistor && (copper || dropper(part)))
                whole.join(part.leads[0].net, part.leads[1].net);
        }
        return whole.same(roles.line_hot, roles.line_neutral);
    };
    // A resistor beside a lamp carries what the lamp leaves of the string's amperes.
    const auto left_by_the_lamp = [&](const Part& resistor, double amps_there) {
        for (const Part& lamp : trace.chassis().parts()) {
            if (lamp.kind != PartKind::lamp || lamp.leads.size() != 2 ||
                std::minmax(lamp.leads[0].net, lamp.leads[1].net) !=
                    std::minmax(resistor.leads[0].net, resistor.leads[1].net))
                continue;
            const LampRow* row = lamp.lamp_type.empty() ? nullptr : catalogue.lamp(lamp.lamp_type);
            const double taken = lamp.rated_amps ? *lamp.rated_amps : row != nullptr ? row->amps : amps_there;
            return amps_there - taken;
        }
        return 0.0;
    };
    for (const String& string : strings) {
        const bool cut = std::any_of(string.nets.begin(), string.nets.end(), [&](int net) {
            const std::span<const LeadRef> on = trace.net(net).leads;
            return !trace.bottom(net) && std::any_of(on.begin(), on.end(), [&](LeadRef ref) {
                return trace.part(ref.part).kind == PartKind::untraced;
            });
        });
        if (cut || by_capacitor || unnamed || !string.known || string.parallel ||
            trace.chassis().family() == Family::portable)
            continue;
        double resistance_volts = 0;
        std::vector<int> concerned{all[string.heaters.front()].part};
        for (const Part& part : trace.chassis().parts()) {
            // A dropper or resistance cord stands between a line blade and the first heater.
            if (!dropper(part)) continue;
            const bool here = std::any_of(part.leads.begin(), part.leads.end(), [&](const Lead& lead) {
                return inner(lead.net) && !line_blade(trace, lead.net) && string.nets.count(lead.net) > 0;
            });
            if (!here && strings.size() != 1) continue;
            const double amps_through = bridges(string, part) ? left_by_the_lamp(part, string.amps) : string.amps;
            if (amps_through <= 0) continue;
            resistance_volts += *part.ohms * amps_through;
            concerned.push_back(static_cast<int>(&part - trace.chassis().parts().data()));
        }
        const std::vector<Part>& parts = trace.chassis().parts();
        const bool halved = std::any_of(parts.begin(), parts.end(), halves);
        const double line = trace.chassis().line().volts * (halved ? std::sqrt(0.5) : 1);
        const double sum = string.volts + resistance_volts;
        if (std::fabs(sum - line) > 0.15 * line)
            findings.add(
                {tw::string_does_not_add_up, "string-does-not-add-up", Severity::doubt},
                trace.part(all[string.heaters.front()].part).place, concerned, {},
                fill(halved ? "the heaters of the string add up to {}, with what drops before them ({}) to {}; the "
                              "line through a rectifier is {}"
                            : "the heaters of the string add up to {}, with what drops before them ({}) to {}; the "
                              "line is {}",
                     {say(volts(string.volts)),
                      concerned.size() > 1 ? trace.part(concerned[1]).id : std::string("nothing"), say(volts(sum)),
                      say(volts(line))}),
                "a tube, a ballast or a resistance cord that the trace lacks");
    }
    for (const auto& [winding, amps] : drawn) {
        const Part& transformer = trace.part(winding.first);
        const PartWinding& of = transformer.windings[at(winding.second)];
        double total = amps;
        const auto same = [&](const Part& lamp) {
            const std::pair<int, int> nets =
                std::minmax(transformer.leads[at(of.leads.front())].net, transformer.leads[at(of.leads.back())].net);
            return lamp.leads.size() == 2 &&
                   std::pair<int, int>(std::minmax(lamp.leads[0].net, lamp.leads[1].net)) == nets;
        };
        for (const Part& part : trace.chassis().parts()) {
            if (part.kind != PartKind::lamp || !same(part)) continue;
            const LampRow* row = part.lamp_type.empty() ? nullptr : catalogue.lamp(part.lamp_type);
            if (part.rated_amps) {
                total += *part.rated_amps;
            } else if (row != nullptr) {
                total += row->amps;
            }
        }
        if (of.amps && total > 1.05 * *of.amps)
            findings.add({tw::heater_winding_overloaded, "heater-winding-overloaded",
                          total > 1.3 * *of.amps ? Severity::doubt : Severity::note},
                         of.place, {winding.first}, {},
                         fill("heaters and lamps draw {} from the {} winding of {}, which is marked {}",
                              {say(tubewright::amps(total)), of.name, transformer.id, say(tubewright::amps(*of.amps))}),
                         "the types in the sockets and of the lamps; the marking of the winding");
    }
}

// --- Values, history, nodes
// ------------------------------------------------------------------------------------------------------------------------

/// The mark of a primary of two leads and of those that share one net, and one alone, with it.
double volts_with_those_in_series(const Part& part, const PartWinding& winding) {
    const auto ends = [&](const PartWinding& one) {
        return std::pair(part.leads[at(one.leads[0])].net, part.leads[at(one.leads[1])].net);
    };
    const auto [a, b] = ends(winding);
    double volts = winding.volts.value_or(0);
    for (const PartWinding& other : part.windings) {
        if (&other == &winding || other.role != WindingRole::primary || other.leads.size() != 2) continue;
        const auto [c, d] = ends(other);
        if ((a == c || a == d) != (b == c || b == d)) volts += other.volts.value_or(0);
    }
    return volts;
}

void values(const Trace& trace, Findings& findings) {
    const Rule rule{tw::implausible_value, "implausible-value", Severity::doubt};
    const int built = trace.chassis().built().value_or(0);
    const int parts = static_cast<int>(trace.chassis().parts().size());
    for (int p = 0; p < parts; ++p) {
        const Part& part = trace.part(p);
        const auto odd = [&](std::string message, std::string look_at) {
            findings.add(rule, part.place, {p}, {}, std::move(message), std::move(look_at));
        };
        const std::string print = "the print or the colours on " + part.id + ", and the unit written in the file";
        if (part.kind == PartKind::capacitor && part.farads) {
            const double farads = *part.farads;
            const bool heats = std::any_of(part.leads.begin(), part.leads.end(),
                                           [&](const Lead& lead) { return trace.heats_direct(lead.net); });
            const double most = !part.polarised ? 25e-6 : heats ? 50e-3 : 5e-3;
            if (farads > most)
                odd(fill("{} is given {}: no such {} stands in a set of this kind",
                         {part.id, say(tubewright::farads(farads)), part.polarised ? "electrolytic" : "capacitor"}),
                    print);
            if (farads < 0.5e-12)
                odd(fill("{} is given {}: less than the wire to it", {part.id, say(tubewright::farads(farads))}),
                    print);
            if (part.polarised && farads < 0.2e-6)
                odd(fill("{} is an electrolytic of {}: too small for one", {part.id, say(tubewright::farads(farads))}),
                    print);
        }
        if (part.kind == PartKind::capacitor && part.rated_volts && (*part.rated_volts < 2 || *part.rated_volts > 10e3))
            odd(fill("{} is rated {}", {part.id, say(volts(*part.rated_volts))}), print);
        if (part.kind == PartKind::resistor && part.ohms) {
            if (*part.ohms < 0.05 || *part.ohms > 50e6)
                odd(fill("{} is given {}: no such resistor stands in a set of this kind",
                         {part.id, say(ohms(*part.ohms))}),
                    print);
        }
        if (part.kind == PartKind::resistor && part.rated_watts &&
            (*part.rated_watts < 0.05 || *part.rated_watts > 300))
            odd(fill("{} is rated {}", {part.id, say(watts(*part.rated_watts))}), print);
        if (part.kind == PartKind::control && part.ohms && (*part.ohms < 1 || *part.ohms > 20e6))
            odd(fill("{} is a control of {}", {part.id, say(ohms(*part.ohms))}), print);
        if (part.kind == PartKind::coil && part.henries && *part.henries > 500)
            odd(fill("{} is given {}", {part.id, say(henries(*part.henries))}), print);
        if (part.kind == PartKind::coil && part.ohms && *part.ohms > 50e3)
            odd(fill("{} is given {}: no coil has that", {part.id, say(ohms(*part.ohms))}), print);
        if (part.kind == PartKind::fuse && part.rated_amps && (*part.rated_amps < 0.02 || *part.rated_amps > 40))
            odd(fill("{} is a fuse of {}", {part.id, say(amps(*part.rated_amps))}), print);
        for (const PartWinding& winding : part.windings) {
            const bool heater = winding.role == WindingRole::heater || winding.role == WindingRole::rectifier_heater;
            if (heater && winding.volts && (*winding.volts < 1 || *winding.volts > 150))
                odd(fill("the {} winding of {} is given {}", {winding.name, part.id, say(volts(*winding.volts))}),
                    "the tube chart for the heater volts");
            if (winding.role == WindingRole::plate && winding.volts && (*winding.volts < 20 || *winding.volts > 3000))
                odd(fill("the {} winding of {} is given {}", {winding.name, part.id, say(volts(*winding.volts))}),
                    "a reading with the rectifier out, each half to the tap");
            if (winding.role == WindingRole::primary && winding.volts && winding.leads.size() == 2 &&
                std::fabs(volts_with_those_in_series(part, winding) / trace.chassis().line().volts - 1) > 0.3)
                findings.add({tw::line_misfit, "line-misfit", Severity::stop}, winding.place, {p}, {},
                             fill("the primary of {} is for {} and the set's line is {}: every volt and every loss is "
                                  "another's",
                                  {part.id, say(volts(*winding.volts)), say(volts(trace.chassis().line().volts))}),
                             "the label, the voltage selector, and the line element of the file (H0)");
        }
        if (part.since) {
            if (built > 0 && *part.since < built)
                findings.add({tw::history_out_of_order, "history-out-of-order", Severity::note}, part.place, {p}, {},
                             fill("{} was replaced in {}, before the set was built ({})",
                                  {part.id, std::to_string(*part.since), std::to_string(built)}),
                             "the date code on the part");
        }
    }
    if (trace.chassis().line().supply != "battery" &&
        (trace.chassis().line().volts < 5 || trace.chassis().line().volts > 300 || trace.chassis().line().hertz > 400))
        findings.add(
            rule, {trace.chassis().file(), 0, 0}, {}, {},
            fill("the line is given {}, {} cycles", {say(volts(trace.chassis().line().volts)),
                                                     std::to_string(static_cast<int>(trace.chassis().line().hertz))}),
            "the label of the set");
    // What keeps the metal of a floating set from the line.
    const NodeRoles& roles = trace.chassis().nodes();
    constexpr double least_isolation = 47e3;
    if (roles.b_minus >= 0 && roles.chassis_metal >= 0 && roles.b_minus != roles.chassis_metal &&
        (trace.chassis().family() == Family::series_string || trace.chassis().family() == Family::floating_b_minus ||
         trace.chassis().family() == Family::doubler))
        for (std::size_t p = 0; p < trace.chassis().parts().size(); ++p) {
            const Part& part = trace.chassis().parts()[p];
            if (part.kind != PartKind::resistor || !part.ohms || part.leads.size() != 2 ||
                *part.ohms >= least_isolation)
                continue;
            if (std::minmax(part.leads[0].net, part.leads[1].net) == std::minmax(roles.b_minus, roles.chassis_metal))
                findings.add(rule, part.place, {static_cast<int>(p)}, {roles.b_minus, roles.chassis_metal},
                             fill("{} joins B-minus to the metal by {}: it keeps the line off the metal, and such have "
                                  "{} or more",
                                  {part.id, say(ohms(*part.ohms)), say(ohms(least_isolation))}),
                             "its colours, by a meter, plug out");
        }
    // A grid leak straight from grid to bottom, and a cathode resistor, by the place they stand in.
    for (const Unit& unit : trace.units()) {
        const Part& socket = trace.part(unit.part);
        for (const PinElectrode& pin : unit.pins) {
            if (pin.electrode != Electrode::control_grid && pin.electrode != Electrode::cathode) continue;
            if (pin.electrode == Electrode::cathode && audit::rectifies(socket, pin)) continue;
            const int net = socket.leads[at(pin.lead)].net;
            if (net < 0 || trace.bottom(net)) continue;
            for (const LeadRef ref : trace.net(net).leads) {
                const Part& part = trace.part(ref.part);
                if (part.kind != PartKind::resistor || !part.ohms || part.leads.size() != 2) continue;
                const int other = part.leads[at(1 - ref.lead)].net;
                if (!trace.bottom(other)) continue;
                if (pin.electrode == Electrode::control_grid && *part.ohms < 500)
                    findings.add(rule, part.place, {ref.part, unit.part}, {net},
                                 fill("{} is a grid leak of {} at {}: it shorts the signal",
                                      {part.id, say(ohms(*part.ohms)), trace.pin_name(unit.part, pin)}),
                                 "the colours of " + part.id + "; a zero or a multiplier misread");
                if (pin.electrode == Electrode::control_grid && *part.ohms >= 500) {
                    // With what couples to it the leak says where the lows end: 500 cycles is no audio stage. Small
                    // micas belong to oscillators and detectors.
                    double largest = 0;
                    int coupler = -1;
                    for (const LeadRef to : trace.net(net).leads) {
                        const Part& c = trace.part(to.part);
                        if (c.kind != PartKind::capacitor || !c.farads || c.leads.size() != 2) continue;
                        const int far = c.leads[at(1 - to.lead)].net;
                        if (far < 0 || trace.bottom(far) || *c.farads <= largest) continue;
                        largest = *c.farads;
                        coupler = to.part;
                    }
                    const double corner = largest > 0 ? 1 / (2 * pi * *part.ohms * largest) : 0;
                    if (largest >= least_audio_coupler && corner > highest_audio_corner)
                        findings.add(rule, part.place, {ref.part, coupler, unit.part}, {net},
                                     fill("{} of {} is the grid leak at {}: behind {} it cuts off all below {}",
                                          {part.id, say(ohms(*part.ohms)), trace.pin_name(unit.part, pin),
                                           trace.part(coupler).id + " (" + say(farads(largest)) + ")",
                                           std::to_string(10 * std::lround(corner / 10)) + " cycles"}),
                                     "the colours of " + part.id + "; a zero or a multiplier misread");
                }
                if (pin.electrode == Electrode::cathode && *part.ohms > 500e3)
                    findings.add(rule, part.place, {ref.part, unit.part}, {net},
                                 fill("{} is a cathode resistor of {} at {}: it cuts the tube off",
                                      {part.id, say(ohms(*part.ohms)), trace.pin_name(unit.part, pin)}),
                                 "the colours of " + part.id + "; a zero or a multiplier misread");
            }
        }
    }
}

void line_nodes(const Trace& trace, Findings& findings) {
    const NodeRoles& roles = trace.chassis().nodes();
    if (trace.chassis().family() != Family::ac_transformer) return;
    const int metal = roles.chassis_metal >= 0 ? roles.chassis_metal
                      : roles.b_minus >= 0     ? roles.b_minus
                                               : trace.chassis().reference();
    const Rule rule{tw::line_on_metal, "line-on-metal", Severity::stop};
    const std::string danger =
        ", in a set with a power transformer: one way round of the plug everything that can be touched stands at the "
        "line";
    bool told = false;
    const auto on_metal = [&](int blade, const char* which) {
        if (blade < 0 || metal < 0) return;
        if (blade == metal) {
            told = true;
            findings.add(
                rule, trace.net(blade).place, {}, {blade},
                fill("the {} line blade is the chassis metal itself{}", {which, danger}),
                "the primary leads, the cord, the switch; ohms from each blade to the metal, plug out, switch on");
        } else if (trace.same_direct(blade, metal)) {
            told = true;
            findings.add(
                rule, trace.net(blade).place, {}, {blade, metal},
                fill("the {} line blade reaches the chassis metal for direct current{}", {which, danger}),
                "what joins the primary side to the chassis; ohms from each blade to the metal, plug out, switch "
                "on");
        }
    };
    on_metal(roles.line_hot, "hot");
    on_metal(roles.line_neutral, "neutral");
    if (!told && trace.chassis().hot() && metal >= 0)
        findings.add(
            rule, trace.net(metal).place, {}, {metal}, "a line blade reaches the chassis metal through a part" + danger,
            "what joins the primary side to the chassis; ohms from each blade to the metal, plug out, switch on");
}

/// What the file says a hand reaches, and a blade reaches too through coils, switches and few ohms alone. Metal and
/// B-minus themselves are the kind of set that it is.
void live_in_reach(const Trace& trace, Findings& findings) {
    const Chassis& set = trace.chassis();
    const NodeRoles& roles = set.nodes();
    const LineReach reach = line_reach(set);
    const bool metal_live = set.family() == Family::ac_transformer &&
                            (set.hot() || (roles.chassis_metal >= 0 && reach.live[at(roles.chassis_metal)]));
    if (metal_live) return;  // told as that
    for (int net = 0; net < static_cast<int>(set.nets().size()); ++net) {
        if (!trace.net(net).touch || !reach.live[at(net)] || net == roles.chassis_metal || net == roles.b_minus ||
            net == roles.earth)
            continue;
        std::vector<int> parts;
        std::string name = trace.net(net).name;
        for (const LeadRef ref : trace.net(net).leads)
            if (trace.part(ref.part).touch) {
                if (parts.empty()) name = set.lead_name(ref);
                parts.push_back(ref.part);
            }
        const Place& place = parts.empty() ? trace.net(net).place : trace.part(parts.front()).place;
        findings.add({tw::live_in_reach, "live-in-reach", Severity::stop}, place, parts, {net},
                     fill("a hand reaches {}, and so does the line, with no capacitor between: one way round of the "
                          "plug, or both, it stands at the line",
                          {name}),
                     "the capacitor that belongs between it and its coil, drawn as a wire; which lug the other end of "
                     "that coil is on");
    }
}

// H22: what the line reaches through one old capacitor bears no earth (a doubt), and without any it is shorted by one
// (a stop).
void earthed_metal(const Trace& trace, Findings& findings) {
    const Chassis& set = trace.chassis();
    const Earth earth = earth_of(set);
    if (!earth.forbidden()) return;
    std::vector<int> parts;
    for (const std::vector<std::string>* ids : {&earth.over, &earth.old_capacitors})
        for (const std::string& id : *ids) parts.push_back(set.part(id));
    std::string old;
    const std::size_t count = earth.old_capacitors.size();
    for (std::size_t k = 0; k < count; ++k)
        old += (k == 0 ? "" : k + 1 < count ? ", " : " and ") + earth.old_capacitors[k];
    const Place& place = earth.over.empty() ? trace.net(set.nodes().earth).place : trace.part(parts.front()).place;
    const std::string because =
        earth.direct ? "the line reaches it without a transformer between: one way round of the plug, a dead short"
        : earth.hot  ? "B-minus stands at the line: the earth is one failed part away from the line's other side"
        : count == 1
            ? fill("only {} stands between the line and it, not of class Y: shorted, it puts the line to earth", {old})
            : fill(
                  "{} stand between the line and it, not of class Y: any of them, shorted, puts the line to "
                  "earth",
                  {old});
    findings.add({tw::earth_on_metal, "earth-on-metal", earth.direct ? Severity::stop : Severity::doubt}, place, parts,
                 {earth.metal}, fill("H22: the metal is earthed ({}), and {}", {earth.name, because}),
                 earth.hot ? "what the earth was put on for; it comes off, and stays off"
                           : fill("where the earth ends; it comes off until {} {} gone or class Y, and a three-wire "
                                  "plug earths no less than a wire",
                                  {old, count == 1 ? "is" : "are"}));
}

void readers_notes(const Trace& trace, std::vector<Finding>& rows) {
    for (const Notice& notice : trace.chassis().notices()) {
        Finding finding;
        finding.severity = notice.severity == Severity::error ? Severity::stop : notice.severity;
        finding.number = notice.number;
        finding.rule = "reading";
        finding.place = notice.place;
        finding.message = notice.message;
        finding.look_at = notice.remedy;
        rows.push_back(std::move(finding));
    }
}

std::vector<Finding> as_traced(const Chassis& chassis, const Catalogue& catalogue) {
    const Trace trace(chassis);
    Findings findings(trace);
    lone_words(trace, findings);
    lone_leads(trace, findings);
    both_ends(trace, findings);
    shorted_supply(trace, findings);
    sections_adrift(trace, findings);
    tube_units(trace, findings);
    sockets(trace, catalogue, findings);
    conflicts(trace, findings);
    signal_path(trace, findings);
    filters(trace, findings);
    fighting_windings(trace, findings);
    fighting_batteries(trace, findings);
    ideal_windings(trace, findings);
    heaters(trace, catalogue, findings);
    values(trace, findings);
    audit::supply(trace, catalogue, findings);
    audit::stages(trace, findings);
    line_nodes(trace, findings);
    live_in_reach(trace, findings);
    earthed_metal(trace, findings);
    std::vector<Finding> rows = findings.take();
    readers_notes(trace, rows);
    return rows;
}

/// Sockets of which much is said that is not said when their pins are counted the other way round.
void mirrored(const Chassis& chassis, const Catalogue& catalogue, std::vector<Finding>& rows) {
    constexpr std::ptrdiff_t least_said = 3, least_gone = 3;
    constexpr int most_tried = 4;  // each is an audit of its own
    const auto told = [](const Finding& f) { return f.severity != Severity::note; };
    const std::ptrdiff_t before = std::count_if(rows.begin(), rows.end(), told);
    int tried = 0;
    std::vector<Finding> found;
    for (std::size_t p = 0; p < chassis.parts().size() && tried < most_tried; ++p) {
        const Part& socket = chassis.parts()[p];
        if (socket.kind != PartKind::socket || socket.type == nullptr) continue;
        const std::ptrdiff_t said = std::count_if(rows.begin(), rows.end(), [&](const Finding& f) {
            return told(f) && std::find(f.parts.begin(), f.parts.end(), socket.id) != f.parts.end();
        });
        if (said < least_said) continue;
        ++tried;
        const std::vector<Finding> after = as_traced(turned_over(chassis, static_cast<int>(p)), catalogue);
        const std::ptrdiff_t gone = before - std::count_if(after.begin(), after.end(), told);
        if (gone < least_gone) continue;
        Finding finding;
        finding.severity = Severity::stop;
        finding.number = tw::socket_mirrored;
        finding.rule = "socket-mirrored";
        finding.place = socket.place;
        finding.parts = {socket.id};
        finding.message = fill(
            "{} ({}) reads as if it was counted from above: with its pins the other way round {} of the {} findings "
            "of this set are gone",
            {socket.id, socket.tube, std::to_string(gone), std::to_string(before)});
        finding.look_at = fill(
            "this socket from below, from the key or the heavy pins, clockwise; then view=\"top\" on {}, "
            "or its pins turned round",
            {socket.id});
        found.push_back(std::move(finding));
    }
    rows.insert(rows.end(), found.begin(), found.end());
}

}  // namespace

std::vector<Finding> audit_graph(const Chassis& chassis, const Catalogue& catalogue) {
    std::vector<Finding> rows = as_traced(chassis, catalogue);
    mirrored(chassis, catalogue, rows);
    std::sort(rows.begin(), rows.end(), [](const Finding& a, const Finding& b) {
        return std::tuple(-static_cast<int>(a.severity), a.place.line, a.number, a.place.column, a.parts, a.message) <
               std::tuple(-static_cast<int>(b.severity), b.place.line, b.number, b.place.column, b.parts, b.message);
    });
    return rows;
}

bool must_stop(std::span<const Finding> findings) {
    return std::any_of(findings.begin(), findings.end(), [](const Finding& f) {
        return f.severity == Severity::stop || f.severity == Severity::doubt || f.severity == Severity::error;
    });
}

std::vector<ReadbackPin> readback(const Chassis& chassis) {
    std::vector<ReadbackPin> rows;
    for (std::size_t p = 0; p < chassis.parts().size(); ++p) {
        const Part& socket = chassis.parts()[p];
        if (socket.kind != PartKind::socket) continue;
        const std::vector<PinElectrode> electrodes = audit::electrodes_of(socket);
        for (std::size_t i = 0; i < socket.leads.size(); ++i) {
            const Lead& lead = socket.leads[i];
            ReadbackPin row;
            row.socket = socket.id;
            row.tube = socket.tube;
            row.pin = lead.name;
            const Pin* pin = socket.type == nullptr ? nullptr : socket.type->pin(lead.name);
            std::string last;
            for (const PinElectrode& one : electrodes) {
                if (one.lead != static_cast<int>(i) || pin == nullptr) continue;
                const std::string name = audit::trade_name(socket, one);
                if (name != last) row.electrode += (row.electrode.empty() ? "" : ", ") + name;
                last = name;
            }
            if (lead.net >= 0) {
                const Net& net = chassis.nets()[static_cast<std::size_t>(lead.net)];
                row.net = net.name;
                // what the file writes at this pin first, then the rest of its net
                const std::string here = socket.id + "." + lead.name;
                std::vector<LeadRef> order(net.leads.begin(), net.leads.end());
                const auto rest = std::stable_partition(
                    order.begin(), order.end(), [&](LeadRef ref) { return chassis.data().written(ref) == here; });
                for (auto place = order.begin(); place != order.end(); ++place) {
                    const LeadRef ref = *place;
                    const bool at_pin = place < rest;
                    const std::string name = chassis.lead_name(ref);
                    const bool twice = std::find(row.soldered.begin(), row.soldered.end(), name) != row.soldered.end();
                    const bool inside = ref.part == static_cast<int>(p) && pin != nullptr &&
                                        joined_inside(*socket.type, lead.name, socket.leads[at(ref.lead)].name);
                    if (ref != LeadRef{static_cast<int>(p), static_cast<int>(i)} && !twice && !inside)
                        row.soldered.push_back(name), row.at_pin += at_pin ? 1 : 0;
                }
            }
            rows.push_back(std::move(row));
        }
    }
    // V2 before V10, whatever the order of the file
    const auto rank = [](const std::string& id) {
        const std::size_t digit = std::min(id.find_first_of("0123456789"), id.size());
        const std::string figures = id.substr(digit);
        return std::tuple(id.substr(0, digit), figures.size(), figures);
    };
    std::stable_sort(rows.begin(), rows.end(), [&](const ReadbackPin& a, const ReadbackPin& b) {
        return a.socket != b.socket && rank(a.socket) < rank(b.socket);
    });
    return rows;
}

}  // namespace tubewright
