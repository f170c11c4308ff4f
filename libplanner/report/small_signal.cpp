// SPDX-License-Identifier: MIT
// See small_signal.hpp.
#include "report/small_signal.hpp"

#include <fmt/core.h>

#include "report/bench_words.hpp"

namespace tubewright::report {
namespace {

const Part& part_of(const Chassis& chassis, int part) {
    return chassis.parts()[static_cast<std::size_t>(part)];
}

std::string net_name(const Chassis& chassis, int net) {
    return net < 0 ? std::string() : chassis.nets()[static_cast<std::size_t>(net)].name;
}

Json ids(const Chassis& chassis, const std::vector<int>& parts) {
    Json list = Json::array();
    for (const int part : parts) list.push_back(part_of(chassis, part).id);
    return list;
}

Json stage_row(const Chassis& chassis, const std::string& scenario, const StageGain& stage) {
    return {{"part", part_of(chassis, stage.part).id},
            {"section", stage.section},
            {"scenario", scenario},
            {"from", text_or_null(net_name(chassis, stage.from_net))},
            {"to", text_or_null(net_name(chassis, stage.to_net))},
            {"hertz", stage.hertz > 0 ? number(stage.hertz) : Json()},
            {"gain", number(stage.gain)},
            {"cathode", text_or_null(stage.cathode)},
            {"cathode_gain", number(stage.cathode_gain)},
            {"gm_siemens", number(stage.gm_siemens)},
            {"rp_ohms", number(stage.rp_ohms)},
            {"plate_source_ohms", number(stage.plate_source_ohms)},
            {"source_ohms", number(stage.source_ohms)},
            {"why_not", text_or_null(stage.why_not)}};
}

Json overall_row(const Chassis& chassis, const std::string& scenario, const OverallGain& one) {
    return {{"part", part_of(chassis, one.part).id},
            {"scenario", scenario},
            {"from", text_or_null(net_name(chassis, one.from_net))},
            {"to", text_or_null(net_name(chassis, one.to_net))},
            {"hertz", number(one.hertz)},
            {"gain", number(one.gain)},
            {"why_not", text_or_null(one.why_not)}};
}

Json tuned_row(const Chassis& chassis, const std::string& scenario, const TunedCircuit& tuned) {
    return {{"part", part_of(chassis, tuned.part).id},
            {"coils", Json::array({tuned.coil})},
            {"capacitors", ids(chassis, tuned.capacitors)},
            {"scenario", scenario},
            {"henries", number(tuned.henries)},
            {"farads", number(tuned.farads)},
            {"least_farads", number(tuned.least_farads)},
            {"resonance_hertz", number(tuned.resonance_hertz)},
            {"resonance_high_hertz", number(tuned.resonance_high_hertz)},
            {"solved_hertz", number(tuned.solved_hertz)},
            {"peak_ohms", number(tuned.peak_ohms)},
            {"q", number(tuned.q)},
            {"wanted_henries", number(tuned.wanted_henries)},
            {"why_not", text_or_null(tuned.why_not)}};
}

/// "455 kc", "1.2 Mc", "1,000 c" as the trade has it.
std::string cycles(double hertz) {
    if (hertz >= 1e6) return fmt::format("{:.2f} Mc", hertz / 1e6);
    if (hertz >= 1e4) return fmt::format("{:.0f} kc", hertz / 1e3);
    return fmt::format("{:.0f} c", hertz);
}

std::string ids_of(const Chassis& chassis, const std::vector<int>& parts) {
    std::string text;
    for (const int part : parts) text += (text.empty() ? "" : " ") + part_of(chassis, part).id;
    return text;
}

void gains(Page& page, const Chassis& chassis, const SmallSignal& found) {
    Table table({{"tube"},
                 {"from", Align::left, true},
                 {"to", Align::left, true},
                 {"at", Align::right},
                 {"gain", Align::right},
                 {"cathode", Align::left, true},
                 {"source", Align::right}});
    std::vector<std::string> without;
    bool pairs = false;
    for (const StageGain& stage : found.stages) {
        const Part& socket = part_of(chassis, stage.part);
        if (!stage.gain) {
            without.push_back(socket.id + " " + socket.tube.str() + " (" + stage.section + "): " + stage.why_not + ".");
            continue;
        }
        const int other = stage.against_net;
        pairs = pairs || other >= 0;
        table.row({socket.id + " " + socket.tube.str(),
                   net_name(chassis, stage.from_net) + (other < 0 ? "" : " against " + net_name(chassis, other)),
                   net_name(chassis, stage.to_net), cycles(stage.hertz), two_figures(*stage.gain), stage.cathode,
                   stage.source_ohms ? say(ohms(*stage.source_ohms)) : "-"});
    }
    for (const OverallGain& one : found.overall)
        if (one.gain)
            table.row({part_of(chassis, one.part).id, net_name(chassis, one.from_net), net_name(chassis, one.to_net),
                       cycles(one.hertz), two_figures(*one.gain), "", ""});
    if (table.empty() && without.empty()) return;
    page.heading("gain of each stage as it stands, at small signal");
    if (!table.empty()) {
        page.table(table);
        page.paragraph(
            "Volts for a volt held at the grid (of a control: at its wiper); a minus turns the signal over. "
            "\"Source\": "
            "the ohms that the next stage looks into.");
        if (pairs)
            page.paragraph(
                "\"Against\": of a push-pull pair, both grids driven by as much, one up and the other down.");
    }
    for (const std::string& why : without) page.point(why);
}

void circuits(Page& page, const Chassis& chassis, const SmallSignal& found) {
    if (found.tuned.empty()) return;
    page.heading("tuned circuits");
    Table table({{"coil", Align::left, true},
                 {"tuned by", Align::left, true},
                 {"across it", Align::right},
                 {"rings at", Align::right},
                 {"Q at most", Align::right}});
    bool wanted = false;
    for (const TunedCircuit& tuned : found.tuned) {
        std::string across = tuned.farads ? say(farads(*tuned.farads)) : "-", rings = "not computed";
        if (tuned.least_farads) across = say(farads(*tuned.least_farads)) + " to " + across;
        if (tuned.resonance_hertz) rings = cycles(*tuned.resonance_hertz);
        if (tuned.resonance_high_hertz) rings += " to " + cycles(*tuned.resonance_high_hertz);
        if (tuned.wanted_henries) rings = "if of " + say(henries(*tuned.wanted_henries)), wanted = true;
        table.row(
            {tuned.coil, ids_of(chassis, tuned.capacitors), across, rings, tuned.q ? two_figures(*tuned.q) : "-"});
    }
    page.table(table);
    std::string note = "By the values of the file; wiring and tubes add some tens of mmf.";
    if (wanted) note += " \"If of\": the henries that it takes to ring at the kilocycles that the file states.";
    page.paragraph(note);
    const bool missing = std::any_of(found.tuned.begin(), found.tuned.end(),
                                     [](const TunedCircuit& tuned) { return !tuned.resonance_hertz; });
    if (missing) page.point("Not computed: the file gives no henries for the coil.");
}

}  // namespace

void small_signal_json(Json& json, const Chassis& chassis, const Outcome<SmallSignal>& found) {
    Json stages = Json::array(), overall = Json::array(), tuned = Json::array();
    if (found) {
        const std::string scenario = found->condition.text();
        for (const StageGain& one : found->stages) stages.push_back(stage_row(chassis, scenario, one));
        for (const OverallGain& one : found->overall) overall.push_back(overall_row(chassis, scenario, one));
        for (const TunedCircuit& one : found->tuned) tuned.push_back(tuned_row(chassis, scenario, one));
    }
    json["stages"] = std::move(stages);
    json["overall_gains"] = std::move(overall);
    json["tuned"] = std::move(tuned);
}

void small_signal_tables(Page& page, const Chassis& chassis, const SmallSignal& found) {
    gains(page, chassis, found);
    circuits(page, chassis, found);
}

}  // namespace tubewright::report
