// SPDX-License-Identifier: MIT
// What follows from the settings and the line alone: the upper line limit, the fuse family sold there, the range of a
// meter.
//
//     upper_line_volts(Policy{}, 117) == 126; fuse_family(Policy{}, 230) == "IEC 60127-2 sheet 3"
//
// The limits are recalled (120 V + 5 %, 230 V + 10 %). Test: tests/policy/policy_test.cpp.
#pragma once

#include <string>

#include <tubewright/policy.hpp>

namespace tubewright {

/// The upper limit of the line whose nominal is given: Policy::upper_line_volts where set; 126 V on 100 to 130 V, 253 V
/// on 200 to 250 V (recalled); 5 % over anything else. Never below the nominal itself.
double upper_line_volts(const Policy& policy, double nominal_volts);

/// H0: of the volts and the cycles that a set is made for; beyond, it is not powered (common practice, no source).
inline constexpr double line_most = 1.15, line_least = 0.80, cycles_least = 0.95;
struct OffLine {
    bool volts = false, cycles = false;
};
/// Is the line of the policy one that the set is not made for? What the policy does not say is the set's own. Fewer
/// cycles fill a core with flux (50 on one for 60: a fifth too much); more leave it at ease, up to a point.
OffLine off_line(const Policy& policy, double own_volts, double own_hertz);

/// Policy::fuse_family where set, else UL 248-14 below 150 V and the time-lag sheet of IEC 60127 above.
std::string fuse_family(const Policy& policy, double nominal_volts);

/// Full scale of a meter rated in ohms a volt for this reading: Meter::range_volts where set, else the next above of
/// 2.5 10 50 250 500 1000 V (the last also for anything over it). 0 for a meter of constant resistance.
double meter_range_volts(const Meter& meter, double reading_volts);

/// More than the range shows, be it the one that was named or the highest: the needle lies against its stop.
bool past_range(const Meter& meter, double reading_volts);

/// What the meter puts across the point at this reading.
double meter_ohms(const Meter& meter, double reading_volts);

}  // namespace tubewright
