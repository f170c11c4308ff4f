// SPDX-License-Identifier: MIT
// Replace, measure, leave: by construction, by what was seen, by policy and by the log, each with its reason.
#include <algorithm>

#include <catch2/catch.hpp>

#include <tubewright/choice.hpp>

#include "sets.hpp"

using namespace tubewright;

namespace {

struct Decided {
    Chassis set;
    std::vector<PartAction> actions;
    explicit Decided(ReplacePolicy replace, const Progress& progress = {}) : set(demo::quarry_hill()) {
        Policy policy;
        policy.replace = replace;
        actions = actions_of(set, demo::catalogue(), policy, {}, progress);
    }
    const PartAction& of(const std::string& id) const {
        for (const PartAction& a : actions)
            if (set.parts()[static_cast<std::size_t>(a.part)].id == id) return a;
        FAIL("no action for " << id);
        return actions.front();
    }
    bool says(const std::string& id, const std::string& words) const {
        const std::vector<std::string>& r = of(id).reasons;
        return std::any_of(r.begin(), r.end(),
                           [&](const std::string& t) { return t.find(words) != std::string::npos; });
    }
};

}  // namespace

TEST_CASE("by default every paper capacitor and every electrolytic goes, micas and coils stay") {
    const Decided d(ReplacePolicy::replace_all);
    for (const char* id : {"C1.plain", "C2", "C3", "C10", "C11", "C12", "C14", "C15", "C16", "C17", "C18", "C19", "C27",
                           "W1", "W2", "W6"})
        CHECK(d.of(id).action == "replace");
    for (const char* id : {"C9", "C24"}) CHECK(d.of(id).action == "leave");
    for (const char* id : {"T5", "C20"}) CHECK(d.of(id).action == "never-disturb");
    CHECK(d.of("R9").action == "replace");  // seen drifted
    for (const char* id : {"R10", "R11", "T1", "V5"}) CHECK(d.of(id).action == "measure");
    CHECK(d.of("C2").year == 1956);
    CHECK(d.of("C16").year == 1936);
}

TEST_CASE("a burnt resistor goes with what burnt it, and says so") {
    for (const ReplacePolicy policy :
         {ReplacePolicy::replace_all, ReplacePolicy::replace_risky, ReplacePolicy::prove_each}) {
        const Decided d(policy);
        CHECK(d.of("R3").action == "replace");
        CHECK(d.says("R3", "C12"));
        CHECK(d.says("R3", "H18"));
        CHECK(d.of("C12").action == "replace");
    }
}

TEST_CASE("policies differ where they should, never on the line") {
    const Decided risky(ReplacePolicy::replace_risky), prove(ReplacePolicy::prove_each);
    CHECK(risky.of("C16").action == "replace");
    CHECK(risky.of("C1.plain").action == "replace");
    CHECK(prove.of("C16").action == "measure");
    CHECK(prove.says("C16", "policy"));
    CHECK(prove.of("C3").action == "replace");
    CHECK(prove.of("W6").action == "replace");
}

TEST_CASE("what the log says is fitted is left") {
    Progress progress;
    progress.parts = {{"C16", PartState::fitted}, {"R11", PartState::proved}, {"C18", PartState::omitted}};
    const Decided d(ReplacePolicy::replace_all, progress);
    for (const char* id : {"C16", "R11", "C18"}) CHECK(d.of(id).action == "leave");
    CHECK(d.says("C16", "log"));
    CHECK(d.of("C17").action == "replace");
}

TEST_CASE("replace-risky leaves what no fault makes dangerous and nothing presses, and the three policies differ") {
    const Chassis set = demo::quarry_hill();
    // By hand: a cathode bypass that is hardly used, one at its limit, and a coupler in the tone control whose short
    // harms the output transformer.
    std::vector<PartStress> stress = {demo::stress(set, "C10", {{"normal", 3}}),
                                      demo::stress(set, "C15", {{"normal", 17}}),
                                      demo::stress(set, "C18", {{"normal", 100}})};
    stress[0].rated_volts = 200;
    stress[1].rated_volts = 25;
    stress[2].rated_volts = 400;
    Threat harm;
    harm.part = "C18";
    harm.target = "T2";
    harm.beta = 0.5;
    harm.criticality = 1e-4;
    harm.severity = "III";
    Threat none = harm;
    none.part = "C10";
    none.beta = 0;
    none.criticality = 0;
    none.severity = "IV";
    const std::vector<Threat> threats = {harm, none};
    const auto action = [&](ReplacePolicy replace, const std::string& id) {
        Policy policy;
        policy.replace = replace;
        for (const PartAction& a : actions_of(set, demo::catalogue(), policy, stress, {}, threats))
            if (a.part == set.part(id)) return a.action;
        return std::string();
    };
    const ReplacePolicy all = ReplacePolicy::replace_all, risky = ReplacePolicy::replace_risky,
                        prove = ReplacePolicy::prove_each;
    CHECK(action(all, "C10") == "replace");
    CHECK(action(risky, "C10") == "leave");
    CHECK(action(prove, "C10") == "measure");
    CHECK(action(risky, "C15") == "replace");       // 17 V on 25 V
    CHECK(action(risky, "C18") == "replace");       // its short harms
    CHECK(action(risky, "C1.plain") == "replace");  // its duty guards the supply
    CHECK(action(risky, "C3") == "replace");
    CHECK(action(risky, "W6") == "replace");  // seen cracked
    CHECK(action(risky, "W5") == "leave");    // sound rubber on the antenna
    CHECK(action(all, "W5") == "replace");
}

TEST_CASE("an old electrolytic that stands over its rating when the speaker is unplugged does not stay to be proved") {
    // Only a new one bears a surge of 1.1 times its rating (common practice, no source).
    const Chassis set = demo::quarry_hill();
    std::vector<PartStress> stress{
        demo::stress(set, "C1.plain", {{"normal", 345}, {"speaker-unplugged", 503}}),  // 475 V, of 1936
        demo::stress(set, "C2", {{"normal", 260}, {"speaker-unplugged", 440}})};       // 450 V
    for (PartStress& row : stress) row.rated_volts = set.parts()[static_cast<std::size_t>(row.part)].rated_volts;
    for (const bool reform : {false, true}) {
        Policy policy;
        policy.replace = ReplacePolicy::prove_each;
        if (reform) policy.electrolytics = FilterPolicy::reform;
        for (const PartAction& a : actions_of(set, demo::catalogue(), policy, stress, {})) {
            const std::string& id = set.parts()[static_cast<std::size_t>(a.part)].id;
            if (id == "C1.plain") CHECK(a.action == "replace");
            if (id == "C2") CHECK(a.action == "measure");
        }
    }
}
