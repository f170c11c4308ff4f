// SPDX-License-Identifier: MIT
// From the last reading without power to the hand-back: speaker, polarity and cold ohms of the whole, the power-up and
// all that it waits for, alignment, soak, cabinet, touch current.
#include <algorithm>

#include "choice/figure.hpp"
#include "order/checks.hpp"
#include "order/drafting.hpp"

namespace tubewright::repair {
namespace {

using choice::listed;
using K = ActKind;

/// Continuity through the plug.
void speaker_step(const SetUnderRepair& set, Drafts& drafts) {
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
    if (through.empty() && !plugged) return;
    std::vector<std::string> both = through;
    for (const std::string& id : riding)
        if (!holds(both, id)) both.push_back(id);
    RepairStep& s = drafts.add(
        "speaker-continuity",
        "Plug the speaker; continuity of " + listed(through.empty() ? riding : through) +
            " from the chassis side of the plug",
        set.minutes("measure") * static_cast<double>(std::max<std::size_t>(1, through.size())) + set.minutes("log"));
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
        s.reason += std::string(field ? "; " : "") + "an open output primary leaves the screen to take the current";
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
    drafts.after("speaker-continuity", "cold-ohms-windings", "list", "the windings are known by themselves first");
}

void polarity_step(const SetUnderRepair& set, Drafts& drafts) {
    std::vector<std::string> plus;
    for (const Part& p : set.chassis.parts())
        if (is_electrolytic(p) && !set.left_out(p.id)) plus.push_back(p.id);
    if (plus.empty()) return;
    RepairStep& s = drafts.add("trace-polarity", "Trace the plus of " + listed(plus) + " to its lug against the list",
                               2 + static_cast<double>(plus.size()));
    s.parts = plus;
    s.place = "whole chassis";
    s.reason = "one that is reversed bursts";
    for (const std::string& id : plus) s.check += (s.check.empty() ? "" : "; ") + id + " plus at " + plus_net(set, id);
    s.acts = {{K::trace_polarity, plus, "every electrolytic", 0}};
    for (const std::string& id : drafts.with_plus)
        drafts.after("trace-polarity", id, "H23", "traced after the last of them is fitted");
    drafts.after("trace-polarity", "discharge", "charge", "hands in an empty set");
}

void cold_ohms_step(const SetUnderRepair& set, Drafts& drafts) {
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
    for (const std::string& id : drafts.solder) drafts.after("cold-ohms-all", id, "H19", "read after the last joint");
    std::vector<std::string> read_first;
    for (const RepairStep& s : drafts.steps)
        if (s.step.rfind("measure-", 0) == 0 && !holds(drafts.solder, s.step)) read_first.push_back(s.step);
    for (const std::string& id : read_first)
        drafts.after("cold-ohms-all", id, "list", "a resistor that drifted is new before the whole is read");
    drafts.after("cold-ohms-all", "discharge", "H19", "ohms are read on an empty set");
}

// What each part that a step settles is wanted for before power.
void link_to_power(const SetUnderRepair& set, Drafts& drafts) {
    for (const RepairStep& s : drafts.steps)
        for (const std::string& id : s.parts) {
            if (drafts.settled_by.count(id) == 0 || drafts.settled_by[id] != s.step || s.step == "speaker-continuity" ||
                s.step == "transformer-alone")
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
                drafts.before_power.push_back({s.step, "H9", "the bias is measured before the output tube goes back"});
            else if (d != Duty::output_coupler)
                drafts.before_power.push_back(
                    {s.step, "list", "everything on the list is done before the first power"});
        }
}

// What goes back into its socket at a stage: a new lamp stands in the place of the old from its stage on; a new
// tube was fitted for its test.
void put_in(const SetUnderRepair& set, RepairStep& s, const std::vector<std::string>& tubes, const std::string& what) {
    std::vector<std::string> renewed;
    for (const std::string& id : tubes)
        if (!set.in_a_string() && holds(set.lamps, id) && set.action(id) == "replace") renewed.push_back(id);
    if (!renewed.empty()) s.acts.push_back({K::fit, renewed, "the new one in the place of the old", 0});
    if (!tubes.empty()) s.acts.push_back({K::refit_tube, tubes, what, 0});
}

/// H12: a string runs with its lamps in; a dead one has been bought anew.
std::string lamps_too(const SetUnderRepair& set) {
    const std::vector<std::string> renewed = set.renewed_lamps();
    return set.lamps.empty() ? "" : " and dial lamps" + (renewed.empty() ? "" : " (" + listed(renewed) + " new)");
}

/// The stages of the family, in the words of its supply.
std::string stages_words(const SetUnderRepair& set) {
    const std::string end = "; write the volts down";
    if (!set.transformer.empty())
        return "Bring it up by the power-up sheet: heaters, rectifier behind the lamp, larger lamp, full line" + end;
    if (set.from_vehicle)
        return "Vibrator out, tubes in: heaters and lamps; then vibrator and rectifier in, speaker plugged: from a "
               "supply that limits, then at the battery's full volts; amperes of the A lead at each" +
               end;
    if (set.from_battery)
        return "Bring it up by its batteries, one at a time: A alone first, volts at each filament; then C where it "
               "has "
               "one; B last, a small fuse of the bench in B-minus" +
               end;
    if (set.direct_line())
        return "Bring it up on direct current, all tubes" + lamps_too(set) +
               " in, speaker plugged: behind the lamp, a larger lamp, full "
               "line; the other way round of the plug it stays dead" +
               end;
    return "Bring it up behind an isolation transformer, all tubes in" + lamps_too(set) + ", speaker plugged" +
           (set.portable() ? ", batteries out" : "") + ": the whole string behind the lamp, a larger lamp, full line" +
           end;
}

void power_steps(const SetUnderRepair& set, Drafts& drafts) {
    std::vector<std::string> first, last;
    std::vector<std::string> all = set.tubes;  // and what goes into a socket that was found empty
    for (const std::string& t : drafts.new_tubes)
        if (!holds(all, t)) all.push_back(t);
    for (const std::string& t : all)
        (set.part(t)->type && set.part(t)->type->is_rectifier() ? last : first).push_back(t);
    first.insert(first.end(), set.lamps.begin(), set.lamps.end());
    if (set.from_vehicle && set.alone_step().empty()) vibrator_step(set, drafts, "buy-parts");
    const double heated = set.transformer.empty() && !set.from_vehicle ? 0 : set.minutes("heaters");
    RepairStep& p =
        drafts.add("power-up", stages_words(set), heated + (set.from_line() ? 3 : 2) * set.minutes("power-stage"));
    p.place = "bench supply";
    p.reason = "each stage stops before a mistake becomes smoke";
    const std::string string = string_ohms(set);
    const bool unread = !string.empty() && !gaps_of_string(set).empty();
    p.check = set.transformer.empty() ? "every reading that powerup or volts gives inside its band, written down; what "
                                        "powerup does not plan it calls not planned"
                                      : "every reading of the sheet inside its band, written down";
    if (unread) p.check = "before the plug goes in, with all of them in and the switch on: " + string + "; " + p.check;
    if (!set.transformer.empty()) {
        put_in(set, p, first, "all but the rectifier");
        p.acts.push_back({K::power_heaters, {}, "rectifier out", 8});
        p.acts.push_back({K::discharge, {}, "plug out", 0});
        put_in(set, p, last, "rectifier");
    } else if (set.from_vehicle) {
        if (!set.vibrators.empty()) p.acts.push_back({K::remove, set.vibrators, "out again, for the heaters", 0});
        put_in(set, p, first, "all but the rectifier");
        p.acts.push_back({K::power_heaters, {}, "vibrator and rectifier out", 8});
        p.acts.push_back({K::discharge, {}, "supply off", 0});
        if (!set.vibrators.empty()) p.acts.push_back({K::reconnect, set.vibrators, "into its socket", 0});
        put_in(set, p, last, "rectifier");
    } else {
        first.insert(first.end(), last.begin(), last.end());
        put_in(set, p, first, set.from_battery ? "all, by their labels" : "all of the string");
        if (set.from_battery) p.acts.push_back({K::power_heaters, {}, "A alone", 8});
    }
    const char* off = set.switched_off();
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
    wait_for_all(set, drafts, "power-up");
    if (set.from_vehicle) {
        if (set.alone_step().empty()) wait_for_all(set, drafts, "vibrator-alone");
        drafts.after("power-up", "vibrator-alone", "H6", "vibrator and transformer ran without the rectifier first");
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

/// The last work on the set; behind it come proofs alone. What is tuned is told by what is there.
void alignment_step(const SetUnderRepair& set, Drafts& drafts) {
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
    s.reason = "alignment hides faults that volts show: it is the last work, and the soak then proves that it holds";
    s.check = "most output at each trimmer; dial and stations agree at both ends";
    s.acts = {{K::align, {}, "generator and output meter", 0}, {K::discharge, {}, set.switched_off(), 0}};
    if (set.live_metal()) {
        s.does +=
            "; generator and output meter are earthed as a rule, and none of their leads goes to the metal or "
            "B-minus: the generator by a loop of wire laid near the antenna coil, the meter across the voice "
            "coil";
        s.check += "; nothing earthed is clipped on";
    }
    drafts.after("alignment", "power-up", "H13", "working volts right and written down");
    drafts.after("alignment", "battery-power", "list", "one supply after the other is right first");
    if (set.live_metal()) drafts.after("alignment", "reference", "H22", "nothing earthed on what the line can reach");
}

void soak_step(const SetUnderRepair& set, Drafts& drafts) {
    RepairStep& soak = drafts.add(
        "soak", std::string("Soak: an hour and a half at full ") + (set.from_line() ? "line" : "volts") + ", watched",
        set.minutes("soak"));
    soak.place = "bench supply";
    soak.reason = "silver mica and heat faults show after minutes to hours";
    soak.check = std::string("three voltages again, the same; ") +
                 (!set.transformer.empty() ? "transformer warm, not hot"
                  : set.from_vehicle       ? "amperes steady, the buzz even, transformer warm, not hot"
                  : set.from_battery       ? "A and B steady"
                                           : "what drops the heaters' volts hot, nothing smells");
    soak.acts = {{K::soak, {}, "never left", 90}, {K::discharge, {}, set.switched_off(), 0}};
    if (drafts.there("alignment"))
        drafts.after("soak", "alignment", "list", "the soak shows whether what was tuned stays tuned");
    else
        drafts.after("soak", set.portable() ? "battery-power" : "power-up", "list",
                     "volts are right before it is left on so long");
}

void reassemble_step(const SetUnderRepair& set, Drafts& drafts) {
    RepairStep& close =
        drafts.add("reassemble", "Into the cabinet: knobs, back, insulated screws, labels", set.minutes("hand-back"));
    close.reason = set.from_line() ? "touch current is read on the set as it will be touched"
                                   : "the set is handed back as it will be used";
    close.check = set.from_line() ? "no screw and no shaft carries what the chassis carries"
                                  : "leads clear of every edge, plus and minus marked on the lead";
    close.acts = {{K::reassemble, {}, "", 0}};
    drafts.after("reassemble", "soak", "s14", "soak before reassembly");
}

void touch_step(const SetUnderRepair& set, Drafts& drafts) {
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

void hand_back_step(const SetUnderRepair& set, Drafts& drafts) {
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

}  // namespace

void wait_for_all(const SetUnderRepair& set, Drafts& drafts, const std::string& power) {
    const bool guarded = std::any_of(drafts.new_tubes.begin(), drafts.new_tubes.end(), [&](const std::string& id) {
        const int socket = set.chassis.part(id);
        return std::count(set.duties.rectifiers.begin(), set.duties.rectifiers.end(), socket) +
                   std::count(set.duties.output_tubes.begin(), set.duties.output_tubes.end(), socket) >
               0;
    });
    if (guarded) drafts.after(power, "new-tubes", "H20", "a new rectifier or output tube is tested like an old one");
    if (set.in_a_string()) drafts.after(power, "new-tubes", "H12", "the string is fed whole: no socket is left empty");
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

void closing_steps(const SetUnderRepair& set, Drafts& drafts) {
    speaker_step(set, drafts);
    polarity_step(set, drafts);
    cold_ohms_step(set, drafts);
    link_to_power(set, drafts);
    power_steps(set, drafts);
    alignment_step(set, drafts);
    soak_step(set, drafts);
    reassemble_step(set, drafts);
    if (set.from_line()) touch_step(set, drafts);
    hand_back_step(set, drafts);
}

}  // namespace tubewright::repair
