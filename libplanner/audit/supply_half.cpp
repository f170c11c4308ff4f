// SPDX-License-Identifier: MIT
// Supply and line as traced: ohms and volts of windings against what copper of their size and the rest of the set ask
// for, fields and chokes, the first filter against the rectifier's row, what is open on the line's way to the primary,
// and the two feeds of the output tube. Factors are wide: they catch a zero or a multiplier misread, not a poor
// transformer. Tests: tests/audit/planted_test.cpp.
#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <set>

#include "audit/findings.hpp"
#include "audit/numbers.hpp"
#include "audit/wording.hpp"
#include "chassis/data.hpp"
#include "chassis/earth.hpp"

namespace tubewright::audit {
namespace {

// Common practice, no source: where a value stops being one that somebody chose.
constexpr double least_field_ohms = 100;
constexpr double longest_choke_seconds = 0.25;  ///< henries over ohms; 10 H of 60 ohm, a large choke, is .17
constexpr double primary_ohms_share = 0.035;    ///< of volts squared over volt-amperes
constexpr double most_first_filter = 50e-6;     ///< where the tube's row gives none (assumed)
constexpr double far_off = 5;
/// A plate half in ohms, of volts squared over volt-amperes: .045 of volts over its rms amperes, half of the
/// volt-amperes in B-plus.
constexpr double plate_ohms_share = 0.09;
constexpr double usual_least_va = 30, usual_most_va = 200;  ///< where the file gives none
/// Halves: volts within 3 % decide, a quarter in ohms is healthy; a misreading is further off.
constexpr double halves_volts = 0.03, halves_ohms = 0.35;
constexpr double least_peak_share = 0.35;  ///< of the volts that the filters are printed for
constexpr double most_peak_times = 3;      ///< choke input and two in series come to less than 2
constexpr double least_filter_farads = 1e-6;
constexpr double most_ballast_ohms = 500;  ///< in the line's way to a primary
constexpr double most_bias_ohms = 5e3;     ///< in the cathode of a power tube whose load is in its plate

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

void primary_ohms(const Trace& trace, int index, const PartWinding& winding, Findings& findings) {
    const Part& part = trace.part(index);
    if (!winding.volts || winding.ohms.empty()) return;
    const double va = part.rated_va.value_or(trace.chassis().transformer_va());
    const double total = sum(winding.ohms);
    if (va <= 0 || total <= 0) return;
    const double usual = primary_ohms_share * *winding.volts * *winding.volts / va;
    if (total < far_off * usual && total > usual / far_off) return;
    findings.add(implausible, winding.place, {index}, {},
                 fill("the primary of {} is given {}; one for {} and {} VA{} has about {}",
                      {part.id, say(ohms(total)), say(volts(*winding.volts)), std::to_string(std::lround(va)),
                       part.rated_va ? "" : " (by the heaters of the set)", say(ohms(usual))}),
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

/// Capacitors that a doubler or a tripler stands on: each adds a peak to what the winding gives.
int added_peaks(const Trace& trace) {
    const std::vector<Part>& parts = trace.chassis().parts();
    return static_cast<int>(std::count_if(parts.begin(), parts.end(), [&](const Part& c) {
        return c.kind == PartKind::capacitor && c.leads.size() == 2 && c.farads.value_or(0) >= least_filter_farads &&
               (trace.alternating(c.leads[0].net) || trace.alternating(c.leads[1].net));
    }));
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
    if (side > 0 && printed_volts > 0 &&
        side * std::sqrt(2.0) * (1 + added_peaks(trace)) < least_peak_share * printed_volts)
        findings.add(
            implausible, winding.place, {index}, {},
            fill("{} a side, as the plate winding of {} is given, peaks at {}: no supply for filters marked {}",
                 {say(volts(side)), part.id, say(volts(side * std::sqrt(2.0))), say(volts(printed_volts))}),
            "its volts by meter, rectifier out; a zero misread");
    if (printed_volts > 0 && side * std::sqrt(2.0) > most_peak_times * printed_volts)
        findings.add(implausible, winding.place, {index}, {},
                     fill("{} a side, as the plate winding of {} is given, peaks at {}: filters marked {} would not "
                          "have lasted an evening",
                          {say(volts(side)), part.id, say(volts(side * std::sqrt(2.0))), say(volts(printed_volts))}),
                     "its volts by meter, rectifier out, range and leads for them; a zero too many");
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
    const bool known = row != nullptr && row->max_first_filter_farads;
    const double limit = known ? 1.25 * *row->max_first_filter_farads : most_first_filter;
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
    std::map<int, double> by_net;
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
        by_net[on_this(a) ? a : b] += *filter.farads;
        parts.push_back(static_cast<int>(c));
    }
    // two cathodes apart have a filter each; rectifiers side by side share one
    for (const auto& [net, sum] : by_net) {
        const auto beside = std::count_if(trace.net(net).leads.begin(), trace.net(net).leads.end(), [&](LeadRef ref) {
            const Part& on = trace.part(ref.part);
            return on.kind == PartKind::socket && on.type != nullptr && on.type->is_rectifier() &&
                   std::any_of(trace.electrodes(ref.part).begin(), trace.electrodes(ref.part).end(),
                               [&](const PinElectrode& pin) {
                                   return pin.lead == ref.lead && pin.electrode == Electrode::cathode;
                               });
        });
        farads_there = std::max(farads_there, sum / static_cast<double>(std::max<std::ptrdiff_t>(1, beside)));
    }
    if (farads_there > limit)
        findings.add(implausible, part.place, parts, {},
                     fill("the first filter on {} ({}) is {}; {}: each charge of it takes more than the tube and the "
                          "plate winding are made for",
                          {part.id, part.tube, say(farads(farads_there)),
                           known ? "its row allows " + say(farads(*row->max_first_filter_farads))
                                 : "no tube rectifier of the period was given more than " + say(farads(limit))}),
                     "the print on the first filter; whether someone fitted a larger one");
}

/// The line switch is solved as closed, whatever its state; any other open switch, and what was seen open, as open.
bool cuts(const Part& part) {
    return stands_open(part) || (part.kind == PartKind::power_switch && !part.closed && part.role != "line");
}

/// The line's way to the set: from each blade through fuse, switch, cord, hash choke and ballast.
class LineWay {
  public:
    /// `closing` is taken as whole; -1: nothing but what is whole, -2: everything.
    LineWay(const Trace& trace, int closing)
        : hot_(walk(trace, trace.chassis().nodes().line_hot, closing)),
          neutral_(walk(trace, trace.chassis().nodes().line_neutral, closing)) {}
    bool on(int net, bool hot) const { return net >= 0 && (hot ? hot_ : neutral_)[at(net)]; }
    bool reached(int net) const { return net >= 0 && (hot_[at(net)] || neutral_[at(net)]); }
    /// A power primary, or in a set without one any load, lies between the blades.
    bool feeds(const Trace& trace) const {
        bool primary = false, load_hot = false, load_neutral = false;
        for (const Part& part : trace.chassis().parts()) {
            for (const PartWinding& winding : part.windings) {
                if (part.role != "power" || winding.role != WindingRole::primary) continue;
                primary = true;
                if (between(part, winding.leads)) return true;
            }
            const bool load = part.kind == PartKind::socket || part.kind == PartKind::transformer ||
                              part.kind == PartKind::rectifier || part.kind == PartKind::lamp ||
                              part.kind == PartKind::untraced || (part.kind == PartKind::coil && part.role != "rf");
            if (!load) continue;
            for (const Lead& lead : part.leads) {
                if (lead.net < 0) continue;
                load_hot = load_hot || hot_[at(lead.net)];
                load_neutral = load_neutral || neutral_[at(lead.net)];
            }
        }
        return !primary && load_hot && load_neutral;
    }

  private:
    static std::vector<char> walk(const Trace& trace, int blade, int closing) {
        std::vector<char> reached(trace.chassis().nets().size());
        const NodeRoles& roles = trace.chassis().nodes();
        if (blade < 0) return reached;
        std::vector<int> queue{blade};
        reached[at(blade)] = 1;
        while (!queue.empty()) {
            const Net& net = trace.net(queue.back());
            queue.pop_back();
            for (const LeadRef ref : net.leads) {
                const Part& part = trace.part(ref.part);
                const bool way =
                    part.kind == PartKind::fuse || part.kind == PartKind::power_switch || part.kind == PartKind::cord ||
                    (part.kind == PartKind::coil && part.role == "rf") ||
                    (part.kind == PartKind::resistor && part.ohms.value_or(most_ballast_ohms) < most_ballast_ohms);
                // a cord given by its two blades alone joins neither to the other
                const bool blades = part.kind == PartKind::cord && part.leads.size() == 2 &&
                                    std::minmax(part.leads[0].net, part.leads[1].net) ==
                                        std::minmax(roles.line_hot, roles.line_neutral);
                if (!way || blades || (cuts(part) && closing != -2 && closing != ref.part)) continue;
                for (const Lead& lead : part.leads) {
                    if (lead.net < 0 || reached[at(lead.net)]) continue;
                    reached[at(lead.net)] = 1;
                    queue.push_back(lead.net);
                }
            }
        }
        return reached;
    }
    bool between(const Part& part, const std::vector<int>& leads) const {
        for (const int one : leads)
            for (const int other : leads) {
                const int a = part.leads[at(one)].net, b = part.leads[at(other)].net;
                if (one != other && a >= 0 && b >= 0 && hot_[at(a)] && neutral_[at(b)]) return true;
            }
        return false;
    }
    std::vector<char> hot_, neutral_;
};

const std::string& switch_name(const Part& part) {
    return part.can.empty() ? part.id : part.can.str();
}

/// The line switch of a set is found open as often as closed, and what is solved is the set switched on. Anything else
/// that is open there cuts the set off, and its figures with it.
void line_way(const Trace& trace, Findings& findings) {
    const int parts = static_cast<int>(trace.chassis().parts().size());
    const LineWay way(trace, -1);
    std::vector<std::string> told;
    for (int index = 0; index < parts; ++index) {
        const Part& part = trace.part(index);
        const bool on_way =
            std::any_of(part.leads.begin(), part.leads.end(), [&](const Lead& lead) { return way.reached(lead.net); });
        // A wire joins its ends whatever was seen on it, and the line cord is seldom given any.
        const bool joined = (part.kind == PartKind::wire && on_way) ||
                            (part.kind == PartKind::cord && part.leads.empty() && part.construction == "line-cord");
        if (joined && stands_open(part))
            findings.add({tw::line_part_open, "line-part-open", Severity::note}, part.place, {index}, {},
                         fill("{} was seen open: nothing reaches the set through it, and every solved figure is of the "
                              "set with it whole",
                              {part.id}),
                         "its ohms from end to end, plug out");
        if (part.kind != PartKind::power_switch || part.role != "line" || part.closed) continue;
        const std::string& name = switch_name(part);
        const bool another_pair =
            std::any_of(trace.chassis().parts().begin(), trace.chassis().parts().end(),
                        [&](const Part& one) { return !part.can.empty() && one.can == part.can && one.closed; });
        if (another_pair || std::find(told.begin(), told.end(), name) != told.end()) continue;
        told.push_back(name);
        findings.add(
            {tw::line_switch_open, "line-switch-open", Severity::note}, part.place, {index}, {},
            fill("{} is written open: nothing reaches the set, and every solved figure is of the set switched on",
                 {name}),
            "whether the switch closes at all: ohms across it, plug out");
    }
    const std::vector<int> open = open_on_the_way(trace);
    if (open.empty()) return;
    std::vector<std::string> names;
    for (const int index : open) {
        const Part& part = trace.part(index);
        const std::string name =
            stands_open(part) ? part.id + " was seen open" : switch_name(part) + " is written open";
        if (names.empty() || names.back() != name) names.push_back(name);
    }
    std::string list;
    for (std::size_t i = 0; i < names.size(); ++i)
        list += (i == 0 ? "" : i + 1 == names.size() ? " and " : ", ") + names[i];
    const bool primary = std::any_of(trace.chassis().parts().begin(), trace.chassis().parts().end(),
                                     [](const Part& part) { return part.role == "power" && !part.windings.empty(); });
    const bool seen = stands_open(trace.part(open.front()));
    findings.add(seen ? Rule{tw::line_part_open, "line-part-open", Severity::stop}
                      : Rule{tw::line_switch_open, "line-switch-open", Severity::stop},
                 trace.part(open.front()).place, open, {},
                 fill("{}: nothing reaches the {}", {list, primary ? "primary" : "set"}),
                 seen ? "its ohms from end to end, plug out, and what made it open before another is fitted"
                      : "how it stands when the set is on: ohms across it, plug out; no figure is solved before that");
}

/// A power tube's plate straight on B-plus: with the screen on the output transformer two pins are exchanged, without
/// it the load is missing.
void output_feeds(const Trace& trace, const Unit& unit, Findings& findings) {
    const Part& socket = trace.part(unit.part);
    if (socket.type == nullptr || socket.type->is_rectifier() ||
        socket.type->tube_class.find("power") == std::string::npos || trace.holds_supply(unit))
        return;
    const auto any_lead = [&](int net, const auto& test) {
        return net >= 0 && std::any_of(trace.net(net).leads.begin(), trace.net(net).leads.end(),
                                       [&](LeadRef ref) { return test(trace.part(ref.part), ref.lead); });
    };
    const auto on_supply = [&](int net) {
        if (trace.b_plus(net)) return true;
        return trace.reaches_b_plus(net) && any_lead(net, [&](const Part& part, int lead) {
                   return part.kind == PartKind::capacitor && part.polarised && part.leads.size() == 2 &&
                          part.farads.value_or(0) >= least_filter_farads && trace.bottom(part.leads[at(1 - lead)].net);
               });
    };
    const auto on_primary = [&](int net) {
        return !on_supply(net) && any_lead(net, [](const Part& part, int lead) {
            return std::any_of(part.windings.begin(), part.windings.end(), [&](const PartWinding& winding) {
                return winding.role == WindingRole::output_primary &&
                       std::find(winding.leads.begin(), winding.leads.end(), lead) != winding.leads.end();
            });
        });
    };
    const PinElectrode *plate = nullptr, *screen = nullptr;
    bool biased = false;  // its cathode goes to the bottom by no more than a bias resistor
    for (const PinElectrode& pin : unit.pins) {
        if (pin.electrode == Electrode::plate) plate = &pin;
        if (pin.electrode == Electrode::screen) screen = &pin;
        if (pin.electrode != Electrode::cathode) continue;
        const int net = socket.leads[at(pin.lead)].net;
        biased = biased || trace.bottom(net) || any_lead(net, [&](const Part& part, int lead) {
                     return part.kind == PartKind::resistor && part.leads.size() == 2 &&
                            part.ohms.value_or(0) <= most_bias_ohms && trace.bottom(part.leads[at(1 - lead)].net);
                 });
    }
    if (plate == nullptr) return;
    const int plate_net = socket.leads[at(plate->lead)].net;
    if (on_primary(plate_net)) return;
    // a choke in the plate is the load, and a capacitor takes the signal on
    if (!trace.rectifier_output(plate_net) &&
        any_lead(plate_net, [](const Part& part, int) { return part.kind == PartKind::coil && part.role == "choke"; }))
        return;
    if (screen != nullptr && on_primary(socket.leads[at(screen->lead)].net)) {
        const int screen_net = socket.leads[at(screen->lead)].net;
        findings.add({tw::output_feeds_exchanged, "output-feeds-exchanged", Severity::stop},
                     place_of(socket, screen->lead), {unit.part}, {screen_net, plate_net},
                     fill("{} hangs on the output transformer and {} does not: the screen would carry the plate's "
                          "current and burn",
                          {trace.pin_name(unit.part, *screen), trace.pin_name(unit.part, *plate)}),
                     "both pins of this socket, counted from below; the plate is the one with the transformer's lead");
    } else if (on_supply(plate_net) && !trace.untraced_near(plate_net) && (biased || socket.type->directly_heated)) {
        findings.add({tw::plate_without_load, "plate-without-load", Severity::doubt}, place_of(socket, plate->lead),
                     {unit.part}, {plate_net},
                     fill("{} stands straight on B-plus: a power tube without a load drives nothing",
                          {trace.pin_name(unit.part, *plate)}),
                     "where the output transformer's primary ends: one lead on this pin, the other on B-plus");
    }
}

/// A fuse behind the neutral blade opens and leaves the set on the hot one.
void neutral_fuse(const Trace& trace, Findings& findings) {
    const NodeRoles& roles = trace.chassis().nodes();
    if (roles.line_hot < 0 || roles.line_neutral < 0) return;
    int in_neutral = -1;
    for (int index = 0; index < static_cast<int>(trace.chassis().parts().size()); ++index) {
        const Part& part = trace.part(index);
        if (part.kind != PartKind::fuse || part.leads.size() != 2) continue;
        for (const Lead& lead : part.leads) {
            if (lead.net == roles.line_hot) return;
            if (lead.net == roles.line_neutral) in_neutral = index;
        }
    }
    if (in_neutral < 0) return;
    findings.add({tw::fuse_in_neutral, "fuse-in-neutral", Severity::note}, trace.part(in_neutral).place, {in_neutral},
                 {},
                 fill("{} stands behind the neutral blade: when it opens the set is dead and still on the hot side of "
                      "the line, and a short from there to an earthed chassis passes it by",
                      {trace.part(in_neutral).id}),
                 "which blade its holder goes to; a new fuse belongs behind the hot one, ahead of the switch");
}

}  // namespace

std::vector<int> open_on_the_way(const Trace& trace) {
    // a portable that stands on its batteries is cut off from the line on purpose
    for (const Part& part : trace.chassis().parts())
        if (part.kind == PartKind::battery && part.closed && part.role != "vehicle" && part.role != "c") return {};
    std::vector<int> candidates, open;
    const LineWay all(trace, -2);
    for (int index = 0; index < static_cast<int>(trace.chassis().parts().size()); ++index) {
        const Part& part = trace.part(index);
        if (cuts(part) &&
            std::any_of(part.leads.begin(), part.leads.end(), [&](const Lead& lead) { return all.reached(lead.net); }))
            candidates.push_back(index);
    }
    if (candidates.empty() || !all.feeds(trace) || LineWay(trace, -1).feeds(trace)) return {};
    for (const int index : candidates)
        if (LineWay(trace, index).feeds(trace)) open.push_back(index);
    if (!open.empty()) return open;
    for (const int index : candidates) {  // several in a row
        const PartKind kind = trace.part(index).kind;
        if (kind == PartKind::fuse || kind == PartKind::power_switch || kind == PartKind::cord) open.push_back(index);
    }
    return open;
}

/// Both ends of the primary on the way to one blade: the set gets nothing.
void one_blade(const Trace& trace, int index, const PartWinding& winding, Findings& findings) {
    const Part& part = trace.part(index);
    const LineWay all(trace, -2);
    const int begins = part.leads[at(winding.leads.front())].net, ends = part.leads[at(winding.leads.back())].net;
    for (const bool hot : {true, false}) {
        if (!all.on(begins, hot) || !all.on(ends, hot) || all.on(begins, !hot) || all.on(ends, !hot)) continue;
        const NodeRoles& roles = trace.chassis().nodes();
        const int unused = hot ? roles.line_neutral : roles.line_hot;
        findings.add(
            {tw::primary_on_one_blade, "primary-on-one-blade", Severity::stop},
            winding.place.line > 0 ? winding.place : part.place, {index}, {begins, ends},
            fill("both ends of the primary of {} go to one blade of the plug, {}; nothing goes to the other, {}",
                 {part.id, trace.net(hot ? roles.line_hot : roles.line_neutral).name,
                  unused >= 0 ? trace.net(unused).name : std::string("which is not in the file")}),
            "the two leads of the primary, each to its end: switch, fuse, plug");
    }
}

/// A primary across a line of direct current: nothing holds the current but its copper, and nothing comes out of the
/// other windings.
void on_direct_line(const Trace& trace, int index, const PartWinding& winding, Findings& findings) {
    const LineSpec& line = trace.chassis().line();
    if (line.hertz > 0 && line.supply != "dc") return;
    const Part& part = trace.part(index);
    const LineWay all(trace, -2);
    const int begins = part.leads[at(winding.leads.front())].net, ends = part.leads[at(winding.leads.back())].net;
    if (!(all.on(begins, true) && all.on(ends, false)) && !(all.on(begins, false) && all.on(ends, true))) return;
    const double copper = std::accumulate(winding.ohms.begin(), winding.ohms.end(), 0.0);
    const std::string draws =
        copper > 0
            ? fill(": nothing but its {} holds the current, {} and {} that are all heat",
                   {say(ohms(copper)), say(amps(line.volts / copper)), say(watts(line.volts * line.volts / copper))})
            : std::string(": nothing but its copper holds the current");
    findings.add({tw::transformer_on_direct_line, "transformer-on-direct-line", Severity::stop},
                 winding.place.line > 0 ? winding.place : part.place, {index}, {begins, ends},
                 fill("the primary of {} lies across a line of direct current{}; it burns, and no other winding gives "
                      "anything",
                      {part.id, draws}),
                 "hertz and supply of the line in the file, and the label of the set; on such a line the set wants a "
                 "vibrator or a converter before it");
}

/// The tube whose control grid has no other way to its return than this part: "V4"; empty when there is none.
std::string grid_returned_by(const Trace& trace, const Part& part) {
    if (part.kind != PartKind::resistor && part.kind != PartKind::control && part.kind != PartKind::coil) return {};
    for (const Unit& unit : trace.units()) {
        const Part& socket = trace.part(unit.part);
        if (socket.type == nullptr || socket.type->is_rectifier()) continue;
        for (const PinElectrode& pin : unit.pins) {
            if (pin.electrode != Electrode::control_grid) continue;
            const int net = socket.leads[at(pin.lead)].net;
            if (net < 0) continue;
            bool here = false, other = false;
            for (const LeadRef ref : trace.net(net).leads) {
                const Part& beside = trace.part(ref.part);
                here = here || beside.id == part.id;
                other = other || (beside.id != part.id &&
                                  (beside.kind == PartKind::resistor || beside.kind == PartKind::control ||
                                   beside.kind == PartKind::coil || beside.kind == PartKind::transformer));
            }
            if (here && !other) return socket.id;
        }
    }
    return {};
}

/// What was seen of a part and is, or is not, in the figures.
void seen_parts(const Trace& trace, Findings& findings) {
    const std::vector<std::string> live = line_shorts(trace.chassis());
    const std::vector<int> on_way = open_on_the_way(trace);
    const LineWay all(trace, -2);
    const auto across = [&](int a, int b) {
        return (all.on(a, true) && all.on(b, false)) || (all.on(a, false) && all.on(b, true));
    };
    for (int index = 0; index < static_cast<int>(trace.chassis().parts().size()); ++index) {
        const Part& part = trace.part(index);
        if (std::find(live.begin(), live.end(), part.id) != live.end()) {
            findings.add(
                {tw::line_on_metal, "line-on-metal", Severity::doubt}, part.place, {index}, {},
                fill("{} was seen shorted, between the line and the rest of the set: as found the metal is the "
                     "line. The plug stays out until it is out",
                     {part.id}),
                "both ends of it off, then ohms from each blade to the metal: none");
            continue;
        }
        if (part.kind == PartKind::plug || stands_empty(part) || unplugged(part)) continue;
        const bool joins = part.kind == PartKind::wire || part.kind == PartKind::cord ||
                           part.kind == PartKind::power_switch || part.kind == PartKind::fuse;
        const bool gone = stands_open(part);
        const bool told = joins && gone && std::find(on_way.begin(), on_way.end(), index) != on_way.end();
        const bool iron = (part.kind == PartKind::transformer && part.role == "power") ||
                          (part.kind == PartKind::socket && part.type != nullptr && part.type->is_rectifier());
        std::string text;
        Severity severity = Severity::note;
        if (told) continue;
        if (gone && part.kind == PartKind::fuse) {
            text = fill("{} was seen {}: every figure is of the set with it whole. What made it open stands behind it",
                        {part.id, part.seen});
            severity = Severity::doubt;
        } else if (gone && !joins) {
            text = fill("{} was seen {}: volts and stress are of the set without it, the plan of the set with it back",
                        {part.id, part.seen});
            if (const std::string whose = grid_returned_by(trace, part); !whose.empty()) {
                text += "; as found " + whose + " runs away: no power before it is back";
                severity = Severity::doubt;
            }
        } else if (seen_useless(part)) {
            text = fill("{} was seen {}: every figure is of the set with a sound one{}",
                        {part.id, part.seen, seen_shorted(part) ? "; volts --scenario as-found has it shorted" : ""});
            const bool dead_short =
                iron || (part.leads.size() == 2 &&
                         ((!joins && across(part.leads[0].net, part.leads[1].net)) ||
                          (trace.rectifier_output(part.leads[0].net) && trace.bottom(part.leads[1].net))));
            if (dead_short && part.seen.find("short") != std::string::npos) {
                text += ". As found the set feeds a short: the plug stays out until it is out";
                severity = Severity::doubt;
            }
        } else if (part.found_value && part.ohms && part.fitted.empty() &&
                   part.seen.find("drift") != std::string::npos) {
            text = fill("{} was found at {} where {} belongs: every figure is of what belongs",
                        {part.id, say(ohms(*part.found_value)), say(ohms(*part.ohms))});
        }
        if (!text.empty())
            findings.add({tw::as_found, "as-found", severity}, part.place, {index}, {}, text,
                         "steps has its place in the plan");
    }
}

/// Silicon where a tube was: no set of the first decades was made with it.
void silicon(const Trace& trace, int index, Findings& findings) {
    constexpr int first_silicon = 1955;  // power diodes of silicon come into sets (common practice, no source)
    const Part& part = trace.part(index);
    if (part.kind != PartKind::rectifier || part.construction != "silicon") return;
    // for heaters or bias: no B-plus comes of it
    if (trace.of_few_volts(part) || std::any_of(part.leads.begin(), part.leads.end(),
                                                [&](const Lead& lead) { return trace.heats_direct(lead.net); }))
        return;
    const std::optional<int> built = trace.chassis().built();
    if (built.value_or(0) >= first_silicon) return;
    std::string stood;
    for (const Part& socket : trace.chassis().parts())
        if (socket.kind == PartKind::socket && socket.type != nullptr && socket.type->is_rectifier() &&
            stands_open(socket))
            stood = " than the " + socket.tube + " of " + socket.id + " gave";
    findings.add({tw::silicon_in_place, "silicon-in-place", Severity::doubt}, part.place, {index}, {},
                 fill("{} is silicon in a set {}: a tube stood there. It gives B-plus at once, before any tube draws, "
                      "and more of it{}",
                      {part.id, built ? "of " + std::to_string(*built) : std::string("of these years"), stood}),
                 "the empty rectifier socket, a resistor in series that makes up for the tube, and the volts that the "
                 "filters are rated for");
}

/// The shell of a can is its minus: bare, it stands on the metal.
void cans(const Trace& trace, int index, Findings& findings) {
    const Part& part = trace.part(index);
    const int metal = trace.chassis().nodes().chassis_metal;
    if (part.kind != PartKind::capacitor || !part.polarised || part.can.empty() || part.leads.size() != 2 || metal < 0)
        return;
    const int plus = part.leads[0].net, minus = part.leads[1].net;
    if (plus < 0 || minus < 0) return;
    if (!part.insulated && minus != metal) {
        const std::vector<Part>& all = trace.chassis().parts();
        const bool again = std::any_of(all.begin(), all.begin() + index, [&](const Part& other) {
            return other.can == part.can && other.leads.size() == 2 && other.leads[1].net == minus;
        });
        if (again) return;  // the sections before it have said so
        findings.add(
            {tw::can_on_metal, "can-on-metal", Severity::doubt}, part.place, {index}, {minus},
            fill("the shell of {} is its minus, {}, and it does not stand insulated: it joins {} to the metal, "
                 "{}",
                 {part.can, trace.net(minus).name, trace.net(minus).name, trace.net(metal).name}),
            "a fibre wafer or a sleeve under the can: then insulated=\"yes\"; ohms from its shell to the metal");
        return;
    }
    if (!part.insulated || minus != metal || !trace.rectifier_output(plus)) return;
    for (const Part& t : trace.chassis().parts())
        for (const PartWinding& w : t.windings) {
            if (w.role != WindingRole::plate || w.leads.size() != 3) continue;
            const int tap = t.leads[at(w.leads[1])].net;
            if (tap < 0 || tap == metal) continue;
            findings.add({tw::can_on_metal, "can-on-metal", Severity::doubt}, part.place, {index}, {minus, tap},
                         fill("{} stands insulated, and yet its minus is the metal: where the centre tap, {}, stands "
                              "below the metal, the first filter returns to the tap",
                              {part.can, trace.net(tap).name}),
                         "where the minus lug of the can goes; a new can that was fitted to the wrong lug");
            return;
        }
}

/// A dry rectifier whose anode is on the plus of the filters and whose cathode is not.
void dry_rectifier(const Trace& trace, int index, Findings& findings) {
    const Part& part = trace.part(index);
    if (part.kind != PartKind::rectifier || part.leads.size() != 2) return;
    const auto is_plus = [&](int net) {
        return std::any_of(trace.net(net).leads.begin(), trace.net(net).leads.end(), [&](LeadRef ref) {
            const Part& on = trace.part(ref.part);
            return on.kind == PartKind::capacitor && on.polarised && ref.lead == 0 && on.leads.size() == 2 &&
                   trace.bottom(on.leads[1].net);
        });
    };
    // through what stands between a rectifier and its filter: a few ohms, a choke
    const auto plus_of_a_filter = [&](int from) {
        constexpr double few_ohms = 1000;
        std::set<int> seen{from};
        std::vector<int> front{from};
        while (!front.empty()) {
            const int net = front.back();
            front.pop_back();
            if (net < 0 || trace.bottom(net)) continue;
            if (is_plus(net)) return true;
            for (const Conductor& path : trace.conductors()) {
                const Part& on = trace.part(path.part);
                if ((path.a != net && path.b != net) || path.part == index) continue;
                const bool passes = path.choke || (on.kind == PartKind::resistor && on.ohms.value_or(0) <= few_ohms);
                const int other = path.a == net ? path.b : path.a;
                if (passes && seen.insert(other).second) front.push_back(other);
            }
        }
        return false;
    };
    const int anode = part.leads[0].net, cathode = part.leads[1].net;
    // In a doubler one rectifier charges the capacitor that the next one empties: two that both do the same to it are
    // one that is turned, the one from the bottom.
    for (const int lead : {0, 1}) {
        const int here = part.leads[at(lead)].net, other = part.leads[at(1 - lead)].net;
        if (here < 0 || trace.bottom(here) || trace.alternating(here) || !trace.bottom(other)) continue;
        const std::span<const LeadRef> on = trace.net(here).leads;
        const bool like = std::any_of(on.begin(), on.end(), [&](LeadRef ref) {
            return ref.part != index && trace.part(ref.part).kind == PartKind::rectifier && ref.lead == lead;
        });
        const bool by_capacitor = std::any_of(on.begin(), on.end(), [&](LeadRef ref) {
            const Part& c = trace.part(ref.part);
            return c.kind == PartKind::capacitor && c.leads.size() == 2 &&
                   trace.alternating(c.leads[at(1 - ref.lead)].net);
        });
        if (!like || !by_capacitor) continue;
        findings.add({tw::dry_rectifier_turned, "dry-rectifier-turned", Severity::stop}, part.place, {index},
                     {here, other},
                     fill("{} stands as the rectifier beside it does, on {}: nothing charges the capacitor there the "
                          "right way, and both electrolytics of the doubler get the line backwards",
                          {part.id, trace.net(here).name}),
                     "the plus or red mark on each: between the two rectifiers one comes in and one goes out");
        return;
    }
    if (trace.alternating(anode) && trace.bottom(cathode)) {
        findings.add({tw::supply_shorted, "supply-shorted", Severity::stop}, part.place, {index}, {anode, cathode},
                     fill("{} leads alternating volts straight to {}, the bottom of the set: it is turned, or what it "
                          "feeds is shorted",
                          {part.id, trace.net(cathode).name}),
                     "the plus or red mark on it: that end gives B-plus; then what joins B-plus and its return");
        return;
    }
    if (!plus_of_a_filter(anode) || plus_of_a_filter(cathode)) return;
    // a further step of a multiplier: another rectifier fills where it begins, and where it ends a capacitor stands on
    // what swings
    const auto any_on = [&](int net, const auto& test) {
        const std::span<const LeadRef> on = trace.net(net).leads;
        return std::any_of(on.begin(), on.end(), [&](LeadRef ref) { return test(trace.part(ref.part), ref); });
    };
    const bool filled = any_on(anode, [&](const Part& on, LeadRef ref) {
        return ref.part != index && on.kind == PartKind::rectifier && ref.lead == 1;
    });
    const bool lifted = any_on(cathode, [&](const Part& on, LeadRef ref) {
        return on.kind == PartKind::capacitor && on.leads.size() == 2 && ref.lead == 0 &&
               !trace.bottom(on.leads[1].net);
    });
    if (filled && lifted) return;
    findings.add(
        {tw::dry_rectifier_turned, "dry-rectifier-turned", Severity::stop}, part.place, {index}, {anode, cathode},
        fill("the anode of {} is on {}, the plus of a filter: so turned it gives that filter minus, and it bursts",
             {part.id, trace.net(anode).name}),
        "the plus or red mark on it: that end is the cathode, on the filter");
}

/// Batteries for B-plus, from the bottom of the set up: through switches, plugs' leads, fuses, bias resistors, A and C
/// batteries, and through each B battery from its minus to its plus. One whose plus is reached and whose minus is not
/// stands the wrong way round. So does an A battery with its plus on the minus ends of filaments.
void batteries(const Trace& trace, Findings& findings) {
    constexpr double most_bias_ohms_there = 2000;
    const Chassis& set = trace.chassis();
    std::vector<int> sources;
    Groups low(set.nets().size()), wired(set.nets().size());  // with A and C batteries, and without
    bool marked = false;                                      // filaments with a plus and a minus end
    for (int index = 0; index < static_cast<int>(set.parts().size()); ++index) {
        const Part& part = trace.part(index);
        if (part.leads.size() != 2 || part.leads[0].net < 0 || part.leads[1].net < 0) continue;
        const bool few_ohms = part.kind == PartKind::resistor && part.ohms.value_or(1e9) <= most_bias_ohms_there;
        if (part.kind == PartKind::battery && part.role == "b") sources.push_back(index);
        const bool copper = part.kind == PartKind::power_switch || part.kind == PartKind::fuse ||
                            part.kind == PartKind::cord || few_ohms;
        if (copper) wired.join(part.leads[0].net, part.leads[1].net);
        if (copper || (part.kind == PartKind::battery && part.role != "b" && part.role != "vehicle"))
            low.join(part.leads[0].net, part.leads[1].net);
    }
    std::vector<char> reached(set.nets().size());  // by group
    for (int net = 0; net < static_cast<int>(set.nets().size()); ++net)
        if (trace.bottom(net)) reached[at(low.of(net))] = 1;
    for (bool more = true; more;) {
        more = false;
        for (const int index : sources) {
            const Part& part = trace.part(index);
            char& plus = reached[at(low.of(part.leads[0].net))];
            if (!reached[at(low.of(part.leads[1].net))] || plus) continue;
            plus = 1;
            more = true;
        }
    }
    const auto report = [&](int index, const std::string& where, Severity severity) {
        const Part& part = trace.part(index);
        const int plus = part.leads[0].net, minus = part.leads[1].net;
        findings.add({tw::battery_turned, "battery-turned", severity}, part.place, {index}, {plus, minus},
                     fill("{} stands the wrong way round: its plus, on {}, {}, and its minus is on {}",
                          {part.id, trace.net(plus).name, where, trace.net(minus).name}),
                     "the marks on it and on its plug, by a meter");
    };
    for (int index = 0; index < static_cast<int>(set.parts().size()); ++index) {
        const Part& part = trace.part(index);
        if (part.kind != PartKind::battery || !part.rated_volts) continue;
        const double most = part.role == "a" ? 12 : part.role == "c" ? 60 : part.role == "vehicle" ? 32 : 300;
        if (*part.rated_volts > most)
            findings.add(
                implausible, part.place, {index}, {},
                fill("{} is given {}: no such battery for {} was made", {part.id, say(volts(*part.rated_volts)),
                                                                         part.role == "a"   ? "filaments"
                                                                         : part.role == "c" ? "bias"
                                                                         : part.role == "b" ? "B-plus"
                                                                                            : "a vehicle"}),
                "the label of the set, and the print on the battery");
    }
    for (const int index : sources) {
        const Part& part = trace.part(index);
        if (reached[at(low.of(part.leads[0].net))] && !reached[at(low.of(part.leads[1].net))])
            report(index,
                   trace.bottom(part.leads[0].net) ? "is the bottom of the set" : "goes to the bottom of the set",
                   Severity::stop);
    }
    std::vector<char> at_bottom(set.nets().size());  // by group of copper
    for (int net = 0; net < static_cast<int>(set.nets().size()); ++net)
        if (trace.bottom(net)) at_bottom[at(wired.of(net))] = 1;
    for (const int index : sources) {
        const Part& part = trace.part(index);
        if (!at_bottom[at(wired.of(part.leads[0].net))] || at_bottom[at(wired.of(part.leads[1].net))] ||
            !reached[at(low.of(part.leads[1].net))])
            continue;
        findings.add({tw::supply_shorted, "supply-shorted", Severity::stop}, part.place, {index}, {part.leads[0].net},
                     fill("the plus of {}, on {}, is the bottom of the set: it and what stands below it feed a short",
                          {part.id, trace.net(part.leads[0].net).name}),
                     "what joins B-plus and its return there: a wire, a lug that serves both");
    }
    for (int index = 0; index < static_cast<int>(set.parts().size()); ++index) {
        const Part& part = trace.part(index);
        if (part.kind != PartKind::battery || part.leads.size() != 2) continue;
        if (part.role != "vehicle" && part.leads[0].net != part.leads[1].net &&
            wired.same(part.leads[0].net, part.leads[1].net))
            findings.add(
                {tw::supply_shorted, "supply-shorted", Severity::stop}, part.place, {index},
                {part.leads[0].net, part.leads[1].net},
                fill("the two ends of {} meet through switches and a few ohms alone: it feeds a short", {part.id}),
                "what joins its plus and its minus there: a wire, a lug that serves both");
        if (part.role != "a" && part.role != "c") continue;
        int with_marks = 0, against = 0;
        bool plus_low = false, minus_low = false;
        for (int net = 0; net < static_cast<int>(set.nets().size()); ++net) {
            if (!trace.bottom(net)) continue;
            plus_low = plus_low || wired.same(net, part.leads[0].net);
            minus_low = minus_low || wired.same(net, part.leads[1].net);
        }
        for (int p = 0; p < static_cast<int>(set.parts().size()); ++p)
            for (const PinElectrode& pin : trace.electrodes(p)) {
                if (pin.written != "h+" && pin.written != "h-") continue;
                marked = true;
                const int net = trace.part(p).leads[at(pin.lead)].net;
                for (const int lead : {0, 1})
                    if (net >= 0 && net == part.leads[at(lead)].net)
                        ((pin.written == "h+") == (lead == 0) ? with_marks : against) += 1;
            }
        if (part.role == "c") {  // its plus is home; cells in series stand one below the other
            // a cell that holds a cathode up is no bias for grids
            const bool reference = std::any_of(trace.units().begin(), trace.units().end(), [&](const Unit& unit) {
                return std::any_of(unit.pins.begin(), unit.pins.end(), [&](const PinElectrode& pin) {
                    return pin.electrode == Electrode::cathode &&
                           trace.part(unit.part).leads[at(pin.lead)].net == part.leads[0].net;
                });
            });
            Groups others = wired;  // with all C batteries but this one
            for (const Part& other : set.parts())
                if (other.kind == PartKind::battery && other.role == "c" && &other != &part && other.leads.size() == 2)
                    others.join(other.leads[0].net, other.leads[1].net);
            bool plus_home = false, minus_home = false;
            for (int net = 0; net < static_cast<int>(set.nets().size()); ++net) {
                if (!trace.bottom(net)) continue;
                plus_home = plus_home || others.same(net, part.leads[0].net);
                minus_home = minus_home || others.same(net, part.leads[1].net);
            }
            if (minus_home && !plus_home && !reference) {
                findings.add({tw::battery_turned, "battery-turned", Severity::stop}, part.place, {index},
                             {part.leads[0].net, part.leads[1].net},
                             fill("{} stands the wrong way round: its minus, on {}, is the bottom of the set or the "
                                  "end of a cell, and its plus goes to the grids, on {}",
                                  {part.id, trace.net(part.leads[1].net).name, trace.net(part.leads[0].net).name}),
                             "the marks on it and on its plug, by a meter");
            }
            continue;
        }
        if (against > 0 && with_marks == 0)
            report(index, "is on the minus end of a filament", Severity::doubt);
        else if (marked && plus_low && !minus_low)
            report(index, "goes to the bottom of the set", Severity::doubt);
    }
}

/// What rides on a plug that is out is not in the volts.
void plugs_out(const Trace& trace, Findings& findings) {
    for (int index = 0; index < static_cast<int>(trace.chassis().parts().size()); ++index) {
        const Part& plug = trace.part(index);
        if (plug.kind != PartKind::plug || plug.closed || plug.role == "line") continue;
        std::string riders;
        for (const Part& part : trace.chassis().parts())
            if (unplugged(part) && (part.plug == plug.id || part.plug == plug.role))
                riders += (riders.empty() ? "" : ", ") + part.id;
        if (riders.empty()) continue;
        findings.add({tw::plug_out, "plug-out", Severity::doubt}, plug.place, {index}, {},
                     fill("{} is out as traced: volts and stress are of the set without {}; the plan, the threats and "
                          "the bring-up are of the set with it in",
                          {plug.id, riders}),
                     fill("plug it in with the power off and write state=\"in\" on {}", {plug.id}));
    }
}

void supply(const Trace& trace, const Catalogue& catalogue, Findings& findings) {
    for (int index = 0; index < static_cast<int>(trace.chassis().parts().size()); ++index) {
        const Part& part = trace.part(index);
        if (part.kind == PartKind::coil) choke_ohms(trace, index, findings);
        if (part.kind == PartKind::transformer && part.role == "power")
            for (const PartWinding& winding : part.windings) {
                if (winding.role == WindingRole::primary) {
                    primary_ohms(trace, index, winding, findings);
                    one_blade(trace, index, winding, findings);
                    on_direct_line(trace, index, winding, findings);
                }
                if (winding.role == WindingRole::plate) plate_winding(trace, index, winding, findings);
            }
        silicon(trace, index, findings);
        cans(trace, index, findings);
        dry_rectifier(trace, index, findings);
        if (part.kind == PartKind::socket) first_filter(trace, catalogue, index, findings);
    }
    batteries(trace, findings);
    line_way(trace, findings);
    const Chassis& set = trace.chassis();
    if (set.level() >= 2 && set.nodes().line_hot >= 0 && set.nodes().chassis_metal < 0 && set.nodes().b_minus < 0)
        findings.add({tw::metal_not_named, "metal-not-named", Severity::doubt}, Place{set.file(), 0, 0}, {}, {},
                     "no node says which net the metal is: whether the line reaches it is not known",
                     "<node is=\"chassis-metal\" net=\"...\" touch=\"yes\"/>, by ohms from a bare spot of the chassis");
    neutral_fuse(trace, findings);
    plugs_out(trace, findings);
    seen_parts(trace, findings);
    for (const Unit& unit : trace.units()) output_feeds(trace, unit, findings);
}

}  // namespace tubewright::audit
