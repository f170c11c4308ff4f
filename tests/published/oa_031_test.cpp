// SPDX-License-Identifier: MIT
// Source: circuit OA/031 (1960), first stage of an amplifier with an EF86, as quoted in a public collection of
// drawings; the original was not seen. Printed: rail 315 V, anode 90 V. The same stage is a row of the tube's own
// table: 300 V, 220 k, 1 M, 2.2 k: 1.1 mA of cathode current (EF86 sheet, January 1970, as quoted).
#include <catch2/catch.hpp>

#include "rail.hpp"

namespace {

const std::string stage = R"(
  <socket id="V1" tube="EF86"/>  <join at="heaters V1.4"/>  <join at="gnd V1.5 V1.2 V1.7"/>
  <resistor id="R1" value="1M" watts="1/2" a="V1.9" b="gnd"/>
  <resistor id="R2" value="2.2k" watts="1/2" a="V1.3" b="gnd"/>  <join at="V1.3 V1.8"/>
  <capacitor id="C2" value="25 mfd" volts="25" construction="dry-electrolytic" plus="V1.3" minus="gnd"/>
  <resistor id="R3" value="1M" watts="1/2" a="feed" b="V1.1"/>
  <capacitor id="C3" value=".1 mfd" volts="400" construction="film" a="V1.1" b="gnd"/>
  <resistor id="R4" value="220k" watts="1/2" a="feed" b="V1.6"/>
)";
const std::string dropper = R"(
  <resistor id="R5" value="22k" watts="1/2" a="rail" b="feed"/>
  <capacitor id="C5" value="8 mfd" volts="450" construction="dry-electrolytic" plus="feed" minus="gnd"/>
)";

}  // namespace

TEST_CASE("the EF86 stage of circuit OA/031 has its printed anode volts") {
    const auto volts = published::on_rail(stage + dropper, 315);
    const published::Printed anode{"V1.6", 90, 1};
    CHECK(volts.at("V1.6").dc.value() == Approx(anode.volts).margin(anode.margin()));
}

TEST_CASE("the same stage on 300 volts carries the 1.1 milliamperes of the tube's table") {
    const auto volts = published::on_rail(stage + "<join at=\"rail feed\"/>", 300);
    CHECK(volts.at("V1.3").dc.value() / 2.2e3 == Approx(1.1e-3).epsilon(0.12));
}
