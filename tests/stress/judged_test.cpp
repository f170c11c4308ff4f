// SPDX-License-Identifier: MIT
// Which limit is judged in which condition, and by what figure of it: what is not there bears nothing, two diodes in
// one bulb each bear their own, a section of a tapped heater has volts of its own, and between heater and cathode the
// crest counts. Limits are those of the catalogue, recalled.
#include <algorithm>
#include <cmath>
#include <map>

#include <catch2/catch.hpp>

#include <tubewright/netlist.hpp>
#include <tubewright/stress.hpp>

#include "bench/bench.hpp"

using namespace tubewright;

namespace {

const Catalogue& shipped() {
    static const Catalogue c = Catalogue::shipped();
    return c;
}

struct Judged {
    Chassis set;
    std::vector<Solution> solutions;
    std::vector<PartStress> rows;
    /// nullptr when the part has no such rating.
    const StressRating* rating(const std::string& id, const std::string& quantity, const std::string& lead = {}) const {
        for (const PartStress& row : rows)
            if (row.part == set.part(id) && (lead.empty() || row.lead == lead))
                for (const StressRating& one : row.ratings)
                    if (one.quantity == quantity) return &one;
        return nullptr;
    }
};

Judged judged(Outcome<Chassis> set, const std::vector<std::string>& conditions) {
    REQUIRE(set);
    Judged out{*set, {}, {}};
    const Policy policy;
    Outcome<Bench> bench = Bench::make(out.set, shipped(), policy);
    REQUIRE(bench);
    for (const std::string& text : conditions) {
        const Outcome<Condition> condition = Condition::parse(text);
        REQUIRE(condition);
        Outcome<Solution> solved = bench->solve(*condition);
        REQUIRE(solved);
        out.solutions.push_back(std::move(*solved));
    }
    out.rows = stress_of(out.set, shipped(), policy, out.solutions);
    return out;
}

Judged judged(const std::string& body, const std::vector<std::string>& conditions) {
    const std::string head =
        "<chassis version=\"1\" name=\"bench\" reference=\"bm\" m-means=\"million\" "
        "electrolytic=\"dry-electrolytic\">\n"
        "<line volts=\"117\" hertz=\"60\" hot=\"P1.1\" neutral=\"bm\"/>\n<plug id=\"P1\" role=\"line\"/>\n";
    return judged(read_chassis_text(head + body + "</chassis>", "bench.xml", shipped()), conditions);
}

Judged demo(const std::string& file, const std::vector<std::string>& conditions) {
    return judged(read_chassis(std::string(TUBEWRIGHT_ROOT) + "/netlists/" + file, shipped()), conditions);
}

/// Both diodes of a 25Z6 side by side on one filter, its heater behind a resistor.
const char* const side_by_side =
    "<socket id=\"V1\" tube=\"25Z6\"/>\n"
    "<resistor id=\"R9\" value=\"307\" watts=\"40\" a=\"P1.1\" b=\"V1.2\"/>\n"
    "<join at=\"V1.7 bm\"/>\n<join at=\"V1.3 V1.5 pa\"/>\n<join at=\"V1.4 V1.8 b1\"/>\n"
    "<resistor id=\"R1\" value=\"30\" watts=\"5\" a=\"P1.1\" b=\"pa\"/>\n"
    "<capacitor id=\"C1\" value=\"40 mfd\" volts=\"200\" plus=\"b1\" minus=\"bm\"/>\n"
    "<resistor id=\"R2\" value=\"1200\" watts=\"20\" a=\"b1\" b=\"bm\"/>\n";

/// A 35W4 and a 50C5 on a dropper, the dial lamp on the 35W4's tap and the plate fed from there.
const char* const string_of_two =
    "<socket id=\"V1\" tube=\"35W4\"/>\n<socket id=\"V2\" tube=\"50C5\"/>\n"
    "<join at=\"P1.1 V1.4\"/>\n<join at=\"V1.3 V2.4\"/>\n"
    "<resistor id=\"R9\" value=\"213\" watts=\"10\" a=\"V2.3\" b=\"bm\"/>\n"
    "<lamp id=\"DS1\" type=\"47\" a=\"V1.4\" b=\"V1.6\"/>\n<join at=\"V1.6 V1.5\"/>\n<join at=\"V1.7 b1\"/>\n"
    "<capacitor id=\"C1\" value=\"40 mfd\" volts=\"150\" plus=\"b1\" minus=\"bm\"/>\n"
    "<resistor id=\"R4\" value=\"200\" watts=\"2\" a=\"b1\" b=\"V2.7\"/>\n<join at=\"V2.6 b1\"/>\n"
    "<resistor id=\"R2\" value=\"470K\" watts=\"1/2\" a=\"V2.2\" b=\"bm\"/>\n<join at=\"V2.2 V2.5\"/>\n"
    "<resistor id=\"R3\" value=\"150\" watts=\"1\" a=\"V2.1\" b=\"bm\"/>\n";

}  // namespace

TEST_CASE("A pulled tube and lamps that are out bear nothing; what stays in its circuit does") {
    const Judged w = demo("s1-quarry-hill.xml", {"normal", "rectifier-out", "transformer-alone", "tube-out:V4"});
    const auto there = [&](const std::string& id, const std::string& scenario) {
        for (const PartStress& row : w.rows)
            if (row.part == w.set.part(id))
                for (const StressAt& at : row.scenarios)
                    if (at.scenario == scenario) return !at.absent;
        FAIL(id << " has no row in " << scenario);
        return false;
    };
    CHECK_FALSE(there("V4", "tube-out:V4"));
    CHECK(there("V3", "tube-out:V4"));
    CHECK_FALSE(there("V5", "rectifier-out"));
    CHECK_FALSE(there("V4", "transformer-alone"));
    CHECK_FALSE(there("DS1", "transformer-alone"));
    for (const PartStress& row : w.rows)
        for (const StressAt& at : row.scenarios)
            if (at.absent) CHECK(at.crest_volts + at.watts + at.peak_amps == 0);
    // with the rectifier out the lamps burn brighter: the winding has less to carry, and they are there
    const StressRating* lamp = w.rating("DS1", "lamp volts");
    REQUIRE(lamp != nullptr);
    CHECK(lamp->scenario == "rectifier-out");
    // the filament winding of the rectifier has its no-load volts in the test of the transformer by itself, and no
    // rectifier that could be held against them
    CHECK(w.rating("V5", "inverse volts")->scenario != "transformer-alone");
    CHECK(w.rating("V5", "inverse volts")->scenario != "rectifier-out");
}

TEST_CASE("Two diodes in one bulb are each held against the direct amperes of one, side by side too") {
    const Judged w = judged(side_by_side, {"normal"});
    for (const char* lead : {"p1.5", "p2.3"}) {
        INFO(lead);
        const StressRating* one = w.rating("V1", "dc amperes", lead);
        REQUIRE(one != nullptr);
        CHECK(one->rated == Approx(0.075));
        CHECK(one->stress == Approx(w.solutions[0].branch(w.set.part("V1"), lead)->dc.value()));
        CHECK(one->rating_over_stress > 1);
    }
    // both together carry more than one may: the sum is nobody's limit
    CHECK(w.rating("V1", "dc amperes", "p1.5")->stress + w.rating("V1", "dc amperes", "p2.3")->stress > 0.075);
    // the two plates of an 80 share the 125 mA of its row
    const Judged full = demo("s1-quarry-hill.xml", {"normal"});
    const StressRating* both = full.rating("V5", "dc amperes");
    REQUIRE(both != nullptr);
    CHECK(both->rated == Approx(0.125));
    CHECK(both->stress == Approx(full.solutions[0].branch(full.set.part("V5"), "p.2")->dc.value() +
                                 full.solutions[0].branch(full.set.part("V5"), "p.3")->dc.value()));
}

TEST_CASE("Every rectifier with two cathodes has its direct amperes by the plate") {
    for (const TubeType& type : shipped().tubes()) {
        if (!type.is_only_rectifier()) continue;
        const auto cathodes = std::count_if(type.pins.begin(), type.pins.end(), [](const Pin& pin) {
            return std::any_of(pin.electrodes.begin(), pin.electrodes.end(),
                               [](const std::string& name) { return name.starts_with("k"); });
        });
        const RectifierType* row = shipped().rectifier(type.type);
        INFO(type.type);
        if (row != nullptr) CHECK(row->dc_per_plate == (cathodes > 1));
    }
    // of signal diodes that are wired as rectifiers: 8 and 9 mA a plate (recalled)
    CHECK(shipped().tube("6H6")->max_cathode_amps == Approx(0.008));
    CHECK(shipped().tube("6AL5")->max_cathode_amps == Approx(0.009));
}

TEST_CASE(
    "An output section in the rectifier's bulb is held against its own watts, and the rectifier's plate alone against "
    "its row") {
    const Judged w = judged(
        "<socket id=\"V1\" tube=\"117L7\"/>\n<join at=\"V1.2 P1.1\"/>\n<join at=\"V1.7 bm\"/>\n"
        "<join at=\"V1.6 P1.1\"/>\n<join at=\"V1.1 b1\"/>\n"
        "<capacitor id=\"C1\" value=\"40 mfd\" volts=\"150\" plus=\"b1\" minus=\"bm\"/>\n"
        "<resistor id=\"R1\" value=\"200\" watts=\"2\" a=\"b1\" b=\"V1.3\"/>\n<join at=\"V1.4 b1\"/>\n"
        "<resistor id=\"R2\" value=\"470K\" watts=\"1/2\" a=\"V1.5\" b=\"bm\"/>\n"
        "<resistor id=\"R3\" value=\"150\" watts=\"1\" a=\"V1.8\" b=\"bm\"/>\n",
        {"normal"});
    const int tube = w.set.part("V1");
    const StressRating* direct = w.rating("V1", "dc amperes");
    REQUIRE(direct != nullptr);
    CHECK(direct->stress == Approx(w.solutions[0].branch(tube, "pr.6")->dc.value()));
    CHECK(w.rating("V1", "plate watts", "p.3") != nullptr);
    CHECK(w.rating("V1", "inverse volts", "p.3") == nullptr);
    CHECK(w.rating("V1", "inverse volts", "pr.6") != nullptr);
}

TEST_CASE("With its lamp burnt out the tapped section of a rectifier's heater bears the plate current besides") {
    const Judged w = judged(string_of_two, {"normal", "dial-lamp-out:DS1"});
    const StressRating* section = w.rating("V1", "heater section volts", "h.4");
    REQUIRE(section != nullptr);
    CHECK(section->rated == Approx(7.5 * 1.1));  // 7.5 V of its 35, recalled
    CHECK(section->scenario == "dial-lamp-out:DS1");
    CHECK(section->rating_over_stress < 1);
    const Branch* out = w.solutions[1].branch(w.set.part("V1"), "h.4");
    const Branch* rest = w.solutions[1].branch(w.set.part("V1"), "h.3");
    REQUIRE(out != nullptr);
    REQUIRE(rest != nullptr);
    CHECK(section->stress == Approx(std::hypot(out->volts_dc.value(), out->volts_rms.value())));
    // no lamp is beside it: heater and plate current both pass the section, the heater's alone the rest
    CHECK(out->rms.value() > 1.2 * rest->rms.value());
    // with the lamp beside it it stays under its volts
    const Branch* lit = w.solutions[0].branch(w.set.part("V1"), "h.4");
    CHECK(std::hypot(lit->volts_dc.value(), lit->volts_rms.value()) < 7.5);
    // the rest of its heater is judged with the whole
    CHECK(w.rating("V1", "heater section volts", "h.3") == nullptr);
    CHECK(w.rating("V1", "heater volts") != nullptr);
    // 60 mA with a lamp and no shunt beside it, recalled
    CHECK(w.rating("V1", "dc amperes with its lamp")->rated == Approx(0.06));
}

TEST_CASE("Between heater and cathode the crest counts, not the mean") {
    const Judged w = judged(string_of_two, {"normal"});
    const Solution& solved = w.solutions[0];
    // the 50C5: its hot end swings, its cathode's few volts stand against that
    const NetVolts& hot = solved.at(w.set, "V2.4");
    const StressRating* of = w.rating("V2", "heater-cathode volts");
    REQUIRE(of != nullptr);
    const double cathode = solved.at(w.set, "V2.1").dc.value();
    CHECK(hot.crest.value() == Approx(std::sqrt(2.0) * hot.rms.value()).epsilon(0.05));
    CHECK(of->stress >= -hot.trough.value() + cathode - 2);
    CHECK(of->stress <= -hot.trough.value() + solved.at(w.set, "V2.1").crest.value() + 0.1);
    // what a rectifier's cathode holds, and the line's other crest, come at once
    const StressRating* rectifier = w.rating("V1", "heater-cathode volts");
    REQUIRE(rectifier != nullptr);
    const double held = solved.at(w.set, "b1").trough.value();
    CHECK(rectifier->stress > held + 0.98 * std::sqrt(2.0) * 117);
    CHECK(rectifier->stress < solved.at(w.set, "b1").crest.value() + std::sqrt(2.0) * 117 + 0.1);
}

TEST_CASE("Behind the gap of a pulled tube the heaters of a string are cold, and no rating of hot ones is for them") {
    const Judged w = judged(string_of_two, {"normal", "tube-out:V2"});
    // the whole line stands between the 35W4's heater and its cathode
    const auto far = std::find_if(w.solutions[1].heater_cathode.begin(), w.solutions[1].heater_cathode.end(),
                                  [&](const HeaterCathode& pair) { return pair.part == w.set.part("V1"); });
    REQUIRE(far != w.solutions[1].heater_cathode.end());
    CHECK(std::fabs(far->volts.value()) > 150);
    CHECK(w.rating("V1", "heater-cathode volts")->scenario == "normal");
}

TEST_CASE("Halves of a heater side by side are judged with the whole, not each again") {
    const Judged w = demo("s9-bellows-court.xml", {"normal"});
    REQUIRE(w.rating("V1", "heater volts") != nullptr);
    CHECK(w.rating("V1", "heater section volts") == nullptr);
}

TEST_CASE("Of a heater across the line the direct volts to its cathode are what the row limits") {
    const Judged w = judged(
        "<socket id=\"V1\" tube=\"117Z3\"/>\n<join at=\"V1.3 V1.5 P1.1\"/>\n<join at=\"V1.4 bm\"/>\n"
        "<capacitor id=\"C1\" value=\"40 mfd\" volts=\"150\" plus=\"V1.6\" minus=\"bm\"/>\n"
        "<resistor id=\"R1\" value=\"1500\" watts=\"20\" a=\"V1.6\" b=\"bm\"/>\n",
        {"normal"});
    const StressRating* direct = w.rating("V1", "heater-cathode direct volts");
    REQUIRE(direct != nullptr);
    CHECK(direct->rated == 175);
    CHECK(direct->stress == Approx(w.solutions[0].at(w.set, "V1.6").dc.value()).epsilon(1e-6));
    CHECK(w.rating("V1", "heater-cathode volts") == nullptr);
}

TEST_CASE("Of the first second volts are judged, amperes and watts are not") {
    const Judged w = demo("s1-quarry-hill.xml", {"switch-on"});
    for (const PartStress& row : w.rows)
        for (const StressRating& one : row.ratings) {
            INFO(w.set.parts()[static_cast<std::size_t>(row.part)].id << " " << one.quantity);
            CHECK(one.unit == 'V');
            CHECK(one.quantity != "lamp volts");
        }
    REQUIRE(w.rating("C1.plain", "volts") != nullptr);
    CHECK(w.rating("C1.plain", "volts")->stress > 300);
    // cold heaters do draw several times their amperes: that is no overload
    const Judged running = demo("s1-quarry-hill.xml", {"normal"});
    const int winding = w.set.part("T1");
    CHECK(w.solutions[0].branch(winding, "heater")->rms.value() >
          3 * running.solutions[0].branch(winding, "heater")->rms.value());
}
