// SPDX-License-Identifier: MIT
// Handbook rates against vectors worked by hand from the transcribed formulas (derived, not read in the handbook), the
// age law and the findings against what their declarations say.
#include <tubewright/ageing.hpp>

#include <cmath>

#include <catch2/catch.hpp>

using namespace tubewright;

namespace {

const Catalogue& shipped() {
    static const Catalogue c = Catalogue::shipped();
    return c;
}
Rate rate_of(const char* key) {
    const Rate* r = shipped().rate(key);
    REQUIRE(r != nullptr);
    return *r;
}
Part capacitor(double farads) {
    Part p;
    p.id = "C1";
    p.kind = PartKind::capacitor;
    p.farads = farads;
    return p;
}
const Construction& made(const char* key) {
    const Construction* c = shipped().construction(key);
    REQUIRE(c != nullptr);
    return *c;
}
double share(const AgeRisk& r, const std::string& mode) {
    for (const ModeShare& m : r.modes)
        if (m.mode == mode) return m.alpha;
    return 0;
}
double factor_sum(const AgeRisk& r) {
    double product = 1;
    for (const LikelihoodFactor& f : r.factors) product *= f.factor;
    return product;
}

}  // namespace

TEST_CASE("Handbook rates come out to four digits (derived vectors)") {
    // commercial quality, ground benign, as the catalogue's rows have it
    CHECK(handbook_rate(rate_of("capacitor-paper"), .8, 50, .05e-6) == Approx(0.02315).epsilon(5e-4));
    CHECK(handbook_rate(rate_of("capacitor-electrolytic"), .9, 50, 16e-6) == Approx(0.05604).epsilon(5e-4));
    CHECK(handbook_rate(rate_of("resistor-composition"), .5, 60, .5) == Approx(0.04405).epsilon(5e-4));
}

TEST_CASE("At 25 C and no stress a capacitor of one microfarad has its base rate times quality") {
    const Rate r = rate_of("capacitor-mica");
    CHECK(handbook_rate(r, 0, 25, 1e-6) == Approx(r.base * r.quality * r.environment));
}

TEST_CASE("Tubes, sockets and lamps follow their own formulas") {
    CHECK(handbook_rate(rate_of("tube-receiving"), 0, 60, 0) == Approx(2.5));
    CHECK(handbook_rate(rate_of("tube-rectifier"), 0, 60, 0) == Approx(5.0));
    CHECK(handbook_rate(rate_of("tube-socket"), 0, 40, 6) == Approx(.011 * std::exp(std::pow(.5, .39))));
    CHECK(handbook_rate(rate_of("lamp"), 0, 40, 6.3) == Approx(.074 * std::pow(6.3, 1.29) * .72));
}

TEST_CASE("More volts, more heat and more years never make a paper capacitor safer") {
    const Rate r = rate_of("capacitor-paper");
    double before = 0;
    for (double s = 0; s <= 1; s += .1) {
        const double now = handbook_rate(r, s, 40, .1e-6);
        CHECK(now >= before);
        before = now;
    }
    before = 0;
    for (int year = 1936; year <= 2026; year += 10) {
        const double now =
            age_risk(capacitor(.05e-6), made("wax-paper"), shipped(), 1936, year, .5, 40).failures_per_million_hours;
        CHECK(now >= before);
        before = now;
    }
}

TEST_CASE("The declared age law doubles the hazard every half of the median life and says that it has no source") {
    const Construction& wax = made("wax-paper");
    const AgeRisk fresh = age_risk(capacitor(.05e-6), wax, shipped(), 1936, 1936, .5, 40);
    const AgeRisk later =
        age_risk(capacitor(.05e-6), wax, shipped(), 1936, 1936 + static_cast<int>(wax.median_years), .5, 40);
    CHECK(later.failures_per_million_hours / fresh.failures_per_million_hours == Approx(4));
    CHECK(later.age_law.find("no source") != std::string::npos);
    CHECK(fresh.likelihood == "seldom");
}

TEST_CASE("A stress above the rating is clamped and flagged") {
    const AgeRisk at_one = age_risk(capacitor(.05e-6), made("wax-paper"), shipped(), 1936, 2026, 1, 40);
    const AgeRisk above = age_risk(capacitor(.05e-6), made("wax-paper"), shipped(), 1936, 2026, 1.7, 40);
    CHECK_FALSE(at_one.stress_clamped);
    CHECK(above.stress_clamped);
    CHECK(above.failures_per_million_hours == Approx(at_one.failures_per_million_hours));
}

TEST_CASE("Shares of the modes sum to one and paper leaks more often than it shorts") {
    for (const Construction& c : shipped().constructions()) {
        const AgeRisk r = age_risk(capacitor(.05e-6), c, shipped(), 1936, 2026, .5, 40);
        if (r.modes.empty()) continue;
        double sum = 0;
        for (const ModeShare& m : r.modes) sum += m.alpha;
        INFO(c.key);
        CHECK(sum == Approx(1));
    }
    const AgeRisk wax = age_risk(capacitor(.05e-6), made("wax-paper"), shipped(), 1936, 2026, .5, 40);
    CHECK(share(wax, "leak") + share(wax, "short") == Approx(.63));
    CHECK(share(wax, "leak") == Approx(.63 * .8));
    CHECK(share(wax, "open") == Approx(.37));
}

TEST_CASE("Every kind of part that the trade has a rule of age for has its class: what to do, why, how to prove it") {
    // the trade's own list, common practice: always replaced; proved first; left alone; never touched unless proved bad
    const std::pair<const char*, const char*> list[] = {
        {"wax-paper", "replace"},
        {"moulded-paper", "replace"},
        {"stamp-paper", "replace"},
        {"block-paper", "replace"},
        {"tar-pack", "replace"},
        {"oil-paper", "measure"},
        {"dry-electrolytic", "replace"},
        {"wet-electrolytic", "replace"},
        {"mica", "leave"},
        {"silver-mica-if", "measure"},
        {"ceramic", "leave"},
        {"carbon-composition", "measure"},
        {"wirewound", "measure"},
        {"metal-clad", "measure"},
        {"line-cord", "replace"},
        {"resistance-cord", "replace"},
        {"rubber", "replace"},
        {"cloth", "leave"},
        {"carbon-control", "measure"},
        {"wafer-switch", "measure"},
        {"rf-coil", "never-disturb"},
        {"if-transformer", "never-disturb"},
        {"output-transformer", "measure"},
        {"power-transformer", "measure"},
        {"interstage-transformer", "measure"},
        {"field-coil", "measure"},
        {"vibrator", "measure"},
        {"selenium", "replace"},
        {"dial-lamp", "measure"},
        {"receiving-tube", "measure"},
        {"rectifier-tube", "measure"},
        {"tube-socket", "measure"},
        {"eye-tube", "measure"},
        {"loop", "leave"},
        {"buffer-paper", "replace"},
    };
    for (const auto& [key, action] : list) {
        INFO(key);
        const Construction& c = made(key);
        CHECK(c.action == action);
        CHECK(c.reason.size() > 10);
        CHECK(c.test.size() > 3);
        const AgeRisk risk = age_risk(capacitor(.05e-6), c, shipped(), 1936, 2026, .5, 40);
        CHECK(risk.failures_per_million_hours > 0);
        CHECK(risk.age_law.rfind("declared, no source", 0) == 0);
        CHECK_FALSE(risk.base_rate_source.empty());
        CHECK_FALSE(risk.modes.empty());
    }
}

TEST_CASE("Findings and a later replacement move the likelihood, and the printed factors are its whole way") {
    const Construction& dry = made("dry-electrolytic");
    Part old = capacitor(8e-6);
    Part newer = old;
    newer.since = 2016;
    Part bulged = newer;
    bulged.seen = "bulged";
    const AgeRisk a = age_risk(old, dry, shipped(), 1936, 2026, .7, 50);
    const AgeRisk b = age_risk(newer, dry, shipped(), 1936, 2026, .7, 50);
    const AgeRisk c = age_risk(bulged, dry, shipped(), 1936, 2026, .7, 50);
    CHECK(a.likelihood == "bad for certain");
    CHECK((b.likelihood == "possible" || b.likelihood == "seldom"));
    CHECK(c.likelihood == "bad for certain");
    CHECK(a.failures_per_million_hours > b.failures_per_million_hours);
    CHECK(c.failures_per_million_hours > b.failures_per_million_hours);
    const double handbook = handbook_rate(rate_of("capacitor-electrolytic"), .7, 50, 8e-6);
    CHECK(c.failures_per_million_hours == Approx(handbook * factor_sum(c)));
}

TEST_CASE("What was found raises the rate of that mode alone, so that an open part is not feared for its short") {
    const Part sound = capacitor(10e-6);
    Part open_bypass = sound;
    open_bypass.seen = "open";
    const AgeRisk before = age_risk(sound, made("dry-electrolytic"), shipped(), 1936, 2026, .5, 40);
    const AgeRisk r = age_risk(open_bypass, made("dry-electrolytic"), shipped(), 1936, 2026, .5, 40);
    const auto rate = [](const AgeRisk& risk, const char* mode) {
        return share(risk, mode) * risk.failures_per_million_hours;
    };
    CHECK(rate(r, "open") == Approx(1000 * rate(before, "open")));
    for (const char* mode : {"short", "leak", "drift"}) CHECK(rate(r, mode) == Approx(rate(before, mode)));
    CHECK(share(r, "open") + share(r, "short") + share(r, "leak") + share(r, "drift") == Approx(1));
    CHECK(r.failures_per_million_hours ==
          Approx(before.failures_per_million_hours * factor_sum(r) / factor_sum(before)));
    CHECK(r.likelihood == "bad for certain");
}

TEST_CASE("A scorched resistor has drifted; a scorched capacitor may have failed in any way") {
    Part r;
    r.kind = PartKind::resistor;
    r.seen = "burnt";
    CHECK(share(age_risk(r, made("carbon-composition"), shipped(), 1936, 2026, .5, 40), "drift") > .99);
    Part c = capacitor(8e-6);
    c.seen = "burnt";
    CHECK(share(age_risk(c, made("dry-electrolytic"), shipped(), 1936, 2026, .5, 40), "short") == Approx(.53));
}

TEST_CASE("A tube that leaks leaks from heater to cathode, and no plate is feared for it") {
    Part tube;
    tube.kind = PartKind::socket;
    const AgeRisk before = age_risk(tube, made("rectifier-tube"), shipped(), 1956, 2026, .5, 40);
    tube.seen = "leaking";
    const AgeRisk r = age_risk(tube, made("rectifier-tube"), shipped(), 1956, 2026, .5, 40);
    const auto rate = [](const AgeRisk& risk, const char* mode) {
        return share(risk, mode) * risk.failures_per_million_hours;
    };
    CHECK(rate(r, "heater-cathode-leak") > 100 * rate(before, "heater-cathode-leak"));
    CHECK(rate(r, "grid-cathode-short") == Approx(rate(before, "grid-cathode-short")));
}

TEST_CASE(
    "What was found leaking ends as a short: a pack, a buffer or a heater is feared for it, and for nothing else") {
    const auto rate = [](const AgeRisk& risk, const char* mode) {
        return share(risk, mode) * risk.failures_per_million_hours;
    };
    for (const char* construction : {"tar-pack", "buffer-paper", "rectifier-tube"}) {
        INFO(construction);
        const bool tube = made(construction).kind == "tube";
        Part sound = capacitor(2e-6);
        if (tube) sound.kind = PartKind::socket;
        Part leaking = sound;
        leaking.seen = "leaking";
        const AgeRisk before = age_risk(sound, made(construction), shipped(), 1929, 2026, .5, 40);
        const AgeRisk r = age_risk(leaking, made(construction), shipped(), 1929, 2026, .5, 40);
        CHECK(rate(r, tube ? "heater-cathode-short" : "short") ==
              Approx(30 * rate(before, tube ? "heater-cathode-short" : "short")));
        CHECK(rate(r, tube ? "heater-cathode-leak" : "leak") ==
              Approx(300 * rate(before, tube ? "heater-cathode-leak" : "leak")));
        const char* other = tube ? "weak" : "open";
        CHECK(rate(r, other) == Approx(rate(before, other)));
        double sum = 0;
        for (const ModeShare& m : r.modes) sum += m.alpha;
        CHECK(sum == Approx(1));
    }
}

TEST_CASE("A set without a year is taken as eighty years old and says so") {
    const AgeRisk r = age_risk(capacitor(.05e-6), made("wax-paper"), shipped(), 0, 2026, .5, 40);
    bool said = false;
    for (const LikelihoodFactor& f : r.factors) said = said || f.why.find("not known") != std::string::npos;
    CHECK(said);
    CHECK(r.likelihood == "bad for certain");
}

TEST_CASE("Aged insulation is megohm-microfarads over the value, and nothing where the table has none") {
    CHECK(aged_leak_ohms(capacitor(.05e-6), made("wax-paper")) ==
          Approx(*made("wax-paper").aged_megohm_microfarads / .05 * 1e6));
    CHECK(aged_leak_ohms(capacitor(8e-6), made("dry-electrolytic")) == 0);
    Part unknown = capacitor(0);
    unknown.farads.reset();
    CHECK(aged_leak_ohms(unknown, made("wax-paper")) == 0);
}

TEST_CASE("A lamp is a consumable: no older than its service life, unless the file dates it") {
    Part lamp;
    lamp.id = "DS1";
    lamp.kind = PartKind::lamp;
    lamp.rated_volts = 6.3;
    const Construction& c = made("dial-lamp");
    const AgeRisk undated = age_risk(lamp, c, shipped(), 1936, 2024, 0, 40);
    const AgeRisk at_life = age_risk(lamp, c, shipped(), 2024 - static_cast<int>(c.median_years), 2024, 0, 40);
    CHECK(undated.failures_per_million_hours == Approx(at_life.failures_per_million_hours));
    CHECK(undated.factors.front().factor == Approx(4));
    lamp.since = 2020;
    const AgeRisk dated = age_risk(lamp, c, shipped(), 1936, 2024, 0, 40);
    CHECK(dated.failures_per_million_hours < undated.failures_per_million_hours);
    CHECK(factor_sum(undated) == Approx(4));
}
