// SPDX-License-Identifier: MIT
// The solved half of the trace audit: what the volts give away. An electrolytic that stands reversed, a heater off its
// volts, a plate without volts, a grid driven positive, a tube, capacitor or winding asked for more than it bears in
// the healthy set are traces gone wrong more often than sets gone wrong. While the connections themselves have a stop,
// or a winding of the power transformer is in doubt, loads are consequences and are not told; a set that
// something open cuts off has no volts worth telling. Tests: tests/audit/solved_test.cpp, planted_test.cpp.
#include <algorithm>
#include <cmath>
#include <set>
#include <tuple>

#include <tubewright/audit.hpp>

#include "audit/findings.hpp"
#include "audit/heaters.hpp"
#include "audit/numbers.hpp"
#include "audit/traced.hpp"
#include "audit/wording.hpp"
#include "bench/residue.hpp"
#include "chassis/data.hpp"

namespace tubewright {
namespace {

using audit::at;
using audit::Electrode;
using audit::fill;
using audit::HeaterPath;
using audit::PinElectrode;
using audit::Trace;
using audit::Unit;

/// A reversal in service counts from here, and from this share of the most that the place sees: contact potential on a
/// dead supply is less (assumed). From `boils_volts` on the part is destroyed wherever it stands.
constexpr double reversal_volts = 0.5, reversal_share = 0.02, boils_volts = 1.5;
/// Over a rating by so much is a doubt, by so much a stop: what the spread of tubes and parts does not explain
/// (assumed).
constexpr double over_doubt = 1.15, over_stop = 2;
constexpr double battery_fuse_times = 20, most_rheostat = 60;
constexpr double screen_leeway =
    1.1;  ///< sets of the day ran screens over their volts a little (common practice, no source)
constexpr double capacitor_doubt = 1.1, capacitor_stop = 1.5;
/// A power tube's plate current against all that its listed points have (assumed).
constexpr double starved = 0.3, flooded = 1.6;
/// Share of its volts that a winding may lose in its own ohms: a sound primary .02 to .06, plate half .03 to .1 (common
/// practice, no source).
constexpr double primary_drop = 0.12, plate_drop = 0.25;
constexpr double fuse_times = 5;        ///< a fuse is chosen at 1.5 to 3 times the current (common practice, no source)
constexpr double overload_doubt = 1.3;  ///< volt-amperes in service over those it is made for (assumed)
/// A control grid above its cathode by more than contact potential and convention explain (assumed).
constexpr double positive_volts = 0.7;
constexpr double heater_tolerance = 0.10;  ///< receiving tubes, recalled

const NetVolts* net_of(const Solution& solution, int net) {
    return net >= 0 && at(net) < solution.nets.size() ? &solution.nets[at(net)] : nullptr;
}

class Findings {
  public:
    std::vector<Finding> rows;
    void add(Severity severity, int number, const char* rule, const Part& part, int lead,
             std::vector<std::string> parts, std::vector<std::string> nets, std::string message, std::string look_at) {
        Finding finding;
        finding.severity = severity;
        finding.number = number;
        finding.rule = rule;
        finding.place = lead >= 0 && part.leads[at(lead)].place.line > 0 ? part.leads[at(lead)].place : part.place;
        finding.parts = std::move(parts);
        finding.nets = std::move(nets);
        finding.message = std::move(message);
        finding.look_at = std::move(look_at);
        rows.push_back(std::move(finding));
    }
};

/// Is there a rectifier to put volts on the supply?
bool powered(const Trace& trace, const Condition& condition) {
    if (condition.scenario == Scenario::rectifier_out || condition.scenario == Scenario::transformer_alone)
        return false;
    if (condition.scenario != Scenario::tube_out) return true;
    const int pulled = trace.chassis().part(condition.tube);
    return pulled < 0 || trace.part(pulled).type == nullptr || !trace.part(pulled).type->is_rectifier();
}

/// B-plus came up: where it did not, no reversal is worth a word beside that.
bool supplied(const Trace& trace, const Solution& solution) {
    constexpr double least = 5;
    bool any = false;
    for (int net = 0; net < static_cast<int>(trace.chassis().nets().size()); ++net) {
        if (!trace.rectifier_output(net)) continue;
        any = true;
        if (const NetVolts* there = net_of(solution, net); there != nullptr && there->dc.value() > least) return true;
    }
    return !any;
}

void electrolytics(const Trace& trace, std::span<const Solution> solutions, Findings& findings) {
    const int parts = static_cast<int>(trace.chassis().parts().size());
    for (int p = 0; p < parts; ++p) {
        const Part& part = trace.part(p);
        if (part.kind != PartKind::capacitor || !part.polarised || part.leads.size() != 2) continue;
        // Normal service decides how grave it is; what a part sees beside it can only cast doubt.
        const Solution *in_service = nullptr, *beside = nullptr;
        double lowest = 0, lowest_beside = 0, highest = 0, most = 0;  // most: in service, either way
        for (const Solution& solution : solutions) {
            // Without a rectifier only contact potential is left on the supply, and it says nothing of the trace.
            if (!powered(trace, solution.condition) || !supplied(trace, solution)) continue;
            const NetVolts* plus = net_of(solution, part.leads[0].net);
            const NetVolts* minus = net_of(solution, part.leads[1].net);
            if (plus == nullptr || minus == nullptr || plus->undetermined || minus->undetermined) continue;
            const double across = plus->dc.value() - minus->dc.value();
            const Scenario scenario = solution.condition.scenario;
            const bool service = scenario == Scenario::normal || scenario == Scenario::high_line;
            highest = std::max(highest, across);
            if (service) most = std::max(most, std::fabs(across));
            if (service && across < lowest) {
                lowest = across;
                in_service = &solution;
            }
            if (!service && across < lowest_beside) {
                lowest_beside = across;
                beside = &solution;
            }
        }
        // B-plus that is missing is not exchanged: other findings say so.
        if (bench::residue_only(part, most, lowest)) in_service = nullptr;
        if (bench::residue_only(part, most, lowest_beside)) beside = nullptr;
        const double counts = reversal_volts + reversal_share * highest;
        const Solution* worst = nullptr;
        double volts_there = 0;
        Severity severity = Severity::doubt;
        if (in_service != nullptr && lowest < -counts) {
            worst = in_service;
            volts_there = lowest;
            if (lowest < -boils_volts) severity = Severity::stop;
        } else if (beside != nullptr && lowest_beside < -std::max(counts, boils_volts)) {
            worst = beside;
            volts_there = lowest_beside;
        }
        if (worst == nullptr) continue;
        findings.add(
            severity, tw::electrolytic_reversed, "electrolytic-reversed", part, 0, {part.id},
            {trace.net(part.leads[0].net).name, trace.net(part.leads[1].net).name},
            fill("{} stands reversed: its plus is {} below its minus ({}); a reversed electrolytic boils and shorts",
                 {part.id, say(volts(-volts_there)), worst->condition.text()}),
            "the can's marks against the lugs; in a back-bias set, which end of the bias resistor its minus is on");
    }
}

/// "p.2" is the plate on pin 2, "plate.1" a half of a winding.
std::string_view first_word(std::string_view lead) {
    return lead.substr(0, lead.find('.'));
}

/// In a converter the screen is the pair of grids joined inside: g2 alone is its anode grid, whose watts no row limits.
bool on_screen(const Trace& trace, int socket, std::string_view lead) {
    const std::string_view pin_name = lead.substr(std::min(lead.size(), lead.find('.') + 1));
    const std::vector<PinElectrode>& pins = trace.electrodes(socket);
    const auto grids = std::count_if(pins.begin(), pins.end(), [&](const PinElectrode& pin) {
        return pin.electrode == Electrode::screen && trace.part(socket).leads[at(pin.lead)].name == pin_name;
    });
    const std::string& made_as = trace.part(socket).type->tube_class;
    const bool pair = made_as.find("converter") != std::string::npos || made_as.find("mixer") != std::string::npos;
    return grids >= (pair ? 2 : 1);
}

/// Tubes over their ratings, and power tubes that draw nothing like what any listed point has.
void tube_loads(const Trace& trace, const Catalogue& catalogue, const Solution& normal, Findings& findings) {
    const int parts = static_cast<int>(trace.chassis().parts().size());
    std::vector<std::vector<const Branch*>> of(at(parts));
    for (const Branch& branch : normal.branches)
        if (branch.part >= 0) of[at(branch.part)].push_back(&branch);
    for (int p = 0; p < parts; ++p) {
        const Part& socket = trace.part(p);
        if (socket.kind != PartKind::socket || socket.type == nullptr) continue;
        const TubeType& type = *socket.type;
        const auto over = [&](double value, double limit, const std::string& words, const std::string& look_at) {
            if (value <= over_doubt * limit) return;
            findings.add(value > over_stop * limit ? Severity::stop : Severity::doubt, tw::tube_over_its_limit,
                         "tube-over-its-limit", socket, -1, {socket.id}, {}, words, look_at);
        };
        const std::string who = socket.id + " (" + socket.tube + ")";
        if (type.is_rectifier()) {
            const RectifierType* row = catalogue.rectifier(type.type);
            if (row == nullptr) continue;
            double direct = 0, peak = 0;
            for (const Branch* branch : of[at(p)]) {
                const std::string_view plate = first_word(branch->lead);
                if (type.is_only_rectifier() ? plate.substr(0, 1) != "p" : plate.substr(0, 2) != "pr") continue;
                direct = row->dc_per_plate ? std::max(direct, std::fabs(branch->dc.value()))
                                           : direct + std::fabs(branch->dc.value());
                peak = std::max(peak, std::fabs(branch->peak.value()));
            }
            const std::string look =
                "the first filter's microfarads, the ohms of the plate winding, and what draws from "
                "B-plus";
            if (row->max_dc_amps && direct > over_doubt * *row->max_dc_amps)
                over(direct, *row->max_dc_amps,
                     fill(row->dc_per_plate ? "each plate of {} delivers {} where {} is its limit, with all parts as "
                                              "marked"
                                            : "{} delivers {} where {} is its limit, with all parts as marked",
                          {who, say(amps(direct)), say(amps(*row->max_dc_amps))}),
                     look);
            else if (row->max_peak_amps)
                over(peak, *row->max_peak_amps,
                     fill("each plate of {} peaks at {} where {} is its limit, with all parts as marked",
                          {who, say(amps(peak)), say(amps(*row->max_peak_amps))}),
                     look);
            continue;
        }
        double plate_amps = 0, screen_volts = 0;
        for (const Branch* branch : of[at(p)]) {
            const std::string_view electrode = first_word(branch->lead);
            const bool plate = electrode.substr(0, 1) == "p", screen = on_screen(trace, p, branch->lead);
            if (plate) plate_amps += branch->dc.value();
            if (screen) screen_volts = branch->volts_dc.value();
            if (screen && type.max_screen_volts && branch->watts.value() > 0)
                over(branch->volts_dc.value(), *type.max_screen_volts * screen_leeway,
                     fill("the screen of {} stands at {} where {} is its limit",
                          {who, say(volts(branch->volts_dc.value())), say(volts(*type.max_screen_volts))}),
                     "its feed from B-plus and its bypass: a resistor read as a wire, a pin counted wrongly");
            const std::optional<double> limit = plate    ? type.max_plate_watts
                                                : screen ? type.max_screen_watts
                                                         : std::nullopt;
            if (limit)
                over(branch->watts.value(), *limit,
                     fill("the {} of {} takes {} where {} is its limit, with all parts as marked",
                          {plate ? "plate" : "screen", who, say(watts(branch->watts.value())), say(watts(*limit))}),
                     "its cathode resistor and its grid return; a zero or a multiplier misread");
        }
        if (type.tube_class.find("power") == std::string::npos) continue;
        const bool supplied = std::any_of(of[at(p)].begin(), of[at(p)].end(), [](const Branch* branch) {
            return first_word(branch->lead).substr(0, 1) == "p" && branch->volts_dc.value() > 2;
        });
        double least = 0, most = 0;
        for (const OperatingPoint& point : catalogue.points_of(type)) {
            if (!point.plate_amps || *point.plate_amps <= 0 || point.note.find("class B") != std::string::npos)
                continue;
            // at fewer screen volts the whole characteristic shrinks, by the 3/2 law
            double scale = 1;
            if (point.screen_volts && *point.screen_volts > 0 && screen_volts > 0)
                scale = std::min(1.0, std::pow(screen_volts / *point.screen_volts, 1.5));
            const double scaled = *point.plate_amps * scale;
            least = least > 0 ? std::min(least, scaled) : scaled;
            most = std::max(most, scaled);
        }
        if (!supplied || most <= 0) continue;
        if (plate_amps < starved * least || plate_amps > flooded * most)
            findings.add(Severity::doubt, tw::tube_off_its_current, "tube-off-its-current", socket, -1, {socket.id}, {},
                         fill("{} draws {} of plate current with all parts as marked; its listed points come to {} "
                              "at this screen",
                              {who, say(amps(plate_amps)),
                               least < most ? say(amps(least)) + " to " + say(amps(most)) : say(amps(most))}),
                         "its cathode resistor, its grid return and its screen feed; a zero or a multiplier misread");
    }
}

/// A part whose value is doubted and that stands on a net of this one, the bottom apart; empty when none does.
std::string doubted_beside(const Trace& trace, const Part& part, std::span<const Finding> connections) {
    for (const Finding& finding : connections) {
        if (finding.number != tw::implausible_value) continue;
        for (const std::string& id : finding.parts) {
            const int index = trace.chassis().part(id);
            if (index < 0 || id == part.id) continue;
            for (const Lead& lead : trace.part(index).leads)
                for (const Lead& own : part.leads)
                    if (lead.net >= 0 && lead.net == own.net && !trace.bottom(lead.net)) return id;
        }
    }
    return {};
}

void capacitor_volts(const Trace& trace, const Solution& normal, std::span<const Finding> connections,
                     Findings& findings) {
    for (const Branch& branch : normal.branches) {
        if (branch.part < 0) continue;
        const Part& part = trace.part(branch.part);
        if (part.kind != PartKind::capacitor || !part.rated_volts || *part.rated_volts <= 0) continue;
        const double crest = std::fabs(branch.volts_peak.value());
        if (crest <= capacitor_doubt * *part.rated_volts) continue;
        const std::string beside = doubted_beside(trace, part, connections);
        findings.add(crest > capacitor_stop * *part.rated_volts ? Severity::stop : Severity::doubt,
                     tw::capacitor_over_its_volts, "capacitor-over-its-volts", part, -1, {part.id}, {},
                     fill("{} sees {} in normal service and is marked {}: {}",
                          {part.id, say(volts(crest)), say(volts(*part.rated_volts)),
                           beside.empty() ? "no maker put it there"
                                          : beside + " beside it has a value in doubt, and that may be all"}),
                     beside.empty() ? std::string("the print on it, and the two lugs it really stands on")
                                    : "the value of " + beside + " first, then the print on this one");
    }
}

/// In service a set stays near what its transformer is made for; where the file gives no volt-amperes, the heaters say
/// how large it is.
void transformer_load(const Trace& trace, const Solution& normal, Findings& findings) {
    const double made_for = trace.chassis().transformer_va();
    if (made_for <= 0 || trace.chassis().line().hertz <= 0) return;
    const auto& parts = trace.chassis().parts();
    const Part& part = *std::find_if(parts.begin(), parts.end(), [](const Part& one) {
        return one.kind == PartKind::transformer && one.role == "power";
    });
    const double drawn = normal.primary_rms.value() * normal.line_volts;
    if (drawn <= overload_doubt * made_for) return;
    findings.add(
        drawn > most_overload * made_for ? Severity::stop : Severity::doubt, tw::transformer_overloaded,
        "transformer-overloaded", part, -1, {part.id}, {},
        fill(drawn > most_overload * made_for
                 ? "{} draws {} VA with all parts as marked, and {}{} VA: so traced it burns with nothing wrong"
                 : "{} draws {} VA with all parts as marked, and {}{} VA: so traced it runs hotter than it is made to",
             {part.id, std::to_string(std::lround(drawn)),
              part.rated_va ? "is made for " : "by the heaters of the set is made for about ",
              std::to_string(std::lround(made_for))}),
        "what draws so much: a lug that joins what is apart, the ends of its windings, a value read a thousand times "
        "too small; if the trace is right, the volt-amperes on its label");
}

/// `told`: a figure of the winding is in doubt already.
void windings_and_fuses(const Trace& trace, const Solution& normal, bool told, Findings& findings) {
    for (const Branch& branch : normal.branches) {
        if (branch.part < 0) continue;
        const Part& part = trace.part(branch.part);
        if (part.kind == PartKind::fuse && part.rated_amps) {
            const double rms = branch.rms.value();
            // a battery's lead is fused for the vibrator's rush, and for what the fuse shop has
            const double times = trace.chassis().line().supply == "battery" ? battery_fuse_times : fuse_times;
            if (rms <= 0 || *part.rated_amps <= times * rms) continue;
            findings.add(Severity::doubt, tw::fuse_too_large, "fuse-too-large", part, -1, {part.id}, {},
                         fill("{} is a fuse of {} where {} flows: it would watch the transformer burn",
                              {part.id, say(amps(*part.rated_amps)), say(amps(rms))}),
                         "what the label or the holder asks for; who fitted it, and what it used to blow for");
            continue;
        }
        if (told || part.kind != PartKind::transformer || part.role != "power") continue;
        for (const PartWinding& winding : part.windings) {
            const bool primary = winding.role == WindingRole::primary;
            if ((!primary && winding.role != WindingRole::plate) || winding.leads.size() < 2) continue;
            if (primary && part.rated_va) continue;  // judged by its volt-amperes
            for (std::size_t half = 0; half + 1 < winding.leads.size(); ++half) {
                const std::string name =
                    winding.leads.size() > 2 ? winding.name + "." + std::to_string(half + 1) : winding.name;
                if (name != branch.lead || half >= winding.ohms.size()) continue;
                const double across = half < winding.noload_volts.size() ? winding.noload_volts[half]
                                      : winding.volts                    ? *winding.volts
                                                                         : branch.volts_rms.value();
                const double drop = branch.rms.value() * winding.ohms[half];
                if (across <= 0 || drop <= (primary ? primary_drop : plate_drop) * across) continue;
                findings.add(Severity::doubt, tw::winding_drops_too_much, "winding-drops-too-much", part, -1, {part.id},
                             {},
                             fill("the {} winding of {} loses {} of its {} in its own {}",
                                  {name, part.id, say(volts(drop)), say(volts(across)), say(ohms(winding.ohms[half]))}),
                             "its ohms by meter, plug out; a zero or a multiplier misread");
            }
        }
    }
}

void heater_volts(const Trace& trace, const Solution& normal, double line_ratio, Findings& findings) {
    int told = -1;  // of two halves one row
    const std::vector<Part>& parts = trace.chassis().parts();
    const bool rheostat =
        trace.chassis().line().supply == "battery" && std::any_of(parts.begin(), parts.end(), [](const Part& part) {
            return part.kind == PartKind::control && part.ohms.value_or(1e6) <= most_rheostat;
        });
    for (const HeaterPath& heater : audit::heaters_of(trace, audit::Empty::as_gap)) {
        if (!heater.fed || !heater.volts || heater.net_a == heater.net_b) continue;
        const Part& socket = trace.part(heater.part);
        // Across both pins of the half: read from the branch of the pin, which carries the rms volts of the heater.
        const Branch* branch = nullptr;
        for (const Branch& one : normal.branches) {
            if (one.part == heater.part && one.lead == "heater") branch = &one;
        }
        double across = -1;
        if (branch != nullptr && branch->volts_rms.value() > 0 && socket.type->heater_volts)
            across = branch->volts_rms.value() * *heater.volts / *socket.type->heater_volts;
        if (across < 0) {
            const NetVolts* a = net_of(normal, heater.net_a);
            const NetVolts* b = net_of(normal, heater.net_b);
            // One leg on the reference: the other leg's rms is the heater's.
            if (a == nullptr || b == nullptr) continue;
            const double direct = std::fabs(a->dc.value() - b->dc.value());
            if (direct > 4 * std::max(a->rms.value(), b->rms.value())) {  // a filament on direct current
                across = direct;
            } else if (b->rms.value() < 0.05) {
                across = std::hypot(direct, a->rms.value());
            } else if (a->rms.value() < 0.05) {
                across = std::hypot(direct, b->rms.value());
            } else {
                continue;
            }
        }
        const double ratio = across / (*heater.volts * line_ratio);
        // a rectifier that the changeover switch leaves without line; a rheostat that somebody sets by a meter
        if (across < 1e-3 * *heater.volts && trace.chassis().family() == Family::portable) continue;
        if (rheostat) continue;
        if (std::fabs(ratio - 1) <= heater_tolerance || told == heater.part) continue;
        told = heater.part;
        findings.add(std::fabs(ratio - 1) > 0.2 ? Severity::doubt : Severity::note, tw::heater_volts_off,
                     "heater-volts-off", socket, heater.lead_a, {socket.id}, {},
                     fill("the heater of {} ({}) gets {} where {} is meant",
                          {socket.id, socket.tube, say(volts(across)), say(volts(*heater.volts * line_ratio))}),
                     "the type in this socket, its heater winding, and what else hangs on that winding");
    }
}

/// On a line of direct current with the plug the wrong way round no rectifier passes anything, nor, where there is
/// none, does any tube: heaters alone draw. Told once, in place of all that follows from it.
bool line_turned(const Trace& trace, const Solution& normal, Findings& findings) {
    constexpr double least = 20;  // volts; more than bias and contact potential come to
    const LineSpec& line = trace.chassis().line();
    const NodeRoles& roles = trace.chassis().nodes();
    if ((line.hertz > 0 && line.supply != "dc") || roles.line_hot < 0 || roles.line_neutral < 0) return false;
    double highest = 0, lowest = 0;
    std::string where;
    int socket = -1;
    for (const Unit& unit : trace.units())
        for (const PinElectrode& pin : unit.pins) {
            if (pin.electrode != Electrode::plate && pin.electrode != Electrode::rectifier_plate) continue;
            const NetVolts* there = net_of(normal, trace.part(unit.part).leads[at(pin.lead)].net);
            if (there == nullptr || there->undetermined) continue;
            highest = std::max(highest, there->dc.value());
            if (there->dc.value() >= lowest) continue;
            lowest = there->dc.value();
            where = trace.pin_name(unit.part, pin);
            socket = unit.part;
        }
    for (int p = 0; p < static_cast<int>(trace.chassis().parts().size()); ++p) {
        const Part& dry = trace.part(p);
        if (dry.kind != PartKind::rectifier || dry.leads.size() != 2) continue;
        const NetVolts *anode = net_of(normal, dry.leads[0].net), *cathode = net_of(normal, dry.leads[1].net);
        if (anode == nullptr || cathode == nullptr || anode->undetermined) continue;
        highest = std::max(highest, cathode->undetermined ? 0.0 : cathode->dc.value());
        if (anode->dc.value() >= lowest) continue;
        lowest = anode->dc.value();
        where = dry.id;
        socket = p;
    }
    if (socket < 0 || lowest > -least || highest > bench::residue_volts) return false;
    findings.add(Severity::doubt, tw::direct_line_turned, "direct-line-turned", trace.part(socket), -1,
                 {trace.part(socket).id}, {},
                 fill("the line is direct current and its plus comes in on the wrong blade: {} stands at {}, so that "
                      "nothing conducts and B-plus is absent; the heaters alone draw",
                      {where, say(volts(lowest))}),
                 "turn the plug in the outlet; in the file, hot is the blade with the plus");
    return true;
}

void tube_volts(const Trace& trace, const Solution& normal, Findings& findings) {
    for (const Unit& unit : trace.units()) {
        const Part& socket = trace.part(unit.part);
        if (socket.type == nullptr || stands_open(socket)) continue;
        double cathode = 0;
        bool known = false;
        for (const PinElectrode& pin : unit.pins) {
            if (pin.electrode != Electrode::cathode || audit::rectifies(socket, pin)) continue;
            if (const NetVolts* volts_there = net_of(normal, socket.leads[at(pin.lead)].net);
                volts_there != nullptr && !volts_there->undetermined) {
                cathode = volts_there->dc.value();
                known = true;
            }
        }
        if (!known) continue;
        int before = -1;  // two grids joined inside are one pin
        for (const PinElectrode& pin : unit.pins) {
            if (pin.electrode == Electrode::screen && pin.lead == before) continue;
            if (pin.electrode == Electrode::screen) before = pin.lead;
            const int net = socket.leads[at(pin.lead)].net;
            const NetVolts* there = net_of(normal, net);
            if (there == nullptr || trace.net(net).leads.size() < 2) continue;
            const double above = there->dc.value() - cathode;
            const std::string name = trace.pin_name(unit.part, pin);
            const bool wanted = pin.electrode == Electrode::plate || pin.electrode == Electrode::control_grid ||
                                pin.electrode == Electrode::screen;
            if (there->undetermined) {
                if (wanted && !trace.untraced_near(net))
                    findings.add(Severity::doubt, tw::net_undetermined, "net-undetermined", socket, pin.lead,
                                 {socket.id}, {trace.net(net).name},
                                 fill("the volts at {} are not determined: no direct current can reach it", {name}),
                                 "the resistor or coil that ties this pin");
                continue;
            }
            if (pin.electrode == Electrode::plate && trace.reaches_b_plus(net) && above < 2)
                findings.add(Severity::doubt, tw::plate_without_volts, "plate-without-volts", socket, pin.lead,
                             {socket.id}, {trace.net(net).name},
                             fill("{} stands {} above its cathode with all parts as marked", {name, say(volts(above))}),
                             "its load, and what else is on this net");
            if (pin.electrode == Electrode::control_grid && above > positive_volts)
                findings.add(Severity::doubt, tw::grid_driven_positive, "grid-driven-positive", socket, pin.lead,
                             {socket.id}, {trace.net(net).name},
                             fill("{} stands {} above its cathode with all parts as marked", {name, say(volts(above))}),
                             "the grid return and the cathode resistor; a coupling capacitor drawn as a wire");
        }
    }
}

}  // namespace

std::vector<Finding> audit_solved(const Chassis& chassis, const Catalogue& catalogue,
                                  std::span<const Solution> solutions) {
    const Trace trace(chassis);
    if (!audit::open_on_the_way(trace).empty()) return {};
    Findings findings;
    electrolytics(trace, solutions, findings);
    for (const Solution& solution : solutions) {
        if (solution.condition.scenario != Scenario::normal || solution.condition.lamp_watts > 0) continue;
        const double line_ratio =
            chassis.line().volts > 0 && solution.line_volts > 0 ? solution.line_volts / chassis.line().volts : 1;
        const bool turned = line_turned(trace, solution, findings);
        if (!turned) tube_volts(trace, solution, findings);
        const std::vector<Finding> connections = audit_graph(chassis, catalogue);
        // a transformer that burns on direct current leaves no volts worth a word
        if (std::any_of(connections.begin(), connections.end(),
                        [](const Finding& f) { return f.number == tw::transformer_on_direct_line; }))
            return {};
        const bool stop = std::any_of(connections.begin(), connections.end(),
                                      [](const Finding& f) { return f.severity == Severity::stop; });
        const bool winding = std::any_of(connections.begin(), connections.end(), [&](const Finding& f) {
            return f.number == tw::implausible_value && f.parts.size() == 1 && chassis.part(f.parts[0]) >= 0 &&
                   trace.part(chassis.part(f.parts[0])).kind == PartKind::transformer;
        });
        if (!winding) heater_volts(trace, solution, line_ratio, findings);
        if (!stop && !winding && !turned) {
            tube_loads(trace, catalogue, solution, findings);
            capacitor_volts(trace, solution, connections, findings);
            transformer_load(trace, solution, findings);
        }
        if (!stop) windings_and_fuses(trace, solution, winding, findings);
        break;
    }
    std::sort(findings.rows.begin(), findings.rows.end(), [](const Finding& a, const Finding& b) {
        return std::tuple(-static_cast<int>(a.severity), a.place.line, a.number, a.place.column, a.parts, a.message) <
               std::tuple(-static_cast<int>(b.severity), b.place.line, b.number, b.place.column, b.parts, b.message);
    });
    return findings.rows;
}

}  // namespace tubewright
