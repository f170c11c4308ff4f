// SPDX-License-Identifier: MIT
// See remedy.hpp. Watts are rated at twice what is burnt, heat beside wood and wax apart; the dangers are common
// practice, no source.
#include "choice/remedy.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <numeric>
#include <set>

#include "chassis/data.hpp"
#include "choice/duty.hpp"
#include "choice/figure.hpp"
#include "choice/safety.hpp"

namespace tubewright::choice {
namespace {

constexpr double heater_notable = 1.05;  // over this a remedy is computed (declared); a tenth is the limit (recalled)
constexpr double heater_limit = 1.1;
constexpr std::array bucking_windings{2.5, 5.0, 6.3, 10.0, 12.6, 16.0, 24.0};  // volts sold (common practice)
constexpr double bucking_spare = 1.25;                                         // of its VA
constexpr double swap_within = 2e-3;                                           // of B-plus
constexpr double two_pi = 6.28318530717959;
constexpr double filter_differs = 0.01;  // of its value: solved again and shown
constexpr double choke_share = 0.25;     // of a field's ohms that a choke in its place has (common practice)

std::size_t at(int i) {
    return static_cast<std::size_t>(i);
}

double nearest_stocked(const Catalogue& catalogue, const char* ladder, double x) {
    double best = 0;
    for (const double v : catalogue.stock(ladder))
        if (best == 0 || std::fabs(std::log(v / x)) < std::fabs(std::log(best / x))) best = v;
    return best;
}
/// The stocked rating that holds `burnt` with the margin; the bare figure where none does.
double rated_watts(const Catalogue& catalogue, const Policy& policy, double burnt) {
    const double need = burnt * policy.resistor_watts_margin;
    for (const double v : catalogue.stock("resistor-watts"))
        if (v >= need) return v;
    return std::ceil(need);
}

Condition condition_of(Scenario scenario, double line = 0) {
    Condition c;
    c.scenario = scenario;
    c.line_volts = line;
    return c;
}

Chassis changed(const Chassis& chassis, const std::function<void(Part&)>& change) {
    const std::shared_ptr<Chassis::Data> data = copy_of(chassis.data());
    for (Part& part : data->parts) change(part);
    return Chassis(data);
}

const Branch* of_part(const Solution& s, int part) {
    for (const Branch& b : s.branches)
        if (b.part == part) return &b;
    return nullptr;
}

class Remedies {
  public:
    Remedies(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy, const Bench& bench)
        : chassis_(chassis), catalogue_(catalogue), policy_(policy), bench_(bench) {
        if (Outcome<Solution> s = bench_.solve(condition_of(Scenario::normal))) normal_ = std::move(*s);
        if (Outcome<Solution> s = bench_.solve(condition_of(Scenario::high_line))) high_ = std::move(*s);
    }

    std::vector<Remedy> all(const ShoppingList& list, std::span<const PartAction> actions) {
        if (!normal_) return {};
        filters(list);
        for (const PartAction& a : actions) {
            const Part& p = chassis_.parts()[at(a.part)];
            const bool goes = a.action == "replace";
            if ((p.construction == "resistance-cord" && goes) || (p.role == "ballast" && p.ohms)) dropper(a.part);
            if (p.kind == PartKind::rectifier && p.construction == "selenium") selenium(a.part);
            if (p.kind == PartKind::coil && p.role == "field" && p.ohms) field(a.part, goes);
        }
        heaters();
        return std::move(made_);
    }

  private:
    Remedy& add(const std::string& part, const std::string& topic, const std::string& says, bool wanted) {
        Remedy r;
        r.part = part;
        r.topic = topic;
        r.says = says;
        r.wanted = wanted;
        made_.push_back(std::move(r));
        return made_.back();
    }

    // --- a string's resistor
    void dropper(int part) {
        const Part& p = chassis_.parts()[at(part)];
        const Branch* b = of_part(*normal_, part);
        if (!b || !p.ohms) return;
        const double carried = std::hypot(b->dc.value(), b->rms.value()), line = normal_->line_volts;
        const double dropped = carried * *p.ohms;
        if (carried <= 0 || dropped >= line) return;
        const double hertz = normal_->line_hertz;
        constexpr double surge_ohms = 47;  // against what an empty capacitor takes at switch-on (common practice)
        const StringDroppers d = string_droppers(line, hertz, line - dropped, carried, surge_ohms);
        const bool cord = p.construction == "resistance-cord";
        Remedy& r = add(p.id, cord ? "resistance cord" : "ballast",
                        say(ohms(*p.ohms)) + " takes " + say(volts(dropped)) + " off the line for a string of " +
                            say(volts(line - dropped)) + " at " + say(amps(carried)),
                        cord);
        RemedyWay resistor;
        resistor.what = "a resistor";
        resistor.ohms = d.ohms;
        resistor.watts = rated_watts(catalogue_, policy_, d.watts);
        resistor.says = say(ohms(d.ohms)) + ", " + say(watts(d.watts)) + " burnt, " + say(watts(*resistor.watts)) +
                        " rated: works on alternating and direct current, as the cord did";
        resistor.danger =
            "that heat now stays in the cabinet: wirewound on metal in free air, under a guard, off wood and "
            "wax";
        r.ways.push_back(resistor);
        if (hertz > 0 && d.farads > 0) {
            RemedyWay capacitor;
            capacitor.what = "a capacitor";
            capacitor.farads = d.farads;
            capacitor.volts = upper_line_volts(chassis_, policy_);
            capacitor.says = say(farads(d.farads)) + " of class X2 or a motor-run type for " +
                             say(volts(*capacitor.volts)) + " AC and more, 470 k across it, " + say(ohms(surge_ohms)) +
                             " " + say(watts(rated_watts(catalogue_, policy_, d.surge_watts))) +
                             " in line against the surge, which alone burns anything: " + say(watts(d.surge_watts));
            capacitor.danger =
                "alternating current only; its value is exact within a twentieth; a shorted one puts the "
                "whole line on the string, so fuse it; it holds its charge at the plug";
            r.ways.push_back(capacitor);
        }
        if (hertz > 0) {
            RemedyWay diode;
            diode.what = "a diode, last of all";
            if (d.diode_ohms > 0) {
                diode.ohms = d.diode_ohms;
                diode.watts = rated_watts(catalogue_, policy_, d.diode_watts);
                diode.says = "1 A 1000 V with " + say(ohms(d.diode_ohms)) + " " + say(watts(*diode.watts)) +
                             " in line: the string then sees " + say(volts(line / std::sqrt(2.0))) +
                             " of pulses, which no meter reads right";
            } else {
                diode.says = "does not serve: half a wave is " + say(volts(line / std::sqrt(2.0))) +
                             ", and the string wants " + say(volts(line - dropped));
            }
            diode.danger = "a diode fails shorted: " + say(amps(d.amps_diode_shorted)) + " through heaters of " +
                           say(amps(carried)) + ", and direct current is drawn from every transformer before it";
            r.ways.push_back(diode);
        }
    }

    // --- selenium
    /// The resistor in line with it, on its anode or its cathode; -1 when there is none.
    int in_line_with(int part) const {
        for (const Lead& l : chassis_.parts()[at(part)].leads) {
            if (l.net < 0) continue;
            for (const LeadRef& ref : chassis_.nets()[at(l.net)].leads) {
                const Part& r = chassis_.parts()[at(ref.part)];
                if (r.kind == PartKind::resistor && r.ohms && *r.ohms <= 200 && r.leads.size() == 2) return ref.part;
            }
        }
        return -1;
    }
    std::optional<Solution> solved_with(const std::function<void(Part&)>& change, Scenario scenario) const {
        const Chassis other = changed(chassis_, change);
        const Outcome<Bench> bench = Bench::make(other, catalogue_, policy_);
        if (!bench) return std::nullopt;
        Outcome<Solution> s = Bench(*bench).solve(condition_of(scenario));
        if (!s) return std::nullopt;
        return std::move(*s);
    }
    void selenium(int part) {
        const Part& p = chassis_.parts()[at(part)];
        const int resistor = in_line_with(part);
        const int out = p.leads.size() > 1 ? p.leads[1].net : -1;
        if (out < 0) return;
        if (resistor < 0) {
            add(p.id, "selenium",
                "no resistor stands in line with it: put one there with the silicon, 47 ohm 5 W to begin with, "
                "and read B-plus",
                true);
            return;
        }
        const std::string id = p.id, in_line = chassis_.parts()[at(resistor)].id;
        const double old = *chassis_.parts()[at(resistor)].ohms;
        const auto volts_with = [&](bool silicon, double extra, Scenario scenario) {
            return solved_with(
                [&](Part& one) {
                    if (one.id == id) {
                        one.seen.clear();
                        one.since = policy_.today_year;
                        if (silicon) one.construction = "silicon";
                    }
                    if (one.id == in_line) one.ohms = old + extra;
                },
                scenario);
        };
        const std::optional<Solution> fresh = volts_with(false, 0, Scenario::normal);
        const std::optional<Solution> bare = volts_with(true, 0, Scenario::normal);
        if (!fresh || !bare) return;
        const double want = fresh->nets[at(out)].dc.value(), without = bare->nets[at(out)].dc.value();
        if (want <= 0 || without <= want) return;
        // B-plus falls with the resistor: a secant between two bounds.
        double low = 0, at_low = without, high = old + 20, at_high = 0;
        for (int round = 0; round < 8; ++round) {
            const std::optional<Solution> s = volts_with(true, high, Scenario::normal);
            if (!s) return;
            at_high = s->nets[at(out)].dc.value();
            if (at_high <= want) break;
            low = high;
            at_low = at_high;
            high *= 2;
        }
        if (at_high > want) return;
        double extra = high;
        for (int round = 0; round < 8 && std::fabs(at_high - at_low) > swap_within * want; ++round) {
            extra = low + (high - low) * (at_low - want) / (at_low - at_high);
            const std::optional<Solution> s = volts_with(true, extra, Scenario::normal);
            if (!s) return;
            const double now = s->nets[at(out)].dc.value();
            if (std::fabs(now - want) <= swap_within * want) break;
            (now > want ? low : high) = extra;
            (now > want ? at_low : at_high) = now;
        }
        const double stocked = nearest_stocked(catalogue_, "resistor-ohms", extra);
        const std::optional<Solution> settled = volts_with(true, stocked, Scenario::high_line);
        const std::optional<Solution> usual = volts_with(true, stocked, Scenario::normal);
        if (!settled || !usual) return;
        const Branch* through = of_part(*settled, resistor);
        const double current = through ? std::hypot(through->dc.value(), through->rms.value()) : 0;
        Remedy& r = add(p.id, "selenium",
                        "a new stack gives " + say(volts(want)) + ", silicon in its place " + say(volts(without)) +
                            " with nothing added",
                        true);
        RemedyWay way;
        way.what = "silicon and a resistor";
        way.ohms = stocked;
        way.watts = rated_watts(catalogue_, policy_, current * current * stocked);
        way.volts = usual->nets[at(out)].dc.value();
        way.amps = current;
        way.says = "1 A 1000 V with " + say(ohms(stocked)) + " " + say(watts(*way.watts)) + " (" + say(ohms(extra)) +
                   " solved) beside " + in_line + " in line: B-plus " + say(volts(*way.volts)) + ", " +
                   say(volts(settled->nets[at(out)].dc.value())) + " at the upper line; it burns " +
                   say(watts(current * current * stocked));
        way.danger =
            "B-plus stands there before the tubes are warm: the filters' volts are those of warm-up; the old stack "
            "smells of rotten horseradish when it burns: out with it, do not breathe it";
        r.ways.push_back(std::move(way));
    }

    // --- field coil
    void field(int part, bool goes) {
        const Part& p = chassis_.parts()[at(part)];
        const Branch* b = of_part(*normal_, part);
        if (!b) return;
        const double current = std::fabs(b->dc.value());
        if (current < 1e-3) return;
        const double burns = current * current * *p.ohms;
        // rated for what it burns at the upper line, as what is on the list is
        const Branch* upper = high_ ? of_part(*high_, part) : nullptr;
        const double hot = upper ? std::max(current, std::fabs(upper->dc.value())) : current;
        const std::string loss = say(ohms(*p.ohms)) + " at " + say(amps(current)) + ": " + say(watts(burns)) +
                                 "; where it is open, or a permanent-magnet speaker takes its place";
        const Duties duties = duties_of(chassis_);
        const int a = p.leads.front().net, z = p.leads.back().net;
        if (a >= 0 && z >= 0 && duties.fed[at(a)] != duties.fed[at(z)])
            return field_across(p, duties.fed[at(a)] ? a : z, hot, loss, goes);
        if (const Part* main = longer_section(p)) {
            // the small section of a tapped field drops the bias: a choke adds nothing to it
            Remedy& r =
                add(p.id, "field coil", loss + "; the lesser section of a tapped field, whose volts are a bias", goes);
            RemedyWay way;
            way.what = "a resistor";
            way.ohms = nearest_stocked(catalogue_, "resistor-ohms", *p.ohms);
            way.watts = rated_watts(catalogue_, policy_, hot * hot * *way.ohms);
            way.says = say(ohms(*way.ohms)) + " " + say(watts(*way.watts)) + " in line with what replaces " + main->id +
                       ": " + say(volts(current * *way.ohms)) + " stand on it, as on the coil";
            way.danger = "the bias hangs on it: shorted, the output tube runs away; open, the set is dead";
            r.ways.push_back(std::move(way));
            return;
        }
        const double choke = std::max(50.0, nearest_stocked(catalogue_, "resistor-ohms", *p.ohms * choke_share));
        const double rest = nearest_stocked(catalogue_, "resistor-ohms", *p.ohms - choke);
        Remedy& r = add(p.id, "field coil", loss, goes);
        RemedyWay both;
        both.what = "a choke and a resistor";
        both.ohms = rest;
        both.watts = rated_watts(catalogue_, policy_, hot * hot * rest);
        both.amps = hot;
        both.beside = "choke of 8 to 10 H, " + say(ohms(choke)) + ", for " + say(amps(hot)) + " or more";
        both.says = both.beside + ", and " + say(ohms(rest)) + " " + say(watts(*both.watts)) + " in line (" +
                    say(watts(hot * hot * rest)) + " burnt at the upper line): B-plus and bias stay where they were";
        both.danger = "the filter before it keeps its value; the speaker plug must still break B-plus, or carry a link";
        r.ways.push_back(std::move(both));
        RemedyWay alone;
        alone.what = "a resistor alone";
        alone.ohms = nearest_stocked(catalogue_, "resistor-ohms", *p.ohms);
        alone.watts = rated_watts(catalogue_, policy_, hot * hot * *alone.ohms);
        alone.says = say(ohms(*alone.ohms)) + " " + say(watts(*alone.watts)) +
                     ", with two to three times the microfarads behind it, for it holds back no hum of itself";
        alone.danger = "hot: on metal, off wood and wax";
        r.ways.push_back(std::move(alone));
    }

    /// Of two field coils in line, joined at a net of their own kind, the one of more ohms; nullptr for the one of more
    /// and for one that stands alone.
    const Part* longer_section(const Part& p) const {
        for (const Part& other : chassis_.parts()) {
            if (&other == &p || other.kind != PartKind::coil || other.role != "field" || !other.ohms ||
                *other.ohms <= *p.ohms)
                continue;
            for (const Lead& one : p.leads)
                for (const Lead& far : other.leads)
                    if (one.net >= 0 && one.net == far.net) return &other;
        }
        return nullptr;
    }
    /// A field from the supply to its return carries no set current: what takes its place is a load, or nothing.
    void field_across(const Part& p, int supply, double hot, const std::string& loss, bool goes) {
        const std::string id = p.id;
        const auto without = [&](Scenario scenario) {
            return solved_with(
                [&](Part& one) {
                    if (one.id == id) one.seen = "open";
                },
                scenario);
        };
        const std::optional<Solution> usual = without(Scenario::normal), cold = without(Scenario::warm_up);
        Remedy& r = add(id, "field coil", loss + "; it stands across the supply, in line with nothing", goes);
        RemedyWay load;
        load.what = "a resistor in its place";
        load.ohms = nearest_stocked(catalogue_, "resistor-ohms", *p.ohms);
        const double across = hot * *p.ohms;
        load.watts = rated_watts(catalogue_, policy_, across * across / *load.ohms);
        load.amps = across / *load.ohms;
        load.says = say(ohms(*load.ohms)) + " " + say(watts(*load.watts)) + " from the supply to its return (" +
                    say(watts(across * across / *load.ohms)) +
                    " burnt at the upper line): the supply keeps its volts; no choke, for the coil filtered nothing";
        load.danger = "hot: on metal, off wood and wax";
        r.ways.push_back(std::move(load));
        if (!usual || !cold) return;
        const double now = std::fabs(usual->nets[at(supply)].dc.value()),
                     was = std::fabs(normal_->nets[at(supply)].dc.value()),
                     peak = std::fabs(cold->nets[at(supply)].crest.value());
        RemedyWay none;
        none.what = "nothing in its place";
        none.volts = now;
        none.says = "the supply goes from " + say(volts(was)) + " to " + say(volts(now)) + ", " + say(volts(peak)) +
                    " while the tubes warm at the upper line: only where filters and tubes bear that (stress of the "
                    "set with the coil seen open tells)";
        none.danger = "nothing empties the filters through it any more";
        r.ways.push_back(std::move(none));
    }

    // --- the filters of the list
    void filters(const ShoppingList& list) {
        const Duties duties = duties_of(chassis_);
        const Chassis fitted = with_new_parts(chassis_, list);
        int first = -1;
        for (std::size_t i = 0; i < chassis_.parts().size() && first < 0; ++i) {
            const Part &before = chassis_.parts()[i], &after = fitted.parts()[i];
            if (duties.duty[i] == Duty::first_filter && before.farads && after.farads &&
                std::fabs(*after.farads / *before.farads - 1) > filter_differs)
                first = static_cast<int>(i);
        }
        if (first < 0) return;
        const Outcome<Bench> bench = Bench::make(fitted, catalogue_, policy_);
        if (!bench) return;
        const Outcome<Solution> now = Bench(*bench).solve(condition_of(Scenario::normal));
        if (!now) return;
        const Part& p = chassis_.parts()[at(first)];
        const int plus = p.leads.front().net;
        const auto word_of = [&](const Solution& s) {
            const NetVolts& v = s.nets[at(plus)];
            double peak = 0, copper = 0;
            for (const Branch& b : s.branches) {
                const Part& part = chassis_.parts()[at(b.part)];
                const bool rectifier =
                    part.kind == PartKind::rectifier ||
                    (part.kind == PartKind::socket && part.type && part.type->is_rectifier() && b.lead.front() == 'p');
                if (rectifier) peak = std::max(peak, std::fabs(b.peak.value()));
                for (const PartWinding& w : part.windings)
                    if (w.role == WindingRole::plate && (b.lead == w.name || b.lead.rfind(w.name + ".", 0) == 0))
                        copper += b.watts.value();
            }
            std::string text = say(volts(v.dc.value())) + ", ripple " + say(volts(v.ripple_pp.value())) +
                               " p-p, peak plate current " + say(amps(peak));
            if (copper > 0) text += ", plate winding " + say(watts(copper));
            return text;
        };
        Remedy& r = add(p.id, "first filter",
                        say(farads(*p.farads)) + " to " + say(farads(*fitted.parts()[at(first)].farads)) +
                            ": the supply was solved again with the new parts in place",
                        true);
        RemedyWay way;
        way.what = "with the new one";
        way.volts = now->nets[at(plus)].dc.value();
        way.farads = *fitted.parts()[at(first)].farads;
        way.says = word_of(*now) + "; with the old value " + word_of(*normal_);
        r.ways.push_back(std::move(way));
    }

    // --- heaters at today's line
    static double worst_ratio(const Solution& s) {
        double most = 0;
        for (const HeaterVolts& h : s.heaters)
            if (h.rated.value() > 0) most = std::max(most, h.across.value() / h.rated.value());
        return most;
    }
    /// Of tubes alone: a lamp that is bright costs a lamp.
    double tubes_ratio(const Solution& s) const {
        double most = 0;
        for (const HeaterVolts& h : s.heaters)
            if (h.rated.value() > 0 && chassis_.parts()[at(h.part)].kind == PartKind::socket)
                most = std::max(most, h.across.value() / h.rated.value());
        return most > 0 ? most : worst_ratio(s);
    }
    /// Nets that are a blade of the plug through copper, as the selector stands.
    std::vector<bool> fed_by_line() const {
        std::vector<bool> fed(chassis_.nets().size(), false);
        std::vector<int> queue{chassis_.nodes().line_hot, chassis_.nodes().line_neutral};
        while (!queue.empty()) {
            const int net = queue.back();
            queue.pop_back();
            if (net < 0 || fed[at(net)]) continue;
            fed[at(net)] = true;
            for (const LeadRef& ref : chassis_.nets()[at(net)].leads) {
                const Part& p = chassis_.parts()[at(ref.part)];
                const bool through = p.kind == PartKind::wire || p.kind == PartKind::fuse || p.kind == PartKind::cord ||
                                     (p.kind == PartKind::power_switch && (p.closed || p.role == "line"));
                for (const Lead& lead : p.leads)
                    if (through) queue.push_back(lead.net);
            }
        }
        return fed;
    }
    /// A primary of which the line feeds fewer turns than there are: the lead that all of them end in, and how many
    /// times the turns they are.
    struct FurtherTap {
        int part = -1, lead = -1;
        double turns = 1, volts = 0;
    };
    std::optional<FurtherTap> further_tap() const {
        const std::vector<bool> fed = fed_by_line();
        for (std::size_t i = 0; i < chassis_.parts().size(); ++i) {
            const Part& p = chassis_.parts()[i];
            if (p.kind != PartKind::transformer || p.role != "power") continue;
            for (const PartWinding& w : p.windings) {
                if (w.role != WindingRole::primary || w.leads.size() < 3 || w.noload_volts.size() + 1 != w.leads.size())
                    continue;
                const auto on_line = [&](std::size_t k) {
                    const int net = p.leads[at(w.leads[k])].net;
                    return net >= 0 && fed[at(net)];
                };
                std::size_t first = 0, last = 0;
                bool any = false;
                for (std::size_t k = 0; k < w.leads.size(); ++k) {
                    if (!on_line(k)) continue;
                    if (!any) first = k;
                    last = k;
                    any = true;
                }
                const double all = std::accumulate(w.noload_volts.begin(), w.noload_volts.end(), 0.0),
                             used = std::accumulate(w.noload_volts.begin() + static_cast<std::ptrdiff_t>(first),
                                                    w.noload_volts.begin() + static_cast<std::ptrdiff_t>(last), 0.0);
                if (!any || !(used > 0) || used >= all) continue;
                const std::size_t end = last + 1 < w.leads.size() ? w.leads.size() - 1 : 0;
                return FurtherTap{static_cast<int>(i), w.leads[end], all / used, all};
            }
        }
        return std::nullopt;
    }
    void heaters() {
        const Family family = chassis_.family();
        if (family == Family::vehicle || family == Family::battery || normal_->line_hertz <= 0) return;
        // The line as it was read, or where nobody said what it is the upper limit.
        const bool read = policy_.line.volts.value() > 0;
        const std::optional<Solution>& there = read ? normal_ : high_;
        if (!there) return;
        const double ratio = tubes_ratio(*there);
        if (ratio < heater_notable) return;
        const double line = there->line_volts;
        // Heaters follow the line within a little, their own and the rectifier's load: two rounds settle it.
        double wanted = line / ratio;
        std::optional<Solution> eased;
        for (int round = 0; round < 3; ++round) {
            Outcome<Solution> s = bench_.solve(condition_of(Scenario::normal, wanted));
            if (!s) return;
            eased = std::move(*s);
            wanted /= tubes_ratio(*eased);
        }
        LineRemedy m;
        m.wanted_volts = wanted;
        m.amps = eased->drawn.value();
        if (m.amps <= 0) return;
        m.ohms = (line - wanted) / m.amps;
        m.watts = (line - wanted) * m.amps;
        for (const double v : bucking_windings)
            if (m.bucking_volts == 0 || std::fabs(v - (line - wanted)) < std::fabs(m.bucking_volts - (line - wanted)))
                m.bucking_volts = v;
        m.bucking_va = m.bucking_volts * m.amps * bucking_spare;
        m.volts_with_bucking = line - m.bucking_volts;
        const Outcome<Solution> bucked = bench_.solve(condition_of(Scenario::normal, m.volts_with_bucking));
        Remedy& r = add("", "heaters at the line",
                        "at " + say(volts(line)) + (read ? "" : ", the upper limit (--line gives yours),") +
                            " the hottest heater stands at " + figure(100 * ratio) + " % of its volts in service" +
                            (ratio > heater_limit ? ", over the tenth that tube manuals allow (recalled)"
                                                  : "; a tenth is allowed (recalled)") +
                            "; " + say(volts(wanted)) + " at the set brings it to its volts",
                        ratio > heater_limit);
        if (const std::optional<FurtherTap> tap = further_tap()) {
            // the same volts a turn as from so much less of a line on the turns that are fed now
            const Outcome<Solution> on_all = bench_.solve(condition_of(Scenario::normal, line / tap->turns));
            const Part& p = chassis_.parts()[at(tap->part)];
            RemedyWay moved;
            moved.what = "the tap for " + say(volts(tap->volts));
            moved.volts = tap->volts;
            moved.says = "the line between all turns of the primary, to " +
                         chassis_.nets()[at(p.leads[at(tap->lead)].net)].name +
                         (on_all ? ": heaters at " + figure(100 * tubes_ratio(*on_all)) + " %" : std::string()) +
                         "; nothing to buy, no heat";
            moved.danger =
                "plug out; the selector of " + p.id + " or its link, never a part of the primary left between";
            r.ways.push_back(std::move(moved));
        }
        if (family == Family::ac_transformer) {
            RemedyWay bucking;
            bucking.what = "a bucking winding";
            bucking.volts = m.bucking_volts;
            bucking.amps = m.amps;
            bucking.says =
                "a filament transformer of " + figure(m.bucking_volts, 1) + " V " + figure(std::ceil(m.bucking_va)) +
                " VA or more, its secondary in the line against it: " + say(volts(m.volts_with_bucking)) +
                " at the set" + (bucked ? ", heaters at " + figure(100 * tubes_ratio(*bucked)) + " %" : std::string()) +
                "; no heat, and the same at every load";
            bucking.danger =
                "wired the other way round it adds: read the volts before the set is on it; fused with the set";
            r.ways.push_back(std::move(bucking));
        }
        RemedyWay resistor;
        resistor.what = "a resistor in the line";
        resistor.ohms = nearest_stocked(catalogue_, "resistor-ohms", m.ohms);
        resistor.watts = rated_watts(catalogue_, policy_, m.watts);
        resistor.amps = m.amps;
        resistor.says = say(ohms(*resistor.ohms)) + " " + say(watts(*resistor.watts)) + " (" + say(watts(m.watts)) +
                        " burnt at " + say(amps(m.amps)) + ")";
        resistor.danger = "hot; takes less while the set is cold and more in a fault";
        r.ways.push_back(std::move(resistor));
    }

    const Chassis& chassis_;
    const Catalogue& catalogue_;
    const Policy& policy_;
    Bench bench_;
    std::optional<Solution> normal_, high_;
    std::vector<Remedy> made_;
};

}  // namespace

StringDroppers string_droppers(double line_volts, double hertz, double string_volts, double string_amps,
                               double surge_ohms) {
    StringDroppers d;
    d.ohms = (line_volts - string_volts) / string_amps;
    d.watts = (line_volts - string_volts) * string_amps;
    if (hertz <= 0) return d;
    const double in_phase = string_volts + string_amps * surge_ohms;
    d.surge_watts = string_amps * string_amps * surge_ohms;
    if (in_phase < line_volts)
        d.farads = string_amps / (two_pi * hertz * std::sqrt(line_volts * line_volts - in_phase * in_phase));
    const double half_wave = line_volts / std::sqrt(2.0);
    d.diode_ohms = std::max(0.0, (half_wave - string_volts) / string_amps);
    d.diode_watts = d.diode_ohms * string_amps * string_amps;
    d.amps_diode_shorted = line_volts / (string_volts / string_amps + d.diode_ohms);
    return d;
}

Chassis with_new_parts(const Chassis& chassis, const ShoppingList& list) {
    return changed(chassis, [&](Part& part) {
        if (part.kind != PartKind::capacitor && part.kind != PartKind::resistor) return;
        for (const ShopLine& l : list.lines)
            for (std::size_t k = 0; k < l.for_parts.size(); ++k) {
                if (l.for_parts[k] != part.id) continue;
                const bool pair = k < l.pieces.size() && l.pieces[k] == 2;
                if (part.kind == PartKind::capacitor && l.value_farads) {
                    part.farads = pair ? *l.value_farads / 2 : *l.value_farads;
                    if (l.rated_volts) part.rated_volts = pair ? *l.rated_volts * 2 : *l.rated_volts;
                    part.seen.clear();
                }
                if (part.kind == PartKind::resistor && l.value_ohms) {
                    part.ohms = *l.value_ohms;
                    if (l.rated_watts) part.rated_watts = *l.rated_watts;
                    part.seen.clear();
                }
            }
    });
}

namespace {

/// A resistor of a remedy as a line of the list.
ShopLine resistor_line(const Catalogue& catalogue, const std::string& part, const RemedyWay& way,
                       const std::string& why) {
    ShopLine l;
    l.quantity = 1;
    l.what = *way.watts >= 3 ? "power resistor" : "resistor";
    l.group = "resistors";
    l.value_ohms = way.ohms;
    l.value_text = say(ohms(*way.ohms));
    l.rated_watts = way.watts;
    l.for_parts = {part};
    l.pieces = {1};
    l.price_row = *way.watts >= 3 ? "resistor-power" : "resistor";
    l.package = *way.watts >= 3 ? "wirewound or metal oxide, off the board and off wax" : "";
    if (const StepCost* c = catalogue.step_cost(l.price_row)) l.unit_cost = l.total_cost = c->cost;
    l.why = part + ": " + why;
    return l;
}

}  // namespace

void buy_remedies(ShoppingList& list, const Catalogue& catalogue) {
    double more = 0;
    for (const Remedy& r : list.remedies) {
        if (!r.wanted || r.ways.empty()) continue;
        const RemedyWay& way = r.ways.front();
        if (!way.ohms || !way.watts) continue;
        const auto bought = std::find_if(list.lines.begin(), list.lines.end(), [&](const ShopLine& l) {
            return l.group == "other" && l.for_parts == std::vector<std::string>{r.part};
        });
        if (bought == list.lines.end()) continue;
        std::string why;
        if (r.topic == "selenium") {
            why = "in line with the silicon diode, which is never without it";
        } else if (r.topic == "field coil") {
            const std::string resistor = "the " + say(ohms(*way.ohms)) + " of this list";
            if (way.beside.empty()) {
                why = "in the place of the field coil";
                bought->why += "; EITHER " + resistor +
                               " in its place and a speaker with a permanent magnet, OR the coil rewound or out of a "
                               "like speaker, and then no resistor";
            } else {
                why = "in line with the choke in the place of the field coil";
                bought->why += "; EITHER the choke, with " + resistor +
                               " in line and a speaker with a permanent magnet, OR the coil rewound or out "
                               "of a like speaker, and then neither";
                bought->what = way.beside + ", in place of the " + bought->what;
            }
        } else {
            continue;
        }
        ShopLine line = resistor_line(catalogue, r.part, way, why);
        more += line.total_cost.value_or(0);
        // behind the last of its group, or ahead of the groups that come after it
        auto place = list.lines.begin();
        for (auto l = list.lines.begin(); l != list.lines.end(); ++l)
            if (l->group == "safety" || l->group == "capacitors" || l->group == "resistors") place = l + 1;
        list.lines.insert(place, std::move(line));
    }
    if (more == 0) return;
    for (std::size_t k = 0; k < list.lines.size(); ++k) list.lines[k].line = static_cast<int>(k) + 1;
    const double before = list.cost.value_or(0), now = cents(before + more);
    list.cost = now;
    list.cost_low = std::round(now * cost_low);
    list.cost_high = std::round(now * cost_high);
}

std::vector<Remedy> remedies_of(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy,
                                const ShoppingList& list, std::span<const PartAction> actions, const Bench& bench) {
    return Remedies(chassis, catalogue, policy, bench).all(list, actions);
}

}  // namespace tubewright::choice
