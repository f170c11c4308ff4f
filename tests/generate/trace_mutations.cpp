// SPDX-License-Identifier: MIT
// trace_mutations --seed N --count N [--missed N] [--solved] FILE...: mistakes planted in the files and in generated
// sets of every family, and how many of them the graph half of the audit reports, by kind. Ends with 1 under its
// bars: 60 % of the counted mistakes reported at the place, 70 % of what is reported at the place. With
// --solved both halves of the audit are asked, and counted are the mistakes that move a solved voltage by more than 5 %
// (and a tenth of a volt) or leave the set without a solution: of those 85 % are to be reported.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <exception>
#include <map>

#include <tubewright/netlist.hpp>
#include <tubewright/study.hpp>

#include "mutation.hpp"

using namespace tubewright;

namespace {

/// Whether some lead that both sets have stands at other volts. A set without a solution has no volts.
bool volts_moved(const Chassis& before, const Solution& was, const Chassis& after, const Outcome<VoltsView>& now) {
    if (!now) return true;
    for (const Part& part : before.parts()) {
        const int p = after.part(part.id);
        if (p < 0) continue;
        const Part& twin = after.parts()[static_cast<std::size_t>(p)];
        for (const Lead& lead : part.leads) {
            const auto there = std::find_if(twin.leads.begin(), twin.leads.end(),
                                            [&](const Lead& other) { return other.name == lead.name; });
            if (lead.net < 0 || there == twin.leads.end() || there->net < 0) continue;
            const NetVolts& a = was.nets[static_cast<std::size_t>(lead.net)];
            const NetVolts& b = now->solution().nets[static_cast<std::size_t>(there->net)];
            if (a.undetermined || b.undetermined) continue;
            const double volts = a.dc.value(), moved = std::fabs(b.dc.value() - volts);
            if (moved > 0.05 * std::fabs(volts) && moved > 0.1) return true;
        }
    }
    return false;
}

}  // namespace

int main(int count, char** words) {
    std::uint64_t seed = 1;
    int wanted = 2000, missed = 0;
    bool solved = false;
    std::vector<std::string> paths;
    for (int i = 1; i < count; ++i) {
        const std::string word = words[i];
        if (word == "--seed" && i + 1 < count)
            seed = std::strtoull(words[++i], nullptr, 10);
        else if (word == "--count" && i + 1 < count)
            wanted = std::atoi(words[++i]);
        else if (word == "--missed" && i + 1 < count)
            missed = std::atoi(words[++i]);
        else if (word == "--solved")
            solved = true;
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
        generate::Verdict verdict;
        if (!after) {
            // What the reader refuses is reported, at its place.
            verdict.reported = verdict.at_the_place = true;
            verdict.findings = verdict.findings_at_the_place = 1;
        } else if (solved) {
            const Study sound(*before, catalogue), slipped(*after, catalogue);
            const Outcome<VoltsView> was = sound.volts(Scenario::normal);
            if (!was || !volts_moved(*before, was->solution(), *after, slipped.volts(Scenario::normal))) continue;
            verdict = generate::judged({*before, sound.audit()}, {*after, slipped.audit()}, *mistake);
        } else {
            verdict = generate::judged({*before, audit_graph(*before, catalogue)},
                                       {*after, audit_graph(*after, catalogue)}, *mistake);
        }
        ++done;
        Tally& tally = by_slip[slip];
        ++tally.counted;
        ++all.counted;
        tally.reported += verdict.reported;
        tally.placed += verdict.at_the_place;
        all.reported += verdict.reported;
        all.placed += verdict.at_the_place;
        findings += verdict.findings;
        findings_placed += verdict.findings_at_the_place;
        if (!(solved ? verdict.reported : verdict.at_the_place) && missed-- > 0)
            fmt::print("missed: {}: {}: {}{}\n", set.name(), word(slip), mistake->what,
                       verdict.reported ? " (reported elsewhere)" : "");
    }
    const auto share = [](int part, int whole) { return whole > 0 ? 100.0 * part / whole : 0.0; };
    for (const auto& [slip, tally] : by_slip)
        fmt::print("{:<24} {:5} counted, {:5.1f} % reported, {:5.1f} % at the place\n", word(slip), tally.counted,
                   share(tally.reported, tally.counted), share(tally.placed, tally.counted));
    if (solved) {
        fmt::print("seed {}: {} counted that move the volts, {:.1f} % reported (bar 85), {:.1f} % at the place\n", seed,
                   all.counted, share(all.reported, all.counted), share(all.placed, all.counted));
        return share(all.reported, all.counted) >= 85 ? 0 : 1;
    }
    fmt::print(
        "seed {}: {} counted, {:.1f} % reported at the place (bar 60); of {} findings {:.1f} % at the place, of {} "
        "reported "
        "mistakes {:.1f} % (bar 70)\n",
        seed, all.counted, share(all.placed, all.counted), findings, share(findings_placed, findings), all.reported,
        share(all.placed, all.reported));
    return share(all.placed, all.counted) >= 60 && share(findings_placed, findings) >= 70 ? 0 : 1;
}
