// SPDX-License-Identifier: MIT
// What a line-up and a label tell, for the survey from them alone and for that of a file that is hardly traced.
#pragma once

#include <tubewright/choice.hpp>

#include "report/envelope.hpp"

namespace tubewright::report {

/// Families with their likelihood, then what the heaters say; `of` stands after the first head ("what it may be").
void line_up_points(Page& page, const LineUp& made, const std::string& of = {});
/// `families`, `heaters_in_series`, `heaters_in_parallel`, `heater_words`, `look_at`.
void line_up_fields(Json& json, const LineUp& made);

}  // namespace tubewright::report
