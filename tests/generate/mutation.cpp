// SPDX-License-Identifier: MIT
#include "mutation.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

namespace generate {
namespace {

using namespace tubewright;

constexpr std::size_t too_many_leads = 8;

std::size_t at(int i) {
    return static_cast<std::size_t>(i);
}

std::string invented(Dice& dice, std::size_t length) {
    static constexpr std::string_view letters = "bcdfghjklmnpqrstvwxz";
    std::string word;
    for (std::size_t i = 0; i < length; ++i) word += letters[dice.below(letters.size())];
    return word;
}

/// What a lead is, so that ends which are alike count as one: either end of a resistor, either plate of a rectifier.
std::string end_word(const Flat::One& one, const std::string& lead) {
    const Part& part = one.part;
    const bool alike =
        (part.kind == PartKind::resistor || part.kind == PartKind::lamp || part.kind == PartKind::fuse ||
         part.kind == PartKind::power_switch || part.kind == PartKind::wire || part.kind == PartKind::cord ||
         part.kind == PartKind::speaker || (part.kind == PartKind::coil && one.ends.size() == 2) ||
         (part.kind == PartKind::capacitor && !part.polarised));
    if (alike) return "end";
    if (part.kind == PartKind::socket && part.type != nullptr) {
        const Pin* pin = part.type->pin(lead);
        if (pin == nullptr || pin->electrodes.empty()) return "tie " + lead;
        std::string word;
        for (const std::string& electrode : pin->electrodes) word += electrode + "+";
        return word;
    }
    if (part.kind == PartKind::strip) return "lug";
    return lead;
}

/// Every net as the sorted list of what stands on it.
std::multiset<std::string> seen(const Flat& flat) {
    std::vector<std::vector<std::string>> on(flat.nets.size());
    for (const Flat::One& one : flat.parts) {
        if (one.part.kind == PartKind::strip) continue;
        for (const Flat::End& end : one.ends)
            if (end.net >= 0) on[at(end.net)].push_back(one.part.id + " " + end_word(one, end.lead));
    }
    std::multiset<std::string> all;
    for (std::vector<std::string>& net : on) {
        std::sort(net.begin(), net.end());
        std::string text;
        for (const std::string& end : net) text += end + "; ";
        if (net.size() > 1) all.insert(text);
    }
    return all;
}

std::size_t leads_on(const Flat& flat, int net) {
    std::size_t count = 0;
    for (const Flat::One& one : flat.parts)
        for (const Flat::End& end : one.ends) count += end.net == net ? 1 : 0;
    return count;
}

bool movable(const Flat::One& one) {
    const PartKind kind = one.part.kind;
    return kind != PartKind::strip && kind != PartKind::plug && kind != PartKind::cord && kind != PartKind::wire &&
           kind != PartKind::block && kind != PartKind::untraced;
}

void note_net(Mistake& mistake, const Flat& flat, int net) {
    if (net >= 0) mistake.nets.push_back(flat.nets[at(net)]);
}

}  // namespace

const char* word(Slip slip) {
    switch (slip) {
        case Slip::lead_moved:
            return "a lead moved";
        case Slip::part_dropped:
            return "a part dropped";
        case Slip::pins_swapped:
            return "two pins swapped";
        case Slip::socket_mirrored:
            return "a socket mirrored";
        case Slip::electrolytic_turned:
            return "an electrolytic turned";
        case Slip::ground_lost:
            return "a ground lug lost";
        case Slip::nets_merged:
            return "two nets merged";
        case Slip::value_misread:
            return "a value misread";
    }
    return "";
}

Flat flat_of(const Chassis& set, Dice& dice) {
    Flat flat;
    flat.name = invented(dice, 8);
    flat.built = set.built();
    flat.line = set.line();
    flat.roles = set.nodes();
    flat.reference = set.reference();
    std::set<std::string> taken;
    const auto fresh = [&](const std::string& head) {
        std::string name;
        do name = head + invented(dice, 6);
        while (!taken.insert(name).second);
        return name;
    };
    for (const Net& net : set.nets()) {
        flat.nets.push_back(fresh(""));
        flat.touch.push_back(net.touch);
    }
    std::map<std::string, std::string> ids;  // parts, cans and what holds sections
    const auto renamed = [&](const std::string& old) {
        std::string& name = ids[old];
        if (name.empty()) name = fresh("");
        return name;
    };
    for (const Part& part : set.parts()) {
        Flat::One one;
        for (const Lead& lead : part.leads) one.ends.push_back({lead.name, lead.net});
        one.part = part;
        one.part.leads.clear();
        one.part.lift_first.clear();
        one.part.inside.clear();
        if (part.can.empty()) {
            one.part.id = renamed(part.id);
        } else {
            // the sections of a can stand as parts of their own
            one.part.id = fresh("");
            one.part.can.clear();
            one.part.mark.clear();
        }
        flat.parts.push_back(std::move(one));
    }
    return flat;
}

Outcome<Chassis> chassis_of(const Flat& flat, const Catalogue& catalogue) {
    ChassisBuilder builder(flat.name);
    if (flat.built) builder.built(*flat.built);
    const auto name = [&](int net) { return flat.nets[at(net)]; };
    if (flat.roles.line_hot >= 0 && flat.roles.line_neutral >= 0)
        builder.line(volts(flat.line.volts), hertz(flat.line.hertz), name(flat.roles.line_hot),
                     name(flat.roles.line_neutral));
    if (flat.reference >= 0) builder.reference(name(flat.reference));
    for (const auto& [is, net] : {std::pair{"chassis-metal", flat.roles.chassis_metal},
                                  {"b-minus", flat.roles.b_minus},
                                  {"earth", flat.roles.earth}})
        if (net >= 0) builder.node(is, name(net), flat.touch[at(net)]);
    for (const Flat::One& one : flat.parts) {
        Part part = one.part;
        const bool by_name = part.kind == PartKind::socket || part.kind == PartKind::plug;
        std::vector<std::pair<std::string, std::string>> leads;
        if (!by_name)
            for (const Flat::End& end : one.ends) leads.emplace_back(end.lead, name(end.net));
        builder.add(std::move(part), leads);
        if (by_name)
            for (const Flat::End& end : one.ends)
                if (end.net >= 0 && leads_on(flat, end.net) > 1)
                    builder.join({one.part.id + "." + end.lead, name(end.net)});
    }
    return builder.build(catalogue);
}

std::optional<Mistake> plant(Flat& flat, Slip slip, Dice& dice, const Catalogue&) {
    const std::multiset<std::string> before = seen(flat);
    Mistake mistake;
    mistake.slip = slip;
    const auto pick = [&](const auto& wanted) -> Flat::One* {
        std::vector<Flat::One*> all;
        for (Flat::One& one : flat.parts)
            if (wanted(one)) all.push_back(&one);
        return all.empty() ? nullptr : all[dice.below(all.size())];
    };
    const auto alive = [&](int net) { return net >= 0 && leads_on(flat, net) > 1; };
    switch (slip) {
        case Slip::lead_moved: {
            Flat::One* one = pick([&](const Flat::One& o) {
                return movable(o) &&
                       std::any_of(o.ends.begin(), o.ends.end(), [&](const Flat::End& e) { return alive(e.net); });
            });
            if (!one) return std::nullopt;
            std::vector<std::size_t> ends;
            for (std::size_t i = 0; i < one->ends.size(); ++i)
                if (alive(one->ends[i].net)) ends.push_back(i);
            Flat::End& end = one->ends[ends[dice.below(ends.size())]];
            std::vector<int> nets;
            for (int n = 0; n < static_cast<int>(flat.nets.size()); ++n)
                if (n != end.net && alive(n)) nets.push_back(n);
            if (nets.empty()) return std::nullopt;
            note_net(mistake, flat, end.net);
            end.net = nets[dice.below(nets.size())];
            note_net(mistake, flat, end.net);
            mistake.parts = {one->part.id};
            mistake.what = one->part.id + "." + end.lead;
            break;
        }
        case Slip::part_dropped: {
            Flat::One* one = pick([&](const Flat::One& o) {
                return movable(o) && o.part.kind != PartKind::socket && !o.ends.empty() &&
                       o.part.kind != PartKind::speaker;
            });
            if (!one) return std::nullopt;
            for (const Flat::End& end : one->ends) note_net(mistake, flat, end.net);
            mistake.what = std::string(tubewright::word(one->part.kind)) + " " + one->part.id;
            flat.parts.erase(flat.parts.begin() + (one - flat.parts.data()));
            break;
        }
        case Slip::pins_swapped: {
            Flat::One* one =
                pick([&](const Flat::One& o) { return o.part.kind == PartKind::socket && o.ends.size() > 2; });
            if (!one) return std::nullopt;
            const std::size_t a = dice.below(one->ends.size());
            std::size_t b = dice.below(one->ends.size());
            // neighbours are the usual slip
            if (dice.chance(0.6)) b = (a + 1) % one->ends.size();
            if (a == b) return std::nullopt;
            std::swap(one->ends[a].net, one->ends[b].net);
            note_net(mistake, flat, one->ends[a].net);
            note_net(mistake, flat, one->ends[b].net);
            mistake.parts = {one->part.id};
            mistake.what = one->part.id + ", pins " + one->ends[a].lead + " and " + one->ends[b].lead;
            break;
        }
        case Slip::socket_mirrored: {
            Flat::One* one =
                pick([&](const Flat::One& o) { return o.part.kind == PartKind::socket && o.ends.size() > 3; });
            if (!one) return std::nullopt;
            std::vector<std::size_t> pins;
            for (std::size_t i = 0; i < one->ends.size(); ++i)
                if (one->ends[i].lead.find_first_not_of("0123456789") == std::string::npos) pins.push_back(i);
            std::vector<int> nets;
            for (const std::size_t i : pins) nets.push_back(one->ends[i].net);
            for (std::size_t k = 0; k < pins.size(); ++k) one->ends[pins[k]].net = nets[pins.size() - 1 - k];
            for (const Flat::End& end : one->ends) note_net(mistake, flat, end.net);
            mistake.parts = {one->part.id};
            mistake.what = one->part.id;
            break;
        }
        case Slip::electrolytic_turned: {
            Flat::One* one = pick([&](const Flat::One& o) {
                return o.part.kind == PartKind::capacitor && o.part.polarised && o.ends.size() == 2;
            });
            if (!one) return std::nullopt;
            std::swap(one->ends[0].net, one->ends[1].net);
            for (const Flat::End& end : one->ends) note_net(mistake, flat, end.net);
            mistake.parts = {one->part.id};
            mistake.what = one->part.id;
            break;
        }
        case Slip::ground_lost: {
            const int ground = flat.roles.chassis_metal >= 0 ? flat.roles.chassis_metal : flat.reference;
            const int home = leads_on(flat, ground) > 3 ? ground : flat.reference;
            if (home < 0) return std::nullopt;
            // what stands at one place and goes to ground there
            std::map<std::string, std::vector<Flat::End*>> at_place;
            std::map<const Flat::End*, std::string> owner;
            for (Flat::One& one : flat.parts)
                if (movable(one) && one.part.kind != PartKind::socket && one.part.kind != PartKind::transformer &&
                    !one.part.location.empty())
                    for (Flat::End& end : one.ends)
                        if (end.net == home) {
                            at_place[one.part.location].push_back(&end);
                            owner[&end] = one.part.id;
                        }
            std::vector<std::string> places;
            for (const auto& [place, ends] : at_place)
                if (ends.size() >= 2 && ends.size() <= 6) places.push_back(place);
            if (places.empty()) return std::nullopt;
            const std::string place = places[dice.below(places.size())];
            const int lost = static_cast<int>(flat.nets.size());
            flat.nets.push_back(invented(dice, 9));
            flat.touch.push_back(false);
            for (Flat::End* end : at_place[place]) {
                end->net = lost;
                mistake.parts.push_back(owner[end]);
            }
            note_net(mistake, flat, lost);
            mistake.what = place;
            break;
        }
        case Slip::nets_merged: {
            std::vector<int> nets;
            for (int n = 0; n < static_cast<int>(flat.nets.size()); ++n)
                if (alive(n)) nets.push_back(n);
            if (nets.size() < 2) return std::nullopt;
            const int a = nets[dice.below(nets.size())], b = nets[dice.below(nets.size())];
            if (a == b) return std::nullopt;
            for (Flat::One& one : flat.parts)
                for (Flat::End& end : one.ends)
                    if (end.net == b) end.net = a;
            for (int* role : {&flat.roles.chassis_metal, &flat.roles.b_minus, &flat.roles.earth, &flat.roles.line_hot,
                              &flat.roles.line_neutral, &flat.reference})
                if (*role == b) *role = a;
            note_net(mistake, flat, a);
            mistake.what = flat.nets[at(a)] + " and " + flat.nets[at(b)];
            break;
        }
        case Slip::value_misread: {
            Flat::One* one = pick([&](const Flat::One& o) {
                return (o.part.kind == PartKind::resistor && o.part.ohms) ||
                       (o.part.kind == PartKind::capacitor && o.part.farads);
            });
            if (!one) return std::nullopt;
            static const std::vector<double> factors = {10, 0.1, 1000, 0.001};
            const double factor = dice.of(factors);
            (one->part.kind == PartKind::resistor ? *one->part.ohms : *one->part.farads) *= factor;
            for (const Flat::End& end : one->ends) note_net(mistake, flat, end.net);
            mistake.parts = {one->part.id};
            mistake.what = one->part.id + " by " + std::to_string(factor);
            return mistake;
        }
    }
    if (seen(flat) == before) return std::nullopt;
    return mistake;
}

Verdict judged(const Audited& before, const Audited& after, const Mistake& mistake) {
    const auto key = [](const Finding& f) {
        std::string text = f.rule;
        for (const std::string& part : f.parts) text += "|" + part;
        return text + "|" + f.message;
    };
    std::set<std::string> known;
    for (const Finding& f : before.findings) known.insert(key(f));
    // The place: the parts, the nets, and the parts on those nets, where a net is not half the set.
    std::set<std::string> parts(mistake.parts.begin(), mistake.parts.end()), nets;
    for (const Chassis* set : {&before.set, &after.set}) {
        for (const std::string& name : mistake.nets)
            if (const int net = set->net(name); net >= 0) {
                const Net& there = set->nets()[at(net)];
                if (there.leads.size() > too_many_leads) continue;
                nets.insert(there.name);
                for (const LeadRef ref : there.leads) parts.insert(set->parts()[at(ref.part)].id);
            }
        for (const std::string& id : mistake.parts)
            if (const int p = set->part(id); p >= 0)
                for (const Lead& lead : set->parts()[at(p)].leads)
                    if (lead.net >= 0 && set->nets()[at(lead.net)].leads.size() <= too_many_leads)
                        for (const LeadRef ref : set->nets()[at(lead.net)].leads)
                            parts.insert(set->parts()[at(ref.part)].id);
    }
    Verdict verdict;
    for (const Finding& f : after.findings) {
        if (f.severity == Severity::note || known.count(key(f)) > 0) continue;
        ++verdict.findings;
        verdict.reported = true;
        const bool here =
            std::any_of(f.parts.begin(), f.parts.end(), [&](const std::string& p) { return parts.count(p) > 0; }) ||
            std::any_of(f.nets.begin(), f.nets.end(), [&](const std::string& n) { return nets.count(n) > 0; });
        if (here) ++verdict.findings_at_the_place;
        verdict.at_the_place = verdict.at_the_place || here;
    }
    return verdict;
}

}  // namespace generate
