// SPDX-License-Identifier: MIT
// As large sets are: minutes 1 to 30, weights log-uniform from 1 to a million, made by a seed; for the bound of their
// order (sequence_test.cpp) and for what it costs (tests/speed/order_speed.cpp).
#pragma once

#include <cmath>
#include <cstdint>
#include <random>
#include <vector>

#include "order/sequence.hpp"

namespace large {

struct Jobs {
    std::vector<tubewright::Job> jobs;
    std::vector<tubewright::JobArc> arcs;
};

inline constexpr const char* kinds[] = {"density .02", "density .2", "12 gates"};

/// kind 0, 1: arcs at that density; 2: twelve gates, all of one before all of the next.
inline Jobs jobs(std::uint64_t seed, int kind, int n) {
    std::mt19937_64 dice(seed * 10 + static_cast<std::uint64_t>(kind));
    const auto share = [&] { return static_cast<double>(dice() >> 11) * 0x1.0p-53; };
    Jobs made;
    for (int j = 0; j < n; ++j) {
        const auto minutes = static_cast<long long>(1 + dice() % 30);
        made.jobs.push_back({minutes, std::llround(std::pow(10.0, 6 * share()))});
    }
    const auto gate = [&](int j) { return j * 12 / n; };
    for (int a = 0; a < n; ++a)
        for (int b = a + 1; b < n; ++b) {
            const bool next = kind == 2 && gate(b) == gate(a) + 1;
            const bool may = kind != 2 || gate(a) == gate(b);
            if (next || (may && share() < (kind == 0 ? 0.02 : kind == 1 ? 0.2 : 0.05))) made.arcs.push_back({a, b});
        }
    return made;
}

}  // namespace large
