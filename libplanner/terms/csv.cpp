// SPDX-License-Identifier: MIT
// See csv.hpp. One pass over the bytes; columns count characters of UTF-8, so continuation bytes do not count.
#include "terms/csv.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "terms/numbers.hpp"

namespace tubewright {
namespace {

class Reader {
  public:
    Reader(std::string_view text, std::string_view file) : text_(text), file_(file) {
        if (text_.substr(0, 3) == "\xEF\xBB\xBF") text_.remove_prefix(3);
    }

    std::vector<std::vector<CsvField>> records;
    std::vector<Notice> notices;
    std::vector<int> rows;  ///< of the notices

    void read() {
        while (at_ < text_.size()) read_record();
    }

    void complain(int number, const CsvField& field, std::string message, std::string remedy) {
        complain(number, field.line, field.column, std::move(message), std::move(remedy));
        rows.back() = field.row;
    }
    void complain(int number, int line, int column, std::string message, std::string remedy) {
        rows.push_back(row_);
        Notice& notice = notices.emplace_back();
        notice.number = number;
        notice.place.file = file_;
        notice.place.line = line;
        notice.place.column = column;
        notice.message = std::move(message);
        notice.remedy = std::move(remedy);
    }

  private:
    void read_record() {
        std::vector<CsvField> fields;
        ++row_;
        for (;;) {
            fields.push_back(read_field());
            fields.back().row = row_;
            fields.back().number = static_cast<int>(fields.size()) - 1;
            if (at_ < text_.size() && text_[at_] == ',') {
                advance();
                continue;
            }
            break;
        }
        if (at_ < text_.size()) end_line();
        const bool blank = fields.size() == 1 && fields.front().text.empty();
        if (!blank) records.push_back(std::move(fields));
    }

    CsvField read_field() {
        CsvField field{{}, line_, column_, false, 0, 0};
        if (at_ < text_.size() && text_[at_] == '"') {
            field.quoted = true;
            advance();
            for (;;) {
                if (at_ >= text_.size()) {
                    complain(messages::csv_unclosed_quote, field.line, field.column, "a quoted field that never ends",
                             "close it with a quotation mark");
                    return field;
                }
                if (text_[at_] == '"') {
                    advance();
                    if (at_ < text_.size() && text_[at_] == '"') {
                        field.text += '"';
                        advance();
                        continue;
                    }
                    break;
                }
                if (text_[at_] == '\n') {
                    field.text += '\n';
                    ++at_;
                    ++line_;
                    column_ = 1;
                } else {
                    take_run(field.text);
                }
            }
            if (!at_end_of_field()) {
                complain(messages::csv_stray_quote, line_, column_, "text after the closing quotation mark",
                         "a comma or the end of the line; a quotation mark inside is written twice");
            }
        }
        while (!at_end_of_field()) {
            if (text_[at_] == '"')
                complain(messages::csv_stray_quote, line_, column_,
                         "a quotation mark inside a field that does not begin with one",
                         "quote the whole field and write the mark twice");
            take_run(field.text);
        }
        return field;
    }

    bool at_end_of_field() const {
        if (at_ >= text_.size()) return true;
        const char c = text_[at_];
        return c == ',' || c == '\n' || (c == '\r' && at_ + 1 < text_.size() && text_[at_ + 1] == '\n');
    }

    void end_line() {
        if (text_[at_] == '\r') ++at_;
        ++at_;
        ++line_;
        column_ = 1;
    }

    /// Takes the character here and all that follow it up to a comma, a quotation mark or the end of a line.
    void take_run(std::string& into) {
        const std::size_t from = at_;
        do advance();
        while (at_ < text_.size() && !special(text_[at_]));
        into.append(text_.substr(from, at_ - from));
    }
    static bool special(char c) { return c == ',' || c == '"' || c == '\n' || c == '\r'; }

    void advance() {
        if ((static_cast<unsigned char>(text_[at_]) & 0xC0U) != 0x80U) ++column_;
        ++at_;
    }

    std::string_view text_;
    std::string file_;
    std::size_t at_ = 0;
    int line_ = 1;
    int column_ = 1;
    int row_ = 0;
};

}  // namespace

int CsvTable::column(std::string_view name) const {
    for (std::size_t k = 0; k < header.size(); ++k)
        if (header[k] == name) return static_cast<int>(k);
    return -1;
}

std::string_view CsvTable::text(std::size_t record, int column) const {
    if (column < 0) return {};
    return records[record][static_cast<std::size_t>(column)].text;
}

CsvReading scan_csv(std::string_view text, std::string_view file) {
    Reader reader(text, file);
    reader.read();
    CsvTable table;
    table.file = file;
    if (reader.records.empty()) {
        if (reader.notices.empty())
            reader.complain(messages::csv_no_header, 1, 1, "the table is empty", "the first line names the columns");
        return {std::move(table), std::move(reader.notices), std::move(reader.rows)};
    }
    for (const CsvField& field : reader.records.front()) {
        if (table.column(field.text) >= 0)
            reader.complain(messages::csv_repeated_header, field,
                            "the column '" + field.text + "' stands twice in the header", "name every column once");
        table.header.push_back(field.text);
    }
    for (std::size_t k = 1; k < reader.records.size(); ++k) {
        std::vector<CsvField>& record = reader.records[k];
        if (record.size() != table.header.size())
            reader.complain(
                messages::csv_wrong_width, record.front(),
                std::to_string(record.size()) + " fields where the header has " + std::to_string(table.header.size()),
                "a comma too many or too few; a field that holds a comma is quoted");
        if (record.size() > table.header.size()) continue;
        while (record.size() < table.header.size()) {
            CsvField missing;
            missing.line = record.back().line;
            missing.column = record.back().column;
            missing.row = record.back().row;
            missing.number = record.back().number + 1;
            record.push_back(std::move(missing));
        }
        table.records.push_back(std::move(record));
    }
    return {std::move(table), std::move(reader.notices), std::move(reader.rows)};
}

Outcome<CsvTable> read_csv(std::string_view text, std::string_view file) {
    CsvReading reading = scan_csv(text, file);
    if (!reading.faults.empty()) return std::move(reading.faults);
    return std::move(reading.table);
}

std::string with_commas(std::string_view sheet) {
    if (sheet.starts_with("\xEF\xBB\xBF")) sheet.remove_prefix(3);
    const std::size_t head = std::min(sheet.find('\n'), sheet.size());
    std::string text(sheet);
    std::transform(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(head), text.begin(),
                   [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; });
    const std::string_view names = std::string_view(text).substr(0, head);
    if (names.find(';') == std::string_view::npos || names.find(',') != std::string_view::npos) return text;
    std::string out, field;
    bool quoted = false;
    const auto end_field = [&] {
        out += field.starts_with('"') ? field : csv_field(field);
        field.clear();
    };
    for (const char c : text) {
        quoted = quoted != (c == '"');
        const bool ends = !quoted && (c == ';' || c == '\n' || c == '\r');
        if (ends) end_field();
        if (ends)
            out += c == ';' ? ',' : c;
        else
            field += c;
    }
    end_field();
    return out;
}

std::optional<double> plain_number(std::string_view text) {
    while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
    while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
    if (!text.empty() && text.front() == '+') text.remove_prefix(1);
    double value = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc() || end != text.data() + text.size() || !std::isfinite(value)) return std::nullopt;
    return value;
}

std::string csv_field(std::string_view text) {
    if (text.find_first_of(",\"\r\n") == std::string_view::npos) return std::string(text);
    std::string out = "\"";
    for (char c : text) {
        if (c == '"') out += '"';
        out += c;
    }
    return out + '"';
}

}  // namespace tubewright
