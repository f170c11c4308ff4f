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

namespace {

/// Two plate supplies of one transformer, a cathode-heated stage on the one, and a rail of `lugs` lugs at its end: so
/// many that the slopes of its period are not worked out.
std::string many_lugs(int lugs) {
    std::string rail;
    for (int k = 0; k < lugs; ++k)
        rail += "<resistor id=\"B" + std::to_string(k) + "\" value=\"100\" a=\"" +
                (k == 0 ? std::string("high") : "lug" + std::to_string(k - 1)) + "\" b=\"lug" + std::to_string(k) +
                "\"/>\n";
    return R"(<chassis version="1" name="long rail" built="1940" reference="gnd" tolerance="10">
<line volts="120" hertz="60" hot="w1" neutral="w2"/>
<node is="chassis-metal" net="gnd" touch="yes"/>
<transformer id="PT" role="power" va="90">
<winding role="primary" leads="w1 w2" volts="120" ohms="6"/>
<winding role="plate" leads="V1.4 gnd V1.6" noload-volts="300 300" ohms="110 110"/>
<winding role="plate" leads="V2.4 gnd V2.6" noload-volts="250 250" ohms="110 110"/>
<winding role="rectifier-heater" leads="V1.2 first" volts="5"/>
<winding role="rectifier-heater" leads="V2.2 other" volts="5"/>
<winding role="heater" leads="warm gnd" volts="6.3"/></transformer>
<socket id="V1" tube="5Y3GT"/><join at="first V1.8"/><socket id="V2" tube="5Y3GT"/><join at="other V2.8"/>
<capacitor id="F1" value="16 mfd" volts="500" plus="first" minus="gnd"/>
<coil id="CH" role="choke" henries="10" ohms="300" a="first" b="high"/>
<capacitor id="F2" value="16 mfd" volts="500" plus="high" minus="gnd"/>
<capacitor id="F3" value="16 mfd" volts="500" plus="other" minus="gnd"/>
<socket id="V3" tube="6J5"/><join at="warm V3.7"/><join at="gnd V3.2"/>
<resistor id="A1" value="22k" a="lug9" b="V3.3"/><resistor id="A2" value="1.2k" a="V3.8" b="gnd"/>
<resistor id="A3" value="330k" a="V3.5" b="gnd"/>
<socket id="V4" tube="6J5"/><join at="warm V4.7"/><join at="gnd V4.2"/>
<resistor id="A4" value="22k" a="other" b="V4.3"/><resistor id="A5" value="1.2k" a="V4.8" b="gnd"/>
<resistor id="A6" value="330k" a="V4.5" b="gnd"/>
)" + rail + "</chassis>";
}

}  // namespace

TEST_CASE(
    "a supply of a very large set that nothing loads yet reads nearly all of its volts, as with the meter soldered "
    "in") {
    const std::string text = many_lugs(310);
    const Chassis set = read(text);
    for (const double ohms : {10e6, 500e3}) {
        const Solution s = *bench_of(set, {}, metered(ohms)).solve(condition("warm-up"));
        for (const char* net : {"first", "high", "other", "lug300", "V3.3"}) {
            const Chassis loaded =
                read(with(text, "<resistor id=\"LOAD\" value=\"" + std::to_string(std::lround(ohms / 1e3)) +
                                    "k\" a=\"" + net + "\" b=\"gnd\"/>"));
            const double stands = dc(*bench_of(loaded).solve(condition("warm-up")), loaded, net);
            INFO(net << " " << ohms << ": " << s.at(set, net).dc.value() << " V, loaded " << stands);
            CHECK(stands > 300);
            CHECK(s.at(set, net).meter.value() == Approx(stands).epsilon(0.01));
        }
    }
}

// A sound electrolytic passes more than a blocked vacuum rectifier (common practice, no source): a supply that nothing
// feeds empties through its filter. Without one nothing is known to decide.
TEST_CASE("what a blocked or a cold rectifier leaves on a direct-current line its filter empties, else nobody knows") {
    const std::string text =
        edited(sound(text_of(TUBEWRIGHT_ROOT "/netlists/s3-tanner-row.xml")), "hertz=\"60\"", "hertz=\"dc\"");
    const auto turned_round = [](const std::string& of) {
        return read(edited(of, R"(hot="P1.1" neutral="P1.2")", R"(hot="P1.2" neutral="P1.1")"));
    };
    const auto emptied = [](const Solution& s, const Chassis& of, const char* net) {
        const NetVolts& there = s.at(of, net);
        return !there.undetermined && std::fabs(there.dc.value()) < 2 && there.low <= there.dc &&
               there.high >= there.dc && there.low.value() <= 0 && there.high.value() >= 0;
    };
    std::string bare = edited(text, R"(<section mark="red" value="50 mfd" volts="150" plus="V5.8"/>)", "");
    bare = edited(bare, R"(<section mark="blue" value="30 mfd" volts="150" plus="bplus"/>)", "");
    const Chassis turned = turned_round(text), without = turned_round(bare);
    const Solution blocked = *bench_of(turned).solve({}), unknown = *bench_of(without).solve({});
    for (const char* net : {"bplus", "V5.8", "V4.3", "V2.8"}) {
        INFO(net);
        CHECK(emptied(blocked, turned, net));
        CHECK(unknown.at(without, net).undetermined);
    }
    CHECK_FALSE(blocked.at(turned, "V5.7").undetermined);
    CHECK(dc(blocked, turned, "V5.7") < -50);
    const Chassis set = read(text);
    Bench bench = bench_of(set);
    const Solution cold = *bench.solve(condition("tube-out:V4"));
    CHECK(emptied(cold, set, "bplus"));
    CHECK(emptied(cold, set, "V5.8"));
    const Solution normal = *bench.solve({});
    for (const char* net : {"bplus", "V5.8", "V4.3"}) CHECK_FALSE(normal.at(set, net).undetermined);
}

TEST_CASE("a grid whose bias rides on an unplugged field is not determined, the supply's centre tap is") {
    const Chassis set = read(sound(text_of(TUBEWRIGHT_ROOT "/netlists/s2-heron-weir.xml")));
    Bench bench = bench_of(set);
    const Solution off = *bench.solve(condition("speaker-unplugged"));
    for (const char* net : {"V4.5", "bias", "field_tap"}) {
        INFO(net);
        CHECK(off.at(set, net).undetermined);
    }
    CHECK_FALSE(off.at(set, "tap").undetermined);
    CHECK(dc(off, set, "tap") == Approx(-473).epsilon(0.03));
    const Solution normal = *bench.solve({});
    for (const char* net : {"V4.5", "bias", "field_tap", "tap"}) CHECK_FALSE(normal.at(set, net).undetermined);
}
