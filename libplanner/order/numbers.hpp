// SPDX-License-Identifier: MIT
// Numbers of the messages of this module; append-only.
#pragma once

namespace tubewright::messages {

// Planning: order and power-up.
inline constexpr int steps_in_a_ring = 4501;
inline constexpr int stages_need_supply = 4502;
inline constexpr int gap_remains = 4503;
inline constexpr int evening_bound = 4504;
inline constexpr int line_not_the_sets = 4506;
inline constexpr int lamp_cannot_serve = 4507;
inline constexpr int metal_on_the_line = 4508;
inline constexpr int trace_stops = 4509;
inline constexpr int no_transformer_to_judge = 4510;
inline constexpr int no_such_winding = 4511;
inline constexpr int kept_as_it_is = 4512;
inline constexpr int weights_in_tens = 4513;

}  // namespace tubewright::messages
