// SPDX-License-Identifier: MIT
// The nine polarity traps of the trade's collection (common practice), each in a set that is solved: what stands
// between plus and minus decides, not the drawing's ground sign.
#include <algorithm>
#include <fstream>
#include <sstream>

#include <catch2/catch.hpp>

#include <tubewright/choice.hpp>
#include <tubewright/netlist.hpp>

#include "bench/bench.hpp"
#include "sets.hpp"

using namespace tubewright;

namespace {

std::string text_of(const std::string& file) {
    std::ifstream in(std::string(TUBEWRIGHT_ROOT) + "/netlists/" + file, std::ios::binary);
    std::ostringstream out;
    out << in.rdbuf();
    return out.str();
}
std::string edited(std::string text, const std::string& from, const std::string& to) {
    const std::size_t at = text.find(from);
    if (at == std::string::npos) throw Error("not in the file: " + from);
    return text.replace(at, from.size(), to);
}

struct Listed {
    Chassis set;
    std::vector<PartStress> stress;
    ShoppingList list;
    explicit Listed(const std::string& text) : set(read(text)) {
        Outcome<Bench> bench = Bench::make(set, demo::catalogue(), {});
        if (!bench) throw Error(bench.notices().front().text());
        std::vector<Solution> solutions;
        for (const Scenario s : {Scenario::normal, Scenario::high_line, Scenario::warm_up}) {
            Condition c;
            c.scenario = s;
            if (Outcome<Solution> solved = bench->solve(c)) solutions.push_back(std::move(*solved));
        }
        REQUIRE(solutions.size() == 3);
        stress = stress_of(set, demo::catalogue(), {}, solutions);
        list = shopping_list(set, demo::catalogue(), {}, stress, actions_of(set, demo::catalogue(), {}, stress, {}), {},
                             {}, solutions);
    }
    static Chassis read(const std::string& text) {
        const Outcome<Chassis> made = read_chassis_text(text, "edited.xml", demo::catalogue());
        if (!made) throw Error(made.notices().front().text());
        return *made;
    }
    bool stopped(const std::string& id) const {
        return std::any_of(list.warnings.begin(), list.warnings.end(), [&](const Notice& n) {
            return n.severity == Severity::stop && n.message.find(id + ": plus stands") == 0;
        });
    }
    const PolarityRow& row(const std::string& id) const {
        for (const PolarityRow& r : list.polarity)
            if (r.part == id) return r;
        FAIL("no row for " << id);
        return list.polarity.front();
    }
    std::string why(const std::string& id) const {
        for (const ShopLine& l : list.lines)
            if (std::find(l.for_parts.begin(), l.for_parts.end(), id) != l.for_parts.end()) return l.why;
        FAIL("nothing is bought for " << id);
        return {};
    }
    int net(const std::string& name) const { return set.net(name); }
};

const std::string bias = R"(<capacitor id="C14" value=".25 mfd" volts="200" a="bias" b="gnd")";

}  // namespace

TEST_CASE("trap 1: the bias electrolytic of a back-bias set has its plus on the chassis") {
    const std::string s2 = text_of("s2-heron-weir.xml");
    const std::string made = R"(<capacitor id="C14" value="10 mfd" volts="50" construction="dry-electrolytic" )";
    const Listed wrong(edited(s2, bias, made + R"(plus="bias" minus="gnd")"));
    const Listed right(edited(s2, bias, made + R"(plus="gnd" minus="bias")"));
    CHECK(wrong.stopped("C14"));
    CHECK_FALSE(right.stopped("C14"));
    CHECK(right.net(wrong.row("C14").plus_to) == right.net("gnd"));  // the list has it right even then
    CHECK(*right.row("C14").idle > 10);
}

TEST_CASE("trap 2: the first filter of a back-bias set returns to the centre tap, not to the chassis") {
    const Listed set(text_of("s2-heron-weir.xml"));
    CHECK_FALSE(set.stopped("C1.plain"));
    CHECK(set.net(set.row("C1.plain").minus_to) == set.net("tap"));
    CHECK(set.why("C1.plain").find("the centre tap of the plate winding, NOT to the chassis") != std::string::npos);
    CHECK(*set.row("C1.plain").idle > *set.row("C2").idle + 30);  // by the field's drop
}

TEST_CASE("trap 3: the plus of a cathode bypass is on the cathode") {
    const std::string s1 = text_of("s1-quarry-hill.xml");
    CHECK(Listed(edited(s1, R"(plus="V4.5" minus="gnd" location="V4" seen="open")",
                        R"(plus="gnd" minus="V4.5" location="V4")"))
              .stopped("C15"));
    const Listed right(edited(s1, R"(location="V4" seen="open")", R"(location="V4")"));
    CHECK_FALSE(right.stopped("C15"));
    CHECK(*right.row("C15").idle == Approx(16.5).epsilon(0.15));
}

TEST_CASE("trap 4: the lower capacitor of a doubler has its plus on the junction, its minus on the line") {
    const std::string s6 =
        edited(text_of("s6-osier-holt.xml"), R"(seen="bulged dried" note="cardboard tube)", R"(note="cardboard tube)");
    const Listed right(s6);
    CHECK_FALSE(right.stopped("C1"));
    CHECK(right.net(right.row("C1").plus_to) == right.net("V5.4"));
    CHECK(Listed(edited(s6, R"(plus="TS2.5" minus="TS1.4")", R"(plus="TS1.4" minus="TS2.5")")).stopped("C1"));
}

TEST_CASE("traps 5 and 6: detector and automatic volume control tell no plus without a signal: traced by eye") {
    const std::string s1 = text_of("s1-quarry-hill.xml");
    for (const char* ends : {R"(plus="gnd" minus="avc")", R"(plus="avc" minus="gnd")"}) {
        const Listed set(edited(
            s1, R"(<capacitor id="C19" value=".05 mfd" volts="200" a="avc" b="gnd")",
            std::string(R"(<capacitor id="C19" value="5 mfd" volts="25" construction="dry-electrolytic" )") + ends));
        CHECK_FALSE(set.row("C19").told);
        CHECK(std::any_of(set.list.warnings.begin(), set.list.warnings.end(), [](const Notice& n) {
            return n.number == 4410 && n.message.find("C19") == 0 && n.remedy.find("by eye") != std::string::npos;
        }));
    }
    CHECK(Listed(s1).row("C2").told);
}

TEST_CASE(
    "trap 7: in a vehicle with plus on the frame what hangs on the battery lead turns round, the filters do not") {
    const std::string s8 = edited(
        text_of("s8-drover-gap.xml"), R"(<capacitor id="C5" value=".5 mfd" volts="100" a="TS1.2" b="TS1.3")",
        R"(<capacitor id="C5" value="500 mfd" volts="16" construction="dry-electrolytic" plus="TS1.2" minus="TS1.3")");
    const std::string other = edited(s8, R"(plus="feed" minus="gnd" note="minus to the frame)",
                                     R"(plus="gnd" minus="feed" note="plus to the frame)");
    const Listed usual(s8), turned(other);
    CHECK_FALSE(usual.stopped("C5"));
    CHECK(turned.stopped("C5"));
    for (const Listed* one : {&usual, &turned}) {
        CHECK_FALSE(one->stopped("C1.square"));
        CHECK(*one->row("C1.square").idle > 150);
    }
}

TEST_CASE("trap 8: a can whose minus is not the chassis stands insulated, and the list says so") {
    CHECK(Listed(text_of("s2-heron-weir.xml")).why("C1.plain").find("its can stands insulated") != std::string::npos);
    CHECK(Listed(text_of("s4-ferry-green.xml")).why("C4.red").find("its can stands insulated") != std::string::npos);
}

TEST_CASE("trap 9: the stripe of a radial electrolytic is minus, the stripe of a film is no pole") {
    const Listed set(text_of("s1-quarry-hill.xml"));
    int wet = 0, film = 0;
    for (const ShopLine& l : set.list.lines) {
        if (l.what == "electrolytic") {
            ++wet;
            CHECK(l.package.find("stripe marks minus") != std::string::npos);
        }
        if (l.what.find("film capacitor") != std::string::npos) {
            ++film;
            CHECK(l.package.find("outside foil, not a pole") != std::string::npos);
        }
    }
    CHECK(wet > 0);
    CHECK(film > 0);
}
