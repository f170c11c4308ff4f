// SPDX-License-Identifier: MIT
// The repair steps in the order that removes the most danger for the time spent without breaking a hard rule
// (1|prec|sum w C), the power-up stages with a solved reading at each point, and what readings of its test say of the
// power transformer.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include <tubewright/choice.hpp>
#include <tubewright/outcome.hpp>
#include <tubewright/rules.hpp>

namespace tubewright {

/// An arrow from an earlier step. rule: "H5", "s10", or the word access, charge or list where no rule of the table asks
/// for it.
struct StepLink {
    std::string step, rule, why;
};
struct RepairStep {
    int order = 0;
    std::string step;  ///< id: "replace-C1-C2"
    std::string does;  ///< for people
    std::vector<std::string> parts;
    std::string place;  ///< socket or strip where it is done
    int visit = 0;      ///< steps of one number are done one after the other, the turn to their place first; 0: alone
    std::vector<std::string> tools, lifted;  ///< lifted: unsoldered and put back within the step
    std::vector<StepLink> predecessors;
    double minutes = 0, cost = 0;
    long long p_seconds = 0, w_microrisk = 0;  ///< w: 1e9 times risk_removed, or 1e8, 1e7 ... (TW4513)
    int block = 0;                             ///< Sidney block
    double risk_removed = 0;
    std::string reason, check;  ///< why, with numbers; the reading at its end
    std::string if_last;        ///< what stands longer, or breaks, were it left for last
    std::vector<Act> acts;      ///< what the rules checker sees
};
/// The listed risk that is left after so many minutes.
struct RiskPoint {
    double minutes = 0, risk_left = 0;
};
struct RepairOrder {
    std::vector<RepairStep> steps;
    long long objective = 0, lower_bound = 0;
    double gap = 0;
    bool optimal = false;  ///< proved, with the visits to places as they are
    /// Proved: no lawful order of these steps has less, however often it turns from place to place.
    long long bound_of_any_order = 0;
    std::string tag;                  ///< to hang on the set when stopping
    long long objective_by_risk = 0;  ///< by risk alone, never more than objective; 0: not looked at
    double minutes_by_risk = 0;
    std::string pick_up;  ///< id of the step to go on with after these; empty when none is left
    std::vector<RiskPoint> curve, curve_by_list, curve_greedy;  ///< of this order, of the list worked off, by ratio
    std::vector<std::string> left_out;                          ///< steps that do not fit hours or budget
    bool doubted = false;  ///< a reading in the log stands against a rule, or the one that it wants is not there
    long long removes_microrisk = 0;    ///< within hours or budget: of the steps that fit
    long long bound_of_any_choice = 0;  ///< proved: no choice within them removes more; 0 without a limit
};
struct StepOptions {
    double hours = 0;                             ///< 0: no limit
    std::optional<double> budget = std::nullopt;  ///< nothing: no limit; 0: what needs no money
    bool limited() const { return hours > 0 || budget.has_value(); }
};

/// One reading of a stage; exactly one quantity, SI.
struct StageReading {
    std::string at, to;    ///< net or pin; the net where the black clip stays
    std::string quantity;  ///< "volts dc", "volts ac", "ohms", "amps", "watts", "seconds"
    double expect = 0, low = 0, high = 0;
    std::optional<double> stop;        ///< beyond it: switch off
    std::optional<double> stop_below;  ///< under it: switch off
    std::string when;                  ///< empty: as soon as it stands; else "in the first half minute" ...
    bool says_nothing = false;         ///< true: no figure is owed (the rectifier's filament is cool yet)
    std::string if_low, if_high;
};
/// What the log has of one line of a gate.
struct GateProof {
    enum class Reading { not_asked, missing, against };

    bool holds = false;
    std::string words;  ///< "proved by the log", "signed by hand", "OVERRIDDEN: why"; else what is not proved
    Reading reading = Reading::not_asked;  ///< the reading that it wants is not in the log, or one there says otherwise
    std::string at = {};                   ///< where that was read
};
struct Gate {
    std::string state;                   ///< "box" without a log; "open", "shut"; "passed": so is the stage
    std::vector<std::string> opened_by;  ///< what must be true, a line each
    std::vector<GateProof> proof;        ///< one for each line of opened_by; empty without a log
    std::vector<int> after;              ///< stages under power before it that are not passed by the log
    bool not_again = false;              ///< passed, and not to be powered again as the set stands now
    int shut_at = 0;                     ///< with a log: what the stage holds is not told, the gate of this one is shut

    bool bars() const { return state == "shut" || not_again; }
};
struct PowerStage {
    int stage = 0;
    std::string name;
    Gate gate;
    std::vector<std::string> connect, remove;
    std::optional<double> lamp_watts, line_volts;
    double minutes = 0;
    std::vector<StageReading> readings;
    std::vector<std::string> notice, cautions, at_stop;
    std::vector<Act> acts;
};
struct LampGlow {
    double lamp_watts = 0;
    std::string state;  ///< healthy, or the fault
    double set_volts = 0, lamp_volts = 0, b_plus_volts = 0;
    std::string glow;        ///< dark, dull red, orange, yellow, white
    bool meaningful = true;  ///< false: the rectifier filament is too cool for B-plus to mean anything
};
struct ColdOhms {
    std::string at, to;
    std::optional<double> ohms, low, high;  ///< absent: open circuit
    std::optional<double> stop_below;       ///< do not power
    bool before_power = false;              ///< asked for before the set is powered (H19): in its stage, never hidden
};
struct PowerUp {
    std::vector<PowerStage> stages;
    std::vector<LampGlow> lamp_table;
    std::vector<ColdOhms> cold_ohms;
    std::vector<StageReading> discharge;
    std::vector<std::string> discharge_notes;  ///< what empties each section by itself, in what time
    std::string reference;                     ///< where the black clip goes
    std::vector<std::string> cautions;
    std::vector<Assumption> assumptions;
};

/// What was read on the power transformer with the rectifier out.
struct WindingTest {
    struct Read {
        std::string at;  ///< "heater", "plate.1" (first half to the tap), a net or pin at one end of a winding
        double volts = 0;
        double line_volts = 0;  ///< while it was read; 0: of the test
    };
    std::vector<Read> readings;
    double line_volts = 0;              ///< 0: the policy's line, else the set's own
    bool heaters_in = true;             ///< the tubes but the rectifier; false: nothing in any socket
    std::optional<double> watts, amps;  ///< drawn at line_volts
    std::string heat;  ///< after half an hour alone at full line: "cool", "warm", "hot"; empty: not felt
};
struct WindingRow {
    std::string winding;  ///< halves of a plate winding apart
    std::optional<double> design_volts, read_volts, line_volts_read, expect_volts, low_volts, high_volts;
    std::optional<double> ratio, residual;  ///< read over design; that over the line's ratio, less 1: a no-load rise
    std::string verdict,
        why;  ///< healthy, shorted turns, wrong tap, open, half-imbalance, not read; of one alone: fits, outlier
    std::vector<std::pair<std::string, double>> likelihoods;
};
struct HeaterForecast {
    std::string winding;
    double volts = 0, low_volts = 0, high_volts = 0, rated_volts = 0;  ///< in service, at the line of the test
    bool within = true;                                                ///< a tenth either way of rated
};
struct WindingsVerdict {
    double line_volts = 0, design_line_volts = 0, factor = 1;  ///< the line's ratio
    std::optional<double> no_load_rise;                        ///< mean of the healthy windings
    std::vector<WindingRow> rows;
    std::string verdict;  ///< healthy, not healthy, cannot tell yet
    std::vector<std::string> because, next;
    std::vector<HeaterForecast> heaters;
    std::vector<std::string> remedy;  ///< where a heater is off by more than a tenth
    std::vector<Assumption> assumptions;
};

}  // namespace tubewright
