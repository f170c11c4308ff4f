// SPDX-License-Identifier: MIT
// What it costs to log an evening of ten entries, beside ten bare SQLite commits of a row each and beside one commit of
// ten rows, in the same folder with the same care for the disk. Never a timed test.
#include <benchmark/benchmark.h>
#include <sqlite3.h>

#include <cstdlib>
#include <filesystem>
#include <random>
#include <string>

#include <tubewright/record.hpp>

namespace {

using namespace tubewright;

const Catalogue& catalogue() {
    static const Catalogue shipped = Catalogue::shipped();
    return shipped;
}

Chassis stage() {
    ChassisBuilder b("output stage");
    b.reference("gnd");
    b.node("chassis-metal", "gnd", true);
    b.socket("V4", "42");
    for (int k = 1; k <= 20; ++k) b.resistor("R" + std::to_string(k), ohms(470e3), "V4.4", "gnd");
    return *b.build(catalogue());
}

/// A folder on the disk, not in memory, where TUBEWRIGHT_SPEED_FOLDER names one.
class Folder {
  public:
    Folder() {
        const char* named = std::getenv("TUBEWRIGHT_SPEED_FOLDER");
        std::random_device any;
        path_ = (named ? std::filesystem::path(named) : std::filesystem::current_path()) /
                ("record-speed-" + std::to_string(any()));
        std::filesystem::create_directory(path_);
    }
    ~Folder() { std::filesystem::remove_all(path_); }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    std::string file() const { return (path_ / "a.db").string(); }

  private:
    std::filesystem::path path_;
};

void ten_entries(benchmark::State& state) {
    const Folder folder;
    const Chassis set = stage();
    std::string pencil;
    for (int k = 1; k <= 10; ++k) pencil += "R" + std::to_string(k) + " 412k; ";
    {
        Outcome<BenchLog> log = BenchLog::open(folder.file(), true);
        if (!log || !log->add(*read_pencil("note begin", {set, catalogue()}), "2026-11-26T20:15:00Z"))
            state.SkipWithError("the log cannot be written");
    }
    for (auto _ : state) {
        // as a command does it: opened, read, understood, written
        Outcome<BenchLog> log = BenchLog::open(folder.file(), true);
        const auto entries = read_pencil(pencil, {set, catalogue(), log->entries()});
        if (!entries || !log->add(*entries, "2026-11-26T20:15:00Z")) state.SkipWithError("not entered");
    }
}
BENCHMARK(ten_entries)->Unit(benchmark::kMillisecond)->UseRealTime()->Iterations(50);

void bare(benchmark::State& state, int commits, int rows) {
    const Folder folder;
    sqlite3* base = nullptr;
    sqlite3_open(folder.file().c_str(), &base);
    sqlite3_exec(
        base,
        "PRAGMA journal_mode=DELETE; PRAGMA synchronous=EXTRA; CREATE TABLE entry (number INTEGER PRIMARY KEY, "
        "words TEXT)",
        nullptr, nullptr, nullptr);
    for (auto _ : state)
        for (int k = 0; k < commits; ++k) {
            sqlite3_exec(base, "BEGIN", nullptr, nullptr, nullptr);
            for (int r = 0; r < rows; ++r)
                sqlite3_exec(base, "INSERT INTO entry (words) VALUES ('R7 412k')", nullptr, nullptr, nullptr);
            if (sqlite3_exec(base, "COMMIT", nullptr, nullptr, nullptr) != SQLITE_OK)
                state.SkipWithError("not committed");
        }
    sqlite3_close(base);
}
void ten_bare_commits(benchmark::State& state) {
    bare(state, 10, 1);
}
void one_bare_commit_of_ten_rows(benchmark::State& state) {
    bare(state, 1, 10);
}
BENCHMARK(ten_bare_commits)->Unit(benchmark::kMillisecond)->UseRealTime()->Iterations(50);
BENCHMARK(one_bare_commit_of_ten_rows)->Unit(benchmark::kMillisecond)->UseRealTime()->Iterations(50);

}  // namespace

BENCHMARK_MAIN();
