// SPDX-License-Identifier: MIT
// Limits from the file, then the catalogue, then declared defaults; figures from the branches of a solution. See
// limits.hpp.
#include "stress/limits.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <optional>

namespace tubewright::stress {
namespace {

constexpr double usual_resistor_watts = 0.5;
constexpr double heater_band = 0.1;

bool is_plate(std::string_view electrode) {
    return !electrode.empty() && electrode.front() == 'p';
}
/// Of a rectifier that shares its bulb with an output section, its own plate alone.
bool rectifies(const TubeType& type, std::string_view electrode) {
    return type.is_only_rectifier() ? is_plate(electrode) : electrode == "pr";
}
bool is_cathode(std::string_view electrode) {
    return !electrode.empty() && electrode.front() == 'k';
}
bool is_heater(std::string_view electrode) {
    return !electrode.empty() && electrode.front() == 'h';
}

std::string_view provenance_word(const Source& source) {
    return word(source.provenance);
}
std::string from_catalogue(const Source& source) {
    return "catalogue (" + std::string(provenance_word(source)) + ")";
}

/// Working volts of composition resistors by size, recalled.
double resistor_volts(double watts) {
    return watts < 0.3 ? 250 : watts < 0.7 ? 350 : 500;
}

/// Nets of the type's pins that carry an electrode named by `starts`.
std::vector<int> nets_with(const Part& part, std::string_view starts) {
    std::vector<int> nets;
    for (const Pin& pin : part.type->pins)
        for (const std::string& e : pin.electrodes)
            if (e.compare(0, starts.size(), starts) == 0) {
                const int lead = part.lead(pin.pin);
                const int net = lead < 0 ? -1 : part.leads[static_cast<std::size_t>(lead)].net;
                if (net >= 0 && std::find(nets.begin(), nets.end(), net) == nets.end()) nets.push_back(net);
                break;
            }
    return nets;
}

class Maker {
  public:
    Maker(const Chassis& chassis, const Catalogue& catalogue, const Solution& example)
        : chassis_(chassis), catalogue_(catalogue), loads_(chassis, example) {}

    std::vector<Limit> all() {
        const std::vector<Part>& parts = chassis_.parts();
        for (std::size_t i = 0; i < parts.size(); ++i) of(static_cast<int>(i), parts[i]);
        return std::move(limits_);
    }

  private:
    void add(int part, std::string lead, Figure figure, std::string quantity, double limit, std::string source) {
        limits_.push_back({part, std::move(lead), figure, std::move(quantity), limit, std::move(source)});
    }

    void of(int index, const Part& part) {
        switch (part.kind) {
            case PartKind::capacitor:
                if (part.rated_volts)
                    add(index, "", Figure::crest_volts, "volts", *part.rated_volts, word(Provenance::stated));
                break;
            case PartKind::resistor:
            case PartKind::control:
                resistor(index, part);
                break;
            case PartKind::coil:
                if (part.rated_watts)
                    add(index, "", Figure::watts, "watts", *part.rated_watts, word(Provenance::stated));
                break;
            case PartKind::rectifier:
                if (part.rated_amps)
                    add(index, part.leads.front().name.str(), Figure::cathode_amps, "direct amperes", *part.rated_amps,
                        word(Provenance::stated));
                break;
            case PartKind::lamp:
                if (const LampRow* row = catalogue_.lamp(part.lamp_type))
                    add(index, "", Figure::lamp_volts, "lamp volts", row->volts * (1 + heater_band),
                        from_catalogue(row->source));
                break;
            case PartKind::transformer:
                transformer(index, part);
                break;
            case PartKind::socket:
                if (part.type != nullptr) tube(index, part);
                break;
            default:
                break;
        }
    }

    void resistor(int index, const Part& part) {
        // what its maker gives of a ballast is its volts at its amperes
        if (part.role == "ballast" && !part.rated_watts) {
            if (part.rated_volts && part.rated_amps)
                add(index, "", Figure::watts, "watts", *part.rated_volts * *part.rated_amps,
                    "stated in the file: its volts times its amperes");
            return;
        }
        const bool stated = part.rated_watts.has_value();
        const bool carbon = part.construction.find("wire") == std::string::npos &&
                            part.construction.find("metal") == std::string::npos &&
                            part.construction.find("cord") == std::string::npos;
        if (!stated && !carbon) return;
        const double rated = stated ? *part.rated_watts : usual_resistor_watts;
        add(index, "", Figure::watts, "watts", rated,
            stated ? word(Provenance::stated) : "assumed: the usual half watt, none stated");
        if (carbon && part.kind == PartKind::resistor)
            add(index, "", Figure::crest_volts, "volts", resistor_volts(rated),
                "recalled: working volts of composition resistors by size");
    }

    void transformer(int index, const Part& part) {
        for (const PartWinding& w : part.windings) {
            if (w.role == WindingRole::primary && part.rated_va && w.volts && *w.volts > 0) {
                add(index, w.name, Figure::rms_amps, w.name + " rms amperes", *part.rated_va / *w.volts,
                    "stated in the file: volt-amperes over volts");
            } else if (w.amps && w.leads.size() == 2) {
                add(index, w.name, Figure::rms_amps, w.name + " rms amperes", *w.amps, word(Provenance::stated));
            }
        }
    }

    void tube(int index, const Part& part) {
        const TubeType& type = *part.type;
        const std::string source = from_catalogue(type.source);
        const RectifierType* rectifier = type.is_rectifier() ? catalogue_.rectifier(type.type) : nullptr;
        const std::vector<std::string> screen = screen_of(type);
        bool direct_done = false;  // a row for both plates
        for (const Branch& b : loads_.of(index)) {
            const ElectrodeLead lead = electrode_of(b.lead);
            if (rectifier != nullptr && rectifies(type, lead.electrode)) {
                const std::string row = from_catalogue(rectifier->source);
                if (rectifier->max_dc_amps && !direct_done) {
                    const bool shunted = lamp_shunted(part), lamp = shunted || lamp_across_tap(part);
                    const std::optional<double> less = shunted ? rectifier->shunted_lamp_dc_amps
                                                       : lamp  ? rectifier->lamp_dc_amps
                                                               : std::nullopt;
                    add(index, rectifier->dc_per_plate ? b.lead : "", Figure::direct_amps,
                        less ? "dc amperes with its lamp" : "dc amperes", less.value_or(*rectifier->max_dc_amps), row);
                    direct_done = !rectifier->dc_per_plate;
                }
                if (rectifier->max_peak_amps)
                    add(index, b.lead, Figure::peak_amps, "peak plate amperes", *rectifier->max_peak_amps, row);
                if (rectifier->max_inverse_volts)
                    add(index, b.lead, Figure::inverse_volts, "inverse volts", *rectifier->max_inverse_volts, row);
            } else if (lead.electrode == "target" && type.max_plate_volts) {
                add(index, b.lead, Figure::electrode_volts, "target volts", *type.max_plate_volts, source);
            } else if (is_plate(lead.electrode) && type.max_plate_watts) {
                add(index, b.lead, Figure::electrode_watts, "plate watts", *type.max_plate_watts, source);
            } else if (type.max_screen_watts &&
                       std::find(screen.begin(), screen.end(), lead.electrode) != screen.end()) {
                add(index, b.lead, Figure::electrode_watts, "screen watts", *type.max_screen_watts, source);
            } else if (is_cathode(lead.electrode) && type.max_cathode_amps) {
                add(index, b.lead, Figure::cathode_amps, "cathode amperes", *type.max_cathode_amps, source);
            }
        }
        if (type.max_heater_cathode_volts && !nets_with(part, "k").empty())
            add(index, "h",
                type.heater_cathode_direct ? Figure::heater_cathode_direct_volts : Figure::heater_cathode_volts,
                type.heater_cathode_direct ? "heater-cathode direct volts" : "heater-cathode volts",
                *type.max_heater_cathode_volts, source);
        if (const double volts = wired_heater_volts(part); volts > 0) {
            add(index, "h", Figure::heater_high, "heater volts", volts * (1 + heater_band), source);
            add(index, "h", Figure::heater_low, "heater volts low", 1 / (1 - heater_band), source);
        }
        for (const HeaterVolts& heater : loads_.solution().heaters)
            if (heater.part == index)
                for (const HeaterSection& section : heater.sections)
                    add(index, section.lead, Figure::heater_section, "heater section volts",
                        section.rated.value() * (1 + heater_band), source);
    }

    /// Between the tap of its heater and one of its ends.
    bool across_tap(const Part& tube, const Part& other) const {
        if (other.leads.size() != 2) return false;
        const std::vector<int> taps = nets_with(tube, "htap"), ends = nets_with(tube, "h");
        const int a = other.leads[0].net, b = other.leads[1].net;
        const auto has = [](const std::vector<int>& nets, int net) {
            return std::find(nets.begin(), nets.end(), net) != nets.end();
        };
        return (has(taps, a) && has(ends, b)) || (has(taps, b) && has(ends, a));
    }
    bool lamp_across_tap(const Part& tube) const {
        return std::any_of(chassis_.parts().begin(), chassis_.parts().end(),
                           [&](const Part& other) { return other.kind == PartKind::lamp && across_tap(tube, other); });
    }
    bool lamp_shunted(const Part& tube) const {
        return lamp_across_tap(tube) &&
               std::any_of(chassis_.parts().begin(), chassis_.parts().end(), [&](const Part& other) {
                   return other.kind == PartKind::resistor && across_tap(tube, other);
               });
    }

    const Chassis& chassis_;
    const Catalogue& catalogue_;
    Loads loads_;
    std::vector<Limit> limits_;
};

double heater_volts(const Limit& limit, const Part& part, const Loads& loads) {
    // all sections together; halves side by side have half of what they have in series
    for (const HeaterVolts& heater : loads.solution().heaters)
        if (heater.part == limit.part && heater.rated.value() > 0)
            return heater.across / heater.rated * wired_heater_volts(part);
    double volts = 0;
    bool any = false;
    for (const Branch& b : loads.of(limit.part))
        if (is_heater(electrode_of(b.lead).electrode)) {
            volts = std::max(volts, std::hypot(b.volts_dc.value(), b.volts_rms.value()));
            any = true;
        }
    if (any) return volts;
    // no heater branch: two pins, one of them on the reference net
    const std::vector<int> nets = nets_with(part, "h");
    if (nets.size() != 2) return 0;
    const auto& at = loads.solution().nets;
    return std::fabs(at[static_cast<std::size_t>(nets[0])].rms.value() -
                     at[static_cast<std::size_t>(nets[1])].rms.value());
}

}  // namespace

bool made_for_a_string(const TubeType& type) {
    constexpr double string_volts = 10;
    return type.heater_volts.value_or(0) >= string_volts;
}

double first_filter_in_practice(const TubeType& type) {
    const bool strong = type.directly_heated || made_for_a_string(type) || type.heater_volts.value_or(0) < 6;
    return strong ? 40e-6 : 20e-6;
}

double wired_heater_volts(const Part& part) {
    const double rated = part.type->heater_volts.value_or(0);
    std::vector<int> ends;
    bool tapped = false;
    for (const Pin& pin : part.type->pins)
        for (const std::string& e : pin.electrodes) {
            const int lead = part.lead(pin.pin);
            const int net = lead < 0 ? -1 : part.leads[static_cast<std::size_t>(lead)].net;
            if (e == "h") ends.push_back(net);
            if (e == "hct") tapped = true;
        }
    return tapped && ends.size() == 2 && ends[0] >= 0 && ends[0] == ends[1] ? rated / 2 : rated;
}

Loads::Loads(const Chassis& chassis, const Solution& solution)
    : solution_(&solution), ranges_(chassis.parts().size(), {0, 0}) {
    const std::vector<Branch>& b = solution.branches;
    for (std::size_t i = 0; i < b.size();) {
        std::size_t end = i + 1;
        while (end < b.size() && b[end].part == b[i].part) ++end;
        if (b[i].part >= 0) ranges_[static_cast<std::size_t>(b[i].part)] = {static_cast<int>(i), static_cast<int>(end)};
        i = end;
    }
}

std::span<const Branch> Loads::of(int part) const {
    if (part < 0) return {};
    const auto [from, to] = ranges_[static_cast<std::size_t>(part)];
    return std::span(solution_->branches).subspan(static_cast<std::size_t>(from), static_cast<std::size_t>(to - from));
}

const Branch* Loads::at(int part, std::string_view lead) const {
    for (const Branch& b : of(part))
        if (b.lead == lead) return &b;
    return nullptr;
}

ElectrodeLead electrode_of(std::string_view lead) {
    const std::size_t end = lead.find_first_of(" ./(");
    if (end == std::string_view::npos) return {lead, {}};
    std::string_view pin = lead.substr(end + 1);
    if (!pin.empty() && pin.back() == ')') pin.remove_suffix(1);
    return {lead.substr(0, end), pin};
}

std::vector<bool> line_side_of(const Chassis& chassis, int blade, bool through_resistors, int end) {
    std::vector<bool> reached(chassis.nets().size(), false);
    std::vector<int> queue;
    auto reach = [&](int net) {
        if (net < 0 || net == end || reached[static_cast<std::size_t>(net)]) return;
        reached[static_cast<std::size_t>(net)] = true;
        queue.push_back(net);
    };
    reach(blade);
    while (!queue.empty()) {
        const int net = queue.back();
        queue.pop_back();
        for (const LeadRef& ref : chassis.nets()[static_cast<std::size_t>(net)].leads) {
            const Part& part = chassis.parts()[static_cast<std::size_t>(ref.part)];
            const bool through = part.kind == PartKind::power_switch || part.kind == PartKind::fuse ||
                                 part.kind == PartKind::wire || part.kind == PartKind::coil ||
                                 (through_resistors && part.kind == PartKind::resistor);
            if (!through) continue;
            for (const Lead& lead : part.leads) reach(lead.net);
        }
    }
    return reached;
}

std::vector<bool> line_side_of(const Chassis& chassis) {
    std::vector<bool> reached = line_side_of(chassis, chassis.nodes().line_hot, true, chassis.reference());
    const std::vector<bool> other = line_side_of(chassis, chassis.nodes().line_neutral, true, chassis.reference());
    for (std::size_t net = 0; net < reached.size(); ++net) reached[net] = reached[net] || other[net];
    return reached;
}

std::vector<std::string> screen_of(const TubeType& type) {
    if (type.tube_class.find("converter") == std::string::npos) return {"g2"};
    // the screen of a converter is the pair of grids joined inside
    for (const Pin& pin : type.pins) {
        std::vector<std::string> grids;
        std::string joined;
        for (const std::string& e : pin.electrodes)
            if (e.size() == 2 && e.front() == 'g') {
                grids.push_back(e);
                joined += (joined.empty() ? "" : "+") + e;
            }
        if (grids.size() >= 2) {
            grids.push_back(joined);
            return grids;
        }
    }
    return {};
}

bool absent(const Chassis& chassis, int part, const Condition& condition) {
    const Part& of = chassis.parts()[static_cast<std::size_t>(part)];
    const bool tube = of.kind == PartKind::socket && of.type != nullptr;
    switch (condition.scenario) {
        case Scenario::tube_out:
        case Scenario::dial_lamp_out:
            return of.id == condition.tube;
        case Scenario::rectifier_out:
            return of.kind == PartKind::rectifier || (tube && of.type->is_rectifier());
        case Scenario::transformer_alone:
            return of.kind == PartKind::rectifier || of.kind == PartKind::lamp || tube;
        case Scenario::speaker_unplugged:
            return of.plug == "speaker";
        default:
            return false;
    }
}

std::vector<Limit> limits_of(const Chassis& chassis, const Catalogue& catalogue, const Solution& example) {
    return Maker(chassis, catalogue, example).all();
}

double figure_of(const Limit& limit, const Chassis& chassis, const Loads& loads) {
    if (absent(chassis, limit.part, loads.solution().condition)) return 0;
    const Part& part = chassis.parts()[static_cast<std::size_t>(limit.part)];
    const Branch* branch = limit.lead.empty() ? nullptr : loads.at(limit.part, limit.lead);
    switch (limit.figure) {
        case Figure::crest_volts: {
            double volts = 0;
            for (const Branch& b : loads.of(limit.part)) volts = std::max(volts, std::fabs(b.volts_peak.value()));
            return volts;
        }
        case Figure::reversed_volts: {
            double volts = 0;
            for (const Branch& b : loads.of(limit.part)) volts = std::max(volts, -b.volts_low.value());
            return volts;
        }
        case Figure::lamp_volts: {
            double volts = 0;
            for (const Branch& b : loads.of(limit.part))
                volts = std::max(volts, std::hypot(b.volts_dc.value(), b.volts_rms.value()));
            return volts;
        }
        case Figure::watts: {
            double watts = 0;
            for (const Branch& b : loads.of(limit.part)) watts += b.watts.value();
            return watts;
        }
        case Figure::electrode_watts:
            return branch != nullptr ? branch->watts.value() : 0;
        case Figure::electrode_volts:
            return branch != nullptr ? std::fabs(branch->volts_dc.value()) : 0;
        case Figure::cathode_amps:
            return branch != nullptr ? std::fabs(branch->dc.value()) : 0;
        case Figure::direct_amps: {
            if (!limit.lead.empty()) return branch != nullptr ? std::fabs(branch->dc.value()) : 0;
            double amps = 0;
            for (const Branch& b : loads.of(limit.part))
                if (rectifies(*part.type, electrode_of(b.lead).electrode)) amps += b.dc.value();
            return std::fabs(amps);
        }
        case Figure::peak_amps:
            return branch != nullptr ? std::fabs(branch->peak.value()) : 0;
        case Figure::inverse_volts:
            return branch != nullptr ? std::fabs(branch->volts_peak.value()) : 0;
        case Figure::rms_amps:
            return branch != nullptr ? branch->rms.value() : 0;
        case Figure::heater_cathode_volts:
        case Figure::heater_cathode_direct_volts: {
            // a cold heater's insulation is not what the rating is of: behind a gap in a string the whole line stands
            constexpr double cold = 0.1;
            for (const HeaterVolts& heater : loads.solution().heaters)
                if (heater.part == limit.part && heater.brightest < cold) return 0;
            for (const HeaterCathode& pair : loads.solution().heater_cathode)
                if (pair.part == limit.part && limit.figure == Figure::heater_cathode_volts)
                    return std::fabs(pair.volts.value());
            double volts = 0;  // the direct ones; all there is of a heater that is not traced to its end
            const auto& nets = loads.solution().nets;
            for (int k : nets_with(part, "k"))
                for (int h : nets_with(part, "h"))
                    volts = std::max(volts, std::fabs(nets[static_cast<std::size_t>(k)].dc.value() -
                                                      nets[static_cast<std::size_t>(h)].dc.value()));
            return volts;
        }
        case Figure::heater_section: {
            // with about its share of the whole heater's volts it is judged with that, and more so where that is over
            constexpr double apart = 1 + heater_band, far_apart = 1.25;
            for (const HeaterVolts& heater : loads.solution().heaters)
                for (const HeaterSection& section : heater.sections) {
                    if (heater.part != limit.part || section.lead != limit.lead) continue;
                    const double whole = heater.across / heater.rated, its = section.across / section.rated;
                    if (its <= (whole > 1 + heater_band ? far_apart : apart) * whole) return 0;
                }
            return branch != nullptr ? std::hypot(branch->volts_dc.value(), branch->volts_rms.value()) : 0;
        }
        case Figure::heater_high:
            return heater_volts(limit, part, loads);
        case Figure::heater_low: {
            const double volts = heater_volts(limit, part, loads);
            return volts > 0 ? wired_heater_volts(part) / volts : 0;
        }
    }
    return 0;
}

}  // namespace tubewright::stress
