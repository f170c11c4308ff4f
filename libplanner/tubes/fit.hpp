// SPDX-License-Identifier: MIT
// From listed rows to constants: a regularised least-squares fit in logarithms. Few rows are listed for a type (one to
// four), so each constant has a prior by family of structure, and the rows move it as far as they speak. Deterministic;
// some tens of microseconds a type. Row values count by their usual rounding: plate current 0.5 %, screen current and
// gm 2 to 3 %, a printed mu 0.4 %, plate resistance 20 %.
//
// Pools: types that print the same row (same volts; currents and gm within 2 %) are electrically one tube, and so are
// types that the table calls equal; such twins lend each other their other rows. score() hides each row in turn from
// the type and all its twins. Tests: tests/tubes/fit_test.cpp, tests/tubes/score_points.cpp.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <tubewright/catalogue.hpp>

namespace tubewright::tubes {

enum class Family { triode, sharp_pentode, remote_pentode, power_pentode, beam, tetrode, remote_tetrode, converter };
const char* word(Family family);

/// What the priors need to know of a type.
struct Structure {
    Family family = Family::triode;
    double filament_volts =
        0;  ///< of a battery filament that is its own cathode; 0 for indirectly heated and for a.c. filaments
    bool filament = false;  ///< no separate cathode
};

/// A row as the fit sees it.
struct FitRow {
    OperatingPoint point;
    double units = 1;               ///< sections in parallel that the currents are for
    bool triode_connected = false;  ///< screen tied to the plate: Ip is the sum
};

struct Fit {
    std::string
        law;  ///< "triode" or "pentode" (also the mixing part of a converter); empty when the rows do not suffice
    std::vector<double> parameters;
    double worst_residual = 0;  ///< of plate currents, as a fraction
};
Fit fit(const Structure& structure, const std::vector<FitRow>& rows);

/// What a fitted law gives at a row's volts.
struct Prediction {
    double plate_amps = 0, screen_amps = 0, gm_siemens = 0, rp_ohms = 0;
};
Prediction predict(const std::string& law, const std::vector<double>& parameters, const FitRow& row);

/// What a section word of operating_points.csv stands for.
enum class RowUse {
    triode,
    pentode,
    triode_connected,  ///< constants are derived from them
    text               ///< supplies behind resistors, class B, push-pull pairs, converters, series filaments
};
RowUse row_use(const OperatingPoint& point, double* units = nullptr);

Structure structure_of(const TubeType* type, const OperatingPoint& example);

/// Rows of one electrode set, by type, with their pools worked out.
class Pools {
  public:
    Pools(const std::vector<OperatingPoint>& points, const Catalogue& catalogue);
    /// Rows a type's constants are derived from: its own first, then those of its twins; never those for which hidden
    /// says so.
    /// Triode rows, or those of the pentode (triode-connected ones with them).
    std::vector<FitRow> rows(const std::string& type, bool triode,
                             const std::vector<const OperatingPoint*>& hidden = {}) const;
    /// Same volts, and all given currents and gm within 2 %.
    static bool twins(const OperatingPoint& a, const OperatingPoint& b);
    /// Every row that is this row under another type's name, the row itself with it.
    std::vector<const OperatingPoint*> same(const OperatingPoint& point) const;
    const std::vector<const OperatingPoint*>& own(const std::string& type) const;
    const std::vector<std::string>& types() const { return types_; }

  private:
    bool pooled(std::size_t a, std::size_t b, const std::vector<const OperatingPoint*>& hidden) const;
    std::vector<std::string> types_;
    std::vector<std::vector<const OperatingPoint*>> rows_;
    std::vector<std::vector<char>> named_equal_;
};

/// One hidden row and what the rest of the table makes of it; fractions of the listed value.
struct HeldOut {
    const OperatingPoint* point = nullptr;
    int rows_of_type = 0;
    double plate_error = 0;
    std::optional<double> gm_error, screen_error;
    double plain_error = 0;  ///< the plain 3/2 law without gm, from the nearest remaining row
    std::vector<std::string> twins;
};
/// Every row of every type (or of one) with two or more rows of one electrode set, hidden in turn.
std::vector<HeldOut> score(const std::vector<OperatingPoint>& points, const Catalogue& catalogue,
                           std::string_view only = {});

}  // namespace tubewright::tubes
