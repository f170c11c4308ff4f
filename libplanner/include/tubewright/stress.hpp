// SPDX-License-Identifier: MIT
// What every part sees in every scenario, and which scenario sets its worst case.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include <tubewright/bench.hpp>
#include <tubewright/export.hpp>

namespace tubewright {

/// A part (or one electrode of a tube, one winding) in one scenario.
struct StressAt {
    std::string scenario;
    double dc_volts = 0, crest_volts = 0, ac_volts_rms = 0, ripple_amps_rms = 0, peak_amps = 0, watts = 0;
};

struct PartStress {
    int part = -1;
    std::string lead;  ///< empty for the part as a whole; else electrode ("p", "g2"), winding ("plate.1")
    std::vector<StressAt> scenarios;
    StressAt worst;  ///< field by field the largest magnitude; `scenario` is the one that sets the limiting quantity
    std::string volts_scenario, watts_scenario, ripple_scenario;        ///< of equals the plainest; heaters: in service
    std::optional<double> plus_minus_low_volts, plus_minus_high_volts;  ///< electrolytics: V(+) - V(-), powered
    /// Of the unit of `limiting`: what rating_over_stress is made of (for "heater volts low" the least volts allowed,
    /// and the ratio is stress over rating). Others: the part's further ratings.
    std::optional<double> rated_volts, rated_watts, rated_amps;
    std::optional<double> stress_volts, stress_watts, stress_amps;  ///< of the limiting quantity, in worst.scenario
    std::string rated_source;                                       ///< "stated in the file", "catalogue (recalled)"
    std::optional<double> rating_over_stress;  ///< the smallest of the ratios; absent when nothing is rated
    std::string
        limiting;  ///< the quantity of that ratio: "volts", "watts", "dc amperes", "inverse volts", "heater volts" ...
    std::string remark;  ///< "plus to minus is reversed", "over its rating at no load" ...
};

/// One row a part and stressed electrode, in part order. Rectifiers: direct, peak and inverse volts against their row;
/// heaters against +-10 %.
TUBEWRIGHT_API std::vector<PartStress> stress_of(const Chassis& chassis, const Catalogue& catalogue,
                                                 const Policy& policy, std::span<const Solution> solutions);

}  // namespace tubewright
