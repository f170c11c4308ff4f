// SPDX-License-Identifier: MIT
// The file of the log: one file, only ever added to, all or none, whoever writes beside.
#include <sqlite3.h>

#include <fstream>
#include <thread>

#include "bench_set.hpp"

using namespace bench_set;

namespace {

constexpr const char* evening = "2026-11-26T20:15:00Z";

std::vector<LogEntry> notes(int count, const std::string& text = "note") {
    std::vector<LogEntry> list(static_cast<std::size_t>(count));
    for (LogEntry& entry : list) entry.words = entry.pencil = text;
    return list;
}

int run(const std::string& path, const char* sql) {
    sqlite3* base = nullptr;
    sqlite3_open(path.c_str(), &base);
    const int code = sqlite3_exec(base, sql, nullptr, nullptr, nullptr);
    sqlite3_close(base);
    return code;
}

}  // namespace

TEST_CASE("a log is made with its first entry, and never by looking") {
    const Folder folder;
    const std::string path = folder.file("set.xml.bench.db");
    CHECK_FALSE(BenchLog::open(path));
    Outcome<BenchLog> log = BenchLog::open(path, true);
    REQUIRE(log);
    CHECK(log->entries().empty());
    CHECK(folder.files() == 0);
    REQUIRE(log->add(notes(2), evening));
    CHECK(folder.files() == 1);  // no journal is left at rest
    const Outcome<BenchLog> again = BenchLog::open(path);
    REQUIRE(again);
    REQUIRE(again->entries().size() == 2);
    CHECK(again->entries()[1].number == 2);
    CHECK(again->entries()[1].batch == 1);
    CHECK(again->entries()[1].at == evening);
}

TEST_CASE("entries cannot be changed or deleted in the file, whoever asks") {
    const Folder folder;
    const std::string path = folder.file("a.db");
    Outcome<BenchLog> log = BenchLog::open(path, true);
    REQUIRE(log->add(notes(3), evening));
    CHECK(run(path, "DELETE FROM entry WHERE number = 2") == SQLITE_CONSTRAINT);
    CHECK(run(path, "UPDATE entry SET words = 'else' WHERE number = 2") == SQLITE_CONSTRAINT);
    CHECK(BenchLog::open(path)->entries().size() == 3);
}

TEST_CASE("two that write at once are both kept, each with numbers of its own") {
    const Folder folder;
    const std::string path = folder.file("a.db");
    const auto write = [&](const std::string& who) {
        for (int k = 0; k < 20; ++k) {
            Outcome<BenchLog> log = BenchLog::open(path, true);
            if (!log || !log->add(notes(2, who), evening)) return;
        }
    };
    std::thread one(write, "one"), two(write, "two");
    one.join();
    two.join();
    const Outcome<BenchLog> log = BenchLog::open(path);
    REQUIRE(log);
    REQUIRE(log->entries().size() == 80);
    for (int k = 0; k < 80; k += 2) {
        const LogEntry &first = log->entries()[static_cast<std::size_t>(k)],
                       &second = log->entries()[static_cast<std::size_t>(k) + 1];
        CHECK(first.number == k + 1);
        CHECK(first.words == second.words);  // a command stands together
        CHECK(first.batch == second.batch);
    }
}

TEST_CASE("what was read beside a log that has moved since is not entered, and the log is the newer one") {
    const Folder folder;
    const std::string path = folder.file("a.db");
    Outcome<BenchLog> mine = BenchLog::open(path, true), other = BenchLog::open(path, true);
    REQUIRE(other->add(notes(1, "other"), evening, 0));
    const auto late = mine->add(notes(1, "mine"), evening, 0);
    REQUIRE_FALSE(late);
    CHECK(BenchLog::has_moved(late.notices()));
    REQUIRE(mine->entries().size() == 1);
    REQUIRE(mine->add(notes(1, "mine"), evening, mine->entries().size()));
    CHECK(BenchLog::open(path)->entries().size() == 2);
}

TEST_CASE("another that holds the log for long is told of, and nothing is entered") {
    const Folder folder;
    const std::string path = folder.file("a.db");
    Outcome<BenchLog> log = BenchLog::open(path, true);
    REQUIRE(log->add(notes(1), evening));
    sqlite3* other = nullptr;
    REQUIRE(sqlite3_open(path.c_str(), &other) == SQLITE_OK);
    REQUIRE(sqlite3_exec(other, "BEGIN IMMEDIATE", nullptr, nullptr, nullptr) == SQLITE_OK);
    const auto refused = log->add(notes(1), evening);
    REQUIRE_FALSE(refused);
    CHECK(refused.notices().front().number == 1505);
    CHECK(refused.notices().front().message.find("nothing was entered") != std::string::npos);
    sqlite3_exec(other, "ROLLBACK", nullptr, nullptr, nullptr);
    sqlite3_close(other);
    CHECK(log->add(notes(1), evening));
    CHECK(BenchLog::open(path)->entries().size() == 2);
}

TEST_CASE("a file that is no bench log is left as it is") {
    const Folder folder;
    const auto refused = [&](const std::string& name) {
        const Outcome<BenchLog> log = BenchLog::open(folder.file(name), true);
        REQUIRE_FALSE(log);
        return log.notices().front().number;
    };
    std::ofstream(folder.file("text.db")) << "an evening's shopping\n" << std::string(600, 'x');
    CHECK(refused("text.db") == 1503);
    REQUIRE(run(folder.file("other.db"), "CREATE TABLE entry (number INTEGER)") == SQLITE_OK);
    CHECK(refused("other.db") == 1503);
    Outcome<BenchLog> log = BenchLog::open(folder.file("later.db"), true);
    REQUIRE(log->add(notes(1), evening));
    REQUIRE(run(folder.file("later.db"), "PRAGMA user_version = 99") == SQLITE_OK);
    CHECK(refused("later.db") == 1504);
    std::filesystem::create_directory(folder.file("folder.db"));
    CHECK(refused("folder.db") == 1502);
    // one that was made and killed before its first entry is an empty log
    std::ofstream(folder.file("empty.db"));
    CHECK(BenchLog::open(folder.file("empty.db"))->entries().empty());
}

TEST_CASE("a damaged log is told of and kept") {
    const Folder folder;
    const std::string path = folder.file("a.db");
    {
        Outcome<BenchLog> log = BenchLog::open(path, true);
        REQUIRE(log->add(notes(400, std::string(90, 'n')), evening));
    }
    std::fstream file(path, std::ios::in | std::ios::out | std::ios::binary);
    file.seekp(4096);
    file << std::string(20000, '\xee');
    file.close();
    const Outcome<BenchLog> log = BenchLog::open(path, true);
    REQUIRE_FALSE(log);
    CHECK(log.notices().front().number == 1507);
}

TEST_CASE("a log that was cut within a page is told of, and so is an entry without its fact") {
    const Folder folder;
    const std::string path = folder.file("a.db");
    {
        Outcome<BenchLog> log = BenchLog::open(path, true);
        REQUIRE(log->add(notes(3), evening));
    }
    const std::uintmax_t whole = std::filesystem::file_size(path);
    for (const std::uintmax_t cut : {whole - 1, whole - 1000, whole - 4000}) {
        const std::string shorter = folder.file("cut.db");
        std::filesystem::copy_file(path, shorter, std::filesystem::copy_options::overwrite_existing);
        std::filesystem::resize_file(shorter, cut);
        INFO(cut);
        const Outcome<BenchLog> log = BenchLog::open(shorter, true);
        REQUIRE_FALSE(log);
        CHECK(log.notices().front().number == 1507);
    }
    CHECK(BenchLog::open(path));
    REQUIRE(run(path, "INSERT INTO entry (number) VALUES (4)") == SQLITE_OK);
    CHECK_FALSE(BenchLog::open(path));
}
