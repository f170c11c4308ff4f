// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include <tubewright/bench.hpp>

#include "sets.hpp"

using namespace tubewright;

TEST_CASE("every condition reads back as it is written") {
    for (const char* text :
         {"normal", "high-line", "warm-up", "rectifier-out", "transformer-alone", "tube-out:V4", "speaker-unplugged",
          "output-cut-off", "lamp:60W", "lamp:40W@230V", "step:90V", "step:37.5V"}) {
        INFO(text);
        const Outcome<Condition> read = Condition::parse(text);
        REQUIRE(read);
        CHECK(read->text() == text);
    }
    CHECK(Condition::parse("tube-out:V4")->tube == "V4");
    CHECK(Condition::parse("lamp:60w")->lamp_watts == 60);
    CHECK(Condition::parse("lamp:40W@230V")->lamp_volts == 230);
    CHECK(Condition::parse("step:90")->line_volts == 90);
}

TEST_CASE("what is no condition is refused with what would be one") {
    for (const char* text : {"", "Normal", "tube-out", "tube-out:", "step", "step:", "step:-5V", "step:fastV", "lamp",
                             "lamp:0W", "lamp:60W@", "lamp:60Wx", "normal:1", "step:nan", "lamp:infW"}) {
        INFO(text);
        const Outcome<Condition> read = Condition::parse(text);
        REQUIRE_FALSE(read);
        REQUIRE(read.notices().size() == 1);
        CHECK(read.notices().front().number == 3003);
        CHECK_FALSE(read.notices().front().remedy.empty());
    }
}

TEST_CASE("a condition that the set has nothing of does not apply; it is not one without a solution") {
    Bench bench = sets::bench_of(sets::DividerSupply{}.make());
    for (const char* text : {"soak", "speaker-unplugged", "output-cut-off", "signal-peak"}) {
        INFO(text);
        const Outcome<Solution> found = bench.solve(sets::condition(text));
        REQUIRE_FALSE(found);
        CHECK(found.notices().front().number == 3013);
        CHECK(found.notices().front().message.find("does not apply") != std::string::npos);
    }
}
