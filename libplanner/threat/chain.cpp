// SPDX-License-Identifier: MIT
// See chain.hpp.
#include "threat/chain.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

namespace tubewright::threat {
namespace {

/// Two figures are enough for what rests on assumptions.
std::string about(double t) {
    const double unit = t >= 7195 ? 3600 : t >= 119.5 ? 60 : 1;  // as say() chooses it
    const double shown = std::max(t, 1.0) / unit;
    const double step = std::pow(10.0, std::floor(std::log10(shown)) - 1);
    return say(seconds(std::round(shown / step) * step * unit));
}

std::string range_of(const std::optional<double>& low, const std::optional<double>& high) {
    if (!low) return "never";
    if (*low < 1 && high && *high < 1) return "at once";
    if (!high) return "after " + about(*low) + " at the earliest or never";
    return "after " + about(*low) + " to " + about(*high);
}

std::string list_of(const std::vector<std::string>& words) {
    std::string text;
    for (std::size_t i = 0; i < words.size(); ++i)
        text += (i == 0 ? "" : i + 1 == words.size() ? " and " : ", ") + words[i];
    return text;
}

std::string path(const ChainFacts& facts) {
    if (!facts.carrier.empty())
        return facts.carrier + " carries " + say(amps(facts.carrier_amps)) + " (normal " +
               say(amps(facts.carrier_amps_normal)) + ")" +
               (facts.fault_amps > 1e-6 ? "; the fault itself passes " + say(amps(facts.fault_amps)) : std::string()) +
               ".";
    std::string text;
    if (facts.fault_rms > 0)
        text = "It passes " + say(amps(facts.fault_rms)) + " rms of alternating current.";
    else if (facts.fault_amps > 1e-6)
        text = "It passes " + say(amps(facts.fault_amps)) + " of direct current.";
    if (facts.between.empty()) return text;
    text += (text.empty() ? "" : " ") + std::string("Between the plate winding of ") + facts.between_from +
            " and the fault " + (facts.between.size() == 1 ? "stands only " : "stand only ") + list_of(facts.between);
    return text + (facts.limited_by_words.empty()
                       ? std::string(": copper and the ") + (facts.dry ? "rectifier" : "tube") +
                             "'s drop alone limit the current."
                       : ": " + facts.limited_by_words + " limits the current.");
}

/// The plate halves, in one breath when they carry nearly the same.
std::string winding_currents(const Threat& row) {
    const WindingLoad* worst = nullptr;
    double most = 0;
    std::vector<const WindingLoad*> plates;
    for (const WindingLoad& w : row.windings) {
        const double rise = w.rms_amps_normal > 0 ? w.rms_amps / w.rms_amps_normal : 0;
        if (w.winding.find(".plate") != std::string::npos) plates.push_back(&w);
        if (rise > most) {
            most = rise;
            worst = &w;
        }
    }
    if (worst == nullptr || worst->winding.ends_with(".primary")) return {};
    const bool of_plate = std::find(plates.begin(), plates.end(), worst) != plates.end();
    auto amps_of = [](const WindingLoad& w) {
        return say(amps(w.rms_amps)) + " rms (normal " + say(amps(w.rms_amps_normal)) + ")";
    };
    if (of_plate && plates.size() == 2 &&
        std::fabs(plates[0]->rms_amps - plates[1]->rms_amps) <=
            0.15 * std::max(plates[0]->rms_amps, plates[1]->rms_amps))
        return amps_of(*worst) + " flows in each plate half";
    return amps_of(*worst) + " flows in " + worst->winding;
}

std::string primary(const Threat& row, const ChainFacts& facts) {
    const double ratio = row.primary_amps_rms_normal > 0 ? row.primary_amps_rms / row.primary_amps_rms_normal : 0;
    return facts.the_primary + " draws " + say(amps(row.primary_amps_rms)) + " (normal " +
           say(amps(row.primary_amps_rms_normal)) + ", " + figure(ratio) + " times)";
}

std::string capital(std::string text) {
    if (!text.empty() && text.front() >= 'a' && text.front() <= 'z')
        text.front() = static_cast<char>(text.front() - 'a' + 'A');
    return text;
}

std::string degrees(double celsius) {
    return figure(std::round(celsius));
}

void heat(Threat& row, const ChainFacts& facts) {
    const bool warms = row.seconds_to_105_low.has_value();
    if (facts.ring_watts > 0)
        row.links.push_back("The shorted turns themselves burn " + say(watts(facts.ring_watts)) + ".");
    if (warms || facts.copper_watts > 1.2 * facts.copper_watts_normal)
        row.links.push_back("The windings lose " + say(watts(facts.copper_watts)) + " in their copper where " +
                            say(watts(facts.copper_watts_normal)) + " is normal (cold ohms).");
    if (!warms) {
        row.links.push_back("No winding passes 105 C: about " + degrees(row.hot_spot_steady_celsius) + " C for good, " +
                            degrees(facts.healthy_celsius) + " C in health.");
        return;
    }
    std::string text = row.hot_winding + " passes 105 C " + range_of(row.seconds_to_105_low, row.seconds_to_105_high);
    text += row.seconds_to_damage_low ? ", and 180 C " + range_of(row.seconds_to_damage_low, row.seconds_to_damage_high)
                                      : ", and never 180 C";
    text += row.hot_spot_steady_celsius >= 399
                ? "; left alone it burns"
                : "; left alone it settles near " + degrees(row.hot_spot_steady_celsius) + " C";
    text += " (" + degrees(facts.healthy_celsius) + " C in health)";
    // what beta was judged by stands beside the nominal figure
    if (row.beta > 0 && !row.beta_reason.empty() && !facts.two_outcomes)
        text += "; beta " + figure(row.beta) + " for " + row.beta_reason;
    row.links.push_back(text + ".");
}

}  // namespace

std::string over_words(const Overload& o) {
    std::string value, limit;
    if (o.quantity.find("watts") != std::string::npos) {
        value = say(watts(o.value));
        limit = say(watts(o.limit));
    } else if (o.quantity.find("amperes") != std::string::npos) {
        value = say(amps(o.value));
        limit = say(amps(o.limit));
    } else {
        value = say(volts(o.value));
        limit = say(volts(o.limit));
    }
    return o.part + " " + o.quantity + " " + value + " where " + limit + " is the limit";
}

std::string figure(double x) {
    std::array<char, 40> text{};
    // three figures, and no exponent for what a bench can show
    const double size = std::fabs(x);
    const int decimals = size >= 100 || size == 0 ? 0 : size >= 10 ? 1 : 2;
    double shown = x;
    if (size >= 1000) {
        const double step = std::pow(10.0, std::floor(std::log10(size)) - 2);
        shown = std::round(x / step) * step;
    }
    auto [end, error] =
        std::to_chars(text.data(), text.data() + text.size(), shown, std::chars_format::fixed, decimals);
    if (error != std::errc()) return "?";
    std::string out(text.data(), end);
    if (out.find('.') != std::string::npos) {
        while (out.back() == '0') out.pop_back();
        if (out.back() == '.') out.pop_back();
    }
    return out;
}

void tell(Threat& row, const ChainFacts& facts) {
    const double ratio = row.primary_amps_rms_normal > 0 ? row.primary_amps_rms / row.primary_amps_rms_normal : 0;
    if (!row.solved) {
        row.current_note = "not solved: " + facts.why_not_solved;
        row.links.push_back(facts.placed->event + ". Not solved: " + facts.why_not_solved + ".");
        return;
    }
    row.current_note =
        figure(ratio) + " times the normal " + (facts.has_transformer ? "primary current" : "current from the supply");
    if (row.ahead_of_primary) {
        if (!facts.ahead_note.empty()) row.current_note = facts.ahead_note;
        row.links.push_back(facts.placed->event + ".");
        row.links.push_back(facts.ahead_words);
        return;
    }
    if (facts.for_other_target) {
        row.links.push_back(facts.placed->event + ".");
        if (std::string text = path(facts); !text.empty()) row.links.push_back(std::move(text));
    } else if (facts.does_nothing && facts.has_transformer) {
        row.current_note = "does nothing to " + facts.the_transformer;
        row.links.push_back(facts.placed->doing + " moves no winding current" +
                            (facts.the_transformer == "the transformer" ? "" : " of " + facts.the_transformer) +
                            " by more than 1 %: it does nothing to " + facts.the_transformer + ".");
    } else {
        row.links.push_back(facts.placed->event + ".");
        if (std::string text = path(facts); !text.empty() && ratio > 1.02) row.links.push_back(std::move(text));
        if (facts.has_transformer) {
            std::string currents = winding_currents(row);
            if (ratio < 0.98 && row.beta <= 0) {
                row.current_note += ": less than in health";
                row.links.push_back(capital(primary(row, facts)) + ": less than in health.");
            } else {
                row.links.push_back(
                    capital(currents.empty() ? primary(row, facts) : currents + "; " + primary(row, facts)) + ".");
                heat(row, facts);
            }
        } else if (ratio > 1.02) {
            row.links.push_back("The supply gives " + say(amps(row.primary_amps_rms)) + ", " + figure(ratio) +
                                " times the normal.");
        }
    }
    if (!facts.unrest.empty())
        row.links.push_back(capital(facts.unrest) +
                            " then drive one another over what they share: the set motor-boats, "
                            "and these figures are of a rest that does not last.");
    if (!row.overloads.empty()) {
        std::vector<std::string> words;
        auto list = [&](bool of_target) {
            for (const Overload& o : row.overloads)
                if ((o.part == row.target) == of_target) words.push_back(over_words(o));
        };
        list(true);
        list(false);
        std::string text = "Over their limits: ";
        for (std::size_t i = 0; i < words.size() && i < 3; ++i) text += (i == 0 ? "" : "; ") + words[i];
        if (words.size() > 3) text += "; and " + std::to_string(words.size() - 3) + " more";
        row.links.push_back(text + ".");
    }
    if (!row.opens_first.empty()) {
        std::string text = "First to open: " + row.opens_first;
        if (!row.after_opening.empty()) text += "; then " + row.after_opening;
        row.links.push_back(text + ".");
    }
    if (facts.two_outcomes)
        row.links.push_back("Beta " + figure(row.beta) + " for " + row.target + ": " + row.beta_reason + ".");
    if (row.upper_bound && row.beta >= 0.5)
        row.links.push_back(
            "A hard short: the currents are upper bounds, since neither emission nor iron saturates in the law.");
}

}  // namespace tubewright::threat
