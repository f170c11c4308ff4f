// SPDX-License-Identifier: MIT
// The parts of drafted(), in the order in which it calls them; each adds steps to the drafts, and the arrows to what is
// there already. For drafts*.cpp and done.cpp alone.
#pragma once

#include <string>
#include <vector>

#include "order/drafts.hpp"

namespace tubewright::repair {

/// Label, cord, discharge, pictures, tubes out, lamps, earth: drafts_opening.cpp.
void opening_steps(const SetUnderRepair& set, Drafts& drafts);
/// Windings, the heater string and switches, in its turn among these: drafts_cold.cpp.
void cold_windings_step(const SetUnderRepair& set, Drafts& drafts);
/// Bought and renewed before the iron is tried by itself, and that: drafts_line.cpp.
void line_steps(const SetUnderRepair& set, Drafts& drafts);
/// The rest of the list: drafts_list.cpp.
void replacement_steps(const SetUnderRepair& set, Drafts& drafts);
/// What stays if it reads right: drafts_readings.cpp.
void measuring_steps(const SetUnderRepair& set, Drafts& drafts);
/// What old capacitors hid from the cold ohms is read by the step that takes them out; where several do, by the last
/// cold ohms, if no new one between them leaks by its nature: drafts_cold.cpp.
void read_behind_capacitors(const SetUnderRepair& set, Drafts& drafts);
/// What is out by the log, and is neither replaced nor measured, goes back as it was: drafts_log.cpp.
void put_back_steps(const SetUnderRepair& set, Drafts& drafts);
/// From the last cold ohms to the hand-back: drafts_power.cpp.
void closing_steps(const SetUnderRepair& set, Drafts& drafts);
/// A rule that a reading speaks against is not kept, whatever was entered: what is wrong is found with the plug out,
/// the rule's own step is done anew, and what the rule forbids waits for both: drafts_log.cpp.
void doubted_steps(const SetUnderRepair& set, Drafts& drafts);
/// What the log has done still goes off the list: done.cpp.
void drop_done(const SetUnderRepair& set, Drafts& drafts);
/// A tube or a lamp that is out, and that no step which is left puts in again: drafts_log.cpp.
void tubes_back(const SetUnderRepair& set, Drafts& drafts);
/// An end that the log has open is closed before anything is begun that its closing does not wait for: drafts_log.cpp.
void open_ends_first(const SetUnderRepair& set, Drafts& drafts);

// Used by several of them.

/// Arrows of a step that opens a joint or makes one.
void opens_joints(Drafts& drafts, const std::string& step);
/// Each filter section emptied by itself.
void discharge_step(const SetUnderRepair& set, Drafts& drafts, const std::string& id, const std::string& reason);
/// Whether it is the discharge after a stage.
bool is_emptying(const std::string& step);
/// A step that replaces parts at a place: what for what, what is lifted, the check.
RepairStep& replacing(const SetUnderRepair& set, Drafts& drafts, const std::string& id, const std::string& place,
                      const std::vector<std::string>& of);
/// The step of buying, where all is bought at once or the rest.
RepairStep& buy_all(const SetUnderRepair& set, Drafts& drafts);
/// The vibrator with its new buffer, rectifier and tubes out.
void vibrator_step(const SetUnderRepair& set, Drafts& drafts, const std::string& buying);
/// What must be done before a step that feeds the set.
void wait_for_all(const SetUnderRepair& set, Drafts& drafts, const std::string& power);
/// What was charged for its leakage is emptied before a hand comes to it: an electrolytic as any filter section, read
/// again after a minute; of others the clip is in the minutes of the measurement.
double minutes_to_empty(const SetUnderRepair& set, const std::vector<std::string>& list);
inline constexpr const char* emptied_words = "; then 0 V across each before a hand comes to it";
/// It puts something back that is out by the log, whatever was done before.
bool due(const SetUnderRepair& set, const RepairStep& s);

}  // namespace tubewright::repair
