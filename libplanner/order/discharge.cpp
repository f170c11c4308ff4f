// SPDX-License-Identifier: MIT
// See discharge.hpp.
#include "order/discharge.hpp"

#include <algorithm>
#include <cmath>

#include "choice/figure.hpp"
#include "order/stage_readings.hpp"

namespace tubewright::power_up {
namespace {

using choice::listed;

constexpr double discharge_ohms = 10e3, clip_seconds = 5, empty_volts = 10;
constexpr double bleeds_within = 600;  // seconds: slower is leakage, not a bleeder (assumed)

constexpr double filament_empty = 1;      // volts: a filament of 1.4 V bears it (assumed)
constexpr double filament_store = 10e-6;  // farads: less holds nothing that burns one (assumed)

/// Of a part, what stands across it.
double across(const Part& p, const Solution& in) {
    if (p.leads.size() != 2 || p.leads[0].net < 0 || p.leads[1].net < 0) return 0;
    return std::fabs(in.nets[at(p.leads[0].net)].dc.value() - in.nets[at(p.leads[1].net)].dc.value());
}

/// A portable's electrolytics of low volts filter filaments that hang on direct current: enough to burn one out.
void filament_filters(const SetOnBench& set, const Solution& high, PowerUp& sheet) {
    if (set.chassis.family() != Family::portable) return;
    for (const std::string& id : set.electrolytics) {
        const Part& p = set.part(set.chassis.part(id));
        const double stands = across(p, high);
        if (stands <= filament_empty || stands > 60 || p.farads.value_or(0) < filament_store) continue;
        StageReading r = reading(set.name(p.leads[0].net), set.name(p.leads[1].net), "volts dc", 0, 0, filament_empty,
                                 filament_empty, "", "what is left burns out a filament: the clip again");
        r.when = "before a tube goes in or out";
        sheet.discharge.push_back(std::move(r));
        sheet.discharge_notes.push_back(id + " (" + set.name(p.leads[0].net) + "): it holds " + say(volts(stands)) +
                                        " behind the filaments, and more where one is out: the same clip on it before "
                                        "a tube goes in or out");
    }
}

}  // namespace

void discharges(const SetOnBench& set, Bench& bench, PowerUp& sheet) {
    Condition upper;
    upper.scenario = Scenario::high_line;
    const Outcome<Solution> high = bench.solve(upper);
    if (!high) return;
    std::vector<Discharge> sections;
    double farads = 0;
    for (Discharge& d : bench.discharge(*high)) {
        if (d.part < 0 || set.part(d.part).leads.size() < 2) continue;
        if (d.start.value() <= 60) continue;
        farads += set.part(d.part).farads.value_or(0);
        sections.push_back(std::move(d));
    }
    for (const char* moment : {"as the plug is pulled", "after 5 s of 10 k 10 W"})
        for (const Discharge& d : sections) {
            const Part& p = set.part(d.part);
            // No more than if every section emptied through this one clip.
            const double left = d.start.value() * std::exp(-clip_seconds / (discharge_ohms * farads));
            const bool clipped = std::string(moment).find("after") == 0;
            StageReading r =
                reading(set.name(p.leads[0].net), set.name(p.leads[1].net), "volts dc",
                        clipped ? left : d.start.value(), 0, clipped ? std::max(left, 1.0) : d.start.value(),
                        clipped ? std::optional<double>(std::max(empty_volts, 2 * left)) : std::nullopt, "",
                        clipped ? "the clip did not touch: again, and do not reach in" : "");
            r.when = moment;
            sheet.discharge.push_back(std::move(r));
        }
    // What the rest of the set draws with its tubes hot empties nothing once they are cold.
    const bool untraced = std::any_of(set.chassis.parts().begin(), set.chassis.parts().end(),
                                      [](const Part& p) { return p.kind == PartKind::untraced; });
    for (const Discharge& d : sections) {
        const Part& p = set.part(d.part);
        // Slower than a bleeder is leakage, and nobody gave that.
        const auto slow = [](Seconds t) { return t.value() < 0 || t.value() > bleeds_within; };
        std::string text = p.id + " (" + set.name(p.leads[0].net) + "): left alone ";
        if (untraced) {
            text += "count on its " + say(volts(d.start.value())) +
                    " for hours or days: what was not traced draws nothing once its tubes are cold";
            sheet.discharge_notes.push_back(text);
            continue;
        }
        if (slow(d.to_60_volts)) {
            text += "nothing bleeds its " + say(volts(d.start.value())) + ": hours or days";
        } else {
            text += "it falls from " + say(volts(d.start.value())) + " to 60 V in " + say(d.to_60_volts);
        }
        if (!slow(d.to_60_volts) && !d.through.empty()) {
            std::vector<std::string> ids;
            for (int r : d.through) ids.push_back(set.part(r).id);
            text += " through " + listed(ids) + "; with " + ids.front() + " open " +
                    (slow(d.without_first) ? "nothing bleeds it: hours or days" : "in " + say(d.without_first));
            for (int r : d.through)
                if (!set.part(r).seen.empty()) text += "; the file has " + set.part(r).id + " " + set.part(r).seen;
        }
        sheet.discharge_notes.push_back(text);
    }
    filament_filters(set, *high, sheet);
}

}  // namespace tubewright::power_up
