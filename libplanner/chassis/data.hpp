// SPDX-License-Identifier: MIT
// What a Chassis holds. Written once by Assembly::finish, read-only afterwards; what follows from the topology alone
// (family, hot, level, the direct-current graph) is worked out when first asked for, once, whatever thread asks.
#pragma once

#include <mutex>
#include <tubewright/chassis.hpp>

#include "chassis/graph.hpp"
#include "chassis/name_table.hpp"

namespace tubewright {

/// Index of a lead by its name or by what people call it ("1" and "2" of a resistor, "+" of a filter); -1 when there is
/// none. An element word on a socket ("V3.plate") gives the one pin that carries it, or -2 when several do.
int lead_by_any_name(const Part& part, std::string_view name);

/// Two pins of one electrode, joined inside the glass ("V4.1" and "V4.7" of a 6AQ5). Heaters and diode plates that
/// share a word, and the two plates of a rectifier, are apart.
bool joined_inside(const TubeType& type, std::string_view pin, std::string_view other);

/// A socket without a tube: it was found so, or is to stay so (fitted="none").
bool stands_empty(const Part& part);

/// What was seen says that it is no good as it is: shorted, leaking, burnt, dead, broken, gassy, open or missing.
bool seen_useless(const Part& part);

/// The same, or of a lead, a cord or a switch anything but a loose joint: it is not powered as it is.
bool seen_no_good(const Part& part);

/// Nothing was seen but what a cleaner takes off: corroded, dull.
bool seen_only_dirty(const Part& part);

/// The words for what is seen of a part, in the file and in the log.
const std::vector<std::string_view>& seen_words();

/// The plug that the part rides on is out.
bool unplugged(const Part& part);

/// The part passes nothing: "open" or "missing" is among the words of what was seen, its socket is empty, or its plug
/// is out.
bool stands_open(const Part& part);

/// Seen shorted, and it is told between what: a part of two leads that passes from end to end. Which turns of a
/// transformer, which electrodes of a tube, the word does not say.
bool seen_shorted(const Part& part);

struct Chassis::Data {
    std::string name, file;
    std::optional<int> built;
    LineSpec line;
    std::vector<Part> parts;
    std::vector<Net> nets;
    std::vector<LeadRef> leads_by_net;  ///< of all nets in their order: Net::leads are views of it
    NodeRoles roles;
    int reference = -1;
    std::vector<Notice> notices;
    /// Attributes of the root that say what goes for all parts ("paper", "m-means" ...), as written.
    std::vector<std::pair<std::string, std::string>> defaults;
    std::optional<double> tolerance;  ///< of the root, as a share

    NameTable ids;                ///< of parts and cans
    std::vector<int> part_of_id;  ///< -1 for a can
    NameTable names;              ///< words and pins as written
    std::vector<int> net_of_name;
    std::vector<std::uint16_t> name_uses;  ///< by name: how often the file writes it
    std::vector<char> on_lead;             ///< by name: a part that is no wire has a lead there
    std::vector<int> name_of_lead;  ///< of all leads in the order of the parts, into `names`; -1: named by no word
    std::vector<int> first_lead;    ///< by part: where its leads begin in name_of_lead

    int net(std::string_view name_or_alias) const;
    /// The word or pin that the file gives a lead, before wires and joins made one net of several; empty when none. A
    /// wire whose end is written as a lamp's lead is that lamp's lead.
    std::string_view written(LeadRef lead) const;
    /// By net: every word and pin that it is called by in the file.
    std::vector<std::vector<std::string_view>> names_by_net() const;
    /// Part and lead that a dotted name means, {-1, -1} when none.
    LeadRef lead(std::string_view dotted) const;

    struct Topology {
        Family family = Family::unknown;
        bool hot = false;
        int level = 0;
    };
    const Topology& topology() const;
    const PartGraph& direct_current() const;

  private:
    mutable std::once_flag topology_once_, graph_once_;
    mutable Topology topology_;
    mutable std::unique_ptr<PartGraph> graph_;
};

/// A copy of all of a set, to be changed: its views of leads are its own.
std::shared_ptr<Chassis::Data> copy_of(const Chassis::Data& found);

/// What was found of a resistor beside what it should be: it stands with what it should be, else with what was found,
/// and a quarter off its print it has drifted, whether or not anybody says so.
void judge_found(Part& part);

/// The log has such an act, on this part where one is named: "fit a fuse", "sleeve leads and sockets".
bool deed_done(const Progress& progress, std::string_view act, std::string_view part = {});

/// The set as it will be with everything back in: what was fitted is there, what is left out on purpose is not.
Chassis with_fitted(const Progress& progress, const Chassis& chassis);

/// The same set with no part open or missing: as it will be when its repair is done. What is to stay out stays out.
Chassis as_mended(const Chassis& chassis);

/// The same set as it was made: every socket with the type that the file names for it, nothing open, unplugged or
/// switched off. None when it stands so.
std::optional<Chassis> as_made(const Chassis& chassis);

/// The set with its shorts: each part that was seen_shorted() passes from end to end. None where there is no such part.
std::optional<Chassis> with_shorts(const Chassis& chassis);

/// Something outside the tube is on the net of this pin of `socket`, a part of `data`.
bool soldered(const Chassis::Data& data, const Part& socket, int lead);

/// The same set with the numbered pins of one socket, an index into parts(), counted the other way round.
Chassis turned_over(const Chassis& chassis, int socket);

/// From connections alone: topology.cpp says how.
Chassis::Data::Topology topology_of(const Chassis::Data& data);

}  // namespace tubewright
