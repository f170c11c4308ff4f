// SPDX-License-Identifier: MIT
// What a log proves, asked of the checker itself: the deeds are walked as acts, then what is meant to be done next is
// tried on paper, and what the checker finds broken there is what the log does not prove. Discharging the set and
// putting the tubes and the vibrator in that the stage wants are the stage's own and are tried with it. Test:
// tests/rules/unproved_test.cpp.
#include <tubewright/rules.hpp>

namespace tubewright {
namespace {

using K = ActKind;

struct Trial {
    const Chassis& chassis;
    const Catalogue& catalogue;
    std::vector<Act> done;
    Progress signed_only;
    std::map<std::string, std::string> found;

    /// Tries the acts; of what they break the rules in `only`, or all of them when it is empty.
    void ask(std::vector<Act> tail, const std::vector<std::string>& only) {
        std::vector<Act> acts = done;
        acts.insert(acts.end(), tail.begin(), tail.end());
        for (const Violation& v : violations(chassis, catalogue, acts, signed_only)) {
            if (v.act < static_cast<int>(done.size())) continue;
            bool wanted = only.empty() && v.hard;
            for (const std::string& rule : only) wanted = wanted || rule == v.rule;
            if (wanted) found.emplace(v.rule, v.why);
        }
    }
};

}  // namespace

std::map<std::string, std::string> unproved(const Chassis& chassis, const Catalogue& catalogue,
                                            const Progress& progress, ActKind next) {
    Trial trial{chassis, catalogue, {}, {}, {}};
    trial.signed_only.gates_passed = progress.gates_passed;
    trial.signed_only.steps_done = progress.steps_done;
    if (progress.deeds.empty()) trial.signed_only.parts = progress.parts;
    for (const Deed& deed : progress.deeds)
        if (const std::optional<K> kind = act_of(deed.act)) trial.done.push_back({*kind, deed.parts, {}, deed.minutes});

    std::vector<std::string> rectifiers, others, vibrators;
    for (const Part& part : chassis.parts()) {
        if (part.kind == PartKind::vibrator) vibrators.push_back(part.id);
        if (part.kind == PartKind::lamp || (part.kind == PartKind::socket && part.type && part.fitted != "none"))
            (part.type && part.type->is_rectifier() ? rectifiers : others).push_back(part.id);
    }
    std::vector<Act> tail{{K::discharge, {}, {}, 0}};
    std::vector<Act> b_plus = tail;
    b_plus.push_back({K::refit_tube, others, {}, 0});
    b_plus.push_back({K::refit_tube, rectifiers, {}, 0});
    b_plus.push_back({K::power_b_plus, {}, {}, 0});
    const bool heaters = next == K::power_heaters, alone = next == K::power_transformer_alone;
    const bool powered = heaters || alone || next == K::power_b_plus || next == K::power_full_line || next == K::soak ||
                         next == K::align;
    std::string still_in;
    for (const std::string& id : rectifiers) {
        const auto state = progress.parts.find(id);
        if (state == progress.parts.end() ||
            (state->second != PartState::removed && state->second != PartState::lifted))
            still_in += (still_in.empty() ? "" : ", ") + id;
    }
    // told once, and not by all that B-plus would want
    if (heaters && !still_in.empty()) {
        trial.found.emplace("H6", "the rectifier is not out by the log: " + still_in);
        tail.push_back({K::remove, rectifiers, {}, 0});
    }
    if (powered && !alone) {
        tail.push_back({K::refit_tube, others, {}, 0});
        if (!heaters) tail.push_back({K::refit_tube, rectifiers, {}, 0});
        if (!heaters && !vibrators.empty()) tail.push_back({K::reconnect, vibrators, {}, 0});
    }
    tail.push_back({next, {}, {}, 0});
    trial.ask(tail, {});
    if (!powered) trial.ask(b_plus, {"H23"});
    if (next == K::check_touch_current) trial.ask({{K::earth_instrument, {}, {}, 0}}, {"H22"});
    trial.ask({{K::clip_instrument, {}, {}, 0}}, {"H3"});
    trial.ask({{K::fit_fuse, {}, {}, 0}}, {"H2"});
    trial.ask({{K::buy, {}, {}, 0}}, {"s4"});
    trial.ask({{K::align, {}, {}, 0}}, {"H13"});
    trial.ask({{K::reassemble, {}, {}, 0}}, {"s14"});
    trial.ask({{K::hand_back, {}, {}, 0}}, {"H15"});
    std::map<std::string, std::string> found = std::move(trial.found);
    trial.found.clear();
    trial.ask({{K::cold_ohms, {}, {}, 0}}, {"H19"});
    if (!trial.found.empty()) found.emplace("charge", "the set may hold a charge: no discharge since it was powered");
    return found;
}

}  // namespace tubewright
