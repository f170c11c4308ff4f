// SPDX-License-Identifier: MIT
// Two faults at once from the curve of the supply, against the same two shot in full.
#include <algorithm>
#include <array>
#include <cmath>
#include <random>

#include <catch2/catch.hpp>

#include <tubewright/netlist.hpp>

#include "stress/limits.hpp"
#include "threat/threat.hpp"

using namespace tubewright;

namespace {

/// Largest share by which a winding's rms from the curve is off, of `count` pairs drawn by seed.
double worst_of(std::size_t count, int& compared) {
    static const Catalogue catalogue = Catalogue::shipped();
    Outcome<Chassis> set = read_chassis(TUBEWRIGHT_ROOT "/netlists/s1-quarry-hill.xml", catalogue);
    REQUIRE(set);
    const std::vector<Fault> faults = faults_of(*set, catalogue);
    Outcome<Bench> bench = Bench::make(*set, catalogue, {}, faults);
    REQUIRE(bench);
    std::mt19937 draw(20);
    std::vector<std::pair<int, int>> pairs;
    while (pairs.size() < 3 * count) {
        const int a = static_cast<int>(draw() % faults.size()), b = static_cast<int>(draw() % faults.size());
        if (faults[static_cast<std::size_t>(a)].part != faults[static_cast<std::size_t>(b)].part)
            pairs.emplace_back(a, b);
    }
    const std::vector<PairSolution> found = bench->sweep_pairs(Condition{}, faults, pairs);
    const int power = set->part("T1");
    double worst = 0;
    std::size_t done = 0;
    const WarmWinding cold{"primary", 1};  // asks for a shot instead of the curve
    for (std::size_t p = 0; p < pairs.size() && done < count; ++p) {
        if (!found[p].solved) continue;
        const std::array both{faults[static_cast<std::size_t>(pairs[p].first)],
                              faults[static_cast<std::size_t>(pairs[p].second)]};
        const FaultSolution shot = bench->solve(Condition{}, both, std::span(&cold, 1));
        if (!shot.solved) continue;
        const stress::Loads loads(*set, shot.solution);
        const std::span<const Branch> windings = loads.of(power);
        REQUIRE(windings.size() == found[p].winding_rms.size());
        for (std::size_t k = 0; k < windings.size(); ++k) {
            const double off = std::fabs(found[p].winding_rms[k] / windings[k].rms.value() - 1);
            INFO(both[0].id << " and " << both[1].id << ", " << windings[k].lead.c_str());
            CHECK(off < 0.01);
            worst = std::max(worst, off);
        }
        ++done;
    }
    compared = static_cast<int>(done);
    return worst;
}

}  // namespace

TEST_CASE("A pair of faults from the curve has the winding currents of the same pair shot, within a hundredth") {
    int compared = 0;
    const double worst = worst_of(15, compared);
    CHECK(compared == 15);
    CHECK(worst < 0.01);
}

TEST_CASE("So have two hundred pairs", "[long]") {
    int compared = 0;
    const double worst = worst_of(200, compared);
    WARN("worst winding rms of " << compared << " pairs: " << 100 * worst << " % off");
    CHECK(compared == 200);
}
