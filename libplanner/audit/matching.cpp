// SPDX-License-Identifier: MIT
#include "audit/matching.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <map>
#include <optional>
#include <set>
#include <string_view>
#include <tuple>

namespace tubewright::audit {
namespace {

using Hash = std::uint64_t;

constexpr int depths = 6;                    ///< of refinement: further than any stage reaches
constexpr double most_work = 3e6;            ///< ports looked at while colouring, before ties are left as they fall
constexpr std::size_t most_pairs = 1000000;  ///< of items without a mate that are weighed against each other
constexpr int most_passes = 100;             ///< over what could be turned
constexpr double least_doubt = 1.2;          ///< price of a pair that a colour alone does not vouch for
constexpr double pin_weight = 0.75;          ///< a miscounted pin is likelier than a part that hangs elsewhere
constexpr double wire_weight = 0.25;
constexpr double node_weight = 0.5;

std::size_t at(int index) {
    return static_cast<std::size_t>(index);
}

Hash mixed(Hash a, Hash b) {
    Hash x = a ^ (b + 0x9E3779B97F4A7C15ULL + (a << 6) + (a >> 2));
    x = (x ^ (x >> 30)) * 0xBF58476D1CE4E5B9ULL;
    x = (x ^ (x >> 27)) * 0x94D049BB133111EBULL;
    return x ^ (x >> 31);
}
Hash hashed(std::string_view text) {
    Hash h = 0xCBF29CE484222325ULL;
    for (const char c : text) h = (h ^ static_cast<unsigned char>(c)) * 0x100000001B3ULL;
    return mixed(h, text.size());
}
Hash hashed(const std::optional<double>& value) {
    return value ? mixed(3, std::bit_cast<Hash>(*value)) : 1;
}

/// The end called first may be the other one, at a price or without.
bool two_ended(const Part& part) {
    switch (part.kind) {
        case PartKind::capacitor:
        case PartKind::resistor:
        case PartKind::coil:
        case PartKind::lamp:
        case PartKind::fuse:
        case PartKind::power_switch:
        case PartKind::speaker:
        case PartKind::wire:
        case PartKind::cord:
        case PartKind::battery:
        case PartKind::rectifier:
            return part.leads.size() == 2;
        default:
            return false;
    }
}
bool has_polarity(const Part& part) {
    return part.polarised || part.kind == PartKind::battery || part.kind == PartKind::rectifier;
}

int pin_number(const Lead& lead) {
    return lead.name.size() == 1 && lead.name[0] >= '1' && lead.name[0] <= '9' ? lead.name[0] - '0' : 0;
}
int numbered_pins(const Part& part) {
    int pins = 0;
    if (part.kind == PartKind::socket)
        for (const Lead& lead : part.leads) pins = std::max(pins, pin_number(lead));
    return pins;
}
bool other_base(const Part& x, const Part& y) {
    return x.type != nullptr && y.type != nullptr && x.type->base != y.type->base;
}

}  // namespace

Graph::Graph(const Chassis& chassis) : set(chassis), on(chassis.nets().size()) {
    for (std::size_t p = 0; p < set.parts().size(); ++p) {
        const Part& part = set.parts()[p];
        item_of_part.push_back(part.kind == PartKind::strip ? -1 : static_cast<int>(items.size()));
        if (part.kind == PartKind::strip) continue;
        Item item;
        item.part = static_cast<int>(p);
        item.is = mixed(mixed(static_cast<Hash>(part.kind), part.polarised ? 3 : 5), part.leads.size());
        for (const Text* word : {&part.role, &part.tube, &part.construction, &part.lamp_type})
            item.is = mixed(item.is, hashed(word->str()));
        for (const auto& value : {part.ohms, part.farads, part.henries, part.kilohertz, part.rated_volts,
                                  part.rated_watts, part.rated_amps, part.rated_va})
            item.is = mixed(item.is, hashed(value));
        // of two leads the first and the second, whatever their names: film may stand where an electrolytic was
        for (std::size_t l = 0; part.windings.empty() && l < part.leads.size(); ++l)
            item.ports.push_back(
                {static_cast<int>(l), part.leads[l].net, two_ended(part) ? l + 1 : hashed(part.leads[l].name)});
        item.turns = two_ended(part) && !has_polarity(part);
        if (part.kind == PartKind::coil && item.ports.size() == 3 && part.leads[2].name == "tap") {
            std::swap(item.ports[1], item.ports[2]);
            item.turns = true;
        }
        item.leads = static_cast<int>(item.ports.size());
        if (part.kind == PartKind::socket || part.kind == PartKind::plug) item.weight = pin_weight;
        const int body = static_cast<int>(on.size());
        if (!part.windings.empty()) {
            on.emplace_back();
            item.ports.push_back({-1, body, 0});
        }
        items.push_back(item);
        if (joins(static_cast<int>(items.size()) - 1)) items.back().weight = wire_weight;
        for (std::size_t w = 0; w < part.windings.size(); ++w) {
            const PartWinding& winding = part.windings[w];
            Item one;
            one.part = static_cast<int>(p);
            one.winding = static_cast<int>(w);
            for (std::size_t l = 0; l < winding.leads.size(); ++l)
                one.ports.push_back({winding.leads[l], part.leads[at(winding.leads[l])].net, l + 1});
            one.leads = static_cast<int>(one.ports.size());
            one.ports.push_back({-1, body, 0});
            // which end of a supply winding is the first says nothing; of a coupled one it is the phase
            one.turns = winding.role == WindingRole::primary || winding.role == WindingRole::plate ||
                        winding.role == WindingRole::rectifier_heater || winding.role == WindingRole::heater;
            one.is = mixed(mixed(100, static_cast<Hash>(winding.role)), winding.leads.size());
            one.is = mixed(mixed(one.is, hashed(winding.volts)), hashed(winding.impedance_ohms));
            one.is = mixed(mixed(one.is, hashed(winding.henries)), hashed(winding.coupling));
            Hash figures = hashed(winding.amps);
            for (const double x : winding.noload_volts) figures += mixed(11, hashed(x));
            for (const double x : winding.ohms) figures += mixed(13, hashed(x));
            for (const double x : winding.tap_ohms) figures += mixed(17, hashed(x));
            one.is = mixed(one.is, figures);
            items.push_back(std::move(one));
        }
    }
    for (std::size_t i = 0; i < items.size(); ++i)
        for (std::size_t k = 0; k < items[i].ports.size(); ++k)
            if (const int net = items[i].ports[k].net; net >= 0)
                on[at(net)].emplace_back(static_cast<int>(i), static_cast<int>(k));
}

const PartWinding* Graph::winding(int item) const {
    return of(item).winding < 0 ? nullptr : &part(item).windings[at(of(item).winding)];
}

bool Graph::joins(int item) const {
    const Part& one = part(item);
    return (one.kind == PartKind::wire || one.kind == PartKind::cord) && !one.ohms;
}

bool Matching::agree(int here, int there) const {
    if (here < 0 || there < 0) return false;
    return side[0].net_mate[at(here)] == there || side[0].part_of[at(here)] == there ||
           side[1].part_of[at(there)] == here;
}

std::vector<std::pair<int, int>> laid(const Graph& here, int p, const Graph& there, int q, Way way) {
    const Item &one = here.of(p), &other = there.of(q);
    const Part &x = here.part(p), &y = there.part(q);
    std::vector<std::pair<int, int>> list;
    const int n = one.leads, m = other.leads;
    const bool by_electrode = other_base(x, y);
    const int pins = way == Way::mirrored ? numbered_pins(x) + 1 : 0;
    std::set<int> taken;
    for (int i = 0; i < n; ++i) {
        if (one.winding >= 0 || way == Way::turned) {
            if (i < m) list.emplace_back(i, way == Way::turned ? m - 1 - i : i);
            continue;
        }
        const Pin* pin = by_electrode ? x.type->pin(x.leads[at(i)].name) : nullptr;
        for (int j = 0; j < m; ++j) {
            bool like = one.ports[at(i)].name == other.ports[at(j)].name;
            if (by_electrode) {
                const Pin* with = y.type->pin(y.leads[at(j)].name);
                like = pin != nullptr && with != nullptr && with->electrodes == pin->electrodes;
            } else if (const int number = pins > 0 ? pin_number(x.leads[at(i)]) : 0; number > 0) {
                like = pin_number(y.leads[at(j)]) == pins - number;
            }
            if (!like || !taken.insert(j).second) continue;
            list.emplace_back(i, j);
            break;
        }
    }
    if (one.ports.size() > at(n) && other.ports.size() > at(m)) list.emplace_back(n, m);
    return list;
}

bool is_turned(const Graph& here, int p, const Graph& there, int q, Way way) {
    if (way == Way::turned) return !here.of(p).turns && !there.of(q).turns;
    return way == Way::mirrored;
}

namespace {

class Search {
  public:
    Search(const Graph& here, const Graph& there) : graph_{&here, &there} {
        for (const int s : {0, 1}) {
            Matching::Side& side = found_.side[at(s)];
            side.mate.assign(g(s).items.size(), -1);
            side.way.assign(g(s).items.size(), Way::straight);
            side.net_mate.assign(g(s).on.size(), -1);
            side.part_of.assign(g(s).on.size(), -1);
        }
    }

    Matching found() {
        double ports = 1;
        for (const int s : {0, 1})
            for (const Item& item : g(s).items) ports += static_cast<double>(item.ports.size() + 1);
        int rounds = 12 + static_cast<int>(most_work / ports);
        do settle_nets();
        while (--rounds > 0 && (pair_like_colours() || pair_best()));
        part_strangers();
        // of a set too large to see through, what has one id
        for (const int p : left(0))
            if (const int with = g(1).set.part(g(0).part(p).id); rounds <= 0 && with >= 0)
                if (const int q = g(1).item_of_part[at(with)];
                    g(0).of(p).winding < 0 && q >= 0 && found_.side[1].mate[at(q)] < 0 && kin(p, q))
                    pair(p, q);
        settle_nets();
        return found_;
    }

  private:
    using Pairs = std::vector<std::pair<int, int>>;
    const Graph& g(int side) const { return *graph_[at(side)]; }
    int count(int side) const { return static_cast<int>(g(side).items.size()); }
    int mate(int p) const { return found_.side[0].mate[at(p)]; }
    std::vector<int> left(int side) const {
        std::vector<int> list;
        for (int i = 0; i < count(side); ++i)
            if (found_.side[at(side)].mate[at(i)] < 0) list.push_back(i);
        return list;
    }

    void pair(int p, int q) {
        found_.side[0].mate[at(p)] = q;
        found_.side[1].mate[at(q)] = p;
        set_way(p, best_way(p, q));
    }
    void set_way(int p, Way way) {
        found_.side[0].way[at(p)] = way;
        found_.side[1].way[at(mate(p))] = way;
    }
    bool kin(int p, int q) const {
        if (g(0).part(p).kind != g(1).part(q).kind || (g(0).of(p).winding < 0) != (g(1).of(q).winding < 0))
            return false;
        if (g(0).of(p).winding < 0) return true;
        const int body = mate(g(0).item_of_part[at(g(0).of(p).part)]);
        return body == g(1).item_of_part[at(g(1).of(q).part)];
    }
    bool same_id(int p, int q) const {
        const PartWinding *x = g(0).winding(p), *y = g(1).winding(q);
        return g(0).part(p).id == g(1).part(q).id && (x == nullptr || (y != nullptr && x->name == y->name));
    }

    // ---- nets

    /// Leads that two nets share, by weight.
    void vote(int n, int m, double weight) {
        if (n >= 0 && m >= 0 && g(0).is_net(n) == g(1).is_net(m)) votes_[{n, m}] += weight;
    }
    void cast(int p, Way way, double sign) {
        for (const auto& [i, j] : laid(g(0), p, g(1), mate(p), way))
            vote(g(0).of(p).ports[at(i)].net, g(1).of(mate(p)).ports[at(j)].net, sign * g(0).of(p).weight);
    }
    /// How far the nets of the leads stand on each other by what was voted so far.
    double support(int p, Way way) const {
        double sum = 0;
        for (const auto& [i, j] : laid(g(0), p, g(1), mate(p), way)) {
            const int n = g(0).of(p).ports[at(i)].net, m = g(1).of(mate(p)).ports[at(j)].net;
            const auto known = votes_.find({n, m});
            if (known != votes_.end())
                sum += known->second / static_cast<double>(std::max(g(0).on[at(n)].size(), g(1).on[at(m)].size()));
        }
        return sum;
    }
    std::vector<Way> ways(int p, int q) const {
        const Item &one = g(0).of(p), &other = g(1).of(q);
        const Part &x = g(0).part(p), &y = g(1).part(q);
        if (one.leads == other.leads && one.leads > 1 && (one.turns || (two_ended(x) && two_ended(y))))
            return {Way::straight, Way::turned};
        if (const int pins = numbered_pins(x); pins > 3 && pins == numbered_pins(y) && !other_base(x, y))
            return {Way::straight, Way::mirrored};
        return {Way::straight};
    }

    /// Which net is which, from scratch: first by what cannot be turned, then by what has one end that is known.
    void settle_nets() {
        votes_.clear();
        const NodeRoles &x = g(0).set.nodes(), &y = g(1).set.nodes();
        for (const auto& [n, m] : {std::pair{x.chassis_metal, y.chassis_metal},
                                   {x.b_minus, y.b_minus},
                                   {x.earth, y.earth},
                                   {x.line_hot, y.line_hot},
                                   {x.line_neutral, y.line_neutral},
                                   {g(0).set.reference(), g(1).set.reference()}})
            vote(n, m, node_weight);
        std::vector<int> open, priced;
        for (int p = 0; p < count(0); ++p) {
            if (mate(p) < 0) continue;
            const std::vector<Way> all = ways(p, mate(p));
            if (all.size() > 1 && !is_turned(g(0), p, g(1), mate(p), all[1])) {
                open.push_back(p);
                continue;
            }
            set_way(p, Way::straight);
            if (all.size() > 1) priced.push_back(p);
            cast(p, Way::straight, 1);
        }
        for (int pass = 0; !open.empty(); ++pass) {
            bool any = pass >= most_passes;  // then the rest as they stand
            std::erase_if(open, [&](int p) {
                const double gain = support(p, Way::turned) - support(p, Way::straight);
                if (std::abs(gain) < 1e-9 && pass < most_passes) return false;
                set_way(p, gain > 0 ? Way::turned : Way::straight);
                cast(p, found_.side[0].way[at(p)], 1);
                return any = true;
            });
            if (any) continue;
            set_way(open.front(), Way::straight);
            cast(open.front(), Way::straight, 1);
            open.erase(open.begin());
        }
        for (const int p : priced) {
            const Way other = ways(p, mate(p))[1];
            cast(p, Way::straight, -1);
            const double gain = support(p, other) - support(p, Way::straight);
            if (gain > 0.5) set_way(p, other);
            cast(p, found_.side[0].way[at(p)], 1);
        }
        name_nets();
    }

    /// Each net one other, those with the most votes first.
    void name_nets() {
        struct Row {
            double votes;
            bool same_name;
            int n, m;
        };
        std::vector<Row> rows;
        for (const auto& [nets, votes] : votes_) {
            const auto& [n, m] = nets;
            if (votes > 1e-9)
                rows.push_back(
                    {votes, g(0).is_net(n) && g(0).set.nets()[at(n)].name == g(1).set.nets()[at(m)].name, n, m});
        }
        std::sort(rows.begin(), rows.end(), [](const Row& x, const Row& y) {
            return std::tuple(-x.votes, !x.same_name, x.n, x.m) < std::tuple(-y.votes, !y.same_name, y.n, y.m);
        });
        for (Matching::Side& side : found_.side) {
            std::fill(side.net_mate.begin(), side.net_mate.end(), -1);
            std::fill(side.part_of.begin(), side.part_of.end(), -1);
        }
        for (const Row& row : rows) {
            int &n = found_.side[0].net_mate[at(row.n)], &m = found_.side[1].net_mate[at(row.m)];
            if (n >= 0 || m >= 0) continue;
            n = row.m;
            m = row.n;
        }
        for (const int s : {0, 1}) find_pieces(s);
    }

    /// Nets without a mate of which more than half stands on one net of the other set.
    void find_pieces(int s) {
        std::map<int, std::map<int, int>> shared;
        for (int p = 0; p < count(0); ++p) {
            if (mate(p) < 0 || g(0).joins(p)) continue;
            for (const auto& [i, j] : laid(g(0), p, g(1), mate(p), found_.side[0].way[at(p)])) {
                int n = g(0).of(p).ports[at(i)].net, m = g(1).of(mate(p)).ports[at(j)].net;
                if (!g(0).is_net(n) || !g(1).is_net(m)) continue;
                if (s == 1) std::swap(n, m);
                if (found_.side[at(s)].net_mate[at(n)] < 0) ++shared[n][m];
            }
        }
        for (const auto& [n, others] : shared) {
            int leads = 0, most = 0, whole = -1;
            for (const auto& [m, count] : others) {
                leads += count;
                if (count > most) std::tie(most, whole) = std::pair(count, m);
            }
            const auto is_loose_wire = [&](const std::pair<int, int>& end) {
                return g(1 - s).joins(end.first) && found_.side[at(1 - s)].mate[at(end.first)] < 0;
            };
            const auto& ends = g(1 - s).on[at(whole)];
            const int least = std::any_of(ends.begin(), ends.end(), is_loose_wire) ? 1 : 2;
            if (2 * most > leads && most >= least) found_.side[at(s)].part_of[at(n)] = whole;
        }
    }

    // ---- colours

    static Hash port_class(const Item& item, std::size_t port) {
        const int k = static_cast<int>(port);
        if (k >= item.leads) return 7;
        return item.turns ? static_cast<Hash>(std::min(k, item.leads - 1 - k)) + 1000 : item.ports[port].name;
    }

    /// After Weisfeiler and Lehman; what has a mate keeps one colour with it.
    void colour() {
        for (const int s : {0, 1}) {
            const Graph& graph = g(s);
            const Matching::Side& side = found_.side[at(s)];
            const auto pinned = [s](const std::vector<int>& mates, std::size_t i) {
                return mates[i] < 0 ? Hash{0} : mixed(0xF1, s == 0 ? i : static_cast<Hash>(mates[i]));
            };
            std::vector<Hash> items(graph.items.size()), nets(graph.on.size(), 1);
            for (std::size_t i = 0; i < items.size(); ++i)
                items[i] = side.mate[i] >= 0 ? pinned(side.mate, i) : graph.items[i].is;
            for (std::size_t n = 0; n < nets.size(); ++n)
                if (side.net_mate[n] >= 0) nets[n] = pinned(side.net_mate, n);
            for (int depth = 0; depth < depths; ++depth) {
                colours_[at(depth)][at(s)] = items;
                for (std::size_t n = 0; n < nets.size(); ++n) {
                    if (side.net_mate[n] >= 0) continue;
                    Hash sum = 0;
                    for (const auto& [i, k] : graph.on[n]) sum += mixed(port_class(graph.of(i), at(k)), items[at(i)]);
                    nets[n] = mixed(nets[n], sum);
                }
                for (std::size_t i = 0; i < items.size(); ++i) {
                    if (side.mate[i] >= 0) continue;
                    Hash sum = 0;
                    for (std::size_t k = 0; k < graph.items[i].ports.size(); ++k)
                        if (const int net = graph.items[i].ports[k].net; net >= 0)
                            sum += mixed(port_class(graph.items[i], k), nets[at(net)]);
                    items[i] = mixed(items[i], sum);
                }
            }
        }
    }

    /// Colours that stand once in each set, the farthest-seeing first; and parts side by side between the same nets,
    /// where any choice will do.
    bool pair_like_colours() {
        colour();
        for (int depth = depths - 1; depth >= 0; --depth) {
            std::map<Hash, std::array<std::vector<int>, 2>> classes;
            for (const int s : {0, 1})
                for (const int i : left(s)) classes[colours_[at(depth)][at(s)][at(i)]][at(s)].push_back(i);
            Pairs list;
            for (auto& [hash, both] : classes) {
                if (both[0].size() != both[1].size() || !side_by_side(0, both[0]) || !side_by_side(1, both[1]))
                    continue;
                for (const int s : {0, 1})
                    std::sort(both[at(s)].begin(), both[at(s)].end(),
                              [&](int x, int y) { return g(s).part(x).id < g(s).part(y).id; });
                for (std::size_t i = 0; i < both[0].size(); ++i)
                    if (const int p = both[0][i], q = both[1][i]; kin(p, q) && price(p, q) < least_doubt)
                        list.emplace_back(p, q);
            }
            for (const auto& [p, q] : list) pair(p, q);
            if (!list.empty()) return true;
        }
        return false;
    }
    bool side_by_side(int s, const std::vector<int>& items) const {
        const auto nets = [&](int item) {
            std::vector<int> list;
            for (const Port& port : g(s).of(item).ports) list.push_back(port.net);
            if (g(s).of(item).turns) std::sort(list.begin(), list.end());
            return list;
        };
        return std::all_of(items.begin(), items.end(),
                           [&](int item) { return item == items.front() || nets(item) == nets(items.front()); });
    }

    // ---- weighing

    /// Words that a pair would need, and a little for what says that they are two.
    double price(int p, int q, Way way) const {
        const Item &one = g(0).of(p), &other = g(1).of(q);
        double moved = 0, agreed = 0;
        for (const auto& [i, j] : laid(g(0), p, g(1), q, way)) {
            const int n = one.ports[at(i)].net, m = other.ports[at(j)].net;
            if (n < 0 || m < 0) continue;
            if (found_.agree(n, m))
                agreed += 1;
            else if ((found_.side[0].net_mate[at(n)] >= 0 || found_.side[1].net_mate[at(m)] >= 0) &&
                     (g(0).on[at(n)].size() > 1 || g(1).on[at(m)].size() > 1))
                moved += 1;
        }
        if (g(0).joins(p)) moved = std::min(moved, 1.0);
        if (is_turned(g(0), p, g(1), q, way)) moved += 1;
        const Part &x = g(0).part(p), &y = g(1).part(q);
        bool other_value = one.is != other.is, other_role = false;
        if (one.winding < 0) {
            other_value = x.ohms != y.ohms || x.farads != y.farads || x.henries != y.henries || x.tube != y.tube;
            other_role = x.role != y.role || x.polarised != y.polarised || one.leads != other.leads;
        } else {
            other_role = g(0).winding(p)->role != g(1).winding(q)->role;
        }
        return moved - 0.05 * agreed + (other_value ? 1 : 0) + (other_role ? 0.5 : 0) + (one.is != other.is ? 0.1 : 0) +
               (same_id(p, q) ? 0 : 0.4);
    }
    Way best_way(int p, int q) const {
        Way best = Way::straight;
        for (const Way way : ways(p, q))
            if (price(p, q, way) < price(p, q, best) - 1e-9) best = way;
        return best;
    }
    double price(int p, int q) const { return price(p, q, best_way(p, q)); }
    /// What two parts without a mate would need.
    double alone(int p, int q) const { return 0.6 * (std::max(2, g(0).of(p).leads) + std::max(2, g(1).of(q).leads)); }

    /// The cheapest pair of those that are left.
    bool pair_best() {
        const std::vector<int> here = left(0), there = left(1);
        if (here.size() * there.size() > most_pairs) return false;
        std::optional<std::tuple<double, int, int>> best;
        for (const int p : here)
            for (const int q : there) {
                if (!kin(p, q)) continue;
                int depth = 0;
                while (depth < depths && colours_[at(depth)][0][at(p)] == colours_[at(depth)][1][at(q)]) ++depth;
                const double cost = price(p, q);
                const std::tuple now(cost - 0.02 * depth, p, q);
                if (cost < alone(p, q) && (!best || now < *best)) best = now;
            }
        if (best) pair(std::get<1>(*best), std::get<2>(*best));
        return best.has_value();
    }

    /// Pairs that are none, and windings whose transformers are no pair.
    void part_strangers() {
        for (int p = 0; p < count(0); ++p) {
            const int q = mate(p);
            if (q < 0 || (kin(p, q) && price(p, q) < alone(p, q))) continue;
            found_.side[0].mate[at(p)] = found_.side[1].mate[at(q)] = -1;
        }
    }

    std::array<const Graph*, 2> graph_;
    Matching found_;
    std::map<std::pair<int, int>, double> votes_;
    std::array<std::array<std::vector<Hash>, 2>, depths> colours_;
};

/// A sum of all that a set says, so that of two sets one is always the first.
Hash sum_of(const Graph& graph) {
    Hash sum = graph.items.size();
    for (const Item& item : graph.items) {
        sum = mixed(mixed(sum, item.is), hashed(graph.set.parts()[at(item.part)].id));
        for (const Port& port : item.ports) sum = mixed(sum, static_cast<Hash>(port.net));
    }
    return sum;
}

}  // namespace

Matching matched(const Graph& here, const Graph& there) {
    if (sum_of(here) <= sum_of(there)) return Search(here, there).found();
    Matching found = Search(there, here).found();
    std::swap(found.side[0], found.side[1]);
    return found;
}

}  // namespace tubewright::audit
