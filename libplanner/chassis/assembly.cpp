// SPDX-License-Identifier: MIT
#include "chassis/assembly.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <map>
#include <set>
#include <tuple>

#include "chassis/large_pages.hpp"
#include "terms/near.hpp"
#include "terms/numbers.hpp"

namespace tubewright {
namespace {

std::size_t at(int i) {
    return static_cast<std::size_t>(i);
}

constexpr double least_listed_electrolytic = 4e-6;
constexpr int first_electrolytics = 1930;
constexpr int most_suggestions = 50;         ///< a hostile file must not buy a search for every error
constexpr std::size_t most_notices = 10000;  ///< more are counted, not kept
constexpr std::size_t most_known = 5000;     ///< ids that a suggestion is sought among

bool good_id(std::string_view id) {
    return !id.empty() && id.size() <= 64 && std::none_of(id.begin(), id.end(), [](char c) {
        return static_cast<unsigned char>(c) <= ' ' || c == '.' || c == '"' || c == '<';
    });
}

bool digits_only(std::string_view text) {
    return !text.empty() && std::all_of(text.begin(), text.end(), [](char c) { return c >= '0' && c <= '9'; });
}

int whole(std::string_view digits) {
    int x = -1;
    std::from_chars(digits.data(), digits.data() + digits.size(), x);
    return x;
}

/// Pins of a base in the order of the socket; a base that is not in the list gives the pins of the row.
std::vector<std::string> pins_of(const TubeType& type) {
    constexpr std::pair<std::string_view, int> bases[] = {
        {"UX4", 4},   {"UV4", 4},    {"UX5", 5},         {"UX6", 6},   {"UX7", 7},
        {"octal", 8}, {"loctal", 8}, {"miniature-7", 7}, {"noval", 9}, {"B8A", 8},
    };
    std::string_view base = type.base;
    base = base.substr(0, base.find('+'));
    std::vector<std::string> pins;
    for (const auto& [name, count] : bases)
        if (name == base)
            for (int i = 1; i <= count; ++i) pins.push_back(std::to_string(i));
    for (const Pin& pin : type.pins)
        if (std::find(pins.begin(), pins.end(), pin.pin) == pins.end()) pins.push_back(pin.pin);
    return pins;
}

std::string listed(const std::vector<Lead>& leads) {
    std::string text;
    for (std::size_t i = 0; i < leads.size() && i < 12; ++i) text += (i ? ", " : "") + leads[i].name;
    if (leads.size() > 12) text += ", ...";
    return text;
}

/// Rubber is what crumbles: taken where the year is not known (common practice, no source).
std::string_view usual_wire(const std::optional<int>& built) {
    constexpr int rubber_from = 1928, rubber_to = 1948;
    if (!built || (*built >= rubber_from && *built <= rubber_to)) return "rubber";
    return *built < rubber_from ? "cloth" : "plastic";
}

/// Construction when neither the part nor the file says one.
std::string_view usual_construction(const Part& part) {
    switch (part.kind) {
        case PartKind::control:
            return part.role == "hum" ? "wirewound-control" : "carbon-control";
        case PartKind::coil:
            if (part.role == "choke") return "choke";
            if (part.role == "field") return "field-coil";
            return part.role == "voice" || part.role == "hum-bucking" ? "voice-coil" : "rf-coil";
        case PartKind::transformer:
            if (part.role == "power") return "power-transformer";
            if (part.role == "output") return "output-transformer";
            if (part.role == "interstage") return "interstage-transformer";
            return part.role == "if" ? "if-transformer" : "rf-coil";
        case PartKind::socket:
            if (!part.type) return "tube-socket";
            if (part.type->is_rectifier()) return "rectifier-tube";
            return part.type->tube_class == "eye" ? "eye-tube" : "receiving-tube";
        case PartKind::lamp:
            return "dial-lamp";
        case PartKind::fuse:
            return "fuse";
        case PartKind::power_switch:
            return "power-switch";
        case PartKind::plug:
            return "plug-socket";
        case PartKind::speaker:
            return "speaker";
        case PartKind::strip:
            return "terminal-strip";
        case PartKind::battery:
            return part.role == "vehicle" ? "lead-battery" : "dry-battery";
        case PartKind::vibrator:
            return "vibrator";
        case PartKind::rectifier:
            return "selenium";
        default:
            return {};
    }
}

/// Kinds of construction (catalogue word) that a part of this kind may have.
std::string_view kinds_for(PartKind kind) {
    switch (kind) {
        case PartKind::capacitor:
            return "capacitor";
        case PartKind::resistor:
            return "resistor control ballast";
        case PartKind::control:
            return "control resistor";
        case PartKind::coil:
            return "coil transformer";
        case PartKind::transformer:
            return "transformer coil";
        case PartKind::socket:
            return "tube socket rectifier";
        case PartKind::lamp:
            return "lamp";
        case PartKind::fuse:
            return "fuse";
        case PartKind::power_switch:
            return "switch";
        case PartKind::plug:
            return "plug";
        case PartKind::cord:
            return "cord wire";
        case PartKind::wire:
            return "wire cord";
        case PartKind::speaker:
            return "speaker";
        case PartKind::strip:
            return "strip";
        case PartKind::battery:
            return "battery";
        case PartKind::vibrator:
            return "vibrator";
        case PartKind::rectifier:
            return "rectifier";
        case PartKind::block:
            return "capacitor";
        case PartKind::untraced:
            return "";
    }
    return "";
}

bool one_of(std::string_view word, std::string_view list) {
    while (!list.empty()) {
        const std::size_t blank = list.find(' ');
        if (list.substr(0, blank) == word) return true;
        if (blank == std::string_view::npos) break;
        list.remove_prefix(blank + 1);
    }
    return false;
}

}  // namespace

Assembly::Assembly(std::string name) : data_(std::make_shared<Chassis::Data>()), parts_(data_->parts) {
    data_->name = std::move(name);
}

void Assembly::reserve(std::size_t parts) {
    reserve_large(parts_, parts);
    reserve_large(part_spots_, parts);
    const std::size_t points = parts * 3;
    for (auto* column : {&parent_, &weight_, &name_of_point_}) reserve_large(*column, points);
    reserve_large(point_spot_, points);
    reserve_large(point_of_name_, points);
    data_->ids.reserve(parts);
    data_->names.reserve(2 * parts);
}

Text Assembly::lead_word(std::string_view name) {
    const int i = lead_names_.intern(name);
    if (i == static_cast<int>(lead_words_.size())) lead_words_.emplace_back(name);
    return lead_words_[at(i)];
}

int Assembly::new_point(int name, Spot spot) {
    const int p = static_cast<int>(parent_.size());
    parent_.push_back(p);
    weight_.push_back(1);
    name_of_point_.push_back(name);
    point_spot_.push_back(spot);
    return p;
}

int Assembly::point(std::string_view name, Spot spot) {
    const int n = data_->names.intern(name);
    if (n == static_cast<int>(data_->name_uses.size())) data_->name_uses.push_back(0);
    if (std::uint16_t& uses = data_->name_uses[at(n)]; uses < 0xFFFF) ++uses;
    if (n == static_cast<int>(point_of_name_.size())) {
        point_of_name_.push_back(new_point(n, spot));
        const bool blank =
            std::any_of(name.begin(), name.end(), [](char c) { return static_cast<unsigned char>(c) <= ' '; });
        if (name == "?")
            error(messages::bad_name, spot, "\"?\" is no name of a net here",
                  "leave it out until it is traced; a lead that goes nobody knows where may be \"?\"");
        else if (name.find(',') != std::string_view::npos)
            error(messages::bad_name, spot, quoted(name) + " has a comma",
                  "one net a lead; names that are one net are joined: <join at=\"bplus V3.2\"/>");
        else if (name.empty() || blank || name.size() > 80)
            error(messages::bad_name, spot, quoted(name) + " is no name of a net",
                  "one word or one pin: \"bplus\", \"V3.2\"; more than one are joined by <join at=\"...\"/>");
    }
    return point_of_name_[at(n)];
}

int Assembly::root(int p) {
    while (parent_[at(p)] != p) {
        parent_[at(p)] = parent_[at(parent_[at(p)])];
        p = parent_[at(p)];
    }
    return p;
}

void Assembly::unite(int a, int b) {
    a = root(a);
    b = root(b);
    if (a == b) return;
    if (weight_[at(a)] < weight_[at(b)]) std::swap(a, b);
    parent_[at(b)] = a;
    weight_[at(a)] += weight_[at(b)];
}

void Assembly::notice(int number, Severity severity, Spot spot, std::string message, std::string remedy) {
    failed_ = failed_ || severity == Severity::error;
    if (notices_.size() >= most_notices) {
        if (severity == Severity::error) ++unlisted_;
        return;
    }
    Notice n;
    n.number = number;
    n.severity = severity;
    n.place = place(spot);
    n.message = std::move(message);
    n.remedy = std::move(remedy);
    notices_.push_back(std::move(n));
}

void Assembly::error(int number, Spot spot, std::string message, std::string remedy) {
    notice(number, Severity::error, spot, std::move(message), std::move(remedy));
}

void Assembly::note(int number, Spot spot, std::string message, std::string remedy) {
    notice(number, Severity::note, spot, std::move(message), std::move(remedy));
}

int Assembly::part_of(std::string_view id) const {
    const int i = data_->ids.find(id);
    return i < 0 ? -1 : data_->part_of_id[at(i)];
}

std::string Assembly::suggest_part(std::string_view id) {
    if (++suggestions_ > most_suggestions) return {};
    if (known_ids_.empty())
        for (int i = 0; i < data_->ids.size() && known_ids_.size() < most_known; ++i)
            known_ids_.push_back(data_->ids.text(i));
    const std::string near = nearest(id, known_ids_);
    return near.empty() ? "" : "did you mean \"" + near + "\"?";
}

Part& Assembly::add(PartKind kind, std::string_view id, Spot spot, Spot id_spot) {
    gather();
    const int index = static_cast<int>(parts_.size());
    Part& part = parts_.emplace_back();
    part_spots_.push_back({spot, spot, spot});
    of_kind_[static_cast<std::size_t>(kind)].push_back(index);
    part.kind = kind;
    part.place = place(spot);
    if (id.empty()) return part;
    part.id = id;
    // "C20.square": the section of a can that was declared before.
    const std::size_t dot = id.find('.');
    const int can = dot == std::string_view::npos ? -1 : data_->ids.find(id.substr(0, dot));
    const bool section = can >= 0 && data_->part_of_id[at(can)] < 0;
    sections_ = sections_ || section;
    if (!good_id(section ? id.substr(dot + 1) : id))
        error(messages::bad_name, id_spot, quoted(id) + " is no id",
              "letters and figures without blanks and dots: \"C14\"");
    const int i = data_->ids.intern(id);
    if (i == static_cast<int>(data_->part_of_id.size())) {
        data_->part_of_id.push_back(index);
        can_minus_.push_back(-1);
    } else {
        const int first = data_->part_of_id[at(i)];
        const int first_line = first < 0 ? 0 : part_spots_[at(first)].part.line;
        error(messages::duplicate_id, id_spot, "the id " + quoted(id) + " is used twice",
              first_line > 0
                  ? "the first is on line " + std::to_string(first_line) + "; every part has an id of its own"
                  : "every part has an id of its own");
    }
    return part;
}

void Assembly::spots(Spot tube, Spot construction) {
    part_spots_.back().tube = tube;
    part_spots_.back().construction = construction;
}

void Assembly::lead(Part& part, std::string_view lead_name, std::string_view net, Spot spot) {
    if (net == "?") {  // it goes somewhere: nobody knows yet
        unplaced_lead(part, lead_name, false);
        part.leads.back().place = place(spot);
        part.leads.back().unknown = true;
        return;
    }
    if (part.leads.empty()) part.leads.reserve(2);
    Lead& lead = part.leads.emplace_back();
    lead.name = lead_word(lead_name);
    lead.net = point(net, spot);
    lead.place = place(spot);
}

void Assembly::unplaced_lead(Part& part, std::string_view lead_name, bool required) {
    Lead& lead = part.leads.emplace_back();
    lead.name = lead_word(lead_name);
    lead.place = part.place;
    lead.net = new_point(-1, {part.place.line, part.place.column});
    if (required)
        required_.push_back({static_cast<int>(&part - parts_.data()), static_cast<int>(part.leads.size()) - 1});
}

void Assembly::can(std::string_view id, std::string_view minus, Spot spot, Spot minus_spot) {
    if (!good_id(id))
        error(messages::bad_name, spot, quoted(id) + " is no id",
              "letters and figures without blanks and dots: \"C20\"");
    const int i = data_->ids.intern(id);
    if (i < static_cast<int>(data_->part_of_id.size())) {
        error(messages::duplicate_id, spot, "the id " + quoted(id) + " is used twice",
              "every part has an id of its own");
        return;
    }
    data_->part_of_id.push_back(-1);
    can_minus_.push_back(minus.empty() ? new_point(-1, spot) : point(minus, minus_spot));
}

void Assembly::lugs(std::string_view id, Spot spot, int count) {
    can(id, {}, spot, spot);
    const int i = data_->ids.find(id);
    if (i >= 0 && i < static_cast<int>(can_minus_.size()) && data_->part_of_id[at(i)] < 0)
        can_minus_[at(i)] = -2 - count;
}

void Assembly::reach(std::string_view part, Spot part_spot, std::vector<std::pair<std::string, Spot>> lift) {
    reaches_.push_back({std::string(part), part_spot, std::move(lift)});
}

void Assembly::join(const std::vector<std::pair<std::string, Spot>>& names) {
    int first = -1;
    for (const auto& [name, spot] : names) {
        const int p = point(name, spot);
        if (first >= 0) unite(first, p);
        first = p;
    }
}

void Assembly::node(std::string_view is, std::string_view net, bool touch, Spot spot) {
    roles_.push_back({std::string(is), point(net, spot), touch, spot});
}

void Assembly::reference(std::string_view net, Spot spot) {
    roles_.push_back({"reference", point(net, spot), false, spot});
}

void Assembly::line_nets(std::string_view hot, Spot hot_spot, std::string_view neutral, Spot neutral_spot) {
    if (!hot.empty()) roles_.push_back({"line-hot", point(hot, hot_spot), false, hot_spot});
    if (!neutral.empty()) roles_.push_back({"line-neutral", point(neutral, neutral_spot), false, neutral_spot});
}

void Assembly::gather() {
    for (; gathered_.so_far < static_cast<int>(parts_.size()); ++gathered_.so_far) {
        const int i = gathered_.so_far;
        const Part& part = parts_[at(i)];
        if (part.id.empty()) gathered_.no_id.push_back(i);
        if (!part.plug.empty() && part.plug != "none") gathered_.on_plugs.push_back(i);
        if (!part.inside.empty()) gathered_.inside.push_back(i);
        if (part.touch) gathered_.touched.push_back(i);
        const bool may = part.kind == PartKind::capacitor || part.kind == PartKind::resistor ||
                         part.kind == PartKind::coil || part.kind == PartKind::lamp || part.kind == PartKind::control ||
                         part.kind == PartKind::fuse || part.kind == PartKind::rectifier ||
                         part.kind == PartKind::power_switch || part.kind == PartKind::battery ||
                         part.kind == PartKind::vibrator;
        const auto unnamed = [&](const Lead& lead) {
            return name_of_point_[at(lead.net)] < 0 || (!part.can.empty() && lead.name == "minus");
        };
        const bool bare = part.kind == PartKind::transformer && part.windings.empty();
        if (bare || (may && !part.leads.empty() && std::all_of(part.leads.begin(), part.leads.end(), unnamed)))
            gathered_.listed.push_back(i);
    }
}

/// "W1", "W2" ... for what may go without an id: the next number that is free.
void Assembly::make_ids() {
    std::map<std::string, int> next;
    std::string made;
    int count = 0;
    Spot first;
    for (const int i : gathered_.no_id) {
        Part& part = parts_[at(i)];
        const char* letters = part.kind == PartKind::speaker ? "LS" : part.kind == PartKind::untraced ? "U" : "W";
        std::string id;
        do id = letters + std::to_string(++next[letters]);
        while (data_->ids.find(id) >= 0);
        data_->ids.intern(id);
        data_->part_of_id.push_back(i);
        can_minus_.push_back(-1);
        part.id = id;
        if (++count == 1) first = part_spots_[at(i)].part;
        if (count <= 6) made += (count > 1 ? ", " : "") + id;
    }
    if (count > 0)
        note(messages::note_id_made, first, "parts without an id were numbered: " + made + (count > 6 ? ", ..." : ""),
             "give an id to what you want to find again");
}

void Assembly::fit_tubes(const Catalogue& catalogue) {
    struct Fitted {
        const TubeType* type = nullptr;
        std::vector<std::string> pins;
        std::vector<std::pair<std::size_t, std::size_t>> joined;  ///< pins of one electrode
    };
    std::map<std::string, Fitted, std::less<>> known;
    for (const int i : of_kind(PartKind::socket)) {
        Part& part = parts_[at(i)];
        if (part.tube.empty()) continue;
        const auto [row, is_new] = known.try_emplace(part.tube);
        Fitted& fitted = row->second;
        if (is_new) {
            fitted.type = catalogue.tube(part.tube);
            if (fitted.type) fitted.pins = pins_of(*fitted.type);
            for (std::size_t a = 0; a < fitted.pins.size(); ++a)
                for (std::size_t b = a + 1; b < fitted.pins.size(); ++b)
                    if (joined_inside(*fitted.type, fitted.pins[a], fitted.pins[b])) fitted.joined.emplace_back(a, b);
        }
        part.type = fitted.type;
        if (!part.type) {
            std::string near;
            if (is_new && ++suggestions_ <= most_suggestions)
                for (const std::string& type : catalogue.nearest_tubes(part.tube))
                    near += (near.empty() ? "" : ", ") + type;
            error(messages::unknown_tube, part_spots_[at(i)].tube, "the catalogue has no tube " + quoted(part.tube),
                  near.empty() ? "look at the type on the glass again; a type that the tables lack is left out (no "
                                 "tube=) until it is added"
                               : "nearest: " + near);
            continue;
        }
        if (is_new && part.type->type != part.tube)
            note(messages::note_type_row, part_spots_[at(i)].tube,
                 part.id + ": " + quoted(part.tube) + " is read from the row " + quoted(part.type->type), "");
        part.leads.reserve(fitted.pins.size());
        const std::size_t first = part.leads.size();
        for (const std::string& pin : fitted.pins) unplaced_lead(part, pin, false);
        for (const auto& [a, b] : fitted.joined) unite(part.leads[first + a].net, part.leads[first + b].net);
    }
}

void Assembly::check_defaults(const Catalogue& catalogue) {
    const std::tuple<const char*, const FileDefault*, PartKind> defaults[] = {
        {"paper", &paper, PartKind::capacitor},
        {"mica", &mica, PartKind::capacitor},
        {"electrolytic", &electrolytic, PartKind::capacitor},
        {"resistor", &resistor, PartKind::resistor},
        {"wire", &wire, PartKind::wire},
        {"cord", &cord, PartKind::cord},
    };
    for (const auto& [attribute, value, kind] : defaults) {
        if (value->key.empty()) continue;
        const Construction* row = catalogue.construction(value->key);
        if (row && one_of(row->kind, kinds_for(kind))) continue;
        std::vector<std::string_view> keys;
        for (const Construction& c : catalogue.constructions())
            if (one_of(c.kind, kinds_for(kind))) keys.push_back(c.key);
        error(messages::unknown_construction, value->spot,
              row ? quoted(value->key) + " is a construction of a " + row->kind + ", not of a " + word(kind)
                  : std::string("the file's ") + attribute + " is " + quoted(value->key) +
                        ", and no such construction is known",
              suggestion(value->key, keys));
    }
}

void Assembly::settle_constructions(const Catalogue& catalogue) {
    struct Known {
        Text key;
        const Construction* row = nullptr;
        int taken = 0;    ///< parts that were given it for want of a word
        std::string ids;  ///< the first of them
    };
    std::map<std::string, Known, std::less<>> known;
    std::pair<std::string_view, Known*> last{};  // most parts are made as the one before them
    const auto known_as = [&](std::string_view key) -> Known& {
        if (last.second && last.first == key) return *last.second;
        auto found = known.find(key);
        if (found == known.end()) found = known.emplace(key, Known{key, catalogue.construction(key), 0, {}}).first;
        last = {found->first, &found->second};
        return found->second;
    };
    for (std::size_t i = 0; i < parts_.size(); ++i) {
        Part& part = parts_[i];
        part.construction_stated = !part.construction.empty();
        if (!part.construction_stated) {
            std::string_view from_file, usual = usual_construction(part);
            switch (part.kind) {
                case PartKind::capacitor:
                    // So many microfarads in a list of capacitors are an electrolytic's, once there were such.
                    if (part.leads.empty() && part.farads.value_or(0) >= least_listed_electrolytic &&
                        built.value_or(first_electrolytics) >= first_electrolytics)
                        part.polarised = true;
                    if (part.polarised) {
                        from_file = electrolytic.key;
                        usual = "dry-electrolytic";
                    } else if (part.farads && *part.farads < 1e-9) {
                        from_file = mica.key;
                        usual = "mica";
                    } else {
                        from_file = paper.key;
                        usual = "wax-paper";
                    }
                    break;
                case PartKind::resistor:
                    from_file = resistor.key;
                    usual = "carbon-composition";
                    break;
                case PartKind::wire:
                    from_file = wire.key;
                    usual = usual_wire(built);
                    break;
                case PartKind::cord:
                    from_file = cord.key;
                    usual = "line-cord";
                    break;
                default:
                    break;
            }
            const std::string_view key = from_file.empty() ? usual : from_file;
            if (key.empty()) continue;
            Known& taken = known_as(key);
            part.construction = taken.key;
            if (from_file.empty() &&
                (part.kind == PartKind::capacitor || part.kind == PartKind::resistor || part.kind == PartKind::wire)) {
                if (++taken.taken <= 8) taken.ids += (taken.taken > 1 ? ", " : "") + part.id;
            }
        }
        if (part.construction.empty()) continue;
        if (part.kind == PartKind::capacitor && part.leads.empty() &&
            part.construction.find("electrolytic") != std::string::npos)
            part.polarised = true;
        const Known& made = known_as(part.construction);
        part.construction = made.key;  // one text for all that are made so
        const Construction* row = made.row;
        const std::string_view kinds = kinds_for(part.kind);
        if (row && one_of(row->kind, kinds)) continue;
        if (!part.construction_stated) continue;  // check_defaults() speaks of the file's own
        std::vector<std::string_view> keys;
        if (++suggestions_ <= most_suggestions)
            for (const Construction& c : catalogue.constructions())
                if (one_of(c.kind, kinds)) keys.push_back(c.key);
        error(messages::unknown_construction, part_spots_[i].construction,
              row ? quoted(part.construction) + " is a construction of a " + row->kind + ", not of a " + word(part.kind)
                  : "no construction " + quoted(part.construction) + " is known",
              suggestion(part.construction, keys));
    }
    for (const auto& [construction, of_it] : known) {
        if (of_it.taken == 0) continue;
        note(messages::note_construction, {},
             (of_it.taken == 1 ? "1 part does" : std::to_string(of_it.taken) + " parts do") +
                 std::string(" not say how they are made, taken as ") + construction + ": " + of_it.ids +
                 (of_it.taken > 8 ? ", ..." : ""),
             "write construction=\"...\" where you can see it");
    }
}

/// Pin 2 of seven from above, clockwise, is pin 6 from below.
std::string Assembly::seen_from_below(const Part& socket, std::string_view pin) const {
    if (!socket.top_view || !digits_only(pin)) return std::string(pin);
    const auto pins = std::count_if(socket.leads.begin(), socket.leads.end(),
                                    [](const Lead& lead) { return digits_only(lead.name); });
    const int from_above = whole(pin);
    return from_above < 1 || from_above > pins ? std::string(pin) : std::to_string(pins + 1 - from_above);
}

int Assembly::resolve_on(int p, std::string_view lead_name, int name, Spot spot) {
    Part& part = parts_[at(p)];
    const int found = lead_by_any_name(part, part.top_view ? seen_from_below(part, lead_name) : lead_name);
    if (found >= 0) return found;
    const std::string_view written = data_->names.text(name);
    const auto make = [&] {
        Lead& lead = part.leads.emplace_back();
        lead.name = lead_word(lead_name);
        lead.place = place(spot);
        lead.net = point_of_name_[at(name)];
        return static_cast<int>(part.leads.size()) - 1;
    };
    switch (part.kind) {
        case PartKind::socket:
            if (!part.type) return part.tube.empty() ? make() : -1;  // an unknown tube was reported already
            if (found == -2) {
                error(messages::ambiguous_element, spot,
                      quoted(written) + ": several pins of a " + part.type->type + " are called " + quoted(lead_name),
                      "write the pin's number");
            } else {
                error(messages::unknown_pin, spot,
                      quoted(written) + ": the " + part.type->base + " base of a " + part.type->type + " has no " +
                          quoted(lead_name),
                      "it has " + listed(part.leads) +
                          ": the pin is counted wrongly, or another tube or socket is meant");
            }
            return -1;
        case PartKind::plug:
        case PartKind::block:
            return make();
        case PartKind::coil:
            if (lead_name == "tap") return make();
            break;
        case PartKind::cord:
            if (lead_name == "from" || lead_name == "to" || digits_only(lead_name)) return make();
            break;
        case PartKind::speaker:
            if (lead_name == "a" || lead_name == "b" || digits_only(lead_name)) return make();
            break;
        default:
            break;
    }
    error(messages::unknown_lead, spot, quoted(written) + ": " + part.id + " has no lead " + quoted(lead_name),
          part.leads.empty() ? "it has none" : "it has " + listed(part.leads));
    return -1;
}

void Assembly::resolve(int name) {
    const std::string_view written = data_->names.text(name);
    const int here = point_of_name_[at(name)];
    const Spot spot = point_spot_[at(here)];
    // "C20.square" is a part of its own: the word means its plus.
    if (const int p = sections_ ? part_of(written) : -1; p >= 0) {
        if (!parts_[at(p)].leads.empty()) unite(here, parts_[at(p)].leads[0].net);
        return;
    }
    for (std::size_t dot = written.rfind('.'); dot != std::string_view::npos && dot > 0;
         dot = written.rfind('.', dot - 1)) {
        const std::string_view id = written.substr(0, dot), lead_name = written.substr(dot + 1);
        const int i = data_->ids.find(id);
        if (i < 0) continue;
        if (const int p = data_->part_of_id[at(i)]; p >= 0) {
            const int l = resolve_on(p, lead_name, name, spot);
            if (l < 0) return;
            Lead& lead = parts_[at(p)].leads[at(l)];
            unite(here, lead.net);
            if (lead.place.line == 0 ||
                (lead.place.line == parts_[at(p)].place.line && lead.place.column == parts_[at(p)].place.column))
                lead.place = place(spot);
            return;
        }
        if (const int lugs = -2 - can_minus_[at(i)]; lugs >= 0) {
            if (lugs > 0 && (!digits_only(lead_name) || whole(lead_name) < 1 || whole(lead_name) > lugs))
                error(messages::unknown_lead, spot,
                      quoted(written) + ": " + std::string(id) + " has no lug " + quoted(lead_name),
                      "it has 1 to " + std::to_string(lugs));
            return;
        }
        if (lead_name == "minus" || lead_name == "can" || lead_name == "-") {
            unite(here, can_minus_[at(i)]);
            return;
        }
        error(messages::unknown_lead, spot,
              quoted(written) + ": the can " + quoted(id) + " has no section " + quoted(lead_name),
              "write the section's mark, or \"minus\" for the common side");
        return;
    }
    const std::string_view id = written.substr(0, written.find('.'));
    error(messages::unknown_part, spot,
          quoted(written) + " names a lead of " + quoted(id) + ", and no part has that id", suggest_part(id));
}

void Assembly::resolve_names() {
    // Strips that are only named ("TS2.3") are taken as read.
    std::map<std::string, std::pair<int, Spot>> strips;
    std::vector<int> dotted;
    for (int n = 0; n < data_->names.size(); ++n) {
        const std::string_view name = data_->names.text(n);
        const std::size_t dot = name.find('.');
        if (dot == std::string_view::npos) continue;
        dotted.push_back(n);
        const std::string_view id = name.substr(0, dot), lug = name.substr(dot + 1);
        if (id.starts_with("TS") && digits_only(id.substr(2)) && digits_only(lug) && data_->ids.find(id) < 0) {
            auto& [lugs, spot] = strips[std::string(id)];
            if (lugs == 0) spot = point_spot_[at(point_of_name_[at(n)])];
            lugs = std::max(lugs, std::clamp(whole(lug), 1, 100));
        }
    }
    for (const auto& [id, made] : strips) {
        const auto& [lugs, spot] = made;
        Part& strip = add(PartKind::strip, id, spot, spot);
        strip.construction = "terminal-strip";
        for (int lug = 1; lug <= lugs; ++lug) unplaced_lead(strip, std::to_string(lug), false);
        note(messages::note_strip_made, spot, id + " is not declared: taken for a terminal strip",
             "<strip id=\"" + id + "\" lugs=\"" + std::to_string(lugs) + "\"/>");
    }
    for (const int n : dotted) resolve(n);
}

void Assembly::resolve_reach() {
    std::map<std::string, std::vector<int>, std::less<>> sections;
    if (!reaches_.empty())
        for (std::size_t i = 0; i < parts_.size(); ++i)
            if (!parts_[i].can.empty()) sections[parts_[i].can].push_back(static_cast<int>(i));
    const auto known = [&](std::string_view id, Spot spot) {
        if (data_->ids.find(id) >= 0) return true;
        error(messages::unknown_part, spot, "no part has the id " + quoted(id), suggest_part(id));
        return false;
    };
    for (const Reach& reach : reaches_) {
        std::vector<std::string> lift;
        const std::string_view part = reach.part, can = part.substr(0, part.find('.'));
        for (const auto& [id, spot] : reach.lift) {
            const std::string_view lifted = id;
            const bool itself = lifted == part || lifted == can ||  // a can, and a section of it
                                (lifted.substr(0, lifted.find('.')) == part && part_of(part) < 0);
            if (itself)
                error(messages::reach_itself, spot,
                      quoted(lifted) + " is lifted to reach " + (lifted == part ? "itself" : quoted(part)),
                      "name what stands before it, or leave the <reach> out");
            else if (known(id, spot))
                lift.push_back(id);
        }
        if (!known(reach.part, reach.spot)) continue;
        std::vector<int> targets;
        if (const int p = part_of(reach.part); p >= 0)
            targets.push_back(p);
        else if (const auto found = sections.find(reach.part); found != sections.end())
            targets = found->second;
        for (const int p : targets)
            parts_[at(p)].lift_first.insert(parts_[at(p)].lift_first.end(), lift.begin(), lift.end());
    }
    reach_in_a_ring();
}

/// Parts that each want another of them lifted first can be reached by nobody: told once, at the last <reach> of them.
void Assembly::reach_in_a_ring() {
    const auto first_of = [](std::string_view id) { return id.substr(0, id.find('.')); };
    std::map<std::string_view, std::vector<std::string_view>> lifted;
    std::set<std::string_view> told;
    for (const Reach& reach : reaches_) {
        for (const auto& [id, spot] : reach.lift) {
            const std::string_view part = first_of(reach.part), over = first_of(id);
            if (part == over) continue;
            lifted[part].push_back(over);
            // from what is lifted back to what is reached
            std::map<std::string_view, std::string_view> from{{over, part}};
            std::vector<std::string_view> front{over};
            while (!front.empty() && from.count(part) == 0) {
                const std::string_view one = front.back();
                front.pop_back();
                for (const std::string_view next : lifted[one])
                    if (from.emplace(next, one).second) front.push_back(next);
            }
            if (from.count(part) == 0 || !told.insert(part).second) continue;
            std::string ring(part);
            std::vector<std::string_view> back;
            for (std::string_view one = from[part]; one != part; one = from[one]) back.push_back(one);
            for (auto one = back.rbegin(); one != back.rend(); ++one) ring += " under " + std::string(*one);
            error(messages::reach_ring, spot,
                  "nothing in this ring can be reached: " + ring + " under " + std::string(part),
                  "one of them lies on top: take the <reach> of that one out");
        }
    }
}

void Assembly::join_wires() {
    for (const PartKind kind : {PartKind::wire, PartKind::cord})
        for (const int i : of_kind(kind))
            if (const Part& part = parts_[at(i)]; part.leads.size() == 2 && !part.ohms)
                unite(part.leads[0].net, part.leads[1].net);
}

/// What is not traced draws from its net to B-minus, or to the metal where the set has no B-minus.
void Assembly::untraced_returns() {
    int home = -1;
    for (const char* role : {"b-minus", "chassis-metal", "reference"})
        for (const RoleNet& net : roles_)
            if (home < 0 && net.what == role) home = net.point;
    if (home < 0) return;
    for (const int i : of_kind(PartKind::untraced))
        if (const Part& part = parts_[at(i)]; part.leads.size() == 2 && weight_[at(root(part.leads[1].net))] == 1)
            unite(part.leads[1].net, home);
}

void Assembly::check_leads() {
    const auto lonely = [&](const Lead& lead) {
        return name_of_point_[at(lead.net)] < 0 && weight_[at(root(lead.net))] == 1;
    };
    // The common side of a can that nothing names but its sections.
    const auto common_alone = [&](const Part& part, const Lead& lead) {
        const int can = part.can.empty() || lead.name != "minus" ? -1 : data_->ids.find(part.can);
        const int common = can < 0 || at(can) >= can_minus_.size() ? -1 : can_minus_[at(can)];
        return common >= 0 && name_of_point_[at(common)] < 0 && root(common) == root(lead.net) &&
               weight_[at(root(common))] == 2;
    };
    // A part that stands nowhere is one of a list, until it is traced.
    std::vector<char> listed_only(parts_.size());
    std::string ids;
    int count = 0;
    Spot first;
    for (const int i : gathered_.listed) {
        Part& part = parts_[at(i)];
        const auto nowhere = [&](const Lead& lead) { return lonely(lead) || common_alone(part, lead); };
        if (!std::all_of(part.leads.begin(), part.leads.end(), nowhere)) continue;
        listed_only[at(i)] = 1;
        part.leads.clear();
        if (++count == 1) first = part_spots_[at(i)].part;
        if (count <= 8) ids += (count > 1 ? ", " : "") + part.id;
    }
    if (count > 0)
        note(messages::note_not_placed, first, "parts that stand nowhere yet: " + ids + (count > 8 ? ", ..." : ""),
             "say where their leads go when you have traced them");
    for (const LeadAt& need : required_) {
        if (listed_only[at(need.part)]) continue;
        const Part& part = parts_[at(need.part)];
        const Lead& lead = part.leads[at(need.lead)];
        if (part.kind == PartKind::control || !lonely(lead)) continue;
        error(messages::lead_missing, part_spots_[at(need.part)].part,
              std::string("the ") + word(part.kind) + " " + quoted(part.id) + " does not say where its lead " +
                  quoted(lead.name) + " goes",
              (part.kind == PartKind::vibrator && digits_only(lead.name) ? std::string("write contacts")
                                                                         : "write " + lead.name) +
                  "=\"...\", or name " + part.id + "." + lead.name + " elsewhere" +
                  (part.can.empty() ? "" : "; in a list, leave the can's minus out too"));
    }
    for (const int i : of_kind(PartKind::control)) {
        Part& part = parts_[at(i)];
        if (listed_only[at(i)]) continue;
        std::erase_if(part.leads, lonely);
        if (part.leads.size() < 2)
            error(messages::lead_missing, part_spots_[at(i)].part,
                  "the control " + quoted(part.id) + " needs two of its leads a, b and wiper", "write a, b, wiper");
    }
}

/// What a part is said to be inside of must be there.
void Assembly::check_holders() {
    for (const int i : gathered_.inside)
        if (const Part& part = parts_[at(i)]; data_->ids.find(part.inside) < 0)
            error(messages::unknown_part, part_spots_[at(i)].part,
                  "no part has the id " + quoted(part.inside) + ", and " + part.id + " is said to be inside it",
                  suggest_part(part.inside));
}

/// What rides on a plug names it by its id or its role; where that plug is out, so is what rides on it.
void Assembly::ride_plugs() {
    std::vector<const Part*> plugs;
    std::vector<std::string_view> words{"speaker"};
    for (const int i : of_kind(PartKind::plug)) {
        const Part& part = parts_[at(i)];
        plugs.push_back(&part);
        words.push_back(part.id);
        if (part.role != "line") words.push_back(part.role);
    }
    for (const int i : gathered_.on_plugs) {
        Part& part = parts_[at(i)];
        const auto rides = [&](const Part* plug) { return plug->id == part.plug || plug->role == part.plug; };
        const auto found = std::find_if(plugs.begin(), plugs.end(), rides);
        if (found == plugs.end()) {
            if (part.plug != "speaker")
                error(messages::unknown_part, part_spots_[at(i)].part,
                      "no plug is called " + quoted(part.plug) + ", and " + part.id + " is said to ride on it",
                      suggestion(part.plug, words));
            continue;
        }
        if ((*found)->role == "speaker") part.plug = "speaker";
        const bool states_itself =
            part.kind == PartKind::plug || part.kind == PartKind::power_switch || part.kind == PartKind::battery;
        if ((!(*found)->closed || stands_open(**found)) && !states_itself) part.closed = false;
    }
}

void Assembly::number_nets() {
    Chassis::Data& data = *data_;
    std::vector<int> net_of_point(parent_.size(), -1), leads_of_point(parent_.size(), 0);
    int leads = 0;
    for (const Part& part : parts_)
        for (const Lead& lead : part.leads) {
            ++leads_of_point[at(lead.net)];
            ++leads;
        }
    std::vector<int> leads_of_net, spot_of_net;
    for (int p = 0; p < static_cast<int>(parent_.size()); ++p) {
        const bool named = name_of_point_[at(p)] >= 0;
        if (!named && leads_of_point[at(p)] == 0) continue;
        const int r = root(p);
        if (net_of_point[at(r)] < 0) {
            net_of_point[at(r)] = static_cast<int>(spot_of_net.size());
            leads_of_net.push_back(0);
            spot_of_net.push_back(p);
        }
        const int net = net_of_point[at(p)] = net_of_point[at(r)];
        leads_of_net[at(net)] += leads_of_point[at(p)];
    }
    data.nets.resize(spot_of_net.size());
    data.leads_by_net.resize(at(leads));
    std::vector<int> next(data.nets.size());  // where the next lead of a net is put
    int first = 0;
    for (std::size_t n = 0; n < data.nets.size(); ++n) {
        data.nets[n].place = place(point_spot_[at(spot_of_net[n])]);
        data.nets[n].leads = std::span(data.leads_by_net).subspan(at(first), at(leads_of_net[n]));
        next[n] = first;
        first += leads_of_net[n];
    }
    std::vector<char> worded(data.nets.size());
    for (std::size_t p = 0; p < parent_.size(); ++p) {
        const int name = name_of_point_[p], net = net_of_point[p];
        if (name < 0) continue;
        Net& n = data.nets[at(net)];
        const std::string_view text = data.names.text(name);
        const bool is_word = text.find('.') == std::string_view::npos;
        if (n.name.empty() || (is_word && !worded[at(net)])) {
            n.name = text;
            worded[at(net)] = is_word ? 1 : 0;
        }
    }
    data.net_of_name.resize(at(data.names.size()));
    for (int n = 0; n < data.names.size(); ++n) data.net_of_name[at(n)] = net_of_point[at(point_of_name_[at(n)])];
    data.on_lead.assign(at(data.names.size()), 0);
    data.name_uses.resize(at(data.names.size()));
    data.name_of_lead.reserve(at(leads));
    data.first_lead.reserve(parts_.size());
    for (std::size_t p = 0; p < parts_.size(); ++p) {
        data.first_lead.push_back(static_cast<int>(data.name_of_lead.size()));
        const bool is_wire = parts_[p].kind == PartKind::wire || parts_[p].kind == PartKind::cord;
        for (std::size_t l = 0; l < parts_[p].leads.size(); ++l) {
            Lead& lead = parts_[p].leads[l];
            data.name_of_lead.push_back(name_of_point_[at(lead.net)]);
            if (data.name_of_lead.back() >= 0 && !is_wire) data.on_lead[at(data.name_of_lead.back())] = 1;
            lead.net = net_of_point[at(lead.net)];
            Net& net = data.nets[at(lead.net)];
            data.leads_by_net[at(next[at(lead.net)]++)] = {static_cast<int>(p), static_cast<int>(l)};
            if (net.name.empty()) net.name = parts_[p].id + "." + lead.name;
        }
    }
}

void Assembly::place_roles() {
    Chassis::Data& data = *data_;
    for (const RoleNet& role : roles_) {
        const std::string_view name = data.names.text(name_of_point_[at(role.point)]);
        const int net = data.net(name);
        if (role.touch) data.nets[at(net)].touch = true;
        int* slot = role.what == "chassis-metal"  ? &data.roles.chassis_metal
                    : role.what == "b-minus"      ? &data.roles.b_minus
                    : role.what == "earth"        ? &data.roles.earth
                    : role.what == "line-hot"     ? &data.roles.line_hot
                    : role.what == "line-neutral" ? &data.roles.line_neutral
                    : role.what == "reference"    ? &data.reference
                                                  : nullptr;
        if (!slot) continue;
        if (*slot >= 0 && *slot != net)
            error(messages::node_twice, role.spot,
                  "the " + role.what + " is " + quoted(name) + " here and " + quoted(data.nets[at(*slot)].name) +
                      " above",
                  "one net; join the two by <join at=\"...\"/> if they are one");
        *slot = net;
        if (data.nets[at(net)].leads.empty() && role.what != "earth" && name.find('.') == std::string_view::npos) {
            std::vector<std::string_view> used;
            if (++suggestions_ <= most_suggestions)
                for (const Net& n : data.nets)
                    if (!n.leads.empty() && used.size() < most_known) used.push_back(n.name);
            const std::string near = nearest(name, used);
            error(messages::net_without_leads, role.spot, "no part stands on " + quoted(name),
                  near.empty() ? "name a net that a part names too" : "did you mean \"" + near + "\"?");
        }
    }
    if (data.reference < 0) data.reference = data.roles.b_minus >= 0 ? data.roles.b_minus : data.roles.chassis_metal;
    if (data.reference < 0)
        notice(messages::note_no_reference,
               std::any_of(data.nets.begin(), data.nets.end(), [](const Net& n) { return n.leads.size() > 1; })
                   ? Severity::doubt
                   : Severity::note,  // a line-up: nothing to read yet
               {}, "nothing says where readings are taken from",
               "reference=\"...\" on <chassis>, or <node is=\"chassis-metal\" net=\"...\"/>");
}

/// A switch in the path from a blade, through cord, fuse and hash choke, is the line switch.
void Assembly::find_line_switches() {
    const Chassis::Data& data = *data_;
    std::vector<char> reached(data.nets.size());
    std::vector<int> queue;
    const auto reach = [&](int net) {
        if (net < 0 || reached[at(net)]) return;
        reached[at(net)] = 1;
        queue.push_back(net);
    };
    reach(data.roles.line_hot);
    reach(data.roles.line_neutral);
    while (!queue.empty()) {
        const Net& net = data.nets[at(queue.back())];
        queue.pop_back();
        for (const LeadRef ref : net.leads) {
            Part& part = parts_[at(ref.part)];
            if (part.kind == PartKind::power_switch && part.can.empty() && part.role.empty()) part.role = "line";
            if (part.kind == PartKind::fuse || part.kind == PartKind::cord ||
                (part.kind == PartKind::coil && part.role == "rf"))
                for (const Lead& lead : part.leads) reach(lead.net);
        }
    }
}

/// Without a line a set runs on a battery, and its volts are what "line" means: the vehicle's, else the A battery's.
void Assembly::line_from_battery() {
    const Part* leading = nullptr;
    for (const int i : of_kind(PartKind::battery)) {
        const Part& part = parts_[at(i)];
        if (!part.rated_volts || !part.closed || stands_open(part)) continue;
        const auto rank = [](const Part& p) { return p.role == "vehicle" ? 2 : p.role == "a" ? 1 : 0; };
        if (!leading || rank(part) > rank(*leading)) leading = &part;
    }
    if (!leading) return;
    data_->line.volts = *leading->rated_volts;
    data_->line.volts_stated = true;
    data_->line.hertz = 0;
    if (data_->line.supply.empty()) data_->line.supply = "battery";
}

Outcome<Chassis> Assembly::finish(const Catalogue& catalogue) {
    if (finished_) throw Error("a chassis is built once");
    finished_ = true;
    // Each step goes on where the last one failed, so that a file's errors come in one run.
    gather();
    make_ids();
    fit_tubes(catalogue);
    check_defaults(catalogue);
    resolve_names();
    join_wires();
    untraced_returns();
    check_leads();
    settle_constructions(catalogue);
    check_holders();
    ride_plugs();
    resolve_reach();
    number_nets();
    place_roles();
    find_line_switches();

    std::stable_sort(notices_.begin(), notices_.end(), [](const Notice& a, const Notice& b) {
        return std::pair(a.place.line, a.place.column) < std::pair(b.place.line, b.place.column);
    });
    if (unlisted_ > 0) {
        Notice more;
        more.number = messages::more_errors;
        more.place.file = file;
        more.message = std::to_string(unlisted_) + " more are not listed";
        more.remedy = "mend these first";
        notices_.push_back(std::move(more));
    }
    if (failed_) {
        std::erase_if(notices_, [](const Notice& n) { return n.severity != Severity::error; });
        return notices_;
    }
    if (tolerance)
        for (Part& part : parts_)
            if ((part.kind == PartKind::resistor || part.kind == PartKind::capacitor) && !part.tolerance)
                part.tolerance = tolerance;
    data_->file = file;
    data_->built = built;
    data_->line = line;
    if (data_->roles.line_hot < 0) line_from_battery();
    data_->tolerance = tolerance;
    for (const auto& [attribute, value] : {std::pair{"paper", &paper.key},
                                           {"mica", &mica.key},
                                           {"electrolytic", &electrolytic.key},
                                           {"resistor", &resistor.key},
                                           {"wire", &wire.key},
                                           {"cord", &cord.key},
                                           {"m-means", &m_means}})
        if (!value->empty()) data_->defaults.emplace_back(attribute, *value);
    for (const int i : gathered_.touched)
        for (const Lead& lead : parts_[at(i)].leads) data_->nets[at(lead.net)].touch = true;
    data_->notices = notices_;
    return {Chassis(data_), std::move(notices_)};
}

}  // namespace tubewright
