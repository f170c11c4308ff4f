// SPDX-License-Identifier: MIT
// `threats`: what each single fault does to the power transformer, by current and by criticality apart, the chains of
// cause, faults ahead of the primary by themselves, and the other scarce parts. Tests: tests/report/answers_test.cpp.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "report/bench_words.hpp"
#include "report/envelope.hpp"
#include "report/protection.hpp"

namespace tubewright {
namespace {

using namespace report;

constexpr std::size_t shown_by_current = 12, shown_by_criticality = 10, chains_shown = 8, shown_of_others = 4,
                      chains_of_others = 4, shown_of_capacitors = 6;

double times_normal(const Threat& threat) {
    return threat.primary_amps_rms_normal > 0 ? threat.primary_amps_rms / threat.primary_amps_rms_normal : 0;
}

std::string damage_words(const Threat& threat) {
    if (!threat.solved) return "no solution";
    if (threat.seconds_to_damage_low || threat.seconds_to_damage_high)
        return "180 C: " + time_range(threat.seconds_to_damage_low, threat.seconds_to_damage_high);
    // at the hot end of what is assumed health passes it already
    if (threat.seconds_to_105_low && *threat.seconds_to_105_low < 1 && !threat.seconds_to_105_high)
        return "near 105 C, as in health";
    if (threat.seconds_to_105_low || threat.seconds_to_105_high)
        return "105 C: " + time_range(threat.seconds_to_105_low, threat.seconds_to_105_high);
    return "stays under 105 C";
}

constexpr double ceiling = 400;  ///< where the heating model ends: past it nothing is left to heat

double hottest(const Threat& threat) {
    return std::max(threat.hot_spot_steady_celsius, threat.hot_spot_hot_end_celsius);
}

/// null beyond the end of the model, and where nothing heats.
Json celsius_json(double celsius) {
    return celsius > 0 && celsius < ceiling ? number(celsius) : Json();
}

std::string celsius_words(double celsius) {
    if (celsius <= 0) return "-";
    if (celsius >= ceiling) return "over 400 C";
    return two_figures(celsius) + " C";
}

/// "82 to 106 C": at the middle of the assumptions and at their hot end, by which beta is judged.
std::string hot_spot_words(const Threat& threat) {
    const double middle = threat.hot_spot_steady_celsius, hot = threat.hot_spot_hot_end_celsius;
    if (hot <= middle || middle >= ceiling) return celsius_words(middle);
    if (hot >= ceiling) return two_figures(middle) + " to over 400 C";
    return std::to_string(std::lround(middle)) + " to " + std::to_string(std::lround(hot)) + " C";
}

/// Beside the first of its list. The numbers themselves are handbook rates aged by a law that nobody measured: programs
/// have them.
std::string criticality_words(const Threat& threat, double first) {
    if (!(threat.criticality > 0) || !(first > 0)) return "-";
    const double percent = 100 * threat.criticality / first;
    return percent < 1 ? "under 1 %" : two_figures(percent) + " %";
}

double first_of(const std::vector<const Threat*>& rows) {
    return rows.empty() ? 0 : rows.front()->criticality;
}

std::string head_words(const Threat& threat) {
    return fmt::format("{}: hazard {}, severity {}, beta {}{}", threat.fault.id,
                       threat.likelihood.empty() ? "not known" : threat.likelihood, threat.severity,
                       two_figures(threat.beta),
                       threat.stress_clamped ? " (" + threat.part +
                                                   " stands over its rating, outside the handbook's "
                                                   "model: likelier than that)"
                                             : std::string());
}

/// Faults whose chains differ in nothing but the first sentence are told once.
void chains(Page& page, const std::vector<const Threat*>& threats, std::size_t most) {
    const auto rest = [](const Threat& threat) {
        std::string text;
        for (std::size_t i = 1; i < threat.links.size(); ++i) text += threat.links[i] + "\n";
        return text;
    };
    std::vector<char> told(threats.size());
    std::size_t count = 0;
    for (std::size_t i = 0; i < threats.size() && count < most; ++i) {
        if (told[i]) continue;
        page.blank();
        const std::string same = rest(*threats[i]);
        for (std::size_t j = i; j < threats.size(); ++j) {
            if (told[j] || rest(*threats[j]) != same) continue;
            told[j] = 1;
            page.paragraph(head_words(*threats[j]), 0, 4);
            if (!threats[j]->links.empty()) page.point(threats[j]->links.front(), 2);
        }
        for (std::size_t k = 1; k < threats[i]->links.size(); ++k) page.point(threats[i]->links[k], 2);
        ++count;
    }
}

/// Beta is the sum over two outcomes.
bool hangs_on_opening(const Threat& threat) {
    return threat.beta_reason.find(" does not open ") != std::string::npos;
}

Json windings_json(const std::vector<WindingLoad>& windings) {
    Json list = Json::array();
    for (const WindingLoad& one : windings)
        list.push_back({{"winding", one.winding},
                        {"rms_amps", number(one.rms_amps)},
                        {"peak_amps", number(one.peak_amps)},
                        {"rms_amps_normal", number(one.rms_amps_normal)},
                        {"copper_watts", number(one.copper_watts)},
                        {"rms_amps_hot", number(one.rms_amps_hot)},
                        {"hot_celsius", number(one.celsius_hot)}});
    return list;
}

/// Where a path of the fault runs: the nets that it joins, and the winding that it is about.
Json place_json(const Chassis& chassis, const Fault& fault) {
    Json place = {{"from_net", Json()}, {"to_net", Json()}, {"winding", Json()}, {"factor", number(fault.factor)}};
    if (fault.part < 0) return place;
    const Part& part = chassis.parts()[static_cast<std::size_t>(fault.part)];
    const auto name = [&](int net) {
        return net >= 0 ? Json(chassis.nets()[static_cast<std::size_t>(net)].name) : Json();
    };
    const auto of_lead = [&](int lead) {
        return lead >= 0 ? name(part.leads[static_cast<std::size_t>(lead)].net) : Json();
    };
    place["from_net"] = of_lead(fault.lead_a);
    place["to_net"] = fault.net_b >= 0 ? name(fault.net_b) : of_lead(fault.lead_b);
    if (fault.winding >= 0) {
        const PartWinding& w = part.windings[static_cast<std::size_t>(fault.winding)];
        place["winding"] = w.leads.size() > 2 ? w.name + "." + std::to_string(fault.half + 1) : w.name;
    }
    return place;
}

Json threat_json(const Chassis& chassis, const Threat& threat, const Protection* protection, std::size_t row) {
    Json overloads = Json::array();
    for (const Overload& one : threat.overloads)
        overloads.push_back({{"part", one.part},
                             {"quantity", one.quantity},
                             {"value", number(one.value)},
                             {"limit", number(one.limit)}});
    return {{"rank", threat.rank},
            {"fault", threat.fault.id},
            {"part", threat.part},
            {"mode", threat.mode},
            {"place", place_json(chassis, threat.fault)},
            {"fault_ohms", threat.fault.ohms > 0 ? number(threat.fault.ohms) : Json()},
            {"target", threat.target},
            {"ahead_of_primary", threat.ahead_of_primary},
            {"solved", threat.solved},
            {"reshot", threat.reshot},
            {"upper_bound", threat.upper_bound},
            {"primary_amps_rms", threat.solved ? number(threat.primary_amps_rms) : Json()},
            {"primary_amps_rms_normal", number(threat.primary_amps_rms_normal)},
            {"primary_amps_rms_hot", number(threat.primary_amps_rms_hot)},
            {"primary_times_normal",
             threat.solved && threat.primary_amps_rms_normal > 0 ? number(times_normal(threat)) : Json()},
            {"windings", windings_json(threat.windings)},
            {"rectifier_peak_amps", threat.solved ? number(threat.rectifier_peak_amps) : Json()},
            {"overloads", std::move(overloads)},
            {"hot_winding", text_or_null(threat.hot_winding)},
            {"hot_spot_steady_celsius", threat.solved ? celsius_json(threat.hot_spot_steady_celsius) : Json()},
            {"hot_spot_hot_end_celsius", threat.solved ? celsius_json(threat.hot_spot_hot_end_celsius) : Json()},
            {"hot_spot_beyond_celsius", threat.solved && hottest(threat) >= ceiling ? number(ceiling) : Json()},
            {"beta_reason", text_or_null(threat.beta_reason)},
            {"seconds_to_105_low", number(threat.seconds_to_105_low)},
            {"seconds_to_105_high", number(threat.seconds_to_105_high)},
            {"seconds_to_damage_low", number(threat.seconds_to_damage_low)},
            {"seconds_to_damage_high", number(threat.seconds_to_damage_high)},
            {"opens_first", text_or_null(threat.opens_first)},
            {"after_opening", text_or_null(threat.after_opening)},
            {"limited_by", text_or_null(threat.limited_by)},
            {"beta", number(threat.beta)},
            {"alpha", number(threat.alpha)},
            {"failures_per_million_hours", threat.stress_clamped ? Json() : number(threat.failures_per_million_hours)},
            {"stress_over_rating", threat.stress_clamped},
            {"hours", number(threat.hours)},
            {"severity", threat.severity},
            {"criticality", number(threat.criticality)},
            {"likelihood", text_or_null(threat.likelihood)},
            {"current_note", text_or_null(threat.current_note)},
            {"primary_fuse", protection != nullptr ? verdict_json(protection->primary, row) : Json()},
            {"centre_tap_fuse", protection != nullptr ? verdict_json(protection->centre_tap, row) : Json()},
            {"chain", strings(threat.links)}};
}

Json limit_json(const LeakageLimit& limit) {
    return {{"part", limit.part},
            {"leak_ohms", number(limit.ohms)},
            {"leak_amps", number(limit.amps)},
            {"leak_watts", number(limit.watts)},
            {"volts", number(limit.volts)},
            {"limited_by", text_or_null(limit.limited_by)},
            {"grid_volts_tube_out", number(limit.grid_volts_tube_out)},
            {"series_meter_volts", number(limit.series_meter_volts)}};
}

void healthy_words(Page& page, const ThreatReport& report) {
    page.heading("with nothing wrong");
    if (report.transformer.empty()) {
        const auto row = std::find_if(report.rows.begin(), report.rows.end(),
                                      [](const Threat& t) { return t.primary_amps_rms_normal > 0; });
        if (row != report.rows.end())
            page.paragraph("The supply gives " + say(amps(row->primary_amps_rms_normal)) +
                           ". The set has no power transformer: what a fault draws loads the rectifier, the parts in "
                           "its way, and the house wiring.");
        return;
    }
    Table table({{"winding"}, {"rms", Align::right}, {"peak", Align::right}, {"copper", Align::right}});
    for (const WindingLoad& one : report.healthy)
        table.row({one.winding, say(amps(one.rms_amps)), say(amps(one.peak_amps)), say(watts(one.copper_watts))});
    if (report.others.empty()) {
        page.table(table);
        page.paragraph("Hottest spot then: " + celsius_words(report.healthy_hot_spot_celsius) + ".");
        return;
    }
    std::string spots =
        "Hottest spot then: " + report.transformer + " " + celsius_words(report.healthy_hot_spot_celsius);
    for (const HealthyTransformer& t : report.others) {
        for (const WindingLoad& one : t.windings)
            table.row({one.winding, say(amps(one.rms_amps)), say(amps(one.peak_amps)), say(watts(one.copper_watts))});
        spots += ", " + t.part + " " + celsius_words(t.hot_spot_celsius);
    }
    page.table(table);
    page.paragraph(spots + ".");
}

/// What burns a power transformer other than the one that gives B-plus: by criticality, with the chains.
void other_transformer(Page& page, const ThreatReport& report, const HealthyTransformer& of, bool all) {
    std::vector<const Threat*> rows;
    for (const Threat& t : report.rows)
        if (t.target == of.part && !t.ahead_of_primary) rows.push_back(&t);
    page.heading("what threatens " + of.part + ", by criticality");
    if (rows.empty()) {
        page.paragraph("No single fault heats " + of.part + " past what beta counts: it draws " +
                       say(amps(of.primary_amps_rms)) + " with nothing wrong, and its hottest spot stands at " +
                       celsius_words(of.hot_spot_celsius) + ".");
        return;
    }
    Table table({{"", Align::right},
                 {"fault", Align::left, true},
                 {"hazard"},
                 {"sev."},
                 {"beta", Align::right},
                 {"of first", Align::right},
                 {"its primary", Align::right},
                 {"times", Align::right},
                 {"then", Align::left, true}});
    for (std::size_t k = 0; k < rows.size() && (all || k < shown_by_criticality); ++k)
        table.row({std::to_string(rows[k]->rank), rows[k]->fault.id, rows[k]->likelihood, rows[k]->severity,
                   two_figures(rows[k]->beta), criticality_words(*rows[k], first_of(rows)),
                   say(amps(rows[k]->primary_amps_rms)), two_figures(times_normal(*rows[k])), damage_words(*rows[k])});
    page.table(table);
    page.paragraph("Times: over the " + say(amps(of.primary_amps_rms)) + " that its own primary draws in health. " +
                   (rows.size() > shown_by_criticality && !all
                        ? fmt::format("And {} more: --all.", rows.size() - shown_by_criticality)
                        : std::string("No other fault heats it past what beta counts.")));
    chains(page, rows, all ? rows.size() : chains_of_others);
}

/// Of a set without a power transformer.
void supply_words(Page& page, const ThreatReport& report, bool all) {
    const std::vector<Threat> rows = report.for_supply_by_current();
    page.heading("by current: what draws most from the supply");
    Table table({{"fault", Align::left, true},
                 {"supply", Align::right},
                 {"times", Align::right},
                 {"over its limit, most first", Align::left, true},
                 {"hazard"}});
    std::size_t count = 0;
    for (const Threat& threat : rows) {
        if (!all && (count >= shown_by_current || times_normal(threat) < 1.02)) break;
        const Overload* worst = nullptr;
        for (const Overload& one : threat.overloads)
            if (worst == nullptr || one.value / one.limit > worst->value / worst->limit) worst = &one;
        std::string over = threat.solved ? "nothing" : "not solved";
        if (worst != nullptr)
            over = worst->part + ", " + two_figures(worst->value / worst->limit) + " times its " + worst->quantity +
                   (threat.overloads.size() > 1 ? fmt::format(", and {} more", threat.overloads.size() - 1) : "");
        table.row({threat.fault.id, threat.solved ? say(amps(threat.primary_amps_rms)) : "-",
                   threat.solved ? two_figures(times_normal(threat)) : "-", over, threat.likelihood});
        ++count;
    }
    page.table(table);
    const auto still = std::count_if(rows.begin(), rows.end(), [](const Threat& t) {
        return t.solved && std::abs(times_normal(t) - 1) < 0.01 && t.overloads.empty();
    });
    page.paragraph(fmt::format(
        "{} of {} faults move the current from the supply by less than 1 % and overload nothing.", still, rows.size()));
}

void leakage(Page& page, const std::vector<LeakageLimit>& limits, bool all) {
    constexpr double least_on_a_meter = 0.01;
    Table table({{"capacitor"},
                 {"across it", Align::right},
                 {"may leak", Align::right},
                 {"that is", Align::right},
                 {"at grid", Align::right},
                 {"meter in series", Align::right},
                 {"set by", Align::left, true}});
    std::size_t free = 0;
    for (const LeakageLimit& limit : limits) {
        const bool by_current_alone = limit.limited_by.starts_with("a tenth of the current");
        const bool none = limit.amps && *limit.amps <= 0;
        if (!all && !none && (!limit.ohms || by_current_alone)) {
            ++free;
            continue;
        }
        table.row({limit.part, two_figures(limit.volts) + " V",
                   none         ? "nothing"
                   : limit.amps ? say(amps(*limit.amps))
                                : "any",
                   limit.ohms ? say(ohms(*limit.ohms)) : "-",
                   limit.grid_volts_tube_out && std::fabs(*limit.grid_volts_tube_out) >= least_on_a_meter
                       ? two_figures(*limit.grid_volts_tube_out) + " V"
                       : "-",
                   limit.ohms ? two_figures(limit.series_meter_volts) + " V" : "-", limit.limited_by});
    }
    if (table.empty()) return;
    page.heading("what each capacitor may leak where it stands");
    page.table(table);
    page.paragraph(
        "\"At grid\": volts there at the limit with its tube out, or its grid end lifted. \"Meter in series\": a 10 "
        "megohm meter in series with it from those volts reads so much at the limit (1 V is "
        ".1 uA).");
    if (free > 0)
        page.paragraph(
            fmt::format("{} more move no grid and overload nothing until they leak a tenth of the current at their "
                        "place, or more: --all.",
                        free));
}

}  // namespace

Answer report_threats(const Study& study, const ReportOptions& options) {
    const Outcome<ThreatReport> made = study.threat_report();
    const Outcome<std::vector<LeakageLimit>> limits =
        made ? study.leakage_limits() : Outcome<std::vector<LeakageLimit>>();
    const Outcome<std::vector<DriftLimit>> drifts = made ? study.drift_limits() : Outcome<std::vector<DriftLimit>>();
    const Outcome<PairReport> pairs = made && options.pairs ? study.fault_pairs() : Outcome<PairReport>();
    const Outcome<Protection> saved = made ? study.protection() : Outcome<Protection>();
    if (options.format == Format::json) {
        Json json = envelope("threats", study, made ? made->assumptions : std::vector<Assumption>{});
        if (made) {
            for (std::size_t i = 0; i < made->rows.size(); ++i) {
                Json row = threat_json(study.chassis(), made->rows[i], saved ? &*saved : nullptr, i);
                // beside one primary of several
                if (!made->others.empty()) {
                    const Threat& threat = made->rows[i];
                    row["drawn_amps_rms"] = threat.solved ? number(threat.drawn_amps_rms) : Json();
                    row["drawn_amps_rms_hot"] = number(threat.drawn_amps_rms_hot);
                }
                json["rows"].push_back(std::move(row));
            }
            json["transformer"] = text_or_null(made->transformer);
            json["healthy"] = windings_json(made->healthy);
            json["healthy_hot_spot_celsius"] = celsius_json(made->healthy_hot_spot_celsius);
            for (const HealthyTransformer& one : made->others)
                json["other_transformers"].push_back({{"part", one.part},
                                                      {"healthy", windings_json(one.windings)},
                                                      {"healthy_hot_spot_celsius", celsius_json(one.hot_spot_celsius)},
                                                      {"primary_amps_rms", number(one.primary_amps_rms)}});
            json["by_current"] = Json::array();
            for (const Threat& threat :
                 made->transformer.empty() ? made->for_supply_by_current() : made->for_transformer_by_current())
                json["by_current"].push_back(threat.fault.id);
        }
        json["protection"] = saved ? protection_json(*saved) : Json();
        if (options.pairs) json["pairs"] = pairs ? pairs_json(*pairs) : Json();
        json["leakage_limits"] = Json();
        if (limits) {
            json["leakage_limits"] = Json::array();
            for (const LeakageLimit& limit : *limits) json["leakage_limits"].push_back(limit_json(limit));
        }
        json["drift_limits"] = drifts ? drift_json(*drifts) : Json();
        if (!made) return refusal_json(std::move(json), made.notices());
        return {dumped(json), stops(study), false};
    }
    if (!made) return refused(study, "threats", made.notices(), options);

    Page page(options.colour);
    set_words(page, study,
              made->transformer.empty() ? "what threatens its scarce parts"
              : made->others.empty()    ? "what threatens the power transformer"
                                        : "what threatens the power transformers");
    page.paragraph("Every fault by itself, the set solved again. Line " + line_words(study) + ". " +
                   std::to_string(made->rows.size()) +
                   " rows; current and criticality are different lists: the first says how hard, the second how likely "
                   "and how hard.");
    doubts(page, made.notices());
    healthy_words(page, *made);

    const std::vector<Threat> by_current = made->for_transformer_by_current();
    const std::string of_first = made->others.empty() ? std::string() : " for " + made->transformer;
    const std::string the_transformer = made->others.empty() ? std::string("the transformer") : made->transformer;
    if (made->transformer.empty()) supply_words(page, *made, options.all);
    if (!by_current.empty()) {
        page.heading("by current: times the normal primary current" + of_first);
        Table table({{"fault", Align::left, true},
                     {"primary", Align::right},
                     {"times", Align::right},
                     {"hot spot", Align::right},
                     {"then", Align::left, true},
                     {"hazard"}});
        std::size_t count = 0;
        for (const Threat& threat : by_current) {
            if (!options.all && (count >= shown_by_current || times_normal(threat) < 1.02)) break;
            table.row({threat.fault.id, threat.solved ? say(amps(threat.primary_amps_rms)) : "-",
                       threat.solved ? two_figures(times_normal(threat)) : "-", hot_spot_words(threat),
                       damage_words(threat), threat.likelihood});
            ++count;
        }
        page.table(table);
        Table capacitors({{"capacitor fault", Align::left, true},
                          {"primary", Align::right},
                          {"times", Align::right},
                          {"hot spot", Align::right},
                          {"then", Align::left, true},
                          {"hazard"}});
        count = 0;
        for (const Threat& threat : by_current) {
            const int part = study.chassis().part(threat.part);
            if (part < 0 || study.chassis().parts()[static_cast<std::size_t>(part)].kind != PartKind::capacitor)
                continue;
            if (count >= shown_of_capacitors || times_normal(threat) < 1.02) break;
            capacitors.row({threat.fault.id, say(amps(threat.primary_amps_rms)), two_figures(times_normal(threat)),
                            hot_spot_words(threat), damage_words(threat), threat.likelihood});
            ++count;
        }
        if (!capacitors.empty()) {
            page.blank();
            page.table(capacitors);
        }
        const auto harmless = std::count_if(by_current.begin(), by_current.end(), [](const Threat& t) {
            return t.solved && std::abs(times_normal(t) - 1) < 0.01 && t.beta == 0;
        });
        page.paragraph(fmt::format("{} of {} faults move the primary current{} by less than 1 % and do nothing to {}.",
                                   harmless, by_current.size(),
                                   made->others.empty() ? std::string() : " of " + made->transformer, the_transformer));
    }
    if (!by_current.empty())
        page.paragraph(
            "Hazard, of that fault alone: certain where it was found; else by the chance that it is there by now (its "
            "part's, as in the survey, times the share of that fault) or comes within the hours counted: likely from "
            ".4, possible from .1, else seldom (declared). Ranks go by the rate alone. Hot spot: at the middle of the "
            "assumptions, and at their hot end, "
            "by which beta is judged: 1 where 180 C "
            "is "
            "passed within an hour, .5 within eight, .1 where 105 C is passed for good.");
    if (std::any_of(by_current.begin(), by_current.end(), hangs_on_opening))
        page.paragraph(
            "Where a part should burn open first, beta is the sum over both outcomes, each by its declared share: see "
            "\"what opens first\" under what is assumed.");
    const std::vector<Threat> by_criticality = made->for_transformer();
    std::vector<const Threat*> critical;
    for (const Threat& threat : by_criticality) {
        if (threat.criticality > 0 || options.all) critical.push_back(&threat);
    }
    if (!critical.empty()) {
        page.heading("by criticality: how likely times how hard" + of_first);
        Table table({{"", Align::right},
                     {"fault", Align::left, true},
                     {"hazard"},
                     {"sev."},
                     {"beta", Align::right},
                     {"of first", Align::right},
                     {"then", Align::left, true}});
        std::size_t count = 0;
        for (const Threat* threat : critical) {
            if (!options.all && count >= shown_by_criticality) break;
            table.row({std::to_string(threat->rank), threat->fault.id, threat->likelihood, threat->severity,
                       two_figures(threat->beta), criticality_words(*threat, first_of(critical)),
                       damage_words(*threat)});
            ++count;
        }
        page.table(table);
        page.paragraph(
            "Of first: how likely times how hard, beside the first of the list. Rates are handbook rates aged by a "
            "declared law: they rank, they do not foretell; --format json has the numbers.");
        page.heading("chains of cause");
        chains(page, critical, options.all ? critical.size() : chains_shown);
    }
    for (const HealthyTransformer& one : made->others) other_transformer(page, *made, one, options.all);
    if (saved) protection_words(page, *made, *saved, options.all);
    const std::vector<Threat> ahead = made->ahead_of_primary();
    if (!ahead.empty()) {
        page.heading(made->transformer.empty() ? "on the line itself: fire and shock"
                     : made->others.empty()    ? "ahead of the primary: fire and shock, not the transformer"
                                               : "ahead of the primaries: fire and shock, not the transformers");
        std::size_t seldom = 0;
        for (const Threat& threat : ahead) {
            if (!options.all && (threat.likelihood == "seldom" || (made->transformer.empty() && threat.beta <= 0))) {
                ++seldom;
                continue;
            }
            page.point(threat.chain() + " Hazard: " + threat.likelihood + ".");
        }
        if (seldom > 0)
            page.paragraph(fmt::format("and {} that happen seldom{}: --all.", seldom,
                                       made->transformer.empty() ? " or do no harm yet" : ""),
                           2);
    }
    std::map<std::string, std::vector<const Threat*>> others;
    std::vector<std::string> order;
    for (const Threat& threat : made->rows) {
        if (threat.ahead_of_primary || made->is_power_transformer(threat.target) || threat.beta <= 0) continue;
        if (others.find(threat.target) == others.end()) order.push_back(threat.target);
        others[threat.target].push_back(&threat);
    }
    if (!order.empty()) {
        page.heading("other scarce parts");
        for (const std::string& target : order) {
            Table table({{"to " + target, Align::left, true},
                         {"hazard"},
                         {"beta", Align::right},
                         {"of first", Align::right},
                         {"what is over", Align::left, true}});
            std::size_t count = 0;
            for (const Threat* threat : others[target]) {
                if (!options.all && count >= shown_of_others) break;
                std::string over;
                for (const Overload& one : threat->overloads) {
                    if (one.part == target)
                        over += (over.empty() ? "" : ", ") + one.quantity + " " + two_figures(one.value) + " of " +
                                two_figures(one.limit);
                }
                if (hangs_on_opening(*threat)) over += (over.empty() ? "" : "; beta ") + threat->beta_reason;
                table.row({threat->fault.id, threat->likelihood, two_figures(threat->beta),
                           criticality_words(*threat, first_of(others[target])), over});
                ++count;
            }
            page.table(table);
            if (count < others[target].size())
                page.paragraph(fmt::format("and {} more", others[target].size() - count), 2);
            page.blank();
        }
    }
    if (pairs && options.pairs) pairs_words(page, *pairs, options.all);
    if (limits) leakage(page, *limits, options.all);
    if (drifts) drift_words(page, *drifts, options.all);
    assumed(page, study, options.all, made->assumptions);
    cautions(page, study.cautions(), options.all);
    return {page.take(), stops(study), false};
}

}  // namespace tubewright
