// SPDX-License-Identifier: MIT
// The graph half of the trace audit: the demo sets come out clean, and each mistake that a tracer makes is found at its
// part. Sets are made by editing the text of a demo set, so that everything around the mistake is a real set.
#include <algorithm>
#include <fstream>
#include <sstream>

#include <tubewright/audit.hpp>
#include <tubewright/netlist.hpp>

#include <catch2/catch.hpp>

#include "audit/heaters.hpp"
#include "audit/wording.hpp"

namespace tw = tubewright;

namespace {

const tw::Catalogue& catalogue() {
    static const tw::Catalogue shipped = tw::Catalogue::shipped();
    return shipped;
}

std::string file(const std::string& name) {
    std::ifstream in(std::string(TUBEWRIGHT_ROOT) + "/netlists/" + name);
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

std::string edited(std::string text, const std::string& from, const std::string& to) {
    const std::size_t at = text.find(from);
    REQUIRE(at != std::string::npos);
    return text.replace(at, from.size(), to);
}

std::vector<tw::Finding> audited(const std::string& text) {
    const auto set = tw::read_chassis_text(text, "set.xml", catalogue());
    for (const auto& notice : set.notices()) {
        if (notice.severity == tw::Severity::error) UNSCOPED_INFO(notice.text());
    }
    REQUIRE(set);
    return tw::audit_graph(*set, catalogue());
}

/// A stop or doubt of this rule that names the part.
bool found(const std::vector<tw::Finding>& findings, const std::string& rule, const std::string& part) {
    for (const auto& f : findings) {
        if (f.severity == tw::Severity::note) continue;
        INFO(f.rule << ": " << f.message);
        if (f.rule == rule && std::find(f.parts.begin(), f.parts.end(), part) != f.parts.end())
            return !f.look_at.empty() && !f.message.empty();
    }
    return false;
}

std::size_t count(const std::vector<tw::Finding>& findings, tw::Severity severity) {
    return static_cast<std::size_t>(
        std::count_if(findings.begin(), findings.end(), [&](const auto& f) { return f.severity == severity; }));
}

const std::string& s1() {
    static const std::string text = file("s1-quarry-hill.xml");
    return text;
}
const std::string& s9() {
    static const std::string text = file("s9-bellows-court.xml");
    return text;
}

}  // namespace

TEST_CASE("The demo sets have nothing to stop for and at most one doubt") {
    for (const std::string& text : {s1(), s9()}) {
        const auto findings = audited(text);
        for (const auto& f : findings) {
            if (f.severity != tw::Severity::note) UNSCOPED_INFO(f.rule << ": " << f.message);
        }
        CHECK(count(findings, tw::Severity::stop) == 0);
        CHECK(count(findings, tw::Severity::doubt) <= 1);
    }
}

TEST_CASE("A lead alone on its net is found at its part, and the word that was meant is named") {
    const auto findings = audited(edited(s1(), "a=\"bplus\" b=\"osc_feed\"", "a=\"bplsu\" b=\"osc_feed\""));
    CHECK(found(findings, "lone-lead", "R5"));
    bool named = false;
    for (const auto& f : findings)
        named = named || (f.rule == "lone-lead" && f.message.find("bplus") != std::string::npos);
    CHECK(named);
    CHECK(tw::must_stop(findings));
}

TEST_CASE("A heater pin tied to B-plus is a stop") {
    const auto findings = audited(
        edited(s1(), "<join at=\"V4.3 bplus TS2.2\"/>", "<join at=\"V4.3 bplus TS2.2\"/><join at=\"V3.1 bplus\"/>"));
    CHECK(found(findings, "pin-in-conflict", "V3"));
    CHECK(count(findings, tw::Severity::stop) > 0);
}

TEST_CASE("A plate whose load was left out has no way to B-plus") {
    const auto findings = audited(edited(s1(), "a=\"bplus\" b=\"V3.2\"", "a=\"bplus\" b=\"TS2.3\""));
    CHECK(found(findings, "plate-without-supply", "V3"));
}

TEST_CASE("A screen whose dropper goes elsewhere has no way to B-plus") {
    const auto findings = audited(edited(s1(), "a=\"bplus\" b=\"screens\"", "a=\"bplus\" b=\"TS2.3\""));
    CHECK(found(findings, "screen-without-supply", "V2"));
}

TEST_CASE("A grid without its leak has no return") {
    const auto findings = audited(edited(s1(), "id=\"R10\" value=\"500M\" watts=\"1/4\" a=\"V4.4\" b=\"gnd\"",
                                         "id=\"R10\" value=\"500M\" watts=\"1/4\" a=\"TS2.3\" b=\"gnd\""));
    CHECK(found(findings, "grid-without-return", "V4"));
}

TEST_CASE("A cathode whose resistor goes elsewhere has no return") {
    const auto findings =
        audited(edited(s9(), "a=\"V2.3\" b=\"gnd\" location=\"V2\"/>", "a=\"V2.3\" b=\"TS2.4\" location=\"V2\"/>"));
    CHECK(found(findings, "cathode-without-return", "V2"));
}

TEST_CASE("A heater that is left off the heater line is not fed, though its neighbours are") {
    const auto findings =
        audited(edited(s1(), "<join at=\"heaters V1.1 V2.1 V3.1 V4.1\"/>", "<join at=\"heaters V1.1 V2.1 V4.1\"/>"));
    CHECK(found(findings, "heater-not-fed", "V3"));
    CHECK_FALSE(found(findings, "heater-not-fed", "V2"));
}

TEST_CASE("Two heaters in parallel that reach no winding are not fed, though they reach each other") {
    auto text = edited(s1(), "<join at=\"heaters V1.1 V2.1 V3.1 V4.1\"/>",
                       "<join at=\"heaters V1.1 V4.1\"/><join at=\"V2.1 V3.1\"/>");
    const auto findings = audited(text);
    CHECK(found(findings, "heater-not-fed", "V2"));
    CHECK(found(findings, "heater-not-fed", "V3"));
    CHECK_FALSE(found(findings, "heater-not-fed", "V1"));
}

TEST_CASE("A 2.5 volt winding under 6.3 volt heaters is doubted") {
    const auto findings = audited(edited(s1(), "volts=\"6.3\" amps=\"2.1\"", "volts=\"2.5\" amps=\"2.1\""));
    CHECK(found(findings, "heater-on-wrong-winding", "V4"));
}

TEST_CASE("A resistor with both ends on one net does nothing and is doubted") {
    const auto findings =
        audited(edited(s1(), "a=\"V1.6\" b=\"gnd\" location=\"V1\"/>", "a=\"gnd\" b=\"gnd\" location=\"V1\"/>"));
    CHECK(found(findings, "both-ends-on-one-net", "R2"));
}

TEST_CASE("A plate winding that begins and ends on one net is a stop") {
    const auto findings = audited(edited(s1(), "leads=\"V5.2 gnd V5.3\"", "leads=\"gnd gnd V5.3\""));
    CHECK(found(findings, "both-ends-on-one-net", "T1"));
    CHECK(count(findings, tw::Severity::stop) > 0);
}

TEST_CASE("A heater winding across the line is a stop: windings fight") {
    const auto findings = audited(edited(s1(), "<winding role=\"rectifier-heater\" leads=\"V5.1 V5.4\"",
                                         "<winding role=\"rectifier-heater\" leads=\"P1.1 P1.2\""));
    CHECK(found(findings, "windings-fight", "T1"));
}

TEST_CASE("Primaries in series or with taps across the line do not fight, against each other they do") {
    const auto primaries = [](const std::string& windings, const std::string& volts) {
        return audited("<chassis version=\"1\" name=\"primaries\" built=\"1938\" reference=\"gnd\"><line volts=\"" +
                       volts +
                       "\" hertz=\"50\" hot=\"P1.1\" neutral=\"P1.2\"/><plug id=\"P1\" role=\"line\"/>"
                       "<node is=\"chassis-metal\" net=\"gnd\"/><transformer id=\"T1\" role=\"power\" va=\"60\">" +
                       windings +
                       "<winding role=\"heater\" leads=\"h gnd\" noload-volts=\"6.3\"/></transformer>"
                       "<resistor id=\"R1\" value=\"630\" a=\"h\" b=\"gnd\"/><strip id=\"TS1\" lugs=\"3\"/></chassis>");
    };
    const std::string first = "<winding role=\"primary\" name=\"a\" leads=\"P1.1 m\" volts=\"115\"/>";
    const auto second = [](const char* leads) {
        return std::string("<winding role=\"primary\" name=\"b\" leads=\"") + leads + "\" volts=\"115\"/>";
    };
    for (const auto& findings :
         {primaries(first + second("m P1.2"), "230"),
          primaries("<winding role=\"primary\" leads=\"P1.2 TS1.1 P1.1\" noload-volts=\"110 10\"/>", "120"),
          primaries("<winding role=\"primary\" leads=\"P1.1 TS1.1 P1.2\" volts=\"230\"/>", "230"),
          primaries("<winding role=\"primary\" leads=\"P1.2 TS1.1 TS1.2 P1.1 TS1.3\" volts=\"220\"/>", "220")})
        CHECK(count(findings, tw::Severity::stop) == 0);
    CHECK(found(primaries(first + second("P1.2 m"), "230"), "windings-fight", "T1"));
    // one of the two alone across a line of twice its volts
    CHECK(
        found(primaries("<winding role=\"primary\" leads=\"P1.1 P1.2\" volts=\"115\"/>", "230"), "line-misfit", "T1"));
}

TEST_CASE("A capacitor of 50 farads and a grid leak of 3 ohms are doubted") {
    CHECK(found(audited(edited(s1(), "id=\"C16\" value=\".02 mfd\"", "id=\"C16\" value=\"50 f\"")), "implausible-value",
                "C16"));
    CHECK(found(audited(edited(s1(), "id=\"R10\" value=\"500M\"", "id=\"R10\" value=\"3\"")), "implausible-value",
                "R10"));
}

TEST_CASE("A pin that the basing leaves free is a tie point and a note; a plate pin on the chassis is a stop") {
    const auto tie = audited(edited(s9(), "b=\"V1.1\" location=\"V1\"/>",
                                    "b=\"V1.1\" location=\"V1\"/><join at=\"V3.2 TS2.4\"/><resistor id=\"R99\" "
                                    "value=\"1k\" a=\"V3.2\" b=\"gnd\"/>"));
    CHECK(std::any_of(tie.begin(), tie.end(),
                      [](const auto& f) { return f.rule == "tie-point" && f.severity == tw::Severity::note; }));
    const auto grounded =
        audited(edited(s9(), "<join at=\"gnd V1.9 V2.5 V3.4\"/>", "<join at=\"gnd V1.9 V2.5 V3.4 V1.6\"/>"));
    CHECK(found(grounded, "pin-in-conflict", "V1"));
}

TEST_CASE("A grid drawn straight onto B-plus is a stop") {
    const auto findings = audited(edited(s1(), "a=\"V3.2\" b=\"V4.4\" location=\"TS2\"",
                                         "a=\"V3.2\" b=\"V4.4\" location=\"TS2\"/><join at=\"V4.4 bplus\"/><capacitor "
                                         "id=\"C98\" value=\".01 mfd\" a=\"bplus\" b=\"gnd\""));
    CHECK(found(findings, "pin-in-conflict", "V4"));
}

TEST_CASE("A capacitor across a winding given zero ohms is doubted") {
    const auto findings = audited(edited(s1(), "leads=\"V5.2 gnd V5.3\" noload-volts=\"330 330\" ohms=\"185 210\"/>",
                                         "leads=\"V5.2 gnd V5.3\" noload-volts=\"330 330\" ohms=\"185 210\"/>"));
    CHECK_FALSE(found(findings, "capacitor-across-ideal-winding", "T1"));
}

TEST_CASE("A stage that lost its ground lug and its supply is adrift") {
    const auto findings =
        audited(edited(s1(), "</chassis>",
                       "<socket id=\"V9\" tube=\"78\"/><resistor id=\"R90\" value=\"1 meg\" a=\"V9.cap\" "
                       "b=\"V9.5\"/><resistor id=\"R91\" value=\"1 meg\" a=\"V9.2\" b=\"V9.3\"/></chassis>"));
    CHECK(found(findings, "section-adrift", "V9"));
}

TEST_CASE("What is declared untraced is not complained of") {
    const auto findings = audited(edited(edited(s1(), "a=\"bplus\" b=\"V3.2\"", "a=\"bplus\" b=\"TS2.3\""),
                                         "</chassis>", "<untraced net=\"V3.2\" amps=\"1m\"/></chassis>"));
    CHECK_FALSE(found(findings, "plate-without-supply", "V3"));
}

TEST_CASE("Findings keep their rules and parts when every attribute comes in another order and the words are others") {
    std::string text = edited(s1(), "a=\"bplus\" b=\"V3.2\"", "a=\"bplus\" b=\"TS2.3\"");
    const auto before = audited(text);
    std::string renamed = text;
    for (std::size_t at = renamed.find("bplus"); at != std::string::npos; at = renamed.find("bplus", at + 5))
        renamed.replace(at, 5, "hight");
    const auto after = audited(renamed);
    REQUIRE(before.size() == after.size());
    for (std::size_t i = 0; i < before.size(); ++i) {
        CHECK(before[i].rule == after[i].rule);
        CHECK(before[i].parts == after[i].parts);
    }
}

TEST_CASE("The read-back lists every pin of every socket in order, with what is soldered there") {
    const auto set = tw::read_chassis_text(s9(), "s9.xml", catalogue());
    REQUIRE(set);
    const auto rows = tw::readback(*set);
    const auto pin =
        std::find_if(rows.begin(), rows.end(), [](const auto& r) { return r.socket == "V2" && r.pin == "3"; });
    REQUIRE(pin != rows.end());
    CHECK(pin->electrode == "cathode, suppressor");
    CHECK(std::find(pin->soldered.begin(), pin->soldered.end(), "R11.a") != pin->soldered.end());
    CHECK(std::find(pin->soldered.begin(), pin->soldered.end(), "C6.plus") != pin->soldered.end());
}

TEST_CASE("Blocks of a graph: two rings that share a net are two blocks, a bridge is its own") {
    // 0-1-2-0 and 2-3-4-2 share net 2; 4-5 is a bridge; 6-6 a loop.
    const std::vector<std::pair<int, int>> edges{{0, 1}, {1, 2}, {2, 0}, {2, 3}, {3, 4}, {4, 2}, {4, 5}, {6, 6}};
    const auto block = tw::audit::biconnected_blocks(7, edges);
    CHECK(block[0] == block[1]);
    CHECK(block[1] == block[2]);
    CHECK(block[3] == block[4]);
    CHECK(block[4] == block[5]);
    CHECK(block[0] != block[3]);
    CHECK(block[6] != block[5]);
    CHECK(block[7] != block[6]);
    // Two wires side by side are a ring.
    const auto twins = tw::audit::biconnected_blocks(2, {{0, 1}, {0, 1}});
    CHECK(twins[0] == twins[1]);
}

TEST_CASE("Sentences are filled in order; a gap too many stays empty") {
    CHECK(tw::audit::fill("{} is on {}", {"V4.2", "gnd"}) == "V4.2 is on gnd");
    CHECK(tw::audit::fill("{} and {}", {"one"}) == "one and ");
    CHECK(tw::audit::fill("no gap", {"one"}) == "no gap");
}
