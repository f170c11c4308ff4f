// SPDX-License-Identifier: MIT
// Stress of the demo sets' parts over scenarios: which scenario sets the worst case, what is over its rating, and that
// every number is one of the solutions' own.
#include <tubewright/stress.hpp>

#include <algorithm>
#include <cmath>

#include <catch2/catch.hpp>

#include <tubewright/netlist.hpp>

#include "bench/bench.hpp"
#include "stress/limits.hpp"

using namespace tubewright;

namespace {

const Catalogue& shipped() {
    static const Catalogue c = Catalogue::shipped();
    return c;
}

struct Worked {
    Chassis set;
    std::vector<Solution> solutions;
    std::vector<PartStress> rows;
    const PartStress* row(const std::string& id, const std::string& lead = {}) const {
        for (const PartStress& r : rows)
            if (r.part == set.part(id) && r.lead == lead) return &r;
        return nullptr;
    }
};

Worked worked(const std::string& file, const std::vector<std::string>& scenarios) {
    Outcome<Chassis> set = read_chassis(std::string(TUBEWRIGHT_ROOT) + "/netlists/" + file, shipped());
    REQUIRE(set);
    Worked w{*set, {}, {}};
    Policy policy;
    Outcome<Bench> bench = Bench::make(w.set, shipped(), policy);
    REQUIRE(bench);
    for (const std::string& s : scenarios) {
        Outcome<Condition> c = Condition::parse(s);
        REQUIRE(c);
        Outcome<Solution> solved = bench->solve(*c);
        REQUIRE(solved);
        w.solutions.push_back(std::move(*solved));
    }
    w.rows = stress_of(w.set, shipped(), policy, w.solutions);
    return w;
}

const Worked& first_set() {
    static const Worked w = worked("s1-quarry-hill.xml", {"normal", "high-line", "warm-up", "speaker-unplugged"});
    return w;
}

}  // namespace

TEST_CASE("The first filter's worst volts come with the speaker unplugged, not in normal running") {
    const PartStress* c1 = first_set().row("C1.plain");
    REQUIRE(c1 != nullptr);
    CHECK(c1->worst.crest_volts == Approx(511).epsilon(0.05));
    CHECK(c1->volts_scenario.find("speaker-unplugged") != std::string::npos);
    REQUIRE(c1->rating_over_stress);
    CHECK(*c1->rating_over_stress < 1);
    CHECK(c1->rated_volts == 475.0);
    CHECK(c1->rated_source == "stated in the file");
    CHECK_FALSE(c1->remark.empty());
    REQUIRE(c1->plus_minus_low_volts);
    CHECK(*c1->plus_minus_low_volts > 200);
    CHECK(*c1->plus_minus_high_volts == Approx(c1->worst.crest_volts).epsilon(0.01));
    CHECK(c1->worst.ripple_amps_rms > 0.03);
}

TEST_CASE("The 450 volt part put where 475 stood is over its rating with cold tubes") {
    const PartStress* c2 = first_set().row("C2");
    REQUIRE(c2 != nullptr);
    for (const StressAt& s : c2->scenarios)
        if (s.scenario.find("warm-up") == 0) CHECK(s.crest_volts == Approx(428).epsilon(0.15));
}

TEST_CASE(
    "Every worst figure is the largest of its scenarios; the half minute of warm-up counts for volts, not for watts") {
    for (const PartStress& r : first_set().rows) {
        INFO(first_set().set.parts()[static_cast<std::size_t>(r.part)].id << " " << r.lead);
        double crest = 0, watts = 0, ripple = 0;
        for (const StressAt& s : r.scenarios) {
            crest = std::max(crest, s.crest_volts);
            if (s.scenario != "warm-up") watts = std::max(watts, s.watts);
            ripple = std::max(ripple, s.ripple_amps_rms);
        }
        CHECK(r.worst.crest_volts == crest);
        CHECK(r.worst.watts == watts);
        CHECK(r.worst.ripple_amps_rms == ripple);
        CHECK(r.scenarios.size() == first_set().solutions.size());
        CHECK_FALSE(r.worst.scenario.empty());
        if (r.rating_over_stress) CHECK_FALSE(r.limiting.empty());
    }
    const PartStress* divider = first_set().row("R4");
    REQUIRE(divider != nullptr);
    CHECK(divider->watts_scenario != "warm-up");
    CHECK(divider->remark.find("warm-up") != std::string::npos);
}

TEST_CASE("The line capacitor takes the whole line, for the metal may be earthed or touched") {
    const PartStress* c3 = first_set().row("C3");
    REQUIRE(c3 != nullptr);
    CHECK(c3->worst.crest_volts >= Approx(126 * std::sqrt(2.0)).epsilon(1e-6));
    CHECK(c3->worst.ac_volts_rms >= Approx(126.0).epsilon(1e-6));
    CHECK(c3->rating_over_stress == Approx(400 / c3->worst.crest_volts));
}

TEST_CASE("Watts of resistors agree with volts squared over ohms where only direct current flows") {
    const Worked& w = first_set();
    for (const char* id : {"R3", "R4", "R5", "R11"}) {
        const PartStress* r = w.row(id);
        REQUIRE(r != nullptr);
        const double ohms = *w.set.parts()[static_cast<std::size_t>(r->part)].ohms;
        const StressAt& normal = r->scenarios.front();
        INFO(id);
        CHECK(normal.watts == Approx(normal.dc_volts * normal.dc_volts / ohms).epsilon(0.03));
    }
}

TEST_CASE("The output tube is held against its plate watts, screen watts and heater-cathode volts") {
    const Worked& w = first_set();
    const PartStress* plate = w.row("V4", "p.2");
    const PartStress* screen = w.row("V4", "g2.3");
    const PartStress* heater = w.row("V4", "h");
    REQUIRE(plate != nullptr);
    REQUIRE(screen != nullptr);
    REQUIRE(heater != nullptr);
    CHECK(plate->rated_watts == 11.0);
    CHECK(screen->rated_watts == 3.75);
    CHECK(plate->scenarios.front().watts > 5);
    CHECK(plate->scenarios.front().watts < 11);
    CHECK(heater->rating_over_stress.value_or(0) > 1);
}

TEST_CASE("A 115 volt set on 135 volts has its heaters over the tenth that manuals allow (recalled)") {
    const Worked w = worked("s1-quarry-hill.xml", {"normal"});
    Policy high;
    high.line.volts = volts(135);
    Outcome<Bench> bench = Bench::make(w.set, shipped(), high);
    REQUIRE(bench);
    Outcome<Solution> solved = bench->solve(Condition{});
    REQUIRE(solved);
    const std::vector<Solution> one{*solved};
    const std::vector<PartStress> rows = stress_of(w.set, shipped(), high, one);
    bool over = false;
    for (const PartStress& r : rows)
        over = over || (r.limiting == "heater volts" && r.rating_over_stress && *r.rating_over_stress < 1);
    CHECK(over);
    for (const PartStress& r : w.rows)
        if (r.limiting == "heater volts") CHECK(*r.rating_over_stress > 1);
}

TEST_CASE("The rectifier is held against direct, peak and inverse figures of its row") {
    const Worked& w = first_set();
    const PartStress* whole = w.row("V5");
    REQUIRE(whole != nullptr);
    CHECK(whole->limiting == "dc amperes");
    CHECK(whole->rated_amps == Approx(0.125));
    const PartStress* plate = w.row("V5", "p.2");
    REQUIRE(plate != nullptr);
    CHECK((plate->limiting == "peak plate amperes" || plate->limiting == "inverse volts"));
    CHECK(plate->worst.crest_volts > 700);  // inverse: twice the peak of a half, nearly
}

TEST_CASE("The screen of a converter is its pair of joined grids, of a pentode its second grid") {
    const TubeType* converter = shipped().tube("6A7");
    const TubeType* pentode = shipped().tube("78");
    REQUIRE(converter != nullptr);
    REQUIRE(pentode != nullptr);
    const std::vector<std::string> grids = stress::screen_of(*converter);
    CHECK(std::find(grids.begin(), grids.end(), "g3+g5") != grids.end());
    CHECK(stress::screen_of(*pentode) == std::vector<std::string>{"g2"});
    CHECK(stress::electrode_of("g3+g5.3").electrode == "g3+g5");
    CHECK(stress::electrode_of("g3+g5.3").pin == "3");
}

TEST_CASE("Part order and no row twice") {
    int before = -1;
    std::vector<std::pair<int, std::string>> seen;
    for (const PartStress& r : first_set().rows) {
        CHECK(r.part >= before);
        before = r.part;
        CHECK(std::find(seen.begin(), seen.end(), std::pair(r.part, r.lead)) == seen.end());
        seen.emplace_back(r.part, r.lead);
    }
}

TEST_CASE("The ratio of every row is made of fields that it prints") {
    for (const char* file : {"s1-quarry-hill.xml", "s9-bellows-court.xml"}) {
        const Worked w = worked(file, {"normal", "high-line", "rectifier-out"});
        for (const PartStress& r : w.rows) {
            if (!r.rating_over_stress) continue;
            INFO(file << " " << w.set.parts()[static_cast<std::size_t>(r.part)].id << " " << r.lead << ": "
                      << r.limiting);
            const int given = (r.stress_volts ? 1 : 0) + (r.stress_watts ? 1 : 0) + (r.stress_amps ? 1 : 0);
            CHECK(given == 1);
            const auto rated = r.stress_volts ? r.rated_volts : r.stress_watts ? r.rated_watts : r.rated_amps;
            const auto stress = r.stress_volts ? r.stress_volts : r.stress_watts ? r.stress_watts : r.stress_amps;
            REQUIRE(rated);
            const double ratio = r.limiting == "heater volts low" ? *stress / *rated : *rated / *stress;
            CHECK(*r.rating_over_stress == Approx(ratio));
        }
    }
}

TEST_CASE("A heater near its volts does not hide the volts between it and its cathode") {
    const Worked w = worked("s9-bellows-court.xml", {"normal", "high-line", "warm-up"});
    const PartStress* heater = w.row("V3", "h");
    REQUIRE(heater != nullptr);
    const auto insulation = std::find_if(heater->ratings.begin(), heater->ratings.end(), [](const StressRating& one) {
        return one.quantity == "heater-cathode volts";
    });
    REQUIRE(insulation != heater->ratings.end());
    // the cathode is the first filter's plus, the heater winding is grounded at one end, and its other swings below
    const NetVolts &plus = w.solutions[2].at(w.set, "bplus"), &heats = w.solutions[2].at(w.set, "heaters");
    CHECK(insulation->stress <= plus.crest.value() - heats.trough.value() + 1e-6);
    CHECK(insulation->stress >= plus.trough.value() - heats.trough.value() - 1e-6);
    CHECK(insulation->rated == 450);
    CHECK(insulation->scenario == "warm-up");
    CHECK(insulation->rating_over_stress == Approx(insulation->rated / insulation->stress));
    for (const PartStress& row : w.rows)
        for (std::size_t i = 1; i < row.ratings.size(); ++i)
            CHECK(row.ratings[i - 1].rating_over_stress <= row.ratings[i].rating_over_stress);
}

TEST_CASE("A rectifier of which no first-filter limit is known says so") {
    const Worked w = worked("s9-bellows-court.xml", {"normal"});
    const PartStress* rectifier = w.row("V3");
    REQUIRE(rectifier != nullptr);
    CHECK(rectifier->remark.find("no limit of the first filter is known") != std::string::npos);
    CHECK(rectifier->remark.find("16 uF") != std::string::npos);
}

TEST_CASE("With the rectifier out nothing is reversed, and a scenario that does not differ does not set") {
    const Worked w = worked("s9-bellows-court.xml", {"normal", "high-line", "rectifier-out", "speaker-unplugged"});
    for (const PartStress& r : w.rows) {
        INFO(w.set.parts()[static_cast<std::size_t>(r.part)].id << " " << r.lead << ": " << r.remark);
        CHECK(r.remark.find("reversed") == std::string::npos);
        for (const std::string& setter : {r.volts_scenario, r.worst.scenario}) {
            const auto in = [&](const std::string& name) {
                for (const StressAt& s : r.scenarios)
                    if (s.scenario == name) return s.crest_volts;
                return 0.0;
            };
            if (setter == "speaker-unplugged" && in("speaker-unplugged") > 1)
                CHECK(std::fabs(in("speaker-unplugged") / in("high-line") - 1) > 5e-4);
        }
    }
}

TEST_CASE("An electrolytic with its plus on the ground is judged by its troughs and crests, not by mean less swing") {
    const std::string text = R"(<chassis version="1" name="mains" reference="gnd" m-means="million">
  <line volts="117" hertz="60" hot="P1.1" neutral="P1.2"/><node is="chassis-metal" net="gnd" touch="yes"/>
  <plug id="P1" role="line"/>
  <transformer id="T1" role="power" va="65"><winding role="primary" leads="P1.1 P1.2" volts="117" ohms="7"/>
    <winding role="plate" leads="V5.2 ct V5.3" volts="340" ohms="170 190"/>
    <winding role="rectifier-heater" leads="V5.1 V5.4" volts="5" amps="2"/>
    <winding role="heater" leads="heaters gnd" volts="6.3" amps="2"/></transformer>
  <socket id="V5" tube="80"/>
  <resistor id="R1" value="45" watts="5" a="ct" b="gnd"/>
  <capacitor id="C80" value="25 mfd" volts="25" plus="gnd" minus="ct" construction="dry-electrolytic"/>
  <resistor id="R6" value="60" watts="5" a="V5.1" b="rail"/>
  <capacitor id="C81" value="25 mfd" volts="25" plus="V5.1" minus="rail" construction="dry-electrolytic"/>
  <capacitor id="C1" value="8 mfd" volts="450" plus="rail" minus="gnd" construction="dry-electrolytic"/>
  <resistor id="R2" value="1200" watts="10" a="rail" b="bp"/>
  <capacitor id="C2" value="16 mfd" volts="450" plus="bp" minus="gnd" construction="dry-electrolytic"/>
  <socket id="V4" tube="6F6"/><join at="gnd V4.2"/><join at="heaters V4.7"/><join at="bp V4.4"/>
  <resistor id="R3" value="420" watts="1" a="V4.8" b="gnd"/><resistor id="R4" value="470k" a="V4.5" b="gnd"/>
  <transformer id="T2" role="output"><winding role="output-primary" leads="V4.3 bp" ohms="300" impedance="7k"/>
    <winding role="output-secondary" leads="voice gnd" ohms=".4"/></transformer>
  <speaker id="LS1" ohms="3.2" a="voice" b="gnd"/>
</chassis>)";
    Outcome<Chassis> set = read_chassis_text(text, "mains.xml", shipped());
    REQUIRE(set);
    Outcome<Bench> bench = Bench::make(*set, shipped(), Policy());
    REQUIRE(bench);
    const Outcome<Solution> solved = bench->solve(*Condition::parse("normal"));
    REQUIRE(solved);
    const std::vector<PartStress> rows = stress_of(*set, shipped(), Policy(), std::vector<Solution>{*solved});
    for (const char* id : {"C80", "C81"}) {
        INFO(id);
        const auto row =
            std::find_if(rows.begin(), rows.end(), [&](const PartStress& one) { return one.part == set->part(id); });
        REQUIRE(row != rows.end());
        REQUIRE(row->plus_minus_low_volts);
        // its rectifier's current flows one way: a resistor with it never turns over
        CHECK(*row->plus_minus_low_volts > -0.01);
        CHECK(*row->plus_minus_high_volts == Approx(row->worst.crest_volts).epsilon(1e-6));
        CHECK(row->remark.find("reversed") == std::string::npos);
    }
    const NetVolts& ct = solved->at(*set, "ct");
    const auto first =
        std::find_if(rows.begin(), rows.end(), [&](const PartStress& one) { return one.part == set->part("C80"); });
    CHECK(*first->plus_minus_low_volts == Approx(-ct.crest.value()).margin(1e-6));
    CHECK(*first->plus_minus_high_volts == Approx(-ct.trough.value()).epsilon(1e-6));
}

TEST_CASE("A ballast is made for its volts at its amperes, and for nothing where the file gives neither") {
    const auto limit = [](const std::string& marks) -> std::optional<double> {
        const std::string text = R"(<chassis version="1" name="ballast" reference="gnd" m-means="million">
  <line volts="117" hertz="60" hot="P1.1" neutral="P1.2"/><node is="chassis-metal" net="gnd" touch="yes"/>
  <plug id="P1" role="line"/><ballast id="BL1" )" +
                                 marks + R"( a="P1.1" b="gnd"/></chassis>)";
        Outcome<Chassis> set = read_chassis_text(text, "ballast.xml", shipped());
        REQUIRE(set);
        const Solution none;
        for (const stress::Limit& one : stress::limits_of(*set, shipped(), none))
            if (one.part == set->part("BL1") && one.quantity == "watts") return one.limit;
        return std::nullopt;
    };
    const std::optional<double> marked = limit("volts=\"40\" amps=\".4\"");
    REQUIRE(marked);
    CHECK(*marked == Approx(16));
    CHECK_FALSE(limit("value=\"100\""));
}
