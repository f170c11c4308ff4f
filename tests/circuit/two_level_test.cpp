// SPDX-License-Identifier: MIT
// Two-level periods against full shooting: direct volts within 0.05 %, rms and peak currents 0.3 %, ripple at every
// node 1 % or 2 mV, on random supplies of ten families with linear and tube loads, and on a five-tube set.
#include <catch2/catch.hpp>
#include <thread>

#include "networks.hpp"

using namespace networks;

namespace {

struct Random {
    Circuit c;
    int family = 0;
    std::vector<Element> watched;  ///< currents to compare, terminal 0
    Element transformer = -1;
};

/// What a rail feeds: sections of resistance and capacitance, bleeders, and tubes.
void load(Circuit& c, Dice& dice, Node rail, Node minus, double amps, bool tubes) {
    c.resistor(rail, minus, 300 / (0.5 * amps));
    Node last = rail;
    for (int k = 0, n = 1 + dice.below(3); k < n; ++k) {
        const Node next = c.node("section " + std::to_string(k));
        if (dice.below(3) == 0)
            c.inductor(last, next, dice.uniform(3, 15), dice.uniform(100, 500));
        else
            c.resistor(last, next, dice.decades(500, 30e3));
        c.capacitor(next, ground, dice.decades(1e-6, 40e-6), 1e-8);
        c.resistor(next, ground, dice.decades(20e3, 200e3));
        last = next;
        if (!tubes) continue;
        const Node plate = c.node("plate"), grid = c.node("grid"), cathode = c.node("cathode");
        c.resistor(last, plate, dice.decades(20e3, 250e3));
        const Node nodes[] = {plate, grid, cathode};
        c.device(triode_law, nodes, std::vector<double>{dice.decades(3e-4, 2e-3), dice.uniform(15, 80)});
        c.resistor(cathode, ground, dice.decades(500, 3000));
        if (dice.below(2) == 0) c.capacitor(cathode, ground, 10e-6);
        c.resistor(grid, ground, 470e3);
        const Node next_grid = c.node("next grid");
        c.capacitor(plate, next_grid, 0.01e-6);
        c.resistor(next_grid, ground, 470e3);
    }
    if (tubes) {
        const Node plate = c.node("output plate"), grid = c.node("output grid"), cathode = c.node("output cathode");
        c.inductor(rail, plate, 10, 350);
        const Node nodes[] = {plate, rail, grid, cathode};
        c.device(pentode_law, nodes, std::vector<double>{1.2e-3, 9});
        c.resistor(cathode, ground, 420);
        c.capacitor(cathode, ground, 25e-6);
        c.resistor(grid, ground, 470e3);
    }
}

Random supply(Dice& dice, int family, bool tubes) {
    Random s;
    s.family = family;
    Circuit& c = s.c;
    const Node line = c.node("line");
    c.voltage_source(line, ground, Waveform::cosine(117 * std::sqrt(2.0), 60));
    const Node primary = c.node("primary");
    s.watched.push_back(c.resistor(line, primary, 0.5));
    const double volts = dice.uniform(180, 400), ohms = dice.uniform(40, 300), k = dice.decades(1e-4, 9e-4);
    const double amps = dice.uniform(0.02, 0.09);
    const auto wind = [&](std::vector<Winding> windings) {
        windings.insert(windings.begin(), {primary, ground, 117, 4});
        s.transformer = c.transformer(std::move(windings), 4, 4000);
    };
    const auto valve = [&](Node a, Node b) { s.watched.push_back(rectifier(c, vacuum, a, b, {k})); };
    const auto cap = [&](Node a, Node b, double low, double high) {
        s.watched.push_back(c.capacitor(a, b, dice.decades(low, high)));
    };
    const Node a = c.node("a"), b = c.node("b"), reservoir = c.node("reservoir");
    switch (family) {
        case 0:    // full wave, capacitor input, choke
        case 1: {  // choke input
            wind({{a, ground, volts, ohms}, {ground, b, volts * dice.uniform(0.97, 1), ohms * 1.05}});
            valve(a, reservoir);
            valve(b, reservoir);
            if (family == 0) cap(reservoir, ground, 4e-6, 40e-6);
            if (family == 1) c.capacitor(reservoir, ground, 1e-9);
            const Node rail = c.node("rail");
            s.watched.push_back(c.inductor(reservoir, rail, dice.uniform(5, 20), dice.uniform(100, 800)));
            cap(rail, ground, 8e-6, 40e-6);
            load(c, dice, rail, ground, amps, tubes);
            break;
        }
        case 2:    // half wave, resistor filter
        case 3: {  // the same straight off the line
            if (family == 2) {
                wind({{a, ground, volts, ohms}});
            } else {
                c.resistor(line, a, dice.uniform(20, 100));
                wind({{b, ground, 6.3, 0.05}});
                c.resistor(b, ground, 4);
            }
            if (family == 2) c.resistor(b, ground, 1000);
            valve(a, reservoir);
            cap(reservoir, ground, 16e-6, 60e-6);
            const Node rail = c.node("rail");
            c.resistor(reservoir, rail, dice.uniform(500, 2000));
            cap(rail, ground, 16e-6, 60e-6);
            load(c, dice, rail, ground, 0.5 * amps, tubes);
            break;
        }
        case 4: {  // bridge
            wind({{a, b, volts, ohms}});
            valve(a, reservoir);
            valve(b, reservoir);
            valve(ground, a);
            valve(ground, b);
            cap(reservoir, ground, 8e-6, 40e-6);
            load(c, dice, reservoir, ground, amps, tubes);
            break;
        }
        case 5: {  // full-wave doubler
            wind({{a, b, 0.5 * volts, ohms}});
            valve(a, reservoir);
            valve(ground, a);
            cap(reservoir, b, 16e-6, 60e-6);
            cap(b, ground, 16e-6, 60e-6);
            load(c, dice, reservoir, ground, 0.5 * amps, tubes);
            break;
        }
        case 6: {  // half-wave doubler
            wind({{a, ground, 0.5 * volts, ohms}});
            cap(a, b, 16e-6, 60e-6);
            valve(ground, b);
            valve(b, reservoir);
            cap(reservoir, ground, 16e-6, 60e-6);
            const Node rail = c.node("rail");
            c.resistor(reservoir, rail, dice.uniform(500, 2000));
            cap(rail, ground, 16e-6, 60e-6);
            load(c, dice, rail, ground, 0.5 * amps, tubes);
            break;
        }
        case 7:    // back bias by a resistor
        case 8: {  // field coil in the negative lead
            const Node tap = c.node("centre tap");
            wind({{a, tap, volts, ohms}, {tap, b, volts, ohms * 1.1}});
            valve(a, reservoir);
            valve(b, reservoir);
            cap(reservoir, tap, 8e-6, 40e-6);
            Node rail = reservoir;
            if (family == 7) {
                c.resistor(tap, ground, dice.uniform(100, 400));
                rail = c.node("rail");
                c.inductor(reservoir, rail, dice.uniform(8, 20), dice.uniform(200, 600));
            } else {
                s.watched.push_back(c.inductor(tap, ground, dice.uniform(8, 20), dice.uniform(400, 1200)));
            }
            cap(rail, ground, 8e-6, 40e-6);
            const Node bias = c.node("bias");
            c.resistor(tap, bias, 100e3);
            c.capacitor(bias, ground, 0.5e-6);
            c.resistor(bias, ground, 470e3);
            load(c, dice, rail, ground, amps, tubes);
            break;
        }
        default: {  // two rails from one winding, one of them negative
            wind({{a, ground, volts, ohms}, {ground, b, volts, ohms}});
            valve(a, reservoir);
            valve(b, reservoir);
            cap(reservoir, ground, 8e-6, 40e-6);
            const Node negative = c.node("negative"), bias = c.node("bias");
            const Node tap = c.node("low tap");
            c.resistor(a, tap, 20e3);
            rectifier(c, vacuum, negative, tap, {1e-4});
            c.capacitor(negative, ground, 8e-6);
            c.resistor(negative, bias, 10e3);
            c.capacitor(bias, ground, 8e-6);
            c.resistor(bias, ground, 47e3);
            load(c, dice, reservoir, ground, amps, tubes);
            break;
        }
    }
    return s;
}

}  // namespace

TEST_CASE("two-level periods agree with full shooting on random supplies of ten families") {
    Dice dice(20260101);
    int two_level = 0, count = 0;
    double worst_direct = 0, worst_rms = 0, worst_peak = 0, worst_ripple = 0;
    for (int k = 0; k < 140; ++k) {
        Random s = supply(dice, k % 10, (k / 10) % 2 == 1);
        Engine engine(s.c);
        PeriodicOptions o;
        o.steps = 128;
        const Periodic fast = engine.periodic(o);
        o.two_level = false;
        const Periodic full = engine.periodic(o);
        INFO("supply " << k << " family " << s.family << " method " << word(fast.method) << " " << full.trouble.text);
        REQUIRE(full.solved);
        REQUIRE(fast.solved);
        ++count;
        two_level += fast.method == Method::two_level;
        double top = 0;
        for (const Course& v : full.volts) top = std::max(top, std::abs(v.mean));
        for (Node node = 1; node < s.c.nodes(); ++node) {
            const Course& a = fast.volts[static_cast<std::size_t>(node)];
            const Course& b = full.volts[static_cast<std::size_t>(node)];
            INFO(s.c.name(node) << " " << b.mean << " V");
            const double direct = std::abs(a.mean - b.mean);
            CHECK(direct <= 5e-4 * std::abs(b.mean) + 2e-3);
            if (std::abs(b.mean) > 10) worst_direct = std::max(worst_direct, direct / std::abs(b.mean));
            const double ripple = b.high - b.low, off = std::abs(a.high - a.low - ripple);
            CHECK(off <= std::max(0.01 * ripple, 2e-3));
            if (ripple > 0.2) worst_ripple = std::max(worst_ripple, off / ripple);
        }
        const auto compare = [&](Element e, int terminal) {
            const Course a = engine.current(fast, e, terminal), b = engine.current(full, e, terminal);
            INFO("element " << e << " terminal " << terminal);
            CHECK(a.rms == Approx(b.rms).epsilon(3e-3).margin(1e-7));
            CHECK(a.peak() == Approx(b.peak()).epsilon(3e-3).margin(1e-6));
            worst_rms = std::max(worst_rms, std::abs(a.rms / b.rms - 1));
            worst_peak = std::max(worst_peak, std::abs(a.peak() / b.peak() - 1));
        };
        for (const Element e : s.watched) compare(e, 0);
        compare(s.transformer, 0);
        compare(s.transformer, 1);
    }
    UNSCOPED_INFO("two-level " << two_level << " of " << count);
    CHECK(two_level >= 100);
    CHECK(worst_direct < 1e-4);
    CHECK(worst_rms < 3e-3);
    CHECK(worst_peak < 3e-3);
    CHECK(worst_ripple < 0.01);
}

TEST_CASE("two-level meets full shooting on a five-tube set, and full shooting goes on from it") {
    FiveTube set = five_tube();
    Engine engine(set.c);
    PeriodicOptions o;
    o.steps = 64;
    const Periodic fast = engine.periodic(o);
    REQUIRE(fast.solved);
    CHECK(fast.method == Method::two_level);
    CHECK(fast.block_nodes < set.c.nodes() / 2);
    PeriodicOptions on = o;
    on.two_level = false;
    on.warm = &fast;
    const Periodic full = engine.periodic(on);
    REQUIRE(full.solved);
    CHECK(full.method == Method::shooting);
    CHECK(full.rounds <= 5);  // short ones: the coarse steps' matrix serves
    for (Node node = 1; node < set.c.nodes(); ++node) {
        const Course& a = fast.volts[static_cast<std::size_t>(node)];
        const Course& b = full.volts[static_cast<std::size_t>(node)];
        INFO(set.c.name(node));
        CHECK(a.mean == Approx(b.mean).epsilon(5e-4).margin(1e-4));
        CHECK(a.high - a.low == Approx(b.high - b.low).epsilon(0.01).margin(2e-3));
    }
}

TEST_CASE("faults of the supply end where full shooting ends") {
    FiveTube set = five_tube();
    Engine engine(set.c);
    PeriodicOptions o;
    o.steps = 128;
    const Periodic normal = engine.periodic(o);
    REQUIRE(normal.solved);
    const std::vector<std::pair<const char*, Override>> faults = {
        {"reservoir open", {set.first, Slot::farads, 0, 1e-12}},
        {"reservoir shorted", {set.first, Slot::siemens, 0, 10}},
        {"reservoir leaky", {set.first, Slot::siemens, 0, 1e-4}},
        {"second open", {set.second, Slot::farads, 0, 1e-12}},
        {"second shorted", {set.second, Slot::siemens, 0, 10}},
        {"field open", {set.field, Slot::ohms, 0, 1e12}},
        {"half winding open", {set.transformer, Slot::winding_ohms, 1, 1e12}},
        {"line high", {set.source, Slot::amplitude, 0, 126 * std::sqrt(2.0)}},
        {"one plate dead", {set.diode_a, Slot::parameter, 0, 0}},
        {"output tube dead", {set.output, Slot::parameter, 0, 0}}};
    for (const auto& [name, fault] : faults) {
        const Override one[] = {fault};
        PeriodicOptions fast = o, slow = o;
        fast.warm = &normal;
        slow.two_level = false;
        const Periodic a = engine.periodic(fast, one);
        const Periodic b = engine.periodic(slow, one);
        INFO(name << " " << word(a.method) << " " << b.trouble.text);
        REQUIRE(b.solved);
        REQUIRE(a.solved);
        for (int w = 0; w < 3; ++w) {
            const Course x = engine.current(a, set.transformer, w, one), y = engine.current(b, set.transformer, w, one);
            CHECK(x.rms == Approx(y.rms).epsilon(3e-3).margin(1e-6));
            CHECK(x.peak() == Approx(y.peak()).epsilon(3e-3).margin(1e-6));
        }
        for (Node node = 1; node < set.c.nodes(); ++node) {
            const Course& x = a.volts[static_cast<std::size_t>(node)];
            const Course& y = b.volts[static_cast<std::size_t>(node)];
            INFO(set.c.name(node));
            CHECK(x.mean == Approx(y.mean).epsilon(5e-4).margin(5e-3));
            CHECK(x.high - x.low == Approx(y.high - y.low).epsilon(0.01).margin(2e-3));
        }
    }
}

TEST_CASE("a fault's period does not depend on what was solved before, nor on the thread") {
    FiveTube set = five_tube();
    Engine first(set.c);
    PeriodicOptions o;
    o.steps = 64;
    o.ripple = false;
    const Periodic normal = first.periodic(o);
    o.warm = &normal;
    const auto sweep = [&](Engine& engine, bool backward) {
        std::vector<std::vector<double>> found(set.capacitors.size());
        for (std::size_t k = 0; k < found.size(); ++k) {
            const std::size_t at = backward ? found.size() - 1 - k : k;
            const Override one[] = {{set.capacitors[at], Slot::siemens, 0, 1e-2}};
            found[at] = engine.periodic(o, one).state;
        }
        return found;
    };
    const auto forward = sweep(first, false);
    std::vector<std::vector<double>> other;
    std::thread thread([&] {
        Engine second(first);
        other = sweep(second, true);
    });
    thread.join();
    CHECK(forward == other);
}
