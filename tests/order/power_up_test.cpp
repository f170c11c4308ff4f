// SPDX-License-Identifier: MIT
// The power-up sheet of both demo sets, solved: stages in order, each first behind the lamp, halves read to the centre
// tap, stop limits, cold ohms that can be added up by hand, lamps that can be read, and no rule broken after the repair
// steps. Volts of the sets are estimates by hand (15 %).
#include <algorithm>
#include <cmath>
#include <map>
#include <memory>
#include <set>

#include <catch2/catch.hpp>

#include "order/order.hpp"
#include "sets.hpp"

using namespace tubewright;

namespace {

struct Solved {
    Chassis set;
    Policy policy;
    std::vector<Fault> faults;
    Outcome<Bench> bench;
    std::vector<PartStress> stress;
    ThreatReport threats;
    std::vector<PartAction> actions;
    ShoppingList list;

    // Three faults of the supply and the coupler, with a likelihood by hand: the study of all faults is tested
    // elsewhere.
    static std::vector<Fault> some(const Chassis& set, std::set<std::string> wanted) {
        const bool radio = set.part("C1.plain") >= 0;
        if (wanted.empty())
            wanted = radio ? std::set<std::string>{"C1.plain short", "C2 short", "C17 short"}
                           : std::set<std::string>{"C1.half-moon short", "C1.square short", "C1.triangle short"};
        std::vector<Fault> found;
        for (const Fault& f : faults_of(set, demo::catalogue()))
            if (wanted.count(f.id)) found.push_back(f);
        return found;
    }
    explicit Solved(const std::string& file, Policy settings = {}, const std::set<std::string>& wanted = {})
        : set(demo::read(file)),
          policy(std::move(settings)),
          faults(some(set, wanted)),
          bench(Bench::make(set, demo::catalogue(), policy, faults)) {
        REQUIRE(bench);
        REQUIRE(faults.size() == (wanted.empty() ? 3 : wanted.size()));
        std::vector<Solution> solutions;
        for (const Scenario s : {Scenario::normal, Scenario::warm_up}) {
            Condition c;
            c.scenario = s;
            const Outcome<Solution> found = bench->solve(c);
            REQUIRE(found);
            solutions.push_back(*found);
        }
        stress = stress_of(set, demo::catalogue(), policy, solutions);
        double criticality = 3e-3;
        for (const Fault& f : faults) {
            Threat t;
            t.fault = f;
            t.part = set.parts()[static_cast<std::size_t>(f.part)].id;
            for (const Part& p : set.parts())
                if (p.kind == PartKind::transformer && p.role == "power") threats.transformer = t.target = p.id;
            t.severity = "II";
            t.criticality = criticality;
            criticality /= 3;
            threats.rows.push_back(t);
        }
        actions = actions_of(set, demo::catalogue(), policy, stress, {});
        list = shopping_list(set, demo::catalogue(), policy, stress, actions);
    }
    PowerUp sheet(const Progress& progress = {}, LampChoice lamp = {}) {
        const Outcome<PowerUp> p = power_up_of(set, demo::catalogue(), policy, *bench, threats, progress, lamp);
        if (!p) FAIL(p.notices().front().text());
        return *p;
    }
};

Solved& solved(const std::string& file) {
    static std::map<std::string, std::unique_ptr<Solved>> kept;
    std::unique_ptr<Solved>& s = kept[file];
    if (!s) s = std::make_unique<Solved>(file);
    return *s;
}
const PowerUp& sheet(const std::string& file) {
    static std::map<std::string, PowerUp> kept;
    const auto found = kept.find(file);
    if (found != kept.end()) return found->second;
    return kept.emplace(file, solved(file).sheet()).first->second;
}

const PowerStage& stage(const PowerUp& p, const std::string& name) {
    for (const PowerStage& s : p.stages)
        if (s.name.find(name) != std::string::npos) return s;
    FAIL("no stage " << name);
    return p.stages.front();
}
const StageReading& at(const PowerStage& s, const std::string& where, const std::string& quantity) {
    for (const StageReading& r : s.readings)
        if (r.at == where && r.quantity == quantity) return r;
    FAIL(s.name << ": no " << quantity << " at " << where);
    return s.readings.front();
}
const ColdOhms& cold(const PowerUp& p, const std::string& where) {
    for (const ColdOhms& c : p.cold_ohms)
        if (c.at == where && c.to == p.reference) return c;
    FAIL("no cold ohms at " << where);
    return p.cold_ohms.front();
}
bool powers(const Act& a) {
    return a.kind == ActKind::power_transformer_alone || a.kind == ActKind::power_heaters ||
           a.kind == ActKind::power_b_plus || a.kind == ActKind::power_full_line;
}

}  // namespace

TEST_CASE("the stages come in the bench's order, numbered, and each kind of power is first behind the lamp") {
    for (const std::string& file : demo::files()) {
        const PowerUp& p = sheet(file);
        const std::vector<std::string> order = {"label",
                                                "eyes",
                                                "cold ohms",
                                                "transformer alone, behind",
                                                "transformer alone, full",
                                                "heaters, behind",
                                                "heaters, full",
                                                "rectifier in",
                                                "larger lamp",
                                                "full line",
                                                "soak",
                                                "touch current",
                                                "hand-back"};
        REQUIRE(p.stages.size() == order.size());
        std::set<std::string> lit;
        for (std::size_t k = 0; k < order.size(); ++k) {
            INFO(file << " stage " << k + 1);
            CHECK(p.stages[k].name.find(order[k]) != std::string::npos);
            CHECK(p.stages[k].stage == static_cast<int>(k) + 1);
            CHECK(p.stages[k].gate.state == "box");
            CHECK(p.stages[k].minutes > 0);
            for (const Act& a : p.stages[k].acts) {
                if (!powers(a)) continue;
                const std::string kind = a.kind == ActKind::power_transformer_alone ? "alone"
                                         : a.kind == ActKind::power_heaters         ? "heaters"
                                                                                    : "plus";
                if (!p.stages[k].lamp_watts) CHECK(lit.count(kind) == 1);
                lit.insert(kind);
            }
            if (p.stages[k].line_volts && k < 11) {
                CHECK_FALSE(p.stages[k].at_stop.empty());
                CHECK(p.stages[k].acts.back().kind == ActKind::discharge);
            }
        }
    }
}

TEST_CASE("the stages after the repair steps break no rule, and their acts exchanged do") {
    for (const std::string& file : demo::files()) {
        Solved& s = solved(file);
        const Outcome<RepairOrder> order =
            steps_of(s.set, demo::catalogue(), s.policy, s.actions, s.list, s.threats, s.stress, {}, {});
        REQUIRE(order);
        CHECK(order->optimal);
        std::vector<Act> acts = demo::acts_of(order->steps);
        std::vector<Violation> found = violations(s.set, demo::catalogue(), acts, {});
        INFO(demo::said(found));
        CHECK(found.empty());
        const std::size_t from = acts.size();
        for (const PowerStage& stage : sheet(file).stages)
            acts.insert(acts.end(), stage.acts.begin(), stage.acts.end());
        found = violations(s.set, demo::catalogue(), acts, {});
        INFO(demo::said(found));
        CHECK(found.empty());
        std::vector<Act> alone(acts.begin() + static_cast<long>(from), acts.end());
        std::set<std::string> rules;
        for (const Violation& v : violations(s.set, demo::catalogue(), alone, {})) rules.insert(v.rule);
        for (const char* rule : {"H1", "H5", "H7", "H8", "H9", "H20"}) {
            INFO(rule);
            CHECK(rules.count(rule) == 1);
        }
        // Discharge left out after any power act is caught wherever hands go in afterwards.
        int caught = 0;
        for (std::size_t k = from; k < acts.size(); ++k) {
            if (acts[k].kind != ActKind::discharge) continue;
            std::vector<Act> less = acts;
            less.erase(less.begin() + static_cast<long>(k));
            caught += violations(s.set, demo::catalogue(), less, {}).empty() ? 0 : 1;
        }
        CHECK(caught >= 2);
        // The rectifier left in for the transformer's test.
        std::vector<Act> in = acts;
        for (std::size_t k = from; k < in.size(); ++k)
            if (in[k].kind == ActKind::remove) in[k].parts.erase(in[k].parts.begin());
        CHECK_FALSE(violations(s.set, demo::catalogue(), in, {}).empty());
    }
}

TEST_CASE("each half of a plate winding is read to the centre tap, never plate to plate, near its no-load volts") {
    for (const std::string& file : demo::files()) {
        const PowerUp& p = sheet(file);
        const Chassis& set = solved(file).set;
        std::set<std::string> ends;
        std::string tap;
        double noload = 0;
        for (const Part& t : set.parts())
            for (const PartWinding& w : t.windings)
                if (w.role == WindingRole::plate) {
                    const auto name = [&](std::size_t k) {
                        return set.nets()[static_cast<std::size_t>(t.leads[static_cast<std::size_t>(w.leads[k])].net)]
                            .name;
                    };
                    ends = {name(0), name(2)};
                    tap = name(1);
                    noload = w.noload_volts.front();
                }
        int halves = 0;
        for (const PowerStage& s : p.stages)
            for (const StageReading& r : s.readings) {
                CHECK_FALSE((ends.count(r.at) == 1 && ends.count(r.to) == 1));
                if (s.name.find("transformer alone, full") != std::string::npos && ends.count(r.at) == 1) {
                    ++halves;
                    CHECK(r.to == tap);
                    CHECK(r.expect == Approx(noload).epsilon(0.03));
                    CHECK(r.low < r.expect);
                    CHECK(r.high > r.expect);
                    REQUIRE(r.stop);
                    CHECK(*r.stop > r.high);
                }
            }
        CHECK(halves == 2);
        for (const ColdOhms& c : p.cold_ohms) CHECK_FALSE((ends.count(c.at) == 1 && ends.count(c.to) == 1));
    }
}

TEST_CASE("full-line readings agree with the volts estimated by hand, within 15 %") {
    const PowerStage& radio = stage(sheet("s1-quarry-hill.xml"), "full line");
    const PowerUp& p = sheet("s1-quarry-hill.xml");
    const PowerStage* full = nullptr;
    for (const PowerStage& s : p.stages)
        if (s.name == "full line") full = &s;
    REQUIRE(full);
    CHECK(radio.readings.size() > 3);
    CHECK(at(*full, "bplus", "volts dc").expect == Approx(248).epsilon(0.15));
    CHECK(at(*full, "V4.5", "volts dc").expect == Approx(16.5).epsilon(0.15));
    CHECK(at(*full, "bplus", "volts dc").stop.value_or(0) > at(*full, "bplus", "volts dc").high);
    const PowerUp& q = sheet("s9-bellows-court.xml");
    for (const PowerStage& s : q.stages)
        if (s.name == "full line") {
            CHECK(at(s, "bplus", "volts dc").expect == Approx(268).epsilon(0.15));
            CHECK(at(s, "bplus3", "volts dc").expect == Approx(225).epsilon(0.15));
            CHECK(at(s, "V2.3", "volts dc").expect == Approx(7.5).epsilon(0.15));
        }
}

TEST_CASE("a 1000 ohms a volt meter reads less where the net is behind much resistance") {
    Policy policy;
    policy.meter.ohms_per_volt = 1000;
    policy.meter.range_volts = 250;
    Solved loaded("s1-quarry-hill.xml", policy);
    const PowerUp p = loaded.sheet();
    const auto plate = [](const PowerUp& sheet) {
        for (const PowerStage& s : sheet.stages)
            if (s.name == "full line") return at(s, "V3.2", "volts dc").expect;
        return 0.0;
    };
    CHECK(plate(p) < 0.75 * plate(sheet("s1-quarry-hill.xml")));
}

TEST_CASE("cold ohms can be added up by hand") {
    const PowerUp& p = sheet("s1-quarry-hill.xml");
    // B-plus to chassis: 15 k and 18 k of the screen divider; before the field 1.2 k more.
    REQUIRE(cold(p, "bplus").ohms);
    CHECK(*cold(p, "bplus").ohms == Approx(33e3).epsilon(0.01));
    CHECK(*cold(p, "bplus").stop_below == Approx(16.5e3).epsilon(0.01));
    CHECK(*cold(p, "V4.4").ohms == Approx(500e3).epsilon(0.01));
    CHECK(*cold(p, "V4.5").ohms == Approx(410).epsilon(0.01));
    bool first = false;
    for (const ColdOhms& c : p.cold_ohms)
        if (c.to == p.reference && c.ohms && c.stop_below && std::fabs(*c.ohms - 34.2e3) < 350) first = true;
    CHECK(first);
    // No bleeder in the amplifier: its B-plus is open cold, and any reading under the limit stops the person.
    const PowerUp& q = sheet("s9-bellows-court.xml");
    CHECK_FALSE(cold(q, "bplus").ohms);
    REQUIRE(cold(q, "bplus").stop_below);
    bool line_open = false;
    for (const ColdOhms& c : q.cold_ohms)
        if (c.at == "P1.1" && c.to == q.reference) line_open = !c.ohms && c.stop_below == 1e6;
    CHECK(line_open);
}

TEST_CASE("the lamp table has the standard sizes, healthy and under faults, with a glow that can be told apart") {
    for (const std::string& file : demo::files()) {
        const PowerUp& p = sheet(file);
        std::set<double> sizes;
        double last_set = 0;
        for (const LampGlow& g : p.lamp_table) {
            sizes.insert(g.lamp_watts);
            const double share = g.lamp_volts / 120;
            const std::string word = share < 0.1    ? "dark"
                                     : share < 0.25 ? "dull red"
                                     : share < 0.5  ? "orange"
                                     : share < 0.8  ? "yellow"
                                                    : "white";
            CHECK(g.glow == word);
            if (g.state != "healthy") continue;
            CHECK(g.set_volts > last_set);
            last_set = g.set_volts;
        }
        CHECK(sizes == std::set<double>{25, 40, 60, 75, 100, 150});
        int brighter = 0, faults = 0;
        for (const LampGlow& g : p.lamp_table) {
            if (g.state == "healthy" || g.lamp_watts != 60) continue;
            ++faults;
            for (const LampGlow& h : p.lamp_table)
                if (h.state == "healthy" && h.lamp_watts == 60 && g.lamp_volts > h.lamp_volts) ++brighter;
        }
        CHECK(faults >= 1);
        CHECK(faults <= 3);
        CHECK(brighter == faults);
    }
}

TEST_CASE("a small lamp leaves the rectifier's filament too cool for B-plus to mean anything, a large one does not") {
    const PowerUp& p = sheet("s1-quarry-hill.xml");
    for (const LampGlow& g : p.lamp_table) {
        if (g.state != "healthy") continue;
        if (g.lamp_watts == 25) CHECK_FALSE(g.meaningful);
        if (g.lamp_watts == 150) CHECK(g.meaningful);
    }
}

TEST_CASE("the lamp that the person has is taken, and stands in the table") {
    Solved& s = solved("s9-bellows-court.xml");
    const PowerUp p = s.sheet({}, {52, 120});
    CHECK(stage(p, "rectifier in").lamp_watts == 52.0);
    CHECK(std::any_of(p.lamp_table.begin(), p.lamp_table.end(), [](const LampGlow& g) { return g.lamp_watts == 52; }));
}

TEST_CASE("no sheet proposes an LED lamp, an earth on the chassis before its test, or a tube pulled live") {
    for (const std::string& file : demo::files())
        for (const PowerStage& s : sheet(file).stages) {
            for (const auto* list : {&s.connect, &s.remove, &s.notice})
                for (const std::string& text : *list) {
                    CHECK(text.find("LED") == std::string::npos);
                    if (s.name.find("touch") == std::string::npos) CHECK(text.find("earth") == std::string::npos);
                }
            for (const Act& a : s.acts) CHECK(a.kind != ActKind::earth_instrument);
            bool live = false;
            for (const Act& a : s.acts) {
                if (powers(a)) live = true;
                if (a.kind == ActKind::discharge) live = false;
                if (a.kind == ActKind::remove || a.kind == ActKind::refit_tube) CHECK_FALSE(live);
            }
        }
}

TEST_CASE(
    "each filter section has its volts now, its volts after the clip with a stop, and what empties it otherwise") {
    for (const std::string& file : demo::files()) {
        const PowerUp& p = sheet(file);
        INFO(file);
        std::map<std::string, int> moments;
        for (const StageReading& r : p.discharge) {
            CHECK(r.quantity == "volts dc");
            ++moments[r.when];
            if (r.when.find("after 5 s") == std::string::npos) {
                CHECK(r.expect > 60);
            } else {
                REQUIRE(r.stop);
                CHECK(r.high < *r.stop);
                CHECK(*r.stop <= 10);
            }
        }
        REQUIRE(moments.size() == 2);
        CHECK(moments.begin()->second == static_cast<int>(p.discharge_notes.size()));
        CHECK(moments.rbegin()->second == static_cast<int>(p.discharge_notes.size()));
    }
    // The screen divider, 15 k and 18 k, is what bleeds the radio: 16 uF and 33 k, under a second; either open, hours.
    for (const std::string& note : sheet("s1-quarry-hill.xml").discharge_notes) {
        INFO(note);
        CHECK(note.find("R4 and R3") != std::string::npos);
        CHECK(note.find("the file has R3 burnt") != std::string::npos);
        CHECK(note.find("ms through") != std::string::npos);
        CHECK(note.find("open nothing bleeds it") != std::string::npos);
    }
}

TEST_CASE("every point that is to be read before power stands in the cold-ohms stage, opens as lower limits") {
    for (const std::string& file : demo::files()) {
        const Solved& s = solved(file);
        const PowerStage& cold = sheet(file).stages[2];
        REQUIRE(cold.name.find("cold ohms") == 0);
        const auto stands = [&](int net) {
            const std::string& name = s.set.nets()[static_cast<std::size_t>(net)].name;
            return std::any_of(cold.readings.begin(), cold.readings.end(),
                               [&](const StageReading& r) { return r.at == name || r.to == name; });
        };
        int grids = 0, windings = 0;
        for (const Part& p : s.set.parts()) {
            for (const PartWinding& w : p.windings)
                if (w.role == WindingRole::heater || w.role == WindingRole::rectifier_heater)
                    for (int k : w.leads) {
                        INFO(file << " " << w.name);
                        ++windings;
                        CHECK(stands(p.leads[static_cast<std::size_t>(k)].net));
                    }
            if (p.kind != PartKind::socket || !p.type || p.type->is_rectifier()) continue;
            for (const Lead& l : p.leads) {
                const Pin* pin = p.type->pin(l.name);
                if (!pin || pin->electrodes.front().rfind("g1", 0) != 0 || l.net == s.set.reference()) continue;
                INFO(file << " " << p.id << " pin " << l.name.str());
                ++grids;
                CHECK(stands(l.net));
            }
        }
        CHECK(grids >= 2);
        CHECK(windings >= 2);
        for (const StageReading& r : cold.readings) {
            INFO(r.at);
            CHECK(r.quantity == "ohms");
            CHECK((r.low > 0 || r.if_high.find("all of the control") != std::string::npos));
        }
    }
}

TEST_CASE("ripple stops before half a filter is gone, and after what a good one shows") {
    int seen = 0;
    for (const std::string& file : demo::files())
        for (const PowerStage& stage : sheet(file).stages)
            for (const StageReading& r : stage.readings) {
                if (stage.name != "full line" || r.if_high.find("filter is dry") == std::string::npos) continue;
                ++seen;
                REQUIRE(r.stop);
                CHECK(*r.stop > r.high);
                CHECK(*r.stop < std::max(8 * r.expect, 0.06));  // three sections at half their value: two to the third
            }
    CHECK(seen >= 4);
}

TEST_CASE("plus and minus of every electrolytic are listed by the solution, and a reversed one says stop") {
    const Chassis& right = solved("s1-quarry-hill.xml").set;
    const std::vector<std::string>& list = sheet("s1-quarry-hill.xml").stages[1].notice;
    for (const Part& p : right.parts())
        if (p.polarised)
            CHECK(std::any_of(list.begin(), list.end(),
                              [&](const std::string& n) { return n.rfind(p.id + ": plus to ", 0) == 0; }));
    std::string text = demo::text("s1-quarry-hill.xml");
    const std::string as_is = "plus=\"bplus\" minus=\"gnd\" since=\"1956\"";
    REQUIRE(text.find(as_is) != std::string::npos);
    text.replace(text.find(as_is), as_is.size(), "plus=\"gnd\" minus=\"bplus\" since=\"1956\"");
    const Outcome<Chassis> wrong = read_chassis_text(text, "wrong.xml", demo::catalogue());
    REQUIRE(wrong);
    Outcome<Bench> bench = Bench::make(*wrong, demo::catalogue(), Policy{}, {});
    REQUIRE(bench);
    const Outcome<PowerUp> p = power_up_of(*wrong, demo::catalogue(), Policy{}, *bench, {}, {}, {});
    REQUIRE(p);
    const std::vector<std::string>& said = p->stages[1].notice;
    CHECK(std::any_of(said.begin(), said.end(), [](const std::string& n) {
        return n.rfind("STOP: C2", 0) == 0 && n.find("plus goes to bplus") != std::string::npos;
    }));
}

TEST_CASE("a transformer set with the line on its metal is not powered") {
    std::string text = demo::text("s1-quarry-hill.xml");
    text.replace(text.find("</chassis>"), 10, "<join at=\"gnd P1.2\"/></chassis>");
    const Outcome<Chassis> live = read_chassis_text(text, "live.xml", demo::catalogue());
    REQUIRE(live);
    Outcome<Bench> bench = Bench::make(*live, demo::catalogue(), Policy{}, {});
    REQUIRE(bench);
    const Outcome<PowerUp> p = power_up_of(*live, demo::catalogue(), Policy{}, *bench, {}, {}, {});
    REQUIRE_FALSE(p);
    CHECK(p.notices().front().message.find("metal") != std::string::npos);
    CHECK(p.notices().front().remedy.find("opens when") != std::string::npos);
}

TEST_CASE("a shorted cathode bypass trips the cathode's low stop, and no stop stands over a rating") {
    const Chassis& set = solved("s1-quarry-hill.xml").set;
    std::vector<Fault> faults;
    for (const Fault& f : faults_of(set, demo::catalogue()))
        if (f.id == "C15 short" || f.id == "C2 short" || f.id == "C1.plain short") faults.push_back(f);
    Outcome<Bench> bench = Bench::make(set, demo::catalogue(), Policy{}, faults);
    REQUIRE(bench);
    ThreatReport threats;
    threats.transformer = "T1";
    for (const Fault& f : faults) {
        Threat t;
        t.fault = f;
        t.part = set.parts()[static_cast<std::size_t>(f.part)].id;
        t.target = "T1";
        t.severity = "II";
        t.criticality = 1e-3;
        threats.rows.push_back(t);
    }
    const Outcome<PowerUp> p =
        power_up_of(set, demo::catalogue(), Policy{}, *bench, threats, {}, {}, "time-lag fuse 1 A");
    REQUIRE(p);
    const PowerStage* full = nullptr;
    for (const PowerStage& s : p->stages) {
        if (s.name == "full line") full = &s;
        for (const std::string& line : s.gate.opened_by) {
            INFO(line);
            if (line.rfind("H5", 0) == 0) CHECK(line.find("W4") == std::string::npos);
            if (line.rfind("H5", 0) == 0) CHECK(line.find("W5") == std::string::npos);
        }
    }
    REQUIRE(full);
    CHECK(full->connect.front().find("time-lag fuse 1 A") != std::string::npos);
    const StageReading& cathode = at(*full, "V4.5", "volts dc");
    const auto shorted = std::find_if(faults.begin(), faults.end(), [](const Fault& f) { return f.id == "C15 short"; });
    const FaultSolution f = bench->solve(Condition{}, std::span<const Fault>(&*shorted, 1), false);
    REQUIRE(f.solved);
    const double v = f.solution.nets[static_cast<std::size_t>(set.net("V4.5"))].dc.value();
    REQUIRE(cathode.stop_below);
    CHECK(v < *cathode.stop_below);
    CHECK(*cathode.stop_below < cathode.low);
    REQUIRE(cathode.stop);
    CHECK(*cathode.stop <= 25);  // what its bypass is marked for
}

TEST_CASE("with a log the gates open by what it says") {
    Solved& s = solved("s9-bellows-court.xml");
    Progress progress;
    progress.gates_passed = {"H1", "H5"};
    CHECK(stage(s.sheet(progress), "transformer alone").gate.state == "open");
    CHECK(stage(s.sheet(progress), "rectifier in").gate.state == "shut");
    progress.gates_passed = {"H6", "H11", "H19", "H20", "H21", "H23"};
    progress.parts = {{"C1.half-moon", PartState::fitted},
                      {"C1.square", PartState::fitted},
                      {"C1.triangle", PartState::fitted},
                      {"C4", PartState::proved}};
    CHECK(stage(s.sheet(progress), "rectifier in").gate.state == "open");
    progress.parts["R4"] = PartState::lifted;
    CHECK(stage(s.sheet(progress), "rectifier in").gate.state == "shut");
}

TEST_CASE("at each lamp stage each of the likeliest supply shorts trips a stop, and no healthy reading does") {
    for (const std::string& file : demo::files()) {
        Solved& s = solved(file);
        const PowerUp p = s.sheet();
        int stages = 0;
        for (const PowerStage& stage : p.stages) {
            if (stage.name.find("rectifier in") == std::string::npos &&
                stage.name.find("larger lamp") == std::string::npos)
                continue;
            ++stages;
            INFO(file << " " << stage.name);
            Condition c;
            c.scenario = Scenario::lamp;
            c.lamp_watts = stage.lamp_watts.value_or(0);
            c.lamp_volts = 120;
            const Outcome<Solution> healthy = s.bench->solve(c);
            REQUIRE(healthy);
            const auto tripped = [&](const Solution& in) {
                return std::any_of(stage.readings.begin(), stage.readings.end(), [&](const StageReading& r) {
                    if (r.when.find("first") != std::string::npos || r.says_nothing) return false;
                    const int net = s.set.net(r.at);
                    double v = 0;
                    if (r.at == "lamp") {
                        v = in.lamp_volts;
                    } else if (r.at == "set") {
                        v = in.set_volts;
                    } else if (net >= 0 && r.quantity == "volts dc") {
                        v = in.nets[static_cast<std::size_t>(net)].dc.value();
                    } else {
                        return false;
                    }
                    return (r.stop && v > *r.stop) || (r.stop_below && v < *r.stop_below);
                });
            };
            CHECK_FALSE(tripped(*healthy));
            for (const Fault& fault : s.faults) {
                INFO(fault.id);
                const FaultSolution f = s.bench->solve(c, std::span<const Fault>(&fault, 1), false);
                REQUIRE(f.solved);
                CHECK(tripped(f.solution));
            }
        }
        CHECK(stages == 2);
    }
}

TEST_CASE("with cold tubes B-plus stands higher, and that is no reason to stop") {
    const PowerStage* full = nullptr;
    const PowerUp& p = sheet("s1-quarry-hill.xml");
    for (const PowerStage& s : p.stages)
        if (s.name == "full line") full = &s;
    REQUIRE(full);
    int early = 0;
    for (const StageReading& r : full->readings) {
        if (r.when != "in the first half minute") continue;
        ++early;
        const StageReading& warm = at(*full, r.at, "volts dc");
        CHECK(warm.when == "after the tubes are warm");
        REQUIRE(r.stop);
        CHECK(r.expect > warm.high);
        CHECK(r.high < *r.stop);
    }
    CHECK(early == 2);
}

TEST_CASE("a line that the set is not made for, and a lamp that tells nothing, are refused with what would serve") {
    Solved& s = solved("s1-quarry-hill.xml");
    for (const auto& [line, cycles] : {std::pair{230.0, 60.0}, std::pair{85.0, 60.0}, std::pair{115.0, 50.0}}) {
        Policy policy;
        policy.line = {volts(line), hertz(cycles)};
        Outcome<Bench> bench = Bench::make(s.set, demo::catalogue(), policy, s.faults);
        REQUIRE(bench);
        const Outcome<PowerUp> p = power_up_of(s.set, demo::catalogue(), policy, *bench, s.threats, {}, {});
        REQUIRE_FALSE(p);
        CHECK(p.notices().front().message.find("H0") != std::string::npos);
        CHECK(p.notices().front().remedy.find(cycles == 60 ? "opens when a transformer" : "source of 60 cycles") !=
              std::string::npos);
    }
    for (const LampChoice lamp : {LampChoice{5, 120}, LampChoice{60, 32}}) {
        const Outcome<PowerUp> p = power_up_of(s.set, demo::catalogue(), s.policy, *s.bench, s.threats, {}, lamp);
        REQUIRE_FALSE(p);
        CHECK(p.notices().front().message.find("cannot serve") != std::string::npos);
        CHECK(p.notices().front().remedy.find("60 W") != std::string::npos);
    }
    for (const PowerStage& stage : s.sheet().stages)
        for (const StageReading& r : stage.readings)
            if (r.at == "lamp" && r.stop) CHECK(*r.stop < *stage.line_volts);
}

TEST_CASE("where no standard lamp tells the likeliest shorts the sheet says so, and elsewhere it does not") {
    const auto said = [](const PowerUp& p) {
        std::string text;
        for (const PowerStage& s : p.stages)
            for (const std::string& n : s.notice)
                if (n.find("no standard lamp") != std::string::npos) text += s.name + ": " + n + "\n";
        return text;
    };
    CHECK(said(sheet("s1-quarry-hill.xml")) == "");
    CHECK(said(sheet("s9-bellows-court.xml")) == "");
    // C11 hangs behind 20 k: shorted, it draws no more than tubes differ.
    Solved behind("s1-quarry-hill.xml", {}, {"C11 short"});
    const PowerUp p = behind.sheet();
    const std::string text = said(p);
    INFO(text);
    CHECK(text.find("rectifier in, behind the lamp: ") != std::string::npos);
    CHECK(text.find("larger lamp: ") != std::string::npos);
    CHECK(text.find("tells C11 short from health") != std::string::npos);
    CHECK(text.find("150 W is taken") != std::string::npos);
    CHECK(text.find("cold ohms") != std::string::npos);
}

TEST_CASE("a set without a power transformer gets a reason, not a sheet") {
    ChassisBuilder b("string set");
    b.line(volts(117), hertz(60), "hot", "gnd");
    b.reference("gnd");
    b.node("b-minus", "gnd", false);
    b.resistor("R1", ohms(1000), "hot", "gnd");
    const Outcome<Chassis> set = b.build(demo::catalogue());
    REQUIRE(set);
    const Policy policy;
    Outcome<Bench> bench = Bench::make(*set, demo::catalogue(), policy);
    REQUIRE(bench);
    const Outcome<PowerUp> p = power_up_of(*set, demo::catalogue(), policy, *bench, {}, {}, {});
    CHECK_FALSE(p);
    REQUIRE_FALSE(p.notices().empty());
    CHECK(p.notices().front().message.find("power transformer") != std::string::npos);
}

TEST_CASE("a lamp in series with a load divides 120 V as hot ohms and the published rerating exponent have it") {
    // Computed from R = V^2/P and I ~ V^.541 (exponents .54 to .58 are published); under a quarter of its volts a lamp
    // is near its cold ohms, and the table itself is approximate.
    struct Row {
        const char* lamp;
        double ohms, lamp_volts;
    };
    const Row rows[] = {{"lamp:40W", 100, 91.3},  {"lamp:40W", 240, 63.4},  {"lamp:40W", 480, 36.3},
                        {"lamp:60W", 100, 79.9},  {"lamp:60W", 240, 47.4},  {"lamp:100W", 100, 61.8},
                        {"lamp:150W", 100, 45.8}, {"lamp:60W", 480, 22.6},  {"lamp:100W", 240, 28.4},
                        {"lamp:40W", 0.01, 120},  {"lamp:100W", 0.01, 120}, {"lamp:150W", 240, 16.7}};
    for (const Row& row : rows) {
        ChassisBuilder b("a load");
        b.line(volts(120), hertz(60), "hot", "n");
        b.reference("n");
        b.node("b-minus", "n", false);
        b.resistor("R1", ohms(row.ohms), "hot", "n");
        const Outcome<Chassis> set = b.build(demo::catalogue());
        REQUIRE(set);
        Outcome<Bench> bench = Bench::make(*set, demo::catalogue(), Policy{}, {});
        REQUIRE(bench);
        const Outcome<Solution> s = bench->solve(*Condition::parse(row.lamp));
        REQUIRE(s);
        INFO(row.lamp << " and " << row.ohms << " ohm");
        CHECK(s->lamp_volts == Approx(row.lamp_volts).margin(2));
        CHECK(s->set_volts == Approx(120 - row.lamp_volts).margin(2));
    }
}

TEST_CASE("40 uF from 350 V through 100 k are under 60 V after 7.05 s") {
    const std::string text = R"(<chassis version="1" name="supply" built="1950" reference="gnd">
<line volts="247.5" hertz="50" hot="P1.1" neutral="gnd"/><node is="b-minus" net="gnd"/><plug id="P1" role="line"/>
<rectifier id="CR1" construction="silicon" volts="600" amps="1" anode="P1.1" cathode="bplus"/>
<capacitor id="C1" value="40-450" construction="dry-electrolytic" plus="bplus" minus="gnd"/>
<resistor id="R1" value="100K" watts="2" a="bplus" b="gnd"/></chassis>)";
    const Outcome<Chassis> set = read_chassis_text(text, "supply.xml", demo::catalogue());
    REQUIRE(set);
    Outcome<Bench> bench = Bench::make(*set, demo::catalogue(), Policy{}, {});
    REQUIRE(bench);
    const Outcome<Solution> s = bench->solve(Condition{});
    REQUIRE(s);
    const std::vector<Discharge> found = bench->discharge(*s);
    REQUIRE(found.size() == 1);
    const double start = found.front().start.value();
    CHECK(start == Approx(350).epsilon(0.01));
    CHECK(found.front().to_60_volts.value() == Approx(100e3 * 40e-6 * std::log(start / 60)).epsilon(1e-3));
    CHECK(found.front().to_60_volts.value() == Approx(7.05).epsilon(0.01));
}

namespace {

PowerUp healthy_sheet(const Chassis& set) {
    Outcome<Bench> bench = Bench::make(set, demo::catalogue(), Policy{}, {});
    REQUIRE(bench);
    const Outcome<PowerUp> p = power_up_of(set, demo::catalogue(), Policy{}, *bench, ThreatReport{}, {}, {});
    if (!p) FAIL(p.notices().front().text());
    return *p;
}
bool says(const std::vector<std::string>& list, const std::string& piece) {
    return std::any_of(list.begin(), list.end(),
                       [&](const std::string& s) { return s.find(piece) != std::string::npos; });
}

}  // namespace

TEST_CASE("a print under the volts that stand is fitted new before the line, and each section of B-plus has its stop") {
    const PowerUp p = healthy_sheet(demo::read("s6-osier-holt.xml"));
    int live = 0;
    for (const PowerStage& s : p.stages) {
        if (!s.line_volts) continue;
        ++live;
        INFO(s.name);
        CHECK(says(s.remove, "C2, 200 V where"));
        CHECK(says(s.remove, "the rating of the shopping list first"));
        for (const StageReading& r : s.readings)
            if (r.when == "in the first half minute") {
                INFO(r.at);
                REQUIRE(r.stop);
                CHECK(*r.stop > r.high);
            }
    }
    CHECK(live >= 4);
    CHECK(std::any_of(p.stages.begin(), p.stages.end(),
                      [](const PowerStage& s) { return says(s.remove, "C1 (seen bulged dried)"); }));
}

TEST_CASE("a metal behind a resistor: its stop is the touch limit at the upper line, and the meter comes off B-minus") {
    const PowerUp p = healthy_sheet(demo::read("s4-ferry-green.xml"));
    const PowerStage& touch = stage(p, "touch current");
    const StageReading& blades = at(touch, "joined blades", "ohms");
    REQUIRE(blades.stop);
    CHECK(*blades.stop * 0.5e-3 >= *touch.line_volts);
    CHECK(*blades.stop < blades.expect);
    CHECK(says(touch.remove, "the meter, off B-minus"));
    const PowerStage& cold_stage = stage(p, "cold ohms");
    for (const char* from : {"P1.1", "bminus"}) {
        const auto row = std::find_if(cold_stage.readings.begin(), cold_stage.readings.end(),
                                      [&](const StageReading& r) { return r.at == from && r.to == "metal"; });
        REQUIRE(row != cold_stage.readings.end());
        CHECK(row->stop);
        CHECK(row->if_low.find("the metal is the line") != std::string::npos);
    }
}

TEST_CASE("a portable goes back to the line with its batteries off, and its filaments' filter is emptied") {
    const PowerUp p = healthy_sheet(demo::read("s7-plover-heath.xml"));
    CHECK(says(stage(p, "soak").connect, "B battery off, then A off; changeover switch to line"));
    CHECK(says(p.discharge_notes, "C2.yellow"));
}

TEST_CASE("a load that nobody traced empties no filter") {
    const Outcome<std::string> text = starter_file("battery", {});
    REQUIRE(text);
    const Outcome<Chassis> set = read_chassis_text(*text, "battery", demo::catalogue());
    REQUIRE(set);
    const PowerUp p = healthy_sheet(*set);
    REQUIRE_FALSE(p.discharge_notes.empty());
    for (const std::string& note : p.discharge_notes) {
        INFO(note);
        CHECK(note.find("it falls from") == std::string::npos);
    }
}
