// SPDX-License-Identifier: MIT
// How long the study of faults takes: every fault of the first demo set, every two of them, by the solver alone and
// with readings, heat and chains; how it grows to a thousand parts. With TUBEWRIGHT_FAULT_SCRIPT naming
// tests/oracle/faults.py and TUBEWRIGHT_PROGRAM the program, the reference engine's time for some of the faults,
// and ours for the same ones, stand beside each other in the same run. Never a timed test; the bars stand in
// DEVELOPERS.md.
#include <benchmark/benchmark.h>

#include <cstdio>
#include <cstdlib>
#include <random>
#include <string>

#include <tubewright/netlist.hpp>

#include "../generate/generator.hpp"
#include "threat/threat.hpp"

using namespace tubewright;

namespace {

const Catalogue& shipped() {
    static const Catalogue c = Catalogue::shipped();
    return c;
}
const Chassis& set_of(const std::string& name) {
    static std::map<std::string, Chassis> read;
    const auto found = read.find(name);
    if (found != read.end()) return found->second;
    const Outcome<Chassis> set = read_chassis(TUBEWRIGHT_ROOT "/netlists/" + name + ".xml", shipped());
    if (!set) throw Error("cannot read " + name);
    return read.emplace(name, *set).first->second;
}

void every_fault(benchmark::State& state, const char* name) {
    const Chassis& set = set_of(name);
    const std::vector<Fault> faults = faults_of(set, shipped());
    Outcome<Bench> bench = Bench::make(set, shipped(), {}, faults);
    if (!bench) return state.SkipWithError("no bench");
    for (auto _ : state) benchmark::DoNotOptimize(bench->sweep({}, faults, 1));
    state.counters["faults"] = static_cast<double>(faults.size());
}
BENCHMARK_CAPTURE(every_fault, s1, "s1-quarry-hill")->Unit(benchmark::kMillisecond);

/// Those that leave the rectifier block alone: what the curve of the supply is for.
void faults_on_the_curve(benchmark::State& state) {
    const Chassis& set = set_of("s1-quarry-hill");
    const std::vector<Fault> all = faults_of(set, shipped());
    Outcome<Bench> bench = Bench::make(set, shipped(), {}, all);
    if (!bench) return state.SkipWithError("no bench");
    std::vector<Fault> faults;
    const std::vector<FaultSolution> found = bench->sweep({}, all, 1);
    for (std::size_t k = 0; k < all.size(); ++k)
        if (found[k].solved && !found[k].reshot) faults.push_back(all[k]);
    for (auto _ : state) benchmark::DoNotOptimize(bench->sweep({}, faults, 1));
    state.counters["faults"] = static_cast<double>(faults.size());
}
BENCHMARK(faults_on_the_curve)->Unit(benchmark::kMillisecond);

void every_two_faults(benchmark::State& state) {
    const Chassis& set = set_of("s1-quarry-hill");
    const std::vector<Fault> all = faults_of(set, shipped());
    const std::vector<Fault> faults(all.begin(), all.begin() + 145);
    Outcome<Bench> bench = Bench::make(set, shipped(), {}, faults);
    if (!bench) return state.SkipWithError("no bench");
    std::vector<std::pair<int, int>> pairs;
    for (int i = 0; i < 145; ++i)
        for (int j = i + 1; j < 145; ++j) pairs.emplace_back(i, j);
    benchmark::DoNotOptimize(bench->sweep_pairs({}, faults, {}));
    for (auto _ : state) benchmark::DoNotOptimize(bench->sweep_pairs({}, faults, pairs));
    state.counters["pairs"] = static_cast<double>(pairs.size());
}
BENCHMARK(every_two_faults)->Unit(benchmark::kMillisecond);

void whole_study(benchmark::State& state) {
    const Chassis& set = set_of("s1-quarry-hill");
    const std::vector<Fault> faults = faults_of(set, shipped());
    Outcome<Bench> bench = Bench::make(set, shipped(), {}, faults);
    if (!bench) return state.SkipWithError("no bench");
    std::vector<Solution> normal{*bench->solve({})};
    const std::vector<PartStress> stress = stress_of(set, shipped(), {}, normal);
    for (auto _ : state) benchmark::DoNotOptimize(threats_of(set, shipped(), {}, *bench, stress));
}
BENCHMARK(whole_study)->Unit(benchmark::kMillisecond);

/// The same faults by the reference engine and here: drawn and run by tests/oracle/faults.py, which names them and says
/// how long the engine alone took.
struct Reference {
    std::vector<Fault> faults;
    double seconds = 0;
};
const Reference& reference() {
    static const Reference made = [] {
        Reference out;
        const char *script = std::getenv("TUBEWRIGHT_FAULT_SCRIPT"), *program = std::getenv("TUBEWRIGHT_PROGRAM");
        if (script == nullptr || program == nullptr) return out;
        const std::string command = std::string("python3 -B ") + script + " --program " + program + " --share 8 " +
                                    TUBEWRIGHT_ROOT "/netlists/s1-quarry-hill.xml";
        std::FILE* from = popen(command.c_str(), "r");
        if (from == nullptr) return out;
        const std::vector<Fault> all = faults_of(set_of("s1-quarry-hill"), shipped());
        char buffer[512];
        while (std::fgets(buffer, sizeof buffer, from) != nullptr) {
            const std::string line = buffer;
            if (line.rfind("the engine alone: ", 0) == 0) out.seconds = std::strtod(buffer + 18, nullptr);
            if (line.rfind("  ok ", 0) != 0) continue;
            const std::size_t begins = line.find(": ") + 2;
            const std::string id =
                line.substr(begins, line.find(" (re-shot)") != std::string::npos ? line.find(" (re-shot)") - begins
                                                                                 : line.find(" (curve)") - begins);
            for (const Fault& f : all)
                if (f.id == id) out.faults.push_back(f);
        }
        pclose(from);
        return out;
    }();
    return made;
}

void some_faults_by_the_reference_engine(benchmark::State& state) {
    const Reference& there = reference();
    if (there.faults.empty()) return state.SkipWithError("no reference engine named, or it differs");
    for (auto _ : state) state.SetIterationTime(there.seconds);
    state.counters["faults"] = static_cast<double>(there.faults.size());
}
BENCHMARK(some_faults_by_the_reference_engine)->Unit(benchmark::kMillisecond)->Iterations(1)->UseManualTime();

void the_same_faults_here(benchmark::State& state) {
    const std::vector<Fault>& faults = reference().faults;
    if (faults.empty()) return state.SkipWithError("no reference engine named, or it differs");
    Outcome<Bench> bench = Bench::make(set_of("s1-quarry-hill"), shipped(), {}, faults);
    if (!bench) return state.SkipWithError("no bench");
    for (auto _ : state) benchmark::DoNotOptimize(bench->sweep({}, faults, 1));
    state.counters["faults"] = static_cast<double>(faults.size());
}
BENCHMARK(the_same_faults_here)->Unit(benchmark::kMillisecond);

/// How the cost of a fault grows with the set, to a thousand parts: every sixteenth fault of generated sets, health
/// and the curve solved before.
void a_sixteenth_of_all_faults(benchmark::State& state) {
    generate::Wanted wanted;
    wanted.tubes = static_cast<int>(state.range(0));
    const Outcome<Chassis> set =
        read_chassis_text(generate::chassis_text(shipped(), wanted), "generated.xml", shipped());
    if (!set) return state.SkipWithError("not read");
    const std::vector<Fault> all = faults_of(*set, shipped());
    std::vector<Fault> faults;
    for (std::size_t k = 0; k < all.size(); k += 16) faults.push_back(all[k]);
    Outcome<Bench> bench = Bench::make(*set, shipped(), {}, faults);
    if (!bench) return state.SkipWithError("no bench");
    benchmark::DoNotOptimize(bench->sweep({}, std::span(faults).first(1), 1));
    for (auto _ : state) benchmark::DoNotOptimize(bench->sweep({}, faults, 1));
    state.counters["parts"] = static_cast<double>(set->parts().size());
    state.counters["faults"] = static_cast<double>(faults.size());
    state.counters["of"] = static_cast<double>(all.size());
}
BENCHMARK(a_sixteenth_of_all_faults)->Unit(benchmark::kMillisecond)->Arg(12)->Arg(60)->Arg(102)->Iterations(1);

}  // namespace

BENCHMARK_MAIN();
