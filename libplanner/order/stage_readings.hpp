// SPDX-License-Identifier: MIT
// The readings of a stage, each solved for its condition with line and meter of the policy: supply (lamp, set, amperes,
// watts), windings (each half to the centre tap), heaters, filters, electrodes, ripple; what a wrong one points to.
// Tests: tests/order/power_up_test.cpp.
#pragma once

#include <string>

#include <tubewright/order.hpp>

#include "order/trials.hpp"

namespace tubewright::power_up {

constexpr const char* half_minute = "in the first half minute";
constexpr const char* tubes_warm = "after the tubes are warm";

/// dark, dull red, orange, yellow, white: of a lamp at this share of its volts.
const char* glow(double share);
StageReading reading(const std::string& from, const std::string& to, const char* quantity, double expect, double low,
                     double high, std::optional<double> stop, const std::string& if_low, const std::string& if_high);

class StageReadings {
  public:
    /// volts, supply: "line", or "battery" for what an ammeter stands in the lead of.
    StageReadings(const SetOnBench& set, Trials& trials, std::string feed = "line")
        : set_(set), trials_(trials), feed_(std::move(feed)) {}

    /// Each winding but the primary.
    void windings(PowerStage& s, const Around& a, bool with_plates) const;
    /// Behind a lamp: its volts and the set's; straight: amperes and watts.
    void supply(PowerStage& s, const Around& a, double lamp, bool assumed_core = false) const;
    /// Each heater of a string, across its own pins.
    void heaters(PowerStage& s, const Around& a) const;
    /// Each filament of a direct-current string, its hot end to the end below.
    void filaments(PowerStage& s, const Around& a) const;
    void net(PowerStage& s, const Around& a, int net, const std::string& if_low, const std::string& if_high,
             bool says_nothing = false) const;
    /// Filters, and cathode and grid of the output tubes.
    void b_plus(PowerStage& s, const Around& a, bool meaningful) const;
    /// What is left of all pins.
    void pins(PowerStage& s, const Around& a) const;
    /// The first half minute: the rectifier is there before the tubes draw. False: it has no solution.
    bool first_half_minute(PowerStage& s, double lamp) const;
    /// Ripple as it is, and with the filters dried to half: the band ends and the stop stands half way between.
    void ripple(PowerStage& s, const Solution& normal) const;

  private:
    void electrode(PowerStage& s, const Around& a, const Part& p, const Lead& l, const std::string& electrode) const;
    void output_grid(PowerStage& s, const Around& a, int net) const;

    const SetOnBench& set_;
    Trials& trials_;
    std::string feed_;
};

}  // namespace tubewright::power_up
