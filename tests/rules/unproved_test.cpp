// SPDX-License-Identifier: MIT
// What a log proves and what it does not, on the lawful sequence of the small set.
#include <catch2/catch.hpp>
#include <set>

#include "small_set.hpp"

using namespace tubewright;
using K = ActKind;

namespace {

const Catalogue& catalogue() {
    static const Catalogue shipped = Catalogue::shipped();
    return shipped;
}
const Chassis& set() {
    static const Chassis made = small_set::make(catalogue());
    return made;
}

/// The lawful sequence up to the first tube that goes back, as a log has it.
Progress logged() {
    Progress progress;
    for (const Act& act : small_set::lawful()) {
        if (act.kind == K::refit_tube) break;
        progress.deeds.push_back({word(act.kind), act.parts, act.minutes});
        for (const std::string& id : act.parts) {
            if (act.kind == K::remove) progress.parts[id] = PartState::removed;
            if (act.kind == K::fit) progress.parts[id] = PartState::fitted;
        }
    }
    return progress;
}
std::set<std::string> open(const Progress& progress, K next) {
    std::set<std::string> rules;
    for (const auto& [rule, why] : unproved(set(), catalogue(), progress, next)) {
        CHECK_FALSE(why.empty());
        rules.insert(rule);
    }
    return rules;
}
/// What is open for B-plus once the deeds of this kind (of this part) are struck out.
std::set<std::string> without(K kind, const std::string& part = {}) {
    Progress progress = logged();
    std::erase_if(progress.deeds, [&](const Deed& deed) {
        return deed.act == word(kind) &&
               (part.empty() || std::find(deed.parts.begin(), deed.parts.end(), part) != deed.parts.end());
    });
    return open(progress, K::power_b_plus);
}

}  // namespace

TEST_CASE("the word of every act is its own and leads back to it") {
    std::set<std::string> words;
    for (int k = 0; k <= static_cast<int>(K::leave_out); ++k) {
        const auto kind = static_cast<K>(k);
        CHECK(words.insert(word(kind)).second);
        REQUIRE(act_of(word(kind)));
        CHECK(*act_of(word(kind)) == kind);
    }
    CHECK_FALSE(act_of("whistle"));
}

TEST_CASE("an evening's lawful work proves all that B-plus asks for") {
    const std::set<std::string> left = open(logged(), K::power_b_plus);
    CHECK(left == std::set<std::string>{"H13", "H15", "s14"});  // of what comes after it
    CHECK(open(logged(), K::power_heaters).count("H8") == 0);
}

TEST_CASE("an empty log proves nothing") {
    Progress progress;
    progress.deeds.push_back({word(K::discharge), {}, 0});
    const std::set<std::string> left = open(progress, K::power_b_plus);
    for (const char* rule : {"H0", "H1", "H2", "H3", "H5", "H6", "H7", "H8", "H9", "H11", "H19", "H20", "H21", "H23"}) {
        INFO(rule);
        CHECK(left.count(rule) == 1);
    }
}

TEST_CASE("each thing that is missing opens its rule and names what is not shown") {
    CHECK(without(K::check_supply).count("H0") == 1);
    CHECK(without(K::make_cord_safe).count("H1") == 1);
    CHECK(without(K::photograph).count("H2") == 1);
    CHECK(without(K::settle_reference).count("H3") == 1);
    CHECK(without(K::power_transformer_alone).count("H6") == 1);
    CHECK(without(K::fit, "C2").count("H7") == 1);
    CHECK(without(K::trace_polarity, "C2").count("H23") == 1);
    CHECK(without(K::fit, "C4").count("H8") == 1);
    CHECK(without(K::plug_speaker).count("H11") == 1);
    CHECK(without(K::test_tube).count("H20") == 1);
    CHECK(without(K::cold_ohms).count("H19") == 1);
    CHECK(without(K::inspect, "P1").count("H5") == 1);
    CHECK(without(K::measure, "R3").count("H9") == 1);
}

TEST_CASE("a part lifted after the ohms opens H17 and H19 again; back in, H19 is still to be read") {
    Progress progress = logged();
    progress.deeds.push_back({word(K::lift), {"R1"}, 0});
    progress.parts["R1"] = PartState::lifted;
    CHECK(open(progress, K::power_b_plus).count("H17") == 1);
    progress.deeds.push_back({word(K::reconnect), {"R1"}, 0});
    progress.parts.erase("R1");
    const std::set<std::string> left = open(progress, K::power_b_plus);
    CHECK(left.count("H17") == 0);
    CHECK(left.count("H19") == 1);
    progress.deeds.push_back({word(K::lift), {"R1"}, 0});
    progress.deeds.push_back({word(K::leave_out), {"R1"}, 0});
    CHECK(open(progress, K::power_b_plus).count("H17") == 0);
}

TEST_CASE("a rule signed by hand is proved, and the heaters want the rectifier out") {
    Progress progress = logged();
    std::erase_if(progress.deeds, [](const Deed& deed) { return deed.act == word(K::plug_speaker); });
    CHECK(open(progress, K::power_b_plus).count("H11") == 1);
    progress.gates_passed = {"H11"};
    CHECK(open(progress, K::power_b_plus).count("H11") == 0);
    progress.parts.erase("V2");
    CHECK(open(progress, K::power_heaters).count("H6") == 1);
}

TEST_CASE("hands go in after a discharge, not before") {
    Progress progress = logged();
    CHECK(open(progress, K::inspect).count("charge") == 0);
    progress.deeds.push_back({word(K::power_heaters), {}, 5});
    CHECK(open(progress, K::inspect).count("charge") == 1);
}

namespace {

/// All of the lawful sequence, and then these.
Progress whole_and(const std::vector<Deed>& more) {
    Progress progress;
    for (const Act& act : small_set::lawful()) progress.deeds.push_back({word(act.kind), act.parts, act.minutes});
    progress.deeds.insert(progress.deeds.end(), more.begin(), more.end());
    return progress;
}

}  // namespace

TEST_CASE("a proof ends with the change of what it proved") {
    const auto after = [](K kind, const std::string& part, K next) {
        return open(whole_and({{word(K::discharge), {}, 0}, {word(kind), {part}, 0}, {word(K::inspect), {part}, 0}}),
                    next);
    };
    CHECK(open(whole_and({{word(K::discharge), {}, 0}}), K::power_b_plus).empty());
    SECTION("a new transformer has not run alone") {
        CHECK(after(K::fit, "T1", K::power_b_plus).count("H6") == 1);
        CHECK(after(K::reconnect, "T1", K::power_b_plus).count("H6") == 1);
        CHECK(after(K::fit, "C2", K::power_b_plus).count("H6") == 0);
    }
    SECTION("a new tube is not tested, a tube that was pulled is") {
        CHECK(after(K::fit, "V2", K::power_b_plus).count("H20") == 1);
        CHECK(after(K::fit, "V1", K::power_heaters).count("H20") == 1);
        CHECK(after(K::remove, "V1", K::power_heaters).count("H20") == 0);
        Progress tested = whole_and({{word(K::discharge), {}, 0}, {word(K::fit), {"V2"}, 0}});
        tested.deeds.push_back({word(K::test_tube), {"V2"}, 0});
        CHECK(open(tested, K::power_b_plus).count("H20") == 0);
    }
    SECTION("a new output transformer has no continuity yet") {
        CHECK(after(K::fit, "T2", K::power_b_plus).count("H21") == 1);
    }
    SECTION("a joint in the supply takes the volts, the soak and the touch current back, one elsewhere does not") {
        for (const char* part : {"C2", "R1", "C4", "R3", "T1"})
            for (const char* rule : {"H13", "s14", "H15"}) {
                INFO(part << " " << rule);
                CHECK(after(K::fit, part, K::align).count(rule) == 1);
            }
        for (const char* rule : {"H13", "s14", "H15"}) CHECK(after(K::fit, "C8", K::align).count(rule) == 0);
        CHECK(after(K::fit, "C8", K::align).count("H19") == 1);
    }
}

TEST_CASE("what a change takes back is named, and reaches as far as it hangs in the set") {
    const Progress progress = whole_and({{word(K::fit), {"C2"}, 0}, {word(K::fit), {"V1"}, 0}});
    const Changes changes(set(), catalogue(), progress);
    const std::size_t then = progress.deeds.size() - 2;
    CHECK(changes.since(then, K::power_full_line) == std::vector<std::string>{"C2", "V1"});
    CHECK(changes.since(then, K::power_heaters) == std::vector<std::string>{"V1"});
    CHECK(changes.since(then, K::power_transformer_alone).empty());
    CHECK(changes.since(then, K::test_tube, "V1") == std::vector<std::string>{"V1"});
    CHECK(changes.since(then, K::test_tube, "V2").empty());
    CHECK(changes.since(then, K::cold_ohms) == std::vector<std::string>{"C2"});  // read with the tubes out
    CHECK(changes.since(progress.deeds.size(), K::power_full_line).empty());
    CHECK(changes.in_supply("C2"));
    CHECK_FALSE(changes.in_supply("C8"));
    CHECK_FALSE(changes.in_supply("V1"));
}
