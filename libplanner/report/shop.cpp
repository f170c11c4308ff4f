// SPDX-License-Identifier: MIT
// `shop`: the list to buy by, in few part numbers, with the rating that the solve asks for and why. Tests:
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

std::string money(double amount) {
    return fmt::format("{:.2f}", amount);
}

/// "C10: this; C12: that" taken apart by the parts of the line; parts of the same text stand together.
std::vector<std::string> by_part(const std::string& text, const std::vector<std::string>& parts) {
    std::vector<std::pair<std::size_t, std::string>> begins;
    for (const std::string& part : parts) {
        const std::size_t at = text.starts_with(part + ": ") ? 0 : text.find("; " + part + ": ");
        if (at != std::string::npos) begins.emplace_back(at == 0 ? 0 : at + 2, part);
    }
    if (begins.empty()) return text.empty() ? std::vector<std::string>{} : std::vector<std::string>{text};
    std::sort(begins.begin(), begins.end());
    std::vector<std::pair<std::string, std::string>> said;  // text, parts
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
    std::vector<std::string> lines;
    for (const auto& [what, who] : said) lines.push_back(who + ": " + what);
    return lines;
}

}  // namespace

Answer report_shop(const Study& study, const ReportOptions& options) {
    const Outcome<ShoppingList> made = study.shop();
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
                                    {"why", line.why}});
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
    bool first = true;
    for (const ShopLine& line : made->lines) {
        if (first || line.group != group) {
            group = line.group;
            page.heading(group.empty() ? "parts" : group);
            first = false;
        }
        std::string head = fmt::format("[ ] {} x {}", line.quantity, line.what);
        if (!line.value_text.empty()) head += ", " + line.value_text;
        if (line.rated_volts) head += ", " + say(volts(*line.rated_volts));
        if (line.rated_watts) head += ", " + say(watts(*line.rated_watts));
        if (!line.safety_class.empty() && line.what.find(line.safety_class) == std::string::npos)
            head += ", class " + line.safety_class;
        if (line.total_cost) head += fmt::format("  ({} {})", money(*line.total_cost), made->currency);
        page.paragraph(head, 0, 4);
        const std::vector<std::string> reasons = by_part(line.why, line.for_parts);
        if (reasons.empty() && !line.for_parts.empty()) page.paragraph("for " + joined(line.for_parts, ", "), 4, 4);
        for (const std::string& reason : reasons) page.paragraph(reason, 4, 2);
        for (const std::string& smaller : by_part(line.next_smaller_fails_by, line.for_parts)) {
            if (!options.all && smaller.find("would hold") != std::string::npos) continue;
            page.paragraph("not smaller: " + smaller, 4, 2);
        }
    }
    if (made->lines.empty()) page.paragraph("Nothing to buy by this policy.");
    if (made->cost_low && made->cost_high) {
        page.blank();
        page.paragraph(
            fmt::format("In all {} {} by the table, {} to {} where you buy (prices: common practice, no source).",
                        money(made->cost.value_or(0)), made->currency, two_figures(*made->cost_low),
                        two_figures(*made->cost_high)));
    }
    assumed(page, study, options.all);
    cautions(page, study.cautions(), options.all);
    return {page.take(), stops(study), false};
}

}  // namespace tubewright
