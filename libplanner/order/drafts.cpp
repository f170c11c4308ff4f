// SPDX-License-Identifier: MIT
#include "order/drafts.hpp"

#include <algorithm>
#include <array>
#include <map>
#include <set>

#include "chassis/data.hpp"
#include "chassis/earth.hpp"
#include "chassis/graph.hpp"
#include "choice/figure.hpp"
#include "choice/minutes.hpp"
#include "choice/polarity.hpp"
#include "order/checks.hpp"

namespace tubewright::repair {
namespace {

using choice::figure;
using choice::listed;
using K = ActKind;

class Planner {
  public:
    explicit Planner(const SetUnderRepair& set_given) : set(set_given) {}
    Drafts made() {
        draft_all();
        return drafts;
    }

  private:
    bool buys_more(const RepairStep& s) const {
        return buys(s) && std::any_of(s.acts.begin(), s.acts.end(), [&](const Act& act) {
                   const auto end = set.progress.passed_at.find(s.step);
                   // a log that was begun before its parts were kept names none
                   const bool by_name =
                       std::any_of(set.progress.deeds.begin(), set.progress.deeds.end(),
                                   [](const Deed& deed) { return deed.act == word(K::buy) && !deed.parts.empty(); });
                   return end != set.progress.passed_at.end() && by_name && act.kind == K::buy && !act.parts.empty();
               });
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
        if (set.policy.purpose == PurposePolicy::preserve) keep_as_it_is();
        if (!set.progress.steps_done.empty() || !set.progress.deeds.empty() || !set.doubted.empty()) drop_done();
        if (set.policy.purpose != PurposePolicy::preserve && !set.progress.steps_done.empty()) tubes_back();
        open_ends_first();
    }
    // An end that the log has open is closed before anything is begun that its closing does not wait for.
    void open_ends_first() {
        std::vector<std::string> open, all;
        for (const RepairStep& s : drafts.steps) {
            all.push_back(s.step);
            if (due(s) && std::none_of(s.acts.begin(), s.acts.end(), [](const Act& act) { return feeds(act.kind); }))
                open.push_back(s.step);
        }
        for (const std::string& closing : open)
            for (const std::string& other : all)
                if (!holds(open, other) && !drafts.waits(closing, other) && !drafts.waits(other, closing))
                    drafts.after(other, closing, "s16",
                                 "what is open by the log is closed and checked before the next");
    }
    // A tube or a lamp that is out, and that no step which is left puts in again.
    void tubes_back() {
        std::vector<std::string> out;
        for (const auto& [id, state] : set.progress.parts) {
            const Part* p = set.part(id);
            const bool goes_in =
                std::any_of(drafts.steps.begin(), drafts.steps.end(), [&, name = id](const RepairStep& s) {
                    return std::any_of(s.acts.begin(), s.acts.end(), [&](const Act& act) {
                        return (act.kind == K::fit || act.kind == K::refit_tube) && holds(act.parts, name);
                    });
                });
            if (p && plugs_in(*p) && state == PartState::removed && !goes_in) out.push_back(id);
        }
        if (out.empty()) return;
        const std::string id = "put-back-" + joined(out);
        RepairStep& s = drafts.add(id, "Put " + listed(out) + " back into the socket, out by the log",
                                   static_cast<double>(out.size()) * set.minutes("refit"));
        s.parts = out;
        s.reason = "a part that was taken out and never put back is the commonest disaster";
        s.check = "as on the sketch; no socket left empty";
        s.acts = {{K::discharge, {}, "each filter section", 0}, {K::refit_tube, out, "back in its socket", 0}};
        drafts.after(id, "cold-ohms-all", "H19", "nothing is shorted before the tube goes back");
        drafts.after(id, "trace-polarity", "H23", "plus is traced before the tube goes back");
        for (const char* later : {"write-volts", "alignment", "soak", "reassemble", "touch-current", "hand-back"})
            if (!drafts.waits(id, later)) drafts.after(later, id, "H17", "nothing lifted or removed is left out");
    }

    // A rule that a reading speaks against is not kept, whatever was entered: what is wrong is found with the plug out,
    // the rule's own step is done anew, and what the rule forbids waits for both.
    void doubted_steps() {
        static constexpr std::array closing{"transformer-alone", "vibrator-alone", "power-up", "battery-power",
                                            "write-volts",       "alignment",      "soak",     "reassemble",
                                            "touch-current",     "hand-back"};
        std::map<std::string, std::vector<const Doubted*>> by_rule;
        for (const Doubted& one : set.doubted) by_rule[one.rule].push_back(&one);
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
            for (const std::string& id : anew) drafts.reopened.emplace(id, numbers);
            for (std::size_t k = 0; k < anew.size(); ++k) {
                for (std::size_t later = k + 1; later < anew.size(); ++later)
                    drafts.after(anew[later], anew[k], rule,
                                 "what a reading speaks against is found and shown right first");
                for (auto step = std::find_if(closing.begin(), closing.end(),
                                              [&](const char* one) { return std::string(first) == one; });
                     step != closing.end(); ++step)
                    if (!drafts.waits(anew[k], *step))
                        drafts.after(*step, anew[k], rule,
                                     "what a reading speaks against is found and shown right first");
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
            suspects = set.line_capacitors;
            if (!set.transformer.empty()) suspects.push_back(set.transformer);
        }
        RepairStep& s =
            drafts.add(id,
                       "Find out why: " + numbers + (suspects.empty() ? "" : ". There: " + listed(suspects)) + ". " +
                           std::string(set.from_line() ? "Plug out" : "Supply off") + " and empty, look, then ohms" +
                           (rule == "H6" ? " of each winding, and its leads one by one"
                                         : ", one lead free at a time, back before the next") +
                           "; enter what is found, and what it reads then",
                       set.minutes("visual") + set.minutes("cold-ohms"));
        s.parts = suspects;
        s.place = "whole chassis";
        s.reason = "never once more to see: what reads past its limit does so for a reason";
        s.check = rule + " holds again by a reading in the log: " + reads_right(rule);
        s.acts = {{K::inspect, {}, "what reads wrong", 0}, {K::measure, {}, "ohms, lead by lead", 0}};
        drafts.after(id, "photographs", "H2", "no joint is opened before the pictures");
        drafts.after(id, "discharge", "charge", "hands in an empty set");
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
        const int net = set.chassis.net(place);
        if (net < 0 || net == set.chassis.reference() || net == set.chassis.nodes().chassis_metal) return first;
        for (const LeadRef& ref : set.chassis.nets()[at(net)].leads) {
            const Part& p = set.part(ref.part);
            if (p.kind == PartKind::strip) continue;
            std::vector<std::string>& list = p.kind == PartKind::capacitor ? first : rest;
            if (!holds(first, p.id) && !holds(rest, p.id)) list.push_back(p.id);
        }
        first.insert(first.end(), rest.begin(), rest.end());
        return first;
    }
    /// The volts of a set that was brought up, once more, from behind the lamp where one read wrong.
    std::string write_volts(const std::string& numbers, bool missing) {
        const std::string id = "write-volts", lamp = set.from_line() ? "behind the lamp" : "from a supply that limits",
                          full = set.from_line() ? "full line" : "full volts",
                          off = set.from_line() ? "plug out" : "supply off";
        RepairStep& s = drafts.add(
            id,
            (missing ? "By the power-up sheet at " + full + ": read the volts and enter them"
                     : "By the power-up sheet " + lamp + ", then at " + full + ": read the volts again and enter them"),
            (missing ? 1 : 2) * set.minutes("power-stage"));
        s.place = "bench supply";
        s.reason = "alignment hides faults that volts show; " + numbers;
        s.check = "every reading of the sheet inside its band, in the log";
        if (!missing) s.acts = {{K::power_b_plus, {}, lamp, 10}, {K::discharge, {}, off, 0}};
        s.acts.push_back({K::power_full_line, {}, full, 15});
        s.acts.push_back({K::log_volts, {}, "every pin of the sheet", 0});
        s.acts.push_back({K::discharge, {}, off, 0});
        wait_for_all(id);
        drafts.after(id, "power-up", "list", "the set was brought up");
        drafts.after(id, "battery-power", "list", "one supply after the other is right first");
        return id;
    }

    /// A step that is planned leaves the part in: a new one, or the old one back.
    bool puts_back(const std::string& id) const {
        return std::any_of(drafts.steps.begin(), drafts.steps.end(), [&](const RepairStep& s) {
            return std::any_of(s.acts.begin(), s.acts.end(), [&](const Act& act) {
                return (act.kind == K::fit || act.kind == K::reconnect) && holds(act.parts, id);
            });
        });
    }
    /// Of what a step reads and puts back: that the log has it out.
    std::string goes_back(const std::vector<std::string>& list) const {
        std::vector<std::string> out;
        for (const std::string& id : list)
            if (set.out(id)) out.push_back(id);
        if (out.empty()) return {};
        return "; put " + listed(out) + " back, out by the log";
    }
    // What is out by the log, and is neither replaced nor measured, goes back as it was.
    void put_back_steps() {
        std::vector<int> waiting;
        for (const auto& [id, state] : set.progress.parts) {
            const Part* p = set.part(id);
            const bool out = state == PartState::lifted || state == PartState::removed;
            if (p && out && !puts_back(id) && !plugs_in(*p)) waiting.push_back(set.chassis.part(id));
        }
        for (const std::vector<int>& g : set.grouped(waiting)) {
            const std::vector<std::string> list = set.ids(g);
            const std::string id = "put-back-" + joined(list);
            RepairStep& s = drafts.add(id, set.place_of(g.front()) + ": put " + listed(list) + " back, out by the log",
                                       static_cast<double>(list.size()) * set.minutes("refit"));
            drafts.at_place.insert(id);
            s.parts = list;
            s.place = set.place_of(g.front());
            s.reason = "a part that was taken out and never put back is the commonest disaster";
            s.check = "as on the sketch; nothing left open";
            s.acts = {{K::reconnect, list, "as it was", 0}, {K::inspect, list, "joints", 0}};
            std::vector<std::string> capacitors;  // one that was out for its leakage may hold what it was read at
            for (const std::string& one : list) {
                if (set.part(one)->kind == PartKind::capacitor) capacitors.push_back(one);
                if (is_electrolytic(*set.part(one))) drafts.with_plus.insert(id);
            }
            if (!capacitors.empty()) {
                s.does += "; " + listed(capacitors) + " emptied through 10 k 10 W first";
                s.acts.insert(s.acts.begin(), {K::discharge, capacitors, "through 10 k 10 W", 0});
            }
            drafts.solder.push_back(id);
            for (const std::string& one : list) {
                // read first where that need not wait for the transformer's test, which wants it in
                if (drafts.settled_by.count(one) && !drafts.waits(drafts.settled_by[one], set.alone_step()))
                    drafts.after(id, drafts.settled_by[one], "list", "it is read first");
                drafts.settled_by.emplace(one, id);
            }
            drafts.before_power.push_back({id, "H17", "nothing lifted or removed is left out"});
            drafts.after(id, "photographs", "H2", "no joint is opened before the pictures");
            drafts.after(id, "discharge", "charge", "hands in an empty set");
            if (!drafts.waits(id, set.alone_step()))
                drafts.after(set.alone_step(), id, "H17", "nothing lifted or removed is left out");
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
        const auto end = set.progress.passed_at.find(s.step);
        if (end == set.progress.passed_at.end()) return {};
        if (const std::optional<K> proof = proof_of(s.step)) return set.changes.since(end->second, *proof);
        std::vector<std::string> renewed;
        for (const Act& act : s.acts)
            for (const std::string& id : act.parts)
                if ((act.kind == K::test_tube || act.kind == K::measure || act.kind == K::cold_ohms) &&
                    !holds(renewed, id) && !set.changes.since(end->second, proof_of_one(act.kind), id).empty() &&
                    !shown(act.kind, id))
                    renewed.push_back(id);
        return renewed;
    }
    /// Windings are read one by one, as any part is.
    static K proof_of_one(K kind) { return kind == K::cold_ohms ? K::measure : kind; }
    /// A deed of that kind was of the part as it is now.
    bool shown(K kind, const std::string& id) const {
        for (std::size_t k = 0; k < set.progress.deeds.size(); ++k)
            if (set.progress.deeds[k].act == word(kind) && holds(set.progress.deeds[k].parts, id) &&
                set.changes.since(k + 1, proof_of_one(kind), id).empty())
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
            for (std::size_t k = 0; k < set.progress.deeds.size(); ++k) {
                const Deed& deed = set.progress.deeds[k];
                if (deed.act != word(act.kind) || (fed && !set.changes.since(k + 1, act.kind).empty())) continue;
                done = done || act.parts.empty();
                mins += deed.minutes;
                for (const std::string& id : deed.parts)
                    if (set.changes.since(k + 1, proof_of_one(act.kind), id).empty()) open.erase(id);
            }
            if (!(done || (!act.parts.empty() && open.empty())) || mins < act.minutes) return false;
        }
        return asked > 0;
    }

    /// It puts something back that is out by the log, whatever was done before.
    bool due(const RepairStep& s) const {
        const auto out = [&](const std::string& id) {
            const Part* p = set.part(id);
            return p && !plugs_in(*p) && set.out(id);
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
        RepairStep& s =
            drafts.add("preserve",
                       "Put the boxes of the tubes with the set, close it as it was found, and tag it: kept as "
                       "it is, never plugged in",
                       set.minutes("hand-back"));
        s.reason = "the policy is to preserve: nothing original is lost, and nothing is powered";
        s.check = "tag on the cord and inside the cabinet, with the date and what was read";
        std::set<std::string> gone;
        for (const RepairStep& one : drafts.steps)
            if (!harmless.count(one.step) && one.step.rfind("put-back-", 0) != 0) gone.insert(one.step);
        drafts.forget(gone);
        for (const RepairStep& one : drafts.steps) drafts.after("preserve", one.step, "list", "it is closed last");
    }

    /// Steps that are done still: nothing was changed since that undoes their proof, and no open joint will.
    std::set<std::string> done_still() {
        std::map<std::string, std::string> open;
        if (!set.progress.deeds.empty()) open = unproved(set.chassis, set.catalogue, set.progress, K::power_b_plus);
        std::set<std::string> gone;
        for (RepairStep& s : drafts.steps) {
            const bool stale =
                (s.step == "trace-polarity" && open.count("H23")) || (s.step == "cold-ohms-all" && open.count("H19"));
            if ((stale && !set.progress.deeds.empty()) || due(s)) continue;
            if (const auto doubt = drafts.reopened.find(s.step); doubt != drafts.reopened.end()) {
                if (holds(set.progress.steps_done, s.step) && s.step.rfind("find-", 0) != 0) {
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
            const bool entered = holds(set.progress.steps_done, s.step);
            const std::vector<std::string> changed = entered ? changed_since(s) : std::vector<std::string>{};
            if ((entered && changed.empty() && !buys_more(s)) || (!buys(s) && covered(s)))
                gone.insert(s.step);
            else if (!changed.empty())
                again(s, changed);
        }
        bool joint = false, plus = false, fed = false;
        for (const RepairStep& s : drafts.steps) {
            if (gone.count(s.step) > 0 || !holds(drafts.solder, s.step)) continue;
            joint = true;
            plus = plus || drafts.with_plus.count(s.step) > 0;
            fed = fed || std::any_of(s.parts.begin(), s.parts.end(),
                                     [&](const std::string& id) { return set.changes.in_supply(id); });
        }
        if (joint) gone.erase("cold-ohms-all");
        if (plus) gone.erase("trace-polarity");
        for (const char* step :
             {"vibrator-alone", "power-up", "battery-power", "soak", "reassemble", "touch-current", "hand-back"})
            if (fed && step != set.alone_step()) gone.erase(step);
        // power-up itself writes the volts down, and a set that is handed back is not read again for the sake of paper
        const bool read = std::any_of(set.doubted.begin(), set.doubted.end(),
                                      [](const Doubted& one) { return one.rule == "H13" && !one.missing; });
        const bool in_hand = std::any_of(drafts.steps.begin(), drafts.steps.end(), [&](const RepairStep& s) {
            return (s.step == "alignment" || s.step == "soak" || s.step == "reassemble" || s.step == "touch-current" ||
                    s.step == "hand-back") &&
                   gone.count(s.step) == 0;
        });
        if (gone.count("power-up") == 0 || (!read && !in_hand)) gone.insert("write-volts");
        const bool in = std::any_of(set.tubes.begin(), set.tubes.end(), [&](const std::string& id) {
            const auto state = set.progress.parts.find(id);
            return state == set.progress.parts.end() || state->second != PartState::removed;
        });
        for (const char* alone : {"transformer-alone", "vibrator-alone"})
            if (in && drafts.there(alone) && gone.count(alone) == 0) gone.erase("pull-tubes");
        // what a stage left is emptied when the stage is done, and no later one charged the set again
        std::vector<std::string> charged;
        bool now = false;  // by a stage that is done: every hand waits for its discharge
        for (const auto& [power, id] : drafts.emptied_by) {
            if (!drafts.there(id)) continue;
            const bool later =
                std::any_of(drafts.emptied_by.begin(), drafts.emptied_by.end(), [&, stage = &power](const auto& other) {
                    return gone.count(other.first) > 0 && other.first != *stage && drafts.waits(other.first, *stage);
                });
            if (gone.count(power) > 0 && (holds(set.progress.steps_done, id) || !powered_last() || later)) {
                gone.insert(id);
            } else {
                charged.push_back(id);
                now = now || gone.count(power) > 0;
            }
        }
        if (again_.count("discharge") > 0 &&
            (now || std::none_of(drafts.steps.begin(), drafts.steps.end(), [&](const RepairStep& s) {
                 return gone.count(s.step) == 0 && puts_hands_in(s) &&
                        std::none_of(charged.begin(), charged.end(),
                                     [&](const std::string& id) { return drafts.waits(s.step, id); });
             })))
            gone.insert("discharge");
        return gone;
    }
    /// The log's last power has no discharge behind it but the one that a stage ends with.
    bool powered_last() const {
        std::size_t emptied = 2;
        for (const Deed& deed : set.progress.deeds) {
            const std::optional<K> kind = act_of(deed.act);
            if (kind == K::discharge && deed.parts.empty()) ++emptied;
            if (kind && feeds(*kind)) emptied = 0;
        }
        return emptied < 2;
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
        for (const RepairStep& s : drafts.steps)
            if (std::any_of(s.acts.begin(), s.acts.end(), [](const Act& act) { return feeds(act.kind); }))
                powered.push_back(s.step);
        std::vector<std::string> hands;
        for (const RepairStep& s : drafts.steps)
            if (puts_hands_in(s)) hands.push_back(s.step);
        for (const std::string& power : powered) {
            // hands that come after this stage, and after no other stage behind it; stages have their own arrows
            std::vector<std::string> behind;
            bool any = false;
            for (const std::string& hand : hands) {
                const bool next = hand != power && drafts.waits(hand, power) &&
                                  std::none_of(powered.begin(), powered.end(), [&](const std::string& other) {
                                      return other != power && other != hand && drafts.waits(hand, other) &&
                                             drafts.waits(other, power);
                                  });
                any = any || next;
                if (next && !holds(powered, hand)) behind.push_back(hand);
            }
            if (!any) continue;
            const std::string id = emptying + power;
            add_discharge(id, "it was powered just now, and a filter keeps its charge when nothing bleeds it");
            drafts.emptied_by[power] = id;
            drafts.after(id, power, "list", "it was powered");
            for (const std::string& hand : behind) drafts.after(hand, id, "list", "hands in an empty set");
        }
    }
    void add_discharge(const std::string& id, const std::string& reason) {
        RepairStep& s =
            drafts.add(id,
                       std::string(set.from_line() ? "Plug out" : "Supply off") +
                           ": empty each filter section by itself through 10 k 10 W, read it, read it again "
                           "after a minute",
                       set.minutes("discharge"));
        s.reason = reason;
        s.check = "0 V on each section";
        s.acts = {{K::discharge, {}, "each filter section", 0}};
    }
    static constexpr const char* emptying = "discharge-after-";
    static bool is_emptying(const std::string& step) { return step.rfind(emptying, 0) == 0; }

    void drop_done() {
        const std::set<std::string> done = done_still();
        std::map<std::string, std::vector<StepLink>> gone;
        for (const RepairStep& s : drafts.steps)
            if (done.count(s.step) > 0) gone[s.step] = s.predecessors;
        drafts.steps.erase(std::remove_if(drafts.steps.begin(), drafts.steps.end(),
                                          [&](const RepairStep& s) { return gone.count(s.step) > 0; }),
                           drafts.steps.end());
        for (RepairStep& s : drafts.steps) {
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
        for (const auto& [power, id] : drafts.emptied_by)
            if (drafts.there(id) && gone.count(power) > 0) first.push_back(id);
        for (const std::string& id : first)
            for (const RepairStep& s : drafts.steps)
                // at once after the stage, as planned, before anything else
                if ((puts_hands_in(s) || (is_emptying(id) && !drafts.waits(id, s.step))) && !drafts.waits(s.step, id))
                    drafts.after(s.step, id, is_emptying(id) ? "list" : "charge", "hands in an empty set");
        // A set that was together already is read and traced before any power.
        const std::string alone = set.alone_step();
        for (const auto& [step, rule] : {std::pair("cold-ohms-all", "H19"), std::pair("trace-polarity", "H23")})
            if (again_.count(alone) > 0 && !drafts.waits(step, alone))
                drafts.after(alone, step, rule, "before any power");
    }

    void openings() {
        {
            RepairStep& s = drafts.add(
                "label-check",
                set.from_vehicle
                    ? "Compare label with the battery or the bench supply: volts, and which pole is on the frame"
                : set.from_battery ? "Compare label with each battery: volts, plus and minus of every lead of the cable"
                : set.portable()   ? "Compare label with the line and with each battery: volts, kind, plus and minus"
                : set.direct_line() ? "Compare label with the supply: volts of direct current, which blade is plus"
                : set.transformer.empty()
                    ? "Compare label with the supply: volts, alternating or direct current, cycles"
                    : "Compare label, voltage selector and taps with the supply: volts, cycles, kind",
                set.minutes("label-check"));
            s.check = label_words(set);
            s.reason = "a set on the wrong supply is lost in the first second";
            s.acts = {{K::check_supply, {}, "label against supply", 0}};
        }
        std::vector<std::string> cords;
        for (const Part& p : set.chassis.parts())
            if (p.kind == PartKind::cord) cords.push_back(p.id);
        {
            RepairStep& s = drafts.add(
                "cord-safe",
                set.from_vehicle   ? "Take the A lead off its battery and tag it: the set is not fed as found"
                : set.from_battery ? "Take the cable off the batteries and tag it: the set is not fed as found"
                : set.portable()   ? "Batteries out; tie up and tag the cord, or cut its plug off: not fed as found"
                                   : "Tie up and tag the cord, or cut its plug off: the set is not plugged in as found",
                set.minutes("tag"));
            s.parts = cords;
            s.reason =
                set.from_vehicle ? "a stuck vibrator or a shorted buffer draws what the battery gives: tens of amperes"
                : set.from_battery         ? "B on the filaments burns every tube at once"
                : !set.transformer.empty() ? "a shorted filter takes the transformer along before anyone has looked"
                                           : "a shorted filter takes the rectifier along before anyone has looked";
            s.check = set.from_line() ? "nobody can plug it in without seeing the tag"
                                      : "nobody can connect it without seeing the tag";
            s.acts = {{K::make_cord_safe, cords, "cord unusable or tagged", 0}};
            drafts.after("cord-safe", "label-check", "H0", "the supply is known before anything else");
        }
        {
            RepairStep& s =
                drafts.add("reference", "Settle where the black clip goes: " + reference_words(), set.minutes("log"));
            const bool named = set.chassis.nodes().chassis_metal >= 0 || set.chassis.nodes().b_minus >= 0;
            const std::vector<std::string> live = line_shorts(set.chassis);
            s.reason =
                set.chassis.hot()         ? "hot by topology: the metal or B-minus is a line wire, and nothing earthed "
                                            "is clipped on, no earth wire and no earthed instrument"
                : set.chassis.level() < 2 ? "hot or isolated is not known from so little of a trace: taken as hot"
                : !named ? "hot or isolated is not known, no node says which net the metal is: taken as hot, nothing "
                           "earthed is clipped on until ohms from each blade to the metal are read"
                : !live.empty() ? "isolated by topology, but as found the metal is the line by " + listed(live) +
                                      ": nothing earthed is clipped on before it is out"
                                : "isolated by topology";
            s.check = "written on the tag";
            s.acts = {{K::settle_reference, {}, reference_words(), 0}};
            drafts.after("reference", "cord-safe", "H1", "nothing before the cord is safe");
        }
        add_discharge("discharge", "a filter keeps its charge when nothing bleeds it");
        drafts.after("discharge", "reference", "H3", "the clip goes to the right net");
        {
            RepairStep& s =
                drafts.add("photographs", "Photograph top, bottom in quarters, each socket; sketch every connection",
                           set.minutes("photographs"));
            s.reason = "grounding points, lead dress and earlier repairs cannot be recovered afterwards";
            s.check = "every socket pin is legible on a picture";
            s.acts = {{K::photograph, {}, "before the first joint is opened", 0}};
            drafts.after("photographs", "cord-safe", "H1", "nothing before the cord is safe");
        }
        {
            // What is on the line side and is not replaced is looked at here; the rest of the chassis for
            // burns, wax and insulation.
            const std::vector<std::string> looked(set.looked_at.begin(), set.looked_at.end());
            RepairStep& s =
                drafts.add("inspect",
                           "Look the whole chassis over: " +
                               (looked.empty() ? std::string("sockets, windings, wax, burns, insulation")
                                               : listed(looked) + "; sockets, windings, wax, burns, insulation"),
                           set.minutes("visual"));
            s.parts = looked;
            s.place = "whole chassis";
            s.reason =
                std::string(set.has_iron()
                                ? "tracks between rectifier pins and bare lamp leads burn transformers and stand in no "
                                  "table"
                            : set.from_line()
                                ? "tracks across sockets and bare leads put the line where a hand is, and stand "
                                  "in no table"
                                : "what leaked from batteries and bare leads stand in no table") +
                "; what is found goes on the list, before ohms are judged and anything is bought";
            s.check = "char between plate and heater pins, leads on a sharp edge" +
                      std::string(set.from_battery || set.portable() ? ", green battery contacts"
                                                                     : ", lamp sockets at the metal") +
                      ": noted";
            s.acts = {{K::inspect, looked, "line side, heater and plate leads", 0}};
            drafts.after("inspect", "cord-safe", "H1", "nothing before the cord is safe");
        }
        {
            std::vector<std::string> windings, iron, coils;
            for (const Part& p : set.chassis.parts())
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
                drafts.add("cold-ohms-windings",
                           "Cold ohms of " + of + (iron.empty() ? "" : "; to the core where nothing joins them to it"),
                           set.minutes("cold-ohms"));
            s.parts = windings;
            s.reason = "an open winding changes what the set is worth";
            s.check = winding_ohms();
            s.acts = {{K::cold_ohms, windings, "windings", 0}};
            if (windings.empty()) {
                s.does = "Cold ohms from line to chassis and B-minus";
            }
            if (const std::string string = string_ohms(set); !string.empty()) {
                const std::vector<std::string> gaps = gaps_of_string(set);
                s.does += gaps.empty() ? std::string("; of the heater string, switch on, its tubes in")
                                       : "; of each heater by itself, from pin to pin: the string is open at " +
                                             listed(gaps) + " as found";
                s.check += "; " + (gaps.empty() ? string : heaters_cold(set) + "; once they are new, " + string);
            }
            if (set.from_battery || set.portable())
                s.check += "; filaments of 50 mA never on the low range of an old ohmmeter: it burns them";
            std::vector<std::string> switches, clear;
            std::map<std::string, std::vector<std::string>> freed_switches;  // by place
            for (const std::string& id : set.looked_at) {
                if (set.part(id)->kind != PartKind::power_switch) continue;
                switches.push_back(id);
                std::vector<int> contacts;
                for (const Lead& l : set.part(id)->leads) contacts.push_back(l.net);
                const WayToMetal way = way_to_metal(contacts);
                const auto on_line = [&](const std::string& c) { return holds(set.line_capacitors, c); };
                if (way.open())
                    clear.push_back(id);
                else if (!set.from_line())
                    drafts.settled_by[id] = "cold-ohms-all";  // with the A lead to the chassis
                else if (!way.joined && all_replaced(way.by) && std::all_of(way.by.begin(), way.by.end(), on_line))
                    drafts.behind.emplace_back(id, way.by);
                else
                    freed_switches[set.place_of(set.chassis.part(id))].push_back(id);
            }
            if (!switches.empty()) {
                std::vector<std::string> dirty;
                for (const std::string& id : switches)
                    if (!set.part(id)->seen.empty()) dirty.push_back(id);
                if (!dirty.empty()) s.does += "; " + listed(dirty) + " cleaned and worked first";
                s.does += "; ohms of each contact of " + listed(switches) + ", closed";
                s.check += "; each contact of " + listed(switches) + " under 1 ohm closed";
                if (!clear.empty()) {
                    s.does += "; megohms from each contact of " + listed(clear) + " to its case";
                    s.check += "; each contact of " + listed(clear) + " over 20 megohms from the case";
                }
                s.acts.push_back({K::measure, switches, "ohms closed", 0});
            }
            drafts.after("cold-ohms-windings", "discharge", "charge", "ohms are read on an empty set");
            for (const auto& [place, some] : freed_switches) free_switch_step(place, some);
        }
        if (!set.tubes.empty()) {
            std::vector<std::string> both = set.tubes;
            both.insert(both.end(), set.lamps.begin(), set.lamps.end());
            both.insert(both.end(), set.vibrators.begin(), set.vibrators.end());
            RepairStep& s = drafts.add("pull-tubes", "Pull and label " + listed(both),
                                       set.minutes("tube") * static_cast<double>(both.size()));
            s.parts = both;
            s.place = "sockets";
            std::string worn;
            for (const std::string& id : both)
                if (set.action(id) == "replace" && !holds(set.lamps, id))
                    worn += "; " + id + " does not go back, a new one does";
            s.reason = std::string(!set.transformer.empty()    ? "the transformer is tested alone, and "
                                   : !set.alone_step().empty() ? "the vibrator's transformer is tried alone, and "
                                   : !set.vibrators.empty()    ? "heaters are fed first with the vibrator out, and "
                                                               : "") +
                       "tubes are tested cold" + worn +
                       (set.empty_sockets.empty() ? std::string() : "; empty already: " + listed(set.empty_sockets));
            s.check = "each in its box with its socket's number";
            s.acts = {{K::remove, both, "pulled, not unsoldered", 0}};
            drafts.at_place.insert("pull-tubes");
            drafts.after("pull-tubes", "discharge", "charge", "top caps carry what the filters hold");
            if (!string_ohms(set).empty())
                drafts.after("pull-tubes", "cold-ohms-windings", "list", "the string is read with its tubes in");
            std::vector<std::string> kept;  // what is on the list to be replaced has its verdict
            for (const std::string& id : set.tubes)
                if (set.action(id) != "replace") kept.push_back(id);
            if (!kept.empty()) test_tubes_step(kept);
        }
        std::vector<std::string> sockets;
        for (const auto* list : {&set.duties.rectifiers, &set.duties.output_tubes})
            for (int socket : *list)
                if (set.part(socket).kind == PartKind::socket) sockets.push_back(set.part(socket).id);
        std::sort(sockets.begin(), sockets.end());
        if (!sockets.empty()) {
            RepairStep& s =
                drafts.add("clean-sockets",
                           "Clean the sockets of " + listed(sockets) +
                               " and scrape off what is charred; megohms from each plate pin to the other plate, "
                               "the heater pins and the metal",
                           set.minutes("socket-clean") * static_cast<double>(sockets.size()));
            s.parts = sockets;
            s.place = "sockets";
            s.check = "over 20 megohms, but for what the windings join" + joined_pins(set, sockets) +
                      "; a charred wafer is a new socket";
            s.acts = {{K::measure, sockets, "megohms between pins", 0}};
            drafts.at_place.insert("clean-sockets");
            drafts.after("clean-sockets", "pull-tubes", "access", "a socket is cleaned empty");
            drafts.after("clean-sockets", "discharge", "charge", "hands in an empty set");
        }
        drafts.after("reference", "inspect", "list", "eyes come before clips and hands");
        lamp_step();
        earth_step();
        drafts.after("cold-ohms-windings", "inspect", "list", "what is seen decides what is read");
        if (set.earth.forbidden())
            drafts.after("cold-ohms-windings", "earth-off", "H22",
                         "off before an instrument is clipped on, and never back");
    }

    void test_tubes_step(const std::vector<std::string>& tubes) {
        RepairStep& t = drafts.add("test-tubes", "Test " + listed(tubes) + " for shorts, cold, tapped; then emission",
                                   set.minutes("tube-test") * static_cast<double>(tubes.size()));
        t.parts = tubes;
        t.place = "tube tester";
        t.reason = "a shorted rectifier is a shorted plate winding";
        t.check = "no short between electrodes" + heater_words(set, tubes);
        if (set.from_battery || set.portable()) {
            t.reason = "a filament that touches its grid or plate burns when B comes";
            t.check = "filament whole (a digital meter, never the low range of an old one); no short to grid or plate";
        } else if (set.transformer.empty() && set.vibrated.empty()) {
            t.reason = "one open heater darkens the string, a short from heater to cathode puts the line on a cathode";
        }
        t.acts = {{K::test_tube, tubes, "shorts, cold, tapped", 0}};
        drafts.after("test-tubes", "pull-tubes", "access", "a tube is tested out of its socket");
    }

    // The earth as found: off before the first power where the line can reach it, and off for the touch current always.
    void earth_step() {
        if (!set.earth.on) return;
        const std::string hangs = listed(set.earth.old_capacitors);
        RepairStep& s =
            drafts.add("earth-off",
                       "Take " + set.earth.name + " off the metal, at its outer end or its screw" +
                           (set.earth.forbidden() ? ", before the set is powered" : ", for the touch current"),
                       set.minutes("lift"));
        s.parts = set.earth.over;
        s.place = "earth";
        s.reason =
            set.earth.hot ? "the line reaches the chassis or B-minus: earthed, the metal is the other side of the line"
            : set.earth.forbidden() ? hangs + " alone stands between the line and earthed metal, and is not class Y"
                                    : "on an earthed chassis the touch current reads nothing, whatever leaks";
        s.check =
            "open from the metal to the earth pin of the house, plug out; " +
            std::string(set.earth.hot ? "it never goes back" : "it goes back only after the touch current is read") +
            (set.earth.hot || hangs.empty() ? "" : ", with " + hangs + " out or class Y");
        s.acts = {{K::lift_earth, set.earth.over, "off the metal", 0}};
        drafts.after("earth-off", "photographs", "H2", "no joint is opened before the pictures");
    }

    // The leads of the lamps stay on the heater winding when the lamps are pulled.
    void lamp_step() {
        std::vector<std::string> lamps;
        double money = 0;
        for (const std::string& id : set.lamps) {
            const auto state = set.progress.parts.find(id);
            if (state != set.progress.parts.end() && state->second == PartState::fitted) continue;
            lamps.push_back(id);
            if (const auto it = set.bought.find(id); it != set.bought.end()) money += it->second.cost;
        }
        if (lamps.empty()) return;
        RepairStep& s = drafts.add("sleeve-" + joined(lamps),
                                   "Sleeve or replace the leads and the sockets of the dial lamps " + listed(lamps),
                                   set.minutes("wire-sleeve") * static_cast<double>(lamps.size()));
        s.parts = lamps;
        s.place = "dial";
        s.cost = choice::cents(money);
        s.reason = lamp_lead_words();
        s.check = "lamp out, leads clear of pan and pulley; freed at its far end, " + live_leads_of(set, lamps) +
                  " over 1 megohm to the metal";
        s.acts = {{K::sleeve, lamps, "leads and sockets", 0}, {K::inspect, lamps, "clear of the metal", 0}};
        if (set.in_a_string())
            if (const std::vector<std::string> dead = set.renewed_lamps(); !dead.empty())
                s.acts.insert(s.acts.begin() + 1, {K::fit, dead, "the new one in the place of the old", 0});
        for (const std::string& id : lamps) drafts.settled_by[id] = s.step;
        const bool new_in_string =
            set.in_a_string() &&
            std::any_of(lamps.begin(), lamps.end(), [&](const std::string& id) { return set.action(id) == "replace"; });
        drafts.line_fits.push_back({s.step,
                                    !set.transformer.empty() ? "H5"
                                    : new_in_string          ? "H12"
                                                             : "list",
                                    !set.transformer.empty()
                                        ? "dial-lamp leads hang on the heater winding, pulled lamps or not"
                                    : new_in_string ? "the lamp that shunts a part of the string is in, its leads sound"
                                                    : "dial-lamp leads are fed with the heaters"});
        drafts.solder.push_back(s.step);
        drafts.at_place.insert(s.step);
        const std::string id = s.step;
        drafts.after(id, "photographs", "H2", "no joint is opened before the pictures");
        drafts.after(id, "discharge", "charge", "hands in an empty set");
    }

    std::string lamp_lead_words() const {
        if (!set.transformer.empty())
            return "a lamp lead on the metal shorts the heater winding: the commonest of all faults that burn it";
        return set.from_vehicle ? "a lamp lead on the metal shorts the A lead behind its fuse"
               : set.from_battery
                   ? "a lamp lead on the metal shorts the A battery"
                   : "a lamp lead on the metal bridges a part of the string, or puts the line on the metal";
    }

    std::string reference_words() const {
        const int net = set.chassis.reference();
        return net >= 0 ? set.chassis.nets()[at(net)].name : "not known";
    }
    std::string winding_ohms() {
        std::string text;
        for (const Part& p : set.chassis.parts())
            for (const PartWinding& w : p.windings) {
                if (w.role == WindingRole::rf || w.ohms.empty()) continue;
                for (std::size_t k = 0; k < w.ohms.size(); ++k) {
                    std::string name = p.id + " " + w.name;
                    if (w.ohms.size() > 1) name.append(".").append(std::to_string(k + 1));
                    text += (text.empty() ? "" : ", ") + name + " " + say(ohms(w.ohms[k]));
                }
            }
        for (const Part& p : set.chassis.parts())
            if (p.kind == PartKind::coil && p.ohms)
                text += (text.empty() ? "" : ", ") + p.id + " " + say(ohms(*p.ohms));
        if (text.empty()) return "continuity";
        // A winding with a lead on the metal reads its own ohms to the core: only the others can be asked for megohms
        // while everything is still soldered.
        std::vector<std::string> clear, leaky, tied;
        for (const Part& p : set.chassis.parts())
            for (const PartWinding& w : p.windings) {
                if (w.role == WindingRole::rf) continue;
                std::vector<int> ends;
                for (int k : w.leads) ends.push_back(p.leads[at(k)].net);
                const WayToMetal way = way_to_metal(ends);
                const std::string name = p.id + " " + w.name;
                (way.joined ? tied : way.open() ? clear : leaky).push_back(name);
                if (!way.joined && all_replaced(way.by)) drafts.behind.emplace_back(name, way.by);
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
        const int metal = set.metal();
        if (metal < 0) return way;
        const PartGraph copper(set.chassis.parts(), static_cast<int>(set.chassis.nets().size()), Through::copper);
        const std::vector<bool> grounded = copper.reached({metal});
        std::vector<int> from;
        for (const int net : nets) {
            way.joined = way.joined || (net >= 0 && grounded[at(net)]);
            if (net >= 0) from.push_back(net);
        }
        const std::vector<bool> reached = copper.reached(from, grounded);
        for (const Part& c : set.chassis.parts()) {
            if (c.kind != PartKind::capacitor || c.leads.size() != 2 || set.action(c.id) == "leave") continue;
            const int a = c.leads[0].net, b = c.leads[1].net;
            if (a >= 0 && b >= 0 && ((reached[at(a)] && grounded[at(b)]) || (reached[at(b)] && grounded[at(a)])))
                way.by.push_back(c.id);
        }
        return way;
    }
    bool all_replaced(const std::vector<std::string>& ids) const {
        return !ids.empty() &&
               std::all_of(ids.begin(), ids.end(), [&](const std::string& id) { return set.action(id) == "replace"; });
    }
    /// Contacts that the circuit joins to the metal are read with their leads off, after the pictures.
    void free_switch_step(const std::string& place, const std::vector<std::string>& poles) {
        const std::string id = "free-" + joined(poles);
        RepairStep& s = drafts.add(
            id,
            place + ": free the leads of " + listed(poles) +
                ", each lead tagged with its lug; megohms from each contact to its case; put them back",
            static_cast<double>(poles.size()) * (set.minutes("lift") + set.minutes("measure") + set.minutes("refit")));
        s.parts = poles;
        s.place = place;
        s.reason = "a contact that leaks puts the line on its case, and the circuit hides that while its leads are on";
        s.check = "over 20 megohms from each contact to the case";
        s.acts = {{K::lift, poles, "its leads", 0},
                  {K::measure, poles, "megohms to the case", 0},
                  {K::reconnect, poles, "as it was", 0},
                  {K::inspect, poles, "joints", 0}};
        drafts.at_place.insert(id);
        drafts.solder.push_back(id);
        for (const std::string& one : poles) drafts.settled_by[one] = id;
        drafts.line_fits.push_back({id, "H5", "the switch keeps the line off its case"});
        drafts.after(id, "cold-ohms-windings", "list", "read in its place first");
        drafts.after(id, "photographs", "H2", "no joint is opened before the pictures");
        drafts.after(id, "discharge", "charge", "hands in an empty set");
    }
    /// What old capacitors hid from the cold ohms is read by the step that takes them out; where several do, by the
    /// last cold ohms, if no new one between them leaks by its nature.
    void read_behind_capacitors() {
        std::map<std::pair<std::string, std::vector<std::string>>,
                 std::pair<std::vector<std::string>, std::vector<std::string>>>
            reads;  // windings, switches
        for (const auto& [what, by] : drafts.behind) {
            std::vector<std::string> steps;
            for (const std::string& id : by)
                if (const auto own = drafts.settled_by.find(id);
                    own != drafts.settled_by.end() && !holds(steps, own->second))
                    steps.push_back(own->second);
            if (steps.size() == 1 && drafts.there(steps.front())) {
                auto& [windings, switches] = reads[{steps.front(), by}];
                (set.part(what) ? switches : windings).push_back(what);
            } else if (!set.part(what) && std::none_of(by.begin(), by.end(), [&](const std::string& id) {
                           return is_electrolytic(*set.part(id));
                       })) {
                drafts.read_last.push_back(what);
            }
        }
        for (const auto& [where, what] : reads) {
            const auto& [windings, switches] = what;
            const std::string out = "with the old " + listed(where.second) + " out";
            RepairStep& s = drafts.step(where.first);
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
            s.minutes += set.minutes("measure");
            for (const auto& [kind, list] : {std::pair(K::cold_ohms, parts), std::pair(K::measure, switches)}) {
                const auto fit =
                    std::find_if(s.acts.begin(), s.acts.end(), [](const Act& a) { return a.kind == K::fit; });
                if (!list.empty()) s.acts.insert(fit, Act{kind, list, "with the old capacitors out", 0});
            }
            for (const std::string& id : switches) drafts.settled_by[id] = where.first;
        }
    }

    /// As they go in: what lies over another of them after it.
    std::vector<std::string> upper_last(const std::vector<std::string>& ids) const {
        std::vector<std::string> placed;
        const auto waits = [&](const std::string& id) {
            return std::any_of(ids.begin(), ids.end(), [&](const std::string& under) {
                return under != id && !holds(placed, under) && holds(set.lifted_for(under), id);
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
            for (const std::string& l : set.lifted_for(id)) {
                if (l == id || !holds(ids, l)) continue;
                if (!holds(over, l)) over.push_back(l);
                if (!holds(under, id)) under.push_back(id);
            }
        return {over, under};
    }

    /// A can is stuffed anew; a tubular has nothing to stuff.
    bool goes_into_can(const Part& p) const {
        return set.policy.cans == CanPolicy::restuff && is_electrolytic(p) && !p.can.empty();
    }
    /// With the parts: what is replaced too and lies over or under one of them, so that nothing old goes back for a
    /// while, and nothing new is lifted again; as many as one check can cover, else none.
    std::vector<std::string> with_what_lies_over(const std::vector<std::string>& ids,
                                                 const std::vector<std::string>& taken = {}) const {
        std::vector<std::string> all = ids;
        const auto by_itself = [&](const Part& p) {
            return set.action(p.id) != "replace" || plugs_in(p) || holds(taken, p.id) || p.kind == PartKind::battery ||
                   drafts.settled_by.count(p.id) > 0 || set.line_side.count(p.id) > 0 ||
                   holds(set.line_capacitors, p.id) || holds(set.winding_capacitors, p.id);
        };
        for (std::size_t k = 0; k < all.size(); ++k) {
            for (const std::string& l : set.lifted_for(all[k]))
                if (set.part(l) && !by_itself(*set.part(l)) && !holds(all, l)) all.push_back(l);
            for (const Part& p : set.chassis.parts())
                if (!by_itself(p) && !holds(all, p.id) && holds(set.lifted_for(p.id), all[k])) all.push_back(p.id);
        }
        return all.size() <= group_most ? all : ids;
    }

    // Parts of a step that replaces: what for what, what is lifted, the check.
    RepairStep& replacing(const std::string& id, const std::string& place, const std::vector<std::string>& of) {
        const std::vector<std::string> ids = upper_last(of);
        std::vector<std::string> lifts;
        for (const std::string& p : ids)
            for (const std::string& l : set.lifted_for(p))
                if (!holds(ids, l) && !holds(lifts, l)) lifts.push_back(l);
        const auto [first_out, under] = over_and_under(ids);
        double mins = 0, money = 0;
        std::string what;
        for (const std::string& p : ids) {
            const auto it = set.bought.find(p);
            const bool inside = goes_into_can(*set.part(p));
            mins += inside                                ? set.minutes("restuff")
                    : set.part(p)->kind == PartKind::fuse ? set.minutes("tube")  // its holder is there
                    : it == set.bought.end()              ? choice::replace_cost(*set.part(p), set.catalogue).minutes
                                                          : it->second.minutes;
            money += it == set.bought.end() ? 0 : it->second.cost;
            what += (what.empty() ? "" : "; ") + p +
                    (it != set.bought.end()                 ? ": " + it->second.text
                     : set.part(p)->kind == PartKind::block ? block_words(*set.part(p), ids)
                                                            : "") +
                    (inside ? ", inside the old can" : "");
        }
        mins += static_cast<double>(lifts.size()) * (set.minutes("lift") + set.minutes("refit"));
        RepairStep& s = drafts.add(
            id,
            place + ": replace " + (ids.size() > 1 ? "one out, one in: " : "") + what +
                (lifts.empty() ? ""
                 : lifts.size() == 1
                     ? "; lift " + lifts.front() + " first and put it back"
                     : "; lift " + listed(lifts) + " first, each lead tagged with its lug, and put them back") +
                (first_out.empty() ? ""
                                   : "; take " + listed(first_out) + " out first, each lead tagged with its lug: " +
                                         listed(under) + (under.size() == 1 ? " lies" : " lie") + " underneath and " +
                                         (under.size() == 1 ? "goes" : "go") + " in before"),
            mins);
        s.parts = ids;
        s.place = place;
        s.cost = choice::cents(money);
        for (const PartStress& row : set.stress)  // what the solver found wrong with the part that stands there
            if (row.lead.empty() && holds(ids, set.part(row.part).id))
                if (const std::string remark = choice::remark_without_polarity(row); !remark.empty())
                    s.reason += (s.reason.empty() ? "" : "; ") + set.part(row.part).id + " " + remark;
        if (!lifts.empty()) s.acts.push_back({K::lift, lifts, "for access", 0});
        if (!first_out.empty()) s.acts.push_back({K::remove, first_out, "what lies over the others", 0});
        s.acts.push_back({K::fit, ids, what, 0});
        s.acts.push_back({K::inspect, ids, "joints, lead dress, value on the body", 0});
        if (!lifts.empty()) {
            s.acts.push_back({K::reconnect, lifts, "as it was", 0});
            s.acts.push_back({K::inspect, lifts, "joints", 0});
        }
        s.check = check_of_new(set, ids);
        drafts.solder.push_back(id);
        for (const std::string& p : ids) drafts.settled_by[p] = id;
        for (const std::string& p : ids)
            if (is_electrolytic(*set.part(p))) drafts.with_plus.insert(id);
        for (const std::string& p : lifts)
            if (is_electrolytic(*set.part(p))) drafts.with_plus.insert(id);
        return s;
    }

    /// What becomes of a pack whose capacitors are replaced: nothing is bought for it, and what is sound goes on in it.
    std::string block_words(const Part& pack, const std::vector<std::string>& replaced) const {
        std::vector<std::string> old, stay, freed, kept;
        std::set<int> in_use;
        for (const Part& p : set.chassis.parts()) {
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

    /// Between the switch and the plug stands the neutral: a fuse beside it would put the line on B-minus.
    bool switch_in_the_other_lead() const {
        const int neutral = set.chassis.nodes().line_neutral;
        return neutral >= 0 && std::any_of(set.chassis.parts().begin(), set.chassis.parts().end(), [&](const Part& p) {
                   return p.kind == PartKind::power_switch &&
                          std::any_of(p.leads.begin(), p.leads.end(), [&](const Lead& l) { return l.net == neutral; });
               });
    }

    void line_steps() {
        std::vector<std::string> cords, wires, links, rest;
        for (const std::string& id : set.line_side) {
            if (set.action(id) != "replace") continue;
            const PartKind k = set.part(id)->kind;
            (k == PartKind::cord   ? cords
             : k == PartKind::wire ? wires
             : k == PartKind::fuse ? links
                                   : rest)
                .push_back(id);
        }
        std::vector<std::string> caps, across;
        for (const std::string& id : set.line_capacitors)
            if (set.action(id) == "replace") caps.push_back(id);
        std::vector<std::string> lifted;  // for the transformer's test
        for (const std::string& id : set.winding_capacitors)
            if (set.action(id) == "replace")
                across.push_back(id);
            else if (set.action(id) == "measure" && !set.transformer.empty())
                lifted.push_back(id);
        caps = with_what_lies_over(caps);
        across = with_what_lies_over(across, caps);
        // A transformer that is on the list is not tried: the new one is.
        std::vector<std::string> iron;
        if (!set.transformer.empty() && set.action(set.transformer) == "replace") iron.push_back(set.transformer);
        std::vector<std::string> want = cords;
        for (const auto* list : {&wires, &links, &rest, &caps, &across, &iron})
            want.insert(want.end(), list->begin(), list->end());
        want = set.still_to_buy(want);
        const bool tried = !set.alone_step().empty();
        if (tried && set.from_vehicle)
            for (const std::string& id : set.vibrators)
                if (set.action(id) == "replace" && !set.has_been_bought(id)) want.push_back(id);
        std::vector<std::string> named = want;
        // what was bought before, beside what is bought again
        const std::string buying = tried ? "buy-line-side" : "buy-parts";
        const bool again = set.progress.passed_at.count(buying) > 0;
        const bool wants_fuse = !set.fused && (set.has_iron() || set.bought.count(no_fuse) != 0);
        if (wants_fuse && !again) named.push_back("holder and fuse");
        bool sleeved = false;
        for (const std::string& id : set.lamps) {
            if (!drafts.settled_by.count(id)) continue;
            sleeved = !again;
            if (set.action(id) == "replace" && !set.has_been_bought(id)) named.push_back(id);
        }
        if (sleeved) named.push_back("sleeving");
        // Where no transformer is tried before money is spent, all is bought at once.
        if (!named.empty() && !tried) {
            RepairStep& s = buy_all();
            s.does = std::string(set.from_vehicle   ? "Buy what the A lead and the vibrator need: "
                                 : set.from_battery ? "Buy what the A lead needs: "
                                                    : "Buy what the line side needs: ") +
                     listed(named) + "; and the rest of the list" + lengths_words();
            s.acts.front().parts = want;
            for (const std::string& id : set.lamps)
                if (drafts.settled_by.count(id))
                    drafts.after(drafts.settled_by[id], buying, "list", "bought before it is fitted");
        } else if (!named.empty()) {
            RepairStep& s =
                drafts.add("buy-line-side",
                           std::string("Buy what the ") + (set.from_vehicle ? "vibrator's test" : "transformer test") +
                               " needs: " + listed(named) + lengths_words(),
                           set.minutes("log"));
            s.parts = want;
            s.reason = iron.empty() ? "cheap, and nothing can be tested without it"
                                    : "the old transformer is not tried: the new one is, and nothing without it";
            s.check = "classes and ratings as listed";
            s.acts = {{K::buy, want, set.from_vehicle ? "for the vibrator's test" : "for the transformer test", 0}};
            drafts.after("buy-line-side", "cold-ohms-windings", "s4", "an open winding changes what the set is worth");
            drafts.after("buy-line-side", "inspect", "list", "what is seen decides what is bought");
            for (const std::string& id : set.lamps)
                if (drafts.settled_by.count(id))
                    drafts.after(drafts.settled_by[id], "buy-line-side", "list", "bought before it is fitted");
        }
        const auto put = [&](const std::string& id, const std::string& place, const std::vector<std::string>& ids,
                             const std::string& why, const char* rule, const char* held) {
            if (ids.empty()) return;
            RepairStep& s = replacing(id, place, ids);
            drafts.at_place.insert(id);
            s.reason = why + (s.reason.empty() ? "" : "; " + s.reason);
            drafts.line_fits.push_back({id, rule, held});
            drafts.after(id, buying, "list", "bought before it is fitted");
            drafts.after(id, "photographs", "H2", "no joint is opened before the pictures");
            drafts.after(id, "discharge", "charge", "hands in an empty set");
        };
        put("replace-" + joined(cords), set.source_side(), cords, cord_words(cords), "H5", "cord and plug sound");
        for (std::size_t k = 0; k < wires.size(); k += group_most) {
            const std::vector<std::string> some(
                wires.begin() + static_cast<long>(k),
                wires.begin() + static_cast<long>(std::min(wires.size(), k + group_most)));
            put("replace-" + joined(some), set.transformer.empty() ? set.source_side() : "transformer leads", some,
                lead_words(some), "H5", "line, heater and plate leads sound");
        }
        put("replace-" + joined(rest), set.source_side(), rest,
            set.transformer.empty() ? "the line side is sound before the set is fed"
                                    : "the line side is sound before the line reaches the transformer",
            "H5", "plug, switch and fuse sound");
        put("link-" + joined(links), set.source_side(), links, "a fuse that does not open watches the set burn", "H5",
            "plug, switch and fuse sound");
        put("replace-" + joined(caps), set.source_side(), caps, short_words(caps), "H5",
            "capacitors on the line are new");
        const bool one_place = !across.empty() && std::all_of(across.begin(), across.end(), [&](const std::string& id) {
            return set.place_of(set.chassis.part(id)) == set.place_of(set.chassis.part(across.front()));
        });
        put("replace-" + joined(across), one_place ? set.place_of(set.chassis.part(across.front())) : "plate winding",
            across,
            set.from_vehicle
                ? "the buffer: shorted it burns winding and points, of another value the points; exact value, "
                  "1600 V or more"
                : "it stands live in the transformer test and would spoil its verdict",
            set.from_vehicle ? "H7" : "H6", "capacitors across a plate winding are new");
        put("replace-" + joined(iron), "power transformer", iron,
            "it is found bad: what burnt it must be found before the new one is powered", "s4",
            "the burnt transformer is out before any is powered");
        if (wants_fuse) {
            const auto it = set.bought.find(no_fuse);
            RepairStep& f =
                drafts.add("fit-fuse",
                           set.source_side() + ": fit " +
                               (it == set.bought.end() ? std::string("a holder and a time-lag fuse as the list says")
                                                       : it->second.text) +
                               (set.from_vehicle ? " in the A lead, at its battery's end"
                                : switch_in_the_other_lead()
                                    ? " in the hot lead, ahead of all that it feeds; the switch is in the other "
                                      "lead, and stays there"
                                    : " in the hot lead, between the cord and the switch"),
                           it == set.bought.end() ? set.minutes("fuse") : it->second.minutes);
            f.place = set.source_side();
            f.cost = it == set.bought.end() ? 0 : choice::cents(it->second.cost);
            f.reason = "built without a fuse: what shorts behind it would run until something opens";
            f.check = std::string(set.from_vehicle ? "A" : "hot") + " lead to the tip of the holder, " +
                      (switch_in_the_other_lead() ? "what that lead fed" : "switch") +
                      " to its ring; nothing of it bare";
            f.acts = {{K::fit_fuse, {}, "in the hot lead", 0}};
            drafts.at_place.insert("fit-fuse");
            drafts.line_fits.push_back({"fit-fuse", "H5", "every stage is fused"});
            drafts.solder.push_back("fit-fuse");
            drafts.after("fit-fuse", buying, "list", "bought before it is fitted");
            drafts.after("fit-fuse", "photographs", "H2", "no joint is opened before the pictures");
            drafts.after("fit-fuse", "discharge", "charge", "hands in an empty set");
        }
        resolder_steps();
        if (!tried) return;
        if (set.from_vehicle) {
            vibrator_step(buying);
            alone_waits(set.alone_step());
            return;
        }
        const double n = static_cast<double>(lifted.size());
        RepairStep& s = drafts.add(
            "transformer-alone",
            "Transformer alone, rectifier and tubes out" +
                (lifted.empty() ? "" : ", one end of " + listed(lifted) + " lifted") +
                (lifted.size() > 1 ? ", each tagged with its lug" : "") +
                ": five minutes behind the lamp, then half an hour at full line, watched" +
                (lifted.empty()
                     ? ""
                     : "; then the leakage of " + listed(lifted) + ", each emptied through 10 k 10 W, and put back"),
            set.minutes("transformer-alone") +
                n * (set.minutes("measure-leakage") + set.minutes("lift") + set.minutes("refit")) +
                minutes_to_empty(lifted));
        s.parts = {set.transformer};
        s.place = "bench supply";
        s.reason = "the part that nobody makes any more is proved before money is spent";
        s.check = "volts of each winding by the power-up sheet; barely warm after half an hour";
        s.acts = {{K::power_transformer_alone, {set.transformer}, "behind the lamp", 5},
                  {K::power_transformer_alone, {set.transformer}, "full line, watched", 30},
                  {K::discharge, {}, "plug out", 0}};
        if (!lifted.empty()) {
            s.parts.insert(s.parts.end(), lifted.begin(), lifted.end());
            std::vector<int> indices;
            for (const std::string& id : lifted) indices.push_back(set.chassis.part(id));
            s.check += "; " + leak_limits(set, indices) + emptied_words;
            s.acts.insert(s.acts.begin(), Act{K::lift, lifted, "one end", 0});
            s.acts.push_back({K::measure, lifted, "leakage at working volts", 0});
            s.acts.push_back({K::discharge, lifted, "each through 10 k 10 W", 0});
            s.acts.push_back({K::reconnect, lifted, "as it was, or a new one", 0});
            s.acts.push_back({K::inspect, lifted, "joints", 0});
            drafts.solder.push_back("transformer-alone");
            for (const std::string& id : lifted) drafts.settled_by[id] = "transformer-alone";
            drafts.after("transformer-alone", "photographs", "H2", "no joint is opened before the pictures");
            drafts.after("transformer-alone", "discharge", "charge", "hands in an empty set");
        }
        if (iron.empty()) drafts.settled_by[set.transformer] = "transformer-alone";
        alone_waits("transformer-alone");
    }
    /// What the iron's own test waits for.
    void alone_waits(const std::string& alone) {
        if (set.earth.forbidden()) drafts.after(alone, "earth-off", "H22", "no earth on what the line can reach");
        drafts.after(alone, "inspect", "H5",
                     set.from_vehicle ? "A lead and plate leads sound" : "line side, heater and plate leads sound");
        for (const StepLink& f : drafts.line_fits) drafts.after(alone, f.step, f.rule, f.why);
        drafts.after(alone, "pull-tubes", "H6", "rectifier out");
        drafts.after(alone, "cold-ohms-windings", "list", "ohms before volts");
        drafts.after(alone, "clean-sockets", "list", "a track across a socket would spoil its verdict");
    }

    // A sound wire at a bad joint: solder, nothing bought.
    void resolder_steps() {
        std::vector<int> loose;
        for (const PartAction& a : set.actions)
            if (a.action == "measure" && only_loose(set.part(a.part))) loose.push_back(a.part);
        for (const std::vector<int>& g : set.grouped(loose)) {
            const std::vector<std::string> list = set.ids(g);
            const std::string id = "resolder-" + joined(list);
            RepairStep& s = drafts.add(
                id, set.place_of(g.front()) + ": resolder both ends of " + listed(list) + "; ohms from lug to lug",
                static_cast<double>(list.size()) * (2 * set.minutes("refit") + set.minutes("measure")));
            drafts.at_place.insert(id);
            s.parts = list;
            s.place = set.place_of(g.front());
            s.reason = "found loose: the joint heats and opens, the wire is sound and stays";
            s.check = "under 1 ohm, less the leads, and no flicker when it is moved";
            s.acts = {{K::reconnect, list, "both ends, new solder", 0}, {K::measure, list, "lug to lug", 0}};
            drafts.solder.push_back(id);
            for (const std::string& one : list) {
                drafts.settled_by[one] = id;
                if (set.line_side.count(one))
                    drafts.line_fits.push_back({id, "H5", "line, heater and plate leads sound"});
            }
            drafts.after(id, "photographs", "H2", "no joint is opened before the pictures");
            drafts.after(id, "discharge", "charge", "hands in an empty set");
        }
    }

    // What is wrong with the cord, from what is there.
    std::string cord_words(const std::vector<std::string>& cords) const {
        std::string text;
        for (const std::string& id : cords) {
            const Part& c = *set.part(id);
            std::string words = c.seen;
            const auto also = [&](const std::string& more) { words += (words.empty() ? "" : ", ") + more; };
            if (c.construction == "resistance-cord") also("heat-dropping wire");
            if (c.since)
                also("of " + std::to_string(*c.since));
            else if (set.chassis.built())
                also("as old as the set (" + std::to_string(*set.chassis.built()) + ")");
            if (words.empty()) words = "of unknown age";
            text += id + ": " + words + "; ";
        }
        return text + "line volts, ahead of every fuse in the set";
    }

    // What is wrong with leads of line, heaters and plates.
    std::string lead_words(const std::vector<std::string>& wires) const {
        std::vector<std::string> rubber, seen;
        for (const std::string& id : wires) {
            const Part& w = *set.part(id);
            if (!w.seen.empty())
                seen.push_back(id + " " + w.seen);
            else if (w.construction == "rubber")
                rubber.push_back(id);
        }
        std::string text = seen.empty() ? "" : "found: " + listed(seen);
        if (!rubber.empty())
            text += std::string(text.empty() ? "" : "; ") + "old rubber crumbles where it is moved: " + listed(rubber);
        return (text.empty() ? std::string("old insulation") : text) +
               (set.has_iron()    ? "; these carry line, heater or plate volts"
                : set.from_line() ? "; these carry line volts"
                                  : "; these carry all that the battery gives");
    }

    // What a short of a capacitor on the line does, and whether a fuse of the set sees it.
    std::string short_words(const std::vector<std::string>& caps) const {
        bool touch = false, guarded = true;
        for (const std::string& id : caps) {
            touch = touch || set.duties.of(set.chassis.part(id)) == Duty::line_to_touch;
            guarded = guarded && behind_a_fuse(*set.part(id));
        }
        if (touch)
            return std::string("a short there makes the metal a line wire") +
                   (guarded ? "; a fuse sees it only when the metal is earthed" : ", and no fuse is ahead of it");
        return std::string("a short there is fire") + (guarded ? " until the fuse opens" : ", and no fuse sees it");
    }
    // Not reached from the hot blade but through a fuse; the one that is fitted stands right behind the cord.
    bool behind_a_fuse(const Part& p) const {
        if (!set.fused) return !set.transformer.empty() && p.kind != PartKind::cord && p.kind != PartKind::plug;
        const NodeRoles& r = set.chassis.nodes();
        std::set<int> seen;
        std::vector<int> front{r.line_hot};
        while (!front.empty()) {
            const int net = front.back();
            front.pop_back();
            if (net < 0 || !seen.insert(net).second) continue;
            for (const LeadRef& ref : set.chassis.nets()[at(net)].leads) {
                const Part& q = set.part(ref.part);
                if (q.kind != PartKind::wire && q.kind != PartKind::power_switch && q.kind != PartKind::cord) continue;
                for (const Lead& l : q.leads) front.push_back(l.net);
            }
        }
        return std::none_of(p.leads.begin(), p.leads.end(), [&](const Lead& l) {
            return l.net >= 0 && l.net != r.line_neutral && seen.count(l.net) > 0;
        });
    }

    RepairStep& buy_all() {
        RepairStep& s = drafts.add("buy-parts", set.alone_step().empty() ? "Buy the list" : "Buy the rest of the list",
                                   set.minutes("log"));
        s.reason = set.alone_step().empty() ? "after the cold ohms: an open winding changes what the set is worth"
                                            : "after the transformer test: before it, money may be lost";
        s.check = "values, volts and classes as listed";
        s.acts = {{K::buy, {}, "capacitors, resistors and the rest", 0}};
        drafts.after("buy-parts", "cold-ohms-windings", "s4", "an open winding changes what the set is worth");
        drafts.after("buy-parts", "inspect", "list", "what is seen decides what is bought");
        return s;
    }
    /// What the list takes for the length of a lead is no measurement.
    std::string lengths_words() const {
        std::vector<std::string> leads;
        for (const PartAction& a : set.actions)
            if (a.action == "replace" && set.part(a.part).kind == PartKind::wire) leads.push_back(set.part(a.part).id);
        return leads.empty()
                   ? std::string()
                   : "; measure the length of " + listed(leads) + " on the set first, the list only assumes it";
    }
    void replacement_steps() {
        std::vector<int> replaced;
        std::vector<std::string> batteries;
        for (const PartAction& a : set.actions) {
            const Part& p = set.part(a.part);
            if (a.action != "replace" || drafts.settled_by.count(p.id)) continue;
            if (p.kind == PartKind::socket)
                drafts.new_tubes.push_back(p.id);  // no joint: it goes in when its stage of the power-up comes
            else if (p.kind == PartKind::battery)
                batteries.push_back(p.id);
            else if (p.kind == PartKind::vibrator)
                drafts.settled_by[p.id] = "pull-tubes";  // so does this: the old one never goes back
            else
                replaced.push_back(a.part);
        }
        const std::vector<std::vector<int>> groups = set.grouped(replaced);
        const bool vibrates =
            set.alone_step().empty() && std::any_of(set.vibrators.begin(), set.vibrators.end(),
                                                    [&](const std::string& id) { return set.action(id) == "replace"; });
        if (!replaced.empty() || !drafts.new_tubes.empty() || !batteries.empty() || vibrates) {
            std::vector<std::string> all = drafts.new_tubes;
            all.insert(all.end(), batteries.begin(), batteries.end());
            for (const int r : replaced) all.push_back(set.part(r).id);
            for (const std::string& id : set.vibrators)
                if (vibrates && set.action(id) == "replace") all.push_back(id);
            const std::vector<std::string> open = set.still_to_buy(all);
            if (!drafts.there("buy-parts")) buy_all();
            RepairStep& buying = drafts.step("buy-parts");
            std::vector<std::string>& wanted = buying.acts.front().parts;
            wanted.insert(wanted.end(), open.begin(), open.end());
            const bool more = set.progress.passed_at.count("buy-parts") > 0 || open.size() < all.size();
            if (more && !wanted.empty()) buying.does = "Buy " + listed(wanted);
            drafts.after("buy-parts", set.alone_step(), "s4", "the transformer is proved before money is spent");
        }
        if (!drafts.new_tubes.empty()) {
            double money = 0;
            std::string what;
            for (const std::string& id : drafts.new_tubes) {
                const auto bought = set.bought.find(id);
                money += bought == set.bought.end() ? 0 : bought->second.cost;
                what += (what.empty() ? "" : "; ") + id + ": " + set.part(id)->tube +
                        (stands_empty(*set.part(id))  ? ", the socket was found empty"
                         : set.part(id)->seen.empty() ? ""
                                                      : ", the old one was seen " + set.part(id)->seen);
            }
            RepairStep& s = drafts.add("new-tubes", "Test the new tubes like the old ones, and label them: " + what,
                                       set.minutes("tube-test") * static_cast<double>(drafts.new_tubes.size()));
            s.parts = drafts.new_tubes;
            s.place = "tube tester";
            s.cost = choice::cents(money);
            s.reason = "a tube that was found bad does not go back, and a new one may be bad";
            s.check = "no short, tapped; the old one is marked and out of reach";
            s.acts = {{K::fit, drafts.new_tubes, "in the place of the old, by their labels", 0},
                      {K::test_tube, drafts.new_tubes, "the new ones", 0},
                      {K::remove, drafts.new_tubes, "in their boxes until their stage", 0}};
            drafts.after("new-tubes", "buy-parts", "list", "bought before it is tested");
            drafts.after("new-tubes", "test-tubes", "list", "the old one's verdict comes first");
        }
        if (!batteries.empty()) {
            RepairStep& s = replacing("replace-" + joined(batteries), "battery case", batteries);
            s.reason = "leaked or of no use; nothing is connected before its stage";
            s.check = "volts of each by itself, plus and minus as the label has them; cable still off";
            drafts.after(s.step, "buy-parts", "list", "bought before it is fitted");
            drafts.after(s.step, "photographs", "H2", "no joint is opened before the pictures");
            drafts.after(s.step, "discharge", "charge", "hands in an empty set");
        }
        for (const std::vector<int>& g : groups) {
            const std::string id = "replace-" + joined(set.ids(g));
            RepairStep& s = replacing(id, set.place_of(g.front()), set.ids(g));
            drafts.at_place.insert(id);
            std::vector<int> hunted;  // what burnt it is found by hand, in a step of its own
            for (int r : g) {
                const std::vector<std::string> found = set.burnt_with(r);
                if (found.empty()) continue;
                if (burnt_by(set.chassis, set.duties, r).empty()) {
                    hunted.push_back(r);
                    continue;
                }
                s.acts.insert(s.acts.begin(), Act{K::find_cause, found, "what burnt it", 0});
                s.does += "; " + set.part(r).id + " was probably burnt by " + listed({found.begin() + 1, found.end()});
            }
            for (int r : hunted) find_cause_step(r, id);
            drafts.after(id, "buy-parts", "list", "bought before it is fitted");
            drafts.after(id, "photographs", "H2", "no joint is opened before the pictures");
            drafts.after(id, "discharge", "charge", "hands in an empty set");
        }
        for (const std::vector<int>& g : groups) {
            const std::string id = drafts.settled_by.at(set.part(g.front()).id);
            for (int r : g) {
                for (const std::string& c : set.burnt_with(r))
                    if (drafts.settled_by.count(c) && !drafts.waits(drafts.settled_by.at(c), id))
                        drafts.after(id, drafts.settled_by.at(c), "list",
                                     "what burnt " + set.part(r).id + " goes before it (H18 wants it on the list)");
                // An old part that is lifted for access is replaced afterwards, not soldered in new and lifted again.
                for (const std::string& l : set.lifted_for(set.part(r).id))
                    if (drafts.settled_by.count(l) && !drafts.waits(id, drafts.settled_by.at(l)))
                        drafts.after(drafts.settled_by.at(l), id, "access",
                                     set.part(r).id + " is reached by lifting " + l);
            }
        }
    }
    // No capacitor can have burnt it: what did is looked for behind the tests of its tubes, and where the iron is tried
    // first, before the rest is bought.
    void find_cause_step(int r, const std::string& replaces) {
        const std::vector<std::string> found = set.burnt_with(r);
        const std::vector<std::string> suspects(found.begin() + 1, found.end());
        const std::string id = "find-cause-" + set.part(r).id;
        RepairStep& s = drafts.add(id,
                                   set.place_of(r) + ": find what burnt " + set.part(r).id +
                                       (suspects.empty() ? std::string(", by ohms from each of its ends to the returns")
                                                         : ", at " + listed(suspects) +
                                                               " first, by ohms from each of its ends "
                                                               "to the returns"),
                                   set.minutes("measure") + set.minutes("place-change"));
        s.parts = found;
        s.place = set.place_of(r);
        s.reason = "a new resistor burns like the old one while what burnt it is there";
        s.check = "what draws the current is found and on the list";
        s.acts = {{K::find_cause, found, "what burnt it", 0}};
        drafts.after(id, "discharge", "charge", "ohms are read on an empty set");
        for (const std::string& suspect : suspects) {
            if (set.part(suspect)->kind != PartKind::socket || !drafts.there("test-tubes")) continue;
            if (holds(drafts.step("test-tubes").parts, suspect))
                drafts.after(id, "test-tubes", "H18",
                             suspect + " is tested before it is cleared of burning " + set.part(r).id);
        }
        if (!set.alone_step().empty()) drafts.after("buy-parts", id, "list", "what is found goes on the list");
        drafts.after(replaces, id, "H18", "what burnt " + set.part(r).id + " is found and on the list");
    }

    // Whether direct current finds a way round a resistor, with the tubes out.
    bool way_round(int index) const {
        const Part& p = set.part(index);
        if (p.leads.size() < 2) return false;
        std::vector<int> front{p.leads[0].net};
        std::vector<bool> seen(set.chassis.nets().size());
        while (!front.empty()) {
            const int net = front.back();
            front.pop_back();
            if (net < 0 || seen[at(net)]) continue;
            seen[at(net)] = true;
            for (const LeadRef& ref : set.chassis.nets()[at(net)].leads) {
                const Part& q = set.part(ref.part);
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
        for (const PartAction& a : set.actions) {
            const Part& p = set.part(a.part);
            if (a.action != "measure" || drafts.settled_by.count(p.id)) continue;
            if (p.kind == PartKind::resistor || p.kind == PartKind::control) resistors.push_back(a.part);
            if (p.kind == PartKind::capacitor) capacitors.push_back(a.part);
        }
        for (const std::vector<int>& g : set.grouped(capacitors)) {
            const std::vector<std::string> list = set.ids(g);
            const std::string id = "prove-" + joined(list);
            const double n = static_cast<double>(list.size());
            std::vector<std::string> formed;
            if (set.policy.electrolytics == FilterPolicy::reform)
                for (const std::string& p : list)
                    if (is_electrolytic(*set.part(p))) formed.push_back(p);
            RepairStep& s =
                drafts.add(id,
                           set.place_of(g.front()) + ": lift one end of " + listed(list) +
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
                           n * (set.minutes("measure-leakage") + set.minutes("lift") + set.minutes("refit")) +
                               minutes_to_empty(list) + (formed.empty() ? 0 : set.minutes("reform")));
            drafts.at_place.insert(id);
            s.parts = list;
            s.place = set.place_of(g.front());
            s.does += goes_back(list);
            s.check = leak_limits(set, g) + emptied_words;
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
                if (is_electrolytic(*set.part(p))) drafts.with_plus.insert(id);
            drafts.solder.push_back(id);
            for (const std::string& p : list) drafts.settled_by[p] = id;
            drafts.after(id, "photographs", "H2", "no joint is opened before the pictures");
            drafts.after(id, "discharge", "charge", "hands in an empty set");
            wait_for_room(id, list);
        }
        // What may have burnt a resistor and stays is proved before the new resistor goes in.
        for (const PartAction& a : set.actions)
            for (const std::string& cause : set.burnt_with(a.part)) {
                const std::string& burnt = set.part(a.part).id;
                if (a.action != "replace" || cause == burnt || set.action(cause) != "measure" ||
                    !drafts.settled_by.count(cause) || !drafts.settled_by.count(burnt) ||
                    drafts.settled_by[cause] == drafts.settled_by[burnt])
                    continue;
                drafts.after(drafts.settled_by[burnt], drafts.settled_by[cause], "H18",
                             cause + " may have burnt " + burnt + ": proved first");
            }
        for (const std::vector<int>& g : set.grouped(resistors)) {
            const std::vector<std::string> list = set.ids(g);
            const std::string id = "measure-" + joined(list);
            std::vector<std::string> one_end;
            std::set<std::string> waits;
            for (int r : g) {
                bool lift = way_round(r);
                for (const std::string& c : leaky_beside(r)) {
                    if (drafts.settled_by.count(c))
                        waits.insert(drafts.settled_by[c]);
                    else
                        lift = true;
                }
                if (lift) one_end.push_back(set.part(r).id);
            }
            RepairStep& s =
                drafts.add(id,
                           set.place_of(g.front()) + ": ohms of " + listed(list) +
                               (one_end.empty() ? "" : "; one end of " + listed(one_end) + " free") +
                               (one_end.size() > 1 ? ", one at a time, back before the next"
                                : !one_end.empty() ? ", and back"
                                                   : ""),
                           static_cast<double>(list.size()) * set.minutes("measure-resistor") +
                               static_cast<double>(one_end.size()) * (set.minutes("lift") + set.minutes("refit")));
            drafts.at_place.insert(id);
            s.parts = list;
            s.place = set.place_of(g.front());
            s.does += goes_back(one_end);
            s.check = ohm_limits(set, g);
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
            if (opened) drafts.solder.push_back(id);
            for (const std::string& p : list) drafts.settled_by[p] = id;
            for (const std::string& w : waits)
                drafts.after(id, w, "s10", "leaky neighbours are new before a resistor is judged");
            if (opened) drafts.after(id, "photographs", "H2", "no joint is opened before the pictures");
            drafts.after(id, "discharge", "charge", "ohms are read on an empty set");
            wait_for_room(id, list);
        }
    }
    /// What is replaced and lay over one of these is new by then, and leaves room.
    bool makes_room(const std::string& over) const {
        return set.action(over) == "replace" && drafts.settled_by.count(over) > 0 &&
               drafts.settled_by.at(over).rfind("replace-", 0) == 0;
    }
    /// What is lifted to reach parts that are read; told, with its minutes.
    std::vector<std::string> reached(RepairStep& s, const std::vector<std::string>& list) const {
        std::vector<std::string> over;
        for (const std::string& id : list)
            for (const std::string& l : set.lifted_for(id))
                if (!holds(over, l) && !makes_room(l)) over.push_back(l);
        if (over.empty()) return over;
        std::vector<std::string> under;
        for (const std::string& id : list)
            for (const std::string& l : set.lifted_for(id))
                if (holds(over, l) && !holds(under, id)) under.push_back(id);
        s.does += "; for " + listed(under) + " lift " + listed(over) +
                  " first, each lead tagged with its lug, and put " + (over.size() == 1 ? "it" : "them") + " back";
        s.minutes += static_cast<double>(over.size()) * (set.minutes("lift") + set.minutes("refit"));
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
            if (is_electrolytic(*set.part(id))) drafts.with_plus.insert(s.step);
    }
    /// Read after what lay over it is new, and that step says that it leaves room.
    void wait_for_room(const std::string& id, const std::vector<std::string>& list) {
        for (const std::string& one : list)
            for (const std::string& l : set.lifted_for(one)) {
                if (!makes_room(l) || drafts.waits(drafts.settled_by[l], id)) continue;
                drafts.after(id, drafts.settled_by[l], "access",
                             one + " is reached once " + l + " is new and clear of it");
                RepairStep& over = drafts.step(drafts.settled_by[l]);
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
        return set.minutes("discharge") *
               static_cast<double>(std::count_if(
                   list.begin(), list.end(), [&](const std::string& id) { return is_electrolytic(*set.part(id)); }));
    }
    static constexpr const char* emptied_words = "; then 0 V across each before a hand comes to it";

    std::vector<std::string> leaky_beside(int r) const {
        std::vector<std::string> found;
        for (const Lead& l : set.part(r).leads) {
            if (l.net < 0 || l.net == set.chassis.reference() || l.net == set.chassis.nodes().chassis_metal ||
                l.net == set.chassis.nodes().b_minus)
                continue;
            for (const LeadRef& ref : set.chassis.nets()[at(l.net)].leads) {
                const Part& c = set.part(ref.part);
                const auto now = set.progress.parts.find(c.id);
                const bool settled = now != set.progress.parts.end() &&
                                     (now->second == PartState::fitted || now->second == PartState::proved ||
                                      now->second == PartState::omitted);
                if ((is_paper(c) || is_electrolytic(c)) && !settled) found.push_back(c.id);
            }
        }
        return found;
    }

    // What goes back into its socket at a stage: a new lamp stands in the place of the old from its stage on; a new
    // tube was fitted for its test.
    void put_in(RepairStep& s, const std::vector<std::string>& tubes, const std::string& what) const {
        std::vector<std::string> renewed;
        for (const std::string& id : tubes)
            if (!set.in_a_string() && holds(set.lamps, id) && set.action(id) == "replace") renewed.push_back(id);
        if (!renewed.empty()) s.acts.push_back({K::fit, renewed, "the new one in the place of the old", 0});
        if (!tubes.empty()) s.acts.push_back({K::refit_tube, tubes, what, 0});
    }
    /// H12: a string runs with its lamps in; a dead one has been bought anew.
    std::string lamps_too() const {
        const std::vector<std::string> renewed = set.renewed_lamps();
        return set.lamps.empty() ? "" : " and dial lamps" + (renewed.empty() ? "" : " (" + listed(renewed) + " new)");
    }
    /// The stages of the family, in the words of its supply.
    std::string stages_words() const {
        const std::string end = "; write the volts down";
        if (!set.transformer.empty())
            return "Bring it up by the power-up sheet: heaters, rectifier behind the lamp, larger lamp, full line" +
                   end;
        if (set.from_vehicle)
            return "Vibrator out, tubes in: heaters and lamps; then vibrator and rectifier in, speaker plugged: from a "
                   "supply that limits, then at the battery's full volts; amperes of the A lead at each" +
                   end;
        if (set.from_battery)
            return "Bring it up by its batteries, one at a time: A alone first, volts at each filament; then C where "
                   "it has "
                   "one; B last, a small fuse of the bench in B-minus" +
                   end;
        if (set.direct_line())
            return "Bring it up on direct current, all tubes" + lamps_too() +
                   " in, speaker plugged: behind the lamp, a larger lamp, full "
                   "line; "
                   "the other way round of the plug it stays dead" +
                   end;
        return "Bring it up behind an isolation transformer, all tubes in" + lamps_too() + ", speaker plugged" +
               (set.portable() ? ", batteries out" : "") +
               ": the whole string behind the lamp, a larger lamp, full line" + end;
    }

    void power_steps() {
        std::vector<std::string> first, last;
        std::vector<std::string> all = set.tubes;  // and what goes into a socket that was found empty
        for (const std::string& t : drafts.new_tubes)
            if (!holds(all, t)) all.push_back(t);
        for (const std::string& t : all)
            (set.part(t)->type && set.part(t)->type->is_rectifier() ? last : first).push_back(t);
        first.insert(first.end(), set.lamps.begin(), set.lamps.end());
        if (set.from_vehicle && set.alone_step().empty()) vibrator_step("buy-parts");
        const double heated = set.transformer.empty() && !set.from_vehicle ? 0 : set.minutes("heaters");
        RepairStep& p =
            drafts.add("power-up", stages_words(), heated + (set.from_line() ? 3 : 2) * set.minutes("power-stage"));
        p.place = "bench supply";
        p.reason = "each stage stops before a mistake becomes smoke";
        const std::string string = string_ohms(set);
        const bool unread = !string.empty() && !gaps_of_string(set).empty();
        p.check = set.transformer.empty()
                      ? "every reading that powerup or volts gives inside its band, written down; what "
                        "powerup does not plan it calls not planned"
                      : "every reading of the sheet inside its band, written down";
        if (unread)
            p.check = "before the plug goes in, with all of them in and the switch on: " + string + "; " + p.check;
        if (!set.transformer.empty()) {
            put_in(p, first, "all but the rectifier");
            p.acts.push_back({K::power_heaters, {}, "rectifier out", 8});
            p.acts.push_back({K::discharge, {}, "plug out", 0});
            put_in(p, last, "rectifier");
        } else if (set.from_vehicle) {
            if (!set.vibrators.empty()) p.acts.push_back({K::remove, set.vibrators, "out again, for the heaters", 0});
            put_in(p, first, "all but the rectifier");
            p.acts.push_back({K::power_heaters, {}, "vibrator and rectifier out", 8});
            p.acts.push_back({K::discharge, {}, "supply off", 0});
            if (!set.vibrators.empty()) p.acts.push_back({K::reconnect, set.vibrators, "into its socket", 0});
            put_in(p, last, "rectifier");
        } else {
            first.insert(first.end(), last.begin(), last.end());
            put_in(p, first, set.from_battery ? "all, by their labels" : "all of the string");
            if (set.from_battery) p.acts.push_back({K::power_heaters, {}, "A alone", 8});
        }
        const char* off = set.from_line() ? "plug out" : "supply off";
        p.acts.push_back({K::power_b_plus,
                          {},
                          set.from_vehicle   ? "from a supply that limits"
                          : set.from_battery ? "B last, a small fuse of the bench in B-minus"
                                             : "behind the lamp",
                          10});
        p.acts.push_back({K::discharge, {}, off, 0});
        p.acts.push_back({K::power_full_line, {}, set.from_line() ? "full line" : "full volts", 15});
        p.acts.push_back({K::log_volts, {}, "every pin of the sheet", 0});
        p.acts.push_back({K::discharge, {}, off, 0});
        wait_for_all("power-up");
        if (set.from_vehicle) {
            if (set.alone_step().empty()) wait_for_all("vibrator-alone");
            drafts.after("power-up", "vibrator-alone", "H6",
                         "vibrator and transformer ran without the rectifier first");
        }
        if (set.portable()) {
            RepairStep& b =
                drafts.add("battery-power",
                           "On batteries, the cord out: A alone first, volts at each filament; then B, a small fuse in "
                           "B-minus; write the volts down",
                           2 * set.minutes("power-stage"));
            b.place = "bench supply";
            b.reason =
                "A and B exchanged burn every tube at once; the line worked, so what fails here is a battery, its "
                "cable or the changeover switch";
            b.check = "each filament within a tenth of its volts; B-plus as on the line, within a tenth";
            b.acts = {{K::power_full_line, {}, "A alone, then B last", 10},
                      {K::log_volts, {}, "every filament", 0},
                      {K::discharge, {}, "batteries out", 0}};
            drafts.after("battery-power", "power-up", "list", "the line's volts are right first");
        }
    }

    // The vibrator with its new buffer, rectifier and tubes out.
    void vibrator_step(const std::string& buying) {
        RepairStep& s = drafts.add(
            "vibrator-alone",
            "Rectifier and tubes out: plus and minus at the plug; then the vibrator in" +
                std::string(set.winding_capacitors.empty() ? "" : " with " + listed(set.winding_capacitors)) +
                ", the rectifier still out, from a supply that limits: primary amperes, half an hour, never left",
            3 * set.minutes("power-stage"));
        s.parts = {set.vibrated};
        s.place = "bench supply";
        s.reason =
            "a stuck vibrator or a wrong buffer shows itself while nothing else can be blamed, and before it burns the "
            "winding";
        if (!set.alone_step().empty()) s.reason += "; the transformer is proved before money is spent on the rest";
        s.check = "an even buzz, steady amperes; transformer barely warm";
        std::vector<std::string> renewed, back;
        for (const std::string& id : set.vibrators) {
            const bool bad = set.action(id) == "replace";
            (bad ? renewed : back).push_back(id);
            s.parts.push_back(id);
            drafts.settled_by.emplace(id, bad ? "pull-tubes" : s.step);  // the old one never goes back
            if (const auto it = set.bought.find(id); it != set.bought.end() && bad) s.cost += it->second.cost;
        }
        s.cost = choice::cents(s.cost);
        if (!renewed.empty()) s.acts.push_back({K::fit, renewed, "the new one in the place of the old", 0});
        if (!back.empty()) s.acts.push_back({K::reconnect, back, "into its socket", 0});
        s.acts.push_back({K::power_transformer_alone, {set.vibrated}, "rectifier out, supply limited", 30});
        s.acts.push_back({K::discharge, {}, "supply off", 0});
        if (!renewed.empty()) s.acts.push_back({K::measure, renewed, "its amperes, as written down while it ran", 0});
        drafts.settled_by.emplace(set.vibrated, s.step);
        if (!renewed.empty()) drafts.after("vibrator-alone", buying, "list", "bought before it is fitted");
    }

    // What must be done before a step that feeds the set.
    void wait_for_all(const std::string& power) {
        const bool guarded = std::any_of(drafts.new_tubes.begin(), drafts.new_tubes.end(), [&](const std::string& id) {
            const int socket = set.chassis.part(id);
            return std::count(set.duties.rectifiers.begin(), set.duties.rectifiers.end(), socket) +
                       std::count(set.duties.output_tubes.begin(), set.duties.output_tubes.end(), socket) >
                   0;
        });
        if (guarded)
            drafts.after(power, "new-tubes", "H20", "a new rectifier or output tube is tested like an old one");
        if (set.in_a_string())
            drafts.after(power, "new-tubes", "H12", "the string is fed whole: no socket is left empty");
        if (!guarded && !set.in_a_string())
            drafts.after(power, "new-tubes", "list", "a new tube is tested like an old one");
        drafts.after(power, "test-tubes", "H20", "rectifier and output tube shown free of shorts");
        drafts.after(power, "speaker-continuity", "H21", "continuity through the plug, and the speaker in (H11)");
        drafts.after(power, "trace-polarity", "H23", "every plus traced");
        drafts.after(power, "cold-ohms-all", "H19", "cold ohms inside the band");
        drafts.after(power, "transformer-alone", "H6", "the transformer ran alone first");
        drafts.after(power, "inspect", "H5", "line side sound");
        if (set.earth.forbidden()) drafts.after(power, "earth-off", "H22", "no earth on what the line can reach");
        if (set.live_metal()) drafts.after(power, "reference", "H22", "nothing earthed on what the line can reach");
        drafts.after(power, "clean-sockets", "list", "no track across a socket");
        for (const StepLink& l : drafts.line_fits) drafts.after(power, l.step, l.rule, l.why);
        for (const StepLink& l : drafts.before_power)
            if (l.rule != "list" || !drafts.follows(power, l.step)) drafts.after(power, l.step, l.rule, l.why);
    }

    // What each part that a step settles is wanted for before power.
    void link_to_power() {
        for (const RepairStep& s : drafts.steps)
            for (const std::string& id : s.parts) {
                if (drafts.settled_by.count(id) == 0 || drafts.settled_by[id] != s.step ||
                    s.step == "speaker-continuity" || s.step == "transformer-alone")
                    continue;
                const int i = set.chassis.part(id);
                if (i < 0) continue;
                const Duty d = set.duties.of(i);
                if (d == Duty::output_coupler)
                    drafts.before_power.push_back(
                        {s.step, "H8", "the output coupler is settled before the output tube goes back"});
                const bool supply = d == Duty::first_filter || d == Duty::filter || d == Duty::output_plate_bypass ||
                                    d == Duty::screen_bypass || d == Duty::supply_bypass;
                // the coupler's own rule names it, though its short loads the supply too
                if (d != Duty::output_coupler && (set.duties.guards_rectifier(set.chassis, i) || supply))
                    drafts.before_power.push_back(
                        {s.step, "H7", "filters and papers are settled before the rectifier goes back"});
                else if (d == Duty::output_cathode_resistor || d == Duty::output_grid_leak || d == Duty::bias_feed ||
                         d == Duty::back_bias_resistor || d == Duty::bias_filter)
                    drafts.before_power.push_back(
                        {s.step, "H9", "the bias is measured before the output tube goes back"});
                else if (d != Duty::output_coupler)
                    drafts.before_power.push_back(
                        {s.step, "list", "everything on the list is done before the first power"});
            }
    }

    void closing_steps() {
        // Continuity through the plug.
        std::vector<std::string> through, riding;
        bool plugged = false;
        for (const Part& p : set.chassis.parts()) {
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
            RepairStep& s =
                drafts.add("speaker-continuity",
                           "Plug the speaker; continuity of " + listed(through.empty() ? riding : through) +
                               " from the chassis side of the plug",
                           set.minutes("measure") * static_cast<double>(std::max<std::size_t>(1, through.size())) +
                               set.minutes("log"));
            s.parts = both;
            s.place = "speaker plug";
            bool field = false, primary = false, halves = false, by_plug = false;
            for (const std::string& one : through) {
                const Part& p = *set.part(one);
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
            for (const Part& p : set.chassis.parts())
                if (p.kind == PartKind::plug && p.role == "speaker") plugs.push_back(p.id);
            for (const auto* list : {&through, &riding, &plugs})
                for (const std::string& id : *list)
                    if (drafts.settled_by.count(id))
                        drafts.after("speaker-continuity", drafts.settled_by[id], "H21", "the new one is what is read");
            for (const std::string& id : through) drafts.settled_by.emplace(id, "speaker-continuity");
            for (const std::string& id : riding) drafts.settled_by.emplace(id, "speaker-continuity");
            drafts.after("speaker-continuity", "discharge", "charge", "the plug carries what the filters hold");
            drafts.after("speaker-continuity", "cold-ohms-windings", "list",
                         "the windings are known by themselves first");
        }
        std::vector<std::string> plus;
        for (const Part& p : set.chassis.parts())
            if (is_electrolytic(p) && !set.left_out(p.id)) plus.push_back(p.id);
        if (!plus.empty()) {
            RepairStep& s =
                drafts.add("trace-polarity", "Trace the plus of " + listed(plus) + " to its lug against the list",
                           2 + static_cast<double>(plus.size()));
            s.parts = plus;
            s.place = "whole chassis";
            s.reason = "one that is reversed bursts";
            for (const std::string& id : plus)
                s.check += (s.check.empty() ? "" : "; ") + id + " plus at " + plus_net(set, id);
            s.acts = {{K::trace_polarity, plus, "every electrolytic", 0}};
            for (const std::string& id : drafts.with_plus)
                drafts.after("trace-polarity", id, "H23", "traced after the last of them is fitted");
            drafts.after("trace-polarity", "discharge", "charge", "hands in an empty set");
        }
        RepairStep& cold = drafts.add("cold-ohms-all",
                                      std::string("Cold ohms of each B-plus section to B-minus and chassis, ") +
                                          (!set.transformer.empty() ? "heater windings to chassis"
                                           : set.from_vehicle       ? "the A lead to chassis with the vibrator out"
                                           : set.from_battery ? "A-plus to A-minus with the tubes out, B-plus to A-plus"
                                                              : "each blade to B-minus and chassis") +
                                          ", each grid to its return, by the sheet",
                                      set.minutes("cold-ohms"));
        cold.place = "whole chassis";
        cold.reason = "under half of the solved ohms something is shorted still: do not power";
        cold.check = "each inside its solved band";
        if (!drafts.read_last.empty())
            cold.check += "; with the old capacitors gone, " + listed(drafts.read_last) + " over 1 megohm to the core";
        cold.acts = {{K::cold_ohms, {}, "whole set", 0}};
        for (const std::string& id : drafts.solder)
            drafts.after("cold-ohms-all", id, "H19", "read after the last joint");
        std::vector<std::string> read_first;
        for (const RepairStep& s : drafts.steps)
            if (s.step.rfind("measure-", 0) == 0 && !holds(drafts.solder, s.step)) read_first.push_back(s.step);
        for (const std::string& id : read_first)
            drafts.after("cold-ohms-all", id, "list", "a resistor that drifted is new before the whole is read");
        drafts.after("cold-ohms-all", "discharge", "H19", "ohms are read on an empty set");

        link_to_power();
        power_steps();

        alignment_step();
        RepairStep& soak = drafts.add(
            "soak",
            std::string("Soak: an hour and a half at full ") + (set.from_line() ? "line" : "volts") + ", watched",
            set.minutes("soak"));
        soak.place = "bench supply";
        soak.reason = "silver mica and heat faults show after minutes to hours";
        soak.check = std::string("three voltages again, the same; ") +
                     (!set.transformer.empty() ? "transformer warm, not hot"
                      : set.from_vehicle       ? "amperes steady, the buzz even, transformer warm, not hot"
                      : set.from_battery       ? "A and B steady"
                                               : "what drops the heaters' volts hot, nothing smells");
        soak.acts = {{K::soak, {}, "never left", 90},
                     {K::discharge, {}, set.from_line() ? "plug out" : "supply off", 0}};
        if (drafts.there("alignment"))
            drafts.after("soak", "alignment", "list", "the soak shows whether what was tuned stays tuned");
        else
            drafts.after("soak", set.portable() ? "battery-power" : "power-up", "list",
                         "volts are right before it is left on so long");
        RepairStep& close = drafts.add("reassemble", "Into the cabinet: knobs, back, insulated screws, labels",
                                       set.minutes("hand-back"));
        close.reason = set.from_line() ? "touch current is read on the set as it will be touched"
                                       : "the set is handed back as it will be used";
        close.check = set.from_line() ? "no screw and no shaft carries what the chassis carries"
                                      : "leads clear of every edge, plus and minus marked on the lead";
        close.acts = {{K::reassemble, {}, "", 0}};
        drafts.after("reassemble", "soak", "s14", "soak before reassembly");
        if (set.from_line()) touch_step();
        RepairStep& back = drafts.add("hand-back",
                                      std::string("Hand back with the tag: date, what changed, fuse, lamp type, ") +
                                          (set.from_line() ? "line" : "volts and poles"),
                                      set.minutes("hand-back"));
        back.reason = "the next person at the bench wants to know";
        back.check = "tag inside the cabinet; removed parts in a labelled bag";
        back.acts = {{K::hand_back, {}, "", 0}};
        drafts.after("hand-back", "touch-current", "H15", "touch current before hand-back");
        if (!set.from_line()) drafts.after("hand-back", "reassemble", "list", "it is handed back whole");
    }

    /// The last work on the set; behind it come proofs alone. What is tuned is told by what is there.
    void alignment_step() {
        const auto has_coils = [&](std::initializer_list<const char*> roles) {
            return std::any_of(set.chassis.parts().begin(), set.chassis.parts().end(), [&](const Part& p) {
                return p.kind == PartKind::transformer &&
                       std::any_of(roles.begin(), roles.end(), [&](const char* role) { return p.role == role; });
            });
        };
        if (!has_coils({"if", "rf", "oscillator"})) return;
        const bool between = has_coils({"if"}), oscillates = has_coils({"oscillator"}) || between;
        RepairStep& s =
            drafts.add("alignment",
                       between      ? "Align: intermediate frequency, oscillator, antenna, in that order"
                       : oscillates ? "Align: oscillator, antenna, in that order"
                                    : "Align: the tuned stages on a weak station at the high end of the dial, from "
                                      "the detector's back to the antenna's",
                       (between ? set.minutes("align-if") : 0) + set.minutes("align-rf"));
        s.place = "bench supply";
        s.reason =
            "alignment hides faults that volts show: it is the last work, and the soak then proves that it holds";
        s.check = "most output at each trimmer; dial and stations agree at both ends";
        s.acts = {{K::align, {}, "generator and output meter", 0},
                  {K::discharge, {}, set.from_line() ? "plug out" : "supply off", 0}};
        if (set.live_metal()) {
            s.does +=
                "; generator and output meter are earthed as a rule, and none of their leads goes to the metal or "
                "B-minus: the generator by a loop of wire laid near the antenna coil, the meter across the voice "
                "coil";
            s.check += "; nothing earthed is clipped on";
        }
        drafts.after("alignment", "power-up", "H13", "working volts right and written down");
        drafts.after("alignment", "battery-power", "list", "one supply after the other is right first");
        if (set.live_metal())
            drafts.after("alignment", "reference", "H22", "nothing earthed on what the line can reach");
    }

    void touch_step() {
        RepairStep& touch =
            drafts.add("touch-current", "Touch current in three steps, switch on and off, both ways of the plug",
                       set.minutes("touch-current"));
        touch.reason = "whoever owns it will touch it";
        touch.check = "each touchable part under .5 mA: under .75 V on 1.5 k with .15 uF across";
        touch.acts = {{K::check_touch_current, {}, "cold: blades joined, over 1 megohm", 0},
                      {K::check_touch_current, {}, "47 k 2 W to a known earth: 24 V stops", 0},
                      {K::check_touch_current, {}, "1.5 k with .15 uF: .75 V stops", 0},
                      {K::discharge, {}, "plug out", 0}};
        drafts.after("touch-current", "reassemble", "access", "on the set as it will be touched");
        drafts.after("touch-current", "earth-off", "H15", "an earthed chassis shows no touch current");
    }

    const SetUnderRepair& set;
    Drafts drafts;
    std::set<std::string> again_;
};

}  // namespace

Drafts drafted(const SetUnderRepair& set) {
    return Planner(set).made();
}

}  // namespace tubewright::repair
