// SPDX-License-Identifier: MIT
#include "record/fields.hpp"

#include <array>
#include <charconv>
#include <limits>

#include "terms/csv.hpp"

namespace tubewright {

const char* word(LogFact fact) {
    switch (fact) {
        case LogFact::removed:
            return "removed";
        case LogFact::lifted:
            return "lifted";
        case LogFact::back:
            return "back";
        case LogFact::fitted:
            return "fitted";
        case LogFact::omitted:
            return "omitted";
        case LogFact::proved:
            return "proved";
        case LogFact::original:
            return "original";
        case LogFact::value:
            return "value";
        case LogFact::reading:
            return "reading";
        case LogFact::done:
            return "done";
        case LogFact::stage:
            return "stage";
        case LogFact::signed_by_hand:
            return "signed";
        case LogFact::overridden:
            return "overridden";
        case LogFact::photo:
            return "photo";
        case LogFact::note:
            return "note";
        case LogFact::renamed:
            return "renamed";
        case LogFact::undo:
            return "undo";
    }
    return "note";
}

namespace record {
namespace {

std::string shortest(double value) {
    std::array<char, 40> room{};
    const auto end = std::to_chars(room.data(), room.data() + room.size(), value);
    return {room.data(), end.ptr};
}

/// Splits at a separator; empty pieces are left out.
std::vector<std::string_view> pieces(std::string_view text, std::string_view separator) {
    std::vector<std::string_view> found;
    while (!text.empty()) {
        const std::size_t end = std::min(text.find(separator), text.size());
        if (end > 0) found.push_back(text.substr(0, end));
        text.remove_prefix(std::min(end + separator.size(), text.size()));
    }
    return found;
}

}  // namespace

std::span<const Field> fields() {
    static constexpr std::array<Field, 24> all{{{"number", &LogEntry::number},
                                                {"batch", &LogEntry::batch},
                                                {"at", &LogEntry::at},
                                                {"pencil", &LogEntry::pencil},
                                                {"fact", &LogEntry::fact},
                                                {"part", &LogEntry::part},
                                                {"black_clip", &LogEntry::to},
                                                {"was", &LogEntry::was},
                                                {"words", &LogEntry::words},
                                                {"quantity", &LogEntry::quantity},
                                                {"value", &LogEntry::value},
                                                {"rated_volts", &LogEntry::rated_volts},
                                                {"rated_watts", &LogEntry::rated_watts},
                                                {"line_volts", &LogEntry::line_volts},
                                                {"meter", &LogEntry::meter},
                                                {"conditions", &LogEntry::conditions},
                                                {"step", &LogEntry::step},
                                                {"step_id", &LogEntry::step_id},
                                                {"acts", &LogEntry::acts},
                                                {"page", &LogEntry::plan},
                                                {"page_print", &LogEntry::plan_print},
                                                {"undoes", &LogEntry::target},
                                                {"set_name", &LogEntry::set_name},
                                                {"set_print", &LogEntry::set_print}}};
    return all;
}

std::string text_of(const LogEntry& entry, const Field& field) {
    if (const auto* text = std::get_if<std::string LogEntry::*>(&field.member)) return entry.**text;
    if (const auto* fact = std::get_if<LogFact LogEntry::*>(&field.member)) return word(entry.**fact);
    if (const auto* number = std::get_if<OptionalNumber LogEntry::*>(&field.member))
        return entry.**number ? shortest(*(entry.**number)) : std::string();
    const auto* whole = std::get_if<int LogEntry::*>(&field.member);
    const int nothing = *whole == &LogEntry::plan ? -1 : 0;
    return entry.**whole == nothing ? std::string() : std::to_string(entry.**whole);
}

bool set(LogEntry& entry, const Field& field, std::string_view text) {
    if (const auto* into = std::get_if<std::string LogEntry::*>(&field.member)) {
        entry.** into = text;
        return true;
    }
    if (const auto* into = std::get_if<LogFact LogEntry::*>(&field.member)) {
        const std::optional<LogFact> fact = fact_of(text);
        if (fact) entry.** into = *fact;
        return fact.has_value();
    }
    if (text.empty()) return true;
    if (const auto* into = std::get_if<OptionalNumber LogEntry::*>(&field.member)) {
        const std::optional<double> value = plain_number(text);
        if (value) entry.** into = *value;
        return value.has_value();
    }
    const auto* into = std::get_if<int LogEntry::*>(&field.member);
    int value = 0;
    const auto [end, wrong] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (wrong != std::errc() || end != text.data() + text.size() || value < 0) return false;
    entry.** into = value;
    return true;
}

std::optional<LogFact> fact_of(std::string_view name) {
    for (int k = 0; k <= static_cast<int>(LogFact::undo); ++k)
        if (word(static_cast<LogFact>(k)) == name) return static_cast<LogFact>(k);
    return std::nullopt;
}

std::string encode(const std::vector<PlannedAct>& acts) {
    std::string text;
    for (const PlannedAct& act : acts) {
        text += (text.empty() ? "" : "; ") + act.deed.act;
        if (act.deed.minutes > 0) text += " *" + shortest(act.deed.minutes);
        if (!act.deed.parts.empty()) text += ":";
        for (const std::string& part : act.deed.parts) {
            text += " " + part;
            const auto with = act.with.find(part);
            if (with == act.with.end()) continue;
            text += "=" + (with->second.value ? shortest(*with->second.value) : std::string()) + "/" +
                    (with->second.rated_volts ? shortest(*with->second.rated_volts) : std::string()) + "/" +
                    (with->second.rated_watts ? shortest(*with->second.rated_watts) : std::string());
            // its words, with blanks that part nothing
            std::string words = with->second.words;
            for (char& c : words) c = c == ' ' ? '_' : c == ';' || c == '=' || c == ':' ? ',' : c;
            text += "/" + words;
        }
    }
    return text;
}

std::vector<PlannedAct> decode(std::string_view text) {
    std::vector<PlannedAct> acts;
    for (std::string_view one : pieces(text, "; ")) {
        PlannedAct act;
        // the last ": " or a colon before the first part: words of acts may hold ": " themselves ("power: heaters")
        std::size_t colon = std::string_view::npos;
        for (std::size_t at = one.find(": "); at != std::string_view::npos; at = one.find(": ", at + 1)) colon = at;
        const bool power = one.starts_with("power: ") && colon == 5;
        std::string_view head = colon == std::string_view::npos || power ? one : one.substr(0, colon);
        const std::string_view rest =
            colon == std::string_view::npos || power ? std::string_view() : one.substr(colon + 2);
        if (const std::size_t star = head.find(" *"); star != std::string_view::npos) {
            act.deed.minutes = plain_number(head.substr(star + 2)).value_or(0);
            head = head.substr(0, star);
        }
        act.deed.act = head;
        for (const std::string_view part : pieces(rest, " ")) {
            const std::size_t equals = std::min(part.find('='), part.size());
            const std::string id(part.substr(0, equals));
            act.deed.parts.push_back(id);
            if (equals == part.size()) continue;
            std::string_view figures = part.substr(equals + 1);
            Measured with;
            for (OptionalNumber* into : {&with.value, &with.rated_volts, &with.rated_watts}) {
                const std::size_t end = std::min(figures.find('/'), figures.size());
                if (const std::optional<double> value = plain_number(figures.substr(0, end))) *into = *value;
                figures.remove_prefix(std::min(end + 1, figures.size()));
            }
            with.words = figures;
            for (char& c : with.words) c = c == '_' ? ' ' : c;
            act.with[id] = with;
        }
        acts.push_back(std::move(act));
    }
    return acts;
}

}  // namespace record
}  // namespace tubewright
