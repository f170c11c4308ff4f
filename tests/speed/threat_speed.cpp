// SPDX-License-Identifier: MIT
// How long the study of faults takes: every fault of the first demo set, every two of them, and a set of a thousand
// parts, by the solver alone and with readings, heat and chains. With TUBEWRIGHT_FAULT_SCRIPT naming
// tests/oracle/faults.py and TUBEWRIGHT_PROGRAM the program, the reference engine's time for some of the same faults
// stands beside it in the same run. Never a timed test; the bars stand in DEVELOPERS.md.
#include <benchmark/benchmark.h>

#include <cstdlib>
#include <random>
#include <string>

#include <tubewright/netlist.hpp>

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
BENCHMARK_CAPTURE(every_fault, s10, "s10-generated-sixty")->Unit(benchmark::kMillisecond);

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

void reference_engine(benchmark::State& state) {
    const char *script = std::getenv("TUBEWRIGHT_FAULT_SCRIPT"), *program = std::getenv("TUBEWRIGHT_PROGRAM");
    if (script == nullptr || program == nullptr) return state.SkipWithError("no reference engine named");
    const std::string command = std::string("python3 -B ") + script + " --program " + program + " --share 8 " +
                                TUBEWRIGHT_ROOT "/netlists/s1-quarry-hill.xml > /dev/null";
    for (auto _ : state)
        if (std::system(command.c_str()) != 0) state.SkipWithError("the reference engine differs");
    state.counters["faults"] = 8;
}
BENCHMARK(reference_engine)->Unit(benchmark::kMillisecond)->Iterations(1);

}  // namespace

BENCHMARK_MAIN();
