// SPDX-License-Identifier: MIT
// What the order of a plan costs, each beside a plain reference in the same run: the first demo set planned whole and
// its jobs ordered with proof, beside the greedy rule on the same jobs, which proves nothing; eighteen steps beside
// plain dynamic programming over all of their sets; then each of the ten demo sets planned, and twenty sets of 500
// steps of each kind ordered, with the longest of them and their gaps. Bars: the first set within 15 ms, each of the
// ten within a second and proved; of 500 steps each within two seconds, the gap 1 % at the middle and 2 % at most.
// Risks are made from ages, so nothing is solved. Run: order_speed --benchmark_min_time=1
#include <benchmark/benchmark.h>

#include <algorithm>
#include <chrono>
#include <limits>
#include <map>
#include <vector>

#include <tubewright/netlist.hpp>

#include "../order/large.hpp"
#include "../order/sets.hpp"
#include "order/order.hpp"
#include "order/sequence.hpp"

using namespace tubewright;

namespace {

struct Planned {
    Chassis set;
    Policy policy;
    std::vector<PartAction> actions;
    ShoppingList list;
    ThreatReport threats;

    explicit Planned(Chassis of) : set(std::move(of)) {
        actions = actions_of(set, demo::catalogue(), policy, {}, {});
        list = shopping_list(set, demo::catalogue(), policy, {}, actions);
        threats = demo::threats_of_age(set, actions);
    }
    Outcome<RepairOrder> plan() const {
        return steps_of(set, demo::catalogue(), policy, actions, list, threats, {}, {}, {});
    }
};
const Planned& first_set() {
    static const Planned set(demo::read("s1-quarry-hill.xml"));
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

// By place and by risk; the bound of any order is part of it.
void plan_of_each_set(benchmark::State& state) {
    const std::string& file = demo::all_files()[static_cast<std::size_t>(state.range(0))];
    const Planned set(demo::read(file));
    std::size_t steps = 0;
    bool proved = true;
    for (auto _ : state) {
        const Outcome<RepairOrder> order = set.plan();
        steps = order->steps.size();
        proved = proved && order->optimal;
    }
    state.SetLabel(file.substr(0, file.find('-')) + (proved ? ", proved" : ", NOT PROVED"));
    state.counters["steps"] = static_cast<double>(steps);
}
void five_hundred_steps(benchmark::State& state) {
    const int kind = static_cast<int>(state.range(0));
    double longest = 0;
    std::vector<double> gaps;
    for (auto _ : state) {
        gaps.clear();
        for (std::uint64_t seed = 1; seed <= 20; ++seed) {
            const large::Jobs made = large::jobs(seed, kind, 500);
            const auto start = std::chrono::steady_clock::now();
            gaps.push_back(100 * best_sequence(made.jobs, made.arcs).gap());
            const std::chrono::duration<double> took = std::chrono::steady_clock::now() - start;
            longest = std::max(longest, took.count());
        }
    }
    std::sort(gaps.begin(), gaps.end());
    state.SetLabel(large::kinds[kind]);
    state.counters["longest_s"] = longest;
    state.counters["gap_median_percent"] = gaps[gaps.size() / 2];
    state.counters["gap_worst_percent"] = gaps.back();
}

BENCHMARK(plan_of_the_first_set)->Unit(benchmark::kMillisecond);
BENCHMARK(first_set_in_proved_order)->Unit(benchmark::kMicrosecond);
BENCHMARK(first_set_by_the_greedy_rule)->Unit(benchmark::kMicrosecond);
BENCHMARK(eighteen_in_proved_order)->Unit(benchmark::kMicrosecond);
BENCHMARK(eighteen_by_plain_programming)->Unit(benchmark::kMicrosecond);
BENCHMARK(plan_of_each_set)->DenseRange(0, 9)->Unit(benchmark::kMillisecond);
BENCHMARK(five_hundred_steps)->DenseRange(0, 2)->Iterations(1)->Unit(benchmark::kSecond);

}  // namespace

BENCHMARK_MAIN();
