// SPDX-License-Identifier: MIT
// Every demo set, as the bench translates it, against the slow twin: a long transient with another integrator, from
// empty capacitors or from half as much again as they hold, until it repeats. Bars: direct volts 0.05 % (or 2 mV), rms
// and peak currents of windings and rectifier plates 0.3 % (or 1 uA), ripple 1 % or 2 mV; two-level and full shooting
// both. The ohms of heaters and lamps, and the emission that follows them, are those of the solution.
//
// What is wider, and why: where a vibrator's contact makes, the charge of the buffer passes in microseconds, and its
// peak is a matter of the step (5 %). Nobody reads pulses of less than 100 uA.
#include "slow_twin.hpp"

#include <catch2/catch.hpp>

#include <memory>
#include <string>
#include <vector>

#include "bench/bench.hpp"
#include "bench/dry.hpp"
#include "bench/solving.hpp"
#include "sets.hpp"

using namespace sets;

namespace {

constexpr double direct_share = 5e-4, direct_volts = 2e-3, current_share = 3e-3, least_amps = 1e-6, ripple_share = 0.01,
                 ripple_volts = 2e-3;
constexpr double leap_share = 0.05, idle_amps = 1e-4;
constexpr int bench_steps = 128, leap_steps = 160;

/// A set in a condition, translated and solved by the library in both ways.
struct Answers {
    std::shared_ptr<const bench::Translation> in;
    bench::Rig rig;
    bench::Solved two_level, whole;
};

Answers solved(const std::string& file, const std::string& condition, int steps) {
    const Chassis set = read(text_of(std::string(TUBEWRIGHT_ROOT "/netlists/") + file + ".xml"));
    const Policy policy;
    const auto models = bench::tube_models(set, shipped());
    REQUIRE(models);
    auto made = bench::translate(set, shipped(), policy, *models, {}, {}, bench::feed_hertz(set, policy));
    REQUIRE(made);
    Answers out;
    out.in = std::make_shared<const bench::Translation>(std::move(*made));
    out.rig.translation = out.in;
    out.rig.full = std::make_unique<circuit::Engine>(out.in->full);
    out.rig.twin = std::make_unique<circuit::Engine>(out.in->twin);
    out.rig.full->tie_islands(true);
    out.rig.twin->tie_islands(true);
    if (out.in->chopped) steps = leap_steps;
    bench::Setting setting = bench::setting_of(*out.in, set, policy, *Condition::parse(condition));
    out.two_level = bench::shoot(out.rig, setting, {}, steps, true, nullptr);
    REQUIRE(out.two_level.ok);
    setting.whole = true;
    out.whole = bench::shoot(out.rig, setting, {}, steps, true, &out.two_level);
    REQUIRE(out.whole.ok);
    REQUIRE(out.whole.wave.method == circuit::Method::shooting);
    return out;
}

/// The worst of one kind of figure, in shares of its bar.
struct Worst {
    double share = 0;
    std::string at;
    void note(double share_here, const std::string& here) {
        CHECK(share_here <= 1);
        if (share_here > share) share = share_here, at = here;
    }
};

class Comparison {
  public:
    Comparison(const Answers& set, const bench::Solved& ours, const slow::Record& twin)
        : set_(set), ours_(ours), twin_(twin), data_(set.in->full.data()) {}

    void nets(const std::vector<circuit::Node>& left_out) {
        std::vector<char> lost(data_.names.size(), 0);
        for (const circuit::Node at : ours_.wave.undetermined) lost[static_cast<std::size_t>(at)] = 1;
        for (const circuit::Node at : left_out) lost[static_cast<std::size_t>(at)] = 1;
        int count = 0;
        for (circuit::Node at = 1; at < set_.in->full.nodes(); ++at) {
            if (lost[static_cast<std::size_t>(at)] != 0) continue;
            const circuit::Course& a = ours_.wave.volts[static_cast<std::size_t>(at)];
            const slow::Figures& b = twin_.volts(at);
            const std::string& name = set_.in->full.name(at);
            const double moves = b.high - b.low;
            INFO(name << ": " << a.mean << " V, the twin " << b.mean << " V; peak to peak " << a.high - a.low << ", "
                      << moves);
            // the mean of a net of alternating volts is measured by its crest
            direct.note(
                std::abs(a.mean - b.mean) / (direct_share * std::max(std::abs(b.mean), b.peak()) + direct_volts), name);
            ripple.note(std::abs(a.high - a.low - moves) / std::max(ripple_share * moves, ripple_volts), name);
            ++count;
        }
        CHECK(count > 20);
    }

    void currents() {
        int count = 0;
        for (const bench::Item& item : set_.in->items) {
            if (item.full < 0) continue;
            const circuit::Part& part = data_.parts[static_cast<std::size_t>(item.full)];
            const auto one = [&](int terminal, const slow::Figures& b) {
                const circuit::Course a = set_.rig.full->current(ours_.wave, item.full, terminal, ours_.overrides);
                const std::string name = item.id + "." + std::to_string(terminal);
                INFO(name << ": rms " << a.rms << " A, the twin " << b.rms() << " A; peak " << a.peak() << ", "
                          << b.peak());
                ++count;
                if (b.peak() < idle_amps) {
                    CHECK(a.peak() < 2 * idle_amps);
                    return;
                }
                const double of_peak = set_.in->chopped ? leap_share : current_share;
                rms.note(std::abs(a.rms - b.rms()) / (current_share * b.rms() + least_amps), name);
                peak.note(std::abs(a.peak() - b.peak()) / (of_peak * b.peak() + least_amps), name);
            };
            if (part.kind == circuit::Kind::transformer)
                for (int w = 0; w < static_cast<int>(part.turns.size()); ++w)
                    one(w, twin_.unknowns[static_cast<std::size_t>(data_.branch_unknown(part.branch + w))]);
            if (part.rectifies)
                for (std::size_t t = 0; t + 1 < part.nodes.size(); ++t)
                    one(static_cast<int>(t), twin_.devices[static_cast<std::size_t>(item.full)][t]);
        }
        CHECK(count > 0);
    }

    std::string figures() const {
        const auto one = [](const char* what, const Worst& worst) {
            return std::string(what) + " " + std::to_string(worst.share).substr(0, 4) + " (" + worst.at + ")  ";
        };
        return one("direct", direct) + one("ripple", ripple) + one("rms", rms) + one("peak", peak);
    }

    Worst direct, ripple, rms, peak;

  private:
    const Answers& set_;
    const bench::Solved& ours_;
    const slow::Record& twin_;
    const circuit::Circuit::Data& data_;
};

/// From a share of the solved charges to cycles that repeat; then both of the library's answers against them.
/// `creeping` names the one net, if any, that takes minutes: a grid on nothing but the leak of its socket.
void hold(const std::string& file, const std::string& condition, double share, int steps = bench_steps) {
    const Answers set = solved(file, condition, steps);
    std::vector<circuit::Node> creeping;
    if (file == "s5-mill-lane")
        for (circuit::Node at = 1; at < set.in->full.nodes(); ++at)
            if (set.in->full.name(at) == "V5.3") creeping.push_back(at);
    const int grid = set.in->chopped ? 80 : 64;
    slow::SlowTwin twin(set.in->full, set.whole.overrides, set.whole.hertz);
    twin.start(share, set.whole.wave.state);
    INFO(file << " " << condition << " from " << share << " of its charges");
    CHECK(twin.settle(2 * grid, 1200, 1e-5, creeping));
    CHECK(twin.settle(8 * grid, 300, 1e-5, creeping));
    const slow::Record seen = twin.record(16 * grid);
    for (const bench::Solved* ours : {&set.two_level, &set.whole}) {
        INFO(circuit::word(ours->wave.method));
        Comparison comparison(set, *ours, seen);
        comparison.nets(creeping);
        comparison.currents();
        WARN(file << " " << condition << " " << share << " " << circuit::word(ours->wave.method)
                  << ", shares of the bars: " << comparison.figures());
    }
}

constexpr const char* all_sets[] = {"s1-quarry-hill",  "s2-heron-weir", "s3-tanner-row",
                                    "s4-ferry-green",  "s5-mill-lane",  "s6-osier-holt",
                                    "s7-plover-heath", "s8-drover-gap", "s9-bellows-court"};

}  // namespace

TEST_CASE("a transformer set, a doubler and an amplifier run from empty capacitors to what the bench says") {
    for (const char* set : {"s1-quarry-hill", "s4-ferry-green", "s9-bellows-court"}) hold(set, "normal", 0);
}

TEST_CASE("a string set, a portable and a battery set run from too full capacitors to what the bench says") {
    for (const char* set : {"s3-tanner-row", "s6-osier-holt", "s7-plover-heath"}) hold(set, "normal", 1.5);
}

TEST_CASE("a vibrator set runs from empty capacitors to what the bench says") {
    hold("s8-drover-gap", "normal", 0);
}

TEST_CASE("all nine sets run from empty and from too full capacitors to what the bench says", "[long]") {
    for (const char* set : all_sets)
        for (const double share : {0.0, 1.5}) hold(set, "normal", share);
}

TEST_CASE("while the tubes are cold the B-plus of six sets runs up to what the bench says", "[long]") {
    for (const char* set :
         {"s1-quarry-hill", "s2-heron-weir", "s3-tanner-row", "s4-ferry-green", "s7-plover-heath", "s9-bellows-court"})
        hold(set, "warm-up", 0);
}

TEST_CASE("all nine sets run to what the bench says at the upper line", "[long]") {
    for (const char* set : all_sets) hold(set, "high-line", 0);
}

TEST_CASE("with 256 steps too, two-level has the hum of the signal windings", "[long]") {
    for (const char* set : {"s1-quarry-hill", "s2-heron-weir", "s4-ferry-green", "s6-osier-holt"})
        hold(set, "normal", 0, 2 * bench_steps);
}
