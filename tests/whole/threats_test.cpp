// SPDX-License-Identifier: MIT
// What threatens the power transformer of the superheterodyne of 1936. The ratios of current are those of an
// independent reference set of the same kind, solved elsewhere: 4.4, 1.9, 1.7 and 1.2 times the normal primary current;
// the order of things is held, not the digits.
#include <algorithm>
#include <catch2/catch.hpp>
#include <map>

#include "sets.hpp"

using namespace whole;

namespace {

const tw::ThreatReport& report() {
    static const tw::Study set = study(text_of(quarry_hill));
    return set.threats();
}

const tw::Threat& row(const std::vector<tw::Threat>& rows, const std::string& part, const std::string& mode) {
    for (const tw::Threat& t : rows)
        if (t.part == part && t.mode == mode) return t;
    throw std::runtime_error("no row: " + part + " " + mode);
}

double ratio(const tw::Threat& t) {
    return t.primary_amps_rms / t.primary_amps_rms_normal;
}

bool is_capacitor(const tw::Threat& t) {
    return t.part.front() == 'C';
}

}  // namespace

TEST_CASE(
    "by current the worst capacitor faults are the first filter, the second filter and the plate bypass, shorted") {
    std::vector<std::string> parts;
    for (const tw::Threat& t : report().for_transformer_by_current())
        if (is_capacitor(t) && std::find(parts.begin(), parts.end(), t.part) == parts.end()) parts.push_back(t.part);
    REQUIRE(parts.size() >= 3);
    CHECK(parts[0] == "C1.plain");
    CHECK(parts[1] == "C2");
    CHECK(parts[2] == "C17");
}

TEST_CASE("the currents of the worst faults are in the order of an independent reference set") {
    const std::vector<tw::Threat> rows = report().for_transformer_by_current();
    const double first = ratio(row(rows, "C1.plain", "short")), second = ratio(row(rows, "C2", "short")),
                 third = ratio(row(rows, "C17", "short"));
    CHECK(first > 2.5);
    CHECK(first < 8);
    CHECK(second > 1.4);
    CHECK(second < 2.6);
    CHECK(third > 1.2);
    CHECK(third < 2.4);
    CHECK(first > second);
    CHECK(second > third);
}

TEST_CASE("after the three shorts the leaking coupler comes next by criticality among the capacitors") {
    std::vector<std::string> parts;
    for (const tw::Threat& t : report().for_transformer())
        if (is_capacitor(t) && t.criticality > 0 && std::find(parts.begin(), parts.end(), t.part) == parts.end())
            parts.push_back(t.part);
    REQUIRE(parts.size() >= 4);
    const std::vector<std::string> shorts(parts.begin(), parts.begin() + 3);
    CHECK(std::is_permutation(shorts.begin(), shorts.end(), std::vector<std::string>{"C1.plain", "C2", "C17"}.begin()));
    CHECK(parts[3] == "C16");
}

TEST_CASE("every row's criticality is the product of the factors that stand beside it, and the chain says why") {
    REQUIRE(report().rows.size() >= 120);
    for (const tw::Threat& t : report().rows) {
        INFO(t.part << " " << t.mode);
        CHECK(t.criticality ==
              Approx(t.beta * t.alpha * t.failures_per_million_hours * t.hours / 1e6).epsilon(1e-12).margin(1e-300));
        if (t.solved) CHECK_FALSE(t.chain().empty());
    }
}

TEST_CASE("an open cathode bypass does nothing to the transformer, and the row says so") {
    const tw::Threat& open = row(report().rows, "C15", "open");
    CHECK(ratio(open) == Approx(1).epsilon(1e-3));
    CHECK(open.beta == 0);
    CHECK(open.criticality == 0);
    CHECK((open.chain() + open.current_note).find("nothing") != std::string::npos);
}

TEST_CASE("a shorted line capacitor is listed ahead of the primary: fire and shock, not the transformer") {
    const std::vector<tw::Threat> ahead = report().ahead_of_primary();
    CHECK(std::any_of(ahead.begin(), ahead.end(),
                      [](const tw::Threat& t) { return t.part == "C3" && t.mode == "short"; }));
    for (const tw::Threat& t : report().for_transformer()) CHECK(t.part != "C3");
}

TEST_CASE("another set has other threats: the plan is not a list of habits") {
    const tw::Study amplifier = study(text_of(bellows_court));
    for (const tw::Threat& t : amplifier.threats().for_transformer_by_current()) {
        INFO(t.part);
        REQUIRE(amplifier.chassis().part(t.part) >= 0);
    }
    CHECK(amplifier.threats().for_transformer_by_current().front().primary_amps_rms_normal <
          0.7 * report().for_transformer_by_current().front().primary_amps_rms_normal);
}
