// SPDX-License-Identifier: MIT
// Names to numbers: chassis/name_table.hpp against a map.
#include <catch2/catch.hpp>

#include <map>
#include <random>
#include <string>

#include "chassis/name_table.hpp"

using namespace tubewright;

TEST_CASE("Every name keeps the number of its first appearance") {
    NameTable table;
    std::map<std::string, int> twin;
    std::mt19937 random(1);
    for (int i = 0; i < 50000; ++i) {
        const std::string name = "n" + std::to_string(random() % 20000) + std::string(random() % 40, 'x');
        const auto [known, is_new] = twin.try_emplace(name, static_cast<int>(twin.size()));
        if (table.find(name) != (is_new ? -1 : known->second)) FAIL(name);
        if (table.intern(name) != known->second) FAIL(name);
    }
    CHECK(table.size() == static_cast<int>(twin.size()));
    for (const auto& [name, index] : twin)
        if (table.text(index) != name) FAIL(name);
}

TEST_CASE("The empty name and names longer than a block are names like others") {
    NameTable table;
    const std::string longest(100000, 'y');
    const std::string_view empty;
    CHECK(table.find(empty) == -1);
    CHECK(table.intern(empty) == 0);
    CHECK(table.intern(longest) == 1);
    CHECK(table.intern("a") == 2);
    CHECK(table.intern(empty) == 0);
    CHECK(table.find(longest) == 1);
    CHECK(table.text(1) == longest);
}
