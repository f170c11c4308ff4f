// SPDX-License-Identifier: MIT
// Rows of the tables, read from their text. Units of the trade (mA, uS, uF) end here. Every reader takes a parsed table
// and gives rows in the table's order; a field that is not a number is absent. Test: tests/catalogue/.
#pragma once

#include <string_view>
#include <vector>

#include <tubewright/catalogue.hpp>

#include "terms/csv.hpp"

namespace tubewright::tables {

/// Provenance column to the library's grades: the worst of what a row mixes; the text is kept in Source::text.
Source source_of(std::string_view source, std::string_view provenance);

std::vector<TubeType> tubes(const CsvTable& table);
/// Also reads a table of the same columns that is not compiled in (the scorer of the laws uses it).
std::vector<OperatingPoint> operating_points(const CsvTable& table);
std::vector<RectifierType> rectifiers(const CsvTable& table);
std::vector<ConverterOscillator> converter_oscillators(const CsvTable& table);
std::vector<Construction> constructions(const CsvTable& table);
std::vector<FailureMode> failure_modes(const CsvTable& table);
std::vector<Rate> rates(const CsvTable& table);
std::vector<FuseRow> fuses(const CsvTable& table);
std::vector<LampRow> lamps(const CsvTable& table);
std::vector<StepCost> step_costs(const CsvTable& table);
std::vector<Caution> cautions(const CsvTable& table);

}  // namespace tubewright::tables
