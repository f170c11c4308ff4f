// SPDX-License-Identifier: MIT
#include "settings.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <map>
#include <utility>
#include <vector>

#include "terms/near.hpp"
#include "terms/period_value.hpp"

namespace tubewright::cli {
namespace {

std::optional<double> number(std::string_view text) {
    double value = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc() || end != text.data() + text.size() || !std::isfinite(value)) return std::nullopt;
    return value;
}

std::string first_reason(const Outcome<double>& read) {
    return read.notices().empty() ? std::string("cannot be read") : read.notices().front().message;
}

/// A key of --assume: the field of the policy it stands for, its limits and what it means.
struct Key {
    const char* name;
    double Policy::*field;
    double low, high;
    const char* meaning;
};
constexpr std::array keys{
    Key{"upper-line", &Policy::upper_line_volts, 20, 300, "upper line limit, volts (126 or 253)"},
    Key{"film-stress-limit", &Policy::film_stress_limit, 0.1, 1, "worst volts over rating of new film (.8)"},
    Key{"electrolytic-margin", &Policy::electrolytic_margin, 1, 3, "rating over worst volts, electrolytics (1.1)"},
    Key{"resistor-watts-margin", &Policy::resistor_watts_margin, 1, 10, "rating over solved watts (2)"},
    Key{"film-volts", &Policy::film_volts_usual, 100, 2000, "the usual film rating, volts (630)"},
    Key{"resistor-limit", &Policy::resistor_limit, 0.01, 1, "drift at which a resistor is replaced (.2)"},
    Key{"line-tolerance", &Policy::line_tolerance, 0, 0.25, "band of the stated line, a fraction (0)"},
    Key{"tube-spread", &Policy::tube_spread, 0, 0.9, "plate-current spread of a good tube (.2)"},
    Key{"emission-limit", &Policy::emission_limit, 0, 50, "emission, rated peaks; 0: no limit (0)"},
    Key{"hours", &Policy::working_hours, 1, 1e6, "hours in the criticality product (1000)"},
    Key{"ambient", &Policy::ambient_celsius, -20, 60, "air round the set, degrees C (25)"},
    Key{"pace", &Policy::pace, 0.1, 20, "multiplies all minutes (1)"},
};

}  // namespace

Complaint set_line(std::string_view text, Policy& policy) {
    const Outcome<double> read = read_value(text, Measure::volts);
    if (!read) return fmt::format("--line: {}", first_reason(read));
    if (*read < 1 || *read > 300)
        return fmt::format("--line: {} V is no line voltage (1 to 300 V; 117V or 230V)", *read);
    policy.line.volts = volts(*read);
    return {};
}

Complaint set_hertz(std::string_view text, Policy& policy) {
    if (text == "dc" || text == "0")
        return std::string(
            "--hertz: that a line gives direct current is for the file to say (hertz=\"dc\" in its <line>)");
    const Outcome<double> read = read_value(text, Measure::hertz);
    if (!read) return fmt::format("--hertz: {}", first_reason(read));
    if (*read < 15 || *read > 400) return fmt::format("--hertz: {} is no line frequency (15 to 400; 60 or 50)", *read);
    policy.line.hertz = hertz(*read);
    return {};
}

Complaint set_meter(std::string_view text, Policy& policy) {
    const Outcome<Meter> read = read_meter(text);
    if (!read) return fmt::format("--meter: {}; {}", read.notices().front().message, read.notices().front().remedy);
    policy.meter = *read;
    return {};
}

Complaint set_lamp(std::string_view text, ReportOptions& options) {
    std::string lower(text);
    std::transform(lower.begin(), lower.end(), lower.begin(), [](unsigned char c) {
        return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : static_cast<char>(c);
    });
    for (const char* refused : {"led", "cfl", "compact", "fluorescent"}) {
        if (lower.find(refused) != std::string::npos)
            return "--lamp: an LED or compact fluorescent lamp limits nothing (its electronics keep the current up); "
                   "take an incandescent lamp, such as 60W@120V";
    }
    const std::size_t at = text.find('@');
    const Outcome<double> rating = read_value(text.substr(0, at), Measure::watts);
    if (!rating) return fmt::format("--lamp: {}; write its watts, or watts@volts: 60W, 60W@230V", first_reason(rating));
    if (*rating < 5 || *rating > 1500)
        return fmt::format("--lamp: {} W: take an incandescent lamp of 5 to 1500 W", *rating);
    options.lamp_watts = *rating;
    if (at != std::string_view::npos) {
        const Outcome<double> of = read_value(text.substr(at + 1), Measure::volts);
        if (!of) return fmt::format("--lamp: {}; write watts@volts, such as 60W@230V", first_reason(of));
        if (*of < 20 || *of > 300)
            return fmt::format("--lamp: a lamp for {} V does not go in a line of 20 to 300 V", *of);
        options.lamp_volts = *of;
    }
    return {};
}

Complaint set_winding_reading(std::string_view text, WindingTest& test) {
    const std::size_t equals = text.find('=');
    const std::string what(text.substr(0, equals));
    if (equals == std::string_view::npos || what.empty())
        return fmt::format("--read: a winding and its volts, such as plate.1=340 or heater=6.89@118V, not {}",
                           tubewright::quoted(text));
    std::string_view value = text.substr(equals + 1);
    if (what == "heat") {
        if (value != "cool" && value != "warm" && value != "hot")
            return fmt::format("--read heat: cool, warm or hot after half an hour, not {}", tubewright::quoted(value));
        test.heat = value;
        return {};
    }
    if (what == "watts" || what == "amps") {
        const Outcome<double> read = read_value(value, what == "watts" ? Measure::watts : Measure::amps);
        if (!read || *read < 0)
            return fmt::format("--read {}: {}", what, read ? "less than nothing" : first_reason(read));
        (what == "watts" ? test.watts : test.amps) = *read;
        return {};
    }
    double line = 0;
    if (const std::size_t sign = value.find('@'); sign != std::string_view::npos) {
        const Outcome<double> of = read_value(value.substr(sign + 1), Measure::volts);
        if (!of || *of < 1 || *of > 300)
            return fmt::format("--read {}: the line behind @ is 1 to 300 V, as in 340@118V", what);
        line = *of;
        value = value.substr(0, sign);
    }
    std::vector<std::string_view> halves{value};
    const std::size_t middle = value.find("-0-");
    if (middle != std::string_view::npos) halves = {value.substr(0, middle), value.substr(middle + 3)};
    for (std::size_t k = 0; k < halves.size(); ++k) {
        // an open half reads nothing
        const Outcome<double> read =
            halves.size() > 1 && halves[k] == "0" ? Outcome<double>(0.0) : read_value(halves[k], Measure::volts);
        if (!read) return fmt::format("--read {}: {}", what, first_reason(read));
        if (*read < 0 || *read > 3000) return fmt::format("--read {}: {} V is no reading of a winding", what, *read);
        test.readings.push_back({halves.size() > 1 ? what + "." + std::to_string(k + 1) : what, *read, line});
    }
    return {};
}

Complaint set_in_sockets(std::string_view text, WindingTest& test) {
    if (text != "heaters" && text != "nothing")
        return fmt::format("--in: heaters (all tubes but the rectifier) or nothing, not {}", tubewright::quoted(text));
    test.heaters_in = text == "heaters";
    return {};
}

Complaint set_policies(std::string_view names, Policy& policy) {
    std::map<std::string, std::string_view> answered;  // by what it is about
    while (true) {
        const std::size_t comma = names.find(',');
        const std::string_view name = names.substr(0, comma);
        const std::string about = choose(policy, name);
        if (about.empty()) {
            std::vector<std::string> known;
            for (const PolicySetting& setting : policy_settings(policy))
                for (const PolicySetting::Choice& choice : setting.choices) known.push_back(choice.name);
            const std::string near = nearest(name, {known.begin(), known.end()});
            return fmt::format(
                "--policy: {} is no policy; {}", tubewright::quoted(name),
                near.empty() ? fmt::format("one of {}", fmt::join(known, ", ")) : "did you mean \"" + near + "\"?");
        }
        const auto [chosen, first] = answered.emplace(about, name);
        if (!first && chosen->second != name)
            return fmt::format("--policy: {} and {} are two answers to one question; name one", chosen->second, name);
        if (comma == std::string_view::npos) return {};
        names.remove_prefix(comma + 1);
    }
}

Complaint set_assumption(std::string_view key_and_value, Policy& policy) {
    const std::size_t equals = key_and_value.find('=');
    if (equals == std::string_view::npos)
        return fmt::format("--assume: {} is not KEY=VALUE, such as pace=1.5", tubewright::quoted(key_and_value));
    const std::string_view key = key_and_value.substr(0, equals);
    const std::string_view value = key_and_value.substr(equals + 1);
    if (key == "fuse-family") {
        const std::span<const std::string_view> known = fuse_families();
        if (std::find(known.begin(), known.end(), value) == known.end())
            return fmt::format("--assume fuse-family: {} is no family of fuses that is known; one of {}",
                               tubewright::quoted(value), fmt::join(known, ", "));
        policy.fuse_family = std::string(value);
        return {};
    }
    if (key == "currency") {
        const bool letters =
            value.size() == 3 && std::all_of(value.begin(), value.end(), [](char c) { return c >= 'A' && c <= 'Z'; });
        if (!letters) return "--assume currency: three capital letters are wanted, such as USD or EUR";
        policy.currency = std::string(value);
        return {};
    }
    const std::optional<double> read = number(value);
    if (key == "year") {
        if (!read || *read != std::floor(*read) || *read < 1925 || *read > 2200)
            return fmt::format("--assume year: {} is not a year", tubewright::quoted(value));
        policy.today_year = static_cast<int>(*read);
        return {};
    }
    for (const Key& known : keys) {
        if (key != known.name) continue;
        if (!read || *read < known.low || *read > known.high)
            return fmt::format("--assume {}: {} is not a number from {} to {}: {}", key, tubewright::quoted(value),
                               known.low, known.high, known.meaning);
        policy.*(known.field) = *read;
        return {};
    }
    std::vector<std::string_view> words{"fuse-family", "currency", "year"};
    for (const Key& known : keys) words.emplace_back(known.name);
    const std::string near = nearest(key, words);
    return fmt::format("--assume: {} is no key; {}what a part is belongs in the chassis file", tubewright::quoted(key),
                       near.empty() ? std::string() : "did you mean \"" + near + "\"? ");
}

Complaint set_number(std::string_view name, std::string_view text, double& into) {
    const std::optional<double> read = number(text);
    if (!read || *read <= 0) return fmt::format("{}: {} is not a number above 0", name, tubewright::quoted(text));
    into = *read;
    return {};
}

std::string assumption_keys() {
    std::string text;
    for (const Key& key : keys) text += fmt::format("  {:<22} {}\n", key.name, key.meaning);
    text += fmt::format("  {:<22} {}\n", "fuse-family", "\"UL 248-14\" or an \"IEC 60127-2\" sheet");
    text += fmt::format("  {:<22} {}\n", "currency", "three letters (USD)");
    text += fmt::format("  {:<22} {}\n", "year", "the year to count ages to (this year)");
    return text;
}

}  // namespace tubewright::cli
