// SPDX-License-Identifier: MIT
// Words of the command line that set the policy: --line 121V, --meter 20k/V, --lamp 60W@120V, --policy prove-each,
// --assume pace=1.5. Each function changes what it is given, or says in one sentence what is wrong.
// Tests: tests/cli/settings_test.cpp.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include <tubewright/policy.hpp>
#include <tubewright/report.hpp>

namespace tubewright::cli {

/// Empty when the word was taken; else the complaint.
using Complaint = std::optional<std::string>;

Complaint set_line(std::string_view text, Policy& policy);
Complaint set_hertz(std::string_view text, Policy& policy);
Complaint set_meter(std::string_view text, Policy& policy);
Complaint set_lamp(std::string_view text, ReportOptions& options);
/// A word of --read for windings: plate=340-0-338, heater=6.89@118V, watts=3.1, amps=.1, heat=cool.
Complaint set_winding_reading(std::string_view text, WindingTest& test);
/// What was in the sockets: heaters, nothing.
Complaint set_in_sockets(std::string_view text, WindingTest& test);
Complaint set_policies(std::string_view names, Policy& policy);
Complaint set_assumption(std::string_view key_and_value, Policy& policy);
Complaint set_number(std::string_view name, std::string_view text, double& into);

/// Keys of --assume with their meaning, a line each.
std::string assumption_keys();

}  // namespace tubewright::cli
