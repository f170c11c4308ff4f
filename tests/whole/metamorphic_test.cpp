// SPDX-License-Identifier: MIT
// What must not matter does not matter, and what must, does: names, order of attributes, one resistor as two, a larger
// line, a tube pulled. No expected value is needed for any of these.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <map>
#include <pugixml.hpp>
#include <regex>

#include "sets.hpp"

using namespace whole;

namespace {

/// Every id and every word for a net renamed, the attributes of every element turned round. Returns old name -> new
/// name of ids and words.
struct Renamed {
    std::string text;
    std::map<std::string, std::string> names;
    std::string name(const std::string& old) const {
        const std::size_t dot = old.find('.');
        const auto found = names.find(old.substr(0, dot));
        if (found == names.end()) return old;
        return dot == std::string::npos ? found->second : found->second + old.substr(dot);
    }
};

Renamed renamed(const std::string& text) {
    pugi::xml_document file;
    REQUIRE(file.load_buffer(text.data(), text.size()));
    Renamed out;
    int count = 0;
    const auto give = [&](const std::string& word) {
        if (!word.empty() && out.names.find(word) == out.names.end()) {
            // Backwards in the alphabet, so that an order by name would turn round.
            std::string fresh = std::to_string(900 - count++);
            // The letter of an id is the part's class; a word for a net gets a letter of its own.
            const bool id = std::isdigit(static_cast<unsigned char>(word.back())) != 0 &&
                            std::isupper(static_cast<unsigned char>(word.front())) != 0;
            std::string letters;
            for (const char c : word) {
                if (std::isdigit(static_cast<unsigned char>(c)) != 0) break;
                letters += c;
            }
            out.names[word] = (id ? letters : std::string("n")) + fresh;
        }
    };
    const std::vector<std::string> words = {"a",       "b",         "plus",  "minus",   "wiper",  "net",      "hot",
                                            "neutral", "reference", "from",  "to",      "tap",    "at",       "leads",
                                            "part",    "lift",      "anode", "cathode", "inside", "contacts", "reed"};
    const auto holds_names = [&](const std::string& attribute) {
        return std::find(words.begin(), words.end(), attribute) != words.end();
    };
    const std::regex word("[^ ]+");
    const auto each = [&](auto&& visit) {
        for (const pugi::xpath_node& found : file.select_nodes("//*")) visit(found.node());
    };
    each([&](pugi::xml_node node) {
        for (pugi::xml_attribute attribute : node.attributes()) {
            const std::string value = attribute.value();
            if (std::string(attribute.name()) == "id") give(value);
            if (!holds_names(attribute.name())) continue;
            for (std::sregex_iterator at(value.begin(), value.end(), word), end; at != end; ++at) {
                const std::string one = at->str();
                give(one.substr(0, one.find('.')));
            }
        }
    });
    each([&](pugi::xml_node node) {
        std::vector<std::pair<std::string, std::string>> attributes;
        for (pugi::xml_attribute attribute : node.attributes()) {
            std::string value = attribute.value();
            if (std::string(attribute.name()) == "id") value = out.names.at(value);
            if (holds_names(attribute.name())) {
                std::string fresh;
                for (std::sregex_iterator at(value.begin(), value.end(), word), end; at != end; ++at)
                    fresh += (fresh.empty() ? "" : " ") + out.name(at->str());
                value = fresh;
            }
            attributes.emplace_back(attribute.name(), value);
        }
        while (node.first_attribute()) node.remove_attribute(node.first_attribute());
        for (auto at = attributes.rbegin(); at != attributes.rend(); ++at)
            node.append_attribute(at->first.c_str()) = at->second.c_str();
    });
    std::ostringstream written;
    file.save(written);
    out.text = written.str();
    return out;
}

/// Rows that can be compared whatever the parts are called.
std::vector<std::pair<std::string, double>> currents(const tw::ThreatReport& report) {
    std::vector<std::pair<std::string, double>> rows;
    for (const tw::Threat& t : report.rows) rows.emplace_back(t.mode, t.primary_amps_rms);
    std::sort(rows.begin(), rows.end());
    return rows;
}

void same_volts(const tw::Study& one, const tw::Study& other, tw::Scenario scenario, double share,
                const Renamed* names = nullptr) {
    const auto a = one.volts(scenario), b = other.volts(scenario);
    REQUIRE(a);
    REQUIRE(b);
    int compared = 0;
    for (const tw::NetVolts& net : a->solution().nets) {
        const tw::NetVolts& twin = b->at(names != nullptr ? names->name(net.name) : net.name);
        INFO(net.name << " " << net.dc.value() << " " << twin.dc.value());
        CHECK(net.undetermined == twin.undetermined);
        if (net.undetermined) continue;
        ++compared;
        CHECK(twin.dc.value() == Approx(net.dc.value()).epsilon(share).margin(share * 100));
        CHECK(twin.ripple_pp.value() == Approx(net.ripple_pp.value()).epsilon(share).margin(share * 100));
    }
    CHECK(compared > 10);
}

double worst_ratio(const tw::ThreatReport& report, const std::string& part, const std::string& mode) {
    double worst = 0;
    for (const tw::Threat& t : report.rows)
        if (t.part == part && t.mode == mode && t.solved)
            worst = std::max(worst, t.primary_amps_rms / t.primary_amps_rms_normal);
    REQUIRE(worst > 0);
    return worst;
}

double worst_criticality(const std::vector<tw::Threat>& rows, const std::string& part) {
    double worst = 0;
    for (const tw::Threat& t : rows)
        if (t.part == part) worst = std::max(worst, t.criticality);
    return worst;
}

/// Place among the rows by criticality; past the end when the part has none that counts.
std::size_t place(const std::vector<tw::Threat>& rows, const std::string& part) {
    for (std::size_t k = 0; k < rows.size(); ++k)
        if (rows[k].part == part && rows[k].criticality > 0) return k;
    return rows.size();
}

/// `volts_alone`: of a set whose every fault takes minutes.
void renaming_changes_nothing(const std::string& path, bool volts_alone = false) {
    INFO(path);
    const std::string text = text_of(path);
    const Renamed other = renamed(text);
    REQUIRE(other.text.find("\"bplus\"") == std::string::npos);
    const tw::Study as_written = study(text), twin = study(other.text);
    same_volts(as_written, twin, tw::Scenario::normal, 1e-9, &other);
    same_volts(as_written, twin, tw::Scenario::warm_up, 1e-9, &other);
    if (volts_alone) return;
    const auto a = currents(as_written.threats()), b = currents(twin.threats());
    REQUIRE(a.size() == b.size());
    for (std::size_t k = 0; k < a.size(); ++k) {
        INFO(k << " " << a[k].first);
        CHECK(a[k].first == b[k].first);
        CHECK(b[k].second == Approx(a[k].second).epsilon(1e-6));
    }
    const auto same = [](std::vector<double> x, std::vector<double> y) {
        REQUIRE(x.size() == y.size());
        std::sort(x.begin(), x.end());
        std::sort(y.begin(), y.end());
        for (std::size_t k = 0; k < x.size(); ++k) CHECK(y[k] == Approx(x[k]).epsilon(1e-6).margin(1e-9));
    };
    const auto of_threats = [](const tw::Study& set, auto figure) {
        std::vector<double> all;
        for (const tw::Threat& t : set.threats().rows) all.push_back(figure(t));
        return all;
    };
    const auto criticality = [](const tw::Threat& t) { return t.criticality; };
    const auto heat = [](const tw::Threat& t) { return t.hot_spot_steady_celsius; };
    same(of_threats(as_written, criticality), of_threats(twin, criticality));
    same(of_threats(as_written, heat), of_threats(twin, heat));
    const auto stresses = [](const tw::Study& set, auto figure) {
        const auto made = set.stress();
        REQUIRE(made);
        std::vector<double> all;
        for (const tw::PartStress& s : *made) all.push_back(figure(s));
        return all;
    };
    const auto crest = [](const tw::PartStress& s) { return s.worst.crest_volts; };
    const auto watts = [](const tw::PartStress& s) { return s.worst.watts; };
    same(stresses(as_written, crest), stresses(twin, crest));
    same(stresses(as_written, watts), stresses(twin, watts));
    const auto list = [](const tw::Study& set) { return set.shop()->cost.value_or(0); };
    CHECK(list(twin) == Approx(list(as_written)));
}

}  // namespace

TEST_CASE("with every id, net and order of attributes renamed the numbers are the same") {
    for (const std::string& path : {quarry_hill, bellows_court}) renaming_changes_nothing(path);
}

TEST_CASE("with every id, net and order of attributes renamed the numbers are the same on the other sets", "[long]") {
    for (const char* name : {"s2-heron-weir", "s3-tanner-row", "s4-ferry-green", "s5-mill-lane", "s6-osier-holt",
                             "s7-plover-heath", "s8-drover-gap"})
        renaming_changes_nothing(std::string(TUBEWRIGHT_ROOT "/netlists/") + name + ".xml");
    renaming_changes_nothing(TUBEWRIGHT_ROOT "/netlists/s10-generated-sixty.xml", true);
}

TEST_CASE("a resistor as two of twice its value changes nothing") {
    const std::string text = text_of(quarry_hill);
    const std::string load = element(text, "R9");
    const std::string half = edited(load, R"(value="250M")", R"(value="500M")");
    const tw::Study one = study(text),
                    two = study(edited(text, load, half + "\n" + edited(half, R"(id="R9")", R"(id="R99")")));
    same_volts(one, two, tw::Scenario::normal, 1e-9);
    const auto watts = [](const tw::Study& set, const char* part) {
        return set.volts(tw::Scenario::normal)->solution().branch(set.chassis().part(part), "a")->watts.value();
    };
    CHECK(watts(two, "R9") + watts(two, "R99") == Approx(watts(one, "R9")).epsilon(1e-9));
}

TEST_CASE("a capacitor as two of half its value changes nothing") {
    const std::string text = text_of(quarry_hill);
    const std::string filter = element(text, "C2");
    const std::string half = edited(filter, R"(value="8-450")", R"(value="4-450")");
    const tw::Study one = study(text),
                    two = study(edited(text, filter, half + "\n" + edited(half, R"(id="C2")", R"(id="C92")")));
    same_volts(one, two, tw::Scenario::normal, 1e-9);
    const auto amps = [](const tw::Study& set, const char* part) {
        return set.volts(tw::Scenario::normal)->solution().branch(set.chassis().part(part), "plus")->rms.value();
    };
    CHECK(amps(two, "C2") + amps(two, "C92") == Approx(amps(one, "C2")).epsilon(1e-9));
}

TEST_CASE("with 10 k in series with the first filter its short falls below that of the second") {
    const std::string text = text_of(quarry_hill);
    const tw::Study as_written = study(text);
    const std::string section = R"(<section mark="plain" value="8 mfd" volts="475" plus="V5.1"/>)";
    const std::string behind = edited(
        edited(text, section, R"(<section mark="plain" value="8 mfd" volts="475" plus="behind"/>)"), "<coil id=\"L1\"",
        "<resistor id=\"R90\" value=\"10k\" watts=\"10\" a=\"V5.1\" b=\"behind\"/>\n  <coil id=\"L1\"");
    const tw::Study with_series = study(behind);
    CHECK(worst_ratio(as_written.threats(), "C1.plain", "short") > worst_ratio(as_written.threats(), "C2", "short"));
    CHECK(worst_ratio(with_series.threats(), "C1.plain", "short") < worst_ratio(with_series.threats(), "C2", "short"));
    CHECK(worst_criticality(with_series.threats().for_transformer(), "C1.plain") <
          worst_criticality(with_series.threats().for_transformer(), "C2"));
}

TEST_CASE("with a grid leak of 5 k in place of 500 k the coupler's rank falls below the bypasses") {
    const std::string text = text_of(quarry_hill);
    const std::string leak = element(text, "R10");
    const std::vector<tw::Threat> before = study(text).threats().for_transformer();
    const std::vector<tw::Threat> after =
        study(edited(text, leak, edited(leak, R"(value="500M")", R"(value="5k")"))).threats().for_transformer();
    // The bypasses of the output tube: its plate's and its cathode's.
    CHECK(place(before, "C16") < place(before, "C15"));
    CHECK(place(after, "C16") > place(after, "C17"));
    CHECK(place(after, "C16") > place(after, "C15"));
}

TEST_CASE("a line one tenth higher lifts B-plus by 7 to 12 per cent") {
    for (const std::string& path : {quarry_hill, bellows_court}) {
        const std::string text = text_of(path);
        const double marked = read(text).line().volts;
        const double ratio = dc(study(text, 1.1 * marked).volts(tw::Scenario::normal), "bplus") /
                             dc(study(text).volts(tw::Scenario::normal), "bplus");
        INFO(path << " " << ratio);
        CHECK(ratio > 1.07);
        CHECK(ratio < 1.12);
    }
}

TEST_CASE("B-plus rises when a tube is pulled, most with the output tube") {
    const tw::Study set = study(text_of(quarry_hill));
    const double normal = dc(set.volts(tw::Scenario::normal), "bplus");
    std::map<std::string, double> rise;
    for (const char* tube : {"V1", "V2", "V3", "V4"}) {
        tw::Condition condition;
        condition.scenario = tw::Scenario::tube_out;
        condition.tube = tube;
        rise[tube] = dc(set.volts(condition), "bplus") - normal;
        INFO(tube << " " << rise[tube]);
        CHECK(rise[tube] > 0);
    }
    CHECK(rise["V4"] > rise["V1"]);
    CHECK(rise["V4"] > rise["V2"]);
    CHECK(rise["V2"] > rise["V3"]);
}
