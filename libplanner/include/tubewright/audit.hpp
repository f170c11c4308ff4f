// SPDX-License-Identifier: MIT
// The trace audit: a second pair of eyes for the person who traced the set. The graph half needs no solve; the solved
// half looks at a solution (polarity, heaters, windings). Findings are about the circuit; faults of the file itself are
// the reader's.
#pragma once

#include <span>
#include <string>
#include <vector>

#include <tubewright/bench.hpp>
#include <tubewright/chassis.hpp>
#include <tubewright/export.hpp>

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
    std::vector<std::string> soldered;  ///< "R7.a", "C9.b"
};
TUBEWRIGHT_API std::vector<ReadbackPin> readback(const Chassis& chassis);

}  // namespace tubewright
