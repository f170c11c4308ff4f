// SPDX-License-Identifier: MIT
// See output_turns.hpp.
#include "bench/output_turns.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <limits>
#include <numeric>
#include <set>

#include <tubewright/quantity.hpp>

#include "bench/translation.hpp"

namespace tubewright::bench {

namespace {

constexpr double never = std::numeric_limits<double>::infinity();
constexpr double copper_ohms = 0.02;  // of a wire, a fuse, a switch
constexpr double most_hung = 1000;    // ohms of what loads a secondary: more is feedback

bool all_known(const std::vector<double>& figures, std::size_t count) {
    return figures.size() == count &&
           std::all_of(figures.begin(), figures.end(), [](double x) { return std::isfinite(x) && x > 0; });
}

/// The number in "t16", "8ohm", "4"; 0 where there is none.
double figure_in(std::string_view name) {
    name.remove_prefix(std::min(name.size(), name.rfind('.') + 1));
    const auto digit = [](char c) { return c >= '0' && c <= '9'; };
    const auto from = std::find_if(name.begin(), name.end(), digit);
    const auto to = std::find_if_not(from, name.end(), digit);
    const std::string_view before(name.begin(), from), after(to, name.end());
    if (before.size() > 4 || !(after.empty() || after == "ohm" || after == "ohms" || after == "R")) return 0;
    double value = 0;
    std::from_chars(std::to_address(from), std::to_address(to), value);
    return value;
}

class Turns {
  public:
    Turns(const Chassis& set, const Part& part) : set_(set), part_(part) {}

    OutputTurns all() {
        for (const PartWinding& winding : part_.windings) {
            if (winding.leads.size() < 2) continue;
            const bool primary = winding.role == WindingRole::output_primary || winding.role == WindingRole::primary;
            // of any other kind what has no figure is a shield
            if (!primary && winding.role != WindingRole::output_secondary && !winding.impedance_ohms &&
                winding.noload_volts.empty())
                continue;
            (primary ? out_.primaries : out_.secondaries).push_back(begun(winding));
        }
        if (out_.primaries.empty()) return {};
        for (OutputWinding& one : out_.primaries) primary(one);
        secondaries();
        return std::move(out_);
    }

  private:
    const Chassis& set_;
    const Part& part_;
    OutputTurns out_;

    const PartWinding& of(const OutputWinding& one) const {
        return part_.windings[static_cast<std::size_t>(one.winding)];
    }
    int net(const PartWinding& winding, std::size_t lead) const {
        return part_.leads[static_cast<std::size_t>(winding.leads[lead])].net;
    }
    OutputWinding begun(const PartWinding& winding) const {
        OutputWinding one;
        one.winding = static_cast<int>(&winding - part_.windings.data());
        one.to = static_cast<int>(winding.leads.size()) - 1;
        return one;
    }
    bool common(int net) const {
        const NodeRoles& roles = set_.nodes();
        return net >= 0 && (net == set_.reference() || net == roles.b_minus || net == roles.chassis_metal);
    }
    void assume(const PartWinding& winding, const std::string& taken, const std::string& why,
                const std::string& measure, const std::string& spread, const std::string& source) {
        out_.assumptions.push_back({part_.id + " " + winding.name + " turns", taken, why, measure, spread, source});
    }
    static double turns_between(const OutputWinding& one, int from, int to) {
        const auto begin = one.turns.begin();
        return std::accumulate(begin + std::min(from, to), begin + std::max(from, to), 0.0);
    }
    static double whole(const OutputWinding& one) { return turns_between(one, 0, static_cast<int>(one.turns.size())); }
    static void scale(OutputWinding& one, double by) {
        for (double& turns : one.turns) turns *= by;
    }

    // ---- primaries

    /// A plate on the net, or behind a stopper.
    bool plate_on(int net, bool further = true) const {
        constexpr double stopper_ohms = 220;
        if (net < 0 || common(net)) return false;
        for (const LeadRef& ref : set_.nets()[static_cast<std::size_t>(net)].leads) {
            const Part& other = set_.parts()[static_cast<std::size_t>(ref.part)];
            if (other.kind == PartKind::socket && other.type != nullptr && !other.type->is_rectifier()) {
                const Pin* pin = other.type->pin(other.leads[static_cast<std::size_t>(ref.lead)].name);
                if (pin != nullptr && !pin->electrodes.empty() && pin->electrodes.front().front() == 'p') return true;
            }
            if (further && other.kind == PartKind::resistor && other.leads.size() == 2 &&
                other.ohms.value_or(never) <= stopper_ohms &&
                plate_on(other.leads[static_cast<std::size_t>(1 - ref.lead)].net, false))
                return true;
        }
        return false;
    }

    /// Ohms on the way from each net to a rectifier's output or a battery, this transformer apart.
    std::vector<double> ohms_to_supply() const {
        constexpr double choke_ohms = 300, unknown_ohms = 1000;
        std::vector<double> out(set_.nets().size(), never);
        const auto start = [&](int net) {
            if (net >= 0 && !common(net)) out[static_cast<std::size_t>(net)] = 0;
        };
        for (const Part& part : set_.parts()) {
            if (part.kind == PartKind::battery && part.role == "b" && !part.leads.empty()) start(part.leads[0].net);
            if (part.kind == PartKind::rectifier && part.leads.size() == 2) start(part.leads[1].net);
            if (part.kind != PartKind::socket || part.type == nullptr || !part.type->is_rectifier()) continue;
            for (const Lead& lead : part.leads) {
                const Pin* pin = part.type->pin(lead.name);
                if (pin == nullptr || pin->electrodes.empty()) continue;
                const char first = pin->electrodes.front().front();
                if (first == 'k' || (first == 'h' && part.type->directly_heated)) start(lead.net);
            }
        }
        if (set_.line().hertz <= 0 || set_.line().supply == "dc") start(set_.nodes().line_hot);
        for (bool more = true; more;) {
            more = false;
            for (const Part& part : set_.parts()) {
                const bool wire = part.kind == PartKind::wire || part.kind == PartKind::fuse ||
                                  (part.kind == PartKind::power_switch && (part.closed || part.role == "line"));
                if ((!wire && part.kind != PartKind::resistor && part.kind != PartKind::coil) || part.leads.size() < 2)
                    continue;
                const double ohms =
                    wire ? copper_ohms : part.ohms.value_or(part.kind == PartKind::coil ? choke_ohms : unknown_ohms);
                for (const std::size_t side : {0U, 1U}) {
                    const int from = part.leads[side].net, to = part.leads[1 - side].net;
                    if (from < 0 || to < 0 || common(to)) continue;
                    const double by = out[static_cast<std::size_t>(from)] + ohms;
                    if (by < out[static_cast<std::size_t>(to)]) out[static_cast<std::size_t>(to)] = by, more = true;
                }
            }
        }
        return out;
    }

    void primary(OutputWinding& one) {
        const PartWinding& winding = of(one);
        const std::size_t count = winding.leads.size() - 1;
        std::vector<int> plates;
        for (std::size_t k = 0; k <= count; ++k)
            if (plate_on(net(winding, k))) plates.push_back(static_cast<int>(k));
        const bool pair = plates.size() > 1 && plates.front() == 0 && plates.back() == static_cast<int>(count);
        const std::string usual =
            "ohms of each section, and volts with a few volts of the line on the whole: "
            "noload-volts";
        if (all_known(winding.noload_volts, count)) {
            one.turns = winding.noload_volts;
            one.source = "its volts with the load off";
        } else if (count > 1 && all_known(winding.ohms, count) && !(pair && count == 2)) {
            one.turns = winding.ohms;
            // outer layers are longer, and the sides of a pair are alike for all that
            for (std::size_t k = 0; pair && k < count; ++k)
                one.turns[k] = 0.5 * (winding.ohms[k] + winding.ohms[count - 1 - k]);
            one.source = "its copper";
            assume(winding, pair ? "of its sections as their ohms, both sides alike" : "of its sections as their ohms",
                   "the file has no volts of each section", usual,
                   "what its taps give, by a fifth (outer turns are longer)", "assumed");
        } else {
            one.turns.assign(count, 1.0);
            one.source = "equal sections";
            if (count > 1 && !(pair && count == 2))
                assume(winding, "equal sections", "the file has neither volts nor ohms of each section", usual,
                       "what its taps give, by half or more", "assumed");
        }
        if (plates.size() > 1) {
            one.from = plates.front();
            one.to = plates.back();
        } else if (plates.size() == 1 && count > 1) {
            const std::vector<double> ohms = ohms_to_supply();
            one.from = plates.front();
            one.to = one.from == 0 ? static_cast<int>(count) : 0;
            double least = never;
            for (std::size_t k = 0; k <= count; ++k) {
                const int at = net(winding, k);
                if (static_cast<int>(k) == one.from || at < 0 || !(ohms[static_cast<std::size_t>(at)] < least))
                    continue;
                least = ohms[static_cast<std::size_t>(at)];
                one.to = static_cast<int>(k);
            }
        }
        const double span = turns_between(one, one.from, one.to);
        const OutputWinding& first = out_.primaries.front();
        if (&one == &first) {
            out_.load_ohms = winding.impedance_ohms.value_or(assumed::output_load_ohms);
            if (!winding.impedance_ohms)
                out_.assumptions.push_back({part_.id + " load", "7 k", "not in the file", "the tube's data sheet",
                                            "ripple at the plate only", "common practice, no source"});
            scale(one, std::sqrt(out_.load_ohms) / span);
            out_.half_turns = std::sqrt(out_.load_ohms) / (plates.size() > 1 ? 2 : 1);
            return;
        }
        const PartWinding& beside = of(first);
        if (winding.impedance_ohms) {
            scale(one, std::sqrt(*winding.impedance_ohms) / span);
        } else if (one.source == first.source && all_known(beside.noload_volts, first.turns.size())) {
            scale(one, whole(first) / std::accumulate(beside.noload_volts.begin(), beside.noload_volts.end(), 0.0));
        } else {
            scale(one, turns_between(first, first.from, first.to) / span);
            one.source = "as many as the first primary";
            assume(winding, "as many as the first primary", "no impedance of its own in the file", usual,
                   "the balance of the two", "assumed");
        }
    }

    // ---- secondaries

    /// What hangs on a winding: siemens between its leads, all else in between left out by elimination.
    struct Hung {
        std::vector<std::vector<double>> siemens;  // by lead; of leads on one net the first has them
        bool speaks = false;
    };
    double hung_ohms(const Part& part, bool& speaks) const {
        if (part.leads.size() < 2 || part.leads[0].net < 0 || part.leads[1].net < 0) return never;
        const bool voice = part.kind == PartKind::coil && part.role == "voice";
        if (part.kind == PartKind::speaker || voice) {
            speaks = true;
            return std::max(copper_ohms,
                            part.ohms.value_or(assumed::voice_ohms * (voice ? assumed::voice_direct : 1.0)));
        }
        if (part.kind == PartKind::coil && part.role == "hum-bucking")
            return std::max(copper_ohms, part.ohms.value_or(assumed::antenna_coil_ohms));
        if (part.kind == PartKind::wire || part.kind == PartKind::fuse ||
            (part.kind == PartKind::power_switch && part.closed))
            return copper_ohms;
        if (part.kind == PartKind::resistor && part.leads.size() == 2 && part.ohms.value_or(never) <= most_hung)
            return std::max(copper_ohms, *part.ohms);
        return never;
    }

    Hung hung_on(const PartWinding& winding) const {
        Hung out;
        const std::size_t leads = winding.leads.size();
        out.siemens.assign(leads, std::vector<double>(leads, 0.0));
        std::vector<int> nets;
        const auto place = [&](int net) {
            return static_cast<std::size_t>(std::find(nets.begin(), nets.end(), net) - nets.begin());
        };
        std::vector<std::size_t> lead_of;  // of the nets that are leads
        for (std::size_t k = 0; k < leads; ++k)
            if (net(winding, k) >= 0 && place(net(winding, k)) == nets.size()) {
                nets.push_back(net(winding, k));
                lead_of.push_back(k);
            }
        bool voices = false;
        for (std::size_t k = 0; k < nets.size(); ++k) {
            if (common(nets[k])) continue;  // nothing goes on from there
            for (const Part& part : set_.parts()) {
                if (hung_ohms(part, voices) == never) continue;
                for (const std::size_t side : {0U, 1U})
                    if (part.leads[side].net == nets[k] && place(part.leads[1 - side].net) == nets.size())
                        nets.push_back(part.leads[1 - side].net);
            }
        }
        const std::size_t all = nets.size();
        std::vector<std::vector<double>> matrix(all, std::vector<double>(all, 0.0));
        for (const Part& part : set_.parts()) {
            bool speaks = false;
            const double ohms = hung_ohms(part, speaks);
            if (ohms == never) continue;
            const std::size_t a = place(part.leads[0].net), b = place(part.leads[1].net);
            if (a == all || b == all || a == b) continue;
            out.speaks = out.speaks || speaks;
            matrix[a][a] += 1 / ohms;
            matrix[b][b] += 1 / ohms;
            matrix[a][b] -= 1 / ohms;
            matrix[b][a] -= 1 / ohms;
        }
        for (std::size_t k = all; k-- > lead_of.size();) {
            if (!(matrix[k][k] > 0)) continue;
            for (std::size_t a = 0; a < k; ++a)
                for (std::size_t b = 0; b < k; ++b) matrix[a][b] -= matrix[a][k] * matrix[k][b] / matrix[k][k];
        }
        constexpr double counts = 1e-6;  // siemens: less is the rounding of elimination
        for (std::size_t a = 0; a < lead_of.size(); ++a)
            for (std::size_t b = 0; b < lead_of.size(); ++b)
                if (a != b && -matrix[a][b] > counts) out.siemens[lead_of[a]][lead_of[b]] = -matrix[a][b];
        return out;
    }

    /// Watts that one volt a turn gives into what hangs there: sum of siemens times turns squared.
    static double watts(const OutputWinding& one, const Hung& hung) {
        double sum = 0;
        for (std::size_t a = 0; a < hung.siemens.size(); ++a)
            for (std::size_t b = a + 1; b < hung.siemens.size(); ++b)
                sum += hung.siemens[a][b] * std::pow(turns_between(one, static_cast<int>(a), static_cast<int>(b)), 2);
        return sum;
    }

    /// Roots of ohms from ohms marked lead by lead; `back`: counted from the last lead.
    static std::vector<double> roots(std::vector<double> ohms, bool back) {
        if (back) std::reverse(ohms.begin(), ohms.end());
        std::vector<double> turns;
        double before = 0;
        for (const double one : ohms) {
            turns.push_back(std::sqrt(one) - before);
            before = std::sqrt(one);
        }
        if (back) std::reverse(turns.begin(), turns.end());
        return turns;
    }
    static bool rising(const std::vector<double>& ohms) {
        return std::adjacent_find(ohms.begin(), ohms.end(), [](double a, double b) { return !(b > a); }) == ohms.end();
    }

    /// "gnd t4 t8 t16": ohms in the names of all its leads but one end; empty where they are no such thing.
    std::vector<double> named_ohms(const PartWinding& winding, bool& back) const {
        static constexpr std::array loads{2,  3,  4,  6,   8,   10,  12,  15,  16,  20,
                                          30, 50, 60, 100, 125, 150, 200, 250, 500, 600};
        constexpr double apart = 1.5;
        const std::size_t count = winding.leads.size() - 1;
        if (count < 2) return {};
        const auto of_lead = [&](std::size_t k) {
            const int on = net(winding, k);
            double ohms = on < 0 || common(on) ? 0 : figure_in(set_.nets()[static_cast<std::size_t>(on)].name);
            if (ohms <= 0) ohms = figure_in(part_.leads[static_cast<std::size_t>(winding.leads[k])].name.str());
            return std::find(loads.begin(), loads.end(), ohms) == loads.end() ? 0.0 : ohms;
        };
        back = common(net(winding, count)) || of_lead(count) <= 0;
        std::vector<double> ohms;
        for (std::size_t k = 1; k <= count; ++k) ohms.push_back(of_lead(back ? count - k : k));
        for (std::size_t k = 0; k < count; ++k)
            if (ohms[k] <= 0 || (k > 0 && ohms[k] <= apart * ohms[k - 1])) return {};
        if (back) std::reverse(ohms.begin(), ohms.end());
        return ohms;
    }

    /// The turns as far as the winding itself tells; true where they are roots of ohms already.
    bool sections(OutputWinding& one, const Hung& hung) {
        const PartWinding& winding = of(one);
        const std::size_t count = winding.leads.size() - 1;
        const std::string measure = "volts from tap to tap with a few volts on the primary: noload-volts";
        bool back = false, marked = false;
        if (all_known(winding.noload_volts, count)) {
            one.turns = winding.noload_volts;
            one.source = "its volts with the load off";
        } else if (all_known(winding.tap_ohms, count) &&
                   (rising(winding.tap_ohms) ||
                    rising(std::vector<double>(winding.tap_ohms.rbegin(), winding.tap_ohms.rend())))) {
            one.turns = roots(winding.tap_ohms, !rising(winding.tap_ohms));
            one.source = "the roots of its taps' impedances";
            return true;
        } else if (const std::vector<double> named = named_ohms(winding, back); !named.empty()) {
            one.turns = roots(named, back);
            one.source = "the roots of the ohms in its taps' names";
            assume(winding, one.source, "the file marks no impedance of each tap", measure,
                   "the plate load, in proportion to their squares", "common practice, no source");
            return true;
        } else if (count > 1 && all_known(winding.ohms, count)) {
            one.turns = winding.ohms;
            one.source = "its copper";
            assume(winding, "of its sections as their ohms", "neither volts nor impedance of each tap in the file",
                   measure, "the plate load, by half or more", "assumed");
        } else {
            one.turns.assign(count, 1.0);
            one.source = "its load";
            // of a marked whole the tap that carries the load is known by that
            const bool from_back = common(net(winding, count));
            const std::size_t end = from_back ? count : 0;
            std::size_t tap = end, loads = 0;
            for (std::size_t a = 0; a <= count; ++a)
                for (std::size_t b = a + 1; b <= count; ++b)
                    if (hung.siemens[a][b] > 0) ++loads, tap = a == end ? b : b == end ? a : end;
            const double ohms = loads == 1 && tap != end ? 1 / hung.siemens[end][tap] : 0;
            if (count > 1 && ohms > 0 && winding.impedance_ohms.value_or(0) > ohms && tap != 0 && tap != count) {
                const std::size_t inner = from_back ? count - tap : tap;
                for (std::size_t k = 0; k < count; ++k) {
                    const bool within = (from_back ? count - 1 - k : k) < inner;
                    one.turns[k] = within ? std::sqrt(ohms) / static_cast<double>(inner)
                                          : (std::sqrt(*winding.impedance_ohms) - std::sqrt(ohms)) /
                                                static_cast<double>(count - inner);
                }
                one.source = "the roots of its marked ohms and of the load on its tap";
                marked = true;
            }
            if (count > 1)
                assume(winding, marked ? one.source : "equal sections",
                       "neither volts, impedance nor ohms of each tap in the file", measure,
                       "the plate load, by half or more", "assumed");
        }
        if (winding.impedance_ohms && !marked) {
            scale(one, std::sqrt(*winding.impedance_ohms) / whole(one));
            if (count == 1) one.source = "the root of its impedance";
            return true;
        }
        return marked;
    }

    void secondaries() {
        const OutputWinding& first = out_.primaries.front();
        const PartWinding& primary = of(first);
        const double primary_volts =
            all_known(primary.noload_volts, first.turns.size())
                ? std::accumulate(primary.noload_volts.begin(), primary.noload_volts.end(), 0.0)
                : 0;
        std::vector<Hung> hung;
        std::vector<std::size_t> open;  // not yet in roots of ohms
        for (OutputWinding& one : out_.secondaries) {
            hung.push_back(hung_on(of(one)));
            one.speaks = hung.back().speaks;
            const bool known = sections(one, hung.back());
            if (primary_volts > 0 && all_known(of(one).noload_volts, one.turns.size()))
                // both read at once: no mark is as good
                scale(one, whole(first) / primary_volts *
                               std::accumulate(of(one).noload_volts.begin(), of(one).noload_volts.end(), 0.0) /
                               whole(one));
            else if (!known)
                open.push_back(hung.size() - 1);
            double most = 0;
            for (std::size_t a = 0; a < hung.back().siemens.size(); ++a)
                for (std::size_t b = a + 1; b < hung.back().siemens.size(); ++b) {
                    const double siemens = hung.back().siemens[a][b];
                    const double carried =
                        siemens * std::pow(turns_between(one, static_cast<int>(a), static_cast<int>(b)), 2);
                    if (!(carried > most)) continue;
                    most = carried;
                    one.from = static_cast<int>(a);
                    one.to = static_cast<int>(b);
                    one.hung_siemens = siemens;
                }
        }
        // what speaks is what the transformer was made for; a resistor is where nothing does
        const bool any_speaks =
            std::any_of(out_.secondaries.begin(), out_.secondaries.end(), [](const auto& one) { return one.speaks; });
        const auto loads = [&](std::size_t k) {
            return watts(out_.secondaries[k], hung[k]) > 0 && (out_.secondaries[k].speaks || !any_speaks);
        };
        const auto sharing = std::count_if(open.begin(), open.end(), loads);
        for (const std::size_t k : open) {
            OutputWinding& one = out_.secondaries[k];
            if (!loads(k)) continue;
            scale(one, std::sqrt(1 / (watts(one, hung[k]) * static_cast<double>(sharing))));
            if (one.turns.size() == 1) one.source = "its load";
            if (sharing > 1)
                assume(of(one), "for its share of the load, 1 of " + std::to_string(sharing),
                       "several windings carry a voice coil, and none has an impedance marked",
                       "volts of each with a few volts on the primary: noload-volts", "the plate load by half or more",
                       "assumed");
            one.source += sharing > 1 ? ", one share of several" : "";
        }
        for (const std::size_t k : open) {
            OutputWinding& one = out_.secondaries[k];
            if (loads(k)) continue;
            unloaded(one);
        }
    }

    /// Nothing hangs there that tells: by volts read beside another's, else as the first other, else for 3.2 ohm.
    void unloaded(OutputWinding& one) {
        const PartWinding& winding = of(one);
        const bool read = all_known(winding.noload_volts, one.turns.size());
        for (const OutputWinding& other : out_.secondaries) {
            if (&other == &one || !read || !all_known(of(other).noload_volts, other.turns.size())) continue;
            scale(one,
                  whole(other) / std::accumulate(of(other).noload_volts.begin(), of(other).noload_volts.end(), 0.0));
            return;
        }
        for (const OutputWinding& other : out_.secondaries) {
            if (&other == &one || !(other.hung_siemens > 0)) continue;
            scale(one, whole(other) / whole(one));
            one.source = "as many as the winding of the voice coil";
            assume(winding, one.source, "the file has neither its volts nor its impedance",
                   "volts of both with a few volts on the primary: noload-volts", "all that hangs on it, in proportion",
                   "assumed");
            return;
        }
        scale(one, std::sqrt(assumed::voice_ohms) / whole(one));
    }
};

}  // namespace

OutputTurns output_turns(const Chassis& set, const Part& part) {
    return Turns(set, part).all();
}

std::vector<std::pair<int, int>> opposite_ends(const Part& part) {
    std::vector<std::pair<int, int>> out;
    const PartWinding* first = nullptr;
    for (const PartWinding& winding : part.windings) {
        if (winding.role != WindingRole::output_primary || winding.leads.size() < 2) continue;
        if (winding.leads.size() > 2) out.emplace_back(winding.leads.front(), winding.leads.back());
        if (first != nullptr) {
            out.emplace_back(first->leads.front(), winding.leads.back());
            out.emplace_back(first->leads.back(), winding.leads.front());
        } else {
            first = &winding;
        }
    }
    return out;
}

}  // namespace tubewright::bench
