// SPDX-License-Identifier: MIT
// Where each constant of a law stands among SectionModel::parameters, and its name there. SI throughout.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace tubewright::tubes {

constexpr double grid_width = 0.15;  ///< volts; 3/2 power of it falls to 1/e in 0.1 V below the contact potential

namespace vacuum_diode {
enum { emission, perveance, limit_amps, count };  ///< limit_amps 0: none is known
}
namespace gas_diode {
enum { emission, drop, slope_ohms, width, count };
}
namespace signal_diode {
enum { emission, perveance, onset, count };
}
namespace triode {
enum { emission, perveance, mu, contact, width, width_share, grid_hold, grid_perveance, grid_onset, count };
}
namespace pentode {
enum {
    emission,
    perveance,
    mu,
    mu_plate,
    contact,
    width,
    width_share,
    tail,
    tail_field,
    screen_share,
    knee,    ///< what the screen takes besides while its volts are near those of the plate or above
    corner,  ///< fourth power of the plate's volts over the screen's at which the plate takes half
    grid_perveance,
    grid_onset,
    count
};
}

/// The first twelve of a converter are those of the pentode.
namespace converter {
enum {
    grid_perveance = pentode::grid_perveance,
    grid_onset = pentode::grid_onset,
    swing,            ///< volts of oscillation on the oscillator grid per volt on its plate
    oscillator_grid,  ///< siemens of that grid once its peaks are rectified
    divides,   ///< 1: the signal grid lies outside and divides the current between plate and screen; 0: it holds it
    total_at,  ///< its volts, per volt of the screen, at which both together take what they do at any other
    anode_perveance,  ///< of the anode grid; not in a pentagrid whose screen is the oscillator's plate
    count,
    pentagrid_count = anode_perveance
};
}

/// Names in order; empty for an unknown law.
std::vector<std::string> parameter_names(std::string_view law);

/// Onset that makes a grid of this perveance carry 0.3 uA x exp((Vg - contact)/0.1 V) well below it.
double grid_onset_for(double grid_perveance, double contact);

}  // namespace tubewright::tubes
