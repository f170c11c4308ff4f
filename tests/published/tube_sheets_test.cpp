// SPDX-License-Identifier: MIT
// Sources: makers' sheets and manuals, named row by row in tube_sheets.csv and stage_sheets.csv (column `document`);
// all were read as quoted in public collections of sheets, not on the originals. Constants come from the catalogue, or,
// for types that it lacks, from the sheet's own static row; what is checked is what they were not derived from, but
// where a test says otherwise.
#include <algorithm>
#include <cmath>
#include <fstream>
#include <iterator>
#include <map>
#include <string>

#include <tubewright/tubes.hpp>

#include <catch2/catch.hpp>

#include "catalogue/tables.hpp"
#include "terms/csv.hpp"
#include "tubes/fit.hpp"

using namespace tubewright;

namespace {

CsvTable table(const char* name) {
    const std::string path = std::string(TUBEWRIGHT_ROOT) + "/tests/published/" + name;
    std::ifstream in(path, std::ios::binary);
    const std::string text((std::istreambuf_iterator<char>(in)), {});
    auto read = read_csv(text, path);
    REQUIRE(read);
    return std::move(*read);
}

const Catalogue& catalogue() {
    static const Catalogue shipped = Catalogue::shipped();
    return shipped;
}

/// The amplifying unit of a type of the catalogue.
SectionModel unit(const char* type) {
    const auto m = tube_model(*catalogue().tube(type), catalogue());
    REQUIRE(m);
    for (const SectionModel& s : m->sections)
        if (s.law == "triode" || s.law == "pentode") return s;
    FAIL("no amplifying unit");
    return {};
}

/// The constants that follow from one row alone.
SectionModel fitted(const OperatingPoint& point) {
    tubes::FitRow row;
    row.point = point;
    const tubes::Fit f = tubes::fit(tubes::structure_of(nullptr, point), {row});
    SectionModel s;
    s.law = f.law;
    s.parameters = f.parameters;
    return s;
}

/// A unit from one row of a sheet, for a type that the catalogue lacks.
SectionModel unit_from_sheet(const char* type, double screen, double grid) {
    for (const OperatingPoint& p : tables::operating_points(table("tube_sheets.csv"))) {
        if (p.type != type || p.screen_volts != screen || p.grid_volts != grid) continue;
        return fitted(p);
    }
    FAIL("no such row");
    return {};
}

/// The EF804S by its one static row: supplies of 250 V and 140 V to ground over a cathode resistor of 500 ohm.
SectionModel self_biased_ef804s() {
    for (OperatingPoint p : tables::operating_points(table("tube_sheets.csv"))) {
        if (p.type != "EF804S") continue;
        const double cathode = 500 * (*p.plate_amps + *p.screen_amps);
        p.plate_volts = *p.plate_volts - cathode;
        p.screen_volts = *p.screen_volts - cathode;
        p.grid_volts = -cathode;
        p.section = "pentode";
        return fitted(p);
    }
    FAIL("no such row");
    return {};
}

/// A stage at rest: plate and screen behind resistors from one supply, cathode resistor, grid at ground.
struct Stage {
    double plate_amps = 0, screen_amps = 0, gain = 0;
};
Stage stage(const SectionModel& s, double supply, double plate_ohms, double screen_ohms, double cathode_ohms,
            double next_ohms) {
    // Bisection on the cathode's volts; inside it on the screen's, inside that on the plate's: slow, obvious, and sure.
    double plate = 0, screen = 0;
    const auto settle = [&](double cathode) {
        TubeCurrents c;
        double s_low = 0, s_high = supply - cathode;
        for (int k = 0; k < 50; ++k) {
            screen = screen_ohms > 0 ? 0.5 * (s_low + s_high) : 0;
            double p_low = 0, p_high = supply - cathode;
            for (int m = 0; m < 50; ++m) {
                plate = 0.5 * (p_low + p_high);
                c = currents_at(s, volts(plate), volts(screen), volts(-cathode));
                (c.plate_amps * plate_ohms > supply - cathode - plate ? p_high : p_low) = plate;
            }
            if (screen_ohms == 0) break;
            (c.screen_amps * screen_ohms > supply - cathode - screen ? s_high : s_low) = screen;
        }
        return c;
    };
    double low = 0, high = 30;
    TubeCurrents c;
    for (int k = 0; k < 50; ++k) {
        const double cathode = 0.5 * (low + high);
        c = settle(cathode);
        ((c.plate_amps + c.screen_amps) * cathode_ohms > cathode ? low : high) = cathode;
    }
    const double load = next_ohms > 0 ? plate_ohms * next_ohms / (plate_ohms + next_ohms) : plate_ohms;
    return {c.plate_amps, c.screen_amps, c.gm_siemens * c.rp_ohms * load / (c.rp_ohms + load)};
}

double middle(std::vector<double> values) {
    REQUIRE_FALSE(values.empty());
    std::sort(values.begin(), values.end());
    return values[values.size() / 2];
}

}  // namespace

TEST_CASE("published: rows of the catalogue are those of the sheets") {
    // A check of the rows, not of the laws: constants are derived from these rows (tests/recalled has that).
    int checked = 0;
    for (const OperatingPoint& p : tables::operating_points(table("tube_sheets.csv"))) {
        const TubeType* t = catalogue().tube(p.type);
        if (t == nullptr || t->type != p.type || !p.gm_siemens) continue;
        for (const OperatingPoint& row : catalogue().points_of(*t)) {
            if (row.plate_volts != p.plate_volts || row.grid_volts != p.grid_volts ||
                row.screen_volts.value_or(0) != p.screen_volts.value_or(0) || !row.gm_siemens)
                continue;
            INFO(p.type << ' ' << *p.plate_volts << " V " << *p.grid_volts << " V");
            CHECK(*row.plate_amps == Approx(*p.plate_amps).epsilon(0.05));
            // Sheets disagree on the EL34's gm: 11,000 or 12,500.
            CHECK(*row.gm_siemens == Approx(*p.gm_siemens).epsilon(p.type == "EL34" ? 0.15 : 0.10));
            ++checked;
        }
    }
    CHECK(checked >= 20);
}

TEST_CASE("published: rows of the sheets that the catalogue has not are foretold by its constants") {
    int checked = 0;
    for (const OperatingPoint& p : tables::operating_points(table("tube_sheets.csv"))) {
        const TubeType* t = catalogue().tube(p.type);
        if (t == nullptr || t->type != p.type || tubes::row_use(p) == tubes::RowUse::text || !p.gm_siemens) continue;
        const auto rows = catalogue().points_of(*t);
        if (std::any_of(rows.begin(), rows.end(), [&](const OperatingPoint& row) {
                return row.plate_volts == p.plate_volts && row.grid_volts == p.grid_volts &&
                       row.screen_volts.value_or(0) == p.screen_volts.value_or(0);
            }))
            continue;
        // The 350 V row is of a later revision of the type, 6L6GC.
        if (p.type == "6L6" && p.plate_volts == 350.0) continue;
        const SectionModel s = unit(p.type.c_str());
        const TubeCurrents c =
            currents_at(s, volts(*p.plate_volts), volts(p.screen_volts.value_or(0)), volts(*p.grid_volts));
        INFO(p.type << ' ' << *p.plate_volts << " V " << *p.grid_volts << " V");
        CHECK(c.plate_amps == Approx(*p.plate_amps).epsilon(0.10));
        CHECK(c.gm_siemens == Approx(*p.gm_siemens).epsilon(0.15));
        ++checked;
    }
    CHECK(checked >= 2);
}

TEST_CASE("published: a 6SN7's constants foretell the third point and the cut-off of the 6CG7 sheet, its equal") {
    const SectionModel s = unit("6SN7");
    CHECK(currents_at(s, volts(250), volts(0), volts(-12.5)).plate_amps == Approx(1.3e-3).epsilon(0.20));
    CHECK(currents_at(s, volts(250), volts(0), volts(-18)).plate_amps == Approx(10e-6).margin(10e-6));
    CHECK(currents_at(s, volts(90), volts(0), volts(-7)).plate_amps == Approx(10e-6).margin(10e-6));
}

TEST_CASE("published: a 6L6's constants foretell the 350 V row of its later revision") {
    const TubeCurrents c = currents_at(unit("6L6"), volts(350), volts(250), volts(-18));
    CHECK(c.plate_amps == Approx(54e-3).epsilon(0.10));
    CHECK(c.gm_siemens == Approx(5.2e-3).epsilon(0.10));
}

TEST_CASE("published: resistance-coupled 12AX7 stages stand at the sheets' currents and gains") {
    const CsvTable t = table("stage_sheets.csv");
    const SectionModel s = unit("12AX7");
    std::vector<double> errors;
    for (std::size_t k = 0; k < t.records.size(); ++k) {
        const auto number = [&](const char* column) { return plain_number(t.text(k, t.column(column))).value_or(0); };
        if (t.text(k, 0) != "12AX7") continue;
        const Stage at = stage(s, number("Ebb_V"), number("Rp_ohm"), 0, number("Rk_ohm"), number("Rg_next_ohm"));
        INFO(number("Ebb_V") << " V, " << number("Rp_ohm") << " ohm, next " << number("Rg_next_ohm"));
        if (number("Ip_mA") > 0) {
            CHECK(at.plate_amps == Approx(number("Ip_mA") * 1e-3).epsilon(0.05));
            errors.push_back(std::abs(at.plate_amps / (number("Ip_mA") * 1e-3) - 1));
        }
        if (number("gain") > 0) {
            CHECK(at.gain == Approx(number("gain")).epsilon(0.12));
            errors.push_back(std::abs(at.gain / number("gain") - 1));
        }
    }
    CHECK(errors.size() == 15);
    CHECK(middle(errors) < 0.07);
}

TEST_CASE("published: EF86 stages follow from the sheet's one static row") {
    const CsvTable t = table("stage_sheets.csv");
    const SectionModel s = unit_from_sheet("EF86", 140, -2.2);
    int checked = 0;
    for (std::size_t k = 0; k < t.records.size(); ++k) {
        const auto number = [&](const char* column) { return plain_number(t.text(k, t.column(column))).value_or(0); };
        if (t.text(k, 0) != "EF86") continue;
        const Stage at =
            stage(s, number("Ebb_V"), number("Rp_ohm"), number("Rscreen_ohm"), number("Rk_ohm"), number("Rg_next_ohm"));
        INFO(number("Ebb_V") << " V, " << number("Rp_ohm") << " ohm");
        CHECK(at.plate_amps + at.screen_amps == Approx(number("Ik_total_mA") * 1e-3).epsilon(0.12));
        if (number("gain") > 0) CHECK(at.gain == Approx(number("gain")).epsilon(0.12));
        ++checked;
    }
    CHECK(checked == 5);
}

TEST_CASE("published: resistance-coupled stages stand at the sheets' currents and gains, row by row") {
    // The catalogue's constants; those of the EF804S, which it lacks, from the self-biased row of its own sheet.
    const CsvTable t = table("stage_sheets.csv");
    std::vector<double> gain_errors, current_errors;
    std::map<std::string, int> rows;
    for (std::size_t k = 0; k < t.records.size(); ++k) {
        const auto number = [&](const char* column) { return plain_number(t.text(k, t.column(column))).value_or(0); };
        const std::string type(t.text(k, 0));
        const SectionModel s = type == "EF804S" ? self_biased_ef804s() : unit(type.c_str());
        const Stage at =
            stage(s, number("Ebb_V"), number("Rp_ohm"), number("Rscreen_ohm"), number("Rk_ohm"), number("Rg_next_ohm"));
        INFO(type << ' ' << number("Ebb_V") << " V, " << number("Rp_ohm") << " ohm, next " << number("Rg_next_ohm"));
        const auto current = [&](double found, const char* column) {
            const double listed = number(column) * 1e-3;
            if (listed <= 0) return;
            CHECK(found == Approx(listed).epsilon(type == "12AX7" ? 0.05 : 0.12));
            current_errors.push_back(std::abs(found / listed - 1));
        };
        current(at.plate_amps, "Ip_mA");
        current(at.plate_amps + at.screen_amps, "Ik_total_mA");
        if (number("gain") > 0) {
            CHECK(at.gain == Approx(number("gain")).epsilon(0.12));
            gain_errors.push_back(std::abs(at.gain / number("gain") - 1));
        }
        ++rows[type];
    }
    CHECK(rows == std::map<std::string, int>{{"12AX7", 15}, {"EF804S", 3}, {"EF86", 5}});
    CHECK(gain_errors.size() == 16);
    CHECK(middle(gain_errors) < 0.06);
    CHECK(current_errors.size() == 14);
    CHECK(middle(current_errors) < 0.06);
}

TEST_CASE("published: rectifiers drop what manuals print, within the spread of a good tube") {
    // RC-19 of 1959 for the 5Y3GT, 5AR4 and 5U4G (its entry lumps the 5U4GB, and another sheet has 50 V at 225 mA);
    // sheet 7-63 for the 83; the 5Z4 and 6X4 from drops quoted without a sheet. All as quoted, none seen.
    struct Drop {
        const char* tube;
        double volts, amps;
    };
    for (const Drop& d : {Drop{"5Y3GT", 60, 0.125}, Drop{"5AR4", 17, 0.250}, Drop{"5U4G", 50, 0.200},
                          Drop{"5Z4", 20, 0.125}, Drop{"6X4", 22, 0.070}, Drop{"83", 15, 0.225}}) {
        const auto m = tube_model(*catalogue().tube(d.tube), catalogue());
        REQUIRE(m);
        const SectionModel& s = m->sections.front();
        const auto value = [&](const char* name) {
            const auto at = std::find(s.parameter_names.begin(), s.parameter_names.end(), name);
            REQUIRE(at != s.parameter_names.end());
            return s.parameters[static_cast<std::size_t>(at - s.parameter_names.begin())];
        };
        INFO(d.tube);
        const double drop = s.law == "vacuum-diode" ? std::pow(d.amps / value("perveance"), 2.0 / 3)
                                                    : value("drop") + d.amps * value("slope_ohms");
        CHECK(drop == Approx(d.volts).epsilon(0.20));
    }
}
