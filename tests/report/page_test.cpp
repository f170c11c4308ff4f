// SPDX-License-Identifier: MIT
// Nothing leaves a page wider than 80 columns, whatever is put on it.
#include "report/page.hpp"

#include <random>

#include <catch2/catch.hpp>

using namespace tubewright::report;

namespace {

std::size_t widest(const std::string& text) {
    std::size_t most = 0, from = 0;
    while (from < text.size()) {
        std::size_t end = text.find('\n', from);
        if (end == std::string::npos) end = text.size();
        most = std::max(most, columns_of(text.substr(from, end - from)));
        from = end + 1;
    }
    return most;
}

}  // namespace

TEST_CASE("Text is broken at blanks, a word longer than the line inside itself") {
    CHECK(wrap("one two three", 7) == std::vector<std::string>{"one two", "three"});
    CHECK(wrap("abcdefghij", 4) == std::vector<std::string>{"abcd", "efgh", "ij"});
    CHECK(wrap("", 10) == std::vector<std::string>{""});
}

TEST_CASE("A character of several bytes counts as one column and is never cut") {
    CHECK(columns_of("10 \xCE\xA9") == 4);
    for (const std::string& line : wrap("\xCE\xA9\xCE\xA9\xCE\xA9\xCE\xA9\xCE\xA9", 4)) CHECK(line.size() % 2 == 0);
}

TEST_CASE("What would move the cursor or is no UTF-8 is printed as a question mark") {
    CHECK(printable("a\x1b[2Jb") == "a?[2Jb");
    CHECK(printable("a\xffz") == "a?z");
    CHECK(printable("a\nb") == "a b");
}

TEST_CASE("Tables and paragraphs of any content stay within 80 columns") {
    std::mt19937_64 random(1936);
    const auto word = [&](std::size_t most) {
        std::string text;
        const std::size_t length = random() % (most + 1);
        for (std::size_t i = 0; i < length; ++i)
            text += random() % 6 == 0 ? ' ' : static_cast<char>('a' + random() % 26);
        return text;
    };
    for (int round = 0; round < 300; ++round) {
        Page page(false);
        std::vector<Column> columns;
        const std::size_t count = 1 + random() % 7;
        for (std::size_t c = 0; c < count; ++c)
            columns.push_back({word(20), random() % 2 == 0 ? Align::left : Align::right, random() % 2 == 0});
        Table table(columns);
        for (int r = 0; r < 5; ++r) {
            std::vector<std::string> cells;
            for (std::size_t c = 0; c < count; ++c) cells.push_back(word(90));
            table.row(cells);
            table.group(word(200));
        }
        page.table(table);
        page.paragraph(word(400), random() % 10, random() % 10);
        page.point(word(300), random() % 10);
        page.heading(word(200));
        CHECK(widest(page.take()) <= 80);
    }
}

TEST_CASE("No line of a table ends in blanks") {
    Table table({{"a"}, {"b"}, {""}});
    table.row({"x", "", ""});
    table.group("");
    const std::string text = table.text();
    for (std::size_t i = 0; i + 1 < text.size(); ++i) CHECK_FALSE((text[i] == ' ' && text[i + 1] == '\n'));
}

TEST_CASE("Colour marks the warning words and adds nothing else") {
    Page plain(false), coloured(true);
    for (Page* page : {&plain, &coloured}) page->paragraph("STOP here, STOPPED there, it is OVER its rating");
    std::string stripped = coloured.take();
    CHECK(stripped != plain.take());
    for (const std::string code : {"\x1b[1;31m", "\x1b[0m"}) {
        for (std::size_t at = stripped.find(code); at != std::string::npos; at = stripped.find(code))
            stripped.erase(at, code.size());
    }
    CHECK(stripped == plain.take());
    CHECK(coloured.take().find("\x1b[1;31mSTOPPED") == std::string::npos);
}
