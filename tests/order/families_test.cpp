// SPDX-License-Identifier: MIT
// Each family has its own steps and no other's: all demo sets and the starter of a battery set, planned under each
// policy without a solve. Risk is made by hand from ages.
#include <algorithm>
#include <map>
#include <set>

#include <catch2/catch.hpp>

#include "plan.hpp"

using namespace tubewright;

namespace {

using demo::nine_sets;
using demo::Plan;

Chassis battery_set() {
    const Outcome<std::string> text = starter_file("battery", {});
    if (!text) throw Error(text.notices().front().text());
    const Outcome<Chassis> set = read_chassis_text(*text, "battery", demo::catalogue());
    if (!set) throw Error(set.notices().front().text());
    return *set;
}
Chassis direct_current_set() {
    std::string text = demo::text("s6-osier-holt.xml");
    const std::size_t at = text.find("supply=\"ac\"");
    if (at == std::string::npos) throw Error("the doubler's supply is written in another way");
    text.replace(at, 11, "supply=\"dc\"");
    const Outcome<Chassis> set = read_chassis_text(text, "direct", demo::catalogue());
    if (!set) throw Error(set.notices().front().text());
    return *set;
}

using Ids = std::vector<std::string>;

}  // namespace

TEST_CASE("no set of any family breaks a hard rule under any policy") {
    for (const ReplacePolicy replace :
         {ReplacePolicy::replace_all, ReplacePolicy::replace_risky, ReplacePolicy::prove_each}) {
        std::vector<Chassis> sets;
        for (const std::string& file : nine_sets) sets.push_back(demo::read(file));
        sets.push_back(battery_set());
        sets.push_back(direct_current_set());
        for (const Chassis& set : sets) {
            const Plan p(set, replace);
            std::vector<Violation> hard;
            for (const Violation& v : violations(p.set, demo::catalogue(), demo::acts_of(p.order.steps), {}))
                if (v.hard) hard.push_back(v);
            INFO(p.set.name() << "\n" << demo::said(hard));
            CHECK(hard.empty());
        }
    }
}

TEST_CASE("each family is powered by its own stages, and by no other's") {
    CHECK(Plan(demo::read("s1-quarry-hill.xml")).powered() ==
          Ids{"transformer-alone", "power-up", "alignment", "soak", "touch-current"});
    for (const char* string : {"s3-tanner-row.xml", "s4-ferry-green.xml", "s6-osier-holt.xml"}) {
        const Plan p(demo::read(string));
        CHECK(p.powered() == Ids{"power-up", "alignment", "soak", "touch-current"});
        CHECK(p.step("power-up")->does.find("all tubes in") != std::string::npos);
        CHECK_FALSE(p.says("rectifier out"));
        CHECK_FALSE(p.says("heater winding"));
        CHECK(p.step("cold-ohms-windings")->check.find("the string cold between") != std::string::npos);
        CHECK(p.at("cold-ohms-windings") < p.at("pull-tubes"));
    }
    const Plan portable(demo::read("s7-plover-heath.xml"));
    CHECK(portable.powered() == Ids{"power-up", "battery-power", "alignment", "soak", "touch-current"});
    CHECK(portable.step("battery-power")->does.find("A alone first") != std::string::npos);
    CHECK_FALSE(portable.says("heater winding"));

    const Plan vehicle(demo::read("s8-drover-gap.xml"));
    CHECK(vehicle.powered() == Ids{"vibrator-alone", "power-up", "alignment", "soak"});
    for (const char* foreign :
         {"behind the lamp", "isolation transformer", "cord", "touch current", "line reaches", "class Y"})
        CHECK_FALSE(vehicle.says(foreign));
    CHECK(vehicle.at("replace-C3") < vehicle.at("vibrator-alone"));  // the buffer
    CHECK(vehicle.step("pull-tubes")->does.find("Y1") != std::string::npos);

    const Plan battery(battery_set());
    CHECK(battery.powered() == Ids{"power-up", "soak"});
    CHECK(battery.step("power-up")->does.find("B last") != std::string::npos);
    for (const char* foreign : {"behind the lamp", "isolation transformer", "plugged in", "touch current", "line side"})
        CHECK_FALSE(battery.says(foreign));

    const Plan direct(direct_current_set());
    CHECK(direct.says("direct current"));
    CHECK_FALSE(direct.says("isolation transformer"));  // it passes none
}

TEST_CASE("the string of the kitchen set reads a fifth to an eighth of its hot ohms") {
    // 122.8 V at .15 A: 819 ohm hot
    const Plan p(demo::read("s3-tanner-row.xml"));
    CHECK(p.step("cold-ohms-windings")->check.find("between 102 ohm and 164 ohm") != std::string::npos);
}

TEST_CASE("what a step fits is on the list and bought before it") {
    std::vector<Chassis> sets;
    for (const std::string& file : nine_sets) sets.push_back(demo::read(file));
    sets.push_back(battery_set());
    for (const ReplacePolicy replace :
         {ReplacePolicy::replace_all, ReplacePolicy::replace_risky, ReplacePolicy::prove_each})
        for (const Chassis& set : sets) {
            const Plan p(set, replace);
            std::set<std::string> listed;
            bool fuse = false;
            for (const ShopLine& l : p.list.lines) {
                listed.insert(l.for_parts.begin(), l.for_parts.end());
                fuse = fuse || l.what.find("fuse") != std::string::npos;
            }
            std::map<std::string, const RepairStep*> by_id;
            for (const RepairStep& s : p.order.steps) by_id[s.step] = &s;
            for (const RepairStep& s : p.order.steps) {
                bool fits = false;
                for (const Act& a : s.acts) {
                    if (a.kind == ActKind::fit_fuse) CHECK(fuse);
                    if (a.kind != ActKind::fit && a.kind != ActKind::sleeve && a.kind != ActKind::fit_fuse) continue;
                    for (const std::string& id : a.parts) {
                        const int part = p.set.part(id);  // of a block its members are bought
                        if (part >= 0 && p.set.parts()[static_cast<std::size_t>(part)].kind == PartKind::block)
                            continue;
                        INFO(p.set.name() << ": " << s.step << " fits " << id);
                        CHECK(listed.count(id) == 1);
                    }
                    fits = true;
                }
                if (!fits) continue;
                // by some chain of arrows
                std::set<std::string> seen;
                std::vector<std::string> front{s.step};
                bool bought = false;
                while (!front.empty()) {
                    const RepairStep& one = *by_id.at(front.back());
                    front.pop_back();
                    for (const StepLink& l : one.predecessors) {
                        bought = bought || l.step.rfind("buy-", 0) == 0;
                        if (seen.insert(l.step).second) front.push_back(l.step);
                    }
                }
                INFO(p.set.name() << ": " << s.step);
                CHECK(bought);
            }
        }
}

TEST_CASE(
    "looking comes before ohms and buying; the whole is read after the last resistor; a forbidden earth is off first") {
    for (const std::string& file : nine_sets) {
        const Plan p(demo::read(file));
        INFO(file);
        CHECK(p.at("inspect") < p.at("cold-ohms-windings"));
        for (const char* buy : {"buy-line-side", "buy-parts"})
            if (p.step(buy)) CHECK(p.at("inspect") < p.at(buy));
        for (const RepairStep& s : p.order.steps)
            for (const char* kind : {"measure-", "replace-", "prove-", "resolder-"})
                if (s.step.rfind(kind, 0) == 0) CHECK(s.order < p.at("cold-ohms-all"));
    }
    const Plan earthed(demo::read("s4-ferry-green.xml"));
    REQUIRE(earthed.step("earth-off"));
    CHECK(earthed.at("earth-off") < earthed.at("cold-ohms-windings"));
}

TEST_CASE("several parts of one step are replaced one out, one in, and the page says so") {
    for (const std::string& file : nine_sets)
        for (const RepairStep& s : Plan(demo::read(file)).order.steps)
            for (const Act& a : s.acts)
                if (a.kind == ActKind::fit && a.parts.size() > 1 && s.step.rfind("replace-", 0) == 0)
                    CHECK(s.does.find("one out, one in") != std::string::npos);
}

TEST_CASE("a resistor that is out by the log and would be measured is asked back") {
    Progress progress;
    const Plan before(demo::read("s3-tanner-row.xml"));
    std::string id;
    for (const RepairStep& s : before.order.steps)
        if (s.step.rfind("measure-", 0) == 0 && s.lifted.empty()) id = s.parts.front();
    REQUIRE_FALSE(id.empty());
    progress.parts[id] = PartState::removed;
    const Plan after(demo::read("s3-tanner-row.xml"), ReplacePolicy::replace_all, PurposePolicy::play, progress);
    bool back = false;
    for (const RepairStep& s : after.order.steps)
        for (const Act& a : s.acts)
            back = back || ((a.kind == ActKind::reconnect || a.kind == ActKind::fit) &&
                            std::find(a.parts.begin(), a.parts.end(), id) != a.parts.end());
    CHECK(back);
}

TEST_CASE("a set of any family that is to be preserved has no step under power") {
    for (const std::string& file : nine_sets)
        CHECK(Plan(demo::read(file), ReplacePolicy::replace_all, PurposePolicy::preserve).powered().empty());
    CHECK(Plan(battery_set(), ReplacePolicy::replace_all, PurposePolicy::preserve).powered().empty());
}

TEST_CASE("a place is turned to a second time only where that is worth its turn") {
    for (const std::string& file : nine_sets) {
        const Plan p(demo::read(file));
        INFO(file);
        CHECK(p.order.objective_by_risk > 0);
        CHECK(p.order.minutes_by_risk > 0);
        for (const RepairStep& s : p.order.steps) {
            if (s.step.rfind("turn-to-", 0) != 0) continue;
            INFO(s.does);
            int visits = 0;
            for (const RepairStep& t : p.order.steps)
                visits += t.place == s.place && t.step.rfind("turn-to-", 0) == 0 && t.order < s.order ? 1 : 0;
            CHECK(visits < 2);
            CHECK((s.reason.rfind("again: ", 0) == 0) == (visits > 0));
        }
    }
}
