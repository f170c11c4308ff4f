// SPDX-License-Identifier: MIT
// The trace audit: a second pair of eyes for the person who traced the set. The graph half needs no solve; the solved
// half looks at a solution (polarity, heaters, windings). Findings are about the circuit; faults of the file itself are
// the reader's.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include <tubewright/bench.hpp>
#include <tubewright/chassis.hpp>
#include <tubewright/outcome.hpp>

namespace tubewright {

struct Finding {
    Severity severity = Severity::note;  ///< stop, doubt or note
    int number = 0;                      ///< message number
    std::string rule;                    ///< short key: "lone-lead", "grid-without-return" ...
    Place place;
    std::vector<std::string> parts, nets;
    std::string message;  ///< what was found and why it matters
    std::string look_at;  ///< what to look at on the chassis
};

/// Everything that needs no solve. Sorted by severity, line, rule.
TUBEWRIGHT_API std::vector<Finding> audit_graph(const Chassis& chassis, const Catalogue& catalogue);
/// What the solutions show: reversed electrolytics, heaters off their volts, tubes, capacitors and windings asked for
/// more than they bear with every part as marked, a fuse far too large.
TUBEWRIGHT_API std::vector<Finding> audit_solved(const Chassis& chassis, const Catalogue& catalogue,
                                                 std::span<const Solution> solutions);
/// True when a finding must stop the person (any stop or doubt).
TUBEWRIGHT_API bool must_stop(std::span<const Finding> findings);

/// Socket by socket, pin by pin, what is soldered there, to be ticked with a finger.
struct ReadbackPin {
    std::string socket, tube, pin, electrode, net;
    std::vector<std::string> soldered;  ///< "R7.a", "C9.b": those written at this pin first, then the rest of its net
    int at_pin = 0;                     ///< how many of them are written at this pin
};
TUBEWRIGHT_API std::vector<ReadbackPin> readback(const Chassis& chassis);

/// Most dangerous first. turned: leads that change places; joined: several nets here are one there; split: the other
/// way round; node: another net is the metal, B-minus, the line ...; state: open, unplugged, seen missing.
enum class DifferenceKind { turned, lead, joined, split, node, state, part, tube, value, rating, construction };
TUBEWRIGHT_API const char* word(DifferenceKind kind);

/// One thing that differs; of a part that one set has alone, the other's ids and place are empty.
struct Difference {
    DifferenceKind kind = DifferenceKind::part;
    std::vector<std::string> parts, other_parts;  ///< several where the same is said of many
    std::vector<std::string> nets, other_nets;    ///< of connections
    Place place, other_place;
    std::string what;                                 ///< "capacitance", "lead b" ...
    std::string here, there;                          ///< as the trade says it; empty: not given, or not there
    std::string unit;                                 ///< of the figures, where there are any: "ohms", "farads" ...
    std::optional<double> here_number, there_number;  ///< SI; kilohertz in kHz, shares as such
};
struct Differences {
    std::vector<Difference> rows;                              ///< by kind, then in the order of the file
    std::vector<std::pair<std::string, std::string>> renamed;  ///< parts whose id is another there
};
/// What differs between two files of one set. Nets are matched by what stands on them, parts by what they are and how
/// they are joined, ids only where that leaves a choice; strips, places, notes and history do not count. Exchanging the
/// sets mirrors the answer.
TUBEWRIGHT_API Differences differences(const Chassis& here, const Chassis& there);

}  // namespace tubewright
