// SPDX-License-Identifier: MIT
// What may be wrong with a set, placed on its parts, and what was done to it so far.
#pragma once

#include <map>
#include <string>
#include <vector>

#include <tubewright/export.hpp>

namespace tubewright {

/// A way a part can fail, placed: the parts and nets it touches and the value it takes.
enum class FaultMode {
    short_circuit,
    open,
    leak,
    drift,
    layer_short,
    weak,
    dead,
    grid_cathode_short,
    heater_cathode_short,
    plate_grid_short,
    plate_cathode_short,
    screen_grid_short,
    gas,
    to_chassis,
    tracking
};
TUBEWRIGHT_API const char* word(FaultMode mode);
struct Fault {
    std::string id;  ///< "C1 short", "T1 plate half 1 layer short"
    int part = -1;
    FaultMode mode = FaultMode::short_circuit;
    int lead_a = -1, lead_b = -1;  ///< leads of the part that are joined; or lead_a to net_b
    int net_b = -1;
    int winding = -1, half = -1;
    double ohms = 0;    ///< short, leak, tracking: resistance of the path
    double factor = 1;  ///< drift: times the value; weak: times the emission
};

/// State of one part on the bench.
enum class PartState { original, lifted, removed, omitted, fitted, proved };
/// A reading taken with a meter.
struct Reading {
    std::string at, to, quantity;
    double value = 0;
    double line_volts = 0;
    std::string meter;
};
/// What was done so far. Empty for a set just arrived.
struct Progress {
    std::map<std::string, PartState> parts;
    std::vector<std::string> gates_passed;
    std::vector<std::string> steps_done;
    std::vector<Reading> readings;
};

}  // namespace tubewright
