// SPDX-License-Identifier: MIT
// Mistakes of a tracer, planted one at a time in a set whose every name was changed, and what the audit says of them.
// Counted is a mistake that a person could see: one that changes which lead of which part stands with which, or a
// value.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include <tubewright/audit.hpp>
#include <tubewright/chassis.hpp>

#include "generator.hpp"

namespace generate {

/// A set as parts and nets by number, all names new.
struct Flat {
    struct End {
        std::string lead;
        int net = -1;
    };
    struct One {
        tubewright::Part part;  ///< without leads
        std::vector<End> ends;
    };
    std::string name;
    std::optional<int> built;
    tubewright::LineSpec line;
    std::vector<One> parts;
    std::vector<std::string> nets;
    tubewright::NodeRoles roles;
    int reference = -1;
    std::vector<bool> touch;
};

Flat flat_of(const tubewright::Chassis& set, Dice& dice);
tubewright::Outcome<tubewright::Chassis> chassis_of(const Flat& flat, const tubewright::Catalogue& catalogue);

enum class Slip {
    lead_moved,
    part_dropped,
    pins_swapped,
    socket_mirrored,
    electrolytic_turned,
    ground_lost,
    nets_merged,
    value_misread
};
constexpr int slips = 8;
const char* word(Slip slip);

struct Mistake {
    Slip slip = Slip::lead_moved;
    std::string what;                ///< for a person
    std::vector<std::string> parts;  ///< by id
    std::vector<std::string> nets;   ///< by name, before and after
};
/// Plants one; nothing when the slip finds no place or changes nothing that a person could see.
std::optional<Mistake> plant(Flat& flat, Slip slip, Dice& dice, const tubewright::Catalogue& catalogue);

struct Verdict {
    bool reported = false;      ///< a stop or a doubt that was not there before
    bool at_the_place = false;  ///< one of them at the part, at a part on one of its nets, or at the net
    int findings = 0, findings_at_the_place = 0;
};
/// What the audits of the two sets tell of it. Nets of more than eight leads are no place.
struct Audited {
    const tubewright::Chassis& set;
    std::vector<tubewright::Finding> findings;
};
Verdict judged(const Audited& before, const Audited& after, const Mistake& mistake);

}  // namespace generate
