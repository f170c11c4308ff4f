// SPDX-License-Identifier: MIT
// A stage or an amplifier on a rail of known volts: an alternating-current supply whose plate winding is adjusted until
// the rail stands where the drawing prints it. The supply is ours and its choice must not matter: it is stiff and
// smooth.
#pragma once

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <string>
#include <tubewright/tubewright.hpp>

namespace published {

namespace tw = tubewright;

inline const tw::Catalogue& catalogue() {
    static const tw::Catalogue shipped = tw::Catalogue::shipped();
    return shipped;
}

/// `parts` are elements of a chassis file on the net "rail"; heaters go on "heaters" and "gnd", the rectifier is V9.
inline tw::Study on_winding(const std::string& parts, double winding_volts) {
    const std::string volts = std::to_string(winding_volts);
    const std::string text =
        R"(<chassis version="1" name="a published circuit" built="1958" reference="gnd" m-means="million">
  <line volts="117" hertz="60" hot="P1.1" neutral="P1.2"/>
  <node is="chassis-metal" net="gnd" touch="yes"/>
  <plug id="P1" role="line"/>
  <transformer id="T9" role="power" va="80">
    <winding role="primary" leads="P1.1 P1.2" volts="117" ohms="5"/>
    <winding role="plate" leads="V9.4 gnd V9.6" noload-volts=")" +
        volts + " " + volts + R"(" ohms="60 60"/>
    <winding role="rectifier-heater" leads="V9.2 V9.8" volts="5" amps="2"/>
    <winding role="heater" leads="heaters gnd" volts="6.3" amps="3"/>
  </transformer>
  <socket id="V9" tube="5Y3GT"/>
  <capacitor id="C90" value="40 mfd" volts="600" construction="dry-electrolytic" plus="V9.8" minus="gnd"/>
  <coil id="L9" role="choke" henries="20" ohms="100" a="V9.8" b="rail"/>
  <capacitor id="C91" value="80 mfd" volts="600" construction="dry-electrolytic" plus="rail" minus="gnd"/>
)" + parts +
        "</chassis>\n";
    const tw::Outcome<tw::Chassis> set = tw::read_chassis_text(text, "published.xml", catalogue());
    if (!set) {
        std::string why;
        for (const tw::Notice& notice : set.notices()) why += notice.text() + "\n";
        throw std::runtime_error(why);
    }
    return tw::Study(*set, catalogue());
}

/// The set with the rail within a tenth of a volt of `rail_volts` in normal service: by secants on the winding.
inline tw::Study study_on_rail(const std::string& parts, double rail_volts) {
    double last_winding = 0, last_rail = 0, winding = 0.85 * rail_volts;
    for (int round = 0; round < 12; ++round) {
        tw::Study study = on_winding(parts, winding);
        const auto volts = study.volts(tw::Scenario::normal);
        if (!volts) throw std::runtime_error(volts.notices().empty() ? "not solved" : volts.notices().front().text());
        const double rail = volts->at("rail").dc.value();
        if (std::fabs(rail - rail_volts) < 0.1) return study;
        const double slope = round == 0 ? rail / winding : (rail - last_rail) / (winding - last_winding);
        last_winding = winding;
        last_rail = rail;
        winding += (rail_volts - rail) / slope;
    }
    throw std::runtime_error("the rail does not come to its volts");
}

/// Its normal volts.
inline tw::VoltsView on_rail(const std::string& parts, double rail_volts) {
    return *study_on_rail(parts, rail_volts).volts(tw::Scenario::normal);
}

/// The gain of the stage that is driven at a net.
inline double gain_from(const tw::Study& study, const char* net) {
    const tw::Outcome<tw::SmallSignal> found = study.small_signal();
    for (const tw::StageGain& one : found.value().stages)
        if (one.from_net == study.chassis().net(net)) return one.gain.value();
    throw std::runtime_error(std::string("no stage is driven at ") + net);
}

/// A printed reading: the net, the volts, and what one step of its last printed digit is worth.
struct Printed {
    const char* net;
    double volts;
    double digit;
    /// How far a solution may stand from it: 12 %, or half a step of the last digit, whichever is more.
    double margin() const { return std::max(0.12 * std::fabs(volts), digit / 2); }
};

}  // namespace published
