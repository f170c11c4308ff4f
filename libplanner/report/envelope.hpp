// SPDX-License-Identifier: MIT
// The JSON side of every answer: one envelope, keys in a fixed order, SI numbers with the unit in the key's name, null
// for what is not known and never NaN. A refusal is the same object with "refused". Tests: tests/report/json_test.cpp.
#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <tubewright/report.hpp>

namespace tubewright::report {

using Json = nlohmann::ordered_json;

/// The number, or null when it is not finite.
Json number(double value);
Json number(const std::optional<double>& value);
/// The text, or null when it is empty.
Json text_or_null(const std::string& text);
Json strings(const std::vector<std::string>& list);

/// Schema, version, chassis, line, meter, settings, solver, assumptions (the study's and then the answer's own),
/// cautions, empty rows; then the line over the marked one and what the audit stops for.
Json envelope(std::string_view command, const Study& study, const std::vector<Assumption>& own = {});
/// Adds "refused" and gives the answer (exit status 4).
Answer refusal_json(Json envelope, const std::vector<Notice>& why);
std::string dumped(const Json& json);

}  // namespace tubewright::report
