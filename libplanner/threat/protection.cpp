// SPDX-License-Identifier: MIT
// See protection.hpp.
#include "threat/protection.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "policy/policy.hpp"
#include "threat/chain.hpp"
#include "threat/yardstick.hpp"

namespace tubewright {
namespace threat {
namespace {

using stress::Loads;

constexpr double runs_at = 0.9;           ///< of its rating at the upper line, at most
constexpr double practice_at = 0.75;      ///< of a UL rating, for years without nuisance (common practice)
constexpr double inrush_margin = 2;       ///< melting I2t over the worst inrush
constexpr double glass_volts = 250;       ///< of the small fuses of both families
constexpr double house_line_amps = 1000;  ///< what a short at an outlet may draw (assumed)
constexpr double ul_breaks_at_125 = 10e3, ul_breaking_volts = 125;  ///< as quoted

/// A gate: at so many times its rating the fuse opens no sooner and no later.
struct Gate {
    double times;
    std::optional<double> earliest, latest;
};
/// IEC 60127-2 sheet 3, over 100 mA; up to 1.5 times it holds for an hour. As quoted.
constexpr double iec_holds_at = 1.5, iec_opens_at = 2.1;
constexpr std::array iec_gates{Gate{2.1, {}, 120.0}, Gate{2.75, 0.6, 10.0}, Gate{4, 0.15, 3.0}, Gate{10, 0.02, 0.3}};
/// UL 248-14: holds its rating for four hours, opens at 1.35 times within one; at twice its rating within two minutes,
/// a time-lag one after 5 to 30 s (a maker's guide). As quoted.
constexpr double ul_holds_at = 1.0, ul_opens_at = 2.0;
constexpr std::array ul_gates{Gate{1.35, {}, 3600.0}, Gate{2, 5.0, 30.0}};

template <class Gates>
void between_gates(const Gates& gates, FuseVerdict& v) {
    for (const Gate& g : gates) {
        if (g.times <= v.times_rating) v.latest_seconds = g.latest;
        if (!v.earliest_seconds && g.times >= v.times_rating) v.earliest_seconds = g.earliest;
    }
}
/// The least current for which the family says that nothing opens before a time.
double fastest_gate(const std::string& family) {
    return is_ul(family) ? ul_gates.back().times : iec_gates[1].times;
}

std::vector<const FuseRow*> ladder_of(const Catalogue& catalogue, const std::string& family) {
    std::vector<const FuseRow*> ladder;
    for (const FuseRow& f : catalogue.fuses())
        if (f.family.rfind(family, 0) == 0) ladder.push_back(&f);
    std::sort(ladder.begin(), ladder.end(), [](const FuseRow* a, const FuseRow* b) { return a->amps < b->amps; });
    return ladder;
}

/// The smallest rating from `least` up; 0 past the end.
double rating_from(const std::vector<const FuseRow*>& ladder, double least) {
    for (const FuseRow* f : ladder)
        if (f->amps >= least * (1 - 1e-9)) return f->amps;
    return 0;
}

double nominal_line(const Chassis& chassis, const Policy& policy) {
    return policy.line.volts.value() > 0 ? policy.line.volts.value() : chassis.line().volts;
}

}  // namespace

bool is_ul(const std::string& family) {
    return family.rfind("UL", 0) == 0;
}

double surely_opens_at(const std::string& family) {
    return is_ul(family) ? ul_opens_at : iec_opens_at;
}

FuseVerdict verdict_of(const std::string& family, double amps, double rated, const std::optional<double>& damage) {
    FuseVerdict v;
    if (rated <= 0) return v;
    v.times_rating = amps / rated;
    if (v.times_rating <= (is_ul(family) ? ul_holds_at : iec_holds_at)) {
        v.verdict = "holds";
        return v;
    }
    if (is_ul(family))
        between_gates(ul_gates, v);
    else
        between_gates(iec_gates, v);
    if (v.times_rating < surely_opens_at(family))
        v.verdict = "may-open";
    else
        v.verdict = !damage || *v.latest_seconds < *damage ? "opens" : "late";
    return v;
}

std::vector<const Threat*> harmful_rows(const Chassis& chassis, std::span<const Threat> rows) {
    std::vector<const Threat*> found;
    for (const Threat& t : rows) {
        const int target = chassis.part(t.target);
        if (t.ahead_of_primary || !t.solved || t.beta <= 0 || target < 0) continue;
        const Part& p = chassis.parts()[static_cast<std::size_t>(target)];
        // the same fault may burn two of them: one line fuse sees it once
        if (p.kind == PartKind::transformer && p.role == "power" &&
            std::none_of(found.begin(), found.end(), [&](const Threat* f) { return f->fault.id == t.fault.id; }))
            found.push_back(&t);
    }
    std::stable_sort(found.begin(), found.end(),
                     [](const Threat* a, const Threat* b) { return a->criticality > b->criticality; });
    return found;
}

FuseSizes sizes_for(const Catalogue& catalogue, const std::string& family, double line_amps,
                    std::span<const Threat* const> harmful) {
    const std::vector<const FuseRow*> ladder = ladder_of(catalogue, family);
    FuseSizes out;
    out.smallest = out.chosen = rating_from(ladder, line_amps / runs_at);
    if (out.smallest == 0) return out;
    out.next = rating_from(ladder, out.smallest * 1.001);
    const double opens_at = surely_opens_at(family);
    const auto seen = [&](double rated) {
        return std::count_if(harmful.begin(), harmful.end(),
                             [&](const Threat* t) { return t->drawn_amps_rms >= opens_at * rated; });
    };
    out.next_sees_less = out.next > 0 && seen(out.next) < seen(out.smallest);
    if (is_ul(family) && line_amps > out.smallest * practice_at && !harmful.empty() && out.next > 0 &&
        line_amps <= out.next * practice_at && !out.next_sees_less)
        out.chosen = out.next;
    return out;
}

double open_peak(const Chassis& chassis, const PartWinding& winding, double upper) {
    double half = winding.volts.value_or(0);
    for (const double v : winding.noload_volts) half = std::max(half, v);
    const double marked = chassis.line().volts > 0 ? chassis.line().volts : upper;
    return half * std::sqrt(2.0) * upper / marked;
}

namespace {

class Protector {
  public:
    Protector(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy, Bench& bench,
              const ThreatReport& report, const Solution& healthy)
        : chassis_(chassis),
          catalogue_(catalogue),
          policy_(policy),
          bench_(bench),
          report_(report),
          family_(fuse_family(policy, nominal_line(chassis, policy))),
          upper_(upper_line_volts(policy, nominal_line(chassis, policy))),
          yard_(chassis, catalogue, policy, healthy) {
        find_harmful();
    }

    Protection run() {
        Protection out;
        if (yard_.healthy.line_hertz <= 0 || chassis_.nodes().line_hot < 0) {
            out.primary.why = out.centre_tap.why = out.lamp.why =
                "no alternating line: fuses and lamps are judged for sets on the line alone";
            return out;
        }
        primary(out.primary);
        centre_tap(out.centre_tap);
        lamp(out.lamp);
        return out;
    }

  private:
    void find_harmful() {
        for (std::size_t i = 0; i < report_.rows.size(); ++i) {
            const Threat& t = report_.rows[i];
            const bool counts = !t.ahead_of_primary && t.solved && t.beta > 0 &&
                                (report_.transformer.empty() || report_.is_power_transformer(t.target));
            if (counts) harmful_.push_back(i);
        }
        std::stable_sort(harmful_.begin(), harmful_.end(), [this](std::size_t a, std::size_t b) {
            return report_.rows[a].criticality > report_.rows[b].criticality;
        });
    }

    std::optional<Solution> solve(Scenario scenario) {
        Condition c;
        c.scenario = scenario;
        FaultSolution s = bench_.solve(c, {}, false);
        if (!s.solved) return {};
        return std::move(s.solution);
    }

    std::string none_serves(const std::vector<const FuseRow*>& ladder) const {
        if (!ladder.empty()) return "no fuse of " + family_ + " is large enough";
        return "the tables have no ratings and gates of " + family_ + ", and no fuse of it is judged";
    }

    /// Smallest rating that bears the place: running, surge of cold heaters, inrush; what pushed it up is said.
    void size(FuseStudy& study, double from, double surge, const std::optional<double>& inrush, bool on_line) const {
        const std::vector<const FuseRow*> ladder = ladder_of(catalogue_, family_);
        study.standard = family_;
        study.rated_volts = glass_volts;
        study.surge_amps = surge;
        study.inrush_i2t = inrush;
        for (const FuseRow* f : ladder) {
            if (f->amps < from * (1 - 1e-9)) continue;
            std::string fails;
            if (surge > fastest_gate(family_) * f->amps)
                fails = "cold heaters draw " + say(amps(surge)) + ", more than its fastest gate at " +
                        figure(fastest_gate(family_)) + " times its rating";
            else if (inrush && f->melting_i2t && *f->melting_i2t < inrush_margin * *inrush)
                fails = "the worst inrush of " + figure(*inrush) + " A2s is over half of the " +
                        figure(*f->melting_i2t) + " A2s that melt it";
            if (!fails.empty()) {
                study.why += (study.why.empty() ? "" : "; ") + say(amps(f->amps)) + " will not do: " + fails;
                continue;
            }
            study.amps = f->amps;
            study.breaking_amps = is_ul(family_) && nominal_line(chassis_, policy_) <= ul_breaking_volts && on_line
                                      ? ul_breaks_at_125
                                      : f->breaking_amps.value_or(0);
            study.melting_i2t = f->melting_i2t;
            study.normal_over_rating = study.carried_amps / f->amps;
            return;
        }
        study.why += (study.why.empty() ? "" : "; ") + none_serves(ladder);
    }

    /// `stands`: the rows about what it stands in the way of.
    template <class AmpsOf, class Stands>
    void judge(FuseStudy& study, const AmpsOf& amps_of, const Stands& stands) const {
        std::vector<std::size_t> harmful;
        for (const std::size_t i : harmful_)
            if (stands(report_.rows[i])) harmful.push_back(i);
        study.harmful = harmful.size();
        if (study.amps <= 0) return;
        study.verdicts.resize(report_.rows.size());
        for (std::size_t i = 0; i < report_.rows.size(); ++i) {
            const Threat& t = report_.rows[i];
            // of a fault ahead of the primary nothing passes this way that the row knows
            if (t.solved && !t.ahead_of_primary && stands(t))
                study.verdicts[i] = verdict_of(family_, amps_of(t), study.amps, t.seconds_to_damage_low);
        }
        for (const std::size_t i : harmful)
            if (study.verdicts[i].verdict != "opens" &&
                std::find(study.unseen.begin(), study.unseen.end(), report_.rows[i].fault.id) == study.unseen.end())
                study.unseen.push_back(report_.rows[i].fault.id);
    }

    void primary(FuseStudy& study) {
        const std::optional<Solution> high = solve(Scenario::high_line), on = solve(Scenario::switch_on);
        // whatever the line feeds passes through it, not one primary alone
        study.carried_amps = yard_.line_amps(yard_.healthy);
        if (high) study.carried_amps = std::max(study.carried_amps, yard_.line_amps(*high));
        study.volts_needed = upper_;
        std::optional<double> inrush;
        if (yard_.power >= 0) {
            double siemens = 0;  // of all primaries side by side
            for (const PowerTransformer& t : yard_.transformers) {
                double ohms = 0;
                for (const WindingCopper& w : t.windings)
                    if (w.place == Place::inner) ohms += w.ohms;
                if (ohms > 0) siemens += 1 / ohms;
            }
            if (siemens > 0) {
                const double ohms = 1 / siemens;
                // the cores full for half a cycle, the copper alone in their way: an upper bound
                const double peak = std::sqrt(2.0) * upper_ / ohms;
                inrush = peak * peak / (2 * yard_.healthy.line_hertz);
                study.breaking_needed = upper_ / ohms;
            }
        } else {
            study.breaking_needed = house_line_amps;
        }
        std::vector<const Threat*> rows;
        for (const std::size_t i : harmful_) rows.push_back(&report_.rows[i]);
        const FuseSizes sizes = sizes_for(catalogue_, family_, study.carried_amps, rows);
        if (sizes.chosen <= 0) {
            study.standard = family_;
            study.why =
                "the set draws " + say(amps(study.carried_amps)) + ": " + none_serves(ladder_of(catalogue_, family_));
            study.harmful = harmful_.size();
            return;
        }
        if (sizes.chosen > sizes.smallest)
            study.why =
                say(amps(sizes.smallest)) + " would run over " + figure(practice_at) + " of its rating and see no more";
        size(study, sizes.chosen, on ? yard_.line_amps(*on) : 0, inrush, true);
        // hot copper lets less through, and what opens must open on that
        judge(
            study,
            [](const Threat& t) { return std::min(t.drawn_amps_rms, t.drawn_amps_rms_hot.value_or(t.drawn_amps_rms)); },
            [](const Threat&) { return true; });
    }

    void centre_tap(FuseStudy& study) {
        const PartWinding* winding = nullptr;
        if (yard_.power >= 0)
            for (const PartWinding& w : chassis_.parts()[static_cast<std::size_t>(yard_.power)].windings)
                if (w.role == WindingRole::plate && w.leads.size() == 3 && winding == nullptr) winding = &w;
        if (winding == nullptr) {
            study.why = "the set has no plate winding with a centre tap";
            return;
        }
        study.carried_amps = yard_.tap_amps(yard_.healthy);
        if (const std::optional<Solution> high = solve(Scenario::high_line))
            study.carried_amps = std::max(study.carried_amps, yard_.tap_amps(*high));
        study.volts_needed = open_peak(chassis_, *winding, upper_);
        size(study, study.carried_amps / runs_at, 0, {}, false);
        study.holds_volts = study.rated_volts >= study.volts_needed;
        // no other transformer's current passes that tap
        judge(
            study,
            [](const Threat& t) { return std::min(t.tap_amps_rms, t.tap_amps_rms_hot.value_or(t.tap_amps_rms)); },
            [&](const Threat& t) {
                return t.target == report_.transformer || !report_.is_power_transformer(t.target);
            });
    }

    // ---- the lamp

    struct Behind {
        bool solved = false, windings = true, ratings = true;
        std::string winding_fails, rating_fails;
        std::size_t failed = 0;  ///< the fault that heats a winding, else the one furthest over a rating
    };

    /// Every fault that does anything at full line, behind this lamp; stops at the first winding that is not saved, or
    /// at the first rating where that is all that is asked.
    Behind behind(const Condition& c, const std::vector<Fault>& faults, bool first_rating_ends) {
        Behind out;
        const FaultSolution sound = bench_.solve(c, {}, false);
        if (!sound.solved) return out;
        out.solved = true;
        double worst = 1;
        // the first is what the last lamp failed by: shot alone, and most lamps fail there
        for (std::size_t from = 0, n = 1; from < faults.size(); from += n) {
            n = from == 0 ? 1 : std::min<std::size_t>(16, faults.size() - from);
            if (from >= heat_windings_ && !out.ratings) break;
            std::vector<FaultSolution> found;
            if (from == 0)
                found.push_back(bench_.solve(c, std::span(faults).first(1), false));
            else
                found = bench_.sweep(c, std::span(faults).subspan(from, n));
            for (std::size_t k = 0; k < n; ++k) {
                if (!found[k].solved) continue;
                const Fault& fault = faults[from + k];
                const Loads loads(chassis_, found[k].solution);
                for (const PowerTransformer& t : yard_.transformers) {
                    const Course end = t.heatings[hot].steady(yard_.heat_of(t, loads, &fault));
                    const double class_a = std::max(ageing_celsius, t.heatings[hot].healthy_celsius() + 1);
                    if (end.steady_celsius > class_a) {
                        out.windings = out.ratings = false;
                        out.failed = from + k;
                        out.winding_fails =
                            fault.id + " still heats " +
                            t.windings[static_cast<std::size_t>(std::max(end.hottest, 0))].name + " to " +
                            (end.steady_celsius >= ceiling_celsius ? "over " + figure(ceiling_celsius)
                                                                   : figure(std::round(end.steady_celsius))) +
                            " C at the hot end of the assumptions";
                        return out;
                    }
                }
                const std::vector<Overload> over = yard_.overloads_of(loads);
                if (over.empty() || over.front().value / over.front().limit <= worst) continue;
                worst = over.front().value / over.front().limit;
                out.ratings = false;
                out.failed = from + k;
                out.rating_fails = over.front().part + " " + over.front().quantity + " " + figure(over.front().value) +
                                   " of " + figure(over.front().limit) + " (" + fault.id + ")";
                if (first_rating_ends) return out;
            }
        }
        return out;
    }

    void to_front(std::vector<Fault>& faults, std::size_t which) {
        const auto at = faults.begin() + static_cast<std::ptrdiff_t>(which);
        if (at >= faults.end()) return;
        if (which >= heat_windings_) ++heat_windings_;
        std::rotate(faults.begin(), at, at + 1);
    }

    void lamp(LampStudy& study) {
        constexpr std::array sizes{25.0, 40.0, 60.0, 75.0, 100.0, 150.0};
        study.volts = nominal_line(chassis_, policy_) < 150 ? 120 : 230;
        if (yard_.power < 0) {
            study.why = "the set has no power transformer for it to save";
            return;
        }
        // what harms nothing without a lamp harms nothing behind one; windings first, then what is furthest over
        std::vector<std::pair<std::pair<double, double>, const Threat*>> rows;
        for (const Threat& t : report_.rows) {
            if (!t.solved || t.ahead_of_primary || (t.beta <= 0 && t.overloads.empty())) continue;
            if (t.fault.mode == FaultMode::layer_short) continue;  // lost already, whatever is in series
            const bool of_winding = report_.is_power_transformer(t.target) && t.beta > 0;
            const double heats = of_winding ? t.primary_amps_rms : 0;
            const auto known =
                std::find_if(rows.begin(), rows.end(), [&](const auto& r) { return r.second->fault.id == t.fault.id; });
            if (known != rows.end()) {
                known->first.first = std::max(known->first.first, heats);  // another transformer's winding
                continue;
            }
            double over = 0;
            for (const Overload& o : t.overloads) over = std::max(over, o.value / o.limit);
            rows.push_back({{heats, over}, &t});
        }
        std::stable_sort(rows.begin(), rows.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
        std::vector<Fault> faults;
        for (const auto& row : rows) {
            if (row.first.first > 0) heat_windings_ = faults.size() + 1;
            faults.push_back(row.second->fault);
        }
        Condition c;
        c.scenario = Scenario::lamp;
        c.lamp_volts = study.volts;
        for (auto watts = sizes.rbegin(); watts != sizes.rend(); ++watts) {
            c.lamp_watts = *watts;
            const Behind there = behind(c, faults, study.watts > 0);
            if (!there.solved) continue;
            if (!there.windings) {
                study.next_fails = figure(*watts) + " W: " + there.winding_fails;
                to_front(faults, there.failed);
                continue;
            }
            if (study.watts == 0) {
                study.watts = *watts;
                study.ratings_fail = there.rating_fails;
                to_front(faults, there.failed);
            }
            if (there.ratings) {
                study.ratings_watts = *watts;
                break;
            }
        }
        if (study.watts == 0) {
            study.why = "no lamp from 25 W up keeps every winding under its class in every single fault";
            return;
        }
        c.lamp_watts = study.watts;
        const Outcome<Solution> sound = bench_.solve(c);
        if (!sound) return;
        study.set_volts = sound->set_volts;
        study.lamp_volts = sound->lamp_volts;
        for (const NetVolts& net : sound->nets)
            if (net.dc.value() > study.b_plus_volts) {
                study.b_plus_volts = net.dc.value();
                study.b_plus_net = net.name;
            }
    }

    const Chassis& chassis_;
    const Catalogue& catalogue_;
    const Policy& policy_;
    Bench& bench_;
    const ThreatReport& report_;
    std::string family_;
    double upper_;
    Yardstick yard_;
    std::vector<std::size_t> harmful_;  ///< rows, the worst by criticality first
    std::size_t heat_windings_ = 0;     ///< so many of the lamp's faults heat a winding at full line
};

}  // namespace
}  // namespace threat

Outcome<Protection> protection_of(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy,
                                  Bench& bench, const ThreatReport& report) {
    Outcome<Solution> healthy = bench.solve(Condition{});
    if (!healthy) return healthy.notices();
    return threat::Protector(chassis, catalogue, policy, bench, report, *healthy).run();
}

}  // namespace tubewright
