// SPDX-License-Identifier: MIT
// Two faults at once. What leaves the rectifier block alone is solved on the curve; of the others, where at least one
// is the supply's own, the fifty whose currents add up to most are shot. What is looked for: pairs that harm a power
// transformer though neither fault does alone, and the largest currents. Every power transformer of a pair that is shot
// is judged; the curve moves the windings of the one that gives B-plus alone. Tests: tests/threat/pairs_test.cpp.
#include <algorithm>
#include <array>
#include <set>
#include <utility>

#include "threat/threat.hpp"
#include "threat/yardstick.hpp"

namespace tubewright {
namespace {

using stress::Loads;
using threat::PowerTransformer;
using threat::Yardstick;

constexpr std::size_t shot_supply_pairs = 50, kept = 200;
constexpr double warmer = 1.1;  ///< copper watts over those in health from which heat is worked out

double chance(const Threat& t) {
    return t.alpha * t.failures_per_million_hours * t.hours / 1e6;
}

class Pairs {
  public:
    Pairs(const Chassis& chassis, Bench& bench, const ThreatReport& report, const Yardstick& yard)
        : chassis_(chassis), bench_(bench), yard_(yard), first_(yard.transformers.front()) {
        for (const Threat& t : report.rows) {
            if (!t.solved || t.ahead_of_primary) continue;
            if (t.target == report.transformer) rows_.push_back(&t);
            if (t.beta > 0 && report.is_power_transformer(t.target)) harmful_.insert(t.fault.id);
        }
        std::sort(rows_.begin(), rows_.end(),
                  [](const Threat* a, const Threat* b) { return a->fault.id < b->fault.id; });
    }

    PairReport run() {
        PairReport out;
        out.faults = rows_.size();
        std::vector<Fault> faults;
        for (const Threat* t : rows_) faults.push_back(t->fault);
        std::vector<std::pair<int, int>> pairs;
        for (std::size_t i = 0; i < rows_.size(); ++i)
            for (std::size_t j = i + 1; j < rows_.size(); ++j)
                if (rows_[i]->part != rows_[j]->part) pairs.emplace_back(static_cast<int>(i), static_cast<int>(j));
        out.pairs = pairs.size();
        const std::vector<PairSolution> found = bench_.sweep_pairs(Condition{}, faults, pairs);
        std::vector<std::pair<double, std::size_t>> supply;
        for (std::size_t p = 0; p < pairs.size(); ++p) {
            const Threat &a = *rows_[static_cast<std::size_t>(pairs[p].first)],
                         &b = *rows_[static_cast<std::size_t>(pairs[p].second)];
            if (found[p].solved) {
                ++out.from_curve;
                curve_pair(a, b, found[p], out);
            } else {
                supply.emplace_back(a.primary_amps_rms + b.primary_amps_rms, p);
            }
        }
        std::stable_sort(supply.begin(), supply.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
        for (std::size_t k = 0; k < supply.size() && k < shot_supply_pairs; ++k) {
            const auto [i, j] = pairs[supply[k].second];
            const Threat &a = *rows_[static_cast<std::size_t>(i)], &b = *rows_[static_cast<std::size_t>(j)];
            const std::array both{a.fault, b.fault};
            const FaultSolution shot = bench_.solve(Condition{}, both, false);
            if (!shot.solved) continue;
            ++out.reshot;
            const Loads loads(chassis_, shot.solution);
            PairThreat pair = pair_of(a, b, first_.windings_of(loads), shot.solution.primary_rms.value());
            pair.reshot = true;
            judge(pair, first_, yard_.heat_of(first_, loads, nullptr));
            for (const PowerTransformer& t : yard_.transformers) {
                if (t.part == first_.part || t.heat(yard_.heat_of(t, loads, nullptr)).beta <= pair.beta) continue;
                pair.windings = t.windings_of(loads);
                judge(pair, t, yard_.heat_of(t, loads, nullptr));
                pair.beta_reason = t.id + ": " + pair.beta_reason;
            }
            out.by_current.push_back(pair);
            if (pair.beta > 0 && harmless(a) && harmless(b)) out.together.push_back(std::move(pair));
        }
        out.not_shot = supply.size() - std::min(supply.size(), out.reshot);
        sort(out.by_current, [](const PairThreat& p) { return p.primary_amps_rms; });
        sort(out.together, [](const PairThreat& p) { return p.beta * p.chance; });
        out.harmful_together = out.together.size();
        if (out.by_current.size() > kept) out.by_current.resize(kept);
        if (out.together.size() > kept) out.together.resize(kept);
        return out;
    }

  private:
    PairThreat pair_of(const Threat& a, const Threat& b, std::vector<WindingLoad> windings, double primary) const {
        PairThreat pair;
        pair.first = a.fault.id;
        pair.second = b.fault.id;
        pair.primary_amps_rms = primary;
        pair.primary_times_normal = yard_.primary_normal > 0 ? primary / yard_.primary_normal : 0;
        pair.windings = std::move(windings);
        pair.chance = chance(a) * chance(b);
        return pair;
    }

    /// Alone, to every power transformer.
    bool harmless(const Threat& t) const { return harmful_.count(t.fault.id) == 0; }

    static void judge(PairThreat& pair, const PowerTransformer& of, const threat::Heat& heat) {
        const threat::Verdict verdict = of.heat(heat);
        pair.beta = verdict.beta;
        pair.beta_reason = verdict.why;
        pair.hot_spot_hot_end_celsius = verdict.course[threat::hot].steady_celsius;
    }

    void curve_pair(const Threat& a, const Threat& b, const PairSolution& found, PairReport& out) const {
        const bool alone = harmless(a) && harmless(b);
        const double worse = std::max(a.primary_amps_rms, b.primary_amps_rms);
        if (!alone && found.primary_rms < 1.02 * worse) return;  // the worse of the two says it all
        std::vector<WindingLoad> windings = first_.healthy_windings;
        threat::Heat heat;
        for (std::size_t k = 0; k < windings.size() && k < found.winding_rms.size(); ++k) {
            WindingLoad& w = windings[k];
            w.rms_amps = found.winding_rms[k];
            w.peak_amps = 0;
            w.copper_watts = w.rms_amps * w.rms_amps * first_.windings[k].ohms;
            heat.copper_watts.push_back(w.copper_watts);
        }
        if (Yardstick::copper_watts(windings) < warmer * first_.copper_normal) return;
        PairThreat pair = pair_of(a, b, std::move(windings), found.primary_rms);
        if (alone) {
            const threat::Course end = first_.heatings[threat::hot].steady(heat);
            if (end.steady_celsius <= threat::ageing_celsius) return;
            judge(pair, first_, heat);
            if (pair.beta > 0) out.together.push_back(std::move(pair));
        } else if (found.primary_rms > 1.3 * worse) {
            judge(pair, first_, heat);
            out.by_current.push_back(std::move(pair));
        }
    }

    template <class By>
    static void sort(std::vector<PairThreat>& pairs, const By& by) {
        std::stable_sort(pairs.begin(), pairs.end(), [&](const PairThreat& a, const PairThreat& b) {
            if (by(a) != by(b)) return by(a) > by(b);
            return std::pair(a.first, a.second) < std::pair(b.first, b.second);
        });
    }

    const Chassis& chassis_;
    Bench& bench_;
    const Yardstick& yard_;
    const PowerTransformer& first_;
    std::set<std::string> harmful_;  ///< faults that harm a power transformer alone
    std::vector<const Threat*> rows_;
};

}  // namespace

Outcome<PairReport> pairs_of(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy, Bench& bench,
                             const ThreatReport& report) {
    Outcome<Solution> healthy = bench.solve(Condition{});
    if (!healthy) return healthy.notices();
    const Yardstick yard(chassis, catalogue, policy, std::move(*healthy));
    if (yard.power < 0) {
        PairReport none;
        none.why = "the set has no power transformer, and pairs are judged by what they do to one";
        return none;
    }
    return Pairs(chassis, bench, report, yard).run();
}

}  // namespace tubewright
