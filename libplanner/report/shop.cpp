// SPDX-License-Identifier: MIT
// `shop`: the list to buy by, in few part numbers, with the rating that the solve asks for and why. Tests:
// tests/report/answers_test.cpp.
#include <fmt/core.h>

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

}  // namespace

Answer report_shop(const Study& study, const ReportOptions& options) {
    const Outcome<ShoppingList> made = study.shop();
    if (options.format == Format::json) {
        Json json = envelope("shop", study, options);
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
        json["cost_low"] = number(made->cost_low);
        json["cost_high"] = number(made->cost_high);
        return {dumped(json), false, false};
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
        if (!line.safety_class.empty() && line.what.find(line.safety_class) == std::string::npos)
            head += ", class " + line.safety_class;
        if (line.total_cost) head += fmt::format("  ({} {})", money(*line.total_cost), made->currency);
        page.paragraph(head, 0, 4);
        if (!line.for_parts.empty()) page.paragraph("for " + joined(line.for_parts, ", "), 4, 4);
        if (!line.why.empty()) page.paragraph(line.why, 4, 2);
        if (!line.next_smaller_fails_by.empty())
            page.paragraph("the next smaller will not do: " + line.next_smaller_fails_by, 4, 2);
    }
    if (made->lines.empty()) page.paragraph("Nothing to buy by this policy.");
    if (made->cost_low && made->cost_high) {
        page.blank();
        page.paragraph(fmt::format("In all {} to {} {} (prices: common practice, no source).",
                                   two_figures(*made->cost_low), two_figures(*made->cost_high), made->currency));
    }
    assumed(page, study, options.all);
    cautions(page, study.cautions());
    return {page.take(), false, false};
}

}  // namespace tubewright
