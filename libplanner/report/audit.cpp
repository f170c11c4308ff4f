// SPDX-License-Identifier: MIT
// `audit`: findings with what to look at, worst first, and the read-back of every socket. Notes of the reader (which
// type row was used, which construction was taken) are counted, and listed with --all. Tests:
// tests/report/answers_test.cpp.
#include <fmt/core.h>

#include <algorithm>

#include "report/bench_words.hpp"
#include "report/envelope.hpp"

namespace tubewright {
namespace {

using namespace report;

std::string capital(Severity severity) {
    switch (severity) {
        case Severity::stop:
        case Severity::error:
            return "STOP";
        case Severity::doubt:
            return "DOUBT";
        case Severity::note:
            return "note";
    }
    return "note";
}

std::string where(const Finding& finding) {
    if (finding.place.line <= 0) return "";
    return "line " + std::to_string(finding.place.line);
}

void print_finding(Page& page, const Finding& finding) {
    std::string head = capital(finding.severity) + ", " +
                       (where(finding).empty() ? std::string() : where(finding) + ", ") + finding.rule;
    if (finding.number > 0) head += fmt::format(" [TW{:04}]", finding.number);
    page.paragraph(head);
    page.paragraph(finding.message + ".", 2);
    if (!finding.look_at.empty()) page.paragraph("look at: " + finding.look_at, 2, 9);
}

void print_readback(Page& page, const std::vector<ReadbackPin>& pins) {
    page.heading("read-back: put a finger on each pin, seen from below");
    std::string socket;
    Table table({{""}, {"pin"}, {"is"}, {"net"}, {"soldered there", Align::left, true}});
    for (const ReadbackPin& pin : pins) {
        if (pin.socket != socket) {
            socket = pin.socket;
            table.group("");
            table.group(pin.socket + (pin.tube.empty() ? std::string() : "  " + pin.tube));
        }
        std::string list;
        for (const std::string& one : pin.soldered) list += (list.empty() ? "" : ", ") + one;
        table.row({"[ ]", pin.pin, pin.electrode.empty() ? "-" : pin.electrode, pin.soldered.empty() ? "-" : pin.net,
                   list.empty() ? "nothing" : list});
    }
    page.table(table);
}

}  // namespace

Answer report_audit(const Study& study, const ReportOptions& options) {
    const std::vector<Finding> findings = study.audit();
    const bool stops = must_stop(findings);
    const std::vector<ReadbackPin> pins = readback(study.chassis());
    if (options.format == Format::json) {
        Json json = envelope("audit", study);
        for (const Finding& finding : findings) {
            json["rows"].push_back(
                {{"severity", word(finding.severity == Severity::error ? Severity::stop : finding.severity)},
                 {"rule", finding.rule},
                 {"number", finding.number},
                 {"line", finding.place.line > 0 ? Json(finding.place.line) : Json()},
                 {"column", finding.place.column > 0 ? Json(finding.place.column) : Json()},
                 {"parts", strings(finding.parts)},
                 {"nets", strings(finding.nets)},
                 {"message", finding.message},
                 {"look_at", finding.look_at}});
        }
        Json list = Json::array();
        for (const ReadbackPin& pin : pins)
            list.push_back({{"socket", pin.socket},
                            {"tube", text_or_null(pin.tube)},
                            {"pin", pin.pin},
                            {"electrode", text_or_null(pin.electrode)},
                            {"net", text_or_null(pin.net)},
                            {"soldered", strings(pin.soldered)}});
        json["readback"] = std::move(list);
        return {dumped(json), stops, false};
    }

    Page page(options.colour);
    set_words(page, study, "the trace audit", false);
    const auto count = [&](Severity severity) {
        return std::count_if(findings.begin(), findings.end(),
                             [&](const Finding& f) { return f.severity == severity; });
    };
    const auto stop = count(Severity::stop) + count(Severity::error), doubt = count(Severity::doubt);
    const auto reader = std::count_if(findings.begin(), findings.end(), [](const Finding& f) {
        return f.severity == Severity::note && f.rule == "reading";
    });
    page.blank();
    page.paragraph(fmt::format(
        "{} to stop for, {} in doubt, {} to note. A stop means: do not plan, do not plug in, before it is settled.",
        stop, doubt, count(Severity::note)));
    for (const Finding& finding : findings) {
        if (finding.severity == Severity::note && finding.rule == "reading" && !options.all) continue;
        page.blank();
        print_finding(page, finding);
    }
    if (reader > 0 && !options.all) {
        page.blank();
        page.paragraph(
            fmt::format("{} of the notes {} how the file was read (type rows used, constructions taken): see --all.",
                        reader, reader == 1 ? "says" : "say"));
    }
    if (options.readback) {
        print_readback(page, pins);
    } else {
        page.blank();
        page.paragraph(
            "--readback lists what is soldered to each pin, to be ticked on the chassis with a finger: it catches more "
            "than any theorem.");
    }
    return {page.take(), stops, false};
}

}  // namespace tubewright
