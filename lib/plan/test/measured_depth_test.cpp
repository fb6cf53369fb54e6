#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "anfract/plan/make_plan.h"
#include "hand_made.h"

namespace anfract {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;

/// Foramen 8 + 5 + 7.85 mm deep, so the scan suggests 20.35 mm.
Tooth one_canal() { return testing::tooth({testing::canal("M", 9, 50)}); }

Result<Plan> plan_at(double depth_mm, const std::string& canal = "M") {
    PlanOptions options;
    options.samples = 20;
    options.measured_depths_mm[canal] = depth_mm;
    return make_plan(one_canal(), testing::small_tray(), options);
}

TEST(MeasuredDepth, IsWhatThePlanWorksTo) {
    for (const double depth : {19.7, 21.1}) {
        const auto plan = plan_at(depth);
        ASSERT_TRUE(plan) << plan.error().sentence();
        const CanalPlan& canal = plan->canals.front();
        EXPECT_DOUBLE_EQ(canal.working_depth_mm, depth);
        ASSERT_TRUE(canal.final_size);
        EXPECT_DOUBLE_EQ(canal.final_size->depth_mm, depth);
        ASSERT_TRUE(canal.recapitulation);
        EXPECT_DOUBLE_EQ(canal.recapitulation->depth_mm, depth);
        for (const PassiveDevice& passive : canal.passive) EXPECT_LE(passive.reaches_mm, depth);
        ASSERT_TRUE(canal.measured);
        EXPECT_NEAR(canal.measured->from_scan_mm, canal.depth_to_foramen_mm - 0.5, 1e-12);
        EXPECT_NEAR(canal.measured->difference_mm, depth - canal.measured->from_scan_mm, 1e-12);
        EXPECT_NEAR(*canal.measured->difference_sd, std::abs(canal.measured->difference_mm) / 0.12,
                    1e-12);
        EXPECT_THAT(canal.working_depth_why, HasSubstr("as measured; the scan suggests 20.4 mm"));
        const std::string way = depth < 20 ? "less deep" : "deeper";
        EXPECT_THAT(canal.measured->changes, Contains(HasSubstr(way)));
    }
}

TEST(MeasuredDepth, OfTheScanChangesNothing) {
    const Tooth tooth = one_canal();
    const auto plain = make_plan(tooth, testing::small_tray());
    const auto measured = plan_at(tooth.canals.front().depth_to_foramen_mm - 0.5);
    ASSERT_TRUE(plain && measured);
    const CanalPlan &a = plain->canals.front(), &b = measured->canals.front();
    EXPECT_FALSE(a.measured);
    ASSERT_EQ(a.order.size(), b.order.size());
    for (std::size_t i = 0; i < a.order.size(); ++i) {
        EXPECT_EQ(a.order[i].device, b.order[i].device);
        EXPECT_DOUBLE_EQ(a.order[i].depth_mm, b.order[i].depth_mm);
    }
    ASSERT_EQ(b.measured->changes.size(), 1u);
    EXPECT_THAT(b.measured->changes.front(), HasSubstr("agree"));
}

TEST(MeasuredDepth, FarFromTheScanIsWarnedOf) {
    const auto plan = plan_at(18.8);
    ASSERT_TRUE(plan) << plan.error().sentence();
    bool warned = false;
    for (const PlanWarning& warning : plan->warnings) {
        if (warning.text.find("disagree") == std::string::npos) continue;
        warned = true;
        EXPECT_EQ(warning.severity, 2);
        EXPECT_THAT(warning.reason, HasSubstr("18.8 mm"));
    }
    EXPECT_TRUE(warned);
}

TEST(MeasuredDepth, ThatCannotBeOfTheCanalIsRefusedInOneSentence) {
    const double nan = std::numeric_limits<double>::quiet_NaN();
    for (const double depth : {-1.0, 0.0, 8.5, 24.5, 1e300, nan}) {
        const auto plan = plan_at(depth);
        ASSERT_FALSE(plan) << depth;
        EXPECT_EQ(plan.error().code, ErrorCode::BadInput);
        EXPECT_THAT(plan.error().sentence(), HasSubstr("M"));
    }
    const auto other = plan_at(20, "palatal");
    ASSERT_FALSE(other);
    EXPECT_EQ(other.error().code, ErrorCode::NotFound);
    EXPECT_THAT(other.error().sentence(), HasSubstr("its canals are M"));
}

}  // namespace
}  // namespace anfract
