// SPDX-License-Identifier: MIT
// See faults.hpp. The tables below are the data: what a kind of part can do, how hard, and its share of the mode.
#include "threat/faults.hpp"

#include <algorithm>
#include <array>
#include <string_view>

#include "chassis/data.hpp"

namespace tubewright::threat {
namespace {

constexpr double hard_short_ohms = 0.1;
constexpr double element_short_ohms = 1;    ///< electrodes that touch
constexpr double carbon_track_ohms = 10e3;  ///< a track that is about to burn
constexpr double heater_leak_ohms = 100e3;  ///< heater to cathode: hum, and a tester shows it (declared)
constexpr double weak_emission = 0.5;
constexpr double worn_rectifier = 3;  ///< times its forward ohms (declared)
constexpr double stuck_contact_ohms = 0.02;
constexpr double no_leak_ohms = 1e10;       ///< insulation that is as good as none
constexpr double leak_part_of_short = 0.2;  ///< where a set of modes knows no leak

constexpr std::string_view declared = "declared estimate, no source";

/// A capacitor, a resistor: what it can do between its two leads.
struct Kind {
    FaultMode mode;
    std::string_view tail;  ///< of the fault's id
    double ohms, factor;
    std::string_view of_mode;
    double share;
    std::string_view event, doing;  ///< "%" stands for the part
};
constexpr std::array capacitor_kinds{
    Kind{FaultMode::short_circuit, "short", hard_short_ohms, 1, "short", 1, "% shorts", "Shorting %"},
    Kind{FaultMode::open, "open", 0, 1, "open", 1, "% opens", "Opening %"},
    Kind{FaultMode::leak, "leak 1 M", 1e6, 1, "leak", 0.55, "% leaks (1 meg)", "A leak of 1 meg in %"},
    Kind{FaultMode::leak, "leak 100 k", 100e3, 1, "leak", 0.15, "% leaks (100 k)", "A leak of 100 k in %"},
    Kind{FaultMode::leak, "leak 10 k", 10e3, 1, "leak", 0.05, "% leaks (10 k)", "A leak of 10 k in %"},
};
constexpr double aged_leak_share = 0.25;
constexpr std::array resistor_kinds{
    Kind{FaultMode::open, "open", 0, 1, "open", 1, "% opens", "Opening %"},
    Kind{FaultMode::drift, "x1.5", 0, 1.5, "drift", 0.7, "% drifts to 1.5 times its ohms", "% at 1.5 times its ohms"},
    Kind{FaultMode::drift, "x2", 0, 2, "drift", 0.3, "% drifts to twice its ohms", "% at twice its ohms"},
    Kind{FaultMode::short_circuit, "short", hard_short_ohms, 1, "short", 1, "% shorts", "Shorting %"},
};
constexpr std::array open_alone{
    Kind{FaultMode::open, "open", 0, 1, "open", 1, "% opens", "Opening %"},
};
constexpr std::array dry_kinds{
    Kind{FaultMode::open, "open", 0, 1, "open", 1, "% opens", "Opening %"},
    Kind{FaultMode::short_circuit, "short", hard_short_ohms, 1, "short", 1, "% shorts", "Shorting %"},
};
constexpr std::array variable_kinds{
    Kind{FaultMode::short_circuit, "short", hard_short_ohms, 1, "short", 1, "% shorts (plates touch)", "Shorting %"},
    Kind{FaultMode::open, "open", 0, 1, "open", 1, "% opens", "Opening %"},
};

std::string with_part(std::string_view text, const std::string& part) {
    std::string out;
    for (char c : text)
        if (c == '%')
            out += part;
        else
            out += c;
    return out;
}

class Placer {
  public:
    Placer(const Chassis& chassis, const Catalogue& catalogue)
        : chassis_(chassis), catalogue_(catalogue), metal_(metal_of(chassis)) {}

    std::vector<PlacedFault> all() {
        for (std::size_t i = 0; i < chassis_.parts().size(); ++i) {
            if (chassis_.parts()[i].seen == "omitted") continue;  // it stays out on purpose
            index_ = static_cast<int>(i);
            part_ = &chassis_.parts()[i];
            place();
        }
        return std::move(out_);
    }

  private:
    void place() {
        switch (part_->kind) {
            case PartKind::capacitor:
                capacitor();
                break;
            case PartKind::resistor:
                if (two_nets()) kinds(resistor_kinds);
                if (part_->construction == "metal-clad") to_case();
                break;
            case PartKind::control:
                if (two_nets()) kinds(resistor_kinds);
                break;
            case PartKind::coil:
                coil();
                break;
            case PartKind::transformer:
                transformer();
                break;
            case PartKind::socket:
                if (part_->type != nullptr && part_->fitted != "none") tube();
                break;
            case PartKind::lamp:
                lamp();
                break;
            case PartKind::power_switch:
                if (two_nets()) kinds(open_alone);
                for (int lead = 0; lead < static_cast<int>(part_->leads.size()); ++lead)
                    to_metal(lead, "short", 0.5, "contact to its case",
                             "the switch contact " + lead_name(lead) + " touches its case");
                break;
            case PartKind::fuse:
            case PartKind::speaker:
                if (two_nets()) kinds(open_alone);
                break;
            case PartKind::wire:
                wire();
                break;
            case PartKind::cord:
                cord();
                break;
            case PartKind::plug:
            case PartKind::strip:
            case PartKind::untraced:
            case PartKind::block:
                break;
            case PartKind::battery:
                battery();
                break;
            case PartKind::vibrator:
                vibrator();
                break;
            case PartKind::rectifier:
                dry_rectifier();
                break;
        }
    }

    // ---- what all share

    int net(int lead) const { return part_->leads[static_cast<std::size_t>(lead)].net; }
    bool two_nets() const { return part_->leads.size() >= 2 && net(0) >= 0 && net(1) >= 0 && net(0) != net(1); }
    const std::string& lead_name(int lead) const { return part_->leads[static_cast<std::size_t>(lead)].name; }
    int lead_with(std::string_view pin) const { return part_->lead(pin); }

    PlacedFault& add(std::string tail, FaultMode mode, std::string_view of_mode, double share, std::string event,
                     std::string doing) {
        PlacedFault p;
        p.fault.id = part_->id + " " + tail;
        p.fault.part = index_;
        p.fault.mode = mode;
        p.mode = word(mode);
        p.blamed = part_->id;
        p.construction = part_->construction;
        p.of_mode = std::string(of_mode);
        p.share = share;
        p.event = std::move(event);
        p.doing = std::move(doing);
        out_.push_back(std::move(p));
        return out_.back();
    }

    template <class Kinds>
    void kinds(const Kinds& all) {
        for (const Kind& k : all) {
            if (k.mode == FaultMode::drift && !part_->ohms) continue;
            PlacedFault& p = add(std::string(k.tail), k.mode, k.of_mode, k.share, with_part(k.event, part_->id),
                                 with_part(k.doing, part_->id));
            p.fault.lead_a = 0;
            p.fault.lead_b = part_->kind == PartKind::control ? last_track_lead() : 1;
            p.fault.ohms = k.ohms;
            p.fault.factor = k.factor;
        }
    }

    /// The far end of a control's track.
    int last_track_lead() const {
        const int b = lead_with("b");
        return b >= 0 ? b : static_cast<int>(part_->leads.size()) - 1;
    }

    /// A lead of the part touches the metal; nothing when it stands there already.
    void to_metal(int lead, std::string_view of_mode, double share, const std::string& tail, std::string event,
                  double ohms = hard_short_ohms, std::string_view construction = {},
                  FaultMode mode = FaultMode::to_chassis) {
        if (lead < 0 || metal_ < 0 || net(lead) < 0 || net(lead) == metal_) return;
        std::string what =
            tail.starts_with("lead ") || part_->kind == PartKind::wire ? tail : lead_name(lead) + " " + tail;
        PlacedFault& p = add(what, mode, of_mode, share, part_->id + ": " + std::move(event),
                             "A path to the metal at " + part_->id + " " + lead_name(lead));
        p.fault.lead_a = lead;
        p.fault.net_b = metal_;
        p.fault.ohms = ohms;
        p.note = declared;
        if (!construction.empty()) p.construction = std::string(construction);
    }

    // ---- kinds of part

    void capacitor() {
        if (!two_nets()) return;
        const Construction* c = catalogue_.construction(part_->construction);
        const bool adjustable = part_->construction == "air-variable" || part_->construction == "mica-trimmer";
        if (adjustable) {
            kinds(variable_kinds);
            return;
        }
        bool knows_leak = false;
        if (c != nullptr) {
            for (const FailureMode& m : catalogue_.failure_modes(c->mode_set))
                knows_leak = knows_leak || m.mode == "leak" || m.mode == "electrolyte-leak";
            knows_leak = knows_leak || (c->aged_megohm_microfarads && c->action != "leave");
        }
        const double aged = c != nullptr ? aged_leak_ohms(*part_, *c) : 0;
        const bool has_aged = aged > 0 && aged < no_leak_ohms;
        const std::size_t from = out_.size();
        kinds(capacitor_kinds);
        if (has_aged) {
            PlacedFault& p =
                add("leak aged", FaultMode::leak, "leak", aged_leak_share,
                    part_->id + " leaks as its age would have it (" + say(ohms(aged)) + ")",
                    "The insulation of " + part_->id + " as its age would have it (" + say(ohms(aged)) + ")");
            p.fault.lead_a = 0;
            p.fault.lead_b = 1;
            p.fault.ohms = aged;
        }
        for (std::size_t i = from; i < out_.size(); ++i) {
            PlacedFault& p = out_[i];
            const bool leak = p.of_mode == "leak";
            if (leak) p.note = declared;
            if (leak && !has_aged) p.share /= 1 - aged_leak_share;
            if (knows_leak) continue;
            // a set of modes without leak: part of its shorts are leaks
            if (leak) {
                p.of_mode = "short";
                p.share *= leak_part_of_short;
            } else if (p.of_mode == "short") {
                p.share *= 1 - leak_part_of_short;
                p.note = declared;
            }
        }
    }

    /// Selenium rises in its forward ohms by age; a plate that burns through shorts.
    void dry_rectifier() {
        if (!two_nets()) return;
        kinds(dry_kinds);
        PlacedFault& worn = add("worn", FaultMode::drift, "drift", 1, part_->id + " has three times its forward ohms",
                                "A worn " + part_->id);
        worn.fault.factor = worn_rectifier;
        worn.note = declared;
    }

    /// A battery ends run down or open; by hand it is fitted the wrong way round, or its plus lead touches that of the
    /// one that lights the filaments, the end of every tube on it.
    void battery() {
        if (!two_nets() || !part_->closed || stands_open(*part_)) return;
        constexpr double slip = 0.02;  // of all its failures (declared)
        kinds(open_alone);
        add("run down", FaultMode::drift, "drift", 1, part_->id + " is run down", "A spent " + part_->id).note =
            declared;
        add("reversed", FaultMode::reversed, "", slip, part_->id + " is fitted the wrong way round",
            part_->id + " the wrong way round")
            .note = declared;
        for (const Part& other : chassis_.parts()) {
            const bool lights = other.kind == PartKind::battery && other.role == "a" && part_->role != "a";
            if (!lights || other.leads.empty() || other.leads[0].net < 0 || other.leads[0].net == net(0)) continue;
            PlacedFault& p = add("plus on " + other.id + " plus", FaultMode::short_circuit, "", slip,
                                 "the plus lead of " + part_->id + " touches that of " + other.id,
                                 part_->id + " on the plus lead of " + other.id);
            p.fault.lead_a = 0;
            p.fault.net_b = other.leads[0].net;
            p.fault.ohms = hard_short_ohms;
            p.note = declared;
        }
    }

    /// A reed that does not move, and contacts that stick together (each fixed contact with the reed).
    void vibrator() {
        if (part_->leads.size() < 3) return;
        add("stands still", FaultMode::open, "fails-to-trip", 1, part_->id + " does not start", "A dead " + part_->id)
            .note = declared;
        const int reed = lead_with("reed") >= 0 ? lead_with("reed") : 0;
        std::vector<int> contacts;
        for (int lead = 0; lead < static_cast<int>(part_->leads.size()); ++lead)
            if (lead != reed && net(lead) >= 0 && net(reed) >= 0 && net(lead) != net(reed)) contacts.push_back(lead);
        for (const int contact : contacts) {
            pair(reed, contact, FaultMode::short_circuit, lead_name(contact) + " sticks", "short",
                 1.0 / static_cast<double>(contacts.size()), "contact " + lead_name(contact) + " stuck to the reed",
                 stuck_contact_ohms);
        }
    }

    void to_case() {
        for (int lead = 0; lead < static_cast<int>(part_->leads.size()); ++lead)
            to_metal(lead, "short", 0.5, "to case", "its element touches the case at " + lead_name(lead));
    }

    void coil() {
        if (!two_nets()) return;
        kinds(open_alone);
        PlacedFault& p = add("short", FaultMode::short_circuit, "short", 0.5, part_->id + " shorts from end to end",
                             "Shorting " + part_->id);
        p.fault.lead_a = 0;
        p.fault.lead_b = 1;
        p.fault.ohms = hard_short_ohms;
        p.note = declared;
        if (part_->role != "field" && part_->role != "choke") return;
        if (part_->ohms) {
            PlacedFault& turns =
                add("turns short", FaultMode::drift, "drift", 1, part_->id + ": a fifth of its turns short",
                    part_->id + " with a fifth of its turns shorted");
            turns.fault.factor = 0.8;
            turns.note = declared;
        }
        for (int lead = 0; lead < 2; ++lead)
            to_metal(lead, "short", 0.25, "to frame", "its winding touches the frame at " + lead_name(lead));
    }

    std::string half_name(const PartWinding& w, int half) const {
        return w.leads.size() > 2 ? w.name + " half " + std::to_string(half + 1) : w.name;
    }

    void transformer() {
        const bool power = part_->role == "power";
        int halves = 0, layers = 0, ends = 0;
        std::vector<int> out_leads;
        for (const PartWinding& w : part_->windings) {
            const int n = std::max(0, static_cast<int>(w.leads.size()) - 1);
            halves += n;
            if (has_layers(w)) layers += n;
            for (int lead : w.leads)
                if (net(lead) >= 0 && net(lead) != metal_) {
                    ++ends;
                    out_leads.push_back(lead);
                }
        }
        for (std::size_t w = 0; w < part_->windings.size(); ++w) {
            const PartWinding& winding = part_->windings[w];
            for (int half = 0; half + 1 < static_cast<int>(winding.leads.size()); ++half) {
                const int a = winding.leads[static_cast<std::size_t>(half)],
                          b = winding.leads[static_cast<std::size_t>(half) + 1];
                if (net(a) < 0 || net(b) < 0 || net(a) == net(b)) continue;
                const std::string name = half_name(winding, half);
                auto placed = [&](PlacedFault& p) {
                    p.fault.winding = static_cast<int>(w);
                    p.fault.half = half;
                    p.fault.lead_a = a;
                    p.fault.lead_b = b;
                };
                placed(add(name + " open", FaultMode::open, "open", 1.0 / halves,
                           part_->id + ": the " + name + " winding opens",
                           "Opening the " + name + " winding of " + part_->id));
                if (power && has_layers(winding)) {
                    placed(add(name + " layer short", FaultMode::layer_short, "short", 0.6 / layers,
                               part_->id + ": a layer (5 % of the turns) of the " + name + " winding shorts",
                               "A shorted layer of the " + name + " winding of " + part_->id));
                    out_.back().note = declared;
                } else if (!power) {
                    placed(add(name + " short", FaultMode::short_circuit, "short", 0.5 / halves,
                               part_->id + ": the " + name + " winding shorts from end to end",
                               "Shorting the " + name + " winding of " + part_->id));
                    out_.back().fault.ohms = hard_short_ohms;
                    out_.back().note = declared;
                }
            }
        }
        if (power || part_->role == "output") {
            for (const PartWinding& w : part_->windings)
                for (int lead : w.leads) {
                    if (net(lead) < 0 || net(lead) == metal_) continue;
                    const bool heater = w.role == WindingRole::heater;
                    to_metal(lead, "short", (power ? 0.3 : 0.5) / ends,
                             power && heater ? "(other heater leg) to chassis" : "to chassis",
                             power && heater ? "a second leg of the heater winding is grounded"
                                             : "the insulation of its " + w.name + " lead (" +
                                                   chassis_.nets()[static_cast<std::size_t>(net(lead))].name +
                                                   ") fails to the metal");
                }
            if (power) neighbours();
        } else if (part_->role == "if" && part_->windings.size() >= 2) {
            between_windings();
        }
    }

    /// Windings that lie on one another break through: the primary to a plate winding, that to a heater winding. Where
    /// that one is on the metal, it is the lead to the metal over again.
    void neighbours() {
        std::vector<std::pair<const PartWinding*, const PartWinding*>> pairs;
        const auto on_metal = [this](const PartWinding& w) {
            return std::any_of(w.leads.begin(), w.leads.end(), [this](int lead) { return net(lead) == metal_; });
        };
        for (const PartWinding& plate : part_->windings) {
            if (plate.role != WindingRole::plate) continue;
            for (const PartWinding& other : part_->windings)
                if (other.role == WindingRole::primary ||
                    ((other.role == WindingRole::heater || other.role == WindingRole::rectifier_heater) &&
                     !on_metal(other)))
                    pairs.emplace_back(&plate, &other);
            break;
        }
        for (const auto& [plate, other] : pairs) {
            if (plate->leads.empty() || other->leads.empty()) continue;
            const int a = plate->leads.front(), b = other->leads.front();
            if (net(a) < 0 || net(b) < 0 || net(a) == net(b)) continue;
            PlacedFault& p = add(
                plate->name + " to " + other->name, FaultMode::short_circuit, "short",
                0.1 / static_cast<double>(pairs.size()),
                part_->id + ": the insulation between its " + plate->name + " and " + other->name + " windings fails",
                part_->id + " broken through from " + plate->name + " to " + other->name);
            p.fault.lead_a = a;
            p.fault.lead_b = b;
            p.fault.ohms = hard_short_ohms;
            p.note = declared;
        }
    }

    static bool has_layers(const PartWinding& w) {
        return w.role == WindingRole::primary || w.role == WindingRole::plate;
    }

    /// Silver that has crept from the plate side of an IF can to its grid side.
    void between_windings() {
        const PartWinding &first = part_->windings[0], &second = part_->windings[1];
        if (first.leads.empty() || second.leads.empty()) return;
        const int a = first.leads[0], b = second.leads[0];
        if (net(a) < 0 || net(b) < 0 || net(a) == net(b)) return;
        for (const double leak : {1e6, 100e3}) {
            PlacedFault& p = add("leak between windings " + std::string(leak > 5e5 ? "1 M" : "100 k"), FaultMode::leak,
                                 "short", leak > 5e5 ? 0.35 : 0.15,
                                 part_->id + " leaks from plate side to grid side (" + say(ohms(leak)) + ")",
                                 "A leak of " + say(ohms(leak)) + " across " + part_->id);
            p.fault.lead_a = a;
            p.fault.lead_b = b;
            p.fault.ohms = leak;
            p.note = declared;
        }
    }

    // ---- tubes

    /// First lead whose pin carries exactly this electrode and is wired; -1.
    int electrode(std::string_view name) const {
        for (const Pin& pin : part_->type->pins)
            if (std::find(pin.electrodes.begin(), pin.electrodes.end(), name) != pin.electrodes.end())
                if (const int lead = part_->lead(pin.pin); lead >= 0 && net(lead) >= 0) return lead;
        return -1;
    }
    std::vector<int> electrodes_from(char first) const {
        std::vector<int> leads;
        for (const Pin& pin : part_->type->pins)
            for (const std::string& e : pin.electrodes)
                if (e.front() == first && e.size() <= 2)
                    if (const int lead = part_->lead(pin.pin); lead >= 0 && net(lead) >= 0) {
                        leads.push_back(lead);
                        break;
                    }
        return leads;
    }

    void pair(int a, int b, FaultMode mode, const std::string& tail, std::string_view of_mode, double share,
              const std::string& words, double ohms) {
        if (a < 0 || b < 0 || net(a) == net(b)) return;
        PlacedFault& p = add(tail, mode, of_mode, share, part_->id + ": " + words, part_->id + " with " + words);
        p.fault.lead_a = a;
        p.fault.lead_b = b;
        p.fault.ohms = ohms;
        p.note = declared;
    }

    void tube() {
        const TubeType& type = *part_->type;
        const bool rectifier = type.is_rectifier();
        PlacedFault& weak =
            add("weak", FaultMode::weak, "weak", 1, part_->id + " has lost half its emission", "A weak " + part_->id);
        weak.fault.factor = weak_emission;
        weak.note = declared;
        PlacedFault& dead = add("dead", FaultMode::open, "heater-open", 1, part_->id + " goes dead (its heater opens)",
                                "A dead " + part_->id);
        dead.mode = word(FaultMode::dead);
        dead.note = declared;
        const std::vector<int> plates = electrodes_from('p');
        if (rectifier) {
            const double share = plates.empty() ? 1 : 1.0 / static_cast<double>(plates.size());
            const int cathode = type.directly_heated ? filament() : electrode("k");
            for (int plate : plates)
                pair(plate, cathode, FaultMode::plate_cathode_short, "plate " + lead_name(plate) + " short",
                     "grid-cathode-short", share,
                     "plate " + lead_name(plate) + " touching the " + (type.directly_heated ? "filament" : "cathode"),
                     element_short_ohms);
            if (!type.directly_heated) heater_cathode(cathode);
            tracks(plates);
            return;
        }
        const bool converter = type.tube_class.find("converter") != std::string::npos;
        if (converter) {
            sections_of_converter();
        } else {
            int n = 0;
            for (const Pin& pin : type.pins)
                for (const std::string& e : pin.electrodes)
                    if (e.front() == 'p' && e.size() <= 2) section(e, ++n);
        }
        for (const Pin& pin : type.pins)
            for (const std::string& e : pin.electrodes)
                if (e.front() == 'k')
                    if (const int lead = part_->lead(pin.pin); lead >= 0 && net(lead) >= 0) {
                        heater_cathode(lead);
                        break;
                    }
        add("gas", FaultMode::gas, "gas", 1, part_->id + " is gassy", "Gas in " + part_->id).note = declared;
        if (type.tube_class.find("power") != std::string::npos) tracks(plates);
    }

    /// The filament pin from which B-plus is taken: the one with more than a heater winding on it.
    int filament() const {
        int best = -1;
        std::size_t most = 0;
        for (int lead : electrodes_from('h')) {
            const std::size_t leads = chassis_.nets()[static_cast<std::size_t>(net(lead))].leads.size();
            if (leads > most) {
                most = leads;
                best = lead;
            }
        }
        return best;
    }

    void heater_cathode(int cathode) {
        // the end of the heater that is not where the cathode stands
        for (int h : electrodes_from('h'))
            if (cathode >= 0 && net(h) != net(cathode)) {
                const std::string tail =
                    many_cathodes() ? "heater to cathode " + lead_name(cathode) + " short" : "heater to cathode short";
                const double share = many_cathodes() ? 0.5 : 1;
                pair(cathode, h, FaultMode::heater_cathode_short, tail, "heater-cathode-short", share,
                     "heater touching cathode at its far end, pin " + lead_name(h), element_short_ohms);
                const std::size_t before = out_.size();
                pair(cathode, h, FaultMode::heater_cathode_short, tail.substr(0, tail.size() - 5) + "leak",
                     "heater-cathode-leak", share, "heater leaking to its cathode (100 k)", heater_leak_ohms);
                if (out_.size() > before) out_.back().mode = word(FaultMode::leak);
                return;
            }
    }
    bool many_cathodes() const {
        int n = 0;
        for (const Pin& pin : part_->type->pins)
            for (const std::string& e : pin.electrodes) n += e.front() == 'k' ? 1 : 0;
        return n > 1;
    }

    /// Shorts between the electrodes of one unit; `plate` is its plate ("p", "p1", "p2").
    void section(const std::string& plate, int n) {
        const bool numbered = plate.size() > 1;
        const std::string unit = numbered ? std::string(1, plate.back()) : std::string();
        auto first_of = [&](std::initializer_list<std::string> names) {
            for (const std::string& name : names)
                if (const int lead = electrode(name); lead >= 0) return lead;
            return -1;
        };
        const int p = electrode(plate);
        const int g = numbered ? first_of({"g" + unit + "t", "g" + unit, "gt"}) : first_of({"g1", "gt", "g1t", "g"});
        const int k = numbered ? first_of({"k" + unit, "k"}) : first_of({"k", "k1"});
        const int cathode = k < 0 && part_->type->directly_heated ? filament() : k;
        const int screen = n == 1 ? electrode("g2") : -1;
        const std::string tag = numbered ? "unit " + unit + " " : std::string();
        const double units = numbered ? 0.5 : 1;
        pair(g, cathode, FaultMode::grid_cathode_short, tag + "grid to cathode short", "grid-cathode-short",
             0.6 * units, "grid touching cathode", element_short_ohms);
        pair(p, g, FaultMode::plate_grid_short, tag + "plate to grid short", "grid-cathode-short", 0.1 * units,
             "plate touching grid", element_short_ohms);
        pair(screen, g, FaultMode::screen_grid_short, tag + "screen to grid short", "grid-cathode-short", 0.3 * units,
             "screen touching grid", element_short_ohms);
    }

    /// The pairs of a converter are placed pin by pin: its law's control grid is the signal grid.
    void sections_of_converter() {
        auto touching = [this](int a, int b, FaultMode mode, const std::string& tail, double share,
                               const std::string& words) {
            const std::size_t before = out_.size();
            pair(a, b, FaultMode::short_circuit, tail, "grid-cathode-short", share, words, element_short_ohms);
            if (out_.size() > before) out_.back().mode = word(mode);
        };
        const int oscillator = electrode("g1");
        int screen = -1;
        for (const Pin& pin : part_->type->pins)
            if (std::count_if(pin.electrodes.begin(), pin.electrodes.end(),
                              [](const std::string& e) { return e.front() == 'g'; }) >= 2)
                screen = part_->lead(pin.pin);
        int signal = electrode("g4");
        if (signal < 0 || signal == screen) signal = electrode("g3") == screen ? -1 : electrode("g3");
        touching(oscillator, electrode("k"), FaultMode::grid_cathode_short, "oscillator grid to cathode short", 0.5,
                 "oscillator grid touching cathode");
        touching(screen, signal, FaultMode::screen_grid_short, "screen to signal grid short", 0.3,
                 "screen touching signal grid");
        touching(electrode("p"), screen, FaultMode::plate_grid_short, "plate to screen short", 0.2,
                 "plate touching screen");
    }

    /// A carbon track across the socket: from each plate to its neighbours and to the metal ring.
    void tracks(const std::vector<int>& plates) {
        auto track = [&](int a, int b) {
            if (a < 0 || b < 0 || net(a) == net(b)) return;
            const std::string between = lead_name(a) + " to " + lead_name(b);
            pair(a, b, FaultMode::tracking, "socket tracks " + between, "", 0.02,
                 "a carbon track across the socket from " + between + " (" + say(ohms(carbon_track_ohms)) + ")",
                 carbon_track_ohms);
            out_.back().construction = "tube-socket";
        };
        for (std::size_t i = 0; i + 1 < plates.size(); ++i) track(plates[i], plates[i + 1]);
        const std::vector<int> heaters = electrodes_from('h');
        for (int plate : plates) {
            if (!heaters.empty()) track(plate, heaters.front());
            to_metal(
                plate, "", 0.02, "socket tracks to chassis",
                "a carbon track runs from " + lead_name(plate) + " to the metal (" + say(ohms(carbon_track_ohms)) + ")",
                carbon_track_ohms, "tube-socket", FaultMode::tracking);
        }
    }

    // ---- small parts

    void lamp() {
        if (two_nets())
            kinds(
                std::array{Kind{FaultMode::open, "open", 0, 1, "no-illumination", 1, "% burns out", "A burnt-out %"}});
        // one physical lead, one risk: where the file has the wire, the wire carries it
        std::vector<int> own;
        for (int lead = 0; lead < static_cast<int>(part_->leads.size()); ++lead)
            if (net(lead) != metal_ && !wire_to(lead)) own.push_back(lead);
        for (const int lead : own)
            to_metal(lead, "short", 1.0 / static_cast<double>(own.size()),
                     lead == 0 ? "lead to chassis" : "lead " + lead_name(lead) + " to chassis",
                     "its lead or socket touches the metal", hard_short_ohms, wire_of_the_set());
        if (two_nets()) {
            PlacedFault& p = add("socket short", FaultMode::short_circuit, "", 0.3, part_->id + ": its socket shorts",
                                 "Shorting the socket of " + part_->id);
            p.construction = "tube-socket";
            p.fault.lead_a = 0;
            p.fault.lead_b = 1;
            p.fault.ohms = hard_short_ohms;
            p.note = declared;
        }
    }

    /// A wire of the file ends where this lead is written.
    bool wire_to(int lead) const {
        const std::string_view end = chassis_.data().written({index_, lead});
        if (end.empty()) return false;
        for (std::size_t i = 0; i < chassis_.parts().size(); ++i) {
            const Part& wire = chassis_.parts()[i];
            if (wire.kind != PartKind::wire) continue;
            for (std::size_t l = 0; l < wire.leads.size(); ++l)
                if (chassis_.data().written({static_cast<int>(i), static_cast<int>(l)}) == end) return true;
        }
        return false;
    }
    /// Construction of the wires that the file does not list: that of the first it does, else rubber.
    std::string wire_of_the_set() const {
        for (const Part& wire : chassis_.parts())
            if (wire.kind == PartKind::wire && !wire.construction.empty()) return wire.construction;
        return "rubber";
    }

    void wire() {
        if (part_->leads.empty()) return;
        to_metal(0, "short", 1, "to chassis", "its insulation fails on a sharp edge and it touches the metal");
    }

    /// The two blades of the line cord, at the cord's own leads or at the line plug.
    void cord() {
        const NodeRoles& roles = chassis_.nodes();
        if (roles.line_hot < 0 || roles.line_neutral < 0) return;
        for (std::size_t i = 0; i < chassis_.parts().size(); ++i) {
            const Part& at = chassis_.parts()[i];
            if (static_cast<int>(i) != index_ && at.kind != PartKind::plug) continue;
            int hot = -1, neutral = -1;
            for (std::size_t lead = 0; lead < at.leads.size(); ++lead) {
                if (at.leads[lead].net == roles.line_hot) hot = static_cast<int>(lead);
                if (at.leads[lead].net == roles.line_neutral) neutral = static_cast<int>(lead);
            }
            if (hot < 0 || neutral < 0) continue;
            PlacedFault& p = add("short", FaultMode::short_circuit, "short", 1,
                                 part_->id + ": the two wires of the cord touch", "A shorted cord " + part_->id);
            p.fault.part = static_cast<int>(i);
            p.fault.lead_a = hot;
            p.fault.lead_b = neutral;
            p.fault.ohms = hard_short_ohms;
            return;
        }
    }

    const Chassis& chassis_;
    const Catalogue& catalogue_;
    int metal_;
    int index_ = -1;
    const Part* part_ = nullptr;
    std::vector<PlacedFault> out_;
};

}  // namespace

int metal_of(const Chassis& chassis) {
    const NodeRoles& roles = chassis.nodes();
    if (roles.chassis_metal >= 0) return roles.chassis_metal;
    return roles.b_minus >= 0 ? roles.b_minus : chassis.reference();
}

std::vector<PlacedFault> placed_faults(const Chassis& chassis, const Catalogue& catalogue) {
    return Placer(chassis, catalogue).all();
}

}  // namespace tubewright::threat

namespace tubewright {

std::vector<Fault> faults_of(const Chassis& chassis, const Catalogue& catalogue) {
    std::vector<Fault> faults;
    for (threat::PlacedFault& p : threat::placed_faults(chassis, catalogue)) faults.push_back(std::move(p.fault));
    return faults;
}

}  // namespace tubewright
