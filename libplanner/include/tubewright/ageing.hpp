// SPDX-License-Identifier: MIT
// How a part ages: hazard from handbook base rates at the stress that was solved, split by mode shares, carried to
// calendar age by a declared law. Handbook rates are for new military parts: age scales them and never poses as
// sourced. Pure functions.
#pragma once

#include <string>
#include <vector>

#include <tubewright/catalogue.hpp>
#include <tubewright/chassis.hpp>
#include <tubewright/outcome.hpp>

namespace tubewright {

struct ModeShare {
    std::string mode;  ///< short, open, leak, drift, ...
    double alpha = 0;  ///< share of all failures; sums to 1 over a part
};

/// One multiplication on the way from the handbook rate to today's.
struct LikelihoodFactor {
    std::string why;  ///< "seen: bulged", "88 years by the declared age law"
    double factor = 1;
};

struct AgeRisk {
    double failures_per_million_hours = 0;
    std::string base_rate_source, age_law;
    std::vector<ModeShare> modes;
    std::vector<LikelihoodFactor> factors;
    bool stress_clamped = false;  ///< stress ratio above 1: outside the handbook's model
    double chance = 0;            ///< that it is bad by now, in whatever way, by the declared age law and what was seen
    std::string likelihood;       ///< the same in words: "bad for certain", "likely", "possible", "seldom"
    std::string found_mode;       ///< the mode that was found, where the finding names one
};

/// Handbook rate of a new part (MIL-HDBK-217F Notice 2), per million hours. value: farads, watts rating or 0. Throws
/// nothing; 0 when the key is unknown.
TUBEWRIGHT_API double handbook_rate(const Rate& rate, double stress_ratio, double celsius, double value);
/// The part as it stands: years since built or replaced, inspection findings, stress ratio and temperature as solved (0
/// and 40 when not known).
TUBEWRIGHT_API AgeRisk age_risk(const Part& part, const Construction& construction, const Catalogue& catalogue,
                                int built_year, int today_year, double stress_ratio, double celsius);
/// Insulation resistance to expect of an aged capacitor, ohms: median; 0 when the construction has none in the table.
TUBEWRIGHT_API double aged_leak_ohms(const Part& part, const Construction& construction);

}  // namespace tubewright
