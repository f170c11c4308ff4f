// SPDX-License-Identifier: MIT
// See polarity.hpp.
#include "choice/polarity.hpp"

#include <algorithm>
#include <cmath>

#include "bench/residue.hpp"
#include "choice/duty.hpp"

namespace tubewright::choice {
namespace {

constexpr double borne_volts = 1.5;  // an electrolytic bears this backwards (common practice)

bool powered(const std::string& scenario) {
    return scenario != "rectifier-out" && scenario != "transformer-alone";
}

}  // namespace

std::optional<Reversed> reversed(const Part& part, const PartStress& row) {
    if (!is_electrolytic(part)) return std::nullopt;
    double most = 0;
    for (const StressAt& a : row.scenarios)
        if (a.scenario == "normal" || a.scenario == "high-line") most = std::max(most, std::fabs(a.dc_volts));
    std::optional<Reversed> worst;
    bool in_service = false;
    for (const StressAt& a : row.scenarios) {
        if (a.dc_volts > -borne_volts || !powered(a.scenario) || bench::residue_only(part, most, a.dc_volts)) continue;
        in_service = in_service || a.scenario == "normal";
        if (!worst || -a.dc_volts > worst->volts) worst = Reversed{-a.dc_volts, a.scenario, false};
    }
    if (worst) worst->in_service = in_service;
    return worst;
}

std::size_t plus_lead(const Part& part, const PartStress* row) {
    if (row == nullptr || part.leads.size() < 2) return 0;
    const std::optional<Reversed> r = reversed(part, *row);
    return r && r->in_service ? 1 : 0;
}

std::string remark_without_polarity(const PartStress& row) {
    std::string kept;
    for (std::size_t from = 0; from < row.remark.size();) {
        std::size_t to = row.remark.find("; ", from);
        if (to == std::string::npos) to = row.remark.size();
        const std::string one = row.remark.substr(from, to - from);
        if (one.rfind("plus to minus is reversed", 0) != 0) kept += (kept.empty() ? "" : "; ") + one;
        from = to + 2;
    }
    return kept;
}

}  // namespace tubewright::choice
