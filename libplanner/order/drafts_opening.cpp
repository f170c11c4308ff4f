// SPDX-License-Identifier: MIT
// The first steps of every plan: label, cord, black clip, discharge, pictures, a look at the whole; tubes out and
// tested, their sockets cleaned; lamp leads, the earth as found.
#include <algorithm>

#include "chassis/data.hpp"
#include "chassis/earth.hpp"
#include "choice/figure.hpp"
#include "choice/minutes.hpp"
#include "order/checks.hpp"
#include "order/drafting.hpp"

namespace tubewright::repair {
namespace {

using choice::listed;
using K = ActKind;

void label_step(const SetUnderRepair& set, Drafts& drafts) {
    RepairStep& s = drafts.add(
        "label-check",
        set.from_vehicle   ? "Compare label with the battery or the bench supply: volts, and which pole is on the frame"
        : set.from_battery ? "Compare label with each battery: volts, plus and minus of every lead of the cable"
        : set.portable()   ? "Compare label with the line and with each battery: volts, kind, plus and minus"
        : set.direct_line()       ? "Compare label with the supply: volts of direct current, which blade is plus"
        : set.transformer.empty() ? "Compare label with the supply: volts, alternating or direct current, cycles"
                                  : "Compare label, voltage selector and taps with the supply: volts, cycles, kind",
        set.minutes("label-check"));
    s.check = label_words(set);
    s.reason = "a set on the wrong supply is lost in the first second";
    s.acts = {{K::check_supply, {}, "label against supply", 0}};
}

void cord_step(const SetUnderRepair& set, Drafts& drafts) {
    std::vector<std::string> cords;
    for (const Part& p : set.chassis.parts())
        if (p.kind == PartKind::cord) cords.push_back(p.id);
    RepairStep& s = drafts.add(
        "cord-safe",
        set.from_vehicle   ? "Take the A lead off its battery and tag it: the set is not fed as found"
        : set.from_battery ? "Take the cable off the batteries and tag it: the set is not fed as found"
        : set.portable()   ? "Batteries out; tie up and tag the cord, or cut its plug off: not fed as found"
                           : "Tie up and tag the cord, or cut its plug off: the set is not plugged in as found",
        set.minutes("tag"));
    s.parts = cords;
    s.reason = set.from_vehicle   ? "a stuck vibrator or a shorted buffer draws what the battery gives: tens of amperes"
               : set.from_battery ? "B on the filaments burns every tube at once"
               : !set.transformer.empty() ? "a shorted filter takes the transformer along before anyone has looked"
                                          : "a shorted filter takes the rectifier along before anyone has looked";
    s.check = set.from_line() ? "nobody can plug it in without seeing the tag"
                              : "nobody can connect it without seeing the tag";
    s.acts = {{K::make_cord_safe, cords, "cord unusable or tagged", 0}};
    drafts.after("cord-safe", "label-check", "H0", "the supply is known before anything else");
}

std::string reference_words(const SetUnderRepair& set) {
    const int net = set.chassis.reference();
    return net >= 0 ? set.chassis.nets()[at(net)].name : "not known";
}

void reference_step(const SetUnderRepair& set, Drafts& drafts) {
    RepairStep& s =
        drafts.add("reference", "Settle where the black clip goes: " + reference_words(set), set.minutes("log"));
    const bool named = set.chassis.nodes().chassis_metal >= 0 || set.chassis.nodes().b_minus >= 0;
    const std::vector<std::string> live = line_shorts(set.chassis);
    s.reason = set.chassis.hot()         ? "hot by topology: the metal or B-minus is a line wire, and nothing earthed "
                                           "is clipped on, no earth wire and no earthed instrument"
               : set.chassis.level() < 2 ? "hot or isolated is not known from so little of a trace: taken as hot"
               : !named ? "hot or isolated is not known, no node says which net the metal is: taken as hot, nothing "
                          "earthed is clipped on until ohms from each blade to the metal are read"
               : !live.empty() ? "isolated by topology, but as found the metal is the line by " + listed(live) +
                                     ": nothing earthed is clipped on before it is out"
                               : "isolated by topology";
    s.check = "written on the tag";
    s.acts = {{K::settle_reference, {}, reference_words(set), 0}};
    drafts.after("reference", "cord-safe", "H1", "nothing before the cord is safe");
}

void photographs_step(const SetUnderRepair& set, Drafts& drafts) {
    RepairStep& s =
        drafts.add("photographs", "Photograph top, bottom in quarters, each socket; sketch every connection",
                   set.minutes("photographs"));
    s.reason = "grounding points, lead dress and earlier repairs cannot be recovered afterwards";
    s.check = "every socket pin is legible on a picture";
    s.acts = {{K::photograph, {}, "before the first joint is opened", 0}};
    drafts.after("photographs", "cord-safe", "H1", "nothing before the cord is safe");
}

void look_over_step(const SetUnderRepair& set, Drafts& drafts) {
    // What is on the line side and is not replaced is looked at here; the rest of the chassis for
    // burns, wax and insulation.
    const std::vector<std::string> looked(set.looked_at.begin(), set.looked_at.end());
    RepairStep& s = drafts.add("inspect",
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
                    : set.from_line() ? "tracks across sockets and bare leads put the line where a hand is, and stand "
                                        "in no table"
                                      : "what leaked from batteries and bare leads stand in no table") +
        "; what is found goes on the list, before ohms are judged and anything is bought";
    s.check =
        "char between plate and heater pins, leads on a sharp edge" +
        std::string(set.from_battery || set.portable() ? ", green battery contacts" : ", lamp sockets at the metal") +
        ": noted";
    s.acts = {{K::inspect, looked, "line side, heater and plate leads", 0}};
    drafts.after("inspect", "cord-safe", "H1", "nothing before the cord is safe");
}

void test_tubes_step(const SetUnderRepair& set, Drafts& drafts, const std::vector<std::string>& tubes) {
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

void pull_tubes_step(const SetUnderRepair& set, Drafts& drafts) {
    if (set.tubes.empty()) return;
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
    if (!kept.empty()) test_tubes_step(set, drafts, kept);
}

void clean_sockets_step(const SetUnderRepair& set, Drafts& drafts) {
    std::vector<std::string> sockets;
    for (const auto* list : {&set.duties.rectifiers, &set.duties.output_tubes})
        for (int socket : *list)
            if (set.part(socket).kind == PartKind::socket) sockets.push_back(set.part(socket).id);
    std::sort(sockets.begin(), sockets.end());
    if (sockets.empty()) return;
    RepairStep& s = drafts.add("clean-sockets",
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

std::string lamp_lead_words(const SetUnderRepair& set) {
    if (!set.transformer.empty())
        return "a lamp lead on the metal shorts the heater winding: the commonest of all faults that burn it";
    return set.from_vehicle   ? "a lamp lead on the metal shorts the A lead behind its fuse"
           : set.from_battery ? "a lamp lead on the metal shorts the A battery"
                              : "a lamp lead on the metal bridges a part of the string, or puts the line on the metal";
}

// The leads of the lamps stay on the heater winding when the lamps are pulled.
void lamp_step(const SetUnderRepair& set, Drafts& drafts) {
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
    s.reason = lamp_lead_words(set);
    s.check = "lamp out, leads clear of pan and pulley; freed at its far end, " + live_leads_of(set, lamps) +
              " over 1 megohm to the metal";
    s.acts = {{K::sleeve, lamps, "leads and sockets", 0}, {K::inspect, lamps, "clear of the metal", 0}};
    if (set.in_a_string())
        if (const std::vector<std::string> dead = set.renewed_lamps(); !dead.empty())
            s.acts.insert(s.acts.begin() + 1, {K::fit, dead, "the new one in the place of the old", 0});
    for (const std::string& id : lamps) drafts.settled_by[id] = s.step;
    const bool new_in_string = set.in_a_string() && std::any_of(lamps.begin(), lamps.end(), [&](const std::string& id) {
                                   return set.action(id) == "replace";
                               });
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
    opens_joints(drafts, id);
}

// The earth as found: off before the first power where the line can reach it, and off for the touch current always.
void earth_step(const SetUnderRepair& set, Drafts& drafts) {
    if (!set.earth.on) return;
    const std::string hangs = listed(set.earth.old_capacitors);
    RepairStep& s = drafts.add("earth-off",
                               "Take " + set.earth.name + " off the metal, at its outer end or its screw" +
                                   (set.earth.forbidden() ? ", before the set is powered" : ", for the touch current"),
                               set.minutes("lift"));
    s.parts = set.earth.over;
    s.place = "earth";
    s.reason = set.earth.hot
                   ? "the line reaches the chassis or B-minus: earthed, the metal is the other side of the line"
               : set.earth.forbidden() ? hangs + " alone stands between the line and earthed metal, and is not class Y"
                                       : "on an earthed chassis the touch current reads nothing, whatever leaks";
    s.check = "open from the metal to the earth pin of the house, plug out; " +
              std::string(set.earth.hot ? "it never goes back" : "it goes back only after the touch current is read") +
              (set.earth.hot || hangs.empty() ? "" : ", with " + hangs + " out or class Y");
    s.acts = {{K::lift_earth, set.earth.over, "off the metal", 0}};
    drafts.after("earth-off", "photographs", "H2", "no joint is opened before the pictures");
}

}  // namespace

void opening_steps(const SetUnderRepair& set, Drafts& drafts) {
    label_step(set, drafts);
    cord_step(set, drafts);
    reference_step(set, drafts);
    discharge_step(set, drafts, "discharge", "a filter keeps its charge when nothing bleeds it");
    drafts.after("discharge", "reference", "H3", "the clip goes to the right net");
    photographs_step(set, drafts);
    look_over_step(set, drafts);
    cold_windings_step(set, drafts);
    pull_tubes_step(set, drafts);
    clean_sockets_step(set, drafts);
    drafts.after("reference", "inspect", "list", "eyes come before clips and hands");
    lamp_step(set, drafts);
    earth_step(set, drafts);
    drafts.after("cold-ohms-windings", "inspect", "list", "what is seen decides what is read");
    if (set.earth.forbidden())
        drafts.after("cold-ohms-windings", "earth-off", "H22",
                     "off before an instrument is clipped on, and never back");
}

}  // namespace tubewright::repair
