// SPDX-License-Identifier: MIT
// How long the circuit module takes on a five-tube set: operating points, faults, periods two-level and by full
// shooting. Never a timed test; the bars stand in DEVELOPERS.md.
#include <benchmark/benchmark.h>

#include "../circuit/networks.hpp"

using namespace networks;

namespace {

PeriodicOptions steps(int n, bool two_level) {
    PeriodicOptions o;
    o.steps = n;
    o.two_level = two_level;
    return o;
}

void count(benchmark::State& state, const Periodic& p) {
    if (!p.solved) state.SkipWithError("not solved");
    state.counters["rounds"] = p.rounds;
}

void two_level_period(benchmark::State& state) {
    const FiveTube set = five_tube();
    Engine engine(set.c);
    const PeriodicOptions o = steps(static_cast<int>(state.range(0)), true);
    Periodic p = engine.periodic(o);
    for (auto _ : state) p = engine.periodic(o);
    count(state, p);
}
BENCHMARK(two_level_period)->Arg(32)->Arg(64)->Arg(128)->Unit(benchmark::kMicrosecond);

void full_shooting_from_two_level(benchmark::State& state) {
    const FiveTube set = five_tube();
    Engine engine(set.c);
    const Periodic fast = engine.periodic(steps(64, true));
    PeriodicOptions o = steps(64, false);
    o.warm = &fast;
    Periodic p;
    for (auto _ : state) p = engine.periodic(o);
    count(state, p);
}
BENCHMARK(full_shooting_from_two_level)->Unit(benchmark::kMicrosecond);

void full_shooting_from_nothing(benchmark::State& state) {
    const FiveTube set = five_tube();
    Engine engine(set.c);
    Periodic p;
    for (auto _ : state) p = engine.periodic(steps(64, false));
    count(state, p);
}
BENCHMARK(full_shooting_from_nothing)->Unit(benchmark::kMicrosecond);

void supply_fault_from_a_warm_start(benchmark::State& state) {
    const FiveTube set = five_tube();
    Engine engine(set.c);
    const Periodic normal = engine.periodic(steps(64, true));
    PeriodicOptions o = steps(64, true);
    o.warm = &normal;
    o.ripple = false;
    const Override leak[] = {{set.second, Slot::siemens, 0, 1e-4}};
    Periodic p;
    for (auto _ : state) p = engine.periodic(o, leak);
    count(state, p);
}
BENCHMARK(supply_fault_from_a_warm_start)->Unit(benchmark::kMicrosecond);

void direct_fault_from_a_warm_start(benchmark::State& state) {
    FiveTube set = five_tube();
    set.c.voltage_source(set.c.node("battery"), ground, Waveform::constant(320));
    set.c.resistor(static_cast<Node>(set.c.nodes() - 1), set.reservoir, 50);
    Engine engine(set.c);
    const Operating normal = engine.operating();
    std::size_t k = 0;
    for (auto _ : state) {
        const Override one[] = {{set.resistors[k], Slot::ohms, 0, 1.0}};
        const Operating op = engine.operating(one, &normal);
        if (!op.solved) state.SkipWithError("not solved");
        k = (k + 1) % set.resistors.size();
    }
}
BENCHMARK(direct_fault_from_a_warm_start)->Unit(benchmark::kMicrosecond);

}  // namespace

BENCHMARK_MAIN();
