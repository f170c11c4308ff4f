// SPDX-License-Identifier: MIT
// A page for an 80-column terminal: headings, paragraphs that wrap, tables that fit. Nothing it prints is wider than 80
// columns, whatever the names in the file are; characters that would move the cursor are printed as "?". With colour
// the words that warn are also bold; they are words first.
//
//     Page page(false);
//     page.heading("volts");
//     Table table({{"pin"}, {"net"}, {"volts", Align::right}, {"what it says", Align::left, true}});
//     table.row({"V4.3", "bplus", "248 V", "..."});
//     page.table(table);
//
// Tests: tests/report/page_test.cpp.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace tubewright::report {

inline constexpr std::size_t page_width = 80;

enum class Align { left, right };

struct Column {
    std::string head;
    Align align = Align::left;
    bool wraps = false;  ///< may be narrowed and wrapped first when the table is too wide
};

class Table {
  public:
    explicit Table(std::vector<Column> columns) : columns_(std::move(columns)) {}
    void row(std::vector<std::string> cells) { rows_.push_back({std::move(cells), {}}); }
    /// A line over the next rows, from the left edge of the page; an empty one is a blank line.
    void group(std::string text) { rows_.push_back({{}, std::move(text)}); }
    bool empty() const { return rows_.empty(); }
    std::string text(std::size_t indent = 2) const;

  private:
    struct Row {
        std::vector<std::string> cells;
        std::string group;
    };
    std::vector<Column> columns_;
    std::vector<Row> rows_;
};

class Page {
  public:
    explicit Page(bool colour) : colour_(colour) {}
    /// First line of an answer: the set and what is told of it.
    void title(std::string_view set, std::string_view what);
    /// A heading in capitals with a blank line before it.
    void heading(std::string_view text);
    /// Wrapped; lines after the first begin `hang` columns further right.
    void paragraph(std::string_view text, std::size_t indent = 0, std::size_t hang = 0);
    /// "- text", the dash at `indent`.
    void point(std::string_view text, std::size_t indent = 0);
    void table(const Table& table, std::size_t indent = 2);
    /// A line that is laid out already, at most 80 columns wide.
    void verbatim(std::string_view line);
    void blank();
    std::string take() const;

  private:
    std::string text_;
    bool colour_;
};

/// Characters of UTF-8, as a terminal counts them; control characters and broken bytes come as "?".
std::string printable(std::string_view text);
std::size_t columns_of(std::string_view text);
/// Lines of at most `width` columns, broken at blanks, or inside a word that alone is wider.
std::vector<std::string> wrap(std::string_view text, std::size_t width);

}  // namespace tubewright::report
