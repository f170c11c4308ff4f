// SPDX-License-Identifier: MIT
// See warming.hpp. The net is what joins heaters and source by few ohms, solved by elimination at each step; time is
// counted in a heater's joules over its rated watts, and stepped by the midpoint rule.
#include "bench/warming.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

namespace tubewright::bench {

namespace {

constexpr double most_ohms = 3000;             ///< of what belongs to a string
constexpr double time_step = 0.01, whole = 2;  ///< a heater at its rated volts has nine tenths of its ohms after .5

/// A branch of fixed ohms, or one share of a thermal.
struct Wire {
    Node a = 0, b = 0;
    double ohms = 0;
    int thermal = -1;
    double share = 1;
};

class Warming {
  public:
    Warming(const Translation& in, const Solved& solved) : in_(in), volts_(solved.volts) {
        std::map<int, std::pair<int, double>> heated;
        for (std::size_t t = 0; t < in.thermals.size(); ++t)
            for (std::size_t k = 0; k < in.thermals[t].items.size(); ++k)
                heated[in.thermals[t].items[k]] = {static_cast<int>(t), in.thermals[t].shares[k]};
        for (std::size_t k = 0; k < in.items.size(); ++k) {
            const Item& item = in.items[k];
            if (item.full < 0 || (item.kind != "resistor" && item.kind != "inductor")) continue;
            const double ohms = value_under(in, solved.changes, static_cast<int>(k), Slot::ohms, 0);
            if (ohms > most_ohms || item.nodes[0] == item.nodes[1]) continue;
            const auto of = heated.find(static_cast<int>(k));
            wires_.push_back({item.nodes[0], item.nodes[1], std::max(ohms, 1e-3),
                              of == heated.end() ? -1 : of->second.first, of == heated.end() ? 1 : of->second.second});
        }
        const Item& source = in.items[static_cast<std::size_t>(in.source)];
        plus_ = source.nodes[0];
        minus_ = source.nodes[1];
        prune();
        across_.assign(in.thermals.size(), 0);
    }

    /// In the net that the source feeds.
    bool fed(std::size_t thermal) const {
        return std::any_of(wires_.begin(), wires_.end(),
                           [&](const Wire& wire) { return wire.thermal == static_cast<int>(thermal); });
    }

    /// Highest shares from cold to hot; `mass` by thermal, 0 for what follows its volts at once.
    std::vector<double> run(const std::vector<double>& mass) {
        const std::size_t n = in_.thermals.size();
        std::vector<double> heat(n), middle(n), highest(n, 0);
        for (std::size_t t = 0; t < n; ++t) heat[t] = in_.thermals[t].cold_share;
        for (double time = 0; time < whole; time += time_step) {
            solve(heat, mass);
            for (std::size_t t = 0; t < n; ++t)
                highest[t] = std::max(highest[t], across_[t] / in_.thermals[t].rated_volts);
            middle = heat;
            for (std::size_t t = 0; t < n; ++t) middle[t] += 0.5 * time_step * rate(t, heat[t], mass[t]);
            for (std::size_t t = 0; t < n; ++t)
                if (!(mass[t] > 0)) middle[t] = heat[t];
            solve(middle, mass);
            for (std::size_t t = 0; t < n; ++t)
                heat[t] = mass[t] > 0 ? heat[t] + time_step * rate(t, middle[t], mass[t]) : middle[t];
        }
        return highest;
    }

  private:
    const Translation& in_;
    double volts_;
    Node plus_ = 0, minus_ = 0;
    std::vector<Wire> wires_;
    std::map<Node, int> unknown_;  ///< row of a node whose volts are not given
    std::vector<double> across_;   ///< by thermal

    /// Ends that lead nowhere, and what the source does not reach, carry nothing.
    void prune() {
        for (bool changed = true; changed;) {
            changed = false;
            std::map<Node, int> ends;
            for (const Wire& wire : wires_) ++ends[wire.a], ++ends[wire.b];
            const auto dead = [&](Node at) { return at != plus_ && at != minus_ && ends[at] < 2; };
            const auto gone = std::remove_if(wires_.begin(), wires_.end(),
                                             [&](const Wire& wire) { return dead(wire.a) || dead(wire.b); });
            changed = gone != wires_.end();
            wires_.erase(gone, wires_.end());
        }
        std::map<Node, char> reached{{plus_, 1}, {minus_, 1}};
        for (bool changed = true; changed;) {
            changed = false;
            for (const Wire& wire : wires_)
                if (reached.count(wire.a) != reached.count(wire.b)) {
                    reached[wire.a] = reached[wire.b] = 1;
                    changed = true;
                }
        }
        wires_.erase(
            std::remove_if(wires_.begin(), wires_.end(), [&](const Wire& wire) { return reached.count(wire.a) == 0; }),
            wires_.end());
        for (const Wire& wire : wires_)
            for (const Node at : {wire.a, wire.b})
                if (at != plus_ && at != minus_) unknown_.emplace(at, static_cast<int>(unknown_.size()));
    }

    double rate(std::size_t t, double heat, double mass) const {
        if (!(mass > 0)) return 0;
        const Thermal& one = in_.thermals[t];
        const double share = across_[t] / one.rated_volts, glow = (1 + one.exponent) / (1 - one.exponent);
        // below the ohms of its cold it does not fall
        const double cooling = std::pow(heat, glow) - std::pow(one.cold_share, glow);
        return (share * share / heat - std::max(cooling, 0.0)) / mass;
    }

    /// Volts of every thermal at these heats; what has no mass is brought to the ohms of its own volts.
    void solve(std::vector<double>& heat, const std::vector<double>& mass) {
        constexpr int rounds = 30;
        for (int round = 0; round < rounds; ++round) {
            eliminate(heat);
            double moved = 0;
            for (std::size_t t = 0; t < heat.size(); ++t) {
                if (mass[t] > 0 || across_[t] <= 0) continue;
                const Thermal& one = in_.thermals[t];
                const double to = one.ohms(across_[t]) * one.rated_amps / one.rated_volts, was = heat[t];
                heat[t] = std::sqrt(was * to);
                moved = std::max(moved, std::fabs(heat[t] / was - 1));
            }
            if (moved < 1e-4) return;
        }
    }

    void eliminate(const std::vector<double>& heat) {
        const std::size_t n = unknown_.size(), width = n + 1;
        std::vector<double> a(n * width, 0);
        const auto row = [&](Node at) {
            const auto found = unknown_.find(at);
            return found == unknown_.end() ? -1 : found->second;
        };
        const auto ohms_of = [&](const Wire& wire) {
            if (wire.thermal < 0) return wire.ohms;
            const auto t = static_cast<std::size_t>(wire.thermal);
            return wire.share * heat[t] * in_.thermals[t].rated_volts / in_.thermals[t].rated_amps;
        };
        for (const Wire& wire : wires_) {
            const double siemens = 1 / ohms_of(wire);
            for (const auto& [from, to] : {std::pair(wire.a, wire.b), std::pair(wire.b, wire.a)}) {
                const int r = row(from), c = row(to);
                if (r < 0) continue;
                const auto at = static_cast<std::size_t>(r) * width;
                a[at + static_cast<std::size_t>(r)] += siemens;
                if (c >= 0)
                    a[at + static_cast<std::size_t>(c)] -= siemens;
                else if (to == plus_)
                    a[at + n] += siemens * volts_;
            }
        }
        for (std::size_t k = 0; k < n; ++k)
            for (std::size_t r = k + 1; r < n; ++r) {
                const double factor = a[r * width + k] / a[k * width + k];
                if (factor == 0) continue;
                for (std::size_t c = k; c < width; ++c) a[r * width + c] -= factor * a[k * width + c];
            }
        std::vector<double> x(n, 0);
        for (std::size_t k = n; k-- > 0;) {
            double sum = a[k * width + n];
            for (std::size_t c = k + 1; c < n; ++c) sum -= a[k * width + c] * x[c];
            x[k] = sum / a[k * width + k];
        }
        const auto at = [&](Node node) {
            const int r = row(node);
            return r >= 0 ? x[static_cast<std::size_t>(r)] : node == plus_ ? volts_ : 0.0;
        };
        std::fill(across_.begin(), across_.end(), 0.0);
        for (const Wire& wire : wires_)
            if (wire.thermal >= 0)
                across_[static_cast<std::size_t>(wire.thermal)] += std::fabs(at(wire.a) - at(wire.b));
    }
};

}  // namespace

std::vector<double> warming_shares(const Translation& in, const Solved& solved) {
    std::vector<double> shares(in.thermals.size(), 0), mass(in.thermals.size(), 0);
    Warming net(in, solved);
    const auto slow = [&](std::size_t t) {
        const int tube = in.thermals[t].tube;
        return tube >= 0 && !in.tubes[static_cast<std::size_t>(tube)].direct && net.fed(t);
    };
    bool any = false;
    for (std::size_t t = 0; t < mass.size(); ++t)
        if (slow(t)) mass[t] = 1, any = true;
    if (!any) return shares;
    const std::vector<double> alike = net.run(mass);
    for (std::size_t t = 0; t < mass.size(); ++t) {
        if (!slow(t)) {
            shares[t] = net.fed(t) && in.thermals[t].tube < 0 ? alike[t] : 0;
            continue;
        }
        // sections of one bulb are light together
        std::vector<double> light = mass;
        for (std::size_t other = 0; other < mass.size(); ++other)
            if (in.thermals[other].tube == in.thermals[t].tube && slow(other)) light[other] = light_heater;
        shares[t] = std::max(alike[t], net.run(light)[t]);
    }
    return shares;
}

}  // namespace tubewright::bench
