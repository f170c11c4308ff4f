// SPDX-License-Identifier: MIT
// Nets that rectifiers hold in a part of the period only, where a direct-current net of the rest is no judge: both lugs
// of a winding between the legs of a bridge, and all that a synchronous vibrator feeds. What the meter reads, and what
// it works against, is checked against the same set with the meter soldered in as a resistor.
#include <catch2/catch.hpp>

#include <cmath>

#include "sets.hpp"

using namespace sets;

namespace {

/// A bridge of dry rectifiers, and a cathode-biased tube behind it.
std::string bridge(const std::string& construction) {
    std::string legs;
    const char* ends[4][2] = {{"up", "plus"}, {"down", "plus"}, {"gnd", "up"}, {"gnd", "down"}};
    for (int k = 0; k < 4; ++k)
        legs += "<rectifier id=\"D" + std::to_string(k + 1) + "\" volts=\"250\" amps=\".1\" construction=\"" +
                construction + "\" anode=\"" + ends[k][0] + "\" cathode=\"" + ends[k][1] + "\"/>\n";
    return R"(<chassis version="1" name="phono motor board" built="1952" reference="gnd" tolerance="10">
<line volts="120" hertz="60" hot="w1" neutral="w2"/>
<node is="chassis-metal" net="gnd" touch="yes"/>
<transformer id="PT" role="power" va="30">
<winding role="primary" leads="w1 w2" volts="120" ohms="14"/>
<winding role="plate" leads="up down" noload-volts="180" ohms="60"/>
<winding role="heater" leads="warm gnd" volts="6.3"/></transformer>
)" + legs + R"(<capacitor id="F1" value="20 mfd" volts="350" plus="plus" minus="gnd"/>
<socket id="V1" tube="6J5"/><join at="warm V1.7"/><join at="gnd V1.2"/>
<resistor id="A1" value="33k" a="plus" b="V1.3"/><resistor id="A2" value="1.2k" a="V1.8" b="gnd"/>
<resistor id="A3" value="330k" a="V1.5" b="gnd"/><resistor id="A4" value="12k" a="plus" b="gnd"/>
</chassis>)";
}

/// An output tube on a synchronous vibrator.
const std::string synchronous =
    R"(<chassis version="1" name="launch receiver" built="1938" reference="gnd" tolerance="10">
<node is="chassis-metal" net="gnd" touch="yes"/><node is="b-minus" net="gnd"/>
<battery id="ACC" role="vehicle" volts="6" plus="six" minus="gnd"/>
<vibrator id="VB" role="synchronous" hertz="100" duty=".85" reed="gnd" contacts="pa pb sa sb"/>
<transformer id="VT" role="vibrator" va="25">
<winding role="primary" leads="pa six pb" volts="6" ohms=".12 .12"/>
<winding role="plate" leads="sa out sb" noload-volts="210 210" ohms="180 180"/></transformer>
<capacitor id="BF" value=".01 mfd" volts="1600" construction="buffer-paper" a="sa" b="sb"/>
<capacitor id="F1" value="8 mfd" volts="350" plus="out" minus="gnd"/>
<coil id="CH" role="choke" henries="8" ohms="350" a="out" b="high"/>
<capacitor id="F2" value="8 mfd" volts="350" plus="high" minus="gnd"/>
<socket id="V1" tube="6K6GT"/><join at="six V1.2"/><join at="gnd V1.7"/><join at="V1.4 high"/>
<transformer id="OT" role="output"><winding role="output-primary" leads="V1.3 high" ohms="350" impedance="10k"/>
<winding role="output-secondary" leads="voice gnd" ohms=".5"/></transformer>
<speaker id="SP" ohms="4" a="voice" b="gnd"/>
<resistor id="KR" value="560" a="V1.8" b="gnd"/><capacitor id="KC" value="10-25" plus="V1.8" minus="gnd"/>
<resistor id="GL" value="390k" a="V1.5" b="gnd"/>
</chassis>)";

Policy metered(double ohms) {
    Policy policy;
    policy.meter.ohms = Ohms(ohms);
    return policy;
}

/// What a net stands at with so many ohms soldered to the reference.
double soldered(const std::string& text, const std::string& net, double ohms) {
    const Chassis set = read(with(text, "<resistor id=\"LOAD\" value=\"" + std::to_string(std::lround(ohms / 1e3)) +
                                            "k\" a=\"" + net + "\" b=\"gnd\"/>"));
    return dc(*bench_of(set).solve({}), set, net);
}

}  // namespace

TEST_CASE("a lug that a bridge holds reads on the meter what it stands at with the meter soldered in") {
    for (const char* construction : {"selenium", "silicon"}) {
        const std::string text = bridge(construction);
        const Chassis set = read(text);
        for (const double ohms : {10e6, 250e3}) {
            const Solution s = *bench_of(set, {}, metered(ohms)).solve({});
            for (const char* net : {"up", "down", "plus", "V1.3", "V1.8"}) {
                const NetVolts& volts = s.at(set, net);
                INFO(construction << " " << net << " " << ohms << ": " << volts.dc.value() << " V");
                const double loaded = soldered(text, net, ohms);
                CHECK(volts.meter.value() == Approx(loaded).epsilon(5e-3));
                // and "seen from" is what takes the rest
                CHECK(volts.source.value() ==
                      Approx(ohms * (volts.dc.value() / loaded - 1)).epsilon(0.1).margin(ohms * 2e-4));
            }
        }
    }
    // selenium leaks: ten megohms take next to nothing of it, however little of the period the legs conduct
    const Chassis set = read(bridge("selenium"));
    const NetVolts lug = bench_of(set).solve({})->at(set, "up");
    CHECK(lug.meter.value() > 0.97 * lug.dc.value());
}

TEST_CASE("what a synchronous vibrator feeds is seen from its own ohms, and no meter adds to its volts") {
    const Chassis set = read(synchronous);
    for (const double ohms : {20e3, 250e3}) {
        const Solution s = *bench_of(set, {}, metered(ohms)).solve({});
        for (const char* net : {"sa", "out", "high", "V1.3", "V1.8"}) {
            const NetVolts& volts = s.at(set, net);
            INFO(net << " " << ohms << ": " << volts.dc.value() << " V");
            const double loaded = soldered(synchronous, net, ohms);
            CHECK(volts.meter.value() <= volts.dc.value());
            CHECK(volts.meter.value() == Approx(loaded).epsilon(2e-3));
            // across what alternates by hundreds of volts the resistor takes watts besides
            if (volts.rms.value() < 0.5 * volts.dc.value())
                CHECK(volts.source.value() ==
                      Approx(ohms * (volts.dc.value() / loaded - 1)).epsilon(0.08).margin(ohms * 1e-4));
        }
    }
    const Solution s = *bench_of(set).solve({});
    CHECK(s.at(set, "V1.5").source.value() == Approx(390e3).epsilon(0.02));
    CHECK(s.at(set, "high").source.value() > s.at(set, "out").source.value());
}
