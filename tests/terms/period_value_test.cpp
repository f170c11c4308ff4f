// SPDX-License-Identifier: MIT
// Values as printed: terms/period_value.hpp. Every spelling of the grammar, every trap, and a property run over random
// values.
#include <catch2/catch.hpp>

#include <fmt/core.h>

#include <cmath>
#include <random>

#include "terms/numbers.hpp"
#include "terms/period_value.hpp"

using namespace tubewright;

namespace {

double farads_of(const char* text) {
    return read_value(text, Measure::farads).value();
}
double ohms_of(const char* text, MMeans m = MMeans::unstated) {
    return read_value(text, Measure::ohms, m).value();
}

/// The number and column of the one notice of a refused value.
std::pair<int, int> refused(std::string_view text, Measure measure, MMeans m = MMeans::unstated) {
    const Outcome<double> value = read_value(text, measure, m);
    if (value || value.notices().size() != 1) return {0, 0};
    return {value.notices()[0].number, value.notices()[0].place.column};
}

}  // namespace

TEST_CASE("Capacitors read as they are printed") {
    CHECK(farads_of("0.05 mfd") == 0.05e-6);
    CHECK(farads_of(".05 MF") == 0.05e-6);
    CHECK(farads_of(".05MFD.") == 0.05e-6);
    CHECK(farads_of(".05 M.F.D.") == 0.05e-6);
    CHECK(farads_of("250 mmf") == 250e-12);
    CHECK(farads_of("250MMFD") == 250e-12);
    CHECK(farads_of("250 uuf") == 250e-12);
    CHECK(farads_of("250 \xC2\xB5\xC2\xB5"
                    "F") == 250e-12);
    CHECK(farads_of("8 \xCE\xBC"
                    "F") == 8e-6);
    CHECK(farads_of("4.7 nF") == 4.7e-9);
    CHECK(farads_of("100pF") == 100e-12);
    CHECK(farads_of("4n7") == 4.7e-9);
    CHECK(farads_of("900 cm") == Approx(900 * 1.11265006e-12));
    CHECK(farads_of("1/2 mfd") == 0.5e-6);
    CHECK(farads_of("  8 mfd ") == 8e-6);
}

TEST_CASE("A capacitor's print may carry its working volts") {
    const auto print = [](const char* text) { return read_capacitor(text).value(); };
    CHECK(print("8-450").farads == 8e-6);
    CHECK(print("8-450").volts == 450.0);
    CHECK(print("8/450").volts == 450.0);
    CHECK(print("8/1600").volts == 1600.0);
    CHECK(print(".02-400").farads == 0.02e-6);
    CHECK(print(".02 mfd 400 V").volts == 400.0);
    CHECK(print(".02 mfd-400WV").volts == 400.0);
    CHECK(print("10 mfd @ 25 V").volts == 25.0);
    CHECK(print("250 mmf 500 V").farads == 250e-12);
    CHECK_FALSE(print(".02 mfd").volts.has_value());
    CHECK(print("5-20 mmf").farads == 20e-12);
    CHECK(print("5-20 mmf").least == 5e-12);
    CHECK(print("25-280 mmfd").least == 25e-12);
    CHECK_FALSE(print("5-20 mmf").volts.has_value());
    CHECK_FALSE(print("5-20").least.has_value());
    CHECK(read_can("8-8-20/450-450-25").notices().at(0).remedy.find("each <section>") != std::string::npos);
    CHECK(read_can("8+8 mfd").notices().at(0).number == messages::value_sections);
    CHECK(read_can("2x8 mfd").notices().at(0).number == messages::value_sections);
    CHECK(read_capacitor("20-5 mmf").notices().at(0).number == messages::value_two_readings);
    CHECK(read_capacitor("8-8-20/450").notices().at(0).number == messages::value_sections);
    CHECK(read_capacitor("250-500").notices().at(0).number == messages::value_two_readings);
}

TEST_CASE("Resistors read as they are printed") {
    CHECK(ohms_of("410") == 410);
    CHECK(ohms_of("410 ohms") == 410);
    CHECK(ohms_of("410\xCE\xA9") == 410);
    CHECK(ohms_of("470K") == 470e3);
    CHECK(ohms_of("470 k ohms") == 470e3);
    CHECK(ohms_of("4.7k") == 4.7e3);
    CHECK(ohms_of("4k7") == 4.7e3);
    CHECK(ohms_of("2R2") == 2.2);
    CHECK(ohms_of("1 meg") == 1e6);
    CHECK(ohms_of(".5MEG") == 5e5);
    CHECK(ohms_of("2.2 megohms") == 2.2e6);
    CHECK(ohms_of("1/4 meg") == 250e3);
    CHECK(ohms_of("1 1/2 meg") == 1.5e6);
}

TEST_CASE("M on a resistor is refused with both readings until the file says what it means") {
    const Outcome<double> value = read_value("500M", Measure::ohms);
    REQUIRE_FALSE(value);
    const Notice& notice = value.notices().at(0);
    CHECK(notice.number == messages::value_m_unsettled);
    CHECK(notice.place.column == 4);
    CHECK(notice.message.find("500 thousand ohms") != std::string::npos);
    CHECK(notice.message.find("500 megohms") != std::string::npos);
    CHECK(notice.remedy.find("\"500K\" or \"500 meg\"") != std::string::npos);
    CHECK(ohms_of("500M", MMeans::thousand) == 500e3);
    CHECK(ohms_of("500 M ohms", MMeans::thousand) == 500e3);
    CHECK(ohms_of("2M", MMeans::million) == 2e6);
    CHECK(ohms_of("2M2", MMeans::million) == 2.2e6);
    CHECK(ohms_of("1 meg", MMeans::thousand) == 1e6);
}

TEST_CASE("Volts, watts, amperes, henries and cycles read as they are printed") {
    CHECK(*read_value("600WV", Measure::volts) == 600);
    CHECK(*read_value("450 W.V.D.C.", Measure::volts) == 450);
    CHECK(*read_value("450", Measure::volts) == 450);
    CHECK(*read_value("1.6 kV", Measure::volts) == 1600);
    CHECK(*read_value("1/2 W", Measure::watts) == 0.5);
    CHECK(*read_value("1/2", Measure::watts) == 0.5);
    CHECK(*read_value("2 watts", Measure::watts) == 2);
    CHECK(*read_value("12m", Measure::amps) == 0.012);
    CHECK(*read_value("12 mA", Measure::amps) == 0.012);
    CHECK(*read_value("60 MA", Measure::amps) == 0.06);
    CHECK(*read_value(".25", Measure::amps) == 0.25);
    CHECK(*read_value("15", Measure::henries) == 15);
    CHECK(*read_value("30 millihenries", Measure::henries) == 0.03);
    CHECK(*read_value("60 VA", Measure::volt_amperes) == 60);
    CHECK(*read_value("60 c", Measure::hertz) == 60);
    CHECK(*read_value("60~", Measure::hertz) == 60);
    CHECK(*read_value("456 kc", Measure::kilohertz) == 456);
    CHECK(*read_value("10.7 mc", Measure::kilohertz) == 10700);
    CHECK(*read_value("\xC2\xB1 20 %", Measure::per_cent) == 20);
    CHECK(*read_value("20", Measure::per_cent) == 20);
    CHECK(*read_value("0", Measure::per_cent) == 0);
}

TEST_CASE("A capacitor without a unit is refused with both readings") {
    const Outcome<double> value = read_value(".05", Measure::farads);
    REQUIRE_FALSE(value);
    CHECK(value.notices().at(0).message == "\".05\" has no unit: .05 mfd or .05 mmf?");
    CHECK(value.notices().at(0).remedy == "write \".05 mfd\" or \".05 mmf\"");
    CHECK(value.notices().at(0).number == messages::value_no_unit);
}

TEST_CASE("Every refused value has its own message and the column of the fault") {
    using P = std::pair<int, int>;
    CHECK(refused("", Measure::ohms) == P{messages::value_empty, 1});
    CHECK(refused("   ", Measure::ohms) == P{messages::value_empty, 1});
    CHECK(refused("0,05 mfd", Measure::farads) == P{messages::value_comma, 2});
    CHECK(refused("50,000", Measure::ohms) == P{messages::value_comma, 3});
    CHECK(refused("-5", Measure::ohms) == P{messages::value_signed, 1});
    CHECK(refused("abc", Measure::ohms) == P{messages::value_no_number, 1});
    CHECK(refused(".", Measure::ohms) == P{messages::value_no_number, 1});
    CHECK(refused("470 kiloparsec", Measure::ohms) == P{messages::value_unknown_unit, 5});
    CHECK(refused(".05 mfx", Measure::farads) == P{messages::value_unknown_unit, 5});
    CHECK(refused("\xC2\xB5 5", Measure::farads) == P{messages::value_no_number, 1});
    CHECK(refused("0", Measure::ohms) == P{messages::value_zero, 1});
    CHECK(refused("0.000 mfd", Measure::farads) == P{messages::value_zero, 1});
    CHECK(refused("1/0 W", Measure::watts) == P{messages::value_bad_fraction, 3});
    CHECK(refused(std::string(70, '9'), Measure::ohms) == P{messages::value_out_of_range, 1});
    CHECK(refused(std::string(200, '9'), Measure::ohms) == P{messages::value_out_of_range, 1});
    CHECK(refused("8-450", Measure::farads) == P{messages::value_two_readings, 1});
    CHECK(refused("1e3", Measure::ohms) == P{messages::value_unknown_unit, 2});
    CHECK(refused("4.7k5", Measure::ohms) == P{messages::value_unknown_unit, 4});
    CHECK(refused(".02 mfd 400 Q", Measure::farads) == P{messages::value_unknown_unit, 13});
    CHECK(read_value("50,000", Measure::ohms).notices()[0].remedy ==
          "write \"50000\" if the comma parts thousands, \"50\" if it is a decimal point");
    CHECK(read_value("0,05 mfd", Measure::farads).notices()[0].remedy == "a decimal point is a point: \"0.05 mfd\"");
}

TEST_CASE("A fraction is one of a part's print; anything else is two figures") {
    for (const double below : {2, 3, 4, 5, 8, 10, 16, 20, 32, 64})
        for (int above = 1; above < 16 && above < below; ++above) {
            INFO(above << "/" << below);
            CHECK(*read_value(fmt::format("{}/{}", above, below), Measure::watts) == above / below);
            CHECK(*read_value(fmt::format("2 {}/{} W", above, below), Measure::watts) == 2 + above / below);
        }
    using P = std::pair<int, int>;
    CHECK(refused("110/220", Measure::volts) == P{messages::value_bad_fraction, 1});
    CHECK(refused("450/500", Measure::volts) == P{messages::value_bad_fraction, 1});
    CHECK(refused("50/60", Measure::hertz) == P{messages::value_bad_fraction, 1});
    CHECK(refused("1/7 W", Measure::watts) == P{messages::value_bad_fraction, 1});
    CHECK(refused("3/2", Measure::watts) == P{messages::value_bad_fraction, 1});
    CHECK(refused("16/20", Measure::watts) == P{messages::value_bad_fraction, 1});
    CHECK(refused("5/9", Measure::watts) == P{messages::value_bad_fraction, 1});
    CHECK(read_value("110/220", Measure::volts).notices()[0].message == "\"110/220\" is two figures, 110 and 220");
    // of a capacitor the second figure is its volts
    CHECK(read_capacitor("25/6").value().volts == 6.0);
    CHECK(read_capacitor("8/12").value().farads == 8e-6);
    CHECK(farads_of("1/4 mfd") == 0.25e-6);
}

TEST_CASE("Quarters and halves in one sign are fractions") {
    CHECK(*read_value("\xC2\xBD", Measure::watts) == 0.5);
    CHECK(*read_value("\xC2\xBC W", Measure::watts) == 0.25);
    CHECK(*read_value("\xC2\xBEW", Measure::watts) == 0.75);
    CHECK(*read_value("1\xC2\xBD", Measure::watts) == 1.5);
    CHECK(*read_value(" 1 \xC2\xBD watts ", Measure::watts) == 1.5);
    CHECK(ohms_of("\xC2\xBD meg") == 5e5);
    CHECK(refused("1.5\xC2\xBD", Measure::watts).first == messages::value_unknown_unit);
}

TEST_CASE("Three zeros behind a point are refused with both readings") {
    using P = std::pair<int, int>;
    CHECK(refused("10.000 mmf", Measure::farads) == P{messages::value_grouped, 3});
    CHECK(refused("470.000", Measure::ohms) == P{messages::value_grouped, 4});
    CHECK(refused(" 5.000 ", Measure::ohms) == P{messages::value_grouped, 3});
    CHECK(refused("1.000.000", Measure::ohms) == P{messages::value_grouped, 1});
    CHECK(read_value("470.000", Measure::ohms).notices()[0].message ==
          "\"470.000\" is \"470\", or \"470000\" where a sheet groups thousands by points");
    CHECK(read_value("10.000 mmf", Measure::farads).notices()[0].remedy == "write \"10 mmf\" or \"10000 mmf\"");
    CHECK(read_value("1.500.000 ohms", Measure::ohms).notices()[0].remedy == "write \"1500000 ohms\"");
    CHECK(read_can("8.000-8.000/450").notices().at(0).number == messages::value_grouped);
    CHECK(ohms_of("4.7000") == 4.7);
    CHECK(ohms_of("4.70") == 4.7);
    CHECK(ohms_of("1000.000") == 1000);
    CHECK(ohms_of("10.00") == 10);
}

TEST_CASE("Figures beside a capacitance below one volt are no volts") {
    CHECK(read_capacitor(".0001-.00025").notices().at(0).number == messages::value_two_readings);
    CHECK(read_capacitor(".0001-.00025").notices().at(0).remedy ==
          "a range has its unit behind both: \".0001-.00025 mfd\"");
    CHECK(read_capacitor(".0001-.00025 mfd").value().least == 0.0001e-6);
    CHECK(read_capacitor("10-3").value().volts == 3.0);
}

TEST_CASE("The letter code of resistors is read in every place of its letter") {
    CHECK(ohms_of("4R7") == 4.7);
    CHECK(ohms_of("330R") == 330);
    CHECK(ohms_of("330 r") == 330);
    CHECK(ohms_of("R47") == 0.47);
    CHECK(ohms_of("4K7") == 4700);
    CHECK(ohms_of("K47") == 470);
    CHECK(ohms_of("1M5", MMeans::million) == 1.5e6);
    CHECK(ohms_of("M47", MMeans::million) == 470e3);
    using P = std::pair<int, int>;
    CHECK(refused("1M5", Measure::ohms) == P{messages::value_m_unsettled, 2});
    CHECK(refused("1M5", Measure::ohms, MMeans::thousand) == P{messages::value_m_unsettled, 2});
    CHECK(refused("M47", Measure::ohms) == P{messages::value_m_unsettled, 1});
    CHECK(refused("R47", Measure::farads).first == messages::value_no_number);
    CHECK(refused("R", Measure::ohms).first == messages::value_no_number);
    CHECK(refused("R4.7", Measure::ohms).first == messages::value_no_number);
    // IEC 60063, E24, in the code and back
    for (const int figure :
         {10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91}) {
        const auto tens = figure / 10, ones = figure % 10;
        for (const auto& [letter, power] : {std::pair{'R', 0}, {'K', 3}, {'M', 6}}) {
            const auto is = [&](const std::string& text, int shift) {
                INFO(text);
                const double ohms = std::stod(fmt::format("{}e{}", figure, power + shift));
                CHECK(*read_value(text, Measure::ohms, MMeans::million) == ohms);
                CHECK(*read_value(printed(ohms, Measure::ohms), Measure::ohms) == ohms);
            };
            is(fmt::format("{}{}", letter, figure), -2);
            is(fmt::format("{}{}{}", tens, letter, ones), -1);
            is(fmt::format("{}{}", figure, letter), 0);
            is(fmt::format("{}0{}", figure, letter), 1);
        }
    }
}

TEST_CASE("Whole numbers are digits alone") {
    CHECK(*read_whole("1938", 2100) == 1938);
    CHECK(*read_whole(" 5 ", 200) == 5);
    CHECK_FALSE(read_whole("5.5", 200));
    CHECK_FALSE(read_whole("-5", 200));
    CHECK_FALSE(read_whole("", 200));
    CHECK_FALSE(read_whole("99999999999999", 200));
    CHECK(read_whole("201", 200).notices().at(0).number == messages::value_out_of_range);
}

TEST_CASE("A decimal text gives the double nearest to it, whatever the unit") {
    std::mt19937_64 random(20);
    std::uniform_int_distribution<int> digits(1, 99999);
    std::uniform_int_distribution<int> point(0, 4);
    for (int i = 0; i < 2000; ++i) {
        std::string text = fmt::format("{:05}", digits(random));
        text.insert(static_cast<std::size_t>(point(random)), ".");
        INFO(text);
        if (text.ends_with(".000")) continue;  // refused: it may be thousands
        // The compiler's own decimal conversion is the twin.
        CHECK(*read_value(text + " mmf", Measure::farads) == std::stod(text + "e-12"));
        CHECK(*read_value(text + "K", Measure::ohms) == std::stod(text + "e3"));
        CHECK(*read_value(text + " mA", Measure::amps) == std::stod(text + "e-3"));
    }
}

TEST_CASE("What is printed is read back to the last bit") {
    CHECK(printed(0.02e-6, Measure::farads) == ".02 mfd");
    CHECK(printed(250e-12, Measure::farads) == "250 mmf");
    CHECK(printed(470e3, Measure::ohms) == "470K");
    CHECK(printed(1.5e6, Measure::ohms) == "1.5 meg");
    CHECK(printed(410, Measure::ohms) == "410");
    CHECK(printed(0.062, Measure::amps) == "62 mA");
    CHECK(printed(12, Measure::henries) == "12 H");
    CHECK(printed(0, Measure::ohms) == "?");
    std::mt19937_64 random(31);
    std::uniform_real_distribution<double> decade(-13, 8);
    for (int i = 0; i < 20000; ++i) {
        const double value = std::pow(10, decade(random));
        for (const Measure measure :
             {Measure::ohms, Measure::farads, Measure::henries, Measure::volts, Measure::amps, Measure::watts,
              Measure::volt_amperes, Measure::hertz, Measure::kilohertz, Measure::per_cent}) {
            const std::string text = printed(value, measure);
            if (text.size() > 80) continue;  // longer than anything printed on a part
            INFO(text);
            const Outcome<double> back = read_value(text, measure);
            REQUIRE(back);
            CHECK(*back == value);
        }
    }
}

TEST_CASE("Figures of the standard series are read alike in every spelling of the period") {
    // IEC 60063, E24
    for (const int figure :
         {10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91})
        for (const int decade : {0, 1, 2, 3, 4, 5}) {
            const std::string text = fmt::format("{}{}", figure, std::string(static_cast<std::size_t>(decade), '0'));
            const double ohms = std::stod(text);
            CHECK(*read_value(text, Measure::ohms) == ohms);
            CHECK(*read_value(text + " ohms", Measure::ohms) == ohms);
            CHECK(*read_value(printed(ohms, Measure::ohms), Measure::ohms) == ohms);
            CHECK(*read_value(fmt::format("{}{}", text, "M"), Measure::ohms, MMeans::thousand) == ohms * 1000);
            const double farads = std::stod(text + "e-12");
            for (const char* unit : {" mmf", "mmfd", " MMFD.", " uuf", "pF"})
                CHECK(*read_value(text + unit, Measure::farads) == farads);
            CHECK(*read_value(printed(farads, Measure::farads), Measure::farads) == farads);
        }
}

TEST_CASE("The print of a can gives its sections in order, and its volts") {
    const auto can = [](std::string_view text) {
        const Outcome<CanPrint> read = read_can(text);
        REQUIRE(read);
        return *read;
    };
    CHECK(can("8-8-20/450").farads == std::vector<double>{8e-6, 8e-6, 20e-6});
    CHECK(can("8-8-20/450").volts == 450.0);
    CHECK(can("40-20 mfd 150 V").farads == std::vector<double>{40e-6, 20e-6});
    CHECK(can("40-20 mfd 150 V").volts == 150.0);
    CHECK(can("16-16-450").volts == 450.0);
    CHECK(can("16-16-450").farads.size() == 2);
    CHECK(can("50-30").farads.size() == 2);
    CHECK_FALSE(can("50-30").volts);
    CHECK(can("4-2-2 mfd @ 600WV").volts == 600.0);
    CHECK(can("20").farads == std::vector<double>{20e-6});
    for (const std::string_view text : {"", "x", "8-8-20/", "8-8-20/450 Q", "8 hens", "8,8", "-8-8", "0-8/450"}) {
        INFO(text);
        CHECK_FALSE(read_can(text));
    }
}

TEST_CASE("Random bytes are read or refused, never anything else") {
    std::mt19937_64 random(7);
    const std::string_view letters = "0123456789.,-/ kKmMefdFpunWV@%+\xC2\xB5\xCE\xA9~\t";
    std::uniform_int_distribution<std::size_t> pick(0, letters.size() - 1);
    std::uniform_int_distribution<int> length(0, 12);
    for (int i = 0; i < 20000; ++i) {
        std::string text;
        for (int k = length(random); k > 0; --k) text += letters[pick(random)];
        for (const Measure measure : {Measure::ohms, Measure::farads, Measure::volts, Measure::per_cent}) {
            const Outcome<double> value = read_value(text, measure, MMeans::million);
            if (value) {
                CHECK(std::isfinite(*value));
                CHECK(*value >= 0);
            } else {
                REQUIRE(value.notices().size() == 1);
                CHECK(value.notices()[0].number >= 1201);
                CHECK(value.notices()[0].place.column >= 1);
                CHECK(value.notices()[0].place.column <= static_cast<int>(text.size()) + 1);
                CHECK_FALSE(value.notices()[0].remedy.empty());
            }
        }
    }
}
