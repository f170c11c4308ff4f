// SPDX-License-Identifier: MIT
// Leakage that each capacitor may have, from its place in the circuit: the leak is closed further, by halves of its
// logarithm, until the first figure leaves its limit. See threat.hpp. Tests: tests/threat/leakage_test.cpp, with the
// divider worked by hand beside it.
#include <algorithm>
#include <array>
#include <cmath>

#include "threat/marks.hpp"
#include "threat/threat.hpp"
#include "threat/touch.hpp"

namespace tubewright {
namespace {

using stress::Loads;
using threat::GridMark;
using threat::Marks;

constexpr double least_ohms = 1e3, most_ohms = 1e11;
constexpr double bleeder_share = 0.1;
constexpr double meter_ohms = 10e6;
constexpr double least_bleeder = 20e-6;  ///< less is no bleeder
constexpr double inside_watts = 0.25;    ///< a paper or mica part warms by some ten degrees of it (assumed)

/// What an electrolytic may leak as a part: K C + .3 mA with K by its volts (JAN-C-62 as quoted second hand; the
/// standard itself not seen). Absent for anything else.
std::optional<double> own_limit(const Part& part) {
    if (part.construction.find("electrolytic") == std::string::npos || !part.farads) return std::nullopt;
    const double rated = part.rated_volts.value_or(450);
    const double k = rated <= 100 ? 0.01 : rated <= 250 ? 0.02 : rated <= 350 ? 0.025 : 0.04;
    return 1e-3 * (k * *part.farads * 1e6 + 0.3);
}

class Finder {
  public:
    Finder(const Chassis& chassis, const Catalogue& catalogue, Bench& bench)
        : chassis_(chassis), catalogue_(catalogue), bench_(bench) {}

    Outcome<std::vector<LeakageLimit>> run() {
        Outcome<Solution> healthy = bench_.solve(Condition{});
        if (!healthy) return healthy.notices();
        healthy_ = std::move(*healthy);
        marks_.emplace(chassis_, catalogue_, healthy_);
        hand_.emplace(chassis_, healthy_.line_volts, healthy_.line_hertz);
        std::vector<LeakageLimit> out;
        for (std::size_t i = 0; i < chassis_.parts().size(); ++i) {
            const Part& p = chassis_.parts()[i];
            if (p.kind != PartKind::capacitor || p.leads.size() < 2 || p.leads[0].net < 0 || p.leads[1].net < 0 ||
                p.leads[0].net == p.leads[1].net || p.construction == "air-variable" ||
                p.construction == "mica-trimmer")
                continue;
            out.push_back(limit_of(static_cast<int>(i)));
        }
        return out;
    }

  private:
    double volts_at(const Solution& s, int net) const { return s.nets[static_cast<std::size_t>(net)].dc.value(); }

    /// Direct current that flows at the busier end of the capacitor in health.
    double current_at(const Part& p) const {
        double most = 0;
        for (int lead = 0; lead < 2; ++lead) {
            const int net = p.leads[static_cast<std::size_t>(lead)].net;
            if (net == chassis_.reference()) continue;
            double amps = 0;
            const Loads loads(chassis_, healthy_);
            for (const LeadRef& ref : chassis_.nets()[static_cast<std::size_t>(net)].leads) {
                const Part& other = chassis_.parts()[static_cast<std::size_t>(ref.part)];
                const bool winding = other.kind == PartKind::transformer && other.role != "power";
                if (!winding && other.kind != PartKind::resistor && other.kind != PartKind::coil &&
                    other.kind != PartKind::control)
                    continue;
                for (const Branch& b : loads.of(ref.part)) amps = std::max(amps, std::fabs(b.dc.value()));
            }
            most = std::max(most, amps);
        }
        return most;
    }

    /// Alternating volts across it in health, rms.
    double alternating(int part) const {
        double most = 0;
        for (const Branch& b : Loads(chassis_, healthy_).of(part)) most = std::max(most, b.volts_rms.value());
        return most;
    }

    /// What a capacitor stands at in health, and what flows at its net.
    struct Place {
        double alternating = 0, bleeder = 0;
    };

    /// The first figure past its limit with this leak; empty when none is. `grid` is set when it is a grid.
    std::string passed(const Solution& s, const Part& p, double ohms, const Place& place, const GridMark** grid) const {
        const Loads loads(chassis_, s);
        for (const GridMark& g : marks_->grids)
            if (std::fabs(volts_at(s, g.net) - g.volts) > threat::bias_share * g.bias) {
                *grid = &g;
                return "grid of " + chassis_.parts()[static_cast<std::size_t>(g.part)].id +
                       " moved by a tenth of its bias";
            }
        if (std::string over = marks_->over_maximum(loads); !over.empty()) return over;
        const double across = std::fabs(volts_at(s, p.leads[0].net) - volts_at(s, p.leads[1].net));
        const double amps = across / ohms;
        if (const std::optional<double> own = own_limit(p)) {
            if (amps > *own) return "its own limit as an electrolytic, " + say(tubewright::amps(*own));
        } else if (across * amps + place.alternating * place.alternating / ohms > inside_watts) {
            return say(watts(inside_watts)) + " inside it";
        }
        if (place.bleeder > least_bleeder && amps > bleeder_share * place.bleeder)
            return "a tenth of the current that flows at its net";
        return {};
    }

    Fault leak(int part, double ohms) const {
        Fault f;
        f.id = chassis_.parts()[static_cast<std::size_t>(part)].id + " leak";
        f.part = part;
        f.mode = FaultMode::leak;
        f.lead_a = 0;
        f.lead_b = 1;
        f.ohms = ohms;
        return f;
    }

    LeakageLimit limit_of(int index) {
        const Part& p = chassis_.parts()[static_cast<std::size_t>(index)];
        LeakageLimit out;
        out.part = p.id;
        out.volts = std::fabs(volts_at(healthy_, p.leads[0].net) - volts_at(healthy_, p.leads[1].net));
        if (hand_->holds_off(p)) {
            // the metal floats: the leak is what a hand or an earth would carry beside the charge current
            out.volts = healthy_.line_volts;
            const double in_health = hand_->amps(), by_capacity = hand_->amps_by_capacity();
            if (in_health >= threat::touch_limit_amps) {
                out.limited_by = "touch current: " + (by_capacity >= threat::touch_limit_amps
                                                          ? say(amps(by_capacity)) + " flow by capacity alone"
                                                          : say(amps(in_health)) + " flow in health");
                out.amps = 0;
                return out;
            }
            out.limited_by = "touch current";
            if (in_health > 1e-6) out.limited_by += " beside " + say(amps(in_health)) + " by capacity, in quadrature";
            double low = std::log(least_ohms), high = std::log(most_ohms);
            while (high - low > 1e-6) {
                const double middle = 0.5 * (low + high);
                const Fault one = leak(index, std::exp(middle));
                (hand_->amps(&one) > threat::touch_limit_amps ? low : high) = middle;
            }
            out.ohms = std::exp(high);
            out.amps = out.volts / *out.ohms;
            out.watts = out.volts * *out.amps;
            out.series_meter_volts = out.volts * meter_ohms / (meter_ohms + *out.ohms);
            return out;
        }
        // what stands across the line takes from no net of the set
        const Place place{alternating(index), hand_->across_line(p) ? 0 : current_at(p)};
        if (place.alternating > out.volts) out.volts = std::hypot(place.alternating, out.volts);
        const GridMark* grid = nullptr;
        auto harm = [&](double ohms) {
            const std::array one{leak(index, ohms)};
            const FaultSolution found = bench_.solve(Condition{}, one, false);
            // what has no solution is not harmless
            return found.solved ? passed(found.solution, p, ohms, place, &grid)
                                : std::string("no solution with a leak of that size");
        };
        out.limited_by = harm(least_ohms);
        if (out.limited_by.empty()) {
            out.limited_by = "nothing";
            return out;
        }
        double low = std::log(least_ohms), high = std::log(most_ohms);  // harm at low, none at high
        while (high - low > 0.005) {
            const double middle = 0.5 * (low + high);
            std::string why = harm(std::exp(middle));
            if (why.empty()) {
                high = middle;
            } else {
                low = middle;
                out.limited_by = std::move(why);
            }
        }
        if (high == std::log(most_ohms)) {
            out.amps = 0;
            return out;
        }
        const double ohms = std::exp(high);
        out.ohms = ohms;
        out.amps = out.volts / ohms;
        out.watts = out.volts * *out.amps;
        out.series_meter_volts = out.volts * meter_ohms / (meter_ohms + ohms);
        if (grid != nullptr && out.limited_by.starts_with("grid")) {
            Condition pulled;
            pulled.scenario = Scenario::tube_out;
            pulled.tube = chassis_.parts()[static_cast<std::size_t>(grid->part)].id;
            const std::array one{leak(index, ohms)};
            const FaultSolution found = bench_.solve(pulled, one, false);
            if (found.solved) out.grid_volts_tube_out = volts_at(found.solution, grid->net);
        }
        return out;
    }

    const Chassis& chassis_;
    const Catalogue& catalogue_;
    Bench& bench_;
    Solution healthy_;
    std::optional<Marks> marks_;
    std::optional<threat::Touch> hand_;
};

}  // namespace

Outcome<std::vector<LeakageLimit>> leakage_limits_of(const Chassis& chassis, const Catalogue& catalogue, Bench& bench) {
    return Finder(chassis, catalogue, bench).run();
}

}  // namespace tubewright
