// SPDX-License-Identifier: MIT
#include <cmath>

#include <tubewright/tubes.hpp>

#include <catch2/catch.hpp>

using namespace tubewright;

TEST_CASE("The tubes of two sets have models") {
    const Catalogue catalogue = Catalogue::shipped();
    for (const char* name : {"80", "42", "75", "78", "6A7", "12AX7", "EL84", "6X4"}) {
        INFO(name);
        const auto m = tube_model(*catalogue.tube(name), catalogue);
        REQUIRE(m);
        CHECK_FALSE(m->sections.empty());
        for (const SectionModel& s : m->sections) CHECK(s.parameters.size() == s.parameter_names.size());
    }
}
