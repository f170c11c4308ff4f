// SPDX-License-Identifier: MIT
// Circuits that were usual and that no demo set has, as files of their own (tests/audit/usual): none of them is stopped
// by the graph half, and what little is doubted is known here, file by file (common practice, no source).
#include <algorithm>
#include <filesystem>
#include <map>
#include <vector>

#include <tubewright/audit.hpp>
#include <tubewright/netlist.hpp>

#include <catch2/catch.hpp>

#include "edited.hpp"

using namespace tubewright;

namespace {

/// What the graph half doubts though it is sound: a screen fed over another tube, a regulator, a bridge that measures,
/// a squelch, wax paper of many microfarads, a wire that radiates.
const std::map<std::string, int> doubted{{"autodyne", 1},
                                         {"bridge-voltmeter", 3},
                                         {"capacitor-dropper", 0},
                                         {"direct-coupled", 1},
                                         {"grid-leak-parallel-45", 1},
                                         {"phono-oscillator", 1},
                                         {"regulated", 3},
                                         {"squelch", 2}};

}  // namespace

TEST_CASE("Circuits that were usual are not stopped, and doubted no more than is known") {
    std::vector<std::filesystem::path> files;
    for (const auto& entry : std::filesystem::directory_iterator(TUBEWRIGHT_ROOT "/tests/audit/usual"))
        files.push_back(entry.path());
    std::sort(files.begin(), files.end());
    CHECK(files.size() > 80);
    for (const std::filesystem::path& file : files) {
        INFO(file.filename().string());
        const Outcome<Chassis> set = read_chassis(file.string(), shipped());
        if (!set) FAIL(set.notices().front().text());
        int doubts = 0;
        std::string said;
        for (const Finding& finding : audit_graph(*set, shipped())) {
            if (finding.severity == Severity::note) continue;
            said += finding.message + "\n";
            CHECK(finding.severity == Severity::doubt);
            ++doubts;
        }
        INFO(said);
        const auto known = doubted.find(file.stem().string());
        CHECK(doubts == (known == doubted.end() ? 0 : known->second));
    }
}
