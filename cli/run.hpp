// SPDX-License-Identifier: MIT
// From arguments to an exit status: words to calls, files, messages. No judgement is made here.
#pragma once

#include <string>
#include <vector>

namespace tubewright::cli {

enum class Exit { answered = 0, must_stop = 1, usage = 2, input = 3, no_solution = 4, fault = 5 };

/// Arguments without the program's name; the answer goes to standard output or -o, messages to standard error.
int run(const std::vector<std::string>& arguments);

}  // namespace tubewright::cli
