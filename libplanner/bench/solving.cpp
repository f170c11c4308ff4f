// SPDX-License-Identifier: MIT
// See solving.hpp.
#include "bench/solving.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <tuple>

#include "bench/dry.hpp"
#include "chassis/data.hpp"
#include "policy/policy.hpp"

namespace tubewright::bench {

namespace {

constexpr double fine_tolerance = 1e-5, sweep_tolerance = 1e-6;  ///< of the ohms; faults are held against cold solves
constexpr int thermal_rounds = 40;
constexpr const char* unsettled = "the heaters do not settle";
constexpr double least_farads = 1e-9;
constexpr double glowing = 3;         ///< times the supply's volts: a lamp of more stays dark behind a short
constexpr double most_battery = 1.6;  ///< times its volts: no battery of the set gives more
constexpr double charging = 7.5 / 6.3;

double highest_battery(const Chassis& set) {
    const int leading = leading_battery(set);
    return leading >= 0 && set.parts()[static_cast<std::size_t>(leading)].role == "vehicle" ? charging : new_cells;
}

/// Volts of a source while the one that leads stands at `volts`. Batteries keep step with the leading one: as they
/// stand with its own volts, at their marks with its mark. On a direct-current line they are what they are.
double volts_of(const Translation& in, const Feed& feed, double volts) {
    const Feed& leads = in.feeds.front();
    if (feed.item == leads.item) return volts;
    if (in.items[static_cast<std::size_t>(leads.item)].part < 0) return feed.volts;
    const double worn = leads.marked - leads.volts;
    if (volts <= leads.volts || !(worn > 0)) return feed.volts * volts / leads.volts;
    if (volts >= leads.marked) return feed.marked * volts / leads.marked;
    return feed.volts + (feed.marked - feed.volts) * (volts - leads.volts) / worn;
}

bool is_pulled(const Setting& setting, const Tube& tube) {
    return !tube.thermals.empty() && setting.open[static_cast<std::size_t>(tube.thermals.front())] > 1;
}

void pull(const Translation& in, std::size_t t, Setting& setting) {
    const Tube& tube = in.tubes[t];
    setting.emission[t] = 0;
    for (const int thermal : tube.thermals) setting.open[static_cast<std::size_t>(thermal)] = assumed::open_factor;
    for (const Section& section : tube.sections) {
        if (section.gas >= 0) setting.changes.push_back({section.gas, Slot::direct, 0, 0});
    }
}

/// Opens every item of a part.
void open_part(const Translation& in, int part, Setting& setting) {
    const auto found = in.items_of_part.find(part);
    if (found == in.items_of_part.end()) return;
    for (const int index : found->second) {
        const Item& item = in.items[static_cast<std::size_t>(index)];
        if (item.kind == "resistor")
            setting.changes.push_back({index, Slot::ohms, 0, item.values[0] * assumed::open_factor});
        if (item.kind == "inductor") setting.changes.push_back({index, Slot::ohms, 0, assumed::open_ohms});
        if (item.kind == "capacitor") setting.changes.push_back({index, Slot::farads, 0, 0});
        if (item.kind == "transformer") {
            for (std::size_t w = 0; 2 * w + 1 < item.nodes.size(); ++w)
                setting.changes.push_back({index, Slot::winding_ohms, static_cast<int>(w), assumed::open_ohms});
        }
    }
    for (std::size_t t = 0; t < in.thermals.size(); ++t) {
        if (in.items[static_cast<std::size_t>(in.thermals[t].items.front())].part == part)
            setting.open[t] = assumed::open_factor;
    }
}

}  // namespace

bool dry_alone(const Translation& in) {
    return !in.dry.empty() &&
           std::none_of(in.tubes.begin(), in.tubes.end(), [](const Tube& one) { return one.rectifier; });
}

double warm_ohms(double cold, double amps, double ohms, double ambient) {
    const double rise = std::min(assumed::iron_kelvin_per_watt * amps * amps * ohms, assumed::most_iron_rise);
    return cold * (1 + rise / (assumed::copper_zero_kelvin + ambient));
}

double emission_at(double heater_share) {
    const double x = std::clamp((heater_share - 0.3) / 0.3, 0.0, 1.0);
    return x * x * (3 - 2 * x);
}

std::vector<HalfHeated> half_heated_tubes(const Translation& in, const Solved& solved) {
    constexpr double either_way = 0.1, none_below = 0.3, all_above = 0.6;
    std::vector<HalfHeated> found;
    for (std::size_t t = 0; t < in.tubes.size() && t < solved.heat.size(); ++t) {
        const double heat = solved.heat[t];
        if (heat > none_below - either_way && heat < all_above)
            found.push_back({static_cast<int>(t), emission_at(heat - either_way), emission_at(heat + either_way)});
    }
    return found;
}

Rig Rig::clone() const {
    Rig copy;
    copy.translation = translation;
    copy.full = std::make_unique<circuit::Engine>(*full);
    copy.twin = std::make_unique<circuit::Engine>(*twin);
    return copy;
}

Setting setting_of(const Translation& in, const Chassis& set, const Policy& policy, const Condition& condition) {
    Setting setting;
    const double own = feed_volts(set);
    const double line = policy.line.volts.value() > 0 ? policy.line.volts.value() : own;
    if (in.direct && (condition.line_volts > 0 ? condition.line_volts : line) > most_battery * own)
        setting.why = "the set runs on direct current of " + say(volts(own)) + ", and " +
                      say(volts(condition.line_volts > 0 ? condition.line_volts : line)) + " is asked for";
    // nobody named volts: a battery has those of its age
    const bool named = condition.line_volts > 0 || policy.line.volts.value() > 0;
    setting.volts = condition.line_volts > 0 ? condition.line_volts
                    : in.direct && !named    ? in.items[static_cast<std::size_t>(in.source)].values[0]
                                             : line;
    setting.hertz = in.direct                       ? in.hertz
                    : condition.line_hertz > 0      ? condition.line_hertz
                    : policy.line.hertz.value() > 0 ? policy.line.hertz.value()
                                                    : set.line().hertz;
    setting.emission.assign(in.tubes.size(), 1);
    setting.open.assign(in.thermals.size(), 1);
    setting.cold.assign(in.thermals.size(), 0);
    if (condition.lamp_watts > 0) {
        setting.lamp_watts = condition.lamp_watts;
        setting.lamp_volts = condition.lamp_volts;
    }
    const auto foreign = [&](std::string why) {
        if (!setting.why.empty()) return;
        setting.why = std::move(why);
        setting.foreign = true;
    };
    // a battery is highest when it is new, or while the engine runs; a line of direct current as any other
    const bool by_battery =
        in.direct && (in.items[static_cast<std::size_t>(in.source)].part >= 0 || set.line().supply == "battery");
    const double upper =
        by_battery && policy.upper_line_volts <= 0 ? highest_battery(set) * own : upper_line_volts(policy, line);
    // beside a line the batteries of a portable are highest new
    const auto new_batteries = [&] {
        for (const Feed& feed : in.feeds) {
            const int part = in.items[static_cast<std::size_t>(feed.item)].part;
            if (in.direct || part < 0) continue;
            const double over = set.parts()[static_cast<std::size_t>(part)].role == "vehicle" ? charging : new_cells;
            setting.changes.push_back({feed.item, Slot::direct, 0, std::max(feed.volts, feed.marked * over)});
        }
    };
    switch (condition.scenario) {
        case Scenario::normal:
        case Scenario::step:
            break;
        case Scenario::as_found:
            if (std::none_of(set.parts().begin(), set.parts().end(), [](const Part& part) { return part.shorted; }))
                foreign("no part of two leads was seen shorted; what was seen open is out of every condition");
            break;
        case Scenario::lamp:
            if (!(condition.lamp_watts > 0))
                setting.why = "no lamp was named";
            else if (in.direct && condition.lamp_volts > glowing * setting.volts)
                setting.why = "a lamp of " + say(volts(condition.lamp_volts)) + " stays cold on " +
                              say(volts(setting.volts)) + " and tells nothing; name a bulb of about " +
                              say(volts(setting.volts));
            break;
        case Scenario::high_line:
            if (!(condition.line_volts > 0)) setting.volts = upper;
            new_batteries();
            break;
        case Scenario::warm_up:
            if (!(condition.line_volts > 0)) setting.volts = upper;
            new_batteries();
            for (std::size_t t = 0; t < in.tubes.size(); ++t) {
                if (in.tubes[t].rectifier || in.tubes[t].cold_cathode) continue;
                if (!in.tubes[t].direct || dry_alone(in)) setting.emission[t] = 0;
            }
            break;
        case Scenario::rectifier_out:
            for (std::size_t t = 0; t < in.tubes.size(); ++t) {
                if (in.tubes[t].rectifier) pull(in, t, setting);
            }
            for (const Dry& stack : in.dry) setting.changes.push_back({stack.item, Slot::parameter, 0, 0});
            break;
        case Scenario::transformer_alone:
            for (std::size_t t = 0; t < in.tubes.size(); ++t) pull(in, t, setting);
            for (const Dry& stack : in.dry) setting.changes.push_back({stack.item, Slot::parameter, 0, 0});
            for (std::size_t p = 0; p < set.parts().size(); ++p) {
                if (set.parts()[p].kind == PartKind::lamp) open_part(in, static_cast<int>(p), setting);
            }
            break;
        case Scenario::tube_out: {
            bool found = false;
            for (std::size_t t = 0; t < in.tubes.size(); ++t) {
                if (set.parts()[static_cast<std::size_t>(in.tubes[t].part)].id != condition.tube) continue;
                pull(in, t, setting);
                found = true;
            }
            for (const Part& part : set.parts())  // out already
                found = found || (part.id == condition.tube && part.type != nullptr && stands_open(part));
            if (!found) setting.why = "there is no tube in a socket '" + condition.tube + "'";
            break;
        }
        case Scenario::speaker_unplugged: {
            if (!(condition.line_volts > 0)) setting.volts = upper;
            bool found = false;
            for (std::size_t p = 0; p < set.parts().size(); ++p) {
                if (set.parts()[p].plug != "speaker") continue;
                open_part(in, static_cast<int>(p), setting);
                found = true;
            }
            if (!found) foreign("no part rides on the speaker plug");
            break;
        }
        case Scenario::dial_lamp_out: {
            const int lamp = set.part(condition.tube);
            if (lamp < 0 || set.parts()[static_cast<std::size_t>(lamp)].kind != PartKind::lamp)
                setting.why = "there is no dial lamp '" + condition.tube + "'";
            else
                open_part(in, lamp, setting);
            break;
        }
        case Scenario::switch_on:
            for (std::size_t t = 0; t < in.tubes.size(); ++t) {
                if (in.tubes[t].direct || in.tubes[t].cold_cathode) continue;
                setting.emission[t] = 0;
                for (const int thermal : in.tubes[t].thermals) setting.cold[static_cast<std::size_t>(thermal)] = 1;
            }
            break;
        case Scenario::soak:
            setting.ambient = std::max(policy.ambient_celsius, 1.0);
            if (in.irons.empty()) foreign("no field or choke warms itself");
            break;
        case Scenario::signal_peak:
            setting.whole = true;
            if (in.drives.empty()) foreign("no output tube on an output transformer is known");
            if (condition.no_load && in.voice_coils.empty()) foreign("no voice coil is known");
            for (const int coil : condition.no_load ? in.voice_coils : std::vector<int>{})
                setting.changes.push_back({coil, Slot::ohms, 0, assumed::open_ohms});
            break;
        case Scenario::output_cut_off: {
            bool found = false;
            for (std::size_t t = 0; t < in.tubes.size(); ++t) {
                if (!in.tubes[t].output) continue;
                if (in.tubes[t].rectifier) {
                    foreign("the output section shares its bulb, and its heater, with the rectifier");
                    return setting;
                }
                setting.emission[t] = 0;
                found = true;
            }
            if (!found) foreign("no output tube is known");
            break;
        }
    }
    return setting;
}

void place(const FaultEffect& effect, Setting& setting) {
    setting.changes.insert(setting.changes.end(), effect.changes.begin(), effect.changes.end());
    setting.feeds.insert(setting.feeds.end(), effect.feeds.begin(), effect.feeds.end());
    for (const auto& [tube, factor] : effect.emission) setting.emission[static_cast<std::size_t>(tube)] *= factor;
    for (const int thermal : effect.heaters_open)
        setting.open[static_cast<std::size_t>(thermal)] = assumed::open_factor;
}

std::vector<circuit::Override> overrides_of(const Translation& in, const std::vector<Change>& changes, bool twin) {
    std::vector<circuit::Override> out;
    out.reserve(changes.size());
    for (const Change& change : changes) {
        const Item& item = in.items[static_cast<std::size_t>(change.item)];
        circuit::Override one{twin ? item.twin : item.full, change.slot, change.index, change.value};
        if (twin) {
            if (item.kind == "inductor" && change.slot == Slot::henries) continue;
            if (item.kind == "capacitor" && change.slot == Slot::farads) continue;
            if (item.kind == "transformer") {
                if (change.slot != Slot::winding_ohms) continue;
                one.element = item.twin_windings[static_cast<std::size_t>(change.index)];
                one.slot = Slot::ohms;
                one.index = 0;
            }
        }
        if (one.element >= 0) out.push_back(one);
    }
    const auto key = [](const circuit::Override& o) {
        return std::tuple(o.element, static_cast<int>(o.slot), o.index);
    };
    std::stable_sort(out.begin(), out.end(), [&](const auto& a, const auto& b) { return key(a) < key(b); });
    std::size_t kept = 0;
    for (std::size_t k = 0; k < out.size(); ++k) {
        if (k + 1 < out.size() && key(out[k]) == key(out[k + 1])) continue;
        out[kept++] = out[k];
    }
    out.resize(kept);
    return out;
}

double value_under(const Translation& in, const std::vector<Change>& changes, int item, Slot slot, int index) {
    for (auto change = changes.rbegin(); change != changes.rend(); ++change) {
        if (change->item == item && change->slot == slot && change->index == index) return change->value;
    }
    const Item& of = in.items[static_cast<std::size_t>(item)];
    if (of.kind == "inductor" && slot == Slot::ohms) return of.values[1];
    if (of.kind == "capacitor" && slot == Slot::siemens) return of.values[1];
    if (of.kind == "transformer")
        return slot == Slot::winding_ohms ? of.values[static_cast<std::size_t>(3 + 2 * index)] : of.values[0];
    if (of.kind == "inductor" && slot == Slot::henries) return of.values[0];
    if (of.kind == "contact") return of.values[static_cast<std::size_t>(index)];
    if (of.kind == "device") return of.values[static_cast<std::size_t>(index)];
    return of.values[0];
}

namespace {

/// Of each iron coil, cold.
std::vector<double> iron_ohms(const Translation& in, const Values& values) {
    std::vector<double> ohms;
    for (const Iron& iron : in.irons) ohms.push_back(value_under(in, values, iron.item, Slot::ohms, 0));
    return ohms;
}

/// From the ohms of `warm`, else from hot; or, `from_cold`, from cold and in half steps: where what heats hangs on what
/// is heated (filaments that only their own tubes feed) the way down is found, and not the way to and fro.
Solved settle(Rig& rig, const Setting& setting, const Values& values, int steps, bool ripple, const Solved* warm,
              bool from_cold) {
    const Translation& in = *rig.translation;
    Solved out;
    out.volts = setting.volts;
    out.hertz = setting.hertz;
    out.lamp = setting.lamp_watts > 0;
    if (!setting.why.empty()) {
        out.why = setting.why;
        out.foreign = setting.foreign;
        return out;
    }
    const std::size_t n = in.thermals.size() + (out.lamp ? 1 : 0);
    Thermal lamp;
    if (out.lamp) {
        lamp.rated_volts = setting.lamp_volts;
        lamp.rated_amps = setting.lamp_watts / setting.lamp_volts;
        lamp.exponent = 0.55;
        lamp.cold_share = assumed::cold_lamp;
    }
    const auto thermal = [&](std::size_t k) -> const Thermal& {
        return k < in.thermals.size() ? in.thermals[k] : lamp;
    };
    const auto hot = [&](std::size_t k) { return thermal(k).rated_volts / thermal(k).rated_amps; };
    /// Share of its rated volts at which a thermal part has these ohms.
    const auto share = [&](std::size_t k, double log_ohms) {
        const double r = std::exp(log_ohms) / hot(k);
        return r <= thermal(k).cold_share * (1 + 1e-9) ? 0.0 : std::pow(r, 1 / (1 - thermal(k).exponent));
    };

    const std::size_t all = n + 2 * in.irons.size();
    std::vector<double> x(all), next(all), x_before, next_before;
    const bool known = warm != nullptr && warm->log_ohms.size() == all;
    for (std::size_t k = 0; k < n; ++k) {
        if (known) {
            x[k] = warm->log_ohms[k];
        } else {
            x[k] = std::log(k < in.thermals.size() ? hot(k) : 0.5 * hot(k));
        }
        if (k < in.thermals.size() && (setting.cold[k] != 0 || from_cold))
            x[k] = std::log(hot(k) * thermal(k).cold_share);
    }
    const std::vector<double> cold_ohms = iron_ohms(in, values);
    for (std::size_t k = 0; k < in.irons.size(); ++k) {
        const Iron& iron = in.irons[k];
        const double henries = in.items[static_cast<std::size_t>(iron.item)].values[0];
        x[n + 2 * k] = std::log(cold_ohms[k]);
        x[n + 2 * k + 1] = known ? warm->log_ohms[n + 2 * k + 1] : std::log(henries);
    }
    const circuit::Periodic* former = warm != nullptr && warm->wave.solved ? &warm->wave : nullptr;
    const double tolerance = ripple ? fine_tolerance : sweep_tolerance;
    double mixing = from_cold ? 0.5 : 1;
    double last_size = 1e300;
    // what fell back to full shooting once would do so again
    bool two_level = !setting.whole && (former == nullptr || former->method == circuit::Method::two_level);
    for (int round = 0; round < thermal_rounds; ++round) {
        out.changes = values;
        if (!ripple) {
            // where currents alone are asked for, what passes a fraction of a microampere of ripple is left out
            for (std::size_t k = 0; k < in.items.size(); ++k) {
                if (in.items[k].kind == "capacitor" && in.items[k].values[0] <= least_farads)
                    out.changes.push_back({static_cast<int>(k), Slot::farads, 0, 0});
            }
        }
        if (in.direct) {
            for (const Feed& feed : in.feeds)
                out.changes.push_back({feed.item, Slot::direct, 0, volts_of(in, feed, setting.volts)});
        } else {
            out.changes.push_back({in.source, Slot::amplitude, 0, setting.volts * std::numbers::sqrt2});
        }
        if (in.anchor >= 0 && setting.further_amps != 0)
            out.changes.push_back({in.anchor, Slot::direct, 0, setting.further_amps});
        for (std::size_t k = 0; k < in.thermals.size(); ++k) {
            const Thermal& one = in.thermals[k];
            for (std::size_t i = 0; i < one.items.size(); ++i) {
                out.changes.push_back({one.items[i], Slot::ohms, 0, std::exp(x[k]) * one.shares[i] * setting.open[k]});
            }
        }
        if (out.lamp) out.changes.push_back({in.lamp, Slot::ohms, 0, std::exp(x[n - 1])});
        for (std::size_t k = 0; k < in.irons.size(); ++k) {
            const Iron& iron = in.irons[k];
            if (setting.ambient > 0) out.changes.push_back({iron.item, Slot::ohms, 0, std::exp(x[n + 2 * k])});
            if (iron.fall_amps > 0) out.changes.push_back({iron.item, Slot::henries, 0, std::exp(x[n + 2 * k + 1])});
        }
        out.emission.assign(in.tubes.size(), 1);
        out.heat.assign(in.tubes.size(), 0);
        for (std::size_t t = 0; t < in.tubes.size(); ++t) {
            const Tube& tube = in.tubes[t];
            double emits = setting.emission[t];
            if (is_pulled(setting, tube)) emits = 0;
            if (emits > 0 && (!tube.thermals.empty() || tube.shorted_volts > 0)) {
                // a heater of several sections warms its cathode by all of them; each length of a filament is a part of
                // the cathode by itself
                double sum = 0, rated = tube.shorted_volts, lengths = 0;
                for (const int one : tube.thermals) {
                    const double its = in.thermals[static_cast<std::size_t>(one)].rated_volts;
                    const double part = share(static_cast<std::size_t>(one), x[static_cast<std::size_t>(one)]);
                    sum += its * part;
                    rated += its;
                    lengths += its * emission_at(part);
                }
                out.heat[t] = rated > 0 ? sum / rated : 0;
                emits *= tube.direct && rated > 0 ? lengths / rated : emission_at(out.heat[t]);
            }
            out.emission[t] = emits;
            for (const Section& section : tube.sections) {
                out.changes.push_back({section.item, Slot::parameter, 0, emits});
                if (section.gas >= 0 && emits <= 0) out.changes.push_back({section.gas, Slot::direct, 0, 0});
            }
        }
        out.changes.insert(out.changes.end(), setting.changes.begin(), setting.changes.end());
        for (const auto& [item, factor] : setting.feeds)
            out.changes.push_back(
                {item, Slot::direct, 0, factor * value_under(in, out.changes, item, Slot::direct, 0)});
        out.overrides = overrides_of(in, out.changes, false);

        circuit::PeriodicOptions options;
        options.hertz = setting.hertz;
        options.steps = steps;
        options.ripple = ripple;
        options.warm = former;
        options.two_level = two_level;
        circuit::Periodic wave = rig.full->periodic(options, out.overrides);
        if (!wave.solved && former != nullptr) {
            options.warm = nullptr;
            wave = rig.full->periodic(options, out.overrides);
        }
        two_level = wave.method == circuit::Method::two_level;
        ++out.shots;
        if (!wave.solved) {
            out.why = wave.trouble.text;
            out.wave = std::move(wave);
            return out;
        }
        out.wave = std::move(wave);
        former = &out.wave;
        double size = 0;
        for (std::size_t k = 0; k < n; ++k) {
            if (k < in.thermals.size() && (setting.open[k] > 1 || setting.cold[k] != 0)) {
                next[k] = x[k];
                continue;
            }
            const Node a =
                k < in.thermals.size() ? in.thermals[k].a : in.items[static_cast<std::size_t>(in.lamp)].nodes[0];
            const Node b =
                k < in.thermals.size() ? in.thermals[k].b : in.items[static_cast<std::size_t>(in.lamp)].nodes[1];
            next[k] = std::log(thermal(k).ohms(rig.full->volts_between(out.wave, a, b).rms));
            size = std::max(size, std::fabs(next[k] - x[k]));
        }
        for (std::size_t k = 0; k < in.irons.size(); ++k) {
            const Iron& iron = in.irons[k];
            double *ohms = &next[n + 2 * k], *henries = &next[n + 2 * k + 1];
            *ohms = x[n + 2 * k];
            *henries = x[n + 2 * k + 1];
            if (setting.ambient <= 0 && iron.fall_amps <= 0) continue;
            const circuit::Course amps =
                rig.full->current(out.wave, in.items[static_cast<std::size_t>(iron.item)].full, 0, out.overrides);
            if (setting.ambient > 0)
                *ohms = std::log(warm_ohms(cold_ohms[k], amps.rms, std::exp(*ohms), setting.ambient));
            if (iron.fall_amps > 0) {
                const double turns = amps.mean / iron.fall_amps;
                *henries = std::log(iron.swing_henries / (1 + turns * turns));
            }
            size = std::max({size, std::fabs(*ohms - x[n + 2 * k]), std::fabs(*henries - x[n + 2 * k + 1])});
        }
        if (size < tolerance) {
            out.ok = true;
            out.log_ohms = x;
            return out;
        }
        if (size > 0.98 * last_size) mixing *= 0.5;
        last_size = size;
        std::vector<double> to(all);
        double dot = 0, square = 0;
        if (!x_before.empty()) {
            for (std::size_t k = 0; k < all; ++k) {
                const double r = next[k] - x[k], change = r - (next_before[k] - x_before[k]);
                dot += r * change;
                square += change * change;
            }
        }
        double theta = square > 0 ? dot / square : warm != nullptr ? warm->mixing : 0;
        theta = from_cold ? 0 : std::clamp(theta, -3.0, 0.9);
        out.mixing = theta;
        for (std::size_t k = 0; k < all; ++k) {
            to[k] = next[k];
            to[k] -= theta * (next[k] - (next_before.empty() ? x[k] : next_before[k]));
            to[k] = x[k] + mixing * (to[k] - x[k]);
        }
        x_before = x;
        next_before = next;
        x = to;
    }
    out.why = unsettled;
    return out;
}

}  // namespace

Solved shoot(Rig& rig, const Setting& setting, const Values& values, int steps, bool ripple, const Solved* warm) {
    Solved out = settle(rig, setting, values, steps, ripple, warm, false);
    if (out.ok || out.why != unsettled) return out;
    return settle(rig, setting, values, steps, ripple, nullptr, true);
}

// ---- reading out

namespace {

struct Reader {
    const Rig& rig;
    const Translation& in;
    const Solved& solved;
    std::vector<std::vector<circuit::Course>> courses;
    std::vector<std::vector<char>> known;
    std::vector<char> still;    ///< by node: no ripple is carried there
    std::vector<char> closed;   ///< by item: a gap that a change has closed
    circuit::Periodic instant;  ///< one step of the period, enough for what stands still

    Reader(const Rig& r, const Solved& s)
        : rig(r),
          in(*r.translation),
          solved(s),
          courses(in.items.size()),
          known(in.items.size()),
          still(in.node_names.size(), 0) {
        for (std::size_t at = 0; at < still.size(); ++at) still[at] = s.wave.volts[at].high == s.wave.volts[at].low;
        still[0] = 1;
        closed.assign(in.items.size(), 0);
        for (const Change& change : s.changes)
            closed[static_cast<std::size_t>(change.item)] = change.slot == Slot::siemens && change.value > 0;
        instant.solved = true;
        instant.steps_per_period = s.wave.steps_per_period;
        instant.period_seconds = s.wave.period_seconds;
        instant.state = s.wave.state;
        instant.waveform = {s.wave.waveform.front()};
        instant.inner = {s.wave.inner.front()};
    }

    circuit::Course amps(int item, int terminal) {
        const Item& of = in.items[static_cast<std::size_t>(item)];
        if (of.full < 0 || (of.kind == "gap" && of.values[0] == 0 && closed[static_cast<std::size_t>(item)] == 0))
            return {};
        auto& row = courses[static_cast<std::size_t>(item)];
        auto& have = known[static_cast<std::size_t>(item)];
        const std::size_t count = of.kind == "transformer" ? of.nodes.size() / 2
                                  : of.kind == "device"    ? of.nodes.size()
                                                           : 1;
        if (row.empty()) row.resize(count), have.assign(count, 0);
        const auto k = static_cast<std::size_t>(terminal);
        if (have[k] == 0) {
            // the current of a source is not told by its own volts, which stand still
            const bool rests = of.kind != "direct-source" &&
                               std::all_of(of.nodes.begin(), of.nodes.end(),
                                           [&](Node at) { return still[static_cast<std::size_t>(at)] != 0; });
            row[k] = rests && of.kind == "capacitor"
                         ? circuit::Course{}
                         : rig.full->current(rests ? instant : solved.wave, of.full, terminal, solved.overrides);
            if (rests && of.kind == "capacitor") {
                const double leak =
                    value_under(in, solved.changes, item, Slot::siemens, 0) * volts(of.nodes[0], of.nodes[1]).mean;
                row[k] = {leak, std::fabs(leak), leak, leak};
            }
            have[k] = 1;
        }
        return row[k];
    }

    circuit::Course volts(Node a, Node b) const {
        const bool rests = still[static_cast<std::size_t>(a)] != 0 && still[static_cast<std::size_t>(b)] != 0;
        return rig.full->volts_between(rests ? instant : solved.wave, a, b);
    }
};

bool rectifies(const Translation& in, int item) {
    return std::any_of(in.tubes.begin(), in.tubes.end(), [&](const Tube& tube) {
        return std::any_of(tube.sections.begin(), tube.sections.end(),
                           [&](const Section& section) { return section.rectifies && section.item == item; });
    });
}

}  // namespace

Solution read_out(const Rig& rig, const Chassis& set, const Solved& solved, const Condition& condition,
                  bool check_currents) {
    Reader reader(rig, solved);
    const Translation& in = reader.in;
    Solution out;
    out.condition = condition;
    out.line_volts = solved.volts;
    out.line_hertz = solved.hertz;
    const auto ac = [](const circuit::Course& c) { return std::sqrt(std::max(0.0, c.rms * c.rms - c.mean * c.mean)); };

    std::vector<std::complex<double>> turns(check_currents ? solved.wave.waveform.size() : 0);
    for (std::size_t k = 0; k < turns.size(); ++k)
        turns[k] = std::polar(1.0, 2 * std::numbers::pi * static_cast<double>(k) / static_cast<double>(turns.size()));
    std::vector<char> lost(in.node_names.size(), 0);
    for (const Node at : solved.wave.undetermined) lost[static_cast<std::size_t>(at)] = 1;
    out.nets.resize(set.nets().size());
    for (std::size_t n = 0; n < out.nets.size(); ++n) {
        NetVolts& net = out.nets[n];
        net.net = static_cast<int>(n);
        net.name = set.nets()[n].name;
        const auto at = static_cast<std::size_t>(in.node_of_net[n]);
        const circuit::Course& c = solved.wave.volts[at];
        net.dc = net.low = net.high = net.meter = Volts(c.mean);
        net.rms = net.rms_low = net.rms_high = Volts(ac(c));
        net.trough = Volts(c.low);
        net.crest = Volts(c.high);
        net.ripple_pp = Volts(c.high - c.low);
        net.undetermined = in.adrift[at] != 0 || lost[at] != 0;
        if (check_currents && at != 0 && c.high - c.low > 1e-6 && !solved.wave.waveform.empty()) {
            // the line's frequency or twice it, whichever is the larger
            std::complex<double> once, twice;
            for (std::size_t k = 0; k < turns.size(); ++k) {
                const double v = solved.wave.waveform[k][at - 1];
                once += v * turns[k];
                twice += v * turns[2 * k % turns.size()];
            }
            net.ripple_hertz = solved.hertz * (std::norm(once) >= std::norm(twice) ? 1 : 2);
            if (in.drives.empty()) continue;
            const auto cycles = static_cast<std::size_t>(signal_multiple(solved.hertz));
            std::complex<double> signal;
            for (std::size_t k = 0; k < turns.size(); ++k)
                signal += solved.wave.waveform[k][at - 1] * turns[cycles * k % turns.size()];
            if (std::norm(signal) > std::max(std::norm(once), std::norm(twice)))
                net.ripple_hertz = solved.hertz * static_cast<double>(cycles);
        }
    }

    out.branches.reserve(in.taps.size());
    for (const Tap& tap : in.taps) {
        Branch branch;
        branch.part = tap.part;
        branch.lead = tap.lead;
        circuit::Course amps = reader.amps(tap.item, tap.terminal);
        for (const auto& [item, terminal] : tap.also) {
            const circuit::Course more = reader.amps(item, terminal);
            const double alternating = std::hypot(amps.rms, more.rms);
            const bool apart = rectifies(in, item);  // plates of a rectifier conduct in turn, all else at once
            amps.mean += more.mean;
            amps.rms = apart ? alternating : amps.rms + more.rms;
            amps.high = apart ? std::max(amps.high, more.high) : amps.high + more.high;
            amps.low = apart ? std::min(amps.low, more.low) : amps.low + more.low;
        }
        const circuit::Course volts = reader.volts(tap.a, tap.b);
        branch.dc = Amps(tap.sign * amps.mean);
        branch.rms = Amps(amps.rms);
        branch.peak = Amps(amps.peak());
        branch.volts_dc = Volts(volts.mean);
        branch.volts_rms = Volts(ac(volts));
        branch.volts_peak = Volts(volts.peak());
        branch.volts_low = Volts(volts.low);
        branch.volts_high = Volts(volts.high);
        const Item& item = in.items[static_cast<std::size_t>(tap.item)];
        double watts = 0;
        switch (tap.watts) {
            case Tap::Watts::element:
                if (item.full < 0) break;
                if (item.kind == "device" || item.kind == "contact") {
                    watts = rig.full->watts(solved.wave, item.full, solved.overrides);
                } else if (item.kind == "capacitor") {
                    watts = value_under(in, solved.changes, tap.item, Slot::siemens, 0) * volts.rms * volts.rms;
                } else {
                    watts = value_under(in, solved.changes, tap.item, Slot::ohms, 0) * amps.rms * amps.rms;
                }
                break;
            case Tap::Watts::copper:
                watts = tap.ohms * amps.rms * amps.rms;
                break;
            case Tap::Watts::heater:
                watts = amps.rms * volts.rms;
                break;
            case Tap::Watts::electrode:
                watts = in.drives.empty()
                            ? std::max(0.0, volts.mean * amps.mean)
                            : std::max(0.0, rig.full->watts(solved.wave, item.full, tap.terminal, solved.overrides));
                break;
            case Tap::Watts::none:
                break;
        }
        branch.watts = Watts(watts);
        out.branches.push_back(std::move(branch));
    }

    const Thermal* last = nullptr;
    for (const Thermal& one : in.thermals) {
        const int part = in.items[static_cast<std::size_t>(one.items.front())].part;
        constexpr double absent = 1e4;  // times its hot ohms: pulled, burnt out
        if (value_under(in, solved.changes, one.items.front(), Slot::ohms, 0) * one.rated_amps >
            absent * one.rated_volts)
            continue;
        const double volts = reader.volts(one.a, one.b).rms, share = volts / one.rated_volts;
        const bool further = !out.heaters.empty() && out.heaters.back().part == part;
        if (!further) out.heaters.push_back({part, Volts(0), Volts(0), share, share, 0, {}});
        HeaterVolts& heater = out.heaters.back();
        heater.dimmest = std::min(heater.dimmest, share);
        heater.brightest = std::max(heater.brightest, share);
        if (one.tube >= 0 && in.tubes[static_cast<std::size_t>(one.tube)].thermals.size() > 1)
            for (const Tap& tap : in.taps)
                if (tap.item == one.items.front())
                    heater.sections.push_back({tap.lead, Volts(volts), Volts(one.rated_volts)});
        const bool beside = further && std::minmax(one.a, one.b) == std::minmax(last->a, last->b);
        last = &one;
        if (beside) continue;
        heater.across = heater.across + Volts(volts);
        heater.rated = heater.rated + Volts(one.rated_volts);
    }

    for (const Tube& tube : in.tubes) {
        if (tube.direct) continue;
        HeaterCathode far;
        for (const Section& section : tube.sections)
            for (const auto& [pin, heater] : tube.heater_pins) {
                const Node cathode = section.electrodes.back().node;
                const int from = in.net_of_node[static_cast<std::size_t>(heater)],
                          to = in.net_of_node[static_cast<std::size_t>(cathode)];
                if (from < 0 || to < 0 || from == to || out.nets[static_cast<std::size_t>(from)].undetermined ||
                    out.nets[static_cast<std::size_t>(to)].undetermined)
                    continue;
                const circuit::Course apart = reader.volts(cathode, heater);
                const double volts = apart.high > -apart.low ? apart.high : apart.low;
                if (far.part < 0 || std::fabs(volts) > std::fabs(far.volts.value()))
                    far = {tube.part, from, to, Volts(volts)};
            }
        if (far.part >= 0) out.heater_cathode.push_back(far);
    }

    for (std::size_t k = 1; k < in.windings.size(); ++k) {
        const WindingHalf &first = in.windings[k - 1], &second = in.windings[k];
        const bool halves = first.part == second.part && first.winding == second.winding && first.half == 0 &&
                            second.half == 1 && first.item >= 0 && first.item == second.item && first.index >= 0 &&
                            second.index >= 0;
        if (!halves) continue;
        const Part& part = set.parts()[static_cast<std::size_t>(first.part)];
        const PartWinding& winding = part.windings[static_cast<std::size_t>(first.winding)];
        if (winding.role != WindingRole::plate || winding.leads.size() != 3) continue;
        const circuit::Course amps =
            rig.full->current_at_tap(solved.wave, in.items[static_cast<std::size_t>(first.item)].full, first.index,
                                     second.index, solved.overrides);
        out.taps.push_back({first.part, first.winding, Amps(amps.rms)});
    }

    const Item& source = in.items[static_cast<std::size_t>(in.source)];
    double given = -rig.full->watts(solved.wave, source.full, solved.overrides);
    for (const Feed& feed : in.feeds)
        if (in.direct && feed.item != in.source)
            given -= rig.full->watts(solved.wave, in.items[static_cast<std::size_t>(feed.item)].full, solved.overrides);
    out.line_watts = Watts(given);
    circuit::Course primary = reader.amps(in.source, 0);
    int primary_winding = -1;
    for (const WindingHalf& half : in.windings) {
        if (half.part != in.power_part || half.item < 0) continue;
        if (half.index == 0) primary_winding = half.winding;
        // of a tapped primary the section that the line is on carries the most, and the first may carry nothing
        if (half.winding == primary_winding) {
            const circuit::Course amps = reader.amps(half.item, half.index);
            if (half.index == 0 || (!in.chopped && amps.rms > primary.rms)) primary = amps;
        }
        // what contacts chop comes in at the tap, and goes out by one half or the other, or by both that stick
        if (half.index == 1 && half.half == 1 && in.chopped)
            primary = rig.full->current_at_tap(solved.wave, in.items[static_cast<std::size_t>(half.item)].full, 0, 1,
                                               solved.overrides);
    }
    const circuit::Course line = reader.amps(in.source, 0);
    out.drawn = Amps(in.direct ? std::fabs(line.mean) : line.rms);
    out.primary_rms = Amps(primary.rms);
    out.primary_peak = Amps(primary.peak());
    const Item& lamp = in.items[static_cast<std::size_t>(in.lamp)];
    out.set_volts = rig.full->volts_between(solved.wave, lamp.nodes[1], source.nodes[1]).rms;
    out.lamp_volts = solved.lamp ? rig.full->volts_between(solved.wave, lamp.nodes[0], lamp.nodes[1]).rms : 0;

    out.solver.method = circuit::word(solved.wave.method);
    out.solver.steps_per_period = solved.wave.steps_per_period;
    out.solver.period_error_volts = solved.wave.period_error_volts;
    if (check_currents) {
        // Kirchhoff, from the parts' own currents and the nets their leads are soldered to.
        std::vector<double> sum(in.node_names.size(), 0);
        for (std::size_t k = 0; k < in.items.size(); ++k) {
            const Item& item = in.items[k];
            if (item.full < 0) continue;
            const int index = static_cast<int>(k);
            if (item.kind == "transformer") {
                for (std::size_t w = 0; 2 * w + 1 < item.nodes.size(); ++w) {
                    const double amps = reader.amps(index, static_cast<int>(w)).mean;
                    sum[static_cast<std::size_t>(item.nodes[2 * w])] += amps;
                    sum[static_cast<std::size_t>(item.nodes[2 * w + 1])] -= amps;
                }
            } else if (item.kind == "device") {
                for (std::size_t t = 0; t < item.nodes.size(); ++t)
                    sum[static_cast<std::size_t>(item.nodes[t])] += reader.amps(index, static_cast<int>(t)).mean;
            } else {
                const double amps = reader.amps(index, 0).mean;
                sum[static_cast<std::size_t>(item.nodes[0])] += amps;
                sum[static_cast<std::size_t>(item.nodes[1])] -= amps;
            }
        }
        for (std::size_t at = 1; at < sum.size(); ++at) {
            if (std::fabs(sum[at]) <= out.solver.worst_kcl_amps) continue;
            out.solver.worst_kcl_amps = std::fabs(sum[at]);
            out.solver.worst_kcl_net = in.node_names[at];
        }
    }
    return out;
}

}  // namespace tubewright::bench
