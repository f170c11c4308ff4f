// SPDX-License-Identifier: MIT
// Drift that each resistor may have, from its place: the adjoint of the direct-current net says which resistors matter
// and about how far they may be off; the limit itself is found by solving the set again. See marks.hpp. Tests:
// tests/threat/drift_test.cpp, with a cathode resistor and a plate load worked by hand beside it.
#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "threat/marks.hpp"
#include "threat/threat.hpp"

namespace tubewright {
namespace {

using stress::Loads;
using threat::GridMark;
using threat::Marks;
using threat::VoltsMark;

constexpr double chart_share = 0.2;                   ///< a voltage chart bears so much (common practice)
constexpr double most_times = 10, exactness = 0.004;  ///< of the logarithm

class Finder {
  public:
    Finder(const Chassis& chassis, Bench& bench, const Solution& healthy, Marks marks)
        : chassis_(chassis), bench_(bench), healthy_(healthy), marks_(std::move(marks)) {
        for (const GridMark& g : marks_.grids) {
            learn(g.net);
            learn(g.cathode);
        }
        for (const VoltsMark& v : marks_.supplied) learn(v.net);
    }

    std::vector<DriftLimit> run() {
        std::vector<DriftLimit> out;
        for (std::size_t i = 0; i < chassis_.parts().size(); ++i) {
            const Part& p = chassis_.parts()[i];
            if ((p.kind != PartKind::resistor && p.kind != PartKind::control) || !p.ohms || p.leads.size() < 2 ||
                p.leads[0].net < 0 || p.leads[1].net < 0 || p.leads[0].net == p.leads[1].net)
                continue;
            out.push_back(limit_of(static_cast<int>(i)));
        }
        return out;
    }

  private:
    /// Volts that a net moves by, for a part that is e times its value: the adjoint, once a net.
    void learn(int net) {
        if (by_net_.count(net) > 0) return;
        std::map<std::string, double>& of = by_net_[net];
        const double volts = Marks::volts_at(healthy_, net);
        for (const auto& [part, share] : bench_.sensitivities(net)) of[part] += share * volts;
    }
    double slope(int net, const std::string& part) const {
        const auto& of = by_net_.at(net);
        const auto found = of.find(part);
        return found == of.end() ? 0 : found->second;
    }

    /// The mark that moves most for its allowance, and by how many of them for e times the ohms.
    double first_order(const Part& p, std::string& which) const {
        double most = 0;
        auto consider = [&](double volts, double allowed, const std::string& words) {
            if (allowed <= 0 || std::fabs(volts) / allowed <= most) return;
            most = std::fabs(volts) / allowed;
            which = words;
        };
        for (const GridMark& g : marks_.grids)
            consider(slope(g.net, p.id) - slope(g.cathode, p.id), threat::bias_share * g.bias,
                     "bias of " + id_of(g.part));
        for (const VoltsMark& v : marks_.supplied)
            consider(slope(v.net, p.id), chart_share * v.volts, v.electrode + " volts of " + id_of(v.part));
        return most;
    }

    std::string passed(int index, double log_times) {
        Fault f;
        f.id = id_of(index) + " drift";
        f.part = index;
        f.mode = FaultMode::drift;
        f.lead_a = 0;
        f.lead_b = 1;
        f.factor = std::exp(log_times);
        const std::array one{f};
        const FaultSolution found = bench_.solve(Condition{}, one, false);
        if (!found.solved) return "no solution so far off";
        const Solution& s = found.solution;
        for (const GridMark& g : marks_.grids) {
            const double bias = Marks::volts_at(s, g.cathode) - Marks::volts_at(s, g.net);
            if (std::fabs(bias - g.bias) > threat::bias_share * g.bias)
                return "bias of " + id_of(g.part) + " off by a tenth";
        }
        if (std::string over = marks_.over_maximum(Loads(chassis_, s)); !over.empty()) return over;
        if (std::string off = marks_.heater_off(s); !off.empty()) return off;
        for (const VoltsMark& v : marks_.supplied)
            if (std::fabs(Marks::volts_at(s, v.net) - v.volts) > chart_share * v.volts)
                return v.electrode + " volts of " + id_of(v.part) + " off by a fifth";
        return {};
    }

    /// Largest drift one way that passes no mark; absent when ten times does not. `guess`: of the adjoint.
    std::optional<double> edge(int index, double direction, double guess, std::string& why) {
        const double end = std::log(most_times);
        double low = 0, high = std::min(end, guess > 0 ? std::max(1.3 * guess, 0.02) : end);
        why = passed(index, direction * high);
        while (why.empty() && high < end) {
            low = high;
            high = std::min(end, 2 * high);
            why = passed(index, direction * high);
        }
        if (why.empty()) return {};
        while (high - low > exactness) {
            const double middle = 0.5 * (low + high);
            std::string here = passed(index, direction * middle);
            if (here.empty()) {
                low = middle;
            } else {
                high = middle;
                why = std::move(here);
            }
        }
        return std::exp(direction * low);
    }

    DriftLimit limit_of(int index) {
        const Part& p = chassis_.parts()[static_cast<std::size_t>(index)];
        DriftLimit out;
        out.part = p.id;
        out.ohms = *p.ohms;
        out.allowances_per_octave = first_order(p, out.moves_most) * std::log(2.0);
        const double guess = out.allowances_per_octave > 0 ? std::log(2.0) / out.allowances_per_octave : 0;
        if (guess > 0) out.adjoint_share = guess;
        out.up = edge(index, 1, guess, out.limited_by_up);
        out.down = edge(index, -1, guess, out.limited_by_down);
        return out;
    }

    const std::string& id_of(int part) const { return chassis_.parts()[static_cast<std::size_t>(part)].id; }

    const Chassis& chassis_;
    Bench& bench_;
    const Solution& healthy_;
    Marks marks_;
    std::map<int, std::map<std::string, double>> by_net_;
};

}  // namespace

Outcome<std::vector<DriftLimit>> drift_limits_of(const Chassis& chassis, const Catalogue& catalogue, Bench& bench) {
    const FaultSolution healthy = bench.solve(Condition{}, {}, false);
    if (!healthy.solved) {
        const Outcome<Solution> why = bench.solve(Condition{});
        return why.notices();
    }
    return Finder(chassis, bench, healthy.solution, Marks(chassis, catalogue, healthy.solution)).run();
}

}  // namespace tubewright
