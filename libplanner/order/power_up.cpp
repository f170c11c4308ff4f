// SPDX-License-Identifier: MIT
// The power-up sheet of a set with a power transformer: label, eyes, cold ohms, transformer alone, heaters, rectifier
// behind the lamp, a larger lamp, full line, soak, touch current. Every reading is solved for its stage's condition
// with the line and the meter of the policy. Each half of a plate winding is read to its centre tap. Gates are boxes
// until there is a log. Test: tests/order/power_up_test.cpp.
#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>
#include <tuple>

#include "bench/residue.hpp"
#include "chassis/data.hpp"
#include "chassis/earth.hpp"
#include "chassis/graph.hpp"
#include "choice/duty.hpp"
#include "choice/figure.hpp"
#include "choice/safety.hpp"
#include "order/numbers.hpp"
#include "order/order.hpp"
#include "policy/policy.hpp"

namespace tubewright {
namespace {

using choice::figure;
using choice::listed;
using K = ActKind;

constexpr double winding_band = 0.05;              // turns and meter (assumed)
constexpr double amps_band = 0.5;                  // no-load amperes rest on an assumed core (assumed)
constexpr double ohms_low = 0.8, ohms_high = 1.4;  // carbon drifts upward (assumed)
constexpr double filament_enough = 0.6;  // of its volts, under which a rectifier's B-plus means nothing (assumed)
constexpr double alone_lamp_watts = 40;  // small: a healthy transformer leaves it dark (common practice)
constexpr double most_lamp_times = 2.5;  // of what the set draws: a larger one than is stocked tells nothing (assumed)
constexpr double larger_lamp = 1.6;      // times the set's watts (common practice)
constexpr double line_wander = 0.03;     // of the line while one reads, and of the meter on it (assumed)
constexpr double lamp_spread = 0.05;     // of a lamp's watts, new (assumed)
constexpr double stop_under = 0.5;       // of the solved ohms: do not power (H19)
constexpr double open_over = 1e6;        // ohms: an open reads more (assumed)
constexpr std::size_t table_faults = 3;
constexpr int table_tries = 24;
constexpr std::size_t trial_faults = 10;  // the likeliest, beside every short that loads B-plus
constexpr double grid_most = 0.5;
constexpr double rating_near = 3;       // times the highest sound reading: a rating beyond it stops nothing
constexpr double dried_share = 0.5;     // of a filter's value: its end (assumed)
constexpr double filter_spread = 0.2;   // of a new filter's value (common practice)
constexpr double reversed_volts = 1.5;  // an electrolytic bears this backwards (common practice)
constexpr double seen_on_scale = 0.02;  // of a range: less is no reading
constexpr double told_apart = 0.02;     // of the lamp's volts: less, and no eye tells two faults apart
constexpr double discharge_ohms = 10e3, clip_seconds = 5, empty_volts = 10;
constexpr double watts_over_band = 1.25;  // of an assumed core's losses: no iron explains more (assumed)
constexpr double bleeds_within = 600;     // seconds: slower is leakage, not a bleeder (assumed)
constexpr double least_ripple = 0.05;     // volts that leads on a bench pick up (assumed)
constexpr double touch_ohms = 47e3, touch_volts = 24;
constexpr double network_ohms = 1500, network_farads = 0.15e-6, network_volts = 0.75;
constexpr double pi = 3.14159265358979323846;

std::size_t at(int i) {
    return static_cast<std::size_t>(i);
}

const char* const half_minute = "in the first half minute";
/// Words of a reading that was not taken at full line with all tubes warm.
constexpr std::array not_at_full_line{"lamp", "warm-up", "cold", "rectifier out", "heaters"};

const char* glow(double share) {
    if (share < 0.10) return "dark";
    if (share < 0.25) return "dull red";
    if (share < 0.50) return "orange";
    if (share < 0.80) return "yellow";
    return "white";
}

class Sheet {
  public:
    Sheet(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy, Bench& bench,
          const ThreatReport& threats, const Progress& progress, const LampChoice& lamp, std::string fuse)
        : chassis_(chassis),
          catalogue_(catalogue),
          policy_(policy),
          bench_(bench),
          threats_(threats),
          progress_(progress),
          lamp_(lamp),
          fuse_(std::move(fuse)),
          duties_(duties_of(chassis)),
          earth_(earth_of(chassis, progress)),
          changes_(chassis, catalogue, progress),
          copper_(chassis.parts(), static_cast<int>(chassis.nets().size()), Through::copper) {}

    Outcome<PowerUp> make() {
        find_parts();
        if (transformer_ < 0 || rectifiers_.empty() || chassis_.line().supply == "battery") {
            Notice n;
            n.number = messages::stages_need_transformer;
            n.severity = Severity::error;
            n.place.file = chassis_.file();
            n.message = std::string("the stages of a set of this family (") + word(chassis_.family()) +
                        ") are not planned: they are known for a power transformer with a tube rectifier";
            n.remedy = "bring it up by the family's own rules; volts and threats are solved all the same";
            return n;
        }
        if (const std::optional<Notice> wrong = wrong_line()) return *wrong;
        if (chassis_.hot())
            return refusal(
                messages::metal_on_the_line,
                "a line blade reaches the chassis metal, which a power transformer keeps apart from it: one "
                "way round of the plug the whole set stands at the line's volts",
                "opens when the joint is found by ohms with the plug out (tubewright audit names it) and the "
                "file no longer has it");
        const Outcome<Solution> normal = bench_.solve(condition(Scenario::normal));
        if (!normal) return normal.notices();
        line_ = normal->line_volts;
        hertz_ = normal->line_hertz;
        lamp_volts_ = lamp_.watts > 0 ? lamp_.volts : line_ < 150 ? 120 : 230;
        normal_ = *normal;
        if (!lamp_.gates_alone) choose_trials();
        if ((!lamp_.gates_alone || lamp_.watts > 0) && !choose_lamps(normal->line_watts.value())) return failure_;
        sheet_.reference = name(chassis_.reference());
        label();
        eyes();
        cold_ohms();
        if (!transformer_alone() || !heaters() || !behind_lamp() || !full_line(*normal)) return failure_;
        soak(*normal);
        touch_current();
        in_their_order();
        if (lamp_.gates_alone) return std::move(sheet_);
        lamp_table();
        discharges();
        sheet_.cautions = cautions_for(chassis_, catalogue_);
        sheet_.assumptions = bench_.assumptions();
        sheet_.assumptions.push_back(
            {"rectifier filament behind a lamp", figure(100 * filament_enough) + " % of its volts",
             "no law of emission by filament volts is published here", "read the filament's volts beside B-plus",
             "below it a B-plus reading says nothing", "assumed"});
        sheet_.assumptions.push_back(
            {"bands of lamp, line and B-plus readings",
             "line and meter 3 % either way, lamp 5 % of its watts, the output tube's draw by its "
             "spread",
             "solved at those ends", "read the line at the same moment", "where a stop stands", "assumed"});
        sheet_.assumptions.push_back({"most that the output grid may show", figure(grid_most, 1) + " V",
                                      "what a coupler fit for service leaves there",
                                      "the coupler's leak with one end free", "the stop of the output grid",
                                      "common practice, no source"});
        sheet_.assumptions.push_back({"high stop of a winding's volts", "its solved volts at the upper line and 5 %",
                                      "no healthy winding reads more", "read the line at the same moment",
                                      "where a stop stands", "assumed"});
        sheet_.assumptions.push_back({"band of a winding's volts", "5 % each way", "turns and meter",
                                      "read the line at the same moment", "5 %", "assumed"});
        return std::move(sheet_);
    }

  private:
    const Part& part(int i) const { return chassis_.parts()[at(i)]; }
    std::string name(int net) const { return net < 0 ? "" : chassis_.nets()[at(net)].name; }
    double minutes(const char* key) const {
        const StepCost* c = catalogue_.step_cost(key);
        return (c ? c->minutes : 0) * policy_.pace;
    }
    Condition condition(Scenario scenario, double lamp_watts = 0) const {
        Condition c;
        c.scenario = scenario;
        c.lamp_watts = lamp_watts;
        c.lamp_volts = lamp_volts_;
        return c;
    }
    std::optional<Solution> solve(const Condition& c) {
        Outcome<Solution> s = bench_.solve(c);
        if (s) return *s;
        failure_ = s.notices();
        return std::nullopt;
    }

    // H5 is about the leads of line, heaters and plate windings: those of B-plus and the antenna come with their steps.
    bool supply_lead(const Part& p) const {
        if (p.kind != PartKind::wire) return false;
        for (const Lead& l : p.leads) {
            if (l.net < 0 || l.net == chassis_.reference()) continue;
            if (duties_.line[at(l.net)]) return true;
            for (const LeadRef& ref : chassis_.nets()[at(l.net)].leads) {
                const PartKind kind = part(ref.part).kind;
                if (kind == PartKind::lamp) return true;
                if (kind != PartKind::transformer) continue;
                for (const PartWinding& w : part(ref.part).windings)
                    if (w.role == WindingRole::primary || w.role == WindingRole::plate ||
                        w.role == WindingRole::heater || w.role == WindingRole::rectifier_heater)
                        for (int k : w.leads)
                            if (part(ref.part).leads[at(k)].net == l.net) return true;
            }
        }
        return false;
    }

    bool on_line(const Part& p) const {
        return std::any_of(p.leads.begin(), p.leads.end(),
                           [&](const Lead& l) { return l.net >= 0 && duties_.line[at(l.net)]; });
    }

    void find_parts() {
        for (std::size_t i = 0; i < chassis_.parts().size(); ++i) {
            const Part& p = chassis_.parts()[i];
            const int index = static_cast<int>(i);
            for (const PartWinding& w : p.windings)
                if (w.role == WindingRole::primary) transformer_ = index;
            if (p.kind == PartKind::socket && p.type && p.fitted != "none")
                (p.type->is_rectifier() ? rectifiers_ : others_).push_back(p.id);
            if (p.kind == PartKind::lamp) lamps_.push_back(p.id);
            if (p.plug == "speaker" || p.kind == PartKind::speaker) riding_.push_back(p.id);
            plug_carries_ = plug_carries_ || (p.plug == "speaker" && p.kind != PartKind::speaker && p.role != "voice" &&
                                              p.role != "hum-bucking");
            if ((p.kind == PartKind::transformer && p.role == "output") ||
                (p.kind == PartKind::coil && (p.role == "field" || p.role == "choke")))
                through_.push_back(p.id);
            if (is_electrolytic(p) && p.seen != "omitted") electrolytics_.push_back(p.id);
            const Duty d = duties_.of(index);
            if (d == Duty::line_to_line || d == Duty::line_to_touch) line_capacitors_.push_back(p.id);
            if (d == Duty::line_to_touch && p.farads) touch_old_.push_back(*p.farads);
            if (d == Duty::plate_winding) winding_capacitors_.push_back(p.id);
            if (duties_.guards_rectifier(chassis_, index)) guards_.push_back(p.id);
            if (d == Duty::output_coupler) couplers_.push_back(p.id);
            biased_ = biased_ || d == Duty::back_bias_resistor;
            for (const Lead& l : p.leads)
                biased_ = biased_ || (p.kind == PartKind::coil && (p.role == "field" || p.role == "choke") &&
                                      l.net >= 0 && l.net == centre_tap());
            if (d == Duty::output_cathode_resistor || d == Duty::output_grid_leak || d == Duty::bias_feed ||
                d == Duty::back_bias_resistor || d == Duty::bias_filter)
                bias_.push_back(p.id);
            const bool line_side = p.kind == PartKind::cord || (p.kind == PartKind::fuse && on_line(p)) ||
                                   p.kind == PartKind::power_switch || supply_lead(p) ||
                                   (p.kind == PartKind::plug && p.role != "speaker");
            if (line_side) line_parts_.push_back(p.id);
        }
        for (int net = 0; net < static_cast<int>(chassis_.nets().size()); ++net)
            for (const LeadRef& ref : chassis_.nets()[at(net)].leads) {
                const Duty d = duties_.of(ref.part);
                if ((d == Duty::first_filter || d == Duty::filter) && duties_.fed[at(net)]) filters_.push_back(net);
            }
        std::sort(filters_.begin(), filters_.end(), [&](int a, int b) {
            return duties_.rank[at(a)] != duties_.rank[at(b)] ? duties_.rank[at(a)] < duties_.rank[at(b)]
                                                              : name(a) < name(b);
        });
        filters_.erase(std::unique(filters_.begin(), filters_.end()), filters_.end());
        for (int f : filters_)
            if (b_plus_ < 0 || (duties_.rank[at(b_plus_)] == 0 && duties_.rank[at(f)] > 0)) b_plus_ = f;
    }

    Notice refusal(int number, const std::string& message, const std::string& remedy) const {
        Notice n;
        n.number = number;
        n.severity = Severity::error;
        n.place.file = chassis_.file();
        n.message = message;
        n.remedy = remedy;
        return n;
    }

    // H0: a line that the set is not made for is never put on it, behind whatever lamp.
    std::optional<Notice> wrong_line() const {
        const double own = chassis_.line().volts, own_hertz = chassis_.line().hertz;
        const double now = policy_.line.volts.value() > 0 ? policy_.line.volts.value() : own;
        const double hertz_now = policy_.line.hertz.value() > 0 ? policy_.line.hertz.value() : own_hertz;
        const OffLine off = off_line(policy_, own, own_hertz);
        if (!off.volts && !off.cycles) return std::nullopt;
        return refusal(messages::line_not_the_sets,
                       "H0: the set is made for " + figure(own) + " V " + figure(own_hertz) +
                           " cycles, the line here is " + figure(now) + " V " + figure(hertz_now) +
                           " cycles: it is not powered from it",
                       off.cycles ? "no transformer changes cycles: opens with a source of " + figure(own_hertz) +
                                        " cycles, or when the label says that the set bears these and the file says so"
                                  : "opens when a transformer brings the line to between " + figure(line_least * own) +
                                        " and " + figure(line_most * own) + " V at " + figure(own_hertz) +
                                        " cycles, or when selector or taps are set for this line and the file says so");
    }

    // What may be wrong when a stage is powered: the likeliest faults, and every short that loads the supply or lets
    // the output tube run away.
    void choose_trials() {
        for (const Threat& t : threats_.for_transformer()) {
            if (!t.solved || t.ahead_of_primary || t.fault.part < 0) continue;
            const Duty d = duties_.of(t.fault.part);
            if (t.criticality <= 0 && d != Duty::output_coupler) continue;
            const bool loads = d == Duty::first_filter || d == Duty::filter || d == Duty::output_plate_bypass ||
                               d == Duty::screen_bypass || d == Duty::supply_bypass;
            const bool runs = d == Duty::output_coupler || d == Duty::cathode_bypass;
            const bool shorted = t.fault.mode == FaultMode::short_circuit;
            if (loads && shorted && supply_.size() < table_faults) supply_.push_back(t.fault.id);
            if (trials_.size() < trial_faults || (shorted && (loads || runs)) || d == Duty::output_coupler ||
                t.fault.part == transformer_)
                trials_.push_back(t.fault);
        }
    }

    // A condition solved healthy, at the ends of what line and lamp may be, with the output tube cut off, and under
    // each fault.
    struct Around {
        Solution healthy;
        std::vector<Solution> ends;
        std::optional<Solution> idle, high;
        std::vector<std::pair<std::string, Solution>> faults;
    };
    std::optional<Around> around(const Condition& c) {
        const auto key = std::tuple(c.scenario, c.lamp_watts, c.lamp_volts);
        const auto known = around_.find(key);
        if (known != around_.end()) return known->second;
        std::optional<Around> found = solve_around(c);
        if (found) around_.emplace(key, *found);
        return found;
    }
    std::optional<Around> solve_around(const Condition& c) {
        std::optional<Solution> healthy = solve(c);
        if (!healthy) return std::nullopt;
        Around a;
        a.healthy = std::move(*healthy);
        if (lamp_.gates_alone && trials_.empty()) return a;
        const auto more = [&](const Condition& with, std::span<const Fault> faults) -> std::optional<Solution> {
            FaultSolution f = bench_.solve(with, faults, false);
            if (!f.solved) return std::nullopt;
            return std::move(f.solution);
        };
        for (const double line : {1 - line_wander, 1 + line_wander})
            for (const double lamp : {1 - lamp_spread, 1 + lamp_spread}) {
                if (c.lamp_watts <= 0 && lamp > 1) continue;
                Condition end = c;
                end.line_volts = line * line_;
                end.lamp_watts *= lamp;
                if (auto s = more(end, {})) a.ends.push_back(std::move(*s));
            }
        if (c.scenario == Scenario::lamp || c.scenario == Scenario::normal) {
            Condition idle = c;
            idle.scenario = Scenario::output_cut_off;
            idle.line_volts = line_;
            a.idle = more(idle, {});
        } else {
            Condition high = c;
            high.line_volts = std::max(choice::upper_line_volts(chassis_, policy_), line_);
            a.high = more(high, {});
        }
        for (const Fault& fault : trials_)
            if (auto s = more(c, std::span<const Fault>(&fault, 1))) a.faults.emplace_back(fault.id, std::move(*s));
        return a;
    }

    // One reading of the supply or of a net: healthy, its band, its stops. Stops stand half way between the band and
    // the nearest fault beyond it; a fault inside the band is one that this reading cannot tell.
    struct Placed {
        double expect = 0, low = 0, high = 0;
        std::optional<double> below, above;
        std::vector<std::string> hidden;
    };
    template <typename Get>
    Placed place(const Around& a, const Get& get, double low, double high, double floor,
                 std::vector<std::pair<std::string, double>> extreme = {}) const {
        Placed p;
        p.expect = get(a.healthy);
        p.low = std::min(low, p.expect);
        p.high = std::max(high, p.expect);
        double down = 0, up = 0;
        for (const Solution& end : a.ends) {
            down = std::min(down, get(end) - p.expect);
            up = std::max(up, get(end) - p.expect);
        }
        p.low += down;
        p.high += up;
        const double gap = std::max(told_apart * std::fabs(p.expect), floor);
        std::optional<double> under, over;
        for (const auto& [id, solution] : a.faults) extreme.emplace_back(id, get(solution));
        if (a.idle) extreme.emplace_back("", get(*a.idle));
        for (const auto& [id, v] : extreme) {
            if (v > p.high + gap) {
                over = std::min(over.value_or(v), v);
            } else if (v < p.low - gap) {
                under = std::max(under.value_or(v), v);
            } else if (std::find(supply_.begin(), supply_.end(), id) != supply_.end()) {
                p.hidden.push_back(id);
            }
        }
        if (over) p.above = (p.high + *over) / 2;
        if (under) p.below = (p.low + *under) / 2;
        return p;
    }
    // Supply quantities have no band of their own: a good tube draws so much more or less of what the output tube
    // draws.
    template <typename Get>
    Placed place_supply(const Around& a, const Get& get,
                        std::vector<std::pair<std::string, double>> extreme = {}) const {
        const double h = get(a.healthy), draws = a.idle ? std::fabs(get(*a.idle) - h) * policy_.tube_spread : 0;
        return place(a, get, h - draws, h + draws, 0, std::move(extreme));
    }
    double meter_share(const NetVolts& v, double volts_there) const {
        if (v.source.value() <= 0) return 1;
        const double ohms = policy_.meter.ohms_per_volt > 0 ? policy_.meter.ohms_per_volt * range_for(volts_there)
                                                            : policy_.meter.ohms.value();
        return ohms / (ohms + v.source.value());
    }
    double range_for(double volts_there) const {
        if (policy_.meter.range_volts > 0) return policy_.meter.range_volts;
        for (const double range : {2.5, 10.0, 50.0, 250.0, 500.0})
            if (std::fabs(volts_there) <= range) return range;
        return 1000;
    }
    Placed place_net(const Around& a, int net) const {
        const NetVolts& v = a.healthy.nets[at(net)];
        const auto get = [&](const Solution& in) { return in.nets[at(net)].dc.value(); };
        const double share = v.dc.value() != 0 ? v.meter.value() / v.dc.value() : 1;
        Placed p = place(a, get, std::min(v.low.value(), v.high.value()), std::max(v.low.value(), v.high.value()), 0.1);
        for (double* x : {&p.expect, &p.low, &p.high}) *x *= share;
        const auto loaded = [&](std::optional<double>& stop) {
            if (stop)
                *stop *=
                    policy_.meter.ohms_per_volt > 0 && std::fabs(v.dc.value()) < 0.5 ? meter_share(v, *stop) : share;
        };
        loaded(p.below);
        loaded(p.above);
        // Nothing on the net may stand over its own rating.
        for (const LeadRef& ref : chassis_.nets()[at(net)].leads) {
            const Part& q = part(ref.part);
            if (q.kind != PartKind::capacitor || !q.rated_volts || q.leads.size() != 2) continue;
            const int other = q.leads[0].net == net ? q.leads[1].net : q.leads[0].net;
            if (other != chassis_.reference()) continue;
            // Where no fault is known above, the rating stops, if it is near enough to say something; one that health
            // itself overruns is replaced before.
            if (*q.rated_volts <= p.high) continue;
            if (p.above || (*q.rated_volts > p.high && *q.rated_volts < rating_near * p.high))
                p.above = std::min(p.above.value_or(*q.rated_volts), *q.rated_volts);
        }
        return p;
    }
    static bool trips(const Placed& p, double v) { return (p.above && v > *p.above) || (p.below && v < *p.below); }

    // Does a lamp, with B-plus where the filament is warm, tell each of the likeliest supply faults?
    std::vector<std::string> untold(const Around& a) const {
        std::vector<std::string> left;
        const auto lamp = [](const Solution& in) { return in.lamp_volts; };
        const Placed shown = place_supply(a, lamp);
        for (const auto& [id, solution] : a.faults) {
            if (std::find(supply_.begin(), supply_.end(), id) == supply_.end()) continue;
            bool told = trips(shown, lamp(solution));
            if (!told && warm_enough(a.healthy))
                for (int f : filters_) {
                    const NetVolts& v = a.healthy.nets[at(f)];
                    const double share = v.dc.value() != 0 ? v.meter.value() / v.dc.value() : 1;
                    told = told || trips(place_net(a, f), solution.nets[at(f)].dc.value() * share);
                }
            if (!told) left.push_back(id);
        }
        return left;
    }

    bool choose_lamps(double set_watts) {
        const std::vector<double> sizes = lamp_sizes();
        std::map<double, bool> known;
        const auto serves = [&](double w) {
            const auto found = known.find(w);
            if (found != known.end()) return found->second;
            const auto a = around(condition(Scenario::lamp, w));
            return known[w] = a && untold(*a).empty();
        };
        // The largest where none of these sizes serves; its stage then says what it leaves untold.
        const auto at_least = [&](double w) {
            for (double s : sizes)
                if (s >= w && serves(s)) return s;
            return sizes.back();
        };
        alone_ = lamp_.watts > 0 ? lamp_.watts : alone_lamp_watts;
        const bool too_large = lamp_.watts > sizes.back() && lamp_.watts > most_lamp_times * set_watts;
        if (lamp_.watts > 0 && (lamp_.volts < (1 - line_wander) * line_ || too_large || !serves(lamp_.watts))) {
            const bool burns = lamp_.volts < (1 - line_wander) * line_;
            const double asked = lamp_volts_;
            lamp_volts_ = line_ < 150 ? 120 : 230;
            known.clear();
            std::vector<std::string> good;
            for (const double w : sizes)
                if (serves(w)) good.push_back(figure(w) + " W");
            failure_ = {
                refusal(messages::lamp_cannot_serve,
                        "a lamp of " + figure(lamp_.watts) + " W " + figure(asked) + " V cannot serve on this set: " +
                            (burns       ? "a short in the set puts the whole line on it"
                             : too_large ? "so large a lamp stays dark whatever the set draws"
                                         : "neither its glow nor B-plus behind it tells the likeliest shorts (" +
                                               listed(supply_) + ") from health"),
                        good.empty() ? "no standard size serves: find the shorts by ohms"
                                     : "an incandescent lamp of " + figure(lamp_volts_) + " V and " + listed(good))};
            return false;
        }
        first_wanted_ = set_watts;
        first_ = lamp_.watts > 0 ? lamp_.watts : at_least(first_wanted_);
        larger_wanted_ = std::max(larger_lamp * set_watts, first_ + 1);
        larger_ = at_least(larger_wanted_);
        return true;
    }
    static std::vector<double> lamp_sizes() { return {25, 40, 60, 75, 100, 150}; }

    std::vector<std::string> output_tubes() const {
        std::vector<std::string> ids;
        for (int socket : duties_.output_tubes) ids.push_back(part(socket).id);
        return ids;
    }

    bool is_output(const Part& p) const {
        return std::any_of(duties_.output_tubes.begin(), duties_.output_tubes.end(),
                           [&](int socket) { return part(socket).id == p.id; });
    }

    std::string caution(const std::string& topic) const {
        for (const Caution& c : catalogue_.cautions())
            if (c.topic == topic) return c.text;
        return "";
    }

    // A gate with what opens it: rule and parts.
    // parts: each new, proved or left out on purpose (none: nothing to ask); without parts, the rule itself must be
    // passed.
    struct Need {
        std::string rule;
        std::optional<std::vector<std::string>> parts = {};
        std::string words = {};     ///< instead of the rule's own, where the stage itself does what the rule asks for
        bool discharged = false;    ///< asks for an empty set
        std::string readings = {};  ///< what the readings in the log lack, or say against it
    };
    std::vector<std::string> left_out() const {
        std::vector<std::string> list;
        for (const auto& [id, state] : progress_.parts)
            if ((state == PartState::lifted || state == PartState::removed) && !in(rectifiers_, id) &&
                !in(others_, id) && !in(lamps_, id))
                list.push_back(id);
        return list;
    }
    bool nothing_left_out() const { return left_out().empty(); }
    bool logged() const {
        return !progress_.log.file.empty() || !progress_.parts.empty() || !progress_.gates_passed.empty() ||
               !progress_.steps_done.empty() || !progress_.deeds.empty();
    }
    static bool in(const std::vector<std::string>& list, const std::string& what) {
        return std::find(list.begin(), list.end(), what) != list.end();
    }
    /// Not proved by the log, with why; by the checker where there are deeds to judge by.
    std::optional<std::string> lacking(const Need& need, const std::map<std::string, std::string>& open) const {
        if (need.rule == "H17" && !nothing_left_out()) return "lifted or removed: " + listed(left_out());
        if (need.parts) {
            // a value that is no good settles nothing
            for (const std::string& id : *need.parts)
                if (const std::string off = off_its_value(id); !off.empty()) return off;
        }
        if (!progress_.deeds.empty()) {
            const auto found = open.find(need.discharged ? "charge" : need.rule);
            if (found == open.end() && !need.readings.empty()) return need.readings;
            if (found == open.end()) return std::nullopt;
            const auto photographs = std::count_if(progress_.deeds.begin(), progress_.deeds.end(),
                                                   [](const Deed& deed) { return deed.act == "keep a photograph"; });
            if (need.rule == "H2" && photographs > 0)
                return "photographs in the log: " + std::to_string(photographs) +
                       "; that a sketch shows every connection is not (its step done, or sign H2 and why)";
            return found->second;
        }
        if (need.rule == "H17") return std::nullopt;
        if (!need.parts) return "the log does not say it";
        std::vector<std::string> as_found;
        for (const std::string& id : *need.parts) {
            const auto it = progress_.parts.find(id);
            const bool settled =
                it != progress_.parts.end() && (it->second == PartState::fitted || it->second == PartState::proved ||
                                                it->second == PartState::omitted);
            if (!settled) as_found.push_back(id);
        }
        if (as_found.empty()) return std::nullopt;
        return "neither new nor proved: " + listed(as_found);
    }
    std::string off_its_value(const std::string& id) const {
        const auto read = progress_.found.find(id);
        const int i = chassis_.part(id);
        if (read == progress_.found.end() || i < 0 || !read->second.value) return {};
        const Part& p = part(i);
        if ((p.kind != PartKind::resistor && p.kind != PartKind::control) || !p.ohms) return {};
        if (std::fabs(*read->second.value / *p.ohms - 1) <= drift_allowed(duties_.of(i), policy_)) return {};
        return id + " reads " + say(ohms(*read->second.value)) + " where " + say(ohms(*p.ohms)) + " is right";
    }
    /// next: what the stage does.
    Gate gate(const std::vector<Need>& needs, ActKind next) const {
        Gate g;
        g.state = logged() ? "open" : "box";
        std::map<std::string, std::string> open;
        if (!progress_.deeds.empty()) open = unproved(chassis_, catalogue_, progress_, next);
        const auto judged = [&](const std::string& rule, const std::optional<std::string>& why) {
            const auto over = progress_.overrides.find(rule);
            GateProof proof{true, "proved by the log"};
            const auto with = progress_.signed_with.find(rule);
            if (rule != "H17" && in(progress_.gates_passed, rule))
                proof.words =
                    "signed by hand" +
                    (with == progress_.signed_with.end() || with->second.empty() ? std::string() : ": " + with->second);
            else if (why && over != progress_.overrides.end())
                proof.words = "OVERRIDDEN: " + over->second;
            else if (why)
                proof = {false, *why};
            if (!proof.holds) g.state = "shut";
            g.proof.push_back(std::move(proof));
        };
        const auto line = [](const std::string& rule) {
            for (const BenchRule& r : bench_rules())
                if (r.id == rule) return r.id + ": " + r.before;
            return rule;
        };
        std::set<std::string> asked;
        for (const Need& need : needs) {
            std::string text = need.words.empty() ? line(need.rule) : need.rule + ": " + need.words;
            if (need.parts && !need.parts->empty()) text += " (" + listed(*need.parts) + ")";
            g.opened_by.push_back(text);
            asked.insert(need.rule);
            if (logged()) judged(need.rule, lacking(need, open));
        }
        const bool cold_supply = next == ActKind::power_heaters || next == ActKind::power_transformer_alone;
        if (logged() && cold_supply && !nothing_left_out() && !asked.count("H17") && !open.count("H17")) {
            g.opened_by.push_back(line("H17"));
            g.proof.push_back({true, "out, not fed here: " + listed(left_out())});
        }
        // What the checker finds besides, where the line is let in.
        const bool live = next != ActKind::inspect && next != ActKind::cold_ohms;
        for (const auto& [rule, why] : open) {
            if (!live || asked.count(rule) || rule == "charge" || rule == "H13" || rule == "s14" || rule == "H15" ||
                rule == "s4" || rule == "H2" || rule == "H3")
                continue;
            g.opened_by.push_back(line(rule));
            judged(rule, why);
        }
        return g;
    }

    /// What is passed; which stages under power wait for others; and what came out of its socket in between.
    void in_their_order() {
        std::vector<int> before;
        for (PowerStage& one : sheet_.stages) {
            const bool is_passed = passed(one);
            if (logged()) one.gate.after = before;
            if (is_passed)
                one.gate = passed_gate(one.gate);
            else if (logged() && one.line_volts && before.empty())
                tubes_in(one);
            if (!is_passed && one.line_volts) before.push_back(one.stage);
        }
    }
    /// A stage behind those that put the tubes in wants them in.
    void tubes_in(PowerStage& stage) const {
        const ActKind shows = proof_of(stage);
        if (shows == K::power_transformer_alone) return;
        std::set<std::string> wanted(others_.begin(), others_.end());
        if (shows != K::power_heaters) wanted.insert(rectifiers_.begin(), rectifiers_.end());
        for (const Act& act : stage.acts)
            if (act.kind == K::refit_tube)
                for (const std::string& id : act.parts) wanted.erase(id);
        std::vector<std::string> out;
        for (const std::string& id : wanted) {
            const auto state = progress_.parts.find(id);
            if (state != progress_.parts.end() && state->second == PartState::removed) out.push_back(id);
        }
        if (out.empty()) return;
        stage.gate.opened_by.push_back("H17: the tubes of this stage are in their sockets");
        stage.gate.proof.push_back({false, "out by the log: " + listed(out)});
        stage.gate.state = "shut";
    }

    /// Passed is passed; what came out since is told there still.
    static Gate passed_gate(const Gate& gate) {
        Gate now;
        now.state = "passed";
        now.after = gate.after;
        for (std::size_t k = 0; k < gate.proof.size(); ++k)
            if (!gate.proof[k].holds &&
                (gate.opened_by[k].starts_with("H17:") || gate.opened_by[k].starts_with("H13:"))) {
                now.opened_by.push_back(gate.opened_by[k]);
                now.proof.push_back(gate.proof[k]);
            }
        return now;
    }

    /// What a stage shows.
    static ActKind proof_of(const PowerStage& stage) {
        for (const Act& act : stage.acts)
            for (const ActKind kind : {K::power_transformer_alone, K::power_heaters, K::power_b_plus,
                                       K::power_full_line, K::soak, K::check_touch_current, K::cold_ohms, K::inspect})
                if (act.kind == kind) return kind;
        return K::check_supply;
    }
    /// By name, or by the step of the plan that goes through it; and nothing that it showed was changed since.
    bool passed(const PowerStage& stage) const {
        const auto holds_still = [&](const std::string& name) {
            const auto end = progress_.passed_at.find(name);
            return end == progress_.passed_at.end() || changes_.since(end->second, proof_of(stage)).empty();
        };
        if (in(progress_.stages_passed, stage.name) && holds_still(stage.name)) return true;
        const auto of = [&](const char* step, std::initializer_list<ActKind> kinds) {
            return in(progress_.steps_done, step) && holds_still(step) &&
                   std::any_of(stage.acts.begin(), stage.acts.end(), [&](const Act& act) {
                       return std::find(kinds.begin(), kinds.end(), act.kind) != kinds.end();
                   });
        };
        return of("transformer-alone", {K::power_transformer_alone}) ||
               of("power-up", {K::power_heaters, K::power_b_plus, K::power_full_line}) || of("soak", {K::soak}) ||
               of("touch-current", {K::check_touch_current});
    }

    PowerStage& stage(const std::string& title, double mins) {
        PowerStage s;
        s.stage = static_cast<int>(sheet_.stages.size()) + 1;
        s.name = title;
        s.minutes = mins;
        sheet_.stages.push_back(std::move(s));
        return sheet_.stages.back();
    }
    void live(PowerStage& s, double line, double lamp) const {
        s.line_volts = line;
        if (lamp > 0) s.lamp_watts = lamp;
        for (const char* topic : {"b-plus", "one-hand", "alone", "unattended", "isolation", "lamp", "local-code"}) {
            if (std::string(topic) == "lamp" && lamp <= 0) continue;
            if (const std::string text = caution(topic); !text.empty()) s.cautions.push_back(text);
        }
        s.at_stop = {"switch off, unplug, hands off", "write the reading down", "discharge each filter section",
                     "go back a stage and find out why; never once more to see"};
    }
    static StageReading reading(const std::string& from, const std::string& to, const char* quantity, double expect,
                                double low, double high, std::optional<double> stop, const std::string& if_low,
                                const std::string& if_high) {
        StageReading r;
        r.at = from;
        r.to = to;
        r.quantity = quantity;
        r.expect = expect;
        r.low = low;
        r.high = high;
        r.stop = stop;
        r.if_low = if_low;
        r.if_high = if_high;
        return r;
    }

    void label() {
        PowerStage& s = stage("label and supply", minutes("label-check"));
        s.gate = gate({}, ActKind::inspect);
        s.notice = {"the label: " + figure(chassis_.line().volts) + " V " + figure(chassis_.line().hertz) +
                        " cycles; the line here: " + say(volts(line_)) + " " + figure(hertz_) + " cycles",
                    "taps, selector and links agree with it"};
        if (hertz_ != chassis_.line().hertz)
            s.notice.push_back(figure(hertz_) + " cycles where " + figure(chassis_.line().hertz) +
                               " are marked: a core bears more cycles, a motor or a clock does not");
        const double over = line_ / chassis_.line().volts;
        if (over > 1.05 || over < 0.95)
            s.notice.push_back("this line stands " + figure(std::round(100 * std::fabs(over - 1))) + " % " +
                               (over > 1 ? "over" : "under") +
                               " the marked one: heaters stand as far off; bring it to the mark if you can");
        s.acts = {{K::check_supply, {}, "label against supply", 0}};
    }

    // Where plus and minus go, by the solution; the file's word counts only where it agrees.
    std::string polarity(const Part& p) const {
        if (p.leads.size() < 2) return p.id + ": one lead in the file; trace both";
        const int plus = p.leads[0].net, minus = p.leads[1].net;
        const NetVolts &up = normal_.nets[at(plus)], &down = normal_.nets[at(minus)];
        const double stands = up.dc.value() - down.dc.value();
        if (!up.undetermined && !down.undetermined && stands < -reversed_volts &&
            !bench::residue_only(p, stands, stands))
            return "STOP: " + p.id + ": the file has plus at " + name(plus) + ", but " + name(minus) + " stands " +
                   say(volts(-stands)) + " above it: plus goes to " + name(minus) +
                   "; trace it before anything is powered";
        std::string text = p.id + ": plus to " + name(plus) + ", minus to " + name(minus);
        if (minus != chassis_.nodes().chassis_metal && chassis_.nodes().chassis_metal >= 0)
            text += ", insulated from the chassis";
        return text;
    }

    void eyes() {
        PowerStage& s = stage("eyes and hands, plug out", minutes("visual"));
        std::vector<Need> needs = {{"H1"}, {"H2"}, {"H3"}, {"H17"}};
        if (earth_.forbidden()) needs.push_back({"H22", std::nullopt, earth_.name + " is off the metal"});
        needs.push_back({"H23", electrolytics_});
        s.gate = gate(needs, ActKind::inspect);
        s.remove = {"plug from the wall"};
        s.connect = {"black clip to " + name(chassis_.reference()) + ", with the plug out; it stays there"};
        s.notice = {"nothing lifted, nothing left out", "plus of each electrolytic at its lug",
                    "no lead on a sharp edge, no lamp lead on the metal, no track between rectifier pins"};
        for (const std::string& id : electrolytics_) s.notice.push_back(polarity(part(chassis_.part(id))));
        s.acts = {{K::settle_reference, {}, name(chassis_.reference()), 0}, {K::inspect, line_parts_, "line side", 0}};
        if (!earth_.forbidden()) return;
        s.remove.push_back(earth_.name + ": off the metal until the touch current is read");
        s.acts.push_back({K::lift_earth, earth_.over, "off the metal", 0});
    }

    // before_power: H19 asks for it, with what a low and a high reading say.
    struct BeforePower {
        std::string low, high;
    };
    int centre_tap() const {
        for (const Part& t : chassis_.parts())
            for (const PartWinding& w : t.windings)
                if (w.role == WindingRole::plate && w.leads.size() == 3) return t.leads[at(w.leads[1])].net;
        return -1;
    }

    /// Ohms of the control whose wiper is one of the two nets and whose end is the other; 0 when there is none.
    double wiper_ohms(int from, int to) const {
        for (const Part& p : chassis_.parts()) {
            const int wiper = p.kind == PartKind::control ? p.lead("wiper") : -1;
            if (wiper < 0 || !p.ohms) continue;
            const auto ends_on = [&](int net) {
                return std::any_of(p.leads.begin(), p.leads.end(),
                                   [&](const Lead& l) { return &l != &p.leads[at(wiper)] && l.net == net; });
            };
            const int net = p.leads[at(wiper)].net;
            if ((net == from && ends_on(to)) || (net == to && ends_on(from))) return *p.ohms;
        }
        return 0;
    }
    void add_cold(int from, int to, bool b_plus, bool expect_open,
                  const std::optional<BeforePower>& before_power = std::nullopt) {
        if (from < 0 || to < 0 || from == to) return;
        const auto [known, fresh] = cold_seen_.emplace(std::minmax(from, to), sheet_.cold_ohms.size());
        if (before_power) before_power_.emplace(known->second, *before_power);
        if (!fresh) {
            sheet_.cold_ohms[known->second].before_power |= before_power.has_value();
            return;
        }
        ColdOhms c;
        c.before_power = before_power.has_value();
        c.at = name(from);
        c.to = name(to);
        // Where no copper joins the two, whatever the equations hold a floating part in place with is no reading.
        const bool joined = copper_.reached({from})[at(to)];
        const Outcome<Ohms> r = joined ? bench_.cold_ohms(from, to) : Outcome<Ohms>{};
        const double turn = wiper_ohms(from, to);
        if (r && std::isfinite(r->value()) && turn > 0) {
            // From nothing to all of the control as it is turned: neither end says anything of a leak.
            c.ohms = turn;
            c.low = 0;
            c.high = turn * ohms_high;
        } else if (r && std::isfinite(r->value())) {
            c.ohms = r->value();
            c.low = *c.ohms * ohms_low;
            c.high = *c.ohms * ohms_high;
            if (b_plus || (before_power && *c.ohms >= 1)) c.stop_below = *c.ohms * stop_under;
        } else if (b_plus || expect_open) {
            c.stop_below = b_plus ? 100e3 : open_over;
        }
        sheet_.cold_ohms.push_back(std::move(c));
    }

    void cold_ohms() {
        PowerStage& s = stage("cold ohms, plug out, switch on, rectifier out", minutes("cold-ohms"));
        std::vector<std::string> out = rectifiers_;
        out.insert(out.end(), others_.begin(), others_.end());
        out.insert(out.end(), lamps_.begin(), lamps_.end());
        s.gate =
            gate({{"H3"}, {"H1", std::nullopt, "plug out, every filter section discharged", true}}, ActKind::cold_ohms);
        s.remove = {"plug from the wall", "tubes and dial lamps: " + listed(out)};
        s.connect = {"ohmmeter, black to " + name(chassis_.reference())};
        s.notice = {"let each reading climb until it stands: the filters charge",
                    "swap the leads where a metal rectifier is near"};
        s.cautions = {caution("charge"), caution("one-hand")};
        s.at_stop = {"under half of the solved ohms: do not power; find the short first"};
        s.acts = {{K::discharge, {}, "each filter section", 0},
                  {K::remove, out, "tubes and lamps out", 0},
                  {K::cold_ohms, {}, "whole set", 0}};

        const int ref = chassis_.reference();
        const NodeRoles& roles = chassis_.nodes();
        add_cold(roles.line_hot, roles.line_neutral, false, false);
        add_cold(roles.line_hot, roles.chassis_metal >= 0 ? roles.chassis_metal : ref, false, true);
        const Part& t = part(transformer_);
        for (const PartWinding& w : t.windings) {
            if (w.role == WindingRole::primary) continue;
            for (std::size_t k = 0; k + 1 < w.leads.size(); ++k) {
                const int from = t.leads[at(w.leads[k])].net, to = t.leads[at(w.leads[k + 1])].net;
                const bool first_half = w.leads.size() == 3 && k == 0;
                add_cold(first_half ? from : to, first_half ? to : from, false, false);
            }
        }
        const int metal = roles.chassis_metal >= 0 ? roles.chassis_metal : ref;
        for (int f : filters_)
            for (const int to : {ref, metal}) add_cold(f, to, true, false, BeforePower{});
        if (const int tap = centre_tap(); tap >= 0) {  // below the reference it makes the bias
            add_cold(tap, ref, false, false,
                     biased_ ? BeforePower{"what makes the bias is shorted: the output tube has none; do not power",
                                           "the bias resistor has gone high or open: all the direct current returns "
                                           "by it"}
                             : BeforePower{"",
                                           "all the direct current returns there: a fuse, a lead or a joint is "
                                           "open; a blown fuse has a cause behind it"});
            for (ColdOhms& c : sheet_.cold_ohms)
                if (!biased_ && c.at == name(tap)) c.stop_below.reset();
        }
        for (const PartWinding& w : t.windings)
            if (w.role == WindingRole::heater || w.role == WindingRole::rectifier_heater)
                for (int k : w.leads)
                    add_cold(t.leads[at(k)].net, metal, false, true,
                             BeforePower{"the heater winding touches the metal where it should not",
                                         "the joint from the heater winding to the metal is open"});
        for (const Part& p : chassis_.parts()) {
            if (p.kind != PartKind::socket || !p.type) continue;
            for (const Lead& l : p.leads) {
                const Pin* pin = p.type->pin(l.name);
                if (!pin || l.net < 0 || l.net == ref) continue;
                const std::string& e = pin->electrodes.front();
                const bool tied = std::any_of(p.leads.begin(), p.leads.end(), [&](const Lead& other) {
                    const Pin* its = p.type->pin(other.name);
                    return other.net == l.net && its && its->electrodes.front()[0] == 'k';
                });
                std::optional<BeforePower> asked;
                if (e[0] == 'g' && duties_.fed[at(l.net)])
                    asked = BeforePower{};
                else if (e[0] == 'g' && !tied)
                    asked = BeforePower{"a leak or a short beside the grid's return",
                                        "its return is open: a tube without it runs away; do not power"};
                else if (e[0] == 'k' && is_output(p))
                    asked = BeforePower{"the bypass is shorted: the tube has no bias; do not power",
                                        "the cathode resistor has gone high or open"};
                add_cold(l.net, ref, duties_.fed[at(l.net)] && e[0] != 'h', false, asked);
            }
        }
        for (std::size_t i = 0; i < sheet_.cold_ohms.size(); ++i) {
            const ColdOhms& c = sheet_.cold_ohms[i];
            if (!c.stop_below && !c.before_power) continue;
            BeforePower words = before_power_.count(i) ? before_power_.at(i) : BeforePower{};
            if (wiper_ohms(chassis_.net(c.at), chassis_.net(c.to)) > 0) {
                words.low.clear();
                words.high = "more than all of the control, turned from end to end: " + words.high;
            }
            if (c.stop_below && words.low.empty())
                words.low =
                    "under " + say(ohms(*c.stop_below)) + ": something on this section is shorted still; do not power";
            if (c.ohms && words.high.empty())
                words.high = "a drifted resistor or an open joint; the set may still be powered";
            const bool joined_to_metal = c.ohms && *c.ohms < 1;  // a grounded heater leg can only come off
            if (joined_to_metal) words.low.clear();
            if (!c.ohms || (!joined_to_metal && words.high.find("heater winding") != std::string::npos))
                words.high.clear();
            // An open is a lower limit: the meter shows its top, or a leak.
            const double most = 1e9;
            s.readings.push_back(reading(c.at, c.to, "ohms", c.ohms.value_or(most),
                                         c.low.value_or(c.stop_below.value_or(open_over)), c.high.value_or(most),
                                         c.stop_below, words.low, words.high));
        }
    }

    // Each winding but the primary, by what it reads in a solution; halves to the centre tap.
    void winding_readings(PowerStage& s, const Around& a, bool with_plates) {
        const Solution& in = a.healthy;
        const Part& t = part(transformer_);
        for (const PartWinding& w : t.windings) {
            if (w.role == WindingRole::primary || (w.role == WindingRole::plate && !with_plates)) continue;
            const bool halves = w.leads.size() == 3;
            for (std::size_t k = 0; k < (halves ? 2U : 1U); ++k) {
                std::string lead = w.name;
                if (halves) lead += k == 0 ? ".1" : ".2";
                const Branch* b = in.branch(transformer_, lead);
                if (!b || b->volts_rms.value() <= 0) continue;
                const int from = t.leads[at(w.leads[halves ? 2 * k : 0])].net;
                const int to = t.leads[at(w.leads[1])].net;
                const double v = b->volts_rms.value();
                std::string low = "line low, lamp taking it, or a shorted turn: heat and watts decide, not amperes";
                if (w.role == WindingRole::plate)
                    low = "one half only: a shorted turn or a wrong lead there; halves agree within 3 %";
                std::string meter;
                if (w.role == WindingRole::plate)
                    meter = "; meter on 1000 V AC with leads rated for it, clipped on with the plug out";
                const auto get = [&](const Solution& one) {
                    const Branch* other = one.branch(transformer_, lead);
                    return other ? other->volts_rms.value() : 0.0;
                };
                Placed p = place(a, get, v * (1 - winding_band), v * (1 + winding_band), 0);
                p.low = v * (1 - winding_band);
                p.high = v * (1 + winding_band);
                // No healthy winding reads more than at the upper line limit.
                if (a.high) p.above = std::max(get(*a.high) * (1 + winding_band), p.high * (1 + line_wander));
                put(s, name(from), name(to), "volts ac", p, low, "line high, or the wrong tap" + meter);
            }
        }
    }
    static void put(PowerStage& s, const std::string& from, const std::string& to, const char* quantity,
                    const Placed& p, const std::string& if_low, const std::string& if_high) {
        s.readings.push_back(reading(from, to, quantity, p.expect, p.low, p.high, p.above, if_low, if_high));
        s.readings.back().stop_below = p.below;
    }
    void supply_readings(PowerStage& s, const Around& a, double lamp, bool assumed_core = false) const {
        const Solution& in = a.healthy;
        const auto lamp_of = [](const Solution& one) { return one.lamp_volts; };
        const auto set_of = [](const Solution& one) { return one.set_volts; };
        const auto amps_of = [](const Solution& one) { return one.drawn.value(); };
        const auto watts_of = [](const Solution& one) { return one.line_watts.value(); };
        const std::string core = assumed_core ? "; the no-load figure rests on an assumed core" : "";
        if (lamp > 0) {
            // A dead short across the primary puts the whole line on the lamp.
            Placed p = place_supply(a, lamp_of, {{"primary short", in.line_volts}});
            p.low = std::max(p.low, 0.0);
            p.below.reset();
            std::string blind;
            if (in.condition.scenario == Scenario::lamp && !p.hidden.empty()) {
                const std::vector<std::string> left = untold(a);
                std::vector<std::string> by_volts;
                for (const std::string& id : p.hidden)
                    if (std::find(left.begin(), left.end(), id) == left.end()) by_volts.push_back(id);
                if (!by_volts.empty()) blind += "; this lamp alone cannot tell " + listed(by_volts) + ": B-plus does";
                if (!left.empty())
                    blind += "; nothing in this stage tells " + listed(left) + ": the cold ohms must have told it";
            }
            put(s, "lamp", "across it", "volts ac", p, "something is not connected",
                std::string("glows ") + glow(in.lamp_volts / lamp_volts_) +
                    " when healthy; brighter and staying so: switch off" + blind + core);
            Placed q = place_supply(a, set_of, {{"primary short", 0.0}});
            q.above.reset();
            q.high = std::min(q.high, (1 + line_wander) * in.line_volts);
            put(s, "set", "behind the lamp", "volts ac", q, "the set draws more than it should: see the lamp table",
                "the set draws less than it should");
        } else {
            Placed p = place_supply(a, amps_of), w = place_supply(a, watts_of);
            if (assumed_core) {
                // The band is that of the assumption; faults are sought beyond it.
                const double h = amps_of(in), hw = watts_of(in);
                p = place(a, amps_of, h * (1 - amps_band), h * (1 + amps_band), 0);
                w = place(a, watts_of, hw * (1 - amps_band), hw * (1 + amps_band), 0);
                // One shorted turn takes a few watts: less than any fault that is placed.
                w.above = std::min(w.above.value_or(w.high * watts_over_band), w.high * watts_over_band);
            }
            p.below.reset();
            w.below.reset();
            put(s, "line", "in series", "amps", p, "a winding or a tube is not drawing",
                "look, smell, feel; from amperes alone no shorted turn is declared" + core);
            put(s, "line", "at the plug", "watts", w, "",
                "watts and heat after half an hour tell a shorted turn" + core);
        }
    }

    std::string straight() const {
        return "straight on the line through the isolation transformer, " +
               (fuse_.empty() ? std::string("its primary fused by the size that shop names") : "behind the " + fuse_);
    }

    std::string lamp_words(double lamp) const { return figure(lamp) + " W " + figure(lamp_volts_) + " V"; }
    /// What passes nothing, too much, or is burnt: no figure of this sheet is of it as it is.
    std::string found_bad() const {
        std::string list;
        for (const Part& p : chassis_.parts()) {
            if (p.kind == PartKind::wire || p.kind == PartKind::cord || p.kind == PartKind::strip) continue;
            const bool bad = seen_useless(p);
            if (!bad && !(stands_empty(p) && p.fitted.empty())) continue;
            list += (list.empty() ? "" : ", ") + p.id + (bad ? " (seen " + p.seen + ")" : " (an empty socket)");
        }
        return list;
    }

    bool transformer_alone() {
        std::vector<std::string> line_side = line_parts_;
        line_side.insert(line_side.end(), line_capacitors_.begin(), line_capacitors_.end());
        const std::vector<Need> needs = {
            {"H1", std::nullopt, "nobody has plugged it in since it was found"},
            {"H5", line_side},
            {"H6", winding_capacitors_, "rectifier out, every capacitor across a plate winding lifted or new"}};
        std::vector<std::string> out = rectifiers_;
        out.insert(out.end(), others_.begin(), others_.end());
        out.insert(out.end(), lamps_.begin(), lamps_.end());
        for (const double lamp : {alone_, 0.0}) {
            const auto stage_around = around(condition(Scenario::transformer_alone, lamp));
            if (!stage_around) return false;
            const Solution* solved = &stage_around->healthy;
            PowerStage& s =
                stage(lamp > 0 ? "transformer alone, behind the lamp" : "transformer alone, full line, watched",
                      lamp > 0 ? 5 : minutes("transformer-alone"));
            s.gate = gate(needs, ActKind::power_transformer_alone);
            s.remove = {"rectifier, all tubes, dial lamps: " + listed(out)};
            if (!line_capacitors_.empty())
                s.remove.push_back("old line capacitors: " + listed(line_capacitors_) + " new, or lifted");
            if (const std::string bad = found_bad(); lamp > 0 && !bad.empty())
                s.remove.push_back("bad as found: " + bad + ": new or mended before the stage that powers it");
            s.connect = {lamp > 0 ? lamp_words(lamp) + " incandescent lamp in series, isolation transformer before it"
                                  : straight()};
            live(s, solved->line_volts, lamp);
            supply_readings(s, *stage_around, lamp, true);
            winding_readings(s, *stage_around, true);
            s.notice = {"hum that grows, wax smell, heat",
                        lamp > 0
                            ? std::string("the lamp may flash once, then ") + glow(solved->lamp_volts / lamp_volts_)
                            : "after half an hour barely warm to the hand, plug out"};
            s.acts = {{K::power_transformer_alone,
                       {part(transformer_).id},
                       lamp > 0 ? "behind the lamp" : "full line, watched",
                       lamp > 0 ? 5.0 : 30.0},
                      {K::discharge, {}, "plug out", 0}};
        }
        return true;
    }

    bool heaters() {
        std::vector<std::string> in = others_;
        in.insert(in.end(), lamps_.begin(), lamps_.end());
        bool refitted = false;
        for (const double lamp : {first_, 0.0}) {
            const auto stage_around = around(condition(Scenario::rectifier_out, lamp));
            if (!stage_around) return false;
            const Solution* solved = &stage_around->healthy;
            PowerStage& s = stage(lamp > 0 ? "heaters, behind the lamp" : "heaters, full line", minutes("heaters"));
            s.gate = gate({{"H8", couplers_}, {"H9", bias_}, {"H20", output_tubes()}}, ActKind::power_heaters);
            s.connect = {"tubes and dial lamps in: " + listed(in)};
            s.remove = {"rectifier: " + listed(rectifiers_)};
            live(s, solved->line_volts, lamp);
            supply_readings(s, *stage_around, lamp);
            winding_readings(s, *stage_around, false);
            s.notice = {"each heater and dial lamp glows within half a minute",
                        "with the rectifier out heaters read 2 to 5 % higher than later: they are judged in service"};
            if (!refitted && !in.empty()) s.acts.push_back({K::refit_tube, in, "all but the rectifier", 0});
            refitted = true;
            s.acts.push_back({K::power_heaters, {}, lamp > 0 ? "behind the lamp" : "full line", minutes("heaters")});
            s.acts.push_back({K::discharge, {}, "plug out", 0});
        }
        return true;
    }

    // Volts of a net as the meter of the policy reads them, with the solved band and stops.
    void volts_reading(PowerStage& s, const Around& a, int net, const std::string& if_low, const std::string& if_high,
                       bool says_nothing = false) const {
        if (net < 0 || net == chassis_.reference() || a.healthy.nets[at(net)].undetermined) return;
        Placed p = place_net(a, net);
        if (says_nothing) {
            p.below.reset();
            p.above.reset();
        }
        put(s, name(net), name(chassis_.reference()), "volts dc", p, if_low, if_high);
        s.readings.back().says_nothing = says_nothing;
    }
    // What a wrong reading means differs by the electrode: a cathode goes up when its tube draws too much, a plate
    // down.
    void electrode_reading(PowerStage& s, const Around& a, const Part& p, const Lead& l, const std::string& electrode) {
        const std::string head = p.id + " pin " + l.name + ": ";
        if (electrode[0] == 'k' || (p.type->directly_heated && electrode[0] == 'h')) {
            volts_reading(s, a, l.net,
                          head +
                              "the tube draws too little (weak, plate or screen not fed), or its bypass is shorted "
                              "and it draws too much: look for a red plate, switch off",
                          head +
                              "the tube draws too much (grid positive: leaking coupler, gas), or the cathode resistor "
                              "has gone high");
        } else if (electrode.rfind("g1", 0) == 0 && is_output(p)) {
            grid_reading(s, a, l.net);
        } else if (a.healthy.nets[at(l.net)].dc.value() < -0.5) {
            volts_reading(s, a, l.net, head + "further below nothing: too strong a signal or oscillation",
                          head + "nearer to nothing: the oscillator does not run, or the grid's resistor is open");
        } else if (electrode[0] == 'g') {
            volts_reading(s, a, l.net, head + "a leaking bypass, or the feed has gone high",
                          head + "the tube draws too little, or a divider is open to the return");
        } else {
            volts_reading(s, a, l.net, head + "fed through too many ohms, or the tube draws too much",
                          head + "the tube draws too little, or its cathode is open");
        }
    }
    // The output grid: a leak of the coupler through the meter's own load; where the scale does not show it, says so.
    void grid_reading(PowerStage& s, const Around& a, int net) {
        const std::string low = "bias from elsewhere";
        const std::string high = "a positive grid: the coupler leaks, or the tube has gas; switch off";
        const std::size_t before = s.readings.size();
        volts_reading(s, a, net, low, high);
        if (s.readings.size() == before) return;
        StageReading& r = s.readings.back();
        r.stop_below.reset();
        // Half a volt at the grid itself is the most that the trade lets pass (common practice, no source).
        const double most = grid_most * meter_share(a.healthy.nets[at(net)], grid_most);
        r.stop = std::min(r.stop.value_or(most), most);
        const double range = range_for(std::max(std::fabs(r.high), std::fabs(r.stop.value_or(0))));
        if (policy_.meter.ohms_per_volt > 0 && (!r.stop || *r.stop - r.high < seen_on_scale * range)) {
            r.stop.reset();
            r.stop_below.reset();
            r.if_high =
                "this meter loads the grid so far that it does not show a leak: use one of 10 megohm, or read "
                "the coupler's leak with the output tube out or the grid's end lifted";
        }
    }

    void b_plus_readings(PowerStage& s, const Around& a, bool meaningful) {
        for (int f : filters_)
            volts_reading(s, a, f,
                          meaningful ? "a filter, the output stage or a bypass draws too much: switch off"
                                     : "the rectifier's filament is cool yet: this reading says nothing",
                          meaningful ? "the output tube does not draw, or the line is high" : "", !meaningful);
        std::set<int> read;  // two tubes may share a cathode
        for (int socket : duties_.output_tubes) {
            const Part& p = part(socket);
            for (const Lead& l : p.leads) {
                const Pin* pin = p.type->pin(l.name);
                if (!pin || l.net < 0 || l.net == chassis_.reference() || read.count(l.net) > 0) continue;
                const std::string& e = pin->electrodes.front();
                const bool cathode = e[0] == 'k' || (p.type->directly_heated && e[0] == 'h');
                if (cathode || e.rfind("g1", 0) == 0) {
                    read.insert(l.net);
                    electrode_reading(s, a, p, l, e);
                }
                if (!meaningful && cathode && !s.readings.empty() && s.readings.back().at == name(l.net)) {
                    s.readings.back().says_nothing = true;
                    s.readings.back().stop.reset();
                    s.readings.back().stop_below.reset();
                }
            }
        }
    }
    // The first half minute: the rectifier is there before the tubes draw.
    bool first_half_minute(PowerStage& s, double lamp) {
        Condition c = condition(Scenario::warm_up, lamp);
        c.line_volts = line_;
        const auto cold = solve(c);
        c.line_volts = (1 + line_wander) * line_;
        const auto end = solve(c);
        if (!cold || !end) return false;
        for (StageReading& r : s.readings)
            if (r.quantity == "volts dc") r.when = "after the tubes are warm";
        for (int f : filters_) {
            const NetVolts &v = cold->nets[at(f)], &w = end->nets[at(f)];
            const double share = v.dc.value() != 0 ? v.meter.value() / v.dc.value() : 1;
            StageReading r = reading(name(f), name(chassis_.reference()), "volts dc", v.meter.value(),
                                     a_little(v.low.value() * share, v.meter.value()), w.high.value() * share,
                                     std::nullopt, "the rectifier is slow or a tube draws already",
                                     "over the rating of what stands there: switch off");
            r.when = half_minute;
            // What stands on the net and on nothing else limits it. A filter that health itself overruns is replaced
            // before this stage: its old rating stops nothing.
            std::optional<double> overrun;
            for (const LeadRef& ref : chassis_.nets()[at(f)].leads) {
                const Part& q = part(ref.part);
                const Duty d = duties_.of(ref.part);
                if ((d != Duty::first_filter && d != Duty::filter) || !q.rated_volts) continue;
                std::optional<double>& limit = *q.rated_volts > r.high ? r.stop : overrun;
                limit = std::min(limit.value_or(*q.rated_volts), *q.rated_volts);
            }
            if (overrun)
                r.if_high = "healthy it comes over the " + say(volts(*overrun)) +
                            " marked on what stands there: fit the rating of the shopping list first; its rating is "
                            "then the stop";
            s.readings.push_back(std::move(r));
        }
        return true;
    }
    static double a_little(double low, double expect) { return std::min(low, expect); }

    bool behind_lamp() {
        bool refitted = false;
        for (const double lamp : {first_, larger_}) {
            const auto stage_around = around(condition(Scenario::lamp, lamp));
            if (!stage_around) return false;
            const Solution* solved = &stage_around->healthy;
            PowerStage& s =
                stage(refitted ? "all tubes, larger lamp" : "rectifier in, behind the lamp", minutes("power-stage"));
            s.gate = gate({{"H6"}, {"H7", guards_}, {"H11"}, {"H17"}, {"H19"}, {"H20", rectifiers_}, {"H21"}, {"H23"}},
                          ActKind::power_b_plus);
            s.connect = {"rectifier in: " + listed(rectifiers_)};
            if (!riding_.empty()) s.connect.push_back("speaker plugged before the line: " + listed(riding_));
            s.connect.push_back(lamp_words(lamp) + " incandescent lamp in series");
            live(s, solved->line_volts, lamp);
            supply_readings(s, *stage_around, lamp);
            b_plus_readings(s, *stage_around, warm_enough(*solved));
            if (warm_enough(*solved) && !first_half_minute(s, lamp)) return false;
            s.notice = {"red plates; blue haze that moves inside the glass (blue on the glass is harmless)",
                        "hum at once: a filter; hum after fifteen seconds: the output stage",
                        "lamp bright for the first seconds, then " +
                            std::string(glow(solved->lamp_volts / lamp_volts_)) +
                            "; bright again after ten to twenty seconds and staying so: switch off"};
            if (const std::vector<std::string> left = untold(*stage_around); !left.empty()) {
                double from = lamp_sizes().back();
                for (const double size : lamp_sizes())
                    if (size >= (refitted ? larger_wanted_ : first_wanted_)) from = std::min(from, size);
                s.notice.insert(s.notice.begin(),
                                "no standard lamp of " + figure(from) + " W or more tells " + listed(left) +
                                    " from health, by its glow or by B-plus: " + figure(lamp) +
                                    " W is taken, and only the cold ohms can tell: read them again before the line");
            }
            if (const std::string text = caution("speaker-plug"); !text.empty() && plug_carries_)
                s.cautions.push_back(text);
            if (!refitted) {
                if (!riding_.empty()) s.acts.push_back({K::plug_speaker, riding_, "plug out, empty", 0});
                if (!through_.empty()) s.acts.push_back({K::measure, through_, "continuity through the plug", 0});
                s.acts.push_back({K::refit_tube, rectifiers_, "rectifier", 0});
            }
            refitted = true;
            s.acts.push_back({K::power_b_plus, {}, figure(lamp) + " W lamp", minutes("power-stage")});
            s.acts.push_back({K::discharge, {}, "plug out", 0});
        }
        return true;
    }

    // Ripple as it is, and with the filters dried to half: the band ends and the stop stands half way between.
    void ripple_readings(PowerStage& s, const Solution& normal) {
        std::vector<std::pair<std::string, std::pair<std::string, double>>> dried;
        for (const Part& p : chassis_.parts()) {
            const Duty d = duties_.of(chassis_.part(p.id));
            if ((d == Duty::first_filter || d == Duty::filter) && p.farads)
                dried.push_back({p.id, {"farads", *p.farads * dried_share}});
        }
        bench_.set_values(dried);
        const Outcome<Solution> dry = bench_.solve(condition(Scenario::normal));
        bench_.set_values({});
        for (int f : filters_) {
            const double ripple = normal.nets[at(f)].rms.value();
            StageReading r =
                reading(name(f), name(chassis_.reference()), "volts ac", ripple, ripple * (1 - filter_spread),
                        ripple * (1 + filter_spread), std::nullopt, "lighter load than solved",
                        "a filter is dry or open (the stop stands before half their value is gone); read "
                        "through .1 uF of 630 V");
            if (dry) r.stop = std::max({(r.high + dry->nets[at(f)].rms.value()) / 2, r.high, least_ripple});
            r.high = std::max(r.high, least_ripple / 2);
            s.readings.push_back(std::move(r));
        }
    }

    /// The gate of the soak has volts to ask for, or to judge.
    bool asks_for_volts() const {
        return !progress_.readings.empty() || in(progress_.steps_done, "power-up") ||
               in(progress_.stages_passed, "full line");
    }
    bool full_line(const Solution& normal) {
        PowerStage& s = stage("full line", minutes("power-stage"));
        s.gate = gate({{"H17"}, {"H11"}}, ActKind::power_full_line);
        s.connect = {straight()};
        live(s, normal.line_volts, 0);
        if (lamp_.gates_alone && asks_for_volts()) choose_trials();
        const auto stage_around = around(condition(Scenario::normal));
        if (!stage_around) return false;
        supply_readings(s, *stage_around, 0);
        b_plus_readings(s, *stage_around, true);
        winding_readings(s, *stage_around, false);
        std::set<int> done;
        for (const StageReading& r : s.readings)
            if (r.quantity == "volts dc") done.insert(chassis_.net(r.at));
        for (const Part& p : chassis_.parts()) {
            if (p.kind != PartKind::socket || !p.type || p.type->is_rectifier()) continue;
            for (const Lead& l : p.leads) {
                const Pin* pin = p.type->pin(l.name);
                if (!pin || l.net < 0 || !done.insert(l.net).second) continue;
                const std::string& e = pin->electrodes.front();
                if (e[0] == 'h' || std::fabs(normal.nets[at(l.net)].meter.value()) < 0.05) continue;
                electrode_reading(s, *stage_around, p, l, e);
            }
        }
        ripple_readings(s, normal);
        if (!first_half_minute(s, 0)) return false;
        full_ = std::move(*stage_around);
        s.notice = {"red plates, smell, a cap that warms; after five minutes the volts stand still",
                    "write every reading down: alignment waits for it"};
        s.acts = {{K::power_full_line, {}, "full line", 15},
                  {K::log_volts, {}, "every pin", 0},
                  {K::discharge, {}, "plug out", 0}};
        return true;
    }

    /// The last reading in the log of a row of full line, by what was in the set then; nullptr when there is none.
    const Reading* logged_reading(const StageReading& row) const {
        const Reading* last = nullptr;
        for (const Reading& one : progress_.readings) {
            const bool meant = one.quantity == row.quantity && chassis_.net(one.at) == chassis_.net(row.at) &&
                               (one.to.empty() || chassis_.net(one.to) == chassis_.net(row.to));
            const bool otherwise = std::any_of(not_at_full_line.begin(), not_at_full_line.end(), [&](const char* word) {
                return one.conditions.find(word) != std::string::npos;
            });
            if (meant && !otherwise && changes_.since(one.deeds, K::log_volts).empty()) last = &one;
        }
        return last;
    }
    /// H13: what of full line's volts is not in the log, or is not right there. Volts go with the line; a meter that
    /// loads more than the sheet's reads less, and is held to the upper end alone.
    std::string working_volts_lack() const {
        std::string wrong, missing;
        for (const StageReading& row : sheet_.stages.back().readings) {
            if (row.quantity != "volts dc" || row.when == half_minute || row.says_nothing) continue;
            const Reading* read = logged_reading(row);
            if (read == nullptr) {
                if (row.stop || row.stop_below) missing += (missing.empty() ? "" : ", ") + row.at;
                continue;
            }
            const double line = read->line_volts > 0 ? read->line_volts / line_ : 1;
            const bool loads = read->meter.find("/V") != std::string::npos && policy_.meter.ohms_per_volt <= 0;
            const bool over = read->value > row.high * line, under = read->value < row.low * line && !loads;
            if (!over && !under) continue;
            const bool stop = (over && row.stop && read->value > *row.stop * line) ||
                              (under && row.stop_below && read->value < *row.stop_below * line);
            wrong += (wrong.empty() ? "" : "; ") + row.at + " reads " + say(volts(read->value)) + " where " +
                     say(volts(row.low * line)) + " to " + say(volts(row.high * line)) + " is right" +
                     (stop ? ", past its STOP" : "");
        }
        if (!wrong.empty()) return wrong;
        if (missing.empty()) return {};
        return "no reading in the log since the last change of " + missing +
               " (enter what they read, or sign H13 and why)";
    }

    void soak(const Solution& normal) {
        const std::string working_volts = logged() ? working_volts_lack() : std::string();
        PowerStage& s = stage("soak, watched", minutes("soak"));
        s.gate = gate({{"H13", std::nullopt, {}, false, working_volts}}, ActKind::soak);
        s.connect = {"as at full line"};
        live(s, normal.line_volts, 0);
        if (b_plus_ >= 0) volts_reading(s, full_, b_plus_, "something warms and leaks", "a tube has stopped drawing");
        for (int socket : duties_.output_tubes)
            for (const Lead& l : part(socket).leads)
                if (const Pin* pin = part(socket).type->pin(l.name); pin && pin->electrodes.front()[0] == 'k')
                    volts_reading(s, full_, l.net, "the tube fades", "grid current or a coupler that leaks warm");
        s.notice = {"crackle like thunder: silver mica in the IF cans",
                    "transformer warm to the hand after an hour, not hot: five seconds on it are bearable",
                    "never left"};
        s.acts = {{K::soak, {}, "watched", 90}, {K::discharge, {}, "plug out", 0}};
    }

    void touch_current() {
        PowerStage& s = stage("touch current, in three steps", minutes("touch-current"));
        s.gate = gate({{"s14"}, {"H22", line_capacitors_}}, ActKind::check_touch_current);
        s.connect = {"(a) plug out, blades joined, switch on: ohms to each touchable part",
                     "(b) straight on the line without the isolation transformer, nobody touching: meter and 47 k 2 W "
                     "to a known earth, clipped on first",
                     "(c) the same with 1.5 k and .15 uF across it",
                     "both ways of the plug by a reversing lead, switch on and off"};
        s.remove = {"isolation transformer, for (b) and (c) only"};
        if (!earth_.name.empty())
            s.remove.push_back(earth_.name + ", for all three: an earthed chassis reads nothing, whatever leaks");
        s.line_volts = choice::upper_line_volts(chassis_, policy_);
        s.cautions = {caution("local-code"), caution("alone"), caution("b-plus")};
        s.at_stop = {"over the limit: unplug; the set is not handed back until the path is found"};
        // What the capacitors from line to metal pass, at the values that the touch limit leaves.
        double farads = 0;
        for (double old : touch_old_)
            farads +=
                choice::touch_safe_farads(catalogue_, old, *s.line_volts, hertz_, static_cast<int>(touch_old_.size()));
        const double reactance = farads > 0 ? 1 / (2 * pi * hertz_ * farads) : 0;
        const auto divided = [&](double r) { return farads > 0 ? *s.line_volts * r / std::hypot(r, reactance) : 0.0; };
        const double net_ohms = 1 / std::hypot(1 / network_ohms, 2 * pi * hertz_ * network_farads);
        s.readings.push_back(reading("joined blades", "each touchable part", "ohms", 1e7, 1e6, 1e9, 1e6,
                                     "a path from line to metal: find it", ""));
        s.readings.push_back(reading("each touchable part", "earth through 47 k", "volts ac", divided(touch_ohms), 0,
                                     std::min(touch_volts, 1.3 * divided(touch_ohms) + 1), touch_volts, "",
                                     "over .5 mA: an ordinary capacitor from line to metal, or a damp transformer"));
        s.readings.push_back(reading("each touchable part", "earth through 1.5 k and .15 uF", "volts ac",
                                     divided(net_ohms), 0, std::min(network_volts, 1.3 * divided(net_ohms) + 0.05),
                                     network_volts, "", "over .5 mA"));
        if (!earth_.name.empty() && farads > 0)
            for (StageReading& r : s.readings) {
                if (r.quantity != "volts ac") continue;
                r.low = r.expect / 2;
                r.if_low = &r == &s.readings.back() ? "as through 47 k: the earth first"
                                                    : "the earth is still on, or no new capacitor stands from line "
                                                      "to metal";
            }
        s.notice = {
            "each screw, shaft, knob bush, grille and antenna lead",
            "figures are of the upper line limit, " + say(volts(*s.line_volts)) + ": on a lower line they are less"};
        s.acts = {{K::check_touch_current, {}, "cold: blades joined", 0},
                  {K::check_touch_current, {}, "47 k 2 W", 0},
                  {K::check_touch_current, {}, "1.5 k with .15 uF", 0},
                  {K::discharge, {}, "plug out", 0}};
        if (earth_.on) s.acts.insert(s.acts.begin(), {K::lift_earth, earth_.over, "off the metal", 0});
    }

    // Filament volts of the rectifier in a solution against its own.
    bool warm_enough(const Solution& in) const {
        const Part& t = part(transformer_);
        double share = 1;
        bool found = false;
        for (const PartWinding& w : t.windings) {
            const bool own = w.role == WindingRole::rectifier_heater || (w.role == WindingRole::heater && !found);
            if (!own || !w.volts) continue;
            if (const Branch* b = in.branch(transformer_, w.name)) share = b->volts_rms.value() / *w.volts;
            found = w.role == WindingRole::rectifier_heater || found;
            if (w.role == WindingRole::rectifier_heater) break;
        }
        return share >= filament_enough;
    }

    void lamp_table() {
        // The likeliest by criticality that the lamp can tell from health and from each other.
        std::vector<const Threat*> likely;
        std::vector<double> told;
        const std::vector<Threat> rows = threats_.for_transformer();
        const Condition usual = condition(Scenario::lamp, first_);
        if (const auto healthy = solve(usual)) told.push_back(healthy->lamp_volts);
        int tried = 0;
        for (const Threat& t : rows) {
            if (likely.size() == table_faults || told.empty() || tried == table_tries) break;
            if (!t.solved || t.ahead_of_primary || t.criticality <= 0) continue;
            ++tried;
            const FaultSolution f = bench_.solve(usual, std::span<const Fault>(&t.fault, 1), false);
            const bool apart = f.solved && std::all_of(told.begin(), told.end(), [&](double v) {
                                   return std::fabs(f.solution.lamp_volts - v) > told_apart * lamp_volts_;
                               });
            if (!apart) continue;
            told.push_back(f.solution.lamp_volts);
            likely.push_back(&t);
        }
        std::vector<double> sizes = lamp_sizes();
        if (lamp_.watts > 0 && std::find(sizes.begin(), sizes.end(), lamp_.watts) == sizes.end())
            sizes.push_back(lamp_.watts);
        std::sort(sizes.begin(), sizes.end());
        const auto row = [&](double lamp, const std::string& state, const Solution& in) {
            LampGlow g;
            g.lamp_watts = lamp;
            g.state = state;
            g.set_volts = in.set_volts;
            g.lamp_volts = in.lamp_volts;
            g.b_plus_volts = b_plus_ >= 0 ? in.nets[at(b_plus_)].dc.value() : 0;
            g.glow = glow(in.lamp_volts / lamp_volts_);
            g.meaningful = warm_enough(in);
            sheet_.lamp_table.push_back(std::move(g));
        };
        for (double lamp : sizes) {
            const Condition c = condition(Scenario::lamp, lamp);
            if (const auto healthy = solve(c)) row(lamp, "healthy", *healthy);
            for (const Threat* t : likely) {
                const FaultSolution f = bench_.solve(c, std::span<const Fault>(&t->fault, 1), false);
                if (f.solved) row(lamp, t->fault.id, f.solution);
            }
        }
    }

    // Each filter section by itself: what it may hold, what is left after five seconds of the clip, and what empties it
    // if nobody does.
    void discharges() {
        const Outcome<Solution> high = bench_.solve(condition(Scenario::high_line));
        if (!high) return;
        std::vector<Discharge> sections;
        double farads = 0;
        for (Discharge& d : bench_.discharge(*high)) {
            if (d.part < 0 || part(d.part).leads.size() < 2 || d.start.value() <= 60) continue;
            farads += part(d.part).farads.value_or(0);
            sections.push_back(std::move(d));
        }
        for (const char* moment : {"as the plug is pulled", "after 5 s of 10 k 10 W"})
            for (const Discharge& d : sections) {
                const Part& p = part(d.part);
                // No more than if every section emptied through this one clip.
                const double left = d.start.value() * std::exp(-clip_seconds / (discharge_ohms * farads));
                const bool clipped = std::string(moment).find("after") == 0;
                StageReading r =
                    reading(name(p.leads[0].net), name(p.leads[1].net), "volts dc", clipped ? left : d.start.value(), 0,
                            clipped ? std::max(left, 1.0) : d.start.value(),
                            clipped ? std::optional<double>(std::max(empty_volts, 2 * left)) : std::nullopt, "",
                            clipped ? "the clip did not touch: again, and do not reach in" : "");
                r.when = moment;
                sheet_.discharge.push_back(std::move(r));
            }
        for (const Discharge& d : sections) {
            const Part& p = part(d.part);
            // Slower than a bleeder is leakage, and nobody gave that.
            const auto slow = [](Seconds t) { return t.value() < 0 || t.value() > bleeds_within; };
            std::string text = p.id + " (" + name(p.leads[0].net) + "): left alone ";
            if (slow(d.to_60_volts)) {
                text += "nothing bleeds its " + say(volts(d.start.value())) + ": hours or days";
            } else {
                text += "it falls from " + say(volts(d.start.value())) + " to 60 V in " + say(d.to_60_volts);
            }
            if (!slow(d.to_60_volts) && !d.through.empty()) {
                std::vector<std::string> ids;
                for (int r : d.through) ids.push_back(part(r).id);
                text += " through " + listed(ids) + "; with " + ids.front() + " open " +
                        (slow(d.without_first) ? "nothing bleeds it: hours or days" : "in " + say(d.without_first));
                for (int r : d.through)
                    if (!part(r).seen.empty()) text += "; the file has " + part(r).id + " " + part(r).seen;
            }
            sheet_.discharge_notes.push_back(text);
        }
    }

    const Chassis& chassis_;
    const Catalogue& catalogue_;
    const Policy& policy_;
    Bench& bench_;
    const ThreatReport& threats_;
    const Progress& progress_;
    LampChoice lamp_;
    std::string fuse_;
    Duties duties_;
    Earth earth_;
    Changes changes_;
    PartGraph copper_;
    PowerUp sheet_;
    std::vector<Notice> failure_;
    std::vector<Fault> trials_;
    std::vector<std::string> supply_;  // ids of the likeliest shorts on B-plus
    bool plug_carries_ = false;        // more than a voice coil rides on the speaker's plug
    Around full_;
    std::map<std::tuple<Scenario, double, double>, Around> around_;  // a lamp is chosen by what its stage prints later
    Solution normal_;
    int transformer_ = -1, b_plus_ = -1;
    std::vector<std::string> rectifiers_, others_, lamps_, riding_, through_, electrolytics_, line_capacitors_,
        winding_capacitors_, guards_, couplers_, bias_, line_parts_;
    std::vector<double> touch_old_;
    bool biased_ = false;  // by what the direct current returns through
    std::vector<int> filters_;
    std::map<std::pair<int, int>, std::size_t> cold_seen_;  // net pair to its row
    std::map<std::size_t, BeforePower> before_power_;
    double line_ = 0, hertz_ = 60, lamp_volts_ = 120, alone_ = 40, first_ = 60, larger_ = 100;
    double first_wanted_ = 0, larger_wanted_ = 0;  // watts asked of the two lamps
};

}  // namespace

Outcome<PowerUp> power_up_of(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy, Bench& bench,
                             const ThreatReport& threats, const Progress& progress, const LampChoice& lamp,
                             const std::string& fuse) {
    return Sheet(chassis, catalogue, policy, bench, threats, progress, lamp, fuse).make();
}

}  // namespace tubewright
