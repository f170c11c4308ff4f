// SPDX-License-Identifier: MIT
#include "run.hpp"

#include <fmt/format.h>
#include <poll.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <map>
#include <optional>
#include <span>
#include <string_view>

#include <tubewright/tubewright.hpp>

#include "command_line.hpp"
#include "output.hpp"

namespace tubewright::cli {
namespace {

constexpr std::size_t errors_printed = 20;

int status(Exit exit) {
    return static_cast<int>(exit);
}

void say_error(std::string_view text) {
    fmt::print(stderr, "{}\n", text);
}

int wrong_usage(std::string_view message) {
    say_error(fmt::format("tubewright: {}", message));
    say_error("try 'tubewright --help'");
    return status(Exit::usage);
}

bool wants_colour(const Request& request) {
    if (request.report.format != Format::text || request.colour == Colour::never) return false;
    if (request.colour == Colour::always) return true;
    const char* refused = std::getenv("NO_COLOR");
    const char* terminal = std::getenv("TERM");
    if (refused != nullptr && *refused != '\0') return false;
    if (terminal == nullptr || std::string_view(terminal) == "dumb") return false;
    return (request.output.empty() || request.output == "-") && isatty(STDOUT_FILENO) == 1;
}

int put(const Request& request, std::string_view text, Exit exit) {
    const bool to_file = !request.output.empty() && request.output != "-";
    const auto failed = to_file ? write_whole_file(request.output, text) : write_standard_output(text);
    if (failed) {
        say_error(
            fmt::format("tubewright: cannot write {}: {}", to_file ? request.output : "standard output", *failed));
        return status(Exit::fault);
    }
    return status(exit);
}

Exit exit_of(const Answer& answer) {
    if (answer.refused) return Exit::no_solution;
    return answer.must_stop ? Exit::must_stop : Exit::answered;
}

void print_errors(const std::vector<Notice>& notices) {
    std::size_t printed = 0, errors = 0;
    for (const Notice& notice : notices) {
        if (notice.severity != Severity::error) continue;
        ++errors;
        if (printed < errors_printed) {
            say_error(notice.text());
            ++printed;
        }
    }
    if (errors > printed) say_error(fmt::format("and {} more; {} errors in all", errors - printed, errors));
}

int answer_tube(Request request) {
    const Catalogue catalogue = Catalogue::shipped();
    const TubeType* type = catalogue.tube(request.operand);
    if (type == nullptr) {
        std::string message = fmt::format("the catalogue has no tube \"{}\"", request.operand.substr(0, 40));
        const std::vector<std::string> near = catalogue.nearest_tubes(request.operand);
        for (std::size_t i = 0; i < near.size(); ++i) message += (i == 0 ? "; nearest: " : ", ") + near[i];
        return wrong_usage(message);
    }
    const Outcome<TubeModel> derived = tube_model(*type, catalogue);
    TubeModel model;
    if (derived) {
        model = *derived;
        hold_out(model, catalogue);
    } else {
        model.type = type->type;
        model.row = type;
        for (const Notice& why : derived.notices())
            model.assumptions.push_back({type->type, "no constants", why.message, why.remedy, "", ""});
    }
    if (!request.at.empty() && !model.sections.empty()) {
        if (const std::string wrong = point_complaint(request.at, model); !wrong.empty())
            return wrong_usage("--at: " + wrong);
    }
    const Answer answer = report_tube(model, request.at, request.report);
    return put(request, answer.text, exit_of(answer));
}

/// A chassis file begins with a mark of XML; everything else is a sheet.
bool looks_like_xml(std::string_view text) {
    if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
    const std::size_t first = text.find_first_not_of(" \t\r\n");
    return first != std::string_view::npos && text[first] == '<';
}

int answer_sheet(const Request& request) {
    const Outcome<std::string> text = read_text(request.operand);
    if (!text) {
        print_errors(text.notices());
        return status(Exit::input);
    }
    const Catalogue catalogue = Catalogue::shipped();
    const std::string name = request.operand == "-" ? "standard input" : request.operand;
    const Outcome<std::string> made =
        looks_like_xml(*text) ? sheet_of_chassis(*text, name, catalogue) : chassis_of_sheet(*text, name, catalogue);
    if (!made) {
        print_errors(made.notices());
        return status(Exit::input);
    }
    return put(request, *made, Exit::answered);
}

/// One of the words, asked on the terminal until it is said; empty when the input ends or nothing is typed.
std::string ask(std::string_view question, const std::vector<std::string_view>& words) {
    while (true) {
        fmt::print(stderr, "{}\n  {}; Enter alone where it is not known > ", question, fmt::join(words, ", "));
        std::fflush(stderr);
        std::string line;
        for (int c = std::getchar(); c != EOF && c != '\n'; c = std::getchar()) line += static_cast<char>(c);
        if (line.empty()) return {};
        for (const std::string_view word : words)
            if (word == line || (line.size() == 1 && word.front() == line.front())) return std::string(word);
        fmt::print(stderr, "one of those words, please\n");
    }
}

int answer_start(Request request) {
    // what stands there is the work of an evening, perhaps
    if (!request.output.empty() && request.output != "-" && !request.force && regular_file(request.output))
        return wrong_usage(
            fmt::format("--output {} is there already; another name, or --force to write over it", request.output));
    const bool terminal = isatty(STDIN_FILENO) == 1 && isatty(STDERR_FILENO) == 1;
    if (terminal && request.start.metal == MetalIs::not_said && request.operand != "vehicle" &&
        request.operand != "battery") {
        say_error("Plug out, switch on, an ohmmeter from each blade in turn to the bare chassis metal:");
        const std::string metal =
            ask("about zero ohms on one of them, the ohms of a resistor, or no reading (a capacitor alone)?",
                {"zero", "resistor", "open"});
        request.start.metal = metal == "zero"   ? MetalIs::on_the_line
                              : metal == "open" ? MetalIs::apart
                                                : MetalIs::not_said;
        if (metal == "resistor") request.start.metal = MetalIs::behind_parts;
    }
    if (terminal && !request.can_said) {
        request.start.can_insulated =
            ask("Does the can of the filter stand on a fibre wafer or in a sleeve, off the metal?", {"yes", "no"}) ==
            "yes";
    }
    const Outcome<std::string> made = starter_file(request.operand, request.start);
    if (!made) {
        const Notice& why = made.notices().front();
        return wrong_usage(why.message + (why.remedy.empty() ? "" : "; " + why.remedy));
    }
    if (!request.quiet)
        for (const Notice& note : made.notices()) say_error(note.message);
    return put(request, *made, Exit::answered);
}

int answer_line_up(const Request& request) {
    const Catalogue catalogue = Catalogue::shipped();
    const Outcome<LineUp> made = line_up_of(request.tubes, request.label, request.year, catalogue);
    if (!made) {
        std::string text;
        for (const Notice& why : made.notices())
            text += (text.empty() ? "" : "; ") + why.message + (why.remedy.empty() ? "" : " (" + why.remedy + ")");
        return wrong_usage(text);
    }
    const Answer answer = report_line_up(*made, request.report);
    return put(request, answer.text, exit_of(answer));
}

std::string now_utc() {
    const std::time_t seconds = std::chrono::system_clock::to_time_t(std::chrono::system_clock::now());
    std::tm parts{};
    gmtime_r(&seconds, &parts);
    return fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}Z", parts.tm_year + 1900, parts.tm_mon + 1, parts.tm_mday,
                       parts.tm_hour, parts.tm_min, parts.tm_sec);
}

std::string log_path(const Request& request) {
    return request.log.empty() ? log_beside(request.operand) : request.log;
}

/// What the log says of the set; nothing is said where there is none.
Progress progress_by(const BenchLog& log, const Chassis& chassis, const Catalogue& catalogue, const std::string& print,
                     std::size_t entries) {
    Progress progress = progress_of(std::span(log.entries()).first(entries), chassis, catalogue);
    progress.log.file = log.path();
    progress.log.edited = entries > 0 && !print.empty() && log.entries()[entries - 1].set_print != print;
    return progress;
}

/// A log that lies beside the file, or that was named: opened, where the command goes by it.
Outcome<std::optional<BenchLog>> log_of(const Request& request) {
    static constexpr std::array<std::string_view, 8> readers{"audit",   "survey", "volts", "stress",
                                                             "threats", "steps",  "shop",  "powerup"};
    const bool reads = std::find(readers.begin(), readers.end(), request.command) != readers.end();
    const bool beside = request.operand != "-" && std::filesystem::exists(log_beside(request.operand));
    if (!reads || request.no_log || !request.against.empty() || (request.log.empty() && !beside))
        return std::optional<BenchLog>();
    Outcome<BenchLog> opened = BenchLog::open(log_path(request));
    if (!opened) return opened.notices();
    return std::optional<BenchLog>(std::move(*opened));
}

std::string print_of_file(const std::string& path);

/// Where the file's own log is missing: one in its folder whose chassis file is gone, and which is of the same set.
std::optional<std::string> log_left_behind(const Request& request, const Chassis& chassis) {
    namespace fs = std::filesystem;
    static constexpr std::string_view ending = ".bench.db";
    std::error_code unknown;
    if (request.no_log || !request.log.empty() || request.operand == "-" ||
        fs::exists(log_beside(request.operand), unknown))
        return std::nullopt;
    const std::string print = print_of_file(request.operand);
    const fs::path parent = fs::path(request.operand).parent_path();
    std::vector<std::string> found;
    for (fs::directory_iterator at(parent.empty() ? fs::path(".") : parent, unknown), end; !unknown && at != end;
         at.increment(unknown)) {
        const std::string name = at->path().filename().string();
        if (!name.ends_with(ending) || !at->is_regular_file(unknown)) continue;
        const fs::path path = parent / name;
        std::string file = path.string();
        file.resize(file.size() - ending.size());
        if (fs::exists(file, unknown)) continue;
        const Outcome<BenchLog> log = BenchLog::open(path.string());
        if (!log || log->entries().empty()) continue;
        const bool same = log->entries().back().set_print == print || !of_another_set(log->entries(), chassis);
        if (same) found.push_back(path.string());
    }
    if (found.empty()) return std::nullopt;
    return fmt::format(
        "no log lies beside {}, but {}, whose chassis file is gone, is of the same set, \"{}\"; --log {} "
        "takes it, or give it the name {}",
        request.operand, *std::min_element(found.begin(), found.end()), chassis.name(),
        *std::min_element(found.begin(), found.end()), log_beside(request.operand));
}

std::string print_of_file(const std::string& path) {
    if (path == "-") return {};
    const Outcome<std::string> bytes = read_text(path);
    return bytes ? print_of(*bytes) : std::string();
}

/// Enters what overrides a gate; false when there was a log and it could not be kept.
bool keep_overrides(const Request& request, std::optional<BenchLog>& log, const Chassis& chassis) {
    if (request.overridden.empty()) return true;
    if (!log) {
        if (!request.quiet)
            say_error("tubewright: the override is printed, but there is no log to keep it: tubewright log begins one");
        return true;
    }
    std::vector<LogEntry> entries;
    const Progress kept = progress_of(log->entries(), chassis, Catalogue::shipped());
    for (const auto& [rule, why] : request.overridden) {
        if (const auto said = kept.overrides.find(rule); said != kept.overrides.end() && said->second == why) continue;
        LogEntry entry;
        entry.fact = LogFact::overridden;
        entry.part = rule;
        entry.words = why;
        entry.pencil = "--override " + rule + "=" + why;
        entry.set_name = chassis.name();
        entry.set_print = print_of_file(request.operand);
        entries.push_back(std::move(entry));
    }
    if (entries.empty()) return true;
    const auto added = log->add(std::move(entries), now_utc());
    if (!added) print_errors(added.notices());
    return added.has_value();
}

/// Status of what a log refuses: what cannot be read is input, what cannot be written is the machine's.
int log_refused(const std::vector<Notice>& why) {
    print_errors(why);
    for (const Notice& notice : why)
        if (notice.message.starts_with("nothing was entered")) return status(Exit::fault);
    return status(Exit::input);
}

int move_log(const Request& request) {
    if (request.export_log) {
        const Outcome<BenchLog> log = BenchLog::open(log_path(request));
        if (!log) return log_refused(log.notices());
        return put(request, request.csv ? log_sheet(log->entries()) : log_text(log->entries()), Exit::answered);
    }
    const Outcome<std::string> text = read_text(request.import);
    if (!text) return log_refused(text.notices());
    const Outcome<std::vector<LogEntry>> entries =
        read_log(*text, request.import == "-" ? "standard input" : request.import);
    if (!entries) return log_refused(entries.notices());
    const Catalogue catalogue = Catalogue::shipped();
    const Outcome<Chassis> chassis = read_chassis(request.operand, catalogue);
    if (!chassis) {
        print_errors(chassis.notices());
        return status(Exit::input);
    }
    if (const std::optional<Notice> other = of_another_set(*entries, *chassis)) return log_refused({*other});
    Outcome<BenchLog> log = BenchLog::open(log_path(request), true);
    if (!log) return log_refused(log.notices());
    const Outcome<int> taken = log->take_over(*entries);
    if (!taken) return log_refused(taken.notices());
    return put(request,
               fmt::format("{} taken over; {} in {}.\n", *taken == 1 ? "1 entry" : fmt::format("{} entries", *taken),
                           log->entries().size(), log->path()),
               Exit::answered);
}

/// What is written on standard input, where something is: a pipe or a file, never a terminal or /dev/null. A pipe that
/// stays silent is waited for so long and then left, with a word.
Outcome<std::string> lines_at_hand(bool quiet) {
    constexpr int wait_ms = 2000;
    struct stat input {};
    if (fstat(STDIN_FILENO, &input) != 0 || !(S_ISFIFO(input.st_mode) || S_ISREG(input.st_mode))) return std::string();
    if (S_ISREG(input.st_mode) && lseek(STDIN_FILENO, 0, SEEK_CUR) >= input.st_size) return std::string();
    pollfd waiting{STDIN_FILENO, POLLIN, 0};
    if (S_ISFIFO(input.st_mode) && poll(&waiting, 1, wait_ms) <= 0) {
        if (!quiet) say_error("tubewright: no line came on standard input; \"-\" in place of the entries waits for it");
        return std::string();
    }
    Outcome<std::string> text = read_text("-");
    if (text && text->find_first_not_of(" \t\r\n") == std::string::npos) return std::string();
    return text;
}

/// The evening's lines: of the command line, or of standard input; empty where there are none.
Outcome<std::string> pencil_of(const Request& request) {
    if (!request.pencil.empty() && request.pencil != "-") return request.pencil;
    Outcome<std::string> text = request.pencil == "-" ? read_text("-") : lines_at_hand(request.quiet);
    if (text && is_a_sheet(*text)) return pencil_of_sheet(*text, "standard input");
    return text;
}

int answer_log(const Request& request) {
    if (request.export_log || !request.import.empty()) return move_log(request);
    const Catalogue catalogue = Catalogue::shipped();
    const Outcome<Chassis> chassis = read_chassis(request.operand, catalogue);
    if (!chassis) {
        print_errors(chassis.notices());
        return status(Exit::input);
    }
    const Outcome<std::string> pencil = pencil_of(request);
    if (!pencil) return log_refused(pencil.notices());
    const bool enters = !pencil->empty() || !request.pencil.empty();
    // a second log would know nothing of what the first has out
    if (const std::optional<std::string> left = log_left_behind(request, *chassis)) {
        say_error("tubewright: " + *left);
        return status(Exit::input);
    }
    Outcome<BenchLog> log = BenchLog::open(log_path(request), enters);
    if (!log) return log_refused(log.notices());
    const std::string print = print_of_file(request.operand);
    const auto study_of = [&](std::size_t entries) {
        return Study(*chassis, catalogue, request.policy, progress_by(*log, *chassis, catalogue, print, entries));
    };
    if (!enters) {
        const Answer answer = report_log(study_of(log->entries().size()), log->entries(), request.report);
        return put(request, answer.text, exit_of(answer));
    }
    // read again where another program made entries between the reading and the writing
    constexpr int tries = 50;
    Outcome<std::vector<LogEntry>> added;
    for (int tried = 0; tried < tries && !added && (tried == 0 || BenchLog::has_moved(added.notices())); ++tried) {
        PencilBench bench{*chassis, catalogue, log->entries(), request.policy.line.volts.value(), request.meter_words,
                          {}};
        bench.set_print = print;
        look_along(bench, request.policy);
        bench.page = [&](int entries, bool stages) {
            return page_of(study_of(static_cast<std::size_t>(entries)), stages, request.report.steps);
        };
        Outcome<std::vector<LogEntry>> entries = read_pencil(*pencil, bench);
        if (!entries) {
            fmt::print(stderr, "{}", refused_pencil(*pencil, entries.notices()));
            return status(Exit::input);
        }
        for (LogEntry& entry : *entries) {
            entry.set_name = chassis->name();
            entry.set_print = print;
        }
        added = log->add(std::move(*entries), now_utc(), log->entries().size());
    }
    if (!added) return log_refused(added.notices());
    const Study after = study_of(log->entries().size());
    const Answer answer = request.report.format == Format::json ? report_log(after, log->entries(), request.report)
                                                                : report_entered(after, *added, request.report);
    const int printed = put(request, answer.text, Exit::answered);
    if (printed == status(Exit::fault))
        say_error(fmt::format("tubewright: the entries ARE kept, in {}: enter none of them again", log->path()));
    return printed;
}

int answer_chassis(Request request) {
    using Report = Answer (*)(const Study&, const ReportOptions&);
    static const std::map<std::string_view, Report> reports{{"audit", report_audit},     {"survey", report_survey},
                                                            {"volts", report_volts},     {"stress", report_stress},
                                                            {"threats", report_threats}, {"steps", report_steps},
                                                            {"shop", report_shop},       {"powerup", report_power_up},
                                                            {"model", report_model},     {"windings", report_windings}};
    Catalogue catalogue = Catalogue::shipped();
    if (!request.prices.empty()) {
        const Outcome<std::string> sheet = read_text(request.prices);
        const Outcome<Catalogue> mine =
            sheet ? catalogue.with_prices(*sheet, request.prices) : Outcome<Catalogue>(sheet.notices());
        if (!mine) {
            print_errors(mine.notices());
            return status(Exit::input);
        }
        catalogue = *mine;
    }
    const Outcome<Chassis> chassis = read_chassis(request.operand, catalogue);
    if (!chassis) {
        print_errors(chassis.notices());
        return status(Exit::input);
    }
    if (!request.report.scenario.empty()) {
        const Outcome<Condition> condition = Condition::parse(request.report.scenario);
        const int part = condition && !condition->tube.empty() ? chassis->part(condition->tube) : 0;
        const bool lamp = condition && condition->scenario == Scenario::dial_lamp_out;
        if (part < 0 ||
            (condition && !condition->tube.empty() &&
             chassis->parts()[static_cast<std::size_t>(part)].kind != (lamp ? PartKind::lamp : PartKind::socket)))
            return wrong_usage(fmt::format("--scenario {}: {} has no {} {}", request.report.scenario, request.operand,
                                           lamp ? "lamp" : "socket", condition->tube));
    }
    Outcome<Chassis> other;
    if (!request.against.empty()) {
        other = read_chassis(request.against, catalogue);
        if (!other) {
            print_errors(other.notices());
            return status(Exit::input);
        }
    }
    Outcome<std::optional<BenchLog>> log = log_of(request);
    if (!log) return log_refused(log.notices());
    if (const std::optional<std::string> left = log_left_behind(request, *chassis); left && !request.quiet)
        say_error("tubewright: " + *left);
    if (!keep_overrides(request, *log, *chassis)) return status(Exit::fault);
    Progress progress;
    if (*log)
        progress = progress_by(**log, *chassis, catalogue, print_of_file(request.operand), (*log)->entries().size());
    for (const auto& [rule, why] : request.overridden) progress.overrides[rule] = why;
    constexpr std::size_t large = 300;  // parts: some minutes where every fault is solved
    const bool every_fault = request.command == "threats" || request.command == "steps" || request.command == "powerup";
    if (every_fault && chassis->parts().size() > large && !request.quiet && isatty(STDERR_FILENO) == 1)
        say_error(fmt::format("tubewright: every fault of {} parts is solved first; that takes minutes",
                              chassis->parts().size()));
    const Study study(*chassis, catalogue, request.policy, std::move(progress));
    const Answer answer =
        other ? report_difference(study, *other, request.report) : reports.at(request.command)(study, request.report);
    if (answer.refused && request.report.format == Format::text && !request.output.empty() && request.output != "-") {
        say_error(answer.text);
        return status(Exit::no_solution);
    }
    return put(request, answer.text, exit_of(answer));
}

}  // namespace

int run(const std::vector<std::string>& arguments) {
    const Outcome<Request> read = read_command_line(arguments);
    if (!read) return wrong_usage(read.notices().front().message);
    Request request = *read;
    if (request.what == Request::What::help)
        return put(Request{}, help(request.command), arguments.empty() ? Exit::usage : Exit::answered);
    if (request.what == Request::What::version) return put(Request{}, version(), Exit::answered);

    const bool to_file = !request.output.empty() && request.output != "-";
    if (to_file && !request.operand.empty() && request.operand != "-" && request.command != "tube" &&
        request.command != "schema" && request.command != "start" && same_file(request.output, request.operand))
        return wrong_usage(fmt::format("--output {} is the input; an answer never goes over it", request.output));
    if (to_file && !request.against.empty() && same_file(request.output, request.against))
        return wrong_usage(fmt::format("--output {} is the other file; an answer never goes over it", request.output));
    const bool over_a_log = request.output.ends_with(".bench.db") || same_file(request.output, log_path(request));
    if (to_file && over_a_log && regular_file(request.output))
        return wrong_usage(fmt::format("--output {} is a bench log; an answer never goes over it", request.output));
    request.report.colour = wants_colour(request);
    if (request.command == "schema") return put(request, chassis_schema(), Exit::answered);
    if (request.command == "policy") {
        const Answer answer = report_policy(request.policy, request.report);
        return put(request, answer.text, exit_of(answer));
    }
    if (request.command == "survey" && request.operand.empty()) return answer_line_up(request);
    if (request.command == "start") return answer_start(std::move(request));
    if (request.command == "sheet") return answer_sheet(request);
    if (request.command == "log") return answer_log(request);
    if (request.command == "tube") return answer_tube(std::move(request));
    return answer_chassis(std::move(request));
}

}  // namespace tubewright::cli
