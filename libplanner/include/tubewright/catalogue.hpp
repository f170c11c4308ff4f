// SPDX-License-Identifier: MIT
// What is known before any set is on the bench: tube basings and ratings, operating points, rectifiers, part
// constructions and how they age, failure modes and rates, fuses, lamps, stock values, minutes per kind of step,
// cautions. Tables are CSV, compiled in (libplanner/catalogue/tables/); every row keeps its source and provenance. All
// numbers here are SI.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <tubewright/outcome.hpp>
#include <tubewright/quantity.hpp>

namespace tubewright {

/// One pin (bottom view) and the electrodes behind it, e.g. pin "5" = {"k","g3"}; pin "cap" for a top cap.
/// Electrodes: h (heater, two pins), htap, k, p, g1..g5, d (diode plate), nc, shell; a trailing number or letter tells
/// units apart as written ("p1","k2","g1t").
struct Pin {
    std::string pin;
    std::vector<std::string> electrodes;
};

/// A row of tubes.csv. Optional values are absent when the table gives none.
struct TubeType {
    std::string type;
    std::string tube_class;  ///< as written: "pentode (power)", "rectifier-fw", "dual-diode-triode" ...
    std::string base;
    std::vector<Pin> pins;
    std::optional<double> heater_volts, heater_amps;
    bool directly_heated = false;
    std::optional<double> max_plate_volts, max_screen_volts, max_plate_watts, max_screen_watts, max_cathode_amps,
        max_heater_cathode_volts;        ///< direct and alternating together, at the crest
    bool heater_cathode_direct = false;  ///< that limit is of the direct volts alone
    std::string note;
    Source source;
    /// Electrodes of a pin; empty for a pin that the basing does not have or leaves unused.
    TUBEWRIGHT_API const Pin* pin(std::string_view name) const;
    bool is_rectifier() const { return tube_class.rfind("rectifier", 0) == 0; }
    /// Nothing but that: a 70L7 has an output section in the same bulb.
    bool is_only_rectifier() const { return is_rectifier() && tube_class.find('+') == std::string::npos; }
};

/// A row of operating_points.csv.
struct OperatingPoint {
    std::string type, section;
    std::optional<double> plate_volts, screen_volts, grid_volts, plate_amps, screen_amps, gm_siemens, rp_ohms, mu,
        load_ohms, output_watts;
    std::string note;
    Source source;
    int row = 0;  ///< line in the table, from 1
};

/// A row of rectifiers.csv.
struct RectifierType {
    std::string type;
    std::optional<double> max_ac_volts_rms, max_dc_amps, max_peak_amps, max_inverse_volts, drop_volts, drop_amps,
        min_supply_ohms_per_plate;
    bool dc_per_plate = false;  ///< of two diodes in one bulb: max_dc_amps is that of each, however they are joined
    std::optional<double> max_first_filter_farads;  ///< where the row's text gives one
    /// Direct amperes with the dial lamp across a section of its heater, and with a shunt beside the lamp.
    std::optional<double> lamp_dc_amps, shunted_lamp_dc_amps;
    std::optional<double> start_volts, hold_amps;  ///< gas: peak to start, direct to keep burning
    bool gas = false;
    std::string note;
    Source source;
};

/// The oscillator section of a converter at its self-biased oscillation (converter_oscillators.csv).
struct ConverterOscillator {
    std::string type;
    std::optional<double> plate_volts, screen_volts, anode_grid_volts, anode_grid_amps, anode_grid_dropper_ohms;
    std::optional<double> grid_leak_ohms, grid_amps, conversion_siemens, cathode_amps;
    Source source;
};

/// How a construction ages and what to do about it (constructions.csv). Keys are generic: "wax-paper",
/// "dry-electrolytic", "carbon-composition".
struct Construction {
    std::string key, kind;     ///< kind: capacitor, resistor, coil, transformer, tube, wire, cord, lamp, switch, ...
    std::string action;        ///< replace, measure, leave, never-disturb
    std::string reason, test;  ///< in the trade's words
    std::string base_rate;     ///< key into rates()
    std::string mode_set;      ///< key into failure_modes()
    double median_years = 0;   ///< age law: hazard doubles per half of it (declared estimate)
    double shape = 1;          ///< Weibull shape (declared estimate)
    std::optional<double> aged_megohm_microfarads,
        aged_spread;                                 ///< insulation after decades: median and one-sigma factor
    std::optional<double> drift_median, drift_high;  ///< resistors: fraction upward, median and 90th percentile
    Source source;
};

/// Share alpha of a mode in all failures of a kind.
struct FailureMode {
    std::string mode_set, mode;  ///< short, open, leak, drift, ...
    double alpha = 0;
    Source source;
};

/// A base rate and the constants of its model (rates.csv), failures per million hours.
struct Rate {
    std::string key, model;
    double base = 0, activation_ev = 0, value_exponent = 0, stress_knee = 0, stress_exponent = 0, quality = 1,
           environment = 1;
    Source source;
};

struct FuseRow {
    std::string family;  ///< "IEC 60127-2 sheet 3" or "UL 248-14"
    double amps = 0;
    std::optional<double> melting_i2t, cold_ohms, breaking_amps;
    Source source;
};

/// Minutes and cost of a kind of step (step_minutes.csv): common practice, no source.
struct StepCost {
    std::string key;
    double minutes = 0, cost = 0;
    std::string tools;
    Source source;
};

struct LampRow {
    std::string type;  ///< "47", "60W"
    double volts = 0, amps = 0, exponent = 0.55;
    std::string use;  ///< dial or limiter
    Source source;
};

/// A caution and the topic that calls it up: "b-plus", "hot-chassis", "charge", "old-oil", "selenium" ...
struct Caution {
    std::string topic, text;
    Source source;
};

class TUBEWRIGHT_API Catalogue {
  public:
    /// The tables compiled in. Never fails.
    static Catalogue shipped();

    /// Looked up as written, then without G, GT, GT/G, -A, -B; slash names match either half. nullptr when unknown.
    const TubeType* tube(std::string_view type) const;
    /// Up to three known types nearest to a misspelt one.
    std::vector<std::string> nearest_tubes(std::string_view type) const;
    const std::vector<TubeType>& tubes() const;
    const std::vector<OperatingPoint>& points() const;
    std::vector<OperatingPoint> points_of(const TubeType& type) const;
    const RectifierType* rectifier(std::string_view type) const;
    const std::vector<RectifierType>& rectifiers() const;
    std::vector<ConverterOscillator> converter_oscillators_of(const TubeType& type) const;
    const Construction* construction(std::string_view key) const;
    const std::vector<Construction>& constructions() const;
    std::vector<FailureMode> failure_modes(std::string_view mode_set) const;
    const Rate* rate(std::string_view key) const;
    const std::vector<FuseRow>& fuses() const;
    const std::vector<LampRow>& lamps() const;
    const LampRow* lamp(std::string_view type) const;
    const StepCost* step_cost(std::string_view key) const;
    /// The same with the costs of a price table of one's own: CSV with the columns `key`, `cost` and perhaps `dated`. A
    /// key that no row has, a cost that is no number: notices with line and column. What it does not name stays.
    Outcome<Catalogue> with_prices(std::string_view csv, std::string_view file) const;
    /// Date of the costs, with the name of one's own table: "2026-11", "mine.csv, 2027-03".
    const std::string& prices_dated() const;
    const std::vector<Caution>& cautions() const;
    /// Stocked steps in rising order: "film-volts", "electrolytic-volts", "film-farads", "electrolytic-farads",
    /// "resistor-ohms", "resistor-watts", ...
    const std::vector<double>& stock(std::string_view ladder) const;
    /// Usual replacement of a period value (farads), by the trade's table where it has the value; else the nearest
    /// stocked one.
    double modern_farads(double old_farads, bool electrolytic) const;
    /// Raw text of a compiled-in table and all their names, for listing and for tests.
    std::string_view table(std::string_view name) const;
    std::vector<std::string> table_names() const;

  private:
    struct Tables;
    std::shared_ptr<const Tables> tables_;
};

}  // namespace tubewright
