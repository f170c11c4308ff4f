// SPDX-License-Identifier: MIT
// Quantities in SI, and where a number came from. Period and trade units (mfd, mmf, meg, K, mA) exist only in the
// readers and writers; inside there are volts, amperes, ohms, farads.
#pragma once

#include <compare>
#include <string>
#include <string_view>

#include <tubewright/outcome.hpp>

namespace tubewright {

/// A number with a unit. Unit is a tag type.
template <class Unit>
class Quantity {
  public:
    constexpr Quantity() = default;
    explicit constexpr Quantity(double si) : si_(si) {}
    /// The number in the SI unit of the tag.
    constexpr double value() const { return si_; }
    friend constexpr auto operator<=>(Quantity, Quantity) = default;
    friend constexpr Quantity operator*(Quantity q, double k) { return Quantity(q.si_ * k); }
    friend constexpr Quantity operator*(double k, Quantity q) { return Quantity(k * q.si_); }
    friend constexpr Quantity operator/(Quantity q, double k) { return Quantity(q.si_ / k); }
    friend constexpr double operator/(Quantity a, Quantity b) { return a.si_ / b.si_; }
    friend constexpr Quantity operator+(Quantity a, Quantity b) { return Quantity(a.si_ + b.si_); }
    friend constexpr Quantity operator-(Quantity a, Quantity b) { return Quantity(a.si_ - b.si_); }

  private:
    double si_ = 0;
};

using Volts = Quantity<struct VoltTag>;
using Amps = Quantity<struct AmpTag>;
using Ohms = Quantity<struct OhmTag>;
using Farads = Quantity<struct FaradTag>;
using Henries = Quantity<struct HenryTag>;
using Watts = Quantity<struct WattTag>;
using Hertz = Quantity<struct HertzTag>;
using Seconds = Quantity<struct SecondTag>;
using Minutes = Quantity<struct MinuteTag>;
using Celsius = Quantity<struct CelsiusTag>;

constexpr Volts volts(double v) {
    return Volts(v);
}
constexpr Amps amps(double a) {
    return Amps(a);
}
constexpr Ohms ohms(double r) {
    return Ohms(r);
}
constexpr Farads farads(double c) {
    return Farads(c);
}
constexpr Henries henries(double l) {
    return Henries(l);
}
constexpr Watts watts(double w) {
    return Watts(w);
}
constexpr Hertz hertz(double f) {
    return Hertz(f);
}
constexpr Seconds seconds(double t) {
    return Seconds(t);
}
constexpr Minutes minutes(double t) {
    return Minutes(t);
}
constexpr Celsius celsius(double t) {
    return Celsius(t);
}

/// How far a number can be trusted, best first.
enum class Provenance { published, cross_checked, recalled, computed, stated, practice, assumed };
/// "published", "cross-checked", "recalled", "computed", "stated in the file", "common practice, no source", "assumed".
TUBEWRIGHT_API const char* word(Provenance provenance);

/// Where a number came from.
struct Source {
    Provenance provenance = Provenance::assumed;
    std::string text;  ///< the document, the formula, or why it was assumed
};

/// Something taken because nobody gave it. Printed with every output that rests on it.
struct Assumption {
    std::string about;    ///< "T1 primary ohms"
    std::string taken;    ///< "8.1 ohm"
    std::string why;      ///< "not in the file: 0.035 V^2/VA"
    std::string measure;  ///< how to replace it by a fact
    std::string spread;   ///< what it may move, and by how much
    std::string source;   ///< where the rule comes from
};

/// Trade text for people: two or three significant figures and the usual prefix.
/// say(volts(325.4)) == "325 V"; say(farads(2.2e-8)) == ".022 uF"; say(ohms(4.7e5)) == "470 k".
TUBEWRIGHT_API std::string say(Volts v);
TUBEWRIGHT_API std::string say(Amps a);
TUBEWRIGHT_API std::string say(Ohms r);
TUBEWRIGHT_API std::string say(Farads c);
TUBEWRIGHT_API std::string say(Henries l);
TUBEWRIGHT_API std::string say(Watts w);
TUBEWRIGHT_API std::string say(Seconds t);

}  // namespace tubewright
