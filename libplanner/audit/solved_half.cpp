// SPDX-License-Identifier: MIT
// The solved half of the trace audit: what the volts give away. An electrolytic that stands reversed, a heater off its
// volts, a plate without volts and a grid driven positive in the healthy set are traces gone wrong more often than sets
// gone wrong. Tests: tests/audit/solved_test.cpp.
#include <algorithm>
#include <cmath>
#include <tuple>

#include <tubewright/audit.hpp>

#include "audit/heaters.hpp"
#include "audit/numbers.hpp"
#include "audit/traced.hpp"
#include "audit/wording.hpp"

namespace tubewright {
namespace {

using audit::Electrode;
using audit::fill;
using audit::HeaterPath;
using audit::PinElectrode;
using audit::Trace;
using audit::Unit;

std::size_t at(int index) {
    return static_cast<std::size_t>(index);
}

/// A reversal counts from here, and from this share of the most that the place sees: contact potential on a dead supply
/// is less (assumed).
constexpr double reversal_volts = 0.5, reversal_share = 0.02;
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

void electrolytics(const Trace& trace, std::span<const Solution> solutions, Findings& findings) {
    const int parts = static_cast<int>(trace.chassis().parts().size());
    for (int p = 0; p < parts; ++p) {
        const Part& part = trace.part(p);
        if (part.kind != PartKind::capacitor || !part.polarised || part.leads.size() != 2) continue;
        const Solution* worst = nullptr;
        double lowest = 0, highest = 0;
        for (const Solution& solution : solutions) {
            // Without a rectifier only contact potential is left on the supply, and it says nothing of the trace.
            const Scenario scenario = solution.condition.scenario;
            if (scenario == Scenario::rectifier_out || scenario == Scenario::transformer_alone) continue;
            const NetVolts* plus = net_of(solution, part.leads[0].net);
            const NetVolts* minus = net_of(solution, part.leads[1].net);
            if (plus == nullptr || minus == nullptr || plus->undetermined || minus->undetermined) continue;
            const double across = plus->dc.value() - minus->dc.value();
            highest = std::max(highest, across);
            if (across < lowest) {
                lowest = across;
                worst = &solution;
            }
        }
        if (lowest > -(reversal_volts + reversal_share * highest)) worst = nullptr;
        if (worst == nullptr) continue;
        const bool in_service =
            worst->condition.scenario == Scenario::normal || worst->condition.scenario == Scenario::high_line;
        findings.add(
            in_service ? Severity::stop : Severity::doubt, tw::electrolytic_reversed, "electrolytic-reversed", part, 0,
            {part.id}, {trace.net(part.leads[0].net).name, trace.net(part.leads[1].net).name},
            fill("{} stands reversed: its plus is {} below its minus ({}); a reversed electrolytic boils and shorts",
                 {part.id, say(volts(-lowest)), worst->condition.text()}),
            "the can's marks against the lugs; in a back-bias set, which end of the bias resistor its minus is on");
    }
}

void heater_volts(const Trace& trace, const Solution& normal, double line_ratio, Findings& findings) {
    for (const HeaterPath& heater : audit::heaters_of(trace)) {
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
            if (b->rms.value() < 0.05) {
                across = a->rms.value();
            } else if (a->rms.value() < 0.05) {
                across = b->rms.value();
            } else {
                continue;
            }
        }
        const double ratio = across / (*heater.volts * line_ratio);
        if (std::fabs(ratio - 1) <= heater_tolerance) continue;
        findings.add(std::fabs(ratio - 1) > 0.2 ? Severity::doubt : Severity::note, tw::heater_volts_off,
                     "heater-volts-off", socket, heater.lead_a, {socket.id}, {},
                     fill("the heater of {} ({}) gets {} where {} is meant",
                          {socket.id, socket.tube, say(volts(across)), say(volts(*heater.volts * line_ratio))}),
                     "the type in this socket, its heater winding, and what else hangs on that winding");
    }
}

void tube_volts(const Trace& trace, const Solution& normal, Findings& findings) {
    for (const Unit& unit : trace.units()) {
        const Part& socket = trace.part(unit.part);
        if (socket.type == nullptr) continue;
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
        for (const PinElectrode& pin : unit.pins) {
            const int net = socket.leads[at(pin.lead)].net;
            const NetVolts* there = net_of(normal, net);
            if (there == nullptr || trace.net(net).leads.size() < 2) continue;
            const double above = there->dc.value() - cathode;
            const std::string name = trace.pin_name(unit.part, pin);
            const bool wanted = pin.electrode == Electrode::plate || pin.electrode == Electrode::control_grid ||
                                pin.electrode == Electrode::screen;
            if (there->undetermined) {
                if (wanted)
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
    (void)catalogue;
    const Trace trace(chassis);
    Findings findings;
    electrolytics(trace, solutions, findings);
    for (const Solution& solution : solutions) {
        if (solution.condition.scenario != Scenario::normal || solution.condition.lamp_watts > 0) continue;
        const double line_ratio =
            chassis.line().volts > 0 && solution.line_volts > 0 ? solution.line_volts / chassis.line().volts : 1;
        heater_volts(trace, solution, line_ratio, findings);
        tube_volts(trace, solution, findings);
        break;
    }
    std::sort(findings.rows.begin(), findings.rows.end(), [](const Finding& a, const Finding& b) {
        return std::tuple(-static_cast<int>(a.severity), a.place.line, a.number, a.place.column, a.parts, a.message) <
               std::tuple(-static_cast<int>(b.severity), b.place.line, b.number, b.place.column, b.parts, b.message);
    });
    return findings.rows;
}

}  // namespace tubewright
