// SPDX-License-Identifier: MIT
// What a line-up and a label tell. Heater volts and amperes are the catalogue's (recalled); the sums of usual line-ups
// are common practice, no source: 12SA7 12SK7 12SQ7 50L6 35Z5 add up to about 121 V.
#include <catch2/catch.hpp>

#include <tubewright/choice.hpp>

using namespace tubewright;

namespace {

const Catalogue& shipped() {
    static const Catalogue c = Catalogue::shipped();
    return c;
}

LineUp line_up(const std::vector<std::string>& tubes, const std::string& label, std::optional<int> year = {}) {
    Outcome<LineUp> made = line_up_of(tubes, label, year, shipped());
    if (!made) FAIL(made.notices().front().text());
    return *made;
}

Family first(const LineUp& made) {
    return made.families.front().family;
}

}  // namespace

TEST_CASE("Families by line-up and label: the nine demo line-ups come first or among the likely") {
    CHECK(first(line_up({"6A7", "78", "75", "42", "80"}, "115V 60c 60W", 1936)) == Family::ac_transformer);
    CHECK(first(line_up({"6A8G", "6K7G", "6Q7G", "6K6GT", "5Y3GT"}, "115 V 60 cycles", 1938)) ==
          Family::ac_transformer);
    CHECK(first(line_up({"12SA7", "12SK7", "12SQ7", "50L6GT", "35Z5GT"}, "117V AC/DC", 1947)) == Family::series_string);
    CHECK(first(line_up({"26", "26", "26", "27", "26", "45", "45", "80"}, "110V 60c 85W", 1929)) ==
          Family::ac_transformer);
    CHECK(first(line_up({"6A8GT", "6K7GT", "6Q7GT", "25A6GT", "25Z6GT"}, "117V 60c AC", 1939)) == Family::doubler);
    CHECK(first(line_up({"1R5", "1U4", "1U5", "3V4"}, "117V AC-DC", 1949)) == Family::portable);
    CHECK(first(line_up({"1R5", "1U4", "1U5", "3V4"}, "", 1949)) == Family::battery);
    CHECK(first(line_up({"6SK7", "6SA7", "6SK7", "6SQ7", "6V6GT", "0Z4"}, "6V", 1948)) == Family::vehicle);
    CHECK(first(line_up({"12AX7", "EL84", "6X4"}, "117V 60c 45W", 1956)) == Family::ac_transformer);
    const LineUp floats = line_up({"6A7", "6D6", "75", "43", "25Z5"}, "117V AC/DC", 1935);
    CHECK(std::any_of(floats.families.begin(), floats.families.end(),
                      [](const FamilyGuess& g) { return g.family == Family::floating_b_minus; }));
}

TEST_CASE("Heaters are summed in string and side by side") {
    const LineUp string = line_up({"12SA7", "12SK7", "12SQ7", "50L6GT", "35Z5GT"}, "117V AC/DC");
    REQUIRE(string.in_series.size() == 1);
    CHECK(string.in_series[0].volts_in_series == Approx(122.8).margin(0.3));
    CHECK(string.in_series[0].amps == Approx(0.15));
    const LineUp dropped = line_up({"6A7", "6D6", "75", "43", "25Z5"}, "117V AC/DC");
    CHECK(dropped.in_series[0].volts_in_series == Approx(68.9).margin(0.2));
    std::string said;
    for (const std::string& words : dropped.heater_words) said += words + "\n";
    INFO(said);
    CHECK(said.find("48.1 V are left for a resistance cord or ballast, about 160 ohm") != std::string::npos);
    const LineUp parallel = line_up({"6A7", "78", "75", "42", "80"}, "115V 60c 60W");
    bool found = false;
    for (const HeaterSum& sum : parallel.in_parallel)
        if (std::fabs(sum.volts_each - 6.3) < 0.01) {
            found = true;
            CHECK(sum.amps_in_parallel == Approx(1.6).margin(0.1));
        }
    CHECK(found);
}

TEST_CASE("A tapped heater counts side by side where the other tubes have half its volts") {
    const LineUp made = line_up({"12AX7", "EL84", "EL84", "6X4"}, "117V 60c");
    REQUIRE(made.in_parallel.size() == 1);
    CHECK(made.in_parallel.front().volts_each == Approx(6.3));
    CHECK(made.in_parallel.front().amps_in_parallel == Approx(2 * 0.76 + 0.6 + 0.3).margin(0.02));  // recalled ratings
    CHECK(line_up({"12AX7", "12AU7"}, "117V 60c").in_parallel.front().volts_each == Approx(12.6));
}

TEST_CASE("Labels are read in the spellings of the period, and what is not understood is said") {
    CHECK(line_up({"80"}, "105-125 volts, 50/60 cycles").volts == 115.0);
    CHECK(line_up({"80"}, "105-125 volts, 50/60 cycles").hertz == 60.0);
    CHECK(line_up({"80"}, "115V AC 60~ 75 watts").watts == 75.0);
    CHECK(line_up({"80"}, "115V AC 60~ 75 watts").drawn == "75 W");
    CHECK(line_up({"80"}, "115V. 60CY. 60W.").hertz == 60.0);
    CHECK(line_up({"80"}, "115 V.A.C. 60~").volts == 115.0);
    CHECK(line_up({"80"}, "117 V AC or DC").current == "ac-dc");
    CHECK(line_up({"0Z4"}, "6.3V battery").volts == 6.3);
    CHECK(line_up({"80"}, "115V 60c 45VA").drawn == "45 VA");
    CHECK(line_up({"80"}, "115V 60c .5A").drawn == "58 VA");
    CHECK(line_up({"80"}, "117 V ac dc").current == "ac-dc");
    CHECK(line_up({"80"}, "DC 110v").current == "dc");
    CHECK_FALSE(line_up_of({"80"}, "115 hens", {}, shipped()));
    CHECK_FALSE(line_up_of({"8O"}, "", {}, shipped()));
    CHECK_FALSE(line_up_of({}, "115V", {}, shipped()));
}

TEST_CASE("What cannot be known from a line-up is not said, and the cautions treat the metal as the line") {
    const LineUp made = line_up({"12SA7", "12SK7", "12SQ7", "50L6GT", "35Z5GT"}, "117V AC/DC", 1947);
    REQUIRE_FALSE(made.cautions.empty());
    CHECK(made.cautions.front().find("treat all metal as the line") != std::string::npos);
    CHECK(std::any_of(made.look_at.begin(), made.look_at.end(),
                      [](const std::string& s) { return s.find("each blade to the metal") != std::string::npos; }));
    for (const LineUp::UsualPart& part : made.usual_parts) {
        INFO(part.what);
        CHECK(shipped().construction(part.construction) != nullptr);
        CHECK_FALSE(part.action.empty());
    }
}
