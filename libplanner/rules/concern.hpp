// SPDX-License-Identifier: MIT
// Which parts of a chassis each rule is about, worked out from its connections alone: floods over the parts from the
// line blades, the plate windings, the rectifier's output and the output tubes' electrodes. It uses nothing of the code
// that chooses or orders, so that it can judge it.
//
//     const Concern c = concern_of(chassis, catalogue);
//     c.supply_papers   // filters and papers that load the supply or lift a power grid when shorted (H7)
//
// Tests: tests/rules/concern_test.cpp.
#pragma once

#include <set>
#include <string>
#include <utility>
#include <vector>

#include <tubewright/chassis.hpp>
#include <tubewright/rules.hpp>

namespace tubewright {

using Ids = std::set<std::string>;

struct Concern {
    Ids rectifiers;    ///< sockets of rectifier tubes, selenium stacks among the parts
    Ids output_tubes;  ///< sockets of power tubes
    Ids tubes;         ///< all sockets that hold a tube
    Ids lamps;
    Ids line_capacitors;  ///< a lead on the line or the primary
    Ids line_to_metal;    ///< of these: the other lead on chassis metal, B-minus or what a hand can reach
    Ids plate_winding_capacitors;
    Ids burnt_iron;      ///< power transformers that look burnt: never powered as found (H6)
    Ids line_parts;      ///< cord, plug, switch, fuse, and wires on line, heater windings and plate windings (H5)
    Ids lamp_leads;      ///< lamps whose leads hang on a heater winding, pulled or not (H5)
    Ids supply_papers;   ///< H7: filters, papers, films in their places, buffers
    Ids couplers;        ///< H8: from something fed by B-plus to the grid of an output tube
    Ids bias_resistors;  ///< H9
    Ids bias_filters;    ///< H9: electrolytic, paper or film from the grid's return to a return, not on the cathode
    Ids loose_wires;     ///< sound but for their joints: good again when they are resoldered and looked at
    Ids dirty_switches;  ///< nothing is seen at them but dirt on contacts: good again when cleaned and measured
    Ids electrolytics;   ///< H23
    Ids continuity;      ///< H21: output transformers, and fields and chokes between rectifier and B-plus or in the
                         ///< negative lead
    Ids dead_without_b_plus;  ///< parts that carry nothing while the rectifier is out
    Ids heater_parts;         ///< lamps and what hangs on heater windings
    Ids on_speaker_plug;      ///< speaker and what rides with it
    Ids power_iron;           ///< transformers with a primary
    Ids supply;  ///< soldered parts on the line, the windings, what B-plus feeds, or a bias; all where nothing
                 ///< rectifies
    bool has_transformer = false;
    bool earthed = false;  ///< the metal is joined to the earth as found, by wires alone
    Ids earth_wires;       ///< wires on the earth's net, where the metal is not that net itself
    Ids old_to_metal;      ///< of line_to_metal: not of class Y
    bool fused = false;    ///< a fuse stands between the blades and the primary
    bool series_string = false;
    bool hot =
        false;  ///< a blade reaches metal or B-minus through something that is not a capacitor or a magnetic coupling
    std::vector<std::pair<std::string, Ids>>
        burnt;  ///< each burnt resistor, and the capacitors whose short would burn it
    std::vector<std::pair<std::string, Ids>>
        beside;  ///< each resistor, and the leaky neighbours that would falsify its ohms
};

Concern concern_of(const Chassis& chassis, const Catalogue& catalogue);

/// How deep a change at a part reaches: what was shown with as much of the set fed is to be shown again.
enum class Reach { none, joint, b_plus, heaters, iron };
bool changes_parts(ActKind kind);
Reach reach_of(const Concern& concern, ActKind kind, const std::string& id);

}  // namespace tubewright
