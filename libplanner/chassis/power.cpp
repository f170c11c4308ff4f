// SPDX-License-Identifier: MIT
// See power.hpp.
#include "chassis/power.hpp"

#include <algorithm>
#include <initializer_list>

namespace tubewright {

std::vector<int> power_transformers_of(const Chassis& chassis) {
    const auto has = [](const Part& part, std::initializer_list<WindingRole> roles) {
        return std::any_of(part.windings.begin(), part.windings.end(), [&](const PartWinding& w) {
            return std::find(roles.begin(), roles.end(), w.role) != roles.end();
        });
    };
    std::vector<int> found;
    for (std::size_t i = 0; i < chassis.parts().size(); ++i) {
        const Part& part = chassis.parts()[i];
        if (part.kind != PartKind::transformer) continue;
        const bool by_windings = part.role.empty() && has(part, {WindingRole::primary}) &&
                                 has(part, {WindingRole::plate, WindingRole::heater, WindingRole::rectifier_heater});
        if (part.role == "power" || part.role == "vibrator" || by_windings) found.push_back(static_cast<int>(i));
    }
    const auto first = std::find_if(found.begin(), found.end(), [&](int i) {
        return has(chassis.parts()[static_cast<std::size_t>(i)], {WindingRole::plate});
    });
    if (first != found.end()) std::rotate(found.begin(), first, first + 1);
    return found;
}

}  // namespace tubewright
