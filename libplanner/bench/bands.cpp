// SPDX-License-Identifier: MIT
// See bands.hpp. Bands: each value that may be off moves a net by its adjoint sensitivity times its distance to either
// end of its spread; independent causes add by squares, upward and downward apart. The rectifier block moves as a
// whole, by shares found with periodic solutions. Where slopes carried so far would bend (a tube that cuts off or
// bottoms: a band of a third of the volts and more) the set is solved at either end, all causes moved together by their
// parts in that band, and the band is what stands there.
#include "bench/bands.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>
#include <optional>
#include <tuple>

#include "bench/residue.hpp"
#include "policy/policy.hpp"

namespace tubewright::bench {

namespace {

constexpr double probe_amps = 1e-5;
constexpr double drop_of_a_large_supply = 0.15;   ///< its slope over its volts by its amperes, as of S1 and S9; assumed
constexpr double share_of_a_large_supply = 0.04;  ///< what its own tolerances come to in small ones (S1, S9); assumed
constexpr double alternating_share_of_a_large_supply = 0.02;  ///< of its windings in S1 and S9; assumed
const std::vector<std::pair<double, double>> large_shares{{-share_of_a_large_supply, share_of_a_large_supply}};
constexpr double open_ohms = 1e8;  ///< a part of so many ohms is an open one

/// A spread as a value of the twin; element -1 when the twin does not have it.
circuit::Override in_twin(const Translation& in, int item, Slot slot, int index) {
    const std::vector<circuit::Override> found = overrides_of(in, {{item, slot, index, 0}}, true);
    return found.empty() ? circuit::Override{-1, slot, index, 0} : found.front();
}

bool is_of_block(const Translation& in, const Spread& spread) {
    return spread.part >= 0 && spread.part == in.power_part;
}

/// Straight regulation line through a point.
std::vector<double> straight_line(double volts, double amps, double ohms) {
    const double half = std::max(0.3 * std::fabs(volts), 1.0);
    return {1, volts, half, amps, -half / std::max(ohms, 1.0), 0, 0, 0, -1, 1, 0};
}

void place_line(const Translation& in, const Port& port, const std::vector<double>& line,
                std::vector<circuit::Override>& out) {
    const Element element = in.items[static_cast<std::size_t>(port.item)].twin;
    for (int k = 0; k < port_parameters; ++k)
        out.push_back({element, Slot::parameter, k, line[static_cast<std::size_t>(k)]});
}

double port_volts(const Translation& in, const circuit::Periodic& wave) {
    const Port& port = in.ports.front();
    return wave.volts[static_cast<std::size_t>(port.plus)].mean - wave.volts[static_cast<std::size_t>(port.minus)].mean;
}

bool has_line(const Translation& in) {
    return in.ports.size() == 1 && in.ports.front().simple;
}

/// In the twin's reach: its mean volts mean something there.
bool in_reach(const Translation& in, Node at) {
    if (at == 0 || in.adrift[static_cast<std::size_t>(at)] != 0) return false;
    if (in.in_block[static_cast<std::size_t>(at)] == 0) return true;
    return has_line(in) && (at == in.ports.front().plus || at == in.ports.front().minus);
}

/// Whether copper and resistors alone join two nodes: no tube conducts, and assumed insulation is no path.
bool joined_cold(const Translation& in, const Values& values, Node from, Node to) {
    std::vector<Node> above(in.node_names.size());
    std::iota(above.begin(), above.end(), 0);
    const auto top = [&](Node at) {
        while (above[static_cast<std::size_t>(at)] != at) at = above[static_cast<std::size_t>(at)];
        return at;
    };
    const auto join = [&](Node a, Node b) {
        a = top(a);
        b = top(b);
        above[static_cast<std::size_t>(std::max(a, b))] = std::min(a, b);
    };
    for (std::size_t k = 0; k < in.items.size(); ++k) {
        const Item& item = in.items[k];
        if (item.kind == "transformer") {
            for (std::size_t w = 0; 2 * w + 1 < item.nodes.size(); ++w) {
                if (value_under(in, values, static_cast<int>(k), Slot::winding_ohms, static_cast<int>(w)) < open_ohms)
                    join(item.nodes[2 * w], item.nodes[2 * w + 1]);
            }
        } else if (item.kind == "resistor" || item.kind == "inductor") {
            if (value_under(in, values, static_cast<int>(k), Slot::ohms, 0) < open_ohms)
                join(item.nodes[0], item.nodes[1]);
        }
    }
    return top(from) == top(to);
}

/// The twin at the means of a period.
circuit::Operating twin_near(Rig& rig, const Solved& solved, const std::vector<circuit::Override>& overrides) {
    circuit::Operating means = rig.twin->operating(overrides, nullptr);
    if (!means.solved) return means;
    for (std::size_t at = 1; at < solved.wave.volts.size(); ++at) means.unknowns[at - 1] = solved.wave.volts[at].mean;
    return rig.twin->operating(overrides, &means);
}

}  // namespace

namespace {

/// The overrides of a state with its supply held where it is.
std::vector<circuit::Override> held_supply(const Rig& rig, const Solved& solved) {
    constexpr double stiff_ohms = 1, least_share = 0.05;
    const Translation& in = *rig.translation;
    std::vector<circuit::Override> stiff = overrides_of(in, solved.changes, true);
    const auto volts = [&](const Port& port) {
        return solved.wave.volts[static_cast<std::size_t>(port.plus)].mean -
               solved.wave.volts[static_cast<std::size_t>(port.minus)].mean;
    };
    double most = 0;
    for (const Port& port : in.ports) most = std::max(most, std::fabs(volts(port)));
    for (const Port& port : in.ports)
        if (most > 0 && std::fabs(volts(port)) >= least_share * most)
            place_line(in, port, straight_line(volts(port), 0, stiff_ohms), stiff);
    return stiff;
}

}  // namespace

bool lasts(Rig& rig, const Solved& solved) {
    const std::vector<circuit::Override> stiff = held_supply(rig, solved);
    const circuit::Operating op = twin_near(rig, solved, stiff);
    return !op.solved || rig.twin->lasts(op, stiff);
}

std::vector<int> restless(Rig& rig, const Solved& solved, bool turning) {
    const Translation& in = *rig.translation;
    const std::vector<circuit::Override> stiff = held_supply(rig, solved);
    const circuit::Operating op = twin_near(rig, solved, stiff);
    std::vector<int> found;
    if (!op.solved) return found;
    // A disturbance exp(s t) finds s C in each capacitor's place: where the determinant's sign has turned at some real
    // s, one of a larger s grows by itself. Up to some kilohertz: stray capacitances, which no file has, end it above.
    for (const double s : {1.0, 10.0, 100.0, 1e3, 1e4}) {
        std::vector<circuit::Override> at_s = stiff;
        for (std::size_t k = 0; k < in.items.size(); ++k)
            if (in.items[k].kind == "capacitor" && in.items[k].twin >= 0)
                at_s.push_back({in.items[k].twin, Slot::siemens, 0,
                                s * value_under(in, solved.changes, static_cast<int>(k), Slot::farads, 0)});
        if (rig.twin->lasts(op, at_s)) continue;
        for (std::size_t t = 0; t < in.tubes.size(); ++t) {
            std::vector<circuit::Override> without = at_s;
            for (const Section& section : in.tubes[t].sections)
                if (in.items[static_cast<std::size_t>(section.item)].twin >= 0)
                    without.push_back({in.items[static_cast<std::size_t>(section.item)].twin, Slot::parameter, 0, 0});
            if (without.size() > at_s.size() && rig.twin->lasts(op, without)) found.push_back(static_cast<int>(t));
        }
        break;
    }
    if (!found.empty() || !turning) return found;
    // In the order that supplies fall by; iron without end, for nobody gives an output transformer's henries and few of
    // them turn sound amplifiers into motor-boats.
    constexpr double fastest = 1e4, rectifier_siemens = 2e-3, endless_henries = 1e6;
    constexpr std::size_t most_tubes = 24;  // each is taken out in turn, and a collection of stages takes minutes
    if (in.chopped || in.tubes.size() > most_tubes) return found;
    std::vector<circuit::Override> as_it_is = solved.overrides;
    for (const Item& item : in.items)
        if (item.kind == "transformer" && item.part >= 0 && item.part != in.power_part)
            as_it_is.push_back({item.full, Slot::henries, 0, endless_henries});
    const circuit::Engine::Growing growing = rig.full->growing(solved.wave, rectifier_siemens, as_it_is);
    if (growing.modes == 0 || growing.hertz > fastest) return found;
    for (std::size_t t = 0; t < in.tubes.size(); ++t) {
        std::vector<circuit::Override> without = as_it_is;
        for (const Section& section : in.tubes[t].sections)
            if (!section.rectifies)
                without.push_back({in.items[static_cast<std::size_t>(section.item)].full, Slot::parameter, 0, 0});
        if (without.size() > as_it_is.size() &&
            rig.full->growing(solved.wave, rectifier_siemens, without).modes < growing.modes)
            found.push_back(static_cast<int>(t));
    }
    if (found.empty())  // no single one
        for (std::size_t t = 0; t < in.tubes.size(); ++t)
            if (!in.tubes[t].rectifier) found.push_back(static_cast<int>(t));
    return found;
}

double rectified_amps(const Translation& in, const Solution& solution) {
    double sum = 0;
    for (std::size_t k = 0; k < in.taps.size() && k < solution.branches.size(); ++k) {
        const Tap& tap = in.taps[k];
        bool plate = false;
        for (const Tube& tube : in.tubes) {
            for (const Section& section : tube.sections) {
                if (!section.rectifies) continue;
                plate = plate || (tap.item == section.item && tap.terminal == 0);
            }
        }
        if (plate) sum += tap.sign * solution.branches[k].dc.value();
    }
    return sum;
}

double rectified_amps(const Rig& rig, const Solved& solved) {
    double sum = 0;
    for (const Tube& tube : rig.translation->tubes) {
        for (const Section& section : tube.sections) {
            if (!section.rectifies) continue;
            sum += rig.full
                       ->current(solved.wave, rig.translation->items[static_cast<std::size_t>(section.item)].full, 0,
                                 solved.overrides)
                       .mean;
        }
    }
    return sum;
}

std::vector<double> regulation_line(std::span<const double> volts, std::span<const double> amps) {
    // Newton's divided differences in u, expanded to powers.
    const std::size_t n = volts.size();
    const double centre = 0.5 * (volts.front() + volts.back()), half = 0.5 * (volts.back() - volts.front());
    std::vector<double> u(n), d(amps.begin(), amps.end());
    for (std::size_t k = 0; k < n; ++k) u[k] = (volts[k] - centre) / half;
    for (std::size_t order = 1; order < n; ++order) {
        for (std::size_t k = n - 1; k >= order; --k) d[k] = (d[k] - d[k - 1]) / (u[k] - u[k - order]);
    }
    std::vector<double> power(n, 0);
    for (std::size_t k = n; k-- > 0;) {
        for (std::size_t j = n; j-- > 1;) power[j] = power[j - 1] - u[k] * power[j];
        power[0] = d[k] - u[k] * power[0];
    }
    std::vector<double> out{1, centre, half};
    power.resize(5, 0);
    out.insert(out.end(), power.begin(), power.end());
    out.insert(out.end(), {-1.0, 1.0, 0.0});
    return out;
}

std::vector<circuit::Override> twin_overrides(const Translation& in, const std::vector<Change>& changes,
                                              const std::vector<double>& line) {
    std::vector<circuit::Override> out = overrides_of(in, changes, true);
    if (has_line(in) && !line.empty()) place_line(in, in.ports.front(), line, out);
    return out;
}

BlockShifts block_shifts(Rig& rig, const Chassis& set, const Policy& policy, const Setting& setting,
                         const Values& values) {
    BlockShifts out;
    const Translation& in = *rig.translation;
    if (!has_line(in) || in.anchor < 0) return out;
    constexpr int steps = 64;
    const Solved base = shoot(rig, setting, values, steps, false, nullptr);
    if (!base.ok) return out;
    const double volts = port_volts(in, base.wave), amps = rectified_amps(rig, base);
    if (!(amps > 1e-4) || !(std::fabs(volts) > 1)) return out;
    // share of the port's volts that a changed setting moves
    const auto moved = [&](const Setting& with, const Values& placed) {
        const Solved solved = shoot(rig, with, placed, steps, false, &base);
        return solved.ok ? port_volts(in, solved.wave) / volts - 1 : 0.0;
    };
    {
        Setting loaded = setting;
        loaded.further_amps = 0.05 * amps;
        const Solved solved = shoot(rig, loaded, values, steps, false, &base);
        if (solved.ok) {
            const double drawn = rectified_amps(rig, solved) - amps;
            if (drawn > 0) out.ohms = (volts - port_volts(in, solved.wave)) / drawn;
        }
    }
    // windings: all ohms of the transformer to their far ends, side by side (primary and secondaries are separate
    // causes of like size)
    Values low = values, high = values;
    for (const Spread& spread : in.spreads) {
        if (!is_of_block(in, spread)) continue;
        low.push_back({spread.item, spread.slot, spread.index, spread.low});
        high.push_back({spread.item, spread.slot, spread.index, spread.high});
    }
    if (low.size() > values.size()) out.shares.emplace_back(moved(setting, high), moved(setting, low));
    // a tired or a lively rectifier
    for (std::size_t t = 0; t < in.tubes.size(); ++t) {
        if (!in.tubes[t].rectifier) continue;
        Setting weak = setting;
        weak.emission[t] *= 1 - policy.tube_spread;
        const double fall = moved(weak, values);
        out.shares.emplace_back(fall, -fall * (1 - policy.tube_spread) / (1 + policy.tube_spread));
    }
    // the first filter capacitor: 20 % under to 50 % over its marking (common practice of its day)
    const Port& port = in.ports.front();
    Values small = values, large = values;
    for (std::size_t k = 0; k < in.items.size(); ++k) {
        const Item& item = in.items[k];
        if (item.kind != "capacitor" || item.part < 0 || !set.parts()[static_cast<std::size_t>(item.part)].polarised)
            continue;
        const bool across = (item.nodes[0] == port.plus && item.nodes[1] == port.minus) ||
                            (item.nodes[1] == port.plus && item.nodes[0] == port.minus);
        if (!across) continue;
        small.push_back({static_cast<int>(k), Slot::farads, 0, item.values[0] * 0.8});
        large.push_back({static_cast<int>(k), Slot::farads, 0, item.values[0] * 1.5});
    }
    if (small.size() > values.size()) out.shares.emplace_back(moved(setting, small), moved(setting, large));
    if (policy.line_tolerance > 0) {
        Setting less = setting, more = setting;
        less.volts *= 1 - policy.line_tolerance;
        more.volts *= 1 + policy.line_tolerance;
        out.shares.emplace_back(moved(less, values), moved(more, values));
    }
    for (auto& [down, up] : out.shares) {
        if (down > up) std::swap(down, up);
        down = std::min(down, 0.0);
        up = std::max(up, 0.0);
    }
    return out;
}

namespace {

/// The spreads of a solution: coils with iron reach up to what their own watts make of them in an hour.
std::vector<Spread> spreads_of(const Rig& rig, const Policy& policy, const Solved& solved) {
    const Translation& in = *rig.translation;
    std::vector<Spread> spreads = in.spreads;
    // volts that somebody named for the leading battery were read there
    const bool named = in.direct && (policy.line.volts.value() > 0 || solved.volts != in.feeds.front().volts);
    for (Spread& spread : spreads)
        if (named && spread.item == in.source) spread.low = spread.high = spread.nominal;
    for (const Iron& iron : in.irons) {
        const circuit::Course amps =
            rig.full->current(solved.wave, in.items[static_cast<std::size_t>(iron.item)].full, 0, solved.overrides);
        const double now = value_under(in, solved.changes, iron.item, Slot::ohms, 0);
        const double ambient = std::max(policy.ambient_celsius, 1.0);
        for (Spread& spread : spreads)
            if (spread.item == iron.item && spread.slot == Slot::ohms && now < 100 * spread.nominal)
                spread.high = std::max(spread.high, 1.1 * warm_ohms(iron.ohms, amps.rms, now, ambient));
    }
    return spreads;
}

constexpr double least_alternating = 0.5;  ///< volts rms

/// A net whose own figure is its rms.
bool alternates(const NetVolts& net) {
    return net.rms.value() > least_alternating && std::fabs(net.dc.value()) < net.rms.value();
}

/// How far a spread moves its value down and up, in the condition as it is.
std::pair<double, double> distance_of(const Translation& in, const Solved& solved, const Spread& spread) {
    const double now = value_under(in, solved.changes, spread.item, spread.slot, spread.index);
    // an emission of 0 is pulled or cold, not spread; ohms far from their own are opened
    const double scale = spread.slot == Slot::parameter && spread.index == 0       ? now
                         : spread.slot == Slot::ohms && now > 100 * spread.nominal ? 0.0
                                                                                   : 1.0;
    return {(spread.low - spread.nominal) * scale, (spread.high - spread.nominal) * scale};
}

/// What each of independent causes does, added by squares, upward and downward apart.
struct Squares {
    double down = 0, up = 0;
    void add(double a, double b) {
        const double least = std::min({a, b, 0.0}), most = std::max({a, b, 0.0});
        down += least * least;
        up += most * most;
    }
    /// Round a figure. Slopes carried far may cross the reference, which no such volts do.
    std::pair<Volts, Volts> round(double at) const {
        return {Volts(at > 0 ? std::max(at - std::sqrt(down), 0.0) : at - std::sqrt(down)),
                Volts(at < 0 ? std::min(at + std::sqrt(up), 0.0) : at + std::sqrt(up))};
    }
};

/// Beyond this share of its volts a band is no matter of slopes.
constexpr double bends_share = 0.3, bends_volts = 1;

bool bends(const NetVolts& net) {
    const double dc = net.dc.value(), far = std::max(net.high.value() - dc, dc - net.low.value());
    return far > std::max(bends_volts, bends_share * std::fabs(dc));
}

/// A value that may be off: volts by its unit, and how far it goes either way.
struct Cause {
    double slope = 0, low = 0, high = 0;
};

/// How far each cause is moved at an end of the band that they make by squares, and that end by the slopes.
std::vector<double> moves_to_end(const std::vector<Cause>& causes, bool up, double& far) {
    std::vector<double> moves(causes.size(), 0), volts(causes.size(), 0);
    double squares = 0;
    for (std::size_t k = 0; k < causes.size(); ++k) {
        const double a = causes[k].slope * causes[k].low, b = causes[k].slope * causes[k].high;
        const bool first = up ? a > b : a < b;
        volts[k] = first ? a : b;
        if ((volts[k] > 0) != up) volts[k] = 0;
        moves[k] = first ? causes[k].low : causes[k].high;
        squares += volts[k] * volts[k];
    }
    far = std::sqrt(squares);
    for (std::size_t k = 0; k < causes.size(); ++k) moves[k] *= far > 0 ? std::fabs(volts[k]) / far : 0;
    return moves;
}

/// What the whole period answers, through reactances, rectifiers and all: how its values move the mean and the rms of
/// each node, and what each node is to a steady ampere.
struct OfThePeriod {
    std::vector<circuit::Override> of;                   ///< the values as they stand, then the nodes asked for
    std::vector<std::pair<double, double>> distance;     ///< of each value
    std::vector<std::vector<double>> mean, alternating;  ///< by value, then node
    std::vector<double> source;                          ///< by node; below 0: not asked for
};

/// Of a supply that is no plain regulation line (a string, a doubler, a vibrator, several rectifiers) all values and
/// all nets are asked for; else what alternates, which the direct-current net does not have.
OfThePeriod of_the_period(Rig& rig, const Policy& policy, const Solved& solved, const Solution& solution) {
    const Translation& in = *rig.translation;
    const bool whole = !has_line(in);
    OfThePeriod out;
    out.source.assign(in.node_names.size(), -1);
    if (in.node_names.size() > most_nodes_of_the_period) return out;
    std::vector<circuit::Override>& of = out.of;
    std::vector<char> turns(in.node_names.size(), 0);
    for (const NetVolts& net : solution.nets)
        turns[static_cast<std::size_t>(in.node_of_net[static_cast<std::size_t>(net.net)])] = alternates(net) ? 1 : 0;
    const auto touches = [&](const Item& item) {
        return std::any_of(item.nodes.begin(), item.nodes.end(),
                           [&](Node at) { return turns[static_cast<std::size_t>(at)] != 0; });
    };
    for (const Spread& spread : spreads_of(rig, policy, solved)) {
        const bool loads = spread.slot == Slot::parameter && spread.index == 0;
        if (!whole && !loads && !is_of_block(in, spread) && !touches(in.items[static_cast<std::size_t>(spread.item)]))
            continue;
        const std::vector<circuit::Override> one =
            overrides_of(in, {{spread.item, spread.slot, spread.index, spread.nominal}}, false);
        if (one.empty() || one.front().element < 0 || spread.slot == Slot::farads || spread.slot == Slot::henries)
            continue;
        of.push_back(one.front());
        of.back().value = value_under(in, solved.changes, spread.item, spread.slot, spread.index);
        out.distance.push_back(distance_of(in, solved, spread));
    }
    // a heater of other amperes than listed: in a string its volts move by the more, since its ohms follow them
    for (const Thermal& one : in.thermals) {
        const double now = value_under(in, solved.changes, one.items.front(), Slot::ohms, 0) / one.shares.front();
        if (one.tube < 0 || now > 100 * one.rated_volts / one.rated_amps) continue;
        for (std::size_t k = 0; k < one.items.size(); ++k) {
            const double ohms = now * one.shares[k], move = assumed::heater_spread / one.exponent * ohms;
            of.push_back({in.items[static_cast<std::size_t>(one.items[k])].full, Slot::ohms, 0, ohms});
            out.distance.emplace_back(-move, move);
        }
    }
    if (policy.line_tolerance > 0) {
        const Item& source = in.items[static_cast<std::size_t>(in.source)];
        const double move = policy.line_tolerance * solved.volts * (in.direct ? 1.0 : std::numbers::sqrt2);
        const double now = solved.volts * (in.direct ? 1.0 : std::numbers::sqrt2);
        of.push_back({source.full, in.direct ? Slot::direct : Slot::amplitude, 0, now});
        out.distance.emplace_back(-move, move);
    }
    const std::size_t values = of.size();
    const auto ask = [&](Node at) {
        if (at <= 0 || out.source[static_cast<std::size_t>(at)] >= 0) return;
        out.source[static_cast<std::size_t>(at)] = 0;
        of.push_back({-1, Slot::direct, at, 0});
    };
    for (const NetVolts& net : solution.nets) {
        const Node at = in.node_of_net[static_cast<std::size_t>(net.net)];
        if (!net.undetermined && (whole || !in_reach(in, at))) ask(at);
    }
    for (const Port& port : in.ports)
        if (whole) ask(port.plus);
    out.mean = rig.full->mean_sensitivities(solved.wave, of, solved.overrides, &out.alternating);
    for (std::size_t k = values; k < of.size(); ++k) {
        const auto at = static_cast<std::size_t>(of[k].index);
        out.source[at] = std::max(0.0, out.mean[k][at]);
    }
    return out;
}

/// The bands that the period gives: of what alternates; and, where the supply is no plain regulation line, of all.
void bands_of_the_period(const Translation& in, const Policy& policy, const OfThePeriod& period, Solution& solution) {
    const bool whole = !has_line(in), large = in.node_names.size() > most_nodes_of_the_period;
    for (NetVolts& net : solution.nets) {
        const auto at = static_cast<std::size_t>(in.node_of_net[static_cast<std::size_t>(net.net)]);
        if (at == 0 || net.undetermined) continue;
        Squares direct, alternating;
        if (large && alternates(net)) {
            const double rms = net.rms.value(), line = policy.line_tolerance * rms;
            const bool own = in.items[static_cast<std::size_t>(in.source)].nodes[0] == static_cast<Node>(at);
            const double wide = own ? 0 : alternating_share_of_a_large_supply * rms;
            alternating.add(-line, line);
            alternating.add(-wide, wide);
        }
        for (std::size_t k = 0; k < period.distance.size(); ++k) {
            const auto& [low, high] = period.distance[k];
            direct.add(period.mean[k][at] * low, period.mean[k][at] * high);
            alternating.add(period.alternating[k][at] * low, period.alternating[k][at] * high);
        }
        if (alternates(net) || (whole && net.rms.value() > least_alternating))
            std::tie(net.rms_low, net.rms_high) = alternating.round(net.rms.value());
        if (whole && !large) std::tie(net.low, net.high) = direct.round(net.dc.value());
    }
}

/// The period solved anew with some values moved; none where that has no answer.
std::optional<circuit::Periodic> period_with(Rig& rig, const Solved& solved,
                                             const std::vector<circuit::Override>& moved) {
    circuit::PeriodicOptions options;
    options.hertz = solved.hertz;
    options.steps = solved.wave.steps_per_period;
    options.two_level = solved.wave.method == circuit::Method::two_level;
    options.warm = &solved.wave;
    std::vector<circuit::Override> with = solved.overrides;
    with.insert(with.end(), moved.begin(), moved.end());
    circuit::Periodic found = rig.full->periodic(options, with);
    if (!found.solved) return std::nullopt;
    return found;
}

/// The mean volts of a node with a meter of so many ohms soldered from it to the reference, solved anew over the
/// period; none where that has no answer.
std::optional<double> with_meter_soldered(Rig& rig, const Solved& solved, Node at, double ohms) {
    const std::optional<circuit::Periodic> loaded =
        period_with(rig, solved, {{rig.translation->meters[static_cast<std::size_t>(at)], Slot::siemens, 0, 1 / ohms}});
    if (!loaded) return std::nullopt;
    return loaded->volts[static_cast<std::size_t>(at)].mean;
}

/// The ohms that a node is to a meter soldered there; none where that has no answer.
std::optional<double> behind_meter(Rig& rig, const Solved& solved, Node at, double meter) {
    const double unloaded = solved.wave.volts[static_cast<std::size_t>(at)].mean;
    const std::optional<double> reads = with_meter_soldered(rig, solved, at, meter);
    if (!reads || *reads == 0) return std::nullopt;
    return std::max(0.0, meter * (unloaded / *reads - 1));
}

/// A port of the twin and its straight line.
struct PortLine {
    const Port* port = nullptr;
    std::vector<double> line;
};

/// Of a supply that is no plain regulation line: each port that stands on direct volts as a straight line through its
/// mean, with the slope that the whole period has there, less what the rest takes of it. None when the period or the
/// rest has no answer.
std::vector<PortLine> lines_of_the_period(Rig& rig, const Policy& policy, const Solved& solved,
                                          const OfThePeriod& period) {
    const Translation& in = *rig.translation;
    constexpr double stiff_ohms = 1, least_siemens = 1e-9, least_share = 0.05, few_meters = 30;
    std::vector<circuit::Override> stiff = overrides_of(in, solved.changes, true);
    std::vector<PortLine> lines;
    std::vector<Node> nodes;
    const auto volts = [&](const Port& port) {
        return solved.wave.volts[static_cast<std::size_t>(port.plus)].mean -
               solved.wave.volts[static_cast<std::size_t>(port.minus)].mean;
    };
    double most = 0;
    for (const Port& port : in.ports) most = std::max(most, std::fabs(volts(port)));
    for (const Port& port : in.ports) {
        if (std::fabs(volts(port)) < least_share * most) continue;  // a plate on its winding
        lines.push_back({&port, straight_line(volts(port), 0, stiff_ohms)});
        place_line(in, port, lines.back().line, stiff);
        nodes.push_back(port.plus);
    }
    if (lines.empty()) return {};
    const circuit::Operating held = rig.twin->operating(stiff, nullptr);
    if (!held.solved) return {};
    // in a very large set the slope is assumed: the period's own is minutes of work. Of a supply that gives less than
    // a few meters take the slope is what a meter there makes of it: at such a load a rectifier is far stiffer than its
    // volts by its amperes
    const bool large = in.node_names.size() > most_nodes_of_the_period;
    const std::vector<std::vector<double>> rest = rig.twin->sensitivities(held, nodes, {}, stiff);
    for (std::size_t p = 0; p < lines.size(); ++p) {
        const Port& port = *lines[p].port;
        double ohms = period.source[static_cast<std::size_t>(port.plus)];
        const double amps = -rig.twin->current(held, in.items[static_cast<std::size_t>(port.item)].twin, 0, stiff);
        const double meter = meter_ohms(policy.meter, volts(port));
        const bool light = large && std::fabs(amps) * meter < few_meters * std::fabs(volts(port));
        if (light) ohms = behind_meter(rig, solved, port.plus, meter).value_or(-1);
        const bool assumed = large && !light;
        if (rest[p].empty() || (!assumed && ohms < 0)) return {};
        const double of_rest = 1 / rest[p].back() - 1 / stiff_ohms;
        const double siemens =
            assumed ? std::fabs(amps / volts(port)) / drop_of_a_large_supply : 1 / std::max(ohms, 1e-3) - of_rest;
        lines[p].line = straight_line(volts(port), amps, 1 / std::max(siemens, least_siemens));
    }
    return lines;
}

/// What stands beside the port in the block (the other leg of the rectifier's filament) moves with it and is seen from
/// its ohms; what a winding joins to its return (the rectifier's plates) moves with that.
void bands_beside_the_port(const Translation& in, Solution& solution) {
    constexpr double beside = 0.02;  // of its volts
    const Port& port = in.ports.front();
    const auto wound = [&](Node a, Node b) {
        return std::any_of(in.windings.begin(), in.windings.end(), [&](const WindingHalf& half) {
            return (half.from == a && half.to == b) || (half.to == a && half.from == b);
        });
    };
    const auto net_of = [&](Node at) {
        const int net = in.net_of_node[static_cast<std::size_t>(at)];
        return at == circuit::ground || net < 0 ? nullptr : &solution.nets[static_cast<std::size_t>(net)];
    };
    const NetVolts *plus = net_of(port.plus), *minus = net_of(port.minus);
    for (NetVolts& net : solution.nets) {
        const Node at = in.node_of_net[static_cast<std::size_t>(net.net)];
        if (at == 0 || in.in_block[static_cast<std::size_t>(at)] == 0 || net.undetermined) continue;
        const auto moves_with = [&](const NetVolts& of) {
            if (net.high > net.low) return;
            net.low = net.dc + (of.low - of.dc);
            net.high = net.dc + (of.high - of.dc);
        };
        const double dc = net.dc.value();
        const bool leg = plus != nullptr && at != port.plus && wound(at, port.plus);
        if (leg) {
            net.source = plus->source;
            const double of = plus->dc.value();
            net.meter = Volts(std::fabs(of) > 0.05 ? dc * plus->meter.value() / of : dc);
        }
        if (plus != nullptr && (leg || std::fabs(dc - plus->dc.value()) <= beside * std::fabs(plus->dc.value())))
            moves_with(*plus);
        else if (minus != nullptr && wound(at, port.minus))
            moves_with(*minus);
    }
}

/// A band that bends, by the period solved at its ends.
void bent_by_the_period(Rig& rig, const Solved& solved, const OfThePeriod& period, Node node, NetVolts& net) {
    const auto at = static_cast<std::size_t>(node);
    std::vector<Cause> causes;
    for (std::size_t k = 0; k < period.distance.size(); ++k)
        causes.push_back({period.mean[k][at], period.distance[k].first, period.distance[k].second});
    for (const bool up : {false, true}) {
        double far = 0;
        const std::vector<double> moves = moves_to_end(causes, up, far);
        if (!(far > 0)) continue;
        std::vector<circuit::Override> moved;
        for (std::size_t k = 0; k < moves.size(); ++k) {
            if (moves[k] == 0) continue;
            moved.push_back(period.of[k]);
            moved.back().value += moves[k];
        }
        if (const std::optional<circuit::Periodic> there = period_with(rig, solved, moved)) {
            const Volts volts(there->volts[at].mean);
            (up ? net.high : net.low) = up ? std::max(net.dc, volts) : std::min(net.dc, volts);
        }
    }
}

/// The set as a meter loads it: the twin with its supply as straight lines.
struct Loaded {
    const std::vector<circuit::Override>& overrides;
    const circuit::Operating& op;

    /// A node's volts with the values `of` moved so far, and the lines of the ports by theirs; none without an answer.
    std::optional<double> moved(Rig& rig, Node at, const std::vector<circuit::Override>& of,
                                const std::vector<double>& moves) const {
        std::vector<circuit::Override> with = overrides;
        for (std::size_t k = 0; k < of.size(); ++k) {
            if (moves[k] == 0) continue;
            // a line is moved by several causes
            const bool again = with.size() > overrides.size() && with.back().element == of[k].element &&
                               with.back().slot == of[k].slot && with.back().index == of[k].index;
            if (!again) with.push_back(of[k]);
            with.back().value += moves[k];
        }
        const circuit::Operating there = rig.twin->operating(with, &op);
        if (!there.solved) return std::nullopt;
        return there.volts(at);
    }

    /// Volts of a node under a meter that draws as a resistance does: between nothing and what stands there unloaded,
    /// by false position, since a tube near its cut-off bends.
    double reads(Rig& rig, Node at, double meter, double source) const {
        std::vector<circuit::Override> with = overrides;
        with.push_back({rig.translation->probes[static_cast<std::size_t>(at)], Slot::direct, 0, 0});
        const double unloaded = op.volts(at);
        double near = 0, far = unloaded, miss_near = unloaded, miss_far = -unloaded;
        double reads = unloaded * meter / (meter + source);
        int side = 0;
        for (int round = 0; round < 25; ++round) {
            with.back().value = -reads / meter;
            const circuit::Operating loaded = rig.twin->operating(with, &op);
            if (!loaded.solved) break;
            const double miss = loaded.volts(at) - reads;
            if (std::fabs(miss) < 1e-6 * (1 + std::fabs(reads))) break;
            if ((miss > 0) == (unloaded > 0)) {
                near = reads, miss_near = miss;
                if (side == -1) miss_far *= 0.5;
                side = -1;
            } else {
                far = reads, miss_far = miss;
                if (side == 1) miss_near *= 0.5;
                side = 1;
            }
            reads = near + (far - near) * miss_near / (miss_near - miss_far);
        }
        return reads;
    }
};

/// By squares of all causes; where that bends, by the twin solved at its ends.
void band_of_the_net(Rig& rig, const Loaded& twin, Node at, const std::vector<Cause>& causes,
                     const std::vector<circuit::Override>& values, NetVolts& net) {
    Squares sum;
    for (const Cause& one : causes) sum.add(one.slope * one.low, one.slope * one.high);
    std::tie(net.low, net.high) = sum.round(net.dc.value());
    if (!bends(net)) return;
    for (const bool up : {false, true}) {
        double far = 0;
        const std::vector<double> moves = moves_to_end(causes, up, far);
        if (!(far > 0)) continue;
        if (const std::optional<double> there = twin.moved(rig, at, values, moves)) {
            const Volts volts(net.dc.value() + *there - twin.op.volts(at));
            (up ? net.high : net.low) = up ? std::max(net.dc, volts) : std::min(net.dc, volts);
        }
    }
}

/// The ohms that let the volts fall to what the meter reads; none where they rise (the kink of a rectifier that nothing
/// else loads).
Ohms behind(double dc, double reads, double meter) {
    constexpr double rounding = 1e-6;
    const double falls = dc / reads - 1;
    return Ohms(falls < -rounding ? -1 : std::max(0.0, meter * falls));
}

/// A net's source and what the meter reads there: `by_twin` and `by_period` are the ohms that either finds, below 0
/// where it has none. Small ohms are a matter of division. A heavy meter moves the tube behind it: solved with its
/// current drawn, in the twin where that sees what the period sees; else (rectifiers that conduct in a part of the
/// period hold the net) with the meter soldered in.
void source_and_meter(Rig& rig, const Policy& policy, const Solved& solved, const Loaded& twin, Node at, double by_twin,
                      double by_period, NetVolts& net, bool refined) {
    constexpr double light = 0.01, alike = 0.1, nothing = 1e-3, slack_volts = 1e-3;
    const double dc = net.dc.value(), meter = meter_ohms(policy.meter, dc);
    const double source = by_period >= 0 ? by_period : by_twin;
    net.source = Ohms(source);
    double reads = dc * meter / (meter + source);
    if ((refined && source > light * meter) || source > meter) {
        // a twin whose supply is dead in this condition stands elsewhere
        const bool same = std::fabs(twin.op.volts(at) - dc) <= alike * std::fabs(dc) + slack_volts;
        if (same && by_twin >= 0 && std::fabs(by_twin - source) <= alike * source) {
            reads = twin.reads(rig, at, meter, source) + dc - twin.op.volts(at);
        } else if (std::fabs(dc) > nothing) {
            if (const std::optional<double> found = with_meter_soldered(rig, solved, at, meter)) {
                reads = *found;
                if (std::fabs(reads) > nothing) net.source = behind(dc, reads, meter);
            }
        }
    }
    // no meter adds volts: where the twin says so, its line is none, as at a rectifier that nothing loads
    const bool adds = std::fabs(reads) > std::fabs(dc) + slack_volts || reads * dc < -nothing;
    if (refined && adds)
        if (const std::optional<double> found = with_meter_soldered(rig, solved, at, meter)) {
            reads = *found;
            if (std::fabs(reads) > nothing) net.source = behind(dc, reads, meter);
        }
    net.meter = Volts(reads);
}

/// Nets that hang on nothing but what is open, cut off or a socket's insulation: which of these leaks the more is not
/// known, and so are no volts. What a meter pulls down by no more than some of its volts is held by a tube that it
/// makes conduct; a few volts are the residue of tubes, and told as that. Where a filter hangs with them its own leak
/// decides: an electrolytic at rest passes more than all that is blocked, and a supply that nothing feeds empties.
void hanging_nets(Rig& rig, const Solved& solved, Solution& solution) {
    constexpr double path_siemens = 1e-8;  // a tenth of a meter, and ten times what a blocked rectifier leaks
    constexpr double held_share = 0.25;
    constexpr double filter_siemens = 1e-7;  // the least that a sound electrolytic passes (common practice, no source)
    const Translation& in = *rig.translation;
    std::vector<char> hangs(rig.translation->node_names.size(), 0);
    for (const Node at : rig.full->unheld(solved.wave, path_siemens, solved.overrides))
        hangs[static_cast<std::size_t>(at)] = 1;
    std::vector<NetVolts*> unknown;
    for (NetVolts& net : solution.nets) {
        const Node at = in.node_of_net[static_cast<std::size_t>(net.net)];
        const double dc = std::fabs(net.dc.value());
        // the range of an open grid, over what is known of its gas and its socket, stays: it is no one number
        const bool range = (net.high - net.low).value() > dc;
        if (hangs[static_cast<std::size_t>(at)] != 0 && dc > residue_volts && !range &&
            std::fabs(net.meter.value()) < held_share * dc)
            unknown.push_back(&net);
    }
    if (unknown.empty()) return;
    std::vector<circuit::Override> leaks;
    for (const int filter : in.filters) {
        const Item& item = in.items[static_cast<std::size_t>(filter)];
        const bool there = std::any_of(item.nodes.begin(), item.nodes.end(),
                                       [&](Node at) { return hangs[static_cast<std::size_t>(at)] != 0; });
        const double farads = value_under(in, solved.changes, filter, Slot::farads, 0);
        if (there && farads > 0)
            leaks.push_back(
                {item.full, Slot::siemens, 0, std::max(filter_siemens, farads * assumed::electrolytic_leak)});
    }
    const std::optional<circuit::Periodic> emptied = leaks.empty() ? std::nullopt : period_with(rig, solved, leaks);
    for (NetVolts* net : unknown) {
        const auto at = static_cast<std::size_t>(in.node_of_net[static_cast<std::size_t>(net->net)]);
        const double volts = emptied ? emptied->volts[at].mean : net->dc.value();
        if (std::fabs(volts) >= residue_volts) {
            net->undetermined = true;
            continue;
        }
        net->dc = net->meter = Volts(volts);
        net->low = Volts(std::min(volts, 0.0));
        net->high = Volts(std::max(volts, 0.0));
        net->source = Ohms(-1);
    }
}

/// What stands on an open grid: its gas current and its socket's leakage are known to no better than a range, so the
/// whole set is solved at both ends of it and every band reaches as far. The grid itself has no figure.
void open_grids(Rig& rig, const Solved& solved, Solution& solution) {
    constexpr double least_volts = 1e-3;
    constexpr double least_gas = 1e-9, most_gas = 5e-8, damp_siemens = 1e-9, dry_siemens = 1e-11;  // assumed
    const Translation& in = *rig.translation;
    std::vector<circuit::Override> negative, positive;
    std::vector<char> open(in.node_names.size(), 0);
    bool any = false;
    for (const Tube& tube : in.tubes)
        for (const Section& section : tube.sections) {
            if (section.gas < 0 || value_under(in, solved.changes, section.item, Slot::parameter, 0) <= 0) continue;
            const Item& gas = in.items[static_cast<std::size_t>(section.gas)];
            const Node grid = gas.nodes[1];
            const int net = grid > 0 ? in.net_of_node[static_cast<std::size_t>(grid)] : -1;
            if (net < 0) continue;
            const NetVolts& there = solution.nets[static_cast<std::size_t>(net)];
            if (!there.undetermined && there.source.value() < open_ohms) continue;
            open[static_cast<std::size_t>(grid)] = 1;
            any = true;
            negative.push_back({gas.full, Slot::direct, 0, least_gas});
            positive.push_back({gas.full, Slot::direct, 0, most_gas});
        }
    if (!any) return;
    for (const Item& item : in.items) {
        if (item.kind != "gap" || item.part >= 0 || item.full < 0 || item.values[0] != assumed::socket_siemens)
            continue;
        if (open[static_cast<std::size_t>(item.nodes[0])] == 0) continue;
        negative.push_back({item.full, Slot::siemens, 0, damp_siemens});
        positive.push_back({item.full, Slot::siemens, 0, dry_siemens});
    }
    for (const std::vector<circuit::Override>* end : {&negative, &positive}) {
        const std::optional<circuit::Periodic> at_end = period_with(rig, solved, *end);
        for (NetVolts& net : solution.nets) {
            const auto at = static_cast<std::size_t>(in.node_of_net[static_cast<std::size_t>(net.net)]);
            if (open[at] != 0) net.undetermined = true;
            if (!at_end || at == 0 || (net.undetermined && open[at] == 0)) continue;
            const double volts = at_end->volts[at].mean;
            if (open[at] != 0) {
                net.low = net.open_grid ? std::min(net.low, Volts(volts)) : Volts(volts);
                net.high = net.open_grid ? std::max(net.high, Volts(volts)) : Volts(volts);
                net.open_grid = true;
                continue;
            }
            if (std::fabs(volts - net.dc.value()) < least_volts) continue;
            net.low = std::min(net.low, Volts(volts));
            net.high = std::max(net.high, Volts(volts));
        }
    }
}

/// Cathodes at reduced heat: how much they emit is a guess, so the set is solved with rectifiers and tubes at the ends
/// of it, the one weak and the other lively and both lively, and every band reaches as far.
void half_heated(Rig& rig, const Solved& solved, Solution& solution) {
    constexpr double least_volts = 1e-3;
    const Translation& in = *rig.translation;
    const std::vector<HalfHeated> all = half_heated_tubes(in, solved);
    if (all.empty()) return;
    for (const auto& [rectifiers_up, others_up] :
         {std::pair(false, true), std::pair(true, false), std::pair(true, true)}) {
        std::vector<circuit::Override> moved;
        for (const HalfHeated& one : all) {
            const Tube& tube = in.tubes[static_cast<std::size_t>(one.tube)];
            for (const Section& section : tube.sections)
                moved.push_back({in.items[static_cast<std::size_t>(section.item)].full, Slot::parameter, 0,
                                 (tube.rectifier ? rectifiers_up : others_up) ? one.high : one.low});
        }
        const std::optional<circuit::Periodic> there = period_with(rig, solved, moved);
        if (!there) continue;
        for (NetVolts& net : solution.nets) {
            const auto at = static_cast<std::size_t>(in.node_of_net[static_cast<std::size_t>(net.net)]);
            const double dc = net.dc.value(), mean = there->volts[at].mean;
            if (at == 0 || net.undetermined || std::fabs(mean - dc) < least_volts) continue;
            // no supply turns over: what is left of it is none
            const bool over = mean * dc <= 0 && std::fabs(mean) < residue_volts;
            const Volts volts(over ? 0 : mean);
            net.low = std::min(net.low, volts);
            net.high = std::max(net.high, volts);
        }
    }
}

}  // namespace

void bands_and_meters(Rig& rig, const Policy& policy, const Solved& solved, const BlockShifts& shifts,
                      Solution& solution) {
    const Translation& in = *rig.translation;
    const OfThePeriod period = of_the_period(rig, policy, solved, solution);
    std::vector<PortLine> lines;
    if (has_line(in)) {
        const double amps = rectified_amps(rig, solved);
        if (shifts.ohms > 0 && amps > 1e-4)
            lines.push_back({&in.ports.front(), straight_line(port_volts(in, solved.wave), amps, shifts.ohms)});
    } else {
        lines = lines_of_the_period(rig, policy, solved, period);
    }
    std::vector<circuit::Override> overrides = overrides_of(in, solved.changes, true);
    for (const PortLine& one : lines) place_line(in, *one.port, one.line, overrides);
    circuit::Operating op = rig.twin->operating(overrides, nullptr);
    const bool elsewhere = op.solved && std::any_of(in.node_of_net.begin(), in.node_of_net.end(), [&](Node at) {
                               const double mean = solved.wave.volts[static_cast<std::size_t>(at)].mean;
                               return in_reach(in, at) && std::fabs(op.volts(at) - mean) > 1 + 0.1 * std::fabs(mean);
                           });
    if (elsewhere) op = twin_near(rig, solved, overrides);
    // the whole period of a very large set is too much: its nets beyond the supply have their bands all the same
    const bool whole = !has_line(in) && in.node_names.size() <= most_nodes_of_the_period;
    bands_of_the_period(in, policy, period, solution);
    if (!op.solved) {
        solution.solver.start_points_agree = false;
        return;
    }
    {  // a second start: from the set without its supply
        const circuit::Operating dead = rig.twin->operating(twin_overrides(in, solved.changes, {}), nullptr);
        const circuit::Operating again = rig.twin->operating(overrides, dead.solved ? &dead : nullptr);
        bool agree = again.solved;
        for (Node at = 1; agree && at < static_cast<Node>(in.node_names.size()); ++at) {
            if (in_reach(in, at))
                agree = std::fabs(again.volts(at) - op.volts(at)) < 1e-3 * (1 + std::fabs(op.volts(at)));
        }
        solution.solver.start_points_agree = agree;
    }

    // one list of values for every net's adjoint: spreads, the port's offset, the net's own probe last
    std::vector<circuit::Override> of;
    std::vector<std::pair<double, double>> distance;
    for (const Spread& spread : spreads_of(rig, policy, solved)) {
        if (is_of_block(in, spread)) continue;
        const circuit::Override one = in_twin(in, spread.item, spread.slot, spread.index);
        if (one.element < 0) continue;
        of.push_back(one);
        of.back().value = value_under(in, solved.changes, spread.item, spread.slot, spread.index);
        distance.push_back(distance_of(in, solved, spread));
    }
    const std::size_t causes = of.size();
    std::vector<double> port_by_offset(lines.size(), 0);
    for (std::size_t p = 0; p < lines.size(); ++p) {
        // the centre of the line moves it bodily (a difference is taken of it, so not the offset, which stands at 0)
        const std::vector<circuit::Override> offset{
            {in.items[static_cast<std::size_t>(lines[p].port->item)].twin, Slot::parameter, 1, lines[p].line[1]}};
        of.push_back(offset.front());
        const auto at = [&](Node node) {
            return node == 0 ? 0.0 : rig.twin->sensitivities(op, node, offset, overrides).front();
        };
        port_by_offset[p] = at(lines[p].port->plus) - at(lines[p].port->minus);
    }

    const std::vector<std::vector<double>> of_net = rig.twin->sensitivities(op, in.node_of_net, of, overrides);
    // a set with one of its tubes out is asked for what its parts bear, not for what a meter reads
    const Scenario which = solution.condition.scenario;
    const bool refined =
        which != Scenario::tube_out && which != Scenario::dial_lamp_out && which != Scenario::signal_peak;
    const auto same_in_twin = [&](Node at, double dc) {
        constexpr double share = 0.01, volts = 0.05;
        return at != 0 && in.adrift[static_cast<std::size_t>(at)] == 0 && std::fabs(dc) > 4 * volts &&
               std::fabs(op.volts(at) - dc) < volts + share * std::fabs(dc);
    };
    for (std::size_t n = 0; n < solution.nets.size(); ++n) {
        NetVolts& net = solution.nets[n];
        const Node at = in.node_of_net[n];
        if (net.undetermined || at == 0) continue;
        const std::vector<double>& by = of_net[n];
        const bool in_twin = !by.empty() && (in_reach(in, at) || same_in_twin(at, net.dc.value()));
        const double by_period = period.source[static_cast<std::size_t>(at)];
        if (in_twin && !whole) {
            std::vector<Cause> all(causes);
            for (std::size_t k = 0; k < causes; ++k) all[k] = {by[k], distance[k].first, distance[k].second};
            std::vector<circuit::Override> values(of.begin(), of.begin() + static_cast<std::ptrdiff_t>(causes));
            for (std::size_t p = 0; p < lines.size(); ++p) {
                if (std::fabs(port_by_offset[p]) < 1e-12) continue;
                const double centre = lines[p].line[1] / port_by_offset[p];
                for (const auto& [low, high] : has_line(in) ? shifts.shares : large_shares) {
                    all.push_back({by[causes + p], low * centre, high * centre});
                    values.push_back(of[causes + p]);
                }
            }
            band_of_the_net(rig, {overrides, op}, at, all, values, net);
        }
        if (whole && bends(net)) bent_by_the_period(rig, solved, period, at, net);
        // a port's straight line is no answer to a meter that moves the rectifiers behind it by much
        const bool held = whole && in.in_block[static_cast<std::size_t>(at)] != 0;
        if (in_twin || by_period >= 0)
            source_and_meter(rig, policy, solved, {overrides, op}, at, in_twin && !held ? std::max(0.0, by.back()) : -1,
                             by_period, net, refined);
        else
            net.source = Ohms(-1);
    }
    hanging_nets(rig, solved, solution);
    if (has_line(in)) bands_beside_the_port(in, solution);
    open_grids(rig, solved, solution);
    half_heated(rig, solved, solution);
}

double cold_resistance(Rig& rig, const Values& values, int from_net, int to_net) {
    const Translation& in = *rig.translation;
    const Node from = in.node_of_net[static_cast<std::size_t>(from_net)],
               to = in.node_of_net[static_cast<std::size_t>(to_net)];
    if (from == to) return 0;
    if (!joined_cold(in, values, from, to)) return -1;
    std::vector<Change> changes;  // capacitors open, but for a leak that is a fault's
    for (std::size_t k = 0; k < in.items.size(); ++k)
        if (in.items[k].kind == "capacitor" && in.items[k].values[1] > 0)
            changes.push_back({static_cast<int>(k), Slot::siemens, 0, 0});
    changes.insert(changes.end(), values.begin(), values.end());
    for (const Thermal& one : in.thermals) {
        for (std::size_t k = 0; k < one.items.size(); ++k) {
            changes.push_back(
                {one.items[k], Slot::ohms, 0, one.rated_volts / one.rated_amps * one.cold_share * one.shares[k]});
        }
    }
    for (const Tube& tube : in.tubes) {
        for (const Section& section : tube.sections) {
            changes.push_back({section.item, Slot::parameter, 0, 0});
            if (section.gas >= 0) changes.push_back({section.gas, Slot::direct, 0, 0});
        }
    }
    std::vector<circuit::Override> overrides = twin_overrides(in, changes, {});
    if (from > 0) overrides.push_back({in.probes[static_cast<std::size_t>(from)], Slot::direct, 0, probe_amps});
    if (to > 0) overrides.push_back({in.probes[static_cast<std::size_t>(to)], Slot::direct, 0, -probe_amps});
    const circuit::Operating op = rig.twin->operating(overrides, nullptr);
    if (!op.solved) return -1;
    const double ohms = (op.volts(from) - op.volts(to)) / probe_amps;
    return std::max(ohms, 0.0);
}

std::vector<std::pair<std::string, double>> sensitivities_of(Rig& rig, const Chassis& set, const Solved& solved,
                                                             const std::vector<double>& line, int net) {
    std::vector<std::pair<std::string, double>> out;
    const Translation& in = *rig.translation;
    const Node at = in.node_of_net[static_cast<std::size_t>(net)];
    if (!in_reach(in, at)) return out;
    const std::vector<circuit::Override> overrides = twin_overrides(in, solved.changes, line);
    const circuit::Operating op = rig.twin->operating(overrides, nullptr);
    if (!op.solved || std::fabs(op.volts(at)) < 1e-9) return out;
    std::vector<circuit::Override> of;
    std::vector<std::pair<int, double>> whose;
    for (const Spread& spread : in.spreads) {
        const bool emission = spread.slot == Slot::parameter && spread.index == 0;
        if (spread.part < 0 || (spread.slot != Slot::ohms && !emission)) continue;
        const circuit::Override one = in_twin(in, spread.item, spread.slot, spread.index);
        if (one.element < 0) continue;
        of.push_back(one);
        whose.emplace_back(spread.part, value_under(in, solved.changes, spread.item, spread.slot, spread.index));
    }
    const std::vector<double> by = rig.twin->sensitivities(op, at, of, overrides);
    for (std::size_t k = 0; k < by.size(); ++k) {
        out.emplace_back(set.parts()[static_cast<std::size_t>(whose[k].first)].id,
                         by[k] * whose[k].second / op.volts(at));
    }
    std::sort(out.begin(), out.end(), [](const auto& a, const auto& b) {
        if (std::fabs(a.second) != std::fabs(b.second)) return std::fabs(a.second) > std::fabs(b.second);
        return a.first < b.first;
    });
    return out;
}

}  // namespace tubewright::bench
