// SPDX-License-Identifier: MIT
// The bench log: what was done to a set, evening by evening, as facts that are only ever added. It is one file beside
// the chassis file (set.xml.bench.db). An entry is undone by a further entry; whether a reading was right is not
// stored, since that is worked out where the expectation lives.
//
//     Outcome<BenchLog> log = BenchLog::open(log_beside("set.xml"), true);
//     const auto entries = read_pencil("C9 out; C9 in .022/630; V4.3 = 235V@121V", {*set, catalogue, log->entries()});
//     if (entries && log->add(*entries, stamp)) ...   // on the disk when add() returns
//     const Study study(*set, catalogue, policy, progress_of(log->entries(), *set));
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <tubewright/catalogue.hpp>
#include <tubewright/chassis.hpp>
#include <tubewright/fault.hpp>
#include <tubewright/outcome.hpp>

namespace tubewright {

enum class LogFact {
    removed,
    lifted,
    back,      ///< put back as it was
    fitted,    ///< a new part, with what
    omitted,   ///< stays out on purpose, with the reason
    proved,    ///< measured or tested, and good
    original,  ///< is what the file says; what was said of it before does not count
    value,     ///< of a part: ohms, farads; or what it was found to be: "open"
    reading,   ///< at a pin or net
    done,      ///< a step of the plan
    stage,     ///< a stage of the power-up passed
    signed_by_hand,
    overridden,
    photo,
    note,
    renamed,  ///< a part has another id in the file now
    undo
};
/// "removed", "lifted" ... as stored.
TUBEWRIGHT_API const char* word(LogFact fact);

/// One fact. What does not go with its kind is empty.
struct LogEntry {
    int number = 0;      ///< 1, 2, 3 ... in the order of the log
    int batch = 0;       ///< entries of one command share it
    std::string at;      ///< when it was entered: UTC, "2026-11-26T20:15:00Z"
    std::string pencil;  ///< as it was written
    LogFact fact = LogFact::note;
    std::string part;   ///< id; of a reading: the pin or net; of a signature: the rule
    std::string to;     ///< of a reading: where the black clip was; renamed: the id now
    std::string was;    ///< the part as the file had it then: "capacitor .02 mfd, V3.2 to V4.4"
    std::string words;  ///< with what, why, the text; of a step or stage: what it says
    std::string quantity;
    OptionalNumber value, rated_volts, rated_watts, line_volts;  ///< SI
    std::string meter, conditions;
    int step = 0;         ///< its number on the page
    std::string step_id;  ///< what it is
    std::string acts;     ///< and does: as encode() writes it
    int plan = -1;        ///< the page: made when the log had so many entries
    std::string plan_print;
    int target = 0;  ///< of an undo
    std::string set_name, set_print;
    std::string look;  ///< what is odd of it, told as it is entered: a verdict, and not stored
};

/// An act of a step with what the shopping list has for its parts.
struct PlannedAct {
    Deed deed;
    std::map<std::string, Measured> with;
};
struct PlannedStep {
    int number = 0;
    std::string id, does;
    std::vector<PlannedAct> acts;
    bool passed = false;    ///< of a stage: by the log
    std::string shut = {};  ///< of a stage: the rules that the log does not prove, "H2, H17"
    bool again = false;     ///< may be entered more than once: a place is turned to each time
};
/// What the numbers on a page of `steps` and `powerup` stand for.
struct PlanPage {
    int entries = 0;
    std::string print;  ///< of the steps, so that a plan made otherwise is noticed
    std::vector<PlannedStep> steps, stages;
};

/// What the pencil is read beside.
struct PencilBench {
    const Chassis& chassis;
    const Catalogue& catalogue;
    std::span<const LogEntry> before = {};
    double line_volts = 0;   ///< of readings that name none
    std::string meter = {};  ///< likewise
    /// The page made after so many entries, for "done 3"; stages: with the stages, for "stage passed".
    std::function<Outcome<PlanPage>(int entries, bool stages)> page = {};
    /// What is wrong at sight with a new part of that print, in its place.
    std::function<std::string(const std::string& part, const Measured& with)> at_sight = {};
    /// The rules that acts under power would break after these entries: "H2", "H17"; tubes_in: with all tubes that such
    /// a stage runs with in their sockets.
    std::function<std::vector<std::string>(std::span<const LogEntry> before, const std::vector<PlannedAct>& acts,
                                           bool tubes_in)>
        breaks = {};
    std::string set_print = {};  ///< of the chassis file as it is now
};
/// Pencil to entries without number and time. All or none: each notice has the line and column of the word that is not
/// understood. The grammar stands at the head of record/pencil.cpp.
TUBEWRIGHT_API Outcome<std::vector<LogEntry>> read_pencil(std::string_view text, const PencilBench& bench);
/// Its first line names columns of an evening's sheet: commas or semicolons, capitals or small, a byte-order mark.
TUBEWRIGHT_API bool is_a_sheet(std::string_view text);
/// A sheet (RFC 4180) to pencil, a line a row, whatever its fields hold. With a column at (pin, net) they are readings:
/// volts, vac, ohms, ma, reading; black, line, meter, conditions. Else its columns in their order: part, state, with.
TUBEWRIGHT_API Outcome<std::string> pencil_of_sheet(std::string_view csv, const std::string& name);

/// What an entry says, in words.
TUBEWRIGHT_API std::string said(const LogEntry& entry);
/// Numbers of the entries that are undone.
TUBEWRIGHT_API std::vector<int> undone(std::span<const LogEntry> entries);
/// What is done by these entries, seen on the set as the file has it now.
TUBEWRIGHT_API Progress progress_of(std::span<const LogEntry> entries, const Chassis& chassis,
                                    const Catalogue& catalogue);

/// A print of a file's bytes, to see that it was edited (64 bits; it proves nothing against intent).
TUBEWRIGHT_API std::string print_of(std::string_view bytes);
/// "set.xml.bench.db"
TUBEWRIGHT_API std::string log_beside(const std::string& chassis_file);

/// All of a log as text, or as a sheet; read_log() takes either, and both come back byte for byte.
TUBEWRIGHT_API std::string log_text(std::span<const LogEntry> entries);
TUBEWRIGHT_API std::string log_sheet(std::span<const LogEntry> entries);
TUBEWRIGHT_API Outcome<std::vector<LogEntry>> read_log(std::string_view text, const std::string& name);
/// Why entries that come from elsewhere are not of this set, unless one of them says that it is called so now.
TUBEWRIGHT_API std::optional<Notice> of_another_set(std::span<const LogEntry> entries, const Chassis& chassis);

class TUBEWRIGHT_API BenchLog {
  public:
    /// Reads all of a log. make: one that is not there yet is empty, and is written with its first entry.
    static Outcome<BenchLog> open(const std::string& path, bool make = false);
    ~BenchLog();
    BenchLog(BenchLog&&) noexcept;
    BenchLog& operator=(BenchLog&&) noexcept;

    const std::string& path() const;
    const std::vector<LogEntry>& entries() const;
    /// Adds entries at its end, all or none, and gives them as they were written. They are on the disk when it returns;
    /// another program that writes the log meanwhile is waited for, some seconds. beside: the entries that they were
    /// read beside; where the log has others by now, nothing is added, and entries() are those.
    Outcome<std::vector<LogEntry>> add(std::vector<LogEntry> entries, const std::string& at,
                                       std::optional<std::size_t> beside = {});
    /// What add() says then.
    static bool has_moved(const std::vector<Notice>& why);
    /// Takes over another log with its numbers and times, where this one is empty or begins the same; the number added.
    Outcome<int> take_over(const std::vector<LogEntry>& entries);

  private:
    struct Store;
    explicit BenchLog(std::unique_ptr<Store> store);
    std::unique_ptr<Store> store_;
};

}  // namespace tubewright
