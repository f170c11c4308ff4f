// SPDX-License-Identifier: MIT
// Stages as traced: what each electrode of a tube has to stand on, the values that belong there, which way an
// electrolytic stands, and nets on which things meet that never do. Ranges are wide (common practice, no source): they
// catch a zero, a multiplier or a lug misread, not a poor choice. Tests: tests/audit/stages_test.cpp,
// tests/generate/trace_mutations.cpp.
#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <set>

#include "audit/findings.hpp"
#include "audit/numbers.hpp"
#include "audit/wording.hpp"

namespace tubewright::audit {
namespace {

struct Range {
    double least, most;
};
constexpr Range power_cathode{45, 1800}, high_cathode{45, 20e3}, pentode_cathode{45, 60e3}, triode_cathode{150, 60e3},
    high_triode_cathode{150, 150e3};
constexpr Range grid_leak{12e3, 22e6}, divider_foot{1e3, 22e6}, power_grid_leak{60e3, 2.5e6}, plate_load{15e3, 1.5e6},
    high_mu_load{45e3, 1.2e6}, untuned_load{2e3, 1.5e6};
constexpr Range screen_feed{900, 5e6};
constexpr Range surge{3, 1300}, filter_resistor{4, 270e3};
constexpr Range paper{400e-12, 0.6e-6}, mica{2e-12, 10e-9}, filter{1.5e-6, 130e-6},
    cathode_electrolytic{1.5e-6, 300e-6}, heater_filter{100e-6, 50e-3};
constexpr Range coupler{400e-12, 0.3e-6}, power_coupler{1.5e-9, 0.3e-6}, buffer{1.5e-9, 0.06e-6};
constexpr double most_follower = 250e3;
constexpr double least_electrolytic = 1e-6;
constexpr double decoupler = 40e-9;          ///< a capacitor from a plate to the bottom as large keeps the plate still
constexpr double most_wax_farads = 1.05e-6;  ///< of paper that the file itself calls so
constexpr double high_voltage = 100;         ///< an electrolytic rated for more is a filter
constexpr int packs_until = 1931;            ///< before that, paper was made in microfarads

bool outside(double x, const Range& range) {
    return x < range.least || x > range.most;
}

/// What stands on a net, by electrode.
struct OnNet {
    struct Pin {
        int part;
        PinElectrode pin;
    };
    std::vector<Pin> pins;
    const Pin* first(Electrode electrode) const {
        for (const Pin& one : pins)
            if (one.pin.electrode == electrode) return &one;
        return nullptr;
    }
};

class Stages {
  public:
    Stages(const Trace& trace, Findings& findings)
        : trace_(trace), findings_(findings), on_(trace.chassis().nets().size()) {
        const int parts = static_cast<int>(trace.chassis().parts().size());
        for (int p = 0; p < parts; ++p)
            for (const PinElectrode& pin : trace.electrodes(p))
                if (const int net = trace.part(p).leads[at(pin.lead)].net; net >= 0)
                    on_[at(net)].pins.push_back({p, pin});
    }

    void run() {
        const int parts = static_cast<int>(trace_.chassis().parts().size());
        for (int p = 0; p < parts; ++p) {
            polarity(p);
            value(p);
        }
        for (int net = 0; net < static_cast<int>(on_.size()); ++net) {
            meetings(net);
            capacitors_alone(net);
        }
        supplied_grids();
        bypasses();
        outlets();
        exchanged_feeds();
        cathodes_on_supply();
    }

  private:
    const Part& part(int p) const { return trace_.part(p); }
    int net(int p, int lead) const { return part(p).leads[at(lead)].net; }
    bool has(int net, Electrode electrode) const { return net >= 0 && on_[at(net)].first(electrode) != nullptr; }
    std::string name(const OnNet::Pin& one) const { return trace_.pin_name(one.part, one.pin); }
    bool power(int p) const {
        return part(p).type != nullptr && part(p).type->tube_class.find("power") != std::string::npos &&
               !part(p).type->is_rectifier();
    }
    bool triode(int p) const {
        return part(p).type != nullptr && part(p).type->tube_class.find("triode") != std::string::npos;
    }
    /// A cathode follower (its plate on the supply itself) or a splitter (like resistors in plate and cathode).
    bool follows(const OnNet::Pin& cathode, double ohms_there) const {
        for (const PinElectrode& pin : trace_.electrodes(cathode.part)) {
            if (pin.electrode != Electrode::plate || pin.unit != cathode.pin.unit) continue;
            const int n = net(cathode.part, pin.lead);
            if (n < 0) continue;
            if (trace_.supply_node(n)) return true;
            for (const LeadRef ref : trace_.net(n).leads) {
                const Part& load = part(ref.part);
                if (load.kind == PartKind::capacitor && load.farads.value_or(0) >= 0.01e-6 && load.leads.size() == 2 &&
                    trace_.bottom(net(ref.part, 1 - ref.lead)))
                    return true;
                if (load.kind == PartKind::resistor && load.ohms && std::fabs(*load.ohms / ohms_there - 1) < 0.25)
                    return true;
            }
        }
        return false;
    }
    /// The foot of a divider holds the grid where its cathode stands: on another tube, or on many ohms in a follower or
    /// behind the plate that the divider hangs on.
    bool rides_high(const OnNet::Pin& grid) const {
        const int here = net(grid.part, grid.pin.lead);
        const auto by_resistor = [&](int n, const auto& test) {
            const std::span<const LeadRef> on = trace_.net(n).leads;
            return std::any_of(on.begin(), on.end(), [&](LeadRef ref) {
                const Part& r = part(ref.part);
                return r.kind == PartKind::resistor && r.leads.size() == 2 && test(net(ref.part, 1 - ref.lead));
            });
        };
        const auto is_bottom = [&](int n) { return trace_.bottom(n); };
        if (!triode(grid.part) || !by_resistor(here, is_bottom)) return false;
        bool follower = false;
        for (const PinElectrode& pin : trace_.electrodes(grid.part))
            follower = follower || (pin.electrode == Electrode::plate && pin.unit == grid.pin.unit &&
                                    trace_.near_supply(net(grid.part, pin.lead)));
        const bool divided = by_resistor(here, [&](int n) {
            const OnNet::Pin* plate = on_[at(n)].first(Electrode::plate);
            return plate != nullptr && (plate->part != grid.part || plate->pin.unit != grid.pin.unit);
        });
        const std::vector<int> emitter = trace_.emitter(grid.part, grid.pin);
        return !emitter.empty() && std::all_of(emitter.begin(), emitter.end(), [&](int n) {
            if (!trace_.stands_high(n) || trace_.reaches_b_plus(n)) return false;
            return trace_.reaches_bottom(n) ? by_resistor(n, is_bottom) && (follower || divided)
                                            : trace_.returned_by_tube(n);
        });
    }
    /// One of two triodes on a common cathode, and returned to the other's grid, which a plate holds.
    bool follows_its_pair(const OnNet::Pin& grid, int here) const {
        const std::vector<int> own = trace_.emitter(grid.part, grid.pin);
        for (const LeadRef ref : trace_.net(here).leads) {
            const Part& r = part(ref.part);
            if (r.kind != PartKind::resistor || r.leads.size() != 2) continue;
            const OnNet& there = on_[at(net(ref.part, 1 - ref.lead))];
            if (there.first(Electrode::plate) == nullptr) continue;
            for (const OnNet::Pin& other : there.pins)
                if (other.pin.electrode == Electrode::control_grid && triode(other.part) && !own.empty() &&
                    (other.part != grid.part || other.pin.unit != grid.pin.unit) &&
                    trace_.emitter(other.part, other.pin) == own)
                    return true;
        }
        return false;
    }
    /// Its grid is straight on the plate of the tube before it.
    bool direct_coupled(int p) const {
        const std::vector<PinElectrode>& pins = trace_.electrodes(p);
        return std::any_of(pins.begin(), pins.end(), [&](const PinElectrode& pin) {
            const int n = pin.electrode == Electrode::control_grid ? net(p, pin.lead) : -1;
            const OnNet::Pin* plate = n < 0 ? nullptr : on_[at(n)].first(Electrode::plate);
            return plate != nullptr && plate->part != p;
        });
    }
    bool biased_from_below(int p) const {
        const std::vector<PinElectrode>& pins = trace_.electrodes(p);
        return std::any_of(pins.begin(), pins.end(), [&](const PinElectrode& pin) {
            return pin.electrode == Electrode::control_grid && trace_.below_bottom(net(p, pin.lead));
        });
    }
    bool untraced(int net) const { return net >= 0 && trace_.untraced_near(net); }

    // ---- which way it stands

    void polarity(int p) {
        const Part& c = part(p);
        if (c.kind != PartKind::capacitor || !c.polarised || c.leads.size() != 2) return;
        const int plus = net(p, 0), minus = net(p, 1);
        if (plus < 0 || minus < 0 || plus == minus) return;
        const std::optional<int> above = height(plus), below = height(minus);
        bool turned = above && below && *above < *below && *below >= 0;
        // Between the line or a winding and a rectifier: above where current comes out of it, below where it goes in.
        if (trace_.alternating(minus)) turned = turned || charged(plus) < 0;
        if (trace_.alternating(plus)) turned = turned || charged(minus) > 0;
        // Straight between what alternates and the bottom, with no rectifier between: in a doubler alone is that its
        // place.
        for (const auto& [here, there] : {std::pair{plus, minus}, {minus, plus}})
            if (trace_.alternating(here) && (trace_.bottom(there) || trace_.alternating(there)) &&
                trace_.chassis().family() != Family::doubler && !doubles(here) &&
                c.farads.value_or(1) > least_electrolytic) {
                findings_.add({tw::electrolytic_turned, "electrolytic-turned", Severity::stop}, place_of(c, 0), {p},
                              {plus, minus},
                              fill("{} is an electrolytic between {}, which alternates, and {}: it boils and bursts",
                                   {c.id, trace_.net(here).name, trace_.net(there).name}),
                              "the lug of that end: the rectifier's cathode, not its plate or the line");
                return;
            }
        if (!turned) return;
        findings_.add(
            {tw::electrolytic_turned, "electrolytic-turned", Severity::stop}, place_of(c, 0), {p}, {plus, minus},
            fill("{} has its plus on {} and its minus on {}, which stands above it: reversed it boils and shorts",
                 {c.id, trace_.net(plus).name, trace_.net(minus).name}),
            "the marks on the can against its lugs, by eye");
    }
    /// Rectifiers of both senses meet on it, or a second electrolytic does: the middle of a doubler or of a bridge.
    bool doubles(int n) const {
        int electrolytics = 0;
        bool in = false, out = false;
        for (const LeadRef ref : trace_.net(n).leads) {
            const Part& on = part(ref.part);
            electrolytics += on.kind == PartKind::capacitor && on.polarised ? 1 : 0;
            if (on.kind == PartKind::rectifier) (ref.lead == 0 ? in : out) = true;
            for (const PinElectrode& pin : trace_.electrodes(ref.part)) {
                if (pin.lead != ref.lead || !rectifies(on, pin)) continue;
                in = in || pin.electrode == Electrode::rectifier_plate;
                out = out || pin.electrode == Electrode::cathode;
            }
        }
        return electrolytics > 1 || (in && out);
    }
    /// Which of two nets stands above the other: what a rectifier feeds above everything, a cathode above the bottom,
    /// a bias supply below it. Nothing where the graph does not say.
    std::optional<int> height(int n) const {
        if (trace_.bottom(n)) return trace_.back_biased(n) ? -2 : 0;
        if (trace_.b_plus(n)) return 3;
        if (trace_.below_bottom(n)) return -1;
        if (trace_.reaches_b_plus(n) && !cathode_only(n)) return 2;
        return has(n, Electrode::cathode) ? std::optional<int>(1) : std::nullopt;
    }
    /// 1: rectifiers bring current to it and none takes it away, or what brings it comes from the bottom; -1: the
    /// reverse; 0: neither.
    int charged(int n) const {
        int out = 0, in = 0, from_bottom = 0, to_bottom = 0;
        const auto passes = [&](bool here_cathode, int other) {
            (here_cathode ? out : in) += 1;
            if (other >= 0 && trace_.bottom(other)) (here_cathode ? from_bottom : to_bottom) += 1;
        };
        for (const LeadRef ref : trace_.net(n).leads) {
            const Part& on = part(ref.part);
            if (on.kind == PartKind::rectifier && on.leads.size() == 2)
                passes(ref.lead == 1, on.leads[at(1 - ref.lead)].net);
            for (const PinElectrode& pin : trace_.electrodes(ref.part)) {
                if (pin.lead != ref.lead || !rectifies(on, pin)) continue;
                const bool cathode = pin.electrode == Electrode::cathode;
                if (!cathode && pin.electrode != Electrode::rectifier_plate) continue;
                for (const PinElectrode& far : trace_.electrodes(ref.part))
                    if (far.unit == pin.unit &&
                        far.electrode == (cathode ? Electrode::rectifier_plate : Electrode::cathode))
                        passes(cathode, on.leads[at(far.lead)].net);
            }
        }
        if (out + in > 1 && (out == 0 || in == 0)) return 0;  // one of the rectifiers is turned
        if (out > 0 && (in == 0 || from_bottom > to_bottom)) return 1;
        return in > 0 && (out == 0 || to_bottom > from_bottom) ? -1 : 0;
    }
    bool cathode_only(int n) const {
        return has(n, Electrode::cathode) && !has(n, Electrode::plate) && !has(n, Electrode::screen);
    }

    // ---- values by what they do

    void odd(int p, const std::string& what, const std::string& given, const Range& range, bool farads_there) {
        const auto words = [&](double x) { return farads_there ? say(farads(x)) : say(ohms(x)); };
        findings_.add(
            {tw::implausible_value, "implausible-value", Severity::doubt}, part(p).place, {p}, {},
            fill("{} is {} and is given {}; such have {} to {}",
                 {part(p).id, what, given, words(range.least), words(range.most)}),
            "the print or the colours on it, and the unit written in the file; a zero or a multiplier misread");
    }

    void value(int p) {
        const Part& one = part(p);
        if (one.leads.size() != 2) return;
        const int a = net(p, 0), b = net(p, 1);
        if (a < 0 || b < 0 || a == b) return;
        missing(p, a, b);
        if (!one.can.empty()) return;
        if (one.kind == PartKind::resistor && one.ohms && one.role != "ballast") resistor(p, a, b);
        if (one.kind == PartKind::capacitor && one.farads) capacitor(p, a, b);
    }

    /// A value that is taken for want of one, where everything hangs on it.
    void missing(int p, int a, int b) {
        const Part& one = part(p);
        std::string what, hangs;
        const auto power_cathode_on = [&](int n) -> const OnNet::Pin* {
            const OnNet::Pin* k = trace_.bottom(n) ? nullptr : on_[at(n)].first(Electrode::cathode);
            return k && power(k->part) && !rectifies(part(k->part), k->pin) ? k : nullptr;
        };
        if (one.kind == PartKind::resistor && !one.ohms && one.role != "ballast") {
            const OnNet::Pin* k = power_cathode_on(a);
            if (!k) k = power_cathode_on(b);
            if (k && (trace_.reaches_bottom(a) && trace_.reaches_bottom(b)))
                what = "the cathode resistor of " + part(k->part).id, hangs = "its bias and its watts";
            else if (trace_.b_plus(a) || trace_.b_plus(b))
                what = "on B-plus", hangs = "all that it feeds";
        } else if (one.kind == PartKind::capacitor && !one.farads && one.polarised &&
                   (trace_.rectifier_output(a) || trace_.rectifier_output(b))) {
            what = "the first filter", hangs = "B-plus, ripple and the rectifier's peaks";
        }
        if (what.empty()) return;
        findings_.add(
            {tw::value_missing, "value-missing", Severity::doubt}, one.place, {p}, {},
            fill("{}, {}, has no value in the file: {} are computed from what is merely usual", {one.id, what, hangs}),
            "its print or colours, or a meter, plug out; then write it in the file");
    }

    /// Nothing but rectifiers takes current from it, by their plates or anodes.
    bool into_rectifier(int n) const {
        bool rectifier = false;
        for (const LeadRef ref : trace_.net(n).leads) {
            const Part& on = part(ref.part);
            if (on.kind == PartKind::rectifier) {
                if (ref.lead != 0) return false;
                rectifier = true;
            } else if (on.kind == PartKind::socket) {
                for (const PinElectrode& pin : trace_.electrodes(ref.part)) {
                    if (pin.lead != ref.lead) continue;
                    if (pin.electrode != Electrode::rectifier_plate) return false;
                    rectifier = true;
                }
            } else if (on.kind != PartKind::resistor && on.kind != PartKind::strip && on.kind != PartKind::wire &&
                       on.kind != PartKind::capacitor) {
                return false;
            }
        }
        return rectifier;
    }

    void resistor(int p, int a, int b) {
        const double r = *part(p).ohms;
        const std::string given = say(ohms(r));
        for (const auto& [here, there] : {std::pair{a, b}, {b, a}}) {
            if (trace_.bottom(here) || trace_.bottom(there)) continue;
            if (trace_.alternating(here) && into_rectifier(here) && outside(r, surge))
                return odd(p, "the surge resistor before a rectifier", given, surge, false);
            if (filtered(here) && filtered(there) && trace_.supply_node(here) && trace_.supply_node(there) &&
                outside(r, filter_resistor))
                return odd(p, "a resistor of the filter", given, filter_resistor, false);
        }
        for (const auto& [here, there] : {std::pair{a, b}, {b, a}}) {
            if (trace_.bottom(here)) continue;
            const bool to_bottom = trace_.bottom(there);
            if (const OnNet::Pin* k = on_[at(here)].first(Electrode::cathode);
                k && to_bottom && !rectifies(part(k->part), k->pin) && !part(k->part).type->directly_heated) {
                const Range& range = power(k->part) && direct_coupled(k->part)    ? high_cathode
                                     : power(k->part)                             ? power_cathode
                                     : triode(k->part) && direct_coupled(k->part) ? high_triode_cathode
                                     : triode(k->part)                            ? triode_cathode
                                                                                  : pentode_cathode;
                // with a bias supply on its grid the resistor only measures
                if (r > range.most && !power(k->part) && r <= most_follower && follows(*k, r)) return;
                if (outside(r, range) && !(power(k->part) && r < range.least && biased_from_below(k->part)))
                    odd(p, "the cathode resistor of " + part(k->part).id, given, range, false);
                return;
            }
            if (const OnNet::Pin* g = on_[at(here)].first(Electrode::control_grid);
                g && !has(there, Electrode::control_grid) && !trace_.reaches_b_plus(there)) {
                // a stopper stands between a coupler and its grid, and is small
                const bool leak = to_bottom || on_[at(there)].pins.empty() || has(there, Electrode::cathode);
                const Range& range = power(g->part)           ? power_grid_leak
                                     : resistors_on(here) > 1 ? divider_foot
                                                              : grid_leak;
                const int far_end = there;  // clang 14 captures no structured binding
                const bool across_grid_capacitor =
                    std::any_of(trace_.net(here).leads.begin(), trace_.net(here).leads.end(), [&](const LeadRef ref) {
                        const Part& c = part(ref.part);
                        return c.kind == PartKind::capacitor && c.leads.size() == 2 &&
                               net(ref.part, 1 - ref.lead) == far_end;
                    });
                if (((leak && to_bottom) || across_grid_capacitor) && outside(r, range))
                    odd(p, "the grid leak of " + part(g->part).id, given, range, false);
                return;
            }
            if (const OnNet::Pin* plate = on_[at(here)].first(Electrode::plate);
                plate && trace_.reaches_b_plus(there) && on_[at(there)].first(Electrode::plate) == nullptr &&
                !trace_.holds_grid(there) && !power(plate->part)) {
                if (held_still(here)) return;  // the plate of a follower, decoupled
                const std::string& kind = part(plate->part).type->tube_class;
                if (kind == "gas regulator") return;  // its feed: what it drops and carries is solved
                const bool high_mu =
                    kind.find("diode-triode") != std::string::npos || kind.find("high-mu") != std::string::npos;
                const Range& range = high_mu ? high_mu_load : untuned(here) ? untuned_load : plate_load;
                if (on_[at(here)].first(Electrode::screen) == nullptr && outside(r, range))
                    odd(p, "the plate load of " + part(plate->part).id, given, range, false);
                return;
            }
        }
        for (const auto& [here, there] : {std::pair{a, b}, {b, a}}) {
            if (trace_.bottom(here) || trace_.b_plus(here)) continue;
            if (const OnNet::Pin* screen = on_[at(here)].first(Electrode::screen);
                screen && trace_.reaches_b_plus(there) && !has(there, Electrode::screen) &&
                !has(here, Electrode::plate)) {
                if (!power(screen->part) && outside(r, screen_feed))
                    odd(p, "the feed of a screen, of " + part(screen->part).id, given, screen_feed, false);
                return;
            }
        }
    }

    /// The plate of an untuned radio stage: what takes its signal on is small.
    bool untuned(int n) const {
        constexpr double most = 300e-12;
        bool small = false;
        for (const LeadRef ref : trace_.net(n).leads) {
            const Part& c = part(ref.part);
            if (c.kind != PartKind::capacitor || c.leads.size() != 2 || trace_.bottom(net(ref.part, 1 - ref.lead)))
                continue;
            if (c.farads.value_or(1) > most) return false;
            small = true;
        }
        return small;
    }
    int resistors_on(int n) const {
        const std::span<const LeadRef> leads = trace_.net(n).leads;
        return static_cast<int>(std::count_if(leads.begin(), leads.end(),
                                              [&](LeadRef ref) { return part(ref.part).kind == PartKind::resistor; }));
    }
    /// A capacitor to the bottom keeps it still at audio.
    bool held_still(int n) const {
        const std::span<const LeadRef> leads = trace_.net(n).leads;
        return std::any_of(leads.begin(), leads.end(), [&](LeadRef ref) {
            const Part& c = part(ref.part);
            return c.kind == PartKind::capacitor && c.leads.size() == 2 && c.farads.value_or(0) >= decoupler &&
                   trace_.bottom(net(ref.part, 1 - ref.lead));
        });
    }

    void capacitor(int p, int a, int b) {
        const Part& c = part(p);
        const double f = *c.farads;
        const std::string given = say(farads(f));
        if (c.polarised) {
            for (const int lead : {0, 1}) {
                const int n = lead == 0 ? a : b;
                const OnNet::Pin* grid = on_[at(n)].first(Electrode::control_grid);
                if (!grid || trace_.bottom(n) || trace_.supply_node(n) || untraced(n) || f < 1e-6 ||
                    part(grid->part).type->directly_heated)
                    continue;
                findings_.add(
                    {tw::never_meet, "never-meet", Severity::doubt}, place_of(c, lead), {p, grid->part}, {n},
                    fill("{} is an electrolytic with an end on {}: it would hold the grid still, or leak on it",
                         {c.id, name(*grid)}),
                    "the pin beside it, counted from below: the cathode's, the screen's");
                return;
            }
            const bool supply = c.rated_volts.value_or(0) > high_voltage;
            const bool heats = !supply && (trace_.heats_direct(a) || trace_.heats_direct(b));
            const Range& range = supply ? filter : heats ? heater_filter : cathode_electrolytic;
            if (outside(f, range))
                odd(p,
                    supply  ? "an electrolytic for " + say(volts(*c.rated_volts))
                    : heats ? std::string("the filter of heaters on direct current")
                            : std::string("an electrolytic"),
                    given, range, true);
            return;
        }
        const int built = trace_.chassis().built().value_or(packs_until + 1);
        const bool is_paper =
            c.construction == "wax-paper" || c.construction == "moulded-paper" || c.construction == "stamp-paper";
        const bool is_mica = c.construction == "mica" || c.construction == "silver-mica" ||
                             c.construction == "mica-trimmer" || c.construction == "air-variable" ||
                             c.construction == "silver-mica-if";
        if (c.construction == "buffer-paper" && outside(f, buffer)) return odd(p, "a buffer", given, buffer, true);
        if (is_mica && outside(f, mica)) return odd(p, "of " + c.construction, given, mica, true);
        for (const auto& [here, there] : {std::pair{a, b}, {b, a}}) {
            const OnNet::Pin* plate = on_[at(here)].first(Electrode::plate);
            const OnNet::Pin* grid = on_[at(there)].first(Electrode::control_grid);
            // mica that was only taken for mica, by its value, may be a value misread
            const bool mica_here = is_mica && (c.construction_stated || !power(grid ? grid->part : p));
            if (!plate || !grid || plate->part == grid->part || mica_here) continue;
            const Range& range = power(grid->part) ? power_coupler : coupler;
            if (outside(f, range))
                odd(p, "the coupler from " + part(plate->part).id + " to " + part(grid->part).id, given, range, true);
            return;
        }
        for (const auto& [here, there] : {std::pair{a, b}, {b, a}}) {
            const OnNet::Pin* grid = on_[at(there)].first(Electrode::control_grid);
            if (!grid || is_mica || trace_.bottom(here) || untraced(here) || !filtered(here) ||
                trace_.held_supply(here) ||  // what is left of its ripple is what the tube before it is told
                on_[at(there)].first(Electrode::plate) || on_[at(here)].first(Electrode::plate))
                continue;
            findings_.add({tw::grid_without_drive, "grid-without-drive", Severity::doubt}, place_of(c, 0),
                          {p, grid->part}, {here, there},
                          fill("{} joins {} to {}, which a filter keeps still: no signal comes from there",
                               {c.id, name(*grid), trace_.net(here).name}),
                          "the other end of it: on the plate's side of the load, not on the supply's");
            return;
        }
        from_the_supply(p, a, b);
        const double most = c.construction_stated ? most_wax_farads : paper.most;
        if (is_paper && (f < paper.least || (f > most && built > packs_until)))
            odd(p, "of " + c.construction, given, paper, true);
    }

    /// A coupler on the wrong side of the plate load: from a net that a filter keeps still to one that carries signal
    /// to a grid, by a control or resistors alone.
    void from_the_supply(int p, int a, int b) {
        for (const auto& [here, there] : {std::pair{a, b}, {b, a}}) {
            if (trace_.bottom(here) || trace_.bottom(there) || untraced(here) || untraced(there) || !filtered(here) ||
                trace_.held_supply(here) || filtered(there) || trace_.reaches_b_plus(there) ||
                trace_.alternating(there) || !trace_.reaches_bottom(there) || !carries_signal(there))
                continue;
            findings_.add({tw::grid_without_drive, "grid-without-drive", Severity::doubt}, place_of(part(p), 0), {p},
                          {here, there},
                          fill("{} joins {}, which a filter keeps still, to {}, on the way to a grid: no signal comes "
                               "from there",
                               {part(p).id, trace_.net(here).name, trace_.net(there).name}),
                          "the other end of it: on the plate's side of the load, not on the supply's");
            return;
        }
    }
    /// Nothing on it but what carries a signal on: a control, resistors, small capacitors, grids; and a control or a
    /// grid within a resistor's reach.
    bool carries_signal(int n) const {
        const std::span<const LeadRef> leads = trace_.net(n).leads;
        bool onward = false;
        for (const LeadRef ref : leads) {
            const Part& on = part(ref.part);
            switch (on.kind) {
                case PartKind::control:
                    onward = true;
                    break;
                case PartKind::resistor:
                    onward = onward || has(net(ref.part, 1 - ref.lead), Electrode::control_grid);
                    break;
                case PartKind::capacitor:
                case PartKind::strip:
                case PartKind::wire:
                    break;
                case PartKind::socket:
                    for (const PinElectrode& pin : trace_.electrodes(ref.part)) {
                        if (pin.lead != ref.lead) continue;
                        if (pin.electrode != Electrode::control_grid) return false;
                        onward = true;
                    }
                    break;
                default:
                    return false;
            }
        }
        return onward;
    }

    /// A supply node: an electrolytic for high volts stands on it.
    bool filtered(int n) const {
        return trace_.b_plus(n) ||
               std::any_of(trace_.net(n).leads.begin(), trace_.net(n).leads.end(), [&](const LeadRef ref) {
                   const Part& on = part(ref.part);
                   return on.kind == PartKind::capacitor && on.polarised && ref.lead == 0 &&
                          on.rated_volts.value_or(0) > high_voltage;
               });
    }

    // ---- what never meets

    void meetings(int n) {
        const OnNet& on = on_[at(n)];
        if (on.pins.size() < 2 || trace_.bottom(n) || untraced(n)) return;
        const auto report = [&](const OnNet::Pin& one, const OnNet::Pin& other, const std::string& why) {
            std::vector<int> parts{one.part};
            if (other.part != one.part) parts.push_back(other.part);
            findings_.add({tw::never_meet, "never-meet", Severity::doubt}, place_of(part(one.part), one.pin.lead),
                          parts, {n},
                          fill("{} and {} are one net ({}): {}", {name(one), name(other), trace_.net(n).name, why}),
                          "both lugs, counted from below, and what else is soldered there");
        };
        const bool rail = trace_.supply_node(n);
        const bool stacked = trace_.supplied_by_tube(n) && trace_.returned_by_tube(n);
        for (std::size_t i = 0; i < on.pins.size(); ++i)
            for (std::size_t k = i + 1; k < on.pins.size(); ++k) {
                const OnNet::Pin &x = on.pins[i], &y = on.pins[k];
                const Electrode e = std::min(x.pin.electrode, y.pin.electrode),
                                f = std::max(x.pin.electrode, y.pin.electrode);
                const bool same_pin = x.part == y.part && x.pin.lead == y.pin.lead;
                if (same_pin) continue;
                const auto pair = [&](Electrode one, Electrode two) {
                    return e == std::min(one, two) && f == std::max(one, two);
                };
                if (pair(Electrode::plate, Electrode::plate) && x.part != y.part && !rail) {
                    if (side_by_side(x, y)) continue;
                    return report(x, y, "two plates on one load");
                } else if (pair(Electrode::plate, Electrode::screen) && x.part == y.part && !rail &&
                           on_primary_or_coil(n)) {
                    return report(x, y, "the screen would swing with the plate");
                } else if (pair(Electrode::control_grid, Electrode::cathode)) {
                    if (x.part == y.part && !part(x.part).type->directly_heated)
                        return report(x, y, "a grid tied to its cathode amplifies nothing");
                    if (x.part != y.part) return report(x, y, "a grid on the cathode of another tube");
                } else if (pair(Electrode::control_grid, Electrode::control_grid) && x.part != y.part) {
                    if (side_by_side(x, y)) continue;
                    return report(x, y, "two grids on one lug");
                } else if (pair(Electrode::screen, Electrode::cathode) ||
                           (pair(Electrode::plate, Electrode::cathode) && x.part != y.part)) {
                    const OnNet::Pin& cathode = x.pin.electrode == Electrode::cathode ? x : y;
                    if (rectifies(part(cathode.part), cathode.pin)) continue;  // straight on the first filter
                    if (stacked && x.part != y.part) continue;
                    return report(x, y, "supply and cathode joined");
                } else if (pair(Electrode::cathode, Electrode::cathode) && x.part != y.part &&
                           power(x.part) != power(y.part)) {
                    return report(x, y, "an output tube's cathode with another's");
                }
            }
    }
    /// Two output tubes in parallel: their grids too are one net, each behind a stopper or not.
    bool side_by_side(const OnNet::Pin& x, const OnNet::Pin& y) const {
        constexpr double most_stopper = 22e3;
        if (!power(x.part) || !power(y.part)) return false;
        std::set<int> reach[2];
        const OnNet::Pin* tubes[2] = {&x, &y};
        for (int side = 0; side < 2; ++side)
            for (const PinElectrode& pin : trace_.electrodes(tubes[side]->part)) {
                if (pin.electrode != Electrode::control_grid) continue;
                const int grid = net(tubes[side]->part, pin.lead);
                if (grid < 0) continue;
                reach[side].insert(grid);
                for (const LeadRef ref : trace_.net(grid).leads)
                    if (const Part& stopper = part(ref.part);
                        stopper.kind == PartKind::resistor && stopper.ohms.value_or(most_stopper + 1) <= most_stopper &&
                        stopper.leads.size() == 2 && !trace_.bottom(net(ref.part, 1 - ref.lead)))
                        reach[side].insert(net(ref.part, 1 - ref.lead));
            }
        return std::any_of(reach[0].begin(), reach[0].end(), [&](int n) { return reach[1].count(n) > 0; });
    }
    bool on_primary_or_coil(int n) const {
        return std::any_of(trace_.net(n).leads.begin(), trace_.net(n).leads.end(),
                           [&](LeadRef ref) { return part(ref.part).kind == PartKind::transformer; });
    }

    /// Capacitors meet, and nothing brings direct current: a lug was lost.
    void capacitors_alone(int n) {
        const Net& one = trace_.net(n);
        if (one.leads.size() < 2 || trace_.bottom(n) || untraced(n)) return;
        std::vector<int> parts;
        for (const LeadRef ref : one.leads) {
            const PartKind kind = part(ref.part).kind;
            if (kind == PartKind::capacitor)
                parts.push_back(ref.part);
            else if (kind != PartKind::strip && kind != PartKind::wire && kind != PartKind::block)
                return;
        }
        if (parts.size() < 2 || trace_.joined(n) > static_cast<int>(parts.size())) return;
        findings_.add({tw::capacitors_alone, "capacitors-alone", Severity::doubt}, part(parts.front()).place, parts,
                      {n}, fill("nothing but capacitors meets on {}: no direct current reaches it", {one.name}),
                      "the lug at which they meet: it is a ground lug more often than not, and its rivet may be loose");
    }

    /// A grid or diode that direct current reaches from B-plus without passing a plate or the bottom.
    void supplied_grids() {
        for (int n = 0; n < static_cast<int>(on_.size()); ++n) {
            if (trace_.bottom(n) || trace_.b_plus(n) || untraced(n) || !trace_.reaches_b_plus(n)) continue;
            const OnNet& on = on_[at(n)];
            const OnNet::Pin* grid = on.first(Electrode::control_grid);
            const OnNet::Pin* diode = on.first(Electrode::diode);
            const OnNet::Pin* who = grid ? grid : diode;
            if (!who || on.first(Electrode::plate) || on.first(Electrode::screen) || trace_.holds_grid(n)) continue;
            if (grid && (rides_high(*grid) || follows_its_pair(*grid, n))) continue;
            // biased cathodes carry their grids along: a grid returned to its own cathode is none of this
            findings_.add(
                {tw::grid_on_supply, "grid-on-supply", Severity::doubt}, place_of(part(who->part), who->pin.lead),
                {who->part}, {n},
                fill("direct current reaches {} from B-plus: it would be driven positive", {name(*who)}),
                "what is soldered there that also goes to B-plus; a coupling capacitor drawn as a wire or resistor");
        }
    }

    /// A cathode, or a filament winding with its hum control, whose only resistors go to B-plus.
    void cathodes_on_supply() {
        constexpr double few = 300;
        audit::Groups low(on_.size());
        for (const Conductor& path : trace_.conductors()) {
            const Part& by = part(path.part);
            const bool winding = path.winding >= 0 && by.windings[at(path.winding)].role == WindingRole::heater;
            const bool control = by.kind == PartKind::control && by.ohms.value_or(few + 1) <= few;
            if (winding || control) low.join(path.a, path.b);
        }
        std::map<int, std::pair<int, int>> to;  // group -> resistors to B-plus, and elsewhere
        std::map<int, int> who;
        for (int net = 0; net < static_cast<int>(on_.size()); ++net) {
            const int group = low.of(net);
            if (trace_.bottom(net) || untraced(net)) to[group].second += 1;
            for (const OnNet::Pin& pin : on_[at(net)].pins) {
                const TubeType& type = *part(pin.part).type;
                const bool filament = type.directly_heated && pin.pin.electrode == Electrode::heater &&
                                      trace_.chassis().family() == Family::ac_transformer;
                if (type.is_rectifier() || !power(pin.part) || (pin.pin.electrode != Electrode::cathode && !filament))
                    continue;
                who.emplace(group, pin.part);
            }
            for (const LeadRef ref : trace_.net(net).leads) {
                const Part& r = part(ref.part);
                if (r.kind == PartKind::transformer || r.kind == PartKind::control || r.kind == PartKind::capacitor ||
                    r.kind == PartKind::socket || r.kind == PartKind::strip || r.kind == PartKind::wire)
                    continue;
                const int other = r.leads.size() == 2 ? this->net(ref.part, 1 - ref.lead) : -1;
                if (other >= 0 && low.of(other) == group) continue;
                const bool up = r.kind == PartKind::resistor && other >= 0 && trace_.reaches_b_plus(other) &&
                                trace_.supply_node(other);
                (up ? to[group].first : to[group].second) += 1;
            }
        }
        for (const auto& [group, socket] : who) {
            if (to[group].first == 0 || to[group].second > 0) continue;
            findings_.add({tw::cathode_without_return, "cathode-without-return", Severity::stop}, part(socket).place,
                          {socket}, {group},
                          fill("the cathode of {} goes to B-plus and nowhere else: it has no volts across it, and what "
                               "stands on it has far too many",
                               {part(socket).id}),
                          "the other end of its bias resistor: on the chassis, or on the bottom of the supply");
        }
    }

    /// A radio stage whose screen hangs on the coil and whose plate on the dropper and its bypass.
    void exchanged_feeds() {
        const auto coil = [&](int n) {
            return std::any_of(trace_.net(n).leads.begin(), trace_.net(n).leads.end(), [&](LeadRef ref) {
                const Part& on = part(ref.part);
                return on.kind == PartKind::transformer || (on.kind == PartKind::coil && on.role != "choke");
            });
        };
        for (const Unit& unit : trace_.units()) {
            const Part& socket = part(unit.part);
            if (socket.type == nullptr || power(unit.part)) continue;
            const PinElectrode *plate = nullptr, *screen = nullptr;
            for (const PinElectrode& pin : unit.pins) {
                if (pin.electrode == Electrode::plate) plate = &pin;
                if (pin.electrode == Electrode::screen && !is_anode_grid(socket, pin)) screen = &pin;
            }
            if (plate == nullptr || screen == nullptr || plate->unit == "target") continue;
            const int p = socket.leads[at(plate->lead)].net, s = socket.leads[at(screen->lead)].net;
            if (p < 0 || s < 0 || p == s || trace_.bottom(p) || trace_.bottom(s) || untraced(p) || untraced(s))
                continue;
            if (!coil(s) || coil(p) || filtered(s) || !held_still(p) || !trace_.reaches_b_plus(s)) continue;
            findings_.add({tw::output_feeds_exchanged, "output-feeds-exchanged", Severity::doubt},
                          place_of(socket, screen->lead), {unit.part}, {s, p},
                          fill("{} hangs on a coil and {} on a bypass that keeps it still: the two look exchanged",
                               {trace_.pin_name(unit.part, *screen), trace_.pin_name(unit.part, *plate)}),
                          "both pins of this socket, counted from below; the plate is the one with the coil");
        }
    }

    /// The plate of a stage with a resistor for its load, and nothing that takes its signal on.
    void outlets() {
        for (const Unit& unit : trace_.units()) {
            const Part& socket = part(unit.part);
            if (socket.type == nullptr || power(unit.part) || socket.type->is_rectifier() ||
                socket.type->tube_class == "gas regulator" ||
                socket.type->tube_class.find("eye") != std::string::npos || trace_.parked(unit))
                continue;
            const auto plates = std::count_if(unit.pins.begin(), unit.pins.end(), [](const PinElectrode& pin) {
                return pin.electrode == Electrode::plate;
            });
            for (const PinElectrode& pin : unit.pins) {
                if (pin.electrode != Electrode::plate || plates != 1) continue;
                const int n = socket.leads[at(pin.lead)].net;
                if (n < 0 || trace_.bottom(n) || filtered(n) || untraced(n) || !trace_.reaches_b_plus(n) ||
                    held_still(n) || goes_on(n, unit))
                    continue;
                findings_.add(
                    {tw::plate_without_outlet, "plate-without-outlet", Severity::doubt}, place_of(socket, pin.lead),
                    {unit.part}, {n},
                    fill("{} has its load and nothing that takes the signal on: no coupler, no winding",
                         {trace_.pin_name(unit.part, pin)}),
                    "where the coupler of this stage begins: on a pin beside the plate's, counted from below?");
            }
        }
    }
    /// Something on the net is more than the plate, its load, and capacitors to the bottom; or the signal is taken from
    /// the cathode.
    bool goes_on(int n, const Unit& unit) const {
        bool load = false;
        for (const LeadRef ref : trace_.net(n).leads) {
            const Part& on = part(ref.part);
            const int other = on.leads.size() == 2 ? net(ref.part, 1 - ref.lead) : -1;
            switch (on.kind) {
                case PartKind::resistor: {
                    const bool feeds =
                        other >= 0 && (trace_.supply_node(other) || filtered(other) || held_still(other));
                    if (!feeds) return true;
                    load = true;
                    break;
                }
                case PartKind::capacitor:
                    if (other < 0 || (!trace_.bottom(other) && !filtered(other))) return true;
                    break;
                case PartKind::socket:
                    if (ref.part != unit.part) return true;
                    for (const PinElectrode& pin : trace_.electrodes(ref.part))
                        if (pin.lead == ref.lead && pin.unit != unit.name) return true;
                    break;
                case PartKind::strip:
                case PartKind::wire:
                    break;
                default:
                    return true;
            }
        }
        if (!load || trace_.joined(n) > static_cast<int>(trace_.net(n).leads.size())) return true;
        for (const PinElectrode& pin : unit.pins) {  // a follower or a detector that gives at the cathode
            if (pin.electrode != Electrode::cathode) continue;
            const int k = part(unit.part).leads[at(pin.lead)].net;
            if (k < 0 || trace_.bottom(k)) continue;
            for (const LeadRef ref : trace_.net(k).leads) {
                const Part& on = part(ref.part);
                if (ref.part == unit.part || on.kind == PartKind::strip || on.kind == PartKind::wire) continue;
                const int other = on.leads.size() == 2 ? net(ref.part, 1 - ref.lead) : -1;
                if (other < 0 || !trace_.bottom(other)) return true;
            }
        }
        return false;
    }

    /// A screen that a resistor feeds, and the cathode of a radio-frequency pentode, want a capacitor.
    void bypasses() {
        for (const Unit& unit : trace_.units()) {
            const Part& socket = part(unit.part);
            if (socket.type == nullptr || power(unit.part)) continue;
            for (const PinElectrode& pin : unit.pins) {
                if (pin.electrode != Electrode::screen) continue;
                const int n = socket.leads[at(pin.lead)].net;
                if (n < 0 || trace_.bottom(n) || trace_.b_plus(n) || !trace_.reaches_b_plus(n) || untraced(n)) continue;
                bool fed = false, bypassed = false, coil = false;
                for (const LeadRef ref : trace_.net(n).leads) {
                    const Part& on = part(ref.part);
                    fed = fed || (on.kind == PartKind::resistor && on.ohms.value_or(0) >= 4000);
                    bypassed = bypassed || on.kind == PartKind::capacitor;
                    coil = coil || on.kind == PartKind::transformer || on.kind == PartKind::coil;
                }
                if (!fed || bypassed || coil) continue;
                findings_.add({tw::bypass_missing, "bypass-missing", Severity::doubt}, place_of(socket, pin.lead),
                              {unit.part}, {n},
                              fill("{} is fed by a resistor and has no capacitor: the screen would follow the signal",
                                   {trace_.pin_name(unit.part, pin)}),
                              "the bypass of this screen: on the socket, or in a block with others");
                break;
            }
        }
    }

    const Trace& trace_;
    Findings& findings_;
    std::vector<OnNet> on_;
};

}  // namespace

void stages(const Trace& trace, Findings& findings) {
    Stages(trace, findings).run();
}

}  // namespace tubewright::audit
