// SPDX-License-Identifier: MIT
// See protection.hpp.
#include "report/protection.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <map>
#include <numeric>
#include <set>

#include "report/bench_words.hpp"

namespace tubewright::report {
namespace {

constexpr std::size_t rows_shown = 10, unseen_shown = 8;

Json figures(const FuseStudy& study) {
    const auto known = [](double x) { return x > 0 ? number(x) : Json(); };
    return {{"fuse_amps", known(study.amps)},
            {"fuse_standard", text_or_null(study.standard)},
            {"fuse_volts", known(study.rated_volts)},
            {"volts_needed", known(study.volts_needed)},
            {"volts_held", study.holds_volts},
            {"breaking_amps", known(study.breaking_amps)},
            {"breaking_needed_amps", known(study.breaking_needed)},
            {"carried_amps_rms", number(study.carried_amps)},
            {"normal_over_rating", known(study.normal_over_rating)},
            {"heater_surge_amps_rms", known(study.surge_amps)},
            {"inrush_i2t", number(study.inrush_i2t)},
            {"inrush_test", study.inrush_i2t && study.melting_i2t ? Json("passed") : Json("not computed")},
            {"melting_i2t", number(study.melting_i2t)},
            {"why", text_or_null(study.why)},
            {"harmful_faults", study.harmful},
            {"unseen", study.unseen}};
}

struct Counts {
    std::size_t opens = 0, late = 0, may = 0, holds = 0;
};

/// A power transformer; in a set without one any scarce part.
bool harms(const ThreatReport& report, const Threat& t) {
    return !t.ahead_of_primary && t.solved && t.beta > 0 &&
           (report.transformer.empty() || report.is_power_transformer(t.target));
}

/// Each harmful fault once.
Counts counted(const ThreatReport& report, const FuseStudy& study) {
    Counts c;
    std::map<std::string, int> worst;  // of a fault that burns two transformers the one that it saves less
    for (std::size_t i = 0; i < report.rows.size() && i < study.verdicts.size(); ++i) {
        const Threat& t = report.rows[i];
        const std::string& v = study.verdicts[i].verdict;
        if (!harms(report, t) || v.empty()) continue;
        int& rank = worst[t.fault.id];
        rank = std::max(rank, v == "opens" ? 0 : v == "late" ? 1 : v == "may-open" ? 2 : 3);
    }
    for (const auto& [fault, rank] : worst) ++(rank == 0 ? c.opens : rank == 1 ? c.late : rank == 2 ? c.may : c.holds);
    return c;
}

std::string counts_words(const ThreatReport& report, const FuseStudy& study, const std::string& harmed) {
    const Counts c = counted(report, study);
    return fmt::format(
        "Of {} faults that harm {} it opens in time for {}, too late or perhaps too late for {}, may open for {}, "
        "holds "
        "for {}.",
        c.opens + c.late + c.may + c.holds, harmed.empty() ? std::string("a scarce part") : harmed, c.opens, c.late,
        c.may, c.holds);
}

std::string seen_words(const FuseVerdict& v) {
    std::string text = v.verdict;
    if (v.verdict == "may-open") text = "may open";
    if (v.latest_seconds) text += ", within " + time_range(v.latest_seconds, v.latest_seconds);
    return text;
}

std::string first_of(const std::vector<std::string>& ids, std::size_t most) {
    std::string text;
    for (std::size_t k = 0; k < ids.size() && k < most; ++k) text += (k == 0 ? "" : ", ") + ids[k];
    if (ids.size() > most) text += fmt::format(" and {} more", ids.size() - most);
    return text;
}

void line_fuse(Page& page, const ThreatReport& report, const FuseStudy& study, bool all) {
    if (study.amps <= 0) {
        page.paragraph("Line fuse: " + (study.why.empty() ? std::string("none found") : study.why) + ".");
        return;
    }
    std::string text =
        fmt::format("Line fuse: {}, time-lag, {} ({}). It carries {} at most{}, {} of its rating",
                    say(amps(study.amps)), say(volts(study.rated_volts)), study.standard, say(amps(study.carried_amps)),
                    report.others.empty() ? std::string()
                                          : " for " + report.power_transformers(" and ") + " and all else on the line",
                    two_figures(study.normal_over_rating));
    if (study.surge_amps > 0) text += "; cold heaters draw " + say(amps(study.surge_amps));
    if (study.inrush_i2t && study.melting_i2t)
        text += fmt::format("; the worst inrush is {} A2s (an upper bound), and {} A2s melt it",
                            two_figures(*study.inrush_i2t), two_figures(*study.melting_i2t));
    else if (study.inrush_i2t)
        text += "; the family publishes no melting I2t here, so that the inrush was not held against it";
    if (!study.why.empty()) text += "; " + study.why;
    page.paragraph(text + ".");
    page.paragraph(
        counts_words(report, study, report.power_transformers()) +
        (report.transformer.empty() ? " By its gates alone: times of damage are for a power transformer." : ""));
    const bool heated = !report.transformer.empty();
    const bool several = !report.others.empty();
    std::vector<Column> columns{{"harmful fault", Align::left, true},
                                {heated && !several ? "primary" : "line", Align::right},
                                {"times", Align::right},
                                {"the fuse", Align::left, true}};
    if (heated) columns.push_back({"180 C", Align::left, true});
    Table table(std::move(columns));
    std::set<std::string> told;
    std::size_t count = 0;
    std::vector<std::size_t> order(report.rows.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    if (several)
        std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
            return report.rows[a].criticality > report.rows[b].criticality;
        });
    for (const std::size_t i : order) {
        const Threat& t = report.rows[i];
        if (!harms(report, t) || (!several && !told.insert(t.fault.id).second)) continue;
        if (!all && count >= rows_shown) break;
        std::vector<std::string> row{several ? t.fault.id + ", to " + t.target : t.fault.id,
                                     say(amps(t.drawn_amps_rms)), two_figures(study.verdicts[i].times_rating),
                                     seen_words(study.verdicts[i])};
        if (heated) row.push_back(time_range(t.seconds_to_damage_low, t.seconds_to_damage_high));
        table.row(std::move(row));
        ++count;
    }
    page.table(table);
    if (heated) page.paragraph("Times its rating: by the current that hot copper leaves.");
    if (!study.unseen.empty())
        page.paragraph(
            "Not surely opened in time: " + first_of(study.unseen, all ? study.unseen.size() : unseen_shown) + ".");
    if (study.breaking_needed > study.breaking_amps && study.breaking_amps > 0)
        page.paragraph(
            fmt::format("A short behind it may draw {}, and it is made to break {}: one of high breaking "
                        "capacity belongs here.",
                        say(amps(study.breaking_needed)), say(amps(study.breaking_amps))));
}

void link(Page& page, const ThreatReport& report, const FuseStudy& study) {
    if (study.amps <= 0) {
        if (!report.transformer.empty()) page.paragraph("Link in the centre tap: none; " + study.why + ".");
        return;
    }
    std::string text = fmt::format(
        "Link in the centre tap: {}, time-lag. It carries {}, {} of its rating; open, it must hold {} at the peak, and "
        "direct current",
        say(amps(study.amps)), say(amps(study.carried_amps)), two_figures(study.normal_over_rating),
        say(volts(study.volts_needed)));
    if (!study.holds_volts)
        text += fmt::format(": an ordinary {} glass fuse is under-rated there; only a link made for those volts",
                            say(volts(study.rated_volts)));
    page.paragraph(text + ". " + counts_words(report, study, report.transformer));
    if (!study.unseen.empty())
        page.paragraph("Not surely opened in time by the link: " + first_of(study.unseen, unseen_shown) + ".");
}

std::string glow(double share) {
    return share < 0.1 ? "dark" : share < 0.25 ? "dull red" : share < 0.5 ? "orange" : share < 0.8 ? "yellow" : "white";
}

void lamp(Page& page, const ThreatReport& report, const LampStudy& study) {
    if (study.watts <= 0) {
        if (!study.why.empty()) page.paragraph("Series lamp: " + study.why + ". " + study.next_fails);
        return;
    }
    std::string text = fmt::format(
        "Series lamp: behind {} W {} every winding{} stays under its class in every single fault (a shorted layer "
        "aside, which is lost already)",
        two_figures(study.watts), say(volts(study.volts)),
        report.others.empty() ? std::string() : " of " + report.power_transformers(" and "));
    if (study.ratings_watts == study.watts)
        text += ", and no part leaves its rating";
    else if (!study.ratings_fail.empty())
        text += "; parts may still leave their ratings, the worst " + study.ratings_fail +
                (study.ratings_watts > 0 ? fmt::format("; behind {} W none does", two_figures(study.ratings_watts))
                                         : std::string("; no lamp from 25 W up saves them all"));
    if (!study.next_fails.empty()) text += ". " + study.next_fails;
    page.paragraph(text + ".");
    page.paragraph(fmt::format("Behind it a sound set stands at {}, the lamp at {} ({}), {} at {}.",
                               say(volts(study.set_volts)), say(volts(study.lamp_volts)),
                               glow(study.lamp_volts / study.volts), study.b_plus_net, say(volts(study.b_plus_volts))));
}

}  // namespace

Json verdict_json(const FuseStudy& study, std::size_t row) {
    if (row >= study.verdicts.size() || study.verdicts[row].verdict.empty()) return {};
    const FuseVerdict& v = study.verdicts[row];
    return {{"verdict", v.verdict},
            {"times_rating", number(v.times_rating)},
            {"earliest_seconds", number(v.earliest_seconds)},
            {"latest_seconds", number(v.latest_seconds)}};
}

Json protection_json(const Protection& protection) {
    Json json = figures(protection.primary);
    json["centre_tap"] = figures(protection.centre_tap);
    const LampStudy& lamp = protection.lamp;
    json["lamp_watts"] = lamp.watts > 0 ? number(lamp.watts) : Json();
    json["lamp"] = {{"lamp_watts", lamp.watts > 0 ? number(lamp.watts) : Json()},
                    {"lamp_rated_volts", number(lamp.volts)},
                    {"within_ratings_lamp_watts", lamp.ratings_watts > 0 ? number(lamp.ratings_watts) : Json()},
                    {"leaves_rating", text_or_null(lamp.ratings_fail)},
                    {"next_larger_fails", text_or_null(lamp.next_fails)},
                    {"set_volts", lamp.watts > 0 ? number(lamp.set_volts) : Json()},
                    {"lamp_volts", lamp.watts > 0 ? number(lamp.lamp_volts) : Json()},
                    {"b_plus_net", text_or_null(lamp.b_plus_net)},
                    {"b_plus_volts", lamp.watts > 0 ? number(lamp.b_plus_volts) : Json()},
                    {"why", text_or_null(lamp.why)}};
    return json;
}

void protection_words(Page& page, const ThreatReport& report, const Protection& protection, bool all) {
    page.heading("what would have saved it");
    line_fuse(page, report, protection.primary, all);
    link(page, report, protection.centre_tap);
    lamp(page, report, protection.lamp);
}

Json pairs_json(const PairReport& pairs) {
    const auto rows = [](const std::vector<PairThreat>& from) {
        Json list = Json::array();
        for (const PairThreat& one : from) {
            Json windings = Json::array();
            for (const WindingLoad& w : one.windings)
                windings.push_back({{"winding", w.winding},
                                    {"rms_amps", number(w.rms_amps)},
                                    {"rms_amps_normal", number(w.rms_amps_normal)}});
            list.push_back({{"first", one.first},
                            {"second", one.second},
                            {"reshot", one.reshot},
                            {"primary_amps_rms", number(one.primary_amps_rms)},
                            {"primary_times_normal", number(one.primary_times_normal)},
                            {"windings", std::move(windings)},
                            {"target", text_or_null(one.target)},
                            {"hot_spot_hot_end_celsius",
                             one.hot_spot_hot_end_celsius > 0 ? number(one.hot_spot_hot_end_celsius) : Json()},
                            {"hot_spot_alone_celsius",
                             one.hot_spot_alone_celsius > 0 ? number(one.hot_spot_alone_celsius) : Json()},
                            {"times_rating", one.times_rating > 0 ? number(one.times_rating) : Json()},
                            {"times_rating_alone", one.times_rating > 0 ? number(one.times_rating_alone) : Json()},
                            {"beta", number(one.beta)},
                            {"beta_reason", text_or_null(one.beta_reason)},
                            {"chance", number(one.chance)}});
        }
        return list;
    };
    return {{"faults", pairs.faults},
            {"pairs", pairs.pairs},
            {"from_curve", pairs.from_curve},
            {"reshot", pairs.reshot},
            {"not_shot", pairs.not_shot},
            {"not_shot_harmful", pairs.not_shot_harmful},
            {"harmful_together", pairs.harmful_together},
            {"together", rows(pairs.together)},
            {"by_current", rows(pairs.by_current)},
            {"why", text_or_null(pairs.why)}};
}

/// What the pair adds to the worse of its two faults alone.
std::string worse_words(const PairThreat& pair) {
    if (pair.times_rating > 0)
        return fmt::format("{}, {} of a rating, alone {}", pair.target, two_figures(pair.times_rating),
                           two_figures(pair.times_rating_alone));
    const auto celsius = [](double c) { return fmt::format("{:.0f} C", c); };
    return pair.target + ", " + celsius(pair.hot_spot_hot_end_celsius) + ", alone " +
           celsius(pair.hot_spot_alone_celsius);
}

void pairs_words(Page& page, const PairReport& pairs, bool all) {
    constexpr std::size_t shown = 12;
    page.heading("two faults at once");
    if (!pairs.why.empty()) {
        page.paragraph("Not judged: " + pairs.why + ".");
        return;
    }
    page.paragraph(fmt::format(
        "{} pairs of {} faults: {} solved on the curve of the supply, {} shot, of {} the changes of both added up and "
        "no more (by that {} of them do harm together). {} that were solved do harm though neither fault does alone.",
        pairs.pairs, pairs.faults, pairs.from_curve, pairs.reshot, pairs.not_shot, pairs.not_shot_harmful,
        pairs.harmful_together));
    const auto table = [&](const std::vector<PairThreat>& from, bool together) {
        std::vector<Column> columns{{"fault", Align::left, true},
                                    {"and", Align::left, true},
                                    {"draws", Align::right},
                                    {"times", Align::right},
                                    {"beta", Align::right}};
        if (together) columns.push_back({"together, and the worse alone", Align::left, true});
        Table rows(std::move(columns));
        for (std::size_t k = 0; k < from.size() && (all || k < shown); ++k) {
            std::vector<std::string> row{from[k].first, from[k].second, say(amps(from[k].primary_amps_rms)),
                                         two_figures(from[k].primary_times_normal), two_figures(from[k].beta)};
            if (together) row.push_back(worse_words(from[k]));
            rows.row(std::move(row));
        }
        page.table(rows);
    };
    if (!pairs.together.empty()) {
        page.paragraph(
            "Harmless alone, harmful together, by how much worse than the worse of the two (3 K, or a tenth over a "
            "rating, at the least):");
        table(pairs.together, true);
    }
    if (!pairs.by_current.empty()) {
        page.paragraph("Most current:");
        table(pairs.by_current, false);
    }
}

Json drift_json(const std::vector<DriftLimit>& limits) {
    Json list = Json::array();
    for (const DriftLimit& one : limits)
        list.push_back({{"part", one.part},
                        {"ohms", number(one.ohms)},
                        {"up_times", number(one.up)},
                        {"down_times", number(one.down)},
                        {"limited_by_up", text_or_null(one.limited_by_up)},
                        {"limited_by_down", text_or_null(one.limited_by_down)},
                        {"moves_most", text_or_null(one.moves_most)},
                        {"allowances_per_octave", number(one.allowances_per_octave)},
                        {"adjoint_share", number(one.adjoint_share)}});
    return list;
}

/// What stands in its way upwards and downwards, both where they differ.
std::string set_by(const DriftLimit& one) {
    if (one.limited_by_up.empty() || one.limited_by_down.empty() || one.limited_by_up == one.limited_by_down)
        return one.limited_by_up.empty() ? one.limited_by_down : one.limited_by_up;
    return "up " + one.limited_by_up + ", down " + one.limited_by_down;
}

void drift_words(Page& page, const std::vector<DriftLimit>& limits, bool all) {
    constexpr double matters_up = 2, matters_down = 0.6;
    std::vector<const DriftLimit*> rows;
    for (const DriftLimit& one : limits)
        if (all || (one.up && *one.up < matters_up) || (one.down && *one.down > matters_down)) rows.push_back(&one);
    std::stable_sort(rows.begin(), rows.end(), [](const DriftLimit* a, const DriftLimit* b) {
        return a->up.value_or(1e9) < b->up.value_or(1e9);
    });
    if (limits.empty()) return;
    page.heading("how far each resistor may be off where it stands");
    if (!rows.empty()) {
        Table table({{"resistor"},
                     {"marked", Align::right},
                     {"may rise to", Align::right},
                     {"or", Align::right},
                     {"fall to", Align::right},
                     {"set by", Align::left, true}});
        for (const DriftLimit* one : rows)
            table.row({one->part, say(ohms(one->ohms)), one->up ? say(ohms(*one->up * one->ohms)) : "any",
                       one->up ? fmt::format("+{:.0f} %", 100 * (*one->up - 1)) : "-",
                       one->down ? say(ohms(*one->down * one->ohms)) : "any", set_by(*one)});
        page.table(table);
    }
    page.paragraph(
        "No bias off by a tenth, no plate, screen or cathode over its maximum, no heater or filament off by a tenth of "
        "its volts, no plate or screen off by the fifth that a chart bears. Each limit was solved again.");
    if (rows.size() < limits.size())
        page.paragraph(
            fmt::format("{} more may double, or fall to .6 of their ohms, before any of it is passed: "
                        "--all.",
                        limits.size() - rows.size()));
}

}  // namespace tubewright::report
