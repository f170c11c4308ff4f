// SPDX-License-Identifier: MIT
// The power-up of every family: its stages are those that its supply needs, no stage breaks a hard rule after the
// repair before it, and no sheet proposes what kills: a live plate-to-plate reading, a tube pulled from a live string,
// an earth on a hot chassis, an LED lamp. Two sets in the usual run, all ten under every policy in the long one.
#include <algorithm>
#include <catch2/catch.hpp>
#include <set>

#include "sets.hpp"

using namespace whole;

namespace {

std::string path_of(const std::string& name) {
    return TUBEWRIGHT_ROOT "/netlists/" + name + ".xml";
}

std::set<std::string> plate_ends(const tw::Chassis& set) {
    std::set<std::string> ends;
    for (const tw::Part& part : set.parts())
        for (const tw::PartWinding& winding : part.windings) {
            if (winding.role != tw::WindingRole::plate || winding.leads.size() < 3) continue;
            for (const std::size_t k : {std::size_t(0), winding.leads.size() - 1}) {
                const int net = part.leads[static_cast<std::size_t>(winding.leads[k])].net;
                ends.insert(set.nets()[static_cast<std::size_t>(net)].name);
            }
        }
    return ends;
}

bool powers(tw::ActKind kind) {
    return kind == tw::ActKind::power_transformer_alone || kind == tw::ActKind::power_heaters ||
           kind == tw::ActKind::power_b_plus || kind == tw::ActKind::power_full_line || kind == tw::ActKind::soak;
}

void kills_nobody(const tw::Study& study, const tw::PowerUp& sheet) {
    const std::set<std::string> ends = plate_ends(study.chassis());
    bool live = false;
    for (const tw::PowerStage& stage : sheet.stages) {
        INFO(stage.name);
        for (const tw::StageReading& r : stage.readings) CHECK_FALSE((ends.count(r.at) == 1 && ends.count(r.to) == 1));
        for (const auto* list : {&stage.connect, &stage.remove, &stage.notice, &stage.at_stop})
            for (const std::string& text : *list) {
                INFO(text);
                CHECK(text.find("LED") == std::string::npos);
                CHECK(text.find("fluorescent") == std::string::npos);
                // an earth is a word of what must not be, or of the touch current's own meter
                if (study.chassis().hot() && text.find("earth") != std::string::npos && stage.name.find("touch") != 0)
                    CHECK((text.find("no earth") != std::string::npos ||
                           text.find("off the metal") != std::string::npos ||
                           text.find("earthed nowhere") != std::string::npos));
            }
        for (const tw::Act& act : stage.acts) {
            CHECK(act.kind != tw::ActKind::earth_instrument);
            CHECK(act.kind != tw::ActKind::fit_earthed_cord);
            if (powers(act.kind)) live = true;
            if (act.kind == tw::ActKind::discharge) live = false;
            if (act.kind == tw::ActKind::remove || act.kind == tw::ActKind::refit_tube) CHECK_FALSE(live);
            if (powers(act.kind)) {
                // what must be in is told, what wrong readings mean, and what to do at a stop
                CHECK_FALSE(stage.at_stop.empty());
                CHECK_FALSE(stage.notice.empty());
                CHECK_FALSE(stage.cautions.empty());
                CHECK_FALSE(stage.readings.empty());
            }
        }
        for (const tw::StageReading& r : stage.readings) {
            INFO(r.at << " to " << r.to << " " << r.quantity);
            CHECK(r.low <= r.expect);
            CHECK(r.expect <= r.high);
            CHECK_FALSE(r.to.empty());
            if (r.stop && r.quantity != "ohms") CHECK(*r.stop >= r.expect);
            if (r.stop_below) CHECK(*r.stop_below <= r.expect);
        }
    }
    CHECK_FALSE(live);
}

void breaks_no_rule(const tw::Study& study) {
    INFO(study.chassis().name());
    const auto order = study.repair_order();
    const auto sheet = study.power_up();
    REQUIRE(order);
    if (!sheet) FAIL(sheet.notices().front().text());
    std::vector<tw::Act> acts;
    for (const tw::RepairStep& step : order->steps) acts.insert(acts.end(), step.acts.begin(), step.acts.end());
    const auto repair = static_cast<int>(acts.size());
    for (const tw::PowerStage& stage : sheet->stages) acts.insert(acts.end(), stage.acts.begin(), stage.acts.end());
    std::string said;
    int broken = 0;
    for (const tw::Violation& v : tw::violations(study.chassis(), catalogue(), acts, {})) {
        if (!v.hard) continue;
        said += v.rule + " at act " + std::to_string(v.act) + (v.act < repair ? " (repair)" : " (stages)") + ": " +
                v.why + "\n";
        ++broken;
    }
    INFO(said);
    CHECK(broken == 0);
    kills_nobody(study, *sheet);
}

void under_any_policy(const std::string& name) {
    for (const tw::ReplacePolicy replace :
         {tw::ReplacePolicy::replace_all, tw::ReplacePolicy::replace_risky, tw::ReplacePolicy::prove_each})
        for (const tw::FilterPolicy filters : {tw::FilterPolicy::renew, tw::FilterPolicy::reform}) {
            tw::Policy policy;
            policy.replace = replace;
            policy.electrolytics = filters;
            breaks_no_rule(tw::Study(read(text_of(path_of(name))), catalogue(), policy));
        }
}

std::vector<std::string> names_of(const tw::PowerUp& sheet) {
    std::vector<std::string> names;
    for (const tw::PowerStage& stage : sheet.stages) names.push_back(stage.name);
    return names;
}

}  // namespace

TEST_CASE("a series string goes from cold ohms to all tubes behind the lamp, and breaks no rule") {
    const tw::Study study(read(text_of(path_of("s3-tanner-row"))), catalogue(), {});
    breaks_no_rule(study);
    const auto sheet = study.power_up();
    REQUIRE(sheet);
    const std::vector<std::string> names = names_of(*sheet);
    REQUIRE(names.size() == 9);
    CHECK(names[2] == "cold ohms, plug out, switch on, all tubes in");
    CHECK(names[3] == "all tubes, behind the lamp");
    for (const std::string& name : names) {
        CHECK(name.find("transformer") == std::string::npos);
        CHECK(name.find("heaters") == std::string::npos);
    }
    // the string cold: 100 to 140 ohm, by hand; the parts of the heaters add up to it
    const tw::PowerStage& cold = sheet->stages[2];
    CHECK(cold.readings.front().expect == Approx(120).margin(20));
    CHECK(sheet->stages[3].lamp_watts);
    CHECK(sheet->reference == "bminus");
    for (const tw::PowerStage& stage : sheet->stages)
        for (const tw::Act& act : stage.acts) CHECK(act.kind != tw::ActKind::remove);
    // full line, by hand
    const tw::PowerStage& full = sheet->stages[5];
    REQUIRE(full.name == "full line");
    const auto expect = [&](const std::string& at, const std::string& quantity) {
        for (const tw::StageReading& r : full.readings)
            if (r.at == at && r.quantity == quantity && r.when != "in the first half minute") return r.expect;
        return 0.0;
    };
    CHECK(expect("V5.8", "volts dc") == Approx(118).epsilon(0.15));
    CHECK(expect("bplus", "volts dc") == Approx(92).epsilon(0.15));
    CHECK(expect("V4.2", "volts ac") + expect("V4.7", "volts ac") == Approx(49).epsilon(0.1));
    // the amplitude of the glow: a lamp, set volts rising with its watts
    double last = 0;
    for (const tw::LampGlow& glow : sheet->lamp_table) {
        if (glow.state != "healthy") continue;
        CHECK(glow.set_volts > last);
        last = glow.set_volts;
    }
    CHECK(last > 80);
}

TEST_CASE("a set that is to be kept as it is gets no stages") {
    tw::Policy policy;
    policy.purpose = tw::PurposePolicy::preserve;
    const tw::Study study(read(text_of(quarry_hill)), catalogue(), policy);
    const auto sheet = study.power_up();
    REQUIRE_FALSE(sheet);
    CHECK(sheet.notices().front().message.find("never to power it") != std::string::npos);
}

TEST_CASE("on direct current no isolation transformer is proposed, and the plug is turned where there is no B-plus") {
    std::string text = text_of(path_of("s3-tanner-row"));
    for (const auto& [from, to] :
         {std::pair<std::string, std::string>{"hertz=\"60\"", "hertz=\"0\""}, {"supply=\"ac-dc\"", "supply=\"dc\""}})
        text.replace(text.find(from), from.size(), to);
    const tw::Study study(read(text), catalogue(), {});
    const auto sheet = study.power_up();
    if (!sheet) FAIL(sheet.notices().front().text());
    bool turned = false;
    for (const tw::PowerStage& stage : sheet->stages) {
        for (const std::string& one : stage.connect) {
            INFO(one);
            if (one.find("isolation transformer") != std::string::npos && stage.name.find("touch") != 0)
                CHECK(one.find("no isolation transformer") == 0);
        }
        for (const std::string& one : stage.notice) turned = turned || one.find("turn the plug") != std::string::npos;
    }
    CHECK(turned);
    kills_nobody(study, *sheet);
}

TEST_CASE("a battery set: A alone by its amperes, then C and B with a small fuse in B-minus") {
    const auto text = tw::starter_file("battery", {});
    REQUIRE(text);
    const tw::Study study(read(*text), catalogue(), {});
    const auto sheet = study.power_up();
    if (!sheet) FAIL(sheet.notices().front().text());
    const std::vector<std::string> names = names_of(*sheet);
    REQUIRE(names.size() >= 7);
    CHECK(names[2] == "cold ohms, plug out, switch on, tubes out");
    CHECK(names[3] == "A battery alone: filaments");
    CHECK(names[4] == "C, then B: the set on its batteries");
    for (const std::size_t k : {std::size_t(3), std::size_t(4)}) {
        const tw::PowerStage& stage = sheet->stages[k];
        const auto amps = std::find_if(stage.readings.begin(), stage.readings.end(),
                                       [](const tw::StageReading& r) { return r.quantity == "amps"; });
        REQUIRE(amps != stage.readings.end());
        CHECK(amps->stop);
        CHECK_FALSE(stage.lamp_watts);
    }
    CHECK(sheet->lamp_table.empty());
    kills_nobody(study, *sheet);
}

TEST_CASE("no stage of a transformer superhet breaks a hard rule or kills, under any policy", "[long]") {
    under_any_policy("s1-quarry-hill");
}
TEST_CASE("no stage of a back-bias set breaks a hard rule or kills, under any policy", "[long]") {
    under_any_policy("s2-heron-weir");
}
TEST_CASE("no stage of a series string breaks a hard rule or kills, under any policy", "[long]") {
    under_any_policy("s3-tanner-row");
}
TEST_CASE("no stage of a floating B-minus breaks a hard rule or kills, under any policy", "[long]") {
    under_any_policy("s4-ferry-green");
}
TEST_CASE("no stage of a TRF of the twenties breaks a hard rule or kills, under any policy", "[long]") {
    under_any_policy("s5-mill-lane");
}
TEST_CASE("no stage of a doubler breaks a hard rule or kills, under any policy", "[long]") {
    under_any_policy("s6-osier-holt");
}
TEST_CASE("no stage of a portable breaks a hard rule or kills, under any policy", "[long]") {
    under_any_policy("s7-plover-heath");
}
TEST_CASE("no stage of a vehicle set breaks a hard rule or kills, under any policy", "[long]") {
    under_any_policy("s8-drover-gap");
}
TEST_CASE("no stage of an amplifier breaks a hard rule or kills, under any policy", "[long]") {
    under_any_policy("s9-bellows-court");
}
TEST_CASE("no stage of a generated chassis of sixty tubes breaks a hard rule or kills", "[long]") {
    breaks_no_rule(tw::Study(read(text_of(path_of("s10-generated-sixty"))), catalogue(), {}));
}

TEST_CASE("a vehicle's: vibrator out, then in on a limited supply, then the battery", "[long]") {
    const tw::Study study(read(text_of(path_of("s8-drover-gap"))), catalogue(), {});
    const auto sheet = study.power_up();
    if (!sheet) FAIL(sheet.notices().front().text());
    const std::vector<std::string> names = names_of(*sheet);
    REQUIRE(names.size() == 8);
    CHECK(names[3] == "vibrator out: polarity, heaters");
    CHECK(names[4] == "vibrator in, limited supply");
    CHECK(names[5] == "full battery");
    const auto amps = [&](std::size_t k) {
        for (const tw::StageReading& r : sheet->stages[k].readings)
            if (r.quantity == "amps") return r;
        return tw::StageReading{};
    };
    CHECK(amps(3).expect == Approx(1.9).epsilon(0.15));  // by hand: heaters 1.65 and a lamp of .25
    CHECK(amps(5).expect == Approx(5.5).epsilon(0.15));
    CHECK(amps(5).stop);
    for (const std::string& name : names) CHECK(name.find("touch") == std::string::npos);
}
