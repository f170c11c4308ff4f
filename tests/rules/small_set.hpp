// SPDX-License-Identifier: MIT
// A one-tube amplifier with everything that the rules are about: transformer set, directly heated rectifier, field in
// the speaker, coupler, line capacitor, buzz capacitor across a plate half, a burnt screen resistor and the bypass that
// burnt it.
#pragma once

#include <string>
#include <vector>

#include <tubewright/chassis.hpp>
#include <tubewright/rules.hpp>

namespace small_set {

using namespace tubewright;

inline Part part(PartKind kind, const std::string& id) {
    Part p;
    p.kind = kind;
    p.id = id;
    return p;
}

inline PartWinding winding(WindingRole role, std::vector<int> leads, std::vector<double> ohms) {
    PartWinding w;
    w.role = role;
    w.leads = std::move(leads);
    w.ohms = std::move(ohms);
    return w;
}

/// safe_line: the line capacitor stands from line to line, not to the chassis. tied: a blade is tied to the chassis (a
/// hot set). leads: the dial lamp, a plate of the rectifier and B-plus come over wires of their own. fused: F1 is
/// there; else a wire. paper: what its capacitors of paper's values are. seen: of the wire W2. earth: the net that is
/// earth; when it is not the chassis, the wire W6 joins them.
inline Chassis make(const Catalogue& catalogue, bool safe_line = false, bool tied = false, bool leads = false,
                    bool fused = true, const std::string& paper = "wax-paper", const std::string& seen = "",
                    const std::string& earth = "") {
    ChassisBuilder b("small set");
    b.default_for("paper", paper);
    b.default_for("electrolytic", "dry-electrolytic");
    b.default_for("wire", "rubber");
    b.line(volts(117), hertz(60), "P1.1", "P1.2");
    b.reference("gnd");
    b.node("chassis-metal", "gnd", true);
    if (!earth.empty()) b.node("earth", earth, false);
    Part bond = part(PartKind::wire, "W6");
    bond.ohms = 0.1;  // a wire of no ohms would make one net of both
    if (!earth.empty() && earth != "gnd") b.add(bond, {{"a", "gnd"}, {"b", earth}});
    Part plug = part(PartKind::plug, "P1");
    plug.role = "line";
    b.add(plug, {});
    Part cord = part(PartKind::cord, "W1");
    cord.seen = "cracked";
    b.add(cord, {});
    Part sw = part(PartKind::power_switch, "S1");
    b.add(sw, {{"a", "P1.1"}, {"b", "switched"}});
    b.add(part(fused ? PartKind::fuse : PartKind::wire, "F1"), {{"a", "switched"}, {"b", "fused"}});
    Part lead = part(PartKind::wire, "W2");
    lead.seen = seen;
    b.add(lead, {{"a", "fused"}, {"b", "primary"}});
    b.capacitor("C1", farads(1e-8), "fused", safe_line ? "P1.2" : "gnd");
    Part t = part(PartKind::transformer, "T1");
    t.role = "power";
    t.rated_va = 60;
    t.windings = {winding(WindingRole::primary, {0, 1}, {8}), winding(WindingRole::plate, {2, 3, 4}, {180, 200}),
                  winding(WindingRole::rectifier_heater, {5, 6}, {0.1}), winding(WindingRole::heater, {7, 8}, {0.1})};
    t.windings[0].volts = 117;
    t.windings[1].noload_volts = {330, 330};
    t.windings[2].volts = 5;
    t.windings[3].volts = 6.3;
    b.add(t, {{"primary.1", "primary"},
              {"primary.2", tied ? "gnd" : "P1.2"},
              {"plate.1", "V2.2"},
              {"plate.2", "gnd"},
              {"plate.3", leads ? "plate_lead" : "V2.3"},
              {"rectifier.1", "V2.1"},
              {"rectifier.2", "V2.4"},
              {"heater.1", "heaters"},
              {"heater.2", "gnd"}});
    if (tied) b.join({"P1.2", "gnd"});
    b.socket("V2", "80");
    b.capacitor("C9", farads(1e-8), "V2.2", "gnd");
    b.electrolytic("C2", farads(8e-6), volts(475), "V2.1", "gnd");
    b.electrolytic("C3", farads(8e-6), volts(450), "bplus", "gnd");
    Part field = part(PartKind::coil, "L1");
    field.role = "field";
    field.henries = 12;
    field.ohms = 1200;
    field.plug = "speaker";
    b.add(field, {{"a", "V2.1"}, {"b", "bplus"}});
    b.socket("V1", "42");
    b.join({"heaters", "V1.1"});
    b.join({"gnd", "V1.6"});
    b.resistor("R1", ohms(250e3), "bplus", "driver");
    b.capacitor("C4", farads(2e-8), "driver", "V1.4");
    b.resistor("R2", ohms(500e3), "V1.4", "gnd");
    b.resistor("R3", ohms(410), "V1.5", "gnd");
    b.electrolytic("C5", farads(10e-6), volts(25), "V1.5", "gnd");
    Part burnt = part(PartKind::resistor, "R4");
    burnt.ohms = 15e3;
    burnt.seen = "burnt";
    b.add(burnt, {{"a", "bplus"}, {"b", "V1.3"}});
    b.capacitor("C6", farads(1e-7), "V1.3", "gnd");
    b.capacitor("C7", farads(6e-9), "V1.2", "gnd");
    b.capacitor("C8", farads(5e-8), "avc", "gnd");  // neither loads the supply nor lifts a grid
    b.resistor("R5", ohms(1e6), "avc", "gnd");
    Part out = part(PartKind::transformer, "T2");
    out.role = "output";
    out.plug = "speaker";
    out.windings = {winding(WindingRole::output_primary, {0, 1}, {400}),
                    winding(WindingRole::output_secondary, {2, 3}, {0.4})};
    out.windings[0].impedance_ohms = 7000;
    b.add(out, {{"primary.1", "V1.2"}, {"primary.2", "bplus"}, {"secondary.1", "voice"}, {"secondary.2", "gnd"}});
    Part speaker = part(PartKind::speaker, "LS1");
    speaker.ohms = 3.2;
    speaker.plug = "speaker";
    b.add(speaker, {{"a", "voice"}, {"b", "gnd"}});
    Part lamp = part(PartKind::lamp, "DS1");
    lamp.lamp_type = "44";
    b.add(lamp, {{"a", leads ? "pilot" : "heaters"}, {"b", "gnd"}});
    if (leads) {
        b.add(part(PartKind::wire, "W3"), {{"a", "plate_lead"}, {"b", "V2.3"}});
        b.add(part(PartKind::wire, "W4"), {{"a", "bplus"}, {"b", "tap"}});
        b.resistor("R6", ohms(50e3), "tap", "gnd");
        b.add(part(PartKind::wire, "W5"), {{"a", "heaters"}, {"b", "pilot"}});
    }
    Outcome<Chassis> set = b.build(catalogue);
    if (!set) {
        std::string all;
        for (const Notice& n : set.notices()) all += n.message + "\n";
        throw Error(all);
    }
    return *set;
}

/// From the found set to hand-back without a broken rule.
inline std::vector<Act> lawful() {
    using K = ActKind;
    return {
        {K::check_supply, {}, "", 0},
        {K::make_cord_safe, {"W1"}, "", 0},
        {K::settle_reference, {}, "", 0},
        {K::discharge, {}, "", 0},
        {K::photograph, {}, "", 0},
        {K::cold_ohms, {"T1", "T2", "L1"}, "", 0},
        {K::inspect, {"P1", "S1", "F1", "W2", "DS1"}, "", 0},
        {K::remove, {"V1", "V2", "DS1"}, "", 0},
        {K::test_tube, {"V1", "V2"}, "", 0},
        {K::buy, {"W1", "C1", "C9"}, "", 0},
        {K::fit, {"W1"}, "", 0},
        {K::inspect, {"W1"}, "", 0},
        {K::fit, {"C1", "C9"}, "", 0},
        {K::inspect, {"C1", "C9"}, "", 0},
        {K::power_transformer_alone, {"T1"}, "", 5},
        {K::power_transformer_alone, {"T1"}, "", 30},
        {K::discharge, {}, "", 0},
        {K::buy, {}, "", 0},
        {K::fit, {"C2", "C3"}, "", 0},
        {K::trace_polarity, {"C2", "C3"}, "", 0},
        {K::fit, {"C4"}, "", 0},
        {K::inspect, {"C4"}, "", 0},
        {K::find_cause, {"R4", "C6"}, "", 0},
        {K::fit, {"R4", "C6", "C7", "C8"}, "", 0},
        {K::inspect, {"R4", "C6", "C7", "C8"}, "", 0},
        {K::fit, {"C5"}, "", 0},
        {K::trace_polarity, {"C5"}, "", 0},
        {K::measure, {"R2", "R3", "R1", "R5"}, "", 0},
        {K::plug_speaker, {"LS1"}, "", 0},
        {K::measure, {"T2", "L1"}, "", 0},
        {K::cold_ohms, {}, "", 0},
        {K::refit_tube, {"V1", "DS1"}, "", 0},
        {K::power_heaters, {}, "", 5},
        {K::discharge, {}, "", 0},
        {K::refit_tube, {"V2"}, "", 0},
        {K::power_b_plus, {}, "", 5},
        {K::discharge, {}, "", 0},
        {K::power_full_line, {}, "", 15},
        {K::log_volts, {}, "", 0},
        {K::discharge, {}, "", 0},
        {K::align, {}, "", 30},
        {K::soak, {}, "", 60},
        {K::discharge, {}, "", 0},
        {K::check_touch_current, {}, "cold", 0},
        {K::check_touch_current, {}, "47 k", 0},
        {K::check_touch_current, {}, "network", 0},
        {K::reassemble, {}, "", 0},
        {K::hand_back, {}, "", 0},
    };
}

}  // namespace small_set
