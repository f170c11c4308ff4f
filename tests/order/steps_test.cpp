// SPDX-License-Identifier: MIT
// The repair steps of both demo sets: no rule broken under any policy or limit, every arrow binding, nothing forgotten,
// the sum recomputed. Risk is mostly made by hand from ages, so that the steps are tested without a solve; the
// policies are compared on the first set solved with all its faults.
#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include <catch2/catch.hpp>

#include "bench/bench.hpp"
#include "choice/duty.hpp"
#include "order/numbers.hpp"
#include "order/order.hpp"
#include "sets.hpp"
#include "threat/threat.hpp"

using namespace tubewright;

namespace {

struct Planned {
    Chassis set;
    Policy policy;
    std::vector<PartAction> actions;
    ShoppingList list;
    ThreatReport threats;
    Progress progress;

    explicit Planned(const std::string& file, ReplacePolicy replace = ReplacePolicy::replace_all, Progress done = {})
        : set(demo::read(file)), progress(std::move(done)) {
        policy.replace = replace;
        actions = actions_of(set, demo::catalogue(), policy, {}, progress);
        list = shopping_list(set, demo::catalogue(), policy, {}, actions);
        threats = demo::threats_of_age(set, actions);
    }
    Outcome<RepairOrder> steps(StepOptions options = {}) const {
        return steps_of(set, demo::catalogue(), policy, actions, list, threats, {}, progress, options);
    }
    std::vector<Violation> broken(const std::vector<Act>& acts) const {
        return violations(set, demo::catalogue(), acts, progress);
    }
};

const std::vector<ReplacePolicy> policies{ReplacePolicy::replace_all, ReplacePolicy::replace_risky,
                                          ReplacePolicy::prove_each};

}  // namespace

TEST_CASE("the steps of both sets break no rule, hard or soft, under any policy") {
    for (const std::string& file : demo::files())
        for (const ReplacePolicy policy : policies) {
            const Planned p(file, policy);
            const Outcome<RepairOrder> order = p.steps();
            REQUIRE(order);
            const std::vector<Violation> found = p.broken(demo::acts_of(order->steps));
            INFO(file << "\n" << demo::said(found));
            CHECK(found.empty());
            CHECK(order->steps.size() > 20);
        }
}

TEST_CASE("an evening of any length breaks no rule, fits, and leaves a tag that names the next step") {
    for (const std::string& file : demo::files())
        for (const ReplacePolicy policy : policies)
            for (const double hours : {0.2, 0.5, 1.0, 2.0, 3.0, 5.0, 8.0, 20.0}) {
                const Planned p(file, policy);
                const Outcome<RepairOrder> order = p.steps({.hours = hours});
                REQUIRE(order);
                double minutes = 0;
                for (const RepairStep& s : order->steps) minutes += s.minutes;
                CHECK(minutes <= hours * 60 + 1e-9);
                const std::vector<Violation> found = p.broken(demo::acts_of(order->steps));
                INFO(file << " " << hours << " h\n" << demo::said(found));
                CHECK(found.empty());
                if (!order->left_out.empty()) {
                    CHECK(order->tag.find("DO NOT PLUG IN") == 0);
                    const Outcome<RepairOrder> whole = p.steps();
                    REQUIRE(whole);
                    const auto next = std::find_if(whole->steps.begin(), whole->steps.end(), [&](const RepairStep& s) {
                        return s.step == order->left_out.front();
                    });
                    REQUIRE(next != whole->steps.end());
                    CHECK(order->tag.find("Next step: " + next->does) != std::string::npos);
                    CHECK(order->tag.find(next->step + " - ") == std::string::npos);  // no internal name on it
                }
            }
}

TEST_CASE("a budget keeps the cost, and what needs no money is done all the same") {
    const Planned p("s1-quarry-hill.xml");
    const Outcome<RepairOrder> order = p.steps({.budget = 12});
    REQUIRE(order);
    double cost = 0;
    for (const RepairStep& s : order->steps) cost += s.cost;
    CHECK(cost <= 12);
    CHECK(order->steps.size() > 5);
    CHECK_FALSE(order->left_out.empty());
}

TEST_CASE("each arrow of a hard rule binds: its two steps exchanged break the rule that it names") {
    // Hands in a charged set, which no rule of the table names by itself, the checker calls by the rule for cold ohms.
    for (const std::string& file : demo::files()) {
        const Planned p(file);
        const Outcome<RepairOrder> order = p.steps();
        REQUIRE(order);
        std::map<std::string, std::size_t> at;
        for (std::size_t k = 0; k < order->steps.size(); ++k) at[order->steps[k].step] = k;
        int tried = 0;
        for (const RepairStep& s : order->steps)
            for (const StepLink& l : s.predecessors) {
                if (l.rule[0] != 'H' && l.rule != "charge") continue;
                std::vector<RepairStep> swapped = order->steps;
                std::swap(swapped[at[s.step]], swapped[at[l.step]]);
                std::set<std::string> rules;
                for (const Violation& v : p.broken(demo::acts_of(swapped))) rules.insert(v.rule);
                INFO(file << ": " << l.step << " before " << s.step << " by " << l.rule);
                CHECK(rules.count(l.rule == "charge" ? "H19" : l.rule) == 1);
                ++tried;
            }
        CHECK(tried > 40);
    }
}

TEST_CASE("an empty set before hands go in is no rule of the table but the word charge, cold ohms at the end are H19") {
    const Planned p("s1-quarry-hill.xml");
    const Outcome<RepairOrder> order = p.steps();
    REQUIRE(order);
    for (const RepairStep& s : order->steps)
        for (const StepLink& l : s.predecessors) {
            INFO(l.step << " before " << s.step);
            if (l.step == "discharge") CHECK(l.rule == (s.step == "cold-ohms-all" ? "H19" : "charge"));
            if (s.step == "discharge") CHECK(l.rule == "H3");
            if (l.rule == "H19") CHECK((s.step == "cold-ohms-all" || l.step == "cold-ohms-all"));
            if (l.rule == "H13") CHECK(s.step == "alignment");
            if (l.rule == "s4") CHECK(s.step.rfind("buy-", 0) == 0);
            if (l.rule == "s14") CHECK(s.step == "reassemble");
            CHECK(l.rule != "H17");
        }
}

TEST_CASE("a step earns the risk of what it mends, and the switch that of its megohms to the case") {
    Planned p("s1-quarry-hill.xml");
    p.threats.rows.clear();
    const auto row = [&](const std::string& part, FaultMode mode, double criticality) {
        Threat t;
        t.part = part;
        t.fault.id = part + " fault";
        t.fault.mode = mode;
        t.severity = "II";
        t.criticality = criticality;
        p.threats.rows.push_back(t);
    };
    row("DS1", FaultMode::to_chassis, 0.4);
    row("DS2", FaultMode::short_circuit, 0.2);
    row("W6", FaultMode::to_chassis, 0.1);
    row("V5", FaultMode::tracking, 0.05);
    row("S1", FaultMode::to_chassis, 0.01);
    const Outcome<RepairOrder> order = p.steps();
    REQUIRE(order);
    std::map<std::string, double> risk;
    for (const RepairStep& s : order->steps) {
        if (s.risk_removed > 0) risk[s.step] = s.risk_removed;
        if (s.step == "sleeve-DS1-DS2") {
            CHECK(s.parts == std::vector<std::string>{"DS1", "DS2"});
            CHECK(s.cost == 0.2);
        }
    }
    CHECK(risk.at("sleeve-DS1-DS2") == Approx(6));
    CHECK(risk.at("replace-W2-W3-W6") == Approx(1));
    CHECK(risk.at("clean-sockets") == Approx(0.5));
    CHECK(risk.at("replace-C3") == Approx(0.1));  // C3 hides the case of the switch until it is out
    CHECK(risk.size() == 4);
}

TEST_CASE("a set that was built without a fuse gets the one of the list before the transformer's test") {
    Planned radio("s1-quarry-hill.xml");
    PartStress primary;
    primary.part = radio.set.part("T1");
    primary.lead = "primary";
    StressAt line;
    line.scenario = "high-line";
    line.ripple_amps_rms = 0.547;
    primary.scenarios = {line};
    const std::vector<PartStress> stress = {primary};
    radio.list = shopping_list(radio.set, demo::catalogue(), radio.policy, stress, radio.actions);
    const Outcome<RepairOrder> order = radio.steps();
    REQUIRE(order);
    int fuse = 0, alone = 0;
    for (const RepairStep& s : order->steps) {
        if (s.step == "fit-fuse") {
            fuse = s.order;
            CHECK(s.does.find("750 mA") != std::string::npos);
            CHECK(s.cost == demo::catalogue().step_cost("fuse")->cost);
            CHECK(s.minutes == demo::catalogue().step_cost("fuse")->minutes);
        }
        if (s.step == "transformer-alone") alone = s.order;
    }
    CHECK(fuse > 0);
    CHECK(fuse < alone);
    double cost = 0;
    for (const RepairStep& s : order->steps) cost += s.cost;
    CHECK(cost == Approx(*radio.list.cost));
    const Planned amplifier("s9-bellows-court.xml");  // F1 is there
    const Outcome<RepairOrder> other = amplifier.steps();
    REQUIRE(other);
    CHECK(std::none_of(other->steps.begin(), other->steps.end(),
                       [](const RepairStep& s) { return s.step == "fit-fuse"; }));
}

TEST_CASE("steps and shopping list have one price: their sums agree to the cent") {
    for (const std::string& file : demo::files())
        for (const ReplacePolicy policy : policies) {
            const Planned p(file, policy);
            const Outcome<RepairOrder> order = p.steps();
            REQUIRE(order);
            long long cents = 0;
            for (const RepairStep& s : order->steps) {
                CHECK(s.cost == std::llround(s.cost * 100) / 100.0);
                cents += std::llround(s.cost * 100);
            }
            INFO(file);
            REQUIRE(p.list.cost);
            CHECK(cents == std::llround(*p.list.cost * 100));
        }
}

TEST_CASE("what is reached by lifting another is replaced with it, and nothing new is lifted again") {
    const Planned p("s1-quarry-hill.xml");
    const Outcome<RepairOrder> order = p.steps();
    REQUIRE(order);
    std::set<std::string> fitted;
    for (const RepairStep& s : order->steps)
        for (const Act& a : s.acts)
            for (const std::string& id : a.parts) {
                INFO(s.step << ": " << id);
                if (a.kind == ActKind::fit) fitted.insert(id);
                if (a.kind == ActKind::lift) CHECK(fitted.count(id) == 0);
                if (a.kind == ActKind::fit && id == "R3") CHECK(std::count(a.parts.begin(), a.parts.end(), "C2") == 1);
            }
}

TEST_CASE("a capacitor that is proved has its leakage limit in milliamperes, by its volts") {
    const Planned p("s1-quarry-hill.xml", ReplacePolicy::prove_each);
    const Outcome<RepairOrder> order = p.steps();
    REQUIRE(order);
    std::string all;
    for (const RepairStep& s : order->steps) all += s.check + "\n";
    CHECK(all.find("C1.plain under 620 uA") != std::string::npos);  // .04 x 8 + .3 mA
    CHECK(all.find("C27 under 350 uA") != std::string::npos);       // .01 x 5 + .3 mA
    CHECK(all.find("k x C") == std::string::npos);
}

TEST_CASE("a filter that the file has backwards is fitted by the solved volts, and the plan says so loudly") {
    const Planned p("s1-quarry-hill.xml");
    PartStress row;
    row.part = p.set.part("C2");
    StressAt normal;
    normal.scenario = "normal";
    normal.dc_volts = -250;
    normal.crest_volts = 250;
    row.scenarios = {normal};
    row.worst = normal;
    const std::vector<PartStress> stress = {row};
    const Outcome<RepairOrder> order =
        steps_of(p.set, demo::catalogue(), p.policy, p.actions, p.list, p.threats, stress, p.progress, {});
    REQUIRE(order);
    REQUIRE_FALSE(order.notices().empty());
    CHECK(order.notices().front().severity == Severity::stop);
    CHECK(order.notices().front().message.find("C2 is reversed in the file") == 0);
    int said = 0;
    for (const RepairStep& s : order->steps)
        if (s.check.find("gnd (NOT to bplus as the file has it)") != std::string::npos) ++said;
    CHECK(said == 2);  // where it is fitted, and where every plus is traced
    const Outcome<RepairOrder> right = p.steps();
    CHECK(right.notices().empty());
}

TEST_CASE("a fault ahead of the primary is told as fire or shock, not in times of the transformer's current") {
    Planned p("s1-quarry-hill.xml");
    for (Threat& t : p.threats.rows) {
        if (t.part != "C3" && t.part != "W1" && t.part != "W2") continue;
        t.ahead_of_primary = true;
        t.current_note = "1 times the normal primary current";
        t.primary_amps_rms = t.primary_amps_rms_normal = 0.5;
        t.links = {t.part + " fails.",
                   "A hand to earth carries 76.7 mA (500 uA is the limit). It draws from the line."};
    }
    const Outcome<RepairOrder> order = p.steps();
    REQUIRE(order);
    int told = 0;
    for (const RepairStep& s : order->steps)
        for (const char* id : {"C3", "W1", "W2"}) {
            if (s.step.rfind("replace", 0) != 0 || std::count(s.parts.begin(), s.parts.end(), id) == 0) continue;
            INFO(s.reason);
            CHECK(s.reason.find("times the normal") == std::string::npos);
            CHECK(s.reason.find("not the transformer") != std::string::npos);
            CHECK(s.reason.find("a hand to earth carries 76.7 mA") != std::string::npos);
            CHECK(s.reason.find("no fuse sees it") == std::string::npos);  // C3 stands behind the one that is fitted
            ++told;
        }
    CHECK(told == 3);
}

TEST_CASE("every part that is to be replaced stands in one step, and no step holds more than six joints") {
    for (const std::string& file : demo::files()) {
        const Planned p(file);
        const Outcome<RepairOrder> order = p.steps();
        REQUIRE(order);
        for (const PartAction& a : p.actions) {
            if (a.action != "replace") continue;
            const std::string& id = p.set.parts()[static_cast<std::size_t>(a.part)].id;
            int fitted = 0;
            for (const RepairStep& s : order->steps)
                for (const Act& act : s.acts)
                    if (act.kind == ActKind::fit) {
                        fitted += static_cast<int>(std::count(act.parts.begin(), act.parts.end(), id));
                        CHECK(act.parts.size() <= 6);
                    }
            INFO(id);
            CHECK(fitted == 1);
        }
    }
}

TEST_CASE("sections of one can, and what must be lifted for another at the same place, are one step") {
    const Planned amplifier("s9-bellows-court.xml");
    const Outcome<RepairOrder> order = amplifier.steps();
    REQUIRE(order);
    const auto step = std::find_if(order->steps.begin(), order->steps.end(), [](const RepairStep& s) {
        return std::count(s.parts.begin(), s.parts.end(), "C1.square") > 0 && s.step.rfind("replace", 0) == 0;
    });
    REQUIRE(step != order->steps.end());
    CHECK(std::count(step->parts.begin(), step->parts.end(), "C1.half-moon") == 1);
    CHECK(std::count(step->parts.begin(), step->parts.end(), "C1.triangle") == 1);
    const Planned radio("s1-quarry-hill.xml");
    const Outcome<RepairOrder> other = radio.steps();
    REQUIRE(other);
    for (const RepairStep& s : other->steps)
        if (std::count(s.parts.begin(), s.parts.end(), "C16") > 0 && s.step.rfind("replace", 0) == 0)
            CHECK(std::count(s.parts.begin(), s.parts.end(), "C2") == 1);
}

TEST_CASE("no step leaves a lifted end behind") {
    for (const std::string& file : demo::files())
        for (const ReplacePolicy policy : policies) {
            const Planned p(file, policy);
            const Outcome<RepairOrder> order = p.steps();
            REQUIRE(order);
            for (const RepairStep& s : order->steps) {
                std::set<std::string> open;
                for (const Act& a : s.acts)
                    for (const std::string& id : a.parts) {
                        if (a.kind == ActKind::lift) open.insert(id);
                        if (a.kind == ActKind::fit || a.kind == ActKind::reconnect) open.erase(id);
                    }
                INFO(s.step);
                CHECK(open.empty());
            }
        }
}

TEST_CASE("the printed objective is the sum that anyone can recompute, proved best") {
    for (const std::string& file : demo::files()) {
        const Planned p(file);
        const Outcome<RepairOrder> order = p.steps();
        REQUIRE(order);
        long long clock = 0, sum = 0;
        std::set<std::string> done;
        int last_block = 0;
        for (const RepairStep& s : order->steps) {
            clock += s.p_seconds;
            sum += s.w_microrisk * clock;
            CHECK(s.p_seconds == std::llround(s.minutes * 60));
            CHECK(s.w_microrisk == std::llround(1e9 * s.risk_removed));
            for (const StepLink& l : s.predecessors) CHECK(done.count(l.step) == 1);
            done.insert(s.step);
            CHECK(s.block >= last_block);
            last_block = s.block;
            CHECK_FALSE(s.reason.empty());
            CHECK_FALSE(s.check.empty());
        }
        CHECK(order->objective == sum);
        CHECK(order->optimal);
        CHECK(order->lower_bound == sum);
        CHECK(order->gap == 0);
    }
}

TEST_CASE("what the log says is done is not asked for again") {
    Progress progress;
    progress.steps_done = {"label-check", "cord-safe", "reference", "photographs"};
    progress.gates_passed = {"H0", "H1", "H2", "H3"};
    progress.parts = {{"C16", PartState::fitted}};
    const Planned p("s1-quarry-hill.xml", ReplacePolicy::replace_all, progress);
    const Outcome<RepairOrder> order = p.steps();
    REQUIRE(order);
    for (const RepairStep& s : order->steps) {
        for (const std::string& d : progress.steps_done) CHECK(s.step != d);
        for (const Act& a : s.acts)
            if (a.kind == ActKind::fit) CHECK(std::count(a.parts.begin(), a.parts.end(), "C16") == 0);
    }
    const std::vector<Violation> found = p.broken(demo::acts_of(order->steps));
    INFO(demo::said(found));
    CHECK(found.empty());
}

TEST_CASE("half the pace takes half the minutes, and the order stays") {
    const Planned slow("s9-bellows-court.xml");
    Planned fast("s9-bellows-court.xml");
    fast.policy.pace = 0.5;
    const Outcome<RepairOrder> a = slow.steps(), b = fast.steps();
    REQUIRE(a);
    REQUIRE(b);
    REQUIRE(a->steps.size() == b->steps.size());
    for (std::size_t k = 0; k < a->steps.size(); ++k) {
        CHECK(a->steps[k].step == b->steps[k].step);
        CHECK(b->steps[k].minutes == Approx(a->steps[k].minutes / 2));
    }
}

TEST_CASE(
    "what a check asks for can be had: no megohms of grounded windings, no plug that carries nothing, lugs by name") {
    const RepairOrder radio = *Planned("s1-quarry-hill.xml").steps();
    const RepairOrder amplifier = *Planned("s9-bellows-court.xml").steps();
    const auto step = [](const RepairOrder& o, const std::string& id) {
        for (const RepairStep& s : o.steps)
            if (s.step.rfind(id, 0) == 0) return s;
        FAIL("no step " << id);
        return o.steps.front();
    };
    for (const RepairOrder* o : {&radio, &amplifier}) {
        const std::string check = step(*o, "cold-ohms-windings").check;
        const std::size_t tied = check.find("no megohms until a lead is freed");
        INFO(check);
        REQUIRE(tied != std::string::npos);
        CHECK(check.find("T1 plate", tied) != std::string::npos);
        CHECK(check.find("T1 heater", tied) != std::string::npos);
        CHECK(check.find("T2 output-secondary", tied) != std::string::npos);
    }
    const RepairStep plug = step(amplifier, "speaker-continuity");
    CHECK(plug.reason.find("field") == std::string::npos);
    CHECK(plug.check.find("field") == std::string::npos);
    CHECK(plug.check.find("through the plug") == std::string::npos);
    CHECK(step(radio, "speaker-continuity").check.find("through the plug") != std::string::npos);
    for (const RepairStep& s : radio.steps)
        if (s.step.rfind("replace", 0) == 0 && std::count(s.parts.begin(), s.parts.end(), "W4") > 0)
            CHECK(s.place == "TS2");
}

TEST_CASE("more danger in a part brings its step forward") {
    Planned p("s1-quarry-hill.xml");
    const auto place = [](const RepairOrder& o, const std::string& part) {
        for (const RepairStep& s : o.steps)
            if (s.step.rfind("replace", 0) == 0 && std::count(s.parts.begin(), s.parts.end(), part) > 0) return s.order;
        return 0;
    };
    // The one that is replaced last: it has room to move.
    const RepairOrder usual = *p.steps();
    std::string last;
    for (const Threat& t : p.threats.rows)
        if (last.empty() || place(usual, t.part) > place(usual, last)) last = t.part;
    INFO(last);
    for (Threat& t : p.threats.rows)
        if (t.part == last) t.criticality *= 1000;
    CHECK(place(*p.steps(), last) < place(usual, last));
}

TEST_CASE("the three policies give three plans of the radio as solved, and each keeps every rule") {
    const Chassis set = demo::read("s1-quarry-hill.xml");
    const std::vector<Fault> faults = faults_of(set, demo::catalogue());
    Policy policy;
    Outcome<Bench> bench = Bench::make(set, demo::catalogue(), policy, faults);
    REQUIRE(bench);
    std::vector<Solution> solutions;
    for (const Scenario s : {Scenario::normal, Scenario::high_line, Scenario::warm_up, Scenario::speaker_unplugged}) {
        Condition c;
        c.scenario = s;
        const Outcome<Solution> found = bench->solve(c);
        REQUIRE(found);
        solutions.push_back(*found);
    }
    const std::vector<PartStress> stress = stress_of(set, demo::catalogue(), policy, solutions);
    const Outcome<ThreatReport> report = threats_of(set, demo::catalogue(), policy, *bench, stress);
    REQUIRE(report);
    const ThreatReport& threats = *report;
    REQUIRE(threats.rows.size() > 100);

    std::map<ReplacePolicy, std::set<std::string>> fitted, proved;
    std::map<ReplacePolicy, double> cost;
    for (const ReplacePolicy replace : policies) {
        policy.replace = replace;
        const std::vector<PartAction> actions = actions_of(set, demo::catalogue(), policy, stress, {}, threats.rows);
        const ShoppingList list = shopping_list(set, demo::catalogue(), policy, stress, actions, threats.rows);
        const Outcome<RepairOrder> order =
            steps_of(set, demo::catalogue(), policy, actions, list, threats, stress, {}, {});
        REQUIRE(order);
        const std::vector<Violation> found = violations(set, demo::catalogue(), demo::acts_of(order->steps), {});
        INFO(demo::said(found));
        CHECK(found.empty());
        double sum = 0;
        for (const RepairStep& s : order->steps) {
            sum += s.cost;
            for (const Act& a : s.acts) {
                if (a.kind == ActKind::fit) fitted[replace].insert(a.parts.begin(), a.parts.end());
                if (a.kind == ActKind::measure) proved[replace].insert(a.parts.begin(), a.parts.end());
            }
        }
        CHECK(sum == Approx(*list.cost));
        cost[replace] = sum;
    }
    const auto& all = fitted[ReplacePolicy::replace_all];
    const auto& risky = fitted[ReplacePolicy::replace_risky];
    const auto& each = fitted[ReplacePolicy::prove_each];
    CHECK(all.size() > risky.size());
    CHECK(risky.size() > each.size());
    CHECK(std::includes(all.begin(), all.end(), risky.begin(), risky.end()));
    // Cathode bypasses and the volume control's coupler hurt nothing and are hardly pressed: they stay, unproved.
    for (const char* id : {"C10", "C13", "C14", "C27"}) {
        CHECK(all.count(id) == 1);
        CHECK(risky.count(id) == 0);
        CHECK(proved[ReplacePolicy::replace_risky].count(id) == 0);
        CHECK(proved[ReplacePolicy::prove_each].count(id) == 1);
    }
    for (const char* id : {"C1.plain", "C2", "C3", "C16", "C17", "W6", "R3"}) CHECK(risky.count(id) == 1);
    CHECK(cost[ReplacePolicy::replace_all] > cost[ReplacePolicy::replace_risky]);
    CHECK(cost[ReplacePolicy::replace_risky] > cost[ReplacePolicy::prove_each]);
}

namespace {

std::size_t count_of(const RepairOrder& order, const std::string& begins) {
    return static_cast<std::size_t>(std::count_if(order.steps.begin(), order.steps.end(),
                                                  [&](const RepairStep& s) { return s.step.rfind(begins, 0) == 0; }));
}

}  // namespace

TEST_CASE("what is done at a place is done in one visit, and the turn to it is a step that costs its minutes once") {
    for (const std::string& file : demo::files()) {
        Planned p(file);
        const RepairOrder order = *p.steps();
        std::map<int, std::vector<int>> visits;
        double turned = 0;
        for (const RepairStep& s : order.steps) {
            if (s.visit > 0) visits[s.visit].push_back(s.order);
            if (s.step.rfind("turn-to-", 0) == 0) {
                turned += s.minutes;
                CHECK(s.acts.empty());
                CHECK(s.w_microrisk == 0);
            }
        }
        REQUIRE(visits.size() > 3);
        int several = 0;
        for (const auto& [visit, steps] : visits) {
            CHECK(steps.back() - steps.front() + 1 == static_cast<int>(steps.size()));
            CHECK(order.steps[static_cast<std::size_t>(steps.front() - 1)].step.rfind("turn-to-", 0) == 0);
            std::set<std::string> places;
            for (int k : steps) places.insert(order.steps[static_cast<std::size_t>(k - 1)].place);
            CHECK(places.size() == 1);
            several += steps.size() > 2 ? 1 : 0;
        }
        CHECK(several > 0);
        CHECK(turned == Approx(4.0 * static_cast<double>(visits.size())));  // by the catalogue's table
        // two visits to one place never stand side by side
        for (std::size_t k = 1; k < order.steps.size(); ++k) {
            const RepairStep &a = order.steps[k - 1], &b = order.steps[k];
            if (a.visit > 0 && b.visit > 0 && a.visit != b.visit) CHECK(a.place != b.place);
        }
    }
}

TEST_CASE(
    "by risk alone danger goes no later than neighbourhood by neighbourhood, and nobody turns to where he stands") {
    std::size_t more = 0;
    for (const std::string& file : demo::all_files()) {
        INFO(file);
        Planned p(file);
        const RepairOrder near = *p.steps();
        p.policy.places = PlacePolicy::by_risk;
        const RepairOrder far = *p.steps();
        CHECK(p.broken(demo::acts_of(far.steps)).empty());
        CHECK(far.objective <= near.objective);
        CHECK(near.objective_by_risk == far.objective);
        more += count_of(far, "turn-to-") > count_of(near, "turn-to-") ? 1 : 0;
        std::string stands;
        for (const RepairStep& s : far.steps) {
            if (s.step.rfind("turn-to-", 0) == 0) CHECK(s.place != stands);
            if (s.visit > 0) stands = s.place;
            if (s.visit == 0) stands.clear();
        }
    }
    CHECK(more > 0);
}

TEST_CASE("a capacitor that was charged for its leakage is emptied before a hand comes to it") {
    int proved = 0;
    for (const std::string& file : demo::all_files())
        for (const FilterPolicy filters : {FilterPolicy::renew, FilterPolicy::reform}) {
            INFO(file);
            Planned p(file);
            p.policy.replace = ReplacePolicy::prove_each;
            p.policy.electrolytics = filters;
            p.actions = actions_of(p.set, demo::catalogue(), p.policy, {}, {});
            p.list = shopping_list(p.set, demo::catalogue(), p.policy, {}, p.actions);
            const RepairOrder order = *p.steps();
            CHECK(p.broken(demo::acts_of(order.steps)).empty());
            for (const RepairStep& s : order.steps) {
                std::set<std::string> lifted, charged;
                for (const Act& act : s.acts)
                    for (const std::string& id : act.parts) {
                        const int i = p.set.part(id);
                        if (i < 0 || p.set.parts()[static_cast<std::size_t>(i)].kind != PartKind::capacitor) continue;
                        if (act.kind == ActKind::lift) lifted.insert(id);
                        if (act.kind == ActKind::measure && lifted.count(id)) charged.insert(id);
                        if (act.kind == ActKind::discharge) charged.erase(id);
                        if (act.kind != ActKind::reconnect) continue;
                        CHECK(charged.count(id) == 0);
                        if (s.step.rfind("prove-", 0) != 0) continue;
                        ++proved;
                        CHECK(s.check.find("0 V across each before a hand comes to it") != std::string::npos);
                    }
            }
        }
    CHECK(proved > 20);
}

TEST_CASE("each stage under power is followed by a discharge before a hand goes in, with its minutes, on any evening") {
    const auto feeds = [](const RepairStep& s) {
        return std::any_of(s.acts.begin(), s.acts.end(), [](const Act& a) {
            return std::string(word(a.kind)).rfind("power", 0) == 0 || a.kind == ActKind::soak ||
                   a.kind == ActKind::align || a.kind == ActKind::check_touch_current;
        });
    };
    const auto hands_in = [](const RepairStep& s) {
        return std::any_of(s.acts.begin(), s.acts.end(), [](const Act& a) {
            return a.kind == ActKind::lift || a.kind == ActKind::remove || a.kind == ActKind::fit ||
                   a.kind == ActKind::reconnect || a.kind == ActKind::refit_tube || a.kind == ActKind::measure ||
                   a.kind == ActKind::cold_ohms || a.kind == ActKind::sleeve || a.kind == ActKind::trace_polarity ||
                   a.kind == ActKind::reassemble;
        });
    };
    for (const std::string& file : demo::all_files())
        for (const double hours : {0.0, 2.0, 4.0, 6.0, 9.0}) {
            INFO(file << ", hours " << hours);
            const RepairOrder order = *Planned(file).steps({.hours = hours});
            std::string charged;
            int emptied = 0;
            for (const RepairStep& s : order.steps) {
                const bool empties = s.acts.size() == 1 && s.acts.front().kind == ActKind::discharge;
                if (empties) {
                    emptied += charged.empty() ? 0 : 1;
                    CHECK(s.minutes == 3);  // by the catalogue's table
                    charged.clear();
                }
                INFO(s.step << " after " << charged);
                if (hands_in(s) && !feeds(s)) CHECK(charged.empty());
                if (feeds(s)) charged = s.step;
            }
            if (hours == 0) CHECK(emptied > 0);
            const auto left_charged = [&](const char* id) { return charged == id; };
            CHECK_FALSE(left_charged("transformer-alone"));
            CHECK_FALSE(left_charged("vibrator-alone"));
        }
}

TEST_CASE("what the log has open is closed first, by a step that holds no more, and by the shortest evening") {
    Progress done;
    done.parts = {{"C2", PartState::removed}, {"R3", PartState::removed}, {"C16", PartState::lifted}};
    done.steps_done = {"label-check", "cord-safe",      "inspect",           "reference",          "discharge",
                       "photographs", "buy-line-side",  "transformer-alone", "buy-parts",          "cold-ohms-windings",
                       "pull-tubes",  "clean-sockets",  "fit-fuse",          "replace-C3",         "replace-W1",
                       "test-tubes",  "sleeve-DS1-DS2", "replace-W2-W3-W6",  "replace-C12-C13-C19"};
    const Planned p("s1-quarry-hill.xml", ReplacePolicy::replace_all, done);
    const RepairOrder whole = *p.steps();
    const auto closing = std::find_if(whole.steps.begin(), whole.steps.end(), [](const RepairStep& s) {
        return s.step.rfind("replace-", 0) == 0 && std::find(s.parts.begin(), s.parts.end(), "C2") != s.parts.end();
    });
    REQUIRE(closing != whole.steps.end());
    CHECK(std::set<std::string>(closing->parts.begin(), closing->parts.end()) ==
          std::set<std::string>{"C2", "R3", "C16"});
    std::set<std::string> before{closing->step};
    for (bool grew = true; grew;) {
        grew = false;
        for (const RepairStep& s : whole.steps)
            for (const StepLink& l : s.predecessors)
                if (before.count(s.step) && before.insert(l.step).second) grew = true;
    }
    for (const RepairStep& s : whole.steps) {
        INFO(s.step);
        if (!before.count(s.step)) CHECK(s.order > closing->order);
    }
    const RepairOrder evening = *p.steps({.hours = 1});
    CHECK(std::any_of(evening.steps.begin(), evening.steps.end(),
                      [&](const RepairStep& s) { return s.step == closing->step; }));
    CHECK(evening.tag.find("Nothing is lifted or out.") != std::string::npos);
}

TEST_CASE("new electrolytics into the old can take longer, old ones are formed for hours where that is wanted") {
    Planned p("s1-quarry-hill.xml");
    const auto minutes = [](const RepairOrder& order) {
        double sum = 0;
        for (const RepairStep& s : order.steps) sum += s.minutes;
        return sum;
    };
    const RepairOrder usual = *p.steps();
    p.policy.cans = CanPolicy::restuff;
    const RepairOrder inside = *p.steps();
    CHECK(minutes(inside) > minutes(usual));
    CHECK(std::any_of(inside.steps.begin(), inside.steps.end(),
                      [](const RepairStep& s) { return s.does.find("inside the old can") != std::string::npos; }));
    for (const RepairStep& s : inside.steps) {  // C2 is a tubular of 1956
        const std::size_t tubular = s.does.find("C2: ");
        if (tubular != std::string::npos)
            CHECK(s.does.substr(tubular, s.does.find(';', tubular) - tubular).find("old can") == std::string::npos);
    }
    CHECK(p.broken(demo::acts_of(inside.steps)).empty());

    Policy policy;
    policy.electrolytics = FilterPolicy::reform;
    p.policy = policy;
    p.actions = actions_of(p.set, demo::catalogue(), policy, {}, {});
    p.list = shopping_list(p.set, demo::catalogue(), policy, {}, p.actions);
    const RepairOrder formed = *p.steps();
    CHECK(p.broken(demo::acts_of(formed.steps)).empty());
    const auto step = std::find_if(formed.steps.begin(), formed.steps.end(), [](const RepairStep& s) {
        return s.does.find("; form ") != std::string::npos && s.does.find("100 k") != std::string::npos;
    });
    REQUIRE(step != formed.steps.end());
    CHECK(step->minutes > 300);  // by the catalogue's table
    CHECK(step->step.rfind("prove-", 0) == 0);
}

TEST_CASE("a set that is to be preserved is looked at, read cold and tagged, neither powered nor soldered") {
    for (const std::string& file : demo::files()) {
        Planned p(file);
        p.policy.purpose = PurposePolicy::preserve;
        const RepairOrder order = *p.steps();
        CHECK(p.broken(demo::acts_of(order.steps)).empty());
        for (const Act& a : demo::acts_of(order.steps)) {
            CHECK(std::string(word(a.kind)).rfind("power", 0) != 0);
            CHECK(a.kind != ActKind::fit);
            CHECK(a.kind != ActKind::lift);
            CHECK(a.kind != ActKind::buy);
        }
        REQUIRE(order.steps.size() > 6);
        CHECK(order.steps.back().step == "preserve");
        CHECK(order.tag.find("kept as it is") != std::string::npos);
    }
}

TEST_CASE("each step has its tools, what it lifts, a check, a reason and what would be were it left for last") {
    for (const std::string& file : demo::files()) {
        const RepairOrder order = *Planned(file).steps();
        for (const RepairStep& s : order.steps) {
            INFO(s.step);
            CHECK_FALSE(s.reason.empty());
            CHECK_FALSE(s.check.empty());
            CHECK_FALSE(s.if_last.empty());
            std::set<std::string> lifted(s.lifted.begin(), s.lifted.end());
            for (const Act& a : s.acts) {
                if (a.kind == ActKind::lift)
                    for (const std::string& id : a.parts) CHECK(lifted.count(id) == 1);
                if (a.kind == ActKind::fit && s.step.rfind("replace", 0) == 0)
                    CHECK(std::count(s.tools.begin(), s.tools.end(), "iron") == 1);
                if (a.kind == ActKind::cold_ohms) CHECK(std::count(s.tools.begin(), s.tools.end(), "ohmmeter") == 1);
            }
            if (s.step == "photographs") CHECK(s.if_last.find("H2") != std::string::npos);
            if (s.step == "discharge") CHECK(s.if_last.find("charged") != std::string::npos);
            if (s.step == "hand-back") CHECK(s.if_last == "it is the last");
            if (s.w_microrisk > 0 && s.step.rfind("replace", 0) == 0)
                CHECK(s.if_last.find("% of the listed risk stands") != std::string::npos);
        }
    }
}

TEST_CASE("what of the risk is left falls to what no step settles, and no slower than by ratio or down the list") {
    for (const std::string& file : demo::all_files()) {
        INFO(file);
        const RepairOrder order = *Planned(file).steps();
        CHECK(order.optimal);
        // the risk that is left, summed over the minutes until everything is done
        const auto area = [](const std::vector<RiskPoint>& curve) {
            double sum = 0;
            for (std::size_t k = 1; k < curve.size(); ++k)
                sum += (curve[k].minutes - curve[k - 1].minutes) * curve[k - 1].risk_left;
            return sum;
        };
        REQUIRE(order.curve.size() == order.steps.size() + 1);
        for (const auto* curve : {&order.curve, &order.curve_by_list, &order.curve_greedy}) {
            REQUIRE(curve->size() == order.curve.size());
            CHECK(curve->front().risk_left == order.curve.front().risk_left);
            CHECK(curve->back().minutes == Approx(order.curve.back().minutes));
            CHECK(curve->back().risk_left == Approx(order.curve.back().risk_left).margin(1e-9));
            for (std::size_t k = 1; k < curve->size(); ++k) CHECK((*curve)[k].risk_left <= (*curve)[k - 1].risk_left);
            CHECK(area(order.curve) <= area(*curve) * (1 + 1e-9));
        }
        CHECK(area(order.curve) < area(order.curve_by_list));
    }
}

TEST_CASE("an evening says where to pick up again, and turns to no place for nothing") {
    const Planned p("s1-quarry-hill.xml");
    const RepairOrder whole = *p.steps();
    CHECK(whole.pick_up.empty());
    for (const double hours : {1.0, 2.0, 4.0, 6.0}) {
        const RepairOrder evening = *p.steps({.hours = hours});
        CHECK(evening.pick_up == evening.left_out.front());
        for (const RepairStep& s : evening.steps)
            if (s.step.rfind("turn-to-", 0) == 0)
                CHECK(std::any_of(evening.steps.begin(), evening.steps.end(),
                                  [&](const RepairStep& t) { return t.visit == s.visit && t.step != s.step; }));
    }
}

TEST_CASE("no step has two ends open at once, but for what is lifted together and tagged with its lug") {
    for (const std::string& file : demo::all_files())
        for (const ReplacePolicy policy : policies) {
            const Planned p(file, policy);
            const RepairOrder order = *p.steps();
            for (const RepairStep& s : order.steps) {
                INFO(file << ": " << s.does);
                std::set<std::string> open;
                std::size_t most = 0;
                for (const Act& a : s.acts)
                    for (const std::string& id : a.parts) {
                        if (a.kind == ActKind::lift) open.insert(id);
                        if (a.kind == ActKind::reconnect) open.erase(id);
                        most = std::max(most, open.size());
                    }
                CHECK(open.empty());
                if (most > 1) CHECK(s.does.find("each lead tagged with its lug") != std::string::npos);
                if (s.lifted.size() > 1 && most == 1) CHECK(s.does.find("one at a time") != std::string::npos);
                if (s.step.rfind("replace-", 0) == 0 && s.parts.size() > 1)
                    CHECK(s.does.find("one out, one in") != std::string::npos);
            }
        }
}

TEST_CASE("no order, however it turns from place to place, is under the bound that is told") {
    for (const std::string& file : demo::all_files()) {
        INFO(file);
        Planned p(file);
        const RepairOrder near = *p.steps();
        p.policy.places = PlacePolicy::by_risk;
        const RepairOrder far = *p.steps();
        CHECK(near.bound_of_any_order <= near.lower_bound);
        CHECK(far.bound_of_any_order <= far.lower_bound);
        CHECK(near.bound_of_any_order == far.bound_of_any_order);  // the same steps at the same places
        // by ratio, with each turn where its first step is, and going back free
        std::map<std::string, long long> turn;
        for (const RepairStep& s : near.steps)
            if (s.step.rfind("turn-to-", 0) == 0) turn[s.place] = s.p_seconds;
        std::set<std::string> done, been;
        long long clock = 0, sum = 0;
        for (std::size_t left = near.steps.size() - count_of(near, "turn-to-"); left > 0; --left) {
            const RepairStep* best = nullptr;
            for (const RepairStep& s : near.steps) {
                if (s.step.rfind("turn-to-", 0) == 0 || done.count(s.step)) continue;
                if (!std::all_of(s.predecessors.begin(), s.predecessors.end(), [&](const StepLink& l) {
                        return l.step.rfind("turn-to-", 0) == 0 || done.count(l.step);
                    }))
                    continue;
                if (!best || s.w_microrisk * best->p_seconds > best->w_microrisk * s.p_seconds) best = &s;
            }
            REQUIRE(best);
            if (best->visit > 0 && been.insert(best->place).second) clock += turn.at(best->place);
            clock += best->p_seconds;
            sum += clock * best->w_microrisk;
            done.insert(best->step);
        }
        CHECK(sum >= near.bound_of_any_order);
    }
}

TEST_CASE("a visit is parted where what is done last in it would keep the danger elsewhere standing for too long") {
    Planned p(
        "s9-bellows-court.xml");  // TS1: a lead that the transformer's test waits for, and a resistor that can wait
    const auto at = [](const RepairOrder& o, const std::string& begins) {
        for (const RepairStep& s : o.steps)
            if (s.step.rfind(begins, 0) == 0) return s.order;
        FAIL("no step " << begins);
        return 0;
    };
    for (Threat& t : p.threats.rows) t.criticality = t.part == "C1.half-moon" ? 1 : 1e-9;
    const RepairOrder parted = *p.steps();
    CHECK(at(parted, "resolder-W2") < at(parted, "replace-C1"));
    CHECK(at(parted, "replace-C1") < at(parted, "measure-R12"));
    std::vector<std::string> reasons;
    for (const RepairStep& s : parted.steps)
        if (s.step.rfind("turn-to-TS1", 0) == 0) reasons.push_back(s.reason);
    REQUIRE(reasons.size() == 2);
    CHECK(reasons.front().find("again") == std::string::npos);
    CHECK(reasons.back().find("again: in one visit the listed danger would stand") == 0);
    CHECK(p.broken(demo::acts_of(parted.steps)).empty());
    for (Threat& t : p.threats.rows) t.criticality = 0;  // no danger: nothing is worth a turn
    CHECK(count_of(*p.steps(), "turn-to-TS1") == 1);
}

TEST_CASE("an evening says what it removes, that no other choice removes more, and what comes after the turn") {
    const Planned p("s1-quarry-hill.xml");
    CHECK(p.steps()->bound_of_any_choice == 0);
    int turns = 0;
    for (double hours = 0.5; hours < 12; hours += 0.5) {
        const RepairOrder evening = *p.steps({.hours = hours});
        long long sum = 0;
        for (const RepairStep& s : evening.steps) sum += s.w_microrisk;
        CHECK(evening.removes_microrisk == sum);
        CHECK(evening.bound_of_any_choice == sum);
        if (evening.tag.find("Next step: Turn to ") == std::string::npos) continue;
        ++turns;
        CHECK(evening.tag.find(", then ") != std::string::npos);
    }
    CHECK(turns > 0);
}

TEST_CASE("each new part has a reading of its own kind at the end of its step") {
    for (const std::string& file : demo::all_files()) {
        const Planned p(file);
        const RepairOrder order = *p.steps();
        for (const RepairStep& s : order.steps) {
            if (s.step.rfind("replace-", 0) != 0 || s.place == "battery case") continue;
            INFO(file << ": " << s.does << "\n" << s.check);
            bool body = false;
            for (const std::string& id : s.parts) {
                const Part& part = p.set.parts()[static_cast<std::size_t>(p.set.part(id))];
                const bool value = part.kind == PartKind::capacitor || part.kind == PartKind::resistor ||
                                   part.kind == PartKind::control;
                const bool drops = part.kind == PartKind::cord &&  // resistors in its place have a body too
                                   std::any_of(p.list.lines.begin(), p.list.lines.end(), [&](const ShopLine& l) {
                                       return l.value_ohms && std::count(l.for_parts.begin(), l.for_parts.end(), id);
                                   });
                body = body || value || drops;
                const char* reading = part.kind == PartKind::wire           ? "under 1 ohm from end to end"
                                      : part.kind == PartKind::cord         ? "under 1 ohm along each wire"
                                      : part.kind == PartKind::fuse         ? "reads through"
                                      : is_electrolytic(part)               ? "over 100 k once charged"
                                      : part.kind == PartKind::capacitor    ? "over 20 meg"
                                      : part.kind == PartKind::power_switch ? "under 1 ohm closed"
                                                                            : "";
                CHECK(s.check.find(reading) != std::string::npos);
            }
            CHECK((s.check.find("on the body as listed") != std::string::npos) == body);
        }
    }
}

TEST_CASE("a step that no danger hangs on says by the study that its faults harm nothing scarce, and what they draw") {
    Planned p("s1-quarry-hill.xml");
    for (Threat& t : p.threats.rows) {
        if (t.part != "C10") continue;
        t.severity = "IV";
        t.primary_amps_rms_normal = 0.5;
        t.primary_amps_rms = 0.55;
    }
    const RepairOrder order = *p.steps();
    for (const RepairStep& s : order.steps)
        if (s.step == "replace-C10")
            CHECK(s.reason.find("its one fault harms nothing hard to replace (C10 short: 1.1 times the normal primary "
                                "current)") != std::string::npos);
}

TEST_CASE(
    "a place is turned to again only where work elsewhere stands between, or for what the turn is said to be worth") {
    int again = 0;
    for (const std::string& file : demo::all_files())
        for (const ReplacePolicy policy : policies) {
            const Planned p(file, policy);
            const RepairOrder order = *p.steps();
            std::map<std::string, int> group;  // steps of one visit are one
            std::map<int, std::set<int>> waits;
            for (const RepairStep& s : order.steps) group[s.step] = s.visit > 0 ? s.visit : -s.order;
            for (const RepairStep& s : order.steps)
                for (const StepLink& l : s.predecessors)
                    if (group[l.step] != group[s.step]) waits[group[s.step]].insert(group[l.step]);
            // whether one visit waits for another through something that is neither
            const auto through_others = [&](int later, int first) {
                std::set<int> seen;
                std::vector<int> front;
                for (int g : waits[later])
                    if (g != first) front.push_back(g);
                while (!front.empty()) {
                    const int g = front.back();
                    front.pop_back();
                    if (g == first) return true;
                    if (seen.insert(g).second) front.insert(front.end(), waits[g].begin(), waits[g].end());
                }
                return false;
            };
            std::map<std::string, std::vector<int>> been;
            for (const RepairStep& s : order.steps) {
                if (s.step.rfind("turn-to-", 0) != 0) continue;
                if (file != "s10-generated-sixty.xml")  // of three hundred steps not each turn is looked at
                    CHECK(s.reason.find("was not looked at") == std::string::npos);
                std::vector<int>& visits = been[s.place];
                INFO(file << ": " << s.step << ": " << s.reason);
                if (!visits.empty()) {
                    ++again;
                    const bool forced = std::all_of(visits.begin(), visits.end(),
                                                    [&](int first) { return through_others(s.visit, first); });
                    // where a ring is there only since another visit was joined, both may be said
                    if (s.reason.find("again: it waits for work elsewhere") == 0)
                        CHECK(forced);
                    else if (!forced && s.reason.find("was not looked at") == std::string::npos)
                        CHECK(s.reason.find("again: in one visit the listed danger would stand") == 0);
                }
                visits.push_back(s.visit);
            }
        }
    CHECK(again > 0);
}

TEST_CASE("a new resistor is read against what the list has for its place, not against the old one's value") {
    struct Case {
        const char *file, *part, *band, *not_this;
    };
    for (const Case& c : {Case{"s4-ferry-green.xml", "R1", "R1 between 423 k and 517 k", "R1 between 176 k"},
                          Case{"s6-osier-holt.xml", "R2", "R2 between 423 k and 517 k", "R2 between 200 k"},
                          // the nearest stocked value is what the place bears
                          Case{"s1-quarry-hill.xml", "R9", "R9 between 200 k and 300 k", "R9 between 216 k"}}) {
        const Planned p(c.file);
        INFO(c.file);
        int told = 0;
        const RepairOrder order = *p.steps();
        for (const RepairStep& s : order.steps) {
            if (s.step.rfind("replace-", 0) != 0 || std::count(s.parts.begin(), s.parts.end(), c.part) == 0) continue;
            INFO(s.does << "\n" << s.check);
            CHECK(s.check.find(c.band) != std::string::npos);
            CHECK(s.check.find(c.not_this) == std::string::npos);
            ++told;
        }
        CHECK(told == 1);
    }
}

TEST_CASE("every new resistor that the list has a value for passes the check of its step") {
    int held = 0;
    for (const std::string& file : demo::all_files()) {
        const Planned p(file);
        const RepairOrder order = *p.steps();
        for (const RepairStep& s : order.steps)
            for (const ShopLine& l : p.list.lines) {
                if (!l.value_ohms || l.price_row == "fuse") continue;
                for (const std::string& id : l.for_parts) {
                    const std::size_t at = s.check.find("new " + id + " between ");
                    if (at == std::string::npos || s.step.rfind("replace-", 0) != 0) continue;
                    const Part& part = p.set.parts()[static_cast<std::size_t>(p.set.part(id))];
                    if (part.kind != PartKind::resistor) continue;
                    const std::string band = s.check.substr(at, s.check.find(';', at) - at);
                    const double bought = *l.value_ohms;
                    const double had = part.ohms.value_or(bought);
                    INFO(file << " " << band << ", bought " << bought);
                    // far from the old value the band is a tenth round the new one
                    if (std::fabs(bought - had) > 0.25 * had)
                        CHECK(band.find(say(ohms(bought * 0.9)) + " and " + say(ohms(bought * 1.1))) !=
                              std::string::npos);
                    ++held;
                }
            }
    }
    CHECK(held > 3);
}

TEST_CASE("resistors in the place of a cord that drops the heaters' volts are read as their sum") {
    const Planned p("s4-ferry-green.xml");
    double sum = 0;
    for (const ShopLine& l : p.list.lines)
        if (l.value_ohms && std::count(l.for_parts.begin(), l.for_parts.end(), "W2") > 0) sum += *l.value_ohms;
    REQUIRE(sum > 100);
    bool told = false;
    const RepairOrder order = *p.steps();
    for (const RepairStep& s : order.steps) {
        if (std::count(s.parts.begin(), s.parts.end(), "W2") == 0 || s.step.rfind("replace-", 0) != 0) continue;
        INFO(s.check);
        CHECK(s.check.find("W2 between " + say(ohms(sum * 0.9)) + " and " + say(ohms(sum * 1.1))) != std::string::npos);
        CHECK(s.check.find("W2 under 1 ohm") == std::string::npos);
        CHECK(s.check.find("the new W1 under 1 ohm along each wire, over 20 megohms from one to the other before they "
                           "go on the set") != std::string::npos);
        told = true;
    }
    CHECK(told);
}

TEST_CASE("silicon in a dry rectifier's place is told which way round, and a pack what stays in it") {
    bool bar = false, pack = false, shell = false;
    const RepairOrder dry = *Planned("s7-plover-heath.xml").steps(), tar = *Planned("s5-mill-lane.xml").steps();
    for (const RepairStep& s : dry.steps)
        bar = bar || s.check.find("its bar, the cathode, at TS2.1") != std::string::npos;
    for (const RepairStep& s : tar.steps) {
        pack = pack || s.does.find(
                           "A1: free and tape its lead black, with the old C1, C2 and C3 dead inside; L1 and "
                           "L2 go on by red, yellow and blue") != std::string::npos;
        shell = shell || s.does.find("A2: free and tape its leads white, green, brown, orange, grey and black") !=
                             std::string::npos;
    }
    CHECK(bar);
    CHECK(pack);
    CHECK(shell);
}

TEST_CASE("a danger to another part than the transformer is told in what that part bears too much of") {
    Planned p("s1-quarry-hill.xml");
    for (Threat& t : p.threats.rows) {
        t.primary_amps_rms_normal = 0.5;
        t.primary_amps_rms = 0.51;
        t.current_note = "1.02 times the normal primary current";
        if (t.part != "C10" && t.part != "R6") continue;
        t.target = "V1";
        t.beta = 0.5;
        t.overloads = {{"V4", "plate watts", 12, 11}, {"V1", "screen watts", 0.45, 0.3}};
        if (t.part == "R6") t.criticality = t.alpha = 0;  // it would harm, but the tables give it no share
    }
    int told = 0;
    const RepairOrder order = *p.steps();
    for (const RepairStep& s : order.steps) {
        if (s.step == "replace-C10") {
            INFO(s.reason);
            CHECK(s.reason.find("C10 short: V1 screen watts 0.45 W where 0.3 W is the limit") != std::string::npos);
            CHECK(s.reason.find("times the normal") == std::string::npos);
            ++told;
        }
        if (s.step.rfind("measure-", 0) == 0 && s.parts == std::vector<std::string>{"R6"}) {
            INFO(s.reason);
            CHECK(s.reason.find("R6 short: V1 screen watts 0.45 W where 0.3 W is the limit; by the tables such a part "
                                "does not fail so") != std::string::npos);
            CHECK(s.w_microrisk == 0);
            ++told;
        }
    }
    CHECK(told == 2);
}

TEST_CASE("a risk past all measure is weighed in coarser units, told, and ordered as before") {
    Planned p("s5-mill-lane.xml");
    const RepairOrder usual = *p.steps();
    for (Threat& t : p.threats.rows) t.criticality *= 1e9;
    p.policy.pace = 20;
    const Outcome<RepairOrder> made = p.steps();
    REQUIRE(made);
    CHECK(made->optimal);
    REQUIRE(made.notices().size() == 1);
    CHECK(made.notices().front().number == messages::weights_in_tens);
    // each weight is the risk in one unit of tens; which is told
    const RepairStep& heavy =
        *std::max_element(made->steps.begin(), made->steps.end(),
                          [](const auto& a, const auto& b) { return a.w_microrisk < b.w_microrisk; });
    const double unit = std::round(std::log10(1e9 * heavy.risk_removed / static_cast<double>(heavy.w_microrisk)));
    CHECK(unit >= 1);
    for (const RepairStep& s : made->steps)
        CHECK(std::fabs(static_cast<double>(s.w_microrisk) - 1e9 * s.risk_removed / std::pow(10, unit)) <= 0.51);
    long long weight = 0;
    for (const RepairStep& s : made->steps) weight += s.w_microrisk;
    CHECK(weight > 1000000);  // fine enough yet
    CHECK(usual.steps.size() > 20);
}
