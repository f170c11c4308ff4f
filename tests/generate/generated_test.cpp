// SPDX-License-Identifier: MIT
// Generated sets are sets: they read, audit clean by the graph, belong to the family that was asked for, and their
// rails fall as current adds.
#include <catch2/catch.hpp>

#include <fstream>
#include <iterator>
#include <set>

#include <tubewright/netlist.hpp>
#include <tubewright/study.hpp>

#include "mutation.hpp"

using namespace tubewright;

namespace {

const Catalogue& shipped() {
    static const Catalogue c = Catalogue::shipped();
    return c;
}

std::string text_of(std::uint64_t seed, int tubes, std::string_view family) {
    return generate::chassis_text(shipped(), {seed, tubes, std::string(family)});
}

Chassis set_of(std::uint64_t seed, int tubes, std::string_view family) {
    const Outcome<Chassis> set = read_chassis_text(text_of(seed, tubes, family), "generated", shipped());
    if (!set) FAIL(set.notices().front().text());
    return *set;
}

double volts_at(const Study& study, const char* net) {
    const auto view = study.volts(Scenario::normal);
    if (!view) FAIL(view.notices().front().text());
    return view->at(net).dc.value();
}

}  // namespace

TEST_CASE("Generated sets of nine families read, belong to their family, and audit clean by the graph") {
    for (const std::string_view family : generate::families())
        for (const std::uint64_t seed : {1, 2, 3, 4, 5}) {
            INFO(family << " " << seed);
            const Chassis set = set_of(seed, 12, family);
            const bool transformer = family == "back-bias" || family == "amplifier" || family == "trf";
            CHECK((transformer ? "ac-transformer" : family) == word(set.family()));
            CHECK(set.level() == 3);
            for (const Finding& finding : audit_graph(set, shipped())) {
                INFO(finding.message);
                CHECK(finding.severity == Severity::note);
            }
        }
}

TEST_CASE("The same wishes give the same bytes, another seed other values, and what cannot be is refused") {
    CHECK(text_of(7, 12, "back-bias") == text_of(7, 12, "back-bias"));
    CHECK(text_of(7, 12, "back-bias") != text_of(8, 12, "back-bias"));
    CHECK_THROWS(text_of(1, 12, "no such family"));
    CHECK_THROWS(text_of(1, 1, "ac-transformer"));
}

TEST_CASE("The tenth demo set is what the generator makes of seed 1 and 60 tubes") {
    std::ifstream in(std::string(TUBEWRIGHT_ROOT) + "/netlists/s10-generated-sixty.xml");
    const std::string kept(std::istreambuf_iterator<char>(in), {});
    CHECK(kept == text_of(1, 60, "ac-transformer"));
}

TEST_CASE("Rails fall along the supply, and as current adds") {
    double before = 1e9;
    for (const int tubes : {5, 8, 12}) {
        const Study study(set_of(1, tubes, "ac-transformer"), shipped());
        const double first = volts_at(study, "first1"), plus = volts_at(study, "bplus1"),
                     radio = volts_at(study, "rail1a"), audio = volts_at(study, "rail1b");
        INFO(tubes << " tubes: " << first << " " << plus << " " << radio << " " << audio);
        CHECK(first > plus);
        CHECK(plus > radio);
        CHECK(plus > audio);
        CHECK(plus > 150);
        CHECK(radio < before);
        before = radio;
    }
}

TEST_CASE(
    "A set under other names is the same set to the audit, and a planted mistake changes what a person could see") {
    generate::Dice dice(3);
    const Chassis set = set_of(2, 12, "series-string");
    const generate::Flat plain = generate::flat_of(set, dice);
    const Outcome<Chassis> again = generate::chassis_of(plain, shipped());
    if (!again) FAIL(again.notices().front().text());
    CHECK(again->parts().size() == set.parts().size());
    CHECK(again->family() == set.family());
    std::multiset<std::string> here, there;
    for (const Finding& f : audit_graph(set, shipped()))
        if (f.rule != "reading") here.insert(f.rule);
    for (const Finding& f : audit_graph(*again, shipped()))
        if (f.rule != "reading") there.insert(f.rule);
    CHECK(here == there);
    for (int slip = 0; slip < generate::slips; ++slip)
        for (int tries = 0; tries < 20; ++tries) {
            generate::Flat flat = plain;
            const auto mistake = generate::plant(flat, static_cast<generate::Slip>(slip), dice, shipped());
            if (!mistake) continue;
            INFO(generate::word(mistake->slip) << ": " << mistake->what);
            CHECK_FALSE((mistake->parts.empty() && mistake->nets.empty()));
        }
}
