// SPDX-License-Identifier: MIT
// The library in one page: a chassis file in, what threatens the transformer out. The README shows this text.
// Usage: first_study [FILE]. Exit status as the program's: 3 when the file cannot be read, 4 when the set has no
// solution.
#include <iostream>
#include <tubewright/tubewright.hpp>

namespace tw = tubewright;

int main(int count, char** words) {
    const tw::Catalogue catalogue = tw::Catalogue::shipped();
    const tw::Outcome<tw::Chassis> set =
        tw::read_chassis(count > 1 ? words[1] : "netlists/s1-quarry-hill.xml", catalogue);
    if (!set) {
        for (const tw::Notice& notice : set.notices()) std::cerr << notice.text() << '\n';
        return 3;
    }
    tw::Policy policy;
    policy.line = {tw::volts(120), tw::hertz(60)};
    const tw::Study study(*set, catalogue, policy);

    const auto normal = study.volts(tw::Scenario::normal), cold = study.volts(tw::Scenario::warm_up);
    const auto threats = study.threat_report();
    if (!normal || !cold || !threats) return 4;
    std::cout << "B-plus " << tw::say(normal->at("bplus").dc) << ", and up to " << tw::say(cold->at("bplus").crest)
              << " while the tubes are cold\n";
    int shown = 0;
    for (const tw::Threat& threat : threats->for_transformer()) {
        if (++shown > 3) break;
        std::cout << threat.part << ' ' << threat.mode << ": " << threat.chain() << '\n';
    }
}
