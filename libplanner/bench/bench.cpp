// SPDX-License-Identifier: MIT
// The bench itself: one translation (and one for each shorted layer, each line frequency), solutions kept by condition,
// and the fault sweep. Of the faults of a set most leave the rectifier block alone: their B-plus is a direct-current
// solution of the rest against the block's regulation line, and the winding currents are functions of the volts at the
// port alone. Five periodic solutions with more or less load at the port give both. A fault that touches the block, or
// leaves the span of the five, is shot anew. Tests: tests/bench/.
#include "bench/bench.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <optional>
#include <thread>
#include <tuple>

#include "bench/bands.hpp"
#include "bench/dry.hpp"
#include "bench/numbers.hpp"
#include "bench/small_signal.hpp"
#include "bench/solving.hpp"
#include "bench/warming.hpp"
#include "chassis/data.hpp"
#include "tubes/regulator.hpp"

namespace tubewright {

using bench::Change;
using bench::FaultEffect;
using bench::Item;
using bench::Node;
using bench::Rig;
using bench::Setting;
using bench::Slot;
using bench::Solved;
using bench::Tap;
using bench::Translation;

namespace {

constexpr int fine_steps = 128, sweep_steps = 64;

/// Wired for class B, where a driver takes the grids far beyond the cathode: a twin triode made for nothing else, or a
/// tube of two grids with both on one net.
bool in_class_b(const Part& tube) {
    if (tube.type == nullptr || tube.type->tube_class.find("class B") == std::string::npos) return false;
    if (tube.type->tube_class.starts_with("dual-triode")) return true;
    const auto net_of = [&](const char* grid) {
        for (const Lead& lead : tube.leads)
            if (const Pin* pin = tube.type->pin(lead.name); pin != nullptr && pin->electrodes.front() == grid)
                return lead.net;
        return -1;
    };
    const int control = net_of("g1");
    return control >= 0 && control == net_of("g2");
}

/// Contacts break on whole steps.
int fine(const Translation& in) {
    return in.chopped ? 2 * bench::vibrator_grid : fine_steps;
}
int swept(const Translation& in) {
    return in.chopped ? bench::vibrator_grid : sweep_steps;
}
constexpr double most_stray_amps = 1e-6;  ///< that a two-level answer may leave unbalanced
constexpr std::size_t anchors = 5;
constexpr std::array<double, anchors> anchor_loads{-0.6, -0.3, 0.0, 0.45,
                                                   1.0};  ///< further load as shares of the normal one

/// The block as a function of the mean volts at its port.
struct Curve {
    bool usable = false;
    std::array<double, anchors> volts{};  ///< rising
    std::array<double, anchors> amps{};
    std::array<Solution, anchors> at;
    std::vector<double> parameters;  ///< of the regulation line
    circuit::Operating healthy;      ///< of the twin
};

/// Where on the curve a fault stands.
struct CurvePoint {
    circuit::Operating op;  ///< of the twin
    std::vector<circuit::Override> overrides;
    std::array<double, anchors> weight{};
};

/// A healthy solution in a condition, and what was made from it.
struct Healthy {
    Solved solved;
    std::vector<std::pair<int, double>> dark;  ///< gas rectifiers that do not start: part, peak volts that they see
    std::vector<std::pair<int, double>> weak;  ///< those that start only where they are good
    std::vector<std::pair<int, int>> beside;   ///< regulators that another one across the same nets keeps dark: parts
    std::vector<int> restless;                 ///< parts: tubes that drive one another through capacitors
    Solution solution;
    std::shared_ptr<const Curve> curve;
    /// One of two states: the tube that is cut off in it, and the net of its plate; -1 where none that lasts was found.
    std::optional<std::pair<int, int>> cut_off;
    bool sharp = false;  ///< a rectifier's peak is a matter of the step still
};

double port_volts(const Translation& in, const Solved& solved) {
    const bench::Port& port = in.ports.front();
    return solved.wave.volts[static_cast<std::size_t>(port.plus)].mean -
           solved.wave.volts[static_cast<std::size_t>(port.minus)].mean;
}

/// Watts that the set takes from B-plus at the first filter; where that is no one place, what its supply gives less
/// what heaters, copper and core take.
double b_plus_watts(const Translation& in, const Solved& solved, const Solution& found) {
    if (in.ports.size() == 1 && in.ports.front().simple)
        return bench::rectified_amps(in, found) * port_volts(in, solved);
    double watts = found.line_watts.value() - bench::assumed::core_watts_per_va * in.va;
    for (std::size_t k = 0; k < in.taps.size(); ++k)
        if (in.taps[k].watts == Tap::Watts::heater || in.taps[k].watts == Tap::Watts::copper)
            watts -= found.branches[k].watts.value();
    return std::max(0.0, watts);
}

/// By node: the port, the ends of plate windings, and what is joined to them by windings (the rectifier's filament):
/// they rise and fall with the port, and the drop in their copper is the curve's to say.
std::vector<char> riding_on_port(const Translation& in, const Chassis& set) {
    std::vector<char> rides(in.node_names.size(), 0);
    const auto mark = [&](Node at) -> char& { return rides[static_cast<std::size_t>(at)]; };
    mark(in.ports.front().minus) = mark(in.ports.front().plus) = 1;
    for (bool more = true; more;) {
        more = false;
        for (const bench::WindingHalf& half : in.windings) {
            if (half.part != in.power_part || half.winding < 0) continue;
            const bool plate = set.parts()[static_cast<std::size_t>(half.part)]
                                   .windings[static_cast<std::size_t>(half.winding)]
                                   .role == WindingRole::plate;
            const bool joined = (half.from != 0 && mark(half.from) != 0) || (half.to != 0 && mark(half.to) != 0);
            if ((!plate && !joined) || (mark(half.from) != 0 && mark(half.to) != 0)) continue;
            mark(half.from) = mark(half.to) = 1;
            more = true;
        }
    }
    rides[0] = 0;
    return rides;
}

/// Whether a change is nothing to the rectifier block, or only another steady load at its port: against the first
/// filter's reactance (some tens of ohms) a load of this size or larger draws no ripple to speak of.
bool leaves_block_alone(const Translation& in, const Solved& healthy, const Change& change) {
    constexpr double least_ohms = 500;
    const bench::Port& port = in.ports.front();
    const Item& item = in.items[static_cast<std::size_t>(change.item)];
    for (const Node at : item.nodes) {
        if (at == 0 || in.in_block[static_cast<std::size_t>(at)] == 0) continue;
        if (at != port.plus && at != port.minus) return false;
        if (change.slot == Slot::siemens) {
            if (change.value * least_ohms > 1) return false;
        } else if (change.slot == Slot::ohms && (item.kind == "resistor" || item.kind == "inductor")) {
            const double was = bench::value_under(in, healthy.changes, change.item, Slot::ohms, change.index);
            if (was < least_ohms || change.value < 0.8 * was) return false;
        } else {
            return false;
        }
    }
    return true;
}

}  // namespace

struct Bench::State {
    Chassis chassis;
    Catalogue catalogue;
    Policy policy;
    std::map<std::string, TubeModel> models;
    std::vector<Fault> faults;
    bench::Guess guess;
    double hertz = 60;
    Rig rig;
    std::map<std::tuple<double, int, int, int, bool>, Rig> variants;  ///< hertz, layer, driven
    bench::Values values;
    std::vector<std::pair<std::string, std::pair<std::string, double>>> what_if;
    std::map<std::string, Healthy> kept;
    std::shared_ptr<const bench::BlockShifts> shifts;
    int sweep_steps = 0;  ///< once known
    std::vector<Assumption> assumptions;

    State(Chassis set, Catalogue tables, Policy settings)
        : chassis(std::move(set)), catalogue(std::move(tables)), policy(std::move(settings)) {}
    State(const State& other)
        : chassis(other.chassis),
          catalogue(other.catalogue),
          policy(other.policy),
          models(other.models),
          faults(other.faults),
          guess(other.guess),
          hertz(other.hertz),
          rig(other.rig.clone()),
          values(other.values),
          what_if(other.what_if),
          kept(other.kept),
          shifts(other.shifts),
          sweep_steps(other.sweep_steps),
          assumptions(other.assumptions) {
        for (const auto& [key, variant] : other.variants) variants.emplace(key, variant.clone());
    }

    Outcome<Rig> make_rig(const bench::Guess& with, double at_hertz, const bench::Layer* layer,
                          bool driven = false) const {
        Outcome<Translation> made =
            bench::translate(chassis, catalogue, policy, models, faults, with, at_hertz, layer, driven);
        if (!made) return made.notices();
        Rig out;
        auto translation = std::make_shared<const Translation>(std::move(*made));
        out.full = std::make_unique<circuit::Engine>(translation->full);
        out.twin = std::make_unique<circuit::Engine>(translation->twin);
        out.full->tie_islands(true);
        out.twin->tie_islands(true);
        out.translation = std::move(translation);
        return out;
    }

    /// The rig for a frequency, a shorted layer, a signal; made on first use.
    Rig& rig_for(double at_hertz, const bench::Layer& layer, bool driven = false) {
        if (layer.part < 0 && at_hertz == hertz && !driven) return rig;
        const std::tuple key(at_hertz, layer.part, layer.winding, layer.half, driven);
        auto found = variants.find(key);
        if (found == variants.end())
            found =
                variants.emplace(key, std::move(*make_rig(guess, at_hertz, layer.part < 0 ? nullptr : &layer, driven)))
                    .first;
        return found->second;
    }
    Rig& rig_for(const Condition& condition) {
        return rig_for(hertz_of(condition), {}, condition.scenario == Scenario::signal_peak);
    }

    double hertz_of(const Condition& condition) const {
        if (condition.line_hertz > 0 && !rig.translation->direct) return condition.line_hertz;
        return hertz;
    }

    bench::Values values_for(const Translation& in) const {
        bench::Values out;
        for (const auto& [id, change] : what_if) {
            const int part = chassis.part(id);
            const auto items = in.items_of_part.find(part);
            if (part < 0 || items == in.items_of_part.end()) continue;
            for (const int index : items->second) {
                const Item& item = in.items[static_cast<std::size_t>(index)];
                if (change.first == "farads" && item.kind == "capacitor")
                    out.push_back({index, Slot::farads, 0, change.second});
                if (change.first == "henries" && (item.kind == "inductor" || item.kind == "transformer"))
                    out.push_back({index, Slot::henries, 0, change.second});
                if (change.first != "ohms") continue;
                if (item.kind == "inductor") out.push_back({index, Slot::ohms, 0, change.second});
                if (item.kind == "resistor") {
                    // sections of one control or tapped resistor keep their shares
                    double whole = 0;
                    for (const int other : items->second) whole += in.items[static_cast<std::size_t>(other)].values[0];
                    out.push_back({index, Slot::ohms, 0, change.second * item.values[0] / whole});
                }
            }
        }
        return out;
    }

    std::vector<Notice> settle();

    static std::string key(const Condition& condition, int steps, bool ripple) {
        return condition.text() + "|" + std::to_string(condition.line_volts) + "|" +
               std::to_string(condition.line_hertz) + "|" + std::to_string(condition.lamp_watts) + "|" +
               std::to_string(condition.lamp_volts) + "|" + std::to_string(steps) + (ripple ? "r" : "m");
    }

    std::string explain(const Solved& solved) const {
        std::string text = solved.why.empty() ? "no steady state was found" : solved.why;
        std::string names;
        for (const Node at : solved.wave.trouble.nodes) {
            if (at < 0 || static_cast<std::size_t>(at) >= rig.translation->node_names.size()) continue;
            const std::string& name = rig.translation->node_names[static_cast<std::size_t>(at)];
            if (text.find(name) == std::string::npos) names += (names.empty() ? "" : ", ") + name;
        }
        std::string parts;
        for (const circuit::Element element : solved.wave.trouble.elements) {
            for (const Item& item : rig.translation->items) {
                if (item.full == element && text.find(item.id) == std::string::npos)
                    parts += (parts.empty() ? "" : ", ") + item.id;
            }
        }
        if (!names.empty()) text += "; nets: " + names;
        if (!parts.empty()) text += "; parts: " + parts;
        return text;
    }

    Notice unsolved(const Condition& condition, const Solved& solved) const {
        if (solved.foreign)
            return {messages::does_not_apply,
                    Severity::note,
                    {chassis.file(), 0, 0},
                    "'" + condition.text() + "' does not apply to this set: " + solved.why,
                    "ask for another condition"};
        return {messages::no_solution,
                Severity::error,
                {chassis.file(), 0, 0},
                "no solution for '" + condition.text() + "': " + explain(solved),
                solved.wave.trouble.nodes.empty() && solved.wave.trouble.elements.empty()
                    ? condition.line_volts > 0 || condition.scenario == Scenario::step
                          ? "ask for another condition, or for the set's own supply"
                          : "ask for another condition"
                    : "look at the parts named: a lead traced to the wrong net is the usual cause"};
    }

    /// The healthy set in a condition; kept. Every condition starts from the normal one, and the fine steps from the
    /// sweep's: always the same way, whatever was asked before.
    Healthy& healthy(const Condition& condition, int steps, bool ripple) {
        const std::string name = key(condition, steps, ripple);
        const auto found = kept.find(name);
        if (found != kept.end()) return found->second;
        if (condition.scenario == Scenario::signal_peak) return kept.emplace(name, driven(condition)).first->second;
        Condition normal;
        normal.line_hertz = condition.line_hertz;
        const Healthy* former = nullptr;
        if (ripple) {
            former = &healthy(condition, swept(*rig.translation), false);
        } else if (condition.scenario != Scenario::rectifier_out && condition.scenario != Scenario::transformer_alone &&
                   name != key(normal, steps, ripple)) {
            former = &healthy(normal, steps, ripple);
        }
        const Solved* warm = former != nullptr ? &former->solved : nullptr;
        Rig& with = rig_for(hertz_of(condition), {});
        const Setting setting = bench::setting_of(*with.translation, chassis, policy, condition);
        Healthy made;
        made.solved = bench::shoot(with, setting, values, steps, ripple, warm != nullptr && warm->ok ? warm : nullptr);
        if (!made.solved.ok && setting.why.empty()) find_rest(with, setting, steps, ripple, warm, made);
        const bool found_rest = !made.restless.empty();
        if (made.solved.ok && !found_rest) strike(with, setting, steps, ripple, made);
        if (former != nullptr) made.cut_off = former->cut_off;
        if (made.solved.ok && !found_rest) tip(with, setting, steps, ripple, made);
        if (made.solved.ok) made.solution = bench::read_out(with, chassis, made.solved, condition, ripple);
        if (ripple && made.solved.ok && !found_rest && made.solution.solver.worst_kcl_amps > most_stray_amps &&
            made.solved.wave.method == circuit::Method::two_level) {
            Setting whole = setting;
            whole.whole = true;
            Solved again = bench::shoot(with, whole, values, steps, ripple, &made.solved);
            if (again.ok) {
                made.solved = std::move(again);
                made.solution = bench::read_out(with, chassis, made.solved, condition, ripple);
            }
        }
        if (ripple && made.solved.ok && !found_rest) refine(with, setting, steps, condition, made);
        return kept.emplace(name, std::move(made)).first->second;
    }

    /// Steps of the fault sweep: so many that in health the windings of the power transformer carry what they carry in
    /// the finest, within a thousandth.
    int steps_of_sweep() {
        constexpr int most = 256;
        constexpr double as_good = 1e-3, least_share = 0.02;
        const Translation& in = *rig.translation;
        if (sweep_steps > 0) return sweep_steps;
        sweep_steps = swept(in);
        if (in.chopped || in.direct || in.power_part < 0) return sweep_steps;
        const Condition normal;
        const Healthy& finest = healthy(normal, fine(in), true);
        if (!finest.solved.ok) return sweep_steps;
        const auto agree = [&](const Healthy& coarse) {
            if (!coarse.solved.ok) return true;
            for (std::size_t k = 0; k < in.taps.size(); ++k) {
                if (in.taps[k].part != in.power_part) continue;
                const double now = finest.solution.branches[k].rms.value();
                if (now < least_share * finest.solution.primary_rms.value()) continue;
                if (std::fabs(coarse.solution.branches[k].rms.value() - now) > as_good * now) return false;
            }
            return true;
        };
        while (sweep_steps < most && !agree(healthy(normal, sweep_steps, false))) sweep_steps *= 2;
        return sweep_steps;
    }

    /// Whether the peak of some rectifier's current, or of what it charges, is a matter of the step.
    static bool sharp(const Rig& with, const Solved& solved) {
        constexpr double least_amps = 2e-3;  // rms: what a supply without a load takes is nobody's concern
        const Translation& in = *with.translation;
        const auto is = [&](int item) {
            const circuit::Course amps =
                with.full->current(solved.wave, in.items[static_cast<std::size_t>(item)].full, 0, solved.overrides);
            return amps.sharp && amps.rms > least_amps;
        };
        if (in.direct || in.chopped) return false;
        for (const bench::Dry& one : in.dry)
            if (is(one.item)) return true;
        for (const bench::Tube& tube : in.tubes)
            for (const bench::Section& section : tube.sections)
                if (section.rectifies && is(section.item)) return true;
        for (std::size_t k = 0; k < in.items.size(); ++k)
            if (in.items[k].kind == "capacitor" && in.items[k].full >= 0 && is(static_cast<int>(k)) &&
                std::any_of(in.items[k].nodes.begin(), in.items[k].nodes.end(),
                            [&](Node at) { return at != 0 && in.in_block[static_cast<std::size_t>(at)] != 0; }))
                return true;
        return false;
    }

    /// Such a set again with a fourth, and a sixteenth, of the step.
    void refine(Rig& with, const Setting& setting, int steps, const Condition& condition, Healthy& made) {
        constexpr int finest = 16;
        made.sharp = sharp(with, made.solved);
        for (int finer = 4; made.sharp && finer <= finest; finer *= 4) {
            Setting again = setting;
            again.whole = made.solved.wave.method != circuit::Method::two_level;
            for (std::size_t t = 0; t < with.translation->tubes.size(); ++t) {
                const auto is = [&](const auto& one) { return one.first == with.translation->tubes[t].part; };
                if (std::any_of(made.dark.begin(), made.dark.end(), is) ||
                    std::any_of(made.beside.begin(), made.beside.end(), is))
                    again.emission[t] = 0;
            }
            Solved found = bench::shoot(with, again, values, finer * steps, true, &made.solved);
            if (!found.ok) return;
            made.solved = std::move(found);
            made.solution = bench::read_out(with, chassis, made.solved, condition, true);
            made.sharp = sharp(with, made.solved);
        }
    }

    /// Each output tube driven by the volts of its bias without a signal, so that its grid just reaches its cathode.
    Healthy driven(const Condition& condition) {
        Condition normal;
        normal.line_volts = condition.line_volts;
        normal.line_hertz = condition.line_hertz;
        const Healthy& rest = healthy(normal, swept(*rig.translation), false);
        const Translation& base = *rig_for(hertz_of(condition), {}).translation;
        Rig& with = rig_for(condition);
        const Translation& in = *with.translation;
        Healthy made;
        Setting setting = bench::setting_of(in, chassis, policy, condition);
        if (setting.why.empty() && !rest.solved.ok) setting.why = explain(rest.solved);
        Solved from;  // the same states and those of the signal, other unknowns
        if (rest.solved.ok) {
            from.log_ohms = rest.solved.log_ohms;
            from.wave.solved = true;
            from.wave.state = rest.solved.wave.state;
            constexpr double least_bias = 0.5;  // volts
            bool biased = in.drives.empty(), beyond = false;
            for (const bench::Drive& one : in.drives) {
                const bench::Section& section =
                    base.tubes[static_cast<std::size_t>(one.tube)].sections[static_cast<std::size_t>(one.section)];
                const auto volts = [&](Node at) { return rest.solved.wave.volts[static_cast<std::size_t>(at)].mean; };
                const Node grid = in.items[static_cast<std::size_t>(one.item)].nodes[1];
                const Node cathode = section.electrodes.back().node;
                const double bias = volts(cathode) - volts(grid);
                if (grid != cathode) from.wave.state.push_back(-bias);
                biased = biased || bias > least_bias;
                beyond =
                    beyond ||
                    in_class_b(
                        chassis.parts()[static_cast<std::size_t>(base.tubes[static_cast<std::size_t>(one.tube)].part)]);
                setting.changes.push_back({one.item, Slot::amplitude, 0, one.sign * std::max(0.0, bias)});
            }
            if ((!biased || beyond) && setting.why.empty())
                setting.why =
                    beyond ? "an output stage in class B, whatever its bias: its grids are driven beyond their "
                             "cathodes, and "
                             "what a driver puts into them there is not solved"
                           : "the output grids stand at their cathodes without a signal (class B, or no bias): what a "
                             "driver puts into them beyond is not solved";
        }
        const int cycles = in.drives.empty() ? 1 : bench::signal_multiple(setting.hertz);
        const int steps_per_cycle = in.node_names.size() > bench::most_nodes_of_the_period ? 16 : 32;
        const int grid = in.chopped ? bench::vibrator_grid : 1;
        const int steps = (cycles * steps_per_cycle + grid - 1) / grid * grid;
        made.solved = bench::shoot(with, setting, values_for(in), steps, true, rest.solved.ok ? &from : nullptr);
        if (made.solved.ok) made.solution = bench::read_out(with, chassis, made.solved, condition, true);
        return made;
    }

    /// Are these two regulators across the same two nets? Whichever starts first keeps the other dark.
    static bool beside(const Translation& in, std::size_t a, std::size_t b) {
        if (a == b || !in.tubes[a].cold_cathode || !in.tubes[b].cold_cathode) return false;
        if (in.tubes[a].sections.empty() || in.tubes[b].sections.empty()) return false;
        const auto& one = in.tubes[a].sections.front().electrodes;
        const auto& other = in.tubes[b].sections.front().electrodes;
        return one.front().node == other.front().node && one.back().node == other.back().node;
    }

    /// A gas rectifier that its winding cannot start stays dark. Rows ask for more volts than good tubes need. A
    /// regulator that sees too few may have been started before the tubes drew, and is only doubted.
    void strike(Rig& with, const Setting& setting, int steps, bool ripple, Healthy& made) {
        constexpr double good_tube = 0.8;  // of the row's starting volts (common practice, no source)
        const Translation& in = *with.translation;
        for (std::size_t t = 0; t < in.tubes.size(); ++t) {
            if (in.tubes[t].start_volts <= 0 || made.solved.emission[t] <= 0) continue;
            Setting dark = setting;
            dark.emission[t] = 0;
            int lit = -1;  // of those side by side the first is taken to start first
            for (std::size_t k = 0; k < in.tubes.size(); ++k) {
                if (!beside(in, t, k)) continue;
                if (k > t)
                    dark.emission[k] = 0;
                else if (made.solved.emission[k] > 0)
                    lit = in.tubes[k].part;
            }
            const Solved off = bench::shoot(with, dark, values, steps, ripple, &made.solved);
            if (!off.ok) continue;
            double peak = 0;
            for (const bench::Section& section : in.tubes[t].sections)
                if (section.rectifies || in.tubes[t].cold_cathode)
                    peak = std::max(peak, with.full
                                              ->volts_between(off.wave, section.electrodes.front().node,
                                                              section.electrodes.back().node)
                                              .high);
            if (lit >= 0 && peak < in.tubes[t].start_volts) {
                made.solved = off;
                made.beside.emplace_back(in.tubes[t].part, lit);
                continue;
            }
            if (in.tubes[t].cold_cathode || peak >= good_tube * in.tubes[t].start_volts) {
                if (peak < in.tubes[t].start_volts) made.weak.emplace_back(in.tubes[t].part, peak);
                continue;
            }
            made.solved = off;
            made.dark.emplace_back(in.tubes[t].part, peak);
        }
    }

    /// Stages that drive one another come to no steady state. Their rest is that without the capacitors that couple
    /// them, where it proves that with these they would leave it.
    void find_rest(Rig& with, const Setting& setting, int steps, bool ripple, const Solved* warm, Healthy& made) {
        constexpr double most_farads = 1e-6;  // of a coupling capacitor
        const Translation& in = *with.translation;
        Setting apart = setting;
        const std::size_t own = apart.changes.size();
        for (std::size_t k = 0; k < in.items.size(); ++k) {
            const Item& item = in.items[k];
            if (item.kind == "capacitor" && item.full >= 0 && item.values[0] <= most_farads &&
                std::none_of(item.nodes.begin(), item.nodes.end(),
                             [&](Node at) { return in.in_block[static_cast<std::size_t>(at)] != 0; }))
                apart.changes.push_back({static_cast<int>(k), Slot::farads, 0, 0});
        }
        if (apart.changes.size() == own) return;
        Solved found = bench::shoot(with, apart, values, steps, ripple, warm != nullptr && warm->ok ? warm : nullptr);
        if (!found.ok) return;
        // the currents are those without; what the capacitors are is as before
        Solved coupled = found;
        std::erase_if(coupled.changes, [&](const Change& change) {
            return change.slot == Slot::farads &&
                   std::any_of(apart.changes.begin() + static_cast<std::ptrdiff_t>(own), apart.changes.end(),
                               [&](const Change& taken) { return taken.item == change.item; });
        });
        coupled.overrides = bench::overrides_of(in, coupled.changes, false);
        for (const int t : bench::restless(with, coupled, true))
            made.restless.push_back(in.tubes[static_cast<std::size_t>(t)].part);
        if (!made.restless.empty()) made.solved = std::move(found);
    }

    /// Out of a state that cannot last into one that does: what is left once a section was off and is on again.
    void tip(Rig& with, const Setting& setting, int steps, bool ripple, Healthy& made) {
        if (bench::lasts(with, made.solved)) {
            for (const int t : bench::restless(with, made.solved, ripple))
                made.restless.push_back(with.translation->tubes[static_cast<std::size_t>(t)].part);
            return;
        }
        made.cut_off = std::pair(-1, -1);
        const Translation& in = *with.translation;
        for (std::size_t t = 0; t < in.tubes.size(); ++t) {
            if (in.tubes[t].rectifier || made.solved.emission[t] <= 0) continue;
            for (const bench::Section& section : in.tubes[t].sections) {
                Setting without = setting;
                without.changes.push_back({section.item, Slot::parameter, 0, 0});
                const Solved off = bench::shoot(with, without, values, steps, ripple, &made.solved);
                if (!off.ok) continue;
                Solved on = bench::shoot(with, setting, values, steps, ripple, &off);
                if (!on.ok || !bench::lasts(with, on)) continue;
                made.solved = std::move(on);
                const auto plate = static_cast<std::size_t>(section.electrodes.front().node);
                made.cut_off = std::pair(in.tubes[t].part, in.net_of_node[plate]);
                return;
            }
        }
    }

    /// Gas rectifiers without a heater, lit, that carry less than holds them lit: part, amperes, the least.
    std::vector<std::tuple<int, double, double>> too_little(Rig& with, const Solved& solved) const {
        std::vector<std::tuple<int, double, double>> found;
        for (std::size_t t = 0; t < with.translation->tubes.size(); ++t) {
            const bench::Tube& tube = with.translation->tubes[t];
            const Part& part = chassis.parts()[static_cast<std::size_t>(tube.part)];
            const RectifierType* row = tube.rectifier ? catalogue.rectifier(part.type->type) : nullptr;
            const std::optional<tubes::Regulator> holds = tubes::regulator(*part.type);
            const double least = holds ? holds->least_amps : row != nullptr ? row->hold_amps.value_or(0) : 0;
            if (!(least > 0) || solved.emission[t] <= 0) continue;
            double amps = 0;
            for (const bench::Section& section : tube.sections)
                if (section.rectifies || holds)
                    amps +=
                        with.full
                            ->current(solved.wave, with.translation->items[static_cast<std::size_t>(section.item)].full,
                                      0, solved.overrides)
                            .mean;
            if (amps < least) found.emplace_back(tube.part, amps, least);
        }
        return found;
    }

    void build_curve(const Condition& condition, Healthy& base);
    FaultSolution solve_fault(const Condition& condition, std::span<const Fault> placed, bool ripple, Healthy& base,
                              std::span<const WarmWinding> warm = {});
    /// The twin against the regulation line; false when the fault is none for the curve.
    bool on_curve(const Translation& in, const Setting& setting, const Healthy& base, const circuit::Operating& start,
                  CurvePoint& out);
    bool from_curve(const Translation& in, const Setting& setting, const Healthy& base, const Condition& condition,
                    FaultSolution& out);
    bool may_unsettle(const Fault& fault) const;
    std::vector<PairSolution> pairs_on_curve(const Condition& condition, std::span<const Fault> of,
                                             std::span<const std::pair<int, int>> pairs, const Healthy& base);
};

// ---- the curve

void Bench::State::build_curve(const Condition& condition, Healthy& base) {
    auto curve = std::make_shared<Curve>();
    base.curve = curve;
    Rig& with = rig_for(hertz_of(condition), {});
    const Translation& in = *with.translation;
    if (!base.solved.ok || in.ports.size() != 1 || !in.ports.front().simple || in.anchor < 0) return;
    // behind a choke the port swings with the plates, and what stands past it is part of what the rectifier sees
    constexpr double held = 0.25;
    const std::size_t steps = base.solved.wave.waveform.size();
    double low = 1e300, high = -1e300;
    for (std::size_t k = 0; k < steps; ++k) {
        const auto volts = [&](Node at) {
            return at == 0 ? 0 : base.solved.wave.waveform[k][static_cast<std::size_t>(at) - 1];
        };
        const double across = volts(in.ports.front().plus) - volts(in.ports.front().minus);
        low = std::min(low, across);
        high = std::max(high, across);
    }
    if (!(high - low < held * port_volts(in, base.solved))) return;
    const auto load = [&](const Solution& s) { return bench::rectified_amps(in, s); };
    const double normal = load(base.solution);
    if (!(normal > 1e-3)) return;
    std::array<std::pair<double, std::size_t>, anchors> order;
    std::array<Solution, anchors> found;
    std::array<double, anchors> amps{};
    for (std::size_t k = 0; k < anchors; ++k) {
        if (anchor_loads[k] == 0) {
            found[k] = base.solution;
            order[k] = {port_volts(in, base.solved), k};
        } else {
            Setting setting = bench::setting_of(in, chassis, policy, condition);
            setting.further_amps = anchor_loads[k] * normal;
            const Solved solved = bench::shoot(with, setting, values, steps_of_sweep(), false, &base.solved);
            if (!solved.ok) return;
            found[k] = bench::read_out(with, chassis, solved, condition, false);
            order[k] = {port_volts(in, solved), k};
        }
        amps[k] = load(found[k]);
    }
    std::sort(order.begin(), order.end());
    for (std::size_t k = 0; k < anchors; ++k) {
        curve->volts[k] = order[k].first;
        curve->amps[k] = amps[order[k].second];
        curve->at[k] = std::move(found[order[k].second]);
        if (k > 0 && !(curve->volts[k] > curve->volts[k - 1] && curve->amps[k] < curve->amps[k - 1])) return;
    }
    curve->parameters = bench::regulation_line(curve->volts, curve->amps);
    const auto overrides = bench::twin_overrides(in, base.solved.changes, curve->parameters);
    curve->healthy = with.twin->operating(overrides, nullptr);
    curve->usable = curve->healthy.solved;
}

bool Bench::State::on_curve(const Translation& in, const Setting& setting, const Healthy& base,
                            const circuit::Operating& start, CurvePoint& out) {
    if (!setting.feeds.empty()) return false;
    const Curve& curve = *base.curve;
    // emission of a tube that is none of the block's is a change like any other; a heater's is the block's
    std::vector<Change> changes = base.solved.changes;
    for (std::size_t t = 0; t < setting.emission.size(); ++t) {
        if (setting.emission[t] == 1) continue;
        if (in.tubes[t].rectifier) return false;
        for (const bench::Section& section : in.tubes[t].sections) {
            changes.push_back({section.item, Slot::parameter, 0, base.solved.emission[t] * setting.emission[t]});
            if (section.gas >= 0 && setting.emission[t] == 0) changes.push_back({section.gas, Slot::direct, 0, 0});
        }
    }
    for (std::size_t t = 0; t < setting.open.size(); ++t) {
        if (setting.open[t] > 1) return false;
    }
    for (const Change& change : setting.changes) {
        if (!leaves_block_alone(in, base.solved, change)) return false;
        changes.push_back(change);
    }
    out.overrides = bench::twin_overrides(in, changes, curve.parameters);
    out.op = rig.twin->operating(out.overrides, &start);
    if (!out.op.solved) return false;
    const double volts = out.op.volts(in.ports.front().plus) - out.op.volts(in.ports.front().minus);
    if (!(volts >= curve.volts.front() && volts <= curve.volts.back())) return false;
    for (std::size_t j = 0; j < anchors; ++j) {
        out.weight[j] = 1;
        for (std::size_t m = 0; m < anchors; ++m) {
            if (m != j) out.weight[j] *= (volts - curve.volts[m]) / (curve.volts[j] - curve.volts[m]);
        }
    }
    return true;
}

bool Bench::State::from_curve(const Translation& in, const Setting& setting, const Healthy& base,
                              const Condition& condition, FaultSolution& out) {
    const Curve& curve = *base.curve;
    CurvePoint point;
    if (!on_curve(in, setting, base, curve.healthy, point)) return false;
    const circuit::Operating& op = point.op;
    const std::array<double, anchors>& weight = point.weight;
    const std::vector<circuit::Override>& overrides = point.overrides;
    const auto mixed = [&](const auto& pick) {
        double sum = 0;
        for (std::size_t j = 0; j < anchors; ++j) sum += weight[j] * pick(curve.at[j]);
        return sum;
    };

    out.solved = true;
    out.reshot = false;
    Solution& s = out.solution;
    s.condition = condition;
    s.line_volts = base.solution.line_volts;
    s.line_hertz = base.solution.line_hertz;
    s.solver = base.solution.solver;
    s.nets = base.solution.nets;
    const std::vector<char> rides = riding_on_port(in, chassis);
    double shift = 0;  // of a tap that is not the reference
    if (const int minus = in.net_of_node[static_cast<std::size_t>(in.ports.front().minus)];
        in.ports.front().minus != 0 && minus >= 0)
        shift = op.volts(in.ports.front().minus) -
                mixed([&](const Solution& a) { return a.nets[static_cast<std::size_t>(minus)].dc.value(); });
    for (std::size_t n = 0; n < s.nets.size(); ++n) {
        NetVolts& net = s.nets[n];
        const Node at = in.node_of_net[n];
        if (at == 0) continue;
        if (in.in_block[static_cast<std::size_t>(at)] != 0 || in.adrift[static_cast<std::size_t>(at)] != 0) {
            const double mean = mixed([&](const Solution& a) { return a.nets[n].dc.value(); });
            // a filament's middle may hang on resistors: where its direct volts go is the twin's to say
            const double dc = in.adrift[static_cast<std::size_t>(at)] != 0 ? mean
                              : rides[static_cast<std::size_t>(at)] != 0
                                  ? mean + shift
                                  : base.solution.nets[n].dc.value() + op.volts(at) - curve.healthy.volts(at);
            net.dc = Volts(dc);
            net.rms = Volts(std::max(0.0, mixed([&](const Solution& a) { return a.nets[n].rms.value(); })));
            net.trough = Volts(dc - mean + mixed([&](const Solution& a) { return a.nets[n].trough.value(); }));
            net.crest = Volts(dc - mean + mixed([&](const Solution& a) { return a.nets[n].crest.value(); }));
            net.ripple_pp = net.crest - net.trough;
        } else {
            net.dc = net.trough = net.crest = Volts(op.volts(at));
            net.rms = net.ripple_pp = Volts(0);
        }
        net.low = net.high = net.meter = net.dc;
    }
    for (const Node at : op.undetermined) {
        const int net = in.net_of_node[static_cast<std::size_t>(at)];
        if (net >= 0) s.nets[static_cast<std::size_t>(net)].undetermined = true;
    }
    s.heater_cathode = base.solution.heater_cathode;
    for (HeaterCathode& pair : s.heater_cathode) {
        const auto moved = [&](int net) {
            const auto n = static_cast<std::size_t>(net);
            return s.nets[n].dc.value() - base.solution.nets[n].dc.value();
        };
        pair.volts = Volts(pair.volts.value() + moved(pair.cathode) - moved(pair.heater));
    }
    s.branches = base.solution.branches;
    for (std::size_t k = 0; k < s.branches.size(); ++k) {
        Branch& branch = s.branches[k];
        const Tap& tap = in.taps[k];
        const Item& item = in.items[static_cast<std::size_t>(tap.item)];
        const bool block = std::any_of(item.nodes.begin(), item.nodes.end(), [&](Node at) {
            return at > 0 && in.in_block[static_cast<std::size_t>(at)] != 0;
        });
        const bool direct = item.twin >= 0 || (item.kind == "transformer" && item.part != in.power_part);
        double dc = 0;
        if (direct) {
            const auto of = [&](int which, int terminal) {
                const Item& one = in.items[static_cast<std::size_t>(which)];
                if (one.kind == "transformer") {
                    const circuit::Element winding = one.twin_windings[static_cast<std::size_t>(terminal)];
                    return winding < 0 ? 0.0 : rig.twin->current(op, winding, 0, overrides);
                }
                if (one.kind == "capacitor") return op.solved ? rig.twin->current(op, one.twin, 0, overrides) : 0.0;
                return one.twin < 0 ? 0.0 : rig.twin->current(op, one.twin, terminal, overrides);
            };
            dc = of(tap.item, tap.terminal);
            for (const auto& [which, terminal] : tap.also) dc += of(which, terminal);
        }
        if (block) {
            const double mean = mixed([&](const Solution& a) { return a.branches[k].dc.value(); });
            const double rms = mixed([&](const Solution& a) { return a.branches[k].rms.value(); });
            const double ripple = std::max(0.0, rms * rms - mean * mean);
            if (!direct) dc = mean;
            branch.rms = Amps(direct ? std::sqrt(dc * dc + ripple) : std::max(0.0, rms));
            branch.peak = Amps(mixed([&](const Solution& a) { return a.branches[k].peak.value(); }) +
                               (direct ? std::fabs(dc) - std::fabs(mean) : 0.0));
            branch.watts = Watts(std::max(0.0, mixed([&](const Solution& a) { return a.branches[k].watts.value(); })));
            branch.volts_dc = Volts(direct ? op.volts(tap.a) - op.volts(tap.b)
                                           : mixed([&](const Solution& a) { return a.branches[k].volts_dc.value(); }));
            branch.volts_rms =
                Volts(std::max(0.0, mixed([&](const Solution& a) { return a.branches[k].volts_rms.value(); })));
            branch.volts_peak = Volts(mixed([&](const Solution& a) { return a.branches[k].volts_peak.value(); }));
            const double moved =
                branch.volts_dc.value() - mixed([&](const Solution& a) { return a.branches[k].volts_dc.value(); });
            branch.volts_low = Volts(moved + mixed([&](const Solution& a) { return a.branches[k].volts_low.value(); }));
            branch.volts_high =
                Volts(moved + mixed([&](const Solution& a) { return a.branches[k].volts_high.value(); }));
        } else {
            const double across = op.volts(tap.a) - op.volts(tap.b);
            branch.rms = branch.peak = Amps(std::fabs(dc));
            branch.volts_dc = branch.volts_low = branch.volts_high = Volts(across);
            branch.volts_rms = Volts(0);
            branch.volts_peak = Volts(std::fabs(across));
            branch.watts = Watts(tap.watts == Tap::Watts::none ? 0.0 : std::max(0.0, across * dc));
            if (tap.watts == Tap::Watts::copper) branch.watts = Watts(tap.ohms * dc * dc);
        }
        branch.dc = Amps(tap.sign * dc);
    }
    s.taps = base.solution.taps;
    for (std::size_t k = 0; k < s.taps.size(); ++k)
        s.taps[k].rms = Amps(std::max(0.0, mixed([&](const Solution& a) { return a.taps[k].rms.value(); })));
    s.primary_rms = Amps(mixed([](const Solution& a) { return a.primary_rms.value(); }));
    s.primary_peak = Amps(mixed([](const Solution& a) { return a.primary_peak.value(); }));
    s.drawn = Amps(mixed([](const Solution& a) { return a.drawn.value(); }));
    s.line_watts = Watts(mixed([](const Solution& a) { return a.line_watts.value(); }));
    s.set_volts = mixed([](const Solution& a) { return a.set_volts; });
    s.lamp_volts = mixed([](const Solution& a) { return a.lamp_volts; });
    return true;
}

std::vector<PairSolution> Bench::State::pairs_on_curve(const Condition& condition, std::span<const Fault> of,
                                                       std::span<const std::pair<int, int>> pairs,
                                                       const Healthy& base) {
    std::vector<PairSolution> out(pairs.size());
    if (!base.curve || !base.curve->usable) return out;
    const Curve& curve = *base.curve;
    const Translation& in = *rig_for(hertz_of(condition), {}).translation;
    std::vector<std::size_t> windings;
    for (std::size_t k = 0; k < in.taps.size(); ++k)
        if (in.taps[k].winding >= 0 && in.taps[k].part == in.power_part) windings.push_back(k);
    const bench::Values present = values_for(in);
    const auto value_now = [&](int item, Slot slot, int index) {
        return bench::value_under(in, present, item, slot, index);
    };
    const Setting plain = bench::setting_of(in, chassis, policy, condition);
    std::vector<FaultEffect> effects;
    std::vector<char> alone(of.size(), 0);  // each by itself leaves the block as it is
    std::vector<circuit::Operating> starts(of.size());
    for (std::size_t i = 0; i < of.size(); ++i) {
        effects.push_back(bench::effect_of(in, chassis, of[i], value_now));
        if (!effects[i].why.empty() || effects[i].layered) continue;
        Setting setting = plain;
        bench::place(effects[i], setting);
        CurvePoint point;
        alone[i] = on_curve(in, setting, base, curve.healthy, point);
        if (alone[i] != 0) starts[i] = std::move(point.op);
    }
    for (std::size_t p = 0; p < pairs.size(); ++p) {
        const auto i = static_cast<std::size_t>(pairs[p].first), j = static_cast<std::size_t>(pairs[p].second);
        if (alone[i] == 0 || alone[j] == 0) continue;
        Setting setting = plain;
        bench::place(effects[i], setting);
        bench::place(effects[j], setting);
        CurvePoint point;
        if (!on_curve(in, setting, base, starts[i], point)) continue;
        PairSolution& found = out[p];
        found.solved = true;
        for (std::size_t a = 0; a < anchors; ++a)
            found.primary_rms += point.weight[a] * curve.at[a].primary_rms.value();
        for (const std::size_t k : windings) {
            double rms = 0;
            for (std::size_t a = 0; a < anchors; ++a) rms += point.weight[a] * curve.at[a].branches[k].rms.value();
            found.winding_rms.push_back(std::max(0.0, rms));
        }
    }
    return out;
}

/// A filter or decoupling capacitor that opens, a resistor between two such that shorts: what kept stages from one
/// another is gone. Their rest is nearly that of health.
bool Bench::State::may_unsettle(const Fault& fault) const {
    constexpr double least_farads = 0.25e-6;
    if (fault.part < 0) return false;
    const auto part_at = [&](int k) -> const Part& { return chassis.parts()[static_cast<std::size_t>(k)]; };
    const auto filters = [&](const Part& part) {
        return part.kind == PartKind::capacitor && part.farads.value_or(0) >= least_farads;
    };
    const Part& part = part_at(fault.part);
    if (fault.mode == FaultMode::open) return filters(part);
    return fault.mode == FaultMode::short_circuit && part.kind == PartKind::resistor &&
           std::all_of(part.leads.begin(), part.leads.end(), [&](const Lead& lead) {
               if (lead.net < 0) return false;
               const auto& on = chassis.nets()[static_cast<std::size_t>(lead.net)].leads;
               return std::any_of(on.begin(), on.end(), [&](const LeadRef& ref) { return filters(part_at(ref.part)); });
           });
}

FaultSolution Bench::State::solve_fault(const Condition& condition, std::span<const Fault> placed, bool ripple,
                                        Healthy& base, std::span<const WarmWinding> warm) {
    FaultSolution out;
    bench::Layer layer;
    const Rig* with = &rig_for(hertz_of(condition), {});
    const auto effects_on = [&](const Translation& in, Setting& setting) {
        const bench::Values present = values_for(in);
        for (const Fault& fault : placed) {
            const FaultEffect effect = bench::effect_of(in, chassis, fault, [&](int item, Slot slot, int index) {
                return bench::value_under(in, present, item, slot, index);
            });
            if (!effect.why.empty()) return effect.why;
            bench::place(effect, setting);
            out.upper_bound = out.upper_bound || (effect.hard_short && policy.emission_limit <= 0);
            if (effect.layered) layer = effect.layer;
        }
        for (const WarmWinding& one : warm)
            for (const Tap& tap : in.taps) {
                if (tap.part != (one.part >= 0 ? one.part : in.power_part) || tap.winding < 0 || tap.lead != one.lead)
                    continue;
                const bench::WindingHalf& half = in.windings[static_cast<std::size_t>(tap.winding)];
                if (half.index < 0) continue;
                const double now = bench::value_under(in, setting.changes, half.item, Slot::winding_ohms, half.index);
                setting.changes.push_back({half.item, Slot::winding_ohms, half.index, now * one.factor});
            }
        return std::string();
    };
    Setting setting = bench::setting_of(*with->translation, chassis, policy, condition);
    if (setting.why.empty()) setting.why = effects_on(*with->translation, setting);
    if (!setting.why.empty()) {
        out.why = setting.why;
        return out;
    }
    if (warm.empty() && placed.size() == 1 && layer.part < 0 && base.solved.ok && base.restless.empty() &&
        may_unsettle(placed.front())) {
        Solved moved = base.solved;
        moved.changes.insert(moved.changes.end(), setting.changes.begin(), setting.changes.end());
        moved.overrides = bench::overrides_of(*with->translation, moved.changes, false);
        for (const int t : bench::restless(rig_for(hertz_of(condition), {}), moved, true))
            out.restless.push_back(with->translation->tubes[static_cast<std::size_t>(t)].part);
    }
    if (layer.part < 0 && !ripple && warm.empty() && base.curve != nullptr && base.curve->usable &&
        from_curve(*with->translation, setting, base, condition, out))
        return out;
    Rig& rig_now = rig_for(hertz_of(condition), layer);
    if (layer.part >= 0) {
        setting = bench::setting_of(*rig_now.translation, chassis, policy, condition);
        setting.why = effects_on(*rig_now.translation, setting);
    }
    const Solved solved = bench::shoot(rig_now, setting, layer.part < 0 ? values : values_for(*rig_now.translation),
                                       ripple ? fine(*rig_now.translation) : steps_of_sweep(), ripple,
                                       base.solved.ok ? &base.solved : nullptr);
    if (!solved.ok) {
        out.why = explain(solved);
        return out;
    }
    out.solved = true;
    out.solution = bench::read_out(rig_now, chassis, solved, condition, ripple);
    return out;
}

/// Turns that bring each half to the loaded volts that it is marked with, under its own load or the one stated.
template <class Note>
void note_turns(const Translation& in, const Solution& found, bench::Guess& next, const Note& note) {
    constexpr double most = 1.25;  // what a marking may be off by is no matter of turns
    constexpr double crest_share = 0.6;
    for (const bench::LoadedHalf& half : in.loaded)
        for (std::size_t k = 0; k < in.taps.size(); ++k) {
            if (in.taps[k].winding != half.winding) continue;
            const Branch& branch = found.branches[k];
            const bench::WindingHalf& of = in.windings[static_cast<std::size_t>(half.winding)];
            // a rectifier's current flows at the crest, and takes less of the rms than its own rms in the ohms
            const double ohms = of.ohms * (half.rectified ? crest_share : 1);
            const double stands = branch.volts_rms.value();
            const double wanted = half.volts + (half.amps > 0 ? (half.amps - branch.rms.value()) * ohms : 0);
            if (!(stands > 0) || !(wanted > 0)) continue;
            const std::pair<int, int> key{of.winding, of.half};
            double factor = next.turns.count(key) != 0 ? next.turns[key] : 1;
            factor = std::clamp(factor * wanted / stands, 1 / most, most);
            double& kept = next.turns.emplace(key, 1).first->second;
            note(kept, factor);
        }
}

/// Defaults that rest on what the set draws (VA, plate ohms, untraced loads) are found by solving with them until they
/// stand. Says what failed; nothing when all is well.
std::vector<Notice> Bench::State::settle() {
    for (int round = 0;; ++round) {
        Outcome<Rig> made = make_rig(guess, hertz, nullptr);
        if (!made) return made.notices();
        rig = std::move(*made);
        const Translation& in = *rig.translation;
        bool untraced = false;
        for (const Part& part : chassis.parts())
            untraced = untraced || (part.kind == PartKind::untraced && part.drawn_amps);
        if ((!in.guess.used && !untraced) || round >= 8) break;
        Condition condition;
        condition.line_volts =
            bench::feed_volts(chassis);  // the marked line: the guesses are of the set, not of today's line
        const Setting setting = bench::setting_of(in, chassis, policy, condition);
        const Solved solved = bench::shoot(rig, setting, {}, swept(in), false, nullptr);
        if (!solved.ok) break;  // said when a solution is asked for
        const Solution found = bench::read_out(rig, chassis, solved, condition, false);
        bench::Guess next = guess;
        double moved = 0;
        const auto note = [&](double& old, double now) {
            moved = std::max(moved, std::fabs(now - old) / std::max(std::fabs(now), 1e-9));
            old = now;
        };
        if (in.guess.used && in.power_part >= 0) {
            double rms = 0;
            int halves = 0;
            for (std::size_t k = 0; k < in.taps.size(); ++k) {
                const Tap& tap = in.taps[k];
                if (tap.winding < 0 || tap.part != in.power_part) continue;
                const auto& winding = in.windings[static_cast<std::size_t>(tap.winding)];
                if (chassis.parts()[static_cast<std::size_t>(tap.part)]
                        .windings[static_cast<std::size_t>(winding.winding)]
                        .role != WindingRole::plate)
                    continue;
                rms += found.branches[k].rms.value();
                ++halves;
            }
            note(next.b_plus_watts, b_plus_watts(in, solved, found));
            if (halves > 0) note(next.plate_rms_amps, rms / halves);
            note_turns(in, found, next, note);
        }
        for (std::size_t k = 0; k < in.taps.size(); ++k) {
            const int part = in.taps[k].part;
            if (part < 0 || chassis.parts()[static_cast<std::size_t>(part)].kind != PartKind::untraced) continue;
            note(next.untraced_volts[part], std::fabs(found.branches[k].volts_dc.value()));
        }
        if (moved < 1e-4) break;
        guess = std::move(next);
    }
    return {};
}

// ---- the door

Outcome<Bench> Bench::make(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy,
                           std::span<const Fault> faults) {
    auto state = std::make_unique<State>(chassis, catalogue, policy);
    auto models = bench::tube_models(chassis, state->catalogue);
    if (!models) return models.notices();
    state->models = std::move(*models);
    state->faults.assign(faults.begin(), faults.end());
    state->hertz = bench::feed_hertz(chassis, policy);
    // What the defaults rest on is drawn by the set as it was made, whatever is out of it now.
    bool stands = false;
    if (const std::optional<Chassis> made = as_made(chassis)) {
        State other(*made, state->catalogue, policy);
        if (auto types = bench::tube_models(*made, state->catalogue)) {
            other.models = std::move(*types);
            other.hertz = state->hertz;
            stands = other.settle().empty();
            state->guess = other.guess;
        }
    }
    if (!stands) {
        if (std::vector<Notice> failed = state->settle(); !failed.empty()) return failed;
    } else {
        Outcome<Rig> rig = state->make_rig(state->guess, state->hertz, nullptr);
        if (!rig) return rig.notices();
        state->rig = std::move(*rig);
    }
    state->assumptions = state->rig.translation->assumptions;
    bench::standing_assumptions(*state->rig.translation, state->assumptions);
    return Bench(std::move(state));
}

Bench::Bench(std::unique_ptr<State> state) : state_(std::move(state)) {}
Bench::Bench(Bench&&) noexcept = default;
Bench::Bench(const Bench& other) : state_(std::make_unique<State>(*other.state_)) {}
Bench::~Bench() = default;

namespace {

/// Direct volts between plate and cathode of a tube of two electrodes; 0 where it has no branch.
double volts_across(const Solution& solution, int part) {
    for (const Branch& branch : solution.branches)
        if (branch.part == part && branch.lead.starts_with("p")) return branch.volts_dc.value();
    return 0;
}

/// What each heater comes to while its string warms; of a part the highest of its sections.
void warm(const Translation& in, const Solved& solved, Solution& solution) {
    const std::vector<double> shares = bench::warming_shares(in, solved);
    for (HeaterVolts& heater : solution.heaters)
        for (std::size_t t = 0; t < shares.size(); ++t)
            if (in.items[static_cast<std::size_t>(in.thermals[t].items.front())].part == heater.part)
                heater.warming = std::max(heater.warming, shares[t]);
}

}  // namespace

Outcome<Solution> Bench::solve(const Condition& condition) {
    State& s = *state_;
    Healthy& found = s.healthy(condition, fine(*s.rig.translation), true);
    if (!found.solved.ok) return s.unsolved(condition, found.solved);
    Rig& with = s.rig_for(condition);
    if (found.solution.assumptions.empty()) {
        if (!s.shifts) {
            Condition normal;
            const Setting setting = bench::setting_of(*s.rig.translation, s.chassis, s.policy, normal);
            s.shifts = std::make_shared<const bench::BlockShifts>(
                bench::block_shifts(s.rig, s.chassis, s.policy, setting, s.values));
        }
        bench::bands_and_meters(with, s.policy, found.solved, *s.shifts, found.solution);
        if (condition.scenario == Scenario::switch_on) warm(*with.translation, found.solved, found.solution);
        found.solution.assumptions = s.assumptions;
        bench::condition_assumptions(*with.translation, s.chassis, found.solved, condition, found.solution.assumptions);
        for (const auto& [part, peak] : found.dark)
            found.solution.assumptions.push_back(
                {s.chassis.parts()[static_cast<std::size_t>(part)].id, "does not start and stays dark",
                 "its plates see " + std::to_string(std::lround(peak)) + " V at the peak, too few to start its gas",
                 "B-plus: none", "everything behind it", "recalled, as in receiving-tube manuals"});
        if (found.sharp)
            found.solution.assumptions.push_back(
                {"peak currents", "as the steps of the period show them, up to some tens of percent too high",
                 "a rectifier's pulse is narrower than they are: its filter is far smaller, or far stiffer, than usual",
                 "a scope across a small resistor", "peaks of rectifier, winding and capacitor, not means", "stated"});
    }
    std::vector<Notice> doubts;
    std::vector<std::tuple<int, double, double>> little = s.too_little(with, found.solved);
    // a regulator that takes next to nothing is dark, and so solved; without a supply there is nothing to say
    std::vector<int> dark;
    std::erase_if(little, [&](const auto& one) {
        const auto [part, amps, least] = one;
        const Part& tube = s.chassis.parts()[static_cast<std::size_t>(part)];
        constexpr double share = 0.01, no_supply = 0.1;  // of its least amperes, of its volts
        const std::optional<tubes::Regulator> holds = tubes::regulator(*tube.type);
        if (!holds || amps > share * least) return condition.scenario == Scenario::warm_up;
        dark.push_back(part);
        if (volts_across(found.solution, part) > no_supply * holds->volts)
            doubts.push_back({messages::gas_goes_out, Severity::doubt, tube.place,
                              tube.id +
                                  " is dark and regulates nothing: " + say(volts(volts_across(found.solution, part))) +
                                  " stand across it, fewer than the " + say(volts(holds->volts)) + " that it holds",
                              "more volts before its resistor, a smaller one, or less drawn behind it"});
        return true;
    });
    // while the cathodes are cold nothing draws, and a lit tube is the worst that the filters can see
    const auto goes_out = [&](int part) {
        return std::any_of(little.begin(), little.end(), [&](const auto& one) { return std::get<0>(one) == part; });
    };
    for (const auto& [part, peak] : found.weak) {
        const Part& tube = s.chassis.parts()[static_cast<std::size_t>(part)];
        if (tubes::regulator(*tube.type)) {
            if (goes_out(part) || std::find(dark.begin(), dark.end(), part) != dark.end()) continue;
            doubts.push_back({messages::gas_barely_starts, Severity::doubt, tube.place,
                              tube.id + " may stay dark: unlit it sees " + std::to_string(std::lround(peak)) +
                                  " V, fewer than its row starts at",
                              "these are the volts with it lit; dark it takes nothing, and what it should hold stands "
                              "higher"});
            continue;
        }
        doubts.push_back({messages::gas_barely_starts, Severity::doubt, tube.place,
                          tube.id + " may stay dark: its plates see " + std::to_string(std::lround(peak)) +
                              " V at the peak, fewer than its row starts at",
                          "these are the volts with one that starts; with none there is no B-plus"});
    }
    for (const auto& [part, amps, least] : little) {
        const Part& tube = s.chassis.parts()[static_cast<std::size_t>(part)];
        doubts.push_back({messages::gas_goes_out, Severity::doubt, tube.place,
                          tube.id + " may go out and start again: it carries " + say(Amps(amps)) +
                              " on the mean, and its row asks for " + say(Amps(least)) + " to stay lit",
                          "these are the volts with it lit all the time; look for what should draw more"});
    }
    for (const int part : with.translation->stopped) {
        const Part& tube = s.chassis.parts()[static_cast<std::size_t>(part)];
        doubts.push_back({messages::oscillation, Severity::doubt, tube.place,
                          tube.id + " neither oscillates nor mixes: no coil is joined to its oscillator grid",
                          "that grid's volts are those of a stopped oscillator, the currents of its plates still those "
                          "of a working one; look for the grid's capacitor and its coil"});
    }
    for (const int part : with.translation->oscillators) {
        const Part& tube = s.chassis.parts()[static_cast<std::size_t>(part)];
        doubts.push_back({messages::oscillation, Severity::doubt, tube.place,
                          tube.id + " oscillates as it is wired, and the bias that it makes itself is not computed",
                          "while it works its grid stands many volts lower and it draws less; what is printed is of "
                          "one that does not"});
    }
    if (found.cut_off && found.cut_off->first < 0) {
        doubts.push_back({messages::two_states,
                          Severity::doubt,
                          {s.chassis.file(), 0, 0},
                          "these volts balance and cannot last: some stages drive one another, and no state that lasts "
                          "was found",
                          "the stages whose plates and grids are joined crosswise; a lead traced to the wrong net"});
    } else if (found.cut_off) {
        const Part& tube = s.chassis.parts()[static_cast<std::size_t>(found.cut_off->first)];
        const int net = found.cut_off->second;
        const std::string plate =
            net < 0 ? "" : " (its plate at " + s.chassis.nets()[static_cast<std::size_t>(net)].name + ")";
        doubts.push_back({messages::two_states, Severity::doubt, tube.place,
                          "stages hold one another crosswise and come to rest in one of two states; shown is the one "
                          "with " +
                              tube.id + plate + " held off",
                          "which it is hangs on chance at switch-on: the readings of the two stages may be exchanged"});
    }
    if (!found.restless.empty()) {
        std::string tubes;
        for (std::size_t k = 0; k < found.restless.size(); ++k)
            tubes += (k == 0                          ? ""
                      : k + 1 < found.restless.size() ? ", "
                                                      : " and ") +
                     s.chassis.parts()[static_cast<std::size_t>(found.restless[k])].id;
        const Part& first = s.chassis.parts()[static_cast<std::size_t>(found.restless.front())];
        doubts.push_back({messages::no_rest, Severity::doubt, first.place,
                          tubes + (found.restless.size() == 1 ? " oscillates" : " oscillate") +
                              " as wired (a multivibrator, motor-boating over a supply that they share, or feedback "
                              "the wrong way round); what is printed is a rest that does not last",
                          "a meter shows means that lie elsewhere: higher plates, grids some volts negative; if it is "
                          "no oscillator: a decoupling capacitor gone, the ends of an output winding exchanged, or a "
                          "lead traced to the wrong stage"});
    }
    for (const auto& [part, other] : found.beside) {
        const Part& tube = s.chassis.parts()[static_cast<std::size_t>(part)];
        const std::string& lit = s.chassis.parts()[static_cast<std::size_t>(other)].id;
        doubts.push_back({messages::gas_goes_out, Severity::doubt, tube.place,
                          tube.id + " is dark beside " + lit +
                              ": whichever starts first holds both below the volts that "
                              "start the other, and carries all",
                          "the readings are those with " + lit + " lit; two share only behind a resistor each"});
    }
    for (const auto& [part, peak] : found.dark) {
        const Part& tube = s.chassis.parts()[static_cast<std::size_t>(part)];
        doubts.push_back({messages::gas_barely_starts, Severity::doubt, tube.place,
                          tube.id + " stays dark: its plates see " + std::to_string(std::lround(peak)) +
                              " V at the peak, too few to start its gas",
                          "more volts at the supply"});
    }
    return {found.solution, std::move(doubts)};
}

FaultSolution Bench::solve(const Condition& condition, std::span<const Fault> faults, bool ripple) {
    State& s = *state_;
    Healthy& base = s.healthy(condition, ripple ? fine(*s.rig.translation) : s.steps_of_sweep(), ripple);
    return s.solve_fault(condition, faults, ripple, base);
}

FaultSolution Bench::solve(const Condition& condition, std::span<const Fault> faults,
                           std::span<const WarmWinding> warm) {
    State& s = *state_;
    return s.solve_fault(condition, faults, false, s.healthy(condition, s.steps_of_sweep(), false), warm);
}

std::vector<FaultSolution> Bench::sweep(const Condition& condition, std::span<const Fault> faults, int threads) {
    State& s = *state_;
    Healthy& base = s.healthy(condition, s.steps_of_sweep(), false);
    if (!base.curve) s.build_curve(condition, base);
    std::vector<FaultSolution> out(faults.size());
    const auto run = [&](State& with, std::size_t first, std::size_t stride) {
        Healthy& own = with.healthy(condition, with.steps_of_sweep(), false);
        for (std::size_t k = first; k < faults.size(); k += stride)
            out[k] = with.solve_fault(condition, faults.subspan(k, 1), false, own);
    };
    const std::size_t workers =
        std::min<std::size_t>(static_cast<std::size_t>(std::max(threads, 1)), std::max<std::size_t>(faults.size(), 1));
    if (workers <= 1) {
        run(s, 0, 1);
        return out;
    }
    std::vector<std::unique_ptr<State>> copies;
    for (std::size_t w = 0; w < workers; ++w) copies.push_back(std::make_unique<State>(s));
    std::vector<std::thread> pool;
    for (std::size_t w = 0; w < workers; ++w) pool.emplace_back([&, w] { run(*copies[w], w, workers); });
    for (std::thread& one : pool) one.join();
    return out;
}

std::vector<PairSolution> Bench::sweep_pairs(const Condition& condition, std::span<const Fault> faults,
                                             std::span<const std::pair<int, int>> pairs) {
    State& s = *state_;
    Healthy& base = s.healthy(condition, s.steps_of_sweep(), false);
    if (!base.curve) s.build_curve(condition, base);
    return s.pairs_on_curve(condition, faults, pairs, base);
}

Outcome<SmallSignal> Bench::small_signal(const Condition& condition) {
    State& s = *state_;
    const Healthy& found = s.healthy(condition, fine(*s.rig.translation), true);
    if (!found.solved.ok) return s.unsolved(condition, found.solved);
    const Rig& with = s.rig_for(s.hertz_of(condition), {});
    return bench::small_signal_of(*with.translation, s.chassis, found.solved, condition);
}

void Bench::set_values(std::span<const std::pair<std::string, std::pair<std::string, double>>> values) {
    State& s = *state_;
    s.what_if.assign(values.begin(), values.end());
    s.values = s.values_for(*s.rig.translation);
    s.kept.clear();
    s.shifts.reset();
    s.sweep_steps = 0;
}

Outcome<Ohms> Bench::cold_ohms(int from_net, int to_net) {
    State& s = *state_;
    const auto count = static_cast<int>(s.chassis.nets().size());
    if (from_net < 0 || to_net < 0 || from_net >= count || to_net >= count) throw Error("cold_ohms: no such net");
    const double ohms = bench::cold_resistance(s.rig, s.values, from_net, to_net);
    if (ohms >= 0) return Ohms(ohms);
    return Notice{messages::no_copper_path,
                  Severity::note,
                  {},
                  "no path for direct current between " + s.chassis.nets()[static_cast<std::size_t>(from_net)].name +
                      " and " + s.chassis.nets()[static_cast<std::size_t>(to_net)].name,
                  "a meter shows no reading here; anything it shows is leakage"};
}

std::vector<Discharge> Bench::discharge(const Solution& from) {
    return bench::discharge_times(*state_->rig.translation, state_->chassis, state_->values, from);
}

std::vector<std::pair<std::string, double>> Bench::sensitivities(int net) {
    State& s = *state_;
    Condition normal;
    Healthy& base = s.healthy(normal, s.steps_of_sweep(), false);
    if (!base.curve) s.build_curve(normal, base);
    if (!base.solved.ok || net < 0 || net >= static_cast<int>(s.chassis.nets().size())) return {};
    return bench::sensitivities_of(s.rig, s.chassis, base.solved,
                                   base.curve->usable ? base.curve->parameters : std::vector<double>{}, net);
}

const std::vector<Assumption>& Bench::assumptions() const {
    return state_->assumptions;
}

ModelSheet Bench::model(std::span<const Condition> conditions) {
    State& s = *state_;
    const Translation& in = *s.rig.translation;
    ModelSheet sheet = bench::model_sheet(in);
    sheet.assumptions = s.assumptions;
    std::vector<Condition> wanted(conditions.begin(), conditions.end());
    if (wanted.empty())
        for (const Scenario scenario :
             {Scenario::normal, Scenario::high_line, Scenario::warm_up, Scenario::rectifier_out,
              Scenario::transformer_alone, Scenario::speaker_unplugged, Scenario::output_cut_off}) {
            wanted.emplace_back();
            wanted.back().scenario = scenario;
        }
    for (const Condition& condition : wanted) {
        const Healthy& found = s.healthy(condition, fine(in), true);
        if (!found.solved.ok) {
            sheet.left_out.push_back(condition.text() + ": " + s.explain(found.solved));
            continue;
        }
        const Translation& own = *s.rig_for(condition).translation;
        if (condition.scenario == Scenario::signal_peak && sheet.signal_elements.empty())
            bench::model_signal(bench::model_sheet(own), sheet);
        sheet.scenarios.push_back(condition.text());
        bench::model_changes(own, found.solved, condition.text(), sheet);
    }
    return sheet;
}

}  // namespace tubewright
