// SPDX-License-Identifier: MIT
// A log goes out as text and as a sheet and comes back in another place, byte for byte, whatever was written into it.
#include <random>

#include "bench_set.hpp"

using namespace bench_set;

namespace {

/// A log of facts of every kind with texts and figures at random: quotation marks, commas, line ends, backslashes,
/// letters of other tongues, numbers to the last bit.
std::vector<LogEntry> random_log(std::mt19937_64& dice, int count) {
    static const std::vector<std::string> pieces{"C9",       " ", ",",  "\"", "\n",      "\\", "\\n", ": ",     "=",
                                                 "\xC2\xB5", ";", "\r", "0",  "entry: ", "é",  "#",   "number", "'"};
    const auto text = [&](int most) {
        std::string made;
        for (int k = static_cast<int>(dice() % static_cast<unsigned>(most)); k > 0; --k)
            made += pieces[dice() % pieces.size()];
        return made;
    };
    const auto number = [&]() -> OptionalNumber {
        if (dice() % 2) return {};
        return std::ldexp(static_cast<double>(dice()) - 9e18, static_cast<int>(dice() % 200) - 150);
    };
    std::vector<LogEntry> log;
    for (int k = 1; k <= count; ++k) {
        LogEntry e;
        e.number = k;
        e.batch = (k + 2) / 3;
        e.at = "2026-11-26T20:15:00Z";
        e.fact = static_cast<LogFact>(dice() % (static_cast<unsigned>(LogFact::undo) + (k > 1 ? 1 : 0)));
        for (std::string* into : {&e.pencil, &e.part, &e.to, &e.was, &e.words, &e.quantity, &e.meter, &e.conditions,
                                  &e.step_id, &e.acts, &e.plan_print, &e.set_name, &e.set_print})
            *into = text(6);
        for (OptionalNumber* into : {&e.value, &e.rated_volts, &e.rated_watts, &e.line_volts}) *into = number();
        e.step = static_cast<int>(dice() % 50);
        e.plan = static_cast<int>(dice() % 50) - 1;
        e.target = e.fact == LogFact::undo ? 1 + static_cast<int>(dice() % static_cast<unsigned>(k - 1)) : 0;
        log.push_back(std::move(e));
    }
    return log;
}

int complaint(const std::string& text) {
    const auto read = read_log(text, "log.txt");
    REQUIRE_FALSE(read);
    return read.notices().front().number;
}

}  // namespace

TEST_CASE("two hundred logs at random come back from text and sheet byte for byte, in another place") {
    std::mt19937_64 dice(20261126);
    for (int turn = 0; turn < 200; ++turn) {
        const std::vector<LogEntry> log = random_log(dice, 1 + static_cast<int>(dice() % 12));
        const std::string text = log_text(log), sheet = log_sheet(log);
        INFO(text);
        const auto from_text = read_log(text, "log.txt"), from_sheet = read_log(sheet, "log.csv");
        REQUIRE(from_text);
        REQUIRE(from_sheet);
        CHECK(log_text(*from_text) == text);
        CHECK(log_sheet(*from_text) == sheet);
        CHECK(log_text(*from_sheet) == text);
        CHECK(log_sheet(*from_sheet) == sheet);
        if (turn % 20 != 0) continue;
        const Folder folder;
        {
            Outcome<BenchLog> there = BenchLog::open(folder.file("b.db"), true);
            REQUIRE(there->take_over(*from_text));
        }
        const Outcome<BenchLog> again = BenchLog::open(folder.file("b.db"));
        REQUIRE(again);
        CHECK(log_text(again->entries()) == text);
        CHECK(log_sheet(again->entries()) == sheet);
        CHECK(undone(again->entries()) == undone(log));
    }
}

TEST_CASE("a log is taken over where it begins the same, and never over another") {
    std::mt19937_64 dice(7);
    const std::vector<LogEntry> log = random_log(dice, 6);
    const Folder folder;
    Outcome<BenchLog> here = BenchLog::open(folder.file("a.db"), true);
    CHECK(*here->take_over({log.begin(), log.begin() + 4}) == 4);
    CHECK(*here->take_over(log) == 2);
    CHECK(*here->take_over(log) == 0);
    std::vector<LogEntry> other = log;
    other[2].words += "!";
    const auto refused = here->take_over(other);
    REQUIRE_FALSE(refused);
    CHECK(refused.notices().front().number == 1522);
    CHECK_FALSE(here->take_over({log.begin(), log.begin() + 2}));
    CHECK(here->entries().size() == 6);
}

TEST_CASE("what is no whole log is refused") {
    std::mt19937_64 dice(9);
    const std::vector<LogEntry> log = random_log(dice, 3);
    CHECK(complaint("an evening\n") == 1521);
    CHECK(complaint("") == 1521);
    CHECK(complaint("tubewright bench log, version 1\n\nnumber: 1\nat: now\nfact: sung\n") == 1521);
    CHECK(complaint("tubewright bench log, version 1\n\nnumber: 2\nat: now\nfact: note\n") == 1521);
    CHECK(complaint("tubewright bench log, version 1\n\nnumber: 1\nfact: note\n") == 1521);
    CHECK(complaint("tubewright bench log, version 1\n\nnumber: 1\nat: now\nfact: undo\nundoes: 1\n") == 1521);
    CHECK(complaint("tubewright bench log, version 1\n\nnumber: 1\nat: now\nfact: note\nvalue: much\n") == 1521);
    CHECK(complaint("number,at,fact,colour\r\n1,now,note,red\r\n") == 1521);
    std::string text = log_sheet(log);
    text.resize(text.size() / 2);
    CHECK_FALSE(read_log(text, "cut.csv"));
}

TEST_CASE("an export that was cut anywhere or changed in one letter is refused whole") {
    const std::vector<LogEntry> log = entered("C9 out; R7 412k; note hums; C9 in .022/630", make());
    for (const std::string& whole : {log_text(log), log_sheet(log)}) {
        REQUIRE(read_log(whole, "log"));
        for (std::size_t end = 0; end + 2 < whole.size(); ++end) {
            INFO(end);
            CHECK_FALSE(read_log(whole.substr(0, end), "log"));
        }
        std::string changed = whole;
        changed.replace(changed.find("412000"), 6, "512000");
        CHECK(complaint(changed) == 1521);
        CHECK_FALSE(read_log(whole + "\nnumber: 5\nat: now\nfact: note\n", "log"));
    }
    std::string factless = log_text(log);
    const std::size_t at = factless.find("fact: note\n");
    const auto refused = read_log(factless.erase(at, 11), "log");
    REQUIRE_FALSE(refused);
    CHECK(refused.notices().front().message.find("no fact") != std::string::npos);
}
