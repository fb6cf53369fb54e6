#include "anfract/plan/plan_file.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "anfract/base/json_document.h"
#include "anfract/plan/make_plan.h"
#include "hand_made.h"

namespace anfract {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;

const json& document() {
    static const json made = [] {
        const auto plan =
            make_plan(testing::tooth({testing::canal("M", 12, 30)}), testing::small_tray());
        EXPECT_TRUE(plan) << plan.error().sentence();
        return plan ? plan_to_json(*plan) : json();
    }();
    return made;
}

TEST(PlanFile, WhatIsWrittenIsAcceptedAndComesBackTheSame) {
    const auto accepted = parse_document(document().dump(), "anfract.plan", "plan");
    ASSERT_TRUE(accepted) << accepted.error().sentence();
    const auto plan = plan_from_json(document(), "plan");
    ASSERT_TRUE(plan) << plan.error().sentence();
    EXPECT_EQ(plan_to_json(*plan), document());
}

TEST(PlanFile, NamesTheKeyThatIsMissing) {
    json broken = document();
    broken["canals"][0].erase("working_depth_mm");
    const auto plan = plan_from_json(broken, "plan.json");
    ASSERT_FALSE(plan);
    EXPECT_THAT(plan.error().sentence(), HasSubstr("plan.json"));
    EXPECT_THAT(plan.error().sentence(), HasSubstr("working_depth_mm"));
}

TEST(PlanFile, RefusesANewerVersion) {
    json newer = document();
    newer["version"] = 2;
    EXPECT_FALSE(plan_from_json(newer, "plan.json"));
}

TEST(PlanFile, RefusesALineWhosePassageDoesNotExist) {
    json broken = document();
    broken["canals"][0]["order"][0]["passage"] = 9999;
    const auto plan = plan_from_json(broken, "plan.json");
    ASSERT_FALSE(plan);
    EXPECT_THAT(plan.error().sentence(), HasSubstr("9999"));
}

TEST(PlanFile, RefusesADeviceThatIsNotInItsTray) {
    json broken = document();
    broken["canals"][0]["order"][0]["device"] = "nothing-like-it";
    const auto plan = plan_from_json(broken, "plan.json");
    ASSERT_FALSE(plan);
    EXPECT_THAT(plan.error().sentence(), HasSubstr("nothing-like-it"));
}

TEST(PlanFile, RefusesACanalThatItsToothLacks) {
    json broken = document();
    broken["canals"][0]["canal"] = "X";
    EXPECT_FALSE(plan_from_json(broken, "plan.json"));
}

}  // namespace
}  // namespace anfract
