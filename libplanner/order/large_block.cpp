// SPDX-License-Identifier: MIT
// The contract stands in large_block.hpp.
#include "order/large_block.hpp"

#include <algorithm>
#include <cstddef>
#include <numeric>

#include "order/min_cut.hpp"

namespace tubewright {
namespace {

__extension__ typedef __int128 Wide;
constexpr std::size_t longest_run = 8;  // jobs moved together
constexpr int most_moves = 20000;       // each pays, so the end comes by itself long before

std::size_t at(int i) {
    return static_cast<std::size_t>(i);
}

class Block {
  public:
    Block(const std::vector<Job>& jobs, const Waits& before) : jobs_(jobs), before_(before), size_(jobs.size()) {}

    BlockOrder solve() const {
        BlockOrder best;
        std::vector<int> by_halves;
        best.bound = bound(by_halves);
        best.order = mended(by_ratio());
        best.cost = cost(best.order);
        const std::vector<int> other = mended(by_halves);
        if (const long long c = cost(other); c < best.cost) {
            best.order = other;
            best.cost = c;
        }
        return best;
    }

  private:
    bool waits(std::size_t j, std::size_t i) const { return before_[j][i] != 0; }
    bool waits(int j, int i) const { return waits(at(j), at(i)); }
    bool open(std::size_t i, std::size_t j) const { return i != j && !waits(i, j) && !waits(j, i); }
    const Job& job(int j) const { return jobs_[at(j)]; }

    long long cost(const std::vector<int>& order) const {
        long long clock = 0, sum = 0;
        for (int j : order) {
            clock += job(j).seconds;
            sum += clock * job(j).weight;
        }
        return sum;
    }

    // Again and again the job whose unfinished predecessors, with itself, have the best ratio; they go first.
    std::vector<int> by_ratio() const {
        std::vector<int> order, rank(size_);
        for (std::size_t j = 0; j < size_; ++j)
            rank[j] = static_cast<int>(std::count(before_[j].begin(), before_[j].end(), 1));
        std::vector<int> lawful(size_);
        std::iota(lawful.begin(), lawful.end(), 0);
        std::stable_sort(lawful.begin(), lawful.end(), [&](int a, int b) { return rank[at(a)] < rank[at(b)]; });
        std::vector<char> done(size_, 0);
        while (order.size() < size_) {
            int best = -1;
            long long best_w = 0, best_p = 0;
            for (std::size_t j = 0; j < size_; ++j) {
                if (done[j]) continue;
                long long w = jobs_[j].weight, p = jobs_[j].seconds;
                for (std::size_t i = 0; i < size_; ++i)
                    if (!done[i] && waits(j, i)) {
                        w += jobs_[i].weight;
                        p += jobs_[i].seconds;
                    }
                if (best < 0 || static_cast<Wide>(w) * best_p > static_cast<Wide>(best_w) * p) {
                    best = static_cast<int>(j);
                    best_w = w;
                    best_p = p;
                }
            }
            for (int i : lawful)
                if (!done[at(i)] && (i == best || waits(best, i))) {
                    done[at(i)] = 1;
                    order.push_back(i);
                }
        }
        return order;
    }

    // Runs of jobs moved to where they cost least, as long as one can be.
    std::vector<int> mended(std::vector<int> order) const {
        std::size_t quiet = 0, first = 0;
        for (int moves = 0; quiet < size_ && moves < most_moves; first = (first + 1) % size_) {
            bool moved = false;
            for (std::size_t run = 1; run <= longest_run && first + run <= size_ && !moved; ++run)
                moved = later(order, first, run) || earlier(order, first, run);
            quiet = moved ? 0 : quiet + 1;
            moves += moved ? 1 : 0;
        }
        return order;
    }
    Job sum(const std::vector<int>& order, std::size_t first, std::size_t run) const {
        Job all;
        for (std::size_t k = first; k < first + run; ++k) {
            all.seconds += job(order[k]).seconds;
            all.weight += job(order[k]).weight;
        }
        return all;
    }
    bool later(std::vector<int>& order, std::size_t first, std::size_t run) const {
        const Job all = sum(order, first, run);
        long long change = 0, best = 0;
        std::size_t to = 0;
        for (std::size_t k = first + run; k < size_; ++k) {
            const int passed = order[k];
            if (std::any_of(order.begin() + static_cast<long>(first), order.begin() + static_cast<long>(first + run),
                            [&](int j) { return waits(passed, j); }))
                break;
            change += all.weight * job(passed).seconds - all.seconds * job(passed).weight;
            if (change < best) {
                best = change;
                to = k + 1;
            }
        }
        if (to == 0) return false;
        std::rotate(order.begin() + static_cast<long>(first), order.begin() + static_cast<long>(first + run),
                    order.begin() + static_cast<long>(to));
        return true;
    }
    bool earlier(std::vector<int>& order, std::size_t first, std::size_t run) const {
        const Job all = sum(order, first, run);
        long long change = 0, best = 0;
        std::size_t to = size_;
        for (std::size_t k = first; k-- > 0;) {
            const int passed = order[k];
            if (std::any_of(order.begin() + static_cast<long>(first), order.begin() + static_cast<long>(first + run),
                            [&](int j) { return waits(j, passed); }))
                break;
            change += all.seconds * job(passed).weight - all.weight * job(passed).seconds;
            if (change < best) {
                best = change;
                to = k;
            }
        }
        if (to == size_) return false;
        std::rotate(order.begin() + static_cast<long>(to), order.begin() + static_cast<long>(first),
                    order.begin() + static_cast<long>(first + run));
        return true;
    }

    // Pairs decided by halves. A node is an ordered pair that precedence leaves open, marked when its first comes
    // first; by_halves: the jobs by the second at which they are done then.
    long long bound(std::vector<int>& by_halves) const {
        std::vector<std::vector<int>> node(size_, std::vector<int>(size_, -1));
        int nodes = 0;
        for (std::size_t i = 0; i < size_; ++i)
            for (std::size_t j = 0; j < size_; ++j)
                if (open(i, j)) node[i][j] = nodes++;
        const int source = nodes, sink = nodes + 1;
        MinCut cut(nodes + 2);
        long long twice = 0, gain = 0;  // twice the bound
        for (std::size_t i = 0; i < size_; ++i) {
            twice += 2 * jobs_[i].seconds * jobs_[i].weight;
            for (std::size_t j = 0; j < size_; ++j) {
                if (waits(j, i)) twice += 2 * jobs_[i].seconds * jobs_[j].weight;
                if (node[i][j] < 0) continue;
                const long long first = jobs_[i].seconds * jobs_[j].weight, second = jobs_[j].seconds * jobs_[i].weight;
                twice += first;  // and the other half with the pair the other way round
                if (first < second) {
                    gain += second - first;
                    cut.arc(source, node[i][j], second - first);
                } else if (first > second) {
                    cut.arc(node[i][j], sink, first - second);
                }
            }
        }
        for (std::size_t i = 0; i < size_; ++i)
            for (std::size_t j = 0; j < size_; ++j)
                if (waits(j, i) && !implied(i, j))
                    for (std::size_t k = 0; k < size_; ++k) {
                        if (node[k][i] >= 0 && node[k][j] >= 0) cut.arc(node[k][i], node[k][j], MinCut::endless);
                        if (node[j][k] >= 0 && node[i][k] >= 0) cut.arc(node[j][k], node[i][k], MinCut::endless);
                    }
        twice -= gain - cut.flow(source, sink);

        std::vector<long long> done(size_, 0);  // twice the second
        for (std::size_t j = 0; j < size_; ++j)
            for (std::size_t i = 0; i < size_; ++i) {
                if (waits(j, i)) done[j] += 2 * jobs_[i].seconds;
                if (node[i][j] >= 0)  // marked both ways or neither way: half each
                    done[j] +=
                        jobs_[i].seconds * (1 + (cut.reached(node[i][j]) ? 1 : 0) - (cut.reached(node[j][i]) ? 1 : 0));
                if (i == j) done[j] += 2 * jobs_[j].seconds;
            }
        by_halves.resize(size_);
        std::iota(by_halves.begin(), by_halves.end(), 0);
        std::vector<long> rank(size_);
        for (std::size_t j = 0; j < size_; ++j) rank[j] = std::count(before_[j].begin(), before_[j].end(), 1);
        std::stable_sort(by_halves.begin(), by_halves.end(), [&](int a, int b) {
            return done[at(a)] != done[at(b)] ? done[at(a)] < done[at(b)] : rank[at(a)] < rank[at(b)];
        });
        return (twice + 1) / 2;
    }
    bool implied(std::size_t i, std::size_t j) const {
        for (std::size_t k = 0; k < size_; ++k)
            if (waits(j, k) && waits(k, i)) return true;
        return false;
    }

    const std::vector<Job>& jobs_;
    const Waits& before_;
    std::size_t size_;
};

}  // namespace

BlockOrder order_of_block(const std::vector<Job>& jobs, const Waits& before) {
    return Block(jobs, before).solve();
}

}  // namespace tubewright
