// SPDX-License-Identifier: MIT
// How hot a power transformer becomes, and how fast. One mass a winding, one for core and case; a winding gives its
// heat to the core, the core to the air in the set. Copper resistance rises with heat (234.5 rule), and with it the
// loss of a winding that carries a given current.
//
// What nobody gives is declared: core area 1.15 sqrt(VA) cm2, 1 tesla, mean turn 7 times the core's side. Example: 160
// ohm, 360 V, 60 VA, 60 c gives 0.034 mm2 of copper and 2.3 A/mm2 at the 0.078 A of such a set. Where the ohms were not
// measured, the copper is taken from 1.5 to 3.5 A/mm2 at the normal current. Every time and temperature comes at three
// sets of assumptions: cool, middle, hot. Check values: adiabatic k of copper (143 from 30 to 160 C),
// tests/threat/heating_test.cpp, where a plain finite-difference twin stands beside it.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

namespace tubewright::threat {

enum class Place { inner, middle, outer };  ///< primary, plate, heaters

/// A winding (half) as the heating sees it.
struct WindingCopper {
    std::string name;
    double ohms = 0;         ///< cold, at 20 C; 0 when not known
    double volts = 0;        ///< no-load rms across it, at the design line
    double normal_amps = 0;  ///< rms
    Place place = Place::middle;
    bool ohms_known = false;
};

/// The assumptions that a range runs over.
struct HeatingAssumptions {
    double section = 1;          ///< of the copper's cross-section
    double amps_per_mm2 = 2.4;   ///< where ohms were not measured
    double core_to_air = 3.6;    ///< K/W at 60 VA, as 1/sqrt(VA)
    double winding_to_core = 1;  ///< times the insulation's thickness over conductivity
    double air_rise = 15;        ///< of the air in the set over the room, K
    double core_watts_per_va = 0.05;
};
enum Corner { cool = 0, middle = 1, hot = 2 };
HeatingAssumptions assumptions_at(Corner corner);

/// Ohms of copper over those at 20 C (234.5 rule).
double hot_factor(double celsius);

/// Copper of a winding from its ohms and the turns that the core implies.
struct Copper {
    double turns = 0, metres = 0, mm2 = 0, kilograms = 0;
};
Copper copper_of(double ohms, double volts, double va, double hertz, Place place);

/// What a fault puts into each winding.
struct Heat {
    std::vector<double> copper_watts;  ///< by winding, at 20 C
    /// How far copper limits the current: 0 the current is given, 1 nothing but the windings' copper limits it.
    double stiffness = 0;
    /// A shorted layer: winding index, and the watts in it at 20 C. -1: none.
    int ring_of = -1;
    double ring_watts = 0;
};

struct Course {
    int hottest = -1;  ///< winding index; the ring counts as its winding
    bool ring_hottest = false;
    double steady_celsius = 0;  ///< of the hottest; at most `ceiling_celsius`
    std::optional<double> seconds_to_105, seconds_to_180;
    std::vector<double> celsius;  ///< by winding: when the hottest passes 180 C, else where they settle
};
constexpr double ceiling_celsius = 400;  ///< beyond it nothing is left to heat
constexpr double ageing_celsius = 105;   ///< class A
constexpr double damage_celsius = 180;

class Heating {
  public:
    Heating(double va, double hertz, double room_celsius, std::vector<WindingCopper> windings,
            const HeatingAssumptions& assumptions);

    /// Runs hot in health first.
    void settle(const Heat& healthy);
    /// Steady temperature of the hottest winding in health.
    double healthy_celsius() const;
    /// From hot running in health into the fault.
    Course course(const Heat& fault) const;
    /// Where the fault ends alone, without its times: a few long steps.
    Course steady(const Heat& fault) const;

    struct Mass {
        double joules_per_kelvin = 0, kelvin_per_watt = 0;  ///< to the core; the core's own: to the air
    };
    const std::vector<Mass>& masses() const { return masses_; }
    const Mass& core() const { return core_; }
    double air_celsius() const { return air_; }
    double core_watts() const { return core_watts_; }

  private:
    struct State;
    Course run(const Heat& fault, double first_step, double growth) const;
    std::vector<WindingCopper> windings_;
    std::vector<Mass> masses_;
    Mass core_;
    double air_ = 0, core_watts_ = 0;
    std::vector<double> start_;  ///< windings, then core
};

}  // namespace tubewright::threat
