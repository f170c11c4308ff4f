// SPDX-License-Identifier: MIT
#include "terms/csv.hpp"

#include <catch2/catch.hpp>

using namespace tubewright;

TEST_CASE("Quotes, doubled quotes, commas and line breaks inside a field survive") {
    const auto t = read_csv("id,value\r\nR7,\"470,000\"\r\nC1,\"a \"\"dry\"\" one\nin a can\"\r\n", "parts.csv");
    REQUIRE(t);
    CHECK(t->records.size() == 2);
    CHECK(t->text(0, t->column("value")) == "470,000");
    CHECK(t->text(1, 1) == "a \"dry\" one\nin a can");
    CHECK(t->text(1, t->column("none")).empty());
    CHECK(t->records[1][0].line == 3);
}

TEST_CASE("A byte-order mark, a missing last line end and blank lines are no trouble") {
    const auto t = read_csv("\xEF\xBB\xBFid,value\n\nR1,5\n\nR2,", "x.csv");
    REQUIRE(t);
    CHECK(t->header.front() == "id");
    REQUIRE(t->records.size() == 2);
    CHECK(t->text(1, 0) == "R2");
    CHECK(t->text(1, 1).empty());
}

TEST_CASE("Every broken record is named with its line and column in one run") {
    const auto t = read_csv("a,b\n1\n1,2,3\n\xC3\xA4\xC3\xB6,x\"y\n", "x.csv");
    REQUIRE_FALSE(t);
    REQUIRE(t.notices().size() == 3);
    CHECK(t.notices()[0].place == Place{"x.csv", 4, 5});
    CHECK(t.notices()[1].place == Place{"x.csv", 2, 1});
    CHECK(t.notices()[2].place == Place{"x.csv", 3, 1});
}

TEST_CASE("A quote that never ends is found at its beginning") {
    const auto t = read_csv("a,b\n1,\"2\n3,4\n", "x.csv");
    REQUIRE_FALSE(t);
    CHECK(t.notices().front().place == Place{"x.csv", 2, 3});
}

TEST_CASE("An empty text and a header word that stands twice are refused") {
    CHECK_FALSE(read_csv("", "x.csv"));
    CHECK_FALSE(read_csv("a,a\n1,2\n", "x.csv"));
    CHECK_FALSE(read_csv("a,b\n\"1\"2,3\n", "x.csv"));
}

TEST_CASE("Numbers are read without a locale and only when the whole field is one") {
    CHECK(plain_number("1.95e+03") == 1950.0);
    CHECK(plain_number(" -12.5 ") == -12.5);
    CHECK_FALSE(plain_number("12 mA"));
    CHECK_FALSE(plain_number(""));
    CHECK_FALSE(plain_number("1e999"));
    CHECK_FALSE(plain_number("nan"));
}

TEST_CASE("What is written is read back") {
    for (const char* text : {"plain", "a,b", "say \"no\"", "two\nlines", ""}) {
        const auto t = read_csv("a,b\n" + csv_field(text) + ",x\n", "x.csv");
        REQUIRE(t);
        CHECK(t->text(0, 0) == text);
    }
}
