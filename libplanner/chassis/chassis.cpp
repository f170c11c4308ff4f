// SPDX-License-Identifier: MIT
// Look-ups of a finished chassis, and the words for its enumerations.
#include <algorithm>
#include <iterator>
#include <sstream>

#include "chassis/data.hpp"

namespace tubewright {
namespace {

std::size_t at(int i) {
    return static_cast<std::size_t>(i);
}

int exact_lead(const Part& part, std::string_view name) {
    for (std::size_t i = 0; i < part.leads.size(); ++i)
        if (part.leads[i].name == name) return static_cast<int>(i);
    return -1;
}

/// The electrode that an element word means; empty when it is no such word.
std::string_view electrode_of(std::string_view word) {
    constexpr std::pair<std::string_view, std::string_view> words[] = {
        {"plate", "p"},       {"anode", "p"},   {"grid", "g1"},  {"screen", "g2"},
        {"suppressor", "g3"}, {"cathode", "k"}, {"heater", "h"}, {"filament", "h"},
    };
    for (const auto& [said, electrode] : words)
        if (said == word) return electrode;
    return {};
}

int socket_lead(const Part& part, std::string_view name) {
    if (!part.type) return -1;
    std::string_view electrode = electrode_of(name);
    if (electrode.empty()) electrode = name;
    int found = -1;
    for (std::size_t i = 0; i < part.leads.size(); ++i) {
        const Pin* pin = part.type->pin(part.leads[i].name);
        if (!pin || std::find(pin->electrodes.begin(), pin->electrodes.end(), electrode) == pin->electrodes.end())
            continue;
        if (found >= 0) return -2;
        found = static_cast<int>(i);
    }
    return found;
}

}  // namespace

int lead_by_any_name(const Part& part, std::string_view name) {
    if (const int i = exact_lead(part, name); i >= 0) return i;
    switch (part.kind) {
        case PartKind::socket:
            return socket_lead(part, name);
        case PartKind::strip:
        case PartKind::plug:
        case PartKind::transformer:
            return -1;
        case PartKind::control:
            if (name == "1") return exact_lead(part, "a");
            if (name == "2") return exact_lead(part, "wiper");
            if (name == "3") return exact_lead(part, "b");
            return -1;
        default:
            break;
    }
    if (part.leads.size() < 2) return -1;
    if (name == "1" || name == "a" || name == "plus" || name == "+") return 0;
    if (name == "2" || name == "b" || name == "minus" || name == "-") return 1;
    return -1;
}

bool joined_inside(const TubeType& type, std::string_view pin, std::string_view other) {
    const Pin *one = type.pin(pin), *two = type.pin(other);
    if (!one || !two || one == two) return false;
    return std::any_of(one->electrodes.begin(), one->electrodes.end(), [&](const std::string& e) {
        const bool alone = e == "h" || e.starts_with("d") || (e == "p" && type.is_rectifier());
        return !alone && std::find(two->electrodes.begin(), two->electrodes.end(), e) != two->electrodes.end();
    });
}

bool soldered(const Chassis::Data& data, const Part& socket, int lead) {
    const Lead& here = socket.leads[at(lead)];
    if (here.net < 0) return false;
    const std::span<const LeadRef> leads = data.nets[at(here.net)].leads;
    return std::any_of(leads.begin(), leads.end(), [&](LeadRef ref) {
        const Part& on = data.parts[at(ref.part)];
        if (&on != &socket) return true;
        return ref.lead != lead &&
               !(socket.type && joined_inside(*socket.type, here.name, on.leads[at(ref.lead)].name));
    });
}

bool stands_empty(const Part& part) {
    return part.kind == PartKind::socket && (part.fitted.empty() ? part.found : part.fitted) == "none";
}

const std::vector<std::string_view>& seen_words() {
    static const std::vector<std::string_view> words = {
        "burnt",   "brown", "charred", "bulged",  "cracked", "crumbled", "brittle", "frayed", "waxy",
        "leaking", "dried", "spliced", "missing", "broken",  "open",     "shorted", "loose",  "corroded",
        "rubbing", "gassy", "dim",     "sound",   "drifted", "scorched", "split",   "dead",   "dull"};
    return words;
}

bool seen_useless(const Part& part) {
    for (const char* word : {"short", "leak", "burn", "charr", "dead", "broken", "gas", "open", "missing"})
        if (part.seen.find(word) != std::string::npos) return true;
    return false;
}

bool seen_no_good(const Part& part) {
    const bool lead = part.kind == PartKind::wire || part.kind == PartKind::cord || part.kind == PartKind::plug ||
                      part.kind == PartKind::power_switch || part.kind == PartKind::fuse;
    return seen_useless(part) || (lead && !part.seen.empty() && part.seen != "loose" && part.seen != "sound");
}

bool seen_only_dirty(const Part& part) {
    std::istringstream words(part.seen.str());
    const std::vector<std::string> all{std::istream_iterator<std::string>(words), {}};
    return !all.empty() && std::all_of(all.begin(), all.end(),
                                       [](const std::string& word) { return word == "corroded" || word == "dull"; });
}

bool unplugged(const Part& part) {
    return !part.closed && !part.plug.empty() && part.kind != PartKind::plug && part.kind != PartKind::power_switch &&
           part.kind != PartKind::battery;
}

bool stands_open(const Part& part) {
    if (stands_empty(part) || unplugged(part)) return true;
    std::string_view rest = part.seen;
    while (!rest.empty()) {
        const std::size_t end = std::min(rest.find(' '), rest.size());
        const std::string_view word = rest.substr(0, end);
        for (const char* gone : {"open", "missing", "lifted", "removed", "omitted"})
            if (word == gone) return true;
        rest.remove_prefix(std::min(end + 1, rest.size()));
    }
    return false;
}

bool seen_shorted(const Part& part) {
    const bool kind = part.kind == PartKind::capacitor || part.kind == PartKind::resistor ||
                      part.kind == PartKind::control || part.kind == PartKind::coil ||
                      part.kind == PartKind::rectifier || part.kind == PartKind::lamp || part.kind == PartKind::speaker;
    return kind && part.leads.size() == 2 && part.leads[0].net >= 0 && part.leads[1].net >= 0 && !stands_open(part) &&
           part.seen.find("shorted") != std::string::npos;
}

int Part::lead(std::string_view lead_name) const {
    return exact_lead(*this, lead_name);
}

LeadRef Chassis::Data::lead(std::string_view dotted) const {
    for (std::size_t dot = dotted.rfind('.'); dot != std::string_view::npos && dot > 0;
         dot = dotted.rfind('.', dot - 1)) {
        const int id = ids.find(dotted.substr(0, dot));
        if (id < 0 || part_of_id[at(id)] < 0) continue;
        const int p = part_of_id[at(id)];
        if (const int l = lead_by_any_name(parts[at(p)], dotted.substr(dot + 1)); l >= 0) return {p, l};
    }
    return {};
}

std::vector<std::vector<std::string_view>> Chassis::Data::names_by_net() const {
    std::vector<std::vector<std::string_view>> by_net(nets.size());
    for (int n = 0; n < names.size(); ++n)
        if (const int net = net_of_name[at(n)]; net >= 0) by_net[at(net)].push_back(names.text(n));
    return by_net;
}

std::shared_ptr<Chassis::Data> copy_of(const Chassis::Data& found) {
    const auto data = std::make_shared<Chassis::Data>();
    data->name = found.name;
    data->file = found.file;
    data->built = found.built;
    data->line = found.line;
    data->parts = found.parts;
    data->nets = found.nets;
    data->leads_by_net = found.leads_by_net;
    std::size_t first = 0;
    for (Net& net : data->nets) {
        net.leads = std::span(data->leads_by_net).subspan(first, net.leads.size());
        first += net.leads.size();
    }
    data->roles = found.roles;
    data->reference = found.reference;
    data->notices = found.notices;
    data->defaults = found.defaults;
    data->tolerance = found.tolerance;
    for (int i = 0; i < found.ids.size(); ++i) data->ids.intern(found.ids.text(i));
    data->part_of_id = found.part_of_id;
    for (int i = 0; i < found.names.size(); ++i) data->names.intern(found.names.text(i));
    data->net_of_name = found.net_of_name;
    data->name_uses = found.name_uses;
    data->on_lead = found.on_lead;
    data->name_of_lead = found.name_of_lead;
    data->first_lead = found.first_lead;
    return data;
}

Chassis as_mended(const Chassis& chassis) {
    const std::shared_ptr<Chassis::Data> data = copy_of(chassis.data());
    for (Part& part : data->parts) {
        if (!stands_open(part) || part.fitted == "none") continue;
        if (unplugged(part))
            part.closed = true;
        else
            part.seen.clear();
        if (part.found == "none") part.found.clear();
    }
    return Chassis(data);
}

std::optional<Chassis> as_made(const Chassis& chassis) {
    const auto out = [](const Part& part) {
        return stands_open(part) || part.shorted || (part.kind == PartKind::power_switch && !part.closed);
    };
    if (std::none_of(chassis.parts().begin(), chassis.parts().end(), out)) return std::nullopt;
    const std::shared_ptr<Chassis::Data> data = copy_of(chassis.data());
    for (Part& part : data->parts) {
        if (!out(part)) continue;
        part.closed = true;
        part.shorted = false;
        part.seen.clear();
        if (part.found == "none") part.found.clear();
        if (part.fitted == "none") part.fitted.clear();
    }
    return Chassis(data);
}

std::optional<Chassis> with_shorts(const Chassis& chassis) {
    if (std::none_of(chassis.parts().begin(), chassis.parts().end(), seen_shorted)) return std::nullopt;
    const std::shared_ptr<Chassis::Data> data = copy_of(chassis.data());
    for (Part& part : data->parts) part.shorted = seen_shorted(part);
    return Chassis(data);
}

Chassis turned_over(const Chassis& chassis, int socket) {
    const std::shared_ptr<Chassis::Data> data = copy_of(chassis.data());
    std::vector<Lead>& leads = data->parts[at(socket)].leads;
    std::vector<std::size_t> numbered;
    for (std::size_t i = 0; i < leads.size(); ++i)
        if (leads[i].name.str().find_first_not_of("0123456789") == std::string::npos) numbered.push_back(i);
    std::vector<int> lead_now(leads.size());  // where what stood on this lead stands now
    for (std::size_t i = 0; i < leads.size(); ++i) lead_now[i] = static_cast<int>(i);
    for (std::size_t i = 0; i < numbered.size(); ++i)
        lead_now[numbered[i]] = static_cast<int>(numbered[numbered.size() - 1 - i]);
    for (std::size_t i = 0; 2 * i + 1 < numbered.size(); ++i)
        std::swap(leads[numbered[i]].net, leads[numbered[numbered.size() - 1 - i]].net);
    for (LeadRef& ref : data->leads_by_net)
        if (ref.part == socket) ref.lead = lead_now[at(ref.lead)];
    return Chassis(data);
}

int Chassis::Data::net(std::string_view name_or_alias) const {
    if (const int n = names.find(name_or_alias); n >= 0) return net_of_name[at(n)];
    const LeadRef ref = lead(name_or_alias);
    return ref.part < 0 ? -1 : parts[at(ref.part)].leads[at(ref.lead)].net;
}

const Chassis::Data::Topology& Chassis::Data::topology() const {
    std::call_once(topology_once_, [this] { topology_ = topology_of(*this); });
    return topology_;
}

const PartGraph& Chassis::Data::direct_current() const {
    std::call_once(graph_once_, [this] {
        graph_ = std::make_unique<PartGraph>(parts, static_cast<int>(nets.size()), Through::direct_current);
    });
    return *graph_;
}

Chassis::Chassis(std::shared_ptr<const Data> data) : data_(std::move(data)) {
    if (!data_) throw Error("a chassis without data");
}
const std::string& Chassis::name() const {
    return data_->name;
}
const std::string& Chassis::file() const {
    return data_->file;
}
std::optional<int> Chassis::built() const {
    return data_->built;
}
const LineSpec& Chassis::line() const {
    return data_->line;
}
const std::vector<Part>& Chassis::parts() const {
    return data_->parts;
}
const std::vector<Net>& Chassis::nets() const {
    return data_->nets;
}
const NodeRoles& Chassis::nodes() const {
    return data_->roles;
}
int Chassis::reference() const {
    return data_->reference;
}
int Chassis::part(std::string_view id) const {
    const int i = data_->ids.find(id);
    return i < 0 ? -1 : data_->part_of_id[at(i)];
}
int Chassis::net(std::string_view name_or_alias) const {
    return data_->net(name_or_alias);
}
std::string Chassis::lead_name(LeadRef ref) const {
    const Part& part = data_->parts.at(at(ref.part));
    // a tapped resistor and a wafer switch are several parts with the lugs of one
    const bool lug = !part.can.empty() && (part.kind == PartKind::resistor || part.kind == PartKind::power_switch);
    return (lug ? part.can.str() : part.id) + "." + part.leads.at(at(ref.lead)).name;
}
std::string_view Chassis::Data::written(LeadRef lead) const {
    const int word = name_of_lead[at(first_lead[at(lead.part)] + lead.lead)];
    return word < 0 ? std::string_view() : names.text(word);
}
Family Chassis::family() const {
    return data_->topology().family;
}
bool Chassis::hot() const {
    return data_->topology().hot;
}
int Chassis::level() const {
    return data_->topology().level;
}
double Chassis::transformer_va() const {
    constexpr double per_heater_watt = 2.4;
    const Part* transformer = nullptr;
    double heaters = 0;
    for (const Part& part : parts()) {
        if (part.kind == PartKind::socket && part.type != nullptr)
            heaters += part.type->heater_volts.value_or(0) * part.type->heater_amps.value_or(0);
        if (part.kind != PartKind::transformer || part.role != "power") continue;
        if (transformer != nullptr) return 0;
        transformer = &part;
    }
    return transformer == nullptr ? 0 : transformer->rated_va.value_or(per_heater_watt * heaters);
}
const std::vector<Notice>& Chassis::notices() const {
    return data_->notices;
}
std::vector<int> Chassis::parts_between(int from_net, int to_net) const {
    return data_->direct_current().parts_between(from_net, to_net, data_->reference);
}

const char* word(PartKind kind) {
    switch (kind) {
        case PartKind::capacitor:
            return "capacitor";
        case PartKind::resistor:
            return "resistor";
        case PartKind::control:
            return "control";
        case PartKind::coil:
            return "coil";
        case PartKind::transformer:
            return "transformer";
        case PartKind::socket:
            return "socket";
        case PartKind::lamp:
            return "lamp";
        case PartKind::fuse:
            return "fuse";
        case PartKind::power_switch:
            return "switch";
        case PartKind::plug:
            return "plug";
        case PartKind::cord:
            return "cord";
        case PartKind::wire:
            return "wire";
        case PartKind::speaker:
            return "speaker";
        case PartKind::strip:
            return "strip";
        case PartKind::untraced:
            return "untraced";
        case PartKind::battery:
            return "battery";
        case PartKind::vibrator:
            return "vibrator";
        case PartKind::rectifier:
            return "rectifier";
        case PartKind::block:
            return "block";
    }
    return "part";
}

const char* word(WindingRole role) {
    switch (role) {
        case WindingRole::primary:
            return "primary";
        case WindingRole::plate:
            return "plate";
        case WindingRole::rectifier_heater:
            return "rectifier-heater";
        case WindingRole::heater:
            return "heater";
        case WindingRole::output_primary:
            return "output-primary";
        case WindingRole::output_secondary:
            return "output-secondary";
        case WindingRole::interstage_primary:
            return "interstage-primary";
        case WindingRole::interstage_secondary:
            return "interstage-secondary";
        case WindingRole::rf:
            return "rf";
        case WindingRole::other:
            return "other";
    }
    return "other";
}

const char* word(Family family) {
    switch (family) {
        case Family::ac_transformer:
            return "ac-transformer";
        case Family::series_string:
            return "series-string";
        case Family::floating_b_minus:
            return "floating-b-minus";
        case Family::doubler:
            return "doubler";
        case Family::portable:
            return "portable";
        case Family::vehicle:
            return "vehicle";
        case Family::battery:
            return "battery";
        case Family::unknown:
            return "unknown";
    }
    return "unknown";
}

const char* word(FaultMode mode) {
    switch (mode) {
        case FaultMode::short_circuit:
            return "short";
        case FaultMode::open:
            return "open";
        case FaultMode::leak:
            return "leak";
        case FaultMode::drift:
            return "drift";
        case FaultMode::layer_short:
            return "layer short";
        case FaultMode::weak:
            return "weak";
        case FaultMode::dead:
            return "dead";
        case FaultMode::grid_cathode_short:
            return "grid to cathode short";
        case FaultMode::heater_cathode_short:
            return "heater to cathode short";
        case FaultMode::plate_grid_short:
            return "plate to grid short";
        case FaultMode::plate_cathode_short:
            return "plate to cathode short";
        case FaultMode::screen_grid_short:
            return "screen to grid short";
        case FaultMode::gas:
            return "gas";
        case FaultMode::to_chassis:
            return "to chassis";
        case FaultMode::tracking:
            return "tracking";
        case FaultMode::reversed:
            return "reversed";
    }
    return "fault";
}

}  // namespace tubewright
