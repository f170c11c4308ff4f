// SPDX-License-Identifier: MIT
// `audit --against`: the page that names what differs between two files, and its JSON.
#include <fstream>
#include <sstream>

#include <tubewright/netlist.hpp>

#include <catch2/catch.hpp>

#include "report/envelope.hpp"
#include "report/page.hpp"

using tubewright::report::Json;
namespace tw = tubewright;

namespace {

const tw::Catalogue& catalogue() {
    static const tw::Catalogue shipped = tw::Catalogue::shipped();
    return shipped;
}

std::string source() {
    std::ifstream in(std::string(TUBEWRIGHT_ROOT) + "/netlists/s1-quarry-hill.xml");
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

std::string edited(std::string text, const std::string& from, const std::string& to) {
    const std::size_t at = text.find(from);
    REQUIRE(at != std::string::npos);
    return text.replace(at, from.size(), to);
}

tw::Chassis read(const std::string& text, const std::string& name) {
    const auto set = tw::read_chassis_text(text, name, catalogue());
    REQUIRE(set);
    return *set;
}

const tw::Study& diagram() {
    static const tw::Study study(read(source(), "books/diagram.xml"), catalogue());
    return study;
}

bool has(const std::string& text, const std::string& words) {
    return text.find(words) != std::string::npos;
}

}  // namespace

TEST_CASE("The page names each difference with both places, connections first, in 80 columns") {
    std::string found = edited(source(), "value=\"250M\"", "value=\"500M\"");
    found = edited(found, "a=\"V3.2\" b=\"V4.4\"", "a=\"V3.2\" b=\"V4.5\"");
    const tw::Answer answer = tw::report_difference(diagram(), read(found, "bench/found.xml"), {});
    INFO(answer.text);
    CHECK(answer.must_stop);
    CHECK_FALSE(answer.refused);
    CHECK(has(answer.text, "2 differences: 1 in connections, 1 in values."));
    CHECK(has(answer.text,
              "C16, lead b (diagram.xml:117, found.xml:117)\n    here: with V4.4 grid, R10.a\n"
              "    there: with V4.5 cathode/suppressor, R11.a, C15.plus\n"));
    CHECK(has(answer.text, "R9, resistance (diagram.xml:114, found.xml:114)\n    here: 250K\n    there: 500K\n"));
    CHECK(answer.text.find("C16") < answer.text.find("R9"));
    CHECK(has(answer.text, "NOT COUNTED"));
    std::istringstream lines(answer.text);
    for (std::string line; std::getline(lines, line);) CHECK(tw::report::columns_of(line) <= 80);
}

TEST_CASE("Two files of one name are told apart by their folders, and what has no line has no place") {
    const std::string found =
        edited(edited(source(), "value=\"250M\"", "value=\"500M\""), "volts=\"115\"", "volts=\"230\"");
    const tw::Answer answer = tw::report_difference(diagram(), read(found, "bench/diagram.xml"), {});
    CHECK(has(answer.text, "R9, resistance (books/diagram.xml:114, bench/diagram.xml:114)"));
    CHECK(has(answer.text, "\n  line volts\n    here: 115 V\n    there: 230 V\n"));
}

TEST_CASE("Where nothing differs the page says so and what did not count") {
    const std::string found = edited(source(), "id=\"R9\"", "id=\"R90\"");
    const tw::Answer answer = tw::report_difference(diagram(), read(found, "found.xml"), {});
    CHECK_FALSE(answer.must_stop);
    CHECK(has(answer.text, "Nothing differs"));
    CHECK(has(answer.text, "1 part has another id there: R9 = R90."));
}

TEST_CASE("The JSON of a difference has the fields of a finding, both places, and figures with their unit") {
    tw::ReportOptions options;
    options.format = tw::Format::json;
    std::string found = edited(source(), "value=\"250M\"", "value=\"500M\"");
    found = edited(found, "id=\"R10\"", "id=\"R33\"");
    const tw::Answer answer = tw::report_difference(diagram(), read(found, "found.xml"), options);
    CHECK(answer.must_stop);
    const Json json = Json::parse(answer.text);
    CHECK(json["schema"] == "tubewright/audit/1");
    CHECK(json["against"]["file"] == "found.xml");
    REQUIRE(json["rows"].size() == 1);
    const Json& row = json["rows"][0];
    for (const char* field : {"severity", "rule", "line", "column", "parts", "nets", "message", "look_at"})
        CHECK(row.contains(field));
    CHECK(row["rule"] == "differs-value");
    CHECK(row["line"] == 114);
    CHECK(row["other_line"] == 114);
    CHECK(row["parts"] == Json::array({"R9"}));
    CHECK(row["here_ohms"] == 250e3);
    CHECK(row["there_ohms"] == 500e3);
    CHECK(json["renamed"][0]["part"] == "R10");
    CHECK(json["renamed"][0]["other_part"] == "R33");
    CHECK(answer.text == tw::report_difference(diagram(), read(found, "found.xml"), options).text);
}
