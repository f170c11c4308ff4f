// SPDX-License-Identifier: MIT
// Hazard of a part as it stands: handbook base rate at the solved stress and temperature (MIL-HDBK-217F Notice 2, by an
// open transcription), split by mode shares (MIL-HDBK-338B, the same), carried to calendar age by a law that this
// project declares.
//
// Example: wax paper of .05 uF at .8 of its volts and 50 C is .02315 failures per million hours when new; after 88
// years the declared law (doubling every half of the construction's median life, at most ten doublings) makes it 446
// times that. What is declared and not sourced: the age law, the factors of findings, the split of a paper capacitor's
// "short" into leak and short, the words of likelihood. Each says so where it is handed out. Tests: tests/ageing/,
// vectors recomputed there from the formulas.
#include <tubewright/ageing.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <string_view>

namespace tubewright {
namespace {

constexpr double boltzmann_ev = 8.617e-5;
constexpr double most_doublings = 10;
constexpr int years_when_unknown = 80;
/// Of the handbook's "short" of a capacitor with paper or creeping silver; the rest stays a dead short.
constexpr double leak_share_of_short = 0.8;

/// Arrhenius factor of the handbook: 1 at 25 C.
double temperature_factor(double ev, double celsius) {
    return std::exp(-(ev / boltzmann_ev) * (1.0 / (celsius + 273.0) - 1.0 / 298.0));
}

struct FindingFactor {
    std::string_view word;
    double factor;
    bool certain;
    std::string_view mode;  ///< the mode that was found; empty when the finding names none
};
/// Declared estimates. Matched as parts of words, so that "burned out" and "crumbled to chassis" are heard; the largest
/// factor counts.
constexpr std::array findings{
    FindingFactor{"burn", 1000, true, "drift"}, FindingFactor{"charr", 1000, true, "drift"},
    FindingFactor{"missing", 1000, true, ""},   FindingFactor{"short", 1000, true, "short"},
    FindingFactor{"open", 1000, true, "open"},  FindingFactor{"dead", 1000, true, ""},
    FindingFactor{"leak", 300, true, "leak"},   FindingFactor{"bulg", 300, true, ""},
    FindingFactor{"crumbl", 300, true, ""},     FindingFactor{"dried", 100, true, "open"},
    FindingFactor{"brown", 50, false, "drift"}, FindingFactor{"crack", 30, false, ""},
    FindingFactor{"drift", 30, false, "drift"}, FindingFactor{"wax", 10, false, ""},
    FindingFactor{"split", 10, false, ""},      FindingFactor{"corro", 10, false, ""},
    FindingFactor{"loose", 5, false, ""},       FindingFactor{"spliced", 5, false, ""},
    FindingFactor{"dull", 4, false, ""},        FindingFactor{"gas", 30, true, "gas"},
};

/// Insulation that was found leaking ends as a short, and sooner than sound insulation does: so many times (declared).
constexpr double breakdown_of_what_leaks = 30;
std::string_view end_of(std::string_view found) {
    if (found == "leak") return "short";
    if (found == "heater-cathode-leak") return "heater-cathode-short";
    return {};
}

/// A tube leaks from heater to cathode, and is open in its heater, more often than anywhere else.
std::string_view mode_of_a_tube(std::string_view found) {
    if (found == "leak") return "heater-cathode-leak";
    if (found == "open") return "heater-open";
    return found;
}

/// "2.5": a number of the catalogue with at most one decimal.
std::string tenths(double x) {
    const long t = std::lround(x * 10);
    std::string text = std::to_string(t / 10);
    if (t % 10 != 0) {
        text += '.';
        text += std::to_string(t % 10);
    }
    return text;
}

/// Value that the handbook's formula wants beside stress and temperature.
double handbook_value(const Part& part, const Rate& rate) {
    if (rate.model == "capacitor") return part.farads.value_or(0);
    if (rate.model == "resistor") return part.rated_watts.value_or(0.5);
    if (rate.model == "lamp") return part.rated_volts.value_or(6.3);
    if (rate.model == "socket") return static_cast<double>(part.leads.size());
    return 0;
}

std::string likelihood_word(double chance, bool certain) {
    if (certain || chance >= 0.98) return "bad for certain";
    if (chance >= 0.75) return "likely";
    if (chance >= 0.2) return "possible";
    return "seldom";
}

}  // namespace

double handbook_rate(const Rate& rate, double stress_ratio, double celsius, double value) {
    const double quality = rate.quality * rate.environment;
    const double stress = std::clamp(stress_ratio, 0.0, 1.0);
    const double heat = temperature_factor(rate.activation_ev, celsius);
    if (rate.model == "capacitor") {
        const double microfarads = value * 1e6;
        const double size = microfarads > 0 ? std::pow(microfarads, rate.value_exponent) : 1;
        const double volts = rate.stress_knee > 0 ? std::pow(stress / rate.stress_knee, rate.stress_exponent) + 1 : 1;
        return rate.base * heat * size * volts * quality;
    }
    if (rate.model == "resistor") {
        const double size = value > 0 ? std::pow(value, rate.value_exponent) : 1;
        return rate.base * heat * size * rate.stress_knee * std::exp(rate.stress_exponent * stress) * quality;
    }
    // lamp: rated volts; its rate is for use between a tenth and nine tenths of the time.
    if (rate.model == "lamp")
        return rate.base * (value > 0 ? std::pow(value, rate.value_exponent) : 1) * 0.72 * quality;
    if (rate.model == "socket")
        return rate.base * (value > 1 ? std::exp(std::pow((value - 1) / 10, rate.value_exponent)) : 1) * quality;
    // relay: its temperature factor belongs to the base rate; the rest is the same product.
    return rate.base * heat * quality;
}

AgeRisk age_risk(const Part& part, const Construction& construction, const Catalogue& catalogue, int built_year,
                 int today_year, double stress_ratio, double celsius) {
    AgeRisk risk;
    const Rate* rate = catalogue.rate(construction.base_rate);
    double hazard = 0;
    if (rate != nullptr) {
        hazard = handbook_rate(*rate, stress_ratio, celsius, handbook_value(part, *rate));
        risk.base_rate_source = rate->source.text;
    } else {
        risk.base_rate_source = "no base rate in the catalogue";
    }
    risk.stress_clamped = stress_ratio > 1;
    if (risk.stress_clamped)
        risk.factors.push_back({"stress at " + std::to_string(std::lround(stress_ratio * 100)) +
                                    " % of the rating is outside the handbook's model: taken as 100 %",
                                1});

    const int from = part.since.value_or(built_year);
    double years = from > 0 ? std::max(0, today_year - from) : years_when_unknown;
    // A lamp, a battery is changed as often as it ends: without a date of its own it is no older than its service life.
    const bool consumed = (construction.kind == "lamp" || construction.kind == "battery") && !part.since &&
                          construction.median_years > 0 && years > construction.median_years;
    if (consumed) years = construction.median_years;
    double age_factor = 1;
    double chance = 0;
    if (construction.median_years > 0) {
        const double doublings = std::min(most_doublings, 2 * years / construction.median_years);
        age_factor = std::exp2(doublings);
        chance = 1 - std::exp(-std::log(2.0) * std::pow(years / construction.median_years, construction.shape));
        risk.age_law = "declared, no source: hazard doubles every " + tenths(construction.median_years / 2) +
                       " years, at most " + tenths(most_doublings) + " times; median life " +
                       tenths(construction.median_years) + " years, Weibull shape " + tenths(construction.shape);
    } else {
        risk.age_law = "no age law for this construction";
    }
    std::string why = tenths(years) + " years";
    if (part.since)
        why += " since it was replaced in " + std::to_string(*part.since);
    else if (consumed)
        why += construction.kind == "lamp"
                   ? " of service, since a lamp is changed when it burns out and no year is given"
                   : " of service, since a battery is changed when it is spent and no year is given";
    else if (from <= 0)
        why += " assumed, since the set's year is not known";
    risk.factors.push_back({why + " by the declared age law", age_factor});
    hazard *= age_factor;

    bool certain = false;
    std::string_view found_mode;
    double finding_factor = 1;
    if (!part.seen.empty()) {
        // a finding with none of the words still moves the likelihood: somebody found it worth writing down
        FindingFactor worst{"", 2, false, ""};
        for (const FindingFactor& f : findings)
            if (f.factor > worst.factor && part.seen.find(f.word) != std::string::npos) worst = f;
        // what was seen of a tube says nothing of its socket, but for char
        if (construction.kind == "socket" && !worst.mode.empty() && worst.mode != "drift") worst = {"", 1, false, ""};
        certain = worst.certain;
        // scorched, a resistor has drifted; anything else may have failed in any way
        const bool resistive = construction.kind == "resistor" || construction.kind == "control";
        if (worst.mode != "drift" || resistive) found_mode = worst.mode;
        if (construction.kind == "tube") found_mode = mode_of_a_tube(found_mode);
        finding_factor = worst.factor;
        chance = chance * worst.factor / (1 - chance + chance * worst.factor);
    }
    risk.chance = certain ? 1 : chance;
    risk.likelihood = likelihood_word(chance, certain);

    double sum = 0;
    for (const FailureMode& m : catalogue.failure_modes(construction.mode_set)) {
        const std::string mode = m.mode == "electrolyte-leak" ? "leak" : m.mode;
        risk.modes.push_back({mode, m.alpha});
        sum += m.alpha;
    }
    const bool leaks =
        construction.kind == "capacitor" && construction.aged_megohm_microfarads && construction.action != "leave" &&
        std::none_of(risk.modes.begin(), risk.modes.end(), [](const ModeShare& m) { return m.mode == "leak"; });
    if (leaks) {
        for (std::size_t i = 0; i < risk.modes.size(); ++i)
            if (risk.modes[i].mode == "short") {
                const double of_handbook = risk.modes[i].alpha;
                risk.modes[i].alpha = of_handbook * (1 - leak_share_of_short);
                risk.modes.push_back({"leak", of_handbook * leak_share_of_short});
                break;
            }
        risk.factors.push_back(
            {"the handbook's short split into leak .8 and short .2: the trade finds leakage (declared estimate)", 1});
    }
    for (std::size_t i = 0; i < risk.modes.size() && construction.kind == "tube"; ++i)
        if (risk.modes[i].mode == "heater-cathode-short") {
            const double of_table = risk.modes[i].alpha;
            risk.modes[i].alpha = of_table * (1 - leak_share_of_short);
            risk.modes.push_back({"heater-cathode-leak", of_table * leak_share_of_short});
            risk.factors.push_back({"heater to cathode split into leak .8 and short .2 (declared estimate)", 1});
            break;
        }
    if (sum > 0)
        for (ModeShare& m : risk.modes) m.alpha /= sum;
    // What is not there is open, and can fail in no other way.
    if (part.seen.find("missing") != std::string::npos)
        for (ModeShare& m : risk.modes)
            if (m.mode != "open" && m.mode != "heater-open") m.alpha = 0;
    // What was found is how the part has failed: its rate rises, and the other modes keep theirs, but for the short
    // that a leak ends in. An open capacitor is no likelier to short.
    const auto found =
        std::find_if(risk.modes.begin(), risk.modes.end(), [&](const ModeShare& m) { return m.mode == found_mode; });
    double raised = finding_factor;
    if (found != risk.modes.end()) {
        const auto factor = [&](const ModeShare& m) {
            return m.mode == found_mode           ? finding_factor
                   : m.mode == end_of(found_mode) ? std::min(finding_factor, breakdown_of_what_leaks)
                                                  : 1;
        };
        raised = 1;
        for (const ModeShare& m : risk.modes) raised += m.alpha * (factor(m) - 1);
        risk.found_mode = found->mode;
        for (ModeShare& m : risk.modes) m.alpha *= factor(m) / raised;
    }
    if (!part.seen.empty()) {
        std::string seen = "seen: " + part.seen + " (declared estimate";
        if (found != risk.modes.end()) {
            seen += "; " + tenths(finding_factor) + " times on " + found->mode;
            seen += end_of(found_mode).empty()
                        ? " alone"
                        : ", " + tenths(std::min(finding_factor, breakdown_of_what_leaks)) + " on the short it ends in";
        }
        risk.factors.push_back({seen + ")", raised});
    }
    risk.failures_per_million_hours = hazard * raised;
    return risk;
}

double aged_leak_ohms(const Part& part, const Construction& construction) {
    if (!construction.aged_megohm_microfarads || !part.farads || *part.farads <= 0) return 0;
    return *construction.aged_megohm_microfarads / *part.farads;
}

}  // namespace tubewright
