// SPDX-License-Identifier: MIT
// The nearest right word to a wrong one, for remedies: nearest("resistr", {"resistor", "reach"}) == "resistor".
// Distance: letters added, left out, changed, or two neighbours exchanged (optimal string alignment); capitals do not
// count. Tests: tests/terms/near_test.cpp.
#pragma once

#include <initializer_list>
#include <string>
#include <string_view>
#include <vector>

namespace tubewright {

/// Empty when no word is close: more than two slips, or more than a third of the letters. Ties go to the first in
/// `known`.
std::string nearest(std::string_view word, const std::vector<std::string_view>& known);

/// "did you mean "resistor"?", or "one of a, b, c" when nothing is near and the list is short; may be empty.
std::string suggestion(std::string_view word, const std::vector<std::string_view>& known);

/// A text from an input as it may stand in a message: at most 40 characters, control characters as "?".
std::string quoted(std::string_view text);

/// The pieces one after another.
std::string joined(std::initializer_list<std::string_view> pieces);

}  // namespace tubewright
