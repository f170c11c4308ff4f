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
    CHECK(c1.place.line == 28);
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
    CHECK(square.seen == "bulged");
    CHECK(square.leads.at(1).net == set.net("gnd"));
    CHECK(square.lift_first == std::vector<std::string>{"R1"});
    const Part& moon = part(set, "C20.half-moon");
    CHECK(moon.farads == 16e-6);
    CHECK(moon.rated_volts == 450.0);
    CHECK(moon.since == 1956);
    CHECK(moon.leads.at(1).net == set.net("k"));
    CHECK(joined(set, "C20.half-moon", "C20.half-moon.plus"));
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
    if (std::setlocale(LC_ALL, "de_DE.UTF-8")) {
        const Outcome<Chassis> c = files::read(plain);
        std::setlocale(LC_ALL, kept.c_str());
        REQUIRE(c);
        CHECK(part(*c, "C1").farads == 0.05e-6);
    }
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
