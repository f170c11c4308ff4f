// SPDX-License-Identifier: MIT
// The faults that a set can have, placed on the first demo set (read from netlists/).
#include "threat/faults.hpp"

#include <algorithm>
#include <fstream>
#include <iterator>
#include <set>

#include <catch2/catch.hpp>

#include <tubewright/netlist.hpp>

using namespace tubewright;
using threat::PlacedFault;

namespace {

const Catalogue& shipped() {
    static const Catalogue c = Catalogue::shipped();
    return c;
}
const Chassis& first_set() {
    static const Outcome<Chassis> set = read_chassis(TUBEWRIGHT_ROOT "/netlists/s1-quarry-hill.xml", shipped());
    REQUIRE(set);
    return *set;
}
const std::vector<PlacedFault>& placed() {
    static const std::vector<PlacedFault> all = threat::placed_faults(first_set(), shipped());
    return all;
}
const PlacedFault* find(const std::string& id) {
    for (const PlacedFault& p : placed())
        if (p.fault.id == id) return &p;
    return nullptr;
}

}  // namespace

TEST_CASE("A five-tube set has at least 120 faults, each with a name of its own") {
    CHECK(placed().size() >= 120);
    std::set<std::string> ids;
    for (const PlacedFault& p : placed()) {
        INFO(p.fault.id);
        CHECK(ids.insert(p.fault.id).second);
        CHECK(first_set().part(p.blamed) >= 0);
        CHECK_FALSE(p.event.empty());
        CHECK_FALSE(p.doing.empty());
        CHECK(shipped().construction(p.construction) != nullptr);
        CHECK(p.share > 0);
        CHECK(p.share <= 1);
    }
    CHECK(faults_of(first_set(), shipped()).size() == placed().size());
}

TEST_CASE("Every kind of fault of the list stands on the set") {
    for (const char* id : {"C1.plain short",
                           "C2 leak 10 k",
                           "C16 leak 1 M",
                           "C16 leak 100 k",
                           "C16 leak aged",
                           "C17 short",
                           "C10 open",
                           "R3 x1.5",
                           "R3 x2",
                           "R3 open",
                           "R3 short",
                           "L1 open",
                           "L1 b to frame",
                           "T1 plate half 1 layer short",
                           "T1 plate half 2 layer short",
                           "T1 primary layer short",
                           "T1 plate half 1 open",
                           "T2 output-primary open",
                           "V4 weak",
                           "V4 dead",
                           "V4 grid to cathode short",
                           "V4 heater to cathode short",
                           "V4 plate to grid short",
                           "V4 screen to grid short",
                           "V4 gas",
                           "V1 oscillator grid to cathode short",
                           "V5 plate 2 short",
                           "V5 socket tracks 2 to 3",
                           "V5 socket tracks 2 to 1",
                           "V5 2 socket tracks to chassis",
                           "W1 short"}) {
        INFO(id);
        CHECK(find(id) != nullptr);
    }
    // the lamp lead on the heater winding, a wire on a sharp edge, the second leg of the heater winding
    auto any = [](auto&& wanted) { return std::any_of(placed().begin(), placed().end(), wanted); };
    CHECK(any([](const PlacedFault& p) { return p.blamed == "W6" && p.fault.mode == FaultMode::to_chassis; }));
    CHECK(any([](const PlacedFault& p) {
        return p.blamed == "T1" && p.fault.id.find("other heater leg") != std::string::npos;
    }));
}

TEST_CASE("A lead that the file has as a wire is one risk, the wire's; a lamp without one carries its own") {
    const auto to_metal = [](const std::vector<PlacedFault>& all, const std::string& part) {
        return std::count_if(all.begin(), all.end(), [&](const PlacedFault& p) {
            return p.blamed == part && p.fault.mode == FaultMode::to_chassis;
        });
    };
    CHECK(to_metal(placed(), "W6") == 1);
    CHECK(to_metal(placed(), "DS1") == 0);
    CHECK(to_metal(placed(), "DS2") == 0);

    std::ifstream in(TUBEWRIGHT_ROOT "/netlists/s1-quarry-hill.xml");
    std::string text((std::istreambuf_iterator<char>(in)), std::istreambuf_iterator<char>());
    const std::size_t wire = text.find("<wire id=\"W6\"");
    REQUIRE(wire != std::string::npos);
    text.replace(wire, text.find("/>", wire) + 2 - wire, "<join at=\"heaters lamps\"/>");
    const Outcome<Chassis> set = read_chassis_text(text, "set.xml", shipped());
    REQUIRE(set);
    const std::vector<PlacedFault> all = threat::placed_faults(*set, shipped());
    CHECK(to_metal(all, "DS1") == 1);
    CHECK(to_metal(all, "DS2") == 1);
    for (const PlacedFault& p : all)
        if (p.blamed == "DS1" && p.fault.mode == FaultMode::to_chassis) CHECK(p.construction == "rubber");
}

TEST_CASE("What stands in no handbook says that it is a declared estimate") {
    for (const PlacedFault& p : placed()) {
        const bool handbook = p.of_mode == "short" || p.of_mode == "open" || p.of_mode == "drift";
        if (p.of_mode.empty() || p.fault.mode == FaultMode::to_chassis || p.fault.mode == FaultMode::tracking ||
            p.fault.mode == FaultMode::leak || !handbook) {
            INFO(p.fault.id);
            const bool lamp = p.of_mode == "no-illumination";
            CHECK((lamp || p.note.find("declared") != std::string::npos));
        }
    }
}

TEST_CASE("The shares of a part's faults in one mode do not pass the whole of it") {
    std::map<std::pair<std::string, std::string>, double> sums;
    for (const PlacedFault& p : placed()) sums[{p.blamed + "/" + p.construction, p.of_mode}] += p.share;
    for (const auto& [key, sum] : sums) {
        INFO(key.first << " " << key.second);
        CHECK(sum <= 1.0 + 1e-9);
    }
}

TEST_CASE("A fault joins two different places") {
    for (const PlacedFault& p : placed()) {
        const Fault& f = p.fault;
        if (f.lead_a < 0) continue;
        const Part& part = first_set().parts()[static_cast<std::size_t>(f.part)];
        const int a = part.leads[static_cast<std::size_t>(f.lead_a)].net;
        const int b = f.net_b >= 0 ? f.net_b : part.leads[static_cast<std::size_t>(f.lead_b)].net;
        INFO(f.id);
        CHECK(a >= 0);
        CHECK(b >= 0);
        CHECK(a != b);
    }
}

TEST_CASE("Windings of a power transformer that lie on one another can break through") {
    std::vector<std::string> found;
    for (const PlacedFault& p : placed())
        if (p.blamed == "T1" && p.fault.mode == FaultMode::short_circuit && p.fault.winding < 0)
            found.push_back(p.fault.id);
    std::sort(found.begin(), found.end());
    // its heater winding is on the metal: that is "T1 plate.1 to chassis"
    CHECK(found == std::vector<std::string>{"T1 plate to primary", "T1 plate to rectifier-heater"});
}
