// SPDX-License-Identifier: MIT
// All that is public of libtubewright: from a chassis file to a repair plan.
//
//     const Catalogue catalogue = Catalogue::shipped();
//     Outcome<Chassis> set = read_chassis("set.xml", catalogue);
//     const Study study(*set, catalogue, Policy{}, Progress{});
//     for (const Threat& t : study.threats().for_transformer()) std::cout << t.chain() << '\n';
#pragma once

#include <tubewright/ageing.hpp>
#include <tubewright/audit.hpp>
#include <tubewright/bench.hpp>
#include <tubewright/catalogue.hpp>
#include <tubewright/chassis.hpp>
#include <tubewright/choice.hpp>
#include <tubewright/fault.hpp>
#include <tubewright/netlist.hpp>
#include <tubewright/order.hpp>
#include <tubewright/outcome.hpp>
#include <tubewright/policy.hpp>
#include <tubewright/quantity.hpp>
#include <tubewright/record.hpp>
#include <tubewright/report.hpp>
#include <tubewright/rules.hpp>
#include <tubewright/stress.hpp>
#include <tubewright/study.hpp>
#include <tubewright/threat.hpp>
#include <tubewright/tubes.hpp>
