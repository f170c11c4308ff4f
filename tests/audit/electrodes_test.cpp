// SPDX-License-Identifier: MIT
// What each pin is to the circuit, by basings of the catalogue (recalled).
#include "audit/electrodes.hpp"

#include <tubewright/audit.hpp>

#include <catch2/catch.hpp>

namespace tw = tubewright;
using tw::audit::Electrode;

namespace {

/// Electrode and unit of a pin of a socket with this tube; the first electrode on the pin.
std::pair<Electrode, std::string> pin_of(const std::string& tube, const std::string& pin) {
    const tw::Catalogue catalogue = tw::Catalogue::shipped();
    tw::ChassisBuilder b("one tube");
    b.reference("gnd");
    b.node("chassis-metal", "gnd", true);
    b.socket("V1", tube);
    b.resistor("R1", tw::ohms(1000), "V1." + pin, "gnd");
    b.resistor("R2", tw::ohms(1000), "V1." + pin, "gnd");
    const auto set = b.build(catalogue);
    REQUIRE(set);
    for (const tw::Part& part : set->parts()) {
        if (part.id != "V1") continue;
        for (const auto& found : tw::audit::electrodes_of(part)) {
            if (part.leads[static_cast<std::size_t>(found.lead)].name == pin) return {found.electrode, found.unit};
        }
    }
    return {Electrode::unused, "not found"};
}

/// What the read-back calls a pin.
std::string called(const std::string& tube, const std::string& pin) {
    tw::ChassisBuilder b("one tube");
    b.reference("gnd");
    b.node("chassis-metal", "gnd", true);
    b.socket("V1", tube);
    b.resistor("R1", tw::ohms(1000), "V1." + pin, "gnd");
    const tw::Catalogue catalogue = tw::Catalogue::shipped();
    const auto set = b.build(catalogue);
    REQUIRE(set);
    for (const tw::ReadbackPin& row : tw::readback(*set))
        if (row.pin == pin) return row.electrode;
    return "not found";
}

}  // namespace

TEST_CASE("The read-back calls electrodes as the trade does, a converter's grids by what they are for") {
    CHECK(called("6A7", "3") == "screen");
    CHECK(called("6A7", "4") == "anode grid");
    CHECK(called("6A7", "5") == "oscillator grid");
    CHECK(called("6A7", "cap") == "signal grid");
    CHECK(called("6BE6", "1") == "oscillator grid");
    CHECK(called("6BE6", "2") == "cathode, suppressor");
    CHECK(called("6BE6", "7") == "signal grid");
    CHECK(called("6K8", "5") == "oscillator grid");
    CHECK(called("6K8", "6") == "oscillator plate");
    CHECK(called("6L7", "cap") == "signal grid");
    CHECK(called("6L7", "5") == "injection grid");
    CHECK(called("14Q7", "5") == "suppressor");
    CHECK(called("12AX7", "2") == "grid 2");
    CHECK(called("80", "1") == "filament");
    CHECK(called("80", "2") == "rectifier plate");
    CHECK(called("6X4", "1") == "rectifier plate 1");
    CHECK(called("42", "2") == "plate");
}

TEST_CASE("In a converter the doubled grid is the screen and g2 alone the anode grid that wants B-plus") {
    CHECK(pin_of("6A7", "3").first == Electrode::screen);
    CHECK(pin_of("6A7", "4").first == Electrode::screen);
    CHECK(pin_of("6A7", "5").first == Electrode::control_grid);
    CHECK(pin_of("6A7", "cap").first == Electrode::control_grid);
}

TEST_CASE("In a double triode g2t is the grid of the second triode, not a screen") {
    CHECK(pin_of("12AX7", "2") == std::pair(Electrode::control_grid, std::string("2")));
    CHECK(pin_of("12AX7", "7") == std::pair(Electrode::control_grid, std::string("1")));
    CHECK(pin_of("12AX7", "6") == std::pair(Electrode::plate, std::string("1")));
    CHECK(pin_of("12AX7", "9").first == Electrode::heater_tap);
}

TEST_CASE("A pentode has a screen on g2 and a suppressor on g3; a rectifier has rectifier plates") {
    CHECK(pin_of("78", "3").first == Electrode::screen);
    CHECK(pin_of("78", "4").first == Electrode::suppressor);
    CHECK(pin_of("80", "2").first == Electrode::rectifier_plate);
    CHECK(pin_of("80", "1").first == Electrode::heater);
    CHECK(pin_of("EL84", "1").first == Electrode::internal);
}
