// SPDX-License-Identifier: MIT
// See fuse.hpp.
#include "choice/fuse.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "choice/figure.hpp"
#include "choice/safety.hpp"
#include "threat/protection.hpp"

namespace tubewright::choice {
namespace {

constexpr double runs_at = 0.9;           // of its rating at the upper line, at most
constexpr double practice_at = 0.75;      // of a UL rating, for years without nuisance (common practice)
constexpr double ul_surge_borne = 2.0;    // times a UL time-lag rating: holds five seconds at least (as quoted)
constexpr double iec_surge_borne = 2.75;  // times an IEC time-lag rating: .6 s at least (as quoted)
constexpr double vehicle_runs_at = 0.75;  // of a vehicle fuse's rating, for years on the road (common practice)
const std::string vehicle_family = "vehicle 32 V";
constexpr double ul_hour_at = 1.35;  // times its rating, within the hour (recalled)
constexpr std::size_t unseen_named = 4;

std::size_t at(int i) {
    return static_cast<std::size_t>(i);
}

/// Which harmful faults leave it whole, or whole for up to an hour, a part once, with the amperes. `hour`: times its
/// rating at which it must open within the hour; 0 where the family has no such mark.
std::string unseen_words(const std::vector<const Threat*>& rows, double rated, double opens_at, double hour) {
    if (rows.empty()) return {};
    std::vector<std::string> never, slowly;
    std::size_t more = 0;
    bool some_seen = false;
    for (const Threat* t : rows) {
        if (t->drawn_amps_rms >= opens_at * rated) {
            some_seen = true;
            continue;
        }
        std::vector<std::string>& names = hour > 0 && t->drawn_amps_rms >= hour * rated ? slowly : never;
        if (names.size() < unseen_named)
            names.push_back(t->fault.id + " (" + say(amps(t->drawn_amps_rms)) + ")");
        else
            ++more;
    }
    if (never.empty() && slowly.empty()) return "; opens for every harmful fault in the list of threats";
    std::string text;
    const auto list = [&](const char* head, const std::vector<std::string>& names) {
        for (std::size_t k = 0; k < names.size(); ++k) text += (k == 0 ? head : ", ") + names[k];
    };
    list("; does not see: ", never);
    list("; may take up to an hour for: ", slowly);
    if (more > 0) text += " and " + std::to_string(more) + " more";
    text += "; it opens surely at " + say(amps(opens_at * rated));
    if (hour > 0) text += ", within two minutes, and at " + say(amps(hour * rated)) + " within the hour (recalled)";
    return text + (some_seen ? "" : "; no harmful fault reaches the first");
}

}  // namespace

namespace {

/// What is wrong with the next smaller one where the surge decides.
std::string below_by_surge(const Catalogue& catalogue, const FuseSize& size, double surge, double borne) {
    double below = 0;
    for (const FuseRow& f : catalogue.fuses())
        if (f.family.rfind(size.family, 0) == 0 && f.amps < size.rated) below = std::max(below, f.amps);
    if (below <= 0) return {};
    return say(amps(below)) + " would see " + figure(surge / below, 1) + " times its rating from cold heaters, limit " +
           figure(borne, 2);
}

/// In the A lead: by the ampere ladder of its own kind; a house fuse of 250 V may not clear at 6 V, nor is it made for
/// it.
FuseSize vehicle_fuse(const Catalogue& catalogue, double amps_drawn) {
    FuseSize size;
    size.family = vehicle_family;
    double below = 0;
    for (const FuseRow& f : catalogue.fuses()) {
        if (f.family != vehicle_family) continue;
        if (f.amps * vehicle_runs_at < amps_drawn)
            below = std::max(below, f.amps);
        else if (size.rated == 0 || f.amps < size.rated)
            size.rated = f.amps;
    }
    if (size.rated == 0) return size;
    size.why = say(amps(amps_drawn)) + " from the highest battery, " + figure(amps_drawn / size.rated, 2) +
               " of its rating; a vibrator that sticks opens it";
    if (below > 0)
        size.fails = say(amps(below)) + " would run at " + figure(amps_drawn / below, 2) + " of its rating, limit " +
                     figure(vehicle_runs_at, 2) + " (common practice)";
    return size;
}

}  // namespace

FuseSize fuse_size(const Chassis& chassis, const Catalogue& catalogue, const Policy& policy, double line_amps,
                   std::span<const Threat> threats, double surge) {
    FuseSize size;
    size.family = !policy.fuse_family.empty()               ? policy.fuse_family
                  : upper_line_volts(chassis, policy) < 150 ? "UL 248-14"
                                                            : "IEC 60127-2 sheet 3";
    if (line_amps <= 0) return size;
    if (chassis.family() == Family::vehicle && policy.fuse_family.empty()) return vehicle_fuse(catalogue, line_amps);
    // So traced the transformer burns with nothing wrong: no fuse is sized on that.
    const double volts = upper_line_volts(chassis, policy), own = chassis.line().volts;
    const double most = most_overload * chassis.transformer_va() * (own > 0 ? volts * volts / (own * own) : 1);
    if (most > 0 && line_amps * volts > most) {
        size.overloaded = true;
        return size;
    }
    const std::vector<const Threat*> rows = threat::harmful_rows(chassis, threats);
    const bool ul = threat::is_ul(size.family);
    const double borne = ul ? ul_surge_borne : iec_surge_borne;
    const threat::FuseSizes sizes =
        threat::sizes_for(catalogue, size.family, std::max(line_amps, surge / borne * runs_at), rows);
    size.rated = sizes.chosen;
    size.tabled = std::any_of(catalogue.fuses().begin(), catalogue.fuses().end(),
                              [&](const FuseRow& f) { return f.family.rfind(size.family, 0) == 0; });
    if (size.rated == 0) return size;
    if (surge / borne > line_amps / runs_at) {
        size.why = say(amps(line_amps)) + " at the upper line, " + figure(line_amps / size.rated, 2) +
                   " of its rating; cold heaters draw " + say(amps(surge)) + " in the first second, " +
                   figure(surge / size.rated, 1) + " times it, under the " + figure(borne, 2) +
                   " at which one may open within seconds";
        size.fails = below_by_surge(catalogue, size, surge, borne);
        size.unseen = unseen_words(rows, size.rated, threat::surely_opens_at(size.family), ul ? ul_hour_at : 0);
        return size;
    }
    const double opens_at = threat::surely_opens_at(size.family);
    std::string margin;
    const double smallest = sizes.smallest;
    if (sizes.chosen > smallest)
        margin = "; " + say(amps(smallest)) + " would run at " + figure(line_amps / smallest, 2) +
                 ", within the limit of " + figure(runs_at, 1) + " but past the " + figure(practice_at, 2) +
                 " of common practice, and would open for no harmful fault that this one misses";
    else if (ul && line_amps > smallest * practice_at && !rows.empty())
        margin =
            "; common practice is " + figure(practice_at, 2) + " or less" +
            (sizes.next_sees_less ? ", but " + say(amps(sizes.next)) + " would miss harmful faults that this one sees"
                                  : "");
    size.why =
        say(amps(line_amps)) + " at the upper line, " + figure(line_amps / size.rated, 2) + " of its rating" + margin;
    size.unseen = unseen_words(rows, size.rated, opens_at, ul ? ul_hour_at : 0);
    double below = 0;
    for (const FuseRow& f : catalogue.fuses())
        if (f.family.rfind(size.family, 0) == 0 && f.amps < size.rated) below = std::max(below, f.amps);
    if (below > 0)
        size.fails = say(amps(below)) + " would run at " + figure(line_amps / below, 2) + " of its rating, limit " +
                     figure(below < smallest ? runs_at : practice_at, below < smallest ? 1 : 2);
    return size;
}

double line_amps(std::span<const PartStress> stress, int part, std::string_view lead) {
    double most = 0;
    for (const PartStress& s : stress)
        if (s.part == part && (s.lead == lead || (!lead.empty() && s.lead.starts_with(std::string(lead) + "."))))
            for (const StressAt& a : s.scenarios)
                if (a.scenario == "normal" || a.scenario == "high-line") most = std::max(most, a.ripple_amps_rms);
    return most;
}

double plate_peak(const Chassis& chassis, const Policy& policy, const Part& fuse) {
    double most = 0;
    if (fuse.kind != PartKind::fuse) return most;
    const double upper = upper_line_volts(chassis, policy);
    for (const Part& t : chassis.parts())
        for (const PartWinding& w : t.windings) {
            if (w.role != WindingRole::plate) continue;
            const bool here = std::any_of(w.leads.begin(), w.leads.end(), [&](int k) {
                const int net = t.leads[at(k)].net;
                return net >= 0 &&
                       std::any_of(fuse.leads.begin(), fuse.leads.end(), [&](const Lead& l) { return l.net == net; });
            });
            if (!here) continue;
            most = std::max(most, threat::open_peak(chassis, w, upper));
        }
    return most;
}

}  // namespace tubewright::choice
