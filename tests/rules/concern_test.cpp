// SPDX-License-Identifier: MIT
// Which parts of a set each rule is about, and which it is not about.
#include <catch2/catch.hpp>

#include "rules/concern.hpp"
#include "small_set.hpp"

using namespace tubewright;

TEST_CASE("the checker finds by itself which parts of a transformer set the rules are about") {
    const Catalogue catalogue = Catalogue::shipped();
    const Chassis set = small_set::make(catalogue);
    const Concern c = concern_of(set, catalogue);
    CHECK(c.rectifiers == Ids{"V2"});
    CHECK(c.output_tubes == Ids{"V1"});
    CHECK(c.line_capacitors == Ids{"C1"});
    CHECK(c.line_to_metal == Ids{"C1"});
    CHECK(c.plate_winding_capacitors == Ids{"C9"});
    CHECK(c.line_parts == Ids{"F1", "P1", "S1", "W1", "W2"});
    CHECK(c.supply_papers == Ids{"C2", "C3", "C4", "C6", "C7"});
    CHECK(c.couplers == Ids{"C4"});
    CHECK(c.bias_resistors == Ids{"R2", "R3"});
    CHECK(c.bias_filters.empty());
    CHECK(c.electrolytics == Ids{"C2", "C3", "C5"});
    CHECK(c.continuity == Ids{"L1", "T2"});
    CHECK(c.on_speaker_plug == Ids{"L1", "LS1", "T2"});
    CHECK(c.has_transformer);
    CHECK_FALSE(c.series_string);
    CHECK_FALSE(c.hot);
    REQUIRE(c.burnt.size() == 1);
    CHECK(c.burnt[0].first == "R4");
    CHECK(c.burnt[0].second == Ids{"C6"});
}

TEST_CASE("line, heater, lamp and plate leads are to be sound before the line is let in, B-plus leads are not yet") {
    const Catalogue catalogue = Catalogue::shipped();
    const Concern c = concern_of(small_set::make(catalogue, false, false, true), catalogue);
    CHECK(c.line_parts == Ids{"F1", "P1", "S1", "W1", "W2", "W3", "W5"});
    CHECK(c.lamp_leads == Ids{"DS1"});
    CHECK(c.fused);
    CHECK_FALSE(concern_of(small_set::make(catalogue, false, false, false, false), catalogue).fused);
}

TEST_CASE("a capacitor from line to line is no capacitor to the metal, and a blade tied to the chassis makes it hot") {
    const Catalogue catalogue = Catalogue::shipped();
    const Concern across = concern_of(small_set::make(catalogue, true), catalogue);
    CHECK(across.line_capacitors == Ids{"C1"});
    CHECK(across.line_to_metal.empty());
    const Concern tied = concern_of(small_set::make(catalogue, false, true), catalogue);
    CHECK(tied.hot);
    CHECK(tied.line_capacitors == Ids{"C1"});  // not every bypass to the metal, which is the line there
}

TEST_CASE("the checker finds an earth on the metal by itself, over a wire or on the chassis' own net") {
    const Catalogue catalogue = Catalogue::shipped();
    const auto earthed = [&](const char* net) {
        return concern_of(small_set::make(catalogue, false, false, false, true, "wax-paper", "", net), catalogue);
    };
    CHECK_FALSE(earthed("").earthed);
    CHECK(earthed("earth").earthed);
    CHECK(earthed("earth").earth_wires == Ids{"W6"});
    CHECK(earthed("earth").old_to_metal == Ids{"C1"});
    CHECK(earthed("gnd").earthed);
    CHECK(earthed("gnd").earth_wires.empty());
}

TEST_CASE("a film capacitor in a paper one's place loads the supply as that one does") {
    const Catalogue catalogue = Catalogue::shipped();
    const Concern paper = concern_of(small_set::make(catalogue), catalogue);
    const Concern film = concern_of(small_set::make(catalogue, false, false, false, true, "film"), catalogue);
    CHECK(film.supply_papers == paper.supply_papers);
    CHECK(film.couplers == paper.couplers);
    CHECK(film.supply_papers.count("C8") == 0);
}

TEST_CASE("what keeps the bias of a back-bias set quiet is a bias filter, whatever it is made of") {
    const Catalogue catalogue = Catalogue::shipped();
    for (const char* paper : {"wax-paper", "film"}) {
        ChassisBuilder b("back bias");
        b.default_for("paper", paper);
        b.line(volts(117), hertz(60), "P1.1", "P1.2");
        b.reference("gnd");
        b.node("chassis-metal", "gnd", true);
        Part plug = small_set::part(PartKind::plug, "P1");
        plug.role = "line";
        b.add(plug, {});
        Part t = small_set::part(PartKind::transformer, "T1");
        t.role = "power";
        t.windings = {small_set::winding(WindingRole::primary, {0, 1}, {8}),
                      small_set::winding(WindingRole::plate, {2, 3, 4}, {180, 200}),
                      small_set::winding(WindingRole::rectifier_heater, {5, 6}, {0.1}),
                      small_set::winding(WindingRole::heater, {7, 8}, {0.1})};
        t.windings[0].volts = 117;
        t.windings[1].noload_volts = {330, 330};
        t.windings[2].volts = 5;
        t.windings[3].volts = 6.3;
        b.add(t, {{"primary.1", "P1.1"},
                  {"primary.2", "P1.2"},
                  {"plate.1", "V2.2"},
                  {"plate.2", "tap"},
                  {"plate.3", "V2.3"},
                  {"rectifier.1", "V2.1"},
                  {"rectifier.2", "V2.4"},
                  {"heater.1", "heaters"},
                  {"heater.2", "gnd"}});
        b.socket("V2", "80");
        b.electrolytic("C1", farads(8e-6), volts(475), "V2.1", "tap");
        b.socket("V1", "42");
        b.join({"heaters", "V1.1"});
        b.join({"gnd", "V1.6", "V1.5"});
        b.join({"V2.1", "V1.3"});
        b.resistor("R1", ohms(280), "tap", "gnd");
        b.resistor("R2", ohms(100e3), "tap", "bias");
        b.capacitor("C2", farads(2.5e-7), "bias", "gnd");
        b.resistor("R3", ohms(500e3), "V1.4", "bias");
        b.resistor("R4", ohms(250e3), "V2.1", "driver");
        b.capacitor("C3", farads(2e-8), "driver", "V1.4");
        b.resistor("R5", ohms(7e3), "V2.1", "V1.2");
        const Outcome<Chassis> set = b.build(catalogue);
        if (!set) FAIL(set.notices().front().message);
        const Concern c = concern_of(*set, catalogue);
        INFO(paper);
        CHECK(c.bias_filters == Ids{"C2"});
        CHECK(c.couplers == Ids{"C3"});
        CHECK(c.supply_papers == Ids{"C1", "C3"});
        CHECK(c.bias_resistors.count("R2") == 1);
    }
}
