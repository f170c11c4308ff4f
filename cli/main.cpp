// SPDX-License-Identifier: MIT
// The program: reads the command line, has it answered, and ends with the exit status of DEVELOPERS.md (0 answered,
// 1 something must stop the person, 2 command line, 3 input, 4 no solution, 5 a fault of our own or of the machine).
// Tests: tests/cli/program_test.cpp.
#include <csignal>
#include <exception>
#include <iostream>
#include <string>
#include <vector>

#include "run.hpp"

int main(int count, char** words) {
    std::signal(SIGXFSZ, SIG_IGN);  // a file that may grow no more is an error to tell of
    std::signal(SIGPIPE, SIG_DFL);  // a reader that went away ends us quietly, even when our parent ignores the signal
    try {
        return tubewright::cli::run(std::vector<std::string>(words + (count > 0 ? 1 : 0), words + count));
    } catch (const std::exception& fault) {
        std::cerr << "tubewright: a fault of our own: " << fault.what() << '\n';
    } catch (...) {
        std::cerr << "tubewright: a fault of our own, of an unknown kind\n";
    }
    return 5;
}
