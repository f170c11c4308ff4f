// SPDX-License-Identifier: MIT
// Two faults at once. What leaves the rectifier block alone is solved on the curve. Of every other pair there is first
// an estimate: in each winding, or each figure that has a rating, what the one fault changes and what the other does,
// added up; the fifty of which it says most are shot, and judged by that. What is looked for: pairs that do harm though
// neither fault does alone, by clearly more than the worse of them, and the largest currents. Of a set with power
// transformers all of them are judged by their heat (the curve moves the windings of the one that gives B-plus alone);
// of a set without one the scarce parts are, by their ratings. Tests: tests/threat/pairs_test.cpp.
#include <algorithm>
#include <array>
#include <cmath>
#include <set>
#include <utility>

#include "threat/chain.hpp"
#include "threat/threat.hpp"
#include "threat/yardstick.hpp"

namespace tubewright {
namespace {

using stress::Loads;
using threat::Heat;
using threat::PowerTransformer;
using threat::Verdict;
using threat::Yardstick;

constexpr std::size_t shot_supply_pairs = 50, kept = 200;
constexpr double warmer = 1.1;            ///< copper watts over those in health from which heat is worked out
constexpr double hotter_kelvin = 3;       ///< than with the worse alone, as beta asks over health (declared)
constexpr double further = 1.1;           ///< over a rating than with the worse alone (declared)
constexpr std::size_t estimated_at = 64;  ///< faults whose solutions are held at a time

double chance(const Threat& t) {
    return t.alpha * t.failures_per_million_hours * t.hours / 1e6;
}
double ratio_beta(double ratio) {
    return ratio >= 2 ? 1 : ratio >= 1.3 ? 0.5 : ratio > 1 ? 0.1 : 0;
}

class Pairs {
  public:
    Pairs(const Chassis& chassis, Bench& bench, const ThreatReport& report, const Yardstick& yard)
        : chassis_(chassis), bench_(bench), yard_(yard) {
        const std::string all = yard.transformers.empty() ? "supply" : report.transformer;
        for (const Threat& t : report.rows) {
            if (!t.solved || t.ahead_of_primary) continue;
            if (t.target == all) rows_.push_back(&t);
            if (t.beta > 0 && (yard.transformers.empty() || report.is_power_transformer(t.target)))
                harmful_.insert(t.fault.id);
        }
        std::sort(rows_.begin(), rows_.end(),
                  [](const Threat* a, const Threat* b) { return a->fault.id < b->fault.id; });
        for (const Threat* t : rows_) faults_.push_back(t->fault);
        for (std::size_t l = 0; l < yard.limits.size(); ++l)
            if (std::any_of(yard.targets.begin(), yard.targets.end(),
                            [&](const threat::Target& t) { return t.part == yard.limits[l].part; }))
                rated_.push_back(l);
    }

    PairReport run() {
        find_alone();
        PairReport out;
        out.faults = rows_.size();
        std::vector<std::pair<int, int>> pairs;
        for (std::size_t i = 0; i < rows_.size(); ++i)
            for (std::size_t j = i + 1; j < rows_.size(); ++j)
                if (rows_[i]->part != rows_[j]->part) pairs.emplace_back(static_cast<int>(i), static_cast<int>(j));
        out.pairs = pairs.size();
        std::vector<PairSolution> found(pairs.size());
        if (!yard_.transformers.empty()) found = bench_.sweep_pairs(Condition{}, faults_, pairs);
        std::vector<Estimate> supply;
        for (std::size_t p = 0; p < pairs.size(); ++p) {
            const auto i = static_cast<std::size_t>(pairs[p].first), j = static_cast<std::size_t>(pairs[p].second);
            if (found[p].solved) {
                ++out.from_curve;
                curve_pair(i, j, found[p], out);
            } else {
                supply.push_back(estimate(i, j));
            }
        }
        shoot(std::move(supply), out);
        sort(out.by_current, [](const PairThreat& p) { return p.primary_amps_rms; });
        sort(out.together, worse_by);
        out.harmful_together = out.together.size();
        if (out.by_current.size() > kept) out.by_current.resize(kept);
        if (out.together.size() > kept) out.together.resize(kept);
        return out;
    }

  private:
    /// Of one fault alone: what a pair is added up from and compared with.
    struct Alone {
        bool solved = false;
        std::vector<Heat> heats;      ///< by power transformer
        std::vector<double> celsius;  ///< where each settles, at the hot end
        std::vector<double> times;    ///< of each rating
    };
    /// What a pair does if both faults' changes add up.
    struct Estimate {
        std::size_t first = 0, second = 0;
        double primary = 0;
        double worse = 0;  ///< kelvin over the worse alone, or times a rating over those alone; 0: no harm together
    };

    std::vector<double> times_of(const Loads& loads) const {
        std::vector<double> times;
        for (const std::size_t l : rated_)
            times.push_back(stress::figure_of(yard_.limits[l], chassis_, loads) / yard_.limits[l].limit);
        return times;
    }
    Alone alone_of(const Loads& loads) const {
        Alone one;
        one.solved = true;
        for (const PowerTransformer& t : yard_.transformers) {
            one.heats.push_back(yard_.heat_of(t, loads, nullptr));
            one.celsius.push_back(settles(t, one.heats.back()));
        }
        if (yard_.transformers.empty()) one.times = times_of(loads);
        return one;
    }
    static double settles(const PowerTransformer& t, const Heat& heat) {
        return t.heatings[threat::hot].steady(heat).steady_celsius;
    }
    void find_alone() {
        health_ = alone_of(Loads(chassis_, yard_.healthy));
        for (std::size_t from = 0; from < faults_.size(); from += estimated_at) {
            const std::size_t n = std::min(estimated_at, faults_.size() - from);
            for (const FaultSolution& s : bench_.sweep(Condition{}, std::span(faults_).subspan(from, n)))
                alone_.push_back(s.solved ? alone_of(Loads(chassis_, s.solution)) : Alone());
        }
    }

    PairThreat pair_of(std::size_t i, std::size_t j, double primary) const {
        const Threat &a = *rows_[i], &b = *rows_[j];
        PairThreat pair;
        pair.first = a.fault.id;
        pair.second = b.fault.id;
        pair.primary_amps_rms = primary;
        pair.primary_times_normal = yard_.primary_normal > 0 ? primary / yard_.primary_normal : 0;
        pair.chance = chance(a) * chance(b);
        return pair;
    }

    /// Alone, to every power transformer, or to every scarce part.
    bool harmless(std::size_t i) const { return harmful_.count(rows_[i]->fault.id) == 0; }
    bool harmless(std::size_t i, std::size_t j) const { return harmless(i) && harmless(j); }
    /// By what the pair is worse than the worse of the two alone: kelvin, or times a rating.
    static double worse_by(const PairThreat& p) {
        return p.times_rating > 0 ? p.times_rating - p.times_rating_alone
                                  : p.hot_spot_hot_end_celsius - p.hot_spot_alone_celsius;
    }
    static bool clearly_worse(const PairThreat& p) {
        return p.times_rating > 0 ? p.times_rating >= further * std::max(1.0, p.times_rating_alone)
                                  : worse_by(p) >= hotter_kelvin;
    }

    void judge(PairThreat& pair, const PowerTransformer& of, const Heat& heat, double alone) const {
        const Verdict verdict = of.heat(heat);
        pair.target = of.id;
        pair.beta = verdict.beta;
        pair.beta_reason = (yard_.transformers.size() > 1 && verdict.beta > 0 ? of.id + ": " : "") + verdict.why;
        pair.hot_spot_hot_end_celsius = verdict.course[threat::hot].steady_celsius;
        pair.hot_spot_alone_celsius = alone;
    }
    double hotter_alone(std::size_t k, std::size_t i, std::size_t j) const {
        return std::max(alone_[i].celsius[k], alone_[j].celsius[k]);
    }

    void curve_pair(std::size_t i, std::size_t j, const PairSolution& found, PairReport& out) const {
        const PowerTransformer& first = yard_.transformers.front();
        const bool alone = harmless(i, j);
        const double worse = std::max(rows_[i]->primary_amps_rms, rows_[j]->primary_amps_rms);
        if (!alone && found.primary_rms < 1.02 * worse) return;  // the worse of the two says it all
        std::vector<WindingLoad> windings = first.healthy_windings;
        Heat heat;
        for (std::size_t k = 0; k < windings.size() && k < found.winding_rms.size(); ++k) {
            WindingLoad& w = windings[k];
            w.rms_amps = found.winding_rms[k];
            w.peak_amps = 0;
            w.copper_watts = w.rms_amps * w.rms_amps * first.windings[k].ohms;
            heat.copper_watts.push_back(w.copper_watts);
        }
        heat.stiffness = std::max(stiffness(i), stiffness(j));
        if (Yardstick::copper_watts(windings) < warmer * first.copper_normal) return;
        PairThreat pair = pair_of(i, j, found.primary_rms);
        pair.windings = std::move(windings);
        if (alone) {
            if (settles(first, heat) < hotter_alone(0, i, j) + hotter_kelvin) return;
            judge(pair, first, heat, hotter_alone(0, i, j));
            if (pair.beta > 0) out.together.push_back(std::move(pair));
        } else if (found.primary_rms > 1.3 * worse) {
            judge(pair, first, heat, hotter_alone(0, i, j));
            out.by_current.push_back(std::move(pair));
        }
    }
    double stiffness(std::size_t i) const { return alone_[i].heats.empty() ? 0 : alone_[i].heats.front().stiffness; }

    /// The copper that both faults' changes of current make, or the rating that both take most of.
    Estimate estimate(std::size_t i, std::size_t j) const {
        const Alone &a = alone_[i], &b = alone_[j];
        Estimate e{i, j};
        e.primary = std::max(0.0, rows_[i]->primary_amps_rms + rows_[j]->primary_amps_rms - yard_.primary_normal);
        if (!a.solved || !b.solved || !harmless(i, j)) return e;
        for (std::size_t l = 0; l < a.times.size(); ++l) {
            const double both = a.times[l] + b.times[l] - health_.times[l], alone = std::max(a.times[l], b.times[l]);
            if (both >= further * std::max(1.0, alone)) e.worse = std::max(e.worse, both - alone);
        }
        for (std::size_t k = 0; k < a.heats.size(); ++k) {
            Heat heat;
            double copper = 0;
            for (std::size_t w = 0; w < a.heats[k].copper_watts.size(); ++w) {
                const auto root = [w](const Heat& h) { return std::sqrt(std::max(0.0, h.copper_watts[w])); };
                const double both = std::max(0.0, root(a.heats[k]) + root(b.heats[k]) - root(health_.heats[k]));
                heat.copper_watts.push_back(both * both);
                copper += both * both;
            }
            if (copper < warmer * yard_.transformers[k].copper_normal) continue;
            heat.stiffness = std::max(a.heats[k].stiffness, b.heats[k].stiffness);
            const double celsius = settles(yard_.transformers[k], heat), hotter = celsius - hotter_alone(k, i, j);
            if (celsius > threat::ageing_celsius && hotter >= hotter_kelvin) e.worse = std::max(e.worse, hotter);
        }
        return e;
    }

    /// The half of them of which the estimate says the worst, and of the others those with most current.
    void shoot(std::vector<Estimate> supply, PairReport& out) {
        std::stable_sort(supply.begin(), supply.end(),
                         [](const Estimate& a, const Estimate& b) { return a.worse > b.worse; });
        const auto harmful = static_cast<std::ptrdiff_t>(
            std::min(static_cast<std::size_t>(
                         std::count_if(supply.begin(), supply.end(), [](const Estimate& e) { return e.worse > 0; })),
                     shot_supply_pairs / 2));
        std::stable_sort(supply.begin() + harmful, supply.end(),
                         [](const Estimate& a, const Estimate& b) { return a.primary > b.primary; });
        for (std::size_t k = 0; k < supply.size(); ++k) {
            const Estimate& e = supply[k];
            if (k >= shot_supply_pairs || !shot(e, out)) {
                ++out.not_shot;
                out.not_shot_harmful += e.worse > 0 ? 1 : 0;
            }
        }
    }
    bool shot(const Estimate& e, PairReport& out) {
        const std::array both{rows_[e.first]->fault, rows_[e.second]->fault};
        const FaultSolution found = bench_.solve(Condition{}, both, false);
        if (!found.solved) return false;
        ++out.reshot;
        const Loads loads(chassis_, found.solution);
        PairThreat pair = pair_of(e.first, e.second, found.solution.primary_rms.value());
        pair.reshot = true;
        for (std::size_t k = 0; k < yard_.transformers.size(); ++k) {
            const PowerTransformer& t = yard_.transformers[k];
            PairThreat there = pair;
            judge(there, t, yard_.heat_of(t, loads, nullptr), hotter_alone(k, e.first, e.second));
            if (k > 0 && there.beta <= pair.beta) continue;
            there.windings = t.windings_of(loads);
            pair = std::move(there);
        }
        if (yard_.transformers.empty()) judge_by_ratings(pair, e, times_of(loads));
        out.by_current.push_back(pair);
        if (pair.beta > 0 && harmless(e.first, e.second) && clearly_worse(pair))
            out.together.push_back(std::move(pair));
        return true;
    }
    /// By the rating that the pair passes by most more than either alone.
    void judge_by_ratings(PairThreat& pair, const Estimate& e, const std::vector<double>& times) const {
        double most = 0;
        for (std::size_t l = 0; l < times.size(); ++l) {
            const double alone = std::max(alone_[e.first].times[l], alone_[e.second].times[l]);
            if (times[l] <= 1 || times[l] - alone <= most) continue;
            most = times[l] - alone;
            const stress::Limit& limit = yard_.limits[rated_[l]];
            pair.target = chassis_.parts()[static_cast<std::size_t>(limit.part)].id;
            pair.times_rating = times[l];
            pair.times_rating_alone = alone;
            pair.beta = ratio_beta(times[l]);
            pair.beta_reason = threat::figure(times[l]) + " times its " + limit.quantity;
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
    std::set<std::string> harmful_;  ///< faults that do harm alone
    std::vector<const Threat*> rows_;
    std::vector<Fault> faults_;
    std::vector<std::size_t> rated_;  ///< limits of the scarce parts
    Alone health_;
    std::vector<Alone> alone_;  ///< by row
};

}  // namespace

Outcome<PairReport> pairs_of(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy, Bench& bench,
                             const ThreatReport& report) {
    Outcome<Solution> healthy = bench.solve(Condition{});
    if (!healthy) return healthy.notices();
    const Yardstick yard(chassis, catalogue, policy, std::move(*healthy));
    return Pairs(chassis, bench, report, yard).run();
}

}  // namespace tubewright
