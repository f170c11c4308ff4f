// SPDX-License-Identifier: MIT
// See marks.hpp.
#include "threat/marks.hpp"

#include <cmath>
#include <utility>

namespace tubewright::threat {
namespace {

constexpr double least_bias = 0.2;   ///< a grid without bias is not judged by it
constexpr double least_volts = 10;   ///< a plate under it is no figure on a chart
constexpr double least_share = 0.3;  ///< a heater under so much of its volts is cold

/// Volts over rated ones, of a section or (-1) of the whole heater.
double share_of(const HeaterVolts& h, int section) {
    if (section < 0) return h.rated.value() > 0 ? h.across / h.rated : 0;
    const HeaterSection& s = h.sections[static_cast<std::size_t>(section)];
    return s.rated.value() > 0 ? s.across / s.rated : 0;
}

}  // namespace

Marks::Marks(const Chassis& chassis, const Catalogue& catalogue, const Solution& healthy) : chassis_(chassis) {
    using stress::Figure;
    const stress::Loads loads(chassis, healthy);
    for (stress::Limit& l : stress::limits_of(chassis, catalogue, healthy))
        if ((l.figure == Figure::electrode_watts || l.figure == Figure::cathode_amps) &&
            stress::figure_of(l, chassis, loads) <= l.limit)
            maxima.push_back(std::move(l));
    for (const HeaterVolts& h : healthy.heaters) {
        const Part& p = chassis.parts()[static_cast<std::size_t>(h.part)];
        if (p.kind != PartKind::socket || p.type == nullptr) continue;
        const int sections = static_cast<int>(h.sections.size());
        for (int k = sections > 0 ? 0 : -1; k < sections; ++k) {
            const double share = share_of(h, k);
            if (share < least_share) continue;
            heaters.push_back({h.part, k, p.type->directly_heated, std::fabs(share - 1) > heater_share ? share : 1});
        }
    }
    for (std::size_t i = 0; i < chassis.parts().size(); ++i) {
        const Part& p = chassis.parts()[i];
        if (p.kind != PartKind::socket || p.type == nullptr || p.type->is_rectifier()) continue;
        const bool converter = p.type->tube_class.find("converter") != std::string::npos;
        auto net_of = [&](std::string_view electrode) {
            for (const Pin& pin : p.type->pins)
                for (const std::string& e : pin.electrodes)
                    if (e == electrode)
                        if (const int lead = p.lead(pin.pin); lead >= 0)
                            return p.leads[static_cast<std::size_t>(lead)].net;
            return -1;
        };
        for (const auto& [grid, cathode] :
             {std::pair{converter ? "g4" : "g1", "k"}, std::pair{"g1t", "k1"}, std::pair{"g2t", "k2"}}) {
            const int g = net_of(grid), k = net_of(cathode);
            if (g < 0 || k < 0) continue;
            const double bias = volts_at(healthy, g) - volts_at(healthy, k);
            if (-bias >= least_bias) grids.push_back({static_cast<int>(i), g, k, volts_at(healthy, g), -bias});
        }
        auto supply = [&](const std::string& electrode, const char* word) {
            const int net = net_of(electrode);
            if (net < 0 || volts_at(healthy, net) < least_volts) return;
            for (const VoltsMark& m : supplied)
                if (m.net == net) return;
            supplied.push_back({static_cast<int>(i), net, word, volts_at(healthy, net)});
        };
        for (const char* plate : {"p", "p1", "p2", "pt", "pp"}) supply(plate, "plate");
        for (const std::string& screen : stress::screen_of(*p.type)) supply(screen, "screen");
    }
}

std::string Marks::over_maximum(const stress::Loads& loads) const {
    for (const stress::Limit& l : maxima)
        if (stress::figure_of(l, chassis_, loads) > l.limit)
            return l.quantity + " of " + chassis_.parts()[static_cast<std::size_t>(l.part)].id;
    return {};
}

std::string Marks::heater_off(const Solution& s) const {
    for (const HeaterMark& m : heaters)
        for (const HeaterVolts& h : s.heaters) {
            if (h.part != m.part || m.section >= static_cast<int>(h.sections.size())) continue;
            if (std::fabs(share_of(h, m.section) / m.base - 1) > heater_share)
                return std::string(m.filament ? "filament" : "heater") + " volts of " +
                       chassis_.parts()[static_cast<std::size_t>(m.part)].id + " off by a tenth";
        }
    return {};
}

}  // namespace tubewright::threat
