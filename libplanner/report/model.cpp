// SPDX-License-Identifier: MIT
// `model`: every element of the equations after defaults, its law, terminals and parameters with where each came from,
// and what each condition changes. The JSON is enough for another engine to rebuild the equations. Tests:
// tests/report/answers_test.cpp, tests/oracle/.
#include <fmt/core.h>

#include <algorithm>

#include "bench/bench.hpp"
#include "report/bench_words.hpp"
#include "report/envelope.hpp"

namespace tubewright {
namespace {

using namespace report;

std::string figures(double value) {
    return fmt::format("{:.4g}", value);
}

/// Every condition that `volts` solves without being told volts or watts.
std::vector<Condition> all_conditions(const Study& study) {
    std::vector<Condition> all = study.scenarios();
    for (const Scenario scenario :
         {Scenario::warm_up, Scenario::rectifier_out, Scenario::transformer_alone, Scenario::speaker_unplugged,
          Scenario::output_cut_off, Scenario::switch_on, Scenario::soak, Scenario::signal_peak}) {
        if (std::any_of(all.begin(), all.end(), [&](const Condition& one) { return one.scenario == scenario; }))
            continue;
        all.emplace_back();
        all.back().scenario = scenario;
    }
    return all;
}

Json element_row(const ModelElement& element) {
    Json values = Json::object(), sources = Json::object();
    for (std::size_t i = 0; i < element.values.size(); ++i) {
        values[element.values[i].first] = number(element.values[i].second);
        sources[element.values[i].first] = i < element.sources.size() ? text_or_null(element.sources[i]) : Json();
    }
    return {{"id", element.id},
            {"part", text_or_null(element.part)},
            {"kind", element.kind},
            {"law", text_or_null(element.law)},
            {"nodes", strings(element.nodes)},
            {"values", std::move(values)},
            {"sources", std::move(sources)}};
}

void element_table(Page& page, const std::vector<ModelElement>& elements) {
    Table table({{"element"}, {"kind"}, {"between", Align::left, true}, {"values", Align::left, true}});
    for (const ModelElement& element : elements) {
        std::string nodes, values;
        for (const std::string& node : element.nodes) nodes += (nodes.empty() ? "" : " ") + node;
        for (const auto& [name, value] : element.values)
            values += (values.empty() ? "" : ", ") + name + " " + figures(value);
        table.row({element.id, element.law.empty() ? element.kind : element.law, nodes, values});
    }
    page.table(table);
}

}  // namespace

Answer report_model(const Study& study, const ReportOptions& options) {
    Outcome<Bench> bench = Bench::make(study.chassis(), study.catalogue(), study.policy());
    if (options.format == Format::json) {
        Json json = envelope("model", study);
        if (!bench) return refusal_json(std::move(json), bench.notices());
        const ModelSheet sheet = bench->model(all_conditions(study));
        for (const ModelElement& element : sheet.elements) json["rows"].push_back(element_row(element));
        json["nodes"] = strings(sheet.nodes);
        Json changes = Json::array(), laws = Json::array(), signal = Json::array();
        for (const ModelElement& element : sheet.signal_elements) signal.push_back(element_row(element));
        json["signal_nodes"] = strings(sheet.signal_nodes);
        json["signal_rows"] = std::move(signal);
        json["scenarios"] = strings(sheet.scenarios);
        json["left_out"] = strings(sheet.left_out);
        for (const ModelChange& change : sheet.changes)
            changes.push_back({{"scenario", change.scenario},
                               {"element", change.element},
                               {"value", change.value},
                               {"to", number(change.to)}});
        for (const auto& [name, formula] : sheet.laws) laws.push_back({{"law", name}, {"formula", formula}});
        json["changes"] = std::move(changes);
        json["laws"] = std::move(laws);
        return {dumped(json), stops(study), false};
    }
    if (!bench) return refused(study, "model", bench.notices(), options);
    const ModelSheet sheet = bench->model(all_conditions(study));
    Page page(options.colour);
    set_words(page, study, "the equations");
    page.paragraph(fmt::format(
        "{} nodes, {} elements, SI units. {} is the reference node. --format json is complete; this is to look at.",
        sheet.nodes.size(), sheet.elements.size(), sheet.nodes.empty() ? std::string("none") : sheet.nodes.front()));
    page.heading("elements");
    element_table(page, sheet.elements);
    page.heading("laws");
    for (const auto& [name, formula] : sheet.laws) page.paragraph(name + ": " + formula, 0, 2);
    page.heading("what each condition changes");
    Table changes({{"condition"}, {"element", Align::left, true}, {"value"}, {"to", Align::right}});
    for (const ModelChange& change : sheet.changes) {
        if (!options.all && (change.scenario.starts_with("tube-out") || change.scenario.starts_with("signal-peak")))
            continue;
        changes.row({change.scenario, change.element, change.value, figures(change.to)});
    }
    page.table(changes);
    if (options.all && !sheet.signal_elements.empty()) {
        page.heading("with a signal (signal-peak) also, or in place of the element of that name");
        element_table(page, sheet.signal_elements);
    }
    if (options.all) {
        page.heading("where each value came from");
        for (const ModelElement& element : sheet.elements) {
            std::string text;
            for (std::size_t i = 0; i < element.values.size() && i < element.sources.size(); ++i)
                text += (text.empty() ? "" : "; ") + element.values[i].first + ": " + element.sources[i];
            if (!text.empty()) page.point(element.id + ": " + text);
        }
    }
    assumed(page, study, options.all);
    cautions(page, study.cautions(), options.all);
    return {page.take(), stops(study), false};
}

}  // namespace tubewright
