// SPDX-License-Identifier: MIT
// solve_mutations --seed N --count N [--full N] FILE...: sets with one value a tenth to ten times what it was, or one
// part opened or shorted, and how many of them are solved or say why not. Checks of what is solved: no figure that is
// no number, and for one in twenty (--full 4: one in four), solved in full, Kirchhoff's balance and a second start
// point; of a fault the second start is the quick solution, from the sound set's. Ends with 1 when more than one in two
// hundred has no answer and no reason, or a check fails.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <map>
#include <memory>
#include <stdexcept>

#include <tubewright/netlist.hpp>

#include "bench/bench.hpp"
#include "generator.hpp"

using namespace tubewright;

namespace {

/// What a two-level answer may leave at a net before it is shot whole.
constexpr double most_stray_amps = 1e-6;

bool two_ended(const Part& part) {
    return part.leads.size() == 2 && part.leads[0].net >= 0 && part.leads[1].net >= 0 &&
           part.leads[0].net != part.leads[1].net &&
           (part.kind == PartKind::resistor || part.kind == PartKind::capacitor || part.kind == PartKind::coil ||
            part.kind == PartKind::lamp || part.kind == PartKind::rectifier);
}

/// Open and short of every two-ended part, in their order.
std::vector<Fault> faults_of(const Chassis& set) {
    std::vector<Fault> all;
    for (std::size_t p = 0; p < set.parts().size(); ++p)
        for (const FaultMode mode : {FaultMode::open, FaultMode::short_circuit}) {
            if (!two_ended(set.parts()[p])) continue;
            Fault fault;
            fault.id = set.parts()[p].id + " " + word(mode);
            fault.part = static_cast<int>(p);
            fault.mode = mode;
            all.push_back(fault);
        }
    return all;
}

bool finite(const Solution& s) {
    for (const NetVolts& net : s.nets)
        if (!std::isfinite(net.dc.value()) || !std::isfinite(net.crest.value())) return false;
    for (const Branch& branch : s.branches)
        if (!std::isfinite(branch.dc.value()) || !std::isfinite(branch.rms.value())) return false;
    return true;
}

/// The first net at which two solutions of one circuit differ; empty when at none. The edges of a vibrator ring, and
/// its quick solution has half the steps for them: what nothing loads stands lower there.
std::string differs_at(const Chassis& set, const Solution& quick, const Solution& full) {
    const bool edges = std::any_of(set.parts().begin(), set.parts().end(),
                                   [](const Part& part) { return part.kind == PartKind::vibrator; });
    const double share = edges ? 0.15 : 0.01, volts = 0.05;
    for (std::size_t n = 0; n < full.nets.size(); ++n) {
        if (quick.nets[n].undetermined || full.nets[n].undetermined) continue;
        const double a = quick.nets[n].dc.value(), b = full.nets[n].dc.value();
        if (std::fabs(a - b) > volts + share * std::fabs(b))
            return fmt::format("{} {:.4g} V and {:.4g} V", full.nets[n].name, a, b);
    }
    return {};
}

/// The words of a solver that gave up; anything else names what has no solution.
bool gave_up(const std::string& why) {
    for (const char* words : {"no periodic steady state", "no operating point", "do not settle", "no steady state"})
        if (why.find(words) != std::string::npos) return true;
    return why.empty();
}

}  // namespace

int main(int count, char** words) {
    std::uint64_t seed = 1;
    int wanted = 10000, full_every = 20;
    std::vector<std::string> paths;
    for (int i = 1; i < count; ++i) {
        const std::string word = words[i];
        if (word == "--seed" && i + 1 < count)
            seed = std::strtoull(words[++i], nullptr, 10);
        else if (word == "--count" && i + 1 < count)
            wanted = std::atoi(words[++i]);
        else if (word == "--full" && i + 1 < count)
            full_every = std::max(1, std::atoi(words[++i]));
        else
            paths.push_back(word);
    }
    const Catalogue catalogue = Catalogue::shipped();
    struct Subject {
        Chassis set;
        std::vector<Fault> faults;
        Bench bench;
        int weight;
    };
    std::vector<Subject> subjects;
    for (const std::string& path : paths) {
        const Outcome<Chassis> set = read_chassis(path, catalogue);
        if (!set) return fmt::print(stderr, "{}\n", set.notices().front().text()), 3;
        std::vector<Fault> faults = faults_of(*set);
        Outcome<Bench> bench = Bench::make(*set, catalogue, {}, faults);
        if (!bench) return fmt::print(stderr, "{}: {}\n", path, bench.notices().front().text()), 4;
        // large sets take long, and are the same circuits again
        const int weight = set->parts().size() > 300 ? 1 : 20;
        subjects.push_back({*set, std::move(faults), std::move(*bench), weight});
    }
    std::vector<std::size_t> lots;
    for (std::size_t s = 0; s < subjects.size(); ++s)
        lots.insert(lots.end(), static_cast<std::size_t>(subjects[s].weight), s);
    if (lots.empty()) return fmt::print(stderr, "name a file\n"), 2;
    generate::Dice dice(seed);
    int solved = 0, named = 0, unsolved = 0, wrong = 0, in_full = 0;
    double worst_kcl = 0;
    std::map<std::string, int> open_cases;
    for (int done = 0; done < wanted; ++done) {
        Subject& subject = subjects[lots[dice.below(lots.size())]];
        const std::vector<Part>& parts = subject.set.parts();
        const bool full = done % full_every == 0;
        std::string what, why;
        bool ok = false;
        Solution solution;
        try {
            if (dice.chance(0.5) && !subject.faults.empty()) {
                const Fault& fault = subject.faults[dice.below(subject.faults.size())];
                what = fault.id;
                subject.bench.set_values({});
                FaultSolution found = subject.bench.solve({}, std::span(&fault, 1), false);
                ok = found.solved;
                why = found.why;
                solution = std::move(found.solution);
                if (full && ok) {
                    const FaultSolution whole = subject.bench.solve({}, std::span(&fault, 1), true);
                    const std::string apart = whole.solved ? differs_at(subject.set, solution, whole.solution)
                                                           : "no solution in full: " + whole.why;
                    ++in_full;
                    worst_kcl = std::max(worst_kcl, whole.solution.solver.worst_kcl_amps);
                    if (!(whole.solution.solver.worst_kcl_amps <= most_stray_amps) || !apart.empty()) {
                        ++wrong;
                        fmt::print("{} {}: balance {:.2g} A at {}; {}\n", subject.set.name(), what,
                                   whole.solution.solver.worst_kcl_amps, whole.solution.solver.worst_kcl_net,
                                   apart.empty() ? "the quick one agrees" : apart);
                    }
                }
            } else {
                const std::size_t p = dice.below(parts.size());
                const char* name = parts[p].ohms      ? "ohms"
                                   : parts[p].farads  ? "farads"
                                   : parts[p].henries ? "henries"
                                                      : nullptr;
                if (name == nullptr) {
                    --done;
                    continue;
                }
                const double was = parts[p].ohms     ? *parts[p].ohms
                                   : parts[p].farads ? *parts[p].farads
                                                     : *parts[p].henries;
                const double factor = std::pow(10.0, -1 + 2 * static_cast<double>(dice.below(1000)) / 999);
                what = parts[p].id + " x" + fmt::format("{:.3g}", factor);
                const std::pair<std::string, std::pair<std::string, double>> value{parts[p].id, {name, was * factor}};
                subject.bench.set_values(std::span(&value, 1));
                if (full) {
                    Outcome<Solution> found = subject.bench.solve({});
                    ok = found.has_value();
                    if (ok) solution = *found;
                    if (!ok) why = found.notices().front().message;
                    if (ok) {
                        ++in_full;
                        worst_kcl = std::max(worst_kcl, solution.solver.worst_kcl_amps);
                        if (!(solution.solver.worst_kcl_amps <= most_stray_amps) ||
                            !solution.solver.start_points_agree) {
                            ++wrong;
                            fmt::print("{} {}: balance {:.2g} A at {}, second start {}\n", subject.set.name(), what,
                                       solution.solver.worst_kcl_amps, solution.solver.worst_kcl_net,
                                       solution.solver.start_points_agree ? "agrees" : "differs");
                        }
                    }
                } else {
                    FaultSolution found = subject.bench.solve({}, {}, false);
                    ok = found.solved;
                    why = found.why;
                    solution = std::move(found.solution);
                }
            }
        } catch (const std::logic_error& broken) {  // a balance that the build holds every solution to
            ++wrong;
            fmt::print("{} {}: {}\n", subject.set.name(), what, broken.what());
            continue;
        }
        if (ok && !finite(solution)) {
            ++wrong;
            fmt::print("{} {}: a figure that is no number\n", subject.set.name(), what);
        }
        if (ok) {
            ++solved;
        } else if (gave_up(why)) {
            ++unsolved;
            fmt::print("{} {}: {}\n", subject.set.name(), what, why);
        } else {
            ++named;
        }
    }
    fmt::print(
        "seed {}: {} cases, {} solved, {} with a named reason, {} without an answer ({:.2f} %, bar .5); {} solved in "
        "full, worst balance {:.1e} A; {} wrong\n",
        seed, wanted, solved, named, unsolved, 100.0 * unsolved / wanted, in_full, worst_kcl, wrong);
    return 200 * unsolved > wanted || wrong > 0 ? 1 : 0;
}
