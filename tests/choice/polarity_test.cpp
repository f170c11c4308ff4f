// SPDX-License-Identifier: MIT
// Plus by the solved volts: a part drawn the wrong way round is found in service, and what contact potential leaves on
// an idle rail is not taken for one.
#include <algorithm>

#include <catch2/catch.hpp>

#include <tubewright/choice.hpp>

#include "choice/polarity.hpp"
#include "sets.hpp"

using namespace tubewright;

namespace {

PartStress row(const Chassis& set, std::vector<std::pair<std::string, double>> direct) {
    PartStress s;
    s.part = set.part("C2");
    for (const auto& [scenario, volts] : direct) {
        StressAt a;
        a.scenario = scenario;
        a.dc_volts = volts;
        a.crest_volts = std::abs(volts);
        s.worst.crest_volts = std::max(s.worst.crest_volts, a.crest_volts);
        s.scenarios.push_back(a);
    }
    return s;
}
const Part& c2(const Chassis& set) {
    return set.parts()[static_cast<std::size_t>(set.part("C2"))];
}

}  // namespace

TEST_CASE("a filter with its leads exchanged in the file is reversed in service, and its plus goes to the other lead") {
    const Chassis set = demo::quarry_hill();
    const PartStress s = row(set, {{"normal", -250}, {"warm-up", -430}, {"rectifier-out", 0}});
    const auto r = choice::reversed(c2(set), s);
    REQUIRE(r);
    CHECK(r->volts == 430);
    CHECK(r->in_service);
    CHECK(choice::plus_lead(c2(set), &s) == 1);
}

TEST_CASE("contact potential on an idle rail, and less than a volt and a half, reverse nothing") {
    const Chassis set = demo::quarry_hill();
    for (const PartStress& s : {row(set, {{"normal", 250}, {"rectifier-out", -3.09}, {"transformer-alone", -2}}),
                                row(set, {{"normal", -1.4}}), row(set, {{"normal", 250}})}) {
        CHECK_FALSE(choice::reversed(c2(set), s));
        CHECK(choice::plus_lead(c2(set), &s) == 0);
    }
    // Reversed with a tube pulled alone: said, but the new part stands as drawn.
    const PartStress odd = row(set, {{"normal", 3}, {"tube-out:V4", -6}});
    REQUIRE(choice::reversed(c2(set), odd));
    CHECK_FALSE(choice::reversed(c2(set), odd)->in_service);
    CHECK(choice::plus_lead(c2(set), &odd) == 0);
}

TEST_CASE("the shopping list and the reasons shout where plus goes when the file has it backwards") {
    const Chassis set = demo::quarry_hill();
    const std::vector<PartStress> s = {row(set, {{"normal", -250}, {"warm-up", -430}})};
    const std::vector<PartAction> actions = actions_of(set, demo::catalogue(), {}, s, {});
    const ShoppingList list = shopping_list(set, demo::catalogue(), {}, s, actions);
    const auto stop = std::find_if(list.warnings.begin(), list.warnings.end(),
                                   [](const Notice& n) { return n.severity == Severity::stop; });
    REQUIRE(stop != list.warnings.end());
    CHECK(stop->message.find("C2") != std::string::npos);
    CHECK(stop->remedy.find("goes to gnd, not to bplus") != std::string::npos);
    const auto line = std::find_if(list.lines.begin(), list.lines.end(), [](const ShopLine& l) {
        return std::count(l.for_parts.begin(), l.for_parts.end(), "C2") > 0;
    });
    REQUIRE(line != list.lines.end());
    CHECK(line->why.find("PLUS TO gnd, not to bplus") != std::string::npos);
    for (const PartAction& a : actions)
        if (a.part == set.part("C2"))
            CHECK(std::any_of(a.reasons.begin(), a.reasons.end(),
                              [](const std::string& t) { return t.find("REVERSED in the file") == 0; }));
}

TEST_CASE("a remark keeps what it says of other things than polarity") {
    PartStress s;
    s.remark = "over its volts in warm-up; plus to minus is reversed: down to -3.09 V; hot";
    CHECK(choice::remark_without_polarity(s) == "over its volts in warm-up; hot");
}
