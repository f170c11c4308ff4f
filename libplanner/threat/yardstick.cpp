// SPDX-License-Identifier: MIT
// See yardstick.hpp. Margins of parts without a rating, and the steps of beta, are declared.
#include "threat/yardstick.hpp"

#include <algorithm>
#include <cmath>

#include "bench/residue.hpp"
#include "chassis/power.hpp"
#include "threat/chain.hpp"

namespace tubewright::threat {

using stress::Figure;
using stress::Limit;
using stress::Loads;

namespace {

constexpr double usual_vibrator_hertz = 115;  ///< common practice
constexpr double worse_than_health = 1.02;
constexpr double over_the_limit = 1.005;  ///< two figures do not tell 25.0 from 25.1
constexpr double unrated_margin = 2;      ///< watts that a coil or dry rectifier may bear over its normal ones

}  // namespace

Yardstick::Yardstick(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy, Solution in_health)
    : healthy(std::move(in_health)), chassis_(chassis) {
    find_targets();
    find_limits(catalogue);
    find_transformers(policy);
}

void Yardstick::find_targets() {
    auto add_all = [this](auto&& wanted) {
        for (std::size_t i = 0; i < chassis_.parts().size(); ++i)
            if (wanted(chassis_.parts()[i])) targets.push_back({static_cast<int>(i), false});
    };
    for (const int transformer : power_transformers_of(chassis_)) {
        if (power < 0) power = transformer;
        targets.push_back({transformer, true});
    }
    add_all([](const Part& p) { return p.kind == PartKind::transformer && p.role == "output"; });
    add_all([](const Part& p) { return p.kind == PartKind::coil && (p.role == "field" || p.role == "choke"); });
    add_all(
        [](const Part& p) { return p.kind == PartKind::transformer && (p.role == "if" || p.role == "interstage"); });
    add_all([](const Part& p) {
        return p.kind == PartKind::socket && p.type != nullptr &&
               p.type->tube_class.find("power") != std::string::npos && !p.type->is_rectifier();
    });
    add_all([](const Part& p) { return p.kind == PartKind::socket && p.type != nullptr && p.type->is_rectifier(); });
    add_all([](const Part& p) { return p.kind == PartKind::rectifier; });
    // in a string, and on batteries, every filament is at risk
    if (power < 0)
        add_all([this](const Part& p) {
            return p.kind == PartKind::socket && p.type != nullptr &&
                   std::none_of(targets.begin(), targets.end(), [&](const Target& t) { return &part(t.part) == &p; });
        });
}

void Yardstick::find_limits(const Catalogue& catalogue) {
    limits = stress::limits_of(chassis_, catalogue, healthy);
    const Loads loads(chassis_, healthy);
    // judged in service or by volts that a short makes meaningless
    limits.erase(
        std::remove_if(limits.begin(), limits.end(),
                       [this](const Limit& l) {
                           return l.figure == Figure::heater_low || l.figure == Figure::lamp_volts ||
                                  l.figure == Figure::electrode_volts ||
                                  (l.figure == Figure::crest_volts && part(l.part).kind != PartKind::capacitor);
                       }),
        limits.end());
    constexpr double little = 1.5;
    // An electrolytic the wrong way round heats, swells and bursts; a supply's rectifier that shorts does it to the
    // first filter. An unfed supply's residue is none of it.
    for (std::size_t k = 0; k < chassis_.parts().size(); ++k) {
        const Part& p = chassis_.parts()[k];
        if (p.kind != PartKind::capacitor || !p.polarised || p.leads.size() < 2 || p.leads[0].net < 0 ||
            p.leads[1].net < 0)
            continue;
        Limit l;
        l.part = static_cast<int>(k);
        l.figure = Figure::reversed_volts;
        l.quantity = "reversed volts";
        l.limit = p.rated_volts.value_or(0) > bench::supply_rating ? bench::residue_volts : little;
        l.source = "declared: no source";
        limits.push_back(l);
    }
    for (const Target& t : targets) {
        const Part& p = part(t.part);
        if (t.power || p.kind == PartKind::socket || p.rated_watts) continue;
        Limit l;
        l.part = t.part;
        l.figure = Figure::watts;
        l.quantity = p.kind == PartKind::rectifier ? "watts lost in it" : "copper watts";
        const double floor = p.role == "output" ? 0.5 : p.role == "if" || p.role == "interstage" ? 0.25 : 2;
        l.limit = std::max(floor, unrated_margin * stress::figure_of(l, chassis_, loads));
        l.source = "declared: no rating given, twice its normal watts";
        limits.push_back(l);
    }
    for (const Limit& l : limits) normal_figures.push_back(stress::figure_of(l, chassis_, loads));
}

void Yardstick::find_transformers(const Policy& policy) {
    primary_normal = healthy.primary_rms.value();
    const Loads loads(chassis_, healthy);
    const std::vector<int> all = power_transformers_of(chassis_);
    for (const int one : all) {
        transformers.emplace_back(chassis_, policy, one, loads, watts_into(one, loads), amps_of_primary(one, loads),
                                  all.size() == 1);
        assumptions.insert(assumptions.end(), transformers.back().assumptions.begin(),
                           transformers.back().assumptions.end());
    }
}

double Yardstick::line_amps(const Solution& in) const {
    return transformers.size() > 1 ? in.drawn.value() : in.primary_rms.value();
}

double Yardstick::tap_amps(const Solution& in) const {
    for (const TapAmps& tap : in.taps)
        if (tap.part == power) return tap.rms.value();
    return 0;
}

/// Of a tapped primary the section that the line is on; where contacts chop, both halves in turn.
double Yardstick::amps_of_primary(int transformer, const Loads& loads) const {
    if (transformer == power) return loads.solution().primary_rms.value();
    const Part& p = part(transformer);
    double most = 0, squares = 0;
    for (const PartWinding& w : p.windings) {
        if (w.role != WindingRole::primary) continue;
        for (std::size_t half = 0; half + 1 < w.leads.size(); ++half)
            if (const Branch* b =
                    loads.at(transformer, w.leads.size() > 2 ? w.name + "." + std::to_string(half + 1) : w.name)) {
                most = std::max(most, b->rms.value());
                squares += b->rms.value() * b->rms.value();
            }
    }
    return p.role == "vibrator" ? std::sqrt(squares) : most;
}

/// Its share of what the line gives, by the volt-amperes of the primaries.
double Yardstick::watts_into(int transformer, const Loads& loads) const {
    const double given = loads.solution().line_watts.value();
    double own = 0, all = 0;
    for (const Target& t : targets) {
        if (!t.power) continue;
        double volts = 0;
        for (const PartWinding& w : part(t.part).windings)
            if (w.role == WindingRole::primary)
                for (const Branch& b : loads.of(t.part))
                    if (b.lead == w.name || b.lead.starts_with(w.name + "."))
                        volts = std::max(volts, b.volts_rms.value());
        const double va = volts * amps_of_primary(t.part, loads);
        all += va;
        if (t.part == transformer) own = va;
    }
    return own == all ? given : given * own / all;
}

const PowerTransformer* Yardstick::transformer(int wanted) const {
    for (const PowerTransformer& t : transformers)
        if (t.part == wanted) return &t;
    return nullptr;
}

double Yardstick::primary_amps(const PowerTransformer& of, const Loads& loads) const {
    return amps_of_primary(of.part, loads);
}

Heat Yardstick::heat_of(const PowerTransformer& of, const Loads& loads, const Fault* fault) const {
    return of.heat_of(loads, fault, amps_of_primary(of.part, loads), watts_into(of.part, loads));
}

PowerTransformer::PowerTransformer(const Chassis& chassis, const Policy& policy, int which, const Loads& loads,
                                   double its_watts, double normal_amps, bool alone)
    : part(which), primary_normal(normal_amps), chassis_(chassis) {
    const Part& p = self();
    id = p.id;
    double va = p.rated_va.value_or(0);
    if (va <= 0) {
        va = 1.2 * its_watts;
        assumptions.push_back({p.id + " volt-amperes for its heating", figure(va) + " VA",
                               alone ? "not in the file: 1.2 times what the set draws"
                                     : "not in the file: 1.2 times its share of what the set draws, by the "
                                       "volt-amperes of the primaries",
                               "read the label", "temperatures by the square root", "common practice, no source"});
    }
    for (const Branch& b : loads.of(part)) {
        WindingCopper w;
        w.name = p.id + "." + b.lead;
        w.normal_amps = b.rms.value();
        std::optional<double> stated;
        for (const PartWinding& winding : p.windings)
            for (std::size_t half = 0; half + 1 < winding.leads.size(); ++half) {
                const std::string name =
                    winding.leads.size() > 2 ? winding.name + "." + std::to_string(half + 1) : winding.name;
                if (name != b.lead) continue;
                w.volts = half < winding.noload_volts.size() ? winding.noload_volts[half] : winding.volts.value_or(0);
                if (w.volts <= 0) w.volts = b.volts_rms.value();
                if (half < winding.ohms.size()) stated = winding.ohms[half];
                w.place = winding.role == WindingRole::primary ? Place::inner
                          : winding.role == WindingRole::plate ? Place::middle
                                                               : Place::outer;
                if (winding.role == WindingRole::primary) primary_winding_ = static_cast<int>(windings.size());
            }
        w.ohms_known = stated.has_value();
        const double amps = b.rms.value();
        w.ohms = stated ? *stated : amps > 1e-6 ? b.watts.value() / (amps * amps) : 0;
        windings.push_back(std::move(w));
        leads.push_back(b.lead);
    }
    const Heat health = heat_of(loads, nullptr, normal_amps, its_watts);
    double hertz = loads.solution().line_hertz;
    for (const Part& other : chassis_.parts())
        if (other.kind == PartKind::vibrator && hertz <= 0) hertz = other.hertz.value_or(usual_vibrator_hertz);
    if (hertz <= 0) hertz = 60;
    for (const Corner corner : {cool, middle, hot}) {
        heatings.emplace_back(va, hertz, policy.ambient_celsius, windings, assumptions_at(corner));
        heatings.back().settle(health);
    }
    healthy_windings = windings_of(loads);
    copper_normal = Yardstick::copper_watts(healthy_windings);
}

const Part& PowerTransformer::self() const {
    return chassis_.parts()[static_cast<std::size_t>(part)];
}

std::vector<WindingLoad> PowerTransformer::windings_of(const Loads& loads) const {
    std::vector<WindingLoad> out;
    for (std::size_t k = 0; k < windings.size(); ++k) {
        WindingLoad w;
        w.winding = windings[k].name;
        w.rms_amps_normal = windings[k].normal_amps;
        if (const Branch* b = loads.at(part, leads[k])) {
            w.rms_amps = b->rms.value();
            w.peak_amps = std::fabs(b->peak.value());
            w.copper_watts = w.rms_amps * w.rms_amps * windings[k].ohms;
        }
        out.push_back(std::move(w));
    }
    return out;
}

double Yardstick::copper_watts(const std::vector<WindingLoad>& of) {
    double watts = 0;
    for (const WindingLoad& w : of) watts += w.copper_watts;
    return watts;
}

Heat PowerTransformer::heat_of(const Loads& loads, const Fault* fault, double primary_amps, double its_watts) const {
    Heat heat;
    double copper = 0;
    for (const WindingLoad& w : windings_of(loads)) {
        heat.copper_watts.push_back(w.copper_watts);
        copper += w.copper_watts;
    }
    if (fault != nullptr && fault->mode == FaultMode::layer_short && fault->part == part) {
        const PartWinding& winding = self().windings[static_cast<std::size_t>(fault->winding)];
        const std::string lead =
            winding.leads.size() > 2 ? winding.name + "." + std::to_string(fault->half + 1) : winding.name;
        const auto at = std::find(leads.begin(), leads.end(), lead);
        if (at != leads.end()) {
            const auto k = static_cast<std::size_t>(at - leads.begin());
            const Solution& now = loads.solution();
            const double line = now.lamp_volts > 0 ? now.set_volts : now.line_volts;
            const WindingCopper* primary =
                primary_winding_ < 0 ? nullptr : &windings[static_cast<std::size_t>(primary_winding_)];
            const double design = primary != nullptr && primary->volts > 0 ? primary->volts : chassis_.line().volts;
            const double drop = primary != nullptr ? primary_amps * primary->ohms : 0;
            const double emf = windings[k].volts * std::max(0.0, line - drop) / design;
            heat.ring_of = static_cast<int>(k);
            // a twentieth of the turns works on a twentieth of the ohms
            heat.ring_watts = windings[k].ohms > 0 ? 0.05 * emf * emf / windings[k].ohms : 0;
            copper += heat.ring_watts;
        }
    }
    if (its_watts > 0) heat.stiffness = std::clamp(copper / its_watts, 0.0, 1.0);
    return heat;
}

std::vector<Overload> Yardstick::overloads_of(const Loads& loads, std::vector<int>* parts) const {
    std::vector<std::pair<double, std::size_t>> over;
    std::vector<double> figures(limits.size());
    for (std::size_t i = 0; i < limits.size(); ++i) {
        figures[i] = stress::figure_of(limits[i], chassis_, loads);
        if (figures[i] > over_the_limit * limits[i].limit && figures[i] > worse_than_health * normal_figures[i])
            over.emplace_back(figures[i] / limits[i].limit, i);
    }
    std::stable_sort(over.begin(), over.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
    std::vector<Overload> out;
    for (const auto& worst : over) {
        const std::size_t i = worst.second;
        std::string id = part(limits[i].part).id;
        // of two plates the worse one
        if (std::any_of(out.begin(), out.end(),
                        [&](const Overload& o) { return o.part == id && o.quantity == limits[i].quantity; }))
            continue;
        out.push_back({id, limits[i].quantity, figures[i], limits[i].limit});
        if (parts != nullptr) parts->push_back(limits[i].part);
    }
    return out;
}

Verdict PowerTransformer::heat(const Heat& h) const {
    Verdict v;
    v.course[hot] = heatings[hot].course(h);
    // what stays under 105 C at the hot end does so everywhere: only where it settles is wanted
    for (const Corner corner : {cool, middle})
        v.course[corner] = v.course[hot].seconds_to_105 ? heatings[corner].course(h) : heatings[corner].steady(h);
    const Course& end = v.course[hot];
    const double health = heatings[hot].healthy_celsius();
    const std::string at_hot_end = " at the hot end of the assumptions";
    if (end.seconds_to_180 && *end.seconds_to_180 <= 3600) {
        v.beta = 1;
        v.why = "180 C within an hour" + at_hot_end;
    } else if (end.seconds_to_180 && *end.seconds_to_180 <= 8 * 3600) {
        v.beta = 0.5;
        v.why = "180 C within 8 hours" + at_hot_end;
    } else if (end.steady_celsius > ageing_celsius && end.steady_celsius > health + 3) {
        v.beta = 0.1;
        v.why = "over 105 C for good: " + figure(std::round(end.steady_celsius)) + " C" + at_hot_end;
    }
    return v;
}

}  // namespace tubewright::threat
