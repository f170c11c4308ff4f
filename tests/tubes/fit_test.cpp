// SPDX-License-Identifier: MIT
#include "tubes/fit.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include <tubewright/catalogue.hpp>

#include <catch2/catch.hpp>

using namespace tubewright;
using namespace tubewright::tubes;

namespace {

double percentile(std::vector<double> values, double share) {
    REQUIRE_FALSE(values.empty());
    std::sort(values.begin(), values.end());
    const double at = share * static_cast<double>(values.size() - 1);
    const std::size_t low = static_cast<std::size_t>(at), high = std::min(low + 1, values.size() - 1);
    return values[low] + (at - static_cast<double>(low)) * (values[high] - values[low]);
}

OperatingPoint triode_point(double plate, double grid, double amps, double gm, double mu) {
    OperatingPoint p;
    p.type.assign(1, 'X');
    p.section = "triode";
    p.plate_volts = plate;
    p.grid_volts = grid;
    p.plate_amps = amps;
    p.gm_siemens = gm;
    p.mu = mu;
    p.rp_ohms = mu / gm;
    return p;
}

}  // namespace

TEST_CASE("recalled: one row hidden from a type and its twins is foretold by the rest") {
    const Catalogue catalogue = Catalogue::shipped();
    const auto held = score(catalogue.points(), catalogue);
    std::vector<double> plate, many, gm, screen, plain;
    for (const HeldOut& h : held) {
        plate.push_back(std::abs(h.plate_error));
        plain.push_back(std::abs(h.plain_error));
        if (h.rows_of_type >= 3) many.push_back(std::abs(h.plate_error));
        if (h.gm_error) gm.push_back(std::abs(*h.gm_error));
        if (h.screen_error) screen.push_back(std::abs(*h.screen_error));
        INFO(h.point->type << ' ' << *h.point->plate_volts << " V " << *h.point->grid_volts << " V");
        CHECK(std::abs(h.plate_error) < 0.40);
    }
    CHECK(held.size() > 150);
    CHECK(percentile(plate, 0.5) < 0.035);
    CHECK(percentile(plate, 0.9) < 0.15);
    CHECK(percentile(many, 0.5) < 0.025);
    CHECK(percentile(many, 0.9) < 0.08);
    CHECK(percentile(gm, 0.5) < 0.04);
    CHECK(percentile(gm, 0.9) < 0.10);
    CHECK(percentile(screen, 0.5) < 0.06);
    CHECK(percentile(screen, 0.9) < 0.30);
    // Beside it the plain 3/2 law without gm.
    CHECK(percentile(plate, 0.5) < percentile(plain, 0.5));
    CHECK(percentile(plate, 0.9) < percentile(plain, 0.9));
}

TEST_CASE("A hidden row is hidden from every twin") {
    const Catalogue catalogue = Catalogue::shipped();
    const Pools pools(catalogue.points(), catalogue);
    for (const char* type : {"42", "6K7", "12AX7", "6SN7"})
        for (const OperatingPoint* p : pools.own(type)) {
            const auto hidden = pools.same(*p);
            CHECK(std::find(hidden.begin(), hidden.end(), p) != hidden.end());
            for (const FitRow& row : pools.rows(type, row_use(*p) == RowUse::triode, hidden))
                CHECK_FALSE(Pools::twins(row.point, *p));
        }
    // 2A5, 42, 6F6 and 18 print the same rows.
    CHECK(pools.same(*pools.own("42").front()).size() == 4);
}

TEST_CASE("Twins lend each other their rows; types that contradict each other do not") {
    const Catalogue catalogue = Catalogue::shipped();
    const Pools pools(catalogue.points(), catalogue);
    // A 76 has one row of its own and the second of the 56.
    CHECK(pools.own("76").size() == 1);
    CHECK(pools.rows("76", true).size() == 2);
    // 6AT6 and 6Q7 agree at 250 V but not at 100 V.
    for (const FitRow& row : pools.rows("6AT6", true)) CHECK(row.point.type != "6Q7");
}

TEST_CASE("Rows that are not static points of a tube give no constants") {
    OperatingPoint p = triode_point(250, -8, 9e-3, 2.6e-3, 20);
    CHECK(row_use(p) == RowUse::triode);
    for (const char* section :
         {"triode (plate via 1M from 250 V)", "class B, per plate", "triode push-pull AB1, per tube",
          "pentode, series filament", "converter (p, g3+g5 screen)", "hexode", "mixer (g1 signal, g3 osc)",
          "triode-connected (g2+g3 to p)"}) {
        p.section = section;
        p.screen_volts = 100;
        INFO(section);
        CHECK(row_use(p) == RowUse::text);
    }
    p.section = "triode, sections parallel";
    double units = 0;
    CHECK(row_use(p, &units) == RowUse::triode);
    CHECK(units == 2);
    p.grid_volts.reset();
    CHECK(row_use(p) == RowUse::text);
}

TEST_CASE("A triode made up by the 3/2 law is recovered from two rows") {
    // K = 1 mA/V^1.5, mu 20, no contact volts, far from cut-off.
    const auto made = [](double vp, double vg) {
        const double e = vg + vp / 20;
        return triode_point(vp, vg, 1e-3 * e * std::sqrt(e), 1.5e-3 * std::sqrt(e), 20);
    };
    std::vector<FitRow> rows(2);
    rows[0].point = made(250, -2);
    rows[1].point = made(200, 0);
    const Structure structure;
    const Fit f = fit(structure, rows);
    REQUIRE(f.law == "triode");
    FitRow asked;
    asked.point = made(150, -1);
    const Prediction m = predict(f.law, f.parameters, asked);
    CHECK(m.plate_amps == Approx(*asked.point.plate_amps).epsilon(0.03));
    CHECK(m.gm_siemens == Approx(*asked.point.gm_siemens).epsilon(0.03));
    CHECK(m.gm_siemens * m.rp_ohms == Approx(20).epsilon(0.03));
}

TEST_CASE("The same rows give the same constants to the last bit") {
    const Catalogue catalogue = Catalogue::shipped();
    const Pools pools(catalogue.points(), catalogue);
    for (const std::string& type : pools.types()) {
        for (bool triode : {true, false}) {
            const auto rows = pools.rows(type, triode);
            if (rows.empty()) continue;
            const Structure s = structure_of(catalogue.tube(type), rows.front().point);
            CHECK(fit(s, rows).parameters == fit(s, rows).parameters);
        }
    }
}

TEST_CASE("No rows give no law") {
    CHECK(fit(Structure{}, {}).law.empty());
}

TEST_CASE("A table with nonsense in it is scored without harm") {
    const Catalogue catalogue = Catalogue::shipped();
    std::vector<OperatingPoint> points = {
        triode_point(250, -8, 9e-3, 2.6e-3, 20), triode_point(90, 0, 10e-3, 3e-3, 20),
        triode_point(90, 0, 10e-3, 3e-3, 20),    triode_point(0, 0, 1e-3, 1e-3, 20),
        triode_point(100, 5, 1e-3, 0, 0),        triode_point(100, -500, 1e-3, 1e-3, 20),
        triode_point(100, 0, -1, 1, 1)};
    OperatingPoint pentode = triode_point(250, -8, 9e-3, 2.6e-3, 20);
    pentode.section = "pentode";
    pentode.screen_volts = 100;
    pentode.screen_amps = 0;
    points.push_back(pentode);
    pentode.screen_volts = 150;
    pentode.gm_siemens = 0;
    points.push_back(pentode);
    for (const HeldOut& h : score(points, catalogue)) {
        CHECK(std::isfinite(h.plate_error));
        if (h.gm_error) CHECK(std::isfinite(*h.gm_error));
    }
}
