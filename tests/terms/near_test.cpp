// SPDX-License-Identifier: MIT
// The nearest right word: terms/near.hpp.
#include <catch2/catch.hpp>

#include "terms/near.hpp"

using namespace tubewright;

TEST_CASE("A slip of the pen finds the word that was meant") {
    const std::vector<std::string_view> known = {"resistor", "reach", "capacitor", "can"};
    CHECK(nearest("resistr", known) == "resistor");
    CHECK(nearest("Resistor", known) == "resistor");
    CHECK(nearest("recah", known) == "reach");
    CHECK(nearest("capacitorr", known) == "capacitor");
}

TEST_CASE("A word that resembles nothing is not guessed") {
    const std::vector<std::string_view> known = {"resistor", "reach", "capacitor", "can"};
    CHECK(nearest("transformer", known).empty());
    CHECK(nearest("", known).empty());
    CHECK(nearest("x", known).empty());
    CHECK(nearest(std::string(1000, 'r'), known).empty());
    CHECK(suggestion("zzz", known) == "one of resistor, reach, capacitor, can");
}

TEST_CASE("A text from the file is cut and cleaned before it stands in a message") {
    CHECK(quoted("a\tb") == "\"a?b\"");
    CHECK(quoted(std::string(100, 'x')) == "\"" + std::string(40, 'x') + "...\"");
    CHECK(quoted("\xCE\xA9") == "\"\xCE\xA9\"");
}
