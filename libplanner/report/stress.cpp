// SPDX-License-Identifier: MIT
// `stress`: what each part sees at its worst against its rating. Default: what is over 80 % of a rating, or has a
// remark. JSON: a row a part, with all its scenarios. Tests: tests/report/answers_test.cpp.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "report/bench_words.hpp"
#include "report/envelope.hpp"

namespace tubewright {
namespace {

using namespace report;

constexpr double shown_above = 0.80;  ///< of a rating (the rule of the sheets)

std::string part_words(const Part& part, const std::string& lead) {
    std::string text = part.id;
    if (!lead.empty()) text += " " + lead;
    return text;
}

/// The worst figures that say something, with the scenario that sets each.
std::string worst_words(const Part& part, const PartStress& row) {
    std::string text;
    const auto add = [&](const std::string& figure, const std::string& scenario) {
        text += (text.empty() ? "" : "; ") + figure;
        if (!scenario.empty() && scenario != "normal") text += " (" + scenario + ")";
    };
    const bool capacitor = part.kind == PartKind::capacitor;
    if (capacitor || row.limiting.find("volts") != std::string::npos || row.limiting.empty()) {
        const double crest = row.worst.crest_volts, dc = row.worst.dc_volts;
        if (std::fabs(crest) > 1.05 * std::fabs(dc) && std::fabs(crest) > 0.5) {
            add(in_band(dc, dc, dc) + " V, crest " + in_band(crest, crest, crest) + " V", row.volts_scenario);
        } else if (std::fabs(dc) > 0.05) {
            add(in_band(dc, dc, dc) + " V", row.volts_scenario);
        }
    }
    if (capacitor && row.worst.ripple_amps_rms > 1e-3)
        add(say(amps(row.worst.ripple_amps_rms)) + " ripple", row.ripple_scenario);
    if (!capacitor && row.worst.watts > 0.005) add(two_figures(row.worst.watts) + " W", row.watts_scenario);
    if (row.limiting.find("amperes") != std::string::npos && row.worst.peak_amps > 0)
        add(say(amps(row.worst.peak_amps)) + " peak", row.worst.scenario);
    return text;
}

std::string rating_words(const PartStress& row) {
    std::string text;
    if (row.rated_volts) text += say(volts(*row.rated_volts));
    if (row.rated_watts) text += (text.empty() ? "" : ", ") + say(watts(*row.rated_watts));
    if (row.rated_amps) text += (text.empty() ? "" : ", ") + say(amps(*row.rated_amps));
    return text.empty() ? "not given" : text;
}

Json at_json(const StressAt& at) {
    return {{"scenario", at.scenario},
            {"dc_volts", number(at.dc_volts)},
            {"crest_volts", number(at.crest_volts)},
            {"ac_volts_rms", number(at.ac_volts_rms)},
            {"ripple_amps_rms", number(at.ripple_amps_rms)},
            {"peak_amps", number(at.peak_amps)},
            {"watts", number(at.watts)}};
}

}  // namespace

Answer report_stress(const Study& study, const ReportOptions& options) {
    const Outcome<std::vector<PartStress>> made = study.stress();
    const Chassis& chassis = study.chassis();
    if (options.format == Format::json) {
        Json json = envelope("stress", study, options);
        if (!made) return refusal_json(std::move(json), made.notices());
        for (const PartStress& row : *made) {
            const Part& part = chassis.parts()[static_cast<std::size_t>(row.part)];
            StressAt shown = row.worst;
            Json scenarios = Json::array();
            bool here = options.scenario.empty();
            for (const StressAt& at : row.scenarios) {
                if (!options.scenario.empty() && at.scenario != options.scenario) continue;
                if (!options.scenario.empty()) shown = at;
                here = true;
                scenarios.push_back(at_json(at));
            }
            if (!here) continue;
            json["rows"].push_back({{"part", part.id},
                                    {"lead", text_or_null(row.lead)},
                                    {"kind", word(part.kind)},
                                    {"scenario", shown.scenario},
                                    {"dc_volts", number(shown.dc_volts)},
                                    {"crest_volts", number(shown.crest_volts)},
                                    {"ac_volts_rms", number(shown.ac_volts_rms)},
                                    {"ripple_amps_rms", number(shown.ripple_amps_rms)},
                                    {"peak_amps", number(shown.peak_amps)},
                                    {"watts", number(shown.watts)},
                                    {"plus_minus_low_volts", number(row.plus_minus_low_volts)},
                                    {"plus_minus_high_volts", number(row.plus_minus_high_volts)},
                                    {"rated_volts", number(row.rated_volts)},
                                    {"rated_watts", number(row.rated_watts)},
                                    {"rated_amps", number(row.rated_amps)},
                                    {"rated_source", text_or_null(row.rated_source)},
                                    {"rating_over_stress", number(row.rating_over_stress)},
                                    {"limiting", text_or_null(row.limiting)},
                                    {"volts_scenario", text_or_null(row.volts_scenario)},
                                    {"watts_scenario", text_or_null(row.watts_scenario)},
                                    {"ripple_scenario", text_or_null(row.ripple_scenario)},
                                    {"remark", text_or_null(row.remark)},
                                    {"scenarios", std::move(scenarios)}});
        }
        return {dumped(json), false, false};
    }
    if (!made) return refused(study, "stress", made.notices(), options);

    Page page(options.colour);
    set_words(page, study, "the worst that each part sees");
    conditions(page, study, false);
    doubts(page, made.notices());
    std::vector<const PartStress*> rows;
    std::size_t within = 0;
    for (const PartStress& row : *made) {
        const bool near = row.rating_over_stress && *row.rating_over_stress < 1 / shown_above;
        if (near || !row.remark.empty() || options.all) {
            rows.push_back(&row);
        } else {
            ++within;
        }
    }
    page.heading(options.all ? "every part" : "over 80 % of a rating, or remarkable");
    if (!options.scenario.empty()) {
        Table table({{"part", Align::left, true},
                     {"volts", Align::right},
                     {"crest", Align::right},
                     {"ac rms", Align::right},
                     {"ripple", Align::right},
                     {"watts", Align::right}});
        bool any = false;
        for (const PartStress* row : rows) {
            const Part& part = chassis.parts()[static_cast<std::size_t>(row->part)];
            for (const StressAt& at : row->scenarios) {
                if (at.scenario != options.scenario) continue;
                any = true;
                table.row({part_words(part, row->lead), in_band(at.dc_volts, at.dc_volts, at.dc_volts) + " V",
                           in_band(at.crest_volts, at.crest_volts, at.crest_volts) + " V",
                           in_band(at.ac_volts_rms, at.ac_volts_rms, at.ac_volts_rms) + " V",
                           say(amps(at.ripple_amps_rms)), two_figures(at.watts)});
            }
        }
        if (any) {
            page.table(table);
        } else {
            page.paragraph("The scenario " + options.scenario + " is not among those that set the stress of this set.");
        }
    } else {
        Table table({{"part", Align::left, true},
                     {"rating"},
                     {"of it", Align::right},
                     {"worst, and what does it", Align::left, true},
                     {"remark", Align::left, true}});
        for (const PartStress* row : rows) {
            const Part& part = chassis.parts()[static_cast<std::size_t>(row->part)];
            std::string share = "-";
            if (row->rating_over_stress && *row->rating_over_stress > 0) {
                share = fmt::format("{:.0f} %", 100 / *row->rating_over_stress);
                if (*row->rating_over_stress < 1) share = "OVER " + share;
            }
            std::string remark = row->remark;
            if (!row->limiting.empty()) remark = row->limiting + (remark.empty() ? "" : "; ") + remark;
            table.row({part_words(part, row->lead), rating_words(*row), share, worst_words(part, *row), remark});
        }
        page.table(table);
    }
    if (within > 0)
        page.paragraph(
            fmt::format("{} more are within 80 % of their ratings, or have none: --all lists them.", within));

    Table polarity({{"electrolytic"},
                    {"plus to minus, lowest", Align::right},
                    {"highest", Align::right},
                    {"rated", Align::right},
                    {""}});
    for (const PartStress& row : *made) {
        if (!row.plus_minus_low_volts || !row.plus_minus_high_volts) continue;
        const Part& part = chassis.parts()[static_cast<std::size_t>(row.part)];
        const double low = *row.plus_minus_low_volts, high = *row.plus_minus_high_volts;
        const std::string verdict = low < -0.5 ? "REVERSED: fit it the other way, or trace it again"
                                    : row.rated_volts && high > *row.rated_volts ? "OVER its rating"
                                                                                 : "";
        polarity.row({part.id, in_band(low, low, low) + " V", in_band(high, high, high) + " V",
                      row.rated_volts ? say(volts(*row.rated_volts)) : std::string("not given"), verdict});
    }
    if (!polarity.empty()) {
        page.heading("electrolytics: which way, in all conditions");
        page.table(polarity);
    }
    assumed(page, study, options.all);
    cautions(page, study.cautions());
    return {page.take(), false, false};
}

}  // namespace tubewright
