// SPDX-License-Identifier: MIT
// Which turns from place to place are worth it. One visit to a place unless a ring forbids it, or unless the danger
// would stand longer by a larger share than the turn adds to the minutes of the whole; by risk alone a turn costs its
// minutes and no more.
//
//     Arranged whole = by_neighbourhood(visits);   // and visits as it leaves them
//
// Test: tests/order/steps_test.cpp.
#pragma once

#include "order/visits.hpp"

namespace tubewright::repair {

/// All steps, with a turn to the place before each visit; visits to one place that come one after the other are one.
Arranged by_neighbourhood(Visits& visits);

/// What removes the danger soonest, turning to and fro: the visits of the neighbourhoods (`visits`, arranged as
/// `whole`), moved while that brings any down, or each step turned to by itself from `apart`, whichever is better. It
/// is never worse than the neighbourhoods.
Arranged by_risk_alone(Visits& visits, const Arranged& whole, const Visits& apart);

/// Turns to a place that was turned to before say what they are worth.
void tell_second_turns(Visits& visits, const std::vector<int>& order);

}  // namespace tubewright::repair
