// SPDX-License-Identifier: MIT
// What entries say: in words, and as the state of a set. Entries are walked in their order, those that are undone left
// out; a part that the file no longer has is named with what stands in its place now, and stays out if it was out.
// Tests: tests/record/telling_test.cpp.
#include <algorithm>
#include <array>
#include <charconv>
#include <set>

#include "chassis/data.hpp"
#include "record/fields.hpp"
#include "record/numbers.hpp"
#include "terms/near.hpp"
#include "terms/period_value.hpp"

namespace tubewright {

namespace record {

std::string described(const Part& part, const Chassis& chassis) {
    std::string text = word(part.kind);
    if (part.kind == PartKind::socket) text = part.tube.empty() ? std::string("socket") : "tube " + part.tube.str();
    if (part.farads) text += " " + printed(*part.farads, Measure::farads);
    if (part.ohms) text += " " + printed(*part.ohms, Measure::ohms);
    if (part.rated_volts) text += " " + printed(*part.rated_volts, Measure::volts);
    if (part.kind == PartKind::socket || part.leads.size() < 2) return text;
    const auto name = [&](std::size_t l) {
        const int net = part.leads[l].net;
        return net < 0 ? std::string("?") : chassis.nets()[static_cast<std::size_t>(net)].name;
    };
    return text + ", " + name(0) + " to " + name(1);
}

std::vector<PlannedAct> acts_of(const LogEntry& entry, const Chassis& chassis) {
    const int i = chassis.part(entry.part);
    const PartKind kind = i < 0 ? PartKind::wire : chassis.parts()[static_cast<std::size_t>(i)].kind;
    const bool plugged = kind == PartKind::socket || kind == PartKind::lamp;
    const auto one = [&](const char* act) { return std::vector<PlannedAct>{{{act, {entry.part}, 0}, {}}}; };
    switch (entry.fact) {
        case LogFact::removed:
            return one("remove");
        case LogFact::lifted:
            return one("lift");
        case LogFact::back:
        case LogFact::original:
            return one(plugged ? "put the tube back" : "connect again");
        case LogFact::fitted: {
            std::vector<PlannedAct> acts = one("fit");
            if (!entry.words.empty() || entry.value)
                acts[0].with[entry.part] = {entry.words,       entry.value, entry.rated_volts,
                                            entry.rated_watts, {},          nullptr};
            return acts;
        }
        case LogFact::omitted:
            return one("leave out on purpose");
        case LogFact::proved:
            return one(kind == PartKind::socket ? "test the tube" : "measure");
        case LogFact::value:
            if (!entry.value) return {};
            return kind == PartKind::resistor || kind == PartKind::control ? one("measure") : std::vector<PlannedAct>{};
        case LogFact::done:
        case LogFact::stage:
            return decode(entry.acts);
        default:
            return {};
    }
}

bool is_of_another_set(const LogEntry& entry, const Chassis& chassis) {
    return !entry.set_name.empty() && entry.set_name != chassis.name();
}

bool is_of_that_kind(const LogEntry& entry, const Part& part) {
    if (part.kind == PartKind::socket) return entry.was.starts_with("tube") || entry.was.starts_with("socket");
    return entry.was.starts_with(word(part.kind));
}

bool is_a_place(const std::string& name, const Chassis& chassis) {
    static constexpr std::array<std::string_view, 14> words{"line",
                                                            "primary",
                                                            "lamp",
                                                            "plug",
                                                            "wall",
                                                            "set",
                                                            "joined blades",
                                                            "each touchable part",
                                                            "across it",
                                                            "in series",
                                                            "behind the lamp",
                                                            "at the plug",
                                                            "in its lead",
                                                            "earth"};
    std::string low = name;
    for (char& c : low) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
    return chassis.net(name) >= 0 || chassis.part(name) >= 0 || low.starts_with("earth through ") ||
           std::find(words.begin(), words.end(), low) != words.end();
}

}  // namespace record

namespace {

using namespace record;

/// Which one it is that is moved: the file's part, or the new one in its place.
std::string moved(const LogEntry& entry, const std::string& where) {
    if (entry.words != the_new_one) return entry.part + where + (entry.was.empty() ? "" : " (" + entry.was + ")");
    return entry.part + ", " + entry.words + "," + where +
           (entry.was.empty() ? "" : " (in place of " + entry.was + ")");
}
std::string with_was(const LogEntry& entry) {
    return entry.was.empty() ? std::string() : " (" + entry.was + ")";
}

/// What is odd about a value, as it was found when it was entered.
std::string look(const LogEntry& entry) {
    return entry.look.empty() ? std::string() : "; LOOK: " + entry.look;
}

/// Entries that count, in their order.
std::vector<const LogEntry*> standing(std::span<const LogEntry> entries) {
    const std::vector<int> gone = undone(entries);
    std::vector<const LogEntry*> kept;
    for (const LogEntry& entry : entries)
        if (entry.fact != LogFact::undo && !std::binary_search(gone.begin(), gone.end(), entry.number))
            kept.push_back(&entry);
    return kept;
}

class Walk {
  public:
    Walk(const Chassis& chassis, const Catalogue& catalogue) : chassis_(chassis), catalogue_(catalogue) {}

    Progress take(std::span<const LogEntry> entries) {
        const std::vector<const LogEntry*> kept = standing(entries);
        for (const LogEntry* entry : kept)
            if (entry->fact == LogFact::renamed) names_[entry->part] = entry->to;
        for (const LogEntry* entry : kept) one(*entry);
        other_set(entries);
        for (const LogEntry* entry : kept) missing(*entry);
        other_parts(kept);
        for (const auto& [id, state] : before_)
            if (out(id)) made_.back[id] = state;
        if (!entries.empty()) {
            made_.log.entries = static_cast<int>(entries.size());
            made_.log.last = entries.back().at;
        }
        return std::move(made_);
    }

  private:
    /// The part as the file calls it now.
    std::string now(const std::string& id) const {
        std::string name = id;
        for (std::size_t turns = 0; turns <= names_.size() && chassis_.part(name) < 0; ++turns) {
            const auto next = names_.find(name);
            if (next == names_.end()) break;
            name = next->second;
        }
        return name;
    }
    /// "R7.1" of a part that is called otherwise now; any other place as it is.
    std::string pin_now(const std::string& place) const {
        const std::size_t dot = place.rfind('.');
        if (dot == std::string::npos || chassis_.net(place) >= 0) return place;
        return now(place.substr(0, dot)) + place.substr(dot);
    }
    static bool is_of_a_part(const LogEntry& entry) { return entry.fact <= LogFact::value; }
    PartState state(const std::string& id) const {
        const auto known = made_.parts.find(id);
        return known == made_.parts.end() ? PartState::original : known->second;
    }
    bool out(const std::string& id) const { return state(id) == PartState::lifted || state(id) == PartState::removed; }
    PartKind kind(const std::string& id) const {
        const int i = chassis_.part(id);
        return i < 0 ? PartKind::wire : chassis_.parts()[static_cast<std::size_t>(i)].kind;
    }

    /// A fact of another set, or of what is another part by now, proves nothing here; what is out by it stays out.
    bool proves_nothing(const LogEntry& entry) const {
        if (is_of_another_set(entry, chassis_) && names_.count(entry.set_name) == 0) return true;
        if (entry.was.empty() || entry.fact > LogFact::value || entry.fact == LogFact::original) return false;
        const int i = chassis_.part(now(entry.part));
        if (i < 0) return false;
        const Part& part = chassis_.parts()[static_cast<std::size_t>(i)];
        return !is_of_that_kind(entry, part) || lies_elsewhere(entry.was, described(part, chassis_));
    }

    void one(const LogEntry& entry) {
        const bool takes_out = entry.fact == LogFact::removed || entry.fact == LogFact::lifted ||
                               entry.fact == LogFact::back || entry.fact == LogFact::photo ||
                               entry.fact == LogFact::note || entry.fact == LogFact::renamed;
        if (!takes_out && proves_nothing(entry)) return;
        switch (entry.fact) {
            case LogFact::reading: {
                Reading reading{
                    pin_now(entry.part),          pin_now(entry.to), entry.quantity,   entry.value.value_or(0),
                    entry.line_volts.value_or(0), entry.meter,       entry.conditions, entry.at};
                if (!entry.value) reading.quantity = "open";
                reading.deeds = made_.deeds.size();
                made_.readings.push_back(std::move(reading));
                return;
            }
            case LogFact::signed_by_hand:
                made_.gates_passed.push_back(entry.part);
                made_.signed_with[entry.part] = entry.words;
                return;
            case LogFact::overridden:
                made_.overrides[entry.part] = entry.words;
                overridden_with_[entry.part] = out_of_the_wiring();
                return;
            case LogFact::photo:
                made_.deeds.push_back({"keep a photograph", {}, 0});  // no act of the rules: it may be of anything
                return;
            case LogFact::note:
            case LogFact::renamed:
            case LogFact::undo:
                return;
            case LogFact::done:
                made_.steps_done.push_back(entry.step_id);
                break;
            case LogFact::stage:
                made_.stages_passed.push_back(entry.words);
                break;
            default:
                break;
        }
        if (entry.fact == LogFact::removed || entry.fact == LogFact::lifted) lapse_wiring(now(entry.part));
        LogEntry as_now = entry;
        if (is_of_a_part(entry)) as_now.part = now(entry.part);
        if (entry.fact == LogFact::value && entry.value)
            made_.found[as_now.part] = {entry.words, entry.value, {}, {}, {}, nullptr};
        else if (entry.fact == LogFact::value)
            see(as_now.part, entry.words);
        for (PlannedAct& act : acts_of(as_now, chassis_)) {
            for (std::string& id : act.deed.parts) {
                const std::string name = now(id);
                if (entry.fact != LogFact::original && is_a_change(name, act.deed.act)) {
                    lapse_wiring(name);
                    lapse({"H13", "H15", "s14"});
                }
                const auto with = act.with.find(id);
                turn(name, act.deed, entry, with == act.with.end() ? nullptr : &with->second);
                id = name;
            }
            made_.deeds.push_back(act.deed);
        }
        bind_overrides();
        if (entry.fact == LogFact::done) made_.passed_at[entry.step_id] = made_.deeds.size();
        if (entry.fact == LogFact::stage) made_.passed_at[entry.words] = made_.deeds.size();
    }

    /// What was signed of the wiring was signed of it as it stood: it is signed again when a part has come out since,
    /// a joint was made or a new tube has gone in; then what was read under power is too.
    void lapse(std::initializer_list<const char*> rules) {
        for (const char* rule : rules)
            if (made_.signed_with.erase(rule) > 0) std::erase(made_.gates_passed, rule);
    }
    /// Of a tube its test, of a polarised capacitor its plus; of either the rest.
    void lapse_wiring(const std::string& id) {
        lapse({"H5", "H6", "H7", "H8", "H9", "H12", "H17", "H19", "H21"});
        const int i = chassis_.part(id);
        if (i < 0) return lapse({"H20", "H23"});
        const Part& part = chassis_.parts()[static_cast<std::size_t>(i)];
        if (part.kind == PartKind::socket) lapse({"H20"});
        if (part.kind == PartKind::capacitor && part.construction.find("electrolytic") != std::string::npos)
            lapse({"H23"});
    }
    std::set<std::string> out_of_the_wiring() const {
        std::set<std::string> parts;
        for (const auto& [id, state] : made_.parts)
            if (out(id) && kind(id) != PartKind::socket && kind(id) != PartKind::lamp) parts.insert(id);
        return parts;
    }
    /// An override is of the set as it stood: one more part out, and it is at an end.
    void bind_overrides() {
        const std::set<std::string> now = out_of_the_wiring();
        for (auto& [rule, then] : overridden_with_) {
            if (!std::includes(then.begin(), then.end(), now.begin(), now.end())) made_.overrides.erase(rule);
            then = now;
        }
    }
    bool is_a_change(const std::string& id, const std::string& act) const {
        const bool plugged = kind(id) == PartKind::socket || kind(id) == PartKind::lamp;
        return act == "fit" || (!plugged && (act == "remove" || act == "lift" || act == "connect again"));
    }
    void turn(const std::string& id, const Deed& deed, const LogEntry& entry, const Measured* with) {
        const std::string& act = deed.act;
        if (act == "remove" || act == "lift") {
            if (!out(id)) before_[id] = state(id);
            made_.parts[id] = act == "lift" ? PartState::lifted : PartState::removed;
        } else if (act == "connect again" || act == "put the tube back") {
            if (entry.fact == LogFact::original) {
                made_.parts.erase(id);
                made_.fitted.erase(id);
                made_.found.erase(id);
                made_.seen.erase(id);
                made_.reasons.erase(id);
            } else if (out(id)) {
                set(id, before_.count(id) ? before_[id] : PartState::original);
            } else if (state(id) == PartState::omitted) {
                made_.parts.erase(id);
                made_.reasons.erase(id);
            }
        } else if (act == "fit") {
            // a step of an older page means what was entered of the part since: "as listed, unless logged otherwise"
            if (entry.fact == LogFact::fitted) fitted_by_hand_[id] = entry.number;
            const auto by_hand = fitted_by_hand_.find(id);
            if (entry.fact == LogFact::done && entry.plan >= 0 && by_hand != fitted_by_hand_.end() &&
                by_hand->second > entry.plan && state(id) == PartState::fitted)
                return;
            made_.parts[id] = PartState::fitted;
            made_.found.erase(id);
            made_.seen.erase(id);
            made_.reasons.erase(id);
            Measured fitted = with == nullptr ? Measured{} : *with;
            fitted.year = year_of(entry.at);
            if (kind(id) == PartKind::socket && !fitted.words.empty()) {
                const Part& socket = chassis_.parts()[static_cast<std::size_t>(chassis_.part(id))];
                const TubeType* type = catalogue_.tube(fitted.words);
                if (type != nullptr && (socket.type == nullptr || socket.type->base == type->base)) fitted.type = type;
            }
            made_.fitted[id] = std::move(fitted);
        } else if (act == "leave out on purpose") {
            made_.parts[id] = PartState::omitted;
            made_.reasons[id] = entry.words;
        } else if (entry.fact != LogFact::value &&
                   ((act == "measure" && kind(id) != PartKind::socket) || entry.fact == LogFact::proved)) {
            prove(id);
        }
    }
    void set(const std::string& id, PartState to) {
        if (to == PartState::original)
            made_.parts.erase(id);
        else
            made_.parts[id] = to;
    }
    /// What is seen of a part takes its proof from it.
    void see(const std::string& id, const std::string& words) {
        std::string& all = made_.seen[id];
        if ((" " + all + " ").find(" " + words + " ") == std::string::npos) all += (all.empty() ? "" : " ") + words;
        if (state(id) == PartState::proved) made_.parts.erase(id);
        if (out(id) && before_[id] == PartState::proved) before_[id] = PartState::original;
    }
    /// A new part that is proved is a new part still; one that is out is proved when it is back.
    void prove(const std::string& id) {
        made_.seen.erase(id);
        if (out(id))
            before_[id] = before_[id] == PartState::fitted ? PartState::fitted : PartState::proved;
        else if (state(id) == PartState::original)
            made_.parts[id] = PartState::proved;
    }

    static std::optional<int> year_of(const std::string& at) {
        int year = 0;
        const auto [end, wrong] = std::from_chars(at.data(), at.data() + std::min<std::size_t>(4, at.size()), year);
        if (wrong != std::errc() || year < 1900) return std::nullopt;
        return year;
    }

    /// A log that was begun for another set, unless it was told the new name.
    void other_set(std::span<const LogEntry> entries) {
        std::set<std::string> told;
        for (const LogEntry& entry : entries)
            if (is_of_another_set(entry, chassis_) && names_.count(entry.set_name) == 0 &&
                told.insert(entry.set_name).second)
                made_.log.gone.push_back("entry " + std::to_string(entry.number) + " was made of another set, \"" +
                                         entry.set_name + "\"; this file is \"" + chassis_.name() + "\"");
    }
    /// The last word of a part was of one like that which the file has now.
    void other_parts(const std::vector<const LogEntry*>& kept) {
        std::map<std::string, const LogEntry*> last;
        for (const LogEntry* entry : kept)
            if (!entry->was.empty()) last[now(entry->fact == LogFact::renamed ? entry->to : entry->part)] = entry;
        for (const auto& [id, entry] : last) {
            const int i = chassis_.part(id);
            if (i < 0) continue;
            const std::string is = described(chassis_.parts()[static_cast<std::size_t>(i)], chassis_);
            if (!is_another(entry->was, is)) continue;
            made_.log.gone.push_back("entry " + std::to_string(entry->number) + ": " + id + " was " + entry->was +
                                     " when it was logged, and is " + is + " in the file now (" + id +
                                     " original, or a new entry of it, says that it is the same)");
        }
    }
    /// Another kind or value, or no net in common.
    static bool is_another(const std::string& was, const std::string& is) {
        return was.substr(0, was.find(", ")) != is.substr(0, is.find(", ")) || lies_elsewhere(was, is);
    }
    /// No net in common.
    static bool lies_elsewhere(const std::string& was, const std::string& is) {
        const std::size_t was_ends = was.find(", "), is_ends = is.find(", ");
        if (was_ends == std::string::npos || is_ends == std::string::npos) return false;
        const auto nets = [](const std::string& text, std::size_t from) {
            const std::size_t to = text.find(" to ", from);
            return std::pair(text.substr(from + 2, to - from - 2), text.substr(std::min(to + 4, text.size())));
        };
        const auto a = nets(was, was_ends), b = nets(is, is_ends);
        return a.first != b.first && a.first != b.second && a.second != b.first && a.second != b.second;
    }
    /// Every part and place that an entry names is in the file, or it is told.
    void missing(const LogEntry& entry) {
        std::vector<std::string> named;
        if (is_of_a_part(entry)) named.push_back(entry.part);
        for (const PlannedAct& act : decode(entry.acts))
            named.insert(named.end(), act.deed.parts.begin(), act.deed.parts.end());
        for (const std::string& id : named)
            if (chassis_.part(now(id)) < 0) lost(entry, id);
        if (entry.fact != LogFact::reading) return;
        for (const std::string& place : {pin_now(entry.part), pin_now(entry.to)})
            if (!place.empty() && !is_a_place(place, chassis_)) lost(entry, place);
    }
    void lost(const LogEntry& entry, const std::string& id) {
        if (!told_.insert({entry.number, id}).second) return;
        std::string line =
            "entry " + std::to_string(entry.number) + ": " + id + " is not in the file now (" + said(entry) + ")";
        const std::string near = nearest_now(entry, id);
        if (!near.empty()) line += "; nearest now: " + near;
        made_.log.gone.push_back(line);
    }
    /// What stands between the same two nets now, else what is written most like it.
    std::string nearest_now(const LogEntry& entry, const std::string& id) const {
        const std::size_t comma = entry.was.find(", ");
        const std::string kind_was = entry.was.substr(0, entry.was.find(' '));
        if (comma != std::string::npos)
            for (const Part& part : chassis_.parts()) {
                const std::string is = described(part, chassis_);
                if (is.ends_with(entry.was.substr(comma)) && is.starts_with(kind_was)) return part.id;
            }
        std::vector<std::string_view> ids;
        if (entry.fact == LogFact::reading)
            for (const Net& net : chassis_.nets()) ids.push_back(net.name);
        else
            for (const Part& part : chassis_.parts()) ids.push_back(part.id);
        return nearest(id, ids);
    }

    const Chassis& chassis_;
    const Catalogue& catalogue_;
    Progress made_;
    std::map<std::string, std::string> names_;
    std::map<std::string, PartState> before_;
    std::map<std::string, int> fitted_by_hand_;                     ///< part to the entry that says with what
    std::map<std::string, std::set<std::string>> overridden_with_;  ///< rule to the parts that were out then
    std::set<std::pair<int, std::string>> told_;
};

/// "line in series", "lamp across it": no second clip.
bool says_where(std::string_view to) {
    constexpr std::array<std::string_view, 5> words{"in series", "across it", "behind the lamp", "at the plug",
                                                    "in its lead"};
    return std::find(words.begin(), words.end(), to) != words.end();
}

std::string numbers_said(const LogEntry& entry) {
    std::string text = entry.words;
    // 0.5M in full: the letter has meant two things
    if (entry.quantity == "ohms" && entry.value && text.find_first_of("mM") != std::string::npos)
        text += " (" + say(ohms(*entry.value)) + ")";
    if (entry.line_volts) text += " at " + printed(*entry.line_volts, Measure::volts) + " line";
    if (!entry.meter.empty()) text += " on " + entry.meter;
    if (!entry.conditions.empty()) text += ", " + entry.conditions;
    return text;
}

}  // namespace

std::string said(const LogEntry& entry) {
    const std::string& id = entry.part;
    switch (entry.fact) {
        case LogFact::removed:
            return moved(entry, " is out");
        case LogFact::lifted:
            return moved(entry, " has one end lifted");
        case LogFact::back:
            return moved(entry, " is back as it was");
        case LogFact::fitted: {
            std::string text = id + ": a new one is in";
            if (entry.words.empty()) return text + " of the value that the file has" + with_was(entry);
            if (!entry.value) return text + ": " + entry.words + with_was(entry);
            text += ": " + (entry.quantity == "farads" ? say(farads(*entry.value))
                            : entry.quantity == "amps" ? say(amps(*entry.value))
                                                       : say(ohms(*entry.value)));
            if (entry.rated_volts) text += ", " + say(volts(*entry.rated_volts));
            if (entry.rated_watts) text += ", " + say(watts(*entry.rated_watts));
            return text + look(entry) + with_was(entry);
        }
        case LogFact::omitted:
            return id + " stays out on purpose: " + entry.words + with_was(entry);
        case LogFact::proved:
            return id + " is proved good" + with_was(entry);
        case LogFact::original:
            return id + " is as the file has it; what was logged of it before does not count";
        case LogFact::value:
            if (!entry.value) return id + " is found " + entry.words + look(entry) + with_was(entry);
            return id + " reads " + (entry.quantity == "farads" ? say(farads(*entry.value)) : say(ohms(*entry.value))) +
                   look(entry) + with_was(entry);
        case LogFact::reading:
            return id + (entry.to.empty() ? "" : (says_where(entry.to) ? " " : " to ") + entry.to) + " reads " +
                   numbers_said(entry);
        case LogFact::done: {
            std::string text = "step " + std::to_string(entry.step) + " of page " + std::to_string(entry.plan) +
                               " is done: " + entry.words;
            for (const PlannedAct& act : decode(entry.acts))
                if (!act.with.empty()) return text + " (new as listed, unless logged otherwise)" + look(entry);
            return text + look(entry);
        }
        case LogFact::stage:
            return "stage " + std::to_string(entry.step) + " is passed: " + entry.words + look(entry);
        case LogFact::signed_by_hand:
            return id + " is signed by hand" + (entry.words.empty() ? "" : ": " + entry.words);
        case LogFact::overridden:
            return id + " is OVERRIDDEN: " + entry.words;
        case LogFact::photo:
            return "photograph " + id + (entry.words.empty() ? "" : ": " + entry.words);
        case LogFact::note:
            return "note: " + entry.words;
        case LogFact::renamed:
            return id + " is called " + entry.to + " now" + with_was(entry);
        case LogFact::undo:
            return "entry " + std::to_string(entry.target) + " is undone: " + entry.words;
    }
    return entry.words;
}

std::vector<int> undone(std::span<const LogEntry> entries) {
    std::set<int> gone;
    for (std::size_t k = entries.size(); k-- > 0;)
        if (entries[k].fact == LogFact::undo && gone.count(entries[k].number) == 0) gone.insert(entries[k].target);
    return {gone.begin(), gone.end()};
}

Progress progress_of(std::span<const LogEntry> entries, const Chassis& chassis, const Catalogue& catalogue) {
    return Walk(chassis, catalogue).take(entries);
}

std::optional<Notice> of_another_set(std::span<const LogEntry> entries, const Chassis& chassis) {
    for (const LogEntry& entry : entries) {
        if (!is_of_another_set(entry, chassis)) continue;
        if (std::any_of(entries.begin(), entries.end(), [&](const LogEntry& e) {
                return e.fact == LogFact::renamed && e.part == entry.set_name && e.to == chassis.name();
            }))
            continue;
        Notice notice;
        notice.number = messages::import_differs;
        notice.place.file = chassis.file();
        notice.message = "nothing was taken over; entry " + std::to_string(entry.number) + " is of another set, \"" +
                         entry.set_name + "\"; this file is \"" + chassis.name() + "\"";
        notice.remedy = "give the file of that set; where it is the same set, name it in the file as it was";
        return notice;
    }
    return std::nullopt;
}

std::string print_of(std::string_view bytes) {
    // FNV-1a, 64 bits
    std::uint64_t sum = 14695981039346656037ULL;
    for (const char byte : bytes) sum = (sum ^ static_cast<unsigned char>(byte)) * 1099511628211ULL;
    std::string text;
    for (int shift = 60; shift >= 0; shift -= 4) text += "0123456789abcdef"[(sum >> shift) & 0xfU];
    return text;
}

std::string log_beside(const std::string& chassis_file) {
    return chassis_file + ".bench.db";
}

}  // namespace tubewright
