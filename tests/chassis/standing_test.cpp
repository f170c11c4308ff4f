// SPDX-License-Identifier: MIT
// The set as the log says that it stands, and as it will be with everything back in.
#include <catch2/catch.hpp>

#include "chassis/data.hpp"

using namespace tubewright;

namespace {

const Catalogue& catalogue() {
    static const Catalogue shipped = Catalogue::shipped();
    return shipped;
}

Chassis stage() {
    ChassisBuilder b("output stage");
    b.default_for("paper", "wax-paper");
    b.reference("gnd");
    b.node("chassis-metal", "gnd", true);
    b.socket("V4", "42");
    b.capacitor("C9", farads(.02e-6), "grid", "V4.4");
    b.electrolytic("C1", farads(8e-6), volts(450), "bplus", "gnd");
    b.resistor("R7", ohms(470e3), "V4.4", "gnd");
    const Outcome<Chassis> set = b.build(catalogue());
    if (!set) FAIL(set.notices().front().text());
    return *set;
}

const Part& part(const Chassis& set, const char* id) {
    return set.parts().at(static_cast<std::size_t>(set.part(id)));
}

}  // namespace

TEST_CASE("without a log the set is the one that was read") {
    const Chassis set = stage();
    CHECK(&apply(Progress{}, set).data() == &set.data());
    CHECK(&with_fitted(Progress{}, set).data() == &set.data());
}

TEST_CASE("what is out or lifted passes nothing on the bench, and is there in the plan") {
    const Chassis set = stage();
    Progress progress;
    progress.parts = {{"C9", PartState::removed}, {"R7", PartState::lifted}, {"V4", PartState::removed}};
    const Chassis now = apply(progress, set), plan = with_fitted(progress, set);
    for (const char* id : {"C9", "R7", "V4"}) {
        INFO(id);
        CHECK(stands_open(part(now, id)));
        CHECK_FALSE(stands_open(part(plan, id)));
    }
    CHECK(stands_empty(part(now, "V4")));
    CHECK(now.nets().size() == set.nets().size());
    CHECK(now.net("V4.4") == set.net("V4.4"));
}

TEST_CASE("what was fitted is there with its value, its rating and its year, and of what is sold today") {
    const Chassis set = stage();
    Progress progress;
    progress.parts = {{"C9", PartState::fitted}, {"C1", PartState::fitted}};
    progress.fitted["C9"] = {".022/630", 2.2e-8, 630.0, {}, 2026, nullptr};
    progress.fitted["C1"] = {"10 uF electrolytic", 1e-5, 500.0, {}, 2026, nullptr};
    const Chassis now = apply(progress, set);
    CHECK(*part(now, "C9").farads == 2.2e-8);
    CHECK(*part(now, "C9").rated_volts == 630);
    CHECK(part(now, "C9").since == 2026);
    CHECK(part(now, "C9").construction == "film");
    CHECK(part(now, "C1").construction == "modern-electrolytic");
    CHECK(part(set, "C9").construction == "wax-paper");
    // lifted again, it is the new part that comes back
    progress.parts["C9"] = PartState::lifted;
    CHECK(*part(with_fitted(progress, set), "C9").farads == 2.2e-8);
    CHECK(stands_open(part(apply(progress, set), "C9")));
}

TEST_CASE("what reads off its print stands with what it reads, and is planned with its print") {
    const Chassis set = stage();
    Progress progress;
    progress.found["R7"] = {"560k", 560e3, {}, {}, {}, nullptr};
    CHECK(*part(apply(progress, set), "R7").ohms == 560e3);
    CHECK(*part(with_fitted(progress, set), "R7").ohms == 470e3);
    progress.found["R7"] = {"480k", 480e3, {}, {}, {}, nullptr};  // as printed, within what a good one may be
    CHECK(*part(apply(progress, set), "R7").ohms == 470e3);
    progress.seen["R7"] = "open";
    CHECK(stands_open(part(apply(progress, set), "R7")));
    CHECK(stands_open(part(with_fitted(progress, set), "R7")));
}

TEST_CASE("what is left out on purpose is out in the plan too, and is not mended") {
    const Chassis set = stage();
    Progress progress;
    progress.parts = {{"C9", PartState::omitted}};
    CHECK(stands_open(part(with_fitted(progress, set), "C9")));
    CHECK(stands_open(part(as_mended(with_fitted(progress, set)), "C9")));
    progress.parts = {{"C9", PartState::removed}};
    CHECK_FALSE(stands_open(part(as_mended(apply(progress, set)), "C9")));
}

TEST_CASE("a value read far off the print makes a resistor drifted, as the file's own word does") {
    const Chassis set = stage();
    Progress progress;
    progress.found["R7"] = {"700k", 700e3, {}, {}, {}, nullptr};
    CHECK(part(apply(progress, set), "R7").seen == "drifted");
    CHECK(*part(apply(progress, set), "R7").ohms == 700e3);
    CHECK(*part(with_fitted(progress, set), "R7").ohms == 470e3);
    progress.found["R7"] = {"480k", 480e3, {}, {}, {}, nullptr};
    CHECK(part(apply(progress, set), "R7").seen.empty());
    CHECK(*part(apply(progress, set), "R7").found_value == 480e3);
}
