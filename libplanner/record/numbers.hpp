// SPDX-License-Identifier: MIT
// Message numbers of the bench log: 15xx, since a log and a pencil are read. Append-only; DEVELOPERS.md lists them.
#pragma once

namespace tubewright::messages {

inline constexpr int log_not_there = 1501;
inline constexpr int log_not_opened = 1502;
inline constexpr int log_foreign = 1503;
inline constexpr int log_newer = 1504;
inline constexpr int log_busy = 1505;
inline constexpr int log_not_written = 1506;
inline constexpr int log_damaged = 1507;
inline constexpr int log_moved = 1508;
inline constexpr int pencil_unknown = 1511;
inline constexpr int pencil_part = 1512;
inline constexpr int pencil_value = 1513;
inline constexpr int pencil_step = 1514;
inline constexpr int pencil_which_page = 1515;
inline constexpr int pencil_state = 1516;
inline constexpr int pencil_undo = 1517;
inline constexpr int import_broken = 1521;
inline constexpr int import_differs = 1522;

}  // namespace tubewright::messages
