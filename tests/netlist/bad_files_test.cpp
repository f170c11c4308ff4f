// SPDX-License-Identifier: MIT
// Faulty files, each named after its fault: tests/bad/NAME.xml must give exactly the lines of NAME.expect, and the
// files together every message of the reader. tests/bad/schema_test.py puts the same files to xmllint.
#include <catch2/catch.hpp>

#include <set>

#include "files.hpp"
#include "terms/numbers.hpp"

using namespace tubewright;

TEST_CASE("Every faulty file is refused with the words that were agreed") {
    const auto faulty = files::in_folder("tests/bad", ".xml");
    REQUIRE(faulty.size() > 80);
    for (const auto& path : faulty) {
        const Outcome<Chassis> set = files::read(files::bytes(path), path.filename().string());
        INFO(path.filename());
        CHECK_FALSE(set);
        auto expected = path;
        expected.replace_extension(".expect");
        CHECK(files::lines(set.notices()) == files::bytes(expected));
    }
}

TEST_CASE("Every faulty file has its message file and the other way round") {
    CHECK(files::in_folder("tests/bad", ".xml").size() == files::in_folder("tests/bad", ".expect").size());
    for (const auto& path : files::in_folder("tests/bad", ".expect")) {
        auto xml = path;
        CHECK(std::filesystem::exists(xml.replace_extension(".xml")));
    }
}

TEST_CASE("Every error of the reader has a place, a number and a remedy, and is of the severity error") {
    for (const auto& path : files::in_folder("tests/bad", ".xml")) {
        INFO(path.filename());
        const Outcome<Chassis> set = files::read(files::bytes(path));
        for (const Notice& notice : set.notices()) {
            CHECK(notice.severity == Severity::error);
            CHECK(notice.place.line > 0);
            CHECK(notice.place.column > 0);
            CHECK(notice.number > 1000);
            CHECK(notice.number < 2000);
            CHECK_FALSE(notice.message.empty());
        }
    }
}

TEST_CASE("The faulty files show every error number of the reader that a small file can show") {
    std::set<int> shown;
    for (const auto& path : files::in_folder("tests/bad", ".xml")) {
        const Outcome<Chassis> set = files::read(files::bytes(path));
        for (const Notice& notice : set.notices()) shown.insert(notice.number);
    }
    using namespace messages;
    // Left to hostile_test.cpp: file_too_big, too_many_elements, too_deep, attribute_too_long, more_errors; to
    // good_files_test.cpp: cannot_open.
    for (const int number : {file_empty,
                             not_xml,
                             not_well_formed,
                             not_utf8,
                             control_character,
                             doctype_refused,
                             unknown_entity,
                             wrong_root,
                             wrong_version,
                             text_between,
                             unknown_element,
                             unknown_attribute,
                             duplicate_attribute,
                             missing_attribute,
                             element_misplaced,
                             unknown_word,
                             bad_name,
                             bad_count,
                             exclusive_attributes,
                             element_twice,
                             missing_element,
                             value_empty,
                             value_no_number,
                             value_no_unit,
                             value_unknown_unit,
                             value_comma,
                             value_m_unsettled,
                             value_signed,
                             value_zero,
                             value_out_of_range,
                             value_sections,
                             value_two_readings,
                             value_bad_fraction,
                             value_not_whole,
                             value_grouped,
                             duplicate_id,
                             unknown_tube,
                             unknown_pin,
                             unknown_part,
                             unknown_construction,
                             lead_missing,
                             net_without_leads,
                             ambiguous_element,
                             node_twice,
                             winding_figures,
                             winding_leads,
                             unknown_lead,
                             reach_itself,
                             reach_ring})
        CHECK(shown.count(number) == 1);
}
