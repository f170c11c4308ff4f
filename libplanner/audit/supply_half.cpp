// SPDX-License-Identifier: MIT
// Supply and line as traced: ohms and volts of windings against what copper of their size and the rest of the set ask
// for, fields and chokes, the first filter against the rectifier's row, the line switch, and the two feeds of the
// output tube. Factors are wide: they catch a zero or a multiplier misread, not a poor transformer. Tests:
// tests/audit/planted_test.cpp.
#include <algorithm>
#include <cmath>

#include "audit/findings.hpp"
#include "audit/numbers.hpp"
#include "audit/wording.hpp"

namespace tubewright::audit {
namespace {

// Common practice, no source: where a value stops being one that somebody chose.
constexpr double least_field_ohms = 100;
constexpr double longest_choke_seconds = 0.25;  ///< henries over ohms; 10 H of 60 ohm, a large choke, is .17
constexpr double primary_ohms_share = 0.035;    ///< of volts squared over volt-amperes
constexpr double far_off = 5;
/// A plate half in ohms, of volts squared over volt-amperes: .045 of volts over its rms amperes, half of the
/// volt-amperes in B-plus.
constexpr double plate_ohms_share = 0.09;
constexpr double usual_least_va = 30, usual_most_va = 200;  ///< where the file gives none
/// Halves: volts within 3 % decide, a quarter in ohms is healthy; a misreading is further off.
constexpr double halves_volts = 0.03, halves_ohms = 0.35;
constexpr double least_peak_share = 0.35;  ///< of the volts that the filters are printed for

const Rule implausible{tw::implausible_value, "implausible-value", Severity::doubt};

void choke_ohms(const Trace& trace, int index, Findings& findings) {
    const Part& part = trace.part(index);
    if ((part.role != "field" && part.role != "choke") || !part.ohms) return;
    const bool transformer_set = trace.chassis().family() == Family::ac_transformer;
    const double ohms_there = *part.ohms;
    const bool in_supply = transformer_set && part.leads.size() >= 2 && part.leads[0].net >= 0 &&
                           part.leads[1].net >= 0 && trace.b_plus(part.leads[0].net) && trace.b_plus(part.leads[1].net);
    if (part.role == "field" && in_supply && ohms_there < least_field_ohms)
        findings.add(implausible, part.place, {index}, {},
                     fill("{} is a field of {} in the B-plus of a set with a power transformer: the current there "
                          "cannot magnetise it (such fields have some hundreds to some thousands of ohms)",
                          {part.id, say(ohms(ohms_there))}),
                     "its ohms by meter, plug out; a zero or a multiplier misread");
    else if (part.henries && ohms_there > 0 && *part.henries / ohms_there > longest_choke_seconds)
        findings.add(implausible, part.place, {index}, {},
                     fill("{} is given {} and {}: so many henries cannot be wound with so little resistance",
                          {part.id, say(henries(*part.henries)), say(ohms(ohms_there))}),
                     "its ohms by meter, plug out; a zero or a multiplier misread");
}

double sum(const std::vector<double>& values) {
    double total = 0;
    for (const double value : values) total += value;
    return total;
}

void primary_ohms(const Part& part, int index, const PartWinding& winding, Findings& findings) {
    if (!part.rated_va || *part.rated_va <= 0 || !winding.volts || winding.ohms.empty()) return;
    const double total = sum(winding.ohms);
    const double usual = primary_ohms_share * *winding.volts * *winding.volts / *part.rated_va;
    if (total <= 0 || (total < far_off * usual && total > usual / far_off)) return;
    findings.add(implausible, winding.place, {index}, {},
                 fill("the primary of {} is given {}; one for {} and {} VA has about {}",
                      {part.id, say(ohms(total)), say(volts(*winding.volts)),
                       std::to_string(std::lround(*part.rated_va)), say(ohms(usual))}),
                 "its ohms by meter, plug out and the switch on; a zero or a multiplier misread");
}

/// The volts of the filters that stand on B-plus, as printed; 0 where none is.
double filters_printed(const Trace& trace) {
    double most = 0;
    for (const Part& part : trace.chassis().parts())
        if (part.kind == PartKind::capacitor && part.polarised && part.rated_volts && part.leads.size() == 2 &&
            trace.b_plus(part.leads[0].net))
            most = std::max(most, *part.rated_volts);
    return most;
}

void plate_winding(const Trace& trace, int index, const PartWinding& winding, Findings& findings) {
    const Part& part = trace.part(index);
    std::vector<double> each = winding.noload_volts;
    if (each.empty() && winding.volts) each.push_back(*winding.volts);
    const double side = each.empty() ? 0 : *std::max_element(each.begin(), each.end());
    if (each.size() == 2 && std::fabs(each[0] / each[1] - 1) > halves_volts)
        findings.add(implausible, winding.place, {index}, {},
                     fill("the halves of the plate winding of {} are given {} and {}: volts within 3 % are healthy, "
                          "more is shorted turns or a figure misread",
                          {part.id, say(volts(each[0])), say(volts(each[1]))}),
                     "each half to the centre tap by meter, rectifier out; never plate to plate");
    const double printed_volts = filters_printed(trace);
    if (side > 0 && printed_volts > 0 && side * std::sqrt(2.0) < least_peak_share * printed_volts)
        findings.add(
            implausible, winding.place, {index}, {},
            fill("{} a side, as the plate winding of {} is given, peaks at {}: no supply for filters marked {}",
                 {say(volts(side)), part.id, say(volts(side * std::sqrt(2.0))), say(volts(printed_volts))}),
            "its volts by meter, rectifier out; a zero misread");
    if (winding.ohms.empty()) return;
    if (winding.ohms.size() == 2 &&
        std::fabs(winding.ohms[0] - winding.ohms[1]) > halves_ohms * std::min(winding.ohms[0], winding.ohms[1]))
        findings.add(
            implausible, winding.place, {index}, {},
            fill("the halves of the plate winding of {} are given {} and {}: a quarter is usual, the outer half "
                 "being longer",
                 {part.id, say(ohms(winding.ohms[0])), say(ohms(winding.ohms[1]))}),
            "each half to the centre tap by meter, plug out");
    if (side <= 0) return;
    const double least_va = part.rated_va.value_or(usual_least_va), most_va = part.rated_va.value_or(usual_most_va);
    const double most = far_off * plate_ohms_share * side * side / least_va;
    const double least = plate_ohms_share * side * side / most_va / far_off;
    for (const double half : winding.ohms) {
        if (half <= most && half >= least) continue;
        findings.add(implausible, winding.place, {index}, {},
                     fill("a half of the plate winding of {} is given {}; one for {} has between {} and {}",
                          {part.id, say(ohms(half)), say(volts(side)), say(ohms(least)), say(ohms(most))}),
                     "its ohms by meter, plug out; a zero or a multiplier misread");
        break;
    }
}

/// Microfarads on the rectifier's output against its row.
void first_filter(const Trace& trace, const Catalogue& catalogue, int index, Findings& findings) {
    const Part& part = trace.part(index);
    if (part.type == nullptr || !part.type->is_rectifier()) return;
    const std::size_t count = trace.chassis().parts().size();
    const RectifierType* row = catalogue.rectifier(part.type->type);
    if (row == nullptr || !row->max_first_filter_farads) return;
    // In a back-bias set a filter to the metal has the field before it: only those to the centre tap are the first.
    std::vector<int> taps;
    for (const Part& source : trace.chassis().parts())
        for (const PartWinding& winding : source.windings)
            if (winding.role == WindingRole::plate && winding.leads.size() == 3)
                taps.push_back(source.leads[at(winding.leads[1])].net);
    const auto home = [&](int net) {
        return taps.empty() ? trace.bottom(net) : std::find(taps.begin(), taps.end(), net) != taps.end();
    };
    double farads_there = 0;
    std::vector<int> parts{index};
    for (std::size_t c = 0; c < count; ++c) {
        const Part& filter = trace.chassis().parts()[c];
        if (filter.kind != PartKind::capacitor || !filter.farads || filter.leads.size() != 2) continue;
        const int a = filter.leads[0].net, b = filter.leads[1].net;
        const auto on_this = [&](int net) {
            if (!trace.rectifier_output(net)) return false;
            return std::any_of(trace.net(net).leads.begin(), trace.net(net).leads.end(),
                               [&](LeadRef ref) { return ref.part == index; });
        };
        if (!(on_this(a) && home(b)) && !(on_this(b) && home(a))) continue;
        farads_there += *filter.farads;
        parts.push_back(static_cast<int>(c));
    }
    if (farads_there > 1.25 * *row->max_first_filter_farads)
        findings.add(implausible, part.place, parts, {},
                     fill("the first filter on {} ({}) is {}; its row allows {}: each charge of it takes more than the "
                          "tube and the plate winding are made for",
                          {part.id, part.tube, say(farads(farads_there)), say(farads(*row->max_first_filter_farads))}),
                     "the print on the first filter; whether someone fitted a larger one");
}

/// The switch of a set is found open as often as closed; what follows is of the set switched on.
void line_switch(const Trace& trace, int index, Findings& findings) {
    const Part& part = trace.part(index);
    if (part.kind != PartKind::power_switch || part.role != "line" || part.closed) return;
    findings.add({tw::line_switch_open, "line-switch-open", Severity::note}, part.place, {index}, {},
                 fill("{} is written open: nothing reaches the set, and every solved figure is of the set switched on",
                      {part.id}),
                 "whether the switch closes at all: ohms across it, plug out");
}

/// A plate that stands straight on B-plus while the screen hangs on the output transformer: two pins exchanged.
void output_feeds(const Trace& trace, const Unit& unit, Findings& findings) {
    const Part& socket = trace.part(unit.part);
    if (socket.type == nullptr || socket.type->tube_class.find("power") == std::string::npos) return;
    const auto on_primary = [&](int net) {
        if (net < 0) return false;
        for (const LeadRef ref : trace.net(net).leads) {
            const Part& part = trace.part(ref.part);
            for (const PartWinding& winding : part.windings)
                if (winding.role == WindingRole::output_primary &&
                    std::find(winding.leads.begin(), winding.leads.end(), ref.lead) != winding.leads.end())
                    return true;
        }
        return false;
    };
    const PinElectrode *plate = nullptr, *screen = nullptr;
    for (const PinElectrode& pin : unit.pins) {
        if (pin.electrode == Electrode::plate) plate = &pin;
        if (pin.electrode == Electrode::screen) screen = &pin;
    }
    if (plate == nullptr || screen == nullptr) return;
    const int plate_net = socket.leads[at(plate->lead)].net, screen_net = socket.leads[at(screen->lead)].net;
    if (on_primary(plate_net) || !on_primary(screen_net) || trace.b_plus(screen_net) || trace.untraced_near(plate_net))
        return;
    findings.add({tw::output_feeds_exchanged, "output-feeds-exchanged", Severity::stop}, place_of(socket, screen->lead),
                 {unit.part}, {screen_net, plate_net},
                 fill("{} hangs on the output transformer and {} does not: the screen would carry the plate's current "
                      "and burn",
                      {trace.pin_name(unit.part, *screen), trace.pin_name(unit.part, *plate)}),
                 "both pins of this socket, counted from below; the plate is the one with the transformer's lead");
}

}  // namespace

void supply(const Trace& trace, const Catalogue& catalogue, Findings& findings) {
    for (int index = 0; index < static_cast<int>(trace.chassis().parts().size()); ++index) {
        const Part& part = trace.part(index);
        if (part.kind == PartKind::coil) choke_ohms(trace, index, findings);
        if (part.kind == PartKind::transformer && part.role == "power")
            for (const PartWinding& winding : part.windings) {
                if (winding.role == WindingRole::primary) primary_ohms(part, index, winding, findings);
                if (winding.role == WindingRole::plate) plate_winding(trace, index, winding, findings);
            }
        if (part.kind == PartKind::socket) first_filter(trace, catalogue, index, findings);
        line_switch(trace, index, findings);
    }
    for (const Unit& unit : trace.units()) output_feeds(trace, unit, findings);
}

}  // namespace tubewright::audit
