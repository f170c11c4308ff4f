// SPDX-License-Identifier: MIT
// Sidney decomposition and exact search; the contract stands in sequence.hpp.
#include "order/sequence.hpp"

#include <algorithm>
#include <cstdint>
#include <limits>
#include <optional>
#include <queue>
#include <utility>

#include <tubewright/outcome.hpp>

#include "order/large_block.hpp"
#include "order/min_cut.hpp"

namespace tubewright {
namespace {

__extension__ typedef __int128 Wide;
__extension__ typedef unsigned __int128 Ideal;  // a set of up to 128 jobs
constexpr int ideal_bits = 128;
constexpr std::size_t at_once = 50;  // the part of the limit that is gone through before anything is tried
constexpr long long endless_cost = std::numeric_limits<long long>::max();

using Set = std::vector<int>;  // jobs, rising

// An order of a set that starts at second 0: its cost and a proved lower bound of the best cost.
struct Piece {
    std::vector<int> order;
    long long cost = 0;
    long long bound = 0;
};

class BitRows {
  public:
    explicit BitRows(std::size_t n) : words_((n + 63) / 64), bits_(n * words_, 0) {}
    bool get(int row, int column) const {
        return (word(row, static_cast<std::size_t>(column) / 64) >> (static_cast<std::size_t>(column) % 64)) & 1U;
    }
    void set(int row, int column) {
        bits_[static_cast<std::size_t>(row) * words_ + static_cast<std::size_t>(column) / 64] |=
            std::uint64_t{1} << (static_cast<std::size_t>(column) % 64);
    }
    /// The columns of a row that are set and that no row of them has.
    std::vector<int> nearest(int row) const {
        std::vector<int> columns;
        std::vector<std::uint64_t> further(words_, 0);
        for (std::size_t c = 0; c < words_ * 64; ++c)
            if (get(row, static_cast<int>(c)))
                for (std::size_t k = 0; k < words_; ++k) further[k] |= word(static_cast<int>(c), k);
        for (std::size_t c = 0; c < words_ * 64; ++c)
            if (get(row, static_cast<int>(c)) && !((further[c / 64] >> (c % 64)) & 1U))
                columns.push_back(static_cast<int>(c));
        return columns;
    }
    void merge(int row, int from) {
        for (std::size_t k = 0; k < words_; ++k) bits_[static_cast<std::size_t>(row) * words_ + k] |= word(from, k);
    }

  private:
    std::uint64_t word(int row, std::size_t k) const { return bits_[static_cast<std::size_t>(row) * words_ + k]; }
    std::size_t words_;
    std::vector<std::uint64_t> bits_;
};

class Solver {
  public:
    Solver(std::span<const Job> jobs, std::span<const JobArc> arcs, const SequenceLimits& limits)
        : jobs_(jobs), limits_(limits), before_(jobs.size()), direct_(jobs.size()), after_(jobs.size()) {
        for (const JobArc& a : arcs) {
            direct_[index(a.after)].push_back(a.before);
            after_[index(a.before)].push_back(a.after);
        }
        for (Set& s : direct_) tidy(s);
        for (Set& s : after_) tidy(s);
    }

    Sequence run() {
        Sequence s;
        s.cycle = close();
        if (!s.cycle.empty()) return s;
        Set all(jobs_.size());
        for (std::size_t j = 0; j < all.size(); ++j) all[j] = static_cast<int>(j);
        s.block.assign(jobs_.size(), 0);
        std::vector<Piece> pieces;
        std::vector<Set> blocks = sidney(all);
        for (std::size_t b = 0; b < blocks.size(); ++b) {
            for (int j : blocks[b]) s.block[index(j)] = static_cast<int>(b) + 1;
            pieces.push_back(inside(blocks[b]));
        }
        Piece whole = chain(pieces);
        s.order = std::move(whole.order);
        s.objective = whole.cost;
        s.lower_bound = whole.bound;
        s.optimal = s.objective == s.lower_bound;
        return s;
    }

    std::vector<int> topological() const { return topological_; }

  private:
    static std::size_t index(int j) { return static_cast<std::size_t>(j); }
    static void tidy(Set& s) {
        std::sort(s.begin(), s.end());
        s.erase(std::unique(s.begin(), s.end()), s.end());
    }
    const Job& job(int j) const { return jobs_[index(j)]; }
    long long seconds(const Set& s) const {
        long long sum = 0;
        for (int j : s) sum += job(j).seconds;
        return sum;
    }
    long long weight(const Set& s) const {
        long long sum = 0;
        for (int j : s) sum += job(j).weight;
        return sum;
    }

    // Topological order (lower index first) and transitive closure; the jobs of a cycle when there is one.
    std::vector<int> close() {
        std::vector<int> waiting(jobs_.size());
        std::priority_queue<int, std::vector<int>, std::greater<>> ready;
        for (std::size_t j = 0; j < jobs_.size(); ++j) {
            waiting[j] = static_cast<int>(direct_[j].size());
            if (waiting[j] == 0) ready.push(static_cast<int>(j));
        }
        while (!ready.empty()) {
            const int j = ready.top();
            ready.pop();
            topological_.push_back(j);
            for (int b : direct_[index(j)]) {
                before_.set(j, b);
                before_.merge(j, b);
            }
            for (int a : after_[index(j)])
                if (--waiting[index(a)] == 0) ready.push(a);
        }
        for (std::size_t j = 0; j < jobs_.size(); ++j) covers_.push_back(before_.nearest(static_cast<int>(j)));
        if (topological_.size() == jobs_.size()) return {};
        // Walk backwards among the jobs that never became ready until one comes round again.
        int at = 0;
        while (waiting[index(at)] == 0) ++at;
        std::vector<int> path;
        std::vector<int> seen(jobs_.size(), -1);
        while (seen[index(at)] < 0) {
            seen[index(at)] = static_cast<int>(path.size());
            path.push_back(at);
            for (int b : direct_[index(at)])
                if (waiting[index(b)] > 0) {
                    at = b;
                    break;
                }
        }
        std::vector<int> ring(path.begin() + seen[index(at)], path.end());
        std::reverse(ring.begin(), ring.end());
        std::rotate(ring.begin(), std::min_element(ring.begin(), ring.end()), ring.end());
        return ring;
    }

    // Pieces one after the other: what comes later waits for all seconds before it.
    Piece chain(const std::vector<Piece>& pieces) const {
        Piece whole;
        long long start = 0;
        for (const Piece& p : pieces) {
            long long w = 0, t = 0;
            for (int j : p.order) {
                w += job(j).weight;
                t += job(j).seconds;
            }
            whole.cost += p.cost + start * w;
            whole.bound += p.bound + start * w;
            whole.order.insert(whole.order.end(), p.order.begin(), p.order.end());
            start += t;
        }
        return whole;
    }

    // The finest Sidney decomposition of a set, in order of execution.
    std::vector<Set> sidney(const Set& s) const {
        if (s.size() <= 1) return s.empty() ? std::vector<Set>{} : std::vector<Set>{s};
        const long long w = weight(s), p = seconds(s);
        if (p == 0) {  // nothing delays anything
            std::vector<Set> singles;
            for (int j : topological_)
                if (std::binary_search(s.begin(), s.end(), j)) singles.push_back({j});
            return singles;
        }
        Cut cut = best_closure(s, w, p);
        if (!cut.above.empty()) {  // jobs that beat the mean ratio come before the others
            Set rest;
            std::set_difference(s.begin(), s.end(), cut.above.begin(), cut.above.end(), std::back_inserter(rest));
            std::vector<Set> blocks = sidney(cut.above);
            std::vector<Set> later = sidney(rest);
            blocks.insert(blocks.end(), std::make_move_iterator(later.begin()), std::make_move_iterator(later.end()));
            return blocks;
        }
        return cut.components;
    }

    struct Cut {
        Set above;                    // least closed set of the largest p(S) w(C) - w(S) p(C) when that is positive
        std::vector<Set> components;  // else: the set in its finest blocks of equal ratio, in order of execution
    };

    // Largest closure of the values p(S) w_j - w(S) p_j by a minimum cut.
    Cut best_closure(const Set& s, long long w, long long p) const {
        const int n = static_cast<int>(s.size()), source = n, sink = n + 1;
        MinCut least(n + 2);
        long long positive = 0;
        for (int k = 0; k < n; ++k) {
            const long long value = p * job(s[index(k)]).weight - w * job(s[index(k)]).seconds;
            if (value > 0) {
                positive += value;
                least.arc(source, k, value);
            } else if (value < 0) {
                least.arc(k, sink, -value);
            }
            // Only arcs that follow from no others: a set that is cut out has all that lies between its own.
            for (int i : covers_[index(s[index(k)])])
                if (const auto at = std::lower_bound(s.begin(), s.end(), i); at != s.end() && *at == i)
                    least.arc(k, static_cast<int>(at - s.begin()), MinCut::endless);
        }
        Cut cut;
        if (least.flow(source, sink) < positive) {
            for (int k = 0; k < n; ++k)
                if (least.reached(k)) cut.above.push_back(s[index(k)]);
        } else {
            cut.components = residual_blocks(s, least.onward());
        }
        return cut;
    }

    // Closed sets of value zero are the closed sets of the residual graph: its strong components, each after those that
    // it points to.
    std::vector<Set> residual_blocks(const Set& s, const std::vector<std::vector<int>>& next) const {
        const std::size_t n = s.size();
        std::vector<int> number(n, -1), low(n, 0), component(n, -1);
        std::vector<std::size_t> stack;
        int counter = 0, components = 0;
        struct Frame {
            std::size_t node, edge;
        };
        for (std::size_t root = 0; root < n; ++root) {
            if (number[root] >= 0) continue;
            std::vector<Frame> frames{{root, 0}};
            while (!frames.empty()) {
                Frame& f = frames.back();
                if (f.edge == 0) {
                    number[f.node] = low[f.node] = counter++;
                    stack.push_back(f.node);
                }
                if (f.edge < next[f.node].size()) {
                    const std::size_t to = index(next[f.node][f.edge++]);
                    if (to >= n) continue;
                    if (number[to] < 0)
                        frames.push_back({to, 0});
                    else if (component[to] < 0)
                        low[f.node] = std::min(low[f.node], number[to]);
                    continue;
                }
                f.edge = next[f.node].size() + 1;
                if (low[f.node] == number[f.node]) {
                    for (;;) {
                        const std::size_t member = stack.back();
                        stack.pop_back();
                        component[member] = components;
                        if (member == f.node) break;
                    }
                    ++components;
                }
                const std::size_t done = f.node;
                frames.pop_back();
                if (!frames.empty()) low[frames.back().node] = std::min(low[frames.back().node], low[done]);
            }
        }
        std::vector<Set> members(static_cast<std::size_t>(components));
        for (std::size_t k = 0; k < n; ++k) members[index(component[k])].push_back(s[k]);
        std::vector<Set> waits(members.size()), frees(members.size());
        for (std::size_t k = 0; k < n; ++k)
            for (int to : next[k])
                if (index(to) < n && component[index(to)] != component[k]) {
                    waits[index(component[k])].push_back(component[index(to)]);
                    frees[index(component[index(to)])].push_back(component[k]);
                }
        std::vector<std::size_t> missing(members.size());
        using Entry = std::pair<int, int>;  // least job, component
        std::priority_queue<Entry, std::vector<Entry>, std::greater<>> ready;
        for (std::size_t c = 0; c < members.size(); ++c) {
            tidy(waits[c]);
            tidy(frees[c]);
            missing[c] = waits[c].size();
            if (missing[c] == 0) ready.push({members[c].front(), static_cast<int>(c)});
        }
        std::vector<Set> blocks;
        while (!ready.empty()) {
            const std::size_t c = index(ready.top().second);
            ready.pop();
            blocks.push_back(members[c]);
            for (int f : frees[c])
                if (--missing[index(f)] == 0) ready.push({members[index(f)].front(), f});
        }
        return blocks;
    }

    // The best order of a block that Sidney cannot cut further.
    Piece inside(const Set& block) {
        if (block.size() == 1) {
            const long long cost = job(block[0]).weight * job(block[0]).seconds;
            return {{block[0]}, cost, cost};
        }
        const std::vector<Set> parts = series(block);
        if (parts.size() == 1) return search(block);
        std::vector<Piece> pieces;
        for (const Set& part : parts)
            for (const Set& b : sidney(part)) pieces.push_back(inside(b));
        return chain(pieces);
    }

    // Series parts: components of "neither comes before the other", in order.
    std::vector<Set> series(const Set& block) const {
        std::vector<int> root(block.size());
        for (std::size_t k = 0; k < root.size(); ++k) root[k] = static_cast<int>(k);
        const auto find = [&](std::size_t k) {
            while (root[k] != static_cast<int>(k)) k = index(root[k] = root[index(root[k])]);
            return k;
        };
        for (std::size_t i = 0; i < block.size(); ++i)
            for (std::size_t k = i + 1; k < block.size(); ++k)
                if (!before_.get(block[i], block[k]) && !before_.get(block[k], block[i])) {
                    const std::size_t a = find(i), b = find(k);
                    root[std::max(a, b)] = static_cast<int>(std::min(a, b));
                }
        std::vector<Set> parts;
        std::vector<int> part(block.size(), -1);
        for (std::size_t k = 0; k < block.size(); ++k) {
            const std::size_t r = find(k);
            if (part[r] < 0) {
                part[r] = static_cast<int>(parts.size());
                parts.emplace_back();
            }
            parts[index(part[r])].push_back(block[k]);
        }
        std::sort(parts.begin(), parts.end(),
                  [&](const Set& a, const Set& b) { return before_.get(b.front(), a.front()); });
        return parts;
    }

    // Few ideals are gone through at once; of a block with more, an order is made that is good and a bound that is
    // proved, and when they differ they spare the search what cannot be better.
    Piece search(const Set& block) const {
        const bool fits = block.size() <= static_cast<std::size_t>(ideal_bits);
        if (fits)
            if (std::optional<Piece> found = Ideals(*this, block).search(limits_.ideals / at_once, endless_cost))
                return *found;
        Piece piece = unsearched(block);
        if (!fits || piece.cost == piece.bound) return piece;
        if (std::optional<Piece> found = Ideals(*this, block).search(limits_.ideals, piece.cost)) return *found;
        return piece;
    }

    // Dynamic programming over ideals (sets closed under precedence), layer by layer.
    class Ideals {
      public:
        Ideals(const Solver& solver, const Set& block) : solver_(solver), block_(block), needs_(block.size(), 0) {
            for (std::size_t k = 0; k < size(); ++k) {
                for (std::size_t i = 0; i < size(); ++i)
                    if (solver.before_.get(block[k], block[i])) needs_[k] |= Ideal{1} << i;
                p_all_ += job(k).seconds;
                w_all_ += job(k).weight;
                smith_.push_back(k);
            }
            std::sort(smith_.begin(), smith_.end(), [&](std::size_t a, std::size_t b) {
                const Wide left = static_cast<Wide>(job(a).weight) * job(b).seconds;
                const Wide right = static_cast<Wide>(job(b).weight) * job(a).seconds;
                return left != right ? left > right : a < b;
            });
        }

        // The best order, or that none costs less than `known`, which is then the best; nothing when there are more
        // states than `most`.
        std::optional<Piece> search(std::size_t most, long long known) const {
            std::vector<std::vector<State>> layers(1);
            layers[0].push_back({});
            std::size_t held = 1;
            for (std::size_t depth = 0; depth < size(); ++depth) {
                std::vector<State> grown;
                for (std::size_t from = 0; from < layers[depth].size(); ++from) {
                    grow(layers[depth][from], static_cast<int>(from), known, grown);
                    if (held + grown.size() > 4 * most) return std::nullopt;
                }
                std::sort(grown.begin(), grown.end(), [](const State& a, const State& b) {
                    if (a.done != b.done) return a.done < b.done;
                    return a.cost != b.cost ? a.cost < b.cost : a.from < b.from;
                });
                grown.erase(std::unique(grown.begin(), grown.end(),
                                        [](const State& a, const State& b) { return a.done == b.done; }),
                            grown.end());
                held += grown.size();
                if (held > most || grown.empty()) return std::nullopt;
                layers.push_back(std::move(grown));
            }
            Piece piece;
            const State* s = &layers[size()].front();
            piece.cost = piece.bound = s->cost;
            for (std::size_t depth = size(); depth > 0; --depth) {
                piece.order.push_back(block_[index(s->last)]);
                s = &layers[depth - 1][index(s->from)];
            }
            std::reverse(piece.order.begin(), piece.order.end());
            return piece;
        }

      private:
        struct State {
            Ideal done = 0;
            long long cost = 0;
            int from = -1, last = -1;  // state in the layer before; job taken
        };
        std::size_t size() const { return block_.size(); }
        const Job& job(std::size_t k) const { return solver_.job(block_[k]); }

        // The states after one more job; of those that cannot end at `known` or below, none.
        void grow(const State& s, int from, long long known, std::vector<State>& grown) const {
            long long t = 0;
            for (std::size_t k = 0; k < size(); ++k)
                if ((s.done >> k) & 1U) t += job(k).seconds;
            for (std::size_t k = 0; k < size(); ++k) {
                if (((s.done >> k) & 1U) || (needs_[k] & ~s.done) != 0) continue;
                const State next{s.done | (Ideal{1} << k), s.cost + job(k).weight * (t + job(k).seconds), from,
                                 static_cast<int>(k)};
                if (known == endless_cost || bound(next) <= known) grown.push_back(next);
            }
        }

        // No order of the jobs that are left costs less: without precedence (Smith 1956); and the remaining weight
        // stays above the block's diagonal, since no closed part of the block has a better ratio than the block.
        long long bound(const State& s) const {
            long long t = 0, w = 0, self = 0, free = 0;
            for (std::size_t k = 0; k < size(); ++k)
                if ((s.done >> k) & 1U) {
                    t += job(k).seconds;
                    w += job(k).weight;
                } else {
                    self += job(k).weight * job(k).seconds;
                }
            long long clock = t;
            for (std::size_t k : smith_)
                if (!((s.done >> k) & 1U)) {
                    clock += job(k).seconds;
                    free += job(k).weight * clock;
                }
            const Wide left = p_all_ - t;
            const Wide area = (static_cast<Wide>(w_all_) * left * left + p_all_ - 1) / p_all_;
            const Wide diagonal = static_cast<Wide>(t) * (w_all_ - w) + (area + self + 1) / 2;
            return s.cost + std::max(free, static_cast<long long>(diagonal));
        }

        const Solver& solver_;
        const Set& block_;
        std::vector<Ideal> needs_;
        std::vector<std::size_t> smith_;
        long long p_all_ = 0, w_all_ = 0;
    };

    // What a block too large to search has for an order and a bound.
    Piece unsearched(const Set& block) const {
        std::vector<Job> jobs;
        Waits waits(block.size(), std::vector<char>(block.size(), 0));
        for (std::size_t j = 0; j < block.size(); ++j) {
            jobs.push_back(job(block[j]));
            for (std::size_t i = 0; i < block.size(); ++i) waits[j][i] = before_.get(block[j], block[i]) ? 1 : 0;
        }
        const BlockOrder found = order_of_block(jobs, waits);
        Piece piece;
        for (int k : found.order) piece.order.push_back(block[index(k)]);
        piece.cost = found.cost;
        piece.bound = found.bound;
        return piece;
    }

    std::span<const Job> jobs_;
    SequenceLimits limits_;
    BitRows before_;
    std::vector<Set> direct_, after_, covers_;
    std::vector<int> topological_;
};

}  // namespace

double Sequence::gap() const {
    if (objective == lower_bound) return 0;
    return static_cast<double>(objective - lower_bound) / static_cast<double>(std::max(lower_bound, 1LL));
}

Sequence best_sequence(std::span<const Job> jobs, std::span<const JobArc> arcs, const SequenceLimits& limits) {
    Wide p = 0, w = 0;
    for (const Job& j : jobs) {
        if (j.seconds < 0 || j.weight < 0) throw Error("a job with negative seconds or weight");
        p += j.seconds;
        w += j.weight;
    }
    if (p * w >= (Wide{1} << 61)) throw Error("seconds times weights of all jobs pass 2^61");
    for (const JobArc& a : arcs)
        if (a.before < 0 || a.after < 0 || static_cast<std::size_t>(a.before) >= jobs.size() ||
            static_cast<std::size_t>(a.after) >= jobs.size())
            throw Error("an arc names a job that is not there");
    return Solver(jobs, arcs, limits).run();
}

namespace {

// Always one of the jobs that nothing holds back: the one that `sooner` puts before all others.
template <class Sooner>
std::vector<int> ready_first(std::span<const Job> jobs, std::span<const JobArc> arcs, const Sooner& sooner) {
    std::vector<int> waiting(jobs.size(), 0), order;
    std::vector<std::vector<int>> frees(jobs.size());
    for (const JobArc& a : arcs) {
        ++waiting[static_cast<std::size_t>(a.after)];
        frees[static_cast<std::size_t>(a.before)].push_back(a.after);
    }
    std::vector<int> ready;
    for (std::size_t j = 0; j < jobs.size(); ++j)
        if (waiting[j] == 0) ready.push_back(static_cast<int>(j));
    while (!ready.empty()) {
        const auto next = std::min_element(ready.begin(), ready.end(), sooner);
        const int j = *next;
        ready.erase(next);
        order.push_back(j);
        for (int f : frees[static_cast<std::size_t>(j)])
            if (--waiting[static_cast<std::size_t>(f)] == 0) ready.push_back(f);
    }
    return order;
}

}  // namespace

std::vector<int> list_order(std::span<const Job> jobs, std::span<const JobArc> arcs) {
    return ready_first(jobs, arcs, [](int a, int b) { return a < b; });
}

std::vector<int> greedy_order(std::span<const Job> jobs, std::span<const JobArc> arcs) {
    return ready_first(jobs, arcs, [&](int a, int b) {
        const Job &x = jobs[static_cast<std::size_t>(a)], &y = jobs[static_cast<std::size_t>(b)];
        const Wide left = static_cast<Wide>(x.weight) * y.seconds, right = static_cast<Wide>(y.weight) * x.seconds;
        return left != right ? left > right : a < b;
    });
}

}  // namespace tubewright
