// SPDX-License-Identifier: MIT
// trace_mutations --seed N --count N [--missed N] FILE...: mistakes planted in the files and in generated sets of every
// family, and how many of them the graph half of the audit reports, by kind. Ends with 1 under the bars of the issue:
// 60 % of the counted mistakes reported at the place, 70 % of what is reported at the place.
#include <fmt/core.h>

#include <cstdlib>
#include <exception>
#include <map>

#include <tubewright/netlist.hpp>

#include "mutation.hpp"

using namespace tubewright;

int main(int count, char** words) {
    std::uint64_t seed = 1;
    int wanted = 2000, missed = 0;
    std::vector<std::string> paths;
    for (int i = 1; i < count; ++i) {
        const std::string word = words[i];
        if (word == "--seed" && i + 1 < count)
            seed = std::strtoull(words[++i], nullptr, 10);
        else if (word == "--count" && i + 1 < count)
            wanted = std::atoi(words[++i]);
        else if (word == "--missed" && i + 1 < count)
            missed = std::atoi(words[++i]);
        else
            paths.push_back(word);
    }
    const Catalogue catalogue = Catalogue::shipped();
    std::vector<Chassis> sets;
    for (const std::string& path : paths) {
        Outcome<Chassis> set = read_chassis(path, catalogue);
        if (!set) {
            fmt::print(stderr, "{}\n", set.notices().front().text());
            return 3;
        }
        sets.push_back(std::move(*set));
    }
    for (const std::string_view family : generate::families()) {
        generate::Wanted one{seed, 12, std::string(family)};
        Outcome<Chassis> set =
            read_chassis_text(generate::chassis_text(catalogue, one), "generated " + one.family, catalogue);
        if (!set) {
            fmt::print(stderr, "{}\n", set.notices().front().text());
            return 3;
        }
        sets.push_back(std::move(*set));
    }
    struct Tally {
        int counted = 0, reported = 0, placed = 0;
    };
    std::map<generate::Slip, Tally> by_slip;
    Tally all;
    int findings = 0, findings_placed = 0;
    generate::Dice dice(seed);
    for (int done = 0, tries = 0; done < wanted && tries < 20 * wanted; ++tries) {
        const Chassis& set = sets[dice.below(sets.size())];
        const auto slip = static_cast<generate::Slip>(dice.below(generate::slips));
        generate::Flat flat = generate::flat_of(set, dice);
        const Outcome<Chassis> before = generate::chassis_of(flat, catalogue);
        if (!before) {
            fmt::print(stderr, "{}: {}\n", set.name(), before.notices().front().text());
            return 5;
        }
        const std::optional<generate::Mistake> mistake = generate::plant(flat, slip, dice, catalogue);
        if (!mistake) continue;
        const Outcome<Chassis> after = generate::chassis_of(flat, catalogue);
        ++done;
        Tally& tally = by_slip[slip];
        ++tally.counted;
        ++all.counted;
        // What the reader refuses is reported, at its place.
        generate::Verdict verdict;
        if (!after) {
            verdict.reported = verdict.at_the_place = true;
            verdict.findings = verdict.findings_at_the_place = 1;
        } else {
            verdict = generate::judged(*before, *after, *mistake, catalogue);
        }
        tally.reported += verdict.reported;
        tally.placed += verdict.at_the_place;
        all.reported += verdict.reported;
        all.placed += verdict.at_the_place;
        findings += verdict.findings;
        findings_placed += verdict.findings_at_the_place;
        if (!verdict.at_the_place && missed-- > 0)
            fmt::print("missed: {}: {}: {}{}\n", set.name(), word(slip), mistake->what,
                       verdict.reported ? " (reported elsewhere)" : "");
    }
    const auto share = [](int part, int whole) { return whole > 0 ? 100.0 * part / whole : 0.0; };
    for (const auto& [slip, tally] : by_slip)
        fmt::print("{:<24} {:5} counted, {:5.1f} % reported, {:5.1f} % at the place\n", word(slip), tally.counted,
                   share(tally.reported, tally.counted), share(tally.placed, tally.counted));
    fmt::print(
        "seed {}: {} counted, {:.1f} % reported at the place (bar 60); of {} findings {:.1f} % at the place, of {} "
        "reported "
        "mistakes {:.1f} % (bar 70)\n",
        seed, all.counted, share(all.placed, all.counted), findings, share(findings_placed, findings), all.reported,
        share(all.placed, all.reported));
    return share(all.placed, all.counted) >= 60 && share(findings_placed, findings) >= 70 ? 0 : 1;
}
