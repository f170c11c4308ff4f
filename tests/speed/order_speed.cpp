// SPDX-License-Identifier: MIT
// What the order of a plan costs, each beside a plain reference in the same run: the first demo set planned whole and
// its jobs ordered with proof, beside the greedy rule on the same jobs, which proves nothing; eighteen steps beside
// plain dynamic programming over all of their sets. Bar: the first set within 15 ms. Risks are made from ages, so
// nothing is solved. Run: order_speed --benchmark_min_time=1
#include <benchmark/benchmark.h>

#include <algorithm>
#include <limits>
#include <map>
#include <vector>

#include <tubewright/netlist.hpp>

#include "../order/sets.hpp"
#include "order/order.hpp"
#include "order/sequence.hpp"

using namespace tubewright;

namespace {

struct FirstSet {
    Chassis set;
    Policy policy;
    std::vector<PartAction> actions;
    ShoppingList list;
    ThreatReport threats;

    explicit FirstSet(Chassis of) : set(std::move(of)) {
        actions = actions_of(set, demo::catalogue(), policy, {}, {});
        list = shopping_list(set, demo::catalogue(), policy, {}, actions);
        threats = demo::threats_of_age(set, actions);
    }
    Outcome<RepairOrder> plan() const {
        return steps_of(set, demo::catalogue(), policy, actions, list, threats, {}, {}, {});
    }
};
const FirstSet& first_set() {
    static const FirstSet set(demo::read("s1-quarry-hill.xml"));
    return set;
}

struct Work {
    std::vector<Job> jobs;
    std::vector<JobArc> arcs;
};
const Work& first_jobs() {
    static const Work work = [] {
        Work made;
        const RepairOrder order = *first_set().plan();
        std::map<std::string, int> index;
        for (const RepairStep& s : order.steps) {
            index[s.step] = static_cast<int>(made.jobs.size());
            made.jobs.push_back({s.p_seconds, s.w_microrisk});
        }
        for (const RepairStep& s : order.steps)
            for (const StepLink& l : s.predecessors) made.arcs.push_back({index.at(l.step), index.at(s.step)});
        return made;
    }();
    return work;
}
// Each third step waits for the one three before it, each fifth for the one before.
const Work& eighteen() {
    static const Work work = [] {
        Work made;
        unsigned state = 12345;
        const auto next = [&] { return state = state * 1664525U + 1013904223U, state >> 16U; };
        for (int k = 0; k < 18; ++k) {
            made.jobs.push_back(
                {60 + 60 * static_cast<long long>(next() % 30), static_cast<long long>(next() % 100000)});
            if (k >= 3 && k % 3 != 0) made.arcs.push_back({k - 3, k});
            if (k > 0 && k % 5 == 0) made.arcs.push_back({k - 1, k});
        }
        return made;
    }();
    return work;
}
long long plain(const Work& work) {
    const std::size_t n = work.jobs.size();
    std::vector<unsigned> before(n, 0);
    for (const JobArc& a : work.arcs)
        before[static_cast<std::size_t>(a.after)] |= 1U << static_cast<unsigned>(a.before);
    std::vector<long long> best(std::size_t{1} << n, std::numeric_limits<long long>::max()), time(best.size(), 0);
    best[0] = 0;
    for (unsigned set = 0; set < best.size(); ++set) {
        if (best[set] == std::numeric_limits<long long>::max()) continue;
        for (std::size_t j = 0; j < n; ++j) {
            const unsigned bit = 1U << static_cast<unsigned>(j);
            if ((set & bit) != 0 || (before[j] & set) != before[j]) continue;
            time[set | bit] = time[set] + work.jobs[j].seconds;
            best[set | bit] = std::min(best[set | bit], best[set] + time[set | bit] * work.jobs[j].weight);
        }
    }
    return best.back();
}

void plan_of_the_first_set(benchmark::State& state) {
    first_set();
    for (auto _ : state) benchmark::DoNotOptimize(first_set().plan());
}
void first_set_in_proved_order(benchmark::State& state) {
    const Work& work = first_jobs();
    for (auto _ : state) benchmark::DoNotOptimize(best_sequence(work.jobs, work.arcs));
}
void first_set_by_the_greedy_rule(benchmark::State& state) {
    const Work& work = first_jobs();
    for (auto _ : state) benchmark::DoNotOptimize(greedy_order(work.jobs, work.arcs));
}
void eighteen_in_proved_order(benchmark::State& state) {
    if (best_sequence(eighteen().jobs, eighteen().arcs).objective != plain(eighteen()))
        state.SkipWithError("the order is not the best");
    for (auto _ : state) benchmark::DoNotOptimize(best_sequence(eighteen().jobs, eighteen().arcs));
}
void eighteen_by_plain_programming(benchmark::State& state) {
    for (auto _ : state) benchmark::DoNotOptimize(plain(eighteen()));
}

BENCHMARK(plan_of_the_first_set)->Unit(benchmark::kMillisecond);
BENCHMARK(first_set_in_proved_order)->Unit(benchmark::kMicrosecond);
BENCHMARK(first_set_by_the_greedy_rule)->Unit(benchmark::kMicrosecond);
BENCHMARK(eighteen_in_proved_order)->Unit(benchmark::kMicrosecond);
BENCHMARK(eighteen_by_plain_programming)->Unit(benchmark::kMicrosecond);

}  // namespace

BENCHMARK_MAIN();
