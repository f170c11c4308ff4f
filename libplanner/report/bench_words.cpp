// SPDX-License-Identifier: MIT
#include "report/bench_words.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "chassis/data.hpp"
#include "chassis/earth.hpp"
#include "policy/policy.hpp"

namespace tubewright::report {
namespace {

constexpr double line_worth_saying = 0.05;  // of the marked line, either way

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

std::string banded_alternating(double rms, double low, double high, const std::string& to) {
    const int figures = worth(rms, low, high);
    const bool narrower = rounded(low, figures) == rounded(high, figures);  // than the figures printed
    std::string text = narrower ? banded_volts(rms, rms, rms) : banded_volts(rms, low, high);
    return text.insert(text.find(" V") + 2, " ac" + (to.empty() ? to : " " + to));
}

std::string two_figures(double value) {
    if (!std::isfinite(value)) return "not known";
    constexpr double nothing = 1e-12;  // a row of noughts tells no more than one
    if (std::fabs(value) < nothing) return "0";
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
    // seconds that grow to hours are each in their own
    if (const TimeUnit own = unit_for(*low); own.seconds != unit.seconds)
        return two_figures(*low / own.seconds) + own.name + " to " + two_figures(*high / unit.seconds) + unit.name;
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

std::string off_scale_words(const Meter& meter) {
    if (meter.range_volts > 0)
        return "over the " + say(volts(meter.range_volts)) +
               " range that --meter names, and the needle lies against its stop. Take a higher range and name that "
               "one: "
               "the meter's ohms go with it.";
    return "over 1000 V, the highest range of such a meter: a probe made for it, or the parts of a divider.";
}

namespace {

bool runs_on_direct(const LineSpec& line) {
    return line.hertz <= 0 || line.supply == "dc" || line.supply == "battery";
}

/// ", 60 cycles"; " direct" where nothing alternates.
std::string cycles_of(const LineSpec& line, double hertz) {
    return runs_on_direct(line) ? " direct" : ", " + two_figures(hertz) + " cycles";
}

}  // namespace

std::string line_words(const Study& study) {
    const Policy& policy = study.policy();
    const LineSpec& own = study.chassis().line();
    const bool stated = policy.line.volts.value() > 0;
    const double v = stated ? policy.line.volts.value() : own.volts;
    const double f = policy.line.hertz.value() > 0 ? policy.line.hertz.value() : own.hertz;
    std::string text = say(volts(v)) + cycles_of(own, f);
    const bool own_cycles =
        runs_on_direct(own) || policy.line.hertz.value() <= 0 || policy.line.hertz.value() == own.hertz;
    if (!stated && !own_cycles)
        text += " (the set's is " + two_figures(own.hertz) + " cycles)";
    else if (!stated)
        text += own.volts_stated ? " (the set's own)" : " (assumed: the file gives none)";
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
        case Scenario::dial_lamp_out:
            return "dial lamp " + condition.tube + " burnt out";
        case Scenario::switch_on:
            return "the first second: lamps and filaments at their heat, heaters of cathodes cold";
        case Scenario::soak:
            return "after an hour: field and chokes at their running heat";
        case Scenario::as_found:
            return "as found, with its shorts";
        case Scenario::signal_peak:
            return std::string("output tubes driven until their grids reach their cathodes, ") +
                   (condition.no_load ? "voice coil open" : "speaker on");
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

AuditCount audit_count(const std::vector<Finding>& findings) {
    AuditCount count;
    Severity worst = Severity::note;
    for (const Finding& finding : findings) {
        if (finding.severity == Severity::note) continue;
        ++(finding.severity == Severity::doubt ? count.doubt : count.stop);
        if (worst == Severity::note || (worst == Severity::doubt && finding.severity != Severity::doubt)) {
            worst = finding.severity;
            count.first = finding.message;
        }
    }
    return count;
}

bool audit_stops(const Study& study) {
    return audit_count(study.audit()).stop > 0;
}

namespace {

/// Cycles count where there is a core.
OffLine off_its_line(const Study& study) {
    OffLine off = off_line(study.policy(), study.chassis().line().volts, study.chassis().line().hertz);
    off.cycles = off.cycles && study.chassis().family() == Family::ac_transformer;
    return off;
}

}  // namespace

std::optional<double> line_over_mark(const Study& study) {
    const double now = study.policy().line.volts.value(), mark = study.chassis().line().volts;
    if (!(now > 0) || !(mark > 0)) return std::nullopt;
    return now / mark;
}

bool stops(const Study& study) {
    const OffLine off = off_its_line(study);
    return audit_stops(study) || off.volts || off.cycles;
}

namespace {

/// The heater that stands furthest from its rating, as the set is solved at the line of the study.
struct HeaterVolts {
    double read = 0, rated = 0;
};
/// The share of a heater's volts that its branch stands across: half of it where the tap is wired; nothing where the
/// halves are not alike.
std::optional<double> share_of_heater(const Part& part) {
    for (const Pin& pin : part.type->pins) {
        const auto tap = std::find_if(pin.electrodes.begin(), pin.electrodes.end(),
                                      [](const std::string& name) { return name == "hct" || name == "htap"; });
        if (tap == pin.electrodes.end()) continue;
        const bool wired = std::any_of(part.leads.begin(), part.leads.end(),
                                       [&](const Lead& lead) { return lead.name == pin.pin && lead.net >= 0; });
        if (!wired) continue;
        if (*tap == "htap") return std::nullopt;
        return 0.5;
    }
    return 1;
}

std::optional<HeaterVolts> furthest_heater(const Study& study) {
    const Outcome<VoltsView> normal = study.volts(Scenario::normal);
    if (!normal) return std::nullopt;
    std::optional<HeaterVolts> found;
    const std::vector<Part>& parts = study.chassis().parts();
    for (const Branch& branch : normal->solution().branches) {
        const Part& part = parts[static_cast<std::size_t>(branch.part)];
        if (part.type == nullptr || !part.type->heater_volts || !branch.lead.starts_with("h.")) continue;
        const std::optional<double> share = share_of_heater(part);
        if (!share) continue;
        const HeaterVolts one{std::hypot(branch.volts_dc.value(), branch.volts_rms.value()),
                              *part.type->heater_volts * *share};
        if (!found || std::fabs(one.read / one.rated - 1) > std::fabs(found->read / found->rated - 1)) found = one;
    }
    return found;
}

void cycles_words(Page& page, const Study& study) {
    if (!off_its_line(study).cycles) return;
    constexpr double surely = 1.35;  // times its flux no core of a set has (common practice, no source)
    const double now = study.policy().line.hertz.value(), own = study.chassis().line().hertz;
    page.paragraph(fmt::format(
        "STOP: the line now is of {} cycles and the set is made for {}. {} Not one figure below is to be tried (H0).",
        two_figures(now), two_figures(own),
        own > surely * now
            ? fmt::format("The core carries {:.1f} times its flux and saturates, which the figures below "
                          "do not know: it burns.",
                          own / now)
        : now < own ? fmt::format("The core carries {:.1f} times its flux, which the figures below do not know: one "
                                  "with iron to spare runs hot, one made close saturates and burns.",
                                  own / now)
                    : std::string("The figures below know nothing of its iron there.")));
}

/// What must be known before anything on the page is believed: the trace in doubt, a line that is not the set's.
void heads_up(Page& page, const Study& study) {
    cycles_words(page, study);
    // On a line that the set is not made for the audit's figures are of no use, and its doubts false.
    const OffLine off = off_its_line(study);
    std::vector<Finding> findings = off.volts || off.cycles ? std::vector<Finding>() : study.audit();
    // Said where the answer would stand.
    std::erase_if(findings, [](const Finding& finding) { return finding.rule == "no-solution"; });
    const AuditCount audit = audit_count(findings);
    if (audit.stop + audit.doubt > 0) {
        std::string text =
            audit.stop > 0
                ? fmt::format("STOP: the audit has {} finding{} to stop for", audit.stop, audit.stop == 1 ? "" : "s") +
                      (audit.doubt > 0 ? fmt::format(" and {} in doubt", audit.doubt) : std::string())
                : fmt::format("DOUBT: the audit has {} finding{} in doubt", audit.doubt, audit.doubt == 1 ? "" : "s");
        text += ": the trace or the set is wrong there, and what follows may be. " +
                std::string(audit.stop + audit.doubt > 1 ? "The first: " : "It says: ") + audit.first;
        if (!text.ends_with('.')) text += '.';
        page.paragraph(text + " See tubewright audit.");
    }
    const std::optional<double> ratio = line_over_mark(study);
    if (!ratio || std::fabs(*ratio - 1) <= line_worth_saying) return;
    const LineSpec& mark = study.chassis().line();
    std::string text =
        fmt::format("{}the line now is {}, {:.0f} % of what the set was made for ({}{}).",
                    off_its_line(study).volts ? "STOP: " : "Look out: ", say(study.policy().line.volts), 100 * *ratio,
                    say(volts(mark.volts)), mark.volts_stated ? "" : ", assumed: the file gives none");
    if (const std::optional<HeaterVolts> heater = furthest_heater(study)) {
        const double over = heater->read / heater->rated - 1;
        text += fmt::format(" Heaters stand {:.0f} % {} ({} V where {} V is right).", 100 * std::fabs(over),
                            over < 0 ? "under" : "over", in_band(heater->read, heater->read, heater->read),
                            in_band(heater->rated, heater->rated, heater->rated));
    }
    if (text.starts_with("STOP"))
        text +=
            " Label, voltage selector and taps are settled with the supply before anything else (H0): not one "
            "figure below is to be tried.";
    page.paragraph(text);
}

}  // namespace

void set_words(Page& page, const Study& study, std::string_view what, bool with_doubts) {
    const Chassis& chassis = study.chassis();
    page.title(chassis.name(), what);
    static constexpr const char* levels[] = {"line-up only", "line-up and capacitors",
                                             "supply, output stage and capacitors", "all of it"};
    const bool off_the_line = chassis.family() == Family::battery || chassis.family() == Family::vehicle;
    // as found, before anything is mended
    std::string shorted;
    for (const std::string& id : line_shorts(chassis)) shorted += (shorted.empty() ? "" : ", ") + id;
    if (!shorted.empty())
        shorted = ", but AS FOUND THE METAL IS THE LINE: " + shorted +
                  " was seen shorted; the plug stays out until it is out";
    std::string text = family_words(chassis.family()) + "; " +
                       (chassis.hot() ? "DANGER: the line reaches the chassis or B-minus (hot)"
                        : (chassis.level() < 2 && !off_the_line) || chassis.family() == Family::unknown
                            ? "hot or isolated: NOT KNOWN from so little of a trace: treat all metal as the line"
                        : !metal_named(chassis) && !off_the_line
                            ? "hot or isolated: NOT KNOWN, no <node is=\"chassis-metal\"> says which net the metal is: "
                              "treat all metal as the line"
                            : "isolated from the line, as traced" + shorted) +
                       "; " + std::to_string(chassis.parts().size()) + " parts";
    if (chassis.built()) text += ", built " + std::to_string(*chassis.built());
    const int level = std::clamp(chassis.level(), 0, 3);
    text += "; trace of level " + std::to_string(level) + ": " + levels[level] + ".";
    page.paragraph(text);
    log_words(page, study.progress());
    if (with_doubts) heads_up(page, study);
}

void log_words(Page& page, const Progress& progress) {
    const LogHead& log = progress.log;
    for (const auto& [rule, why] : progress.overrides) page.point("OVERRIDDEN: " + rule + ": " + why);
    if (log.file.empty()) return;
    page.paragraph(fmt::format("Bench log {}: {}.", log.file,
                               log.entries == 0 ? std::string("no entry yet")
                               : log.entries == 1
                                   ? "1 entry, of " + log.last.substr(0, 10)
                                   : std::to_string(log.entries) + " entries, the last of " + log.last.substr(0, 10)));
    if (log.edited && log.gone.empty())
        page.paragraph("The chassis file was edited since that entry; every part that the log names is in it still.");
    for (const std::string& line : log.gone) page.point("DOUBT: " + line);
    if (!log.gone.empty())
        page.paragraph("Nothing of it is lost: tubewright log FILE \"OLD is now NEW\" tells the log the new name.");
}

bool metal_named(const Chassis& chassis) {
    return chassis.nodes().chassis_metal >= 0 || chassis.nodes().b_minus >= 0;
}

namespace {

/// Parts that were measured off their print: "R9 (380 k, printed 470 k)".
std::string measured_off(const Study& study) {
    std::string list;
    for (const auto& [id, read] : study.progress().found) {
        const int i = study.as_it_stands().part(id);
        if (i < 0) continue;
        const Part& part = study.as_it_stands().parts()[static_cast<std::size_t>(i)];
        const Part& right = study.chassis().parts()[static_cast<std::size_t>(i)];
        const bool capacitor = part.kind == PartKind::capacitor;
        const OptionalNumber &now = capacitor ? part.farads : part.ohms, &print = capacitor ? right.farads : right.ohms;
        if (stands_open(part) || !now || !print || *now == *print) continue;
        const auto figure = [&](double value) { return capacitor ? say(farads(value)) : say(ohms(value)); };
        list += (list.empty() ? "" : ", ") + id + " (" + figure(*now) + ", in the file " + figure(*print) + ")";
    }
    return list;
}

}  // namespace

void as_found(Page& page, const Study& study, bool with_shorts) {
    const Chassis& chassis = study.as_it_stands();
    std::string out, whole, omitted, shorts;
    for (const Part& part : chassis.parts()) {
        if (seen_shorted(part)) {
            shorts += (shorts.empty() ? "" : ", ") + part.id;
            if (with_shorts) continue;
        }
        const bool logged = part.seen == "lifted" || part.seen == "removed";
        // the audit tells of those that the file has so
        if (part.kind == PartKind::plug || (!logged && (stands_empty(part) || unplugged(part)))) continue;
        // a fuse, wire or switch is solved as whole
        const bool joins = part.kind == PartKind::wire || part.kind == PartKind::cord || part.kind == PartKind::fuse ||
                           part.kind == PartKind::power_switch;
        const bool gone = stands_open(part);
        if (!gone && !seen_useless(part)) continue;
        std::string& list = gone && !joins ? out : whole;
        if (part.seen == "omitted") {
            omitted += (omitted.empty() ? "" : ", ") + part.id;
            continue;
        }
        list += (list.empty() ? "" : ", ") + part.id + (logged ? " (" : " (seen ") + part.seen + ")";
    }
    if (!out.empty())
        page.paragraph("AS FOUND: these figures are of the set without " + out +
                       ". Threats, steps, shop and powerup are of the set with it back.");
    if (!omitted.empty()) page.paragraph("Left out on purpose, by the log: " + omitted + ".");
    if (with_shorts && !shorts.empty())
        page.paragraph("AS FOUND: in these figures " + shorts +
                       " passes from end to end. They say what the set does to itself, and are no set of readings to "
                       "take: the plug stays out until it is sound.");
    if (!whole.empty())
        page.paragraph("Taken as sound, though found otherwise: " + whole + "." +
                       (with_shorts || shorts.empty()
                            ? std::string()
                            : " volts --scenario as-found solves it with " + shorts + " shorted, as it was seen."));
    if (const std::string off = measured_off(study); !off.empty())
        page.paragraph("Taken as measured, by the log: " + off +
                       ". Threats, steps, shop and powerup are of the value in the file.");
}

void conditions(Page& page, const Study& study, bool with_meter, const Solution* solved) {
    const Chassis& chassis = study.chassis();
    const bool own_line = solved == nullptr || solved->condition.scenario == Scenario::normal;
    std::string text = "Black clip on " + reference_words(chassis) + ", clipped on with the plug out. " +
                       (chassis.line().supply == "battery" ? "Battery " : "Line ") +
                       (own_line ? line_words(study)
                                 : say(volts(solved->line_volts)) + cycles_of(chassis.line(), solved->line_hertz)) +
                       ".";
    if (with_meter) text += " Meter " + meter_words(study.policy().meter) + ".";
    bool speaker = false, control = false, radio = false;
    for (const Part& part : chassis.parts()) {
        speaker = speaker || part.plug == "speaker";
        control = control || (part.kind == PartKind::control && part.role == "volume");
        radio = radio || (part.kind == PartKind::transformer &&
                          (part.role == "rf" || part.role == "if" || part.role == "oscillator"));
    }
    const bool driven = solved != nullptr && solved->condition.scenario == Scenario::signal_peak;
    text += driven  ? " Full drive at the output grids"
            : radio ? " No signal: antenna shorted to ground"
                    : " No signal: input shorted";
    if (control) text += ", controls in the middle";
    if (solved == nullptr) {
        page.paragraph(text + ".");
        return;
    }
    const Scenario scenario = solved->condition.scenario;
    if (speaker)
        text += scenario == Scenario::speaker_unplugged || solved->condition.no_load ? ", speaker unplugged"
                                                                                     : ", speaker plugged";
    text += scenario == Scenario::warm_up || scenario == Scenario::switch_on ? ", seconds after switch-on."
            : scenario == Scenario::soak                                     ? ", an hour warm."
                                                                             : ", ten minutes warm.";
    page.paragraph(text);
    if (scenario == Scenario::normal) return;
    std::string words = scenario_words(solved->condition);
    if (solved->condition.scenario == Scenario::lamp || solved->lamp_volts > 0)
        words += ": lamp " + two_figures(solved->lamp_volts) + " V, set " + two_figures(solved->set_volts) + " V";
    page.paragraph("Condition: " + words + ".");
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

namespace {

/// How much an assumption moves, from its own words: per cent where it says so; what moves no direct volts comes last.
double weight_of(const Assumption& one) {
    const auto says = [&](const char* word) { return one.spread.find(word) != std::string::npos; };
    if (one.spread.empty() || says("no direct volts") || says("ripple") || says("nothing")) return 0;
    if (says("a factor of")) return 200;
    double most = 0;
    for (const std::string* text : {&one.spread, &one.taken}) {
        for (std::size_t at = text->find('%'); at != std::string::npos; at = text->find('%', at + 1)) {
            std::size_t from = at;
            while (from > 0 && ((*text)[from - 1] == ' ' || (*text)[from - 1] == '.' ||
                                ((*text)[from - 1] >= '0' && (*text)[from - 1] <= '9')))
                --from;
            while (from < at && (*text)[from] == ' ') ++from;
            double value = 0;
            std::from_chars(text->data() + from, text->data() + at, value);
            most = std::max(most, value);
        }
        if (most > 0) return most;
    }
    if (says("in proportion") || says("surge") || says("band")) return 10;
    if (says("some percent")) return 5;
    if (says("few percent")) return 3;
    return 1;
}

/// "T1 plate.1 turns" and "T1 plate.2 turns" as "T1 plate.1, T1 plate.2 turns": what differs, then what is alike.
std::string named_together(const std::vector<std::string>& names) {
    std::string tail = names.front();
    for (const std::string& name : names) {
        std::size_t same = 0;
        while (same < std::min(tail.size(), name.size()) &&
               tail[tail.size() - 1 - same] == name[name.size() - 1 - same])
            ++same;
        tail.erase(0, tail.size() - same);
    }
    tail.erase(0, std::min(tail.find(' '), tail.size()));
    std::string text;
    for (const std::string& name : names)
        text += (text.empty() ? "" : ", ") + name.substr(0, name.size() - tail.size());
    return text + tail;
}

}  // namespace

std::vector<Assumption> alike_together(std::vector<Assumption> list) {
    std::vector<Assumption> merged;
    std::vector<std::vector<std::string>> names;
    const auto last_word = [](const std::string& text) { return text.substr(text.rfind(' ') + 1); };
    for (Assumption& one : list) {
        std::size_t k = 0;
        while (k < merged.size() &&
               !(merged[k].taken == one.taken && merged[k].why == one.why && merged[k].spread == one.spread &&
                 merged[k].measure == one.measure && merged[k].source == one.source &&
                 one.about.find(' ') != std::string::npos && last_word(merged[k].about) == last_word(one.about)))
            ++k;
        if (k < merged.size()) {
            names[k].push_back(one.about);
        } else {
            names.push_back({one.about});
            merged.push_back(std::move(one));
        }
    }
    for (std::size_t k = 0; k < merged.size(); ++k) merged[k].about = named_together(names[k]);
    std::stable_sort(merged.begin(), merged.end(),
                     [](const Assumption& a, const Assumption& b) { return weight_of(a) > weight_of(b); });
    return merged;
}

void assumed(Page& page, const Study& study, bool all, const std::vector<Assumption>& own) {
    const std::vector<Assumption> list = alike_together(merged_assumptions(study, own));
    if (list.empty()) return;
    constexpr std::size_t shown = 6;
    page.heading("assumed, because nobody gave it");
    for (std::size_t k = 0; k < list.size() && (all || k < shown); ++k) {
        const Assumption& one = list[k];
        std::string text = one.about + ": " + one.taken;
        if (all && !one.why.empty()) text += " (" + one.why + ")";
        if (!one.spread.empty()) text += "; moves " + one.spread;
        if (!one.measure.empty()) text += "; measure: " + one.measure;
        if (all && !one.source.empty()) text += " [" + one.source + "]";
        page.point(text);
    }
    if (!all && list.size() > shown)
        page.paragraph(fmt::format("{} more, which move less; --all lists them, why each was taken, and by what rule.",
                                   list.size() - shown),
                       2);
    if (!all && list.size() <= shown) page.paragraph("--all adds why each was taken and where the rule comes from.", 2);
}

void cautions(Page& page, const std::vector<std::string>& list, bool all) {
    if (list.empty()) return;
    constexpr std::size_t in_full = 8;  // the ones that kill come first
    page.heading("take care");
    for (std::size_t i = 0; i < list.size() && (all || i < in_full); ++i) page.point(list[i]);
    if (all || list.size() <= in_full) return;
    std::string rest;
    for (std::size_t i = in_full; i < list.size(); ++i)
        rest += (rest.empty() ? "" : " ") + list[i].substr(0, list[i].find(". ")) +
                (list[i].find(". ") == std::string::npos ? "" : ".");
    page.point(rest + " What to do about each: survey, powerup or --all.");
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
