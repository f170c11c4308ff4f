// SPDX-License-Identifier: MIT
// `steps`: the ordered plan with boxes to tick, why each step stands where it stands, and the tag for the set. JSON
// carries seconds, weights and arrows as integers, so that anyone can work the objective out again. Tests:
// tests/report/answers_test.cpp.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <map>

#include <tubewright/record.hpp>

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
    if (minutes < 90) return fmt::format("{:.4g} min", std::round(minutes * 10) / 10);
    const long long whole = std::llround(minutes);
    return whole % 60 == 0 ? fmt::format("{} h", whole / 60) : fmt::format("{} h {} min", whole / 60, whole % 60);
}

std::string money(double amount) {
    return fmt::format("{:.2f}", amount);
}

Json curve_json(const char* name, const std::vector<RiskPoint>& points) {
    Json minutes = Json::array(), left = Json::array();
    for (const RiskPoint& point : points) {
        minutes.push_back(number(point.minutes));
        left.push_back(number(point.risk_left));
    }
    return {{"order", name}, {"minutes", std::move(minutes)}, {"risk_left", std::move(left)}};
}

/// A clause of `text` that was printed already gives way to the step where it stands. Clauses end at "; " outside of
/// brackets; what stands in brackets at their end (how likely it is) is told again.
std::string once(const std::string& text, int step, std::map<std::string, int>& printed) {
    constexpr std::size_t worth_it = 60;
    std::string out;
    for (std::size_t from = 0; from < text.size();) {
        int open = 0;
        std::size_t end = from;
        for (; end < text.size(); ++end) {
            open += text[end] == '(' ? 1 : text[end] == ')' ? -1 : 0;
            if (open == 0 && text.compare(end, 2, "; ") == 0) break;
        }
        std::string clause = text.substr(from, end - from), bracket;
        if (const std::size_t last = clause.rfind(" ("); last != std::string::npos && clause.back() == ')') {
            bracket = clause.substr(last);
            clause.erase(last);
        }
        if (clause.size() > worth_it) {
            const auto [known, first] = printed.emplace(clause, step);
            const std::size_t rule = clause.find(" is broken: ");  // its reason is told once
            if (!first)
                clause = rule != std::string::npos ? clause.substr(0, rule) + " is broken"
                                                   : "as in step " + std::to_string(known->second);
        }
        out += (out.empty() ? "" : "; ") + clause + bracket;
        from = end + 2;
    }
    return out;
}

/// Minutes after which no more than this share of the listed risk is left; 0 when that never comes.
double minutes_to(const std::vector<RiskPoint>& curve, double share) {
    for (const RiskPoint& point : curve)
        if (point.risk_left <= share * curve.front().risk_left) return point.minutes;
    return 0;
}

/// How a step of this page is logged; a page of chosen hours or money has two letters of its steps behind its number.
std::string page_words(const RepairOrder& made, int entries, bool chosen) {
    std::string page = std::to_string(entries);
    if (chosen) {
        std::string ids;
        for (const RepairStep& step : made.steps) ids += step.step + "\n";
        page += "-" + print_of(ids).substr(0, 2);
    }
    return fmt::format("This is page {0}: a step of it is logged as done 1 of page {0}{1}.", page,
                       chosen ? ", with the same --hours and --budget" : "");
}

/// What keeping to places costs or gains against the order by risk alone.
std::string beside_by_risk(const RepairOrder& made, double minutes) {
    if (made.objective_by_risk <= 0 || made.objective <= 0) return {};
    const double more = made.minutes_by_risk - minutes;
    const double longer = 100 * (static_cast<double>(made.objective) / static_cast<double>(made.objective_by_risk) - 1);
    if (longer < 0.05) return more < 0.5 ? "By risk alone (--policy by-risk) the order is no other." : std::string();
    return fmt::format(
        "By risk alone (--policy by-risk) it would take {} of turning from place to place, and the listed danger would "
        "stand {} % less long (risk times minutes).",
        std::abs(more) < 0.05 ? std::string("no more")
        : more > 0            ? minutes_words(more) + " more"
                              : minutes_words(-more) + " less",
        two_figures(longer));
}

/// How far from the best, and what is proved.
std::string proof_words(const RepairOrder& made) {
    if (made.steps.empty()) return {};
    const auto most = [&](long long bound) {
        return 100 * static_cast<double>(made.objective - bound) / static_cast<double>(std::max(1LL, bound));
    };
    const double gap = most(made.bound_of_any_order);
    if (made.objective == made.bound_of_any_order) return " No lawful order removes the risk sooner (proved).";
    const std::string any = gap < 0.05 ? "0.05" : two_figures(gap);
    const std::string within = "with all that is done on one visit to a place done together";
    return made.optimal ? fmt::format(
                              " No lawful order removes the risk sooner, {} (proved). None at all, turning to and fro "
                              "as it likes, does by more than {} % (proved bound).",
                              within, any)
                        : fmt::format(
                              " At most {} % from the best lawful order, {}, and {} % from the best of all, turning to "
                              "and fro as it likes (proved bounds).",
                              two_figures(100 * made.gap), within, any);
}

/// What the steps within a limit bring, and that no others bring more.
std::string choice_words(const Study& study, const RepairOrder& made, const StepOptions& limit) {
    if (!limit.limited()) return {};
    std::string fits;
    if (limit.hours > 0) fits = fmt::format("{} h", two_figures(limit.hours));
    if (limit.budget)
        fits += fmt::format("{}{} {}", fits.empty() ? "" : " and ",
                            *limit.budget > 0 ? two_figures(*limit.budget) : "0", study.policy().currency);
    std::string text = fmt::format(" Chosen to fit {}", fits);
    if (made.steps.empty()) return text + ": no step does.";
    const double all = made.curve.empty() ? 0 : made.curve.front().risk_left;
    const double share = all > 0 ? 100 * (all - made.curve.back().risk_left) / all : 0;
    text += fmt::format(": {} % of the listed risk is gone after them, and no other choice that fits removes {}.",
                        share > 0 && share < 0.1 ? "under 0.1" : two_figures(share),
                        made.removes_microrisk == made.bound_of_any_choice
                            ? std::string("more (proved)")
                            : fmt::format("over {:.4g} times as much (proved bound)",
                                          static_cast<double>(made.bound_of_any_choice) /
                                              static_cast<double>(std::max(1LL, made.removes_microrisk))));
    const auto buys = std::find_if(made.steps.begin(), made.steps.end(),
                                   [](const RepairStep& s) { return s.step.rfind("buy-", 0) == 0; });
    if (buys != made.steps.end() && std::any_of(buys, made.steps.end(), [](const RepairStep& s) { return s.cost > 0; }))
        text += fmt::format(" Minutes are those at the bench: what has to be ordered ends the evening at step {}.",
                            buys->order);
    return text;
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
                                    {"visit", step.visit > 0 ? Json(step.visit) : Json()},
                                    {"tools", strings(step.tools)},
                                    {"lifted", strings(step.lifted)},
                                    {"predecessors", std::move(before)},
                                    {"minutes", number(step.minutes)},
                                    {"p_seconds", step.p_seconds},
                                    {"w_microrisk", step.w_microrisk},
                                    {"block", step.block},
                                    {"cost", number(step.cost)},
                                    {"risk_removed", number(step.risk_removed)},
                                    {"reason", text_or_null(step.reason)},
                                    {"check", text_or_null(step.check)},
                                    {"if_last", text_or_null(step.if_last)}});
        }
        json["objective"] = made->objective;
        json["lower_bound"] = made->lower_bound;
        json["bound_of_any_order"] = made->bound_of_any_order;
        json["objective_by_risk"] = made->objective_by_risk > 0 ? Json(made->objective_by_risk) : Json();
        json["minutes_by_risk"] = made->objective_by_risk > 0 ? number(made->minutes_by_risk) : Json();
        json["gap"] = number(made->gap);
        json["optimal"] = made->optimal;
        json["tag"] = made->tag;
        const bool limited = options.steps.limited();
        json["removes_microrisk"] = limited ? Json(made->removes_microrisk) : Json();
        json["bound_of_any_choice"] = limited ? Json(made->bound_of_any_choice) : Json();
        json["left_out"] = strings(made->left_out);
        json["pick_up"] = text_or_null(made->pick_up);
        json["curves"] = Json::array();
        for (const auto& [name, points] : {std::pair{"this order", &made->curve},
                                           {"the list worked off", &made->curve_by_list},
                                           {"best ratio first", &made->curve_greedy}})
            json["curves"].push_back(curve_json(name, *points));
        json["policies"] = Json::array();
        for (const PolicySetting& setting : policy_settings(study.policy()))
            json["policies"].push_back({{"setting", setting.about}, {"taken", setting.taken}});
        if (!study.progress().log.file.empty()) json["page"] = study.progress().log.entries;
        return {dumped(json), stops(study) || made->doubted, false};
    }
    if (!made) return refused(study, "repair plan", made.notices(), options);

    Page page(options.colour);
    set_words(page, study, "repair plan, the most danger first");
    double minutes = 0, cost = 0;
    for (const RepairStep& step : made->steps) {
        minutes += step.minutes;
        cost += step.cost;
    }
    std::string summary = fmt::format("{} {}, {}, {} {} of parts by the table.", made->steps.size(),
                                      made->steps.size() == 1 ? "step" : "steps", minutes_words(minutes), money(cost),
                                      study.policy().currency);
    summary += choice_words(study, *made, options.steps) + proof_words(*made);
    page.paragraph(summary);
    if (options.all && !made->steps.empty())
        page.paragraph(fmt::format(
            "In seconds times weights of the steps: objective {}, lower bound {}, gap {} %{}; of any order at all {}.",
            made->objective, made->lower_bound, made->gap > 0 ? two_figures(100 * made->gap) : "0",
            made->optimal ? ", proved optimal" : "", made->bound_of_any_order));
    if (const std::string beside = beside_by_risk(*made, minutes); !beside.empty()) page.paragraph(beside);
    if (const double half = minutes_to(made->curve, 0.5), most = minutes_to(made->curve, 0.1); half > 0 && most > 0)
        page.paragraph(
            fmt::format("Half of the listed danger is gone after {}, nine tenths after {}; working down the "
                        "list that takes {} and {}.",
                        minutes_words(half), minutes_words(most), minutes_words(minutes_to(made->curve_by_list, 0.5)),
                        minutes_words(minutes_to(made->curve_by_list, 0.1))));
    page.paragraph(made->steps.empty() && made->left_out.empty() && !study.progress().log.file.empty()
                       ? "By the log every step is done."
                       : "Until the last hard rule (H) is met the answer to \"may I plug it in\" is no.");
    const bool chosen = options.steps.limited();
    if (const LogHead& log = study.progress().log; !made->steps.empty() && (!log.file.empty() || chosen))
        page.paragraph(page_words(*made, log.entries, chosen));
    std::vector<Notice> lesser;
    for (const Notice& notice : made.notices()) {
        if (notice.severity == Severity::stop)
            page.point("STOP: " + notice.message + (notice.remedy.empty() ? std::string() : "; " + notice.remedy));
        else
            lesser.push_back(notice);
    }
    doubts(page, lesser);
    std::string place = "\x01";
    std::map<std::string, int> printed;  // clauses, by the step where they stand
    bool turned = false;                 // the step before was a turn
    for (const RepairStep& step : made->steps) {
        const bool turn = step.acts.empty() && step.visit > 0;
        if (!turned || options.all) page.blank();
        turned = turn;
        if (step.place != place && !turn && !step.place.empty()) page.paragraph("-- " + step.place + " --");
        place = step.place;
        const std::string head =
            turn ? "-- " + step.does + " -- " + minutes_words(step.minutes)  // the head of what is done there
            : step.does.rfind(place + ": ", 0) == 0 && !place.empty() ? step.does.substr(place.size() + 2)
                                                                      : step.does;
        const std::vector<std::string> does = wrap(head, page_width - 8);
        for (std::size_t i = 0; i < does.size(); ++i)
            page.verbatim((i == 0 ? fmt::format("[ ] {:>2}. ", step.order) : std::string(8, ' ')) + does[i]);
        if (turn) {
            if (step.reason.rfind("again", 0) == 0 && !options.all) page.paragraph("why: " + step.reason, 8, 5);
            if (!options.all) continue;
        }
        std::string figures = minutes_words(step.minutes);
        if (step.cost > 0) figures += fmt::format(", {} {}", money(step.cost), study.policy().currency);
        std::vector<std::string> tools = step.tools;  // what everybody has is not told
        std::erase_if(tools, [](const std::string& t) { return t == "eyes" || t == "hand" || t == "pencil"; });
        if (!tools.empty()) figures += "; with " + joined(tools, ", ");
        if (options.all && !step.parts.empty()) figures += "; " + joined(step.parts, ", ");
        std::vector<std::string> rules;
        for (const StepLink& link : step.predecessors) {
            if (!link.rule.empty() && std::find(rules.begin(), rules.end(), link.rule) == rules.end())
                rules.push_back(link.rule);
        }
        // Hard rules first, then soft ones; access, charge and list are said with --all.
        std::erase_if(rules, [](const std::string& r) { return r.find_first_of("0123456789") == std::string::npos; });
        std::stable_sort(rules.begin(), rules.end(),
                         [](const std::string& a, const std::string& b) { return (a[0] == 'H') > (b[0] == 'H'); });
        if (!rules.empty() && !options.all) figures += "; held here by " + joined(rules, ", ");
        if (!turn) page.paragraph(figures, 8);
        if (!step.reason.empty() && !turn)
            page.paragraph("why: " + (options.all ? step.reason : once(step.reason, step.order, printed)), 8, 5);
        if (!step.check.empty() && !turn) page.paragraph("check: " + step.check, 8, 7);
        if (!step.if_last.empty() && !turn)
            page.paragraph(
                "if left for last: " + (options.all ? step.if_last : once(step.if_last, step.order, printed)), 8, 5);
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
            if (one.rfind("turn-to-", 0) != 0) page.point(step == whole->steps.end() ? one : step->does);
        }
    }
    if (!made->pick_up.empty()) {
        const Outcome<RepairOrder> whole = study.repair_order({});
        const auto next = std::find_if(whole->steps.begin(), whole->steps.end(),
                                       [&](const RepairStep& s) { return s.step == made->pick_up; });
        if (next != whole->steps.end()) {
            const bool turn = next->acts.empty() && next->visit > 0 && next + 1 != whole->steps.end();
            page.paragraph("Pick up again at: " + next->does + (turn ? ", then " + (next + 1)->does : "") + ".", 0, 2);
        }
    }
    page.heading(chosen && !made->steps.empty() ? "tag for the set, when these steps are done"
                                                : "tag for the set, as it stands now");
    tag(page, made->tag);
    if (!options.all) page.paragraph("--all says which step waits for which, and by what rule.");
    assumed(page, study, options.all);
    cautions(page, study.cautions(), options.all);
    return {page.take(), stops(study) || made->doubted, false};
}

}  // namespace tubewright
