// SPDX-License-Identifier: MIT
// A fault is a change of the set and of nothing else: faults drawn by seed on every demo set, each against the file
// edited to be so and solved by itself, cold. 1e-6 of the volts (2e-6 where one side was shot whole and the other by
// two levels) and 1e-4 of rms where the row was shot anew, .3 % where the curve gave it (.5 % of the volts there); each
// answer says which.
#include <algorithm>
#include <cmath>
#include <random>

#include <catch2/catch.hpp>

#include "../bench/sets.hpp"
#include "threat/threat.hpp"

using namespace sets;

namespace {

/// The file with one more resistor between two nets, or with a value multiplied. Empty: not a fault for this test.
std::string edited_for(const std::string& text, const Chassis& set, const Fault& f) {
    const Part& part = set.parts()[static_cast<std::size_t>(f.part)];
    const auto net = [&](int lead) {
        const int n = lead >= 0 ? part.leads[static_cast<std::size_t>(lead)].net : -1;
        return n >= 0 ? set.nets()[static_cast<std::size_t>(n)].name : std::string();
    };
    const bool path = f.mode == FaultMode::short_circuit || f.mode == FaultMode::leak ||
                      f.mode == FaultMode::to_chassis || f.mode == FaultMode::tracking;
    if (path && f.ohms > 0 && f.lead_a >= 0) {
        const std::string a = net(f.lead_a);
        const std::string b = f.net_b >= 0 ? set.nets()[static_cast<std::size_t>(f.net_b)].name : net(f.lead_b);
        if (a.empty() || b.empty()) return {};
        return with(text,
                    "<resistor id=\"R990\" value=\"" + std::to_string(f.ohms) + "\" a=\"" + a + "\" b=\"" + b + "\"/>");
    }
    // a grid whose leak opens has a history, not a value; and no more ohms than a file may have
    if (f.mode == FaultMode::open && part.ohms && *part.ohms >= 47e3) return {};
    if (part.kind != PartKind::resistor || !part.ohms || (f.mode != FaultMode::drift && f.mode != FaultMode::open))
        return {};
    // the value of its element, where that is the whole of it
    const std::size_t at = text.find("<resistor id=\"" + part.id + "\" value=\"");
    if (at == std::string::npos) return {};
    const std::size_t ends = text.find('>', at), value = text.find("value=\"", at) + 7, closes = text.find('"', value);
    if (text[ends - 1] != '/' || text.substr(at, ends - at).find(" found=") != std::string::npos) return {};
    const double ohms = *part.ohms * (f.mode == FaultMode::open ? 1e9 : f.factor);
    return text.substr(0, value) + std::to_string(static_cast<long long>(std::llround(ohms))) + " ohm" +
           text.substr(closes);
}

struct Tally {
    int shot = 0, curve = 0, missed = 0, past_a_millionth = 0;
    double worst_volts = 0, worst_shot = 0, worst_curve = 0;
};

/// Of one set: `count` faults drawn by seed.
void hold(const std::string& name, std::size_t count, Tally& tally) {
    const std::string text = sound(text_of(std::string(TUBEWRIGHT_ROOT "/netlists/") + name + ".xml"));
    const Chassis set = read(text);
    std::vector<Fault> faults = faults_of(set, shipped());
    std::mt19937 draw(7);
    for (std::size_t k = faults.size(); k > 1; --k) std::swap(faults[k - 1], faults[draw() % k]);
    Bench bench = bench_of(set, faults);
    std::size_t done = 0;
    for (const Fault& f : faults) {
        if (done == count) break;
        const std::string edited_text = edited_for(text, set, f);
        if (edited_text.empty()) continue;
        INFO(name << ": " << f.id);
        // as the sweep of the study has it: its curve first
        const FaultSolution found = bench.sweep({}, std::span(&f, 1)).front();
        const Chassis other = read(edited_text);
        Bench alone = bench_of(other);
        const FaultSolution twin = alone.solve({}, {}, false);
        CHECK(found.solved == twin.solved);
        if (!found.solved || !twin.solved) continue;
        ++done;
        const double of_volts = found.reshot ? 2e-6 : 5e-3, of_amps = found.reshot ? 1e-4 : 3e-3;
        bool within = true;
        double volts_off = 0;
        for (const NetVolts& net : found.solution.nets) {
            const NetVolts& there = twin.solution.at(other, net.name);
            if (net.undetermined || there.undetermined) continue;
            const double far = std::fabs(net.dc.value() - there.dc.value()) /
                               (std::max(std::fabs(there.crest.value()), std::fabs(there.trough.value())) + 5);
            if (far > of_volts && within)
                WARN(name << ": " << f.id << ": " << net.name << " " << net.dc.value() << " " << there.dc.value());
            within = within && far <= of_volts;
            volts_off = std::max(volts_off, far);
        }
        if (found.reshot) tally.worst_volts = std::max(tally.worst_volts, volts_off);
        tally.past_a_millionth += found.reshot && volts_off > 1e-6 ? 1 : 0;
        ++(found.reshot ? tally.shot : tally.curve);
        double& worst = found.reshot ? tally.worst_shot : tally.worst_curve;
        for (std::size_t p = 0; p < set.parts().size(); ++p) {
            if (set.parts()[p].kind != PartKind::transformer || set.parts()[p].role != "power") continue;
            for (const Branch& b : found.solution.branches) {
                if (b.part != static_cast<int>(p)) continue;
                const Branch* there = twin.solution.branch(other.part(set.parts()[p].id), b.lead.c_str());
                REQUIRE(there != nullptr);
                const double far = std::fabs(b.rms.value() - there->rms.value()) / (there->rms.value() + 1e-6);
                if (far > of_amps && within)
                    WARN(name << ": " << f.id << ": " << b.lead.c_str() << " " << b.rms.value() << " "
                              << there->rms.value());
                within = within && far <= of_amps;
                worst = std::max(worst, far);
            }
        }
        const double far = std::fabs(found.solution.primary_rms.value() / twin.solution.primary_rms.value() - 1);
        worst = std::max(worst, far);
        tally.missed += within && far <= of_amps ? 0 : 1;
    }
    CHECK(done == count);
}

}  // namespace

TEST_CASE("A fault of a set is that set edited and solved cold: a few of five supplies") {
    Tally tally;
    for (const char* set : {"s1-quarry-hill", "s2-heron-weir", "s4-ferry-green", "s9-bellows-court"})
        hold(set, 5, tally);
    // two filaments in push-pull: their ripple does not settle between block and rest
    hold("s5-mill-lane", 6, tally);
    CHECK(tally.shot + tally.curve == 26);
    CHECK(tally.curve > 0);
    CHECK(tally.missed == 0);
}

TEST_CASE("A fault of a set is that set edited and solved cold: all demo sets", "[long]") {
    Tally tally;
    for (const char* set : {"s1-quarry-hill", "s2-heron-weir", "s3-tanner-row", "s4-ferry-green", "s5-mill-lane",
                            "s6-osier-holt", "s7-plover-heath", "s9-bellows-court"})
        hold(set, 30, tally);
    hold("s8-drover-gap", 10, tally);
    hold("s10-generated-sixty", 10, tally);
    CHECK(tally.missed == 0);
    CHECK(50 * tally.past_a_millionth <= tally.shot);
    CHECK(tally.worst_volts <= 2e-6);
    CHECK(tally.worst_shot <= 1e-4);
    CHECK(tally.worst_curve <= .003);
    WARN(tally.missed << " missed; " << tally.past_a_millionth << " past 1e-6 of volts; " << tally.shot
                      << " shot: volts " << tally.worst_volts << ", rms " << tally.worst_shot << "; " << tally.curve
                      << " from the curve: rms " << tally.worst_curve);
}
