// SPDX-License-Identifier: MIT
// What the README shows is what stands in the tree: its library example is the numbered example, which is built and run
// here.
#include <catch2/catch.hpp>

#include "sets.hpp"

TEST_CASE("the library example of the README is examples/01_first_study.cpp, word for word") {
    const std::string readme = whole::text_of(TUBEWRIGHT_ROOT "/README.md");
    const std::size_t start = readme.find("```cpp\n");
    REQUIRE(start != std::string::npos);
    const std::size_t end = readme.find("\n```", start);
    REQUIRE(end != std::string::npos);
    const std::string shown = readme.substr(start + 7, end - start - 7);
    CHECK(shown.size() > 500);
    CHECK(whole::text_of(TUBEWRIGHT_ROOT "/examples/01_first_study.cpp").find(shown) != std::string::npos);
}
