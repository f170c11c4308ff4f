// SPDX-License-Identifier: MIT
// See policy.hpp.
#include "policy/policy.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "terms/near.hpp"
#include "terms/period_value.hpp"

namespace tubewright {

double upper_line_volts(const Policy& policy, double nominal_volts) {
    if (policy.upper_line_volts > 0) return policy.upper_line_volts;
    double limit = 1.05 * nominal_volts;
    if (nominal_volts >= 100 && nominal_volts <= 130) limit = 126;
    if (nominal_volts >= 200 && nominal_volts <= 250) limit = 253;
    return std::max(limit, nominal_volts);
}

OffLine off_line(const Policy& policy, double own_volts, double own_hertz) {
    const double now = policy.line.volts.value() > 0 ? policy.line.volts.value() : own_volts;
    const double cycles = policy.line.hertz.value() > 0 ? policy.line.hertz.value() : own_hertz;
    return {now > line_most * own_volts || now < line_least * own_volts,
            cycles < cycles_least * own_hertz || cycles > own_hertz / line_least};
}

std::span<const std::string_view> fuse_families() {
    static constexpr std::array<std::string_view, 7> families{
        "UL 248-14",           "IEC 60127-2 sheet 1", "IEC 60127-2 sheet 2", "IEC 60127-2 sheet 3",
        "IEC 60127-2 sheet 4", "IEC 60127-2 sheet 5", "IEC 60127-2 sheet 6"};
    return families;
}

std::string fuse_family(const Policy& policy, double nominal_volts) {
    if (!policy.fuse_family.empty()) return policy.fuse_family;
    return nominal_volts < 150 ? "UL 248-14" : "IEC 60127-2 sheet 3";
}

double meter_range_volts(const Meter& meter, double reading_volts) {
    if (!(meter.ohms_per_volt > 0)) return 0;
    if (meter.range_volts > 0) return meter.range_volts;
    const double size = std::fabs(reading_volts);
    for (const double range : {2.5, 10.0, 50.0, 250.0, 500.0}) {
        if (size <= range) return range;
    }
    return 1000;
}

bool past_range(const Meter& meter, double reading_volts) {
    const double range = meter_range_volts(meter, reading_volts);
    return range > 0 && std::fabs(reading_volts) > range;
}

double meter_ohms(const Meter& meter, double reading_volts) {
    const double range = meter_range_volts(meter, reading_volts);
    return range > 0 ? meter.ohms_per_volt * range : meter.ohms.value();
}

namespace {

struct Named {
    const char *about, *name, *says;
    void (*take)(Policy&);
    bool (*taken)(const Policy&);
};

template <auto Field, auto Value>
constexpr Named named(const char* about, const char* name, const char* says) {
    return {about, name, says, [](Policy& p) { p.*Field = Value; }, [](const Policy& p) { return p.*Field == Value; }};
}
constexpr Named settled(const char* about, const char* name, const char* says) {
    return {about, name, says, [](Policy&) {}, [](const Policy&) { return true; }};
}

// The first choice of each is the default.
constexpr Named choices[] = {
    named<&Policy::replace, ReplacePolicy::replace_all>("replacing", "replace-all",
                                                        "every part of the classes that age makes dangerous is new"),
    named<&Policy::replace, ReplacePolicy::replace_risky>(
        "replacing", "replace-risky", "new where a fault would harm something by the solve; the rest stays for now"),
    named<&Policy::replace, ReplacePolicy::prove_each>("replacing", "prove-each",
                                                       "each part is proved bad before it goes"),
    named<&Policy::places, PlacePolicy::neighbourhood>(
        "places", "neighbourhood",
        "socket by socket: what is done at a place is done in one visit; a second one only where work elsewhere stands "
        "between or the danger is worth the turn"),
    named<&Policy::places, PlacePolicy::by_risk>(
        "places", "by-risk", "each step where its danger puts it; a place may be turned to more than once"),
    named<&Policy::cans, CanPolicy::under_chassis>("cans", "under-chassis",
                                                   "new electrolytics under the chassis, the old can stays as a dummy"),
    named<&Policy::cans, CanPolicy::restuff>("cans", "restuff", "new electrolytics inside the old can"),
    named<&Policy::electrolytics, FilterPolicy::renew>("electrolytics", "renew", "old electrolytics are replaced"),
    named<&Policy::electrolytics, FilterPolicy::reform>(
        "electrolytics", "reform", "formed through a resistor for hours; kept where the leak comes down"),
    named<&Policy::purpose, PurposePolicy::play>("purpose", "play", "the set is brought back to work"),
    named<&Policy::purpose, PurposePolicy::preserve>("purpose", "preserve",
                                                     "do not power: looked at, read cold, tagged and kept as found"),
    settled("X and Y parts", "safety-class", "class X or Y on the line, small enough for the touch current"),
    settled("originals under power", "never", "no old paper or filter is powered, however briefly"),
};

const char* why(const std::string& about) {
    if (about == "replacing") return "a leaky paper that was spared costs a tube or a transformer, a new one a coin";
    if (about == "places") return "a change of place costs minutes, and joints of one place are checked best together";
    if (about == "cans") return "half the minutes, and it can be undone; inside the can it looks as it was";
    if (about == "electrolytics")
        return "a formed one may fail in the first evening, and its short is what burns transformers";
    if (about == "purpose")
        return "most sets are there to play; one of which no other is left may be worth more as it is";
    if (about == "X and Y parts") return "an ordinary capacitor that shorts there makes the metal a line wire (H5)";
    return "H7 wants them new, proved or left out before the rectifier goes back";
}

Outcome<Meter> no_meter(std::string message) {
    Notice notice;
    notice.message = std::move(message);
    notice.remedy = "write 10M, 20k/V, or 1k/V@250V";
    return notice;
}
std::string reason(const Outcome<double>& read) {
    return read.notices().front().message;
}

}  // namespace

Outcome<Meter> read_meter(std::string_view text) {
    Meter meter;
    const std::size_t slash = text.find('/');
    if (slash == std::string_view::npos) {
        const Outcome<double> read = read_value(text, Measure::ohms, MMeans::million);
        if (!read) return no_meter(reason(read));
        if (*read < 1000) return no_meter(std::string(text) + " is no voltmeter");
        meter.ohms = ohms(*read);
        return meter;
    }
    const Outcome<double> per_volt = read_value(text.substr(0, slash), Measure::ohms, MMeans::million);
    if (!per_volt) return no_meter(reason(per_volt));
    std::string_view rest = text.substr(slash + 1);
    if (rest.empty() || (rest.front() != 'V' && rest.front() != 'v'))
        return no_meter(quoted(text) + " does not say ohms a volt");
    rest.remove_prefix(1);
    meter.ohms_per_volt = *per_volt;
    meter.ohms = ohms(0);
    if (rest.empty()) return meter;
    if (rest.front() != '@') return no_meter(quoted(rest) + " is not a range");
    const Outcome<double> range = read_value(rest.substr(1), Measure::volts);
    if (!range) return no_meter(reason(range));
    meter.range_volts = *range;
    meter.ohms = ohms(*range * *per_volt);
    return meter;
}

std::vector<PolicySetting> policy_settings(const Policy& policy) {
    std::vector<PolicySetting> all;
    for (const Named& one : choices) {
        if (all.empty() || all.back().about != one.about) all.push_back({one.about, {}, {}, why(one.about)});
        all.back().choices.push_back({one.name, one.says});
        if (one.taken(policy)) all.back().taken = one.name;
    }
    return all;
}

std::vector<PolicyNumber> policy_numbers(const Policy& policy) {
    struct Row {
        const char *key, *unit;
        double Policy::*field;
        const char* reason;
    };
    static constexpr Row rows[] = {
        {"upper-line", "V", &Policy::upper_line_volts,
         "0: 126 V where 100 to 130 V are usual, 253 V on 220 to 240 V (recalled)"},
        {"film-stress-limit", "of rating", &Policy::film_stress_limit,
         "film that is worked below its rating keeps (common practice)"},
        {"electrolytic-margin", "times", &Policy::electrolytic_margin,
         "rated over worst volts; more than a half again does not form (common practice)"},
        {"resistor-watts-margin", "times", &Policy::resistor_watts_margin,
         "at half its watts a resistor stays cool in a closed chassis (common practice)"},
        {"film-volts", "V", &Policy::film_volts_usual, "one rating for all places up to 500 V: fewest numbers to buy"},
        {"resistor-limit", "of value", &Policy::resistor_limit,
         "the tolerance that most were sold with (common practice)"},
        {"line-tolerance", "of volts", &Policy::line_tolerance, "the line as it was read"},
        {"tube-spread", "of current", &Policy::tube_spread, "good tubes differ so far (assumed)"},
        {"emission-limit", "rated peaks", &Policy::emission_limit,
         "0: no limit; a rectifier gives more than its rated peak"},
        {"hours", "h", &Policy::working_hours, "working hours in the criticality product (declared)"},
        {"ambient", "degrees C", &Policy::ambient_celsius, "a room"},
        {"pace", "times", &Policy::pace, "multiplies all minutes: your own hand against the table"},
    };
    const Policy usual;
    std::vector<PolicyNumber> all;
    for (const Row& row : rows) all.push_back({row.key, row.unit, usual.*row.field, policy.*row.field, row.reason});
    return all;
}

std::string choose(Policy& policy, std::string_view name) {
    for (const Named& one : choices)
        if (name == one.name) {
            one.take(policy);
            return one.about;
        }
    return {};
}

}  // namespace tubewright
