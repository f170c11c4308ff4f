// SPDX-License-Identifier: MIT
// `policy`: the settings on which the trade disagrees, each with its choices, its default and the reason for it, then
// the numbers, with what is taken. Tests: tests/report/policy_test.cpp.
#include <fmt/core.h>

#include "policy/policy.hpp"
#include "report/bench_words.hpp"
#include "report/envelope.hpp"

namespace tubewright {
namespace {

using namespace report;

std::string plain(double value) {
    return fmt::format("{}", value);
}

Json choices_json(const PolicySetting& setting) {
    Json choices = Json::array();
    for (const PolicySetting::Choice& choice : setting.choices)
        choices.push_back({{"name", choice.name}, {"says", choice.says}});
    return {{"setting", setting.about},
            {"taken", setting.taken},
            {"default", setting.choices.front().name},
            {"reason", setting.reason},
            {"choices", std::move(choices)}};
}

}  // namespace

Answer report_policy(const Policy& policy, const ReportOptions& options) {
    if (options.format == Format::json) {
        Json json;
        json["schema"] = "tubewright/policy/1";
        json["version"] = TUBEWRIGHT_VERSION;
        json["rows"] = Json::array();
        for (const PolicySetting& setting : policy_settings(policy)) json["rows"].push_back(choices_json(setting));
        json["numbers"] = Json::array();
        for (const PolicyNumber& one : policy_numbers(policy))
            json["numbers"].push_back({{"key", one.key},
                                       {"unit", one.unit},
                                       {"default", number(one.usual)},
                                       {"taken", number(one.taken)},
                                       {"reason", one.reason}});
        json["fuse_family"] = text_or_null(policy.fuse_family);
        json["currency"] = policy.currency;
        json["year"] = policy.today_year;
        return {dumped(json), false, false};
    }
    Page page(options.colour);
    page.title("Settings", "what the trade disagrees on, and what is taken");
    page.paragraph("By name: --policy NAME,NAME of survey, steps, shop, powerup and log. > marks what is taken.");
    for (const PolicySetting& setting : policy_settings(policy)) {
        page.heading(setting.about);
        for (const PolicySetting::Choice& choice : setting.choices) {
            const bool usual = choice.name == setting.choices.front().name, only = setting.choices.size() == 1;
            page.paragraph(
                fmt::format("{} {}: {}{}", choice.name == setting.taken ? ">" : "-", choice.name, choice.says,
                            only    ? " (no other)"
                            : usual ? " (default)"
                                    : ""),
                0, 2);
        }
        page.paragraph("why: " + setting.reason, 2, 5);
    }
    page.heading("numbers: --assume key=value");
    Table table({{"key"}, {"taken", Align::right}, {"default", Align::right}, {"unit"}, {"why", Align::left, true}});
    for (const PolicyNumber& one : policy_numbers(policy))
        table.row({one.key, plain(one.taken), plain(one.usual), one.unit, one.reason});
    page.table(table, 0);
    page.paragraph(fmt::format("fuse-family {}; currency {}; year {}, to which ages are counted.",
                               policy.fuse_family.empty()
                                   ? "as sold where the line is (UL 248-14 below 150 V, else IEC 60127)"
                                   : policy.fuse_family,
                               policy.currency, policy.today_year));
    return {page.take(), false, false};
}

}  // namespace tubewright
