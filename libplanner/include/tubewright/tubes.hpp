// SPDX-License-Identifier: MIT
// From listed operating points to a tube's constants, and from constants to currents at any point. The laws are written
// out in libplanner/tubes/laws.hpp; constants are derived afresh from the catalogue, reproducibly.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <tubewright/catalogue.hpp>
#include <tubewright/outcome.hpp>
#include <tubewright/quantity.hpp>

namespace tubewright {

/// One listed point beside what the model gives there.
struct PointCheck {
    OperatingPoint listed;
    double plate_amps = 0, screen_amps = 0, gm_siemens = 0, rp_ohms = 0;  ///< the model's
    bool used = false;                                                    ///< the constants were derived from it
    /// Plate current over the listed one, less 1, by constants from the other rows alone. hold_out() gives it.
    std::optional<double> held_out_error;
    std::string flag;  ///< written reason when the row is set aside: and the source that contradicts it
};

/// One unit of a tube: which electrodes, which law, which constants.
struct SectionModel {
    std::string section;  ///< "triode", "pentode", "diode 1", "converter", "rectifier plate 1"
    /// vacuum-diode {p,k}, gas-diode {p,k}, signal-diode {d,k}, triode {p,g1,k}, pentode {p,g2,g1,k}, converter
    /// {p,screen,anode grid,oscillator grid,signal grid,k}, pentagrid {p,screen,oscillator grid,signal grid,k} (its
    /// screen is the oscillator's plate)
    std::string law;
    std::vector<std::string> electrodes;  ///< words of the basing in the terminal order of the law; the last is the
                                          ///< common one (cathode or filament)
    std::vector<std::string>
        pins;  ///< pin of each of them (the first that carries it): tells two plates called "p" apart
    std::vector<std::string> parameter_names;
    std::vector<double> parameters;
    std::vector<PointCheck> checks;
    std::vector<PointCheck> lent;  ///< rows listed under types that are electrically this one, of use to the constants
    Source source;
    bool constants_assumed = false;  ///< no usable points: taken from a stated kin or default
};

struct TubeModel {
    std::string type;
    const TubeType* row = nullptr;             ///< lives as long as the catalogue, as the next does
    const RectifierType* rectifier = nullptr;  ///< its limits, where it is one
    std::vector<SectionModel> sections;
    std::vector<Assumption> assumptions;
};

/// Constants of a type. Fails (with the reason) for a type without any usable row and no kin.
TUBEWRIGHT_API Outcome<TubeModel> tube_model(const TubeType& type, const Catalogue& catalogue);

/// Hides each listed row of the model's type in turn and asks the rest for it: PointCheck::held_out_error, nothing
/// where no other row speaks.
TUBEWRIGHT_API void hold_out(TubeModel& model, const Catalogue& catalogue);

/// Currents of a section at given volts against its common electrode; gm and rp from the law's analytic derivatives.
struct TubeCurrents {
    double plate_amps = 0, screen_amps = 0, grid_amps = 0, gm_siemens = 0, rp_ohms = 0;
};
/// A converter is taken at its listed oscillator volts. The screen of a triode or diode is not looked at, nor the grid
/// of a diode.
TUBEWRIGHT_API TubeCurrents currents_at(const SectionModel& section, Volts plate, Volts screen, Volts grid);

}  // namespace tubewright
