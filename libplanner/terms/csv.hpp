// SPDX-License-Identifier: MIT
// Comma-separated text after RFC 4180: quoted fields, doubled quotes, line breaks inside quotes, CRLF or LF, a leading
// byte-order mark. The first record is the header; every record must have as many fields as it. A broken text gives
// notices with the line and the column (in characters of UTF-8), all of them in one run, and no table.
//
//     Outcome<CsvTable> t = read_csv("id,value\r\nR7,\"470,000\"\r\n", "parts.csv");
//     t->text(0, t->column("value")) == "470,000";
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <tubewright/outcome.hpp>

namespace tubewright {

/// One field and where it begins.
struct CsvField {
    std::string text;
    int line = 0;
    int column = 0;
    bool quoted = false;  ///< the text begins a column later
    int row = 0;          ///< of the sheet, as a spreadsheet counts: the header is 1, a blank line counts
    int number = 0;       ///< of its column, from 0
};

struct CsvTable {
    std::string file;
    std::vector<std::string> header;
    std::vector<std::vector<CsvField>> records;  ///< without the header; blank lines left out
    /// Index of a header word, or -1.
    int column(std::string_view name) const;
    /// Text of a field; empty for column -1.
    std::string_view text(std::size_t record, int column) const;
};

Outcome<CsvTable> read_csv(std::string_view text, std::string_view file);

/// What could be read of a broken text, and all that is wrong with it: a record that is too short has empty fields at
/// its end, one that is too long is left out. Without a header there is nothing.
struct CsvReading {
    CsvTable table;
    std::vector<Notice> faults;
    std::vector<int> rows;  ///< of the sheet, one a fault
};
CsvReading scan_csv(std::string_view text, std::string_view file);

/// A sheet as spreadsheets write it elsewhere, as read_csv takes it: semicolons between the fields where the header has
/// them and no comma, its column names in small letters, no byte-order mark.
std::string with_commas(std::string_view sheet);

/// The whole of text as a plain decimal number ("1.95e+03", "-12.5"); nothing when it is not one. The locale has no
/// say.
std::optional<double> plain_number(std::string_view text);

/// A field as it must be written: quoted where RFC 4180 wants it.
std::string csv_field(std::string_view text);

}  // namespace tubewright
