// SPDX-License-Identifier: MIT
// See regulator.hpp.
#include "tubes/regulator.hpp"

#include <charconv>
#include <string_view>

namespace tubewright::tubes {

namespace {

/// The number behind a word of the note, from `at` on.
std::optional<double> behind(std::string_view note, std::string_view word, std::size_t at) {
    at = note.find(word, at);
    if (at == std::string_view::npos) return std::nullopt;
    double value = 0;
    const char* from = note.data() + at + word.size();
    if (std::from_chars(from, note.data() + note.size(), value).ec != std::errc()) return std::nullopt;
    return value;
}

}  // namespace

std::optional<Regulator> regulator(const TubeType& type) {
    if (type.tube_class != "gas regulator") return std::nullopt;
    const std::string_view note = type.note;
    const std::size_t at = note.find("holds ");
    const auto volts = behind(note, "holds ", 0), least = behind(note, " from ", at), most = behind(note, " to ", at),
               rise = behind(note, " mA, ", at), start = behind(note, "starts at ", at);
    if (!volts || !least || !most || !rise || !start || *most <= *least) return std::nullopt;
    return Regulator{*volts, *least * 1e-3, *most * 1e-3, *rise, *start};
}

}  // namespace tubewright::tubes
