// SPDX-License-Identifier: MIT
// What a part does in its set, from the part graph: the first filter, the output coupler, the bypass of a cathode, the
// capacitor from the line to the metal. Choice takes the replacement from it, order the step that it belongs to.
//
//     const Duties d = duties_of(chassis);
//     d.of(part) == Duty::output_coupler;  d.grid_tube[part] names the tube whose grid it feeds
//
// Tests: tests/choice/duty_test.cpp.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include <tubewright/chassis.hpp>
#include <tubewright/policy.hpp>

namespace tubewright {

enum class Duty {
    none,
    line_to_line,
    line_to_touch,  ///< line to chassis metal, B-minus or what a hand can reach
    hash_bypass,    ///< on the battery lead of a set without a line
    plate_winding,  ///< across a plate winding: buzz and buffer capacitors
    first_filter,
    filter,
    output_coupler,
    coupler,
    output_plate_bypass,
    screen_bypass,
    supply_bypass,  ///< from anything fed by B-plus to a return
    cathode_bypass,
    bias_filter,  ///< on the grid's return of an output tube, of whatever construction: its leak takes the bias away
    grid_bypass,  ///< AVC and the like
    tuned,        ///< on a tuned circuit, or too small to be anything else
    resonant,     ///< across a choke or coil, or in series with one alone: its value is the frequency
    output_cathode_resistor,
    output_grid_leak,
    bias_feed,  ///< from the source of the bias to the point that the bias filter keeps quiet
    back_bias_resistor,
    cathode_resistor,
    grid_leak,
    plate_load,
    screen_feed,
    divider
};
const char* word(Duty duty);

struct Duties {
    std::vector<Duty> duty;                     ///< by part
    std::vector<std::vector<int>> feeds;        ///< by part: sockets whose grid, screen, plate or cathode it stands on
    std::vector<int> rectifiers, output_tubes;  ///< sockets
    std::vector<bool> fed;    ///< by net: reached by direct current from the rectifier without the reference
    std::vector<int> rank;    ///< by net: parts between it and the rectifier, -1 when not fed
    std::vector<bool> line;   ///< by net: as good as wired to a blade, switch closed, or on the primary
    std::vector<int> hand;    ///< by part: of line_to_touch, which thing that a hand can hold it leads to
    std::vector<bool> loads;  ///< by part: capacitors whose short leaves so little between rectifier and return (50 k)
                              ///< that it loads the supply
    /// Capacitors from the line to the thing that this one leads to, itself with them.
    int sharing_hand(int part) const;
    Duty of(int part) const { return duty[static_cast<std::size_t>(part)]; }
    /// Capacitors that must be new, proved or out before the rectifier goes back.
    bool guards_rectifier(const Chassis& chassis, int part) const;
};
Duties duties_of(const Chassis& chassis);

/// The condition of an output stage that is driven with nothing on it: a surge for what is bought, no rating of what is
/// there.
constexpr std::string_view without_speaker = "signal-peak:no-load";

/// The share of its ohms by which a resistor may be off and stay: the policy's, a tenth at most where bias or a divider
/// hangs on it.
double drift_allowed(Duty duty, const Policy& policy);

/// Capacitors whose short would have burnt the resistor: on its end away from the rectifier.
std::vector<std::string> burnt_by(const Chassis& chassis, const Duties& duties, int resistor);

/// Wax, moulded, block or oil paper; electrolytics; by construction, and where none is given by the trade's guess from
/// the value.
bool is_paper(const Part& part);
bool is_electrolytic(const Part& part);
/// seen: something that makes the part bad whatever it reads.
bool seen_bad(const Part& part);
bool seen_burnt(const Part& part);
/// A wire of which nothing is wrong but its joint.
bool only_loose(const Part& part);

}  // namespace tubewright
