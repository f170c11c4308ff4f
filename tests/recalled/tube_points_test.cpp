// SPDX-License-Identifier: MIT
// Recalled: the rows of the catalogue's operating points. Most are from memory and a few as quoted; they are what
// constants were derived from, so this shows that the derivation holds them, not that they are true.
#include <algorithm>
#include <cmath>
#include <cstdio>

#include <tubewright/tubes.hpp>

#include <catch2/catch.hpp>

using namespace tubewright;

namespace {
double median(std::vector<double> values) {
    REQUIRE_FALSE(values.empty());
    std::nth_element(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2), values.end());
    return values[values.size() / 2];
}
}  // namespace

TEST_CASE("recalled: the laws give back every row that their constants were derived from") {
    const Catalogue catalogue = Catalogue::shipped();
    std::vector<double> plate, gm;
    std::size_t used = 0, flagged = 0, text = 0;
    for (const TubeType& t : catalogue.tubes()) {
        const auto m = tube_model(t, catalogue);
        if (!m) continue;
        for (const SectionModel& s : m->sections) {
            // The two units of a twin tube carry the same rows.
            if (s.checks.empty() || (s.section.size() > 2 && s.section.substr(s.section.size() - 2) == " 2")) continue;
            for (const PointCheck& c : s.checks) {
                INFO(t.type << ' ' << c.listed.plate_volts.value_or(0) << " V " << c.listed.grid_volts.value_or(0)
                            << " V: " << c.plate_amps);
                if (!c.used) {
                    CHECK_FALSE(c.flag.empty());
                    if (c.flag.rfind("set aside", 0) == 0) {
                        ++flagged;
                        CHECK(c.flag.find("curve fit") != std::string::npos);
                    } else {
                        ++text;
                    }
                    continue;
                }
                ++used;
                plate.push_back(std::abs(c.plate_amps / *c.listed.plate_amps - 1));
                CHECK(plate.back() < 0.10);
                if (c.listed.gm_siemens) gm.push_back(std::abs(c.gm_siemens / *c.listed.gm_siemens - 1));
            }
        }
    }
    INFO(used << " used, " << flagged << " set aside, " << text << " as text; median Ip " << median(plate) << ", gm "
              << median(gm));
    CHECK(used >= 240);
    CHECK(median(plate) < 0.01);
    CHECK(median(gm) < 0.05);
    CHECK(flagged * 50 <= used + flagged);
}

TEST_CASE("recalled: rectifiers drop what their rows say") {
    const Catalogue catalogue = Catalogue::shipped();
    int checked = 0;
    for (const RectifierType& r : catalogue.rectifiers()) {
        if (!r.drop_volts || !r.drop_amps || r.gas) continue;
        const TubeType* t = catalogue.tube(r.type);
        REQUIRE(t != nullptr);
        const auto m = tube_model(*t, catalogue);
        REQUIRE(m);
        INFO(r.type);
        CHECK(currents_at(m->sections.front(), volts(*r.drop_volts), volts(0), volts(0)).plate_amps ==
              Approx(*r.drop_amps).epsilon(1e-3));
        ++checked;
    }
    CHECK(checked >= 27);
}

TEST_CASE("recalled: a textbook law of the 6F6 as a triode, 41 uA (Vp + 7 Vg)^1.41") {
    // The law itself gives 31.0 mA, 2518 ohm and 2.78 mA/V at 250 V, -20 V.
    const Catalogue catalogue = Catalogue::shipped();
    const SectionModel s = tube_model(*catalogue.tube("6F6"), catalogue)->sections.front();
    const auto both = [&](double plate, double grid) {
        const TubeCurrents c = currents_at(s, volts(plate), volts(plate), volts(grid));
        return c.plate_amps + c.screen_amps;
    };
    CHECK(both(250, -20) == Approx(31.0e-3).epsilon(0.03));
    CHECK((both(250, -19.9) - both(250, -20.1)) / 0.2 == Approx(2.78e-3).epsilon(0.10));
    CHECK(2 / (both(251, -20) - both(249, -20)) == Approx(2518).epsilon(0.10));
}

TEST_CASE("recalled: a remote cut-off pentode of the 78 kind still has some microsiemens at -40 V") {
    // From memory of tube manuals: 2 uS at 250 V, 125 V, -42.5 V. No row of the catalogue reaches below -3 V.
    const Catalogue catalogue = Catalogue::shipped();
    for (const char* type : {"78", "6K7"}) {
        const SectionModel s = tube_model(*catalogue.tube(type), catalogue)->sections.front();
        const double gm = currents_at(s, volts(250), volts(125), volts(-42.5)).gm_siemens;
        INFO(type << ": " << gm * 1e6 << " uS");
        CHECK(gm > 0.5e-6);
        CHECK(gm < 40e-6);
    }
}
