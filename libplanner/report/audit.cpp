// SPDX-License-Identifier: MIT
// `audit`: findings with what to look at, worst first, and the read-back of every socket. Notes of the reader (which
// type row was used, which construction was taken) are counted, and listed with --all. Against another file: what
// differs, connections first. Tests: tests/report/answers_test.cpp, difference_test.cpp.
#include <fmt/core.h>

#include <algorithm>
#include <map>

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
    constexpr std::size_t most_at_a_pin = 8;
    std::map<std::string, std::vector<std::string>> of_net;
    std::string socket;
    Table table({{""}, {"pin"}, {"is"}, {"net"}, {"soldered there", Align::left, true}});
    for (const ReadbackPin& pin : pins) {
        if (pin.socket != socket) {
            socket = pin.socket;
            table.group("");
            table.group(pin.socket + (pin.tube.empty() ? std::string() : "  " + pin.tube));
        }
        // a net of many leads is written out once, below
        const bool many = pin.soldered.size() > most_at_a_pin;
        std::string list;
        for (std::size_t k = 0; k < pin.soldered.size(); ++k)
            if (!many || k < static_cast<std::size_t>(pin.at_pin)) list += (list.empty() ? "" : ", ") + pin.soldered[k];
        if (many) {
            const std::size_t others = pin.soldered.size() - static_cast<std::size_t>(pin.at_pin);
            list += fmt::format("{}{} more on {}", list.empty() ? "" : ", and ", others, pin.net);
            std::vector<std::string>& whole = of_net[pin.net];
            for (const std::string& one : pin.soldered)
                if (std::find(whole.begin(), whole.end(), one) == whole.end()) whole.push_back(one);
        }
        table.row({"[ ]", pin.pin, pin.electrode.empty() ? "-" : pin.electrode, pin.soldered.empty() ? "-" : pin.net,
                   list.empty() ? "nothing" : list});
    }
    page.table(table);
    for (const auto& [net, leads] : of_net) {
        std::string list;
        for (const std::string& one : leads) list += (list.empty() ? "" : ", ") + one;
        page.paragraph(net + ": " + list, 0, 2);
    }
}

Json readback_json(const std::vector<ReadbackPin>& pins) {
    Json list = Json::array();
    for (const ReadbackPin& pin : pins)
        list.push_back({{"socket", pin.socket},
                        {"tube", text_or_null(pin.tube)},
                        {"pin", pin.pin},
                        {"electrode", text_or_null(pin.electrode)},
                        {"net", text_or_null(pin.net)},
                        {"soldered", strings(pin.soldered)},
                        {"at_pin", pin.at_pin}});
    return list;
}

// ---- against another file

constexpr std::size_t most_ids = 8;       ///< of one row, without --all
constexpr std::size_t most_renamed = 24;  ///< listed without --all

struct Section {
    DifferenceKind last;  ///< of the kinds, in their order
    const char *name, *look_at;
};
constexpr Section sections[] = {
    {DifferenceKind::state, "connections",
     "these leads on the chassis, each with a finger, plug out: a wrong lead burns what a wrong value only strains"},
    {DifferenceKind::tube, "parts", "whether the part is in the set; the type on the glass"},
    {DifferenceKind::value, "values", "the print or the colours, then an ohmmeter with one end lifted"},
    {DifferenceKind::rating, "ratings", "the print on the part"},
    {DifferenceKind::construction, "construction", "the part itself"}};

const Section& section_of(DifferenceKind kind) {
    return *std::find_if(std::begin(sections), std::end(sections), [&](const Section& s) { return kind <= s.last; });
}

std::string ids_of(const std::vector<std::string>& ids, bool all) {
    std::string text;
    const std::size_t said = all || ids.size() <= most_ids ? ids.size() : most_ids - 1;
    for (std::size_t i = 0; i < said; ++i) text += (i == 0 ? "" : ", ") + ids[i];
    if (said < ids.size()) text += fmt::format(" and {} more", ids.size() - said);
    return text;
}

/// "C16 (C3 there), lead b".
std::string difference_head(const Difference& one, bool all) {
    std::string text = ids_of(one.parts, all);
    const std::string other = ids_of(one.other_parts, all);
    if (text.empty())
        text = other;
    else if (!other.empty() && other != text)
        text += " (" + other + " there)";
    return text + (text.empty() ? "" : ", ") + one.what;
}

/// "s1.xml:48" where the names of the two files tell them apart.
std::string where(const Place& place, const Chassis& here, const Chassis& there) {
    const auto bare = [](const std::string& path) { return path.substr(path.find_last_of('/') + 1); };
    const bool one_name = bare(here.file()) == bare(there.file());
    return fmt::format("{}:{}", one_name ? place.file.str() : bare(place.file), place.line);
}

Json difference_json(const Difference& one) {
    const auto line = [](int at) { return at > 0 ? Json(at) : Json(); };
    Json row = {
        {"severity", word(Severity::doubt)},
        {"rule", std::string("differs-") + word(one.kind)},
        {"line", line(one.place.line)},
        {"column", line(one.place.column)},
        {"other_line", line(one.other_place.line)},
        {"other_column", line(one.other_place.column)},
        {"parts", strings(one.parts)},
        {"other_parts", strings(one.other_parts)},
        {"nets", strings(one.nets)},
        {"other_nets", strings(one.other_nets)},
        {"what", one.what},
        {"here", text_or_null(one.here)},
        {"there", text_or_null(one.there)},
        {"message", fmt::format("{}: here {}, there {}", difference_head(one, true),
                                one.here.empty() ? "nothing" : one.here, one.there.empty() ? "nothing" : one.there)},
        {"look_at", section_of(one.kind).look_at}};
    if (!one.unit.empty()) {
        row["here_" + one.unit] = number(one.here_number);
        row["there_" + one.unit] = number(one.there_number);
    }
    return row;
}

void print_difference(Page& page, const Difference& one, const Chassis& here, const Chassis& there, bool all) {
    std::string places;
    for (const Place* place : {&one.place, &one.other_place})
        if (place->line > 0) places += (places.empty() ? " (" : ", ") + where(*place, here, there);
    page.blank();
    page.paragraph(difference_head(one, all) + places + (places.empty() ? "" : ")"), 2, 4);
    const bool alone = one.parts.empty() != one.other_parts.empty();
    if (!one.here.empty() || !alone) page.paragraph("here: " + (one.here.empty() ? "nothing" : one.here), 4, 6);
    if (!one.there.empty() || !alone) page.paragraph("there: " + (one.there.empty() ? "nothing" : one.there), 4, 7);
}

void print_renamed(Page& page, const Differences& all, const ReportOptions& options) {
    page.heading("not counted");
    page.paragraph(
        "What nets and parts are called, the order of the file, strips and their lugs, where parts stand, notes, and "
        "what was "
        "seen or replaced when do not count.");
    if (all.renamed.empty()) return;
    const bool list = options.all || all.renamed.size() <= most_renamed;
    std::string text =
        fmt::format("{} {} another id there{}", all.renamed.size(), all.renamed.size() == 1 ? "part has" : "parts have",
                    list ? ": " : "; --all lists them.");
    for (std::size_t i = 0; list && i < all.renamed.size(); ++i)
        text += fmt::format("{}{} = {}", i == 0 ? "" : ", ", all.renamed[i].first, all.renamed[i].second);
    page.paragraph(text + (list ? "." : ""));
}

}  // namespace

Answer report_difference(const Study& study, const Chassis& other, const ReportOptions& options) {
    const Chassis& chassis = study.chassis();
    const Differences all = differences(chassis, other);
    if (options.format == Format::json) {
        Json json = envelope("audit", study);
        for (const Difference& one : all.rows) json["rows"].push_back(difference_json(one));
        json["against"] = {{"name", other.name()},
                           {"file", other.file()},
                           {"parts", other.parts().size()},
                           {"nets", other.nets().size()}};
        json["renamed"] = Json::array();
        for (const auto& [here, there] : all.renamed)
            json["renamed"].push_back({{"part", here}, {"other_part", there}});
        json["readback"] = readback_json(readback(chassis));
        return {dumped(json), !all.rows.empty(), false};
    }
    Page page(options.colour);
    page.title(chassis.name(), "what differs between two files");
    page.paragraph(fmt::format("here: {}, {} parts", chassis.file(), chassis.parts().size()), 0, 7);
    page.paragraph(fmt::format("there: {}, {} parts{}", other.file(), other.parts().size(),
                               other.name() == chassis.name() ? "" : ", named " + other.name()),
                   0, 7);
    page.blank();
    std::string counts;
    for (const Section& section : sections) {
        const auto count = std::count_if(all.rows.begin(), all.rows.end(),
                                         [&](const Difference& one) { return &section_of(one.kind) == &section; });
        if (count > 0) counts += fmt::format("{}{} in {}", counts.empty() ? "" : ", ", count, section.name);
    }
    page.paragraph(all.rows.empty() ? "Nothing differs: the same parts with the same values, joined in the same way."
                                    : fmt::format("{} {}: {}.", all.rows.size(),
                                                  all.rows.size() == 1 ? "difference" : "differences", counts));
    const auto lone = std::count_if(all.rows.begin(), all.rows.end(), [](const Difference& one) {
        return one.kind == DifferenceKind::part && one.other_parts.empty();
    });
    if (2 * static_cast<std::size_t>(lone) > chassis.parts().size())
        page.paragraph("Most parts have no like in the other file: these look like two sets, not two files of one.");
    const Section* last = nullptr;
    for (const Difference& one : all.rows) {
        const Section& section = section_of(one.kind);
        if (&section != last) {
            page.heading(section.name);
            page.paragraph(std::string("Look at ") + section.look_at + ".");
            last = &section;
        }
        print_difference(page, one, chassis, other, options.all);
    }
    print_renamed(page, all, options);
    if (options.readback) print_readback(page, readback(chassis));
    return {page.take(), !all.rows.empty(), false};
}

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
        json["readback"] = readback_json(pins);
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
