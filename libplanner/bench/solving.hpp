// SPDX-License-Identifier: MIT
// A condition (and faults) as settings of the equations, and the fixed point of the heaters around the periodic
// solution: ohms that follow their own rms volts, emission that follows the heater. The volts of a thermal part are
// constant within a period, so the outer iteration is on the logarithm of its ohms, with one step of Anderson mixing.
// Test: tests/bench/solve_test.cpp.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include <tubewright/bench.hpp>

#include "bench/translation.hpp"

namespace tubewright::bench {

/// Emission of an oxide cathode at a share of its heater volts (assumed): all of it from 0.6 up, none below 0.3, smooth
/// between.
double emission_at(double heater_share);

/// Dry rectifiers alone feed the set: B-plus is there before the first filament is warm.
bool dry_alone(const Translation& in);

/// Copper in iron that carries amperes rms at the ohms it has now, in air of so many degrees C: its ohms once it is as
/// warm as those watts make it (234.5 K rule; 8 K a watt, 4 to 14, and never more than 105 K, all assumed).
double warm_ohms(double cold, double amps, double ohms, double ambient);

/// What a condition and faults make of the equations.
struct Setting {
    double volts = 0, hertz = 0;
    std::vector<Change> changes;
    std::vector<double> emission;  ///< by tube: factor on what its heater gives
    std::vector<double> open;      ///< by thermal: factor on its ohms, 1 or very large
    std::vector<char> cold;        ///< by thermal: held at its cold ohms
    double ambient = 0;            ///< degrees C round coils that warm themselves; 0: they stay as the file has them
    double lamp_watts = 0, lamp_volts = 0;
    std::vector<std::pair<int, double>> feeds;  ///< item of a battery, factor on its volts
    double further_amps = 0;                    ///< drawn at the port
    bool whole = false;    ///< shoot the whole set: its ripple bends more than a block at its edge can tell
    std::string why;       ///< the condition cannot be had: no such tube ...
    bool foreign = false;  ///< that because the set has nothing that the condition is about
};

/// Values changed by set_values, already placed on items.
using Values = std::vector<Change>;

/// One translation with its two engines.
struct Rig {
    std::shared_ptr<const Translation> translation;
    std::unique_ptr<circuit::Engine> full, twin;
    Rig clone() const;
};

struct Solved {
    bool ok = false;
    std::string why;
    std::vector<int> nets;  ///< named by the trouble
    circuit::Periodic wave;
    std::vector<circuit::Override> overrides;  ///< of the full circuit
    std::vector<Change> changes;               ///< the same, by item
    std::vector<double> log_ohms;  ///< thermals, then the series lamp, then ohms and henries of each iron coil
    std::vector<double> emission;  ///< by tube, as it came out
    std::vector<double> heat;      ///< by tube: share of its heater volts; 0 where none, or nothing emits
    double volts = 0, hertz = 0;
    int shots = 0;
    double mixing = 0;  ///< Anderson's weight of the last round: for a solution started from this one
    bool lamp = false;
    bool foreign = false;  ///< as Setting has it
};

Setting setting_of(const Translation& in, const Chassis& set, const Policy& policy, const Condition& condition);
void place(const FaultEffect& effect, Setting& setting);

Solved shoot(Rig& rig, const Setting& setting, const Values& values, int steps, bool ripple, const Solved* warm);

/// Changes as overrides of the full circuit or the twin, one for each value, the last word winning.
std::vector<circuit::Override> overrides_of(const Translation& in, const std::vector<Change>& changes, bool twin);

/// Value of an item under a list of changes; its own otherwise.
double value_under(const Translation& in, const std::vector<Change>& changes, int item, Slot slot, int index);

/// A tube at such heat that what it emits is a guess, and how little and how much of it that may be.
struct HalfHeated {
    int tube = -1;
    double low = 0, high = 0;
};
std::vector<HalfHeated> half_heated_tubes(const Translation& in, const Solved& solved);

/// Volts and amperes in the trade's words.
Solution read_out(const Rig& rig, const Chassis& set, const Solved& solved, const Condition& condition,
                  bool check_currents);

}  // namespace tubewright::bench
