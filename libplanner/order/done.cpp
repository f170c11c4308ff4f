// SPDX-License-Identifier: MIT
// What of the drafts the log has done, reopened or undone. A step is done still when nothing was changed since that
// takes its proof back and no joint that is to be opened will; what is done goes off the list, and what stood behind it
// stays ahead of all that followed it.
#include <algorithm>
#include <map>
#include <optional>
#include <set>
#include <utility>

#include "choice/figure.hpp"
#include "order/drafting.hpp"

namespace tubewright::repair {
namespace {

using choice::listed;
using K = ActKind;

/// By step.
struct Verdict {
    std::set<std::string> gone;   ///< done still
    std::set<std::string> again;  ///< done once, and planned again
};

bool buys_more(const SetUnderRepair& set, const RepairStep& s) {
    return buys(s) && std::any_of(s.acts.begin(), s.acts.end(), [&](const Act& act) {
               const auto end = set.progress.passed_at.find(s.step);
               // a log that was begun before its parts were kept names none
               const bool by_name =
                   std::any_of(set.progress.deeds.begin(), set.progress.deeds.end(),
                               [](const Deed& deed) { return deed.act == word(K::buy) && !deed.parts.empty(); });
               return end != set.progress.passed_at.end() && by_name && act.kind == K::buy && !act.parts.empty();
           });
}

/// The act by which a step shows what a change takes back.
std::optional<K> proof_of(const std::string& step) {
    if (step == "transformer-alone" || step == "vibrator-alone") return K::power_transformer_alone;
    if (step == "power-up" || step == "battery-power") return K::power_b_plus;
    if (step == "soak" || step == "reassemble" || step == "touch-current" || step == "hand-back") return K::soak;
    return std::nullopt;
}

/// Windings are read one by one, as any part is.
K proof_of_one(K kind) {
    return kind == K::cold_ohms ? K::measure : kind;
}

/// A deed of that kind was of the part as it is now.
bool shown(const SetUnderRepair& set, K kind, const std::string& id) {
    for (std::size_t k = 0; k < set.progress.deeds.size(); ++k)
        if (set.progress.deeds[k].act == word(kind) && holds(set.progress.deeds[k].parts, id) &&
            set.changes.since(k + 1, proof_of_one(kind), id).empty())
            return true;
    return false;
}

/// What was changed since the step was entered as done, so that it no longer is.
std::vector<std::string> changed_since(const SetUnderRepair& set, const RepairStep& s) {
    const auto end = set.progress.passed_at.find(s.step);
    if (end == set.progress.passed_at.end()) return {};
    if (const std::optional<K> proof = proof_of(s.step)) return set.changes.since(end->second, *proof);
    std::vector<std::string> renewed;
    for (const Act& act : s.acts)
        for (const std::string& id : act.parts)
            if ((act.kind == K::test_tube || act.kind == K::measure || act.kind == K::cold_ohms) &&
                !holds(renewed, id) && !set.changes.since(end->second, proof_of_one(act.kind), id).empty() &&
                !shown(set, act.kind, id))
                renewed.push_back(id);
    return renewed;
}

/// The log has every act of the step, by whatever entry. Looking and discharging are nobody's alone.
bool covered(const SetUnderRepair& set, const RepairStep& s) {
    std::size_t asked = 0;
    for (const Act& act : s.acts) {
        const bool alone = s.acts.size() == 1;
        if (!alone && (act.kind == K::inspect || act.kind == K::discharge)) continue;
        ++asked;
        std::set<std::string> open(act.parts.begin(), act.parts.end());
        bool done = false;
        double mins = 0;
        const bool fed = act.kind != K::inspect && act.kind != K::cold_ohms;
        for (std::size_t k = 0; k < set.progress.deeds.size(); ++k) {
            const Deed& deed = set.progress.deeds[k];
            if (deed.act != word(act.kind) || (fed && !set.changes.since(k + 1, act.kind).empty())) continue;
            done = done || act.parts.empty();
            mins += deed.minutes;
            for (const std::string& id : deed.parts)
                if (set.changes.since(k + 1, proof_of_one(act.kind), id).empty()) open.erase(id);
        }
        if (!(done || (!act.parts.empty() && open.empty())) || mins < act.minutes) return false;
    }
    return asked > 0;
}

/// The log's last power has no discharge behind it but the one that a stage ends with.
bool powered_last(const SetUnderRepair& set) {
    std::size_t emptied = 2;
    for (const Deed& deed : set.progress.deeds) {
        const std::optional<K> kind = act_of(deed.act);
        if (kind == K::discharge && deed.parts.empty()) ++emptied;
        if (kind && feeds(*kind)) emptied = 0;
    }
    return emptied < 2;
}

/// Planned again, and why; of a test, what is new.
void plan_again(RepairStep& s, const std::vector<std::string>& changed) {
    s.reason = "again, since " + listed(changed) + " changed; " + s.reason;
    const double share =
        static_cast<double>(changed.size()) / static_cast<double>(std::max<std::size_t>(1, s.parts.size()));
    if (s.step == "cold-ohms-windings") {
        s.does = "Cold ohms of " + listed(changed) + ", new; to the core where nothing joins them to it";
        s.minutes *= share;
        s.parts = changed;
        s.acts = {{K::cold_ohms, changed, "windings", 0}};
    }
    if (s.step != "test-tubes") return;
    s.does = "Test " + listed(changed) + " for shorts, cold, tapped; then emission";
    s.minutes *= share;
    s.parts = changed;
    s.acts = {{K::test_tube, changed, "shorts, cold, tapped", 0}};
}

/// Each step by itself, by what was entered and what was changed since.
Verdict judged(const SetUnderRepair& set, Drafts& drafts) {
    std::map<std::string, std::string> open;
    if (!set.progress.deeds.empty()) open = unproved(set.chassis, set.catalogue, set.progress, K::power_b_plus);
    Verdict verdict;
    for (RepairStep& s : drafts.steps) {
        const bool stale =
            (s.step == "trace-polarity" && open.count("H23")) || (s.step == "cold-ohms-all" && open.count("H19"));
        if ((stale && !set.progress.deeds.empty()) || due(set, s)) continue;
        if (const auto doubt = drafts.reopened.find(s.step); doubt != drafts.reopened.end()) {
            if (holds(set.progress.steps_done, s.step) && s.step.rfind("find-", 0) != 0) {
                s.reason = "again: " + doubt->second + "; " + s.reason;
                verdict.again.insert(s.step);
            }
            continue;
        }
        if (is_emptying(s.step)) continue;  // judged below, by what it is done after
        if (s.step == "discharge" && powered_last(set)) {
            s.reason = "again: it was powered since, and each stage may leave a charge; " + s.reason;
            verdict.again.insert(s.step);
            continue;
        }
        const bool entered = holds(set.progress.steps_done, s.step);
        const std::vector<std::string> changed = entered ? changed_since(set, s) : std::vector<std::string>{};
        if ((entered && changed.empty() && !buys_more(set, s)) || (!buys(s) && covered(set, s))) {
            verdict.gone.insert(s.step);
        } else if (!changed.empty()) {
            plan_again(s, changed);
            verdict.again.insert(s.step);
        }
    }
    return verdict;
}

/// Joints that are to be opened take back what was shown of the whole.
void undone_by_joints(const SetUnderRepair& set, const Drafts& drafts, std::set<std::string>& gone) {
    bool joint = false, plus = false, fed = false;
    for (const RepairStep& s : drafts.steps) {
        if (gone.count(s.step) > 0 || !holds(drafts.solder, s.step)) continue;
        joint = true;
        plus = plus || drafts.with_plus.count(s.step) > 0;
        fed = fed || std::any_of(s.parts.begin(), s.parts.end(),
                                 [&](const std::string& id) { return set.changes.in_supply(id); });
    }
    if (joint) gone.erase("cold-ohms-all");
    if (plus) gone.erase("trace-polarity");
    for (const char* step :
         {"vibrator-alone", "power-up", "battery-power", "soak", "reassemble", "touch-current", "hand-back"})
        if (fed && step != set.alone_step()) gone.erase(step);
}

/// Power-up itself writes the volts down, and a set that is handed back is not read again for the sake of paper.
void volts_written(const SetUnderRepair& set, const Drafts& drafts, std::set<std::string>& gone) {
    const bool read = std::any_of(set.doubted.begin(), set.doubted.end(),
                                  [](const Doubted& one) { return one.rule == "H13" && !one.missing; });
    const bool in_hand = std::any_of(drafts.steps.begin(), drafts.steps.end(), [&](const RepairStep& s) {
        return (s.step == "alignment" || s.step == "soak" || s.step == "reassemble" || s.step == "touch-current" ||
                s.step == "hand-back") &&
               gone.count(s.step) == 0;
    });
    if (gone.count("power-up") == 0 || (!read && !in_hand)) gone.insert("write-volts");
}

/// Tubes that are in come out for the test of the iron.
void tubes_out_again(const SetUnderRepair& set, const Drafts& drafts, std::set<std::string>& gone) {
    const bool in = std::any_of(set.tubes.begin(), set.tubes.end(), [&](const std::string& id) {
        const auto state = set.progress.parts.find(id);
        return state == set.progress.parts.end() || state->second != PartState::removed;
    });
    for (const char* alone : {"transformer-alone", "vibrator-alone"})
        if (in && drafts.there(alone) && gone.count(alone) == 0) gone.erase("pull-tubes");
}

/// What a stage left is emptied when the stage is done, and no later one charged the set again.
void discharges_done(const SetUnderRepair& set, const Drafts& drafts, Verdict& verdict) {
    std::vector<std::string> charged;
    bool now = false;  // by a stage that is done: every hand waits for its discharge
    for (const auto& [power, id] : drafts.emptied_by) {
        if (!drafts.there(id)) continue;
        const bool later =
            std::any_of(drafts.emptied_by.begin(), drafts.emptied_by.end(), [&, stage = &power](const auto& other) {
                return verdict.gone.count(other.first) > 0 && other.first != *stage &&
                       drafts.waits(other.first, *stage);
            });
        if (verdict.gone.count(power) > 0 && (holds(set.progress.steps_done, id) || !powered_last(set) || later)) {
            verdict.gone.insert(id);
        } else {
            charged.push_back(id);
            now = now || verdict.gone.count(power) > 0;
        }
    }
    if (verdict.again.count("discharge") > 0 &&
        (now || std::none_of(drafts.steps.begin(), drafts.steps.end(), [&](const RepairStep& s) {
             return verdict.gone.count(s.step) == 0 && puts_hands_in(s) &&
                    std::none_of(charged.begin(), charged.end(),
                                 [&](const std::string& id) { return drafts.waits(s.step, id); });
         })))
        verdict.gone.insert("discharge");
}

/// What was behind a step that is done and is open still stays ahead of all that follows it.
void inherit(RepairStep& s, const std::string& done, const std::map<std::string, std::vector<StepLink>>& gone,
             std::set<std::string>& seen) {
    if (!seen.insert(done).second) return;
    for (const StepLink& l : gone.at(done)) {
        if (gone.count(l.step) > 0)
            inherit(s, l.step, gone, seen);
        else if ((l.rule[0] == 'H' || l.rule == "charge") &&
                 std::none_of(s.predecessors.begin(), s.predecessors.end(),
                              [&](const StepLink& k) { return k.step == l.step && k.rule == l.rule; }))
            s.predecessors.push_back(l);
    }
}

/// Off the list, with its arrows handed on.
void take_off(Drafts& drafts, const std::set<std::string>& done) {
    std::map<std::string, std::vector<StepLink>> gone;
    for (const RepairStep& s : drafts.steps)
        if (done.count(s.step) > 0) gone[s.step] = s.predecessors;
    drafts.steps.erase(std::remove_if(drafts.steps.begin(), drafts.steps.end(),
                                      [&](const RepairStep& s) { return done.count(s.step) > 0; }),
                       drafts.steps.end());
    for (RepairStep& s : drafts.steps) {
        const std::vector<StepLink> links = std::move(s.predecessors);
        s.predecessors.clear();
        for (const StepLink& l : links)
            if (gone.count(l.step) == 0) s.predecessors.push_back(l);
        std::set<std::string> seen;
        for (const StepLink& l : links)
            if (gone.count(l.step) > 0) inherit(s, l.step, gone, seen);
    }
}

/// What is charged now is emptied before anything else.
void discharges_first(Drafts& drafts, const Verdict& verdict) {
    std::vector<std::string> first;
    if (verdict.again.count("discharge") > 0) first.emplace_back("discharge");
    for (const auto& [power, id] : drafts.emptied_by)
        if (drafts.there(id) && verdict.gone.count(power) > 0) first.push_back(id);
    for (const std::string& id : first)
        for (const RepairStep& s : drafts.steps)
            // at once after the stage, as planned, before anything else
            if ((puts_hands_in(s) || (is_emptying(id) && !drafts.waits(id, s.step))) && !drafts.waits(s.step, id))
                drafts.after(s.step, id, is_emptying(id) ? "list" : "charge", "hands in an empty set");
}

/// A set that was together already is read and traced before any power.
void read_before_power(const SetUnderRepair& set, Drafts& drafts, const Verdict& verdict) {
    const std::string alone = set.alone_step();
    for (const auto& [step, rule] : {std::pair("cold-ohms-all", "H19"), std::pair("trace-polarity", "H23")})
        if (verdict.again.count(alone) > 0 && !drafts.waits(step, alone))
            drafts.after(alone, step, rule, "before any power");
}

}  // namespace

bool due(const SetUnderRepair& set, const RepairStep& s) {
    const auto out = [&](const std::string& id) {
        const Part* p = set.part(id);
        return p && !plugs_in(*p) && set.out(id);
    };
    return std::any_of(s.acts.begin(), s.acts.end(), [&](const Act& act) {
        return (act.kind == K::reconnect || act.kind == K::fit) && std::any_of(act.parts.begin(), act.parts.end(), out);
    });
}

void drop_done(const SetUnderRepair& set, Drafts& drafts) {
    Verdict verdict = judged(set, drafts);
    undone_by_joints(set, drafts, verdict.gone);
    volts_written(set, drafts, verdict.gone);
    tubes_out_again(set, drafts, verdict.gone);
    discharges_done(set, drafts, verdict);
    take_off(drafts, verdict.gone);
    discharges_first(drafts, verdict);
    read_before_power(set, drafts, verdict);
}

}  // namespace tubewright::repair
