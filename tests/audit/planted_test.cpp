// SPDX-License-Identifier: MIT
// Mistakes planted in the demo sets' text, one at a time, each judged by both halves of the audit on the real solution:
// what a tracer miscounts or misreads must be found at its part, and the sets themselves must come out clean.
#include <algorithm>
#include <set>
#include <tuple>
#include <utility>

#include <tubewright/audit.hpp>
#include <tubewright/netlist.hpp>

#include <catch2/catch.hpp>

#include "bench/bench.hpp"
#include "edited.hpp"

using namespace tubewright;

namespace {

std::vector<Finding> audited(const std::string& text, const std::vector<std::string>& conditions) {
    const Outcome<Chassis> set = read_chassis_text(text, "set.xml", shipped());
    REQUIRE(set);
    std::vector<Finding> findings = audit_graph(*set, shipped());
    Outcome<Bench> bench = Bench::make(*set, shipped(), Policy());
    REQUIRE(bench);
    std::vector<Solution> solutions;
    for (const std::string& words : conditions) {
        Outcome<Condition> condition = Condition::parse(words);
        REQUIRE(condition);
        Outcome<Solution> solved = bench->solve(*condition);
        if (solved) solutions.push_back(std::move(*solved));
    }
    REQUIRE_FALSE(solutions.empty());
    const std::vector<Finding> more = audit_solved(*set, shipped(), solutions);
    findings.insert(findings.end(), more.begin(), more.end());
    return findings;
}

/// The finding of this rule at this part; nullptr when there is none.
const Finding* found(const std::vector<Finding>& findings, const std::string& rule, const std::string& part) {
    for (const Finding& f : findings)
        if (f.rule == rule && std::find(f.parts.begin(), f.parts.end(), part) != f.parts.end()) return &f;
    return nullptr;
}

std::string told(const std::vector<Finding>& findings) {
    std::string all;
    for (const Finding& f : findings)
        if (f.severity != Severity::note) all += std::string(word(f.severity)) + " " + f.rule + ": " + f.message + "\n";
    return all;
}

const std::string s1 = "s1-quarry-hill.xml", s9 = "s9-bellows-court.xml";
const std::vector<std::string> in_service{"normal"};

struct Planted {
    std::string what, set;
    Edits edits;
    std::string rule, part;
};

}  // namespace

TEST_CASE("The demo sets solved in all conditions have nothing to stop for and at most one doubt") {
    for (const std::string& name : {s1, s9}) {
        const auto findings =
            audited(file(name), {"normal", "high-line", "warm-up", "rectifier-out", "output-cut-off"});
        INFO(told(findings));
        std::size_t doubts = 0;
        for (const Finding& f : findings) {
            CHECK(f.severity != Severity::stop);
            doubts += f.severity == Severity::doubt ? 1 : 0;
        }
        CHECK(doubts <= 1);
    }
}

TEST_CASE("A plate winding's centre tap that ends nowhere is named, and no sound filter is called reversed for it") {
    for (const auto& [set, leads, floating] : {std::tuple{s1, "leads=\"V5.2 gnd V5.3\"", "leads=\"V5.2 ct V5.3\""},
                                               std::tuple{s9, "leads=\"V3.1 gnd V3.6\"", "leads=\"V3.1 ct V3.6\""}}) {
        const auto findings = audited(edited(file(set), {{leads, floating}}), {"normal", "high-line", "warm-up"});
        INFO(told(findings));
        const Finding* tap = found(findings, "lone-lead", "T1");
        REQUIRE(tap != nullptr);
        CHECK(tap->severity == Severity::stop);
        CHECK(tap->message.find("B-plus") != std::string::npos);
        CHECK(std::none_of(findings.begin(), findings.end(),
                           [](const Finding& f) { return f.rule == "electrolytic-reversed"; }));
    }
}

TEST_CASE("A line switch that is written open is told in one note, and the set is solved switched on") {
    for (const auto& [set, from, to] :
         {std::tuple{s1, "state=\"closed\"", "state=\"open\""}, std::tuple{s9, "state=\"closed\"", "state=\"open\""}}) {
        const auto open = audited(edited(file(set), {{from, to}}), in_service), closed = audited(file(set), in_service);
        INFO(told(open));
        const Finding* told_so = found(open, "line-switch-open", "S1");
        REQUIRE(told_so != nullptr);
        CHECK(told_so->severity == Severity::note);
        CHECK(told(open) == told(closed));
    }
}

TEST_CASE("Another switch open in the primary's path is one stop that names it, and nothing is told of volts") {
    const std::string second = "<switch id=\"S2\" role=\"other\" a=\"TS1.1\" b=\"TS1.3\" state=\"open\"/>";
    const std::string wafer =
        "<switch id=\"S2\" role=\"other\" state=\"off\"><position name=\"off\"/>"
        "<position name=\"on\" joins=\"1-2\"/></switch><join at=\"S2.1 TS1.1\"/>"
        "<join at=\"S2.2 TS1.3\"/>";
    for (const std::string& text : {second, wafer}) {
        const auto findings =
            audited(edited(file(s1), {{"<capacitor id=\"C3\"", text + "<capacitor id=\"C3\""},
                                      {"from=\"T1.black\" to=\"TS1.1\"", "from=\"T1.black\" to=\"TS1.3\""}}),
                    {"normal", "high-line", "warm-up"});
        CHECK(told(findings) == "stop line-switch-open: S2 is written open: nothing reaches the primary\n");
    }
}

TEST_CASE("A fuse on the line, or the line switch, that was seen open is one stop, and nothing is told of volts") {
    for (const auto& [set, from, to, part] :
         {std::tuple{s9, "since=\"1961\" location", "since=\"1961\" seen=\"open\" location", "F1"},
          std::tuple{s1, "state=\"closed\"", "state=\"closed\" seen=\"open\"", "S1"}}) {
        const auto findings = audited(edited(file(set), {{from, to}}), {"normal", "warm-up"});
        CHECK(told(findings) ==
              "stop line-part-open: " + std::string(part) + " was seen open: nothing reaches the primary\n");
    }
}

TEST_CASE("A wire or cord of the line that was seen open is one note, and the set is solved with it whole") {
    for (const auto& [set, from, to, part] :
         {std::tuple{s1, "to=\"TS1.1\" seen=\"cracked\"", "to=\"TS1.1\" seen=\"open\"", "W2"},
          std::tuple{s1, "seen=\"spliced\"", "seen=\"open\"", "W1"}}) {
        const auto open = audited(edited(file(set), {{from, to}}), in_service), whole = audited(file(set), in_service);
        INFO(part << told(open));
        const Finding* told_so = found(open, "line-part-open", part);
        REQUIRE(told_so != nullptr);
        CHECK(told_so->severity == Severity::note);
        CHECK(told(open) == told(whole));
    }
}

TEST_CASE("Plate and screen of an output tube exchanged is one stop that names both pins, whatever feeds the screen") {
    using Pins = std::tuple<std::string, Edits, std::string, std::string, std::string>;
    for (const auto& [set, edits, part, screen, plate] :
         {Pins{s9,
               {{"V2.9 bplus2", "V2.7 bplus2"}, {"leads=\"V2.7 bplus\"", "leads=\"V2.9 bplus\""}},
               "V2",
               "V2.9 (screen)",
               "V2.7 (plate)"},
          Pins{s1,
               {{"a=\"V4.2\" b=\"gnd\"", "a=\"V4.3\" b=\"gnd\""},
                {"V4.3 bplus TS2.2", "V4.2 bplus TS2.2"},
                {"leads=\"V4.2 bplus\"", "leads=\"V4.3 bplus\""}},
               "V4",
               "V4.3 (screen)",
               "V4.2 (plate)"}}) {
        const auto findings = audited(edited(file(set), edits), in_service);
        INFO(told(findings));
        const Finding* feeds = found(findings, "output-feeds-exchanged", part);
        REQUIRE(feeds != nullptr);
        CHECK(feeds->severity == Severity::stop);
        CHECK(feeds->message.find(screen) != std::string::npos);
        CHECK(feeds->message.find(plate) != std::string::npos);
        CHECK(found(findings, "tube-over-its-limit", part) == nullptr);
    }
}

TEST_CASE("A power tube's plate straight on B-plus, with or without a filter there, is a doubt at its pin") {
    for (const auto& [set, edits, part] :
         {std::tuple{
              s1,
              Edits{{"leads=\"V4.2 bplus\"", "leads=\"T2.blue bplus\""}, {"V4.3 bplus TS2.2", "V4.3 V4.2 bplus TS2.2"}},
              "V4"},
          std::tuple{s9,
                     Edits{{"leads=\"V2.7 bplus\"", "leads=\"T2.blue bplus\""}, {"V2.9 bplus2", "V2.9 V2.7 bplus2"}},
                     "V2"}}) {
        const auto findings = audited(edited(file(set), edits), in_service);
        INFO(told(findings));
        const Finding* bare = found(findings, "plate-without-load", part);
        REQUIRE(bare != nullptr);
        CHECK(bare->severity == Severity::doubt);
        CHECK(bare->message.find("(plate)") != std::string::npos);
    }
}

TEST_CASE("One half of a dual triode that feeds the other drives it") {
    const std::string text =
        "<chassis version=\"1\" name=\"two halves\" reference=\"gnd\"><socket id=\"V1\" tube=\"12AX7\"/>"
        "<resistor id=\"R1\" value=\"100k\" a=\"V1.1\" b=\"plus\"/><resistor id=\"R2\" value=\"100k\" a=\"V1.6\" "
        "b=\"plus\"/>"
        "<resistor id=\"R3\" value=\"1.5k\" a=\"V1.3\" b=\"gnd\"/><resistor id=\"R4\" value=\"1.5k\" a=\"V1.8\" "
        "b=\"gnd\"/>"
        "<control id=\"R5\" role=\"volume\" value=\"500k\" a=\"input\" b=\"gnd\" wiper=\"V1.2\"/>"
        "<capacitor id=\"C1\" value=\".02 mfd\" volts=\"400\" a=\"V1.1\" b=\"V1.7\"/>"
        "<resistor id=\"R6\" value=\"470k\" a=\"V1.7\" b=\"gnd\"/></chassis>";
    const auto without = [&](const std::string& feed) {
        const Outcome<Chassis> set =
            read_chassis_text(edited(text, {{"a=\"V1.1\" b=\"V1.7\"", feed}}), "set.xml", shipped());
        REQUIRE(set);
        return found(audit_graph(*set, shipped()), "grid-without-drive", "V1") != nullptr;
    };
    CHECK_FALSE(without("a=\"V1.1\" b=\"V1.7\""));
    CHECK(without("a=\"V1.6\" b=\"V1.7\""));  // its own plate
}

TEST_CASE("A zero misread on the power transformer is a doubt at it") {
    const std::string plate = "noload-volts=\"330 330\" ohms=\"185 210\"";
    for (const auto& [from, to] : {std::pair{plate, std::string("noload-volts=\"33 33\" ohms=\"185 210\"")},
                                   {plate, "noload-volts=\"330 230\" ohms=\"185 210\""},
                                   {plate, "noload-volts=\"3300 3300\" ohms=\"185 210\""},
                                   {plate, "noload-volts=\"330 330\" ohms=\".185 .210\""},
                                   {plate, "noload-volts=\"330 330\" ohms=\"1850 2100\""},
                                   {plate, "noload-volts=\"330 330\" ohms=\"185 21\""},
                                   {"ohms=\"7.5\"", "ohms=\".75\""},
                                   {"ohms=\"7.5\"", "ohms=\"75\""}}) {
        INFO(to);
        const Outcome<Chassis> set = read_chassis_text(edited(file(s1), {{from, to}}), "set.xml", shipped());
        REQUIRE(set);
        const std::vector<Finding> findings = audit_graph(*set, shipped());
        const Finding* doubt = found(findings, "implausible-value", "T1");
        REQUIRE(doubt != nullptr);
        CHECK(doubt->severity == Severity::doubt);
    }
}

TEST_CASE("Without volt-amperes in the file the heaters say what primary is meant") {
    for (const char* wrong : {".75", "75"}) {
        const Edits edits{{" va=\"60\"", ""}, {"ohms=\"7.5\"", "ohms=\"" + std::string(wrong) + "\""}};
        const Outcome<Chassis> set = read_chassis_text(edited(file(s1), edits), "set.xml", shipped());
        REQUIRE(set);
        CHECK(found(audit_graph(*set, shipped()), "implausible-value", "T1") != nullptr);
    }
    const Outcome<Chassis> right = read_chassis_text(edited(file(s1), {{" va=\"60\"", ""}}), "set.xml", shipped());
    REQUIRE(right);
    CHECK(found(audit_graph(*right, shipped()), "implausible-value", "T1") == nullptr);
}

TEST_CASE("Volts of the plate winding off by a zero are told at the transformer, without the loads that follow") {
    for (const auto& [set, from, to] : {std::tuple{s1, "noload-volts=\"330 330\"", "noload-volts=\"3300 3300\""},
                                        std::tuple{s9, "noload-volts=\"260 260\"", "noload-volts=\"2600 2600\""},
                                        std::tuple{s9, "noload-volts=\"260 260\"", "noload-volts=\"26 26\""}}) {
        const auto findings = audited(edited(file(set), {{from, to}}), in_service);
        INFO(told(findings));
        CHECK(found(findings, "implausible-value", "T1") != nullptr);
        for (const Finding& f : findings)
            CHECK((f.severity == Severity::note || f.rule == "implausible-value" || f.rule == "fuse-too-large"));
    }
}

TEST_CASE("Without B-plus each net is told once, with every pin on it, and a converter's anode grid by its name") {
    const Outcome<Chassis> set = read_chassis_text(
        edited(file(s1), {{"a=\"V5.1\" b=\"bplus\"", "a=\"V5.1\" b=\"nowhere\""}}), "set.xml", shipped());
    REQUIRE(set);
    std::set<std::vector<std::string>> nets;
    bool anode_grid = false, screens = false;
    for (const Finding& f : audit_graph(*set, shipped())) {
        INFO(f.message);
        if (f.rule != "plate-without-supply" && f.rule != "screen-without-supply") continue;
        CHECK(nets.insert(f.nets).second);
        screens = screens || f.message.find("V1.3 (screen) and V2.3 (screen)") != std::string::npos;
        if (f.message.find("V1.4 (anode grid)") == std::string::npos) continue;
        anode_grid = true;
        CHECK(f.look_at.find("oscillator") != std::string::npos);
    }
    CHECK(anode_grid);
    CHECK(screens);
}

TEST_CASE("A short of the supply as traced is a stop, and never what the set draws in health") {
    const std::vector<Planted> all{
        {"both plate ends on one pin",
         s9,
         {{"leads=\"V3.1 gnd V3.6\"", "leads=\"V3.1 gnd V3.1\""}},
         "both-ends-on-one-net",
         "T1"},
        {"both plate ends on one pin",
         s1,
         {{"leads=\"V5.2 gnd V5.3\"", "leads=\"V5.2 gnd V5.2\""}},
         "both-ends-on-one-net",
         "T1"},
        {"B-plus behind the field on the metal",
         s1,
         {{"<join at=\"screens V1.3 V2.3\"/>", "<join at=\"screens V1.3 V2.3\"/><join at=\"bplus gnd\"/>"}},
         "supply-shorted",
         "L1"},
        {"the rectifier's cathode on the metal",
         s9,
         {{"<join at=\"bplus V3.7\"/>", "<join at=\"bplus V3.7 gnd\"/>"}},
         "supply-shorted",
         "V3"},
        {"a divider in ohms that was meant in thousands",
         s1,
         {{"R3\" value=\"15M\"", "R3\" value=\"15\""}, {"R4\" value=\"18M\"", "R4\" value=\"18\""}},
         "transformer-overloaded",
         "T1"},
        {"the first filter on a plate's pin",
         s9,
         {{"plus=\"V3.7\"", "plus=\"V3.6\""}, {"<join at=\"bplus V3.7\"/>", "<join at=\"bplus V3.6\"/>"}},
         "pin-in-conflict",
         "C1.half-moon"},
    };
    for (const std::string& set : {s1, s9})
        for (const Finding& f : audited(file(set), in_service))
            for (const Planted& planted : all)
                if (planted.set == set) CHECK(f.rule != planted.rule);
    for (const Planted& planted : all) {
        const Outcome<Chassis> set = read_chassis_text(edited(file(planted.set), planted.edits), "set.xml", shipped());
        REQUIRE(set);
        std::vector<Finding> findings = audit_graph(*set, shipped());
        const Finding* finding = found(findings, planted.rule, planted.part);
        if (finding == nullptr) {
            findings = audited(edited(file(planted.set), planted.edits), in_service);
            finding = found(findings, planted.rule, planted.part);
        }
        INFO(planted.what << "\n" << told(findings));
        REQUIRE(finding != nullptr);
        CHECK(finding->severity == Severity::stop);
    }
}

TEST_CASE("Another tube than the diagram's is told by both names, a stop where its heater or its kind differs") {
    const auto judged = [&](const std::string& from, const std::string& to, const std::string& part) {
        const auto findings = audited(edited(file(s1), {{from, to}}), in_service);
        INFO(told(findings));
        const Finding* finding = found(findings, "other-tube-found", part);
        REQUIRE(finding != nullptr);
        return *finding;
    };
    const Finding mercury = judged("tube=\"80\"", "tube=\"80\" found=\"83\"", "V5");
    CHECK(mercury.severity == Severity::stop);
    CHECK(mercury.message.find("holds type 83") != std::string::npos);
    CHECK(judged("tube=\"42\"", "tube=\"42\" found=\"41\"", "V4").severity == Severity::stop);
    CHECK(judged("tube=\"78\"", "tube=\"78\" found=\"none\"", "V2").severity == Severity::doubt);
    const auto fitted =
        audited(edited(file(s1), {{"tube=\"80\"", "tube=\"80\" found=\"83\" fitted=\"80\""}}), in_service);
    CHECK(found(fitted, "other-tube-found", "V5") == nullptr);
}

TEST_CASE("Silicon where a tube was, a plug that is out, a shorted line capacitor and a lost blade are told") {
    const auto told = [](const Edits& edits, const char* rule, const char* part) {
        const Outcome<Chassis> set = read_chassis_text(edited(file(s1), edits), "set.xml", shipped());
        REQUIRE(set);
        const std::vector<Finding> findings = audit_graph(*set, shipped());
        const Finding* finding = found(findings, rule, part);
        INFO(rule);
        REQUIRE(finding != nullptr);
        return *finding;
    };
    const Finding silicon = told({{"tube=\"80\"", "tube=\"80\" found=\"none\""},
                                  {"<strip id=\"TS2\"",
                                   "<rectifier id=\"CR1\" construction=\"silicon\" anode=\"V5.2\" "
                                   "cathode=\"V5.1\"/>\n  <strip id=\"TS2\""}},
                                 "silicon-in-place", "CR1");
    CHECK(silicon.severity == Severity::doubt);
    CHECK(silicon.message.find("the 80 of V5") != std::string::npos);
    const Finding plug = told({{"role=\"speaker\"", "role=\"speaker\" state=\"out\""}}, "plug-out", "P2");
    for (const char* id : {"L1", "T2", "LS1"}) CHECK(plug.message.find(id) != std::string::npos);
    const Finding live = told({{"seen=\"waxy\" note=\"line capacitor\"", "seen=\"shorted\""}}, "line-on-metal", "C3");
    CHECK(live.severity == Severity::doubt);
    const Finding blade =
        told({{"from=\"T1.black2\" to=\"P1.2\"", "from=\"T1.black2\" to=\"P1.1\""}}, "primary-on-one-blade", "T1");
    CHECK(blade.severity == Severity::stop);
    CHECK(blade.message.find("P1.2") != std::string::npos);
    // a switch whose contacts have welded is no short across the line; the first filter's is one of the supply
    CHECK(told({{"<switch id=\"S1\"", "<switch id=\"S1\" seen=\"shorted\""}}, "as-found", "S1").severity ==
          Severity::note);
    CHECK(told({{"<section mark=\"plain\"", "<section mark=\"plain\" seen=\"shorted\""}}, "as-found", "C1.plain")
              .severity == Severity::doubt);
}

TEST_CASE("A rest that is not traced hides no mistake in what is: the starters with one planted") {
    const auto told = [](const char* family, const Edits& edits, const char* rule, const char* part,
                         Severity severity) {
        const Outcome<std::string> text = starter_file(family, NodeAnswers());
        REQUIRE(text);
        REQUIRE(text->find("<untraced") != std::string::npos);
        const Outcome<Chassis> set = read_chassis_text(edited(*text, edits), "set.xml", shipped());
        if (!set) FAIL(set.notices().front().text());
        const std::vector<Finding> findings = audit_graph(*set, shipped());
        INFO(family << " " << rule << "\n" << ::told(findings));
        const Finding* finding = found(findings, rule, part);
        REQUIRE(finding != nullptr);
        CHECK(finding->severity == severity);
    };
    told("portable", {{"plus=\"dc\" minus=\"bminus\"", "plus=\"bminus\" minus=\"dc\""}}, "electrolytic-turned", "C2",
         Severity::stop);
    told("battery", {{"plus=\"bplus\" minus=\"bminus\" insulated", "plus=\"bminus\" minus=\"bplus\" insulated"}},
         "electrolytic-turned", "C1", Severity::stop);
    told("portable", {{"anode=\"S1.2\" cathode=\"rectified\"", "anode=\"rectified\" cathode=\"S1.2\""}},
         "dry-rectifier-turned", "CR1", Severity::stop);
    told("ac-transformer",
         {{"<join at=\"V4.3 bplus\"/>", "<join at=\"V4.2 bplus\"/>"},
          {"a=\"V4.2\" b=\"gnd\"", "a=\"V4.3\" b=\"gnd\""},
          {"leads=\"V4.2 bplus\"", "leads=\"V4.3 bplus\""}},
         "output-feeds-exchanged", "V4", Severity::stop);
    told("ac-transformer", {{"a=\"bplus\" b=\"V3.2\"", "a=\"gnd\" b=\"V3.2\""}}, "plate-without-supply", "V3",
         Severity::doubt);
    told("series-string", {{"id=\"V5\" tube=\"35Z5GT\"", "id=\"V5\" tube=\"35Z5GT\" view=\"top\""}},
         "plate-without-supply", "V4", Severity::doubt);
    told("ac-transformer", {{"plus=\"V4.5\" minus=\"gnd\"", "plus=\"V4.1\" minus=\"gnd\""}}, "signal-part-on-heater",
         "C2", Severity::doubt);
    told("vehicle", {{"value=\".0075 mfd\"", "value=\".75 mfd\""}}, "implausible-value", "C2", Severity::doubt);
    told("battery", {{"plus=\"bplus\" minus=\"bneg\"", "plus=\"bminus\" minus=\"bplus\""}}, "battery-turned", "BT2",
         Severity::stop);
}

TEST_CASE("A bare can on what is not the metal, and an insulated one that returns past the tap, are in doubt") {
    const std::string back_bias = file("s2-heron-weir.xml"), can = "minus=\"tap\" insulated=\"yes\"";
    const auto told = [&](const std::string& now) {
        const Outcome<Chassis> set = read_chassis_text(edited(back_bias, {{can, now}}), "set.xml", shipped());
        REQUIRE(set);
        for (const Finding& finding : audit_graph(*set, shipped()))
            if (finding.rule == "can-on-metal") return finding.severity;
        return Severity::note;
    };
    CHECK(told(can) == Severity::note);
    CHECK(told("minus=\"tap\" insulated=\"no\"") == Severity::doubt);
    CHECK(told("minus=\"gnd\" insulated=\"yes\"") == Severity::doubt);
}

TEST_CASE("A lead alone on a pin that the tube leaves free is alone; a grid leak of two ohms is no leak") {
    const auto told = [](const char* name, const Edits& edits, const char* rule, const char* part) {
        const Outcome<Chassis> set = read_chassis_text(edited(file(name), edits), "set.xml", shipped());
        REQUIRE(set);
        const std::vector<Finding> findings = audit_graph(*set, shipped());
        INFO(name << " " << rule);
        const Finding* finding = found(findings, rule, part);
        REQUIRE(finding != nullptr);
        CHECK(finding->severity == Severity::doubt);
    };
    told("s2-heron-weir.xml", {{"V5.4 tap V5.6", "V5.3 tap V5.5"}}, "lone-lead", "T1");
    told("s3-tanner-row.xml", {{"volts=\"150\" plus=\"V5.8\"", "volts=\"150\" plus=\"V5.6\""}}, "lone-lead", "C2.red");
    told("s5-mill-lane.xml", {{"id=\"R5\" value=\"2 meg\"", "id=\"R5\" value=\"2\""}}, "implausible-value", "R5");
}

TEST_CASE("A tube that nobody named opens no string") {
    const Outcome<Chassis> set =
        read_chassis_text(edited(file("s3-tanner-row.xml"), {{" tube=\"12SK7\"", ""}}), "set.xml", shipped());
    REQUIRE(set);
    for (const Finding& finding : audit_graph(*set, shipped())) {
        INFO(finding.message);
        CHECK(finding.severity == Severity::note);
    }
}

TEST_CASE("A value that is not in the file is asked for by what hangs on it") {
    const Finding* asked = nullptr;
    const auto findings = audited(edited(file(s1), {{" value=\"410\"", ""}}), in_service);
    asked = found(findings, "value-missing", "R11");
    REQUIRE(asked != nullptr);
    CHECK(asked->message ==
          "R11, the cathode resistor of V4, has no value in the file: its bias and its watts are "
          "computed from what is merely usual");
}

TEST_CASE("A bypass over its volts for a resistor misread sends the person to the resistor") {
    const auto findings = audited(edited(file(s1), {{"R11\" value=\"410\"", "R11\" value=\"4.1M\""}}), in_service);
    INFO(told(findings));
    const Finding* bypass = found(findings, "capacitor-over-its-volts", "C15");
    REQUIRE(bypass != nullptr);
    CHECK(bypass->look_at.find("the value of R11 first") != std::string::npos);
    CHECK(bypass->message.find("no maker") == std::string::npos);
}

TEST_CASE("A fuse behind the neutral blade alone is told in a note") {
    const auto here = audited(file(s9), in_service);
    CHECK(found(here, "fuse-in-neutral", "F1") == nullptr);
    const auto findings = audited(edited(file(s9), {{"a=\"P1.1\" b=\"TS1.1\"", "a=\"P1.2\" b=\"TS1.1\""},
                                                    {"leads=\"TS1.2 P1.2\"", "leads=\"TS1.2 P1.1\""}}),
                                  in_service);
    const Finding* note = found(findings, "fuse-in-neutral", "F1");
    REQUIRE(note != nullptr);
    CHECK(note->severity == Severity::note);
}

TEST_CASE("What a tracer miscounts or misreads stops the person, at its part, with where to look") {
    const std::string coupler = "a=\"V3.2\" b=\"V4.4\"", plate_winding = "leads=\"V5.2 gnd V5.3\"";
    const std::vector<Planted> all{
        {"coupler on a heater pin", s1, {{coupler, "a=\"V3.2\" b=\"V4.6\""}}, "grid-without-drive", "V4"},
        {"coupler on the hot heater pin", s1, {{coupler, "a=\"V3.2\" b=\"V4.1\""}}, "signal-part-on-heater", "C16"},
        {"plate winding on the filament", s1, {{plate_winding, "leads=\"V5.1 gnd V5.3\""}}, "pin-in-conflict", "V5"},
        {"plate winding on its other pin", s1, {{plate_winding, "leads=\"V5.2 gnd V5.4\""}}, "pin-in-conflict", "V5"},
        {"cathode resistor a tenth", s1, {{"R11\" value=\"410\"", "R11\" value=\"41\""}}, "tube-off-its-current", "V4"},
        {"cathode resistor times a thousand",
         s1,
         {{"R11\" value=\"410\"", "R11\" value=\"410M\""}},
         "tube-off-its-current",
         "V4"},
        {"cathode resistor without a value", s1, {{" value=\"410\"", ""}}, "value-missing", "R11"},
        {"first filter without a value",
         s1,
         {{"value=\"8 mfd\" volts=\"475\"", "volts=\"475\""}},
         "value-missing",
         "C1.plain"},
        {"grid leak a hundredth", s1, {{"R10\" value=\"500M\"", "R10\" value=\"5M\""}}, "implausible-value", "R10"},
        {"field a hundredth", s1, {{"ohms=\"1200\"", "ohms=\"12\""}}, "implausible-value", "L1"},
        {"primary tenfold",
         s1,
         {{"volts=\"115\" ohms=\"7.5\"", "volts=\"115\" ohms=\"75\""}},
         "implausible-value",
         "T1"},
        {"second filter left out",
         s1,
         {{"<capacitor id=\"C2\" value=\"8-450\" construction=\"dry-electrolytic\" plus=\"bplus\" minus=\"gnd\" "
           "since=\"1956\" location=\"TS2\" note=\"450 V where 475 stood\"/>",
           ""},
          {"<reach part=\"C16\" lift=\"C2\"/>", ""},
          {"<reach part=\"R3\" lift=\"C2\"/>", ""}},
         "filter-missing",
         "L1"},
        {"first filter of 47 uF",
         s1,
         {{"value=\"8 mfd\" volts=\"475\"", "value=\"47 mfd\" volts=\"475\""}},
         "implausible-value",
         "V5"},
        {"a 200 volt part across a plate half",
         s1,
         {{"<socket id=\"V5\"",
           "<capacitor id=\"C99\" value=\".01 mfd\" volts=\"200\" a=\"V5.2\" b=\"gnd\"/>"
           "<socket id=\"V5\""}},
         "capacitor-over-its-volts",
         "C99"},
        {"a fuse three times the label's", s9, {}, "fuse-too-large", "F1"},
        {"cathode resistor a tenth",
         s9,
         {{"R11\" value=\"135\"", "R11\" value=\"13.5\""}},
         "tube-over-its-limit",
         "V2"},
    };
    for (const Planted& planted : all) {
        const auto findings = audited(edited(file(planted.set), planted.edits), in_service);
        INFO(planted.what << "\n" << told(findings));
        const Finding* finding = found(findings, planted.rule, planted.part);
        REQUIRE(finding != nullptr);
        CHECK(finding->severity != Severity::note);
        CHECK_FALSE(finding->look_at.empty());
    }
}

TEST_CASE("A capacitor reversed in service is a stop, be it the filter, a section of it or the cathode bypass") {
    const std::vector<Planted> all{
        {"first filter",
         s1,
         {{"plus=\"V5.1\"/>", "plus=\"gnd\"/>"},
          {"minus=\"gnd\" location=\"C1 can\"", "minus=\"V5.1\" location=\"C1 can\""}},
         "",
         "C1.plain"},
        {"second filter", s1, {{"plus=\"bplus\" minus=\"gnd\"", "plus=\"gnd\" minus=\"bplus\""}}, "", "C2"},
        {"cathode bypass", s1, {{"plus=\"V4.5\" minus=\"gnd\"", "plus=\"gnd\" minus=\"V4.5\""}}, "", "C15"},
        {"bypass of 1.9 V", s1, {{"plus=\"V3.5\" minus=\"gnd\"", "plus=\"gnd\" minus=\"V3.5\""}}, "", "C27"},
        {"cathode bypass", s9, {{"plus=\"V2.3\" minus=\"gnd\"", "plus=\"gnd\" minus=\"V2.3\""}}, "", "C6"},
    };
    for (const Planted& planted : all) {
        const auto findings =
            audited(edited(file(planted.set), planted.edits), {"normal", "high-line", "warm-up", "rectifier-out"});
        INFO(planted.what << "\n" << told(findings));
        const Finding* finding = found(findings, "electrolytic-reversed", planted.part);
        REQUIRE(finding != nullptr);
        CHECK(finding->severity == Severity::stop);
    }
}

TEST_CASE("A heater line on B-plus is told as what it is, without the loads that follow from it") {
    const auto findings = audited(
        edited(file(s9), {{"<join at=\"V2.9 bplus2\"/>", "<join at=\"V2.9 bplus2\"/><join at=\"V2.4 bplus2\"/>"}}),
        in_service);
    INFO(told(findings));
    CHECK(found(findings, "pin-in-conflict", "V2") != nullptr);
    CHECK(found(findings, "tube-over-its-limit", "V3") == nullptr);
}

TEST_CASE("The metal of a transformer set joined to the line is a stop, and the set stays a transformer set") {
    for (const Edits& edits :
         {Edits{{"<node is=\"chassis-metal\" net=\"gnd\" touch=\"yes\"/>",
                 "<node is=\"chassis-metal\" net=\"gnd\" touch=\"yes\"/><join at=\"P1.2 gnd\"/>"}},
          Edits{{"<node is=\"chassis-metal\" net=\"gnd\" touch=\"yes\"/>", "<join at=\"P1.2 gnd\"/>"}}}) {
        const std::string text = edited(file(s1), edits);
        const Outcome<Chassis> set = read_chassis_text(text, "set.xml", shipped());
        REQUIRE(set);
        CHECK(set->family() == Family::ac_transformer);
        CHECK(set->hot());
        const auto findings = audit_graph(*set, shipped());
        INFO(told(findings));
        CHECK(std::any_of(findings.begin(), findings.end(), [](const Finding& f) {
            return f.rule == "line-on-metal" && f.severity == Severity::stop && !f.look_at.empty();
        }));
    }
}

TEST_CASE(
    "An earthed metal with an old capacitor from the line is doubted by H22; class Y, or an earth elsewhere, not") {
    const std::string metal = "<node is=\"chassis-metal\" net=\"gnd\" touch=\"yes\"/>";
    const std::string wire = "<node is=\"earth\" net=\"earth\"/><wire id=\"W20\" from=\"gnd\" to=\"earth\"/>";
    const std::string old = "<capacitor id=\"C3\" value=\".01 mfd\" volts=\"400\"";
    const auto rows = [&](const Edits& edits) {
        const Outcome<Chassis> set = read_chassis_text(edited(file(s1), edits), "set.xml", shipped());
        REQUIRE(set);
        return audit_graph(*set, shipped());
    };
    for (const std::string& earth : {wire, std::string("<node is=\"earth\" net=\"gnd\"/>")}) {
        const auto findings = rows({{metal, metal + earth}});
        INFO(told(findings));
        const Finding* finding = found(findings, "earth-on-metal", "C3");
        REQUIRE(finding != nullptr);
        CHECK(finding->severity == Severity::doubt);
        CHECK(finding->number == 2037);
        CHECK(finding->message.find("H22") != std::string::npos);
        CHECK(finding->place.line > 0);
        CHECK_FALSE(finding->look_at.empty());
    }
    const std::string class_y = old + " construction=\"safety-y\" since=\"2015\"";
    const std::string elsewhere = "<node is=\"earth\" net=\"earth\"/><wire id=\"W20\" from=\"TS2.3\" to=\"earth\"/>";
    CHECK(found(rows({{metal, metal + wire}, {old, class_y}}), "earth-on-metal", "C3") == nullptr);
    CHECK(found(rows({{metal, metal + elsewhere}}), "earth-on-metal", "C3") == nullptr);
}

TEST_CASE("An earth on a metal that the line itself reaches is a stop, and on a vehicle's frame it is nothing") {
    const auto rows = [&](const std::string& name, const std::string& net, const std::string& rest) {
        const std::string metal = "<node is=\"chassis-metal\" net=\"" + net + "\" touch=\"yes\"" + rest;
        const Outcome<Chassis> set = read_chassis_text(
            edited(file(name), {{metal, "<node is=\"earth\" net=\"" + net + "\"/>" + metal}}), "set.xml", shipped());
        REQUIRE(set);
        return audit_graph(*set, shipped());
    };
    const auto severity = [](const std::vector<Finding>& findings) {
        for (const Finding& f : findings)
            if (f.number == 2037) return std::string(f.severity == Severity::stop ? "stop" : "doubt");
        return std::string("none");
    };
    CHECK(severity(rows("s3-tanner-row.xml", "bminus", " note=\"shafts, and the set-screws")) == "stop");
    CHECK(severity(rows("s6-osier-holt.xml", "metal", " note=\"shafts, screws below")) == "doubt");
    CHECK(severity(rows("s8-drover-gap.xml", "gnd", " note=\"the case, bolted")) == "none");
}

namespace {

/// The amplifier with its heaters on direct current: a bridge on a winding of its own, and what is between the bridge
/// and the heaters.
std::string on_direct_current(const std::string& kind, const std::string& volts, const std::string& between) {
    const auto cell = [&](int n, const std::string& from, const std::string& to) {
        return "<rectifier id=\"CR" + std::to_string(n) + "\" construction=\"" + kind +
               "\" volts=\"50\" amps=\"5\" anode=\"" + from + "\" cathode=\"" + to + "\"/>";
    };
    return edited(
        file(s9),
        {{"<winding role=\"heater\" leads=\"heaters gnd\" volts=\"6.3\" amps=\"1.7\"/>",
          "<winding role=\"heater\" leads=\"V3.3 gnd\" volts=\"6.3\" amps=\"1\"/>"
          "<winding role=\"heater\" name=\"direct\" leads=\"ha hb\" volts=\"" +
              volts + "\" amps=\"2.5\" ohms=\".25\"/>"},
         {"<join at=\"heaters V1.4 V1.5 V2.4 V3.3\"/>",
          "<join at=\"heaters V1.4 V1.5 V2.4\"/>" + cell(1, "ha", "raw") + cell(2, "hb", "raw") + cell(3, "gnd", "ha") +
              cell(4, "gnd", "hb") +
              "<capacitor id=\"C20\" value=\"4000 mfd\" volts=\"15\" construction=\"modern-electrolytic\" plus=\"raw\" "
              "minus=\"gnd\"/>" +
              between}});
}

}  // namespace

// Heaters on rectified current: one end on the metal, some thousand microfarads, ohms or a choke before the heaters
// (common practice, no source).
TEST_CASE("Heaters on direct current from a bridge audit as the set does without, and get their volts") {
    const std::string second =
        "<capacitor id=\"C21\" value=\"4000 mfd\" volts=\"15\" construction=\"modern-electrolytic\" plus=\"heaters\" "
        "minus=\"gnd\"/>";
    const std::string without = told(audited(file(s9), in_service));
    for (const auto& [kind, volts, between] :
         {std::tuple{"silicon", "7.9",
                     "<resistor id=\"R20\" value=\"2.2\" watts=\"10\" a=\"raw\" b=\"heaters\"/>" + second},
          std::tuple{"selenium", "8.4",
                     "<coil id=\"L20\" role=\"choke\" henries=\".05\" ohms=\"1\" a=\"raw\" b=\"heaters\"/>" + second},
          std::tuple{"silicon", "5.8", std::string("<join at=\"raw heaters\"/>")}}) {
        INFO(between);
        const std::string text = on_direct_current(kind, volts, between);
        std::string now = told(audited(text, {"normal", "high-line", "warm-up"}));
        INFO(now);
        CHECK(now.find("heater") == std::string::npos);
        CHECK(now.find("stop") == std::string::npos);
        CHECK(std::count(now.begin(), now.end(), '\n') == std::count(without.begin(), without.end(), '\n'));
        const Outcome<Chassis> set = read_chassis_text(text, "set.xml", shipped());
        REQUIRE(set);
        Outcome<Bench> bench = Bench::make(*set, shipped(), Policy());
        REQUIRE(bench);
        const Outcome<Solution> solved = bench->solve({});
        REQUIRE(solved);
        for (const HeaterVolts& heater : solved->heaters) {
            INFO(set->parts()[static_cast<std::size_t>(heater.part)].id);
            CHECK(heater.across / heater.rated == Approx(1).margin(0.1));
        }
        CHECK(solved->at(*set, "heaters").dc.value() > 5.5);
    }
}

TEST_CASE("Silicon for the heaters of a set of 1936 is no silicon where a rectifier tube was") {
    const std::string heaters = edited(on_direct_current("silicon", "5.8", "<join at=\"raw heaters\"/>"),
                                       {{"built=\"1956\"", "built=\"1936\""}});
    CHECK(told(audited(heaters, in_service)).find("silicon-in-place") == std::string::npos);
}

TEST_CASE("Bias from the heater winding by a dry rectifier is no B-plus on the heaters") {
    const std::string text = edited(
        file(s9),
        {{"</chassis>",
          "<rectifier id=\"CR1\" construction=\"selenium\" volts=\"25\" amps=\".05\" anode=\"bias\" "
          "cathode=\"heaters\"/><capacitor id=\"C20\" value=\"25 mfd\" volts=\"25\" plus=\"gnd\" minus=\"bias\"/>"
          "<resistor id=\"R20\" value=\"10k\" watts=\"1/2\" a=\"bias\" b=\"gnd\"/></chassis>"}});
    const std::string now = told(audited(text, in_service));
    INFO(now);
    CHECK(now.find("stop") == std::string::npos);
}

// What holds the current in a primary on direct current is its copper (Ohm's law): 117 V in 9 ohm are 13 A.
TEST_CASE("A power transformer on a line of direct current is a stop, and nothing else is told of its volts") {
    for (const auto& [from, to] :
         {std::pair{"hertz=\"60\"", "hertz=\"dc\""}, std::pair{"hertz=\"60\"", "hertz=\"60\" supply=\"dc\""}}) {
        const auto findings = audited(edited(file(s9), {{from, to}}), in_service);
        INFO(told(findings));
        const Finding* burns = found(findings, "transformer-on-direct-line", "T1");
        REQUIRE(burns != nullptr);
        CHECK(burns->severity == Severity::stop);
        CHECK(burns->message.find("13 A") != std::string::npos);
        CHECK(std::count_if(findings.begin(), findings.end(),
                            [](const Finding& f) { return f.severity != Severity::note; }) == 1);
    }
    CHECK(found(audited(file(s9), in_service), "transformer-on-direct-line", "T1") == nullptr);
}

TEST_CASE("On direct current the plug the wrong way round is named, once, and the supply stands at about nothing") {
    const std::string mended =
        edited(file("s3-tanner-row.xml"), {{"hertz=\"60\" hot=\"P1.1\" neutral=\"P1.2\" supply=\"ac-dc\"",
                                            "hertz=\"dc\" hot=\"P1.1\" neutral=\"P1.2\" supply=\"dc\""},
                                           {"seen=\"open\" note=\"no heater continuity", "note=\"no heater continuity"},
                                           {"location=\"dial\" seen=\"dead\"", "location=\"dial\""}});
    const std::string turned = edited(mended, {{"hot=\"P1.1\" neutral=\"P1.2\"", "hot=\"P1.2\" neutral=\"P1.1\""}});
    CHECK(found(audited(mended, in_service), "direct-line-turned", "V5") == nullptr);
    const auto findings = audited(turned, in_service);
    INFO(told(findings));
    REQUIRE(found(findings, "direct-line-turned", "V5") != nullptr);
    CHECK(found(findings, "direct-line-turned", "V5")->look_at.find("turn the plug") == 0);
    CHECK(std::none_of(findings.begin(), findings.end(), [](const Finding& f) {
        return f.rule == "net-undetermined" || f.rule == "plate-without-volts";
    }));
    const Outcome<Chassis> set = read_chassis_text(turned, "set.xml", shipped());
    REQUIRE(set);
    Outcome<Bench> bench = Bench::make(*set, shipped(), Policy());
    REQUIRE(bench);
    const Outcome<Solution> solved = bench->solve({});
    REQUIRE(solved);
    // blocked rectifier, warm tubes, a filter between: nothing that a needle shows, and no guess either
    for (const char* net : {"V5.8", "bplus", "V4.3", "V3.6"}) {
        INFO(net);
        const NetVolts& there = solved->at(*set, net);
        CHECK_FALSE(there.undetermined);
        CHECK(std::fabs(there.dc.value()) < 5);
        CHECK(there.low <= there.dc);
        CHECK(there.high >= there.dc);
    }
    CHECK(solved->at(*set, "V5.5").dc.value() < -100);
}
