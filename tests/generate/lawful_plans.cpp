// SPDX-License-Identifier: MIT
// lawful_plans --seed N --count N: invented sets of nine families, some with a burnt resistor, an earth wire or a
// renewed coupler, each planned under random settings, interrupted by random logs and evenings, and every sequence of
// acts held against the checker of the rules, which knows nothing of the planner. Then, rule by rule: the arrows of
// that rule taken out, the steps ordered anew, and how often the rule bound. Risks are made from ages, so nothing is
// solved. Prints the table; ends with 1 when a hard rule is broken, when one binds on less than one in twenty of the
// sets that it applies to, or when the checker does not notice that a rule was left out.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <map>
#include <optional>
#include <set>

#include <tubewright/netlist.hpp>
#include <tubewright/record.hpp>

#include "generator.hpp"
#include "order/order.hpp"
#include "order/sequence.hpp"

using namespace tubewright;

namespace {

const Catalogue& shipped() {
    static const Catalogue catalogue = Catalogue::shipped();
    return catalogue;
}

/// A set with what a person might have found: a burnt resistor, an earth on the metal.
std::optional<Chassis> invented(generate::Dice& dice) {
    const std::string family(generate::families()[dice.below(generate::families().size())]);
    const int tubes = 4 + static_cast<int>(dice.below(9));
    std::string text = generate::chassis_text(shipped(), {dice.next() % 1000000, tubes, family});
    const std::size_t end = text.rfind("</chassis>");
    constexpr std::string_view metal = "<node is=\"chassis-metal\" net=\"";
    if (const std::size_t at = text.find(metal); at != std::string::npos && family != "vehicle" && dice.chance(0.3)) {
        const std::size_t from = at + metal.size();
        text.insert(end,
                    fmt::format("  <node is=\"earth\" net=\"house\"/>\n  <wire id=\"W99\" from=\"house\" to=\"{}\" "
                                "construction=\"plastic\"/>\n",
                                text.substr(from, text.find('"', from) - from)));
    }
    if (dice.chance(0.3)) {
        std::vector<std::size_t> resistors;
        for (std::size_t at = text.find("<resistor "); at != std::string::npos; at = text.find("<resistor ", at + 1))
            if (text.substr(at, text.find('>', at) - at).find("seen=") == std::string::npos) resistors.push_back(at);
        if (!resistors.empty()) text.insert(resistors[dice.below(resistors.size())] + 10, "seen=\"burnt\" ");
    }
    // a tube that was found bad is bought anew, and waits in its box for its stage
    if (dice.chance(0.3)) {
        std::vector<std::size_t> sockets;
        for (std::size_t at = text.find("<socket "); at != std::string::npos; at = text.find("<socket ", at + 1))
            if (text.substr(at, text.find('>', at) - at).find("seen=") == std::string::npos) sockets.push_back(at);
        if (!sockets.empty())
            text.insert(sockets[dice.below(sockets.size())] + 8,
                        dice.chance(0.5) ? "seen=\"open\" " : "seen=\"gassy\" ");
    }
    // an output coupler that was renewed once is proved, not replaced: no danger of its own brings that early
    if (dice.chance(0.3)) {
        constexpr std::string_view film = "construction=\"film\" ";
        for (const std::string_view coupler : {"value=\".01 mfd\" volts=\"600\"", "value=\".02 mfd\" volts=\"600\""})
            for (std::size_t at = text.find(coupler); at != std::string::npos;
                 at = text.find(coupler, at + film.size() + 1))
                text.insert(at, film);
    }
    const Outcome<Chassis> set = read_chassis_text(text, "invented", shipped());
    if (set) return *set;
    fmt::print("{}: {}\n", family, set.notices().front().text());
    return std::nullopt;
}

Policy random_policy(generate::Dice& dice) {
    Policy policy;
    policy.replace = static_cast<ReplacePolicy>(dice.below(3));
    policy.places = static_cast<PlacePolicy>(dice.below(2));
    policy.cans = static_cast<CanPolicy>(dice.below(2));
    policy.electrolytics = dice.chance(0.2) ? FilterPolicy::reform : FilterPolicy::renew;
    policy.purpose = dice.chance(0.05) ? PurposePolicy::preserve : PurposePolicy::play;
    return policy;
}

/// Risk by age, scattered over six decades.
ThreatReport risks_of(const Chassis& set, const std::vector<PartAction>& actions, generate::Dice& dice) {
    ThreatReport report;
    for (const PartAction& action : actions) {
        Threat threat;
        threat.part = set.parts()[static_cast<std::size_t>(action.part)].id;
        threat.fault.id = threat.part + " short";
        threat.fault.part = action.part;
        threat.criticality =
            action.risk.failures_per_million_hours / 1e6 * std::pow(10.0, static_cast<double>(dice.below(600)) / 100);
        // of tubes the faults of rectifiers and output tubes harm others; of all faults some harm nothing
        const TubeType* type = set.parts()[static_cast<std::size_t>(action.part)].type;
        const bool quiet = type && !type->is_rectifier() && type->tube_class.find("power") == std::string::npos;
        threat.severity = quiet || dice.chance(0.5) ? "IV" : "II";
        report.rows.push_back(threat);
    }
    return report;
}

struct Planned {
    const Chassis& set;
    Policy policy;
    std::uint64_t seed;  ///< of the risks, so that they stay the same from evening to evening

    Outcome<RepairOrder> plan(const Progress& progress, StepOptions options = {}) const {
        generate::Dice dice(seed);
        const std::vector<PartAction> actions = actions_of(set, shipped(), policy, {}, progress);
        const ShoppingList list = shopping_list(set, shipped(), policy, {}, actions, {}, progress);
        return steps_of(set, shipped(), policy, actions, list, risks_of(set, actions, dice), {}, progress, options);
    }
};

/// Hard rules that the acts break; empty when none.
std::map<std::string, std::string> broken(const Chassis& set, const std::vector<Act>& acts,
                                          const Progress& progress = {}) {
    std::map<std::string, std::string> rules;
    for (const Violation& v : violations(set, shipped(), acts, progress))
        if (v.hard)
            rules.emplace(v.rule, fmt::format("{} (act {}: {} {})", v.why, v.act,
                                              word(acts[static_cast<std::size_t>(v.act)].kind),
                                              acts[static_cast<std::size_t>(v.act)].parts.empty()
                                                  ? ""
                                                  : acts[static_cast<std::size_t>(v.act)].parts.front()));
    return rules;
}

std::vector<Act> acts_of(const std::vector<RepairStep>& steps) {
    std::vector<Act> acts;
    for (const RepairStep& s : steps) acts.insert(acts.end(), s.acts.begin(), s.acts.end());
    return acts;
}

bool feeds_the_set(const RepairStep& s) {
    return s.step == "power-up" || s.step == "transformer-alone" || s.step == "vibrator-alone";
}

/// Evening after evening: a random number of steps is done, in a random lawful order or as printed, now and then an end
/// is lifted and forgotten; the log says so, and the plan is made anew from it. All acts, to the end.
std::vector<Act> lived(const Planned& planned, generate::Dice& dice, std::string& trouble) {
    std::vector<LogEntry> log;
    std::vector<Act> acts;
    for (int evening = 0;; ++evening) {
        const Progress progress = progress_of(log, planned.set, shipped());
        StepOptions options;
        if (evening < 3 && dice.chance(0.4)) options.hours = 0.5 + static_cast<double>(dice.below(60)) / 10;
        const Outcome<RepairOrder> order = planned.plan(progress, options);
        if (!order) {
            trouble = order.notices().front().text();
            return acts;
        }
        const std::vector<RepairStep>& steps = order->steps;
        if (evening == 3) {
            const std::vector<Act> rest = acts_of(steps);
            acts.insert(acts.end(), rest.begin(), rest.end());
            return acts;
        }
        std::string pencil;
        std::set<std::string> open;
        for (const RepairStep& s : steps) open.insert(s.step);
        const std::size_t wanted = steps.empty() ? 0 : dice.below(steps.size() + 1);
        const bool as_printed = dice.chance(0.5);
        bool powered = false;
        for (std::size_t k = 0; k < wanted; ++k) {
            std::vector<const RepairStep*> ready;
            for (const RepairStep& s : steps)
                if (open.count(s.step) && std::none_of(s.predecessors.begin(), s.predecessors.end(),
                                                       [&](const StepLink& l) { return open.count(l.step) > 0; }))
                    ready.push_back(&s);
            const RepairStep& next = *ready[as_printed ? 0 : dice.below(ready.size())];
            open.erase(next.step);
            acts.insert(acts.end(), next.acts.begin(), next.acts.end());
            powered = powered || feeds_the_set(next);
            pencil += fmt::format("{}done {}", pencil.empty() ? "" : "; ", next.order);
        }
        PencilBench bench{planned.set, shipped(), log};
        bench.page = [&](int entries, bool) -> Outcome<PlanPage> {
            PlanPage page;
            page.entries = entries;
            for (const RepairStep& s : steps) {
                page.steps.push_back({s.order, s.step, s.does, {}});
                page.steps.back().again = s.acts.empty() && s.visit > 0;
                for (const Act& a : s.acts) page.steps.back().acts.push_back({{word(a.kind), a.parts, a.minutes}, {}});
            }
            return page;
        };
        // an end that is lifted where hands may go in: after the pictures and the discharge, and not behind a power-up
        bool pictured = false, empty = false;
        for (const Act& a : acts) {
            pictured = pictured || a.kind == ActKind::photograph;
            empty = a.kind == ActKind::discharge || (empty && std::string(word(a.kind)).rfind("power", 0) != 0);
        }
        const bool may = pictured && empty && !powered;
        if (may && dice.chance(0.3)) {
            const std::vector<Part>& parts = planned.set.parts();
            const Part& part = parts[dice.below(parts.size())];
            if (part.kind == PartKind::resistor && !progress.parts.count(part.id)) {
                acts.push_back({ActKind::lift, {part.id}, "and forgotten", 0});
                pencil += fmt::format("{}{} lifted", pencil.empty() ? "" : "; ", part.id);
            }
        }
        if (pencil.empty()) continue;
        const Outcome<std::vector<LogEntry>> entries = read_pencil(pencil, bench);
        if (!entries) {
            trouble = entries.notices().front().text();
            return acts;
        }
        for (LogEntry entry : *entries) {
            entry.number = static_cast<int>(log.size()) + 1;
            entry.batch = evening + 1;
            entry.at = "2026-11-26T20:15:00Z";
            log.push_back(std::move(entry));
        }
    }
}

/// Of one set in four: a log that has one resistor lifted.
Progress one_left_out(const Chassis& set, generate::Dice& dice) {
    Progress progress;
    if (!dice.chance(0.25)) return progress;
    const Part& part = set.parts()[dice.below(set.parts().size())];
    if (part.kind == PartKind::resistor) progress.parts[part.id] = PartState::lifted;
    return progress;
}

struct Count {
    int applies = 0, binds = 0, noticed = 0;
};

/// The stage that a discharge follows; empty for any other step.
std::string stage_before(const std::string& step) {
    const std::string discharge = "discharge-after-";
    return step.rfind(discharge, 0) == 0 ? step.substr(discharge.size()) : std::string();
}
bool waits(const std::vector<JobArc>& arcs, int job, int before) {
    std::vector<int> front{job};
    std::set<int> seen;
    while (!front.empty()) {
        const int one = front.back();
        front.pop_back();
        if (one == before) return true;
        if (!seen.insert(one).second) continue;
        for (const JobArc& arc : arcs)
            if (arc.after == one) front.push_back(arc.before);
    }
    return false;
}

/// The steps ordered anew without the arrows of a rule: of each that draws some, or of the one named.
void without_a_rule(const Chassis& set, const RepairOrder& order, std::map<std::string, Count>& counts,
                    const Progress& progress = {}, const std::string& only = {}) {
    std::vector<const RepairStep*> steps;
    for (const RepairStep& s : order.steps) steps.push_back(&s);
    std::sort(steps.begin(), steps.end(), [](const auto* a, const auto* b) { return a->step < b->step; });
    std::map<std::string, int> index;
    for (std::size_t k = 0; k < steps.size(); ++k) index[steps[k]->step] = static_cast<int>(k);
    std::vector<Job> jobs;
    std::set<std::string> rules;
    for (const RepairStep* s : steps) {
        jobs.push_back({s->p_seconds, s->w_microrisk});
        for (const StepLink& l : s->predecessors)
            if (l.rule[0] == 'H' && (only.empty() || l.rule == only)) rules.insert(l.rule);
    }
    for (const std::string& rule : rules) {
        // Soft rules aside: they may be passed over. What no longer waits for power needs neither the ohms nor the plus
        // read before power.
        const auto free_of_power = [&](const std::string& id) {
            bool freed = false, held = false;
            for (const RepairStep* s : steps)
                if (feeds_the_set(*s))
                    for (const StepLink& l : s->predecessors)
                        if (l.step == id) (l.rule == rule ? freed : held) = true;
            return freed && !held;
        };
        std::vector<JobArc> kept, taken_out;
        std::vector<std::pair<JobArc, int>> emptied;  // hands behind the discharge of a stage, and the stage
        for (const RepairStep* s : steps) {
            const bool read = s->step == "cold-ohms-all" || s->step == "trace-polarity";
            for (const StepLink& l : s->predecessors) {
                const JobArc arc{index.at(l.step), index.at(s->step)};
                if (l.rule == rule)
                    taken_out.push_back(arc);
                else if (const auto stage = index.find(stage_before(l.step)); stage != index.end())
                    emptied.emplace_back(arc, stage->second);
                else if (l.rule[0] != 's' && (!read || l.rule[0] != 'H' || !free_of_power(l.step)))
                    kept.push_back(arc);
            }
        }
        // who no longer waits for a stage does not wait for its discharge
        const std::vector<JobArc> others = kept;
        for (const auto& [arc, stage] : emptied)
            if (waits(others, arc.after, stage)) kept.push_back(arc);
        const Sequence sequence = best_sequence(jobs, kept);
        std::vector<int> at(jobs.size());
        std::vector<Act> acts;
        for (std::size_t k = 0; k < sequence.order.size(); ++k) {
            at[static_cast<std::size_t>(sequence.order[k])] = static_cast<int>(k);
            const RepairStep& s = *steps[static_cast<std::size_t>(sequence.order[k])];
            acts.insert(acts.end(), s.acts.begin(), s.acts.end());
        }
        const bool binds = std::any_of(taken_out.begin(), taken_out.end(), [&](const JobArc& a) {
            return at[static_cast<std::size_t>(a.before)] > at[static_cast<std::size_t>(a.after)];
        });
        Count& count = counts[rule];
        ++count.applies;
        count.binds += binds ? 1 : 0;
        count.noticed += binds && broken(set, acts, progress).count(rule) ? 1 : 0;
    }
}

}  // namespace

int main(int count, char** words) {
    std::uint64_t seed = 1;
    int wanted = 10000;
    for (int i = 1; i + 1 < count; i += 2) {
        const std::string word = words[i];
        if (word == "--seed") seed = std::strtoull(words[i + 1], nullptr, 10);
        if (word == "--count") wanted = std::atoi(words[i + 1]);
    }
    generate::Dice dice(seed);
    int plans = 0, proved = 0, wrong = 0;
    std::size_t most_steps = 0;
    std::map<std::string, Count> counts;
    const auto told = [&](const Chassis& set, const char* where, const std::vector<Act>& acts,
                          const Progress& progress = {}) {
        ++plans;
        const std::map<std::string, std::string> rules = broken(set, acts, progress);
        if (rules.empty()) return;
        if (++wrong > 20) return;
        for (const auto& [rule, why] : rules) fmt::print("{}, {}: {} {}\n", set.name(), where, rule, why);
    };
    for (int done = 0; done < wanted; ++done) {
        const std::optional<Chassis> set = invented(dice);
        if (!set) {
            ++wrong;
            continue;
        }
        const Planned planned{*set, random_policy(dice), dice.next()};
        const Outcome<RepairOrder> whole = planned.plan({});
        if (!whole) {
            fmt::print("{}: {}\n", set->name(), whole.notices().front().text());
            ++wrong;
            continue;
        }
        most_steps = std::max(most_steps, whole->steps.size());
        proved += whole->optimal ? 1 : 0;
        told(*set, "the plan", acts_of(whole->steps));
        std::string trouble;
        const std::vector<Act> acts = lived(planned, dice, trouble);
        if (!trouble.empty() && ++wrong <= 20) fmt::print("{}: {}\n", set->name(), trouble);
        told(*set, "evenings", acts);
        if (planned.policy.purpose != PurposePolicy::play) continue;
        without_a_rule(*set, *whole, counts);
        // H17 draws an arrow only where the log leaves something out
        const Progress out = one_left_out(*set, dice);
        if (const Outcome<RepairOrder> order = planned.plan(out); order && !out.parts.empty()) {
            told(*set, "with a part left out", acts_of(order->steps), out);
            without_a_rule(*set, *order, counts, out, "H17");
        }
    }
    fmt::print("rule   applies    binds  share  of these noticed\n");
    bool weak = false;
    if (wanted >= 200)  // every one of them orders some two steps
        for (const char* rule : {"H0", "H1", "H2", "H3", "H5", "H6", "H7", "H8", "H9", "H12", "H13", "H15", "H17",
                                 "H18", "H19", "H20", "H21", "H22", "H23"})
            counts[rule];
    for (const auto& [rule, c] : counts) {
        const double share = 100.0 * c.binds / std::max(1, c.applies);
        weak = weak || share < 5 || c.noticed == 0;
        fmt::print("{:<5} {:>8} {:>8} {:>5.1f}% {:>8}\n", rule, c.applies, c.binds, share, c.noticed);
    }
    fmt::print("seed {}: {} sets, {} sequences, the longest plan {} steps, {} proved best, {} wrong\n", seed, wanted,
               plans, most_steps, proved, wrong);
    return wrong > 0 || weak ? 1 : 0;
}
