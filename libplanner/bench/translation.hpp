// SPDX-License-Identifier: MIT
// From a chassis to the equations. Each part becomes one or more items; each item is an element of two circuits with
// the same nodes: `full`, with the line, the transformer's core and the rectifier, solved for its periodic state; and
// `twin`, the direct-current net, in which windings are their ohms and the rectifier block is a regulation line at its
// port (first filter to centre tap). What a condition or a fault does is a list of changes of item values, good for
// both circuits.
//
// Example: resistor R7 is one item of one resistor; socket V4 with a 42 in it is a heater, a pentode, a gas current.
// Tests: tests/bench/ (the translation is tested through solved sets).
#pragma once

#include <functional>
#include <map>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include <tubewright/catalogue.hpp>
#include <tubewright/chassis.hpp>
#include <tubewright/policy.hpp>
#include <tubewright/tubes.hpp>

#include "circuit/circuit.hpp"

namespace tubewright::bench {

using circuit::Element;
using circuit::Node;
using circuit::Slot;

/// Values used in the absence of the file's, all assumed; each is stated where it is used.
namespace assumed {
constexpr double switch_ohms = 0.02, wire_ohms = 0.02, fuse_volts = 0.1, lamp_slot_ohms = 1e-3;
constexpr double if_coil_ohms = 12, antenna_coil_ohms = 5, oscillator_coil_ohms = 3, interstage_ohms = 1500;
constexpr double output_load_ohms = 7000, choke_henries = 10, output_henries = 8, voice_ohms = 3.2, voice_direct = 0.85;
constexpr double gas_amps = 1e-8, gassy_amps = 2e-6, socket_siemens = 1e-10, insulation_siemens = 1e-6;
constexpr double coating_siemens = 1e-8;    // cathode to heater of a sound tube, hot
constexpr double electrolytic_leak = 0.01;  // siemens a farad: .01 uA for each uF and volt
constexpr double cold_heater = 1.0 / 6, cold_lamp = 1.0 / 14, heater_exponent = 0.58;
constexpr double heater_spread = 0.05;  ///< of a heater's amperes at its rated volts, in the bands
constexpr double no_load_amps_per_va = 0.1 / 60, core_watts_per_va = 0.05, least_va = 5;
constexpr double open_factor = 1e9, open_ohms = 1e9;
constexpr double open_resistor_ohms = 5e10;  // more than a socket leaks: a grid that hangs on it is open
constexpr double layer_share = 0.05;
constexpr double contact_ohms = 0.02, found_short_ohms = 0.1;
constexpr double iron_kelvin_per_watt = 8, most_iron_rise = 105,
                 copper_zero_kelvin = 234.5;  // below 0 C where copper would have no ohms
constexpr double signal_return_farads = 1e-5;
constexpr double reed_coil_watts = 1, regulator_exponent = 0.12, cold_regulator = 0.1;
}  // namespace assumed

/// One element of the equations.
struct Item {
    std::string id, kind, law;
    int part = -1;
    Element full = -1, twin = -1;        ///< -1: not in that circuit
    std::vector<Element> twin_windings;  ///< a transformer's windings as resistors
    std::vector<Node> nodes;             ///< winding k of a transformer: nodes[2k], nodes[2k+1]
    std::vector<std::string> names;      ///< names of values
    std::vector<double>
        values;  ///< device: its parameters; resistor: ohms; capacitor: farads, leak; inductor: henries, ohms;
                 ///< transformer: henries, loss, then turns and ohms of each winding; source: volts rms, hertz
    std::vector<std::string> sources;
    bool conducts = false;  ///< direct current can pass between its nodes
};

/// A value of an item set to something else.
struct Change {
    int item = -1;
    Slot slot = Slot::ohms;
    int index = 0;
    double value = 0;
};

/// A resistance that follows its own rms volts: heater, dial lamp, series lamp. R = hot (V / rated)^(1 - exponent), at
/// least cold_share.
struct Thermal {
    std::vector<int> items;  ///< equal shares in series
    std::vector<double> shares;
    Node a = 0, b = 0;
    double rated_volts = 0, rated_amps = 0, exponent = assumed::heater_exponent, cold_share = assumed::cold_heater;
    int tube = -1;  ///< index into tubes
    bool series_lamp = false;
    double ohms(double volts) const;
};

/// A coil with iron, which its own watts warm, and whose henries fall with its direct current where the file says so.
struct Iron {
    int item = -1;
    double ohms = 0;                          ///< cold
    double swing_henries = 0, fall_amps = 0;  ///< L = swing / (1 + (I/fall)^2); fall 0: its henries stand still
};

struct Electrode {
    std::string name, pin;
    int item = -1, terminal = -1;
    Node node = 0, cathode = 0;
};

struct Section {
    int item = -1;
    std::string name;
    std::vector<Electrode> electrodes;  ///< in the law's order, the last the common one
    int gas = -1;                       ///< item of its gas current
    bool rectifies = false;
};

struct Tube {
    int part = -1;
    bool rectifier = false, direct = false, unheated = false, output = false;
    bool cold_cathode = false;  ///< a regulator: lit as soon as there are volts
    std::vector<Section> sections;
    std::vector<int> thermals;
    double rated_heater_volts = 0;
    double shorted_volts = 0;  ///< of the heater's sections both ends of which are one net: cold
    double start_volts = 0;    ///< gas: the peak between plate and cathode at which it starts
    std::vector<std::pair<std::string, Node>> heater_pins;
    std::vector<Node> along;  ///< a battery filament beyond the end that it is counted from: its tap, its other end
};

struct WindingHalf {
    int part = -1, winding = -1, half = -1;
    int item = -1, index = 0;  ///< of the transformer element; a loose coil: its own item, index -1
    std::string name;
    Node from = 0, to = 0;
    double turns = 0, ohms = 0;
};

/// A half of the power transformer that is marked by its loaded volts.
struct LoadedHalf {
    int winding = -1;  ///< index into Translation::windings
    double volts = 0;
    double amps = 0;  ///< rms of the load that it is marked for; 0: the set's own
    bool rectified = false;
};

/// What stands in a Branch: a current into `terminal` of an item, and the volts between two nodes.
struct Tap {
    int part = -1;
    std::string lead;
    int item = -1, terminal = 0;
    double sign = 1;
    Node a = 0, b = 0;
    enum class Watts { element, copper, heater, electrode, none } watts = Watts::element;
    double ohms = 0;                        ///< copper
    int winding = -1;                       ///< index into windings
    std::vector<std::pair<int, int>> also;  ///< further (item, terminal) on the same pin
};

/// A value and how far it may be off, for the bands.
struct Spread {
    int part = -1, item = -1;
    Slot slot = Slot::ohms;
    int index = 0;
    double nominal = 0, low = 0, high = 0;
};

/// A dry rectifier: its item, a device.
struct Dry {
    int part = -1, item = -1;
    Node anode = 0, cathode = 0;
};

/// A source of direct current, its own volts as it stands and those that it is marked with: a battery, or a
/// direct-current line.
struct Feed {
    int item = -1;
    double volts = 0, marked = 0;
};

/// Where the rectifier block meets the rest.
struct Port {
    Node plus = 0, minus = 0;
    int item = -1;
    bool simple = false;  ///< one rectifier, one transformer: a regulation line is exact
};

/// What only a solution can tell, for the defaults that rest on it: of the set as it was made, since no winding has
/// other ohms while a tube is out.
struct Guess {
    double b_plus_watts = 0;
    double plate_rms_amps = 0;
    std::map<int, double> untraced_volts;  ///< part: volts across
    /// Winding and half of the power transformer: what brings a half that is marked by its loaded volts to them, times
    /// the turns that the drop of its load makes.
    std::map<std::pair<int, int>, double> turns;
    bool used = false;  ///< some default rested on the first two
};

/// A signal between cathode and control grid of an output tube, its amplitude 0 until a condition sets it.
struct Drive {
    int item = -1, tube = -1, section = -1;
    double sign = 1;  ///< -1: the other side of a push-pull pair
};
/// Nodes between which most of the load of an output transformer's secondary hangs.
struct Output {
    int part = -1;
    Node from = 0, to = 0;
};
/// Of the signal in periods of the line: odd, near 400 c.
int signal_multiple(double hertz);

/// A plate half with a layer shorted: 95 % of its turns, and 5 % as a ring.
struct Layer {
    int part = -1, winding = -1, half = -1;
};

struct Translation {
    circuit::Circuit full, twin;
    std::vector<Item> items;
    std::vector<Node> node_of_net;
    std::vector<int> net_of_node;  ///< -1: inside a part
    std::vector<std::string> node_names;
    std::vector<char> adrift;    ///< by node: no direct-current path to the reference but the assumed insulation
    std::vector<int> held_by;    ///< by node that is adrift: the item of that insulation, else -1
    std::vector<char> in_block;  ///< by node: line, transformer, rectifier, first filter
    std::vector<Tube> tubes;
    std::vector<Dry> dry;
    std::vector<int> stopped;      ///< parts whose converter cannot oscillate: no coil at its oscillator grid
    std::vector<int> oscillators;  ///< parts with a triode that oscillates, whose own bias is not computed
    std::vector<Feed> feeds;
    bool direct = false;   ///< no alternating line: all feeds keep step with the one at `source`
    bool chopped = false;  ///< a vibrator: steps of a period are multiples of its grid
    std::vector<Thermal> thermals;
    std::vector<Iron> irons;
    std::vector<WindingHalf> windings;
    std::vector<LoadedHalf> loaded;
    std::vector<Tap> taps;
    std::vector<Spread> spreads;
    std::vector<int> voice_coils;  ///< items that load the secondary of an output transformer
    std::vector<Output> outputs;   ///< where a load hangs on an output transformer
    std::vector<int> filters;      ///< items: electrolytics of a supply
    std::vector<Drive> drives;     ///< none unless asked for
    std::map<std::pair<Node, Node>, int> gaps;
    std::map<int, std::vector<int>> items_of_part;
    std::map<int, int> ring_of_part;  ///< transformer part: winding index of its ring
    std::vector<Port> ports;          ///< one when simple
    std::vector<Element>
        probes,  ///< by node: a current source of 0 A into it in the twin, for source resistances; -1 for the reference
        meters;  ///< by node: 0 siemens to the reference in the full circuit, for a meter there; -1 for the reference
    int source = -1, lamp = -1, anchor = -1;  ///< items: line or leading battery, series lamp, load at the port
    double hertz = 60;    ///< of the period: the line's, the vibrator's; any for direct current alone
    int power_part = -1;  ///< the power transformer
    double va = 0;
    std::vector<Assumption> assumptions;
    Guess guess;
};

/// Fails when a tube has no constants or there is no line to feed the set.
Outcome<Translation> translate(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy,
                               const std::map<std::string, TubeModel>& models, std::span<const Fault> faults,
                               const Guess& guess, double hertz, const Layer* layer = nullptr, bool driven = false);

/// Tube models of the sockets, by type.
Outcome<std::map<std::string, TubeModel>> tube_models(const Chassis& chassis, const Catalogue& catalogue);

/// What a fault sets. `layer` is set for a shorted layer, which is a translation of its own. Names no part: the fault
/// does nothing.
struct FaultEffect {
    std::vector<Change> changes;
    std::vector<std::pair<int, double>> emission;  ///< tube, factor
    std::vector<int> heaters_open;                 ///< thermals that pass nothing
    std::vector<std::pair<int, double>> feeds;     ///< item of a battery, factor on its volts
    bool layered = false;
    Layer layer;
    bool hard_short = false;
    std::string why;  ///< when it cannot be placed
};
/// The value an item has at present (what-if values included).
using ValueOf = std::function<double(int item, Slot slot, int index)>;
FaultEffect effect_of(const Translation& translation, const Chassis& chassis, const Fault& fault,
                      const ValueOf& value_of);

/// Pairs of nodes whose gap a fault closes; none for a change of value.
std::vector<std::pair<Node, Node>> gaps_of(const Translation& translation, const Chassis& chassis, const Fault& fault);

/// The regulation line of the twin: parameters {scale, centre, half span, c0..c4, lowest u, highest u, offset}, amperes
/// out of the port's plus terminal as a polynomial of u = (volts - offset - centre) / half span, carried on straight
/// outside the span.
circuit::Law port_law();
constexpr int port_parameters = 11;

}  // namespace tubewright::bench
