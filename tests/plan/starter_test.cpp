// SPDX-License-Identifier: MIT
// A starter file gives the audit, both halves of it, nothing to stop for or to doubt.
#include <tubewright/netlist.hpp>
#include <tubewright/study.hpp>

#include <catch2/catch.hpp>

using namespace tubewright;

TEST_CASE("Every starter file audits clean, whatever stands under its can") {
    static const Catalogue catalogue = Catalogue::shipped();
    for (const std::string_view family : starter_families())
        for (const bool insulated : {false, true}) {
            INFO(family);
            NodeAnswers answers;
            answers.can_insulated = insulated;
            const Outcome<std::string> text = starter_file(family, answers);
            REQUIRE(text);
            const Outcome<Chassis> set = read_chassis_text(*text, "start.xml", catalogue);
            REQUIRE(set);
            for (const Finding& finding : Study(*set, catalogue).audit()) {
                INFO(finding.message);
                CHECK(finding.severity == Severity::note);
            }
        }
}
