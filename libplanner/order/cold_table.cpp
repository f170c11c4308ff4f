// SPDX-License-Identifier: MIT
// See cold_table.hpp.
#include "order/cold_table.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "chassis/data.hpp"
#include "order/stage_readings.hpp"

namespace tubewright::power_up {
namespace {

constexpr double ohms_low = 0.8, ohms_high = 1.4;  // carbon drifts upward (assumed)
constexpr double stop_under = 0.5;                 // of the solved ohms: do not power (H19)
constexpr double open_over = 1e6;                  // ohms: an open reads more (assumed)
constexpr double heater_low = 0.7,
                 heater_high = 1.5;  // a cold heater is a sixth of its hot ohms, by the sort (assumed)

/// H19 asks for it, with what a low and a high reading say.
struct BeforePower {
    std::string low, high;
};

const std::optional<BeforePower> not_asked;

class ColdTable {
  public:
    ColdTable(const SetOnBench& set, Bench& bench, bool tubes_in, PowerStage& stage, PowerUp& sheet)
        : set_(set), bench_(bench), tubes_in_(tubes_in), stage_(stage), sheet_(sheet) {}

    void fill() {
        const NodeRoles& roles = set_.chassis.nodes();
        const bool string = set_.chassis.family() != Family::ac_transformer && tubes_in_;
        if (string) {
            add_cold(roles.line_hot, roles.line_neutral, false, false,
                     BeforePower{"a link of the string is shorted, or something stands across the line: do not power",
                                 "a link is open: each heater by itself below, the dial lamp, the cord, the switch"});
            widen(roles.line_hot, roles.line_neutral);
            heaters();
        } else {
            add_cold(roles.line_hot, roles.line_neutral, false, false);
        }
        metal_rows();
        if (!set_.vibrators.empty()) a_lead();
        if (string) widen(roles.line_hot, set_.metal());
        windings();
        iron();
        supply();
        heater_windings();
        pins();
        words();
    }

  private:
    // From a blade and from B-minus to a metal that is neither: what joins them passes the touch current.
    void metal_rows() {
        const int line = set_.chassis.nodes().line_hot, ref = set_.chassis.reference(), metal = set_.metal();
        const bool apart = set_.chassis.hot() && metal != ref;
        for (const int from : {line, ref}) {
            if (from == ref && !apart) continue;
            const std::size_t before = sheet_.cold_ohms.size();
            const double least = touch_least_ohms(set_);
            const std::optional<BeforePower> leaks =
                BeforePower{"the bypass leaks: the metal is the line; and under " + say(ohms(least)) +
                                " it passes the touch limit whatever leaks: the resistor that touch current asks for",
                            "the resistor from B-minus to the metal has gone high"};
            add_cold(from, metal, false, true, apart ? leaks : not_asked);
            if (!apart || sheet_.cold_ohms.size() == before) continue;
            ColdOhms& c = sheet_.cold_ohms.back();
            if (c.ohms && *c.ohms > least) {
                c.stop_below = least;
                c.low = std::max(c.low.value_or(least), least);
            }
        }
    }

    void windings() {
        if (set_.transformer < 0) return;
        const Part& t = set_.part(set_.transformer);
        for (const PartWinding& w : t.windings) {
            // of the line it is read at the plug
            if (w.role == WindingRole::primary && set_.vibrators.empty()) continue;
            for (std::size_t k = 0; k + 1 < w.leads.size(); ++k) {
                const int from = t.leads[at(w.leads[k])].net, to = t.leads[at(w.leads[k + 1])].net;
                const bool first_half = w.leads.size() == 3 && k == 0;
                add_cold(first_half ? from : to, first_half ? to : from, false, false);
            }
        }
    }

    // Fields, chokes, the windings of output and interstage transformers, a resistance cord: each by itself, since what
    // H21 shows is continuity alone.
    void iron() {
        for (const Part& p : set_.chassis.parts()) {
            if (stands_open(p)) continue;
            const bool winding = p.kind == PartKind::coil && (p.role == "field" || p.role == "choke");
            if ((winding || (p.kind == PartKind::cord && p.ohms.value_or(0) > 1)) && p.leads.size() > 1)
                add_cold(p.leads[0].net, p.leads[1].net, false, false,
                         BeforePower{winding ? p.id + ": shorted turns, or a leak across it"
                                             : p.id + ": it was cut short: heaters and lamp get more than their volts",
                                     p.id + " is open, or its plug makes no contact"});
            if (p.kind != PartKind::transformer || (p.role != "output" && p.role != "interstage")) continue;
            for (const PartWinding& w : p.windings) {
                if (w.role == WindingRole::output_secondary) continue;
                for (std::size_t k = 0; k + 1 < w.leads.size(); ++k)
                    add_cold(p.leads[at(w.leads[k])].net, p.leads[at(w.leads[k + 1])].net, false, false,
                             BeforePower{p.id + ": shorted turns, or a leak across it",
                                         p.id + (w.role == WindingRole::interstage_secondary
                                                     ? " is open: the grid has no return"
                                                     : " is open: the plate is not fed, and a screen takes it all")});
            }
        }
    }

    void supply() {
        const int ref = set_.chassis.reference(), metal = set_.metal();
        for (int f : set_.filters)
            for (const int to : {ref, metal}) add_cold(f, to, true, false, BeforePower{});
        if (const int tap = set_.centre_tap(); tap >= 0) {  // below the reference it makes the bias
            add_cold(tap, ref, false, false,
                     set_.biased
                         ? BeforePower{"what makes the bias is shorted: the output tube has none; do not power",
                                       "the bias resistor has gone high or open: all the direct current returns "
                                       "by it"}
                         : BeforePower{"",
                                       "all the direct current returns there: a fuse, a lead or a joint is "
                                       "open; a blown fuse has a cause behind it"});
            for (ColdOhms& c : sheet_.cold_ohms)
                if (!set_.biased && c.at == set_.name(tap)) c.stop_below.reset();
        }
    }

    void heater_windings() {
        if (set_.transformer < 0) return;
        const int metal = set_.metal();
        const Part& t = set_.part(set_.transformer);
        for (const PartWinding& w : t.windings)
            if (w.role == WindingRole::heater || w.role == WindingRole::rectifier_heater)
                for (int k : w.leads)
                    add_cold(t.leads[at(k)].net, metal, false, true,
                             BeforePower{"the heater winding touches the metal where it should not",
                                         "the joint from the heater winding to the metal is open"});
    }

    // A vehicle's A lead to the case, all that it feeds out of its sockets: what is left of it is a short.
    void a_lead() {
        for (const Part& p : set_.chassis.parts()) {
            if (p.kind != PartKind::battery || p.leads.size() != 2) continue;
            const int live = p.leads[0].net == set_.metal() ? p.leads[1].net : p.leads[0].net;
            before_power_.emplace(
                sheet_.cold_ohms.size(),
                BeforePower{"the A lead is shorted to the case: spark plate, hash capacitor, a chafed "
                            "lead; do not power",
                            ""});
            ColdOhms c;
            c.at = set_.name(live);
            c.to = set_.name(set_.metal());
            c.stop_below = open_over;
            c.before_power = true;
            sheet_.cold_ohms.push_back(std::move(c));
        }
    }

    // Cold, each link of a string is a few ohms to some tens: the open one shows.
    void heaters() {
        for (const Part& p : set_.chassis.parts()) {
            if (p.kind != PartKind::socket || !p.type || p.fitted == "none") continue;
            int from = -1, to = -1;
            std::string from_pin, to_pin;
            for (const Lead& l : p.leads) {
                const Pin* pin = p.type->pin(l.name);
                if (!pin || l.net < 0 || pin->electrodes.front()[0] != 'h') continue;
                if (pin->electrodes.front() == "htap" || pin->electrodes.front() == "hct") continue;
                (from < 0 ? from_pin : to_pin) = p.id + "." + l.name.str();
                (from < 0 ? from : to) = l.net;
            }
            if (from < 0 || to < 0 || from == to) continue;
            add_cold(from, to, false, false, BeforePower{"", "this heater is open, or its pins make no contact"});
            for (ColdOhms& c : sheet_.cold_ohms)
                if (c.at == set_.name(from) && c.to == set_.name(to)) c.stop_below.reset();
            widen(from, to);
            for (ColdOhms& c : sheet_.cold_ohms)
                if (c.at == set_.name(from) && c.to == set_.name(to)) {
                    c.at = from_pin;
                    c.to = to_pin;
                }
        }
    }
    void widen(int from, int to) {
        for (ColdOhms& c : sheet_.cold_ohms)
            if (c.ohms && c.at == set_.name(from) && c.to == set_.name(to)) {
                c.low = *c.ohms * heater_low;
                c.high = *c.ohms * heater_high;
            }
    }

    void pins() {
        const int ref = set_.chassis.reference();
        for (const Part& p : set_.chassis.parts()) {
            if (p.kind != PartKind::socket || !p.type) continue;
            for (const Lead& l : p.leads) {
                const Pin* pin = p.type->pin(l.name);
                if (!pin || l.net < 0 || l.net == ref) continue;
                const std::string& e = pin->electrodes.front();
                // pulled, a filament joins nothing
                if (!tubes_in_ && e[0] == 'h' && (p.type->directly_heated || !set_.vibrators.empty())) continue;
                // the links of a string are read each by itself
                if (tubes_in_ && set_.transformer < 0 && (e[0] == 'h' || set_.duties.line[at(l.net)])) continue;
                const bool tied = std::any_of(p.leads.begin(), p.leads.end(), [&](const Lead& other) {
                    const Pin* its = p.type->pin(other.name);
                    return other.net == l.net && its && its->electrodes.front()[0] == 'k';
                });
                std::optional<BeforePower> asked;
                if (e[0] == 'g' && set_.duties.fed[at(l.net)])
                    asked = BeforePower{};
                else if (e[0] == 'g' && !tied)
                    asked = BeforePower{"a leak or a short beside the grid's return",
                                        "its return is open: a tube without it runs away; do not power"};
                else if (e[0] == 'k' && set_.is_output(p))
                    asked = BeforePower{"the bypass is shorted: the tube has no bias; do not power",
                                        "the cathode resistor has gone high or open"};
                add_cold(l.net, ref, set_.duties.fed[at(l.net)] && e[0] != 'h', false, asked);
            }
        }
    }

    void words() {
        for (std::size_t i = 0; i < sheet_.cold_ohms.size(); ++i) {
            const ColdOhms& c = sheet_.cold_ohms[i];
            if (!c.stop_below && !c.before_power) continue;
            BeforePower words = before_power_.count(i) ? before_power_.at(i) : BeforePower{};
            if (set_.wiper_ohms(set_.chassis.net(c.at), set_.chassis.net(c.to)) > 0) {
                words.low.clear();
                words.high = "more than all of the control, turned from end to end: " + words.high;
            }
            if (c.stop_below && words.low.empty())
                words.low = "something on this section is shorted still; do not power";
            if (c.ohms && words.high.empty())
                words.high = "a drifted resistor or an open joint; the set may still be powered";
            const bool joined_to_metal = c.ohms && *c.ohms < 1;  // a grounded heater leg can only come off
            if (joined_to_metal) words.low.clear();
            if (!c.ohms || (!joined_to_metal && words.high.find("heater winding") != std::string::npos))
                words.high.clear();
            // An open is a lower limit: the meter shows its top, or a leak.
            const double most = 1e9;
            stage_.readings.push_back(reading(c.at, c.to, "ohms", c.ohms.value_or(most),
                                              c.low.value_or(c.stop_below.value_or(open_over)), c.high.value_or(most),
                                              c.stop_below, words.low, words.high));
        }
    }

    void add_cold(int from, int to, bool b_plus, bool expect_open,
                  const std::optional<BeforePower>& before_power = not_asked) {
        if (from < 0 || to < 0 || from == to) return;
        const auto [known, fresh] = cold_seen_.emplace(std::minmax(from, to), sheet_.cold_ohms.size());
        if (before_power) before_power_.emplace(known->second, *before_power);
        if (!fresh) {
            sheet_.cold_ohms[known->second].before_power |= before_power.has_value();
            return;
        }
        ColdOhms c;
        c.before_power = before_power.has_value();
        c.at = set_.name(from);
        c.to = set_.name(to);
        // Where no copper joins the two, whatever the equations hold a floating part in place with is no reading.
        const bool joined = set_.copper.reached({from})[at(to)];
        const Outcome<Ohms> r = joined ? bench_.cold_ohms(from, to) : Outcome<Ohms>{};
        const double turn = set_.wiper_ohms(from, to);
        if (r && std::isfinite(r->value()) && turn > 0) {
            // From nothing to all of the control as it is turned: neither end says anything of a leak.
            c.ohms = turn;
            c.low = 0;
            c.high = turn * ohms_high;
        } else if (r && std::isfinite(r->value())) {
            c.ohms = r->value();
            c.low = *c.ohms * ohms_low;
            c.high = *c.ohms * ohms_high;
            if (b_plus || (before_power && *c.ohms >= 1)) c.stop_below = *c.ohms * stop_under;
        } else if (b_plus || expect_open) {
            c.stop_below = b_plus ? 100e3 : open_over;
        }
        sheet_.cold_ohms.push_back(std::move(c));
    }

    const SetOnBench& set_;
    Bench& bench_;
    bool tubes_in_;
    PowerStage& stage_;
    PowerUp& sheet_;
    std::map<std::pair<int, int>, std::size_t> cold_seen_;  // net pair to its row
    std::map<std::size_t, BeforePower> before_power_;
};

}  // namespace

void cold_table(const SetOnBench& set, Bench& bench, bool tubes_in, PowerStage& stage, PowerUp& sheet) {
    ColdTable(set, bench, tubes_in, stage, sheet).fill();
}

}  // namespace tubewright::power_up
