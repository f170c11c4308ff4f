// SPDX-License-Identifier: MIT
// Answers as text for people (80 columns) and as JSON for programs. Free functions that write plain data; no judgement
// is made here.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <tubewright/study.hpp>
#include <tubewright/tubes.hpp>

namespace tubewright {

enum class Format { text, json, csv };  ///< csv: of the shopping list

struct ReportOptions {
    Format format = Format::text;
    bool all = false;      ///< every row, not only what matters
    bool colour = false;   ///< text only; colour never carries meaning alone
    std::string scenario;  ///< volts, stress: one only
    StepOptions steps;
    double lamp_watts = 0, lamp_volts = 120;
    WindingTest windings;   ///< windings
    bool readback = false;  ///< audit
    bool pairs = false;     ///< threats
};

/// An answer: the text, and whether something in it must stop the person (exit 1) or it could not be solved (exit 4).
struct Answer {
    std::string text;
    bool must_stop = false;
    bool refused = false;
};
TUBEWRIGHT_API Answer report_audit(const Study& study, const ReportOptions& options);
/// What differs between the study's set and another file of it; must_stop where anything does.
TUBEWRIGHT_API Answer report_difference(const Study& study, const Chassis& other, const ReportOptions& options);
TUBEWRIGHT_API Answer report_survey(const Study& study, const ReportOptions& options);
/// Level 0: from the tubes and the label alone.
TUBEWRIGHT_API Answer report_line_up(const LineUp& line_up, const ReportOptions& options);
TUBEWRIGHT_API Answer report_volts(const Study& study, const ReportOptions& options);
TUBEWRIGHT_API Answer report_stress(const Study& study, const ReportOptions& options);
TUBEWRIGHT_API Answer report_threats(const Study& study, const ReportOptions& options);
TUBEWRIGHT_API Answer report_steps(const Study& study, const ReportOptions& options);
TUBEWRIGHT_API Answer report_power_up(const Study& study, const ReportOptions& options);
/// must_stop where the transformer is not healthy.
TUBEWRIGHT_API Answer report_windings(const Study& study, const ReportOptions& options);
TUBEWRIGHT_API Answer report_shop(const Study& study, const ReportOptions& options);
/// The settings, each with its reason, choices, default and what is taken.
TUBEWRIGHT_API Answer report_policy(const Policy& policy, const ReportOptions& options);
TUBEWRIGHT_API Answer report_model(const Study& study, const ReportOptions& options);
/// Where the person is: what is out, done, read, open and next, and what the log proves; must_stop where the gate of
/// the next stage is shut. `entries`: those that the study's progress is of.
TUBEWRIGHT_API Answer report_log(const Study& study, std::span<const LogEntry> entries, const ReportOptions& options);
/// What was entered, each in words, and what is out now. `study`: of the log with it.
TUBEWRIGHT_API Answer report_entered(const Study& study, std::span<const LogEntry> added, const ReportOptions& options);
/// Pencil that was refused: the lines, and under each the word that is not understood.
TUBEWRIGHT_API std::string refused_pencil(std::string_view pencil, const std::vector<Notice>& why);
/// What is wrong with a point such as "plate=250,screen=250,grid=-12.5", in a sentence; empty when it can be read.
TUBEWRIGHT_API std::string point_complaint(std::string_view at);
/// The same, and what this tube wants beside it: a pentode its screen, a triode its grid.
TUBEWRIGHT_API std::string point_complaint(std::string_view at, const TubeModel& model);
/// at: a point, or empty. A point that cannot be read is refused.
TUBEWRIGHT_API Answer report_tube(const TubeModel& model, std::string_view at, const ReportOptions& options);

}  // namespace tubewright
