// SPDX-License-Identifier: MIT
// The earth on the metal as traced, what joins it, and which capacitors make it forbidden.
#include <catch2/catch.hpp>

#include "chassis/earth.hpp"

using namespace tubewright;

namespace {

using Names = std::vector<std::string>;

/// A primary behind a cord, C1 from the line to the metal, C2 from the metal to a net off the line; `joined`: the
/// earth's net and the metal's over a wire.
Chassis set_of(const std::string& earth, bool joined, const std::string& construction, bool tied = false,
               std::optional<double> ohms_of_wire = 0.1) {
    static const Catalogue catalogue = Catalogue::shipped();
    ChassisBuilder b("earthed");
    b.line(volts(117), hertz(60), "P1.1", "P1.2");
    b.reference("gnd");
    b.node("chassis-metal", "gnd", true);
    if (!earth.empty()) b.node("earth", earth, false);
    Part plug;
    plug.kind = PartKind::plug;
    plug.id = "P1";
    plug.role = "line";
    b.add(plug, {});
    Part wire;
    wire.kind = PartKind::wire;
    wire.id = "W1";
    wire.ohms = ohms_of_wire;
    if (joined) b.add(wire, {{"a", "gnd"}, {"b", earth}});
    Part t;
    t.kind = PartKind::transformer;
    t.id = "T1";
    t.role = "power";
    t.windings.resize(2);
    t.windings[0].role = WindingRole::primary;
    t.windings[0].leads = {0, 1};
    t.windings[1].role = WindingRole::heater;
    t.windings[1].leads = {2, 3};
    b.add(t, {{"primary.1", "P1.1"}, {"primary.2", "P1.2"}, {"heater.1", "heaters"}, {"heater.2", "gnd"}});
    Part c;
    c.kind = PartKind::capacitor;
    c.id = "C1";
    c.farads = 1e-8;
    c.construction = construction;
    b.add(c, {{"a", "P1.1"}, {"b", "gnd"}});
    b.capacitor("C2", farads(1e-8), "heaters", "gnd");
    if (tied) b.join({"P1.2", "gnd"});
    const Outcome<Chassis> set = b.build(catalogue);
    if (!set) throw Error(set.notices().front().message);
    return *set;
}

}  // namespace

TEST_CASE("The metal is earthed over a wire or as the earth's own net, and not by an earth that ends elsewhere") {
    CHECK_FALSE(earth_of(set_of("", false, "wax-paper")).on);
    CHECK_FALSE(earth_of(set_of("earth", false, "wax-paper")).on);
    const Earth wire = earth_of(set_of("earth", true, "wax-paper"));
    CHECK(wire.on);
    CHECK(wire.over == Names{"W1"});
    CHECK(wire.name == "the earth over W1");
    // a wire without ohms makes one net of both
    CHECK(earth_of(set_of("earth", true, "wax-paper", false, std::nullopt)).on);
    const Earth net = earth_of(set_of("gnd", false, "wax-paper"));
    CHECK(net.on);
    CHECK(net.over.empty());
    CHECK(net.name == "the earth on gnd");
}

TEST_CASE("An old capacitor from the line forbids the earth, class Y or one that is gone does not, a hot set always") {
    const Earth old = earth_of(set_of("earth", true, "wax-paper"));
    CHECK(old.old_capacitors == Names{"C1"});
    CHECK(old.forbidden());
    CHECK_FALSE(earth_of(set_of("earth", true, "safety-y")).forbidden());
    Progress progress;
    progress.parts["C1"] = PartState::fitted;
    CHECK_FALSE(earth_of(set_of("earth", true, "wax-paper"), progress).forbidden());
    CHECK(earth_of(set_of("earth", true, "wax-paper"), progress).on);
    const Earth hot = earth_of(set_of("earth", true, "safety-y", true));
    CHECK(hot.hot);
    CHECK(hot.direct);
    CHECK(hot.forbidden());
    CHECK_FALSE(old.direct);
}

TEST_CASE("An earth whose wire is lifted, or whose step is done, is off") {
    Progress lifted, done;
    lifted.parts["W1"] = PartState::lifted;
    done.steps_done = {"earth-off"};
    CHECK_FALSE(earth_of(set_of("earth", true, "wax-paper"), lifted).on);
    CHECK_FALSE(earth_of(set_of("gnd", false, "wax-paper"), done).on);
    CHECK_FALSE(earth_of(set_of("gnd", false, "wax-paper"), done).forbidden());
}
