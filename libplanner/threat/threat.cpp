// SPDX-License-Identifier: MIT
// Solves every fault once, judges it, ranks it. See threat.hpp. What is declared and not sourced (beta, the shares, the
// margin of parts without a rating, when a resistor burns open) is listed in ThreatReport::assumptions.
#include "threat/threat.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numbers>

#include "chassis/earth.hpp"
#include "stress/limits.hpp"
#include "threat/chain.hpp"
#include "threat/faults.hpp"
#include "threat/heating.hpp"
#include "threat/touch.hpp"
#include "threat/yardstick.hpp"

namespace tubewright {
namespace {

using stress::Figure;
using stress::Limit;
using stress::Loads;
using threat::Corner;
using threat::Course;
using threat::Heat;
using threat::Judged;
using threat::PlacedFault;
using threat::PowerTransformer;
using threat::Target;
using threat::Verdict;
using threat::Yardstick;

constexpr const char* of_supply = "supply";
constexpr double nothing_moves = 0.01;
constexpr double worse_than_health = 1.02;
constexpr double dead_below = 0.02;      ///< of the normal primary current
constexpr double chassis_air_rise = 20;  ///< of small parts over the room

// One rule of what gives way first, for every part and every target. Nothing that burns open is certain to.
constexpr double gives_way_within = 60;  ///< seconds, at so many times a rating; sooner in proportion to the heat:
constexpr double fuse_gives_way = 2, resistor_gives_way = 5, tube_gives_way = 5, coil_gives_way = 10;
/// Share of the cases in which it does not open: a wrong or bypassed fuse; a resistor that chars and goes on
/// conducting; a wound one, which bears more for so long. A coil, a tube, a rectifier: all of them.
constexpr double fuse_holds = 0.05, resistor_holds = 0.2, wound_holds = 0.5, not_counted_on = 1;
constexpr double capacitor_breaks_at = 2;  ///< times its volts, when an opening leaves it with them

double ratio_beta(double ratio) {
    return ratio >= 2 ? 1 : ratio >= 1.3 ? 0.5 : ratio > 1 ? 0.1 : 0;
}

/// Times its rating at which a part is lost within a minute, by opening or otherwise.
double gives_way_at(const Part& part) {
    switch (part.kind) {
        case PartKind::fuse:
            return fuse_gives_way;
        case PartKind::resistor:
        case PartKind::control:
            return resistor_gives_way;
        case PartKind::socket:
            return tube_gives_way;
        default:
            return coil_gives_way;
    }
}

bool is_wound(const std::string& construction) {
    return construction.find("wire") != std::string::npos || construction == "metal-clad";
}

/// Chance that a fault is there by now, or comes within the hours counted, of which so many are expected then.
double there_or_to_come(double by_now, double expected) {
    return 1 - (1 - by_now) * std::exp(-expected);
}

/// A word for one mode: the chance that the part is bad by now, which is what its word in the survey is of, times the
/// mode's share of it, or that it fails so in the hours that criticality counts. What was found in the part is certain
/// of that mode alone. Where the words begin is declared.
constexpr double likely_from = 0.4, possible_from = 0.1;
std::string mode_likelihood(bool found_bad, double chance) {
    if (found_bad) return "certain";
    return chance >= likely_from ? "likely" : chance >= possible_from ? "possible" : "seldom";
}

/// What opens first under a fault, and the fault that stands for it.
struct Opening {
    int placed = -1;
    int part = -1;
    double over = 0;                ///< times the heat that makes it give way in a minute
    double holds = not_counted_on;  ///< share of the cases in which it does not open in time
    std::string words;
};

class Judge {
  public:
    Judge(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy, Bench& bench,
          std::span<const PartStress> stress)
        : chassis_(chassis), catalogue_(catalogue), policy_(policy), bench_(bench), stress_(stress) {}

    Outcome<ThreatReport> run() {
        Outcome<Solution> healthy = bench_.solve(Condition{});
        if (!healthy) return healthy.notices();
        yard_.emplace(chassis_, catalogue_, policy_, std::move(*healthy));
        report_.assumptions = yard_->assumptions;
        for (const PowerTransformer& t : yard_->transformers) {
            const double celsius = t.heatings[threat::middle].healthy_celsius();
            if (t.part == yard_->power) {
                report_.transformer = t.id;
                report_.healthy = t.healthy_windings;
                report_.healthy_hot_spot_celsius = celsius;
            } else {
                report_.others.push_back({t.id, t.healthy_windings, celsius, t.primary_normal});
            }
        }
        placed_ = threat::placed_faults(chassis_, catalogue_);
        std::vector<Fault> faults;
        faults.reserve(placed_.size());
        for (const PlacedFault& p : placed_) faults.push_back(p.fault);
        earth_ = earth_of(chassis_);
        find_sides();
        line_side_ =
            yard_->power >= 0 ? stress::line_side_of(chassis_) : std::vector<bool>(chassis_.nets().size(), false);
        // a few at a time: the solutions of all of a large set together fill hundreds of megabytes
        constexpr std::size_t at_a_time = 64;
        for (std::size_t from = 0; from < faults.size(); from += at_a_time) {
            const std::size_t n = std::min(at_a_time, faults.size() - from);
            std::vector<FaultSolution> found = bench_.sweep(Condition{}, std::span(faults).subspan(from, n));
            for (std::size_t k = 0; k < n; ++k) judge(static_cast<int>(from + k), std::move(found[k]));
        }
        rank();
        for (std::size_t k = 0; k < yard_->transformers.size(); ++k) again_hot(k);
        assume();
        return std::move(report_);
    }

  private:
    const Part& part(int i) const { return chassis_.parts()[static_cast<std::size_t>(i)]; }

    // ---- rates

    const AgeRisk& risk_of(int blamed, const std::string& construction) {
        auto [at, fresh] = risks_.try_emplace({blamed, construction});
        if (!fresh) return at->second;
        const Construction* c = catalogue_.construction(construction);
        if (c == nullptr) {
            at->second.likelihood = "possible";
            at->second.chance = possible_from;
            return at->second;
        }
        double stress = 0;
        for (const PartStress& s : stress_) {
            if (s.part != blamed) continue;
            for (const StressAt& a : s.scenarios) {
                if (a.scenario != "normal") continue;
                if (s.rated_volts && part(blamed).kind == PartKind::capacitor)
                    stress = std::max(stress, a.crest_volts / *s.rated_volts);
                if (s.rated_watts && part(blamed).kind == PartKind::resistor)
                    stress = std::max(stress, a.watts / *s.rated_watts);
            }
        }
        at->second = age_risk(part(blamed), *c, catalogue_, chassis_.built().value_or(0), policy_.today_year, stress,
                              policy_.ambient_celsius + chassis_air_rise);
        return at->second;
    }

    void rate(Threat& row, const PlacedFault& placed) {
        const int blamed = chassis_.part(placed.blamed);
        const AgeRisk& risk = risk_of(blamed, placed.construction);
        row.failures_per_million_hours = risk.failures_per_million_hours;
        row.stress_clamped = risk.stress_clamped;
        row.hours = policy_.working_hours;
        row.alpha = placed.share;
        if (!placed.of_mode.empty()) {
            double mode = 0;
            for (const ModeShare& m : risk.modes)
                if (m.mode == placed.of_mode) mode = m.alpha;
            row.alpha = placed.share * mode;
        }
        row.criticality = row.beta * row.alpha * row.failures_per_million_hours * row.hours / 1e6;
        row.likelihood = mode_likelihood(
            !risk.found_mode.empty() && placed.of_mode == risk.found_mode,
            there_or_to_come(row.alpha * risk.chance, row.alpha * row.failures_per_million_hours * row.hours / 1e6));
    }

    // ---- one fault

    // A set without a transformer stands on the line itself: which nets are a blade, through nothing but wire.

    static constexpr unsigned hot_side = 1, neutral_side = 2;
    void find_sides() {
        sides_.assign(chassis_.nets().size(), 0);
        const NodeRoles& roles = chassis_.nodes();
        for (const auto& [blade, side] : {std::pair{roles.line_hot, hot_side}, {roles.line_neutral, neutral_side}}) {
            std::vector<int> queue{blade};
            while (!queue.empty()) {
                const int net = queue.back();
                queue.pop_back();
                if (net < 0 || (sides_[static_cast<std::size_t>(net)] & side) != 0) continue;
                sides_[static_cast<std::size_t>(net)] |= side;
                for (const LeadRef& ref : chassis_.nets()[static_cast<std::size_t>(net)].leads) {
                    const Part& p = part(ref.part);
                    if (p.kind == PartKind::power_switch || p.kind == PartKind::fuse || p.kind == PartKind::wire)
                        for (const Lead& lead : p.leads) queue.push_back(lead.net);
                }
            }
        }
    }
    std::pair<int, int> path_of(const Fault& f) const {
        if (f.lead_a < 0 || f.ohms <= 0) return {-1, -1};
        const Part& p = part(f.part);
        const int b = f.net_b >= 0 ? f.net_b : f.lead_b >= 0 ? p.leads[static_cast<std::size_t>(f.lead_b)].net : -1;
        return {p.leads[static_cast<std::size_t>(f.lead_a)].net, b};
    }
    unsigned side(int net) const { return net >= 0 ? sides_[static_cast<std::size_t>(net)] : 0; }
    bool across_line(const Fault& f) const {
        const auto [a, b] = path_of(f);
        return side(a) + side(b) == hot_side + neutral_side && side(a) != 0 && side(b) != 0;
    }
    bool line_to_metal(const Fault& f) const {
        const auto [a, b] = path_of(f);
        const int metal = chassis_.nodes().chassis_metal;
        if (metal < 0 || side(metal) != 0) return false;
        return (a == metal && side(b) != 0) || (b == metal && side(a) != 0);
    }
    /// The same in words: what the line or a hand would carry.
    std::string on_the_line(Threat& row, const Fault& f, std::string& note) const {
        const double line = yard_->healthy.line_volts, ohm = std::max(f.ohms, 0.1);
        if (across_line(f)) {
            row.beta = f.ohms < 10 ? 1 : 0;
            note = say(amps(line / ohm)) + " from the line";
            return "It stands across the line, ahead of the set (" + say(amps(line / ohm)) + " through " +
                   say(ohms(f.ohms)) + (f.ohms < 10 ? ", if the house wiring could give it" : "") +
                   "): " + ahead_of_primary(f, false, "") + ".";
        }
        const double hand = line / (ohm + threat::body_ohms);
        const bool over = hand > threat::touch_limit_amps;
        if (over) row.overloads.push_back({"chassis", "touch amperes", hand, threat::touch_limit_amps});
        row.beta = ratio_beta(hand / threat::touch_limit_amps);
        note = say(amps(hand)) + " through a hand to earth";
        std::string text = "One way round of the plug the metal then stands at the line's " + say(volts(line)) +
                           " through " + say(ohms(f.ohms)) + ": a hand to earth carries " + say(amps(hand)) + " (" +
                           say(amps(threat::touch_limit_amps)) + " is the limit)";
        const Part& p = part(f.part);
        if (p.kind == PartKind::capacitor && p.farads && yard_->healthy.line_hertz > 0 && f.ohms > 1e3)
            text += ", beside the " + say(amps(2 * std::numbers::pi * yard_->healthy.line_hertz * *p.farads * line)) +
                    " that its capacity passes";
        if (f.ohms < 1e3) text += ", and what earths the metal takes the line's full current";
        return text + (over ? ": shock." : ".");
    }

    bool is_ahead(const PlacedFault& placed) const {
        const Fault& f = placed.fault;
        if (f.part < 0) return false;
        if (yard_->power < 0) return across_line(f) || line_to_metal(f);
        const Part& p = part(f.part);
        const bool lead_fault = f.mode == FaultMode::to_chassis || f.mode == FaultMode::tracking;
        const bool between_windings = f.mode == FaultMode::short_circuit && f.winding < 0;
        if (yard_->transformer(f.part) != nullptr && !lead_fault && !between_windings) return false;
        auto on_line = [&](int lead) {
            return lead >= 0 && p.leads[static_cast<std::size_t>(lead)].net >= 0 &&
                   line_side_[static_cast<std::size_t>(p.leads[static_cast<std::size_t>(lead)].net)];
        };
        return on_line(f.lead_a) || on_line(f.lead_b);
    }

    /// What a fault ahead of the primary does: amperes that a hand or the line would carry. An opening is judged by the
    /// solved current: what stands across the line opens without a trace, what stands in it stops the set.
    std::string ahead(Threat& row, const Fault& f, const FaultSolution& found, std::string& note) {
        const double line = yard_->healthy.line_volts;
        const threat::Touch hand(chassis_, line, yard_->healthy.line_hertz);
        const double touch = hand.amps(&f), in_health = hand.amps();
        if (f.mode == FaultMode::open && several()) return opened_ahead(found, touch, in_health, note);
        if (f.mode == FaultMode::open) {
            const double now = found.solved ? found.solution.primary_rms.value() : yard_->primary_normal;
            const double ratio = yard_->primary_normal > 0 ? now / yard_->primary_normal : 1;
            if (ratio < dead_below) {
                note = "the primary is dead";
                return "The line no longer reaches the primary: dead, and no danger to the transformer.";
            }
            note = threat::figure(ratio) + " times the normal primary current";
            std::string text =
                "The primary draws " + say(amps(now)) + " (normal " + say(amps(yard_->primary_normal)) + ")";
            if (std::fabs(ratio - 1) <= nothing_moves) {
                note = "does nothing to the transformer";
                text += ": it does nothing to the transformer";
            }
            return text + less_touch(touch, in_health) + ".";
        }
        auto other_end = [&]() -> int {
            if (f.net_b >= 0) return f.net_b;
            const Part& p = part(f.part);
            for (const int lead : {f.lead_a, f.lead_b})
                if (lead >= 0) {
                    const int net = p.leads[static_cast<std::size_t>(lead)].net;
                    if (net >= 0 && !line_side_[static_cast<std::size_t>(net)]) return net;
                }
            return -1;
        };
        const int end = other_end();
        if (end < 0) {
            const double amps_now = line / std::max(f.ohms, 0.1);
            row.beta = f.ohms < 10 ? 1 : 0;
            note = say(amps(amps_now)) + " from the line";
            return "It draws from the line ahead of the primary (" + say(amps(amps_now)) + " through " +
                   say(ohms(f.ohms)) + (f.ohms < 10 ? ", if the house wiring could give it" : "") +
                   "): " + ahead_of_primary(f, false) + ".";
        }
        const bool worse = touch > worse_than_health * in_health;
        if (touch > threat::touch_limit_amps && worse)
            row.overloads.push_back({"chassis", "touch amperes", touch, threat::touch_limit_amps});
        row.beta = worse ? ratio_beta(touch / threat::touch_limit_amps) : 0;
        note = say(amps(touch)) + (earth_.on ? " through a hand, its earth off" : " through a hand to earth");
        if (earth_.on) return earthed(f, touch);
        std::string text = "One way round of the plug the metal stands at the line's " + say(volts(line)) +
                           " through " + say(ohms(f.ohms));
        const Part& failed = part(f.part);
        if (failed.kind == PartKind::capacitor && failed.farads && f.ohms > 1e3)
            text += " beside the " + say(farads(*failed.farads)) + " of " + failed.id;
        text += ": a hand to earth carries " + say(amps(touch)) + " (" + say(amps(threat::touch_limit_amps)) +
                " is the limit" +
                (in_health > 1e-6 ? "; " + say(amps(in_health)) + " in health, by capacity" : std::string()) + ")";
        if (f.ohms < 1e3) text += ", and an earthed chassis takes the line's full current";
        return text + ". It draws from the line, not through the transformer: " + ahead_of_primary(f, true) + ".";
    }

    std::string less_touch(double touch, double in_health) const {
        if (in_health <= 1e-6 || touch >= 0.98 * in_health) return {};
        return (earth_.on ? "; its earth off, a hand carries " : "; a hand to earth carries ") + say(amps(touch)) +
               " where it carried " + say(amps(in_health));
    }

    /// An opening in the line of a set with several power transformers: which of them it leaves dead.
    std::string opened_ahead(const FaultSolution& found, double touch, double in_health, std::string& note) const {
        std::string dead, live;
        bool moves = false;
        for (const PowerTransformer& t : yard_->transformers) {
            const double now =
                found.solved ? yard_->primary_amps(t, Loads(chassis_, found.solution)) : t.primary_normal;
            const double ratio = t.primary_normal > 0 ? now / t.primary_normal : 1;
            moves = moves || std::fabs(ratio - 1) > nothing_moves;
            if (ratio < dead_below)
                dead += (dead.empty() ? "" : ", ") + t.id;
            else
                live += (live.empty() ? "the primary of " : ", that of ") + t.id + " draws " + say(amps(now)) +
                        " (normal " + say(amps(t.primary_normal)) + ")";
        }
        if (live.empty()) {
            note = "every primary is dead";
            return "The line no longer reaches any primary: dead, and no danger to the transformers.";
        }
        note = !dead.empty() ? dead + " dead" : moves ? "moves the primaries" : "does nothing to the transformers";
        std::string text = dead.empty() ? std::string() : "The line no longer reaches " + dead + ": dead; ";
        text += live + (moves ? "" : ": it does nothing to the transformers");
        if (dead.empty()) text.front() = 'T';
        return text + less_touch(touch, in_health) + ".";
    }

    /// Fire where the fault can burn by its own heat, shock where a hand is in its way; never the transformer.
    std::string ahead_of_primary(const Fault& f, bool hand, const char* spared = ", not the transformer") const {
        constexpr double burns_watts = 1;  // in wax, paper or a cord (assumed)
        const double heat = yard_->healthy.line_volts * yard_->healthy.line_volts / std::max(f.ohms, 0.1);
        if (heat >= burns_watts) return hand ? std::string("fire and shock") : std::string("fire") + spared;
        return (hand ? std::string("shock; ") : std::string("no danger yet; ")) + "it heats itself by " +
               say(watts(heat)) + ", too little for fire while it stays so";
    }

    /// The same where the metal is earthed as traced: the earth carries first, a hand once the earth is off or broken.
    std::string earthed(const Fault& f, double touch) const {
        const double line = yard_->healthy.line_volts;
        return "The metal is earthed (" + earth_.name + "): one way round of the plug " +
               (f.ohms < 1e3 ? "the earth takes the line's full current, " + say(volts(line)) + " through " +
                                   say(ohms(f.ohms)) + ", which a fuse of the house may open"
                             : "the earth carries " + say(amps(line / f.ohms)) + " through " + say(ohms(f.ohms)) +
                                   " unnoticed") +
               "; with the earth off or broken a hand carries " + say(amps(touch)) + " (" +
               say(amps(threat::touch_limit_amps)) +
               " is the limit). It draws from the line, not through the transformer: " + ahead_of_primary(f, true) +
               ".";
    }

    /// The part that gives way soonest: of those that are counted on, else of the others.
    Opening opening(const Loads& loads, int blamed) const {
        std::vector<Opening> all;
        auto consider = [&](int index, double over, double holds, std::string words) {
            if (index == blamed || over < 1) return;
            for (Opening& o : all)
                if (o.part == index) {
                    if (over > o.over) o = {o.placed, index, over, holds, std::move(words)};
                    return;
                }
            for (std::size_t i = 0; i < placed_.size(); ++i)
                if (placed_[i].fault.part == index && placed_[i].fault.mode == FaultMode::open) {
                    all.push_back({static_cast<int>(i), index, over, holds, std::move(words)});
                    return;
                }
        };
        for (std::size_t i = 0; i < chassis_.parts().size(); ++i) {
            const Part& p = chassis_.parts()[i];
            if (p.kind != PartKind::fuse || !p.rated_amps) continue;
            for (const Branch& b : loads.of(static_cast<int>(i))) {
                const double times = b.rms.value() / (gives_way_at(p) * *p.rated_amps);
                consider(
                    static_cast<int>(i), times * times, fuse_holds,
                    "the fuse " + p.id + " (" + say(amps(b.rms.value())) + " in " + say(amps(*p.rated_amps)) + ")");
            }
        }
        for (std::size_t k = 0; k < yard_->limits.size(); ++k) {
            const Limit& l = yard_->limits[k];
            const Part& p = part(l.part);
            const double now = stress::figure_of(l, chassis_, loads), over = now / (gives_way_at(p) * l.limit);
            const bool of_watts = l.figure == Figure::watts || l.figure == Figure::electrode_watts;
            const bool of_amps =
                l.figure == Figure::cathode_amps || l.figure == Figure::direct_amps || l.figure == Figure::peak_amps;
            if (p.kind == PartKind::resistor || p.kind == PartKind::control) {
                if (of_watts)
                    consider(l.part, over, is_wound(p.construction) ? wound_holds : resistor_holds,
                             p.id + " burns open (" + say(watts(now)) + " in a " + say(watts(l.limit)) + " part)");
            } else if (p.kind == PartKind::coil || p.kind == PartKind::transformer) {
                if (of_watts)
                    consider(l.part, over, not_counted_on,
                             p.id + " may open (" + say(watts(now)) + " where " + say(watts(yard_->normal_figures[k])) +
                                 " is normal); it is not counted on");
            } else if (p.kind == PartKind::socket && (of_watts || of_amps)) {
                const std::string now_words = of_watts ? say(watts(now)) : say(amps(now));
                const std::string limit_words = of_watts ? say(watts(l.limit)) : say(amps(l.limit));
                consider(l.part, over, not_counted_on,
                         p.id + " may burn out or short (" + l.quantity + " " + now_words + " where " + limit_words +
                             " is the limit); it is not counted on");
            }
        }
        Opening best;
        for (const Opening& o : all) {
            const bool counted = o.holds < not_counted_on, best_counted = best.holds < not_counted_on;
            if (counted != best_counted ? counted : o.over > best.over) best = o;
        }
        if (best.holds < not_counted_on)
            for (const Opening& o : all)
                if (o.holds >= not_counted_on && o.over > best.over)
                    best.words += "; " + part(o.part).id + " may go before it and is not counted on";
        // the winding that is hot, not the first of the part
        if (best.placed >= 0 && part(best.part).kind == PartKind::transformer) {
            std::string lead;
            double most = 0;
            for (const Branch& b : loads.of(best.part))
                if (b.watts.value() > most) {
                    most = b.watts.value();
                    lead = b.lead;
                }
            for (std::size_t i = 0; i < placed_.size(); ++i) {
                const Fault& f = placed_[i].fault;
                if (f.part != best.part || f.mode != FaultMode::open || f.winding < 0) continue;
                const PartWinding& w = part(best.part).windings[static_cast<std::size_t>(f.winding)];
                const std::string name = w.leads.size() > 2 ? w.name + "." + std::to_string(f.half + 1) : w.name;
                if (name == lead) best.placed = static_cast<int>(i);
            }
        }
        return best;
    }

    /// Parts that stand in the way of a fault's current, from the plate winding of a power transformer to the fault and
    /// from there back to it.
    std::vector<std::string> between(const PowerTransformer& of, const PlacedFault& placed, const Loads& loads,
                                     std::string& limited_by, threat::ChainFacts& facts) const {
        constexpr double most_of_it = 0.6, risen = 1.3;
        const Loads health(chassis_, yard_->healthy);
        std::vector<std::string> ids;
        const Fault& f = placed.fault;
        if (f.part == of.part || f.part < 0 || f.ohms <= 0) return ids;
        auto [high, low] = path_of(f);
        const auto volts_of = [&](int net) {
            return net < 0 || net == chassis_.reference()
                       ? 0.0
                       : yard_->healthy.nets[static_cast<std::size_t>(net)].dc.value();
        };
        if (std::fabs(volts_of(high)) < std::fabs(volts_of(low))) std::swap(high, low);
        if (high < 0 || volts_of(high) <= 1) return ids;  // what is negative is fed another way
        double largest = std::max(20.0, f.ohms);
        if (f.ohms > 20) facts.limited_by_words = "its own " + say(ohms(f.ohms));
        const auto lies = [&](int p) {
            if (p == of.part || (p == f.part && part(p).kind == PartKind::socket) || part(p).kind == PartKind::wire ||
                part(p).kind == PartKind::strip)
                return;
            if (std::find(ids.begin(), ids.end(), part(p).id) != ids.end()) return;
            ids.push_back(part(p).id);
            facts.dry = facts.dry || part(p).kind == PartKind::rectifier;
            double r = part(p).ohms.value_or(0);
            if (part(p).kind == PartKind::transformer)
                for (const PartWinding& pw : part(p).windings)
                    for (double o : pw.ohms) r = std::max(r, o);
            if (part(p).kind == PartKind::socket || r <= largest) return;
            largest = r;
            limited_by = part(p).id;
            facts.limited_by_words = part(p).id + " (" + say(ohms(r)) + ")";
        };
        for (const PartWinding& w : part(of.part).windings) {
            if (w.role != WindingRole::plate || w.leads.empty()) continue;
            const auto net_at = [&](std::size_t lead) {
                return part(of.part).leads[static_cast<std::size_t>(w.leads[lead])].net;
            };
            const int from = net_at(0);
            // two units of one rectifier are two ways on paper and one part on the bench
            for (const LeadRef& ref : chassis_.nets()[static_cast<std::size_t>(from)].leads) {
                const Part& p = part(ref.part);
                if (p.kind == PartKind::socket && p.type != nullptr && p.type->is_rectifier() && ref.part != f.part &&
                    high != from && std::fabs(volts_of(high)) > 20)
                    ids.push_back(p.id);
            }
            for (int p : chassis_.parts_between(from, high)) lies(p);
            // beside another way no part stands alone, and yet it carries the most of it
            for (std::size_t k = 0; k < chassis_.parts().size(); ++k) {
                const int p = static_cast<int>(k);
                if (p == f.part || !part(p).ohms) continue;
                const std::span<const Branch> now = loads.of(p), before = health.of(p);
                for (std::size_t i = 0; i < now.size() && i < before.size(); ++i)
                    if (std::fabs(now[i].dc.value()) > most_of_it * facts.fault_amps &&
                        std::fabs(now[i].dc.value()) > risen * std::fabs(before[i].dc.value()))
                        lies(p);
            }
            break;
        }
        return ids;
    }

    /// Direct current that the rectifier delivers.
    double delivered(const Loads& loads) const {
        double amps = 0;
        for (const Target& t : yard_->targets) {
            if (part(t.part).kind == PartKind::socket && part(t.part).type->is_rectifier())
                for (const Branch& b : loads.of(t.part))
                    if (stress::electrode_of(b.lead).electrode.starts_with("p")) amps += std::fabs(b.dc.value());
            if (part(t.part).kind == PartKind::rectifier && !loads.of(t.part).empty())
                amps += std::fabs(loads.of(t.part).front().dc.value());
        }
        return amps;
    }

    /// Finds the current of the fault itself; when it is the lesser part of what is drawn more, the tube or resistor
    /// that carries it.
    bool carried_elsewhere(const Loads& loads, const PlacedFault& placed, threat::ChainFacts& facts) const {
        const Fault& f = placed.fault;
        const Loads health(chassis_, yard_->healthy);
        const double more = delivered(loads) - delivered(health);
        if (f.part >= 0 && f.lead_a >= 0 && f.ohms > 0) {
            const Part& p = part(f.part);
            const int a = p.leads[static_cast<std::size_t>(f.lead_a)].net;
            const int b = f.net_b >= 0 ? f.net_b : f.lead_b >= 0 ? p.leads[static_cast<std::size_t>(f.lead_b)].net : -1;
            const auto& nets = loads.solution().nets;
            if (a >= 0 && b >= 0) {
                const NetVolts &at_a = nets[static_cast<std::size_t>(a)], &at_b = nets[static_cast<std::size_t>(b)];
                facts.fault_amps = std::fabs(at_a.dc.value() - at_b.dc.value()) / f.ohms;
                // what alternates is known where one of the two stands still
                const double one = at_a.rms.value(), other = at_b.rms.value();
                const double alternating = std::max(one, other) / f.ohms;
                constexpr double swings = 10, hard = 10;  // volts rms, ohms
                if (std::min(one, other) < 0.02 * std::max(one, other) && alternating > facts.fault_amps)
                    facts.fault_rms = std::hypot(alternating, facts.fault_amps);
                else if (std::min(one, other) > swings && f.ohms <= hard)
                    facts.fault_amps = 0;  // the direct part alone says nothing of it
            }
        }
        if (more < 1e-3 || facts.fault_amps > 0.5 * more) return false;
        double most = 0.3 * more;
        for (std::size_t i = 0; i < chassis_.parts().size(); ++i) {
            const Part& p = chassis_.parts()[i];
            const bool tube = p.kind == PartKind::socket && p.type != nullptr && !p.type->is_rectifier();
            if (!tube && p.kind != PartKind::resistor) continue;
            const std::span<const Branch> now = loads.of(static_cast<int>(i)), before = health.of(static_cast<int>(i));
            for (std::size_t k = 0; k < now.size() && k < before.size(); ++k) {
                if (tube && !stress::electrode_of(now[k].lead).electrode.starts_with("k")) continue;
                const double rise = std::fabs(now[k].dc.value()) - std::fabs(before[k].dc.value());
                // of a tube and its cathode resistor the tube is named
                if (rise <= (tube ? 0.98 : 1.02) * most) continue;
                most = rise;
                facts.carrier = p.id;
                facts.carrier_amps = std::fabs(now[k].dc.value());
                facts.carrier_amps_normal = std::fabs(before[k].dc.value());
            }
        }
        return !facts.carrier.empty();
    }

    /// A means-only solution shows alternating watts where a part leaves the rectifier block: real only when the ripple
    /// was solved.
    bool ripple_shows(const Loads& loads) const {
        for (const Limit& l : yard_->limits) {
            if (l.figure != Figure::watts || stress::figure_of(l, chassis_, loads) <= l.limit) continue;
            double direct = 0;
            for (const Branch& b : loads.of(l.part)) direct += std::fabs(b.dc.value() * b.volts_dc.value());
            if (direct < 0.5 * stress::figure_of(l, chassis_, loads)) return true;
        }
        return false;
    }

    // ---- heat of one power transformer

    bool several() const { return yard_->transformers.size() > 1; }
    /// Of several the words name it.
    std::string the_primary(std::size_t k) const {
        return several() ? "the primary of " + yard_->transformers[k].id : "the primary";
    }
    std::string the_transformer(std::size_t k) const {
        return several() ? yard_->transformers[k].id : "the transformer";
    }
    /// rms, by power transformer; of a set without one what the line or battery gives.
    std::vector<double> primaries(const Loads& loads) const {
        if (yard_->transformers.empty()) return {loads.solution().primary_rms.value()};
        std::vector<double> out;
        for (const PowerTransformer& t : yard_->transformers) out.push_back(yard_->primary_amps(t, loads));
        return out;
    }
    double normal_primary(std::size_t k) const {
        return yard_->transformers.empty() ? yard_->primary_normal : yard_->transformers[k].primary_normal;
    }

    /// What a fault makes of one power transformer.
    struct Heated {
        std::vector<WindingLoad> windings;
        bool moves = false;
        double ring_watts = 0;
        Verdict verdict;
    };
    Heated heated(const PowerTransformer& t, const Loads& loads, const Fault& fault) const {
        Heated out;
        out.windings = t.windings_of(loads);
        for (const WindingLoad& w : out.windings)
            out.moves =
                out.moves || std::fabs(w.rms_amps - w.rms_amps_normal) > nothing_moves * w.rms_amps_normal + 1e-5;
        const Heat heat = yard_->heat_of(t, loads, &fault);
        out.ring_watts = heat.ring_watts;
        if (out.moves)
            out.verdict = t.heat(heat);
        else
            for (const Corner corner : {threat::cool, threat::middle, threat::hot})
                out.verdict.course[corner].steady_celsius = t.heatings[corner].healthy_celsius();
        return out;
    }
    static void show(const PowerTransformer& t, const Heated& of, Threat& row) {
        row.windings = of.windings;
        const std::array<Course, 3>& course = of.verdict.course;
        row.hot_spot_hot_end_celsius = course[threat::hot].steady_celsius;
        row.hot_spot_steady_celsius = course[threat::middle].steady_celsius;
        row.seconds_to_105_low = course[threat::hot].seconds_to_105;
        row.seconds_to_105_high = course[threat::cool].seconds_to_105;
        row.seconds_to_damage_low = course[threat::hot].seconds_to_180;
        row.seconds_to_damage_high = course[threat::cool].seconds_to_180;
        row.hot_winding.clear();
        if (const Course& c = course[threat::hot]; c.hottest >= 0)
            row.hot_winding =
                t.windings[static_cast<std::size_t>(c.hottest)].name + (c.ring_hottest ? " (its shorted layer)" : "");
    }

    /// How things stand once what opens first has opened, and in what share of the cases it does not.
    struct After {
        double holds = 1, seconds = 0;
        std::string part;
        std::vector<Judged> transformers;  ///< as the yardstick has them
        std::map<int, double> worst;       ///< by part: the largest ratio to a rating
        std::string not_solved, breakdown, over;
        std::vector<double> primaries;
        std::vector<std::pair<std::string, std::vector<double>>> next;  ///< what burns open then, and the primaries
    };
    /// The same in words, for one power transformer.
    std::string told(const After& after, std::size_t k) const {
        if (!after.not_solved.empty()) return after.breakdown + after.not_solved;
        if (after.primaries.empty()) return {};
        const bool any = !yard_->transformers.empty();
        std::string text = after.breakdown + (any ? the_primary(k) : std::string("the set")) + " draws " +
                           say(amps(after.primaries[k])) + " (normal " + say(amps(normal_primary(k))) + ")";
        if (any)
            text += k < after.transformers.size() && after.transformers[k].beta > 0
                        ? ", and " + the_transformer(k) + " goes on heating"
                        : ": for " + the_transformer(k) + " the fault ends there";
        text += after.over;
        for (const auto& [words, draws] : after.next)
            text += "; next " + words + ", and " + (any ? the_primary(k) : std::string("the set")) + " draws " +
                    say(amps(draws[k]));
        return text;
    }

    /// A row about one power transformer, its beta over both outcomes; what its chain is told by.
    threat::ChainFacts judge_heat(std::size_t k, const Heated& of, const After& after, const PlacedFault& placed,
                                  const Loads& loads, Threat& row) {
        const PowerTransformer& t = yard_->transformers[k];
        row.target = t.id;
        row.primary_amps_rms = yard_->primary_amps(t, loads);
        row.primary_amps_rms_normal = t.primary_normal;
        show(t, of, row);
        row.after_opening = told(after, k);
        threat::ChainFacts facts = facts_of(placed, k);
        facts.does_nothing = !of.moves;
        facts.copper_watts = Yardstick::copper_watts(of.windings) + of.ring_watts;
        const bool burnt_before = row.seconds_to_damage_low && *row.seconds_to_damage_low <= after.seconds;
        const Judged afterwards = after.transformers.empty() ? Judged() : after.transformers[k];
        const Judged both = over_both(of.verdict, afterwards, burnt_before, after);
        row.beta = both.beta;
        row.beta_reason = both.why;
        facts.two_outcomes = both.why != of.verdict.why;
        hang_on_opening_ += both.hangs ? 1 : 0;
        const double ratio = t.primary_normal > 0 ? row.primary_amps_rms / t.primary_normal : 1;
        if (row.beta > 0 || ratio > 1.05 || !row.overloads.empty()) {
            facts.ring_watts = of.ring_watts;
            find_path(loads, placed, &t, row, facts);
        }
        // by the worse of the two outcomes, as MIL-STD-1629A has it
        const double worse = after.holds < 1 ? std::max(of.verdict.beta, afterwards.beta) : of.verdict.beta;
        row.severity = worse >= 0.5 ? "II" : worse > 0 ? "III" : "IV";
        rate(row, placed);
        return facts;
    }
    threat::ChainFacts facts_of(const PlacedFault& placed, std::size_t k) const {
        threat::ChainFacts facts;
        facts.placed = &placed;
        facts.has_transformer = !yard_->transformers.empty();
        if (!facts.has_transformer) return facts;
        const PowerTransformer& t = yard_->transformers[k];
        facts.copper_watts_normal = t.copper_normal;
        facts.healthy_celsius = t.heatings[threat::middle].healthy_celsius();
        facts.the_primary = the_primary(k);
        facts.the_transformer = the_transformer(k);
        return facts;
    }
    void find_path(const Loads& loads, const PlacedFault& placed, const PowerTransformer* from, Threat& row,
                   threat::ChainFacts& facts) const {
        // of the plate winding only what it delivers the more
        const double more = delivered(loads) - delivered(Loads(chassis_, yard_->healthy));
        if (!carried_elsewhere(loads, placed, facts) && from != nullptr && facts.fault_amps > 0 &&
            more > 0.5 * facts.fault_amps)
            facts.between = between(*from, placed, loads, row.limited_by, facts);
        if (from != nullptr) facts.between_from = from->id;
    }

    void judge(int index, FaultSolution found) {
        const PlacedFault& placed = placed_[static_cast<std::size_t>(index)];
        const int blamed = chassis_.part(placed.blamed);
        Threat row;
        row.fault = placed.fault;
        row.part = placed.blamed;
        row.mode = placed.mode;
        row.solved = found.solved;
        row.reshot = found.reshot;
        row.upper_bound = found.upper_bound;
        row.primary_amps_rms_normal = yard_->primary_normal;
        row.ahead_of_primary = is_ahead(placed);
        row.target = yard_->power >= 0 ? part(yard_->power).id : std::string(of_supply);

        threat::ChainFacts facts = facts_of(placed, 0);
        facts.why_not_solved = found.why;
        for (std::size_t k = 0; k < found.restless.size(); ++k)
            facts.unrest += (k == 0 ? "" : k + 1 < found.restless.size() ? ", " : " and ") + part(found.restless[k]).id;
        const std::string unrest = facts.unrest;

        if (row.ahead_of_primary) {
            row.target = "line";
            row.severity = "I";
            facts.ahead_words = yard_->power < 0 ? on_the_line(row, placed.fault, facts.ahead_note)
                                                 : ahead(row, placed.fault, found, facts.ahead_note);
            if (row.beta <= 0) row.severity = "IV";
            if (found.solved) {
                row.primary_amps_rms = found.solution.primary_rms.value();
                row.drawn_amps_rms = yard_->line_amps(found.solution);
                if (yard_->power >= 0)
                    row.windings = yard_->transformers.front().windings_of(Loads(chassis_, found.solution));
            } else {
                row.solved = true;  // judged from the line and the path alone
                row.primary_amps_rms = yard_->primary_normal;
                row.drawn_amps_rms = yard_->line_amps(yard_->healthy);
            }
            row.hot_spot_steady_celsius = report_.healthy_hot_spot_celsius;
            rate(row, placed);
            threat::tell(row, facts);
            report_.rows.push_back(std::move(row));
            return;
        }
        if (!found.solved) {
            row.severity = "IV";
            rate(row, placed);
            threat::tell(row, facts);
            report_.rows.push_back(std::move(row));
            return;
        }

        if (ripple_shows(Loads(chassis_, found.solution))) {
            const std::array one{placed.fault};
            FaultSolution whole = bench_.solve(Condition{}, one, true);
            if (whole.solved) found = std::move(whole);
        }
        const Loads loads(chassis_, found.solution);
        row.primary_amps_rms = found.solution.primary_rms.value();
        row.drawn_amps_rms = yard_->line_amps(found.solution);
        row.tap_amps_rms = yard_->tap_amps(found.solution);
        for (std::size_t i = 0; i < yard_->limits.size(); ++i)
            if (yard_->limits[i].figure == Figure::peak_amps)
                row.rectifier_peak_amps =
                    std::max(row.rectifier_peak_amps, stress::figure_of(yard_->limits[i], chassis_, loads));
        std::vector<int> over_parts;
        row.overloads = yard_->overloads_of(loads, &over_parts);

        std::vector<Heated> heats;
        bool heats_one = false;
        for (const PowerTransformer& t : yard_->transformers) {
            heats.push_back(heated(t, loads, placed.fault));
            heats_one = heats_one || heats.back().verdict.beta > 0;
        }
        After after;
        if (heats_one || !row.overloads.empty()) {
            const Opening opens = opening(loads, blamed);
            if (opens.placed >= 0) {
                row.opens_first = opens.words;
                // a tube opens or shorts: what follows is not told
                if (part(opens.part).kind != PartKind::socket) after = after_opening(row, index, opens);
            }
        }
        Threat first = row;
        if (heats.empty()) {
            first.after_opening = told(after, 0);
            facts.does_nothing = true;
            const double ratio = yard_->primary_normal > 0 ? row.primary_amps_rms / yard_->primary_normal : 1;
            if (ratio > 1.05 || !row.overloads.empty()) find_path(loads, placed, nullptr, first, facts);
            first.severity = "IV";
            rate(first, placed);
        } else {
            facts = judge_heat(0, heats.front(), after, placed, loads, first);
            facts.unrest = unrest;
        }
        const Threat others = first;
        threat::tell(first, facts);
        report_.rows.push_back(std::move(first));
        // the first has a row for every fault, the others for what heats them
        for (std::size_t k = 1; k < heats.size(); ++k) {
            if (heats[k].verdict.beta <= 0 && (after.holds >= 1 || after.transformers[k].beta <= 0)) continue;
            Threat t = row;
            const threat::ChainFacts own = judge_heat(k, heats[k], after, placed, loads, t);
            threat::tell(t, own);
            report_.rows.push_back(std::move(t));
        }

        for (const Target& target : yard_->targets) {
            if (target.power || target.part == blamed) continue;
            double worst = 0;
            for (std::size_t i = 0; i < row.overloads.size(); ++i)
                if (over_parts[i] == target.part)
                    worst = std::max(worst, row.overloads[i].value / row.overloads[i].limit);
            const auto later = after.worst.find(target.part);
            const double afterwards = later == after.worst.end() ? 0 : later->second;
            if (worst <= 1 && (after.holds >= 1 || afterwards <= 1)) continue;
            Threat t = others;
            t.target = part(target.part).id;
            const Judged as_it_stands = by_ratio(worst);
            const double lost_within = gives_way_within * gives_way_at(part(target.part)) / std::max(worst, 1.0);
            const Judged judged = over_both(as_it_stands, by_ratio(afterwards), lost_within <= after.seconds, after);
            t.beta = judged.beta;
            t.beta_reason = judged.why;
            facts.two_outcomes = judged.why != as_it_stands.why;
            hang_on_opening_ += judged.hangs ? 1 : 0;
            t.severity = "III";
            t.links.clear();
            facts.for_other_target = true;
            rate(t, placed);
            threat::tell(t, facts);
            report_.rows.push_back(std::move(t));
        }
    }

    static Judged by_ratio(double ratio) {
        if (ratio <= 1) return {};
        return {ratio_beta(ratio), threat::figure(ratio) + " times a rating"};
    }
    /// The rule for every target alike: the damage of both outcomes, each by its share. What is lost before anything
    /// opens is not saved by it.
    static Judged over_both(const Judged& as_it_stands, const Judged& afterwards, bool lost_before,
                            const After& after) {
        if (after.holds >= 1) return as_it_stands;
        if (lost_before)
            return {as_it_stands.beta, as_it_stands.why + ", lost before " + after.part + " opens (in " +
                                           threat::figure(std::round(after.seconds)) + " s, declared)"};
        if (as_it_stands.beta == afterwards.beta)
            return {as_it_stands.beta, as_it_stands.beta > 0
                                           ? as_it_stands.why + ", and after " + after.part + " opens no less"
                                           : as_it_stands.why};
        auto outcome = [](const Judged& j, const std::string& when) {
            return threat::figure(j.beta) + when + (j.why.empty() ? "" : ": " + j.why);
        };
        const double beta = after.holds * as_it_stands.beta + (1 - after.holds) * afterwards.beta;
        return {std::round(beta * 1e6) / 1e6,
                outcome(as_it_stands, " if " + after.part + " does not open (declared: " +
                                          threat::figure(100 * after.holds) + " % of the cases)") +
                    "; " + outcome(afterwards, " after it opens"),
                true};
    }

    FaultSolution solve_with(std::span<const Fault> faults) {
        FaultSolution found = bench_.solve(Condition{}, faults, false);
        if (found.solved && ripple_shows(Loads(chassis_, found.solution)))
            if (FaultSolution whole = bench_.solve(Condition{}, faults, true); whole.solved) return whole;
        return found;
    }

    /// The capacitor that the opening leaves furthest over its volts, when it breaks down by them: its short.
    int breaks_down(const Loads& loads, double& times) const {
        int short_of = -1;
        times = capacitor_breaks_at;
        for (const Limit& l : yard_->limits) {
            if (l.figure != Figure::crest_volts || part(l.part).kind != PartKind::capacitor) continue;
            const double ratio = stress::figure_of(l, chassis_, loads) / l.limit;
            if (ratio < times) continue;
            for (std::size_t i = 0; i < placed_.size(); ++i)
                if (placed_[i].fault.part == l.part && placed_[i].fault.mode == FaultMode::short_circuit) {
                    short_of = static_cast<int>(i);
                    times = ratio;
                    break;
                }
        }
        return short_of;
    }

    /// What burns open next, and next again, told with what the primary then draws; beta rests on the first opening.
    void further_openings(After& out, int blamed, std::vector<Fault> faults, int first, FaultSolution after) {
        constexpr std::size_t most = 3;
        for (std::vector<int> opened{first}; opened.size() < most;) {
            const Opening next = opening(Loads(chassis_, after.solution), blamed);
            if (next.placed < 0 || next.holds >= not_counted_on ||
                std::find(opened.begin(), opened.end(), next.part) != opened.end())
                return;
            faults.push_back(placed_[static_cast<std::size_t>(next.placed)].fault);
            FaultSolution then = solve_with(faults);
            if (!then.solved) return;
            after = std::move(then);
            opened.push_back(next.part);
            out.next.emplace_back(next.words, primaries(Loads(chassis_, after.solution)));
        }
    }

    After after_opening(const Threat& row, int index, const Opening& opens) {
        After out;
        out.transformers.resize(yard_->transformers.size());
        std::vector<Fault> faults{placed_[static_cast<std::size_t>(index)].fault,
                                  placed_[static_cast<std::size_t>(opens.placed)].fault};
        FaultSolution after = solve_with(faults);
        if (!after.solved) {
            out.not_solved = "what follows is not solved, and it is not counted on: " + after.why;
            return out;
        }
        // the worse of what the opening leaves and of what a breakdown then makes of it
        auto take = [&](const Loads& loads, const std::vector<Overload>& overloads, const std::vector<int>& parts) {
            for (std::size_t k = 0; k < out.transformers.size(); ++k) {
                const PowerTransformer& t = yard_->transformers[k];
                const Verdict verdict = t.heat(yard_->heat_of(t, loads, &faults.front()));
                if (verdict.beta > out.transformers[k].beta) out.transformers[k] = verdict;
            }
            for (std::size_t i = 0; i < overloads.size(); ++i) {
                double& worst = out.worst[parts[i]];
                worst = std::max(worst, overloads[i].value / overloads[i].limit);
            }
        };
        std::vector<int> parts;
        std::vector<Overload> overloads = yard_->overloads_of(Loads(chassis_, after.solution), &parts);
        take(Loads(chassis_, after.solution), overloads, parts);
        double times = 0;
        if (const int broken = breaks_down(Loads(chassis_, after.solution), times); broken >= 0) {
            const PlacedFault& p = placed_[static_cast<std::size_t>(broken)];
            faults.push_back(p.fault);
            after = solve_with(faults);
            out.breakdown = p.blamed + " stands at " + threat::figure(times) + " times its volts and breaks down; ";
            if (!after.solved) {
                After none;
                none.transformers.resize(yard_->transformers.size());
                none.breakdown = out.breakdown;
                none.not_solved = "what follows is not solved, and the opening is not counted on: " + after.why;
                return none;
            }
            parts.clear();
            overloads = yard_->overloads_of(Loads(chassis_, after.solution), &parts);
            take(Loads(chassis_, after.solution), overloads, parts);
        }
        out.holds = opens.holds;
        out.seconds = gives_way_within / opens.over;
        out.part = part(opens.part).id;
        out.primaries = primaries(Loads(chassis_, after.solution));
        for (const Overload& o : overloads) {
            const bool known = std::any_of(row.overloads.begin(), row.overloads.end(), [&](const Overload& b) {
                return b.part == o.part && b.quantity == o.quantity && b.value >= 0.98 * o.value;
            });
            if (known) continue;
            out.over =
                "; now " + o.part + " is over its " + o.quantity + " (" + threat::figure(o.value / o.limit) + " times)";
            break;
        }
        further_openings(out, chassis_.part(row.part), faults, opens.part, std::move(after));
        return out;
    }

    // ---- the whole

    void rank() {
        std::map<std::string, int> order;
        order["line"] = static_cast<int>(yard_->targets.size());
        for (std::size_t i = 0; i < yard_->targets.size(); ++i)
            order.try_emplace(part(yard_->targets[i].part).id, static_cast<int>(i));
        order[of_supply] = -1;
        // the power transformer first, the scarce parts, then what lies ahead of the primary
        if (yard_->power >= 0) order["line"] = static_cast<int>(yard_->targets.size());
        std::stable_sort(report_.rows.begin(), report_.rows.end(), [&](const Threat& a, const Threat& b) {
            if (order[a.target] != order[b.target]) return order[a.target] < order[b.target];
            if (a.criticality != b.criticality) return a.criticality > b.criticality;
            return a.fault.id < b.fault.id;
        });
        int rank = 0;
        const std::string* target = nullptr;
        for (Threat& row : report_.rows) {
            if (target == nullptr || *target != row.target) rank = 0;
            target = &row.target;
            row.rank = ++rank;
        }
    }

    /// The rows that matter most, by criticality and by current, solved again with the copper as hot as they make it:
    /// when the hottest winding passes 180 C, else where it settles, at the middle of the assumptions.
    void again_hot(std::size_t which) {
        const PowerTransformer& t = yard_->transformers[which];
        const std::size_t each = which == 0 ? 12 : 4;
        std::vector<Threat*> rows;
        for (Threat& row : report_.rows)
            if (row.target == t.id && !row.ahead_of_primary && row.solved && row.beta > 0) rows.push_back(&row);
        std::vector<Threat*> by_current = rows;
        std::stable_sort(by_current.begin(), by_current.end(),
                         [](const Threat* a, const Threat* b) { return a->primary_amps_rms > b->primary_amps_rms; });
        rows.resize(std::min(rows.size(), each));
        for (std::size_t k = 0; k < by_current.size() && k < each; ++k)
            if (std::find(rows.begin(), rows.end(), by_current[k]) == rows.end()) rows.push_back(by_current[k]);
        std::vector<std::string> said(rows.size());
        for (std::size_t k = 0; k < rows.size(); ++k) said[k] = again_hot(which, *rows[k]);
        // what loads the windings alike is as hot
        for (Threat& row : report_.rows) {
            if (row.target != t.id || row.ahead_of_primary || !row.solved || row.beta <= 0) continue;
            for (std::size_t k = 0; k < rows.size(); ++k) {
                if (!rows[k]->primary_amps_rms_hot || !alike(row, *rows[k])) continue;
                if (&row != rows[k]) {
                    row.primary_amps_rms_hot = rows[k]->primary_amps_rms_hot;
                    row.drawn_amps_rms_hot = rows[k]->drawn_amps_rms_hot;
                    row.tap_amps_rms_hot = rows[k]->tap_amps_rms_hot;
                    row.windings = rows[k]->windings;
                }
                if (!said[k].empty()) row.links.push_back(said[k]);
                break;
            }
        }
    }
    static bool alike(const Threat& a, const Threat& b) {
        if (a.windings.size() != b.windings.size() || a.hot_winding != b.hot_winding) return false;
        for (std::size_t k = 0; k < a.windings.size(); ++k)
            if (std::fabs(a.windings[k].rms_amps - b.windings[k].rms_amps) > 1e-5 * b.windings[k].rms_amps)
                return false;
        return true;
    }
    /// The sentence for the chain; empty where there is little to say.
    std::string again_hot(std::size_t which, Threat& row) {
        const PowerTransformer& t = yard_->transformers[which];
        const std::array one{row.fault};
        const FaultSolution cold = bench_.solve(Condition{}, one, false);
        if (!cold.solved) return {};
        const Heat heat = yard_->heat_of(t, Loads(chassis_, cold.solution), &row.fault);
        const Course course = t.heatings[threat::middle].course(heat);
        std::vector<WarmWinding> warm;
        for (std::size_t k = 0; k < t.leads.size(); ++k)
            warm.push_back({t.leads[k], threat::hot_factor(course.celsius[k]), t.part});
        const FaultSolution hot = bench_.solve(Condition{}, one, warm);
        if (!hot.solved) return {};
        const Loads loads(chassis_, hot.solution);
        row.primary_amps_rms_hot = yard_->primary_amps(t, loads);
        row.drawn_amps_rms_hot = yard_->line_amps(hot.solution);
        row.tap_amps_rms_hot = yard_->tap_amps(hot.solution);
        for (std::size_t k = 0; k < row.windings.size(); ++k) {
            const Branch* b = loads.at(t.part, t.leads[k]);
            if (b == nullptr) continue;
            row.windings[k].rms_amps_hot = b->rms.value();
            row.windings[k].celsius_hot = course.celsius[k];
        }
        if (Yardstick::copper_watts(row.windings) < 1.2 * t.copper_normal) return {};
        return "Solved again with the copper that hot (" +
               threat::figure(std::round(*std::max_element(course.celsius.begin(), course.celsius.end()))) +
               " C at the most) " + the_primary(which) + " draws " + say(amps(*row.primary_amps_rms_hot)) + ".";
    }

    void assume() {
        auto say_so = [this](std::string about, std::string taken, std::string why, std::string measure,
                             std::string spread) {
            report_.assumptions.push_back({std::move(about), std::move(taken), std::move(why), std::move(measure),
                                           std::move(spread), "declared, no source"});
        };
        if (yard_->power >= 0) {
            say_so(several() ? "beta of each power transformer" : "beta of the power transformer",
                   "1: hottest winding past 180 C within an hour; .5 within 8 h; .1 over 105 C for good; else 0",
                   "judged at the hot end of the assumptions", "", "ranks of faults near a boundary");
            if (several())
                say_so("watts of each power transformer",
                       "of the line's watts, by the volt-amperes of its primary beside those of the others",
                       "a solution gives the watts of the line alone", "a wattmeter in the lead of each primary",
                       "late times and settled temperatures by some percent");
            say_so("heating of " + report_.power_transformers(" and "),
                   "core 1.15 sqrt(VA) cm2 at 1 tesla; 3.6 K/W core to air at 60 VA (2.7 to 4.9); air in the set 15 C "
                   "over the room (8 to 22); copper section +-20 %, or 1.5 to 3.5 A/mm2 where no ohms were measured",
                   "nobody gives them", "ohms of every winding, and its heat by the rise of its ohms after an hour",
                   "each time and temperature is a range over them; VA alone gives no number");
            say_so(
                "copper and heat",
                "the share of the line's watts that is lost in copper says how far rising ohms hold the current back",
                "first order; exact where a resistance is the load", "",
                "late times and settled temperatures by some percent");
        }
        say_so("beta of other parts", "over a rating by 2: 1; by 1.3: .5; at all: .1; else 0", "policy", "", "");
        say_so("ratings of coils and transformers that nobody gave", "twice the watts that they lose in health",
               "no rating in the file", "the part's own label", "beta of those parts");
        say_so("what opens first",
               "a fuse at twice its amperes and a resistor at five times its watts, within a minute, and sooner in "
               "proportion to the heat; a tube or rectifier at five times a rating and a coil at ten may, and are not "
               "counted on. In " +
                   threat::figure(100 * fuse_holds) + " % of the cases the fuse is a wrong one or bypassed, in " +
                   threat::figure(100 * resistor_holds) +
                   " % the resistor chars and goes on conducting (a wound one: " + threat::figure(100 * wound_holds) +
                   " %). Beta is the sum over both outcomes, each by its share (our extension of the steps above), for "
                   "every target alike; a target that by the same figures gives way sooner, or passes 180 C sooner, is "
                   "lost before; a capacitor that the opening leaves at twice its volts breaks down; severity is that "
                   "of the worse outcome; ahead of the primary nothing is counted on",
               "estimates: no source for how old resistors end", "",
               hang_on_opening_ == 0
                   ? "nothing on this set"
                   : "beta of " + std::to_string(hang_on_opening_) + (hang_on_opening_ == 1 ? " row" : " rows") +
                         ", from that after the opening to that without it; more where a resistor that holds drops in "
                         "ohms");
        say_so("shares of a capacitor's leaks", "1 meg .55, its aged insulation .25, 100 k .15, 10 k .05",
               "the handbook has no leak; four fifths of a paper capacitor's shorts are taken as leaks", "",
               "ranks within a target");
        say_so("tube, lamp-lead, socket-track and lead faults",
               "grid to cathode .6, screen to grid .3, plate to grid .1 of a tube's grid shorts; a lamp's lead that is "
               "no wire of the file is one more such wire, its socket shorts in .3 of a socket's failures; each socket "
               "track .02 of the socket's; a transformer's shorts: .6 a layer, .3 a "
               "lead to the metal, .1 from winding to winding",
               "no handbook has them", "", "ranks within a target");
        say_so("words of hazard",
               "of a fault the chance that it is there by now (that of its part by age and by what was seen, as the "
               "survey has it, times the share of its mode and size) or comes within the hours counted (by its rate): "
               "likely from " +
                   threat::figure(likely_from) + " on, possible from " + threat::figure(possible_from) +
                   "; certain where that mode was seen. Ranks go by the rate alone: handbook, stress, heat and age",
               "policy", "", "words alone");
        say_so("working hours", threat::figure(policy_.working_hours) + " h", "policy", "", "all criticalities alike");
    }

    const Chassis& chassis_;
    const Catalogue& catalogue_;
    const Policy& policy_;
    Bench& bench_;
    std::span<const PartStress> stress_;
    ThreatReport report_;
    std::optional<Yardstick> yard_;
    std::vector<PlacedFault> placed_;
    std::vector<bool> line_side_;
    std::vector<unsigned> sides_;  ///< by net, of a set without a transformer
    Earth earth_;
    int hang_on_opening_ = 0;  ///< rows
    std::map<std::pair<int, std::string>, AgeRisk> risks_;
};

}  // namespace

Outcome<ThreatReport> threats_of(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy, Bench& bench,
                                 std::span<const PartStress> stress) {
    return Judge(chassis, catalogue, policy, bench, stress).run();
}

std::string Threat::chain() const {
    std::string text;
    for (const std::string& link : links) text += (text.empty() ? "" : " ") + link;
    return text;
}

namespace {

std::vector<Threat> by_current(std::vector<Threat> rows) {
    std::stable_sort(rows.begin(), rows.end(), [](const Threat& a, const Threat& b) {
        if (a.solved != b.solved) return a.solved;
        if (a.primary_amps_rms != b.primary_amps_rms) return a.primary_amps_rms > b.primary_amps_rms;
        return a.fault.id < b.fault.id;
    });
    return rows;
}

}  // namespace

bool ThreatReport::is_power_transformer(const std::string& part) const {
    return (!transformer.empty() && part == transformer) ||
           std::any_of(others.begin(), others.end(), [&](const HealthyTransformer& t) { return t.part == part; });
}

std::string ThreatReport::power_transformers(const std::string& last) const {
    std::string text = transformer;
    for (std::size_t k = 0; k < others.size(); ++k) text += (k + 1 < others.size() ? ", " : last) + others[k].part;
    return text;
}

std::vector<Threat> ThreatReport::for_transformer() const {
    std::vector<Threat> out;
    for (const Threat& row : rows)
        if (!row.ahead_of_primary && !transformer.empty() && row.target == transformer) out.push_back(row);
    return out;
}

std::vector<Threat> ThreatReport::for_supply_by_current() const {
    std::vector<Threat> out;
    for (const Threat& row : rows)
        if (row.target == of_supply) out.push_back(row);
    return by_current(std::move(out));
}

std::vector<Threat> ThreatReport::for_transformer_by_current() const {
    return by_current(for_transformer());
}

std::vector<Threat> ThreatReport::ahead_of_primary() const {
    std::vector<Threat> out;
    for (const Threat& row : rows)
        if (row.ahead_of_primary) out.push_back(row);
    return out;
}

}  // namespace tubewright
