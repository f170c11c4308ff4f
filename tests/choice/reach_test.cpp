// SPDX-License-Identifier: MIT
// What alone keeps the line from a hand: five nets, both ways of the plug, every switch closed, any single failed part.
// Touch currents by the formula 2 pi f C V against the figures of the trade's collection (computed there), to 1 %.
#include <cmath>

#include <catch2/catch.hpp>

#include <tubewright/choice.hpp>

#include "chassis/reach.hpp"
#include "choice/duty.hpp"
#include "choice/safety.hpp"
#include "sets.hpp"

using namespace tubewright;

namespace {

std::vector<std::string> guards_of(const Chassis& set, PartKind kind) {
    const LineReach reach = line_reach(set);
    std::vector<std::string> ids;
    for (std::size_t i = 0; i < set.parts().size(); ++i)
        if (reach.guards[i] && set.parts()[i].kind == kind) ids.push_back(set.parts()[i].id);
    return ids;
}

/// A hot set in small: a rectifier on the line, B-minus on the neutral blade through the switch, the metal off it.
struct Floating {
    ChassisBuilder b{"floating"};
    explicit Floating(bool metal_touched) {
        b.line(volts(117), hertz(60), "hot", "neutral");
        b.reference("bminus");
        b.node("b-minus", "bminus", false);
        b.node("chassis-metal", "metal", metal_touched);
        b.default_for("paper", "wax-paper");
        Part s;
        s.id = "S1";
        s.kind = PartKind::power_switch;
        s.closed = false;  // a switch that is open now can be closed
        b.add(s, {{"a", "neutral"}, {"b", "bminus"}});
        b.socket("V1", "35Z5GT");
        b.join({"V1.5", "hot"});
        b.electrolytic("C1", farads(40e-6), volts(150), "V1.8", "bminus");
        b.resistor("R9", ohms(2000), "V1.8", "bminus");
        b.capacitor("C2", farads(0.1e-6), "bminus", "metal");
        b.resistor("R1", ohms(470e3), "bminus", "metal");
    }
    Chassis set() {
        const Outcome<Chassis> made = b.build(demo::catalogue());
        if (!made) throw Error(made.notices().front().text());
        return *made;
    }
    ShoppingList bought() {
        const Chassis made = set();
        return shopping_list(made, demo::catalogue(), {}, {}, actions_of(made, demo::catalogue(), {}, {}, {}));
    }
};

const ShopLine* line_of(const ShoppingList& list, const std::string& id) {
    for (const ShopLine& l : list.lines)
        for (const std::string& part : l.for_parts)
            if (part == id) return &l;
    return nullptr;
}

}  // namespace

TEST_CASE("the antenna isolator of a hot set guards a hand, as does the capacitor from B-minus to the metal") {
    CHECK(guards_of(demo::read("s3-tanner-row.xml"), PartKind::capacitor) == std::vector<std::string>{"C1"});
    CHECK(guards_of(demo::read("s4-ferry-green.xml"), PartKind::resistor) == std::vector<std::string>{"R1"});
    const Chassis portable = demo::read("s7-plover-heath.xml");
    const std::vector<std::string> guards = guards_of(portable, PartKind::capacitor);
    CHECK(std::find(guards.begin(), guards.end(), "C1") != guards.end());
    CHECK(guards_of(demo::quarry_hill(), PartKind::capacitor) == std::vector<std::string>{"C3"});
}

TEST_CASE(
    "a vehicle has no line: nothing on its battery lead is class X or Y, and its hash capacitors keep their value") {
    const Chassis set = demo::read("s8-drover-gap.xml");
    CHECK(guards_of(set, PartKind::capacitor).empty());
    const Duties duties = duties_of(set);
    for (const char* id : {"C4", "C5", "C6"}) CHECK(duties.of(set.part(id)) == Duty::hash_bypass);
    const ShoppingList list =
        shopping_list(set, demo::catalogue(), {}, {}, actions_of(set, demo::catalogue(), {}, {}, {}));
    for (const ShopLine& l : list.lines) CHECK(l.safety_class.empty());
    REQUIRE(line_of(list, "C5") != nullptr);
    CHECK(*line_of(list, "C5")->value_farads == Approx(0.47e-6));
    CHECK(*line_of(list, "C3")->value_farads == Approx(0.0075e-6));  // the buffer, exact
    CHECK(*line_of(list, "C3")->rated_volts >= 1600);
}

TEST_CASE("two capacitors in a row from the line to a hand guard each other, and a short of one is no single fault") {
    Floating f(false);
    f.b.capacitor("C5", farads(1e-8), "bminus", "between");
    f.b.capacitor("C6", farads(1e-8), "between", "clip");
    Part strip;
    strip.id = "TS1";
    strip.kind = PartKind::strip;
    strip.touch = true;
    f.b.add(strip, {{"1", "clip"}});
    const std::vector<std::string> guards = guards_of(f.set(), PartKind::capacitor);
    CHECK(std::find(guards.begin(), guards.end(), "C5") == guards.end());
    CHECK(std::find(guards.begin(), guards.end(), "C6") == guards.end());
}

TEST_CASE("floating B-minus has two answers: a small Y where a hand reaches the metal, the old value where none does") {
    const ShoppingList reached = Floating(true).bought(), hidden = Floating(false).bought();
    REQUIRE(line_of(reached, "C2") != nullptr);
    CHECK(line_of(reached, "C2")->safety_class == "Y2");
    CHECK(*line_of(reached, "C2")->value_farads == Approx(0.0068e-6));
    REQUIRE(line_of(hidden, "C2") != nullptr);
    CHECK(line_of(hidden, "C2")->safety_class == "X1");
    CHECK(*line_of(hidden, "C2")->value_farads == Approx(0.1e-6));
    CHECK(line_of(hidden, "C2")->why.find("its resistor stays") != std::string::npos);
}

TEST_CASE("a bleeder from the line to touched metal counts in the touch current, and enough ohms are named") {
    ChassisBuilder b("bleeder");
    Floating low(true);
    low.b.resistor("R2", ohms(220e3), "bminus", "metal");
    const ShoppingList list = low.bought();
    bool said = false;
    for (const Notice& n : list.warnings) said = said || (n.number == 4409 && n.message.find("R2") == 0);
    CHECK(said);
    const ShopLine* safe = line_of(list, "R2");
    REQUIRE(safe != nullptr);
    CHECK(safe->group == "safety");
    CHECK(*safe->value_ohms >= 430e3);
    CHECK(*safe->rated_watts == 0.5);
    CHECK(safe->why.find("bleed from bminus to metal") != std::string::npos);
    for (const Notice& n : Floating(true).bought().warnings) CHECK(n.number != 4409);  // 470 k beside .0068 uF: .47 mA
}

TEST_CASE("touch currents at 120 V and 60 cycles are the trade's figures to a hundredth") {
    // uF and mA as collected (computed there): .0047 .21, .01 .45, .015 .68, .022 1.0, .047 2.1, .1 4.5, .2 9.05,
    // .05 2.26
    const std::vector<std::pair<double, double>> table{{0.0047, 0.2126}, {0.01, 0.4524}, {0.015, 0.6786},
                                                       {0.022, 0.9953},  {0.047, 2.126}, {0.05, 2.262},
                                                       {0.1, 4.524},     {0.2, 9.048}};
    for (const auto& [microfarads, milliamps] : table)
        CHECK(choice::touch_amps(microfarads * 1e-6, 120, 60) * 1e3 == Approx(milliamps).epsilon(0.01));
    // The limits: .011 uF in all at 120 V without tolerance; with 20 % at 126 V .0068, at 253 V 50 cycles .0047.
    CHECK(choice::touch_amps(0.01105e-6, 120, 60) == Approx(0.5e-3).epsilon(0.01));
    CHECK(choice::touch_safe_farads(demo::catalogue(), 0.1e-6, 126, 60, 1) == Approx(6.8e-9));
    CHECK(choice::touch_safe_farads(demo::catalogue(), 0.1e-6, 253, 50, 1) == Approx(4.7e-9));
}
