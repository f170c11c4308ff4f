// SPDX-License-Identifier: MIT
// Source: the 6V6GT sheet as quoted in a public collection of sheets (the original was not seen): 250 V on plate and
// screen, -12.5 V on the grid, 5000 ohm: 45 and 4.5 mA at rest, 47 and 7.0 mA at its full 4.5 W. The EL84 sheet of
// 1969, quoted likewise: 250 V, 5200 ohm, 5.7 W, at which its screen takes 10.8 mA after 5.5 at rest. The two corners
// of tubes/fit.cpp were chosen on these, so that they are no proof of them; what is proved is the driven stage around
// them.
#include <catch2/catch.hpp>

#include "rail.hpp"

namespace {

/// Fixed bias from a battery, a primary of next to no ohms, and 3.2 ohm on the voice coil.
std::string stage(const std::string& tube, const std::string& pins, const std::string& plate, const std::string& grid,
                  const std::string& bias, const std::string& load) {
    return R"(
  <socket id="V1" tube=")" +
           tube + "\"/>" + pins + R"(
  <transformer id="T2" role="output">
    <winding role="output-primary" leads=")" +
           plate + R"( rail" ohms="1" impedance=")" + load + R"("/>
    <winding role="output-secondary" leads="voice gnd" ohms=".001"/>
  </transformer>
  <speaker id="LS1" ohms="3.2" a="voice" b="gnd"/>
  <resistor id="R1" value="470k" watts="1/2" a=")" +
           grid + R"(" b="bias"/>
  <battery id="B1" role="c" volts=")" +
           bias + R"(" plus="gnd" minus="bias"/>
)";
}

struct Driven {
    double plate_amps, screen_amps, watts, screen_watts;
};

Driven driven(const tubewright::Study& study, tubewright::Scenario scenario) {
    const auto view = study.volts(scenario);
    REQUIRE(view);
    Driven out{};
    for (const tubewright::Branch& branch : view->solution().branches) {
        const std::string& part = study.chassis().parts()[static_cast<std::size_t>(branch.part)].id;
        if (part == "LS1") out.watts = branch.watts.value();
        if (part == "V1" && branch.lead.rfind("p.", 0) == 0) out.plate_amps = branch.dc.value();
        if (part == "V1" && branch.lead.rfind("g2.", 0) == 0) {
            out.screen_amps = branch.dc.value();
            out.screen_watts = branch.watts.value();
        }
    }
    return out;
}

}  // namespace

TEST_CASE("a 6V6GT driven to its full output gives its sheet's watts and takes its sheet's currents") {
    const auto study = published::study_on_rail(
        stage("6V6GT", R"(<join at="heaters V1.7"/><join at="gnd V1.2 V1.8"/><join at="rail V1.4"/>)", "V1.3", "V1.5",
              "12.5", "5k"),
        250);
    const Driven rest = driven(study, tubewright::Scenario::normal);
    const Driven full = driven(study, tubewright::Scenario::signal_peak);
    CHECK(rest.plate_amps == Approx(45e-3).epsilon(0.02));
    CHECK(full.plate_amps == Approx(47e-3).epsilon(0.06));
    CHECK(full.screen_amps == Approx(7.0e-3).epsilon(0.12));
    CHECK(full.watts == Approx(4.5).epsilon(0.10));
    CHECK(rest.watts < 1e-6);
    CHECK(full.screen_watts == Approx(1.75).epsilon(0.12));
}

TEST_CASE("the screen of an EL84 takes twice its rest current or more at full output") {
    const auto study = published::study_on_rail(
        stage("EL84", R"(<join at="heaters V1.4"/><join at="gnd V1.5 V1.3"/><join at="rail V1.9"/>)", "V1.7", "V1.2",
              "7.3", "5.2k"),
        250);
    const Driven rest = driven(study, tubewright::Scenario::normal);
    const Driven full = driven(study, tubewright::Scenario::signal_peak);
    CHECK(rest.screen_amps == Approx(5.5e-3).epsilon(0.02));
    // The grid is driven to its cathode, a little further than the sheet's 4.3 V rms.
    CHECK(full.screen_amps > 10.8e-3);
    CHECK(full.watts > 5.7);
    CHECK(full.watts < 6.9);
}
