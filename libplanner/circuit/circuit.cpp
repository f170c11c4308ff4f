// SPDX-License-Identifier: MIT
// The description of a network: nodes, parts and their numbers. No mathematics here. Tests:
// tests/circuit/operating_test.cpp.
#include "circuit/circuit.hpp"

#include <numbers>
#include <stdexcept>
#include <utility>

#include "circuit/parts.hpp"

namespace tubewright::circuit {

namespace {

Element add(Circuit::Data& data, Part part, std::initializer_list<double> values) {
    for (const Node node : part.nodes)
        if (node < 0 || node >= static_cast<Node>(data.names.size()))
            throw std::invalid_argument("circuit: a part hangs on a node that does not exist");
    part.value = static_cast<int>(data.values.size());
    part.branch = data.branches;
    data.branches += part.branches;
    if (part.state == 0) part.state = data.states++;
    data.values.insert(data.values.end(), values);
    data.parts.push_back(std::move(part));
    return static_cast<Element>(data.parts.size()) - 1;
}

Part two_ended(Kind kind, Node a, Node b, int branches, bool reactive) {
    Part part;
    part.kind = kind;
    part.nodes = {a, b};
    part.branches = branches;
    part.state = reactive ? 0 : -1;
    return part;
}

}  // namespace

Circuit::Circuit() : data_(std::make_unique<Data>()) {}
Circuit::~Circuit() = default;
Circuit::Circuit(Circuit&&) noexcept = default;
Circuit& Circuit::operator=(Circuit&&) noexcept = default;

Node Circuit::node(std::string name) {
    data_->names.push_back(std::move(name));
    return static_cast<Node>(data_->names.size()) - 1;
}
int Circuit::nodes() const {
    return static_cast<int>(data_->names.size());
}
int Circuit::unknowns() const {
    return data_->unknowns();
}
int Circuit::elements() const {
    return static_cast<int>(data_->parts.size());
}
const std::string& Circuit::name(Node node) const {
    return data_->names.at(static_cast<std::size_t>(node));
}

Element Circuit::resistor(Node a, Node b, double ohms) {
    return add(*data_, two_ended(Kind::resistor, a, b, 0, false), {ohms});
}
Element Circuit::conductance(Node a, Node b, double siemens) {
    return add(*data_, two_ended(Kind::conductance, a, b, 0, false), {siemens});
}
Element Circuit::capacitor(Node a, Node b, double farads, double leak_siemens) {
    return add(*data_, two_ended(Kind::capacitor, a, b, 0, true), {farads, leak_siemens});
}
Element Circuit::inductor(Node a, Node b, double henries, double ohms) {
    return add(*data_, two_ended(Kind::inductor, a, b, 1, true), {henries, ohms});
}
Element Circuit::voltage_source(Node plus, Node minus, Waveform waveform) {
    Part part = two_ended(Kind::voltage_source, plus, minus, 1, false);
    part.waveform = waveform;
    return add(*data_, std::move(part), {waveform.direct, waveform.amplitude});
}
Element Circuit::current_source(Node from, Node into, double amps) {
    return add(*data_, two_ended(Kind::current_source, from, into, 0, false), {amps});
}

Element Circuit::transformer(std::vector<Winding> windings, double magnetising_henries, double loss_ohms) {
    if (windings.empty()) throw std::invalid_argument("circuit: a transformer without windings");
    Part part;
    part.kind = Kind::transformer;
    part.branches = static_cast<int>(windings.size()) + 2;  // winding currents, volts a turn, magnetising current
    part.state = 0;
    for (const Winding& winding : windings) {
        part.nodes.push_back(winding.from);
        part.nodes.push_back(winding.to);
        part.turns.push_back(winding.turns);
    }
    const Element element = add(*data_, std::move(part), {magnetising_henries, loss_ohms});
    for (const Winding& winding : windings) data_->values.push_back(winding.ohms);
    return element;
}

Element Circuit::device(Law law, std::span<const Node> nodes, std::span<const double> parameters) {
    if (law.evaluate == nullptr || law.terminals < 2 || law.terminals > 8 ||
        nodes.size() != static_cast<std::size_t>(law.terminals))
        throw std::invalid_argument("circuit: a device needs a law and 2 to 8 nodes");
    Part part;
    part.kind = Kind::device;
    part.nodes.assign(nodes.begin(), nodes.end());
    part.law = law;
    const Element element = add(*data_, std::move(part), {});
    data_->values.insert(data_->values.end(), parameters.begin(), parameters.end());
    return element;
}

Element Circuit::contact(Node a, Node b, double closed_siemens, double from, double to) {
    const Law swing{2, [](const double* p, const double* v, double* i, double* g) {
                        constexpr double edge = 1e-9, open_siemens = 1e-9;
                        const bool closed = p[0] > 0 && p[4] > p[2] + edge && p[4] <= p[3] + edge;
                        g[0] = closed ? p[1] : open_siemens;
                        i[0] = g[0] * v[0];
                    }};
    const Node nodes[] = {a, b};
    const double numbers[contact_numbers] = {1, closed_siemens, from, to, -1};
    const Element element = device(swing, nodes, numbers);
    data_->parts.back().swings = true;
    return element;
}

void Circuit::rectifies(Element element) {
    data_->parts.at(static_cast<std::size_t>(element)).rectifies = true;
}

int value_index(const Circuit::Data& data, const Override& change) {
    const Part& part = data.parts.at(static_cast<std::size_t>(change.element));
    const auto next = static_cast<std::size_t>(change.element) + 1;
    const int end = next < data.parts.size() ? data.parts[next].value : static_cast<int>(data.values.size());
    const auto indexed = [&](int first) {
        return change.index >= 0 && part.value + first + change.index < end ? part.value + first + change.index : -1;
    };
    const bool source = part.kind == Kind::voltage_source || part.kind == Kind::current_source;
    int found = -1;
    switch (change.slot) {
        case Slot::ohms:
            if (part.kind == Kind::resistor) found = part.value + at::ohms;
            if (part.kind == Kind::inductor) found = part.value + at::series;
            break;
        case Slot::siemens:
            if (part.kind == Kind::conductance) found = part.value + at::siemens;
            if (part.kind == Kind::capacitor) found = part.value + at::leak;
            break;
        case Slot::farads:
            if (part.kind == Kind::capacitor) found = part.value + at::farads;
            break;
        case Slot::henries:
            if (part.kind == Kind::inductor) found = part.value + at::henries;
            if (part.kind == Kind::transformer) found = part.value + at::magnetising;
            break;
        case Slot::direct:
            if (source) found = part.value + at::direct;
            break;
        case Slot::amplitude:
            if (part.kind == Kind::voltage_source) found = part.value + at::amplitude;
            break;
        case Slot::parameter:
            if (part.kind == Kind::device) found = indexed(0);
            break;
        case Slot::winding_ohms:
            if (part.kind == Kind::transformer) found = indexed(at::copper);
            break;
    }
    if (found < 0) throw std::invalid_argument("circuit: an override that its element does not have");
    return found;
}

void apply(const Circuit::Data& data, std::span<const Override> overrides, std::vector<double>& values) {
    values = data.values;
    for (const Override& change : overrides) values[static_cast<std::size_t>(value_index(data, change))] = change.value;
}

double source_value(const Waveform& waveform, const double* values, double hertz, double turn) {
    if (values[at::amplitude] == 0) return values[at::direct];
    const double harmonic = hertz > 0 ? std::round(waveform.hertz / hertz) : 0;
    return values[at::direct] +
           values[at::amplitude] * std::cos(2 * std::numbers::pi * harmonic * turn + waveform.phase);
}

const char* word(Method method) {
    switch (method) {
        case Method::none:
            return "none";
        case Method::newton:
            return "newton";
        case Method::gmin:
            return "conductance stepping";
        case Method::source_steps:
            return "source stepping";
        case Method::pseudo_transient:
            return "pseudo-transient";
        case Method::shooting:
            return "shooting";
        case Method::two_level:
            return "two-level";
    }
    return "none";
}

}  // namespace tubewright::circuit
