// SPDX-License-Identifier: MIT
// Sets for the tests of the bench: the demo sets of netlists/, edited as text; and a supply with a divider made in
// memory, in which every answer past the rectifier follows from Ohm's law.
#pragma once

#include <tubewright/chassis.hpp>
#include <tubewright/netlist.hpp>

#include <algorithm>
#include <fstream>
#include <functional>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

#include "bench/bench.hpp"

namespace sets {

using namespace tubewright;

inline const std::string superhet = TUBEWRIGHT_ROOT "/netlists/s1-quarry-hill.xml";
inline const std::string amplifier = TUBEWRIGHT_ROOT "/netlists/s9-bellows-court.xml";

inline const Catalogue& shipped() {
    static const Catalogue tables = Catalogue::shipped();
    return tables;
}

inline std::string text_of(const std::string& path) {
    std::ifstream in(path, std::ios::binary);
    std::ostringstream out;
    out << in.rdbuf();
    if (!in || out.str().empty()) throw std::runtime_error("cannot read " + path);
    return out.str();
}

inline std::string edited(std::string text, const std::string& from, const std::string& to) {
    const std::size_t at = text.find(from);
    if (at == std::string::npos) throw std::runtime_error("the set does not hold " + from);
    return text.replace(at, from.size(), to);
}

/// As it was made: what was seen of its parts is left out.
inline std::string sound(std::string text) {
    for (std::size_t at = text.find(" seen=\""); at != std::string::npos; at = text.find(" seen=\"", at))
        text.erase(at, text.find('"', at + 7) - at + 1);
    return text;
}

/// One more element before the end of the file.
inline std::string with(const std::string& text, const std::string& element) {
    return edited(text, "</chassis>", element + "\n</chassis>");
}

inline Chassis read(const std::string& text) {
    const Outcome<Chassis> set = read_chassis_text(text, "set.xml", shipped());
    if (!set) throw std::runtime_error(set.notices().front().text());
    return *set;
}

inline Bench bench_of(const Chassis& set, const std::vector<Fault>& faults = {}, const Policy& policy = {}) {
    Outcome<Bench> bench = Bench::make(set, shipped(), policy, faults);
    if (!bench) throw std::runtime_error(bench.notices().front().text());
    return *bench;
}

inline Condition condition(const std::string& text, double line_volts = 0) {
    Condition out = *Condition::parse(text);
    if (line_volts > 0) out.line_volts = line_volts;
    return out;
}

inline double dc(const Solution& solution, const Chassis& set, const std::string& net) {
    return solution.at(set, net).dc.value();
}

/// A 6X4 supply: 16 uF first filter, 10 k load, 1 meg + 1 meg divider ("half"), nothing else that draws. Every part is
/// a step of `order`, so that the order can be turned round; `mark` goes before every word and id but "gnd" and pins of
/// sockets.
struct DividerSupply {
    std::string mark;
    bool backwards = false;
    double tolerance = 0.02;
    double primary_volts = 117, line_volts = 117;
    double filter_farads = 16e-6;
    double load_ohms = 10e3;

    std::string name(const std::string& word) const { return word == "gnd" ? word : mark + word; }
    std::string pin(const std::string& n) const { return mark + "V1." + n; }

    Chassis make() const {
        ChassisBuilder b("supply with a divider");
        b.default_for("resistor", "carbon-composition");
        b.default_for("electrolytic", "dry-electrolytic");
        b.line(volts(line_volts), hertz(60), name("hot"), name("neutral"));
        b.reference("gnd");
        b.node("chassis-metal", "gnd", true);
        std::vector<std::function<void()>> order;
        order.push_back([&] {
            Part t;
            t.kind = PartKind::transformer;
            t.id = name("T1");
            t.role = "power";
            t.rated_va = 45;
            const auto winding = [](WindingRole role, std::string called, std::vector<int> leads,
                                    std::vector<double> ohms) {
                PartWinding w;
                w.role = role;
                w.name = std::move(called);
                w.leads = std::move(leads);
                w.ohms = std::move(ohms);
                return w;
            };
            t.windings = {winding(WindingRole::primary, "primary", {0, 1}, {9}),
                          winding(WindingRole::plate, "plate", {2, 3, 4}, {240, 260}),
                          winding(WindingRole::heater, "heater", {5, 6}, {0.1})};
            t.windings[0].volts = primary_volts;
            t.windings[1].noload_volts = {260, 260};
            t.windings[2].noload_volts = {6.3};
            b.add(t, {{"1", name("hot")},
                      {"2", name("neutral")},
                      {"3", pin("1")},
                      {"4", "gnd"},
                      {"5", pin("6")},
                      {"6", pin("3")},
                      {"7", "gnd"}});
        });
        order.push_back([&] { b.socket(name("V1"), "6X4"); });
        order.push_back([&] { b.join({pin("4"), "gnd"}); });
        order.push_back([&] { b.join({pin("7"), name("bplus")}); });
        order.push_back([&] { b.electrolytic(name("C1"), farads(filter_farads), volts(450), name("bplus"), "gnd"); });
        const auto resistor = [&](const std::string& id, double value, const std::string& from, const std::string& to) {
            Part r;
            r.kind = PartKind::resistor;
            r.id = name(id);
            r.ohms = value;
            r.tolerance = tolerance;
            b.add(r, {{"a", name(from)}, {"b", name(to)}});
        };
        order.push_back([&, resistor] { resistor("R1", load_ohms, "bplus", "gnd"); });
        order.push_back([&, resistor] { resistor("R2", 1e6, "bplus", "half"); });
        order.push_back([&, resistor] { resistor("R3", 1e6, "half", "gnd"); });
        if (backwards) std::reverse(order.begin(), order.end());
        for (const auto& step : order) step();
        const Outcome<Chassis> set = b.build(shipped());
        if (!set) throw std::runtime_error(set.notices().front().text());
        return *set;
    }
};

}  // namespace sets
