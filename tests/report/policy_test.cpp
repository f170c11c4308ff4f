// SPDX-License-Identifier: MIT
// The settings as a page and as JSON.
#include <catch2/catch.hpp>

#include <nlohmann/json.hpp>
#include <set>
#include <sstream>

#include <tubewright/report.hpp>

using namespace tubewright;

TEST_CASE("each setting is listed with its choices, one default, a reason and what is taken") {
    Policy policy;
    REQUIRE(choose(policy, "by-risk") == "places");
    REQUIRE(choose(policy, "restuff") == "cans");
    CHECK(policy.places == PlacePolicy::by_risk);
    CHECK(policy.cans == CanPolicy::restuff);
    policy.pace = 1.5;
    ReportOptions wanted;
    wanted.format = Format::json;
    const nlohmann::json json = nlohmann::json::parse(report_policy(policy, wanted).text);
    std::set<std::string> names, settings;
    for (const auto& row : json["rows"]) {
        INFO(row.dump());
        CHECK(settings.insert(row["setting"]).second);
        CHECK_FALSE(row["reason"].get<std::string>().empty());
        std::set<std::string> own;
        for (const auto& choice : row["choices"]) {
            CHECK(names.insert(choice["name"]).second);
            CHECK_FALSE(choice["says"].get<std::string>().empty());
            own.insert(choice["name"]);
            // what is named by the page can be taken by that name
            Policy other;
            CHECK(choose(other, choice["name"].get<std::string>()) == row["setting"]);
            for (const PolicySetting& now : policy_settings(other))
                if (now.about == row["setting"]) CHECK(now.taken == choice["name"]);
        }
        CHECK(own.count(row["taken"]) == 1);
        CHECK(row["default"] == row["choices"][0]["name"]);
        if (row["setting"] == "places") CHECK(row["taken"] == "by-risk");
        if (row["setting"] == "purpose") CHECK(row["taken"] == "play");
    }
    CHECK(settings.size() == 7);
    CHECK(choose(policy, "no such setting").empty());
    bool paced = false;
    for (const auto& row : json["numbers"]) {
        CHECK_FALSE(row["reason"].get<std::string>().empty());
        if (row["key"] == "pace") paced = row["taken"] == 1.5 && row["default"] == 1;
    }
    CHECK(paced);
}

TEST_CASE("the page of settings marks what is taken and keeps to 80 columns") {
    Policy policy;
    REQUIRE(choose(policy, "prove-each") == "replacing");
    const std::string page = report_policy(policy, {}).text;
    CHECK(page.find("> prove-each") != std::string::npos);
    CHECK(page.find("> replace-all") == std::string::npos);
    CHECK(page.find("> neighbourhood") != std::string::npos);
    std::istringstream lines(page);
    for (std::string line; std::getline(lines, line);) CHECK(line.size() <= 80);
}
