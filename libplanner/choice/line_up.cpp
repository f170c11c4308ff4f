// SPDX-License-Identifier: MIT
// Level 0: what the tubes and the label tell before anything is traced. Families by rectifier, heaters and label (usage
// of the period, common practice, no source): a rectifier with a heater of many volts, or heaters that add up to the
// line at one current, make a string; a rectifier on a winding of its own makes a power transformer; filaments of 1.4 V
// make a battery set or a portable. Whether the metal is hot no line-up can say. Tests: tests/choice/line_up_test.cpp.
#include <algorithm>
#include <cctype>
#include <cmath>
#include <map>

#include <tubewright/choice.hpp>

#include "choice/figure.hpp"
#include "terms/near.hpp"
#include "terms/numbers.hpp"
#include "terms/period_value.hpp"

namespace tubewright {
namespace {

constexpr double string_volts_least = 10;  ///< a heater of more is made for a string
constexpr double string_fits = 0.15;       ///< of the line
constexpr double vehicle_volts = 32;
constexpr int rubber_from = 1928, rubber_to = 1948;  ///< wire of these years may be rubber that crumbles (practice)

std::string lower(std::string_view text) {
    std::string out(text);
    for (char& c : out) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    return out;
}

Notice wrong(std::string message, std::string remedy) {
    Notice notice;
    notice.number = messages::unknown_word;
    notice.message = std::move(message);
    notice.remedy = std::move(remedy);
    return notice;
}

/// "115V 60c 60W", "105-125 volts 50/60 cycles", "AC/DC", "6 V".
std::optional<Notice> read_label(std::string_view label, LineUp& made) {
    std::string text = lower(label);
    for (char& c : text)
        if (c == ',' || c == ';') c = ' ';
    // "V.A.C.", "60CY.": a stop that stands before no figure is none
    for (std::size_t i = text.size(); i-- > 0;)
        if (text[i] == '.' && (i + 1 == text.size() || !std::isdigit(static_cast<unsigned char>(text[i + 1]))))
            text.erase(i, 1);
    std::vector<std::string> words;
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t from = text.find_first_not_of(' ', at);
        if (from == std::string::npos) break;
        at = std::min(text.find(' ', from), text.size());
        words.push_back(text.substr(from, at - from));
    }
    // "60 w": the unit is a word of its own
    for (std::size_t i = 0; i + 1 < words.size(); ++i)
        if (std::isdigit(static_cast<unsigned char>(words[i].back())) &&
            std::isalpha(static_cast<unsigned char>(words[i + 1].front())) &&
            words[i + 1].find_first_of("0123456789") == std::string::npos && words[i + 1] != "ac" &&
            words[i + 1] != "dc" && words[i + 1] != "ac/dc") {
            words[i] += words[i + 1];
            words.erase(words.begin() + static_cast<std::ptrdiff_t>(i) + 1);
        }
    for (const std::string& word : words) {
        if (word == "or" || word == "and" || word == "battery" || word == "only") continue;
        if (word == "ac" || word == "a.c.") {
            made.current = made.current == "dc" ? "ac-dc" : "ac";
        } else if (word == "dc" || word == "d.c.") {
            made.current = made.current == "ac" ? "ac-dc" : "dc";
        } else if (word == "ac/dc" || word == "ac-dc" || word == "acdc") {
            made.current = "ac-dc";
        } else {
            // a range ("105-125v", "50/60c"): its middle for volts, its upper end for cycles
            const std::size_t unit_at = word.find_first_not_of("0123456789.-/");
            const std::string unit = unit_at == std::string::npos ? "" : word.substr(unit_at);
            const std::string digits = word.substr(0, unit_at);
            const std::size_t dash = digits.find_first_of("-/");
            const Outcome<double> low = read_value(digits.substr(0, dash), Measure::volts);
            const Outcome<double> high =
                dash == std::string::npos ? low : read_value(digits.substr(dash + 1), Measure::volts);
            if (!low || !high || unit.empty())
                return wrong(quoted(word) + " on the label is not understood", "\"115V 60c 60W\", \"117V AC/DC\"");
            if (unit == "va") {
                made.watts = *high;
                made.drawn = choice::figure(*high) + " VA";
            } else if (unit == "v" || unit == "vac" || unit == "vdc" || unit.starts_with("vo")) {
                if (!made.volts) made.volts = (*low + *high) / 2;  // what follows are batteries
            } else if (unit == "c" || unit == "~" || unit == "hz" || unit.starts_with("cy") || unit == "cps") {
                made.hertz = *high;
                if (made.current.empty()) made.current = "ac";
            } else if (unit.starts_with("w")) {
                made.watts = *high;
                made.drawn = say(watts(*high));
            } else if (unit.starts_with("a")) {
                if (!made.volts) continue;
                made.watts = *high * *made.volts;
                made.drawn = choice::figure(*made.watts) + " VA";
            } else {
                return wrong(quoted(word) + " on the label is not understood", "volts V, cycles c, watts W");
            }
        }
    }
    return std::nullopt;
}

bool doubles(const TubeType& type) {
    return type.tube_class.find("doubler") != std::string::npos;
}
bool is_gas(const TubeType& type) {
    return type.tube_class.find("gas") != std::string::npos;
}

std::string names(const std::vector<const TubeType*>& types) {
    std::vector<std::string> ids;
    for (const TubeType* type : types) ids.push_back(type->type);
    return choice::listed(ids);
}

}  // namespace

Outcome<LineUp> line_up_of(const std::vector<std::string>& tubes, std::string_view label, std::optional<int> year,
                           const Catalogue& catalogue) {
    LineUp made;
    made.year = year;
    std::vector<Notice> faults;
    for (const std::string& name : tubes) {
        const TubeType* type = catalogue.tube(name);
        if (type != nullptr) {
            made.tubes.push_back(type);
            continue;
        }
        std::string near;
        for (const std::string& other : catalogue.nearest_tubes(name)) near += (near.empty() ? "" : ", ") + other;
        faults.push_back(wrong("the catalogue has no tube " + quoted(name),
                               near.empty() ? "look at the glass again" : "nearest: " + near));
    }
    if (tubes.empty()) faults.push_back(wrong("no tubes are named", "--tubes 6A7,78,75,42,80"));
    if (const auto fault = read_label(label, made)) faults.push_back(*fault);
    if (!faults.empty()) return faults;

    // ---- heaters
    // Two halves side by side where the others have half its volts and none has all of them.
    const auto halves = [&](const TubeType& type) {
        const auto tapped = [](const TubeType& t) {
            return std::any_of(t.pins.begin(), t.pins.end(), [](const Pin& pin) {
                return std::count(pin.electrodes.begin(), pin.electrodes.end(), "hct") > 0;
            });
        };
        const auto others_at = [&](double v) {
            return std::any_of(made.tubes.begin(), made.tubes.end(), [&](const TubeType* t) {
                return !tapped(*t) && std::fabs(t->heater_volts.value_or(0) - v) < 0.05 * v;
            });
        };
        return !type.is_rectifier() && tapped(type) && others_at(*type.heater_volts / 2) &&
               !others_at(*type.heater_volts);
    };
    std::map<double, HeaterSum> by_amps, by_volts;
    std::vector<const TubeType*> rectifiers, string_rectifiers, filaments, no_heater;
    for (const TubeType* type : made.tubes) {
        if (type->is_rectifier()) rectifiers.push_back(type);
        if (!type->heater_volts || !type->heater_amps) {
            no_heater.push_back(type);
            continue;
        }
        const double v = *type->heater_volts, a = *type->heater_amps;
        if (type->is_rectifier() && v >= string_volts_least) string_rectifiers.push_back(type);
        if (type->directly_heated && !type->is_rectifier()) filaments.push_back(type);
        HeaterSum& series = by_amps[std::round(a * 1000) / 1000];
        series.tubes.push_back(type->type);
        series.volts_in_series += v;
        series.amps = a;
        series.watts += v * a;
        const double side_by_side = halves(*type) ? 2 : 1;
        HeaterSum& parallel = by_volts[std::round(v / side_by_side * 100) / 100];
        parallel.tubes.push_back(type->type);
        parallel.volts_each = v / side_by_side;
        parallel.amps_in_parallel += a * side_by_side;
        parallel.watts += v * a;
    }
    double heater_watts = 0;
    for (auto& [volts_each, sum] : by_volts) {
        heater_watts += sum.watts;
        made.in_parallel.push_back(std::move(sum));
    }
    for (auto& [amps_each, sum] : by_amps)
        if (sum.tubes.size() > 1) made.in_series.push_back(std::move(sum));
    const double line = made.volts.value_or(0);

    // ---- families
    const auto guess = [&](Family family, const char* likelihood, std::vector<std::string> reasons) {
        made.families.push_back({family, likelihood, std::move(reasons)});
    };
    const HeaterSum* longest = nullptr;
    for (const HeaterSum& sum : made.in_series)
        if (!longest || sum.volts_in_series > longest->volts_in_series) longest = &sum;
    const bool small = std::all_of(filaments.begin(), filaments.end(),
                                   [](const TubeType* t) { return t->heater_volts.value_or(9) <= 3; }) &&
                       !filaments.empty() && filaments.size() + rectifiers.size() >= made.tubes.size();
    const bool battery_filaments =
        small && std::all_of(filaments.begin(), filaments.end(), [](const TubeType* t) {
            // 2-volt output tubes take .26 A; the 26 and the 45 are for transformers
            return t->heater_amps.value_or(1) <= (t->heater_volts.value_or(9) < 2.2 ? 0.27 : 0.15);
        });
    const bool cold = std::any_of(rectifiers.begin(), rectifiers.end(),
                                  [](const TubeType* t) { return is_gas(*t) && !t->heater_volts; });
    if (cold || (line > 0 && line <= vehicle_volts)) {
        guess(Family::vehicle, "likely",
              {cold ? "a gas rectifier without a heater is a vehicle set's" : "the label gives " + say(volts(line)),
               "a vibrator makes its B-plus"});
    } else if (battery_filaments) {
        const double sum = longest ? longest->volts_in_series : 0;
        if (line > vehicle_volts || !rectifiers.empty()) {
            guess(Family::portable, "likely",
                  {"filaments of " + names(filaments) + " are made for batteries, and the label gives a line",
                   "in a string they want " + say(volts(sum)) + " at " + say(amps(longest ? longest->amps : 0))});
            guess(Family::battery, "possible", {"the line may belong to a supply that came later"});
        } else {
            guess(Family::battery, "likely", {"filaments of " + names(filaments) + " are made for batteries"});
            guess(Family::portable, "possible", {"with a dry rectifier, which is no tube, it plays on the line too"});
        }
    } else if (!string_rectifiers.empty()) {
        const std::string why = names(string_rectifiers) + " has a heater made for a string across the line";
        const bool may_double = std::any_of(string_rectifiers.begin(), string_rectifiers.end(),
                                            [](const TubeType* t) { return doubles(*t); });
        if (may_double && made.current == "ac") {
            guess(Family::doubler, "likely", {why, "it can double, and the label asks for alternating current alone"});
            guess(Family::floating_b_minus, "possible", {why});
            guess(Family::series_string, "possible", {why});
        } else {
            const bool floats = !year || *year >= 1938 || *year < 1936;
            guess(Family::series_string, "likely", {why, "B-minus may be the metal itself"});
            guess(Family::floating_b_minus, floats ? "likely" : "possible",
                  {why, "or B-minus is a wire of its own, and the metal hangs on it"});
            if (may_double) guess(Family::doubler, "possible", {"its rectifier can double"});
        }
    } else if (!rectifiers.empty()) {
        const bool direct =
            std::any_of(rectifiers.begin(), rectifiers.end(), [](const TubeType* t) { return t->directly_heated; });
        guess(Family::ac_transformer, "likely",
              {names(rectifiers) + (direct ? " takes a heater winding of its own: a power transformer"
                                           : " stands on a common heater winding or on a vehicle's battery")});
        if (!direct) guess(Family::vehicle, "possible", {"the same rectifiers serve behind vibrators"});
        if (made.current == "ac-dc" || made.current == "dc")
            made.heater_words.push_back(
                "the label allows direct current, which no power transformer bears: tubes or label are not the set's "
                "own");
    } else if (longest && line > 0 && std::fabs(longest->volts_in_series / line - 1) <= string_fits) {
        guess(Family::series_string, "likely",
              {"no rectifier tube, and the heaters add up to the line: a dry rectifier stands somewhere"});
    } else {
        guess(Family::unknown, "possible",
              {"no rectifier among the tubes: one is missing, dry, or stands in another box"});
        guess(Family::battery, "seldom", {"or batteries feed it"});
    }

    // ---- what the sums say
    const Family first = made.families.front().family;
    const bool string = first == Family::series_string || first == Family::floating_b_minus || first == Family::doubler;
    if (string && longest) {
        std::string text = "in a string: " + say(volts(longest->volts_in_series)) + " at " + say(amps(longest->amps));
        if (line > 0) {
            const double left = line - longest->volts_in_series;
            if (left > string_fits * line)
                text += "; " + say(volts(left)) + " are left for a resistance cord or ballast, about " +
                        say(ohms(left / longest->amps)) + " and " + say(watts(left * longest->amps));
            else if (left < -string_fits * line)
                text += "; that is more than the line: one of the tubes is not the set's own";
            else
                text += ", which is the line: nothing has to drop before it";
        }
        made.heater_words.push_back(std::move(text));
        if (longest->tubes.size() < made.tubes.size() - no_heater.size())
            made.heater_words.push_back(
                "not all draw the same current: those that draw less have a resistor across them, or are not the set's "
                "own");
    }
    if (first == Family::ac_transformer) {
        for (const HeaterSum& sum : made.in_parallel)
            made.heater_words.push_back("at " + say(volts(sum.volts_each)) + ": " + say(amps(sum.amps_in_parallel)) +
                                        ", " + say(watts(sum.watts)) + " (" + choice::listed(sum.tubes) + ")");
        if (made.watts)
            made.heater_words.push_back(
                "heaters take " + say(watts(heater_watts)) + " of the label's " + made.drawn +
                (heater_watts > *made.watts ? ": more than all of it: tubes or label are not the set's own" : ""));
    }
    if (first == Family::vehicle && !made.in_parallel.empty()) {
        double all = 0;
        for (const HeaterSum& sum : made.in_parallel) all += sum.amps_in_parallel;
        made.heater_words.push_back("heaters draw " + say(amps(all)) +
                                    " from the battery, the vibrator more than that again");
    }
    if (first == Family::battery || first == Family::unknown)
        for (const HeaterSum& sum : made.in_parallel)
            made.heater_words.push_back("side by side at " + say(volts(sum.volts_each)) + ": " +
                                        say(amps(sum.amps_in_parallel)) + ", " + say(watts(sum.watts)) + " (" +
                                        choice::listed(sum.tubes) + ")");
    if (first == Family::portable || first == Family::battery || first == Family::unknown)
        for (const HeaterSum& sum : made.in_series)
            made.heater_words.push_back((first == Family::unknown ? "heaters of " : "filaments of ") +
                                        say(amps(sum.amps)) + ": " + say(volts(sum.volts_in_series)) +
                                        " in a string (" + choice::listed(sum.tubes) + ")");

    // ---- usual parts, and what age has made of them
    const auto usual = [&](std::string what, const char* construction, std::string count) {
        const Construction* row = catalogue.construction(construction);
        made.usual_parts.push_back(
            {std::move(what), construction, row ? row->action : "measure", row ? row->reason : "", std::move(count)});
    };
    const bool transformer = first == Family::ac_transformer || first == Family::vehicle;
    const bool early = year && *year < 1931;
    if (early)
        usual("filter pack", "tar-pack", "1");
    else
        usual("filter electrolytics", "dry-electrolytic", first == Family::battery ? "0 or 1" : "2 or 3 sections");
    usual("couplers and bypasses", early ? "block-paper" : "wax-paper",
          choice::figure(2.0 * static_cast<double>(made.tubes.size())) + " to " +
              choice::figure(4.0 * static_cast<double>(made.tubes.size())));
    usual("resistors", "carbon-composition",
          choice::figure(2.0 * static_cast<double>(made.tubes.size())) + " to " +
              choice::figure(4.0 * static_cast<double>(made.tubes.size())));
    if (first != Family::battery && first != Family::vehicle)
        usual("line cord",
              string && longest && line > 0 && line - longest->volts_in_series > string_fits * line ? "resistance-cord"
                                                                                                    : "line-cord",
              "1");
    if (!year || (*year >= rubber_from && *year <= rubber_to)) usual("wiring", "rubber", "throughout, if it is rubber");
    if (transformer)
        usual(first == Family::vehicle ? "vibrator transformer" : "power transformer", "power-transformer", "1");
    if (first == Family::vehicle) {
        usual("buffer capacitor", "buffer-paper", "1");
        usual("vibrator", "vibrator", "1");
    }
    if (first == Family::portable || (rectifiers.empty() && string)) usual("dry rectifier", "selenium", "1");
    usual("output transformer", "output-transformer", "1");
    usual("dial lamp", "dial-lamp", "0 to 2");

    // ---- what to see next, and what can kill
    made.look_at = {"the label inside: volts, cycles, watts, and whether the line-up on it is the one in the sockets"};
    if (first != Family::battery && first != Family::vehicle)
        made.look_at.push_back(
            "plug out, switch on: ohms from each blade to the metal; near nothing, the metal is the line");
    made.look_at.push_back(
        transformer ? "whether a power transformer is there, cold ohms of its windings, and whether its wax has run"
                    : "where B-minus is: the metal, or a wire that hangs on it by a capacitor and a resistor");
    made.look_at.push_back("then a list of the capacitors with what is printed on them: a trace of level 1");

    std::vector<std::string> topics;
    if (first != Family::battery && first != Family::vehicle) topics.push_back("metal-not-known");
    topics.insert(topics.end(), {"b-plus", "charge"});
    if (first != Family::battery && first != Family::vehicle) topics.push_back("local-code");
    topics.insert(topics.end(), {"one-hand", "alone", "unattended"});
    if (first != Family::battery && first != Family::vehicle)
        topics.insert(topics.end(), {"isolation", "residual-current", "lamp"});
    if (string) topics.push_back("resistance-cord");
    if (first == Family::vehicle) topics.insert(topics.end(), {"vehicle-supply", "vibrator-volts"});
    if (first == Family::portable || first == Family::battery) topics.push_back("battery-filament");
    if (rectifiers.empty() && first != Family::battery) topics.push_back("selenium");
    if (transformer) topics.push_back("old-oil");
    topics.insert(topics.end(), {"chlorinated-wax", "asbestos", "cadmium", "lead", "radium", "rodents", "hot-glass"});
    for (const std::string& topic : topics)
        for (const Caution& c : catalogue.cautions())
            if (c.topic == topic) made.cautions.push_back(c.text);
    return made;
}

}  // namespace tubewright
