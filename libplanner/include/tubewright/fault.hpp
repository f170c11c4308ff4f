// SPDX-License-Identifier: MIT
// What may be wrong with a set, placed on its parts, and what was done to it so far.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include <tubewright/outcome.hpp>

namespace tubewright {

struct TubeType;

/// A way a part can fail, placed: the parts and nets it touches and the value it takes.
enum class FaultMode {
    short_circuit,
    open,
    leak,
    drift,
    layer_short,
    weak,
    dead,
    grid_cathode_short,
    heater_cathode_short,
    plate_grid_short,
    plate_cathode_short,
    screen_grid_short,
    gas,
    to_chassis,
    tracking,
    reversed
};
TUBEWRIGHT_API const char* word(FaultMode mode);
struct Fault {
    std::string id;  ///< "C1 short", "T1 plate half 1 layer short"
    int part = -1;
    FaultMode mode = FaultMode::short_circuit;
    int lead_a = -1, lead_b = -1;  ///< leads of the part that are joined; or lead_a to net_b
    int net_b = -1;
    int winding = -1, half = -1;
    double ohms = 0;    ///< short, leak, tracking: resistance of the path
    double factor = 1;  ///< drift: times the value; weak: times the emission
};

/// State of one part on the bench.
enum class PartState { original, lifted, removed, omitted, fitted, proved };
/// "original", "lifted", "removed", "left out on purpose", "fitted", "proved"
TUBEWRIGHT_API const char* word(PartState state);
/// A reading taken with a meter, as it was taken.
struct Reading {
    std::string at, to, quantity;  ///< "volts dc", "volts ac", "ohms", "amps", "watts"
    double value = 0;
    double line_volts = 0;   ///< 0: not said
    std::string meter;       ///< as written; empty: not said
    std::string conditions;  ///< "warm-up", "cold"
    std::string taken;       ///< when: UTC, as the log has it
    std::size_t deeds = 0;   ///< how many there were before it
};
/// What stands in the place of a part, or what it was found to be: the words written, and what of them is a figure.
struct Measured {
    std::string words;
    OptionalNumber value, rated_volts, rated_watts;  ///< SI, in the unit of the part's kind
    std::optional<int> year;
    const TubeType* type = nullptr;  ///< of a tube; lives as long as the Catalogue
};
/// One thing that was done: `act` in the words of the rules, word(ActKind).
struct Deed {
    std::string act;
    std::vector<std::string> parts;
    double minutes = 0;
};
/// Where the facts came from.
struct LogHead {
    std::string file;  ///< empty: no log was read
    int entries = 0;
    std::string last;               ///< when the last entry was made
    std::vector<std::string> gone;  ///< what the log says of parts that the file no longer has, or has as another
    bool edited = false;            ///< the chassis file is not the one that the last entry was made beside
};
/// What was done so far. Empty for a set just arrived.
struct Progress {
    std::map<std::string, PartState> parts;
    std::map<std::string, PartState> back;           ///< what a part that is out is again when it is back
    std::map<std::string, Measured> fitted;          ///< what was put in, where that was said
    std::map<std::string, Measured> found;           ///< the last value read of the part that stands there
    std::map<std::string, std::string> seen;         ///< what it was found to be since, in the file's words: "open"
    std::map<std::string, std::string> does_not_do;  ///< new parts that are wrong for their places, and why: no entry
                                                     ///< of the log, but the study's verdict on it (Study::relied_on)
    std::map<std::string, std::string> reasons;      ///< why a part is left out
    std::vector<std::string> gates_passed;           ///< rules signed by hand, by their id
    std::map<std::string, std::string> signed_with;  ///< the words of those signatures
    std::map<std::string, std::string> overrides;    ///< rules that were overridden, and why
    std::vector<std::string> steps_done, stages_passed;
    std::map<std::string, std::size_t>
        passed_at;            ///< of these, how many deeds there were at their end; else it is last
    std::vector<Deed> deeds;  ///< all of it in order; the rules are judged by it
    std::vector<Reading> readings;
    LogHead log;
};

class Chassis;
/// The set as it stands: what is out or lifted passes nothing, what was fitted is there with its value, what was
/// measured off its print is there with what it reads. Nothing else of it changes: nets, leads and names are those of
/// `chassis`.
TUBEWRIGHT_API Chassis apply(const Progress& progress, const Chassis& chassis);

}  // namespace tubewright
