// SPDX-License-Identifier: MIT
// Every part failed in every mode it can have, the set solved again each time, and what then becomes of the power
// transformer. Criticality = beta x alpha x failures per million hours x hours / 1e6 (after MIL-STD-1629A), beta from
// the solved consequence.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include <tubewright/ageing.hpp>
#include <tubewright/bench.hpp>
#include <tubewright/outcome.hpp>

namespace tubewright {

struct WindingLoad {
    std::string winding;  ///< "T1.primary", "T1.plate.1"
    double rms_amps = 0, peak_amps = 0, rms_amps_normal = 0, copper_watts = 0;
    std::optional<double> rms_amps_hot;  ///< solved again at `celsius_hot`
    std::optional<double> celsius_hot;
};
struct Overload {
    std::string part, quantity;  ///< quantity: "plate watts", "watts", "screen watts", "peak plate amperes" ...
    double value = 0, limit = 0;
};

/// A fault and what it does. Times: absent means never.
struct TUBEWRIGHT_API Threat {
    int rank = 0;
    Fault fault;
    std::string part, mode;
    std::string target;  ///< the part threatened: a power transformer's id, an output transformer, a field coil ...;
                         ///< "supply" of a set without a power transformer, for what each fault draws; "line" for what
                         ///< lies ahead
    bool ahead_of_primary = false;  ///< fire and shock, not the transformer
    bool solved = true;
    bool reshot = true;
    bool upper_bound = false;  ///< no emission or saturation limit in the currents
    /// In the primary of the power transformer that the row is about, else of the one that gives B-plus.
    double primary_amps_rms = 0, primary_amps_rms_normal = 0;
    std::optional<double> primary_amps_rms_hot;  ///< of the rows that matter: the copper as hot as the fault makes it
    double drawn_amps_rms = 0;  ///< that a fuse in the line carries: of several primaries what the whole set draws
    std::optional<double> drawn_amps_rms_hot;
    std::vector<WindingLoad> windings;  ///< of that transformer
    double tap_amps_rms = 0;            ///< in the centre tap of the plate winding that gives B-plus; 0: it has none
    std::optional<double> tap_amps_rms_hot;
    double rectifier_peak_amps = 0;
    std::vector<Overload> overloads;
    std::string hot_winding;
    double hot_spot_steady_celsius = 0;   ///< at the middle of the assumptions
    double hot_spot_hot_end_celsius = 0;  ///< at their hot end, by which beta is judged
    std::string beta_reason;              ///< "over 105 C for good: 106 C at the hot end of the assumptions"
    std::optional<double> seconds_to_105_low, seconds_to_105_high, seconds_to_damage_low, seconds_to_damage_high;
    std::string opens_first, after_opening;
    std::string limited_by;  ///< the part that alone stands in the way of the fault's current; empty when none does
    double beta = 0, alpha = 0, failures_per_million_hours = 0, hours = 0, criticality = 0;
    bool stress_clamped = false;     ///< the part to blame stands over its rating: outside the handbook's model
    std::string severity;            ///< I, II, III, IV
    std::string likelihood;          ///< "certain", "likely", "possible", "seldom"
    std::string current_note;        ///< "4.4 times the normal primary current", "448 uA through a hand to earth" ...
    std::vector<std::string> links;  ///< the chain of cause, a sentence each, in amperes, watts, volts
    std::string chain() const;       ///< the links joined
};

/// A power transformer with nothing wrong.
struct HealthyTransformer {
    std::string part;
    std::vector<WindingLoad> windings;
    double hot_spot_celsius = 0;  ///< at the middle of the assumptions
    double primary_amps_rms = 0;
};

struct TUBEWRIGHT_API ThreatReport {
    std::string transformer;           ///< id of the power transformer that gives B-plus; empty: the set has none
    std::vector<Threat> rows;          ///< by target (power transformers, scarce parts, the line), then rank
    std::vector<WindingLoad> healthy;  ///< windings of `transformer` with nothing wrong
    double healthy_hot_spot_celsius = 0;
    std::vector<HealthyTransformer> others;  ///< every other power transformer; rows of what threatens it alone
    std::vector<Assumption> assumptions;
    /// `transformer` or one of `others`.
    bool is_power_transformer(const std::string& part) const;
    /// "T1", "T1, T2 or T3"; empty: the set has none.
    std::string power_transformers(const std::string& last = " or ") const;
    std::vector<Threat> for_transformer() const;  ///< by criticality
    std::vector<Threat> for_transformer_by_current() const;
    std::vector<Threat> for_supply_by_current() const;  ///< of a set without a power transformer: every fault once
    std::vector<Threat> ahead_of_primary() const;
};

/// What a standard fuse does under a fault, by the gates of its family.
struct FuseVerdict {
    std::string verdict;      ///< "opens", "late", "may-open", "holds"; empty: there is no fuse to judge
    double times_rating = 0;  ///< the current that it carries over its rating
    std::optional<double> earliest_seconds, latest_seconds;  ///< absent: no gate says; the latest also where it may not
};

/// The standard time-lag fuse for a place, and what it sees.
struct FuseStudy {
    double amps = 0;       ///< 0: none of the family serves, or there is no such place; `why` says which
    std::string standard;  ///< "UL 248-14"
    double rated_volts = 0, volts_needed = 0, breaking_amps = 0, breaking_needed = 0;  ///< 0: not known
    bool holds_volts = true;  ///< its rating covers the volts across it when open
    double carried_amps = 0;  ///< rms, in normal running at the given line or the upper one, the larger; of a line fuse
                              ///< what the whole set draws
    double normal_over_rating = 0, surge_amps = 0;  ///< surge: rms with the heaters cold
    std::optional<double> inrush_i2t, melting_i2t;  ///< ampere squared seconds; absent: not computed, not published
    std::string why;
    std::vector<FuseVerdict> verdicts;  ///< by row of ThreatReport::rows
    std::size_t harmful = 0;            ///< rows that harm a power transformer (without one: any scarce part)
    std::vector<std::string> unseen;    ///< those of them for which it does not surely open in time, worst first
};

/// The largest series lamp that saves what is behind it, whatever single fault there is.
struct LampStudy {
    double watts = 0, volts = 0;  ///< 0 W: not even the smallest keeps every winding under its class
    double ratings_watts = 0;     ///< the largest behind which no part leaves its rating either; 0: none
    std::string ratings_fail;     ///< what leaves its rating behind `watts`: "R7 watts 1.3 of 0.5 (C12 short)"
    std::string next_fails;       ///< what the next larger one does not save
    double set_volts = 0, lamp_volts = 0, b_plus_volts = 0;  ///< of a sound set behind it
    std::string b_plus_net, why;
};

struct Protection {
    FuseStudy primary, centre_tap;
    LampStudy lamp;
};

/// The worst insulation that a capacitor may have where it stands, and how a meter tells it.
struct LeakageLimit {
    std::string part;
    std::optional<double> ohms, amps;  ///< absent: no leak down to 1 k does harm; 0 A: none at all is allowed
    std::optional<double> watts;       ///< inside it, at the limit
    double volts = 0;                  ///< across it in normal running, rms where most of it alternates
    std::string limited_by;  ///< "grid of V4 moved by a tenth of its bias", "its own limit as an electrolytic" ...
    std::optional<double> grid_volts_tube_out;  ///< rise at that grid with its tube pulled, at the limit
    double series_meter_volts = 0;              ///< on 10 megohm in series with it, from its normal volts, at the limit
};

/// How far a resistor may be off where it stands: no bias off by a tenth, no plate, screen or cathode over its maximum,
/// no heater or filament off by a tenth of its rated volts (of those in health where they are off by more), no plate or
/// screen off by the fifth that a chart bears.
struct DriftLimit {
    std::string part;
    double ohms = 0;
    std::optional<double> up, down;  ///< times its ohms; absent: not even ten times, or a tenth, does harm
    std::string limited_by_up, limited_by_down;
    std::string moves_most;               ///< by the adjoint: "bias of V4"; empty: it moves no mark
    double allowances_per_octave = 0;     ///< by the adjoint: what twice its ohms would use of what is allowed
    std::optional<double> adjoint_share;  ///< first-order limit, as a share of its ohms
};

/// Two faults at once.
struct PairThreat {
    std::string first, second;  ///< ids of the faults
    double primary_amps_rms = 0, primary_times_normal = 0;
    std::vector<WindingLoad> windings;  ///< of `target` where that is a power transformer; peaks where it was re-shot
    bool reshot = false;                ///< false: from the curve
    std::string target;                 ///< the power transformer, or the part whose rating the pair passes
    double hot_spot_hot_end_celsius = 0, beta = 0;
    double hot_spot_alone_celsius = 0;                ///< with the worse of the two alone
    double times_rating = 0, times_rating_alone = 0;  ///< of a set without a power transformer; alone: the worse
    std::string beta_reason;
    double chance = 0;  ///< product of both faults' chances in the hours counted: it ranks, it does not foretell
};
struct PairReport {
    std::size_t faults = 0, pairs = 0, from_curve = 0, reshot = 0;
    std::size_t not_shot = 0;          ///< estimated alone: what each fault changes, added up
    std::size_t not_shot_harmful = 0;  ///< of these: harmless alone, harmful together by the estimate
    std::size_t harmful_together = 0;  ///< neither alone does harm, both do, and clearly more than the worse of them
    std::vector<PairThreat> together, by_current;
    std::string why;  ///< nothing was solved, and why
};

/// All faults this set can have: data of the catalogue placed on its parts (short, open, leak, drift, layer shorts,
/// tube shorts, lamp lead, socket tracking ...).
TUBEWRIGHT_API std::vector<Fault> faults_of(const Chassis& chassis, const Catalogue& catalogue);

}  // namespace tubewright
