// SPDX-License-Identifier: MIT
// `windings`: the verdict first, then winding by winding what was read against the line's ratio, what the heaters will
// stand at in service, what brings them back, and what to read next. Tests: tests/cli/program_test.cpp.
#include <fmt/core.h>

#include <cmath>

#include "report/bench_words.hpp"
#include "report/envelope.hpp"

namespace tubewright {
namespace {

using namespace report;

std::string volts_or_dash(const std::optional<double>& v) {
    return v ? say(volts(*v)) : std::string("-");
}
std::string percent(double share) {
    return fmt::format("{:+.1f} %", 100 * share);
}
/// How sure, in words of the bench; the figure stays in JSON.
std::string sure(const WindingRow& row) {
    if (row.verdict == "fits" || row.verdict == "outlier") return "one reading";
    double good = 0, most = 0;
    for (const auto& [state, p] : row.likelihoods) {
        most = std::max(most, p);
        if (state == "healthy") good = p;
    }
    if (row.verdict == "half-imbalance") most = 1 - good;  // whatever it is that makes it low
    return row.likelihoods.empty() ? "-" : most > 0.95 ? "certain" : most > 0.8 ? "likely" : "possible";
}

Json windings_json(const Study& study, const WindingsVerdict& v) {
    Json json = envelope("windings", study, v.assumptions);
    for (const WindingRow& row : v.rows) {
        Json likelihoods = Json::object();
        for (const auto& [state, p] : row.likelihoods) likelihoods[state] = number(p);
        json["rows"].push_back({{"winding", row.winding},
                                {"design_volts", number(row.design_volts)},
                                {"read_volts", number(row.read_volts)},
                                {"line_volts_read", number(row.line_volts_read)},
                                {"expect_volts", number(row.expect_volts)},
                                {"low_volts", number(row.low_volts)},
                                {"high_volts", number(row.high_volts)},
                                {"ratio", number(row.ratio)},
                                {"residual", number(row.residual)},
                                {"verdict", row.verdict},
                                {"why", text_or_null(row.why)},
                                {"likelihoods", std::move(likelihoods)}});
    }
    json["factor"] = number(v.factor);
    json["no_load_rise"] = number(v.no_load_rise);
    json["verdict"] = v.verdict;
    json["because"] = strings(v.because);
    Json heaters = Json::array();
    for (const HeaterForecast& f : v.heaters)
        heaters.push_back({{"winding", f.winding},
                           {"volts", number(f.volts)},
                           {"low_volts", number(f.low_volts)},
                           {"high_volts", number(f.high_volts)},
                           {"rated_volts", number(f.rated_volts)},
                           {"within_a_tenth", f.within}});
    json["heater_forecast_volts"] = std::move(heaters);
    json["remedy"] = strings(v.remedy);
    json["read_next"] = strings(v.next);
    return json;
}

}  // namespace

Answer report_windings(const Study& study, const ReportOptions& options) {
    const Outcome<WindingsVerdict> made = study.windings(options.windings);
    if (options.format == Format::json) {
        if (!made) return refusal_json(envelope("windings", study), made.notices());
        return {dumped(windings_json(study, *made)), made->verdict == "not healthy" || audit_stops(study), false};
    }
    if (!made) return refused(study, "windings", made.notices(), options);
    Page page(options.colour);
    set_words(page, study, "power transformer, rectifier out");
    page.paragraph(fmt::format("Line {} where it is made for {}: a ratio of {:.4f}. In the sockets: {}.",
                               say(volts(made->line_volts)), say(volts(made->design_line_volts)), made->factor,
                               options.windings.heaters_in ? "all tubes but the rectifier" : "nothing"));
    page.heading("verdict: " + made->verdict);
    for (const std::string& one : made->because) page.point(one);

    page.heading("winding by winding");
    Table table({{"winding", Align::left, true},
                 {"made for", Align::right},
                 {"expect now", Align::right},
                 {"read", Align::right},
                 {"rise", Align::right},
                 {"verdict", Align::left, true},
                 {"how sure"}});
    for (const WindingRow& row : made->rows)
        table.row({row.winding, volts_or_dash(row.design_volts),
                   in_band(*row.low_volts, *row.low_volts, *row.high_volts) + " to " +
                       in_band(*row.high_volts, *row.low_volts, *row.high_volts) + " V",
                   volts_or_dash(row.read_volts), row.residual ? percent(*row.residual) : std::string("-"), row.verdict,
                   sure(row)});
    page.table(table);
    page.paragraph(
        "Rise: what is left of a reading over the line's ratio, by which a winding stands higher with its load "
        "off. Each half is read to the tap, never plate to plate.");
    for (const WindingRow& row : made->rows)
        if (!row.why.empty()) page.point(row.winding + ": " + row.why);

    if (!made->heaters.empty()) {
        page.heading("heaters in service, forecast");
        for (const HeaterForecast& f : made->heaters)
            page.point(
                fmt::format("{}: {} V ({} to {}), {} of {}: {}", f.winding, in_band(f.volts, f.low_volts, f.high_volts),
                            in_band(f.low_volts, f.low_volts, f.high_volts),
                            in_band(f.high_volts, f.low_volts, f.high_volts), percent(f.volts / f.rated_volts - 1),
                            say(volts(f.rated_volts)), f.within ? "within 10 %" : "OVER 10 % OFF"));
        for (const std::string& one : made->remedy) page.point(one);
    }
    if (!made->next.empty()) {
        page.heading("read next");
        for (const std::string& one : made->next) page.point(one);
    }
    cautions(page, study.cautions(), options.all);
    assumed(page, study, options.all, made->assumptions);
    return {page.take(), made->verdict == "not healthy" || audit_stops(study), false};
}

}  // namespace tubewright
