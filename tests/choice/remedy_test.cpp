// SPDX-License-Identifier: MIT
// Resistor, capacitor and diode in the place of a resistance cord, against the figures of the trade's collection: 62.6
// V of heaters at .3 A are 181 ohm and 16.3 W on 117 V (a trade page there), 7.8 uF and 74 ohm 6.7 W on 120 V (computed
// there).
#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>

#include "chassis/data.hpp"
#include "choice/remedy.hpp"
#include "sets.hpp"

using namespace tubewright;

TEST_CASE("a resistance cord is worked out as resistor, capacitor and diode to the trade's figures") {
    const choice::StringDroppers at117 = choice::string_droppers(117, 60, 62.6, 0.3);
    CHECK(at117.ohms == Approx(181).epsilon(0.005));
    CHECK(at117.watts == Approx(16.3).epsilon(0.005));
    const choice::StringDroppers at120 = choice::string_droppers(120, 60, 62.6, 0.3);
    CHECK(at120.farads == Approx(7.8e-6).epsilon(0.01));
    // With 47 ohm in line of a string of 75.3 V at .3 A on 117 V: sqrt(117^2 - (75.3 + 14.1)^2) over .3 A, by hand.
    const choice::StringDroppers surged = choice::string_droppers(117, 60, 75.3, 0.3, 47);
    CHECK(surged.farads == Approx(10.54e-6).epsilon(0.002));
    CHECK(surged.surge_watts == Approx(4.23));
    CHECK(choice::string_droppers(117, 60, 110, 0.3, 47).farads == 0);  // more than the line has
    CHECK(at120.diode_ohms == Approx(74).epsilon(0.01));
    CHECK(at120.diode_watts == Approx(6.7).epsilon(0.01));
    // Shorted, the diode leaves only its small resistor between the line and the string.
    CHECK(at120.amps_diode_shorted == Approx(120 / (62.6 / 0.3 + at120.diode_ohms)));
    CHECK(at120.amps_diode_shorted > 1.4 * 0.3);
}

TEST_CASE("half a wave does not feed a string that wants more than its volts, and direct current passes no capacitor") {
    CHECK(choice::string_droppers(117, 60, 90, 0.15).diode_ohms == 0);
    CHECK(choice::string_droppers(117, 0, 62.6, 0.3).farads == 0);
}

namespace {

ShoppingList with_remedy(const std::string& topic, const std::string& what) {
    ShoppingList list;
    ShopLine other;
    other.quantity = 1;
    other.group = "other";
    other.what = what;
    other.for_parts = {"X1"};
    other.pieces = {1};
    other.unit_cost = other.total_cost = 3;
    list.lines.push_back(other);
    list.cost = 3;
    Remedy r;
    r.part = "X1";
    r.topic = topic;
    RemedyWay way;
    way.ohms = 36;
    way.watts = 3;
    way.beside = "choke of 8 to 10 H";
    r.ways.push_back(way);
    list.remedies.push_back(r);
    choice::buy_remedies(list, Catalogue::shipped());
    return list;
}

}  // namespace

TEST_CASE("the resistor worked out for a silicon diode is bought with it, and counted") {
    const ShoppingList list = with_remedy("selenium", "silicon diode, 1 A 1000 V");
    REQUIRE(list.lines.size() == 2);
    CHECK(list.lines[0].group == "resistors");
    CHECK(list.lines[0].value_ohms == 36);
    CHECK(list.lines[0].rated_watts == 3);
    CHECK(list.lines[1].line == 2);
    CHECK(*list.cost == Approx(3 + *list.lines[0].total_cost));
}

TEST_CASE("an open field coil is bought as choke and resistor, or else rewound") {
    const ShoppingList list = with_remedy("field coil", "field coil: 12 H");
    REQUIRE(list.lines.size() == 2);
    CHECK(list.lines[1].what == "choke of 8 to 10 H, in place of the field coil: 12 H");
    CHECK(list.lines[1].why.find("OR the coil rewound") != std::string::npos);
    CHECK(*list.cost == Approx(*list.lines[0].total_cost + 3));
}

TEST_CASE("what stands in for a field coil follows where it lies: in line, across the supply, or the bias section") {
    const auto of = [](const char* file, const char* coil) {
        const Chassis set = as_mended(demo::read(file));
        const Outcome<Bench> bench = Bench::make(set, demo::catalogue(), Policy{});
        REQUIRE(bench);
        PartAction action;
        action.part = set.part(coil);
        const std::vector<Remedy> all =
            choice::remedies_of(set, demo::catalogue(), Policy{}, ShoppingList{}, std::span(&action, 1), *bench);
        const auto found =
            std::find_if(all.begin(), all.end(), [](const Remedy& r) { return r.topic == "field coil"; });
        REQUIRE(found != all.end());
        return *found;
    };
    CHECK(of("s1-quarry-hill.xml", "L1").ways.front().what == "a choke and a resistor");
    CHECK(of("s2-heron-weir.xml", "L2").ways.front().what == "a choke and a resistor");
    const Remedy bias = of("s2-heron-weir.xml", "L1");
    REQUIRE(bias.ways.size() == 1);
    CHECK(bias.ways.front().what == "a resistor");
    CHECK(*bias.ways.front().ohms == Approx(300));

    const Remedy across = of("s4-ferry-green.xml", "L2");
    REQUIRE(across.ways.size() == 2);
    CHECK(across.ways[0].what == "a resistor in its place");
    CHECK(across.ways[0].beside.empty());
    CHECK(*across.ways[0].ohms == Approx(3000));
    // what its own cathode charges its filter to with no load but its leaks: no more than the line's crest
    const double crest = 117 * std::sqrt(2.0);
    CHECK(*across.ways[1].volts > 0.9 * crest);
    CHECK(*across.ways[1].volts <= crest * 1.001);
}
