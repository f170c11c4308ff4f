// SPDX-License-Identifier: MIT
// Family, hot or isolated, and level: from connections alone, for one small set of each family, in both ways of the
// plug, and with every name changed.
#include <catch2/catch.hpp>

#include <string>

#include <tubewright/chassis.hpp>

using namespace tubewright;

namespace {

const Catalogue& catalogue() {
    static const Catalogue shipped = Catalogue::shipped();
    return shipped;
}

Chassis built(ChassisBuilder& b) {
    const Outcome<Chassis> set = b.build(catalogue());
    std::string why;
    for (const Notice& n : set.notices()) why += n.text() + "\n";
    INFO(why);
    REQUIRE(set);
    return *set;
}

void power_switch(ChassisBuilder& b, const char* id, const char* a, const char* c, bool closed = true) {
    Part part;
    part.id = id;
    part.kind = PartKind::power_switch;
    part.closed = closed;
    b.add(part, {{"a", a}, {"b", c}});
}

void power_transformer(ChassisBuilder& b, const char* plate_1, const char* plate_2, const char* filament) {
    Part part;
    part.id = "T1";
    part.kind = PartKind::transformer;
    part.role = "power";
    const auto winding = [&](WindingRole role, const char* name, std::vector<int> leads) {
        PartWinding& w = part.windings.emplace_back();
        w.role = role;
        w.name = name;
        w.leads = std::move(leads);
    };
    winding(WindingRole::primary, "primary", {0, 1});
    winding(WindingRole::plate, "plate", {2, 3, 4});
    winding(WindingRole::rectifier_heater, "rectifier-heater", {5, 6});
    b.add(part, {{"1", "switched"},
                 {"2", "blade2"},
                 {"3", plate_1},
                 {"4", "metal"},
                 {"5", plate_2},
                 {"6", filament},
                 {"7", "V5.4"}});
}

/// The transformer set; whatever `extra` adds stands between line and metal.
ChassisBuilder transformer_set(bool reversed_plug = false) {
    ChassisBuilder b("transformer");
    b.line(volts(117), hertz(60), reversed_plug ? "blade2" : "blade1", reversed_plug ? "blade1" : "blade2");
    b.node("chassis-metal", "metal", true);
    power_switch(b, "S1", "blade1", "switched");
    power_transformer(b, "V5.2", "V5.3", "V5.1");
    b.socket("V5", "80");
    b.electrolytic("C1", farads(8e-6), volts(450), "V5.1", "metal");
    b.capacitor("C3", farads(.01e-6), "switched", "metal");
    return b;
}

/// The series string with a half-wave rectifier. `bus`: B-minus. metal: the net of the chassis metal.
ChassisBuilder string_set(const char* metal, bool reversed_plug = false) {
    ChassisBuilder b("string");
    b.line(volts(117), hertz(60), reversed_plug ? "blade2" : "blade1", reversed_plug ? "blade1" : "blade2");
    b.node("chassis-metal", metal, true);
    b.node("b-minus", "bus", false);
    b.socket("V5", "35Z5");
    b.socket("V4", "50L6");
    b.join({"blade1", "V5.2", "V5.5"});
    b.join({"V5.7", "V4.2"});
    b.join({"V4.7", "bus"});
    b.join({"V5.8", "bplus"});
    b.join({"V4.4", "bplus"});
    power_switch(b, "S1", "bus", "blade2");
    b.electrolytic("C1", farads(20e-6), volts(150), "bplus", "bus");
    b.resistor("R1", ohms(150), "V4.8", "bus");
    b.resistor("R2", ohms(2500), "V4.3", "bplus");
    return b;
}

}  // namespace

TEST_CASE("A set with a power transformer is isolated, whichever way the plug is in") {
    for (const bool reversed : {false, true}) {
        ChassisBuilder b = transformer_set(reversed);
        const Chassis set = built(b);
        CHECK(set.family() == Family::ac_transformer);
        CHECK_FALSE(set.hot());  // the line capacitor does not count: it is no copper
    }
}

TEST_CASE("A primary tied to the metal, or a leak across the line capacitor, makes a transformer set hot") {
    ChassisBuilder tied = transformer_set();
    tied.join({"blade2", "metal"});
    CHECK(built(tied).hot());
    ChassisBuilder leaky = transformer_set();
    leaky.resistor("R9", ohms(220e3), "blade2", "metal");
    CHECK(built(leaky).hot());
    ChassisBuilder bypassed = transformer_set();
    bypassed.capacitor("C9", farads(.1e-6), "blade2", "metal");
    CHECK_FALSE(built(bypassed).hot());
}

TEST_CASE("A switch that is open now can be closed: the set is hot all the same") {
    ChassisBuilder b = transformer_set();
    power_switch(b, "S2", "blade1", "metal", false);
    CHECK(built(b).hot());
}

TEST_CASE("A series string with the metal on one side of the line is hot, whichever way the plug is in") {
    for (const bool reversed : {false, true}) {
        ChassisBuilder b = string_set("bus", reversed);
        const Chassis set = built(b);
        CHECK(set.family() == Family::series_string);
        CHECK(set.hot());
        CHECK(set.nodes().chassis_metal == set.nodes().b_minus);
    }
}

TEST_CASE("With the metal behind a resistor and a capacitor the set has a floating B-minus, and is still hot") {
    for (const bool reversed : {false, true}) {
        ChassisBuilder b = string_set("metal", reversed);
        b.resistor("R20", ohms(220e3), "metal", "bus");
        b.capacitor("C20", farads(.2e-6), "metal", "bus");
        const Chassis set = built(b);
        CHECK(set.family() == Family::floating_b_minus);
        CHECK(set.hot());
        CHECK(set.nodes().chassis_metal != set.nodes().b_minus);
    }
}

TEST_CASE("One unit's cathode on another's plate is a doubler") {
    ChassisBuilder b("doubler");
    b.line(volts(117), hertz(60), "blade1", "blade2");
    b.node("chassis-metal", "metal", true);
    b.node("b-minus", "bus", false);
    b.socket("V5", "25Z5");
    // Unit 2 charges from the bus to the line, unit 1 from the line to B-plus.
    b.join({"V5.4", "bplus"});   // k1
    b.join({"V5.5", "middle"});  // p1
    b.join({"V5.3", "middle"});  // k2
    b.join({"V5.2", "bus"});     // p2
    b.join({"middle", "blade1"});
    b.join({"blade2", "tap"});
    b.electrolytic("C1", farads(16e-6), volts(150), "bplus", "tap");
    b.electrolytic("C2", farads(16e-6), volts(150), "tap", "bus");
    b.resistor("R1", ohms(220e3), "bus", "metal");
    const Chassis set = built(b);
    CHECK(set.family() == Family::doubler);
    CHECK(set.hot());
}

TEST_CASE("Filament tubes behind a line rectifier make a portable, without one a battery set") {
    ChassisBuilder b("portable");
    b.line(volts(117), hertz(60), "blade1", "blade2");
    b.node("b-minus", "blade2", false);
    b.socket("V5", "117Z3");
    b.socket("V1", "1T4");
    b.join({"blade1", "V5.3", "V5.5"});
    b.join({"blade2", "V5.4"});
    b.join({"V5.6", "bplus"});
    b.electrolytic("C1", farads(20e-6), volts(150), "bplus", "blade2");
    b.resistor("R1", ohms(2000), "bplus", "V1.7");
    b.join({"V1.1", "blade2"});
    CHECK(built(b).family() == Family::portable);

    ChassisBuilder battery("battery");
    battery.node("chassis-metal", "metal", true);
    battery.socket("V1", "1T4");
    battery.join({"V1.1", "metal"});
    battery.resistor("R1", ohms(2000), "a-plus", "V1.7");
    const Chassis set = built(battery);
    CHECK(set.family() == Family::battery);
    CHECK_FALSE(set.hot());
}

TEST_CASE("Six volts and no cycles are a vehicle, which is not hot though its frame is a pole") {
    ChassisBuilder b("vehicle");
    b.line(volts(6), hertz(0), "battery", "metal");
    b.node("chassis-metal", "metal", true);
    b.resistor("R1", ohms(10), "battery", "metal");
    const Chassis set = built(b);
    CHECK(set.family() == Family::vehicle);
    CHECK_FALSE(set.hot());
}

TEST_CASE("A direct-current line feeds a string without any rectifier") {
    const auto set = [](double cycles) {
        ChassisBuilder b("direct");
        b.line(volts(115), hertz(cycles), "blade1", "blade2");
        b.node("b-minus", "blade2", false);
        b.socket("V1", "37");
        b.join({"V1.5", "blade2"});
        b.resistor("R1", ohms(360), "blade1", "V1.1");
        b.resistor("R2", ohms(20e3), "blade1", "V1.2");
        b.resistor("R3", ohms(2000), "V1.4", "blade2");
        return built(b);
    };
    CHECK(set(0).family() == Family::series_string);
    CHECK(set(0).hot());
    CHECK(set(60).family() == Family::unknown);  // B-plus alternates: nothing rectifies it
}

TEST_CASE("Words do not make a family: the same connections under misleading names give the same answer") {
    // A transformer set whose author calls the metal "blade3" and B-plus "hot".
    ChassisBuilder b("line-hot series string");
    b.line(volts(117), hertz(60), "gnd", "bminus");
    b.node("chassis-metal", "blade3", true);
    Part part;
    part.id = "T1";
    part.kind = PartKind::transformer;
    part.role = "power";
    for (const auto& [role, leads] :
         {std::pair{WindingRole::primary, std::vector<int>{0, 1}}, {WindingRole::plate, std::vector<int>{2, 3, 4}}}) {
        PartWinding& w = part.windings.emplace_back();
        w.role = role;
        w.name = word(role);
        w.leads = leads;
    }
    b.add(part, {{"1", "gnd"}, {"2", "bminus"}, {"3", "V1.4"}, {"4", "blade3"}, {"5", "V1.6"}});
    b.socket("V1", "5Y3GT");
    b.electrolytic("C1", farads(8e-6), volts(450), "V1.8", "blade3");
    const Chassis set = built(b);
    CHECK(set.family() == Family::ac_transformer);
    CHECK_FALSE(set.hot());
}

TEST_CASE("Without a line and without tubes the family is unknown") {
    ChassisBuilder b("stage");
    b.resistor("R1", ohms(1000), "a", "b");
    const Chassis set = built(b);
    CHECK(set.family() == Family::unknown);
    CHECK_FALSE(set.hot());
    CHECK(set.level() == 3);  // no tube is left untraced
}

TEST_CASE("The level says how much was traced") {
    const auto level = [](auto extend) {
        ChassisBuilder b("level");
        b.node("chassis-metal", "metal", true);
        b.socket("V1", "6J7");
        b.socket("V4", "42");
        b.socket("V5", "80");
        b.join({"V1.7", "metal"});
        extend(b);
        return built(b).level();
    };
    const auto supply = [](ChassisBuilder& b) {
        power_transformer(b, "V5.2", "V5.3", "V5.1");
        b.electrolytic("C1", farads(8e-6), volts(450), "V5.1", "metal");
        b.resistor("R1", ohms(5000), "V5.1", "V4.2");
        b.resistor("R2", ohms(410), "V4.5", "metal");
    };
    const auto all = [&](ChassisBuilder& b) {
        supply(b);
        b.resistor("R3", ohms(250e3), "V5.1", "V1.3");
        b.resistor("R4", ohms(3000), "V1.8", "metal");
    };
    CHECK(level([](ChassisBuilder&) {}) == 0);
    CHECK(level([](ChassisBuilder& b) { b.capacitor("C9", farads(1e-8), "x", "metal"); }) == 1);
    CHECK(level(supply) == 2);
    CHECK(level(all) == 3);
    CHECK(level([&](ChassisBuilder& b) {
              all(b);
              Part rest;
              rest.id = "U1";
              rest.kind = PartKind::untraced;
              rest.drawn_amps = .012;
              b.add(rest, {{"a", "V5.1"}, {"b", "metal"}});
          }) == 2);
}
