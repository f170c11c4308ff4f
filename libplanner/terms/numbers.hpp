// SPDX-License-Identifier: MIT
// The number of every message, in one place. Append-only: a number keeps its meaning for ever and is never used again
// after its message is gone. 1xxx reading, 2xxx audit, 3xxx solving, 4xxx planning, 5xxx command line. DEVELOPERS.md
// lists them with remedies; tests/netlist and tests/bad hold the reading ones to their words.
#pragma once

namespace tubewright::messages {

// Reading: the file as such.
inline constexpr int cannot_open = 1001;
inline constexpr int file_too_big = 1002;
inline constexpr int file_empty = 1003;
inline constexpr int not_xml = 1004;
inline constexpr int not_well_formed = 1005;
inline constexpr int not_utf8 = 1006;
inline constexpr int control_character = 1007;
inline constexpr int doctype_refused = 1008;
inline constexpr int too_many_elements = 1009;
inline constexpr int too_deep = 1010;
inline constexpr int attribute_too_long = 1011;
inline constexpr int unknown_entity = 1012;
inline constexpr int wrong_root = 1013;
inline constexpr int wrong_version = 1014;
inline constexpr int text_between = 1015;
inline constexpr int more_errors = 1016;

// Reading: the vocabulary.
inline constexpr int unknown_element = 1101;
inline constexpr int unknown_attribute = 1102;
inline constexpr int duplicate_attribute = 1103;
inline constexpr int missing_attribute = 1104;
inline constexpr int element_misplaced = 1105;
inline constexpr int unknown_word = 1106;
inline constexpr int bad_name = 1107;
inline constexpr int bad_count = 1108;
inline constexpr int exclusive_attributes = 1109;
inline constexpr int element_twice = 1110;
inline constexpr int missing_element = 1111;

// Reading: values as printed.
inline constexpr int value_empty = 1201;
inline constexpr int value_no_number = 1202;
inline constexpr int value_no_unit = 1203;
inline constexpr int value_unknown_unit = 1204;
inline constexpr int value_comma = 1205;
inline constexpr int value_m_unsettled = 1206;
inline constexpr int value_signed = 1207;
inline constexpr int value_zero = 1208;
inline constexpr int value_out_of_range = 1209;
inline constexpr int value_sections = 1210;
inline constexpr int value_two_readings = 1211;
inline constexpr int value_bad_fraction = 1212;
inline constexpr int value_not_whole = 1213;
inline constexpr int value_colour = 1214;
inline constexpr int value_grouped = 1215;

// Reading: the set.
inline constexpr int duplicate_id = 1301;
inline constexpr int unknown_tube = 1302;
inline constexpr int unknown_pin = 1303;
inline constexpr int unknown_part = 1304;
inline constexpr int unknown_construction = 1305;
inline constexpr int lead_missing = 1306;
inline constexpr int net_without_leads = 1307;
inline constexpr int ambiguous_element = 1308;
inline constexpr int node_twice = 1309;
inline constexpr int winding_figures = 1310;
inline constexpr int winding_leads = 1311;
inline constexpr int unknown_lead = 1312;
inline constexpr int reach_itself = 1313;
inline constexpr int reach_ring = 1314;

// Reading: notes that come with a chassis.
inline constexpr int note_type_row = 1401;
inline constexpr int note_construction = 1402;
inline constexpr int note_id_made = 1403;
inline constexpr int note_strip_made = 1404;
inline constexpr int note_seen_word = 1405;  // gone: unknown_word since
inline constexpr int note_lamp_type = 1406;
inline constexpr int note_no_reference = 1407;
inline constexpr int note_line_assumed = 1408;
inline constexpr int note_starter = 1409;
inline constexpr int note_not_placed = 1410;

// Reading: comma-separated tables.
inline constexpr int csv_unclosed_quote = 1901;
inline constexpr int csv_stray_quote = 1902;
inline constexpr int csv_wrong_width = 1903;
inline constexpr int csv_repeated_header = 1904;
inline constexpr int csv_no_header = 1905;
inline constexpr int csv_unknown_column = 1906;
inline constexpr int csv_not_commas = 1907;
inline constexpr int csv_two_nets = 1908;
inline constexpr int price_not_read = 1909;

}  // namespace tubewright::messages
