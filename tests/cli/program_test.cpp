// SPDX-License-Identifier: MIT
// The built program as a person runs it: exit statuses, messages with place and remedy, what goes to which stream, and
// files written whole or not at all.
#include <sys/wait.h>

#include <charconv>
#include <clocale>
#include <cstdlib>

#include <catch2/catch.hpp>

#include "folder.hpp"

namespace fs = std::filesystem;

namespace {

const std::string s1 = std::string(TUBEWRIGHT_ROOT) + "/netlists/s1-quarry-hill.xml";
const std::string s9 = std::string(TUBEWRIGHT_ROOT) + "/netlists/s9-bellows-court.xml";

struct Ran {
    int status = -1;
    std::string out, err;
};

bool has(const std::string& text, const std::string& words) {
    return text.find(words) != std::string::npos;
}

/// Runs the program with arguments for a shell, in the folder; `before` stands ahead of it (variables), `after` behind
/// (a pipe).
Ran run(const Folder& folder, const std::string& arguments, const std::string& before = "",
        const std::string& after = "") {
    const std::string line = "cd '" + folder.path().string() + "' && " + before + " '" TUBEWRIGHT_PROGRAM "' " +
                             arguments + (after.empty() ? " > .out" : "") + " 2> .err " +
                             (has(arguments, " < ") ? "" : "< /dev/null ") + after;
    const int code = std::system(line.c_str());
    Ran ran;
    ran.status = WIFEXITED(code) ? WEXITSTATUS(code) : -1;
    ran.out = folder.read(".out");
    ran.err = folder.read(".err");
    return ran;
}

std::string edited(const std::string& path, const std::string& from, const std::string& to) {
    std::ifstream in(path);
    std::ostringstream read;
    read << in.rdbuf();
    std::string text = read.str();
    const std::size_t at = text.find(from);
    REQUIRE(at != std::string::npos);
    return text.replace(at, from.size(), to);
}

}  // namespace

TEST_CASE("A sound set audits with 0 and says so; nothing goes to standard error") {
    const Folder folder;
    const Ran ran = run(folder, "audit '" + s1 + "'");
    CHECK(ran.status == 0);
    CHECK(has(ran.out, "0 to stop for, 0 in doubt"));
    CHECK(ran.err.empty());
}

TEST_CASE("A file that cannot be used gives 3, a place, a remedy, and no output file") {
    struct Bad {
        const char* what;
        std::string text;
        const char* says;
    };
    const std::vector<Bad> files{
        {"empty", "", "empty"},
        {"not XML", "this is not a chassis\n", "XML"},
        {"unknown attribute", edited(s9, "<fuse id=\"F1\" amps", "<fuse id=\"F1\" ampers"), "ampers"},
        {"unknown tube", edited(s9, "tube=\"EL84\"", "tube=\"EL8X4\""), "EL8X4"},
        {"value without a unit", edited(s9, "value=\".02 mfd\"", "value=\".02\""), ".02"}};
    for (const Bad& bad : files) {
        INFO(bad.what);
        const Folder folder;
        folder.write("set.xml", bad.text);
        const Ran ran = run(folder, "volts set.xml -o out.txt");
        INFO(ran.err);
        CHECK(ran.status == 3);
        CHECK(ran.out.empty());
        CHECK(has(ran.err, "set.xml"));
        CHECK(has(ran.err, "error: "));
        CHECK(has(ran.err, bad.says));
        CHECK(has(ran.err, "; "));
        CHECK(has(ran.err, "[TW1"));
        CHECK_FALSE(fs::exists(folder.path() / "out.txt"));
        if (bad.text.size() > 100) CHECK(has(ran.err, "set.xml:"));
    }
}

TEST_CASE("Bad input leaves an output file of an earlier run as it was") {
    const Folder folder;
    folder.write("set.xml", "");
    folder.write("out.txt", "from yesterday");
    CHECK(run(folder, "volts set.xml -o out.txt").status == 3);
    CHECK(folder.read("out.txt") == "from yesterday");
}

TEST_CASE("A file that is not there gives 3 and its name") {
    const Folder folder;
    const Ran ran = run(folder, "volts nowhere.xml");
    CHECK(ran.status == 3);
    CHECK(has(ran.err, "nowhere.xml"));
}

TEST_CASE("A net with one lead, and a pin used wrongly, are findings: 1, with the part and what to look at") {
    const Folder folder;
    folder.write("lone.xml", edited(s9, "a=\"bplus2\" b=\"bplus3\"", "a=\"bplus2\" b=\"bpluss3\""));
    const Ran lone = run(folder, "audit lone.xml");
    CHECK(lone.status == 1);
    CHECK(has(lone.out, "R2"));
    CHECK(has(lone.out, "look at:"));
    folder.write("pin.xml",
                 edited(s9, "<join at=\"V2.9 bplus2\"/>", "<join at=\"V2.9 bplus2\"/><join at=\"V2.4 bplus2\"/>"));
    const Ran pin = run(folder, "audit pin.xml --format json");
    CHECK(pin.status == 1);
    const std::size_t row = pin.out.find("\"severity\": \"stop\"");
    REQUIRE(row != std::string::npos);
    CHECK(has(pin.out.substr(row, 200), "\"rule\": \"pin-in-conflict\""));
    CHECK(has(pin.out.substr(row), "\"look_at\": \"this socket, counted from below"));
    // Other commands still answer, with what the audit says at their head, and end with 1.
    const Ran read = run(folder, "volts pin.xml");
    CHECK(read.status == 1);
    CHECK(read.err.empty());
    CHECK(has(read.out.substr(0, 800), "STOP: the audit has "));
    const Ran plan = run(folder, "steps pin.xml");
    CHECK(plan.status == 1);
    CHECK(has(plan.out.substr(0, 800), "STOP: the audit has "));
}

TEST_CASE("Of many errors twenty are printed and then a count") {
    const Folder folder;
    std::string text = "<chassis version=\"1\" name=\"many\" reference=\"gnd\">\n";
    for (int i = 0; i < 30; ++i) text += "<resistor id=\"R" + std::to_string(i) + "\" valu=\"1\" a=\"x\" b=\"gnd\"/>\n";
    folder.write("many.xml", text + "</chassis>\n");
    const Ran ran = run(folder, "audit many.xml");
    CHECK(ran.status == 3);
    std::size_t lines = 0;
    for (std::size_t at = ran.err.find("error:"); at != std::string::npos; at = ran.err.find("error:", at + 1)) ++lines;
    CHECK(lines == 20);
    CHECK(has(ran.err, "errors in all"));
}

TEST_CASE("A wrong command line gives 2, two lines, and nothing on standard output") {
    const Folder folder;
    for (const std::string& line : {std::string("volts"), std::string("vlots x"), std::string("volts x --line abc"),
                                    "volts '" + s9 + "' --scenario tube-out:V9", std::string("tube 6Q99Z"),
                                    std::string("tube 42 --at x"), std::string("tube 42 --at plate=250,grid=-20")}) {
        INFO(line);
        const Ran ran = run(folder, line);
        CHECK(ran.status == 2);
        CHECK(ran.out.empty());
        CHECK(std::count(ran.err.begin(), ran.err.end(), '\n') == 2);
        CHECK(has(ran.err, "try 'tubewright --help'"));
    }
}

TEST_CASE("A family of fuses that nobody knows is refused with those that are known; one without gates is not judged") {
    const Folder folder;
    const Ran banana = run(folder, "threats '" + s9 + "' --assume fuse-family=banana");
    CHECK(banana.status == 2);
    CHECK(banana.out.empty());
    CHECK(has(banana.err, "UL 248-14"));
    CHECK(has(banana.err, "IEC 60127-2 sheet 3"));
    for (const char* sheet : {"1", "5"}) {
        const Ran ran = run(folder, "threats '" + s9 + "' --assume 'fuse-family=IEC 60127-2 sheet " + sheet + "'");
        INFO(ran.out);
        CHECK(ran.status <= 1);
        CHECK_FALSE(has(ran.out, "large enough"));
        CHECK(has(ran.out, "no ratings and gates"));
    }
}

TEST_CASE(
    "A condition that the set has nothing of is answered with a sentence, and a line of direct current refused with "
    "one") {
    const Folder folder;
    const Ran soak = run(folder, "volts '" + s9 + "' --scenario soak");
    CHECK(soak.status == 0);
    CHECK(has(soak.out, "does not apply to this set"));
    const Ran json = run(folder, "volts '" + s9 + "' --scenario soak --format json");
    CHECK(json.status == 0);
    CHECK_FALSE(has(json.out, "\"refused\""));
    CHECK(has(json.out, "does not apply to this set"));
    for (const char* hertz : {"dc", "0"}) {
        const Ran ran = run(folder, "volts '" + s9 + "' --hertz " + hertz);
        CHECK(ran.status == 2);
        CHECK(has(ran.err, "is for the file to say"));
    }
}

TEST_CASE("An answer goes into a file whole, never over the input") {
    const Folder folder;
    folder.write("set.xml", edited(s9, "Bellows Court amplifier", "Bellows Court amplifier"));
    const std::string before = folder.read("set.xml");
    const Ran printed = run(folder, "volts set.xml");
    REQUIRE(printed.status == 0);
    const Ran written = run(folder, "volts set.xml -o out.txt");
    CHECK(written.status == 0);
    CHECK(written.out.empty());
    CHECK(folder.read("out.txt") == printed.out);
    CHECK(run(folder, "volts set.xml -o set.xml").status == 2);
    CHECK(run(folder, "volts set.xml -o ./set.xml").status == 2);
    CHECK(folder.read("set.xml") == before);
    CHECK(run(folder, "volts set.xml -o nowhere/out.txt").status == 5);
}

TEST_CASE("A dash reads standard input, and gives the same answer") {
    const Folder folder;
    folder.write("set.xml", edited(s9, "Bellows Court amplifier", "Bellows Court amplifier"));
    const Ran by_name = run(folder, "stress set.xml");
    const Ran by_pipe = run(folder, "stress - < set.xml");
    CHECK(by_pipe.status == 0);
    CHECK(by_pipe.out == by_name.out);
}

TEST_CASE("A full device gives 5 and says so; a reader that goes away ends the program without a word") {
    const Folder folder;
    if (fs::exists("/dev/full")) {
        const Ran full = run(folder, "volts '" + s9 + "' -o - > /dev/full", "", " ;");
        CHECK(has(full.err, "cannot write standard output"));
        CHECK(run(folder, "volts '" + s9 + "' -o /dev/full").status == 5);
    }
    const Ran gone = run(folder, "volts '" + s9 + "' --format json", "", "| head -c 1 > .out");
    CHECK(gone.out == "{");
    CHECK(gone.err.empty());
}

TEST_CASE("Colour is off in a pipe, on when always, off under NO_COLOR unless asked for") {
    const Folder folder;
    const std::string escape = "\x1b[";
    CHECK_FALSE(has(run(folder, "stress '" + s9 + "'").out, escape));
    CHECK_FALSE(has(run(folder, "stress '" + s9 + "'", "NO_COLOR=1").out, escape));
    CHECK(has(run(folder, "stress '" + s9 + "' --colour always", "NO_COLOR=1").out, escape));
    CHECK_FALSE(has(run(folder, "stress '" + s9 + "' --colour always --format json").out, escape));
}

TEST_CASE("The locale has no word in it: the same bytes under a comma locale") {
    const Folder folder;
    const Ran plain = run(folder, "stress '" + s9 + "' --format json", "LC_ALL=C");
    REQUIRE(std::setlocale(LC_ALL, "de_DE.UTF-8") != nullptr);  // made by tests/CMakeLists.txt
    std::setlocale(LC_ALL, "C");
    const Ran comma = run(folder, "stress '" + s9 + "' --format json", "LC_ALL=de_DE.UTF-8");
    CHECK(plain.status == 0);
    CHECK(plain.out == comma.out);
}

TEST_CASE("Every command answers in 80 columns with nothing on standard error, and its JSON is whole and without NaN") {
    const Folder folder;
    // The study of all faults is the long one: on one set, as text; tests/report reads its JSON.
    for (const char* command : {"audit", "survey", "volts", "stress", "shop", "model", "threats", "steps", "powerup"}) {
        const bool all_faults = has("threats steps powerup", command);
        for (const std::string& set : {s1, s9}) {
            if (all_faults && set == s9) continue;
            INFO(command << " " << set);
            const Ran text = run(folder, std::string(command) + " '" + set + "'");
            // The amplifier has a fuse of three times what its label asks for: the audit's to doubt, and no other's.
            const bool doubted = has(text.out, "0 to stop for, 1 in doubt") && has(text.out, "F1 is a fuse of 3 A");
            const int expected = std::string(command) == "audit" && doubted ? 1 : 0;
            CHECK(text.status == expected);
            CHECK(text.err.empty());
            std::istringstream lines(text.out);
            std::string line;
            std::size_t widest = 0;
            while (std::getline(lines, line)) {
                const auto columns = std::count_if(
                    line.begin(), line.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; });
                widest = std::max(widest, static_cast<std::size_t>(columns));
            }
            CHECK(widest <= 80);
            if (all_faults) continue;
            const Ran ran = run(folder, std::string(command) + " '" + set + "' --format json");
            CHECK(ran.status == expected);
            CHECK_FALSE(has(ran.out, "NaN"));
            CHECK(has(ran.out, "\"schema\": \"tubewright/" + std::string(command) + "/1\""));
            CHECK(has(ran.out, "\"rows\": ["));
            CHECK(ran.out.substr(ran.out.size() - 2) == "}\n");
        }
    }
}

TEST_CASE("Readings of the windings get a verdict in 80 columns, exit status 1 where it is not healthy") {
    const Folder folder;
    const std::string asked = "windings '" + s1 + "' --line 115 --in nothing --read ";
    const Ran sound = run(folder, asked + "plate=329-0-330 --read heater=6.7@116V --read heat=cool");
    CHECK(sound.status == 0);
    CHECK(has(sound.out, "VERDICT: HEALTHY"));
    std::istringstream lines(sound.out);
    for (std::string line; std::getline(lines, line);) CHECK(line.size() <= 80);
    const Ran low = run(folder, asked + "plate=329-0-260 --format json");
    CHECK(low.status == 1);
    CHECK(has(low.out, "\"verdict\": \"half-imbalance\""));
    for (const char* field : {"design_volts", "read_volts", "line_volts_read", "expect_volts", "ratio", "residual",
                              "likelihoods", "factor", "no_load_rise", "heater_forecast_volts", "remedy"})
        CHECK(has(low.out, "\"" + std::string(field) + "\":"));
    CHECK(run(folder, asked + "nothing-here=12").status == 4);
    CHECK(run(folder, asked + "plate=high").status == 2);
    CHECK(run(folder, asked + "heat=lukewarm").status == 2);
    CHECK(run(folder, "windings '" + s1 + "' --in all").status == 2);
}

TEST_CASE("Line and meter reach the volts: a higher line raises them, a 1,000 ohm a volt meter pulls a plate down") {
    const Folder folder;
    const auto figure = [](const std::string& row, const std::string& key) {
        const std::size_t at = row.find("\"" + key + "\": ");
        REQUIRE(at != std::string::npos);
        double value = 0;
        const char* from = row.data() + at + key.size() + 4;
        std::from_chars(from, row.data() + row.size(), value);
        return value;
    };
    const auto plate = [&](const std::string& options) {
        const std::string json = run(folder, "volts '" + s1 + "' --scenario normal --format json " + options).out;
        const std::size_t at = json.find("\"net\": \"V3.2\"");
        REQUIRE(at != std::string::npos);
        const std::string row = json.substr(at, json.find('}', at) - at);
        return std::pair(figure(row, "dc_volts"), figure(row, "meter_volts"));
    };
    const auto own = plate(""), high = plate("--line 126V"), loaded = plate("--meter 1k/V@250V");
    CHECK(high.first > 1.05 * own.first);
    CHECK(loaded.first == own.first);
    CHECK(loaded.second < 0.8 * own.second);
}

TEST_CASE("The schema is printed whole") {
    const Folder folder;
    const Ran ran = run(folder, "schema");
    CHECK(ran.status == 0);
    CHECK(has(ran.out, "<xs:schema"));
    CHECK(has(ran.out, "</xs:schema>"));
    CHECK(run(folder, "schema chassis").out == ran.out);
}

TEST_CASE("The version names the program first and the libraries with their licences, in a moment") {
    const Folder folder;
    const Ran ran = run(folder, "--version");
    CHECK(ran.status == 0);
    CHECK(ran.out.rfind("tubewright ", 0) == 0);
    for (const char* library : {"CLI11", "nlohmann/json", "Eigen", "KLU", "pugixml", "Boost"})
        CHECK(has(ran.out, library));
}

TEST_CASE("A sheet becomes a chassis file and goes back; with an error nothing is written") {
    const Folder folder;
    folder.write("parts.csv", "kind,id,value,a,b\r\nresistor,R1,470k,V1.5,gnd\r\ntube,V1,6V6GT,,\r\n");
    CHECK(run(folder, "sheet parts.csv -o set.xml").status == 0);
    CHECK(run(folder, "sheet set.xml -o back.csv").status == 0);
    CHECK(run(folder, "sheet back.csv -o again.xml").status == 0);
    CHECK(run(folder, "sheet again.xml").out == run(folder, "sheet set.xml").out);
    folder.write("bad.csv", "kind,id,value,a,b\nresistor,R1,470 kay,V1.5,gnd\n");
    const Ran bad = run(folder, "sheet bad.csv -o bad.xml");
    CHECK(bad.status == 3);
    CHECK(bad.out.empty());
    CHECK(has(bad.err, "bad.csv:2:"));
    CHECK(run(folder, "audit bad.xml").status == 3);  // it is not there
    CHECK(run(folder, "sheet set.xml -o set.xml").status == 2);
}

TEST_CASE("The small sheet of the help is a sheet") {
    const Folder folder;
    const std::string text = run(folder, "sheet --help").out;
    std::string sheet;
    const std::string head = "a small sheet:\n";
    std::size_t at = text.find(head);
    REQUIRE(at != std::string::npos);
    for (at += head.size(); text.compare(at, 2, "  ") == 0;) {
        const std::size_t end = text.find('\n', at);
        sheet += text.substr(at + 2, end + 1 - at - 2);
        at = end + 1;
    }
    folder.write("small.csv", sheet);
    const Ran made = run(folder, "sheet small.csv");
    CHECK(made.status == 0);
    CHECK(has(made.out, "leads=\"T2.blue T2.red\""));
    CHECK_FALSE(has(made.out, "SPDX"));
}

TEST_CASE("A starter file does not go over a file that is there, unless it is said to") {
    const Folder folder;
    folder.write("set.xml", "an evening's work");
    const Ran refused = run(folder, "start battery -o set.xml");
    CHECK(refused.status == 2);
    CHECK(has(refused.err, "--output set.xml is there already; another name, or --force to write over it"));
    CHECK(folder.read("set.xml") == "an evening's work");
    CHECK(run(folder, "start battery --force -o set.xml").status == 0);
    CHECK(has(folder.read("set.xml"), "<chassis "));
    CHECK(run(folder, "start battery -o other.xml").status == 0);
    CHECK(run(folder, "start battery -o /dev/null").status == 0);
}

TEST_CASE("Two files are compared: 0 where nothing differs, 1 where something does, 3 where the other cannot be read") {
    const Folder folder;
    folder.write("found.xml", edited(s1, "a=\"V3.2\" b=\"V4.4\"", "a=\"V3.2\" b=\"V4.5\""));
    folder.write("renamed.xml", edited(s1, "id=\"R9\"", "id=\"R90\""));
    folder.write("bad.xml", edited(s1, "<resistor id=\"R9\" value", "<resistor id=\"R9\" valu"));
    const Ran same = run(folder, "audit '" + s1 + "' --against renamed.xml");
    CHECK(same.status == 0);
    CHECK(same.err.empty());
    CHECK(has(same.out, "Nothing differs"));
    CHECK(has(same.out, "R9 = R90"));
    const Ran other = run(folder, "audit '" + s1 + "' --against found.xml");
    CHECK(other.status == 1);
    CHECK(other.err.empty());
    CHECK(has(other.out, "1 difference: 1 in connections."));
    CHECK(has(other.out, "C16, lead b (s1-quarry-hill.xml:117, found.xml:117)"));
    CHECK_FALSE(has(other.out, "to stop for"));
    CHECK(run(folder, "audit '" + s1 + "' --against - < found.xml").status == 1);
    CHECK(has(run(folder, "audit '" + s1 + "' --against found.xml --readback").out, "READ-BACK"));
    const Ran bad = run(folder, "audit '" + s1 + "' --against bad.xml -o out.txt");
    CHECK(bad.status == 3);
    CHECK(has(bad.err, "bad.xml:114:"));
    CHECK_FALSE(fs::exists(folder.path() / "out.txt"));
    CHECK(run(folder, "audit '" + s1 + "' --against nowhere.xml").status == 3);
    CHECK(run(folder, "audit found.xml --against renamed.xml -o renamed.xml").status == 2);
    CHECK(run(folder, "audit - --against - < found.xml").status == 2);
    CHECK(run(folder, "volts '" + s1 + "' --against found.xml").status == 2);
}
