// SPDX-License-Identifier: MIT
// What a hand on the metal carries, against admittances added by hand.
#include "threat/touch.hpp"

#include <cmath>

#include <catch2/catch.hpp>

using namespace tubewright;
using threat::Touch;

namespace {

const Catalogue& shipped() {
    static const Catalogue c = Catalogue::shipped();
    return c;
}

/// A switch, a primary across the line, and a capacitor from the switched side to the metal.
Chassis set_with(double to_metal, double from_neutral) {
    ChassisBuilder b("one line capacitor");
    b.line(volts(115), hertz(60), "hot", "neutral");
    b.reference("gnd");
    b.node("chassis-metal", "gnd", true);
    Part contact;
    contact.id = "S1";
    contact.kind = PartKind::power_switch;
    b.add(contact, {{"a", "hot"}, {"b", "switched"}});
    b.resistor("R1", ohms(1e6), "switched", "neutral");
    b.capacitor("C1", farads(to_metal), "switched", "gnd");
    if (from_neutral > 0) b.capacitor("C2", farads(from_neutral), "neutral", "gnd");
    const Outcome<Chassis> set = b.build(shipped());
    REQUIRE(set);
    return *set;
}

Fault fault_of(const Chassis& set, const char* part, FaultMode mode, double ohms) {
    Fault f;
    f.part = set.part(part);
    f.mode = mode;
    f.lead_a = 0;
    f.lead_b = 1;
    f.ohms = ohms;
    return f;
}

const double w = 2 * std::acos(-1.0) * 60;

}  // namespace

TEST_CASE("A line capacitor passes its reactance current through the hand, body and all") {
    const Chassis set = set_with(.01e-6, 0);
    const double reactance = 1 / (w * .01e-6);
    CHECK(Touch(set, 115, 60).amps() == Approx(115 / std::hypot(reactance, 1500)).epsilon(1e-6));
    CHECK(Touch(set, 115, 60).amps() == Approx(433e-6).epsilon(0.01));
}

TEST_CASE("A leak adds to the capacitor's own current in quadrature, not by plain sum") {
    const Chassis set = set_with(.01e-6, 0);
    const Fault leak = fault_of(set, "C1", FaultMode::leak, 1e6);
    CHECK(Touch(set, 115, 60).amps(&leak) == Approx(std::hypot(115e-6, 433e-6)).epsilon(0.01));
    const Fault open = fault_of(set, "C1", FaultMode::open, 0);
    CHECK(Touch(set, 115, 60).amps(&open) == 0);
    const Fault short_circuit = fault_of(set, "C1", FaultMode::short_circuit, .1);
    CHECK(Touch(set, 115, 60).amps(&short_circuit) == Approx(115.0 / 1500).epsilon(1e-3));
}

TEST_CASE("With a capacitor from each blade the larger one counts, less what the other takes past the hand") {
    const Chassis set = set_with(.01e-6, .05e-6);
    const std::complex<double> one(0, w * .01e-6), other(0, w * .05e-6);
    CHECK(Touch(set, 115, 60).amps() == Approx(std::abs(115.0 * other / (one + other + 1.0 / 1500)) / 1500));
}

TEST_CASE("A B-minus that is not the metal is a side of the line: what stands between them is in the hand's way") {
    ChassisBuilder b("a floating B-minus");
    b.line(volts(117), hertz(60), "hot", "neutral");
    b.reference("bminus");
    b.node("b-minus", "bminus", false);
    b.node("chassis-metal", "metal", true);
    Part contact;
    contact.id = "S1";
    contact.kind = PartKind::power_switch;
    b.add(contact, {{"a", "neutral"}, {"b", "bminus"}});
    b.capacitor("C1", farads(.05e-6), "bminus", "metal");
    b.capacitor("C2", farads(.1e-6), "hot", "bminus");
    b.resistor("R1", ohms(220e3), "bminus", "metal");
    const Outcome<Chassis> set = b.build(shipped());
    REQUIRE(set);
    const Touch hand(*set, 117, 60);
    const std::complex<double> both(1 / 220e3, w * .05e-6);
    CHECK(hand.amps() == Approx(std::abs(117.0 * both / (both + 1.0 / 1500)) / 1500).epsilon(1e-6));
    CHECK(hand.amps_by_capacity() == Approx(117 / std::hypot(1 / (w * .05e-6), 1500)).epsilon(1e-6));
    CHECK(hand.holds_off(set->parts()[static_cast<std::size_t>(set->part("C1"))]));
    CHECK_FALSE(hand.holds_off(set->parts()[static_cast<std::size_t>(set->part("C2"))]));
    CHECK(hand.across_line(set->parts()[static_cast<std::size_t>(set->part("C2"))]));
}
