// SPDX-License-Identifier: MIT
// What each electrode stands on and the values that belong there: one edit of a demo set's text a case, judged by the
// graph alone; the set itself must not have the finding. Ranges are common practice, no source.
#include <algorithm>
#include <fstream>
#include <sstream>
#include <utility>
#include <vector>

#include <tubewright/audit.hpp>
#include <tubewright/netlist.hpp>

#include <catch2/catch.hpp>

using namespace tubewright;

namespace {

const Catalogue& shipped() {
    static const Catalogue c = Catalogue::shipped();
    return c;
}

const std::string& radio() {
    static const std::string text = [] {
        std::ifstream in(std::string(TUBEWRIGHT_ROOT) + "/netlists/s1-quarry-hill.xml");
        std::ostringstream all;
        all << in.rdbuf();
        return all.str();
    }();
    return text;
}

using Edits = std::vector<std::pair<std::string, std::string>>;

std::vector<Finding> audited(const Edits& edits) {
    std::string text = radio();
    for (const auto& [from, to] : edits) {
        const std::size_t at = text.find(from);
        INFO(from);
        REQUIRE(at != std::string::npos);
        text.replace(at, from.size(), to);
    }
    const Outcome<Chassis> set = read_chassis_text(text, "set.xml", shipped());
    REQUIRE(set);
    return audit_graph(*set, shipped());
}

std::size_t times(const std::vector<Finding>& findings, const std::string& rule, const std::string& part) {
    return static_cast<std::size_t>(std::count_if(findings.begin(), findings.end(), [&](const Finding& f) {
        return f.rule == rule && f.severity != Severity::note &&
               std::find(f.parts.begin(), f.parts.end(), part) != f.parts.end() && !f.look_at.empty();
    }));
}

struct Slip {
    std::string what;
    Edits edits;
    std::string rule, part;
};

void each_is_found_once(const std::vector<Slip>& slips) {
    const std::vector<Finding> sound = audited({});
    for (const Slip& slip : slips) {
        INFO(slip.what);
        CHECK(times(sound, slip.rule, slip.part) == 0);
        const std::vector<Finding> findings = audited(slip.edits);
        for (const Finding& f : findings) UNSCOPED_INFO(f.rule << ": " << f.message);
        CHECK(times(findings, slip.rule, slip.part) == 1);
    }
}

}  // namespace

TEST_CASE("An electrolytic that stands the other way round is told by the graph alone") {
    each_is_found_once({
        {"second filter",
         {{"plus=\"bplus\" minus=\"gnd\"", "plus=\"gnd\" minus=\"bplus\""}},
         "electrolytic-turned",
         "C2"},
        {"cathode bypass",
         {{"plus=\"V4.5\" minus=\"gnd\"", "plus=\"gnd\" minus=\"V4.5\""}},
         "electrolytic-turned",
         "C15"},
    });
}

TEST_CASE("A value that no such place has is doubted by what the part does there") {
    each_is_found_once({
        {"cathode resistor of an output tube",
         {{"R11\" value=\"410\"", "R11\" value=\"4.1M\""}},
         "implausible-value",
         "R11"},
        {"cathode resistor of a pentode", {{"R6\" value=\"350\"", "R6\" value=\"35\""}}, "implausible-value", "R6"},
        {"cathode resistor of a triode", {{"R8\" value=\"4M\"", "R8\" value=\"40\""}}, "implausible-value", "R8"},
        {"leak of an output grid", {{"R10\" value=\"500M\"", "R10\" value=\"50M\""}}, "implausible-value", "R10"},
        {"leak of a small grid", {{"R16\" value=\"1 meg\"", "R16\" value=\"40 meg\""}}, "implausible-value", "R16"},
        {"plate load", {{"R9\" value=\"250M\"", "R9\" value=\"25M\""}}, "implausible-value", "R9"},
        {"coupler", {{"C16\" value=\".02 mfd\"", "C16\" value=\"2 mfd\""}}, "implausible-value", "C16"},
        {"mica", {{"C9\" value=\"50 mmf\"", "C9\" value=\".05 mfd\""}}, "implausible-value", "C9"},
        {"filter", {{"C2\" value=\"8-450\"", "C2\" value=\".8 mfd\" volts=\"450\""}}, "implausible-value", "C2"},
        {"bypass", {{"C15\" value=\"10 mfd\"", "C15\" value=\".1 mfd\""}}, "implausible-value", "C15"},
        {"paper",
         {{"C10\" value=\".1 mfd\"", "C10\" value=\"100 mmf\" construction=\"wax-paper\""}},
         "implausible-value",
         "C10"},
    });
}

TEST_CASE("Electrodes that never meet are told when one net holds both") {
    each_is_found_once({
        {"two plates",
         {{"b=\"V3.2\" location=\"TS2\" seen=\"drifted\"", "b=\"V4.2\" location=\"TS2\" seen=\"drifted\""},
          {"<join at=\"screens V1.3 V2.3\"/>", "<join at=\"screens V1.3 V2.3\"/><join at=\"V3.2 V4.2\"/>"}},
         "never-meet",
         "V3"},
        {"grid on its cathode", {{"<join at=\"V2.4 V2.5\"/>", "<join at=\"V2.4 V2.5 V2.cap\"/>"}}, "never-meet", "V2"},
        {"two grids",
         {{"<join at=\"V2.4 V2.5\"/>", "<join at=\"V2.4 V2.5\"/><join at=\"V1.cap V2.cap\"/>"}},
         "never-meet",
         "V2"},
        {"screen on a cathode", {{"<join at=\"V2.4 V2.5\"/>", "<join at=\"V2.4 V2.5 screens\"/>"}}, "never-meet", "V2"},
    });
}

TEST_CASE("A lost ground lug leaves capacitors alone on a net") {
    each_is_found_once(
        {{"two bypasses off their lug",
          {{"a=\"V1.6\" b=\"gnd\" location=\"V1\" seen=\"waxy\"", "a=\"V1.6\" b=\"lug\" location=\"V1\" seen=\"waxy\""},
           {"a=\"V2.5\" b=\"gnd\" location=\"V2\" seen=\"waxy\"",
            "a=\"V2.5\" b=\"lug\" location=\"V2\" seen=\"waxy\""}},
          "capacitors-alone",
          "C10"}});
}

TEST_CASE("A grid that direct current reaches from B-plus, and a screen without its capacitor, are told") {
    each_is_found_once({
        {"coupler written as a resistor",
         {{"<capacitor id=\"C16\" value=\".02 mfd\" volts=\"400\"", "<resistor id=\"C16\" value=\"1 meg\""}},
         "grid-on-supply",
         "V4"},
        {"coupler on the wrong side of the load",
         {{"a=\"V3.2\" b=\"V4.4\"", "a=\"bplus\" b=\"V4.4\""}},
         "grid-without-drive",
         "C16"},
        {"screen bypass on another lug",
         {{"a=\"screens\" b=\"gnd\" since=\"1956\"", "a=\"V1.6\" b=\"gnd\" since=\"1956\""}},
         "bypass-missing",
         "V2"},
    });
}
