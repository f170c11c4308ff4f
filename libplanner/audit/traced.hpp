// SPDX-License-Identifier: MIT
// The trace as the audit looks at it: which nets are joined for direct current, which carry B-plus, which are the
// bottom of the set, where each unit of each tube has its electrodes. Made once from a chassis in time linear in its
// leads; every question after that is a look-up. Tests: tests/audit/graph_test.cpp.
#pragma once

#include <string>
#include <vector>

#include <tubewright/chassis.hpp>

#include "audit/electrodes.hpp"

namespace tubewright::audit {

/// Sets of things that grow together (union by size, path halving).
class Groups {
  public:
    explicit Groups(std::size_t count);
    int of(int item) const;
    void join(int a, int b);
    bool same(int a, int b) const { return a >= 0 && b >= 0 && of(a) == of(b); }

  private:
    mutable std::vector<int> parent_;
    std::vector<int> size_;
};

/// A part, or one winding of it, that passes direct current between two nets.
struct Conductor {
    int a = -1, b = -1;
    int part = -1;
    int winding = -1;  ///< index into Part::windings
    int half = 0;
    bool choke = false;  ///< choke or field: B-plus passes it nearly whole
};

/// One unit of a tube: nets of its electrodes; -1 where it has none, several grids in order of the leads.
struct Unit {
    int part = -1;
    std::string name;
    std::vector<PinElectrode>
        pins;  ///< plates, screens, grids, cathodes, diodes of this unit; a common cathode or screen is in each
};

/// Words that say that a net leaves the chassis there.
bool names_a_terminal(std::string_view text);

class Trace {
  public:
    explicit Trace(const Chassis& chassis);
    const Chassis& chassis() const { return chassis_; }
    const Part& part(int index) const { return chassis_.parts()[static_cast<std::size_t>(index)]; }
    const Net& net(int index) const { return chassis_.nets()[static_cast<std::size_t>(index)]; }
    const std::vector<Conductor>& conductors() const { return conductors_; }
    const std::vector<PinElectrode>& electrodes(int part) const { return electrodes_[static_cast<std::size_t>(part)]; }
    const std::vector<Unit>& units() const { return units_; }

    /// Leads that somebody soldered to something: a wire's ends, lugs and cords do not count, the line, a declared
    /// node, a terminal to the outside and an untraced rest do.
    int joined(int net) const { return joined_[static_cast<std::size_t>(net)]; }
    /// Something outside the tube is on this pin's net.
    bool soldered(const Part& socket, int lead) const;
    bool bottom(int net) const {
        return net >= 0 && bottom_[static_cast<std::size_t>(net)];
    }  ///< chassis metal, B-minus, earth, the reference
    bool rectifier_output(int net) const { return net >= 0 && output_[static_cast<std::size_t>(net)]; }
    bool b_plus(int net) const {
        return net >= 0 && b_plus_[static_cast<std::size_t>(net)];
    }  ///< rectifier output and what hangs on it by chokes alone
    bool has_rectifier() const { return has_rectifier_; }
    /// B-plus, or what hangs on it by resistors and carries a filter of its own.
    bool supply_node(int net) const;
    /// The line or a winding of the power transformer reaches it, without passing the bottom or a rectifier.
    bool alternating(int net) const { return net >= 0 && !bottom(net) && group_alternates_[alternate_of(net)]; }
    /// A bias supply holds it below the bottom: a rectifier's plate or anode, whose cathode is on alternating volts.
    bool below_bottom(int net) const;
    /// A heater winding, or another of few volts, feeds this dry rectifier, and no other source does.
    bool of_few_volts(const Part& rectifier) const;
    /// A rectifier on a heater winding, or on another of few volts, feeds heaters with it.
    bool heats_direct(int net) const { return net >= 0 && !bottom(net) && group_heats_[at_group(net)]; }
    /// Bottom too, and below the metal by what flows through a resistor, choke or field between the two (back bias).
    bool back_biased(int net) const;
    bool untraced_near(int net) const;   ///< a declared rest is on it, or joined with it short of B-plus and bottom
    bool reaches_b_plus(int net) const;  ///< for direct current, without passing the bottom
    bool same_direct(int a, int b) const { return direct_.same(a, b); }  ///< joined for direct current
    bool reaches_bottom(int net) const;
    /// Tubes one on the other: current comes to it out of the cathode of a tube that B-plus reaches and that stands
    /// high: a cascode, stacked regulators, a tube as plate load, a stage fed from the next one's cathode.
    /// `but` supplies nothing to itself.
    bool supplied_by_tube(int net, const Unit* but = nullptr) const {
        const int source = net >= 0 && !bottom(net) ? supplied_by_[at_group(net)] : -1;
        return source >= 0 && &units_[static_cast<std::size_t>(source)] != but;
    }
    /// And current goes from it into the plate of a tube that has no other load.
    bool returned_by_tube(int net) const { return net >= 0 && !bottom(net) && group_returned_[at_group(net)]; }
    /// More than a cathode resistor that only biases is between it and the bottom.
    bool stands_high(int net) const { return net >= 0 && !low_[at_low(net)]; }
    /// No plate load is between it and B-plus but coils: a follower, an output stage.
    bool near_supply(int net) const { return net >= 0 && rail_[at_low(net)]; }
    /// The cathode, or the ends of the filament, of this electrode's unit.
    std::vector<int> emitter(int part, const PinElectrode& pin) const;
    /// A tube in series with B-plus that holds it: its plate on the supply, and a filter or a rest of the set's own at
    /// its cathode or filament. Of a net: such a tube's cathode, or an end of its filament, is on it.
    bool holds_supply(const Unit& unit) const;
    bool held_supply(int net) const { return net >= 0 && held_[static_cast<std::size_t>(net)]; }
    /// The control grid of such a tube is on it.
    bool holds_grid(int net) const { return net >= 0 && held_grid_[static_cast<std::size_t>(net)]; }
    /// The lower leg of a doubler or a bridge: from the bottom into what alternates, at once or by a capacitor.
    bool lower_leg(int part, const PinElectrode& rectifier_plate) const;
    /// A section that is not used, tied to the bottom whole, where the tube has another.
    bool parked(const Unit& unit) const;
    std::string pin_name(int part, const PinElectrode& pin) const;  ///< "V4.2 (plate)"

  private:
    std::size_t at_low(int net) const { return static_cast<std::size_t>(by_few_ohms_.of(net)); }
    std::size_t at_group(int net) const { return static_cast<std::size_t>(above_bottom_.of(net)); }
    std::size_t alternate_of(int net) const { return static_cast<std::size_t>(alternates_.of(net)); }
    bool few_volts(int net) const { return net >= 0 && !bottom(net) && group_few_volts_[alternate_of(net)]; }
    bool heats_in_group(int net) const;  ///< a heater is on it, or joined with it short of the bottom
    bool only_heats(int net) const;      ///< and nothing but heaters, lamps and what drops before them
    void find_conductors();
    void find_alternating();
    void find_sources(int part);
    void find_nodes();
    void find_units();
    void find_stacked();
    void find_held();
    std::vector<int> emitting(int part,
                              const PinElectrode& pin) const;  ///< emitter(), and what its winding joins to it

    const Chassis& chassis_;
    std::vector<Conductor> conductors_;
    std::vector<std::vector<PinElectrode>> electrodes_;
    std::vector<Unit> units_;
    std::vector<int> joined_;
    std::vector<char> bottom_, output_, b_plus_, untraced_;
    Groups direct_, above_bottom_, aside_, alternates_, returns_, by_few_ohms_;
    std::vector<char> group_alternates_, group_few_volts_, group_below_, group_heats_, group_has_bottom_,
        group_has_output_, group_untraced_, above_untraced_, group_returned_, low_, rail_, held_, held_grid_;
    std::vector<int> supplied_by_;  ///< by group: unit
    bool has_rectifier_ = false, output_wired_ = false;
};

}  // namespace tubewright::audit
