// SPDX-License-Identifier: MIT
// Small signals about a solution: what each stage amplifies as it stands, and where each tuned circuit rings. The
// equations are those of the translation, linear about the mean volts of the period, with three things put right that
// matter little at line frequency: a coil whose henries are in the file is an inductor, an output transformer shows its
// tube the load that the file states, and rectifiers, contacts and the line do not alternate.
//
// Example: a 12AX7 with 100 k and a bypassed cathode turns a volt at its grid into mu RL / (rp + RL) at its plate.
// After any textbook; no source beyond the solution itself. Test: tests/bench/small_signal_test.cpp.
#pragma once

#include <tubewright/bench.hpp>

#include "bench/solving.hpp"

namespace tubewright::bench {

SmallSignal small_signal_of(const Translation& in, const Chassis& set, const Solved& solved,
                            const Condition& condition);

}  // namespace tubewright::bench
