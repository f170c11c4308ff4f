// SPDX-License-Identifier: MIT
// Which row of the catalogue's table of steps a part's replacement and its measurement are.
#pragma once

#include <tubewright/catalogue.hpp>
#include <tubewright/chassis.hpp>

namespace tubewright::choice {

struct Cost {
    double minutes = 0, cost = 0;
    std::string tools;
};
Cost replace_cost(const Part& part, const Catalogue& catalogue);
Cost measure_cost(const Part& part, const Catalogue& catalogue);

}  // namespace tubewright::choice
