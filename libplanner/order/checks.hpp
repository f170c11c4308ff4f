// SPDX-License-Identifier: MIT
// What reads right at the end of a step, in words with figures: of the label, heaters and sockets as found, of what is
// measured where it is, of new parts.
//
//     leak_limits(set, {c4});   // "C4 over 63 meg at 200 V, under 27 V on 10 meg in series (at less: ...)"
//
// Test: tests/order/steps_test.cpp.
#pragma once

#include <string>
#include <vector>

#include "order/set_under_repair.hpp"

namespace tubewright::repair {

std::string label_words(const SetUnderRepair& set);
/// What the heaters of a string across the line read cold; empty where there is none. A cold heater has a fifth to
/// an eighth of its hot ohms (common practice, no source).
std::string string_ohms(const SetUnderRepair& set);
/// What opens the heater string or its tapped section, as found: the whole of it reads nothing.
std::vector<std::string> gaps_of_string(const SetUnderRepair& set);
/// Each heater of the string by itself, cold, as string_ohms() has the sum.
std::string heaters_cold(const SetUnderRepair& set);
/// A filament is its own cathode, and a cold cathode has no heater: nothing is asked between them.
std::string heater_words(const SetUnderRepair& set, const std::vector<std::string>& tubes);
/// Plate pins that the set's own resistors join to the metal: they do not read open.
std::string joined_pins(const SetUnderRepair& set, const std::vector<std::string>& sockets);
/// A leg that the circuit has on the metal is not asked for megohms.
std::string live_leads_of(const SetUnderRepair& set, const std::vector<std::string>& lamps);
/// The net that plus goes to: by the solved volts; where the file has the leads exchanged it says so.
std::string plus_net(const SetUnderRepair& set, const std::string& id);
/// What is read of new parts: before they go in where the circuit would read along, else in their place.
std::string check_of_new(const SetUnderRepair& set, const std::vector<std::string>& ids);
std::string ohm_limits(const SetUnderRepair& set, const std::vector<int>& parts);
std::string leak_limits(const SetUnderRepair& set, const std::vector<int>& parts);

}  // namespace tubewright::repair
