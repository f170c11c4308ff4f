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
    CHECK(concern_of(small_set::make(catalogue, false, true), catalogue).hot);
}
