// SPDX-License-Identifier: MIT
// What each part may bear, and how much of it a solution asks for. A limit names one figure of one part ("watts" of R7,
// "screen watts" of V4, "peak amperes" of one plate of V5); the same limits serve the stress tables and the study of
// faults, so that both judge alike.
//
// Example: the 42 of catalogue row "42" has plate watts 11 and screen watts 3.75 (recalled); R3 has the watts that the
// file states. Limits that nobody gave are declared here and say so in their source. Tests: tests/stress/.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <tubewright/bench.hpp>

namespace tubewright::stress {

/// The branches of a solution, found by part.
class Loads {
  public:
    Loads(const Chassis& chassis, const Solution& solution);
    const Solution& solution() const { return *solution_; }
    std::span<const Branch> of(int part) const;
    /// nullptr when the part has no such lead.
    const Branch* at(int part, std::string_view lead) const;

  private:
    const Solution* solution_;
    std::vector<std::pair<int, int>> ranges_;  ///< by part: first branch and one past the last
};

enum class Figure {
    crest_volts,     ///< across a two-terminal part
    reversed_volts,  ///< minus to plus of an electrolytic, at the worst instant
    watts,           ///< of the whole part
    electrode_watts,
    electrode_volts,  ///< direct, to the cathode
    cathode_amps,
    direct_amps,  ///< of a rectifier: all plates together, or one of two diodes in a bulb
    peak_amps,
    inverse_volts,
    rms_amps,              ///< of a winding
    heater_cathode_volts,  ///< at the crest of the period
    heater_cathode_direct_volts,
    heater_high,     ///< over 1.1 of the rated heater volts
    heater_low,      ///< rated heater volts over the volts there are, against 1/.9
    heater_section,  ///< of a tapped heater, where it has more than its share: over 1.1 of its volts
    lamp_volts
};

struct Limit {
    int part = -1;
    std::string lead;  ///< empty: the part as a whole
    Figure figure = Figure::watts;
    std::string quantity;  ///< "plate watts", "watts", "volts" ...
    double limit = 0;
    std::string source;  ///< "stated in the file", "catalogue (recalled)", "assumed: ..."
};

/// Not there in a condition: a tube pulled, a dial lamp out, what rides on the speaker's plug. What stands between the
/// contacts of its socket is no load of its.
bool absent(const Chassis& chassis, int part, const Condition& condition);

/// All limits of a set, by part. `example` is any solution of the set: it tells which leads have branches.
std::vector<Limit> limits_of(const Chassis& chassis, const Catalogue& catalogue, const Solution& example);
/// The figure that the limit is about; 0 when the solution has no such branch, or the part is not there in it.
double figure_of(const Limit& limit, const Chassis& chassis, const Loads& loads);

/// Farads beyond which practice does not load a rectifier whose row gives no limit: 40 uF, 20 uF where the cathode is
/// of a 6.3 V heater, the first to be hurt (common practice, no source).
double first_filter_in_practice(const TubeType& type);
/// A rectifier whose heater is made for a series string.
bool made_for_a_string(const TubeType& type);

/// By net: stands on the line side of a power transformer's primary (through switch, fuse, wire, choke or resistor).
/// All false without a line.
std::vector<bool> line_side_of(const Chassis& chassis);
/// The same from one blade alone, as far as the net `end` and without it; through resistors or not (one across the line
/// leads to the other blade).
std::vector<bool> line_side_of(const Chassis& chassis, int blade, bool through_resistors, int end);

/// The electrode and pin of a branch's lead at a socket: "g2 3" is {"g2", "3"}.
struct ElectrodeLead {
    std::string_view electrode, pin;
};
ElectrodeLead electrode_of(std::string_view lead);
/// Rated volts between the ends of one heater as wired: a tapped heater with its ends joined runs at half.
double wired_heater_volts(const Part& part);
/// The electrodes of the type that are its screen ("g2"; a converter: the joined grids), empty when it has none.
std::vector<std::string> screen_of(const TubeType& type);

}  // namespace tubewright::stress
