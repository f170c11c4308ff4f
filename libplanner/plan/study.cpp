// SPDX-License-Identifier: MIT
// Study: each section is made once, when it is first asked for, from the sections below it. One lock guards the bench
// and what was made; what was made is never changed again, so references stay good. A scenario that has no solution is
// left out of stress and audit, and said; only the normal one is indispensable. Tests: tests/plan/study_test.cpp.
#include <algorithm>
#include <mutex>
#include <optional>
#include <set>
#include <span>
#include <tuple>

#include <tubewright/study.hpp>

#include "bench/bench.hpp"
#include "bench/numbers.hpp"
#include "chassis/data.hpp"
#include "choice/remedy.hpp"
#include "order/numbers.hpp"
#include "order/order.hpp"
#include "terms/period_value.hpp"
#include "threat/protection.hpp"
#include "threat/threat.hpp"

namespace tubewright {
namespace {

bool is_output_tube(const Part& part) {
    if (part.kind != PartKind::socket || part.type == nullptr) return false;
    const std::string& kind = part.type->tube_class;
    return kind.find("power") != std::string::npos && !part.type->is_rectifier();
}

/// A step that fits the part: "replace-C1-C2", "link-F1".
bool step_is_of(const std::string& step, const std::string& id) {
    const std::size_t at = step.find(id);
    const std::size_t end = at + id.size();
    return (step.starts_with("replace-") || step.starts_with("link-")) && at != std::string::npos &&
           step[at - 1] == '-' && (end == step.size() || step[end] == '-');
}

/// The steps that bought the part; where none says so, the one that buys the rest.
std::set<std::string> bought_by(const Progress& progress, const std::string& id) {
    std::set<std::size_t> ends{0};
    for (const auto& [name, end] : progress.passed_at) ends.insert(end);
    std::set<std::string> steps;
    for (const auto& [name, end] : progress.passed_at) {
        if (end == 0 || !name.starts_with("buy-")) continue;
        for (std::size_t k = *std::prev(ends.find(end)); k < end; ++k)
            if (const Deed& deed = progress.deeds[k];
                deed.act == word(ActKind::buy) &&
                std::find(deed.parts.begin(), deed.parts.end(), id) != deed.parts.end())
                steps.insert(name);
    }
    return steps.empty() ? std::set<std::string>{"buy-parts"} : steps;
}

/// A part that was fitted and does not do is as good as not fitted: neither its deeds nor the step that fitted it
/// count. The deeds themselves stay, of nothing: what was passed since is counted by their places.
void strike(Progress& progress, const std::string& id) {
    std::set<std::string> bought = bought_by(progress, id);
    // what was bought before it was fitted is what does not do; what was bought since is in the drawer
    std::size_t fitted_at = progress.deeds.size();
    for (std::size_t k = 0; k < progress.deeds.size(); ++k)
        if (const Deed& deed = progress.deeds[k];
            (deed.act == word(ActKind::fit) || deed.act == word(ActKind::fit_fuse)) &&
            std::find(deed.parts.begin(), deed.parts.end(), id) != deed.parts.end())
            fitted_at = k;
    for (std::size_t k = 0; k < progress.deeds.size(); ++k) {
        Deed& deed = progress.deeds[k];
        if (deed.act != word(ActKind::buy)) continue;
        if (k < fitted_at)
            std::erase(deed.parts, id);
        else if (std::find(deed.parts.begin(), deed.parts.end(), id) != deed.parts.end())
            bought.clear();
    }
    progress.parts.erase(id);
    progress.fitted.erase(id);
    for (Deed& deed : progress.deeds)
        for (const ActKind proof : {ActKind::fit, ActKind::fit_fuse, ActKind::inspect, ActKind::measure})
            if (deed.act == word(proof)) std::erase(deed.parts, id);
    std::erase_if(progress.steps_done,
                  [&](const std::string& step) { return bought.count(step) > 0 || step_is_of(step, id); });
}

bool is_fitted(const Progress& progress, const std::string& id) {
    const auto state = progress.parts.find(id);
    return state != progress.parts.end() && state->second == PartState::fitted;
}

/// New parts that were found bad since.
std::map<std::string, std::string> found_bad(const Progress& progress, const Chassis& chassis) {
    std::map<std::string, std::string> bad;
    for (const auto& [id, seen] : progress.seen) {
        const int i = chassis.part(id);
        if (i < 0) continue;
        Part found = chassis.parts()[static_cast<std::size_t>(i)];
        found.seen = seen;
        if (is_fitted(progress, id) && seen_no_good(found)) bad.emplace(id, "found " + seen);
    }
    return bad;
}

/// New parts that are wrong at sight, or were found bad, and stand in their places.
std::map<std::string, std::string> wrong_in(const Progress& progress, const Chassis& chassis, const Policy& policy) {
    std::map<std::string, std::string> wrong = wrong_at_sight(chassis, policy, progress.fitted);
    std::erase_if(wrong, [&](const auto& one) { return !is_fitted(progress, one.first); });
    wrong.merge(found_bad(progress, chassis));
    return wrong;
}
Progress without_wrong(Progress progress, const Chassis& chassis, const Policy& policy) {
    for (const auto& [id, why] : wrong_in(progress, chassis, policy)) strike(progress, id);
    return progress;
}

std::vector<Act> as_acts(const std::vector<Deed>& deeds) {
    std::vector<Act> acts;  // one for each deed, that their places stay
    for (const Deed& deed : deeds)
        acts.push_back({act_of(deed.act).value_or(ActKind::inspect),
                        act_of(deed.act) ? deed.parts : std::vector<std::string>{},
                        {},
                        deed.minutes});
    return acts;
}
/// What was signed by hand and done before any deed, for the checker of the rules.
Progress signatures(const Progress& progress) {
    Progress signed_only;
    signed_only.gates_passed = progress.gates_passed;
    signed_only.steps_done = progress.steps_done;
    return signed_only;
}
bool feeds(ActKind kind) {
    return kind == ActKind::power_transformer_alone || kind == ActKind::power_heaters ||
           kind == ActKind::power_b_plus || kind == ActKind::power_full_line || kind == ActKind::soak ||
           kind == ActKind::align || kind == ActKind::check_touch_current;
}

/// A step under power that was entered past a shut gate shows nothing, unless the rule is overridden: it is planned
/// again. That the set was on the line stays.
void strike_past_gates(Progress& progress, const Chassis& chassis, const Catalogue& catalogue) {
    if (progress.steps_done.empty() || progress.deeds.empty()) return;
    const std::vector<Act> acts = as_acts(progress.deeds);
    std::set<int> broken;
    for (const Violation& v : violations(chassis, catalogue, acts, signatures(progress)))
        if (v.hard && progress.overrides.count(v.rule) == 0 && feeds(acts[static_cast<std::size_t>(v.act)].kind))
            broken.insert(v.act);
    if (broken.empty()) return;
    // a stage that was passed by its own name is what the person says of it
    std::set<std::size_t> ends{0};
    for (const auto& [name, end] : progress.passed_at) ends.insert(end);
    for (const auto& [name, end] : progress.passed_at) {
        if (std::find(progress.steps_done.begin(), progress.steps_done.end(), name) == progress.steps_done.end())
            continue;
        const auto from = *std::prev(ends.find(end));
        if (end == 0 || broken.lower_bound(static_cast<int>(from)) == broken.lower_bound(static_cast<int>(end)))
            continue;
        std::erase(progress.steps_done, name);
        for (std::size_t k = from; k < end; ++k)
            if (feeds(acts[k].kind) || acts[k].kind == ActKind::log_volts)
                progress.deeds[k] = {word(ActKind::power_supply_alone), {}, 0};
    }
}

/// The id stands in the words by itself.
bool names(const std::string& words, const std::string& id) {
    const auto part_of_an_id = [](char c) {
        return c == '.' || c == '-' || (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
    };
    for (std::size_t at = words.find(id); at != std::string::npos; at = words.find(id, at + 1)) {
        const std::size_t end = at + id.size();
        if ((at == 0 || !part_of_an_id(words[at - 1])) && (end == words.size() || !part_of_an_id(words[end])))
            return true;
    }
    return false;
}

/// What a driven stage or an hour's heat asks of the parts is no reading that a trace is judged by.
bool of_stress_alone(const Condition& condition) {
    return condition.scenario == Scenario::signal_peak || condition.scenario == Scenario::soak;
}

/// Whether a plate of an output tube stands on a winding of an output transformer: it can be driven.
bool drives_a_transformer(const Chassis& chassis) {
    for (const Part& part : chassis.parts()) {
        if (part.kind != PartKind::transformer) continue;
        for (const PartWinding& winding : part.windings) {
            if (winding.role != WindingRole::output_primary) continue;
            for (const int lead : winding.leads) {
                const int net = lead < 0 ? -1 : part.leads[static_cast<std::size_t>(lead)].net;
                if (net < 0) continue;
                for (const LeadRef& ref : chassis.nets()[static_cast<std::size_t>(net)].leads) {
                    const Part& socket = chassis.parts()[static_cast<std::size_t>(ref.part)];
                    if (socket.kind != PartKind::socket || socket.type == nullptr || socket.type->is_rectifier() ||
                        stands_open(socket))
                        continue;
                    const Pin* pin = socket.type->pin(socket.leads[static_cast<std::size_t>(ref.lead)].name);
                    if (pin != nullptr && !pin->electrodes.empty() && pin->electrodes.front().front() == 'p')
                        return true;
                }
            }
        }
    }
    return false;
}

/// Whether the supply is another one with this part off its plug: a voice coil changes nothing but the sound.
bool carries_supply(const Part& part) {
    return part.kind != PartKind::speaker &&
           !(part.kind == PartKind::coil && (part.role == "voice" || part.role == "hum-bucking"));
}

std::span<const Threat> rows_of(const Outcome<ThreatReport>& report) {
    return report ? std::span<const Threat>(report->rows) : std::span<const Threat>();
}

/// Failures are passed on as they are, so that the reason stays the solver's own.
template <class To, class From>
Outcome<To> failure(const Outcome<From>& from) {
    return Outcome<To>(from.notices());
}

/// A tube that is pulled has no conditions of its own.
bool out_by_log(const Part& part) {
    return part.kind == PartKind::socket && (part.seen == "removed" || part.seen == "lifted");
}

/// The scenarios that apply to this set, in a fixed order.
std::vector<Condition> conditions_of(const Chassis& chassis);

/// As parts have to bear it: with the line, or the battery, as high as in the high-line condition, which is solved
/// before all but the normal one.
Condition at_its_highest(Condition condition, const std::vector<Solution>& solved) {
    for (const Solution& one : solved)
        if (one.condition.scenario == Scenario::high_line && condition.line_volts <= 0)
            condition.line_volts = one.line_volts;
    return condition;
}

// What the parts will bear when the repair is done: where a part is open now, the set as found loads its neighbours
// less (or more) than the set that they are bought for.
Outcome<std::vector<PartStress>> stress_when_mended(const Study& study, const Chassis& mended, Outcome<Bench>& bench) {
    if (!bench) return failure<std::vector<PartStress>>(bench);
    std::vector<Solution> solutions;
    for (const Condition& condition : conditions_of(mended)) {
        const Outcome<Solution> solved = bench->solve(at_its_highest(condition, solutions));
        if (solved) {
            solutions.push_back(*solved);
        } else if (condition.scenario == Scenario::normal) {
            return failure<std::vector<PartStress>>(solved);
        }
    }
    return stress_of(mended, study.catalogue(), study.policy(), solutions);
}

}  // namespace

struct Study::State {
    Chassis standing;                          ///< on the bench, without what is out
    Chassis chassis;                           ///< with it back in, and without new parts that are wrong at sight
    std::map<std::string, std::string> wrong;  ///< these, and why
    Catalogue catalogue;
    Policy policy;
    Progress progress;

    std::recursive_mutex lock;
    std::optional<Outcome<Bench>> bench, found_bench;
    std::map<std::string, Outcome<VoltsView>> solved;
    std::optional<std::vector<Finding>> audit;
    std::optional<Outcome<std::vector<PartStress>>> stress;
    std::optional<Chassis> mended_set;
    std::optional<Outcome<Bench>> mended_bench, fault_bench;
    std::optional<Outcome<ThreatReport>> threats;
    std::optional<Outcome<std::vector<LeakageLimit>>> leakage;
    std::optional<Outcome<std::vector<DriftLimit>>> drift;
    std::optional<Outcome<Protection>> protection;
    std::optional<std::vector<PartAction>> actions;
    std::optional<Progress> relied_on;
    std::map<std::string, std::string> unfit;  ///< what was fitted and does not do, and why
    std::optional<Outcome<std::vector<PartStress>>> mended;
    std::optional<Outcome<ShoppingList>> shop;
    std::optional<Outcome<Survey>> survey;
    std::map<std::pair<double, std::optional<double>>, Outcome<RepairOrder>> orders;
    std::map<std::tuple<double, double, bool>, Outcome<PowerUp>> power_ups;

    State(Chassis c, Catalogue k, Policy p, Progress done)
        : standing(apply(done, c)),
          chassis(with_fitted(without_wrong(done, c, p), c)),
          wrong(wrong_in(done, c, p)),
          catalogue(std::move(k)),
          policy(std::move(p)),
          progress(std::move(done)) {}

    Outcome<Bench>& healthy_bench() {
        if (!bench) bench.emplace(Bench::make(standing, catalogue, policy));
        return *bench;
    }
    /// The bench that a condition is solved on.
    Outcome<Bench>& bench_for(const Condition& condition) {
        if (condition.scenario != Scenario::as_found) return healthy_bench();
        if (!found_bench)
            if (const std::optional<Chassis> found = with_shorts(standing))
                found_bench.emplace(Bench::make(*found, catalogue, policy));
        return found_bench ? *found_bench : healthy_bench();
    }
    bool broken() const {
        return std::any_of(chassis.parts().begin(), chassis.parts().end(),
                           [](const Part& part) { return stands_open(part); });
    }
    /// The bench is not the set that the plan is made for: something of it is open, or out by the log.
    bool apart() const { return broken() || out() || measured_off() || !wrong.empty(); }
    bool measured_off() const {
        for (std::size_t i = 0; i < chassis.parts().size(); ++i)
            if (const Part& now = standing.parts()[i], &right = chassis.parts()[i];
                now.ohms != right.ohms || now.farads != right.farads)
                return true;
        return false;
    }
    bool out() const {
        return std::any_of(progress.parts.begin(), progress.parts.end(), [](const auto& entry) {
            return entry.second == PartState::lifted || entry.second == PartState::removed;
        });
    }
    /// The set as it will be: what was seen open or missing is whole. Threats, power-up and the audit are of that one.
    const Chassis& mended_chassis() {
        if (!mended_set) mended_set.emplace(broken() ? as_mended(chassis) : chassis);
        return *mended_set;
    }
    Outcome<Bench>& bench_when_mended() {
        if (!apart()) return healthy_bench();
        if (!mended_bench) mended_bench.emplace(Bench::make(mended_chassis(), catalogue, policy));
        return *mended_bench;
    }
    Outcome<Bench>& bench_with_faults() {
        if (!fault_bench) {
            const std::vector<Fault> faults = faults_of(chassis, catalogue);
            fault_bench.emplace(Bench::make(mended_chassis(), catalogue, policy, faults));
        }
        return *fault_bench;
    }
    /// Of the set as it will be, which is what is bought for.
    const Outcome<std::vector<PartStress>>& service_stress(const Study& study) {
        if (!mended)
            mended.emplace(apart() ? stress_when_mended(study, mended_chassis(), bench_when_mended()) : study.stress());
        return *mended;
    }
    /// Of the set as it will be, in service: for what no row of stress tells.
    std::vector<Solution> in_service(const Study& study) {
        std::vector<Solution> solutions;
        for (const Scenario scenario : {Scenario::normal, Scenario::high_line, Scenario::switch_on}) {
            Condition condition;
            condition.scenario = scenario;
            if (!apart()) {
                if (const Outcome<VoltsView> view = study.volts(condition)) solutions.push_back(view->solution());
            } else if (Outcome<Bench>& whole = bench_when_mended()) {
                if (Outcome<Solution> answer = whole->solve(condition)) solutions.push_back(std::move(*answer));
            }
        }
        return solutions;
    }
    /// Actions need no solution: without one the parts are judged by age and construction alone.
    const std::vector<PartAction>& actions_under(const Outcome<std::vector<PartStress>>& loads,
                                                 const Outcome<ThreatReport>& report) {
        if (!actions) {
            const std::span<const PartStress> known =
                loads ? std::span<const PartStress>(*loads) : std::span<const PartStress>();
            // what was found bad is judged as the part that it stands for
            Progress judged = progress;
            for (const auto& [id, why] : found_bad(progress, chassis)) strike(judged, id);
            actions = actions_of(chassis, catalogue, policy, known, judged, rows_of(report));
        }
        return *actions;
    }
    /// Of the log what plans may rest on: without parts that were fitted and do not do, and stages past shut gates.
    const Progress& trusted(const std::vector<PartAction>& judged) {
        if (relied_on) return *relied_on;
        relied_on = progress;
        for (const PartAction& action : judged) {
            const std::string& id = chassis.parts()[static_cast<std::size_t>(action.part)].id;
            if (action.action != "replace" || !is_fitted(progress, id)) continue;
            strike(*relied_on, id);
            // what it was found to be says more than its age, for which it goes again
            const auto known = wrong.find(id);
            unfit.emplace(id, known != wrong.end()   ? known->second
                              : action.unfit.empty() ? action.reasons.front()
                                                     : action.unfit);
        }
        for (const auto& [id, why] : wrong)
            if (unfit.emplace(id, why).second) strike(*relied_on, id);
        relied_on->does_not_do = unfit;
        strike_past_gates(*relied_on, chassis, catalogue);
        return *relied_on;
    }
};

Study::Study(Chassis chassis, Catalogue catalogue, Policy policy, Progress progress)
    : state_(
          std::make_unique<State>(std::move(chassis), std::move(catalogue), std::move(policy), std::move(progress))) {}
Study::~Study() = default;
Study::Study(Study&&) noexcept = default;

const Chassis& Study::chassis() const {
    return state_->chassis;
}
const Chassis& Study::as_it_stands() const {
    return state_->standing;
}
const Catalogue& Study::catalogue() const {
    return state_->catalogue;
}
const Policy& Study::policy() const {
    return state_->policy;
}
const Progress& Study::progress() const {
    return state_->progress;
}

const Progress& Study::relied_on() const {
    const std::lock_guard guard(state_->lock);
    return state_->trusted(state_->actions_under(state_->service_stress(*this), threat_report()));
}

const std::map<std::string, std::string>& Study::unfit() const {
    relied_on();
    return state_->unfit;
}

std::map<std::string, std::string> Study::under_need() const {
    const std::lock_guard guard(state_->lock);
    const Outcome<std::vector<PartStress>>& stress = state_->service_stress(*this);
    std::map<std::string, Measured> in;
    for (const auto& [id, with] : state_->progress.fitted)
        if (is_fitted(state_->progress, id) && state_->wrong.count(id) == 0) in.emplace(id, with);
    if (!stress || in.empty()) return {};
    return tubewright::under_need(state_->chassis, state_->policy, *stress, in);
}

std::vector<Condition> Study::scenarios() const {
    return conditions_of(state_->standing);
}

namespace {

std::vector<Condition> conditions_of(const Chassis& chassis) {
    std::vector<Condition> all;
    int rectifiers = 0;
    bool slow = false, dry = false, filaments = false, transformer = false, speaker = false, output = false,
         iron = false;
    for (const Part& part : chassis.parts()) {
        if (out_by_log(part)) continue;
        const bool tube = part.kind == PartKind::socket && part.type != nullptr;
        rectifiers += tube && part.type->is_rectifier() ? 1 : 0;
        slow = slow || (tube && !part.type->is_rectifier() && !part.type->directly_heated && !stands_empty(part));
        filaments =
            filaments || (tube && !part.type->is_rectifier() && part.type->directly_heated && !stands_empty(part));
        dry = dry || (part.kind == PartKind::rectifier && !stands_open(part));
        transformer = transformer || (part.kind == PartKind::transformer && part.role == "power");
        speaker = speaker || (part.plug == "speaker" && carries_supply(part));
        output = output || is_output_tube(part);
        iron = iron || (part.kind == PartKind::coil && (part.role == "choke" || part.role == "field") &&
                        !stands_open(part) && part.leads.size() > 1 && part.leads[0].net != part.leads[1].net);
    }
    const auto add = [&](Scenario scenario, const std::string& tube = {}) {
        Condition condition;
        condition.scenario = scenario;
        condition.tube = tube;
        all.push_back(std::move(condition));
    };
    const bool rectifier = rectifiers > 0;
    add(Scenario::normal);
    add(Scenario::high_line);
    // a dry rectifier, a vibrator's own contacts or the line itself give B-plus before any cathode is warm
    if (rectifier || slow || (dry && filaments)) add(Scenario::warm_up);
    if (speaker) add(Scenario::speaker_unplugged);
    if (output) add(Scenario::output_cut_off);
    if (iron) add(Scenario::soak);
    if (drives_a_transformer(chassis)) {
        add(Scenario::signal_peak);
        add(Scenario::signal_peak);
        all.back().no_load = true;
    }
    if (rectifier && transformer) add(Scenario::rectifier_out);
    if (transformer) add(Scenario::transformer_alone);
    const Family family = chassis.family();
    const bool string =
        family == Family::series_string || family == Family::floating_b_minus || family == Family::doubler;
    for (const Part& part : chassis.parts()) {
        if (out_by_log(part)) continue;
        // without its only rectifier a set is dark; one of several leaves its load to the others
        if (part.kind == PartKind::socket && part.type != nullptr && (!part.type->is_rectifier() || rectifiers > 1))
            add(Scenario::tube_out, part.id);
        // beside a link of a string it leaves the rectifier's heater, or a shunt, with all the current
        if (part.kind == PartKind::lamp && string) add(Scenario::dial_lamp_out, part.id);
    }
    return all;
}

}  // namespace

Outcome<VoltsView> Study::volts(Scenario scenario) const {
    Condition condition;
    condition.scenario = scenario;
    return volts(condition);
}

Outcome<VoltsView> Study::volts(const Condition& condition) const {
    const std::lock_guard guard(state_->lock);
    const std::string key = condition.text() + '\n' + std::to_string(condition.line_volts) + '\n' +
                            std::to_string(condition.line_hertz) + '\n' + std::to_string(condition.lamp_watts) + '\n' +
                            std::to_string(condition.lamp_volts);
    const auto found = state_->solved.find(key);
    if (found != state_->solved.end()) return found->second;
    Outcome<Bench>& bench = state_->bench_for(condition);
    Outcome<VoltsView> made;
    if (!bench) {
        made = failure<VoltsView>(bench);
    } else {
        Outcome<Solution> solution = bench->solve(condition);
        made = solution ? Outcome<VoltsView>(VoltsView(state_->standing, std::move(*solution)), solution.notices())
                        : failure<VoltsView>(solution);
    }
    return state_->solved.emplace(key, std::move(made)).first->second;
}

Outcome<SmallSignal> Study::small_signal(const Condition& condition) const {
    const std::lock_guard guard(state_->lock);
    Outcome<Bench>& bench = state_->bench_for(condition);
    return bench ? bench->small_signal(condition) : failure<SmallSignal>(bench);
}

std::vector<Finding> Study::audit() const {
    const std::lock_guard guard(state_->lock);
    if (state_->audit) return *state_->audit;
    std::vector<Finding> rows = audit_graph(state_->chassis, state_->catalogue);
    Outcome<VoltsView> normal = volts(Scenario::normal);
    // What is out for the evening is no slip of the tracer's either.
    if (!normal && state_->apart() && !state_->broken())
        if (Outcome<Bench>& bench = state_->bench_when_mended())
            if (Outcome<Solution> whole = bench->solve(Condition{}))
                normal = VoltsView(state_->chassis, std::move(*whole));
    // A string that goes through a tube that nobody named is solved as broken there: no figure of it is a finding.
    const Part* unnamed = nullptr;
    for (const Part& part : state_->chassis.parts())
        if (part.kind == PartKind::socket && part.type == nullptr && part.leads.size() > 1 &&
            state_->chassis.family() != Family::ac_transformer)
            unnamed = &part;
    if (unnamed != nullptr) {
        Finding finding;
        finding.severity = Severity::note;
        finding.number = messages::too_little_traced;
        finding.rule = "not-solved";
        finding.place = unnamed->place;
        finding.message = "the half of the audit that solves the circuit was not done: the tube of " + unnamed->id +
                          " is not named, and the heater string goes through it";
        finding.look_at = "the label, the bulb, or a tube chart";
        rows.push_back(std::move(finding));
    } else if (normal) {
        std::vector<Solution> solutions;
        std::vector<Finding> solved;
        for (const Condition& condition : conditions_of(state_->chassis)) {
            if (of_stress_alone(condition) || condition.scenario == Scenario::tube_out) continue;
            if (!state_->apart()) {
                if (const Outcome<VoltsView> view = volts(condition)) solutions.push_back(view->solution());
            } else if (Outcome<Bench>& bench = state_->bench_when_mended()) {
                // a part that was seen open is no slip of the tracer's
                if (Outcome<Solution> whole = bench->solve(condition)) solutions.push_back(std::move(*whole));
            }
        }
        // What the graph has named already is not told again by its volts.
        const auto told = [&](const char* rule, const Finding& again, bool same_part) {
            return std::any_of(rows.begin(), rows.end(), [&](const Finding& row) {
                return row.rule == rule && (!same_part || row.parts.front() == again.parts.front());
            });
        };
        for (Finding& finding : audit_solved(state_->chassis, state_->catalogue, solutions))
            if (!(finding.rule == "electrolytic-reversed" && told("electrolytic-turned", finding, true)) &&
                !(finding.rule == "plate-without-volts" && told("heater-not-fed", finding, false)))
                solved.push_back(std::move(finding));
        rows.insert(rows.end(), solved.begin(), solved.end());
    } else {
        for (const Notice& why : normal.notices()) {
            Finding finding;
            // What the laws do not cover is no fault of the trace.
            const bool no_law = why.number == messages::no_tube_model || why.number == messages::too_little_traced;
            finding.severity = no_law ? Severity::note : Severity::doubt;
            finding.number = why.number;
            finding.rule = no_law ? "not-solved" : "no-solution";
            finding.place = why.place;
            finding.message = (no_law ? "the half of the audit that solves the circuit was not done: "
                                      : "the circuit has no solution as traced: ") +
                              why.message;
            finding.look_at = why.remedy;
            rows.push_back(std::move(finding));
        }
    }
    std::stable_sort(rows.begin(), rows.end(), [](const Finding& a, const Finding& b) {
        return std::tuple(-static_cast<int>(a.severity), a.place.line, a.number) <
               std::tuple(-static_cast<int>(b.severity), b.place.line, b.number);
    });
    state_->audit = rows;
    return rows;
}

Outcome<std::vector<PartStress>> Study::stress_in_service() const {
    const std::lock_guard guard(state_->lock);
    return state_->service_stress(*this);
}

Outcome<std::vector<PartStress>> Study::stress() const {
    const std::lock_guard guard(state_->lock);
    if (state_->stress) return *state_->stress;
    const Outcome<VoltsView> normal = volts(Scenario::normal);
    if (!normal) {
        state_->stress.emplace(failure<std::vector<PartStress>>(normal));
        return *state_->stress;
    }
    std::vector<Solution> solutions;
    std::vector<Notice> left_out;
    for (const Condition& condition : scenarios()) {
        const Outcome<VoltsView> view = volts(at_its_highest(condition, solutions));
        if (view) {
            solutions.push_back(view->solution());
            continue;
        }
        for (Notice why : view.notices()) {
            if (why.number != messages::does_not_apply) why.severity = Severity::doubt;
            why.message = condition.text() + " is left out: " + why.message;
            left_out.push_back(std::move(why));
        }
    }
    std::vector<PartStress> rows = stress_of(state_->standing, state_->catalogue, state_->policy, solutions);
    // nothing stands across a part that is out by the log, and nothing to rate across one that is open
    std::erase_if(rows, [&](const PartStress& row) {
        const Part& part = state_->standing.parts()[static_cast<std::size_t>(row.part)];
        if (stands_open(part) && part.kind != PartKind::socket) return true;
        const auto said = state_->progress.parts.find(part.id);
        return said != state_->progress.parts.end() &&
               (said->second == PartState::removed || said->second == PartState::lifted ||
                said->second == PartState::omitted);
    });
    state_->stress.emplace(std::move(rows), std::move(left_out));
    return *state_->stress;
}

Outcome<ThreatReport> Study::threat_report() const {
    const std::lock_guard guard(state_->lock);
    if (state_->threats) return *state_->threats;
    const Outcome<std::vector<PartStress>> loads = state_->service_stress(*this);
    if (!loads) {
        state_->threats.emplace(failure<ThreatReport>(loads));
        return *state_->threats;
    }
    Outcome<Bench>& bench = state_->bench_with_faults();
    if (!bench) {
        state_->threats.emplace(failure<ThreatReport>(bench));
    } else {
        state_->threats.emplace(threats_of(state_->chassis, state_->catalogue, state_->policy, *bench, *loads));
    }
    return *state_->threats;
}

const ThreatReport& Study::threats() const {
    const std::lock_guard guard(state_->lock);
    if (!state_->threats) threat_report();
    return state_->threats->value();
}

Outcome<std::vector<LeakageLimit>> Study::leakage_limits() const {
    const std::lock_guard guard(state_->lock);
    if (state_->leakage) return *state_->leakage;
    Outcome<Bench>& bench = state_->bench_with_faults();
    if (bench) {
        state_->leakage.emplace(leakage_limits_of(state_->chassis, state_->catalogue, *bench));
    } else {
        state_->leakage.emplace(failure<std::vector<LeakageLimit>>(bench));
    }
    return *state_->leakage;
}

Outcome<std::vector<DriftLimit>> Study::drift_limits() const {
    const std::lock_guard guard(state_->lock);
    if (state_->drift) return *state_->drift;
    Outcome<Bench>& bench = state_->bench_with_faults();
    state_->drift.emplace(bench ? drift_limits_of(state_->chassis, state_->catalogue, *bench)
                                : failure<std::vector<DriftLimit>>(bench));
    return *state_->drift;
}

Outcome<PairReport> Study::fault_pairs() const {
    const std::lock_guard guard(state_->lock);
    const Outcome<ThreatReport> report = threat_report();
    return report ? pairs_of(state_->chassis, state_->catalogue, state_->policy, *state_->bench_with_faults(), *report)
                  : failure<PairReport>(report);
}

Outcome<Protection> Study::protection() const {
    const std::lock_guard guard(state_->lock);
    if (state_->protection) return *state_->protection;
    const Outcome<ThreatReport> report = threat_report();
    state_->protection.emplace(report ? protection_of(state_->chassis, state_->catalogue, state_->policy,
                                                      *state_->bench_with_faults(), *report)
                                      : failure<Protection>(report));
    return *state_->protection;
}

Outcome<Survey> Study::survey() const {
    const std::lock_guard guard(state_->lock);
    if (state_->survey) return *state_->survey;
    const std::vector<PartAction>& actions = state_->actions_under(state_->service_stress(*this), threat_report());
    const Outcome<ShoppingList> list = shop();
    state_->survey.emplace(
        survey_of(state_->chassis, state_->catalogue, state_->policy, actions, list ? *list : ShoppingList{}),
        list ? std::vector<Notice>{} : list.notices());
    return *state_->survey;
}

Outcome<ShoppingList> Study::shop() const {
    const std::lock_guard guard(state_->lock);
    if (state_->shop) return *state_->shop;
    const Outcome<std::vector<PartStress>> loads = state_->service_stress(*this);
    if (!loads && state_->chassis.level() == 1) {
        // A list of capacitors: what is printed on them is all that is known.
        state_->shop.emplace(shopping_list(state_->chassis, state_->catalogue, state_->policy, {},
                                           state_->actions_under(loads, threat_report()), {}, state_->progress));
    } else if (!loads) {
        state_->shop.emplace(failure<ShoppingList>(loads));
    } else {
        const Outcome<ThreatReport> report = threat_report();
        const std::vector<PartAction>& actions = state_->actions_under(loads, report);
        ShoppingList list = shopping_list(state_->chassis, state_->catalogue, state_->policy, *loads, actions,
                                          rows_of(report), state_->progress, state_->in_service(*this));
        if (const Outcome<Bench>& bench = state_->bench_when_mended()) {
            list.remedies =
                choice::remedies_of(state_->mended_chassis(), state_->catalogue, state_->policy, list, actions, *bench);
            choice::buy_remedies(list, state_->catalogue);
        }
        state_->shop.emplace(std::move(list));
    }
    return *state_->shop;
}

Outcome<RepairOrder> Study::repair_order(StepOptions options) const {
    const std::lock_guard guard(state_->lock);
    const auto found = state_->orders.find(std::pair(options.hours, options.budget));
    if (found != state_->orders.end()) return found->second;
    Outcome<RepairOrder> made;
    const Outcome<std::vector<PartStress>> loads = state_->service_stress(*this);
    const Outcome<ShoppingList> list = shop();
    const Outcome<ThreatReport> report = threat_report();
    if (!loads) {
        made = failure<RepairOrder>(loads);
    } else if (!list) {
        made = failure<RepairOrder>(list);
    } else if (!report) {
        made = failure<RepairOrder>(report);
    } else {
        const std::vector<PartAction>& actions = state_->actions_under(loads, report);
        const bool proving = std::any_of(actions.begin(), actions.end(), [&](const PartAction& a) {
            return a.action == "measure" &&
                   state_->chassis.parts()[static_cast<std::size_t>(a.part)].kind == PartKind::capacitor;
        });
        const Outcome<std::vector<LeakageLimit>> leaks =
            proving ? leakage_limits() : Outcome<std::vector<LeakageLimit>>(std::vector<LeakageLimit>());
        // what the gates of the sheet have against the log makes the order anew; nothing read, nothing against it
        const Progress& done = state_->trusted(actions);
        std::vector<Doubted> doubted;
        if (!done.deeds.empty() || !done.readings.empty())
            if (const Outcome<PowerUp> sheet = gates()) doubted = doubted_by(*sheet);
        made =
            steps_of(state_->chassis, state_->catalogue, state_->policy, actions, *list, *report, *loads, done, options,
                     leaks ? std::span<const LeakageLimit>(*leaks) : std::span<const LeakageLimit>(), doubted);
    }
    return state_->orders.emplace(std::pair(options.hours, options.budget), std::move(made)).first->second;
}

RepairOrder Study::steps(StepOptions options) const {
    return repair_order(options).value();
}

Outcome<PowerUp> Study::power_up(double lamp_watts, double lamp_volts) const {
    return sheet(lamp_watts, lamp_volts, false);
}
Outcome<PowerUp> Study::gates(double lamp_watts, double lamp_volts) const {
    return sheet(lamp_watts, lamp_volts, true);
}

Outcome<PowerUp> Study::sheet(double lamp_watts, double lamp_volts, bool gates_alone) const {
    const std::lock_guard guard(state_->lock);
    // the whole sheet has the gates too
    for (const bool alone : {false, gates_alone})
        if (const auto found = state_->power_ups.find({lamp_watts, lamp_volts, alone});
            found != state_->power_ups.end())
            return found->second;
    Outcome<PowerUp> made;
    const Outcome<ThreatReport> report = threat_report();
    if (!report) {
        made = failure<PowerUp>(report);
    } else {
        std::string fuse;
        Outcome<ShoppingList> list = shop();
        // one that is in by the log is named as it was bought
        if (list && deed_done(state_->progress, word(ActKind::fit_fuse)))
            list = shopping_list(state_->chassis, state_->catalogue, state_->policy, *state_->service_stress(*this), {},
                                 rows_of(report), {}, state_->in_service(*this));
        if (list)
            for (const ShopLine& line : list->lines)
                if (line.price_row == "fuse" && !line.rated_volts)
                    fuse = line.what.substr(std::min(line.what.find("time-lag"), line.what.size())) + " " +
                           line.value_text;
        made = power_up_of(state_->chassis, state_->catalogue, state_->policy, *state_->bench_with_faults(), *report,
                           state_->trusted(state_->actions_under(state_->service_stress(*this), report)),
                           LampChoice{lamp_watts, lamp_volts, gates_alone}, fuse);
        // the rules know no more of it than that it is not proved
        if (made)
            for (PowerStage& stage : made->stages)
                for (GateProof& proof : stage.gate.proof)
                    for (const auto& [id, why] : state_->unfit)
                        if (!proof.holds && names(proof.words, id) && proof.words.find(why) == std::string::npos)
                            proof.words += "; " + id + ": " + why;
        // A bring-up for a set that the audit stops would expect readings of another set.
        if (made)
            for (const Finding& finding : audit())
                if (finding.severity == Severity::stop) {
                    made =
                        Outcome<PowerUp>(Notice{messages::trace_stops, Severity::stop, finding.place,
                                                "the audit stops for this set: " + finding.message, finding.look_at});
                    break;
                }
    }
    return state_->power_ups.emplace(std::tuple(lamp_watts, lamp_volts, gates_alone), std::move(made)).first->second;
}

Outcome<WindingsVerdict> Study::windings(const WindingTest& test) const {
    const std::lock_guard guard(state_->lock);
    Outcome<Bench>& bench = state_->bench_when_mended();
    return windings_of(state_->chassis, state_->policy, bench ? &*bench : nullptr, test);
}

std::vector<Assumption> Study::assumptions() const {
    const std::lock_guard guard(state_->lock);
    std::vector<Assumption> all;
    std::set<std::pair<std::string, std::string>> seen;
    const auto take = [&](const std::vector<Assumption>& from) {
        for (const Assumption& one : from) {
            if (seen.emplace(one.about, one.taken).second) all.push_back(one);
        }
    };
    // Of every scenario that applies, so that the list does not depend on what was asked before.
    if (state_->healthy_bench()) take(state_->healthy_bench()->assumptions());
    for (const Condition& condition : scenarios()) {
        if (of_stress_alone(condition)) continue;
        if (const Outcome<VoltsView> view = volts(condition)) take(view->solution().assumptions);
    }
    // Plans rest on the set with everything back in, whatever is out for the evening.
    if (state_->out() && state_->bench_when_mended()) {
        take(state_->bench_when_mended()->assumptions());
        for (const Condition& condition : conditions_of(state_->chassis))
            if (!of_stress_alone(condition))
                if (const Outcome<Solution> whole = state_->bench_when_mended()->solve(condition))
                    take(whole->assumptions);
    }
    return all;
}

std::vector<std::string> Study::cautions() const {
    return cautions_for(state_->chassis, state_->catalogue);
}

namespace {

std::vector<PlannedAct> planned(const std::vector<Act>& acts, const std::map<std::string, Measured>& bought) {
    std::vector<PlannedAct> list;
    for (const Act& act : acts) {
        PlannedAct one{{word(act.kind), act.parts, act.minutes}, {}};
        if (act.kind == ActKind::fit)
            for (const std::string& id : act.parts)
                if (const auto found = bought.find(id); found != bought.end()) one.with.insert(*found);
        list.push_back(std::move(one));
    }
    return list;
}

}  // namespace

Outcome<PlanPage> page_of(const Study& study, bool stages, StepOptions options) {
    const Outcome<RepairOrder> order = study.repair_order(options);
    if (!order) return order.notices();
    std::map<std::string, Measured> bought;
    if (const Outcome<ShoppingList> list = study.shop())
        for (const ShopLine& line : list->lines)
            for (std::size_t k = 0; k < line.for_parts.size(); ++k) {
                const int i = study.chassis().part(line.for_parts[k]);
                // a tube's type is a value of its own; a pair in series has none that one part could bear
                if (i < 0 || study.chassis().parts()[static_cast<std::size_t>(i)].kind == PartKind::socket) continue;
                const bool fuse = study.chassis().parts()[static_cast<std::size_t>(i)].kind == PartKind::fuse;
                Measured with;
                with.words = line.value_text + (line.value_text.empty() ? "" : " ") + line.what;
                if (k >= line.pieces.size() || line.pieces[k] == 1) {
                    with.value = line.value_farads ? line.value_farads : line.value_ohms;
                    if (fuse && !with.value) {
                        // "375 mA, UL 248-14", wherever the line has it
                        const std::size_t digit = with.words.find_first_of("0123456789");
                        if (digit != std::string::npos)
                            if (const Outcome<double> size = read_value(
                                    with.words.substr(digit, with.words.find(',', digit) - digit), Measure::amps))
                                with.value = *size;
                    }
                    with.rated_volts = line.rated_volts;
                    with.rated_watts = line.rated_watts;
                }
                const auto [known, first] = bought.emplace(line.for_parts[k], with);
                // in the place of a resistance cord: several resistors in series
                if (study.chassis().parts()[static_cast<std::size_t>(i)].kind == PartKind::cord && !first &&
                    known->second.value && with.value) {
                    known->second.words += " with " + with.words;
                    *known->second.value += *with.value;
                    if (with.rated_watts)
                        known->second.rated_watts = known->second.rated_watts.value_or(0) + *with.rated_watts;
                }
            }
    PlanPage page;
    page.entries = study.progress().log.entries;
    std::string ids;
    for (const RepairStep& step : order->steps) {
        page.steps.push_back({step.order, step.step, step.does, planned(step.acts, bought)});
        page.steps.back().again = step.acts.empty() && step.visit > 0;
        ids += step.step + "\n";
    }
    page.print = print_of(ids);
    if (!stages) return page;
    const Outcome<PowerUp> sheet = study.gates();
    if (!sheet) return sheet.notices();
    for (const PowerStage& stage : sheet->stages) {
        PlannedStep one{stage.stage, "stage " + stage.name, stage.name, planned(stage.acts, bought)};
        one.passed = stage.gate.state == "passed";
        for (std::size_t k = 0; k < stage.gate.opened_by.size(); ++k)
            // a box without a log is not signed
            if (stage.gate.proof.empty() || !stage.gate.proof[k].holds)
                one.shut += (one.shut.empty() ? "" : ", ") +
                            stage.gate.opened_by[k].substr(0, stage.gate.opened_by[k].find(':'));
        page.stages.push_back(std::move(one));
    }
    return page;
}

void look_along(PencilBench& bench, const Policy& policy) {
    const Chassis& chassis = bench.chassis;
    const Catalogue& catalogue = bench.catalogue;
    bench.at_sight = [&chassis, policy](const std::string& part, const Measured& with) {
        const std::map<std::string, std::string> wrong = wrong_at_sight(chassis, policy, {{part, with}});
        return wrong.empty() ? std::string() : wrong.begin()->second;
    };
    bench.breaks = [&chassis, &catalogue, policy](std::span<const LogEntry> before, const std::vector<PlannedAct>& acts,
                                                  bool tubes_in) {
        std::vector<Deed> planned;
        for (const PlannedAct& act : acts) planned.push_back(act.deed);
        std::vector<Act> next = as_acts(planned);
        std::vector<std::string> rules;
        const auto does = [&](ActKind kind) {
            return std::any_of(next.begin(), next.end(), [&](const Act& act) { return act.kind == kind; });
        };
        if (std::none_of(next.begin(), next.end(),
                         [](const Act& act) { return feeds(act.kind) || act.kind == ActKind::hand_back; }))
            return rules;
        const Progress now = without_wrong(progress_of(before, chassis, catalogue), chassis, policy);
        if (tubes_in && !does(ActKind::power_transformer_alone)) {
            std::vector<std::string> out;
            for (const auto& [id, state] : now.parts) {
                const int i = chassis.part(id);
                if (i < 0 || (state != PartState::removed && state != PartState::lifted)) continue;
                const Part& part = chassis.parts()[static_cast<std::size_t>(i)];
                const bool tube = part.kind == PartKind::socket && part.type != nullptr;
                const bool rests = tube && part.type->is_rectifier() && does(ActKind::power_heaters);
                if ((tube && !rests) || part.kind == PartKind::lamp) out.push_back(id);
            }
            next.insert(next.begin(), {{ActKind::discharge, {}, {}, 0}, {ActKind::refit_tube, out, {}, 0}});
        }
        std::vector<Act> all = as_acts(now.deeds);
        const int done = static_cast<int>(all.size());
        all.insert(all.end(), next.begin(), next.end());
        const auto take = [&](const std::string& rule) {
            if (now.overrides.count(rule) == 0 && std::find(rules.begin(), rules.end(), rule) == rules.end())
                rules.push_back(rule);
        };
        for (const Violation& v : violations(chassis, catalogue, all, signatures(now)))
            if (v.hard && v.act >= done) take(v.rule);
        // that they are written down is a word; the volts themselves are what is asked for
        const bool read = std::any_of(now.readings.begin(), now.readings.end(),
                                      [](const Reading& reading) { return reading.quantity == "volts dc"; });
        const bool wants = does(ActKind::soak) || does(ActKind::align);
        if (wants && !read && now.signed_with.count("H13") == 0) take("H13");
        return rules;
    };
}

}  // namespace tubewright
