// SPDX-License-Identifier: MIT
// Plain figures for sentences: two or three of them, no exponent, whatever the locale.
#pragma once

#include <string>
#include <vector>

namespace tubewright::choice {

/// At most `decimals` places, trailing zeros dropped: figure(6.50, 1) == "6.5".
std::string figure(double x, int decimals = 0);
/// Money to the cent.
double cents(double amount);
/// ids joined: "C1, C2 and C3".
std::string listed(const std::vector<std::string>& ids);

inline constexpr double cost_low = 0.7, cost_high = 1.6;  ///< spread of the price table (assumed)

}  // namespace tubewright::choice
