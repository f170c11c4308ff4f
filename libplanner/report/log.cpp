// SPDX-License-Identifier: MIT
// `log`: where the person is. Out first, since a part that was taken out and never put back is the commonest disaster;
// then what may be powered, what comes next, what was done and read; the entries themselves with --all. Readings are
// shown as they were taken: what they should be is asked of `volts` at their line and meter. Tests:
// tests/cli/log_test.cpp, tests/approved.
#include <fmt/core.h>

#include <algorithm>
#include <map>

#include "report/bench_words.hpp"
#include "report/envelope.hpp"
#include "terms/period_value.hpp"

namespace tubewright {
namespace {

using namespace report;

/// "2026-11-26 20:15"
std::string when(const std::string& at) {
    std::string text = at.substr(0, 16);
    std::replace(text.begin(), text.end(), 'T', ' ');
    return text;
}

/// The first stage that is powered and not passed, or passed and barred, or a shut one before it; nullptr when all that
/// power it are passed.
const PowerStage* next_stage(const PowerUp& sheet) {
    const PowerStage* shut = nullptr;
    for (const PowerStage& stage : sheet.stages) {
        if (stage.gate.state == "passed" && !stage.gate.not_again) continue;
        if (stage.line_volts) return shut != nullptr ? shut : &stage;
        if (shut == nullptr && stage.gate.bars()) shut = &stage;
    }
    return nullptr;
}

struct Standing {
    const Study& study;
    std::span<const LogEntry> entries;
    std::vector<int> gone;

    bool counts(const LogEntry& entry) const {
        return entry.fact != LogFact::undo && !std::binary_search(gone.begin(), gone.end(), entry.number);
    }
    static bool names(const LogEntry& entry, const std::string& id) {
        return entry.part == id || (" " + entry.acts + " ").find(" " + id + " ") != std::string::npos ||
               entry.acts.find(" " + id + ";") != std::string::npos ||
               entry.acts.find(" " + id + "=") != std::string::npos;
    }
    /// When the part came to be as it is: the last entry that names it.
    std::string since(const std::string& id) const {
        std::string at;
        for (const LogEntry& entry : entries)
            if (counts(entry) && entry.fact != LogFact::renamed && names(entry, id)) at = entry.at;
        if (!at.empty()) return when(at);
        // what it was called before
        for (const LogEntry& entry : entries)
            if (counts(entry) && entry.fact == LogFact::renamed && entry.to == id && entry.part != id)
                return since(entry.part);
        return {};
    }
    std::vector<std::string> parts_that_are(std::initializer_list<PartState> wanted) const {
        std::vector<std::string> list;
        for (const auto& [id, state] : study.progress().parts)
            if (std::find(wanted.begin(), wanted.end(), state) != wanted.end()) list.push_back(id);
        return list;
    }
};

std::string listed(const std::vector<std::string>& list) {
    std::string text;
    for (const std::string& one : list) text += (text.empty() ? "" : ", ") + one;
    return text;
}

std::string reading_words(const Reading& reading) {
    if (reading.quantity == "open") return "open";
    if (reading.quantity == "ohms") return say(ohms(reading.value));
    if (reading.quantity == "amps") return say(amps(reading.value));
    if (reading.quantity == "watts") return say(watts(reading.value));
    return say(volts(reading.value)) + (reading.quantity == "volts ac" ? " ac" : "");
}

void out_words(Page& page, const Standing& standing) {
    const Progress& progress = standing.study.progress();
    std::vector<std::string> soldered, tubes;
    for (const std::string& id : standing.parts_that_are({PartState::lifted, PartState::removed})) {
        const int i = standing.study.chassis().part(id);
        const PartKind kind =
            i < 0 ? PartKind::wire : standing.study.chassis().parts()[static_cast<std::size_t>(i)].kind;
        (kind == PartKind::socket || kind == PartKind::lamp ? tubes : soldered).push_back(id);
    }
    page.heading("out");
    if (soldered.empty() && tubes.empty()) page.paragraph("Nothing is lifted or out.");
    for (const std::string& id : soldered)
        page.point(id + (progress.fitted.count(id) > 0 ? ", the new one: " : ": ") + word(progress.parts.at(id)) +
                   ", " + standing.since(id));
    if (!tubes.empty()) page.point("out of their sockets: " + listed(tubes));
    for (const auto& [id, why] : progress.reasons) page.point(id + ": left out on purpose: " + why);
}

/// Of a set without stages: the hard rules that stand before the line and that the log does not prove, tubes too.
std::map<std::string, std::string> open_rules(const Standing& standing) {
    std::map<std::string, std::string> open = unproved(standing.study.chassis(), standing.study.catalogue(),
                                                       standing.study.relied_on(), ActKind::power_full_line);
    for (const char* later : {"H13", "H15", "s14", "s4", "charge"}) open.erase(later);
    if (const auto out = standing.parts_that_are({PartState::lifted, PartState::removed}); !out.empty())
        open["H17"] = "out or lifted: " + listed(out);
    for (const std::string& rule : standing.study.progress().gates_passed) open.erase(rule);
    for (const auto& [rule, why] : standing.study.progress().overrides) open.erase(rule);
    return open;
}

void gate_words(Page& page, const Standing& standing, const Outcome<PowerUp>& sheet, bool steps_open, bool doubted,
                bool all) {
    page.heading("may it be plugged in");
    if (!sheet) {
        page.paragraph("There is no power-up sheet for it" +
                       (sheet.notices().empty() ? std::string() : ": " + sheet.notices().front().message) + ".");
        const std::map<std::string, std::string> open = open_rules(standing);
        page.paragraph(!open.empty() ? "NO. Of the hard rules before the line the log does not prove:"
                       : steps_open  ? "NO. Steps of the plan are open still, and there is no sheet to go by."
                                     : "Every hard rule before the line is proved by the log.");
        for (const BenchRule& rule : bench_rules())
            if (const auto found = open.find(rule.id); found != open.end())
                page.point(rule.id + ": " + rule.before + ": " + found->second);
        return;
    }
    const PowerStage* next = next_stage(*sheet);
    if (next == nullptr) {
        page.paragraph(doubted ? "NO, but for what the next step reads: every stage that powers it is passed, and the "
                                 "readings do not bear it out."
                               : "Every stage that powers it is passed.");
        for (const PowerStage& stage : sheet->stages)
            for (std::size_t k = 0; k < stage.gate.proof.size(); ++k)
                if (!stage.gate.proof[k].holds)
                    page.point(fmt::format("still asked for by stage {}: {}: {}", stage.stage, stage.gate.opened_by[k],
                                           stage.gate.proof[k].words));
        return;
    }
    const bool shut = next->gate.bars();
    page.paragraph(fmt::format("{}: stage {}, {}.",
                               shut      ? "NO. The gate of the next stage is shut"
                               : doubted ? "NO, not before the plan has found out what a reading says against a rule; "
                                           "then as the sheet of powerup says"
                                         : "As the sheet of powerup says, and no further",
                               next->stage, next->name));
    for (std::size_t k = 0; k < next->gate.proof.size(); ++k)
        if (!next->gate.proof[k].holds)
            page.point("not proved: " + next->gate.opened_by[k] + ": " + next->gate.proof[k].words);
    if (!all) return;
    for (const PowerStage& stage : sheet->stages)
        page.point(fmt::format("stage {}, {}: {}{}", stage.stage, stage.name,
                               stage.gate.not_again ? "passed, not to be powered again as it stands" : stage.gate.state,
                               stage.gate.state == "open" && !stage.gate.after.empty() ? ", not yet its turn" : ""));
}

void next_words(Page& page, const Outcome<RepairOrder>& order, std::size_t entries) {
    page.heading("open and next");
    if (!order) {
        page.paragraph("There is no plan for it." +
                       (order.notices().empty() ? std::string() : " " + order.notices().front().message + "."));
        return;
    }
    double minutes = 0;
    for (const RepairStep& step : order->steps) minutes += step.minutes;
    page.paragraph(order->steps.empty()
                       ? std::string("Every step is done.")
                       : fmt::format("{} {} open, {} h. The next of page {} (done 1 of page {}):", order->steps.size(),
                                     order->steps.size() == 1 ? "step is" : "steps are", two_figures(minutes / 60),
                                     entries, entries));
    constexpr std::size_t shown = 3;
    for (std::size_t k = 0; k < std::min(shown, order->steps.size()); ++k)
        page.paragraph(fmt::format("[ ] {:2}. {}", order->steps[k].order, order->steps[k].does), 0, 7);
}

void done_words(Page& page, const Standing& standing) {
    const Progress& progress = standing.study.progress();
    page.heading("done");
    const std::vector<std::string> fitted = standing.parts_that_are({PartState::fitted});
    const std::map<std::string, std::string>& unfit = standing.study.unfit();
    Table table({{"part"}, {"new, with", Align::left, true}, {"when, UTC"}});
    for (const std::string& id : fitted) {
        const auto with = progress.fitted.find(id);
        const bool named = with != progress.fitted.end() && !with->second.words.empty();
        std::string words = named ? with->second.words : std::string("as the file has it");
        const int i = standing.study.chassis().part(id);
        const bool capacitor =
            i >= 0 && standing.study.chassis().parts()[static_cast<std::size_t>(i)].kind == PartKind::capacitor;
        if (named && capacitor && with->second.rated_volts && words.find('/') == std::string::npos)
            words += ", " + say(volts(*with->second.rated_volts));
        if (named && with->second.rated_watts && words.find('W') == std::string::npos)
            words += ", " + say(watts(*with->second.rated_watts));
        if (const auto wrong = unfit.find(id); wrong != unfit.end()) words += ": does not do";
        table.row({id, words, standing.since(id)});
    }
    if (!table.empty()) page.table(table);
    if (const auto proved = standing.parts_that_are({PartState::proved}); !proved.empty())
        page.point("proved good: " + listed(proved));
    const std::vector<std::string>& relied_on = standing.study.relied_on().steps_done;
    for (const LogEntry& entry : standing.entries) {
        if (entry.fact != LogFact::done || !standing.counts(entry)) continue;
        const bool holds = std::find(relied_on.begin(), relied_on.end(), entry.step_id) != relied_on.end();
        const std::string acts = " " + entry.acts + " ";
        const bool of_unfit = std::any_of(unfit.begin(), unfit.end(), [&](const auto& one) {
            return acts.find(" " + one.first + " ") != std::string::npos ||
                   acts.find(" " + one.first + "=") != std::string::npos ||
                   acts.find(" " + one.first + ";") != std::string::npos;
        });
        page.paragraph((holds ? "[x] " : "[-] ") + entry.words +
                           (holds      ? ""
                            : of_unfit ? "; does not count, the new part does not do"
                                       : "; does not count, it was gone through past a shut gate"),
                       0, 4);
    }
    for (const auto& [id, why] : unfit) page.point(id + ": " + why + "; it is on the list again");
    for (const std::string& stage : progress.stages_passed) page.point("stage passed: " + stage);
    for (const std::string& rule : progress.gates_passed) {
        const auto with = progress.signed_with.find(rule);
        page.point("signed by hand: " + rule +
                   (with == progress.signed_with.end() || with->second.empty() ? "" : ": " + with->second));
    }
    if (fitted.empty() && progress.steps_done.empty() && progress.stages_passed.empty() &&
        standing.parts_that_are({PartState::proved}).empty())
        page.paragraph("Nothing yet.");
}

/// Full line is passed by what was read there, or shut by it.
bool are_held(const PowerUp& sheet) {
    return std::any_of(sheet.stages.begin(), sheet.stages.end(), [](const PowerStage& stage) {
        return (stage.name == "full line" && stage.gate.state == "passed" && !stage.gate.not_again) ||
               std::any_of(stage.gate.proof.begin(), stage.gate.proof.end(), [](const GateProof& proof) {
                   return !proof.holds && proof.words.find("past its STOP") != std::string::npos;
               });
    });
}

void readings(Page& page, const Standing& standing, bool held) {
    const Progress& progress = standing.study.progress();
    if (progress.readings.empty() && progress.found.empty() && progress.seen.empty()) return;
    page.heading("read");
    for (const auto& [id, words] : progress.seen) page.point(fmt::format("{} is found {}", id, words));
    Table values({{"part"}, {"reads", Align::right}, {"should be", Align::right}, {"when, UTC"}});
    for (const auto& [id, read] : progress.found) {
        const int i = standing.study.chassis().part(id);
        if (i < 0 || !read.value) continue;
        const Part& part = standing.study.chassis().parts()[static_cast<std::size_t>(i)];
        const bool capacitor = part.kind == PartKind::capacitor;
        const auto figure = [&](double value) { return capacitor ? say(farads(value)) : say(ohms(value)); };
        const OptionalNumber right = capacitor ? part.farads : part.ohms;
        values.row(
            {id, figure(*read.value), right ? figure(*right) : std::string("not in the file"), standing.since(id)});
    }
    if (!values.empty()) page.table(values);
    if (progress.readings.empty()) return;
    if (!values.empty()) page.blank();
    Table table({{"at"},
                 {"black clip"},
                 {"reads", Align::right},
                 {"line", Align::right},
                 {"meter"},
                 {"when, UTC"},
                 {"how", Align::left, true}});
    for (const Reading& one : progress.readings)
        table.row({one.at, one.to.empty() ? "-" : one.to, reading_words(one),
                   one.line_volts > 0 ? say(volts(one.line_volts)) : std::string("-"),
                   one.meter.empty() ? "-" : one.meter, when(one.taken), one.conditions});
    page.table(table);
    page.paragraph(std::string("What stands past the STOP of its stage shuts that stage") +
                   (held ? "; direct volts at full line are held against the sheet of powerup, above" : "") +
                   ". What each should read, at its line and meter: tubewright volts.");
}

void papers(Page& page, const Standing& standing) {
    bool headed = false;
    for (const LogEntry& entry : standing.entries) {
        const bool paper = entry.fact == LogFact::photo || entry.fact == LogFact::note;
        if (!paper || !standing.counts(entry)) continue;
        if (!headed) page.heading("notes and photographs");
        headed = true;
        page.point(when(entry.at) + " " + (entry.fact == LogFact::note ? entry.words : said(entry)));
    }
}

Json entry_json(const LogEntry& entry, bool undone_since) {
    return {{"number", entry.number},
            {"batch", entry.batch},
            {"at", entry.at},
            {"pencil", entry.pencil},
            {"fact", word(entry.fact)},
            {"part", text_or_null(entry.part)},
            {"black_clip", text_or_null(entry.to)},
            {"was", text_or_null(entry.was)},
            {"words", text_or_null(entry.words)},
            {"quantity", text_or_null(entry.quantity)},
            {"value_si", number(entry.value)},
            {"rated_volts", number(entry.rated_volts)},
            {"rated_watts", number(entry.rated_watts)},
            {"line_volts", number(entry.line_volts)},
            {"meter", text_or_null(entry.meter)},
            {"conditions", text_or_null(entry.conditions)},
            {"step", entry.step > 0 ? Json(entry.step) : Json()},
            {"step_id", text_or_null(entry.step_id)},
            {"page", entry.plan >= 0 ? Json(entry.plan) : Json()},
            {"undoes", entry.target > 0 ? Json(entry.target) : Json()},
            {"undone", undone_since},
            {"says", said(entry)}};
}

}  // namespace

Answer report_log(const Study& study, std::span<const LogEntry> entries, const ReportOptions& options) {
    const Standing standing{study, entries, undone(entries)};
    const Outcome<PowerUp> sheet = study.gates(options.lamp_watts, options.lamp_volts);
    const Outcome<RepairOrder> order = study.repair_order(options.steps);
    const PowerStage* next = sheet ? next_stage(*sheet) : nullptr;
    const bool steps_open = !order || !order->steps.empty() || !order->left_out.empty();
    const bool doubted = order && order->doubted;
    const bool shut =
        doubted || (next != nullptr && next->gate.bars()) || (!sheet && (steps_open || !open_rules(standing).empty()));
    if (options.format == Format::json) {
        Json json = envelope("log", study);
        for (const LogEntry& entry : entries)
            json["rows"].push_back(
                entry_json(entry, std::binary_search(standing.gone.begin(), standing.gone.end(), entry.number)));
        Json parts = Json::array(), open = Json::array(), gates = Json::array();
        for (const auto& [id, state] : study.progress().parts)
            parts.push_back({{"part", id}, {"state", word(state)}, {"since", text_or_null(standing.since(id))}});
        if (order)
            for (const RepairStep& step : order->steps)
                open.push_back({{"order", step.order}, {"step", step.step}, {"does", step.does}});
        if (sheet)
            for (const PowerStage& stage : sheet->stages)
                gates.push_back({{"stage", stage.stage},
                                 {"name", stage.name},
                                 {"state", stage.gate.state},
                                 {"not_again", stage.gate.not_again}});
        json["parts"] = std::move(parts);
        json["open"] = std::move(open);
        json["gates"] = std::move(gates);
        return {dumped(json), shut, false};
    }
    Page page(options.colour);
    set_words(page, study, "bench log");
    out_words(page, standing);
    gate_words(page, standing, sheet, steps_open, doubted, options.all);
    next_words(page, order, entries.size());
    done_words(page, standing);
    readings(page, standing, sheet && are_held(*sheet));
    papers(page, standing);
    if (options.all) {
        page.heading("entries (times are UTC)");
        for (const LogEntry& entry : entries) {
            const bool gone = std::binary_search(standing.gone.begin(), standing.gone.end(), entry.number);
            page.paragraph(
                fmt::format("{}. {} {}{}", entry.number, when(entry.at), gone ? "[undone] " : "", said(entry)), 0, 4);
        }
    } else {
        page.blank();
        page.paragraph("--all lists every entry with its number and every gate. \"undo 7\" takes entry 7 back.");
    }
    return {page.take(), shut, false};
}

Answer report_entered(const Study& study, std::span<const LogEntry> added, const ReportOptions& options) {
    Page page(options.colour);
    for (const LogEntry& entry : added) page.paragraph(fmt::format("{}. {}", entry.number, said(entry)), 0, 4);
    const auto is_rated = [](const LogEntry& entry) {
        return entry.fact == LogFact::fitted && (entry.rated_volts || entry.rated_watts);
    };
    if (std::any_of(added.begin(), added.end(), is_rated))
        for (const auto& [id, why] : study.under_need())
            if (std::any_of(added.begin(), added.end(),
                            [&, part = &id](const LogEntry& entry) { return is_rated(entry) && entry.part == *part; }))
                page.point("LOOK: " + id + ": " + why + ": it does not do, and is bought again");
    const Standing standing{study, {}, {}};
    const std::vector<std::string> out = standing.parts_that_are({PartState::lifted, PartState::removed});
    page.paragraph(fmt::format(
        "{} in {}. {}", added.size() == 1 ? "1 entry" : fmt::format("{} entries", added.size()),
        study.progress().log.file,
        out.empty() ? std::string("Nothing is lifted or out.") : "Out or lifted now: " + listed(out) + "."));
    for (const std::string& line : study.progress().log.gone) page.point("DOUBT: " + line);
    return {page.take(), false, false};
}

std::string refused_pencil(std::string_view pencil, const std::vector<Notice>& why) {
    Page page(false);
    page.paragraph(fmt::format("Nothing was entered. {} cannot be taken:",
                               why.size() == 1 ? std::string("One word") : fmt::format("{} words", why.size())));
    for (const Notice& notice : why) {
        std::string_view rest = pencil;
        for (int line = 1; line < notice.place.line && !rest.empty(); ++line)
            rest.remove_prefix(std::min(rest.find('\n'), rest.size() - 1) + 1);
        rest = rest.substr(0, rest.find('\n'));
        // the byte that the column means
        std::size_t at = 0;
        for (int column = 1; column < notice.place.column && at < rest.size(); ++column) do
                ++at;
            while (at < rest.size() && (static_cast<unsigned char>(rest[at]) & 0xC0U) == 0x80U);
        const std::size_t before = rest.substr(0, at).rfind(';');
        std::size_t from = before == std::string_view::npos ? 0 : before + 1;
        while (from < at && rest[from] == ' ') ++from;
        constexpr std::size_t most = 70;
        if (at - from > most) from = at - most / 2;
        std::string shown(rest.substr(from, std::min(rest.find(';', at), rest.size()) - from));
        std::replace(shown.begin(), shown.end(), '\x1f', ';');  // within a field of a sheet
        if (shown.size() > most + 4) shown = shown.substr(0, most) + "...";
        page.verbatim("  " + shown);
        page.verbatim("  " + std::string(columns_of(printable(rest.substr(from, at - from))), ' ') + "^");
        page.paragraph(notice.message + (notice.remedy.empty() ? "" : "; " + notice.remedy) +
                           fmt::format(" [TW{:04}]", notice.number),
                       2, 2);
    }
    return page.take();
}

}  // namespace tubewright
