// SPDX-License-Identifier: MIT
// The repair as steps: tests, measurements and replacements grouped by place, can and access, with an arrow for every
// hard rule that binds two of them, then put in the order of sequence.hpp. A step's weight is the risk of the modes
// that it settles, from the threat study; its seconds from the catalogue's table. A step never leaves a lifted end
// behind. Test: tests/order/steps_test.cpp.
#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <map>
#include <set>

#include "chassis/data.hpp"
#include "chassis/earth.hpp"
#include "chassis/graph.hpp"
#include "choice/copper.hpp"
#include "choice/duty.hpp"
#include "choice/figure.hpp"
#include "choice/minutes.hpp"
#include "choice/numbers.hpp"
#include "choice/polarity.hpp"
#include "order/evening.hpp"
#include "order/numbers.hpp"
#include "order/order.hpp"
#include "order/sequence.hpp"
#include "threat/chain.hpp"

namespace tubewright {
namespace {

using choice::figure;
using choice::listed;
using K = ActKind;

const std::string no_fuse = "(fuse)";  // no part's id
const std::string as_documented = "as documented";
constexpr double new_tolerance = 0.1;  // of a new resistor, with the meter's own (common practice, no source)
constexpr std::size_t group_most = 6;  // joints that one check can cover (declared)
constexpr std::size_t ideals_of_a_bound = 20000;  // a bound is not worth more states than that

std::size_t at(int i) {
    return static_cast<std::size_t>(i);
}

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

double severity_weight(const std::string& severity) {
    if (severity == "I") return 100;
    if (severity == "II") return 10;
    if (severity == "III") return 1;
    return 0;
}

Notice note(int number, const std::string& text) {
    Notice n;
    n.number = number;
    n.severity = Severity::note;
    n.message = text;
    return n;
}

bool holds(const std::vector<std::string>& ids, const std::string& id) {
    return std::find(ids.begin(), ids.end(), id) != ids.end();
}

// What the shopping list has for a part, at its prices.
struct Bought {
    std::string text;
    double minutes = 0, cost = 0;
    double ohms = 0;  // of resistors, all of them in series; 0: none
};

class Planner {
  public:
    Planner(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy,
            std::span<const PartAction> actions, const ShoppingList& shopping, const ThreatReport& threats,
            std::span<const PartStress> stress, const Progress& progress, std::span<const LeakageLimit> leaks,
            std::span<const Doubted> doubted)
        : chassis_(chassis),
          catalogue_(catalogue),
          policy_(policy),
          actions_(actions),
          threats_(threats),
          stress_(stress),
          progress_(progress),
          leaks_(leaks),
          doubted_(doubted),
          duties_(duties_of(chassis)),
          earth_(earth_of(chassis, progress)),
          changes_(chassis, catalogue, progress) {
        for (const ShopLine& l : shopping.lines)
            for (std::size_t k = 0; k < l.for_parts.size(); ++k) {
                const std::string& id = l.for_parts[k];
                // Minutes by the row of what is fitted; what comes with it (a resistor across) by its own.
                // The fuse of a set built without one is listed for its transformer.
                const Part* whose = part(id);
                const bool new_fuse = l.price_row == "fuse" && whose && whose->kind != PartKind::fuse;
                Bought& buy = bought_[new_fuse ? no_fuse : id];
                if (k < l.pieces.size()) buy.cost += l.unit_cost.value_or(0) * l.pieces[k];
                if (k < l.pieces.size() && l.value_ohms) buy.ohms += *l.value_ohms * l.pieces[k];
                if (const StepCost* row = catalogue.step_cost(l.price_row)) buy.minutes += row->minutes;
                std::string text = l.what;
                if (!l.value_text.empty()) text = l.value_text + " " + text;
                if (l.rated_volts && l.value_farads)
                    text += " " + figure(*l.rated_volts) + " V" + (l.safety_class.empty() ? "" : " AC");
                if (l.rated_watts) text += " " + figure(*l.rated_watts, 2) + " W";
                // no single rating reaches the place: as one of them alone it would burst
                const bool pair = k < l.pieces.size() && l.pieces[k] == 2;
                if (pair && l.value_farads)
                    text = "TWO of " + text + " IN SERIES, the upper one's can off the chassis";
                else if (pair && l.value_ohms)
                    text += " across each";
                buy.text += (buy.text.empty() ? "" : ", with ") + text;
            }
        for (const PartStress& row : stress)
            if (row.lead.empty() && at(row.part) < chassis.parts().size()) rows_[row.part] = &row;
        find_line_side();
    }

    Outcome<RepairOrder> plan(const StepOptions& options) {
        draft_all();
        for (std::size_t k = 0; k < drafts_.size(); ++k) {
            index_[drafts_[k].step] = static_cast<int>(k);
            drafted_[drafts_[k].step] = static_cast<int>(k);
        }
        weigh();
        const bool limited = options.limited();
        RepairOrder order;
        for (RepairStep& s : drafts_) s.minutes *= policy_.pace;
        const Visits apart = as_visited();
        visit_places();
        Arranged whole = arranged_with_turns();
        if (whole.ring.empty() && (by_risk() || !limited)) {
            const Visits kept = as_visited();
            const Arranged sooner = by_risk_alone(whole, apart);
            order.objective_by_risk = by_risk() ? 0 : sooner.objective;
            for (const RepairStep& s : drafts_) order.minutes_by_risk += by_risk() ? 0 : s.minutes;
            if (by_risk())
                whole = sooner;
            else
                take(kept);
        }
        if (!whole.ring.empty()) {
            Notice ring = note(messages::steps_in_a_ring, "steps wait for each other in a ring: " + listed(whole.ring));
            ring.severity = Severity::error;
            ring.place.file = chassis_.file();
            ring.remedy = "look at reach: two parts that each want the other lifted first";
            return ring;
        }
        std::vector<Notice> notices = reversals();
        if (unit_ > 1)
            notices.push_back(
                note(messages::weights_in_tens,
                     "this much risk times so many seconds passes a whole number: weights are in units of " +
                         figure(unit_) + " microrisk"));
        const Arranged now = limited ? within(options, whole, notices, order) : whole;
        for (int j : whole.order)
            if (std::find(now.order.begin(), now.order.end(), j) == now.order.end())
                order.left_out.push_back(drafts_[at(j)].step);
        order.objective = now.objective;
        order.lower_bound = now.lower_bound;
        order.optimal = now.objective == now.lower_bound;
        order.bound_of_any_order = std::min(order.lower_bound, bound_of_any(now.order));
        order.gap = order.optimal ? 0
                                  : static_cast<double>(now.objective - now.lower_bound) /
                                        static_cast<double>(std::max(1LL, now.lower_bound));
        if (!order.optimal)
            notices.push_back(
                note(messages::gap_remains, "the order is within " + figure(100 * order.gap, 2) + " % of the best"));
        tell_second_turns(whole.order);
        followers_.assign(drafts_.size(), {});
        for (std::size_t k = 0; k < drafts_.size(); ++k)
            for (const StepLink& l : drafts_[k].predecessors)
                followers_[at(index_.at(l.step))].push_back(static_cast<int>(k));
        const std::vector<double> stands = stands_longer(whole);
        for (int j : now.order) {
            RepairStep s = drafts_[at(j)];
            s.order = static_cast<int>(order.steps.size()) + 1;
            s.block = now.block[at(j)];
            s.tools = tools_of(s);
            s.lifted = lifted_in(s);
            s.if_last = if_last(s, stands[at(j)]);
            if (now.order.size() < drafts_.size() && buys(s)) buy_for_kept(s, now.order);
            order.steps.push_back(std::move(s));
        }
        order.curve = curve_of(now.order);
        std::vector<int> as_listed = now.order;
        std::sort(as_listed.begin(), as_listed.end(),
                  [&](int a, int b) { return drafted_.at(drafts_[at(a)].step) < drafted_.at(drafts_[at(b)].step); });
        order.curve_by_list = curve_of(arranged(as_listed, by_list).order);
        order.curve_greedy = curve_of(arranged(sorted(now.order), greedily).order);
        order.doubted = std::any_of(drafts_.begin(), drafts_.end(),
                                    [&](const RepairStep& s) { return reopened_.count(s.step) > 0; });
        order.tag = tag(order, whole, limited);
        const std::vector<int>& open = whole.order;
        const auto next = limited ? std::find_if(open.begin(), open.end(),
                                                 [&](int j) { return holds(order.left_out, drafts_[at(j)].step); })
                                  : open.end();
        if (next != open.end()) order.pick_up = drafts_[at(*next)].step;
        return {std::move(order), std::move(notices)};
    }

  private:
    // Steps in order, with the visits to places kept together.
    struct Arranged {
        std::vector<std::string> ring;  // steps that wait for each other; then there is no order
        std::vector<int> order, block;  // block: by draft
        long long objective = 0, lower_bound = 0;
    };
    using Rule = std::function<Sequence(const std::vector<Job>&, const std::vector<JobArc>&)>;

    static Sequence best(const std::vector<Job>& jobs, const std::vector<JobArc>& arcs) {
        return best_sequence(jobs, arcs);
    }
    static Sequence greedily(const std::vector<Job>& jobs, const std::vector<JobArc>& arcs) {
        Sequence s;
        s.order = greedy_order(jobs, arcs);
        return s;
    }
    static Sequence by_list(const std::vector<Job>& jobs, const std::vector<JobArc>& arcs) {
        Sequence s;
        s.order = list_order(jobs, arcs);
        return s;
    }

    // A visit is one job from outside, of all its seconds and all its weight, since nothing comes between its steps;
    // inside it is ordered by itself. What its steps bring before its end is what it costs less.
    Arranged arranged(const std::vector<int>& members, const Rule& rule) const {
        std::map<int, int> lump_of_visit;
        std::vector<int> lump(drafts_.size(), -1), inner(drafts_.size(), -1);
        std::vector<std::vector<int>> lumps;
        std::map<std::string, int> stage;  // a stage and the discharge after it: nothing comes between
        for (const auto& [power, id] : emptied_by_)
            if (index_.count(power) > 0 && index_.count(id) > 0)
                stage[power] = stage[id] = -1 - static_cast<int>(stage.size());
        for (int j : members) {
            const auto bound = stage.find(drafts_[at(j)].step);
            const int visit = bound == stage.end() ? drafts_[at(j)].visit : bound->second;
            const auto [known, first] = lump_of_visit.emplace(visit, static_cast<int>(lumps.size()));
            if (visit == 0 || first) {
                lump[at(j)] = static_cast<int>(lumps.size());
                lumps.emplace_back();
            } else {
                lump[at(j)] = known->second;
            }
            inner[at(j)] = static_cast<int>(lumps[at(lump[at(j)])].size());
            lumps[at(lump[at(j)])].push_back(j);
        }
        std::vector<JobArc> outside;
        std::vector<std::vector<JobArc>> inside(lumps.size());
        for (int j : members)
            for (const StepLink& l : drafts_[at(j)].predecessors) {
                const int i = index_.at(l.step);
                if (lump[at(i)] < 0) continue;
                if (lump[at(i)] != lump[at(j)])
                    outside.push_back({lump[at(i)], lump[at(j)]});
                else
                    inside[at(lump[at(j)])].push_back({inner[at(i)], inner[at(j)]});
            }
        Arranged made;
        made.block.assign(drafts_.size(), 0);
        std::vector<Job> whole;
        std::vector<std::vector<int>> orders;
        for (std::size_t k = 0; k < lumps.size(); ++k) {
            std::vector<Job> jobs;
            Job sum;
            for (int j : lumps[k]) {
                jobs.push_back({drafts_[at(j)].p_seconds, drafts_[at(j)].w_microrisk});
                sum.seconds += jobs.back().seconds;
                sum.weight += jobs.back().weight;
            }
            whole.push_back(sum);
            const Sequence within = rule(jobs, inside[k]);
            made.objective += within.objective - sum.seconds * sum.weight;
            made.lower_bound += within.lower_bound - sum.seconds * sum.weight;
            orders.emplace_back();
            for (int j : within.order) orders.back().push_back(lumps[k][at(j)]);
            for (int j : within.cycle) made.ring.push_back(drafts_[at(lumps[k][at(j)])].step);
        }
        const Sequence sequence = rule(whole, outside);
        for (int k : sequence.cycle)
            for (int j : lumps[at(k)]) made.ring.push_back(drafts_[at(j)].step);
        made.objective += sequence.objective;
        made.lower_bound += sequence.lower_bound;
        for (int k : sequence.order)
            for (int j : orders[at(k)]) {
                made.order.push_back(j);
                if (!sequence.block.empty()) made.block[at(j)] = sequence.block[at(k)];
            }
        return made;
    }

    // No lawful order of these steps has less, however often it turns from place to place: each place is turned to
    // once, and going back to it is free.
    long long bound_of_any(const std::vector<int>& members) const {
        std::vector<Job> jobs;
        std::vector<JobArc> arcs;
        std::vector<int> job(drafts_.size(), -1);
        std::map<std::string, int> turn_to;
        for (int j : members) {
            const RepairStep& s = drafts_[at(j)];
            job[at(j)] = static_cast<int>(jobs.size());
            if (turns_.count(s.step)) {
                const auto [known, first] = turn_to.emplace(s.place, job[at(j)]);
                job[at(j)] = known->second;
                if (!first) continue;
            }
            jobs.push_back({s.p_seconds, s.w_microrisk});
        }
        for (int j : members)
            for (const StepLink& l : drafts_[at(j)].predecessors)
                if (const int i = job[at(index_.at(l.step))]; i >= 0) arcs.push_back({i, job[at(j)]});
        return best_sequence(jobs, arcs, {.ideals = ideals_of_a_bound}).lower_bound;
    }

    static std::vector<int> sorted(std::vector<int> list) {
        std::sort(list.begin(), list.end());
        return list;
    }

    // The listed risk that is left, step by step.
    std::vector<RiskPoint> curve_of(const std::vector<int>& order) const {
        // from its end, so that nothing left is nought
        double left = unsettled_;
        for (std::size_t k = 0; k < drafts_.size(); ++k)
            if (std::find(order.begin(), order.end(), static_cast<int>(k)) == order.end())
                left += drafts_[k].risk_removed;
        std::vector<RiskPoint> points(order.size() + 1);
        for (std::size_t k = order.size() + 1; k-- > 0;) {
            points[k].risk_left = k > 0 ? std::min(left, all_risk_) : all_risk_;
            if (k > 0) left += drafts_[at(order[k - 1])].risk_removed;
        }
        for (std::size_t k = 0; k < order.size(); ++k)
            points[k + 1].minutes = points[k].minutes + drafts_[at(order[k])].minutes;
        return points;
    }

    // The closed set within the limits that removes the most risk, in its best order.
    Arranged within(const StepOptions& options, const Arranged& whole, std::vector<Notice>& notices,
                    RepairOrder& order) const {
        std::vector<Job> jobs;
        std::vector<JobArc> arcs;
        std::vector<double> costs;
        std::vector<std::vector<int>> steps;  // by job: nobody leaves the set charged, a stage brings its discharge
        std::vector<int> job(drafts_.size(), -1);
        long long all = 0;
        for (std::size_t k = 0; k < drafts_.size(); ++k) {
            if (job[k] >= 0) continue;
            std::vector<int> together{static_cast<int>(k)};
            for (const auto& [power, id] : emptied_by_)
                if ((power == drafts_[k].step || id == drafts_[k].step) && index_.count(power) && index_.count(id))
                    together = {index_.at(power), index_.at(id)};
            Job sum;
            double cost = 0;
            for (int j : together) {
                job[at(j)] = static_cast<int>(jobs.size());
                sum.seconds += drafts_[at(j)].p_seconds;
                sum.weight += drafts_[at(j)].w_microrisk;
                cost += drafts_[at(j)].cost;
            }
            jobs.push_back(sum);
            costs.push_back(cost);
            steps.push_back(std::move(together));
            all += sum.seconds;
        }
        for (std::size_t k = 0; k < drafts_.size(); ++k)
            for (const StepLink& l : drafts_[k].predecessors)
                if (const int before = job[at(index_.at(l.step))]; before != job[k]) arcs.push_back({before, job[k]});
        const long long seconds = options.hours > 0 ? std::min(all, static_cast<long long>(options.hours * 3600)) : all;
        Sequence by_then;
        for (int j : whole.order)
            if (steps[at(job[at(j)])].front() == j) by_then.order.push_back(job[at(j)]);
        Selection evening = best_within(jobs, arcs, by_then, seconds, options.budget ? costs : std::vector<double>{},
                                        options.budget.value_or(0));
        order.removes_microrisk = evening.weight;
        order.bound_of_any_choice = evening.bound;
        if (evening.weight < evening.bound)
            notices.push_back(note(messages::evening_bound,
                                   "these steps remove " +
                                       figure(100.0 * static_cast<double>(evening.weight) /
                                                  static_cast<double>(std::max(1LL, evening.bound)),
                                              1) +
                                       " % of the risk that any choice within the limit could at most remove (bound)"));
        std::vector<int> chosen;
        for (int k : evening.jobs) chosen.insert(chosen.end(), steps[at(k)].begin(), steps[at(k)].end());
        evening.jobs = sorted(std::move(chosen));  // of steps from here on
        std::vector<int> kept;
        for (int j : evening.jobs) {  // a place is not turned to for nothing
            const bool idle = turns_.count(drafts_[at(j)].step) > 0 &&
                              std::none_of(evening.jobs.begin(), evening.jobs.end(), [&](int k) {
                                  return k != j && drafts_[at(k)].visit == drafts_[at(j)].visit;
                              });
            // nor is anything bought that nothing waits for
            const bool unused =
                buys(drafts_[at(j)]) && std::none_of(evening.jobs.begin(), evening.jobs.end(), [&](int k) {
                    return holds_for(drafts_[at(k)].step, drafts_[at(j)].step);
                });
            if (!idle && !unused) kept.push_back(j);
        }
        return arranged(kept, best);
    }

    // By step: minutes from where it is done to the end of all.
    std::vector<double> stands_longer(const Arranged& whole) const {
        std::vector<double> longer(drafts_.size(), 0);
        double all = 0, done = 0;
        for (const RepairStep& s : drafts_) all += s.minutes;
        for (int j : whole.order) {
            done += drafts_[at(j)].minutes;
            longer[at(j)] = all - done;
        }
        return longer;
    }

    // All steps, with a turn to the place before each visit; visits to one place that come one after the other are one.
    Arranged arranged_with_turns() {
        return neighbours_joined(more_visits(fewer_visits(neighbours_joined(arranged_as_visited()))));
    }
    Arranged neighbours_joined(Arranged made) {
        while (join_neighbours(made.order)) made = arranged_as_visited();
        return made;
    }
    /// Steps as drafted, their visits and the turns to them.
    struct Visits {
        std::vector<RepairStep> drafts;
        std::map<std::string, int> index, drafted;
        std::set<std::string> turns;
        std::map<int, double> worth;
    };
    Visits as_visited() const { return {drafts_, index_, drafted_, turns_, worth_}; }
    void take(const Visits& visits) {
        drafts_ = visits.drafts;
        index_ = visits.index;
        drafted_ = visits.drafted;
        turns_ = visits.turns;
        worth_ = visits.worth;
    }
    /// What removes the danger soonest, turning to and fro: the visits of the neighbourhoods, moved while that brings
    /// any down, or each step turned to by itself, whichever is better. It is never worse than the neighbourhoods.
    Arranged by_risk_alone(const Arranged& whole, const Visits& apart) {
        turn_share_ = false;
        Arranged sooner = neighbours_joined(more_visits(fewer_visits(whole)));
        const Visits moved = as_visited();
        take(apart);
        int visit = 0;
        for (RepairStep& s : drafts_)
            if (at_place_.count(s.step)) s.visit = ++visit;
        Arranged each = neighbours_joined(arranged_as_visited());
        turn_share_ = true;
        if (each.ring.empty() && each.objective < sooner.objective) return each;
        take(moved);
        return sooner;
    }
    /// Ordered with the visits as they are: their turns are made anew.
    Arranged arranged_as_visited() {
        forget(turns_);
        turns_.clear();
        add_turns();
        std::sort(drafts_.begin(), drafts_.end(),
                  [](const RepairStep& a, const RepairStep& b) { return a.step < b.step; });
        reindex();
        for (RepairStep& s : drafts_) {
            s.p_seconds = std::llround(s.minutes * 60);
            std::sort(s.predecessors.begin(), s.predecessors.end(), [](const StepLink& a, const StepLink& b) {
                return a.step != b.step ? a.step < b.step : a.rule < b.rule;
            });
        }
        return arranged(all_drafts(), best);
    }
    /// A second visit to a place stays where a ring forces it, or where one visit would keep the danger standing longer
    /// by a larger share than its turn adds to the minutes of the whole.
    Arranged fewer_visits(Arranged made) {
        constexpr int tried_most = 64;  // orders that are looked at; a declared number
        const double share = share_of_a_turn();
        // all pairs at once, and of what is not worth it the halves
        const std::vector<std::pair<int, int>> pairs = visits_to_one_place();
        std::vector<std::pair<std::size_t, std::size_t>> ranges{{0, pairs.size()}};
        int tried = 0;
        while (!ranges.empty()) {
            const auto [from, to] = ranges.back();
            ranges.pop_back();
            const std::vector<RepairStep> before = drafts_;
            const std::set<std::string> turned = turns_;
            if (tried == tried_most && to - from > 1) {  // each by itself: only whether a ring forbids it
                ranges.emplace_back((from + to) / 2, to);
                ranges.emplace_back(from, (from + to) / 2);
                continue;
            }
            std::vector<int> gone;
            for (std::size_t k = from; k < to; ++k)
                if (joins(pairs[k].first, pairs[k].second)) gone.push_back(pairs[k].second);
            if (gone.empty()) continue;
            double longer = 0;  // not looked at
            if (tried < tried_most) {
                ++tried;
                Arranged fewer = arranged_as_visited();
                longer = rise(fewer, made);
                if (fewer.ring.empty() && longer <= share * static_cast<double>(gone.size())) {
                    made = std::move(fewer);
                    continue;
                }
            }
            drafts_ = before;
            turns_ = turned;
            reindex();
            if (to - from == 1) {
                worth_[gone.front()] = longer;
            } else {
                ranges.emplace_back((from + to) / 2, to);
                ranges.emplace_back(from, (from + to) / 2);
            }
        }
        return made;
    }
    /// Whether the two visits are there and one visit would wait for nothing that waits for it; then they are one.
    bool joins(int kept, int gone) {
        if (!has_visit(kept) || !has_visit(gone)) return false;
        const std::vector<RepairStep> before = drafts_;
        join_visits(kept, gone);
        if (!in_a_ring(kept)) return true;
        drafts_ = before;
        return false;
    }
    /// Visits to the same place, each pair of them, the earlier number first.
    std::vector<std::pair<int, int>> visits_to_one_place() const {
        std::map<std::string, std::set<int>> visits;
        for (const RepairStep& s : drafts_)
            if (s.visit > 0) visits[s.place].insert(s.visit);
        std::vector<std::pair<int, int>> pairs;
        for (const auto& [place, several] : visits)
            for (int first : several)
                for (int later : several)
                    if (first < later) pairs.emplace_back(first, later);
        return pairs;
    }
    bool has_visit(int visit) const {
        return std::any_of(drafts_.begin(), drafts_.end(), [&](const RepairStep& s) { return s.visit == visit; });
    }
    /// A visit is parted in two by the same measure: what is done last in it would keep the danger elsewhere standing
    /// longer by a larger share than one more turn adds to the minutes of the whole.
    Arranged more_visits(Arranged made) {
        constexpr int tried_singly = 24;  // a declared number
        if (!made.ring.empty()) return made;
        const double share = share_of_a_turn();
        std::set<std::pair<std::string, std::string>> refused;  // first and last of what would go later
        for (int tried = 0; tried < tried_singly;) {
            const std::optional<std::vector<std::string>> later = worth_parting(made, share, refused);
            if (!later) break;
            ++tried;
            const std::vector<RepairStep> before = drafts_;
            const std::set<std::string> turned = turns_;
            int next = 0;
            for (const RepairStep& s : drafts_) next = std::max(next, s.visit);
            for (RepairStep& s : drafts_)
                if (holds(*later, s.step)) s.visit = next + 1;
            Arranged parted = arranged_as_visited();
            const double longer = rise(made, parted);
            if (parted.ring.empty() && longer > share && !neighbours(parted.order)) {
                worth_[next + 1] = longer;
                made = std::move(parted);
                continue;
            }
            refused.emplace(later->front(), later->back());
            drafts_ = before;
            turns_ = turned;
            reindex();
        }
        return made;
    }
    /// The end of a visit whose seconds, times the weight that waits for them, may be worth a turn of its own.
    std::optional<std::vector<std::string>> worth_parting(
        const Arranged& made, double share, const std::set<std::pair<std::string, std::string>>& refused) const {
        double left = 0;
        for (const RepairStep& s : drafts_) left += static_cast<double>(s.w_microrisk);
        const double least = share * static_cast<double>(made.objective);
        std::map<std::string, std::set<int>> visits;  // nobody comes to a place a third time for a share of a turn
        for (const RepairStep& s : drafts_)
            if (s.visit > 0) visits[s.place].insert(s.visit);
        for (std::size_t k = 0; k < made.order.size();) {
            const int visit = drafts_[at(made.order[k])].visit;
            std::size_t end = k + 1;
            while (visit > 0 && end < made.order.size() && drafts_[at(made.order[end])].visit == visit) ++end;
            std::vector<std::string> later;
            double seconds = 0;
            const bool twice = visits[drafts_[at(made.order[k])].place].size() > 1;
            // the turn and one step stay
            for (std::size_t m = end; !twice && m-- > k + 2;) {
                const RepairStep& s = drafts_[at(made.order[m])];
                later.insert(later.begin(), s.step);
                seconds += static_cast<double>(s.p_seconds);
                if (seconds * left > least && !refused.count({later.front(), later.back()})) return later;
            }
            for (; k < end; ++k) left -= static_cast<double>(drafts_[at(made.order[k])].w_microrisk);
        }
        return std::nullopt;
    }
    /// What one more turn adds to the minutes of the whole.
    double share_of_a_turn() const {
        double all = 0;
        for (const RepairStep& s : drafts_) all += s.minutes;
        if (!turn_share_) return 0;  // by risk alone a turn costs its minutes and no more
        return all > 0 ? policy_.pace * minutes("place-change") / all : 0;
    }
    /// By what share the danger stands longer than in another order.
    static double rise(const Arranged& longer, const Arranged& made) {
        return static_cast<double>(longer.objective - made.objective) /
               static_cast<double>(std::max(1LL, made.objective));
    }
    bool neighbours(const std::vector<int>& order) const {
        for (std::size_t k = 1; k < order.size(); ++k) {
            const RepairStep &a = drafts_[at(order[k - 1])], &b = drafts_[at(order[k])];
            if (a.visit > 0 && b.visit > 0 && a.visit != b.visit && a.place == b.place) return true;
        }
        return false;
    }
    /// Turns to a place that was turned to before say what they are worth.
    void tell_second_turns(const std::vector<int>& order) {
        std::set<std::string> seen;
        for (int j : order) {
            RepairStep& s = drafts_[at(j)];
            if (!turns_.count(s.step) || seen.insert(s.place).second || by_risk()) continue;
            const auto worth = std::find_if(worth_.begin(), worth_.end(), [&](const auto& visit) {
                return std::any_of(drafts_.begin(), drafts_.end(),
                                   [&](const RepairStep& t) { return t.visit == visit.first && t.place == s.place; });
            });
            s.reason = (worth == worth_.end()
                            ? std::string("again: it waits for work elsewhere that waits for the first visit")
                        : worth->second <= 0 ? std::string("again: whether one visit is worth it was not looked at")
                                             : "again: in one visit the listed danger would stand " +
                                                   figure(100 * worth->second, 2) + " % longer") +
                       "; " + s.reason;
        }
    }
    bool by_risk() const { return policy_.places == PlacePolicy::by_risk; }
    void join_visits(int kept, int gone) {
        for (RepairStep& s : drafts_)
            if (s.visit == gone) s.visit = kept;
    }
    void reindex() {
        index_.clear();
        for (std::size_t k = 0; k < drafts_.size(); ++k) index_[drafts_[k].step] = static_cast<int>(k);
    }
    std::vector<int> all_drafts() const {
        std::vector<int> all(drafts_.size());
        for (std::size_t k = 0; k < all.size(); ++k) all[k] = static_cast<int>(k);
        return all;
    }
    bool join_neighbours(const std::vector<int>& order) {
        for (std::size_t k = 1; k < order.size(); ++k) {
            const RepairStep &a = drafts_[at(order[k - 1])], &b = drafts_[at(order[k])];
            if (a.visit == 0 || b.visit == 0 || a.visit == b.visit || a.place != b.place) continue;
            join_visits(a.visit, b.visit);
            return true;
        }
        return false;
    }

    // Steps at one place are one visit, of two rounds: what waits for new neighbours at another place is measured in
    // the second. Visits that would wait for each other are broken up. Turning to a place is a step of its own.
    void visit_places() {
        std::map<std::pair<std::string, int>, int> visits;
        for (RepairStep& s : drafts_) {
            if (!at_place_.count(s.step)) continue;
            const bool second = std::any_of(s.predecessors.begin(), s.predecessors.end(), [&](const StepLink& l) {
                return l.rule == "s10" && step(l.step).place != s.place;
            });
            const auto known =
                visits.emplace(std::pair(s.place, second ? 1 : 0), static_cast<int>(visits.size()) + 1).first;
            s.visit = known->second;
        }
        while (break_up_a_ring()) {
        }
    }
    void add_turns() {
        std::map<int, std::vector<std::string>> members;
        for (const RepairStep& s : drafts_)
            if (s.visit > 0) members[s.visit].push_back(s.step);
        std::map<std::string, int> times;
        for (const auto& [visit, steps] : members) {
            const std::string place = step(steps.front()).place;
            std::string id = "turn-to-" + place;
            std::replace(id.begin(), id.end(), ' ', '-');
            if (const int before = times[place]++; before > 0) id += "-" + std::to_string(before + 1);
            RepairStep& turn = add(id, "Turn to " + place, policy_.pace * minutes("place-change"));
            drafted_.emplace(id, drafted_.at(steps.front()));
            turn.place = place;
            turn.visit = visit;
            turn.reason = steps.size() == 1
                              ? "one step is done there"
                              : std::to_string(steps.size()) + " steps are done there, one after the other";
            turn.check = "its lugs found on the sketch";
            turns_.insert(id);
            for (const std::string& one : steps)
                after(one, id, "access", "the place is turned to once for all of them");
        }
    }
    RepairStep& step(const std::string& id) {
        return *std::find_if(drafts_.begin(), drafts_.end(), [&](const RepairStep& s) { return s.step == id; });
    }
    /// Visits (steps by themselves among them, by numbers below zero) and what each waits for.
    std::map<int, std::set<int>> waiting_visits() const {
        std::map<std::string, int> visit_of;
        for (const RepairStep& s : drafts_)
            visit_of[s.step] = s.visit > 0 ? s.visit : -1 - static_cast<int>(visit_of.size());
        std::map<int, std::set<int>> waits_for;
        for (const RepairStep& s : drafts_)
            for (const StepLink& l : s.predecessors)
                if (visit_of[l.step] != visit_of[s.step]) waits_for[visit_of[s.step]].insert(visit_of[l.step]);
        return waits_for;
    }
    static bool waits_for_itself(const std::map<int, std::set<int>>& waits_for, int visit) {
        std::set<int> seen;
        std::vector<int> front{visit};
        while (!front.empty()) {
            const auto one = waits_for.find(front.back());
            front.pop_back();
            if (one == waits_for.end()) continue;
            for (int before : one->second) {
                if (before == visit) return true;
                if (seen.insert(before).second) front.push_back(before);
            }
        }
        return false;
    }
    bool in_a_ring(int visit) const { return waits_for_itself(waiting_visits(), visit); }
    // One visit that waits for itself through others is given up; false when there is none.
    bool break_up_a_ring() {
        int next = 0;
        for (const RepairStep& s : drafts_) next = std::max(next, s.visit);
        const std::map<int, std::set<int>> waits_for = waiting_visits();
        for (const RepairStep& s : drafts_) {
            if (s.visit == 0) continue;
            const int ring = s.visit;
            const auto inside = [&](const RepairStep& r) { return r.visit == ring; };
            if (std::count_if(drafts_.begin(), drafts_.end(), inside) < 2 || !waits_for_itself(waits_for, ring))
                continue;
            for (RepairStep& r : drafts_)
                if (r.visit == ring) r.visit = ++next;
            return true;
        }
        return false;
    }

    // The tools of what is done in a step, by the catalogue's table.
    std::vector<std::string> tools_of(const RepairStep& s) const {
        std::vector<std::string> tools;
        const auto take = [&](const std::string& list) {
            for (std::size_t from = 0; from < list.size();) {
                const std::size_t comma = std::min(list.find(", ", from), list.size());
                std::string one = list.substr(from, comma - from);
                if (one == "lamp" && !from_line()) one = "supply that limits";
                if (!one.empty() && !holds(tools, one)) tools.push_back(one);
                from = comma + 2;
            }
        };
        const auto row = [&](const char* key) {
            if (const StepCost* c = catalogue_.step_cost(key)) take(c->tools);
        };
        for (const Act& act : s.acts) {
            if (act.kind == K::fit)
                for (const std::string& id : act.parts)
                    if (const Part* p = part(id))
                        take(p->kind == PartKind::fuse ? "meter" : choice::replace_cost(*p, catalogue_).tools);
            if (act.kind == K::measure)
                for (const std::string& id : act.parts)
                    if (const Part* p = part(id)) {
                        if (p->kind == PartKind::socket) row("socket-clean");
                        if (p->kind == PartKind::socket || p->kind == PartKind::control)
                            row("measure-resistor");
                        else
                            take(choice::measure_cost(*p, catalogue_).tools);
                    }
            for (const auto& [kind, key] : act_rows)
                if (kind == act.kind) row(key);
            if (act.kind == K::find_cause && s.acts.size() == 1) row("measure-resistor");  // not guessed from the lugs
        }
        return tools;
    }
    static std::vector<std::string> lifted_in(const RepairStep& s) {
        std::vector<std::string> lifted;
        for (const Act& act : s.acts)
            if (act.kind == K::lift)
                for (const std::string& id : act.parts)
                    if (!holds(lifted, id)) lifted.push_back(id);
        return lifted;
    }

    // What stands longer, and the hardest rule that would be broken, were a step the last of all.
    std::string if_last(const RepairStep& s, double longer) const {
        std::string text;
        const double share = all_risk_ > 0 ? 100 * s.risk_removed / all_risk_ : 0;
        if (s.risk_removed > 0 && longer > 0) {
            text = (share < 0.1 ? std::string("under 0.1") : figure(share, 1)) + " % of the listed risk stands " +
                   time_words(longer) + " longer";
            if (const auto worst = worst_.find(s.step); worst != worst_.end())
                if (const std::string harm = harm_words(*worst->second); !harm.empty()) text += ", and " + harm;
        }
        std::set<std::string> breaks, waiting;
        for (const RepairStep& later : drafts_)
            for (const StepLink& l : later.predecessors)
                if (l.step == s.step) {
                    breaks.insert(l.rule);
                    waiting.insert(later.step);
                }
        std::string broken;
        if (breaks.count("charge")) broken = "hands go into a set that may be charged";
        // Of an earth what H22 always asks comes before the touch current; iron by itself is more than what it is
        // worth.
        if (breaks.count("H22") && s.step == "earth-off") breaks.erase("H15");
        if (breaks.count("H6")) breaks.erase("s4");
        for (const BenchRule& rule : bench_rules())
            if (broken.empty() && breaks.count(rule.id))
                broken =
                    rule.id + (rule.hard ? " is broken" : " is passed over") +
                    (s.reason.find(rule.reason) == std::string::npos && suits(rule.reason) ? ": " + rule.reason : "");
        if (text.empty()) {
            const std::string held = waiting.empty() ? "it is the last" : held_back(s.step);
            broken += (broken.empty() ? "" : "; ") + (broken.empty() || !waiting.empty() ? held : std::string());
        }
        return text + (text.empty() || broken.empty() ? "" : "; ") + broken;
    }
    /// A reason of the table that speaks of a transformer says nothing about a set without one.
    bool suits(const std::string& reason) const {
        const auto speaks_of = [&](const char* what) { return reason.find(what) != std::string::npos; };
        return (has_iron() || (!speaks_of("transformer") && !speaks_of("winding"))) &&
               (from_line() || !speaks_of("line"));
    }
    /// What waits for a step, by any chain of arrows: steps, minutes, and their share of the listed risk.
    std::string held_back(const std::string& id) const {
        std::vector<bool> behind(drafts_.size());
        std::vector<int> front{index_.at(id)};
        double mins = 0, risk = 0;
        int steps = 0;
        while (!front.empty()) {
            const int j = front.back();
            front.pop_back();
            for (int k : followers_[at(j)]) {
                if (behind[at(k)]) continue;
                behind[at(k)] = true;
                front.push_back(k);
                steps += turns_.count(drafts_[at(k)].step) ? 0 : 1;
                mins += drafts_[at(k)].minutes;
                risk += drafts_[at(k)].risk_removed;
            }
        }
        const double share = all_risk_ > 0 ? 100 * risk / all_risk_ : 0;
        return (steps == 1 ? "one step of " : std::to_string(steps) + " steps of ") + time_words(mins) +
               (risk <= 0     ? std::string()
                : share < 0.1 ? ", with under 0.1 % of the listed risk,"
                              : ", with " + figure(share, 1) + " % of the listed risk,") +
               (steps == 1 ? " waits for it" : " wait for it");
    }
    /// As on the page: hours and minutes that add up.
    static std::string time_words(double mins) {
        if (mins < 90) return figure(std::round(mins * 10) / 10, 3) + " min";
        const long long whole = std::llround(mins);
        const long long rest = whole % 60;
        return std::to_string(whole / 60) + " h" + (rest == 0 ? std::string() : " " + std::to_string(rest) + " min");
    }

    // What the worst fault of a step does to the transformer, and how soon.
    static std::string harm_words(const Threat& t) {
        if (t.ahead_of_primary || !t.seconds_to_damage_low || t.hot_winding.empty()) return {};
        const double s = *t.seconds_to_damage_low;
        return t.fault.id + " would damage " + t.hot_winding + " in " +
               (s >= 5400 ? figure(s / 3600, 1) + " h"
                : s >= 90 ? figure(s / 60, 0) + " min"
                          : figure(s, 0) + " s");
    }

    // Within a limit no more is bought than what its steps fit.
    void buy_for_kept(RepairStep& s, const std::vector<int>& kept) const {
        std::vector<std::string> wanted, named;
        for (int j : kept) {
            const RepairStep& user = drafts_[at(j)];
            const bool waits_for_it = std::any_of(user.predecessors.begin(), user.predecessors.end(),
                                                  [&](const StepLink& l) { return l.step == s.step; });
            if (!waits_for_it || user.cost <= 0) continue;
            for (const std::string& id : user.parts)
                if (!has_been_bought(id)) wanted.push_back(id);
            if (user.step == "fit-fuse" && progress_.passed_at.count(s.step) == 0) named.push_back("holder and fuse");
        }
        named.insert(named.begin(), wanted.begin(), wanted.end());
        s.does = named.empty() ? "Nothing to buy: no step within the limit fits a part of the list"
                               : "Buy what the steps within the limit fit: " + listed(named);
        s.parts = wanted;
        for (Act& act : s.acts)
            if (act.kind == K::buy) act.parts = wanted;
    }

    const Part& part(int i) const { return chassis_.parts()[at(i)]; }
    const Part* part(const std::string& id) const {
        const int i = chassis_.part(id);
        return i < 0 ? nullptr : &part(i);
    }
    double minutes(const char* key) const {
        const StepCost* c = catalogue_.step_cost(key);
        return c ? c->minutes : 0;
    }

    // Windings of the power transformer and what is wired to them, the returns apart.
    void find_line_side() {
        const Family family = chassis_.family();
        from_vehicle_ = family == Family::vehicle;
        from_battery_ = family == Family::battery;
        const std::size_t nets = chassis_.nets().size();
        std::vector<bool> returns(nets), windings(nets);
        const NodeRoles& r = chassis_.nodes();
        for (int n : {r.chassis_metal, r.b_minus, r.earth, chassis_.reference()})
            if (n >= 0) returns[at(n)] = true;
        for (const Part& p : chassis_.parts())
            for (const PartWinding& w : p.windings) {
                if (w.role == WindingRole::primary) (from_vehicle_ ? vibrated_ : transformer_) = p.id;
                if (w.role != WindingRole::primary && w.role != WindingRole::plate && w.role != WindingRole::heater &&
                    w.role != WindingRole::rectifier_heater)
                    continue;
                for (int l : w.leads)
                    if (const int n = p.leads[at(l)].net; n >= 0 && !returns[at(n)]) windings[at(n)] = true;
            }
        // What goes on from a winding over another lead is a lead of that winding.
        for (bool grew = true; grew;) {
            grew = false;
            for (const Part& p : chassis_.parts()) {
                if (p.kind != PartKind::wire && p.kind != PartKind::power_switch && p.kind != PartKind::fuse) continue;
                if (std::none_of(p.leads.begin(), p.leads.end(),
                                 [&](const Lead& l) { return l.net >= 0 && windings[at(l.net)]; }))
                    continue;
                for (const Lead& l : p.leads) {
                    if (l.net < 0 || windings[at(l.net)] || returns[at(l.net)]) continue;
                    windings[at(l.net)] = true;
                    grew = true;
                }
            }
        }
        for (std::size_t i = 0; i < chassis_.parts().size(); ++i) {
            const Part& p = part(static_cast<int>(i));
            if (p.kind == PartKind::vibrator) vibrators_.push_back(p.id);
            const auto on = [&](const std::vector<bool>& set) {
                return std::any_of(p.leads.begin(), p.leads.end(),
                                   [&](const Lead& l) { return l.net >= 0 && set[at(l.net)]; });
            };
            const bool speaker_side = p.role == "speaker" || p.plug == "speaker";
            switch (p.kind) {
                case PartKind::cord:
                    line_side_.insert(p.id);
                    break;
                case PartKind::plug:
                    if (!speaker_side) line_side_.insert(p.id);
                    break;
                case PartKind::fuse:
                    fused_ = fused_ || on(duties_.line) || !from_line();  // a battery's lead has it anywhere
                    if (on(duties_.line)) line_side_.insert(p.id);
                    break;
                case PartKind::power_switch:
                    if (on(duties_.line)) line_side_.insert(p.id);
                    break;
                case PartKind::wire:
                    if (on(duties_.line) || on(windings)) line_side_.insert(p.id);
                    break;
                case PartKind::capacitor: {
                    const Duty d = duties_.of(static_cast<int>(i));
                    if (d == Duty::line_to_line || d == Duty::line_to_touch) line_capacitors_.push_back(p.id);
                    if (d == Duty::plate_winding) winding_capacitors_.push_back(p.id);
                    break;
                }
                default:
                    break;
            }
        }
    }

    bool from_line() const { return !from_vehicle_ && !from_battery_; }
    /// The line reaches the metal or B-minus: nothing earthed is ever clipped on (H22).
    bool live_metal() const { return from_line() && chassis_.hot(); }
    /// Heaters in series on the line.
    bool in_a_string() const { return from_line() && transformer_.empty(); }
    std::string source_side() const { return from_line() ? "line side" : "A lead"; }
    bool portable() const { return chassis_.family() == Family::portable && transformer_.empty(); }
    bool direct_line() const { return from_line() && chassis_.line().supply == "dc"; }
    /// The power transformer or the vibrator's: a fuse is fitted before it where the set was built without.
    bool has_iron() const { return !transformer_.empty() || !vibrated_.empty(); }
    /// Out of its socket by hand, no joint opened.
    static bool plugs_in(const Part& p) {
        return p.kind == PartKind::socket || p.kind == PartKind::lamp || p.kind == PartKind::vibrator;
    }

    /// The step that tries the iron by itself before money is spent; empty where there is none.
    std::string alone_step() const {
        if (!transformer_.empty()) return "transformer-alone";
        // a dry rectifier cannot be pulled: there the vibrator feeds the set whenever it runs
        return !vibrated_.empty() && !vibrators_.empty() && !duties_.rectifiers.empty() ? "vibrator-alone" : "";
    }

    static bool buys(const RepairStep& s) { return s.step == "buy-line-side" || s.step == "buy-parts"; }

    bool has_been_bought(const std::string& id) const {
        return std::any_of(progress_.deeds.begin(), progress_.deeds.end(),
                           [&](const Deed& deed) { return deed.act == word(K::buy) && holds(deed.parts, id); });
    }
    /// Of what a step of buying is for, what no entry has bought; it stays open for that.
    std::vector<std::string> still_to_buy(const std::vector<std::string>& all) const {
        std::vector<std::string> open;
        for (const std::string& id : all)
            if (!has_been_bought(id)) open.push_back(id);
        return open;
    }
    bool buys_more(const RepairStep& s) const {
        return buys(s) && std::any_of(s.acts.begin(), s.acts.end(), [&](const Act& act) {
                   const auto end = progress_.passed_at.find(s.step);
                   // a log that was begun before its parts were kept names none
                   const bool by_name =
                       std::any_of(progress_.deeds.begin(), progress_.deeds.end(),
                                   [](const Deed& deed) { return deed.act == word(K::buy) && !deed.parts.empty(); });
                   return end != progress_.passed_at.end() && by_name && act.kind == K::buy && !act.parts.empty();
               });
    }

    bool left_out(const std::string& id) const {
        const auto state = progress_.parts.find(id);
        return state != progress_.parts.end() && state->second == PartState::omitted;
    }
    RepairStep& add(const std::string& id, const std::string& does, double mins) {
        RepairStep s;
        s.step = id;
        s.does = does;
        s.minutes = mins;
        drafts_.push_back(std::move(s));
        return drafts_.back();
    }
    bool there(const std::string& id) const {
        return std::any_of(drafts_.begin(), drafts_.end(), [&](const RepairStep& s) { return s.step == id; });
    }
    /// Whether `step` follows `before` already, by whatever rule.
    bool holds_for(const std::string& step, const std::string& before) const {
        for (const RepairStep& s : drafts_)
            if (s.step == step)
                return std::any_of(s.predecessors.begin(), s.predecessors.end(),
                                   [&](const StepLink& l) { return l.step == before; });
        return false;
    }
    void after(const std::string& step, const std::string& before, const std::string& rule, const std::string& why) {
        if (step == before || !there(before)) return;
        for (RepairStep& s : drafts_) {
            if (s.step != step) continue;
            for (const StepLink& l : s.predecessors)
                if (l.step == before && l.rule == rule) return;
            s.predecessors.push_back({before, rule, why});
        }
    }

    // Lugs of strips that the file names for the leads of a part.
    std::vector<std::string> lugs_of(int i) const {
        std::vector<std::string> lugs;
        for (std::size_t l = 0; l < part(i).leads.size(); ++l) {
            const std::string written(chassis_.data().written({i, static_cast<int>(l)}));
            const Part* strip = part(written.substr(0, written.find('.')));
            if (strip && strip->kind == PartKind::strip) lugs.push_back(written);
        }
        return lugs;
    }
    bool share_a_lug(int i, int j) const {
        const std::vector<std::string> there = lugs_of(j);
        const std::vector<std::string> here = lugs_of(i);
        return std::any_of(here.begin(), here.end(), [&](const std::string& lug) { return holds(there, lug); });
    }

    std::string place_of(int i) const {
        const Part& p = part(i);
        if (!p.location.empty()) return p.location;
        if (!p.can.empty() && p.kind != PartKind::wire) return p.can;
        // Else where the lug is that the file names.
        for (const std::string& lug : lugs_of(i)) return lug.substr(0, lug.find('.'));
        if (p.plug == "speaker") return "on the speaker";
        if (!duties_.feeds[at(i)].empty()) return part(duties_.feeds[at(i)].front()).id;
        if (line_side_.count(p.id)) return source_side();
        return "chassis";
    }

    void draft_all() {
        openings();
        line_steps();
        replacement_steps();
        measuring_steps();
        read_behind_capacitors();
        put_back_steps();
        closing_steps();
        doubted_steps();
        emptying_steps();
        if (policy_.purpose == PurposePolicy::preserve) keep_as_it_is();
        if (!progress_.steps_done.empty() || !progress_.deeds.empty() || !doubted_.empty()) drop_done();
        if (policy_.purpose != PurposePolicy::preserve && !progress_.steps_done.empty()) tubes_back();
        open_ends_first();
    }
    // An end that the log has open is closed before anything is begun that its closing does not wait for.
    void open_ends_first() {
        std::vector<std::string> open, all;
        for (const RepairStep& s : drafts_) {
            all.push_back(s.step);
            if (due(s) && std::none_of(s.acts.begin(), s.acts.end(), [](const Act& act) { return feeds(act.kind); }))
                open.push_back(s.step);
        }
        for (const std::string& closing : open)
            for (const std::string& other : all)
                if (!holds(open, other) && !waits(closing, other) && !waits(other, closing))
                    after(other, closing, "s16", "what is open by the log is closed and checked before the next");
    }
    /// Out or with an end free by the log, or under such a part: done by itself, that no evening is too short for it.
    bool open_now(int i) const {
        const auto out = [&](const std::string& id) {
            const auto state = progress_.parts.find(id);
            return state != progress_.parts.end() &&
                   (state->second == PartState::lifted || state->second == PartState::removed);
        };
        const std::vector<std::string> over = lifted_for(part(i).id);
        return out(part(i).id) || std::any_of(over.begin(), over.end(), out);
    }
    // A tube or a lamp that is out, and that no step which is left puts in again.
    void tubes_back() {
        std::vector<std::string> out;
        for (const auto& [id, state] : progress_.parts) {
            const Part* p = part(id);
            const bool goes_in = std::any_of(drafts_.begin(), drafts_.end(), [&, name = id](const RepairStep& s) {
                return std::any_of(s.acts.begin(), s.acts.end(), [&](const Act& act) {
                    return (act.kind == K::fit || act.kind == K::refit_tube) && holds(act.parts, name);
                });
            });
            if (p && plugs_in(*p) && state == PartState::removed && !goes_in) out.push_back(id);
        }
        if (out.empty()) return;
        const std::string id = "put-back-" + joined(out);
        RepairStep& s = add(id, "Put " + listed(out) + " back into the socket, out by the log",
                            static_cast<double>(out.size()) * minutes("refit"));
        s.parts = out;
        s.reason = "a part that was taken out and never put back is the commonest disaster";
        s.check = "as on the sketch; no socket left empty";
        s.acts = {{K::discharge, {}, "each filter section", 0}, {K::refit_tube, out, "back in its socket", 0}};
        after(id, "cold-ohms-all", "H19", "nothing is shorted before the tube goes back");
        after(id, "trace-polarity", "H23", "plus is traced before the tube goes back");
        for (const char* later : {"write-volts", "alignment", "soak", "reassemble", "touch-current", "hand-back"})
            if (!waits(id, later)) after(later, id, "H17", "nothing lifted or removed is left out");
    }

    // A rule that a reading speaks against is not kept, whatever was entered: what is wrong is found with the plug out,
    // the rule's own step is done anew, and what the rule forbids waits for both.
    void doubted_steps() {
        static constexpr std::array closing{"transformer-alone", "vibrator-alone", "power-up", "battery-power",
                                            "write-volts",       "alignment",      "soak",     "reassemble",
                                            "touch-current",     "hand-back"};
        std::map<std::string, std::vector<const Doubted*>> by_rule;
        for (const Doubted& one : doubted_) by_rule[one.rule].push_back(&one);
        for (const auto& [rule, of] : by_rule) {
            std::string numbers;
            std::vector<std::string> at;
            for (const Doubted* one : of) {
                numbers += (numbers.empty() ? "" : "; ") + one->words;
                if (!one->missing) at.push_back(one->at);
            }
            std::vector<std::string> anew;
            if (rule == "H19") anew = {"cold-ohms-all"};
            if (rule == "H6") anew = {"transformer-alone", "vibrator-alone", "power-up"};  // the rectifier came out
            if (rule == "H15") anew = {"touch-current"};
            if (rule == "H13") anew = {write_volts(numbers, at.empty())};
            if (!at.empty()) anew.insert(anew.begin(), find_step(rule, numbers, at));
            const char* first = rule == "H13" ? "power-up" : rule == "H15" ? "touch-current" : closing.front();
            for (const std::string& id : anew) reopened_.emplace(id, numbers);
            for (std::size_t k = 0; k < anew.size(); ++k) {
                for (std::size_t later = k + 1; later < anew.size(); ++later)
                    after(anew[later], anew[k], rule, "what a reading speaks against is found and shown right first");
                for (auto step = std::find_if(closing.begin(), closing.end(),
                                              [&](const char* one) { return std::string(first) == one; });
                     step != closing.end(); ++step)
                    if (!waits(anew[k], *step))
                        after(*step, anew[k], rule, "what a reading speaks against is found and shown right first");
            }
        }
    }
    std::string find_step(const std::string& rule, const std::string& numbers, const std::vector<std::string>& at) {
        const std::string id = "find-" + rule;
        std::vector<std::string> suspects;
        for (const std::string& place : at)
            for (const std::string& part_there : hanging_on(place))
                if (!holds(suspects, part_there)) suspects.push_back(part_there);
        if (rule == "H15") {  // whatever stands between the line and the metal
            suspects = line_capacitors_;
            if (!transformer_.empty()) suspects.push_back(transformer_);
        }
        RepairStep& s =
            add(id,
                "Find out why: " + numbers + (suspects.empty() ? "" : ". There: " + listed(suspects)) + ". " +
                    std::string(from_line() ? "Plug out" : "Supply off") + " and empty, look, then ohms" +
                    (rule == "H6" ? " of each winding, and its leads one by one"
                                  : ", one lead free at a time, back before the next") +
                    "; enter what is found, and what it reads then",
                minutes("visual") + minutes("cold-ohms"));
        s.parts = suspects;
        s.place = "whole chassis";
        s.reason = "never once more to see: what reads past its limit does so for a reason";
        s.check = rule + " holds again by a reading in the log: " + reads_right(rule);
        s.acts = {{K::inspect, {}, "what reads wrong", 0}, {K::measure, {}, "ohms, lead by lead", 0}};
        after(id, "photographs", "H2", "no joint is opened before the pictures");
        after(id, "discharge", "charge", "hands in an empty set");
        return id;
    }
    static std::string reads_right(const std::string& rule) {
        return rule == "H19"   ? "the ohms inside their band"
               : rule == "H6"  ? "each winding inside its stop, halves of the plate winding within 3 %"
               : rule == "H15" ? "the touch current under its limit"
                               : "the volts inside their band";
    }
    /// Parts with a lead there: what can short or load it first.
    std::vector<std::string> hanging_on(const std::string& place) const {
        std::vector<std::string> first, rest;
        const int net = chassis_.net(place);
        if (net < 0 || net == chassis_.reference() || net == chassis_.nodes().chassis_metal) return first;
        for (const LeadRef& ref : chassis_.nets()[at(net)].leads) {
            const Part& p = part(ref.part);
            if (p.kind == PartKind::strip) continue;
            std::vector<std::string>& list = p.kind == PartKind::capacitor ? first : rest;
            if (!holds(first, p.id) && !holds(rest, p.id)) list.push_back(p.id);
        }
        first.insert(first.end(), rest.begin(), rest.end());
        return first;
    }
    /// The volts of a set that was brought up, once more, from behind the lamp where one read wrong.
    std::string write_volts(const std::string& numbers, bool missing) {
        const std::string id = "write-volts", lamp = from_line() ? "behind the lamp" : "from a supply that limits",
                          full = from_line() ? "full line" : "full volts",
                          off = from_line() ? "plug out" : "supply off";
        RepairStep& s = add(
            id,
            (missing ? "By the power-up sheet at " + full + ": read the volts and enter them"
                     : "By the power-up sheet " + lamp + ", then at " + full + ": read the volts again and enter them"),
            (missing ? 1 : 2) * minutes("power-stage"));
        s.place = "bench supply";
        s.reason = "alignment hides faults that volts show; " + numbers;
        s.check = "every reading of the sheet inside its band, in the log";
        if (!missing) s.acts = {{K::power_b_plus, {}, lamp, 10}, {K::discharge, {}, off, 0}};
        s.acts.push_back({K::power_full_line, {}, full, 15});
        s.acts.push_back({K::log_volts, {}, "every pin of the sheet", 0});
        s.acts.push_back({K::discharge, {}, off, 0});
        wait_for_all(id);
        after(id, "power-up", "list", "the set was brought up");
        after(id, "battery-power", "list", "one supply after the other is right first");
        return id;
    }

    /// A step that is planned leaves the part in: a new one, or the old one back.
    bool puts_back(const std::string& id) const {
        return std::any_of(drafts_.begin(), drafts_.end(), [&](const RepairStep& s) {
            return std::any_of(s.acts.begin(), s.acts.end(), [&](const Act& act) {
                return (act.kind == K::fit || act.kind == K::reconnect) && holds(act.parts, id);
            });
        });
    }
    /// Of what a step reads and puts back: that the log has it out.
    std::string goes_back(const std::vector<std::string>& list) const {
        std::vector<std::string> out;
        for (const std::string& id : list) {
            const auto state = progress_.parts.find(id);
            if (state != progress_.parts.end() &&
                (state->second == PartState::lifted || state->second == PartState::removed))
                out.push_back(id);
        }
        if (out.empty()) return {};
        return "; put " + listed(out) + " back, out by the log";
    }
    // What is out by the log, and is neither replaced nor measured, goes back as it was.
    void put_back_steps() {
        std::vector<int> waiting;
        for (const auto& [id, state] : progress_.parts) {
            const Part* p = part(id);
            const bool out = state == PartState::lifted || state == PartState::removed;
            if (p && out && !puts_back(id) && !plugs_in(*p)) waiting.push_back(chassis_.part(id));
        }
        for (const std::vector<int>& g : grouped(waiting)) {
            const std::vector<std::string> list = ids(g);
            const std::string id = "put-back-" + joined(list);
            RepairStep& s = add(id, place_of(g.front()) + ": put " + listed(list) + " back, out by the log",
                                static_cast<double>(list.size()) * minutes("refit"));
            at_place_.insert(id);
            s.parts = list;
            s.place = place_of(g.front());
            s.reason = "a part that was taken out and never put back is the commonest disaster";
            s.check = "as on the sketch; nothing left open";
            s.acts = {{K::reconnect, list, "as it was", 0}, {K::inspect, list, "joints", 0}};
            std::vector<std::string> capacitors;  // one that was out for its leakage may hold what it was read at
            for (const std::string& one : list) {
                if (part(one)->kind == PartKind::capacitor) capacitors.push_back(one);
                if (is_electrolytic(*part(one))) with_plus_.insert(id);
            }
            if (!capacitors.empty()) {
                s.does += "; " + listed(capacitors) + " emptied through 10 k 10 W first";
                s.acts.insert(s.acts.begin(), {K::discharge, capacitors, "through 10 k 10 W", 0});
            }
            solder_.push_back(id);
            for (const std::string& one : list) {
                // read first where that need not wait for the transformer's test, which wants it in
                if (owner_.count(one) && !waits(owner_[one], alone_step()))
                    after(id, owner_[one], "list", "it is read first");
                owner_.emplace(one, id);
            }
            links_.push_back({id, "H17", "nothing lifted or removed is left out"});
            after(id, "photographs", "H2", "no joint is opened before the pictures");
            after(id, "discharge", "charge", "hands in an empty set");
            if (!waits(id, alone_step())) after(alone_step(), id, "H17", "nothing lifted or removed is left out");
        }
    }

    /// The act by which a step shows what a change takes back.
    static std::optional<K> proof_of(const std::string& step) {
        if (step == "transformer-alone" || step == "vibrator-alone") return K::power_transformer_alone;
        if (step == "power-up" || step == "battery-power") return K::power_b_plus;
        if (step == "soak" || step == "reassemble" || step == "touch-current" || step == "hand-back") return K::soak;
        return std::nullopt;
    }
    /// What was changed since the step was entered as done, so that it no longer is.
    std::vector<std::string> changed_since(const RepairStep& s) const {
        const auto end = progress_.passed_at.find(s.step);
        if (end == progress_.passed_at.end()) return {};
        if (const std::optional<K> proof = proof_of(s.step)) return changes_.since(end->second, *proof);
        std::vector<std::string> renewed;
        for (const Act& act : s.acts)
            for (const std::string& id : act.parts)
                if ((act.kind == K::test_tube || act.kind == K::measure || act.kind == K::cold_ohms) &&
                    !holds(renewed, id) && !changes_.since(end->second, proof_of_one(act.kind), id).empty() &&
                    !shown(act.kind, id))
                    renewed.push_back(id);
        return renewed;
    }
    /// Windings are read one by one, as any part is.
    static K proof_of_one(K kind) { return kind == K::cold_ohms ? K::measure : kind; }
    /// A deed of that kind was of the part as it is now.
    bool shown(K kind, const std::string& id) const {
        for (std::size_t k = 0; k < progress_.deeds.size(); ++k)
            if (progress_.deeds[k].act == word(kind) && holds(progress_.deeds[k].parts, id) &&
                changes_.since(k + 1, proof_of_one(kind), id).empty())
                return true;
        return false;
    }

    /// The log has every act of the step, by whatever entry. Looking and discharging are nobody's alone.
    bool covered(const RepairStep& s) const {
        std::size_t asked = 0;
        for (const Act& act : s.acts) {
            const bool alone = s.acts.size() == 1;
            if (!alone && (act.kind == K::inspect || act.kind == K::discharge)) continue;
            ++asked;
            std::set<std::string> open(act.parts.begin(), act.parts.end());
            bool done = false;
            double mins = 0;
            const bool fed = act.kind != K::inspect && act.kind != K::cold_ohms;
            for (std::size_t k = 0; k < progress_.deeds.size(); ++k) {
                const Deed& deed = progress_.deeds[k];
                if (deed.act != word(act.kind) || (fed && !changes_.since(k + 1, act.kind).empty())) continue;
                done = done || act.parts.empty();
                mins += deed.minutes;
                for (const std::string& id : deed.parts)
                    if (changes_.since(k + 1, proof_of_one(act.kind), id).empty()) open.erase(id);
            }
            if (!(done || (!act.parts.empty() && open.empty())) || mins < act.minutes) return false;
        }
        return asked > 0;
    }

    /// It puts something back that is out by the log, whatever was done before.
    bool due(const RepairStep& s) const {
        const auto out = [&](const std::string& id) {
            const auto state = progress_.parts.find(id);
            const Part* p = part(id);
            return p && !plugs_in(*p) && state != progress_.parts.end() &&
                   (state->second == PartState::lifted || state->second == PartState::removed);
        };
        return std::any_of(s.acts.begin(), s.acts.end(), [&](const Act& act) {
            return (act.kind == K::reconnect || act.kind == K::fit) &&
                   std::any_of(act.parts.begin(), act.parts.end(), out);
        });
    }

    // Neither powered nor soldered: looked at, read cold, and what is out put back.
    void keep_as_it_is() {
        static const std::set<std::string> harmless{
            "label-check", "cord-safe",  "reference", "discharge",          "photographs", "inspect",
            "pull-tubes",  "test-tubes", "earth-off", "cold-ohms-windings", "preserve"};
        RepairStep& s = add("preserve",
                            "Put the boxes of the tubes with the set, close it as it was found, and tag it: kept as "
                            "it is, never plugged in",
                            minutes("hand-back"));
        s.reason = "the policy is to preserve: nothing original is lost, and nothing is powered";
        s.check = "tag on the cord and inside the cabinet, with the date and what was read";
        std::set<std::string> gone;
        for (const RepairStep& one : drafts_)
            if (!harmless.count(one.step) && one.step.rfind("put-back-", 0) != 0) gone.insert(one.step);
        forget(gone);
        for (const RepairStep& one : drafts_) after("preserve", one.step, "list", "it is closed last");
    }
    void forget(const std::set<std::string>& gone) {
        drafts_.erase(
            std::remove_if(drafts_.begin(), drafts_.end(), [&](const RepairStep& s) { return gone.count(s.step) > 0; }),
            drafts_.end());
        for (RepairStep& s : drafts_)
            s.predecessors.erase(std::remove_if(s.predecessors.begin(), s.predecessors.end(),
                                                [&](const StepLink& l) { return gone.count(l.step) > 0; }),
                                 s.predecessors.end());
    }

    /// Steps that are done still: nothing was changed since that undoes their proof, and no open joint will.
    std::set<std::string> done_still() {
        std::map<std::string, std::string> open;
        if (!progress_.deeds.empty()) open = unproved(chassis_, catalogue_, progress_, K::power_b_plus);
        std::set<std::string> gone;
        for (RepairStep& s : drafts_) {
            const bool stale =
                (s.step == "trace-polarity" && open.count("H23")) || (s.step == "cold-ohms-all" && open.count("H19"));
            if ((stale && !progress_.deeds.empty()) || due(s)) continue;
            if (const auto doubt = reopened_.find(s.step); doubt != reopened_.end()) {
                if (holds(progress_.steps_done, s.step) && s.step.rfind("find-", 0) != 0) {
                    s.reason = "again: " + doubt->second + "; " + s.reason;
                    again_.insert(s.step);
                }
                continue;
            }
            if (is_emptying(s.step)) continue;  // judged below, by what it is done after
            if (s.step == "discharge" && powered_last()) {
                s.reason = "again: it was powered since, and each stage may leave a charge; " + s.reason;
                again_.insert(s.step);
                continue;
            }
            const bool entered = holds(progress_.steps_done, s.step);
            const std::vector<std::string> changed = entered ? changed_since(s) : std::vector<std::string>{};
            if ((entered && changed.empty() && !buys_more(s)) || (!buys(s) && covered(s)))
                gone.insert(s.step);
            else if (!changed.empty())
                again(s, changed);
        }
        bool joint = false, plus = false, fed = false;
        for (const RepairStep& s : drafts_) {
            if (gone.count(s.step) > 0 || !holds(solder_, s.step)) continue;
            joint = true;
            plus = plus || with_plus_.count(s.step) > 0;
            fed = fed || std::any_of(s.parts.begin(), s.parts.end(),
                                     [&](const std::string& id) { return changes_.in_supply(id); });
        }
        if (joint) gone.erase("cold-ohms-all");
        if (plus) gone.erase("trace-polarity");
        for (const char* step :
             {"vibrator-alone", "power-up", "battery-power", "soak", "reassemble", "touch-current", "hand-back"})
            if (fed && step != alone_step()) gone.erase(step);
        // power-up itself writes the volts down, and a set that is handed back is not read again for the sake of paper
        const bool read = std::any_of(doubted_.begin(), doubted_.end(),
                                      [](const Doubted& one) { return one.rule == "H13" && !one.missing; });
        const bool in_hand = std::any_of(drafts_.begin(), drafts_.end(), [&](const RepairStep& s) {
            return (s.step == "alignment" || s.step == "soak" || s.step == "reassemble" || s.step == "touch-current" ||
                    s.step == "hand-back") &&
                   gone.count(s.step) == 0;
        });
        if (gone.count("power-up") == 0 || (!read && !in_hand)) gone.insert("write-volts");
        const bool in = std::any_of(tubes_.begin(), tubes_.end(), [&](const std::string& id) {
            const auto state = progress_.parts.find(id);
            return state == progress_.parts.end() || state->second != PartState::removed;
        });
        for (const char* alone : {"transformer-alone", "vibrator-alone"})
            if (in && there(alone) && gone.count(alone) == 0) gone.erase("pull-tubes");
        // what a stage left is emptied when the stage is done, and no later one charged the set again
        std::vector<std::string> charged;
        bool now = false;  // by a stage that is done: every hand waits for its discharge
        for (const auto& [power, id] : emptied_by_) {
            if (!there(id)) continue;
            const bool later =
                std::any_of(emptied_by_.begin(), emptied_by_.end(), [&, stage = &power](const auto& other) {
                    return gone.count(other.first) > 0 && other.first != *stage && waits(other.first, *stage);
                });
            if (gone.count(power) > 0 && (holds(progress_.steps_done, id) || !powered_last() || later)) {
                gone.insert(id);
            } else {
                charged.push_back(id);
                now = now || gone.count(power) > 0;
            }
        }
        if (again_.count("discharge") > 0 &&
            (now || std::none_of(drafts_.begin(), drafts_.end(), [&](const RepairStep& s) {
                 return gone.count(s.step) == 0 && puts_hands_in(s) &&
                        std::none_of(charged.begin(), charged.end(),
                                     [&](const std::string& id) { return waits(s.step, id); });
             })))
            gone.insert("discharge");
        return gone;
    }
    /// The log's last power has no discharge behind it but the one that a stage ends with.
    bool powered_last() const {
        std::size_t emptied = 2;
        for (const Deed& deed : progress_.deeds) {
            const std::optional<K> kind = act_of(deed.act);
            if (kind == K::discharge && deed.parts.empty()) ++emptied;
            if (kind && feeds(*kind)) emptied = 0;
        }
        return emptied < 2;
    }
    static bool feeds(K kind) {
        return kind == K::power_transformer_alone || kind == K::power_heaters || kind == K::power_b_plus ||
               kind == K::power_full_line || kind == K::power_supply_alone || kind == K::soak || kind == K::align ||
               kind == K::check_touch_current;
    }
    /// Planned again, and why; of a test, what is new.
    void again(RepairStep& s, const std::vector<std::string>& changed) {
        s.reason = "again, since " + listed(changed) + " changed; " + s.reason;
        again_.insert(s.step);
        if (s.step == "cold-ohms-windings") {
            s.does = "Cold ohms of " + listed(changed) + ", new; to the core where nothing joins them to it";
            s.minutes *=
                static_cast<double>(changed.size()) / static_cast<double>(std::max<std::size_t>(1, s.parts.size()));
            s.parts = changed;
            s.acts = {{K::cold_ohms, changed, "windings", 0}};
        }
        if (s.step != "test-tubes") return;
        s.does = "Test " + listed(changed) + " for shorts, cold, tapped; then emission";
        s.minutes *=
            static_cast<double>(changed.size()) / static_cast<double>(std::max<std::size_t>(1, s.parts.size()));
        s.parts = changed;
        s.acts = {{K::test_tube, changed, "shorts, cold, tapped", 0}};
    }
    /// What was behind a step that is done and is open still stays ahead of all that follows it.
    void inherit(RepairStep& s, const std::string& done, const std::map<std::string, std::vector<StepLink>>& gone,
                 std::set<std::string>& seen) const {
        if (!seen.insert(done).second) return;
        for (const StepLink& l : gone.at(done)) {
            if (gone.count(l.step) > 0)
                inherit(s, l.step, gone, seen);
            else if ((l.rule[0] == 'H' || l.rule == "charge") &&
                     std::none_of(s.predecessors.begin(), s.predecessors.end(),
                                  [&](const StepLink& k) { return k.step == l.step && k.rule == l.rule; }))
                s.predecessors.push_back(l);
        }
    }
    // The clip at the end of a stage is the stage's own. Before hands go in each filter section is emptied and read by
    // itself: a step, done at once after the stage (arranged() keeps the two together), that every step with hands in
    // which waits for the stage waits for too.
    void emptying_steps() {
        std::vector<std::string> powered;
        for (const RepairStep& s : drafts_)
            if (std::any_of(s.acts.begin(), s.acts.end(), [](const Act& act) { return feeds(act.kind); }))
                powered.push_back(s.step);
        std::vector<std::string> hands;
        for (const RepairStep& s : drafts_)
            if (puts_hands_in(s)) hands.push_back(s.step);
        for (const std::string& power : powered) {
            // hands that come after this stage, and after no other stage behind it; stages have their own arrows
            std::vector<std::string> behind;
            bool any = false;
            for (const std::string& hand : hands) {
                const bool next =
                    hand != power && waits(hand, power) &&
                    std::none_of(powered.begin(), powered.end(), [&](const std::string& other) {
                        return other != power && other != hand && waits(hand, other) && waits(other, power);
                    });
                any = any || next;
                if (next && !holds(powered, hand)) behind.push_back(hand);
            }
            if (!any) continue;
            const std::string id = emptying + power;
            add_discharge(id, "it was powered just now, and a filter keeps its charge when nothing bleeds it");
            emptied_by_[power] = id;
            after(id, power, "list", "it was powered");
            for (const std::string& hand : behind) after(hand, id, "list", "hands in an empty set");
        }
    }
    void add_discharge(const std::string& id, const std::string& reason) {
        RepairStep& s = add(id,
                            std::string(from_line() ? "Plug out" : "Supply off") +
                                ": empty each filter section by itself through 10 k 10 W, read it, read it again "
                                "after a minute",
                            minutes("discharge"));
        s.reason = reason;
        s.check = "0 V on each section";
        s.acts = {{K::discharge, {}, "each filter section", 0}};
    }
    static constexpr const char* emptying = "discharge-after-";
    static bool is_emptying(const std::string& step) { return step.rfind(emptying, 0) == 0; }

    static bool puts_hands_in(const RepairStep& s) {
        return std::any_of(s.acts.begin(), s.acts.end(), [](const Act& act) {
            return act.kind == K::lift || act.kind == K::remove || act.kind == K::fit || act.kind == K::reconnect ||
                   act.kind == K::refit_tube || act.kind == K::measure || act.kind == K::cold_ohms ||
                   act.kind == K::sleeve || act.kind == K::trace_polarity || act.kind == K::reassemble ||
                   act.kind == K::plug_speaker || act.kind == K::fit_fuse;
        });
    }
    void drop_done() {
        const std::set<std::string> done = done_still();
        std::map<std::string, std::vector<StepLink>> gone;
        for (const RepairStep& s : drafts_)
            if (done.count(s.step) > 0) gone[s.step] = s.predecessors;
        drafts_.erase(
            std::remove_if(drafts_.begin(), drafts_.end(), [&](const RepairStep& s) { return gone.count(s.step) > 0; }),
            drafts_.end());
        for (RepairStep& s : drafts_) {
            const std::vector<StepLink> links = std::move(s.predecessors);
            s.predecessors.clear();
            for (const StepLink& l : links)
                if (gone.count(l.step) == 0) s.predecessors.push_back(l);
            std::set<std::string> seen;
            for (const StepLink& l : links)
                if (gone.count(l.step) > 0) inherit(s, l.step, gone, seen);
        }
        std::vector<std::string> first;  // discharges of what is charged now
        if (again_.count("discharge") > 0) first.emplace_back("discharge");
        for (const auto& [power, id] : emptied_by_)
            if (there(id) && gone.count(power) > 0) first.push_back(id);
        for (const std::string& id : first)
            for (const RepairStep& s : drafts_)
                // at once after the stage, as planned, before anything else
                if ((puts_hands_in(s) || (is_emptying(id) && !waits(id, s.step))) && !waits(s.step, id))
                    after(s.step, id, is_emptying(id) ? "list" : "charge", "hands in an empty set");
        // A set that was together already is read and traced before any power.
        const std::string alone = alone_step();
        for (const auto& [step, rule] : {std::pair("cold-ohms-all", "H19"), std::pair("trace-polarity", "H23")})
            if (again_.count(alone) > 0 && !waits(step, alone)) after(alone, step, rule, "before any power");
    }

    void openings() {
        {
            RepairStep& s = add(
                "label-check",
                from_vehicle_
                    ? "Compare label with the battery or the bench supply: volts, and which pole is on the frame"
                : from_battery_ ? "Compare label with each battery: volts, plus and minus of every lead of the cable"
                : portable()    ? "Compare label with the line and with each battery: volts, kind, plus and minus"
                : direct_line() ? "Compare label with the supply: volts of direct current, which blade is plus"
                : transformer_.empty()
                    ? "Compare label with the supply: volts, alternating or direct current, cycles"
                    : "Compare label, voltage selector and taps with the supply: volts, cycles, kind",
                minutes("label-check"));
            s.check = label_words();
            s.reason = "a set on the wrong supply is lost in the first second";
            s.acts = {{K::check_supply, {}, "label against supply", 0}};
        }
        std::vector<std::string> cords;
        for (const Part& p : chassis_.parts())
            if (p.kind == PartKind::cord) cords.push_back(p.id);
        {
            RepairStep& s =
                add("cord-safe",
                    from_vehicle_   ? "Take the A lead off its battery and tag it: the set is not fed as found"
                    : from_battery_ ? "Take the cable off the batteries and tag it: the set is not fed as found"
                    : portable()    ? "Batteries out; tie up and tag the cord, or cut its plug off: not fed as found"
                                 : "Tie up and tag the cord, or cut its plug off: the set is not plugged in as found",
                    minutes("tag"));
            s.parts = cords;
            s.reason = from_vehicle_
                           ? "a stuck vibrator or a shorted buffer draws what the battery gives: tens of amperes"
                       : from_battery_         ? "B on the filaments burns every tube at once"
                       : !transformer_.empty() ? "a shorted filter takes the transformer along before anyone has looked"
                                               : "a shorted filter takes the rectifier along before anyone has looked";
            s.check = from_line() ? "nobody can plug it in without seeing the tag"
                                  : "nobody can connect it without seeing the tag";
            s.acts = {{K::make_cord_safe, cords, "cord unusable or tagged", 0}};
            after("cord-safe", "label-check", "H0", "the supply is known before anything else");
        }
        {
            RepairStep& s = add("reference", "Settle where the black clip goes: " + reference_words(), minutes("log"));
            const bool named = chassis_.nodes().chassis_metal >= 0 || chassis_.nodes().b_minus >= 0;
            const std::vector<std::string> live = line_shorts(chassis_);
            s.reason = chassis_.hot() ? "hot by topology: the metal or B-minus is a line wire, and nothing earthed "
                                        "is clipped on, no earth wire and no earthed instrument"
                       : chassis_.level() < 2 ? "hot or isolated is not known from so little of a trace: taken as hot"
                       : !named
                           ? "hot or isolated is not known, no node says which net the metal is: taken as hot, nothing "
                             "earthed is clipped on until ohms from each blade to the metal are read"
                       : !live.empty() ? "isolated by topology, but as found the metal is the line by " + listed(live) +
                                             ": nothing earthed is clipped on before it is out"
                                       : "isolated by topology";
            s.check = "written on the tag";
            s.acts = {{K::settle_reference, {}, reference_words(), 0}};
            after("reference", "cord-safe", "H1", "nothing before the cord is safe");
        }
        add_discharge("discharge", "a filter keeps its charge when nothing bleeds it");
        after("discharge", "reference", "H3", "the clip goes to the right net");
        {
            RepairStep& s =
                add("photographs", "Photograph top, bottom in quarters, each socket; sketch every connection",
                    minutes("photographs"));
            s.reason = "grounding points, lead dress and earlier repairs cannot be recovered afterwards";
            s.check = "every socket pin is legible on a picture";
            s.acts = {{K::photograph, {}, "before the first joint is opened", 0}};
            after("photographs", "cord-safe", "H1", "nothing before the cord is safe");
        }
        {
            // What is on the line side and is not replaced is looked at here; the rest of the chassis for
            // burns, wax and insulation.
            std::vector<std::string> looked;
            for (const std::string& id : line_side_)
                if (action(id) != "replace" && !only_loose(*part(id))) looked.push_back(id);
            looked_.insert(looked.begin(), looked.end());
            std::vector<std::string> names = looked;
            RepairStep& s = add("inspect",
                                "Look the whole chassis over: " +
                                    (names.empty() ? std::string("sockets, windings, wax, burns, insulation")
                                                   : listed(names) + "; sockets, windings, wax, burns, insulation"),
                                minutes("visual"));
            s.parts = looked;
            s.place = "whole chassis";
            s.reason =
                std::string(
                    has_iron() ? "tracks between rectifier pins and bare lamp leads burn transformers and stand in no "
                                 "table"
                    : from_line() ? "tracks across sockets and bare leads put the line where a hand is, and stand "
                                    "in no table"
                                  : "what leaked from batteries and bare leads stand in no table") +
                "; what is found goes on the list, before ohms are judged and anything is bought";
            s.check =
                "char between plate and heater pins, leads on a sharp edge" +
                std::string(from_battery_ || portable() ? ", green battery contacts" : ", lamp sockets at the metal") +
                ": noted";
            s.acts = {{K::inspect, looked, "line side, heater and plate leads", 0}};
            after("inspect", "cord-safe", "H1", "nothing before the cord is safe");
        }
        {
            std::vector<std::string> windings, iron, coils;
            for (const Part& p : chassis_.parts())
                if (p.kind == PartKind::transformer || p.kind == PartKind::coil) {
                    windings.push_back(p.id);
                    const bool cored = p.kind == PartKind::transformer
                                           ? p.role != "if" && p.role != "rf" && p.role != "oscillator"
                                           : p.role == "field" || p.role == "choke";
                    (cored ? iron : coils).push_back(p.id);
                }
            std::string of = listed(iron);
            if (!coils.empty()) of += (of.empty() ? "the coils " : ", and the coils ") + listed(coils);
            RepairStep& s =
                add("cold-ohms-windings",
                    "Cold ohms of " + of + (iron.empty() ? "" : "; to the core where nothing joins them to it"),
                    minutes("cold-ohms"));
            s.parts = windings;
            s.reason = "an open winding changes what the set is worth";
            s.check = winding_ohms();
            s.acts = {{K::cold_ohms, windings, "windings", 0}};
            if (windings.empty()) {
                s.does = "Cold ohms from line to chassis and B-minus";
            }
            if (const std::string string = string_ohms(); !string.empty()) {
                const std::vector<std::string> gaps = gaps_of_string();
                s.does += gaps.empty() ? std::string("; of the heater string, switch on, its tubes in")
                                       : "; of each heater by itself, from pin to pin: the string is open at " +
                                             listed(gaps) + " as found";
                s.check += "; " + (gaps.empty() ? string : heaters_cold() + "; once they are new, " + string);
            }
            if (from_battery_ || portable())
                s.check += "; filaments of 50 mA never on the low range of an old ohmmeter: it burns them";
            std::vector<std::string> switches, clear;
            std::map<std::string, std::vector<std::string>> freed_switches;  // by place
            for (const std::string& id : looked_) {
                if (part(id)->kind != PartKind::power_switch) continue;
                switches.push_back(id);
                std::vector<int> contacts;
                for (const Lead& l : part(id)->leads) contacts.push_back(l.net);
                const WayToMetal way = way_to_metal(contacts);
                const auto on_line = [&](const std::string& c) { return holds(line_capacitors_, c); };
                if (way.open())
                    clear.push_back(id);
                else if (!from_line())
                    owner_[id] = "cold-ohms-all";  // with the A lead to the chassis
                else if (!way.joined && all_replaced(way.by) && std::all_of(way.by.begin(), way.by.end(), on_line))
                    behind_.emplace_back(id, way.by);
                else
                    freed_switches[place_of(chassis_.part(id))].push_back(id);
            }
            if (!switches.empty()) {
                std::vector<std::string> dirty;
                for (const std::string& id : switches)
                    if (!part(id)->seen.empty()) dirty.push_back(id);
                if (!dirty.empty()) s.does += "; " + listed(dirty) + " cleaned and worked first";
                s.does += "; ohms of each contact of " + listed(switches) + ", closed";
                s.check += "; each contact of " + listed(switches) + " under 1 ohm closed";
                if (!clear.empty()) {
                    s.does += "; megohms from each contact of " + listed(clear) + " to its case";
                    s.check += "; each contact of " + listed(clear) + " over 20 megohms from the case";
                }
                s.acts.push_back({K::measure, switches, "ohms closed", 0});
            }
            after("cold-ohms-windings", "discharge", "charge", "ohms are read on an empty set");
            for (const auto& [place, some] : freed_switches) free_switch_step(place, some);
        }
        std::vector<std::string> tubes, lamps, empty;
        for (const Part& p : chassis_.parts()) {
            if (p.kind == PartKind::socket && p.type && p.fitted != "none")
                (stands_empty(p) ? empty : tubes).push_back(p.id);
            if (p.kind == PartKind::lamp) lamps.push_back(p.id);
        }
        tubes_ = tubes;
        lamps_ = lamps;
        if (!tubes.empty()) {
            std::vector<std::string> both = tubes;
            both.insert(both.end(), lamps.begin(), lamps.end());
            both.insert(both.end(), vibrators_.begin(), vibrators_.end());
            RepairStep& s =
                add("pull-tubes", "Pull and label " + listed(both), minutes("tube") * static_cast<double>(both.size()));
            s.parts = both;
            s.place = "sockets";
            std::string worn;
            for (const std::string& id : both)
                if (action(id) == "replace" && !holds(lamps_, id))
                    worn += "; " + id + " does not go back, a new one does";
            s.reason = std::string(!transformer_.empty()   ? "the transformer is tested alone, and "
                                   : !alone_step().empty() ? "the vibrator's transformer is tried alone, and "
                                   : !vibrators_.empty()   ? "heaters are fed first with the vibrator out, and "
                                                           : "") +
                       "tubes are tested cold" + worn +
                       (empty.empty() ? std::string() : "; empty already: " + listed(empty));
            s.check = "each in its box with its socket's number";
            s.acts = {{K::remove, both, "pulled, not unsoldered", 0}};
            at_place_.insert("pull-tubes");
            after("pull-tubes", "discharge", "charge", "top caps carry what the filters hold");
            if (!string_ohms().empty())
                after("pull-tubes", "cold-ohms-windings", "list", "the string is read with its tubes in");
            std::vector<std::string> kept;  // what is on the list to be replaced has its verdict
            for (const std::string& id : tubes)
                if (action(id) != "replace") kept.push_back(id);
            if (!kept.empty()) test_tubes_step(kept);
        }
        std::vector<std::string> sockets;
        for (const auto* list : {&duties_.rectifiers, &duties_.output_tubes})
            for (int socket : *list)
                if (part(socket).kind == PartKind::socket) sockets.push_back(part(socket).id);
        std::sort(sockets.begin(), sockets.end());
        if (!sockets.empty()) {
            RepairStep& s = add("clean-sockets",
                                "Clean the sockets of " + listed(sockets) +
                                    " and scrape off what is charred; megohms from each plate pin to the other plate, "
                                    "the heater pins and the metal",
                                minutes("socket-clean") * static_cast<double>(sockets.size()));
            s.parts = sockets;
            s.place = "sockets";
            s.check = "over 20 megohms, but for what the windings join" + joined_pins(sockets) +
                      "; a charred wafer is a new socket";
            s.acts = {{K::measure, sockets, "megohms between pins", 0}};
            at_place_.insert("clean-sockets");
            after("clean-sockets", "pull-tubes", "access", "a socket is cleaned empty");
            after("clean-sockets", "discharge", "charge", "hands in an empty set");
        }
        after("reference", "inspect", "list", "eyes come before clips and hands");
        lamp_step();
        earth_step();
        after("cold-ohms-windings", "inspect", "list", "what is seen decides what is read");
        if (earth_.forbidden())
            after("cold-ohms-windings", "earth-off", "H22", "off before an instrument is clipped on, and never back");
    }

    void test_tubes_step(const std::vector<std::string>& tubes) {
        RepairStep& t = add("test-tubes", "Test " + listed(tubes) + " for shorts, cold, tapped; then emission",
                            minutes("tube-test") * static_cast<double>(tubes.size()));
        t.parts = tubes;
        t.place = "tube tester";
        t.reason = "a shorted rectifier is a shorted plate winding";
        t.check = "no short between electrodes" + heater_words(tubes);
        if (from_battery_ || portable()) {
            t.reason = "a filament that touches its grid or plate burns when B comes";
            t.check = "filament whole (a digital meter, never the low range of an old one); no short to grid or plate";
        } else if (transformer_.empty() && vibrated_.empty()) {
            t.reason = "one open heater darkens the string, a short from heater to cathode puts the line on a cathode";
        }
        t.acts = {{K::test_tube, tubes, "shorts, cold, tapped", 0}};
        after("test-tubes", "pull-tubes", "access", "a tube is tested out of its socket");
    }

    /// A filament is its own cathode, and a cold cathode has no heater: nothing is asked between them.
    std::string heater_words(const std::vector<std::string>& tubes) const {
        std::vector<std::string> apart, none;
        for (const std::string& id : tubes) {
            const TubeType& type = *part(id)->type;
            if (!type.heater_volts)
                none.push_back(id);
            else if (!type.directly_heated)
                apart.push_back(id);
        }
        if (apart.empty()) return none.empty() ? "" : "; " + listed(none) + " has no heater";
        return std::string(", heater to cathode over 1 megohm cold") +
               (apart.size() == tubes.size() ? "" : " of " + listed(apart)) +
               (none.empty() ? "" : "; " + listed(none) + " has no heater");
    }
    /// Plate pins that the set's own resistors join to the metal: they do not read open.
    std::string joined_pins(const std::vector<std::string>& sockets) const {
        const int metal = chassis_.nodes().chassis_metal >= 0 ? chassis_.nodes().chassis_metal : chassis_.reference();
        if (metal < 0) return {};
        const PartGraph copper(chassis_.parts(), static_cast<int>(chassis_.nets().size()), Through::copper);
        const std::vector<bool> reached = copper.reached({metal});
        std::vector<std::string> pins;
        for (const std::string& id : sockets)
            for (const Lead& l : part(id)->leads) {
                const Pin* pin = part(id)->type ? part(id)->type->pin(l.name) : nullptr;
                const bool plate = pin && std::any_of(pin->electrodes.begin(), pin->electrodes.end(),
                                                      [](const std::string& e) { return e[0] == 'p'; });
                if (plate && l.net >= 0 && reached[at(l.net)]) pins.push_back(id + "." + l.name);
            }
        return pins.empty()
                   ? std::string()
                   : ", and " + listed(pins) + " to the metal, where the set's own resistors and windings are " +
                         "read, as the cold ohms of the sheet have them";
    }

    std::string label_words() const {
        if (from_vehicle_ || from_battery_) {
            std::string text;
            for (const Part& p : chassis_.parts())
                if (p.kind == PartKind::battery && p.rated_volts)
                    text += (text.empty() ? "" : ", ") + p.id + " " + say(volts(*p.rated_volts)) +
                            (p.leads.empty() || p.leads[0].net < 0
                                 ? std::string()
                                 : ", plus to " + chassis_.nets()[at(p.leads[0].net)].name);
            return text.empty() ? "volts and poles as the label has them" : "the file says " + text;
        }
        return "the label reads " + figure(chassis_.line().volts) + " V " +
               (direct_line() ? "of direct current" : figure(chassis_.line().hertz) + " cycles") +
               (chassis_.line().volts_stated ? "" : " (assumed: read it)");
    }

    /// What the heaters of a string across the line read cold; empty where there is none. A cold heater has a fifth to
    /// an eighth of its hot ohms (common practice, no source).
    std::string string_ohms() const {
        if (!from_line() || portable() || !transformer_.empty()) return {};
        double sum = 0, least = 0;
        for (const Part& p : chassis_.parts()) {
            if (p.kind != PartKind::socket || !p.type || p.fitted == "none" || stands_empty(p)) continue;
            const TubeType& type = *p.type;
            if (!type.heater_volts || !type.heater_amps || *type.heater_amps <= 0) return {};
            sum += *type.heater_volts;
            least = least > 0 ? std::min(least, *type.heater_amps) : *type.heater_amps;
        }
        if (sum <= 0) return {};
        const double hot = sum / least;
        return "the string cold between " + say(ohms(std::round(hot / 8))) + " and " + say(ohms(std::round(hot / 5))) +
               " (a fifth to an eighth of its hot " + say(ohms(std::round(hot))) + "), and what drops the rest besides";
    }

    /// What opens the heater string or its tapped section, as found: the whole of it reads nothing.
    std::vector<std::string> gaps_of_string() const {
        std::vector<std::string> gaps;
        for (const Part& p : chassis_.parts()) {
            const bool dead = p.seen.find("open") != std::string::npos || p.seen.find("dead") != std::string::npos ||
                              p.seen.find("missing") != std::string::npos;
            if ((p.kind == PartKind::socket && p.type && (dead || stands_empty(p))) ||
                (p.kind == PartKind::lamp && dead))
                gaps.push_back(p.id);
        }
        return gaps;
    }
    /// Each heater of the string by itself, cold, as string_ohms() has the sum.
    std::string heaters_cold() const {
        std::string text;
        for (const Part& p : chassis_.parts()) {
            if (p.kind != PartKind::socket || !p.type || stands_empty(p) || p.fitted == "none") continue;
            if (!p.type->heater_volts || !p.type->heater_amps || holds(gaps_of_string(), p.id)) continue;
            const double hot = *p.type->heater_volts / *p.type->heater_amps;
            text += (text.empty() ? "" : ", ") + p.id + " " + say(ohms(std::round(hot / 8))) + " to " +
                    say(ohms(std::round(hot / 5)));
        }
        return "heaters cold: " + (text.empty() ? "none to read" : text) + " (a fifth to an eighth of hot)";
    }

    // The earth as found: off before the first power where the line can reach it, and off for the touch current always.
    void earth_step() {
        if (!earth_.on) return;
        const std::string hangs = listed(earth_.old_capacitors);
        RepairStep& s = add("earth-off",
                            "Take " + earth_.name + " off the metal, at its outer end or its screw" +
                                (earth_.forbidden() ? ", before the set is powered" : ", for the touch current"),
                            minutes("lift"));
        s.parts = earth_.over;
        s.place = "earth";
        s.reason = earth_.hot
                       ? "the line reaches the chassis or B-minus: earthed, the metal is the other side of the line"
                   : earth_.forbidden() ? hangs + " alone stands between the line and earthed metal, and is not class Y"
                                        : "on an earthed chassis the touch current reads nothing, whatever leaks";
        s.check = "open from the metal to the earth pin of the house, plug out; " +
                  std::string(earth_.hot ? "it never goes back" : "it goes back only after the touch current is read") +
                  (earth_.hot || hangs.empty() ? "" : ", with " + hangs + " out or class Y");
        s.acts = {{K::lift_earth, earth_.over, "off the metal", 0}};
        after("earth-off", "photographs", "H2", "no joint is opened before the pictures");
    }

    // The leads of the lamps stay on the heater winding when the lamps are pulled.
    void lamp_step() {
        std::vector<std::string> lamps;
        double money = 0;
        for (const std::string& id : lamps_) {
            const auto state = progress_.parts.find(id);
            if (state != progress_.parts.end() && state->second == PartState::fitted) continue;
            lamps.push_back(id);
            if (const auto it = bought_.find(id); it != bought_.end()) money += it->second.cost;
        }
        if (lamps.empty()) return;
        RepairStep& s = add("sleeve-" + joined(lamps),
                            "Sleeve or replace the leads and the sockets of the dial lamps " + listed(lamps),
                            minutes("wire-sleeve") * static_cast<double>(lamps.size()));
        s.parts = lamps;
        s.place = "dial";
        s.cost = choice::cents(money);
        s.reason = lamp_lead_words();
        s.check = "lamp out, leads clear of pan and pulley; freed at its far end, " + live_leads_of(lamps) +
                  " over 1 megohm to the metal";
        s.acts = {{K::sleeve, lamps, "leads and sockets", 0}, {K::inspect, lamps, "clear of the metal", 0}};
        if (in_a_string())
            if (const std::vector<std::string> dead = renewed_lamps(); !dead.empty())
                s.acts.insert(s.acts.begin() + 1, {K::fit, dead, "the new one in the place of the old", 0});
        for (const std::string& id : lamps) owner_[id] = s.step;
        const bool new_in_string = in_a_string() && std::any_of(lamps.begin(), lamps.end(), [&](const std::string& id) {
                                       return action(id) == "replace";
                                   });
        line_fits_.push_back({s.step,
                              !transformer_.empty() ? "H5"
                              : new_in_string       ? "H12"
                                                    : "list",
                              !transformer_.empty() ? "dial-lamp leads hang on the heater winding, pulled lamps or not"
                              : new_in_string       ? "the lamp that shunts a part of the string is in, its leads sound"
                                                    : "dial-lamp leads are fed with the heaters"});
        solder_.push_back(s.step);
        at_place_.insert(s.step);
        const std::string id = s.step;
        after(id, "photographs", "H2", "no joint is opened before the pictures");
        after(id, "discharge", "charge", "hands in an empty set");
    }

    /// A leg that the circuit has on the metal is not asked for megohms.
    std::string live_leads_of(const std::vector<std::string>& lamps) const {
        const int metal = chassis_.nodes().chassis_metal >= 0 ? chassis_.nodes().chassis_metal : chassis_.reference();
        const PartGraph wires(chassis_.parts(), static_cast<int>(chassis_.nets().size()), Through::short_wire);
        const std::vector<bool> grounded =
            metal < 0 ? std::vector<bool>(chassis_.nets().size()) : wires.reached({metal});
        std::set<std::string> legs;
        bool tied = false;
        for (const std::string& id : lamps)
            for (const Lead& l : part(id)->leads)
                if (l.net >= 0 && !grounded[at(l.net)])
                    legs.insert(chassis_.nets()[at(l.net)].name);
                else
                    tied = true;
        return !tied || legs.empty() ? std::string("each lead")
                                     : "each lead from " + listed({legs.begin(), legs.end()}) +
                                           " (the other leg goes to the metal by the circuit)";
    }

    std::string lamp_lead_words() const {
        if (!transformer_.empty())
            return "a lamp lead on the metal shorts the heater winding: the commonest of all faults that burn it";
        return from_vehicle_   ? "a lamp lead on the metal shorts the A lead behind its fuse"
               : from_battery_ ? "a lamp lead on the metal shorts the A battery"
                               : "a lamp lead on the metal bridges a part of the string, or puts the line on the metal";
    }

    std::string reference_words() const {
        const int net = chassis_.reference();
        return net >= 0 ? chassis_.nets()[at(net)].name : "not known";
    }
    std::string winding_ohms() {
        std::string text;
        for (const Part& p : chassis_.parts())
            for (const PartWinding& w : p.windings) {
                if (w.role == WindingRole::rf || w.ohms.empty()) continue;
                for (std::size_t k = 0; k < w.ohms.size(); ++k) {
                    std::string name = p.id + " " + w.name;
                    if (w.ohms.size() > 1) name.append(".").append(std::to_string(k + 1));
                    text += (text.empty() ? "" : ", ") + name + " " + say(ohms(w.ohms[k]));
                }
            }
        for (const Part& p : chassis_.parts())
            if (p.kind == PartKind::coil && p.ohms)
                text += (text.empty() ? "" : ", ") + p.id + " " + say(ohms(*p.ohms));
        if (text.empty()) return "continuity";
        // A winding with a lead on the metal reads its own ohms to the core: only the others can be asked for megohms
        // while everything is still soldered.
        std::vector<std::string> clear, leaky, tied;
        for (const Part& p : chassis_.parts())
            for (const PartWinding& w : p.windings) {
                if (w.role == WindingRole::rf) continue;
                std::vector<int> ends;
                for (int k : w.leads) ends.push_back(p.leads[at(k)].net);
                const WayToMetal way = way_to_metal(ends);
                const std::string name = p.id + " " + w.name;
                (way.joined ? tied : way.open() ? clear : leaky).push_back(name);
                if (!way.joined && all_replaced(way.by)) behind_.emplace_back(name, way.by);
            }
        text = "the file says " + text + "; halves may differ 25 %";
        if (!clear.empty()) text += "; over 1 megohm to the core: " + listed(clear);
        if (!leaky.empty()) text += "; not judged to the core while old capacitors hang between them: " + listed(leaky);
        if (!tied.empty())
            text +=
                "; joined to the metal by the circuit, so no megohms until a lead is freed, which no step asks for: " +
                listed(tied);
        return text;
    }

    /// What stands between some nets and the metal: a resistor, a coil or a wire, or old capacitors alone, which leak.
    struct WayToMetal {
        bool joined = false;
        std::vector<std::string> by;  ///< capacitors
        bool open() const { return !joined && by.empty(); }
    };
    WayToMetal way_to_metal(const std::vector<int>& nets) const {
        WayToMetal way;
        const int metal = chassis_.nodes().chassis_metal >= 0 ? chassis_.nodes().chassis_metal : chassis_.reference();
        if (metal < 0) return way;
        const PartGraph copper(chassis_.parts(), static_cast<int>(chassis_.nets().size()), Through::copper);
        const std::vector<bool> grounded = copper.reached({metal});
        std::vector<int> from;
        for (const int net : nets) {
            way.joined = way.joined || (net >= 0 && grounded[at(net)]);
            if (net >= 0) from.push_back(net);
        }
        const std::vector<bool> reached = copper.reached(from, grounded);
        for (const Part& c : chassis_.parts()) {
            if (c.kind != PartKind::capacitor || c.leads.size() != 2 || action(c.id) == "leave") continue;
            const int a = c.leads[0].net, b = c.leads[1].net;
            if (a >= 0 && b >= 0 && ((reached[at(a)] && grounded[at(b)]) || (reached[at(b)] && grounded[at(a)])))
                way.by.push_back(c.id);
        }
        return way;
    }
    bool all_replaced(const std::vector<std::string>& ids) const {
        return !ids.empty() &&
               std::all_of(ids.begin(), ids.end(), [&](const std::string& id) { return action(id) == "replace"; });
    }
    /// Contacts that the circuit joins to the metal are read with their leads off, after the pictures.
    void free_switch_step(const std::string& place, const std::vector<std::string>& poles) {
        const std::string id = "free-" + joined(poles);
        RepairStep& s =
            add(id,
                place + ": free the leads of " + listed(poles) +
                    ", each lead tagged with its lug; megohms from each contact to its case; put them back",
                static_cast<double>(poles.size()) * (minutes("lift") + minutes("measure") + minutes("refit")));
        s.parts = poles;
        s.place = place;
        s.reason = "a contact that leaks puts the line on its case, and the circuit hides that while its leads are on";
        s.check = "over 20 megohms from each contact to the case";
        s.acts = {{K::lift, poles, "its leads", 0},
                  {K::measure, poles, "megohms to the case", 0},
                  {K::reconnect, poles, "as it was", 0},
                  {K::inspect, poles, "joints", 0}};
        at_place_.insert(id);
        solder_.push_back(id);
        for (const std::string& one : poles) owner_[one] = id;
        line_fits_.push_back({id, "H5", "the switch keeps the line off its case"});
        after(id, "cold-ohms-windings", "list", "read in its place first");
        after(id, "photographs", "H2", "no joint is opened before the pictures");
        after(id, "discharge", "charge", "hands in an empty set");
    }
    /// What old capacitors hid from the cold ohms is read by the step that takes them out; where several do, by the
    /// last cold ohms, if no new one between them leaks by its nature.
    void read_behind_capacitors() {
        std::map<std::pair<std::string, std::vector<std::string>>,
                 std::pair<std::vector<std::string>, std::vector<std::string>>>
            reads;  // windings, switches
        for (const auto& [what, by] : behind_) {
            std::vector<std::string> steps;
            for (const std::string& id : by)
                if (const auto own = owner_.find(id); own != owner_.end() && !holds(steps, own->second))
                    steps.push_back(own->second);
            if (steps.size() == 1 && there(steps.front())) {
                auto& [windings, switches] = reads[{steps.front(), by}];
                (part(what) ? switches : windings).push_back(what);
            } else if (!part(what) && std::none_of(by.begin(), by.end(),
                                                   [&](const std::string& id) { return is_electrolytic(*part(id)); })) {
                read_last_.push_back(what);
            }
        }
        for (const auto& [where, what] : reads) {
            const auto& [windings, switches] = what;
            const std::string out = "with the old " + listed(where.second) + " out";
            RepairStep& s = step(where.first);
            std::string does, check;
            std::vector<std::string> parts;
            for (const std::string& w : windings)
                if (const std::string id = w.substr(0, w.find(' ')); !holds(parts, id)) parts.push_back(id);
            if (!windings.empty()) {
                does = "megohms of " + listed(windings) + " to the core";
                check = listed(windings) + " over 1 megohm to the core";
            }
            if (!switches.empty()) {
                does += (does.empty() ? "" : " and ") + ("megohms from each contact of " + listed(switches)) +
                        " to its case";
                check += (check.empty() ? "" : ", ") + ("each contact of " + listed(switches)) +
                         " over 20 megohms from the case";
            }
            s.does += "; " + out + ", " + does;
            s.check += "; " + out + ", " + check;
            s.minutes += minutes("measure");
            for (const auto& [kind, list] : {std::pair(K::cold_ohms, parts), std::pair(K::measure, switches)}) {
                const auto fit =
                    std::find_if(s.acts.begin(), s.acts.end(), [](const Act& a) { return a.kind == K::fit; });
                if (!list.empty()) s.acts.insert(fit, Act{kind, list, "with the old capacitors out", 0});
            }
            for (const std::string& id : switches) owner_[id] = where.first;
        }
    }

    std::string action(const std::string& id) const {
        for (const PartAction& a : actions_)
            if (part(a.part).id == id) return a.action;
        return "";
    }

    /// What is lifted to reach a part: of a can its sections.
    std::vector<std::string> lifted_for(const std::string& id) const {
        std::vector<std::string> lifted;
        for (const std::string& l : part(id)->lift_first) {
            if (part(l)) {
                lifted.push_back(l);
                continue;
            }
            for (const Part& p : chassis_.parts())
                if (p.can == l) lifted.push_back(p.id);
        }
        return lifted;
    }
    /// As they go in: what lies over another of them after it.
    std::vector<std::string> upper_last(const std::vector<std::string>& ids) const {
        std::vector<std::string> placed;
        const auto waits = [&](const std::string& id) {
            return std::any_of(ids.begin(), ids.end(), [&](const std::string& under) {
                return under != id && !holds(placed, under) && holds(lifted_for(under), id);
            });
        };
        while (placed.size() < ids.size()) {
            const auto open = [&](const std::string& id) { return !holds(placed, id); };
            auto next =
                std::find_if(ids.begin(), ids.end(), [&](const std::string& id) { return open(id) && !waits(id); });
            if (next == ids.end()) next = std::find_if(ids.begin(), ids.end(), open);
            placed.push_back(*next);
        }
        return placed;
    }
    /// Of these: what lies over others of them, and those others.
    std::pair<std::vector<std::string>, std::vector<std::string>> over_and_under(
        const std::vector<std::string>& ids) const {
        std::vector<std::string> over, under;
        for (const std::string& id : ids)
            for (const std::string& l : lifted_for(id)) {
                if (l == id || !holds(ids, l)) continue;
                if (!holds(over, l)) over.push_back(l);
                if (!holds(under, id)) under.push_back(id);
            }
        return {over, under};
    }

    /// A can is stuffed anew; a tubular has nothing to stuff.
    bool goes_into_can(const Part& p) const {
        return policy_.cans == CanPolicy::restuff && is_electrolytic(p) && !p.can.empty();
    }
    /// With the parts: what is replaced too and lies over or under one of them, so that nothing old goes back for a
    /// while, and nothing new is lifted again; as many as one check can cover, else none.
    std::vector<std::string> with_what_lies_over(const std::vector<std::string>& ids,
                                                 const std::vector<std::string>& taken = {}) const {
        std::vector<std::string> all = ids;
        const auto by_itself = [&](const Part& p) {
            return action(p.id) != "replace" || plugs_in(p) || holds(taken, p.id) || p.kind == PartKind::battery ||
                   owner_.count(p.id) > 0 || line_side_.count(p.id) > 0 || holds(line_capacitors_, p.id) ||
                   holds(winding_capacitors_, p.id);
        };
        for (std::size_t k = 0; k < all.size(); ++k) {
            for (const std::string& l : lifted_for(all[k]))
                if (part(l) && !by_itself(*part(l)) && !holds(all, l)) all.push_back(l);
            for (const Part& p : chassis_.parts())
                if (!by_itself(p) && !holds(all, p.id) && holds(lifted_for(p.id), all[k])) all.push_back(p.id);
        }
        return all.size() <= group_most ? all : ids;
    }

    // Parts of a step that replaces: what for what, what is lifted, the check.
    RepairStep& replacing(const std::string& id, const std::string& place, const std::vector<std::string>& of) {
        const std::vector<std::string> ids = upper_last(of);
        std::vector<std::string> lifts;
        for (const std::string& p : ids)
            for (const std::string& l : lifted_for(p))
                if (!holds(ids, l) && !holds(lifts, l)) lifts.push_back(l);
        const auto [first_out, under] = over_and_under(ids);
        double mins = 0, money = 0;
        std::string what;
        for (const std::string& p : ids) {
            const auto it = bought_.find(p);
            const bool inside = goes_into_can(*part(p));
            mins += inside                            ? minutes("restuff")
                    : part(p)->kind == PartKind::fuse ? minutes("tube")  // its holder is there
                    : it == bought_.end()             ? choice::replace_cost(*part(p), catalogue_).minutes
                                                      : it->second.minutes;
            money += it == bought_.end() ? 0 : it->second.cost;
            what += (what.empty() ? "" : "; ") + p +
                    (it != bought_.end()                ? ": " + it->second.text
                     : part(p)->kind == PartKind::block ? block_words(*part(p), ids)
                                                        : "") +
                    (inside ? ", inside the old can" : "");
        }
        mins += static_cast<double>(lifts.size()) * (minutes("lift") + minutes("refit"));
        RepairStep& s =
            add(id,
                place + ": replace " + (ids.size() > 1 ? "one out, one in: " : "") + what +
                    (lifts.empty() ? ""
                     : lifts.size() == 1
                         ? "; lift " + lifts.front() + " first and put it back"
                         : "; lift " + listed(lifts) + " first, each lead tagged with its lug, and put them back") +
                    (first_out.empty() ? ""
                                       : "; take " + listed(first_out) + " out first, each lead tagged with its lug: " +
                                             listed(under) + (under.size() == 1 ? " lies" : " lie") +
                                             " underneath and " + (under.size() == 1 ? "goes" : "go") + " in before"),
                mins);
        s.parts = ids;
        s.place = place;
        s.cost = choice::cents(money);
        for (const PartStress& row : stress_)  // what the solver found wrong with the part that stands there
            if (row.lead.empty() && holds(ids, part(row.part).id))
                if (const std::string remark = choice::remark_without_polarity(row); !remark.empty())
                    s.reason += (s.reason.empty() ? "" : "; ") + part(row.part).id + " " + remark;
        if (!lifts.empty()) s.acts.push_back({K::lift, lifts, "for access", 0});
        if (!first_out.empty()) s.acts.push_back({K::remove, first_out, "what lies over the others", 0});
        s.acts.push_back({K::fit, ids, what, 0});
        s.acts.push_back({K::inspect, ids, "joints, lead dress, value on the body", 0});
        if (!lifts.empty()) {
            s.acts.push_back({K::reconnect, lifts, "as it was", 0});
            s.acts.push_back({K::inspect, lifts, "joints", 0});
        }
        s.check = check_of_new(ids);
        solder_.push_back(id);
        for (const std::string& p : ids) owner_[p] = id;
        for (const std::string& p : ids)
            if (is_electrolytic(*part(p))) with_plus_.insert(id);
        for (const std::string& p : lifts)
            if (is_electrolytic(*part(p))) with_plus_.insert(id);
        return s;
    }

    /// What becomes of a pack whose capacitors are replaced: nothing is bought for it, and what is sound goes on in it.
    std::string block_words(const Part& pack, const std::vector<std::string>& replaced) const {
        std::vector<std::string> old, stay, freed, kept;
        std::set<int> in_use;
        for (const Part& p : chassis_.parts()) {
            if (p.inside != pack.id) continue;
            (holds(replaced, p.id) ? old : stay).push_back(p.id);
            if (!holds(replaced, p.id))
                for (const Lead& l : p.leads) in_use.insert(l.net);
        }
        for (const Lead& l : pack.leads) (in_use.count(l.net) ? kept : freed).push_back(l.name);
        if (old.empty() || freed.empty()) return {};
        return ": free and tape its " +
               (stay.empty() ? "leads " : std::string(freed.size() == 1 ? "lead " : "leads ")) + listed(freed) +
               ", with the old " + listed(old) + " dead inside" +
               (stay.empty() ? std::string()
                             : "; " + listed(stay) + (stay.size() == 1 ? " goes on by " : " go on by ") + listed(kept));
    }

    /// What is read of new parts: before they go in where the circuit would read along, else in their place.
    std::string check_of_new(const std::vector<std::string>& ids) const {
        std::string check;
        const auto also = [&](const std::string& more) { check += (check.empty() ? "" : "; ") + more; };
        std::map<PartKind, std::vector<std::string>> by_kind;
        std::vector<std::string> plus, dry;
        std::string ohmic;
        for (const std::string& id : ids) {
            const Part& p = *part(id);
            const auto it = bought_.find(id);
            // resistors in the place of a cord that drops the heaters' volts
            const bool drops = p.kind == PartKind::cord && it != bought_.end() && it->second.ohms > 0;
            if (is_electrolytic(p))
                plus.push_back(id);
            else if (p.kind == PartKind::capacitor)
                dry.push_back(id);
            else if (p.kind != PartKind::resistor && p.kind != PartKind::control && !drops)
                by_kind[p.kind].push_back(id);
            else if (const std::string band = new_ohms(id); !band.empty())
                ohmic += (ohmic.empty() ? "" : "; ") + band;
        }
        for (const std::string& id : plus) also("plus of " + id + " to " + plus_net(id));
        if (!ohmic.empty()) also("the new " + ohmic);
        if (!dry.empty()) also("the new " + listed(dry) + " over 20 meg out of the circuit");
        if (!plus.empty()) also("the new " + listed(plus) + " over 100 k once charged, out of the circuit");
        for (const auto& [kind, reads] :  // common practice, no source
             {std::pair(PartKind::wire, "under 1 ohm from end to end"),
              std::pair(PartKind::cord,
                        "under 1 ohm along each wire, over 20 megohms from one to the other before "
                        "they go on the set"),
              std::pair(PartKind::power_switch, "under 1 ohm closed, over 20 megohms open and to the case"),
              std::pair(PartKind::fuse, "reads through, and bears the amperes and the kind that are listed"),
              std::pair(PartKind::lamp, "reads through"), std::pair(PartKind::speaker, "reads through"),
              std::pair(PartKind::coil, "reads through, over 20 megohms to its frame"),
              std::pair(PartKind::transformer, "reads through on each winding, over 20 megohms to its frame"),
              std::pair(PartKind::rectifier, "conducts one way only")})
            if (const auto some = by_kind.find(kind); some != by_kind.end())
                also("the new " + listed(some->second) + " " + reads +
                     (kind == PartKind::cord ? ways_of_the_plug() : std::string()));
        if (const std::string heavy = gauge_words(by_kind[PartKind::wire]); !heavy.empty()) also(heavy);
        for (const std::string& id : by_kind[PartKind::rectifier])
            if (const int bar = part(id)->lead("cathode"); bar >= 0 && part(id)->leads[at(bar)].net >= 0)
                also("its bar, the cathode, at " + chassis_.nets()[at(part(id)->leads[at(bar)].net)].name +
                     ": turned round it puts minus on the filters");
        if (!plus.empty() || !dry.empty())
            also("value and volts on the body as listed");
        else if (!ohmic.empty())
            also("value and watts on the body as listed");
        return check + (check.empty() ? "" : ", ") + "no lead bare or left open";
    }

    /// What is bought and what is checked go by one rule.
    std::string gauge_words(const std::vector<std::string>& wires) const {
        std::map<std::string, std::vector<std::string>> by_gauge;
        for (const std::string& id : wires)
            if (const choice::Copper* least = choice::guarded_copper(chassis_, duties_, *part(id)))
                by_gauge[least->words].push_back(id);
        std::string text;
        for (const auto& [words, some] : by_gauge)
            text += (text.empty() ? "" : "; ") + listed(some) + " of " + words + " or heavier" +
                    (from_line() ? std::string()
                                 : ", for the " + figure(choice::battery_fuse_amps(chassis_)) + " A of its fuse");
        return text;
    }

    /// Between the switch and the plug stands the neutral: a fuse beside it would put the line on B-minus.
    bool switch_in_the_other_lead() const {
        const int neutral = chassis_.nodes().line_neutral;
        return neutral >= 0 && std::any_of(chassis_.parts().begin(), chassis_.parts().end(), [&](const Part& p) {
                   return p.kind == PartKind::power_switch &&
                          std::any_of(p.leads.begin(), p.leads.end(), [&](const Lead& l) { return l.net == neutral; });
               });
    }
    /// Crossed, a cord of a hot set puts the line on the metal.
    std::string ways_of_the_plug() const {
        const int neutral = chassis_.nodes().line_neutral, hot = chassis_.nodes().line_hot;
        if (!chassis_.hot() || neutral < 0 || hot < 0 || direct_line()) return {};
        return "; by ohms, the wide blade through to the side of B-minus, the narrow one to the other: crossed, the "
               "line "
               "is on the metal's side";
    }

    void line_steps() {
        std::vector<std::string> cords, wires, links, rest;
        for (const std::string& id : line_side_) {
            if (action(id) != "replace") continue;
            const PartKind k = part(id)->kind;
            (k == PartKind::cord   ? cords
             : k == PartKind::wire ? wires
             : k == PartKind::fuse ? links
                                   : rest)
                .push_back(id);
        }
        std::vector<std::string> caps, across;
        for (const std::string& id : line_capacitors_)
            if (action(id) == "replace") caps.push_back(id);
        std::vector<std::string> lifted;  // for the transformer's test
        for (const std::string& id : winding_capacitors_)
            if (action(id) == "replace")
                across.push_back(id);
            else if (action(id) == "measure" && !transformer_.empty())
                lifted.push_back(id);
        caps = with_what_lies_over(caps);
        across = with_what_lies_over(across, caps);
        // A transformer that is on the list is not tried: the new one is.
        std::vector<std::string> iron;
        if (!transformer_.empty() && action(transformer_) == "replace") iron.push_back(transformer_);
        std::vector<std::string> want = cords;
        for (const auto* list : {&wires, &links, &rest, &caps, &across, &iron})
            want.insert(want.end(), list->begin(), list->end());
        want = still_to_buy(want);
        const bool tried = !alone_step().empty();
        if (tried && from_vehicle_)
            for (const std::string& id : vibrators_)
                if (action(id) == "replace" && !has_been_bought(id)) want.push_back(id);
        std::vector<std::string> named = want;
        // what was bought before, beside what is bought again
        const std::string buying = tried ? "buy-line-side" : "buy-parts";
        const bool again = progress_.passed_at.count(buying) > 0;
        const bool wants_fuse = !fused_ && (has_iron() || bought_.count(no_fuse) != 0);
        if (wants_fuse && !again) named.push_back("holder and fuse");
        bool sleeved = false;
        for (const std::string& id : lamps_) {
            if (!owner_.count(id)) continue;
            sleeved = !again;
            if (action(id) == "replace" && !has_been_bought(id)) named.push_back(id);
        }
        if (sleeved) named.push_back("sleeving");
        // Where no transformer is tried before money is spent, all is bought at once.
        if (!named.empty() && !tried) {
            RepairStep& s = buy_all();
            s.does = std::string(from_vehicle_   ? "Buy what the A lead and the vibrator need: "
                                 : from_battery_ ? "Buy what the A lead needs: "
                                                 : "Buy what the line side needs: ") +
                     listed(named) + "; and the rest of the list" + lengths_words();
            s.acts.front().parts = want;
            for (const std::string& id : lamps_)
                if (owner_.count(id)) after(owner_[id], buying, "list", "bought before it is fitted");
        } else if (!named.empty()) {
            RepairStep& s =
                add("buy-line-side",
                    std::string("Buy what the ") + (from_vehicle_ ? "vibrator's test" : "transformer test") +
                        " needs: " + listed(named) + lengths_words(),
                    minutes("log"));
            s.parts = want;
            s.reason = iron.empty() ? "cheap, and nothing can be tested without it"
                                    : "the old transformer is not tried: the new one is, and nothing without it";
            s.check = "classes and ratings as listed";
            s.acts = {{K::buy, want, from_vehicle_ ? "for the vibrator's test" : "for the transformer test", 0}};
            after("buy-line-side", "cold-ohms-windings", "s4", "an open winding changes what the set is worth");
            after("buy-line-side", "inspect", "list", "what is seen decides what is bought");
            for (const std::string& id : lamps_)
                if (owner_.count(id)) after(owner_[id], "buy-line-side", "list", "bought before it is fitted");
        }
        const auto put = [&](const std::string& id, const std::string& place, const std::vector<std::string>& ids,
                             const std::string& why, const char* rule, const char* held) {
            if (ids.empty()) return;
            RepairStep& s = replacing(id, place, ids);
            at_place_.insert(id);
            s.reason = why + (s.reason.empty() ? "" : "; " + s.reason);
            line_fits_.push_back({id, rule, held});
            after(id, buying, "list", "bought before it is fitted");
            after(id, "photographs", "H2", "no joint is opened before the pictures");
            after(id, "discharge", "charge", "hands in an empty set");
        };
        put("replace-" + joined(cords), source_side(), cords, cord_words(cords), "H5", "cord and plug sound");
        for (std::size_t k = 0; k < wires.size(); k += group_most) {
            const std::vector<std::string> some(
                wires.begin() + static_cast<long>(k),
                wires.begin() + static_cast<long>(std::min(wires.size(), k + group_most)));
            put("replace-" + joined(some), transformer_.empty() ? source_side() : "transformer leads", some,
                lead_words(some), "H5", "line, heater and plate leads sound");
        }
        put("replace-" + joined(rest), source_side(), rest,
            transformer_.empty() ? "the line side is sound before the set is fed"
                                 : "the line side is sound before the line reaches the transformer",
            "H5", "plug, switch and fuse sound");
        put("link-" + joined(links), source_side(), links, "a fuse that does not open watches the set burn", "H5",
            "plug, switch and fuse sound");
        put("replace-" + joined(caps), source_side(), caps, short_words(caps), "H5", "capacitors on the line are new");
        const bool one_place = !across.empty() && std::all_of(across.begin(), across.end(), [&](const std::string& id) {
            return place_of(chassis_.part(id)) == place_of(chassis_.part(across.front()));
        });
        put("replace-" + joined(across), one_place ? place_of(chassis_.part(across.front())) : "plate winding", across,
            from_vehicle_
                ? "the buffer: shorted it burns winding and points, of another value the points; exact value, "
                  "1600 V or more"
                : "it stands live in the transformer test and would spoil its verdict",
            from_vehicle_ ? "H7" : "H6", "capacitors across a plate winding are new");
        put("replace-" + joined(iron), "power transformer", iron,
            "it is found bad: what burnt it must be found before the new one is powered", "s4",
            "the burnt transformer is out before any is powered");
        if (wants_fuse) {
            const auto it = bought_.find(no_fuse);
            RepairStep& f = add("fit-fuse",
                                source_side() + ": fit " +
                                    (it == bought_.end() ? std::string("a holder and a time-lag fuse as the list says")
                                                         : it->second.text) +
                                    (from_vehicle_ ? " in the A lead, at its battery's end"
                                     : switch_in_the_other_lead()
                                         ? " in the hot lead, ahead of all that it feeds; the switch is in the other "
                                           "lead, and stays there"
                                         : " in the hot lead, between the cord and the switch"),
                                it == bought_.end() ? minutes("fuse") : it->second.minutes);
            f.place = source_side();
            f.cost = it == bought_.end() ? 0 : choice::cents(it->second.cost);
            f.reason = "built without a fuse: what shorts behind it would run until something opens";
            f.check = std::string(from_vehicle_ ? "A" : "hot") + " lead to the tip of the holder, " +
                      (switch_in_the_other_lead() ? "what that lead fed" : "switch") +
                      " to its ring; nothing of it bare";
            f.acts = {{K::fit_fuse, {}, "in the hot lead", 0}};
            at_place_.insert("fit-fuse");
            line_fits_.push_back({"fit-fuse", "H5", "every stage is fused"});
            solder_.push_back("fit-fuse");
            after("fit-fuse", buying, "list", "bought before it is fitted");
            after("fit-fuse", "photographs", "H2", "no joint is opened before the pictures");
            after("fit-fuse", "discharge", "charge", "hands in an empty set");
        }
        resolder_steps();
        if (!tried) return;
        if (from_vehicle_) {
            vibrator_step(buying);
            alone_waits(alone_step());
            return;
        }
        const double n = static_cast<double>(lifted.size());
        RepairStep& s = add(
            "transformer-alone",
            "Transformer alone, rectifier and tubes out" +
                (lifted.empty() ? "" : ", one end of " + listed(lifted) + " lifted") +
                (lifted.size() > 1 ? ", each tagged with its lug" : "") +
                ": five minutes behind the lamp, then half an hour at full line, watched" +
                (lifted.empty()
                     ? ""
                     : "; then the leakage of " + listed(lifted) + ", each emptied through 10 k 10 W, and put back"),
            minutes("transformer-alone") + n * (minutes("measure-leakage") + minutes("lift") + minutes("refit")) +
                minutes_to_empty(lifted));
        s.parts = {transformer_};
        s.place = "bench supply";
        s.reason = "the part that nobody makes any more is proved before money is spent";
        s.check = "volts of each winding by the power-up sheet; barely warm after half an hour";
        s.acts = {{K::power_transformer_alone, {transformer_}, "behind the lamp", 5},
                  {K::power_transformer_alone, {transformer_}, "full line, watched", 30},
                  {K::discharge, {}, "plug out", 0}};
        if (!lifted.empty()) {
            s.parts.insert(s.parts.end(), lifted.begin(), lifted.end());
            std::vector<int> indices;
            for (const std::string& id : lifted) indices.push_back(chassis_.part(id));
            s.check += "; " + leak_limits(indices) + emptied_words;
            s.acts.insert(s.acts.begin(), Act{K::lift, lifted, "one end", 0});
            s.acts.push_back({K::measure, lifted, "leakage at working volts", 0});
            s.acts.push_back({K::discharge, lifted, "each through 10 k 10 W", 0});
            s.acts.push_back({K::reconnect, lifted, "as it was, or a new one", 0});
            s.acts.push_back({K::inspect, lifted, "joints", 0});
            solder_.push_back("transformer-alone");
            for (const std::string& id : lifted) owner_[id] = "transformer-alone";
            after("transformer-alone", "photographs", "H2", "no joint is opened before the pictures");
            after("transformer-alone", "discharge", "charge", "hands in an empty set");
        }
        if (iron.empty()) owner_[transformer_] = "transformer-alone";
        alone_waits("transformer-alone");
    }
    /// What the iron's own test waits for.
    void alone_waits(const std::string& alone) {
        if (earth_.forbidden()) after(alone, "earth-off", "H22", "no earth on what the line can reach");
        after(alone, "inspect", "H5",
              from_vehicle_ ? "A lead and plate leads sound" : "line side, heater and plate leads sound");
        for (const StepLink& f : line_fits_) after(alone, f.step, f.rule, f.why);
        after(alone, "pull-tubes", "H6", "rectifier out");
        after(alone, "cold-ohms-windings", "list", "ohms before volts");
        after(alone, "clean-sockets", "list", "a track across a socket would spoil its verdict");
    }

    // A sound wire at a bad joint: solder, nothing bought.
    void resolder_steps() {
        std::vector<int> loose;
        for (const PartAction& a : actions_)
            if (a.action == "measure" && only_loose(part(a.part))) loose.push_back(a.part);
        for (const std::vector<int>& g : grouped(loose)) {
            const std::vector<std::string> list = ids(g);
            const std::string id = "resolder-" + joined(list);
            RepairStep& s =
                add(id, place_of(g.front()) + ": resolder both ends of " + listed(list) + "; ohms from lug to lug",
                    static_cast<double>(list.size()) * (2 * minutes("refit") + minutes("measure")));
            at_place_.insert(id);
            s.parts = list;
            s.place = place_of(g.front());
            s.reason = "found loose: the joint heats and opens, the wire is sound and stays";
            s.check = "under 1 ohm, less the leads, and no flicker when it is moved";
            s.acts = {{K::reconnect, list, "both ends, new solder", 0}, {K::measure, list, "lug to lug", 0}};
            solder_.push_back(id);
            for (const std::string& one : list) {
                owner_[one] = id;
                if (line_side_.count(one)) line_fits_.push_back({id, "H5", "line, heater and plate leads sound"});
            }
            after(id, "photographs", "H2", "no joint is opened before the pictures");
            after(id, "discharge", "charge", "hands in an empty set");
        }
    }

    // What is wrong with the cord, from what is there.
    std::string cord_words(const std::vector<std::string>& cords) const {
        std::string text;
        for (const std::string& id : cords) {
            const Part& c = *part(id);
            std::string words = c.seen;
            const auto also = [&](const std::string& more) { words += (words.empty() ? "" : ", ") + more; };
            if (c.construction == "resistance-cord") also("heat-dropping wire");
            if (c.since)
                also("of " + std::to_string(*c.since));
            else if (chassis_.built())
                also("as old as the set (" + std::to_string(*chassis_.built()) + ")");
            if (words.empty()) words = "of unknown age";
            text += id + ": " + words + "; ";
        }
        return text + "line volts, ahead of every fuse in the set";
    }

    // What is wrong with leads of line, heaters and plates.
    std::string lead_words(const std::vector<std::string>& wires) const {
        std::vector<std::string> rubber, seen;
        for (const std::string& id : wires) {
            const Part& w = *part(id);
            if (!w.seen.empty())
                seen.push_back(id + " " + w.seen);
            else if (w.construction == "rubber")
                rubber.push_back(id);
        }
        std::string text = seen.empty() ? "" : "found: " + listed(seen);
        if (!rubber.empty())
            text += std::string(text.empty() ? "" : "; ") + "old rubber crumbles where it is moved: " + listed(rubber);
        return (text.empty() ? std::string("old insulation") : text) +
               (has_iron()    ? "; these carry line, heater or plate volts"
                : from_line() ? "; these carry line volts"
                              : "; these carry all that the battery gives");
    }

    // What a short of a capacitor on the line does, and whether a fuse of the set sees it.
    std::string short_words(const std::vector<std::string>& caps) const {
        bool touch = false, guarded = true;
        for (const std::string& id : caps) {
            touch = touch || duties_.of(chassis_.part(id)) == Duty::line_to_touch;
            guarded = guarded && behind_a_fuse(*part(id));
        }
        if (touch)
            return std::string("a short there makes the metal a line wire") +
                   (guarded ? "; a fuse sees it only when the metal is earthed" : ", and no fuse is ahead of it");
        return std::string("a short there is fire") + (guarded ? " until the fuse opens" : ", and no fuse sees it");
    }
    // Not reached from the hot blade but through a fuse; the one that is fitted stands right behind the cord.
    bool behind_a_fuse(const Part& p) const {
        if (!fused_) return !transformer_.empty() && p.kind != PartKind::cord && p.kind != PartKind::plug;
        const NodeRoles& r = chassis_.nodes();
        std::set<int> seen;
        std::vector<int> front{r.line_hot};
        while (!front.empty()) {
            const int net = front.back();
            front.pop_back();
            if (net < 0 || !seen.insert(net).second) continue;
            for (const LeadRef& ref : chassis_.nets()[at(net)].leads) {
                const Part& q = part(ref.part);
                if (q.kind != PartKind::wire && q.kind != PartKind::power_switch && q.kind != PartKind::cord) continue;
                for (const Lead& l : q.leads) front.push_back(l.net);
            }
        }
        return std::none_of(p.leads.begin(), p.leads.end(), [&](const Lead& l) {
            return l.net >= 0 && l.net != r.line_neutral && seen.count(l.net) > 0;
        });
    }

    // The net that plus goes to: by the solved volts; where the file has the leads exchanged it says so.
    std::string plus_net(const std::string& id) const {
        const Part& p = *part(id);
        const auto row = rows_.find(chassis_.part(id));
        const std::size_t lead = choice::plus_lead(p, row == rows_.end() ? nullptr : row->second);
        const auto name = [&](std::size_t l) {
            const int net = p.leads[l].net;
            return net < 0 ? std::string("nothing") : chassis_.nets()[at(net)].name;
        };
        // Where minus is not the metal it must not go there, whatever the can suggests.
        const std::size_t other = 1 - lead;
        std::string text = lead == 0 ? name(0) : name(1) + " (NOT to " + name(0) + " as the file has it)";
        const int metal = chassis_.nodes().chassis_metal >= 0 ? chassis_.nodes().chassis_metal : chassis_.reference();
        if (p.leads[other].net >= 0 && p.leads[other].net != metal)
            text += ", minus to " + name(other) + ", insulated from the chassis";
        return text;
    }
    std::vector<Notice> reversals() const {
        std::vector<Notice> notices;
        for (const auto& [index, row] : rows_) {
            const Part& p = part(index);
            const std::optional<choice::Reversed> r = choice::reversed(p, *row);
            if (!r || !r->in_service) continue;
            Notice n =
                note(messages::polarity_reversed, p.id + " is reversed in the file: its plus would stand " +
                                                      say(volts(r->volts)) + " below its minus (" + r->scenario + ")");
            n.severity = Severity::stop;
            n.place = p.place;
            n.remedy = "trace which lug is plus and correct the file; the new one's plus goes to " + plus_net(p.id);
            notices.push_back(std::move(n));
        }
        return notices;
    }

    static std::string joined(const std::vector<std::string>& ids) {
        std::string text;
        for (const std::string& id : ids) text += (text.empty() ? "" : "-") + id;
        return text;
    }

    // Groups of one place (of the part that is reached through another, the place of that): what shares a can or a lug
    // stays together, what must be lifted for another is done with it, at most six joints.
    std::vector<std::vector<int>> grouped(const std::vector<int>& parts) const {
        std::map<std::pair<std::string, bool>, std::vector<int>> by_place;
        const auto meant = [&](const std::string& id) {
            return std::any_of(parts.begin(), parts.end(), [&](int i) { return part(i).id == id; });
        };
        for (int i : parts) {
            const std::vector<std::string> lifted = lifted_for(part(i).id);
            const auto through = std::find_if(lifted.begin(), lifted.end(), meant);
            by_place[{through == lifted.end() ? place_of(i) : place_of(chassis_.part(*through)), !open_now(i)}]
                .push_back(i);
        }
        std::vector<std::vector<int>> groups;
        for (auto& [place, members] : by_place) {
            std::vector<int> root(members.size());
            for (std::size_t k = 0; k < root.size(); ++k) root[k] = static_cast<int>(k);
            for (std::size_t a = 0; a < members.size(); ++a)
                for (std::size_t b = 0; b < members.size(); ++b) {
                    const Part& p = part(members[a]);
                    const Part& q = part(members[b]);
                    const bool tied = a != b && ((!p.can.empty() && p.can == q.can) || holds(lifted_for(p.id), q.id) ||
                                                 share_a_lug(members[a], members[b]));
                    if (tied) {
                        const int from = root[b], to = root[a];
                        for (int& r : root)
                            if (r == from) r = to;
                    }
                }
            std::map<int, std::vector<int>> lumps;
            for (std::size_t k = 0; k < members.size(); ++k) lumps[root[k]].push_back(members[k]);
            // The lumps of most danger first, so that a split leaves the harmless ones for the later step.
            std::vector<std::vector<int>> ordered;
            for (auto& [r, lump] : lumps) ordered.push_back(lump);
            std::stable_sort(ordered.begin(), ordered.end(), [&](const std::vector<int>& x, const std::vector<int>& y) {
                const auto guards = [&](const std::vector<int>& l) {
                    return std::any_of(l.begin(), l.end(),
                                       [&](int i) { return duties_.guards_rectifier(chassis_, i); });
                };
                return guards(x) > guards(y);
            });
            std::vector<int> group;
            for (const std::vector<int>& lump : ordered) {
                if (!group.empty() && group.size() + lump.size() > group_most) {
                    groups.push_back(group);
                    group.clear();
                }
                for (std::size_t k = 0; k < lump.size(); ++k) {
                    if (group.size() == group_most) {
                        groups.push_back(group);
                        group.clear();
                    }
                    group.push_back(lump[k]);
                }
            }
            if (!group.empty()) groups.push_back(group);
        }
        for (std::vector<int>& g : groups) std::sort(g.begin(), g.end());
        return groups;
    }

    std::vector<std::string> ids(const std::vector<int>& parts) const {
        std::vector<std::string> list;
        for (int i : parts) list.push_back(part(i).id);
        return list;
    }

    RepairStep& buy_all() {
        RepairStep& s =
            add("buy-parts", alone_step().empty() ? "Buy the list" : "Buy the rest of the list", minutes("log"));
        s.reason = alone_step().empty() ? "after the cold ohms: an open winding changes what the set is worth"
                                        : "after the transformer test: before it, money may be lost";
        s.check = "values, volts and classes as listed";
        s.acts = {{K::buy, {}, "capacitors, resistors and the rest", 0}};
        after("buy-parts", "cold-ohms-windings", "s4", "an open winding changes what the set is worth");
        after("buy-parts", "inspect", "list", "what is seen decides what is bought");
        return s;
    }
    /// What the list takes for the length of a lead is no measurement.
    std::string lengths_words() const {
        std::vector<std::string> leads;
        for (const PartAction& a : actions_)
            if (a.action == "replace" && part(a.part).kind == PartKind::wire) leads.push_back(part(a.part).id);
        return leads.empty()
                   ? std::string()
                   : "; measure the length of " + listed(leads) + " on the set first, the list only assumes it";
    }
    void replacement_steps() {
        std::vector<int> replaced;
        std::vector<std::string> batteries;
        for (const PartAction& a : actions_) {
            const Part& p = part(a.part);
            if (a.action != "replace" || owner_.count(p.id)) continue;
            if (p.kind == PartKind::socket)
                new_tubes_.push_back(p.id);  // no joint: it goes in when its stage of the power-up comes
            else if (p.kind == PartKind::battery)
                batteries.push_back(p.id);
            else if (p.kind == PartKind::vibrator)
                owner_[p.id] = "pull-tubes";  // so does this: the old one never goes back
            else
                replaced.push_back(a.part);
        }
        const std::vector<std::vector<int>> groups = grouped(replaced);
        const bool vibrates =
            alone_step().empty() && std::any_of(vibrators_.begin(), vibrators_.end(),
                                                [&](const std::string& id) { return action(id) == "replace"; });
        if (!replaced.empty() || !new_tubes_.empty() || !batteries.empty() || vibrates) {
            std::vector<std::string> all = new_tubes_;
            all.insert(all.end(), batteries.begin(), batteries.end());
            for (const int r : replaced) all.push_back(part(r).id);
            for (const std::string& id : vibrators_)
                if (vibrates && action(id) == "replace") all.push_back(id);
            const std::vector<std::string> open = still_to_buy(all);
            if (!there("buy-parts")) buy_all();
            RepairStep& buying = step("buy-parts");
            std::vector<std::string>& wanted = buying.acts.front().parts;
            wanted.insert(wanted.end(), open.begin(), open.end());
            const bool more = progress_.passed_at.count("buy-parts") > 0 || open.size() < all.size();
            if (more && !wanted.empty()) buying.does = "Buy " + listed(wanted);
            after("buy-parts", alone_step(), "s4", "the transformer is proved before money is spent");
        }
        if (!new_tubes_.empty()) {
            double money = 0;
            std::string what;
            for (const std::string& id : new_tubes_) {
                const auto bought = bought_.find(id);
                money += bought == bought_.end() ? 0 : bought->second.cost;
                what += (what.empty() ? "" : "; ") + id + ": " + part(id)->tube +
                        (stands_empty(*part(id))  ? ", the socket was found empty"
                         : part(id)->seen.empty() ? ""
                                                  : ", the old one was seen " + part(id)->seen);
            }
            RepairStep& s = add("new-tubes", "Test the new tubes like the old ones, and label them: " + what,
                                minutes("tube-test") * static_cast<double>(new_tubes_.size()));
            s.parts = new_tubes_;
            s.place = "tube tester";
            s.cost = choice::cents(money);
            s.reason = "a tube that was found bad does not go back, and a new one may be bad";
            s.check = "no short, tapped; the old one is marked and out of reach";
            s.acts = {{K::fit, new_tubes_, "in the place of the old, by their labels", 0},
                      {K::test_tube, new_tubes_, "the new ones", 0},
                      {K::remove, new_tubes_, "in their boxes until their stage", 0}};
            after("new-tubes", "buy-parts", "list", "bought before it is tested");
            after("new-tubes", "test-tubes", "list", "the old one's verdict comes first");
        }
        if (!batteries.empty()) {
            RepairStep& s = replacing("replace-" + joined(batteries), "battery case", batteries);
            s.reason = "leaked or of no use; nothing is connected before its stage";
            s.check = "volts of each by itself, plus and minus as the label has them; cable still off";
            after(s.step, "buy-parts", "list", "bought before it is fitted");
            after(s.step, "photographs", "H2", "no joint is opened before the pictures");
            after(s.step, "discharge", "charge", "hands in an empty set");
        }
        for (const std::vector<int>& g : groups) {
            const std::string id = "replace-" + joined(ids(g));
            RepairStep& s = replacing(id, place_of(g.front()), ids(g));
            at_place_.insert(id);
            std::vector<int> hunted;  // what burnt it is found by hand, in a step of its own
            for (int r : g) {
                const std::vector<std::string> found = burnt_with(r);
                if (found.empty()) continue;
                if (burnt_by(chassis_, duties_, r).empty()) {
                    hunted.push_back(r);
                    continue;
                }
                s.acts.insert(s.acts.begin(), Act{K::find_cause, found, "what burnt it", 0});
                s.does += "; " + part(r).id + " was probably burnt by " + listed({found.begin() + 1, found.end()});
            }
            for (int r : hunted) find_cause_step(r, id);
            after(id, "buy-parts", "list", "bought before it is fitted");
            after(id, "photographs", "H2", "no joint is opened before the pictures");
            after(id, "discharge", "charge", "hands in an empty set");
        }
        for (const std::vector<int>& g : groups) {
            const std::string id = owner_.at(part(g.front()).id);
            for (int r : g) {
                for (const std::string& c : burnt_with(r))
                    if (owner_.count(c) && !waits(owner_.at(c), id))
                        after(id, owner_.at(c), "list",
                              "what burnt " + part(r).id + " goes before it (H18 wants it on the list)");
                // An old part that is lifted for access is replaced afterwards, not soldered in new and lifted again.
                for (const std::string& l : lifted_for(part(r).id))
                    if (owner_.count(l) && !waits(id, owner_.at(l)))
                        after(owner_.at(l), id, "access", part(r).id + " is reached by lifting " + l);
            }
        }
    }
    // No capacitor can have burnt it: what did is looked for behind the tests of its tubes, and where the iron is tried
    // first, before the rest is bought.
    void find_cause_step(int r, const std::string& replaces) {
        const std::vector<std::string> found = burnt_with(r);
        const std::vector<std::string> suspects(found.begin() + 1, found.end());
        const std::string id = "find-cause-" + part(r).id;
        RepairStep& s = add(id,
                            place_of(r) + ": find what burnt " + part(r).id +
                                (suspects.empty() ? std::string(", by ohms from each of its ends to the returns")
                                                  : ", at " + listed(suspects) +
                                                        " first, by ohms from each of its ends "
                                                        "to the returns"),
                            minutes("measure") + minutes("place-change"));
        s.parts = found;
        s.place = place_of(r);
        s.reason = "a new resistor burns like the old one while what burnt it is there";
        s.check = "what draws the current is found and on the list";
        s.acts = {{K::find_cause, found, "what burnt it", 0}};
        after(id, "discharge", "charge", "ohms are read on an empty set");
        for (const std::string& suspect : suspects) {
            if (part(suspect)->kind != PartKind::socket || !there("test-tubes")) continue;
            if (holds(step("test-tubes").parts, suspect))
                after(id, "test-tubes", "H18", suspect + " is tested before it is cleared of burning " + part(r).id);
        }
        if (!alone_step().empty()) after("buy-parts", id, "list", "what is found goes on the list");
        after(replaces, id, "H18", "what burnt " + part(r).id + " is found and on the list");
    }
    // The burnt resistor and what burnt it; where no capacitor can have, the sockets it feeds, else what it hangs on.
    // Empty for any other part.
    std::vector<std::string> burnt_with(int r) const {
        const Part& p = part(r);
        if (p.kind != PartKind::resistor || !seen_burnt(p)) return {};
        std::vector<std::string> found = burnt_by(chassis_, duties_, r);
        found.insert(found.begin(), p.id);
        if (found.size() == 1)
            for (int socket : duties_.feeds[at(r)]) found.push_back(part(socket).id);
        // A capacitor whose short would have burnt it is found already: any other one across it only spares it.
        // What stands across it, then what shares the end that is no return, then the rest.
        enum class Near { across, fed_end, anywhere };
        for (const Near near : {Near::across, Near::fed_end, Near::anywhere}) {
            if (found.size() > 1) break;
            const bool returns = near != Near::fed_end;
            for (const Part& q : chassis_.parts()) {
                if (&q == &p || q.kind == PartKind::strip || q.kind == PartKind::capacitor ||
                    (near != Near::anywhere && (q.kind == PartKind::wire || q.kind == PartKind::plug)))
                    continue;
                const auto on = [&](const Lead& l) {
                    return l.net >= 0 && (returns || l.net != chassis_.reference()) &&
                           std::any_of(q.leads.begin(), q.leads.end(), [&](const Lead& k) { return k.net == l.net; });
                };
                const auto shared = std::count_if(p.leads.begin(), p.leads.end(), on);
                if (shared >= (near == Near::across ? 2 : 1)) found.push_back(q.id);
                if (near == Near::anywhere && found.size() > 3) break;
            }
        }
        return found;
    }
    // Whether `step` waits for `before`, by any chain of arrows.
    bool waits(const std::string& step, const std::string& before) const {
        std::set<std::string> seen;
        std::vector<std::string> front{step};
        while (!front.empty()) {
            const std::string one = front.back();
            front.pop_back();
            if (one == before) return true;
            if (!seen.insert(one).second) continue;
            for (const RepairStep& s : drafts_)
                if (s.step == one)
                    for (const StepLink& l : s.predecessors) front.push_back(l.step);
        }
        return false;
    }

    // Whether direct current finds a way round a resistor, with the tubes out.
    bool way_round(int index) const {
        const Part& p = part(index);
        if (p.leads.size() < 2) return false;
        std::vector<int> front{p.leads[0].net};
        std::vector<bool> seen(chassis_.nets().size());
        while (!front.empty()) {
            const int net = front.back();
            front.pop_back();
            if (net < 0 || seen[at(net)]) continue;
            seen[at(net)] = true;
            for (const LeadRef& ref : chassis_.nets()[at(net)].leads) {
                const Part& q = part(ref.part);
                if (ref.part == index || q.kind == PartKind::socket) continue;
                for (const ConductingGroup& g : conducting_groups(q, ref.part, Through::copper))
                    if (std::find(g.leads.begin(), g.leads.end(), ref.lead) != g.leads.end())
                        for (int l : g.leads) front.push_back(q.leads[at(l)].net);
            }
        }
        return p.leads[1].net >= 0 && seen[at(p.leads[1].net)];
    }

    void measuring_steps() {
        std::vector<int> resistors, capacitors;
        for (const PartAction& a : actions_) {
            const Part& p = part(a.part);
            if (a.action != "measure" || owner_.count(p.id)) continue;
            if (p.kind == PartKind::resistor || p.kind == PartKind::control) resistors.push_back(a.part);
            if (p.kind == PartKind::capacitor) capacitors.push_back(a.part);
        }
        for (const std::vector<int>& g : grouped(capacitors)) {
            const std::vector<std::string> list = ids(g);
            const std::string id = "prove-" + joined(list);
            const double n = static_cast<double>(list.size());
            std::vector<std::string> formed;
            if (policy_.electrolytics == FilterPolicy::reform)
                for (const std::string& p : list)
                    if (is_electrolytic(*part(p))) formed.push_back(p);
            RepairStep& s = add(id,
                                place_of(g.front()) + ": lift one end of " + listed(list) +
                                    (list.size() == 1 ? ""
                                     : formed.empty() ? ", one at a time"
                                                      : ", each tagged with its lug") +
                                    (formed.empty() ? ""
                                                    : "; form " + listed(formed) +
                                                          " through 100 k, at no more than 1 mA, up to its working "
                                                          "volts; then") +
                                    (formed.empty() ? ", leakage" : " leakage") +
                                    " at working volts, empty it through 10 k 10 W, put it back or replace it" +
                                    (list.size() == 1 || !formed.empty() ? "" : " before the next"),
                                n * (minutes("measure-leakage") + minutes("lift") + minutes("refit")) +
                                    minutes_to_empty(list) + (formed.empty() ? 0 : minutes("reform")));
            at_place_.insert(id);
            s.parts = list;
            s.place = place_of(g.front());
            s.does += goes_back(list);
            s.check = leak_limits(g) + emptied_words;
            const std::vector<std::string> over = reached(s, list);
            if (formed.empty())
                s.acts = one_by_one_free(list, "leakage at working volts", true);
            else
                s.acts = {{K::lift, list, "one end, each tagged with its lug", 0},
                          {K::measure, list, "leakage at working volts", 0},
                          {K::discharge, list, "each through 10 k 10 W", 0},
                          {K::reconnect, list, "as it was, or a new one", 0}};
            s.acts.push_back({K::inspect, list, "joints", 0});
            lift_round(s, over);
            for (const std::string& p : list)
                if (is_electrolytic(*part(p))) with_plus_.insert(id);
            solder_.push_back(id);
            for (const std::string& p : list) owner_[p] = id;
            after(id, "photographs", "H2", "no joint is opened before the pictures");
            after(id, "discharge", "charge", "hands in an empty set");
            wait_for_room(id, list);
        }
        // What may have burnt a resistor and stays is proved before the new resistor goes in.
        for (const PartAction& a : actions_)
            for (const std::string& cause : burnt_with(a.part)) {
                const std::string& burnt = part(a.part).id;
                if (a.action != "replace" || cause == burnt || action(cause) != "measure" || !owner_.count(cause) ||
                    !owner_.count(burnt) || owner_[cause] == owner_[burnt])
                    continue;
                after(owner_[burnt], owner_[cause], "H18", cause + " may have burnt " + burnt + ": proved first");
            }
        for (const std::vector<int>& g : grouped(resistors)) {
            const std::vector<std::string> list = ids(g);
            const std::string id = "measure-" + joined(list);
            std::vector<std::string> one_end;
            std::set<std::string> waits;
            for (int r : g) {
                bool lift = way_round(r);
                for (const std::string& c : leaky_beside(r)) {
                    if (owner_.count(c))
                        waits.insert(owner_[c]);
                    else
                        lift = true;
                }
                if (lift) one_end.push_back(part(r).id);
            }
            RepairStep& s = add(id,
                                place_of(g.front()) + ": ohms of " + listed(list) +
                                    (one_end.empty() ? "" : "; one end of " + listed(one_end) + " free") +
                                    (one_end.size() > 1 ? ", one at a time, back before the next"
                                     : !one_end.empty() ? ", and back"
                                                        : ""),
                                static_cast<double>(list.size()) * minutes("measure-resistor") +
                                    static_cast<double>(one_end.size()) * (minutes("lift") + minutes("refit")));
            at_place_.insert(id);
            s.parts = list;
            s.place = place_of(g.front());
            s.does += goes_back(one_end);
            s.check = ohm_limits(g);
            const std::vector<std::string> over = reached(s, list);
            std::vector<std::string> in_place;
            for (const std::string& p : list)
                if (!holds(one_end, p)) in_place.push_back(p);
            if (!in_place.empty()) s.acts.push_back({K::measure, in_place, "ohms", 0});
            if (!one_end.empty()) {
                for (Act& act : one_by_one_free(one_end, "ohms", false)) s.acts.push_back(std::move(act));
                s.acts.push_back({K::inspect, one_end, "joints", 0});
            }
            lift_round(s, over);
            const bool opened = !one_end.empty() || !over.empty();
            if (opened) solder_.push_back(id);
            for (const std::string& p : list) owner_[p] = id;
            for (const std::string& w : waits)
                after(id, w, "s10", "leaky neighbours are new before a resistor is judged");
            if (opened) after(id, "photographs", "H2", "no joint is opened before the pictures");
            after(id, "discharge", "charge", "ohms are read on an empty set");
            wait_for_room(id, list);
        }
    }
    /// What is replaced and lay over one of these is new by then, and leaves room.
    bool makes_room(const std::string& over) const {
        return action(over) == "replace" && owner_.count(over) > 0 && owner_.at(over).rfind("replace-", 0) == 0;
    }
    /// What is lifted to reach parts that are read; told, with its minutes.
    std::vector<std::string> reached(RepairStep& s, const std::vector<std::string>& list) const {
        std::vector<std::string> over;
        for (const std::string& id : list)
            for (const std::string& l : lifted_for(id))
                if (!holds(over, l) && !makes_room(l)) over.push_back(l);
        if (over.empty()) return over;
        std::vector<std::string> under;
        for (const std::string& id : list)
            for (const std::string& l : lifted_for(id))
                if (holds(over, l) && !holds(under, id)) under.push_back(id);
        s.does += "; for " + listed(under) + " lift " + listed(over) +
                  " first, each lead tagged with its lug, and put " + (over.size() == 1 ? "it" : "them") + " back";
        s.minutes += static_cast<double>(over.size()) * (minutes("lift") + minutes("refit"));
        return over;
    }
    void lift_round(RepairStep& s, const std::vector<std::string>& over) {
        if (over.empty()) return;
        // what is read itself is lifted for itself
        std::vector<std::string> only;
        for (const std::string& id : over)
            if (std::none_of(s.acts.begin(), s.acts.end(),
                             [&](const Act& act) { return act.kind == K::lift && holds(act.parts, id); }))
                only.push_back(id);
        if (only.empty()) return;
        s.acts.insert(s.acts.begin(), Act{K::lift, only, "for access", 0});
        s.acts.push_back({K::reconnect, only, "as it was", 0});
        s.acts.push_back({K::inspect, only, "joints", 0});
        for (const std::string& id : only)
            if (is_electrolytic(*part(id))) with_plus_.insert(s.step);
    }
    /// Read after what lay over it is new, and that step says that it leaves room.
    void wait_for_room(const std::string& id, const std::vector<std::string>& list) {
        for (const std::string& one : list)
            for (const std::string& l : lifted_for(one)) {
                if (!makes_room(l) || waits(owner_[l], id)) continue;
                after(id, owner_[l], "access", one + " is reached once " + l + " is new and clear of it");
                RepairStep& over = step(owner_[l]);
                const std::string words = "; leave " + one + " clear, which lay under " + l;
                if (over.does.find("; leave " + one + " clear") == std::string::npos) over.does += words;
            }
    }

    /// No two ends are open at once: each is back before the next is lifted.
    static std::vector<Act> one_by_one_free(const std::vector<std::string>& list, const char* what, bool charged) {
        std::vector<Act> acts;
        for (const std::string& id : list) {
            acts.push_back({K::lift, {id}, "one end", 0});
            acts.push_back({K::measure, {id}, what, 0});
            if (charged) acts.push_back({K::discharge, {id}, "through 10 k 10 W", 0});
            acts.push_back({K::reconnect, {id}, "as it was, or a new one", 0});
        }
        return acts;
    }

    /// What was charged for its leakage is emptied before a hand comes to it: an electrolytic as any filter section,
    /// read again after a minute; of others the clip is in the minutes of the measurement.
    double minutes_to_empty(const std::vector<std::string>& list) const {
        return minutes("discharge") *
               static_cast<double>(std::count_if(list.begin(), list.end(),
                                                 [&](const std::string& id) { return is_electrolytic(*part(id)); }));
    }
    static constexpr const char* emptied_words = "; then 0 V across each before a hand comes to it";

    std::vector<std::string> leaky_beside(int r) const {
        std::vector<std::string> found;
        for (const Lead& l : part(r).leads) {
            if (l.net < 0 || l.net == chassis_.reference() || l.net == chassis_.nodes().chassis_metal ||
                l.net == chassis_.nodes().b_minus)
                continue;
            for (const LeadRef& ref : chassis_.nets()[at(l.net)].leads) {
                const Part& c = part(ref.part);
                const auto now = progress_.parts.find(c.id);
                const bool settled = now != progress_.parts.end() &&
                                     (now->second == PartState::fitted || now->second == PartState::proved ||
                                      now->second == PartState::omitted);
                if ((is_paper(c) || is_electrolytic(c)) && !settled) found.push_back(c.id);
            }
        }
        return found;
    }
    std::string ohm_limits(const std::vector<int>& parts) const {
        std::string text;
        for (int i : parts) {
            const Part& p = part(i);
            if (!p.ohms) continue;
            text += (text.empty() ? "" : "; ") + ohm_band(p.id, *p.ohms, drift_allowed(duties_.of(i), policy_));
        }
        return text.empty() ? as_documented : text + "; else a new one";
    }
    static std::string ohm_band(const std::string& id, double middle, double share) {
        return id + " between " + say(ohms(middle * (1 - share))) + " and " + say(ohms(middle * (1 + share)));
    }
    /// A new resistor reads what its place bears; where the list has another value there, what was bought.
    std::string new_ohms(const std::string& id) const {
        const Part& p = *part(id);
        const auto it = bought_.find(id);
        const double limit = drift_allowed(duties_.of(chassis_.part(id)), policy_), had = p.ohms.value_or(0);
        if (it == bought_.end() || it->second.ohms <= 0) return had > 0 ? ohm_band(id, had, limit) : std::string();
        const bool as_before = p.kind != PartKind::cord && std::fabs(it->second.ohms - had) <= limit * had;
        return as_before ? ohm_band(id, had, limit) : ohm_band(id, it->second.ohms, new_tolerance);
    }
    std::string leak_limits(const std::vector<int>& parts) const {
        std::string text;
        for (int i : parts) {
            const Part& p = part(i);
            text += (text.empty() ? "" : "; ") + p.id + " " + (is_electrolytic(p) ? electrolytic_leak(p) : dry_leak(p));
        }
        return text;
    }

    /// Where its place bears less than any sound one leaks, the solved limit.
    std::string dry_leak(const Part& p) const {
        constexpr double sound_ohms = 20e6;   // paper, mica and film that keep (common practice, no source)
        constexpr double least_volts = 25;    // a proof at less tells nothing (assumed)
        constexpr double meter_ohms = 10e6;   // in series with it
        constexpr double nothing_ohms = 1e9;  // "none may leak": as far as a bench can tell (assumed)
        const auto limit =
            std::find_if(leaks_.begin(), leaks_.end(), [&](const LeakageLimit& l) { return l.part == p.id; });
        if (limit == leaks_.end()) return "over " + say(ohms(sound_ohms)) + " at working volts";
        const bool none = limit->amps && *limit->amps <= 0;
        const double asked = none ? nothing_ohms : std::max(limit->ohms.value_or(0), sound_ohms);
        const double at_volts = std::max(limit->volts, least_volts);
        std::string text = "over " + say(ohms(asked)) + " at " + say(volts(at_volts)) + ", under " +
                           say(volts(at_volts * meter_ohms / (meter_ohms + asked))) + " on 10 meg in series";
        if (asked > sound_ohms) text += " (at less: " + limit->limited_by + ")";
        return text;
    }

    // JAN-C-62 (second-hand quote): milliamperes = K x microfarads + .3 at the rated volts, K by those volts.
    static std::string electrolytic_leak(const Part& p) {
        if (!p.farads || !p.rated_volts) return "under .3 mA and falling, its value or volts being unknown";
        const double v = *p.rated_volts;
        const double k = v <= 100 ? 0.01 : v <= 250 ? 0.02 : v <= 350 ? 0.025 : 0.04;
        const double limit = (k * *p.farads * 1e6 + 0.3) * 1e-3;
        return "under " + say(amps(limit)) + " after 5 minutes at " + say(volts(v)) +
               (v > 450 ? " (a limit quoted up to 450 V)" : "");
    }

    // What goes back into its socket at a stage: a new lamp stands in the place of the old from its stage on; a new
    // tube was fitted for its test.
    void put_in(RepairStep& s, const std::vector<std::string>& tubes, const std::string& what) const {
        std::vector<std::string> renewed;
        for (const std::string& id : tubes)
            if (!in_a_string() && holds(lamps_, id) && action(id) == "replace") renewed.push_back(id);
        if (!renewed.empty()) s.acts.push_back({K::fit, renewed, "the new one in the place of the old", 0});
        if (!tubes.empty()) s.acts.push_back({K::refit_tube, tubes, what, 0});
    }
    std::vector<std::string> renewed_lamps() const {
        std::vector<std::string> renewed;
        for (const std::string& id : lamps_)
            if (action(id) == "replace") renewed.push_back(id);
        return renewed;
    }
    /// H12: a string runs with its lamps in; a dead one has been bought anew.
    std::string lamps_too() const {
        const std::vector<std::string> renewed = renewed_lamps();
        return lamps_.empty() ? "" : " and dial lamps" + (renewed.empty() ? "" : " (" + listed(renewed) + " new)");
    }
    /// The stages of the family, in the words of its supply.
    std::string stages_words() const {
        const std::string end = "; write the volts down";
        if (!transformer_.empty())
            return "Bring it up by the power-up sheet: heaters, rectifier behind the lamp, larger lamp, full line" +
                   end;
        if (from_vehicle_)
            return "Vibrator out, tubes in: heaters and lamps; then vibrator and rectifier in, speaker plugged: from a "
                   "supply that limits, then at the battery's full volts; amperes of the A lead at each" +
                   end;
        if (from_battery_)
            return "Bring it up by its batteries, one at a time: A alone first, volts at each filament; then C where "
                   "it has "
                   "one; B last, a small fuse of the bench in B-minus" +
                   end;
        if (direct_line())
            return "Bring it up on direct current, all tubes" + lamps_too() +
                   " in, speaker plugged: behind the lamp, a larger lamp, full "
                   "line; "
                   "the other way round of the plug it stays dead" +
                   end;
        return "Bring it up behind an isolation transformer, all tubes in" + lamps_too() + ", speaker plugged" +
               (portable() ? ", batteries out" : "") + ": the whole string behind the lamp, a larger lamp, full line" +
               end;
    }

    void power_steps() {
        std::vector<std::string> first, last;
        std::vector<std::string> all = tubes_;  // and what goes into a socket that was found empty
        for (const std::string& t : new_tubes_)
            if (!holds(all, t)) all.push_back(t);
        for (const std::string& t : all) (part(t)->type && part(t)->type->is_rectifier() ? last : first).push_back(t);
        first.insert(first.end(), lamps_.begin(), lamps_.end());
        if (from_vehicle_ && alone_step().empty()) vibrator_step("buy-parts");
        const double heated = transformer_.empty() && !from_vehicle_ ? 0 : minutes("heaters");
        RepairStep& p = add("power-up", stages_words(), heated + (from_line() ? 3 : 2) * minutes("power-stage"));
        p.place = "bench supply";
        p.reason = "each stage stops before a mistake becomes smoke";
        const std::string string = string_ohms();
        const bool unread = !string.empty() && !gaps_of_string().empty();
        p.check = transformer_.empty()
                      ? "every reading that powerup or volts gives inside its band, written down; what "
                        "powerup does not plan it calls not planned"
                      : "every reading of the sheet inside its band, written down";
        if (unread)
            p.check = "before the plug goes in, with all of them in and the switch on: " + string + "; " + p.check;
        if (!transformer_.empty()) {
            put_in(p, first, "all but the rectifier");
            p.acts.push_back({K::power_heaters, {}, "rectifier out", 8});
            p.acts.push_back({K::discharge, {}, "plug out", 0});
            put_in(p, last, "rectifier");
        } else if (from_vehicle_) {
            if (!vibrators_.empty()) p.acts.push_back({K::remove, vibrators_, "out again, for the heaters", 0});
            put_in(p, first, "all but the rectifier");
            p.acts.push_back({K::power_heaters, {}, "vibrator and rectifier out", 8});
            p.acts.push_back({K::discharge, {}, "supply off", 0});
            if (!vibrators_.empty()) p.acts.push_back({K::reconnect, vibrators_, "into its socket", 0});
            put_in(p, last, "rectifier");
        } else {
            first.insert(first.end(), last.begin(), last.end());
            put_in(p, first, from_battery_ ? "all, by their labels" : "all of the string");
            if (from_battery_) p.acts.push_back({K::power_heaters, {}, "A alone", 8});
        }
        const char* off = from_line() ? "plug out" : "supply off";
        p.acts.push_back({K::power_b_plus,
                          {},
                          from_vehicle_   ? "from a supply that limits"
                          : from_battery_ ? "B last, a small fuse of the bench in B-minus"
                                          : "behind the lamp",
                          10});
        p.acts.push_back({K::discharge, {}, off, 0});
        p.acts.push_back({K::power_full_line, {}, from_line() ? "full line" : "full volts", 15});
        p.acts.push_back({K::log_volts, {}, "every pin of the sheet", 0});
        p.acts.push_back({K::discharge, {}, off, 0});
        wait_for_all("power-up");
        if (from_vehicle_) {
            if (alone_step().empty()) wait_for_all("vibrator-alone");
            after("power-up", "vibrator-alone", "H6", "vibrator and transformer ran without the rectifier first");
        }
        if (portable()) {
            RepairStep& b =
                add("battery-power",
                    "On batteries, the cord out: A alone first, volts at each filament; then B, a small fuse in "
                    "B-minus; write the volts down",
                    2 * minutes("power-stage"));
            b.place = "bench supply";
            b.reason =
                "A and B exchanged burn every tube at once; the line worked, so what fails here is a battery, its "
                "cable or the changeover switch";
            b.check = "each filament within a tenth of its volts; B-plus as on the line, within a tenth";
            b.acts = {{K::power_full_line, {}, "A alone, then B last", 10},
                      {K::log_volts, {}, "every filament", 0},
                      {K::discharge, {}, "batteries out", 0}};
            after("battery-power", "power-up", "list", "the line's volts are right first");
        }
    }

    // The vibrator with its new buffer, rectifier and tubes out.
    void vibrator_step(const std::string& buying) {
        RepairStep& s =
            add("vibrator-alone",
                "Rectifier and tubes out: plus and minus at the plug; then the vibrator in" +
                    std::string(winding_capacitors_.empty() ? "" : " with " + listed(winding_capacitors_)) +
                    ", the rectifier still out, from a supply that limits: primary amperes, half an hour, never left",
                3 * minutes("power-stage"));
        s.parts = {vibrated_};
        s.place = "bench supply";
        s.reason =
            "a stuck vibrator or a wrong buffer shows itself while nothing else can be blamed, and before it burns the "
            "winding";
        if (!alone_step().empty()) s.reason += "; the transformer is proved before money is spent on the rest";
        s.check = "an even buzz, steady amperes; transformer barely warm";
        std::vector<std::string> renewed, back;
        for (const std::string& id : vibrators_) {
            const bool bad = action(id) == "replace";
            (bad ? renewed : back).push_back(id);
            s.parts.push_back(id);
            owner_.emplace(id, bad ? "pull-tubes" : s.step);  // the old one never goes back
            if (const auto it = bought_.find(id); it != bought_.end() && bad) s.cost += it->second.cost;
        }
        s.cost = choice::cents(s.cost);
        if (!renewed.empty()) s.acts.push_back({K::fit, renewed, "the new one in the place of the old", 0});
        if (!back.empty()) s.acts.push_back({K::reconnect, back, "into its socket", 0});
        s.acts.push_back({K::power_transformer_alone, {vibrated_}, "rectifier out, supply limited", 30});
        s.acts.push_back({K::discharge, {}, "supply off", 0});
        if (!renewed.empty()) s.acts.push_back({K::measure, renewed, "its amperes, as written down while it ran", 0});
        owner_.emplace(vibrated_, s.step);
        if (!renewed.empty()) after("vibrator-alone", buying, "list", "bought before it is fitted");
    }

    // What must be done before a step that feeds the set.
    void wait_for_all(const std::string& power) {
        const bool guarded = std::any_of(new_tubes_.begin(), new_tubes_.end(), [&](const std::string& id) {
            const int socket = chassis_.part(id);
            return std::count(duties_.rectifiers.begin(), duties_.rectifiers.end(), socket) +
                       std::count(duties_.output_tubes.begin(), duties_.output_tubes.end(), socket) >
                   0;
        });
        if (guarded) after(power, "new-tubes", "H20", "a new rectifier or output tube is tested like an old one");
        if (in_a_string()) after(power, "new-tubes", "H12", "the string is fed whole: no socket is left empty");
        if (!guarded && !in_a_string()) after(power, "new-tubes", "list", "a new tube is tested like an old one");
        after(power, "test-tubes", "H20", "rectifier and output tube shown free of shorts");
        after(power, "speaker-continuity", "H21", "continuity through the plug, and the speaker in (H11)");
        after(power, "trace-polarity", "H23", "every plus traced");
        after(power, "cold-ohms-all", "H19", "cold ohms inside the band");
        after(power, "transformer-alone", "H6", "the transformer ran alone first");
        after(power, "inspect", "H5", "line side sound");
        if (earth_.forbidden()) after(power, "earth-off", "H22", "no earth on what the line can reach");
        if (live_metal()) after(power, "reference", "H22", "nothing earthed on what the line can reach");
        after(power, "clean-sockets", "list", "no track across a socket");
        for (const StepLink& l : line_fits_) after(power, l.step, l.rule, l.why);
        for (const StepLink& l : links_)
            if (l.rule != "list" || !holds_for(power, l.step)) after(power, l.step, l.rule, l.why);
    }

    // What each part that a step settles is wanted for before power.
    void link_to_power() {
        for (const RepairStep& s : drafts_)
            for (const std::string& id : s.parts) {
                if (owner_.count(id) == 0 || owner_[id] != s.step || s.step == "speaker-continuity" ||
                    s.step == "transformer-alone")
                    continue;
                const int i = chassis_.part(id);
                if (i < 0) continue;
                const Duty d = duties_.of(i);
                if (d == Duty::output_coupler)
                    links_.push_back({s.step, "H8", "the output coupler is settled before the output tube goes back"});
                const bool supply = d == Duty::first_filter || d == Duty::filter || d == Duty::output_plate_bypass ||
                                    d == Duty::screen_bypass || d == Duty::supply_bypass;
                // the coupler's own rule names it, though its short loads the supply too
                if (d != Duty::output_coupler && (duties_.guards_rectifier(chassis_, i) || supply))
                    links_.push_back({s.step, "H7", "filters and papers are settled before the rectifier goes back"});
                else if (d == Duty::output_cathode_resistor || d == Duty::output_grid_leak || d == Duty::bias_feed ||
                         d == Duty::back_bias_resistor || d == Duty::bias_filter)
                    links_.push_back({s.step, "H9", "the bias is measured before the output tube goes back"});
                else if (d != Duty::output_coupler)
                    links_.push_back({s.step, "list", "everything on the list is done before the first power"});
            }
    }

    void closing_steps() {
        // Continuity through the plug.
        std::vector<std::string> through, riding;
        bool plugged = false;
        for (const Part& p : chassis_.parts()) {
            if ((p.kind == PartKind::transformer && p.role == "output") ||
                (p.kind == PartKind::coil && (p.role == "field" || p.role == "choke")))
                through.push_back(p.id);
            if (p.plug == "speaker" || p.kind == PartKind::speaker) {
                plugged = true;
                riding.push_back(p.id);
            }
        }
        if (!through.empty() || plugged) {
            std::vector<std::string> both = through;
            for (const std::string& id : riding)
                if (!holds(both, id)) both.push_back(id);
            RepairStep& s = add(
                "speaker-continuity",
                "Plug the speaker; continuity of " + listed(through.empty() ? riding : through) +
                    " from the chassis side of the plug",
                minutes("measure") * static_cast<double>(std::max<std::size_t>(1, through.size())) + minutes("log"));
            s.parts = both;
            s.place = "speaker plug";
            bool field = false, primary = false, halves = false, by_plug = false;
            for (const std::string& one : through) {
                const Part& p = *part(one);
                field = field || p.kind == PartKind::coil;
                primary = primary || p.kind == PartKind::transformer;
                by_plug = by_plug || !p.plug.empty();
                for (const PartWinding& w : p.windings)
                    halves = halves || (w.role == WindingRole::output_primary && w.leads.size() == 3);
            }
            if (field) s.reason = "an open field or choke leaves the first filter at the peak";
            if (primary)
                s.reason +=
                    std::string(field ? "; " : "") + "an open output primary leaves the screen to take the current";
            if (!field && !primary) s.reason = "an amplifier without its load burns its output transformer";
            std::vector<std::string> read;
            if (primary) read.push_back(halves ? "each half of the output primary" : "the output primary");
            if (field) read.push_back("the field or choke");
            if (read.empty()) read.push_back("the voice coil");
            s.check = "cold ohms as they should be: " + listed(read);
            if (by_plug) s.check += ", through the plug";
            if (!by_plug) s.does = "Plug the speaker; continuity of " + listed(through.empty() ? riding : through);
            if (plugged) s.acts.push_back({K::plug_speaker, riding, "plug out, empty", 0});
            if (!through.empty()) s.acts.push_back({K::measure, through, "continuity", 0});
            std::vector<std::string> plugs;
            for (const Part& p : chassis_.parts())
                if (p.kind == PartKind::plug && p.role == "speaker") plugs.push_back(p.id);
            for (const auto* list : {&through, &riding, &plugs})
                for (const std::string& id : *list)
                    if (owner_.count(id)) after("speaker-continuity", owner_[id], "H21", "the new one is what is read");
            for (const std::string& id : through) owner_.emplace(id, "speaker-continuity");
            for (const std::string& id : riding) owner_.emplace(id, "speaker-continuity");
            after("speaker-continuity", "discharge", "charge", "the plug carries what the filters hold");
            after("speaker-continuity", "cold-ohms-windings", "list", "the windings are known by themselves first");
        }
        std::vector<std::string> plus;
        for (const Part& p : chassis_.parts())
            if (is_electrolytic(p) && !left_out(p.id)) plus.push_back(p.id);
        if (!plus.empty()) {
            RepairStep& s = add("trace-polarity", "Trace the plus of " + listed(plus) + " to its lug against the list",
                                2 + static_cast<double>(plus.size()));
            s.parts = plus;
            s.place = "whole chassis";
            s.reason = "one that is reversed bursts";
            for (const std::string& id : plus)
                s.check += (s.check.empty() ? "" : "; ") + id + " plus at " + plus_net(id);
            s.acts = {{K::trace_polarity, plus, "every electrolytic", 0}};
            for (const std::string& id : with_plus_)
                after("trace-polarity", id, "H23", "traced after the last of them is fitted");
            after("trace-polarity", "discharge", "charge", "hands in an empty set");
        }
        RepairStep& cold = add("cold-ohms-all",
                               std::string("Cold ohms of each B-plus section to B-minus and chassis, ") +
                                   (!transformer_.empty() ? "heater windings to chassis"
                                    : from_vehicle_       ? "the A lead to chassis with the vibrator out"
                                    : from_battery_       ? "A-plus to A-minus with the tubes out, B-plus to A-plus"
                                                          : "each blade to B-minus and chassis") +
                                   ", each grid to its return, by the sheet",
                               minutes("cold-ohms"));
        cold.place = "whole chassis";
        cold.reason = "under half of the solved ohms something is shorted still: do not power";
        cold.check = "each inside its solved band";
        if (!read_last_.empty())
            cold.check += "; with the old capacitors gone, " + listed(read_last_) + " over 1 megohm to the core";
        cold.acts = {{K::cold_ohms, {}, "whole set", 0}};
        for (const std::string& id : solder_) after("cold-ohms-all", id, "H19", "read after the last joint");
        std::vector<std::string> read_first;
        for (const RepairStep& s : drafts_)
            if (s.step.rfind("measure-", 0) == 0 && !holds(solder_, s.step)) read_first.push_back(s.step);
        for (const std::string& id : read_first)
            after("cold-ohms-all", id, "list", "a resistor that drifted is new before the whole is read");
        after("cold-ohms-all", "discharge", "H19", "ohms are read on an empty set");

        link_to_power();
        power_steps();

        alignment_step();
        RepairStep& soak = add(
            "soak", std::string("Soak: an hour and a half at full ") + (from_line() ? "line" : "volts") + ", watched",
            minutes("soak"));
        soak.place = "bench supply";
        soak.reason = "silver mica and heat faults show after minutes to hours";
        soak.check = std::string("three voltages again, the same; ") +
                     (!transformer_.empty() ? "transformer warm, not hot"
                      : from_vehicle_       ? "amperes steady, the buzz even, transformer warm, not hot"
                      : from_battery_       ? "A and B steady"
                                            : "what drops the heaters' volts hot, nothing smells");
        soak.acts = {{K::soak, {}, "never left", 90}, {K::discharge, {}, from_line() ? "plug out" : "supply off", 0}};
        if (there("alignment"))
            after("soak", "alignment", "list", "the soak shows whether what was tuned stays tuned");
        else
            after("soak", portable() ? "battery-power" : "power-up", "list",
                  "volts are right before it is left on so long");
        RepairStep& close =
            add("reassemble", "Into the cabinet: knobs, back, insulated screws, labels", minutes("hand-back"));
        close.reason = from_line() ? "touch current is read on the set as it will be touched"
                                   : "the set is handed back as it will be used";
        close.check = from_line() ? "no screw and no shaft carries what the chassis carries"
                                  : "leads clear of every edge, plus and minus marked on the lead";
        close.acts = {{K::reassemble, {}, "", 0}};
        after("reassemble", "soak", "s14", "soak before reassembly");
        if (from_line()) touch_step();
        RepairStep& back = add("hand-back",
                               std::string("Hand back with the tag: date, what changed, fuse, lamp type, ") +
                                   (from_line() ? "line" : "volts and poles"),
                               minutes("hand-back"));
        back.reason = "the next person at the bench wants to know";
        back.check = "tag inside the cabinet; removed parts in a labelled bag";
        back.acts = {{K::hand_back, {}, "", 0}};
        after("hand-back", "touch-current", "H15", "touch current before hand-back");
        if (!from_line()) after("hand-back", "reassemble", "list", "it is handed back whole");
    }

    /// The last work on the set; behind it come proofs alone. What is tuned is told by what is there.
    void alignment_step() {
        const auto has_coils = [&](std::initializer_list<const char*> roles) {
            return std::any_of(chassis_.parts().begin(), chassis_.parts().end(), [&](const Part& p) {
                return p.kind == PartKind::transformer &&
                       std::any_of(roles.begin(), roles.end(), [&](const char* role) { return p.role == role; });
            });
        };
        if (!has_coils({"if", "rf", "oscillator"})) return;
        const bool between = has_coils({"if"}), oscillates = has_coils({"oscillator"}) || between;
        RepairStep& s =
            add("alignment",
                between      ? "Align: intermediate frequency, oscillator, antenna, in that order"
                : oscillates ? "Align: oscillator, antenna, in that order"
                             : "Align: the tuned stages on a weak station at the high end of the dial, from "
                               "the detector's back to the antenna's",
                (between ? minutes("align-if") : 0) + minutes("align-rf"));
        s.place = "bench supply";
        s.reason =
            "alignment hides faults that volts show: it is the last work, and the soak then proves that it holds";
        s.check = "most output at each trimmer; dial and stations agree at both ends";
        s.acts = {{K::align, {}, "generator and output meter", 0},
                  {K::discharge, {}, from_line() ? "plug out" : "supply off", 0}};
        if (live_metal()) {
            s.does +=
                "; generator and output meter are earthed as a rule, and none of their leads goes to the metal or "
                "B-minus: the generator by a loop of wire laid near the antenna coil, the meter across the voice "
                "coil";
            s.check += "; nothing earthed is clipped on";
        }
        after("alignment", "power-up", "H13", "working volts right and written down");
        after("alignment", "battery-power", "list", "one supply after the other is right first");
        if (live_metal()) after("alignment", "reference", "H22", "nothing earthed on what the line can reach");
    }

    void touch_step() {
        RepairStep& touch =
            add("touch-current", "Touch current in three steps, switch on and off, both ways of the plug",
                minutes("touch-current"));
        touch.reason = "whoever owns it will touch it";
        touch.check = "each touchable part under .5 mA: under .75 V on 1.5 k with .15 uF across";
        touch.acts = {{K::check_touch_current, {}, "cold: blades joined, over 1 megohm", 0},
                      {K::check_touch_current, {}, "47 k 2 W to a known earth: 24 V stops", 0},
                      {K::check_touch_current, {}, "1.5 k with .15 uF: .75 V stops", 0},
                      {K::discharge, {}, "plug out", 0}};
        after("touch-current", "reassemble", "access", "on the set as it will be touched");
        after("touch-current", "earth-off", "H15", "an earthed chassis shows no touch current");
    }

    // Risk by step: each mode of a part goes to the step that settles it; what no step settles stays.
    void weigh() {
        std::map<std::string, double> risk;
        std::set<std::string> gone;
        for (const Threat& t : threats_.rows) {
            // what is out and does not go back threatens nothing any more
            if (stays_out(t.part)) {
                gone.insert(t.part);
                continue;
            }
            const double r = t.criticality * severity_weight(t.severity);
            all_risk_ += r;
            const std::string step = settles(t);
            if (step.empty()) {
                unsettled_ += r;
                continue;
            }
            if (r <= 0) {
                Quiet& quiet = quiet_[step];
                quiet.faults.insert(t.fault.id);
                // it would do harm, but of such parts the tables know no failure of that kind
                if (t.beta > 0 && severity_weight(t.severity) > 0) {
                    quiet.never.insert(t.fault.id);
                    if (!quiet.harm || t.beta > quiet.harm->beta) quiet.harm = &t;
                }
                if (!quiet.worst || primary_share(t) > primary_share(*quiet.worst)) quiet.worst = &t;
                continue;
            }
            risk[step] += r;
            const Threat*& w = worst_[step];
            if (!w || r > w->criticality * severity_weight(w->severity)) w = &t;
        }
        unit_ = unit_of_weights(risk);
        for (RepairStep& s : drafts_) {
            s.risk_removed = risk.count(s.step) ? risk[s.step] : 0;
            s.w_microrisk = std::llround(1e9 / unit_ * s.risk_removed);
            if (!worst_.count(s.step) || all_risk_ <= 0) {
                if (s.reason.empty()) s.reason = "age: " + reasons_of(s);
                if (const auto quiet = quiet_.find(s.step); quiet != quiet_.end())
                    s.reason += "; " + quiet_words(quiet->second);
                std::vector<std::string> without;
                for (const std::string& id : s.parts)
                    if (gone.count(id) && owner_.count(id) && owner_.at(id) == s.step) without.push_back(id);
                if (!without.empty())
                    s.reason += "; by the log " + listed(without) +
                                (without.size() == 1 ? " is out, and its danger with it"
                                                     : " are out, and their danger with them");
                continue;
            }
            const Threat& t = *worst_[s.step];
            std::string numbers = fault_words(t);
            if (!t.likelihood.empty()) numbers += " (" + t.likelihood + ")";
            const double share = 100 * s.risk_removed / all_risk_;
            numbers +=
                "; takes " + (share < 0.1 ? std::string("under 0.1") : figure(share, 1)) + " % of the listed risk away";
            s.reason = s.reason.empty() ? numbers : s.reason + "; " + numbers;
            if (const std::string seen = seen_in(s); !seen.empty()) s.reason = seen + "; " + s.reason;
        }
    }
    /// All seconds times all weights stay whole numbers of 60 bits: where they would not, weights are in tens, hundreds
    /// ... of 1e-9.
    double unit_of_weights(const std::map<std::string, double>& risk) const {
        double mins = 0, all = 0, unit = 1;
        for (const RepairStep& s : drafts_) mins += s.minutes + minutes("place-change");  // a turn each, at the most
        for (const auto& [step, r] : risk) all += r;
        while (60 * policy_.pace * mins * (1e9 * all / unit) >= 0x1p60) unit *= 10;
        return unit;
    }
    /// Out or with an end free by the log, to be replaced.
    bool stays_out(const std::string& id) const {
        const auto now = progress_.parts.find(id);
        return now != progress_.parts.end() && action(id) == "replace" &&
               (now->second == PartState::removed || now->second == PartState::lifted);
    }
    /// A fault and what it draws, in the figures of the threat study.
    std::string fault_words(const Threat& t) const {
        if (t.ahead_of_primary) return t.fault.id + ": fire or a live chassis, not the transformer" + shock_words(t);
        if (const std::string over = over_at_target(t); !over.empty())
            return t.fault.id + ": " + (primary_share(t) < 1.1 ? std::string() : t.current_note + ", ") + over;
        if (!t.current_note.empty()) return t.fault.id + ": " + t.current_note;
        if (t.primary_amps_rms_normal <= 0) return t.fault.id;
        return t.fault.id + ": " + figure(primary_share(t), 1) + " times the normal " +
               (!transformer_.empty() ? "primary"
                : from_line()         ? "line"
                                      : "battery") +
               " current";
    }
    /// What the part that a row is about bears too much of, where it is no power transformer, whose heat is told.
    std::string over_at_target(const Threat& t) const {
        for (const Overload& o : t.overloads)
            if (o.part == t.target && !threats_.is_power_transformer(o.part) && t.beta > 0)
                return threat::over_words(o);
        return {};
    }
    static double primary_share(const Threat& t) {
        return t.primary_amps_rms_normal > 0 ? t.primary_amps_rms / t.primary_amps_rms_normal : 0;
    }
    /// Faults of a step that harm nothing hard to replace, and the one that draws most.
    struct Quiet {
        std::set<std::string> faults,
            never;  ///< never: those of them that would harm, and have no share of the failures
        const Threat *worst = nullptr, *harm = nullptr;
    };
    std::string quiet_words(const Quiet& quiet) const {
        if (quiet.harm) {
            const std::size_t rest = quiet.faults.size() - quiet.never.size();
            return fault_words(*quiet.harm) + "; by the tables such a part does not fail so" +
                   (rest == 0 ? std::string()
                              : ", and " + std::to_string(rest) + " more of its faults harm nothing hard to replace");
        }
        const Threat& t = *quiet.worst;
        return (quiet.faults.size() == 1
                    ? std::string("its one fault harms nothing")
                    : "none of its " + std::to_string(quiet.faults.size()) + " faults harms what is") +
               " hard to replace (" + (t.ahead_of_primary ? t.fault.id + shock_words(t) : fault_words(t)) + ")";
    }
    /// What was found of the parts that a step replaces, where it alone would send them out.
    std::string seen_in(const RepairStep& s) const {
        std::string text;
        for (const std::string& id : s.parts)
            if (const Part* p = part(id); p && action(id) == "replace" && seen_useless(*p))
                text += (text.empty() ? "" : ", ") + id + " seen " + p->seen;
        return text;
    }
    std::string reasons_of(const RepairStep& s) const {
        for (const std::string& id : s.parts)
            for (const PartAction& a : actions_)
                if (part(a.part).id == id && !a.reasons.empty()) return a.reasons.front();
        return "common practice";
    }
    // What the line gives, in the threat's own words: current from the line, or through a hand.
    static std::string shock_words(const Threat& t) {
        if (t.links.empty()) return {};
        std::string words = t.links.back().substr(0, t.links.back().find(". "));
        while (!words.empty() && words.back() == '.') words.pop_back();
        if (!words.empty() && words[0] >= 'A' && words[0] <= 'Z') words[0] = static_cast<char>(words[0] - 'A' + 'a');
        return words.empty() ? words : "; " + words;
    }
    // The step after which the mode is gone: where the part is replaced, mended, measured or tested; looking settles
    // what it passes as sound and leaves, but for a switch, which is read. What stays unread is settled when all of the
    // set reads right for the first time.
    std::string settles(const Threat& t) const {
        const auto have = [&](const std::string& step) { return index_.count(step) ? step : std::string(); };
        const Part* p = part(t.part);
        if (p && p->kind == PartKind::socket) {
            const bool wood = t.fault.mode == FaultMode::tracking || t.fault.mode == FaultMode::to_chassis;
            // what is on the list to be replaced harms nothing once it is pulled
            return have(wood                                                ? "clean-sockets"
                        : action(p->id) == "replace" && there("pull-tubes") ? "pull-tubes"
                                                                            : "test-tubes");
        }
        const auto own = owner_.find(t.part);
        if (own != owner_.end()) return have(own->second);
        if (!p) return have("soak");
        if (looked_.count(p->id)) return have(p->kind == PartKind::power_switch ? "cold-ohms-windings" : "inspect");
        if (p->kind == PartKind::transformer || p->kind == PartKind::coil) return have("cold-ohms-windings");
        return have("soak");
    }

    std::string tag(const RepairOrder& order, const Arranged& whole, bool limited) const {
        std::vector<std::string> open, lifted;
        std::set<std::string> outside;
        for (const auto& [id, state] : progress_.parts)
            if (state == PartState::lifted || state == PartState::removed) outside.insert(id);
        if (limited) {
            open = order.left_out;
            for (const RepairStep& s : order.steps)
                for (const Act& a : s.acts)
                    for (const std::string& id : a.parts) {
                        if (a.kind == K::lift || a.kind == K::remove) outside.insert(id);
                        if (a.kind == K::reconnect || a.kind == K::fit || a.kind == K::refit_tube) outside.erase(id);
                    }
        } else {
            for (int j : whole.order) open.push_back(drafts_[at(j)].step);
        }
        const bool kept = policy_.purpose == PurposePolicy::preserve;
        if (open.empty())
            return kept ? "DO NOT PLUG IN. " + chassis_.name() + "\nKept as it is."
                   : limited && !order.steps.empty()
                       ? "DO NOT PLUG IN before the last of these " + std::to_string(order.steps.size()) + " steps. " +
                             chassis_.name() + "\nWhen they are done, nothing is open: this tag comes off."
                       : "Every step is done.";
        lifted.assign(outside.begin(), outside.end());
        std::set<std::string> binding;
        for (const RepairStep& s : drafts_)
            for (const StepLink& l : s.predecessors)
                if (l.rule[0] == 'H' && holds(open, l.step)) binding.insert(l.rule);
        if (!lifted.empty()) binding.insert("H17");
        if (live_metal()) binding.insert("H22");  // always
        std::string rules;
        for (const BenchRule& r : bench_rules())
            if (binding.count(r.id)) rules += (rules.empty() ? "" : " ") + r.id;
        std::string text = "DO NOT PLUG IN. " + chassis_.name() + "\n";
        if (limited && !order.steps.empty())
            text +=
                "When " +
                std::string(order.steps.size() == 1 ? "this one step is"
                                                    : "these " + std::to_string(order.steps.size()) + " steps are") +
                " done:\n";
        text += "Open: " + std::to_string(open.size()) + (open.size() == 1 ? " step" : " steps") +
                (rules.empty() ? "" : ", rules " + rules) + ".\n";
        text += lifted.empty() ? "Nothing is lifted or out.\n" : "Lifted or out: " + listed(lifted) + ".\n";
        if (kept) text += "It is kept as it is: it is not powered when all is done either.\n";
        const RepairStep& next = drafts_[at(index_.at(open.front()))];
        text += "Next step: " + next.does;
        if (turns_.count(next.step) && open.size() > 1) text += ", then " + drafts_[at(index_.at(open[1]))].does;
        return text + ".";
    }

    const Chassis& chassis_;
    const Catalogue& catalogue_;
    const Policy& policy_;
    std::span<const PartAction> actions_;
    const ThreatReport& threats_;
    std::span<const PartStress> stress_;
    const Progress& progress_;
    std::span<const LeakageLimit> leaks_;
    std::span<const Doubted> doubted_;
    std::map<std::string, std::string> reopened_;    // step, and what was read
    std::map<std::string, std::string> emptied_by_;  // stage under power, and the discharge after it
    Duties duties_;
    Earth earth_;
    Changes changes_;
    std::string transformer_, vibrated_;  // of the line; of a vibrator
    bool from_vehicle_ = false, from_battery_ = false;
    std::vector<std::string> vibrators_;
    std::set<std::string> line_side_, looked_, with_plus_, again_;
    std::vector<std::string> line_capacitors_, winding_capacitors_, solder_, tubes_, lamps_, new_tubes_;
    std::vector<std::pair<std::string, std::vector<std::string>>>
        behind_;                          // what only old capacitors keep from the metal
    std::vector<std::string> read_last_;  // of that: what no step by itself frees
    std::map<std::string, Bought> bought_;
    std::map<std::string, std::string> owner_;
    std::map<int, const PartStress*> rows_;
    bool fused_ = false;
    std::vector<StepLink> links_, line_fits_;
    std::vector<std::vector<int>> followers_;  // by draft: what waits for it
    std::vector<RepairStep> drafts_;
    std::map<std::string, int> index_, drafted_;
    std::set<std::string> at_place_, turns_;  // steps
    std::map<int, double> worth_;             // by visit: share that the danger would stand longer without it
    bool turn_share_ = true;                  // a second visit is to be worth its turn
    std::map<std::string, const Threat*> worst_;
    std::map<std::string, Quiet> quiet_;
    double unit_ = 1;                      // of w_microrisk
    double all_risk_ = 0, unsettled_ = 0;  // of all faults; of those that no step settles
};

}  // namespace

Outcome<RepairOrder> steps_of(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy,
                              std::span<const PartAction> actions, const ShoppingList& shopping,
                              const ThreatReport& threats, std::span<const PartStress> stress, const Progress& progress,
                              const StepOptions& options, std::span<const LeakageLimit> leaks,
                              std::span<const Doubted> doubted) {
    return Planner(chassis, catalogue, policy, actions, shopping, threats, stress, progress, leaks, doubted)
        .plan(options);
}

}  // namespace tubewright
