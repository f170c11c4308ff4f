// SPDX-License-Identifier: MIT
// The command line in and a plain Request out: which command, on which file, with which settings. The words of every
// command and option stand in one table, from which parsing and --help are both made.
//
//     tubewright volts set.xml --line 121V --meter 1k/V@250V --format json
//
// Tests: tests/cli/command_line_test.cpp.
#pragma once

#include <string>
#include <vector>

#include <tubewright/netlist.hpp>
#include <tubewright/outcome.hpp>
#include <tubewright/policy.hpp>
#include <tubewright/report.hpp>

namespace tubewright::cli {

enum class Colour { automatic, always, never };

struct Request {
    enum class What { help, version, command };
    What what = What::command;
    std::string command;  ///< may be empty for help
    std::string operand;  ///< FILE, TYPE, or what schema is asked for
    std::string against;  ///< audit: the other file; empty when none
    std::string pencil;   ///< log: the entries, or "-"; empty to show it
    std::string log;      ///< the bench log; empty: the one beside the file, where there is one
    bool no_log = false, export_log = false, csv = false;
    std::string meter_words;                                      ///< of --meter, as written; empty when not given
    std::string prices;                                           ///< a price table of one's own; empty: none
    std::string import;                                           ///< log: an export to take over
    std::vector<std::pair<std::string, std::string>> overridden;  ///< powerup: rule and reason
    std::string at;                                               ///< tube
    NodeAnswers start;                                            ///< start
    std::vector<std::string> tubes;                               ///< survey without a file
    std::string label;
    std::optional<int> year;
    bool can_said = false;
    Policy policy;
    ReportOptions report;
    std::string output;  ///< -o; empty or "-": standard output
    Colour colour = Colour::automatic;
    bool quiet = false, force = false;
};

/// What was asked, or one notice (without a place) that says what is wrong with the command line: exit status 2.
/// --help and --version win over everything else on the line.
Outcome<Request> read_command_line(const std::vector<std::string>& arguments);

/// Help for a command, or for the program when it is empty; lines of at most 80 columns.
std::string help(const std::string& command);

/// Name, version, licence and the libraries that travel with it.
std::string version();

}  // namespace tubewright::cli
