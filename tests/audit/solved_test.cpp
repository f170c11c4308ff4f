// SPDX-License-Identifier: MIT
// The solved half of the audit, on solutions written out here by hand: what it says must follow from the volts alone.
#include <fstream>
#include <sstream>

#include <tubewright/audit.hpp>
#include <tubewright/netlist.hpp>

#include <catch2/catch.hpp>

namespace tw = tubewright;

namespace {

const tw::Catalogue& catalogue() {
    static const tw::Catalogue shipped = tw::Catalogue::shipped();
    return shipped;
}

struct Amplifier {
    tw::Chassis set;
    tw::Solution solution;
    void put(const std::string& net, double dc, double rms = 0) {
        auto& at = solution.nets[static_cast<std::size_t>(set.net(net))];
        at.dc = at.low = at.high = tw::volts(dc);
        at.rms = tw::volts(rms);
    }
};

/// The amplifier of the demo sets with the volts of its head comment.
Amplifier amplifier() {
    std::ifstream in(std::string(TUBEWRIGHT_ROOT) + "/netlists/s9-bellows-court.xml");
    std::ostringstream text;
    text << in.rdbuf();
    const auto read = tw::read_chassis_text(text.str(), "s9.xml", catalogue());
    REQUIRE(read);
    Amplifier made{*read, {}};
    made.solution.line_volts = 117;
    for (std::size_t n = 0; n < made.set.nets().size(); ++n) {
        tw::NetVolts net;
        net.net = static_cast<int>(n);
        net.name = made.set.nets()[n].name;
        made.solution.nets.push_back(net);
    }
    made.put("bplus", 268);
    made.put("bplus2", 262);
    made.put("bplus3", 225);
    made.put("V2.7", 256);
    made.put("V2.3", 7.5);
    made.put("V1.1", 145);
    made.put("V1.6", 145);
    made.put("V1.3", 1.2);
    made.put("V1.8", 1.3);
    made.put("heaters", 0, 6.3);
    return made;
}

bool says(const std::vector<tw::Finding>& findings, const std::string& rule, const std::string& part) {
    for (const auto& f : findings) {
        if (f.rule == rule && std::find(f.parts.begin(), f.parts.end(), part) != f.parts.end()) return true;
    }
    return false;
}

}  // namespace

TEST_CASE("Volts as they should be give no finding") {
    const Amplifier set = amplifier();
    CHECK(tw::audit_solved(set.set, catalogue(), {&set.solution, 1}).empty());
}

TEST_CASE("An electrolytic whose plus is below its minus is a stop, and it says by how much") {
    Amplifier set = amplifier();
    set.put("V2.3", -4);
    const auto findings = tw::audit_solved(set.set, catalogue(), {&set.solution, 1});
    CHECK(says(findings, "electrolytic-reversed", "C6"));
    CHECK(findings.front().severity == tw::Severity::stop);
    CHECK(findings.front().message.find("4 V") != std::string::npos);
}

TEST_CASE("Heaters at half their volts are doubted, at 5 % over they are not") {
    Amplifier set = amplifier();
    set.put("heaters", 0, 3.1);
    CHECK(says(tw::audit_solved(set.set, catalogue(), {&set.solution, 1}), "heater-volts-off", "V2"));
    set.put("heaters", 0, 6.6);
    CHECK_FALSE(says(tw::audit_solved(set.set, catalogue(), {&set.solution, 1}), "heater-volts-off", "V2"));
}

TEST_CASE("A grid that stands above its cathode in the healthy set is doubted") {
    Amplifier set = amplifier();
    set.put("V2.2", 12);
    CHECK(says(tw::audit_solved(set.set, catalogue(), {&set.solution, 1}), "grid-driven-positive", "V2"));
}

TEST_CASE("A plate with no volts above its cathode is doubted") {
    Amplifier set = amplifier();
    set.put("V1.1", 1.5);
    CHECK(says(tw::audit_solved(set.set, catalogue(), {&set.solution, 1}), "plate-without-volts", "V1"));
}

TEST_CASE("A net without any direct-current path is undetermined, never taken for 0 V") {
    Amplifier set = amplifier();
    set.solution.nets[static_cast<std::size_t>(set.set.net("V2.2"))].undetermined = true;
    CHECK(says(tw::audit_solved(set.set, catalogue(), {&set.solution, 1}), "net-undetermined", "V2"));
}
