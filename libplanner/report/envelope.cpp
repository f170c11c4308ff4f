// SPDX-License-Identifier: MIT
#include "report/envelope.hpp"

#include <cmath>

#include "chassis/earth.hpp"
#include "report/bench_words.hpp"

namespace tubewright::report {
namespace {

const char* replace_word(ReplacePolicy policy) {
    switch (policy) {
        case ReplacePolicy::replace_all:
            return "replace-all";
        case ReplacePolicy::replace_risky:
            return "replace-risky";
        case ReplacePolicy::prove_each:
            return "prove-each";
    }
    return "replace-all";
}

Json settings_json(const Policy& policy) {
    Json settings;
    settings["replace"] = replace_word(policy.replace);
    settings["upper_line_volts"] = policy.upper_line_volts > 0 ? number(policy.upper_line_volts) : Json();
    settings["film_stress_limit"] = number(policy.film_stress_limit);
    settings["electrolytic_margin"] = number(policy.electrolytic_margin);
    settings["resistor_watts_margin"] = number(policy.resistor_watts_margin);
    settings["film_usual_volts"] = number(policy.film_volts_usual);
    settings["resistor_drift_limit"] = number(policy.resistor_limit);
    settings["line_tolerance"] = number(policy.line_tolerance);
    settings["tube_spread"] = number(policy.tube_spread);
    settings["working_hours"] = number(policy.working_hours);
    settings["ambient_celsius"] = number(policy.ambient_celsius);
    settings["pace"] = number(policy.pace);
    settings["fuse_family"] = text_or_null(policy.fuse_family);
    settings["year"] = policy.today_year;
    return settings;
}

}  // namespace

Json number(double value) {
    return std::isfinite(value) ? Json(value == 0 ? 0.0 : value) : Json();
}

Json number(const std::optional<double>& value) {
    return value ? number(*value) : Json();
}

Json text_or_null(const std::string& text) {
    return text.empty() ? Json() : Json(text);
}

Json strings(const std::vector<std::string>& list) {
    Json array = Json::array();
    for (const std::string& one : list) array.push_back(one);
    return array;
}

/// null where the trace does not tell; true also where a part that was seen shorted joins the metal to the line.
static Json hot_json(const Chassis& chassis) {
    if (chassis.hot() || !line_shorts(chassis).empty()) return true;
    if (chassis.family() == Family::battery || chassis.family() == Family::vehicle) return false;
    return chassis.level() >= 2 && metal_named(chassis) ? Json(false) : Json();
}

Json envelope(std::string_view command, const Study& study, const std::vector<Assumption>& own) {
    const Chassis& chassis = study.chassis();
    const Policy& policy = study.policy();
    Json json;
    json["schema"] = "tubewright/" + std::string(command) + "/1";
    json["version"] = TUBEWRIGHT_VERSION;
    json["chassis"] = {{"name", chassis.name()},           {"file", chassis.file()},
                       {"family", word(chassis.family())}, {"hot", hot_json(chassis)},
                       {"parts", chassis.parts().size()},  {"nets", chassis.nets().size()},
                       {"level", chassis.level()}};
    const bool stated = policy.line.volts.value() > 0;
    json["line_volts"] = number(stated ? policy.line.volts.value() : chassis.line().volts);
    json["line_hertz"] = number(policy.line.hertz.value() > 0 ? policy.line.hertz.value() : chassis.line().hertz);
    json["currency"] = policy.currency;
    json["meter"] = {
        {"ohms",
         policy.meter.ohms_per_volt > 0 && policy.meter.range_volts <= 0 ? Json() : number(policy.meter.ohms.value())},
        {"ohms_per_volt", policy.meter.ohms_per_volt > 0 ? number(policy.meter.ohms_per_volt) : Json()},
        {"range_volts", policy.meter.range_volts > 0 ? number(policy.meter.range_volts) : Json()}};
    json["settings"] = settings_json(policy);
    json["solver"] = Json();
    if (const Outcome<VoltsView> normal = study.volts(Scenario::normal)) {
        const SolverReport& solver = normal->solution().solver;
        json["solver"] = {{"method", solver.method},
                          {"steps_per_period", solver.steps_per_period},
                          {"worst_kcl_amps", number(solver.worst_kcl_amps)},
                          {"worst_kcl_net", solver.worst_kcl_net},
                          {"period_error_volts", number(solver.period_error_volts)},
                          {"start_points_agree", solver.start_points_agree}};
    }
    Json assumptions = Json::array();
    for (const Assumption& one : merged_assumptions(study, own))
        assumptions.push_back({{"about", one.about},
                               {"taken", one.taken},
                               {"why", one.why},
                               {"measure", one.measure},
                               {"spread", one.spread},
                               {"source", one.source}});
    json["assumptions"] = std::move(assumptions);
    json["cautions"] = strings(study.cautions());
    json["rows"] = Json::array();
    json["line_over_mark"] = number(line_over_mark(study));
    const AuditCount audit = audit_count(study.audit());
    json["audit"] = {{"stop", audit.stop}, {"doubt", audit.doubt}, {"first", text_or_null(audit.first)}};
    if (const LogHead& log = study.progress().log; !log.file.empty())
        json["log"] = {{"file", log.file},
                       {"entries", log.entries},
                       {"last", text_or_null(log.last)},
                       {"chassis_edited", log.edited},
                       {"gone", strings(log.gone)}};
    return json;
}

Answer refusal_json(Json json, const std::vector<Notice>& why) {
    std::string reasons, where, opens;
    for (const Notice& notice : why) {
        reasons += (reasons.empty() ? "" : "; ") + notice.message;
        if (!notice.remedy.empty()) opens += (opens.empty() ? "" : "; ") + notice.remedy;
        if (notice.place.line > 0)
            where += (where.empty() ? "" : "; ") + notice.place.file + ":" + std::to_string(notice.place.line) + ":" +
                     std::to_string(notice.place.column);
    }
    json["refused"] = {{"why", reasons.empty() ? std::string("not known") : reasons},
                       {"where", text_or_null(where)},
                       {"opens_when", text_or_null(opens)}};
    return {dumped(json), false, true};
}

std::string dumped(const Json& json) {
    return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace tubewright::report
