// SPDX-License-Identifier: MIT
// The schema and the reader are two descriptions of one vocabulary: every element, attribute, "required" and word of
// one is that of the other. Whether files are valid is put to xmllint by tests/bad/schema_test.py.
#include <catch2/catch.hpp>

#include <cstring>
#include <map>
#include <pugixml.hpp>
#include <set>

#include "chassis/data.hpp"
#include "files.hpp"
#include "netlist/vocabulary.hpp"

using namespace tubewright;

namespace {

const pugi::xml_node& schema() {
    static pugi::xml_document document;
    static const pugi::xml_node root = [] {
        const std::string_view text = chassis_schema();
        REQUIRE(document.load_buffer(text.data(), text.size()));
        return document.child("xs:schema");
    }();
    return root;
}

/// name -> required
using Attributes = std::map<std::string, bool>;

void collect(const pugi::xml_node& type, Attributes& found) {
    for (const pugi::xml_node& a : type.children("xs:attribute"))
        found[a.attribute("name").value()] = std::strcmp(a.attribute("use").value(), "required") == 0;
    for (const pugi::xml_node& g : type.children("xs:attributeGroup"))
        for (const pugi::xml_node& group : schema().children("xs:attributeGroup"))
            if (std::strcmp(group.attribute("name").value(), g.attribute("ref").value()) == 0) collect(group, found);
}

struct Walk : pugi::xml_tree_walker {
    std::map<std::string, Attributes> elements;
    std::map<std::string, std::string> parents;
    int undocumented = 0;
    bool for_each(pugi::xml_node& node) override {
        if (std::strcmp(node.name(), "xs:element") != 0) return true;
        const std::string name = node.attribute("name").value();
        collect(node.child("xs:complexType"), elements[name]);
        pugi::xml_node above = node.parent();
        while (above && std::strcmp(above.name(), "xs:element") != 0) above = above.parent();
        parents[name] = above ? above.attribute("name").value() : "chassis";
        if (std::strlen(node.child("xs:annotation").child_value("xs:documentation")) < 10) ++undocumented;
        return true;
    }
};

std::set<std::string> words_of(const char* type) {
    std::set<std::string> words;
    for (const pugi::xml_node& t : schema().children("xs:simpleType"))
        if (std::strcmp(t.attribute("name").value(), type) == 0)
            for (const pugi::xml_node& e : t.child("xs:restriction").children("xs:enumeration"))
                words.insert(e.attribute("value").value());
    return words;
}

std::set<std::string> as_set(const std::vector<std::string_view>& words) {
    return {words.begin(), words.end()};
}

}  // namespace

TEST_CASE("The schema compiled in is the schema of the tree") {
    CHECK(chassis_schema() == files::bytes(files::root / "netlists/chassis.xsd"));
}

TEST_CASE("Schema and reader know the same elements in the same places, with the same attributes") {
    Walk walk;
    pugi::xml_node root = schema();
    root.traverse(walk);
    CHECK(walk.undocumented == 0);
    CHECK(walk.elements.size() == vocabulary().size());
    for (const ElementRule& rule : vocabulary()) {
        const std::string name(rule.name);
        INFO(name);
        REQUIRE(walk.elements.count(name) == 1);
        CHECK(walk.parents[name] == vocabulary()[static_cast<std::size_t>(rule.parent)].name);
        Attributes expected;
        for (const AttributeRule& a : rule.attributes)
            if (a.name.find(':') == std::string_view::npos) expected[std::string(a.name)] = a.required;
        CHECK(walk.elements[name] == expected);
    }
}

TEST_CASE("The table of the vocabulary stands in the order of its tags") {
    for (std::size_t i = 0; i < vocabulary().size(); ++i) CHECK(static_cast<std::size_t>(vocabulary()[i].tag) == i);
}

TEST_CASE("Schema and reader know the same words") {
    CHECK(words_of("transformer-role") == as_set(transformer_roles()));
    CHECK(words_of("winding-role") == as_set(winding_roles()));
    CHECK(words_of("coil-role") == as_set(coil_roles()));
    CHECK(words_of("plug-role") == as_set(plug_roles()));
    CHECK(words_of("node-word") == as_set(node_words()));
    CHECK(words_of("m-means") == std::set<std::string>{"thousand", "million"});
    CHECK(words_of("switch-role") == as_set(switch_roles()));
    CHECK(words_of("battery-role") == as_set(battery_roles()));
    CHECK(words_of("vibrator-role") == as_set(vibrator_roles()));
    CHECK(words_of("supply-word") == as_set(supply_words()));
    CHECK(words_of("colour-code") == as_set(colour_codes()));
    CHECK(words_of("seen-word") == as_set(seen_words()));
    CHECK(words_of("in-or-out") == std::set<std::string>{"in", "out"});
    CHECK(words_of("view") == std::set<std::string>{"bottom", "top"});
    for (int role = 0; role <= static_cast<int>(WindingRole::other); ++role)
        CHECK(winding_roles().at(static_cast<std::size_t>(role)) == word(static_cast<WindingRole>(role)));
}

TEST_CASE("What was seen may stand in capitals, to the schema as to the reader") {
    std::set<std::string> expected, patterns;
    for (const std::string_view word : seen_words()) {
        std::string pattern;
        for (const char c : word) pattern += std::string("[") + static_cast<char>(c - 'a' + 'A') + c + "]";
        expected.insert(pattern);
    }
    for (const pugi::xml_node& t : schema().children("xs:simpleType"))
        if (std::strcmp(t.attribute("name").value(), "seen-word-in-capitals") == 0)
            for (const pugi::xml_node& e : t.child("xs:restriction").children("xs:pattern"))
                patterns.insert(e.attribute("value").value());
    CHECK(patterns == expected);
}

TEST_CASE("The file of every element shows every element and attribute of the vocabulary") {
    pugi::xml_document document;
    REQUIRE(document.load_file((files::root / "tests/netlist/good/every-element.xml").c_str()));
    std::map<std::string, std::set<std::string>> shown;
    struct Show : pugi::xml_tree_walker {
        std::map<std::string, std::set<std::string>>* shown = nullptr;
        bool for_each(pugi::xml_node& node) override {
            if (node.type() == pugi::node_element) {
                auto& attributes = (*shown)[node.name()];
                for (const pugi::xml_attribute& a : node.attributes()) attributes.insert(a.name());
            }
            return true;
        }
    } show;
    show.shown = &shown;
    document.traverse(show);
    // What every part may say of itself is shown by C1.
    const std::set<std::string> common = {"construction", "since", "seen",   "note",
                                          "location",     "plug",  "inside", "touch"};
    for (const ElementRule& rule : vocabulary()) {
        REQUIRE(shown.count(std::string(rule.name)) == 1);
        for (const AttributeRule& a : rule.attributes) {
            INFO("<" << rule.name << " " << a.name << ">");
            CHECK((shown[std::string(rule.name)].count(std::string(a.name)) == 1 ||
                   common.count(std::string(a.name)) == 1));
        }
    }
}
