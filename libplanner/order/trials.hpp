// SPDX-License-Identifier: MIT
// A condition of a bring-up solved as a person meets it: healthy, at the ends of what line, meter and lamp may be, with
// the output tube cut off, and under each of the likeliest faults. From these a reading gets its band and its stops:
// half way between the band and the nearest fault beyond it; a fault inside the band is one that it cannot tell.
//
//     Trials trials(set, bench, threats);
//     if (const auto a = trials.around(trials.condition(Scenario::lamp, 60)))
//         trials.place_net(*a, set.b_plus).above;   // switch off over it
//
// Tests: tests/order/power_up_test.cpp.
#pragma once

#include <cmath>
#include <map>
#include <optional>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

#include <tubewright/threat.hpp>

#include "bench/bench.hpp"
#include "order/set_on_bench.hpp"

namespace tubewright::power_up {

constexpr double line_wander = 0.03;  // of the line while one reads, and of the meter on it (assumed)
constexpr double lamp_spread = 0.05;  // of a lamp's watts, new (assumed)
constexpr double told_apart = 0.02;   // of the lamp's volts: less, and no eye tells two faults apart

struct Around {
    Solution healthy;
    std::vector<Solution> ends;
    std::optional<Solution> idle, high;
    std::vector<std::pair<std::string, Solution>> faults;
};

struct Placed {
    double expect = 0, low = 0, high = 0;
    std::optional<double> below, above;
    std::vector<std::string> hidden;
};

/// Faults by criticality: of the power transformer; of a set without one, of any part, each once.
std::vector<Threat> likeliest(const ThreatReport& threats);

class Trials {
  public:
    /// `bench` knows the faults of `threats`. supply_alone: of them only those that load the supply.
    Trials(const SetOnBench& set, Bench& bench, const ThreatReport& threats, bool supply_alone = false);

    Condition condition(Scenario scenario, double lamp_watts = 0) const;
    std::optional<Solution> solve(const Condition& c);
    std::optional<Around> around(const Condition& c);
    const std::vector<Notice>& failure() const { return failure_; }
    Bench& bench() { return bench_; }

    template <typename Get>
    Placed place(const Around& a, const Get& get, double low, double high, double floor,
                 std::vector<std::pair<std::string, double>> extreme = {}) const {
        std::vector<double> ends;
        for (const Solution& end : a.ends) ends.push_back(get(end));
        for (const auto& [id, solution] : a.faults) extreme.emplace_back(id, get(solution));
        if (a.idle) extreme.emplace_back("", get(*a.idle));
        return placed(get(a.healthy), ends, low, high, floor, extreme);
    }
    /// Supply quantities have no band of their own: a good tube draws so much more or less of what the output tube
    /// draws.
    template <typename Get>
    Placed place_supply(const Around& a, const Get& get,
                        std::vector<std::pair<std::string, double>> extreme = {}) const {
        const double h = get(a.healthy), draws = a.idle ? std::fabs(get(*a.idle) - h) * set_.policy.tube_spread : 0;
        return place(a, get, h - draws, h + draws, 0, std::move(extreme));
    }
    Placed place_net(const Around& a, int net) const;
    double meter_share(const NetVolts& v, double volts_there) const;
    double range_for(double volts_there) const;
    /// The likeliest supply faults that neither the lamp nor B-plus behind it tells from health.
    std::vector<std::string> untold(const Around& a) const;
    /// The rectifier is hot enough for B-plus to mean anything.
    bool warm_enough(const Solution& in) const;
    const std::vector<std::string>& supply() const { return supply_; }

  private:
    void choose(const ThreatReport& threats, bool supply_alone);
    std::optional<Around> solve_around(const Condition& c);
    Placed placed(double expect, const std::vector<double>& ends, double low, double high, double floor,
                  const std::vector<std::pair<std::string, double>>& extreme) const;
    static bool trips(const Placed& p, double v) { return (p.above && v > *p.above) || (p.below && v < *p.below); }

    const SetOnBench& set_;
    Bench& bench_;
    std::vector<Notice> failure_;
    std::vector<Fault> trials_;
    std::vector<std::string> supply_;                                        ///< ids of the likeliest shorts on B-plus
    std::map<std::tuple<Scenario, double, double, double>, Around> around_;  ///< a lamp is chosen by what is printed
};

}  // namespace tubewright::power_up
