// SPDX-License-Identifier: MIT
// See set_under_repair.hpp.
#include "order/set_under_repair.hpp"

#include <algorithm>

#include "chassis/data.hpp"
#include "choice/figure.hpp"
#include "order/step_list.hpp"

namespace tubewright::repair {

using choice::figure;

SetUnderRepair::SetUnderRepair(const Chassis& of, const Catalogue& tables, const Policy& settings,
                               std::span<const PartAction> decided, const ShoppingList& shopping,
                               std::span<const PartStress> rows, const Progress& done,
                               std::span<const LeakageLimit> limits, std::span<const Doubted> against)
    : chassis(of),
      catalogue(tables),
      policy(settings),
      actions(decided),
      stress(rows),
      progress(done),
      leaks(limits),
      doubted(against),
      duties(duties_of(chassis)),
      earth(earth_of(chassis, progress)),
      changes(chassis, catalogue, progress) {
    find_bought(shopping);
    for (const PartStress& row : stress)
        if (row.lead.empty() && at(row.part) < chassis.parts().size()) stress_of_part[row.part] = &row;
    find_source();
    find_line_side();
    find_tubes_and_lamps();
}

void SetUnderRepair::find_bought(const ShoppingList& shopping) {
    for (const ShopLine& l : shopping.lines)
        for (std::size_t k = 0; k < l.for_parts.size(); ++k) {
            const std::string& id = l.for_parts[k];
            // Minutes by the row of what is fitted; what comes with it (a resistor across) by its own.
            // The fuse of a set built without one is listed for its transformer.
            const Part* whose = part(id);
            const bool new_fuse = l.price_row == "fuse" && whose && whose->kind != PartKind::fuse;
            Bought& buy = bought[new_fuse ? no_fuse : id];
            if (k < l.pieces.size()) buy.cost += l.unit_cost.value_or(0) * l.pieces[k];
            if (k < l.pieces.size() && l.value_ohms) buy.ohms += *l.value_ohms * l.pieces[k];
            if (const StepCost* row = catalogue.step_cost(l.price_row)) buy.minutes += row->minutes;
            std::string text = l.what;
            if (!l.value_text.empty()) text = l.value_text + " " + text;
            if (l.rated_volts && l.value_farads)
                text += " " + figure(*l.rated_volts) + " V" + (l.safety_class.empty() ? "" : " AC");
            if (l.rated_watts) text += " " + figure(*l.rated_watts, 2) + " W";
            // no single rating reaches the place: as one of them alone it would burst
            const bool pair = k < l.pieces.size() && l.pieces[k] == 2;
            if (pair && l.value_farads)
                text = "TWO of " + text + " IN SERIES, the upper one's can off the chassis";
            else if (pair && l.value_ohms)
                text += " across each";
            buy.text += (buy.text.empty() ? "" : ", with ") + text;
        }
}

void SetUnderRepair::find_source() {
    const Family family = chassis.family();
    from_vehicle = family == Family::vehicle;
    from_battery = family == Family::battery;
    for (const Part& p : chassis.parts()) {
        if (p.kind == PartKind::vibrator) vibrators.push_back(p.id);
        for (const PartWinding& w : p.windings)
            if (w.role == WindingRole::primary) (from_vehicle ? vibrated : transformer) = p.id;
    }
}

// Windings of the power transformer and what is wired to them, the returns apart.
std::vector<bool> SetUnderRepair::nets_of_windings() const {
    const std::size_t nets = chassis.nets().size();
    std::vector<bool> returns(nets), windings(nets);
    const NodeRoles& r = chassis.nodes();
    for (int n : {r.chassis_metal, r.b_minus, r.earth, chassis.reference()})
        if (n >= 0) returns[at(n)] = true;
    for (const Part& p : chassis.parts())
        for (const PartWinding& w : p.windings) {
            if (w.role != WindingRole::primary && w.role != WindingRole::plate && w.role != WindingRole::heater &&
                w.role != WindingRole::rectifier_heater)
                continue;
            for (int l : w.leads)
                if (const int n = p.leads[at(l)].net; n >= 0 && !returns[at(n)]) windings[at(n)] = true;
        }
    // What goes on from a winding over another lead is a lead of that winding.
    for (bool grew = true; grew;) {
        grew = false;
        for (const Part& p : chassis.parts()) {
            if (p.kind != PartKind::wire && p.kind != PartKind::power_switch && p.kind != PartKind::fuse) continue;
            if (std::none_of(p.leads.begin(), p.leads.end(),
                             [&](const Lead& l) { return l.net >= 0 && windings[at(l.net)]; }))
                continue;
            for (const Lead& l : p.leads) {
                if (l.net < 0 || windings[at(l.net)] || returns[at(l.net)]) continue;
                windings[at(l.net)] = true;
                grew = true;
            }
        }
    }
    return windings;
}

void SetUnderRepair::find_line_side() {
    const std::vector<bool> windings = nets_of_windings();
    for (std::size_t i = 0; i < chassis.parts().size(); ++i) {
        const Part& p = part(static_cast<int>(i));
        const auto on = [&](const std::vector<bool>& set) {
            return std::any_of(p.leads.begin(), p.leads.end(),
                               [&](const Lead& l) { return l.net >= 0 && set[at(l.net)]; });
        };
        const bool speaker_side = p.role == "speaker" || p.plug == "speaker";
        switch (p.kind) {
            case PartKind::cord:
                line_side.insert(p.id);
                break;
            case PartKind::plug:
                if (!speaker_side) line_side.insert(p.id);
                break;
            case PartKind::fuse:
                fused = fused || on(duties.line) || !from_line();  // a battery's lead has it anywhere
                if (on(duties.line)) line_side.insert(p.id);
                break;
            case PartKind::power_switch:
                if (on(duties.line)) line_side.insert(p.id);
                break;
            case PartKind::wire:
                if (on(duties.line) || on(windings)) line_side.insert(p.id);
                break;
            case PartKind::capacitor: {
                const Duty d = duties.of(static_cast<int>(i));
                if (d == Duty::line_to_line || d == Duty::line_to_touch) line_capacitors.push_back(p.id);
                if (d == Duty::plate_winding) winding_capacitors.push_back(p.id);
                break;
            }
            default:
                break;
        }
    }
    for (const std::string& id : line_side)
        if (action(id) != "replace" && !only_loose(*part(id))) looked_at.insert(id);
}

void SetUnderRepair::find_tubes_and_lamps() {
    for (const Part& p : chassis.parts()) {
        if (p.kind == PartKind::socket && p.type && p.fitted != "none")
            (stands_empty(p) ? empty_sockets : tubes).push_back(p.id);
        if (p.kind == PartKind::lamp) lamps.push_back(p.id);
    }
}

const Part& SetUnderRepair::part(int i) const {
    return chassis.parts()[at(i)];
}

const Part* SetUnderRepair::part(const std::string& id) const {
    const int i = chassis.part(id);
    return i < 0 ? nullptr : &part(i);
}

std::vector<std::string> SetUnderRepair::ids(const std::vector<int>& parts) const {
    std::vector<std::string> list;
    for (int i : parts) list.push_back(part(i).id);
    return list;
}

std::string SetUnderRepair::action(const std::string& id) const {
    for (const PartAction& a : actions)
        if (part(a.part).id == id) return a.action;
    return "";
}

double SetUnderRepair::minutes(const char* row) const {
    const StepCost* c = catalogue.step_cost(row);
    return c ? c->minutes : 0;
}

int SetUnderRepair::metal() const {
    return chassis.nodes().chassis_metal >= 0 ? chassis.nodes().chassis_metal : chassis.reference();
}

bool SetUnderRepair::live_metal() const {
    return from_line() && chassis.hot();
}

bool SetUnderRepair::portable() const {
    return chassis.family() == Family::portable && transformer.empty();
}

bool SetUnderRepair::direct_line() const {
    return from_line() && chassis.line().supply == "dc";
}

std::string SetUnderRepair::alone_step() const {
    if (!transformer.empty()) return "transformer-alone";
    // a dry rectifier cannot be pulled: there the vibrator feeds the set whenever it runs
    return !vibrated.empty() && !vibrators.empty() && !duties.rectifiers.empty() ? "vibrator-alone" : "";
}

bool SetUnderRepair::out(const std::string& id) const {
    const auto state = progress.parts.find(id);
    return state != progress.parts.end() && (state->second == PartState::lifted || state->second == PartState::removed);
}

bool SetUnderRepair::left_out(const std::string& id) const {
    const auto state = progress.parts.find(id);
    return state != progress.parts.end() && state->second == PartState::omitted;
}

bool SetUnderRepair::has_been_bought(const std::string& id) const {
    return std::any_of(progress.deeds.begin(), progress.deeds.end(),
                       [&](const Deed& deed) { return deed.act == word(ActKind::buy) && holds(deed.parts, id); });
}

std::vector<std::string> SetUnderRepair::still_to_buy(const std::vector<std::string>& all) const {
    std::vector<std::string> open;
    for (const std::string& id : all)
        if (!has_been_bought(id)) open.push_back(id);
    return open;
}

std::vector<std::string> SetUnderRepair::renewed_lamps() const {
    std::vector<std::string> renewed;
    for (const std::string& id : lamps)
        if (action(id) == "replace") renewed.push_back(id);
    return renewed;
}

std::vector<std::string> SetUnderRepair::lugs_of(int i) const {
    std::vector<std::string> lugs;
    for (std::size_t l = 0; l < part(i).leads.size(); ++l) {
        const std::string written(chassis.data().written({i, static_cast<int>(l)}));
        const Part* strip = part(written.substr(0, written.find('.')));
        if (strip && strip->kind == PartKind::strip) lugs.push_back(written);
    }
    return lugs;
}

bool SetUnderRepair::share_a_lug(int i, int j) const {
    const std::vector<std::string> there = lugs_of(j);
    const std::vector<std::string> here = lugs_of(i);
    return std::any_of(here.begin(), here.end(), [&](const std::string& lug) { return holds(there, lug); });
}

std::string SetUnderRepair::place_of(int i) const {
    const Part& p = part(i);
    if (!p.location.empty()) return p.location;
    if (!p.can.empty() && p.kind != PartKind::wire) return p.can;
    // Else where the lug is that the file names.
    for (const std::string& lug : lugs_of(i)) return lug.substr(0, lug.find('.'));
    if (p.plug == "speaker") return "on the speaker";
    if (!duties.feeds[at(i)].empty()) return part(duties.feeds[at(i)].front()).id;
    if (line_side.count(p.id)) return source_side();
    return "chassis";
}

std::vector<std::string> SetUnderRepair::lifted_for(const std::string& id) const {
    std::vector<std::string> lifted;
    for (const std::string& l : part(id)->lift_first) {
        if (part(l)) {
            lifted.push_back(l);
            continue;
        }
        for (const Part& p : chassis.parts())
            if (p.can == l) lifted.push_back(p.id);
    }
    return lifted;
}

bool SetUnderRepair::done_together(int i, int j) const {
    const Part &p = part(i), &q = part(j);
    return (!p.can.empty() && p.can == q.can) || holds(lifted_for(p.id), q.id) || share_a_lug(i, j);
}

// What stays together, the lumps of most danger first, so that a split leaves the harmless ones for the later step.
std::vector<std::vector<int>> SetUnderRepair::lumps_of(const std::vector<int>& members) const {
    std::vector<int> root(members.size());
    for (std::size_t k = 0; k < root.size(); ++k) root[k] = static_cast<int>(k);
    for (std::size_t a = 0; a < members.size(); ++a)
        for (std::size_t b = 0; b < members.size(); ++b) {
            if (a == b || !done_together(members[a], members[b])) continue;
            const int from = root[b], to = root[a];
            for (int& r : root)
                if (r == from) r = to;
        }
    std::map<int, std::vector<int>> lumps;
    for (std::size_t k = 0; k < members.size(); ++k) lumps[root[k]].push_back(members[k]);
    std::vector<std::vector<int>> ordered;
    for (auto& [r, lump] : lumps) ordered.push_back(lump);
    const auto guards = [&](const std::vector<int>& lump) {
        return std::any_of(lump.begin(), lump.end(), [&](int i) { return duties.guards_rectifier(chassis, i); });
    };
    std::stable_sort(ordered.begin(), ordered.end(),
                     [&](const std::vector<int>& x, const std::vector<int>& y) { return guards(x) > guards(y); });
    return ordered;
}

std::vector<std::vector<int>> SetUnderRepair::grouped(const std::vector<int>& parts) const {
    std::map<std::pair<std::string, bool>, std::vector<int>> by_place;
    const auto meant = [&](const std::string& id) {
        return std::any_of(parts.begin(), parts.end(), [&](int i) { return part(i).id == id; });
    };
    for (int i : parts) {
        const std::vector<std::string> lifted = lifted_for(part(i).id);
        const auto through = std::find_if(lifted.begin(), lifted.end(), meant);
        by_place[{through == lifted.end() ? place_of(i) : place_of(chassis.part(*through)), !open_now(i)}].push_back(i);
    }
    std::vector<std::vector<int>> groups;
    for (const auto& [place, members] : by_place) {
        std::vector<int> group;
        const auto close = [&] {
            groups.push_back(group);
            group.clear();
        };
        for (const std::vector<int>& lump : lumps_of(members)) {
            if (!group.empty() && group.size() + lump.size() > group_most) close();
            for (const int i : lump) {
                if (group.size() == group_most) close();
                group.push_back(i);
            }
        }
        if (!group.empty()) close();
    }
    for (std::vector<int>& g : groups) std::sort(g.begin(), g.end());
    return groups;
}

// Out or with an end free by the log, or under such a part: done by itself, that no evening is too short for it.
bool SetUnderRepair::open_now(int i) const {
    const std::vector<std::string> over = lifted_for(part(i).id);
    return out(part(i).id) || std::any_of(over.begin(), over.end(), [&](const std::string& id) { return out(id); });
}

std::vector<std::string> SetUnderRepair::burnt_with(int r) const {
    const Part& p = part(r);
    if (p.kind != PartKind::resistor || !seen_burnt(p)) return {};
    std::vector<std::string> found = burnt_by(chassis, duties, r);
    found.insert(found.begin(), p.id);
    if (found.size() == 1)
        for (int socket : duties.feeds[at(r)]) found.push_back(part(socket).id);
    // A capacitor whose short would have burnt it is found already: any other one across it only spares it.
    // What stands across it, then what shares the end that is no return, then the rest.
    enum class Near { across, fed_end, anywhere };
    for (const Near near : {Near::across, Near::fed_end, Near::anywhere}) {
        if (found.size() > 1) break;
        const bool returns = near != Near::fed_end;
        for (const Part& q : chassis.parts()) {
            if (&q == &p || q.kind == PartKind::strip || q.kind == PartKind::capacitor ||
                (near != Near::anywhere && (q.kind == PartKind::wire || q.kind == PartKind::plug)))
                continue;
            const auto on = [&](const Lead& l) {
                return l.net >= 0 && (returns || l.net != chassis.reference()) &&
                       std::any_of(q.leads.begin(), q.leads.end(), [&](const Lead& k) { return k.net == l.net; });
            };
            const auto shared = std::count_if(p.leads.begin(), p.leads.end(), on);
            if (shared >= (near == Near::across ? 2 : 1)) found.push_back(q.id);
            if (near == Near::anywhere && found.size() > 3) break;
        }
    }
    return found;
}

bool plugs_in(const Part& p) {
    return p.kind == PartKind::socket || p.kind == PartKind::lamp || p.kind == PartKind::vibrator;
}

}  // namespace tubewright::repair
