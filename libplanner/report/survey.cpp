// SPDX-License-Identifier: MIT
// `survey`: family with its reasons, hot or isolated, hours and cost as ranges, and every part's action by age. Parts
// that are left or never disturbed are counted unless all is asked for. Tests: tests/report/answers_test.cpp.
#include <fmt/core.h>

#include <algorithm>
#include <map>

#include "report/bench_words.hpp"
#include "report/envelope.hpp"
#include "report/line_up.hpp"

namespace tubewright {
namespace {

using namespace report;

std::string value_of(const Part& part) {
    if (part.farads)
        return say(farads(*part.farads)) + (part.rated_volts ? " " + say(volts(*part.rated_volts)) : std::string());
    if (part.kind == PartKind::socket) return part.tube;
    if (part.henries) return say(henries(*part.henries));
    if (part.ohms)
        return say(ohms(*part.ohms)) + (part.rated_watts ? " " + say(watts(*part.rated_watts)) : std::string());
    return "";
}

std::string what_of(const Part& part) {
    const std::string value = value_of(part);
    if (!part.since) return value;
    return value + (value.empty() ? "of " : ", of ") + std::to_string(*part.since);
}

void action_table(Page& page, const Study& study, const Survey& survey, const std::string& action,
                  std::string_view head, bool in_full, bool all) {
    std::vector<const PartAction*> rows;
    for (const PartAction& one : survey.parts) {
        if (one.action == action) rows.push_back(&one);
    }
    if (rows.empty()) return;
    page.heading(head);
    if (!in_full) {
        std::string ids;
        for (const PartAction* row : rows)
            ids += (ids.empty() ? "" : ", ") + study.chassis().parts()[static_cast<std::size_t>(row->part)].id;
        page.paragraph(fmt::format("{}: {}", rows.size(), ids));
        return;
    }
    // One construction at a time: what is said of all of its kind is said once.
    std::vector<std::string> kinds;
    for (const PartAction* row : rows) {
        if (std::find(kinds.begin(), kinds.end(), row->construction) == kinds.end()) kinds.push_back(row->construction);
    }
    Table table({{"part"}, {"what", Align::left, true}, {"hazard"}, {"why this one", Align::left, true}});
    for (const std::string& kind : kinds) {
        const Construction* of = kind.empty() ? nullptr : study.catalogue().construction(kind);
        const std::string common = of == nullptr ? std::string() : of->reason;
        table.group("");
        table.group((kind.empty() ? std::string("construction not known") : kind) +
                    (common.empty() ? std::string() : ": " + common));
        for (const PartAction* row : rows) {
            if (row->construction != kind) continue;
            const Part& part = study.chassis().parts()[static_cast<std::size_t>(row->part)];
            std::string why;
            for (const std::string& reason : row->reasons) {
                const bool aside = reason.starts_with("noted:") || reason.starts_with("sees up to") ||
                                   reason.starts_with("replaced in");
                if (reason == common || (aside && !all)) continue;
                why += (why.empty() ? "" : "; ") + reason;
            }
            table.row({part.id, what_of(part), row->risk.likelihood, why});
        }
    }
    page.table(table);
}

}  // namespace

Answer report_survey(const Study& study, const ReportOptions& options) {
    const Outcome<Survey> made = study.survey();
    if (options.format == Format::json) {
        Json json = envelope("survey", study);
        if (!made) return refusal_json(std::move(json), made.notices());
        for (const PartAction& one : made->parts) {
            const Part& part = study.chassis().parts()[static_cast<std::size_t>(one.part)];
            Json shares = Json::array(), factors = Json::array();
            for (const ModeShare& share : one.risk.modes)
                shares.push_back({{"mode", share.mode}, {"alpha", number(share.alpha)}});
            for (const LikelihoodFactor& factor : one.risk.factors)
                factors.push_back({{"why", factor.why}, {"factor", number(factor.factor)}});
            json["rows"].push_back({{"part", part.id},
                                    {"kind", word(part.kind)},
                                    {"construction", text_or_null(one.construction)},
                                    {"year", one.year > 0 ? Json(one.year) : Json()},
                                    {"action", one.action},
                                    {"likelihood", text_or_null(one.risk.likelihood)},
                                    {"failures_per_million_hours", number(one.risk.failures_per_million_hours)},
                                    {"base_rate_source", text_or_null(one.risk.base_rate_source)},
                                    {"age_law", text_or_null(one.risk.age_law)},
                                    {"stress_clamped", one.risk.stress_clamped},
                                    {"mode_shares", std::move(shares)},
                                    {"likelihood_factors", std::move(factors)},
                                    {"reasons", strings(one.reasons)}});
        }
        json["family_reasons"] = strings(made->family_reasons);
        if (made->line_up) line_up_fields(json, *made->line_up);
        json["hours_low"] = number(made->hours_low);
        json["hours_high"] = number(made->hours_high);
        json["cost_low"] = number(made->cost_low);
        json["cost_high"] = number(made->cost_high);
        return {dumped(json), stops(study), false};
    }
    if (!made) return refused(study, "survey", made.notices(), options);

    Page page(options.colour);
    set_words(page, study, "survey");
    for (const std::string& reason : made->family_reasons) page.point(reason);
    page.blank();
    std::map<std::string, int> counts;
    for (const PartAction& one : made->parts) ++counts[one.action];
    page.paragraph(fmt::format("To replace {}, to measure {}, to leave {}, never to disturb {}.", counts["replace"],
                               counts["measure"], counts["leave"], counts["never-disturb"]));
    page.paragraph(fmt::format(
        "Takes {} to {} hours at the bench and {} to {} {} of parts, with what fails its measurement (minutes and "
        "prices: common practice, no source).",
        two_figures(made->hours_low), two_figures(made->hours_high), two_figures(made->cost_low),
        two_figures(made->cost_high), study.policy().currency));
    doubts(page, made.notices());
    if (made->line_up) line_up_points(page, *made->line_up, ", by the tubes and the label alone");
    action_table(page, study, *made, "replace", "replace", true, options.all);
    action_table(page, study, *made, "measure", "measure, then decide", true, options.all);
    action_table(page, study, *made, "leave", "leave", options.all, options.all);
    action_table(page, study, *made, "never-disturb", "never disturb", options.all, options.all);
    page.blank();
    page.paragraph(
        "Hazard: bad for certain, likely, possible, seldom, for the age and the findings in the file. The failure "
        "rates behind the words are in --format json.");
    assumed(page, study, options.all);
    cautions(page, made->cautions.empty() ? study.cautions() : made->cautions, true);
    return {page.take(), stops(study), false};
}

}  // namespace tubewright
