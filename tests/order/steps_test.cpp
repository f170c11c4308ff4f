// SPDX-License-Identifier: MIT
// The repair steps of both demo sets: no rule broken under any policy or limit, every arrow binding, nothing forgotten,
// the sum recomputed. Risk here is made by hand from ages, so that the steps are tested without a solve;
// tests/order/power_up_test.cpp and tests/whole have the solved ones.
#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include <catch2/catch.hpp>

#include "order/order.hpp"
#include "sets.hpp"

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
        for (const PartAction& a : actions) {
            Threat t;
            t.part = set.parts()[static_cast<std::size_t>(a.part)].id;
            t.fault.id = t.part + " short";
            t.fault.part = a.part;
            t.criticality = a.risk.failures_per_million_hours / 1e6;
            t.severity = "II";
            t.likelihood = a.risk.likelihood;
            threats.rows.push_back(t);
        }
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
                    CHECK(order->tag.find(order->left_out.front()) != std::string::npos);
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

TEST_CASE("each arrow of a hard rule binds: its two steps exchanged break a rule") {
    for (const std::string& file : demo::files()) {
        const Planned p(file);
        const Outcome<RepairOrder> order = p.steps();
        REQUIRE(order);
        std::map<std::string, std::size_t> at;
        for (std::size_t k = 0; k < order->steps.size(); ++k) at[order->steps[k].step] = k;
        int tried = 0;
        for (const RepairStep& s : order->steps)
            for (const StepLink& l : s.predecessors) {
                if (l.rule[0] != 'H') continue;
                std::vector<RepairStep> swapped = order->steps;
                std::swap(swapped[at[s.step]], swapped[at[l.step]]);
                INFO(file << ": " << l.step << " before " << s.step << " by " << l.rule);
                CHECK_FALSE(p.broken(demo::acts_of(swapped)).empty());
                ++tried;
            }
        CHECK(tried > 40);
    }
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

TEST_CASE("more danger in a part brings its step forward") {
    Planned p("s1-quarry-hill.xml");
    const auto place = [](const RepairOrder& o, const std::string& part) {
        for (const RepairStep& s : o.steps)
            if (s.step.rfind("replace", 0) == 0 && std::count(s.parts.begin(), s.parts.end(), part) > 0) return s.order;
        return 0;
    };
    const int before = place(*p.steps(), "C17");
    for (Threat& t : p.threats.rows)
        if (t.part == "C17") t.criticality *= 1000;
    CHECK(place(*p.steps(), "C17") < before);
}
