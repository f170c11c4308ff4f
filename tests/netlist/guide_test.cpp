// SPDX-License-Identifier: MIT
// netlists/guide.md, the text that people write a set by: its blocks are one file that reads, and it knows every word
// that the reader knows.
#include <fstream>
#include <iterator>

#include <tubewright/catalogue.hpp>
#include <tubewright/netlist.hpp>

#include <catch2/catch.hpp>

#include "chassis/data.hpp"
#include "netlist/vocabulary.hpp"

using namespace tubewright;

namespace {

std::string guide() {
    std::ifstream in(std::string(TUBEWRIGHT_ROOT) + "/netlists/guide.md", std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

}  // namespace

TEST_CASE("The blocks of the guide are one chassis file, and no doubt hangs on it") {
    const std::string text = guide(), open = "```xml\n", close = "```";
    std::string file;
    for (std::size_t at = text.find(open); at != std::string::npos; at = text.find(open, at)) {
        const std::size_t from = at + open.size();
        at = text.find(close, from);
        REQUIRE(at != std::string::npos);
        file += text.substr(from, at - from);
    }
    const Catalogue catalogue = Catalogue::shipped();
    const auto set = read_chassis_text(file + "</chassis>\n", "guide.xml", catalogue);
    for (const Notice& n : set.notices()) UNSCOPED_INFO(n.text());
    REQUIRE(set);
    CHECK(set->parts().size() > 20);
    CHECK(set->level() == 3);
    CHECK(set->family() == Family::ac_transformer);
}

TEST_CASE("The guide has every word: constructions, what is seen, roles, nodes, elements, colour codes") {
    const std::string text = guide();
    const auto told = [&](std::string_view word, const char* mark, const char* end) {
        INFO(word);
        CHECK(text.find(mark + std::string(word) + end) != std::string::npos);
    };
    const Catalogue catalogue = Catalogue::shipped();
    for (const Construction& c : catalogue.constructions()) told(c.key, "`", "`");
    for (const auto* words : {&seen_words(), &transformer_roles(), &winding_roles(), &coil_roles(), &node_words()})
        for (const std::string_view word : *words) told(word, "`", "`");
    for (const std::string_view word : colour_codes()) told(word, "", "");
    for (const ElementRule& rule : vocabulary())
        if (rule.name != "chassis") told(rule.name, "<", "");
}

TEST_CASE("The sheet of the guide is a chassis file: a part, a winding by its leads, a section") {
    const std::string text = guide(), open = "```csv\n";
    const std::size_t from = text.find(open);
    REQUIRE(from != std::string::npos);
    const std::string sheet =
        text.substr(from + open.size(), text.find("```", from + open.size()) - from - open.size());
    const Catalogue catalogue = Catalogue::shipped();
    const auto made = chassis_of_sheet(sheet, "guide.csv", catalogue);
    for (const Notice& n : made.notices()) UNSCOPED_INFO(n.text());
    REQUIRE(made);
    const auto set = read_chassis_text(*made, "guide.xml", catalogue);
    REQUIRE(set);
    CHECK(set->net("T2.blue") == set->net("V2.3"));
    CHECK(set->net("bplus") == set->net("T2.red"));
    CHECK(set->part("C1.square") >= 0);
    CHECK(set->part("R1") >= 0);
}
