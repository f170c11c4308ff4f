// SPDX-License-Identifier: MIT
// Leaves one row out of a table of operating points at a time and prints how well the rest foretells it:
//     score_points [FILE.csv] [--rows]
// FILE has the columns of operating_points.csv (source and provenance may be missing); without it the catalogue's table
// is scored. Ends with 1 when a bar is missed; --rows prints every row and what was hidden with it.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <iostream>
#include <iterator>
#include <string>

#include <tubewright/catalogue.hpp>

#include "catalogue/tables.hpp"
#include "terms/csv.hpp"
#include "tubes/fit.hpp"

namespace {

double percentile(std::vector<double> values, double share) {
    if (values.empty()) return 0;
    std::sort(values.begin(), values.end());
    const double at = share * static_cast<double>(values.size() - 1);
    const std::size_t low = static_cast<std::size_t>(at);
    const std::size_t high = std::min(low + 1, values.size() - 1);
    return values[low] + (at - static_cast<double>(low)) * (values[high] - values[low]);
}

/// Prints a line and whether it is under its bars, per cent; 0 is no bar.
bool summary(const char* what, std::vector<double> values, double median_bar, double ninth_bar, double worst_bar) {
    double worst = 0;
    for (double& v : values) {
        v = 100 * std::abs(v);
        worst = std::max(worst, v);
    }
    const double median = percentile(values, 0.5), ninth = percentile(values, 0.9);
    const bool under = (median_bar == 0 || median < median_bar) && (ninth_bar == 0 || ninth < ninth_bar) &&
                       (worst_bar == 0 || worst <= worst_bar);
    std::printf("%-32s %3zu rows  median %5.2f %%  90th %5.2f %%  worst %5.1f %%", what, values.size(), median, ninth,
                worst);
    if (median_bar > 0) {
        std::printf("  bars %.3g, %.3g", median_bar, ninth_bar);
        if (worst_bar > 0) std::printf(", %.3g", worst_bar);
        std::printf("%s", under ? "" : ": MISSED");
    }
    std::printf("\n");
    return under;
}

}  // namespace

int main(int argc, char** argv) {
    std::string file;
    bool rows = false;
    for (int k = 1; k < argc; ++k) {
        const std::string word = argv[k];
        if (word == "--rows")
            rows = true;
        else
            file = word;
    }
    const tubewright::Catalogue catalogue = tubewright::Catalogue::shipped();
    std::vector<tubewright::OperatingPoint> points = catalogue.points();
    if (!file.empty()) {
        std::ifstream in(file, std::ios::binary);
        const std::string text((std::istreambuf_iterator<char>(in)), {});
        const auto table = tubewright::read_csv(text, file);
        if (!in || !table) {
            for (const auto& n : table.notices()) std::cerr << n.text() << '\n';
            return 3;
        }
        points = tubewright::tables::operating_points(*table);
    }
    const auto held = tubewright::tubes::score(points, catalogue);
    std::vector<double> plate, plate_many, gm, screen, plain;
    for (const auto& h : held) {
        plate.push_back(h.plate_error);
        if (h.rows_of_type >= 3) plate_many.push_back(h.plate_error);
        plain.push_back(h.plain_error);
        if (h.gm_error) gm.push_back(*h.gm_error);
        if (h.screen_error) screen.push_back(*h.screen_error);
        if (!rows) continue;
        const auto& p = *h.point;
        std::printf(
            "%-6s %-10.10s %6g %6g %6g  Ip %+7.2f %%  gm %+7.2f %%  Ig2 %+7.2f %%  plain %+7.2f %%  hidden with:",
            p.type.c_str(), p.section.c_str(), p.plate_volts.value_or(0), p.screen_volts.value_or(0),
            p.grid_volts.value_or(0), 100 * h.plate_error, 100 * h.gm_error.value_or(0),
            100 * h.screen_error.value_or(0), 100 * h.plain_error);
        for (const auto& t : h.twins) std::printf(" %s", t.c_str());
        std::printf("\n");
    }
    bool under = summary("plate current", plate, 3.5, 15, 40);
    under &= summary("plate current, three or more rows", plate_many, 2.5, 8, 0);
    under &= summary("gm", gm, 4, 10, 0);
    under &= summary("screen current", screen, 6, 30, 0);
    summary("plain 3/2 law without gm", plain, 0, 0, 0);
    return under ? 0 : 1;
}
