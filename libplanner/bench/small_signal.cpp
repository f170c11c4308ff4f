// SPDX-License-Identifier: MIT
// See small_signal.hpp. A stage is driven by one ampere into its grid and read as a ratio: whatever stands before the
// grid then has no part in it, as if the grid were held by a generator without ohms. The generator holds the tube's
// grid and not its net: each tube hangs on that by a link of its own, which is cut for it, so that nothing runs back
// through the coupler into the stage before (a split load's other output tube) and out again; what the grid draws stays
// at the net.
#include "bench/small_signal.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <numeric>

#include "bench/output_turns.hpp"
#include "bench/residue.hpp"
#include "chassis/data.hpp"
#include "terms/period_value.hpp"
#include "tubes/laws.hpp"

namespace tubewright::bench {

namespace {

using Complex = std::complex<double>;
using Volts = std::vector<Complex>;  // by node

constexpr double audio_hertz = 1000;     // where a midband gain is read
constexpr double idle_siemens = 1e-9;    // holds the generator's node where none is
constexpr double link_siemens = 10;      // of a tube to its grid's net
constexpr double stopper_ohms = 1e4;     // up to so many between two grids they are driven together
constexpr double near_ohms = 1e4;        // up to so many on the way from a cathode a capacitor bypasses it
constexpr double joined_ohms = 50;       // less between two nets of a tuned circuit is a wire
constexpr double most_tuned = 5e-9;      // farads: more across a coil is a filter, not a tuned circuit
constexpr double least_tuned = 1e-13;    // farads: less is no path
constexpr double carries = 0.005;        // share of the stored energy from which a capacitor is named
constexpr double dead_siemens = 1e-8;    // of a section that passes nothing
constexpr double least_gain = 1e-3;      // of a whole set: less is nothing that arrives
constexpr double audio_load_ohms = 5e3;  // more behind a coil is a load for audio
constexpr double grounded_ohms = 1e-2;   // a grid that stands on so little is driven elsewhere

bool starts(const std::string& text, const char* with) {
    return text.rfind(with, 0) == 0;
}

/// "triode on a filament" is a triode.
std::string plain_law(const Item& item) {
    return item.law.substr(0, item.law.find(' '));
}

circuit::Law law_of(const Item& item) {
    const std::string plain = plain_law(item);
    const int extra = item.law == plain ? 0 : item.law.ends_with(" on a tapped filament") ? 2 : 1;
    const tubes::NamedLaw named = extra > 0 ? tubes::filament_law(plain, extra) : tubes::law(plain);
    return {named.terminals, named.function};
}

bool amplifies(const std::string& law) {
    return law == "triode" || law == "pentode";
}

/// Which terminal of a law takes the signal; 0 for one that takes none.
std::size_t control_of(const std::string& law) {
    return law == "triode" ? 1 : law == "pentode" ? 2 : law == "converter" ? 4 : law == "pentagrid" ? 3 : 0;
}

/// A coil of radio frequency or between stages: its ohms alone are in the equations.
bool loose(const Part& part, const PartWinding& winding) {
    return winding.role == WindingRole::rf || winding.role == WindingRole::interstage_primary ||
           winding.role == WindingRole::interstage_secondary || part.role == "interstage" || part.role == "if" ||
           part.role == "rf" || part.role == "oscillator";
}
bool loose(const Part& part) {
    return part.kind == PartKind::coil && part.role != "choke" && part.role != "field" && part.role != "voice" &&
           part.role != "hum-bucking";
}

/// A coil as a tuned circuit has it: its ends, and what the file says of it.
struct Coil {
    int part = -1;
    std::string name;
    Node a = 0, b = 0;
    std::optional<double> henries, kilohertz;
    bool between_stages = false;  ///< of audio frequency
};

class Signals {
  public:
    Signals(const Translation& in, const Chassis& set, const Solved& solved) : in_(in), set_(set), solved_(solved) {
        find_coils();
        build();
        build_capacitors();
    }

    SmallSignal all(const Condition& condition) {
        SmallSignal out;
        out.condition = condition;
        tuned(out);
        for (const Tube& tube : in_.tubes)
            for (const Section& section : tube.sections)
                if (!section.rectifies) stage(tube, section, out);
        overall(out);
        return out;
    }

  private:
    const Part& part(int p) const { return set_.parts()[static_cast<std::size_t>(p)]; }
    const Item& item(int k) const { return in_.items[static_cast<std::size_t>(k)]; }
    double value(int k, Slot slot, int index = 0) const { return value_under(in_, solved_.changes, k, slot, index); }
    int net(Node node) const { return in_.net_of_node[static_cast<std::size_t>(node)]; }
    Node node(int of_net) const { return of_net < 0 ? -1 : in_.node_of_net[static_cast<std::size_t>(of_net)]; }
    double mean(Node at) const {
        return at == circuit::ground ? 0.0 : solved_.wave.means[static_cast<std::size_t>(at) - 1];
    }

    // ---- the circuit of small signals

    void find_coils() {
        for (std::size_t p = 0; p < set_.parts().size(); ++p) {
            const Part& one = set_.parts()[p];
            if (stands_open(one)) continue;
            const auto add = [&](int from, int to, std::string name, bool between, std::optional<double> henries) {
                if (from < 0 || to < 0) return;
                Coil coil;
                coil.part = static_cast<int>(p);
                coil.name = std::move(name);
                coil.a = node(one.leads[static_cast<std::size_t>(from)].net);
                coil.b = node(one.leads[static_cast<std::size_t>(to)].net);
                coil.henries = henries;
                coil.kilohertz = one.kilohertz;
                coil.between_stages = between;
                if (coil.a >= 0 && coil.b >= 0 && coil.a != coil.b) coils_.push_back(std::move(coil));
            };
            if (loose(one) && one.leads.size() >= 2) add(0, 1, one.id, false, one.henries);
            if (one.kind != PartKind::transformer) continue;
            for (const PartWinding& winding : one.windings)
                if (winding.leads.size() >= 2 && loose(one, winding))
                    add(winding.leads.front(), winding.leads.back(), one.id + " " + winding.name,
                        winding.role != WindingRole::rf, henries_of(one, winding));
        }
    }

    /// Henries of a winding: its own, or by the volts read on it and on the first winding that has henries.
    static std::optional<double> henries_of(const Part& one, const PartWinding& winding) {
        if (winding.henries) return winding.henries;
        const auto read = [](const PartWinding& w) {
            return std::accumulate(w.noload_volts.begin(), w.noload_volts.end(), 0.0);
        };
        if (one.role != "interstage" || !(read(winding) > 0)) return {};
        for (const PartWinding& other : one.windings)
            if (other.henries && read(other) > 0) return *other.henries * std::pow(read(winding) / read(other), 2);
        return {};
    }

    /// A winding as the circuit of small signals has it: its sections are on one core.
    struct Wound {
        double henries = 0, coupling = 0;
        struct Section {
            Node a = 0, b = 0;
            double share = 1, ohms = 0;  // of the turns
        };
        std::vector<Section> sections;
    };
    std::vector<Wound> wound(int p) const {
        std::vector<Wound> out;
        int last = -1;
        for (const WindingHalf& half : in_.windings) {
            if (half.part != p || half.index >= 0 || half.winding < 0) continue;
            const PartWinding& winding = part(p).windings[static_cast<std::size_t>(half.winding)];
            const std::optional<double> henries = henries_of(part(p), winding);
            if (!henries || !loose(part(p), winding)) continue;
            if (half.winding != last) {
                // iron between stages is as good as whole
                out.push_back({*henries, winding.coupling.value_or(part(p).role == "interstage" ? 1.0 : 0.0), {}});
                last = half.winding;
            }
            const std::size_t count = winding.leads.size() - 1, h = static_cast<std::size_t>(half.half);
            double share = 1.0 / static_cast<double>(count);
            if (winding.noload_volts.size() == count)
                share = winding.noload_volts[h] /
                        std::accumulate(winding.noload_volts.begin(), winding.noload_volts.end(), 0.0);
            out.back().sections.push_back({half.from, half.to, share, value(half.item, Slot::ohms)});
        }
        return out;
    }

    /// Windings with henries. Two that are coupled by k: of the first (1 - k^2) L in series, and a core of k^2 L whose
    /// turns are as 1 to the root of the henries over k. Further ones are on that core where all are coupled whole, and
    /// by themselves otherwise.
    void cores(circuit::Circuit& c) {
        for (std::size_t p = 0; p < set_.parts().size(); ++p) {
            if (part(static_cast<int>(p)).kind != PartKind::transformer) continue;
            std::vector<Wound> all = wound(static_cast<int>(p));
            if (all.empty()) continue;
            constexpr double as_whole = 0.999;
            const auto coupled =
                std::count_if(all.begin() + 1, all.end(), [](const Wound& w) { return w.coupling > 0; });
            const bool whole = coupled > 0 && std::all_of(all.begin() + 1, all.end(), [](const Wound& w) {
                                   return w.coupling == 0 || w.coupling >= as_whole;
                               });
            const auto core = [&](std::vector<const Wound*> on, double k) {
                const Wound& first = *on.front();
                std::vector<circuit::Winding> windings;
                for (const Wound* one : on) {
                    const double turns = one == &first ? 1 : std::sqrt(one->henries / first.henries) / k;
                    for (const Wound::Section& section : one->sections)
                        windings.push_back({section.a, section.b, turns * section.share, section.ohms});
                }
                if (k < 1) {
                    constexpr double no_ohms = 1e-6;
                    const Node inner = c.node(part(static_cast<int>(p)).id + " inside");
                    c.inductor(windings.front().from, inner, (1 - k * k) * first.henries, no_ohms);
                    windings.front().from = inner;
                }
                const double share = first.sections.front().share;
                c.transformer(std::move(windings), k * k * first.henries * share * share, 0);
            };
            std::vector<const Wound*> together{&all.front()}, alone;
            double k = 1;
            for (std::size_t w = 1; w < all.size(); ++w) {
                const bool with_first = all[w].coupling > 0 && (whole || coupled == 1);
                (with_first ? together : alone).push_back(&all[w]);
                if (with_first && !whole) k = all[w].coupling;
            }
            // the part that is not shared stands before a winding without a tap
            if (k < 1 && together.front()->sections.size() > 1) std::swap(together[0], together[1]);
            if (k < 1 && together.front()->sections.size() > 1) {
                alone.push_back(together[1]);
                together.pop_back();
                k = 1;
            }
            core(together, k);
            for (const Wound* one : alone) core({one}, 1);
        }
    }
    bool on_a_core(int item) const {
        return std::any_of(in_.windings.begin(), in_.windings.end(), [&](const WindingHalf& half) {
            if (half.item != item || half.index >= 0 || half.winding < 0) return false;
            const PartWinding& winding = part(half.part).windings[static_cast<std::size_t>(half.winding)];
            return loose(part(half.part), winding) && henries_of(part(half.part), winding).has_value();
        });
    }

    /// Henries of a coil's item; 0 for one that has none, or is no coil.
    double henries_of(const Item& one) const {
        if (one.part < 0 || one.kind != "resistor" || !loose(part(one.part))) return 0;
        const double whole = part(one.part).henries.value_or(0);
        return part(one.part).leads.size() > 2 ? whole / 2 : whole;  // tapped: two halves, their coupling left out
    }

    void build() {
        circuit::Circuit c;
        placed_.assign(in_.items.size(), -1);
        resistors_.assign(in_.items.size(), -1);
        devices_.assign(in_.items.size(), -1);
        for (std::size_t n = 1; n < in_.node_names.size(); ++n) c.node(in_.node_names[n]);
        for (const Side side : {Side::own, Side::other}) {  // after the set's own nodes, which keep their numbers
            generators_[index_of(side)] = c.node(side == Side::own ? "generator" : "generator of the other side");
            c.conductance(generators_[index_of(side)], circuit::ground, idle_siemens);
        }
        for (std::size_t k = 0; k < in_.items.size(); ++k) {
            const Item& one = in_.items[k];
            const int index = static_cast<int>(k);
            if (one.full < 0) continue;
            if (one.kind == "resistor") {
                if (on_a_core(index)) continue;
                const double ohms = value(index, Slot::ohms), henries = henries_of(one);
                if (henries > 0)
                    c.inductor(one.nodes[0], one.nodes[1], henries, ohms);
                else
                    resistors_[k] = c.resistor(one.nodes[0], one.nodes[1], ohms);
            } else if (one.kind == "gap") {
                c.conductance(one.nodes[0], one.nodes[1], value(index, Slot::siemens));
            } else if (one.kind == "capacitor") {
                placed_[k] =
                    c.capacitor(one.nodes[0], one.nodes[1], value(index, Slot::farads), value(index, Slot::siemens));
            } else if (one.kind == "inductor") {
                c.inductor(one.nodes[0], one.nodes[1], value(index, Slot::henries), value(index, Slot::ohms));
            } else if (one.kind == "voltage-source" || one.kind == "direct-source") {
                c.voltage_source(one.nodes[0], one.nodes[1], circuit::Waveform::constant(0));
            } else if (one.kind == "transformer") {
                std::vector<circuit::Winding> windings;
                for (std::size_t w = 0; 2 * w + 1 < one.nodes.size(); ++w)
                    windings.push_back({one.nodes[2 * w], one.nodes[2 * w + 1], one.values[2 + 2 * w],
                                        value(index, Slot::winding_ohms, static_cast<int>(w))});
                c.transformer(std::move(windings), value(index, Slot::henries), one.values[1]);
            } else if (one.kind == "device" && law_of(one).evaluate != nullptr && !rectifies(index)) {
                std::vector<double> numbers(one.values);
                for (std::size_t n = 0; n < numbers.size(); ++n)
                    numbers[n] = value(index, Slot::parameter, static_cast<int>(n));
                std::vector<Node> nodes = one.nodes;
                if (control_of(plain_law(one)) > 0) nodes[control_of(plain_law(one))] = link(c, index);
                devices_[k] = c.device(law_of(one), nodes, numbers);
            }
        }
        cores(c);
        circuit_ = std::make_unique<circuit::Circuit>(std::move(c));
        engine_ = std::make_unique<circuit::Engine>(*circuit_);
        engine_->tie_islands(true);
        // Only a tube's conductances hang on where it stands, and those on the volts of its nodes alone.
        at_.solved = true;
        at_.unknowns.assign(static_cast<std::size_t>(circuit_->unknowns()), 0.0);
        for (std::size_t n = 1; n < in_.node_names.size(); ++n) at_.unknowns[n - 1] = mean(static_cast<Node>(n));
        for (const Link& one : links_) at_.unknowns[static_cast<std::size_t>(one.tube) - 1] = mean(one.grid);
    }

    /// Of a push-pull pair; what is no pair has its own alone.
    enum class Side { own, other };
    static std::size_t index_of(Side side) { return side == Side::own ? 0 : 1; }
    Node generator(Side side) const { return generators_[index_of(side)]; }

    /// Between a tube and its grid's net.
    struct Link {
        int item = -1;
        Node grid = 0, tube = 0;
        Element live = -1, draws = -1;               ///< to the net; from the net to the cathode, once it is cut
        Element drive[2] = {-1, -1};                 ///< to the generators, then
        std::vector<std::pair<int, Element>> leaks;  ///< resistors from the net to what moves with the cathode, and
                                                     ///< the same from the tube
    };
    Node link(circuit::Circuit& c, int index) {
        const Item& device = item(index);
        Link one;
        one.item = index;
        one.grid = device.nodes[control_of(plain_law(device))];
        one.tube = c.node(device.id + " " + std::to_string(index) + " grid");
        one.live = c.conductance(one.tube, one.grid, link_siemens);
        one.draws = c.conductance(one.grid, device.nodes.back(), 0);
        for (const Side side : {Side::own, Side::other})
            one.drive[index_of(side)] = c.conductance(one.tube, generator(side), 0);
        const std::vector<Node> still = commons();
        const Node cathode = device.nodes.back();
        const std::vector<Node> follows = std::find(still.begin(), still.end(), cathode) != still.end()
                                              ? std::vector<Node>()
                                              : near(cathode, near_ohms, true);
        for (std::size_t k = 0; k < in_.items.size(); ++k) {
            const Item& leak = in_.items[k];
            if (leak.kind != "resistor" || leak.full < 0) continue;
            if (leak.part >= 0 && part(leak.part).kind == PartKind::transformer) continue;
            for (const std::size_t side : {0U, 1U})
                if (leak.nodes[side] == one.grid &&
                    std::find(follows.begin(), follows.end(), leak.nodes[1 - side]) != follows.end())
                    one.leaks.emplace_back(static_cast<int>(k), c.conductance(one.tube, leak.nodes[1 - side], 0));
        }
        links_.push_back(one);
        return one.tube;
    }
    /// The nets that readings, B-minus and the metal are.
    std::vector<Node> commons() const {
        std::vector<Node> out;
        for (const int role : {set_.reference(), set_.nodes().b_minus, set_.nodes().chassis_metal}) {
            const Node at = role < 0 ? circuit::ground : node(role);
            if (std::find(out.begin(), out.end(), at) == out.end()) out.push_back(at);
        }
        return out;
    }

    /// A node and what a resistor of up to so many ohms joins to it; the common nets end there.
    std::vector<Node> near(Node from, double most, bool far) const {
        const std::vector<Node> ends = commons();
        std::vector<Node> out{from};
        for (std::size_t k = 0; k < out.size() && (far || k == 0); ++k) {
            for (std::size_t i = 0; i < in_.items.size(); ++i) {
                const Item& one = in_.items[i];
                if (one.kind != "resistor" || value(static_cast<int>(i), Slot::ohms) > most) continue;
                // the halves of a winding between stages swing against each other
                if (one.part >= 0 && part(one.part).kind == PartKind::transformer) continue;
                for (int side = 0; side < 2; ++side) {
                    const Node to = one.nodes[static_cast<std::size_t>(1 - side)];
                    if (one.nodes[static_cast<std::size_t>(side)] == out[k] &&
                        std::find(ends.begin(), ends.end(), to) == ends.end() &&
                        std::find(out.begin(), out.end(), to) == out.end())
                        out.push_back(to);
                }
            }
        }
        return out;
    }

    /// The tubes on this grid's drive (its own, and those beside it on stoppers) cut from their nets and joined to a
    /// generator.
    std::vector<circuit::Override> generator_at(Node grid, Side side = Side::own) const {
        std::vector<circuit::Override> out;
        const std::vector<Node> own = near(grid, stopper_ohms, false);
        for (const Link& one : links_) {
            const std::vector<Node> its = near(one.grid, stopper_ohms, false);
            if (std::none_of(its.begin(), its.end(),
                             [&](Node at) { return std::find(own.begin(), own.end(), at) != own.end(); }))
                continue;
            const std::size_t at = control_of(plain_law(item(one.item)));
            const std::size_t columns = item(one.item).nodes.size() - 1;
            out.push_back({one.live, Slot::siemens, 0, 0});
            out.push_back({one.draws, Slot::siemens, 0, std::max(0.0, slopes(one.item)[at * columns + at])});
            out.push_back({one.drive[index_of(side)], Slot::siemens, 0, link_siemens});
            // a leak to the cathode's side has the signal at either end: held by the generator, it loads that little
            for (const auto& [leak, from_tube] : one.leaks) {
                const Element at_net = resistors_[static_cast<std::size_t>(leak)];
                if (at_net < 0) continue;
                out.push_back({at_net, Slot::ohms, 0, 1e12});
                out.push_back({from_tube, Slot::siemens, 0, 1 / value(leak, Slot::ohms)});
            }
        }
        return out;
    }

    /// The grid that swings the other way: of the plate at the other end of a push-pull output primary, or at the other
    /// end of the secondary that drives this one. -1: there is none.
    Node opposite(Node grid, Node plate, Node common) {
        const std::vector<Node> own = near(grid, stopper_ohms, false), its_plate = near(plate, stopper_ohms, false);
        const auto among = [](const std::vector<Node>& some, Node at) {
            return std::find(some.begin(), some.end(), at) != some.end();
        };
        const auto found = [&](const Part& one, int from, int to, bool output) -> Node {
            const Node ends[] = {node(one.leads[static_cast<std::size_t>(from)].net),
                                 node(one.leads[static_cast<std::size_t>(to)].net)};
            if (ends[0] <= 0 || ends[1] <= 0 || ends[0] == ends[1]) return -1;
            for (const std::size_t side : {0U, 1U})
                for (const Link& link : links_)
                    if (among(output ? its_plate : own, ends[side]) &&
                        among(near(output ? item(link.item).nodes.front() : link.grid, stopper_ohms, false),
                              ends[1 - side]) &&
                        !among(own, link.grid) && !grounded(link.grid, common, audio_hertz))
                        return link.grid;
            return -1;
        };
        for (const Part& one : set_.parts()) {
            if (one.kind != PartKind::transformer) continue;
            for (const auto& [from, to] : opposite_ends(one))
                if (const Node other = found(one, from, to, true); other > 0) return other;
            for (const PartWinding& winding : one.windings)
                if (winding.role == WindingRole::interstage_secondary && winding.leads.size() == 3)
                    if (const Node other = found(one, winding.leads.front(), winding.leads.back(), false); other > 0)
                        return other;
        }
        return -1;
    }

    /// A cathode and what is its own copper: a filament, its winding and the tap of that.
    std::vector<Node> filament(Node cathode) const {
        const std::vector<Node> ends = commons();
        std::vector<Node> out{cathode};
        for (std::size_t k = 0; k < out.size(); ++k)
            for (std::size_t i = 0; i < in_.items.size(); ++i) {
                const Item& one = in_.items[i];
                if (one.kind != "transformer" && one.kind != "resistor") continue;
                for (std::size_t n = 0; n < one.nodes.size(); ++n) {
                    const Node to = one.nodes[n ^ 1U];
                    if (one.nodes[n] != out[k] || std::find(ends.begin(), ends.end(), to) != ends.end() ||
                        std::find(out.begin(), out.end(), to) != out.end())
                        continue;
                    const double ohms = one.kind == "resistor"
                                            ? value(static_cast<int>(i), Slot::ohms)
                                            : value(static_cast<int>(i), Slot::winding_ohms, static_cast<int>(n / 2));
                    if (ohms < joined_ohms) out.push_back(to);
                }
            }
        return out;
    }

    /// Every capacitor that bypasses a cathode open: on its own net, or behind a few ohms of it. What holds B-plus does
    /// so still.
    std::vector<circuit::Override> without_bypass(Node cathode) const {
        std::vector<circuit::Override> out;
        const std::vector<Node> own = filament(cathode);
        std::vector<Node> about;
        for (const Node at : own)
            for (const Node beside : near(at, near_ohms, true)) about.push_back(beside);
        for (std::size_t k = 0; k < in_.items.size(); ++k) {
            const Item& one = in_.items[k];
            if (placed_[k] < 0 || one.part < 0) continue;
            const auto on = [&](const std::vector<Node>& nodes) {
                return std::any_of(one.nodes.begin(), one.nodes.end(),
                                   [&](Node at) { return std::find(nodes.begin(), nodes.end(), at) != nodes.end(); });
            };
            const Part& capacitor = part(one.part);
            const bool supply = capacitor.polarised && capacitor.rated_volts.value_or(0) > supply_rating;
            if (on(own) || (!supply && on(about))) out.push_back({placed_[k], Slot::farads, 0, 0});
        }
        return out;
    }
    /// Every other tube dead, but those on the same cathode: what a later one feeds back to it is none of its own bias.
    std::vector<circuit::Override> others_dead(Node cathode) const {
        std::vector<circuit::Override> out;
        for (std::size_t k = 0; k < in_.items.size(); ++k)
            if (devices_[k] >= 0 && in_.items[k].nodes.back() != cathode)
                out.push_back({devices_[k], Slot::parameter, 0, 0});
        return out;
    }
    bool rectifies(int k) const {
        return std::any_of(in_.tubes.begin(), in_.tubes.end(), [&](const Tube& tube) {
            return std::any_of(tube.sections.begin(), tube.sections.end(),
                               [&](const Section& section) { return section.rectifies && section.item == k; });
        });
    }

    Volts driven(Node from, Node into, double hertz, std::span<const circuit::Override> changed = {}) {
        const auto found = engine_->small_signal(at_, from, into, hertz, changed);
        Volts out;
        out.reserve(found.size());
        for (const auto& one : found) out.emplace_back(one.real, one.imaginary);
        return out;
    }
    Complex impedance(Node a, Node b, double hertz) {
        const Volts v = driven(b, a, hertz);
        return v.empty() ? Complex(0) : v[static_cast<std::size_t>(a)] - v[static_cast<std::size_t>(b)];
    }

    // ---- stages

    /// Where the stage's signals return to: of the nets that readings, B-minus and the metal are, the one that its
    /// cathode is nearest to.
    Node common_of(Node cathode) {
        Node best = circuit::ground;
        double least = -1;
        for (const Node at : commons()) {
            const double ohms = at == cathode ? 0 : std::abs(impedance(cathode, at, audio_hertz));
            if (least < 0 || ohms < 0.5 * least) {
                best = at;
                least = ohms;
            }
        }
        return best;
    }

    static double with_sign(Complex ratio) { return ratio.real() < 0 ? -std::abs(ratio) : std::abs(ratio); }

    void stage(const Tube& tube, const Section& section, SmallSignal& out) {
        const Item& device = item(section.item);
        const std::string law = plain_law(device);
        const Part& socket = part(tube.part);
        const bool mixes = law == "converter" || law == "pentagrid";
        if (unwired(section)) return;
        if ((!amplifies(law) && !mixes) || (socket.type != nullptr && starts(socket.type->tube_class, "eye"))) return;
        StageGain row;
        row.part = tube.part;
        row.section = section.name;
        const std::size_t grid_at = control_of(law);
        const Node grid = section.electrodes[grid_at].node, plate = section.electrodes.front().node;
        const Node cathode = section.electrodes.back().node;
        row.from_net = net(grid);
        row.to_net = net(plate);
        conductances(section, grid_at, row);
        row.why_not = mixes ? "a converter: what it gains is a matter of its oscillation, not of small signals"
                            : measure(grid, plate, cathode, row);
        out.stages.push_back(std::move(row));
    }

    /// Nothing but its own pins is on the nets of its electrodes: it is not used, or not traced.
    bool unwired(const Section& section) const {
        return std::all_of(section.electrodes.begin(), section.electrodes.end(), [&](const Electrode& one) {
            const int on = net(one.node);
            return on < 0 || set_.nets()[static_cast<std::size_t>(on)].leads.size() < 2;
        });
    }

    /// d i / d v of a device where it stands.
    std::vector<double> slopes(int index) const {
        const Item& device = item(index);
        const circuit::Law law = law_of(device);
        const std::size_t columns = device.nodes.size() - 1;
        std::vector<double> numbers(device.values), v(columns), i(columns), g(columns * columns);
        for (std::size_t n = 0; n < numbers.size(); ++n)
            numbers[n] = value(index, Slot::parameter, static_cast<int>(n));
        for (std::size_t n = 0; n < columns; ++n) v[n] = mean(device.nodes[n]) - mean(device.nodes.back());
        law.evaluate(numbers.data(), v.data(), i.data(), g.data());
        return g;
    }

    /// gm and rp where the section stands.
    void conductances(const Section& section, std::size_t grid_at, StageGain& row) const {
        const std::vector<double> g = slopes(section.item);
        row.gm_siemens = g[grid_at];
        if (g[0] > 0) row.rp_ohms = 1 / g[0];
    }

    static std::string no_load(const Coil& coil) {
        return "its plate load " + coil.name + " is " +
               (coil.between_stages ? "an interstage winding" : "a coil of radio frequency") +
               (coil.henries ? ", and nothing tunes it" : ", and its henries are not in the file");
    }

    /// The plate stands on a supply, and the coil leads from there to the plate of another tube.
    bool feeds_another(const Coil& coil, Node plate, Node common) {
        constexpr double quieter = 3;  // of the ohms at either end: the tube beside its coil takes less of them away
        const Node far = coil.a == plate ? coil.b : coil.a;
        return plate != common && far != common &&
               impedance(far, common, audio_hertz).real() > quieter * impedance(plate, common, audio_hertz).real();
    }

    bool grounded(Node grid, Node common, double hertz) {
        return grid == common || std::abs(impedance(grid, common, hertz)) < grounded_ohms;
    }

    /// A push-pull pair with a generator at either grid: the volts that one ampere into each gives, and the amperes
    /// that hold one grid a volt up and the other a volt down. Both grids are held, so that nothing that is fed back
    /// from the output to the stages before comes round to them.
    struct Pair {
        Volts volts[2];
        Complex amps[2];
    };
    Pair driven_pair(Node grid, Node other, Node common, double hertz) {
        std::vector<circuit::Override> held = generator_at(grid);
        const std::vector<circuit::Override> beside = generator_at(other, Side::other);
        held.insert(held.end(), beside.begin(), beside.end());
        Pair out;
        for (const Side side : {Side::own, Side::other})
            out.volts[index_of(side)] = driven(common, generator(side), hertz, held);
        if (out.volts[0].empty() || out.volts[1].empty()) return {};
        const auto at = [&](Side driven_one, Side read) {
            const Volts& of = out.volts[index_of(driven_one)];
            return of[static_cast<std::size_t>(generator(read))] - of[static_cast<std::size_t>(common)];
        };
        const Complex a = at(Side::own, Side::own), b = at(Side::other, Side::own), c = at(Side::own, Side::other),
                      d = at(Side::other, Side::other), whole = a * d - b * c;
        if (std::abs(whole) == 0) return {};
        out.amps[0] = (d + b) / whole;
        out.amps[1] = -(a + c) / whole;
        return out;
    }

    std::string measure(Node grid, Node plate, Node cathode, StageGain& row) {
        if (row.gm_siemens.value_or(0) < dead_siemens) return "it passes nothing here";
        row.hertz = audio_hertz;
        const Node common = common_of(cathode);
        for (const Coil& coil : coils_) {
            if ((coil.a != plate && coil.b != plate) || feeds_another(coil, plate, common)) continue;
            if (coil.between_stages && coil.henries) continue;  // a load for audio that the equations hold
            const auto found =
                std::find_if(rings_.begin(), rings_.end(), [&](const auto& one) { return one.first == &coil; });
            if (found != rings_.end()) {
                row.hertz = found->second;
                break;
            }
            // A choke or a tickler on the way to a load for audio does not matter; one whose far end is quiet is the
            // load.
            const Node far = coil.a == plate ? coil.b : coil.a;
            if (far != common && std::abs(impedance(far, common, audio_hertz)) > audio_load_ohms) continue;
            // a choke before an interstage winding is not what is missed
            const auto behind = std::find_if(coils_.begin(), coils_.end(), [&](const Coil& one) {
                return one.between_stages && &one != &coil && (one.a == far || one.b == far) &&
                       !feeds_another(one, far, common);
            });
            return no_load(behind == coils_.end() ? coil : *behind);
        }
        if (grounded(grid, common, row.hertz)) return "its grid stands on the common net: it is driven elsewhere";
        std::vector<circuit::Override> held = generator_at(grid);
        const Node own = generator(Side::own);
        const Volts v = driven(common, own, row.hertz, held), back = driven(common, plate, row.hertz);
        const Node other = opposite(grid, plate, common);
        const Pair pair = other > 0 ? driven_pair(grid, other, common, row.hertz) : Pair();
        // what bypasses a cathode shows where nothing is fed back to it
        for (const circuit::Override& one : others_dead(cathode)) held.push_back(one);
        const Volts single = driven(common, own, row.hertz, held);
        const std::vector<circuit::Override> opened = without_bypass(cathode);
        held.insert(held.end(), opened.begin(), opened.end());
        const Volts bare = opened.empty() ? single : driven(common, own, row.hertz, held);
        if (v.empty() || single.empty() || bare.empty() || back.empty() || (other > 0 && pair.volts[0].empty()))
            return "the equations of small signals have no solution";
        if (other > 0) row.against_net = net(other);
        const auto between = [&](const Volts& of, Node at) {
            return of[static_cast<std::size_t>(at)] - of[static_cast<std::size_t>(common)];
        };
        const auto alone = [&](const Volts& of, Node at) { return between(of, at) / between(of, own); };
        const auto over = [&](Node at) {
            if (other <= 0) return alone(v, at);
            return pair.amps[0] * between(pair.volts[0], at) + pair.amps[1] * between(pair.volts[1], at);
        };
        const Complex at_plate = over(plate), at_cathode = over(cathode);
        // and where no other tube on it swings the other way
        const double follows = std::abs(alone(single, cathode)), unaided = std::abs(alone(bare, cathode));
        constexpr double share = 0.1;
        row.cathode_gain = with_sign(at_cathode);
        row.cathode = unaided < 0.005                   ? "at common"
                      : follows < share * unaided       ? "bypassed"
                      : follows > (1 - share) * unaided ? "not bypassed"
                                                        : "partly bypassed";
        const double leaves = std::abs(at_cathode);
        const bool follower = leaves > share && std::abs(at_plate) < 2 * share * leaves;
        if (follower) row.to_net = net(cathode);
        row.gain = with_sign(follower ? at_cathode : at_plate);
        const auto ohms = [&](const Volts& of, Node at) {
            return std::abs(of[static_cast<std::size_t>(at)] - of[static_cast<std::size_t>(common)]);
        };
        row.plate_source_ohms = ohms(back, plate);
        row.source_ohms = follower ? std::abs(impedance(cathode, common, row.hertz)) : *row.plate_source_ohms;
        return "";
    }

    void overall(SmallSignal& out) {
        for (std::size_t p = 0; p < set_.parts().size(); ++p) {
            const Part& control = set_.parts()[p];
            const int wiper = control.lead("wiper");
            if (control.kind != PartKind::control || control.role != "volume" || wiper < 0) continue;
            const int from_net = control.leads[static_cast<std::size_t>(wiper)].net;
            const Node from = node(from_net);
            const auto row = [&](Node to, Node against) {
                OverallGain one;
                one.part = static_cast<int>(p);
                one.from_net = from_net;
                one.to_net = net(to);
                one.hertz = audio_hertz;
                const Volts v = from <= 0 ? Volts() : driven(circuit::ground, from, audio_hertz);
                if (v.empty() || std::abs(v[static_cast<std::size_t>(from)]) < grounded_ohms) {
                    one.why_not = "its wiper stands on the common net";
                } else {
                    const double gain =
                        with_sign((v[static_cast<std::size_t>(to)] - v[static_cast<std::size_t>(against)]) /
                                  v[static_cast<std::size_t>(from)]);
                    if (std::fabs(gain) >= least_gain)
                        one.gain = gain;
                    else
                        one.why_not = "nothing of 1 kc gets from it to there by what the file holds";
                }
                out.overall.push_back(std::move(one));
            };
            for (const Tube& tube : in_.tubes) {
                const Part& socket = part(tube.part);
                const bool power = socket.type != nullptr && socket.type->tube_class.find("power") != std::string::npos;
                for (const Section& section : tube.sections)
                    if (power && amplifies(plain_law(item(section.item))))
                        row(section.electrodes.front().node, circuit::ground);
            }
            const std::vector<Node> ends = commons();
            for (const Output& one : in_.outputs) {
                // named after the end that is not the one that readings are taken from
                const bool turned = std::find(ends.begin(), ends.end(), one.from) != ends.end();
                const Node to = turned ? one.to : one.from, against = turned ? one.from : one.to;
                if (net(to) >= 0) row(to, against);
            }
        }
    }

    // ---- tuned circuits

    /// The capacitors of the set as conductances, wires as wires, all else open: what is across a coil is what a
    /// current through this net sees.
    static constexpr double per_farad = 1e9;  // siemens: 100 mmf as 10 ohm
    void build_capacitors() {
        circuit::Circuit c;
        for (std::size_t n = 1; n < in_.node_names.size(); ++n) {
            const Node at = c.node(in_.node_names[n]);
            c.conductance(at, circuit::ground, 1e-9);
        }
        elements_.assign(in_.items.size(), -1);
        for (std::size_t k = 0; k < in_.items.size(); ++k) {
            const Item& one = in_.items[k];
            if (one.full < 0) continue;
            const bool coil = one.part >= 0 && (loose(part(one.part)) || part(one.part).kind == PartKind::transformer);
            if (one.kind == "capacitor") {
                elements_[k] =
                    c.conductance(one.nodes[0], one.nodes[1], per_farad * value(static_cast<int>(k), Slot::farads));
            } else if (one.kind == "resistor" && !coil && value(static_cast<int>(k), Slot::ohms) < joined_ohms) {
                c.conductance(one.nodes[0], one.nodes[1], 1e6);
            } else if (one.kind == "voltage-source" || one.kind == "direct-source") {
                c.conductance(one.nodes[0], one.nodes[1], 1e6);
            }
        }
        capacitors_ = std::make_unique<circuit::Circuit>(std::move(c));
        across_ = std::make_unique<circuit::Engine>(*capacitors_);
        across_->tie_islands(true);
        rest_.solved = true;
        rest_.unknowns.assign(static_cast<std::size_t>(capacitors_->unknowns()), 0.0);
    }

    /// Farads across a coil, with some capacitors changed; `carrying` gets the items that hold them.
    double farads_across(const Coil& coil, std::span<const circuit::Override> changed, std::vector<int>* carrying) {
        const auto v = across_->small_signal(rest_, coil.b, coil.a, audio_hertz, changed);
        if (v.empty()) return 0;
        const auto between = [&](Node a, Node b) {
            return v[static_cast<std::size_t>(a)].real - v[static_cast<std::size_t>(b)].real;
        };
        const double volts = between(coil.a, coil.b);
        for (std::size_t k = 0; carrying != nullptr && k < elements_.size(); ++k) {
            const Item& one = in_.items[k];
            if (elements_[k] < 0) continue;
            const double own = between(one.nodes[0], one.nodes[1]);
            const double siemens = per_farad * value(static_cast<int>(k), Slot::farads);
            if (siemens * own * own > carries * volts) carrying->push_back(static_cast<int>(k));
        }
        return 1 / (volts * per_farad);
    }

    void tuned(SmallSignal& out) {
        for (const Coil& coil : coils_) {
            if (coil.between_stages) continue;
            std::vector<int> held;
            const double farads = farads_across(coil, {}, &held);
            if (!(farads > least_tuned && farads < most_tuned)) continue;
            TunedCircuit row;
            row.part = coil.part;
            row.coil = coil.name;
            row.henries = coil.henries;
            row.farads = farads;
            // The other end of what turns, where the file has it.
            std::vector<circuit::Override> least;
            std::string half_known;
            for (const int k : held) {
                const Part& one = part(item(k).part);
                row.capacitors.push_back(item(k).part);
                const Outcome<CapacitorPrint> range = read_capacitor(one.documented.str());
                if (range && range->least)
                    least.push_back(
                        {elements_[static_cast<std::size_t>(k)], Slot::siemens, 0, per_farad * *range->least});
                else if (one.construction == "air-variable" || one.construction == "mica-trimmer")
                    half_known += (half_known.empty() ? "" : ", ") + one.id;
            }
            std::sort(row.capacitors.begin(), row.capacitors.end());
            if (!least.empty()) row.least_farads = farads_across(coil, least, nullptr);
            if (coil.henries && *coil.henries > 0) {
                row.resonance_hertz = thomson(*coil.henries, farads);
                if (row.least_farads) row.resonance_high_hertz = thomson(*coil.henries, *row.least_farads);
                ring(coil, row);
                if (!half_known.empty()) row.why_not = "the file has one end only of the range of " + half_known;
            } else {
                row.why_not = "the henries of " + coil.name + " are not in the file";
                if (coil.kilohertz)
                    row.wanted_henries = 1 / (std::pow(2 * std::numbers::pi * *coil.kilohertz * 1e3, 2) * farads);
            }
            out.tuned.push_back(std::move(row));
        }
    }

    static double thomson(double henries, double farads) {
        return 1 / (2 * std::numbers::pi * std::sqrt(henries * farads));
    }

    /// The peak of the impedance across the coil, with all that loads it, and its width 3 dB down.
    void ring(const Coil& coil, TunedCircuit& row) {
        const double centre = *row.resonance_hertz;
        const auto size = [&](double hertz) { return std::abs(impedance(coil.a, coil.b, hertz)); };
        constexpr double golden = 0.6180339887498949;
        double low = 0.7 * centre, high = 1.4 * centre;
        double x1 = high - golden * (high - low), x2 = low + golden * (high - low);
        double f1 = size(x1), f2 = size(x2);
        for (int k = 0; k < 45; ++k) {
            if (f1 > f2) {
                high = x2;
                x2 = x1;
                f2 = f1;
                x1 = high - golden * (high - low);
                f1 = size(x1);
            } else {
                low = x1;
                x1 = x2;
                f1 = f2;
                x2 = low + golden * (high - low);
                f2 = size(x2);
            }
        }
        const double peak = 0.5 * (low + high), most = size(peak);
        if (!(most > 0) || peak < 0.71 * centre || peak > 1.39 * centre) return;
        row.solved_hertz = peak;
        row.peak_ohms = most;
        rings_.emplace_back(&coil, peak);
        const auto edge = [&](double outside) {
            double inner = peak, outer = outside;
            if (size(outer) > most * std::numbers::sqrt2 / 2) return -1.0;
            for (int k = 0; k < 45; ++k) {
                const double middle = 0.5 * (inner + outer);
                (size(middle) > most * std::numbers::sqrt2 / 2 ? inner : outer) = middle;
            }
            return 0.5 * (inner + outer);
        };
        const double below = edge(0.5 * peak), above = edge(2 * peak);
        if (below > 0 && above > 0) row.q = peak / (above - below);
    }

    const Translation& in_;
    const Chassis& set_;
    const Solved& solved_;
    std::vector<Coil> coils_;
    std::vector<std::pair<const Coil*, double>> rings_;
    std::unique_ptr<circuit::Circuit> circuit_, capacitors_;
    std::unique_ptr<circuit::Engine> engine_, across_;
    circuit::Operating at_, rest_;
    std::vector<circuit::Element> elements_;
    std::vector<Link> links_;
    Node generators_[2] = {0, 0};
    std::vector<Element> resistors_;  ///< in the circuit of small signals, by item
    std::vector<Element> placed_;     ///< capacitors in the circuit of small signals, by item
    std::vector<Element> devices_;    ///< tubes in it, by item
};

}  // namespace

SmallSignal small_signal_of(const Translation& in, const Chassis& set, const Solved& solved,
                            const Condition& condition) {
    return Signals(in, set, solved).all(condition);
}

}  // namespace tubewright::bench
