// SPDX-License-Identifier: MIT
// Free decay of a network of resistances and capacitors, all sources gone: when does the voltage across each capacitor
// fall for good below a level? The integrator of the periods (period.hpp) in decades of time, fifty steps to a decade's
// start, so that a crossing is found to a thousandth. Test: tests/bench/decay_test.cpp (closed forms).
#pragma once

#include <vector>

namespace tubewright::circuit {

struct DecayBranch {
    int a = 0, b = 0;  ///< nodes; 0 is the reference
    double value = 0;  ///< siemens, or farads
    double volts = 0;  ///< capacitors: v(a) - v(b) at the start
};

struct Decay {
    std::vector<double>
        seconds;  ///< by capacitor: last time above the level; 0 when never above it, negative when it stays above
    std::vector<double> joules;  ///< by resistance: burnt in it until the last capacitor has fallen below the level
};

/// nodes: count with the reference. Capacitors that nothing empties within `longest` seconds come back negative.
Decay decay(int nodes, const std::vector<DecayBranch>& conductances, const std::vector<DecayBranch>& capacitors,
            double level_volts, double longest_seconds);

}  // namespace tubewright::circuit
