// SPDX-License-Identifier: MIT
// Settings on which the trade disagrees, and the line and meter of the bench. One plain struct; every default is
// documented here.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <tubewright/outcome.hpp>
#include <tubewright/quantity.hpp>

namespace tubewright {

/// Which parts are replaced before power: all of the ageing classes, only the risky ones, or each proved bad first.
enum class ReplacePolicy { replace_all, replace_risky, prove_each };
/// Whether the joints of one place are done in one visit, or each step stands where its risk puts it.
enum class PlacePolicy { neighbourhood, by_risk };
/// Where new electrolytics go: beside the old can, or into it.
enum class CanPolicy { under_chassis, restuff };
/// Old electrolytics: new ones, or formed slowly and judged by their leak.
enum class FilterPolicy { renew, reform };
/// Whether the set is to play, or to be kept as it is and never powered.
enum class PurposePolicy { play, preserve };

struct Supply {
    Volts volts{0};  ///< 0: the set's own marked line
    Hertz hertz{0};  ///< 0: the set's own
};

/// Input resistance of the meter, and its ohms a volt when it is of that kind (then range_volts counts; 0: chosen).
struct Meter {
    Ohms ohms{10e6};
    double ohms_per_volt = 0;
    double range_volts = 0;
};

/// "10M", "20k/V", "1k/V@250V"; the notice has no number, it is its asker's.
TUBEWRIGHT_API Outcome<Meter> read_meter(std::string_view text);

struct Policy {
    Supply line;
    Meter meter;
    ReplacePolicy replace = ReplacePolicy::replace_all;
    PlacePolicy places = PlacePolicy::neighbourhood;
    CanPolicy cans = CanPolicy::under_chassis;
    FilterPolicy electrolytics = FilterPolicy::renew;
    PurposePolicy purpose = PurposePolicy::play;
    double upper_line_volts = 0;         ///< 0: 126 V on a 100-130 V line, 253 V on 220-240 V (recalled)
    double film_stress_limit = 0.8;      ///< worst volts over rated volts of a new film capacitor (common practice)
    double electrolytic_margin = 1.1;    ///< rated over worst volts of a new electrolytic (common practice)
    double resistor_watts_margin = 2.0;  ///< rated over solved watts of a new resistor (common practice)
    double film_volts_usual = 630;       ///< one rating for everything up to 500 V, in the fewest part numbers
    double resistor_limit = 0.20;        ///< drift at which a carbon resistor is replaced (common practice)
    double line_tolerance = 0.0;         ///< band of the stated line
    double tube_spread = 0.20;           ///< plate-current spread of a good tube (assumed)
    double emission_limit = 0;           ///< most a vacuum rectifier plate gives, times its rated peak; 0: no limit
    double working_hours = 1000;         ///< hours in the criticality product (declared)
    double ambient_celsius = 25;
    double pace = 1.0;        ///< multiplies all minutes
    std::string fuse_family;  ///< empty: UL 248-14 below 150 V, IEC 60127 above
    std::string currency = "USD";
    int today_year = 2026;  ///< for ages; set by the caller
};

/// What Policy::fuse_family may be: the families of the tables, and the sheets of IEC 60127-2 without a row there.
TUBEWRIGHT_API std::span<const std::string_view> fuse_families();

/// One thing that the trade disagrees on, or that is settled here for all.
struct PolicySetting {
    struct Choice {
        std::string name, says;
    };
    std::string about;
    std::vector<Choice> choices;  ///< the first is the default; where it is the only one, a hard rule leaves no other
    std::string taken, reason;    ///< the name of the choice; why the default is the default
};
TUBEWRIGHT_API std::vector<PolicySetting> policy_settings(const Policy& policy);
/// A number that can be set, in the unit that is told.
struct PolicyNumber {
    std::string key, unit;  ///< as --assume has it
    double usual = 0, taken = 0;
    std::string reason;
};
TUBEWRIGHT_API std::vector<PolicyNumber> policy_numbers(const Policy& policy);
/// Takes the choice of that name; what it is about, or empty when there is no such choice.
TUBEWRIGHT_API std::string choose(Policy& policy, std::string_view name);

}  // namespace tubewright
