// SPDX-License-Identifier: MIT
// Spreadsheet to chassis file and back: nothing lost, any column order, quotes and line ends of RFC 4180, and errors at
// the row and column of the sheet.
#include <catch2/catch.hpp>

#include <algorithm>
#include <pugixml.hpp>
#include <random>
#include <sstream>

#include "files.hpp"
#include "terms/csv.hpp"

using namespace tubewright;

namespace {

const Catalogue& shipped() {
    static const Catalogue c = Catalogue::shipped();
    return c;
}

std::string good(const Outcome<std::string>& made) {
    if (!made) FAIL(files::lines(made.notices()));
    return *made;
}

std::string trimmed(const std::string& text) {
    const std::size_t from = text.find_first_not_of(' ');
    return from == std::string::npos ? std::string() : text.substr(from, text.find_last_not_of(' ') + 1 - from);
}

/// Elements, attributes and comments in document order; nothing of the layout, nor of blanks around a value.
std::string content(const std::string& xml) {
    pugi::xml_document document;
    document.load_string(xml.c_str(), pugi::parse_escapes | pugi::parse_wconv_attribute | pugi::parse_comments);
    struct Walk : pugi::xml_tree_walker {
        std::string all;
        bool for_each(pugi::xml_node& node) override {
            all += std::string(static_cast<std::size_t>(depth()), ' ') + node.name();
            if (node.type() == pugi::node_comment) all += "# " + std::string(node.value());
            std::vector<std::string> attributes;
            for (const pugi::xml_attribute& a : node.attributes())
                attributes.push_back(std::string(" ") + a.name() + "=" + trimmed(a.value()));
            std::sort(attributes.begin(), attributes.end());
            for (const std::string& a : attributes) all += a;
            all += "\n";
            return true;
        }
    } walk;
    document.traverse(walk);
    return walk.all;
}

const std::string parts_list =
    "kind,id,value,rating,a,b,more,remark\r\n"
    "resistor,R7,470k,1/2 W,V4.5,gnd,,\"grid leak, \"\"brown\"\"\"\r\n"
    "electrolytic,C1,8 mfd,475,bplus,gnd,,first filter\r\n"
    "capacitor,C2,.02 mfd,400,V4.5,bplus,,\r\n"
    "control,R15,500k,,V4.5,gnd,wiper=slider,\r\n"
    "capacitor,C3,.01 mfd,400,slider,gnd,,\r\n"
    "tube,V4,6V6GT,,,,3=bplus 4=bplus;8=gnd,\r\n"
    "lead,V4.2,,,gnd,,,\r\n"
    "choke,L1,10 H,,bplus,V4.7,,\r\n";

}  // namespace

TEST_CASE("A chassis file goes to a sheet and back without loss, comments and all") {
    std::vector<std::filesystem::path> all = files::in_folder("netlists", ".xml");
    for (const auto& path : files::in_folder("tests/netlist/good", ".xml")) all.push_back(path);
    for (const auto& path : all) {
        INFO(path.filename().string());
        const std::string text = files::bytes(path);
        const std::string sheet = good(sheet_of_chassis(text, "set.xml", shipped()));
        const std::string again = good(chassis_of_sheet(sheet, "set.csv", shipped()));
        CHECK(content(again) == content(text));
        CHECK(good(sheet_of_chassis(again, "set.xml", shipped())) == sheet);
    }
}

TEST_CASE("A parts list in the words of the trade is a chassis file") {
    const std::string text = good(chassis_of_sheet(parts_list, "lists/bench set.csv", shipped()));
    const Outcome<Chassis> set = files::read(text);
    REQUIRE(set);
    CHECK(set->name() == "bench set");
    const auto part = [&](const char* id) -> const Part& {
        const int p = set->part(id);
        REQUIRE(p >= 0);
        return set->parts()[static_cast<std::size_t>(p)];
    };
    CHECK(part("R7").ohms == 470e3);
    CHECK(part("R7").rated_watts == 0.5);
    CHECK(part("R7").note == "grid leak, \"brown\"");
    CHECK(part("C1").polarised);
    CHECK(part("C1").rated_volts == 475);
    CHECK(part("R15").lead("wiper") >= 0);
    CHECK(part("V4").tube == "6V6GT");
    CHECK(part("L1").role == "choke");
    CHECK(part("L1").henries == 10);
    CHECK(set->net("V4.3") == set->net("bplus"));
    CHECK(set->net("V4.8") == set->net("gnd"));
    CHECK(set->net("V4.2") == set->net("gnd"));
}

TEST_CASE("A row a lead: by its whole name, by part and pin, or by pin and part; blank rows are none") {
    const std::string text =
        good(chassis_of_sheet("kind,of,id,value,a\n"
                              "socket,,V4,42,\n"
                              ",,,,\n"
                              "lead,,V4.2,,plate\n"
                              "lead,,V4,3,screen\n"
                              "lead,V4,4,,grid\n",
                              "leads.csv", shipped()));
    for (const char* join : {"at=\"V4.2 plate\"", "at=\"V4.3 screen\"", "at=\"V4.4 grid\""}) {
        INFO(text);
        CHECK(text.find(join) != std::string::npos);
    }
    const Outcome<std::string> part = chassis_of_sheet("kind,id,a\nsocket,V4,\nlead,V4,z\n", "leads.csv", shipped());
    REQUIRE_FALSE(part);
    CHECK(std::any_of(part.notices().begin(), part.notices().end(), [](const Notice& n) {
        return n.place.line == 3 && n.message.find("is a part, not one of its leads") != std::string::npos;
    }));
}

TEST_CASE("Column order, line ends, a byte-order mark and needless quotes do not matter") {
    const std::string expected = content(good(chassis_of_sheet(parts_list, "set.csv", shipped())));
    std::mt19937 random(5);
    const Outcome<CsvTable> table = read_csv(parts_list, "set.csv");
    REQUIRE(table);
    std::vector<std::size_t> order(table->header.size());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
    for (int round = 0; round < 20; ++round) {
        std::shuffle(order.begin(), order.end(), random);
        std::string shuffled = round % 2 ? "\xEF\xBB\xBF" : "";
        const auto row = [&](const auto& field) {
            for (std::size_t i = 0; i < order.size(); ++i) {
                std::string quoted_field = csv_field(field(order[i]));
                if (quoted_field.empty() || quoted_field.front() != '"')
                    if (round % 3 == 0) quoted_field = "\"" + quoted_field + "\"";
                shuffled += (i ? "," : "") + quoted_field;
            }
            shuffled += round % 2 ? "\n" : "\r\n";
        };
        row([&](std::size_t c) { return table->header[c]; });
        for (const auto& record : table->records) row([&](std::size_t c) { return record[c].text; });
        CHECK(content(good(chassis_of_sheet(shuffled, "set.csv", shipped()))) == expected);
    }
}

TEST_CASE("Every error of a sheet stands at its row and column") {
    const auto told = [](const std::string& csv) {
        const Outcome<std::string> made = chassis_of_sheet(csv, "set.csv", shipped());
        REQUIRE_FALSE(made);
        return files::lines(made.notices());
    };
    const std::string errors = told(
        "kind,id,value,a,b\n"
        "resistor,R1,\"1,5 meg\",gnd,k\n"
        "resistr,R2,1k,gnd,k\n"
        "capacitor,C1,.05,gnd,k\n"
        "socket,V1,6A77,,\n"
        "resistor,R1,1k,V1.99,k\n"
        "winding,,,,\n");
    INFO(errors);
    CHECK(errors.find("set.csv:2:15: error: row 2, column value: \"1,5 meg\" has a comma") != std::string::npos);
    CHECK(errors.find(
              "set.csv:3:1: error: row 3, column kind: no kind is called \"resistr\"; did you mean \"resistor\"?") !=
          std::string::npos);
    CHECK(errors.find("set.csv:7:1: error: row 7, column kind: a winding that follows no transformer") !=
          std::string::npos);
    const std::string more = told(
        "kind,id,value,a,b\n"
        "capacitor,C1,.05,gnd,k\n"
        "socket,V1,6A77,,\n"
        "resistor,R1,1k,gnd,k\n"
        "resistor,R1,1k,gnd,k\n"
        "resistor,R3,5M,gnd,k\n");
    INFO(more);
    CHECK(more.find("set.csv:2:") != std::string::npos);
    CHECK(more.find("set.csv:3:11: error: row 3, column value: the catalogue has no tube \"6A77\"") !=
          std::string::npos);
    CHECK(more.find("the first is on row 4") != std::string::npos);
    CHECK(more.find("set.csv:5:10: error: row 5, column id: the id \"R1\" is used twice") != std::string::npos);
    CHECK(more.find("set.csv:6:14: error: row 6, column value: \"5M\" is 5 thousand ohms or 5 megohms") !=
          std::string::npos);
    const std::string ragged = told(
        "kind,id,value,a,b\n"
        "resistor,R1,1k\n"
        "resistor,R2,1k,gnd,k,,,\n"
        "resistr,R3,1k,R1.1,k\n"
        "resistor,R4,1k,R2.1,k\n");
    INFO(ragged);
    CHECK(ragged.find("set.csv:2:1: error: row 2: 3 fields where the header has 5") != std::string::npos);
    CHECK(ragged.find("set.csv:3:1: error: row 3: 8 fields where the header has 5") != std::string::npos);
    CHECK(ragged.find("set.csv:4:1: error: row 4, column kind: no kind is called \"resistr\"") != std::string::npos);
    CHECK(std::count(ragged.begin(), ragged.end(), '\n') == 2 + (ragged.back() == '\n'));
    CHECK(told("kind,id,vlaue\nresistor,R1,1k\n").find("did you mean \"value\"?") != std::string::npos);
    CHECK(told("id,value\nR1,1k\n").find("no column is called \"kind\"") != std::string::npos);
    CHECK(told("kind,id\nresistor,R1,1k\n").find("set.csv:2:") != std::string::npos);
    CHECK(told("kind,id,more\ncontrol,R1,wiper\n").find("is no lead and net") != std::string::npos);
}

TEST_CASE(
    "Capitals of the header and of kinds, and blanks around fields, do not matter; a licence is nobody's but the "
    "writer's") {
    const std::string plain =
        good(chassis_of_sheet("kind,id,value,rating,a,b\nresistor,R1,470k,1/2,k,gnd\n", "set.csv", shipped()));
    const std::string loose = good(chassis_of_sheet(
        " Kind , ID,Value ,RATING,A, b\n Resistor , R1 ,470k , 1/2,\" k \",gnd \n", "set.csv", shipped()));
    CHECK(loose == plain);
    CHECK(plain.find("SPDX") == std::string::npos);
    CHECK(plain.find("id=\"R1\"") != std::string::npos);
}

TEST_CASE("One lead on two nets is refused, and both rows are named") {
    const auto told = [](const std::string& rows) {
        const Outcome<std::string> made =
            chassis_of_sheet("kind,id,value,a,b,more\ntube,V1,6V6GT,,,\n" + rows, "set.csv", shipped());
        return made ? std::string() : files::lines(made.notices());
    };
    CHECK(told("lead,V1.3,,plate,,\nlead,V1.3,,plate,,\nresistor,R1,1k,plate,V1.4,\nlead,R1.a,,plate,,\n").empty());
    CHECK(told("resistor,R1,1k,?,V1.4,\nlead,R1.a,,V1.3,,\n").empty());
    CHECK(
        told("lead,V1.3,,plate,,\nlead,V1.3,,screen,,\n")
            .find("set.csv:4:12: error: row 4, column a: V1.3 stands on \"screen\" here, and on \"plate\" in row 3") !=
        std::string::npos);
    CHECK(told("resistor,R1,1k,plate,V1.4,\nlead,R1.a,,gnd,,\n")
              .find("row 4, column a: R1.a stands on \"gnd\" here, and on \"plate\" in row 3") != std::string::npos);
    CHECK(told("lead,V1.3,,plate,,\nresistor,R1,1k,V1.3,V1.4,a=gnd\n").find("in row 4") != std::string::npos);
}

TEST_CASE("What is wrong with the table as a table names its row too") {
    const auto told = [](const std::string& csv) {
        const Outcome<std::string> made = chassis_of_sheet(csv, "set.csv", shipped());
        REQUIRE_FALSE(made);
        return files::lines(made.notices());
    };
    CHECK(told("kind,id,id\nresistor,R1,R1\n").find("set.csv:1:9: error: row 1: the column 'id' stands twice") !=
          std::string::npos);
    CHECK(told("kind,id,ID\nresistor,R1,R1\n").find("set.csv:1:9: error: row 1: the column 'id' stands twice") !=
          std::string::npos);
    CHECK(told("kind,id,value\n\nresistor,R1,1k,,\n").find("set.csv:3:1: error: row 3: 5 fields where") !=
          std::string::npos);
    const std::string semicolons = told("kind;id;value;a;b\nresistor;R1;1,5k;gnd;k\n");
    CHECK(semicolons.find("the columns are parted by semicolons") != std::string::npos);
    CHECK(std::count(semicolons.begin(), semicolons.end(), '\n') == 1);
    CHECK(told("kind\tid\nresistor\tR1\n").find("parted by tabs") != std::string::npos);
}

TEST_CASE("Any bytes make a sheet or are refused with words") {
    std::mt19937 random(11);
    const std::string letters = "kind,id,value\n\"resistorR1 chassis<>&;=.-\r";
    for (int i = 0; i < 3000; ++i) {
        std::string text = "kind,id,value,a,b,more\n";
        for (int k = static_cast<int>(random() % 60); k > 0; --k) text += letters[random() % letters.size()];
        const Outcome<std::string> made = chassis_of_sheet(text, "x.csv", shipped());
        if (made) {
            CHECK(files::read(*made));
        } else {
            CHECK_FALSE(made.notices().empty());
        }
    }
}
