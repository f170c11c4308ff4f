// SPDX-License-Identifier: MIT
// What of a set a bring-up is about: rectifiers, the other tubes, lamps, what rides on the speaker's plug, the filters
// from the rectifier on, couplers, bias, the line side; found once, by duty and connection.
//
//     const SetOnBench set(chassis, catalogue, policy, progress);
//     set.b_plus        // the filter behind the rectifier, a net
//     set.on_string()   // the rectifier's heater is a link of a string: there is no stage without it
//
// Tests: tests/order/power_up_test.cpp, through the sheets.
#pragma once

#include <map>
#include <string>
#include <vector>

#include <tubewright/chassis.hpp>

#include "chassis/earth.hpp"
#include "chassis/graph.hpp"
#include "choice/duty.hpp"
#include "policy/policy.hpp"

namespace tubewright::power_up {

inline std::size_t at(int i) {
    return static_cast<std::size_t>(i);
}
bool in(const std::vector<std::string>& list, const std::string& what);

struct SetOnBench {
    SetOnBench(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy, const Progress& progress);

    const Chassis& chassis;
    const Catalogue& catalogue;
    const Policy& policy;
    const Progress& progress;
    Duties duties;
    Earth earth;
    PartGraph copper;
    double line_volts = 0, line_hertz = 60, lamp_volts = 120;  ///< of the sheet

    int transformer = -1;  ///< the part with a primary on the line
    int b_plus = -1;       ///< net
    std::vector<std::string> rectifiers, dry_rectifiers, others, lamps, riding, through, electrolytics, line_capacitors,
        winding_capacitors, guards, couplers, bias, line_parts, vibrators, batteries, resistance_cords;
    std::vector<double> touch_old;
    std::vector<int> filters;   ///< nets, from the rectifier on
    bool biased = false;        ///< by what the direct current returns through
    bool plug_carries = false;  ///< more than a voice coil rides on the speaker's plug

    const Part& part(int i) const { return chassis.parts()[at(i)]; }
    std::string name(int net) const { return net < 0 ? "" : chassis.nets()[at(net)].name; }
    /// Fed from the line without a transformer, the rectifier's heater in the string where it has one.
    bool on_string() const;
    bool direct_line() const;
    int metal() const;
    int centre_tap() const;
    /// Ohms of the control whose wiper is one of the two nets and whose end is the other; 0 when there is none.
    double wiper_ohms(int from, int to) const;
    std::vector<std::string> output_tubes() const;
    bool is_output(const Part& p) const;
    std::string caution(const std::string& topic) const;
    double minutes(const char* key) const;
    /// What was found useless, dried, drifted or spliced and is not settled by the log: no figure is of it as it is.
    std::string found_bad() const;
    static bool found_bad(const Part& p);
    /// What is no good by the log or the study, and stands in its place still: part, and "V4 (found shorted)". What the
    /// file has seen is found_bad() and the rules' own.
    std::vector<std::pair<int, std::string>> no_good() const;

  private:
    bool on_line(const Part& p) const;
    bool supply_lead(const Part& p) const;
    void sort_out(int index);
    void find_filters();
};

/// Under so many ohms from a blade to metal the upper line passes the touch limit; a meter's 3 % on top.
double touch_least_ohms(const SetOnBench& set);

/// Why the whole of it is not answered, and what opens it.
Notice refusal(const Chassis& chassis, int number, const std::string& message, const std::string& remedy);

/// The same set without its vibrator: what the battery feeds by itself.
Chassis without_vibrator(const Chassis& chassis);
/// On its batteries: the line away, the changeover switch turned, batteries plugged; `a_alone`: but for the A battery.
Chassis on_batteries(const Chassis& chassis, bool a_alone);

}  // namespace tubewright::power_up
