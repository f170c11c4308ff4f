// SPDX-License-Identifier: MIT
#include "run.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <cstdio>
#include <cstdlib>
#include <map>
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

int answer_chassis(Request request) {
    using Report = Answer (*)(const Study&, const ReportOptions&);
    static const std::map<std::string_view, Report> reports{
        {"audit", report_audit},   {"survey", report_survey},    {"volts", report_volts},
        {"stress", report_stress}, {"threats", report_threats},  {"steps", report_steps},
        {"shop", report_shop},     {"powerup", report_power_up}, {"model", report_model}};
    const Catalogue catalogue = Catalogue::shipped();
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
    const Study study(*chassis, catalogue, request.policy, Progress{});
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
    request.report.colour = wants_colour(request);
    if (request.command == "schema") return put(request, chassis_schema(), Exit::answered);
    if (request.command == "survey" && request.operand.empty()) return answer_line_up(request);
    if (request.command == "start") return answer_start(std::move(request));
    if (request.command == "sheet") return answer_sheet(request);
    if (request.command == "tube") return answer_tube(std::move(request));
    return answer_chassis(std::move(request));
}

}  // namespace tubewright::cli
