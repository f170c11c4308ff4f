// SPDX-License-Identifier: MIT
// What every part sees in every scenario, and which scenario sets its worst case.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include <tubewright/bench.hpp>
#include <tubewright/outcome.hpp>

namespace tubewright {

/// A part (or one electrode of a tube, one winding) in one scenario.
struct StressAt {
    std::string scenario;
    double dc_volts = 0, crest_volts = 0, ac_volts_rms = 0, ripple_amps_rms = 0, peak_amps = 0, watts = 0;
    bool absent = false;  ///< pulled or unplugged in it: there is nothing that could bear anything
    bool operator==(const StressAt&) const = default;
};

/// One rated quantity of a part at its worst.
struct StressRating {
    std::string quantity;           ///< "volts", "watts", "dc amperes", "inverse volts", "heater volts low" ...
    char unit = 'V';                ///< V, W or A, of `stress` and `rated`
    double stress = 0;              ///< in `scenario`
    double rated = 0;               ///< for "heater volts low" the least volts allowed
    double rating_over_stress = 0;  ///< for "heater volts low" stress over rating
    std::string scenario;           ///< the plainest of those that come to the worst
    std::string source;             ///< of the rating: "stated in the file", "catalogue (recalled)"
    bool operator==(const StressRating&) const = default;
};

struct PartStress {
    int part = -1;
    std::string lead;  ///< empty for the part as a whole; else electrode ("p", "g2"), winding ("plate.1")
    std::vector<StressAt> scenarios;
    StressAt worst;  ///< field by field the largest magnitude; `scenario` is the one that sets the limiting quantity
    std::string volts_scenario, watts_scenario, ripple_scenario;        ///< of equals the plainest; heaters: in service
    std::optional<double> plus_minus_low_volts, plus_minus_high_volts;  ///< electrolytics: V(+) - V(-), powered
    std::vector<StressRating> ratings;  ///< every rated quantity, the nearest to its limit first; empty: nothing rated
    /// The part's ratings by unit, each the nearest of its unit.
    std::optional<double> rated_volts, rated_watts, rated_amps;
    std::optional<double> stress_volts, stress_watts, stress_amps;  ///< of the limiting quantity alone
    std::string rated_source;                                       ///< of the limiting quantity
    std::optional<double> rating_over_stress;                       ///< of ratings.front()
    std::string limiting;                                           ///< ratings.front().quantity
    std::string remark;  ///< "plus to minus is reversed", "over its rating at no load" ...
    bool operator==(const PartStress&) const = default;
};

/// One row a part and stressed electrode, in part order. Rectifiers: direct, peak and inverse volts against their row;
/// heaters against +-10 %.
/// Of the first second (switch_on) volts alone are judged: its amperes and watts charge filters and warm cold heaters,
/// and ratings are for running.
TUBEWRIGHT_API std::vector<PartStress> stress_of(const Chassis& chassis, const Catalogue& catalogue,
                                                 const Policy& policy, std::span<const Solution> solutions);

}  // namespace tubewright
