// SPDX-License-Identifier: MIT
// The hard rules of the bench as data, each with its reason, and a checker that judges any sequence of acts by them.
// The checker works the rules out from the chassis by itself; it shares nothing with the code that orders the steps.
#pragma once

#include <cstddef>
#include <map>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <tubewright/chassis.hpp>
#include <tubewright/outcome.hpp>

namespace tubewright {

struct BenchRule {
    std::string id;    ///< "H6", "s10"
    bool hard = true;  ///< never broken; soft rules cost
    std::string before, after, reason;
    Source source;
};
TUBEWRIGHT_API const std::vector<BenchRule>& bench_rules();

/// What is done at the bench, in the coarsest words that the rules need.
enum class ActKind {
    check_supply,      ///< label, selector, taps against the supply
    make_cord_safe,    ///< as found: cut, tied or tagged
    photograph,        ///< and sketch, every connection
    settle_reference,  ///< family, and the net where the black clip goes
    clip_instrument,   ///< meter or generator
    cold_ohms,         ///< plug out: windings; with the parts that were read, or none for the whole set
    inspect,           ///< by eye, plug out: the parts are sound, or what was done to them is right
    measure,           ///< plug out: the parts themselves (ohms, leakage)
    lift,              ///< one end unsoldered
    remove,            ///< taken out; a tube pulled
    fit,               ///< a new part put in; a new cord with two wires
    reconnect,         ///< a lifted or removed part put back as it was
    refit_tube,        ///< back into its socket
    plug_speaker,
    power_transformer_alone,  ///< on the line, rectifier out
    power_heaters,            ///< on the line, rectifier out, tubes in
    power_b_plus,             ///< rectifier in, behind the lamp
    power_full_line,          ///< rectifier in, no lamp
    soak,
    check_touch_current,  ///< one of its three steps
    discharge,            ///< plug out, every filter section emptied and metered
    align,
    reassemble,
    hand_back,
    buy,
    earth_instrument,    ///< an earthed instrument or an earth wire clipped to the chassis
    power_supply_alone,  ///< rectifier in, tubes out, load resistor
    log_volts,           ///< working volts read and written down
    find_cause,          ///< what burnt a part: the burnt part first, then the cause
    test_tube,           ///< shorts, cold, tapped
    trace_polarity,      ///< plus of each part followed to its lug against the list
    fit_earthed_cord,    ///< a three-wire cord with its earth on the chassis
    sleeve,              ///< leads and sockets of the parts sleeved or new; the parts themselves stay
    fit_fuse,            ///< a fuse and its holder put into the hot lead of a set that was built without
    lift_earth,          ///< the earth that was found on the chassis comes off, at its outer end or its screw
    leave_out            ///< a part stays out on purpose, with a reason
};
TUBEWRIGHT_API const char* word(ActKind kind);
/// The act of that word; nothing when there is none.
TUBEWRIGHT_API std::optional<ActKind> act_of(std::string_view word);

struct Act {
    ActKind kind = ActKind::inspect;
    std::vector<std::string> parts;  ///< ids, as far as it concerns parts
    std::string what;                ///< for people
    double minutes = 0;              ///< where a rule asks how long (transformer alone)
};

struct Violation {
    std::string rule;
    int act = -1;  ///< index in the sequence
    std::string why;
    bool hard = true;  ///< false: a soft rule; it costs, it may be broken
};

/// Every rule that the sequence breaks for this chassis, hard and soft, by act; empty when none. `progress`: what was
/// done before the first act (states of parts; gates_passed by the id of the rule; fit-fuse and earth-off
/// among steps_done). A set as
/// found is taken as charged and as never photographed.
TUBEWRIGHT_API std::vector<Violation> violations(const Chassis& chassis, const Catalogue& catalogue,
                                                 std::span<const Act> acts, const Progress& progress);

/// What the deeds of `progress` do not prove, were `next` done now with the tubes that it wants: the rule, and why.
/// Rules signed by hand are proved. The last entry, "charge", is there when the set may hold a charge.
TUBEWRIGHT_API std::map<std::string, std::string> unproved(const Chassis& chassis, const Catalogue& catalogue,
                                                           const Progress& progress, ActKind next);

/// What the deeds of a log changed. A proof holds only while nothing that it rests on was changed after it: a new
/// transformer takes its half hour alone back, a new tube its test, a joint in the supply all that was powered.
class TUBEWRIGHT_API Changes {
  public:
    Changes(const Chassis& chassis, const Catalogue& catalogue, const Progress& progress);
    ~Changes();
    /// The parts changed after the first `deeds` deeds that a proof by this act rests on; a test or a measurement is of
    /// `part` alone. None: it holds.
    std::vector<std::string> since(std::size_t deeds, ActKind proof, const std::string& part = {}) const;
    /// A joint there takes back what was powered.
    bool in_supply(const std::string& part) const;

  private:
    struct All;
    std::unique_ptr<const All> all_;
};

}  // namespace tubewright
