// SPDX-License-Identifier: MIT
// Walks a sequence of acts and keeps what a bench would know at each: which parts are out, new, proved; what was
// powered and for how long. Each rule is asked at the acts that it guards. Which parts it is about comes from
// concern.cpp. Test: tests/rules/rules_test.cpp, which also breaks every rule on purpose.
#include <algorithm>
#include <map>
#include <set>

#include <tubewright/rules.hpp>

#include "rules/concern.hpp"

namespace tubewright {
namespace {

constexpr double alone_minutes = 30;    // H6
constexpr std::size_t small_group = 6;  // s16: a declared number

class Judge {
  public:
    Judge(const Chassis& chassis, const Catalogue& catalogue, std::span<const Act> acts, const Progress& progress)
        : chassis_(chassis), concern_(concern_of(chassis, catalogue)), acts_(acts), state_(progress.parts) {
        for (const std::string& g : progress.gates_passed) passed_.insert(g);
        fused_ = concern_.fused || std::count(progress.steps_done.begin(), progress.steps_done.end(), "fit-fuse") > 0;
        if (passed_.count("H6")) alone_ = alone_minutes;
        charged_ = !passed_.count("H19");
        hot_ = chassis.hot() || concern_.hot;
        earth_lifted_ =
            std::count(progress.steps_done.begin(), progress.steps_done.end(), "earth-off") > 0 || !concern_.earthed;
        // a vehicle's frame is one pole of its battery by design
        earth_bad_ =
            chassis.family() != Family::vehicle && (hot_ || !failing(concern_.old_to_metal, [&](const std::string& p) {
                                                                 return renewed(p) || out(p);
                                                             }).empty());
    }

    std::vector<Violation> run() {
        for (std::size_t k = 0; k < acts_.size(); ++k) {
            at_ = static_cast<int>(k);
            judge(acts_[k]);
            apply(acts_[k]);
        }
        return std::move(found_);
    }

  private:
    void judge(const Act& act) {
        const ActKind k = act.kind;
        if (k != ActKind::check_supply) need("H0", done(ActKind::check_supply), "label and supply were not compared");
        if (k != ActKind::check_supply && k != ActKind::make_cord_safe)
            need("H1", done(ActKind::make_cord_safe), "the cord is still as found");
        if (unsolders(act)) need("H2", done(ActKind::photograph), "no photograph was taken");
        if (clips_on(k)) need("H3", done(ActKind::settle_reference), "the reference node is not settled");
        if (k == ActKind::buy) {
            const bool dear = std::any_of(act.parts.begin(), act.parts.end(),
                                          [&](const std::string& id) { return !cheap_for_the_test(id); });
            if (act.parts.empty() || dear) need("s4", done(ActKind::cold_ohms), "no winding was measured");
        }
        if (hands_in(act)) need("H19", !charged_, "not discharged since it may have been powered");
        if (k == ActKind::reconnect)
            for (const std::string& id : act.parts)
                need("H19", !holds_a_charge_.count(id), id + " was charged for its leakage and not emptied");
        if (k == ActKind::plug_speaker) need("H11", !charged_, "the plug is moved before the discharge");
        if (k == ActKind::lift || k == ActKind::remove || k == ActKind::fit) group(act);
        if (k == ActKind::measure) measured(act);
        if (k == ActKind::fit) replaced(act);
        if (k == ActKind::refit_tube)
            for (const std::string& id : act.parts) goes_back(id, "goes back");
        if (k == ActKind::fit || k == ActKind::reconnect)
            for (const std::string& id : act.parts)
                if (vibrator(id))
                    need_all(
                        "H7", concern_.plate_winding_capacitors, [&](const std::string& p) { return settled(p); },
                        id + " goes back with these as found");
        if (power(k)) powered(act);
        // The metal is shown free of the line by the touch current; only then may an earth that was found go back.
        if (power(k) && earth_bad_ && !passed_.count("H22"))
            need("H22", !earth_on(), "the earth that was found on the chassis is still on");
        if (k == ActKind::check_touch_current)
            need("H15", !earth_on(), "touch current is read on an earthed chassis, which shows none");
        if (k == ActKind::earth_instrument || k == ActKind::fit_earthed_cord) earthed();
        if (k == ActKind::align)
            need("H13", done(ActKind::log_volts) && done(ActKind::power_full_line),
                 "working volts are not written down");
        if (k == ActKind::reassemble) need("s14", done(ActKind::soak), "not soaked");
        if (k == ActKind::hand_back)
            need("H15", touch_ >= 3 || passed_.count("H15") || !from_line(),
                 "touch current was not read in its three steps");
    }

    /// A set that only batteries feed has no blade that a hand could be joined to.
    bool from_line() const { return chassis_.family() != Family::vehicle && chassis_.family() != Family::battery; }

    // A proof holds only while nothing that it rests on is changed.
    void lapse(const Act& act, const std::string& id) {
        const Reach reach = reach_of(concern_, act.kind, id);
        if (act.kind == ActKind::fit) {
            tested_.erase(id);
            measured_.erase(id);
            through_plug_.erase(id);
        }
        if (reach == Reach::iron) alone_ = 0;
        if (reach < Reach::b_plus) return;
        for (const ActKind kind : {ActKind::log_volts, ActKind::power_full_line, ActKind::soak}) done_.erase(kind);
        touch_ = 0;
    }

    void apply(const Act& act) {
        done_.insert(act.kind);
        for (const std::string& id : act.parts) {
            if (changes_parts(act.kind)) lapse(act, id);
            switch (act.kind) {
                case ActKind::lift:
                case ActKind::remove:
                    if (!out(id)) before_[id] = state(id);
                    state_[id] = act.kind == ActKind::lift ? PartState::lifted : PartState::removed;
                    break;
                case ActKind::reconnect:
                    resoldered_.insert(id);
                    if (out(id)) state_[id] = before_.count(id) ? before_[id] : PartState::original;
                    checked_.erase(id);
                    traced_.erase(id);
                    break;
                case ActKind::fit:
                case ActKind::fit_earthed_cord:
                    new_.insert(id);
                    state_[id] = PartState::fitted;
                    checked_.erase(id);
                    traced_.erase(id);
                    break;
                case ActKind::refit_tube:
                    // no test closes a heater that was found open; only what the log calls proved was not open
                    if (out(id)) {
                        const bool proved = before_.count(id) && before_[id] == PartState::proved;
                        const bool passes = tested_.count(id) && (proved || !dead(id));
                        state_[id] = passes ? PartState::proved : PartState::original;
                    }
                    break;
                case ActKind::measure:
                    measured_.insert(id);
                    checked_.insert(id);
                    if (is(id, PartKind::capacitor) && out(id)) holds_a_charge_.insert(id);
                    if (speaker_in_) through_plug_.insert(id);
                    break;
                case ActKind::inspect:
                    checked_.insert(id);
                    break;
                case ActKind::sleeve:
                    sleeved_.insert(id);
                    break;
                case ActKind::test_tube:
                    tested_.insert(id);
                    break;
                case ActKind::trace_polarity:
                    traced_.insert(id);
                    checked_.insert(id);
                    break;
                case ActKind::leave_out:
                    state_[id] = PartState::omitted;
                    break;
                case ActKind::discharge:
                    holds_a_charge_.erase(id);
                    break;
                default:
                    break;
            }
        }
        switch (act.kind) {
            case ActKind::plug_speaker:
                speaker_in_ = true;
                break;
            case ActKind::cold_ohms:
                ohms_since_iron_ = act.parts.empty() || ohms_since_iron_;
                break;
            case ActKind::lift:
            case ActKind::remove:
            case ActKind::fit:
            case ActKind::reconnect:
            case ActKind::fit_earthed_cord:
            case ActKind::sleeve:
            case ActKind::fit_fuse:
                fused_ = fused_ || act.kind == ActKind::fit_fuse;
                if (unsolders(act)) ohms_since_iron_ = false;
                for (const std::string& id : act.parts)
                    if (concern_.on_speaker_plug.count(id)) through_plug_.erase(id);
                break;
            case ActKind::power_transformer_alone:
                alone_ += act.minutes;
                charged_ = true;
                break;
            case ActKind::check_touch_current:
                ++touch_;
                charged_ = true;
                break;
            case ActKind::power_heaters:
            case ActKind::power_b_plus:
            case ActKind::power_full_line:
            case ActKind::power_supply_alone:
                touch_ = 0;
                charged_ = true;
                break;
            case ActKind::soak:
            case ActKind::align:
                charged_ = true;
                break;
            case ActKind::discharge:  // of single parts, or of the whole set
                if (act.parts.empty()) charged_ = false;
                break;
            case ActKind::lift_earth:
                earth_lifted_ = true;
                break;
            case ActKind::find_cause:
                if (act.parts.size() > 1)
                    for (std::size_t k = 1; k < act.parts.size(); ++k) cause_[act.parts[0]].insert(act.parts[k]);
                break;
            default:
                break;
        }
    }

    // What the bench calls its words.
    static bool power(ActKind k) {
        return k == ActKind::power_transformer_alone || k == ActKind::power_heaters || k == ActKind::power_b_plus ||
               k == ActKind::power_full_line || k == ActKind::power_supply_alone || k == ActKind::soak ||
               k == ActKind::align;
    }
    static bool clips_on(ActKind k) {
        return k == ActKind::clip_instrument || k == ActKind::cold_ohms || k == ActKind::measure ||
               k == ActKind::earth_instrument || k == ActKind::check_touch_current || k == ActKind::log_volts ||
               k == ActKind::discharge || power(k);
    }
    bool is(const std::string& id, PartKind kind) const {
        const int p = chassis_.part(id);
        return p >= 0 && chassis_.parts()[static_cast<std::size_t>(p)].kind == kind;
    }
    bool vibrator(const std::string& id) const { return is(id, PartKind::vibrator); }
    bool socket(const std::string& id) const { return is(id, PartKind::socket) || vibrator(id); }
    bool lamp(const std::string& id) const { return concern_.lamps.count(id) > 0; }
    // A tube or a lamp is pulled, not unsoldered.
    bool unsolders(const Act& act) const {
        if (act.kind == ActKind::fit_earthed_cord || act.kind == ActKind::sleeve || act.kind == ActKind::fit_fuse)
            return true;
        if (act.kind != ActKind::lift && act.kind != ActKind::remove && act.kind != ActKind::fit &&
            act.kind != ActKind::reconnect)
            return false;
        return std::any_of(act.parts.begin(), act.parts.end(),
                           [&](const std::string& id) { return !socket(id) && !lamp(id); });
    }
    bool hands_in(const Act& act) const {
        return act.kind == ActKind::cold_ohms || act.kind == ActKind::measure || act.kind == ActKind::trace_polarity ||
               act.kind == ActKind::refit_tube || act.kind == ActKind::remove || unsolders(act);
    }
    // Cord, fuse, line capacitors: wanted before the transformer can be tested at all.
    bool cheap_for_the_test(const std::string& id) const {
        return concern_.line_parts.count(id) || concern_.line_capacitors.count(id) ||
               concern_.plate_winding_capacitors.count(id);
    }

    PartState state(const std::string& id) const {
        const auto it = state_.find(id);
        return it == state_.end() ? PartState::original : it->second;
    }
    bool out(const std::string& id) const { return state(id) == PartState::lifted || state(id) == PartState::removed; }
    bool renewed(const std::string& id) const {
        return state(id) == PartState::fitted || state(id) == PartState::omitted;
    }
    bool settled(const std::string& id) const {
        return renewed(id) || state(id) == PartState::proved || (measured_.count(id) && !out(id));
    }
    bool done(ActKind k) const {
        if (done_.count(k)) return true;
        switch (k) {
            case ActKind::check_supply:
                return passed_.count("H0") > 0;
            case ActKind::make_cord_safe:
                return passed_.count("H1") > 0;
            case ActKind::photograph:
                return passed_.count("H2") > 0;
            case ActKind::settle_reference:
                return passed_.count("H3") > 0;
            case ActKind::cold_ohms:
                return passed_.count("s4") > 0;
            case ActKind::log_volts:
            case ActKind::power_full_line:
                return passed_.count("H13") > 0;
            case ActKind::soak:
                return passed_.count("s14") > 0;
            default:
                return false;
        }
    }

    bool earth_on() const {
        return !earth_lifted_ && (concern_.earth_wires.empty() ||
                                  !failing(concern_.earth_wires, [&](const std::string& p) { return out(p); }).empty());
    }

    void need(const std::string& rule, bool kept, const std::string& why) {
        if (kept || !reported_.insert({rule, at_}).second) return;
        found_.push_back({rule, at_, why, rule[0] == 'H'});
    }
    static std::string list(const std::vector<std::string>& ids) {
        std::string text;
        for (const std::string& id : ids) text += (text.empty() ? "" : ", ") + id;
        return text;
    }
    template <class Test>
    std::vector<std::string> failing(const Ids& ids, Test test) const {
        std::vector<std::string> bad;
        for (const std::string& id : ids)
            if (!test(id)) bad.push_back(id);
        return bad;
    }
    template <class Test>
    void need_all(const std::string& rule, const Ids& ids, Test test, const std::string& why) {
        if (passed_.count(rule)) return;
        const std::vector<std::string> bad = failing(ids, test);
        need(rule, bad.empty(), why + ": " + list(bad));
    }

    // s16: small groups, each checked before the next is touched with new parts.
    void group(const Act& act) {
        if (act.kind != ActKind::fit) return;
        std::size_t parts = 0;
        for (const std::string& id : act.parts) parts += !socket(id) && !lamp(id) ? 1 : 0;
        need("s16", parts <= small_group, "a group of more than six parts");
        std::vector<std::string> unchecked;
        for (const auto& [id, s] : state_)
            if (s == PartState::fitted && group_fitted_.count(id) && !checked_.count(id)) unchecked.push_back(id);
        need("s16", unchecked.empty(), "the group before is not checked: " + list(unchecked));
        for (const std::string& id : act.parts) group_fitted_.insert(id);
    }

    void measured(const Act& act) {
        for (const auto& [resistor, leaky] : concern_.beside) {
            if (std::find(act.parts.begin(), act.parts.end(), resistor) == act.parts.end() || out(resistor)) continue;
            for (const std::string& id : leaky)
                need("s10", out(id) || settled(id), resistor + " is judged with " + id + " across it");
        }
    }

    void replaced(const Act& act) {
        for (const auto& [resistor, causes] : concern_.burnt) {
            if (std::find(act.parts.begin(), act.parts.end(), resistor) == act.parts.end()) continue;
            const auto it = cause_.find(resistor);
            bool known = it != cause_.end() && !it->second.empty();
            if (known)
                for (const std::string& id : it->second) {
                    const bool capacitor = concern_is_capacitor(id);
                    known = known && (!capacitor || causes.count(id)) &&
                            (renewed(id) || on_list(id) || measured_.count(id) || !capacitor);
                    // a tube is cleared by its test alone
                    if (is(id, PartKind::socket))
                        known = known && (tested_.count(id) || on_list(id) || state(id) == PartState::proved);
                }
            need("H18", known, "what burnt " + resistor + " is not found and on the list");
        }
    }
    bool concern_is_capacitor(const std::string& id) const {
        const int p = chassis_.part(id);
        return p >= 0 && chassis_.parts()[static_cast<std::size_t>(p)].kind == PartKind::capacitor;
    }
    bool on_list(const std::string& id) const {
        return std::any_of(acts_.begin(), acts_.end(), [&](const Act& a) {
            return a.kind == ActKind::fit && std::find(a.parts.begin(), a.parts.end(), id) != a.parts.end();
        });
    }

    void goes_back(const std::string& id, const std::string& how) {
        if (concern_.rectifiers.count(id)) rectifier_goes_back(id, how);
        if (concern_.output_tubes.count(id)) output_tube_goes_back(id, how);
    }
    void rectifier_goes_back(const std::string& id, const std::string& how) {
        if (concern_.has_transformer)
            need("H6", alone_ >= alone_minutes || passed_.count("H6"),
                 id + " " + how + " before the transformer ran alone for half an hour");
        need_all(
            "H7", concern_.supply_papers, [&](const std::string& p) { return settled(p); },
            id + " " + how + " with these neither new nor proved");
        need("H19", ohms_since_iron_ || (passed_.count("H19") && !done_iron()),
             id + " " + how + " without cold ohms since the last joint");
        need("H20", tested_.count(id) || state(id) == PartState::proved || !socket(id),
             id + " " + how + " untested for shorts");
        need("H20", !found_bad(id), id + " " + how + ", the one that was found bad");
        need_all(
            "H21", concern_.continuity,
            [&](const std::string& p) {
                return concern_.on_speaker_plug.count(p) ? through_plug_.count(p) > 0 : measured_.count(p) > 0;
            },
            id + " " + how + " without continuity through the plug");
        need_all(
            "H23", concern_.electrolytics,
            [&](const std::string& p) { return traced_.count(p) || out(p) || state(p) == PartState::omitted; },
            id + " " + how + " with a plus untraced");
    }
    void output_tube_goes_back(const std::string& id, const std::string& how) {
        need_all(
            "H8", concern_.couplers, [&](const std::string& p) { return settled(p); },
            id + " " + how + " behind a coupler that is neither new nor proved");
        need_all(
            "H9", concern_.bias_resistors, [&](const std::string& p) { return settled(p); },
            id + " " + how + " with its bias unmeasured");
        need_all(
            "H9", concern_.bias_filters, [&](const std::string& p) { return settled(p); },
            id + " " + how + " with a bias filter that is neither new nor proved");
        need("H20", tested_.count(id) || state(id) == PartState::proved, id + " " + how + " untested for shorts");
        need("H20", !found_bad(id), id + " " + how + ", the one that was found bad");
    }
    /// As the file has it, and none was put in since.
    bool as_seen(const std::string& id, std::initializer_list<const char*> words) const {
        const int p = chassis_.part(id);
        if (p < 0 || new_.count(id) > 0 || renewed(id) || state(id) == PartState::proved) return false;
        const Part& part = chassis_.parts()[static_cast<std::size_t>(p)];
        return std::any_of(words.begin(), words.end(),
                           [&](const char* w) { return part.seen.find(w) != std::string::npos; });
    }
    bool found_bad(const std::string& id) const {
        return socket(id) && as_seen(id, {"short", "leak", "dead", "broken", "gas", "open", "missing"});
    }
    bool dead(const std::string& id) const { return as_seen(id, {"dead", "broken", "open", "missing"}); }
    bool done_iron() const {
        return done_.count(ActKind::lift) || done_.count(ActKind::fit) || done_.count(ActKind::remove);
    }

    void powered(const Act& act) {
        need_all(
            "H5", concern_.line_parts,
            [&](const std::string& p) {
                const int i = chassis_.part(p);
                const bool hurt = i >= 0 && !chassis_.parts()[static_cast<std::size_t>(i)].seen.empty() &&
                                  !(resoldered_.count(p) && concern_.loose_wires.count(p)) &&
                                  !(measured_.count(p) && concern_.dirty_switches.count(p));
                return renewed(p) || state(p) == PartState::proved || (checked_.count(p) && !hurt && !out(p));
            },
            "the line is let in through what is not shown sound");
        need_all(
            "H5", concern_.lamp_leads,
            [&](const std::string& p) { return sleeved_.count(p) || checked_.count(p) || renewed(p); },
            "dial-lamp leads on the heater winding are not shown sound");
        if (concern_.has_transformer && !passed_.count("H5"))
            need("H5", fused_, "no fuse stands between the line and the primary");
        need_all(
            "H5", concern_.line_capacitors, [&](const std::string& p) { return renewed(p) || out(p); },
            "capacitors on the line that are neither new nor lifted");
        const bool b_plus = std::any_of(concern_.rectifiers.begin(), concern_.rectifiers.end(),
                                        [&](const std::string& r) { return !out(r); });
        const bool alone = act.kind == ActKind::power_transformer_alone, heaters = act.kind == ActKind::power_heaters;
        need_all(
            "H6", concern_.burnt_iron, [&](const std::string& p) { return renewed(p); },
            "a transformer that looks burnt is powered");
        if (alone) {
            need("H6", !b_plus, "the rectifier is still in");
            need_all(
                "H6", concern_.plate_winding_capacitors, [&](const std::string& p) { return renewed(p) || out(p); },
                "capacitors across a plate winding that are neither new nor lifted");
        }
        if (b_plus && !alone) {
            for (const std::string& r : concern_.rectifiers)
                if (!out(r)) rectifier_goes_back(r, "is powered");
            for (const std::string& v : concern_.output_tubes)
                if (!out(v)) output_tube_goes_back(v, "is powered");
            need("H11", concern_.on_speaker_plug.empty() || speaker_in_ || passed_.count("H11"),
                 "B-plus with the speaker unplugged");
        }
        if (concern_.series_string)
            for (const Ids* set : {&concern_.tubes, &concern_.lamps})
                for (const std::string& id : *set) {
                    need("H12", !out(id), id + " is missing from the string");
                    need("H12", !dead(id), id + " was found open: the string has a gap");
                }
        std::vector<std::string> missing;
        for (const auto& [id, s] : state_) {
            if (s != PartState::lifted && s != PartState::removed) continue;
            const bool tube = concern_.tubes.count(id) > 0, rectifier = concern_.rectifiers.count(id) > 0;
            bool wanted = false;
            if (alone)
                wanted = tube || lamp(id) || concern_.dead_without_b_plus.count(id) ||
                         concern_.line_capacitors.count(id) || concern_.plate_winding_capacitors.count(id);
            if (heaters) wanted = rectifier || vibrator(id) || concern_.dead_without_b_plus.count(id);
            if (act.kind == ActKind::power_supply_alone) wanted = tube && !rectifier;
            wanted = wanted || concern_.earth_wires.count(id) > 0;
            if (!wanted) missing.push_back(id);
        }
        need("H17", missing.empty(), "left out: " + list(missing));
    }

    void earthed() {
        need("H22", !hot_, "the chassis is joined to the line");
        need_all(
            "H22", concern_.line_to_metal, [&](const std::string& p) { return renewed(p) || out(p); },
            "a capacitor that is neither new nor out stands between line and chassis");
    }

    const Chassis& chassis_;
    Concern concern_;
    std::span<const Act> acts_;
    std::map<std::string, PartState> state_, before_;
    Ids new_;
    std::set<std::string> passed_, measured_, checked_, traced_, tested_, through_plug_, group_fitted_, sleeved_,
        resoldered_, holds_a_charge_;
    std::map<std::string, std::set<std::string>> cause_;
    std::set<ActKind> done_;
    std::set<std::pair<std::string, int>> reported_;
    std::vector<Violation> found_;
    double alone_ = 0;
    int touch_ = 0, at_ = -1;
    bool charged_ = true, speaker_in_ = false, ohms_since_iron_ = false, hot_ = false, fused_ = false,
         earth_lifted_ = true, earth_bad_ = false;
};

}  // namespace

std::vector<Violation> violations(const Chassis& chassis, const Catalogue& catalogue, std::span<const Act> acts,
                                  const Progress& progress) {
    return Judge(chassis, catalogue, acts, progress).run();
}

}  // namespace tubewright
