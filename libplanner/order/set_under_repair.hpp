// SPDX-License-Identifier: MIT
// What of a set decides which steps its repair takes: how it is fed, its line side, tubes and lamps, what was bought
// for each part, where it is and what lies over it, what the log has out. Found once, then only read.
//
//     const SetUnderRepair set(chassis, catalogue, policy, actions, shopping, stress, progress, leaks, doubted);
//     set.alone_step()        // "transformer-alone": the iron is tried by itself before money is spent
//     set.grouped(replaced)   // which of these parts are done together
//
// Test: tests/order/steps_test.cpp.
#pragma once

#include <map>
#include <set>
#include <span>
#include <string>
#include <vector>

#include <tubewright/chassis.hpp>

#include "chassis/earth.hpp"
#include "choice/duty.hpp"
#include "order/order.hpp"
#include "policy/policy.hpp"

namespace tubewright::repair {

inline const std::string no_fuse = "(fuse)";  // no part's id: what is listed for a set built without one
constexpr std::size_t group_most = 6;         // joints that one check can cover (declared)

/// What the shopping list has for a part, at its prices.
struct Bought {
    std::string text;
    double minutes = 0, cost = 0;
    double ohms = 0;  ///< of resistors, all of them in series; 0: none
};

struct SetUnderRepair {
    SetUnderRepair(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy,
                   std::span<const PartAction> actions, const ShoppingList& shopping,
                   std::span<const PartStress> stress, const Progress& progress, std::span<const LeakageLimit> leaks,
                   std::span<const Doubted> doubted);

    const Chassis& chassis;
    const Catalogue& catalogue;
    const Policy& policy;
    std::span<const PartAction> actions;
    std::span<const PartStress> stress;
    const Progress& progress;
    std::span<const LeakageLimit> leaks;
    std::span<const Doubted> doubted;
    Duties duties;
    Earth earth;
    Changes changes;

    std::string transformer, vibrated;  ///< with a primary on the line; on a vibrator
    bool from_vehicle = false, from_battery = false;
    bool fused = false;
    std::set<std::string> line_side;  ///< cord, plug, switch, fuse, leads of line and windings
    std::set<std::string> looked_at;  ///< of these, what is not replaced
    std::vector<std::string> line_capacitors, winding_capacitors, vibrators;
    std::vector<std::string> tubes, empty_sockets, lamps;
    std::map<std::string, Bought> bought;
    std::map<int, const PartStress*> stress_of_part;

    const Part& part(int i) const;
    const Part* part(const std::string& id) const;
    std::vector<std::string> ids(const std::vector<int>& parts) const;
    /// "replace", "measure", "leave"; empty for a part without an action.
    std::string action(const std::string& id) const;
    double minutes(const char* row) const;
    /// The net of the metal, else the one where the black clip goes.
    int metal() const;

    bool from_line() const { return !from_vehicle && !from_battery; }
    /// The line reaches the metal or B-minus: nothing earthed is ever clipped on (H22).
    bool live_metal() const;
    /// Heaters in series on the line.
    bool in_a_string() const { return from_line() && transformer.empty(); }
    bool portable() const;
    bool direct_line() const;
    /// The power transformer or the vibrator's: a fuse is fitted before it where the set was built without.
    bool has_iron() const { return !transformer.empty() || !vibrated.empty(); }
    std::string source_side() const { return from_line() ? "line side" : "A lead"; }
    const char* switched_off() const { return from_line() ? "plug out" : "supply off"; }
    /// The step that tries the iron by itself before money is spent; empty where there is none.
    std::string alone_step() const;

    /// With an end free or taken out, by the log.
    bool out(const std::string& id) const;
    bool left_out(const std::string& id) const;
    bool has_been_bought(const std::string& id) const;
    /// Of what a step of buying is for, what no entry has bought; it stays open for that.
    std::vector<std::string> still_to_buy(const std::vector<std::string>& all) const;
    std::vector<std::string> renewed_lamps() const;

    std::string place_of(int i) const;
    /// What is lifted to reach a part: of a can its sections.
    std::vector<std::string> lifted_for(const std::string& id) const;
    /// Groups of one place (of the part that is reached through another, the place of that): what shares a can or a lug
    /// stays together, what must be lifted for another is done with it, at most six joints.
    std::vector<std::vector<int>> grouped(const std::vector<int>& parts) const;
    /// The burnt resistor and what burnt it; where no capacitor can have, the sockets it feeds, else what it hangs on.
    /// Empty for any other part.
    std::vector<std::string> burnt_with(int r) const;

  private:
    void find_bought(const ShoppingList& shopping);
    void find_source();
    std::vector<bool> nets_of_windings() const;
    void find_line_side();
    void find_tubes_and_lamps();
    /// Lugs of strips that the file names for the leads of a part.
    std::vector<std::string> lugs_of(int i) const;
    bool share_a_lug(int i, int j) const;
    bool done_together(int i, int j) const;
    std::vector<std::vector<int>> lumps_of(const std::vector<int>& members) const;
    bool open_now(int i) const;
};

/// Out of its socket by hand, no joint opened.
bool plugs_in(const Part& p);

}  // namespace tubewright::repair
