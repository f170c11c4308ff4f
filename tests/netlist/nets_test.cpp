// SPDX-License-Identifier: MIT
// What must not matter does not: names of parts and nets, the order of attributes and of elements, quotes, blanks and
// comments leave the same parts on the same nets. And the builder makes what the file makes.
#include <catch2/catch.hpp>

#include <algorithm>
#include <pugixml.hpp>
#include <random>
#include <set>
#include <sstream>

#include "files.hpp"

using namespace tubewright;

namespace {

using Graph = std::multiset<std::string>;

/// Every net as the sorted list of its leads, part names through `rename`.
template <class Rename>
Graph graph_of(const Chassis& set, Rename rename) {
    Graph graph;
    for (const Net& net : set.nets()) {
        std::vector<std::string> leads;
        for (const LeadRef& ref : net.leads) {
            const Part& part = set.parts()[static_cast<std::size_t>(ref.part)];
            leads.push_back(rename(part.id) + "/" + part.leads[static_cast<std::size_t>(ref.lead)].name + "/" +
                            (part.ohms ? std::to_string(*part.ohms) : ""));
        }
        std::sort(leads.begin(), leads.end());
        std::string text;
        for (const std::string& lead : leads) text += lead + " ";
        graph.insert(text);
    }
    return graph;
}

Graph graph_of(const Chassis& set) {
    return graph_of(set, [](const std::string& id) { return id; });
}

std::string written(const pugi::xml_document& document, unsigned flags = pugi::format_default) {
    std::ostringstream out;
    document.save(out, " ", flags);
    return out.str();
}

struct DemoSet {
    std::string text;
    Outcome<Chassis> set;
};

std::vector<DemoSet> demo_sets() {
    std::vector<DemoSet> sets;
    for (const auto& path : files::in_folder("netlists", ".xml")) {
        sets.push_back({files::bytes(path), {}});
        sets.back().set = files::read(sets.back().text);
        REQUIRE(sets.back().set);
    }
    REQUIRE(sets.size() >= 2);
    return sets;
}

void shuffle_attributes(pugi::xml_node node, std::mt19937& random) {
    std::vector<std::pair<std::string, std::string>> attributes;
    for (const pugi::xml_attribute& a : node.attributes()) attributes.emplace_back(a.name(), a.value());
    std::shuffle(attributes.begin(), attributes.end(), random);
    while (node.first_attribute()) node.remove_attribute(node.first_attribute());
    for (const auto& [name, value] : attributes) node.append_attribute(name.c_str()) = value.c_str();
    for (pugi::xml_node child : node.children()) shuffle_attributes(child, random);
}

/// Names in these attributes are nets or lists of nets.
bool holds_nets(std::string_view attribute) {
    for (const char* known : {"a", "b", "plus", "minus", "wiper", "tap", "from", "to", "net", "at", "leads", "hot",
                              "neutral", "reference", "anode", "cathode", "reed", "contacts"})
        if (attribute == known) return true;
    return false;
}

/// "bplus" -> "zz_bplus"; "R7.a" -> "xR7.a"
void rename_all(pugi::xml_node node) {
    for (pugi::xml_attribute a : node.attributes()) {
        const std::string_view name = a.name();
        const bool list_of_parts = name == "part" || name == "lift" || name == "inside";
        const bool control = node.name() == std::string_view("chassis") && name == "reference";
        if (name == "id") {
            a = ("TSx" + std::string(a.value())).c_str();
        } else if (holds_nets(name) || list_of_parts || control) {
            std::istringstream words(a.value());
            std::string word, all;
            while (words >> word) {
                const bool of_part = list_of_parts || word.find('.') != std::string::npos;
                all += (all.empty() ? "" : " ") + std::string(of_part ? "TSx" : "zz_") + word;
            }
            a = all.c_str();
        }
    }
    for (pugi::xml_node child : node.children()) rename_all(child);
}

}  // namespace

TEST_CASE("The order of attributes and the layout of the text do not matter") {
    std::mt19937 random(5);
    for (const DemoSet& source : demo_sets()) {
        pugi::xml_document document;
        REQUIRE(document.load_string(source.text.c_str()));
        for (int round = 0; round < 5; ++round) {
            shuffle_attributes(document.document_element(), random);
            const Outcome<Chassis> again =
                files::read(written(document, round % 2 ? pugi::format_raw : pugi::format_default));
            INFO(files::lines(again.notices()));
            REQUIRE(again);
            CHECK(graph_of(*again) == graph_of(*source.set));
            CHECK(again->family() == source.set->family());
            CHECK(again->hot() == source.set->hot());
            CHECK(again->level() == source.set->level());
        }
    }
}

TEST_CASE("The order of the parts does not matter to the nets") {
    std::mt19937 random(7);
    for (const DemoSet& source : demo_sets()) {
        for (int round = 0; round < 5; ++round) {
            pugi::xml_document document, shuffled;
            REQUIRE(document.load_string(source.text.c_str()));
            std::vector<pugi::xml_node> parts;
            for (const pugi::xml_node& child : document.document_element().children()) parts.push_back(child);
            std::shuffle(parts.begin(), parts.end(), random);
            pugi::xml_node root = shuffled.append_child("chassis");
            for (const pugi::xml_attribute& a : document.document_element().attributes()) root.append_copy(a);
            for (const pugi::xml_node& part : parts) root.append_copy(part);
            const Outcome<Chassis> again = files::read(written(shuffled));
            INFO(files::lines(again.notices()));
            REQUIRE(again);
            CHECK(graph_of(*again) == graph_of(*source.set));
            CHECK(again->family() == source.set->family());
        }
    }
}

TEST_CASE("Other names for parts and nets give the same set") {
    for (const DemoSet& source : demo_sets()) {
        pugi::xml_document document;
        REQUIRE(document.load_string(source.text.c_str()));
        rename_all(document.document_element());
        const Outcome<Chassis> again = files::read(written(document));
        INFO(files::lines(again.notices()));
        REQUIRE(again);
        const auto strip = [](const std::string& id) { return id.starts_with("TSx") ? id.substr(3) : id; };
        CHECK(graph_of(*again, strip) == graph_of(*source.set));
        CHECK(again->family() == source.set->family());
        CHECK(again->hot() == source.set->hot());
        CHECK(again->level() == source.set->level());
    }
}

TEST_CASE("Another reading of the same bytes is the same set, notes and all") {
    for (const DemoSet& source : demo_sets()) {
        const Outcome<Chassis> again = files::read(source.text);
        REQUIRE(again);
        CHECK(files::lines(again.notices()) == files::lines(source.set.notices()));
        REQUIRE(again->nets().size() == source.set->nets().size());
        for (std::size_t i = 0; i < again->nets().size(); ++i)
            CHECK(again->nets()[i].name == source.set->nets()[i].name);
    }
}

TEST_CASE("The builder makes what the file makes") {
    const Outcome<Chassis> from_file = files::read(R"(<chassis version="1" name="stage" reference="gnd">
      <line volts="117" hertz="60" hot="P1.1" neutral="P1.2"/>
      <node is="chassis-metal" net="gnd"/>
      <plug id="P1" role="line"/>
      <socket id="V2" tube="6SQ7"/>
      <resistor id="R7" value="470K" a="V2.6" b="bplus"/>
      <capacitor id="C1" value=".02 mfd" a="V2.6" b="next"/>
      <capacitor id="C2" value="8 mfd" volts="450" plus="bplus" minus="gnd"/>
      <coil id="L1" role="choke" henries="12" ohms="400" a="bplus" b="raw"/>
      <join at="gnd V2.3"/>
    </chassis>)");
    INFO(files::lines(from_file.notices()));
    REQUIRE(from_file);
    ChassisBuilder b("stage");
    b.reference("gnd");
    b.line(volts(117), hertz(60), "P1.1", "P1.2");
    b.node("chassis-metal", "gnd", false);
    Part plug;
    plug.id = "P1";
    plug.kind = PartKind::plug;
    b.add(plug, {});
    b.socket("V2", "6SQ7");
    b.resistor("R7", ohms(470e3), "V2.6", "bplus");
    b.capacitor("C1", farads(.02e-6), "V2.6", "next");
    b.electrolytic("C2", farads(8e-6), volts(450), "bplus", "gnd");
    b.coil("L1", "choke", henries(12), ohms(400), "bplus", "raw");
    b.join({"gnd", "V2.3"});
    const Outcome<Chassis> built = b.build(files::catalogue());
    INFO(files::lines(built.notices()));
    REQUIRE(built);
    CHECK(graph_of(*built) == graph_of(*from_file));
    REQUIRE(built->parts().size() == from_file->parts().size());
    for (std::size_t i = 0; i < built->parts().size(); ++i) {
        const Part &x = built->parts()[i], &y = from_file->parts()[i];
        INFO(x.id);
        CHECK(x.construction == y.construction);
        CHECK(x.farads == y.farads);
        CHECK(x.henries == y.henries);
        CHECK(x.rated_volts == y.rated_volts);
        CHECK(x.polarised == y.polarised);
    }
}

TEST_CASE("A lead that goes nobody knows where is \"?\": such leads are no net, and survive the writer") {
    const std::string text = R"(<chassis version="1" name="half traced" reference="gnd" m-means="million">
  <node is="chassis-metal" net="gnd"/>
  <resistor id="R1" value="100K" a="gnd" b="?"/>
  <resistor id="R2" value="100K" a="gnd" b="?"/>
  <capacitor id="C1" value=".1 mfd" a="?" b="?"/>
</chassis>
)";
    const Outcome<Chassis> set = read_chassis_text(text, "half.xml", files::catalogue());
    REQUIRE(set);
    CHECK(set->net("R1.b") != set->net("R2.b"));
    CHECK(set->net("?") == -1);
    CHECK(set->parts()[2].leads.empty());  // one of a list
    const std::string again = write_chassis_text(*set);
    const Outcome<Chassis> read = read_chassis_text(again, "again.xml", files::catalogue());
    INFO(again);
    REQUIRE(read);
    CHECK(graph_of(*read) == graph_of(*set));
    const Outcome<Chassis> joined = read_chassis_text(
        R"(<chassis version="1" name="j"><join at="gnd ?"/><resistor id="R1" value="1K" a="gnd" b="k"/></chassis>)",
        "joined.xml", files::catalogue());
    REQUIRE_FALSE(joined);
    CHECK(joined.notices().front().message == "\"?\" is no name of a net here");
}

TEST_CASE("A can of a list needs no nets, a trimmer has a range, and both come back as written") {
    const std::string text = R"(<chassis version="1" name="list" built="1940">
  <socket id="V1" tube="6V6GT"/>
  <can id="C1" value="16-16-20/450"><section mark="square"/><section mark="half-moon"/><section mark="plain"/></can>
  <capacitor id="C2" value="5-20 mmf" construction="mica-trimmer"/>
</chassis>
)";
    const Outcome<Chassis> set = read_chassis_text(text, "list.xml", files::catalogue());
    if (!set) FAIL(set.notices().front().text());
    CHECK(set->level() == 1);
    CHECK(set->parts()[static_cast<std::size_t>(set->part("C1.plain"))].farads == 20e-6);
    CHECK(set->parts()[static_cast<std::size_t>(set->part("C2"))].farads == 20e-12);
    const std::string again = write_chassis_text(*set);
    CHECK(again.find("5-20 mmf") != std::string::npos);
    CHECK(read_chassis_text(again, "again.xml", files::catalogue()).has_value());
    const Outcome<Chassis> bare = read_chassis_text(
        R"(<chassis version="1" name="b"><capacitor id="C2" value="5-20" construction="mica-trimmer"/></chassis>)",
        "bare.xml", files::catalogue());
    REQUIRE_FALSE(bare);
    CHECK(bare.notices().front().remedy == "write \"5-20 mmf\"");
}
