// SPDX-License-Identifier: MIT
// A log as text and as a sheet, and back without loss. The text is for reading and for keeping beside the set for
// decades: a line a field, an empty line between entries. A backslash stands for itself doubled, "\n" for a line end
// inside a field.
//
//     tubewright bench log, version 1
//
//     number: 1
//     at: 2026-11-26T20:15:00Z
//     pencil: C9 out
//     fact: removed
//     part: C9
//
//     end: 1 entries, check f4aa7d6c9f4c391c
//
// The end holds the number of entries and print_of() all of them as text: what was cut or changed is not taken over. In
// a sheet it is the last row: "end", the number, the print.
//
// Tests: tests/record/transfer_test.cpp.
#include <algorithm>

#include "record/fields.hpp"
#include "record/numbers.hpp"
#include "terms/csv.hpp"
#include "terms/near.hpp"

namespace tubewright {
namespace {

using namespace record;

constexpr std::string_view first_line = "tubewright bench log, version 1";

std::string escaped(const std::string& text) {
    std::string out;
    for (const char c : text) {
        if (c == '\\')
            out += "\\\\";
        else if (c == '\n')
            out += "\\n";
        else if (c == '\r')
            out += "\\r";
        else
            out += c;
    }
    return out;
}
std::string unescaped(std::string_view text) {
    std::string out;
    for (std::size_t k = 0; k < text.size(); ++k) {
        if (text[k] != '\\' || k + 1 == text.size()) {
            out += text[k];
            continue;
        }
        ++k;
        out += text[k] == 'n' ? '\n' : text[k] == 'r' ? '\r' : text[k];
    }
    return out;
}

Notice broken(const std::string& name, int line, const std::string& message) {
    Notice notice;
    notice.number = messages::import_broken;
    notice.place.file = name;
    notice.place.line = line;
    notice.message = "nothing was taken over; " + message;
    notice.remedy = "a log comes back from what --export wrote";
    return notice;
}

/// The entries as they stand in the text.
std::string body_of(std::span<const LogEntry> entries) {
    std::string text;
    for (const LogEntry& entry : entries) {
        text += "\n";
        for (const Field& field : fields())
            if (const std::string value = text_of(entry, field); !value.empty())
                text += std::string(field.name) + ": " + escaped(value) + "\n";
    }
    return text;
}
std::string end_of(std::size_t count, const std::string& print) {
    return std::to_string(count) + " entries, check " + print;
}
/// An export as it was read, with what its end says.
struct Import {
    std::vector<LogEntry> entries;
    std::string end;
};

const Field* field_named(std::string_view name) {
    for (const Field& field : fields())
        if (field.name == name) return &field;
    return nullptr;
}

/// Numbers rise from 1 and undo what stands before.
std::string complaint(const std::vector<LogEntry>& entries) {
    for (std::size_t k = 0; k < entries.size(); ++k) {
        const LogEntry& entry = entries[k];
        if (entry.number != static_cast<int>(k) + 1)
            return "entry " + std::to_string(k + 1) + " is missing or out of order";
        if (entry.at.empty()) return "entry " + std::to_string(k + 1) + " has no time";
        if (entry.fact == LogFact::undo && (entry.target < 1 || entry.target >= entry.number))
            return "entry " + std::to_string(k + 1) + " undoes what is not before it";
    }
    return {};
}

Outcome<Import> of_sheet(std::string_view text, const std::string& name) {
    const Outcome<CsvTable> table = read_csv(text, name);
    if (!table) return table.notices();
    std::vector<const Field*> columns;
    for (const std::string& head : table->header) {
        columns.push_back(field_named(head));
        if (columns.back() == nullptr) return broken(name, 1, "no field is called " + quoted(head));
    }
    if (std::find(columns.begin(), columns.end(), field_named("fact")) == columns.end())
        return broken(name, 1, "no column is called \"fact\"");
    Import read;
    for (const auto& record : table->records) {
        if (!read.end.empty()) return broken(name, record[0].line, "something stands behind its end");
        if (record[0].text == "end" && record.size() > 2) {
            read.end = record[1].text + " entries, check " + record[2].text;
            continue;
        }
        LogEntry entry;
        for (std::size_t k = 0; k < columns.size(); ++k)
            if (!set(entry, *columns[k], record[k].text))
                return broken(name, record[k].line,
                              quoted(record[k].text) + " is nothing for " + std::string(columns[k]->name));
        read.entries.push_back(std::move(entry));
    }
    return read;
}

Outcome<Import> of_text(std::string_view text, const std::string& name) {
    constexpr std::string_view end_mark = "end: ";
    Import read;
    bool inside = false, has_fact = true;
    int number = 0;
    while (!text.empty()) {
        const std::size_t end = std::min(text.find('\n'), text.size());
        std::string_view line = text.substr(0, end);
        text.remove_prefix(std::min(end + 1, text.size()));
        ++number;
        if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
        if (number == 1) continue;
        if (line.empty()) {
            if (!has_fact) return broken(name, number, "the entry before this line has no fact");
            inside = false;
            continue;
        }
        if (!read.end.empty()) return broken(name, number, "something stands behind its end");
        if (!inside && line.starts_with(end_mark)) {
            read.end = line.substr(end_mark.size());
            continue;
        }
        if (!inside) {
            read.entries.emplace_back();
            has_fact = false;
        }
        inside = true;
        const std::size_t colon = line.find(": ");
        const Field* field = colon == std::string_view::npos ? nullptr : field_named(line.substr(0, colon));
        if (field == nullptr) return broken(name, number, quoted(line) + " is no field");
        has_fact = has_fact || field->name == "fact";
        if (!set(read.entries.back(), *field, unescaped(line.substr(colon + 2))))
            return broken(name, number, quoted(line) + " cannot be read");
    }
    if (!has_fact) return broken(name, number, "its last entry has no fact: it was cut");
    return read;
}

}  // namespace

std::string log_text(std::span<const LogEntry> entries) {
    const std::string body = body_of(entries);
    return std::string(first_line) + "\n" + body + "\nend: " + end_of(entries.size(), print_of(body)) + "\n";
}

std::string log_sheet(std::span<const LogEntry> entries) {
    std::string text;
    for (const Field& field : fields()) text += (text.empty() ? "" : ",") + std::string(field.name);
    text += "\r\n";
    for (const LogEntry& entry : entries) {
        std::string row;
        for (const Field& field : fields())
            row += (&field == fields().data() ? "" : ",") + csv_field(text_of(entry, field));
        text += row + "\r\n";
    }
    text += "end," + std::to_string(entries.size()) + "," + print_of(body_of(entries));
    return text + std::string(fields().size() - 3, ',') + "\r\n";
}

Outcome<std::vector<LogEntry>> read_log(std::string_view text, const std::string& name) {
    if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
    Outcome<Import> read;
    if (text.starts_with(first_line))
        read = of_text(text, name);
    else if (const std::string sheet = with_commas(text); sheet.starts_with("number,"))
        read = of_sheet(sheet, name);
    else
        return broken(name, 1, "this is no export of a bench log");
    if (!read) return read.notices();
    if (const std::string wrong = complaint(read->entries); !wrong.empty()) return broken(name, 0, wrong);
    if (read->end.empty()) return broken(name, 0, "its end is missing: it was cut");
    if (read->end != end_of(read->entries.size(), print_of(body_of(read->entries))))
        return broken(name, 0, "it is not what was exported: an entry was changed, or is missing");
    return read->entries;
}

}  // namespace tubewright
