// SPDX-License-Identifier: MIT
// What a pin is to the circuit: the audit asks "is there a plate on this pin", not "does it begin with p". Worked out
// from the electrode words of the basing and the class of the tube (in a converter the doubled grid is the screen, g2
// alone its anode grid; in "g2t" the 2 is the unit). Tests: tests/audit/electrodes_test.cpp.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include <tubewright/chassis.hpp>

namespace tubewright::audit {

enum class Electrode {
    heater,
    heater_tap,
    cathode,
    plate,
    rectifier_plate,
    screen,
    control_grid,
    suppressor,
    diode,
    shell,
    internal,
    unused
};
const char* word(Electrode electrode);

/// One electrode of one socket; unit tells the units of a tube apart ("", "1", "2", "t", "r").
struct PinElectrode {
    int lead = -1;  ///< index into Part::leads
    Electrode electrode = Electrode::unused;
    std::string unit;
    std::string written;  ///< as in the basing
};

/// All electrodes of a socket in the order of its leads; a pin with nothing behind it comes as `unused`. Empty when no
/// type is known.
std::vector<PinElectrode> electrodes_of(const Part& socket);

/// A converter or mixer: its grids have names of their own.
bool mixes(const Part& socket);
/// The second grid of a converter, alone on its pin: the plate of its oscillator.
bool is_anode_grid(const Part& socket, const PinElectrode& pin);
/// As the trade calls it: "anode grid", "signal grid", "plate 2", "filament".
std::string trade_name(const Part& socket, const PinElectrode& pin);

/// A unit that rectifies (all of a rectifier; the "r" unit of a rectifier with a power tube in one bulb).
bool rectifies(const Part& socket, const PinElectrode& pin);

}  // namespace tubewright::audit
