// SPDX-License-Identifier: MIT
// What a person finds in a set changes the whole plan: each case is the radio with one line of its file written
// otherwise, planned to the end, and judged by the checker of the hard rules.
#include <tubewright/netlist.hpp>
#include <tubewright/rules.hpp>
#include <tubewright/study.hpp>

#include <algorithm>
#include <fstream>
#include <iterator>

#include <catch2/catch.hpp>

namespace tw = tubewright;

namespace {

const tw::Catalogue& catalogue() {
    static const tw::Catalogue shipped = tw::Catalogue::shipped();
    return shipped;
}

struct Planned {
    tw::Study study;
    explicit Planned(const std::string& was, const std::string& now, tw::Policy policy = {})
        : study(set_with(was, now), catalogue(), policy) {
        std::vector<tw::Act> acts;
        const tw::RepairOrder order = study.steps();
        for (const tw::RepairStep& s : order.steps) acts.insert(acts.end(), s.acts.begin(), s.acts.end());
        std::string said;
        for (const tw::Violation& v : tw::violations(study.chassis(), catalogue(), acts, {}))
            said += v.rule + ": " + v.why + "\n";
        INFO(now);
        CHECK(said == "");
    }
    static tw::Chassis set_with(const std::string& was, const std::string& now) {
        std::ifstream in(std::string(TUBEWRIGHT_ROOT) + "/netlists/s1-quarry-hill.xml");
        std::string text(std::istreambuf_iterator<char>(in), {});
        const std::size_t place = text.find(was);
        REQUIRE(place != std::string::npos);
        const auto set = tw::read_chassis_text(text.replace(place, was.size(), now), "found.xml", catalogue());
        if (!set) FAIL(set.notices().front().text());
        return *set;
    }
    std::string action(const std::string& id) const {
        const tw::Survey all = *study.survey();
        for (const tw::PartAction& a : all.parts)
            if (study.chassis().parts()[static_cast<std::size_t>(a.part)].id == id) return a.action;
        return "";
    }
    /// Order of the first step that does it to the part (empty: at all); 0 when none does.
    int step(tw::ActKind kind, const std::string& id) const {
        const tw::RepairOrder order = study.steps();
        for (const tw::RepairStep& s : order.steps)
            for (const tw::Act& a : s.acts)
                if (a.kind == kind && (id.empty() || std::count(a.parts.begin(), a.parts.end(), id) > 0))
                    return s.order;
        return 0;
    }
    const tw::ShopLine* bought(const std::string& id) {
        list = *study.shop();
        for (const tw::ShopLine& l : list.lines)
            if (std::count(l.for_parts.begin(), l.for_parts.end(), id) > 0) return &l;
        return nullptr;
    }
    tw::ShoppingList list;
};

const std::string coupler = R"(id="C16" value=".02 mfd" volts="400" a="V3.2" b="V4.4" location="TS2" seen="waxy")";

}  // namespace

TEST_CASE("A part over its rating in service is replaced under every policy, however young it is") {
    for (const auto replace :
         {tw::ReplacePolicy::replace_all, tw::ReplacePolicy::replace_risky, tw::ReplacePolicy::prove_each}) {
        tw::Policy policy;
        policy.replace = replace;
        Planned film(
            coupler,
            R"(id="C16" value=".02 mfd" volts="250" a="V3.2" b="V4.4" location="TS2" construction="film" since="2019")",
            policy);
        CHECK(film.action("C16") == "replace");
        CHECK(film.bought("C16") != nullptr);
        CHECK(film.step(tw::ActKind::fit, "C16") > 0);
        Planned filter(R"(value="8-450" construction="dry-electrolytic" plus="bplus" minus="gnd" since="1956")",
                       R"(value="8-350" construction="modern-electrolytic" plus="bplus" minus="gnd" since="2018")",
                       policy);
        CHECK(filter.action("C2") == "replace");
        REQUIRE(filter.bought("C2") != nullptr);
        CHECK(filter.bought("C2")->rated_volts.value_or(0) >= 450);
    }
}

TEST_CASE("A new coupler is proved before the output tube is powered, since its gate asks for it") {
    Planned p(
        coupler,
        R"(id="C16" value=".02 mfd" volts="630" a="V3.2" b="V4.4" location="TS2" construction="film" since="2019")");
    CHECK(p.action("C16") == "measure");
    const int proved = p.step(tw::ActKind::measure, "C16"), powered = p.step(tw::ActKind::power_b_plus, "");
    CHECK(proved > 0);
    CHECK(proved < powered);
}

TEST_CASE("A transformer that is found charred is replaced before any transformer is tried") {
    Planned p(R"(<transformer id="T1" role="power" va="60")",
              R"(<transformer id="T1" role="power" va="60" seen="charred")");
    CHECK(p.action("T1") == "replace");
    const int fitted = p.step(tw::ActKind::fit, "T1"), tried = p.step(tw::ActKind::power_transformer_alone, "T1");
    CHECK(fitted > 0);
    CHECK(tried > fitted);
    CHECK(p.step(tw::ActKind::fit_fuse, "") > 0);
    // and the checker of the rules says so by itself
    std::vector<tw::Act> kept;
    const tw::RepairOrder plan = p.study.steps();
    for (const tw::RepairStep& s : plan.steps)
        for (const tw::Act& one : s.acts)
            if (std::count(one.parts.begin(), one.parts.end(), "T1") == 0 ||
                one.kind == tw::ActKind::power_transformer_alone || one.kind == tw::ActKind::cold_ohms)
                kept.push_back(one);
    const std::vector<tw::Violation> found = tw::violations(p.study.chassis(), catalogue(), kept, {});
    CHECK(std::any_of(found.begin(), found.end(),
                      [](const tw::Violation& v) { return v.why.find("looks burnt") != std::string::npos; }));
    double cost = 0;
    const tw::RepairOrder order = p.study.steps();
    for (const tw::RepairStep& s : order.steps) cost += s.cost;
    CHECK(cost == Approx(p.study.shop()->cost.value_or(0)));
}

TEST_CASE("What may have burnt a resistor and was replaced since is proved before the new resistor goes in") {
    Planned p(R"(construction="moulded-paper" a="screens" b="gnd" since="1956")",
              R"(construction="film" a="screens" b="gnd" since="2018")");
    CHECK(p.action("C12") == "measure");
    // a film bypass of the screens is no tuned circuit
    const tw::Survey survey = *p.study.survey();
    for (const tw::PartAction& a : survey.parts)
        if (p.study.chassis().parts()[static_cast<std::size_t>(a.part)].id == "C12")
            CHECK(std::count(a.reasons.begin(), a.reasons.end(), "screen bypass") == 1);
    const int proved = p.step(tw::ActKind::measure, "C12"), fitted = p.step(tw::ActKind::fit, "R3");
    CHECK(proved > 0);
    CHECK(fitted > proved);
}

TEST_CASE("A class-Y capacitor that passes too much to a hand goes, whatever its class") {
    Planned p(
        R"(id="C3" value=".01 mfd" volts="400" a="TS1.1" b="gnd" location="TS1" seen="waxy")",
        R"(id="C3" value=".01 mfd" volts="400" a="TS1.1" b="gnd" location="TS1" construction="safety-y" since="2020")");
    CHECK(p.action("C3") == "replace");
    REQUIRE(p.bought("C3") != nullptr);
    CHECK(p.bought("C3")->value_farads.value_or(1) < .01e-6);
}

TEST_CASE("Parts are bought for the set as it will be, not for the one in which the field is open") {
    Planned sound(R"(role="field" henries="12")", R"(role="field" henries="12")");
    Planned open(R"(role="field" henries="12")", R"(role="field" seen="open" henries="12")");
    for (const char* id : {"C1.plain", "C2", "C15"}) {
        INFO(id);
        REQUIRE(open.bought(id) != nullptr);
        CHECK(open.bought(id)->rated_volts == sound.bought(id)->rated_volts);
    }
}

TEST_CASE("A cord of a few years ago in which nothing is seen is looked over and kept") {
    Planned p(R"(<cord id="W1" construction="line-cord" seen="spliced" since="1948")",
              R"(<cord id="W1" construction="line-cord" since="2020")");
    CHECK(p.action("W1") == "leave");
    CHECK(p.bought("W1") == nullptr);
    CHECK(p.step(tw::ActKind::inspect, "W1") > 0);
}

TEST_CASE("A sound wire at a loose joint is resoldered, and nothing is bought for it") {
    Planned loose(R"(<wire id="W7" from="V5.1" to="P2.1" construction="cloth")",
                  R"(<wire id="W7" from="V5.1" to="P2.1" construction="cloth" seen="loose")");
    CHECK(loose.action("W7") == "measure");
    CHECK(loose.step(tw::ActKind::reconnect, "W7") > 0);
    CHECK(loose.bought("W7") == nullptr);
}

TEST_CASE("A fuse of the size that the solve asks for stays, a larger one goes") {
    const std::string was = R"(<switch id="S1" a="P1.1" b="TS1.1")";
    const auto with = [&](const std::string& amps) {
        return R"(<fuse id="F1" amps=")" + amps +
               R"(" a="P1.1" b="fused" location="TS1"/><switch id="S1" a="fused" b="TS1.1")";
    };
    Planned right(was, with(".75"));
    CHECK(right.action("F1") == "leave");
    CHECK(right.bought("F1") == nullptr);
    Planned large(was, with("3"));
    CHECK(large.action("F1") == "replace");
    REQUIRE(large.bought("F1") != nullptr);
    CHECK(large.bought("F1")->what.find("750 mA") != std::string::npos);
}

TEST_CASE("A film capacitor that loads the supply is proved before the rectifier goes back, as a paper one is") {
    Planned film(
        R"(<capacitor id="C12" value=".1 mfd" volts="400" construction="moulded-paper" a="screens" b="gnd" since="1956")",
        R"(<capacitor id="C12" value=".1 mfd" volts="630" construction="film" a="screens" b="gnd" since="2018")");
    CHECK(film.action("C12") == "measure");
    CHECK(film.step(tw::ActKind::measure, "C12") > 0);
}
