// SPDX-License-Identifier: MIT
// The words for the enumerations of a chassis: each has its own.
#include <catch2/catch.hpp>

#include <set>
#include <string>

#include <tubewright/chassis.hpp>

using namespace tubewright;

namespace {

template <class Enum>
std::size_t different_words(Enum last) {
    std::set<std::string> words;
    for (int i = 0; i <= static_cast<int>(last); ++i) words.insert(word(static_cast<Enum>(i)));
    return words.size();
}

}  // namespace

TEST_CASE("No two kinds, roles, families or ways to fail share a word") {
    CHECK(different_words(PartKind::block) == 19);
    CHECK(different_words(WindingRole::other) == 10);
    CHECK(different_words(Family::unknown) == 8);
    CHECK(different_words(FaultMode::tracking) == 15);
    CHECK(word(PartKind::power_switch) == std::string("switch"));
    CHECK(word(Family::floating_b_minus) == std::string("floating-b-minus"));
}
