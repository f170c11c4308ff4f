// SPDX-License-Identifier: MIT
// The fields of an entry in one table: columns of the database, of the sheet and lines of the text are all made from
// it, so that none can be lost between them. Append-only: a log of today is read by every later version.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <variant>

#include <tubewright/record.hpp>

namespace tubewright::record {

/// In the words of an entry that takes out, frees or puts back what the log has as new.
inline constexpr std::string_view the_new_one = "the new one";

using Member = std::variant<int LogEntry::*, std::string LogEntry::*, OptionalNumber LogEntry::*, LogFact LogEntry::*>;

struct Field {
    std::string_view name;
    Member member;
};
std::span<const Field> fields();

/// As text: empty for what is not there (0, or -1 for a page, count as not there).
std::string text_of(const LogEntry& entry, const Field& field);
/// False when the text is none for this field.
bool set(LogEntry& entry, const Field& field, std::string_view text);

/// Acts of a step on one line and back: "fit C1 C2=8.2e-06/500; inspect C1 C2; power: full line *15".
std::string encode(const std::vector<PlannedAct>& acts);
std::vector<PlannedAct> decode(std::string_view text);

/// The fact of that word; nothing when there is none.
std::optional<LogFact> fact_of(std::string_view word);

/// What an entry does, in the words of the rules and in order.
std::vector<PlannedAct> acts_of(const LogEntry& entry, const Chassis& chassis);

/// "capacitor .02 mfd, V3.2 to V4.4"
std::string described(const Part& part, const Chassis& chassis);

/// It was made beside a file of another name.
bool is_of_another_set(const LogEntry& entry, const Chassis& chassis);
/// What the entry says that its part was is of the kind of this one.
bool is_of_that_kind(const LogEntry& entry, const Part& part);

/// A pin or net of the set, or a word for what is read ahead of it: "line", "lamp".
bool is_a_place(const std::string& name, const Chassis& chassis);

}  // namespace tubewright::record
