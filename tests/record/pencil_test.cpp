// SPDX-License-Identifier: MIT
// The pencil: what each word means, what is refused and where the finger points.
#include "bench_set.hpp"

using namespace bench_set;

namespace {

LogEntry only(const std::string& pencil) {
    const std::vector<LogEntry> made = entered(pencil, make());
    REQUIRE(made.size() == 1);
    return made[0];
}

struct Refused {
    int line = 0, column = 0;
    std::string message, remedy;
};
Refused refused(const std::string& pencil, const std::vector<LogEntry>& before = {}) {
    const Chassis set = make();
    const PencilBench bench{set, catalogue(), before};
    const Outcome<std::vector<LogEntry>> read = read_pencil(pencil, bench);
    INFO(pencil);
    REQUIRE_FALSE(read);
    const Notice& why = read.notices().front();
    CHECK(why.number >= 1511);
    return {why.place.line, why.place.column, why.message, why.remedy};
}

bool has(const std::string& text, const std::string& words) {
    return text.find(words) != std::string::npos;
}

/// A plan of two steps and a power-up of two stages; of a log with entries the first step is gone.
Outcome<PlanPage> page(int entries, bool) {
    PlanPage made;
    made.entries = entries;
    made.print = "0123456789abcdef";
    const PlannedStep coupler{
        1, "replace-C9", "V4: replace C9", {{{"fit", {"C9"}, 0}, {{"C9", {"film", 2.2e-8, 630.0, {}, {}, nullptr}}}}}};
    const PlannedStep bias{2, "measure-R11", "V4: ohms of R11", {{{"measure", {"R11"}, 0}, {}}}};
    if (entries == 0)
        made.steps = {coupler, bias};
    else
        made.steps = {{1, bias.id, bias.does, bias.acts}, {2, "buy-parts", "Buy the rest", {}}};
    made.stages = {{1, "stage heaters, behind the lamp", "heaters, behind the lamp", {{{"power: heaters", {}, 8}, {}}}},
                   {2, "stage heaters, full line", "heaters, full line", {{{"power: heaters", {}, 8}, {}}}}};
    return made;
}

}  // namespace

TEST_CASE("each word of the pencil is the fact that it names") {
    CHECK(only("C9 out").fact == LogFact::removed);
    CHECK(only("C9 lifted").fact == LogFact::lifted);
    CHECK(only("c9 OUT").part == "C9");
    CHECK(only("C9 proved").fact == LogFact::proved);
    CHECK(only("C9 original").fact == LogFact::original);
    CHECK(only("C9 in").fact == LogFact::fitted);
    const LogEntry omitted = only("C9 omit \"tone control; nobody wants it\"");
    CHECK(omitted.fact == LogFact::omitted);
    CHECK(omitted.words == "tone control; nobody wants it");
    const LogEntry photo = only("photo IMG_12.jpg under the chassis");
    CHECK(photo.part == "IMG_12.jpg");
    CHECK(photo.words == "under the chassis");
    CHECK(only("note \"V4 = warm; and hums\"").words == "V4 = warm; and hums");
    CHECK(only("sign h11 speaker is in").part == "H11");
}

TEST_CASE("a new part is entered with its value as it is printed") {
    const LogEntry coupler = only("C9 in .022/630");
    CHECK(*coupler.value == Approx(2.2e-8));
    CHECK(*coupler.rated_volts == 630);
    CHECK(coupler.words == ".022/630");
    CHECK(has(coupler.was, "capacitor .02 mfd, V3.2 to V4.4"));
    CHECK(*only("C9 in 22 nf 630V Y2").value == Approx(2.2e-8));
    const LogEntry resistor = only("R7 in 470k 1W");
    CHECK(*resistor.value == Approx(470e3));
    CHECK(*resistor.rated_watts == 1);
    CHECK(*only("R7 in 1 meg").value == Approx(1e6));
    CHECK(only("V4 in 42").fact == LogFact::fitted);
    CHECK(has(only("C9 in 2.2 mfd").look, "110 times what the file has"));
}

TEST_CASE("what is not understood of a new part is refused, and its sort and class are taken") {
    CHECK(has(refused("C9 in .022/630 banana").message, "\"banana\" is not understood of a new part"));
    CHECK(has(refused("C1 in 8/450 minus to V5.1").message, "\"minus\" is not understood of a new part"));
    CHECK(has(refused("R7 in 470k 1W flurb").message, "\"flurb\" is not understood"));
    CHECK(has(refused("C9 in .022/630, C1 in 8/450").message, "a comma does not end an entry"));
    CHECK(*only("C9 in .022/630 film, axial").value == Approx(2.2e-8));
    CHECK(*only("R7 in 470k 1W metal film").rated_watts == 1);
    CHECK(*only("V4.4 = \xE2\x80\x93"
                "4.5 V")
               .value == -4.5);  // a telephone's dash
}

TEST_CASE("several parts share a word, and several entries a line") {
    const std::vector<LogEntry> made = entered("C9 C1, R7 out; C9 in .022/630\n\nR11 412", make());
    REQUIRE(made.size() == 5);
    CHECK(made[2].part == "R7");
    CHECK(made[3].fact == LogFact::fitted);
    CHECK(made[4].fact == LogFact::value);
    CHECK(*made[4].value == 412);
}

TEST_CASE("a reading keeps its line, its meter and its conditions") {
    const LogEntry plate = only("V4.3 = 235V@121V on 20k/V, warm-up");
    CHECK(plate.fact == LogFact::reading);
    CHECK(plate.part == "V4.3");
    CHECK(plate.quantity == "volts dc");
    CHECK(*plate.value == 235);
    CHECK(*plate.line_volts == 121);
    CHECK(plate.meter == "20k/V");
    CHECK(plate.conditions == "warm-up");
    const LogEntry close = only("V4.3 = 235V on 20k/V@121V");
    CHECK(close.meter == "20k/V");
    CHECK(*close.line_volts == 121);
    const LogEntry in_words = only("V4.3 to gnd = 235V");
    CHECK(in_words.part == "V4.3");
    CHECK(in_words.to == "gnd");
    CHECK(said(only("line in series = 176mA")) == "line in series reads 176mA");
    const LogEntry across = only("V4.3-V4.5=-12.5 V");
    CHECK(across.to == "V4.5");
    CHECK(*across.value == -12.5);
    CHECK(*only("V4.4 = 0V").value == 0);
    CHECK(only("bplus-gnd = 22k").quantity == "ohms");
    CHECK(only("bplus = 6.3 Vac").quantity == "volts ac");
    CHECK(*only("line = 176mA").value == Approx(.176));
    CHECK_FALSE(only("bplus-gnd = open").value);
    CHECK(only("R7 = 412k").fact == LogFact::value);
    const std::vector<LogEntry> told = entered("line 121V; meter 1k/V@250V; V4.3 = 230V; V4.5 = 16V", make());
    REQUIRE(told.size() == 2);
    CHECK(*told[1].line_volts == 121);
    CHECK(told[1].meter == "1k/V@250V");
}

TEST_CASE("line, meter and conditions stand behind a reading in any order, and none of them is guessed") {
    for (const char* pencil : {"V4.3 = 235V@121V on 20k/V, warm-up", "V4.3 = 235V, on 20k/V, @121V, warm-up",
                               "V4.3 = 235V on 20k/V at 121V, warm-up", "v4.3 = 235V@121V warm-up, on 20k/V",
                               "V4.3 = 235V on 20k/V warm-up, at 121V line", "V4.3 = 235V, 20k/V, 121V, warm-up",
                               "V4.3 = 235V at 121V with 20k/V, warm-up"}) {
        INFO(pencil);
        const LogEntry one = only(pencil);
        CHECK(one.part == "V4.3");
        CHECK(one.line_volts == 121.0);
        CHECK(one.meter == "20k/V");
        CHECK(one.conditions == "warm-up");
    }
    for (const char* nonsense : {"meter banana; V4.3 = 2V", "V4.3 = 2V on 20kV", "line 12kV; V4.3 = 2V",
                                 "V4.3 = 9999999V", "V4.3 = 2V@12kV"}) {
        INFO(nonsense);
        CHECK_FALSE(refused(nonsense).message.empty());
    }
    CHECK(only("bplus-gnd = open").conditions.empty());
    CHECK(only("V4.3 = 235V, with the lid off").conditions == "with the lid off");
}

TEST_CASE("a reading may be of any place that the sheet of the power-up prints") {
    CHECK(only("lamp across it = 13.3Vac").to == "across it");
    CHECK(only("set behind the lamp = 111Vac").part == "set");
    CHECK(only("line in series = 103mA@115V").quantity == "amps");
    CHECK(only("line at the plug = 3.1W").to == "at the plug");
    CHECK(only("each touchable part-earth through 47 k = 3Vac").part == "each touchable part");
}

TEST_CASE("a new capacitor is taken as the list words it, with its class wherever that stands") {
    for (const char* pencil : {"C9 in .0068 uF Y2 capacitor 250 V AC", "C9 in .0068/250 Y2", "C9 in Y2 .0068/250",
                               "C9 in .0068 uF film capacitor 250 V", "C9 in .0068 uF Y2 capacitor, 250 V",
                               "C9 in film capacitor, .0068 uF, 250 V"}) {
        INFO(pencil);
        const LogEntry one = only(pencil);
        CHECK(*one.value == Approx(6.8e-9));
        CHECK(*one.rated_volts == 250);
    }
    const LogEntry leak = only("R7 in 470 k line-rated resistor 0.5 W");
    CHECK(*leak.value == 470e3);
    CHECK(*leak.rated_watts == .5);
    CHECK(has(only("C1 in 8/250").look, "the file's was of"));
    CHECK(only("C1 in 8/250 Y2").look.empty());  // rated for the line, in alternating volts
}

TEST_CASE("what a part is found to be goes in with the words of the file, and takes its proof from it") {
    const LogEntry open = only("R7 open");
    CHECK(open.fact == LogFact::value);
    CHECK(open.words == "open");
    CHECK_FALSE(open.value);
    CHECK(only("C9 leaky, cracked").words == "leaking cracked");
    CHECK(refused("R7 opne").remedy.find("open") != std::string::npos);
    const auto after = [](const char* pencil) {
        const Chassis set = make();
        return progress_of(entered(pencil, set), set, catalogue());
    };
    CHECK(after("R7 proved").parts.count("R7") == 1);
    const Progress found = after("R7 proved; R7 open; R7 burnt");
    CHECK(found.parts.count("R7") == 0);
    CHECK(found.seen.at("R7") == "open burnt");
    for (const char* ends : {"R7 open; R7 in 470k", "R7 open; R7 proved", "R7 open; R7 original"}) {
        INFO(ends);
        CHECK(after(ends).seen.empty());
    }
}

TEST_CASE("what is not understood is refused at its word, and all of the line with it") {
    const Refused typed = refused("C9 out; R7 412k; C9 ot");
    CHECK(typed.line == 1);
    CHECK(typed.column == 21);
    CHECK(has(typed.remedy, "out"));
    const Refused second = refused("C9 out\nC99 out");
    CHECK(second.line == 2);
    CHECK(second.column == 1);
    CHECK(has(second.remedy, "C9"));
    CHECK(has(refused("C9").message, "what of C9"));
    CHECK(has(refused("C9 out now").message, "now"));
    CHECK(has(refused("C9 omit").message, "reason"));
    CHECK(has(refused("C9 back").message, "not out"));
    CHECK(has(refused("C9 out; C9 out").message, "removed already"));
    CHECK(has(refused("R7 41x2k").message, "41x2k"));
    CHECK(has(refused("V44.3 = 3V").message, "V44.3"));
    CHECK(has(refused("V4.3 = 235").message, "no unit"));
    CHECK(has(refused("V4 in 6K6").message, "another base"));
    CHECK(has(refused("V4 in 4X2").message, "no tube"));
    CHECK(has(refused("sign H99").remedy, "H0 to H23"));
    CHECK(has(refused("sign H11").message, "needs its reason"));
    for (const char* rule : {"H5", "H6", "H7", "H8", "H9", "H17"}) {
        INFO(rule);
        CHECK(has(refused(std::string("sign ") + rule + " all is well").remedy, "--override"));
    }
    CHECK(has(refused("done 3").message, "no plan"));
    CHECK(has(refused("undo").message, "no entry"));
    CHECK(has(refused(" ; \n").message, "nothing"));
    CHECK(has(refused("photo").remedy, "name"));
}

TEST_CASE("all that is wrong in a line is told at once") {
    const Chassis set = make();
    const PencilBench bench{set, catalogue()};
    const auto read = read_pencil("C9 ot; C9 out; R7 47x", bench);
    REQUIRE_FALSE(read);
    CHECK(read.notices().size() == 2);
}

TEST_CASE("a step is entered as what it is, with its page") {
    const Chassis set = make();
    PencilBench bench{set, catalogue()};
    bench.page = page;
    const auto read = read_pencil("done 1, 2", bench);
    REQUIRE(read);
    REQUIRE(read->size() == 2);
    const LogEntry& step = read->front();
    CHECK(step.step_id == "replace-C9");
    CHECK(step.plan == 0);
    CHECK(step.plan_print == "0123456789abcdef");
    CHECK(has(step.acts, "fit: C9=2.2e-08/630//film"));
    const auto stage = read_pencil("stage passed heaters, full line", bench);
    REQUIRE(stage);
    CHECK(stage->front().step == 2);
    CHECK_FALSE(read_pencil("stage passed heaters", bench));
    CHECK(read_pencil("stage 1 passed", bench));
    CHECK(read_pencil("done 1-2", bench)->size() == 2);
    CHECK_FALSE(read_pencil("done 3", bench));
    CHECK_FALSE(read_pencil("done 1 1", bench));
}

TEST_CASE("a number that two pages give two meanings is refused with both") {
    const Chassis set = make();
    std::vector<LogEntry> before = entered("note one", set);
    PencilBench bench{set, catalogue(), before};
    bench.page = page;
    const auto read = read_pencil("done 1", bench);
    REQUIRE_FALSE(read);
    CHECK(has(read.notices().front().message, "ohms of R11"));
    CHECK(has(read.notices().front().message, "replace C9"));
    const auto old = read_pencil("done 1 of page 0", bench);
    REQUIRE(old);
    CHECK(old->front().step_id == "replace-C9");
    const auto now = read_pencil("done 1 of page 1", bench);
    REQUIRE(now);
    CHECK(now->front().step_id == "measure-R11");
    CHECK_FALSE(read_pencil("done 1 of page 7", bench));
    // a number that the last page gave already may be the same line sent twice
    LogEntry done = old->front();
    done.number = 2;
    before.push_back(done);
    PencilBench later{set, catalogue(), before};
    later.page = page;
    const auto next = read_pencil("done 1", later);
    REQUIRE_FALSE(next);
    CHECK(next.notices().front().number == 1515);
    CHECK(has(next.notices().front().message, "where it is done already"));
    CHECK(has(next.notices().front().remedy, "done 1 of page 2"));
    CHECK(read_pencil("done 1 of page 2", later)->front().step_id == "measure-R11");
    // undone, it is what it was
    LogEntry undo;
    undo.fact = LogFact::undo;
    undo.number = 3;
    undo.target = 2;
    before.push_back(undo);
    CHECK_FALSE(
        has(read_pencil("done 1", {set, catalogue(), before, 0, {}, page}).notices().front().message, "done already"));
}

TEST_CASE("a step that a page lists again is open again, and is entered again") {
    const Chassis set = make();
    std::vector<LogEntry> log = *read_pencil("done 2", {set, catalogue(), {}, 0, {}, page});
    log[0].number = 1;
    REQUIRE(log[0].step_id == "measure-R11");  // which page 1 lists as its first
    for (const char* pencil : {"done 1 of page 1", "done 2 of page 0"}) {
        INFO(pencil);
        const auto again = read_pencil(pencil, {set, catalogue(), log, 0, {}, page});
        REQUIRE(again);
        CHECK(again->front().step_id == "measure-R11");
    }
    CHECK_FALSE(read_pencil("done 1 1 of page 1", {set, catalogue(), log, 0, {}, page}));
}

TEST_CASE("an undo names its entry, and can be undone") {
    const Chassis set = make();
    const std::vector<LogEntry> log = entered("C9 out; R7 412k", set);
    const std::vector<LogEntry> after = entered("undo", set, log);
    REQUIRE(after.size() == 3);
    CHECK(after[2].target == 2);
    CHECK(undone(after) == std::vector<int>{2});
    const std::vector<LogEntry> again = entered("undo 3", set, after);
    CHECK(undone(again) == std::vector<int>{3});
    CHECK(has(refused("undo 2", after).message, "already"));
    CHECK(has(refused("undo 9", after).message, "not in the log"));
}

TEST_CASE("a sheet of an evening is read row by row") {
    const auto pencil =
        pencil_of_sheet("part,did,value,line,meter\r\nC9,out,,,\r\nV4.3,=,235V,121V,20k/V\r\n", "evening.csv");
    REQUIRE(pencil);
    CHECK(*pencil == "C9 out\nV4.3 = 235V @121V on 20k/V\n");
    CHECK(entered(*pencil, make()).size() == 2);
    CHECK_FALSE(pencil_of_sheet("part,did\r\nC9,out,extra\r\n", "evening.csv"));
}

TEST_CASE("a row of a sheet is one entry, whatever its quoted fields hold") {
    const auto pencil =
        pencil_of_sheet("part,did,why\nC9,omit,\"the owner wants none; R7 out\nV4 out\"\n", "evening.csv");
    REQUIRE(pencil);
    const std::vector<LogEntry> made = entered(*pencil, make());
    REQUIRE(made.size() == 1);
    CHECK(made[0].fact == LogFact::omitted);
    CHECK(made[0].words == "the owner wants none; R7 out V4 out");
}

TEST_CASE("a sheet may have a byte-order mark, capitals and semicolons") {
    const std::string sheet = "\xEF\xBB\xBFPart;Did;With\r\nC9;in;.022/630\r\nR7;omit;\"none, it is; gone\"\r\n";
    CHECK(is_a_sheet(sheet));
    CHECK_FALSE(is_a_sheet("C9 out\nnote part, did"));
    const auto pencil = pencil_of_sheet(sheet, "evening.csv");
    REQUIRE(pencil);
    const std::vector<LogEntry> made = entered(*pencil, make());
    REQUIRE(made.size() == 2);
    CHECK(made[0].words == ".022/630");
    CHECK(made[1].words == "none, it is; gone");
}

TEST_CASE("a column that nothing is known of is named with its place, and nothing of the sheet is taken") {
    for (const auto& [sheet, name, column] : std::vector<std::tuple<std::string, std::string, int>>{
             {"part,did,\"my, own\",colour\r\nC9,out,,red\r\n", "my, own", 10},
             {"at,volts,mood\nV4.3,235,good\n", "mood", 10}}) {
        const Outcome<std::string> refused = pencil_of_sheet(sheet, "evening.csv");
        REQUIRE_FALSE(refused);
        const Notice& first = refused.notices().front();
        CHECK(has(first.message, name));
        CHECK(first.place.file == "evening.csv");
        CHECK(first.place.line == 1);
        CHECK(first.place.column == column);
    }
}

TEST_CASE("a unit in any of the trade's ways is read, and a slip of the separator is named as one") {
    CHECK(only("bplus = 6.3 V~").quantity == "volts ac");
    CHECK(*only("V4.3 = \xE2\x88\x92"
                "3.5V")
               .value == -3.5);
    CHECK(*only("C9 replaced with 22n/630").value == Approx(.022e-6));
    CHECK(*only("C9 in 22n/630").rated_volts == 630);
    const LogEntry resistor = only("R7 in 430 ohm 2 W");
    CHECK(*resistor.value == 430);
    CHECK(*resistor.rated_watts == 2);
    CHECK(has(refused("R7 412k, C9 out").message, "a comma does not end an entry"));
    CHECK(has(refused("V4.3 235V").remedy, "V4.3 = 235V"));
    CHECK(has(refused("V4.3 = 6,3V").remedy, "6.3V"));
    CHECK(has(refused("C9 was leaky").remedy, "note C9 was leaky"));
}

TEST_CASE("undo said twice takes the two last entries back, and never what its own line enters") {
    const Chassis set = make();
    const std::vector<LogEntry> log = entered("C9 out; note a; note b", set);
    const std::vector<LogEntry> after = entered("undo; undo", set, log);
    CHECK(undone(after) == std::vector<int>{2, 3});
    CHECK(has(refused("note c; undo", log).message, "does not undo what it enters itself"));
}

TEST_CASE("a new part that is lifted or put back is said to be the new one") {
    const Chassis set = make();
    const std::vector<LogEntry> log = entered("C9 in .022/630; C9 lifted; C9 back", set);
    CHECK(has(said(log[1]), "C9, the new one, has one end lifted (in place of "));
    CHECK(has(said(log[2]), "C9, the new one, is back"));
    const std::vector<LogEntry> old = entered("C9 out", set);
    CHECK_FALSE(has(said(old[0]), "the new one"));
}

TEST_CASE("a page that is made otherwise now is refused") {
    const Chassis set = make();
    PencilBench first{set, catalogue()};
    first.page = page;
    std::vector<LogEntry> log = *read_pencil("done 1", first);
    log[0].number = 1;
    log[0].plan_print = "another";
    PencilBench bench{set, catalogue(), log};
    bench.page = page;
    const auto read = read_pencil("done 2 of page 0", bench);
    REQUIRE_FALSE(read);
    CHECK(has(read.notices().front().message, "page 0 is not what it was"));
}

TEST_CASE("no scribble is more than refused, and what is taken comes back from an export") {
    const std::vector<std::string> pieces{
        "C9",    " ",     "R7",     "out", "in",   "=",     "-",    ";",        "\n",   "\"",   "@",
        "121V",  ".022",  "/630",   "1",   "done", "undo",  "note", "stage",    "of",   "page", "omit",
        "V4.3",  "bplus", "lifted", ",",   "on",   "is",    "now",  "412k",     "\xC3", "Vac",  "sign H11",
        "photo", "0",     ".",      "meg", "line", "meter", "back", "original", "V4",   "42"};
    const Chassis set = make();
    std::mt19937_64 dice(41);
    std::size_t taken = 0;
    for (int turn = 0; turn < 4000; ++turn) {
        std::string pencil;
        for (std::size_t k = dice() % 12; k > 0; --k)
            pencil += pieces[dice() % pieces.size()] + (dice() % 3 ? " " : "");
        PencilBench bench{set, catalogue()};
        bench.page = page;
        INFO(pencil);
        Outcome<std::vector<LogEntry>> read = read_pencil(pencil, bench);
        if (!read) {
            REQUIRE_FALSE(read.notices().empty());
            for (const Notice& why : read.notices()) {
                CHECK(why.place.line >= 1);
                CHECK(why.place.column >= 1);
                CHECK_FALSE(why.message.empty());
            }
            continue;
        }
        taken += read->size();
        for (std::size_t k = 0; k < read->size(); ++k) {
            (*read)[k].number = static_cast<int>(k) + 1;
            (*read)[k].at = "2026-11-26T20:15:00Z";
            CHECK_FALSE(said((*read)[k]).empty());
        }
        if (read->empty()) continue;
        const std::string text = log_text(*read);
        const auto again = read_log(text, "log.txt");
        REQUIRE(again);
        CHECK(log_text(*again) == text);
        progress_of(*again, set, catalogue());
    }
    CHECK(taken > 100);
}

TEST_CASE("what is rated for less than the old part is looked at") {
    const LogEntry leak = only("R7 in 470 k line-rated resistor 0.5 W");
    CHECK(*leak.value == 470e3);
    CHECK(*leak.rated_watts == .5);
    CHECK(has(only("C1 in 8/250").look, "250 V"));
    CHECK(has(said(only("C1 in 8/250")), "LOOK"));
    CHECK(only("C1 in 8.2/500").look.empty());
}

TEST_CASE("a slip of the range has one finger, and what left the file is told how it comes back") {
    const Chassis set = make();
    PencilBench bench{set, catalogue(), {}};
    bench.page = page;
    const Outcome<std::vector<LogEntry>> read = read_pencil("done 1-99", bench);
    REQUIRE_FALSE(read);
    CHECK(read.notices().size() == 1);
    std::vector<LogEntry> before = entered("C9 out", set);
    before[0].part = "C77";
    const Refused gone = refused("C77 back", before);
    CHECK(has(gone.remedy, "C77 is now"));
}

TEST_CASE("a reading may be written at a line in words, and a meter that shows nothing is open") {
    CHECK(only("V4.3 = 235 V at 121 V").line_volts.value_or(0) == Approx(121));
    CHECK_FALSE(only("V4.3 = OL").value);
}

TEST_CASE("a sheet of readings has a row a place and a column a quantity") {
    const Outcome<std::string> pencil = pencil_of_sheet(
        "at,black,volts,ohms,line,meter,conditions\r\nV4.3,V4.5,235,,121,20k/V,warm-up\r\nV4.4,,,470k,,,\r\n",
        "evening.csv");
    REQUIRE(pencil);
    const std::vector<LogEntry> log = entered(*pencil, make());
    REQUIRE(log.size() == 2);
    CHECK(log[0].fact == LogFact::reading);
    CHECK(log[0].to == "V4.5");
    CHECK(log[0].value.value_or(0) == Approx(235));
    CHECK(log[0].line_volts.value_or(0) == Approx(121));
    CHECK(log[0].meter == "20k/V");
    CHECK(log[0].conditions == "warm-up");
    CHECK(log[1].quantity == "ohms");
    CHECK(log[1].value.value_or(0) == Approx(470e3));
}

TEST_CASE("small words of a person are understood: reads, one end, a photograph's name with blanks") {
    CHECK(only("R7 reads 412k").value.value_or(0) == Approx(412e3));
    CHECK(only("C9 lifted one end").fact == LogFact::lifted);
    CHECK(only("photo IMG 1235.JPG top left").part == "IMG 1235.JPG");
    CHECK(only("photo IMG 1235.JPG top left").words == "top left");
    CHECK(only("photo front panel").part == "front");
    CHECK(has(refused("line 118V").message, "readings behind it"));
}
