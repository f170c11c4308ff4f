// SPDX-License-Identifier: MIT
// chassis_generator --seed N --tubes N --family F: an invented set on standard output.
#include <cstdio>
#include <cstdlib>
#include <exception>
#include <string>

#include "generator.hpp"

int main(int count, char** words) {
    generate::Wanted wanted;
    for (int i = 1; i + 1 < count; i += 2) {
        const std::string option = words[i];
        if (option == "--seed") wanted.seed = std::strtoull(words[i + 1], nullptr, 10);
        if (option == "--tubes") wanted.tubes = std::atoi(words[i + 1]);
        if (option == "--family") wanted.family = words[i + 1];
    }
    try {
        const std::string text = generate::chassis_text(tubewright::Catalogue::shipped(), wanted);
        std::fwrite(text.data(), 1, text.size(), stdout);
    } catch (const std::exception& wrong) {
        std::fprintf(stderr, "chassis_generator: %s\n", wrong.what());
        return 2;
    }
    return 0;
}
