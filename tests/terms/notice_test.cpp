// SPDX-License-Identifier: MIT
// A notice as one line: terms/notice.cpp; Outcome's habit of starting as a failure: outcome.hpp.
#include <catch2/catch.hpp>

#include <tubewright/outcome.hpp>
#include <tubewright/quantity.hpp>

using namespace tubewright;

TEST_CASE("A notice prints in the form that editors parse") {
    Notice notice;
    notice.number = 1203;
    notice.place = {"set.xml", 12, 31};
    notice.message = "\".05\" has no unit";
    notice.remedy = "write \".05 mfd\"";
    CHECK(notice.text() == "set.xml:12:31: error: \".05\" has no unit; write \".05 mfd\" [TW1203]");
    notice.remedy.clear();
    notice.place.column = 0;
    notice.severity = Severity::doubt;
    CHECK(notice.text() == "set.xml:12: doubt: \".05\" has no unit [TW1203]");
    notice.place = {};
    CHECK(notice.text() == "doubt: \".05\" has no unit [TW1203]");
}

TEST_CASE("A result that was never computed is a failure and not zero volts") {
    const Outcome<double> never;
    CHECK_FALSE(never);
    CHECK_THROWS_AS(never.value(), Error);
    const Outcome<double> zero(0.0);
    CHECK(zero);
    CHECK(*zero == 0.0);
}

TEST_CASE("Every severity and provenance has its word") {
    CHECK(word(Severity::stop) == std::string("stop"));
    CHECK(word(Provenance::practice) == std::string("common practice, no source"));
    CHECK(word(Provenance::stated) == std::string("stated in the file"));
}
