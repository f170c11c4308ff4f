// SPDX-License-Identifier: MIT
// What must not matter does not matter, and what must, does, on every demo set: one resistor as two, one capacitor as
// two, a higher line, a tube pulled, a resistor before the first filter, a low grid leak, all names changed. Which part
// is which stands in one table, read off each chassis; no expected volts are needed.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdio>
#include <pugixml.hpp>

#include "sets.hpp"

using namespace whole;

namespace {

/// Side by side, in one string with the rectifier's, or in a string that feeds no rectifier.
enum class Heaters { parallel, with_rectifier, alone };

struct Set {
    const char *file, *bplus;
    const char *first, *second;       ///< filters: the one that the rectifier charges, the one behind choke or resistor
    const char *grid_leak, *coupler;  ///< of the output tube: all on the grid's way to its bias; empty: a transformer
    const char* output_tube;
    Heaters heaters;
};

const std::vector<Set>& sets() {
    static const std::vector<Set> all = {
        {"s1-quarry-hill", "bplus", "C1.plain", "C2", "R10", "C16", "V4", Heaters::parallel},
        {"s2-heron-weir", "bplus", "C1.plain", "C2", "R10 R11", "C15", "V4", Heaters::parallel},
        {"s3-tanner-row", "bplus", "C2.red", "C2.blue", "R7", "C14", "V4", Heaters::with_rectifier},
        {"s4-ferry-green", "bplus", "C4.red", "C4.blue", "R11", "C15", "V4", Heaters::with_rectifier},
        {"s5-mill-lane", "bplus", "C1", "C2", "", "", "V6", Heaters::parallel},
        {"s6-osier-holt", "bplus", "C2", "C3.triangle", "R14", "C16", "V4", Heaters::with_rectifier},
        {"s7-plover-heath", "bplus", "C2.red", "C4", "R18", "C15", "V4", Heaters::alone},
        {"s8-drover-gap", "bplus", "C1.square", "C1.half-moon", "R15", "C16", "V5", Heaters::parallel},
        {"s9-bellows-court", "bplus", "C1.half-moon", "C1.square", "R10", "C4", "V2", Heaters::parallel},
        {"s10-generated-sixty", "bplus1", "C2.half-moon", "C2.square", "R40", "C38", "V12", Heaters::parallel},
    };
    return all;
}

std::string digits(double value) {
    char text[40];
    std::snprintf(text, sizeof text, "%.17g", value);
    return text;
}

/// The file as a tree that is edited and written again.
struct Sheet {
    pugi::xml_document file;
    explicit Sheet(const std::string& text) { REQUIRE(file.load_buffer(text.data(), text.size())); }
    /// An element by its id, or "C1.mark" for the section of a can.
    pugi::xml_node part(const std::string& id) {
        const std::size_t dot = id.find('.');
        const std::string path = dot == std::string::npos ? "//*[@id='" + id + "']"
                                                          : "//can[@id='" + id.substr(0, dot) + "']/section[@mark='" +
                                                                id.substr(dot + 1) + "']";
        const pugi::xml_node found = file.select_node(path.c_str()).node();
        if (!found) throw std::runtime_error("no part " + id);
        return found;
    }
    pugi::xml_node root() { return file.child("chassis"); }
    std::string text() const {
        std::ostringstream out;
        file.save(out);
        return out.str();
    }
    void resistor(const char* id, double ohms, const std::string& a, const std::string& b) {
        pugi::xml_node fresh = root().append_child("resistor");
        fresh.append_attribute("id") = id;
        fresh.append_attribute("value") = (digits(ohms) + " ohm").c_str();
        fresh.append_attribute("watts") = "20";
        fresh.append_attribute("a") = a.c_str();
        fresh.append_attribute("b") = b.c_str();
    }
};

/// The set as it was made: with nothing of what was seen or found of its parts.
std::string file_of(const Set& set) {
    Sheet sheet(text_of(std::string(TUBEWRIGHT_ROOT "/netlists/") + set.file + ".xml"));
    for (const pugi::xpath_node& found : sheet.file.select_nodes("//*"))
        for (const char* word : {"seen", "found"}) found.node().remove_attribute(word);
    return sheet.text();
}

/// An element beside its like, both of `value`.
/// Rated volts that stood in the old value ("25-25") are kept beside the new one.
std::string doubled(const std::string& text, const std::string& id, const std::string& value, double volts = 0) {
    Sheet sheet(text);
    pugi::xml_node part = sheet.part(id);
    part.attribute("value") = value.c_str();
    if (volts > 0 && !part.attribute("volts")) part.append_attribute("volts") = volts;
    pugi::xml_node twin = part.parent().insert_copy_after(part, part);
    twin.attribute("id") = (id.substr(0, 1) + "990").c_str();
    return sheet.text();
}

/// The plain elements of a kind: one value, not inside another part.
std::vector<std::string> plain(const std::string& text, const char* kind) {
    Sheet sheet(text);
    std::vector<std::string> out;
    for (const pugi::xml_node part : sheet.root().children(kind))
        if (part.attribute("value") && !part.attribute("inside") && !part.attribute("sections") &&
            !part.attribute("mark"))
            out.emplace_back(part.attribute("id").value());
    return out;
}

void same_volts(const tw::Study& one, const tw::Study& other, double share) {
    const auto a = one.volts(tw::Scenario::normal), b = other.volts(tw::Scenario::normal);
    REQUIRE(a);
    REQUIRE(b);
    int compared = 0;
    for (const tw::NetVolts& net : a->solution().nets) {
        const tw::NetVolts& twin = b->at(net.name);
        INFO(net.name << " " << net.dc.value() << " " << twin.dc.value());
        CHECK(net.undetermined == twin.undetermined);
        if (net.undetermined) continue;
        ++compared;
        CHECK(twin.dc.value() == Approx(net.dc.value()).epsilon(share).margin(share * 100));
        CHECK(twin.ripple_pp.value() == Approx(net.ripple_pp.value()).epsilon(share).margin(share * 100));
    }
    CHECK(compared > 10);
}

/// The current of the line with a tenth of an ohm across a filter, over that without.
double shorted(const std::string& text, const std::string& filter) {
    Sheet sheet(text);
    const tw::Chassis set = read(text);
    const tw::Part& part = set.parts()[static_cast<std::size_t>(set.part(filter))];
    const auto net = [&](std::size_t lead) { return set.nets()[static_cast<std::size_t>(part.leads[lead].net)].name; };
    sheet.resistor("R991", .1, net(0), net(1));
    const auto amps = [](const std::string& of) {
        const auto volts = study(of).volts(tw::Scenario::normal);
        REQUIRE(volts);
        return volts->solution().primary_rms.value();
    };
    return amps(sheet.text()) / amps(text);
}

}  // namespace

TEST_CASE("on every set a resistor as two of twice its ohms changes nothing") {
    for (const Set& set : sets()) {
        const std::string text = file_of(set);
        const std::vector<std::string> all = plain(text, "resistor");
        REQUIRE(all.size() > 3);
        const tw::Study one = study(text);
        // one in the middle of the file
        const std::string id = all[all.size() / 2];
        INFO(set.file << " " << id);
        const double ohms = *one.chassis().parts()[static_cast<std::size_t>(one.chassis().part(id))].ohms;
        same_volts(one, study(doubled(text, id, digits(2 * ohms) + " ohm")), 1e-6);
    }
}

TEST_CASE("on every set a capacitor as two of half its value changes nothing") {
    for (const Set& set : sets()) {
        const std::string text = file_of(set);
        const tw::Study one = study(text);
        std::string id;  // the largest, which ripple hangs on most
        double most = 0;
        for (const std::string& each : plain(text, "capacitor")) {
            const double farads =
                one.chassis().parts()[static_cast<std::size_t>(one.chassis().part(each))].farads.value_or(0);
            if (farads > most) most = farads, id = each;
        }
        REQUIRE(!id.empty());
        INFO(set.file << " " << id);
        const tw::Part& part = one.chassis().parts()[static_cast<std::size_t>(one.chassis().part(id))];
        same_volts(one, study(doubled(text, id, digits(5e5 * most) + " mfd", part.rated_volts.value_or(0))), 1e-6);
    }
}

TEST_CASE("on every set a line one tenth higher lifts B-plus by 7 to 12 per cent") {
    for (const Set& set : sets()) {
        const std::string text = file_of(set);
        const auto marked = study(text).volts(tw::Scenario::normal);
        REQUIRE(marked);
        const double ratio =
            dc(study(text, 1.1 * marked->solution().line_volts).volts(tw::Scenario::normal), set.bplus) /
            dc(marked, set.bplus);
        INFO(set.file << " " << ratio);
        CHECK(ratio > 1.07);
        CHECK(ratio < 1.12);
    }
}

TEST_CASE(
    "on every set B-plus rises when a tube is pulled, most with the output tube, and falls with the rectifier's "
    "string") {
    for (const Set& set : sets()) {
        const tw::Study whole = study(file_of(set));
        const double normal = dc(whole.volts(tw::Scenario::normal), set.bplus);
        double with_output = 0, with_others = 0;
        for (const tw::Part& part : whole.chassis().parts()) {
            if (part.type == nullptr) continue;
            tw::Condition condition;
            condition.scenario = tw::Scenario::tube_out;
            condition.tube = part.id;
            const auto found = whole.volts(condition);
            INFO(set.file << " " << part.id);
            REQUIRE(found);
            const double rise = dc(found, set.bplus) - normal;
            INFO(rise);
            if (part.type->is_rectifier()) {
                if (set.file != sets().back().file) CHECK(dc(found, set.bplus) < .2 * normal);
                continue;
            }
            if (set.heaters == Heaters::with_rectifier) {
                CHECK(dc(found, set.bplus) < .2 * normal);
            } else {
                // a tube on another supply of the same chassis moves this one by the line's ohms alone
                CHECK(rise > -1e-3 * normal);
                (part.id == set.output_tube ? with_output : with_others) =
                    std::max(part.id == set.output_tube ? with_output : with_others, rise);
            }
        }
        INFO(set.file << " " << with_output << " " << with_others);
        if (set.heaters == Heaters::parallel) CHECK(with_output > with_others);
        if (set.heaters == Heaters::alone) CHECK(std::min(with_output, with_others) > .03 * normal);
    }
}

TEST_CASE("on every set 10 k in series with the first filter puts its short below that of the second", "[long]") {
    for (const Set& set : sets()) {
        const std::string text = file_of(set);
        Sheet sheet(text);
        pugi::xml_node filter = sheet.part(set.first);
        pugi::xml_attribute lead = filter.attribute("plus") ? filter.attribute("plus") : filter.attribute("a");
        const std::string stood = lead.value();
        lead = "behind";
        sheet.resistor("R990", 10e3, stood, "behind");
        const std::string behind = sheet.text();
        const double as_written = shorted(text, set.first), in_series = shorted(behind, set.first);
        INFO(set.file << " " << as_written << " " << in_series);
        CHECK(as_written > shorted(text, set.second));
        CHECK(in_series < shorted(behind, set.second));
        CHECK(in_series < as_written);
    }
}

TEST_CASE("on every set with a coupler a grid leak of 5 k takes the harm out of the coupler's leak") {
    for (const Set& set : sets()) {
        if (*set.grid_leak == 0) continue;
        const std::string text = file_of(set);
        const auto harm = [&](const std::string& of) {
            const tw::Chassis chassis = read(of);
            const tw::Part& coupler = chassis.parts()[static_cast<std::size_t>(chassis.part(set.coupler))];
            Sheet leaky(of);
            leaky.resistor("R990", 1e6, chassis.nets()[static_cast<std::size_t>(coupler.leads[0].net)].name,
                           chassis.nets()[static_cast<std::size_t>(coupler.leads[1].net)].name);
            const auto plate_amps = [&](const std::string& xml) {
                const tw::Study one = study(xml);
                const auto volts = one.volts(tw::Scenario::normal);
                REQUIRE(volts);
                double amps = 0;
                for (const tw::Branch& branch : volts->solution().branches)
                    if (branch.part == one.chassis().part(set.output_tube) && branch.lead.rfind("p.", 0) == 0)
                        amps += branch.dc.value();
                return amps;
            };
            return plate_amps(leaky.text()) / plate_amps(of) - 1;
        };
        Sheet low(text);
        std::istringstream ids(set.grid_leak);
        for (std::string id; ids >> id;) low.part(id).attribute("value") = "5K";
        const double as_written = harm(text), with_low = harm(low.text());
        INFO(set.file << " " << as_written << " " << with_low);
        CHECK(as_written > .1);
        CHECK(std::abs(with_low) < .1 * as_written);
    }
}
