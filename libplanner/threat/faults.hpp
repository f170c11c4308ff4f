// SPDX-License-Identifier: MIT
// The single faults of a set: kinds of fault as data, placed on the set's parts. Each carries which part is to blame,
// which mode of that part's failures it is and what share of the mode it takes, so that ageing gives its rate.
//
// Example: C16, wax paper, gives "C16 short", "C16 open", "C16 leak 1 M", "C16 leak 100 k", "C16 leak 10 k" and "C16
// leak aged" (its insulation by the catalogue); the four leaks share the mode "leak". Shares of a mode among its
// values, and the faults that stand in no handbook (lamp lead, socket tracking, a lead on a sharp edge), are declared
// estimates. Tests: tests/threat/faults_test.cpp.
#pragma once

#include <string>
#include <vector>

#include <tubewright/threat.hpp>

namespace tubewright::threat {

struct PlacedFault {
    Fault fault;
    std::string blamed;        ///< id of the part that fails (a cord may be placed at the plug)
    std::string construction;  ///< catalogue key whose rate and modes count
    std::string mode;          ///< in words: "short", "leak", "grid to cathode short"
    std::string of_mode;  ///< mode of the construction's set, "short"; empty: `share` is of all its failures, declared
    double share = 1;
    std::string event;  ///< "C16 leaks (1 meg)"
    std::string doing;  ///< "A leak of 1 meg in C16"
    std::string note;   ///< "declared estimate: ..." or empty
};

/// All of them, in part order. The order is that of faults_of().
std::vector<PlacedFault> placed_faults(const Chassis& chassis, const Catalogue& catalogue);

/// Net that counts as the metal: the chassis, else B-minus, else the reference.
int metal_of(const Chassis& chassis);

}  // namespace tubewright::threat
