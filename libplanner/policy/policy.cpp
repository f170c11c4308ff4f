// SPDX-License-Identifier: MIT
// See policy.hpp.
#include "policy/policy.hpp"

#include <algorithm>
#include <cmath>

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

double meter_ohms(const Meter& meter, double reading_volts) {
    const double range = meter_range_volts(meter, reading_volts);
    return range > 0 ? meter.ohms_per_volt * range : meter.ohms.value();
}

}  // namespace tubewright
