// SPDX-License-Identifier: MIT
// What the line and the plate winding ask of a capacitor: the value of a Y capacitor from the touch-current limit, the
// volts of a buffer.
#pragma once

#include <optional>
#include <string>

#include <tubewright/catalogue.hpp>
#include <tubewright/chassis.hpp>
#include <tubewright/policy.hpp>

#include "chassis/reach.hpp"
#include "choice/duty.hpp"

namespace tubewright::choice {

/// Least rating of a capacitor across a plate winding (common practice).
inline constexpr double buffer_volts = 1600;

/// The policy's upper limit, else 126 V on a 100-130 V line and 253 V on 220-240 V (recalled).
double upper_line_volts(const Chassis& chassis, const Policy& policy);
/// The policy's, else the set's own, else 60.
double line_hertz(const Chassis& chassis, const Policy& policy);

/// What a hand to earth carries through so many farads from the line: 2 pi f C V (the hand's own 1.5 k is little
/// beside).
inline double touch_amps(double farads, double line_volts, double hertz) {
    return 2 * 3.14159265358979323846 * hertz * farads * line_volts;
}

/// Largest stocked value, no more than the old one's nearest, that passes its share of .5 mA at the upper line and
/// upper tolerance; 0 when none does.
double touch_safe_farads(const Catalogue& catalogue, double old_farads, double upper_line, double hertz, int shared_by);

/// A resistor that alone keeps the line from a hand, and what it passes at the upper line.
struct Bleed {
    double alone = 0, in_all = 0;  ///< amperes; in all: with its like and the new Y capacitors beside it
    double least_ohms = 0;         ///< stocked, that stays under the limit; 0: none does
    double ohms = 0;               ///< the same at its lower tolerance: what is bought
    bool unsafe = false;
};
/// Nothing where the part is no such resistor.
std::optional<Bleed> bleed_of(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy,
                              const Duties& duties, const LineReach& reach, int part);
/// Behind a transformer whatever the line leads to is touched; the metal of a hot set is where the file says so.
bool in_reach_of_a_hand(const Chassis& chassis, const LineReach& reach, int part);
/// What it does: "bleed from bminus to metal".
std::string bleed_words(const Chassis& chassis, int part);

}  // namespace tubewright::choice
