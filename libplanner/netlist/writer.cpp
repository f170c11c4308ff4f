// SPDX-License-Identifier: MIT
// A Chassis to the text of a chassis file, one part a line. What the reader makes of the text is the same set: the same
// parts with the same values to the last bit, the same nets under the same names. Comments, blanks and the notes of
// lines, nodes and joins are not in a Chassis and so not in its text; a sheet keeps them (sheet.cpp). A wafer switch
// keeps two positions of its table: as it stands, and all that it can join besides. Tests:
// tests/netlist/writer_test.cpp.
#include <tubewright/netlist.hpp>

#include <algorithm>
#include <pugixml.hpp>
#include <set>
#include <sstream>

#include "chassis/data.hpp"
#include "netlist/vocabulary.hpp"
#include "terms/period_value.hpp"

namespace tubewright {
namespace {

std::size_t at(int i) {
    return static_cast<std::size_t>(i);
}

class Writer {
  public:
    explicit Writer(const Chassis& set) : set_(set), data_(set.data()) {}

    std::string text() {
        pugi::xml_document document;
        pugi::xml_node comment = document.append_child(pugi::node_comment);
        comment.set_value(" SPDX-License-Identifier: CC0-1.0 ");
        root_ = document.append_child("chassis");
        root();
        joins();  // first, so that every net keeps the name that it has
        for (std::size_t p = 0; p < set_.parts().size(); ++p) part(static_cast<int>(p));
        reaches();
        std::ostringstream out;
        document.save(out, "  ", pugi::format_default | pugi::format_no_declaration, pugi::encoding_utf8);
        return out.str();
    }

  private:
    static void put(pugi::xml_node node, const char* name, const std::string& value) {
        if (!value.empty()) node.append_attribute(name) = value.c_str();
    }
    static void put(pugi::xml_node node, const char* name, const std::optional<double>& value, Measure measure) {
        if (value) put(node, name, printed(*value, measure));
    }

    const std::string& net(int index) const { return set_.nets()[at(index)].name; }
    /// As the file names the net at this lead, else the net's name.
    std::string place(int part, int lead) const {
        const Lead& end = set_.parts()[at(part)].leads[at(lead)];
        if (end.unknown && set_.nets()[at(end.net)].leads.size() == 1) return "?";
        const std::string_view word = data_.written({part, lead});
        return word.empty() ? net(set_.parts()[at(part)].leads[at(lead)].net) : std::string(word);
    }
    std::string place(int part, std::string_view lead) const {
        const int found = set_.parts()[at(part)].lead(lead);
        return found < 0 ? std::string() : place(part, found);
    }

    void root() {
        put(root_, "version", "1");
        put(root_, "name", set_.name());
        if (set_.built()) put(root_, "built", std::to_string(*set_.built()));
        if (set_.reference() >= 0) put(root_, "reference", net(set_.reference()));
        for (const auto& [attribute, value] : data_.defaults) put(root_, attribute.c_str(), value);
        if (data_.tolerance) put(root_, "tolerance", *data_.tolerance * 100, Measure::per_cent);
        const NodeRoles& roles = set_.nodes();
        const LineSpec& line = set_.line();
        const bool given =
            line.supply != "battery" && (line.volts_stated || !line.supply.empty() || line.watts || line.hertz != 60);
        if (roles.line_hot >= 0 && roles.line_neutral >= 0) {
            pugi::xml_node node = root_.append_child("line");
            if (line.volts_stated) put(node, "volts", line.volts, Measure::volts);
            if (given) put(node, "hertz", line.hertz > 0 ? printed(line.hertz, Measure::hertz) : std::string("dc"));
            put(node, "hot", net(roles.line_hot));
            put(node, "neutral", net(roles.line_neutral));
            put(node, "supply", line.supply);
            put(node, "watts", line.watts, Measure::watts);
        }
        const auto role = [&](const char* is, int index) {
            if (index < 0) return;
            pugi::xml_node node = root_.append_child("node");
            put(node, "is", is);
            put(node, "net", net(index));
            if (set_.nets()[at(index)].touch) put(node, "touch", "yes");
        };
        role("chassis-metal", roles.chassis_metal);
        role("b-minus", roles.b_minus);
        role("earth", roles.earth);
    }

    void common(pugi::xml_node node, const Part& part) const {
        if (part.construction_stated && !part.construction.empty()) put(node, "construction", part.construction);
        if (part.since) put(node, "since", std::to_string(*part.since));
        put(node, "seen", part.seen);
        put(node, "location", part.location);
        put(node, "plug", part.plug);
        put(node, "inside", part.inside);
        if (part.touch) put(node, "touch", "yes");
        put(node, "note", part.note);
    }

    /// The three values of a part as written, or the one that it has.
    static void values(pugi::xml_node node, const Part& part, const std::optional<double>& value, Measure measure) {
        if (part.documented.empty() && part.found.empty() && part.fitted.empty()) {
            put(node, "value", value, measure);
            return;
        }
        put(node, "value", part.documented);
        put(node, "found", part.found);
        put(node, "fitted", part.fitted);
    }

    /// The volts of a capacitor, unless one of its prints carries them already.
    static void capacitor_volts(pugi::xml_node node, const Part& part) {
        for (const Text* text : {&part.fitted, &part.documented}) {
            if (text->empty()) continue;
            const Outcome<CapacitorPrint> print = read_capacitor(*text);
            if (print && print->volts) return;
        }
        put(node, "volts", part.rated_volts, Measure::volts);
    }

    void tolerance(pugi::xml_node node, const Part& part) const {
        if (part.tolerance && part.tolerance != data_.tolerance)
            put(node, "tolerance", *part.tolerance * 100, Measure::per_cent);
    }

    void leads(pugi::xml_node node, int index, std::initializer_list<std::pair<const char*, const char*>> list) const {
        for (const auto& [attribute, lead] : list) put(node, attribute, place(index, lead));
    }

    void part(int index) {
        const Part& part = set_.parts()[at(index)];
        if (!part.can.empty()) {
            if (!holders_.insert(part.can).second) return;
            holder(index);
            return;
        }
        pugi::xml_node node;
        const auto element = [&](const char* name) {
            node = root_.append_child(name);
            put(node, "id", part.id);
        };
        switch (part.kind) {
            case PartKind::capacitor:
                element("capacitor");
                values(node, part, part.farads, Measure::farads);
                capacitor_volts(node, part);
                if (part.polarised)
                    leads(node, index, {{"plus", "plus"}, {"minus", "minus"}});
                else
                    leads(node, index, {{"a", "a"}, {"b", "b"}});
                if (part.insulated) put(node, "insulated", "yes");
                tolerance(node, part);
                break;
            case PartKind::resistor:
                element(part.role == "ballast" ? "ballast" : "resistor");
                values(node, part, part.ohms, Measure::ohms);
                put(node, "watts", part.rated_watts, Measure::watts);
                leads(node, index, {{"a", "a"}, {"b", "b"}});
                if (part.role == "ballast") {
                    put(node, "type", part.tube);
                    put(node, "volts", part.rated_volts, Measure::volts);
                    put(node, "amps", part.rated_amps, Measure::amps);
                } else {
                    tolerance(node, part);
                }
                break;
            case PartKind::control:
                element("control");
                put(node, "role", part.role);
                values(node, part, part.ohms, Measure::ohms);
                put(node, "watts", part.rated_watts, Measure::watts);
                leads(node, index, {{"a", "a"}, {"b", "b"}, {"wiper", "wiper"}});
                tolerance(node, part);
                break;
            case PartKind::coil:
                element("coil");
                put(node, "role", part.role);
                put(node, "henries", part.henries, Measure::henries);
                put(node, "swing", part.swing_henries, Measure::henries);
                put(node, "ohms", part.ohms, Measure::ohms);
                put(node, "amps", part.rated_amps, Measure::amps);
                put(node, "khz", part.kilohertz, Measure::kilohertz);
                leads(node, index, {{"a", "a"}, {"b", "b"}, {"tap", "tap"}});
                break;
            case PartKind::transformer:
                element("transformer");
                put(node, "role", part.role);
                put(node, "va", part.rated_va, Measure::volt_amperes);
                put(node, "khz", part.kilohertz, Measure::kilohertz);
                for (const PartWinding& one : part.windings) winding(node.append_child("winding"), index, one);
                break;
            case PartKind::socket:
                element("socket");
                if (part.documented.empty() && part.found.empty() && part.fitted.empty()) put(node, "tube", part.tube);
                put(node, "tube", part.documented);
                put(node, "found", part.found);
                put(node, "fitted", part.fitted);
                break;
            case PartKind::lamp:
                element("lamp");
                put(node, "type", part.lamp_type);
                put(node, "volts", part.rated_volts, Measure::volts);
                put(node, "amps", part.rated_amps, Measure::amps);
                leads(node, index, {{"a", "a"}, {"b", "b"}});
                break;
            case PartKind::fuse:
                element("fuse");
                put(node, "amps", part.rated_amps, Measure::amps);
                leads(node, index, {{"a", "a"}, {"b", "b"}});
                break;
            case PartKind::power_switch:
                element("switch");
                put(node, "role", part.role);
                leads(node, index, {{"a", "a"}, {"b", "b"}});
                put(node, "state", part.closed ? "closed" : "open");
                break;
            case PartKind::plug:
                element("plug");
                put(node, "role", part.role);
                if (!part.closed) put(node, "state", "out");
                break;
            case PartKind::cord:
            case PartKind::wire:
                element(part.kind == PartKind::cord ? "cord" : "wire");
                leads(node, index, {{"from", "from"}, {"to", "to"}});
                put(node, "ohms", part.ohms, Measure::ohms);
                put(node, "watts", part.rated_watts, Measure::watts);
                break;
            case PartKind::speaker:
                element("speaker");
                put(node, "ohms", part.ohms, Measure::ohms);
                leads(node, index, {{"a", "a"}, {"b", "b"}});
                break;
            case PartKind::strip:
                element("strip");
                put(node, "lugs", std::to_string(part.leads.size()));
                break;
            case PartKind::untraced:
                node = root_.append_child("untraced");
                put(node, "id", part.id);
                leads(node, index, {{"net", "a"}, {"to", "b"}});
                put(node, "amps", part.drawn_amps, Measure::amps);
                put(node, "note", part.note);
                return;
            case PartKind::battery:
                element("battery");
                put(node, "role", part.role);
                put(node, "volts", part.rated_volts, Measure::volts);
                put(node, "ohms", part.ohms, Measure::ohms);
                leads(node, index, {{"plus", "plus"}, {"minus", "minus"}});
                if (!part.closed) put(node, "state", "out");
                break;
            case PartKind::vibrator: {
                element("vibrator");
                put(node, "role", part.role);
                put(node, "hertz", part.hertz, Measure::hertz);
                put(node, "duty", part.duty ? std::optional(*part.duty) : std::nullopt, Measure::per_cent);
                leads(node, index, {{"reed", "reed"}});
                std::string contacts;
                for (std::size_t i = 1; i < part.leads.size(); ++i)
                    contacts += (i > 1 ? " " : "") + place(index, static_cast<int>(i));
                put(node, "contacts", contacts);
                break;
            }
            case PartKind::rectifier:
                element("rectifier");
                put(node, "volts", part.rated_volts, Measure::volts);
                put(node, "amps", part.rated_amps, Measure::amps);
                leads(node, index, {{"anode", "anode"}, {"cathode", "cathode"}});
                break;
            case PartKind::block: {
                element("block");
                std::string terminals;
                for (const Lead& lead : part.leads) terminals += (terminals.empty() ? "" : " ") + lead.name;
                put(node, "terminals", terminals);
                break;
            }
        }
        common(node, part);
    }

    void winding(pugi::xml_node node, int index, const PartWinding& one) const {
        const Part& part = set_.parts()[at(index)];
        put(node, "role", word(one.role));
        std::string leads;
        for (const int lead : one.leads) {
            const std::string& name = part.leads[at(lead)].name;
            // a lead that the reader would not call so by itself is named
            const bool own = !name.starts_with(one.name + ".");
            leads += (leads.empty() ? "" : " ") + (own ? part.id + "." + name : place(index, lead));
        }
        put(node, "leads", leads);
        put(node, "name", one.name);
        put(node, "volts", one.volts, Measure::volts);
        put(node, "noload-volts", list(one.noload_volts, Measure::volts));
        put(node, "ohms", list(one.ohms, Measure::ohms));
        put(node, "amps", one.amps, Measure::amps);
        put(node, "impedance", one.impedance_ohms, Measure::ohms);
        put(node, "impedance", list(one.tap_ohms, Measure::ohms));
        put(node, "henries", one.henries, Measure::henries);
        put(node, "coupling", one.coupling, Measure::per_cent);
    }

    static std::string list(const std::vector<double>& values, Measure measure) {
        std::string text;
        for (const double value : values) {
            std::string one = printed(value, measure);
            std::erase(one, ' ');  // "1.5 meg" is one word in a list
            text += (text.empty() ? "" : " ") + one;
        }
        return text;
    }

    /// A can, a tapped resistor or a wafer switch: all its sections at once.
    void holder(int first) {
        const Part& head = set_.parts()[at(first)];
        std::vector<int> sections;
        for (std::size_t p = 0; p < set_.parts().size(); ++p)
            if (set_.parts()[p].can == head.can) sections.push_back(static_cast<int>(p));
        if (head.kind == PartKind::capacitor) {
            can(head, sections);
        } else if (head.kind == PartKind::resistor) {
            tapped(head, sections);
        } else {
            wafer(head, sections);
        }
    }

    void can(const Part& head, const std::vector<int>& sections) {
        pugi::xml_node node = root_.append_child("can");
        put(node, "id", head.can);
        if (head.construction_stated) put(node, "construction", head.construction);
        if (head.insulated) put(node, "insulated", "yes");
        put(node, "location", head.location);
        put(node, "plug", head.plug);
        put(node, "inside", head.inside);
        if (head.touch) put(node, "touch", "yes");
        for (const int index : sections) {
            const Part& part = set_.parts()[at(index)];
            pugi::xml_node section = node.append_child("section");
            put(section, "mark", part.mark);
            values(section, part, part.farads, Measure::farads);
            capacitor_volts(section, part);
            leads(section, index, {{"plus", "plus"}, {"minus", "minus"}});
            if (part.since) put(section, "since", std::to_string(*part.since));
            put(section, "seen", part.seen);
            put(section, "note", part.note);
        }
    }

    void tapped(const Part& head, const std::vector<int>& sections) {
        pugi::xml_node node = root_.append_child(head.role == "ballast" ? "ballast" : "resistor");
        put(node, "id", head.can);
        std::string ohms, places;
        double watts = 0;
        bool known = true, rated = true;
        for (const int index : sections) {
            const Part& part = set_.parts()[at(index)];
            std::string one = printed(part.ohms.value_or(0), Measure::ohms);
            std::erase(one, ' ');
            ohms += (ohms.empty() ? "" : " ") + one;
            known = known && part.ohms.has_value();
            rated = rated && part.rated_watts.has_value();
            watts += part.rated_watts.value_or(0);
            places += (places.empty() ? "" : " ") + place(index, 0);
        }
        places += " " + place(sections.back(), 1);
        put(node, "sections", known ? ohms : "?");
        put(node, "leads", places);
        if (rated) put(node, "watts", watts, Measure::watts);
        if (head.role == "ballast") {
            put(node, "type", head.tube);
            put(node, "volts", head.rated_volts, Measure::volts);
            put(node, "amps", head.rated_amps, Measure::amps);
        } else {
            tolerance(node, head);
        }
        common(node, head);
    }

    void wafer(const Part& head, const std::vector<int>& sections) {
        pugi::xml_node node = root_.append_child("switch");
        put(node, "id", head.can);
        put(node, "role", head.role);
        put(node, "state", "as found");
        common(node, head);
        for (const bool closed : {true, false}) {
            std::string joins;
            for (const int index : sections)
                if (set_.parts()[at(index)].closed == closed)
                    joins += (joins.empty() ? "" : " ") + set_.parts()[at(index)].mark;
            pugi::xml_node position = node.append_child("position");
            put(position, "name", closed ? "as found" : "besides");
            put(position, "joins", joins);
        }
    }

    void joins() {
        std::vector<std::string> rows;
        const std::vector<std::vector<std::string_view>> called = data_.names_by_net();
        for (std::size_t n = 0; n < called.size(); ++n) {
            const Net& one = set_.nets()[n];
            if (called[n].empty() || (called[n].size() == 1 && one.leads.size() > 1)) continue;
            std::vector<std::string> others;
            for (const std::string_view alias : called[n])
                if (alias != one.name) others.emplace_back(alias);
            std::sort(others.begin(), others.end());
            // a plug's blade or a word that nothing else names stays known by being joined to itself
            if (others.empty()) others.push_back(one.name);
            std::string names = one.name;
            for (const std::string& other : others) names += " " + other;
            rows.push_back(std::move(names));
        }
        std::sort(rows.begin(), rows.end());
        for (const std::string& names : rows) put(root_.append_child("join"), "at", names);
    }

    void reaches() {
        for (const Part& part : set_.parts()) {
            if (part.lift_first.empty()) continue;
            std::string lift;
            for (const std::string& id : part.lift_first) lift += (lift.empty() ? "" : " ") + id;
            pugi::xml_node node = root_.append_child("reach");
            put(node, "part", part.id);
            put(node, "lift", lift);
        }
    }

    const Chassis& set_;
    const Chassis::Data& data_;
    pugi::xml_node root_;
    std::set<std::string> holders_;
};

}  // namespace

std::string write_chassis_text(const Chassis& chassis) {
    return Writer(chassis).text();
}

}  // namespace tubewright
