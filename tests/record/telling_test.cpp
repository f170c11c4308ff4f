// SPDX-License-Identifier: MIT
// What the entries of a log make of a set, and what becomes of them when its file is edited.
#include "bench_set.hpp"

using namespace bench_set;

namespace {

Progress after(const std::string& pencil, const Chassis& set = make()) {
    return progress_of(entered(pencil, set), set, catalogue());
}
bool has(const std::string& text, const std::string& words) {
    return text.find(words) != std::string::npos;
}

}  // namespace

TEST_CASE("a part goes out and back, and is what it was") {
    CHECK(after("C9 out").parts.at("C9") == PartState::removed);
    CHECK(after("C9 lifted").parts.at("C9") == PartState::lifted);
    CHECK(after("C9 out; C9 back").parts.count("C9") == 0);
    CHECK(after("C9 in; C9 lifted; C9 back").parts.at("C9") == PartState::fitted);
    CHECK(after("R11 proved; R11 lifted").back.at("R11") == PartState::proved);
    CHECK(after("C9 proved; C9 out; C9 back").parts.at("C9") == PartState::proved);
    CHECK(after("C9 in; C9 proved").parts.at("C9") == PartState::fitted);
    CHECK(after("C9 in .022/630; C9 original").parts.empty());
    const Progress omitted = after("C9 omit \"no use\"");
    CHECK(omitted.parts.at("C9") == PartState::omitted);
    CHECK(omitted.reasons.at("C9") == "no use");
    CHECK(after("C9 omit \"no use\"; C9 back").parts.empty());
}

TEST_CASE("what was fitted and read is there with its figures") {
    const Progress progress = after("C9 in .022/630; R7 412k; V4.3 = 235V@121V");
    CHECK(*progress.fitted.at("C9").value == Approx(2.2e-8));
    CHECK(progress.fitted.at("C9").year == 2026);
    CHECK(*progress.found.at("R7").value == Approx(412e3));
    REQUIRE(progress.readings.size() == 1);
    CHECK(progress.readings[0].line_volts == 121);
    CHECK(progress.deeds.size() == 2);  // the part that was fitted, and the resistor that was measured
    // a value read of the old part says nothing of the new one
    CHECK(after("R7 412k; R7 in 470k").found.empty());
}

TEST_CASE("an undone entry does not count, and does again when its undo is undone") {
    const Chassis set = make();
    std::vector<LogEntry> log = entered("C9 out", set);
    log = entered("undo", set, log);
    CHECK(progress_of(log, set, catalogue()).parts.empty());
    log = entered("undo 2", set, log);
    CHECK(progress_of(log, set, catalogue()).parts.at("C9") == PartState::removed);
}

TEST_CASE("a part that is gone from the file is named with what stands in its place, and is still out") {
    const Chassis before = make(), now = make("C9A");
    std::vector<LogEntry> log = entered("C9 out", before);
    const Progress lost = progress_of(log, now, catalogue());
    REQUIRE(lost.log.gone.size() == 1);
    CHECK(has(lost.log.gone[0], "entry 1: C9 is not in the file now"));
    CHECK(has(lost.log.gone[0], "nearest now: C9A"));
    CHECK(lost.parts.at("C9") == PartState::removed);
    log = entered("C9 is now C9A", now, log);
    const Progress found = progress_of(log, now, catalogue());
    CHECK(found.log.gone.empty());
    CHECK(found.parts.at("C9A") == PartState::removed);
    // and in the file as it was, the log says what it said
    CHECK(progress_of(std::span(log).first(1), before, catalogue()).parts.at("C9") == PartState::removed);
}

TEST_CASE(
    "a value read of a part that is gone is told, and goes over to its new name with what was read at its leads") {
    const Chassis before = make(), now = make("C9A");
    std::vector<LogEntry> log = entered("C9 .018; C9.a = 2V@121V; C9 proved", before);
    const Progress lost = progress_of(log, now, catalogue());
    REQUIRE(lost.log.gone.size() == 3);
    CHECK(has(lost.log.gone[0], "entry 1: C9 is not in the file now"));
    CHECK(has(lost.log.gone[1], "entry 2: C9.a is not in the file now"));
    log = entered("C9 is now C9A", now, log);
    const Progress found = progress_of(log, now, catalogue());
    CHECK(found.log.gone.empty());
    REQUIRE(found.found.count("C9A") == 1);
    CHECK(*found.found.at("C9A").value == Approx(.018e-6));
    CHECK(found.readings.at(0).at == "C9A.a");
    CHECK(found.deeds.at(0).act == "measure");
    CHECK(found.deeds.at(0).parts == std::vector<std::string>{"C9A"});
}

TEST_CASE("a part that is another in the file now is doubted, until a new entry speaks of it") {
    const auto swapped = [](const std::string& coupler, const std::string& filter) {
        ChassisBuilder b("output stage");
        b.default_for("paper", "wax-paper");
        b.reference("gnd");
        b.node("chassis-metal", "gnd", true);
        b.capacitor(coupler, farads(.02e-6), "one", "gnd");
        b.electrolytic(filter, farads(8e-6), volts(450), "bplus", "gnd");
        b.resistor("R7", ohms(470e3), "one", "gnd");
        return *b.build(catalogue());
    };
    const Chassis file = swapped("C9", "C1"), edited = swapped("C1", "C9");
    std::vector<LogEntry> log = entered("C9 out; R7 412k", file);
    CHECK(progress_of(log, file, catalogue()).log.gone.empty());
    const Progress doubted = progress_of(log, edited, catalogue());
    REQUIRE(doubted.log.gone.size() == 1);
    CHECK(has(doubted.log.gone[0], "entry 1: C9 was capacitor"));
    CHECK(has(doubted.log.gone[0], "450"));
    log = entered("C9 back", edited, log);
    CHECK(progress_of(log, edited, catalogue()).log.gone.empty());
}

TEST_CASE("a log of another set is doubted, takes nothing, and takes the set's new name") {
    const Chassis set = make();
    std::vector<LogEntry> log = entered("C9 out", set);
    log[0].set_name = "another set";
    REQUIRE(progress_of(log, set, catalogue()).log.gone.size() == 1);
    CHECK(has(progress_of(log, set, catalogue()).log.gone[0], "another set"));
    const Outcome<std::vector<LogEntry>> refused = read_pencil("R7 out", {set, catalogue(), log});
    REQUIRE_FALSE(refused);
    CHECK(has(refused.notices().front().message, "the log of another set"));
    log = entered("\"another set\" is now \"output stage\"; R7 out", set, log);
    CHECK(progress_of(log, set, catalogue()).log.gone.empty());
    CHECK(log.size() == 3);
}

TEST_CASE("a part is called otherwise only where it can be the same, and two do not become one") {
    const Chassis set = make();
    const auto why = [&](const std::string& pencil, const std::vector<LogEntry>& log) {
        const Outcome<std::vector<LogEntry>> read = read_pencil(pencil, {make("C9A"), catalogue(), log});
        return read ? std::string() : read.notices().front().message;
    };
    CHECK(has(why("C9 is now R7", entered("C9 out", set)), "C9 was a capacitor"));
    CHECK(has(why("C9 is now C1", entered("C9 out; C1 in", set)), "speaks of C1 already"));
    CHECK(why("C9 is now C9A", entered("C9 out; C1 in", set)).empty());
}

TEST_CASE("a signature keeps its words, and one of the wiring lapses when a part comes out") {
    const Progress kept = after("sign H19 \"read and right\"; sign H11 plugged");
    CHECK(kept.gates_passed == std::vector<std::string>{"H19", "H11"});
    CHECK(kept.signed_with.at("H19") == "read and right");
    const Progress since = after("sign H19 \"read and right\"; sign H11 plugged; C9 out");
    CHECK(since.gates_passed == std::vector<std::string>{"H11"});
    CHECK(since.signed_with.count("H19") == 0);
    CHECK(after("C9 out; sign H19 \"read since\"").gates_passed == std::vector<std::string>{"H19"});
}

TEST_CASE("a signature lapses with the joint or the tube that came after it, and what was read under power with it") {
    const auto left = [](const std::string& pencil) { return after(pencil).gates_passed; };
    CHECK(left("sign H23 traced; C1 in 8/450").empty());
    CHECK(left("sign H20 tapped; V4 in 42").empty());
    CHECK(left("C9 out; sign H19 read; C9 back").empty());
    CHECK(left("sign H13 read; sign H15 read; R3 in").empty());
    CHECK(left("sign H13 read; V4 out; V4 back") == std::vector<std::string>{"H13"});
    CHECK(left("sign H19 read; R7 412k") == std::vector<std::string>{"H19"});
}

TEST_CASE("an override ends with the next part that comes out") {
    const Chassis set = make();
    std::vector<LogEntry> log = entered("C9 out", set);
    LogEntry over;
    over.fact = LogFact::overridden;
    over.number = 2;
    over.part = "H17";
    over.words = "C9 is at the shop";
    log.push_back(over);
    const auto stands = [&](const std::string& pencil) {
        const auto all = pencil.empty() ? log : entered(pencil, set, log);
        return progress_of(all, set, catalogue()).overrides.count("H17") == 1;
    };
    CHECK(stands(""));
    CHECK(stands("C9 back"));
    CHECK(stands("V4 out"));  // a tube is in its box, not left out
    CHECK_FALSE(stands("R7 lifted"));
    CHECK_FALSE(stands("C9 back; R7 out"));
    CHECK_FALSE(stands("C9 back; C9 out"));
}

TEST_CASE("every kind of fact is said in words that name its part") {
    const Chassis set = make();
    for (const LogEntry& entry :
         entered("C9 out; C9 in .022/630; R7 412k; V4.3 = 235V@121V; R11 proved; R3 lifted; R3 back; C1 omit \"why\"; "
                 "note hello; photo a.jpg; sign H11 plugged; V4 original",
                 set)) {
        INFO(word(entry.fact));
        CHECK(said(entry).size() > 6);
        if (!entry.part.empty()) CHECK(has(said(entry), entry.part));
    }
}

TEST_CASE("the print of a file changes with any byte") {
    CHECK(print_of("") == "cbf29ce484222325");   // the published start value of FNV-1a
    CHECK(print_of("a") == "af63dc4c8601ec8c");  // of its published test vectors (recalled)
    CHECK(print_of("set") != print_of("sat"));
}

TEST_CASE("of another set nothing is proved, and what it has out stays out") {
    const Chassis set = make();
    std::vector<LogEntry> log = entered("C9 in .022/630; R11 proved; R7 out", set);
    const Progress own = progress_of(log, set, catalogue());
    CHECK(own.parts.size() == 3);
    CHECK_FALSE(of_another_set(log, set));
    for (LogEntry& entry : log) entry.set_name = "another set";
    const Progress other = progress_of(log, set, catalogue());
    CHECK(other.parts.count("C9") == 0);
    CHECK(other.parts.count("R11") == 0);
    CHECK(other.parts.at("R7") == PartState::removed);
    REQUIRE(of_another_set(log, set));
    CHECK(has(of_another_set(log, set)->message, "another set"));
}

TEST_CASE("a new part proves nothing where another kind, or one between other nets, is called so now") {
    const Chassis set = make();
    std::vector<LogEntry> log = entered("C9 in .022/630", set);
    CHECK(progress_of(log, set, catalogue()).parts.count("C9") == 1);
    log[0].was = "capacitor .02 mfd, V1.2 to V1.4";
    CHECK(progress_of(log, set, catalogue()).parts.count("C9") == 0);
    log[0].was = "resistor 470K, V3.2 to V4.4";
    CHECK(progress_of(log, set, catalogue()).parts.count("C9") == 0);
    CHECK(progress_of(log, set, catalogue()).log.gone.size() == 1);
}
