// SPDX-License-Identifier: MIT
// Sidney decomposition and exact search; the contract stands in sequence.hpp.
#include "order/sequence.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cstdint>
#include <limits>
#include <queue>
#include <utility>

// g++ 12 follows an optional iterator inside Boost.Graph and takes it for uninitialised.
#if defined(__GNUC__) && !defined(__clang__)
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wmaybe-uninitialized"
#endif
#include <boost/graph/adjacency_list.hpp>
#include <boost/graph/boykov_kolmogorov_max_flow.hpp>
#if defined(__GNUC__) && !defined(__clang__)
#pragma GCC diagnostic pop
#endif

#include <tubewright/outcome.hpp>

namespace tubewright {
namespace {

__extension__ typedef __int128 Wide;
__extension__ typedef unsigned __int128 Ideal;  // a set of up to 128 jobs
constexpr int ideal_bits = 128;

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
        using Traits = boost::adjacency_list_traits<boost::vecS, boost::vecS, boost::directedS>;
        using Graph = boost::adjacency_list<
            boost::vecS, boost::vecS, boost::directedS,
            boost::property<boost::vertex_color_t, boost::default_color_type,
                            boost::property<boost::vertex_distance_t, long,
                                            boost::property<boost::vertex_predecessor_t, Traits::edge_descriptor>>>,
            boost::property<boost::edge_capacity_t, long long,
                            boost::property<boost::edge_residual_capacity_t, long long,
                                            boost::property<boost::edge_reverse_t, Traits::edge_descriptor>>>>;
        const std::size_t n = s.size();
        Graph g(n + 2);
        auto capacity = boost::get(boost::edge_capacity, g);
        auto reverse = boost::get(boost::edge_reverse, g);
        auto residual = boost::get(boost::edge_residual_capacity, g);
        const std::size_t source = n, sink = n + 1;
        const auto edge = [&](std::size_t from, std::size_t to, long long c) {
            const auto forth = boost::add_edge(from, to, g).first;
            const auto back = boost::add_edge(to, from, g).first;
            capacity[forth] = c;
            capacity[back] = 0;
            reverse[forth] = back;
            reverse[back] = forth;
        };
        constexpr long long endless = std::numeric_limits<long long>::max() / 2;
        long long positive = 0;
        for (std::size_t k = 0; k < n; ++k) {
            const long long value = p * job(s[k]).weight - w * job(s[k]).seconds;
            if (value > 0) {
                positive += value;
                edge(source, k, value);
            } else if (value < 0) {
                edge(k, sink, -value);
            }
            // Only arcs that are not implied by others inside the set.
            for (std::size_t i = 0; i < n; ++i)
                if (before_.get(s[k], s[i]) && !implied(s, i, k)) edge(k, i, endless);
        }
        const long long flow = boost::boykov_kolmogorov_max_flow(g, source, sink);

        std::vector<std::vector<std::size_t>> next(n + 2);
        for (auto [e, end] = boost::edges(g); e != end; ++e)
            if (residual[*e] > 0) next[boost::source(*e, g)].push_back(boost::target(*e, g));
        Cut cut;
        if (flow < positive) {
            std::vector<char> reached(n + 2, 0);
            std::vector<std::size_t> stack{source};
            reached[source] = 1;
            while (!stack.empty()) {
                const std::size_t at = stack.back();
                stack.pop_back();
                for (std::size_t to : next[at])
                    if (!reached[to]) {
                        reached[to] = 1;
                        stack.push_back(to);
                    }
            }
            for (std::size_t k = 0; k < n; ++k)
                if (reached[k]) cut.above.push_back(s[k]);
        } else {
            cut.components = residual_blocks(s, next);
        }
        return cut;
    }

    // Whether the arc from s[i] to s[k] follows from two others inside the set.
    bool implied(const Set& s, std::size_t i, std::size_t k) const {
        for (int m : s)
            if (before_.get(s[k], m) && before_.get(m, s[i])) return true;
        return false;
    }

    // Closed sets of value zero are the closed sets of the residual graph: its strong components, each after those that
    // it points to.
    std::vector<Set> residual_blocks(const Set& s, const std::vector<std::vector<std::size_t>>& next) const {
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
                    const std::size_t to = next[f.node][f.edge++];
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
            for (std::size_t to : next[k])
                if (to < n && component[to] != component[k]) {
                    waits[index(component[k])].push_back(component[to]);
                    frees[index(component[to])].push_back(component[k]);
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

    // Dynamic programming over ideals (sets closed under precedence), layer by layer. Once there are more than the
    // limit, each layer keeps its most promising states only, and the least bound of what was dropped is all that is
    // proved.
    Piece search(const Set& block) const {
        const std::size_t m = block.size();
        if (m > static_cast<std::size_t>(ideal_bits)) return by_ratio(block);
        std::vector<Ideal> needs(m, 0);
        for (std::size_t k = 0; k < m; ++k)
            for (std::size_t i = 0; i < m; ++i)
                if (before_.get(block[k], block[i])) needs[k] |= Ideal{1} << i;
        const long long p_all = seconds(block), w_all = weight(block);
        std::vector<std::size_t> smith(m);
        for (std::size_t k = 0; k < m; ++k) smith[k] = k;
        std::sort(smith.begin(), smith.end(), [&](std::size_t a, std::size_t b) {
            const Wide left = static_cast<Wide>(job(block[a]).weight) * job(block[b]).seconds;
            const Wide right = static_cast<Wide>(job(block[b]).weight) * job(block[a]).seconds;
            return left != right ? left > right : a < b;
        });
        struct State {
            Ideal done = 0;
            long long cost = 0, bound = 0;
            int from = -1, last = -1;  // state in the layer before; job taken
        };
        // No order of the jobs that are left costs less: without precedence (Smith 1956); and the remaining weight
        // stays above the block's diagonal, since no closed part of the block has a better ratio than the block.
        const auto bound_of = [&](Ideal done, long long cost) {
            long long t = 0, w = 0, self = 0, free = 0;
            for (std::size_t k = 0; k < m; ++k)
                if ((done >> k) & 1U) {
                    t += job(block[k]).seconds;
                    w += job(block[k]).weight;
                } else {
                    self += job(block[k]).weight * job(block[k]).seconds;
                }
            long long clock = t;
            for (std::size_t k : smith)
                if (!((done >> k) & 1U)) {
                    clock += job(block[k]).seconds;
                    free += job(block[k]).weight * clock;
                }
            const Wide left = p_all - t;
            const Wide area = (static_cast<Wide>(w_all) * left * left + p_all - 1) / p_all;
            const Wide diagonal = static_cast<Wide>(t) * (w_all - w) + (area + self + 1) / 2;
            return cost + std::max(free, static_cast<long long>(diagonal));
        };
        std::vector<std::vector<State>> layers(1);
        layers[0].push_back({});
        std::size_t held = 1;
        bool pruned = false;
        long long dropped = std::numeric_limits<long long>::max();
        for (std::size_t depth = 0; depth < m; ++depth) {
            std::vector<State> grown;
            for (std::size_t at = 0; at < layers[depth].size(); ++at) {
                const State& s = layers[depth][at];
                long long t = 0;
                for (std::size_t k = 0; k < m; ++k)
                    if ((s.done >> k) & 1U) t += job(block[k]).seconds;
                for (std::size_t k = 0; k < m; ++k) {
                    if (((s.done >> k) & 1U) || (needs[k] & ~s.done) != 0) continue;
                    grown.push_back({s.done | (Ideal{1} << k),
                                     s.cost + job(block[k]).weight * (t + job(block[k]).seconds), 0,
                                     static_cast<int>(at), static_cast<int>(k)});
                }
            }
            std::sort(grown.begin(), grown.end(), [](const State& a, const State& b) {
                if (a.done != b.done) return a.done < b.done;
                return a.cost != b.cost ? a.cost < b.cost : a.from < b.from;
            });
            grown.erase(std::unique(grown.begin(), grown.end(),
                                    [](const State& a, const State& b) { return a.done == b.done; }),
                        grown.end());
            if (!pruned && held + grown.size() > limits_.ideals) pruned = true;
            if (pruned && grown.size() > limits_.width) {
                for (State& s : grown) s.bound = bound_of(s.done, s.cost);
                std::sort(grown.begin(), grown.end(), [](const State& a, const State& b) {
                    return a.bound != b.bound ? a.bound < b.bound : a.done < b.done;
                });
                dropped = std::min(dropped, grown[limits_.width].bound);
                grown.resize(limits_.width);
            }
            held += grown.size();
            layers.push_back(std::move(grown));
        }
        Piece piece;
        const State* s = &layers[m].front();
        piece.cost = s->cost;
        piece.bound = std::max(std::min(piece.cost, dropped), bound_of(0, 0));
        for (std::size_t depth = m; depth > 0; --depth) {
            piece.order.push_back(block[index(s->last)]);
            s = &layers[depth - 1][index(s->from)];
        }
        std::reverse(piece.order.begin(), piece.order.end());
        return piece;
    }

    // A block too large to search: take the job whose unfinished closure has the best ratio; the bound is the block's
    // diagonal.
    Piece by_ratio(const Set& block) const {
        Piece piece;
        std::vector<char> done(jobs_.size(), 0);
        long long clock = 0, self = 0;
        while (piece.order.size() < block.size()) {
            long long best_w = -1, best_p = 1;
            int best = -1;
            for (int j : block) {
                if (done[index(j)]) continue;
                long long w = job(j).weight, p = job(j).seconds;
                for (int i : block)
                    if (!done[index(i)] && before_.get(j, i)) {
                        w += job(i).weight;
                        p += job(i).seconds;
                    }
                if (best < 0 || static_cast<Wide>(w) * best_p > static_cast<Wide>(best_w) * p) {
                    best = j;
                    best_w = w;
                    best_p = p;
                }
            }
            for (int i : topological_)
                if (!done[index(i)] && std::binary_search(block.begin(), block.end(), i) &&
                    (i == best || before_.get(best, i))) {
                    done[index(i)] = 1;
                    clock += job(i).seconds;
                    piece.cost += job(i).weight * clock;
                    self += job(i).weight * job(i).seconds;
                    piece.order.push_back(i);
                }
        }
        const Wide square = static_cast<Wide>(weight(block)) * seconds(block);
        piece.bound = static_cast<long long>((square + self + 1) / 2);
        return piece;
    }

    std::span<const Job> jobs_;
    SequenceLimits limits_;
    BitRows before_;
    std::vector<Set> direct_, after_;
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

Selection best_within(std::span<const Job> jobs, std::span<const JobArc> arcs, const Sequence& sequence,
                      long long seconds, std::span<const double> cost, double budget) {
    const std::size_t n = jobs.size();
    std::vector<std::vector<int>> direct(n);
    for (const JobArc& a : arcs) direct[static_cast<std::size_t>(a.after)].push_back(a.before);
    const auto cost_of = [&](int j) { return cost.empty() ? 0.0 : cost[static_cast<std::size_t>(j)]; };

    // Prefix: what the best order has done by then.
    Selection prefix;
    long long t = 0;
    double spent = 0;
    for (int j : sequence.order) {
        t += jobs[static_cast<std::size_t>(j)].seconds;
        spent += cost_of(j);
        if (t > seconds || (!cost.empty() && spent > budget)) break;
        prefix.jobs.push_back(j);
        prefix.weight += jobs[static_cast<std::size_t>(j)].weight;
    }
    // Greedy: again and again the job whose unfinished closure fits and brings most weight a second.
    Selection greedy;
    std::vector<char> taken(n, 0);
    t = 0;
    spent = 0;
    for (;;) {
        std::vector<int> best;
        long long best_w = 0, best_p = 1;
        for (std::size_t j = 0; j < n; ++j) {
            if (taken[j]) continue;
            std::vector<int> closure{static_cast<int>(j)};
            std::vector<char> in(n, 0);
            in[j] = 1;
            for (std::size_t k = 0; k < closure.size(); ++k)
                for (int b : direct[static_cast<std::size_t>(closure[k])])
                    if (!taken[static_cast<std::size_t>(b)] && !in[static_cast<std::size_t>(b)]) {
                        in[static_cast<std::size_t>(b)] = 1;
                        closure.push_back(b);
                    }
            long long w = 0, p = 0;
            double c = 0;
            for (int k : closure) {
                w += jobs[static_cast<std::size_t>(k)].weight;
                p += jobs[static_cast<std::size_t>(k)].seconds;
                c += cost_of(k);
            }
            if (w == 0 || t + p > seconds || (!cost.empty() && spent + c > budget)) continue;
            if (best.empty() || static_cast<Wide>(w) * best_p > static_cast<Wide>(best_w) * p) {
                best = closure;
                best_w = w;
                best_p = p;
            }
        }
        if (best.empty()) break;
        for (int k : best) {
            taken[static_cast<std::size_t>(k)] = 1;
            t += jobs[static_cast<std::size_t>(k)].seconds;
            spent += cost_of(k);
            greedy.jobs.push_back(k);
            greedy.weight += jobs[static_cast<std::size_t>(k)].weight;
        }
    }
    Selection chosen = greedy.weight > prefix.weight ? greedy : prefix;
    std::sort(chosen.jobs.begin(), chosen.jobs.end());
    // No closed set lies above the broken line through the Sidney blocks.
    long long left = seconds;
    int blocks = 0;
    for (int b : sequence.block) blocks = std::max(blocks, b);
    for (int b = 1; b <= blocks; ++b) {
        long long w = 0, p = 0;
        for (std::size_t j = 0; j < n; ++j)
            if (sequence.block[j] == b) {
                w += jobs[j].weight;
                p += jobs[j].seconds;
            }
        if (p <= left) {
            chosen.bound += w;
            left -= p;
        } else {
            chosen.bound += static_cast<long long>(static_cast<Wide>(w) * left / p);
            break;
        }
    }
    return chosen;
}

}  // namespace tubewright
