// SPDX-License-Identifier: MIT
// The trade's collection, row by row: old values to new, ladders of volts, peaks that the ladders must hold (common
// practice, no source; peaks are computed there from the line).
#include <algorithm>
#include <cmath>

#include <catch2/catch.hpp>

#include <tubewright/choice.hpp>

#include "choice/duty.hpp"
#include "sets.hpp"

using namespace tubewright;

namespace {

/// A filter of an 80 that sees the crest in normal running, or a plain capacitor between two nets that do not matter.
ShoppingList bought(double farads_old, double crest, bool electrolytic, double printed = 0) {
    ChassisBuilder b("one part");
    b.reference("gnd");
    b.default_for("paper", "wax-paper");
    b.socket("V1", "80");
    b.resistor("R1", ohms(1000), "V1.1", "bplus");
    b.resistor("R2", ohms(20e3), "bplus", "gnd");
    if (electrolytic)
        b.electrolytic("C1", farads(farads_old), volts(printed > 0 ? printed : 25), "bplus", "gnd");
    else
        b.capacitor("C1", farads(farads_old), "bplus", "gnd");
    const Outcome<Chassis> set = b.build(demo::catalogue());
    REQUIRE(set);
    const std::vector<PartStress> s = {demo::stress(*set, "C1", {{"normal", crest}})};
    return shopping_list(*set, demo::catalogue(), {}, s, actions_of(*set, demo::catalogue(), {}, s, {}));
}

const ShopLine& line_of(const ShoppingList& list, const std::string& what) {
    for (const ShopLine& l : list.lines)
        if (l.what == what) return l;
    FAIL("no " << what << " is bought");
    return list.lines.front();
}

}  // namespace

TEST_CASE("old paper values go to the trade's new ones, the first where the table has two") {
    const std::vector<std::pair<double, double>> rows{
        {.001, .001},  {.002, .0022}, {.0025, .0022}, {.003, .0033}, {.004, .0039}, {.005, .0047}, {.006, .0056},
        {.007, .0068}, {.008, .0082}, {.0075, .0075}, {.01, .01},    {.015, .015},  {.02, .022},   {.025, .022},
        {.03, .033},   {.04, .039},   {.05, .047},    {.06, .056},   {.07, .068},   {.1, .1},      {.12, .12},
        {.15, .15},    {.2, .22},     {.25, .22},     {.3, .33},     {.5, .47},     {1, 1},        {2, 2.2}};
    for (const auto& [old, now] : rows) {
        INFO(old);
        CHECK(demo::catalogue().modern_farads(old * 1e-6, false) == Approx(now * 1e-6));
        CHECK(line_of(bought(old * 1e-6, 250, false), "film capacitor").value_farads == Approx(now * 1e-6));
    }
}

TEST_CASE("old electrolytic values go to the trade's new ones, the first where the table has two") {
    const std::vector<std::pair<double, double>> rows{{4, 4.7}, {6, 6.8}, {8, 10},  {10, 10},  {12, 15},
                                                      {16, 15}, {18, 22}, {20, 22}, {25, 22},  {30, 33},
                                                      {40, 47}, {50, 47}, {80, 82}, {100, 100}};
    for (const auto& [old, now] : rows) {
        INFO(old);
        CHECK(demo::catalogue().modern_farads(old * 1e-6, true) == Approx(now * 1e-6));
        CHECK(line_of(bought(old * 1e-6, 200, true), "electrolytic").value_farads == Approx(now * 1e-6));
    }
}

TEST_CASE("the shelves hold the volts of the trade's two ladders and no others") {
    CHECK(demo::catalogue().stock("film-volts") == std::vector<double>{100, 160, 250, 400, 630, 1000, 1600, 2000});
    CHECK(demo::catalogue().stock("electrolytic-volts") ==
          std::vector<double>{10, 16, 25, 35, 50, 63, 100, 160, 200, 250, 350, 400, 450, 500});
}

TEST_CASE("a hot set's filters are past 160 volts at no load, and a 320-0-320 winding past 450") {
    // 117, 120, 125 and 127 V of line: crests of 165.5, 169.7, 176.8 and 179.6 V
    for (const double line : {117., 120., 125., 127.}) {
        const ShoppingList list = bought(40e-6, line * std::sqrt(2.0), true, 150);
        CHECK(line_of(list, "electrolytic").rated_volts == 200);
        CHECK(line_of(list, "electrolytic").next_smaller_fails_by.find("160 V") != std::string::npos);
    }
    CHECK(line_of(bought(8e-6, 320 * std::sqrt(2.0), true), "electrolytic").rated_volts == 500);  // 453 V
    const ShoppingList high = bought(8e-6, 350 * std::sqrt(2.0), true);  // 495 V: two in series
    CHECK(line_of(high, "electrolytic").quantity == 2);
    CHECK(line_of(high, "electrolytic").rated_volts == 350);
    CHECK(line_of(high, "resistor").value_ohms == Approx(220e3));
    CHECK(line_of(high, "resistor").quantity == 2);
}

TEST_CASE("what was printed is never undercut, and 630 volts serve all films up to 500") {
    CHECK(line_of(bought(10e-6, 5, true, 50), "electrolytic").rated_volts == 50);
    CHECK(line_of(bought(.05e-6, 499, false), "film capacitor").rated_volts == 630);
    CHECK(line_of(bought(.05e-6, 5, false), "film capacitor").rated_volts == 630);
    CHECK(line_of(bought(.05e-6, 510, false), "film capacitor").rated_volts == 1000);
}

TEST_CASE("spares, shapes and the date of the prices come with the list, and one's own prices take their place") {
    const ShoppingList list = bought(.05e-6, 250, false);
    CHECK(list.prices_dated == "2026-11");
    CHECK(line_of(list, "film capacitor").package.find("not a pole") != std::string::npos);
    CHECK(line_of(bought(10e-6, 5, true), "electrolytic").package.find("minus") != std::string::npos);
    const Outcome<Catalogue> mine =
        demo::catalogue().with_prices("key,cost,dated\ncapacitor-two-lead,2.25,2027-03\n", "mine.csv");
    REQUIRE(mine);
    CHECK(mine->step_cost("capacitor-two-lead")->cost == 2.25);
    CHECK(mine->step_cost("fuse")->cost == demo::catalogue().step_cost("fuse")->cost);
    CHECK(mine->prices_dated() == "mine.csv, 2027-03");
    const Outcome<Catalogue> wrong = demo::catalogue().with_prices("key,cost\ncapacitors,1\nfuse,cheap\n", "mine.csv");
    REQUIRE_FALSE(wrong);
    CHECK(wrong.notices().size() == 2);
    CHECK(wrong.notices()[0].place.line == 2);
    CHECK_FALSE(demo::catalogue().with_prices("part,price\nfuse,1\n", "mine.csv"));
}
