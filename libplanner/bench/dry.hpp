// SPDX-License-Identifier: MIT
// What feeds a set without glass: dry rectifiers (selenium, copper oxide, silicon), batteries, vibrators. Their
// constants are not in the file and in no table: all of them assumed, common practice, with the spread that age gives.
//
// A dry rectifier of n plates in series passes i amperes at
//     v = n fold ln(1 + i / saturation) + i ohms
// forward, and beside it a leak that passes back. A selenium plate of a new stack drops 1 V at its rated current, three
// fifths of it in the exponential. Over twenty years its ohms and its leak back double, and there they
// stay; a stack without a date is as old. Solved for i by Newton on x = ln(1 + i / saturation), where the equation is
// convex and rising.
//
// A battery is its marked volts behind the ohms of fresh cells. With a date (`since`) it is spent in step with its
// years: 1.5 V cells fall to 1.2 V and their ohms to ten times. Tests: tests/bench/dry_test.cpp,
// ageing_supply_test.cpp.
#pragma once

#include <string>
#include <vector>

#include <tubewright/chassis.hpp>
#include <tubewright/policy.hpp>

#include "circuit/circuit.hpp"

namespace tubewright::bench {

/// Nodes anode, cathode; the parameters in this order. `scale` 0: taken out.
circuit::Law dry_rectifier_law();
enum DryParameter { scale, saturation_amps, fold_volts, series_ohms, reverse_siemens, dry_parameters };
const std::vector<std::string>& dry_parameter_names();

/// Years of a part by its own date or the set's; none is as old as the trade's sets are.
struct Age {
    double years = 0;
    bool known = true;
};
Age age_of(const Part& part, const Chassis& set, int today_year);

struct DryRectifier {
    std::vector<double> parameters;
    int plates = 1;
    double rated_volts = 0, rated_amps = 0;
    double least_ohms = 0, most_ohms = 0;        ///< of series_ohms, new to tired
    double least_siemens = 0, most_siemens = 0;  ///< of reverse_siemens
    std::string made;                            ///< "5 plates of selenium, new"
};
/// From its rated volts (rms) and amperes; 130 V and 75 mA where the file has none.
DryRectifier dry_rectifier(const Part& part, const Age& age = {});

/// A battery as it stands: of its cells, by what it is for, its date and what was seen; and how far it may be off.
struct Battery {
    double volts = 0, least_volts = 0, most_volts = 0;  ///< open
    double ohms = 0, least_ohms = 0, most_ohms = 0;
    bool lead = false;  ///< of an accumulator's cells
    std::string state;  ///< "in service: as marked", "2 years old"
};
Battery battery_of(const Part& part, const Chassis& set, int today_year);
constexpr double new_cells = 1.04;  ///< a new dry battery over its marked volts: 7.8 for 7.5

/// Contacts of a vibrator by lead (reed first): shares of a cycle between which each is closed, whole eightieths.
struct Closed {
    int lead = 0;
    double from = 0, to = 0;
    bool rectifies = false;  ///< a secondary contact of a synchronous one
};
constexpr double usual_duty = 0.85;
constexpr int vibrator_grid = 80;  ///< steps of a cycle on which the edges fall
std::vector<Closed> vibrator_contacts(const Part& part);

/// What a set without a line runs on: the battery that `--line` speaks of, or none. The vehicle's, else the A battery,
/// else the first; those that are out do not count.
int leading_battery(const Chassis& set);
/// Volts of the line, or of the leading battery.
double feed_volts(const Chassis& set);
/// Cycles of the period: the line's now, a vibrator's; 60 for direct current alone.
double feed_hertz(const Chassis& set, const Policy& policy);

}  // namespace tubewright::bench
