// SPDX-License-Identifier: MIT
// What would have saved it: the standard time-lag fuse of the family sold where the user is, a link in the centre tap
// of the plate winding, a series lamp. A fuse is judged by the gates of its family alone: below the first it holds,
// from the last it surely opens, between them it may.
//
// Gates: IEC 60127-2 sheet 3, time-lag, and UL 248-14 with the time-lag gate of a maker's guide, as quoted in the
// project's collection. Example: 2.0 A in a UL time-lag fuse of .75 A is 2.7 times its rating: open within 30 s, where
// the plate winding of the set takes 64 s at the earliest to 180 C: "opens". Tests: tests/threat/protection_test.cpp.
#pragma once

#include <span>
#include <string>
#include <vector>

#include <tubewright/policy.hpp>
#include <tubewright/threat.hpp>

#include "bench/bench.hpp"

namespace tubewright::threat {

bool is_ul(const std::string& family);
/// Times its rating at which a fuse of the family surely opens: 2.0 UL, 2.1 IEC.
double surely_opens_at(const std::string& family);
/// damage: seconds to 180 C at the earliest; absent: never, and any time will do.
FuseVerdict verdict_of(const std::string& family, double amps, double rated, const std::optional<double>& damage);

/// Sizes of a family that can run: at .9 or less of their rating at the upper line; where that is over .75 of a UL
/// rating and the next size sees every harmful fault that the smaller one sees, the next size.
struct FuseSizes {
    double smallest = 0, chosen = 0;  ///< 0: the family has none
    double next = 0;                  ///< above the smallest
    bool next_sees_less = false;
};
FuseSizes sizes_for(const Catalogue& catalogue, const std::string& family, double line_amps,
                    std::span<const Threat* const> harmful);

/// Faults that harm the power transformer and are not ahead of it, the worst first.
std::vector<const Threat*> harmful_rows(const Chassis& chassis, std::span<const Threat> rows);

/// Largest open-circuit peak of a winding's halves at the upper line.
double open_peak(const Chassis& chassis, const PartWinding& winding, double upper_line_volts);

}  // namespace tubewright::threat

namespace tubewright {

/// `bench` as for threats_of(), whose report this is. Fails when the healthy set has no solution.
Outcome<Protection> protection_of(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy,
                                  Bench& bench, const ThreatReport& report);

}  // namespace tubewright
