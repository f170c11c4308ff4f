// SPDX-License-Identifier: MIT
// `powerup`: cold ohms, then a card a stage (gate, connect, remove, what to read and where to stop, what a wrong
// reading means), the lamp table and the discharge. Every card that leads near voltage carries its cautions. Tests:
// tests/report/answers_test.cpp.
#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>

#include "policy/policy.hpp"
#include "report/bench_words.hpp"
#include "report/envelope.hpp"

namespace tubewright {
namespace {

using namespace report;

/// Unit word for people and key ending for JSON.
struct UnitWords {
    const char* trade;
    const char* key;
};
UnitWords unit_of(const std::string& quantity) {
    if (quantity == "volts ac") return {"V ac", "volts_rms"};
    if (quantity.find("volts") != std::string::npos) return {"V dc", "volts"};
    if (quantity.find("ohm") != std::string::npos) return {"ohm", "ohms"};
    if (quantity.find("amp") != std::string::npos) return {"A", "amps"};
    if (quantity.find("watt") != std::string::npos) return {"W", "watts"};
    if (quantity.find("second") != std::string::npos) return {"s", "seconds"};
    return {"", "value"};
}

/// A figure in its unit with the prefix that the trade uses.
std::string said(double value, const std::string& quantity) {
    const UnitWords unit = unit_of(quantity);
    const std::string key = unit.key;
    if (key == "ohms") return say(ohms(value));
    if (key == "amps") return say(amps(value));
    if (key == "seconds") return say(seconds(value));
    return in_band(value, value, value) + " " + unit.trade;
}

std::string band_of(const StageReading& reading) {
    if (reading.quantity == "ohms" && reading.high >= 1e9)
        return "open (over " + said(reading.low, reading.quantity) + ")";
    if (reading.quantity == "ohms" && reading.high < 1) return "under 1 ohm, less the leads";
    if (!(reading.high > reading.low)) return said(reading.expect, reading.quantity);
    const std::string key = unit_of(reading.quantity).key;
    if (key == "ohms" || key == "amps" || key == "seconds")
        return said(reading.expect, reading.quantity) + " (" + said(reading.low, reading.quantity) + " to " +
               said(reading.high, reading.quantity) + ")";
    return in_band(reading.expect, reading.low, reading.high) + " " + unit_of(reading.quantity).trade + " (" +
           in_band(reading.low, reading.low, reading.high) + " to " + in_band(reading.high, reading.low, reading.high) +
           ")";
}

/// "V1 pin 2: the tube draws too little" without the pin, which stands in the list of readings.
std::string without_pin(const std::string& text) {
    const std::size_t colon = text.find(": ");
    if (colon == std::string::npos) return text;
    const std::string head = text.substr(0, colon);
    return head.find(" pin ") != std::string::npos && head.size() < 16 ? text.substr(colon + 2) : text;
}

/// What the sheet has told already: a rule, a meaning, what to do at a stop stands in full once.
struct Told {
    std::map<std::string, int> meanings, gates;  ///< by text: the stage that has it in full
    std::set<std::string> at_stop;
    int stage = 0;
    bool all = false;  ///< everything in full, every time
    /// The stage that told it before; 0: nobody did, and this one has it now.
    int before(std::map<std::string, int>& of, const std::string& text) const {
        const auto [known, fresh] = of.emplace(text, stage);
        return fresh || all || known->second == stage ? 0 : known->second;
    }
};

/// What a wrong reading means; readings that mean the same stand together, and what was told before is not told again.
void meanings(Page& page, const std::vector<StageReading>& readings, Told& told) {
    std::vector<std::pair<std::string, std::string>> said;  // meaning with its side, readings
    const auto add = [&](const StageReading& reading, const char* side, const std::string& meaning) {
        if (meaning.empty()) return;
        const std::string key = std::string(side) + ": " + without_pin(meaning);
        const bool twice = std::count_if(readings.begin(), readings.end(), [&](const StageReading& other) {
                               return other.at == reading.at && other.to == reading.to;
                           }) > 1;
        const std::string name =
            reading.at + (twice ? std::string(" ") + unit_of(reading.quantity).trade : std::string());
        const auto same = std::find_if(said.begin(), said.end(), [&](const auto& one) { return one.first == key; });
        if (same == said.end()) {
            said.emplace_back(key, name);
        } else if (same->second != name && !same->second.ends_with(", " + name) &&
                   !same->second.starts_with(name + ",")) {
            same->second += ", " + name;
        }
    };
    for (const StageReading& reading : readings) {
        add(reading, "low", reading.if_low);
        add(reading, "high", reading.if_high);
    }
    std::map<int, std::vector<std::string>> elsewhere;  // stage that has the meaning, readings
    for (const auto& [meaning, who] : said) {
        const int stage = told.before(told.meanings, meaning);
        if (stage == 0)
            page.point(who + " " + meaning, 2);
        else if (std::vector<std::string>& list = elsewhere[stage];
                 std::find(list.begin(), list.end(), who) == list.end())
            list.push_back(who);
    }
    for (const auto& [stage, readings_there] : elsewhere) {
        std::string text;
        for (const std::string& who : readings_there) text += (text.empty() ? "" : ", ") + who;
        page.point(text + " off: what it means stands in stage " + std::to_string(stage), 2);
    }
}

std::string stop_of(const StageReading& reading) {
    std::string text;
    // Ohms stop a person when they are too few.
    if (reading.quantity == "ohms") return reading.stop ? "under " + said(*reading.stop, reading.quantity) : "-";
    const auto plain = [&](double v) {
        const std::string whole = said(v, reading.quantity);
        const std::string unit = std::string(" ") + unit_of(reading.quantity).trade;
        return whole.ends_with(unit) ? whole.substr(0, whole.size() - unit.size()) : whole;
    };
    if (reading.stop_below) text = "under " + plain(*reading.stop_below);
    if (reading.stop) text += (text.empty() ? "over " : ", over ") + plain(*reading.stop);
    return text.empty() ? "-" : text;
}

/// Volts that the meter's range does not show.
void off_scale(Page& page, const std::vector<StageReading>& readings, const Meter& meter, Told& told) {
    std::string over;
    for (const StageReading& reading : readings)
        if (!reading.says_nothing && reading.quantity.find("volts") != std::string::npos &&
            past_range(meter, reading.expect))
            over += (over.empty() ? "" : ", ") + reading.at;
    if (over.empty()) return;
    const std::string words = off_scale_words(meter);
    const int stage = told.before(told.meanings, words);
    page.point("OFF SCALE, " + over + ": " +
               (stage == 0 ? words : "what to do stands in stage " + std::to_string(stage) + "."));
}

/// Readings of one moment stand together: before the tubes are warm, another figure is right.
void readings_table(Page& page, const std::vector<StageReading>& readings, Told& told) {
    std::vector<std::string> moments;
    for (const StageReading& reading : readings)
        if (std::find(moments.begin(), moments.end(), reading.when) == moments.end()) moments.push_back(reading.when);
    std::stable_sort(moments.begin(), moments.end(), [](const std::string& a, const std::string& b) {
        const auto early = [](const std::string& when) { return when.find("first") != std::string::npos; };
        return early(a) && !early(b);
    });
    for (const std::string& moment : moments) {
        std::vector<StageReading> now;
        for (const StageReading& reading : readings)
            if (reading.when == moment) now.push_back(reading);
        if (!moment.empty()) page.paragraph(moment + ":", 2);
        Table table(
            {{""}, {"at", Align::left, true}, {"black clip"}, {"expect", Align::right}, {"STOP", Align::right, true}});
        for (const StageReading& reading : now)
            table.row({"[ ]", reading.at, reading.to.empty() ? "-" : reading.to,
                       reading.says_nothing ? std::string("says nothing yet") : band_of(reading), stop_of(reading)});
        page.table(table);
        meanings(page, now, told);
    }
}

/// The cautions stand in full at the head of the sheet; a card repeats the three words of the bench and how each
/// begins.
std::string first_sentence(const std::string& text) {
    const std::size_t stop = text.find(". ");
    return stop == std::string::npos ? text : text.substr(0, stop + 1);
}

/// Boxes to sign without a log; with one, what it proves and what it does not.
void gate_lines(Page& page, const Gate& gate, Told& told) {
    if (gate.state == "passed") page.paragraph("passed, by the log", 2);
    if (gate.state != "passed" && !gate.after.empty()) {
        std::string stages;
        for (const int stage : gate.after) stages += fmt::format("{}{}", stages.empty() ? "" : ", ", stage);
        page.paragraph(fmt::format("not yet: stage{} {} before it {} not passed by the log",
                                   gate.after.size() == 1 ? "" : "s", stages, gate.after.size() == 1 ? "is" : "are"),
                       2, 2);
    }
    if (gate.opened_by.empty()) return;
    page.paragraph(gate.state == "shut"     ? "STOP, the gate is shut until:"
                   : gate.state == "passed" ? "but not to be powered again as it stands:"
                   : gate.state == "open"   ? (gate.after.empty() ? "gate open:" : "its own gate is open:")
                                            : "sign before you go on:",
                   2);
    std::string again, lacks;
    for (std::size_t k = 0; k < gate.opened_by.size(); ++k) {
        const bool known = k < gate.proof.size();
        const std::string whole = gate.opened_by[k] + (known ? "\n" + gate.proof[k].words : std::string());
        if (const int stage = told.before(told.gates, whole); stage > 0) {
            const std::string rule = gate.opened_by[k].substr(0, gate.opened_by[k].find(':'));
            std::string& list = known && !gate.proof[k].holds ? lacks : again;
            list += fmt::format("{}{} (stage {})", list.empty() ? "" : ", ", rule, stage);
            continue;
        }
        page.paragraph((known && gate.proof[k].holds ? "[x] " : "[ ] ") + gate.opened_by[k], 4, 4);
        if (known) page.paragraph((gate.proof[k].holds ? "" : "NOT PROVED: ") + gate.proof[k].words, 8, 2);
    }
    if (!lacks.empty()) page.paragraph("[ ] NOT PROVED still: " + lacks, 4, 4);
    if (!again.empty())
        page.paragraph((gate.proof.empty() ? "[ ] still so, as signed: " : "[x] as before: ") + again, 4, 4);
}

/// What the stage holds is not told: the log has not passed a gate.
bool withheld(const PowerStage& stage) {
    return stage.gate.shut_at > 0;
}
void withheld_words(Page& page, const PowerStage& stage) {
    page.paragraph(
        stage.gate.shut_at == stage.stage
            ? "What this stage connects and reads is not printed while its gate is shut; --override RULE=why "
              "opens it, and is kept."
            : fmt::format("Not printed: the gate of stage {} is shut.", stage.gate.shut_at),
        2);
}

/// Cautions of this stage beyond those that stand in full at the head for all of them.
std::string own_cautions(const Study& study, const PowerStage& stage) {
    static constexpr std::array general{"b-plus", "one-hand", "alone",      "unattended",    "isolation",
                                        "lamp",   "charge",   "local-code", "vibrator-volts"};
    std::string text;
    for (const std::string& one : stage.cautions) {
        const auto& list = study.catalogue().cautions();
        const auto row = std::find_if(list.begin(), list.end(), [&](const Caution& c) { return c.text == one; });
        const bool of_all = row != list.end() && std::find(general.begin(), general.end(), row->topic) != general.end();
        if (!of_all) text += " " + first_sentence(one);
    }
    return text;
}

/// One row a lamp: what the set and the lamp have, healthy and under each fault.
void lamp_rows(Page& page, const std::vector<LampGlow>& table) {
    page.heading("what a series lamp shows");
    std::vector<std::string> states;
    for (const LampGlow& glow : table)
        if (std::find(states.begin(), states.end(), glow.state) == states.end()) states.push_back(glow.state);
    for (std::size_t k = 1; k < states.size(); ++k)
        page.point(fmt::format("{}: {}", static_cast<char>('A' + k - 1), states[k]));
    std::vector<Column> columns{{"lamp", Align::right}, {"B-plus", Align::right}, {"healthy"}};
    for (std::size_t k = 1; k < states.size(); ++k) columns.push_back({std::string(1, static_cast<char>('A' + k - 1))});
    Table rows(columns);
    std::vector<double> sizes;
    for (const LampGlow& glow : table)
        if (std::find(sizes.begin(), sizes.end(), glow.lamp_watts) == sizes.end()) sizes.push_back(glow.lamp_watts);
    for (const double size : sizes) {
        std::vector<std::string> row{say(watts(size)), "", ""};
        row.resize(states.size() + 2, "-");
        for (const LampGlow& glow : table) {
            if (glow.lamp_watts != size) continue;
            const auto k =
                static_cast<std::size_t>(std::find(states.begin(), states.end(), glow.state) - states.begin());
            row[k + 2] = fmt::format("{}+{} {}", two_figures(glow.set_volts), two_figures(glow.lamp_volts), glow.glow);
            if (k == 0) row[1] = glow.meaningful ? two_figures(glow.b_plus_volts) + " V" : "nothing";
        }
        rows.row(row);
    }
    page.table(rows);
    page.paragraph(
        "Volts of the set + volts of the lamp, and its glow. B-plus is of a healthy set; \"nothing\": behind this lamp "
        "the "
        "rectifier is too cool for it to mean anything.");
}

Json gate_json(const Gate& gate) {
    Json json{{"state", gate.state}, {"opened_by", strings(gate.opened_by)}};
    if (gate.not_again) json["not_again"] = true;
    if (!gate.after.empty()) json["after_stages"] = gate.after;
    if (gate.proof.empty()) return json;
    Json proof = Json::array();
    for (const GateProof& one : gate.proof) proof.push_back({{"proved", one.holds}, {"words", one.words}});
    json["proof"] = std::move(proof);
    return json;
}

void points(Page& page, std::string_view head, const std::vector<std::string>& list) {
    if (list.empty()) return;
    page.paragraph(head, 2);
    for (const std::string& one : list) page.point(one, 4);
}

/// The rows that are asked for before power and those of the windings; with all, every pin.
void cold_ohms_table(Page& page, const PowerStage& stage, const PowerUp& sheet, bool all, Told& told) {
    Table table(
        {{""}, {"at", Align::left, true}, {"black clip"}, {"expect", Align::right}, {"STOP under", Align::right}});
    constexpr std::size_t shown = 8;
    std::size_t count = 0, plain = 0;
    for (const ColdOhms& one : sheet.cold_ohms) {
        const bool asked = one.stop_below || one.before_power;
        if (!all && !asked && ++plain > shown) continue;
        const std::string expect = !one.ohms ? "open"
                                             : band_of({one.at,
                                                        one.to,
                                                        "ohms",
                                                        *one.ohms,
                                                        one.low.value_or(*one.ohms),
                                                        one.high.value_or(*one.ohms),
                                                        {},
                                                        {},
                                                        {},
                                                        false,
                                                        {},
                                                        {}});
        table.row({"[ ]", one.at, one.to, expect, one.stop_below ? say(ohms(*one.stop_below)) : std::string("-")});
        ++count;
    }
    page.table(table);
    if (count < sheet.cold_ohms.size())
        page.paragraph(fmt::format("{} more with --all.", sheet.cold_ohms.size() - count), 2);
    meanings(page, stage.readings, told);
}

std::string every_caution(const PowerStage& stage) {
    std::string text;
    for (const std::string& one : stage.cautions) text += " " + first_sentence(one);
    return text;
}

Json reading_json(const StageReading& reading) {
    const std::string key = unit_of(reading.quantity).key;
    Json json;
    json["at"] = reading.at;
    json["to"] = text_or_null(reading.to);
    json["quantity"] = reading.quantity;
    const bool mute = reading.says_nothing;
    json["expect_" + key] = mute ? Json() : number(reading.expect);
    json["low_" + key] = mute ? Json() : number(reading.low);
    json["high_" + key] = mute ? Json() : number(reading.high);
    json["stop_" + key] = number(reading.stop);
    json["stop_below_" + key] = number(reading.stop_below);
    json["when"] = text_or_null(reading.when);
    json["if_low"] = text_or_null(reading.if_low);
    json["if_high"] = text_or_null(reading.if_high);
    return json;
}

}  // namespace

Answer report_power_up(const Study& study, const ReportOptions& options) {
    const Outcome<PowerUp> made = study.power_up(options.lamp_watts, options.lamp_volts);
    const bool shut = made && std::any_of(made->stages.begin(), made->stages.end(),
                                          [](const PowerStage& stage) { return stage.gate.bars(); });
    const bool stopped = shut || audit_stops(study);
    if (options.format == Format::json) {
        Json json = envelope("powerup", study, made ? made->assumptions : std::vector<Assumption>{});
        if (!made) return refusal_json(std::move(json), made.notices());
        for (const PowerStage& told : made->stages) {
            PowerStage stage = told;
            if (withheld(stage))
                for (auto* list : {&stage.connect, &stage.remove, &stage.notice}) list->clear();
            Json readings = Json::array();
            if (!withheld(stage))
                for (const StageReading& reading : stage.readings) readings.push_back(reading_json(reading));
            json["rows"].push_back({{"stage", stage.stage},
                                    {"name", stage.name},
                                    {"gate", gate_json(stage.gate)},
                                    {"connect", strings(stage.connect)},
                                    {"remove", strings(stage.remove)},
                                    {"lamp_watts", number(stage.lamp_watts)},
                                    {"line_volts", number(stage.line_volts)},
                                    {"minutes", number(stage.minutes)},
                                    {"readings", std::move(readings)},
                                    {"notice", strings(stage.notice)},
                                    {"cautions", strings(stage.cautions)},
                                    {"at_stop", strings(stage.at_stop)}});
            if (withheld(stage)) json["rows"].back()["withheld_by_stage"] = stage.gate.shut_at;
        }
        Json lamps = Json::array(), cold = Json::array(), discharge = Json::array();
        for (const LampGlow& glow : made->lamp_table)
            lamps.push_back({{"lamp_watts", number(glow.lamp_watts)},
                             {"state", glow.state},
                             {"set_volts", number(glow.set_volts)},
                             {"lamp_volts", number(glow.lamp_volts)},
                             {"b_plus_volts", glow.meaningful ? number(glow.b_plus_volts) : Json()},
                             {"glow", glow.glow},
                             {"b_plus_meaningful", glow.meaningful}});
        for (const ColdOhms& one : made->cold_ohms)
            cold.push_back({{"at", one.at},
                            {"to", one.to},
                            {"open", !one.ohms.has_value()},
                            {"expect_ohms", number(one.ohms)},
                            {"low_ohms", number(one.low)},
                            {"high_ohms", number(one.high)},
                            {"stop_below_ohms", number(one.stop_below)},
                            {"before_power", one.before_power}});
        for (const StageReading& reading : made->discharge) discharge.push_back(reading_json(reading));
        json["lamp_table"] = std::move(lamps);
        json["cold_ohms"] = std::move(cold);
        json["discharge"] = std::move(discharge);
        json["discharge_notes"] = strings(made->discharge_notes);
        json["reference"] = text_or_null(made->reference);
        if (const auto first = std::find_if(made->stages.begin(), made->stages.end(),
                                            [](const PowerStage& stage) { return stage.gate.bars(); });
            first != made->stages.end()) {
            std::vector<std::string> lacks;
            for (std::size_t k = 0; k < first->gate.proof.size(); ++k)
                if (!first->gate.proof[k].holds)
                    lacks.push_back(first->gate.opened_by[k] + ": " + first->gate.proof[k].words);
            json["refused"] = {{"why", "the gate of this stage is shut by the log"},
                               {"where", fmt::format("stage {}: {}", first->stage, first->name)},
                               {"opens_when", strings(lacks)}};
        }
        return {dumped(json), stopped, false};
    }
    if (!made) return refused(study, "power-up", made.notices(), options);

    Page page(options.colour);
    set_words(page, study, "power-up, stage by stage");
    page.paragraph("Line " + line_words(study) + ". Meter " + meter_words(study.policy().meter) + ". Black clip on " +
                   (made->reference.empty() ? reference_words(study.chassis()) : made->reference) +
                   " where a table does not say otherwise, clipped on with the plug out. One hand.");
    page.paragraph(
        "At a stop limit: switch off, unplug, hands off, write the reading down, discharge, go back a stage. Never "
        "\"once more\".");
    doubts(page, made.notices());
    cautions(page, made->cautions.empty() ? study.cautions() : made->cautions, true);

    Told told;
    told.all = options.all;
    for (const PowerStage& stage : made->stages) {
        told.stage = stage.stage;
        page.heading(fmt::format("stage {}: {}", stage.stage, stage.name));
        std::string supply;
        constexpr double battery_most = 32;
        if (stage.line_volts)
            supply += (*stage.line_volts <= battery_most ? "battery " : "line ") + say(volts(*stage.line_volts));
        if (stage.lamp_watts)
            supply += (supply.empty() ? "" : ", ") + std::string("behind a lamp of ") + say(watts(*stage.lamp_watts));
        if (stage.minutes > 0) supply += (supply.empty() ? "" : ", ") + two_figures(stage.minutes) + " minutes";
        if (!supply.empty()) page.paragraph(supply, 2);
        gate_lines(page, stage.gate, told);
        if (withheld(stage)) {
            withheld_words(page, stage);
            continue;
        }
        points(page, "connect:", stage.connect);
        points(page, "out or lifted:", stage.remove);
        if (stage.name.starts_with("cold ohms"))
            cold_ohms_table(page, stage, *made, options.all, told);
        else if (!stage.readings.empty())
            readings_table(page, stage.readings, told);
        off_scale(page, stage.readings, study.policy().meter, told);
        points(page, "eyes, ears, nose:", stage.notice);
        if (!stage.cautions.empty())
            page.paragraph("take care: unplugged, discharged, one hand before anything is touched." +
                               (options.all ? every_caution(stage) : own_cautions(study, stage)),
                           2, 2);
        if (!stage.at_stop.empty()) {
            std::string what;
            for (const std::string& one : stage.at_stop) what += (what.empty() ? "" : "; ") + one;
            page.paragraph("at a stop limit: " + (told.at_stop.insert(what).second || told.all ? what : "as before"), 2,
                           2);
        }
    }

    if (!made->lamp_table.empty()) lamp_rows(page, made->lamp_table);
    if (!made->discharge.empty()) {
        page.heading("discharge: 10 k 10 w, insulated clip, 5 s, meter, again after a minute");
        readings_table(page, made->discharge, told);
        off_scale(page, made->discharge, study.policy().meter, told);
        for (const std::string& one : made->discharge_notes) page.point(one);
    }
    assumed(page, study, options.all, made->assumptions);
    return {page.take(), stopped, false};
}

}  // namespace tubewright
