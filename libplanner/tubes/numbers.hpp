// SPDX-License-Identifier: MIT
// Numbers of the messages of this module; append-only.
#pragma once

namespace tubewright::messages {

// Solving: tubes.
inline constexpr int no_tube_constants = 3801;
inline constexpr int only_text_rows = 3802;

}  // namespace tubewright::messages
