// SPDX-License-Identifier: MIT
// What the plan asks of hands at the bench: what lies over what, the empty set after each power, heaters that can be
// read, the tube and the lamp that were found bad, and where money is no object or there is none. Risk by hand, from
// ages.
#include <cmath>
#include <map>
#include <set>

#include <catch2/catch.hpp>

#include "plan.hpp"

using namespace tubewright;

namespace {

using demo::nine_sets;
using demo::Plan;

const std::vector<ReplacePolicy> policies{ReplacePolicy::replace_all, ReplacePolicy::replace_risky,
                                          ReplacePolicy::prove_each};

bool holds(const std::vector<std::string>& ids, const std::string& id) {
    return std::find(ids.begin(), ids.end(), id) != ids.end();
}
bool has(const std::string& text, const std::string& words) {
    return text.find(words) != std::string::npos;
}
/// What a log has after the steps of a plan were done in their order, up to the one named.
void done_to(const Plan& plan, const std::string& last, Progress& progress) {
    for (const RepairStep& s : plan.order.steps) {
        progress.steps_done.push_back(s.step);
        for (const Act& a : s.acts) {
            progress.deeds.push_back({word(a.kind), a.parts, a.minutes});
            for (const std::string& id : a.parts) {
                if (a.kind == ActKind::remove) progress.parts[id] = PartState::removed;
                if (a.kind == ActKind::fit) progress.parts[id] = PartState::fitted;
                if (a.kind == ActKind::refit_tube && progress.parts[id] == PartState::removed)
                    progress.parts[id] = PartState::proved;
            }
        }
        progress.passed_at[s.step] = progress.deeds.size();
        if (s.step == last) return;
    }
    throw Error("no such step: " + last);
}
bool puts_hands_in(const RepairStep& s) {
    return std::any_of(s.acts.begin(), s.acts.end(), [](const Act& a) {
        return a.kind == ActKind::fit || a.kind == ActKind::lift || a.kind == ActKind::measure ||
               a.kind == ActKind::cold_ohms || a.kind == ActKind::reassemble;
    });
}
/// Parts that are lifted to reach one, a can by its sections.
std::vector<std::string> over(const Chassis& set, const std::string& id) {
    std::vector<std::string> ids;
    const int i = set.part(id);
    if (i < 0) return ids;
    for (const std::string& l : set.parts()[static_cast<std::size_t>(i)].lift_first)
        for (const Part& p : set.parts())
            if (p.id == l || p.can == l) ids.push_back(p.id);
    return ids;
}
std::vector<const RepairStep*> waiting(const Plan& plan, const std::string& step, const std::string& rule) {
    std::vector<const RepairStep*> steps;
    for (const RepairStep& s : plan.order.steps)
        for (const StepLink& l : s.predecessors)
            if (l.step == step && l.rule == rule) steps.push_back(&s);
    return steps;
}

}  // namespace

TEST_CASE("after a stage under power the set is emptied again before hands go in, and for no other reason") {
    const Chassis set = demo::read("s1-quarry-hill.xml");
    const Plan fresh(set);
    Progress progress;
    done_to(fresh, "transformer-alone", progress);
    const Plan rest(set, ReplacePolicy::replace_all, PurposePolicy::play, progress);
    // the one that the plan has after the stage, and no second one
    const std::string emptied = "discharge-after-transformer-alone";
    REQUIRE(rest.step(emptied));
    CHECK_FALSE(rest.step("discharge"));
    CHECK(has(rest.step(emptied)->reason, "it was powered just now"));
    for (const RepairStep& s : rest.order.steps)
        if (puts_hands_in(s)) CHECK(s.order > rest.at(emptied));
    progress.deeds.push_back({word(ActKind::discharge), {}, 0});  // and it was, by itself
    const Plan empty(set, ReplacePolicy::replace_all, PurposePolicy::play, progress);
    CHECK_FALSE(empty.step("discharge"));
    CHECK_FALSE(empty.step(emptied));
    Progress last;
    done_to(fresh, "touch-current", last);
    const Plan end(set, ReplacePolicy::replace_all, PurposePolicy::play, last);
    CHECK(end.order.steps.size() == 1);  // nobody reaches in for the tag
    CHECK(has(end.order.tag, "Open: 1 step"));
    CHECK_FALSE(has(end.order.tag, "1 steps"));
}

TEST_CASE("what lies over another part comes out before it and goes in after it, and the step says so") {
    int seen = 0;
    for (const std::string& file : nine_sets) {
        const Plan p(demo::read(file));
        for (const RepairStep& s : p.order.steps) {
            std::set<std::string> out;
            for (const Act& a : s.acts) {
                if (a.kind == ActKind::remove) out.insert(a.parts.begin(), a.parts.end());
                if (a.kind != ActKind::fit || s.step.rfind("replace-", 0) != 0) continue;
                for (std::size_t k = 0; k < a.parts.size(); ++k)
                    for (const std::string& upper : over(p.set, a.parts[k])) {
                        const auto place = std::find(a.parts.begin(), a.parts.end(), upper);
                        if (place == a.parts.end()) continue;
                        INFO(file << ": " << s.does);
                        CHECK(static_cast<std::size_t>(place - a.parts.begin()) > k);
                        CHECK(out.count(upper) == 1);
                        CHECK(has(s.does, upper));
                        CHECK(has(s.does, "out first, each lead tagged with its lug"));
                        ++seen;
                    }
            }
        }
    }
    CHECK(seen > 8);
}

TEST_CASE("a part that is read is reached: what lies over it is lifted for it, or is new by then and clear of it") {
    int lifted = 0, cleared = 0;
    for (const std::string& file : nine_sets)
        for (const ReplacePolicy replace : policies) {
            const Plan p(demo::read(file), replace);
            for (const RepairStep& s : p.order.steps) {
                if (s.step.rfind("measure-", 0) != 0 && s.step.rfind("prove-", 0) != 0) continue;
                for (const std::string& id : s.parts)
                    for (const std::string& upper : over(p.set, id)) {
                        INFO(file << ": " << s.does << ", " << id << " under " << upper);
                        if (holds(s.lifted, upper)) {
                            CHECK(has(s.does, upper));
                            ++lifted;
                            continue;
                        }
                        const auto renews =
                            std::find_if(p.order.steps.begin(), p.order.steps.end(), [&](const RepairStep& t) {
                                return t.step.rfind("replace-", 0) == 0 && holds(t.parts, upper);
                            });
                        REQUIRE(renews != p.order.steps.end());
                        CHECK(renews->order < s.order);
                        CHECK(has(renews->does, "leave " + id + " clear"));
                        ++cleared;
                    }
            }
        }
    CHECK(lifted > 3);
    CHECK(cleared > 3);
}

TEST_CASE("line side, transformer leads, sockets and dial are places like any other: to turn to them costs its turn") {
    for (const std::string& file : nine_sets) {
        const Plan p(demo::read(file));
        for (const RepairStep& s : p.order.steps)
            for (const char* place : {"line side", "A lead", "transformer leads", "sockets", "dial"})
                if (s.place == place) {
                    INFO(file << ": " << s.step);
                    CHECK(s.visit > 0);
                }
    }
    const Plan vehicle(demo::read("s8-drover-gap.xml"));  // the buffer lies under R1 and R2: one place
    CHECK(vehicle.step("replace-C3")->place == vehicle.step("measure-R1-R2")->place);
}

TEST_CASE("a string that is open as found is read heater by heater, and whole before it is first fed") {
    const Plan p(demo::read("s3-tanner-row.xml"));
    const RepairStep& cold = *p.step("cold-ohms-windings");
    CHECK(has(cold.does, "open at V5 and DS1"));
    CHECK(has(cold.check, "V4 42 ohm to 67 ohm"));  // 50 V at .15 A: 333 ohm hot
    CHECK_FALSE(has(cold.check, "V5 "));
    CHECK(has(p.step("power-up")->check, "before the plug goes in"));
    CHECK(has(p.step("power-up")->check, "between 102 ohm and 164 ohm"));
    const Plan whole(demo::read("s6-osier-holt.xml"));
    CHECK(has(whole.step("cold-ohms-windings")->does, "its tubes in"));
    CHECK_FALSE(has(whole.step("power-up")->check, "before the plug goes in"));
}

TEST_CASE("a string waits for its new tube and its new lamp by H12, a new rectifier is tested by H20, and both bind") {
    const auto exchanged = [](const Plan& p, const std::string& first, const std::string& rule) {
        std::vector<Act> acts;
        for (const RepairStep& s : p.order.steps) {
            if (s.step == first) continue;
            acts.insert(acts.end(), s.acts.begin(), s.acts.end());
            if (s.step == "power-up") acts.insert(acts.end(), p.step(first)->acts.begin(), p.step(first)->acts.end());
        }
        const std::vector<Violation> found = violations(p.set, demo::catalogue(), acts, {});
        return std::any_of(found.begin(), found.end(), [&](const Violation& v) { return v.rule == rule; });
    };
    const Plan string(demo::read("s3-tanner-row.xml"));
    for (const char* step : {"new-tubes", "sleeve-DS1"}) {
        INFO(step);
        REQUIRE(waiting(string, step, "H12").size() == 1);
        CHECK(exchanged(string, step, "H12"));
    }
    CHECK(waiting(string, "new-tubes", "H20").size() == 1);
    const Plan amplifier(demo::read("s9-bellows-court.xml"));
    REQUIRE(waiting(amplifier, "new-tubes", "H20").size() == 1);
    CHECK(waiting(amplifier, "new-tubes", "H12").empty());
    CHECK(exchanged(amplifier, "new-tubes", "H20"));
    const Plan evening(demo::read("s9-bellows-court.xml"), ReplacePolicy::replace_all, PurposePolicy::play, {},
                       {.hours = 2});
    REQUIRE(evening.step("test-tubes"));
    REQUIRE_FALSE(evening.step("new-tubes"));
    CHECK(has(evening.order.tag, "H20"));
}

TEST_CASE("a tag has what is lifted under H17, and says of an evening what is open when its steps are done") {
    const Chassis set = demo::read("s1-quarry-hill.xml");
    Progress progress;
    progress.parts["R12"] = PartState::lifted;
    const Plan lifted(set, ReplacePolicy::replace_all, PurposePolicy::play, progress);
    CHECK(has(lifted.order.tag, "H17"));
    CHECK_FALSE(has(Plan(set).order.tag, "H17"));
    const Plan all(set, ReplacePolicy::replace_all, PurposePolicy::play, {}, {.hours = 100});
    CHECK(all.order.left_out.empty());
    CHECK(has(all.order.tag, "DO NOT PLUG IN before the last of these " + std::to_string(all.order.steps.size())));
    CHECK_FALSE(has(all.order.tag, "Every step is done."));
    const Plan two(set, ReplacePolicy::replace_all, PurposePolicy::play, {}, {.hours = 2});
    CHECK(has(two.order.tag, "When these " + std::to_string(two.order.steps.size()) + " steps are done"));
}

TEST_CASE("without money what needs none is done") {
    const Plan p(demo::read("s1-quarry-hill.xml"), ReplacePolicy::replace_all, PurposePolicy::play, {}, {.budget = 0});
    CHECK(p.order.steps.size() > 8);
    double cost = 0;
    for (const RepairStep& s : p.order.steps) cost += s.cost;
    CHECK(cost == 0);
    CHECK_FALSE(p.order.left_out.empty());
    CHECK_FALSE(p.step("replace-C3"));
}

TEST_CASE("where every fault has its step, nothing is left at the end of the curve") {
    const Plan p(demo::read("s1-quarry-hill.xml"));
    for (const auto* curve : {&p.order.curve, &p.order.curve_by_list, &p.order.curve_greedy})
        CHECK(curve->back().risk_left == 0);
}

TEST_CASE(
    "where no transformer is tried before money is spent, all is bought at once, once it was looked at and read") {
    for (const std::string& file : nine_sets) {
        const Plan p(demo::read(file));
        INFO(file);
        const char* alone = p.step("vibrator-alone") ? "vibrator-alone" : "transformer-alone";
        const bool transformer = p.step(alone) != nullptr;
        CHECK((p.step("buy-line-side") != nullptr) == transformer);
        if (transformer) CHECK(p.at(alone) < p.at("buy-parts"));
        REQUIRE(p.step("buy-parts"));
        for (const RepairStep& s : p.order.steps)
            if (s.cost > 0) CHECK(s.order > (transformer ? p.at("buy-line-side") : p.at("buy-parts")));
        CHECK(p.at("inspect") < p.at("reference"));
        CHECK(p.at("inspect") < p.at("pull-tubes"));
    }
}

TEST_CASE("a filament and a cold cathode are asked for no leak from heater to cathode") {
    CHECK(has(Plan(demo::read("s8-drover-gap.xml")).step("test-tubes")->check, "V6 has no heater"));
    const std::string radio = Plan(demo::read("s1-quarry-hill.xml")).step("test-tubes")->check;
    CHECK(has(radio, "heater to cathode over 1 megohm cold of V1, V2, V3 and V4"));  // V5 is an 80
    CHECK(has(Plan(demo::read("s3-tanner-row.xml")).step("test-tubes")->check, "over 1 megohm cold"));
}

TEST_CASE("a plate pin that the set's own resistors join to the metal is not asked to read open") {
    const std::string check = Plan(demo::read("s1-quarry-hill.xml")).step("clean-sockets")->check;
    CHECK(has(check, "V4.2"));  // through the divider of the screens
    CHECK(check.rfind("open", 0) != 0);
}

TEST_CASE("a new link goes into the holder that is there, and a lead of the battery bears what its fuse does") {
    const Plan amplifier(demo::read("s9-bellows-court.xml"));
    const RepairStep* link = amplifier.step("link-F1");
    REQUIRE(link);
    CHECK(link->minutes == Approx(2));
    CHECK(link->cost == Approx(0.5));  // its holder is paid for
    const double both = demo::catalogue().step_cost("fuse")->cost;
    CHECK(Plan(demo::read("s1-quarry-hill.xml")).step("fit-fuse")->cost == Approx(both));
    CHECK(both > 1);
    CHECK_FALSE(holds(link->tools, "drill"));
    const Plan vehicle(demo::read("s8-drover-gap.xml"));
    CHECK(has(vehicle.step("replace-W1-W2-W4")->check, "W1, W2 and W4 of 16 AWG (1.3 mm2) or heavier, for the 10 A"));
    CHECK(has(vehicle.step("buy-line-side")->does, "measure the length of W1"));
    for (const RepairStep& s : vehicle.order.steps) CHECK_FALSE(holds(s.tools, "lamp"));
}

TEST_CASE("what is out and is not to go back threatens nothing any more, and a bad tube is settled when it is pulled") {
    const Chassis set = demo::read("s1-quarry-hill.xml");
    REQUIRE(Plan(set).step("replace-C1.plain")->w_microrisk > 0);
    const double whole = Plan(set).order.curve.front().risk_left;
    for (const PartState state : {PartState::removed, PartState::lifted}) {
        Progress progress;
        progress.parts["C1.plain"] = state;
        progress.parts["R6"] = state;  // read, and put back: what it threatens, it will threaten again
        const Plan out(set, ReplacePolicy::replace_all, PurposePolicy::play, progress);
        REQUIRE(out.step("replace-C1.plain"));
        CHECK(out.step("replace-C1.plain")->w_microrisk == 0);
        CHECK(has(out.step("replace-C1.plain")->reason, "by the log C1.plain is out, and its danger with it"));
        CHECK(out.order.curve.front().risk_left < whole);
        CHECK(out.step("measure-R6")->w_microrisk == Plan(set).step("measure-R6")->w_microrisk);
    }
    const Plan amplifier(demo::read("s9-bellows-court.xml"));
    CHECK(amplifier.step("pull-tubes")->w_microrisk > 0);  // V3 leaks
    CHECK(has(amplifier.step("pull-tubes")->reason, "V3 does not go back, a new one does"));
    CHECK(amplifier.step("test-tubes")->w_microrisk > 0);  // V1 and V2 go back
    CHECK(Plan(set).step("pull-tubes")->w_microrisk == 0);
}

TEST_CASE("no test closes the heater of a tube that was found open: it is renewed, or the log calls it proved") {
    const Plan string(demo::read("s3-tanner-row.xml"));  // V5 was seen open
    const auto gap = [&](const Progress& progress) {
        std::vector<Act> acts;
        for (const RepairStep& s :
             Plan(string.set, ReplacePolicy::replace_all, PurposePolicy::play, progress).order.steps)
            if (s.step != "new-tubes") acts.insert(acts.end(), s.acts.begin(), s.acts.end());
        const std::vector<Violation> found = violations(string.set, demo::catalogue(), acts, progress);
        return std::any_of(found.begin(), found.end(),
                           [](const Violation& v) { return v.rule == "H12" && has(v.why, "V5 was found open"); });
    };
    CHECK(gap({}));
    Progress proved;
    proved.parts["V5"] = PartState::proved;
    CHECK_FALSE(gap(proved));
}

TEST_CASE("directly heated output tubes wait for the resistor at the middle of their filaments by H9") {
    const Plan p(demo::read("s5-mill-lane.xml"));  // two 45s, and R3 from the tap of their winding to the metal
    const auto fits = [](const RepairStep& s) {
        return std::any_of(s.acts.begin(), s.acts.end(),
                           [](const Act& a) { return a.kind == ActKind::fit && holds(a.parts, "R3"); });
    };
    const auto step = std::find_if(p.order.steps.begin(), p.order.steps.end(), fits);
    REQUIRE(step != p.order.steps.end());
    const std::vector<const RepairStep*> bias = waiting(p, step->step, "H9");
    REQUIRE(bias.size() == 1);
    CHECK(bias.front()->step == "power-up");
    CHECK(has(p.order.tag, "H9"));
    std::vector<Act> acts;  // the checker asks for it by itself
    for (const RepairStep& s : p.order.steps)
        if (!fits(s)) acts.insert(acts.end(), s.acts.begin(), s.acts.end());
    const std::vector<Violation> found = violations(p.set, demo::catalogue(), acts, {});
    CHECK(
        std::any_of(found.begin(), found.end(), [](const Violation& v) { return v.rule == "H9" && has(v.why, "R3"); }));
}

TEST_CASE("a lead is bought as thick as the check of its step asks, and one at line volts is no lead of a battery") {
    // 18 AWG (.75 mm2) for line wiring, and what bears the fuse of a battery's lead, are common practice.
    const std::map<std::string, std::vector<std::string>> at_line_volts{
        {"s1-quarry-hill.xml", {"W2", "W3"}}, {"s2-heron-weir.xml", {"W2", "W3"}}, {"s3-tanner-row.xml", {"W2", "W3"}},
        {"s4-ferry-green.xml", {"W3"}},       {"s5-mill-lane.xml", {"W2"}},        {"s6-osier-holt.xml", {"W2", "W3"}},
        {"s7-plover-heath.xml", {"W5"}},  // minus of the batteries, on the switch of the line
    };
    const auto gauge = [](const std::string& words) {
        const std::size_t end = words.find(" AWG");
        return end == std::string::npos ? 99 : std::stoi(words.substr(words.rfind(' ', end - 1) + 1));
    };
    const auto check_asks = [&](const Plan& p, const std::string& id) {
        for (const RepairStep& s : p.order.steps) {
            const std::size_t end = s.check.find(" or heavier");
            if (s.step.rfind("replace-", 0) != 0 || !holds(s.parts, id) || end == std::string::npos) continue;
            const std::string told = s.check.substr(s.check.rfind("; ", end), end - s.check.rfind("; ", end));
            if (has(told, id + " ") || has(told, id + ",")) return gauge(told);
        }
        return 99;
    };
    int checked = 0;
    for (const std::string& file : nine_sets) {
        const Plan p(demo::read(file));
        for (const ShopLine& l : p.list.lines)
            for (const std::string& id : l.for_parts) {
                if (l.price_row != "wire") continue;
                INFO(file << " " << id << ": " << l.what);
                CHECK(gauge(l.what) <= check_asks(p, id));
                checked += check_asks(p, id) < 99 ? 1 : 0;
                const auto mains = at_line_volts.find(file);
                if (mains == at_line_volts.end() || !holds(mains->second, id)) continue;
                CHECK(gauge(l.what) <= 18);
                CHECK(check_asks(p, id) <= 18);
                CHECK(l.what.rfind("hook-up wire", 0) == 0);
            }
    }
    CHECK(checked == 14);
}

TEST_CASE("nothing before the photographs asks for a lead lifted, and what was put off is read when its cover is out") {
    for (const std::string& file : nine_sets)
        for (const ReplacePolicy replace : policies)
            for (const PurposePolicy purpose : {PurposePolicy::play, PurposePolicy::preserve}) {
                const Plan p(demo::read(file), replace, purpose);
                INFO(file);
                const RepairStep& cold = *p.step("cold-ohms-windings");
                CHECK(cold.lifted.empty());
                CHECK_FALSE(has(cold.check, "leads off"));
                CHECK_FALSE(has(cold.check, "are out"));
                CHECK_FALSE(has(cold.does, "free"));
                for (const RepairStep& s : p.order.steps)
                    if (!s.lifted.empty()) CHECK(s.order > p.at("photographs"));
                if (purpose == PurposePolicy::preserve) CHECK_FALSE(p.says("leads of S1"));
            }
    // The primary and the switch hang on the line capacitor: read while it is out, and its danger earned there.
    const Plan radio(demo::read("s1-quarry-hill.xml"));
    CHECK(has(radio.step("cold-ohms-windings")->check, "not judged to the core"));
    const RepairStep& capacitor = *radio.step("replace-C3");
    CHECK(has(capacitor.check, "with the old C3 out, T1 primary over 1 megohm to the core"));
    CHECK(has(capacitor.check, "each contact of S1 over 20 megohms from the case"));
    const auto reads = [&](ActKind kind, const std::string& id) {
        for (const Act& a : capacitor.acts)
            if (a.kind == ActKind::fit)
                return false;
            else if (a.kind == kind && holds(a.parts, id))
                return true;
        return false;
    };
    CHECK(reads(ActKind::measure, "S1"));
    CHECK(reads(ActKind::cold_ohms, "T1"));
    // The circuit joins this one to the metal: its leads come off, in a step of its own.
    const Plan floating(demo::read("s4-ferry-green.xml"));
    const RepairStep* freed = floating.step("free-S1");
    REQUIRE(freed);
    CHECK(freed->lifted == std::vector<std::string>{"S1"});
    CHECK(waiting(floating, "photographs", "H2").size() > 1);
    CHECK(waiting(floating, "free-S1", "H5").size() == 1);
    CHECK(freed->w_microrisk > 0);
}

TEST_CASE("where the line reaches the metal or B-minus nothing earthed is clipped on, power, trimmers and tag say so") {
    for (const char* file : {"s3-tanner-row.xml", "s4-ferry-green.xml", "s6-osier-holt.xml", "s7-plover-heath.xml"}) {
        const Plan p(demo::read(file));
        INFO(file);
        CHECK(has(p.order.tag, "H22"));
        std::vector<std::string> held;
        for (const RepairStep* s : waiting(p, "reference", "H22")) held.push_back(s->step);
        CHECK(holds(held, "power-up"));
        CHECK(holds(held, "alignment"));
        CHECK(has(p.step("reference")->reason, "nothing earthed is clipped on"));
        CHECK(has(p.step("alignment")->does, "none of their leads goes to the metal or B-minus"));
    }
    CHECK(has(Plan(demo::read("s4-ferry-green.xml")).step("earth-off")->if_last, "H22 is broken"));
    for (const char* file : {"s1-quarry-hill.xml", "s8-drover-gap.xml"}) {
        CHECK_FALSE(has(Plan(demo::read(file)).order.tag, "H22"));
        CHECK_FALSE(has(Plan(demo::read(file)).step("alignment")->does, "earthed"));
    }
}

TEST_CASE("what burnt a resistor is hunted in a step of its own, behind the test of its tube, before the new one") {
    const std::string text = demo::text("s9-bellows-court.xml");
    int hunted = 0, tube = 0;
    for (std::size_t at = text.find("<resistor "); at != std::string::npos; at = text.find("<resistor ", at + 1)) {
        std::string burnt = text;
        burnt.insert(at + 10, "seen=\"burnt\" ");
        const Outcome<Chassis> set = read_chassis_text(burnt, "burnt", demo::catalogue());
        if (!set) continue;  // it has its own word for what was seen
        const Plan p(*set);
        for (const RepairStep& s : p.order.steps) {
            if (s.step.rfind("find-cause-", 0) != 0) continue;
            ++hunted;
            INFO(s.does);
            const std::string id = s.step.substr(11);
            const std::vector<const RepairStep*> held = waiting(p, s.step, "H18");
            REQUIRE(held.size() == 1);
            CHECK(holds(held.front()->parts, id));
            CHECK(s.order < held.front()->order);
            for (const Act& a : held.front()->acts) CHECK((a.kind != ActKind::find_cause || a.parts.front() != id));
            CHECK(has(p.order.tag, "H18"));
            const auto tests = [&](const StepLink& l) { return l.step == "test-tubes" && l.rule == "H18"; };
            if (std::none_of(s.predecessors.begin(), s.predecessors.end(), tests)) continue;
            ++tube;
            std::vector<Act> acts;  // the checker wants the tube tested by itself
            for (const RepairStep& one : p.order.steps)
                if (one.step != "test-tubes") acts.insert(acts.end(), one.acts.begin(), one.acts.end());
            const std::vector<Violation> found = violations(p.set, demo::catalogue(), acts, {});
            CHECK(std::any_of(found.begin(), found.end(), [](const Violation& v) { return v.rule == "H18"; }));
        }
    }
    CHECK(hunted > 2);
    CHECK(tube > 0);
}

TEST_CASE("a vehicle's iron is tried before money is spent on the rest: A lead, buffer and vibrator alone") {
    const Plan p(demo::read("s8-drover-gap.xml"));
    CHECK(p.at("vibrator-alone") < p.at("buy-parts"));
    CHECK(p.step("pull-tubes")->order < p.at("vibrator-alone"));
    std::set<std::string> fitted;
    for (const RepairStep& s : p.order.steps)
        if (s.order <= p.at("vibrator-alone"))
            for (const Act& a : s.acts) {
                CHECK(a.kind != ActKind::refit_tube);
                if (a.kind == ActKind::fit) fitted.insert(a.parts.begin(), a.parts.end());
            }
    CHECK(fitted == std::set<std::string>{"C3", "F1", "W1", "W2", "W4", "Y1"});
    CHECK(has(p.step("power-up")->does, "Vibrator out, tubes in: heaters"));
}

TEST_CASE("what is tuned is told by what is there: no intermediate frequency in a set of tuned stages") {
    const Plan tuned(demo::read("s5-mill-lane.xml"));
    const Plan superhet(demo::read("s1-quarry-hill.xml"));
    const RepairStep &stages = *tuned.step("alignment"), &both = *superhet.step("alignment");
    CHECK_FALSE(has(stages.does, "intermediate"));
    CHECK_FALSE(has(stages.does, "oscillator"));
    CHECK(has(stages.does, "tuned stages"));
    CHECK(stages.minutes < both.minutes);
    CHECK(has(both.does, "intermediate frequency, oscillator, antenna"));
}

TEST_CASE("a lamp that is pulled is not asked to sit in its socket, nor a leg on the metal for megohms") {
    for (const char* file : {"s1-quarry-hill.xml", "s2-heron-weir.xml"}) {
        const std::string check = Plan(demo::read(file)).step("sleeve-DS1-DS2")->check;
        CHECK(has(check, "lamp out"));
        CHECK_FALSE(has(check, "in its socket"));
        CHECK(has(check, "the other leg goes to the metal by the circuit"));
    }
}

TEST_CASE("no old part is lifted and put back that is replaced later, nor a new one lifted again") {
    for (const std::string& file : nine_sets) {
        const Plan p(demo::read(file));
        std::set<std::string> fitted;
        for (const RepairStep& s : p.order.steps)
            for (const Act& a : s.acts)
                if (a.kind == ActKind::fit) fitted.insert(a.parts.begin(), a.parts.end());
        for (const RepairStep& s : p.order.steps)
            for (const std::string& id : s.lifted) {
                INFO(file << ": " << s.does << ": " << id);
                CHECK(fitted.count(id) == 0);
            }
    }
}

TEST_CASE("a tube that is on the list to be replaced is not tested first") {
    for (const std::string& file : nine_sets) {
        const Plan p(demo::read(file));
        const RepairStep *old = p.step("test-tubes"), *renewed = p.step("new-tubes");
        if (!old || !renewed) continue;
        INFO(file);
        for (const std::string& id : renewed->parts) CHECK_FALSE(holds(old->parts, id));
    }
}
