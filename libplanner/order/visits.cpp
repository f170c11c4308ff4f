// SPDX-License-Identifier: MIT
// See visits.hpp.
#include "order/visits.hpp"

#include <algorithm>
#include <cmath>

namespace tubewright::repair {
namespace {

constexpr std::size_t ideals_of_a_bound = 20000;  // a bound is not worth more states than that

bool waits_for_itself(const std::map<int, std::set<int>>& waits_for, int visit) {
    std::set<int> seen;
    std::vector<int> front{visit};
    while (!front.empty()) {
        const auto one = waits_for.find(front.back());
        front.pop_back();
        if (one == waits_for.end()) continue;
        for (int before : one->second) {
            if (before == visit) return true;
            if (seen.insert(before).second) front.push_back(before);
        }
    }
    return false;
}

}  // namespace

Sequence best(const std::vector<Job>& jobs, const std::vector<JobArc>& arcs) {
    return best_sequence(jobs, arcs);
}

Sequence greedily(const std::vector<Job>& jobs, const std::vector<JobArc>& arcs) {
    Sequence s;
    s.order = greedy_order(jobs, arcs);
    return s;
}

Sequence by_list(const std::vector<Job>& jobs, const std::vector<JobArc>& arcs) {
    Sequence s;
    s.order = list_order(jobs, arcs);
    return s;
}

Visits::Visits(const Drafts& drafts, double turn)
    : list(drafts), at_place(drafts.at_place), emptied_by(drafts.emptied_by), minutes_of_a_turn(turn) {
    reindex();
    drafted = index;
}

void Visits::by_place() {
    std::map<std::pair<std::string, int>, int> visits;
    for (RepairStep& s : list.steps) {
        if (!at_place.count(s.step)) continue;
        const bool second = std::any_of(s.predecessors.begin(), s.predecessors.end(), [&](const StepLink& l) {
            return l.rule == "s10" && list.step(l.step).place != s.place;
        });
        const auto known =
            visits.emplace(std::pair(s.place, second ? 1 : 0), static_cast<int>(visits.size()) + 1).first;
        s.visit = known->second;
    }
    while (break_up_a_ring()) {
    }
}

void Visits::one_by_one() {
    int visit = 0;
    for (RepairStep& s : list.steps)
        if (at_place.count(s.step)) s.visit = ++visit;
}

bool Visits::has_visit(int visit) const {
    return std::any_of(list.steps.begin(), list.steps.end(), [&](const RepairStep& s) { return s.visit == visit; });
}

void Visits::join(int kept, int gone) {
    for (RepairStep& s : list.steps)
        if (s.visit == gone) s.visit = kept;
}

bool Visits::in_a_ring(int visit) const {
    return waits_for_itself(waiting(), visit);
}

std::vector<std::pair<int, int>> Visits::to_one_place() const {
    std::map<std::string, std::set<int>> visits;
    for (const RepairStep& s : list.steps)
        if (s.visit > 0) visits[s.place].insert(s.visit);
    std::vector<std::pair<int, int>> pairs;
    for (const auto& [place, several] : visits)
        for (int first : several)
            for (int later : several)
                if (first < later) pairs.emplace_back(first, later);
    return pairs;
}

void Visits::reindex() {
    index.clear();
    for (std::size_t k = 0; k < list.steps.size(); ++k) index[list.steps[k].step] = static_cast<int>(k);
}

/// Visits (steps by themselves among them, by numbers below zero) and what each waits for.
std::map<int, std::set<int>> Visits::waiting() const {
    std::map<std::string, int> visit_of;
    for (const RepairStep& s : list.steps)
        visit_of[s.step] = s.visit > 0 ? s.visit : -1 - static_cast<int>(visit_of.size());
    std::map<int, std::set<int>> waits_for;
    for (const RepairStep& s : list.steps)
        for (const StepLink& l : s.predecessors)
            if (visit_of[l.step] != visit_of[s.step]) waits_for[visit_of[s.step]].insert(visit_of[l.step]);
    return waits_for;
}

// One visit that waits for itself through others is given up; false when there is none.
bool Visits::break_up_a_ring() {
    int next = 0;
    for (const RepairStep& s : list.steps) next = std::max(next, s.visit);
    const std::map<int, std::set<int>> waits_for = waiting();
    for (const RepairStep& s : list.steps) {
        if (s.visit == 0) continue;
        const int ring = s.visit;
        const auto inside = [&](const RepairStep& r) { return r.visit == ring; };
        if (std::count_if(list.steps.begin(), list.steps.end(), inside) < 2 || !waits_for_itself(waits_for, ring))
            continue;
        for (RepairStep& r : list.steps)
            if (r.visit == ring) r.visit = ++next;
        return true;
    }
    return false;
}

void Visits::add_turns() {
    std::map<int, std::vector<std::string>> members;
    for (const RepairStep& s : list.steps)
        if (s.visit > 0) members[s.visit].push_back(s.step);
    std::map<std::string, int> times;
    for (const auto& [visit, steps] : members) {
        const std::string place = list.step(steps.front()).place;
        std::string id = "turn-to-" + place;
        std::replace(id.begin(), id.end(), ' ', '-');
        if (const int before = times[place]++; before > 0) id += "-" + std::to_string(before + 1);
        RepairStep& turn = list.add(id, "Turn to " + place, minutes_of_a_turn);
        drafted.emplace(id, drafted.at(steps.front()));
        turn.place = place;
        turn.visit = visit;
        turn.reason = steps.size() == 1 ? "one step is done there"
                                        : std::to_string(steps.size()) + " steps are done there, one after the other";
        turn.check = "its lugs found on the sketch";
        turns.insert(id);
        for (const std::string& one : steps)
            list.after(one, id, "access", "the place is turned to once for all of them");
    }
}

Arranged Visits::arranged() {
    list.forget(turns);
    turns.clear();
    add_turns();
    std::sort(list.steps.begin(), list.steps.end(),
              [](const RepairStep& a, const RepairStep& b) { return a.step < b.step; });
    reindex();
    for (RepairStep& s : list.steps) {
        s.p_seconds = std::llround(s.minutes * 60);
        std::sort(s.predecessors.begin(), s.predecessors.end(), [](const StepLink& a, const StepLink& b) {
            return a.step != b.step ? a.step < b.step : a.rule < b.rule;
        });
    }
    std::vector<int> all(list.steps.size());
    for (std::size_t k = 0; k < all.size(); ++k) all[k] = static_cast<int>(k);
    return arranged(all, best);
}

// A visit is one job from outside, of all its seconds and all its weight, since nothing comes between its steps;
// inside it is ordered by itself. What its steps bring before its end is what it costs less.
Arranged Visits::arranged(const std::vector<int>& members, const SequenceRule& rule) const {
    std::map<int, int> lump_of_visit;
    std::vector<int> lump(list.steps.size(), -1), inner(list.steps.size(), -1);
    std::vector<std::vector<int>> lumps;
    std::map<std::string, int> stage;  // a stage and the discharge after it: nothing comes between
    for (const auto& [power, id] : emptied_by)
        if (index.count(power) > 0 && index.count(id) > 0)
            stage[power] = stage[id] = -1 - static_cast<int>(stage.size());
    for (int j : members) {
        const auto bound = stage.find(step(j).step);
        const int visit = bound == stage.end() ? step(j).visit : bound->second;
        const auto [known, first] = lump_of_visit.emplace(visit, static_cast<int>(lumps.size()));
        if (visit == 0 || first) {
            lump[at(j)] = static_cast<int>(lumps.size());
            lumps.emplace_back();
        } else {
            lump[at(j)] = known->second;
        }
        inner[at(j)] = static_cast<int>(lumps[at(lump[at(j)])].size());
        lumps[at(lump[at(j)])].push_back(j);
    }
    std::vector<JobArc> outside;
    std::vector<std::vector<JobArc>> inside(lumps.size());
    for (int j : members)
        for (const StepLink& l : step(j).predecessors) {
            const int i = index.at(l.step);
            if (lump[at(i)] < 0) continue;
            if (lump[at(i)] != lump[at(j)])
                outside.push_back({lump[at(i)], lump[at(j)]});
            else
                inside[at(lump[at(j)])].push_back({inner[at(i)], inner[at(j)]});
        }
    Arranged made;
    made.block.assign(list.steps.size(), 0);
    std::vector<Job> whole;
    std::vector<std::vector<int>> orders;
    for (std::size_t k = 0; k < lumps.size(); ++k) {
        std::vector<Job> jobs;
        Job sum;
        for (int j : lumps[k]) {
            jobs.push_back({step(j).p_seconds, step(j).w_microrisk});
            sum.seconds += jobs.back().seconds;
            sum.weight += jobs.back().weight;
        }
        whole.push_back(sum);
        const Sequence within = rule(jobs, inside[k]);
        made.objective += within.objective - sum.seconds * sum.weight;
        made.lower_bound += within.lower_bound - sum.seconds * sum.weight;
        orders.emplace_back();
        for (int j : within.order) orders.back().push_back(lumps[k][at(j)]);
        for (int j : within.cycle) made.ring.push_back(step(lumps[k][at(j)]).step);
    }
    const Sequence sequence = rule(whole, outside);
    for (int k : sequence.cycle)
        for (int j : lumps[at(k)]) made.ring.push_back(step(j).step);
    made.objective += sequence.objective;
    made.lower_bound += sequence.lower_bound;
    for (int k : sequence.order)
        for (int j : orders[at(k)]) {
            made.order.push_back(j);
            if (!sequence.block.empty()) made.block[at(j)] = sequence.block[at(k)];
        }
    return made;
}

long long Visits::bound_of_any(const std::vector<int>& members) const {
    std::vector<Job> jobs;
    std::vector<JobArc> arcs;
    std::vector<int> job(list.steps.size(), -1);
    std::map<std::string, int> turn_to;
    for (int j : members) {
        const RepairStep& s = step(j);
        job[at(j)] = static_cast<int>(jobs.size());
        if (is_turn(j)) {
            const auto [known, first] = turn_to.emplace(s.place, job[at(j)]);
            job[at(j)] = known->second;
            if (!first) continue;
        }
        jobs.push_back({s.p_seconds, s.w_microrisk});
    }
    for (int j : members)
        for (const StepLink& l : step(j).predecessors)
            if (const int i = job[at(index.at(l.step))]; i >= 0) arcs.push_back({i, job[at(j)]});
    return best_sequence(jobs, arcs, {.ideals = ideals_of_a_bound}).lower_bound;
}

}  // namespace tubewright::repair
