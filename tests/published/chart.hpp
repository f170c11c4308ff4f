// SPDX-License-Identifier: MIT
// Whether a chart of printed volts agrees with itself, by arithmetic on the chart alone: currents that must be equal
// (through the resistors of one path, or into and out of one net) and what a tube would need for the current that the
// chart gives it. Nothing is solved here. A charge on the chart is a sentence; none means that it agrees with itself.
//
//     Chart chart;
//     chart.same("the second stage", {{"plate", 290 - 190, 100e3}, {"cathode", 1.5, 1.5e3}});
//     chart.charges();                                     // empty: 1.00 and 1.00 mA
//
// Tests: charts_test.cpp, and the drawings beside it.
#pragma once

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include <tubewright/tubewright.hpp>

#include "rail.hpp"

namespace published {

/// Printed volts across a known resistor.
struct Across {
    std::string what;
    double volts = 0, ohms = 0;
    double amps() const { return volts / ohms; }
};

class Chart {
  public:
    /// A chart is said to be good to 20 % by its own drawing; parts to 10 %. Two currents that are one and the same and
    /// stand further apart than this cannot both be right.
    static constexpr double most_apart = 0.15;
    /// Tubes differ, and a tube near cut-off differs by much: it is charged only where it would need half as much again
    /// as its printed plate volts.
    static constexpr double most_plate_volts = 1.5;

    /// One current, seen in several places.
    void same(const std::string& where, const std::vector<Across>& places) {
        for (const Across& one : places) charge(where, places.front().amps(), one.amps());
    }

    /// What comes into a net against what leaves it.
    void net(const std::string& where, const std::vector<Across>& in, const std::vector<Across>& out) {
        charge(where, sum(in), sum(out));
    }

    /// A triode at its printed volts: the plate volts at which the law gives the current that the chart gives.
    void triode(const std::string& where, const tw::SectionModel& section, double plate_volts, double grid_volts,
                double amps) {
        const double needed = plate_volts_for(section, grid_volts, amps);
        if (needed > most_plate_volts * plate_volts || needed < plate_volts / most_plate_volts)
            charges_.push_back(where + ": " + std::to_string(amps * 1e3) + " mA at " + std::to_string(grid_volts) +
                               " V take " + std::to_string(needed) + " V of plate, printed " +
                               std::to_string(plate_volts));
    }

    static double plate_volts_for(const tw::SectionModel& section, double grid_volts, double amps) {
        double low = 0, high = 2000;
        for (int k = 0; k < 60; ++k) {
            const double middle = 0.5 * (low + high);
            const tw::TubeCurrents c = tw::currents_at(section, tw::volts(middle), tw::volts(0), tw::volts(grid_volts));
            (c.plate_amps < amps ? low : high) = middle;
        }
        return high;
    }

    const std::vector<std::string>& charges() const { return charges_; }
    bool charged(const std::string& where) const {
        return std::any_of(charges_.begin(), charges_.end(),
                           [&](const std::string& one) { return one.starts_with(where + ":"); });
    }

  private:
    static double sum(const std::vector<Across>& places) {
        double total = 0;
        for (const Across& one : places) total += one.amps();
        return total;
    }
    void charge(const std::string& where, double a, double b) {
        if (std::fabs(a - b) > most_apart * 0.5 * (a + b) && !charged(where))
            charges_.push_back(where + ": " + std::to_string(a * 1e3) + " against " + std::to_string(b * 1e3) + " mA");
    }
    std::vector<std::string> charges_;
};

/// The constants of a triode of the catalogue.
inline tw::SectionModel triode_of(const char* type) {
    const tw::Outcome<tw::TubeModel> model = tw::tube_model(*catalogue().tube(type), catalogue());
    for (const tw::SectionModel& section : model.value().sections)
        if (section.law == "triode") return section;
    throw std::runtime_error(std::string(type) + " has no triode");
}

}  // namespace published
