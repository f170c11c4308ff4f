// SPDX-License-Identifier: MIT
// The tube sheet: the listed points beside the model's (recalled rows of the catalogue), and a point that is asked for.
#include <map>

#include <catch2/catch.hpp>

#include "report/envelope.hpp"

using tubewright::report::Json;
namespace tw = tubewright;

namespace {

tw::TubeModel model_of(const char* type) {
    static const tw::Catalogue catalogue = tw::Catalogue::shipped();
    const tw::TubeType* row = catalogue.tube(type);
    REQUIRE(row != nullptr);
    const auto model = tw::tube_model(*row, catalogue);
    REQUIRE(model);
    return *model;
}

tw::ReportOptions json() {
    tw::ReportOptions options;
    options.format = tw::Format::json;
    return options;
}

}  // namespace

TEST_CASE("A listed point of the 42 stands beside the model's current, within the bar of the model") {
    const Json read = Json::parse(tw::report_tube(model_of("42"), "", json()).text);
    REQUIRE(read["rows"].size() >= 2);
    for (const Json& row : read["rows"]) {
        for (const char* key :
             {"type", "section", "plate_volts", "screen_volts", "grid_volts", "plate_amps", "screen_amps", "gm_siemens",
              "rp_ohms", "listed_plate_amps", "law", "parameters", "held_out_error", "provenance", "source"})
            CHECK(row.contains(key));
        CHECK(row["plate_amps"].get<double>() == Approx(row["listed_plate_amps"].get<double>()).epsilon(0.1));
    }
    CHECK(read["tube"]["pins"].size() == 6);
}

TEST_CASE("A point that is asked for gives the currents that the library gives") {
    const tw::TubeModel model = model_of("42");
    const Json read = Json::parse(tw::report_tube(model, "plate=250,screen=250,grid=-16.5", json()).text);
    const auto currents = tw::currents_at(model.sections.front(), tw::volts(250), tw::volts(250), tw::volts(-16.5));
    CHECK(read["at"][0]["plate_amps"].get<double>() == currents.plate_amps);
    CHECK(currents.plate_amps > 0.02);
}

TEST_CASE("A point beyond the limits of the type, or far from the listed points, says so") {
    const tw::TubeModel model = model_of("42");
    const Json far = Json::parse(tw::report_tube(model, "plate=600,screen=250,grid=-2", json()).text)["at"][0];
    REQUIRE(far["beyond_limits"].size() >= 2);  // volts and watts of the plate
    CHECK(far["beyond_limits"][0].get<std::string>().find("plate 600 V of 375 V") == 0);
    REQUIRE(far["outside_points"].size() == 2);
    CHECK(far["outside_points"][0].get<std::string>().find("plate 600 V") == 0);
    CHECK(far["outside_points"][1].get<std::string>().find("grid -2 V") == 0);
    CHECK(tw::report_tube(model, "plate=600,screen=250,grid=-2", {}).text.find("BEYOND ITS LIMITS") !=
          std::string::npos);
    const Json near = Json::parse(tw::report_tube(model, "plate=250,screen=250,grid=-17", json()).text)["at"][0];
    CHECK(near["beyond_limits"].empty());
    CHECK(near["outside_points"].empty());
}

TEST_CASE("A point that cannot be read is refused and says what was expected") {
    for (const char* wrong : {"plate", "plate=", "plate=x", "anode=250", "screen=100", "plate=1e9", "plate=250,,"}) {
        INFO(wrong);
        CHECK_FALSE(tw::point_complaint(wrong).empty());
        CHECK(tw::report_tube(model_of("42"), wrong, {}).refused);
    }
    CHECK(tw::point_complaint("plate=250,grid=-1.5").empty());
}

TEST_CASE("Volts that the law of the tube works with and nobody gave are named, not taken as 0") {
    CHECK(tw::point_complaint("plate=250,grid=-20", model_of("42")).find("screen=VOLTS is wanted") == 0);
    CHECK(tw::point_complaint("plate=250", model_of("42")).find("screen=VOLTS and grid=VOLTS are wanted") == 0);
    CHECK(tw::point_complaint("plate=250", model_of("75")).find("grid=VOLTS is wanted") == 0);
    CHECK(tw::point_complaint("plate=250,grid=-2", model_of("75")).empty());
    CHECK(tw::point_complaint("plate=60", model_of("80")).empty());
    CHECK(tw::report_tube(model_of("42"), "plate=250,grid=-20", {}).refused);
}

TEST_CASE("A current that no meter shows is said to be less, not given in powers of ten") {
    const std::string text = tw::report_tube(model_of("42"), "plate=250,screen=250,grid=-16.5", {}).text;
    CHECK(text.find("under .001 uA") != std::string::npos);
    CHECK(text.find("e-") == std::string::npos);
}

TEST_CASE("Rows of an eye tube are the volts of a supply: no current of a model stands beside them") {
    const Json read = Json::parse(tw::report_tube(model_of("6E5"), "", json()).text);
    int rows = 0;
    for (const Json& row : read["rows"]) {
        if (row["section"] != "triode") continue;
        ++rows;
        for (const char* key : {"plate_amps", "screen_amps", "gm_siemens", "rp_ohms", "plate_amps_error"})
            CHECK(row[key].is_null());
        CHECK(row["listed_plate_amps"].is_number());
    }
    CHECK(rows >= 2);
    const std::string text = tw::report_tube(model_of("6E5"), "", {}).text;
    CHECK(text.find("-100.0 %") == std::string::npos);
    CHECK(text.find("not worked out") != std::string::npos);
}

TEST_CASE("Rows of a type's electrical twin stand beside its own, by their name, and hold the law there") {
    const tw::TubeModel model = model_of("6SN7");
    const Json read = Json::parse(tw::report_tube(model, "plate=250,grid=-8", json()).text);
    CHECK(std::any_of(read["rows"].begin(), read["rows"].end(), [](const Json& row) {
        return row["type"] == "6SN7" && row["listed_under"] == "6J5" && row["plate_volts"] == 250 &&
               row["used"] == true;
    }));
    CHECK(read["at"][0]["outside_points"].empty());
    const std::string text = tw::report_tube(model, "plate=250,grid=-8", {}).text;
    CHECK(text.find("as 6J5") != std::string::npos);
    CHECK(text.find("nothing holds the law") == std::string::npos);
}

TEST_CASE("A pair's row that the law misses by far is in doubt, and no supply's volts are blamed for it") {
    const std::string text = tw::report_tube(model_of("EL34"), "", {}).text;
    CHECK(text.find("at its supply volts") == std::string::npos);
    CHECK(text.find("DOUBT: the law is 44 %") != std::string::npos);
    CHECK(tw::report_tube(model_of("6V6"), "", {}).text.find("DOUBT: the law is") == std::string::npos);
}

TEST_CASE("Where nothing flows a figure is nothing, not a row of noughts") {
    const std::string text = tw::report_tube(model_of("42"), "plate=-50,screen=250,grid=-16.5", {}).text;
    CHECK(text.find("gm under .001 uS") != std::string::npos);
    CHECK(text.find("0000000") == std::string::npos);
}

TEST_CASE("A diode beside a plate and the target of an eye are given at volts of their own, never at the plate's") {
    const auto at = [](const char* type, const char* point) {
        std::map<std::string, Json> by_section;
        const Json answer = Json::parse(tw::report_tube(model_of(type), point, json()).text);
        for (const Json& one : answer["at"]) by_section[one["section"].get<std::string>()] = one;
        return by_section;
    };
    // of 250 V on the plate of a 75 its diodes say nothing: a law of about 1 mA at 10 V would give 119 mA there
    CHECK(at("75", "plate=250,grid=-1.35").count("diode 1") == 0);
    CHECK(at("75", "plate=250,grid=-1.35").count("triode") == 1);
    const auto both = at("75", "plate=250,grid=-1.35,diode=10");
    CHECK(both.at("triode")["plate_volts"] == 250);
    CHECK(both.at("diode 1")["electrode"] == "diode");
    CHECK(both.at("diode 1")["plate_volts"] == 10);
    CHECK(both.at("diode 1")["plate_amps"].get<double>() == Approx(1e-3).epsilon(0.1));
    CHECK(both.at("diode 1")["grid_volts"].is_null());
    CHECK(both.at("diode 1")["gm_siemens"].is_null());
    CHECK(both.at("diode 1")["outside_points"].empty());
    CHECK_FALSE(at("75", "diode=100").at("diode 1")["outside_points"].empty());
    CHECK(at("75", "diode=10").size() == 2);
    // the target of a 6E5 takes 2 to 4 mA at 250 V (recalled, as in receiving-tube manuals); its triode's plate is
    // another electrode
    CHECK(at("6E5", "plate=100,grid=-4").count("target") == 0);
    CHECK(at("6E5", "plate=100,grid=-4,target=250").at("target")["plate_amps"].get<double>() ==
          Approx(3e-3).epsilon(0.34));
    CHECK(at("6E5", "plate=100,grid=-4,target=250").at("triode")["plate_volts"] == 100);
    // where all that the bulb holds are diodes their plates are the plates
    CHECK(at("6H6", "plate=10").at("diode 1")["plate_amps"].get<double>() == Approx(8e-3).epsilon(0.1));
    CHECK_FALSE(at("6H6", "plate=250").at("diode 1")["outside_points"].empty());
    CHECK(at("80", "plate=60").begin()->second["plate_amps"].get<double>() > 0.1);

    const std::string text = tw::report_tube(model_of("75"), "plate=250,grid=-1.35", {}).text;
    CHECK(text.find("119 mA") == std::string::npos);
    CHECK(text.find("diode=VOLTS asks for them") != std::string::npos);
    CHECK(tw::report_tube(model_of("75"), "diode=10", {}).text.find("grid none") == std::string::npos);
    CHECK(tw::point_complaint("diode=10", model_of("42")) == "a 42 has no diode");
    CHECK(tw::point_complaint("target=250", model_of("75")) == "a 75 has no target");
    CHECK(tw::point_complaint("diode=10", model_of("75")).empty());
}
