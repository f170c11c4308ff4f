// SPDX-License-Identifier: MIT
// The laws of the tubes, as plain functions of terminal volts with analytic derivatives. Signature: p are the constants of
// SectionModel::parameters in the order of parameter_names; v[k] volts of terminal k against the common terminal (the last of
// SectionModel::electrodes); i[k] amperes into terminal k; g[k*(n-1)+j] = d i[k]/d v[j]. p[0] is always `emission`: 1 hot, 0 cold.
#pragma once

#include <string_view>

namespace tubewright::tubes {

using LawFunction = void (*)(const double* p, const double* v, double* i, double* g);

/// The function of a SectionModel::law and its terminal count (with the common one); {nullptr, 0} for an unknown name.
struct NamedLaw {
    LawFunction function = nullptr;
    int terminals = 0;
};
NamedLaw law(std::string_view name);

}  // namespace tubewright::tubes
