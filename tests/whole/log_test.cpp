// SPDX-License-Identifier: MIT
// A restoration by its log: what is done is no longer planned or bought, the gates open by what was entered and shut
// when a part is left out, and the volts are of the set as it stands.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <map>
#include <memory>

#include "sets.hpp"

using namespace tubewright;

namespace {

using whole::catalogue;

const Chassis& set() {
    static const Chassis read = [] {
        const Outcome<Chassis> made = read_chassis(whole::quarry_hill, catalogue());
        if (!made) FAIL(made.notices().front().text());
        return *made;
    }();
    return read;
}

/// A log in memory, entered as the program enters it.
struct Log {
    std::vector<LogEntry> entries = {};
    const Chassis& chassis = set();

    /// What is solved of a log is solved once, whichever copy of it asks.
    const Study& study(std::size_t count) const {
        static std::map<std::string, std::unique_ptr<const Study>> known;
        const auto first = std::span(entries).first(count);
        std::unique_ptr<const Study>& kept = known[chassis.file() + "\n" + log_text(first)];
        if (!kept) {
            Progress progress = progress_of(first, chassis, catalogue());
            progress.log.file = "set.bench.db";
            kept = std::make_unique<const Study>(chassis, catalogue(), Policy{}, std::move(progress));
        }
        return *kept;
    }
    const Study& study() const { return study(entries.size()); }
    /// The word that is refused, or nothing.
    std::string enter(const std::string& pencil) {
        PencilBench bench{chassis, catalogue(), entries};
        look_along(bench, Policy{});
        bench.page = [this](int count, bool stages) { return page_of(study(static_cast<std::size_t>(count)), stages); };
        const Outcome<std::vector<LogEntry>> read = read_pencil(pencil, bench);
        if (!read) return read.notices().front().message;
        for (LogEntry entry : *read) {
            entry.number = static_cast<int>(entries.size()) + 1;
            entry.at = "2026-11-26T20:15:00Z";
            entries.push_back(std::move(entry));
        }
        return {};
    }
};

const PowerStage& stage(const PowerUp& sheet, const std::string& name) {
    for (const PowerStage& one : sheet.stages)
        if (one.name.starts_with(name)) return one;
    FAIL("no stage " + name);
    throw;
}
bool holds(const Gate& gate, const std::string& rule) {
    for (std::size_t k = 0; k < gate.opened_by.size(); ++k)
        if (gate.opened_by[k].starts_with(rule + ":")) return gate.proof.at(k).holds;
    return true;
}

/// What the plan of the rest breaks, after all that is done.
std::string broken_by(const std::vector<RepairStep>& rest, const Study& now, const Chassis& chassis) {
    std::vector<Act> acts;
    for (const Deed& deed : now.progress().deeds)
        if (const auto kind = act_of(deed.act)) acts.push_back({*kind, deed.parts, {}, deed.minutes});
    const int done = static_cast<int>(acts.size());
    for (const RepairStep& step : rest) acts.insert(acts.end(), step.acts.begin(), step.acts.end());
    std::string broken;
    for (const Violation& v : violations(chassis, catalogue(), acts, Progress{}))
        if (v.hard && v.act >= done) broken += v.rule + ": " + v.why + "; ";
    return broken;
}

/// The smallest set, brought up by its plan.
const Chassis& little() {
    static const Chassis read =
        *read_chassis(std::string(TUBEWRIGHT_ROOT) + "/netlists/s9-bellows-court.xml", catalogue());
    return read;
}
int number_of(const std::vector<RepairStep>& plan, const std::string& step) {
    const auto found = std::find_if(plan.begin(), plan.end(), [&](const RepairStep& s) { return s.step == step; });
    return found == plan.end() ? 0 : found->order;
}
const Log& brought_up() {
    static const Log logged = [] {
        Log log{{}, little()};
        REQUIRE(log.enter("done 1-" + std::to_string(number_of(log.study().steps().steps, "power-up"))).empty());
        return log;
    }();
    return logged;
}
/// Plan and sheet of what is left; the plan breaks nothing.
struct Now {
    std::vector<RepairStep> left;
    PowerUp sheet;

    explicit Now(const Log& log) {
        const Study& study = log.study();
        left = study.steps().steps;
        sheet = *study.gates();
        CHECK(broken_by(left, study, log.chassis) == "");
    }
    int number(const std::string& step) const { return number_of(left, step); }
    std::string state(const std::string& name) const { return stage(sheet, name).gate.state; }
    bool proves(const std::string& name, const std::string& rule) const { return holds(stage(sheet, name).gate, rule); }
};

}  // namespace

TEST_CASE("a restoration entered step by step opens each gate in its turn, and leaves nothing to do or to buy") {
    Log log;
    const std::vector<RepairStep> plan = log.study().steps().steps;
    const auto number = [&](const std::string& step) {
        const auto found = std::find_if(plan.begin(), plan.end(), [&](const RepairStep& s) { return s.step == step; });
        REQUIRE(found != plan.end());
        return found->order;
    };
    const int alone = number("transformer-alone"), up = number("power-up");

    REQUIRE(log.enter("done 1-" + std::to_string(alone - 1) + " of page 0").empty());
    {
        const Study& now = log.study();
        const Outcome<PowerUp> sheet = now.gates();
        REQUIRE(sheet);
        CHECK(stage(*sheet, "transformer alone, behind").gate.state == "open");
        CHECK(stage(*sheet, "heaters").gate.state == "shut");
        CHECK(stage(*sheet, "rectifier in").gate.state == "shut");
        CHECK_FALSE(holds(stage(*sheet, "rectifier in").gate, "H6"));
        const RepairOrder rest = now.steps();
        // turns from place to place are remade with the order
        const auto works = [](const RepairStep& s) { return !s.step.starts_with("turn-to"); };
        CHECK(std::count_if(rest.steps.begin(), rest.steps.end(), works) ==
              std::count_if(plan.begin() + (alone - 1), plan.end(), works));
        CHECK(rest.optimal);
        for (const RepairStep& step : rest.steps)
            CHECK(std::none_of(log.entries.begin(), log.entries.end(),
                               [&](const LogEntry& e) { return e.step_id == step.step; }));
        // what is fitted is not bought again
        const Outcome<ShoppingList> list = now.shop();
        for (const ShopLine& line : list->lines)
            for (const std::string& id : line.for_parts) CHECK(now.progress().fitted.count(id) == 0);
    }

    REQUIRE(log.enter("done " + std::to_string(alone) + "-" + std::to_string(up - 1) + " of page 0").empty());
    {
        const Outcome<PowerUp> sheet = log.study().gates();
        CHECK(stage(*sheet, "transformer alone, full").gate.state == "passed");
        CHECK(stage(*sheet, "heaters, behind").gate.state == "open");
        CHECK(stage(*sheet, "rectifier in").gate.state == "open");
        CHECK(stage(*sheet, "full line").gate.state == "open");
        CHECK(stage(*sheet, "soak").gate.state == "shut");
    }

    SECTION("a resistor that is lifted shuts every gate of B-plus, until it is back and read") {
        REQUIRE(log.enter("R5 lifted").empty());
        const Study& now = log.study();
        const Outcome<PowerUp> sheet = now.gates();
        for (const char* name : {"rectifier in", "all tubes", "full line"}) {
            INFO(name);
            CHECK(stage(*sheet, name).gate.state == "shut");
            CHECK_FALSE(holds(stage(*sheet, name).gate, "H17"));
        }
        const RepairOrder rest = now.steps();
        CHECK(rest.tag.find("Lifted or out: ") != std::string::npos);
        CHECK(rest.tag.find("R5") != std::string::npos);
        CHECK(std::any_of(rest.steps.begin(), rest.steps.end(),
                          [](const RepairStep& s) { return s.step == "put-back-R5"; }));
        CHECK(std::any_of(rest.steps.begin(), rest.steps.end(),
                          [](const RepairStep& s) { return s.step == "cold-ohms-all"; }));  // read after the last joint
        REQUIRE(log.enter("R5 back").empty());
        const Outcome<PowerUp> again = log.study().gates();
        CHECK(holds(stage(*again, "rectifier in").gate, "H17"));
        CHECK_FALSE(holds(stage(*again, "rectifier in").gate, "H19"));
    }
    SECTION("to the end") {
        REQUIRE(log.enter("done " + std::to_string(up) + "-" + std::to_string(plan.size()) + " of page 0").empty());
        const Study& now = log.study();
        CHECK(now.steps().steps.empty());
        CHECK(now.steps().tag == "Every step is done.");
        CHECK(now.shop()->lines.empty());
        const Outcome<PowerUp> sheet = now.gates();
        for (const PowerStage& one : sheet->stages) CHECK(one.gate.state != "shut");
    }
}

TEST_CASE("a stage that is passed against the log is looked at, and tells what is out still") {
    Log log;
    REQUIRE(log.enter("C2 out; sign H11 \"plugged, seen\"").empty());
    {
        const Outcome<PowerUp> sheet = log.study().gates();
        const Gate& heaters = stage(*sheet, "heaters").gate;
        REQUIRE(heaters.proof.size() == heaters.opened_by.size());
        CHECK(std::any_of(heaters.proof.begin(), heaters.proof.end(),
                          [](const GateProof& p) { return p.words == "out, not fed here: C2"; }));
        const Gate& full = stage(*sheet, "full line").gate;
        CHECK(std::any_of(full.proof.begin(), full.proof.end(),
                          [](const GateProof& p) { return p.words == "signed by hand: plugged, seen"; }));
    }
    const int number = stage(*log.study().gates(), "full line").stage;
    REQUIRE(log.enter("stage passed " + std::to_string(number)).empty());
    const std::string words = said(log.entries.back());
    CHECK(words.find("LOOK: its gate is shut by the log (") != std::string::npos);
    CHECK(words.find("H17") != std::string::npos);
    CHECK(words.find("not passed before it: stage 2") != std::string::npos);
    const Outcome<PowerUp> after = log.study().gates();
    CHECK(stage(*after, "full line").gate.state == "passed");
    CHECK(stage(*after, "full line").gate.not_again);
    CHECK_FALSE(holds(stage(*after, "full line").gate, "H17"));
    REQUIRE(log.enter("C2 back").empty());
    CHECK(holds(stage(*log.study().gates(), "full line").gate, "H17"));
}

TEST_CASE("photographs in the log are counted, and are no sketch of every connection") {
    Log log{{}, little()};
    REQUIRE(log.enter("C2 out; photo a.jpg; photo b.jpg").empty());
    const Outcome<PowerUp> sheet = log.study().gates();
    bool told = false;
    for (const PowerStage& one : sheet->stages)
        for (const GateProof& proof : one.gate.proof)
            told = told || (!proof.holds && proof.words.starts_with("photographs in the log: 2;"));
    CHECK(told);
}

TEST_CASE("the order of what is left breaks no rule, from any evening") {
    Log log;
    const std::size_t all = log.study().steps().steps.size();
    for (const std::size_t evening : {all / 4, all / 4, all / 4}) {
        REQUIRE(
            log.enter("done 1-" + std::to_string(evening) + " of page " + std::to_string(log.entries.size())).empty());
        const Study& now = log.study();
        CHECK(broken_by(now.steps().steps, now, set()) == "");
    }
}

TEST_CASE("volts are of the set as it stands: a coupler that is out, a tube that is out, a new value") {
    Log log;
    const auto volts_at = [](const Study& study, const char* net) {
        const auto solved = study.volts(Scenario::normal);
        REQUIRE(solved);
        return solved->at(net).dc.value();
    };
    const double bias = volts_at(log.study(), "V4.5"), before = volts_at(log.study(), "bplus");
    REQUIRE(log.enter("R11 in 820 2W").empty());
    const double higher = volts_at(log.study(), "V4.5");
    CHECK(higher > 1.2 * bias);
    REQUIRE(log.enter("V4 out").empty());
    const Study& pulled = log.study();
    CHECK(volts_at(pulled, "bplus") > before + 10);
    CHECK(std::fabs(volts_at(pulled, "V4.5")) < 0.1);
    // and what is planned is of the set with the tube back in
    CHECK(pulled.threat_report()->rows.size() > 200);
    CHECK(pulled.audit().size() == Study(set(), catalogue()).audit().size());
    REQUIRE(log.enter("V4 back; R11 original").empty());
    CHECK(volts_at(log.study(), "V4.5") == bias);
}

TEST_CASE("a value read at the bench decides over a resistor: it stays, or it is bought") {
    Log log;
    REQUIRE(log.enter("R7 51k; R8 9k").empty());
    const Study& now = log.study();
    const RepairOrder order = now.steps();
    const auto in_plan = [&](const std::string& part, const std::string& kind) {
        return std::any_of(order.steps.begin(), order.steps.end(), [&](const RepairStep& s) {
            return s.step.starts_with(kind) && std::find(s.parts.begin(), s.parts.end(), part) != s.parts.end();
        });
    };
    CHECK_FALSE(in_plan("R7", "measure"));
    CHECK_FALSE(in_plan("R7", "replace"));
    CHECK(in_plan("R8", "replace"));
    const ShoppingList list = *now.shop();
    CHECK(std::any_of(list.lines.begin(), list.lines.end(), [](const ShopLine& l) {
        return std::find(l.for_parts.begin(), l.for_parts.end(), "R8") != l.for_parts.end();
    }));
}

TEST_CASE("an overridden rule opens its gate and says why") {
    Log log;
    REQUIRE(log.enter("done 1-12 of page 0; V1 V2 V3 V4 V5 DS1 DS2 out").empty());
    Progress progress = progress_of(log.entries, set(), catalogue());
    progress.log.file = "set.bench.db";
    progress.overrides = {{"H5", "new cord is on order; watched on the isolation transformer"}};
    const Study study(set(), catalogue(), Policy{}, progress);
    const Outcome<PowerUp> sheet = study.gates();
    const Gate gate = stage(*sheet, "transformer alone, behind").gate;
    CHECK(gate.state == "open");
    CHECK(std::any_of(gate.proof.begin(), gate.proof.end(), [](const GateProof& p) {
        return p.words == "OVERRIDDEN: new cord is on order; watched on the isolation transformer";
    }));
}

TEST_CASE("a plan of any family that is logged to its end leaves nothing to do, to buy or to prove") {
    for (const char* name : {"s3-tanner-row", "s8-drover-gap"}) {
        INFO(name);
        const Outcome<Chassis> read =
            read_chassis(std::string(TUBEWRIGHT_ROOT) + "/netlists/" + name + ".xml", catalogue());
        REQUIRE(read);
        Log log{{}, *read};
        const std::size_t all = log.study().steps().steps.size();
        REQUIRE(log.enter("done 1-" + std::to_string(all)).empty());
        const Study& now = log.study();
        std::string left;
        for (const RepairStep& step : now.steps().steps) left += step.step + " ";
        CHECK(left == "");
        left.clear();
        const Outcome<ShoppingList> list = now.shop();
        REQUIRE(list);
        for (const ShopLine& line : list->lines) left += line.what + " for " + line.for_parts.front() + "; ";
        CHECK(left == "");
        left.clear();
        for (const auto& [rule, why] : unproved(now.chassis(), catalogue(), now.progress(), ActKind::power_full_line))
            if (rule[0] == 'H') left += rule + ": " + why + "; ";
        CHECK(left == "");
    }
}

TEST_CASE("the log says of a new part what the file says with its own word for it") {
    const std::string text = whole::edited(whole::text_of(whole::quarry_hill), "id=\"R11\" value=\"410\"",
                                           "id=\"R11\" value=\"410\" fitted=\"820\"");
    const Outcome<Chassis> written = read_chassis_text(text, "set.xml", catalogue());
    REQUIRE(written);
    Log log;
    REQUIRE(log.enter("R11 in 820").empty());
    const auto by_log = log.study().volts(Scenario::normal),
               by_file = Study(*written, catalogue()).volts(Scenario::normal);
    REQUIRE(by_log);
    REQUIRE(by_file);
    for (const NetVolts& net : by_file->solution().nets)
        CHECK(by_log->solution().nets.at(static_cast<std::size_t>(net.net)).dc.value() == net.dc.value());
}

TEST_CASE("a new part that does not do is bought and planned again, and its gate stays shut") {
    const auto entered = [](const std::string& file, const std::string& pencil) -> const Study& {
        const Outcome<Chassis> made = read_chassis(TUBEWRIGHT_ROOT "/netlists/" + file, catalogue());
        REQUIRE(made);
        Log log{{}, *made};
        CHECK(log.enter(pencil).empty());
        return log.study();
    };
    const auto buys = [](const Study& study, const std::string& id) {
        const Outcome<ShoppingList> list = study.shop();
        REQUIRE(list);
        return std::any_of(list->lines.begin(), list->lines.end(), [&](const ShopLine& line) {
            return std::find(line.for_parts.begin(), line.for_parts.end(), id) != line.for_parts.end();
        });
    };
    const std::string car = "s8-drover-gap.xml", radio = "s1-quarry-hill.xml", amplifier = "s9-bellows-court.xml";
    // a film capacitor of 600 V as the buffer, where the old one was of 1,600 V and 734 V stand across it
    const Study& buffer = entered(car, "C3 in .0075/600");
    CHECK(buys(buffer, "C3"));
    const auto open = unproved(buffer.chassis(), catalogue(), buffer.relied_on(), ActKind::power_full_line);
    REQUIRE(open.count("H7") == 1);
    CHECK(open.at("H7").find("C3") != std::string::npos);
    // an ordinary capacitor from the line to the metal, and a first filter that the warm-up goes over
    const Study& wrong = entered(radio, "C3 in .01/630; C1.plain in 8.2/250; R11 in 13");
    const std::vector<RepairStep> steps = wrong.steps().steps;
    const Outcome<PowerUp> sheet = wrong.gates();
    REQUIRE(sheet);
    for (const std::string id : {"C3", "C1.plain", "R11"}) {
        INFO(id);
        CHECK(buys(wrong, id));
        CHECK(std::any_of(steps.begin(), steps.end(), [&](const RepairStep& step) {
            return std::any_of(step.acts.begin(), step.acts.end(), [&](const Act& act) {
                return act.kind == ActKind::fit && std::find(act.parts.begin(), act.parts.end(), id) != act.parts.end();
            });
        }));
        bool named = false;
        for (const PowerStage& one : sheet->stages)
            for (const GateProof& proof : one.gate.proof)
                named = named || (!proof.holds && proof.words.find(id) != std::string::npos);
        CHECK(named);
    }
    const Study& right = entered(radio, "C3 in .0047/250 y2; C1.plain in 8.2/500; R11 in 430 2W");
    CHECK_FALSE(buys(right, "C3"));
    CHECK_FALSE(buys(right, "C1.plain"));
    CHECK_FALSE(buys(right, "R11"));
    // a fuse of another size, and the right one, which is no finding of the audit either
    CHECK(buys(entered(amplifier, "F1 in 5A"), "F1"));
    const Study& fused = entered(amplifier, "F1 in 375mA");
    CHECK_FALSE(buys(fused, "F1"));
    for (const Finding& finding : fused.audit()) CHECK(finding.rule != "fuse-too-large");
}

TEST_CASE("the M of a meter and of a new part is a million, whatever the diagram means by it, and is said in full") {
    Log log;  // of a set whose diagram writes M for a thousand
    REQUIRE(log.enter("V4.4-gnd = 0.5M; R16 1M; F1 in 2A").find("F1") != std::string::npos);
    REQUIRE(log.enter("V4.4-gnd = 0.5M; R16 1M").empty());
    CHECK(log.entries[0].value.value_or(0) == Approx(0.5e6));
    CHECK(said(log.entries[0]).find("500 k") != std::string::npos);
    CHECK(log.entries[1].value.value_or(0) == Approx(1e6));
    static const Outcome<Chassis> amplifier = read_chassis(whole::bellows_court, catalogue());
    REQUIRE(amplifier);
    Log other{{}, *amplifier};
    REQUIRE(other.enter("F1 in 375mA").empty());
    CHECK(said(other.entries[0]).find("375 mA") != std::string::npos);
}

TEST_CASE("what is changed behind a stage is put back, read and traced before any power, and the stage comes again") {
    Log log = brought_up();
    SECTION("parts that are out") {
        CHECK(stage(*log.study().gates(), "full line").gate.state == "passed");
        REQUIRE(log.enter("R5 out; C4 out").empty());
        const Now now(log);
        const auto powered = std::find_if(now.left.begin(), now.left.end(), [](const RepairStep& s) {
            return std::any_of(s.acts.begin(), s.acts.end(), [](const Act& act) {
                return std::string(word(act.kind)).starts_with("power: ") || act.kind == ActKind::soak;
            });
        });
        REQUIRE(powered != now.left.end());
        CHECK(powered->step == "power-up");
        for (const char* step : {"put-back-C4", "put-back-R5", "cold-ohms-all"}) {
            INFO(step);
            CHECK(now.number(step) > 0);
            CHECK(now.number(step) < powered->order);
        }
        CHECK(now.state("full line") == "shut");
    }
    SECTION("a new tube is tested, and brought up again; the transformer keeps its half hour") {
        REQUIRE(log.enter("V2 in EL84").empty());
        const Now now(log);
        const int test = now.number("test-tubes");
        REQUIRE(test > 0);
        CHECK(now.left[static_cast<std::size_t>(test) - 1].parts == std::vector<std::string>{"V2"});
        CHECK(now.number("power-up") > test);
        CHECK(now.number("transformer-alone") == 0);
        CHECK(now.state("heaters, behind") == "shut");
        CHECK_FALSE(now.proves("heaters, behind", "H20"));
        CHECK(now.state("transformer alone, full") == "passed");
        REQUIRE(log.enter("V2 tested").empty());
        CHECK(number_of(log.study().steps().steps, "test-tubes") == 0);
    }
    SECTION("a new transformer runs alone, read before, with the tubes out") {
        REQUIRE(log.enter("T1 in rewound").empty());
        const Now now(log);
        const int alone = now.number("transformer-alone");
        CHECK(now.number("pull-tubes") < alone);
        CHECK(now.number("pull-tubes") > 0);
        const int ohms = now.number("cold-ohms-windings");
        REQUIRE(ohms > 0);
        CHECK(ohms < alone);
        CHECK(now.left[static_cast<std::size_t>(ohms) - 1].parts == std::vector<std::string>{"T1"});
        CHECK(now.number("cold-ohms-all") < alone);
        CHECK(now.number("power-up") > alone);
        CHECK(now.state("transformer alone, behind") == "shut");  // its rectifier is in
        CHECK_FALSE(now.proves("rectifier in", "H6"));
    }
    SECTION("a joint outside the supply asks for cold ohms alone, and the step of them is entered again") {
        REQUIRE(log.enter("R3 in").empty());
        const Now now(log);
        CHECK(now.number("cold-ohms-all") > 0);
        CHECK(now.number("power-up") == 0);
        CHECK(now.state("full line") == "passed");
        REQUIRE(log.enter("done " + std::to_string(now.number("cold-ohms-all")) + " of page " +
                          std::to_string(log.entries.size()))
                    .empty());
        CHECK(number_of(log.study().steps().steps, "cold-ohms-all") == 0);
    }
    SECTION("a stage that is passed again does not pass those before it") {
        REQUIRE(log.enter("C1.half-moon in 16/450; stage passed full line").empty());
        const Now now(log);
        CHECK(now.state("full line") == "passed");
        CHECK(now.state("rectifier in") == "shut");
        CHECK(now.state("heaters, full") == "passed");
    }
}

TEST_CASE("working volts are right by what the log read of them, at its line, or by a signature") {
    Log log = brought_up();
    const auto proof = [&] {
        const Outcome<PowerUp> sheet = log.study().gates();
        const Gate gate = stage(*sheet, "soak").gate;
        REQUIRE(gate.opened_by.at(0).starts_with("H13:"));
        return gate.proof.at(0);
    };
    const Outcome<PowerUp> sheet = log.study().power_up();
    const GateProof none = stage(*sheet, "soak").gate.proof.at(0);
    CHECK_FALSE(none.holds);
    CHECK(none.words.starts_with("no reading in the log"));
    std::string all;  // at a line of 80 V
    for (const StageReading& row : stage(*sheet, "full line").readings)
        if (row.quantity == "volts dc" && row.when != "in the first half minute")
            all += row.at + " = " + std::to_string(row.expect * 80 / 117) + "V@80V;";
    REQUIRE(log.enter(all).empty());
    CHECK(proof().holds);
    REQUIRE(log.enter("V2.3 = 40V@117V").empty());
    const GateProof off = proof();
    CHECK_FALSE(off.holds);
    CHECK(off.words.starts_with("V2.3 reads 40 V where "));
    CHECK(off.words.find("past its STOP") != std::string::npos);
    // what was read before a joint in the supply says nothing after it
    REQUIRE(log.enter("R1 in; stage passed full line").empty());
    CHECK(proof().words.starts_with("no reading in the log"));
    REQUIRE(log.enter("sign H13 \"read by the other man\"").empty());
    CHECK(proof().words == "signed by hand: read by the other man");
}

TEST_CASE("a stage under power waits for those before it, and one that is passed ahead of them is looked at") {
    Log log = brought_up();
    log.entries.pop_back();
    CHECK(stage(*log.study().gates(), "full line").gate.after == std::vector<int>{6, 7, 8, 9});
    REQUIRE(log.enter("stage passed 8").empty());
    CHECK(said(log.entries.back())
              .find("LOOK: not passed before it: stage 6, 7; out of their sockets by the log: "
                    "V1, V2") != std::string::npos);
    REQUIRE(log.enter("stage passed 6; stage passed 7; stage passed 9; stage passed 10").empty());
    INFO(said(log.entries.back()));
    CHECK(said(log.entries.back()).find("LOOK") == std::string::npos);
    REQUIRE(log.enter("V1 out; V2 out; stage passed 10").empty());
    CHECK(said(log.entries.back()).find("LOOK: out of their sockets by the log: V1, V2") != std::string::npos);
    const Outcome<PowerUp> sheet = log.study().gates();
    CHECK_FALSE(holds(stage(*sheet, "soak").gate, "H17"));
}

TEST_CASE("a wrong part that is fitted after its step was done brings the step, the buying and the shut gate back") {
    Log log = brought_up();
    REQUIRE(number_of(log.study().steps().steps, "link-F1") == 0);
    REQUIRE(log.enter("F1 in 5A").empty());
    const Study& study = log.study();
    const std::vector<RepairStep> left = study.steps().steps;
    CHECK(number_of(left, "link-F1") > 0);
    CHECK(std::any_of(left.begin(), left.end(), [](const RepairStep& s) { return s.step.starts_with("buy-"); }));
    const Outcome<PowerUp> sheet = study.gates();
    REQUIRE(sheet);
    CHECK_FALSE(holds(stage(*sheet, "soak").gate, "H5"));
}

TEST_CASE("a touch current or cold ohms past their STOP shut what stands behind them") {
    Log log = brought_up();
    const auto barred = [&](const char* words) {
        const Outcome<PowerUp> sheet = log.study().gates();
        REQUIRE(sheet);
        return std::any_of(sheet->stages.begin(), sheet->stages.end(), [&](const PowerStage& one) {
            return one.gate.bars() && std::any_of(one.gate.opened_by.begin(), one.gate.opened_by.end(),
                                                  [&](const std::string& by) { return by == words; });
        });
    };
    constexpr const char* touch = "H15: the touch current is under its limit";
    constexpr const char* cold = "H19: no ohms stand past their STOP";
    CHECK_FALSE(barred(touch));
    REQUIRE(log.enter("each touchable part-earth through 47 k = 30Vac").empty());
    CHECK(barred(touch));
    REQUIRE(log.enter("each touchable part-earth through 47 k = 3Vac").empty());
    CHECK_FALSE(barred(touch));
    REQUIRE(log.enter("bplus-gnd = 4k").empty());
    CHECK(barred(cold));
}

TEST_CASE("a new part that is found bad is replaced again, and shuts what it had opened") {
    Log log = brought_up();
    REQUIRE(log.study().progress().parts.at("C1.half-moon") == PartState::fitted);
    REQUIRE(log.enter("C1.half-moon short").empty());
    const Study& study = log.study();
    const std::vector<RepairStep> left = study.steps().steps;
    CHECK(std::any_of(left.begin(), left.end(), [](const RepairStep& s) {
        return s.step.starts_with("replace-") && s.step.find("C1.half-moon") != std::string::npos;
    }));
    CHECK(study.unfit().count("C1.half-moon") == 1);
    const Outcome<PowerUp> sheet = study.gates();
    REQUIRE(sheet);
    CHECK(std::any_of(sheet->stages.begin(), sheet->stages.end(),
                      [](const PowerStage& one) { return one.gate.bars() && !holds(one.gate, "H7"); }));
    REQUIRE(log.enter("C1.half-moon in 16/450").empty());
    CHECK(log.study().unfit().empty());
}

TEST_CASE("a step under power that is done past a shut gate is looked at, passes nothing, and comes again") {
    for (const LogEntry& entry : brought_up().entries) CHECK(entry.look.empty());  // each after those before it
    Log log{{}, little()};
    const auto enter = [&](const std::string& step) {
        REQUIRE(log.enter("done " + std::to_string(number_of(log.study().steps().steps, step)) + " of page " +
                          std::to_string(log.entries.size()))
                    .empty());
        return said(log.entries.back());
    };
    const std::string words = enter("power-up");
    CHECK(words.find("LOOK: past a gate that is shut by the log (H0, H1, H3, H5, H6, H7, H8, H9, H11, H19") !=
          std::string::npos);
    CHECK(log.study().relied_on().steps_done.empty());
    CHECK(number_of(log.study().steps().steps, "power-up") > 0);
    for (const PowerStage& one : log.study().gates()->stages) CHECK(one.gate.state != "passed");
    // what was overridden was lawfully passed
    Progress progress = progress_of(log.entries, little(), catalogue());
    for (const BenchRule& rule : bench_rules()) progress.overrides[rule.id] = "watched, on the isolation transformer";
    const Study over(little(), catalogue(), Policy{}, progress);
    CHECK(over.relied_on().steps_done == std::vector<std::string>{"power-up"});
}

TEST_CASE("a soak that is done without a reading is looked at, and the working volts are asked for still") {
    Log log = brought_up();
    REQUIRE(log.enter("done " + std::to_string(number_of(log.study().steps().steps, "soak")) + " of page " +
                      std::to_string(log.entries.size()))
                .empty());
    CHECK(said(log.entries.back()).find("LOOK: past a gate that is shut by the log (H13)") != std::string::npos);
    const Outcome<PowerUp> sheet = log.study().gates();
    CHECK(stage(*sheet, "soak").gate.state == "passed");
    CHECK_FALSE(holds(stage(*sheet, "soak").gate, "H13"));
}

TEST_CASE("what is out and is read with one end free is put back by the step that reads it") {
    Log log{{}, little()};
    REQUIRE(log.enter("R12 out").empty());
    const std::vector<RepairStep> steps = log.study().steps().steps;
    CHECK(std::any_of(steps.begin(), steps.end(), [](const RepairStep& step) {
        return step.step == "measure-R12" && step.does.ends_with("; put R12 back, out by the log");
    }));
}

TEST_CASE("the gates by themselves are those of the whole sheet") {
    Log log = brought_up();
    for (const char* pencil : {"R5 lifted", "R5 back; V2 in EL84", "T1 in rewound"}) {
        REQUIRE(log.enter(pencil).empty());
        const Outcome<PowerUp> gates = log.study().gates();
        const Progress progress = log.study().progress();
        const Study fresh(little(), catalogue(), Policy{}, progress);
        const Outcome<PowerUp> sheet = fresh.power_up();
        REQUIRE(gates);
        REQUIRE(sheet);
        REQUIRE(gates->stages.size() == sheet->stages.size());
        for (std::size_t k = 0; k < sheet->stages.size(); ++k) {
            const Gate &alone = gates->stages[k].gate, &whole = sheet->stages[k].gate;
            INFO(pencil << ": " << sheet->stages[k].name);
            CHECK(gates->stages[k].name == sheet->stages[k].name);
            CHECK(alone.state == whole.state);
            CHECK(alone.opened_by == whole.opened_by);
            CHECK(alone.after == whole.after);
            for (std::size_t n = 0; n < whole.proof.size(); ++n) CHECK(alone.proof[n].words == whole.proof[n].words);
        }
    }
}

TEST_CASE(
    "a new part that bears less than its place asks for does not do, and a rating that is not said is as listed") {
    Log log{{}, set()};
    const auto why = [&](const std::string& id) {
        const auto found = log.study().under_need();
        const auto one = found.find(id);
        return one == found.end() ? std::string() : one->second;
    };
    REQUIRE(log.enter("R3 in 15k .25W; C17 in .006/630; C2 in 8/450; C16 in .01").empty());
    CHECK(why("R3").starts_with("0.25 W where "));
    CHECK(why("C17").starts_with("630 V where "));
    CHECK(why("C2").starts_with("450 V where "));
    CHECK(why("C16").empty());
    CHECK(log.study().unfit().at("C2") == why("C2"));
    const Outcome<PowerUp> sheet = log.study().gates();
    CHECK_FALSE(holds(stage(*sheet, "rectifier in, behind the lamp").gate, "H7"));
    REQUIRE(log.enter("R3 in 15k 5W; C17 in .006/1600; C2 in 8/500").empty());
    CHECK(why("C17").starts_with("1600 V where "));  // the plate swings further at the upper line
    REQUIRE(log.enter("C17 in .006/2000").empty());
    CHECK(log.study().under_need().empty());
}

TEST_CASE("a resistance cord's ohms are held against those that are right, and a plain cord is none") {
    static const Chassis cord =
        *read_chassis(std::string(TUBEWRIGHT_ROOT) + "/netlists/s4-ferry-green.xml", catalogue());
    Log log{{}, cord};
    const auto wrong = [&] {
        const auto found = wrong_at_sight(cord, Policy{}, log.study().progress().fitted);
        return found.count("W2") == 1 ? found.at("W2") : std::string();
    };
    REQUIRE(log.enter("W2 in 62 25W").empty());
    CHECK(wrong().starts_with("62 ohm where "));
    CHECK(said(log.entries.back()).find("LOOK: ") != std::string::npos);
    REQUIRE(log.enter("W2 in 139 50W").empty());
    CHECK(wrong().empty());
    CHECK(*log.study().chassis().parts().at(static_cast<std::size_t>(cord.part("W2"))).ohms == 139);
    REQUIRE(log.enter("W2 in \"two-wire cord\"").empty());
    CHECK(wrong().starts_with("a plain cord in the place"));
}

TEST_CASE("what a stage reads under power shuts it past its STOP, and so do halves of a winding that are apart") {
    Log log{{}, little()};
    const auto why = [&](const char* name, const std::string& line) {
        const Outcome<PowerUp> sheet = log.study().gates();
        const Gate gate = stage(*sheet, name).gate;
        for (std::size_t k = 0; k < gate.opened_by.size(); ++k)
            if (gate.opened_by[k] == line && !gate.proof[k].holds) return gate.proof[k].words;
        return std::string();
    };
    const char* alone = "transformer alone, behind the lamp";
    const std::string inside = "H6: the transformer alone reads inside its STOP",
                      halves = "H6: the halves of the plate winding agree within 3 %";
    REQUIRE(log.enter("V3.1 = 255Vac; V3.6 = 256Vac").empty());
    CHECK(why(alone, inside).empty());
    CHECK(why(alone, halves).empty());
    REQUIRE(log.enter("V3.6 = 240Vac").empty());
    CHECK(why(alone, halves).starts_with("V3.1 and V3.6 read 255 V and 240 V ac"));
    REQUIRE(log.enter("V3.6 to gnd = 400Vac").empty());
    CHECK(why(alone, inside).starts_with("V3.6 to gnd reads 400 V ac, past its STOP of 287 V ac"));
    CHECK(stage(*log.study().gates(), alone).gate.bars());
    REQUIRE(log.enter("V3.6 = 256Vac; V3.6 to gnd = 256Vac; lamp across it = 40Vac").empty());
    CHECK(why(alone, inside).starts_with("lamp across it reads 40 V ac"));
}

TEST_CASE("volts that fit behind the lamp are of its stage until that is passed, though nobody wrote so") {
    Log log = brought_up();
    log.entries.pop_back();
    const auto shut = [&] {
        const Outcome<PowerUp> sheet = log.study().gates();
        const Gate gate = stage(*sheet, "full line").gate;
        return std::any_of(gate.opened_by.begin(), gate.opened_by.end(),
                           [](const std::string& line) { return line == "H13: no reading stands past its STOP"; });
    };
    REQUIRE(log.enter("bplus = 199V").empty());
    CHECK_FALSE(shut());
    REQUIRE(log.enter("bplus = 230V").empty());  // of no stage
    CHECK(shut());
    REQUIRE(log.enter("bplus = 199V; stage passed 6; stage passed 7; stage passed 8; stage passed 9").empty());
    CHECK_FALSE(shut());
    REQUIRE(log.enter("bplus = 199V").empty());  // behind them
    CHECK(shut());
}

TEST_CASE("what is bought again is what does not do, and what is found bad after the buying is bought by itself") {
    Log log{{}, little()};
    const auto number = [&](const char* step) { return number_of(log.study().steps().steps, step); };
    REQUIRE(log.enter("done 1-" + std::to_string(number("buy-line-side"))).empty());
    REQUIRE(log.enter("F1 in 5A").empty());
    const std::vector<RepairStep> left = log.study().steps().steps;
    const auto buy = std::find_if(left.begin(), left.end(), [](const auto& s) { return s.step == "buy-line-side"; });
    REQUIRE(buy != left.end());
    CHECK(buy->does.ends_with(": F1"));
    REQUIRE(log.enter("F1 in .375A").empty());
    const auto page = [&] { return " of page " + std::to_string(log.entries.size()); };
    CHECK(log.enter("done 1-" + std::to_string(number("buy-parts")) + page()) == "");
    CHECK(number("buy-parts") == 0);
    REQUIRE(log.enter("R8 open").empty());
    const std::vector<RepairStep> more = log.study().steps().steps;
    const auto rest = std::find_if(more.begin(), more.end(), [](const auto& s) { return s.step == "buy-parts"; });
    REQUIRE(rest != more.end());
    CHECK(rest->does == "Buy R8");
    REQUIRE(log.enter("done " + std::to_string(rest->order) + page()).empty());
    CHECK(number("buy-parts") == 0);
}

TEST_CASE(
    "a reading against a rule opens its step again behind one that finds out why, and nothing it forbids is next") {
    const auto before = [](const std::vector<RepairStep>& plan, const std::string& first, const std::string& later) {
        const int a = number_of(plan, first), b = number_of(plan, later);
        INFO(first << " " << a << ", " << later << " " << b);
        CHECK(a > 0);
        CHECK((b == 0 || a < b));
    };
    const auto held = [&](const Log& log, const std::string& rule, const std::string& numbers,
                          const std::vector<std::string>& anew) {
        const Study& study = log.study();
        const RepairOrder order = study.steps();
        INFO(order.tag);
        CHECK(order.doubted);
        CHECK(order.tag.find(rule) != std::string::npos);
        const auto find = std::find_if(order.steps.begin(), order.steps.end(),
                                       [&](const RepairStep& s) { return s.step == "find-" + rule; });
        REQUIRE(find != order.steps.end());
        CHECK(find->does.find(numbers) != std::string::npos);
        const std::vector<std::string> closing{"power-up",   "write-volts",   "alignment", "soak",
                                               "reassemble", "touch-current", "hand-back"};
        for (const std::string& step : anew) before(order.steps, find->step, step);
        for (std::size_t k = rule == "H15" ? 5 : 0; k < closing.size(); ++k) {
            before(order.steps, find->step, closing[k]);
            for (const std::string& step : anew)
                if (step != closing[k] && closing[k] != "power-up" && closing[k] != "write-volts")
                    before(order.steps, step, closing[k]);
        }
        CHECK(report_steps(study, {}).must_stop);
        CHECK(report_log(study, log.entries, {}).must_stop);
        CHECK(broken_by(order.steps, study, log.chassis) == "");
    };
    Log log = brought_up();
    SECTION("cold ohms past their STOP, and right again") {
        REQUIRE(log.enter("bplus-gnd = 40 ohm").empty());
        held(log, "H19", "bplus to gnd reads 40 ohm, past its STOP of ", {"cold-ohms-all"});
        // that it was looked for is no reading
        REQUIRE(log.enter("done " + std::to_string(number_of(log.study().steps().steps, "find-H19")) + " of page " +
                          std::to_string(log.entries.size()))
                    .empty());
        held(log, "H19", "bplus to gnd reads 40 ohm", {"cold-ohms-all"});
        REQUIRE(log.enter("bplus-gnd = 900k").empty());
        CHECK(number_of(log.study().steps().steps, "find-H19") == 0);
    }
    SECTION("a half of the plate winding") {
        REQUIRE(log.enter("V3.1 = 100Vac; V3.6 = 256Vac").empty());
        held(log, "H6", "V3.1 and V3.6 read 100 V and 256 V ac", {"transformer-alone"});
        CHECK(number_of(log.study().steps().steps, "pull-tubes") > 0);
    }
    SECTION("working volts") {
        REQUIRE(log.enter("bplus = 120V").empty());
        held(log, "H13", "bplus reads 120 V where ", {"write-volts"});
    }
    SECTION("touch current, however it was read") {
        const std::vector<RepairStep> left = log.study().steps().steps;
        REQUIRE(log.enter("done 1-" + std::to_string(number_of(left, "touch-current")) + " of page " +
                          std::to_string(log.entries.size()))
                    .empty());
        REQUIRE(log.enter("gnd-earth = 20 mA").empty());  // forty times the limit
        held(log, "H15", "gnd to earth reads 20 mA, past its STOP of 500 uA", {"touch-current"});
        const Outcome<PowerUp> sheet = log.study().gates();
        CHECK_FALSE(holds(stage(*sheet, "hand-back").gate, "H15"));
        REQUIRE(log.enter("gnd-earth = .2 mA").empty());
        CHECK(number_of(log.study().steps().steps, "find-H15") == 0);
        CHECK(holds(stage(*log.study().gates(), "hand-back").gate, "H15"));
    }
}

TEST_CASE("volts that nobody entered are read before alignment, though the step that writes them is done") {
    Log log = brought_up();
    const RepairOrder order = log.study().steps();
    REQUIRE(number_of(order.steps, "write-volts") > 0);
    CHECK(number_of(order.steps, "find-H13") == 0);
    for (const char* later : {"alignment", "soak", "reassemble", "touch-current", "hand-back"})
        if (const int at = number_of(order.steps, later)) CHECK(number_of(order.steps, "write-volts") < at);
    CHECK(order.doubted);
    CHECK(order.tag.find("H13") != std::string::npos);
    REQUIRE(log.enter("sign H13 \"read by the other man\"").empty());
    CHECK(number_of(log.study().steps().steps, "write-volts") == 0);
    CHECK_FALSE(log.study().steps().doubted);
}

TEST_CASE("the discharges of the plan are the same before an evening and after it") {
    Log log{{}, little()};
    const auto discharges = [](const std::vector<RepairStep>& plan, int from) {
        std::vector<std::string> ids;
        for (const RepairStep& s : plan)
            if (s.order > from && s.step.starts_with("discharge")) ids.push_back(s.step);
        return ids;
    };
    const std::vector<RepairStep> fresh = log.study().steps().steps;
    const int alone = number_of(fresh, "transformer-alone");
    CHECK(number_of(fresh, "discharge-after-transformer-alone") == alone + 1);
    REQUIRE(log.enter("done 1-" + std::to_string(alone)).empty());
    const std::vector<RepairStep> next = log.study().steps().steps;
    CHECK(next.front().step == "discharge-after-transformer-alone");
    CHECK(discharges(next, 0) == discharges(fresh, alone));
    REQUIRE(log.enter("done 1 of page " + std::to_string(log.entries.size())).empty());
    CHECK(discharges(log.study().steps().steps, 0) == discharges(fresh, alone + 1));
}

TEST_CASE("what was bought is what the list has still, when a part of the same number has gone in") {
    Log log;
    const std::vector<RepairStep> fresh = log.study().steps().steps;
    const auto of = [&](const std::string& id) {
        const Outcome<ShoppingList> list = log.study().shop();
        REQUIRE(list);
        for (const ShopLine& line : list->lines)
            if (std::find(line.for_parts.begin(), line.for_parts.end(), id) != line.for_parts.end())
                return std::pair(line.value_farads.value_or(0), line.rated_volts.value_or(0));
        return std::pair(0.0, 0.0);
    };
    const auto is = [&](const std::string& id, const std::pair<double, double>& bought) {
        const auto now = of(id);
        CHECK(now.first == Approx(bought.first));
        CHECK(now.second == Approx(bought.second));
    };
    const auto second = of("C2"), bypass = of("C27");
    is("C1.plain", second);  // one part number
    is("C15", bypass);
    REQUIRE(log.enter("done 1-" + std::to_string(number_of(fresh, "replace-C1.plain"))).empty());
    CHECK(of("C1.plain").first == 0);
    is("C2", second);
    REQUIRE(log.enter("C15 in 10/25").empty());
    is("C27", bypass);
}

TEST_CASE("a stage that only looks is looked at where the log proves nothing of it, as is a touch current not read") {
    Log log{{}, little()};
    REQUIRE(log.enter("stage passed 2").empty());
    CHECK(said(log.entries.back()).find("LOOK: its gate is shut by the log (H0, H1, H2, H3)") != std::string::npos);
    Log whole = brought_up();
    CHECK(whole.enter("done " + std::to_string(number_of(whole.study().steps().steps, "hand-back")) + " of page " +
                      std::to_string(whole.entries.size())) == "");
    CHECK(said(whole.entries.back()).find("H15") != std::string::npos);
    REQUIRE(whole.enter("stage passed touch").empty());
    CHECK(said(whole.entries.back()).find("no reading of it is in the log") != std::string::npos);
}

namespace {

/// Why a line of a stage's gate does not hold; empty where it does, or is not asked.
std::string lacks(const PowerUp& sheet, const std::string& name, const std::string& line) {
    const Gate& gate = stage(sheet, name).gate;
    for (std::size_t k = 0; k < gate.opened_by.size(); ++k)
        if (gate.opened_by[k].starts_with(line) && !gate.proof.at(k).holds) return gate.proof[k].words;
    return {};
}
const Chassis& other_set(const std::string& name) {
    static std::map<std::string, Chassis> known;
    const auto found = known.find(name);
    if (found != known.end()) return found->second;
    return known.emplace(name, *read_chassis(std::string(TUBEWRIGHT_ROOT) + "/netlists/" + name + ".xml", catalogue()))
        .first->second;
}
const std::string never_powered = "nothing that was found bad is powered";

}  // namespace

TEST_CASE("what is found bad after it was proved is not powered, and a new one or a good reading lets it be") {
    Log log = brought_up();
    const auto barred = [&](const char* rule) {
        return lacks(*log.study().gates(), "full line", rule + (": " + never_powered));
    };
    REQUIRE(barred("H20").empty());
    REQUIRE(log.enter("V2 shorted").empty());
    CHECK(barred("H20").starts_with("V2 (found shorted)"));
    CHECK(stage(*log.study().gates(), "full line").gate.bars());
    REQUIRE(log.enter("T1 shorted; R9 open").empty());
    CHECK(lacks(*log.study().gates(), "transformer alone, behind the lamp", "H6: " + never_powered)
              .starts_with("T1 (found shorted)"));
    CHECK_FALSE(barred("H9").empty());
    // a new lead goes again for what it was found to be, not for its age
    REQUIRE(log.enter("W2 in; W2 cracked").empty());
    CHECK(log.study().unfit().at("W2") == "found cracked");
    REQUIRE(log.enter("V2 in; T1 original; R9 in; W2 in").empty());
    CHECK(barred("H20").empty());
    CHECK(barred("H6").empty());
    CHECK(barred("H9").empty());
    const Part& r8 = little().parts()[static_cast<std::size_t>(little().part("R8"))];
    REQUIRE(log.enter("R8 " + std::to_string(static_cast<int>(*r8.ohms * 3))).empty());
    CHECK(barred("H9").starts_with("R8 (reads "));
}

TEST_CASE("a hot set that the list has a fuse for is not let on the line without one, nor with a wrong capacitor") {
    Log log{{}, other_set("s3-tanner-row")};
    const auto why = [&](const std::string& line) {
        return lacks(*log.study().gates(), "all tubes, behind the lamp", line);
    };
    const std::vector<RepairStep> plan = log.study().steps().steps;
    std::string all;
    for (const RepairStep& step : plan)
        if (step.order < number_of(plan, "power-up") && step.step != "fit-fuse")
            all += " " + std::to_string(step.order);
    CHECK(log.enter("done" + all) == "");
    CHECK(why("H5: cord").find("no fuse stands in the line") != std::string::npos);
    CHECK(log.enter("done " + std::to_string(number_of(plan, "fit-fuse")) + " of page 0") == "");
    CHECK(why("H5: cord").empty());
    REQUIRE(log.enter("C1 in .0022/250").empty());
    CHECK(why("H5: " + never_powered).starts_with("C1 (new, and does not do: an ordinary capacitor"));
    CHECK(stage(*log.study().gates(), "all tubes, behind the lamp").gate.bars());
}

TEST_CASE("a vibrator that the plan has pulled shuts nothing before its stage, and one that is in shuts the heaters'") {
    Log log{{}, other_set("s8-drover-gap")};
    REQUIRE(log.enter("done 1-9").empty());
    REQUIRE(log.study().progress().parts.at("Y1") == PartState::removed);
    const std::string heaters = "vibrator out: polarity, heaters", in_place = "H6: the vibrator is out of its socket";
    CHECK(lacks(*log.study().gates(), "eyes and hands", "H17").empty());
    CHECK(lacks(*log.study().gates(), heaters, in_place).empty());
    CHECK(lacks(*log.study().gates(), "vibrator in", "H17").empty());
    REQUIRE(log.enter("Y1 back").empty());
    CHECK(lacks(*log.study().gates(), heaters, in_place) == "in by the log: Y1");
}
