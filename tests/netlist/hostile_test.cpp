// SPDX-License-Identifier: MIT
// Files that nobody traced: far too deep, too long, cut off anywhere, with bytes changed. The reader refuses them with
// words and a place, in a time that grows with their length alone.
#include <catch2/catch.hpp>

#include <algorithm>
#include <random>

#include "files.hpp"
#include "netlist/scan.hpp"
#include "terms/numbers.hpp"

using namespace tubewright;

namespace {

std::string repeated(std::string_view piece, std::size_t times) {
    std::string text;
    text.reserve(piece.size() * times);
    for (std::size_t i = 0; i < times; ++i) text += piece;
    return text;
}

constexpr const char* head = "<chassis version=\"1\" name=\"x\" reference=\"gnd\">\n";

/// The number of the one error that a text gets.
int only_number(std::string_view text) {
    const Outcome<Chassis> set = files::read(text);
    if (set || set.notices().size() != 1) return 0;
    return set.notices()[0].number;
}

std::string resistors(std::size_t count) {
    std::string text = head;
    for (std::size_t i = 0; i < count; ++i) {
        const std::string n = std::to_string(i), next = std::to_string(i + 1);
        text += "<resistor id=\"R" + n + "\" value=\"1k\" a=\"n" + n + "\" b=\"n" + next + "\"/>\n";
    }
    return text + "<join at=\"gnd n0\"/></chassis>\n";
}

}  // namespace

TEST_CASE("A million nested elements are refused at the sixty-fifth") {
    const std::string text = head + repeated("<can>", 1000000);
    const Outcome<Chassis> set = files::read(text);
    CHECK_FALSE(set);
    REQUIRE(set.notices().size() == 1);
    CHECK(set.notices()[0].number == messages::too_deep);
    CHECK(set.notices()[0].place.line == 2);
    CHECK(set.notices()[0].place.column == 63 * 5 + 1);
    CHECK(only_number(repeated("<chassis>", 1000000)) == messages::too_deep);
}

TEST_CASE("Depth 64 is allowed and 65 is not") {
    const auto nested = [](std::size_t depth) { return repeated("<can>", depth) + repeated("</can>", depth); };
    CHECK(scan_xml(nested(64), Limits()).faults.empty());
    REQUIRE(scan_xml(nested(65), Limits()).faults.size() == 1);
    CHECK(scan_xml(nested(65), Limits()).faults[0].number == messages::too_deep);
    // An element that closes itself counts as a level too.
    CHECK(scan_xml(repeated("<can>", 64) + "<can/>" + repeated("</can>", 64), Limits()).faults.size() == 1);
}

TEST_CASE("An attribute of sixteen mebibytes is refused, one of 64 KiB is read") {
    const auto with_note = [](std::size_t length) {
        return std::string(head) + "<resistor id=\"R1\" value=\"1k\" a=\"gnd\" b=\"k\" note=\"" +
               std::string(length, 'x') + "\"/></chassis>";
    };
    CHECK(only_number(with_note(std::size_t{16} << 20)) == messages::attribute_too_long);
    CHECK(only_number(with_note((64 << 10) + 1)) == messages::attribute_too_long);
    const Outcome<Chassis> longest = files::read(with_note(64 << 10));
    REQUIRE(longest);
    CHECK(longest->parts().at(0).note.size() == 64 << 10);
}

TEST_CASE("More than 500,000 elements are refused and 500,000 are counted") {
    CHECK(only_number(head + repeated("<plug/>", 500000) + "</chassis>") == messages::too_many_elements);
    const Scan scan = scan_xml(head + repeated("<plug/>", 499999) + "</chassis>", Limits());
    CHECK(scan.faults.empty());
    CHECK(scan.elements == 500000);
}

TEST_CASE("More than 64 MiB is refused before anything is read") {
    CHECK(only_number(std::string((std::size_t{64} << 20) + 1, ' ')) == messages::file_too_big);
    CHECK(only_number(std::string(std::size_t{64} << 20, ' ')) == messages::file_empty);
}

TEST_CASE("A hundred thousand errors are told up to a number, and the rest is counted") {
    const std::string text = head + repeated("<resistr/>\n", 100000) + "</chassis>";
    const Outcome<Chassis> set = files::read(text);
    CHECK_FALSE(set);
    CHECK(set.notices().size() <= 10001);
    CHECK(set.notices().back().number == messages::more_errors);
    // One more than the elements: nothing stands on the reference.
    CHECK(set.notices().back().message == std::to_string(100001 - 10000) + " more are not listed");
}

TEST_CASE("A file that ends anywhere is refused with a place inside it") {
    const std::string whole = files::bytes(files::root / "tests/netlist/good/every-element.xml");
    const std::size_t last = whole.rfind('>');
    const auto lines = static_cast<int>(std::count(whole.begin(), whole.end(), '\n')) + 1;
    for (std::size_t end = 0; end <= last; ++end) {
        const Outcome<Chassis> set = files::read(std::string_view(whole).substr(0, end));
        if (set || set.notices().empty() || set.notices()[0].place.line < 1 || set.notices()[0].place.line > lines)
            FAIL("cut after byte " << end);
    }
    CHECK(files::read(std::string_view(whole).substr(0, last + 1)));
}

TEST_CASE("Any byte of a file may be any other: it is read or refused with words") {
    const std::string whole = files::bytes(files::root / "tests/netlist/good/every-element.xml");
    std::mt19937 random(1);
    const auto below = [&](std::size_t n) { return static_cast<std::size_t>(random() % n); };
    int refused = 0;
    for (int round = 0; round < 4000; ++round) {
        std::string text = whole;
        for (std::size_t change = 0; change <= below(3); ++change) {
            const std::size_t where = below(text.size());
            switch (below(4)) {
                case 0:
                    text[where] = static_cast<char>(below(256));
                    break;
                case 1:
                    text.erase(where, 1 + below(20));
                    break;
                case 2:
                    text.insert(where, text.substr(below(text.size()), 1 + below(30)));
                    break;
                default:
                    text.insert(where, 1, "<>\"'&/=?!-. \n"[below(13)]);
                    break;
            }
        }
        const Outcome<Chassis> set = files::read(text);
        if (set) continue;
        ++refused;
        if (set.notices().empty()) FAIL("refused without a word: " << text);
        for (const Notice& notice : set.notices())
            if (notice.number == 0 || notice.message.empty()) FAIL("a notice without number or words");
    }
    CHECK(refused > 1000);
}

TEST_CASE("Every two-byte text is refused with words") {
    for (int a = 0; a < 256; ++a)
        for (int b = 0; b < 256; ++b) {
            const std::string text = {static_cast<char>(a), static_cast<char>(b)};
            const Outcome<Chassis> set = files::read(text);
            if (set || set.notices().size() != 1) FAIL("bytes " << a << " " << b);
        }
}

TEST_CASE("An entity cannot grow: whatever declares one is refused before it is read") {
    const std::string bomb = "<!DOCTYPE c [<!ENTITY a \"" + std::string(1000, 'x') + "\">]><chassis/>";
    CHECK(only_number(bomb) == messages::doctype_refused);
    CHECK(only_number("<chassis version=\"1\" name=\"&a;\"/>") == messages::unknown_entity);
}

TEST_CASE("Long files of every kind of repetition are answered") {
    // What a reader of quadratic time would hang on; the clock is the hang guard of the test run, and tests/speed
    // measures the growth.
    CHECK(files::read(resistors(80000)));
    // One line, characters beyond ASCII: columns are counted once.
    std::string one_line = "<chassis version=\"1\" name=\"\xCE\xA9\">";
    for (std::size_t i = 0; i < 100000; ++i)
        one_line += "<wire from=\"a\" to=\"b" + std::to_string(i) + "\" note=\"\xCE\xA9\"/>";
    CHECK(files::read(one_line + "</chassis>"));
    // One attribute many times; one id many times; many wrong names; many windings.
    CHECK_FALSE(files::read(std::string(head) + "<plug " + repeated("id=\"P1\" ", 100000) + "/></chassis>"));
    CHECK_FALSE(
        files::read(std::string(head) + repeated("<fuse id=\"F1\" a=\"gnd\" b=\"c\"/>", 100000) + "</chassis>"));
    std::string lost = head;
    for (std::size_t i = 0; i < 100000; ++i) lost += "<join at=\"gnd X" + std::to_string(i) + ".1\"/>\n";
    CHECK_FALSE(files::read(lost + "</chassis>"));
    CHECK_FALSE(files::read(std::string(head) + "<transformer id=\"T1\" role=\"power\">" +
                            repeated("<winding role=\"heater\" leads=\"a b\"/>", 100000) + "</transformer></chassis>"));
}
