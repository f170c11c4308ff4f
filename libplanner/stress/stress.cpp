// SPDX-License-Identifier: MIT
// One row a part and stressed electrode: its figures in every scenario, the largest of each, the rating that is nearest
// and the scenario that sets it. Heaters are judged in service alone (normal and upper line): with the rectifier out
// they read 2 to 5 % higher. See stress.hpp.
#include <tubewright/stress.hpp>

#include <algorithm>
#include <cmath>
#include <set>

#include "bench/residue.hpp"
#include "chassis/graph.hpp"
#include "stress/limits.hpp"

namespace tubewright {
namespace {

using stress::Figure;
using stress::Limit;
using stress::Loads;

constexpr double reversed_volts = 1.5;  ///< contact potential of hot tubes is less
constexpr double same_within = 1e-3;    ///< scenarios that differ by less do not differ

bool in_service(const Condition& c) {
    return c.scenario == Scenario::normal || c.scenario == Scenario::high_line;
}
/// A warm-up is over in half a minute, and nobody plays on without a speaker: these count for volts, not for watts.
bool lasts(const Condition& c) {
    return c.scenario != Scenario::warm_up && c.scenario != Scenario::switch_on && !c.no_load;
}
/// Is there a rectifier to put volts on the supply? Without one only contact potential is left.
bool powered(const Chassis& chassis, const Condition& c) {
    if (c.scenario == Scenario::rectifier_out || c.scenario == Scenario::transformer_alone) return false;
    if (c.scenario != Scenario::tube_out) return true;
    const int pulled = chassis.part(c.tube);
    if (pulled < 0) return true;
    const TubeType* type = chassis.parts()[static_cast<std::size_t>(pulled)].type;
    return type == nullptr || !type->is_rectifier();
}
char unit_of(Figure f) {
    switch (f) {
        case Figure::watts:
        case Figure::electrode_watts:
            return 'W';
        case Figure::cathode_amps:
        case Figure::direct_amps:
        case Figure::peak_amps:
        case Figure::rms_amps:
            return 'A';
        default:
            return 'V';
    }
}

/// Is a limit judged in this condition? Heaters are in service, and their sections with the dial lamp beside them
/// burnt out, for so a set is played on; of the first second volts alone are, and lamps flare by their own yardstick.
bool judged(const Limit& limit, const Condition& c) {
    if (c.no_load) return false;  // a remark: nobody's rating is for it
    switch (limit.figure) {
        case Figure::heater_high:
        case Figure::heater_low:
            return in_service(c);
        case Figure::heater_section:
            return in_service(c) || c.scenario == Scenario::dial_lamp_out;
        case Figure::watts:
        case Figure::electrode_watts:
            return lasts(c);
        case Figure::lamp_volts:
            return c.scenario != Scenario::switch_on;
        default:
            return unit_of(limit.figure) == 'V' || c.scenario != Scenario::switch_on;
    }
}

/// Does the figure belong to the row of this lead? A tube's whole-part figures stand in a row of their own.
bool belongs(const Limit& limit, const PartStress& row) {
    return limit.part == row.part && limit.lead == row.lead;
}

class Table {
  public:
    Table(const Chassis& chassis, const Catalogue& catalogue, std::span<const Solution> solutions)
        : chassis_(chassis), catalogue_(catalogue) {
        for (const Solution& s : solutions) loads_.emplace_back(chassis, s);
        has_power_transformer_ = std::any_of(chassis.parts().begin(), chassis.parts().end(), [](const Part& p) {
            return p.kind == PartKind::transformer && p.role == "power";
        });
        if (has_power_transformer_) line_side_ = stress::line_side_of(chassis);
        if (!loads_.empty()) limits_ = stress::limits_of(chassis, catalogue, solutions.front());
    }

    std::vector<PartStress> rows() {
        std::vector<PartStress> out;
        if (loads_.empty()) return out;
        for (std::size_t i = 0; i < chassis_.parts().size(); ++i)
            for (const std::string& lead : leads_of(static_cast<int>(i))) out.push_back(row(static_cast<int>(i), lead));
        return out;
    }

  private:
    std::vector<std::string> leads_of(int part) const {
        const std::span<const Branch> branches = loads_.front().of(part);
        std::vector<std::string> leads;
        switch (chassis_.parts()[static_cast<std::size_t>(part)].kind) {
            case PartKind::capacitor:
            case PartKind::resistor:
            case PartKind::control:
            case PartKind::coil:
            case PartKind::lamp:
            case PartKind::fuse:
            case PartKind::speaker:
                if (!branches.empty()) leads.emplace_back();
                break;
            case PartKind::transformer:
                for (const Branch& b : branches) leads.push_back(b.lead);
                break;
            case PartKind::socket: {
                // the electrodes that have a limit, in the order of the branches, then the heater and the tube as a
                // whole
                std::set<std::string> limited;
                for (const Limit& l : limits_)
                    if (l.part == part) limited.insert(l.lead);
                const TubeType* type = chassis_.parts()[static_cast<std::size_t>(part)].type;
                if (type != nullptr && type->is_rectifier() && !limited.empty())
                    limited.insert(std::string());  // its first filter
                for (const Branch& b : branches)
                    if (limited.erase(b.lead) > 0) leads.push_back(b.lead);
                leads.insert(leads.end(), limited.begin(), limited.end());
                break;
            }
            default:
                break;
        }
        return leads;
    }

    StressAt at(const PartStress& row, const Loads& loads) const {
        StressAt s;
        s.scenario = loads.solution().condition.text();
        s.absent = stress::absent(chassis_, row.part, loads.solution().condition);
        if (s.absent) return s;
        for (const Branch& b : loads.of(row.part)) {
            if (!row.lead.empty() && b.lead != row.lead && !(row.lead == "h" && b.lead.starts_with("h."))) continue;
            if (std::fabs(b.volts_peak.value()) >= s.crest_volts) {
                s.crest_volts = std::fabs(b.volts_peak.value());
                s.dc_volts = b.volts_dc.value();
                s.ac_volts_rms = b.volts_rms.value();
            }
            s.ripple_amps_rms = std::max(s.ripple_amps_rms, b.rms.value());
            s.peak_amps = std::max(s.peak_amps, std::fabs(b.peak.value()));
            s.watts += b.watts.value();
        }
        if (to_metal_from_line(row.part)) {
            // the metal of an isolated set floats; a hand or an earth on it puts the whole line across the part
            const double line = loads.solution().line_volts;
            s.ac_volts_rms = std::max(s.ac_volts_rms, line);
            s.crest_volts = std::max(s.crest_volts, line * std::sqrt(2.0));
        }
        return s;
    }

    /// A capacitor from the line to anything but the line.
    bool to_metal_from_line(int part) const {
        const Part& p = chassis_.parts()[static_cast<std::size_t>(part)];
        if (!has_power_transformer_ || chassis_.hot() || p.kind != PartKind::capacitor || p.leads.size() < 2)
            return false;
        const int a = p.leads[0].net, b = p.leads[1].net;
        return a >= 0 && b >= 0 && line_side_[static_cast<std::size_t>(a)] != line_side_[static_cast<std::size_t>(b)];
    }

    /// Plus to minus, lowest and highest instant of one solution.
    static std::pair<double, double> plus_minus(const PartStress& row, const Loads& loads) {
        const Branch& across = loads.of(row.part).front();
        return {across.volts_low.value(), across.volts_high.value()};
    }

    PartStress row(int part, const std::string& lead) const {
        PartStress r;
        r.part = part;
        r.lead = lead;
        const Part& p = chassis_.parts()[static_cast<std::size_t>(part)];
        const bool plus_minus_counts = p.kind == PartKind::capacitor && p.polarised && p.leads.size() >= 2 &&
                                       p.leads[0].net >= 0 && p.leads[1].net >= 0;
        for (const Loads& loads : loads_) {
            const StressAt s = at(r, loads);
            const bool counts = lasts(loads.solution().condition);
            r.scenarios.push_back(s);
            if (loads.solution().condition.no_load) continue;  // for a surge that shopping asks for, and a remark
            if (std::fabs(s.dc_volts) > std::fabs(r.worst.dc_volts)) r.worst.dc_volts = s.dc_volts;
            r.worst.crest_volts = std::max(r.worst.crest_volts, s.crest_volts);
            r.worst.ac_volts_rms = std::max(r.worst.ac_volts_rms, s.ac_volts_rms);
            r.worst.ripple_amps_rms = std::max(r.worst.ripple_amps_rms, s.ripple_amps_rms);
            r.worst.peak_amps = std::max(r.worst.peak_amps, s.peak_amps);
            if (counts) r.worst.watts = std::max(r.worst.watts, s.watts);
            if (plus_minus_counts && !s.absent && powered(chassis_, loads.solution().condition)) {
                const auto [low, high] = plus_minus(r, loads);
                r.plus_minus_low_volts = std::min(low, r.plus_minus_low_volts.value_or(low));
                r.plus_minus_high_volts = std::max(high, r.plus_minus_high_volts.value_or(high));
            }
        }
        const bool heater = p.kind == PartKind::socket && (lead == "h" || lead.starts_with("h."));
        r.volts_scenario = setter(r, &StressAt::crest_volts, heater ? in_service : loaded);
        r.watts_scenario = setter(r, &StressAt::watts, lasts);
        r.ripple_scenario = setter(r, &StressAt::ripple_amps_rms, loaded);
        rate(r);
        if (r.worst.scenario.empty())
            r.worst.scenario = p.kind == PartKind::capacitor ? r.volts_scenario : r.watts_scenario;
        remark(r, p);
        return r;
    }

    static bool loaded(const Condition& c) { return !c.no_load; }
    /// The plainest of the scenarios that count and come within a thousandth of the largest figure.
    std::string setter(const PartStress& r, double StressAt::*figure, bool (*counts)(const Condition&)) const {
        double most = 0;
        for (std::size_t i = 0; i < loads_.size(); ++i)
            if (counts(loads_[i].solution().condition)) most = std::max(most, r.scenarios[i].*figure);
        for (std::size_t i = 0; i < loads_.size(); ++i)
            if (counts(loads_[i].solution().condition) && r.scenarios[i].*figure >= (1 - same_within) * most)
                return r.scenarios[i].scenario;
        return {};
    }

    /// Every limit of the row against the worst of what it asks for, and the nearest of them.
    void rate(PartStress& r) const {
        for (const Limit& limit : limits_) {
            if (!belongs(limit, r)) continue;
            std::optional<double>& rated = rated_of(r, unit_of(limit.figure));
            const auto [most, scenario] = worst_of(limit, r);
            if (most <= 0) {
                if (limit.figure != Figure::heater_low && !rated) rated = limit.limit;
                continue;
            }
            StressRating one{limit.quantity, unit_of(limit.figure), most, limit.limit, limit.limit / most,
                             scenario,       limit.source};
            if (limit.figure == Figure::heater_low) {
                const double heater = stress::wired_heater_volts(chassis_.parts()[static_cast<std::size_t>(r.part)]);
                one.rated = heater / limit.limit;
                one.stress = heater / most;
            }
            r.ratings.push_back(std::move(one));
        }
        std::stable_sort(r.ratings.begin(), r.ratings.end(), [](const StressRating& x, const StressRating& y) {
            return x.rating_over_stress < y.rating_over_stress;
        });
        for (auto one = r.ratings.rbegin(); one != r.ratings.rend(); ++one) rated_of(r, one->unit) = one->rated;
        if (r.ratings.empty()) return;
        const StressRating& nearest = r.ratings.front();
        r.rating_over_stress = nearest.rating_over_stress;
        r.limiting = nearest.quantity;
        r.rated_source = nearest.source;
        r.worst.scenario = nearest.scenario;
        (nearest.unit == 'V' ? r.stress_volts : nearest.unit == 'W' ? r.stress_watts : r.stress_amps) = nearest.stress;
    }

    static std::optional<double>& rated_of(PartStress& r, char unit) {
        return unit == 'V' ? r.rated_volts : unit == 'W' ? r.rated_watts : r.rated_amps;
    }

    /// The most that the solutions ask of a limit, and the plainest scenario that comes to it.
    std::pair<double, std::string> worst_of(const Limit& limit, const PartStress& r) const {
        std::vector<std::pair<double, const Loads*>> figures;
        double most = 0;
        for (const Loads& loads : loads_) {
            if (!judged(limit, loads.solution().condition)) continue;
            double figure = stress::figure_of(limit, chassis_, loads);
            if (limit.figure == Figure::crest_volts && to_metal_from_line(r.part))
                figure = std::max(figure, loads.solution().line_volts * std::sqrt(2.0));
            if (figure <= 0) continue;
            figures.emplace_back(figure, &loads);
            most = std::max(most, figure);
        }
        for (const auto& [figure, loads] : figures)
            if (figure >= (1 - same_within) * most) return {most, loads->solution().condition.text()};
        return {0, {}};
    }

    void remark(PartStress& r, const Part& part) const {
        auto say_so = [&r](const std::string& text) { r.remark += (r.remark.empty() ? "" : "; ") + text; };
        double most = 0;
        for (const StressAt& a : r.scenarios)
            if (a.scenario == "normal" || a.scenario == "high-line") most = std::max(most, std::fabs(a.dc_volts));
        if (r.plus_minus_low_volts && *r.plus_minus_low_volts < -reversed_volts &&
            !bench::residue_only(part, most, *r.plus_minus_low_volts))
            say_so("plus to minus is reversed: down to " + say(volts(*r.plus_minus_low_volts)));
        for (const StressRating& one : r.ratings) {
            if (one.rating_over_stress >= 1) break;
            if (one.quantity == "heater volts low")
                say_so("heater more than a tenth under its volts in " + one.scenario);
            else
                say_so("over its " + one.quantity + " in " + one.scenario);
        }
        if (to_metal_from_line(r.part)) say_so("takes the whole line when the metal is earthed or touched");
        // a crest; heaters and lamps are rated in rms
        if (r.rated_volts && *r.rated_volts > 0 && !r.lead.starts_with('h') && part.kind != PartKind::lamp)
            for (std::size_t i = 0; i < r.scenarios.size(); ++i)
                if (loads_[i].solution().condition.no_load && r.scenarios[i].crest_volts > *r.rated_volts)
                    say_so(say(volts(r.scenarios[i].crest_volts)) + " in " + r.scenarios[i].scenario);
        if (r.rated_watts && *r.rated_watts > 0)
            for (std::size_t i = 0; i < r.scenarios.size(); ++i)
                if (!lasts(loads_[i].solution().condition) && r.scenarios[i].watts > *r.rated_watts)
                    say_so(say(watts(r.scenarios[i].watts)) +
                           (loads_[i].solution().condition.no_load ? " in "
                            : loads_[i].solution().condition.scenario == Scenario::switch_on
                                ? " for the first second of "
                                : " for the half minute of ") +
                           r.scenarios[i].scenario);
        if (part.kind == PartKind::socket && part.type != nullptr && part.type->is_rectifier() && r.lead.empty())
            first_filter(part, say_so);
    }

    /// More microfarads on the rectifier's output than its row allows, or no word in the row of how many.
    template <class Say>
    void first_filter(const Part& part, Say say_so) const {
        const RectifierType* row = catalogue_.rectifier(part.type->type);
        std::set<int> output, taps;
        for (const Part& source : chassis_.parts())
            for (const PartWinding& w : source.windings)
                if (w.role == WindingRole::plate && w.leads.size() == 3)
                    taps.insert(source.leads[static_cast<std::size_t>(w.leads[1])].net);
        for (const Pin& pin : part.type->pins)
            for (const std::string& e : pin.electrodes)
                if (e.front() == (part.type->directly_heated ? 'h' : 'k'))
                    if (const int lead = part.lead(pin.pin); lead >= 0)
                        output.insert(part.leads[static_cast<std::size_t>(lead)].net);
        // what stands behind a hash choke is still the first
        const std::vector<bool> near =
            PartGraph(chassis_.parts(), static_cast<int>(chassis_.nets().size()), Through::short_wire)
                .reached({output.begin(), output.end()}, chassis_.reference());
        for (std::size_t n = 0; n < near.size(); ++n)
            if (near[n]) output.insert(static_cast<int>(n));
        double farads = 0;
        for (const Part& c : chassis_.parts())
            if (c.kind == PartKind::capacitor && c.farads && c.leads.size() >= 2 &&
                (output.count(c.leads[0].net) > 0) != (output.count(c.leads[1].net) > 0) &&
                (taps.empty() || taps.count(c.leads[0].net) + taps.count(c.leads[1].net) > 0))
                farads += *c.farads;
        if (farads <= 0) return;
        if (row == nullptr || !row->max_first_filter_farads)
            say_so(
                "no limit of the first filter is known for it: " + say(tubewright::farads(farads)) +
                " on it, practice " +
                (farads > stress::first_filter_in_practice(*part.type) * 1.001 ? "goes no higher than " : "goes to ") +
                say(tubewright::farads(stress::first_filter_in_practice(*part.type))));
        else if (farads > *row->max_first_filter_farads * 1.001)
            say_so("first filter of " + say(tubewright::farads(farads)) + " is more than the " +
                   say(tubewright::farads(*row->max_first_filter_farads)) + " that the row allows");
    }

    const Chassis& chassis_;
    const Catalogue& catalogue_;
    std::vector<Loads> loads_;
    std::vector<Limit> limits_;
    std::vector<bool> line_side_;
    bool has_power_transformer_ = false;
};

}  // namespace

std::vector<PartStress> stress_of(const Chassis& chassis, const Catalogue& catalogue, const Policy&,
                                  std::span<const Solution> solutions) {
    return Table(chassis, catalogue, solutions).rows();
}

}  // namespace tubewright
