// SPDX-License-Identifier: MIT
// What a hand to earth carries when it touches the metal of a set with a power transformer: every capacitor and
// resistor from either side of the line to the metal, and a fault beside them, added as admittances. A leak beside a
// capacitor adds in quadrature, not by plain sum. What hangs on the metal by windings, coils, heaters, small resistors
// or large capacitors counts as the metal: that can only make the figure larger.
//
// Example: .01 uF from 115 V 60 cycles to the metal passes 433 uA; a leak of 460 k in it makes that 500 uA. Tests:
// tests/threat/touch_test.cpp.
#pragma once

#include <array>
#include <complex>

#include <tubewright/chassis.hpp>
#include <tubewright/fault.hpp>

namespace tubewright::threat {

inline constexpr double body_ohms = 1500, touch_limit_amps = 0.5e-3;

class Touch {
  public:
    Touch(const Chassis& chassis, double line_volts, double hertz);
    /// The worse of the two ways round of the plug; fault: nullptr for health.
    double amps(const Fault* fault = nullptr) const;

  private:
    using Siemens = std::complex<double>;
    /// 0 hot, 1 neutral, -1 neither.
    int side(int net) const;
    void add(std::array<Siemens, 2>& paths, int a, int b, Siemens siemens) const;
    Siemens of(const Part& part) const;
    std::vector<bool> hanging_on_metal() const;

    const Chassis& chassis_;
    double volts_, radians_;
    int metal_;
    std::array<std::vector<bool>, 2> sides_;
    std::vector<bool> at_metal_;
};

}  // namespace tubewright::threat
