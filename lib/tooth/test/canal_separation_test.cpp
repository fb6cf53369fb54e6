#include "anfract/tooth/canal_separation.h"

#include <gtest/gtest.h>

#include "canals.h"

namespace anfract {
namespace {

// Canals along +z; buccal and mesial are then those of a lower left first molar.
const ClinicalFrame frame = clinical_frame("36", {0, 0, 1});

/// A straight canal 10 mm long, 0.5 mm wide.
Canal straight_canal(const Vec3& orifice, const std::string& name) {
    std::vector<Vec3> points;
    for (int i = 0; i <= 50; ++i) points.push_back(orifice + Vec3(0, 0, 0.2 * i));
    Canal canal = canal_through(points, name);
    for (CanalSample& sample : canal.samples) sample.diameter_mm = 0.5;
    return canal;
}

Tooth tooth_of(std::vector<Canal> canals) {
    Tooth tooth;
    tooth.fdi = "36";
    tooth.canals = std::move(canals);
    return tooth;
}

// Closed form: canals s = 3 mm behind one another are s sin(turn) apart on a receptor at right
// angles to the rays, 1.026 mm at 20 degrees; two outlines of 0.5 mm part where 3 sin(turn) = 0.5,
// at 9.6 degrees.
TEST(CanalSeparation, TwoCanalsBehindOneAnotherPartByTheSineOfTheTurn) {
    const Tooth tooth =
        tooth_of({straight_canal({0, 0, 0}, "MB"), straight_canal(-3 * frame.buccal, "ML")});
    const auto views = separation_views(tooth, frame);
    ASSERT_TRUE(views);
    EXPECT_EQ(views->usual.least_share, 0);
    EXPECT_NEAR(views->usual.pairs.at(0).distance_mm, 0, 1e-12);
    EXPECT_EQ(views->best.turn_deg, 10);
    EXPECT_EQ(views->best.least_share, 1);
    EXPECT_NEAR(views->best.pairs.at(0).distance_mm, 3 * std::sin(10 * std::numbers::pi / 180),
                1e-9);
    SeparationOptions options;
    options.most_turn_deg = 8;
    EXPECT_EQ(separation_views(tooth, frame, options)->best.least_share, 0);
}

TEST(CanalSeparation, CanalsSideBySideNeedNoTurn) {
    const auto views = separation_views(
        tooth_of({straight_canal({0, 0, 0}, "M"), straight_canal(2 * frame.mesial, "D")}), frame);
    ASSERT_TRUE(views);
    EXPECT_EQ(views->best.turn_deg, 0);
    EXPECT_EQ(views->usual.least_share, 1);
    EXPECT_NEAR(views->usual.pairs.at(0).distance_mm, 2, 1e-9);
}

// The rule of the trade, same side lingual, opposite side buccal: with the lingual canal a little
// distal a tube from mesial moves it further to mesial relative to the buccal one, so it must first
// pass behind it; a tube from distal parts them at once.
TEST(CanalSeparation, TheTubeGoesToTheSideThatPartsTheCanalsSooner) {
    const Vec3 lingual = -3 * frame.buccal - 0.3 * frame.mesial;
    const auto views = separation_views(
        tooth_of({straight_canal({0, 0, 0}, "MB"), straight_canal(lingual, "ML")}), frame);
    ASSERT_TRUE(views);
    // 3 sin a + 0.3 cos a = 0.5 at a = 3.8 degrees.
    EXPECT_EQ(views->best.turn_deg, -4);
}

TEST(CanalSeparation, WhatHasJoinedIsNotHeldAgainstAView) {
    Canal side = straight_canal(2 * frame.mesial, "MB");
    for (std::size_t i = 25; i < side.samples.size(); ++i) {
        side.samples[i].point_P -= 2 * frame.mesial;
    }
    const auto views = separation_views(tooth_of({side, straight_canal({0, 0, 0}, "ML")}), frame);
    ASSERT_TRUE(views);
    EXPECT_EQ(views->usual.least_share, 1);
}

TEST(CanalSeparation, OneCanalHasNothingToBePartedFrom) {
    EXPECT_FALSE(separation_views(tooth_of({straight_canal({0, 0, 0}, "D")}), frame));
    EXPECT_FALSE(separation_views(
        tooth_of({straight_canal({0, 0, 0}, "D"), straight_canal({0, 0, 0}, "E")}), frame));
}

}  // namespace
}  // namespace anfract
