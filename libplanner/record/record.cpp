// SPDX-License-Identifier: MIT
// The file of the log, the one place that sees SQLite. One table, to which rows are only ever added: triggers refuse
// every change and every deletion, whoever asks. A rollback journal, not a write-ahead log: at rest the log is one file
// that can be copied, and it can be read in a folder that cannot be written. synchronous=EXTRA: the journal's going is
// on the disk too, so that a power cut after the answer does not bring it back and undo the evening (SQLite
// documentation, PRAGMA synchronous). All entries of a command are one transaction; add() returns when it is on the
// disk. A program that was killed in the middle leaves its journal, and whoever opens the log next takes the half-done
// part back. Tests: tests/record/store_test.cpp, tests/record/program_test.py.
#include <sqlite3.h>

#include <filesystem>
#include <system_error>

#include "record/fields.hpp"
#include "record/numbers.hpp"

namespace tubewright {
namespace {

using namespace record;

constexpr int application = 0x54574c47;  // "TWLG"
constexpr int version = 1;
constexpr int patience_milliseconds = 10000;

Notice trouble(int number, const std::string& path, std::string message, std::string remedy) {
    Notice notice;
    notice.number = number;
    notice.place.file = path;
    notice.message = std::move(message);
    notice.remedy = std::move(remedy);
    return notice;
}

struct Closer {
    void operator()(sqlite3* base) const { sqlite3_close_v2(base); }
    void operator()(sqlite3_stmt* statement) const { sqlite3_finalize(statement); }
};
using Base = std::unique_ptr<sqlite3, Closer>;
using Statement = std::unique_ptr<sqlite3_stmt, Closer>;

std::string reason_of(sqlite3* base, int code) {
    const int error = base == nullptr ? 0 : sqlite3_system_errno(base);
    if (error != 0 && (code & 0xff) != SQLITE_FULL && (code & 0xff) != SQLITE_CORRUPT)
        return std::error_code(error, std::generic_category()).message();
    return sqlite3_errstr(code);
}

/// A folder that is there and may not be written is told as that, not as a file that is missing.
std::string why_no_file(sqlite3* base, int code, const std::string& path) {
    namespace fs = std::filesystem;
    std::error_code unknown;
    const fs::path folder = fs::path(path).has_parent_path() ? fs::path(path).parent_path() : fs::path(".");
    if (fs::is_directory(folder, unknown) && !fs::exists(path, unknown)) return "its folder may not be written";
    return reason_of(base, code);
}

/// What went wrong, in words for the bench; writing: nothing of the command was entered.
Notice why_not(sqlite3* base, int code, const std::string& path, bool writing) {
    const std::string kept = writing ? "nothing was entered; " : "";
    switch (code & 0xff) {
        case SQLITE_BUSY:
        case SQLITE_LOCKED:
            return trouble(messages::log_busy, path, kept + "another program has held the log for ten seconds",
                           "let it finish, then enter the line again");
        case SQLITE_FULL:
            return trouble(messages::log_not_written, path, kept + "there is no room on the disk",
                           "make room, then enter the line again; what was there is safe");
        case SQLITE_READONLY:
        case SQLITE_PERM:
            return trouble(messages::log_not_written, path,
                           kept + (writing ? "the log or its folder cannot be written"
                                           : "it was left half written, and its folder cannot be written now"),
                           "have the folder made writable, or name another log with --log FILE");
        case SQLITE_CANTOPEN:
            return writing ? trouble(messages::log_not_written, path,
                                     kept + "the log cannot be written there (" + why_no_file(base, code, path) + ")",
                                     "is the folder there, and may it be written? --log FILE names another")
                           : trouble(messages::log_not_opened, path,
                                     "the log cannot be opened (" + reason_of(base, code) + ")",
                                     "is the folder there, and may it be read? --log FILE names another");
        case SQLITE_NOTADB:
            return trouble(messages::log_foreign, path, "this is no bench log", "--log FILE names another");
        case SQLITE_CORRUPT:
            return trouble(messages::log_damaged, path, kept + "the log is damaged",
                           "keep the file as it is; begin another with --log FILE and --import the last export");
        default:
            return trouble(
                writing ? messages::log_not_written : messages::log_not_opened, path,
                kept + "the log cannot be " + (writing ? "written" : "read") + " (" + reason_of(base, code) + ")",
                "what was there before is safe");
    }
}

const char* kind_of(const Field& field) {
    if (std::holds_alternative<int LogEntry::*>(field.member)) return "INTEGER";
    return std::holds_alternative<OptionalNumber LogEntry::*>(field.member) ? "REAL" : "TEXT";
}

std::string list_of(std::string_view between, bool with_kinds, bool marks) {
    std::string list;
    for (const Field& field : fields()) {
        if (!list.empty()) list += between;
        list += marks ? std::string("?") : std::string(field.name);
        if (with_kinds) list += std::string(" ") + (field.name == "number" ? "INTEGER PRIMARY KEY" : kind_of(field));
    }
    return list;
}

}  // namespace

struct BenchLog::Store {
    std::string path;
    Base base;
    std::vector<LogEntry> entries;
    bool made = false;  ///< has its table

    int run(const char* sql) const { return sqlite3_exec(base.get(), sql, nullptr, nullptr, nullptr); }

    int number(const char* sql, int& into) const {
        sqlite3_stmt* made_here = nullptr;
        int code = sqlite3_prepare_v2(base.get(), sql, -1, &made_here, nullptr);
        const Statement statement(made_here);
        if (code != SQLITE_OK) return code;
        code = sqlite3_step(made_here);
        if (code != SQLITE_ROW) return code == SQLITE_DONE ? SQLITE_CORRUPT : code;
        into = sqlite3_column_int(made_here, 0);
        return SQLITE_OK;
    }

    /// 0 when it is opened; the file is made at the first write, never by looking.
    int connect(bool make) {
        if (base) return SQLITE_OK;
        sqlite3* opened = nullptr;
        // "file:" would be read as an address
        const std::string name = path.starts_with("file:") ? "./" + path : path;
        const int code =
            sqlite3_open_v2(name.c_str(), &opened, SQLITE_OPEN_READWRITE | (make ? SQLITE_OPEN_CREATE : 0), nullptr);
        base.reset(opened);
        if (code != SQLITE_OK) return code;
        sqlite3_extended_result_codes(opened, 1);
        sqlite3_busy_timeout(opened, patience_milliseconds);
        return run("PRAGMA journal_mode=DELETE; PRAGMA synchronous=EXTRA; PRAGMA trusted_schema=OFF;");
    }

    Outcome<bool> check() {
        int id = 0, its_version = 0, tables = 0;
        int code = number("PRAGMA application_id", id);
        if (code == SQLITE_OK) code = number("PRAGMA user_version", its_version);
        if (code == SQLITE_OK) code = number("SELECT count(*) FROM sqlite_schema", tables);
        if (code != SQLITE_OK) return why_not(base.get(), code, path, false);
        if (tables == 0 && id == 0 && its_version == 0) return true;  // killed before its first entry
        if (id != application)
            return trouble(messages::log_foreign, path, "this is a database, but no bench log",
                           "--log FILE names another");
        if (its_version > version)
            return trouble(messages::log_newer, path,
                           "the log was written by a later version (" + std::to_string(its_version) + ")",
                           "use that version, or have it --export the log");
        if (!is_whole()) return why_not(base.get(), SQLITE_CORRUPT, path, false);
        made = true;
        return true;
    }
    /// A file that was cut within a page still opens: its own check of itself finds it, and so does its length.
    bool is_whole() {
        sqlite3_stmt* made_here = nullptr;
        if (sqlite3_prepare_v2(base.get(), "PRAGMA quick_check(1)", -1, &made_here, nullptr) != SQLITE_OK) return false;
        const Statement statement(made_here);
        if (sqlite3_step(made_here) != SQLITE_ROW) return false;
        const auto* said = reinterpret_cast<const char*>(sqlite3_column_text(made_here, 0));
        if (said == nullptr || std::string_view(said) != "ok") return false;
        int pages = 0, page_bytes = 0;
        if (number("PRAGMA page_count", pages) != SQLITE_OK || number("PRAGMA page_size", page_bytes) != SQLITE_OK)
            return false;
        std::error_code unknown;
        const std::uintmax_t bytes = std::filesystem::file_size(path, unknown);
        return static_cast<bool>(unknown) ||
               bytes >= static_cast<std::uintmax_t>(pages) * static_cast<std::uintmax_t>(page_bytes);
    }

    int read() {
        entries.clear();
        if (!made) return SQLITE_OK;
        sqlite3_stmt* here = nullptr;
        const std::string sql = "SELECT " + list_of(", ", false, false) + " FROM entry ORDER BY number";
        int code = sqlite3_prepare_v2(base.get(), sql.c_str(), -1, &here, nullptr);
        const Statement statement(here);
        if (code != SQLITE_OK) return code;
        while ((code = sqlite3_step(here)) == SQLITE_ROW) {
            LogEntry entry;
            bool has_fact = false;
            for (std::size_t k = 0; k < fields().size(); ++k) {
                const int column = static_cast<int>(k);
                if (sqlite3_column_type(here, column) == SQLITE_NULL) continue;
                const Field& field = fields()[k];
                has_fact = has_fact || field.name == "fact";
                if (const auto* into = std::get_if<OptionalNumber LogEntry::*>(&field.member)) {
                    entry.** into = sqlite3_column_double(here, column);
                } else if (const auto* whole = std::get_if<int LogEntry::*>(&field.member)) {
                    entry.** whole = sqlite3_column_int(here, column);
                } else {
                    const auto* text = reinterpret_cast<const char*>(sqlite3_column_text(here, column));
                    const auto size = static_cast<std::size_t>(sqlite3_column_bytes(here, column));
                    if (text != nullptr && !set(entry, field, {text, size})) return SQLITE_CORRUPT;
                }
            }
            if (!has_fact || entry.at.empty()) return SQLITE_CORRUPT;  // no entry was ever made so
            entries.push_back(std::move(entry));
        }
        return code == SQLITE_DONE ? SQLITE_OK : code;
    }

    int make_table() const {
        const std::string sql = "CREATE TABLE entry (" + list_of(", ", true, false) +
                                ") STRICT;"
                                "CREATE TRIGGER entry_stays BEFORE UPDATE ON entry BEGIN SELECT RAISE(ABORT, 'entries "
                                "are never changed'); END;"
                                "CREATE TRIGGER entry_is_kept BEFORE DELETE ON entry BEGIN SELECT RAISE(ABORT, "
                                "'entries are never deleted'); END;"
                                "PRAGMA application_id=" +
                                std::to_string(application) + "; PRAGMA user_version=" + std::to_string(version) + ";";
        return run(sql.c_str());
    }

    int insert(const std::vector<LogEntry>& rows) const {
        sqlite3_stmt* here = nullptr;
        const std::string sql =
            "INSERT INTO entry (" + list_of(", ", false, false) + ") VALUES (" + list_of(", ", false, true) + ")";
        int code = sqlite3_prepare_v2(base.get(), sql.c_str(), -1, &here, nullptr);
        const Statement statement(here);
        if (code != SQLITE_OK) return code;
        for (const LogEntry& row : rows) {
            for (std::size_t k = 0; k < fields().size(); ++k) {
                const int at = static_cast<int>(k) + 1;
                const Field& field = fields()[k];
                const std::string text = text_of(row, field);
                if (text.empty()) {
                    sqlite3_bind_null(here, at);
                } else if (const auto* from = std::get_if<OptionalNumber LogEntry::*>(&field.member)) {
                    sqlite3_bind_double(here, at, *(row.**from));
                } else if (const auto* whole = std::get_if<int LogEntry::*>(&field.member)) {
                    sqlite3_bind_int(here, at, row.**whole);
                } else {
                    sqlite3_bind_text(here, at, text.data(), static_cast<int>(text.size()), SQLITE_TRANSIENT);
                }
            }
            code = sqlite3_step(here);
            if (code != SQLITE_DONE) return code;
            sqlite3_reset(here);
        }
        return SQLITE_OK;
    }

    /// In one transaction: what `rows` makes of the log as it is by then.
    template <class Rows>
    Outcome<std::vector<LogEntry>> write(Rows rows) {
        int code = connect(true);
        if (code == SQLITE_OK) code = run("BEGIN IMMEDIATE");
        if (code != SQLITE_OK) return why_not(base.get(), code, path, true);
        Outcome<std::vector<LogEntry>> added;
        if (const Outcome<bool> ours = check(); !ours) {
            added = ours.notices();
        } else {
            if (!made) code = make_table();
            made = made || code == SQLITE_OK;
            if (code == SQLITE_OK) code = read();
            if (code == SQLITE_OK) added = rows(entries);
            if (code == SQLITE_OK && added) code = insert(*added);
            if (code == SQLITE_OK && added) code = run("COMMIT");
            if (code != SQLITE_OK) added = why_not(base.get(), code, path, true);
        }
        if (!added) {
            run("ROLLBACK");
            made = false;
            const Outcome<bool> again = check();
            if (again) read();
            return added;
        }
        entries.insert(entries.end(), added->begin(), added->end());
        return added;
    }
};

BenchLog::BenchLog(std::unique_ptr<Store> store) : store_(std::move(store)) {}
BenchLog::~BenchLog() = default;
BenchLog::BenchLog(BenchLog&&) noexcept = default;
BenchLog& BenchLog::operator=(BenchLog&&) noexcept = default;

Outcome<BenchLog> BenchLog::open(const std::string& path, bool make) {
    auto store = std::make_unique<Store>();
    store->path = path;
    std::error_code unknown;
    const bool there = std::filesystem::exists(path, unknown);
    if (there && std::filesystem::is_directory(path, unknown))
        return trouble(messages::log_not_opened, path, "this is a folder, not a bench log", "--log FILE names another");
    if (!there && !make)
        return trouble(messages::log_not_there, path, "there is no such log", "tubewright log FILE \"...\" begins one");
    if (there) {
        int code = store->connect(false);
        if (code == SQLITE_OK) code = store->run("BEGIN");
        if (code != SQLITE_OK) return why_not(store->base.get(), code, path, false);
        const Outcome<bool> ours = store->check();
        if (!ours) return ours.notices();
        code = store->read();
        if (code == SQLITE_OK) code = store->run("COMMIT");
        if (code != SQLITE_OK) return why_not(store->base.get(), code, path, false);
    }
    return BenchLog(std::move(store));
}

const std::string& BenchLog::path() const {
    return store_->path;
}
const std::vector<LogEntry>& BenchLog::entries() const {
    return store_->entries;
}

bool BenchLog::has_moved(const std::vector<Notice>& why) {
    return why.size() == 1 && why.front().number == messages::log_moved;
}

Outcome<std::vector<LogEntry>> BenchLog::add(std::vector<LogEntry> entries, const std::string& at,
                                             std::optional<std::size_t> beside) {
    return store_->write([&](const std::vector<LogEntry>& before) -> Outcome<std::vector<LogEntry>> {
        if (beside && before.size() != *beside)
            return trouble(messages::log_moved, store_->path,
                           "nothing was entered; another program made entries in the log meanwhile",
                           "enter the line again, beside what the log says now");
        int number = before.empty() ? 0 : before.back().number;
        const int batch = before.empty() ? 1 : before.back().batch + 1;
        for (LogEntry& entry : entries) {
            entry.number = ++number;
            entry.batch = batch;
            entry.at = at;
        }
        return std::move(entries);
    });
}

Outcome<int> BenchLog::take_over(const std::vector<LogEntry>& entries) {
    const auto added = store_->write([&](const std::vector<LogEntry>& before) -> Outcome<std::vector<LogEntry>> {
        for (std::size_t k = 0; k < before.size(); ++k)
            for (const Field& field : fields())
                if (k >= entries.size() || text_of(before[k], field) != text_of(entries[k], field))
                    return trouble(messages::import_differs, store_->path,
                                   "nothing was taken over; this log has entries of its own from entry " +
                                       std::to_string(before[k].number) + " on",
                                   "take it over into a new log with --log FILE");
        return std::vector<LogEntry>(entries.begin() + static_cast<std::ptrdiff_t>(before.size()), entries.end());
    });
    if (!added) return added.notices();
    return static_cast<int>(added->size());
}

}  // namespace tubewright
