// SPDX-License-Identifier: MIT
// `shop`: the list to buy by, in few part numbers, with the rating that the solve asks for and why. Tests:
// tests/report/answers_test.cpp.
#include <fmt/core.h>

#include <algorithm>
#include <set>

#include "report/bench_words.hpp"
#include "report/envelope.hpp"
#include "terms/csv.hpp"

namespace tubewright {
namespace {

using namespace report;

std::string joined(const std::vector<std::string>& list, const char* between) {
    std::string text;
    for (const std::string& one : list) text += (text.empty() ? "" : between) + one;
    return text;
}

std::string money(double amount) {
    return fmt::format("{:.2f}", amount);
}

/// "C10: this; C12: that" taken apart by the parts of the line: what is said, and of whom; the same of several once.
std::vector<std::pair<std::string, std::string>> by_part(const std::string& text,
                                                         const std::vector<std::string>& parts) {
    std::vector<std::pair<std::size_t, std::string>> begins;
    for (const std::string& part : parts) {
        const std::size_t at = text.starts_with(part + ": ") ? 0 : text.find("; " + part + ": ");
        if (at != std::string::npos) begins.emplace_back(at == 0 ? 0 : at + 2, part);
    }
    std::vector<std::pair<std::string, std::string>> said;  // text, parts
    if (begins.empty()) {
        if (!text.empty()) said.emplace_back(text, "");
        return said;
    }
    std::sort(begins.begin(), begins.end());
    for (std::size_t i = 0; i < begins.size(); ++i) {
        const std::size_t from = begins[i].first + begins[i].second.size() + 2;
        const std::size_t to = i + 1 < begins.size() ? begins[i + 1].first - 2 : text.size();
        const std::string what = text.substr(from, to - from);
        const auto same = std::find_if(said.begin(), said.end(), [&](const auto& one) { return one.first == what; });
        if (same == said.end()) {
            said.emplace_back(what, begins[i].second);
        } else {
            same->second += ", " + begins[i].second;
        }
    }
    return said;
}

/// "Not 450 V: C1 495 V is needed; C2 473 V is needed": one sentence a rating.
std::vector<std::string> not_smaller(const ShopLine& line, bool all) {
    std::vector<std::pair<std::string, std::string>> ratings;  // "450 V", the rest
    for (const auto& [what, who] : by_part(line.next_smaller_fails_by, line.for_parts)) {
        if (what.starts_with("no smaller")) continue;
        if (!all && what.find("would hold") != std::string::npos) continue;
        const std::size_t colon = std::min(what.find(": "), what.size());
        const std::string rating = colon < what.size() ? what.substr(0, colon) : "smaller";
        const std::string rest = (line.for_parts.size() > 1 ? who + " " : std::string()) +
                                 (colon < what.size() ? what.substr(colon + 2) : what);
        const auto same =
            std::find_if(ratings.begin(), ratings.end(), [&](const auto& one) { return one.first == rating; });
        if (same == ratings.end())
            ratings.emplace_back(rating, rest);
        else
            same->second += "; " + rest;
    }
    std::vector<std::string> lines;
    for (const auto& [rating, rest] : ratings) lines.push_back("not " + rating + (rest.empty() ? "" : ": " + rest));
    return lines;
}

std::string head_of(const ShopLine& line) {
    std::string head = line.what;
    if (!line.value_text.empty()) head += ", " + line.value_text;
    if (line.rated_volts) head += ", " + say(volts(*line.rated_volts)) + (line.safety_class.empty() ? "" : " AC");
    if (line.rated_watts) head += ", " + say(watts(*line.rated_watts));
    return head;
}

/// A sheet to send to a shop: RFC 4180.
std::string sheet(const ShoppingList& list) {
    std::string text =
        "line,group,quantity,spares,what,value,farads,ohms,volts,watts,class,for,package,unit_cost,total_cost,"
        "currency\n";
    const auto plain = [](const std::optional<double>& x) { return x ? fmt::format("{:.6g}", *x) : std::string(); };
    const auto amount = [](const std::optional<double>& x) { return x ? money(*x) : std::string(); };
    for (const ShopLine& l : list.lines) {
        const std::vector<std::string> fields{std::to_string(l.line),
                                              l.group,
                                              std::to_string(l.quantity),
                                              std::to_string(l.spares),
                                              l.what,
                                              l.value_text,
                                              plain(l.value_farads),
                                              plain(l.value_ohms),
                                              plain(l.rated_volts),
                                              plain(l.rated_watts),
                                              l.safety_class,
                                              joined(l.for_parts, " "),
                                              l.package,
                                              amount(l.unit_cost),
                                              amount(l.total_cost),
                                              list.currency};
        for (std::size_t k = 0; k < fields.size(); ++k) text += (k == 0 ? "" : ",") + csv_field(fields[k]);
        text += "\n";
    }
    return text;
}

Json remedies(const ShoppingList& list) {
    Json rows = Json::array();
    for (const Remedy& r : list.remedies) {
        Json ways = Json::array();
        for (const RemedyWay& w : r.ways)
            ways.push_back({{"what", w.what},
                            {"ohms", number(w.ohms)},
                            {"rated_watts", number(w.watts)},
                            {"farads", number(w.farads)},
                            {"volts", number(w.volts)},
                            {"amps", number(w.amps)},
                            {"says", w.says},
                            {"danger", text_or_null(w.danger)}});
        rows.push_back({{"part", text_or_null(r.part)},
                        {"topic", r.topic},
                        {"says", r.says},
                        {"wanted", r.wanted},
                        {"ways", std::move(ways)}});
    }
    return rows;
}

Json polarity(const ShoppingList& list) {
    Json rows = Json::array();
    for (const PolarityRow& r : list.polarity)
        rows.push_back({{"part", r.part},
                        {"plus_to", r.plus_to},
                        {"minus_to", r.minus_to},
                        {"idle_volts", number(r.idle)},
                        {"warm_up_volts", number(r.warm_up)},
                        {"no_load_volts", number(r.no_load)},
                        {"told", r.told}});
    return rows;
}

void tell_polarity(Page& page, const ShoppingList& list) {
    if (list.polarity.empty()) return;
    page.heading("plus and minus, traced by eye to the lugs before the rectifier goes in (H23)");
    Table table({{"part"},
                 {"plus to", Align::left, true},
                 {"minus to", Align::left, true},
                 {"idle", Align::right},
                 {"warm-up", Align::right},
                 {"no load", Align::right}});
    const auto said = [](const std::optional<double>& v) { return v ? say(volts(*v)) : std::string("-"); };
    for (const PolarityRow& r : list.polarity)
        table.row({r.part, r.plus_to, r.minus_to, r.told ? said(r.idle) : std::string("by eye"), said(r.warm_up),
                   said(r.no_load)});
    page.table(table);
}

/// What is worked out beside the list: what the set needs now, the rest with --all.
void tell_remedies(Page& page, const ShoppingList& list, bool all) {
    bool headed = false;
    for (const Remedy& r : list.remedies) {
        if (!r.wanted && !all) continue;
        if (!headed) page.heading("worked out for this set");
        headed = true;
        page.paragraph((r.part.empty() ? "" : r.part + ", ") + r.topic + ": " + r.says + ".", 0, 4);
        int rank = 0;
        for (const RemedyWay& w : r.ways) {
            page.paragraph(
                fmt::format("{}{}: {}.", r.ways.size() > 1 ? fmt::format("{}. ", ++rank) : "", w.what, w.says), 4, 3);
            if (!w.danger.empty()) page.paragraph("Beware: " + w.danger + ".", 7, 0);
        }
    }
}

}  // namespace

Answer report_shop(const Study& study, const ReportOptions& options) {
    const Outcome<ShoppingList> made = study.shop();
    if (options.format == Format::csv && made) return {sheet(*made), stops(study), false};
    if (options.format == Format::json) {
        Json json = envelope("shop", study);
        if (!made) return refusal_json(std::move(json), made.notices());
        for (const ShopLine& line : made->lines) {
            json["rows"].push_back({{"line", line.line},
                                    {"quantity", line.quantity},
                                    {"what", line.what},
                                    {"group", line.group},
                                    {"value_text", line.value_text},
                                    {"value_farads", number(line.value_farads)},
                                    {"value_ohms", number(line.value_ohms)},
                                    {"rated_volts", number(line.rated_volts)},
                                    {"rated_watts", number(line.rated_watts)},
                                    {"safety_class", text_or_null(line.safety_class)},
                                    {"for_parts", strings(line.for_parts)},
                                    {"next_smaller_fails_by", text_or_null(line.next_smaller_fails_by)},
                                    {"unit_cost", number(line.unit_cost)},
                                    {"total_cost", number(line.total_cost)},
                                    {"why", line.why},
                                    {"spares", line.spares},
                                    {"package", text_or_null(line.package)}});
        }
        Json warnings = Json::array();
        for (const Notice& notice : made->warnings)
            warnings.push_back({{"number", notice.number},
                                {"severity", word(notice.severity)},
                                {"message", notice.message},
                                {"remedy", text_or_null(notice.remedy)}});
        json["warnings"] = std::move(warnings);
        json["cost"] = number(made->cost);
        json["cost_low"] = number(made->cost_low);
        json["cost_high"] = number(made->cost_high);
        json["spares_cost"] = number(made->spares_cost);
        json["prices_dated"] = made->prices_dated;
        json["remedies"] = remedies(*made);
        json["polarity"] = polarity(*made);
        return {dumped(json), stops(study), false};
    }
    if (!made) return refused(study, "shopping list", made.notices(), options);

    Page page(options.colour);
    set_words(page, study, "shopping list");
    page.paragraph(
        "Ratings are for the worst of all conditions, at the upper line limit, not for the normal volts. Line " +
        line_words(study) + ".");
    doubts(page, made.notices());
    for (const Notice& notice : made->warnings)
        page.point((notice.severity == Severity::note    ? ""
                    : notice.severity == Severity::doubt ? "DOUBT: "
                                                         : "STOP: ") +
                   notice.message + (notice.remedy.empty() ? std::string() : "; " + notice.remedy));
    std::string group;
    std::set<std::string> told;  // shapes, each once
    bool first = true;
    for (const ShopLine& line : made->lines) {
        if (first || line.group != group) {
            group = line.group;
            page.heading(group.empty() ? "parts" : group);
            first = false;
        }
        std::string head = fmt::format("[ ] {} x {}", line.quantity, head_of(line));
        if (line.spares > 0) head += fmt::format(", +{} spare", line.spares);
        if (line.total_cost) head += fmt::format("  ({} {})", money(*line.total_cost), made->currency);
        page.paragraph(head, 0, 4);
        const auto reasons = by_part(line.why, line.for_parts);
        if (reasons.empty() && !line.for_parts.empty()) page.paragraph("for " + joined(line.for_parts, ", "), 4, 4);
        for (const auto& [what, who] : reasons) page.paragraph(who.empty() ? what : who + ": " + what, 4, 2);
        for (const std::string& smaller : not_smaller(line, options.all)) page.paragraph(smaller, 4, 2);
        if (!line.package.empty() && told.insert(line.package).second) page.paragraph("as: " + line.package, 4, 2);
    }
    if (made->lines.empty()) page.paragraph("Nothing to buy by this policy.");
    if (made->cost_low && made->cost_high) {
        page.blank();
        page.paragraph(fmt::format(
            "In all {} {} by the table, {} to {} where you buy{} (prices of {}: common practice, no source; --prices "
            "takes your own).",
            money(made->cost.value_or(0)), made->currency, two_figures(*made->cost_low), two_figures(*made->cost_high),
            made->spares_cost > 0 ? fmt::format("; the spares {} more", money(made->spares_cost)) : std::string(),
            made->prices_dated));
        if (const Outcome<Survey> all = study.survey(); all && all->hours_high > 0)
            page.paragraph(
                fmt::format("The whole restoration: {} to {} hours and {} to {} {}, with what is measured and "
                            "then goes (wide, assumed; survey has the parts).",
                            two_figures(all->hours_low), two_figures(all->hours_high), two_figures(all->cost_low),
                            two_figures(all->cost_high), made->currency));
    }
    tell_polarity(page, *made);
    tell_remedies(page, *made, options.all);
    assumed(page, study, options.all);
    cautions(page, study.cautions(), options.all);
    return {page.take(), stops(study), false};
}

}  // namespace tubewright
