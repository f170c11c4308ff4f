// SPDX-License-Identifier: MIT
// The one file that knows CLI11.
#include "command_line.hpp"

#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <map>

#include "settings.hpp"
#include "terms/near.hpp"
#include "words.hpp"

namespace tubewright::cli {
namespace {

Notice usage(std::string message) {
    Notice notice;
    notice.message = std::move(message);
    return notice;
}

/// Values of the options as they stood, by name.
struct Written {
    std::map<std::string_view, std::vector<std::string>> values;
    std::map<std::string_view, bool> flags;
    const std::string* last(std::string_view name) const {
        const auto found = values.find(name);
        return found == values.end() || found->second.empty() ? nullptr : &found->second.back();
    }
    bool set(std::string_view name) const {
        const auto found = flags.find(name);
        return found != flags.end() && found->second;
    }
};

void declare(CLI::App& app, const OptionWord& word, Written& written) {
    std::string names(word.name);
    if (word.name == "--output") names = "-o,--output";
    if (word.name == "--colour") names = "--colour,--color";
    if (word.argument.empty()) {
        app.add_flag(names, written.flags[word.name])->multi_option_policy(CLI::MultiOptionPolicy::TakeLast);
    } else {
        CLI::Option* made = app.add_option(names, written.values[word.name])->type_size(1)->expected(1);
        made->multi_option_policy(word.many ? CLI::MultiOptionPolicy::TakeAll : CLI::MultiOptionPolicy::Throw);
        made->allow_extra_args(false);  // the word behind the value is the FILE
    }
}

/// The words of CLI11's complaint in ours, one line.
std::string complaint(const CLI::ParseError& error) {
    std::string text = error.what();
    std::replace(text.begin(), text.end(), '\n', ' ');
    while (!text.empty() && text.back() == ' ') text.pop_back();
    return text;
}

}  // namespace

Outcome<Request> read_command_line(const std::vector<std::string>& arguments) {
    Request request;
    bool wants_help = arguments.empty(), wants_version = false;
    const CommandWord* found = nullptr;
    std::string first_word;
    for (const std::string& argument : arguments) {
        if (argument == "--") break;
        wants_help = wants_help || argument == "--help" || argument == "-h";
        wants_version = wants_version || argument == "--version";
        if (first_word.empty() && !argument.starts_with('-')) {
            first_word = argument;
            found = command(argument);
        }
    }
    if (wants_help || wants_version) {
        request.what = wants_help ? Request::What::help : Request::What::version;
        if (found != nullptr) request.command = first_word;
        return request;
    }
    if (arguments.front() != first_word)
        return usage(fmt::format("a command comes first, not {}", tubewright::quoted(arguments.front())));
    if (found == nullptr) {
        std::vector<std::string_view> names;
        for (const CommandWord& word : commands()) names.push_back(word.name);
        const std::string near = nearest(first_word, names);
        return usage(fmt::format("{} is no command{}", tubewright::quoted(first_word),
                                 near.empty() ? std::string() : "; did you mean \"" + near + "\"?"));
    }
    request.command = first_word;

    Written written;
    CLI::App app("tubewright", first_word);
    app.set_help_flag();
    app.allow_windows_style_options(false);
    CLI::Option* operand = app.add_option("operand", request.operand);
    operand->type_size(1)->expected(1);
    if (first_word == "log") app.add_option("entries", request.pencil)->type_size(1)->expected(1);
    for (const std::string_view name : found->options) declare(app, option(name), written);
    for (const std::string_view name : {"--format", "--output", "--colour", "--quiet"})
        declare(app, option(name), written);
    try {
        std::vector<std::string> reversed(arguments.rbegin(), arguments.rend() - 1);
        app.parse(reversed);
    } catch (const CLI::ExtrasError&) {
        const std::vector<std::string> extras = app.remaining();
        for (const std::string& extra : extras) {
            if (!extra.starts_with('-') || extra == "-") continue;
            std::vector<std::string_view> names(found->options);
            names.insert(names.end(), {"--format", "--output", "--colour", "--quiet", "--help", "--version"});
            const std::string bare = extra.substr(0, extra.find('='));
            const std::string near = nearest(bare, names);
            return usage(fmt::format("{} does not take the option {}{}", first_word, tubewright::quoted(bare),
                                     near.empty() ? std::string() : "; did you mean " + near + "?"));
        }
        if (first_word == "log")
            return usage(fmt::format("log takes the entries in one pair of quotation marks; {} stands outside",
                                     tubewright::quoted(extras.empty() ? "" : extras.front())));
        return usage(fmt::format("{} takes one {}; {} is one too many", first_word, found->operand,
                                 tubewright::quoted(extras.empty() ? "" : extras.front())));
    } catch (const CLI::ArgumentMismatch& error) {
        const std::string text = error.what();
        return usage(text.substr(0, text.find(':')) + " takes one value, and is given once");
    } catch (const CLI::ParseError& error) {
        return usage(complaint(error));
    }

    const bool line_up = written.last("--tubes") != nullptr;
    if (line_up && !request.operand.empty()) return usage("survey takes a FILE or --tubes, not both");
    if (!line_up && (written.last("--label") != nullptr || written.last("--year") != nullptr))
        return usage("--label and --year go with --tubes");
    if (first_word == "policy" && !request.operand.empty())
        return usage(fmt::format("policy takes no file; {} is one too many", tubewright::quoted(request.operand)));
    if (request.operand.empty() && !line_up && first_word != "policy") {
        if (first_word != "schema") return usage(fmt::format("{} wants a {}", first_word, found->operand));
        request.operand = "chassis";
    }
    if (first_word == "schema" && request.operand != "chassis")
        return usage(fmt::format("there is no schema of {}; schema chassis prints the XSD of the chassis file",
                                 tubewright::quoted(request.operand)));

    const auto taken = [&](Complaint said) -> std::optional<Notice> {
        if (said) return usage(*said);
        return std::nullopt;
    };
    using Set = Complaint (*)(std::string_view, Policy&);
    for (const auto& [name, set] : {std::pair<std::string_view, Set>{"--line", set_line},
                                    {"--hertz", set_hertz},
                                    {"--meter", set_meter},
                                    {"--policy", set_policies}}) {
        if (const std::string* text = written.last(name)) {
            if (auto wrong = taken(set(*text, request.policy))) return *wrong;
        }
    }
    if (const std::string* text = written.last("--meter")) request.meter_words = *text;
    for (const std::string& text : written.values["--assume"]) {
        if (auto wrong = taken(set_assumption(text, request.policy))) return *wrong;
    }
    if (const std::string* text = written.last("--lamp")) {
        if (auto wrong = taken(set_lamp(*text, request.report))) return *wrong;
    }
    for (const std::string& text : written.values["--read"]) {
        if (auto wrong = taken(set_winding_reading(text, request.report.windings))) return *wrong;
    }
    if (const std::string* text = written.last("--in")) {
        if (auto wrong = taken(set_in_sockets(*text, request.report.windings))) return *wrong;
    }
    if (const std::string* text = written.last("--hours")) {
        if (auto wrong = taken(set_number("--hours", *text, request.report.steps.hours))) return *wrong;
    }
    if (const std::string* text = written.last("--budget")) {
        double budget = 0;  // no money at all is a budget too
        if (text->find_first_not_of("0.") != std::string::npos || text->find('0') == std::string::npos)
            if (auto wrong = taken(set_number("--budget", *text, budget))) return *wrong;
        request.report.steps.budget = budget;
    }
    if (const std::string* text = written.last("--scenario")) {
        const Outcome<Condition> condition = Condition::parse(*text);
        if (!condition)
            return usage(fmt::format("--scenario: {}", condition.notices().empty()
                                                           ? "not known"
                                                           : condition.notices().front().message + "; " +
                                                                 condition.notices().front().remedy));
        request.report.scenario = condition->text();
    }
    if (const std::string* text = written.last("--at")) {
        if (const std::string wrong = point_complaint(*text); !wrong.empty()) return usage("--at: " + wrong);
        request.at = *text;
    }
    if (const std::string* text = written.last("--metal")) {
        if (*text == "on-line")
            request.start.metal = MetalIs::on_the_line;
        else if (*text == "parts")
            request.start.metal = MetalIs::behind_parts;
        else if (*text == "apart")
            request.start.metal = MetalIs::apart;
        else
            return usage(fmt::format("--metal: on-line, parts or apart, not {}", tubewright::quoted(*text)));
    }
    if (const std::string* text = written.last("--can")) {
        if (*text != "bare" && *text != "insulated")
            return usage(fmt::format("--can: bare or insulated, not {}", tubewright::quoted(*text)));
        request.can_said = true;
        request.start.can_insulated = *text == "insulated";
    }
    if (const std::string* text = written.last("--name")) request.start.name = *text;
    for (const auto& [name, year] : {std::pair{"--built", &request.start.built}, {"--year", &request.year}}) {
        const std::string* text = written.last(name);
        if (text == nullptr) continue;
        double value = 0;
        if (auto wrong = taken(set_number(name, *text, value))) return *wrong;
        if (value < 1900 || value > 2100 || value != static_cast<int>(value))
            return usage(fmt::format("{}: a year from 1900 to 2100, not {}", name, tubewright::quoted(*text)));
        *year = static_cast<int>(value);
    }
    if (const std::string* text = written.last("--tubes")) {
        for (std::size_t at = 0; at <= text->size();) {
            const std::size_t end = std::min(text->find_first_of(", ", at), text->size());
            if (end > at) request.tubes.push_back(text->substr(at, end - at));
            at = end + 1;
        }
    }
    if (const std::string* text = written.last("--label")) request.label = *text;
    if (const std::string* text = written.last("--log")) {
        if (text->empty()) return usage("--log wants a file");
        if (written.set("--no-log")) return usage("--log and --no-log exclude each other");
        request.log = *text;
    }
    request.no_log = written.set("--no-log");
    request.export_log = written.set("--export");
    if (const std::string* text = written.last("--import")) {
        if (text->empty()) return usage("--import wants a file, or - for standard input");
        request.import = *text;
    }
    if (static_cast<int>(request.export_log) + static_cast<int>(!request.import.empty()) +
            static_cast<int>(!request.pencil.empty()) >
        1)
        return usage("log takes one of: entries, --export, --import");
    if (first_word == "log" && request.operand == "-")
        return usage("a log stands beside its chassis file: log wants the name of a FILE");
    for (const std::string& text : written.values["--override"]) {
        const std::size_t equals = std::min(text.find('='), text.size());
        const std::string rule = text.substr(0, equals);
        const auto& rules = bench_rules();
        const bool known = std::any_of(rules.begin(), rules.end(), [&](const BenchRule& r) { return r.id == rule; });
        if (!known || equals + 1 >= text.size())
            return usage(
                fmt::format("--override: a rule and the reason, such as H11=\"no speaker: load resistor on\", "
                            "not {}",
                            tubewright::quoted(text)));
        request.overridden.emplace_back(rule, text.substr(equals + 1));
    }
    if (const std::string* text = written.last("--prices")) {
        if (text->empty()) return usage("--prices wants a file");
        request.prices = *text;
    }
    if (const std::string* text = written.last("--against")) {
        if (text->empty()) return usage("--against wants a file, or - for standard input");
        if (*text == "-" && request.operand == "-")
            return usage("only one of the two files can come from standard input");
        request.against = *text;
    }
    if (const std::string* text = written.last("--format")) {
        if (*text == "json" && !request.export_log) {
            request.report.format = Format::json;
        } else if (*text == "csv" && request.export_log) {
            request.csv = true;
        } else if (*text == "csv" && first_word == "shop") {
            request.report.format = Format::csv;
        } else if (*text != "text") {
            return usage(fmt::format("--format: {} gives text or {}, not {}",
                                     request.export_log ? "log --export" : first_word,
                                     request.export_log     ? "csv"
                                     : first_word == "shop" ? "json or csv"
                                                            : "json",
                                     tubewright::quoted(*text)));
        }
    }
    if (const std::string* text = written.last("--colour")) {
        if (*text == "always") {
            request.colour = Colour::always;
        } else if (*text == "never") {
            request.colour = Colour::never;
        } else if (*text != "auto") {
            return usage(fmt::format("--colour: auto, always or never, not {}", tubewright::quoted(*text)));
        }
    }
    if (const std::string* text = written.last("--output")) {
        if (text->empty()) return usage("--output wants a file name, or - for standard output");
        request.output = *text;
    }
    request.report.all = written.set("--all");
    request.report.pairs = written.set("--pairs");
    request.report.readback = written.set("--readback");
    request.quiet = written.set("--quiet");
    request.force = written.set("--force");
    return request;
}

}  // namespace tubewright::cli
