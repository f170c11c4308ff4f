// SPDX-License-Identifier: MIT
// What a hand to earth carries when it touches the metal of a set: every capacitor and resistor from either side of the
// line to the metal, and a fault beside them, added as admittances. A B-minus that is not the metal is a side of the
// line where wire, switch or fuse joins it to a blade. A leak beside a capacitor adds in quadrature, not by plain sum.
// What hangs on the metal by windings, coils, heaters, small resistors or large capacitors counts as the metal: that
// can only make the figure larger.
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
    /// In health, with every resistor left out.
    double amps_by_capacity() const;
    /// It stands between the line and the metal, and the metal is no blade itself.
    bool holds_off(const Part& part) const;
    /// Both its ends are the line's.
    bool across_line(const Part& part) const;

  private:
    using Siemens = std::complex<double>;
    /// 0 hot, 1 neutral, -1 neither.
    int side(int net) const;
    void add(std::array<Siemens, 2>& paths, int a, int b, Siemens siemens) const;
    Siemens of(const Part& part) const;
    double hand(const std::array<Siemens, 2>& paths) const;
    std::vector<bool> hanging_on_metal() const;

    const Chassis& chassis_;
    double volts_, radians_;
    int metal_;
    std::array<std::vector<bool>, 2> sides_;
    std::vector<bool> at_metal_;
};

}  // namespace tubewright::threat
