// SPDX-License-Identifier: MIT
// Names of the conditions, and look-up in a solution. Test: tests/bench/condition_test.cpp.
#include <array>
#include <charconv>
#include <system_error>
#include <utility>

#include <tubewright/bench.hpp>

#include "bench/numbers.hpp"

namespace tubewright {

namespace {

constexpr std::array<std::pair<Scenario, const char*>, 15> words{{{Scenario::normal, "normal"},
                                                                  {Scenario::high_line, "high-line"},
                                                                  {Scenario::warm_up, "warm-up"},
                                                                  {Scenario::rectifier_out, "rectifier-out"},
                                                                  {Scenario::transformer_alone, "transformer-alone"},
                                                                  {Scenario::tube_out, "tube-out"},
                                                                  {Scenario::speaker_unplugged, "speaker-unplugged"},
                                                                  {Scenario::output_cut_off, "output-cut-off"},
                                                                  {Scenario::lamp, "lamp"},
                                                                  {Scenario::step, "step"},
                                                                  {Scenario::dial_lamp_out, "dial-lamp-out"},
                                                                  {Scenario::switch_on, "switch-on"},
                                                                  {Scenario::soak, "soak"},
                                                                  {Scenario::as_found, "as-found"},
                                                                  {Scenario::signal_peak, "signal-peak"}}};

std::string number(double value) {
    std::array<char, 32> text{};
    const auto end = std::to_chars(text.data(), text.data() + text.size(), value);
    return {text.data(), end.ptr};
}

/// "60W" with the unit asked for; false when it is anything else or not above 0.
bool quantity(std::string_view text, char unit, double& value) {
    if (text.empty()) return false;
    if (text.back() == unit || text.back() == unit + ('a' - 'A')) text.remove_suffix(1);
    const auto end = std::from_chars(text.data(), text.data() + text.size(), value);
    return end.ec == std::errc{} && end.ptr == text.data() + text.size() && value > 0 && value < 1e5;
}

Notice refusal(std::string_view text, std::string remedy) {
    return Notice{messages::unknown_condition,
                  Severity::error,
                  {},
                  "'" + std::string(text) + "' is not a condition of the bench",
                  std::move(remedy)};
}

}  // namespace

std::string word(Scenario scenario) {
    for (const auto& [which, text] : words) {
        if (which == scenario) return text;
    }
    return "normal";
}

std::string Condition::text() const {
    std::string out = word(scenario);
    if (scenario == Scenario::tube_out || scenario == Scenario::dial_lamp_out) out += ":" + tube;
    if (scenario == Scenario::signal_peak && no_load) out += ":no-load";
    if (scenario == Scenario::step) out += ":" + number(line_volts) + "V";
    if (scenario == Scenario::lamp) {
        out += ":" + number(lamp_watts) + "W";
        if (lamp_volts != 120) out += "@" + number(lamp_volts) + "V";
    }
    return out;
}

Outcome<Condition> Condition::parse(std::string_view text) {
    const std::size_t colon = text.find(':');
    const std::string_view name = text.substr(0, colon);
    const std::string_view rest = colon == std::string_view::npos ? std::string_view{} : text.substr(colon + 1);
    std::string all;
    for (const auto& [which, known] : words) {
        all += (all.empty() ? "" : " ") + std::string(known);
        if (name != known) continue;
        Condition condition;
        condition.scenario = which;
        switch (which) {
            case Scenario::tube_out:
                if (rest.empty()) return refusal(text, "name the socket: tube-out:V4");
                condition.tube = rest;
                return condition;
            case Scenario::dial_lamp_out:
                if (rest.empty()) return refusal(text, "name the lamp: dial-lamp-out:DS1");
                condition.tube = rest;
                return condition;
            case Scenario::step:
                if (!quantity(rest, 'V', condition.line_volts)) return refusal(text, "give the line: step:90V");
                return condition;
            case Scenario::lamp: {
                const std::size_t at = rest.find('@');
                if (!quantity(rest.substr(0, at), 'W', condition.lamp_watts))
                    return refusal(text, "give the lamp: lamp:60W or lamp:60W@120V");
                if (at != std::string_view::npos && !quantity(rest.substr(at + 1), 'V', condition.lamp_volts)) {
                    return refusal(text, "give the lamp's volts: lamp:60W@120V");
                }
                return condition;
            }
            case Scenario::signal_peak:
                condition.no_load = rest == "no-load";
                if (!rest.empty() && !condition.no_load)
                    return refusal(text,
                                   "signal-peak with the speaker, or signal-peak:no-load with its voice coil open");
                return condition;
            default:
                if (!rest.empty()) return refusal(text, std::string(known) + " takes nothing after it");
                return condition;
        }
    }
    return refusal(text, "one of " + all);
}

const NetVolts& Solution::at(const Chassis& chassis, std::string_view net) const {
    const int index = chassis.net(net);
    if (index < 0 || static_cast<std::size_t>(index) >= nets.size())
        throw Error("no net '" + std::string(net) + "' in this set");
    return nets[static_cast<std::size_t>(index)];
}

const Branch* Solution::branch(int part, std::string_view lead) const {
    for (const Branch& one : branches) {
        if (one.part == part && one.lead == lead) return &one;
    }
    return nullptr;
}

}  // namespace tubewright
