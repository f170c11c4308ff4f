// SPDX-License-Identifier: MIT
// The chain of cause of a threat, in sentences with amperes, watts, volts and the path. Words only: every number comes
// from the row.
#pragma once

#include <string>
#include <vector>

#include "threat/faults.hpp"

namespace tubewright::threat {

/// What the sentences need beside the row.
struct ChainFacts {
    const PlacedFault* placed = nullptr;
    std::vector<std::string> between;  ///< ids of the parts that stand alone between the plate winding and the fault
    std::string between_from;          ///< the power transformer's id
    std::string limited_by_words;      ///< "L1 (1.2 k)"
    double fault_amps = 0;             ///< direct current through the fault itself; 0 when it is no direct-current path
    double fault_rms = 0;              ///< alternating, where it is the larger
    bool dry = false;                  ///< one of `between` is a dry rectifier
    std::string unrest;                ///< "V1 and V2": tubes that then drive one another
    std::string carrier;               ///< part that carries most of what is drawn more, when the fault itself does not
    double carrier_amps = 0, carrier_amps_normal = 0;
    double ring_watts = 0;          ///< in the turns of a shorted layer
    bool for_other_target = false;  ///< the row is about a part other than the power transformer
    double copper_watts = 0, copper_watts_normal = 0;
    double healthy_celsius = 0;
    std::string why_not_solved;
    bool does_nothing = false;  ///< no winding moves by 1 %
    bool two_outcomes = false;  ///< beta hangs on whether something opens
    bool has_transformer = true;
    std::string the_primary = "the primary", the_transformer = "the transformer";  ///< of several by name
    std::string ahead_words;  ///< ahead of the primary: what it does instead
    std::string ahead_note;   ///< the same in amperes of the line or of a hand
};

/// Fills `links` and `current_note`.
void tell(Threat& row, const ChainFacts& facts);

/// "V4 plate watts 5.69 W where 5.3 W is the limit".
std::string over_words(const Overload& o);

/// "1.6", "31": at most three figures.
std::string figure(double x);

}  // namespace tubewright::threat
