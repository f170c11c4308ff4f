// SPDX-License-Identifier: MIT
// The set as the log says that it stands. A part that was fitted is new and has the value that was written; one that is
// out, lifted or left out on purpose passes nothing, as if the file had seen it open. What is merely off for the
// evening is off in apply() alone, and what reads off its print has what it reads there: plans and shopping are of the
// set with it back and of the value that is right.
//
//     progress.parts["C9"] = PartState::removed;
//     apply(progress, set);        // volts without C9
//     with_fitted(progress, set);  // what the plan is made for
//
// Tests: tests/chassis/standing_test.cpp.
#include <algorithm>
#include <cmath>

#include "chassis/data.hpp"

namespace tubewright {
namespace {

constexpr double drifted_by = 0.25;  ///< over the usual tolerance of a fifth (common practice, no source)
constexpr double as_printed = 0.1;   ///< a reading within this is of the value that is printed (common practice)

bool holds(const Text& text, std::string_view piece) {
    return text.find(piece) != std::string::npos;
}

/// Of what a new part in this place is made (common practice, no source).
void renew_construction(Part& part, const std::string& words) {
    std::string low = words;
    for (char& c : low) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
    const auto said = [&](const char* word) { return low.find(word) != std::string::npos; };
    const char* made = nullptr;
    switch (part.kind) {
        case PartKind::capacitor:
            if (said("y2") || said("y1"))
                made = "safety-y";
            else if (said("x2") || said("x1"))
                made = "safety-x";
            else if (holds(part.construction, "electrolytic"))
                made = "modern-electrolytic";
            else if (holds(part.construction, "paper") || part.construction == "tar-pack")
                made = "film";
            break;
        case PartKind::resistor:
            if (part.construction == "carbon-composition") made = "film-resistor";
            break;
        case PartKind::wire:
            if (part.construction != "cloth") made = "plastic";
            break;
        case PartKind::cord:
            if (part.construction != "resistance-cord") made = "line-cord";
            break;
        case PartKind::rectifier:
            if (said("silicon")) made = "silicon";
            break;
        default:
            break;
    }
    if (made == nullptr) return;
    part.construction = made;
    part.construction_stated = true;
}

void put_in(Part& part, const Measured& with) {
    part.fitted = with.words.empty() ? std::string("as documented") : with.words;
    part.seen.clear();
    part.found.clear();
    part.found_value.reset();
    if (part.kind == PartKind::socket) {
        part.fitted = with.words.empty() ? part.tube.str() : with.words;
        if (with.type != nullptr) {
            part.type = with.type;
            part.tube = with.words;
        }
    }
    if (with.value && part.kind == PartKind::capacitor) part.farads = with.value;
    const bool resists =
        part.kind == PartKind::resistor || part.kind == PartKind::control || (part.kind == PartKind::cord && part.ohms);
    if (with.value && resists) part.ohms = with.value;
    if (with.value && part.kind == PartKind::fuse) part.rated_amps = with.value;
    if (with.rated_volts) part.rated_volts = with.rated_volts;
    if (with.rated_watts) part.rated_watts = with.rated_watts;
    if (with.year) part.since = with.year;
    renew_construction(part, with.words);
}

/// A part has what it reads where that is off its print.
void take_reading(Part& part) {
    OptionalNumber& value = part.kind == PartKind::capacitor ? part.farads : part.ohms;
    if (value && part.found_value && std::fabs(*part.found_value / *value - 1) > as_printed) value = part.found_value;
}

void also_seen(Part& part, std::string_view words) {
    while (!words.empty()) {
        const std::size_t end = std::min(words.find(' '), words.size());
        const std::string one(words.substr(0, end));
        if ((" " + part.seen.str() + " ").find(" " + one + " ") == std::string::npos)
            part.seen = part.seen.empty() ? one : part.seen.str() + " " + one;
        words.remove_prefix(std::min(end + 1, words.size()));
    }
}

/// for_the_evening: what is out for now is out too.
Chassis standing(const Progress& progress, const Chassis& chassis, bool for_the_evening) {
    if (progress.parts.empty() && progress.found.empty() && progress.seen.empty()) return chassis;
    const std::shared_ptr<Chassis::Data> data = copy_of(chassis.data());
    for (Part& part : data->parts) {
        const auto with = progress.fitted.find(part.id);
        const auto said = progress.parts.find(part.id);
        const PartState state = said == progress.parts.end() ? PartState::original : said->second;
        const bool out = state == PartState::lifted || state == PartState::removed;
        // a new part that was lifted again is a new part still
        if (state == PartState::fitted || (with != progress.fitted.end() && (out || state == PartState::proved)))
            put_in(part, with == progress.fitted.end() ? Measured{} : with->second);
        else if (state == PartState::proved)
            part.seen.clear();
        if (const auto read = progress.found.find(part.id); read != progress.found.end()) {
            part.found = read->second.words;
            part.found_value = read->second.value;
            if (part.kind == PartKind::resistor || part.kind == PartKind::control)
                judge_found(part);
            else if (part.kind == PartKind::capacitor && !part.farads)
                part.farads = part.found_value;
            if (for_the_evening) take_reading(part);
        }
        if (const auto seen = progress.seen.find(part.id); seen != progress.seen.end()) also_seen(part, seen->second);
        if (state == PartState::omitted || (out && for_the_evening)) {
            part.seen = state == PartState::lifted ? "lifted" : state == PartState::removed ? "removed" : "omitted";
            if (part.kind == PartKind::socket || state == PartState::omitted) part.fitted = "none";
        }
    }
    return Chassis(data);
}

}  // namespace

void judge_found(Part& part) {
    if (!part.ohms) part.ohms = part.found_value;
    if (part.seen.empty() && part.fitted.empty() && part.found_value && part.ohms &&
        std::fabs(*part.found_value / *part.ohms - 1) > drifted_by)
        part.seen = "drifted";
}

bool deed_done(const Progress& progress, std::string_view act, std::string_view part) {
    for (const Deed& deed : progress.deeds)
        if (deed.act == act && (part.empty() || std::count(deed.parts.begin(), deed.parts.end(), part) > 0))
            return true;
    return false;
}

Chassis apply(const Progress& progress, const Chassis& chassis) {
    return standing(progress, chassis, true);
}

Chassis with_fitted(const Progress& progress, const Chassis& chassis) {
    return standing(progress, chassis, false);
}

const char* word(PartState state) {
    switch (state) {
        case PartState::original:
            return "original";
        case PartState::lifted:
            return "lifted";
        case PartState::removed:
            return "removed";
        case PartState::omitted:
            return "left out on purpose";
        case PartState::fitted:
            return "fitted";
        case PartState::proved:
            return "proved";
    }
    return "original";
}

}  // namespace tubewright
