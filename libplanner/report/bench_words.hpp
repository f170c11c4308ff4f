// SPDX-License-Identifier: MIT
// Words that stand on every sheet: the conditions over a table, a reading with its band, what was assumed, what to be
// careful of, and why there is no answer. Tests: tests/report/bench_words_test.cpp.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include <tubewright/report.hpp>

#include "report/page.hpp"

namespace tubewright::report {

/// As many figures as the band bears, three at most: 248.31 in 229 to 266 is "248"; 16.54 in 15.3 to 17.7 is "16.5".
std::string in_band(double value, double low, double high);
/// "248 V (229 to 266)"; without a band "248 V".
std::string banded_volts(double value, double low, double high);
/// "6.2 V ac (6.1 to 6.3)", what alternates; with a word after it: "318 V ac to c.t. (312 to 325)".
std::string banded_alternating(double rms, double low, double high, const std::string& to = "");
/// Two significant figures, plain: "54", "0.31", "4.4".
std::string two_figures(double value);
/// "40 to 90 s", "1.5 to 3 min", "72 min or never", "never".
std::string time_range(const std::optional<double>& low, const std::optional<double>& high);
/// A lead of a tube: "p.2" is the plate on pin 2, "k.filament" the filament as cathode.
std::string electrode_words(const std::string& lead);
/// "gnd (chassis metal)".
std::string reference_words(const Chassis& chassis);
std::string family_words(Family family);
/// Whether some net is said to be the metal or B-minus: without it hot or isolated is not known.
bool metal_named(const Chassis& chassis);
/// What is not in the solved set, and what is in it as sound though it was seen shorted, or, `with_shorts`, shorted;
/// nothing where nothing is.
void as_found(Page& page, const Study& study, bool with_shorts = false);
std::string meter_words(const Meter& meter);
/// What "off scale" is said of: "over the 250 V range that --meter names; ...".
std::string off_scale_words(const Meter& meter);
/// "115 V 60 c (the set's own)".
std::string line_words(const Study& study);
/// Trade words for a scenario: "warm-up (80 hot, the other tubes cold)".
std::string scenario_words(const Condition& condition);

/// Findings of the audit that stop or leave in doubt, and the first of the worst kind; an error counts as a stop.
struct AuditCount {
    int stop = 0, doubt = 0;
    std::string first;
};
AuditCount audit_count(const std::vector<Finding>& findings);
/// The audit has something to stop for: a plan for this set is answered with exit status 1.
bool audit_stops(const Study& study);
/// That, or a line so far from the mark that nothing below it is to be tried (H0).
bool stops(const Study& study);
/// The line of the policy over the line that the set is marked for; nothing where the policy states none.
std::optional<double> line_over_mark(const Study& study);

/// What the set is and how far it was traced, over every answer; with_doubts: also what the audit stops for, and a line
/// that is not the set's, with what its heaters then stand at.
void set_words(Page& page, const Study& study, std::string_view what, bool with_doubts = true);
/// That a log was read: file, entries, last date; what it says of parts that are gone, and what was overridden.
void log_words(Page& page, const Progress& progress);
/// Black clip, line, meter, controls, antenna; `with_meter` where readings follow. solved: the condition whose readings
/// follow (nullptr: all of them), with speaker and warmth.
void conditions(Page& page, const Study& study, bool with_meter, const Solution* solved = nullptr);
/// Assumptions that say the same of several parts as one, those that move most first.
std::vector<Assumption> alike_together(std::vector<Assumption> list);
/// The assumptions that move most, with their spread and how to measure them, and a count of the rest; with `all` every
/// one, why it was taken and where the rule comes from.
/// `own`: what the answer itself assumes beside the study.
void assumed(Page& page, const Study& study, bool all, const std::vector<Assumption>& own = {});
/// The study's assumptions and then `own`, none twice.
std::vector<Assumption> merged_assumptions(const Study& study, const std::vector<Assumption>& own);
/// The cautions in the order of danger, every one: without `all` the first eight in full, of the others what they warn
/// of.
void cautions(Page& page, const std::vector<std::string>& list, bool all);
/// Text of a refusal, exit status 4.
Answer refused(const Study& study, std::string_view what, const std::vector<Notice>& why, const ReportOptions& options);
/// Doubts that came with an answer.
void doubts(Page& page, const std::vector<Notice>& notices);

}  // namespace tubewright::report
