// SPDX-License-Identifier: MIT
// See limits.hpp.
#include "order/limits.hpp"

#include <algorithm>

#include "choice/figure.hpp"
#include "order/evening.hpp"

namespace tubewright::repair {
namespace {

using choice::listed;

/// Steps that are in or out together: nobody leaves the set charged, a stage brings its discharge.
struct Together {
    explicit Together(const Visits& visits);

    std::vector<std::vector<int>> steps;  ///< by job
    std::vector<int> job;                 ///< by step
    std::vector<Job> jobs;
    std::vector<JobArc> arcs;
    std::vector<double> costs;
    long long seconds = 0;
};

Together::Together(const Visits& visits) : job(visits.steps().size(), -1) {
    for (std::size_t k = 0; k < visits.steps().size(); ++k) {
        if (job[k] >= 0) continue;
        const std::string& one = visits.steps()[k].step;
        std::vector<int> together{static_cast<int>(k)};
        for (const auto& [power, id] : visits.emptied_by)
            if ((power == one || id == one) && visits.index.count(power) && visits.index.count(id))
                together = {visits.index.at(power), visits.index.at(id)};
        Job sum;
        double cost = 0;
        for (int j : together) {
            job[at(j)] = static_cast<int>(jobs.size());
            sum.seconds += visits.step(j).p_seconds;
            sum.weight += visits.step(j).w_microrisk;
            cost += visits.step(j).cost;
        }
        jobs.push_back(sum);
        costs.push_back(cost);
        steps.push_back(std::move(together));
        seconds += sum.seconds;
    }
    for (std::size_t k = 0; k < visits.steps().size(); ++k)
        for (const StepLink& l : visits.steps()[k].predecessors)
            if (const int before = job[at(visits.index.at(l.step))]; before != job[k]) arcs.push_back({before, job[k]});
}

/// A place is not turned to for nothing, nor is anything bought that nothing waits for.
bool idle(const Visits& visits, int j, const std::vector<int>& chosen) {
    const RepairStep& s = visits.step(j);
    const auto none = [&](const auto& wants_it) { return std::none_of(chosen.begin(), chosen.end(), wants_it); };
    return (visits.is_turn(j) && none([&](int k) { return k != j && visits.step(k).visit == s.visit; })) ||
           (buys(s) && none([&](int k) { return visits.list.follows(visits.step(k).step, s.step); }));
}

}  // namespace

Within within(const StepOptions& options, const Visits& visits, const Arranged& whole) {
    const Together together(visits);
    const long long seconds =
        options.hours > 0 ? std::min(together.seconds, static_cast<long long>(options.hours * 3600)) : together.seconds;
    Sequence by_then;
    for (int j : whole.order)
        if (const int job = together.job[at(j)]; together.steps[at(job)].front() == j) by_then.order.push_back(job);
    const Selection evening =
        best_within(together.jobs, together.arcs, by_then, seconds,
                    options.budget ? together.costs : std::vector<double>{}, options.budget.value_or(0));
    std::vector<int> chosen;
    for (int k : evening.jobs) chosen.insert(chosen.end(), together.steps[at(k)].begin(), together.steps[at(k)].end());
    std::sort(chosen.begin(), chosen.end());
    std::vector<int> kept;
    for (int j : chosen)
        if (!idle(visits, j, chosen)) kept.push_back(j);
    return {visits.arranged(kept, best), evening.weight, evening.bound};
}

void buy_for_kept(const SetUnderRepair& set, const Visits& visits, const std::vector<int>& kept, RepairStep& buying) {
    std::vector<std::string> wanted, named;
    for (int j : kept) {
        const RepairStep& user = visits.step(j);
        if (!visits.list.follows(user.step, buying.step) || user.cost <= 0) continue;
        for (const std::string& id : user.parts)
            if (!set.has_been_bought(id)) wanted.push_back(id);
        if (user.step == "fit-fuse" && set.progress.passed_at.count(buying.step) == 0)
            named.push_back("holder and fuse");
    }
    named.insert(named.begin(), wanted.begin(), wanted.end());
    buying.does = named.empty() ? "Nothing to buy: no step within the limit fits a part of the list"
                                : "Buy what the steps within the limit fit: " + listed(named);
    buying.parts = wanted;
    for (Act& act : buying.acts)
        if (act.kind == ActKind::buy) act.parts = wanted;
}

}  // namespace tubewright::repair
