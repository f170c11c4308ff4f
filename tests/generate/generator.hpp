// SPDX-License-Identifier: MIT
// Invented sets by the seed: blocks of the demo sets' stages with the values of the period, scattered, located, aged. A
// generated set is no copy of a demo set; it must audit clean, and its rails must fall as current adds.
//
//     chassis_generator --seed 1 --tubes 60 --family ac-transformer > set.xml
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include <tubewright/catalogue.hpp>

namespace generate {

struct Wanted {
    std::uint64_t seed = 1;
    int tubes = 60;
    std::string family = "ac-transformer";
};

/// "ac-transformer", "back-bias", "amplifier", "trf", "series-string", "floating-b-minus", "doubler", "portable",
/// "vehicle"
const std::vector<std::string_view>& families();

/// The text of a chassis file; the same bytes for the same wishes on every machine. Throws for an unknown family or
/// fewer tubes than its smallest supply has.
std::string chassis_text(const tubewright::Catalogue& catalogue, const Wanted& wanted);

/// A random number that is the same everywhere (splitmix64), unlike those of <random>'s distributions.
class Dice {
  public:
    explicit Dice(std::uint64_t seed) : state_(seed) {}
    std::uint64_t next();
    /// 0 to n - 1
    std::size_t below(std::size_t n) { return static_cast<std::size_t>(next() % n); }
    bool chance(double share) { return static_cast<double>(next() >> 11) * 0x1.0p-53 < share; }
    double between(double low, double high) {
        return low + (high - low) * static_cast<double>(next() >> 11) * 0x1.0p-53;
    }
    template <class T>
    const T& of(const std::vector<T>& list) {
        return list[below(list.size())];
    }

  private:
    std::uint64_t state_;
};

}  // namespace generate
