// SPDX-License-Identifier: MIT
// `steps`: the ordered plan with boxes to tick, why each step stands where it stands, and the tag for the set. JSON
// carries seconds, weights and arrows as integers, so that anyone can work the objective out again. Tests:
// tests/report/answers_test.cpp.
#include <fmt/core.h>

#include <algorithm>

#include "report/bench_words.hpp"
#include "report/envelope.hpp"

namespace tubewright {
namespace {

using namespace report;

std::string joined(const std::vector<std::string>& list, const char* between) {
    std::string text;
    for (const std::string& one : list) text += (text.empty() ? "" : between) + one;
    return text;
}

std::string minutes_words(double minutes) {
    if (minutes >= 90) return two_figures(minutes / 60) + " h";
    return two_figures(minutes) + " min";
}

std::string money(double amount) {
    return fmt::format("{:.2f}", amount);
}

/// A frame that can be cut out.
void tag(Page& page, const std::string& text) {
    constexpr std::size_t inner = page_width - 4;
    page.blank();
    page.paragraph("+" + std::string(page_width - 2, '-') + "+");
    std::string rest = text;
    while (true) {
        const std::size_t end = rest.find('\n');
        for (const std::string& line : wrap(rest.substr(0, end), inner))
            page.verbatim("| " + line + std::string(inner - columns_of(line), ' ') + " |");
        if (end == std::string::npos) break;
        rest.erase(0, end + 1);
    }
    page.paragraph("+" + std::string(page_width - 2, '-') + "+");
}

}  // namespace

Answer report_steps(const Study& study, const ReportOptions& options) {
    const Outcome<RepairOrder> made = study.repair_order(options.steps);
    if (options.format == Format::json) {
        Json json = envelope("steps", study);
        if (!made) return refusal_json(std::move(json), made.notices());
        for (const RepairStep& step : made->steps) {
            Json before = Json::array();
            for (const StepLink& link : step.predecessors)
                before.push_back({{"step", link.step}, {"rule", link.rule}, {"why", link.why}});
            json["rows"].push_back({{"order", step.order},
                                    {"step", step.step},
                                    {"does", step.does},
                                    {"parts", strings(step.parts)},
                                    {"place", text_or_null(step.place)},
                                    {"predecessors", std::move(before)},
                                    {"minutes", number(step.minutes)},
                                    {"p_seconds", step.p_seconds},
                                    {"w_microrisk", step.w_microrisk},
                                    {"block", step.block},
                                    {"cost", number(step.cost)},
                                    {"risk_removed", number(step.risk_removed)},
                                    {"reason", text_or_null(step.reason)},
                                    {"check", text_or_null(step.check)}});
        }
        json["objective"] = made->objective;
        json["lower_bound"] = made->lower_bound;
        json["gap"] = number(made->gap);
        json["optimal"] = made->optimal;
        json["tag"] = made->tag;
        json["left_out"] = strings(made->left_out);
        if (!study.progress().log.file.empty()) json["page"] = study.progress().log.entries;
        return {dumped(json), stops(study), false};
    }
    if (!made) return refused(study, "repair plan", made.notices(), options);

    Page page(options.colour);
    set_words(page, study, "repair plan, the most danger first");
    double minutes = 0, cost = 0;
    for (const RepairStep& step : made->steps) {
        minutes += step.minutes;
        cost += step.cost;
    }
    std::string summary = fmt::format("{} steps, {}, {} {} of parts by the table.", made->steps.size(),
                                      minutes_words(minutes), money(cost), study.policy().currency);
    if (options.steps.hours > 0) summary += fmt::format(" Chosen to fit {} h.", two_figures(options.steps.hours));
    if (options.steps.budget > 0)
        summary += fmt::format(" Chosen to fit {} {}.", two_figures(options.steps.budget), study.policy().currency);
    summary += made->optimal ? " No lawful order removes the risk sooner (proved)."
                             : fmt::format(" At most {} % from the best lawful order (proved bound).",
                                           two_figures(100 * made->gap));
    page.paragraph(summary);
    page.paragraph(made->steps.empty() && made->left_out.empty() && !study.progress().log.file.empty()
                       ? "By the log every step is done."
                       : "Until the last hard rule (H) is met the answer to \"may I plug it in\" is no.");
    if (const LogHead& log = study.progress().log; !log.file.empty())
        page.paragraph(fmt::format(
            "This is page {0}: a step of it is logged as done 1, or done 1 of page {0} when "
            "another was printed since{1}.",
            log.entries,
            options.steps.hours > 0 || options.steps.budget > 0 ? ", with the same --hours and --budget" : ""));
    std::vector<Notice> lesser;
    for (const Notice& notice : made.notices()) {
        if (notice.severity == Severity::stop)
            page.point("STOP: " + notice.message + (notice.remedy.empty() ? std::string() : "; " + notice.remedy));
        else
            lesser.push_back(notice);
    }
    doubts(page, lesser);
    std::string place = "\x01";
    for (const RepairStep& step : made->steps) {
        page.blank();
        if (step.place != place) {
            place = step.place;
            if (!place.empty()) page.paragraph("-- " + place + " --");
        }
        const std::vector<std::string> does = wrap(step.does, page_width - 8);
        for (std::size_t i = 0; i < does.size(); ++i)
            page.verbatim((i == 0 ? fmt::format("[ ] {:>2}. ", step.order) : std::string(8, ' ')) + does[i]);
        std::string figures = minutes_words(step.minutes);
        if (step.cost > 0) figures += fmt::format(", {} {}", money(step.cost), study.policy().currency);
        if (!step.parts.empty()) figures += "; " + joined(step.parts, ", ");
        std::vector<std::string> rules;
        for (const StepLink& link : step.predecessors) {
            if (!link.rule.empty() && std::find(rules.begin(), rules.end(), link.rule) == rules.end())
                rules.push_back(link.rule);
        }
        // Hard rules first, then soft ones, then words.
        std::stable_sort(rules.begin(), rules.end(), [](const std::string& a, const std::string& b) {
            const auto group = [](const std::string& r) {
                const bool numbered = r.find_first_of("0123456789") != std::string::npos;
                return !numbered ? 2 : r[0] == 'H' ? 0 : 1;
            };
            return group(a) < group(b);
        });
        if (!rules.empty() && !options.all) figures += "; held here by " + joined(rules, ", ");
        page.paragraph(figures, 8);
        if (!step.reason.empty()) page.paragraph("why: " + step.reason, 8, 5);
        if (!step.check.empty()) page.paragraph("check: " + step.check, 8, 7);
        if (!options.all) continue;
        for (const StepLink& link : step.predecessors) {
            const auto before = std::find_if(made->steps.begin(), made->steps.end(),
                                             [&](const RepairStep& one) { return one.step == link.step; });
            const std::string number = before == made->steps.end() ? link.step : std::to_string(before->order);
            page.paragraph("after " + number + " (" + link.rule + ": " + link.why + ")", 8, 6);
        }
    }
    if (!made->left_out.empty()) {
        page.heading("does not fit this time");
        const Outcome<RepairOrder> whole = study.repair_order({});
        for (const std::string& one : made->left_out) {
            const auto step = std::find_if(whole->steps.begin(), whole->steps.end(),
                                           [&](const RepairStep& s) { return s.step == one; });
            page.point(step == whole->steps.end() ? one : step->does);
        }
    }
    page.heading("tag for the set, when you stop");
    tag(page, made->tag);
    if (!options.all) page.paragraph("--all says which step waits for which, and by what rule.");
    assumed(page, study, options.all);
    cautions(page, study.cautions(), options.all);
    return {page.take(), stops(study), false};
}

}  // namespace tubewright
