// SPDX-License-Identifier: MIT
#include "tubes/laws.hpp"

#include <algorithm>
#include <cmath>
#include <random>
#include <string>
#include <vector>

#include <tubewright/tubes.hpp>

#include <catch2/catch.hpp>

#include "tubes/parameters.hpp"

using namespace tubewright;
using tubes::law;
using tubes::NamedLaw;

namespace {

/// One section of each law, with constants as they are derived.
std::vector<SectionModel> samples() {
    const Catalogue catalogue = Catalogue::shipped();
    std::vector<SectionModel> out;
    for (const char* name :
         {"80", "83", "75", "45", "12AX7", "42", "78", "50L6", "1T4", "24A", "6A7", "6SA7", "6E5", "6H6"}) {
        const auto model = tube_model(*catalogue.tube(name), catalogue);
        REQUIRE(model);
        for (const SectionModel& s : model->sections) out.push_back(s);
    }
    return out;
}

struct Values {
    std::vector<double> i, g;
};
Values at(const SectionModel& s, const std::vector<double>& v) {
    const NamedLaw named = law(s.law);
    REQUIRE(named.function != nullptr);
    const std::size_t n = v.size();
    Values out{std::vector<double>(n), std::vector<double>(n * n)};
    named.function(s.parameters.data(), v.data(), out.i.data(), out.g.data());
    return out;
}

/// Volts that a terminal may meet, by its place: plates and screens far out, grids less far.
double drawn(const std::string& electrode, std::mt19937& random) {
    const bool grid = electrode == "g1" || electrode == "g4" || electrode == "g1t" || electrode == "g2t";
    std::uniform_real_distribution<double> wide(-100, 1000), narrow(-60, 50), close(-3, 3);
    if (random() % 4 == 0) return close(random);
    return grid ? narrow(random) : wide(random);
}

}  // namespace

TEST_CASE("Every law has as many terminals as its sections name electrodes, pins and constants") {
    for (const SectionModel& s : samples()) {
        INFO(s.law);
        CHECK(law(s.law).terminals == static_cast<int>(s.electrodes.size()));
        CHECK(s.pins.size() == s.electrodes.size());
        CHECK(s.parameters.size() == s.parameter_names.size());
        CHECK(s.parameter_names.front() == "emission");
    }
    CHECK(law("nothing").function == nullptr);
    CHECK(law("nothing").terminals == 0);
}

TEST_CASE("Analytic derivatives agree with central differences over a wide range of volts") {
    std::mt19937 random(20260601);
    for (const SectionModel& s : samples()) {
        INFO(s.section << ' ' << s.law);
        const std::size_t n = s.electrodes.size() - 1;
        for (int trial = 0; trial < 400; ++trial) {
            std::vector<double> v(n);
            for (std::size_t k = 0; k < n; ++k) v[k] = drawn(s.electrodes[k], random);
            const Values here = at(s, v);
            for (std::size_t j = 0; j < n; ++j) {
                const double step = 1e-4;
                std::vector<double> up = v, down = v;
                up[j] += step;
                down[j] -= step;
                // The 3/2 law of a diode has no second derivative at 0 V.
                if (s.law == "vacuum-diode" && std::abs(v[j]) < 2 * step) continue;
                const Values above = at(s, up), below = at(s, down);
                for (std::size_t k = 0; k < n; ++k) {
                    const double difference = (above.i[k] - below.i[k]) / (2 * step);
                    const double given = here.g[k * n + j];
                    INFO("d i" << k << " / d v" << j << " at " << v[0] << ' ' << (n > 1 ? v[1] : 0) << ' '
                               << (n > 2 ? v[2] : 0));
                    CHECK(std::abs(given - difference) <=
                          1e-11 + 2e-5 * std::abs(given) + 1e-9 * std::abs(here.i[k]) / step);
                }
            }
        }
    }
}

TEST_CASE("A vacuum diode with a limit follows 3/2 well below it, never passes it, and its slope is its derivative") {
    const NamedLaw diode = law("vacuum-diode");
    const double perveance = 3e-4, limit = 0.4;
    const std::vector<double> p{1, perveance, limit}, none{1, perveance, 0};
    for (const double v : {1.0, 10.0, 40.0, 90.0, 120.0, 200.0, 1000.0, 1e5}) {
        double i = 0, g = 0, up = 0, down = 0, unused = 0, space = 0;
        diode.function(p.data(), &v, &i, &g);
        diode.function(none.data(), &v, &space, &unused);
        INFO(v << " V");
        const double q = perveance * v * std::sqrt(v) / limit;
        CHECK(i - 1e-9 * v == Approx(limit * q / std::pow(1 + q * q * q * q, 0.25)).epsilon(1e-12));
        CHECK(i <= limit + 1e-9 * v);
        if (q < 0.2) CHECK(i == Approx(space).epsilon(5e-4));
        const double step = 1e-4 * v, higher = v + step, lower = v - step;
        diode.function(p.data(), &higher, &up, &unused);
        diode.function(p.data(), &lower, &down, &unused);
        CHECK(g == Approx((up - down) / (2 * step)).epsilon(1e-5).margin(1e-12));
    }
}

TEST_CASE("Currents stay finite far outside, and no more plate volts never mean less plate current") {
    std::mt19937 random(7);
    for (const SectionModel& s : samples()) {
        INFO(s.section << ' ' << s.law);
        const std::size_t n = s.electrodes.size() - 1;
        std::uniform_real_distribution<double> extreme(-1e5, 1e5);
        for (int trial = 0; trial < 400; ++trial) {
            std::vector<double> v(n);
            for (std::size_t k = 0; k < n; ++k)
                v[k] = trial % 2 == 0 ? extreme(random) : drawn(s.electrodes[k], random);
            const Values here = at(s, v);
            for (double x : here.i) CHECK(std::isfinite(x));
            for (double x : here.g) CHECK(std::isfinite(x));
            CHECK(here.g[0] >= 0);
        }
    }
}

TEST_CASE("Electrodes at positive volts take current, never give it") {
    std::mt19937 random(11);
    std::uniform_real_distribution<double> positive(0, 500), grid(-40, 20);
    for (const SectionModel& s : samples()) {
        if (s.law == "converter" || s.law == "pentagrid") continue;
        INFO(s.section << ' ' << s.law);
        const std::size_t n = s.electrodes.size() - 1;
        for (int trial = 0; trial < 300; ++trial) {
            std::vector<double> v(n);
            for (std::size_t k = 0; k < n; ++k) v[k] = positive(random);
            if (s.law == "triode" || s.law == "pentode") v[n - 1] = grid(random);
            const Values here = at(s, v);
            for (std::size_t k = 0; k < n; ++k)
                if (v[k] >= 0) CHECK(here.i[k] >= 0);
        }
    }
}

TEST_CASE("A plate below its cathode takes next to nothing, even beside a positive grid") {
    for (const SectionModel& s : samples()) {
        if (s.law != "triode" && s.law != "pentode") continue;
        INFO(s.section);
        std::vector<double> v(s.electrodes.size() - 1, 100.0);
        v[0] = -20;
        v.back() = 20;
        CHECK(std::abs(at(s, v).i[0]) < 1e-6);
    }
}

TEST_CASE("A cold tube passes leakage only") {
    for (SectionModel s : samples()) {
        INFO(s.section << ' ' << s.law);
        s.parameters[0] = 0;
        const std::vector<double> v(s.electrodes.size() - 1, 250.0);
        for (double x : at(s, v).i) CHECK(std::abs(x) < 1e-6);
    }
}

TEST_CASE("An anode grid carries all while its oscillator works, and is cut off by an oscillator grid far below") {
    const Catalogue catalogue = Catalogue::shipped();
    const auto model = tube_model(*catalogue.tube("6A7"), catalogue);
    REQUIRE(model);
    const auto known = std::find_if(model->sections.begin(), model->sections.end(),
                                    [](const SectionModel& s) { return s.law == "converter"; });
    REQUIRE(known != model->sections.end());
    const double swing = known->parameters[tubes::converter::swing];
    const auto anode = [&](double oscillator) { return at(*known, {250, 100, 170, oscillator, -3}).i[2]; };
    // as listed, biased by its own crests, and stopped at 0 V
    CHECK(anode(-swing * 170 / 1.1) == Approx(4e-3).epsilon(0.1));
    CHECK(anode(0) == anode(-swing * 170 / 1.1));
    // crests short of 0 V by more than a tenth of the anode's volts: nothing but the leak
    CHECK(anode(-swing * 170 - 19) == Approx(1e-10 * 170));
    CHECK(anode(-swing * 170 - 9) == Approx(0.5 * anode(0)).epsilon(0.01));
}

TEST_CASE("An outer signal grid turns to the screen what it keeps from the plate; an inner one holds back both") {
    const Catalogue catalogue = Catalogue::shipped();
    const auto currents = [&](const char* type, double signal) {
        const auto model = tube_model(*catalogue.tube(type), catalogue);
        REQUIRE(model);
        const SectionModel& s = model->sections.front();
        // oscillator grid and, where there is one, its anode where they work
        const Values v = s.law == "converter" ? at(s, {250, 100, 170, -15, signal}) : at(s, {250, 100, -12, signal});
        return std::pair(v.i[0], v.i[1]);
    };
    // a 14Q7 is a 12SA7 on another base: its row at -2 V and that one's at 0 are alike (recalled)
    for (const char* type : {"12SA7", "14Q7", "12BE6", "6A7", "6A8", "6K8"}) {
        INFO(type);
        const auto [plate, screen] = currents(type, -3);
        const auto [less, more] = currents(type, -6);
        const auto [least, most] = currents(type, -60);
        CHECK(less < plate);
        CHECK(more > screen);
        CHECK(least < 0.1 * plate);
        CHECK(most > more);
        // together they move by less than the plate alone
        CHECK(std::fabs(less + more - plate - screen) < 0.6 * (plate - less));
    }
    CHECK(currents("6L7", -6).second < currents("6L7", -3).second);
}

TEST_CASE("A rectifier of the 3/2 law has no kink at 0 V and no reverse current but its shunt") {
    const Catalogue catalogue = Catalogue::shipped();
    const SectionModel s = tube_model(*catalogue.tube("80"), catalogue)->sections.front();
    CHECK(at(s, {0.0}).i[0] == 0);
    CHECK(at(s, {-500.0}).i[0] == Approx(-500e-9));
    CHECK(at(s, {1e-8}).g[0] == Approx(at(s, {-1e-8}).g[0]).margin(1e-6));
    CHECK(at(s, {60.0}).i[0] == Approx(0.125).epsilon(1e-3));
    // Child and Langmuir: four times the volts, eight times the current.
    CHECK(at(s, {40.0}).i[0] / at(s, {10.0}).i[0] == Approx(8).epsilon(1e-4));
}

TEST_CASE("A gas rectifier holds its drop within a few volts over its whole range") {
    const Catalogue catalogue = Catalogue::shipped();
    const SectionModel s = tube_model(*catalogue.tube("83"), catalogue)->sections.front();
    CHECK(at(s, {10.0}).i[0] < 1e-4);
    CHECK(at(s, {15.5}).i[0] > 0.1);
    CHECK(at(s, {19.0}).i[0] == Approx(1.0).epsilon(0.05));
}

TEST_CASE("Grid current follows the assumed exponential below the contact potential and stays sane above") {
    const Catalogue catalogue = Catalogue::shipped();
    struct Case {
        const char* type;
        double contact;
    };
    for (const Case& c : {Case{"12AX7", -0.5}, Case{"75", -0.5}, Case{"6J5", -0.5}, Case{"30", 0.0}}) {
        INFO(c.type);
        const auto model = tube_model(*catalogue.tube(c.type), catalogue);
        for (const SectionModel& s : model->sections) {
            if (s.law != "triode") continue;
            for (double v : {c.contact - 0.6, c.contact - 0.2, c.contact})
                CHECK(at(s, {100, v}).i[1] ==
                      Approx(0.3e-6 * std::exp((v - c.contact) / 0.1)).epsilon(0.10).margin(1e-11));
            CHECK(at(s, {100, 10.0}).i[1] > 1e-3);
            CHECK(at(s, {100, 10.0}).i[1] < 0.1);
        }
    }
}

TEST_CASE("On a filament the current counts from the negative end of each length and enters at both ends") {
    std::mt19937 random(11);
    for (const SectionModel& s : samples()) {
        for (const int extra : {1, 2}) {
            const NamedLaw whole = tubes::filament_law(s.law, extra);
            if (whole.function == nullptr) {
                CHECK((s.law == "vacuum-diode" || s.law == "gas-diode"));
                continue;
            }
            const std::size_t own = s.electrodes.size() - 1, n = own + static_cast<std::size_t>(extra);
            CHECK(whole.terminals == static_cast<int>(n) + 1);
            std::vector<double> v;
            for (std::size_t k = 0; k < own; ++k) v.push_back(drawn(s.electrodes[k], random));
            const Values plain = at(s, v);
            std::vector<double> lower;  // the same volts counted from 1.4 V up
            for (const double volts : v) lower.push_back(volts - 1.4);
            const Values raised = at(s, lower);
            for (int k = 0; k < extra; ++k) v.push_back(1.4 * (k + 1));
            std::vector<double> i(n), g(n * n), up(n), down(n), unused(n * n);
            whole.function(s.parameters.data(), v.data(), i.data(), g.data());
            double sum = 0;
            for (std::size_t k = 0; k < own; ++k) {
                // one length lies from 0 V up; of two in series the second from 1.4 V up
                CHECK(i[k] == Approx(extra == 1 ? plain.i[k] : (plain.i[k] + raised.i[k]) / 2).margin(1e-14));
                sum += i[k];
            }
            CHECK(i[own] == Approx(-sum / 2).margin(1e-18));
            if (extra == 2) CHECK(i[own + 1] == Approx(-sum / 4).margin(1e-18));
            for (std::size_t j = 0; j < n; ++j) {
                const double stride = 1e-4 * std::max(1.0, std::fabs(v[j])), centre = v[j];
                v[j] = centre + stride;
                whole.function(s.parameters.data(), v.data(), up.data(), unused.data());
                v[j] = centre - stride;
                whole.function(s.parameters.data(), v.data(), down.data(), unused.data());
                v[j] = centre;
                for (std::size_t k = own; k < n; ++k)
                    CHECK(g[k * n + j] == Approx((up[k] - down[k]) / (2 * stride)).epsilon(2e-3).margin(1e-9));
            }
        }
    }
}
