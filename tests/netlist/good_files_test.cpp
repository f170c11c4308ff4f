// SPDX-License-Identifier: MIT
// What the reader makes of good files: values, leads, nets, places, defaults, notes.
#include <catch2/catch.hpp>

#include <clocale>

#include "files.hpp"
#include "terms/numbers.hpp"

using namespace tubewright;

namespace {

const Chassis& every_element() {
    static const Outcome<Chassis> set =
        read_chassis((files::root / "tests/netlist/good/every-element.xml").string(), files::catalogue());
    INFO(files::lines(set.notices()));
    REQUIRE(set);
    return *set;
}

const Part& part(const Chassis& set, const char* id) {
    INFO(id);
    const int p = set.part(id);
    REQUIRE(p >= 0);
    return set.parts()[static_cast<std::size_t>(p)];
}

bool joined(const Chassis& set, const char* a, const char* b) {
    return set.net(a) >= 0 && set.net(a) == set.net(b);
}

}  // namespace

TEST_CASE("Good files and demo sets are read without an error") {
    int read = 0;
    for (const char* folder : {"netlists", "tests/netlist/good"})
        for (const auto& path : files::in_folder(folder, ".xml")) {
            const Outcome<Chassis> set = read_chassis(path.string(), files::catalogue());
            INFO(files::lines(set.notices()));
            CHECK(set);
            ++read;
        }
    CHECK(read >= 5);
}

TEST_CASE("A set's own figures are read") {
    const Chassis& set = every_element();
    CHECK(set.name() == "Every element");
    CHECK(set.built() == 1938);
    CHECK(set.line().volts == 117);
    CHECK(set.line().hertz == 60);
    CHECK(set.line().volts_stated);
    CHECK(set.reference() == set.net("gnd"));
    CHECK(set.nodes().chassis_metal == set.net("gnd"));
    CHECK(set.nodes().b_minus == set.net("gnd"));
    CHECK(set.nodes().earth == set.net("earth"));
    CHECK(set.nodes().line_hot == set.net("P1.1"));
    CHECK(set.nodes().line_neutral == set.net("P1.2"));
    CHECK(set.nets()[static_cast<std::size_t>(set.net("gnd"))].touch);
    CHECK_FALSE(set.nets()[static_cast<std::size_t>(set.net("earth"))].touch);
}

TEST_CASE("A part's values come in SI, with its history and place") {
    const Chassis& set = every_element();
    const Part& c1 = part(set, "C1");
    CHECK(c1.kind == PartKind::capacitor);
    CHECK(c1.farads == 0.05e-6);
    CHECK(c1.rated_volts == 400.0);
    CHECK(c1.tolerance == 0.20);
    CHECK(c1.construction == "wax-paper");
    CHECK(c1.construction_stated);
    CHECK(c1.since == 1956);
    CHECK(c1.seen == "waxy cracked");
    CHECK(c1.note == "a & b, \xCE\xA9 < 1");
    CHECK(c1.location == "under \"V4\"");
    CHECK(c1.plug == "speaker");
    CHECK(c1.place.line == 29);
    CHECK(c1.place.column == 3);
    CHECK(c1.lift_first == std::vector<std::string>{"C2", "C20"});

    CHECK(part(set, "R1").ohms == 500e3);  // M means thousand in this file
    CHECK(part(set, "R1").rated_watts == 0.5);
    CHECK(part(set, "R1").tolerance == 0.10);
    CHECK(part(set, "R2").ohms == 4700);
    CHECK(part(set, "R2").tolerance == 0.20);  // the file's
    CHECK_FALSE(part(set, "C3").farads.has_value());
    CHECK(part(set, "C2").farads == 8e-6);
    CHECK(part(set, "C2").rated_volts == 450.0);
    CHECK(part(set, "C2").polarised);
    CHECK_FALSE(part(set, "C2").construction_stated);
    CHECK(part(set, "C2").construction == "dry-electrolytic");
    CHECK(part(set, "L1").henries == 12);
    CHECK(part(set, "L1").rated_amps == 0.06);
    CHECK_FALSE(part(set, "S1").closed);
    CHECK(part(set, "U1").drawn_amps == 0.012);
    CHECK(part(set, "T3").kilohertz == 456);
}

TEST_CASE("Windings have their leads, taps and a figure for each half") {
    const Chassis& set = every_element();
    const Part& t1 = part(set, "T1");
    REQUIRE(t1.windings.size() == 6);
    const PartWinding& plate = t1.windings[1];
    CHECK(plate.role == WindingRole::plate);
    CHECK(plate.name == "high");
    REQUIRE(plate.leads.size() == 3);
    CHECK(t1.leads[static_cast<std::size_t>(plate.leads[1])].net == set.net("gnd"));
    CHECK(plate.ohms == std::vector<double>{185, 210});
    CHECK(plate.noload_volts == std::vector<double>{330, 330});
    CHECK(plate.amps == 0.07);
    CHECK(plate.volts == 325.0);
    CHECK(t1.windings[3].name == "heater");
    CHECK(t1.windings[4].name == "heater2");
    CHECK(t1.lead("black") >= 0);  // "T1.black" in T1's own winding is the lead's name
    CHECK(part(set, "T2").windings[0].impedance_ohms == 7000);
}

TEST_CASE("A pin is a net, and whatever names the same one is joined") {
    const Chassis& set = every_element();
    CHECK(joined(set, "V5.1", "bplus"));
    CHECK(joined(set, "bplus", "TS1.1"));
    CHECK(joined(set, "C20.square", "bplus"));
    CHECK(joined(set, "V4.3", "R2.b"));
    CHECK(joined(set, "V4.6", "gnd"));  // by a wire
    CHECK(joined(set, "earth", "TS2.2"));
    CHECK_FALSE(joined(set, "earth", "gnd"));
    CHECK_FALSE(joined(set, "P1.1", "S1.b"));  // a switch keeps its nets apart
    // Every pin of a base is there, named or not; an empty socket has what is named.
    CHECK(part(set, "V4").leads.size() == 6);
    CHECK(part(set, "V6").leads.empty());
    const Net& gnd = set.nets()[static_cast<std::size_t>(set.net("gnd"))];
    CHECK(gnd.name == "gnd");
}

TEST_CASE("Sections of a can are parts of their own with a common minus") {
    const Chassis& set = every_element();
    const Part& square = part(set, "C20.square");
    CHECK(square.can == "C20");
    CHECK(square.mark == "square");
    CHECK(square.construction == "wet-electrolytic");
    CHECK(square.since == 1940);
    CHECK_FALSE(square.insulated);
    CHECK(square.seen == "bulged");
    CHECK(square.leads.at(1).net == set.net("gnd"));
    CHECK(square.lift_first == std::vector<std::string>{"R1"});
    const Part& moon = part(set, "C20.half-moon");
    CHECK(moon.farads == 16e-6);
    CHECK(moon.rated_volts == 500.0);  // what was fitted
    CHECK(moon.found_value == 3e-6);
    CHECK(moon.since == 1956);
    CHECK(moon.leads.at(1).net == set.net("k"));
    CHECK(joined(set, "C20.half-moon", "C20.half-moon.plus"));
    CHECK(part(set, "C21.square").farads == 8e-6);
    CHECK(part(set, "C21.plain").farads == 20e-6);
    CHECK(part(set, "C21.plain").rated_volts == 450.0);
}

TEST_CASE("The set stands with what was fitted, else with what it should have, else with what was found") {
    const Chassis& set = every_element();
    CHECK(part(set, "R4").ohms == 270e3);
    CHECK(part(set, "R4").found_value == 380e3);
    CHECK(part(set, "R4").documented == "250M");
    CHECK(part(set, "C4").farads == 0.022e-6);
    CHECK(part(set, "C4").rated_volts == 630.0);
    CHECK(part(set, "C4").insulated);
    CHECK(part(set, "V7").tube == "6K7GT");  // pulled: its pins stay those of the tube that stood there
    CHECK(part(set, "V7").fitted == "none");
    CHECK(part(set, "V7").found == "6K7GT");
    CHECK(part(set, "R3").ohms == 1e6);
    CHECK(part(set, "R5").ohms == 47e3);  // by its colours
    CHECK(part(set, "C5").farads == 250e-12);
    CHECK(part(set, "C5").rated_volts == 500.0);
    const auto one = [](const std::string& attributes) {
        return *files::read("<chassis version=\"1\" name=\"x\"><resistor id=\"R1\" " + attributes +
                            " a=\"p\" b=\"q\"/></chassis>");
    };
    CHECK(part(one("value=\"250k\" found=\"380k\""), "R1").seen == "drifted");
    CHECK(part(one("value=\"250k\" found=\"270k\""), "R1").seen.empty());
    CHECK(part(one("value=\"250k\" found=\"380k\" fitted=\"240k\""), "R1").seen.empty());
    CHECK(part(one("found=\"270k\""), "R1").ohms == 270e3);
}

TEST_CASE("A tapped resistor is a part from each lug to the next, and a wafer switch one for each pair it can join") {
    const Chassis& set = every_element();
    const Part& first = part(set, "R20.1-2");
    CHECK(first.can == "R20");
    CHECK(first.ohms == 8000);
    CHECK(first.rated_watts == 8);  // of 20 W over 20 k
    CHECK(joined(set, "R20.1", "bplus"));
    CHECK(joined(set, "R20.2", "screens"));
    CHECK(part(set, "R20.3-4").leads.at(0).net == set.net("R20.3"));
    CHECK(joined(set, "R20.4", "gnd"));
    CHECK(part(set, "S2.2-3").closed);
    CHECK_FALSE(part(set, "S2.1-2").closed);
    CHECK(part(set, "S2.5-6").closed);
    CHECK(part(set, "S2.1-2").role == "band");
    CHECK(joined(set, "S2.2", "V4.4"));
    CHECK_FALSE(joined(set, "S2.2", "S2.3"));
    CHECK(part(set, "R30.1-2").construction == "ballast");
    CHECK(part(set, "R31").ohms == 160);
}

TEST_CASE("Batteries, vibrators, dry rectifiers and blocks are read") {
    const Chassis& set = every_element();
    CHECK(part(set, "BT1").rated_volts == 90);
    CHECK_FALSE(part(set, "BT1").closed);
    CHECK(part(set, "Y1").hertz == 115);
    CHECK(part(set, "Y1").duty == 0.85);
    REQUIRE(part(set, "Y1").leads.size() == 3);
    CHECK(part(set, "Y1").leads[0].net == set.net("gnd"));
    CHECK(part(set, "CR1").construction == "selenium");
    CHECK(part(set, "CR1").leads.at(1).net == set.net("bplus"));
    CHECK(part(set, "A1").leads.size() == 2);
    CHECK(part(set, "C5").inside == "T3");
    CHECK(part(set, "W3").ohms == 139);
    CHECK_FALSE(joined(set, "P1.1", "cold"));  // a resistance cord is no wire
}

TEST_CASE("Pins counted from above are turned to the bottom view") {
    const auto set = files::read(
        "<chassis version=\"1\" name=\"x\"><socket id=\"V1\" tube=\"6K7\" view=\"top\"/>"
        "<socket id=\"V2\" tube=\"6K7\"/><resistor id=\"R1\" value=\"1k\" a=\"V1.6\" b=\"V2.3\"/>"
        "<resistor id=\"R2\" value=\"1k\" a=\"V1.plate\" b=\"V2.cap\"/></chassis>");
    REQUIRE(set);
    // octal: pin 3 from below is pin 6 from above
    CHECK(part(*set, "R1").leads[0].net ==
          part(*set, "V1").leads[static_cast<std::size_t>(part(*set, "V1").lead("3"))].net);
    CHECK(joined(*set, "V1.plate", "V1.6"));
}

TEST_CASE("Line ends, a byte-order mark and the locale do not change a set") {
    const std::string plain = files::bytes(files::root / "tests/netlist/good/every-element.xml");
    std::string windows = "\xEF\xBB\xBF";
    for (const char c : plain) windows.append(c == '\n' ? "\r\n" : std::string(1, c));
    const Outcome<Chassis> a = files::read(plain), b = files::read(windows);
    REQUIRE(a);
    REQUIRE(b);
    REQUIRE(a->parts().size() == b->parts().size());
    for (std::size_t i = 0; i < a->parts().size(); ++i) {
        CHECK(a->parts()[i].id == b->parts()[i].id);
        CHECK(a->parts()[i].place == b->parts()[i].place);
        CHECK(a->parts()[i].farads == b->parts()[i].farads);
    }
    const char* before = std::setlocale(LC_ALL, nullptr);
    const std::string kept = before ? before : "C";
    REQUIRE(std::setlocale(LC_ALL, "de_DE.UTF-8") != nullptr);  // made by tests/CMakeLists.txt
    const Outcome<Chassis> c = files::read(plain);
    std::setlocale(LC_ALL, kept.c_str());
    REQUIRE(c);
    CHECK(part(*c, "C1").farads == 0.05e-6);
}

TEST_CASE("A file that is not there or a folder is told, not thrown") {
    const Outcome<Chassis> none = read_chassis((files::root / "no-such-set.xml").string(), files::catalogue());
    CHECK_FALSE(none);
    REQUIRE(none.notices().size() == 1);
    CHECK(none.notices()[0].number == messages::cannot_open);
    const Outcome<Chassis> folder = read_chassis((files::root / "netlists").string(), files::catalogue());
    CHECK_FALSE(folder);
    CHECK(folder.notices().at(0).number == messages::cannot_open);
}

TEST_CASE("An electrolytic of a list is one by its construction, and a label without nets is a line") {
    const auto set = files::read(
        "<chassis version=\"1\" name=\"list\"><line volts=\"117\" hertz=\"60\"/><socket id=\"V1\" tube=\"50L6GT\"/>"
        "<capacitor id=\"C1\" value=\"50 mfd\" volts=\"150\" construction=\"dry-electrolytic\"/></chassis>");
    REQUIRE(set);
    CHECK(part(*set, "C1").polarised);
    CHECK(set->nodes().line_hot == -1);
    CHECK(set->line().volts_stated);
}

TEST_CASE("Blanks around a value are nothing; what was seen is read in capitals too") {
    const auto set = files::read(files::bytes(files::root / "tests/netlist/good/blanks-around-values.xml"));
    for (const Notice& n : set.notices()) UNSCOPED_INFO(n.text());
    REQUIRE(set);
    CHECK(set->name() == "Rook Lane");
    CHECK(set->built() == 1936);
    const Part& r1 = part(*set, "R1");
    CHECK(r1.ohms == 470e3);
    CHECK(r1.since == 1950);
    CHECK(r1.seen == "burnt open");
    CHECK(part(*set, "C1").construction == "wax-paper");
    CHECK(part(*set, "V1").tube == "6J5GT");
    CHECK(joined(*set, "R1.a", "V1.5"));
    CHECK(joined(*set, "C1.a", "R1.a"));
}

TEST_CASE("Parts of a list need no leads: switch, battery, vibrator and transformer as well as resistor and fuse") {
    const auto set = files::read(files::bytes(files::root / "tests/netlist/good/list-of-parts.xml"));
    for (const Notice& n : set.notices()) UNSCOPED_INFO(n.text());
    REQUIRE(set);
    for (const Part& part : set->parts()) {
        INFO(part.id);
        CHECK((part.leads.empty() || part.kind == PartKind::socket || part.kind == PartKind::strip));
    }
    CHECK(part(*set, "S9").role == "band");
    CHECK(part(*set, "Y1").role.empty());
    CHECK(part(*set, "T1").windings.empty());
    CHECK(set->level() == 1);
}
