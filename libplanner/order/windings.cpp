// SPDX-License-Identifier: MIT
// Is the power transformer sound: volts of its windings with the rectifier out, read at a known line. The line's ratio
// is given; what is left of each reading, its residual, is a no-load rise. A winding marked by its loaded volts may
// rise by 0 to 10 % (a light one, or one that still carries its heaters, by 0 to 5 %), one marked by a no-load reading
// not at all. Which state each winding is in follows by Bayes from there, with one error common to all (line misread,
// primary on another tap) as a further unknown; the halves of a plate winding have the same turns to 3 %.
//
//     read 340 where 312 are marked for 110 V, at 120 V: 340/312 = 1.0897, over 1.0909: a rise of -0.1 %, healthy
//
// One shorted turn of hundreds is not seen in volts: it is declared by watts or by heat after half an hour, never by
// amperes. What a heater will stand at in service is its reading less what the solved set takes between the two.
// Priors are declared, not sourced. Test: tests/order/windings_test.cpp.
#include <algorithm>
#include <array>
#include <cmath>

#include "chassis/data.hpp"
#include "choice/figure.hpp"
#include "order/numbers.hpp"
#include "order/order.hpp"
#include "order/set_on_bench.hpp"
#include "policy/policy.hpp"

namespace tubewright {
namespace {

using choice::figure;

constexpr double most_rise = 0.10, light_rise = 0.05;  // of loaded volts (common practice, no source)
constexpr double light_share = 0.1;                    // of the transformer's VA: a light winding (declared)
constexpr double sigma = 0.012;                        // meter and line together (declared)
constexpr double halves_apart = 0.03;                  // in volts (common practice)
constexpr double halves_sigma = 0.01;                  // two readings of one meter at one line (declared)
constexpr double hidden_share = 0.4;   // of shorts that take too few turns to be seen in volts (declared)
constexpr double common_prior = 0.05;  // line misread or primary on another tap (declared)
constexpr double common_least = 0.75, common_most = 1.25, common_step = 0.005;
constexpr double open_under = 0.08;    // of its volts: an open winding reads no more
constexpr double outside = 3 * sigma;  // beyond its prior by more than meter and line may be off
constexpr double evidence = 80;        // odds by which watts or heat speak for or against shorted turns (declared)
constexpr double core_over = 1.875;    // of the assumed core's watts: its band, and a quarter more
constexpr double told_over = 0.8;      // of the weight: it is said outright (declared)
constexpr double heater_band = 0.10;   // in service (recalled, of tube manuals)
constexpr double as_marked = 0.05;     // of an unread winding's volts over its mark, either way (declared, no source)
constexpr double fall_spread = 0.2;    // of the solved fall: what the tubes draw may be off by as much
constexpr double in_low = 0.02, in_high = 0.05, out_low = 0.03, out_high = 0.10;  // heaters fall in service (practice)

enum State { healthy, shorted, wrong_tap, open_circuit, states };
constexpr std::array<const char*, states> state_words{"healthy", "shorted turns", "wrong tap", "open"};
constexpr std::array<double, states> state_priors{0.90, 0.05, 0.03, 0.02};
using Weights = std::array<double, states>;

std::size_t at(int i) {
    return static_cast<std::size_t>(i);
}
double below(double x) {
    return 0.5 * std::erfc(-x / sigma / std::sqrt(2.0));
}
/// Density of x where what is read lies evenly between the two, give or take the meter.
double spread_evenly(double x, double low, double high) {
    return (below(x - low) - below(x - high)) / (high - low);
}

struct Winding {
    std::string name;
    int part = -1, from = -1, to = -1;
    std::string branch;  ///< its lead in a solution
    WindingRole role = WindingRole::other;
    double design = 0, rise = most_rise;  ///< rise 0: marked by a no-load reading
    std::optional<double> rated_amps;
    int other_half = -1;
    std::optional<double> read;
    double line = 0;

    Weights likelihood(double x) const {  // x: read over design over the line's ratio
        constexpr double no_rise = 0.002;
        const double good = spread_evenly(x, 1, 1 + std::max(rise, no_rise));
        return {good, hidden_share * good + (1 - hidden_share) * spread_evenly(x, 0.3, 0.98),
                (0.55 * spread_evenly(x, 0.4, 0.95) + 0.52 * spread_evenly(x, 1.13, 1.65)) / 1.07,
                spread_evenly(x, 0, open_under)};
    }
};

class Verdict {
  public:
    Verdict(const Chassis& chassis, const Policy& policy, Bench* bench, const WindingTest& test)
        : chassis_(chassis), policy_(policy), bench_(bench), test_(test) {}

    Outcome<WindingsVerdict> make() {
        find_windings();
        if (windings_.empty() || own_line() <= 0 || chassis_.line().hertz <= 0)
            return power_up::refusal(
                chassis_, messages::no_transformer_to_judge,
                "no power transformer of this set can be judged by its windings: none with a primary on an "
                "alternating line and marked volts is in the file",
                "the windings of a vibrator's transformer are read in powerup, vibrator in");
        out_.design_line_volts = own_line();
        out_.line_volts = test_.line_volts > 0             ? test_.line_volts
                          : policy_.line.volts.value() > 0 ? policy_.line.volts.value()
                                                           : own_line();
        out_.factor = out_.line_volts / own_line();
        for (const WindingTest::Read& one : test_.readings)
            if (!take(one))
                return power_up::refusal(chassis_, messages::no_such_winding, "no winding is '" + one.at + "'",
                                         "one of " + names());
        solve();
        weigh();
        rows();
        judge();
        forecast();
        next();
        assumed();
        return std::move(out_);
    }

  private:
    double own_line() const { return chassis_.line().volts; }

    void find_windings() {
        for (std::size_t p = 0; p < chassis_.parts().size(); ++p) {
            const Part& t = chassis_.parts()[p];
            const bool power =
                t.role != "vibrator" && std::any_of(t.windings.begin(), t.windings.end(),
                                                    [](const auto& w) { return w.role == WindingRole::primary; });
            if (!power) continue;
            va_ = std::max(va_, t.rated_va.value_or(chassis_.transformer_va()));
            for (const PartWinding& w : t.windings)
                if (w.role == WindingRole::plate || w.role == WindingRole::heater ||
                    w.role == WindingRole::rectifier_heater)
                    add(static_cast<int>(p), t, w);
        }
    }
    void add(int p, const Part& t, const PartWinding& w) {
        const bool halves = w.role == WindingRole::plate && w.leads.size() == 3;
        const bool open_known = !w.noload_volts.empty();
        if (!open_known && !w.volts) return;
        const auto first = static_cast<int>(windings_.size());
        for (int h = 0; h < (halves ? 2 : 1); ++h) {
            Winding one;
            one.part = p;
            one.role = w.role;
            one.name = halves ? w.name + "." + std::to_string(h + 1) : w.name;
            one.branch = w.leads.size() == 3 ? w.name + "." + std::to_string(h + 1) : w.name;
            one.rated_amps = w.amps;
            one.from = t.leads[at(halves && h == 1 ? w.leads.back() : w.leads.front())].net;
            one.to = t.leads[at(halves ? w.leads[1] : w.leads.back())].net;
            double open = 0;
            for (const double v : w.noload_volts) open += v;
            if (halves && open_known) open = w.noload_volts.size() > at(h) ? w.noload_volts[at(h)] : w.noload_volts[0];
            one.design = open_known ? open : *w.volts;
            const bool light = va_ > 0 && w.amps && one.design * *w.amps < light_share * va_;
            const bool loaded = test_.heaters_in && w.role == WindingRole::heater;
            one.rise = open_known ? 0 : light || loaded ? light_rise : most_rise;
            if (halves) one.other_half = first + 1 - h;
            windings_.push_back(one);
        }
    }
    std::string names() const {
        std::string list;
        for (const Winding& w : windings_) list += (list.empty() ? "" : ", ") + w.name;
        return list;
    }
    bool take(const WindingTest::Read& one) {
        const int net = chassis_.net(one.at);
        bool taken = false;
        for (Winding& w : windings_) {
            // the tap is an end of both halves: it names neither
            const bool by_net = net >= 0 && (w.other_half >= 0 ? net == w.from : net == w.from || net == w.to) &&
                                !(w.role != WindingRole::plate && net == chassis_.reference());
            const bool by_name = w.name == one.at || w.name.substr(0, w.name.find('.')) == one.at;
            if (!by_name && (!by_net || taken)) continue;
            w.read = one.volts;
            w.line = one.line_volts > 0 ? one.line_volts : out_.line_volts;
            taken = true;
        }
        return taken;
    }

    // What the set takes of the heaters between test and service, and what the test should draw.
    void solve() {
        if (bench_ == nullptr) return;
        const auto in = [&](Scenario scenario) -> std::optional<Solution> {
            Condition c;
            c.scenario = scenario;
            c.line_volts = out_.line_volts;
            const Outcome<Solution> s = bench_->solve(c);
            return s ? std::optional<Solution>(*s) : std::nullopt;
        };
        alone_ = in(Scenario::transformer_alone);
        tested_ = test_.heaters_in ? in(Scenario::rectifier_out) : alone_;
        service_ = in(Scenario::normal);
    }
    std::optional<double> most_watts() const {
        if (!alone_ || !tested_) return std::nullopt;
        const double core = alone_->line_watts.value(), all = tested_->line_watts.value();
        return 1.05 * (all - core) + core_over * core;
    }
    bool watts_over() const { return test_.watts && most_watts() && *test_.watts > *most_watts(); }
    bool shorted_seen() const { return watts_over() || test_.heat == "hot"; }
    double for_shorted() const {
        double odds = 1;
        if (test_.watts && most_watts()) odds *= watts_over() ? evidence : 1 / evidence;
        if (test_.heat == "hot") odds *= evidence;
        if (test_.heat == "cool" || test_.heat == "warm") odds /= evidence;
        return odds;
    }

    double share(const Winding& w) const { return *w.read / w.design / (w.line / own_line()); }
    Weights weights(const Winding& w, double common) const {
        Weights out = w.likelihood(share(w) / common);
        for (int s = 0; s < states; ++s) out[at(s)] = state_priors[at(s)] * std::max(out[at(s)], 1e-9);
        // Heat speaks of the transformer: it accuses no winding that stands at its volts.
        if (for_shorted() < 1 || share(w) / common < 1 - outside) out[shorted] *= for_shorted();
        return out;
    }
    static double sum(const Weights& w) { return w[0] + w[1] + w[2] + w[3]; }
    /// Two halves: healthy together only where their volts agree.
    static double agree(const Winding& a, const Winding& b) {
        const double d = std::fabs(*a.read / a.line / (*b.read / b.line) * b.design / a.design - 1);
        return d <= halves_sigma ? 1 : std::exp(-0.5 * std::pow((d - halves_sigma) / halves_sigma, 2));
    }

    void weigh() {
        posterior_.assign(windings_.size(), Weights{});
        std::vector<std::pair<double, double>> commons{{1, 1 - common_prior}};
        const auto steps = static_cast<int>(std::round((common_most - common_least) / common_step));
        for (int k = 0; k <= steps; ++k)
            commons.emplace_back(common_least + k * common_step, common_prior / (steps + 1));
        double total = 0, moved = 0, at_most = 0;
        for (const auto& [common, prior] : commons) {
            double product = prior;
            std::vector<Weights> here(windings_.size(), Weights{});
            for (std::size_t k = 0; k < windings_.size(); ++k) {
                if (!windings_[k].read) continue;
                here[k] = paired(k) ? pair_weights(k, common) : weights(windings_[k], common);
                if (!paired(k) || at(windings_[k].other_half) > k) product *= sum(here[k]);
            }
            for (std::size_t k = 0; k < windings_.size(); ++k)
                for (std::size_t s = 0; windings_[k].read && s < states; ++s)
                    posterior_[k][s] += product * here[k][s] / sum(here[k]);
            total += product;
            if (common != 1) moved += product;
            if (product > at_most) {
                at_most = product;
                common_ = common;
            }
        }
        if (total <= 0) return;
        for (Weights& w : posterior_)
            for (double& x : w) x /= total;
        moved_ = moved / total;
    }
    bool paired(std::size_t k) const {
        return windings_[k].other_half >= 0 && windings_[at(windings_[k].other_half)].read.has_value();
    }
    /// Of one half, whatever the other is.
    Weights pair_weights(std::size_t k, double common) const {
        const Winding &w = windings_[k], &o = windings_[at(w.other_half)];
        const Weights a = weights(w, common), b = weights(o, common);
        const double less = (1 - agree(w, o)) * a[healthy] * b[healthy];
        Weights out{};
        for (int s = 0; s < states; ++s) out[at(s)] = a[at(s)] * sum(b) - (s == healthy ? less : 0);
        return out;
    }

    static std::string percent(double x) {
        const std::string text = figure(100 * x, 1);
        return (x >= 0 && text != "0" ? "+" : "") + text + " %";
    }
    bool apart(const Winding& w) const {
        if (w.other_half < 0 || !w.read || !windings_[at(w.other_half)].read) return false;
        const Winding& o = windings_[at(w.other_half)];
        if (share(w) < open_under || share(o) < open_under) return false;  // an open half is no measure of the other
        const double r = (*w.read / w.line) / (*o.read / o.line) * o.design / w.design;
        return std::fabs(r - 1) > halves_apart;
    }

    std::ptrdiff_t readings() const {
        return std::count_if(windings_.begin(), windings_.end(), [](const Winding& o) { return o.read; });
    }
    /// Beyond its prior by so much more than meter and line may be off.
    bool off_by(const Winding& w, double much) const {
        return share(w) > open_under + outside && (share(w) < 1 - much || share(w) > 1 + w.rise + much);
    }
    /// The only reading, outside its prior: an error that all share would hide nothing and explain anything.
    bool alone_off(const Winding& w) const { return readings() == 1 && w.read && off_by(w, outside); }

    void rows() {
        double rises = 0;
        int healthy_ones = 0;
        for (std::size_t k = 0; k < windings_.size(); ++k) {
            const Winding& w = windings_[k];
            WindingRow row;
            row.winding = w.name;
            row.design_volts = w.design;
            const double factor = (w.read ? w.line : out_.line_volts) / own_line();
            row.low_volts = w.design * factor * (1 - 2 * sigma);
            row.high_volts = w.design * factor * (1 + w.rise + 2 * sigma);
            row.expect_volts = w.design * factor * (1 + w.rise / 2);
            row.verdict = "not read";
            if (w.read) {
                row.read_volts = w.read;
                row.line_volts_read = w.line;
                row.ratio = *w.read / w.design;
                row.residual = share(w) - 1;
                const Weights& p = posterior_[k];
                std::size_t best = 0;
                for (std::size_t s = 0; s < states; ++s) {
                    row.likelihoods.emplace_back(state_words[s], p[s]);
                    if (p[s] > p[best]) best = s;
                }
                row.verdict = state_words[best];
                const bool lower = apart(w) && share(w) < share(windings_[at(w.other_half)]);
                if (apart(w) && best != open_circuit && (lower || best != healthy)) row.verdict = "half-imbalance";
                row.why = why(w, p, best, *row.residual);
                if (alone_off(w)) {
                    row.verdict = "outlier";
                    row.why = percent(*row.residual) + " over the line's ratio, where " +
                              (w.rise > 0 ? "0 to " + figure(100 * w.rise) : std::string("0")) +
                              " % is usual: turns, a tap, or a line that was misread; one reading does not say which";
                }
                if (row.verdict == "healthy" && readings() == 1) {
                    row.verdict = "fits";
                    row.why = percent(*row.residual) +
                              " over the line's ratio: as it would be were it sound and the "
                              "line read rightly; one reading does not say either";
                }
                if (row.verdict == "healthy" || row.verdict == "fits") {
                    rises += *row.residual;
                    ++healthy_ones;
                }
            }
            out_.rows.push_back(std::move(row));
        }
        if (healthy_ones > 0) out_.no_load_rise = rises / healthy_ones;
    }
    std::string why(const Winding& w, const Weights& p, std::size_t best, double residual) const {
        std::string text = percent(residual) + " over the line's ratio";
        if (best == open_circuit) return "reads next to nothing: the winding, a lead or a joint is open";
        if (apart(w)) {
            const Winding& o = windings_[at(w.other_half)];
            const double d = share(w) / share(o) - 1;
            if (best == healthy) return text + "; it is the other half that is off";
            return text + ", and " + percent(d) + " against the other half, which has the same turns to 3 %: " +
                   (p[shorted] >= p[wrong_tap] ? "turns of it are shorted, or its lead is on a tap that is none"
                                               : "its lead is on another tap") +
                   (shorted_seen() ? "" : "; watts or heat decide whether turns are shorted");
        }
        if (best == healthy && moved_ > told_over) return text + ": as the other windings, by an error that all share";
        if (best == healthy) {
            const std::string is = residual < 0 ? "no rise, within what meter and line may be off" : "its no-load rise";
            return text + ": " +
                   (w.rise > 0 ? is + " (0 to " + figure(100 * w.rise) + " % is usual)"
                               : "it is marked by a no-load reading; meter and line");
        }
        if (best == shorted)
            return text + ": fewer turns than it is marked for" +
                   (shorted_seen() ? "" : "; no short is declared before watts or heat");
        return text + ": the turns of another tap, or a winding that is marked otherwise";
    }

    void judge() {
        bool bad = false, read = false;
        for (std::size_t k = 0; k < windings_.size(); ++k) {
            if (!windings_[k].read) continue;
            read = true;
            const WindingRow& row = out_.rows[k];
            const bool off = row.verdict != "healthy" && row.verdict != "fits" && row.verdict != "not read";
            bad = bad || (row.verdict == "outlier" ? off_by(windings_[k], 2 * outside)
                                                   : off && posterior_[k][healthy] < 1 - told_over);
            if (off) out_.because.push_back(row.winding + ": " + row.verdict + ": " + row.why);
        }
        if (!read && !shorted_seen()) {
            out_.verdict = "cannot tell yet";
            out_.because.push_back("nothing was read");
            return;
        }
        if (moved_ > told_over && readings() > 1) {
            bad = true;
            out_.because.push_back("all windings are off together by " + percent(common_ - 1) +
                                   ": likeliest the selector or the primary's lead is on a tap for about " +
                                   say(volts(std::round(own_line() / common_))) +
                                   ": the primary is on another tap, or the line was not what was written");
        }
        if (shorted_seen()) {
            bad = true;
            out_.because.push_back(
                watts_over() ? "it draws " + say(watts(*test_.watts)) + " where iron and tubes explain " +
                                   say(watts(*most_watts())) +
                                   " at most: shorted turns, whatever the volts say; in which winding they do not tell"
                             : "hot after half an hour with nothing to feed: shorted turns, whatever the volts say; "
                               "in which winding they do not tell");
        }
        const bool short_excluded = test_.heat == "cool" || test_.heat == "warm" || (test_.watts && !watts_over());
        if (bad) {
            out_.verdict = "not healthy";
        } else if (!out_.because.empty() || readings() < 2) {
            out_.verdict = "cannot tell yet";
            if (out_.because.empty())
                out_.because.push_back(
                    "one winding alone, and it fits: a line that was misread would hide in it, and of "
                    "the others it says nothing");
        } else {
            out_.verdict = "healthy";
            out_.because.push_back(
                short_excluded ? "each winding stands at the line's ratio and its own no-load rise; watts or heat "
                                 "show no shorted turn"
                               : "each winding stands at the line's ratio and its own no-load rise; one shorted "
                                 "turn is not seen in volts: half an hour alone, barely warm, settles it");
        }
        if (test_.amps)
            out_.because.push_back("from " + say(amps(*test_.amps)) +
                                   " alone nothing is said: magnetising current is large and does no work");
    }

    void forecast() {
        for (const Winding& w : windings_) {
            if (w.role == WindingRole::plate) continue;
            HeaterForecast f;
            f.winding = w.name;
            f.rated_volts = rated(w);
            if (f.rated_volts <= 0) continue;
            const double base = w.read ? *w.read * out_.line_volts / w.line : w.design * out_.factor;
            double low = test_.heaters_in && w.role == WindingRole::heater ? in_low : out_low;
            double high = test_.heaters_in && w.role == WindingRole::heater ? in_high : out_high;
            if (!w.read) low = high = 0;  // marked by its loaded volts
            const Branch* then = service_ ? service_->branch(w.part, w.branch) : nullptr;
            const Branch* now = tested_ ? tested_->branch(w.part, w.branch) : nullptr;
            if (w.read && then && now && now->volts_rms.value() > 0) {
                const double falls = 1 - then->volts_rms.value() / now->volts_rms.value();
                low = high = std::clamp(falls, 0.0, 0.2);
                solved_falls_ = true;
            }
            f.volts = base * (1 - (low + high) / 2);
            const double fall_off = w.read && low == high ? fall_spread * low : 0;
            const double off = (w.read ? sigma : as_marked) + fall_off;
            f.low_volts = base * (1 - high) * (1 - off);
            f.high_volts = base * (1 - low) * (1 + off);
            f.within = std::fabs(f.volts / f.rated_volts - 1) <= heater_band;
            if (!f.within) remedy(w, f);
            out_.heaters.push_back(f);
        }
    }
    /// What the tubes on it want; what it is marked for where none is known.
    double rated(const Winding& w) const {
        const Part& t = chassis_.parts()[at(w.part)];
        for (const PartWinding& one : t.windings)
            if (one.name == w.name && one.volts) return *one.volts;
        return w.design;
    }
    void remedy(const Winding& w, const HeaterForecast& f) {
        const bool over = f.volts > f.rated_volts;
        const std::string head = w.name + " will stand at " + say(volts(f.volts)) + " in service, " +
                                 percent(f.volts / f.rated_volts - 1) + " of " + say(volts(f.rated_volts)) + ": ";
        const double wanted = out_.line_volts * f.rated_volts / f.volts;
        std::string text;
        if (over) {
            constexpr std::array<double, 4> stocked{5.0, 6.3, 12.6, 24.0};
            constexpr double made_for = 115;
            double best = 0, comes = 0;
            for (const double v : stocked) {
                const double left = out_.line_volts - v * out_.line_volts / made_for;
                if (best == 0 || std::fabs(left - wanted) < std::fabs(comes - wanted)) {
                    best = v;
                    comes = left;
                }
            }
            text = "bring the line to " + say(volts(wanted));
            if (out_.line_volts < 150)
                text += ": a winding of " + figure(best, 1) +
                        " V (made for 115 V) bucking in series with the primary "
                        "leaves " +
                        say(volts(comes));
            if (w.rated_amps)
                text += "; or " + say(ohms((f.volts - f.rated_volts) / *w.rated_amps)) + " of " +
                        say(watts(2 * (f.volts - f.rated_volts) * *w.rated_amps)) +
                        " in its lead, which leaves B-plus high";
        } else {
            text = "tap, line and joints first; then the line to " + say(volts(wanted));
        }
        out_.remedy.push_back(head + text);
    }

    void next() {
        std::vector<std::string> want;
        for (const Winding& w : windings_)
            if (!w.read && w.other_half >= 0 && windings_[at(w.other_half)].read)
                want.push_back(w.name +
                               ": the other half has the same turns, and its volts within 3 % tell a half that "
                               "is short from a line that was misread");
        const auto readings =
            std::count_if(windings_.begin(), windings_.end(), [](const Winding& w) { return w.read; });
        if (readings < 3)
            for (const Winding& w : windings_)
                if (!w.read && !(w.other_half >= 0 && windings_[at(w.other_half)].read)) {
                    want.push_back(w.name + ": a winding that shares nothing with those read but core and line");
                    break;
                }
        const bool settled = !test_.heat.empty() || test_.watts;
        const bool off = std::any_of(out_.rows.begin(), out_.rows.end(), [](const WindingRow& r) {
            return r.verdict != "healthy" && r.verdict != "not read";
        });
        if (off) want.push_back("the winding that is off again, with the line read at the same moment");
        if (!settled) {
            const std::string most =
                most_watts() ? " (over " + say(watts(*most_watts())) + " is more than iron explains)" : std::string();
            want.push_back("watts at the plug" + most + ", or the hand on it, plug out, after half an hour alone");
        }
        out_.next = std::move(want);
    }

    void assumed() {
        out_.assumptions = {
            {"no-load rise of a winding", "0 to 10 % of its loaded volts, 0 to 5 % of a light or loaded one",
             "no file gives it", "the same winding in service", "what counts as healthy", "common practice, no source"},
            {"meter and line together", "1.2 %", "nobody gave it", "another meter", "how sure the verdict is",
             "declared"},
            {"before any reading", "healthy 90 %, shorted turns 5 %, wrong tap 3 %, open 2 % a winding",
             "no rate is published", "none", "how sure the verdict is", "declared"}};
        if (!solved_falls_)
            out_.assumptions.push_back({"what a heater loses in service",
                                        "2 to 5 % of its reading, 3 to 10 % without tubes", "the set is not solved",
                                        "its volts in service", "the forecast", "common practice, no source"});
    }

    const Chassis& chassis_;
    const Policy& policy_;
    Bench* bench_;
    const WindingTest& test_;
    WindingsVerdict out_;
    std::vector<Winding> windings_;
    std::vector<Weights> posterior_;
    std::optional<Solution> alone_, tested_, service_;
    double va_ = 0, moved_ = 0, common_ = 1;
    bool solved_falls_ = false;
};

}  // namespace

Outcome<WindingsVerdict> windings_of(const Chassis& chassis, const Policy& policy, Bench* bench,
                                     const WindingTest& test) {
    return Verdict(chassis, policy, bench, test).make();
}

}  // namespace tubewright
