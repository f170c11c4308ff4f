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
        const bool transformer = p.step("transformer-alone") != nullptr;
        CHECK((p.step("buy-line-side") != nullptr) == transformer);
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
    CHECK(has(vehicle.step("replace-W1-W2-W4")->check, "W1, W2 and W4 of 1.5 mm2 (16 AWG) or heavier, for the 10 A"));
    CHECK(has(vehicle.step("buy-parts")->does, "measure the length of W1"));
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
    std::vector<Act> acts;
    for (const RepairStep& s : string.order.steps)
        if (s.step != "new-tubes") acts.insert(acts.end(), s.acts.begin(), s.acts.end());
    const auto gap = [&](const Progress& progress) {
        const std::vector<Violation> found = violations(string.set, demo::catalogue(), acts, progress);
        return std::any_of(found.begin(), found.end(),
                           [](const Violation& v) { return v.rule == "H12" && has(v.why, "V5 was found open"); });
    };
    CHECK(gap({}));
    Progress proved;
    proved.parts["V5"] = PartState::proved;
    CHECK_FALSE(gap(proved));
}
