// SPDX-License-Identifier: MIT
// The log as a person uses it, from a set's first page of steps to its last evening, on a terminal of 80 columns.
#include <sys/wait.h>

#include <catch2/catch.hpp>
#include <cstdlib>

#include "folder.hpp"

namespace {

struct Ran {
    int status = -1;
    std::string out, err;
};

bool has(const std::string& text, const std::string& words) {
    return text.find(words) != std::string::npos;
}

/// The first demo set in a folder of its own, and the program in it.
struct Bench {
    Folder folder;

    Bench() {
        std::filesystem::copy_file(std::string(TUBEWRIGHT_ROOT) + "/netlists/s1-quarry-hill.xml",
                                   folder.path() / "set.xml");
    }
    Ran run(const std::string& arguments, const std::string& input = "") const {
        folder.write(".in", input);
        const std::string line =
            "cd '" + folder.path().string() + "' && '" TUBEWRIGHT_PROGRAM "' " + arguments + " > .out 2> .err < .in";
        const int code = std::system(line.c_str());
        return {WIFEXITED(code) ? WEXITSTATUS(code) : -1, folder.read(".out"), folder.read(".err")};
    }
    /// Every one of these words of the chassis file, written otherwise.
    void edit(const std::string& from, const std::string& to) const {
        std::string text = folder.read("set.xml");
        for (std::size_t at = text.find(from); at != std::string::npos; at = text.find(from, at + to.size()))
            text.replace(at, from.size(), to);
        folder.write("set.xml", text);
    }
    bool log_is_there() const { return std::filesystem::exists(folder.path() / "set.xml.bench.db"); }
};

void fits(const std::string& text) {
    std::size_t from = 0;
    while (from < text.size()) {
        const std::size_t end = std::min(text.find('\n', from), text.size());
        INFO(text.substr(from, end - from));
        CHECK(end - from <= 80);
        from = end + 1;
    }
}

}  // namespace

TEST_CASE("an evening goes in as one line, each entry is said in words, and the rest goes on from it") {
    const Bench bench;
    const Ran entered = bench.run("log set.xml 'done 1 2; R7 51k; C16 out; C16 in .022/630; V4.3 = 235V@121V'");
    CHECK(entered.status == 0);
    CHECK(entered.err.empty());
    for (const char* words : {"step 1 of page 0 is done: Compare label", "R7 reads 51 k", "C16 is out",
                              "C16: a new one is in: .022 uF, 630 V", "V4.3 reads 235V at 121 line",
                              "6 entries in set.xml.bench.db. Nothing is lifted or out."})
        CHECK(has(entered.out, words));
    fits(entered.out);
    const Ran shown = bench.run("log set.xml");
    CHECK(shown.status == 1);  // the next stage that is powered is shut
    for (const char* words : {"Bench log set.xml.bench.db: 6 entries", "Nothing is lifted or out.", "NO. The gate",
                              "[ ] 1. Look the whole chassis over", "[ ] 2. Settle where", ".022/630", "235 V  121 V"})
        CHECK(has(shown.out, words));
    fits(shown.out);
    const Ran steps = bench.run("steps set.xml");
    CHECK(has(steps.out, "This is page 6"));
    CHECK_FALSE(has(steps.out, "C16: .022 uF film"));
    CHECK_FALSE(has(steps.out, "Compare label"));
    CHECK_FALSE(has(bench.run("shop set.xml").out, "C16"));
    CHECK(bench.run("powerup set.xml").status == 1);
    const Ran without = bench.run("steps set.xml --no-log");
    CHECK(has(without.out, "Compare label"));
    CHECK_FALSE(has(without.out, "Bench log"));
}

TEST_CASE("without a log nothing of it is printed and nothing is written") {
    const Bench bench;
    CHECK(bench.run("steps set.xml").status == 0);
    CHECK_FALSE(bench.log_is_there());
    const Ran none = bench.run("log set.xml");
    CHECK(none.status == 3);
    CHECK(has(none.err, "TW1501"));
    CHECK(bench.run("steps set.xml --log nowhere.db").status == 3);
    CHECK_FALSE(bench.log_is_there());
}

TEST_CASE("what is not understood is shown with the finger on it, and nothing of the line is in") {
    const Bench bench;
    const Ran refused = bench.run("log set.xml 'C16 out; R7 51k; C9 ot'");
    CHECK(refused.status == 3);
    CHECK(refused.out.empty());
    CHECK(has(refused.err, "Nothing was entered."));
    CHECK(has(refused.err, "  C9 ot\n     ^\n"));
    CHECK(has(refused.err, "did you mean \"out\"?"));
    fits(refused.err);
    CHECK_FALSE(bench.log_is_there());
    CHECK(bench.run("log set.xml C16 out").status == 2);  // not in quotation marks
    CHECK(bench.run("log - 'C16 out'").status == 2);
    CHECK(bench.run("log set.xml 'C16 out' --export").status == 2);
    CHECK(bench.run("log set.xml --format csv").status == 2);
}

TEST_CASE("lines and a sheet on standard input are pencil too") {
    const Bench bench;
    CHECK(bench.run("log set.xml -", "C16 out\nnote hums at once\n").status == 0);
    CHECK(bench.run("log set.xml -", "part,did,value,line,meter\r\nR7,,51k,,\r\nV4.3,=,235V,121V,20k/V\r\n").status ==
          0);
    const Ran shown = bench.run("log set.xml --all");
    for (const char* words : {"C16: removed", "hums at once", "R7", "20k/V"}) CHECK(has(shown.out, words));
    const Ran bad = bench.run("log set.xml -", "C10 out\nC99 out\n");
    CHECK(bad.status == 3);
    CHECK(has(bad.err, "C99 out"));
    CHECK_FALSE(has(bench.run("log set.xml").out, "C10"));
}

TEST_CASE("lines on standard input are entered without a word for it, and where there are none the status is shown") {
    const Bench bench;
    const Ran entered = bench.run("log set.xml", "R5 out\n");
    CHECK(entered.status == 0);
    CHECK(has(entered.out, "R5 is out"));
    const auto piped = [&](const std::string& from) {
        const std::string line = "cd '" + bench.folder.path().string() + "' && " + from +
                                 " | '" TUBEWRIGHT_PROGRAM "' log set.xml > .out 2> .err";
        const int code = std::system(line.c_str());
        return Ran{WIFEXITED(code) ? WEXITSTATUS(code) : -1, bench.folder.read(".out"), bench.folder.read(".err")};
    };
    CHECK(has(piped("echo 'R7 51k'").out, "R7 reads 51 k"));
    for (const Ran& shown : {bench.run("log set.xml"), bench.run("log set.xml", " \n\n"), piped("true")}) {
        CHECK(shown.status == 1);
        CHECK(has(shown.out, "2 entries"));
        CHECK(shown.err.empty());
    }
    CHECK(bench.run("log set.xml", "R5 hopped\n").status == 3);
    CHECK(has(bench.run("log set.xml").out, "2 entries"));
}

TEST_CASE("a measured value of a renamed part is missed by the log, and comes over with its date") {
    const Bench bench;
    REQUIRE(bench.run("log set.xml 'R7 51k; R10 520k'").status == 0);
    bench.edit("\"R7\"", "\"R77\"");
    bench.edit("R7.", "R77.");
    const Ran lost = bench.run("log set.xml");
    CHECK(has(lost.out, "DOUBT: entry 1: R7 is not in the file now"));
    CHECK_FALSE(has(lost.out, "every part that the log names"));
    REQUIRE(bench.run("log set.xml 'R7 is now R77'").status == 0);
    const std::string shown = bench.run("log set.xml").out;
    const std::size_t row = shown.find("R77 ");
    REQUIRE(row != std::string::npos);
    CHECK(has(shown.substr(row, shown.find('\n', row) - row), "51 k"));
    CHECK(has(shown.substr(row, shown.find('\n', row) - row), "20"));  // the year of the entry
    CHECK_FALSE(has(shown, "DOUBT"));
}

TEST_CASE("a part that is out is told by every answer, and shuts the gates until it is left out on purpose") {
    const Bench bench;
    REQUIRE(bench.run("log set.xml 'R5 out'").status == 0);
    CHECK(has(bench.run("volts set.xml").out, "R5 (removed)"));
    const Ran steps = bench.run("steps set.xml");
    CHECK(has(steps.out, "Lifted or out: R5"));
    CHECK(has(bench.run("powerup set.xml").out, "NOT PROVED: lifted or removed: R5"));
    REQUIRE(bench.run("log set.xml 'R5 omit \"set runs without\"'").status == 0);
    CHECK_FALSE(has(bench.run("powerup set.xml").out, "NOT PROVED: lifted or removed: R5"));
    CHECK(has(bench.run("log set.xml").out, "R5: left out on purpose: set runs without"));
}

TEST_CASE("what comes out, is joined or reads past its STOP after the last stage shuts the gate in every answer") {
    const Bench bench;
    REQUIRE(bench.run("log set.xml 'done 1-55'").status == 0);
    REQUIRE(bench.run("log set.xml").status == 0);
    bench.run("log set.xml 'V4 out'");
    const Ran out = bench.run("log set.xml");
    CHECK(out.status == 1);
    for (const char* words : {"NO. The gate", "out by the log:", "Put V4 back into the socket"})
        CHECK(has(out.out, words));
    CHECK(has(bench.run("steps set.xml").out, "Lifted or out: V4."));
    bench.run("log set.xml 'V4 back; C9 lifted; C9 back'");
    const Ran joined = bench.run("log set.xml");
    CHECK(joined.status == 1);
    CHECK(has(joined.out, "not proved: H19"));
    CHECK(bench.run("powerup set.xml").status == 1);
    bench.run("log set.xml 'done 1 2 of page 59; bplus = 480V@115V'");
    const Ran past = bench.run("log set.xml");
    CHECK(past.status == 1);
    CHECK(has(past.out, "bplus reads 480 V"));
    CHECK_FALSE(has(past.out, "not held here"));
    bench.run("log set.xml 'bplus = 240V@115V'");
    CHECK(bench.run("log set.xml").status == 0);
}

TEST_CASE("a stage without the line that is shut is the next one, not the first that is powered") {
    const Bench bench;
    REQUIRE(bench.run("log set.xml 'R7 51k'").status == 0);
    const Ran shown = bench.run("log set.xml");
    CHECK(shown.status == 1);
    CHECK(has(shown.out, "NO. The gate of the next stage is shut: stage 2"));
}

TEST_CASE(
    "the heads of volts and stress name a tube that is out and a value measured off, and parts out bear nothing") {
    const Bench bench;
    REQUIRE(bench.run("log set.xml 'V4 out; C17 out; R9 380k; V4.3 = 235V@121V'").status == 0);
    for (const char* command : {"volts set.xml", "stress set.xml --all"}) {
        INFO(command);
        const Ran shown = bench.run(command);
        CHECK(has(shown.out, "V4 (removed)"));
        CHECK(has(shown.out, "Taken as measured, by the log: R9 (380 k, in the file "));
        const std::size_t table = shown.out.find("every part");
        if (table != std::string::npos) CHECK_FALSE(has(shown.out.substr(table), "C17"));
    }
    const std::string log = bench.run("log set.xml").out;
    CHECK(has(log, "past the STOP of its stage shuts that stage"));
    CHECK_FALSE(has(log, "held against the sheet of powerup, above"));
}

TEST_CASE("an export comes back elsewhere byte for byte, as text and as a sheet") {
    const Bench bench;
    REQUIRE(bench.run("log set.xml 'done 1-9; C16 in .022/630; note \"a, b\"; undo 1'").status == 3);  // no entry 1 yet
    REQUIRE(bench.run("log set.xml 'done 1-9; C16 in .022/630; note \"a, b\"'").status == 0);
    REQUIRE(bench.run("log set.xml 'undo 4; V4.3 = 235V@121V'").status == 0);
    for (const std::string& format : {std::string(), std::string(" --format csv")}) {
        const Ran out = bench.run("log set.xml --export" + format);
        CHECK(out.status == 0);
        bench.folder.write("out", out.out);
        CHECK(bench.run("log set.xml --import out --log there.db").status == 0);
        CHECK(bench.run("log set.xml --export --log there.db" + format).out == out.out);
        CHECK(bench.run("log set.xml --log there.db").out.size() > 500);
        std::filesystem::remove(bench.folder.path() / "there.db");
    }
    CHECK(bench.run("log set.xml --export -o set.xml.bench.db").status == 2);
    CHECK(bench.run("steps set.xml -o set.xml.bench.db").status == 2);
    CHECK(has(bench.run("log set.xml --export").out, "bench log, version 1"));
    CHECK(bench.run("log set.xml --import set.xml --log there.db").status == 3);
    CHECK_FALSE(std::filesystem::exists(bench.folder.path() / "there.db"));
}

TEST_CASE("a log whose chassis file was renamed is not forgotten: it is named, and no second one is begun") {
    const Bench bench;
    REQUIRE(bench.run("log set.xml 'R5 out'").status == 0);
    std::filesystem::rename(bench.folder.path() / "set.xml", bench.folder.path() / "radio.xml");
    for (const char* command : {"log radio.xml", "log radio.xml 'R7 51k'", "audit radio.xml"}) {
        INFO(command);
        const Ran told = bench.run(command);
        CHECK(has(told.err, "set.xml.bench.db, whose chassis file is gone, is of the same set"));
        CHECK(has(told.err, "--log set.xml.bench.db takes it"));
    }
    CHECK(bench.run("log radio.xml 'R7 51k'").status == 3);
    CHECK_FALSE(std::filesystem::exists(bench.folder.path() / "radio.xml.bench.db"));
    CHECK(has(bench.run("log radio.xml 'R7 51k' --log set.xml.bench.db").out, "Out or lifted now: R5"));
    CHECK_FALSE(has(bench.run("audit radio.xml --no-log").err, "whose chassis file"));
}

TEST_CASE("a grid that nothing holds has no volts, while its tube, its leak and its coupler's feed are out") {
    const Bench bench;
    REQUIRE(bench.run("log set.xml 'V4 out; R10 out'").status == 0);
    const std::string shown = bench.run("volts set.xml").out;
    const std::size_t row = shown.find("  V4.4 ");
    REQUIRE(row != std::string::npos);
    CHECK(has(shown.substr(row, shown.find('\n', row) - row), "not determined"));
}

TEST_CASE("an override opens its gate, is printed and is kept") {
    const Bench bench;
    REQUIRE(bench.run("log set.xml 'done 1-12'").status == 0);
    const Ran over = bench.run("powerup set.xml --override 'H5=new cord on order, isolation transformer'");
    CHECK(has(over.out, "OVERRIDDEN: H5: new cord on order"));
    CHECK(has(bench.run("powerup set.xml").out, "OVERRIDDEN: H5: new cord on order"));
    CHECK(has(bench.run("log set.xml --all").out, "H5 is OVERRIDDEN: new cord on order"));
    CHECK(bench.run("powerup set.xml --override H5").status == 2);
    CHECK(bench.run("powerup set.xml --override H99=why").status == 2);
}

TEST_CASE("the log as JSON has its rows, and every answer its head") {
    const Bench bench;
    REQUIRE(bench.run("log set.xml 'C16 out; undo'").status == 3);
    REQUIRE(bench.run("log set.xml 'C16 out; R7 51k'").status == 0);
    const Ran json = bench.run("log set.xml --format json");
    for (const char* words : {"\"schema\": \"tubewright/log/1\"", "\"fact\": \"removed\"", "\"undone\": false",
                              "\"entries\": 2", "\"state\": \"removed\"", "\"gates\""})
        CHECK(has(json.out, words));
    CHECK(has(bench.run("steps set.xml --format json").out, "\"page\": 2"));
    CHECK_FALSE(has(bench.run("steps set.xml --format json --no-log").out, "\"page\""));
    CHECK(has(bench.run("powerup set.xml --format json").out, "\"proved\": false"));
}
