// SPDX-License-Identifier: MIT
// What each part does in its set, from the connections alone.
#include <algorithm>

#include <catch2/catch.hpp>

#include "choice/duty.hpp"
#include "sets.hpp"

using namespace tubewright;

namespace {

Duty duty(const Chassis& set, const Duties& d, const std::string& id) {
    const int part = set.part(id);
    REQUIRE(part >= 0);
    return d.of(part);
}

}  // namespace

TEST_CASE("the capacitors of the 1936 set have the duties that a bench would give them") {
    const Chassis set = demo::quarry_hill();
    const Duties d = duties_of(set);
    CHECK(duty(set, d, "C3") == Duty::line_to_touch);
    CHECK(duty(set, d, "C1.plain") == Duty::first_filter);
    CHECK(duty(set, d, "C2") == Duty::filter);
    CHECK(duty(set, d, "C16") == Duty::output_coupler);
    CHECK(duty(set, d, "C17") == Duty::output_plate_bypass);
    CHECK(duty(set, d, "C12") == Duty::screen_bypass);
    CHECK(duty(set, d, "C11") == Duty::supply_bypass);
    CHECK(duty(set, d, "C10") == Duty::cathode_bypass);
    CHECK(duty(set, d, "C15") == Duty::cathode_bypass);
    CHECK(duty(set, d, "C14") == Duty::coupler);
    CHECK(duty(set, d, "C19") == Duty::grid_bypass);
    for (const char* id : {"C4", "C8", "C20", "C24"}) CHECK(duty(set, d, id) == Duty::tuned);
    CHECK(duty(set, d, "R11") == Duty::output_cathode_resistor);
    CHECK(duty(set, d, "R10") == Duty::output_grid_leak);
    CHECK(duty(set, d, "R9") == Duty::plate_load);
    CHECK(duty(set, d, "R3") == Duty::screen_feed);
}

TEST_CASE("the amplifier's filters, coupler and bias are found without being named") {
    const Chassis set = demo::bellows_court();
    const Duties d = duties_of(set);
    CHECK(duty(set, d, "C1.half-moon") == Duty::first_filter);
    CHECK(duty(set, d, "C1.square") == Duty::filter);
    CHECK(duty(set, d, "C1.triangle") == Duty::filter);
    CHECK(duty(set, d, "C4") == Duty::output_coupler);
    CHECK(duty(set, d, "C3") == Duty::coupler);
    CHECK(duty(set, d, "C6") == Duty::cathode_bypass);
    CHECK(duty(set, d, "R11") == Duty::output_cathode_resistor);
    CHECK(d.rank[static_cast<std::size_t>(set.net("bplus"))] == 0);
    CHECK(d.rank[static_cast<std::size_t>(set.net("bplus2"))] == 1);
    CHECK(d.rank[static_cast<std::size_t>(set.net("bplus3"))] == 2);
}

TEST_CASE("in a back-bias set the first filter is the one at the centre tap, and the bias has a feed and a filter") {
    const Chassis set = demo::read("s2-heron-weir.xml");
    const Duties d = duties_of(set);
    CHECK(duty(set, d, "C1.plain") == Duty::first_filter);
    CHECK(duty(set, d, "C2") == Duty::filter);
    CHECK(duty(set, d, "C14") == Duty::bias_filter);
    CHECK(duty(set, d, "R11") == Duty::bias_feed);
    CHECK(duty(set, d, "R10") == Duty::output_grid_leak);
    CHECK(duty(set, d, "C15") == Duty::output_coupler);
    CHECK(duty(set, d, "C11") == Duty::supply_bypass);
    CHECK(duty(set, d, "R4") == Duty::divider);
}

TEST_CASE(
    "the resistor at the middle of the output tubes' filament is their cathode resistor, by tap or by hum control") {
    const Chassis set = demo::read("s5-mill-lane.xml");  // two 45s on one winding, its tap to R3
    CHECK(duty(set, duties_of(set), "R3") == Duty::output_cathode_resistor);
    // the same with the tap left free, and the control across the winding in its place (common practice)
    std::string text = demo::text("s5-mill-lane.xml");
    const auto edit = [&](const std::string& old, const std::string& with) {
        const std::size_t from = text.find(old);
        REQUIRE(from != std::string::npos);
        text.replace(from, old.size(), with);
    };
    edit("leads=\"f45a bias45 f45b\"", "leads=\"f45a T1.spare f45b\"");
    edit("</chassis>",
         "  <control id=\"R99\" value=\"20\" role=\"hum\" a=\"f45a\" b=\"f45b\" wiper=\"bias45\"/>\n</chassis>");
    const Outcome<Chassis> other = read_chassis_text(text, "hum control", demo::catalogue());
    REQUIRE(other);
    CHECK(duty(*other, duties_of(*other), "R3") == Duty::output_cathode_resistor);
}

TEST_CASE("what burnt a resistor is on its end away from the rectifier") {
    const Chassis set = demo::quarry_hill();
    const Duties d = duties_of(set);
    CHECK(burnt_by(set, d, set.part("R3")) == std::vector<std::string>{"C12"});
    CHECK(burnt_by(set, d, set.part("R11")) == std::vector<std::string>{"C16"});
}

TEST_CASE(
    "an output section that shares its bulb with the rectifier has its coupler, cathode resistor and plate bypass") {
    const Chassis set = demo::read("../tests/audit/usual/phono-seventy.xml");
    const Duties duties = duties_of(set);
    const auto of = [&](const char* id) { return duties.of(set.part(id)); };
    CHECK(of("C6") == Duty::output_coupler);
    CHECK(of("R9") == Duty::output_cathode_resistor);
    CHECK(of("C8") == Duty::output_plate_bypass);
    CHECK(duties.rectifiers.size() == 1);
    CHECK(duties.output_tubes.size() == 1);
}

TEST_CASE("a capacitor that tunes a choke, a tone coil or a padded oscillator keeps its value, a bypass does not") {
    const Catalogue catalogue = Catalogue::shipped();
    const Outcome<Chassis> set = read_chassis_text(
        R"(<chassis version="1" name="coils" reference="gnd" m-means="million">
<line volts="117" hertz="60" hot="P1.1" neutral="P1.2"/><node is="chassis-metal" net="gnd"/><plug id="P1" role="line"/>
<transformer id="T1" role="power" va="60"><winding role="primary" leads="P1.1 P1.2" volts="117" ohms="5"/>
<winding role="plate" leads="V1.4 gnd V1.6" noload-volts="300 300" ohms="120 130"/></transformer>
<socket id="V1" tube="5Y3GT"/><socket id="V2" tube="6K6GT"/><socket id="V3" tube="6SK7"/>
<capacitor id="C1" value="8 mfd" volts="450" construction="dry-electrolytic" plus="V1.8" minus="gnd"/>
<coil id="L1" role="choke" henries="10" ohms="300" a="V1.8" b="bplus"/>
<capacitor id="C2" value=".05 mfd" volts="600" a="V1.8" b="bplus"/>
<capacitor id="C3" value="8 mfd" volts="450" construction="dry-electrolytic" plus="bplus" minus="gnd"/>
<resistor id="R1" value="470k" a="V2.5" b="gnd"/><coil id="L2" role="choke" henries="2" ohms="90" a="tone" b="gnd"/>
<capacitor id="C4" value=".03 mfd" volts="400" a="V2.5" b="tone"/>
<transformer id="T2" role="oscillator"><winding role="rf" leads="V3.4 padder" ohms="4"/></transformer>
<capacitor id="C5" value=".0025 mfd" volts="200" a="padder" b="gnd"/>
<transformer id="T3" role="if"><winding role="rf" leads="V3.8 if" ohms="9"/></transformer>
<resistor id="R2" value="2k" a="if" b="bplus"/><capacitor id="C6" value=".05 mfd" volts="400" a="if" b="gnd"/>
</chassis>)",
        "coils.xml", catalogue);
    REQUIRE(set);
    const Duties d = duties_of(*set);
    CHECK(duty(*set, d, "C2") == Duty::resonant);
    CHECK(duty(*set, d, "C4") == Duty::resonant);
    CHECK(duty(*set, d, "C5") == Duty::resonant);
    CHECK(duty(*set, d, "C6") == Duty::supply_bypass);  // on the cold end of a coil, fed through a resistor
    CHECK(duty(*set, d, "C3") == Duty::filter);
}
