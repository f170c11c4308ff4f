// SPDX-License-Identifier: MIT
// What a deed changes, and the proofs that this takes back: a soldered part that is freed, taken out, renewed or put
// back, and a new tube. How deep it reaches follows from where the part hangs (concern.hpp): the power transformer is
// behind every stage, heaters and line behind all but its own half hour, B-plus and bias behind the stages with the
// rectifier in; any other joint asks for looking and cold ohms alone. The checker of the rules goes by the same reach.
//
//     Changes(set, catalogue, progress).since(12, ActKind::power_full_line)   // {"C1", "V5"}: changed since deed 12
//
// Test: tests/rules/unproved_test.cpp.
#include <algorithm>

#include <tubewright/rules.hpp>

#include "rules/concern.hpp"

namespace tubewright {
namespace {

using K = ActKind;

struct Change {
    std::size_t deed;
    std::string part;
    Reach reach;
    bool renewed, tube;
};

/// The reach from which on a proof by this act is gone; nothing where no change takes it back.
std::optional<Reach> rests_on(K proof) {
    switch (proof) {
        case K::inspect:
        case K::cold_ohms:
            return Reach::joint;
        case K::power_b_plus:
        case K::power_supply_alone:
        case K::power_full_line:
        case K::log_volts:
        case K::soak:
        case K::check_touch_current:
        case K::reassemble:
        case K::hand_back:
            return Reach::b_plus;
        case K::power_heaters:
            return Reach::heaters;
        case K::power_transformer_alone:
            return Reach::iron;
        default:
            return std::nullopt;
    }
}

}  // namespace

bool changes_parts(ActKind kind) {
    return kind == K::lift || kind == K::remove || kind == K::fit || kind == K::reconnect || kind == K::sleeve ||
           kind == K::fit_earthed_cord;
}

Reach reach_of(const Concern& concern, ActKind kind, const std::string& id) {
    if (concern.tubes.count(id) > 0) return kind == K::fit ? Reach::heaters : Reach::none;
    if (concern.lamps.count(id) > 0) return kind == K::sleeve ? Reach::heaters : Reach::none;
    if (concern.power_iron.count(id) > 0) return Reach::iron;
    if (concern.supply.count(id) == 0) return Reach::joint;
    return concern.heater_parts.count(id) > 0 || concern.line_parts.count(id) > 0 ? Reach::heaters : Reach::b_plus;
}

struct Changes::All {
    Concern concern;
    std::vector<Change> changes;
};

Changes::Changes(const Chassis& chassis, const Catalogue& catalogue, const Progress& progress) {
    All all{concern_of(chassis, catalogue), {}};
    for (std::size_t k = 0; k < progress.deeds.size(); ++k) {
        const std::optional<K> kind = act_of(progress.deeds[k].act);
        if (!kind || !changes_parts(*kind)) continue;
        for (const std::string& id : progress.deeds[k].parts)
            if (const Reach reach = reach_of(all.concern, *kind, id); reach != Reach::none)
                all.changes.push_back({k, id, reach, *kind == K::fit, all.concern.tubes.count(id) > 0});
    }
    all_ = std::make_unique<const All>(std::move(all));
}
Changes::~Changes() = default;

std::vector<std::string> Changes::since(std::size_t deeds, ActKind proof, const std::string& part) const {
    std::vector<std::string> changed;
    const bool of_one = proof == K::test_tube || proof == K::measure;
    const std::optional<Reach> from = rests_on(proof);
    for (const Change& one : all_->changes) {
        if (one.deed < deeds || std::find(changed.begin(), changed.end(), one.part) != changed.end()) continue;
        const bool taken = of_one ? one.renewed && one.part == part && one.tube == (proof == K::test_tube)
                                  : from && one.reach >= *from && !(one.tube && *from == Reach::joint);
        if (taken) changed.push_back(one.part);
    }
    return changed;
}

bool Changes::in_supply(const std::string& part) const {
    return all_->concern.supply.count(part) > 0;
}

}  // namespace tubewright
