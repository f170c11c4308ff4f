// SPDX-License-Identifier: MIT
// What a Circuit holds, as the module's own files see it: parts in order of making, and all their numbers in one flat
// array. A solution with overrides is a solution with another copy of that array, so a Circuit is never touched.
#pragma once

#include <cmath>
#include <string>
#include <vector>

#include "circuit/circuit.hpp"

namespace tubewright::circuit {

enum class Kind { resistor, conductance, capacitor, inductor, voltage_source, current_source, transformer, device };

/// Offsets into the numbers of a part, by kind.
namespace at {
constexpr int ohms = 0, siemens = 0;                  // resistor, conductance
constexpr int farads = 0, leak = 1;                   // capacitor
constexpr int henries = 0, series = 1;                // inductor
constexpr int direct = 0, amplitude = 1;              // sources
constexpr int magnetising = 0, loss = 1, copper = 2;  // transformer; copper + k: ohms of winding k
}  // namespace at

struct Part {
    Kind kind = Kind::resistor;
    std::vector<Node> nodes;  ///< transformer: from, to of each winding
    int value = 0;            ///< first of its numbers
    int branch = 0;           ///< first of its branch unknowns, counted over the circuit
    int branches = 0;
    int state = -1;  ///< its reactive state, counted over the circuit; -1: none
    Waveform waveform;
    Law law;
    std::vector<double> turns;
    bool rectifies = false;
    bool swings = false;  ///< a contact: its law asks for the turn, in place of its last number
};
constexpr int contact_numbers = 5;  ///< works, siemens, from, to, turn

/// The law of a device at volts[] across its terminals, at a turn of the period (below 0: direct current).
inline void evaluate(const Part& part, const double* numbers, double turn, const double* volts, double* amps,
                     double* gains) {
    if (!part.swings) return part.law.evaluate(numbers, volts, amps, gains);
    double own[contact_numbers];
    for (int k = 0; k + 1 < contact_numbers; ++k) own[k] = numbers[k];
    own[contact_numbers - 1] = turn;
    part.law.evaluate(own, volts, amps, gains);
}

struct Circuit::Data {
    std::vector<std::string> names{"reference"};
    std::vector<Part> parts;
    std::vector<double> values;
    int branches = 0;
    int states = 0;

    int unknowns() const { return static_cast<int>(names.size()) - 1 + branches; }
    int branch_unknown(int branch) const { return static_cast<int>(names.size()) - 1 + branch; }
};

/// The least ohms that a resistor has: below it the rounding of volts would show as amperes.
constexpr double least_ohms = 1e-4;

/// Siemens of a resistor or a winding; an infinite or undefined value conducts nothing.
inline double siemens_of(double ohms) {
    if (!(ohms < 1e300)) return 0;
    return 1 / (ohms < least_ohms ? least_ohms : ohms);
}
inline double bounded_siemens(double siemens) {
    return siemens > 1 / least_ohms ? 1 / least_ohms : (siemens > 0 ? siemens : 0);
}
/// A transformer without magnetising current.
inline bool endless(double henries) {
    return !(henries > 0) || !(henries < 1e300);
}

/// Where an override lands in Circuit::Data::values. Throws std::invalid_argument where the slot has no meaning.
int value_index(const Circuit::Data& data, const Override& change);
/// The circuit's numbers with the overrides applied.
void apply(const Circuit::Data& data, std::span<const Override> overrides, std::vector<double>& values);

/// Volts or amperes of a source at `turn` periods of `hertz`.
double source_value(const Waveform& waveform, const double* values, double hertz, double turn);

}  // namespace tubewright::circuit
