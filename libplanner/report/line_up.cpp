// SPDX-License-Identifier: MIT
// `survey --tubes`: level 0, from the tubes and the label alone. Tests: tests/report/answers_test.cpp.
#include <fmt/core.h>

#include "report/bench_words.hpp"
#include "report/envelope.hpp"
#include "report/line_up.hpp"

namespace tubewright {
namespace report {

void line_up_points(Page& page, const LineUp& made, const std::string& of) {
    page.heading("what it may be" + of);
    for (const FamilyGuess& guess : made.families) {
        std::string why;
        for (const std::string& reason : guess.reasons) why += (why.empty() ? "" : "; ") + reason;
        page.point(family_words(guess.family) + ", " + guess.likelihood + ": " + why);
    }
    page.heading("heaters" + of);
    for (const std::string& words : made.heater_words) page.point(words);
    if (made.heater_words.empty()) page.point("nothing follows from their sum");
}

void line_up_fields(Json& json, const LineUp& made) {
    Json families = Json::array();
    for (const FamilyGuess& guess : made.families)
        families.push_back(
            {{"family", word(guess.family)}, {"likelihood", guess.likelihood}, {"reasons", strings(guess.reasons)}});
    json["families"] = std::move(families);
    Json series = Json::array(), parallel = Json::array();
    for (const HeaterSum& sum : made.in_series)
        series.push_back({{"tubes", strings(sum.tubes)},
                          {"heater_volts", number(sum.volts_in_series)},
                          {"heater_amps", number(sum.amps)},
                          {"heater_watts", number(sum.watts)}});
    for (const HeaterSum& sum : made.in_parallel)
        parallel.push_back({{"tubes", strings(sum.tubes)},
                            {"heater_volts", number(sum.volts_each)},
                            {"heater_amps", number(sum.amps_in_parallel)},
                            {"heater_watts", number(sum.watts)}});
    json["heaters_in_series"] = std::move(series);
    json["heaters_in_parallel"] = std::move(parallel);
    json["heater_words"] = strings(made.heater_words);
    json["look_at"] = strings(made.look_at);
}

}  // namespace report

using namespace report;

Answer report_line_up(const LineUp& made, const ReportOptions& options) {
    std::vector<std::string> types;
    for (const TubeType* type : made.tubes) types.push_back(type->type);
    if (options.format == Format::json) {
        Json json;
        json["schema"] = "tubewright/survey/1";
        json["version"] = TUBEWRIGHT_VERSION;
        json["chassis"] = {{"name", Json()}, {"file", Json()},  {"family", word(made.families.front().family)},
                           {"hot", Json()},  {"parts", Json()}, {"nets", Json()},
                           {"level", 0}};
        json["line_volts"] = number(made.volts);
        json["line_hertz"] = number(made.hertz);
        json["label"] = {{"current", text_or_null(made.current)},
                         {"watts", number(made.watts)},
                         {"year", made.year ? Json(*made.year) : Json()}};
        json["tubes"] = strings(types);
        json["cautions"] = strings(made.cautions);
        json["rows"] = Json::array();
        for (const LineUp::UsualPart& part : made.usual_parts)
            json["rows"].push_back({{"part", part.what},
                                    {"construction", part.construction},
                                    {"count", part.count},
                                    {"action", part.action},
                                    {"reasons", strings({part.reason})}});
        line_up_fields(json, made);
        return {dumped(json), false, false};
    }
    Page page(options.colour);
    std::string label;
    for (const std::string& type : types) label += (label.empty() ? "" : " ") + type;
    page.title(label, "survey from the line-up");
    page.paragraph(fmt::format(
        "Level 0: tubes and label alone. Hot or isolated: NOT KNOWN until it is seen: treat all metal as the line. "
        "Nothing is computed that nobody gave.{}{}{}{}",
        made.volts ? " Label: " + say(volts(*made.volts)) : std::string(" No line is given"),
        made.hertz ? ", " + two_figures(*made.hertz) + " cycles" : std::string(),
        made.watts ? ", " + made.drawn : std::string(),
        made.year ? fmt::format(", {}.", *made.year) : std::string(".")));
    line_up_points(page, made);
    page.heading("usual parts of such a set (common practice, no source)");
    Table table({{"what", Align::left, true}, {"how many", Align::left, true}, {"do"}, {"why", Align::left, true}});
    for (const LineUp::UsualPart& part : made.usual_parts) table.row({part.what, part.count, part.action, part.reason});
    page.table(table);
    page.heading("look at next, plug out");
    for (const std::string& look : made.look_at) page.point(look);
    cautions(page, made.cautions, true);
    return {page.take(), false, false};
}

}  // namespace tubewright
