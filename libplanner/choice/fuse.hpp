// SPDX-License-Identifier: MIT
// The size of a fuse from the solved line current and the faults that it should see. Time-lag, at .9 or less of its
// rating at the upper line; where that is tight and the next size sees every harmful fault that the smaller one sees,
// the next size is taken: a fuse that blows for nothing is replaced by a larger one. Tests:
// tests/choice/shopping_test.cpp.
#pragma once

#include <span>
#include <string>
#include <string_view>

#include <tubewright/catalogue.hpp>
#include <tubewright/chassis.hpp>
#include <tubewright/policy.hpp>
#include <tubewright/stress.hpp>
#include <tubewright/threat.hpp>

namespace tubewright::choice {

struct FuseSize {
    std::string family;       ///< "UL 248-14", "IEC 60127-2 sheet 3", "vehicle 32 V"
    bool tabled = true;       ///< the tables hold ratings of the family
    double rated = 0;         ///< amperes; 0 where nothing is solved or no fuse of the family holds
    bool overloaded = false;  ///< the set as traced draws what no sound one does: not sized
    std::string why;          ///< "502 mA at the upper line, .67 of its rating; ..."
    std::string fails;        ///< what is wrong with the next smaller one
    std::string unseen;       ///< harmful faults that leave it whole, with a semicolon before
};
/// surge: rms amperes of the first second, heaters cold, which must stay under the gate at which the family may open
/// within some seconds; 0: not looked at.
FuseSize fuse_size(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy, double line_amps,
                   std::span<const Threat> threats, double surge = 0);

/// Rms amperes of a part's lead at the given line and the upper limit, the larger; 0 when not solved.
double line_amps(std::span<const PartStress> stress, int part, std::string_view lead);

/// Open-circuit peak of the plate winding that the fuse hangs on, at the upper line; 0 when it is on none.
double plate_peak(const Chassis& chassis, const Policy& policy, const Part& fuse);

}  // namespace tubewright::choice
