// SPDX-License-Identifier: MIT
// The starter files of netlists/start as they are compiled in.
#pragma once

#include <string_view>

namespace tubewright {

struct StarterText {
    std::string_view family, text;
};
/// The last has no family.
extern const StarterText starter_texts[];

}  // namespace tubewright
