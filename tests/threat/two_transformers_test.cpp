// SPDX-License-Identifier: MIT
// An amplifier with a plate transformer and a filament transformer of its own: each is judged by its own heat. The set
// is made up: a 5U4-G from the plate transformer with its 5 V winding, 6L6-G and 6SN7-GT heated by the other, both on
// the same line behind one fuse, too large a one, so that it saves nothing. What is asked for is physics: a short
// across the heaters draws through the filament transformer alone, a shorted filter through the plate transformer
// alone, and the line's fuse carries the sum.
#include <algorithm>
#include <cmath>
#include <set>

#include <catch2/catch.hpp>

#include <tubewright/stress.hpp>

#include "../bench/sets.hpp"
#include "chassis/power.hpp"
#include "stress/limits.hpp"
#include "threat/protection.hpp"
#include "threat/threat.hpp"

using namespace sets;

namespace {

const std::string filaments = R"(
  <transformer id="T1" role="power" va="20">
    <winding role="primary" leads="live P1.2" volts="117" ohms="38"/>
    <winding role="heater" leads="heat_a heat_b" volts="6.3" amps="2" ohms=".12"/>
  </transformer>)";
const std::string plates = R"(
  <transformer id="T2" role="power" va="110">
    <winding role="primary" leads="live P1.2" volts="117" ohms="4.2"/>
    <winding role="plate" leads="V1.4 gnd V1.6" noload-volts="330 330" ohms="60 64"/>
    <winding role="rectifier-heater" leads="V1.2 V1.8" volts="5" amps="3"/>
  </transformer>)";

/// `more`: elements put before the end. The filament transformer stands first in the file.
std::string amplifier_text(const std::string& more = {}) {
    return R"(<chassis version="1" name="Two irons" built="1950" reference="gnd" paper="wax-paper" m-means="thousand">
  <line volts="117" hertz="60" hot="P1.1" neutral="P1.2"/>
  <node is="chassis-metal" net="gnd" touch="yes"/>
  <plug id="P1" role="line"/>
  <fuse id="F1" amps="5" a="P1.1" b="fused"/>
  <switch id="S1" a="fused" b="live" state="closed"/>)" +
           filaments + plates + R"(
  <socket id="V1" tube="5U4-G"/>
  <join at="first V1.8"/>
  <capacitor id="C1" value="16 mfd" volts="525" construction="dry-electrolytic" plus="first" minus="gnd"/>
  <coil id="L1" role="choke" ohms="180" henries="8" a="first" b="bplus"/>
  <capacitor id="C2" value="16 mfd" volts="525" construction="dry-electrolytic" plus="bplus" minus="gnd"/>
  <resistor id="R1" value="25k" watts="25" a="bplus" b="gnd" construction="wirewound"/>
  <socket id="V2" tube="6L6-G"/>
  <join at="heat_a V2.2"/>
  <join at="heat_b V2.7"/>
  <transformer id="T3" role="output">
    <winding role="output-primary" leads="V2.3 bplus" ohms="150" impedance="4k"/>
    <winding role="output-secondary" leads="voice gnd" ohms=".4"/>
  </transformer>
  <speaker id="LS1" ohms="8" a="voice" b="gnd"/>
  <resistor id="R2" value="5k" watts="2" a="bplus" b="V2.4"/>
  <capacitor id="C3" value="8 mfd" volts="450" construction="dry-electrolytic" plus="V2.4" minus="gnd"/>
  <resistor id="R3" value="270" watts="5" a="V2.8" b="gnd"/>
  <capacitor id="C4" value="25 mfd" volts="50" construction="dry-electrolytic" plus="V2.8" minus="gnd"/>
  <resistor id="R4" value="470k" watts="1/2" a="V2.5" b="gnd"/>
  <socket id="V3" tube="6SN7-GT"/>
  <join at="heat_a V3.7"/>
  <join at="heat_b V3.8"/>
  <capacitor id="C5" value=".05 mfd" volts="600" a="V3.2" b="V2.5"/>
  <resistor id="R5" value="100k" watts="1" a="V2.4" b="V3.2"/>
  <resistor id="R6" value="2.2k" watts="1/2" a="V3.3" b="gnd"/>
  <resistor id="R7" value="1 meg" watts="1/2" a="V3.1" b="gnd"/>
  <join at="gnd V3.4 V3.5 V3.6"/>
  <lamp id="PL1" type="47" a="heat_a" b="heat_b"/>
  <resistor id="R8" value="50" watts="2" a="heat_a" b="gnd"/>
  <resistor id="R9" value="50" watts="2" a="heat_b" b="gnd"/>
)" + more + "</chassis>";
}

struct Worked {
    Chassis set;
    ThreatReport threats;
    Protection saved;
    Solution healthy, high;
};

Worked worked_on(const std::string& text) {
    Chassis set = read(text);
    Bench bench = bench_of(set, faults_of(set, shipped()));
    Solution healthy = *bench.solve(Condition{}), high = *bench.solve(condition("high-line"));
    const std::vector<Solution> solutions{healthy, high};
    Outcome<ThreatReport> report = threats_of(set, shipped(), {}, bench, stress_of(set, shipped(), {}, solutions));
    REQUIRE(report);
    Outcome<Protection> saved = protection_of(set, shipped(), {}, bench, *report);
    REQUIRE(saved);
    return Worked{set, *report, *saved, healthy, high};
}

const Worked& two() {
    static const Worked worked = worked_on(amplifier_text());
    return worked;
}

/// nullptr: the study has no such row.
const Threat* row(const std::string& fault, const std::string& target, const Worked& in = two()) {
    for (const Threat& t : in.threats.rows)
        if (t.fault.id == fault && t.target == target) return &t;
    return nullptr;
}

const Threat& must(const std::string& fault, const std::string& target) {
    const Threat* t = row(fault, target);
    INFO(fault << ", " << target);
    REQUIRE(t != nullptr);
    return *t;
}

double rms_of(const Solution& s, const Chassis& set, const std::string& part, const char* lead) {
    const Branch* b = s.branch(set.part(part), lead);
    REQUIRE(b != nullptr);
    return b->rms.value();
}

}  // namespace

TEST_CASE("The transformer that gives B-plus is the first, wherever it stands in the file; every other is judged too") {
    const ThreatReport& r = two().threats;
    CHECK(power_transformers_of(two().set) == std::vector<int>{two().set.part("T2"), two().set.part("T1")});
    CHECK(r.transformer == "T2");
    REQUIRE(r.others.size() == 1);
    CHECK(r.others[0].part == "T1");
    CHECK(r.power_transformers() == "T2 or T1");
    CHECK(r.is_power_transformer("T1"));
    CHECK_FALSE(r.is_power_transformer("T3"));
    // rows of the first for every fault; of the other for what heats it, after those and before the scarce parts
    std::vector<std::string> targets;
    for (const Threat& t : r.rows)
        if (targets.empty() || targets.back() != t.target) targets.push_back(t.target);
    REQUIRE(targets.size() > 3);
    CHECK(targets[0] == "T2");
    CHECK(targets[1] == "T1");
    CHECK(std::set<std::string>(targets.begin(), targets.end()).size() == targets.size());
    for (const Threat& t : r.rows)
        if (t.target == "T1") CHECK(t.beta > 0);
}

TEST_CASE("What shorts the heaters burns the filament transformer and leaves the plate transformer alone") {
    for (const char* fault : {"PL1 socket short", "T1 primary layer short"}) {
        const Threat& burnt = must(fault, "T1");
        CHECK(burnt.beta >= 0.1);
        CHECK(burnt.hot_winding.starts_with("T1."));
        CHECK(burnt.primary_amps_rms > 1.2 * burnt.primary_amps_rms_normal);
        CHECK(burnt.windings.front().winding == "T1.primary");
        CHECK(burnt.chain().find("T1") != std::string::npos);
        const Threat& spared = must(fault, "T2");
        CHECK(spared.beta == 0);
        CHECK_FALSE(spared.ahead_of_primary);
        CHECK(spared.chain().find("the transformer") == std::string::npos);  // of two it has a name
    }
    const Threat& shorted = must("PL1 socket short", "T1");
    CHECK(shorted.beta == 1);
    REQUIRE(shorted.seconds_to_damage_low);
    CHECK(shorted.windings.back().rms_amps > 10 * shorted.windings.back().rms_amps_normal);
    const Threat& spared = must("PL1 socket short", "T2");
    CHECK(spared.primary_amps_rms < spared.primary_amps_rms_normal);  // the tubes go cold, and load it no more
    CHECK(spared.drawn_amps_rms > spared.primary_amps_rms + 1);       // the line gives the rest to the other
    // hot copper holds the current back
    REQUIRE(shorted.primary_amps_rms_hot);
    CHECK(*shorted.primary_amps_rms_hot < shorted.primary_amps_rms);
}

TEST_CASE("A second leg of a grounded heater winding on the metal burns the filament transformer alone") {
    // as many amplifiers have it: one leg of the heaters to the metal in place of the balancing resistors
    const Worked grounded =
        worked_on(edited(amplifier_text(), "<resistor id=\"R9\" value=\"50\" watts=\"2\" a=\"heat_b\" b=\"gnd\"/>",
                         "<join at=\"gnd heat_b\"/>"));
    const auto leg = std::find_if(grounded.threats.rows.begin(), grounded.threats.rows.end(), [&](const Threat& t) {
        return t.part == "T1" && t.fault.mode == FaultMode::to_chassis && t.target == "T1";
    });
    REQUIRE(leg != grounded.threats.rows.end());
    INFO(leg->fault.id);
    CHECK(leg->beta == 1);
    CHECK_FALSE(leg->ahead_of_primary);
    CHECK(leg->primary_amps_rms > 5 * leg->primary_amps_rms_normal);
    const Threat* plate = row(leg->fault.id, "T2", grounded);
    REQUIRE(plate != nullptr);
    CHECK(plate->beta == 0);
}

TEST_CASE("A shorted first filter burns the plate transformer and not the filament transformer") {
    CHECK(must("C1 short", "T2").beta == 1);
    CHECK(row("C1 short", "T1") == nullptr);
    CHECK(row("C2 short", "T1") == nullptr);
    CHECK(must("T2 plate half 1 layer short", "T2").beta > 0);
    CHECK(row("T2 plate half 1 layer short", "T1") == nullptr);
}

TEST_CASE("Rows of either transformer have the currents of the edited set solved cold") {
    struct Edit {
        const char *fault, *element, *target, *lead;
    };
    for (const Edit& e :
         {Edit{"PL1 socket short", "<resistor id=\"R990\" value=\"0.1\" a=\"heat_a\" b=\"heat_b\"/>", "T1", "heater"},
          Edit{"C1 short", "<resistor id=\"R990\" value=\"0.1\" a=\"first\" b=\"gnd\"/>", "T2", "plate.1"}}) {
        INFO(e.fault);
        const Threat& t = must(e.fault, e.target);
        const Chassis other = read(amplifier_text(e.element));
        const FaultSolution cold = bench_of(other).solve({}, {}, false);
        REQUIRE(cold.solved);
        const int part = other.part(e.target);
        const auto w = std::find_if(t.windings.begin(), t.windings.end(), [&](const WindingLoad& one) {
            return one.winding == std::string(e.target) + "." + e.lead;
        });
        REQUIRE(w != t.windings.end());
        CHECK(w->rms_amps == Approx(rms_of(cold.solution, other, e.target, e.lead)).epsilon(1e-4));
        CHECK(t.primary_amps_rms == Approx(cold.solution.branch(part, "primary")->rms.value()).epsilon(1e-4));
        CHECK(t.drawn_amps_rms == Approx(cold.solution.drawn.value()).epsilon(1e-4));
    }
}

TEST_CASE("The line fuse carries what both transformers draw, and its inrush is that of both primaries") {
    const Worked& w = two();
    const double plate = rms_of(w.high, w.set, "T2", "primary"), filament = rms_of(w.high, w.set, "T1", "primary");
    const FuseStudy& fuse = w.saved.primary;
    CHECK(fuse.carried_amps == Approx(w.high.drawn.value()).epsilon(1e-4));
    CHECK(fuse.carried_amps > 1.1 * plate);
    CHECK(fuse.carried_amps <= plate + filament + 1e-6);
    REQUIRE(fuse.inrush_i2t);
    const double peak = std::sqrt(2.0) * 126 * (1 / 38.0 + 1 / 4.2);
    CHECK(*fuse.inrush_i2t == Approx(peak * peak / 120).epsilon(0.005));
    // each fault by what the line then gives
    for (std::size_t i = 0; i < w.threats.rows.size(); ++i) {
        const Threat& t = w.threats.rows[i];
        if (fuse.verdicts[i].verdict.empty()) continue;
        CHECK(fuse.verdicts[i].times_rating * fuse.amps ==
              Approx(std::min(t.drawn_amps_rms, t.drawn_amps_rms_hot.value_or(1e9))));
    }
    // a link in the plate winding's tap has nothing to do with the other transformer
    REQUIRE(w.saved.centre_tap.amps > 0);
    for (std::size_t i = 0; i < w.threats.rows.size(); ++i)
        if (w.threats.rows[i].target == "T1") CHECK(w.saved.centre_tap.verdicts[i].verdict.empty());
    CHECK(std::none_of(w.saved.centre_tap.unseen.begin(), w.saved.centre_tap.unseen.end(),
                       [](const std::string& id) { return id == "PL1 socket short"; }));
}

TEST_CASE("The lead of any primary to the metal lies ahead, and an opened fuse leaves every primary dead") {
    for (const char* fault : {"T1.primary live to chassis", "T2.primary live to chassis"}) {
        const auto at = std::find_if(two().threats.rows.begin(), two().threats.rows.end(), [&](const Threat& t) {
            return t.fault.part == two().set.part(std::string(fault, 2)) && t.fault.mode == FaultMode::to_chassis &&
                   t.ahead_of_primary;
        });
        INFO(fault);
        REQUIRE(at != two().threats.rows.end());
        CHECK(at->target == "line");
    }
    const Threat& open = must("F1 open", "line");
    CHECK(open.current_note == "every primary is dead");
}
