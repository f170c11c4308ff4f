// SPDX-License-Identifier: MIT
#include "words.hpp"

#include <fmt/core.h>

#include <array>
#include <stdexcept>

#include "command_line.hpp"
#include "settings.hpp"

namespace tubewright::cli {
namespace {

constexpr std::array options{
    OptionWord{"--line", "121V", "the line now (the set's own)"},
    OptionWord{"--hertz", "60", "its frequency (the set's own)"},
    OptionWord{"--assume", "KEY=VALUE", "replaces an assumed setting; keys below", true},
    OptionWord{"--meter", "10M", "your meter: 10M, 20k/V, 1k/V@250V (10M)"},
    OptionWord{"--scenario", "NAME", "one only (all that apply); names below"},
    OptionWord{"--policy", "NAME,NAME", "settings by name; tubewright policy lists them"},
    OptionWord{"--hours", "H", "what fits in so many hours"},
    OptionWord{"--budget", "N", "what fits in so much money"},
    OptionWord{"--lamp", "60W@120V", "the incandescent lamp in series: watts@volts"},
    OptionWord{"--prices", "FILE", "your prices: CSV of key,cost: wire,0.5 or tube,9"},
    OptionWord{"--read", "WHAT=VALUE", "plate=340-0-338, heater=6.89@118V, heat=cool", true},
    OptionWord{"--in", "WORD", "in the sockets: heaters, nothing (heaters)"},
    OptionWord{"--readback", "", "socket by socket, pin by pin, to tick off"},
    OptionWord{"--against", "OTHER", "what differs from another file of the set"},
    OptionWord{"--at", "NAME=VOLTS,..", "plate=250,screen=250,grid=-12.5"},
    OptionWord{"--tubes", "TYPE,TYPE", "the line-up, as printed on the glass"},
    OptionWord{"--label", "TEXT", "what the label asks for: \"115V 60c 60W\""},
    OptionWord{"--year", "YEAR", "the year on the label"},
    OptionWord{"--metal", "WORD", "metal: on-line, parts (by a resistor), apart (open)"},
    OptionWord{"--can", "WORD", "the filter can on the metal: bare, insulated"},
    OptionWord{"--name", "TEXT", "what the set is called"},
    OptionWord{"--built", "YEAR", "the year on the label"},
    OptionWord{"--force", "", "write over the file of --output"},
    OptionWord{"--log", "FILE", "the bench log (FILE.bench.db beside the file)"},
    OptionWord{"--no-log", "", "of the set as the file has it, whatever was logged"},
    OptionWord{"--override", "GATE=WHY", "opens a gate with a reason; printed, kept in the log", true},
    OptionWord{"--export", "", "all of the log as text; a sheet with --format csv"},
    OptionWord{"--import", "IN", "takes over what --export wrote"},
    OptionWord{"--format", "text|json", "for people or for programs (text)"},
    OptionWord{"--pairs", "", "also every two faults at once"},
    OptionWord{"--all", "", "every row, not only what matters"},
    OptionWord{"--output", "FILE", "-o FILE; written whole or not at all (-)"},
    OptionWord{"--colour", "WHEN", "auto, always, never; NO_COLOR obeyed (auto)"},
    OptionWord{"--quiet", "", "no warnings, only the answer and errors"},
};

const std::vector<CommandWord>& table() {
    static const std::vector<CommandWord> words{
        {"start",
         "FAMILY",
         "a commented chassis file to begin with",
         "FAMILY: ac-transformer, back-bias, series-string, floating-b-minus, doubler, portable, vehicle, battery. On "
         "a "
         "terminal it asks in words what an ohmmeter says of the metal; --metal and --can answer beforehand. The file "
         "audits clean; put your own values in and add the rest.",
         "tubewright start series-string --metal on-line -o set.xml",
         "writes the file for a set whose chassis is joined to the line.",
         {"--metal", "--can", "--name", "--built", "--force"}},
        {"sheet",
         "IN",
         "a spreadsheet to a chassis file, or a chassis file back",
         "Comma-separated text (RFC 4180), a row a part or a lead: kind,id,value,rating,a,b,more,remark, in any order, "
         "and any attribute of the chassis file as a column of its own. Kinds: the elements of the chassis file, and "
         "tube, "
         "electrolytic, trimmer, choke, field, selenium, bulb, comment; lead,V4.2,bplus names a lead under id and its "
         "net "
         "under a; of: the part that a winding or a section belongs to; more: wiper=V3.cap, what has no column. Values "
         "stand as printed on the parts. What IN is, is seen by what is in it. Every error is told with its row and "
         "column, and nothing is written then.",
         "tubewright sheet parts.csv -o set.xml",
         "writes the chassis file; tubewright sheet set.xml -o parts.csv goes back without loss.",
         {}},
        {"schema",
         "[chassis]",
         "the XSD of the chassis file",
         "The schema that any XML editor can check a chassis file against while it is written.",
         "tubewright schema chassis -o chassis.xsd",
         "writes the schema; then: xmllint --schema chassis.xsd set.xml",
         {}},
        {"audit",
         "FILE",
         "did I trace it right: findings, and what to look at",
         "A second pair of eyes for whoever traced the set. Severities: stop (must not go on), doubt (probably wrong), "
         "note (worth knowing). Exit status 1 when there is a stop or a doubt. --against OTHER says instead what "
         "differs "
         "from another file of the set, a diagram or an earlier trace: connections, parts, values, ratings, "
         "construction; what nets and parts are called does not count. Exit status 1 when anything differs.",
         "tubewright audit set.xml --readback",
         "prints the findings, then what is soldered to each pin, to be ticked with a finger.",
         {"--against", "--readback", "--line", "--hertz", "--assume", "--log", "--no-log", "--all"}},
        {"survey",
         "FILE",
         "family, hot or isolated, age and action of parts, cost",
         "What family the set is, whether its chassis can be live, what age has done to each part, and what to do "
         "about it: replace, measure, leave, never disturb. Without a file, from the tubes and the label alone: what "
         "the set may be, its heaters' sum, its usual parts, what to look at first.",
         "tubewright survey --tubes 6A7,78,75,42,80 --label 115V,60c,60W --year 1936",
         "surveys a set of which nothing is traced yet.",
         {"--tubes", "--label", "--year", "--policy", "--line", "--hertz", "--assume", "--log", "--no-log", "--all"}},
        {"volts",
         "FILE",
         "direct volts and ripple on every pin and net, with a band",
         "What your meter should read at this line, in every condition that the set can be in. --all adds what each "
         "stage amplifies as it stands and where the tuned circuits ring; JSON has it in stages, overall_gains, tuned.",
         "tubewright volts set.xml --line 121V --meter 1k/V@250V",
         "gives what a 1,000 ohm/V meter reads on its 250 V range at 121 V.",
         {"--line", "--hertz", "--meter", "--scenario", "--assume", "--log", "--no-log", "--all"}},
        {"stress",
         "FILE",
         "worst volts, watts, ripple amperes of every part",
         "What every part sees at its worst, which condition does it, and how its rating stands to that.",
         "tubewright stress set.xml --all",
         "lists every part, not only those over 80 % of a rating.",
         {"--line", "--hertz", "--scenario", "--assume", "--log", "--no-log", "--all"}},
        {"threats",
         "FILE",
         "what would burn the power transformer, and by how much",
         "Every part failed in every mode that it has, the set solved again each time, and what then becomes of the "
         "power transformer and the other scarce parts; what fuse or lamp would have saved it, and what each capacitor "
         "may leak and each resistor drift.",
         "tubewright threats set.xml --all",
         "lists every fault, with its chain of cause.",
         {"--pairs", "--line", "--hertz", "--assume", "--log", "--no-log", "--all"}},
        {"steps",
         "FILE",
         "the ordered repair plan, and the tag to hang on the set",
         "The order that removes the most danger first for the time spent and breaks no hard rule of the bench.",
         "tubewright steps set.xml --hours 3",
         "plans what fits in three hours and prints the tag for stopping.",
         {"--hours", "--budget", "--prices", "--policy", "--line", "--hertz", "--assume", "--log", "--no-log",
          "--all"}},
        {"powerup",
         "FILE",
         "the safety-first power-up, stage by stage, with readings",
         "What to connect and to remove, what to read and what it should be, and the number at which to switch off.",
         "tubewright powerup set.xml --lamp 60W@120V --line 121V",
         "plans the stages with the lamp that you have.",
         {"--lamp", "--line", "--hertz", "--meter", "--policy", "--override", "--assume", "--log", "--no-log",
          "--all"}},
        {"windings",
         "FILE",
         "is the power transformer sound, by its volts",
         "What you read on any of its windings, rectifier out: plate.1 and plate.2 (each half to the tap), heater, "
         "rectifier-heater, or the pin where you read; 340-0-338 gives both halves; @118V after a reading is the line "
         "while it was taken, --line the line of the others. watts=, amps=, heat=cool, warm or hot after half an hour. "
         "It says what is healthy, shorted, open or on another tap, how sure that is, what the heaters will stand at "
         "in "
         "service and what brings them back, and what to read next. Exit status 1 when it is not healthy.",
         "tubewright windings set.xml --line 120V --read plate=340-0-338",
         "judges both halves of the plate winding.",
         {"--read", "--in", "--line", "--hertz", "--assume", "--all"}},
        {"shop",
         "FILE",
         "replacements and shopping list, with ratings and classes",
         "What to buy: value and rating from the solved worst case, safety class from the topology, in few part "
         "numbers.",
         "tubewright shop set.xml --format csv -o list.csv",
         "writes the list as a sheet, whole or not at all; --format text is for paper.",
         {"--prices", "--policy", "--line", "--hertz", "--assume", "--log", "--no-log", "--all"}},
        {"log",
         "FILE",
         "the bench log: what was done, read, fitted; what is next",
         "FILE alone shows where you are: out, done, open, next. With entries behind it, in one pair of quotation "
         "marks (or - for lines or a sheet on standard input), it enters them, all or none, and says each in words. "
         "The other commands then go on from there. Nothing is ever deleted: undo is an entry too. Numbers are those "
         "of "
         "`steps` asked the same way: what it was given (--hours, --policy, --line), log wants too.",
         "tubewright log set.xml \"done 3 4 5; R7 412k; C9 out; V4.3 = 235V@121V\"",
         "enters an evening; tubewright log set.xml then shows where you are.",
         {"--log", "--export", "--import", "--hours", "--budget", "--lamp", "--line", "--hertz", "--meter", "--policy",
          "--assume", "--all"}},
        {"policy",
         "",
         "the settings, each with its reason, and what is taken",
         "Each setting with its choices, its default and why that is the default; then every number that can be set, "
         "with what is taken.",
         "tubewright policy --policy prove-each,by-risk",
         "shows what the other commands take with the same words.",
         {"--policy", "--line", "--hertz", "--meter", "--assume"}},
        {"tube",
         "TYPE",
         "basing, limits, listed points and the model beside them",
         "What the catalogue knows of a type, and how the currents of its model compare with the listed ones. A diode "
         "beside a plate and the target of an eye stand at volts of their own: diode=10, target=250.",
         "tubewright tube 42 --at plate=250,screen=250,grid=-16.5",
         "adds the currents at that point.",
         {"--at", "--all"}},
        {"model",
         "FILE",
         "every element of the equations, for another engine",
         "Law, terminals and parameters of every element with where each came from, and what each condition changes.",
         "tubewright model set.xml --format json",
         "is enough to rebuild the equations elsewhere.",
         {"--line", "--hertz", "--assume", "--all"}},
    };
    return words;
}

/// Words of `text` from column `indent` on, none past column 80; the first line starts at the cursor.
std::string wrapped(std::string_view text, std::size_t indent, std::size_t cursor) {
    std::string out;
    bool first = true;
    while (!text.empty()) {
        const std::size_t blank = text.find(' ');
        const std::string_view word = text.substr(0, blank);
        const std::size_t need = word.size() + (first ? 0 : 1);
        if (!first && cursor + need > 80) {
            out += '\n' + std::string(indent, ' ');
            cursor = indent;
            first = true;
        }
        if (!first) out += ' ';
        out += word;
        cursor += word.size() + (first ? 0 : 1);
        first = false;
        text = blank == std::string_view::npos ? std::string_view() : text.substr(blank + 1);
    }
    return out;
}

std::string option_line(const OptionWord& word) {
    std::string head = "  " + std::string(word.name);
    if (!word.argument.empty()) head += " " + std::string(word.argument);
    return fmt::format("{:<26}{}\n", head, word.meaning);
}

/// A part, a winding with its leads row by row, a section of a can.
constexpr std::string_view small_sheet =
    "  kind,of,id,role,mark,leads,value,rating,a,b,remark\n"
    "  tube,,V2,,,,6V6GT,,,,\n"
    "  resistor,,R1,,,,470K,1/2 W,V2.5,gnd,grid leak\n"
    "  transformer,,T2,output,,,,,,,\n"
    "  winding,T2,,output-primary,,T2.blue T2.red,,,,,\n"
    "  lead,,T2.blue,,,,,,V2.3,,to the plate\n"
    "  lead,,T2.red,,,,,,bplus,,\n"
    "  can,,C1,,,,,,,gnd,the minus of all\n"
    "  section,C1,,,square,,16 mfd,450,bplus,,first filter\n";

/// The words of the log.
constexpr std::string_view pencil_words =
    "  done 3 4 5            steps of `steps`; done 3-5 of page 0: of an older page\n"
    "  C9 out                taken out; C9 lifted: one end; C9 back: as it was\n"
    "  C9 in .022/630        a new one; R7 in 470k 1W; V4 in 42; C9 in: of its value\n"
    "  C9 omit WHY           stays out on purpose\n"
    "  R7 412k               what it reads; R7 proved: it is good\n"
    "  R7 open; C9 leaking   what it is found to be, in the words of seen in the file\n"
    "  C9 original           as the file has it after all\n"
    "  V4.3 = 235V@121V      a reading at a line; also on 20k/V, warm-up\n"
    "  V4.3-V4.5 = 220V      black clip on the second; V, Vac, k, mA, W, open\n"
    "  line 121V             of the readings behind it; meter 20k/V\n"
    "  stage passed NAME     of powerup, by name or number\n"
    "  sign H11 WORDS        a rule that only you can know is kept, and why\n"
    "  photo FILE WORDS      note TEXT\n"
    "  C9 is now C9A         the file calls it otherwise since\n"
    "  undo                  the last entry; undo 7: entry 7\n"
    "a sheet has a row an entry: part,state,with (C9,in,.022/630), or readings:\n"
    "at,black,volts,vac,ohms,ma,line,meter,conditions, those that you want\n";

constexpr std::string_view statuses =
    "Exit status: 0 answered; 1 answered, and something in it must stop you; 2 the command line is wrong; 3 the input "
    "cannot be read; 4 no solution; 5 a fault of our own or of the machine.";

}  // namespace

std::span<const CommandWord> commands() {
    return table();
}

const CommandWord* command(std::string_view name) {
    for (const CommandWord& word : table()) {
        if (word.name == name) return &word;
    }
    return nullptr;
}

const OptionWord& option(std::string_view name) {
    for (const OptionWord& word : options) {
        if (word.name == name) return word;
    }
    throw std::logic_error("no option of that name");
}

std::string help(const std::string& name) {
    const CommandWord* found = command(name);
    std::string text;
    if (found == nullptr) {
        text =
            "tubewright: a repair planner for vacuum-tube radios and small amplifiers\n\nusage: tubewright COMMAND "
            "[FILE] [OPTION]...\n\n";
        for (const CommandWord& word : table())
            text += fmt::format("  {:<8} {:<10} {}\n", word.name, word.operand, word.answers);
        text += "\n" + wrapped(
                           "FILE is a chassis file, or - for standard input. \"tubewright COMMAND --help\" says more; "
                           "--version names the version and the libraries inside.",
                           0, 0);
        text += "\n\nexample:\n  tubewright volts set.xml --line 121V --meter 10M\n    ";
        text += wrapped("reads the set, solves it at 121 V and prints what a 10 megohm meter should read on every pin.",
                        4, 4);
        return text + "\n\n" + wrapped(statuses, 0, 0) + "\n";
    }
    text = fmt::format("tubewright {}: {}\n\nusage: tubewright {}{}{}{} [OPTION]...\n\n", found->name, found->answers,
                       found->name, found->operand.empty() ? "" : " ", found->operand,
                       found->name == "log" ? " [ENTRIES]" : "");
    text += wrapped(found->about, 0, 0) + "\n\noptions:\n";
    bool assume = false, scenario = false;
    for (const std::string_view word : found->options) {
        text += option_line(option(word));
        assume = assume || word == "--assume";
        scenario = scenario || word == "--scenario";
    }
    for (const std::string_view word : {"--format", "--output", "--colour", "--quiet"}) {
        if ((found->name == "schema" || found->name == "sheet" || found->name == "start") &&
            word != std::string_view("--output"))
            continue;
        text += option_line(option(word));
    }
    if (found->name == "log") text += "\nentries, parted by ; or by lines:\n" + std::string(pencil_words);
    if (found->name == "sheet") text += "\na small sheet:\n" + std::string(small_sheet);
    if (scenario)
        text += "\nscenarios:\n  " +
                wrapped(
                    "normal high-line warm-up rectifier-out transformer-alone tube-out:V4 speaker-unplugged "
                    "output-cut-off lamp:60W step:90V dial-lamp-out:DS1 switch-on soak as-found signal-peak "
                    "signal-peak:no-load",
                    2, 2) +
                "\n";
    if (assume) text += "\nkeys of --assume (and what is taken):\n" + assumption_keys();
    text += fmt::format("\nexample:\n  {}\n    {}\n\n{}\n", found->example, wrapped(found->says, 4, 4),
                        wrapped(statuses, 0, 0));
    return text;
}

std::string version() {
    return "tubewright " TUBEWRIGHT_VERSION
           "\n"
           "MIT licence, 2026 the Tubewright authors. No warranty.\n"
           "\n"
           "Libraries inside or beside it, with their licences:\n"
           "  Boost.Graph       Boost Software License 1.0\n"
           "  CLI11             BSD-3-Clause, (c) 2017-2021 University of Cincinnati,\n"
           "                    developed by Henry Schreiner under NSF award 1414736\n"
           "  Eigen             MPL-2.0 (its LGPL parts are left out)\n"
           "  {fmt}             MIT, (c) Victor Zverovich and contributors\n"
           "  KLU, BTF          LGPL-2.1-or-later, linked as shared libraries\n"
           "  AMD, COLAMD       BSD-3-Clause (SuiteSparse), linked as shared libraries\n"
           "  nlohmann/json     MIT, (c) 2013-2022 Niels Lohmann\n"
           "  pugixml           MIT, (c) Arseny Kapoulkine\n"
           "  SQLite            public domain, linked as a shared library\n";
}

}  // namespace tubewright::cli
