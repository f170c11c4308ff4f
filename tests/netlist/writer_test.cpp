// SPDX-License-Identifier: MIT
// A set written and read again is the same set, to the last bit, and its text is valid by the schema (which
// tests/bad/schema_test.py puts to xmllint for the files of the tree).
#include <catch2/catch.hpp>

#include "files.hpp"

using namespace tubewright;

namespace {

const Net& net_of(const Chassis& set, const Lead& lead) {
    return set.nets()[static_cast<std::size_t>(lead.net)];
}

void check_same(const Chassis& a, const Chassis& b) {
    CHECK(a.name() == b.name());
    CHECK(a.built() == b.built());
    CHECK(a.line().volts == b.line().volts);
    CHECK(a.line().hertz == b.line().hertz);
    CHECK(a.line().volts_stated == b.line().volts_stated);
    CHECK(a.line().supply == b.line().supply);
    CHECK(a.line().watts == b.line().watts);
    CHECK(a.family() == b.family());
    CHECK(a.hot() == b.hot());
    CHECK(a.level() == b.level());
    REQUIRE(a.parts().size() == b.parts().size());
    REQUIRE(a.nets().size() == b.nets().size());
    for (const auto& [x, y] : {std::pair{a.reference(), b.reference()},
                               {a.nodes().chassis_metal, b.nodes().chassis_metal},
                               {a.nodes().b_minus, b.nodes().b_minus},
                               {a.nodes().earth, b.nodes().earth},
                               {a.nodes().line_hot, b.nodes().line_hot},
                               {a.nodes().line_neutral, b.nodes().line_neutral}}) {
        REQUIRE((x < 0) == (y < 0));
        if (x >= 0) CHECK(a.nets()[static_cast<std::size_t>(x)].name == b.nets()[static_cast<std::size_t>(y)].name);
    }
    for (std::size_t i = 0; i < a.parts().size(); ++i) {
        const Part& x = a.parts()[i];
        const int there = b.part(x.id);
        INFO(x.id);
        REQUIRE(there >= 0);
        const Part& y = b.parts()[static_cast<std::size_t>(there)];
        CHECK(x.kind == y.kind);
        CHECK(x.construction == y.construction);
        CHECK(x.construction_stated == y.construction_stated);
        CHECK(x.role == y.role);
        CHECK(x.tube == y.tube);
        CHECK(x.type == y.type);
        CHECK(x.lamp_type == y.lamp_type);
        for (const auto field :
             {&Part::ohms, &Part::farads, &Part::henries, &Part::rated_volts, &Part::rated_amps, &Part::rated_va,
              &Part::tolerance, &Part::kilohertz, &Part::drawn_amps, &Part::found_value, &Part::duty, &Part::hertz})
            CHECK(x.*field == y.*field);
        REQUIRE(x.rated_watts.has_value() == y.rated_watts.has_value());
        // the sections of a tapped resistor share its watts by their ohms
        if (x.rated_watts) CHECK(*x.rated_watts == Approx(*y.rated_watts).epsilon(1e-14));
        CHECK(x.polarised == y.polarised);
        CHECK(x.closed == y.closed);
        CHECK(x.can == y.can);
        CHECK(x.mark == y.mark);
        CHECK(x.plug == y.plug);
        CHECK(x.inside == y.inside);
        CHECK(x.insulated == y.insulated);
        CHECK(x.touch == y.touch);
        CHECK(x.documented == y.documented);
        CHECK(x.found == y.found);
        CHECK(x.fitted == y.fitted);
        CHECK(x.since == y.since);
        CHECK(x.seen == y.seen);
        CHECK(x.note == y.note);
        CHECK(x.location == y.location);
        CHECK(x.lift_first == y.lift_first);
        REQUIRE(x.leads.size() == y.leads.size());
        for (const Lead& lead : x.leads) {
            INFO(lead.name.str());
            const int same = y.lead(lead.name);
            REQUIRE(same >= 0);
            CHECK(net_of(a, lead).leads.size() == net_of(b, y.leads[static_cast<std::size_t>(same)]).leads.size());
            CHECK(net_of(a, lead).name == net_of(b, y.leads[static_cast<std::size_t>(same)]).name);
            CHECK(net_of(a, lead).touch == net_of(b, y.leads[static_cast<std::size_t>(same)]).touch);
        }
        REQUIRE(x.windings.size() == y.windings.size());
        for (std::size_t w = 0; w < x.windings.size(); ++w) {
            const PartWinding &p = x.windings[w], &q = y.windings[w];
            CHECK(p.role == q.role);
            CHECK(p.name == q.name);
            CHECK(p.leads == q.leads);
            CHECK(p.volts == q.volts);
            CHECK(p.noload_volts == q.noload_volts);
            CHECK(p.ohms == q.ohms);
            CHECK(p.amps == q.amps);
            CHECK(p.impedance_ohms == q.impedance_ohms);
            CHECK(p.tap_ohms == q.tap_ohms);
            CHECK(p.henries == q.henries);
            CHECK(p.coupling == q.coupling);
        }
    }
}

}  // namespace

TEST_CASE("A set that is written and read again is the same set") {
    std::vector<std::filesystem::path> all = files::in_folder("netlists", ".xml");
    for (const auto& path : files::in_folder("tests/netlist/good", ".xml")) all.push_back(path);
    for (const auto& path : all) {
        INFO(path.filename().string());
        const Outcome<Chassis> set = files::read(files::bytes(path));
        REQUIRE(set);
        const std::string text = write_chassis_text(*set);
        const Outcome<Chassis> again = files::read(text);
        if (!again) FAIL(text << files::lines(again.notices()));
        check_same(*set, *again);
        // and from there on it is a fixed point
        CHECK(write_chassis_text(*again) == text);
    }
}

TEST_CASE("A set made in memory can be written") {
    ChassisBuilder builder("two-stage <amplifier> & \"more\"");
    builder.line(volts(117), hertz(60), "P1.1", "P1.2");
    builder.node("chassis-metal", "gnd", true);
    builder.resistor("R7", ohms(470e3), "V2.5", "gnd");
    builder.electrolytic("C1", farads(16e-6), volts(350), "bplus", "gnd");
    builder.socket("V2", "6V6GT");
    builder.join({"bplus", "V2.3"});
    Part plug;
    plug.id = "P1";
    plug.kind = PartKind::plug;
    plug.role = "line";
    builder.add(std::move(plug), {});
    const Outcome<Chassis> set = builder.build(Catalogue::shipped());
    REQUIRE(set);
    const Outcome<Chassis> again = files::read(write_chassis_text(*set));
    if (!again) FAIL(files::lines(again.notices()));
    check_same(*set, *again);
}

TEST_CASE("The impedances of an output secondary's taps are written as they were read, one for each lead but one") {
    const auto text = [](const std::string& impedance) {
        return "<chassis version=\"1\" name=\"taps\" reference=\"gnd\"><transformer id=\"T1\" role=\"output\">"
               "<winding role=\"output-primary\" leads=\"plate bplus\" impedance=\"5k\"/>"
               "<winding role=\"output-secondary\" leads=\"gnd white grey red\" impedance=\"" +
               impedance + "\"/></transformer></chassis>";
    };
    const Outcome<Chassis> set = files::read(text("4 8 16"));
    if (!set) FAIL(files::lines(set.notices()));
    const PartWinding& winding = set->parts().front().windings.at(1);
    CHECK(winding.tap_ohms == std::vector<double>{4, 8, 16});
    CHECK_FALSE(winding.impedance_ohms);
    const Outcome<Chassis> again = files::read(write_chassis_text(*set));
    if (!again) FAIL(files::lines(again.notices()));
    check_same(*set, *again);
    CHECK(files::read(text("16"))->parts().front().windings.at(1).impedance_ohms == 16);
    CHECK_FALSE(files::read(text("8 16")));
}

TEST_CASE("Henries of a winding and its coupling are written as they were read") {
    const auto text = [](const std::string& coupling) {
        return "<chassis version=\"1\" name=\"coils\" reference=\"gnd\"><transformer id=\"T1\" role=\"if\">"
               "<winding role=\"rf\" leads=\"plate bplus\" henries=\"1.2 mH\"/>"
               "<winding role=\"rf\" leads=\"grid gnd\" henries=\".9 mH\" coupling=\"" +
               coupling + "\"/></transformer></chassis>";
    };
    for (const char* coupling : {".015", "1.5 %"}) {
        const Outcome<Chassis> set = files::read(text(coupling));
        if (!set) FAIL(files::lines(set.notices()));
        const PartWinding& second = set->parts().front().windings.at(1);
        CHECK(*set->parts().front().windings.at(0).henries == Approx(1.2e-3));
        CHECK(*second.coupling == Approx(.015));
        const Outcome<Chassis> again = files::read(write_chassis_text(*set));
        if (!again) FAIL(files::lines(again.notices()));
        CHECK(*again->parts().front().windings.at(1).coupling == Approx(*second.coupling));
    }
    CHECK_FALSE(files::read(text("0")));
    CHECK_FALSE(files::read(text("120 %")));
}
