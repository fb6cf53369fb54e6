#include "anfract/report/ruler.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "ruler_drawing.h"
#include "ruler_lanes.h"
#include "size_colour.h"
#include "test_plans.h"

namespace anfract {
namespace {

TEST(RulerLanes, WallsAreThoseOfTheThinSideAndTheOneOpposite) {
    const Plan plan = testing::plan();
    const RulerLane lane = ruler_lanes(plan).front();
    const Canal& canal = plan.tooth.canals.front();
    ASSERT_EQ(lane.wall_below_mm.size(), canal.samples.size());
    // The made-up sheet is thinnest toward +y and 0.8 mm thicker opposite.
    for (std::size_t i = 0; i < 10; ++i) {
        EXPECT_NEAR(*lane.wall_below_mm[i], *canal.samples[i].wall_min_mm, 1e-9);
        EXPECT_NEAR(*lane.wall_above_mm[i], *canal.samples[i].wall_min_mm + 0.8, 1e-9);
    }
}

TEST(RulerLanes, WithoutASheetOnlyTheThinnestWallIsShown) {
    Tooth tooth = testing::tooth();
    tooth.canals.front().wall_sheet.reset();
    const RulerLane lane = ruler_lanes(testing::plan(tooth)).front();
    EXPECT_TRUE(lane.wall_below_mm.front());
    EXPECT_FALSE(lane.wall_above_mm.front());
}

TEST(RulerLanes, BarsEndWhereTheirDevicesEndAndSayWhy) {
    const Plan plan = testing::plan();
    const RulerLane lane = ruler_lanes(plan).front();
    const CanalPlan& canal = plan.canals.front();
    ASSERT_EQ(lane.bars.size(), canal.order.size() + canal.passive.size());
    EXPECT_EQ(lane.bars[0].ends_mm, canal.order[0].depth_mm);
    EXPECT_EQ(lane.bars[0].end_word, "working depth");
    EXPECT_EQ(lane.bars[2].end_word, "upper part only");
    EXPECT_THAT(lane.bars.back().end_word, ::testing::HasSubstr("strain 1.9 %"));
    for (const RulerBar& bar : lane.bars) {
        for (auto [from, to] : bar.binds_mm) EXPECT_LE(to, bar.ends_mm);
    }
}

TEST(RulerLanes, ACanalThatJoinsEndsAtTheJoinAndSaysSo) {
    Plan plan = testing::plan();
    plan.canals.front().ends_at_join = Branching{"ML", plan.canals.front().working_depth_mm};
    EXPECT_EQ(ruler_lanes(plan).front().bars[0].end_word, "join with ML");
}

TEST(Ruler, ShowsTheWallThatIsLeftWhereThePlanKnowsIt) {
    Plan plan = testing::plan();
    const auto without = ruler_svg(plan);
    Removal removal;
    removal.along =
        WatchedWall{{15, 15.5, 16}, {0, 0.1, 0.1}, {{}, 0.62, 0.44}, {false, false, true}};
    plan.canals.front().removal = removal;
    const auto with = ruler_svg(plan);
    ASSERT_TRUE(without && with);
    EXPECT_NE(*without, *with);
    const RulerDrawing drawing(ruler_lanes(plan), 500), bare(ruler_lanes(testing::plan()), 500);
    EXPECT_GT(drawing.height_pt(), bare.height_pt());
}

TEST(Ruler, DrawsSvgAndPng) {
    const Plan plan = testing::plan();
    const auto svg = ruler_svg(plan);
    ASSERT_TRUE(svg);
    EXPECT_THAT(*svg, ::testing::HasSubstr("<svg"));
    EXPECT_THAT(*svg, ::testing::HasSubstr("</svg>"));
    const auto png = ruler_png(plan, 600, 1);
    ASSERT_TRUE(png);
    EXPECT_EQ(png->substr(1, 3), "PNG");
}

TEST(Ruler, IsTheSameEveryTime) {
    const Plan plan = testing::plan();
    EXPECT_EQ(*ruler_png(plan, 500, 1), *ruler_png(plan, 500, 1));
}

TEST(Ruler, GrowsWithItsLanes) {
    const std::vector<RulerLane> lanes = ruler_lanes(testing::plan());
    const RulerDrawing three(lanes, 480);
    EXPECT_LT(three.height_to_pt(0), three.height_to_pt(1));
    EXPECT_EQ(three.height_to_pt(2), three.height_pt());
}

TEST(Ruler, RefusesAPlanWithoutCanals) {
    EXPECT_FALSE(ruler_svg(Plan{}));
    EXPECT_FALSE(ruler_png(Plan{}));
}

// ISO 3630-1 (from memory): 015 white, 025 red, 040 black, 045 white, 060 blue, 070 green.
TEST(SizeColour, FollowsTheStandard) {
    const auto is = [](double tip_mm, unsigned rgb) {
        const Colour a = size_colour(tip_mm), b = Colour::hex(rgb);
        return a.red == b.red && a.green == b.green && a.blue == b.blue;
    };
    EXPECT_TRUE(is(0.15, 0xffffff));
    EXPECT_TRUE(is(0.25, 0xc0392b));
    EXPECT_TRUE(is(0.40, 0x222222));
    EXPECT_TRUE(is(0.45, 0xffffff));
    EXPECT_TRUE(is(0.60, 0x2f6fb5));
    EXPECT_TRUE(is(0.70, 0x3a8f4d));
}

}  // namespace
}  // namespace anfract
