// SPDX-License-Identifier: MIT
// The laws of the tubes, as plain functions of terminal volts with analytic derivatives. Signature: p are the constants
// of SectionModel::parameters in the order of parameter_names; v[k] volts of terminal k against the common terminal
// (the last of SectionModel::electrodes); i[k] amperes into terminal k; g[k*(n-1)+j] = d i[k]/d v[j]. p[0] is always
// `emission`: 1 hot, 0 cold.
//
// With soft(x, w) = w ln(1 + exp(x/w)) and cube(x) = x sqrt(x), all currents times `emission`:
//   vacuum-diode  {p,k}       Ip = K cube(max(v, 0)) + 1e-9 S v
//   gas-diode     {p,k}       Ip = soft(v - drop, width) / slope + 1e-9 S v
//   signal-diode  {p,k}       Ip = K cube(soft(v - onset, 0.15)): exponential with 0.1 V to e below, 3/2 law above
//   triode        {p,g1,k}    E = soft(Vg + Vp/mu + contact, w), w = w0 + w1 soft(Vp, 0.3)/mu; Ip = K cube(E) (1 +
//   droop Vn/E...) P pentode       {p,g2,g1,k} space current Is = K (cube(E) + tail cube(E')), E from Vg1 + Vg2/mu +
//   Vp/mu_plate + contact, E' the
//                             same with both fields times tail_field (the open part of a variable-mu grid); the plate
//                             takes the share 1/(1 + share + knee (Vg2/Vp)^2), the screen the rest
//   converter     {p,screen,anode grid,oscillator grid,signal grid,k}  means over a period of self-biased oscillation
//   pentagrid     {p,screen,oscillator grid,signal grid,k}             the same where the screen is the oscillator's
//   plate
// The control grid of each takes Kg cube(soft(Vg - onset, 0.15)). Space charge after Child and Langmuir; the rest is
// ours. Tests: tests/tubes/laws_test.cpp.
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
