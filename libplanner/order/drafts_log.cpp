// SPDX-License-Identifier: MIT
// Steps that the log asks for beside the list: what is out goes back, what reads wrong is found and shown right, what
// is open is closed first.
#include <algorithm>
#include <array>
#include <map>

#include "choice/figure.hpp"
#include "order/drafting.hpp"

namespace tubewright::repair {
namespace {

using choice::listed;
using K = ActKind;

/// A step that is planned leaves the part in: a new one, or the old one back.
bool puts_back(const Drafts& drafts, const std::string& id) {
    return std::any_of(drafts.steps.begin(), drafts.steps.end(), [&](const RepairStep& s) {
        return std::any_of(s.acts.begin(), s.acts.end(), [&](const Act& act) {
            return (act.kind == K::fit || act.kind == K::reconnect) && holds(act.parts, id);
        });
    });
}

std::string reads_right(const std::string& rule) {
    return rule == "H19"   ? "the ohms inside their band"
           : rule == "H6"  ? "each winding inside its stop, halves of the plate winding within 3 %"
           : rule == "H15" ? "the touch current under its limit"
                           : "the volts inside their band";
}

/// Parts with a lead there: what can short or load it first.
std::vector<std::string> hanging_on(const SetUnderRepair& set, const std::string& place) {
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

std::string find_step(const SetUnderRepair& set, Drafts& drafts, const std::string& rule, const std::string& numbers,
                      const std::vector<std::string>& at) {
    const std::string id = "find-" + rule;
    std::vector<std::string> suspects;
    for (const std::string& place : at)
        for (const std::string& part_there : hanging_on(set, place))
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
    opens_joints(drafts, id);
    return id;
}

/// The volts of a set that was brought up, once more, from behind the lamp where one read wrong.
std::string write_volts(const SetUnderRepair& set, Drafts& drafts, const std::string& numbers, bool missing) {
    const std::string id = "write-volts", lamp = set.from_line() ? "behind the lamp" : "from a supply that limits",
                      full = set.from_line() ? "full line" : "full volts", off = set.switched_off();
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
    wait_for_all(set, drafts, id);
    drafts.after(id, "power-up", "list", "the set was brought up");
    drafts.after(id, "battery-power", "list", "one supply after the other is right first");
    return id;
}

}  // namespace

void put_back_steps(const SetUnderRepair& set, Drafts& drafts) {
    std::vector<int> waiting;
    for (const auto& [id, state] : set.progress.parts) {
        const Part* p = set.part(id);
        if (p && set.out(id) && !puts_back(drafts, id) && !plugs_in(*p)) waiting.push_back(set.chassis.part(id));
    }
    for (const std::vector<int>& group : set.grouped(waiting)) {
        const std::vector<std::string> list = set.ids(group);
        const std::string id = "put-back-" + joined(list);
        RepairStep& s = drafts.add(id, set.place_of(group.front()) + ": put " + listed(list) + " back, out by the log",
                                   static_cast<double>(list.size()) * set.minutes("refit"));
        drafts.at_place.insert(id);
        s.parts = list;
        s.place = set.place_of(group.front());
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
        opens_joints(drafts, id);
        if (!drafts.waits(id, set.alone_step()))
            drafts.after(set.alone_step(), id, "H17", "nothing lifted or removed is left out");
    }
}

void doubted_steps(const SetUnderRepair& set, Drafts& drafts) {
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
        if (rule == "H13") anew = {write_volts(set, drafts, numbers, at.empty())};
        if (!at.empty()) anew.insert(anew.begin(), find_step(set, drafts, rule, numbers, at));
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
                    drafts.after(*step, anew[k], rule, "what a reading speaks against is found and shown right first");
        }
    }
}

void tubes_back(const SetUnderRepair& set, Drafts& drafts) {
    std::vector<std::string> out;
    for (const auto& [id, state] : set.progress.parts) {
        const Part* p = set.part(id);
        const bool goes_in = std::any_of(drafts.steps.begin(), drafts.steps.end(), [&, name = id](const RepairStep& s) {
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

void open_ends_first(const SetUnderRepair& set, Drafts& drafts) {
    std::vector<std::string> open, all;
    for (const RepairStep& s : drafts.steps) {
        all.push_back(s.step);
        if (due(set, s) && !feeds(s)) open.push_back(s.step);
    }
    for (const std::string& closing : open)
        for (const std::string& other : all)
            if (!holds(open, other) && !drafts.waits(closing, other) && !drafts.waits(other, closing))
                drafts.after(other, closing, "s16", "what is open by the log is closed and checked before the next");
}

}  // namespace tubewright::repair
