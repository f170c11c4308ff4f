// SPDX-License-Identifier: MIT
// What is wrong with a network before any number is computed: parts of it that hang in the air, loops of ideal volts
// sources, current sources with no way back. Near-linear, by union-find; names the nodes and elements.
#pragma once

#include <vector>

#include "circuit/parts.hpp"

namespace tubewright::circuit {

/// Groups of nodes without a conducting path (at direct current) to the reference, each sorted.
/// `open_devices`: a device joins no terminals (true) or all (false).
std::vector<std::vector<Node>> islands(const Circuit::Data& data, const std::vector<double>& values, bool open_devices);
/// As above, with extra joins: (a, b) pairs. Branches of so few siemens or less join nothing.
std::vector<std::vector<Node>> islands(const Circuit::Data& data, const std::vector<double>& values,
                                       const std::vector<std::pair<Node, Node>>& joins, double least_siemens = 0);

/// Source loops and current cuts, then floating nodes (only when they are not tied).
Trouble examine(const Circuit::Data& data, const std::vector<double>& values, bool tied);
Trouble floating(const Circuit::Data& data, const std::vector<std::vector<Node>>& groups);

}  // namespace tubewright::circuit
