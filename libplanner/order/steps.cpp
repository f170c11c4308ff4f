// SPDX-License-Identifier: MIT
// The repair as steps: tests, measurements and replacements grouped by place, can and access, with an arrow for every
// hard rule that binds two of them (drafts.hpp); weighed by the risk of the faults that each settles (weights.hpp),
// with its seconds from the catalogue's table; the visits to places arranged in the order of sequence.hpp (visits.hpp,
// turns.hpp), or what fits in an evening (limits.hpp); and the page and the tag told from that. A step never leaves a
// lifted end behind. Test: tests/order/steps_test.cpp.
#include <algorithm>
#include <array>
#include <set>

#include "choice/figure.hpp"
#include "choice/minutes.hpp"
#include "choice/numbers.hpp"
#include "choice/polarity.hpp"
#include "order/checks.hpp"
#include "order/drafts.hpp"
#include "order/if_last.hpp"
#include "order/limits.hpp"
#include "order/numbers.hpp"
#include "order/order.hpp"
#include "order/set_under_repair.hpp"
#include "order/turns.hpp"
#include "order/visits.hpp"
#include "order/weights.hpp"

namespace tubewright {
namespace repair {
namespace {

using choice::figure;
using choice::listed;
using K = ActKind;

// The row of the catalogue's table whose tools an act wants.
constexpr std::array<std::pair<ActKind, const char*>, 16> act_rows{{{K::check_supply, "label-check"},
                                                                    {K::make_cord_safe, "tag"},
                                                                    {K::photograph, "photographs"},
                                                                    {K::settle_reference, "log"},
                                                                    {K::discharge, "discharge"},
                                                                    {K::cold_ohms, "cold-ohms"},
                                                                    {K::lift, "lift"},
                                                                    {K::reconnect, "refit"},
                                                                    {K::test_tube, "tube-test"},
                                                                    {K::sleeve, "wire-sleeve"},
                                                                    {K::fit_fuse, "fuse"},
                                                                    {K::power_transformer_alone, "transformer-alone"},
                                                                    {K::power_b_plus, "power-stage"},
                                                                    {K::align, "align-if"},
                                                                    {K::soak, "soak"},
                                                                    {K::check_touch_current, "touch-current"}}};

// The tools of what is done in a step, by the catalogue's table.
Notice note(int number, const std::string& text) {
    Notice n;
    n.number = number;
    n.severity = Severity::note;
    n.message = text;
    return n;
}

Notice in_a_ring(const Chassis& chassis, const std::vector<std::string>& ring) {
    Notice n = note(messages::steps_in_a_ring, "steps wait for each other in a ring: " + listed(ring));
    n.severity = Severity::error;
    n.place.file = chassis.file();
    n.remedy = "look at reach: two parts that each want the other lifted first";
    return n;
}

/// Electrolytics that the file has the wrong way round.
std::vector<Notice> reversals(const SetUnderRepair& set) {
    std::vector<Notice> notices;
    for (const auto& [index, row] : set.stress_of_part) {
        const Part& p = set.part(index);
        const std::optional<choice::Reversed> r = choice::reversed(p, *row);
        if (!r || !r->in_service) continue;
        Notice n =
            note(messages::polarity_reversed, p.id + " is reversed in the file: its plus would stand " +
                                                  say(volts(r->volts)) + " below its minus (" + r->scenario + ")");
        n.severity = Severity::stop;
        n.place = p.place;
        n.remedy = "trace which lug is plus and correct the file; the new one's plus goes to " + plus_net(set, p.id);
        notices.push_back(std::move(n));
    }
    return notices;
}

/// All steps by the policy for places. What the order by risk alone would cost is told beside that by neighbourhoods,
/// where nothing limits it.
Arranged arranged(const SetUnderRepair& set, bool limited, Visits& visits, RepairOrder& order) {
    const Visits apart = visits;
    visits.by_place();
    const Arranged whole = by_neighbourhood(visits);
    const bool by_risk = set.policy.places == PlacePolicy::by_risk;
    if (!whole.ring.empty() || (limited && !by_risk)) return whole;
    Visits other = visits;
    const Arranged sooner = by_risk_alone(other, whole, apart);
    if (by_risk) {
        visits = other;
        return sooner;
    }
    order.objective_by_risk = sooner.objective;
    for (const RepairStep& s : other.steps()) order.minutes_by_risk += s.minutes;
    return whole;
}

/// What was proved of it.
void tell_proof(const Visits& visits, const Arranged& now, RepairOrder& order, std::vector<Notice>& notices) {
    order.objective = now.objective;
    order.lower_bound = now.lower_bound;
    order.optimal = now.objective == now.lower_bound;
    order.bound_of_any_order = std::min(order.lower_bound, visits.bound_of_any(now.order));
    order.gap = order.optimal ? 0
                              : static_cast<double>(now.objective - now.lower_bound) /
                                    static_cast<double>(std::max(1LL, now.lower_bound));
    if (!order.optimal)
        notices.push_back(
            note(messages::gap_remains, "the order is within " + figure(100 * order.gap, 2) + " % of the best"));
}

/// Steps that the limits leave out, the first of them to go on with, and what part of the risk the others take.
void tell_limits(const Visits& visits, const Within& evening, const Arranged& whole, RepairOrder& order,
                 std::vector<Notice>& notices) {
    order.removes_microrisk = evening.removes;
    order.bound_of_any_choice = evening.bound;
    if (evening.removes < evening.bound)
        notices.push_back(note(
            messages::evening_bound,
            "these steps remove " +
                figure(100.0 * static_cast<double>(evening.removes) / static_cast<double>(std::max(1LL, evening.bound)),
                       1) +
                " % of the risk that any choice within the limit could at most remove (bound)"));
    const std::vector<int>& done = evening.arranged.order;
    for (int j : whole.order)
        if (std::find(done.begin(), done.end(), j) == done.end()) order.left_out.push_back(visits.step(j).step);
    if (!order.left_out.empty()) order.pick_up = order.left_out.front();
}

std::vector<std::string> tools_of(const SetUnderRepair& set, const RepairStep& s) {
    std::vector<std::string> tools;
    const auto take = [&](const std::string& list) {
        for (std::size_t from = 0; from < list.size();) {
            const std::size_t comma = std::min(list.find(", ", from), list.size());
            std::string one = list.substr(from, comma - from);
            if (one == "lamp" && !set.from_line()) one = "supply that limits";
            if (!one.empty() && !holds(tools, one)) tools.push_back(one);
            from = comma + 2;
        }
    };
    const auto row = [&](const char* key) {
        if (const StepCost* c = set.catalogue.step_cost(key)) take(c->tools);
    };
    for (const Act& act : s.acts) {
        if (act.kind == K::fit)
            for (const std::string& id : act.parts)
                if (const Part* p = set.part(id))
                    take(p->kind == PartKind::fuse ? "meter" : choice::replace_cost(*p, set.catalogue).tools);
        if (act.kind == K::measure)
            for (const std::string& id : act.parts)
                if (const Part* p = set.part(id)) {
                    if (p->kind == PartKind::socket) row("socket-clean");
                    if (p->kind == PartKind::socket || p->kind == PartKind::control)
                        row("measure-resistor");
                    else
                        take(choice::measure_cost(*p, set.catalogue).tools);
                }
        for (const auto& [kind, key] : act_rows)
            if (kind == act.kind) row(key);
        if (act.kind == K::find_cause && s.acts.size() == 1) row("measure-resistor");  // not guessed from the lugs
    }
    return tools;
}

std::vector<std::string> lifted_in(const RepairStep& s) {
    std::vector<std::string> lifted;
    for (const Act& act : s.acts)
        if (act.kind == K::lift)
            for (const std::string& id : act.parts)
                if (!holds(lifted, id)) lifted.push_back(id);
    return lifted;
}

/// The risk that is left by this order, by the list worked off and by the greedy rule.
void tell_curves(const Visits& visits, const Weights& weights, const std::vector<int>& now, RepairOrder& order) {
    const auto curve = [&](const std::vector<int>& steps) { return risk_left(weights, visits.steps(), steps); };
    order.curve = curve(now);
    std::vector<int> as_listed = now, by_id = now;
    std::sort(as_listed.begin(), as_listed.end(), [&](int a, int b) {
        return visits.drafted.at(visits.step(a).step) < visits.drafted.at(visits.step(b).step);
    });
    std::sort(by_id.begin(), by_id.end());
    order.curve_by_list = curve(visits.arranged(as_listed, by_list).order);
    order.curve_greedy = curve(visits.arranged(by_id, greedily).order);
}

/// With an end free or taken out, now or after the steps of an evening.
std::vector<std::string> out_after(const SetUnderRepair& set, const std::vector<RepairStep>& steps) {
    std::set<std::string> out;
    for (const auto& [id, state] : set.progress.parts)
        if (set.out(id)) out.insert(id);
    for (const RepairStep& s : steps)
        for (const Act& a : s.acts)
            for (const std::string& id : a.parts) {
                if (a.kind == K::lift || a.kind == K::remove) out.insert(id);
                if (a.kind == K::reconnect || a.kind == K::fit || a.kind == K::refit_tube) out.erase(id);
            }
    return {out.begin(), out.end()};
}

/// The hard rules that the open steps are for, as the table has them.
std::string binding_rules(const Visits& visits, const std::vector<std::string>& open, bool lifted, bool live_metal) {
    std::set<std::string> binding;
    for (const RepairStep& s : visits.steps())
        for (const StepLink& l : s.predecessors)
            if (l.rule[0] == 'H' && holds(open, l.step)) binding.insert(l.rule);
    if (lifted) binding.insert("H17");
    if (live_metal) binding.insert("H22");  // always
    std::string rules;
    for (const BenchRule& r : bench_rules())
        if (binding.count(r.id)) rules += (rules.empty() ? "" : " ") + r.id;
    return rules;
}

std::string tag_of_nothing_open(const SetUnderRepair& set, std::size_t evening) {
    if (set.policy.purpose == PurposePolicy::preserve)
        return "DO NOT PLUG IN. " + set.chassis.name() + "\nKept as it is.";
    if (evening == 0) return "Every step is done.";
    return "DO NOT PLUG IN before the last of these " + std::to_string(evening) + " steps. " + set.chassis.name() +
           "\nWhen they are done, nothing is open: this tag comes off.";
}

/// `open`: what is not done when it is hung on, in order. `evening`: steps that are done before that.
std::string tag(const SetUnderRepair& set, const Visits& visits, const std::vector<std::string>& open,
                const std::vector<RepairStep>& evening) {
    if (open.empty()) return tag_of_nothing_open(set, evening.size());
    const std::vector<std::string> lifted = out_after(set, evening);
    const std::string rules = binding_rules(visits, open, !lifted.empty(), set.live_metal());
    std::string text = "DO NOT PLUG IN. " + set.chassis.name() + "\n";
    if (!evening.empty())
        text += "When " +
                std::string(evening.size() == 1 ? "this one step is"
                                                : "these " + std::to_string(evening.size()) + " steps are") +
                " done:\n";
    text += "Open: " + std::to_string(open.size()) + (open.size() == 1 ? " step" : " steps") +
            (rules.empty() ? "" : ", rules " + rules) + ".\n";
    text += lifted.empty() ? "Nothing is lifted or out.\n" : "Lifted or out: " + listed(lifted) + ".\n";
    if (set.policy.purpose == PurposePolicy::preserve)
        text += "It is kept as it is: it is not powered when all is done either.\n";
    const int next = visits.index.at(open.front());
    text += "Next step: " + visits.step(next).does;
    if (visits.is_turn(next) && open.size() > 1) text += ", then " + visits.step(visits.index.at(open[1])).does;
    return text + ".";
}

Outcome<RepairOrder> planned(const SetUnderRepair& set, const ThreatReport& threats, const StepOptions& options) {
    Drafts drafts = drafted(set);
    const Weights weights = weigh(set, threats, drafts);
    for (RepairStep& s : drafts.steps) s.minutes *= set.policy.pace;
    Visits visits(drafts, set.policy.pace * set.minutes("place-change"));
    RepairOrder order;
    const Arranged whole = arranged(set, options.limited(), visits, order);
    if (!whole.ring.empty()) return in_a_ring(set.chassis, whole.ring);
    std::vector<Notice> notices = reversals(set);
    if (weights.unit > 1)
        notices.push_back(note(messages::weights_in_tens,
                               "this much risk times so many seconds passes a whole number: weights are in units of " +
                                   figure(weights.unit) + " microrisk"));
    Arranged now = whole;
    if (options.limited()) {
        const Within evening = within(options, visits, whole);
        tell_limits(visits, evening, whole, order, notices);
        now = evening.arranged;
    }
    tell_proof(visits, now, order, notices);
    if (set.policy.places != PlacePolicy::by_risk) tell_second_turns(visits, whole.order);
    const IfLast last(set, visits, weights, whole);
    for (int j : now.order) {
        RepairStep s = visits.step(j);
        s.order = static_cast<int>(order.steps.size()) + 1;
        s.block = now.block[at(j)];
        s.tools = tools_of(set, s);
        s.lifted = lifted_in(s);
        s.if_last = last.of(j);
        if (now.order.size() < visits.steps().size() && buys(s)) buy_for_kept(set, visits, now.order, s);
        order.steps.push_back(std::move(s));
    }
    tell_curves(visits, weights, now.order, order);
    order.doubted = std::any_of(drafts.steps.begin(), drafts.steps.end(),
                                [&](const RepairStep& s) { return drafts.reopened.count(s.step) > 0; });
    std::vector<std::string> all;
    for (int j : whole.order) all.push_back(visits.step(j).step);
    order.tag = options.limited() ? tag(set, visits, order.left_out, order.steps) : tag(set, visits, all, {});
    return {std::move(order), std::move(notices)};
}

}  // namespace
}  // namespace repair

Outcome<RepairOrder> steps_of(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy,
                              std::span<const PartAction> actions, const ShoppingList& shopping,
                              const ThreatReport& threats, std::span<const PartStress> stress, const Progress& progress,
                              const StepOptions& options, std::span<const LeakageLimit> leaks,
                              std::span<const Doubted> doubted) {
    const repair::SetUnderRepair set(chassis, catalogue, policy, actions, shopping, stress, progress, leaks, doubted);
    return repair::planned(set, threats, options);
}

}  // namespace tubewright
