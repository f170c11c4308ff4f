// SPDX-License-Identifier: MIT
// Parts and names to a chassis: pins as nets, joins, wires, cans, plugs, looked-up names, errors all at once.
#include <catch2/catch.hpp>

#include <algorithm>
#include <numeric>
#include <random>
#include <set>

#include "chassis/assembly.hpp"
#include "terms/numbers.hpp"

using namespace tubewright;

namespace {

const Catalogue& catalogue() {
    static const Catalogue shipped = Catalogue::shipped();
    return shipped;
}

Part of_kind(PartKind kind, const char* id) {
    Part part;
    part.kind = kind;
    part.id = id;
    return part;
}

std::set<int> numbers(const Outcome<Chassis>& set) {
    std::set<int> found;
    for (const Notice& n : set.notices())
        if (n.severity == Severity::error) found.insert(n.number);
    return found;
}

}  // namespace

TEST_CASE("A pin named in two places is one net, and a word beside it names the net") {
    ChassisBuilder b("stage");
    b.reference("gnd");
    b.socket("V2", "6SQ7");
    b.resistor("R1", ohms(250e3), "bplus", "V2.6");
    b.capacitor("C1", farads(.02e-6), "V2.6", "next");
    b.resistor("R2", ohms(1e6), "R1.b", "gnd");
    b.join({"V2.6", "first_plate"});
    const Outcome<Chassis> set = b.build(catalogue());
    REQUIRE(set);
    CHECK(set->net("V2.6") == set->net("first_plate"));
    CHECK(set->net("V2.6") == set->net("R2.a"));
    CHECK(set->net("V2.plate") == set->net("V2.6"));  // an element word is a pin
    CHECK(set->nets()[static_cast<std::size_t>(set->net("V2.6"))].name == "first_plate");
    CHECK(set->nets()[static_cast<std::size_t>(set->net("V2.6"))].leads.size() == 4);
    CHECK(set->net("no such net") == -1);
    CHECK(set->part("R9") == -1);
    CHECK(set->reference() == set->net("gnd"));
    const int r1 = set->part("R1");
    CHECK(set->lead_name({r1, 1}) == "R1.b");
    CHECK(set->parts()[static_cast<std::size_t>(r1)].lead("b") == 1);
    CHECK(set->parts()[static_cast<std::size_t>(r1)].lead("c") == -1);
}

TEST_CASE("Every pin of a base is a lead, and a nameless one stands alone") {
    ChassisBuilder b("tube");
    b.socket("V1", "6J7");
    const Outcome<Chassis> set = b.build(catalogue());
    REQUIRE(set);
    const Part& v1 = set->parts()[0];
    CHECK(v1.leads.size() == 9);  // eight and the cap
    CHECK(v1.lead("cap") == 8);
    CHECK(v1.type != nullptr);
    CHECK(set->nets().size() == 9);
    CHECK(set->net("V1.6") >= 0);  // unused by the tube, there on the base
}

TEST_CASE("Wires and joins make one net; a switch does not") {
    ChassisBuilder b("wires");
    b.resistor("R1", ohms(1000), "a", "b");
    b.resistor("R2", ohms(1000), "c", "d");
    b.add(of_kind(PartKind::wire, "W1"), {{"from", "b"}, {"to", "c"}});
    b.add(of_kind(PartKind::power_switch, "S1"), {{"a", "a"}, {"b", "d"}});
    const Outcome<Chassis> set = b.build(catalogue());
    REQUIRE(set);
    CHECK(set->net("b") == set->net("c"));
    CHECK(set->net("a") != set->net("d"));
    CHECK(set->parts()[static_cast<std::size_t>(set->part("W1"))].leads.size() == 2);
}

TEST_CASE("Joins give the classes that a plain painting of the nets gives") {
    std::mt19937 random(2);
    for (int round = 0; round < 50; ++round) {
        const int count = 40;
        std::vector<int> colour(static_cast<std::size_t>(count));
        std::iota(colour.begin(), colour.end(), 0);
        ChassisBuilder b("joins");
        const auto net = [](int i) { return "n" + std::to_string(i); };
        for (int i = 0; i < count; ++i) b.resistor("R" + std::to_string(i), ohms(100), net(i), "common");
        for (int j = 0; j < 30; ++j) {
            const auto x = random() % count, y = random() % count;
            b.join({net(static_cast<int>(x)), net(static_cast<int>(y))});
            std::replace(colour.begin(), colour.end(), int(colour[x]), int(colour[y]));
        }
        const Outcome<Chassis> set = b.build(catalogue());
        REQUIRE(set);
        for (std::size_t x = 0; x < colour.size(); ++x)
            for (std::size_t y = 0; y < colour.size(); ++y)
                if ((set->net(net(static_cast<int>(x))) == set->net(net(static_cast<int>(y)))) !=
                    (colour[x] == colour[y]))
                    FAIL("round " << round << ": " << x << " and " << y);
    }
}

TEST_CASE("Every lead stands on exactly one net, and every net knows its leads") {
    ChassisBuilder b("books");
    b.socket("V1", "42");
    b.resistor("R1", ohms(1000), "V1.2", "bplus");
    b.electrolytic("C1", farads(8e-6), volts(450), "bplus", "gnd");
    const Outcome<Chassis> set = b.build(catalogue());
    REQUIRE(set);
    std::size_t leads = 0;
    for (std::size_t n = 0; n < set->nets().size(); ++n)
        for (const LeadRef& ref : set->nets()[n].leads) {
            ++leads;
            CHECK(set->parts()[static_cast<std::size_t>(ref.part)].leads[static_cast<std::size_t>(ref.lead)].net ==
                  static_cast<int>(n));
        }
    CHECK(leads == 6 + 2 + 2);
}

TEST_CASE("A control may leave one lead out, and answers to the numbers of its lugs") {
    ChassisBuilder b("control");
    b.add(of_kind(PartKind::control, "R3"), {{"a", "top"}, {"b", "gnd"}, {"wiper", "slider"}});
    b.resistor("R1", ohms(1000), "R3.2", "gnd");
    const Outcome<Chassis> set = b.build(catalogue());
    REQUIRE(set);
    CHECK(set->net("R1.a") == set->net("slider"));
}

TEST_CASE("Constructions that nobody stated come from the file, then from the trade, and a note says so") {
    ChassisBuilder b("defaults");
    b.default_for("paper", "moulded-paper");
    b.default_for("tolerance", "10");
    b.capacitor("C1", farads(.05e-6), "a", "b");
    b.capacitor("C2", farads(100e-12), "a", "b");
    b.electrolytic("C3", farads(8e-6), volts(450), "a", "b");
    b.resistor("R1", ohms(1000), "a", "b");
    const Outcome<Chassis> set = b.build(catalogue());
    REQUIRE(set);
    const std::vector<Part>& parts = set->parts();
    CHECK(parts[0].construction == "moulded-paper");
    CHECK(parts[1].construction == "mica");
    CHECK(parts[2].construction == "dry-electrolytic");
    CHECK(parts[3].construction == "carbon-composition");
    for (const Part& part : parts) {
        CHECK_FALSE(part.construction_stated);
        CHECK(part.tolerance == 0.10);
    }
    CHECK(std::any_of(set.notices().begin(), set.notices().end(),
                      [](const Notice& n) { return n.number == messages::note_construction; }));
}

TEST_CASE("A type is found without its suffix, and a note says which row was used") {
    ChassisBuilder b("suffix");
    b.socket("V1", "6SQ7GT");
    const Outcome<Chassis> set = b.build(catalogue());
    REQUIRE(set);
    CHECK(set->parts()[0].type->type == "6SQ7");
    CHECK(set->parts()[0].tube == "6SQ7GT");
    CHECK(set.notices().at(0).number == messages::note_type_row);
}

TEST_CASE("What is not traced returns to B-minus, or to the metal where there is none") {
    // The reader leaves the return open.
    for (const bool with_bus : {false, true}) {
        Assembly a("untraced");
        a.node("chassis-metal", "metal", true, {});
        if (with_bus) a.node("b-minus", "bus", false, {});
        Part& r = a.add(PartKind::resistor, "R1", {}, {});
        a.lead(r, "a", "metal", {});
        a.lead(r, "b", "bus", {});
        Part& u = a.add(PartKind::untraced, "U1", {}, {});
        a.lead(u, "a", "bplus", {});
        a.unplaced_lead(u, "b", false);
        const Outcome<Chassis> set = a.finish(catalogue());
        REQUIRE(set);
        CHECK(set->net("U1.b") == set->net(with_bus ? "bus" : "metal"));
    }
}

TEST_CASE("All errors come at once") {
    ChassisBuilder b("errors");
    b.socket("V1", "6A77");
    b.socket("V2", "42");
    b.resistor("R1", ohms(1000), "V2.9", "gnd");
    b.resistor("R1", ohms(1000), "x", "gnd");
    b.resistor("R2", ohms(1000), "R7.a", "gnd");
    Part paper = of_kind(PartKind::capacitor, "C1");
    paper.construction = "papyrus";
    b.add(paper, {{"a", "x"}, {"b", "gnd"}});
    const Outcome<Chassis> set = b.build(catalogue());
    CHECK_FALSE(set);
    CHECK(numbers(set) == std::set<int>{messages::unknown_tube, messages::unknown_pin, messages::duplicate_id,
                                        messages::unknown_part, messages::unknown_construction});
}

TEST_CASE("Misuse of the builder is thrown, and a chassis is built once") {
    ChassisBuilder b("misuse");
    CHECK_THROWS_AS(b.resistor("", ohms(1), "a", "b"), Error);
    CHECK_THROWS_AS(b.node("ground", "gnd", false), Error);
    CHECK_THROWS_AS(b.default_for("colour", "red"), Error);
    CHECK_THROWS_AS(b.default_for("tolerance", "a bit"), Error);
    b.resistor("R1", ohms(1), "a", "b");
    CHECK(b.build(catalogue()));
    CHECK_THROWS_AS(b.build(catalogue()), Error);
}

TEST_CASE("Pins of one electrode are one net inside the glass; plates of a rectifier and diodes are not") {
    const auto joined = [](const char* tube, const char* pin, const char* other) {
        ChassisBuilder b("one tube");
        b.socket("V1", tube);
        b.reference("gnd");
        b.resistor("R1", ohms(1e3), std::string("V1.") + pin, "gnd");
        const Outcome<Chassis> set = b.build(catalogue());
        REQUIRE(set);
        return set->net(std::string("V1.") + pin) == set->net(std::string("V1.") + other);
    };
    // base diagrams: recalled
    CHECK(joined("6AQ5", "1", "7"));
    CHECK(joined("50C5", "2", "5"));
    CHECK(joined("3S4", "2", "6"));
    CHECK(joined("6SG7", "3", "5"));
    CHECK(joined("1T4", "1", "5"));
    CHECK_FALSE(joined("80", "2", "3"));
    CHECK_FALSE(joined("5Y3GT", "4", "6"));
    CHECK_FALSE(joined("6SQ7", "4", "5"));
    CHECK_FALSE(joined("6SN7", "2", "5"));
    CHECK_FALSE(joined("6AQ5", "3", "4"));
}
