// SPDX-License-Identifier: MIT
#include <cmath>
#include <map>
#include <set>

#include <tubewright/catalogue.hpp>

#include <catch2/catch.hpp>

#include "terms/csv.hpp"

using namespace tubewright;

namespace {
const Catalogue& catalogue() {
    static const Catalogue shipped = Catalogue::shipped();
    return shipped;
}
}  // namespace

TEST_CASE("Every row of every table loads and ends in source and provenance") {
    const auto records = [](const char* name) { return read_csv(catalogue().table(name), name)->records.size(); };
    CHECK(catalogue().tubes().size() == records("tubes"));
    CHECK(catalogue().points().size() == records("operating_points"));
    CHECK(catalogue().rectifiers().size() == records("rectifiers"));
    CHECK(catalogue().tubes().size() >= 177);
    CHECK(catalogue().points().size() >= 267);
    CHECK(catalogue().rectifiers().size() >= 34);
    for (const std::string& name : catalogue().table_names()) {
        INFO(name);
        const auto t = read_csv(catalogue().table(name), name);
        REQUIRE(t);
        REQUIRE(t->header.size() >= 3);
        CHECK(t->header[t->header.size() - 2] == "source");
        CHECK(t->header.back() == "provenance");
        for (std::size_t k = 0; k < t->records.size(); ++k) {
            CHECK_FALSE(t->text(k, t->column("source")).empty());
            CHECK_FALSE(t->text(k, t->column("provenance")).empty());
        }
    }
    CHECK(catalogue().table("no such table").empty());
}

TEST_CASE("Units of the trade end at the door") {
    const TubeType* t = catalogue().tube("42");
    REQUIRE(t != nullptr);
    CHECK(t->heater_volts == 6.3);
    CHECK(t->heater_amps == 0.65);
    CHECK_FALSE(t->directly_heated);
    CHECK(t->max_plate_watts == 11.0);
    const auto points = catalogue().points_of(*t);
    REQUIRE(points.size() == 3);
    CHECK(points[0].plate_amps.value() == Approx(0.034));
    CHECK(points[0].gm_siemens.value() == Approx(0.0025));
    CHECK(points[0].grid_volts == -16.5);
    const RectifierType* r = catalogue().rectifier("80");
    REQUIRE(r != nullptr);
    CHECK(r->drop_volts == 60.0);
    CHECK(r->drop_amps.value() == Approx(0.125));
    CHECK(r->min_supply_ohms_per_plate == 50.0);
    CHECK(r->max_first_filter_farads.value() == Approx(20e-6));
    CHECK_FALSE(r->gas);
    CHECK(catalogue().rectifier("83")->gas);
    CHECK(catalogue().rectifier("0Z4")->gas);
    CHECK_FALSE(catalogue().rectifier("83V")->gas);
    CHECK(catalogue().rectifier("5AR4")->max_first_filter_farads.value() == Approx(60e-6));
}

TEST_CASE("Provenance is kept, a row is graded by the worst it mixes, a point by its plate current") {
    CHECK(catalogue().rectifier("83V")->source.provenance == Provenance::recalled);  // its drop alone is checked
    CHECK(catalogue().tube("42")->source.provenance == Provenance::recalled);
    CHECK(catalogue().tube("42")->source.text.find("from-memory") != std::string::npos);
    std::map<Provenance, int> grades;
    for (const OperatingPoint& p : catalogue().points()) ++grades[p.source.provenance];
    CHECK(grades[Provenance::published] == 17);
    CHECK(grades[Provenance::recalled] > 100);
    CHECK(grades[Provenance::cross_checked] > 50);
    CHECK(grades[Provenance::assumed] == 0);
}

TEST_CASE("Types are found as people write them") {
    const std::map<std::string, std::string> names = {
        {"6F6", "6F6"},      {"6F6G", "6F6"},          {"6f6gt", "6F6"},  {"6SN7GTB", "6SN7"}, {"12AX7-A", "12AX7"},
        {"12AX7A", "12AX7"}, {"ECC83", "12AX7"},       {"6BQ5", "EL84"},  {"39", "39/44"},     {"44", "39/44"},
        {"39/44", "39/44"},  {"6Z4", "84/6Z4"},        {"84", "84/6Z4"},  {"51", "35/51"},     {"5Y3G", "5Y3GT"},
        {"5Y3", "5Y3GT"},    {"6U7", "6U7G"},          {"24", "24A"},     {"6K7GT/G", "6K7"},  {"50L6GT", "50L6"},
        {"6B4", "6B4G"},     {"117L7/M7-GT", "117L7"}, {"6G5", "6U5"},    {"6CA7", "EL34"},    {"01A", "01A"},
        {"71A", "71A"},      {"12B7", "14A7"},         {"6V6GTA", "6V6"}, {"25L6GT", "25L6"}};
    for (const auto& [written, type] : names) {
        INFO(written);
        const TubeType* t = catalogue().tube(written);
        REQUIRE(t != nullptr);
        CHECK(t->type == type);
    }
    for (const char* unknown : {"", "XYZ", "6", "999", "G", "/"}) {
        INFO(unknown);
        CHECK(catalogue().tube(unknown) == nullptr);
    }
    CHECK(catalogue().nearest_tubes("6SN8").front().substr(0, 3) == "6SN");
    CHECK(catalogue().nearest_tubes("6SN8").size() <= 3);
    CHECK(catalogue().nearest_tubes("ZZZZZZZZ").empty());
}

TEST_CASE("Types are found as the makers of the twenties printed them") {
    const Catalogue shipped = Catalogue::shipped();
    const auto row = [&](const char* printed) {
        const TubeType* type = shipped.tube(printed);
        return type ? type->type : std::string();
    };
    // a letter or two for the base and a figure for the maker (common practice, no source)
    CHECK(row("UX-226") == "26");
    CHECK(row("226") == "26");
    CHECK(row("UX-280") == "80");
    CHECK(row("CX-380") == "80");
    CHECK(row("171A") == row("71A"));
    CHECK(row("UY-227") == "27");
    CHECK(row("UX-222222").empty());
    for (const char* other : {"UCH42", "KT33", "U22"}) CHECK(row(other).empty());
    CHECK(row("999").empty());
}

TEST_CASE("Every basing has two heater ends or says why not, and electrodes in words of the list") {
    const std::set<std::string> words = {"h",  "htap", "hct", "h+", "h-",  "k",   "p",     "g1",     "g2",    "g3",
                                         "g4", "g5",   "g6",  "d",  "nc",  "ic",  "shell", "p1",     "p2",    "k1",
                                         "k2", "kr",   "pr",  "gt", "g1t", "g2t", "pt",    "target", "shield"};
    for (const TubeType& t : catalogue().tubes()) {
        INFO(t.type);
        if (t.tube_class == "ballast") continue;
        int heater = 0;
        for (const Pin& pin : t.pins)
            for (const std::string& e : pin.electrodes) {
                INFO(pin.pin << '=' << e);
                CHECK(words.count(e) == 1);
                if (e == "h" || e == "h+" || e == "h-") ++heater;
            }
        if (t.type != "0Z4" && t.tube_class != "gas regulator") CHECK(heater >= 2);
    }
    const Pin* cathode = catalogue().tube("42")->pin("5");
    REQUIRE(cathode != nullptr);
    CHECK(cathode->electrodes == std::vector<std::string>{"k", "g3"});
    CHECK(catalogue().tube("42")->pin("9") == nullptr);
    CHECK(catalogue().tube("25Z6")->pin("1") == nullptr);
    CHECK(catalogue().tube("1R5")->pin("1")->electrodes == std::vector<std::string>{"h-", "g5"});
    CHECK(catalogue().tube("3V4")->pin("5")->electrodes == std::vector<std::string>{"hct", "g3"});
}

TEST_CASE("Shares of each mode set add up to one, and constructions find their rate and modes") {
    std::map<std::string, double> sums;
    for (const Construction& c : catalogue().constructions()) {
        INFO(c.key);
        if (!c.base_rate.empty()) CHECK(catalogue().rate(c.base_rate) != nullptr);
        double sum = 0;
        for (const FailureMode& m : catalogue().failure_modes(c.mode_set)) sum += m.alpha;
        CHECK(sum == Approx(1.0));
        CHECK((c.action == "replace" || c.action == "measure" || c.action == "leave" || c.action == "never-disturb"));
        CHECK_FALSE(c.reason.empty());
        CHECK(c.median_years > 0);
    }
    REQUIRE(catalogue().construction("wax-paper") != nullptr);
    CHECK(catalogue().construction("wax-paper")->action == "replace");
    CHECK(catalogue().construction("silver-mica-if")->action == "measure");
    CHECK(catalogue().construction("nothing") == nullptr);
    CHECK(catalogue().failure_modes("capacitor-paper").size() == 2);
    CHECK(catalogue().rate("capacitor-paper")->base == Approx(0.00037));
}

TEST_CASE("Old values go to the trade's new ones, others to the nearest stocked", "[practice-54]") {
    CHECK(catalogue().modern_farads(.05e-6, false) == Approx(.047e-6));
    CHECK(catalogue().modern_farads(.02e-6, false) == Approx(.022e-6));
    CHECK(catalogue().modern_farads(8e-6, true) == Approx(10e-6));
    CHECK(catalogue().modern_farads(16e-6, true) == Approx(15e-6));
    CHECK(catalogue().modern_farads(.000255e-6, false) == Approx(.00027e-6));
    for (const char* ladder : {"film-volts", "electrolytic-volts", "film-farads", "electrolytic-farads",
                               "resistor-ohms", "resistor-watts"}) {
        const auto& steps = catalogue().stock(ladder);
        REQUIRE(steps.size() > 5);
        for (std::size_t k = 1; k < steps.size(); ++k) CHECK(steps[k] > steps[k - 1]);
    }
    CHECK(catalogue().stock("no such ladder").empty());
}

TEST_CASE("Fuses, lamps, steps and cautions are there with what the planner needs") {
    int iec = 0, ul = 0, vehicle = 0;
    for (const FuseRow& f : catalogue().fuses()) {
        (f.family.rfind("IEC", 0) == 0 ? iec : f.family.rfind("vehicle", 0) == 0 ? vehicle : ul)++;
        CHECK(f.amps > 0);
        CHECK(f.breaking_amps.value_or(0) >= 35);
    }
    CHECK(iec == 16);
    CHECK(ul == 14);
    CHECK(vehicle == 10);
    REQUIRE(catalogue().lamp("#47") != nullptr);
    CHECK(catalogue().lamp("47")->amps == Approx(.15));
    CHECK(catalogue().lamp("60W")->amps == Approx(.5));
    CHECK(catalogue().lamp("60w")->use == "limiter");
    CHECK(catalogue().step_cost("capacitor-two-lead")->minutes > 0);
    CHECK(catalogue().step_cost("nothing") == nullptr);
    std::set<std::string> topics;
    for (const Caution& c : catalogue().cautions()) topics.insert(c.topic);
    for (const char* topic : {"b-plus",
                              "charge",
                              "hot-chassis",
                              "isolation",
                              "residual-current",
                              "one-hand",
                              "alone",
                              "unattended",
                              "local-code",
                              "resistance-cord",
                              "old-oil",
                              "chlorinated-wax",
                              "asbestos",
                              "cadmium",
                              "selenium",
                              "mercury",
                              "lead",
                              "radium",
                              "rodents",
                              "hot-glass"})
        CHECK(topics.count(topic) == 1);
}

TEST_CASE("Oscillator sections of the converters are known") {
    const auto rows = catalogue().converter_oscillators_of(*catalogue().tube("6A7"));
    REQUIRE(rows.size() == 2);
    CHECK(rows[1].anode_grid_volts == 170.0);
    CHECK(rows[1].anode_grid_amps.value() == Approx(.004));
    CHECK(rows[1].grid_leak_ohms == 50000.0);
}
