// SPDX-License-Identifier: MIT
// The rules as data, a lawful sequence that breaks none, and each rule broken on purpose: a checker that cannot fail
// would be none.
#include <algorithm>
#include <functional>
#include <map>
#include <set>

#include <catch2/catch.hpp>

#include "small_set.hpp"

using namespace tubewright;
using K = ActKind;

namespace {

struct Bench {
    Catalogue catalogue = Catalogue::shipped();
    Chassis set = small_set::make(catalogue);
    std::set<std::string> broken(const std::vector<Act>& acts, const Progress& progress = {}) const {
        std::set<std::string> rules;
        for (const Violation& v : violations(set, catalogue, acts, progress)) rules.insert(v.rule);
        return rules;
    }
};

std::size_t find(const std::vector<Act>& acts, K kind, const std::string& with = "", std::size_t from = 0) {
    for (std::size_t k = from; k < acts.size(); ++k)
        if (acts[k].kind == kind &&
            (with.empty() || std::find(acts[k].parts.begin(), acts[k].parts.end(), with) != acts[k].parts.end()))
            return k;
    FAIL("the lawful sequence has no such act");
    return 0;
}

std::vector<Act> without(std::vector<Act> acts, K kind, const std::string& with = "") {
    acts.erase(acts.begin() + static_cast<long>(find(acts, kind, with)));
    return acts;
}
std::vector<Act> part_dropped(std::vector<Act> acts, K kind, const std::string& id) {
    std::vector<std::string>& parts = acts[find(acts, kind, id)].parts;
    parts.erase(std::find(parts.begin(), parts.end(), id));
    return acts;
}
std::vector<Act> moved(std::vector<Act> acts, std::size_t from, std::size_t to) {
    const Act act = acts[from];
    acts.erase(acts.begin() + static_cast<long>(from));
    acts.insert(acts.begin() + static_cast<long>(to), act);
    return acts;
}

}  // namespace

TEST_CASE("every rule H0 to H23 and its soft brothers stand in the table with a reason and a provenance") {
    std::set<std::string> ids;
    for (const BenchRule& r : bench_rules()) {
        CHECK(ids.insert(r.id).second);
        CHECK_FALSE(r.before.empty());
        CHECK_FALSE(r.after.empty());
        CHECK_FALSE(r.reason.empty());
        CHECK(r.hard == (r.id[0] == 'H'));
        CHECK(r.source.provenance == Provenance::practice);
    }
    for (int n = 0; n <= 23; ++n) {
        const bool soft = n == 4 || n == 10 || n == 14 || n == 16;
        std::string id = soft ? "s" : "H";
        id += std::to_string(n);
        CHECK(ids.count(id) == 1);
    }
    CHECK(ids.size() == 24);
}

TEST_CASE("a lawful sequence from the found set to hand-back breaks nothing") {
    const Bench bench;
    for (const Violation& v : violations(bench.set, bench.catalogue, small_set::lawful(), {}))
        FAIL_CHECK(v.rule << " at act " << v.act << " ("
                          << word(small_set::lawful()[static_cast<std::size_t>(v.act)].kind) << "): " << v.why);
}

TEST_CASE("each rule broken on purpose is named") {
    const Bench bench;
    const std::vector<Act> good = small_set::lawful();
    const auto names = [&](const std::string& rule, const std::vector<Act>& acts) {
        INFO(rule);
        CHECK(bench.broken(acts).count(rule) == 1);
    };
    names("H0", without(good, K::check_supply));
    names("H1", without(good, K::make_cord_safe));
    names("H2", without(good, K::photograph));
    names("H3", without(good, K::settle_reference));
    names("s4", without(good, K::cold_ohms, "T1"));
    names("H5", without(good, K::fit, "W1"));
    names("H5", part_dropped(good, K::inspect, "S1"));
    names("H5", part_dropped(good, K::inspect, "DS1"));
    names("H5", part_dropped(good, K::fit, "C1"));
    names("H6", part_dropped(good, K::fit, "C9"));
    names("H6", without(without(good, K::power_transformer_alone), K::power_transformer_alone));
    {
        std::vector<Act> hurried = good;
        for (Act& a : hurried)
            if (a.kind == K::power_transformer_alone) a.minutes = 10;
        names("H6", hurried);
    }
    names("H6", part_dropped(good, K::remove, "V2"));
    for (const char* filter : {"C2", "C3", "C4", "C6", "C7"}) names("H7", part_dropped(good, K::fit, filter));
    names("H8", without(good, K::fit, "C4"));
    names("H9", part_dropped(good, K::measure, "R3"));
    names("H9", part_dropped(good, K::measure, "R2"));
    names("s10", moved(good, find(good, K::measure, "R3"), find(good, K::fit, "C4")));
    names("H11", without(good, K::plug_speaker));
    names("H11", moved(good, find(good, K::plug_speaker), find(good, K::power_heaters)));
    names("H13", without(good, K::log_volts));
    names("s14", without(good, K::soak));
    names("H15", without(good, K::check_touch_current));
    names("s16", without(good, K::inspect, "C6"));
    {
        std::vector<Act> forgotten = good;
        forgotten.insert(forgotten.begin() + static_cast<long>(find(good, K::plug_speaker)),
                         Act{K::lift, {"R5"}, "", 0});
        names("H17", forgotten);
    }
    names("H17", part_dropped(good, K::refit_tube, "DS1"));
    names("H18", without(good, K::find_cause));
    {
        std::vector<Act> wrong = good;  // a capacitor whose short cannot have burnt it
        wrong[find(wrong, K::find_cause)].parts[1] = "C2";
        names("H18", wrong);
    }
    names("H19", moved(good, find(good, K::cold_ohms, ""), 2));
    {
        std::vector<Act> proved = good;  // charged for its leakage, and put back by hand
        const auto fit = static_cast<long>(find(good, K::fit, "C2"));
        proved.insert(proved.begin() + fit,
                      {{K::lift, {"C2"}, "", 0}, {K::measure, {"C2"}, "", 0}, {K::reconnect, {"C2"}, "", 0}});
        names("H19", proved);
        proved.insert(proved.begin() + fit + 2, {K::discharge, {"C2"}, "", 0});
        CHECK(bench.broken(proved).empty());
    }
    {
        std::vector<Act> one = good;  // one capacitor is not the set
        for (Act& a : one)
            if (a.kind == K::discharge) a.parts = {"C2"};
        names("H19", one);
    }
    {
        std::vector<Act> late = good;  // a joint after the cold ohms
        late.insert(late.begin() + static_cast<long>(find(good, K::power_heaters)), Act{K::fit, {"C8"}, "", 0});
        names("H19", late);
    }
    {
        std::vector<Act> charged = good;  // the plug pulled, nothing emptied
        charged.erase(charged.begin() +
                      static_cast<long>(find(charged, K::discharge, "", find(charged, K::power_heaters))));
        names("H19", charged);
    }
    names("H20", part_dropped(good, K::test_tube, "V2"));
    names("H20", part_dropped(good, K::test_tube, "V1"));
    names("H21", part_dropped(good, K::measure, "T2"));
    names("H21", moved(good, find(good, K::measure, "T2"), find(good, K::plug_speaker)));
    names("H23", part_dropped(good, K::trace_polarity, "C2"));
    names("H23", without(good, K::trace_polarity, "C5"));
}

TEST_CASE("an earth or a three-wire cord waits for the line capacitor, and never comes to a hot chassis") {
    const Bench bench;
    std::vector<Act> acts = small_set::lawful();
    const std::size_t renewed = find(acts, K::fit, "C1");
    std::vector<Act> late = acts, early = acts;
    late.insert(late.begin() + static_cast<long>(renewed) + 2, Act{K::earth_instrument, {}, "", 0});
    early.insert(early.begin() + static_cast<long>(renewed), Act{K::earth_instrument, {}, "", 0});
    CHECK(bench.broken(late).empty());
    CHECK(bench.broken(early) == std::set<std::string>{"H22"});
    const Chassis hot = small_set::make(bench.catalogue, false, true);
    bool named = false;
    for (const Violation& v : violations(hot, bench.catalogue, late, {})) named = named || v.rule == "H22";
    CHECK(named);
}

TEST_CASE("an earth that was found on the chassis is off before the line comes, and off when touch current is read") {
    const Bench bench;
    const auto said = [&](const Chassis& set, const std::vector<Act>& acts, const Progress& progress = {}) {
        std::set<std::string> rules;
        for (const Violation& v : violations(set, bench.catalogue, acts, progress)) rules.insert(v.rule);
        return rules;
    };
    const std::vector<Act> good = small_set::lawful();
    const auto lifted_at = [&](std::size_t place) {
        std::vector<Act> acts = good;
        acts.insert(acts.begin() + static_cast<long>(place), Act{K::lift_earth, {}, "", 0});
        return acts;
    };
    const std::size_t power = find(good, K::power_transformer_alone), touch = find(good, K::check_touch_current);
    for (const char* net : {"earth", "gnd"}) {
        const Chassis set = small_set::make(bench.catalogue, false, false, false, true, "wax-paper", "", net);
        INFO(net);
        CHECK(said(set, good) == std::set<std::string>{"H15", "H22"});
        CHECK(said(set, lifted_at(power)).empty());
        CHECK(said(set, lifted_at(power + 1)) == std::set<std::string>{"H22"});
        CHECK(said(set, lifted_at(touch + 1)) == std::set<std::string>{"H15", "H22"});
        Progress done;
        done.steps_done = {"earth-off"};
        CHECK(said(set, good, done).empty());
        // nothing of the line to the metal: the earth is lawful, but for the touch current
        const Chassis safe = small_set::make(bench.catalogue, true, false, false, true, "wax-paper", "", net);
        CHECK(said(safe, good) == std::set<std::string>{"H15"});
        CHECK(said(safe, lifted_at(touch)).empty());
    }
    Progress wire;
    wire.parts["W6"] = PartState::lifted;  // and H17 does not want it back
    CHECK(said(small_set::make(bench.catalogue, false, false, false, true, "wax-paper", "", "earth"), good, wire)
              .empty());
}

TEST_CASE("swapping any two acts that a rule binds is caught") {
    const Bench bench;
    const std::vector<Act> good = small_set::lawful();
    const auto at = [&](K kind, const std::string& with = "") { return find(good, kind, with); };
    const std::vector<std::pair<std::size_t, std::size_t>> bound = {
        {at(K::check_supply), at(K::make_cord_safe)},
        {at(K::make_cord_safe), at(K::settle_reference)},
        {at(K::settle_reference), at(K::cold_ohms)},
        {at(K::photograph), at(K::fit, "W1")},
        {at(K::cold_ohms), find(good, K::buy, "", at(K::buy) + 1)},
        {at(K::fit, "W1"), at(K::power_transformer_alone)},
        {at(K::fit, "C1"), at(K::power_transformer_alone)},
        {at(K::power_transformer_alone) + 1, at(K::refit_tube, "V2")},
        {at(K::fit, "C2"), at(K::refit_tube, "V2")},
        {at(K::fit, "C4"), at(K::refit_tube, "V1")},
        {at(K::measure, "R3"), at(K::refit_tube, "V1")},
        {at(K::plug_speaker), at(K::power_b_plus)},
        {at(K::plug_speaker), at(K::measure, "T2")},
        {at(K::find_cause), at(K::fit, "R4")},
        {at(K::test_tube), at(K::refit_tube, "V2")},
        {at(K::trace_polarity, "C2"), at(K::refit_tube, "V2")},
        {at(K::log_volts), at(K::align)},
        {at(K::soak), at(K::reassemble)},
        {at(K::check_touch_current), at(K::hand_back)},
    };
    for (const auto& [a, b] : bound) {
        std::vector<Act> swapped = good;
        std::swap(swapped[a], swapped[b]);
        INFO(word(good[a].kind) << " and " << word(good[b].kind));
        CHECK_FALSE(bench.broken(swapped).empty());
    }
}

TEST_CASE("what the log says was done before counts") {
    const Bench bench;
    Progress progress;
    progress.gates_passed = {"H0", "H1", "H2", "H3", "s4", "H5", "H6", "H7", "H8", "H9", "H11", "H19", "H21", "H23"};
    progress.parts = {{"V2", PartState::removed}};
    const std::vector<Act> acts = {
        {K::test_tube, {"V1", "V2"}, "", 0}, {K::refit_tube, {"V2"}, "", 0}, {K::power_b_plus, {}, "", 5}};
    CHECK(bench.broken(acts, progress).empty());
    progress.parts["R5"] = PartState::lifted;
    CHECK(bench.broken(acts, progress) == std::set<std::string>{"H17"});
    progress.parts["R5"] = PartState::omitted;
    CHECK(bench.broken(acts, progress).empty());
}

TEST_CASE("an old capacitor that was lifted and put back is not a new one") {
    const Bench bench;
    std::vector<Act> acts = part_dropped(small_set::lawful(), K::fit, "C2");
    const std::size_t at = find(acts, K::fit, "C3");
    acts.insert(acts.begin() + static_cast<long>(at), {Act{K::lift, {"C2"}, "", 0}, Act{K::reconnect, {"C2"}, "", 0}});
    CHECK(bench.broken(acts).count("H7") == 1);
    acts.insert(acts.begin() + static_cast<long>(at) + 1, Act{K::measure, {"C2"}, "", 0});
    CHECK(bench.broken(acts).count("H7") == 0);
}

TEST_CASE("a cracked plate, heater or lamp lead stops the line, a cracked B-plus lead does not") {
    const Catalogue catalogue = Catalogue::shipped();
    const Chassis set = small_set::make(catalogue, false, false, true);
    const auto stopped = [&](const std::vector<std::string>& shown) {
        std::vector<Act> acts = small_set::lawful();
        std::vector<std::string>& seen = acts[find(acts, K::inspect, "S1")].parts;
        seen.insert(seen.end(), shown.begin(), shown.end());
        for (const Violation& v : violations(set, catalogue, acts, {}))
            if (v.rule == "H5") return true;
        return false;
    };
    CHECK_FALSE(stopped({"W3", "W5"}));
    CHECK(stopped({"W5"}));
    CHECK(stopped({"W3"}));
}

TEST_CASE("a pulled lamp leaves its lead behind: sleeved or shown sound, else the line stays out") {
    const Bench bench;
    std::vector<Act> acts = part_dropped(small_set::lawful(), K::inspect, "DS1");
    CHECK(bench.broken(acts).count("H5") == 1);
    const std::size_t pulled = find(acts, K::remove, "DS1");
    acts.insert(acts.begin() + static_cast<long>(pulled), Act{K::sleeve, {"DS1"}, "", 0});
    CHECK(bench.broken(acts).empty());
    // It is iron at an empty set: after the photographs and the discharge.
    acts = moved(acts, find(acts, K::sleeve), find(acts, K::discharge));
    const std::set<std::string> early = bench.broken(acts);
    CHECK(early.count("H2") == 1);
    CHECK(early.count("H19") == 1);
}

TEST_CASE("a set that was built without a fuse gets one before the line reaches its transformer") {
    Bench bench;
    bench.set = small_set::make(bench.catalogue, false, false, false, false);
    std::vector<Act> acts = small_set::lawful();
    CHECK(bench.broken(acts).count("H5") == 1);
    const std::size_t alone = find(acts, K::power_transformer_alone);
    std::vector<Act> late = acts;
    late.insert(late.begin() + static_cast<long>(alone) + 1, Act{K::fit_fuse, {}, "", 0});
    CHECK(bench.broken(late).count("H5") == 1);
    acts.insert(acts.begin() + static_cast<long>(alone), Act{K::fit_fuse, {}, "", 0});
    CHECK(bench.broken(acts).empty());
    Progress progress;
    progress.steps_done = {"fit-fuse"};
    CHECK(bench.broken(small_set::lawful(), progress).empty());
}

TEST_CASE("a loose lead is good again when it is resoldered and looked at, a loose and cracked one is not") {
    const Catalogue catalogue = Catalogue::shipped();
    const auto stopped = [&](const std::string& seen, bool soldered, bool looked) {
        const Chassis set = small_set::make(catalogue, false, false, false, true, "wax-paper", seen);
        std::vector<Act> acts = part_dropped(small_set::lawful(), K::inspect, "W2");
        const long at = static_cast<long>(find(acts, K::inspect));
        if (looked) acts.insert(acts.begin() + at, Act{K::inspect, {"W2"}, "", 0});
        if (soldered) acts.insert(acts.begin() + at, Act{K::reconnect, {"W2"}, "", 0});
        const std::vector<Violation> found = violations(set, catalogue, acts, {});
        return std::any_of(found.begin(), found.end(), [](const Violation& v) { return v.rule == "H5"; });
    };
    CHECK_FALSE(stopped("loose", true, true));
    CHECK(stopped("loose", false, true));
    CHECK(stopped("loose", true, false));
    CHECK(stopped("loose cracked", true, true));
}

TEST_CASE("a film capacitor that stays is proved before the rectifier goes back") {
    const Catalogue catalogue = Catalogue::shipped();
    const Chassis set = small_set::make(catalogue, false, false, false, true, "film");
    const auto h7 = [&](const std::vector<Act>& acts) {
        const std::vector<Violation> found = violations(set, catalogue, acts, {});
        return std::any_of(found.begin(), found.end(), [](const Violation& v) { return v.rule == "H7"; });
    };
    std::vector<Act> acts = small_set::lawful();
    CHECK_FALSE(h7(acts));
    const std::size_t at = find(acts, K::fit, "C7");
    acts = part_dropped(acts, K::fit, "C7");
    CHECK(h7(acts));
    acts.insert(acts.begin() + static_cast<long>(at) + 1, Act{K::measure, {"C7"}, "", 0});
    CHECK_FALSE(h7(acts));
}

TEST_CASE("a series string is not powered with a tube out, nor without the lamp of its tap") {
    const Catalogue catalogue = Catalogue::shipped();
    ChassisBuilder b("string");
    b.line(volts(117), hertz(60), "P1.1", "P1.2");
    b.reference("bminus");
    b.node("b-minus", "bminus", true);
    Part plug = small_set::part(PartKind::plug, "P1");
    plug.role = "line";
    b.add(plug, {});
    b.socket("V1", "50L6GT");
    b.socket("V2", "35Z5GT");
    b.add(small_set::part(PartKind::lamp, "DS1"), {{"a", "V2.2"}, {"b", "V2.3"}});
    b.join({"P1.1", "V2.7"});
    b.join({"V2.2", "V1.2"});
    b.join({"V1.7", "bminus"});
    b.join({"P1.2", "bminus"});
    const Outcome<Chassis> set = b.build(catalogue);
    if (!set) FAIL(set.notices().front().text());
    const auto broken = [&](const std::vector<std::string>& out) {
        std::vector<Act> acts;
        if (!out.empty()) acts.push_back({K::remove, out, "", 0});
        acts.push_back({K::power_heaters, {}, "", 5});
        std::set<std::string> rules;
        for (const Violation& v : violations(*set, catalogue, acts, {})) rules.insert(v.rule);
        return rules.count("H12") == 1;
    };
    CHECK_FALSE(broken({}));
    CHECK(broken({"V1"}));
    CHECK(broken({"V2"}));
    CHECK(broken({"DS1"}));
}

TEST_CASE("a lamp that was found dead is a gap in its string until a new one is in") {
    const Catalogue catalogue = Catalogue::shipped();
    ChassisBuilder b("string");
    b.line(volts(117), hertz(60), "P1.1", "P1.2");
    b.reference("bminus");
    Part plug = small_set::part(PartKind::plug, "P1");
    plug.role = "line";
    b.add(plug, {});
    b.socket("V2", "35Z5GT");
    Part lamp = small_set::part(PartKind::lamp, "DS1");
    lamp.seen = "dead";
    b.add(lamp, {{"a", "V2.2"}, {"b", "V2.3"}});
    b.join({"P1.1", "V2.7"});
    b.join({"V2.2", "bminus"});
    b.join({"P1.2", "bminus"});
    const Outcome<Chassis> set = b.build(catalogue);
    if (!set) FAIL(set.notices().front().text());
    const auto gap = [&](const std::vector<Act>& acts) {
        const std::vector<Violation> found = violations(*set, catalogue, acts, {});
        return std::any_of(found.begin(), found.end(), [](const Violation& v) { return v.rule == "H12"; });
    };
    const Act heaters{K::power_heaters, {}, "", 5};
    CHECK(gap({heaters}));
    CHECK_FALSE(gap({{K::fit, {"DS1"}, "", 0}, heaters}));
}
