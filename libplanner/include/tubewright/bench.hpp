// SPDX-License-Identifier: MIT
// A set on the (computed) bench: volts and amperes in the trade's words for a chassis in a condition. Every number is
// solved; what nobody gave is listed as an assumption. This module is the one door to the circuit solver.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <tubewright/catalogue.hpp>
#include <tubewright/chassis.hpp>
#include <tubewright/outcome.hpp>
#include <tubewright/policy.hpp>
#include <tubewright/quantity.hpp>

namespace tubewright {

/// The named conditions, each a full solution.
///   normal             the given line, all tubes hot
///   high_line          the upper line limit (Policy::upper_line_volts)
///   warm_up            directly heated or dry rectifier conducting, the others still cold, at the upper line
///   rectifier_out      transformer test: rectifier pulled, speaker plugged, tubes hot
///   transformer_alone  rectifier and all tubes pulled, dial lamps out
///   tube_out           one tube pulled (Condition::tube), on paper
///   speaker_unplugged  its field coil and output primary go open, at the upper line limit
///   output_cut_off     output tube draws nothing
///   lamp               behind a series lamp (Condition::lamp_watts at lamp_volts)
///   step               a bring-up step at Condition::line volts
///   as_found           normal, with what was seen shorted passing from end to end (parts of two leads)
enum class Scenario {
    normal,
    high_line,
    warm_up,
    rectifier_out,
    transformer_alone,
    tube_out,
    speaker_unplugged,
    output_cut_off,
    lamp,
    step,
    dial_lamp_out,
    switch_on,   ///< the first second: lamps and filaments as hot as their volts make them, heaters of cathodes still
                 ///< cold
    soak,        ///< after an hour: fields and chokes at the heat that their own watts give them
    as_found,    ///< what was seen shorted passes from end to end; all else as normal
    signal_peak  ///< output tubes driven until their grids reach their cathodes; no_load: the voice coil open
};
/// Command-line words: "normal", "high-line", "warm-up", "rectifier-out", "transformer-alone", "tube-out:V4",
/// "speaker-unplugged", "output-cut-off", "lamp:60W", "step:90V",
/// "dial-lamp-out:DS1", "switch-on", "soak", "as-found", "signal-peak", "signal-peak:no-load".
TUBEWRIGHT_API std::string word(Scenario scenario);

struct Condition {
    Scenario scenario = Scenario::normal;
    std::string tube;  ///< tube_out: the socket's id; dial_lamp_out: the lamp's
    double line_volts =
        0;  ///< 0: the policy's line, else the set's own (high_line, warm_up, speaker_unplugged: the upper limit)
    double line_hertz = 0;
    bool no_load = false;   ///< signal_peak
    double lamp_watts = 0;  ///< > 0: a series lamp in any scenario
    double lamp_volts = 120;
    /// "tube-out:V4", "lamp:60W"
    TUBEWRIGHT_API std::string text() const;
    TUBEWRIGHT_API static Outcome<Condition> parse(std::string_view text);
};

/// Volts of one net against the set's reference net.
struct NetVolts {
    int net = -1;
    std::string name;
    Volts dc, low, high;           ///< mean, and its band
    Volts rms, rms_low, rms_high;  ///< ac part, and its band
    Volts ripple_pp;
    double ripple_hertz = 0;
    Volts trough, crest;        ///< lowest and highest instant
    Ohms source;                ///< resistance that a meter sees; NaN-free: infinite becomes `undetermined`
    Volts meter;                ///< what the policy's meter reads
    bool undetermined = false;  ///< no direct-current path: a history, not a solution
    /// A grid that nothing returns: undetermined, and low to high the range over its gas current and its socket's leak.
    bool open_grid = false;
};

/// Current through one lead of one part. For windings lead is the winding's name (plate halves: "plate.1", "plate.2");
/// for tubes the electrode and pin.
struct Branch {
    int part = -1;
    std::string lead;
    Amps dc, rms, peak;  ///< into the part at that lead
    Watts watts;  ///< copper loss of the winding half; dissipation of the electrode; of the part for two-terminal parts
    /// Across the winding half, the part, or electrode to cathode; rms without the direct part, peak with it.
    Volts volts_dc, volts_rms, volts_peak;
    Volts volts_low, volts_high;  ///< the same way round, at the lowest and the highest instant
};

/// A section of a tapped heater.
struct HeaterSection {
    std::string lead;  ///< as its branch has it
    Volts across, rated;
};

/// A heater or a dial lamp: its sections together as a meter finds them, in series or side by side.
struct HeaterVolts {
    int part = -1;
    Volts across, rated;                ///< rms, the direct part with it
    double dimmest = 0, brightest = 0;  ///< volts over rated ones of its sections
    double warming = 0;  ///< switch_on: the highest share while the string warms; 0 where none is fed by copper
    std::vector<HeaterSection> sections;  ///< from end to end; none where there is no tap
};

/// Between the heater of a tube and its cathode, at the instant of the period when they stand furthest apart.
struct HeaterCathode {
    int part = -1;
    int heater = -1, cathode = -1;  ///< nets, of those that the tube has the two furthest apart
    Volts volts;                    ///< cathode less heater
};

struct SolverReport {
    std::string method;
    int steps_per_period = 0;
    double worst_kcl_amps = 0;
    std::string worst_kcl_net;
    double period_error_volts = 0;
    bool start_points_agree = true;
};

/// Current through the centre tap of a plate winding of a power transformer: of both halves in turn or together.
struct TapAmps {
    int part = -1, winding = -1;  ///< winding: as the part has them
    Amps rms;
};

struct Solution {
    Condition condition;
    double line_volts = 0, line_hertz = 0;
    std::vector<NetVolts> nets;    ///< by net index
    std::vector<Branch> branches;  ///< by part, then lead
    std::vector<HeaterVolts> heaters;
    std::vector<HeaterCathode> heater_cathode;  ///< by part
    std::vector<TapAmps> taps;
    SolverReport solver;
    std::vector<Assumption> assumptions;
    Amps primary_rms, primary_peak;  ///< of the power transformer, or of the line where there is none
    Watts line_watts;
    Amps drawn;  ///< from the line, rms; from the leading battery, the mean: what an ammeter in its lead reads
    double set_volts = 0;   ///< across the set behind the lamp
    double lamp_volts = 0;  ///< across the lamp, 0 without one
    TUBEWRIGHT_API const NetVolts& at(const Chassis& chassis,
                                      std::string_view net) const;  ///< throws Error for a net that is not there
    TUBEWRIGHT_API const Branch* branch(int part, std::string_view lead) const;  ///< nullptr when there is none
};

/// What a section amplifies as it stands in the set, everything loading it that is soldered there. Ratios of volts
/// against the net that its signals return to; negative where the signal is turned over.
struct StageGain {
    int part = -1;
    std::string section;
    int from_net = -1, to_net = -1;      ///< its grid; its plate, or its cathode where that is where the signal leaves
    int against_net = -1;                ///< of a push-pull pair: the other grid, driven as much the other way
    double hertz = 0;                    ///< 1,000, or where its tuned load rings
    std::optional<double> gain;          ///< with its grid held by a generator
    std::optional<double> cathode_gain;  ///< what the cathode follows of the grid
    std::string cathode;                 ///< "at common", "bypassed", "partly bypassed", "not bypassed": by that
    std::optional<double> gm_siemens, rp_ohms;  ///< of the section where it stands
    std::optional<double> plate_source_ohms;    ///< of the plate's net with all that loads it
    std::optional<double> source_ohms;          ///< the same where the signal leaves
    std::string why_not;                        ///< when there is no gain
};

/// From the wiper of a volume control, held by a generator, to the plate of an output tube or to the voice coil.
struct OverallGain {
    int part = -1, from_net = -1, to_net = -1;
    double hertz = 0;
    std::optional<double> gain;
    std::string why_not;
};

/// A coil and what tunes it. Wiring, tubes and the coil itself add some tens of mmf that no file holds.
struct TunedCircuit {
    int part = -1;
    std::string coil;                                     ///< the coil's id; of a transformer with the winding's name
    std::vector<int> capacitors;                          ///< parts that tune it
    std::optional<double> henries, farads, least_farads;  ///< across it; with what turns at its least, if known
    std::optional<double> resonance_hertz, resonance_high_hertz;  ///< by Thomson, of farads and of least_farads
    std::optional<double> solved_hertz, peak_ohms, q;  ///< of the impedance across it as loaded; the coil's ohms are
                                                       ///< those of direct current, so that q is the most it can be
    std::optional<double> wanted_henries;              ///< to ring at the kilocycles that the file states
    std::string why_not;                               ///< what is not computed, and why
};

struct SmallSignal {
    Condition condition;
    std::vector<StageGain> stages;  ///< by part, then section
    std::vector<OverallGain> overall;
    std::vector<TunedCircuit> tuned;
};

}  // namespace tubewright
