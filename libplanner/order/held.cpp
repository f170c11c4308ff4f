// SPDX-License-Identifier: MIT
// See held.hpp.
#include "order/held.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "order/stage_readings.hpp"
#include "threat/touch.hpp"

namespace tubewright::power_up {
namespace {

using K = ActKind;

constexpr double halves_apart = 0.03;  // of a plate winding's halves (common practice)
constexpr double last_digit = 0.005;   // half of the last one that a meter of two decimals shows
constexpr const char* touch = "each touchable part";
constexpr const char* touch_line = "H15: the touch current is under its limit";

bool says(const Reading& reading, const char* word) {
    return reading.conditions.find(word) != std::string::npos;
}

bool same_words(std::string_view a, std::string_view b) {
    return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](char x, char y) {
        const auto low = [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; };
        return low(x) == low(y);
    });
}

bool shows(const PowerStage& stage, K kind) {
    return std::any_of(stage.acts.begin(), stage.acts.end(), [&](const Act& act) { return act.kind == kind; });
}

/// Volts go with the line, watts with its square.
double by_the_line(const SetOnBench& set, const Reading& reading) {
    if (reading.quantity == "ohms" || reading.at == touch || reading.line_volts <= 0 || set.line_volts <= 0) return 1;
    const double ratio = reading.line_volts / set.line_volts;
    return reading.quantity == "watts" ? ratio * ratio : ratio;
}

bool is_of(const SetOnBench& set, const PowerStage& stage, const StageReading& row, const Reading& reading) {
    if (row.quantity != reading.quantity || row.says_nothing) return false;
    const int red = set.chassis.net(row.at), black = set.chassis.net(row.to), at = set.chassis.net(reading.at),
              to = reading.to.empty() ? set.chassis.reference() : set.chassis.net(reading.to);
    if (row.at == touch) return reading.at == touch && row.to == reading.to;
    const bool by_name =
        red < 0 && same_words(row.at, reading.at) && (reading.to.empty() || same_words(row.to, reading.to));
    const bool turned = reading.quantity != "volts dc" && red == to && black == at;
    if (!by_name && (red < 0 || black < 0 || !((red == at && black == to) || turned))) return false;
    if (row.quantity == "ohms") return !stage.line_volts;
    const bool early = says(reading, "warm-up");
    if (early ? row.when != half_minute : !row.when.empty() && row.when != tubes_warm) return false;
    if (says(reading, "lamp") && !stage.lamp_watts) return false;
    return !says(reading, "full line") || !stage.lamp_watts;
}

struct Candidate {
    const PowerStage* stage = nullptr;
    const StageReading* row = nullptr;
};

/// Of the stages that were not passed when it was read; of the last one, where all were.
std::vector<Candidate> candidates(const SetOnBench& set, const std::vector<PowerStage>& stages,
                                  const PassedWith& passed_with, const Reading& reading) {
    std::vector<Candidate> open, all;
    for (const PowerStage& stage : stages)
        for (const StageReading& row : stage.readings) {
            if (!is_of(set, stage, row, reading)) continue;
            all.push_back({&stage, &row});
            const std::optional<std::size_t> passed = passed_with(stage);
            if (!passed || reading.deeds < *passed) open.push_back(all.back());
            break;
        }
    if (open.empty() && !all.empty()) open.push_back(all.back());
    return open;
}

bool fits(const StageReading& row, double value, double line) {
    return value <= row.high * line + last_digit && value >= row.low * line - last_digit;
}

/// The STOP that it is past.
std::optional<double> stop_of(const StageReading& row, const Reading& reading, double line) {
    // of ohms the STOP is the least that may stand there
    if (row.quantity == "ohms")
        return row.stop && reading.value < *row.stop ? std::optional<double>(*row.stop) : std::nullopt;
    const bool loads = row.quantity == "volts dc" && reading.meter.find("/V") != std::string::npos;
    if (row.stop && reading.value > *row.stop * line) return *row.stop * line;
    if (row.stop_below && reading.value < *row.stop_below * line && !loads) return *row.stop_below * line;
    return std::nullopt;
}

std::string figure(const StageReading& row, double value) {
    return row.quantity == "ohms"    ? say(ohms(value))
           : row.quantity == "amps"  ? say(amps(value))
           : row.quantity == "watts" ? say(watts(value))
                                     : say(volts(value)) + (row.quantity == "volts ac" ? " ac" : "");
}

std::string line_of(const PowerStage& stage, const StageReading& row) {
    if (row.quantity == "ohms") return "H19: no ohms stand past their STOP";
    if (row.at == touch) return touch_line;
    if (shows(stage, K::power_transformer_alone)) return "H6: the transformer alone reads inside its STOP";
    return no_reading_past_stop;
}

/// What was read last at each place, and holds still.
std::vector<const Reading*> last_ones(const SetOnBench& set, const HoldsStill& holds_still) {
    std::map<std::string, const Reading*> last;
    for (const Reading& one : set.progress.readings)
        if (holds_still(one))
            last[one.at + "\n" + one.to + "\n" + one.quantity + (says(one, "warm-up") ? "\nearly" : "")] = &one;
    std::vector<const Reading*> list;
    for (const auto& [key, one] : last) list.push_back(one);
    return list;
}

/// Both halves of the plate winding, read at one line, differ.
void halves(const SetOnBench& set, const std::vector<PowerStage>& stages, const PassedWith& passed_with,
            const std::vector<const Reading*>& last, std::vector<PastStop>& found) {
    if (set.transformer < 0) return;
    const Part& t = set.part(set.transformer);
    for (const PartWinding& w : t.windings) {
        if (w.role != WindingRole::plate || w.leads.size() != 3) continue;
        const Reading* half[2] = {nullptr, nullptr};
        for (const Reading* one : last)
            for (std::size_t k = 0; k < 2; ++k)
                if (one->quantity == "volts ac" && set.chassis.net(one->at) == t.leads[at(w.leads[2 * k])].net &&
                    (one->to.empty() ? set.chassis.reference() : set.chassis.net(one->to)) ==
                        t.leads[at(w.leads[1])].net)
                    half[k] = one;
        if (half[0] == nullptr || half[1] == nullptr || half[0]->line_volts != half[1]->line_volts ||
            says(*half[0], "lamp") != says(*half[1], "lamp"))
            continue;
        const double a = half[0]->value, b = half[1]->value;
        if (a + b <= 0 || std::fabs(a - b) <= halves_apart * (a + b) / 2) continue;
        for (const Candidate& one : candidates(set, stages, passed_with, *half[0])) {
            if (!shows(*one.stage, K::power_transformer_alone)) continue;
            found.push_back({one.stage->stage, "H6: the halves of the plate winding agree within 3 %",
                             half[0]->at + " and " + half[1]->at + " read " + say(volts(a)) + " and " + say(volts(b)) +
                                 " ac: a shorted turn, or a wrong lead there",
                             half[0]->at});
            break;
        }
    }
}

/// A current read from the set to an earth is the touch current itself, whatever it was read through.
void touch_amps(const SetOnBench& set, const std::vector<PowerStage>& stages, const std::vector<const Reading*>& last,
                std::vector<PastStop>& found) {
    const auto touched = std::find_if(stages.begin(), stages.end(),
                                      [](const PowerStage& s) { return shows(s, K::check_touch_current); });
    if (touched == stages.end()) return;
    const int earth = set.chassis.nodes().earth;
    for (const Reading* one : last) {
        const bool earthed =
            same_words(one->to, "earth") || (earth >= 0 && !one->to.empty() && set.chassis.net(one->to) == earth);
        if (one->quantity != "amps" || !earthed || one->value <= threat::touch_limit_amps) continue;
        found.push_back({touched->stage, touch_line,
                         one->at + " to " + one->to + " reads " + say(amps(one->value)) + ", past its STOP of " +
                             say(amps(threat::touch_limit_amps)) + find_out,
                         one->at});
    }
}

}  // namespace

std::vector<PastStop> past_stops(const SetOnBench& set, const std::vector<PowerStage>& stages,
                                 const PassedWith& passed_with, const HoldsStill& holds_still) {
    std::vector<PastStop> found;
    const std::vector<const Reading*> last = last_ones(set, holds_still);
    for (const Reading* one : last) {
        const double line = by_the_line(set, *one);
        const std::vector<Candidate> of = candidates(set, stages, passed_with, *one);
        if (of.empty()) continue;
        const bool fits_one =
            std::any_of(of.begin(), of.end(), [&](const Candidate& c) { return fits(*c.row, one->value, line); });
        const Candidate& first = of.front();
        // volts to the black clip at full line are held against the whole of their table (H13)
        if (one->quantity == "volts dc" && !first.stage->lamp_watts) continue;
        const std::optional<double> stop = stop_of(*first.row, *one, line);
        // what the lamp and the line show is of the stage that comes next, whatever a later one would show
        const bool by_name = set.chassis.net(first.row->at) < 0;  // "lamp across it"
        if (!stop || (fits_one && !by_name && one->quantity != "ohms")) continue;
        found.push_back({first.stage->stage, line_of(*first.stage, *first.row),
                         first.row->at +
                             (first.row->to.empty() ? ""
                              : by_name             ? " "
                                                    : " to ") +
                             first.row->to + " reads " + figure(*first.row, one->value) + ", past its STOP of " +
                             figure(*first.row, *stop) + find_out,
                         first.row->at});
    }
    touch_amps(set, stages, last, found);
    halves(set, stages, passed_with, last, found);
    return found;
}

bool fits_behind_a_lamp(const SetOnBench& set, const std::vector<PowerStage>& stages, const PassedWith& passed_with,
                        const Reading& reading) {
    const double line = by_the_line(set, reading);
    for (const Candidate& one : candidates(set, stages, passed_with, reading))
        if (one.stage->lamp_watts && fits(*one.row, reading.value, line)) return true;
    return false;
}

}  // namespace tubewright::power_up
