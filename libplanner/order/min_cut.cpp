// SPDX-License-Identifier: MIT
// The contract stands in min_cut.hpp. The graph is laid out by rows of equal source, in one piece: there are many arcs.
#include "order/min_cut.hpp"

#include <cstddef>
#include <numeric>
#include <utility>

// g++ 12 follows an optional iterator inside Boost.Graph and takes it for uninitialised.
#if defined(__GNUC__) && !defined(__clang__)
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wmaybe-uninitialized"
#endif
#include <boost/graph/boykov_kolmogorov_max_flow.hpp>
#include <boost/graph/compressed_sparse_row_graph.hpp>
#if defined(__GNUC__) && !defined(__clang__)
#pragma GCC diagnostic pop
#endif

namespace tubewright {
namespace {

std::size_t at(int i) {
    return static_cast<std::size_t>(i);
}

}  // namespace

long long MinCut::flow(int source, int sink) {
    using Graph = boost::compressed_sparse_row_graph<boost::directedS, boost::no_property, boost::no_property,
                                                     boost::no_property, int, int>;
    using Edge = boost::graph_traits<Graph>::edge_descriptor;
    const std::size_t n = at(nodes_), m = 2 * arcs_.size();
    std::vector<std::size_t> next(n + 1, 0);
    for (const Arc& a : arcs_) {
        ++next[at(a.from) + 1];
        ++next[at(a.to) + 1];
    }
    std::partial_sum(next.begin(), next.end(), next.begin());
    const std::vector<std::size_t> first = next;
    std::vector<std::pair<int, int>> ends(m);
    std::vector<long long> room(m, 0), left(m, 0);
    std::vector<std::size_t> back(m);
    for (const Arc& a : arcs_) {
        const std::size_t forth = next[at(a.from)]++, home = next[at(a.to)]++;
        ends[forth] = {a.from, a.to};
        ends[home] = {a.to, a.from};
        room[forth] = a.room;
        back[forth] = home;
        back[home] = forth;
    }
    const Graph graph(boost::edges_are_sorted, ends.begin(), ends.end(), nodes_);
    std::vector<Edge> edge;
    edge.reserve(m);
    for (auto [e, end] = boost::edges(graph); e != end; ++e) edge.push_back(*e);
    std::vector<Edge> reverse(m), parent(n);
    for (std::size_t k = 0; k < m; ++k) reverse[k] = edge[back[k]];
    std::vector<boost::default_color_type> colour(n);
    std::vector<int> distance(n);
    const auto of_edge = boost::get(boost::edge_index, graph);
    const auto of_node = boost::get(boost::vertex_index, graph);
    const long long most = boost::boykov_kolmogorov_max_flow(
        graph, boost::make_iterator_property_map(room.begin(), of_edge),
        boost::make_iterator_property_map(left.begin(), of_edge),
        boost::make_iterator_property_map(reverse.begin(), of_edge),
        boost::make_iterator_property_map(parent.begin(), of_node),
        boost::make_iterator_property_map(colour.begin(), of_node),
        boost::make_iterator_property_map(distance.begin(), of_node), of_node, source, sink);
    left_.clear();
    for (std::size_t k = 0; k < m; ++k)
        if (left[k] > 0) left_.push_back({ends[k].first, ends[k].second, left[k]});
    reached_.assign(n, 0);
    reached_[at(source)] = 1;
    std::vector<int> front{source};
    while (!front.empty()) {
        const int from = front.back();
        front.pop_back();
        for (std::size_t k = first[at(from)]; k < first[at(from) + 1]; ++k) {
            if (left[k] <= 0 || reached_[at(ends[k].second)]) continue;
            reached_[at(ends[k].second)] = 1;
            front.push_back(ends[k].second);
        }
    }
    return most;
}

std::vector<std::vector<int>> MinCut::onward() const {
    std::vector<std::vector<int>> to(at(nodes_));
    for (const Arc& a : left_) to[at(a.from)].push_back(a.to);
    return to;
}

}  // namespace tubewright
