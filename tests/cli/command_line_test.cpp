// SPDX-License-Identifier: MIT
// Arguments to a request, or one sentence that says what is wrong with them.
#include "command_line.hpp"

#include <catch2/catch.hpp>

#include "words.hpp"

namespace tw = tubewright;
using tw::cli::read_command_line;
using tw::cli::Request;

namespace {

std::string complaint(const std::vector<std::string>& arguments) {
    const auto read = read_command_line(arguments);
    REQUIRE_FALSE(read);
    return read.notices().front().message;
}

bool says(const std::vector<std::string>& arguments, const std::string& words) {
    const std::string said = complaint(arguments);
    INFO(said);
    CHECK(said.find('\n') == std::string::npos);
    return said.find(words) != std::string::npos;
}

}  // namespace

TEST_CASE("Options may follow the file, and stand with = or a blank") {
    const auto read = read_command_line(
        {"volts", "set.xml", "--line=121V", "--meter", "1k/V@250V", "--format", "json", "--all", "-o", "out.json"});
    REQUIRE(read);
    CHECK(read->command == "volts");
    CHECK(read->operand == "set.xml");
    CHECK(read->policy.line.volts.value() == 121);
    CHECK(read->policy.meter.ohms_per_volt == 1000);
    CHECK(read->policy.meter.range_volts == 250);
    CHECK(read->report.format == tw::Format::json);
    CHECK(read->report.all);
    CHECK(read->output == "out.json");
}

TEST_CASE("The file may stand behind any option and its value") {
    for (const std::vector<std::string>& words :
         std::vector<std::vector<std::string>>{{"volts", "--line", "121V", "set.xml"},
                                               {"powerup", "--lamp", "60W@230V", "set.xml"},
                                               {"steps", "--policy", "prove-each", "set.xml"},
                                               {"threats", "--assume", "pace=1.5", "set.xml"},
                                               {"audit", "--readback", "set.xml"},
                                               {"shop", "-o", "list.txt", "set.xml"}}) {
        const auto read = read_command_line(words);
        INFO(words[1] << (read ? "" : ": " + read.notices().front().message));
        REQUIRE(read);
        CHECK(read->operand == "set.xml");
    }
}

TEST_CASE("A lone dash is standard input, and two dashes end the options") {
    CHECK(read_command_line({"audit", "-"})->operand == "-");
    CHECK(read_command_line({"audit", "--", "--odd-name.xml"})->operand == "--odd-name.xml");
}

TEST_CASE("Help and version win over whatever else is on the line") {
    CHECK(read_command_line({"volts", "--bogus", "--help"})->what == Request::What::help);
    CHECK(read_command_line({"volts", "--bogus", "--help"})->command == "volts");
    CHECK(read_command_line({"--version", "volts"})->what == Request::What::version);
    CHECK(read_command_line({})->what == Request::What::help);
}

TEST_CASE("A wrong command line is told in one line, with the nearest right word") {
    CHECK(says({"vlots", "set.xml"}, "volts"));
    CHECK(says({"volts"}, "wants a FILE"));
    CHECK(says({"volts", "a.xml", "b.xml"}, "one too many"));
    CHECK(says({"volts", "a.xml", "--metre", "10M"}, "--meter"));
    CHECK(says({"audit", "a.xml", "--hours", "3"}, "does not take"));
    CHECK(says({"volts", "a.xml", "--format", "csv"}, "text or json"));
    CHECK(says({"volts", "a.xml", "--scenario", "warmup"}, "warm-up"));
    CHECK(says({"volts", "a.xml", "--line"}, "--line"));
    CHECK(says({"volts", "a.xml", "--line", "120", "--line", "121"}, "--line"));
    CHECK(says({"tube", "42", "--at", "anode=250"}, "plate"));
    CHECK(says({"schema", "volts"}, "schema"));
    CHECK(says({"steps", "a.xml", "--hours", "-3"}, "--hours"));
    CHECK(says({"--format", "json"}, "command comes first"));
}

TEST_CASE("Assumptions may stand several times; a key that is not known is refused") {
    const auto read = read_command_line({"threats", "a.xml", "--assume", "pace=1.5", "--assume", "hours=500"});
    REQUIRE(read);
    CHECK(read->policy.pace == 1.5);
    CHECK(read->policy.working_hours == 500);
    CHECK(says({"threats", "a.xml", "--assume", "speed=2"}, "is no key"));
}

TEST_CASE("Every command has help with a worked example that is itself a command line that reads") {
    for (const auto& word : tw::cli::commands()) {
        const std::string text = tw::cli::help(std::string(word.name));
        INFO(word.name);
        CHECK(text.find("example:") != std::string::npos);
        for (const auto& option : word.options) CHECK(text.find(option) != std::string::npos);
        std::vector<std::string> arguments;
        std::string rest(word.example);
        while (!rest.empty()) {
            const bool quoted = rest[0] == '"';  // one word for a shell
            const std::size_t end = quoted ? rest.find('"', 1) + 1 : rest.find(' ');
            arguments.push_back(quoted ? rest.substr(1, end - 2) : rest.substr(0, end));
            rest = end >= rest.size() ? std::string() : rest.substr(end + 1);
        }
        REQUIRE(arguments.front() == "tubewright");
        arguments.erase(arguments.begin());
        CHECK(read_command_line(arguments));
        std::size_t from = 0;
        while (from < text.size()) {
            const std::size_t end = text.find('\n', from);
            CHECK(end - from <= 80);
            from = end + 1;
        }
    }
    const std::string all = tw::cli::help("");
    CHECK(all.find("volts") != std::string::npos);
    std::size_t from = 0;
    while (from < all.size()) {
        const std::size_t end = all.find('\n', from);
        INFO(all.substr(from, end - from));
        CHECK(end - from <= 80);
        from = end + 1;
    }
}
