// SPDX-License-Identifier: MIT
// Places and characters: netlist/scan.hpp against a slow count, and UTF-8 against all that it may not be.
#include <catch2/catch.hpp>

#include <random>

#include "files.hpp"
#include "netlist/scan.hpp"
#include "terms/numbers.hpp"

using namespace tubewright;

namespace {

/// The slow twin of PlaceCursor: counts from the beginning every time.
Spot counted(std::string_view text, std::size_t offset) {
    Spot spot{1, 1};
    for (std::size_t i = 0; i < offset && i < text.size(); ++i) {
        if (text[i] == '\n')
            spot = {spot.line + 1, 1};
        else if ((static_cast<unsigned char>(text[i]) & 0xC0U) != 0x80U)
            ++spot.column;
    }
    return spot;
}

int fault_in(const std::string& bytes) {
    const Scan scan = scan_xml("<a b=\"" + bytes + "\"/>", Limits());
    return scan.faults.empty() ? 0 : scan.faults[0].number;
}

}  // namespace

TEST_CASE("Line and column are what a slow count gives, forwards, backwards and at random") {
    std::mt19937 random(3);
    for (int round = 0; round < 200; ++round) {
        std::string text;
        bool ascii = round % 2 == 0;
        for (int i = 0; i < 200; ++i) {
            const auto pick = random() % 10;
            if (pick == 0)
                text += '\n';
            else if (pick == 1 && !ascii)
                text += "\xCE\xA9";
            else
                text += 'x';
        }
        PlaceCursor cursor(text, ascii);
        for (int i = 0; i < 100; ++i) {
            std::size_t offset = static_cast<std::size_t>(i) * 2;
            if (round % 3 == 1) offset = 199 - offset;
            if (round % 3 == 2) offset = random() % (text.size() + 1);
            offset = std::min(offset, text.size());
            // Inside a character its own column counts.
            while (offset < text.size() && (static_cast<unsigned char>(text[offset]) & 0xC0U) == 0x80U) ++offset;
            const Spot fast = cursor.at(offset), slow = counted(text, offset);
            if (fast.line != slow.line || fast.column != slow.column) FAIL("offset " << offset << " in " << text);
        }
    }
    PlaceCursor end("ab\n", true);
    CHECK(end.at(3).line == 2);
    CHECK(end.at(99).column == 1);
}

TEST_CASE("Text that is not UTF-8 is refused at its first wrong byte") {
    for (const char* good : {"a", "\xC2\xB5", "\xE2\x84\xA6", "\xF0\x9F\x93\xBB", "\xEF\xBF\xBD", "\xED\x9F\xBF"})
        CHECK(fault_in(good) == 0);
    for (const char* bad : {"\x80", "\xBF", "\xC0\x80", "\xC1\xBF", "\xC2", "\xC2z", "\xE0\x80\x80", "\xE0\x9F\xBF",
                            "\xE2\x84", "\xED\xA0\x80", "\xED\xBF\xBF", "\xEF\xBF\xBE", "\xEF\xBF\xBF",
                            "\xF0\x80\x80\x80", "\xF0\x9F\x93", "\xF4\x90\x80\x80", "\xF5\x80\x80\x80", "\xFE", "\xFF"})
        CHECK(fault_in(bad) == messages::not_utf8);
    // Where eight bytes are looked at together, the place is still that of the byte.
    for (std::size_t before = 0; before < 20; ++before) {
        const Scan scan =
            scan_xml("<a b=\"" + std::string(before, 'x') + "\xFF" + std::string(20, 'x') + "\"/>", Limits());
        REQUIRE(scan.faults.size() == 1);
        CHECK(scan.faults[0].offset == 6 + before);
        CHECK_FALSE(scan.readable);
    }
}

TEST_CASE("Control characters are refused but for tab and line ends") {
    for (int c = 0; c < 0x20; ++c) {
        const bool allowed = c == '\t' || c == '\n' || c == '\r';
        CHECK(fault_in(std::string(1, static_cast<char>(c))) == (allowed ? 0 : messages::control_character));
    }
}

TEST_CASE("References to characters are those that XML allows") {
    for (const char* good : {"&amp;", "&lt;", "&gt;", "&quot;", "&apos;", "&#65;", "&#x3A9;", "&#x10FFFF;", "&#9;"})
        CHECK(fault_in(good) == 0);
    for (const char* bad : {"&", "&;", "&amp", "&AMP;", "&#;", "&#x;", "&#0;", "&#8;", "&#xD800;", "&#xFFFE;",
                            "&#x110000;", "&#12a;", "&#99999999999;", "&nbsp;"})
        CHECK(fault_in(bad) == messages::unknown_entity);
}
