// SPDX-License-Identifier: MIT
// See translation.hpp. Parts are translated in the order of the file; nothing depends on their names but the ties of
// words.
#include "bench/translation.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <numbers>
#include <numeric>
#include <set>
#include <span>

#include "bench/dry.hpp"
#include "bench/numbers.hpp"
#include "bench/output_turns.hpp"
#include "bench/residue.hpp"
#include "chassis/data.hpp"
#include "chassis/power.hpp"
#include "tubes/laws.hpp"
#include "tubes/parameters.hpp"
#include "tubes/regulator.hpp"

namespace tubewright::bench {

namespace {

std::string number(double value) {
    std::array<char, 32> text{};
    const auto end = std::to_chars(text.data(), text.data() + text.size(), value, std::chars_format::general, 4);
    return {text.data(), end.ptr};
}

bool starts(std::string_view text, std::string_view with) {
    return text.substr(0, with.size()) == with;
}

/// Whether an electrode name is one end (or the tap) of a heater.
bool is_heater(std::string_view name) {
    return name == "h" || name == "h-" || name == "h+" || name == "hct" || name == "htap";
}
bool is_heater_tap(std::string_view name) {
    return name == "hct" || name == "htap";
}

class Translator {
  public:
    Translator(const Chassis& set, const Catalogue& catalogue, const Policy& policy,
               const std::map<std::string, TubeModel>& models, const Guess& guess, double hertz, const Layer* layer,
               bool driven)
        : set_(set),
          catalogue_(catalogue),
          policy_(policy),
          models_(models),
          hertz_(hertz),
          layer_(layer),
          driven_(driven) {
        out_.hertz = hertz;
        out_.guess = guess;
        out_.guess.used = false;
    }

    Outcome<Translation> run(std::span<const Fault> faults) {
        if (set_.level() < 2 && !heaters_traced())
            return Notice{messages::too_little_traced,
                          Severity::error,
                          {set_.file(), 0, 0},
                          "supply and output stage of '" + set_.name() + "' are not traced: there is nothing to solve",
                          "trace from the line to the filter, then the output tube; until then survey and shop answer"};
        make_nodes();
        if (!line()) return failure_;
        find_power_transformer();
        for (std::size_t p = 0; p < set_.parts().size(); ++p) {
            if (!translate_part(static_cast<int>(p))) return failure_;
        }
        find_port();
        pair_drives();
        place_gaps(faults);
        tie_what_hangs();
        out_.probes.assign(out_.node_names.size(), -1);
        out_.meters = out_.probes;
        for (Node at = 1; at < static_cast<Node>(out_.node_names.size()); ++at) {
            out_.probes[static_cast<std::size_t>(at)] = out_.twin.current_source(circuit::ground, at, 0);
            out_.meters[static_cast<std::size_t>(at)] = out_.full.conductance(at, circuit::ground, 0);
        }
        return std::move(out_);
    }

  private:
    const Chassis& set_;
    const Catalogue& catalogue_;
    const Policy& policy_;
    const std::map<std::string, TubeModel>& models_;
    double hertz_;
    const Layer* layer_;
    bool driven_;
    int leading_ = -1;  ///< the battery that stands for the line
    Translation out_;
    Notice failure_;
    std::vector<int> power_;  ///< transformers that feed the set; the first is power_part

    /// Heaters all wired, whatever else is not: a string or a winding of them is solved by itself.
    bool heaters_traced() const {
        bool any = false;
        for (std::size_t p = 0; p < set_.parts().size(); ++p) {
            const Part& part = set_.parts()[p];
            if (part.kind != PartKind::socket || stands_open(part)) continue;
            if (part.type == nullptr) return false;
            int ends = 0, wired = 0;
            for (const Lead& lead : part.leads) {
                const Pin* pin = part.type->pin(lead.name);
                if (pin == nullptr || pin->electrodes.empty() || !is_heater(pin->electrodes.front())) continue;
                ++ends;
                if (lead.net < 0) continue;
                const std::span<const LeadRef> on = set_.nets()[static_cast<std::size_t>(lead.net)].leads;
                wired += std::any_of(on.begin(), on.end(),
                                     [&](const LeadRef& ref) { return ref.part != static_cast<int>(p); })
                             ? 1
                             : 0;
            }
            if (ends > 0 && wired < 2) return false;
            any = any || ends > 0;
        }
        return any;
    }

    // ---- nodes and items

    Node new_node(const std::string& name, int net) {
        const Node node = out_.full.node(name);
        out_.twin.node(name);
        out_.net_of_node.push_back(net);
        out_.node_names.push_back(name);
        return node;
    }

    void make_nodes() {
        const int reference = set_.reference();
        out_.node_of_net.assign(set_.nets().size(), circuit::ground);
        out_.net_of_node.assign(1, reference);
        out_.node_names.assign(1, reference >= 0 ? set_.nets()[static_cast<std::size_t>(reference)].name : "reference");
        for (std::size_t n = 0; n < set_.nets().size(); ++n) {
            if (static_cast<int>(n) == reference) continue;
            out_.node_of_net[n] = new_node(set_.nets()[n].name, static_cast<int>(n));
        }
    }

    Node node(int net) const { return net < 0 ? -1 : out_.node_of_net[static_cast<std::size_t>(net)]; }
    Node lead_node(const Part& part, std::size_t lead) const {
        return lead < part.leads.size() ? node(part.leads[lead].net) : -1;
    }

    int put(Item item) {
        const int index = static_cast<int>(out_.items.size());
        if (item.part >= 0) out_.items_of_part[item.part].push_back(index);
        out_.items.push_back(std::move(item));
        return index;
    }

    int resistor(const std::string& id, int part, Node a, Node b, double ohms, std::string source) {
        Item item;
        item.id = id;
        item.kind = "resistor";
        item.part = part;
        item.nodes = {a, b};
        item.names = {"ohms"};
        item.values = {ohms};
        item.sources = {std::move(source)};
        item.conducts = true;
        if (a != b) {
            item.full = out_.full.resistor(a, b, ohms);
            item.twin = out_.twin.resistor(a, b, ohms);
        }
        return put(std::move(item));
    }

    int conductance(const std::string& id, int part, Node a, Node b, double siemens, std::string source) {
        Item item;
        item.id = id;
        item.kind = "gap";
        item.part = part;
        item.nodes = {a, b};
        item.names = {"siemens"};
        item.values = {siemens};
        item.sources = {std::move(source)};
        if (a != b) {
            item.full = out_.full.conductance(a, b, siemens);
            item.twin = out_.twin.conductance(a, b, siemens);
        }
        return put(std::move(item));
    }

    int inductor(const std::string& id, int part, Node a, Node b, double henries, double ohms,
                 std::string henries_source, std::string ohms_source) {
        Item item;
        item.id = id;
        item.kind = "inductor";
        item.part = part;
        item.nodes = {a, b};
        item.names = {"henries", "ohms"};
        item.values = {henries, ohms};
        item.sources = {std::move(henries_source), std::move(ohms_source)};
        item.conducts = true;
        if (a != b) {
            item.full = out_.full.inductor(a, b, henries, ohms);
            item.twin = out_.twin.resistor(a, b, ohms);
        }
        return put(std::move(item));
    }

    void tap(int part, std::string lead, int item, Node a, Node b) {
        Tap one;
        one.part = part;
        one.lead = std::move(lead);
        one.item = item;
        one.a = a;
        one.b = b;
        out_.taps.push_back(std::move(one));
    }

    void assume(std::string about, std::string taken, std::string why, std::string measure, std::string spread,
                std::string source) {
        for (const Assumption& one : out_.assumptions) {
            if (one.about == about) return;
        }
        out_.assumptions.push_back({std::move(about), std::move(taken), std::move(why), std::move(measure),
                                    std::move(spread), std::move(source)});
    }

    // ---- the line

    bool line() {
        const NodeRoles& roles = set_.nodes();
        if (roles.line_hot < 0 || roles.line_neutral < 0 || roles.line_hot == roles.line_neutral) {
            leading_ = leading_battery(set_);
            if (leading_ >= 0) {
                out_.direct = true;
                return battery(leading_, set_.parts()[static_cast<std::size_t>(leading_)]);
            }
            failure_ = Notice{messages::no_line,
                              Severity::error,
                              {set_.file(), 0, 0},
                              "no line feeds '" + set_.name() + "': there is nothing to solve",
                              "say which two nets the line comes in on (hot and neutral)"};
            return false;
        }
        const Node hot = node(roles.line_hot), neutral = node(roles.line_neutral);
        const Node behind = new_node("line", -1);
        out_.direct = set_.line().hertz <= 0 || set_.line().supply == "dc";
        if (out_.direct) {
            out_.source = direct_source("line", -1, behind, neutral, set_.line().volts);
            assume("line", "direct current, plus on its hot blade", "the line is a direct-current one",
                   "the polarity of the outlet", "nothing at all the other way round", "stated in the file");
        } else {
            Item source;
            source.id = "line";
            source.kind = "voltage-source";
            source.nodes = {behind, neutral};
            source.names = {"volts_rms", "hertz"};
            source.values = {set_.line().volts, hertz_};
            source.sources = {"stated in the file", "stated in the file"};
            source.full = out_.full.voltage_source(
                behind, neutral, circuit::Waveform::cosine(set_.line().volts * std::numbers::sqrt2, hertz_));
            source.conducts = true;
            out_.source = put(std::move(source));
        }
        out_.lamp = resistor("series lamp", -1, behind, hot, assumed::lamp_slot_ohms, "assumed: no lamp");
        return true;
    }

    int direct_source(const std::string& id, int part, Node plus, Node minus, double volts) {
        Item source;
        source.id = id;
        source.kind = "direct-source";
        source.part = part;
        source.nodes = {plus, minus};
        source.names = {"volts"};
        source.values = {volts};
        source.sources = {"stated in the file"};
        source.conducts = true;
        source.full = out_.full.voltage_source(plus, minus, circuit::Waveform::constant(volts));
        source.twin = out_.twin.voltage_source(plus, minus, circuit::Waveform::constant(volts));
        const int item = put(std::move(source));
        out_.feeds.push_back({item, volts, volts});
        return item;
    }

    // ---- batteries, vibrators, dry rectifiers

    /// A battery behind its ohms; the leading one behind the place of a series lamp too.
    bool battery(int p, const Part& part) {
        const Node plus = lead_node(part, 0), minus = lead_node(part, 1);
        if (plus < 0 || minus < 0 || plus == minus || !part.closed || stands_open(part)) return true;
        const bool leads = p == leading_;
        const double marked = part.rated_volts.value_or(1.5);
        if (!part.rated_volts)
            assume(part.id + " volts", number(marked) + " V", "not in the file", "read its label",
                   "all that hangs on it, in proportion", "assumed");
        const Battery made = battery_of(part, set_, policy_.today_year);
        const Node inside = new_node(part.id + ".inside", -1);
        const int source = direct_source(part.id, p, inside, minus, made.volts);
        out_.feeds.back().marked = marked;
        if (made.volts < marked) out_.items[static_cast<std::size_t>(source)].sources = {"assumed: " + made.state};
        out_.spreads.push_back({p, source, Slot::direct, 0, made.volts, made.least_volts, made.most_volts});
        assume(part.id + " age", made.state + ": " + number(made.volts) + " V open",
               part.since ? "its date; cells fall as they are used and kept" : "no date in the file",
               "its volts with nothing on it", number(made.least_volts) + " to " + number(made.most_volts) + " V",
               "assumed");
        Node behind = inside;
        if (leads) {
            out_.source = source;
            behind = new_node(part.id + ".lamp", -1);
            out_.lamp = resistor("series lamp", -1, inside, behind, assumed::lamp_slot_ohms, "assumed: no lamp");
        }
        const std::string aged = made.volts < marked ? ", " + made.state : "";
        const int item = resistor(part.id + " ohms", p, behind, plus, made.ohms,
                                  part.ohms   ? "stated in the file"
                                  : made.lead ? "assumed: of lead cells" + aged
                                              : "assumed: of its cells" + (aged.empty() ? ", fresh" : aged));
        tap(p, part.leads[0].name, item, behind, plus);
        out_.spreads.push_back({p, item, Slot::ohms, 0, made.ohms, made.least_ohms, made.most_ohms});
        if (!part.ohms)
            assume(part.id + " ohms", number(made.ohms) + " ohm",
                   made.lead      ? "no file gives them: an accumulator's cells"
                   : aged.empty() ? "no file gives them: fresh cells"
                                  : "no file gives them: cells" + aged,
                   "its volts with and without the set", "up to " + number(made.most_ohms) + " ohm when it is spent",
                   "common practice, no source");
        return true;
    }

    bool vibrator(int p, const Part& part) {
        const Node reed = lead_node(part, 0);
        if (reed < 0 || stands_open(part)) return true;
        if (!part.duty)
            assume(part.id + " duty", ".85", "not in the file", "a scope, or the ratio of volts",
                   "B-plus by some percent", "common practice, no source");
        for (const Closed& closed : vibrator_contacts(part)) {
            const Node at = lead_node(part, static_cast<std::size_t>(closed.lead));
            if (at < 0 || at == reed) continue;
            Item item;
            item.id = part.id + "." + part.leads[static_cast<std::size_t>(closed.lead)].name.str();
            item.kind = "contact";
            item.part = p;
            item.nodes = {at, reed};
            item.names = {"works", "siemens", "from", "to"};
            item.values = {1, 1 / assumed::contact_ohms, closed.from, closed.to};
            item.sources.assign(4, "assumed: .02 ohm closed; edges on eightieths of a cycle");
            item.conducts = true;
            item.full = out_.full.contact(at, reed, 1 / assumed::contact_ohms, closed.from, closed.to);
            if (closed.rectifies) out_.full.rectifies(item.full);
            const int index = put(std::move(item));
            tap(p, part.leads[static_cast<std::size_t>(closed.lead)].name, index, at, reed);
            out_.chopped = true;
        }
        reed_coil(p, part, reed);
        assume(part.id + " contacts", ".02 ohm closed, no bounce; a secondary pair closes for .9 of the primary's time",
               "no file gives them", "a scope across them", "B-plus by a percent or two", "common practice, no source");
        return true;
    }

    /// The coil that drives the reed, as what it draws on the mean: from the middle of the primary to the reed.
    void reed_coil(int p, const Part& part, Node reed) {
        for (const Part& core : set_.parts()) {
            if (core.kind != PartKind::transformer || core.role != "vibrator") continue;
            for (const PartWinding& winding : core.windings) {
                if (winding.role != WindingRole::primary || winding.leads.size() != 3 || winding.leads[1] < 0) continue;
                const Node middle = lead_node(core, static_cast<std::size_t>(winding.leads[1]));
                if (middle < 0 || middle == reed) continue;
                const double volts = feed_volts(set_), ohms = volts * volts / assumed::reed_coil_watts;
                tap(p, "coil", resistor(part.id + " coil", p, middle, reed, ohms, "assumed: 1 W drives the reed"),
                    middle, reed);
                assume(part.id + " coil", number(ohms) + " ohm", "no file gives it: 1 W drives the reed",
                       "ohms between its pins, out of the socket", "primary amperes by .1 to .3 A", "assumed");
                return;
            }
        }
    }

    bool dry(int p, const Part& part) {
        const Node anode = lead_node(part, 0), cathode = lead_node(part, 1);
        if (anode < 0 || cathode < 0 || anode == cathode || stands_open(part)) return true;
        const DryRectifier made = dry_rectifier(part, age_of(part, set_, policy_.today_year));
        Item item;
        item.id = part.id;
        item.kind = "device";
        item.law = "dry-rectifier";
        item.part = p;
        item.nodes = {anode, cathode};
        item.names = dry_parameter_names();
        item.values = made.parameters;
        item.sources.assign(item.names.size(), "assumed: " + made.made);
        item.conducts = true;
        item.full = out_.full.device(dry_rectifier_law(), item.nodes, item.values);
        out_.full.rectifies(item.full);
        const int index = put(std::move(item));
        out_.dry.push_back({p, index, anode, cathode});
        tap(p, part.leads[0].name, index, anode, cathode);
        const double ohms = made.parameters[series_ohms];
        const double back = made.parameters[reverse_siemens];
        out_.spreads.push_back({p, index, Slot::parameter, series_ohms, ohms, made.least_ohms, made.most_ohms});
        out_.spreads.push_back(
            {p, index, Slot::parameter, reverse_siemens, back, made.least_siemens, made.most_siemens});
        assume(part.id, made.made + ": " + number(ohms) + " ohm in series, " + number(1 / back) + " ohm back",
               part.rated_volts && part.rated_amps ? "its rating is no law" : "no rating in the file: 130 V, 75 mA",
               "its volts forward under load",
               number(made.least_ohms) + " to " + number(made.most_ohms) +
                   " ohm: B-plus by tens of volts when it is tired",
               "common practice, no source");
        return true;
    }

    // ---- capacitors, resistors, coils, small parts

    bool translate_part(int p) {
        const Part& part = set_.parts()[static_cast<std::size_t>(p)];
        if (part.shorted) {
            two_terminal(p, part, assumed::found_short_ohms, "assumed: .1 ohm, as it was seen shorted");
            assume(part.id, number(assumed::found_short_ohms) + " ohm from end to end", "it was seen shorted",
                   "its ohms, one end free", "what flows through the short", "assumed");
            return true;
        }
        switch (part.kind) {
            case PartKind::capacitor:
                capacitor(p, part);
                return true;
            case PartKind::resistor:
            case PartKind::control:
                resistive(p, part);
                return true;
            case PartKind::coil:
                coil(p, part);
                return true;
            case PartKind::transformer:
                return transformer(p, part);
            case PartKind::socket:
                return socket(p, part);
            case PartKind::lamp:
                dial_lamp(p, part);
                return true;
            case PartKind::fuse: {
                // a fuse of more amperes is of thicker wire
                double ohms = assumed::fuse_volts / std::max(1.0, part.rated_amps.value_or(1.0));
                std::string source = "assumed: a fuse's cold ohms, .1 V at its rating";
                for (const FuseRow& row : catalogue_.fuses()) {
                    if (part.rated_amps && row.cold_ohms && std::fabs(row.amps - *part.rated_amps) < 1e-9) {
                        ohms = *row.cold_ohms;
                        source = row.source.text;
                        break;
                    }
                }
                if (part.ohms) ohms = *part.ohms, source = "stated in the file";
                two_terminal(p, part, ohms, source);
                return true;
            }
            case PartKind::power_switch:
                // the line switch is found open as often as not: what is solved is the set switched on
                if (!part.closed && part.role == "line")
                    assume(part.id, "on", "written open: what is solved is the set switched on", "nothing",
                           "everything: off, nothing stands anywhere", "assumed");
                two_terminal(p, part, part.closed || part.role == "line" ? assumed::switch_ohms : 1e12,
                             part.closed           ? "assumed: a closed switch"
                             : part.role == "line" ? "assumed: the line switch, written open, is on"
                                                   : "an open switch");
                return true;
            case PartKind::wire:
                two_terminal(p, part, part.ohms.value_or(assumed::wire_ohms),
                             part.ohms ? "stated in the file" : "assumed: a wire");
                return true;
            case PartKind::cord:
                cord(p, part);
                return true;
            case PartKind::speaker: {
                const double ohms = part.ohms.value_or(assumed::voice_ohms);
                if (part.leads.size() >= 2) {
                    if (!part.ohms)
                        assume(part.id + " voice coil", number(ohms) + " ohm", "not in the file: usual, at 400 c",
                               "ohms of the voice coil, one lead lifted, and a sixth more",
                               "nothing but the secondary's own volts", "common practice, no source");
                    two_terminal(p, part, ohms, part.ohms ? "stated in the file" : "assumed");
                    out_.voice_coils.push_back(static_cast<int>(out_.items.size()) - 1);
                }
                return true;
            }
            case PartKind::untraced:
                untraced(p, part);
                return true;
            case PartKind::battery:
                return p == leading_ || battery(p, part);
            case PartKind::vibrator:
                return vibrator(p, part);
            case PartKind::rectifier:
                return dry(p, part);
            case PartKind::plug:
            case PartKind::strip:
            case PartKind::block:
                return true;
        }
        return true;
    }

    void two_terminal(int p, const Part& part, double ohms, std::string source) {
        const Node a = lead_node(part, 0), b = lead_node(part, 1);
        if (a < 0 || b < 0) return;
        // a blown fuse, a broken wire or cord is mended before anything is read: what is solved has it whole
        const bool joins = part.kind == PartKind::fuse || part.kind == PartKind::wire || part.kind == PartKind::cord ||
                           part.kind == PartKind::power_switch;
        if (stands_open(part) && (!joins || unplugged(part))) ohms *= assumed::open_factor;
        const int item = resistor(part.id, p, a, b, ohms, std::move(source));
        tap(p, part.leads[0].name, item, a, b);
    }

    /// A cord is a conductor only where that can be no short across the line: a resistance cord, or one lead of it
    /// drawn as a part.
    void cord(int p, const Part& part) {
        const Node a = lead_node(part, 0), b = lead_node(part, 1);
        if (a < 0 || b < 0 || part.leads.size() != 2) return;
        if (!part.ohms) {
            const NodeRoles& roles = set_.nodes();
            const int na = part.leads[0].net, nb = part.leads[1].net;
            if ((na == roles.line_hot && nb == roles.line_neutral) ||
                (nb == roles.line_hot && na == roles.line_neutral))
                return;
        }
        two_terminal(p, part, part.ohms.value_or(assumed::wire_ohms),
                     part.ohms ? "stated in the file" : "assumed: a cord");
    }

    void capacitor(int p, const Part& part) {
        const Node a = lead_node(part, 0), b = lead_node(part, 1);
        if (a < 0 || b < 0) return;
        double farads = 0;
        std::string source = "stated in the file";
        if (part.farads) {
            farads = *part.farads;
        } else {
            farads = part.polarised
                         ? 8e-6
                         : (starts(part.construction, "mica") || part.construction.find("mica") != std::string::npos
                                ? 2.5e-10
                                : 5e-8);
            source = "assumed";
            assume(part.id + " farads", number(farads * 1e6) + " uF", "not in the file: usual for its kind",
                   "read its marking", "ripple, no direct volts unless it is a first filter",
                   "common practice, no source");
        }
        if (stands_open(part)) farads = 0;
        // that of a bypass decides where an unloaded cathode stands; a supply's would lower the volts that its parts
        // are chosen for, and empty it where nothing else does
        const bool supply = part.rated_volts.value_or(supply_rating + 1) > supply_rating;
        const double leak = part.polarised && !supply ? farads * assumed::electrolytic_leak : 0;
        Item item;
        item.id = part.id;
        item.kind = "capacitor";
        item.part = p;
        item.nodes = {a, b};
        item.names = {"farads", "leak_siemens"};
        item.values = {farads, leak};
        item.sources = {source, leak > 0 ? "assumed: .01 uA for each uF and volt, as many new ones are sold by"
                                         : "assumed: no leak in a part as it should be"};
        if (a != b) {
            item.full = out_.full.capacitor(a, b, farads, leak);
            item.twin = out_.twin.conductance(a, b, leak);
        }
        const int index = put(std::move(item));
        if (a != b && part.polarised && supply) out_.filters.push_back(index);
        if (a != b && leak > 0) out_.spreads.push_back({p, index, Slot::siemens, 0, leak, 0.1 * leak, 10 * leak});
        tap(p, part.leads[0].name, index, a, b);
    }

    /// What a ballast is left to drop: the line less the heaters, at the heaters' amperes; 0 where they do not tell.
    double usual_ballast() const {
        double volts = 0, amps = 0;
        for (const Part& part : set_.parts()) {
            if (part.kind != PartKind::socket || part.type == nullptr || !part.type->heater_volts ||
                !part.type->heater_amps)
                continue;
            volts += *part.type->heater_volts;
            amps = std::max(amps, *part.type->heater_amps);
        }
        return amps > 0 ? std::max(0.0, (feed_volts(set_) - volts) / amps) : 0;
    }

    /// What a resistor without a value is likely to be, by what it is joined to.
    double usual_ohms(const Part& part, std::string& why) const {
        if (part.role == "ballast")
            if (const double left = usual_ballast(); left > 0)
                return why = "a ballast that takes what the heaters leave", left;
        bool cathode = false, grid = false, plate = false, screen = false;
        for (const Lead& lead : part.leads) {
            if (lead.net < 0) continue;
            for (const LeadRef& ref : set_.nets()[static_cast<std::size_t>(lead.net)].leads) {
                const Part& other = set_.parts()[static_cast<std::size_t>(ref.part)];
                if (other.kind != PartKind::socket || other.type == nullptr || other.type->is_rectifier()) continue;
                const Pin* pin = other.type->pin(other.leads[static_cast<std::size_t>(ref.lead)].name);
                if (pin == nullptr) continue;
                for (const std::string& e : pin->electrodes) {
                    cathode = cathode || starts(e, "k");
                    grid = grid || starts(e, "g1") || e == "g4" || e == "gt";
                    screen = screen || e == "g2";
                    plate = plate || starts(e, "p");
                }
            }
        }
        if (cathode) return why = "a cathode resistor", 400;
        if (grid) return why = "a grid leak", 500e3;
        if (screen) return why = "a screen dropper", 20e3;
        if (plate) return why = "a plate load", 250e3;
        why = part.kind == PartKind::control ? "a control" : "a resistor of unknown use";
        return part.kind == PartKind::control ? 500e3 : 100e3;
    }

    /// A ballast of which the file gives volts and amperes and no ohms: iron in hydrogen, which holds its amperes.
    bool regulator(int p, const Part& part) {
        if (part.role != "ballast" || part.ohms || !part.rated_volts || !part.rated_amps || part.leads.size() != 2 ||
            stands_open(part))
            return false;
        const Node a = lead_node(part, 0), b = lead_node(part, 1);
        if (a < 0 || b < 0 || a == b) return true;
        Thermal wire;
        wire.rated_volts = *part.rated_volts;
        wire.rated_amps = *part.rated_amps;
        wire.exponent = assumed::regulator_exponent;
        wire.cold_share = assumed::cold_regulator;
        wire.items = {resistor(part.id, p, a, b, wire.rated_volts / wire.rated_amps, "stated in the file")};
        wire.shares = {1};
        wire.a = a;
        wire.b = b;
        tap(p, part.leads[0].name, wire.items.front(), a, b);
        out_.thermals.push_back(std::move(wire));
        assume(part.id, "holds its amperes: they follow its volts to the power .12", "a current regulator",
               "its volts and amperes at two line volts", "heater volts by some percent", "recalled");
        return true;
    }

    void resistive(int p, const Part& part) {
        if (regulator(p, part)) return;
        double ohms = 0;
        std::string source = "stated in the file";
        if (part.ohms) {
            ohms = *part.ohms;
        } else {
            std::string why;
            ohms = usual_ohms(part, why);
            source = "assumed: " + why;
            assume(part.id + " ohms", number(ohms) + " ohm", "not in the file: usual for " + why,
                   "read its colours, or ohms with one end free", "everything it feeds: a factor of 3 either way",
                   "common practice, no source");
        }
        if (stands_open(part)) ohms = std::max(ohms, assumed::open_resistor_ohms);
        if (part.leads.size() <= 2) {
            const Node a = lead_node(part, 0), b = lead_node(part, 1);
            if (a < 0 || b < 0) return;
            if (part.kind == PartKind::control)
                assume(part.id + " position", "all of its " + number(ohms) + " ohm in", "a position had to be taken",
                       "set it so while reading, or its ohms as it stands", "the current through it",
                       "common practice, no source");
            const int item = resistor(part.id, p, a, b, ohms, source);
            tap(p, part.leads[0].name, item, a, b);
            spread_resistor(p, part, item, ohms);
            return;
        }
        // Three or more leads: sections from end to end; a control's wiper stands in the middle.
        std::vector<std::size_t> order;
        std::size_t wiper = 1;
        for (std::size_t k = 0; k < part.leads.size(); ++k) {
            const std::string& name = part.leads[k].name;
            if (name == "wiper" || name == "w" || name == "arm" || name == "slider") wiper = k;
        }
        if (part.kind == PartKind::control) {
            for (std::size_t k = 0; k < part.leads.size(); ++k) {
                if (k != wiper) order.push_back(k);
            }
            order.insert(order.begin() + 1, wiper);
            assume("controls", "wipers in the middle", "a position had to be taken", "set them so while reading",
                   "no direct volts where no current flows", "common practice, no source");
        } else {
            order.resize(part.leads.size());
            std::iota(order.begin(), order.end(), std::size_t{0});
            assume(part.id + " taps", "equal sections", "the file gives one value for all", "ohms of each section",
                   "the volts at its taps", "assumed");
        }
        const double share = ohms / static_cast<double>(order.size() - 1);
        for (std::size_t k = 0; k + 1 < order.size(); ++k) {
            const Node a = lead_node(part, order[k]), b = lead_node(part, order[k + 1]);
            const int item = resistor(part.id + "." + std::to_string(k + 1), p, a, b, share, source);
            tap(p, part.leads[order[k]].name, item, a, b);
            spread_resistor(p, part, item, share);
        }
    }

    void spread_resistor(int p, const Part& part, int item, double ohms) {
        if (out_.items[static_cast<std::size_t>(item)].full < 0 || ohms > 1e11) return;
        const Construction* construction = catalogue_.construction(part.construction);
        const bool wound =
            part.construction.find("wire") != std::string::npos || part.construction.find("wound") != std::string::npos;
        double tolerance = part.tolerance.value_or(wound ? 0.10 : 0.20);
        if (!part.ohms) tolerance = 0.67;
        const double drift =
            construction != nullptr && construction->drift_high ? std::max(0.0, *construction->drift_high) : 0.0;
        out_.spreads.push_back(
            {p, item, Slot::ohms, 0, ohms, ohms * (1 - std::min(tolerance, 0.9)), ohms * (1 + tolerance + drift)});
    }

    void coil(int p, const Part& part) {
        const Node a = lead_node(part, 0), b = lead_node(part, 1);
        if (a < 0 || b < 0) return;
        const bool iron = part.role == "choke" || part.role == "field";
        double ohms = part.role == "voice" ? assumed::voice_ohms * assumed::voice_direct : assumed::antenna_coil_ohms;
        std::string ohms_source = "stated in the file";
        if (part.ohms) {
            ohms = *part.ohms;
        } else {
            if (iron) ohms = part.role == "field" ? 1200 : 300;
            ohms_source = "assumed";
            assume(part.id + " ohms", number(ohms) + " ohm",
                   "not in the file: usual for a " + (part.role.empty() ? std::string("coil") : part.role.str()),
                   "ohms, one end free", iron ? "B-plus by tens of volts" : "nothing that a meter shows",
                   "common practice, no source");
        }
        if (stands_open(part)) ohms = assumed::open_ohms;
        // The share of the turns before a tap is not in the file: half of them.
        const Node middle = part.leads.size() > 2 && part.leads[2].name == "tap" ? lead_node(part, 2) : -1;
        if (middle >= 0) {
            assume(part.id + " tap", "half of its ohms on either side", "not in the file",
                   "the ohms from the tap to each end; write them as two coils in series",
                   "what the tap gives, by half or more", "common practice, no source");
            tapped_coil(p, part, a, middle, b, ohms, ohms_source);
            return;
        }
        int item = -1;
        if (iron) {
            const double henries = part.henries.value_or(assumed::choke_henries);
            if (!part.henries)
                assume(part.id + " henries", number(henries) + " H", "not in the file", "not needed",
                       "ripple; 5 to 20 H changes no direct voltage", "common practice, no source");
            item =
                inductor(part.id, p, a, b, henries, ohms, part.henries ? "stated in the file" : "assumed", ohms_source);
            iron_coil(part, item, henries, ohms);
        } else {
            item = resistor(part.id, p, a, b, ohms,
                            ohms_source + "; a radio-frequency or voice coil is its ohms at line frequency");
        }
        if (part.role == "voice") out_.voice_coils.push_back(item);
        tap(p, part.leads[0].name, item, a, b);
        out_.spreads.push_back({p, item, Slot::ohms, iron ? 1 : 0, ohms, ohms * 0.9, ohms * 1.1});
    }

    /// Henries are printed at the amperes of the coil; `swing` is what it has without them.
    void iron_coil(const Part& part, int item, double henries, double ohms) {
        if (out_.items[static_cast<std::size_t>(item)].full < 0 || ohms >= assumed::open_ohms) return;
        Iron iron;
        iron.item = item;
        iron.ohms = ohms;
        if (part.swing_henries && *part.swing_henries > henries) {
            constexpr double usual_amps = 0.08;
            const double rated = part.rated_amps.value_or(usual_amps);
            iron.swing_henries = *part.swing_henries;
            iron.fall_amps = rated / std::sqrt(*part.swing_henries / henries - 1);
            if (!part.rated_amps)
                assume(part.id + " amps", number(rated * 1e3) + " mA",
                       "the file gives no current at which it has its " + number(henries) + " H", "read its label",
                       "B-plus behind a choke input at light loads", "common practice, no source");
        } else if (part.swing_henries) {
            assume(part.id + " swing", number(henries) + " H at any current",
                   "its swing is no more than its henries: they stand for its full current, swing for none",
                   "read its label", "B-plus behind a choke input at light loads", "stated in the file");
        }
        out_.irons.push_back(iron);
    }

    /// Two halves in series. Their coupling is left out: what flows at the tap is small beside what flows through.
    void tapped_coil(int p, const Part& part, Node a, Node middle, Node b, double ohms, const std::string& source) {
        const bool iron = part.role == "choke" || part.role == "field";
        const double henries = part.henries.value_or(assumed::choke_henries) / 2;
        const std::string henries_source = part.henries ? "stated in the file" : "assumed";
        const auto half = [&](const std::string& id, Node from, Node to) {
            if (!iron) return resistor(id, p, from, to, ohms / 2, source);
            const int item = inductor(id, p, from, to, henries, ohms / 2, henries_source, source);
            if (ohms < assumed::open_ohms && from != to) out_.irons.push_back({item, ohms / 2});
            return item;
        };
        const int first = half(part.id, a, middle), second = half(part.id + ".tap", middle, b);
        tap(p, part.leads[0].name, first, a, middle);
        tap(p, part.leads[2].name, second, middle, b);
        for (const int item : {first, second})
            out_.spreads.push_back({p, item, Slot::ohms, iron ? 1 : 0, ohms / 2, ohms * 0.45, ohms * 0.55});
    }

    static constexpr double untraced_volts = 200;  ///< across the untraced rest, before anything is solved

    void untraced(int p, const Part& part) {
        const Node a = lead_node(part, 0);
        Node b = lead_node(part, 1);
        if (b < 0) b = set_.nodes().b_minus >= 0 ? node(set_.nodes().b_minus) : circuit::ground;
        if (a < 0 || !part.drawn_amps || !(*part.drawn_amps > 0)) return;
        const auto known = out_.guess.untraced_volts.find(p);
        const double volts = known == out_.guess.untraced_volts.end() ? untraced_volts : std::max(1.0, known->second);
        const int item = resistor(part.id, p, a, b, volts / *part.drawn_amps,
                                  "stands for the untraced rest: its amperes at the solved normal volts");
        tap(p, part.leads[0].name, item, a, b);
        assume(part.id,
               number(*part.drawn_amps * 1e3) + " mA as a resistor of " + number(volts / *part.drawn_amps) + " ohm",
               "the rest is not traced", "trace it", "the volts of its net", "stated in the file");
    }

    void dial_lamp(int p, const Part& part) {
        const Node a = lead_node(part, 0), b = lead_node(part, 1);
        if (a < 0 || b < 0) return;
        Thermal lamp;
        lamp.exponent = 0.55;
        lamp.cold_share = assumed::cold_lamp;
        lamp.rated_volts = part.rated_volts.value_or(6.3);
        lamp.rated_amps = part.rated_amps.value_or(0.25);
        std::string source = "stated in the file";
        if (const LampRow* row = part.lamp_type.empty() ? nullptr : catalogue_.lamp(part.lamp_type); row != nullptr) {
            lamp.rated_volts = row->volts;
            lamp.rated_amps = row->amps;
            lamp.exponent = row->exponent;
            source = row->source.text;
        } else if (!part.rated_amps || !part.rated_volts) {
            source = "assumed";
            assume(part.id + " lamp", number(lamp.rated_volts) + " V " + number(lamp.rated_amps) + " A",
                   "type not known", "read its base or bead", "heater load by .1 A", "common practice, no source");
        }
        const double ohms = stands_open(part) ? assumed::open_ohms : lamp.rated_volts / lamp.rated_amps;
        const int item = resistor(part.id, p, a, b, ohms, source);
        tap(p, part.leads[0].name, item, a, b);
        if (out_.items[static_cast<std::size_t>(item)].full < 0 || ohms >= assumed::open_ohms) return;
        lamp.items = {item};
        lamp.shares = {1};
        lamp.a = a;
        lamp.b = b;
        out_.thermals.push_back(std::move(lamp));
    }

    // ---- transformers

    struct Half {
        int winding = 0, half = 0;
        std::string name;
        Node from = 0, to = 0;
        double turns = 0, ohms = 0;
        std::string turns_source, ohms_source;
        bool ohms_assumed = false;
    };

    bool is_power(int part) const { return std::find(power_.begin(), power_.end(), part) != power_.end(); }

    /// Amperes that the heaters and lamps joined to any of the nets draw at their rated volts.
    double heater_amps(const std::set<int>& nets) const {
        double amps = 0, string = 0;
        for (const Part& part : set_.parts()) {
            int on = 0;
            double drawn = 0;
            if (part.kind == PartKind::socket && part.type != nullptr && part.type->heater_amps) {
                std::set<int> seen;
                bool centre = false;
                for (const Lead& lead : part.leads) {
                    const Pin* pin = part.type->pin(lead.name);
                    if (pin == nullptr || pin->electrodes.empty() || !is_heater(pin->electrodes.front())) continue;
                    if (nets.count(lead.net) != 0) ++on, centre = centre || pin->electrodes.front() == "hct";
                }
                drawn = *part.type->heater_amps * (centre ? 2 : 1);
            } else if (part.kind == PartKind::lamp) {
                for (const Lead& lead : part.leads) on += nets.count(lead.net) != 0 ? 1 : 0;
                const LampRow* row = part.lamp_type.empty() ? nullptr : catalogue_.lamp(part.lamp_type);
                drawn = row != nullptr ? row->amps : part.rated_amps.value_or(0.25);
            }
            if (on >= 2) amps += drawn;
            if (on == 1) string = std::max(string, drawn);
        }
        // heaters in series carry what one of them does
        return amps > 0 ? amps : string;
    }

    /// Of a heater winding with what a switch, a fuse, a choke or a dropper joins to its ends.
    std::set<int> winding_nets(const Part& part, const PartWinding& winding) const {
        constexpr double most_ohms = 100;  // of anything that heaters hang behind
        std::set<int> nets;
        std::vector<int> front;
        const NodeRoles& roles = set_.nodes();
        const auto reach = [&](int net) {
            if (net < 0 || !nets.insert(net).second) return;
            if (net != set_.reference() && net != roles.chassis_metal && net != roles.b_minus) front.push_back(net);
        };
        for (const int lead : winding.leads)
            if (lead >= 0) reach(part.leads[static_cast<std::size_t>(lead)].net);
        const bool heats = winding.role == WindingRole::heater || winding.role == WindingRole::rectifier_heater;
        while (!front.empty() && heats) {
            const int net = front.back();
            front.pop_back();
            for (const LeadRef ref : set_.nets()[static_cast<std::size_t>(net)].leads) {
                const Part& next = set_.parts()[static_cast<std::size_t>(ref.part)];
                const bool through = (next.kind == PartKind::power_switch && next.closed) ||
                                     next.kind == PartKind::fuse || next.kind == PartKind::wire ||
                                     ((next.kind == PartKind::coil || next.kind == PartKind::resistor) && next.ohms &&
                                      *next.ohms <= most_ohms);
                if (!through || next.leads.size() != 2 || stands_open(next)) continue;
                for (const Lead& lead : next.leads) reach(lead.net);
            }
        }
        return nets;
    }

    /// Watts that the tubes and the untraced rest draw from B-plus, before anything is solved.
    double b_plus_guess() const {
        constexpr double least_watts = 5;
        double watts = 0;
        for (const Part& part : set_.parts()) {
            if (part.kind == PartKind::untraced) watts += untraced_volts * part.drawn_amps.value_or(0);
            if (part.kind != PartKind::socket || part.type == nullptr || part.type->is_rectifier()) continue;
            const double rated = part.type->max_plate_watts.value_or(1.0);
            watts += rated > 5 ? rated * 1.3 : 1.5;
        }
        return watts > 0 ? watts : least_watts;
    }

    void find_power_transformer() {
        double heaters = 0;
        power_ = power_transformers_of(set_);
        if (!power_.empty()) {
            out_.power_part = power_.front();
            const Part& part = set_.parts()[static_cast<std::size_t>(out_.power_part)];
            for (const PartWinding& winding : part.windings) {
                if (winding.role != WindingRole::heater && winding.role != WindingRole::rectifier_heater) continue;
                const double volts = winding.volts.value_or(
                    std::accumulate(winding.noload_volts.begin(), winding.noload_volts.end(), 0.0));
                double amps = heater_amps(winding_nets(part, winding));
                if (amps <= 0) amps = winding.amps.value_or(0);
                heaters += volts * amps;
            }
            const double watts = out_.guess.b_plus_watts > 0 ? out_.guess.b_plus_watts : b_plus_guess();
            if (part.rated_va) {
                out_.va = *part.rated_va;
            } else {
                out_.va = std::max(1.2 * (heaters + watts), assumed::least_va);
                out_.guess.used = true;
                assume(part.id + " VA", number(out_.va) + " VA",
                       "not in the file: 1.2 x (heaters + rectifier heater + B-plus watts at the first filter)",
                       "read its label", "primary ohms, magnetising current and core loss in proportion",
                       "common practice, no source");
            }
        }
    }

    bool transformer(int p, const Part& part) {
        if (is_power(p)) return power_transformer(p, part);
        if (part.role == "output" || has(part, WindingRole::output_primary)) {
            output_transformer(p, part);
        } else {
            loose_coils(p, part);
        }
        return true;
    }

    static bool has(const Part& part, WindingRole role) {
        return std::any_of(part.windings.begin(), part.windings.end(),
                           [&](const PartWinding& w) { return w.role == role; });
    }

    std::string half_name(const PartWinding& winding, std::size_t half, std::size_t halves) const {
        return halves > 1 ? winding.name + "." + std::to_string(half + 1) : winding.name;
    }

    /// Ohms of a half: stated, or by the rule given.
    double half_ohms(const Part& part, const PartWinding& winding, std::size_t half, std::size_t halves, double by_rule,
                     const std::string& rule, Half& into) {
        double ohms = by_rule;
        if (half < winding.ohms.size()) {
            ohms = winding.ohms[half];
            into.ohms_source = "stated in the file";
        } else if (!winding.ohms.empty()) {
            ohms = winding.ohms.back();
            into.ohms_source = "stated in the file for the other half";
        } else {
            into.ohms_source = "assumed: " + rule;
            into.ohms_assumed = true;
            assume(part.id + " " + half_name(winding, half, halves) + " ohms", number(ohms) + " ohm",
                   "not in the file: " + rule, "ohms, cold, plug out", "volts under load by some percent",
                   "common practice, no source");
        }
        if (winding.ohms.size() == 1 && halves == 2 && winding.role != WindingRole::plate) ohms *= 0.5;
        into.ohms = ohms;
        return ohms;
    }

    /// The sections of a primary, first and past the last, that the line stands across by copper, as its selector is
    /// set.
    std::optional<std::pair<std::size_t, std::size_t>> fed_sections(const PartWinding& primary,
                                                                    const Part& part) const {
        const NodeRoles& roles = set_.nodes();
        if (roles.line_hot < 0 || roles.line_neutral < 0) return {};
        const auto reached = [&](int blade) {
            std::vector<char> nets(set_.nets().size(), 0);
            nets[static_cast<std::size_t>(blade)] = 1;
            for (bool more = true; more;) {
                more = false;
                for (const Part& way : set_.parts()) {
                    const bool copper = way.kind == PartKind::wire || way.kind == PartKind::fuse ||
                                        (way.kind == PartKind::power_switch && (way.closed || way.role == "line"));
                    if (!copper || way.leads.size() != 2 || way.leads[0].net < 0 || way.leads[1].net < 0) continue;
                    char& a = nets[static_cast<std::size_t>(way.leads[0].net)];
                    char& b = nets[static_cast<std::size_t>(way.leads[1].net)];
                    if (a == b) continue;
                    a = b = 1;
                    more = true;
                }
            }
            std::optional<std::size_t> found;
            for (std::size_t k = 0; k < primary.leads.size() && !found; ++k) {
                const int net = part.leads[static_cast<std::size_t>(primary.leads[k])].net;
                if (net >= 0 && nets[static_cast<std::size_t>(net)] != 0) found = k;
            }
            return found;
        };
        const auto hot = reached(roles.line_hot), neutral = reached(roles.line_neutral);
        if (!hot || !neutral || *hot == *neutral) return {};
        return std::pair(std::min(*hot, *neutral), std::max(*hot, *neutral));
    }

    /// Turns of a primary's sections, in volts: as marked by sections; or the mark over the sections that it holds for
    /// (those that the line feeds, or all where it is no line volts), parted as their ohms are.
    std::vector<double> primary_turns(const Part& part, const PartWinding& primary, double design, std::string& source,
                                      std::pair<std::size_t, std::size_t>& held) {
        constexpr double same_volts = 0.03;
        const std::size_t sections = primary.leads.size() - 1;
        const auto near_design = [&](double volts) { return std::abs(volts / design - 1) <= same_volts; };
        held = {0, sections};
        const auto fed = fed_sections(primary, part).value_or(held);
        if (sections > 1 && primary.noload_volts.size() == sections) {
            // "110 10" for taps of 110 and 120
            source = "the winding's sections, by volts";
            const auto begin = primary.noload_volts.begin();
            if (near_design(std::accumulate(begin + static_cast<std::ptrdiff_t>(fed.first),
                                            begin + static_cast<std::ptrdiff_t>(fed.second), 0.0)))
                held = fed;
            return primary.noload_volts;
        }
        source = "the winding's marked volts";
        if (!primary.volts || near_design(feed_volts(set_))) held = fed;
        const bool by_ohms = primary.ohms.size() == sections;
        std::vector<double> shares(sections, 1.0);
        if (by_ohms) shares = primary.ohms;
        const auto begin = shares.begin();
        const double whole = std::accumulate(begin + static_cast<std::ptrdiff_t>(held.first),
                                             begin + static_cast<std::ptrdiff_t>(held.second), 0.0);
        for (double& share : shares)
            share = whole > 0 ? share * design / whole : design / static_cast<double>(sections);
        if (sections > 1)
            assume(part.id + " sections of the primary", by_ohms ? "turns in proportion to their ohms" : "equal turns",
                   "the file has no volts of each section",
                   "volts of each section, the rectifier out: noload-volts=\"110 10\"",
                   "all volts in proportion to the turns of the section that is fed", "assumed");
        return shares;
    }

    bool power_transformer(int p, const Part& part) {
        const bool main = p == out_.power_part;
        const double va = main ? out_.va : part.rated_va.value_or(50);
        const PartWinding* primary = nullptr;
        for (const PartWinding& winding : part.windings) {
            if (winding.role == WindingRole::primary && primary == nullptr) primary = &winding;
        }
        if (primary == nullptr || primary->leads.size() < 2) {
            failure_ = Notice{messages::no_primary, Severity::error, part.place,
                              part.id + " has no primary: its windings cannot be given turns",
                              "trace the primary's two leads"};
            return false;
        }
        const bool chopped = part.role == "vibrator";  // each half of the primary takes the battery's volts in turn
        const auto primaries = std::count_if(part.windings.begin(), part.windings.end(),
                                             [](const PartWinding& w) { return w.role == WindingRole::primary; });
        // of several without a mark none across the line by itself: they stand in series
        const bool in_series = primaries > 1 && !chopped && !fed_sections(*primary, part);
        const double design =
            primary->volts.value_or(feed_volts(set_) / (in_series ? static_cast<double>(primaries) : 1.0));
        if (!primary->volts)
            assume(part.id + " primary volts", number(design) + " V", "not on the winding: the line of the set",
                   "read its label", "all volts in proportion", "stated in the file");

        std::vector<Half> halves;
        // the primary first: core values are referred to it
        const std::size_t primary_halves = primary->leads.size() - 1;
        std::pair<std::size_t, std::size_t> held{0, primary_halves};
        std::string turns_source = "the winding's marked volts";
        const std::vector<double> turns = chopped ? std::vector<double>(primary_halves, design)
                                                  : primary_turns(part, *primary, design, turns_source, held);
        double primary_ohms = 0;  // of what the line or, in turn, the battery is across
        for (std::size_t h = 0; h < primary_halves; ++h) {
            Half half;
            const double by_rule = 0.035 * design * design / va / (chopped ? 1.0 : static_cast<double>(primary_halves));
            const double ohms = half_ohms(part, *primary, h, primary_halves, by_rule, "0.035 V^2/VA", half);
            if (chopped)
                primary_ohms += ohms / static_cast<double>(primary_halves);
            else if (h >= held.first && h < held.second)
                primary_ohms += ohms;
            half.turns = turns[h];
            half.turns_source = turns_source;
            fill(part, *primary, h, half);
            halves.push_back(half);
        }
        // what the set draws at the primary when loaded, for windings of which only loaded volts are known
        double drawn = 0;
        for (const PartWinding& winding : part.windings) {
            if (winding.role == WindingRole::heater || winding.role == WindingRole::rectifier_heater)
                drawn += winding.volts.value_or(6.3) * load_amps(part, winding);
        }
        drawn += out_.guess.b_plus_watts > 0 ? out_.guess.b_plus_watts : b_plus_guess();
        // primaries side by side or in series share what is drawn
        const double loaded_emf = design - primary_ohms * (drawn / design / static_cast<double>(primaries));

        for (std::size_t w = 0; w < part.windings.size(); ++w) {
            const PartWinding& winding = part.windings[w];
            if (&winding == primary || winding.leads.size() < 2) continue;
            const std::size_t count = winding.leads.size() - 1;
            const bool plate = winding.role == WindingRole::plate;
            const double load = load_amps(part, winding);
            for (std::size_t h = 0; h < count; ++h) {
                Half half;
                const bool open_known = !winding.noload_volts.empty();
                double share = 0;  // volts of this half as given
                if (open_known) {
                    share = h < winding.noload_volts.size() ? winding.noload_volts[h] : winding.noload_volts.back();
                    if (winding.noload_volts.size() == 1 && count == 2 && !plate) share *= 0.5;
                } else if (winding.volts) {
                    share = plate ? *winding.volts : *winding.volts / static_cast<double>(count);
                } else if (winding.role == WindingRole::rectifier_heater || winding.role == WindingRole::heater) {
                    share = (winding.role == WindingRole::heater ? 6.3 : 5.0) / static_cast<double>(count);
                    assume(part.id + " " + winding.name + " volts", number(share * static_cast<double>(count)) + " V",
                           "not in the file", "rms volts with its tubes in", "heater volts", "assumed");
                } else if (winding.role != WindingRole::primary) {
                    failure_ =
                        Notice{messages::winding_without_volts, Severity::error, winding.place,
                               part.id + " winding '" + winding.name + "' has no volts: it cannot be given turns",
                               "read its volts with the rectifier out, and the line at the same time"};
                    return false;
                }
                if (winding.role == WindingRole::primary) {
                    // a second primary stands beside the first: its mark is its turns
                    std::string source;
                    std::pair<std::size_t, std::size_t> all;
                    const double by_rule = 0.035 * design * design / va / static_cast<double>(count);
                    half_ohms(part, winding, h, count, by_rule, "0.035 V^2/VA", half);
                    half.turns = primary_turns(part, winding, winding.volts.value_or(design), source, all)[h];
                    half.turns_source = source;
                    fill(part, winding, h, half);
                    halves.push_back(half);
                    continue;
                }
                const PlateAmps plate_load = plate ? plate_amps(part, winding, share) : PlateAmps{};
                const double rule_amps = plate ? plate_load.amps : std::max(load, 1e-3);
                const double by_rule = plate ? 0.045 * share / rule_amps : 0.035 * share / rule_amps;
                if (plate && winding.ohms.empty()) out_.guess.used = true;
                half_ohms(part, winding, h, count, by_rule,
                          plate ? "0.045 V/I_rms" + plate_load.bound : "0.035 V/I, the copper drop of the primary",
                          half);
                if (open_known) {
                    half.turns = share;
                    half.turns_source = "no-load volts, read at the marked line";
                    assume(part.id + " " + half_name(winding, h, count) + " turns",
                           "from its no-load volts (" + number(share) + " V)",
                           "the reading is taken at the marked " + number(design) + " V",
                           "no-load volts and the line at the same time",
                           "its volts in proportion to the line while it was read", "stated in the file");
                } else {
                    const double amperes = plate ? plate_load.amps : load;
                    const double emf = share + amperes * half.ohms;
                    half.turns = emf * design / loaded_emf;
                    if (main && !chopped) {
                        const auto known = out_.guess.turns.find({static_cast<int>(w), static_cast<int>(h)});
                        if (known != out_.guess.turns.end()) half.turns *= known->second;
                        // a plate winding's amperes are direct current; each half carries 1.1 of it, rms
                        const double made_for = !plate                      ? winding.amps.value_or(0)
                                                : winding.amps              ? of_direct * *winding.amps
                                                : !plate_load.bound.empty() ? amperes
                                                                            : 0;
                        out_.loaded.push_back(
                            {static_cast<int>(out_.windings.size() + halves.size()), share, made_for, plate});
                    }
                    half.turns_source = "loaded volts plus the drop of its load";
                    if (plate) out_.guess.used = true;
                    assume(part.id + " " + half_name(winding, h, count) + " turns",
                           "from its loaded volts (" + number(share) + " V) plus the drop of " + number(amperes) +
                               " A in " + number(half.ohms) + " ohm, and of the primary",
                           "no no-load reading in the file", "rms volts with the rectifier out",
                           "its volts by some percent", plate ? "computed" : "stated in the file");
                }
                fill(part, winding, h, half);
                halves.push_back(half);
            }
        }
        const double hertz = chopped || out_.direct ? hertz_ : set_.line().hertz;
        const double magnetising_amps = assumed::no_load_amps_per_va * va * 115 / design;
        const double henries = design / (2 * std::numbers::pi * hertz * magnetising_amps);
        const double loss_ohms = design * design / (assumed::core_watts_per_va * va);
        assume(part.id + " no-load current",
               number(magnetising_amps) + " A magnetising, " + number(assumed::core_watts_per_va * va) + " W core loss",
               "not in the file: .1 A at 60 VA and 115 V, .05 W/VA; linear iron",
               "amperes and watts with nothing on it", "primary amperes by .05 A, no direct volts",
               "common practice, no source (.05 to .15 A at 60 W)");
        // the core's values stand across the first section alone
        const double first = halves.front().turns / design;
        core(p, part, halves, henries * first * first, loss_ohms * first * first, true);
        return true;
    }

    double load_amps(const Part& part, const PartWinding& winding) const {
        if (winding.amps) return *winding.amps;
        return heater_amps(winding_nets(part, winding));
    }

    static constexpr double of_direct = 1.1;  ///< rms of a capacitor-input half, in direct currents
    /// What a plate half was wound for; `bound` says what kept the set's own current from deciding.
    struct PlateAmps {
        double amps = 0;
        std::string bound;
    };
    PlateAmps plate_amps(const Part& part, const PartWinding& winding, double volts) const {
        constexpr double least_share = 0.2, most_share = 1.5;  // of what it is rated for (assumed)
        constexpr double least_amps = 0.01, most_amps = 1;     // of any plate winding of a radio (assumed)
        const double watts = out_.guess.b_plus_watts > 0 ? out_.guess.b_plus_watts : b_plus_guess();
        const double drawn =
            out_.guess.plate_rms_amps > 0 ? out_.guess.plate_rms_amps : of_direct * watts / std::max(1.0, volts);
        double rated = winding.amps.value_or(0);
        std::string by = "the winding's marked amperes";
        for (const Part& tube : set_.parts()) {
            if (winding.amps || tube.kind != PartKind::socket || tube.type == nullptr || !tube.type->is_rectifier())
                continue;
            const RectifierType* row = catalogue_.rectifier(tube.type->type);
            if (row == nullptr || !row->max_dc_amps) continue;
            rated += of_direct * *row->max_dc_amps;
            by = "the direct current that its rectifier is rated for";
        }
        if (!(rated > 0) && part.rated_va) {
            rated = of_direct * 0.5 * *part.rated_va / std::max(1.0, volts);
            by = "half of its VA";
        }
        double low = least_amps, high = most_amps;
        if (rated > 0) {
            low = std::max(low, least_share * rated);
            high = std::min(most_amps, std::max(low, most_share * rated));
        } else {
            by = "what plate windings carry";
        }
        if (drawn < low)
            return {low, ", for " + number(low * 1e3) + " mA by " + by + ": the set itself draws next to nothing"};
        if (drawn > high)
            return {high, ", for " + number(high * 1e3) + " mA by " + by + ": the set draws more than it can give"};
        return {drawn, ""};
    }

    void fill(const Part& part, const PartWinding& winding, std::size_t h, Half& half) const {
        half.winding = static_cast<int>(&winding - part.windings.data());
        half.half = static_cast<int>(h);
        half.name = half_name(winding, h, winding.leads.size() - 1);
        half.from = lead_node(part, static_cast<std::size_t>(winding.leads[h]));
        half.to = lead_node(part, static_cast<std::size_t>(winding.leads[h + 1]));
    }

    /// A core with its windings (and, on a power transformer, the ring that a shorted layer makes).
    void core(int p, const Part& part, std::vector<Half> halves, double henries, double loss_ohms, bool ring) {
        double ring_turns = 1, ring_ohms = 1e9;
        if (stands_open(part))
            for (Half& half : halves) half.ohms = assumed::open_ohms;
        if (layer_ != nullptr && layer_->part == p) {
            for (Half& half : halves) {
                if (half.winding != layer_->winding || half.half != std::max(0, layer_->half)) continue;
                ring_turns = assumed::layer_share * half.turns;
                ring_ohms = assumed::layer_share * half.ohms;
                half.turns *= 1 - assumed::layer_share;
                half.ohms *= 1 - assumed::layer_share;
            }
        }
        Item item;
        item.id = part.id;
        item.kind = "transformer";
        item.part = p;
        item.names = {"magnetising_henries", "loss_ohms"};
        item.values = {henries, loss_ohms};
        item.sources = {"assumed: see the assumptions", "assumed: see the assumptions"};
        item.conducts = true;
        std::vector<circuit::Winding> windings;
        const int index = static_cast<int>(out_.items.size());
        for (std::size_t k = 0; k < halves.size(); ++k) {
            const Half& half = halves[k];
            const std::string tail = "." + std::to_string(k + 1);
            windings.push_back({half.from, half.to, half.turns, half.ohms});
            item.nodes.push_back(half.from);
            item.nodes.push_back(half.to);
            item.names.push_back("turns" + tail);
            item.values.push_back(half.turns);
            item.sources.push_back(half.turns_source);
            item.names.push_back("ohms" + tail);
            item.values.push_back(half.ohms);
            item.sources.push_back(half.ohms_source);
            item.twin_windings.push_back(
                half.from != half.to ? out_.twin.resistor(half.from, half.to, std::max(half.ohms, 1e-3)) : -1);
            WindingHalf known;
            known.part = p;
            known.winding = half.winding;
            known.half = half.half;
            known.item = index;
            known.index = static_cast<int>(k);
            known.name = half.name;
            known.from = half.from;
            known.to = half.to;
            known.turns = half.turns;
            known.ohms = half.ohms;
            Tap one;
            one.part = p;
            one.lead = half.name;
            one.item = index;
            one.terminal = static_cast<int>(k);
            one.a = half.from;
            one.b = half.to;
            one.watts = Tap::Watts::copper;
            one.ohms = half.ohms;
            one.winding = static_cast<int>(out_.windings.size());
            out_.taps.push_back(std::move(one));
            out_.windings.push_back(std::move(known));
            out_.spreads.push_back({p, index, Slot::winding_ohms, static_cast<int>(k), half.ohms,
                                    half.ohms * (half.ohms_assumed ? 0.6 : 0.93),
                                    half.ohms * (half.ohms_assumed ? 1.6 : 1.15)});
        }
        if (ring) {
            windings.push_back({circuit::ground, circuit::ground, ring_turns, ring_ohms});
            out_.ring_of_part[p] = static_cast<int>(halves.size());
            item.nodes.push_back(circuit::ground);
            item.nodes.push_back(circuit::ground);
            const std::string tail = "." + std::to_string(halves.size() + 1);
            item.names.insert(item.names.end(), {"turns" + tail, "ohms" + tail});
            item.values.insert(item.values.end(), {ring_turns, ring_ohms});
            item.sources.insert(item.sources.end(), {"the ring of a shorted layer", "open in health"});
            item.twin_windings.push_back(-1);
        }
        item.full = out_.full.transformer(std::move(windings), henries, loss_ohms);
        put(std::move(item));
    }

    /// All its windings; the turns are given as those of a secondary of one turn.
    void output_transformer(int p, const Part& part) {
        const OutputTurns made = output_turns(set_, part);
        if (made.primaries.empty()) {
            loose_coils(p, part);
            return;
        }
        for (const Assumption& one : made.assumptions)
            assume(one.about, one.taken, one.why, one.measure, one.spread, one.source);
        const auto speaks = std::find_if(made.secondaries.begin(), made.secondaries.end(),
                                         [](const OutputWinding& one) { return one.speaks; });
        const auto to = speaks != made.secondaries.end() ? speaks : made.secondaries.begin();
        const double one_turn = made.secondaries.empty() ? std::sqrt(assumed::voice_ohms)
                                                         : std::accumulate(to->turns.begin(), to->turns.end(), 0.0);
        std::vector<Half> halves;
        const auto wind = [&](const OutputWinding& one, double ohms_by_rule, const std::string& rule) {
            const PartWinding& winding = part.windings[static_cast<std::size_t>(one.winding)];
            const std::size_t count = one.turns.size();
            for (std::size_t h = 0; h < count; ++h) {
                Half half;
                half_ohms(part, winding, h, count, ohms_by_rule / static_cast<double>(count), rule, half);
                half.turns = one.turns[h] / one_turn;
                half.turns_source = one.source;
                fill(part, winding, h, half);
                halves.push_back(half);
            }
        };
        const std::string over = "the square root of its load over " + number(one_turn * one_turn) + " ohm";
        for (OutputWinding one : made.primaries) {
            one.source = over + (one.turns.size() > 1 ? ", by " + one.source : "");
            wind(one, (made.load_ohms > 4000 ? 0.05 : 0.06) * made.load_ohms,
                 "350 ohm for 7 k pentodes, 150 for 2.5 k beam tubes");
        }
        for (OutputWinding one : made.secondaries) {
            if (one.winding == to->winding && one.turns.size() == 1) one.source = "one, by definition";
            wind(one, 0.3, "0.3 ohm");
        }
        if (made.secondaries.empty()) {
            // nobody traced the secondary: its load is there all the same
            Half half;
            half.name = "secondary";
            half.winding = -1;
            half.from = new_node(part.id + ".secondary", -1);
            half.to = circuit::ground;
            half.turns = 1;
            half.ohms = 0.3;
            half.turns_source = "one, by definition";
            half.ohms_source = "assumed";
            halves.push_back(half);
        }
        assume(part.id + " primary henries", number(assumed::output_henries) + " H", "not in the file", "not needed",
               "ripple at the plate, no direct volts", "assumed");
        const Node from = halves.back().from, end = halves.back().to;
        // the core's values stand across the first section alone
        const double first = made.primaries.front().turns.front() / made.half_turns;
        core(p, part, halves, assumed::output_henries * first * first, 0, false);
        bool hangs = false;
        for (const OutputWinding& one : made.secondaries) {
            hangs = hangs || one.hung_siemens > 0;
            if (one.hung_siemens > 0)
                out_.outputs.push_back({p, output_lead(part, one, one.from), output_lead(part, one, one.to)});
        }
        if (hangs) return;
        const Node a = made.secondaries.empty() ? from : output_lead(part, *to, to->from),
                   b = made.secondaries.empty() ? end : output_lead(part, *to, to->to);
        if (a < 0 || b < 0) return;
        const double ohms = one_turn * one_turn;
        out_.outputs.push_back({p, a, b});
        out_.voice_coils.push_back(resistor(part.id + " voice coil", made.secondaries.empty() ? -1 : p, a, b, ohms,
                                            "assumed: nothing is drawn on the secondary"));
        assume(part.id + " voice coil", number(ohms) + " ohm", "nothing is drawn on the secondary",
               "trace the voice coil", "ripple at the plate only", "common practice, no source");
    }
    Node output_lead(const Part& part, const OutputWinding& one, int lead) const {
        return lead_node(
            part, static_cast<std::size_t>(
                      part.windings[static_cast<std::size_t>(one.winding)].leads[static_cast<std::size_t>(lead)]));
    }

    /// IF, RF, oscillator and interstage windings: each its own ohms, no coupling at line frequency.
    void loose_coils(int p, const Part& part) {
        for (std::size_t w = 0; w < part.windings.size(); ++w) {
            const PartWinding& winding = part.windings[w];
            const std::size_t count = winding.leads.empty() ? 0 : winding.leads.size() - 1;
            for (std::size_t h = 0; h < count; ++h) {
                Half half;
                double by_rule = assumed::if_coil_ohms;
                if (part.role == "rf" || part.role == "antenna") by_rule = assumed::antenna_coil_ohms;
                if (part.role == "oscillator") by_rule = assumed::oscillator_coil_ohms;
                if (part.role == "interstage" || part.role == "input" || part.role == "driver")
                    by_rule = assumed::interstage_ohms;
                half_ohms(part, winding, h, count, by_rule, "usual for a coil of its kind", half);
                if (stands_open(part)) half.ohms = assumed::open_ohms;
                fill(part, winding, h, half);
                const int item = resistor(part.id + "." + half.name, p, half.from, half.to, half.ohms,
                                          half.ohms_source + "; its reactance is left out at line frequency");
                WindingHalf known;
                known.part = p;
                known.winding = half.winding;
                known.half = half.half;
                known.item = item;
                known.index = -1;
                known.name = half.name;
                known.from = half.from;
                known.to = half.to;
                known.ohms = half.ohms;
                out_.windings.push_back(known);
                tap(p, half.name, item, half.from, half.to);
                out_.taps.back().winding = static_cast<int>(out_.windings.size()) - 1;
            }
        }
    }

    // ---- tubes

    bool socket(int p, const Part& part) {
        if (part.type == nullptr || stands_open(part)) return true;
        const TubeType& type = *part.type;
        const auto found = models_.find(type.type);
        Tube tube;
        tube.part = p;
        tube.rectifier = type.is_rectifier();
        tube.direct = type.directly_heated;
        const std::optional<tubes::Regulator> holds = tubes::regulator(type);
        tube.cold_cathode = holds.has_value();
        if (holds) tube.start_volts = holds->start_volts;
        const int tube_index = static_cast<int>(out_.tubes.size());
        const Node filament = heaters(p, part, type, tube, tube_index);
        if (found != models_.end()) sections(p, part, found->second, filament, tube);
        if (const RectifierType* row = tube.rectifier ? catalogue_.rectifier(type.type) : nullptr; row != nullptr)
            tube.start_volts = row->start_volts.value_or(0);
        out_.tubes.push_back(std::move(tube));
        return true;
    }

    Node pin_node(const Part& part, const std::string& pin) const {
        const int lead = part.lead(pin);
        return lead < 0 ? -1 : node(part.leads[static_cast<std::size_t>(lead)].net);
    }

    void thermal(int p, const std::string& id, Tube& tube, int tube_index, Node a, Node b, double volts, double amps,
                 const std::string& source, Node middle = -1) {
        if (a >= 0 && a == b) {
            tube.shorted_volts += volts;
            assume(id, "cold", "both its ends are one net: 0 V across it", "ohms from pin to pin, the tube out",
                   "everything that the tube should draw", "as wired");
            if (middle < 0) return;
        }
        Thermal heater;
        heater.rated_volts = volts;
        heater.rated_amps = amps;
        heater.a = a;
        heater.b = b;
        heater.tube = tube_index;
        const double ohms = volts / amps;
        if (middle < 0) {
            heater.items = {resistor(id, p, a, b, ohms, source)};
            heater.shares = {1};
        } else {
            heater.items = {resistor(id + " first half", p, a, middle, 0.5 * ohms, source),
                            resistor(id + " second half", p, middle, b, 0.5 * ohms, source)};
            heater.shares = {0.5, 0.5};
        }
        if (out_.items[static_cast<std::size_t>(heater.items.front())].full < 0) return;
        tube.thermals.push_back(static_cast<int>(out_.thermals.size()));
        out_.thermals.push_back(std::move(heater));
    }

    /// Leads of anything but a socket or a transformer that are soldered to the node's net: B-plus is taken from where
    /// there are more, and a resistor beside what filters (a leak to the metal) is none of them.
    std::pair<long, long> loads_taken(Node at) const {
        const int net = at < 0 ? -1 : out_.net_of_node[static_cast<std::size_t>(at)];
        std::pair<long, long> taken{0, 0};
        if (net < 0) return taken;
        for (const LeadRef& ref : set_.nets()[static_cast<std::size_t>(net)].leads) {
            const PartKind kind = set_.parts()[static_cast<std::size_t>(ref.part)].kind;
            if (kind == PartKind::socket || kind == PartKind::transformer || kind == PartKind::strip) continue;
            ++(kind == PartKind::resistor ? taken.second : taken.first);
        }
        return taken;
    }

    /// Of two filament ends in a set on batteries the one that copper and a rheostat join to the minus of the leading
    /// one: 0 or 1; -1 where that is neither or both.
    int negative_end(Node a, Node b) const {
        constexpr double most_ohms = 200;
        if (leading_ < 0) return -1;
        std::set<Node> reached{lead_node(set_.parts()[static_cast<std::size_t>(leading_)], 1)};
        for (bool more = true; more;) {
            more = false;
            for (const Part& part : set_.parts()) {
                const bool copper = part.kind == PartKind::wire || part.kind == PartKind::fuse ||
                                    part.kind == PartKind::power_switch || part.kind == PartKind::cord;
                const bool few = (part.kind == PartKind::resistor || part.kind == PartKind::control) &&
                                 part.ohms.value_or(most_ohms + 1) <= most_ohms;
                if ((!copper && !few) || part.leads.size() < 2) continue;
                for (std::size_t from = 0; from < part.leads.size(); ++from)
                    for (std::size_t to = 0; to < part.leads.size(); ++to)
                        if (reached.count(lead_node(part, from)) != 0 && lead_node(part, to) >= 0)
                            more = reached.insert(lead_node(part, to)).second || more;
            }
        }
        const bool first = reached.count(a) != 0, second = reached.count(b) != 0;
        return first == second ? -1 : first ? 0 : 1;
    }

    /// The heater, a resistance that follows its volts; gives back the node from which a directly heated tube emits, -1
    /// for others.
    Node heaters(int p, const Part& part, const TubeType& type, Tube& tube, int tube_index) {
        struct End {
            std::string pin, name;
            Node node;
        };
        std::vector<End> ends, taps;
        for (const Pin& pin : type.pins) {
            for (const std::string& e : pin.electrodes) {
                if (!is_heater(e)) continue;
                const Node at = pin_node(part, pin.pin);
                if (at >= 0) tube.heater_pins.emplace_back(pin.pin, at);
                if (is_heater_tap(e)) {
                    taps.push_back({pin.pin, e, at});
                } else if (ends.empty() || ends.size() == 1 || ends[1].name == ends[0].name) {
                    // of several pins with the negative end the first that is wired stands; the second end is the other
                    // name
                    if (ends.size() == 2) {
                        if (e != ends[0].name) ends[1] = {pin.pin, e, at};
                    } else if (ends.size() == 1 && e == ends[0].name && e == "h-") {
                        if (ends[0].node < 0) ends[0] = {pin.pin, e, at};
                    } else {
                        ends.push_back({pin.pin, e, at});
                    }
                }
                break;
            }
        }
        if (!type.heater_volts || !type.heater_amps || *type.heater_volts <= 0 || ends.size() < 2) {
            tube.unheated = true;
            return -1;
        }
        // the lamp's section lies between the tap and the end that the row's note names with it
        if (!taps.empty() && taps[0].name == "htap" &&
            type.note.find("across pins " + ends[1].pin + "-" + taps[0].pin) != std::string::npos)
            std::swap(ends[0], ends[1]);
        if (ends[0].name == "h+" && ends[1].name == "h-") std::swap(ends[0], ends[1]);
        const double volts = *type.heater_volts, amps = *type.heater_amps;
        tube.rated_heater_volts = volts;
        const Node a = ends[0].node, b = ends[1].node;
        const Node t = taps.empty() ? -1 : taps[0].node;
        const std::string id = part.id + " heater";
        const std::string source = type.source.text.empty() ? "the catalogue" : type.source.text;
        Node filament = -1;
        if (t >= 0 && (a >= 0 || b >= 0)) {
            const double share = taps[0].name == "htap" ? 7.5 / std::max(volts, 7.6) : 0.5;
            if ((a < 0 || b < 0) && !tube.direct && taps[0].name == "hct")
                assume(part.id + " heater", "both cathodes hot", "only one half of its heater is wired",
                       "trace the heater pins; the section on the cold half passes nothing",
                       "all volts of one of its two sections: which half heats which is in no table", "assumed");
            if (a >= 0) thermal(p, id + " 1", tube, tube_index, a, t, volts * share, amps, source);
            if (b >= 0) thermal(p, id + " 2", tube, tube_index, t, b, volts * (1 - share), amps, source);
            if (tube.direct) filament = ends[0].name == "h-" && a >= 0 ? a : t;
            if (tube.direct && a >= 0 && b >= 0 && filament == a)
                tube.along = {t, b};
            else if (tube.direct && a >= 0 && filament == a)
                tube.along = {t};
            else if (tube.direct && a < 0)
                tube.along = {b};
        } else if (a >= 0 && b >= 0) {
            Node middle = -1;
            if (tube.direct) {
                if (ends[0].name != ends[1].name) {
                    filament = ends[0].name == "h-" ? a : b;
                    tube.along = {ends[0].name == "h-" ? b : a};
                    assume(part.id + " filament", "emits from its negative end", "a battery filament is listed so",
                           "nothing to measure", "its own filament volts in the bias", "common practice, no source");
                } else if (const int minus = tube.rectifier ? -1 : negative_end(a, b); minus >= 0) {
                    filament = minus == 0 ? a : b;
                    tube.along = {minus == 0 ? b : a};
                    assume(part.id + " filament", "emits from its negative end", "a battery filament is listed so",
                           "nothing to measure", "its own filament volts in the bias", "common practice, no source");
                } else if (tube.rectifier && loads_taken(a) != loads_taken(b)) {
                    filament = loads_taken(a) > loads_taken(b) ? a : b;
                    assume(part.id + " filament", "emits from the leg that B-plus is taken from",
                           "the phase of its winding is in no file", "nothing to measure",
                           "the two plates' currents by a few percent; no direct volts", "assumed");
                } else {
                    middle = new_node(part.id + ".filament", -1);
                    filament = middle;
                    assume(part.id + " filament", "emits from its middle", "the mean of its two ends",
                           "nothing to measure", "nothing", "assumed");
                }
            }
            thermal(p, id, tube, tube_index, a, b, volts, amps, source, middle);
        } else {
            tube.unheated = true;
            filament = a >= 0 ? a : b;
            assume(part.id + " heater", "taken as hot", "its heater is not traced", "trace both heater pins",
                   "everything, when it is in fact not fed", "assumed");
        }
        for (std::size_t k = 0; k < std::min<std::size_t>(tube.thermals.size(), 2); ++k) {  // a tapped one has two
            const Thermal& one = out_.thermals[static_cast<std::size_t>(tube.thermals[k])];
            tap(p, "h." + ends[k].pin, one.items.front(), one.a, one.b);
            out_.taps.back().watts = Tap::Watts::heater;
        }
        return filament;
    }

    static int control_grid(const std::string& made_as) {
        const std::string law = made_as.substr(0, made_as.find(' '));
        if (law == "triode") return 1;
        if (law == "pentode") return 2;
        if (law == "converter") return 4;
        if (law == "pentagrid") return 3;
        return -1;
    }

    /// Coils and windings that alternating current reaches from a net through capacitors, coils and a few ohms, without
    /// crossing a ground.
    std::set<int> coils_from(int net) const {
        constexpr double few_ohms = 1000;
        std::set<int> coils;
        if (net < 0) return coils;
        const NodeRoles& roles = set_.nodes();
        std::vector<char> seen(set_.nets().size(), 0);
        for (const int ground : {set_.reference(), roles.chassis_metal, roles.b_minus, roles.earth})
            if (ground >= 0) seen[static_cast<std::size_t>(ground)] = 1;
        if (seen[static_cast<std::size_t>(net)] != 0) return coils;
        std::vector<int> reached{net};
        seen[static_cast<std::size_t>(net)] = 1;
        const auto reach = [&](int to) {
            if (to < 0 || seen[static_cast<std::size_t>(to)] != 0) return;
            seen[static_cast<std::size_t>(to)] = 1;
            reached.push_back(to);
        };
        for (std::size_t k = 0; k < reached.size(); ++k)
            for (std::size_t p = 0; p < set_.parts().size(); ++p) {
                const Part& part = set_.parts()[p];
                if (stands_open(part)) continue;
                const auto here = [&](int lead) {
                    return part.leads[static_cast<std::size_t>(lead)].net == reached[k];
                };
                for (const PartWinding& winding : part.windings) {
                    if (std::none_of(winding.leads.begin(), winding.leads.end(), here)) continue;
                    coils.insert(static_cast<int>(p));
                    for (const int lead : winding.leads) reach(part.leads[static_cast<std::size_t>(lead)].net);
                }
                const bool coil = part.kind == PartKind::coil;
                const bool passes = coil || part.kind == PartKind::capacitor || part.kind == PartKind::wire ||
                                    (part.kind == PartKind::power_switch && part.closed) ||
                                    (part.kind == PartKind::resistor && part.ohms.value_or(few_ohms + 1) <= few_ohms);
                if (!passes || part.leads.size() < 2) continue;
                for (std::size_t lead = 0; lead < part.leads.size(); ++lead) {
                    if (!here(static_cast<int>(lead))) continue;
                    if (coil) coils.insert(static_cast<int>(p));
                    for (const Lead& other : part.leads) reach(other.net);
                }
            }
        return coils;
    }

    /// A converter whose oscillator grid sees no coil does not oscillate: its swing is 0. A triode with plate and grid
    /// on one oscillator transformer does, and what bias it makes itself is not computed.
    void oscillation(int p, const Part& part, const SectionModel& known, Item& item) {
        const auto net_of = [&](std::size_t electrode) {
            if (electrode >= known.pins.size()) return -1;
            for (const Lead& lead : part.leads)
                if (lead.name == known.pins[electrode]) return lead.net;
            return -1;
        };
        if (known.law == "converter" || known.law == "pentagrid") {
            const std::size_t own = known.law == "converter" ? 3 : 2;
            const auto swing = std::find(item.names.begin(), item.names.end(), "swing");
            if (net_of(own) < 0 || swing == item.names.end() || !coils_from(net_of(own)).empty()) return;
            const auto at = static_cast<std::size_t>(swing - item.names.begin());
            item.values[at] = 0;
            item.sources[at] = "as wired: no coil at its oscillator grid";
            out_.stopped.push_back(p);
        } else if (known.law == "triode") {
            const std::set<int> plate = coils_from(net_of(0)), grid = coils_from(net_of(1));
            for (const int coil : plate)
                if (grid.count(coil) != 0 && set_.parts()[static_cast<std::size_t>(coil)].role == "oscillator") {
                    out_.oscillators.push_back(p);
                    return;
                }
        }
    }

    void sections(int p, const Part& part, const TubeModel& model, Node filament, Tube& tube) {
        for (const SectionModel& known : model.sections) {
            const tubes::NamedLaw law = tubes::law(known.law);
            if (law.function == nullptr || static_cast<int>(known.electrodes.size()) != law.terminals) continue;
            Section section;
            section.name = known.section;
            bool whole = true;
            for (std::size_t e = 0; e < known.electrodes.size(); ++e) {
                Electrode one;
                one.name = known.electrodes[e];
                one.terminal = static_cast<int>(e);
                const bool common = e + 1 == known.electrodes.size();
                const std::string pin = e < known.pins.size() ? known.pins[e] : std::string();
                if (common && (tube.direct || is_heater(one.name))) {
                    one.node = filament;
                    one.pin = "filament";
                    one.name = "k";
                } else {
                    one.pin = pin;
                    one.node = pin.empty() ? -1 : pin_node(part, pin);
                }
                if (one.node < 0 && (common || e == 0)) whole = false;
                section.electrodes.push_back(std::move(one));
            }
            if (!whole) continue;  // no plate or no cathode wired: it passes nothing
            Item item;
            item.id = part.id + " " + known.section;
            item.kind = "device";
            item.law = known.law;
            item.part = p;
            item.names = known.parameter_names;
            item.values = known.parameters;
            item.values[0] = 1;
            const std::string source =
                std::string(tubewright::word(known.source.provenance)) + ": " + known.source.text;
            item.sources.assign(item.names.size(), known.constants_assumed ? "assumed: " + known.source.text : source);
            item.conducts = true;
            oscillation(p, part, known, item);
            for (Electrode& one : section.electrodes) {
                if (one.node < 0) {
                    one.node = new_node(part.id + "." + (one.pin.empty() ? one.name : one.pin), -1);
                    assume(part.id + " " + one.name, "wired to nothing", "the file joins nothing to its pin",
                           "trace the pin", "the whole tube", "stated in the file");
                }
                if (driven_ && &one - section.electrodes.data() == control_grid(known.law))
                    drive(part, static_cast<int>(out_.tubes.size()), static_cast<int>(tube.sections.size()), one);
                item.nodes.push_back(one.node);
            }
            section.rectifies = tube.rectifier && (known.law == "vacuum-diode" || known.law == "gas-diode");
            if (section.rectifies && known.law == "vacuum-diode") limit_emission(part, item);
            // the current of a battery tube heats its own filament: it enters all along, not at the end that volts are
            // counted from
            const auto further = static_cast<int>(section.rectifies || !tube.direct ? 0 : tube.along.size());
            const tubes::NamedLaw along = further > 0 ? tubes::filament_law(known.law, further) : law;
            const bool heats = further > 0 && along.function != nullptr;
            if (heats) {
                item.nodes.insert(item.nodes.end() - 1, tube.along.begin(), tube.along.end());
                item.law += further == 1 ? " on a filament" : " on a tapped filament";
                section.electrodes.back().terminal += further;
            }
            const circuit::Law as{heats ? along.terminals : law.terminals, heats ? along.function : law.function};
            item.full = out_.full.device(as, item.nodes, item.values);
            if (section.rectifies) {
                out_.full.rectifies(item.full);
            } else {
                item.twin = out_.twin.device(as, item.nodes, item.values);
            }
            const Node cathode = item.nodes.back();
            section.item = put(std::move(item));
            const int grid = control_grid(known.law);
            for (Electrode& one : section.electrodes) {
                one.item = section.item;
                one.cathode = cathode;
                const bool heated = &one == &section.electrodes.back() && !tube.direct && !tube.rectifier;
                leak_at(one.node, heated);
                if (&one == &section.electrodes.back()) {
                    Tap& returned = cathode_tap(p, one);
                    for (int k = 0; heats && k < further; ++k)
                        returned.also.emplace_back(section.item, one.terminal - 1 - k);
                    continue;
                }
                Tap tap_one;
                tap_one.part = p;
                tap_one.lead = one.name + "." + one.pin;
                tap_one.item = section.item;
                tap_one.terminal = one.terminal;
                tap_one.a = one.node;
                tap_one.b = cathode;
                tap_one.watts = section.rectifies ? Tap::Watts::element : Tap::Watts::electrode;
                out_.taps.push_back(std::move(tap_one));
            }
            if (grid > 0) {
                const Electrode& control = section.electrodes[static_cast<std::size_t>(grid)];
                if (control.node != cathode) {
                    Item gas;
                    gas.id = part.id + " " + known.section + " gas";
                    gas.kind = "current-source";
                    gas.part = p;
                    gas.nodes = {cathode, control.node};
                    gas.names = {"amps"};
                    gas.values = {assumed::gas_amps};
                    gas.sources = {"assumed: .01 uA out of every grid"};
                    gas.full = out_.full.current_source(cathode, control.node, assumed::gas_amps);
                    gas.twin = out_.twin.current_source(cathode, control.node, assumed::gas_amps);
                    section.gas = put(std::move(gas));
                    out_.spreads.push_back({p, section.gas, Slot::direct, 0, assumed::gas_amps, 1e-9, 5e-8});
                    assume("grids", ".01 uA of gas current out of each, 10,000 megohm of socket leakage a pin",
                           "no file gives them", "volts across a grid leak with the tube in and out",
                           "an open grid: a range, not a number; 5 mV on 500 k", "assumed");
                }
            }
            if (known.law == "gas-diode" && !section.rectifies) {
                constexpr double alike = 0.04;  // of its volts: tubes of one type (assumed)
                const double drop = known.parameters[1];
                out_.spreads.push_back(
                    {p, section.item, Slot::parameter, 1, drop, (1 - alike) * drop, (1 + alike) * drop});
            } else {
                constexpr double contact = 0.3;  // volts of contact potential either way, tubes of one type (assumed)
                if (known.law != "signal-diode")
                    out_.spreads.push_back(
                        {p, section.item, Slot::parameter, 0, 1, 1 - policy_.tube_spread, 1 + policy_.tube_spread});
                for (std::size_t k = 0; k < known.parameter_names.size(); ++k) {
                    if (known.parameter_names[k] != "grid_onset" && known.parameter_names[k] != "onset") continue;
                    const double onset = known.parameters[k];
                    out_.spreads.push_back({p, section.item, Slot::parameter, static_cast<int>(k), onset,
                                            onset - contact, onset + contact});
                }
            }
            tube.sections.push_back(std::move(section));
        }
        for (const Assumption& one : model.assumptions)
            assume(one.about, one.taken, one.why, one.measure, one.spread, one.source);
    }

    /// Between the grid's net and the grid itself.
    void drive(const Part& part, int tube, int section, Electrode& grid) {
        const Node driven = new_node(part.id + "." + grid.pin + " driven", -1);
        Item item;
        item.id = part.id + " signal";
        item.kind = "voltage-source";
        item.nodes = {driven, grid.node};
        item.names = {"volts_rms", "hertz"};
        item.values = {0, hertz_ * signal_multiple(hertz_)};
        item.sources = {"none until a condition sets it", "near 400 c"};
        item.conducts = true;
        item.full = out_.full.voltage_source(driven, grid.node, circuit::Waveform::cosine(0, item.values[1]));
        item.twin = out_.twin.voltage_source(driven, grid.node, circuit::Waveform::constant(0));
        out_.drives.push_back({put(std::move(item)), tube, section, 1});
        grid.node = driven;
    }

    /// Of all drives those of output tubes stay; a tube where an output primary ends swings against one where it
    /// begins. Their returns are the last capacitors of the circuit, in the order of the drives.
    void pair_drives() {
        std::erase_if(out_.drives, [&](const Drive& one) {
            const Tube& tube = out_.tubes[static_cast<std::size_t>(one.tube)];
            const Node plate = tube.sections[static_cast<std::size_t>(one.section)].electrodes.front().node;
            const bool on_a_winding =
                std::any_of(out_.windings.begin(), out_.windings.end(), [&](const WindingHalf& half) {
                    return half.index >= 0 && half.part != out_.power_part && (half.from == plate || half.to == plate);
                });
            return !tube.output || !on_a_winding;
        });
        for (Drive& one : out_.drives) {
            const Tube& tube = out_.tubes[static_cast<std::size_t>(one.tube)];
            const Section& section = tube.sections[static_cast<std::size_t>(one.section)];
            const Node plate = section.electrodes.front().node, cathode = section.electrodes.back().node;
            // The signal is the grid's own whatever is fed back, and whatever the stage before can give.
            const Node grid = out_.items[static_cast<std::size_t>(one.item)].nodes[1];
            if (grid != cathode) {
                Item hold;
                hold.id = out_.items[static_cast<std::size_t>(one.item)].id + " return";
                hold.kind = "capacitor";
                hold.nodes = {grid, cathode};
                hold.names = {"farads", "leak_siemens"};
                hold.values = {assumed::signal_return_farads, 0};
                hold.sources.assign(2, "part of the signal");
                hold.full = out_.full.capacitor(grid, cathode, assumed::signal_return_farads, 0);
                hold.twin = out_.twin.conductance(grid, cathode, 0);
                put(std::move(hold));
            }
            one.sign = far_end(plate) ? -1 : 1;
        }
        // of one transformer the first swings up
        std::map<int, double> first;
        for (Drive& one : out_.drives) {
            const Tube& tube = out_.tubes[static_cast<std::size_t>(one.tube)];
            const Node plate = tube.sections[static_cast<std::size_t>(one.section)].electrodes.front().node;
            for (const WindingHalf& half : out_.windings)
                if (half.index >= 0 && half.part != out_.power_part && (half.from == plate || half.to == plate)) {
                    one.sign *= first.emplace(half.part, one.sign).first->second;
                    break;
                }
        }
    }
    /// Whether a winding of an output transformer ends at the node, and none starts there.
    bool far_end(Node plate) const {
        bool ends = false;
        for (const WindingHalf& half : out_.windings) {
            if (half.index < 0 || half.part == out_.power_part) continue;
            if (half.from == plate) return false;
            ends = ends || half.to == plate;
        }
        return ends;
    }

    /// No table lists what a cathode gives at most; where the policy puts it in rated peaks, the row has those.
    void limit_emission(const Part& part, Item& item) {
        const RectifierType* row = catalogue_.rectifier(part.type->type);
        if (policy_.emission_limit <= 0 || row == nullptr || !row->max_peak_amps) return;
        const double most = policy_.emission_limit * *row->max_peak_amps;
        item.values[tubes::vacuum_diode::limit_amps] = most;
        item.sources[tubes::vacuum_diode::limit_amps] = "as asked for: rated peaks of a plate";
        assume(part.id + " emission", number(most) + " A a plate at most",
               "as asked for: " + number(policy_.emission_limit) + " times its rated peak", "a tube tester",
               "currents of hard shorts; nothing in health", "stated");
    }

    Tap& cathode_tap(int p, const Electrode& one) {
        const std::string lead = one.name + "." + one.pin;
        for (Tap& known : out_.taps) {
            if (known.part == p && known.lead == lead) {
                known.also.emplace_back(one.item, one.terminal);
                return known;
            }
        }
        Tap made;
        made.part = p;
        made.lead = lead;
        made.item = one.item;
        made.terminal = one.terminal;
        made.a = one.node;
        made.b = circuit::ground;
        made.watts = Tap::Watts::none;
        out_.taps.push_back(std::move(made));
        return out_.taps.back();
    }

    /// What the socket leaks, and at a cathode with a heater in it what the heater's coating does: it decides where a
    /// cathode stands that nothing else returns.
    void leak_at(Node at, bool heated) {
        if (at <= 0) return;
        if (leaking_.insert(at).second)
            conductance("socket leakage " + out_.node_names[static_cast<std::size_t>(at)], -1, at, circuit::ground,
                        assumed::socket_siemens, "assumed: 10,000 megohm");
        if (heated && coated_.insert(at).second)
            conductance("heater insulation " + out_.node_names[static_cast<std::size_t>(at)], -1, at, circuit::ground,
                        assumed::coating_siemens, "assumed: 100 megohm, of a sound tube, hot");
    }

    // ---- the port, the gaps, what hangs

    void find_port() {
        // output tubes: a plate on an output transformer, else a power tube
        std::set<Node> output_leads;
        for (const WindingHalf& half : out_.windings) {
            if (half.index < 0 || half.part == out_.power_part) continue;
            output_leads.insert(half.from);
            output_leads.insert(half.to);
        }
        bool any = false;
        for (Tube& tube : out_.tubes) {
            for (const Section& section : tube.sections) {
                // a rectifier may share its bulb with the output section
                if (!section.rectifies && section.electrodes.size() > 2 && section.electrodes[0].node != 0 &&
                    output_leads.count(section.electrodes[0].node) != 0)
                    tube.output = any = true;
            }
        }
        for (Tube& tube : out_.tubes) {
            const Part& part = set_.parts()[static_cast<std::size_t>(tube.part)];
            if (!any && !tube.rectifier && part.type != nullptr &&
                (part.type->tube_class.find("power") != std::string::npos))
                tube.output = true;
        }

        std::set<Node> cathodes, plates, ends;
        for (const Tube& tube : out_.tubes) {
            for (const Section& section : tube.sections) {
                if (!section.rectifies) continue;
                plates.insert(section.electrodes.front().node);
                cathodes.insert(section.electrodes.back().node);
            }
        }
        // block: the line, the transformer, the rectifier, through small series parts
        out_.in_block.assign(out_.node_names.size(), 0);
        const auto mark = [&](Node at) {
            if (at > 0) out_.in_block[static_cast<std::size_t>(at)] = 1;
        };
        mark(node(set_.nodes().line_hot));
        mark(node(set_.nodes().line_neutral));
        mark(out_.items[static_cast<std::size_t>(out_.source)].nodes[0]);
        std::set<Node> returns;
        for (const WindingHalf& half : out_.windings) {
            if (!is_power(half.part)) continue;
            mark(half.from);
            mark(half.to);
        }
        for (const Dry& stack : out_.dry) {
            plates.insert(stack.anode);
            cathodes.insert(stack.cathode);
        }
        for (const Item& item : out_.items)
            if (item.kind == "contact")
                for (const Node at : item.nodes) mark(at);
        for (const Node at : plates) mark(at);
        for (const Node at : cathodes) mark(at);
        for (bool more = true; more;) {
            more = false;
            for (const Item& item : out_.items) {
                if (item.part < 0 || item.nodes.size() != 2 || item.kind != "resistor") continue;
                const PartKind kind = set_.parts()[static_cast<std::size_t>(item.part)].kind;
                if (kind != PartKind::fuse && kind != PartKind::power_switch && kind != PartKind::wire &&
                    kind != PartKind::cord && kind != PartKind::plug)
                    continue;
                for (int side = 0; side < 2; ++side) {
                    const Node from = item.nodes[static_cast<std::size_t>(side)],
                               to = item.nodes[static_cast<std::size_t>(1 - side)];
                    if (from > 0 && to > 0 && out_.in_block[static_cast<std::size_t>(from)] != 0 &&
                        out_.in_block[static_cast<std::size_t>(to)] == 0) {
                        mark(to);
                        more = true;
                    }
                }
            }
        }
        // the port: first filter to the plate winding's return
        std::set<Node> taps;
        if (out_.power_part >= 0) {
            const Part& part = set_.parts()[static_cast<std::size_t>(out_.power_part)];
            for (const PartWinding& winding : part.windings) {
                if (winding.role != WindingRole::plate) continue;
                if (winding.leads.size() == 3) {
                    taps.insert(lead_node(part, static_cast<std::size_t>(winding.leads[1])));
                } else if (winding.leads.size() == 2) {
                    for (const int lead : winding.leads) {
                        const Node at = lead_node(part, static_cast<std::size_t>(lead));
                        if (plates.count(at) == 0) returns.insert(at);
                    }
                }
            }
        }
        returns.insert(taps.begin(), taps.end());
        // a synchronous vibrator rectifies with its second pair: what comes out does so at the winding's tap
        const bool synchronous = std::any_of(out_.items.begin(), out_.items.end(), [&](const Item& item) {
            return item.kind == "contact" && set_.parts()[static_cast<std::size_t>(item.part)].role == "synchronous";
        });
        if (synchronous) cathodes.insert(taps.begin(), taps.end());
        Port port;
        port.simple = cathodes.size() == 1 && returns.size() == 1 && *cathodes.begin() != *returns.begin() &&
                      plates.count(*returns.begin()) == 0 && !out_.chopped && out_.dry.empty();
        if (port.simple) {
            port.plus = *cathodes.begin();
            port.minus = *returns.begin();
            add_port(port);
        } else {
            for (const std::set<Node>* side : {&cathodes, &plates}) {
                for (const Node at : *side) {
                    if (at <= 0 || (side == &plates && cathodes.count(at) != 0)) continue;
                    port.plus = at;
                    port.minus = circuit::ground;
                    add_port(port);
                }
            }
        }
    }

    void add_port(Port port) {
        Item item;
        item.id = "regulation line " + out_.node_names[static_cast<std::size_t>(port.plus)];
        item.kind = "port";
        item.nodes = {port.plus, port.minus};
        item.values.assign(port_parameters, 0);
        item.twin = out_.twin.device(port_law(), item.nodes, item.values);
        port.item = put(std::move(item));
        if (port.simple) {
            Item anchor;
            anchor.id = "further load";
            anchor.kind = "port";
            anchor.nodes = {port.plus, port.minus};
            anchor.values = {0};
            anchor.full = out_.full.current_source(port.plus, port.minus, 0);
            out_.anchor = put(std::move(anchor));
        }
        out_.ports.push_back(port);
    }

    void place_gaps(std::span<const Fault> faults) {
        for (const Fault& fault : faults) {
            for (auto [a, b] : gaps_of(out_, set_, fault)) {
                if (a > b) std::swap(a, b);
                if (a == b || a < 0 || out_.gaps.count({a, b}) != 0) continue;
                const std::string id = "gap " + out_.node_names[static_cast<std::size_t>(a)] + " - " +
                                       out_.node_names[static_cast<std::size_t>(b)];
                out_.gaps[{a, b}] = conductance(id, -1, a, b, 0, "closed by a fault alone");
            }
        }
    }

    /// Islands without a direct-current path are held by the insulation, at the line's neutral where they have it;
    /// their volts are marked.
    void tie_what_hangs() {
        std::vector<Node> above(out_.node_names.size());
        std::iota(above.begin(), above.end(), 0);
        const auto top = [&](Node at) {
            while (above[static_cast<std::size_t>(at)] != at)
                at = above[static_cast<std::size_t>(at)] =
                    above[static_cast<std::size_t>(above[static_cast<std::size_t>(at)])];
            return at;
        };
        const auto join = [&](Node a, Node b) {
            a = top(a);
            b = top(b);
            if (a != b) above[static_cast<std::size_t>(std::max(a, b))] = std::min(a, b);
        };
        for (const Item& item : out_.items) {
            if (!item.conducts) continue;
            if (item.kind == "transformer") {
                for (std::size_t k = 0; k + 1 < item.nodes.size(); k += 2) join(item.nodes[k], item.nodes[k + 1]);
            } else if (item.kind == "device") {
                const int grid = control_grid(item.law);
                for (std::size_t k = 0; k + 1 < item.nodes.size(); ++k) {
                    if (static_cast<int>(k) != grid) join(item.nodes[k], item.nodes.back());
                }
            } else if (item.kind != "resistor" || item.values[0] < 1e11) {
                join(item.nodes[0], item.nodes[1]);
            }
        }
        out_.adrift.assign(out_.node_names.size(), 0);
        out_.held_by.assign(out_.node_names.size(), -1);
        const Node neutral = node(set_.nodes().line_neutral);
        std::map<Node, int> held;
        // a control grid by itself stands on its gas current and its socket, which a megohm would drown
        std::set<Node> grids, others;
        for (const Item& item : out_.items) {
            if (item.kind != "device" || !item.conducts) continue;
            const int grid = control_grid(item.law);
            for (std::size_t k = 0; k < item.nodes.size(); ++k)
                (static_cast<int>(k) == grid ? grids : others).insert(top(item.nodes[k]));
        }
        const auto hold = [&](Node at) {
            const bool open_grid = grids.count(top(at)) != 0 && others.count(top(at)) == 0;
            return conductance("insulation " + out_.node_names[static_cast<std::size_t>(at)], -1, at, circuit::ground,
                               open_grid ? 1 / assumed::open_resistor_ohms : assumed::insulation_siemens,
                               open_grid ? "assumed: 50,000 megohm, less than its socket leaks"
                                         : "assumed: 1 megohm, to hold in place what is joined to nothing");
        };
        if (neutral > 0 && top(neutral) != 0) held[top(neutral)] = hold(neutral);
        for (Node at = 1; at < static_cast<Node>(above.size()); ++at) {
            const Node root = top(at);
            if (root == 0) continue;
            out_.adrift[static_cast<std::size_t>(at)] = 1;
            const auto found = held.find(root);
            out_.held_by[static_cast<std::size_t>(at)] = found != held.end() ? found->second : held[root] = hold(at);
        }
    }

    std::set<Node> leaking_, coated_;
};

}  // namespace

int signal_multiple(double hertz) {
    constexpr double near_hertz = 400;
    return hertz > 0 ? 2 * static_cast<int>(near_hertz / hertz / 2) + 1 : 1;
}

double Thermal::ohms(double volts) const {
    const double hot = rated_volts / rated_amps;
    const double share = volts > 0 ? std::pow(volts / rated_volts, 1 - exponent) : 0;
    return hot * std::max(share, cold_share);
}

circuit::Law port_law() {
    // Amperes come out of the plus terminal, so the current into it is minus the polynomial.
    return {2, [](const double* p, const double* v, double* i, double* g) {
                const double scale = p[0];
                if (scale == 0) {
                    i[0] = 0;
                    g[0] = 0;
                    return;
                }
                const double u = (v[0] - p[10] - p[1]) / p[2];
                const double at = std::min(std::max(u, p[8]), p[9]);
                double value = p[7], slope = 0;
                for (int k = 6; k >= 3; --k) {
                    slope = slope * at + value;
                    value = value * at + p[k];
                }
                slope = std::min(slope, -1e-9);
                i[0] = -scale * (value + slope * (u - at));
                g[0] = -scale * slope / p[2];
            }};
}

Outcome<Translation> translate(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy,
                               const std::map<std::string, TubeModel>& models, std::span<const Fault> faults,
                               const Guess& guess, double hertz, const Layer* layer, bool driven) {
    return Translator(chassis, catalogue, policy, models, guess, hertz, layer, driven).run(faults);
}

Outcome<std::map<std::string, TubeModel>> tube_models(const Chassis& chassis, const Catalogue& catalogue) {
    std::map<std::string, TubeModel> models;
    std::vector<Notice> notices;
    for (const Part& part : chassis.parts()) {
        if (part.kind != PartKind::socket || part.type == nullptr || models.count(part.type->type) != 0) continue;
        Outcome<TubeModel> model = tube_model(*part.type, catalogue);
        if (!model) {
            Notice notice{messages::no_tube_model, Severity::error, part.place,
                          part.id + " (" + part.type->type + ") has no constants: the set cannot be solved",
                          "add an operating point of the type to the tube table, or leave the socket empty"};
            if (!model.notices().empty()) notice.message += ": " + model.notices().front().message;
            notices.push_back(std::move(notice));
            continue;
        }
        models.emplace(part.type->type, *model);
    }
    if (!notices.empty()) return notices;
    return models;
}

}  // namespace tubewright::bench
