// SPDX-License-Identifier: MIT
// `stress`: what each part sees at its worst against its rating. Default: what is over 80 % of a rating, or has a
// remark. JSON: a row a part, with all its scenarios
// and all its ratings. Tests: tests/report/answers_test.cpp.
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
    if (!lead.empty()) text += " " + (part.kind == PartKind::socket ? electrode_words(lead) : lead);
    return text;
}

std::string share_words(const StressRating& rating) {
    const std::string share = fmt::format("{:.0f} %", 100 / rating.rating_over_stress);
    return rating.rating_over_stress < 1 ? "OVER " + share : share;
}

/// "1.5 of 1 W"; volts that are too few, "5.2, at least 5.7 V".
std::string figures_words(const StressRating& rating) {
    if (rating.unit == 'A') return say(amps(rating.stress)) + " of " + say(amps(rating.rated));
    return in_band(rating.stress, rating.stress, rating.stress) +
           (rating.quantity.ends_with(" low") ? ", at least " : " of ") +
           in_band(rating.rated, rating.rated, rating.rated) + " " + rating.unit;
}

/// The quantity without the lead that the part's name carries already.
std::string quantity_words(const PartStress& row, const StressRating& rating) {
    return !row.lead.empty() && rating.quantity.starts_with(row.lead + " ")
               ? rating.quantity.substr(row.lead.size() + 1)
               : rating.quantity;
}

/// A heater a little under its volts is in the middle of its tolerance, not near the end of it.
bool is_near(const StressRating& rating) {
    return rating.rating_over_stress < (rating.quantity.ends_with(" low") ? 1 : 1 / shown_above);
}

Json rating_json(const StressRating& rating) {
    const char* stress = rating.unit == 'V' ? "stress_volts" : rating.unit == 'W' ? "stress_watts" : "stress_amps";
    const char* rated = rating.unit == 'V' ? "rated_volts" : rating.unit == 'W' ? "rated_watts" : "rated_amps";
    return {{"quantity", rating.quantity},
            {"scenario", rating.scenario},
            {stress, number(rating.stress)},
            {rated, number(rating.rated)},
            {"rating_over_stress", number(rating.rating_over_stress)},
            {"rated_source", rating.source}};
}

/// The remark without what the table says already.
std::string remark_words(const PartStress& row) {
    std::string text, rest = row.remark;
    while (!rest.empty()) {
        const std::size_t end = rest.find("; ");
        const std::string item = rest.substr(0, end);
        rest = end == std::string::npos ? std::string() : rest.substr(end + 2);
        if (item.starts_with("over its")) continue;
        text += (text.empty() ? "" : "; ") + item;
    }
    return text;
}

/// A meter held on it would show it reversed: more than the contact potential of hot tubes on a dead supply.
bool is_reversed(const PartStress& row) {
    return row.plus_minus_low_volts && *row.plus_minus_low_volts < -1.5;
}

/// A rated quantity of a part; no rating: one of which none is known.
using Line = std::pair<const PartStress*, const StressRating*>;

std::vector<Column> rating_columns() {
    return {{"of rating", Align::right},
            {"part", Align::left, true},
            {"quantity", Align::left, true},
            {"worst", Align::right},
            {"when"}};
}

/// The nearest to its rating first.
void rate(Table& table, const Chassis& chassis, std::vector<Line> lines) {
    std::stable_sort(lines.begin(), lines.end(), [](const Line& x, const Line& y) {
        return (x.second == nullptr ? 1e9 : x.second->rating_over_stress) <
               (y.second == nullptr ? 1e9 : y.second->rating_over_stress);
    });
    for (const auto& [row, rating] : lines) {
        const std::string name = part_words(chassis.parts()[static_cast<std::size_t>(row->part)], row->lead);
        if (rating == nullptr) {
            table.row({"-", name, "-", "-", row->worst.scenario});
        } else {
            table.row(
                {share_words(*rating), name, quantity_words(*row, *rating), figures_words(*rating), rating->scenario});
        }
    }
}

/// What is near its rating in the set as it will be and is not as it stands.
void once_back(Page& page, const Study& study, const std::vector<PartStress>& now) {
    const Outcome<std::vector<PartStress>> back = study.stress_in_service();
    if (!back || *back == now) return;
    std::vector<Line> lines;
    for (const PartStress& row : *back)
        for (const StressRating& rating : row.ratings) {
            const auto same = std::find_if(now.begin(), now.end(), [&](const PartStress& other) {
                return other.part == row.part && other.lead == row.lead;
            });
            const bool told = same != now.end() &&
                              std::any_of(same->ratings.begin(), same->ratings.end(), [&](const StressRating& other) {
                                  return other.quantity == rating.quantity && is_near(other);
                              });
            if (is_near(rating) && !told) lines.emplace_back(&row, &rating);
        }
    if (lines.empty()) return;
    page.heading("with what is open or out back in place: over 80 % then alone");
    Table table(rating_columns());
    rate(table, study.as_it_stands(), std::move(lines));
    page.table(table);
}

/// Of what is not there in a condition there are no figures.
Json at_json(const StressAt& at) {
    const auto figure = [&](double value) { return at.absent ? Json() : number(value); };
    return {{"scenario", at.scenario},
            {"dc_volts", figure(at.dc_volts)},
            {"crest_volts", figure(at.crest_volts)},
            {"ac_volts_rms", figure(at.ac_volts_rms)},
            {"ripple_amps_rms", figure(at.ripple_amps_rms)},
            {"peak_amps", figure(at.peak_amps)},
            {"watts", figure(at.watts)}};
}

}  // namespace

Answer report_stress(const Study& study, const ReportOptions& options) {
    const Outcome<std::vector<PartStress>> made = study.stress();
    const Chassis& chassis = study.as_it_stands();
    if (options.format == Format::json) {
        Json json = envelope("stress", study);
        if (!made) return refusal_json(std::move(json), made.notices());
        const auto add = [&](const PartStress& row, Json& to) {
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
            if (!here) return;
            const auto figure = [&](double value) { return shown.absent ? Json() : number(value); };
            Json ratings = Json::array();
            for (const StressRating& rating : row.ratings) ratings.push_back(rating_json(rating));
            to.push_back({{"part", part.id},
                          {"lead", text_or_null(row.lead)},
                          {"kind", word(part.kind)},
                          {"scenario", shown.scenario},
                          {"dc_volts", figure(shown.dc_volts)},
                          {"crest_volts", figure(shown.crest_volts)},
                          {"ac_volts_rms", figure(shown.ac_volts_rms)},
                          {"ripple_amps_rms", figure(shown.ripple_amps_rms)},
                          {"peak_amps", figure(shown.peak_amps)},
                          {"watts", figure(shown.watts)},
                          {"plus_minus_low_volts", number(row.plus_minus_low_volts)},
                          {"plus_minus_high_volts", number(row.plus_minus_high_volts)},
                          {"rated_volts", number(row.rated_volts)},
                          {"rated_watts", number(row.rated_watts)},
                          {"rated_amps", number(row.rated_amps)},
                          {"stress_volts", number(row.stress_volts)},
                          {"stress_watts", number(row.stress_watts)},
                          {"stress_amps", number(row.stress_amps)},
                          {"rated_source", text_or_null(row.rated_source)},
                          {"rating_over_stress", number(row.rating_over_stress)},
                          {"limiting", text_or_null(row.limiting)},
                          {"ratings", std::move(ratings)},
                          {"volts_scenario", text_or_null(row.volts_scenario)},
                          {"watts_scenario", text_or_null(row.watts_scenario)},
                          {"ripple_scenario", text_or_null(row.ripple_scenario)},
                          {"remark", text_or_null(row.remark)},
                          {"scenarios", std::move(scenarios)}});
        };
        for (const PartStress& row : *made) add(row, json["rows"]);
        json["in_service"] = Json::array();
        if (const Outcome<std::vector<PartStress>> back = study.stress_in_service(); back && *back != *made)
            for (const PartStress& row : *back) add(row, json["in_service"]);
        return {dumped(json), stops(study), false};
    }
    if (!made) return refused(study, "stress", made.notices(), options);

    Page page(options.colour);
    set_words(page, study, "the worst that each part sees");
    as_found(page, study);
    conditions(page, study, false);
    doubts(page, made.notices());
    std::vector<const PartStress*> rows;
    std::size_t within = 0;
    for (const PartStress& row : *made) {
        const bool near = std::any_of(row.ratings.begin(), row.ratings.end(), is_near);
        if (near || !row.remark.empty() || options.all) {
            rows.push_back(&row);
        } else {
            ++within;
        }
    }
    if (const Outcome<VoltsView> high = study.volts(Scenario::high_line))
        page.paragraph("All conditions but the normal one at " + say(volts(high->solution().line_volts)) +
                       ", the upper limit.");
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
                if (at.absent) {
                    table.row({part_words(part, row->lead), "not there", "-", "-", "-", "-"});
                    continue;
                }
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
        Table table(rating_columns());
        std::vector<Line> lines;
        for (const PartStress* row : rows) {
            // of a tube's remark the point below is enough
            const Part& part = chassis.parts()[static_cast<std::size_t>(row->part)];
            if (row->ratings.empty() && (options.all || part.kind != PartKind::socket))
                lines.emplace_back(row, nullptr);
            for (const StressRating& rating : row->ratings)
                if (&rating == &row->ratings.front() || is_near(rating)) lines.emplace_back(row, &rating);
        }
        rate(table, chassis, std::move(lines));
        std::vector<std::string> remarks;
        for (const PartStress* row : rows)
            if (const std::string remark = remark_words(*row); !remark.empty())
                remarks.push_back(part_words(chassis.parts()[static_cast<std::size_t>(row->part)], row->lead) + ": " +
                                  remark);
        page.table(table);
        for (const std::string& remark : remarks) page.point(remark);
    }
    if (within > 0)
        page.paragraph(
            fmt::format("{} more are within 80 % of their ratings, or have none: --all lists them.", within));

    if (options.scenario.empty()) once_back(page, study, *made);

    Table polarity({{"electrolytic"},
                    {"plus to minus, lowest", Align::right},
                    {"highest", Align::right},
                    {"rated", Align::right},
                    {""}});
    for (const PartStress& row : *made) {
        if (!row.plus_minus_low_volts || !row.plus_minus_high_volts) continue;
        const Part& part = chassis.parts()[static_cast<std::size_t>(row.part)];
        const double low = *row.plus_minus_low_volts, high = *row.plus_minus_high_volts;
        const std::string verdict = is_reversed(row) ? "REVERSED: turn it, or trace it again"
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
    cautions(page, study.cautions(), options.all);
    return {page.take(), stops(study), false};
}

}  // namespace tubewright
