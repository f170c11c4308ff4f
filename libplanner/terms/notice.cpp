// SPDX-License-Identifier: MIT
// A notice as one line for people and editors (GNU error form), and the words for severities and provenances; the end
// of a Text.
//     set.xml:12:31: error: ".05" has no unit; write ".05 mfd" or ".05 mmf" [TW1203]
// Tests: tests/terms/notice_test.cpp.
#include <fmt/core.h>

#include <tubewright/outcome.hpp>
#include <tubewright/quantity.hpp>

namespace tubewright {

void Text::release() {
    if (held_->users.fetch_sub(1, std::memory_order_acq_rel) == 1) delete held_;
}

const char* word(Severity severity) {
    switch (severity) {
        case Severity::note:
            return "note";
        case Severity::doubt:
            return "doubt";
        case Severity::stop:
            return "stop";
        case Severity::error:
            return "error";
    }
    return "error";
}

const char* word(Provenance provenance) {
    switch (provenance) {
        case Provenance::published:
            return "published";
        case Provenance::cross_checked:
            return "cross-checked";
        case Provenance::recalled:
            return "recalled";
        case Provenance::computed:
            return "computed";
        case Provenance::stated:
            return "stated in the file";
        case Provenance::practice:
            return "common practice, no source";
        case Provenance::assumed:
            return "assumed";
    }
    return "assumed";
}

std::string Notice::text() const {
    std::string line;
    if (!place.file.empty()) {
        line = place.file;
        if (place.line > 0) line += fmt::format(":{}", place.line);
        if (place.line > 0 && place.column > 0) line += fmt::format(":{}", place.column);
        line += ": ";
    } else if (place.line > 0) {
        line = fmt::format("line {}, column {}: ", place.line, place.column);
    }
    line += fmt::format("{}: {}", word(severity), message);
    if (!remedy.empty()) line += "; " + remedy;
    if (number > 0) line += fmt::format(" [TW{:04}]", number);
    return line;
}

}  // namespace tubewright
