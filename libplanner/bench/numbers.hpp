// SPDX-License-Identifier: MIT
// Numbers of the messages of this module; append-only.
#pragma once

namespace tubewright::messages {

// Solving: the set in a condition.
inline constexpr int no_solution = 3001;
inline constexpr int no_tube_model = 3002;
inline constexpr int unknown_condition = 3003;
inline constexpr int no_line = 3004;
inline constexpr int no_primary = 3005;
inline constexpr int winding_without_volts = 3006;
inline constexpr int too_little_traced = 3008;
inline constexpr int no_copper_path = 3010;
inline constexpr int gas_barely_starts = 3011;
inline constexpr int gas_goes_out = 3012;
inline constexpr int does_not_apply = 3013;
inline constexpr int oscillation = 3014;
inline constexpr int two_states = 3015;
inline constexpr int no_rest = 3016;

}  // namespace tubewright::messages
