// SPDX-License-Identifier: MIT
// See bands.hpp. Bands: each value that may be off moves a net by its adjoint sensitivity times its distance to either
// end of its spread; independent causes add by squares, upward and downward apart. The rectifier block moves as a
// whole, by shares found with periodic solutions.
#include "bench/bands.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

#include "policy/policy.hpp"

namespace tubewright::bench {

namespace {

constexpr double probe_amps = 1e-5;
constexpr double drop_of_a_large_supply = 0.15;   ///< its slope over its volts by its amperes, as of S1 and S9; assumed
constexpr double share_of_a_large_supply = 0.04;  ///< what its own tolerances come to in small ones (S1, S9); assumed
constexpr double open_ohms = 1e8;                 ///< a part of so many ohms is an open one

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

}  // namespace

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

/// Where the supply is no plain regulation line (a string, a doubler, a vibrator, several rectifiers) the whole period
/// answers: every spread moves every mean through reactances, rectifiers and all.
void bands_of_the_period(Rig& rig, const Policy& policy, const Solved& solved, Solution& solution) {
    const Translation& in = *rig.translation;
    std::vector<circuit::Override> of;
    std::vector<std::pair<double, double>> distance;
    for (const Spread& spread : spreads_of(rig, policy, solved)) {
        const std::vector<circuit::Override> one =
            overrides_of(in, {{spread.item, spread.slot, spread.index, spread.nominal}}, false);
        if (one.empty() || one.front().element < 0 || spread.slot == Slot::farads || spread.slot == Slot::henries)
            continue;
        const double now = value_under(in, solved.changes, spread.item, spread.slot, spread.index);
        const double scale = spread.slot == Slot::parameter && spread.index == 0       ? now
                             : spread.slot == Slot::ohms && now > 100 * spread.nominal ? 0.0
                                                                                       : 1.0;
        of.push_back(one.front());
        distance.emplace_back((spread.low - spread.nominal) * scale, (spread.high - spread.nominal) * scale);
    }
    if (policy.line_tolerance > 0) {
        const Item& source = in.items[static_cast<std::size_t>(in.source)];
        const double move = policy.line_tolerance * solved.volts * (in.direct ? 1.0 : std::numbers::sqrt2);
        of.push_back({source.full, in.direct ? Slot::direct : Slot::amplitude, 0, 0});
        distance.emplace_back(-move, move);
    }
    const std::vector<std::vector<double>> by = rig.full->mean_sensitivities(solved.wave, of, solved.overrides);
    for (std::size_t n = 0; n < solution.nets.size(); ++n) {
        NetVolts& net = solution.nets[n];
        const auto at = static_cast<std::size_t>(in.node_of_net[n]);
        if (at == 0 || net.undetermined) continue;
        double down = 0, up = 0;
        for (std::size_t k = 0; k < of.size(); ++k) {
            const double a = by[k][at] * distance[k].first, b = by[k][at] * distance[k].second;
            const double least = std::min({a, b, 0.0}), most = std::max({a, b, 0.0});
            down += least * least;
            up += most * most;
        }
        // slopes carried far may cross the reference, which no such volts do
        const double dc = net.dc.value();
        net.low = Volts(dc > 0 ? std::max(dc - std::sqrt(down), 0.0) : dc - std::sqrt(down));
        net.high = Volts(dc < 0 ? std::min(dc + std::sqrt(up), 0.0) : dc + std::sqrt(up));
    }
}

/// A port of the twin and its straight line.
struct PortLine {
    const Port* port = nullptr;
    std::vector<double> line;
};

/// Of a supply that is no plain regulation line: each port that stands on direct volts as a straight line through its
/// mean, with the slope that the whole period has there, less what the rest takes of it. None when the period or the
/// rest has no answer.
std::vector<PortLine> lines_of_the_period(Rig& rig, const Solved& solved) {
    const Translation& in = *rig.translation;
    constexpr double stiff_ohms = 1, least_siemens = 1e-9, least_share = 0.05;
    std::vector<circuit::Override> stiff = overrides_of(in, solved.changes, true), probes;
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
        probes.push_back({-1, Slot::direct, port.plus, 0});
    }
    if (lines.empty()) return {};
    const circuit::Operating held = rig.twin->operating(stiff, nullptr);
    if (!held.solved) return {};
    // in a very large set the slope is assumed: the period's own is minutes of work
    const bool assumed = in.node_names.size() > most_nodes_of_the_period;
    std::vector<std::vector<double>> whole;
    if (!assumed) whole = rig.full->mean_sensitivities(solved.wave, probes, solved.overrides);
    const std::vector<std::vector<double>> rest = rig.twin->sensitivities(held, nodes, {}, stiff);
    for (std::size_t p = 0; p < lines.size(); ++p) {
        if (rest[p].empty() || (!assumed && whole[p].empty())) return {};
        const Port& port = *lines[p].port;
        const double of_rest = 1 / rest[p].back() - 1 / stiff_ohms;
        const double amps = -rig.twin->current(held, in.items[static_cast<std::size_t>(port.item)].twin, 0, stiff);
        const double siemens = assumed ? std::fabs(amps / volts(port)) / drop_of_a_large_supply
                                       : 1 / std::max(whole[p][static_cast<std::size_t>(port.plus)], 1e-3) - of_rest;
        lines[p].line = straight_line(volts(port), amps, 1 / std::max(siemens, least_siemens));
    }
    return lines;
}

/// What stands beside the port in the block (the other leg of the rectifier's filament) moves with it.
void bands_beside_the_port(const Translation& in, Solution& solution) {
    constexpr double beside = 0.02;  // of its volts
    const int of_port = in.net_of_node[static_cast<std::size_t>(in.ports.front().plus)];
    if (of_port < 0) return;
    const NetVolts port = solution.nets[static_cast<std::size_t>(of_port)];
    for (std::size_t n = 0; n < solution.nets.size(); ++n) {
        NetVolts& net = solution.nets[n];
        const auto at = static_cast<std::size_t>(in.node_of_net[n]);
        if (at == 0 || in.in_block[at] == 0 || net.undetermined || net.high > net.low ||
            std::fabs(net.dc.value() - port.dc.value()) > beside * std::fabs(port.dc.value()))
            continue;
        net.low = net.dc + (port.low - port.dc);
        net.high = net.dc + (port.high - port.dc);
    }
}

}  // namespace

void bands_and_meters(Rig& rig, const Policy& policy, const Solved& solved, const BlockShifts& shifts,
                      Solution& solution) {
    const Translation& in = *rig.translation;
    std::vector<PortLine> lines;
    if (has_line(in)) {
        const double amps = rectified_amps(rig, solved);
        if (shifts.ohms > 0 && amps > 1e-4)
            lines.push_back({&in.ports.front(), straight_line(port_volts(in, solved.wave), amps, shifts.ohms)});
    } else {
        lines = lines_of_the_period(rig, solved);
    }
    std::vector<circuit::Override> overrides = overrides_of(in, solved.changes, true);
    for (const PortLine& one : lines) place_line(in, *one.port, one.line, overrides);
    const circuit::Operating op = rig.twin->operating(overrides, nullptr);
    // the whole period of a very large set is too much: its nets beyond the supply have their bands all the same
    const bool whole = !has_line(in) && in.node_names.size() <= most_nodes_of_the_period;
    if (whole) bands_of_the_period(rig, policy, solved, solution);
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
        const double now = value_under(in, solved.changes, spread.item, spread.slot, spread.index);
        // an emission of 0 is pulled or cold, not spread; ohms far from their own are opened
        const double scale = spread.slot == Slot::parameter && spread.index == 0       ? now
                             : spread.slot == Slot::ohms && now > 100 * spread.nominal ? 0.0
                                                                                       : 1.0;
        of.push_back(one);
        distance.emplace_back((spread.low - spread.nominal) * scale, (spread.high - spread.nominal) * scale);
    }
    const std::size_t causes = of.size();
    std::vector<double> port_by_offset(lines.size(), 0);
    for (std::size_t p = 0; p < lines.size(); ++p) {
        // the centre of the line moves it bodily (a difference is taken of it, so not the offset, which stands at 0)
        const std::vector<circuit::Override> offset{
            {in.items[static_cast<std::size_t>(lines[p].port->item)].twin, Slot::parameter, 1, 0}};
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
        if (net.undetermined || (!in_reach(in, at) && !same_in_twin(at, net.dc.value()))) continue;
        const std::vector<double>& by = of_net[n];
        if (by.empty()) continue;
        double down = 0, up = 0;
        const auto add = [&](double a, double b) {
            const double least = std::min({a, b, 0.0}), most = std::max({a, b, 0.0});
            down += least * least;
            up += most * most;
        };
        const Volts least = net.low, most = net.high;
        for (std::size_t k = 0; k < causes && !whole; ++k) add(by[k] * distance[k].first, by[k] * distance[k].second);
        for (std::size_t p = 0; p < lines.size() && !whole; ++p) {
            if (std::fabs(port_by_offset[p]) < 1e-12) continue;
            const double follows = by[causes + p] / port_by_offset[p] * lines[p].line[1];
            if (has_line(in))
                for (const auto& [low, high] : shifts.shares) add(follows * low, follows * high);
            else
                add(-follows * share_of_a_large_supply, follows * share_of_a_large_supply);
        }
        // slopes carried far may cross the reference, which no such volts do
        const double dc = net.dc.value();
        net.low = Volts(dc > 0 ? std::max(dc - std::sqrt(down), 0.0) : dc - std::sqrt(down));
        net.high = Volts(dc < 0 ? std::min(dc + std::sqrt(up), 0.0) : dc + std::sqrt(up));
        if (whole) net.low = least, net.high = most;
        const double source = std::max(0.0, by.back());
        net.source = Ohms(source);
        const double meter = meter_ohms(policy.meter, net.dc.value());
        double reads = net.dc.value() * meter / (meter + source);
        if ((refined && source > 0.01 * meter) || source > meter) {
            // a heavy meter moves the tube behind it: solve with its current drawn
            std::vector<circuit::Override> with = overrides;
            with.push_back({in.probes[static_cast<std::size_t>(at)], Slot::direct, 0, 0});
            const double unloaded = op.volts(at);
            // between nothing and what stands there unloaded, by false position: a tube near its cut-off bends
            double near = 0, far = unloaded, miss_near = unloaded, miss_far = -unloaded;
            reads = unloaded * meter / (meter + source);
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
            reads += net.dc.value() - unloaded;
        }
        net.meter = Volts(reads);
    }
    if (has_line(in)) bands_beside_the_port(in, solution);
}

double cold_resistance(Rig& rig, const Values& values, int from_net, int to_net) {
    const Translation& in = *rig.translation;
    const Node from = in.node_of_net[static_cast<std::size_t>(from_net)],
               to = in.node_of_net[static_cast<std::size_t>(to_net)];
    if (from == to) return 0;
    if (!joined_cold(in, values, from, to)) return -1;
    std::vector<Change> changes = values;
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
