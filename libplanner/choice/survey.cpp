// SPDX-License-Identifier: MIT
// Family and what can kill, with reasons from the topology; hours and cost as ranges from the catalogue's table of
// steps. Test: tests/choice/survey_test.cpp.
#include <algorithm>
#include <cmath>
#include <set>

#include <tubewright/choice.hpp>

#include "chassis/earth.hpp"
#include "choice/duty.hpp"
#include "choice/figure.hpp"
#include "choice/minutes.hpp"

namespace tubewright {
namespace {

constexpr double hours_spread_low = 0.7, hours_spread_high = 1.6;  // a bench differs from another by that (assumed)
constexpr double replaced_of_measured = 0.3;  // of what is measured, what then goes, at most (assumed)

std::size_t at(int i) {
    return static_cast<std::size_t>(i);
}

bool mentions(const Chassis& chassis, std::string_view construction) {
    return std::any_of(chassis.parts().begin(), chassis.parts().end(),
                       [&](const Part& p) { return p.construction.find(construction) != std::string::npos; });
}

/// What the tubes tell where the trace does not reach the supply.
std::optional<LineUp> line_up_in(const Chassis& chassis, const Catalogue& catalogue) {
    std::vector<std::string> tubes;
    for (const Part& p : chassis.parts())
        if (p.kind == PartKind::socket && p.type) tubes.push_back(p.tube);
    if (chassis.level() >= 2 || tubes.empty()) return std::nullopt;
    const LineSpec& line = chassis.line();
    std::string label = line.supply == "ac-dc" ? "ac/dc" : line.supply;
    if (line.volts_stated) label += " " + choice::figure(line.volts) + "V";
    if (line.volts_stated && line.hertz > 0 && line.supply != "dc") label += " " + choice::figure(line.hertz) + "c";
    if (line.watts) label += " " + choice::figure(*line.watts) + "W";
    Outcome<LineUp> made = line_up_of(tubes, label, chassis.built(), catalogue);
    if (!made) return std::nullopt;
    return *made;
}

std::vector<std::string> reasons_of(const Chassis& chassis) {
    std::vector<std::string> reasons;
    for (const Part& p : chassis.parts())
        for (const PartWinding& w : p.windings)
            if (w.role == WindingRole::primary)
                reasons.push_back(p.id + (chassis.hot()
                                              ? " is a power transformer with its primary on the line, and yet "
                                                "the chassis is not isolated"
                                              : " has its primary on the line"));
    for (const Part& p : chassis.parts())
        if (p.kind == PartKind::socket && p.type && p.type->is_rectifier())
            reasons.push_back(p.id + " (" + p.tube + ") is a rectifier, " +
                              (p.type->directly_heated ? "directly" : "indirectly") + " heated");
    const NodeRoles& n = chassis.nodes();
    if (chassis.hot())
        reasons.push_back(
            "a line blade reaches the metal or B-minus through something that is not a capacitor or a winding");
    else if (chassis.level() < 2)
        reasons.push_back("the supply is not traced: whether the line reaches the metal is not known");
    else if (n.chassis_metal < 0 && n.b_minus < 0)
        reasons.push_back("no node says which net the metal is: whether the line reaches it is not known");
    else if (const std::vector<std::string> live = line_shorts(chassis); !live.empty())
        reasons.push_back("as found the metal is the line, by " + choice::listed(live) + " that was seen shorted");
    else if (n.line_hot >= 0)
        reasons.push_back(
            "no blade reaches the metal but through capacitors and windings, in any position of switch and plug");
    if (n.b_minus >= 0 && n.b_minus != n.chassis_metal) reasons.push_back("B-minus is not the chassis metal");
    if (n.line_hot < 0 && chassis.level() >= 2)
        reasons.push_back(chassis.family() == Family::unknown
                              ? "no <line> in the file: where its plug goes is not known"
                              : "no line: batteries or a vehicle feed it");
    return reasons;
}

}  // namespace

std::vector<std::string> cautions_for(const Chassis& chassis, const Catalogue& catalogue) {
    std::vector<std::string> topics;
    const Family family = chassis.family();
    const bool line = chassis.nodes().line_hot >= 0 || chassis.level() < 2 || family == Family::unknown;
    const bool floating = family == Family::floating_b_minus || family == Family::doubler;
    // Not known is treated as hot.
    const bool unknown =
        (chassis.level() < 2 && family != Family::battery && family != Family::vehicle) || family == Family::unknown;
    if (chassis.hot() || unknown)
        topics.push_back(floating ? "floating-bus" : chassis.hot() ? "hot-chassis" : "metal-not-known");
    topics.insert(topics.end(), {"b-plus", "charge"});
    if (line) topics.push_back("local-code");
    topics.insert(topics.end(), {"one-hand", "alone", "unattended"});
    if (line) topics.insert(topics.end(), {"isolation", "residual-current", "lamp"});
    const auto any = [&](const auto& test) {
        return std::any_of(chassis.parts().begin(), chassis.parts().end(), test);
    };
    // A voice coil alone brings no B-plus to its plug.
    if (any([](const Part& p) {
            return p.plug == "speaker" && p.kind != PartKind::speaker &&
                   !(p.kind == PartKind::coil && (p.role == "voice" || p.role == "hum-bucking"));
        }))
        topics.push_back("speaker-plug");
    if (any([](const Part& p) { return p.type && p.type->pin("cap"); })) topics.push_back("plate-cap");
    if (mentions(chassis, "resistance-cord")) topics.push_back("resistance-cord");
    if (family == Family::vehicle) topics.insert(topics.end(), {"vehicle-supply", "vibrator-volts"});
    if (family == Family::battery || family == Family::portable) topics.push_back("battery-filament");
    if (mentions(chassis, "selenium")) topics.push_back("selenium");
    if (mentions(chassis, "oil") ||
        any([](const Part& p) { return p.kind == PartKind::transformer && p.role == "power"; }))
        topics.push_back("old-oil");
    if (mentions(chassis, "paper") || mentions(chassis, "tar")) topics.push_back("chlorinated-wax");
    if (mentions(chassis, "cord")) topics.push_back("asbestos");
    topics.push_back("cadmium");
    if (any([](const Part& p) {
            return p.type && p.type->is_rectifier() && p.type->note.find("mercury") != std::string::npos;
        }))
        topics.push_back("mercury");
    topics.insert(topics.end(), {"lead", "radium", "rodents", "hot-glass"});
    std::vector<std::string> texts;
    for (const std::string& topic : topics)
        for (const Caution& c : catalogue.cautions())
            if (c.topic == topic) texts.push_back(c.text);
    return texts;
}

Survey survey_of(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy,
                 std::span<const PartAction> actions, const ShoppingList& list) {
    Survey s;
    s.family = chassis.family();
    s.hot = chassis.hot();
    s.level = chassis.level();
    s.family_reasons = reasons_of(chassis);
    s.parts.assign(actions.begin(), actions.end());
    double work = 0, chance = 0;
    for (const PartAction& a : actions) {
        const Part& p = chassis.parts()[at(a.part)];
        if (a.action == "replace") work += choice::replace_cost(p, catalogue).minutes;
        if (a.action == "measure") {
            work += choice::measure_cost(p, catalogue).minutes;
            chance += replaced_of_measured * choice::replace_cost(p, catalogue).minutes;
        }
    }
    // Tests, stages, alignment and hand-back come to every set.
    double fixed = 0;
    for (const char* key : {"label-check", "photographs", "cold-ohms", "visual", "transformer-alone", "heaters",
                            "power-stage", "power-stage", "soak", "align-if", "align-rf", "touch-current", "hand-back"})
        if (const StepCost* c = catalogue.step_cost(key)) fixed += c->minutes;
    s.hours_low = std::round((work + fixed) * policy.pace * hours_spread_low / 6) / 10;
    s.hours_high = std::round((work + chance + fixed) * policy.pace * hours_spread_high / 6) / 10;
    s.cost_low = list.cost_low.value_or(0);
    double maybe = 0;  // what is measured and then goes, at the prices of the same table
    for (const PartAction& a : actions)
        if (a.action == "measure")
            maybe += replaced_of_measured * choice::replace_cost(chassis.parts()[at(a.part)], catalogue).cost;
    s.cost_high = std::round(list.cost_high.value_or(0) + maybe);
    s.cautions = cautions_for(chassis, catalogue);
    s.line_up = line_up_in(chassis, catalogue);
    return s;
}

}  // namespace tubewright
