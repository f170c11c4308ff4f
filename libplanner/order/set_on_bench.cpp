// SPDX-License-Identifier: MIT
// See set_on_bench.hpp. Nothing here depends on what parts are called.
#include "order/set_on_bench.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "chassis/data.hpp"
#include "choice/safety.hpp"
#include "threat/touch.hpp"

namespace tubewright::power_up {
namespace {

constexpr std::array worn{"dried", "drift", "corroded", "brittle"};  // beside what is plainly useless

}  // namespace

bool in(const std::vector<std::string>& list, const std::string& what) {
    return std::find(list.begin(), list.end(), what) != list.end();
}

Notice refusal(const Chassis& chassis, int number, const std::string& message, const std::string& remedy) {
    Notice n;
    n.number = number;
    n.severity = Severity::error;
    n.place.file = chassis.file();
    n.message = message;
    n.remedy = remedy;
    return n;
}

SetOnBench::SetOnBench(const Chassis& of, const Catalogue& tables, const Policy& settings, const Progress& done)
    : chassis(of),
      catalogue(tables),
      policy(settings),
      progress(done),
      duties(duties_of(of)),
      earth(earth_of(of, done)),
      copper(of.parts(), static_cast<int>(of.nets().size()), Through::copper) {
    for (std::size_t i = 0; i < chassis.parts().size(); ++i) sort_out(static_cast<int>(i));
    find_filters();
}

// H5 is about the leads of line, heaters and plate windings: those of B-plus and the antenna come with their steps.
bool SetOnBench::supply_lead(const Part& p) const {
    if (p.kind != PartKind::wire) return false;
    for (const Lead& l : p.leads) {
        if (l.net < 0 || l.net == chassis.reference()) continue;
        if (duties.line[at(l.net)]) return true;
        for (const LeadRef& ref : chassis.nets()[at(l.net)].leads) {
            const PartKind kind = part(ref.part).kind;
            if (kind == PartKind::lamp) return true;
            if (kind != PartKind::transformer) continue;
            for (const PartWinding& w : part(ref.part).windings)
                if (w.role == WindingRole::primary || w.role == WindingRole::plate || w.role == WindingRole::heater ||
                    w.role == WindingRole::rectifier_heater)
                    for (int k : w.leads)
                        if (part(ref.part).leads[at(k)].net == l.net) return true;
        }
    }
    return false;
}

bool SetOnBench::on_line(const Part& p) const {
    return std::any_of(p.leads.begin(), p.leads.end(),
                       [&](const Lead& l) { return l.net >= 0 && duties.line[at(l.net)]; });
}

void SetOnBench::sort_out(int index) {
    const Part& p = part(index);
    for (const PartWinding& w : p.windings)
        if (w.role == WindingRole::primary) transformer = index;
    switch (p.kind) {
        case PartKind::socket:
            if (p.type && p.fitted != "none") (p.type->is_rectifier() ? rectifiers : others).push_back(p.id);
            break;
        case PartKind::rectifier:
            dry_rectifiers.push_back(p.id);
            break;
        case PartKind::lamp:
            lamps.push_back(p.id);
            break;
        case PartKind::vibrator:
            vibrators.push_back(p.id);
            break;
        case PartKind::battery:
            batteries.push_back(p.id);
            break;
        default:
            break;
    }
    if (p.construction == "resistance-cord") resistance_cords.push_back(p.id);
    if (p.plug == "speaker" || p.kind == PartKind::speaker) riding.push_back(p.id);
    plug_carries = plug_carries ||
                   (p.plug == "speaker" && p.kind != PartKind::speaker && p.role != "voice" && p.role != "hum-bucking");
    if ((p.kind == PartKind::transformer && p.role == "output") ||
        (p.kind == PartKind::coil && (p.role == "field" || p.role == "choke")))
        through.push_back(p.id);
    if (is_electrolytic(p) && p.seen != "omitted") electrolytics.push_back(p.id);
    const Duty d = duties.of(index);
    if (d == Duty::line_to_line || d == Duty::line_to_touch) line_capacitors.push_back(p.id);
    if (d == Duty::line_to_touch && p.farads) touch_old.push_back(*p.farads);
    if (d == Duty::plate_winding) winding_capacitors.push_back(p.id);
    if (duties.guards_rectifier(chassis, index)) guards.push_back(p.id);
    if (d == Duty::output_coupler) couplers.push_back(p.id);
    biased = biased || d == Duty::back_bias_resistor;
    for (const Lead& l : p.leads)
        biased = biased || (p.kind == PartKind::coil && (p.role == "field" || p.role == "choke") && l.net >= 0 &&
                            l.net == centre_tap());
    if (d == Duty::output_cathode_resistor || d == Duty::output_grid_leak || d == Duty::bias_feed ||
        d == Duty::back_bias_resistor || d == Duty::bias_filter)
        bias.push_back(p.id);
    const bool line_side = p.kind == PartKind::cord || (p.kind == PartKind::fuse && on_line(p)) ||
                           p.kind == PartKind::power_switch || supply_lead(p) ||
                           (p.kind == PartKind::plug && p.role != "speaker");
    if (line_side) line_parts.push_back(p.id);
}

void SetOnBench::find_filters() {
    for (int net = 0; net < static_cast<int>(chassis.nets().size()); ++net)
        for (const LeadRef& ref : chassis.nets()[at(net)].leads) {
            const Duty d = duties.of(ref.part);
            if ((d == Duty::first_filter || d == Duty::filter) && duties.fed[at(net)]) filters.push_back(net);
        }
    std::sort(filters.begin(), filters.end(), [&](int a, int b) {
        return duties.rank[at(a)] != duties.rank[at(b)] ? duties.rank[at(a)] < duties.rank[at(b)] : name(a) < name(b);
    });
    filters.erase(std::unique(filters.begin(), filters.end()), filters.end());
    for (int f : filters)
        if (b_plus < 0 || (duties.rank[at(b_plus)] == 0 && duties.rank[at(f)] > 0)) b_plus = f;
}

bool SetOnBench::on_string() const {
    const Family family = chassis.family();
    return family == Family::series_string || family == Family::floating_b_minus || family == Family::doubler;
}

bool SetOnBench::direct_line() const {
    return chassis.line().supply == "dc" || (chassis.line().volts_stated && chassis.line().hertz <= 0);
}

int SetOnBench::metal() const {
    const int m = chassis.nodes().chassis_metal;
    return m >= 0 ? m : chassis.reference();
}

int SetOnBench::centre_tap() const {
    for (const Part& t : chassis.parts())
        for (const PartWinding& w : t.windings)
            if (w.role == WindingRole::plate && w.leads.size() == 3) return t.leads[at(w.leads[1])].net;
    return -1;
}

double SetOnBench::wiper_ohms(int from, int to) const {
    for (const Part& p : chassis.parts()) {
        const int wiper = p.kind == PartKind::control ? p.lead("wiper") : -1;
        if (wiper < 0 || !p.ohms) continue;
        const auto ends_on = [&](int net) {
            return std::any_of(p.leads.begin(), p.leads.end(),
                               [&](const Lead& l) { return &l != &p.leads[at(wiper)] && l.net == net; });
        };
        const int net = p.leads[at(wiper)].net;
        if ((net == from && ends_on(to)) || (net == to && ends_on(from))) return *p.ohms;
    }
    return 0;
}

std::vector<std::string> SetOnBench::output_tubes() const {
    std::vector<std::string> ids;
    for (int socket : duties.output_tubes) ids.push_back(part(socket).id);
    return ids;
}

bool SetOnBench::is_output(const Part& p) const {
    return std::any_of(duties.output_tubes.begin(), duties.output_tubes.end(),
                       [&](int socket) { return part(socket).id == p.id; });
}

std::string SetOnBench::caution(const std::string& topic) const {
    for (const Caution& c : catalogue.cautions())
        if (c.topic == topic) return c.text;
    return "";
}

double SetOnBench::minutes(const char* key) const {
    const StepCost* c = catalogue.step_cost(key);
    return (c ? c->minutes : 0) * policy.pace;
}

// What dried, drifted or corroded still passes something, and is no less to be mended before the line.
bool SetOnBench::found_bad(const Part& p) {
    if (seen_useless(p) || seen_bad(p)) return true;
    return std::any_of(worn.begin(), worn.end(),
                       [&](const char* word) { return p.seen.find(word) != std::string::npos; });
}

std::string SetOnBench::found_bad() const {
    std::string list;
    for (const Part& p : chassis.parts()) {
        if (p.kind == PartKind::strip) continue;
        const auto state = progress.parts.find(p.id);
        if (state != progress.parts.end() &&
            (state->second == PartState::fitted || state->second == PartState::proved ||
             state->second == PartState::omitted))
            continue;
        const bool bad = found_bad(p);
        if (!bad && !(stands_empty(p) && p.fitted.empty())) continue;
        list += (list.empty() ? "" : ", ") + p.id + (bad ? " (seen " + p.seen + ")" : " (an empty socket)");
    }
    return list;
}

std::vector<std::pair<int, std::string>> SetOnBench::no_good() const {
    std::vector<std::pair<int, std::string>> list;
    for (std::size_t i = 0; i < chassis.parts().size(); ++i) {
        const Part& p = chassis.parts()[i];
        const int index = static_cast<int>(i);
        if (const auto wrong = progress.does_not_do.find(p.id); wrong != progress.does_not_do.end()) {
            list.emplace_back(index, p.id + " (new, and does not do: " + wrong->second + ")");
            continue;
        }
        const auto state = progress.parts.find(p.id);
        const PartState now = state == progress.parts.end() ? PartState::original : state->second;
        if (now == PartState::omitted || now == PartState::removed || now == PartState::lifted) continue;
        const auto read = progress.found.find(p.id);
        const bool resists = p.kind == PartKind::resistor || p.kind == PartKind::control;
        if (resists && read != progress.found.end() && read->second.value && p.ohms && *p.ohms > 0 &&
            std::fabs(*read->second.value / *p.ohms - 1) > drift_allowed(duties.of(index), policy)) {
            list.emplace_back(index, p.id + " (reads " + say(ohms(*read->second.value)) + " where " +
                                         say(ohms(*p.ohms)) + " is right)");
            continue;
        }
        const auto seen = progress.seen.find(p.id);
        if (now == PartState::original && seen != progress.seen.end() && seen_no_good(p))
            list.emplace_back(index, p.id + " (found " + seen->second + ")");
    }
    return list;
}

double touch_least_ohms(const SetOnBench& set) {
    constexpr double meter_off = 1.03;
    return meter_off * choice::upper_line_volts(set.chassis, set.policy) / threat::touch_limit_amps;
}

Chassis without_vibrator(const Chassis& chassis) {
    const std::shared_ptr<Chassis::Data> data = copy_of(chassis.data());
    for (Part& p : data->parts)
        if (p.kind == PartKind::vibrator) p.seen = "missing";
    return Chassis(data);
}

Chassis on_batteries(const Chassis& chassis, bool a_alone) {
    const std::shared_ptr<Chassis::Data> data = copy_of(chassis.data());
    const bool line = data->roles.line_hot >= 0;
    data->roles.line_hot = data->roles.line_neutral = -1;
    data->line.supply = "battery";
    for (Part& p : data->parts) {
        // of a changeover switch with two positions, the pairs that the line leaves open are those of the batteries
        if (line && p.kind == PartKind::power_switch && p.role == "changeover") p.closed = !p.closed;
        if (p.kind == PartKind::battery) p.closed = !a_alone || p.role == "a";
        if (p.kind == PartKind::plug && p.role == "other") p.closed = true;
    }
    return Chassis(data);
}

}  // namespace tubewright::power_up
