// SPDX-License-Identifier: MIT
// Starter files by family and by answers. That they audit clean: tests/plan/starter_test.cpp.
#include <catch2/catch.hpp>

#include "files.hpp"

using namespace tubewright;

namespace {

Chassis started(std::string_view family, const NodeAnswers& answers) {
    const Outcome<std::string> text = starter_file(family, answers);
    REQUIRE(text);
    const Outcome<Chassis> set = files::read(*text);
    if (!set) FAIL(files::lines(set.notices()));
    return *set;
}

}  // namespace

TEST_CASE("Every starter file is read and is of its family") {
    const auto families = starter_families();
    CHECK(families.size() == 8);
    for (const std::string_view family : families) {
        INFO(family);
        const Chassis set = started(family, {});
        const bool ac = family == "ac-transformer" || family == "back-bias";
        CHECK((ac ? "ac-transformer" : family) == word(set.family()));
        CHECK(set.hot() == (family != "vehicle" && family != "battery" && !ac));
        CHECK(set.level() >= 2);
    }
}

TEST_CASE("Answers about the metal win over the family that was named") {
    NodeAnswers answers;
    answers.metal = MetalIs::behind_parts;
    CHECK(started("series-string", answers).family() == Family::floating_b_minus);
    CHECK_FALSE(starter_file("ac-transformer", answers));  // no part joins a blade to the metal there
    CHECK_FALSE(starter_file("vehicle", answers));
    answers.metal = MetalIs::apart;
    CHECK(started("ac-transformer", answers).family() == Family::ac_transformer);
    // an open reading: a capacitor alone between the metal and B-minus
    for (const char* hanging : {"series-string", "floating-b-minus", "doubler", "portable"}) {
        INFO(hanging);
        const Chassis set = started(hanging, answers);
        CHECK((hanging == std::string_view("series-string") ? "floating-b-minus" : hanging) ==
              std::string_view(word(set.family())));
        CHECK(set.part("C1") >= 0);
        CHECK(set.part("R1") < 0);
        CHECK(starter_file(hanging, answers)->find("resistor below") == std::string::npos);
        CHECK(starter_file(hanging, answers)->find("and a resistor") == std::string::npos);
        CHECK(starter_file(hanging, answers).notices().back().message.find("sees no capacitor") != std::string::npos);
    }
    answers.metal = MetalIs::on_the_line;
    CHECK(started("floating-b-minus", answers).family() == Family::series_string);
    CHECK_FALSE(starter_file("ac-transformer", answers));
    CHECK(starter_file("series", answers).notices().front().remedy.find("series-string") != std::string::npos);
}

TEST_CASE("Name and year stand where they were given") {
    NodeAnswers answers;
    answers.name = "Mill & \"Pond\" <set>";
    answers.built = 1951;
    const Chassis set = started("battery", answers);
    CHECK(set.name() == answers.name);
    CHECK(set.built() == 1951);
}
