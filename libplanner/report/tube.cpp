// SPDX-License-Identifier: MIT
// `tube`: basing from below, heater, limits, the listed points with the model beside them, and the currents at a point
// that is asked for. A row that was set aside keeps its written reason. Tests: tests/report/tube_test.cpp.
#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <optional>

#include "report/bench_words.hpp"
#include "report/envelope.hpp"

namespace tubewright {
namespace {

using namespace report;

struct Point {
    std::optional<double> plate, screen, grid;
    std::optional<double> diode, target;  ///< of a diode beside a plate, and of an eye: they stand at other volts
    std::string wrong;                    ///< not empty: what cannot be read
};

Point read_point(std::string_view text) {
    Point point;
    while (!text.empty()) {
        const std::size_t comma = text.find(',');
        const std::string_view item = text.substr(0, comma);
        text = comma == std::string_view::npos ? std::string_view() : text.substr(comma + 1);
        const std::size_t equals = item.find('=');
        double value = 0;
        const std::string_view figure = equals == std::string_view::npos ? std::string_view() : item.substr(equals + 1);
        const auto [end, error] = std::from_chars(figure.data(), figure.data() + figure.size(), value);
        const std::string_view name = item.substr(0, equals);
        if (figure.empty() || error != std::errc() || end != figure.data() + figure.size() || !std::isfinite(value) ||
            std::fabs(value) > 5000) {
            point.wrong = "\"" + printable(item.substr(0, 40)) + "\" is not NAME=VOLTS, such as plate=250";
            return point;
        }
        if (name == "plate") {
            point.plate = value;
        } else if (name == "screen") {
            point.screen = value;
        } else if (name == "grid") {
            point.grid = value;
        } else if (name == "diode") {
            point.diode = value;
        } else if (name == "target") {
            point.target = value;
        } else {
            point.wrong = "\"" + printable(name.substr(0, 40)) + "\" is none of plate, screen, grid, diode, target";
            return point;
        }
    }
    if (!point.plate && !point.diode && !point.target)
        point.wrong = "plate=VOLTS is wanted, such as plate=250,screen=250,grid=-12.5";
    return point;
}

bool is_diode(const SectionModel& section) {
    return section.law == "signal-diode" || section.law == "vacuum-diode" || section.law == "gas-diode";
}

/// The word by which a section is asked for at its own volts: a diode that shares its bulb with a plate does not stand
/// at that plate's volts, nor does the target of an eye.
const char* asked_as(const SectionModel& section, const TubeModel& model) {
    if (!section.electrodes.empty() && section.electrodes.front() == "target") return "target";
    const bool alone = std::all_of(model.sections.begin(), model.sections.end(), is_diode);
    return is_diode(section) && !alone ? "diode" : "plate";
}

/// The volts of the section's first electrode at a point; none where they were not asked for.
std::optional<double> volts_of(const Point& point, const SectionModel& section, const TubeModel& model) {
    const std::string_view word = asked_as(section, model);
    if (word == "plate") return point.plate || !is_diode(section) ? point.plate : point.diode;
    return word == "diode" ? point.diode : point.target;
}

/// Volts that a law of this tube works with and nobody gave; empty when none.
std::string missing_volts(const Point& point, const TubeModel& model) {
    const auto has = [&](std::string_view word) {
        return std::any_of(model.sections.begin(), model.sections.end(), [&](const SectionModel& section) {
            return asked_as(section, model) == word || (word == "diode" && is_diode(section));
        });
    };
    if (point.diode && !has("diode")) return "a " + model.type + " has no diode";
    if (point.target && !has("target")) return "a " + model.type + " has no target";
    if (!point.plate) return {};
    bool screen = false, grid = false;
    for (const SectionModel& section : model.sections) {
        const bool screened = section.law == "pentode" || section.law == "converter" || section.law == "pentagrid";
        screen = screen || screened;
        grid = grid || screened || section.law == "triode";
    }
    screen = screen && !point.screen;
    grid = grid && !point.grid;
    if (!screen && !grid) return {};
    return std::string(screen ? "screen=VOLTS " : "") + (screen && grid ? "and " : "") + (grid ? "grid=VOLTS " : "") +
           (screen && grid ? "are" : "is") + " wanted for a " + model.type +
           ", such as plate=250,screen=250,grid=-12.5";
}

/// A current that a bench meter could show, else that it is less.
std::string current_words(double value) {
    if (value == 0) return "none";
    return std::fabs(value) < 1e-9 ? std::string("under .001 uA") : say(amps(value));
}

std::string optional_words(const std::optional<double>& value, const char* unit) {
    return value ? two_figures(*value) + unit : std::string("-");
}

/// Volts of a point as they were given: rounded they would be of another point.
std::string as_given(const std::optional<double>& value) {
    return value ? fmt::format("{:g}", *value) : std::string("-");
}

std::string milliamps(double value) {
    return value != 0 && std::fabs(value) < 1e-6 ? std::string("under .001") : two_figures(value * 1e3);
}

std::string microsiemens(double value) {
    return value != 0 && std::fabs(value) < 1e-9 ? std::string("under .001") : two_figures(value * 1e6);
}

/// The limits of the type that a point passes: "plate 600 V of 375 V".
std::vector<std::string> beyond_limits(const TubeType* row, const SectionModel& section, const Point& point,
                                       const TubeCurrents& now) {
    std::vector<std::string> beyond;
    if (row == nullptr || section.law == "signal-diode" || section.electrodes.front() == "target") return beyond;
    const auto held = [&](const char* what, double value, const std::optional<double>& limit, const char* unit) {
        if (limit && value > *limit * 1.001)
            beyond.push_back(fmt::format("{} {} {} of {:g} {}", what, two_figures(value), unit, *limit, unit));
    };
    const double plate = point.plate.value_or(0), screen = point.screen.value_or(0);
    held("plate", plate, row->max_plate_volts, "V");
    held("plate", plate * now.plate_amps, row->max_plate_watts, "W");
    held("screen", screen, row->max_screen_volts, "V");
    held("screen", screen * now.screen_amps, row->max_screen_watts, "W");
    held("cathode", now.plate_amps + now.screen_amps, row->max_cathode_amps, "A");
    return beyond;
}

/// The electrodes whose volts lie outside the points that the constants were derived from, a tenth of them allowed:
/// "plate 600 V (listed 250 to 285)".
std::vector<std::string> outside_points(const SectionModel& section, const Point& point) {
    std::vector<std::string> outside;
    if (section.law == "signal-diode") {
        constexpr double most = 10, room = 0.1 * most;  // the current that its constants come from is that at 10 V
        const double now = point.plate.value_or(0);
        if (std::fabs(now) > most + room) outside.push_back(fmt::format("diode {:g} V (known at {:g} V)", now, most));
        return outside;
    }
    const auto held = [&](const char* what, const std::optional<double>& value,
                          std::optional<double> OperatingPoint::*listed) {
        if (!value) return;
        double low = INFINITY, high = -INFINITY;
        for (const std::vector<PointCheck>* rows : {&section.checks, &section.lent})
            for (const PointCheck& check : *rows)
                if (const std::optional<double>& volts = check.listed.*listed; check.used && volts)
                    low = std::min(low, *volts), high = std::max(high, *volts);
        const double room = 0.1 * std::max(std::fabs(low), std::fabs(high));
        if (low > high || (*value >= low - room && *value <= high + room)) return;
        outside.push_back(low == high ? fmt::format("{} {:g} V (listed {:g})", what, *value, low)
                                      : fmt::format("{} {:g} V (listed {:g} to {:g})", what, *value, low, high));
    };
    held("plate", point.plate, &OperatingPoint::plate_volts);
    held("screen", point.screen, &OperatingPoint::screen_volts);
    held("grid", point.grid, &OperatingPoint::grid_volts);
    return outside;
}

/// Rows that are kept as text (a supply behind a resistor, class B) are not worked out: any plate at positive volts
/// takes something by the law.
bool computed_row(const PointCheck& check) {
    return check.plate_amps != 0;
}

std::string per_cent(double model, const std::optional<double>& listed) {
    if (!listed || *listed == 0) return "-";
    return fmt::format("{:+.1f} %", 100 * (model / *listed - 1));
}

/// The point as this section stands at it, its first electrode's volts as those of the plate; none where they were not
/// given.
std::optional<Point> own_point(const Point& point, const SectionModel& section, const TubeModel& model) {
    const std::optional<double> own = volts_of(point, section, model);
    if (!own) return std::nullopt;
    Point at;
    at.plate = own;
    if (!is_diode(section)) at.screen = point.screen, at.grid = point.grid;
    return at;
}

/// What flows in a section at the volts asked for; of an electrode that it has not, nothing is said.
void at_point(Page& page, const TubeModel& model, const SectionModel& section, const Point& asked) {
    const std::string word = asked_as(section, model);
    const std::optional<Point> own = own_point(asked, section, model);
    if (!own) {
        page.paragraph(fmt::format("Not at these volts: it has its own. {}=VOLTS asks for them, such as {}={}.", word,
                                   word, word == "diode" ? "10" : "250"));
        return;
    }
    const Point& point = *own;
    const TubeCurrents currents = currents_at(section, volts(point.plate.value_or(0)), volts(point.screen.value_or(0)),
                                              volts(point.grid.value_or(0)));
    const bool diode = is_diode(section), screened = section.law != "triode" && !diode;
    std::string text = "At " + word + " " + as_given(point.plate) + " V";
    if (point.screen && screened) text += ", screen " + as_given(point.screen) + " V";
    if (point.grid && !diode) text += ", grid " + as_given(point.grid) + " V";
    text += ": " + word + " " + current_words(currents.plate_amps);
    if (screened) text += ", screen " + current_words(currents.screen_amps);
    if (!diode)
        text += ", grid " + current_words(currents.grid_amps) + ", gm " + microsiemens(currents.gm_siemens) + " uS";
    text += ", " + std::string(diode ? "slope " : "plate resistance ") +
            (currents.rp_ohms > 0 ? say(ohms(currents.rp_ohms)) : "not known") + ".";
    page.paragraph(text);
    const std::vector<std::string> beyond = beyond_limits(model.row, section, point, currents),
                                   outside = outside_points(section, point);
    if (!beyond.empty()) page.paragraph(fmt::format("BEYOND ITS LIMITS: {}.", fmt::join(beyond, ", ")));
    if (!outside.empty())
        page.paragraph(
            fmt::format("Outside the points that the constants were derived from, where nothing "
                        "holds the law: {}.",
                        fmt::join(outside, ", ")));
}

Json point_json(const TubeModel& model, const SectionModel& section, const PointCheck& check) {
    Json parameters = Json::object();
    for (std::size_t i = 0; i < section.parameters.size() && i < section.parameter_names.size(); ++i)
        parameters[section.parameter_names[i]] = number(section.parameters[i]);
    const OperatingPoint& listed = check.listed;
    const bool computed = computed_row(check);
    const bool known = computed && listed.plate_amps && *listed.plate_amps != 0;
    const auto ours = [&](double value) { return computed ? number(value) : Json(); };
    return {{"type", model.type},
            {"listed_under", listed.type},
            {"section", section.section},
            {"plate_volts", number(listed.plate_volts)},
            {"screen_volts", number(listed.screen_volts)},
            {"grid_volts", number(listed.grid_volts)},
            {"plate_amps", ours(check.plate_amps)},
            {"screen_amps", ours(check.screen_amps)},
            {"gm_siemens", ours(check.gm_siemens)},
            {"rp_ohms", check.rp_ohms > 0 ? number(check.rp_ohms) : Json()},
            {"listed_plate_amps", number(listed.plate_amps)},
            {"listed_screen_amps", number(listed.screen_amps)},
            {"listed_gm_siemens", number(listed.gm_siemens)},
            {"listed_rp_ohms", number(listed.rp_ohms)},
            {"plate_amps_error", known ? number(check.plate_amps / *listed.plate_amps - 1) : Json()},
            {"used", check.used},
            {"flag", text_or_null(check.flag)},
            {"law", section.law},
            {"parameters", std::move(parameters)},
            {"held_out_error", number(check.held_out_error)},
            {"provenance", word(listed.source.provenance)},
            {"source", text_or_null(listed.source.text)},
            {"note", text_or_null(listed.note)}};
}

}  // namespace

std::string point_complaint(std::string_view at) {
    return read_point(at).wrong;
}

std::string point_complaint(std::string_view at, const TubeModel& model) {
    const Point point = read_point(at);
    return point.wrong.empty() ? missing_volts(point, model) : point.wrong;
}

Answer report_tube(const TubeModel& model, std::string_view at, const ReportOptions& options) {
    Point point = at.empty() ? Point{} : read_point(at);
    if (!at.empty() && point.wrong.empty()) point.wrong = missing_volts(point, model);
    const bool computed = !model.sections.empty();
    const bool refused_point = !at.empty() && (!computed || !point.wrong.empty());
    std::string why_refused = point.wrong;
    if (!at.empty() && !computed) {
        why_refused = "the type has no constants, so no currents can be given";
        for (const Assumption& one : model.assumptions) why_refused += "; " + one.why;
    }
    const TubeType* row = model.row;
    if (options.format == Format::json) {
        Json json;
        json["schema"] = "tubewright/tube/1";
        json["version"] = TUBEWRIGHT_VERSION;
        json["chassis"] = Json();
        json["line_volts"] = Json();
        json["line_hertz"] = Json();
        json["currency"] = Json();
        json["meter"] = Json();
        json["settings"] = Json();
        json["solver"] = Json();
        Json assumptions = Json::array();
        for (const Assumption& one : model.assumptions)
            assumptions.push_back({{"about", one.about},
                                   {"taken", one.taken},
                                   {"why", one.why},
                                   {"measure", one.measure},
                                   {"spread", one.spread},
                                   {"source", one.source}});
        json["assumptions"] = std::move(assumptions);
        json["cautions"] = Json::array();
        json["rows"] = Json::array();
        for (const SectionModel& section : model.sections) {
            for (const PointCheck& check : section.checks) json["rows"].push_back(point_json(model, section, check));
            for (const PointCheck& check : section.lent) json["rows"].push_back(point_json(model, section, check));
        }
        if (row != nullptr) {
            Json pins = Json::array();
            for (const Pin& pin : row->pins)
                pins.push_back({{"pin", pin.pin}, {"electrodes", strings(pin.electrodes)}});
            json["tube"] = {{"type", row->type},
                            {"class", row->tube_class},
                            {"base", row->base},
                            {"pins", std::move(pins)},
                            {"heater_volts", number(row->heater_volts)},
                            {"heater_amps", number(row->heater_amps)},
                            {"directly_heated", row->directly_heated},
                            {"max_plate_volts", number(row->max_plate_volts)},
                            {"max_screen_volts", number(row->max_screen_volts)},
                            {"max_plate_watts", number(row->max_plate_watts)},
                            {"max_screen_watts", number(row->max_screen_watts)},
                            {"max_cathode_amps", number(row->max_cathode_amps)},
                            {"max_heater_cathode_volts", number(row->max_heater_cathode_volts)},
                            {"note", text_or_null(row->note)},
                            {"provenance", word(row->source.provenance)},
                            {"source", text_or_null(row->source.text)}};
        }
        Json sections = Json::array(), asked = Json::array();
        for (const SectionModel& section : model.sections) {
            Json parameters = Json::object();
            for (std::size_t i = 0; i < section.parameters.size() && i < section.parameter_names.size(); ++i)
                parameters[section.parameter_names[i]] = number(section.parameters[i]);
            sections.push_back({{"section", section.section},
                                {"law", section.law},
                                {"electrodes", strings(section.electrodes)},
                                {"pins", strings(section.pins)},
                                {"parameters", std::move(parameters)},
                                {"constants_assumed", section.constants_assumed},
                                {"provenance", word(section.source.provenance)},
                                {"source", text_or_null(section.source.text)}});
            if (at.empty() || refused_point) continue;
            const std::optional<Point> own = own_point(point, section, model);
            if (!own) continue;
            const TubeCurrents currents = currents_at(section, volts(own->plate.value_or(0)),
                                                      volts(own->screen.value_or(0)), volts(own->grid.value_or(0)));
            const bool diode = is_diode(section), screened = section.law != "triode" && !diode;
            asked.push_back({{"section", section.section},
                             {"electrode", asked_as(section, model)},
                             {"plate_volts", number(own->plate)},
                             {"screen_volts", number(own->screen)},
                             {"grid_volts", number(own->grid)},
                             {"plate_amps", number(currents.plate_amps)},
                             {"screen_amps", screened ? number(currents.screen_amps) : Json()},
                             {"grid_amps", diode ? Json() : number(currents.grid_amps)},
                             {"gm_siemens", diode ? Json() : number(currents.gm_siemens)},
                             {"rp_ohms", currents.rp_ohms > 0 ? number(currents.rp_ohms) : Json()},
                             {"beyond_limits", strings(beyond_limits(row, section, *own, currents))},
                             {"outside_points", strings(outside_points(section, *own))}});
        }
        json["sections"] = std::move(sections);
        json["at"] = std::move(asked);
        if (refused_point) json["refused"] = {{"why", why_refused}, {"where", "--at"}, {"opens_when", Json()}};
        return {dumped(json), false, refused_point};
    }

    Page page(options.colour);
    page.title(model.type, row == nullptr ? std::string("tube") : row->tube_class + ", base " + row->base);
    if (row != nullptr) {
        if (row->type != model.type) page.paragraph("Catalogue row used: " + row->type + ".");
        page.paragraph(!row->heater_volts && !row->heater_amps && !row->directly_heated
                           ? "No heater."
                           : fmt::format("Heater {} {}, {}.",
                                         row->heater_volts ? say(volts(*row->heater_volts)) : std::string("-"),
                                         row->heater_amps ? say(amps(*row->heater_amps)) : std::string("-"),
                                         row->directly_heated ? "directly heated (filament)" : "indirectly heated"));
        page.heading("basing, seen from below");
        Table pins({{"pin"}, {"electrode"}});
        for (const Pin& pin : row->pins) {
            std::string text;
            for (const std::string& electrode : pin.electrodes) text += (text.empty() ? "" : " + ") + electrode;
            pins.row({pin.pin, text.empty() ? "-" : text});
        }
        page.table(pins);
        page.heading("limits");
        page.paragraph(
            fmt::format("Plate {}, {}; screen {}, {}; cathode current {}; heater to cathode {}.",
                        optional_words(row->max_plate_volts, " V"), optional_words(row->max_plate_watts, " W"),
                        optional_words(row->max_screen_volts, " V"), optional_words(row->max_screen_watts, " W"),
                        row->max_cathode_amps ? say(amps(*row->max_cathode_amps)) : std::string("-"),
                        optional_words(row->max_heater_cathode_volts, " V")));
        if (const RectifierType* r = model.rectifier)
            page.paragraph(fmt::format(
                "As a rectifier: {} a plate ac into a capacitor; {} direct, {} peak a plate; inverse {}; drop {} at "
                "{}; "
                "first filter {}. Source: {} ({}).",
                optional_words(r->max_ac_volts_rms, " V"), r->max_dc_amps ? say(amps(*r->max_dc_amps)) : "-",
                r->max_peak_amps ? say(amps(*r->max_peak_amps)) : "-", optional_words(r->max_inverse_volts, " V"),
                optional_words(r->drop_volts, " V"), r->drop_amps ? say(amps(*r->drop_amps)) : "-",
                r->max_first_filter_farads ? "up to " + say(farads(*r->max_first_filter_farads)) : "limit not known",
                r->source.text, word(r->source.provenance)));
        if (!row->note.empty()) page.paragraph("Note: " + row->note);
        page.paragraph("Source: " + row->source.text + " (" + word(row->source.provenance) + ").");
    }
    for (const SectionModel& section : model.sections) {
        page.heading(section.section + ": law " + section.law);
        std::string constants;
        for (std::size_t i = 0; i < section.parameters.size() && i < section.parameter_names.size(); ++i)
            constants += (constants.empty() ? "" : ", ") + section.parameter_names[i] + " " +
                         fmt::format("{:.4g}", section.parameters[i]);
        page.paragraph("Constants: " + constants + ".");
        page.paragraph(std::string("Derived: ") + section.source.text + " (" + word(section.source.provenance) + ")" +
                       (section.constants_assumed ? "; DOUBT: constants assumed, no usable points" : "") + ".");
        Table table({{"plate V", Align::right},
                     {"screen V", Align::right},
                     {"grid V", Align::right},
                     {"listed mA", Align::right},
                     {"model", Align::right},
                     {"off", Align::right},
                     {"listed uS", Align::right},
                     {"model", Align::right},
                     {""}});
        std::vector<std::string> notes;
        const auto listed_row = [&](const PointCheck& check, const std::string& mark) {
            const OperatingPoint& listed = check.listed;
            table.row({as_given(listed.plate_volts), as_given(listed.screen_volts), as_given(listed.grid_volts),
                       listed.plate_amps ? milliamps(*listed.plate_amps) : "-",
                       computed_row(check) ? milliamps(check.plate_amps) : "-",
                       computed_row(check) ? per_cent(check.plate_amps, listed.plate_amps) : "-",
                       listed.gm_siemens ? microsiemens(*listed.gm_siemens) : "-",
                       computed_row(check) ? microsiemens(check.gm_siemens) : "-", mark});
        };
        for (const PointCheck& check : section.checks) {
            std::string mark = check.used ? "" : "*";
            if (!check.flag.empty()) {
                notes.push_back(computed_row(check) ? check.flag
                                                    : check.flag + ": not worked out, no constants come of it");
                mark = fmt::format("[{}]", notes.size());
            }
            listed_row(check, mark);
        }
        for (const PointCheck& check : section.lent) listed_row(check, "as " + check.listed.type);
        if (!table.empty()) {
            page.table(table);
            page.paragraph("* not among the points that the constants were derived from.");
        }
        for (std::size_t i = 0; i < notes.size(); ++i) page.paragraph(fmt::format("[{}] {}", i + 1, notes[i]), 0, 4);
        if (!at.empty() && !refused_point) at_point(page, model, section, point);
    }
    if (refused_point) {
        page.heading("no answer");
        page.point("STOP: --at: " + why_refused);
    }
    for (const Assumption& one : model.assumptions)
        page.point(one.about + ": " + one.taken + (one.why.empty() ? std::string() : " (" + one.why + ")"));
    return {page.take(), false, refused_point};
}

}  // namespace tubewright
