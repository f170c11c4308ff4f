// SPDX-License-Identifier: MIT
// Numbers of the audit's findings: 2001 on for the graph half, 2101 on for the solved half. Append-only, like all
// message numbers.
#pragma once

namespace tubewright::tw {

inline constexpr int lone_lead = 2001;
inline constexpr int both_ends_one_net = 2002;
inline constexpr int plate_without_supply = 2003;
inline constexpr int screen_without_supply = 2004;
inline constexpr int grid_without_return = 2005;
inline constexpr int cathode_without_return = 2006;
inline constexpr int heater_not_fed = 2007;
inline constexpr int heater_on_wrong_winding = 2008;
inline constexpr int string_does_not_add_up = 2009;
inline constexpr int tie_point = 2010;
inline constexpr int pin_in_conflict = 2011;
inline constexpr int windings_fight = 2012;
inline constexpr int capacitor_across_ideal_winding = 2013;
inline constexpr int section_adrift = 2014;
inline constexpr int implausible_value = 2015;
inline constexpr int rectifier_plate_not_fed = 2016;
inline constexpr int heater_winding_overloaded = 2017;
inline constexpr int line_on_metal = 2018;
inline constexpr int history_out_of_order = 2019;
inline constexpr int empty_socket = 2020;
inline constexpr int unit_not_used = 2021;
inline constexpr int grid_without_drive = 2022;
inline constexpr int signal_part_on_heater = 2023;
inline constexpr int filter_missing = 2024;
inline constexpr int line_switch_open = 2025;
inline constexpr int output_feeds_exchanged = 2026;
inline constexpr int electrolytic_turned = 2027;
inline constexpr int never_meet = 2028;
inline constexpr int capacitors_alone = 2029;
inline constexpr int grid_on_supply = 2030;
inline constexpr int bypass_missing = 2031;
inline constexpr int line_part_open = 2032;
inline constexpr int plate_without_load = 2033;
inline constexpr int line_misfit = 2034;
inline constexpr int value_missing = 2035;
inline constexpr int fuse_in_neutral = 2036;
inline constexpr int earth_on_metal = 2037;
inline constexpr int supply_shorted = 2038;
inline constexpr int other_tube_found = 2039;
inline constexpr int silicon_in_place = 2040;
inline constexpr int plug_out = 2041;
inline constexpr int primary_on_one_blade = 2042;
inline constexpr int as_found = 2043;
inline constexpr int can_on_metal = 2044;
inline constexpr int dry_rectifier_turned = 2045;
inline constexpr int battery_turned = 2046;
inline constexpr int metal_not_named = 2047;
inline constexpr int socket_mirrored = 2048;
inline constexpr int plate_without_outlet = 2049;
inline constexpr int transformer_on_direct_line = 2050;
inline constexpr int live_in_reach = 2051;

inline constexpr int electrolytic_reversed = 2101;
inline constexpr int heater_volts_off = 2102;
inline constexpr int plate_without_volts = 2103;
inline constexpr int grid_driven_positive = 2104;
inline constexpr int net_undetermined = 2105;
inline constexpr int tube_over_its_limit = 2106;
inline constexpr int tube_off_its_current = 2107;
inline constexpr int capacitor_over_its_volts = 2108;
inline constexpr int winding_drops_too_much = 2109;
inline constexpr int fuse_too_large = 2110;
inline constexpr int transformer_overloaded = 2111;
inline constexpr int direct_line_turned = 2112;

}  // namespace tubewright::tw
