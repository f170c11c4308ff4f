// SPDX-License-Identifier: MIT
// The part of `threats` that says what would have saved it, and what each resistor may drift. Tests:
// tests/report/protection_test.cpp.
#pragma once

#include <vector>

#include <tubewright/study.hpp>

#include "report/envelope.hpp"
#include "report/page.hpp"

namespace tubewright::report {

/// null where the fuse says nothing of the fault.
Json verdict_json(const FuseStudy& study, std::size_t row);
Json protection_json(const Protection& protection);
void protection_words(Page& page, const ThreatReport& report, const Protection& protection, bool all);

Json pairs_json(const PairReport& pairs);
void pairs_words(Page& page, const PairReport& pairs, bool all);
Json drift_json(const std::vector<DriftLimit>& limits);
void drift_words(Page& page, const std::vector<DriftLimit>& limits, bool all);

}  // namespace tubewright::report
