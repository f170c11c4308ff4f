// SPDX-License-Identifier: MIT
// What differs between two files: names, order and places do not count; every single change is told alone, at its part,
// and exchanging the files mirrors the answer.
#include <algorithm>
#include <fstream>
#include <map>
#include <regex>
#include <set>
#include <sstream>

#include <tubewright/audit.hpp>
#include <tubewright/netlist.hpp>

#include <catch2/catch.hpp>

#include "../generate/mutation.hpp"

using namespace tubewright;
using generate::Dice;

namespace {

const Catalogue& shipped() {
    static const Catalogue c = Catalogue::shipped();
    return c;
}

const std::vector<std::string> demo_sets{"s1-quarry-hill",   "s2-heron-weir",      "s3-tanner-row",   "s4-ferry-green",
                                         "s5-mill-lane",     "s6-osier-holt",      "s7-plover-heath", "s8-drover-gap",
                                         "s9-bellows-court", "s10-generated-sixty"};

std::string text_of(const std::string& set) {
    std::ifstream in(std::string(TUBEWRIGHT_ROOT) + "/netlists/" + set + ".xml");
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

Chassis read(const std::string& text) {
    const Outcome<Chassis> set = read_chassis_text(text, "set.xml", shipped());
    INFO((set ? std::string() : set.notices().front().text()));
    REQUIRE(set);
    return *set;
}

std::string edited(std::string text, const std::string& from, const std::string& to) {
    const std::size_t at = text.find(from);
    INFO(from);
    REQUIRE(at != std::string::npos);
    return text.replace(at, from.size(), to);
}

std::string ids(const std::vector<std::string>& list) {
    std::string text;
    for (const std::string& id : list) text += (text.empty() ? "" : "+") + id;
    return text;
}

std::string told(const Differences& all) {
    std::string text;
    for (const Difference& d : all.rows)
        text += std::string(word(d.kind)) + " " + ids(d.parts) + "/" + ids(d.other_parts) + " " + d.what + ": " +
                d.here + " => " + d.there + "\n";
    return text;
}

/// Every id and every word for a net another, the top elements in another order.
struct Renamed {
    std::string text;
    std::map<std::string, std::string> names;
};
Renamed renamed_and_shuffled(const std::string& text, Dice& dice) {
    Renamed out;
    const std::set<std::string> holders{"id",      "a",         "b",     "plus",    "minus", "wiper",   "net",   "hot",
                                        "neutral", "reference", "from",  "to",      "tap",   "at",      "leads", "part",
                                        "lift",    "inside",    "anode", "cathode", "reed",  "contacts"};
    const std::regex attribute(" ([a-z-]+)=\"([^\"]*)\""), name("[^ .]+(\\.[^ ]+)?");
    const auto renamed = [&](const std::string& old) {
        const std::size_t dot = std::min(old.find('.'), old.size());
        std::string& fresh = out.names[old.substr(0, dot)];
        if (fresh.empty())
            fresh = "n" + std::to_string(1000 + dice.below(9000)) + "_" + std::to_string(out.names.size());
        return fresh + old.substr(dot);
    };
    // the head, then elements with what is inside them, each to its end
    const std::size_t root = text.find("<chassis"), inside = text.find('>', root) + 1, end = text.rfind("</chassis>");
    std::vector<std::string> elements;
    std::string open;
    int depth = 0;
    for (std::size_t at = text.find('<', inside); at < end; at = text.find('<', at)) {
        const bool comment = text.compare(at, 4, "<!--") == 0;
        const std::size_t stop = comment ? text.find("-->", at) + 3 : text.find('>', at) + 1;
        const std::string tag = text.substr(at, stop - at);
        at = stop;
        if (comment) continue;
        open += tag + "\n";
        depth += tag[1] == '/' ? -1 : tag[tag.size() - 2] == '/' ? 0 : 1;
        if (depth == 0) elements.push_back(std::move(open));
        if (depth == 0) open.clear();
    }
    for (std::size_t i = elements.size(); i > 1; --i) std::swap(elements[i - 1], elements[dice.below(i)]);
    std::string all = text.substr(root, inside - root) + "\n";
    for (const std::string& one : elements) all += one;
    all += "</chassis>\n";
    std::size_t last = 0;
    for (std::sregex_iterator found(all.begin(), all.end(), attribute), none; found != none; ++found) {
        const std::smatch& m = *found;
        out.text += all.substr(last, static_cast<std::size_t>(m.position(2)) - last);
        last = static_cast<std::size_t>(m.position(2) + m.length(2));
        std::string value = m.str(2), fresh;
        if (holders.count(m.str(1)) == 0) {
            out.text += value;
            continue;
        }
        for (std::sregex_iterator at(value.begin(), value.end(), name), stop; at != stop; ++at)
            fresh += (fresh.empty() ? "" : " ") + renamed(at->str());
        out.text += fresh;
    }
    out.text += all.substr(last);
    return out;
}

void is_mirror(const Differences& one, const Differences& other) {
    const auto mirrored = [](DifferenceKind kind) {
        return kind == DifferenceKind::joined  ? DifferenceKind::split
               : kind == DifferenceKind::split ? DifferenceKind::joined
                                               : kind;
    };
    using Key =
        std::tuple<DifferenceKind, std::string, std::string, bool, bool, std::optional<double>, std::optional<double>>;
    std::multiset<Key> here, there;
    for (const Difference& d : one.rows)
        here.emplace(d.kind, ids(d.parts), ids(d.other_parts), d.here.empty(), d.there.empty(), d.here_number,
                     d.there_number);
    for (const Difference& d : other.rows)
        there.emplace(mirrored(d.kind), ids(d.other_parts), ids(d.parts), d.there.empty(), d.here.empty(),
                      d.there_number, d.here_number);
    INFO(told(one) << "and from the other side\n" << told(other));
    CHECK(here == there);
}

}  // namespace

TEST_CASE("With every id and net renamed and the parts in another order nothing differs, and the ids are listed") {
    for (const std::string& name : demo_sets)
        for (std::uint64_t seed = 1; seed <= 3; ++seed) {
            Dice dice(seed);
            const std::string text = text_of(name);
            const Renamed other = renamed_and_shuffled(text, dice);
            const Chassis here = read(text), there = read(other.text);
            const Differences all = differences(here, there);
            INFO(name << " " << seed << "\n" << told(all));
            CHECK(all.rows.empty());
            const auto counted = std::count_if(here.parts().begin(), here.parts().end(),
                                               [](const Part& p) { return p.kind != PartKind::strip; });
            CHECK(all.renamed.size() == static_cast<std::size_t>(counted));
            CHECK(differences(there, here).rows.empty());
        }
}

TEST_CASE("A set does not differ from itself") {
    for (const std::string& name : demo_sets) {
        const Chassis set = read(text_of(name));
        const Differences all = differences(set, set);
        CHECK(all.rows.empty());
        CHECK(all.renamed.empty());
    }
}

TEST_CASE("Of 400 planted changes each is named at its part or net, alone, whatever the names, and mirrors") {
    int planted = 0, alone = 0;
    for (const std::string& name : demo_sets) {
        const Chassis set = read(text_of(name));
        Dice dice(77);
        const Outcome<Chassis> here = generate::chassis_of(generate::flat_of(set, dice), shipped());
        REQUIRE(here);
        for (int i = 0; i < 40; ++i) {
            generate::Flat flat = generate::flat_of(set, dice);
            const auto slip = static_cast<generate::Slip>(dice.below(generate::slips));
            const std::optional<generate::Mistake> mistake = generate::plant(flat, slip, dice, shipped());
            if (!mistake) continue;
            for (std::size_t k = flat.parts.size(); k > 1; --k) std::swap(flat.parts[k - 1], flat.parts[dice.below(k)]);
            const Outcome<Chassis> there = generate::chassis_of(flat, shipped());
            if (!there) continue;
            const Differences all = differences(*here, *there);
            INFO(name << " " << i << " " << generate::word(slip) << ": " << mistake->what << "\n" << told(all));
            const auto names = [&](const Difference& d) {
                const auto among = [](const auto& list, const std::string& one) {
                    return std::find(list.begin(), list.end(), one) != list.end();
                };
                if (slip == generate::Slip::part_dropped)
                    return d.kind == DifferenceKind::part && !d.parts.empty() && d.other_parts.empty();
                return std::any_of(mistake->parts.begin(), mistake->parts.end(),
                                   [&](const std::string& id) { return among(d.other_parts, id); }) ||
                       std::any_of(mistake->nets.begin(), mistake->nets.end(),
                                   [&](const std::string& net) { return among(d.other_nets, net); });
            };
            CHECK(std::any_of(all.rows.begin(), all.rows.end(), names));
            CHECK(all.rows.size() <= 3);
            ++planted;
            alone += all.rows.size() == 1;
            is_mirror(all, differences(*there, *here));
        }
    }
    CHECK(planted > 300);
    CHECK(alone * 100 >= planted * 95);
}

namespace {

struct Change {
    const char *set, *from, *to;
    DifferenceKind kind;
    const char *part, *what, *here, *there;
};

/// Words exchanged everywhere: what a tracer writes who miscounts.
std::string exchanged(std::string text, const std::vector<std::pair<std::string, std::string>>& words) {
    const std::regex name("[A-Za-z_0-9]+\\.[A-Za-z_0-9]+");
    std::string out;
    std::size_t last = 0;
    for (std::sregex_iterator at(text.begin(), text.end(), name), none; at != none; ++at) {
        std::string word = at->str();
        for (const auto& [a, b] : words) word = word == a ? b : word == b ? a : word;
        out += text.substr(last, static_cast<std::size_t>(at->position()) - last) + word;
        last = static_cast<std::size_t>(at->position() + at->length());
    }
    return out + text.substr(last);
}

}  // namespace

TEST_CASE("Each single change is told in one row, at its part, with what is here and there") {
    using K = DifferenceKind;
    const std::vector<Change> changes{
        {"s1-quarry-hill", "value=\"250M\"", "value=\"25M\"", K::value, "R9", "resistance", "250K", "25K"},
        {"s1-quarry-hill", ".02 mfd\" volts=\"400\" a", ".02 mfd\" volts=\"600\" a", K::rating, "C16", "rated volts",
         "400", "600"},
        {"s1-quarry-hill", "a=\"V3.2\" b=\"V4.4\"", "a=\"V3.2\" b=\"V4.5\"", K::lead, "C16", "lead b", "V4.4", "V4.5"},
        {"s1-quarry-hill", "<resistor id=\"R10\" value=\"500M\" watts=\"1/4\" a=\"V4.4\" b=\"gnd\" location=\"V4\"/>",
         "", K::part, "R10", "only here", "resistor 500K", ""},
        {"s1-quarry-hill", "<reach part=\"C16\"",
         "<capacitor id=\"C99\" value=\".01 mfd\" volts=\"400\" a=\"V4.2\" b=\"V4.5\"/><reach part=\"C16\"", K::part,
         "", "only there", "", "from V4.2"},
        {"s1-quarry-hill", "plus=\"bplus\" minus=\"gnd\"", "plus=\"gnd\" minus=\"bplus\"", K::turned, "C2",
         "turned end for end", "plus on bplus", "plus on gnd"},
        {"s1-quarry-hill", "<reach part=\"C16\"", "<join at=\"det volume\"/><reach part=\"C16\"", K::joined, "",
         "2 nets here are one there", "det", ""},
        {"s1-quarry-hill", "<join at=\"screens V1.3 V2.3\"/>", "<join at=\"V1.3 V2.3\"/>", K::split, "",
         "one net here is 2 there", "screens", "V1.3"},
        {"s1-quarry-hill", "tube=\"78\"", "tube=\"6D6\"", K::tube, "V2", "tube", "78", "6D6"},
        {"s1-quarry-hill", "is=\"chassis-metal\" net=\"gnd\"", "is=\"chassis-metal\" net=\"heaters\"", K::node, "",
         "chassis metal", "gnd", "heaters"},
        {"s1-quarry-hill", "noload-volts=\"330 330\"", "noload-volts=\"330 390\"", K::value, "T1",
         "plate winding, volts without load", "330 V and 330 V", "390"},
        {"s1-quarry-hill", "leads=\"V5.2 gnd V5.3\"", "leads=\"V5.2 ct V5.3\"", K::lead, "T1", "lead plate", "on gnd",
         "alone"},
        {"s1-quarry-hill", "construction=\"moulded-paper\"", "construction=\"film\"", K::construction, "C12",
         "construction", "moulded-paper", "film"},
        {"s1-quarry-hill", "<line volts=\"115\"", "<line volts=\"230\"", K::rating, "", "line volts", "115", "230"},
        {"s3-tanner-row", "plus=\"bplus\"", "plus=\"V4.8\"", K::lead, "C2.blue", "lead plus", "bplus", "V4.8"},
        {"s3-tanner-row", "tube=\"12SK7\"", "tube=\"12SK7GT\"", K::tube, "V2", "tube", "12SK7", "12SK7GT"},
        {"s3-tanner-row", "<wire id=\"W5\" from=\"V4.7\" to=\"V2.2\"/>", "", K::part, "W5", "only here",
         "wire, from V4.7 to V2.2; without it apart: ", ""},
        {"s9-bellows-court", "value=\"470k\" watts=\"1/2\" a=\"V2.2\"", "value=\"47k\" watts=\"1/2\" a=\"V2.2\"",
         K::value, "R10", "resistance", "470K", "47K"},
        {"s9-bellows-court", "plus=\"V2.3\" minus=\"gnd\"", "plus=\"gnd\" minus=\"V2.3\"", K::turned, "C6",
         "turned end for end", "", ""},
        {"s9-bellows-court", "<join at=\"V2.9 bplus2\"/>", "<join at=\"V2.9 bplus3\"/>", K::lead, "V2", "pin 9",
         "bplus2", "bplus3"},
    };
    Dice dice(5);
    for (const Change& c : changes) {
        const std::string text = text_of(c.set);
        const std::string other = edited(text, c.from, c.to);
        const Chassis here = read(text), there = read(other);
        const Differences all = differences(here, there);
        INFO(c.from << " -> " << c.to << "\n" << told(all));
        REQUIRE(all.rows.size() == 1);
        const Difference& d = all.rows.front();
        CHECK(d.kind == c.kind);
        CHECK(ids(d.parts) == c.part);
        CHECK(d.what.find(c.what) == 0);
        CHECK(d.here.find(c.here) != std::string::npos);
        CHECK(d.there.find(c.there) != std::string::npos);
        CHECK((d.place.line > 0 || d.parts.empty()));
        CHECK((d.other_place.line > 0 || d.other_parts.empty()));
        is_mirror(all, differences(there, here));
        // the same, with every name changed as well
        const Renamed strange = renamed_and_shuffled(other, dice);
        const Differences again = differences(here, read(strange.text));
        INFO("and with other names\n" << told(again));
        REQUIRE(again.rows.size() == 1);
        CHECK(again.rows.front().kind == c.kind);
        CHECK(ids(again.rows.front().parts) == c.part);
    }
}

TEST_CASE("Several changes in one file are told each by its own row, the dangerous ones first") {
    const std::string text = text_of("s1-quarry-hill");
    std::string other = edited(text, "value=\"250M\"", "value=\"500M\"");
    other = edited(other, "a=\"V3.2\" b=\"V4.4\"", "a=\"V3.2\" b=\"V4.5\"");
    other = edited(other, "plus=\"bplus\" minus=\"gnd\"", "plus=\"gnd\" minus=\"bplus\"");
    other = edited(other, "tube=\"78\"", "tube=\"6D6\"");
    const Differences all = differences(read(text), read(other));
    INFO(told(all));
    REQUIRE(all.rows.size() == 4);
    std::string order;
    for (const Difference& d : all.rows) order += std::string(word(d.kind)) + " " + ids(d.parts) + "; ";
    CHECK(order == "turned C2; lead C16; tube V2; value R9; ");
    CHECK(all.rows[3].unit == "ohms");
    CHECK(all.rows[3].here_number == 250e3);
    CHECK(all.rows[3].there_number == 500e3);
    CHECK(all.rows[1].nets == std::vector<std::string>{"V4.4"});
    CHECK(all.rows[1].other_nets == std::vector<std::string>{"V4.5"});
}

TEST_CASE("A word for all parts that is another there is one row for all of them") {
    const std::string text = text_of("s1-quarry-hill");
    const Differences all =
        differences(read(text), read(edited(text, "paper=\"wax-paper\"", "paper=\"moulded-paper\"")));
    INFO(told(all));
    REQUIRE(all.rows.size() == 1);
    CHECK(all.rows.front().kind == DifferenceKind::construction);
    CHECK(all.rows.front().parts.size() > 5);
    CHECK(all.rows.front().parts.size() == all.rows.front().other_parts.size());
}

TEST_CASE("A hundred resistors side by side and two sets that have nothing in common are answered too") {
    std::string head = "<chassis version=\"1\" name=\"many\" reference=\"gnd\">\n", here, there;
    for (int i = 0; i < 100; ++i) {
        here += "<resistor id=\"R" + std::to_string(i) + "\" value=\"1k\" a=\"x\" b=\"gnd\"/>\n";
        there += "<resistor id=\"Q" + std::to_string(i) + "\" value=\"1k\" a=\"gnd\" b=\"y\"/>\n";
    }
    CHECK(differences(read(head + here + "</chassis>"), read(head + there + "</chassis>")).rows.empty());
    const Chassis one = read(text_of("s1-quarry-hill")), other = read(text_of("s3-tanner-row"));
    const Differences all = differences(one, other);
    CHECK(all.rows.size() > 50);
    is_mirror(all, differences(other, one));
}

TEST_CASE("Pins that change places are one row, a socket counted from above is one row") {
    struct Slip {
        const char *set, *part;
        std::vector<std::pair<std::string, std::string>> words;
        const char* what;
    };
    const std::vector<Slip> slips{
        {"s1-quarry-hill", "V4", {{"V4.4", "V4.5"}}, "leads change places"},
        {"s1-quarry-hill", "V1", {{"V1.2", "V1.3"}}, "leads change places"},
        {"s1-quarry-hill", "V4", {{"V4.1", "V4.6"}, {"V4.2", "V4.5"}, {"V4.3", "V4.4"}}, "pins"},
        {"s1-quarry-hill", "V3", {{"V3.1", "V3.6"}, {"V3.2", "V3.5"}, {"V3.3", "V3.4"}}, "pins"},
        {"s3-tanner-row", "V3", {{"V3.1", "V3.8"}, {"V3.2", "V3.7"}, {"V3.3", "V3.6"}, {"V3.4", "V3.5"}}, "pins"},
        {"s9-bellows-court", "V1", {{"V1.1", "V1.2"}}, "leads change places"},
        {"s9-bellows-court", "V1", {{"V1.1", "V1.9"}, {"V1.2", "V1.8"}, {"V1.3", "V1.7"}, {"V1.4", "V1.6"}}, "pins"},
    };
    Dice dice(6);
    for (const Slip& slip : slips) {
        const std::string text = text_of(slip.set), other = exchanged(text, slip.words);
        const Chassis here = read(text);
        for (const std::string& there : {other, renamed_and_shuffled(other, dice).text}) {
            const Differences all = differences(here, read(there));
            INFO(slip.set << " " << slip.part << "\n" << told(all));
            REQUIRE(all.rows.size() == 1);
            CHECK(all.rows.front().kind == DifferenceKind::turned);
            CHECK(ids(all.rows.front().parts) == slip.part);
            CHECK(all.rows.front().what == slip.what);
        }
    }
}
