// SPDX-License-Identifier: MIT
#include "report/page.hpp"

#include <algorithm>
#include <array>

namespace tubewright::report {
namespace {

/// Bytes of the character that begins at text[i], 0 when it is broken UTF-8.
std::size_t character_at(std::string_view text, std::size_t i) {
    const auto byte = static_cast<unsigned char>(text[i]);
    const std::size_t length = byte < 0x80                   ? 1
                               : byte >= 0xC2 && byte < 0xE0 ? 2
                               : (byte & 0xF0) == 0xE0       ? 3
                               : byte >= 0xF0 && byte < 0xF5 ? 4
                                                             : 0;
    if (length == 0 || i + length > text.size()) return 0;
    for (std::size_t k = 1; k < length; ++k) {
        if ((static_cast<unsigned char>(text[i + k]) & 0xC0) != 0x80) return 0;
    }
    return length;
}

std::string padded(const std::string& cell, std::size_t width, Align align) {
    const std::size_t used = columns_of(cell);
    const std::string gap(width > used ? width - used : 0, ' ');
    return align == Align::left ? cell + gap : gap + cell;
}

void strip_trailing(std::string& line) {
    while (!line.empty() && line.back() == ' ') line.pop_back();
}

bool is_word_character(char c) {
    return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
}

/// Words that warn, in bold red where they stand alone.
std::string coloured(const std::string& text) {
    static constexpr std::array<std::string_view, 6> warnings{"STOP", "DANGER", "DOUBT", "OVER", "REVERSED", "HOT"};
    std::string out;
    std::size_t i = 0;
    while (i < text.size()) {
        bool hit = false;
        if (i == 0 || !is_word_character(text[i - 1])) {
            for (const std::string_view word : warnings) {
                if (text.compare(i, word.size(), word) != 0) continue;
                if (i + word.size() < text.size() && is_word_character(text[i + word.size()])) continue;
                out += "\x1b[1;31m";
                out += word;
                out += "\x1b[0m";
                i += word.size();
                hit = true;
                break;
            }
        }
        if (!hit) out += text[i++];
    }
    return out;
}

/// Columns of the longest part of a text that no line break may stand in, as far as a table can mind.
std::size_t longest_word(std::string_view text) {
    constexpr std::size_t most = 26;
    std::size_t longest = 0, run = 0;
    for (const char c : text) {
        run = c == ' ' || c == '-' ? 0 : run + ((static_cast<unsigned char>(c) & 0xC0U) != 0x80U ? 1 : 0);
        longest = std::max(longest, run + (c == '-' ? 1 : 0));
    }
    return std::min(longest, most);
}

}  // namespace

std::string printable(std::string_view text) {
    std::string out;
    for (std::size_t i = 0; i < text.size();) {
        const std::size_t length = character_at(text, i);
        const auto byte = static_cast<unsigned char>(text[i]);
        if (text[i] == '\n' || text[i] == '\t' || text[i] == '\r') {
            out += ' ';
            ++i;
        } else if (length == 0 || (length == 1 && (byte < 0x20 || byte == 0x7F)) ||
                   (length == 2 && byte == 0xC2 && static_cast<unsigned char>(text[i + 1]) < 0xA0)) {
            out += '?';
            i += length == 0 ? 1 : length;
        } else {
            out += text.substr(i, length);
            i += length;
        }
    }
    return out;
}

std::size_t columns_of(std::string_view text) {
    return static_cast<std::size_t>(
        std::count_if(text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
}

std::vector<std::string> wrap(std::string_view raw, std::size_t width) {
    const std::string text = printable(raw);
    width = std::max<std::size_t>(width, 4);
    std::vector<std::string> lines;
    std::string line;
    std::size_t used = 0;
    std::size_t i = 0;
    while (i < text.size()) {
        if (text[i] == ' ') {
            ++i;
            continue;
        }
        std::size_t end = text.find(' ', i);
        if (end == std::string::npos) end = text.size();
        std::string word = text.substr(i, end - i);
        i = end;
        std::size_t wide = columns_of(word);
        if (used > 0 && used + 1 + wide > width) {
            lines.push_back(std::move(line));
            line.clear();
            used = 0;
        }
        while (wide > width) {
            std::size_t cut = 0;
            for (std::size_t k = 0; k < width; ++k) cut += std::max<std::size_t>(1, character_at(word, cut));
            // behind a hyphen, where there is one
            if (const std::size_t hyphen = word.rfind('-', cut - 1); hyphen != std::string::npos && hyphen > 1)
                cut = hyphen + 1;
            lines.push_back(word.substr(0, cut));
            word.erase(0, cut);
            wide = columns_of(word);
        }
        if (word.empty()) continue;
        if (used > 0) {
            line += ' ';
            ++used;
        }
        line += word;
        used += wide;
    }
    if (!line.empty() || lines.empty()) lines.push_back(std::move(line));
    return lines;
}

std::string Table::text(std::size_t indent) const {
    const std::size_t count = columns_.size();
    std::vector<std::size_t> width(count, 0), least(count, 14);
    bool heads = false;
    for (std::size_t c = 0; c < count; ++c) {
        width[c] = columns_of(columns_[c].head);
        heads = heads || !columns_[c].head.empty();
        for (const Row& row : rows_) {
            if (c >= row.cells.size()) continue;
            width[c] = std::max(width[c], columns_of(printable(row.cells[c])));
            least[c] = std::max(least[c], longest_word(row.cells[c]));
        }
    }
    constexpr std::size_t gap = 2;
    const auto total = [&] {
        std::size_t sum = indent + gap * (count - 1);
        for (const std::size_t w : width) sum += w;
        return sum;
    };
    // Narrow the widest column that may wrap, down to 14 or its longest word; then any down to its longest word; when
    // none can give any more, the widest of all.
    while (total() > page_width) {
        std::size_t widest = count;
        const auto pick = [&](bool any) {
            for (std::size_t c = 0; c < count; ++c)
                if ((columns_[c].wraps || any) && width[c] > least[c] && (widest == count || width[c] > width[widest]))
                    widest = c;
        };
        pick(false);
        if (widest == count) pick(true);
        if (widest == count)
            widest = static_cast<std::size_t>(std::max_element(width.begin(), width.end()) - width.begin());
        if (width[widest] <= 4) break;
        --width[widest];
    }
    std::string out;
    const auto print = [&](const std::vector<std::string>& cells) {
        std::vector<std::vector<std::string>> lines(count);
        std::size_t tall = 1;
        for (std::size_t c = 0; c < count; ++c) {
            lines[c] = wrap(c < cells.size() ? cells[c] : std::string(), width[c]);
            tall = std::max(tall, lines[c].size());
        }
        for (std::size_t k = 0; k < tall; ++k) {
            std::string line(indent, ' ');
            for (std::size_t c = 0; c < count; ++c) {
                if (c > 0) line += std::string(gap, ' ');
                line += padded(k < lines[c].size() ? lines[c][k] : std::string(), width[c], columns_[c].align);
            }
            strip_trailing(line);
            out += line + '\n';
        }
    };
    if (heads) {
        std::vector<std::string> head, rule;
        for (const Column& column : columns_) head.push_back(column.head);
        print(head);
        std::string line(indent, ' ');
        for (std::size_t c = 0; c < count; ++c)
            line += (c > 0 ? std::string(gap, ' ') : std::string()) + std::string(width[c], '-');
        strip_trailing(line);
        out += line + '\n';
    }
    for (const Row& row : rows_) {
        if (row.cells.empty()) {
            for (const std::string& line : wrap(row.group, page_width)) out += line + '\n';
        } else {
            print(row.cells);
        }
    }
    return out;
}

void Page::title(std::string_view set, std::string_view what) {
    paragraph(std::string(set) + ": " + std::string(what));
    text_ += std::string(page_width, '=') + '\n';
}

void Page::heading(std::string_view text) {
    blank();
    std::string upper = printable(text);
    for (char& c : upper) c = c >= 'a' && c <= 'z' ? static_cast<char>(c - 32) : c;
    for (const std::string& line : wrap(upper, page_width)) text_ += line + '\n';
}

void Page::paragraph(std::string_view text, std::size_t indent, std::size_t hang) {
    bool first = true;
    for (const std::string& line : wrap(text, page_width - indent - hang)) {
        text_ += std::string(first ? indent : indent + hang, ' ') + line + '\n';
        first = false;
    }
}

void Page::point(std::string_view text, std::size_t indent) {
    bool first = true;
    for (const std::string& line : wrap(text, page_width - indent - 2)) {
        text_ += std::string(indent, ' ') + (first ? "- " : "  ") + line + '\n';
        first = false;
    }
}

void Page::table(const Table& table, std::size_t indent) {
    text_ += table.text(indent);
}

void Page::verbatim(std::string_view line) {
    text_ += printable(line) + '\n';
}

void Page::blank() {
    if (!text_.empty() && (text_.size() < 2 || text_.substr(text_.size() - 2) != "\n\n")) text_ += '\n';
}

std::string Page::take() const {
    return colour_ ? coloured(text_) : text_;
}

}  // namespace tubewright::report
