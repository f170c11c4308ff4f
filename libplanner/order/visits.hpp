// SPDX-License-Identifier: MIT
// What is done at one place is one visit: the turn to the place, then its steps one after the other. The cheapest order
// of steps whose visits stand, with a proof; which visits are worth it is for turns.hpp.
//
//     Visits visits(drafts, 2);
//     visits.by_place();
//     Arranged order = visits.arranged();   // order.objective == order.lower_bound: proved best, with these visits
//
// Test: tests/order/steps_test.cpp.
#pragma once

#include <functional>
#include <map>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "order/drafts.hpp"
#include "order/sequence.hpp"

namespace tubewright::repair {

/// Steps in order, with the visits to places kept together; by place in Visits::list.
struct Arranged {
    std::vector<std::string> ring;  ///< steps that wait for each other; then there is no order
    std::vector<int> order, block;  ///< block: by step
    long long objective = 0, lower_bound = 0;
};

using SequenceRule = std::function<Sequence(const std::vector<Job>&, const std::vector<JobArc>&)>;
Sequence best(const std::vector<Job>& jobs, const std::vector<JobArc>& arcs);
Sequence greedily(const std::vector<Job>& jobs, const std::vector<JobArc>& arcs);
Sequence by_list(const std::vector<Job>& jobs, const std::vector<JobArc>& arcs);

struct Visits {
    /// As drafted, every step by itself.
    Visits(const Drafts& drafts, double minutes_of_a_turn);

    StepList list;                       ///< turns among them, when arranged() was called
    std::map<std::string, int> index;    ///< of a step in the list
    std::map<std::string, int> drafted;  ///< where it stood in the drafts; a turn with the first step there
    std::set<std::string> turns;         ///< steps
    std::map<int, double> worth;         ///< by visit: share that the danger would stand longer without it
    std::set<std::string> at_place;
    std::map<std::string, std::string> emptied_by;
    double minutes_of_a_turn;

    const std::vector<RepairStep>& steps() const { return list.steps; }
    const RepairStep& step(int j) const { return list.steps[at(j)]; }
    bool is_turn(int j) const { return turns.count(step(j).step) > 0; }

    /// Steps at one place are one visit, of two rounds: what waits for new neighbours at another place is measured in
    /// the second. Visits that would wait for each other are broken up.
    void by_place();
    /// A turn of its own for each step that is done at a place.
    void one_by_one();
    bool has_visit(int visit) const;
    void join(int kept, int gone);
    /// Whether a visit waits for itself through others.
    bool in_a_ring(int visit) const;
    /// Visits to the same place, each pair of them, the earlier number first.
    std::vector<std::pair<int, int>> to_one_place() const;
    /// After what was changed in the list.
    void reindex();

    /// All steps ordered with the visits as they are; their turns are made anew.
    Arranged arranged();
    /// Some steps, by some rule. A stage under power and the discharge after it are kept together like a visit.
    Arranged arranged(const std::vector<int>& members, const SequenceRule& rule) const;
    /// No lawful order of these steps has less, however often it turns from place to place: each place is turned to
    /// once, and going back to it is free.
    long long bound_of_any(const std::vector<int>& members) const;

  private:
    void add_turns();
    std::map<int, std::set<int>> waiting() const;
    bool break_up_a_ring();
};

}  // namespace tubewright::repair
