// SPDX-License-Identifier: MIT
// Numbers of the messages of this module; append-only.
#pragma once

namespace tubewright::messages {

// Planning: what to buy.
inline constexpr int first_filter_limited = 4401;
inline constexpr int polarity_reversed = 4402;
inline constexpr int nothing_stocked = 4403;
inline constexpr int two_in_series = 4404;
inline constexpr int place_over_rating = 4405;
inline constexpr int touch_current_reduced = 4406;
inline constexpr int stress_not_known = 4407;
inline constexpr int fuse_under_rated = 4408;
inline constexpr int touch_bleeder = 4409;
inline constexpr int polarity_by_eye = 4410;

}  // namespace tubewright::messages
