// SPDX-License-Identifier: MIT
// The contract stands in evening.hpp.
#include "order/evening.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <optional>

#include "order/min_cut.hpp"

namespace tubewright {
namespace {

__extension__ typedef __int128 Wide;
constexpr int price_moves = 12;  // of the price at a branch; each is a cut
constexpr long long shares = 4096;

std::size_t at(int i) {
    return static_cast<std::size_t>(i);
}

using Set = std::vector<char>;  // by job

// What a set of jobs may take in all.
struct Limit {
    std::vector<long long> takes;  // by job
    long long most = 0;
    long long of(const Set& in) const {
        long long sum = 0;
        for (std::size_t j = 0; j < in.size(); ++j)
            if (in[j]) sum += takes[j];
        return sum;
    }
};

class Evening {
  public:
    Evening(std::span<const Job> jobs, std::span<const JobArc> arcs, const Sequence& sequence,
            std::vector<Limit> limits, int branches)
        : jobs_(jobs), limits_(std::move(limits)), before_(jobs.size()), after_(jobs.size()), branches_(branches) {
        for (const JobArc& a : arcs) {
            before_[at(a.after)].push_back(a.before);
            after_[at(a.before)].push_back(a.after);
        }
        bounded_ = limits_;
        if (limits_.size() == 2) {  // both together, each in shares of its limit, less what rounding takes
            Limit sum{std::vector<long long>(jobs.size(), 0), 2 * shares};
            for (const Limit& l : limits_)
                for (std::size_t j = 0; j < jobs.size(); ++j)
                    sum.takes[j] += std::min(2 * shares + 1, shares * l.takes[j] / std::max(1LL, l.most));
            bounded_.push_back(std::move(sum));
        }
        best_.assign(jobs.size(), 0);
        Set first(jobs.size(), 0);
        for (int j : sequence.order)  // what the best order has done by then, and what fits behind it
            if (ready(first, j)) take_if_it_fits(first, j);
        offer(first);
    }

    Selection run(const Sequence& sequence) {
        const Set none(jobs_.size(), 0);
        std::optional<Found> root = bound(none, none);
        Selection chosen;
        branch(none, none);
        // cut short, only what holds before any branch is proved
        chosen.bound = branches_ > 0 || !root ? weight_ : std::max(root->bound, weight_);
        // What earns nothing and leads to nothing is not taken for the set's sake, but with the time that is left.
        Set kept(jobs_.size(), 0);
        for (std::size_t j = 0; j < jobs_.size(); ++j)
            if (best_[j] && jobs_[j].weight > 0) with_all_before(kept, static_cast<int>(j));
        const bool all_fit = fits(Set(jobs_.size(), 1));
        for (int j : sequence.order)
            if (!kept[at(j)] && ready(kept, j) && (all_fit || costs_nothing(j))) take_if_it_fits(kept, j);
        for (std::size_t j = 0; j < jobs_.size(); ++j)
            if (kept[j]) {
                chosen.jobs.push_back(static_cast<int>(j));
                chosen.weight += jobs_[j].weight;
            }
        return chosen;
    }

  private:
    struct Found {
        long long bound = 0;
        int split = -1;  // the job to branch on; -1: none is left
    };
    bool fits(const Set& in) const {
        return std::all_of(limits_.begin(), limits_.end(), [&](const Limit& l) { return l.of(in) <= l.most; });
    }
    bool ready(const Set& in, int j) const {
        return std::all_of(before_[at(j)].begin(), before_[at(j)].end(), [&](int i) { return in[at(i)] != 0; });
    }
    /// Short money is spent for what it brings alone; time that is left over is free.
    bool costs_nothing(int j) const { return limits_.size() < 2 || limits_[1].takes[at(j)] == 0; }
    void take_if_it_fits(Set& in, int j) const {
        in[at(j)] = 1;
        if (!fits(in)) in[at(j)] = 0;
    }
    long long weight_of(const Set& in) const {
        long long sum = 0;
        for (std::size_t j = 0; j < in.size(); ++j)
            if (in[j]) sum += jobs_[j].weight;
        return sum;
    }
    void offer(const Set& in) {
        const long long w = weight_of(in);
        if (w <= weight_ || !fits(in)) return;
        weight_ = w;
        best_ = in;
    }
    static void mark(Set& in, int j, const std::vector<std::vector<int>>& onward) {
        std::vector<int> front{j};
        in[at(j)] = 1;
        while (!front.empty()) {
            const int k = front.back();
            front.pop_back();
            for (int next : onward[at(k)])
                if (!in[at(next)]) {
                    in[at(next)] = 1;
                    front.push_back(next);
                }
        }
    }
    void with_all_before(Set& in, int j) const { mark(in, j, before_); }

    // The closed set around `in` and without `out` that is worth most when a unit of the limit costs up / down.
    Set worth_most(const Set& in, const Set& out, const Limit& limit, long long up, long long down) const {
        const int n = static_cast<int>(jobs_.size());
        MinCut cut(n + 2);
        for (int j = 0; j < n; ++j) {
            if (in[at(j)] || out[at(j)]) continue;
            const long long value = down * jobs_[at(j)].weight - up * limit.takes[at(j)];
            if (value > 0) cut.arc(n, j, value);
            if (value < 0) cut.arc(j, n + 1, -value);
            for (int i : before_[at(j)])
                if (!in[at(i)]) cut.arc(j, i, MinCut::endless);
        }
        cut.flow(n, n + 1);
        Set set = in;
        for (int j = 0; j < n; ++j)
            if (!in[at(j)] && !out[at(j)] && cut.reached(j)) set[at(j)] = 1;
        return set;
    }

    // The least that a price proves; nothing when the branch cannot be better than what is known. Between a set that
    // keeps the limit and one that passes it the price is where both are worth the same, until no other set is worth
    // more there.
    std::optional<Found> bound(const Set& in, const Set& out) {
        Found found;
        found.bound = std::numeric_limits<long long>::max();
        for (const Limit& limit : bounded_) {
            if (limit.of(in) > limit.most) return std::nullopt;
            Set low = in, high(jobs_.size(), 0);
            for (std::size_t j = 0; j < jobs_.size(); ++j) high[j] = out[j] ? 0 : 1;
            long long proved = weight_of(high);
            if (limit.of(high) <= limit.most) {
                offer(high);
                low = high;
            } else {
                for (int move = 0; move < price_moves; ++move) {
                    const long long up = weight_of(high) - weight_of(low), down = limit.of(high) - limit.of(low);
                    if (up <= 0) break;
                    const Set set = worth_most(in, out, limit, up, down);
                    const Wide at_price =
                        static_cast<Wide>(down) * weight_of(set) + static_cast<Wide>(up) * (limit.most - limit.of(set));
                    proved = std::min(proved, static_cast<long long>(at_price / down));
                    const Wide before =
                        static_cast<Wide>(down) * weight_of(low) + static_cast<Wide>(up) * (limit.most - limit.of(low));
                    if (at_price <= before) break;
                    (limit.of(set) <= limit.most ? low : high) = set;
                }
                offer(low);
            }
            if (proved < found.bound) {
                found.bound = proved;
                found.split = -1;
                for (std::size_t j = 0; j < jobs_.size(); ++j)
                    if (high[j] && !low[j] && !in[j] && !out[j] &&
                        (found.split < 0 || jobs_[j].weight > jobs_[at(found.split)].weight))
                        found.split = static_cast<int>(j);
            }
        }
        if (found.bound <= weight_) return std::nullopt;
        if (found.split < 0)
            for (std::size_t j = 0; j < jobs_.size() && found.split < 0; ++j)
                if (!in[j] && !out[j]) found.split = static_cast<int>(j);
        if (found.split < 0) return std::nullopt;
        return found;
    }

    void branch(const Set& in, const Set& out) {
        if (branches_ <= 0) return;
        --branches_;
        const std::optional<Found> found = bound(in, out);
        if (!found) return;
        Set more = in;
        with_all_before(more, found->split);
        branch(more, out);
        Set fewer = out;
        mark(fewer, found->split, after_);
        branch(in, fewer);
    }

    std::span<const Job> jobs_;
    std::vector<Limit> limits_, bounded_;
    std::vector<std::vector<int>> before_, after_;
    Set best_;
    long long weight_ = 0;
    int branches_;
};

}  // namespace

Selection best_within(std::span<const Job> jobs, std::span<const JobArc> arcs, const Sequence& sequence,
                      long long seconds, std::span<const double> cost, double budget, int branches) {
    std::vector<Limit> limits(1);
    for (const Job& j : jobs) limits[0].takes.push_back(j.seconds);
    limits[0].most = seconds;
    if (!cost.empty()) {
        Limit money;
        for (const double c : cost) money.takes.push_back(std::llround(100 * c));
        money.most = std::llround(std::floor(100 * budget + 1e-6));
        limits.push_back(std::move(money));
    }
    return Evening(jobs, arcs, sequence, std::move(limits), branches).run(sequence);
}

}  // namespace tubewright
