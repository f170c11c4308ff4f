// SPDX-License-Identifier: MIT
// A type of the catalogue to its units and their constants. Triodes and pentodes are fitted to their own rows and those
// of their electrical twins (fit.hpp); rectifiers take the 3/2 law through their listed drop; converters the mean
// currents at their listed self-biased oscillation. What no table gives is assumed, and every assumption is listed.
// Tests: tests/tubes/, tests/recalled/.
#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include <tubewright/tubes.hpp>

#include "tubes/fit.hpp"
#include "tubes/laws.hpp"
#include "tubes/numbers.hpp"
#include "tubes/parameters.hpp"
#include "tubes/regulator.hpp"

namespace tubewright {
namespace {

using namespace tubes;

Outcome<TubeModel> refusal(int number, const TubeType& type, const std::string& why, const std::string& remedy) {
    Notice n;
    n.number = number;
    n.severity = Severity::error;
    n.message = "no constants for a " + type.type + " (" + type.tube_class + "): " + why;
    n.remedy = remedy;
    return n;
}

/// A terminal: the word of the basing and the pin that carries it.
struct Terminal {
    std::string electrode, pin;
};

/// Looks up electrodes in a basing, each pin named "p" or "d" once.
class Basing {
  public:
    explicit Basing(const TubeType& type) : type_(type) {}

    /// All pins that carry the word, in the table's order.
    std::vector<Terminal> all(const std::string& word) const {
        std::vector<Terminal> out;
        for (const Pin& pin : type_.pins)
            for (const std::string& e : pin.electrodes)
                if (e == word) out.push_back({e, pin.pin});
        return out;
    }
    /// The first of the words that the basing has; an empty pin when it has none (the word of the last is kept).
    Terminal first(std::initializer_list<const char*> words) const {
        for (const char* word : words) {
            const std::vector<Terminal> found = all(word);
            if (!found.empty()) return found.front();
        }
        return {*(words.end() - 1), ""};
    }
    bool has(const std::string& word) const { return !all(word).empty(); }
    /// Cathode of a unit, or the filament that stands for it (its negative end, where one is marked).
    Terminal common(std::initializer_list<const char*> cathodes) const {
        for (const char* word : cathodes)
            if (has(word)) return all(word).front();
        return first({"k", "h-", "h"});
    }

  private:
    const TubeType& type_;
};

SectionModel section_of(std::string name, std::string law_name, const std::vector<Terminal>& terminals) {
    SectionModel s;
    s.section = std::move(name);
    s.law = std::move(law_name);
    for (const Terminal& t : terminals) {
        s.electrodes.push_back(t.electrode);
        s.pins.push_back(t.pin);
    }
    s.parameter_names = parameter_names(s.law);
    return s;
}

bool starts_with(const std::string& text, std::string_view word) {
    return text.rfind(word, 0) == 0;
}
bool contains(const std::string& text, std::string_view word) {
    return text.find(word) != std::string::npos;
}

std::string said(double value, int digits = 3) {
    if (value == 0) return "0";
    const double scale = std::pow(10.0, digits - 1 - static_cast<int>(std::floor(std::log10(std::abs(value)))));
    std::string text = std::to_string(std::round(value * scale) / scale);
    while (contains(text, ".") && (text.back() == '0' || text.back() == '.')) {
        const bool dot = text.back() == '.';
        text.pop_back();
        if (dot) break;
    }
    return text;
}

// ----------------------------------------------------------------------------------------------------------------
// rectifiers

void add_rectifier(TubeModel& model, const TubeType& type, const Catalogue& catalogue) {
    const Basing basing(type);
    const RectifierType* row = catalogue.rectifier(type.type);
    model.rectifier = row;
    std::vector<std::pair<Terminal, Terminal>> plates;
    if (basing.has("pr")) {
        plates.emplace_back(basing.first({"pr"}), basing.first({"kr", "k"}));
    } else if (basing.has("p1")) {
        plates.emplace_back(basing.first({"p1"}), basing.common({"k1", "k"}));
        plates.emplace_back(basing.first({"p2"}), basing.common({"k2", "k"}));
    } else {
        for (const Terminal& p : basing.all("p")) plates.emplace_back(p, basing.common({"k"}));
    }
    const bool gas = row != nullptr && row->gas;
    double drop = 20, amps = 0.15;
    bool assumed = true;
    Source source{Provenance::assumed, "drop of 20 V at 150 mA a plate, as the half-wave rectifiers of its class"};
    if (row != nullptr && row->drop_volts && (gas || row->drop_amps)) {
        drop = *row->drop_volts;
        amps = row->drop_amps.value_or(0);
        assumed = false;
        source = row->source;
    }
    int number = 0;
    for (const auto& [plate, common] : plates) {
        ++number;
        SectionModel s = section_of("rectifier plate " + std::to_string(number), gas ? "gas-diode" : "vacuum-diode",
                                    {plate, common});
        if (gas) {
            s.parameters = {1, drop, 4, 0.5};
        } else {
            s.parameters = {1, amps / (drop * std::sqrt(drop)), 0};
        }
        s.constants_assumed = assumed;
        s.source = source;
        model.sections.push_back(std::move(s));
    }
    if (assumed)
        model.assumptions.push_back({type.type + " rectifier drop", "20 V at 150 mA a plate", "no drop in the table",
                                     "read plate to cathode at a known current", "a few volts of B-plus",
                                     "half-wave rectifiers of its class, recalled"});
    if (gas)
        model.assumptions.push_back({type.type + " arc", said(drop) + " V and 4 ohm",
                                     "a gas tube holds its drop nearly constant", "read plate to cathode running",
                                     "starting volts (higher) are not in the law", row->source.text});
}

/// A gas tube that holds its volts: its arc, a little steeper than a wire.
bool add_regulator(TubeModel& model, const TubeType& type) {
    const std::optional<Regulator> row = regulator(type);
    const Basing basing(type);
    if (!row || !basing.has("p") || !basing.has("k")) return false;
    SectionModel s = section_of("regulator", "gas-diode", {basing.first({"p"}), basing.common({"k"})});
    const double ohms = row->rise_volts / (row->most_amps - row->least_amps);
    s.parameters = {1, row->volts - ohms * 0.5 * (row->least_amps + row->most_amps), ohms, 0.5};
    s.source = type.source;
    model.sections.push_back(std::move(s));
    model.assumptions.push_back({type.type + " arc", said(row->volts) + " V, lit", "a gas tube holds its volts",
                                 "its volts running; " + said(row->start_volts) + " V start it",
                                 "starting volts are not in the law; tubes differ by some percent", type.source.text});
    return true;
}

// ------------------------------------------------------------------------------------------------------------- signal
// diodes

void add_signal_diodes(TubeModel& model, const TubeType& type, bool filament) {
    const Basing basing(type);
    std::vector<std::pair<Terminal, Terminal>> diodes;
    double perveance = 30e-6;
    std::string why = "about 1 mA at 10 V, as small diodes beside a triode";
    if (starts_with(type.tube_class, "dual diode")) {
        diodes.emplace_back(basing.first({"p1"}), basing.common({"k1"}));
        diodes.emplace_back(basing.first({"p2"}), basing.common({"k2"}));
        const bool modern = contains(type.base, "miniature");
        perveance = modern ? 1.9e-3 : 0.25e-3;
        why = modern ? "about 60 mA at 10 V, as late miniature diodes" : "about 8 mA at 10 V, as octal diodes";
    } else {
        for (const Terminal& d : basing.all("d")) diodes.emplace_back(d, basing.common({"k"}));
    }
    int number = 0;
    for (const auto& [plate, common] : diodes) {
        ++number;
        SectionModel s = section_of("diode " + std::to_string(number), "signal-diode", {plate, common});
        s.parameters = {1, perveance, grid_onset_for(perveance, filament ? 0.0 : -0.5)};
        s.constants_assumed = true;
        s.source = {Provenance::assumed, why};
        model.sections.push_back(std::move(s));
    }
    if (!diodes.empty())
        model.assumptions.push_back({type.type + " diodes", said(perveance * 1e6) + " uA/V^1.5",
                                     "no diode rows in the table", "read the diode current at 10 V",
                                     "a few tenths of a volt of detector and AVC volts", why});
}

// ------------------------------------------------------------------------------------------------------- triodes and
// pentodes

PointCheck check_of(const std::string& law_name, const std::vector<double>& parameters, const OperatingPoint& point,
                    bool used) {
    PointCheck check;
    check.listed = point;
    check.used = used;
    if (!point.plate_volts) return check;
    FitRow row;
    row.point = point;
    row.triode_connected = row_use(point, &row.units) == RowUse::triode_connected;
    const Prediction m = predict(law_name, parameters, row);
    check.plate_amps = m.plate_amps;
    check.screen_amps = m.screen_amps;
    check.gm_siemens = m.gm_siemens;
    check.rp_ohms = m.rp_ohms;
    return check;
}

std::string why_text(const OperatingPoint& p) {
    if (contains(p.section, "plate via")) return "volts of a supply behind a resistor, not of the plate";
    if (contains(p.section, "class B")) return "class B: quiescent figures without gm";
    if (contains(p.section, "push-pull"))
        return std::string("a tube of a pair at rest") +
               (contains(p.note, "computed from supply") ? ", its volts worked out behind its resistors" : "") +
               ": not used, as no row of a pair is";
    if (contains(p.section, "g2+g3 to p")) return "the suppressor is on the plate too: another structure";
    if (contains(p.section, "series filament")) return "half of the filament stands higher in a series connection";
    return "not a static point of this law";
}

/// A tube made for class B alone has no static rows: what its plates draw without signal is a point of the 3/2 law all
/// the same, with an amplification factor of two such rows, or one assumed.
std::vector<FitRow> quiescent_rows(const TubeType& type, const Catalogue& catalogue) {
    constexpr double usual_mu = 35;  // of tubes that idle at 0 V (common practice, no source)
    std::vector<OperatingPoint> points;
    for (const OperatingPoint& p : catalogue.points_of(type))
        if (contains(p.section, "class B, per plate") && p.plate_volts && p.plate_amps && *p.plate_amps > 0)
            points.push_back(p);
    double mu = usual_mu;
    if (points.size() > 1 && points[0].plate_volts == points[1].plate_volts && points[0].grid_volts &&
        points[1].grid_volts) {
        // Ip^(2/3) is straight in Vg + Vp/mu
        const double r = std::cbrt(*points[0].plate_amps / *points[1].plate_amps);
        const double ratio = r * r, g0 = *points[0].grid_volts, g1 = *points[1].grid_volts;
        const double lift = (g0 - ratio * g1) / (ratio - 1);
        if (ratio > 1 && lift > 0) mu = *points[0].plate_volts / lift;
    }
    std::vector<FitRow> rows;
    for (OperatingPoint p : points) {
        p.section = "triode";
        p.mu = mu;
        const double drive = p.grid_volts.value_or(0) + *p.plate_volts / mu;
        if (drive > 0) p.gm_siemens = 1.5 * *p.plate_amps / drive;
        FitRow row;
        row.point = p;
        rows.push_back(std::move(row));
    }
    return rows;
}

/// Fits the type's rows; adds the unit once for each set of terminals. Nothing is added when there are no rows.
bool add_amplifier(TubeModel& model, const TubeType& type, const Catalogue& catalogue, const std::string& name,
                   bool triode, const std::vector<std::vector<Terminal>>& units) {
    const Pools pools(catalogue.points(), catalogue);
    std::vector<FitRow> rows = pools.rows(type.type, triode);
    const bool quiescent = rows.empty() && triode;
    if (quiescent) rows = quiescent_rows(type, catalogue);
    if (rows.empty()) return false;
    OperatingPoint example = rows.front().point;
    if (triode && rows.front().triode_connected) example.section = "triode";
    Structure structure = structure_of(&type, example);
    if (!triode && structure.family == Family::triode) return false;

    // A row that the rest cannot meet and a second source contradicts is set aside, with both named.
    std::map<int, std::string> flags;
    Fit f = fit(structure, rows);
    for (int round = 0; round < 2 && rows.size() > 1; ++round) {
        std::size_t worst = rows.size();
        double most = 0.08;
        for (std::size_t k = 0; k < rows.size(); ++k) {
            const OperatingPoint& p = rows[k].point;
            const double error = std::abs(predict(f.law, f.parameters, rows[k]).plate_amps / *p.plate_amps - 1);
            if (error > most && contains(p.source.text, "cross-check") && p.source.provenance == Provenance::recalled) {
                most = error;
                worst = k;
            }
        }
        if (worst == rows.size()) break;
        const OperatingPoint p = rows[worst].point;
        flags[p.row] = "set aside: the other rows of the type and " +
                       p.source.text.substr(p.source.text.find("cross-check") + 13) +
                       " both contradict its plate current";
        rows.erase(rows.begin() + static_cast<std::ptrdiff_t>(worst));
        f = fit(structure, rows);
    }

    bool only_connected = true;
    Source source = rows.front().point.source;
    for (const FitRow& row : rows) {
        only_connected = only_connected && row.triode_connected;
        source.provenance = std::max(source.provenance, row.point.source.provenance);
    }
    std::vector<PointCheck> checks;
    for (const OperatingPoint& p : catalogue.points_of(type)) {
        const RowUse use = row_use(p);
        if (use == RowUse::text) {
            PointCheck check;
            check.listed = p;
            check.flag = why_text(p);
            if (contains(p.section, "push-pull") || contains(p.section, "series filament")) {
                constexpr double far = 0.15;
                check = check_of(f.law, f.parameters, p, false);
                check.flag = why_text(p);
                const double off = p.plate_amps ? check.plate_amps / *p.plate_amps - 1 : 0;
                if (std::abs(off) > far)
                    check.flag += "; DOUBT: the law is " + std::to_string(std::lround(100 * std::abs(off))) + " % " +
                                  (off > 0 ? "above" : "below") +
                                  " it, and holds about the volts of the rows that were used only";
            }
            checks.push_back(std::move(check));
            continue;
        }
        const auto flag = flags.find(p.row);
        PointCheck check = check_of(f.law, f.parameters, p, flag == flags.end());
        if (flag != flags.end()) check.flag = flag->second;
        checks.push_back(std::move(check));
    }
    std::string borrowed;
    std::vector<PointCheck> lent;
    for (const FitRow& row : rows) {
        if (row.point.type == type.type) continue;
        lent.push_back(check_of(f.law, f.parameters, row.point, true));
        if (!contains(borrowed + ",", " " + row.point.type + ","))
            borrowed += (borrowed.empty() ? " " : ", ") + row.point.type;
    }
    for (std::size_t k = 0; k < units.size(); ++k) {
        SectionModel s = section_of(units.size() == 1 ? name : name + " " + std::to_string(k + 1), f.law, units[k]);
        s.parameters = f.parameters;
        s.checks = checks;
        s.lent = lent;
        s.source = source;
        s.constants_assumed = quiescent || (only_connected && !triode);
        model.sections.push_back(std::move(s));
    }
    const double contact = structure.filament ? 0.0 : -0.5;
    model.assumptions.push_back({type.type + " grid current",
                                 "0.3 uA x exp((Vg " + std::string(contact < 0 ? "+ " : "- ") +
                                     said(std::abs(contact)) + " V)/0.1 V), 3/2 law above",
                                 "no row lists it", "volts across the grid leak on a 10 megohm meter",
                                 "+-0.3 V of grid volts in stages with 10 megohm grid leaks", "assumed"});
    model.assumptions.push_back({type.type + " spread", "listed values", "a tube in its socket differs from the list",
                                 "read cathode volts", "+-20 % of plate current", "common practice"});
    if (!borrowed.empty())
        model.assumptions.push_back({type.type + " rows", "also rows listed under" + borrowed,
                                     "they print the same points: one tube electrically", "", "",
                                     "the rows themselves"});
    if (only_connected && !triode)
        model.assumptions.push_back(
            {type.type + " screen share", said(f.parameters[pentode::screen_share]) + " of the plate current",
             "only triode-connected rows are listed", "read the screen current", "screen current +-50 %", "assumed"});
    if (contains(rows.front().point.note, "Ig2 is a maximum"))
        model.assumptions.push_back({type.type + " screen current", "as listed", "the table lists a maximum",
                                     "read the screen current", "the real one may be a third of it",
                                     rows.front().point.source.text});
    return true;
}

// -----------------------------------------------------------------------------------------------------------------
// converters

bool add_converter(TubeModel& model, const TubeType& type, const Catalogue& catalogue) {
    const Basing basing(type);
    std::vector<FitRow> rows;
    for (const OperatingPoint& p : catalogue.points_of(type)) {
        const bool mixing =
            starts_with(p.section, "converter") || starts_with(p.section, "hexode") || starts_with(p.section, "mixer");
        if (!mixing || !p.plate_amps || !p.screen_volts || !p.grid_volts || !p.plate_volts) continue;
        FitRow row;
        row.point = p;
        // No gm is listed: the mean one over a swing is about one and a half times the conversion transconductance.
        for (const ConverterOscillator& c : catalogue.converter_oscillators_of(type))
            if (c.plate_volts == p.plate_volts && c.screen_volts == p.screen_volts && c.conversion_siemens)
                row.point.gm_siemens = 1.5 * *c.conversion_siemens;
        rows.push_back(std::move(row));
    }
    if (rows.empty()) return false;
    Structure structure;
    structure.family = Family::converter;
    structure.filament = type.directly_heated;
    structure.filament_volts = type.directly_heated ? type.heater_volts.value_or(0) : 0;
    const Fit f = fit(structure, rows);
    const bool octode = contains(type.tube_class, "octode");
    const bool hexode = basing.has("pt"), mixer = contains(type.tube_class, "mixer");
    // Where g2 and g4 are one, the screen is the oscillator's plate; else the anode grid is.
    const bool joined = !hexode && !octode && basing.first({"g2"}).pin == basing.first({"g4"}).pin;
    std::vector<Terminal> terminals{basing.first({"p"})};
    if (hexode) {
        terminals.insert(terminals.end(),
                         {basing.first({"g2"}), basing.first({"pt"}), basing.first({"gt"}), basing.first({"g3"})});
    } else if (mixer) {
        terminals.insert(terminals.end(), {basing.first({"g2"}), basing.first({"g3"}), basing.first({"g1"})});
    } else if (joined) {
        terminals.insert(terminals.end(), {basing.first({"g2"}), basing.first({"g1"}), basing.first({"g3"})});
    } else {
        terminals.insert(terminals.end(),
                         {basing.first({"g3"}), basing.first({"g2"}), basing.first({"g1"}), basing.first({"g4"})});
    }
    terminals.push_back(basing.common({"k"}));
    SectionModel s = section_of("converter", joined || mixer ? "pentagrid" : "converter", terminals);
    s.parameters = f.parameters;
    s.parameters.resize(joined || mixer ? converter::pentagrid_count : converter::count, 0.0);
    // the row at the highest plate volts decides, as in the fit
    const auto highest = std::max_element(rows.begin(), rows.end(), [](const FitRow& a, const FitRow& b) {
        return *a.point.plate_volts < *b.point.plate_volts;
    });
    s.parameters[converter::divides] = mixer ? 0 : 1;
    s.parameters[converter::total_at] = *highest->point.grid_volts / *highest->point.screen_volts;
    s.source = rows.front().point.source;
    for (const OperatingPoint& p : catalogue.points_of(type)) {
        const bool used =
            std::any_of(rows.begin(), rows.end(), [&](const FitRow& row) { return row.point.row == p.row; });
        PointCheck check = check_of("pentode", f.parameters, p, used);
        if (!used) check.flag = why_text(p);
        s.checks.push_back(std::move(check));
    }
    // The oscillator: swing and grid slope so that the listed leak carries the listed current at the listed volts; a
    // tenth of the swing is left as crest.
    double swing = 0, slope = 0, perveance = 0, weight = 0;
    for (const ConverterOscillator& c : catalogue.converter_oscillators_of(type)) {
        const std::optional<double> plate = joined ? c.screen_volts : c.anode_grid_volts;
        if (!plate || !c.grid_amps || !c.grid_leak_ohms) continue;
        const double w = *plate;  // the higher row is the one sets use
        swing += w * 1.1 * *c.grid_amps * *c.grid_leak_ohms / *plate;
        slope += w * 10 / *c.grid_leak_ohms;
        if (c.anode_grid_amps) perveance += w * *c.anode_grid_amps / (*plate * std::sqrt(*plate));
        weight += w;
    }
    if (weight > 0) {
        s.parameters[converter::swing] = swing / weight;
        s.parameters[converter::oscillator_grid] = slope / weight;
        if (!joined && !mixer) s.parameters[converter::anode_perveance] = perveance / weight;
    } else if (!mixer) {
        s.parameters[converter::swing] = 0.12;
        s.parameters[converter::oscillator_grid] = 2e-4;
    }
    model.sections.push_back(std::move(s));
    model.assumptions.push_back(
        {type.type + " oscillation", "as listed, in proportion to the volts of its plate",
         "the law gives means over a period of self-biased oscillation", "volts across the oscillator grid leak",
         "a dead oscillator changes plate, screen and anode-grid currents", "notes of the listed rows"});
    model.assumptions.push_back({type.type + " spread", "listed values", "a tube in its socket differs from the list",
                                 "read cathode volts", "+-20 % of currents", "common practice"});
    return true;
}

// -----------------------------------------------------------------------------------------------------------------------
// eyes

void add_eye(TubeModel& model, const TubeType& type, const Catalogue& catalogue) {
    const Basing basing(type);
    const bool remote = contains(type.tube_class, "remote");
    SectionModel s = section_of("triode", "triode", {basing.first({"p"}), basing.first({"g1"}), basing.common({"k"})});
    s.parameters.assign(triode::count, 0);
    s.parameters[triode::emission] = 1;
    s.parameters[triode::perveance] = remote ? 0.22e-3 : 0.5e-3;
    s.parameters[triode::mu] = remote ? 14 : 40;
    s.parameters[triode::contact] = 0.4;
    s.parameters[triode::width] = 0.2;
    s.parameters[triode::width_share] = 0.1;
    s.parameters[triode::grid_hold] = 0.5;
    s.parameters[triode::grid_perveance] = 0.4 * s.parameters[triode::perveance];
    s.parameters[triode::grid_onset] = grid_onset_for(s.parameters[triode::grid_perveance], -0.5);
    s.constants_assumed = true;
    s.source = {Provenance::assumed,
                "so that 250 V through 1 megohm gives about 0.24 mA at 0 V on the grid and the shadow closes at the "
                "listed bias"};
    for (const OperatingPoint& p : catalogue.points_of(type)) {
        PointCheck check;
        check.listed = p;
        check.flag = why_text(p);
        s.checks.push_back(std::move(check));
    }
    model.sections.push_back(std::move(s));
    SectionModel target = section_of("target", "vacuum-diode", {basing.first({"target"}), basing.common({"k"})});
    target.parameters = {1, 0.75e-6, 0};
    target.constants_assumed = true;
    target.source = {Provenance::assumed, "3 mA at 250 V"};
    model.sections.push_back(std::move(target));
    model.assumptions.push_back({type.type + " constants", "a small triode and 3 mA of target current at 250 V",
                                 "its rows are supply volts behind a resistor",
                                 "read plate and target volts and currents", "target current 2 to 4 mA",
                                 "notes of the listed rows"});
}

}  // namespace

Outcome<TubeModel> tube_model(const TubeType& type, const Catalogue& catalogue) {
    TubeModel model;
    model.type = type.type;
    model.row = &type;
    const Basing basing(type);
    const std::string& kind = type.tube_class;
    if (kind == "ballast")
        return refusal(messages::no_tube_constants, type, "it is a resistor in a bulb",
                       "take its volts and amperes from its code");
    if (type.is_rectifier() || basing.has("pr")) add_rectifier(model, type, catalogue);
    if (starts_with(kind, "dual diode") || basing.has("d")) add_signal_diodes(model, type, type.directly_heated);
    const bool done = (type.is_rectifier() && !basing.has("pr")) || starts_with(kind, "dual diode");
    bool found = done;
    if (done) {
    } else if (kind == "gas regulator") {
        found = add_regulator(model, type);
    } else if (starts_with(kind, "eye")) {
        add_eye(model, type, catalogue);
        found = true;
    } else if (contains(kind, "converter") || contains(kind, "mixer")) {
        found = add_converter(model, type, catalogue);
    } else if (starts_with(kind, "dual-triode")) {
        const Terminal first = basing.common({"k1", "k"}), second = basing.common({"k2", "k"});
        found = add_amplifier(model, type, catalogue, "triode", true,
                              {{basing.first({"p1"}), basing.first({"g1t"}), first},
                               {basing.first({"p2"}), basing.first({"g2t"}), second}});
    } else if (basing.has("g2")) {
        found = add_amplifier(
            model, type, catalogue,
            contains(kind, "tetrode") ? "tetrode"
            : contains(kind, "beam")  ? "beam"
                                      : "pentode",
            false, {{basing.first({"p"}), basing.first({"g2"}), basing.first({"g1"}), basing.common({"k"})}});
    } else {
        found = add_amplifier(model, type, catalogue, "triode", true,
                              {{basing.first({"p"}), basing.first({"g1"}), basing.common({"k"})}});
    }
    if (!found) {
        const bool rows = !catalogue.points_of(type).empty();
        return refusal(rows ? messages::only_text_rows : messages::no_tube_constants, type,
                       rows ? "its rows are class B or supply volts and give none"
                            : "no listed operating point and no kin that has one",
                       "add a static row (plate volts, grid volts, plate current, gm) to a table of your own");
    }
    return model;
}

void hold_out(TubeModel& model, const Catalogue& catalogue) {
    const auto same = [](const OperatingPoint& a, const OperatingPoint& b) {
        return a.type == b.type && a.section == b.section && a.plate_volts == b.plate_volts &&
               a.screen_volts == b.screen_volts && a.grid_volts == b.grid_volts && a.plate_amps == b.plate_amps;
    };
    std::map<std::string, std::vector<tubes::HeldOut>> by_type;
    for (SectionModel& section : model.sections)
        for (PointCheck& check : section.checks) {
            const auto [held, is_new] = by_type.try_emplace(check.listed.type);
            if (is_new) held->second = tubes::score(catalogue.points(), catalogue, check.listed.type);
            for (const tubes::HeldOut& one : held->second)
                if (same(*one.point, check.listed)) check.held_out_error = one.plate_error;
        }
}

TubeCurrents currents_at(const SectionModel& section, Volts plate, Volts screen, Volts grid) {
    TubeCurrents out;
    const NamedLaw named = law(section.law);
    if (named.function == nullptr || section.parameters.empty()) return out;
    double v[8] = {}, i[8] = {}, g[49] = {};
    const std::size_t columns = static_cast<std::size_t>(named.terminals - 1);
    const std::size_t none = columns;
    std::size_t at_screen = none, at_grid = none;
    v[0] = plate.value();
    if (section.law == "triode") at_grid = 1;
    if (section.law == "pentode") at_screen = 1, at_grid = 2;
    if (section.law == "converter") {
        at_screen = 1, at_grid = 4;
        v[2] = 0.68 * plate.value();
        v[3] = -section.parameters[converter::swing] * v[2] / 1.1;
    }
    if (section.law == "pentagrid") {
        at_screen = 1, at_grid = 3;
        v[2] = -section.parameters[converter::swing] * screen.value() / 1.1;
    }
    if (at_screen != none) v[at_screen] = screen.value();
    if (at_grid != none) v[at_grid] = grid.value();
    named.function(section.parameters.data(), v, i, g);
    out.plate_amps = i[0];
    out.rp_ohms = 1 / g[0];
    if (at_screen != none) out.screen_amps = i[at_screen];
    if (at_grid != none) {
        out.grid_amps = i[at_grid];
        out.gm_siemens = g[at_grid];
    }
    return out;
}

}  // namespace tubewright
