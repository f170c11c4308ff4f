// SPDX-License-Identifier: MIT
// A set in memory: parts, their leads, the nets that join the leads, the supply it was made for, and which net is what
// (chassis metal, B-minus, line). Made by read_chassis() from a file or by ChassisBuilder without one; never changed
// afterwards.
//
//     ChassisBuilder b("two-stage amplifier");
//     b.line(volts(117), hertz(60), "P1.1", "P1.2");
//     b.resistor("R7", ohms(470e3), "V2.5", "gnd");
//     Outcome<Chassis> set = b.build(catalogue);
#pragma once

#include <map>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <tubewright/catalogue.hpp>
#include <tubewright/fault.hpp>
#include <tubewright/outcome.hpp>
#include <tubewright/quantity.hpp>

namespace tubewright {

enum class PartKind {
    capacitor,
    resistor,
    control,
    coil,
    transformer,
    socket,
    lamp,
    fuse,
    power_switch,
    plug,
    cord,
    wire,
    speaker,
    strip,
    untraced,
    battery,
    vibrator,
    rectifier,  ///< a dry one: selenium, silicon, copper oxide
    block       ///< what holds parts that cannot be seen: a tar pack, a capacitor block
};
TUBEWRIGHT_API const char* word(PartKind kind);

/// One end of a part. The net is an index into Chassis::nets().
struct Lead {
    Text name;  ///< "a", "b", "plus", "minus", pin "2", "cap", "square", winding lead "plate.1" ...
    int net = -1;
    bool unknown = false;  ///< "?" in the file: it goes somewhere
    Place place;           ///< of the attribute that named it
};

enum class WindingRole {
    primary,
    plate,
    rectifier_heater,
    heater,
    output_primary,
    output_secondary,
    interstage_primary,
    interstage_secondary,
    rf,
    other
};
TUBEWRIGHT_API const char* word(WindingRole role);

/// A winding; leads index Part::leads, in the order of the turns: two, or more with taps between. ohms, noload_volts:
/// one entry from each lead to the next.
struct PartWinding {
    WindingRole role = WindingRole::other;
    std::string name;  ///< unique in the part: the role, or role and number
    std::vector<int> leads;
    std::optional<double> volts;  ///< loaded rms over the whole winding (plate windings: each side), at the marked line
    std::vector<double> noload_volts, ohms;  ///< from each lead to the next; the volts with the load off
    std::vector<double> tap_ohms;            ///< output secondary, several marked: of each lead but the common one
    std::optional<double> amps, henries, coupling;  ///< rated; of a coil; with the first that has henries, 0 to 1
    std::optional<double> impedance_ohms;  ///< output primary: the load it presents; secondary: that of the whole
    Place place;
};

/// A part. Values not in the file are absent; the planner takes a documented default and says so.
struct Part {
    // What every step of reading asks for stands together, near the processor.
    std::string id;
    PartKind kind = PartKind::resistor;
    bool construction_stated = false, polarised = false;
    bool closed = true;    ///< power_switch; plug, battery: in; any other: the plug it rides on
    bool shorted = false;  ///< solved as passing from end to end: the set as found, with_shorts()
    /// Its shell stands off the metal; a hand can reach it; a socket whose pins the file counts from above.
    bool insulated = false, touch = false, top_view = false;
    Text construction;        ///< catalogue key; from the file-wide default when the part says nothing
    std::vector<Lead> leads;  ///< two-terminal parts: [0] = a / plus, [1] = b / minus
    Text role;                ///< of a coil: choke, field ...; transformer: power, output, if ...; control: volume ...
    Text can, mark;           ///< one of several in a can, a tapped resistor, a switch: its id and mark
    Text plug, inside;        ///< the plug it rides on ("speaker"); the block or IF can that holds it
    const TubeType* type = nullptr;  ///< socket: the catalogue's row, which lives as long as the Catalogue
    Place place;
    OptionalNumber farads, ohms, henries, rated_volts, rated_watts, rated_amps, rated_va, tolerance, kilohertz;
    OptionalNumber drawn_amps, swing_henries;  ///< untraced; choke: without direct current
    std::vector<PartWinding> windings;         ///< transformers
    Text tube;                 ///< socket: type as written: fitted, else found, else documented, not counting "none"
    Text lamp_type, location;  ///< location: strip or place, for grouping steps
    Text documented, found, fitted;           ///< as written, where the file tells them apart
    OptionalNumber found_value, duty, hertz;  ///< `found` in the kind's unit; vibrator: closed share, cycles
    std::optional<int> since;                 ///< year of replacement
    Text seen, note;                          ///< burnt, bulged, cracked, waxy, spliced, missing ...
    std::vector<std::string> lift_first;      ///< access: parts to be lifted to reach this one
    /// Index of the lead with this name, or -1.
    TUBEWRIGHT_API int lead(std::string_view name) const;
};

/// One lead of one part.
struct LeadRef {
    int part = -1;
    int lead = -1;
    friend bool operator==(const LeadRef&, const LeadRef&) = default;
};

struct Net {
    std::string name;                ///< the word used, else the first pin named on it
    std::span<const LeadRef> leads;  ///< lives as long as the chassis
    bool touch = false;              ///< a hand can reach it
    Place place;
};

/// Nets that are not the same thing, whatever a drawing's ground sign says; -1 where the set has none.
struct NodeRoles {
    int chassis_metal = -1, b_minus = -1, earth = -1, line_hot = -1, line_neutral = -1;
};

struct LineSpec {
    double volts = 117, hertz = 60;  ///< of the leading battery and 0 in a set without a line
    bool volts_stated = false;
    std::string supply;           ///< as the label has it: "ac", "dc", "ac-dc"; empty where nobody says
    std::optional<double> watts;  ///< as the label has it
};

inline constexpr double most_overload = 1.5;  ///< over Chassis::transformer_va(): no sound set draws so much (assumed)
enum class Family { ac_transformer, series_string, floating_b_minus, doubler, portable, vehicle, battery, unknown };
TUBEWRIGHT_API const char* word(Family family);

class TUBEWRIGHT_API Chassis {
  public:
    const std::string& name() const;
    const std::string& file() const;
    std::optional<int> built() const;
    const LineSpec& line() const;
    const std::vector<Part>& parts() const;
    const std::vector<Net>& nets() const;
    const NodeRoles& nodes() const;
    /// Net from which readings are taken.
    int reference() const;
    /// -1 when there is none of that name.
    int part(std::string_view id) const;
    int net(std::string_view name_or_alias) const;
    /// "R7.a", "V3.2"
    std::string lead_name(LeadRef ref) const;
    Family family() const;
    /// A line blade reaches the chassis metal or B-minus through anything but a capacitor or a transformer.
    bool hot() const;
    /// How much of the set was traced: 0 line-up, 1 and capacitors, 2 supply and output stage, 3 all.
    int level() const;
    /// Of the only power transformer: as its row says, else 2.4 for each heater watt (assumed); 0 when not known.
    double transformer_va() const;
    /// Notes made while reading (type rows used, ids defaulted).
    const std::vector<Notice>& notices() const;
    /// Single parts that every direct-current path from `from` to `to` must pass, nearest to `from` first (dominators
    /// of the part graph without the reference net). Empty when none or not connected.
    std::vector<int> parts_between(int from_net, int to_net) const;

    struct Data;
    explicit Chassis(std::shared_ptr<const Data> data);
    const Data& data() const { return *data_; }

  private:
    std::shared_ptr<const Data> data_;
};

/// Makes a chassis in memory. A net is a word or a pin "V2.5"; naming the same one joins them.
class TUBEWRIGHT_API ChassisBuilder {
  public:
    explicit ChassisBuilder(std::string name);
    ~ChassisBuilder();
    ChassisBuilder(ChassisBuilder&&) noexcept;

    void built(int year);
    void file(std::string path);
    void line(Volts volts, Hertz hertz, std::string_view hot, std::string_view neutral);
    void reference(std::string_view net);
    /// is: "chassis-metal", "b-minus", "earth"
    void node(std::string_view is, std::string_view net, bool touch, Place place = {});
    /// File-wide defaults: "paper", "wire", "resistor", "tolerance".
    void default_for(std::string_view what, std::string_view value);
    void join(const std::vector<std::string>& nets, Place place = {});

    void resistor(std::string_view id, Ohms value, std::string_view a, std::string_view b);
    void capacitor(std::string_view id, Farads value, std::string_view a, std::string_view b);
    void electrolytic(std::string_view id, Farads value, Volts rated, std::string_view plus, std::string_view minus);
    void socket(std::string_view id, std::string_view tube);
    void coil(std::string_view id, std::string_view role, Henries value, Ohms ohms, std::string_view a,
              std::string_view b);
    /// The general form: leads are (lead name, net name); everything else as in Part. Net indices in `part.leads` are
    /// ignored.
    void add(Part part, const std::vector<std::pair<std::string, std::string>>& lead_nets);

    /// All errors at once: duplicate ids, unknown tubes, pins that a base does not have, constructions the catalogue
    /// lacks.
    Outcome<Chassis> build(const Catalogue& catalogue);

  private:
    struct Plan;
    std::unique_ptr<Plan> plan_;
};

}  // namespace tubewright
