// SPDX-License-Identifier: MIT
// See gates.hpp.
#include "order/gates.hpp"

#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

#include "chassis/data.hpp"
#include "choice/figure.hpp"
#include "order/order.hpp"

namespace tubewright::power_up {
namespace {

using choice::listed;
using K = ActKind;

constexpr const char* proved_by_log = "proved by the log";

/// What a stage shows.
ActKind proof_of(const PowerStage& stage) {
    for (const Act& act : stage.acts)
        for (const ActKind kind : {K::power_transformer_alone, K::power_heaters, K::power_b_plus, K::power_full_line,
                                   K::soak, K::check_touch_current, K::cold_ohms, K::inspect})
            if (act.kind == kind) return kind;
    return K::check_supply;
}

/// Passed is passed, until a part is lifted or a joint is made that the stage's own proof does not rest on: what came
/// out since, and what asks for cold ohms or a traced plus anew, bars it where the set runs whole. H13 is told alone.
Gate passed_gate(const Gate& gate, ActKind shows) {
    const bool runs_whole = shows != K::power_transformer_alone && shows != K::power_heaters;
    Gate now;
    now.state = "passed";
    now.after = gate.after;
    for (std::size_t k = 0; k < gate.proof.size(); ++k) {
        if (gate.proof[k].holds) continue;
        const std::string rule = gate.opened_by[k].substr(0, gate.opened_by[k].find(':'));
        const bool asked_anew = rule == "H17" || gate.opened_by[k] == no_reading_past_stop ||
                                (runs_whole && (rule == "H19" || rule == "H23"));
        if (!asked_anew && rule != "H13") continue;
        if (asked_anew && runs_whole) now.not_again = true;
        now.opened_by.push_back(gate.opened_by[k]);
        now.proof.push_back(gate.proof[k]);
    }
    return now;
}

bool plug_out(const PowerStage& stage) {
    const ActKind shows = proof_of(stage);
    return shows == K::cold_ohms || shows == K::inspect ||
           (shows == K::check_supply && !stage.line_volts && stage.stage == 1);
}

}  // namespace

bool Gates::logged() const {
    return !set_.progress.log.file.empty() || !set_.progress.parts.empty() || !set_.progress.gates_passed.empty() ||
           !set_.progress.steps_done.empty() || !set_.progress.deeds.empty();
}

std::vector<std::string> Gates::left_out() const {
    std::vector<std::string> list;
    for (const auto& [id, state] : set_.progress.parts)
        if ((state == PartState::lifted || state == PartState::removed) && !in(set_.rectifiers, id) &&
            !in(set_.others, id) && !in(set_.lamps, id) && !in(set_.vibrators, id))
            list.push_back(id);
    return list;
}

/// Not proved by the log, with why; by the checker where there are deeds to judge by.
std::optional<std::string> Gates::lacking(const Need& need, const std::map<std::string, std::string>& open) const {
    if (need.rule == "H17" && !left_out().empty()) return "lifted or removed: " + listed(left_out());
    if (need.parts) {
        // a value that is no good settles nothing
        for (const std::string& id : *need.parts)
            if (const std::string off = off_its_value(id); !off.empty()) return off;
    }
    if (!set_.progress.deeds.empty()) {
        const auto found = open.find(need.discharged ? "charge" : need.rule);
        if (found == open.end() && !need.readings.empty()) return need.readings;
        if (found == open.end()) return std::nullopt;
        const auto photographs = std::count_if(set_.progress.deeds.begin(), set_.progress.deeds.end(),
                                               [](const Deed& deed) { return deed.act == "keep a photograph"; });
        if (need.rule == "H2" && photographs > 0)
            return "photographs in the log: " + std::to_string(photographs) +
                   "; that a sketch shows every connection is not (its step done, or sign H2 and why)";
        return found->second;
    }
    if (need.rule == "H17") return std::nullopt;
    if (!need.parts) return "the log does not say it";
    std::vector<std::string> as_found;
    for (const std::string& id : *need.parts) {
        const auto it = set_.progress.parts.find(id);
        const bool settled =
            it != set_.progress.parts.end() &&
            (it->second == PartState::fitted || it->second == PartState::proved || it->second == PartState::omitted);
        if (!settled) as_found.push_back(id);
    }
    if (as_found.empty()) return std::nullopt;
    return "neither new nor proved: " + listed(as_found);
}

std::string Gates::off_its_value(const std::string& id) const {
    const auto read = set_.progress.found.find(id);
    const int i = set_.chassis.part(id);
    if (read == set_.progress.found.end() || i < 0 || !read->second.value) return {};
    const Part& p = set_.part(i);
    if ((p.kind != PartKind::resistor && p.kind != PartKind::control) || !p.ohms) return {};
    if (std::fabs(*read->second.value / *p.ohms - 1) <= drift_allowed(set_.duties.of(i), set_.policy)) return {};
    return id + " reads " + say(ohms(*read->second.value)) + " where " + say(ohms(*p.ohms)) + " is right";
}

Gate Gates::gate(const std::vector<Need>& needs, ActKind next) const {
    Gate g;
    g.state = logged() ? "open" : "box";
    std::map<std::string, std::string> open;
    if (!set_.progress.deeds.empty()) open = unproved(set_.chassis, set_.catalogue, set_.progress, next);
    const auto judged = [&](const std::string& rule, const std::optional<std::string>& why) {
        const auto over = set_.progress.overrides.find(rule);
        GateProof proof{true, proved_by_log};
        const auto with = set_.progress.signed_with.find(rule);
        if (rule != "H17" && in(set_.progress.gates_passed, rule))
            proof.words =
                "signed by hand" +
                (with == set_.progress.signed_with.end() || with->second.empty() ? std::string() : ": " + with->second);
        else if (why && over != set_.progress.overrides.end())
            proof.words = "OVERRIDDEN: " + over->second;
        else if (why)
            proof = {false, *why};
        if (!proof.holds) g.state = "shut";
        g.proof.push_back(std::move(proof));
    };
    const auto line = [](const std::string& rule) {
        for (const BenchRule& r : bench_rules())
            if (r.id == rule) return r.id + ": " + r.before;
        return rule;
    };
    std::set<std::string> asked;
    for (const Need& need : needs) {
        std::string text = need.words.empty() ? line(need.rule) : need.rule + ": " + need.words;
        if (need.parts && !need.parts->empty()) text += " (" + listed(*need.parts) + ")";
        g.opened_by.push_back(text);
        asked.insert(need.rule);
        if (logged()) judged(need.rule, lacking(need, open));
    }
    const bool cold_supply = next == ActKind::power_heaters || next == ActKind::power_transformer_alone;
    if (logged() && cold_supply && !left_out().empty() && !asked.count("H17") && !open.count("H17")) {
        g.opened_by.push_back(line("H17"));
        g.proof.push_back({true, "out, not fed here: " + listed(left_out())});
    }
    // What the checker finds besides, where the line is let in.
    const bool live = next != ActKind::inspect && next != ActKind::cold_ohms;
    for (const auto& [rule, why] : open) {
        if (!live || asked.count(rule) || rule == "charge" || rule == "H13" || rule == "s14" || rule == "H15" ||
            rule == "s4" || rule == "H2" || rule == "H3")
            continue;
        g.opened_by.push_back(line(rule));
        judged(rule, why);
    }
    return g;
}

void Gates::in_their_order(std::vector<PowerStage>& stages) const {
    std::vector<int> before;
    int shut = 0;
    const std::vector<PastStop> past = past_stops(
        set_, stages, [&](const PowerStage& stage) { return passed_with(stage); },
        [&](const Reading& reading) { return holds_still(reading); });
    for (PowerStage& one : stages) {
        const bool is_passed = passed_with(one).has_value();
        if (logged()) one.gate.after = before;
        if (is_passed) one.gate = passed_gate(one.gate, proof_of(one));
        if (logged() && one.line_volts && before.empty()) tubes_in(one, is_passed);
        stops(one, is_passed, past);
        if (logged()) no_good(one, is_passed);
        if (logged()) vibrators_out(one, is_passed);
        if (!is_passed && one.line_volts) before.push_back(one.stage);
        // what opens a gate is done with the plug out: those stages are always told
        if (shut == 0 && one.gate.bars()) shut = one.stage;
        if (shut > 0 && !is_passed && (one.line_volts || one.stage > shut) && !plug_out(one)) one.gate.shut_at = shut;
    }
}

/// One more line of a gate, that does not hold; of some rules an override opens it.
void Gates::shut(PowerStage& stage, bool is_passed, const std::string& line, GateProof proof) const {
    const auto over = set_.progress.overrides.find(line.substr(0, line.find(':')));
    // ohms past their STOP and the touch current are not argued with
    const bool may = over != set_.progress.overrides.end() && !line.starts_with("H19:") && !line.starts_with("H15:");
    stage.gate.opened_by.push_back(line);
    stage.gate.proof.push_back(may ? GateProof{true, "OVERRIDDEN: " + over->second} : std::move(proof));
    if (may) return;
    if (is_passed)
        stage.gate.not_again = true;
    else
        stage.gate.state = "shut";
}

/// The rule by which a part of its kind is shown good before it is powered.
static const char* rule_of(const SetOnBench& set, int index) {
    const Part& p = set.part(index);
    switch (p.kind) {
        case PartKind::socket:
            return "H20";
        case PartKind::lamp:
            return "H12";
        case PartKind::resistor:
        case PartKind::control:
            return "H9";
        case PartKind::transformer:
            return index == set.transformer ? "H6" : "H21";
        case PartKind::coil:
        case PartKind::speaker:
            return "H21";
        case PartKind::wire:
        case PartKind::cord:
        case PartKind::plug:
        case PartKind::power_switch:
        case PartKind::fuse:
            return "H5";
        case PartKind::capacitor:
            return in(set.line_capacitors, p.id) || set.duties.of(index) == Duty::line_to_touch ? "H5" : "H7";
        default:
            return "H7";
    }
}

/// What is found bad is not powered, whatever proved it before: the iron and the line side when the transformer is
/// alone, tubes and lamps with the heaters, everything behind them.
void Gates::no_good(PowerStage& stage, bool is_passed) const {
    if (std::none_of(stage.acts.begin(), stage.acts.end(), [](const Act& act) {
            return act.kind == K::power_transformer_alone || act.kind == K::power_heaters ||
                   act.kind == K::power_b_plus || act.kind == K::power_full_line || act.kind == K::soak;
        }))
        return;
    const ActKind shows = proof_of(stage);
    std::map<std::string, std::vector<std::string>> found;
    for (const auto& [index, words] : set_.no_good()) {
        const Part& p = set_.part(index);
        const bool on_the_line = index == set_.transformer || in(set_.line_parts, p.id) ||
                                 in(set_.line_capacitors, p.id) || in(set_.winding_capacitors, p.id);
        const bool heated = (p.kind == PartKind::socket && !in(set_.rectifiers, p.id)) || p.kind == PartKind::lamp;
        if (shows == K::power_transformer_alone && !on_the_line) continue;
        if (shows == K::power_heaters && !on_the_line && !heated) continue;
        found[rule_of(set_, index)].push_back(words);
    }
    for (const auto& [rule, parts] : found)
        shut(stage, is_passed, rule + ": nothing that was found bad is powered",
             {false, listed(parts) + ": new, mended or proved first"});
}

/// A vibrator stands out of its socket while the heaters are tried by themselves.
void Gates::vibrators_out(PowerStage& stage, bool is_passed) const {
    if (proof_of(stage) != K::power_heaters || set_.vibrators.empty() || is_passed) return;
    std::vector<std::string> inside;
    for (const std::string& id : set_.vibrators) {
        const auto state = set_.progress.parts.find(id);
        if (state == set_.progress.parts.end() || state->second != PartState::removed) inside.push_back(id);
    }
    if (!inside.empty())
        shut(stage, is_passed, "H6: the vibrator is out of its socket", {false, "in by the log: " + listed(inside)});
}

/// What was read in the stage is past its STOP; what the deeds of that stage had proved of its rule, they prove no
/// more.
void Gates::stops(PowerStage& stage, bool is_passed, const std::vector<PastStop>& past) const {
    for (const PastStop& one : past) {
        if (one.stage == stage.stage)
            shut(stage, is_passed, one.line, {false, one.words, GateProof::Reading::against, one.at});
        if (one.stage >= stage.stage || is_passed) continue;
        const std::string rule = one.line.substr(0, one.line.find(':') + 1);
        for (std::size_t k = 0; k < stage.gate.proof.size(); ++k) {
            GateProof& proof = stage.gate.proof[k];
            if (!stage.gate.opened_by[k].starts_with(rule) || proof.words != proved_by_log) continue;
            proof = {false, one.words, GateProof::Reading::against, one.at};
            stage.gate.state = "shut";
        }
    }
}

/// A stage behind those that put the tubes in wants them in; of one that is passed, its own and the lamps are in too.
void Gates::tubes_in(PowerStage& stage, bool is_passed) const {
    const ActKind shows = proof_of(stage);
    if (shows == K::power_transformer_alone || (is_passed && shows == K::power_heaters)) return;
    std::set<std::string> wanted(set_.others.begin(), set_.others.end());
    if (shows != K::power_heaters)
        for (const auto* behind : {&set_.rectifiers, &set_.vibrators}) wanted.insert(behind->begin(), behind->end());
    if (is_passed) wanted.insert(set_.lamps.begin(), set_.lamps.end());
    for (const Act& act : stage.acts)
        if ((act.kind == K::refit_tube || act.kind == K::reconnect) && !is_passed)
            for (const std::string& id : act.parts) wanted.erase(id);
    std::vector<std::string> out;
    for (const std::string& id : wanted) {
        const auto state = set_.progress.parts.find(id);
        if (state != set_.progress.parts.end() && state->second == PartState::removed) out.push_back(id);
    }
    if (out.empty()) return;
    stage.gate.opened_by.push_back("H17: the tubes of this stage are in their sockets");
    stage.gate.proof.push_back({false, "out by the log: " + listed(out)});
    if (is_passed)
        stage.gate.not_again = true;
    else
        stage.gate.state = "shut";
}

/// By name, or by the step of the plan that goes through it; and nothing that it showed was changed since.
std::optional<std::size_t> Gates::passed_with(const PowerStage& stage) const {
    const auto end_of = [&](const std::string& name) -> std::optional<std::size_t> {
        const auto end = set_.progress.passed_at.find(name);
        if (end == set_.progress.passed_at.end()) return 0;
        if (!changes_.since(end->second, proof_of(stage)).empty()) return std::nullopt;
        return end->second;
    };
    if (in(set_.progress.stages_passed, stage.name))
        if (const auto end = end_of(stage.name)) return end;
    static const std::vector<std::pair<const char*, std::vector<ActKind>>> steps{
        {"transformer-alone", {K::power_transformer_alone}},
        {"vibrator-alone", {K::power_transformer_alone, K::power_heaters}},
        {"power-up", {K::power_heaters, K::power_b_plus, K::power_full_line}},
        {"battery-power", {K::power_b_plus, K::power_full_line}},
        {"soak", {K::soak}},
        {"touch-current", {K::check_touch_current}}};
    for (const auto& [step, kinds] : steps) {
        const bool goes_through = std::any_of(stage.acts.begin(), stage.acts.end(), [&, of = &kinds](const Act& act) {
            return std::find(of->begin(), of->end(), act.kind) != of->end();
        });
        if (!goes_through || !in(set_.progress.steps_done, step)) continue;
        if (const auto end = end_of(step)) return end;
    }
    return std::nullopt;
}

}  // namespace tubewright::power_up

namespace tubewright {

std::vector<Doubted> doubted_by(const PowerUp& sheet) {
    std::vector<Doubted> list;
    for (const PowerStage& stage : sheet.stages)
        for (std::size_t k = 0; k < stage.gate.proof.size(); ++k) {
            const GateProof& proof = stage.gate.proof[k];
            if (proof.holds || proof.reading == GateProof::Reading::not_asked) continue;
            Doubted one{stage.gate.opened_by[k].substr(0, stage.gate.opened_by[k].find(':')),
                        proof.words.substr(0, proof.words.find(power_up::find_out)), proof.at,
                        proof.reading == GateProof::Reading::missing};
            const auto tells = [](const Doubted& all, const Doubted& some) {
                return all.rule == some.rule &&
                       (all.words.find(some.words) != std::string::npos || (some.missing && !all.missing));
            };
            if (std::any_of(list.begin(), list.end(), [&](const Doubted& known) { return tells(known, one); }))
                continue;
            std::erase_if(list, [&](const Doubted& known) { return tells(one, known); });
            list.push_back(std::move(one));
        }
    return list;
}

}  // namespace tubewright
