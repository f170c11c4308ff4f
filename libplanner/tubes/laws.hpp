// SPDX-License-Identifier: MIT
// The laws of the tubes, as plain functions of terminal volts with analytic derivatives. Signature: p are the constants
// of SectionModel::parameters in the order of parameter_names; v[k] volts of terminal k against the common terminal
// (the last of SectionModel::electrodes); i[k] amperes into terminal k; g[k*(n-1)+j] = d i[k]/d v[j]. p[0] is always
// `emission`: 1 hot, 0 cold; it multiplies every current but the shunts that keep a cut-off tube solvable.
//
// With soft(x, w) = w ln(1 + exp(x/w)), cube(x) = x sqrt(x), Q(V) = soft(V, 0.3 V):
//
//   vacuum-diode {p,k}        C = K cube(max(V, 0)), Ip = C/(1 + (C/limit_amps)^4)^(1/4) + 1e-9 S V; limit_amps 0: C
//   gas-diode {p,k}           Ip = soft(V - drop, width)/slope + 1e-9 S V
//   signal-diode {d,k}        Id = K cube(soft(V - onset, 0.15 V)): 0.1 V to a factor e below, 3/2 law above
//   triode {p,g1,k}           E = soft(Vg + Vp/mu + contact, w), w = width + width_share Q(Vp)/mu
//                             Ip = K cube(E) Qp/(Qp + 1 V + grid_hold Qg)
//   pentode {p,g2,g1,k}       F = Vg2/mu + Vp/mu_plate, w = width + width_share Q(Vg2)/mu
//                             Is = K cube(soft(Vg1 + F + contact, w))
//                                  + K tail cube(soft(Vg1 + tail_field F + contact, tail_field w))   (variable-mu
//                                  grids)
//                             z = Qs/(Qs + 1 V), y = screen_share z + knee Qs^2/(Qp^2 + Qs^2 + 1 V^2)
//                             a = Qp^4/(Qp^4 (1 + y) + corner Qs^4 + 1 V^4)
//                             Ip = a Is, Ig2 = (1 - a) z Is
//   converter {p,s,a,o,g,k}   plate, screen s and signal grid g as a pentode: means over a period of oscillation;
//                             where the signal grid divides: Is(g) a to the plate, and with T = Is(total_at Qs)
//                             T^2 (1 - a) z/(T (1 - a) + Is(g) a) to the screen; else the screen as in a pentode;
//                             anode grid Ia = anode_perveance cube(Q(Va)) h(w), where the crests of the oscillation
//                             stay short of 0 V by w = -(Vo + swing Q(Va))/(Q(Va)/10 + 1 V) of what cuts it off:
//                             h = 1 to w = 0, 1 - 3 w^2 + 2 w^3 to w = 1, then 0 (a tenth: assumed);
//                             oscillator grid Io = oscillator_grid soft(Vo + swing Q(Va), 0.3 V)
//   pentagrid {p,s,o,g,k}     the same where the screen is the oscillator's plate: swing Q(Vs), no anode grid
//
// Control and signal grids take grid_perveance cube(soft(Vg - grid_onset, 0.15 V)) + 1e-12 S Vg; plates and screens
// have 1e-10 S beside them. Space charge after Child and Langmuir; the softened cut-off, the division and the rest are
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

/// The same on a filament of its own volts, which the tube's current heats too: volts count from its negative end, the
/// lower of the two (softly: a - soft(a - b, 0.05 V)), and the current enters evenly all along, that is as half of it
/// at either end. extra 1: a terminal more before the last, the other end; 2: two more, the middle of the filament and
/// the other end: each half of it carries half the current, counted from its own negative end (a quarter enters at each
/// end, half at the middle). {nullptr, 0} for a law that no battery tube has.
NamedLaw filament_law(std::string_view name, int extra);

}  // namespace tubewright::tubes
