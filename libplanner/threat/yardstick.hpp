// SPDX-License-Identifier: MIT
// What a solution of a set is held against: the parts that are hard to replace, the rating of every part, the windings
// of each power transformer with their heat in health. Made once for a set from its healthy solution; the study of
// faults, the lamp and the link in the centre tap all judge by it.
//
// Example: a solution with the first filter shorted has "V5 dc amperes 543 mA where 125 mA is the limit", and its plate
// halves pass 180 C within the hour: beta 1. Tests: tests/threat/threats_test.cpp.
#pragma once

#include <array>
#include <string>
#include <vector>

#include <tubewright/policy.hpp>
#include <tubewright/threat.hpp>

#include "stress/limits.hpp"
#include "threat/heating.hpp"

namespace tubewright::threat {

struct Target {
    int part = -1;
    bool power = false;  ///< a power transformer: judged by its heat, not by ratings
};

struct Judged {
    double beta = 0;
    std::string why;
    bool hangs = false;  ///< beta hangs on the declared share of an opening
};

/// Beta of the hottest winding, with its course at each end of the assumptions.
struct Verdict : Judged {
    std::array<Course, 3> course;
};

/// One power transformer: its windings in health, and how they heat.
class PowerTransformer {
  public:
    /// `its_watts`: what it takes from the line in health. `normal_amps`: rms in its primary then.
    PowerTransformer(const Chassis& chassis, const Policy& policy, int part, const stress::Loads& healthy,
                     double its_watts, double normal_amps, bool alone);

    std::vector<WindingLoad> windings_of(const stress::Loads& loads) const;
    /// Heat into each winding; for a shorted layer also what burns in the ring of its turns.
    Heat heat_of(const stress::Loads& loads, const Fault* fault, double primary_amps, double its_watts) const;
    Verdict heat(const Heat& heat) const;

    int part = -1;
    std::string id;
    std::vector<WindingCopper> windings;
    std::vector<std::string> leads;  ///< by winding
    std::vector<Heating> heatings;   ///< by corner
    std::vector<WindingLoad> healthy_windings;
    double primary_normal = 0, copper_normal = 0;
    std::vector<Assumption> assumptions;

  private:
    const Part& self() const;
    const Chassis& chassis_;
    int primary_winding_ = -1;
};

class Yardstick {
  public:
    Yardstick(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy, Solution healthy);

    static double copper_watts(const std::vector<WindingLoad>& windings);
    /// Heat into the windings of one power transformer under a fault (nullptr: none).
    Heat heat_of(const PowerTransformer& of, const stress::Loads& loads, const Fault* fault) const;
    /// Amperes rms in its own primary.
    double primary_amps(const PowerTransformer& of, const stress::Loads& loads) const;
    /// Amperes rms that a fuse in the line carries: of several primaries what the whole set draws, of one its own.
    double line_amps(const Solution& in) const;
    /// Amperes rms in the centre tap of the plate winding that gives B-plus; 0: it has none.
    double tap_amps(const Solution& in) const;
    /// The power transformer that this part is; nullptr: it is none.
    const PowerTransformer* transformer(int part) const;
    /// Ratings that are passed, and by more than in health; the worst first, once a part and quantity.
    std::vector<Overload> overloads_of(const stress::Loads& loads, std::vector<int>* parts = nullptr) const;

    Solution healthy;
    std::vector<Target> targets;
    int power = -1;                              ///< the power transformer that gives B-plus; -1: the set has none
    std::vector<PowerTransformer> transformers;  ///< that one first, then every other
    std::vector<stress::Limit> limits;
    std::vector<double> normal_figures;  ///< by limit
    double primary_normal = 0;           ///< rms in the primary of the first, or from the line where there is none
    std::vector<Assumption> assumptions;

  private:
    const Part& part(int i) const { return chassis_.parts()[static_cast<std::size_t>(i)]; }
    void find_targets();
    void find_limits(const Catalogue& catalogue);
    void find_transformers(const Policy& policy);
    double amps_of_primary(int transformer, const stress::Loads& loads) const;
    double watts_into(int transformer, const stress::Loads& loads) const;

    const Chassis& chassis_;
};

}  // namespace tubewright::threat
