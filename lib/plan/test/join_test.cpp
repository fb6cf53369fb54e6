#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "anfract/plan/make_plan.h"
#include "anfract/plan/plan_file.h"
#include "hand_made.h"

namespace anfract {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;

constexpr double join_mm = 14;

/// MB goes to its foramen at 20.85 mm; MB2 starts 1.2 mm beside it and runs into it.
Tooth joining_canals(double at_mm = join_mm) {
    Canal main = testing::canal("MB", 9, 50), side = main;
    side.name = "MB2";
    side.joins = Branching{"MB", at_mm};
    for (CanalSample& sample : side.samples)
        sample.point_P.y() += 1.2 * std::max(0.0, (at_mm - sample.depth_mm) / (at_mm - 8));
    side.orifice_P = side.samples.front().point_P;
    return testing::tooth({main, side});
}

Result<Plan> plan_of(const Tooth& tooth, PlanOptions options = {}) {
    options.samples = 20;
    return make_plan(tooth, testing::small_tray(), options);
}

const Plan& joined() {
    static const Plan plan = [] {
        const auto made = plan_of(joining_canals());
        EXPECT_TRUE(made) << made.error().sentence();
        return made.value_or(Plan{});
    }();
    return plan;
}

// The canal that joins is shaped to the join only: common practice, no source.
TEST(Join, EndsTheWorkInTheCanalThatJoins) {
    ASSERT_EQ(joined().canals.size(), 2u);
    const CanalPlan &main = joined().canals[0], &side = joined().canals[1];
    EXPECT_FALSE(main.ends_at_join);
    EXPECT_NEAR(main.working_depth_mm, main.depth_to_foramen_mm - 0.5, 1e-9);
    ASSERT_TRUE(side.ends_at_join);
    EXPECT_EQ(side.ends_at_join->canal, "MB");
    EXPECT_DOUBLE_EQ(side.working_depth_mm, join_mm);
    ASSERT_TRUE(side.final_size && side.recapitulation);
    EXPECT_DOUBLE_EQ(side.final_size->depth_mm, join_mm);
    for (const PlanStep& step : side.order) EXPECT_LE(step.depth_mm, join_mm + 1e-9);
    for (const PassiveDevice& passive : side.passive)
        EXPECT_LE(passive.reaches_mm, join_mm + 1e-9) << passive.device;
}

TEST(Join, CountsOnlyWhatLiesAboveIt) {
    const CanalPlan& side = joined().canals[1];
    EXPECT_LE(side.lumen_after.depth_mm.back(), join_mm + 0.1);
    ASSERT_TRUE(side.removal && side.sheet && side.risks);
    EXPECT_LE(side.removal->wall_depth_mm, join_mm + 0.1);
    EXPECT_LE(side.sheet->depth_mm.back(), join_mm + 0.1);
    for (const PlanRisk& risk : side.risks->risks)
        EXPECT_NE(risk.risk.kind, RiskKind::Overshoot) << risk.sentence;
}

// The other canal first, a file against its cone finds the join, what is rinsed in one shows in the
// other, and the cone is cut to end at the join: common practice, no source.
TEST(Join, IsSaidWhereTheWorkIsDone) {
    const CanalPlan &main = joined().canals[0], &side = joined().canals[1];
    EXPECT_THAT(side.working_depth_why, HasSubstr("joins MB there and is worked no further"));
    EXPECT_THAT(side.notes, Contains(HasSubstr("Shape and measure MB first")));
    EXPECT_THAT(side.notes, Contains(HasSubstr("what is rinsed in one shows in the other")));
    EXPECT_THAT(main.notes, Contains(HasSubstr("MB2 joins at about 14.")));
    const auto cone =
        std::find_if(side.passive.begin(), side.passive.end(),
                     [](const PassiveDevice& one) { return one.job == Job::Fit && one.chosen; });
    ASSERT_NE(cone, side.passive.end());
    EXPECT_THAT(cone->why, HasSubstr("cut it to end at the join"));
    const bool warned = std::any_of(
        joined().warnings.begin(), joined().warnings.end(), [](const PlanWarning& warning) {
            return warning.canal == "MB2" && warning.text.starts_with("Joins MB");
        });
    EXPECT_TRUE(warned);
}

TEST(Join, TheCanalThatGoesToTheForamenComesFirst) {
    Tooth tooth = joining_canals();
    std::swap(tooth.canals[0], tooth.canals[1]);
    tooth.canals.push_back(testing::canal("D", 40, 12));
    PlanOptions options;
    options.samples = 0;
    const auto plan = make_plan(tooth, testing::small_tray(), options);
    ASSERT_TRUE(plan) << plan.error().sentence();
    std::vector<std::string> names;
    for (const CanalPlan& canal : plan->canals) names.push_back(canal.canal);
    EXPECT_EQ(names, (std::vector<std::string>{"MB", "MB2", "D"}));
}

// The canal of joining_canals() runs toward +x; the other parts from it toward +y.
TEST(Join, ACanalThatDividesOffSaysWhereToFeelForIt) {
    Canal main = testing::canal("B", 9, 50), side = main;
    side.name = "L";
    side.leaves = Branching{"B", 13};
    for (CanalSample& sample : side.samples)
        sample.point_P.y() += 0.4 * std::max(0.0, sample.depth_mm - 13);
    side.foramen_P = side.samples.back().point_P;
    const auto plan = plan_of(testing::tooth({main, side}));
    ASSERT_TRUE(plan) << plan.error().sentence();
    EXPECT_THAT(plan->canals[1].notes, Contains(HasSubstr("Divides off B at 13.0 mm, toward ")));
    EXPECT_THAT(plan->canals[0].notes, ::testing::Not(Contains(HasSubstr("Divides off"))));
}

TEST(Join, SurvivesTheFile) {
    const auto read = plan_from_json(plan_to_json(joined()), "plan");
    ASSERT_TRUE(read) << read.error().sentence();
    ASSERT_TRUE(read->canals[1].ends_at_join);
    EXPECT_EQ(read->canals[1].ends_at_join->canal, "MB");
    EXPECT_DOUBLE_EQ(read->canals[1].ends_at_join->depth_mm, join_mm);
    EXPECT_FALSE(read->canals[0].ends_at_join);
}

// An apex locator in the joining canal reads the common foramen.
TEST(Join, AMeasurementThroughItDoesNotSendFilesThroughIt) {
    PlanOptions options;
    options.measured_depths_mm["MB2"] = 20.9;
    const auto plan = plan_of(joining_canals(), options);
    ASSERT_TRUE(plan) << plan.error().sentence();
    const CanalPlan& side = plan->canals[1];
    EXPECT_DOUBLE_EQ(side.working_depth_mm, join_mm);
    ASSERT_TRUE(side.measured);
    EXPECT_NEAR(side.measured->from_scan_mm, side.depth_to_foramen_mm - 0.5, 1e-9);
    EXPECT_NEAR(side.measured->difference_mm, 20.9 - side.measured->from_scan_mm, 1e-9);
    EXPECT_THAT(side.working_depth_why, HasSubstr("measured 20.9 mm run on through MB"));
    EXPECT_THAT(side.measured->changes, Contains(HasSubstr("worked to the join only")));
}

TEST(Join, AMeasurementShortOfItIsWorkedTo) {
    PlanOptions options;
    options.measured_depths_mm["MB2"] = 13.2;
    const auto plan = plan_of(joining_canals(), options);
    ASSERT_TRUE(plan) << plan.error().sentence();
    EXPECT_DOUBLE_EQ(plan->canals[1].working_depth_mm, 13.2);
    EXPECT_NEAR(plan->canals[1].measured->difference_mm, 13.2 - join_mm, 1e-9);
}

TEST(Join, RightBelowTheOrificeOrAtTheForamenMakesAPlanToo) {
    for (const double at : {8.2, 20.6}) {
        const auto plan = plan_of(joining_canals(at));
        ASSERT_TRUE(plan) << plan.error().sentence();
        const CanalPlan& side = plan->canals[1];
        EXPECT_EQ(side.ends_at_join.has_value(), at < 20) << at;
        EXPECT_NEAR(side.working_depth_mm, at < 20 ? 9.0 : side.depth_to_foramen_mm - 0.5, 1e-9);
    }
}

}  // namespace
}  // namespace anfract
