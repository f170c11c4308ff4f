// SPDX-License-Identifier: MIT
#include "report/bench_words.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

namespace tubewright::report {
namespace {

/// x rounded to a multiple of 10^exponent, without trailing zeros after the point.
std::string rounded(double x, int exponent) {
    const double step = std::pow(10.0, exponent);
    double r = std::round(x / step) * step;
    if (r == 0) r = 0;  // no minus before zero
    if (exponent >= 0) return fmt::format("{:.0f}", r);
    std::string text = fmt::format("{:.{}f}", r, -exponent);
    while (text.back() == '0') text.pop_back();
    if (text.back() == '.') text.pop_back();
    return text;
}

int decade(double x) {
    return x > 0 ? static_cast<int>(std::floor(std::log10(x) + 1e-9)) : -3;
}

/// The exponent to which a value in a band is worth printing.
int worth(double value, double low, double high) {
    const double half = (high - low) / 2;
    const int by_band = half > 0 ? decade(half) - 1 : -6;
    const int three_figures = decade(std::max(std::fabs(value), 1e-3)) - 2;
    return std::clamp(std::max(by_band, three_figures), -3, 3);
}

}  // namespace

std::string in_band(double value, double low, double high) {
    return rounded(value, worth(value, low, high));
}

std::string banded_volts(double value, double low, double high) {
    if (!(high > low)) return rounded(value, worth(value, value, value)) + " V";
    const int exponent = worth(value, low, high);
    return rounded(value, exponent) + " V (" + rounded(low, exponent) + " to " + rounded(high, exponent) + ")";
}

std::string two_figures(double value) {
    if (!std::isfinite(value)) return "not known";
    if (value == 0) return "0";
    int exponent = decade(std::fabs(value)) - 1;
    if (std::round(std::fabs(value) / std::pow(10.0, exponent)) >= 100) ++exponent;
    return rounded(value, exponent);
}

namespace {

struct TimeUnit {
    double seconds;
    const char* name;
};
TimeUnit unit_for(double seconds) {
    if (seconds >= 7200) return {3600, " h"};
    if (seconds >= 120) return {60, " min"};
    return {1, " s"};
}

}  // namespace

std::string time_range(const std::optional<double>& low, const std::optional<double>& high) {
    if (!low && !high) return "never";
    const TimeUnit unit = unit_for(high ? *high : *low);
    if (!high) return two_figures(*low / unit.seconds) + unit.name + " or never";
    if (!low) return "within " + two_figures(*high / unit.seconds) + unit.name;
    const std::string a = two_figures(*low / unit.seconds), b = two_figures(*high / unit.seconds);
    return (a == b ? a : a + " to " + b) + unit.name;
}

std::string electrode_words(const std::string& lead) {
    const std::size_t dot = lead.find('.');
    if (dot == std::string::npos) return lead;
    const std::string electrode = lead.substr(0, dot), pin = lead.substr(dot + 1);
    const bool is_pin = !pin.empty() && (pin == "cap" || (pin.front() >= '0' && pin.front() <= '9'));
    return is_pin ? electrode + ", pin " + pin : electrode + " (" + pin + ")";
}

std::string reference_words(const Chassis& chassis) {
    const int net = chassis.reference();
    if (net < 0) return "the set's reference net";
    const NodeRoles& roles = chassis.nodes();
    std::string text = chassis.nets()[static_cast<std::size_t>(net)].name;
    if (net == roles.chassis_metal && net == roles.b_minus) return text + " (chassis metal and B-minus)";
    if (net == roles.chassis_metal) return text + " (chassis metal)";
    if (net == roles.b_minus) return text + " (B-minus, not the chassis)";
    return text;
}

std::string meter_words(const Meter& meter) {
    if (meter.ohms_per_volt > 0) {
        const std::string kind = say(ohms(meter.ohms_per_volt)) + " a volt";
        return meter.range_volts > 0 ? kind + " on its " + say(volts(meter.range_volts)) + " range"
                                     : kind + ", each reading on the next range above of 2.5 10 50 250 500 1000 V";
    }
    return say(meter.ohms);
}

std::string line_words(const Study& study) {
    const Policy& policy = study.policy();
    const LineSpec& own = study.chassis().line();
    const bool stated = policy.line.volts.value() > 0;
    const double v = stated ? policy.line.volts.value() : own.volts;
    const double f = policy.line.hertz.value() > 0 ? policy.line.hertz.value() : own.hertz;
    std::string text = say(volts(v)) + ", " + two_figures(f) + " cycles";
    if (!stated) text += own.volts_stated ? " (the set's own)" : " (assumed: the file gives none)";
    return text;
}

std::string scenario_words(const Condition& condition) {
    switch (condition.scenario) {
        case Scenario::normal:
            return "normal";
        case Scenario::high_line:
            return "upper line limit";
        case Scenario::warm_up:
            return "warm-up: rectifier hot, tubes cold, upper line limit";
        case Scenario::rectifier_out:
            return "rectifier pulled";
        case Scenario::transformer_alone:
            return "transformer alone: tubes and dial lamps out";
        case Scenario::tube_out:
            return condition.tube + " pulled (on paper)";
        case Scenario::speaker_unplugged:
            return "speaker unplugged, upper line limit";
        case Scenario::output_cut_off:
            return "output tube cut off";
        case Scenario::lamp:
            return "behind a lamp of " + say(watts(condition.lamp_watts)) + " for " + say(volts(condition.lamp_volts));
        case Scenario::step:
            return "line at " + say(volts(condition.line_volts));
    }
    return condition.text();
}

std::string family_words(Family family) {
    switch (family) {
        case Family::ac_transformer:
            return "alternating current with a power transformer";
        case Family::series_string:
            return "series string on the line, no power transformer";
        case Family::floating_b_minus:
            return "series string with a B-minus that floats off the chassis";
        case Family::doubler:
            return "voltage doubler on the line";
        case Family::portable:
            return "portable, battery or line";
        case Family::vehicle:
            return "vehicle set";
        case Family::battery:
            return "battery set";
        case Family::unknown:
            return "family not known from this trace";
    }
    return "family not known from this trace";
}

void set_words(Page& page, const Study& study, std::string_view what) {
    const Chassis& chassis = study.chassis();
    page.title(chassis.name(), what);
    static constexpr const char* levels[] = {"line-up only", "line-up and capacitors",
                                             "supply, output stage and capacitors", "all of it"};
    std::string text = family_words(chassis.family()) + "; " +
                       (chassis.hot() ? "DANGER: the line reaches the chassis or B-minus (hot)"
                                      : "isolated from the line, as traced") +
                       "; " + std::to_string(chassis.parts().size()) + " parts";
    if (chassis.built()) text += ", built " + std::to_string(*chassis.built());
    text += "; traced: " + std::string(levels[std::clamp(chassis.level(), 0, 3)]) + ".";
    page.paragraph(text);
}

void conditions(Page& page, const Study& study, bool with_meter) {
    const Chassis& chassis = study.chassis();
    std::string text =
        "Black clip on " + reference_words(chassis) + ", clipped on with the plug out. Line " + line_words(study) + ".";
    if (with_meter) text += " Meter " + meter_words(study.policy().meter) + ".";
    bool speaker = false, control = false, radio = false;
    for (const Part& part : chassis.parts()) {
        speaker = speaker || part.plug == "speaker";
        control = control || (part.kind == PartKind::control && part.role == "volume");
        radio = radio || (part.kind == PartKind::transformer &&
                          (part.role == "rf" || part.role == "if" || part.role == "oscillator"));
    }
    text += radio ? " No signal: antenna shorted to ground" : " No signal: input shorted";
    if (control) text += ", volume full up";
    if (speaker) text += ", speaker plugged";
    text += ", ten minutes warm.";
    page.paragraph(text);
}

std::vector<Assumption> merged_assumptions(const Study& study, const std::vector<Assumption>& own) {
    std::vector<Assumption> list = study.assumptions();
    for (const Assumption& one : own) {
        const bool known = std::any_of(list.begin(), list.end(), [&](const Assumption& other) {
            return other.about == one.about && other.taken == one.taken;
        });
        if (!known) list.push_back(one);
    }
    return list;
}

void assumed(Page& page, const Study& study, bool all, const std::vector<Assumption>& own) {
    const std::vector<Assumption> list = merged_assumptions(study, own);
    if (list.empty()) return;
    page.heading("assumed, because nobody gave it");
    for (const Assumption& one : list) {
        std::string text = one.about + ": " + one.taken;
        if (all && !one.why.empty()) text += " (" + one.why + ")";
        if (!one.spread.empty()) text += "; moves " + one.spread;
        if (!one.measure.empty()) text += "; measure: " + one.measure;
        if (all && !one.source.empty()) text += " [" + one.source + "]";
        page.point(text);
    }
    if (!all) page.paragraph("--all adds why each was taken and where the rule comes from.", 2);
}

void cautions(Page& page, const std::vector<std::string>& list, bool all) {
    if (list.empty()) return;
    constexpr std::size_t shown = 8;  // the ones that kill come first
    page.heading("take care");
    for (std::size_t i = 0; i < list.size() && (all || i < shown); ++i) page.point(list[i]);
    if (!all && list.size() > shown)
        page.paragraph(
            fmt::format("and {} more, on what old parts hold and how they hurt: survey and powerup print them all.",
                        list.size() - shown),
            2);
}

void doubts(Page& page, const std::vector<Notice>& notices) {
    for (const Notice& notice : notices) {
        if (notice.severity == Severity::note) continue;
        page.point("DOUBT: " + notice.message + (notice.remedy.empty() ? std::string() : "; " + notice.remedy));
    }
}

Answer refused(const Study& study, std::string_view what, const std::vector<Notice>& why,
               const ReportOptions& options) {
    Page page(options.colour);
    set_words(page, study, what);
    page.heading("no answer");
    for (const Notice& notice : why) {
        page.point("STOP: " + notice.message +
                   (notice.remedy.empty() ? std::string() : ". What to do: " + notice.remedy));
    }
    if (why.empty()) page.point("STOP: the reason is not known");
    cautions(page, study.cautions(), options.all);
    return {page.take(), false, true};
}

}  // namespace tubewright::report
