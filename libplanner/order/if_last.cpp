// SPDX-License-Identifier: MIT
// See if_last.hpp.
#include "order/if_last.hpp"

#include <algorithm>
#include <cmath>

#include "choice/figure.hpp"

namespace tubewright::repair {
namespace {

using choice::figure;

/// As on the page: hours and minutes that add up.
std::string time_words(double mins) {
    if (mins < 90) return figure(std::round(mins * 10) / 10, 3) + " min";
    const long long whole = std::llround(mins);
    const long long rest = whole % 60;
    return std::to_string(whole / 60) + " h" + (rest == 0 ? std::string() : " " + std::to_string(rest) + " min");
}

// What the worst fault of a step does to the transformer, and how soon.
std::string harm_words(const Threat& t) {
    if (t.ahead_of_primary || !t.seconds_to_damage_low || t.hot_winding.empty()) return {};
    const double s = *t.seconds_to_damage_low;
    return t.fault.id + " would damage " + t.hot_winding + " in " +
           (s >= 5400 ? figure(s / 3600, 1) + " h"
            : s >= 90 ? figure(s / 60, 0) + " min"
                      : figure(s, 0) + " s");
}

/// "3.4"; what is little is not written as nothing.
std::string percent(double share) {
    return share < 0.1 ? "under 0.1" : figure(share, 1);
}

}  // namespace

IfLast::IfLast(const SetUnderRepair& set, const Visits& visits, const Weights& weights, const Arranged& whole)
    : set_(set),
      visits_(visits),
      weights_(weights),
      minutes_after_(visits.steps().size(), 0),
      followers_(visits.steps().size()) {
    double all = 0, done = 0;
    for (const RepairStep& s : visits.steps()) all += s.minutes;
    for (int j : whole.order) {
        done += visits.step(j).minutes;
        minutes_after_[at(j)] = all - done;
    }
    for (std::size_t k = 0; k < visits.steps().size(); ++k)
        for (const StepLink& l : visits.steps()[k].predecessors)
            followers_[at(visits.index.at(l.step))].push_back(static_cast<int>(k));
}

std::string IfLast::of(int j) const {
    const std::string stands = danger(j);
    std::string broken = broken_rule(j);
    if (stands.empty()) {
        const bool last = followers_[at(j)].empty();
        const std::string held = last ? "it is the last" : held_back(j);
        broken += (broken.empty() ? "" : "; ") + (broken.empty() || !last ? held : std::string());
    }
    return stands + (stands.empty() || broken.empty() ? "" : "; ") + broken;
}

// The listed risk that stands longer, and the worst that may come of it.
std::string IfLast::danger(int j) const {
    const RepairStep& s = visits_.step(j);
    if (s.risk_removed <= 0 || minutes_after_[at(j)] <= 0) return {};
    std::string text = percent(share(s.risk_removed)) + " % of the listed risk stands " +
                       time_words(minutes_after_[at(j)]) + " longer";
    if (const auto worst = weights_.worst.find(s.step); worst != weights_.worst.end())
        if (const std::string harm = harm_words(*worst->second); !harm.empty()) text += ", and " + harm;
    return text;
}

// The hardest rule that would be broken.
std::string IfLast::broken_rule(int j) const {
    const RepairStep& s = visits_.step(j);
    std::set<std::string> breaks;
    for (int later : followers_[at(j)])
        for (const StepLink& l : visits_.step(later).predecessors)
            if (l.step == s.step) breaks.insert(l.rule);
    if (breaks.count("charge")) return "hands go into a set that may be charged";
    // Of an earth what H22 always asks comes before the touch current; iron by itself is more than what it is
    // worth.
    if (breaks.count("H22") && s.step == "earth-off") breaks.erase("H15");
    if (breaks.count("H6")) breaks.erase("s4");
    for (const BenchRule& rule : bench_rules())
        if (breaks.count(rule.id))
            return rule.id + (rule.hard ? " is broken" : " is passed over") +
                   (s.reason.find(rule.reason) == std::string::npos && suits(rule.reason) ? ": " + rule.reason : "");
    return {};
}

// A reason of the table that speaks of a transformer says nothing about a set without one.
bool IfLast::suits(const std::string& reason) const {
    const auto speaks_of = [&](const char* what) { return reason.find(what) != std::string::npos; };
    return (set_.has_iron() || (!speaks_of("transformer") && !speaks_of("winding"))) &&
           (set_.from_line() || !speaks_of("line"));
}

// What waits for a step, by any chain of arrows: steps, minutes, and their share of the listed risk.
std::string IfLast::held_back(int j) const {
    std::vector<bool> behind(visits_.steps().size());
    std::vector<int> front{j};
    double mins = 0, risk = 0;
    int steps = 0;
    while (!front.empty()) {
        const int one = front.back();
        front.pop_back();
        for (int k : followers_[at(one)]) {
            if (behind[at(k)]) continue;
            behind[at(k)] = true;
            front.push_back(k);
            steps += visits_.is_turn(k) ? 0 : 1;
            mins += visits_.step(k).minutes;
            risk += visits_.step(k).risk_removed;
        }
    }
    return (steps == 1 ? "one step of " : std::to_string(steps) + " steps of ") + time_words(mins) +
           (risk <= 0 ? std::string() : ", with " + percent(share(risk)) + " % of the listed risk,") +
           (steps == 1 ? " waits for it" : " wait for it");
}

double IfLast::share(double risk) const {
    return weights_.all_risk > 0 ? 100 * risk / weights_.all_risk : 0;
}

}  // namespace tubewright::repair
