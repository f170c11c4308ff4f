// SPDX-License-Identifier: MIT
// See dry.hpp.
#include "bench/dry.hpp"

#include <algorithm>
#include <cmath>
#include <string_view>

#include "chassis/data.hpp"

namespace tubewright::bench {

namespace {

// All common practice, no source.
constexpr double usual_volts = 130, usual_amps = 0.075;
constexpr double selenium_plate_volts = 26;                        ///< rms
constexpr double tired = 4, half_tired = 2.5;                      ///< times the ohms of a new stack
constexpr double grown_ohms = 2, grown_leak = 2, spent_leak = 10;  ///< of an old stack, of a leaking one
constexpr double years_to_grow = 20, years_when_unknown = 70;
constexpr double cell_volts = 1.5, filament_cell_ohms = 0.15, plate_cell_ohms = 0.5, tired_cell = 10;
constexpr double spent_cell = 0.8, years_to_spend = 3;  ///< of a cell's volts, open; as its construction's median life
constexpr double wet_battery_ohms = 0.01, tired_lead = 3, spent_lead = 0.95, years_of_lead = 5;
constexpr double lead_cell_volts = 2, lead_cell_ohms = 0.02;  ///< of a filament accumulator, some 40 ampere-hours
constexpr double secondary_share = 0.9;

double dry_amps(double v, double saturation, double fold, double ohms, double& slope) {
    // fold x + ohms saturation (exp(x) - 1) = v; each term alone gives a bound from above.
    const double drop = ohms * saturation;
    double x = v / fold;
    if (v > 0 && drop > 0) x = std::min(x, std::log1p(v / drop));
    x = std::max(x, -600.0);
    for (int round = 0; round < 60; ++round) {
        const double e = std::exp(x);
        const double step = (fold * x + drop * (e - 1) - v) / (fold + drop * e);
        x -= step;
        if (std::fabs(step) < 1e-13 * (1 + std::fabs(x))) break;
    }
    const double e = std::exp(x);
    slope = saturation * e / (fold + drop * e);
    return saturation * (e - 1);
}

bool has_word(std::string_view seen, std::string_view word) {
    return seen.find(word) != std::string_view::npos;
}

/// Filaments of 2 V and more were made for accumulators; those of 1.4 V for dry cells.
bool lights_two_volts(const Chassis& set) {
    return std::any_of(set.parts().begin(), set.parts().end(), [](const Part& part) {
        return part.kind == PartKind::socket && part.type != nullptr && part.type->heater_volts.value_or(0) >= 1.9 &&
               !(part.type->directly_heated && part.type->heater_volts.value_or(0) > 2.5 &&
                 part.type->heater_amps.value_or(0) <= 0.06);
    });
}

}  // namespace

circuit::Law dry_rectifier_law() {
    return {2, [](const double* p, const double* v, double* i, double* g) {
                double slope = 0;
                const double amps = dry_amps(v[0], p[saturation_amps], p[fold_volts], p[series_ohms], slope);
                i[0] = p[scale] * (amps + p[reverse_siemens] * v[0]);
                g[0] = p[scale] * (slope + p[reverse_siemens]);
            }};
}

const std::vector<std::string>& dry_parameter_names() {
    static const std::vector<std::string> names{"emission", "saturation_amps", "fold_volts", "series_ohms",
                                                "reverse_siemens"};
    return names;
}

Age age_of(const Part& part, const Chassis& set, int today_year) {
    const int from = part.since.value_or(set.built().value_or(0));
    if (from <= 0) return {years_when_unknown, false};
    return {static_cast<double>(std::max(0, today_year - from)), true};
}

DryRectifier dry_rectifier(const Part& part, const Age& age) {
    DryRectifier made;
    made.rated_volts = part.rated_volts.value_or(usual_volts);
    made.rated_amps = std::max(part.rated_amps.value_or(usual_amps), 1e-4);
    const bool silicon = part.construction == "silicon";
    const bool oxide = part.construction.find("oxide") != std::string::npos;
    const double plate_volts = silicon ? 1e9 : oxide ? 6 : selenium_plate_volts;
    made.plates = std::max(1, static_cast<int>(std::lround(made.rated_volts / plate_volts)));
    // of one plate, new, at its rated current: volts to a factor e, volts of the exponential, volts of its ohms
    const double fold = silicon ? 0.05 : oxide ? 0.06 : 0.08, junction = silicon ? 0.7 : oxide ? 0.3 : 0.6;
    const double in_ohms = silicon ? 0.1 : oxide ? 0.2 : 0.4;
    const double saturation = made.rated_amps / std::expm1(junction / fold);
    const double ohms = made.plates * in_ohms / made.rated_amps;
    const double back = silicon ? 1e-9 : 0.005 * made.rated_amps / (made.rated_volts * std::sqrt(2.0));
    made.parameters = {1, saturation, made.plates * fold, ohms, back};
    made.least_ohms = 0.7 * ohms;
    made.most_ohms = silicon ? 1.5 * ohms : tired * ohms;
    made.least_siemens = 0.5 * back;
    made.most_siemens = silicon ? 2 * back : spent_leak * back;
    made.made = silicon ? std::string("one junction of silicon")
                        : std::to_string(made.plates) + (made.plates == 1 ? " plate of " : " plates of ") +
                              (oxide ? "copper oxide" : "selenium");
    if (silicon) return made;
    // seen drifted it is neither new nor spent, seen sound it is as new
    const bool drifted = has_word(part.seen, "drifted"), leaking = has_word(part.seen, "leaking");
    const double grown = has_word(part.seen, "sound") ? 0 : std::min(1.0, age.years / years_to_grow);
    made.parameters[series_ohms] *= std::max(1 + (grown_ohms - 1) * grown, drifted ? half_tired : 1.0);
    made.parameters[reverse_siemens] *= std::max(1 + (grown_leak - 1) * grown, leaking ? spent_leak : 1.0);
    if (leaking) made.most_siemens *= 3;
    if (drifted)
        made.made += ", aged (seen drifted)";
    else if (!(grown > 0))
        made.made += ", new";
    else
        made.made += age.known ? ", " + std::to_string(std::lround(age.years)) + " years old"
                               : ", taken as old (no year in the file)";
    if (leaking) made.made += ", leaking back";
    return made;
}

Battery battery_of(const Part& part, const Chassis& set, int today_year) {
    Battery made;
    const double marked = part.rated_volts.value_or(cell_volts);
    double cells = std::max(1.0, marked / cell_volts), fresh = 0;
    fresh = cells * (part.role == "a" ? filament_cell_ohms : plate_cell_ohms);
    bool accumulator = part.role == "vehicle";
    if (accumulator) fresh = wet_battery_ohms;
    if (part.role == "a" && lights_two_volts(set))
        for (const double count : {1, 2, 3})
            if (std::fabs(marked - count * lead_cell_volts) < 0.05 * marked) {
                fresh = count * lead_cell_ohms;
                accumulator = made.lead = true;
            }
    const double times = accumulator ? tired_lead : tired_cell, least = accumulator ? spent_lead : spent_cell;
    // its own date alone: no battery is as old as its set
    double spent = 0;
    made.state = "in service: as marked";
    if (part.since) {
        const double years = age_of(part, set, today_year).years;
        spent = std::min(1.0, years / (accumulator ? years_of_lead : years_to_spend));
        made.state = years < 1 ? "of this year: as marked" : std::to_string(std::lround(years)) + " years old";
    }
    if (has_word(part.seen, "drifted")) spent = std::max(spent, 0.5), made.state = "seen drifted: half spent";
    for (const char* word : {"dead", "dried", "leaking"})
        if (has_word(part.seen, word)) spent = 1, made.state = std::string("seen ") + word + ": spent";
    if (has_word(part.seen, "sound")) spent = 0, made.state = "seen sound: as marked";
    made.volts = marked * (1 - (1 - least) * spent);
    made.least_volts = marked * least;
    // what an engine adds is a condition of its own, and no spread of the battery
    made.most_volts = std::max(made.volts, accumulator ? marked : marked * new_cells);
    made.ohms = part.ohms ? *part.ohms : fresh * (1 + (times - 1) * spent);
    made.least_ohms = 0.7 * (part.ohms ? *part.ohms : fresh);
    made.most_ohms = part.ohms ? *part.ohms : times * fresh;
    return made;
}

std::vector<Closed> vibrator_contacts(const Part& part) {
    const double half = 0.5 * part.duty.value_or(usual_duty);
    const auto on_grid = [](double turn) { return std::round(turn * vibrator_grid) / vibrator_grid; };
    std::vector<Closed> contacts;
    for (int lead = 1; lead < static_cast<int>(part.leads.size()); ++lead) {
        const bool second = lead % 2 == 0, rectifies = lead > 2;
        // a secondary contact makes after its primary one and breaks before it
        const double late = rectifies ? 0.5 * (1 - secondary_share) * half : 0;
        const double begins = (second ? 0.5 : 0) + late;
        contacts.push_back({lead, on_grid(begins), on_grid(begins + half - 2 * late), rectifies});
    }
    return contacts;
}

int leading_battery(const Chassis& set) {
    int first = -1, filaments = -1;
    for (std::size_t p = 0; p < set.parts().size(); ++p) {
        const Part& part = set.parts()[p];
        if (part.kind != PartKind::battery || part.leads.size() < 2 || !part.closed || stands_open(part)) continue;
        const int index = static_cast<int>(p);
        if (part.role == "vehicle") return index;
        if (first < 0) first = index;
        if (part.role == "a" && filaments < 0) filaments = index;
    }
    return filaments >= 0 ? filaments : first;
}

double feed_volts(const Chassis& set) {
    const NodeRoles& roles = set.nodes();
    const bool line = roles.line_hot >= 0 && roles.line_neutral >= 0 && roles.line_hot != roles.line_neutral;
    const int battery = line ? -1 : leading_battery(set);
    if (battery < 0) return set.line().volts;
    return set.parts()[static_cast<std::size_t>(battery)].rated_volts.value_or(cell_volts);
}

double feed_hertz(const Chassis& set, const Policy& policy) {
    constexpr double usual_vibrator = 115, any = 60;
    for (const Part& part : set.parts())
        if (part.kind == PartKind::vibrator && !part.leads.empty()) return part.hertz.value_or(usual_vibrator);
    const NodeRoles& roles = set.nodes();
    const bool line = roles.line_hot >= 0 && roles.line_neutral >= 0 && roles.line_hot != roles.line_neutral;
    if (!line || set.line().hertz <= 0 || set.line().supply == "dc") return any;
    return policy.line.hertz.value() > 0 ? policy.line.hertz.value() : set.line().hertz;
}

}  // namespace tubewright::bench
