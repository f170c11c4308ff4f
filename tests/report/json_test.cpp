// SPDX-License-Identifier: MIT
// Numbers and refusals in JSON: null for what is not known, never NaN.
#include <cmath>
#include <limits>

#include <catch2/catch.hpp>

#include "report/envelope.hpp"

using namespace tubewright::report;
namespace tw = tubewright;

TEST_CASE("What is not finite or not known is null, and zero has no sign") {
    CHECK(number(std::numeric_limits<double>::quiet_NaN()).is_null());
    CHECK(number(std::numeric_limits<double>::infinity()).is_null());
    CHECK(number(std::optional<double>()).is_null());
    CHECK(number(-0.0).dump() == "0.0");
    CHECK(number(0.1).dump() == "0.1");
    CHECK(text_or_null("").is_null());
}

TEST_CASE("Bytes that are no UTF-8 do not stop the writer") {
    CHECK_NOTHROW(dumped(Json{{"name", "a\xff"}}));
}

TEST_CASE("A refusal keeps the envelope and says why, where and what would open it") {
    tw::Notice notice;
    notice.message = "nothing feeds V4";
    notice.remedy = "trace its plate lead";
    notice.place = {"set.xml", 7, 3};
    const tw::Answer answer = refusal_json(Json{{"schema", "tubewright/volts/1"}, {"rows", Json::array()}}, {notice});
    CHECK(answer.refused);
    const Json read = Json::parse(answer.text);
    CHECK(read["schema"] == "tubewright/volts/1");
    CHECK(read["refused"]["why"] == "nothing feeds V4");
    CHECK(read["refused"]["where"] == "set.xml:7:3");
    CHECK(read["refused"]["opens_when"] == "trace its plate lead");
}
