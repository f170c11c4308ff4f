// SPDX-License-Identifier: MIT
// What a part off its value, or a leak, must leave alone: plate, screen and cathode of each tube within their maxima,
// each control grid within a tenth of its bias, each plate and screen near its volts, each heater within a tenth of its
// own. The same marks serve the limits of leakage and of drift. Tests: tests/threat/leakage_test.cpp,
// tests/threat/drift_test.cpp.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include <tubewright/bench.hpp>
#include <tubewright/catalogue.hpp>

#include "stress/limits.hpp"

namespace tubewright::threat {

inline constexpr double bias_share = 0.1;
inline constexpr double heater_share = 0.1;  ///< that tube manuals allow (recalled)

/// A control grid, its cathode, and what they stand at in health.
struct GridMark {
    int part = -1, net = -1, cathode = -1;
    double volts = 0, bias = 0;  ///< bias: cathode over grid, above 0
};
/// A plate or a screen.
struct VoltsMark {
    int part = -1, net = -1;
    std::string electrode;  ///< "plate", "screen"
    double volts = 0;       ///< in health, against its cathode's return
};
/// The heater of a tube; of a tapped one each section by itself.
struct HeaterMark {
    int part = -1, section = -1;  ///< section -1: it has none
    bool filament = false;        ///< directly heated
    double base = 1;              ///< of its rated volts: 1, or what a set has that is off by more in health
};

class Marks {
  public:
    Marks(const Chassis& chassis, const Catalogue& catalogue, const Solution& healthy);

    std::vector<GridMark> grids;
    std::vector<VoltsMark> supplied;
    std::vector<HeaterMark> heaters;
    std::vector<stress::Limit> maxima;  ///< those that are kept in health

    /// "plate watts of V4"; empty when all are kept.
    std::string over_maximum(const stress::Loads& loads) const;
    /// "filament volts of V1 off by a tenth"; empty when none is.
    std::string heater_off(const Solution& s) const;
    static double volts_at(const Solution& s, int net) { return s.nets[static_cast<std::size_t>(net)].dc.value(); }

  private:
    const Chassis& chassis_;
};

}  // namespace tubewright::threat
