// SPDX-License-Identifier: MIT
// A starter file gives the audit, both halves of it, nothing to stop for or to doubt.
#include <tubewright/netlist.hpp>
#include <tubewright/study.hpp>

#include <catch2/catch.hpp>

using namespace tubewright;

TEST_CASE("Every starter file audits clean, whatever stands under its can and its metal") {
    static const Catalogue catalogue = Catalogue::shipped();
    for (const std::string_view family : starter_families())
        for (const auto& [insulated, metal] :
             {std::pair{false, MetalIs::not_said}, {true, MetalIs::not_said}, {false, MetalIs::apart}}) {
            INFO(family);
            NodeAnswers answers;
            answers.can_insulated = insulated;
            answers.metal = metal;
            const Outcome<std::string> text = starter_file(family, answers);
            if (metal == MetalIs::apart && !text) continue;  // a battery set has no line to be apart from
            REQUIRE(text);
            const Outcome<Chassis> set = read_chassis_text(*text, "start.xml", catalogue);
            REQUIRE(set);
            for (const Finding& finding : Study(*set, catalogue).audit()) {
                INFO(finding.message);
                CHECK(finding.severity == Severity::note);
            }
        }
}
