// SPDX-License-Identifier: MIT
// The turns of an output transformer, of any windings and taps. They are counted in roots of ohms: a winding of n such
// turns presents n^2 ohm when every winding is loaded as it was made to be, so that 5 k plate to B-plus are 70.7 and a
// tap for 8 ohm 2.83. Of a primary the marked load stands plate to plate, or plate to where B-plus comes in. Of a
// secondary what is known decides, in this order: volts read with the load off, the ohms marked for its taps (or their
// names), its copper, the load that hangs on it. What had to be taken is said.
//
// Example: leads="gnd t4 t8 t16" has 2, 2.83 and 4 roots of ohms to its taps. Tests: tests/bench/output_turns_test.cpp.
#pragma once

#include <string>
#include <vector>

#include <tubewright/chassis.hpp>

namespace tubewright::bench {

/// One winding. Leads count along `PartWinding::leads`.
struct OutputWinding {
    int winding = -1;           ///< of the part
    std::vector<double> turns;  ///< from each lead to the next, in roots of ohms
    std::string source;         ///< how they are known, for a section after the first "... by its copper"
    int from = 0, to = 0;       ///< primary: what its load stands between; secondary: what carries the most of its load
    double hung_siemens = 0;    ///< secondary: of what hangs on it, seen between those
    bool speaks = false;        ///< secondary: a voice coil is among what hangs on it
};

struct OutputTurns {
    std::vector<OutputWinding> primaries, secondaries;
    double load_ohms = 0;   ///< of the first primary
    double half_turns = 0;  ///< of the first primary, from a plate to B-plus
    std::vector<Assumption> assumptions;
};

/// Empty without a primary.
OutputTurns output_turns(const Chassis& set, const Part& part);

/// Pairs of leads of an output transformer that swing against each other: the ends of a primary with taps; of two
/// primaries the first lead of one and the last of the other.
std::vector<std::pair<int, int>> opposite_ends(const Part& part);

}  // namespace tubewright::bench
