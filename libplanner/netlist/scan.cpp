// SPDX-License-Identifier: MIT
#include "netlist/scan.hpp"

#include <array>
#include <cstdint>
#include <cstring>

#include "terms/near.hpp"
#include "terms/numbers.hpp"

namespace tubewright {
namespace {

constexpr std::size_t most_faults = 1000;

bool blank(char c) {
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

/// What a byte may be, looked up once a byte.
enum : unsigned char { in_name = 1, ends_plain = 2, ends_tag = 4 };
constexpr std::array<unsigned char, 256> kinds = [] {
    std::array<unsigned char, 256> table{};
    for (unsigned c = 0; c < 256; ++c) {
        const bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
        if (letter || c == '_' || c == ':' || c == '-' || c == '.' || c >= 0x80) table[c] |= in_name;
        if (c == '"' || c == '\'' || c == '<' || c == '&') table[c] |= ends_plain;
        if (c == '"' || c == '\'' || c == '<' || c == '>' || c == '/') table[c] |= ends_tag;
    }
    return table;
}();
bool is(char c, unsigned char kind) {
    return (kinds[static_cast<unsigned char>(c)] & kind) != 0;
}

bool name_byte(char c) {
    return is(c, in_name);
}
bool name_start(char c) {
    return name_byte(c) && c != '-' && c != '.' && !(c >= '0' && c <= '9');
}

/// Length of the UTF-8 character at `s`, 0 when it is none (overlong, surrogate, past U+10FFFF, cut short).
std::size_t utf8_length(std::string_view s) {
    const auto byte = [&](std::size_t i) { return i < s.size() ? static_cast<unsigned char>(s[i]) : 0U; };
    const auto tail = [&](std::size_t i) { return (byte(i) & 0xC0U) == 0x80U; };
    const unsigned a = byte(0);
    if (a < 0x80) return 1;
    if (a >= 0xC2 && a <= 0xDF) return tail(1) ? 2 : 0;
    if (a >= 0xE0 && a <= 0xEF) {
        if (!tail(1) || !tail(2)) return 0;
        if (a == 0xE0 && byte(1) < 0xA0) return 0;
        if (a == 0xED && byte(1) >= 0xA0) return 0;
        if (a == 0xEF && byte(1) == 0xBF && byte(2) >= 0xBE) return 0;
        return 3;
    }
    if (a >= 0xF0 && a <= 0xF4) {
        if (!tail(1) || !tail(2) || !tail(3)) return 0;
        if (a == 0xF0 && byte(1) < 0x90) return 0;
        if (a == 0xF4 && byte(1) >= 0x90) return 0;
        return 4;
    }
    return 0;
}

class Scanner {
  public:
    Scanner(std::string_view text, const Limits& limits) : text_(text), limits_(limits) {}

    Scan run() {
        if (characters() && declaration()) elements();
        return std::move(scan_);
    }

  private:
    /// Adds a fault; a fatal one ends the scan.
    void fault(int number, std::size_t offset, std::string message, std::string remedy, bool fatal) {
        if (fatal) scan_.readable = false;
        if (scan_.faults.size() >= most_faults && !fatal) return;
        scan_.faults.push_back({number, offset, std::move(message), std::move(remedy)});
    }

    /// Every byte is UTF-8 text; eight at a time while they are plain.
    bool characters() {
        std::size_t i = 0;
        while (i < text_.size()) {
            if (i + 8 <= text_.size()) {
                std::uint64_t eight;
                std::memcpy(&eight, text_.data() + i, 8);
                constexpr std::uint64_t high = 0x8080808080808080ULL, space = 0x2020202020202020ULL;
                if (((eight | (eight - space)) & high) == 0) {
                    i += 8;
                    continue;
                }
            }
            const std::size_t end = std::min(i + 8, text_.size());
            while (i < end) {
                const auto c = static_cast<unsigned char>(text_[i]);
                if (c < 0x20 && c != '\t' && c != '\n' && c != '\r') {
                    constexpr std::string_view digits = "0123456789ABCDEF";
                    const std::string code = {digits[c >> 4U], digits[c & 15U]};
                    fault(messages::control_character, i,
                          c == 0 ? "a NUL byte stands in the text"
                                 : joined({"the control character ", code, " stands in the text"}),
                          "save the file as plain UTF-8 text", true);
                    return false;
                }
                if (c < 0x80) {
                    ++i;
                    continue;
                }
                scan_.ascii = false;
                const std::size_t length = utf8_length(text_.substr(i));
                if (length == 0) {
                    fault(messages::not_utf8, i, "this is not UTF-8", "save the file as UTF-8", true);
                    return false;
                }
                i += length;
            }
        }
        return true;
    }

    /// From `offset` to the end of its line or to `end`.
    std::string_view line_at(std::size_t offset, std::size_t end) const {
        const std::string_view rest = text_.substr(offset, end - offset);
        return rest.substr(0, rest.find_first_of("\r\n"));
    }

    bool skip(std::string_view mark) {
        if (!text_.substr(at_).starts_with(mark)) return false;
        at_ += mark.size();
        return true;
    }

    /// "<?xml ... encoding=...?>" may only say UTF-8 (or its subset).
    bool declaration() {
        std::size_t first = 0;
        while (first < text_.size() && blank(text_[first])) ++first;
        if (first == text_.size()) {
            fault(messages::file_empty, 0, "the file is empty", "begin with <chassis version=\"1\" name=\"...\">",
                  true);
            return false;
        }
        if (text_[first] != '<') {
            fault(messages::not_xml, first, "this is not XML: it begins with " + quoted(line_at(first, text_.size())),
                  "a chassis file begins with <chassis version=\"1\" name=\"...\">", true);
            return false;
        }
        if (!text_.starts_with("<?xml")) return true;
        const std::size_t end = text_.find("?>");
        if (end == std::string_view::npos) return true;  // told by elements()
        const std::string_view head = text_.substr(0, end);
        const std::size_t said = head.find("encoding");
        if (said == std::string_view::npos) return true;
        const std::size_t open = head.find_first_of("\"'", said);
        if (open == std::string_view::npos) return true;
        const std::string_view name = head.substr(open + 1, head.find(head[open], open + 1) - open - 1);
        std::string small(name);
        for (char& c : small)
            if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
        if (small == "utf-8" || small == "utf8" || small == "us-ascii") return true;
        fault(messages::not_utf8, open + 1, "the file says that it is " + quoted(name),
              "save it as UTF-8 and write encoding=\"UTF-8\", or leave the line out", true);
        return false;
    }

    void malformed(std::size_t offset, std::string message, std::string remedy) {
        fault(messages::not_well_formed, offset, std::move(message), std::move(remedy), true);
    }

    void elements() {
        while (scan_.readable) {
            while (at_ < text_.size() && blank(text_[at_])) ++at_;
            std::size_t open = at_;
            if (at_ < text_.size() && text_[at_] != '<') {
                open = std::min(text_.find('<', at_), text_.size());
                fault(messages::text_between, at_, "text stands between elements: " + quoted(line_at(at_, open)),
                      "put remarks into note=\"...\" or <!-- ... -->", false);
            }
            if (open >= text_.size()) break;
            at_ = open;
            const char next = open + 1 < text_.size() ? text_[open + 1] : ' ';
            if (next != '!' && next != '?' && next != '/') {
                ++at_;
                start_tag(open);
                continue;
            }
            if (skip("<!--")) {
                const std::size_t dashes = text_.find("--", at_);
                if (dashes == std::string_view::npos)
                    return malformed(open, "this comment is never closed", "end it by -->");
                if (dashes + 2 >= text_.size() || text_[dashes + 2] != '>')
                    return malformed(dashes, "two hyphens stand inside a comment", "XML does not allow it: write one");
                at_ = dashes + 3;
            } else if (skip("<![CDATA[")) {
                fault(messages::text_between, open, "a CDATA section stands between elements",
                      "put remarks into note=\"...\" or <!-- ... -->", false);
                const std::size_t end = text_.find("]]>", at_);
                if (end == std::string_view::npos)
                    return malformed(open, "this CDATA section is never closed", "end it by ]]>");
                at_ = end + 3;
            } else if (skip("<!")) {
                return fault(messages::doctype_refused, open, "a DOCTYPE or another declaration stands here",
                             "leave it out: a chassis file needs none", true);
            } else if (skip("<?")) {
                const std::size_t end = text_.find("?>", at_);
                if (end == std::string_view::npos) return malformed(open, "this <? is never closed", "end it by ?>");
                const std::string_view target = text_.substr(at_, 3);
                const char behind = at_ + 3 < text_.size() ? text_[at_ + 3] : ' ';
                const bool declaration = target == "xml" && (behind == ' ' || behind == '\t' || behind == '\n' ||
                                                             behind == '\r' || behind == '?');
                if (declaration && open != 0)
                    return malformed(open, "the XML declaration is not at the very beginning",
                                     "move it to the first line or leave it out");
                at_ = end + 2;
            } else if (skip("</")) {
                end_tag(open);
            }
        }
        if (!scan_.readable) return;
        if (depth_ > 0)
            malformed(text_.size(), joined({"the file ends inside <", names_[depth_ - 1], ">"}),
                      joined({"the element that is opened there is never closed: </", names_[depth_ - 1], ">"}));
        else if (scan_.elements == 0)
            fault(messages::file_empty, 0, "the file holds no element",
                  "begin with <chassis version=\"1\" name=\"...\">", true);
    }

    std::string_view name() {
        const std::size_t start = at_;
        while (at_ < text_.size() && name_byte(text_[at_])) ++at_;
        return text_.substr(start, at_ - start);
    }

    void end_tag(std::size_t open) {
        const std::string_view closed = name();
        while (at_ < text_.size() && blank(text_[at_])) ++at_;
        if (at_ >= text_.size() || text_[at_] != '>')
            return malformed(open, "this end tag is not closed", joined({"write </", closed, ">"}));
        ++at_;
        if (depth_ == 0) return malformed(open, joined({"</", closed, "> closes nothing"}), "leave it out");
        const std::string_view opened = names_[depth_ - 1];
        if (closed != opened)
            return malformed(
                open, joined({"</", closed.substr(0, 40), "> stands where <", opened.substr(0, 40), "> is open"}),
                joined({"close <", opened.substr(0, 40), "> first, by \"/>\" or by </", opened.substr(0, 40), ">"}));
        if (--depth_ == 0) scan_.bounds.push_back(open);
    }

    void start_tag(std::size_t open) {
        if (at_ >= text_.size() || !name_start(text_[at_]))
            return malformed(open, "a bare < stands in the text", "write &lt; in a value");
        const std::string_view element = name();
        if (depth_ == 0 && scan_.elements > 0)
            return malformed(open, joined({"a second element <", element.substr(0, 40), "> stands outside the first"}),
                             "a file holds one <chassis>");
        if (depth_ == 0) scan_.root_begin = open;
        if (depth_ == 1 && open - scan_.bounds.back() >= piece_bytes) scan_.bounds.push_back(open);
        if (++scan_.elements > limits_.elements)
            return fault(messages::too_many_elements, open,
                         joined({"the file has more than ", std::to_string(limits_.elements), " elements"}),
                         "split the set", true);
        while (true) {
            while (at_ < text_.size() && !is(text_[at_], ends_tag)) ++at_;
            if (at_ >= text_.size()) break;
            const char c = text_[at_];
            if (c == '>') {
                ++at_;
                if (depth_ >= limits_.depth || depth_ >= names_.size())
                    return fault(messages::too_deep, open,
                                 joined({"elements are nested more than ", std::to_string(limits_.depth), " deep"}),
                                 "parts stand directly inside <chassis>", true);
                if (depth_ == 0) {
                    scan_.root_end = at_;
                    scan_.bounds.push_back(at_);
                }
                names_[depth_++] = element;
                return;
            }
            if (c == '/' && at_ + 1 < text_.size() && text_[at_ + 1] == '>') {
                at_ += 2;
                if (depth_ == 0) {
                    scan_.root_end = at_;
                    scan_.root_closed = true;
                }
                if (depth_ >= limits_.depth)
                    fault(messages::too_deep, open,
                          joined({"elements are nested more than ", std::to_string(limits_.depth), " deep"}),
                          "parts stand directly inside <chassis>", true);
                return;
            }
            if (c == '"' || c == '\'') {
                if (!value(c)) return;
                continue;
            }
            if (c == '<')
                return malformed(at_, joined({"<", element.substr(0, 40), "> is not closed before the next <"}),
                                 "end it by /> or >");
            ++at_;
        }
        malformed(open, joined({"<", element.substr(0, 40), "> is not closed"}), "end it by /> or >");
    }

    /// An attribute's value from its opening quote.
    bool value(char quote) {
        const std::size_t start = at_ + 1;
        std::size_t end = start;
        while (end < text_.size() && !is(text_[end], ends_plain)) ++end;
        const bool plain = end < text_.size() && text_[end] == quote;
        if (!plain) end = text_.find(quote, end);
        if (end == std::string_view::npos) {
            malformed(at_, "this value has no closing quote", joined({"end it by ", std::string(1, quote)}));
            return false;
        }
        const std::string_view body = text_.substr(start, end - start);
        if (body.size() > limits_.attribute_bytes) {
            fault(messages::attribute_too_long, start,
                  joined({"a value is longer than ", std::to_string(limits_.attribute_bytes >> 10U), " KiB"}),
                  "shorten it", true);
            return false;
        }
        for (std::size_t i = 0; i < body.size() && !plain; ++i) {
            if (body[i] == '<') {
                malformed(start + i, "a bare < stands in a value, or the quote before it was never closed",
                          "write &lt;, or close the quote");
                return false;
            }
            if (body[i] == '&' && !reference(body.substr(i), start + i)) return false;
        }
        at_ = end + 1;
        return true;
    }

    bool reference(std::string_view rest, std::size_t offset) {
        for (const std::string_view known : {"&amp;", "&lt;", "&gt;", "&quot;", "&apos;"})
            if (rest.starts_with(known)) return true;
        const std::size_t semicolon = rest.substr(0, 12).find(';');
        if (semicolon != std::string_view::npos && rest.size() > 2 && rest[1] == '#') {
            const bool hex = rest[2] == 'x';
            std::uint32_t code = 0;
            bool good = semicolon > (hex ? 3U : 2U);
            for (std::size_t i = hex ? 3 : 2; i < semicolon; ++i) {
                const char c = rest[i];
                std::uint32_t digit = 99;
                if (c >= '0' && c <= '9') digit = static_cast<std::uint32_t>(c - '0');
                if (hex && c >= 'a' && c <= 'f') digit = static_cast<std::uint32_t>(c - 'a' + 10);
                if (hex && c >= 'A' && c <= 'F') digit = static_cast<std::uint32_t>(c - 'A' + 10);
                good = good && digit < (hex ? 16U : 10U) && code < 0x200000;
                code = code * (hex ? 16 : 10) + digit;
            }
            const bool text = code == 9 || code == 10 || code == 13 || (code >= 0x20 && code <= 0xD7FF) ||
                              (code >= 0xE000 && code <= 0xFFFD) || (code >= 0x10000 && code <= 0x10FFFF);
            if (good && text) return true;
        }
        fault(messages::unknown_entity, offset, "a bare & or an unknown reference stands in a value",
              "write &amp; for &", true);
        return false;
    }

    std::string_view text_;
    const Limits& limits_;
    Scan scan_;
    std::size_t at_ = 0, depth_ = 0;
    std::array<std::string_view, 256> names_{};
};

}  // namespace

std::string_view wide_text(std::string_view text) {
    using namespace std::string_view_literals;
    if (text.starts_with("\xFF\xFE\0\0"sv) || text.starts_with("\0\0\xFE\xFF"sv)) return "UTF-32";
    return text.starts_with("\xFF\xFE") || text.starts_with("\xFE\xFF") ? "UTF-16" : "";
}

Scan scan_xml(std::string_view text, const Limits& limits) {
    return Scanner(text, limits).run();
}

PlaceCursor::PlaceCursor(std::string_view text, bool ascii) : text_(text), ascii_(ascii) {
    restart();
}

void PlaceCursor::restart() {
    line_start_ = counted_to_ = 0;
    line_ = 1;
    characters_ = 0;
    find_line_end();
}

void PlaceCursor::find_line_end() {
    const std::size_t end = text_.find('\n', line_start_);
    line_end_ = end == std::string_view::npos ? text_.size() : end;
}

Spot PlaceCursor::walk(std::size_t offset) {
    offset = std::min(offset, text_.size());
    if (offset < line_start_) restart();
    while (offset > line_end_) {
        line_start_ = counted_to_ = line_end_ + 1;
        characters_ = 0;
        ++line_;
        find_line_end();
    }
    if (ascii_) return {line_, static_cast<int>(offset - line_start_) + 1};
    if (offset < counted_to_) {
        counted_to_ = line_start_;
        characters_ = 0;
    }
    for (; counted_to_ < offset; ++counted_to_)
        if ((static_cast<unsigned char>(text_[counted_to_]) & 0xC0U) != 0x80U) ++characters_;
    return {line_, characters_ + 1};
}

}  // namespace tubewright
