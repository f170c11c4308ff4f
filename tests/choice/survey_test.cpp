// SPDX-License-Identifier: MIT
// Family, danger, hours and cost of a set, and the cautions that belong to it.
#include <algorithm>

#include <catch2/catch.hpp>

#include <tubewright/choice.hpp>

#include "sets.hpp"

using namespace tubewright;

namespace {

bool any(const std::vector<std::string>& texts, const std::string& words) {
    return std::any_of(texts.begin(), texts.end(),
                       [&](const std::string& t) { return t.find(words) != std::string::npos; });
}

Survey survey(const Chassis& set) {
    const std::vector<PartAction> actions = actions_of(set, demo::catalogue(), {}, {}, {});
    return survey_of(set, demo::catalogue(), {}, actions, shopping_list(set, demo::catalogue(), {}, {}, actions));
}

}  // namespace

TEST_CASE("a survey gives the family with its reasons, and hours and cost as ranges") {
    const Survey radio = survey(demo::quarry_hill());
    CHECK(radio.family == Family::ac_transformer);
    CHECK_FALSE(radio.hot);
    CHECK(any(radio.family_reasons, "T1"));
    CHECK(any(radio.family_reasons, "80"));
    CHECK(radio.hours_low > 2);
    CHECK(radio.hours_high > radio.hours_low);
    CHECK(radio.cost_high > radio.cost_low);
    const Survey amplifier = survey(demo::bellows_court());
    CHECK(amplifier.hours_high < radio.hours_high);
}

TEST_CASE("cautions belong to the set and always defer to the local code") {
    const std::vector<std::string> radio = cautions_for(demo::quarry_hill(), demo::catalogue());
    CHECK(any(radio, "code where you live"));
    CHECK(any(radio, "plate supply kills"));
    CHECK(any(radio, "speaker plug carries"));
    CHECK_FALSE(any(radio, "One side of the line reaches the chassis"));
    CHECK_FALSE(any(radio, "vibrator"));
    ChassisBuilder b("hot set");
    b.line(volts(117), hertz(60), "hot", "gnd");
    b.reference("gnd");
    b.node("chassis-metal", "gnd", true);
    b.resistor("R1", ohms(1000), "hot", "gnd");
    const Outcome<Chassis> hot = b.build(demo::catalogue());
    REQUIRE(hot);
    const std::vector<std::string> texts = cautions_for(*hot, demo::catalogue());
    REQUIRE_FALSE(texts.empty());
    CHECK(texts.front().find("line") != std::string::npos);
}

TEST_CASE("a transformer set whose metal is tied to a blade is told as one, not as a set without a transformer") {
    ChassisBuilder b("tied");
    b.line(volts(115), hertz(60), "hot", "gnd");
    b.reference("gnd");
    b.node("chassis-metal", "gnd", true);
    Part t;
    t.kind = PartKind::transformer;
    t.id = "T1";
    t.role = "power";
    PartWinding primary, heater;
    primary.role = WindingRole::primary;
    primary.leads = {0, 1};
    primary.volts = 115;
    heater.role = WindingRole::heater;
    heater.leads = {2, 3};
    heater.volts = 6.3;
    t.windings = {primary, heater};
    b.add(t, {{"p1", "hot"}, {"p2", "gnd"}, {"h1", "h"}, {"h2", "gnd"}});
    const Outcome<Chassis> set = b.build(demo::catalogue());
    REQUIRE(set);
    const Survey s = survey(*set);
    CHECK(s.hot);
    REQUIRE_FALSE(s.family_reasons.empty());
    CHECK(s.family_reasons.front().find("T1 is a power transformer") == 0);
    CHECK(s.family_reasons.front().find("not isolated") != std::string::npos);
    CHECK_FALSE(any(s.family_reasons, "no power transformer"));
}
