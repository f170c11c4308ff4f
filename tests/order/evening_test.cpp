// SPDX-License-Identifier: MIT
// What fits an evening, and a purse: of every closed set of small instances the best, and of larger ones a proved one.
#include <algorithm>
#include <cstdint>
#include <random>
#include <set>
#include <vector>

#include <catch2/catch.hpp>

#include "order/evening.hpp"

using namespace tubewright;

namespace {

struct Instance {
    std::vector<Job> jobs;
    std::vector<JobArc> arcs;
    std::vector<double> cost;
    long long seconds = 0;
    double money = 0;
};

Instance random_instance(std::mt19937_64& dice, int n, unsigned density_percent) {
    Instance i;
    for (int j = 0; j < n; ++j) {
        i.jobs.push_back({static_cast<long long>(dice() % 10), static_cast<long long>(dice() % 12)});
        i.cost.push_back(static_cast<double>(dice() % 400) / 100);
        i.seconds += i.jobs.back().seconds;
        i.money += i.cost.back();
    }
    for (int a = 0; a < n; ++a)
        for (int b = a + 1; b < n; ++b)
            if (dice() % 100 < density_percent) i.arcs.push_back({a, b});
    return i;
}

// The most that a closed set within both limits brings: every set, one after the other.
long long tried(const Instance& i, long long seconds, double money) {
    long long best = 0;
    for (std::uint32_t set = 0; set < (1U << i.jobs.size()); ++set) {
        long long p = 0, w = 0;
        double c = 0;
        for (std::size_t j = 0; j < i.jobs.size(); ++j)
            if (set >> j & 1U) {
                p += i.jobs[j].seconds;
                w += i.jobs[j].weight;
                c += i.cost[j];
            }
        bool closed = true;
        for (const JobArc& a : i.arcs) closed = closed && (!(set >> a.after & 1U) || (set >> a.before & 1U));
        if (closed && p <= seconds && c <= money + 1e-6) best = std::max(best, w);
    }
    return best;
}

// Closed, within its limits, and of the weight that it says.
void check(const Instance& i, const Selection& chosen, long long seconds, double money) {
    const std::set<int> in(chosen.jobs.begin(), chosen.jobs.end());
    long long p = 0, w = 0;
    double c = 0;
    for (int j : chosen.jobs) {
        p += i.jobs[static_cast<std::size_t>(j)].seconds;
        w += i.jobs[static_cast<std::size_t>(j)].weight;
        c += i.cost[static_cast<std::size_t>(j)];
    }
    REQUIRE(p <= seconds);
    REQUIRE(c <= money + 1e-6);
    REQUIRE(w == chosen.weight);
    for (const JobArc& a : i.arcs)
        if (in.count(a.after)) REQUIRE(in.count(a.before));
}

}  // namespace

TEST_CASE("what fits an evening is the best of all sets that leave nothing out that they wait for") {
    std::mt19937_64 dice(23);
    for (int round = 0; round < 1000; ++round) {
        const Instance i = random_instance(dice, 10, 20);
        const auto seconds = static_cast<long long>(dice() % static_cast<unsigned long long>(i.seconds + 1));
        const Selection chosen = best_within(i.jobs, i.arcs, best_sequence(i.jobs, i.arcs), seconds, {}, 0);
        check(i, chosen, seconds, 1e9);
        const long long best = tried(i, seconds, 1e9);
        REQUIRE(chosen.weight == best);
        REQUIRE(chosen.bound == best);
    }
}

TEST_CASE("with little time and little money it is the best of all sets within both") {
    std::mt19937_64 dice(29);
    for (int round = 0; round < 500; ++round) {
        const Instance i = random_instance(dice, 10, 15);
        const auto seconds = static_cast<long long>(dice() % static_cast<unsigned long long>(i.seconds + 1));
        const double money = i.money * static_cast<double>(dice() % 100) / 100;
        const Selection chosen = best_within(i.jobs, i.arcs, best_sequence(i.jobs, i.arcs), seconds, i.cost, money);
        check(i, chosen, seconds, money);
        const long long best = tried(i, seconds, money);
        REQUIRE(chosen.weight == best);
        REQUIRE(chosen.bound == best);
    }
}

TEST_CASE("short money buys nothing that brings nothing; where there is enough for all, all is done") {
    // 0 brings 5 for 2.00; 1 brings nothing for .50; 2 brings nothing and is free; 3 brings 9 for 9.00
    const std::vector<Job> jobs{{10, 5}, {10, 0}, {10, 0}, {10, 9}};
    const std::vector<double> cost{2, 0.5, 0, 9};
    const Sequence order = best_sequence(jobs, {});
    CHECK(best_within(jobs, {}, order, 100, cost, 5).jobs == std::vector<int>{0, 2});
    CHECK(best_within(jobs, {}, order, 100, cost, 12).jobs == std::vector<int>{0, 1, 2, 3});
    std::mt19937_64 dice(41);
    for (int round = 0; round < 200; ++round) {
        const Instance i = random_instance(dice, 10, 15);
        const double money = i.money * static_cast<double>(dice() % 90) / 100;
        const Selection chosen = best_within(i.jobs, i.arcs, best_sequence(i.jobs, i.arcs), i.seconds, i.cost, money);
        std::set<int> needed;  // what earns, and all that it waits for
        for (int j : chosen.jobs)
            if (i.jobs[static_cast<std::size_t>(j)].weight > 0) needed.insert(j);
        for (std::size_t grew = 0; grew != needed.size();) {
            grew = needed.size();
            for (const JobArc& a : i.arcs)
                if (needed.count(a.after)) needed.insert(a.before);
        }
        for (int j : chosen.jobs) CHECK((needed.count(j) || i.cost[static_cast<std::size_t>(j)] == 0));
    }
}

TEST_CASE("a search that is cut short says a bound that holds, and never less than the best order has by then") {
    std::mt19937_64 dice(31);
    int short_of = 0;
    for (int round = 0; round < 300; ++round) {
        const Instance i = random_instance(dice, 10, 15);
        const long long seconds = i.seconds / 2;
        const Sequence order = best_sequence(i.jobs, i.arcs);
        const Selection chosen = best_within(i.jobs, i.arcs, order, seconds, {}, 0, 1);
        check(i, chosen, seconds, 1e9);
        const long long best = tried(i, seconds, 1e9);
        REQUIRE(chosen.weight <= best);
        REQUIRE(chosen.bound >= best);
        long long p = 0, w = 0;
        for (int j : order.order) {
            p += i.jobs[static_cast<std::size_t>(j)].seconds;
            if (p > seconds) break;
            w += i.jobs[static_cast<std::size_t>(j)].weight;
        }
        REQUIRE(chosen.weight >= w);
        short_of += chosen.weight < chosen.bound ? 1 : 0;
    }
    CHECK(short_of > 0);
}

TEST_CASE("of a hundred and fifty jobs the evening is proved") {
    std::mt19937_64 dice(37);
    for (int round = 0; round < 10; ++round) {
        const Instance i = random_instance(dice, 150, 2);
        const Sequence order = best_sequence(i.jobs, i.arcs);
        for (const int share : {10, 30, 60}) {
            const long long seconds = i.seconds * share / 100;
            const Selection chosen = best_within(i.jobs, i.arcs, order, seconds, {}, 0);
            check(i, chosen, seconds, 1e9);
            CHECK(chosen.weight == chosen.bound);
        }
    }
}
