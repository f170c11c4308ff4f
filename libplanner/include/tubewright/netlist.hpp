// SPDX-License-Identifier: MIT
// The chassis file (XML; netlists/chassis.xsd) to a Chassis. All errors of a file come in one run, each with
// file:line:column, what was read, what was expected and the nearest right thing. Nothing partial is ever returned.
#pragma once

#include <string>
#include <string_view>

#include <tubewright/chassis.hpp>

namespace tubewright {

/// Reads a file, or standard input for "-". Limits: 64 MiB, 500,000 elements, depth 64, an attribute 64 KiB.
TUBEWRIGHT_API Outcome<Chassis> read_chassis(const std::string& path, const Catalogue& catalogue);
/// The same from memory; name stands in the places of the notices.
TUBEWRIGHT_API Outcome<Chassis> read_chassis_text(std::string_view xml, const std::string& name,
                                                  const Catalogue& catalogue);
/// The set as the text of a chassis file: reading it gives the same parts, values and nets.
TUBEWRIGHT_API std::string write_chassis_text(const Chassis& chassis);
/// A spreadsheet (RFC 4180, a row a part or a lead) to the text of a chassis file that reads without an error, or every
/// error with its row and column in the sheet; and a chassis file to a spreadsheet, values as printed, comments kept.
TUBEWRIGHT_API Outcome<std::string> chassis_of_sheet(std::string_view csv, const std::string& name,
                                                     const Catalogue& catalogue);
TUBEWRIGHT_API Outcome<std::string> sheet_of_chassis(std::string_view xml, const std::string& name,
                                                     const Catalogue& catalogue);
/// What an ohmmeter says of the metal, plug out and switch on.
enum class MetalIs { not_said, on_the_line, behind_parts, apart };
/// Answers to the questions about the nodes, and what stands at the head of the file.
struct NodeAnswers {
    MetalIs metal = MetalIs::not_said;
    bool can_insulated = false;  ///< the filter can stands off the metal
    std::string name;
    std::optional<int> built;
};
/// "ac-transformer", "series-string" ...
TUBEWRIGHT_API std::vector<std::string_view> starter_families();
/// A commented chassis file to begin with, which the audit passes; notes say where an answer chose another family.
TUBEWRIGHT_API Outcome<std::string> starter_file(std::string_view family, const NodeAnswers& answers);
/// The bytes of a file, or of standard input for "-"; 64 MiB at most and a byte to show that there is more.
TUBEWRIGHT_API Outcome<std::string> read_text(const std::string& path);
/// The schema of the chassis file, as installed.
TUBEWRIGHT_API std::string_view chassis_schema();

}  // namespace tubewright
