// SPDX-License-Identifier: MIT
// See weights.hpp.
#include "order/weights.hpp"

#include <algorithm>
#include <cmath>

#include "chassis/data.hpp"
#include "choice/figure.hpp"
#include "threat/chain.hpp"

namespace tubewright::repair {
namespace {

using choice::figure;
using choice::listed;

double severity_weight(const std::string& severity) {
    if (severity == "I") return 100;
    if (severity == "II") return 10;
    if (severity == "III") return 1;
    return 0;
}

/// Faults of a step that harm nothing hard to replace, and the one that draws most.
struct Quiet {
    std::set<std::string> faults, never;  ///< never: those that would harm, and have no share of the failures
    const Threat *worst = nullptr, *harm = nullptr;
};

/// Faults by the step after which they are gone.
struct Tally {
    std::map<std::string, double> risk;
    std::map<std::string, const Threat*> worst;  ///< of those that weigh anything
    std::map<std::string, Quiet> quiet;
    std::set<std::string> out_for_good;  ///< parts
    double all = 0, unsettled = 0;
};

double primary_share(const Threat& t) {
    return t.primary_amps_rms_normal > 0 ? t.primary_amps_rms / t.primary_amps_rms_normal : 0;
}

// What the line gives, in the threat's own words: current from the line, or through a hand.
std::string shock_words(const Threat& t) {
    if (t.links.empty()) return {};
    std::string words = t.links.back().substr(0, t.links.back().find(". "));
    while (!words.empty() && words.back() == '.') words.pop_back();
    if (!words.empty() && words[0] >= 'A' && words[0] <= 'Z') words[0] = static_cast<char>(words[0] - 'A' + 'a');
    return words.empty() ? words : "; " + words;
}

/// Faults in the figures of the threat study.
struct FaultWords {
    const SetUnderRepair& set;
    const ThreatReport& threats;  ///< the heat of a power transformer is told by itself

    std::string over_at_target(const Threat& t) const;
    std::string of(const Threat& t) const;
    std::string of(const Quiet& quiet) const;
};

// What the part that a row is about bears too much of.
std::string FaultWords::over_at_target(const Threat& t) const {
    for (const Overload& o : t.overloads)
        if (o.part == t.target && !threats.is_power_transformer(o.part) && t.beta > 0) return threat::over_words(o);
    return {};
}

std::string FaultWords::of(const Threat& t) const {
    if (t.ahead_of_primary) return t.fault.id + ": fire or a live chassis, not the transformer" + shock_words(t);
    if (const std::string over = over_at_target(t); !over.empty())
        return t.fault.id + ": " + (primary_share(t) < 1.1 ? std::string() : t.current_note + ", ") + over;
    if (!t.current_note.empty()) return t.fault.id + ": " + t.current_note;
    if (t.primary_amps_rms_normal <= 0) return t.fault.id;
    return t.fault.id + ": " + figure(primary_share(t), 1) + " times the normal " +
           (!set.transformer.empty() ? "primary"
            : set.from_line()        ? "line"
                                     : "battery") +
           " current";
}

std::string FaultWords::of(const Quiet& quiet) const {
    if (quiet.harm) {
        const std::size_t rest = quiet.faults.size() - quiet.never.size();
        return of(*quiet.harm) + "; by the tables such a part does not fail so" +
               (rest == 0 ? std::string()
                          : ", and " + std::to_string(rest) + " more of its faults harm nothing hard to replace");
    }
    const Threat& t = *quiet.worst;
    return (quiet.faults.size() == 1 ? std::string("its one fault harms nothing")
                                     : "none of its " + std::to_string(quiet.faults.size()) + " faults harms what is") +
           " hard to replace (" + (t.ahead_of_primary ? t.fault.id + shock_words(t) : of(t)) + ")";
}

/// What was found of the parts that a step replaces, where it alone would send them out.
std::string seen_in(const SetUnderRepair& set, const RepairStep& s) {
    std::string text;
    for (const std::string& id : s.parts)
        if (const Part* p = set.part(id); p && set.action(id) == "replace" && seen_useless(*p))
            text += (text.empty() ? "" : ", ") + id + " seen " + p->seen;
    return text;
}

std::string reasons_of(const SetUnderRepair& set, const RepairStep& s) {
    for (const std::string& id : s.parts)
        for (const PartAction& a : set.actions)
            if (set.part(a.part).id == id && !a.reasons.empty()) return a.reasons.front();
    return "common practice";
}

// The step after which the mode is gone: where the part is replaced, mended, measured or tested; looking settles
// what it passes as sound and leaves, but for a switch, which is read. What stays unread is settled when all of the
// set reads right for the first time.
std::string settles(const SetUnderRepair& set, const Drafts& drafts, const Threat& t) {
    const auto have = [&](const std::string& step) { return drafts.there(step) ? step : std::string(); };
    const Part* p = set.part(t.part);
    if (p && p->kind == PartKind::socket) {
        const bool wood = t.fault.mode == FaultMode::tracking || t.fault.mode == FaultMode::to_chassis;
        // what is on the list to be replaced harms nothing once it is pulled
        return have(wood                                                           ? "clean-sockets"
                    : set.action(p->id) == "replace" && drafts.there("pull-tubes") ? "pull-tubes"
                                                                                   : "test-tubes");
    }
    const auto own = drafts.settled_by.find(t.part);
    if (own != drafts.settled_by.end()) return have(own->second);
    if (!p) return have("soak");
    if (set.looked_at.count(p->id)) return have(p->kind == PartKind::power_switch ? "cold-ohms-windings" : "inspect");
    if (p->kind == PartKind::transformer || p->kind == PartKind::coil) return have("cold-ohms-windings");
    return have("soak");
}

/// Out or with an end free by the log, to be replaced.
bool stays_out(const SetUnderRepair& set, const std::string& id) {
    return set.out(id) && set.action(id) == "replace";
}

/// All seconds times all weights stay whole numbers of 60 bits: where they would not, weights are in tens, hundreds
/// ... of 1e-9.
double unit_of_weights(const SetUnderRepair& set, const Drafts& drafts, const std::map<std::string, double>& risk) {
    double mins = 0, all = 0, unit = 1;
    for (const RepairStep& s : drafts.steps)
        mins += s.minutes + set.minutes("place-change");  // a turn each, at the most
    for (const auto& [step, r] : risk) all += r;
    while (60 * set.policy.pace * mins * (1e9 * all / unit) >= 0x1p60) unit *= 10;
    return unit;
}

Tally tallied(const SetUnderRepair& set, const ThreatReport& threats, const Drafts& drafts) {
    Tally tally;
    for (const Threat& t : threats.rows) {
        // what is out and does not go back threatens nothing any more
        if (stays_out(set, t.part)) {
            tally.out_for_good.insert(t.part);
            continue;
        }
        const double r = t.criticality * severity_weight(t.severity);
        tally.all += r;
        const std::string step = settles(set, drafts, t);
        if (step.empty()) {
            tally.unsettled += r;
            continue;
        }
        if (r <= 0) {
            Quiet& quiet = tally.quiet[step];
            quiet.faults.insert(t.fault.id);
            // it would do harm, but of such parts the tables know no failure of that kind
            if (t.beta > 0 && severity_weight(t.severity) > 0) {
                quiet.never.insert(t.fault.id);
                if (!quiet.harm || t.beta > quiet.harm->beta) quiet.harm = &t;
            }
            if (!quiet.worst || primary_share(t) > primary_share(*quiet.worst)) quiet.worst = &t;
            continue;
        }
        tally.risk[step] += r;
        const Threat*& w = tally.worst[step];
        if (!w || r > w->criticality * severity_weight(w->severity)) w = &t;
    }
    return tally;
}

/// Of a step that takes no listed risk away: why it is done all the same.
std::string reason_without_risk(const SetUnderRepair& set, const Drafts& drafts, const Tally& tally,
                                const FaultWords& words, const RepairStep& s) {
    std::string reason = s.reason.empty() ? "age: " + reasons_of(set, s) : s.reason;
    if (const auto quiet = tally.quiet.find(s.step); quiet != tally.quiet.end())
        reason += "; " + words.of(quiet->second);
    std::vector<std::string> without;
    for (const std::string& id : s.parts)
        if (const auto own = drafts.settled_by.find(id);
            tally.out_for_good.count(id) && own != drafts.settled_by.end() && own->second == s.step)
            without.push_back(id);
    if (without.empty()) return reason;
    return reason + "; by the log " + listed(without) +
           (without.size() == 1 ? " is out, and its danger with it" : " are out, and their danger with them");
}

std::string reason_with_risk(const SetUnderRepair& set, const Threat& worst, double share, const FaultWords& words,
                             const RepairStep& s) {
    std::string numbers = words.of(worst);
    if (!worst.likelihood.empty()) numbers += " (" + worst.likelihood + ")";
    numbers += "; takes " + (share < 0.1 ? std::string("under 0.1") : figure(share, 1)) + " % of the listed risk away";
    const std::string reason = s.reason.empty() ? numbers : s.reason + "; " + numbers;
    const std::string seen = seen_in(set, s);
    return seen.empty() ? reason : seen + "; " + reason;
}

}  // namespace

Weights weigh(const SetUnderRepair& set, const ThreatReport& threats, Drafts& drafts) {
    const Tally tally = tallied(set, threats, drafts);
    const FaultWords words{set, threats};
    const double unit = unit_of_weights(set, drafts, tally.risk);
    for (RepairStep& s : drafts.steps) {
        const auto risk = tally.risk.find(s.step);
        s.risk_removed = risk == tally.risk.end() ? 0 : risk->second;
        s.w_microrisk = std::llround(1e9 / unit * s.risk_removed);
        const auto worst = tally.worst.find(s.step);
        s.reason = worst == tally.worst.end() || tally.all <= 0
                       ? reason_without_risk(set, drafts, tally, words, s)
                       : reason_with_risk(set, *worst->second, 100 * s.risk_removed / tally.all, words, s);
    }
    return {unit, tally.all, tally.unsettled, tally.worst};
}

std::vector<RiskPoint> risk_left(const Weights& weights, const std::vector<RepairStep>& steps,
                                 const std::vector<int>& order) {
    // from its end, so that nothing left is nought
    double left = weights.unsettled;
    for (std::size_t k = 0; k < steps.size(); ++k)
        if (std::find(order.begin(), order.end(), static_cast<int>(k)) == order.end()) left += steps[k].risk_removed;
    std::vector<RiskPoint> points(order.size() + 1);
    for (std::size_t k = order.size() + 1; k-- > 0;) {
        points[k].risk_left = k > 0 ? std::min(left, weights.all_risk) : weights.all_risk;
        if (k > 0) left += steps[at(order[k - 1])].risk_removed;
    }
    for (std::size_t k = 0; k < order.size(); ++k)
        points[k + 1].minutes = points[k].minutes + steps[at(order[k])].minutes;
    return points;
}

}  // namespace tubewright::repair
